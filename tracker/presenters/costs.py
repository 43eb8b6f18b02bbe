"""The page of what a rug costs: so far and at the end, who earned what, and the price by cost and margin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np

from tracker.domain.costs import (
    NOBODY,
    Ahead,
    Earned,
    RugCost,
    Spread,
    YarnMass,
    order_of,
    price_per_g,
    priced_by_others_g,
    pricing_of,
    rounded,
    rug_cost,
    wage_of,
)
from tracker.domain.material_plan import spread
from tracker.domain.need import account_of, is_in_rug, taken_by_plan_g
from tracker.domain.order import OrderItem
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import CostKind, PriceShown, RugBook
from tracker.domain.seats import placed
from tracker.domain.shopping import gathered_g, is_noted, lots_of
from tracker.forecast.answers import Answers
from tracker.forecast.calendar import off_ordinals
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.answer_words import first_day_ahead
from tracker.presenters.doubts import price_questions
from tracker.presenters.entry_text import cost_kind_words, margin_words, names_of, wage_words
from tracker.words import (
    _,
    currency_decimals,
    currency_name,
    day,
    foretold_amount,
    foretold_money,
    foretold_step,
    mass,
    money,
    n_,
    number,
    one_after_another,
)

CURRENCIES = (
    "AED", "AFN", "ALL", "AMD", "AUD", "AZN", "BDT", "BGN", "BRL", "CAD", "CHF", "CNY", "DKK", "DZD", "EGP", "EUR", "GBP",
    "GEL", "INR", "IQD", "IRR", "JOD", "JPY", "KGS", "KWD", "KZT", "LBP", "MAD", "MNT", "MXN", "NOK", "NPR", "NZD", "PEN",
    "PKR", "PLN", "RON", "RSD", "SEK", "SYP", "TJS", "TMT", "TND", "TRY", "USD", "UZS", "ZAR",
)  # fmt: skip
"""Currencies that are offered."""


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the reckoning, in two columns of amounts. `at_end` is "" where nothing can be said of any line."""

    label: str
    so_far: str
    at_end: str
    tone: str = ""
    """In which it stands in the bar."""
    moves: bool = False
    """Whether more will come to it."""


@dataclass(frozen=True, slots=True)
class BarPart:
    """One part of the bar of all costs."""

    tone: str
    share: float
    """Of the cost at the end."""
    spent: bool
    """False: it is still to come."""


YARN_TONE, WAGES_TONE = "indigo", "weld"
SPENT_TONES = {CostKind.PREPARATION: "green", CostKind.FINISHING: "madder_ground", CostKind.OTHER: "edge"}
"""In what tone of the theme each line of the reckoning stands in the bar; there they follow one another as in the table."""


@dataclass(frozen=True, slots=True)
class Earning:
    """What one weaver did and earned."""

    name: str
    amount: str
    done: str
    wage: str


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One wage or one spending that was entered."""

    record_id: str
    words: str
    note: str
    amount: str = ""


@dataclass(frozen=True, slots=True)
class CostsState:
    """What the page shows."""

    so_far: str
    at_end: str
    """Says why where nothing can be said."""
    at_end_range: str
    """"" where there is none."""
    price: str
    """What the customer pays; "" without a margin."""
    price_note: str
    agreed: str
    """The agreed price and what would be left of it; "" unless the weaver chose that the order's price is told."""
    bar: tuple[BarPart, ...]
    """What was spent and what is still to come, by kind; empty where nothing can be said of the end."""
    lines: tuple[CostLine, ...]
    earnings: tuple[Earning, ...]
    shared: str
    """How knots are shared out of which nobody said who sat where; "" where it was always said."""
    wages: tuple[EntryLine, ...]
    spending: tuple[EntryLine, ...]
    warnings: tuple[str, ...]
    currency: str
    """Name of the currency, or that none is named."""
    rules: str


def currency_choices() -> list[tuple[str, str]]:
    """Return (words, code) of the currencies offered, by name; the first names none."""
    named = sorted((f"{currency_name(code)} ({code})", code) for code in CURRENCIES)
    return [(_("not named"), ""), *named]


