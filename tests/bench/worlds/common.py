"""What every world shares: the clock that weaves a rug day by day, the book that comes of it, and the all-knowing's futures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Protocol

import numpy as np

from tracker.domain.rug import Cartoon, DaysOff, Role, RugBook, RugPlan, RugStage, Session, Weaver, Yarn

MOST_DAYS = 4000
"""A rug that is not finished by then is given up, days."""

Draws = dict[str, np.ndarray]
"""What one world remembers from day to day; every array has one place a replicate, shape (n,) or (n, m)."""


class Life(Protocol):
    """One weaver's (or workshop's) true ways: what a world draws once a rug."""

    def begin(self, copies: int, rng: np.random.Generator) -> Draws:
        """Return the memory at the first day for so many replicates."""
        ...

    def weave(self, memory: Draws, day: int, share: np.ndarray, rng: np.random.Generator) -> Day:
        """Weave one calendar day (a proleptic ordinal) and change the memory; `share` of the rug is woven (0 to 1)."""
        ...


@dataclass(frozen=True)
class Day:
    """One day at the loom, for every replicate."""

    hours: np.ndarray
    """Hours at the loom, (n,)."""
    work: np.ndarray
    """Standard hours of work gained, (n,); below zero when more was unpicked than woven."""
    present: np.ndarray
    """Weavers at the loom, (n,)."""


@dataclass(frozen=True)
class Snapshot:
    """The true state on the evening of one day."""

    day: int
    memory: Draws
    done: float
    """Standard hours of work on the loom."""

    def copies(self, n: int) -> tuple[Draws, np.ndarray]:
        """Return the state n times over, as (memory, work done)."""
        memory = {key: np.repeat(value, n, axis=0) for key, value in self.memory.items()}
        return memory, np.full(n, self.done)


@dataclass(frozen=True)
class Course:
    """A rug's true course, one entry a day woven on."""

    days: list[int]
    hours: list[float]
    rows: list[int]
    """Whole rows on the loom at the end of each of those days."""
    present: list[int]
    states: dict[float, Snapshot]
    finish: int


def weave_rug(
    life: Life, needed: np.ndarray, start: int, shares: tuple[float, ...], rng: np.random.Generator
) -> Course | None:
    """Weave the true rug to its end and keep the state at each share; None when it never ends."""
    memory = life.begin(1, rng)
    done = np.zeros(1)
    days: list[int] = []
    hours: list[float] = []
    rows: list[int] = []
    present: list[int] = []
    states: dict[float, Snapshot] = {}
    total = needed[-1]
    for day in range(start, start + MOST_DAYS):
        gained = life.weave(memory, day, done / total, rng)
        done = np.maximum(done + gained.work, 0.0)
        if gained.hours[0] > 0:
            days.append(day)
            hours.append(float(gained.hours[0]))
            rows.append(int(np.searchsorted(needed, done[0] + 1e-9)))
            present.append(int(gained.present[0]))
            for share in shares:
                if share not in states and rows[-1] >= share * needed.size and rows[-1] < needed.size:
                    states[share] = Snapshot(
                        day, {key: value.copy() for key, value in memory.items()}, done[0]
                    )
            if rows[-1] >= needed.size:
                return Course(days, hours, rows, present, states, day)
    return None


def finish_days(life: Life, needed: np.ndarray, state: Snapshot, n: int, seed: int) -> np.ndarray:
    """Weave on n times from the true state; returns the days to the end, (n,)."""
    rng = np.random.default_rng([seed, 77])
    memory, done = state.copies(n)
    left = np.full(n, MOST_DAYS)
    total = needed[-1]
    for ahead in range(1, MOST_DAYS):
        gained = life.weave(memory, state.day + ahead, done / total, rng)
        done = np.maximum(done + gained.work, 0.0)
        left = np.where((left == MOST_DAYS) & (done >= total - 1e-9), ahead, left)
        if (left < MOST_DAYS).all():
            break
    return left


# --------------------------------------------------------------------------------------------- the rug


@dataclass(frozen=True)
class Piece:
    """A rug before the first knot: its plan's size, its cartoon and what each row costs."""

    across: int
    rows: int
    cartoon: Cartoon | None
    needed: np.ndarray
    """Standard hours up to the end of each row, (rows,): hours of one weaver at her plateau."""


