"""What is asked before an entry is saved that can hardly be meant: one sentence, and one tap says that it is right."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import MovedLot
from tracker.domain.mark import CartoonMark
from tracker.domain.never_woven import NeverWoven, never_woven, with_sessions
from tracker.domain.rug import Lot, RugBook, Session
from tracker.domain.trimming import Trim
from tracker.domain.unlikely import Against, Unlikely, unlikely
from tracker.words import (
    _,
    day,
    day_short,
    hours,
    length,
    mass,
    money,
    n_,
    number,
    one_after_another,
    work_words,
)

MOST_NAMED = 4
"""Entries about rows that were never woven that are named one by one; of more the rest is counted (our own choice)."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is told before the question whether it is right, and the words of the keys that save the entry all the same or lead back to it."""

    question: str
    save: str
    change: str
    about: tuple[Unlikely, ...] = ()
    """The values that are asked about, so that changing leads to the first of them."""


def doubt_of(
    value: Any, book: RugBook | None, today: date, held: Any = None, unit: str = "cm"
) -> Doubt | None:
    """Return what is asked before an entry is saved; None where nothing is.

    Parameters
    ----------
    value
        The entry as it would be saved.
    book
        The rug it belongs to; None: an entry of the whole book, of which nothing is asked.
    today
        The day that the phone says.
    held
        The entry that is corrected; what stands in it already is not asked about once more.
    unit
        The weaver's unit of lengths.
    """
    found = () if book is None else unlikely(value, book, today, held)
    return _asked([(one, value) for one in found], today, unit)


def doubt_of_any(values: Iterable[Any], book: RugBook | None, today: date) -> Doubt | None:
    """Return what is asked before several new entries are saved as one; the same sentence is said once."""
    found = () if book is None else [(one, value) for value in values for one in unlikely(value, book, today)]
    return _asked(found, today, "cm")


def _bought_by(book: RugBook, lot: Lot) -> RugBook:
    """Return the book with the purchases up to this one: it is held against those before it."""
    return replace(book, lots=tuple(one for one in book.lots if (one.day, one.born) <= (lot.day, lot.born)))


def doubt_of_rows(
    book: RugBook,
    today: date,
    sessions: Iterable[Session] = (),
    withdrawn: Collection[str] = (),
    settled: Collection[str] = (),
    save: str = "",
    change: str = "",
) -> Doubt | None:
    """Return what is asked before sessions change where later entries then tell of rows that were never woven; None where none does.

    Parameters
    ----------
    book
        The rug as the book has it.
    today
        The day that the phone says.
    sessions
        Those that are entered, corrected or brought back, as they then are.
    withdrawn
        Ids of those that are taken out.
    settled
        Ids of entries that the same act puts right: a change of dye lot that is to be done again.
    save, change
        What the keys say; "" for those of an entry that is saved.
    """
    missing = [
        one
        for one in never_woven(book, with_sessions(book, sessions, withdrawn))
        if one.entry.id not in settled
    ]
    if not missing:
        return None
    names = {yarn.id: yarn.name for yarn in book.yarns}
    told = [
        _("{entry} ({day})").format(entry=_row_told(one, names), day=day_short(one.day, today))
        for one in missing[:MOST_NAMED]
    ]
    if more := len(missing) - len(told):
        told.append(n_("{count} more", "{count} more", more).format(count=number(more)))
    return Doubt(
        _("Later entries tell of rows that were then never woven: {entries}.").format(
            entries=one_after_another(told)
        ),
        save or _("Yes, save it"),
        change or _("No, change it"),
    )


def _row_told(one: NeverWoven, names: Mapping[str, str]) -> str:
    """Say which rows an entry tells of, and what of them."""
    rows = number(one.last_row)
    match one.entry:
        case Session() if one.first_row < one.last_row:
            return _("rows {first} to {last} unpicked").format(first=number(one.first_row), last=rows)
        case Session():
            return _("row {row} unpicked").format(row=rows)
        case Trim():
            return _("pile trimmed up to row {row}").format(row=rows)
        case CartoonMark():
            return _("mistake in row {row}").format(row=rows)
        case LotChange(yarn_id=yarn_id):
            return _("{yarn} of another dye lot from row {row} on").format(
                yarn=names.get(yarn_id, ""), row=rows
            )
        case _measured:
            return _("cloth measured at row {row}").format(row=rows)


def price_questions(book: RugBook) -> tuple[str, ...]:
    """Return what is asked about prices that stand in the book already, each with its yarn's name."""
    names = {yarn.id: yarn.name for yarn in book.yarns}
    return tuple(
        _("{name}, {mass} bought {day}: {told}").format(
            name=names[lot.yarn_id],
            mass=mass(lot.mass_g),
            day=day(lot.day),
            told=_question(one, lot, lot.day, "cm"),
        )
        for lot in book.lots
        # What was moved here is asked about where it was bought: there it can be corrected.
        if lot.yarn_id in names and not isinstance(lot, MovedLot)
        for one in unlikely(lot, _bought_by(book, lot), lot.day)
        if one.against in (Against.PRICE, Against.PRICE_OF_OTHERS)
    )