def currency_words(code: str) -> str:
    """Say in which currency prices are, once it was chosen."""
    if not code:
        return _("Prices name no currency.")
    return _("Prices are in {currency}.").format(currency=f"{currency_name(code)} ({code})")


def masses_of(book: RugBook, answers: Answers) -> dict[str, YarnMass]:
    """Return what each yarn weighs in the rug: what was bought and is not on hand is used.

    The warp and the edges are used once: what was bought of them is used up, what the plan still needs comes to it.
    Of what nobody noted as bought the plan says how much is in the rug.
    """
    by_yarn = {answer.yarn_id: answer for answer in answers.yarns}
    masses: dict[str, YarnMass] = {}
    for need in account_of(book, rows_to_weave(book, rows_wanted(book))).needs:
        yarn, answer = need.yarn, by_yarn.get(need.yarn.id)
        bought_g = sum(lot.mass_g for lot in lots_of(book, yarn))
        noted = is_noted(book, yarn)
        taken_g = 0.0 if noted else taken_by_plan_g(book, yarn, need.need_g)
        if answer is not None:
            used_g = max(answer.bought_g - answer.on_hand_g, 0.0) if noted else taken_g
            masses[yarn.id] = YarnMass(used_g, answer.needed_g, answer.needed_low_g, answer.needed_high_g)
        elif not yarn.role.row_by_row:
            # What is bought for good is in the rug: nothing is missing of a warp that hangs on the loom.
            there_g = math.inf if is_in_rug(book, yarn) else gathered_g(book, yarn)
            missing = (max(g - there_g, 0.0) for g in (need.need_g, *spread(need.need_g, need.relative_sd)))
            masses[yarn.id] = YarnMass(bought_g if noted else taken_g, *missing)
    return masses


def ahead_of(book: RugBook, answers: Answers) -> Ahead:
    """Return the work that is left, as the answers have it."""
    done = max(book.rows_woven, 0) + Fraction(answers.where.knots_begun, book.knots_across)
    rows = Fraction(0) if answers.finished else max(answers.where.rows - done, Fraction(0))
    finish = answers.finish
    if finish is None:
        return Ahead(answers.day, rows, None)
    first = first_day_ahead(book, answers)
    early, middle, late = (
        _open_days(book, first, last) for last in (finish.early, finish.middle, finish.late)
    )
    return Ahead(answers.day, rows, (early, middle, late), middle * max(book.plan.weavers_planned, 1))


def _open_days(book: RugBook, first: date, last: date) -> float:
    """Return the planned weaving days from `first` to `last`, days off left out: who waits is not paid for it."""
    if last < first:
        return 0.0
    days = np.arange(first.toordinal(), last.toordinal() + 1)
    off = off_ordinals(book.days_off, first.toordinal(), last.toordinal())
    return float((np.isin((days - 1) % 7, book.plan.weekdays) & ~off).sum())


def cost_of(book: RugBook, answers: Answers, currency: str = "") -> RugCost:
    """Return what the rug costs, from the same need and the same date as every other page has."""
    return rug_cost(book, masses_of(book, answers), ahead_of(book, answers), currency_decimals(currency))


def range_words(spread: Spread, currency: str) -> str:
    """Say the range of an amount; "" where it is one amount."""
    if spread.low == spread.high:
        return ""
    return _("likely {low} to {high}").format(
        low=foretold_money(spread.low, currency), high=foretold_money(spread.high, "")
    )


def _end_words(at_end: Spread, unpriced: int, currency: str) -> str:
    """Say the range of the cost at the end, and how many yarns are no part of it; "" where there is nothing to say."""
    parts = [range_words(at_end, currency)]
    if unpriced:
        parts.append(
            n_(
                "without {count} yarn that has no price", "without {count} yarns that have no price", unpriced
            ).format(count=number(unpriced))
        )
    return "; ".join(part for part in parts if part)


