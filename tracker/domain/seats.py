"""The width of a rug in sections, one a weaver, that cover it once. No numpy: the session form reads places only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tracker.domain import team

if TYPE_CHECKING:
    from tracker.domain.rug import RugBook

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


def seating(book: RugBook, set_here: team.Places = ()) -> Seating:
    """Return who sits where: as set here, else as the last session that said it, else shared evenly by the plan.

    What stands ahead counts only where the last session of all said it.
    """
    across = book.knots_across
    woven = book.woven_sessions
    last = woven[-1] if woven else None
    said = next((s.places for s in reversed(woven) if team.sound(s.places, across)), ())
    places = set_here if team.sound(set_here, across) else said
    if places:
        ahead = last.ahead if last is not None and last.places == places else ()
        return Seating(sections_of(places, across), ahead)
    if last is not None and len(last.weavers) == 1:
        return Seating((Section(last.weavers[0], 1, across),))
    weavers = [weaver.id for weaver in book.weavers]
    planned = max(1, book.plan.weavers_planned)
    if last is not None and len(set(last.weavers)) > 1:
        weavers, planned = list(dict.fromkeys(last.weavers)), len(set(last.weavers))
    if len(weavers) == planned <= across:
        shared = team.share_evenly(weavers, across)
        return Seating(sections_of(shared, across), assumed=planned > 1)
    return Seating(even_sections(planned, across), assumed=planned > 1)
