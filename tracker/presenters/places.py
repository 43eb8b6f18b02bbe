"""Who of a team sits where across the width, in words and as shares of a strip."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tracker.domain import team
from tracker.domain.rug import RugBook
from tracker.domain.seats import still_sit_so
from tracker.files.typed import read_as
from tracker.words import _, n_, number, one_after_another


@dataclass(frozen=True, slots=True)
class PlacePart:
    """One weaver's place."""

    weaver_id: str
    number: str
    """Counted from the left of the cartoon's front."""
    name: str
    knots: str
    span: str
    first: int
    last: int
    share: float
    """Of the width, 0 to 1."""
    gap_before: float
    """Share of the width to the left of it in which nobody sits."""
    ahead: int
    ahead_words: str

    @property
    def words(self) -> str:
        """The place on one line."""
        return ", ".join(
            part for part in (f"{self.number} {self.name}: {self.knots}", self.ahead_words) if part
        )


def span_words(first: int, last: int) -> str:
    """Say which knots: "knots 1 to 60"."""
    if first == last:
        return _("knot {first}").format(first=number(first))
    return _("knots {first} to {last}").format(first=number(first), last=number(last))


def knots_words(knots: int) -> str:
    """Say how many knots."""
    return n_("{count} knot", "{count} knots", knots).format(count=number(knots))


def ahead_words(rows: int) -> str:
    """Say how far a part stands ahead; "" when level."""
    return n_("{rows} row ahead", "{rows} rows ahead", rows).format(rows=number(rows)) if rows else ""


def place_parts(
    places: team.Places, ahead: team.Ahead, names: dict[str, str], knots_across: int
) -> tuple[PlacePart, ...]:
    """Return sound places as parts of a strip, left to right."""
    rows_ahead, parts, before = dict(ahead), [], 0
    for index, place in enumerate(places):
        weaver, first, last = place
        rows = rows_ahead.get(weaver, 0)
        parts.append(
            PlacePart(
                weaver_id=weaver,
                number=number(index + 1),
                name=names.get(weaver, _("somebody")),
                knots=knots_words(team.knots_of(place)),
                span=span_words(first, last),
                first=first,
                last=last,
                share=team.knots_of(place) / knots_across,
                gap_before=(first - 1 - before) / knots_across,
                ahead=rows,
                ahead_words=ahead_words(rows),
            )
        )
        before = last
    return tuple(parts)


def gap_words(places: team.Places, knots_across: int) -> str:
    """Say which knots are nobody's; "" when the whole width is shared out."""
    gaps = team.gaps(places, knots_across)
    if not gaps:
        return ""
    return _("Nobody sits at {spans}.").format(
        spans=", ".join(span_words(first, last) for first, last in gaps)
    )


def noted_words(weavers: Iterable[str], book: RugBook) -> str:
    """Say beside the key that saves who is noted at the loom, since wages and the record count it; "" in a book without names."""
    names = names_of_weavers(book)
    if not names:
        return ""
    sat = [names[who] for who in weavers if who in names]
    return (
        _("At the loom: {names}").format(names=one_after_another(sat))
        if sat
        else _("At the loom: nobody noted")
    )


def names_of_weavers(book: RugBook) -> dict[str, str]:
    """Return the weavers' names by id."""
    return {weaver.id: weaver.name for weaver in book.weavers}


# --- what is remembered


def _same_team(places: team.Places, weavers: Sequence[str]) -> bool:
    return {weaver for weaver, _first, _last in places} == set(weavers)


def fits(places: team.Places, weavers: Sequence[str], knots_across: int) -> bool:
    """Tell whether places are those of exactly these weavers and lie within the width."""
    return _same_team(places, weavers) and team.sound(places, knots_across)


def remembered(book: RugBook, weavers: Sequence[str]) -> tuple[team.Places, team.Ahead]:
    """Return the places these weavers had when they last sat together, and what still stands ahead.

    What stood ahead counts only if it was the last session of all: after any other session it is another height.
    """
    if len(set(weavers)) < 2:
        return (), ()
    woven = book.woven_sessions
    for session in reversed(woven):
        if fits(session.places, weavers, book.plan.knots_across):
            return session.places, session.ahead if session is woven[-1] else ()
    return (), ()


# --- at the loom


def places_at_loom(
    book: RugBook, waiting: tuple[team.Places, team.Ahead] | None
) -> tuple[team.Places, team.Ahead]:
    """Return the places that count at the loom now: those of the waiting session form, else of the latest session.

    `waiting` None: no form waits. Empty places: not known.
    """
    if waiting is not None:
        places, ahead = waiting
    elif book.woven_sessions:
        latest = book.woven_sessions[-1]
        places, ahead = latest.places, latest.ahead
    else:
        return (), ()
    return (places, ahead) if team.sound(places, book.plan.knots_across) else ((), ())


# --- who sits where now

SEATS = "seats"
"""The draft that holds who sits where, as set on the page, by rug."""


def _seats_said(kept: Any, book: RugBook) -> tuple[team.Places, int] | None:
    """Return the places set on the page for this rug, and the count of the last session by then; None when none can be read."""
    try:
        said = read_as(dict[str, Any], kept[book.plan.id])
        places = tuple((str(who), int(first), int(last)) for who, first, last in said["places"])
        born = int(said.get("born", 0))
    except (KeyError, TypeError, ValueError):
        return None
    known = {weaver.id for weaver in book.weavers}
    return (places, born) if all(who in known for who, _first, _last in places) else None


def seats_kept(kept: Any, book: RugBook) -> team.Places:
    """Return the places set on the page for this rug; () when none are kept, or others are usual since.

    One evening on which somebody else sat there, or in another order, forgets them no more than it does a session's.
    """
    said = _seats_said(kept, book)
    if said is None or not still_sit_so(book, *said):
        return ()
    return said[0]


def seats_for_session(kept: Any, book: RugBook) -> team.Places:
    """Return the places set on the page, for a new session of those who sit in them; () where they sat otherwise since."""
    said = _seats_said(kept, book)
    if said is None:
        return ()
    places, born = said
    who = [weaver for weaver, _first, _last in places]
    since = any(s.born > born and fits(s.places, who, book.plan.knots_across) for s in book.woven_sessions)
    return () if since else places


def with_seats(kept: Any, book: RugBook, places: team.Places) -> dict[str, Any]:
    """Return the draft with the places set now; () forgets them."""
    held = dict(kept) if isinstance(kept, dict) else {}
    held.pop(book.plan.id, None)
    if places:
        born = max((session.born for session in book.sessions), default=0)
        held[book.plan.id] = {"places": [list(place) for place in places], "born": born}
    return held