def done_words(earned: Earned, tied: float, unsaid: bool = False) -> str:
    """Say what somebody did: "12 days, 4,200 knots (as many as 34.5 rows)" of `tied` knots; `unsaid`: nobody knows who."""
    parts = []
    if earned.work.days and not unsaid:
        parts.append(
            n_("{count} day", "{count} days", earned.work.days).format(count=number(earned.work.days))
        )
    if earned.work.knots or not parts:
        knots = n_("{count} knot", "{count} knots", earned.work.knots).format(count=number(earned.work.knots))
        if tied:
            rows = earned.work.knots / tied
            knots = _("{knots} (as many as {rows} rows)").format(knots=knots, rows=number(rows, 1))
        parts.append(knots)
    if earned.work.days and unsaid:
        # The knots are of evenings, too, on which weavers are named and their places are not: those days are the weavers' own.
        parts.append(
            n_("{count} day names nobody", "{count} days name nobody", earned.work.days).format(
                count=number(earned.work.days)
            )
        )
    return ", ".join(parts)


def _earnings(book: RugBook, cost: RugCost, answers: Answers, currency: str) -> tuple[Earning, ...]:
    names = names_of((book,))
    # Where no weaver is in the book nothing is to be shared out: who keeps it wove alone.
    alone = not book.weavers and len(cost.earned) == 1
    earnings = []
    for earned in cost.earned:
        who = earned.work.weaver_id
        if who == NOBODY and not alone and book.wages and not (earned.amount or earned.work.days):
            # Paid by the day nobody's knots earn nothing: there is nothing to share out.
            continue
        wage = wage_of(book.wages, who, answers.day)
        earnings.append(
            Earning(
                _("Who wove") if alone else _("Not shared out") if who == NOBODY else names.weaver(who),
                money(earned.amount, currency) if book.wages else "",
                done_words(
                    earned, book.plan.knots_across * book.plan.tied_share, who == NOBODY and not alone
                ),
                _(
                    "Sessions that name nobody, or a part of the width at which nobody sat. Correct those "
                    "sessions to share this out."
                )
                if who == NOBODY and not alone
                else wage_words(wage)
                if wage
                else _("no wage entered"),
            )
        )
    return tuple(earnings)


def shared_words(book: RugBook) -> str:
    """Say how the rows are shared out of sessions in which nobody said who sat where; "" where there are none."""
    seats = placed(book.sessions, book.plan.knots_across)
    unsaid = seats.as_another + seats.evenly
    if not unsaid:
        return ""
    if not seats.as_another:
        how = _("evenly")
    elif seats.evenly:
        how = _("as the same weavers sat on other evenings, else evenly")
    else:
        how = _("as the same weavers sat on other evenings")
    return n_(
        "In {count} session nobody said who sat where: its rows are shared out {how}. Correct it to say it.",
        "In {count} sessions nobody said who sat where: their rows are shared out {how}. Correct them to say it.",
        unsaid,
    ).format(count=number(unsaid), how=how)


def _lines(book: RugBook, cost: RugCost, currency: str) -> tuple[CostLine, ...]:
    def line(
        label: str, so_far: Decimal, at_end: Spread | None, foretold: Decimal | None, tone: str
    ) -> CostLine:
        spent = money(so_far, currency)
        if at_end is None or cost.at_end is None or _is_sure(cost):
            return CostLine(label, spent, "", tone)
        # What nothing more comes to stands in both columns, to the cent.
        told = spent if foretold is None else foretold_money(foretold, currency)
        return CostLine(label, spent, told, tone, foretold is not None)

    parts: list[tuple[str, Decimal, Spread | None, str]] = []
    if any(one.so_far is not None for one in cost.yarns):
        parts.append((_("Yarn used"), cost.yarn_so_far, cost.yarn_at_end, YARN_TONE))
    if book.wages:
        parts.append((_("Wages"), cost.wages_so_far, cost.wages_at_end, WAGES_TONE))
    parts += [
        (cost_kind_words(kind), amount, Spread(amount, amount, amount), SPENT_TONES[kind])
        for kind, amount in cost.spent
    ]
    foretold = _foretold_parts(cost, [(so_far, at_end) for _label, so_far, at_end, _tone in parts])
    return tuple(
        line(label, so_far, at_end, amount, tone)
        for (label, so_far, at_end, tone), amount in zip(parts, foretold, strict=True)
    )


