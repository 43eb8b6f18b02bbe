"""The rows of a rug gathered into weeks."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta

from tracker.domain.rug import RugBook


def week_of(on: date, first_weekday: int = 0) -> date:
    """Return the first day of the week of `on`; `first_weekday` counts from Monday, 0, to Sunday, 6."""
    return on - timedelta(days=(on.weekday() - first_weekday) % 7)


def rows_by_week(
    book: RugBook, first_weekday: int = 0, until: date | None = None
) -> tuple[tuple[date, int], ...]:
    """Return (first day, rows gained) of every week from the first session on, idle ones too.

    Parameters
    ----------
    first_weekday
        The day a week begins with, from Monday, 0, to Sunday, 6.
    until
        A day up to whose week idle weeks go on after the last session; None: they end with the last session's.
    """
    if not book.sessions:
        return ()
    gained: dict[date, int] = defaultdict(int)
    for session in book.sessions:
        gained[week_of(session.day, first_weekday)] += session.rows
    first, last = min(gained), max(gained)
    if until is not None:
        last = max(last, week_of(until, first_weekday))
    weeks = (first + timedelta(weeks=count) for count in range((last - first).days // 7 + 1))
    return tuple((week, gained[week]) for week in weeks)
