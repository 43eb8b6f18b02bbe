"""The balls of each weaver: what her section of the width needs from now on, as balls to wind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tracker.domain import team
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.rug import PreparationKind, Role, RugBook, Weaver, Yarn, new_id
from tracker.domain.rules import BALLS, MASS_G
from tracker.domain.seats import NOBODY, Seating, Section, seating
from tracker.domain.winding import balls_in_lots, full_ball_g
from tracker.forecast.answers import Answers, YarnWord
from tracker.forecast.hand_outs import Held, held_now
from tracker.forecast.reckon import rows_wanted
from tracker.forecast.sections import ColourNeed, Layout, day_of_row, lay_out, section_needs
from tracker.presenters import entry_forms
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.entries.form import EntryForm, FormKind
from tracker.presenters.entry_text import ball_count_words, handed_words, names_of
from tracker.presenters.places import knots_words, names_of_weavers, span_words
from tracker.presenters.preparation import count_words
from tracker.presenters.rates import rows_a_week
from tracker.presenters.whose import whose_choices
from tracker.presenters.yarn_answers import assumed_units_words
from tracker.words import (
    _,
    day_short,
    mass,
    n_,
    number,
    one_after_another,
    shown_small_g,
    small_mass,
)

_LEAST_G = 0.5
"""Less than this, beside what a weaver has in hand, is not worth another ball."""


_LEAST_GIVEN_G = 1.0
"""A ball is never noted as lighter."""


_LEAST_TOLD_G = 0.1
"""Less is told as less than this."""


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
    """What is to be given: "3 balls, 540 g"; or that she has enough."""
    note: str
    """What she needs and has, and when she needs the next ball."""
    share: float
    """Of what she needs of it, what she has in hand or knotted ahead, 0 to 1."""
    balls: int
    """To be wound and given."""
    need_g: float
    give_g: float
    """Of the need, what she has neither in hand nor knotted already."""
    told_g: float
    """The same as it is told beside what she needs and has."""
    on_balls_g: float
    """On the balls that are given: to the last row what is named beside them, for some rows full ones."""
    key: str
    """What the key says; "" where there is nothing to give."""


@dataclass(frozen=True, slots=True)
class SeatCard:
    """One section with who sits there."""

    weaver_id: str
    title: str
    note: str
    """Which knots, and what stands ahead."""
    figure: str
    """All balls: "To give: 7 balls, 1.2 kg"."""
    lines: tuple[SeatLine, ...]
    key: str = ""
    """What the key says that gives all of them; "" where there is nothing to give."""
    told_g: float = 0.0
    """All that is to be given, as the card tells it: its lines as they are told, added up."""

    @property
    def known(self) -> bool:
        """Whether it is said whose balls these are."""
        return self.weaver_id != NOBODY


@dataclass(frozen=True, slots=True)
class HandedLine:
    """Balls that were handed out or taken back."""

    record_id: str
    words: str
    note: str


@dataclass(frozen=True, slots=True)
class UnsaidLine:
    """Balls that ended while several sat at the loom, of which nobody said whose they were."""

    session_id: str
    yarn_id: str
    code: str
    swatch: str
    words: str
    note: str
    choices: tuple[tuple[str, str], ...]
    """(name, weaver id) of those who had been given of the yarn."""


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
    short: tuple[str, ...]
    """Colours of which less is on hand than these sections need."""
    spans: tuple[SpanChoice, ...]
    picture: tuple[SectionPart, ...]
    picture_words: str
    """The picture for who cannot see it, or see it well."""
    seats: tuple[SeatCard, ...]
    how: str
    """How balls are noted that are not full ones; "" where none are to be given."""
    who: str
    """Who sits where, on one line."""
    unsaid: tuple[UnsaidLine, ...]
    """Balls of which can be said whose they were."""
    alone: bool
    """One section is the whole width: balls need nobody's name."""
    handed: tuple[HandedLine, ...]
    """Newest first."""


