"""A mountain valley: weaving by the piece, in what the fields, the light and the body leave over.

A weaver wants so much done a day and stops when it is done, so a faster hand sits for fewer hours. Days come in runs: who sat yesterday sits
more likely today. In the farming weeks the weather, a chain of wet and dry days, decides. Strain gathers with the hours and, past a limit,
keeps her away until it has healed. Each part of the pattern is learnt anew, the second border from the first.
The trader comes once a month. Complaints of back and wrist are common among weavers (Health Scope 64182, in three of five
within a year); paces lie within what the trade publishes; all other ranges are our guess.

Its author had read the forecaster's `priors.py`; the ranges were written down before any forecast was made in it. The one choice
made on it too is how far chances of weaving go back (`priors.RETURNS_TO`).
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

YEAR_DAYS = 365.0
PARTS = np.array([0, 1, 2, 1, 0])
"""Border, field, medallion, field, border: what is learnt in one part is known in its twin."""


@dataclass(frozen=True)
class ValleyLife:
    """One weaver of the valley."""

    sits: np.ndarray
    """Chance of weaving by weekday after a day woven on, (7,)."""
    lapse: float
    """Factor on it after a day not woven on."""
    quota: float
    """Standard hours of work she wants done in a day."""
    free: float
    """Middle of the hours she has in a day."""
    free_spread: float
    daylight: float
    """Part of those hours that comes and goes with the light of the year."""
    sowing: tuple[float, float, float]
    """First day of the year, length in days, chance left on a dry day."""
    harvest: tuple[float, float, float]
    wet: tuple[float, float]
    """Chance that a wet day follows a dry one, and a wet one."""
    rush: float
    """Factor on the quota in the last week before the trader comes."""
    trader: int
    """Day of the month on which he comes."""
    limit: float
    """Strain beyond which she stays away, in usual days' work."""
    heal: float
    """Share of the strain that is left after a day."""
    shake: float
    """What else makes strain come and go."""
    events: float
    """Chance a day that the village calls: a wedding, a funeral, a guest."""
    journeys: float
    """Chance a day that a journey begins."""
    journey: float
    """Middle length of a journey, days."""
    excess: float
    """How much slower a part of the pattern is when it is new, log."""
    known: float
    """Standard hours in which most of that is made up."""
    noise: float
    help: tuple[float, float, float]
    """Chance a day that a relative begins to sit beside her; that she stops; what she adds."""
    feasts: frozenset[int]
    unpick: float

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """She begins on a dry day, rested."""
        return {
            "sat": np.ones(copies, dtype=bool),
            "wet": np.zeros(copies, dtype=bool),
            "strain": np.full(copies, 0.5),
            "rests": np.zeros(copies, dtype=bool),
            "away": np.zeros(copies),
            "helped": np.zeros(copies, dtype=bool),
            "known": np.zeros((copies, 3)),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day in the valley."""
        n = share.size
        weekday = (day - 1) % 7
        today = date.fromordinal(day)
        of_year = today.timetuple().tm_yday
        memory["wet"] = rng.random(n) < np.where(memory["wet"], self.wet[1], self.wet[0])
        begins, ends, adds = self.help
        memory["helped"] = np.where(memory["helped"], rng.random(n) >= ends, rng.random(n) < begins)
        called = np.where(chance(self.events, n, rng), rng.integers(1, 5, n), 0)
        gone = np.where(
            chance(self.journeys, n, rng), np.round(self.journey * np.exp(0.4 * rng.standard_normal(n))), 0
        )
        memory["away"] = np.maximum(memory["away"], np.maximum(called, gone))
        away = memory["away"] > 0
        memory["away"] = memory["away"] - away
        memory["rests"] = np.where(
            memory["rests"], memory["strain"] > 0.5 * self.limit, memory["strain"] > self.limit
        )
        p = np.full(n, self.sits[weekday])
        for first, long, left in (self.sowing, self.harvest):
            if (of_year - first) % YEAR_DAYS < long:
                p = np.where(memory["wet"], p, p * left)
        p = np.where(memory["sat"], p, p * self.lapse)
        sits = (rng.random(n) < p) & ~away & ~memory["rests"] & (day not in self.feasts)
        memory["sat"] = np.where(self.sits[weekday] > 0.3, sits, memory["sat"])
        part = PARTS[np.minimum((share * 5).astype(int), 4)]
        place = np.arange(n)
        slow = self.excess * np.exp(-memory["known"][place, part] / self.known)
        hands = np.where(memory["helped"], adds, 1.0)
        speed = hands * np.exp(-slow + self.noise * rng.standard_normal(n))
        rush = self.rush if (self.trader - today.day) % 30 < 7 else 1.0
        light = 1 + self.daylight * np.cos(2 * np.pi * (of_year - 172) / YEAR_DAYS)
        has = self.free * light * np.exp(self.free_spread * rng.standard_normal(n))
        spent = np.where(sits, np.clip(np.minimum(self.quota * rush / speed, has), 0.3, 12), 0.0)
        gained = spent * speed
        memory["known"] = memory["known"].copy()
        memory["known"][place, part] += spent
        memory["strain"] = np.maximum(
            self.heal * memory["strain"]
            + (1 - self.heal) * spent / self.quota
            + self.shake * rng.standard_normal(n) * sits,
            0,
        )
        gained = gained * (1 - chance(self.unpick, n, rng) * rng.uniform(0.2, 1.5, n))
        return Day(spent, gained, sits * np.where(memory["helped"], 2, 1))


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw a weaver of the valley and one rug of hers."""
    return first_that_ends(_try, seed, 41, shares)


def _season(rng: np.random.Generator, first: float, longest: float) -> tuple[float, float, float]:
    farms = rng.random() < 0.6
    return (
        float(first + rng.normal(0, 10)),
        float(rng.uniform(10, longest)) if farms else 0.0,
        float(rng.uniform(0.1, 0.7)),
    )


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 1, 1).toordinal() + int(rng.integers(0, 730))
    sits = np.clip(rng.uniform(0.7, 0.98) + 0.04 * rng.standard_normal(7), 0.4, 0.99)
    rests = rng.permutation(7)[: rng.integers(0, 3)]
    sits[rests] = rng.choice([0.0, 0.05], rests.size)
    quota = float(np.exp(rng.normal(np.log(3.8), 0.4)))
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(500), 0.4)), 150, 1250))
    total = float(np.clip(np.exp(rng.normal(np.log(80), 0.5)) * quota, 30, 1500))
    feasts: set[int] = set()
    told = []
    for number in range(int(rng.integers(0, 4))):
        first = start + int(rng.integers(5, 400))
        last = first + int(rng.integers(0, 6))
        feasts |= set(range(first, last + 1))
        if rng.random() < 0.5:
            told.append(off(first, last, number))
    helped = rng.random() < 0.25
    life = ValleyLife(
        sits=sits,
        lapse=float(rng.uniform(0.65, 1.0)),
        quota=quota,
        free=quota * float(rng.uniform(0.9, 1.8)),
        free_spread=float(rng.uniform(0.1, 0.45)),
        daylight=float(rng.uniform(0.0, 0.25)),
        sowing=_season(rng, 105, 25),
        harvest=_season(rng, 255, 40),
        wet=(float(rng.uniform(0.1, 0.3)), float(rng.uniform(0.4, 0.7))),
        rush=float(rng.uniform(1.0, 1.4)),
        trader=int(rng.integers(1, 29)),
        limit=float(rng.uniform(1.15, 1.8)),
        heal=float(rng.uniform(0.8, 0.93)),
        shake=float(rng.uniform(0.05, 0.15)),
        events=float(rng.uniform(0.0, 0.03)),
        journeys=float(rng.choice([0.0, 1 / 400, 1 / 200])),
        journey=float(rng.uniform(8, 25)),
        excess=float(rng.uniform(0.0, 0.5)),
        known=float(rng.uniform(5, 60)),
        noise=float(rng.uniform(0.05, 0.2)),
        help=(1 / 40, 1 / 20, float(rng.uniform(1.3, 1.9))) if helped else (0.0, 1.0, 1.0),
        feasts=frozenset(feasts),
        unpick=float(rng.uniform(0.0, 0.05)),
    )
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.5), float(rng.uniform(0.0, 2.0)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    said = set(np.flatnonzero(sits > 0.3).tolist())
    if rng.random() < 0.2 and len(said) > 3:
        said.discard(int(rng.choice(sorted(said))))
    if rng.random() < 0.2:
        said.add(int(rng.integers(0, 7)))
    # She answers by the hours of a good week.
    week = float(np.round(min(quota, life.free) * len(said) * np.exp(rng.normal(0.0, 0.3))))
    plan = plan_of(
        piece, start, weekdays=tuple(sorted(said)), hours_per_week=float(np.clip(week, 1, 70)),
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.05, 0.25)), -1)) if rng.random() < 0.5 else None,
    )  # fmt: skip
    lump = _every(int(rng.integers(2, 6)), start) if rng.random() < 0.15 else None
    keep = Bookkeeping(
        hour_step=[None, 0.25, 0.5, 1.0][int(rng.integers(0, 4))],
        missing=float(rng.choice([0.0, 0.1, 0.4, 1.0], p=[0.5, 0.2, 0.15, 0.15])),
        forgotten=float(rng.choice([0.0, 0.02])),
        slip=float(rng.choice([0.0, 0.01])),
        lump=lump,
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
    return WorldRug("valley", seed, life, piece.needed, book, earlier, course.states, course.finish, keep)


def _every(days: int, start: int):
    """Return the rule of a weaver who writes every few days."""
    return lambda day: day + (start - day) % days
