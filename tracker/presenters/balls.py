"""The balls of each weaver: what her section of the width needs from now on, as balls to wind."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from tracker.domain import defaults, team
from tracker.domain.rug import PreparationKind, RugBook, Weaver, Yarn
from tracker.domain.sections import NOBODY, Section
from tracker.files.typed import read_as
from tracker.forecast.answers import Answers
from tracker.forecast.sections import ColourNeed, Layout, lay_out, rows_in_days, section_needs
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.places import Seating, knots_words, names_of_weavers, seating, span_words
from tracker.presenters.preparation import count_words
from tracker.words import _, mass, n_, number

SEATS = "seats"
"""The draft that holds who sits where, as set on the page, by rug."""
_GRAIN = 1e-9


@dataclass(frozen=True, slots=True)
class ColourPart:
    """One colour of a section in the picture of the width, as long as its knots are many."""

    code: str
    swatch: str
    share: float
    """Of the section's width, 0 to 1."""


@dataclass(frozen=True, slots=True)
class SectionPart:
    """One section in the picture of the width."""

    number: str
    share: float
    """Of the rug's width, 0 to 1."""
    colours: tuple[ColourPart, ...]


@dataclass(frozen=True, slots=True)
class SeatLine:
    """What a section needs of one colour."""

    yarn_id: str
    code: str
    name: str
    swatch: str
    words: str
    """ "3 balls, 540 g"."""
    share: float
    """Of all knots that the section ties, 0 to 1."""
    balls: int
    need_g: float


@dataclass(frozen=True, slots=True)
class SeatCard:
    """One section with who sits there."""

    weaver_id: str
    title: str
    note: str
    """Which knots, and what stands ahead."""
    figure: str
    """All balls: "7 balls, 1.2 kg"."""
    lines: tuple[SeatLine, ...]


@dataclass(frozen=True, slots=True)
class SpanChoice:
    """For how many rows the balls are reckoned; None: to the end."""

    words: str
    rows: int | None


@dataclass(frozen=True, slots=True)
class BallsState:
    """What the page shows."""

    headline: str
    figure: str
    notes: tuple[str, ...]
    spans: tuple[SpanChoice, ...]
    picture: tuple[SectionPart, ...]
    picture_words: str
    """The picture for who cannot see it, or see it well."""
    seats: tuple[SeatCard, ...]
    who: str
    """Who sits where, on one line."""


def seats_kept(kept: Any, book: RugBook) -> team.Places:
    """Return the places set on the page for this rug; () when none are kept, or a session said others since."""
    try:
        said = read_as(dict[str, Any], kept[book.plan.id])
        places = tuple((str(who), int(first), int(last)) for who, first, last in said["places"])
    except (KeyError, TypeError, ValueError):
        return ()
    later = [session for session in book.woven_sessions if session.born > int(said.get("born", 0))]
    if any(team.sound(session.places, book.knots_across) for session in later):
        return ()
    known = {weaver.id for weaver in book.weavers}
    return places if all(who in known for who, _first, _last in places) else ()


def with_seats(kept: Any, book: RugBook, places: team.Places) -> dict[str, Any]:
    """Return the draft with the places set now; () forgets them."""
    held = dict(kept) if isinstance(kept, dict) else {}
    held.pop(book.plan.id, None)
    if places:
        born = max((session.born for session in book.sessions), default=0)
        held[book.plan.id] = {"places": [list(place) for place in places], "born": born}
    return held


def full_ball_g(yarn: Yarn) -> float:
    """Return the grams on a full ball of a yarn."""
    return yarn.unit_mass_g if yarn.unit_mass_g > 0 else float(defaults.BALL_G)


def balls_for(mass_g: float, yarn: Yarn) -> int:
    """Return the balls that hold so many grams, the last perhaps not full."""
    return math.ceil(mass_g / full_ball_g(yarn) - _GRAIN) if mass_g > 0 else 0


def balls_words(balls: int, mass_g: float) -> str:
    """Say so many balls and their mass: "3 balls, 540 g"."""
    return f"{count_words(PreparationKind.BALLS, balls)}, {mass(mass_g)}"


def seat_title(index: int, section: Section, names: dict[str, str], sections: int) -> str:
    """Say whose a section is: "1 Left seat"."""
    if section.weaver_id != NOBODY:
        name = names.get(section.weaver_id, _("somebody"))
        return name if sections == 1 else f"{number(index + 1)} {name}"
    if sections == 1:
        return _("The whole width")
    return _("Section {number}").format(number=number(index + 1))


def span_choices(answers: Answers, layout: Layout, rows: int | None) -> tuple[SpanChoice, ...]:
    """Return for how many rows can be asked: to the end, about a week, or what was asked last."""
    choices = [SpanChoice(_("To the end"), None)]
    week = rows_in_days(answers)
    if week is not None and week < layout.rows_left:
        choices.append(SpanChoice(_("About a week: {rows}").format(rows=rows_words(week)), week))
    if rows is not None and rows != week:
        choices.append(SpanChoice(rows_words(rows), rows))
    return tuple(choices)