def _foretold_parts(
    cost: RugCost, parts: Sequence[tuple[Decimal, Spread | None]]
) -> tuple[Decimal | None, ...]:
    """Return what is foretold of each part of the cost, so that with what is paid they make what is foretold of the whole.

    None where nothing more will come. What rounding left over goes to the largest, of which it is the least.
    """
    foretold = [
        None if at_end is None or at_end.middle == so_far else foretold_amount(at_end.middle)
        for so_far, at_end in parts
    ]
    moving = [place for place, amount in enumerate(foretold) if amount is not None]
    if cost.at_end is None or not moving:
        return tuple(foretold)
    whole = foretold_amount(cost.at_end.middle)
    told = sum(
        (
            so_far if amount is None else amount
            for (so_far, _end), amount in zip(parts, foretold, strict=True)
        ),
        Decimal(0),
    )
    largest = max(moving, key=lambda place: foretold[place] or Decimal(0))
    if abs(whole - told) > foretold_step(whole) / 2:
        foretold[largest] = foretold_amount((foretold[largest] or Decimal(0)) + whole - told)
    return tuple(foretold)


def _bar(cost: RugCost) -> tuple[BarPart, ...]:
    """Return the lines of the reckoning as parts of one bar: first what was spent, then what is still to come."""
    if cost.at_end is None or cost.at_end.middle <= 0:
        return ()
    wages_end = cost.wages_so_far if cost.wages_at_end is None else cost.wages_at_end.middle
    kinds = (
        (YARN_TONE, cost.yarn_so_far, cost.yarn_at_end.middle),
        (WAGES_TONE, cost.wages_so_far, wages_end),
        *((SPENT_TONES[kind], amount, amount) for kind, amount in cost.spent),
    )
    parts = [(tone, so_far, True) for tone, so_far, _end in kinds]
    parts += [(tone, end - so_far, False) for tone, so_far, end in kinds]
    parts = [part for part in parts if part[1] > 0]
    whole = sum((amount for _tone, amount, _spent in parts), Decimal(0))
    return tuple(BarPart(tone, float(amount / whole), spent) for tone, amount, spent in parts)


def _warnings(book: RugBook, cost: RugCost, currency: str) -> tuple[str, ...]:
    names = {yarn.id: yarn.name for yarn in book.yarns}
    warnings = []
    if cost.unpriced:
        listed = one_after_another([names[yarn_id] for yarn_id in cost.unpriced])
        warnings.append(
            _(
                "Not counted, because the price is missing: {names}. Enter it with a purchase or in the plan."
            ).format(names=listed)
        )
    warnings += price_questions(book)
    counted = {one.yarn_id for one in cost.yarns}
    by_plan = {one.yarn_id for one in cost.yarns if one.so_far}
    unnoted = [yarn.name for yarn in book.yarns if yarn.id in by_plan and not is_noted(book, yarn)]
    if unnoted:
        warnings.append(
            _("No purchase is noted of {names}: what the plan says is in the rug is counted.").format(
                names=one_after_another(unnoted)
            )
        )
    for yarn in book.yarns:
        unpriced_g, a_gram = priced_by_others_g(book, yarn), price_per_g(book, yarn)
        if yarn.id in counted and unpriced_g and a_gram is not None:
            warnings.append(
                _(
                    "{name}: {mass} came without a price. It is counted at {price} a kilogram, like the rest of it."
                ).format(
                    name=yarn.name,
                    mass=mass(unpriced_g),
                    price=money(rounded(1000 * a_gram, currency_decimals(currency)), currency),
                )
            )
    if cost.unpaid_knots:
        warnings.append(
            n_(
                "No wage is entered for {count} knot.",
                "No wage is entered for {count} knots.",
                cost.unpaid_knots,
            ).format(count=number(cost.unpaid_knots))
        )
    if cost.left_out:
        warnings.append(
            _("{amount} was paid for yarn that is no longer in the plan, and is not counted.").format(
                amount=money(cost.left_out, currency)
            )
        )
    return tuple(warnings)


def price_offered(book: RugBook, answers: Answers, currency: str = "") -> Decimal | None:
    """Return the price by cost and margin as `price_words` says it, so that what is taken is what was read."""
    cost = cost_of(book, answers, currency)
    if cost.price is None or _is_sure(cost):
        return cost.price
    return foretold_amount(cost.price, up=True)