def draw_piece(
    rng: np.random.Generator, hours: float, knots_per_hour: float, has_cartoon: bool, change_cost: float
) -> Piece:
    """Draw a rug of about so many standard hours at so many knots an hour.

    Parameters
    ----------
    hours : standard hours of the whole rug
    knots_per_hour : pace of one weaver on plain rows
    has_cartoon : draw a cartoon: a border, a field, perhaps a medallion
    change_cost : what each colour change costs, in knots
    """
    knots = hours * knots_per_hour
    shape = float(np.exp(rng.normal(0.35, 0.25)))  # rows a knot across: most rugs are longer than wide
    across = int(np.clip(round(np.sqrt(knots / shape)), 60, 1500))
    rows = int(np.clip(round(knots / across), 60, 2400))
    changes = np.full(rows, 0.25 * across)
    cells = None
    if has_cartoon:
        field = rng.uniform(0.03, 0.35)
        border = field * rng.uniform(0.8, 2.5)
        deep = int(rows * rng.uniform(0.06, 0.16))
        middle = field * rng.uniform(1.0, 2.5)
        share = np.full(rows, field)
        share[:deep] = share[rows - deep :] = border
        half = int(rows * rng.uniform(0.0, 0.2))
        share[rows // 2 - half : rows // 2 + half] = middle
        share *= np.exp(0.08 * rng.standard_normal(rows))
        changes = np.clip(np.round(share * across), 1, across - 1)
        cells = np.empty((rows, across), dtype=np.uint8)
        place = np.arange(across)
        for row in range(rows):
            cells[row] = (place * (int(changes[row]) + 1) // across) % 4
    each = across + change_cost * changes
    if cells is not None:
        each = each * np.exp(0.03 * rng.standard_normal(rows))
    each *= hours / each.sum()
    cartoon = (
        None
        if cells is None
        else Cartoon(id="c", rug_id="r", cells=cells, palette=("#7a3b2e", "#2f4a6d", "#c9b58b", "#3f3a34"))
    )
    return Piece(across, rows, cartoon, np.cumsum(each))


def plan_of(piece: Piece, start: int, **said: object) -> RugPlan:
    """Return the plan of a piece at 40 by 40 knots per 10 cm; `said` is what else the weaver entered."""
    return RugPlan(
        id="r", name="A rug", width_cm=piece.across / 4, length_cm=piece.rows / 4, knots_per_10cm=40,
        rows_per_10cm=40, knots_across=piece.across, rows=piece.rows, pile_height_mm=8,
        start_day=date.fromordinal(start), stage=RugStage.ON_LOOM, **said,
    )  # fmt: skip


def yarns_of(piece: Piece) -> tuple[Yarn, ...]:
    """Return the pile yarns of a piece, none bought: these worlds score dates, `backtest_world` scores yarn."""
    shares = (0.4, 0.3, 0.2, 0.1)
    return tuple(
        Yarn(
            id=f"p{k}", rug_id="r", role=Role.PILE, number=k + 1, name=f"Colour {k + 1}", tex=400,
            share=None if piece.cartoon else shares[k], cartoon_values=(k,) if piece.cartoon else (),
        )
        for k in range(4)
    )  # fmt: skip


# ------------------------------------------------------------------------------------------ bookkeeping


@dataclass(frozen=True)
class Bookkeeping:
    """How a weaver keeps the book."""

    hour_step: float | None = 0.25
    """Hours are rounded to this step; None: to the minute."""
    missing: float = 0.0
    """Chance that a session's hours are left out."""
    forgotten: float = 0.0
    """Chance that the timer ran on for hours."""
    slip: float = 0.0
    """Chance that far too few hours are typed."""
    lump: Callable[[int], int] | None = None
    """Day on which what was woven on a day is entered (an ordinal); None: on the day itself."""
    row_step: int = 1
    """Rows are counted in steps of so many."""
    names: tuple[str, ...] = field(default=())
    """Weavers named in the sessions, as many as were present."""


@dataclass(frozen=True)
class WorldRug:
    """A simulated rug: its whole book and the truth the forecaster must not see."""

    world: str
    seed: int
    life: Life
    needed: np.ndarray
    """Standard hours up to the end of each row, (rows,)."""
    book: RugBook
    earlier: tuple[RugBook, ...]
    states: dict[float, Snapshot]
    finish: int
    keep: Bookkeeping
    """How this weaver keeps the book."""


def sessions_of(course: Course, keep: Bookkeeping, rng: np.random.Generator) -> tuple[Session, ...]:
    """Write the sessions of a rug's course the way this weaver keeps the book."""
    sessions: list[Session] = []
    told = 0
    waiting = 0.0
    last = len(course.days) - 1
    for i, day in enumerate(course.days):
        waiting += course.hours[i]
        entered = day
        if keep.lump is not None:
            entered = keep.lump(day)
            following = keep.lump(course.days[i + 1]) if i < last else None
            if following == entered:
                continue
            entered = min(entered, course.finish)
        rows = course.rows[i] if i == last else course.rows[i] // keep.row_step * keep.row_step
        hours: float | None = waiting
        luck = rng.random(3)
        if luck[0] < keep.missing:
            hours = None
        elif luck[1] < keep.forgotten:
            hours = min(waiting + rng.uniform(3, 14), 24.0)
        elif luck[2] < keep.slip:
            hours = round(waiting * rng.uniform(0.02, 0.15), 1) or 0.1
        if hours is not None:
            step = keep.hour_step or 1 / 60
            hours = max(round(hours / step) * step, step)
            hours = hours if hours <= 24 else None  # a book takes no more hours in one entry
        sessions.append(
            Session(
                id=f"s{i}", rug_id="r", day=date.fromordinal(entered), rows=rows - told, hours=hours,
                weavers=keep.names[: course.present[i]], born=i + 1,
            )
        )  # fmt: skip
        told, waiting = rows, 0.0
    return tuple(sessions)


def book_of(
    piece: Piece,
    plan: RugPlan,
    sessions: tuple[Session, ...],
    days_off: tuple[DaysOff, ...] = (),
    weavers: tuple[Weaver, ...] = (),
) -> RugBook:
    """Put a book together."""
    return RugBook(
        plan=plan, cartoon=piece.cartoon, yarns=yarns_of(piece), weavers=weavers, sessions=sessions, days_off=days_off
    )  # fmt: skip


def finished(book: RugBook) -> RugBook:
    """Return the book of a rug that came off the loom, as an earlier rug of the same weaver."""
    last = book.sessions[-1].day
    return replace(
        book,
        plan=replace(book.plan, stage=RugStage.FINISHED, finished_day=last),
        cartoon=None,
    )


def first_rug(rug: WorldRug) -> RugBook | None:
    """Weave a rug that the same weaver finished before this one; None when there was no time for it.

    Her ways are the same, her book is kept the same way and planned for the same week; piece and luck are others. Who learns, learns anew.
    """
    rng = np.random.default_rng([rug.seed, 91])
    plan = rug.book.plan
    hours = float(rug.needed[-1])
    knots_per_hour = plan.knots_across * plan.rows / hours
    start = rug.book.sessions[0].day.toordinal()
    for years in (1, 2, 3):
        begun = start - 365 * years - int(rng.integers(20, 120))
        piece = draw_piece(
            rng, hours * float(rng.uniform(0.6, 1.1)), knots_per_hour * float(np.exp(rng.normal(0, 0.1))),
            bool(rng.random() < 0.5), 1.0,
        )  # fmt: skip
        course = weave_rug(rug.life, piece.needed, begun, (), rng)
        if course is not None and course.finish < start:
            before = plan_of(
                piece, begun, weekdays=plan.weekdays, hours_per_week=plan.hours_per_week, weavers_planned=plan.weavers_planned,
                knots_per_hour=plan.knots_per_hour,
            )  # fmt: skip
            return finished(book_of(piece, before, sessions_of(course, rug.keep, rng), (), rug.book.weavers))
    return None


def off(first: int, last: int, number: int) -> DaysOff:
    """Return days off from one ordinal to another."""
    return DaysOff(
        id=f"o{number}", rug_id="r", first_day=date.fromordinal(first), last_day=date.fromordinal(last), reason="feast"
    )  # fmt: skip


def chance(p: np.ndarray | float, n: int, rng: np.random.Generator) -> np.ndarray:
    """Return n true-or-false draws."""
    return rng.random(n) < p


def first_that_ends(
    draw: Callable[[np.random.Generator, int, tuple[float, ...]], WorldRug | None],
    seed: int,
    world: int,
    shares: tuple[float, ...],
) -> WorldRug:
    """Return the first rug of a seed that is finished within `MOST_DAYS`; `world` is the world's own number in its draws."""
    for again in range(50):
        rug = draw(np.random.default_rng([seed, world, again]), seed, shares)
        if rug is not None:
            return rug
    raise AssertionError("no rug came to an end")


def in_lumps(days: int, start: int) -> Callable[[int], int]:
    """Return the rule of who writes every few days: the day on which what was woven on a day is written down."""
    return lambda day: day + (start - day) % days