def rows_words(rows: int) -> str:
    """Say how many rows."""
    return n_("{count} row", "{count} rows", rows).format(count=number(rows))


def build_balls_state(
    book: RugBook, answers: Answers, set_here: team.Places = (), rows: int | None = None
) -> BallsState:
    """Turn the book into what the page shows.

    Parameters
    ----------
    book, answers
        The rug, and the forecast's answers of it.
    set_here
        The places set on the page; () takes those of the last session that said them.
    rows
        For so many rows from now on; None: to the end.
    """
    seats = seating(book, set_here)
    layout = lay_out(book, answers, seats.sections, seats.ahead)
    names, pile = names_of_weavers(book), {yarn.id: yarn for yarn in layout.to_weave.pile}
    needs = section_needs(layout, math.inf if rows is None else rows)
    cards, picture = [], []
    for index, need in enumerate(needs):
        title = seat_title(index, need.section, names, len(needs))
        wanted = [colour for colour in need.colours if colour.need_g > 0]
        cards.append(_card(title, need.section, wanted, pile))
        knots = sum(colour.knots for colour in need.colours)
        picture.append(
            SectionPart(
                number=number(index + 1) if len(needs) > 1 else "",
                share=need.section.knots / layout.to_weave.across,
                colours=tuple(
                    ColourPart(
                        yarn_code(pile[colour.yarn_id]), pile[colour.yarn_id].swatch, colour.knots / knots
                    )
                    for colour in need.colours
                    if colour.knots > 0
                ),
            )
        )
    balls = sum(line.balls for card in cards for line in card.lines)
    grams = sum(line.need_g for card in cards for line in card.lines)
    if not balls:
        headline = _("No more balls are needed.") if pile else _("Add the colours of the pile first.")
    elif rows is None:
        headline = _("To the last row")
    else:
        headline = n_("For the next {rows} row", "For the next {rows} rows", rows).format(rows=number(rows))
    return BallsState(
        headline=headline,
        figure=balls_words(balls, grams) if balls else "",
        notes=_notes(book, seats, layout),
        spans=span_choices(answers, layout, rows) if balls else (),
        picture=tuple(picture) if balls else (),
        picture_words=_("The rows still to come: each colour is as long as its knots are many."),
        seats=tuple(card for card in cards if card.lines),
        who=who_words(seats, names),
    )


def _card(title: str, section: Section, wanted: list[ColourNeed], pile: dict[str, Yarn]) -> SeatCard:
    knots = sum(colour.knots for colour in wanted)
    lines = []
    for colour in wanted:
        yarn = pile[colour.yarn_id]
        balls = balls_for(colour.need_g, yarn)
        lines.append(
            SeatLine(
                yarn_id=yarn.id,
                code=yarn_code(yarn),
                name=yarn.name,
                swatch=yarn.swatch,
                words=balls_words(balls, colour.need_g),
                share=colour.knots / knots,
                balls=balls,
                need_g=colour.need_g,
            )
        )
    ahead_g = sum(colour.ahead_g for colour in wanted)
    note = f"{knots_words(section.knots)}, {span_words(section.first, section.last)}"
    if ahead_g > 0:
        note += "\n" + _("Stands ahead: {mass} of it is knotted already.").format(mass=mass(ahead_g))
    return SeatCard(
        weaver_id=section.weaver_id,
        title=title,
        note=note,
        figure=balls_words(sum(line.balls for line in lines), sum(line.need_g for line in lines)),
        lines=tuple(lines),
    )


def _notes(book: RugBook, seats: Seating, layout: Layout) -> tuple[str, ...]:
    """Say what the division rests on."""
    notes = []
    if seats.assumed:
        notes.append(_("Nobody said who sits where: the width is shared evenly."))
    if not layout.to_weave.counted and len(seats.sections) > 1:
        notes.append(_("Without a cartoon each section takes its part of every colour by its width."))
    if not book.yarns:
        notes = []
    return tuple(notes)


def who_words(seats: Seating, names: dict[str, str]) -> str:
    """Say who sits where on one line; "not said" where nobody is known."""
    known = [names.get(who, _("somebody")) for who, _first, _last in seats.places]
    return ", ".join(known) if known else _("not said")


def team_to_seat(book: RugBook, set_here: team.Places) -> tuple[Weaver, ...]:
    """Return all who can be seated: those who sit now in their order, then the others."""
    sitting = [who for who, _first, _last in seating(book, set_here).places]
    order = {who: place for place, who in enumerate(sitting)}
    return tuple(sorted(book.weavers, key=lambda weaver: order.get(weaver.id, len(order))))