def _is_sure(cost: RugCost) -> bool:
    """Tell whether nothing more will come to what was paid."""
    return cost.at_end == Spread(cost.so_far, cost.so_far, cost.so_far)


def about_words(amount: Decimal, cost: RugCost, currency: str, up: bool = False) -> str:
    """Say an amount that follows from the cost at the end: to the cent once nothing more will come, else about it."""
    if _is_sure(cost):
        return money(amount, currency)
    return _("about {amount}").format(amount=foretold_money(amount, currency, up))


def agreed_words(book: RugBook, answers: Answers, currency: str = "") -> str:
    """Say what would be left of the agreed price once the cost at the end is paid; "" while either is not known.

    It tells the agreed price, so only the order's own page asks for it, and whoever chose that the price is told.
    """
    order, cost = order_of(book), cost_of(book, answers, currency)
    if order is None or order.price is None or cost.at_end is None or not _is_known(book, cost):
        return ""
    agreed = rounded(order.price, currency_decimals(currency))
    # Who takes the cost from the price, as both are said, comes to what would be left.
    told = cost.at_end.middle if _is_sure(cost) else foretold_amount(cost.at_end.middle)
    left = agreed - told
    at_end, over = (about_words(amount, cost, currency) for amount in (told, abs(left)))
    if left < 0:
        return _("The cost at the end, {cost}, is {over} more than the agreed price.").format(
            cost=at_end, over=over
        )
    return _("Of the agreed price {left} would be left when the cost at the end, {cost}, is paid.").format(
        left=over, cost=at_end
    )


def _agreed_told(book: RugBook, answers: Answers, currency: str) -> str:
    """Say the agreed price and what would be left of it; "" unless the weaver chose that the price is told."""
    order = order_of(book)
    if order is None or order.price is None or OrderItem.PRICE not in order.shown:
        return ""
    agreed = money(rounded(order.price, currency_decimals(currency)), currency)
    left = agreed_words(book, answers, currency)
    return "\n".join(part for part in (agreed, left) if part)


def price_words(book: RugBook, answers: Answers, currency: str = "") -> str:
    """Return the price by cost and margin; "" without a margin, or while nothing can be said of the cost at the end."""
    cost = cost_of(book, answers, currency)
    price = cost.price
    return "" if price is None else about_words(price, cost, currency, up=True)


def price_for_record(book: RugBook, answers: Answers, currency: str = "") -> str:
    """Return the price that the customer's record tells; "" unless the weaver chose that it does."""
    pricing = pricing_of(book)
    chosen = pricing is not None and pricing.shown is PriceShown.RECORD
    return price_words(book, answers, currency) if chosen else ""


def _is_known(book: RugBook, cost: RugCost) -> bool:
    """Tell whether anything that was entered makes up a cost: without it nothing is known, which is not nothing."""
    return bool(book.wages or cost.spent) or any(one.so_far is not None for one in cost.yarns)