def balls_words(balls: int, mass_g: float) -> str:
    """Say so many balls and their mass: "3 balls, 540 g"; a few knots take one, too, and are never told as nothing."""
    return f"{count_words(PreparationKind.BALLS, balls)}, {_needed(mass_g)}"


def _needed(mass_g: float) -> str:
    """Say a mass of which there is some."""
    if 0 < mass_g < _LEAST_TOLD_G:
        return _("less than {mass}").format(mass=small_mass(_LEAST_TOLD_G))
    return small_mass(mass_g)


def seat_title(index: int, section: Section, names: dict[str, str], sections: int) -> str:
    """Say whose a section is: "1 Left seat"."""
    if section.weaver_id != NOBODY:
        name = names.get(section.weaver_id, _("somebody"))
        return name if sections == 1 else f"{number(index + 1)} {name}"
    if sections == 1:
        return _("The whole width")
    return _("Section {number}").format(number=number(index + 1))


def span_choices(book: RugBook, answers: Answers, layout: Layout, rows: int | None) -> tuple[SpanChoice, ...]:
    """Return for how many rows can be asked: to the end, about a week, or what was asked last."""
    choices = [SpanChoice(_("To the end"), None)]
    week = rows_a_week(book, answers)
    if week is not None and week < layout.rows_left:
        choices.append(SpanChoice(_("About a week: {rows}").format(rows=rows_words(week)), week))
    if rows is not None and rows != week:
        choices.append(SpanChoice(rows_words(rows), rows))
    return tuple(choices)


def rows_to_go(book: RugBook) -> int:
    """Return for how many rows balls can be reckoned at most; one at least, for who asks after the last row."""
    return max(1, rows_wanted(book) - book.rows_woven)


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
    held = {(held.weaver_id, held.yarn_id): held for held in held_now(book, layout)}
    cards, picture = [], []
    for index, need in enumerate(needs):
        title = seat_title(index, need.section, names, len(needs))
        who = need.section.weaver_id
        knots = sum(colour.knots for colour in need.colours)
        lines = [
            _line(
                answers,
                pile[colour.yarn_id],
                colour,
                held.pop((who, colour.yarn_id), None),
                to_end=rows is None,
            )
            for colour in need.colours
            if colour.need_g > 0 or (who, colour.yarn_id) in held
        ]
        cards.append(_card(title, need.section, need.colours, lines))
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
    everything = [line for card in cards for line in card.lines]
    balls = sum(line.balls for line in everything)
    told = [card.told_g for card in cards]
    given_g = sum(told_g for told_g in told if told_g >= _LEAST_TOLD_G) or sum(told)
    grams, needed_g = sum(line.give_g for line in everything), sum(line.need_g for line in everything)
    cards += _elsewhere(held, answers, pile, names)
    notes = _notes(book, seats, layout)
    if balls and (assumed := assumed_units_words(pile.values(), Role.PILE)):
        notes = (*notes, assumed)
    if not pile:
        headline = _("Add the colours of the pile first.")
    elif not needed_g:
        headline = _("No more balls are needed.")
    elif not balls:
        headline = _("Everything is handed out.")
    elif rows is None:
        headline = _("To the last row")
    else:
        headline = n_("For the next {rows} row", "For the next {rows} rows", rows).format(rows=number(rows))
    return BallsState(
        headline=headline,
        figure=balls_words(balls, given_g) if balls else "",
        notes=(_in_hand(needed_g, max(shown_small_g(needed_g) - shown_small_g(given_g), 0.0)), *notes)
        if needed_g - grams >= 1
        else notes,
        short=_short(answers, everything, pile),
        spans=span_choices(book, answers, layout, rows) if needed_g else (),
        picture=tuple(picture) if needed_g else (),
        picture_words=_("The rows still to come. The longer a colour, the more knots it has."),
        seats=tuple(card for card in cards if card.lines),
        how=_how_words(to_end=rows is None) if balls else "",
        who=who_words(seats, names),
        unsaid=unsaid_lines(book, answers.day),
        alone=len(needs) == 1,
        handed=tuple(
            HandedLine(entry.id, handed_words(entry, names_of((book,))), day_short(entry.day, answers.day))
            for entry in reversed(book.hand_outs)
        ),
    )


