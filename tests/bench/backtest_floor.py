"""How near to the truth could a forecaster come that is taught the very world it is asked in? The floor under every bar.

Run it from the root of the repository:

    python tests/bench/backtest_floor.py --rugs 400 --worlds village      taught on tuning rugs, scored on the others of them
    python tests/bench/backtest_floor.py --worlds village --first 800000 --asked 100     scored on other seeds

For each world a learner is taught on some hundred of its rugs what was true, beside all that a phone knows of them on that evening: the
record, the plan, the day of the year, and our own forecast. It is boosted trees and a ridge regression, half of each, on the logarithm of
the true days over ours. No app can have it: a weaver's world is not known. Where it gains nothing on our forecast, a belief that is
right for that world alone would hardly gain more; what lies between it and the forecaster that knows all is mostly what no record tells.
The floor itself may lie lower: more rugs, or a cleverer learner, might come nearer (`--rugs` says how much).
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402

from tests.bench import backtest_world  # noqa: E402
from tests.bench.backtest_scores import DayForecast, line_with_its_errors, score  # noqa: E402
from tests.bench.backtest_worlds import CHECKS, DRAW, TUNING_SEED, WORLDS, book_on, straight_line  # noqa: E402
from tracker.domain.rug import RugBook  # noqa: E402
from tracker.forecast.reckon import Reckoning, reckon  # noqa: E402
from tracker.forecast.sessions import planned_days, planned_hours_a_day  # noqa: E402

FOLDS = 5
TREES, RATE, DEPTH, LEAF, BINS = 140, 0.07, 3, 20, 16
"""Boosted trees: how many, what each adds of itself, splits from the root, least cases of a leaf, bins of a feature."""
RIDGE = 60.0


def _safe_log(value: float, least: float = 1e-3) -> float:
    return math.log(max(value, least))


def features_of(book: RugBook, now: Reckoning, drawn: np.ndarray) -> dict[str, float]:
    """Return what a phone knows on that evening, by name; names begin with the group they belong to.

    Parameters
    ----------
    book : as it stood on that evening
    now : what our forecast learnt from it
    drawn : days left, drawn from our forecast, rising
    """
    sessions, habit, plan = now.sessions, now.habit, book.plan
    begun, today = int(sessions.first_day[0]), now.today.toordinal()
    size = today - begun + 1
    rows, hours, at_loom = np.zeros(size), np.zeros(size), np.zeros(size)
    for day, first, gained, spent in zip(
        sessions.day, sessions.first_day, sessions.rows, sessions.hours, strict=True
    ):
        span = np.arange(max(first, begun), day + 1) - begun
        rows[span] += gained / span.size
        hours[span] += spent / span.size
        at_loom[span] = 1
    left = max(plan.rows - book.rows_woven, 1)
    middle = float(np.median(drawn))
    ours = math.log(middle)
    weekday = (np.arange(begun, today + 1) - 1) % 7
    planned = planned_days(plan)
    whole = max(rows.mean(), 1e-3)
    told = {
        "stand days since start": math.log(size),
        "stand rows left": math.log(left),
        "stand sessions": math.log(max(sessions.size, 1)),
        "stand our days left": ours,
        "stand rows": math.log(plan.rows),
        "stand knots across": math.log(plan.knots_across),
        "line beside ours": math.log(left / whole) - ours,
        "plan days": float(planned.sum()),
        "plan hours a day": math.log(planned_hours_a_day(plan)),
        "plan knots an hour told": float(plan.knots_per_hour is not None),
        "plan weavers": float(plan.weavers_planned),
        "plan earlier rug": float(now.by_earlier),
        "plan cartoon": float(book.cartoon is not None),
        "plan days off to come": _safe_log(
            1 + sum(max((span.last_day - now.today).days, 0) for span in book.days_off)
        ),
        "book hours told": float(sessions.given.mean()),
        "book days of an entry": float(sessions.entry_days),
        "team": float(np.log(sessions.team).mean()),
        "team lately": float(np.log(sessions.team[-8:]).mean() - np.log(sessions.team).mean()),
        "ours spread": _safe_log(float(np.quantile(drawn, 0.9) / np.quantile(drawn, 0.1)) - 1),
        "ours lopsided": float(
            np.quantile(drawn, 0.9) * np.quantile(drawn, 0.1) / max(middle, 1.0) ** 2
        ),
        "ours mean": math.log(float(drawn.mean())) - ours,
        "ours share of days": float(habit.weekdays.mean.mean()),
        "ours weeks of habit": habit.weekdays.run_weeks,
        "ours away": habit.absences.away_share,
        "ours hours a day": math.log(habit.hours.usual),
        "ours days differ": habit.hours.day_sd,
        "ours weeks differ": float(habit.spells.chance @ np.array([0.0, 0.3, 0.6, 1.0])),
        "ours standing": float(habit.spells.chance @ habit.spells.now),
        "ours goes on": habit.spells.follows,
        "ours pace drift": float(now.fit.weight @ now.fit.mean[:, 3]),
        "ours practice left": float(
            now.fit.weight @ (now.fit.mean[:, 1] * np.exp(-now.fit.hours_so_far / now.fit.learn_hours))
        ),
    }  # fmt: skip
    share, days_on = at_loom.mean(), max(at_loom.sum(), 1)
    told["days woven on"] = _safe_log(share)
    told["days of the plan"] = float(at_loom[planned[weekday]].mean()) if planned[weekday].any() else 0.5
    told["days off the plan"] = float(at_loom[~planned[weekday]].mean()) if (~planned)[weekday].any() else 0.0
    a_day, row_hours = hours.sum() / days_on, hours.sum() / max(rows.sum(), 1.0)
    told["hours a day over the plan"] = math.log(a_day) - math.log(planned_hours_a_day(plan))
    told["hours differ"] = float(np.log(np.maximum(hours[at_loom > 0], 0.05)).std())
    for weeks in (1, 2, 4, 8):
        last = slice(max(size - 7 * weeks, 0), size)
        part = max(at_loom[last].sum(), 1)
        told[f"lately rows, {weeks} weeks"] = _safe_log(rows[last].mean() / whole, 0.05)
        told[f"lately days, {weeks} weeks"] = _safe_log(at_loom[last].mean() / share, 0.05)
        told[f"lately hours a day, {weeks} weeks"] = _safe_log(hours[last].sum() / part / a_day, 0.05)
        told[f"lately pace, {weeks} weeks"] = _safe_log(
            row_hours * rows[last].sum() / max(hours[last].sum(), 0.1), 0.05
        )
    for half, place in (("first", slice(0, (size + 1) // 2)), ("last", slice(size // 2, size))):
        told[f"lately rows, {half} half"] = _safe_log(rows[place].mean() / whole, 0.05)
    on = np.flatnonzero(at_loom)
    gaps = np.diff(on) - 1
    weeks = np.add.reduceat(rows, np.arange(0, size, 7))
    told["gaps short"] = float(((gaps >= 2) & (gaps <= 6)).sum() / size)
    told["gaps long"] = float((gaps > 6).sum() / size)
    told["gaps longest"] = math.log(1.0 + float(gaps.max(initial=0)))
    told["gaps single"] = float((gaps == 1).sum() / size)
    told["weeks differ"] = float(weeks.std() / max(weeks.mean(), 1e-3))
    if sessions.size > 2:
        before = np.cumsum(sessions.hours)
        sure = sessions.rows > 0
        pace = np.log(sessions.rows[sure] / sessions.hours[sure])
        told["pace differs"] = float(pace.std())
        told["pace by doublings"] = (
            float(np.polyfit(np.log(before[sure]), pace, 1)[0]) if sure.sum() > 3 else 0.0
        )
    else:
        told["pace differs"] = told["pace by doublings"] = 0.0
    for name, ahead in (("today", 0.0), ("half way", middle / 2), ("at the end", middle)):
        angle = 2 * math.pi * (date.fromordinal(today).timetuple().tm_yday + ahead) / 365.25
        told[f"season {name}, sine"], told[f"season {name}, cosine"] = math.sin(angle), math.cos(angle)
    told["stand weekday"] = float(now.today.weekday())
    return told


def cases_of(world: str, seeds: Sequence[int]) -> list[tuple[DayForecast, dict[str, float]]]:
    """Return the forecasts of rugs of one world at every check, each with what a phone knows then."""
    cases = []
    for seed in seeds:
        drawn = backtest_world.draw_rug(seed, CHECKS) if world == "loom" else DRAW[world](seed, CHECKS)
        for share, state in drawn.states.items():
            today = date.fromordinal(state.day)
            book = book_on(drawn.book, today)
            if not book.sessions or book.rows_woven <= 0:
                continue
            now = reckon(book, today, drawn.earlier)
            if now.futures is None:
                continue
            days = np.maximum(np.sort(now.futures.days[:, -1] - state.day), 0.5)
            line = straight_line(book, today, book.plan.rows)
            case = DayForecast(world, seed, share, drawn.finish - state.day, days, line)
            cases.append((case, {"stand share": share, **features_of(book, now, days)}))
    return cases


# ------------------------------------------------------------------------------------------------ the learner


class Trees:
    """Boosted regression trees on binned features, least squares."""

    def __init__(self, x: np.ndarray, y: np.ndarray, weight: np.ndarray) -> None:
        """Grow them on cases (n, features), what is to be told (n,) and the weight of each (n,)."""
        self.edges = np.quantile(x, np.arange(1, BINS) / BINS, axis=0)
        binned = self._bin(x)
        columns = np.arange(x.shape[1]) * BINS
        self.gain = np.zeros(x.shape[1])
        self.start = float(np.average(y, weights=weight))
        self.trees: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
        told = np.full(y.size, self.start)
        rng = np.random.default_rng(3)
        for _ in range(TREES):
            some = rng.random(y.size) < 0.6
            node = np.zeros(y.size, dtype=int)
            feature, at = np.zeros(2**DEPTH - 1, dtype=int), np.full(2**DEPTH - 1, BINS)
            rest = (y - told) * weight
            for depth in range(DEPTH):
                first = 2**depth - 1
                place = (node[some] - first)[:, None] * x.shape[1] * BINS + columns + binned[some]
                shape = (2**depth, x.shape[1], BINS)
                sums = [
                    np.cumsum(
                        np.bincount(
                            place.ravel(), np.repeat(value[some], x.shape[1]), math.prod(shape)
                        ).reshape(shape),
                        axis=2,
                    )
                    for value in (rest, weight)
                ]
                (g, w), (whole_g, whole_w) = sums, [part[:, :, -1:] for part in sums]
                enough = (w > LEAF) & (whole_w - w > LEAF)
                gain = np.where(
                    enough,
                    g**2 / np.maximum(w, 1) + (whole_g - g) ** 2 / np.maximum(whole_w - w, 1) - whole_g**2 / np.maximum(whole_w, 1),
                    0.0,
                )  # fmt: skip
                best = gain.reshape(2**depth, -1).argmax(axis=1)
                for leaf, place_of in enumerate(best.tolist()):
                    if gain.reshape(2**depth, -1)[leaf, place_of] > 1e-9:
                        feature[first + leaf], at[first + leaf] = divmod(place_of, BINS)
                        self.gain[place_of // BINS] += gain.reshape(2**depth, -1)[leaf, place_of]
                node = 2 * node + 1 + (binned[np.arange(y.size), feature[node]] > at[node])
            leaf = node - (2**DEPTH - 1)
            value = np.bincount(leaf[some], rest[some], 2**DEPTH) / (
                np.bincount(leaf[some], weight[some], 2**DEPTH) + 5.0
            )
            self.trees.append((feature, at, RATE * value))
            told += RATE * value[leaf]

    def _bin(self, x: np.ndarray) -> np.ndarray:
        return np.stack([np.searchsorted(self.edges[:, k], x[:, k]) for k in range(x.shape[1])], axis=1)

    def tell(self, x: np.ndarray) -> np.ndarray:
        """Return what they say of cases (n, features)."""
        binned, told = self._bin(x), np.full(x.shape[0], self.start)
        for feature, at, value in self.trees:
            node = np.zeros(x.shape[0], dtype=int)
            for _ in range(DEPTH):
                node = 2 * node + 1 + (binned[np.arange(x.shape[0]), feature[node]] > at[node])
            told += value[node - (2**DEPTH - 1)]
        return told


class Ridge:
    """Ridge regression on features brought to one scale, with a bend at the middle of each."""

    def __init__(self, x: np.ndarray, y: np.ndarray, weight: np.ndarray) -> None:
        """Fit cases (n, features) to what is to be told (n,), each of a weight (n,)."""
        self.mean, self.sd = x.mean(axis=0), np.maximum(x.std(axis=0), 1e-6)
        z = self._scaled(x)
        self.start = np.average(y, weights=weight)
        inner = z.T @ (weight[:, None] * z) + RIDGE * np.eye(z.shape[1])
        self.slope = np.linalg.solve(inner, z.T @ (weight * (y - self.start)))

    def _scaled(self, x: np.ndarray) -> np.ndarray:
        z = np.clip((x - self.mean) / self.sd, -3, 3)
        return np.concatenate([z, np.abs(z) - 0.8], axis=1)

    def tell(self, x: np.ndarray) -> np.ndarray:
        """Return what it says of cases (n, features)."""
        return self.start + self._scaled(x) @ self.slope


class Learner:
    """What is true of a world's rugs, learnt from some of them: the middle and the spread of log(true days / ours)."""

    def __init__(self, x: np.ndarray, y: np.ndarray, rug: np.ndarray) -> None:
        """Learn from cases (n, features), log(true days / ours) and the rug of each (n,)."""
        weight = np.ones(y.size)
        self.parts = [Trees(x, y, weight), Ridge(x, y, weight)]
        # How far off it is on rugs that it was not taught, in three folds: a case's spread goes by our range's.
        rest = np.empty(y.size)
        _rugs, number = np.unique(rug, return_inverse=True)
        for fold in range(3):
            out = number % 3 == fold
            inner = [kind(x[~out], y[~out], weight[~out]) for kind in (Trees, Ridge)]
            rest[out] = y[out] - np.mean([part.tell(x[out]) for part in inner], axis=0)
        self.width = Ridge(x, np.log(np.abs(rest) + 0.02), weight)
        self.share, scaled = x[:, 0], rest / np.exp(self.width.tell(x))
        self.rest = {share: np.sort(scaled[self.share == share]) for share in np.unique(self.share)}

    def tell(self, x: np.ndarray) -> list[np.ndarray]:
        """Return draws of log(true days / ours) of each case (n, features), rising."""
        middle = np.mean([part.tell(x) for part in self.parts], axis=0)
        wide = np.exp(self.width.tell(x))
        at = (np.arange(200) + 0.5) / 200
        rests = {share: np.quantile(rest, at) for share, rest in self.rest.items()}
        return [m + w * rests[share] for m, w, share in zip(middle, wide, x[:, 0], strict=True)]


