"""The rug looked at closely: which day wove which rows, and when the rows to come will be reached."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.rug import RugBook
from tracker.forecast.answers import Answers, Where
from tracker.presenters.dye_lots import ChangeMark, change_marks
from tracker.presenters.marks import DrawnMark, drawn_marks
from tracker.presenters.picture import shown_aspect, shown_rows
from tracker.words import day_short, days_from_to, n_, number

LONGEST_SIDE = 4096
"""Pixels of the picture's longer side at the most; what every phone's textures hold."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows `first` to `last` (from 1) that still lie on the loom as one day left them."""

    day: date
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class SideMark:
    """Words beside the picture at a height: `rows_up` rows above the first row's lower edge."""

    rows_up: float
    words: str
    span: str = ""
    """For rows to come: the range of days; "" for woven ones."""
    from_row: int = 0
    to_row: int = 0


@dataclass(frozen=True, slots=True)
class ZoomState:
    """What the page draws beside and over the picture."""

    title: str
    rows: int
    row: int
    aspect: float
    row_words: str
    woven: tuple[SideMark, ...]
    ahead: tuple[SideMark, ...]
    lots: tuple[ChangeMark, ...]
    """Changes of dye lot."""
    marks: tuple[DrawnMark, ...] = ()
    """Mistakes that somebody marked."""


def stretches(book: RugBook) -> tuple[Stretch, ...]:
    """Return which rows each day left on the loom, from the first row up. Unpicked rows fall off the top."""
    stack: list[Stretch] = []
    top = 0
    for session in book.sessions:
        if session.rows > 0:
            if stack and stack[-1].day == session.day:
                stack[-1] = replace(stack[-1], last=stack[-1].last + session.rows)
            else:
                stack.append(Stretch(session.day, top + 1, top + session.rows))
            top += session.rows
        elif session.rows < 0:
            top = max(0, top + session.rows)
            while stack and stack[-1].first > top:
                stack.pop()
            if stack:
                stack[-1] = replace(stack[-1], last=min(stack[-1].last, top))
    return tuple(stack)


def _row_words(where: Where) -> str:
    """Say how far the rug is woven, beside the picture."""
    rows = n_("{row} row", "{row} rows", where.rows_woven).format(row=number(where.rows_woven))
    if not where.knots_begun:
        return rows
    knots = n_("{count} knot", "{count} knots", where.knots_begun).format(count=number(where.knots_begun))
    return f"{rows}, {knots}"


def build_zoom_state(book: RugBook, answers: Answers) -> ZoomState:
    """Turn the book into the words beside the picture."""
    today = answers.day
    woven = tuple(
        SideMark((s.first - 1 + s.last) / 2, day_short(s.day, today), "", s.first, s.last)
        for s in stretches(book)
    )
    ahead: tuple[SideMark, ...] = ()
    if answers.finish is not None:
        ahead = tuple(
            SideMark(
                float(row),
                day_short(middle, today),
                days_from_to(early, late, today),
                row,
                row,
            )
            for row, early, middle, late in answers.finish.bands
        )
    rows = shown_rows(book)
    return ZoomState(
        title=book.plan.name,
        rows=rows,
        row=max(0, min(rows, book.rows_woven)),
        aspect=shown_aspect(book),
        row_words=_row_words(answers.where),
        woven=woven,
        ahead=ahead,
        lots=change_marks(book),
        marks=drawn_marks(book),
    )
