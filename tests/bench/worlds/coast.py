"""A fishing coast: weaving between the tides, in stints of so many knots, with visitors who bring visitors.

At spring tides the catch keeps her from the loom (the moon's half month). A visitor makes the next one likelier (a self-exciting
process). She sits for a stint of knots, as far as her light goes, and what she takes for a stint wanders between two walls without
ever returning to a middle; so does her readiness to sit, on a ladder of its own. Pace doubles by Wright's rule up to a plateau;
a part is taken out and made anew now and then. In the holidays a daughter helps. Paces lie within what the trade publishes
(300 to 1,200 knots an hour, 5,000 to 10,000 a day, 150 an hour without a loom's shed); all other ranges are our guess.

Written down before any forecast was made in it, by one who had read the forecaster's beliefs, and scored once on 28 November 2026.
Since then how far chances of weaving go back (`priors.RETURNS_TO`) was chosen on its tuning seeds too.
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
    off,
    plan_of,
    sessions_of,
    weave_rug,
)

HALF_MOON_DAYS = 14.765
"""Days from one spring tide to the next."""
LADDER = 7
"""Rungs of the readiness to sit."""


@dataclass(frozen=True)
class CoastLife:
    """One weaver of the coast."""

    rungs: np.ndarray
    """Chance of sitting on each rung of her readiness, (LADDER,)."""
    rest: frozenset[int]
    """Weekdays she never weaves on."""
    climbs: float
    """Chance a day that she goes a rung up or down."""
    tide: tuple[float, float]
    """Days about a spring tide, and the chance of sitting that is left then."""
    visits: tuple[float, float, float]
    """Visitors a day, what each adds to that, and the share of it that is left the next day."""
    stint: float
    """Middle of the standard hours of work she sits down for."""
    walls: float
    """How far (log) the stint may wander either way."""
    step: float
    """How far it wanders in a day, log."""
    light: tuple[float, float]
    """Most hours in midwinter and midsummer."""
    behind: float
    """How much slower she is on the first day than at the plateau, log."""
    doubling: float
    """What each doubling of the work done takes off that, log."""
    noise: float
    undone: float
    """Chance a sitting that the last part is taken out."""
    daughter: float
    """Chance that the daughter helps on a day of the holidays; 0: there is none."""
    holidays: tuple[int, int]
    known: frozenset[int]
    """Ordinals that are known to be off."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """She begins on any rung, nobody is on a visit."""
        return {
            "rung": rng.integers(0, LADDER, copies),
            "stint": self.walls * rng.uniform(-1, 1, copies),
            "stirred": np.zeros(copies),
            "guests": np.zeros(copies),
            "done": np.zeros(copies),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day on the coast."""
        n = share.size
        moves = chance(self.climbs, n, rng) * rng.choice([-1, 1], n)
        memory["rung"] = np.clip(memory["rung"] + moves, 0, LADDER - 1)
        wandered = memory["stint"] + self.step * rng.standard_normal(n)
        wandered = np.where(wandered > self.walls, 2 * self.walls - wandered, wandered)
        memory["stint"] = np.where(wandered < -self.walls, -2 * self.walls - wandered, wandered)
        base, stirs, kept = self.visits
        comes = rng.random(n) < np.minimum(base + memory["stirred"], 0.5)
        memory["stirred"] = kept * memory["stirred"] + stirs * comes
        stay = 1.0 + rng.geometric(0.5, n)
        memory["guests"] = np.maximum(np.where(comes, stay, 0.0), np.maximum(memory["guests"] - 1, 0.0))
        phase = day % HALF_MOON_DAYS
        spring = min(phase, HALF_MOON_DAYS - phase) < self.tide[0]
        p = self.rungs[memory["rung"].astype(int)] * (self.tide[1] if spring else 1.0)
        sits = chance(p, n, rng) & (memory["guests"] <= 0)
        sits &= ((day - 1) % 7 not in self.rest) and (day not in self.known)
        of_year = date.fromordinal(day).timetuple().tm_yday
        least, most = self.light
        lit = least + (most - least) * 0.5 * (1 - np.cos(2 * np.pi * (of_year + 10) / 365.0))
        slow = np.maximum(self.behind - self.doubling * np.log2(1.0 + memory["done"] / self.stint), 0.0)
        pace = np.exp(-slow + self.noise * rng.standard_normal(n))
        free = self.holidays[0] <= of_year <= self.holidays[1]
        helped = chance(self.daughter if free else 0.0, n, rng)
        wanted = self.stint * np.exp(memory["stint"])
        hours = np.where(sits, np.clip(wanted / pace, 0.25, lit), 0.0)
        work = hours * pace * np.where(helped, 1.6, 1.0)
        memory["done"] = memory["done"] + work
        work = work * (1.0 - chance(self.undone, n, rng) * rng.uniform(0.2, 1.4, n))
        return Day(hours, work, np.where(sits, 1 + helped, 0))


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw a weaver of the coast and one rug of hers."""
    return first_that_ends(_try, seed, 67, shares)


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 1, 15).toordinal() + int(rng.integers(0, 730))
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(520), 0.4)), 150, 1200))
    stint = float(np.exp(rng.normal(np.log(2.8), 0.35)))
    total = float(np.clip(np.exp(rng.normal(np.log(70), 0.5)) * stint, 30, 1200))
    low, high = sorted(rng.uniform(0.35, 0.98, 2))
    rest = rng.permutation(7)[: int(rng.choice([0, 1, 1, 2]))].tolist()
    known: set[int] = set()
    told = []
    if rng.random() < 0.35:
        first = start + int(rng.integers(10, 170))
        last = first + int(rng.integers(1, 9))
        known = set(range(first, last + 1))
        told.append(off(first, last, 0))
    begins = int(rng.integers(150, 185))
    life = CoastLife(
        rungs=np.linspace(low, high, LADDER),
        rest=frozenset(rest),
        climbs=float(rng.uniform(0.02, 0.25)),
        tide=(float(rng.uniform(0.5, 2.5)), float(rng.uniform(0.2, 1.0))),
        visits=(float(rng.uniform(0.004, 0.04)), float(rng.uniform(0.0, 0.08)), float(rng.uniform(0.6, 0.93))),
        stint=stint,
        walls=float(rng.uniform(0.05, 0.5)),
        step=float(rng.uniform(0.005, 0.06)),
        light=(float(rng.uniform(4, 7)), float(rng.uniform(7, 11))),
        behind=float(np.abs(rng.normal(0.3, 0.2))),
        doubling=float(rng.uniform(0.03, 0.12)),
        noise=float(rng.uniform(0.06, 0.2)),
        undone=float(rng.uniform(0.0, 0.04)),
        daughter=float(rng.uniform(0.2, 0.8)) if rng.random() < 0.25 else 0.0,
        holidays=(begins, begins + int(rng.integers(40, 75))),
        known=frozenset(known),
    )  # fmt: skip
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.4), float(rng.uniform(0.0, 2.0)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    said = {day for day in range(7) if day not in rest and rng.random() < 0.92} or {0, 3}
    meant = 1.0 if rng.random() < 0.5 else (low + high) / 2  # every planned day, or what comes of it
    week = stint * len(said) * meant * float(np.exp(rng.normal(0.05, 0.3)))
    plan = plan_of(
        piece, start - int(rng.integers(0, 5)), weekdays=tuple(sorted(said)), hours_per_week=float(np.clip(np.round(week), 1, 70)),
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.05, 0.25)), -1)) if rng.random() < 0.5 else None,
        weavers_planned=1,
    )  # fmt: skip
    keep = Bookkeeping(
        hour_step=[None, 0.25, 0.5, 1.0][int(rng.integers(0, 4))],
        missing=float(rng.choice([0.0, 0.1, 0.4, 1.0], p=[0.55, 0.2, 0.1, 0.15])),
        forgotten=float(rng.choice([0.0, 0.02])),
        slip=float(rng.choice([0.0, 0.015])),
        row_step=int(rng.choice([1, 1, 1, 2])),
    )
    book = book_of(piece, plan, sessions_of(course, keep, rng), tuple(told))
    return WorldRug("coast", seed, life, piece.needed, book, (), course.states, course.finish, keep)