Case = tuple[DayForecast, dict[str, float]]


def taught_by(cases: Sequence[Case]) -> Learner:
    """Teach a learner what came of those forecasts."""
    x = np.array([list(known.values()) for _case, known in cases])
    off = np.array([math.log(case.truth / np.median(case.drawn)) for case, _known in cases])
    return Learner(x, off, np.array([case.rug for case, _known in cases]))


def told_by(learner: Learner, cases: Sequence[Case]) -> list[np.ndarray]:
    """Return the days left that the learner draws for each case, rising."""
    offs = learner.tell(np.array([list(known.values()) for _case, known in cases]))
    return [
        float(np.median(case.drawn)) * np.exp(off) for (case, _known), off in zip(cases, offs, strict=True)
    ]


def table(cases: Sequence[Case], told: Sequence[np.ndarray]) -> str:
    """Lay out the scores of our forecasts and of the learner's."""
    lines = [
        f"{'':<8}" + "".join(f"{name:>22}" for name in ("error", "bias", "CRPS / line's", "before, after"))
    ]
    for share in CHECKS:
        places = [place for place, (case, _known) in enumerate(cases) if case.share == share]
        some = [cases[place][0] for place in places]
        truths = [case.truth for case in some]
        ours = score(truths, [case.drawn for case in some])
        theirs = score(truths, [told[place] for place in places])
        line = score(truths, line_with_its_errors(some)).crps
        for name, one in (("ours", ours), ("learner", theirs)):
            lines.append(
                f"{share:>4.0%} {name:<8}{one.error:>17.3f}{one.bias:>+22.3f}{one.crps / line:>22.2f}{one.before:>16.2f}, {one.after:.2f}"
            )
    return "\n".join(lines)


