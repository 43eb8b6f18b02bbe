"""What two phones may each have entered, though it was one: an evening, a purchase, balls wound, a loom; asked about, and made one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, fields, replace
from datetime import date
from itertools import combinations
from typing import Any

from tracker.domain.dye_lots import changes_to_come
from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import (
    Cost,
    HoursFrom,
    Lot,
    Preparation,
    PreparationKind,
    RugBook,
    RugPlan,
    Session,
    Spoilt,
)
from tracker.presenters.entry_text import Names, headline
from tracker.words import _, day, plainly

Entered = Session | Lot | Spoilt | Cost | HandOut | Preparation
"""What adds up, and so counts twice where it was entered twice."""


@dataclass(frozen=True, slots=True)
class Twice:
    """Two entries of one rug and day, or two looms of one name, by two phones, that may be one.

    Which of them stays must not hang on who is asked: each phone may answer before it hears of the other's answer.
    """

    stays: Entered | Loom
    goes: Entered | Loom
    also_goes: tuple[str, ...] = ()
    """Ids of more that go with it: balls ticked off one by one are asked about as one."""
    said: tuple[Entered, Entered] | None = None
    """What is said of the two where each stands for several; None: they themselves."""

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


def _side_by_side(first: Entered | Loom, second: Entered | Loom) -> list[tuple[str, Any, Any]]:
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
    entries = sorted(entries, key=lambda entry: entry.id)
    prepared = _prepared_twice([one for one in entries if isinstance(one, Preparation)], phone_of)
    by_day: dict[tuple[type, date], list[Entered]] = {}
    for entry in entries:
        if isinstance(entry, Preparation):
            continue
        by_day.setdefault((type(entry), entry.day), []).append(entry)
    others = tuple(
        Twice(first, second)
        for same_day in by_day.values()
        for first, second in combinations(same_day, 2)
        if alike(first, second) and phone_of(first.id) != phone_of(second.id)
    )
    return tuple(pair for pair in (*others, *prepared) if pair.key not in answered)


def _prepared_twice(prepared: Iterable[Preparation], phone_of: Callable[[str], str]) -> list[Twice]:
    """Return as many balls or shuttles of one yarn and day by two phones; and the warp, which is mounted once on whatever day.

    `prepared` in the order of their ids.
    """
    alike_by: dict[tuple[Any, ...], dict[str, list[Preparation]]] = {}
    for one in prepared:
        on = None if one.kind is PreparationKind.WARP else one.day
        alike_by.setdefault((one.kind, one.yarn_id, on), {}).setdefault(phone_of(one.id), []).append(one)
    pairs = []
    for by_phone in alike_by.values():
        for first, second in combinations(by_phone.values(), 2):
            ours, theirs = _in_one(first), _in_one(second)
            same_hours = ours.hours == theirs.hours or None in (ours.hours, theirs.hours)
            if ours.kind is PreparationKind.WARP or (ours.count == theirs.count and same_hours):
                also = tuple(one.id for one in second[1:])
                pairs.append(Twice(first[0], second[0], also, (ours, theirs)))
    return pairs


def _in_one(several: list[Preparation]) -> Preparation:
    """Return what one phone ticked off, as one entry."""
    given = [one.hours for one in several if one.hours is not None]
    return replace(several[0], count=sum(one.count for one in several), hours=sum(given) if given else None)


def looms_twice(
    looms: Iterable[Loom], phone_of: Callable[[str], str], answered: Collection[str] = ()
) -> tuple[Twice, ...]:
    """Return the looms of one name that two phones entered."""
    pairs = (Twice(*two) for two in combinations(sorted(looms, key=lambda loom: loom.id), 2))
    return tuple(
        pair
        for pair in pairs
        if isinstance(pair.stays, Loom)
        and isinstance(pair.goes, Loom)
        and plainly(pair.stays.name.strip()) == plainly(pair.goes.name.strip())
        and pair.key not in answered
        and phone_of(pair.stays.id) != phone_of(pair.goes.id)
    )


def twice_line(pair: Twice, names: Names, phone_of: Callable[[str], str]) -> TwiceLine:
    """Say of a pair what both phones have."""

    def said(entry: Entered | Loom) -> str:
        return _("{entry} ({who})").format(entry=headline(entry, names), who=phone_of(entry.id))

    stays, goes = pair.said or (pair.stays, pair.goes)
    if isinstance(pair.stays, Loom):
        asked = _("{name}: one loom, or two?").format(name=pair.stays.name)
    else:
        words = (
            _("{day}: one evening, or two?")
            if isinstance(pair.stays, Session)
            else _("{day}: entered once, or twice?")
        )
        asked = words.format(day=day(pair.stays.day))
    return TwiceLine(pair, asked, said(stays), said(goes))


@dataclass(frozen=True, slots=True)
class MadeOne:
    """What one act writes where two entries were one."""

    values: tuple[Entered | LotChange | LotMove | Loom | RugPlan, ...]
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
    if isinstance(stays, Preparation) and pair.said is not None:
        ours, theirs = (one.hours for one in pair.said if isinstance(one, Preparation))
        more_hours = (replace(stays, hours=theirs),) if ours is None and theirs is not None else ()
        return MadeOne(more_hours, (goes.id, *pair.also_goes))
    if isinstance(stays, Session) and isinstance(goes, Session):
        return _one_evening(stays, goes, book)
    more: dict[str, Any] = {
        name: theirs
        for name, ours, theirs in _side_by_side(stays, goes)
        if ours in _UNSAID and theirs not in _UNSAID
    }
    if isinstance(stays, Spoilt | Cost | HandOut) and isinstance(goes, Spoilt | Cost | HandOut):
        more["note"] = _both_notes(stays.note, goes.note)
    one: Any = replace(stays, **more)
    # Whatever names the purchase that goes names the one that stays from now on.
    naming: list[LotChange | HandOut | LotMove] = [*book.lot_changes, *book.hand_outs, *moves]
    again = [replace(told, lot_id=stays.id) for told in naming if told.lot_id == goes.id]
    return MadeOne((*((one,) if one != stays else ()), *again), (goes.id,))


def one_loom(pair: Twice, plans: Iterable[RugPlan]) -> MadeOne:
    """Return what makes two looms one: what was measured of either, and its rugs on the one that stays."""
    stays, goes = pair.stays, pair.goes
    assert isinstance(stays, Loom)
    assert isinstance(goes, Loom)
    more: dict[str, Any] = {
        name: theirs
        for name, ours, theirs in _side_by_side(stays, goes)
        if ours in _UNSAID and theirs not in _UNSAID
    }
    one = replace(stays, **more, note=_both_notes(stays.note, goes.note))
    moved = tuple(replace(plan, loom_id=stays.id) for plan in plans if plan.loom_id == goes.id)
    return MadeOne(((one,) if one != stays else ()) + moved, (goes.id,))


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
