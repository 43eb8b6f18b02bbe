"""What two phones may each have entered, though it was one: an evening, a purchase, a loss; found, asked about, and made one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, fields, replace
from datetime import date
from itertools import combinations
from typing import Any

from tracker.domain.dye_lots import changes_to_come
from tracker.domain.hand_out import HandOut
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import Cost, HoursFrom, Lot, RugBook, Session, Spoilt
from tracker.presenters.entry_text import Names, headline
from tracker.words import _, day

Entered = Session | Lot | Spoilt | Cost | HandOut
"""What adds up, and so counts twice where it was entered twice."""


@dataclass(frozen=True, slots=True)
class Twice:
    """Two entries of one rug and day by two phones that may be one.

    Which of them stays must not hang on who is asked: each phone may answer before it hears of the other's answer.
    """

    stays: Entered
    goes: Entered

    @property
    def key(self) -> str:
        """By this an answer is remembered."""
        return f"{self.stays.id} {self.goes.id}"


@dataclass(frozen=True, slots=True)
class TwiceLine:
    """A pair in words."""

    pair: Twice
    headline: str
    stays: str
    goes: str


def alike(first: Entered, second: Entered) -> bool:
    """Tell whether two entries of one day may be one.

    Sessions: both unpicked, or gained as many rows. Others: both say the same, or one says nothing of what the other does.
    """
    if isinstance(first, Session) and isinstance(second, Session):
        return (first.rows < 0 and second.rows < 0) or (first.rows == second.rows > 0)
    if type(first) is not type(second) or (isinstance(first, Spoilt) and first.session_id is not None):
        return False  # what was lost with unpicked rows goes with its session
    return all(
        one == other or one in _UNSAID or other in _UNSAID
        for _name, one, other in _side_by_side(first, second)
    )


_UNSAID = (None, "")


def _side_by_side(first: Entered, second: Entered) -> list[tuple[str, Any, Any]]:
    """Return each field of two entries that says what was entered, with both answers."""
    names = [field.name for field in fields(first) if field.name not in ("id", "born", "note")]
    return [(name, getattr(first, name), getattr(second, name)) for name in names]


def entered_twice(
    entries: Iterable[Entered], phone_of: Callable[[str], str], answered: Collection[str] = ()
) -> tuple[Twice, ...]:
    """Return the pairs that may be one.

    Parameters
    ----------
    entries
        The entries of one rug.
    phone_of
        Returns the phone that made an entry, by its id.
    answered
        Keys of pairs of which somebody said that both are right.
    """
    by_day: dict[tuple[type, date], list[Entered]] = {}
    for entry in sorted(entries, key=lambda entry: entry.id):
        by_day.setdefault((type(entry), entry.day), []).append(entry)
    return tuple(
        pair
        for same_day in by_day.values()
        for pair in (Twice(first, second) for first, second in combinations(same_day, 2))
        if alike(pair.stays, pair.goes)
        and pair.key not in answered
        and phone_of(pair.stays.id) != phone_of(pair.goes.id)
    )


def twice_line(pair: Twice, names: Names, phone_of: Callable[[str], str]) -> TwiceLine:
    """Say of a pair what both phones have."""

    def said(entry: Entered) -> str:
        return _("{entry} ({who})").format(entry=headline(entry, names), who=phone_of(entry.id))

    asked = (
        _("{day}: one evening, or two?")
        if isinstance(pair.stays, Session)
        else _("{day}: entered once, or twice?")
    )
    return TwiceLine(
        pair,
        asked.format(day=day(pair.stays.day)),
        said(pair.stays),
        said(pair.goes),
    )


@dataclass(frozen=True, slots=True)
class MadeOne:
    """What one act writes where two entries were one."""

    values: tuple[Entered | LotChange | LotMove, ...]
    withdrawn: tuple[str, ...]


def made_one(pair: Twice, book: RugBook, moves: Iterable[LotMove] = ()) -> MadeOne:
    """Return what makes the two one: what the one that goes knows more is added, its losses of yarn go with it.

    Parameters
    ----------
    book
        The rug they belong to.
    moves
        All moves of yarn between rugs and the shelf.
    """
    stays, goes = pair.stays, pair.goes
    if isinstance(stays, Session) and isinstance(goes, Session):
        return _one_evening(stays, goes, book)
    more: dict[str, Any] = {
        name: theirs
        for name, ours, theirs in _side_by_side(stays, goes)
        if ours in _UNSAID and theirs not in _UNSAID
    }
    if not isinstance(stays, Lot) and not isinstance(goes, Lot):
        more["note"] = _both_notes(stays.note, goes.note)
    one: Entered = replace(stays, **more)
    # Whatever names the purchase that goes names the one that stays from now on.
    naming: list[LotChange | HandOut | LotMove] = [*book.lot_changes, *book.hand_outs, *moves]
    again = [replace(told, lot_id=stays.id) for told in naming if told.lot_id == goes.id]
    return MadeOne((*((one,) if one != stays else ()), *again), (goes.id,))


def _both_notes(first: str, second: str) -> str:
    return "\n".join(dict.fromkeys(note for note in (first, second) if note))


def _one_evening(stays: Session, goes: Session, book: RugBook) -> MadeOne:
    used = dict(goes.used) | dict(stays.used)
    # Hours that somebody gave are worth more than the usual ones.
    timed = goes if goes.hours and (not stays.hours or stays.hours_from is HoursFrom.USUAL) else stays
    one = replace(
        stays,
        hours=timed.hours,
        hours_from=timed.hours_from,
        weavers=stays.weavers + tuple(who for who in goes.weavers if who not in stays.weavers),
        used=tuple(used.items()),
        note=_both_notes(stays.note, goes.note),
        begun_knots=stays.begun_knots if stays.begun_knots is not None else goes.begun_knots,
    )
    sessions = tuple(session for session in book.sessions if session.id != goes.id)
    rows = replace(book, sessions=sessions).rows_woven
    changes = changes_to_come(book, rows) if rows < book.rows_woven else ()
    lost = tuple(loss.id for loss in book.spoilt if loss.session_id == goes.id)
    return MadeOne(((one,) if one != stays else ()) + changes, (goes.id, *lost))
