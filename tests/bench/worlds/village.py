"""A village: women weave at home through a year of harvest, fasting month, feasts and heat.

Learning falls as a power of the hours woven (Wright's curve; T. P. Wright, J. Aeronautical Sciences 3 (1936) 122, from memory:
each doubling to 80 to 96 % of the time). Absences come in spells with memory: the longer since the last, the less likely.
Ways and lengths of the seasons are our guess (common practice: less weaving at harvest, shorter days in the fasting month).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from .common import (
    Bookkeeping,
    Day,
    Draws,
    WorldRug,
    book_of,
    chance,
    draw_piece,
    finished,
    first_that_ends,
    off,
    plan_of,
    sessions_of,
    weave_rug,
)

YEAR_DAYS = 365.25


@dataclass(frozen=True)
class VillageLife:
    """One weaver of the village."""

    evening: np.ndarray
    """Chance of weaving by weekday, (7,)."""
    hours: np.ndarray
    """Usual hours by weekday, (7,)."""
    spread: float
    """Spread of a day's hours, standard deviation of the logarithm."""
    noise: float
    """Spread of a day's pace, standard deviation of the logarithm."""
    known: float
    """Standard hours of this kind of work she had done before."""
    steepness: float
    """Exponent of the learning curve."""
    total: float
    """Standard hours of the rug; at its end the pace is 1."""
    harvest: tuple[float, float, float]
    """Day of the year on which it begins, days, share of weaving left."""
    fasting: tuple[float, float]
    """Ordinal of its first day, share of the hours left."""
    heat: float
    """Share of the hours left in July and August."""
    feasts: frozenset[int]
    """Ordinals on which nobody weaves."""
    gap: float
    """Scale of the days between absences."""
    long: float
    """Share of long absences."""
    long_days: float
    """Middle length of a long absence, days."""
    unpick: float
    """Chance that a session ends in unpicking."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """Nobody is away on the first day."""
        return {
            "away": np.zeros(copies),
            "next": self.gap * rng.weibull(0.8, copies),
            "done": np.zeros(copies),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day in the village."""
        n = share.size
        weekday = (day - 1) % 7
        of_year = date.fromordinal(day).timetuple().tm_yday
        comes = (memory["away"] <= 0) & (memory["next"] <= 0)
        is_long = chance(self.long, n, rng)
        length = np.where(
            is_long,
            self.long_days * np.exp(0.5 * rng.standard_normal(n)),
            2 + rng.binomial(4, 0.4, n),
        )
        memory["away"] = np.where(comes, np.round(length), memory["away"])
        memory["next"] = np.where(comes, self.gap * rng.weibull(0.8, n), memory["next"])
        away = memory["away"] > 0
        memory["away"] = memory["away"] - away
        memory["next"] = memory["next"] - ~away
        p, hours = self.evening[weekday], self.hours[weekday]
        first, long, left = self.harvest
        if (of_year - first) % YEAR_DAYS < long:
            p *= left
        if (day - self.fasting[0]) % 354 < 30:  # a lunar year has 354 days
            hours *= self.fasting[1]
        if 182 <= of_year <= 243:
            hours *= self.heat
        sits = chance(p, n, rng) & ~away & (day not in self.feasts)
        spent = np.where(sits, np.clip(hours * np.exp(self.spread * rng.standard_normal(n)), 0.25, 12), 0.0)
        pace = ((self.known + self.total) / (self.known + memory["done"])) ** self.steepness
        gained = spent / pace * np.exp(self.noise * rng.standard_normal(n))
        undone = chance(self.unpick, n, rng) * rng.uniform(0.1, 1.2, n)
        gained = gained * (1 - undone)
        memory["done"] = memory["done"] + np.maximum(gained, 0)
        return Day(spent, gained, sits.astype(int))


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw a weaver of the village and one rug of hers."""
    return first_that_ends(_try, seed, 11, shares)


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 1, 1).toordinal() + int(rng.integers(0, 730))
    rests = rng.permutation(7)[: rng.integers(0, 4)]
    evening = np.clip(rng.beta(12, 3) + 0.06 * rng.standard_normal(7), 0.3, 0.99)
    evening[rests] = rng.choice([0.0, 0.03, 0.12], rests.size)
    usual = float(np.exp(rng.normal(np.log(3.2), 0.4)))
    hours = np.clip(usual * np.exp(0.15 * rng.standard_normal(7)), 0.7, 9)
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(560), 0.45)), 150, 1200))
    sessions_wanted = float(np.exp(rng.normal(np.log(75), 0.55)))
    total = float(np.clip(sessions_wanted * usual, 30, 1500))
    feasts: set[int] = set()
    told = []
    for number in range(int(rng.integers(0, 5))):
        first = start + int(rng.integers(5, 500))
        last = first + int(rng.integers(0, 5))
        feasts |= set(range(first, last + 1))
        if chance(0.6, 1, rng)[0]:
            told.append(off(first, last, number))
    life = VillageLife(
        evening=evening,
        hours=hours,
        spread=float(rng.uniform(0.1, 0.4)),
        noise=float(rng.uniform(0.06, 0.2)),
        known=float(total * np.exp(rng.normal(-1.2, 1.0))),
        steepness=float(rng.uniform(0.05, 0.32)),
        total=total,
        harvest=(
            float(rng.choice([120, 165, 250, 285])),
            float(rng.uniform(14, 40)),
            float(rng.uniform(0.1, 0.9)) if chance(0.6, 1, rng)[0] else 1.0,
        ),
        fasting=(
            date(2023, 3, 23).toordinal(),
            float(rng.uniform(0.5, 0.95)) if chance(0.5, 1, rng)[0] else 1.0,
        ),
        heat=float(rng.uniform(0.7, 1.0)),
        feasts=frozenset(feasts),
        gap=float(np.exp(rng.normal(np.log(60), 0.6))),
        long=float(rng.uniform(0.05, 0.3)),
        long_days=float(rng.uniform(10, 25)),
        unpick=float(rng.uniform(0.0, 0.06)),
    )
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.5), float(rng.uniform(0.2, 2.5)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    woven = np.flatnonzero(evening > 0.3)
    said = set(woven.tolist())
    if rng.random() < 0.25:
        said.discard(int(rng.choice(woven)))
    if rng.random() < 0.25:
        said.add(int(rng.integers(0, 7)))
    said = said or set(woven.tolist())
    true_week = float((evening * hours)[sorted(said)].sum())
    guess = float(np.clip(np.round(true_week * np.exp(rng.normal(0.05, 0.3))), 1, 70))
    plan = plan_of(
        piece, start, weekdays=tuple(sorted(int(day) for day in said)), hours_per_week=guess,
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.05, 0.25)), -1)) if rng.random() < 0.5 else None,
    )  # fmt: skip
    keep = Bookkeeping(
        hour_step=float(rng.choice([0.25, 0.5, 1.0])) if rng.random() < 0.7 else None,
        missing=float(rng.choice([0.0, 0.05, 0.3, 1.0], p=[0.5, 0.25, 0.15, 0.1])),
        forgotten=float(rng.choice([0.0, 0.02])),
        slip=float(rng.choice([0.0, 0.02])),
        row_step=int(rng.choice([1, 1, 1, 2])),
    )
    book = book_of(piece, plan, sessions_of(course, keep, rng), tuple(told))
    earlier = ()
    if rng.random() < 0.3:
        before = draw_piece(
            rng, total * float(rng.uniform(0.4, 1.0)), knots_per_hour * float(np.exp(rng.normal(0, 0.1))), False, 1.0
        )  # fmt: skip
        first = weave_rug(life, before.needed, start - 400, (), rng)
        if first is not None and first.finish < start:
            earlier = (
                finished(book_of(before, plan_of(before, start - 400), sessions_of(first, keep, rng))),
            )
    return WorldRug("village", seed, life, piece.needed, book, earlier, course.states, course.finish, keep)