def never_bought(values: Iterable[Any], book: RugBook, today: date) -> tuple[str, ...]:
    """Return the ids of the yarns of which balls or shuttles are told though the book has none."""
    return tuple(
        value.yarn_id
        for value in values
        if any(one.against is Against.NEVER_BOUGHT for one in unlikely(value, book, today))
    )


def doubt_of_balls(values: Sequence[Any], book: RugBook, today: date, save: str) -> Doubt | None:
    """Return what is asked before balls are handed out or noted; of yarn that was never bought the purchase can be noted first.

    `save` are the words of the key that goes on without.
    """
    doubt = doubt_of_any(values, book, today)
    if doubt is None or not never_bought(values, book, today):
        return doubt
    return replace(doubt, save=save, change=_("Note the purchase first"))


def _asked(found: Sequence[tuple[Unlikely, Any]], today: date, unit: str) -> Doubt | None:
    """Return the question of all that can hardly be meant, each with the entry it is of; None where it is nothing."""
    if not found:
        return None
    unbought = [one.value for one, _value in found if one.against is Against.NEVER_BOUGHT]
    named = Unlikely(Against.NEVER_BOUGHT, one_after_another(list(dict.fromkeys(unbought))), None)
    sentences = [
        _question(named if one.against is Against.NEVER_BOUGHT else one, value, today, unit)
        for one, value in found
    ]
    about = tuple(one for one, _value in found)
    return Doubt(" ".join(dict.fromkeys(sentences)), _("Yes, save it"), _("No, change it"), about)


_ANSWERS: Mapping[Against, tuple[str, ...]] = {
    **dict.fromkeys(
        (Against.NEED, Against.NOT_NEEDED, Against.BOUGHT, Against.LEFT, Against.KNOT), ("mass_g",)
    ),
    **dict.fromkeys((Against.PRICE, Against.PRICE_OF_OTHERS), ("price", "price_per_kg")),
    **dict.fromkeys(
        (Against.WAGE, Against.AGREED, Against.RUG_PRICE, Against.WAGES_OF_RUG), ("amount", "price")
    ),
    **dict.fromkeys((Against.PRICE_BEFORE, Against.PRICE_PAID, Against.PRICE_OF_COST), ("price",)),
    **dict.fromkeys((Against.HOURS, Against.HOURS_BY_PLAN, Against.LONG_DAY), ("hours",)),
    **dict.fromkeys((Against.BEFORE_FIRST, Against.BEFORE_LAST), ("day",)),
    Against.BALLS: ("balls", "count"),
    Against.LENGTH: ("length_cm", "left_cm", "right_cm"),
    Against.WIDTH: ("width_cm",),
    Against.DIAGONAL: ("rising_cm", "falling_cm"),
}
"""Which answers of a form each thing is asked about for; a purchase that is missing is no answer of the form."""


def answer_doubted(doubt: Doubt | None, answers: Mapping[str, Any]) -> str:
    """Return which of a form's answers, by name, a doubt is about first; "" where it is none of them."""
    if doubt is None or not doubt.about:
        return ""
    first = doubt.about[0]
    named = [name for name in _ANSWERS.get(first.against, ()) if name in answers]
    return next((name for name in named if answers[name] == first.value), named[0] if named else "")


def rows_and_knots(rows: int, knots: int) -> str:
    """Say whole rows and what is tied of the next one, wherever a session's work is named; "" for nothing."""
    said = []
    if rows:
        said.append(n_("{count} row", "{count} rows", rows).format(count=number(rows)))
    if knots:
        said.append(n_("{count} knot", "{count} knots", knots).format(count=number(knots)))
    return _("{rows} and {knots}").format(rows=said[0], knots=said[1]) if len(said) > 1 else "".join(said)


def _times(value: float, usual: float) -> str:
    """Say how many times the usual a value is, as a whole number from a few times on."""
    ratio = value / usual
    return number(ratio) if ratio >= 3 else number(ratio, 2)


