"""A team at one loom: who sits where across the width, whose part stands ahead, and the knots each one wove.

Knots are counted from 1, left to right as the cartoon is read from the front, whichever side the team sits on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tracker.domain.errors import BadEntry
from tracker.domain.rug import Session, begun_after, heights_after
from tracker.words import _, n_, number

Place = tuple[str, int, int]
"""Weaver id, first knot, last knot."""
Places = tuple[Place, ...]
Ahead = tuple[tuple[str, int], ...]
"""Weaver id, rows above the rows counted as finished."""

MOST_AHEAD = 500
"""Rows that one part may stand above the others. Wefts pass through the whole shed, so in truth it is a few; the bound
only keeps out slips of the finger (common practice, no source)."""


def knots_of(place: Place) -> int:
    """Return the knots of one place in a row."""
    return place[2] - place[1] + 1


def share_evenly(weavers: Sequence[str], knots_across: int) -> Places:
    """Share a row's knots out among weavers side by side.

    Parameters
    ----------
    weavers
        Weaver ids, left to right.
    knots_across
        Knots in a row.

    Returns
    -------
    Places
        The whole width, in order; what does not divide goes one knot each to the first from the left.

    Raises
    ------
    BadEntry
        There are more weavers than knots.
    """
    if len(weavers) > knots_across:
        raise BadEntry(
            n_(
                "{count} weaver cannot share {knots} knots. Choose fewer weavers.",
                "{count} weavers cannot share {knots} knots. Choose fewer weavers.",
                len(weavers),
            ).format(count=number(len(weavers)), knots=number(knots_across))
        )
    places, last = [], 0
    for index, weaver in enumerate(weavers):
        knots = knots_across // len(weavers) + (index < knots_across % len(weavers))
        places.append((weaver, last + 1, last + knots))
        last += knots
    return tuple(places)


def gaps(places: Places, knots_across: int) -> tuple[tuple[int, int], ...]:
    """Return (first, last) of every stretch of the width in which nobody has a place. `places` must be sound."""
    spans, next_knot = [], 1
    for _weaver, first, last in places:
        if first > next_knot:
            spans.append((next_knot, first - 1))
        next_knot = last + 1
    if next_knot <= knots_across:
        spans.append((next_knot, knots_across))
    return tuple(spans)


def check_places(places: Places, knots_across: int) -> None:
    """Check that places lie side by side within the width. Stretches without a weaver are allowed; see `gaps`.

    Raises
    ------
    BadEntry
        A place is empty, lies outside the width or over another, or a weaver has two.
    """
    if len({weaver for weaver, _first, _last in places}) != len(places):
        raise BadEntry(_("Somebody has two places across the width. Share the width out again."))
    before = 0
    for _weaver, first, last in places:
        if not 1 <= first <= last <= knots_across:
            raise BadEntry(
                n_(
                    "The places do not fit this rug, which is {knots} knot wide. Share the width out again.",
                    "The places do not fit this rug, which is {knots} knots wide. Share the width out again.",
                    knots_across,
                ).format(knots=number(knots_across))
            )
        if first <= before:
            raise BadEntry(_("Two places overlap. Share the width out again."))
        before = last


def sound(places: Places, knots_across: int) -> bool:
    """Tell whether `check_places` has nothing against the places; none at all are not."""
    try:
        check_places(places, knots_across)
    except BadEntry:
        return False
    return bool(places)


def with_border(places: Places, index: int, last: int) -> Places:
    """Return the places with the border to the right of place `index` after knot `last`.

    The neighbour to the right begins at the next knot. Nobody loses all knots: the border stops one knot short.
    """
    weaver, first, _old = places[index]
    neighbour, _first, end = places[index + 1]
    last = max(first, min(end - 1, last))
    return (*places[:index], (weaver, first, last), (neighbour, last + 1, end), *places[index + 2 :])


def with_neighbours_changed(places: Places, index: int) -> Places:
    """Return the places with place `index` and its right neighbour's changed; each keeps her number of knots."""
    left, right = places[index], places[index + 1]
    gap = right[1] - left[2] - 1
    middle = left[1] + knots_of(right) - 1
    moved = ((right[0], left[1], middle), (left[0], middle + gap + 1, right[2]))
    return (*places[:index], *moved, *places[index + 2 :])


@dataclass(frozen=True, slots=True)
class Woven:
    """Knots of one session by weaver, without those that came out again later, whoever unpicked them."""

    by_weaver: tuple[tuple[str, int], ...]
    unsaid: int
    """Knots of which nobody said who tied them."""


