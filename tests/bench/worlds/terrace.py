"""A terraced hillside: two households share a loom, and weave with what the fields and the market leave of the day.

Chores come at random, more of them in the months of work on the terraces, and queue up; a queue that has grown long keeps its household
from the loom until it is worked off (a busy period, with its heavy tail). The market comes every fifth day, whatever the weekday. The
households take turns of so many days; each has a pace of its own, which rises along Gompertz's curve with her own hours and is partly
forgotten while it is the other's turn. Each sets herself rows a week by what she did in the weeks before, stops early in a week that went
well and sits late in one that did not; a lamp is lit by rota. Paces lie within what the trade publishes (300 to 1,200 knots an hour, 150
without a loom's shed); all other ranges are our guess.

Written down before any forecast was made in it, by one who had read the forecaster's beliefs, and scored once, before and after one
belief was changed, on 28 November 2026. Nothing was chosen on it.
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

MARKET_DAYS = 5
"""Days from one market to the next."""


@dataclass(frozen=True)
class TerraceLife:
    """The households at one loom."""

    turn: int
    """Days of a turn; 0: one household has the loom to itself."""
    arrive: np.ndarray
    """Chores a day that come to each household, (2,)."""
    heavy: tuple[float, float, float]
    """Day of the year about which most work is on the terraces, half its width in days, chores a day that it adds."""
    large: float
    """Mean days of a chore, of which most are short."""
    bears: float
    """Chores that may wait while she sits at the loom."""
    market: tuple[int, float]
    """Which of five days is the market's, and the chance that she is back in time to sit."""
    rest: frozenset[int]
    """Weekdays on which nobody weaves."""
    free: np.ndarray
    """Hours that a day without chores leaves each household, (2,)."""
    varies: float
    """How far these differ from day to day, log."""
    strives: float
    """How strongly a week behind its aim lengthens the sittings (0: not at all)."""
    lamp: tuple[int, float]
    """Days of a rota of three on which there is no light, and the share of the hours left then."""
    pace: np.ndarray
    """Plateau of each household over the usual one, log, (2,)."""
    behind: np.ndarray
    """How much slower each is on the first day, log, (2,)."""
    learns: float
    """Hours after which half is learnt."""
    forgets: float
    """Share of her hours of practice that is lost in a day away from the loom."""
    noise: float
    undone: float
    known: frozenset[int]
    """Ordinals that are known to be off."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """Both households begin with what chores there are."""
        return {
            "chores": rng.exponential(self.large, (copies, 2)) * (rng.random((copies, 2)) < 0.4),
            "hours": np.zeros((copies, 2)),
            "aim": np.full(copies, 3.0 * float(self.free.mean())),
            "week": np.zeros(copies),
            "day": np.zeros(copies),
        }

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """One day on the hillside."""
        n = share.size
        if (day - 1) % 7 == 0:
            memory["aim"] = np.maximum(0.75 * memory["aim"] + 0.25 * memory["week"], 0.5)
            memory["week"] = np.zeros(n)
        of_year = date.fromordinal(day).timetuple().tm_yday
        peak, width, adds = self.heavy
        apart = min(abs(of_year - peak), 365 - abs(of_year - peak))
        rate = self.arrive + adds * max(1.0 - apart / width, 0.0)
        come = rng.poisson(rate, (n, 2))
        take = np.where(rng.random((n, 2)) < 0.85, 0.6, 3.3) * self.large
        memory["chores"] = np.maximum(
            memory["chores"] + come * take * rng.exponential(1.0, (n, 2)) - 1.0, 0.0
        )
        who = (memory["day"] // self.turn % 2).astype(int) if self.turn else np.zeros(n, dtype=int)
        memory["day"] = memory["day"] + 1
        place = np.arange(n)
        waiting = memory["chores"][place, who]
        sits = waiting <= self.bears
        which, back = self.market
        if day % MARKET_DAYS == which:
            sits &= chance(back, n, rng)
        sits &= ((day - 1) % 7 not in self.rest) and (day not in self.known)
        so_far = memory["week"] / np.maximum(memory["aim"] * (((day - 1) % 7) + 1) / 7.0, 0.2)
        eager = np.clip(1.0 - so_far, -1.0, 1.0)
        hours = self.free[who] * np.exp(self.varies * rng.standard_normal(n) + self.strives * eager)
        hours = hours * (1.0 - 0.5 * np.minimum(waiting / max(self.bears, 0.1), 1.0))
        if day % 3 == self.lamp[0]:
            hours = hours * self.lamp[1]
        hours = np.where(sits, np.clip(hours, 0.25, 11.0), 0.0)
        practice = memory["hours"][place, who]
        slow = self.behind[who] * (np.exp(-np.log(2.0) * np.exp(practice / self.learns)) * 2.0)
        pace = np.exp(self.pace[who] - slow + self.noise * rng.standard_normal(n))
        memory["hours"] = memory["hours"] * (1.0 - self.forgets)
        memory["hours"][place, who] += hours
        memory["week"] = memory["week"] + hours
        work = hours * pace * (1.0 - chance(self.undone, n, rng) * rng.uniform(0.2, 1.2, n))
        return Day(hours, work, np.where(sits, 1, 0))


def draw_rug(seed: int, shares: tuple[float, ...]) -> WorldRug:
    """Draw the households of a loom and one rug of theirs."""
    return first_that_ends(_try, seed, 83, shares)


def _try(rng: np.random.Generator, seed: int, shares: tuple[float, ...]) -> WorldRug | None:
    start = date(2023, 1, 5).toordinal() + int(rng.integers(0, 730))
    knots_per_hour = float(np.clip(np.exp(rng.normal(np.log(500), 0.4)), 150, 1200))
    free = float(np.exp(rng.normal(np.log(3.2), 0.4))) * np.exp(rng.normal(0.0, 0.2, 2))
    total = float(np.clip(np.exp(rng.normal(np.log(65), 0.5)) * free.mean(), 30, 1200))
    rest = frozenset(rng.permutation(7)[: int(rng.choice([0, 1, 1, 2]))].tolist())
    known: frozenset[int] = frozenset()
    told = []
    if rng.random() < 0.4:
        first = start + int(rng.integers(10, 170))
        last = first + int(rng.integers(0, 10))
        known = frozenset(range(first, last + 1))
        told.append(off(first, last, 0))
    life = TerraceLife(
        turn=int(rng.choice([0, 0, 3, 7, 14])),
        arrive=rng.uniform(0.03, 0.3, 2),
        heavy=(float(rng.uniform(0, 365)), float(rng.uniform(20, 60)), float(rng.uniform(0.0, 0.5))),
        large=float(rng.uniform(0.8, 2.2)),
        bears=float(rng.uniform(0.2, 2.0)),
        market=(int(rng.integers(0, MARKET_DAYS)), float(rng.uniform(0.0, 1.0))),
        rest=rest,
        free=free,
        varies=float(rng.uniform(0.08, 0.4)),
        strives=float(rng.uniform(0.0, 0.5)),
        lamp=(int(rng.integers(0, 3)) if rng.random() < 0.3 else -1, float(rng.uniform(0.4, 0.9))),
        pace=rng.normal(0.0, 0.12, 2),
        behind=np.abs(rng.normal(0.3, 0.2, 2)),
        learns=float(rng.uniform(10, 80)),
        forgets=float(rng.choice([0.0, 0.003, 0.015])),
        noise=float(rng.uniform(0.06, 0.2)),
        undone=float(rng.uniform(0.0, 0.04)),
        known=known,
    )
    piece = draw_piece(rng, total, knots_per_hour, bool(rng.random() < 0.4), float(rng.uniform(0.0, 2.0)))
    course = weave_rug(life, piece.needed, start, shares, rng)
    if course is None or len(course.days) < 12:
        return None
    said = {day for day in range(7) if day not in rest and rng.random() < 0.9} or {1, 4}
    meant = 1.0 if rng.random() < 0.5 else float(rng.uniform(0.6, 0.9))
    week = float(free.mean()) * len(said) * meant * float(np.exp(rng.normal(0.0, 0.3)))
    plan = plan_of(
        piece, start - int(rng.integers(0, 5)), weekdays=tuple(sorted(said)), hours_per_week=float(np.clip(np.round(week), 1, 70)),
        knots_per_hour=float(np.round(knots_per_hour * np.exp(rng.normal(0.05, 0.25)), -1)) if rng.random() < 0.5 else None,
        weavers_planned=1,
    )  # fmt: skip
    every = int(rng.integers(2, 8)) if rng.random() < 0.15 else None
    keep = Bookkeeping(
        hour_step=[None, 0.25, 0.5, 1.0][int(rng.integers(0, 4))],
        missing=float(rng.choice([0.0, 0.1, 0.4, 1.0], p=[0.55, 0.2, 0.1, 0.15])),
        forgotten=float(rng.choice([0.0, 0.02])),
        slip=float(rng.choice([0.0, 0.015])),
        lump=None if every is None else in_lumps(every, start),
        row_step=int(rng.choice([1, 1, 1, 2])),
    )
    book = book_of(piece, plan, sessions_of(course, keep, rng), tuple(told))
    return WorldRug("terrace", seed, life, piece.needed, book, (), course.states, course.finish, keep)
