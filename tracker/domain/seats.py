"""The width of a rug in sections, one a weaver, that cover it once. No numpy: the session form reads places only."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tracker.domain import team

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tracker.domain.rug import RugBook, Session

ALONE_FOR = 8
"""Evenings in a row after which one of those who sat side by side is taken to weave alone from now on (our own choice)."""
NOBODY = ""
"""Stands for the weaver of a section in which nobody sits, or of whom nobody said who she is."""


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the width, knots counted from 1 from the left of the cartoon's front."""

    weaver_id: str
    first: int
    last: int

    @property
    def knots(self) -> int:
        """Knots of a row."""
        return self.last - self.first + 1


def sections_of(places: team.Places, across: int) -> tuple[Section, ...]:
    """Return the sections that cover the whole row once: the places, and what lies between and beside them.

    Parameters
    ----------
    places
        Who sits where; not sound ones, and none at all, leave the whole width nobody's.
    across
        Knots in a row.
    """
    if not team.sound(places, across):
        return (Section(NOBODY, 1, across),)
    taken = [Section(*place) for place in places]
    empty = [Section(NOBODY, first, last) for first, last in team.gaps(places, across)]
    return tuple(sorted((*taken, *empty), key=lambda section: section.first))


def even_sections(weavers: int, across: int) -> tuple[Section, ...]:
    """Return as many equal sections as weavers are planned, of whom nobody said who they are."""
    seats = [str(seat) for seat in range(max(1, min(weavers, across)))]
    return tuple(Section(NOBODY, first, last) for _seat, first, last in team.share_evenly(seats, across))


def _who_of(places: team.Places) -> frozenset[str]:
    return frozenset(who for who, _first, _last in places)


def ever_said(sessions: Iterable[Session], weavers: Iterable[str], across: int) -> bool:
    """Tell whether these weavers, and nobody else, said of any session who of them sat where."""
    who = frozenset(weavers)
    return any(team.sound(session.places, across) and _who_of(session.places) == who for session in sessions)


@dataclass(frozen=True, slots=True)
class Placed:
    """The sessions with the places of all who sat in them, and of how many those had to be assumed."""

    sessions: tuple[Session, ...]
    as_another: int
    """In so many the same weavers sat as they said of another evening."""
    evenly: int
    """In so many the width is shared evenly: they never said."""


def placed(sessions: Iterable[Session], across: int) -> Placed:
    """Fill in who sat where in the sessions that name several weavers without their places.

    Whoever asks whose knots are whose asks here. The same weavers sat as they said last, else as they first said later; who
    never said it share the width evenly, so that each is given as much as the evenings on which she wove. Of a session that
    names nobody nothing is assumed.

    Parameters
    ----------
    sessions
        All sessions of the rug in their order.
    across
        Knots in a row.
    """
    sessions = tuple(sessions)
    first_said: dict[frozenset[str], team.Places] = {}
    for session in sessions:
        if team.sound(session.places, across):
            first_said.setdefault(_who_of(session.places), session.places)
    said = dict(first_said)
    filled, as_another, evenly = [], 0, 0
    for session in sessions:
        who = list(dict.fromkeys(session.weavers))
        if team.sound(session.places, across):
            said[_who_of(session.places)] = session.places
        elif session.wove and 1 < len(who) <= across:
            places = said.get(frozenset(who))
            if session.rows > 0:
                as_another, evenly = as_another + (places is not None), evenly + (places is None)
            session = replace(session, places=places or team.share_evenly(who, across))
        filled.append(session)
    return Placed(tuple(filled), as_another, evenly)


@dataclass(frozen=True, slots=True)
class Seating:
    """The sections of the width, left to right, as they are believed now."""

    sections: tuple[Section, ...]
    """They cover the width once; those in which nobody sits are among them."""
    ahead: team.Ahead = ()
    assumed: bool = False
    """Nobody ever said who sits where: the width is shared evenly."""

    @property
    def places(self) -> team.Places:
        """The sections of those who are known."""
        return tuple(
            (section.weaver_id, section.first, section.last)
            for section in self.sections
            if section.weaver_id != NOBODY
        )


