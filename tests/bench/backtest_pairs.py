"""Does how the dates of a weaver's first rug held say anything of how far off they are on her second? Pairs of rugs of one weaver.

Run it from the root of the repository:

    python tests/bench/backtest_pairs.py --rugs 150 --worlds village

For each pair the first rug is forecast at each share as it stood then, and the second with the first as an earlier rug, as the app
does. Printed: how the errors go together, and what the CRPS would be of ranges whose middle or width had been corrected by the
first rug.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402

from tests.bench import backtest_world  # noqa: E402
from tests.bench.backtest_scores import crps  # noqa: E402
from tests.bench.backtest_worlds import CHECKS, CHOSEN_ON, DRAW, TUNING_SEED, WORLDS, book_on  # noqa: E402
from tests.bench.worlds.common import first_rug  # noqa: E402
from tracker.domain.rug import RugBook  # noqa: E402
from tracker.forecast import priors  # noqa: E402
from tracker.forecast.reckon import reckon  # noqa: E402

REACH = 2.0 * 1.2815515655446004
"""The 80 % range is so many standard deviations wide."""
FARTHEST = 3.0
"""An error counts for no more than so many spreads."""
SPREAD_OF_MEAN = 0.6
"""Variance of the mean error of one rug, in spreads, about the weaver's own."""
CENTRES = (0.1, 0.2, 0.35)
"""Variances between weavers (in spreads) tried for a middle that learns."""
STRENGTHS = (3.0, 6.0)
"""Rugs that a width that learns is worth before the first."""


@dataclass(frozen=True)
class Told:
    """One forecast and what came of it, days left as logarithms."""

    truth: float
    drawn: np.ndarray
    entries: int

    @property
    def middle(self) -> float:
        """Log of the middle of the days left."""
        return float(np.log(np.maximum(np.median(self.drawn), 0.5)))

    @property
    def spread(self) -> float:
        """Standard deviation (log) of the range."""
        low, high = np.log(np.maximum(np.quantile(self.drawn, [0.1, 0.9]), 0.5))
        return max(float(high - low) / REACH, 0.02)

    @property
    def off(self) -> float:
        """How far off the middle was, in spreads; too early is above zero."""
        apart = float(np.log(max(self.truth, 0.5))) - self.middle
        return float(np.clip(apart / self.spread, -FARTHEST, FARTHEST))

    def corrected(self, centre: float, width: float) -> np.ndarray:
        """Days drawn, the middle moved by so many spreads and the range so many times as wide."""
        x = np.log(np.maximum(self.drawn, 0.5))
        return np.exp(self.middle + centre * self.spread + width * (x - self.middle))


def told_of(book: RugBook, days: Sequence[int], finish: int, earlier: Sequence[RugBook] = ()) -> list[Told]:
    """Forecast a rug on the evenings of those days (ordinals)."""
    told = []
    for day in days:
        here = book_on(book, date.fromordinal(day))
        if day >= finish or here.rows_woven <= 0:
            continue
        futures = reckon(here, date.fromordinal(day), earlier).futures
        if futures is not None:
            told.append(Told(finish - day, np.sort(futures.days[:, -1] - day), len(here.sessions)))
    return told


def pair(world: str, seed: int) -> tuple[list[Told], list[Told]] | None:
    """Forecast the first and the second rug of a weaver; None when she had no time for a first one."""
    if world == "loom":
        weaver = backtest_world.draw_weaver(np.random.default_rng([seed, 78]))
        rug = backtest_world.draw_rug(seed, CHECKS, may_have_earlier=False, weaver=weaver)
        first: RugBook | None = backtest_world.draw_rug_before(rug, seed, weaver)
    else:
        rug = DRAW[world](seed, CHECKS)
        first = first_rug(rug)
    if first is None:
        return None
    gained = np.cumsum([session.rows for session in first.sessions])
    evenings = [
        first.sessions[int(np.argmax(gained >= share * first.plan.rows))].day.toordinal() for share in CHECKS
    ]
    before = told_of(first, evenings, first.sessions[-1].day.toordinal())
    before = [told for told in before if told.entries >= priors.EARLIER_LEAST_SESSIONS]
    now = told_of(rug.book, [state.day for state in rug.states.values()], rug.finish, (first,))
    return (before, now) if before and now else None


def table(pairs: Sequence[tuple[list[Told], list[Told]]]) -> str:
    """Lay out how errors of the first and the second rug go together, and what learning from them would do."""
    first = [float(np.mean([told.off for told in before])) for before, _now in pairs]
    square = [float(np.mean([told.off**2 for told in before])) for before, _now in pairs]
    cases = [(place, told) for place, (_before, now) in enumerate(pairs) for told in now]
    second = [told.off for _place, told in cases]
    lines = [
        f"{len(pairs)} pairs, {len(cases)} forecasts of the second rug",
        f"off on the first and the second rug: correlation {np.corrcoef([first[place] for place, _t in cases], second)[0, 1]:+.2f}; "
        f"of the squares {np.corrcoef([square[place] for place, _t in cases], np.square(second))[0, 1]:+.2f}",
    ]
    plain = float(np.mean([crps(told.drawn, told.truth) for _place, told in cases]))

    def row(name: str, centre: float, strength: float | None) -> None:
        shares, early, late = [], 0, 0
        for place, told in cases:
            move = centre / (centre + SPREAD_OF_MEAN) * first[place]
            width = 1.0 if strength is None else ((strength + square[place]) / (strength + 1.0)) ** 0.5
            drawn = told.corrected(move, width)
            low, high = np.round(np.quantile(drawn, [0.1, 0.9]))
            shares.append(crps(drawn, told.truth))
            early, late = early + (told.truth < low), late + (told.truth > high)
        lines.append(
            f"{name:<34}CRPS {np.mean(shares) / plain:.3f} of the plain one's, truth before {early / len(cases):.2f}, after {late / len(cases):.2f}"
        )

    row("plain", 0.0, None)
    for centre in CENTRES:
        row(f"middle learns, variance {centre}", centre, None)
    for strength in STRENGTHS:
        row(f"width learns, strength {strength:.0f}", 0.0, strength)
    row("both", CENTRES[0], STRENGTHS[0])
    return "\n".join(lines)


def main() -> None:
    """Run the back-test and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--worlds", nargs="*", default=list(CHOSEN_ON), choices=WORLDS)
    parser.add_argument("--rugs", type=int, default=150, help="pairs a world (default 150)")
    parser.add_argument("--first", type=int, default=TUNING_SEED, help="first seed")
    options = parser.parse_args()
    for world in options.worlds:
        drawn = [pair(world, seed) for seed in range(options.first, options.first + options.rugs)]
        print(f"\n== {world}")
        print(table([both for both in drawn if both is not None]), flush=True)


if __name__ == "__main__":
    main()
