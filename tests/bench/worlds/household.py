"""A household with children at school: weaving comes in spells, with pauses between, and its ways change.

The loom waits while life happens: a spell of weaving ends, a pause of days or weeks follows (a semi-Markov chain). School terms set the chance and the
hours of a day; now and then the whole way of living changes. Learning is a hyperbola of the rows woven, and a pause makes her
forget some of it. Near the end the weaver hurries. All ranges are our guess; paces lie within what the trade publishes.

It was kept away and scored once on 25 November 2026; since then choices are made on it too.
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


@dataclass(frozen=True)
class HouseholdLife:
    """One weaver with a household."""

    school: float
    """Chance of weaving on a school day."""
    free: float
    """Chance of weaving at the weekend or in the holidays."""
    rest: int
    """A weekday she never weaves on; -1: none."""
    school_hours: float
    free_hours: float
    spread: float
    noise: float
    spell: float
    """Middle length of a spell of weaving, days."""
    pause: tuple[float, float, float]
    """Middle days of a short pause, share of long ones, middle days of a long one."""
    turn: float
    """Chance a day that the way of living changes."""
    excess: float
    """How much slower the first hour is than a skilled one, a fraction."""
    half: float
    """Standard hours after which half of that is made up."""
    fade: float
    """Share of what was learnt that is lost per week without weaving."""
    hurry: float
    """Factor on the hours over the last tenth of the rug."""
    summer: tuple[int, int]
    """First and last day of the year of the long holidays."""
    off: frozenset[int]
    """Ordinals on which the household is away, known beforehand."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """The first spell has just begun."""
        return {
            "left": self.spell * np.exp(0.8 * rng.standard_normal(copies)),
            "weaves": np.ones(copies, dtype=bool),
            "learnt": np.zeros(copies),
            "p": np.zeros(copies),
            "h": np.zeros(copies),
            "idle": np.zeros(copies),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day in the household."""
        n = share.size
        weekday = (day - 1) % 7
        of_year = date.fromordinal(day).timetuple().tm_yday
        ends = memory["left"] <= 0
        memory["weaves"] = np.where(ends, ~memory["weaves"], memory["weaves"])
        short, long_share, long = self.pause
        pause = np.where(chance(long_share, n, rng), long, short) * np.exp(0.5 * rng.standard_normal(n))
        spell = self.spell * np.exp(0.8 * rng.standard_normal(n))
        memory["left"] = np.where(ends, np.where(memory["weaves"], spell, pause), memory["left"]) - 1
        turns = chance(self.turn, n, rng)
        memory["p"] = np.where(turns, rng.normal(0, 0.9, n), memory["p"])
        memory["h"] = np.where(turns, rng.normal(0, 0.3, n), memory["h"])
        holidays = self.summer[0] <= of_year <= self.summer[1] or of_year >= 357 or of_year <= 6
        at_home = weekday >= 5 or holidays
        base = self.free if at_home else self.school
        p = 1 / (1 + (1 - base) / base * np.exp(-memory["p"]))
        sits = memory["weaves"] & chance(p, n, rng) & (weekday != self.rest) & (day not in self.off)
        usual = self.free_hours if at_home else self.school_hours
        rush = np.where(share > 0.9, self.hurry, 1.0)
        spent = np.clip(
            usual * rush * np.exp(memory["h"] + self.spread * rng.standard_normal(n)) * sits, 0, 13
        )
        spent = np.where(sits, np.maximum(spent, 0.2), 0.0)
        memory["idle"] = np.where(sits, 0, memory["idle"] + 1)
        fades = memory["idle"] % 7 == 6
        memory["learnt"] = memory["learnt"] * np.where(fades, 1 - self.fade, 1.0)
        slow = 1 + self.excess / (1 + memory["learnt"] / self.half)
        gained = spent / slow * np.exp(self.noise * rng.standard_normal(n))
        gained = gained - chance(0.015, n, rng) * gained * rng.uniform(0, 2.0, n)
        memory["learnt"] = memory["learnt"] + spent
        return Day(spent, gained, sits.astype(int))


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw a household and one rug of theirs."""
    return first_that_ends(_try, seed, 31, shares)


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 1, 1).toordinal() + int(rng.integers(0, 730))
    usual = float(np.exp(rng.normal(np.log(2.6), 0.35)))
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(480), 0.4)), 150, 1000))
    total = float(np.clip(np.exp(rng.normal(np.log(60), 0.5)) * usual, 25, 900))
    told = []
    away: set[int] = set()
    if rng.random() < 0.3:
        first = start + int(rng.integers(10, 150))
        last = first + int(rng.integers(1, 8))
        away = set(range(first, last + 1))
        told.append(off(first, last, 0))
    life = HouseholdLife(
        school=float(rng.uniform(0.4, 0.95)),
        free=float(rng.uniform(0.3, 0.95)),
        rest=int(rng.integers(-3, 7)),
        school_hours=usual,
        free_hours=usual * float(np.exp(rng.normal(0.1, 0.35))),
        spread=float(rng.uniform(0.15, 0.5)),
        noise=float(rng.uniform(0.08, 0.2)),
        spell=float(np.exp(rng.normal(np.log(35), 0.5))),
        pause=(float(rng.uniform(2, 5)), float(rng.uniform(0.05, 0.25)), float(rng.uniform(8, 25))),
        turn=float(rng.choice([0.0, 1 / 250, 1 / 100])),
        excess=float(rng.uniform(0.0, 1.2)),
        half=float(rng.uniform(5, 60)),
        fade=float(rng.uniform(0.0, 0.15)),
        hurry=float(rng.uniform(1.0, 1.5)),
        summer=(int(rng.integers(165, 190)), int(rng.integers(225, 250))),
        off=frozenset(away),
    )
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.5), float(rng.uniform(0.0, 2.5)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    chances = np.array([life.school] * 5 + [life.free] * 2)
    hours = np.array([life.school_hours] * 5 + [life.free_hours] * 2)
    said = {day for day in range(7) if day != life.rest and (chances[day] > 0.55 or rng.random() < 0.4)}
    said = said or {0, 2, 4}
    true_week = float((chances * hours)[sorted(said)].sum())
    plan = plan_of(
        piece, start - int(rng.integers(0, 6)), weekdays=tuple(sorted(said)),
        hours_per_week=float(np.clip(np.round(true_week * np.exp(rng.normal(0.1, 0.35))), 1, 60)),
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.05, 0.3)), -1)) if rng.random() < 0.4 else None,
    )  # fmt: skip
    keep = Bookkeeping(
        hour_step=[None, 0.25, 0.5, 1.0][int(rng.integers(0, 4))],
        missing=float(rng.choice([0.0, 0.15, 0.5, 1.0], p=[0.5, 0.25, 0.15, 0.1])),
        forgotten=float(rng.choice([0.0, 0.03])),
        slip=float(rng.choice([0.0, 0.02])),
    )
    book = book_of(piece, plan, sessions_of(course, keep, rng), tuple(told))
    return WorldRug("household", seed, life, piece.needed, book, (), course.states, course.finish, keep)
