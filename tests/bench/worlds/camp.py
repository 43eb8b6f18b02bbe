"""A camp that moves with its flock: the loom lies on the ground, and is rolled up when the camp goes on.

A day has three sittings; whether each is taken depends on a slow humour of body and mind (an autoregressive process on the logit),
on the season's chores and on the weather, so that days without weaving come in clumps without any clock for them. Skill
comes in steps, at moments nobody foresees. A sister joins in as the humour of both allows. Nearing the end of the rug, and just after its
beginning, she is keener. The camp moves a few times a year, on days that follow the grass: known to within a week at best. All ranges
are our guess; paces lie within what the trade publishes.

None of its rugs was forecast before its ranges stood as they are; its author had read the forecaster. The one choice made on it too
is how far chances of weaving go back (`priors.RETURNS_TO`).
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
    first_that_ends,
    in_lumps,
    off,
    plan_of,
    sessions_of,
    weave_rug,
)

YEAR_DAYS = 365.25


def _logistic(x: np.ndarray) -> np.ndarray:
    return 1.0 / (1.0 + np.exp(-x))


@dataclass(frozen=True)
class CampLife:
    """One weaver of the camp."""

    sittings: np.ndarray
    """Log odds of each of the day's sittings in a middling humour, (3,)."""
    long_h: np.ndarray
    """Middle hours of each sitting, (3,)."""
    spread: float
    humour: float
    """Spread of the humour (log odds)."""
    memory: float
    """Its memory from day to day (0 to 1)."""
    chores: tuple[float, float, float]
    """Day of the year of the hardest work with the flock, its width in days, how much it takes off the log odds."""
    storms: tuple[float, float]
    """Chance a day that bad weather begins, and that it ends; nobody weaves in it."""
    moves: tuple[float, float]
    """Days between moves of the camp, middle; days a move takes, loom and all, middle."""
    known: frozenset[int]
    """Ordinals that are known to be off."""
    rest: int
    """Weekday of the market, on which she takes one sitting at the most; -1: none."""
    steps: float
    """Chance a sitting that something is learnt for good."""
    gain: float
    """What a step takes off what is still to be learnt, a share."""
    behind: float
    """How much slower she is on the first day, log."""
    sister: float
    """Chance that a sister sits beside her when she sits herself; 0: she is alone."""
    keen: float
    """What the first and last twentieth of a rug add to the log odds."""
    noise: float
    tired: float
    """What each sitting of the days before takes off the pace, log, forgotten by half a day."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """She begins in whatever humour she is in, the camp just set up."""
        return {
            "humour": self.humour * rng.standard_normal(copies),
            "storm": np.zeros(copies, dtype=bool),
            "stay": self.moves[0] * np.exp(0.3 * rng.standard_normal(copies)),
            "on_way": np.zeros(copies),
            "behind": np.full(copies, self.behind),
            "tired": np.zeros(copies),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day in the camp."""
        n = share.size
        keep = self.memory
        memory["humour"] = keep * memory["humour"] + np.sqrt(1 - keep**2) * self.humour * rng.standard_normal(
            n
        )
        luck = rng.random(n)
        memory["storm"] = np.where(memory["storm"], luck >= self.storms[1], luck < self.storms[0])
        memory["stay"] = memory["stay"] - 1
        leaves = memory["stay"] <= 0
        memory["on_way"] = np.where(
            leaves,
            np.ceil(self.moves[1] * np.exp(0.4 * rng.standard_normal(n))),
            np.maximum(memory["on_way"] - 1, 0),
        )
        memory["stay"] = np.where(
            leaves, self.moves[0] * np.exp(0.3 * rng.standard_normal(n)), memory["stay"]
        )
        of_year = date.fromordinal(day).timetuple().tm_yday
        peak, width, takes = self.chores
        apart = min(abs(of_year - peak), YEAR_DAYS - abs(of_year - peak))
        odds = memory["humour"] - takes * np.exp(-0.5 * (apart / width) ** 2)
        odds = odds + np.where((share < 0.05) | (share > 0.95), self.keen, 0.0)
        here = ~memory["storm"] & (memory["on_way"] <= 0) & (day not in self.known)
        taken = rng.random((n, 3)) < _logistic(odds[:, None] + self.sittings)
        if (day - 1) % 7 == self.rest:
            taken[:, 1:] = False
        taken &= here[:, None]
        long = np.clip(self.long_h * np.exp(self.spread * rng.standard_normal((n, 3))), 0.3, 5.0)
        hours = (taken * long).sum(axis=1)
        count = taken.sum(axis=1)
        learns = rng.random(n) < 1.0 - (1.0 - self.steps) ** count
        memory["behind"] = memory["behind"] * np.where(learns, 1.0 - self.gain, 1.0)
        both = chance(self.sister, n, rng) & (hours > 0)
        pace = np.exp(
            -memory["behind"] - self.tired * memory["tired"] + self.noise * rng.standard_normal(n)
        ) * np.where(both, 1.75, 1.0)
        memory["tired"] = 0.5 * memory["tired"] + count
        gained = hours * pace
        gained = gained - chance(0.02, n, rng) * gained * rng.uniform(0.1, 1.3, n)
        return Day(hours, gained, np.where(hours > 0, 1 + both, 0))


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw a weaver of the camp and one rug of hers."""
    return first_that_ends(_try, seed, 53, shares)


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 2, 1).toordinal() + int(rng.integers(0, 730))
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(520), 0.4)), 150, 1200))
    sittings = rng.normal([0.9, 0.2, -0.9], 0.6)
    long_h = np.exp(rng.normal(np.log([1.9, 1.7, 1.3]), 0.25))
    likely = 1.0 / (1.0 + np.exp(-sittings))
    a_day = float((likely * long_h).sum())
    total = float(np.clip(np.exp(rng.normal(np.log(75), 0.45)) * a_day, 30, 1200))
    known: set[int] = set()
    told = []
    if rng.random() < 0.4:
        first = start + int(rng.integers(15, 160))
        last = first + int(rng.integers(1, 10))
        known = set(range(first, last + 1))
        told.append(off(first, last, 0))
    helped = rng.random() < 0.35
    rest = int(rng.integers(0, 7)) if rng.random() < 0.6 else -1
    life = CampLife(
        sittings=sittings,
        long_h=long_h,
        spread=float(rng.uniform(0.1, 0.4)),
        humour=float(rng.uniform(0.2, 1.3)),
        memory=float(rng.uniform(0.3, 0.95)),
        chores=(float(rng.uniform(60, 300)), float(rng.uniform(10, 35)), float(rng.uniform(0.0, 2.5))),
        storms=(float(rng.uniform(0.002, 0.03)), float(rng.uniform(0.3, 0.8))),
        moves=(float(np.exp(rng.normal(np.log(75), 0.5))), float(rng.uniform(1.5, 7))),
        known=frozenset(known),
        rest=rest,
        steps=float(rng.uniform(0.02, 0.12)),
        gain=float(rng.uniform(0.1, 0.4)),
        behind=float(np.abs(rng.normal(0.3, 0.22))),
        sister=float(rng.uniform(0.2, 0.9)) if helped else 0.0,
        keen=float(rng.uniform(0.0, 1.0)),
        noise=float(rng.uniform(0.06, 0.2)),
        tired=float(rng.uniform(0.0, 0.04)),
    )
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.4), float(rng.uniform(0.0, 2.0)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    said = {day for day in range(7) if day != rest and rng.random() < 0.9} or {0, 2, 4}
    week = a_day * len(said) * float(np.exp(rng.normal(0.05, 0.3)))
    plan = plan_of(
        piece, start - int(rng.integers(0, 4)), weekdays=tuple(sorted(said)), hours_per_week=float(np.clip(np.round(week), 1, 70)),
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.05, 0.25)), -1)) if rng.random() < 0.45 else None,
        weavers_planned=2 if helped and rng.random() < 0.6 else 1,
    )  # fmt: skip
    every = int(rng.integers(3, 8)) if rng.random() < 0.15 else None
    keep = Bookkeeping(
        hour_step=[None, 0.25, 0.5, 1.0][int(rng.integers(0, 4))],
        missing=float(rng.choice([0.0, 0.1, 0.4, 1.0], p=[0.5, 0.2, 0.15, 0.15])),
        forgotten=float(rng.choice([0.0, 0.02])),
        slip=float(rng.choice([0.0, 0.015])),
        lump=None if every is None else in_lumps(every, start),
        row_step=int(rng.choice([1, 1, 1, 2])),
    )
    book = book_of(piece, plan, sessions_of(course, keep, rng), tuple(told))
    return WorldRug("camp", seed, life, piece.needed, book, (), course.states, course.finish, keep)
