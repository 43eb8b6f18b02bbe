"""Sessions that two phones may each have entered, though they were one: found, asked about, and made one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date
from itertools import combinations

from tracker.domain.dye_lots import changes_to_come
from tracker.domain.lot_change import LotChange
from tracker.domain.rug import HoursFrom, RugBook, Session
from tracker.presenters.entry_text import Names, headline
from tracker.words import _, day


@dataclass(frozen=True, slots=True)
class Twice:
    """Two sessions of one rug and day by two phones that may be one.

    Which of them stays must not hang on who is asked: each phone may answer before it hears of the other's answer.
    """

    stays: Session
    goes: Session

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


def alike(first: Session, second: Session) -> bool:
    """Tell whether two sessions of one day may be one: both unpicked, or gained as many rows."""
    return (first.rows < 0 and second.rows < 0) or (first.rows == second.rows > 0)


def entered_twice(
    sessions: Iterable[Session], phone_of: Callable[[str], str], answered: Collection[str] = ()
) -> tuple[Twice, ...]:
    """Return the pairs that may be one.

    Parameters
    ----------
    sessions
        The sessions of one rug.
    phone_of
        Returns the phone that entered a session, by its id.
    answered
        Keys of pairs of which somebody said that both are right.
    """
    by_day: dict[date, list[Session]] = {}
    for session in sorted(sessions, key=lambda session: session.id):
        by_day.setdefault(session.day, []).append(session)
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

    def said(session: Session) -> str:
        return _("{entry} ({who})").format(entry=headline(session, names), who=phone_of(session.id))

    return TwiceLine(
        pair,
        _("{day}: one evening, or two?").format(day=day(pair.stays.day)),
        said(pair.stays),
        said(pair.goes),
    )


@dataclass(frozen=True, slots=True)
class MadeOne:
    """What one act writes where two sessions were one."""

    values: tuple[Session | LotChange, ...]
    withdrawn: tuple[str, ...]


def made_one(pair: Twice, book: RugBook) -> MadeOne:
    """Return what makes the two one: what the one that goes knows more is added, its losses of yarn go with it."""
    stays, goes = pair.stays, pair.goes
    used = dict(goes.used) | dict(stays.used)
    # Hours that somebody gave are worth more than the usual ones.
    timed = goes if goes.hours and (not stays.hours or stays.hours_from is HoursFrom.USUAL) else stays
    one = replace(
        stays,
        hours=timed.hours,
        hours_from=timed.hours_from,
        weavers=stays.weavers + tuple(who for who in goes.weavers if who not in stays.weavers),
        used=tuple(used.items()),
        note="\n".join(dict.fromkeys(note for note in (stays.note, goes.note) if note)),
        begun_knots=stays.begun_knots if stays.begun_knots is not None else goes.begun_knots,
    )
    sessions = tuple(session for session in book.sessions if session.id != goes.id)
    rows = replace(book, sessions=sessions).rows_woven
    changes = changes_to_come(book, rows) if rows < book.rows_woven else ()
    lost = tuple(loss.id for loss in book.spoilt if loss.session_id == goes.id)
    return MadeOne(((one,) if one != stays else ()) + changes, (goes.id, *lost))