def _question(one: Unlikely, value: Any, today: date, unit: str) -> str:
    said, usual = one.value, one.usual
    match one.against:
        case Against.NEED:
            return _("{mass} is {times} times what the whole rug needs ({usual}).").format(
                mass=mass(said), times=_times(said, usual), usual=mass(usual)
            )
        case Against.NOT_NEEDED:
            return _("{mass}, and the rug needs none of this yarn.").format(mass=mass(said))
        case Against.NEVER_BOUGHT:
            return _("No purchase is noted of {yarns}.").format(yarns=said)
        case Against.BOUGHT:
            return _("{mass} is {times} times all that there was ({usual}).").format(
                mass=mass(said), times=_times(said, usual), usual=mass(usual)
            )
        case Against.LEFT:
            return _("{mass} left: about {usual} was expected.").format(mass=_fine(said), usual=mass(usual))
        case Against.KNOT:
            return n_(
                "{knots} knot and {mass}: about {usual} was expected.",
                "{knots} knots and {mass}: about {usual} was expected.",
                value.knots,
            ).format(knots=number(value.knots), mass=_fine(said), usual=_fine(usual))
        case Against.PRICE:
            return _("That is {price} a kilogram; {usual} was paid or planned before.").format(
                price=money(said), usual=money(usual)
            )
        case Against.PRICE_OF_OTHERS:
            return _("That is {price} a kilogram; the other yarns cost about {usual}.").format(
                price=money(said), usual=money(usual)
            )
        case Against.WAGE:
            return _("A wage of {wage}; the one before comes to {usual}.").format(
                wage=money(said), usual=money(usual)
            )
        case Against.AGREED:
            return _(
                "With this {paid} is paid in all: {times} times the price that was agreed ({usual})."
            ).format(paid=money(said), times=_times(said, usual), usual=money(usual))
        case Against.RUG_PRICE:
            return _(
                "{amount} in all is {times} times the price that was agreed for the rug ({usual})."
            ).format(amount=money(said), times=_times(said, usual), usual=money(usual))
        case Against.WAGES_OF_RUG:
            return _("That comes to {wages} for the whole rug; the wage before comes to {usual}.").format(
                wages=money(said), usual=money(usual)
            )
        case Against.PRICE_BEFORE:
            return _("A price of {price}; {usual} was agreed before.").format(
                price=money(said), usual=money(usual)
            )
        case Against.PRICE_PAID:
            return _("A price of {price}, and {paid} is paid already.").format(
                price=money(said), paid=money(usual)
            )
        case Against.PRICE_OF_COST:
            return _("A price of {price}; yarn and wages of the rug come to about {usual}.").format(
                price=money(said), usual=money(usual)
            )
        case Against.DIAGONAL:
            return _("A diagonal of {length}: to that length and width belongs {usual}.").format(
                length=length(said, unit), usual=length(usual, unit)
            )
        case Against.LENGTH:
            return _("{length} at row {row}: by the plan it is {usual}.").format(
                length=length(said, unit), row=number(value.row), usual=length(usual, unit)
            )
        case Against.WIDTH:
            return _("{length} from edge to edge: by the plan it is {usual}.").format(
                length=length(said, unit), usual=length(usual, unit)
            )
        case Against.UNWASHED_WIDTH:
            return _("{length} wide off the loom: planned are {usual}.").format(
                length=length(said, unit), usual=length(usual, unit)
            )
        case Against.UNWASHED_LENGTH:
            return _("{length} long off the loom: planned are {usual}.").format(
                length=length(said, unit), usual=length(usual, unit)
            )
        case Against.FINISHED_WIDTH:
            return _("A finished width of {length}: planned are {usual}.").format(
                length=length(said, unit), usual=length(usual, unit)
            )
        case Against.FINISHED_LENGTH:
            return _("A finished length of {length}: planned are {usual}.").format(
                length=length(said, unit), usual=length(usual, unit)
            )
        case Against.WASHING:
            return _("{mass} after washing, {usual} before it.").format(mass=mass(said), usual=mass(usual))
        case Against.BALLS:
            return _("{count} of one yarn: the whole rug takes about {usual} full ones.").format(
                count=number(said, 2), usual=number(max(usual, 0.1), 1)
            )
        case Against.LONG_DAY:
            return _("{hours} hours at the loom in one day.").format(hours=number(said, 2))
        case Against.HOURS | Against.HOURS_BY_PLAN:
            usually = (
                _("{hours} for {work}: about {usual} is usual.")
                if one.against is Against.HOURS
                else _("{hours} for {work}: by the plan it is about {usual}.")
            )
            work = rows_and_knots(value.rows, value.begun_knots or 0)
            return usually.format(hours=hours(said), work=work, usual=work_words(usual))
        case Against.BEFORE_FIRST:
            return _("{day} lies before the rug's first day, {first}.").format(
                day=day(said), first=day(usual)
            )
        case Against.BEFORE_LAST:
            return _("Your phone says that today is {today}, but the last session was on {last}.").format(
                today=day(said), last=day(usual)
            )


def _fine(mass_g: float) -> str:
    """Say a mass of which parts of a gram count."""
    return mass(mass_g) if mass_g >= 100 else _("{number} g").format(number=number(mass_g, 2))