def _how_words(*, to_end: bool) -> str:
    if to_end:
        return _("Tap a colour for another weight or day, or for a ball that comes back.")
    return _(
        "The key gives full balls. Tap a colour for a smaller one, another day, or a ball that comes back."
    )


def _in_hand(needed_g: float, held_g: float) -> str:
    return _("Still needed in all: {needed}, of which {held} is on hand.").format(
        needed=small_mass(needed_g), held=small_mass(held_g)
    )


def _short(answers: Answers, lines: Sequence[SeatLine], pile: dict[str, Yarn]) -> tuple[str, ...]:
    """Say of which colours there is less than the sections need: so many balls cannot be wound yet."""
    said = []
    for answer in answers.yarns:
        needed_g = sum(line.need_g for line in lines if line.yarn_id == answer.yarn_id)
        if answer.word is not YarnWord.NOT_BOUGHT and answer.on_hand_g < needed_g - _LEAST_G:
            said.append(
                _("{yarn}: still needed {needed}, on hand {there}").format(
                    yarn=pile[answer.yarn_id].name, there=mass(answer.on_hand_g), needed=mass(needed_g)
                )
            )
    return tuple(said)


def _elsewhere(
    held: dict[tuple[str, str], Held], answers: Answers, pile: dict[str, Yarn], names: dict[str, str]
) -> list[SeatCard]:
    """Return cards of those who have balls and sit nowhere now."""
    cards = []
    for who in dict.fromkeys(weaver_id for weaver_id, _yarn in held):
        lines = [
            _line(answers, pile[yarn_id], None, one)
            for (weaver_id, yarn_id), one in held.items()
            if weaver_id == who and one.balls > 0
        ]
        if lines:
            name = names.get(who, _("somebody")) if who != NOBODY else _("Balls in nobody's name")
            cards.append(SeatCard(who, name, _("Sits nowhere now."), "", tuple(lines)))
    return cards


def _line(
    answers: Answers, yarn: Yarn, colour: ColourNeed | None, held: Held | None, *, to_end: bool = False
) -> SeatLine:
    """Return the line of one colour; `to_end`: for all rows that are left."""
    need_g = colour.need_g if colour is not None else 0.0
    give_g = need_g - (colour.ahead_g if colour is not None else 0.0) - (held.mass_g if held else 0.0)
    # A few knots of a colour take a ball too, unless she has one from which as good as nothing is missing.
    give_g = give_g if give_g > (_LEAST_G if held is not None else 0.0) else 0.0
    balls = balls_in_lots(colour.lots_g, full_ball_g(yarn), need_g - give_g)[0] if colour and give_g else 0
    told_g = give_g
    if give_g > 0 and held is not None and not (colour and colour.ahead_g):
        # Beside what she needs and has stands what is missing: who takes one from the other gets it.
        told_g = shown_small_g(need_g) - shown_small_g(held.mass_g)
        told_g = told_g if told_g > 0 else give_g
    said = []
    if held is not None:
        if to_end and give_g <= 0:
            held = replace(held, next_row=None)  # a gram less than needed is enough
        said.append(_held_words(answers, held, needed=need_g > 0))
        if give_g > 0:
            said.insert(0, _("needs {mass}").format(mass=_needed(need_g)))
    if not need_g:
        words = _("No more is needed")
    elif not balls:
        words = _("Enough on hand")
    else:
        words = balls_words(balls, told_g)
    return SeatLine(
        yarn_id=yarn.id,
        code=yarn_code(yarn),
        name=yarn.name,
        swatch=yarn.swatch,
        words=words,
        note="\n".join(said),
        share=1.0 - give_g / need_g if need_g > 0 else 1.0,
        balls=balls,
        need_g=need_g,
        give_g=give_g,
        told_g=told_g,
        on_balls_g=give_g if to_end else balls * full_ball_g(yarn),
        key=_("Give") if balls else "",
    )