@dataclass(frozen=True, slots=True)
class _Evening:
    """Who sat where in one session."""

    places: team.Places
    said: bool
    """The session says it; else the width is shared evenly among those who sat."""

    @property
    def who(self) -> tuple[str, ...]:
        """From left to right."""
        return tuple(who for who, _first, _last in self.places)

    def agrees(self, other: _Evening) -> bool:
        """Tell whether the same sat in the same order; of an evening that does not say it, whether the same sat."""
        if self.said and other.said:
            return self.who == other.who
        return set(self.who) == set(other.who)


def _evening(session: Session, across: int) -> _Evening | None:
    """Return who sat where in a session; None where nobody is named."""
    if team.sound(session.places, across):
        return _Evening(session.places, True)
    who = list(dict.fromkeys(session.weavers))
    if not 0 < len(who) <= across:
        return None
    return _Evening(team.share_evenly(who, across), len(who) == 1)


def _came_alone(evening: _Evening, side_by_side: _Evening | None) -> bool:
    """Tell whether just one came of those who sit side by side."""
    if side_by_side is None or len(evening.who) != 1:
        return False
    return set(evening.who) < set(side_by_side.who)


def _usual(sessions: Iterable[Session], across: int, usual: _Evening | None = None) -> _Evening | None:
    """Return who sits where as a rule: one evening with others, or in another order, changes nothing until a second agrees.

    Of those who sit side by side one may come alone: that is no other order, and between two evenings that agree it counts
    for nothing, until nobody else came `ALONE_FOR` evenings in a row.

    Parameters
    ----------
    usual
        What was so before the first of the sessions, where it is known.
    """
    other: _Evening | None = None
    alone: list[tuple[str, ...]] = []
    for session in sessions:
        evening = _evening(session, across)
        if evening is None:
            continue
        if _came_alone(evening, usual) or _came_alone(evening, other):
            alone = [*alone, evening.who] if evening.who in alone[-1:] else [evening.who]
            if len(alone) >= ALONE_FOR:
                usual, other = evening, None
            continue
        alone = []
        if usual is None or evening.agrees(usual):
            usual, other = evening if usual is None or evening.said else usual, None
        elif other is not None and evening.agrees(other):
            usual, other = evening if evening.said else other, None
        else:
            other = evening
    return usual


def still_sit_so(book: RugBook, places: team.Places, born: int) -> bool:
    """Tell whether places that were said outside the sessions still hold: as one evening's would, see `_usual`.

    Parameters
    ----------
    born
        Count of the last session that was entered when they were said.
    """
    later = (session for session in book.woven_sessions if session.born > born)
    usual = _usual(later, book.knots_across, _Evening(places, True))
    return usual is not None and usual.places == places


def seating(book: RugBook, set_here: team.Places = ()) -> Seating:
    """Return who sits where: as set here, else as the sessions say it, else shared evenly by the plan.

    What stands ahead counts only where the last session of all said it.
    """
    across = book.knots_across
    woven = book.woven_sessions
    last = woven[-1] if woven else None
    usual = None if team.sound(set_here, across) else _usual(book.woven_sessions, across)
    places = set_here if team.sound(set_here, across) else () if usual is None else usual.places
    if places:
        ahead = last.ahead if last is not None and last.places == places else ()
        return Seating(sections_of(places, across), ahead, usual is not None and not usual.said)
    planned = max(1, book.plan.weavers_planned)
    weavers = [weaver.id for weaver in book.weavers]
    if len(weavers) == planned <= across:
        shared = team.share_evenly(weavers, across)
        return Seating(sections_of(shared, across), assumed=planned > 1)
    return Seating(even_sections(planned, across), assumed=planned > 1)
