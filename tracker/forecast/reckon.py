"""From a book to everything learnt from it: rows to weave, pace, habit and futures, before any of it becomes an answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from tracker.domain.rug import Hold, RugBook, Stage
from tracker.forecast.calendar import Habit, earlier_hours_ratio, learn_habit
from tracker.forecast.chart import RowsToWeave, rows_to_weave
from tracker.forecast.cloth import Cloth, read_cloth, rows_for_length
from tracker.forecast.finish import FUTURES, Futures, weave_futures
from tracker.forecast.pace import Diary, Observations, PaceFit, diary_of, fit_pace, observe, pace_prior


@dataclass(frozen=True, slots=True, eq=False)
class Reckoning:
    """What a book says on one day; `futures` is None once the last row is woven."""

    book: RugBook
    today: date
    asked: RowsToWeave
    row_now: int
    cloth: Cloth
    diary: Diary
    seen: Observations
    fit: PaceFit
    habit: Habit
    futures: Futures | None
    marks: np.ndarray
    earlier_rugs: int
    finished: bool


def rows_planned(book: RugBook, cloth: Cloth) -> int:
    """Rows the rug will have: the plan's, or those that reach the planned length at the measured row height."""
    if book.plan.hold is Hold.LENGTH and cloth.measured:
        return max(rows_for_length(cloth, book.plan.length_cm), 1)
    return max(book.plan.rows, 1)


def rows_wanted(book: RugBook) -> int:
    """The rows this rug is to have by what is measured so far; the plan's, unless the length is held."""
    return rows_planned(book, read_cloth(book.plan, book.measurements, max(book.rows_woven, 0)))


def most_rows(book: RugBook) -> int:
    """The rows that may be entered: the plan's, or more when the length is held and takes more."""
    return max(book.plan.rows, rows_wanted(book))


def first_open_day(book: RugBook, today: date) -> date:
    """The first day that can still be woven on: today, unless this evening is already in the book."""
    woven_today = any(s.day >= today for s in book.woven_sessions[-3:])
    first = today + timedelta(days=1) if woven_today else today
    return first if book.sessions else max(first, book.plan.start_day)


def reckon(
    book: RugBook,
    today: date,
    earlier: Sequence[RugBook] = (),
    seed: int = 20260101,
    futures: int = FUTURES,
    extra_marks: Sequence[int] = (),
) -> Reckoning:
    """Learn pace and habit from the record and weave the futures.

    Parameters
    ----------
    book, today, earlier, seed : as for `outlook`
    futures : number of futures
    extra_marks : rows whose days are wanted beside the twenty or so of the band

    Returns
    -------
    Reckoning
    """
    plan = book.plan
    woven = max(book.rows_woven, 0)
    cloth = read_cloth(plan, book.measurements, woven)
    rows = rows_planned(book, cloth)
    asked = rows_to_weave(book, rows)
    row_now = min(woven, asked.rows)
    diary = diary_of(book)
    seen = observe(diary, asked)
    earlier = earlier[-3:]
    prior = pace_prior(plan, asked.across, earlier)
    fit = fit_pace(diary, seen, prior, today)
    ratio = earlier_hours_ratio([(b.plan, diary_of(b)) for b in earlier])
    habit = learn_habit(plan, diary, seen.usual_hours, book.days_off, today, ratio)
    finished = plan.stage is Stage.FINISHED or row_now >= asked.rows
    ahead: Futures | None = None
    marks = np.zeros(0, dtype=int)
    if not finished:
        band = np.linspace(row_now, asked.rows, 21)[1:].round().astype(int)
        wanted = [r for r in extra_marks if row_now < r <= asked.rows]
        marks = np.unique(np.concatenate([band, np.array(wanted, dtype=int)]))
        marks = marks[marks > row_now]
        busy = asked.changes[row_now:] / max(asked.across, 1)
        ahead = weave_futures(
            fit, habit, diary, busy, row_now, marks, book.days_off, first_open_day(book, today), seed, futures,
            plan.weavers_planned,
        )  # fmt: skip
    return Reckoning(
        book=book, today=today, asked=asked, row_now=row_now, cloth=cloth, diary=diary, seen=seen, fit=fit,
        habit=habit, futures=ahead, marks=marks, earlier_rugs=prior.rugs, finished=finished,
    )  # fmt: skip


def book_as_of(book: RugBook, day: date) -> RugBook:
    """The book as it stood on the evening of `day`."""
    return replace(
        book,
        sessions=tuple(s for s in book.sessions if s.day <= day),
        measurements=tuple(m for m in book.measurements if m.day <= day),
    )