def _held_words(answers: Answers, held: Held, needed: bool) -> str:
    """Say what somebody has of a yarn and when she needs the next: "has 2 balls, 150 g; next in row 230"."""
    if held.balls <= 0:
        said = _("has none left")
    else:
        said = _("has {balls}, about {mass}").format(
            balls=ball_count_words(held.balls), mass=small_mass(held.mass_g)
        )
        if needed and held.next_row is None:
            said += "\n" + _("lasts to the last row")
        elif needed and held.next_row is not None:
            when = day_of_row(answers, held.next_row)
            row = _("the next in row {row}").format(row=number(held.next_row))
            said += f"\n{row}" + (f", {day_short(when, answers.day)}" if when is not None else "")
    return said


def _card(title: str, section: Section, colours: tuple[ColourNeed, ...], lines: list[SeatLine]) -> SeatCard:
    ahead_g = sum(colour.ahead_g for colour in colours)
    # What is told as less than a tenth adds nothing that a reader could add.
    given_g = sum(shown_small_g(line.told_g) for line in lines if line.told_g >= _LEAST_TOLD_G)
    given_g = given_g or sum(line.told_g for line in lines)
    note = f"{knots_words(section.knots)}, {span_words(section.first, section.last)}"
    if ahead_g > 0:
        note += "\n" + _("Ahead: {mass} of it is already knotted.").format(mass=mass(ahead_g))
    balls = sum(line.balls for line in lines)
    return SeatCard(
        weaver_id=section.weaver_id,
        title=title,
        note=note,
        figure=_("To give: {what}").format(what=balls_words(balls, given_g))
        if balls
        else _("Enough on hand"),
        lines=tuple(lines),
        key=_("Give all") if balls and len(lines) > 1 else "",
        told_g=shown_small_g(given_g) if given_g >= _LEAST_TOLD_G else given_g,
    )


def _notes(book: RugBook, seats: Seating, layout: Layout) -> tuple[str, ...]:
    """Say what the division rests on."""
    notes = []
    if seats.assumed:
        notes.append(
            _("Nobody said in which order they sit: the width is shared evenly.")
            if seats.places
            else _("Nobody said who sits where: the width is shared evenly.")
        )
    if not layout.to_weave.counted and len(seats.sections) > 1:
        notes.append(_("Without a cartoon each section takes its part of every colour by its width."))
    if not book.yarns:
        notes = []
    return tuple(notes)


def unsaid_lines(book: RugBook, today: date) -> tuple[UnsaidLine, ...]:
    """Return the balls of which nobody said whose they were, newest first."""
    lines = []
    for session in reversed(book.sessions):
        for yarn_id, balls in session.used:
            yarn = next((yarn for yarn in book.yarns if yarn.id == yarn_id and yarn.role is Role.PILE), None)
            if yarn is None:
                continue
            choices = whose_choices(book, session, yarn_id)
            if not choices:
                continue
            lines.append(
                UnsaidLine(
                    session_id=session.id,
                    yarn_id=yarn_id,
                    code=yarn_code(yarn),
                    swatch=yarn.swatch,
                    words=_("{balls} of {yarn} used up, nobody said whose").format(
                        balls=ball_count_words(balls), yarn=yarn.name
                    ),
                    note=_("{day}. Tap to say whose.").format(day=day_short(session.day, today)),
                    choices=choices,
                )
            )
    return tuple(lines)


