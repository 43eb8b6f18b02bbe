"""The width of a rug in sections, one a weaver, that cover it once. No numpy: the session form reads places only."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.domain import team

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