def main() -> None:
    """Teach, ask and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--worlds", nargs="*", default=list(WORLDS), choices=WORLDS)
    parser.add_argument("--rugs", type=int, default=800, help="rugs it is taught on (default 800)")
    parser.add_argument(
        "--first",
        type=int,
        help="first seed it is asked on; none: every fifth tuning rug in turn is left out and asked",
    )
    parser.add_argument(
        "--asked", type=int, default=100, help="rugs it is asked on, with --first (default 100)"
    )
    options = parser.parse_args()
    for world in options.worlds:
        cases = cases_of(world, range(TUNING_SEED + 10_000, TUNING_SEED + 10_000 + options.rugs))
        if options.first is not None:
            asked = cases_of(world, range(options.first, options.first + options.asked))
            told = told_by(taught_by(cases), asked)
        else:
            folds = [[case for case in cases if case[0].rug % FOLDS == fold] for fold in range(FOLDS)]
            asked = [case for fold in folds for case in fold]
            told = [
                drawn
                for out in range(FOLDS)
                for drawn in told_by(
                    taught_by([c for fold in folds if fold is not folds[out] for c in fold]), folds[out]
                )
            ]
        print(
            f"\n== {world}: taught on {options.rugs} rugs, asked on {len({case.rug for case, _known in asked})}"
        )
        print(table(asked, told), flush=True)


if __name__ == "__main__":
    main()
