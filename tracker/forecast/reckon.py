"""From a book to everything learnt from it: rows to weave, pace, habit and futures, before any of it becomes an answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from tracker.domain.as_of import dated_entries, with_stray_days_as_today
from tracker.domain.finished_size import length_to_weave_cm
from tracker.domain.rows import RowsToWeave, planned_rows, rows_to_weave
from tracker.domain.rug import (
    Hold,
    RugBook,
    RugStage,
)
from tracker.domain.taught import Taught
from tracker.domain.work import pace_prior
from tracker.forecast.calendar import Habit, earlier_habit, learn_habit, off_ordinals
from tracker.forecast.cloth import Cloth, read_cloth, rows_for_length
from tracker.forecast.finish import FUTURES, Futures, weave_futures
from tracker.forecast.in_turn import later_by
from tracker.forecast.pace import Observations, PaceFit, fit_pace, observe, taught_by
from tracker.forecast.sessions import SessionArrays, open_from, session_arrays
from tracker.forecast.thresholds import EARLIER_RUGS, NO_DATE_AFTER_DAYS
from tracker.forecast.told import DaysToTell, days_to_tell


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """Where a rug stands on one day, as far as that is told without its pace."""

    book: RugBook
    today: date
    to_weave: RowsToWeave
    row_now: int
    knots_begun: int
    """Knots of the next row that are tied."""
    cloth: Cloth
    sessions: SessionArrays
    finished: bool

    @property
    def begun(self) -> float:
        """Share of the next row that is tied, 0 to below 1."""
        return self.knots_begun / self.to_weave.across if self.knots_begun else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Reckoning(Stand):
    """What a book says on one day; `futures` is None once the last row is woven, and while nothing is
    logged for too long."""

    first_open: date
    """The first day of which the record says nothing yet."""
    observed: Observations
    fit: PaceFit
    habit: Habit
    futures: Futures | None
    to_tell: DaysToTell
    """The days on which somebody may weave; empty without futures."""
    marks: np.ndarray
    silent_days: int
    """Days since anything was entered, known days off left out; 0 before the first session."""
    taught: Taught
    """What the weaver's earlier rugs say of her pace."""
    by_earlier: bool
    """Whether earlier rugs have their say: of the pace, or of her days and hours."""

    def last_row_told(self, share: float) -> date | None:
        """Return the day told of the last row at a quantile; None without futures."""
        return None if self.futures is None else self.to_tell.nearest(self.futures.quantile(-1, share))


def rows_planned(book: RugBook, cloth: Cloth) -> int:
    """Rows the rug will have: the plan's, or those that reach the planned length at the measured row height.

    One that is called finished has those that are woven, whatever was planned.
    """
    if book.plan.stage is RugStage.FINISHED and book.rows_woven > 0:
        return book.rows_woven
    if book.plan.hold is Hold.LENGTH and cloth.measured:
        return max(rows_for_length(cloth, length_to_weave_cm(book.plan)), 1)
    return planned_rows(book)


def rows_wanted(book: RugBook) -> int:
    """The rows this rug is to have by what is measured so far; the plan's, unless the length is held."""
    return rows_planned(book, read_cloth(book.plan, book.measurements, max(book.rows_woven, 0)))


def most_rows(book: RugBook) -> int:
    """The rows that may be entered: the plan's, or more when the length is held and takes more."""
    return max(book.plan.rows, rows_wanted(book))


def where_it_stands(book: RugBook, today: date) -> Stand:
    """Return where a rug stands on a day, a day that cannot be taken for the nearest that can."""
    book = with_stray_days_as_today(book, today)
    # A phone's clock may be behind the book; no day before the last session can be today.
    today = max([today, *(session.day for session in book.woven_sessions)])
    woven = max(book.rows_woven, 0)
    cloth = read_cloth(book.plan, book.measurements, woven)
    to_weave = rows_to_weave(book, rows_planned(book, cloth))
    row_now = min(woven, to_weave.rows)
    return Stand(
        book=book,
        today=today,
        to_weave=to_weave,
        row_now=row_now,
        knots_begun=book.knots_begun if row_now < to_weave.rows else 0,
        cloth=cloth,
        sessions=session_arrays(book),
        finished=book.plan.stage is RugStage.FINISHED or row_now >= to_weave.rows,
    )


