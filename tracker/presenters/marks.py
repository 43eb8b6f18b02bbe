"""Mistakes marked on the cartoon: the list of them, what the row at the loom tells, and what is drawn close up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.mark import CartoonMark
from tracker.domain.rug import RugBook
from tracker.forecast.reckon import most_rows
from tracker.presenters import entry_forms
from tracker.presenters.entries.form import EntryForm, FormKind
from tracker.presenters.entry_text import mark_words
from tracker.presenters.picture import shown_rows
from tracker.words import _, day_short, n_, number

NEAR_ROWS = 5
"""So many rows around a mistake the row at the loom tells of it (our own choice)."""


@dataclass(frozen=True, slots=True)
class MarkLine:
    """One mark in the list."""

    mark_id: str
    where: str
    note: str
    mended: bool


@dataclass(frozen=True, slots=True)
class NearMark:
    """The mistake that lies nearest to the row at the loom."""

    mark: CartoonMark
    words: str


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """Knots to be outlined on the picture: shares of its width, and the row from 1."""

    row: int
    left: float
    right: float


def mark_lines(book: RugBook, today: date) -> tuple[MarkLine, ...]:
    """Return every mark: what is still to be mended first, the lowest row first."""
    ordered = sorted(book.marks, key=lambda mark: (mark.mended_day is not None, mark.row, mark.first_knot))
    lines = []
    for mark in ordered:
        said = [mark.note] if mark.note else []
        if mark.mended_day is not None:
            said.append(_("mended {day}").format(day=day_short(mark.mended_day, today)))
        lines.append(MarkLine(mark.id, mark_words(mark), ", ".join(said), mark.mended_day is not None))
    return tuple(lines)


def how_to_words() -> str:
    """Say how a mistake is marked, and up to where the row page tells of it."""
    return n_(
        "To mark a mistake, touch it on the rug and say what is wrong. The row page tells of it up to {rows} row away. "
        "It stands here until it is mended: tick it off then.",
        "To mark a mistake, touch it on the rug and say what is wrong. The row page tells of it up to {rows} rows away. "
        "It stands here until it is mended: tick it off then.",
        NEAR_ROWS,
    ).format(rows=number(NEAR_ROWS))


def summary_words(book: RugBook) -> str:
    """Say how many mistakes are still there."""
    left = sum(mark.mended_day is None for mark in book.marks)
    if not left:
        return _("Nothing is left to mend.") if book.marks else ""
    return n_("{count} mistake is still there.", "{count} mistakes are still there.", left).format(
        count=number(left)
    )


def open_mistakes_words(book: RugBook) -> str:
    """Say which mistakes nobody ticked off, for who is about to call a rug finished; "" where there are none."""
    left = sorted(
        (mark for mark in book.marks if mark.mended_day is None), key=lambda mark: (mark.row, mark.first_knot)
    )
    if not left:
        return ""
    return n_(
        "{count} mistake is still marked: {where}.",
        "{count} mistakes are still marked, the lowest: {where}.",
        len(left),
    ).format(count=number(len(left)), where=mark_words(left[0]))


def near_mark(book: RugBook, row: int) -> NearMark | None:
    """Return the mistake still there that lies nearest to a row; None where none is near."""
    near = [mark for mark in book.marks if mark.mended_day is None and abs(mark.row - row) <= NEAR_ROWS]
    if not near:
        return None
    mark = min(near, key=lambda mark: (abs(mark.row - row), mark.row, mark.first_knot))
    return NearMark(mark, _("Mistake: {where}").format(where=mark_words(mark)))


def drawn_marks(book: RugBook) -> tuple[DrawnMark, ...]:
    """Return the mistakes still there that lie on the rug, as its picture shows them from the front."""
    across = book.knots_across
    return tuple(
        DrawnMark(
            mark.row,
            (mark.first_knot - 1) / across,
            min(mark.last_knot, across) / across,
        )
        for mark in book.marks
        if mark.mended_day is None and mark.row <= shown_rows(book) and mark.first_knot <= across
    )


def with_mended(mark: CartoonMark, today: date) -> CartoonMark:
    """Return the mark ticked off, or open again."""
    return replace(mark, mended_day=None if mark.mended_day is not None else today)


def form_at(book: RugBook, today: date, row: int, knot: int) -> EntryForm:
    """Return the form for a mistake at a place that was touched; row and knot from 1."""
    form = entry_forms.blank(FormKind.MARK, book, today)
    row = max(1, min(row, most_rows(book)))
    knot = max(1, min(knot, book.knots_across))
    return form.with_answer("row", row).with_answer("first_knot", knot).with_answer("last_knot", knot)
