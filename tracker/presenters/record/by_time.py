"""The rows of a rug by week and by month."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from tracker.domain.rug import RugBook
from tracker.presenters.record.values import Bar
from tracker.presenters.weeks import rows_by_week
from tracker.words import _, day_short, month_short

MOST_WEEKS = 60
"""Bars the chart draws week by week; a longer record is drawn by months."""


def rows_by_month(book: RugBook) -> tuple[tuple[date, int], ...]:
    """Return (first day, rows gained) of every month from the first session to the last."""
    gained: dict[tuple[int, int], int] = defaultdict(int)
    for session in book.sessions:
        gained[session.day.year, session.day.month] += session.rows
    if not gained:
        return ()
    (year, first), (last_year, last) = min(gained), max(gained)
    months = [(index // 12, index % 12 + 1) for index in range(year * 12 + first - 1, last_year * 12 + last)]
    return tuple((date(*month, 1), gained[month]) for month in months)


def chart_of_rows(book: RugBook) -> tuple[str, tuple[Bar, ...]]:
    """Return the heading and the bars of the rows woven: week by week, or by months where weeks are too many."""
    weeks = rows_by_week(book)
    if len(weeks) > MOST_WEEKS:
        every = max(1, -(-len(rows_by_month(book)) // 16))
        bars = tuple(
            Bar(first, rows, f"{month_short(first)} {first.year}" if first.month == 1 else month_short(first))
            if at % every == 0
            else Bar(first, rows, "")
            for at, (first, rows) in enumerate(rows_by_month(book))
        )
        return _("Rows by month"), bars
    every = max(1, -(-len(weeks) // 12))
    return _("Rows by week"), tuple(
        Bar(monday, rows, day_short(monday, monday) if at % every == 0 else "")
        for at, (monday, rows) in enumerate(weeks)
    )