def reckon(
    book: RugBook,
    today: date,
    earlier: Sequence[RugBook] = (),
    seed: int = 20260101,
    futures: int = FUTURES,
    extra_marks: Sequence[int] = (),
    taught: Taught | None = None,
    free_likely: date | None = None,
    free_from: date | None = None,
    end_alone: bool = False,
) -> Reckoning:
    """Learn pace and habit from the record and weave the futures.

    Parameters
    ----------
    book, today, earlier, seed : as for `outlook`
    futures : number of futures
    extra_marks : rows whose days are wanted beside the twenty or so of the band
    taught : what the earlier rugs say of the pace, where it was worked out before
    free_likely, free_from : days from which on the rug that it waits for is off the warp, in the middle and nine times in ten:
        it begins no sooner than the first, whatever its plan says
    end_alone : no row is wanted but the last one and the extra marks

    Returns
    -------
    Reckoning
    """
    stand = where_it_stands(book, today)
    book, today, to_weave, row_now, sessions = (
        stand.book, stand.today, stand.to_weave, stand.row_now, stand.sessions,
    )  # fmt: skip
    plan = book.plan
    observed = observe(sessions, to_weave)
    earlier = earlier[-EARLIER_RUGS:]
    taught = taught_by(earlier) if taught is None else taught
    prior = pace_prior(plan, to_weave.tied, taught)
    fit = fit_pace(sessions, observed, prior, today)
    habit_taught = earlier_habit([(rug.plan, session_arrays(rug), rug.days_off) for rug in earlier])
    habit = learn_habit(plan, sessions, observed.usual_hours, book.days_off, today, habit_taught)
    first_open = open_from(sessions, today, plan.start_day)
    if free_likely is not None:
        first_open = max(first_open, free_likely)
    ahead: Futures | None = None
    to_tell = DaysToTell(np.zeros(0, dtype=int))
    marks = np.zeros(0, dtype=int)
    silent = days_silent(book, today)
    if not stand.finished and silent < NO_DATE_AFTER_DAYS:
        band = np.linspace(row_now, to_weave.rows, 2 if end_alone else 21)[1:].round().astype(int)
        wanted = [r for r in extra_marks if row_now < r <= to_weave.rows]
        marks = np.unique(np.concatenate([band, np.array(wanted, dtype=int)]))
        marks = marks[marks > row_now]
        changes_per_knot = to_weave.changes[row_now:] / max(to_weave.tied, 1.0)
        ahead = weave_futures(
            fit, habit, sessions, changes_per_knot, row_now, marks, book.days_off, first_open, seed, futures,
            plan.weavers_planned, stand.knots_begun / max(to_weave.across, 1),
        )  # fmt: skip
        if free_from is not None:
            ahead = replace(ahead, days=later_by(ahead.days, (free_from - first_open).days))
        # What is not yet entered may have been woven, but no day that is over is told of the last row.
        told_from = max(first_open, today)
        to_tell = days_to_tell(sessions, habit.planned, book.days_off, told_from, float(ahead.days.max()))
    return Reckoning(
        book=book, today=today, to_weave=to_weave, row_now=row_now, knots_begun=stand.knots_begun, first_open=first_open, cloth=stand.cloth, sessions=sessions, observed=observed, fit=fit,
        habit=habit, futures=ahead, to_tell=to_tell, marks=marks, silent_days=silent, taught=taught,
        by_earlier=bool(taught.rugs) or habit_taught is not None, finished=stand.finished,
    )  # fmt: skip


def days_silent(book: RugBook, today: date) -> int:
    """Days since anything was entered, known days off left out; 0 before the first session."""
    if not book.woven_sessions:
        return 0
    newest = max(entry.day for entry in dated_entries(book)).toordinal()
    off = off_ordinals(book.days_off, newest + 1, today.toordinal())
    return int((~off).sum())
