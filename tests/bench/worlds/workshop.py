"""A workshop: one to four weavers side by side, who come and go, with a foreman who keeps the book.

Learning is an S: the team's pace climbs as a logistic of the days woven. Each weaver is at the loom or ill by a chain of her own, may leave and be
replaced by somebody who has to learn. Pace wanders from day to day with memory. Working weeks of five or six days, half days,
power cuts and closed weeks are our guess (common practice: large rugs have three or four weavers side by side).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain.rug import Weaver

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


@dataclass(frozen=True)
class WorkshopLife:
    """One team of the workshop."""

    team: int
    hours: np.ndarray
    """Hours of the shift by weekday; 0: closed, (7,)."""
    opens: float
    """Chance that the shop opens on a working day."""
    ill: float
    """Chance a day that a weaver at work stays away from tomorrow on."""
    back: float
    """Chance a day that a weaver who is away comes back."""
    leaves: float
    """Chance a day that a weaver leaves for good."""
    vacancy: float
    """Middle days until somebody takes her place."""
    novice: float
    """How much slower a newcomer is on her first day, log."""
    behind: float
    """How much slower the team is on the first day than at the end, log."""
    middle: float
    """Days woven at which half of that is made up."""
    ramp: float
    """Days over which most of it is made up."""
    wander: float
    """Day-to-day wander of the pace: standard deviation of the logarithm."""
    memory: float
    """Its memory from day to day (0 to 1)."""
    together: float
    """Exponent of the weavers present: 1 when nobody waits for anybody."""
    cut: float
    """Chance that half a day is lost to a power cut."""
    closed: frozenset[int]
    """Ordinals on which the shop is closed."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """Everybody is there on the first day."""
        shape = (copies, self.team)
        return {
            "ill": np.zeros(shape, dtype=bool),
            "vacant": np.zeros(shape),
            "new": np.zeros(shape),
            "woven": np.zeros(copies),
            "wander": self.wander * rng.standard_normal(copies),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day in the workshop."""
        n = share.size
        shape = (n, self.team)
        luck = rng.random(shape)
        memory["ill"] = np.where(memory["ill"], luck >= self.back, luck < self.ill)
        goes = (rng.random(shape) < self.leaves) & (memory["vacant"] <= 0)
        comes = (memory["vacant"] > 0) & (memory["vacant"] <= 1)
        memory["vacant"] = np.where(
            goes, 1 + rng.exponential(self.vacancy, shape), np.maximum(memory["vacant"] - 1, 0)
        )
        memory["new"] = np.where(comes, 1.0, memory["new"] * 0.97)
        hours = self.hours[(day - 1) % 7]
        open_today = chance(self.opens, n, rng) & (hours > 0) & (day not in self.closed)
        here = ~memory["ill"] & (memory["vacant"] <= 0) & open_today[:, None]
        present = here.sum(axis=1)
        skill = np.where(here, np.exp(-self.novice * memory["new"]), 0.0).sum(axis=1)
        lost = chance(self.cut, n, rng)
        spent = np.where(present > 0, hours * np.where(lost, 0.5, 1.0) * rng.uniform(0.92, 1.02, n), 0.0)
        memory["wander"] = self.memory * memory["wander"] + np.sqrt(
            1 - self.memory**2
        ) * self.wander * rng.standard_normal(n)
        slow = self.behind / (1 + np.exp((memory["woven"] - self.middle) / self.ramp))
        each = np.maximum(skill, 1e-9) * np.maximum(present, 1) ** (self.together - 1)
        gained = np.where(spent > 0, spent * each * np.exp(memory["wander"] - slow), 0.0)
        gained = gained - np.where(chance(0.01, n, rng), gained * rng.uniform(0.5, 1.5, n), 0.0)
        memory["woven"] = memory["woven"] + (spent > 0)
        return Day(spent, gained, present)


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw a team of the workshop and one rug of theirs."""
    return first_that_ends(_try, seed, 23, shares)


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 1, 1).toordinal() + int(rng.integers(0, 730))
    team = int(rng.choice([1, 2, 3, 4], p=[0.3, 0.3, 0.2, 0.2]))
    shift = float(rng.uniform(5, 9))
    hours = np.full(7, shift)
    rest = int(rng.integers(0, 7))
    hours[rest] = 0.0
    if rng.random() < 0.4:
        hours[(rest - 1) % 7] = 0.0
    elif rng.random() < 0.5:
        hours[(rest - 1) % 7] = shift / 2
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(750), 0.3)), 300, 1250))
    days_wanted = float(np.exp(rng.normal(np.log(85), 0.5)))
    total = float(np.clip(days_wanted * shift * team**0.92, 60, 3000))
    closed: set[int] = set()
    told = []
    for number in range(int(rng.integers(1, 9))):
        first = start + int(rng.integers(3, 500))
        last = first + int(rng.choice([0, 1, 2, 6]))
        closed |= set(range(first, last + 1))
        if rng.random() < 0.7:
            told.append(off(first, last, number))
    life = WorkshopLife(
        team=team,
        hours=hours,
        opens=float(rng.uniform(0.93, 1.0)),
        ill=float(rng.uniform(0.003, 0.04)),
        back=float(rng.uniform(0.15, 0.6)),
        leaves=float(rng.choice([0.0, 1 / 300, 1 / 120])) if team > 1 else 0.0,
        vacancy=float(rng.uniform(4, 25)),
        novice=float(rng.uniform(0.1, 0.7)),
        behind=float(np.abs(rng.normal(0.25, 0.25))),
        middle=float(rng.uniform(4, 25)),
        ramp=float(rng.uniform(2, 9)),
        wander=float(rng.uniform(0.05, 0.22)),
        memory=float(rng.uniform(0.2, 0.9)),
        together=float(rng.uniform(0.85, 1.0)),
        cut=float(rng.choice([0.0, 0.05, 0.15])),
        closed=frozenset(closed),
    )
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.3), float(rng.uniform(0.0, 1.5)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    open_days = np.flatnonzero(hours > 0)
    said = set(open_days.tolist())
    if rng.random() < 0.2 and len(said) > 5:
        said = {0, 1, 2, 3, 4}
    plan = plan_of(
        piece, start, weekdays=tuple(sorted(int(day) for day in said)), weavers_planned=team,
        hours_per_week=float(np.round(hours[sorted(said)].sum() * np.exp(rng.normal(0.05, 0.15)))),
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.1, 0.25)), -1)) if rng.random() < 0.6 else None,
    )  # fmt: skip
    lump = None
    way = rng.random()
    if way < 0.2:
        day_of = int(rng.integers(0, 7))
        lump = _weekly(day_of)
    names = tuple(f"w{k}" for k in range(team))
    keep = Bookkeeping(
        hour_step=float(rng.choice([0.5, 1.0])),
        missing=float(rng.choice([0.0, 0.1, 1.0], p=[0.45, 0.25, 0.3])),
        forgotten=0.01 if way > 0.7 else 0.0,
        slip=0.01 if way > 0.85 else 0.0,
        lump=lump,
        names=names if rng.random() < 0.6 else (),
    )
    weavers = tuple(Weaver(id=name, name=name) for name in keep.names)
    book = book_of(piece, plan, sessions_of(course, keep, rng), tuple(told), weavers)
    earlier = ()
    if rng.random() < 0.3:
        before = draw_piece(
            rng, total * float(rng.uniform(0.4, 1.0)), knots_per_hour * float(np.exp(rng.normal(0, 0.1))), False, 1.0
        )  # fmt: skip
        first = weave_rug(life, before.needed, start - 420, (), rng)
        if first is not None and first.finish < start:
            told_plan = plan_of(before, start - 420, weavers_planned=team, weekdays=plan.weekdays)
            earlier = (finished(book_of(before, told_plan, sessions_of(first, keep, rng), (), weavers)),)
    return WorldRug("workshop", seed, life, piece.needed, book, earlier, course.states, course.finish, keep)


def _weekly(weekday: int):
    """Return the rule of a foreman who writes everything down once a week."""
    return lambda day: day + (weekday - (day - 1)) % 7