def build_costs_state(book: RugBook, answers: Answers, currency: str = "") -> CostsState:
    """Turn a rug and its answers into what the page shows."""
    cost = cost_of(book, answers, currency)
    pricing = pricing_of(book)
    margin = pricing.margin if pricing else None
    price = price_words(book, answers, currency)
    if margin is None:
        price_note = _("Enter a margin, and the price follows from the cost at the end.")
    elif not price:
        price_note = _("No price yet: the cost at the end cannot be said.")
    else:
        price_note = _("{share} of it is left when the cost at the end is paid").format(
            share=margin_words(margin)
        )
        if pricing is not None and pricing.shown is PriceShown.RECORD:
            price_note += "; " + _("it stands in the record")
    if cost.at_end is not None:
        at_end = about_words(cost.at_end.middle, cost, currency)
    elif answers.finish is None and not answers.finished:
        at_end = _("not known yet: the last row has no date")
    else:
        at_end = _("not known until there is a wage for everybody, or a first row")
    if not _is_known(book, cost):
        so_far, at_end = _("not known"), _("no price, wage or cost is entered")
    else:
        so_far = money(cost.so_far, currency)
    return CostsState(
        so_far=so_far,
        at_end=at_end,
        at_end_range=""
        if cost.at_end is None or not _is_known(book, cost)
        else _end_words(cost.at_end, len(cost.unpriced), currency),
        price=price,
        price_note=price_note,
        agreed=_agreed_told(book, answers, currency),
        bar=_bar(cost) if _is_known(book, cost) else (),
        lines=_lines(book, cost, currency),
        earnings=_earnings(book, cost, answers, currency),
        shared=shared_words(book),
        wages=tuple(
            EntryLine(
                wage.id,
                wage_words(wage),
                " · ".join(
                    (
                        names_of((book,)).weaver(wage.weaver_id) if wage.weaver_id else _("everybody"),
                        _("from {day}").format(day=day(wage.first_day, answers.day))
                        if wage.first_day
                        else _("from the first row"),
                    )
                ),
            )
            for wage in book.wages
        ),
        spending=tuple(
            EntryLine(
                one.id,
                cost_kind_words(one.kind),
                " · ".join(part for part in (day(one.day, answers.day), one.note) if part),
                money(rounded(one.amount, currency_decimals(currency)), currency),
            )
            for one in reversed(book.costs)
        ),
        warnings=_warnings(book, cost, currency),
        currency=f"{currency_name(currency)} ({currency})" if currency else _("not named"),
        rules=_(
            "Local rules say which wages are lawful, and how hours and piece-work are paid and "
            "recorded. Ask somebody who knows them."
        ),
    )


def costs_text(book: RugBook, answers: Answers, currency: str = "") -> str:
    """Return what the rug costs as plain text; "" while neither a wage, a price nor a spending is entered."""
    if not has_money(book):
        return ""
    state = build_costs_state(book, answers, currency)
    lines = [
        _("Costs"),
        f"  {_('so far'):<24} {state.so_far}",
        f"  {_('at the end'):<24} {state.at_end}"
        + (f" ({state.at_end_range})" if state.at_end_range else ""),
    ]
    for line in state.lines:
        at_end = _("{so_far}, at the end {at_end}").format(so_far=line.so_far, at_end=line.at_end)
        lines.append(f"  {line.label:<24} {at_end if line.moves else line.so_far}")
    if state.price:
        lines.append(f"  {_('price'):<24} {state.price} ({state.price_note})")
    if book.wages:
        lines += [f"  {one.name:<24} {one.amount}: {one.done}" for one in state.earnings]
        lines += [f"  {state.shared}"] * bool(state.shared)
    lines += [f"  {warning}" for warning in state.warnings]
    return "\n".join(lines) + "\n"


def costs_values(book: RugBook, answers: Answers, currency: str = "") -> dict[str, Any]:
    """Return what the rug costs as plain values for JSON; amounts are texts, so that no digit is lost."""
    cost = cost_of(book, answers, currency)

    def spread(value: Spread | None) -> dict[str, str] | None:
        return (
            None
            if value is None
            else {"low": str(value.low), "middle": str(value.middle), "high": str(value.high)}
        )

    return {
        "currency": currency or None,
        "so_far": str(cost.so_far),
        "at_end": spread(cost.at_end),
        "price": None if cost.price is None else str(cost.price),
        "yarns": [
            {
                "yarn_id": one.yarn_id,
                "so_far": None if one.so_far is None else str(one.so_far),
                "at_end": spread(one.at_end),
            }
            for one in cost.yarns
        ],
        "wages_at_end": spread(cost.wages_at_end),
        "earned": [
            {
                "weaver_id": one.work.weaver_id or None,
                "knots": one.work.knots,
                "days": one.work.days,
                "amount": str(one.amount),
                "unpaid_knots": one.unpaid_knots,
            }
            for one in cost.earned
        ],
        "spent": {str(kind): str(amount) for kind, amount in cost.spent},
        "without_price": list(cost.unpriced),
    }


def has_money(book: RugBook) -> bool:
    """Tell whether anything is known of what the rug costs."""
    return bool(book.wages or book.costs or book.pricings) or any(
        price_per_g(book, yarn) is not None for yarn in book.yarns
    )
