"""The back-test on worlds nobody tuned for: dates scored properly, beside a straight line and the forecaster that knows all.

Run it from the root of the repository:

    python tests/bench/backtest_worlds.py                        the worlds on which choices were made, other rugs
    python tests/bench/backtest_worlds.py --tune                 their rugs set aside for trying things out
    python tests/bench/backtest_worlds.py --worlds camp --first 900000     the world kept for the last score
    python tests/bench/backtest_worlds.py --rugs 60              a shorter one
    python tests/bench/backtest_worlds.py --general              beside exponential smoothing of the rows a day
    python tests/bench/backtest_worlds.py --weekdays             with plans that name the wrong weekdays
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402

from tests.bench import backtest_world  # noqa: E402
from tests.bench.backtest_scores import DayForecast, line_with_its_errors, reliability, score  # noqa: E402
from tests.bench.general_forecaster import general_days  # noqa: E402
from tests.bench.worlds import camp, coast, household, terrace, valley, village, workshop  # noqa: E402
from tests.bench.worlds.common import finish_days  # noqa: E402
from tracker.domain.rug import RugBook  # noqa: E402
from tracker.forecast.reckon import reckon  # noqa: E402

CHECKS = (0.10, 0.25, 0.50, 0.75)
SCORING_SEED = 800_000
TUNING_SEED = 100_000
KNOWN_FUTURES = 200
DRAW = {
    "village": village.draw_rug,
    "workshop": workshop.draw_rug,
    "household": household.draw_rug,
    "valley": valley.draw_rug,
    "camp": camp.draw_rug,
    "coast": coast.draw_rug,
    "terrace": terrace.draw_rug,
}
WORLDS = ("loom", *DRAW)
"""`loom` is the world of `backtest_world.py`; `valley`, then `camp`, `coast`, `terrace` were each kept for one last score."""
CHOSEN_ON = ("loom", "village", "workshop", "household")
"""Most beliefs were chosen on these; how far chances of weaving go back, and how far a plan is believed, on all but `terrace`."""

BARS = {
    "error": (0.165, 0.140, 0.132, 0.140),
    "bias": (0.06, 0.05, 0.04, 0.04),
}
TAIL = (0.05, 0.15)
CRPS_OVER_LINE = 0.85
SAID_WITHIN = 0.08


def book_on(book: RugBook, day: date) -> RugBook:
    """Return the book as it stood on the evening of `day`."""
    return backtest_world.book_on(book, day)


def straight_line(book: RugBook, today: date, rows: int) -> float:
    """Days to the end by a straight line through the rows so far."""
    days = (today - book.sessions[0].day).days + 1
    return (rows - book.rows_woven) * days / max(book.rows_woven, 1)


def wrong_weekdays(book: RugBook) -> RugBook:
    """Return the book with a plan that leaves out the two planned days on which most was woven; as many hours a day as before."""
    woven = np.bincount([session.day.weekday() for session in book.sessions], minlength=7)
    planned = book.plan.weekdays
    named = sorted(sorted(planned, key=lambda day: -woven[day])[2:]) or list(planned[-1:])
    hours = book.plan.hours_per_week * len(named) / max(len(book.plan.weekdays), 1)
    return replace(book, plan=replace(book.plan, weekdays=tuple(named), hours_per_week=hours))


def one_rug(
    seed: int,
    world: str,
    known: bool = True,
    change: Callable[[RugBook], RugBook] | None = None,
    general: bool = False,
) -> list[DayForecast]:
    """Draw a rug of a world, forecast it at every check and note what came of it.

    Parameters
    ----------
    seed, world : which rug
    known : also weave the futures of the forecaster that knows all
    change : what is done to the book before it is read, such as another plan; None: nothing
    general : also ask the general forecaster
    """
    drawn = backtest_world.draw_rug(seed, CHECKS) if world == "loom" else DRAW[world](seed, CHECKS)
    cases = []
    whole = change(drawn.book) if change else drawn.book
    for share in CHECKS:
        if share not in drawn.states:
            continue
        state = drawn.states[share]
        today = date.fromordinal(state.day)
        book = book_on(whole, today)
        if not book.sessions or book.rows_woven <= 0:
            continue  # a slow bookkeeper has entered nothing yet
        now = reckon(book, today, drawn.earlier)
        if now.futures is None:
            continue
        best = None
        if known and world == "loom":
            copies = state.copies(KNOWN_FUTURES)
            best = (
                backtest_world.finish_days(drawn.weave, copies, np.random.default_rng([seed, 5])) - state.day
            )
        elif known:
            best = finish_days(drawn.life, drawn.needed, state, KNOWN_FUTURES, seed)
        line = straight_line(book, today, book.plan.rows)
        cases.append(
            DayForecast(
                world, seed, share, drawn.finish - state.day, np.sort(now.futures.days[:, -1] - state.day), line,
                None if best is None else np.sort(best),
                general_days(book, today, book.plan.rows, line, seed) if general else None,
            )
        )  # fmt: skip
    return cases


def forecasts(world: str, rugs: int, first_seed: int, workers: int = 1, **how: object) -> list[DayForecast]:
    """Forecast so many rugs of a world."""
    seeds = range(first_seed, first_seed + rugs)
    work = partial(one_rug, world=world, **how)
    if workers > 1:
        with ProcessPoolExecutor(workers) as pool:
            done = list(pool.map(work, seeds, chunksize=4))
    else:
        done = [work(seed) for seed in seeds]
    return [case for cases in done for case in cases]


def table(cases: Sequence[DayForecast], bars: bool = True) -> str:
    """Lay out the scores of one world; a value outside its bar is followed by a star."""
    columns = [[c for c in cases if c.share == share] for share in CHECKS]
    columns = [column for column in columns if column]
    ours = [score([c.truth for c in column], [c.drawn for c in column]) for column in columns]
    line = [score([c.truth for c in column], line_with_its_errors(column)) for column in columns]
    straight = [
        float(np.abs([round(c.straight) - c.truth for c in column]).sum() / sum(c.truth for c in column))
        for column in columns
    ]
    known = [
        score(
            [c.truth for c in column if c.known is not None], [c.known for c in column if c.known is not None]
        )
        if any(c.known is not None for c in column)
        else None
        for column in columns
    ]
    lines = [f"{'':<46}" + "".join(f"{column[0].share:>10.0%}" for column in columns)]

    def row(name: str, values: Sequence[float], met: Sequence[bool] | None = None) -> None:
        cells = [
            f"{value:>9.3f}" + ("*" if bars and met is not None and not met[i] else " ")
            for i, value in enumerate(values)
        ]
        lines.append(f"{name:<46}" + "".join(cells))

    row(
        "error / days left",
        [s.error for s in ours],
        [s.error <= BARS["error"][i] for i, s in enumerate(ours)],
    )
    row("  straight line's", straight, None)
    if known[0] is not None:
        row("  over the all-knowing's", [s.error / k.error for s, k in zip(ours, known, strict=True) if k])
    row(
        "bias (late +) / days left",
        [s.bias for s in ours],
        [abs(s.bias) <= BARS["bias"][i] for i, s in enumerate(ours)],
    )
    if known[0] is not None:
        row("  the all-knowing's", [k.bias for k in known if k])
    row("80 % range holds", [s.holds_80 for s in ours])
    if known[0] is not None:
        row("  the all-knowing's", [k.holds_80 for k in known if k])
    row("truth before the range", [s.before for s in ours], [TAIL[0] <= s.before <= TAIL[1] for s in ours])
    row("truth after the range", [s.after for s in ours], [TAIL[0] <= s.after <= TAIL[1] for s in ours])
    row("50 % range holds", [s.holds_50 for s in ours])
    row(
        "CRPS / straight line's with its own errors",
        [s.crps / k.crps for s, k in zip(ours, line, strict=True)],
        [s.crps / k.crps <= CRPS_OVER_LINE for s, k in zip(ours, line, strict=True)],
    )
    row(
        "pinball / straight line's with its own errors",
        [s.pinball / k.pinball for s, k in zip(ours, line, strict=True)],
    )
    if known[0] is not None:
        row("CRPS / all-knowing's", [s.crps / k.crps for s, k in zip(ours, known, strict=True) if k])
        row(
            "all-knowing's CRPS / the line's",
            [k.crps / s.crps for s, k in zip(line, known, strict=True) if k],
        )
    if any(c.general is not None for c in cases):
        asked = [[c for c in column if c.general is not None] for column in columns]
        theirs = [score([c.truth for c in some], [c.general for c in some]) for some in asked]
        us = [score([c.truth for c in some], [c.drawn for c in some]) for some in asked]
        row("general forecaster's error / days left", [s.error for s in theirs])
        row("  CRPS / the general forecaster's", [s.crps / g.crps for s, g in zip(us, theirs, strict=True)])
    lines.append(f"n = {', '.join(str(len(column)) for column in columns)}")
    return "\n".join(lines)


def said_table(cases: Sequence[DayForecast]) -> str:
    """Lay out how often each "n in 10" came true."""
    lines = ["said, of 10     " + "".join(f"{n:>7}" for n, _c, _t in reliability(cases))]
    lines.append("came true       " + "".join(f"{true:>7.2f}" for _n, _c, true in reliability(cases)))
    lines.append("times said      " + "".join(f"{count:>7}" for _n, count, _t in reliability(cases)))
    return "\n".join(lines)


def main() -> None:
    """Run the back-test and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--worlds", nargs="*", default=list(CHOSEN_ON), choices=WORLDS)
    parser.add_argument("--rugs", type=int, default=400, help="rugs a world (default 400)")
    parser.add_argument("--tune", action="store_true", help="use the rugs set aside for tuning")
    parser.add_argument("--first", type=int, default=SCORING_SEED, help="first seed (default 800000)")
    parser.add_argument("--alone", action="store_true", help="without the forecaster that knows all")
    parser.add_argument(
        "--general", action="store_true", help="also ask exponential smoothing, not the all-knowing"
    )
    parser.add_argument(
        "--weekdays", action="store_true", help="the plan names the wrong weekdays: two too few"
    )
    parser.add_argument("--workers", type=int, default=1, help="processes (default 1)")
    options = parser.parse_args()
    for world in options.worlds:
        started = time.perf_counter()
        first = TUNING_SEED if options.tune else options.first
        cases = forecasts(
            world, options.rugs, first, options.workers, known=not (options.general or options.alone), general=options.general,
            change=wrong_weekdays if options.weekdays else None,
        )  # fmt: skip
        print(
            f"\n== {world}: {options.rugs} rugs in {time.perf_counter() - started:.0f} s (* outside its bar)"
        )
        print(table(cases))
        print(said_table(cases), flush=True)


if __name__ == "__main__":
    main()