def who_words(seats: Seating, names: dict[str, str]) -> str:
    """Say who sits where on one line; "not said" where nobody is known."""
    known = [names.get(who, _("somebody")) for who, _first, _last in seats.places]
    if not known:
        return _("not said")
    said = one_after_another(known)
    return _("{names}, assumed").format(names=said) if seats.assumed else said


def team_to_seat(book: RugBook, set_here: team.Places) -> tuple[Weaver, ...]:
    """Return all who can be seated: those who sit now in their order, then the others."""
    sitting = [who for who, _first, _last in seating(book, set_here).places]
    order = {who: place for place, who in enumerate(sitting)}
    return tuple(sorted(book.weavers, key=lambda weaver: order.get(weaver.id, len(order))))


# --- handing out


def given_now(
    book: RugBook, answers: Answers, card: SeatCard, lines: Sequence[SeatLine], today: date
) -> tuple[HandOut, ...]:
    """Return the records of the balls of these lines handed out today, each from the dye lot that is open."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    return tuple(
        HandOut(
            id=new_id(),
            rug_id=book.plan.id,
            yarn_id=line.yarn_id,
            weaver_id=card.weaver_id or None,
            day=today,
            balls=min(float(line.balls), BALLS.most),
            mass_g=_given_g(book, answers, line, yarns[line.yarn_id]),
            lot_id=_open_lot(answers, line.yarn_id),
        )
        for line in lines
        if line.balls
    )


def _given_g(book: RugBook, answers: Answers, line: SeatLine, yarn: Yarn) -> float:
    """Return the grams on the balls of a line, never more than is there and nobody has yet.

    Of yarn of which nothing is there by the book, what is needed of it.
    """
    seats = seating(book)
    held = held_now(book, lay_out(book, answers, seats.sections, seats.ahead))
    on_hand_g = sum(answer.on_hand_g for answer in answers.yarns if answer.yarn_id == yarn.id)
    free_g = on_hand_g - sum(one.mass_g for one in held if one.yarn_id == yarn.id)
    most_g = free_g if free_g >= _LEAST_GIVEN_G else max(line.give_g, _LEAST_GIVEN_G)
    return min(round(max(min(line.on_balls_g, most_g), _LEAST_GIVEN_G), 1), MASS_G.most)


def given_words(book: RugBook, given: Sequence[HandOut]) -> str:
    """Say what was handed out; of several colours the balls in all."""
    if len(given) == 1:
        return handed_words(given[0], names_of((book,)))
    balls = ball_count_words(sum(entry.balls for entry in given))
    colours = n_("{count} colour", "{count} colours", len(given)).format(count=number(len(given)))
    return _("{balls} in {colours}").format(balls=balls, colours=colours)


def _open_lot(answers: Answers, yarn_id: str) -> str | None:
    answer = next((answer for answer in answers.yarns if answer.yarn_id == yarn_id), None)
    return None if answer is None or answer.lots is None else answer.lots.opened.lot_id


def hand_out_form(book: RugBook, answers: Answers, card: SeatCard, line: SeatLine, today: date) -> EntryForm:
    """Return the form of balls handed out, with what is proposed filled in; where nothing is, to take some back."""
    form = entry_forms.blank(FormKind.HAND_OUT, book, today, line.yarn_id)
    kind = HandOutKind.GIVEN if line.balls else HandOutKind.RETURNED
    answered: dict[str, Any] = {
        "weaver_id": card.weaver_id or None,
        "kind": kind.value,
        "balls": line.balls or 1,
        "lot_id": _open_lot(answers, line.yarn_id),
    }
    yarn = next(yarn for yarn in book.yarns if yarn.id == line.yarn_id)
    given_g = _given_g(book, answers, line, yarn) if line.balls else 0.0
    if 0 < given_g < line.balls * full_ball_g(yarn):
        answered["mass_g"] = given_g
    return replace(form, answers={**form.answers, **answered})