class _Cloth:
    """The knots on the loom, column by column, and the session in which each was tied."""

    def __init__(self, knots_across: int) -> None:
        import numpy as np  # the session form needs the places only, and must not wait for numpy

        self._np = np
        self._heights = np.zeros(knots_across, dtype=np.int64)
        """Rows of each column, what is begun of the next row counted."""
        self._begun = np.zeros(knots_across, dtype=bool)
        """The columns in which a knot of the begun row is tied."""
        self._rows = 0
        self._tied_in = np.zeros(knots_across, dtype=np.int32)
        """In which session each column's topmost knots were tied."""
        self._sessions = 0
        self._layers: list[Any] = []
        """Knots of each column that are left of those a session tied, the earliest session first."""

    def weave(self, rows: int, begun: int, places: Places, ahead: dict[str, int]) -> Any:
        """Let the cloth stand as after a session, and return its knots of each column, (knots across,).

        They grow fewer as later sessions take them out again, the topmost first.

        Parameters
        ----------
        rows, begun
            Whole rows on the loom after it, and knots of the next one.
        places, ahead
            Who sat where, and the rows by which her part stands above the others.
        """
        np = self._np
        stands = np.full(len(self._heights), rows, dtype=np.int64)
        for weaver, first, last in places:
            stands[first - 1 : last] += max(0, min(MOST_AHEAD, ahead.get(weaver, 0)))
        self._begin(rows, begun, places)
        stands += self._begun
        gained, self._heights = stands - self._heights, stands
        out = np.maximum(-gained, 0)
        for left in reversed(self._layers):
            if not out.any():
                break
            taken = np.minimum(out, left)
            out -= taken
            left -= taken
        while self._layers and not self._layers[-1].any():
            self._layers.pop()
        tied = np.maximum(gained, 0)
        self._sessions += 1
        self._tied_in[tied > 0] = self._sessions
        self._layers.append(tied)
        return tied

    def _begin(self, rows: int, begun: int, places: Places) -> None:
        """Let so many knots of the next row be tied: of new ones each section has its share, and those tied last come out first."""
        np = self._np
        across = len(self._begun)
        now = self._begun.copy() if rows == self._rows else np.zeros_like(self._begun)
        self._rows, self._begun = rows, now
        too_many = int(now.sum()) - begun
        if too_many >= 0:
            tied = np.flatnonzero(now)
            now[tied[np.argsort(-self._tied_in[tied], kind="stable")[:too_many]]] = False
            return
        for first, last in (*(place[1:] for place in places), *gaps(places, across)):
            part = now[first - 1 : last]
            share = begun * last // across - begun * (first - 1) // across
            missing = min(max(0, share - int(part.sum())), begun - int(now.sum()))
            part[np.flatnonzero(~part)[:missing]] = True
        now[np.flatnonzero(~now)[: begun - int(now.sum())]] = True


def knots_woven(sessions: Iterable[Session], knots_across: int) -> tuple[Woven, ...]:
    """Return the knots of every session by weaver, as far as they are still in the rug.

    Parameters
    ----------
    sessions
        All sessions of the rug in their order.
    knots_across
        Knots in a row.

    Returns
    -------
    tuple[Woven, ...]
        For every session: rows x the knots of each place, more by what the place stands ahead now and less by what
        it stood ahead before. Who sat alone has the whole width. What was unpicked later is taken from the session that
        tied it, the topmost knots first, whoever took it out. All knots together are rows x width plus what stands ahead
        and what is begun of the next row at the end, so no knot is counted twice when a part that was ahead, or a row
        that was begun, is caught up with.

    Notes
    -----
    A session in which nobody said who stands ahead ends with all parts level. Places that do not fit the width count
    as not said. Of a row begun by a team each place has its share: its first knots, as many as the whole row has.
    """
    sessions = tuple(sessions)
    cloth = _Cloth(max(0, knots_across))
    woven: list[tuple[Places, Any]] = []
    heights = heights_after(session.rows for session in sessions)
    for session, rows, begun in zip(sessions, heights, begun_after(sessions), strict=True):
        if not (session.wove or session.places):
            # A ball used up or a note alone: the cloth stands as it stood.
            woven.append(((), None))
            continue
        places = tuple(session.places)
        if not sound(places, knots_across):
            alone = len(session.weavers) == 1 and knots_across > 0
            places = ((session.weavers[0], 1, knots_across),) if alone else ()
        begun = max(0, min(begun, knots_across - 1))
        woven.append((places, cloth.weave(int(rows), begun, places, dict(session.ahead))))
    return tuple(_woven(*one) for one in woven)


def _woven(places: Places, knots: Any) -> Woven:
    """Return whose the knots are that a session has in each column."""
    if knots is None:
        return Woven((), 0)
    by_weaver = tuple((weaver, int(knots[first - 1 : last].sum())) for weaver, first, last in places)
    return Woven(by_weaver, int(knots.sum()) - sum(knots for _weaver, knots in by_weaver))


def knots_in_all(sessions: Iterable[Session], knots_across: int) -> tuple[dict[str, int], int]:
    """Return (knots of each weaver by id that are in the rug, those of which nobody said who tied them) over all sessions."""
    by_weaver: dict[str, int] = {}
    unsaid = 0
    for woven in knots_woven(sessions, knots_across):
        unsaid += woven.unsaid
        for weaver, knots in woven.by_weaver:
            by_weaver[weaver] = by_weaver.get(weaver, 0) + knots
    return by_weaver, unsaid


def seated(session: Session) -> tuple[str, ...]:
    """Return who sat at the loom in a session, left to right; where nobody said, in the order they were entered."""
    placed = tuple(weaver for weaver, _first, _last in sorted(session.places, key=lambda place: place[1:]))
    return tuple(dict.fromkeys((*placed, *session.weavers)))


def sat_last(sessions: Iterable[Session]) -> tuple[str, ...]:
    """Return who sat at a loom in the last of some sessions, of whichever rugs, in which somebody wove."""
    woven = [session for session in sessions if session.wove and session.weavers]
    if not woven:
        return ()
    return seated(max(woven, key=lambda session: (session.day, session.born, session.id)))
