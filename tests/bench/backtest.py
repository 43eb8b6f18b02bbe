"""The back-test: are the forecasts right as often as they say? Prints measured values beside the targets.

Run it from the root of the repository:

    python tests/bench/backtest.py              the long form
    python tests/bench/backtest.py --rugs 60    a shorter one
    python tests/bench/backtest.py --tune       other rugs, for trying things out; scores come from the default ones
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

import numpy as np  # noqa: E402
from backtest_world import book_on, draw_rug, finish_days  # noqa: E402

from tracker.domain.rug import RugBook  # noqa: E402
from tracker.forecast.answers import YarnWord  # noqa: E402
from tracker.forecast.outlook import yarn_answers  # noqa: E402
from tracker.forecast.reckon import reckon  # noqa: E402

CHECKS = (0.10, 0.25, 0.50, 0.75)
SCORING_SEED = 700_000
TUNING_SEED = 100_000
ORACLE_FUTURES = 400


@dataclass(frozen=True)
class Case:
    """One forecast and what came of it; days are counted from the day of the forecast."""

    rug: int
    share: float
    truth: float
    middle: float
    q10: float
    q25: float
    q75: float
    q90: float
    straight: float
    oracle: tuple[float, float, float, float, float] | None


@dataclass(frozen=True)
class YarnCase:
    """One yarn on one day and the truth; grams."""

    rug: int
    share: float
    word: str
    chance: float
    lasts: bool
    short: float
    true_short: float
    needed: float
    true_needed: float
    row: int | None
    low: int | None
    high: int | None
    true_row: int
    rows: int
    cartoon: bool
    evidence: int
    """Weighings of this yarn and balls of it noted so far."""
    known_short: float
    """Grams short by bookkeeping alone with the true use per knot or row, which nobody knows."""


def straight_line(book: RugBook, today: date, rows: int) -> float:
    """Days to the end by a straight line through the rows so far."""
    days = (today - book.sessions[0].day).days + 1
    return (rows - book.rows_woven) * days / max(book.rows_woven, 1)


def one_rug(seed: int) -> tuple[list[Case], list[YarnCase]]:
    """Draw a rug, forecast it at every check and note what came of it."""
    rug = draw_rug(seed, CHECKS)
    cases, yarns = [], []
    rows = rug.book.plan.rows
    for share in CHECKS:
        if share not in rug.states:
            continue
        state = rug.states[share]
        today = date.fromordinal(state.day)
        book = book_on(rug.book, today)
        now = reckon(book, today, rug.earlier)
        if now.futures is None:
            continue
        q = [float(np.quantile(now.futures.days[:, -1], p)) - state.day for p in (0.1, 0.25, 0.5, 0.75, 0.9)]
        oracle_days = (
            finish_days(rug.weave, state.copies(ORACLE_FUTURES), np.random.default_rng([seed, 5])) - state.day
        )
        o = [float(np.quantile(oracle_days, p)) for p in (0.1, 0.25, 0.5, 0.75, 0.9)]
        cases.append(
            Case(
                seed,
                share,
                rug.finish - state.day,
                q[2],
                q[0],
                q[1],
                q[3],
                q[4],
                straight_line(book, today, rows),
                (o[0], o[1], o[2], o[3], o[4]),
            )
        )
        ahead = {yarn.id: now.to_weave.knots[:, k] for k, yarn in enumerate(now.to_weave.pile)}
        for answer in yarn_answers(now, 20260101):
            if answer.word in (YarnWord.DONE, YarnWord.NOT_BOUGHT):
                continue
            hand = max(rug.mass_at[share][answer.yarn_id], 0.0)
            here = int(np.searchsorted(rug.woven_day, state.day))
            spent = rug.used_g[answer.yarn_id] - rug.used_g[answer.yarn_id][here]
            need = float(spent[-1])
            out = int(np.searchsorted(spent, hand, side="right"))
            true_row = rows
            if out < spent.size:
                part = (hand - spent[out - 1]) / max(spent[out] - spent[out - 1], 1e-9)
                true_row = int(np.ceil((1 - part) * rug.woven_row[out - 1] + part * rug.woven_row[out]))
            units = ahead.get(answer.yarn_id, np.ones(rows))
            use = rug.use_each[answer.yarn_id]
            lost = sum(x.mass_g for x in book.spoilt if x.yarn_id == answer.yarn_id)
            known = use * float(units.sum()) - answer.bought_g + lost
            low, high = answer.runs_out_row_range or (None, None)
            yarns.append(
                YarnCase(
                    seed, share, answer.word.value, answer.chance, hand >= need, answer.short_g, max(need - hand, 0.0),
                    answer.needed_g, need, answer.runs_out_row, low, high, min(true_row, rows), rows, book.cartoon is not None,
                    sum(w.yarn_id == answer.yarn_id for w in book.weighings) + sum(int(n) for x in book.sessions for y, n in x.used if y == answer.yarn_id),
                    max(known, 0.0),
                )
            )  # fmt: skip
    return cases, yarns


# --------------------------------------------------------------------------------------------- scoring


@dataclass(frozen=True)
class Line:
    """One line of the table: a measured value beside its target."""

    what: str
    value: float
    low: float | None
    high: float | None
    cases: int

    @property
    def met(self) -> bool:
        """Whether the value lies within its target."""
        return (self.low is None or self.value >= self.low) and (self.high is None or self.value <= self.high)

    def __str__(self) -> str:
        low = "" if self.low is None else f"{self.low:.3g}"
        high = "" if self.high is None else f"{self.high:.3g}"
        target = (
            f"{low} to {high}"
            if low and high
            else (f"at least {low}" if low else (f"at most {high}" if high else "-"))
        )
        verdict = "" if target == "-" else ("met" if self.met else "MISSED")
        return f"{self.what:<66}{self.value:>9.3f}   {target:<16}{verdict:<8}n={self.cases}"


def score_finish(cases: list[Case]) -> list[Line]:
    """Coverage, error and width of the finish dates against the straight line and the forecaster that knows all."""
    lines = []
    for share in CHECKS:
        here = [c for c in cases if c.share == share]
        if not here:
            continue
        n = len(here)
        name = f"{share:.0%} woven: "
        lines.append(
            Line(
                name + "80 % range holds",
                _mean([round(c.q10) <= c.truth <= round(c.q90) for c in here]),
                0.76,
                0.84,
                n,
            )
        )
        lines.append(Line(name + "50 % range holds", _mean([_half(c) for c in here]), 0.45, 0.55, n))
        error = _mean([abs(c.middle - c.truth) for c in here])
        line = _mean([abs(c.straight - c.truth) for c in here])
        lines.append(Line(name + "mean error, days", error, None, None, n))
        lines.append(
            Line(
                name + "bias (middle - truth), days", _mean([c.middle - c.truth for c in here]), None, None, n
            )
        )
        lines.append(Line(name + "error / straight line's", error / line, None, 1.0, n))
        known = [c.oracle for c in here if c.oracle is not None]
        if known:
            best = _mean([abs(c.oracle[2] - c.truth) for c in here if c.oracle])
            lines.append(
                Line(name + "error / all-knowing's", error / best, None, 1.3 if share == 0.10 else 1.2, n)
            )
            width = _mean([c.q90 - c.q10 for c in here]) / _mean([o[4] - o[0] for o in known])
            lines.append(Line(name + "width / all-knowing's", width, None, 1.3, n))
            lines.append(
                Line(
                    name + "all-knowing: 80 % range holds",
                    _mean([round(c.oracle[0]) <= c.truth <= round(c.oracle[4]) for c in here if c.oracle]),
                    None,
                    None,
                    n,
                )
            )
    return lines


def _half(c: Case) -> bool:
    return round(c.q25) <= c.truth <= round(c.q75)


def score_yarn(cases: list[YarnCase]) -> list[Line]:
    """The words, the grams and the run-out rows."""
    enough = [c for c in cases if c.word == YarnWord.ENOUGH.value]
    short = [c for c in cases if c.word == YarnWord.SHORT.value]
    tight = [c for c in cases if c.word == YarnWord.TIGHT.value]
    lines = [
        Line(
            "yarn called enough that ran short", _mean([not c.lasts for c in enough]), None, 0.02, len(enough)
        ),
        Line("yarn called short that ran short", _mean([not c.lasts for c in short]), 0.90, None, len(short)),
        Line("yarn called tight (share of all)", len(tight) / max(len(cases), 1), None, None, len(cases)),
    ]
    third = [c for c in short if c.share >= 0.34 and c.true_short > 0]
    groups = (
        ("", third, 0.05),
        (", never weighed nor counted", [c for c in third if not c.evidence], None),
        (", weighed or counted once or twice", [c for c in third if 1 <= c.evidence <= 2], None),
        (", weighed or counted more often", [c for c in third if c.evidence > 2], None),
    )
    for name, some, target in groups:
        if some:
            errors = [abs(c.short - c.true_short) / c.true_needed for c in some]
            lines.append(
                Line(
                    f"grams short, median error / need{name}",
                    float(np.median(errors)),
                    None,
                    target,
                    len(errors),
                )
            )
    drawn = [abs(c.known_short - c.true_short) / c.true_needed for c in third if c.cartoon]
    if drawn:
        what = "the same by bookkeeping with the true use known (cartoon)"
        lines.append(Line(what, float(np.median(drawn)), None, None, len(drawn)))
    errors = [abs(c.short - c.true_short) / c.true_short for c in third]
    if errors:
        lines.append(
            Line("grams short, median error / grams short", float(np.median(errors)), None, 0.05, len(errors))
        )
    # Where the range ends with the rug, "or it lasts" is part of the range: those hold nine times in ten by design.
    shown = [c for c in cases if c.row is not None and c.row < c.rows]
    within = [c for c in shown if c.high is not None and c.high < c.rows]
    lines.append(
        Line(
            "run-out row within its 80 % range", _mean([_inside(c) for c in within]), 0.76, 0.84, len(within)
        )
    )
    for share in CHECKS:
        some = [c for c in within if c.share == share]
        lines.append(
            Line(f"  at {share:.0%} woven", _mean([_inside(c) for c in some]), None, None, len(some))
        )
    open_ended = [c for c in shown if c.high is not None and c.high >= c.rows]
    lines.append(
        Line(
            "  ranges that end with the rug",
            _mean([_inside(c) for c in open_ended]),
            None,
            None,
            len(open_ended),
        )
    )
    return lines


def _inside(c: YarnCase) -> bool:
    return c.low is not None and c.high is not None and c.low <= c.true_row <= c.high


def _mean(values: list) -> float:
    return float(np.mean(values)) if values else float("nan")


def simulated(rugs: int, first_seed: int, workers: int = 2) -> tuple[list[Case], list[YarnCase]]:
    """Forecast so many simulated rugs."""
    seeds = range(first_seed, first_seed + rugs)
    if workers > 1:
        with ProcessPoolExecutor(workers) as pool:
            done = list(pool.map(one_rug, seeds, chunksize=4))
    else:
        done = [one_rug(seed) for seed in seeds]
    return [c for cases, _y in done for c in cases], [y for _c, yarns in done for y in yarns]


def main() -> None:
    """Run the back-test and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--rugs", type=int, default=800, help="simulated rugs (default 800)")
    parser.add_argument("--tune", action="store_true", help="use the rugs set aside for tuning")
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    options = parser.parse_args()
    started = time.perf_counter()
    cases, yarns = simulated(options.rugs, TUNING_SEED if options.tune else SCORING_SEED, options.workers)
    print(f"{'':<66}{'value':>9}   target")
    for line in [*score_finish(cases), *score_yarn(yarns)]:
        print(line)
    print(f"{options.rugs} rugs in {time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
