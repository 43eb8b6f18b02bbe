"""Which entries tell of rows that were never woven once a session before them is corrected, deleted or undone."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.lot_change import LotChange
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import Measurement, RugBook, Session, heights_after
from tracker.domain.trimming import Trim


@dataclass(frozen=True, slots=True)
class NeverWoven:
    """An entry about rows that are not on the loom on its day."""

    entry: Session | Measurement | Trim | CartoonMark | LotChange
    day: date
    """The day on which the rows should have been there."""
    first_row: int
    last_row: int


def with_sessions(book: RugBook, written: Iterable[Session], withdrawn: Collection[str] = ()) -> RugBook:
    """Return a rug's book once sessions are entered or corrected, and others taken out, in the order in which they then count."""
    born = {session.id: session.born for session in book.sessions}
    after_all = max(born.values(), default=0) + 1
    new = {one.id: replace(one, born=born.get(one.id, one.born or after_all)) for one in written}
    kept = [one for one in book.sessions if one.id not in new and one.id not in withdrawn]
    return replace(
        book, sessions=tuple(sorted((*kept, *new.values()), key=lambda one: (one.day, one.born, one.id)))
    )


def _reached(book: RugBook, day: date, born: float) -> float:
    """Return the rows on the loom, the begun part of the next one counted, when an entry was made for a day."""
    gained = zip(book.sessions, book.rows_gained, strict=True)
    return (0.0, *heights_after(rows for one, rows in gained if (one.day, one.born) <= (day, born)))[-1]


def _from_to(book: RugBook) -> dict[str, tuple[float, float]]:
    """Return the rows on the loom before and after each session, by id."""
    after = heights_after(book.rows_gained)
    heights = zip(book.sessions, (0.0, *after), after, strict=False)
    return {one.id: (start, end) for one, start, end in heights}


_NEAR = 1e-9


def never_woven(before: RugBook, after: RugBook) -> tuple[NeverWoven, ...]:
    """Return the entries whose rows were woven by one book and are not by the other, in the order of their days.

    Parameters
    ----------
    before, after
        The rug as the book has it, and as it has it once sessions are changed.

    Notes
    -----
    Rows are those on the loom on the entry's day, in the order of entry. A mistake, or a change of dye lot, may sit in the row
    that comes next. What told of rows that were not there already is nothing new, and is not returned.
    """
    heights, then = _from_to(before), _from_to(after)
    missing = []
    for session in before.sessions:
        start, end = heights[session.id]
        if end < start and session.id in then and then[session.id][0] < start - _NEAR:
            first, last = math.floor(end + _NEAR) + 1, math.ceil(start - _NEAR)
            missing.append(NeverWoven(session, session.day, first, last))
    told: list[tuple[Measurement | Trim | CartoonMark | LotChange, date, float, int]] = [
        *((one, one.day, one.born, 0) for one in before.measurements),
        *((one, one.day, one.born, 0) for one in before.trims),
        *((one, one.day, one.born, 1) for one in before.marks if one.mended_day is None),
        # On the day it was done, whatever was woven on that day.
        *((one, one.done_day, math.inf, 1) for one in before.lot_changes if one.done_day is not None),
    ]
    for one, day, born, ahead in told:
        if (
            _reached(after, day, born) + ahead + _NEAR
            < one.row
            <= _reached(before, day, born) + ahead + _NEAR
        ):
            missing.append(NeverWoven(one, day, one.row, one.row))
    return tuple(sorted(missing, key=lambda one: one.day))
