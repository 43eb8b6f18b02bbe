"""The order behind a rug: what was agreed, how likely the promised day is, what is paid, what the record may tell."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from tracker.domain.costs import order_of, owed_by_customer, paid_by_customer, promised_day_of, rounded
from tracker.domain.errors import BadEntry
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment
from tracker.domain.rug import RugBook, RugPlan, new_id
from tracker.forecast.answers import Answers
from tracker.presenters.answer_words import chance_words, date_holds_if
from tracker.presenters.costs import EntryLine, agreed_words, price_words
from tracker.presenters.entry_text import delivery_words, item_words, payment_kind_words
from tracker.presenters.fact import Fact
from tracker.presenters.finish import days_words, with_wish
from tracker.words import _, currency_decimals, day, money, one_after_another


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One question of the order and its answer."""

    field: str
    label: str
    answer: str
    hint: str = ""
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class ShownItem:
    """One thing that the record of the rug may tell."""

    item: OrderItem
    label: str
    shown: bool


@dataclass(frozen=True, slots=True)
class OrderState:
    """What the page shows."""

    rug_name: str
    what_for: str
    """What the page is for; "" once something is said."""
    agreed: tuple[OrderLine, ...]
    left: str
    """What would be left of the agreed price at the end; "" while that is not known."""
    promise: str
    """How likely the promised day is; "" without one."""
    late: bool
    """Whether that is something to worry about."""
    condition: str
    """What must come for the day to hold at all; "" without such a thing."""
    target: str
    """The key that takes the promised day as the target date; "" where there is nothing to take."""
    paid: str
    owed: str
    owed_label: str
    payments: tuple[EntryLine, ...]
    delivery: tuple[OrderLine, ...]
    shown: tuple[ShownItem, ...]
    shown_words: str


def order_or_blank(book: RugBook) -> Order:
    """Return the order behind a rug, or one that says nothing yet."""
    return order_of(book) or Order(id=new_id(), rug_id=book.plan.id)


def with_shown(order: Order, item: OrderItem) -> Order:
    """Return the order with one item told in the record, or no longer told."""
    shown = {*order.shown} ^ {item}
    return replace(order, shown=tuple(part for part in OrderItem if part in shown))


def days_after_weaving(book: RugBook) -> int:
    """Return the days that the open steps after the last row take, as the forecast counts them."""
    return math.ceil(sum(step.days for step in book.after_steps if step.done_day is None))


def target_for(book: RugBook) -> date | None:
    """Return the target date for the last row at which the promised day is kept; None: nothing is promised.

    The steps after weaving come between the two.
    """
    promised = promised_day_of(book)
    return None if promised is None else promised - timedelta(days=days_after_weaving(book))


def with_target(book: RugBook, today: date) -> RugPlan:
    """Return the plan with the promised day as its target date.

    Raises
    ------
    BadEntry
        Nothing is promised, or the day for the last row is past.
    """
    target = target_for(book)
    if target is None:
        raise BadEntry(_("No day is promised. Enter it first."))
    return with_wish(book.plan, target, today)


def _promise(book: RugBook, answers: Answers) -> tuple[str, bool]:
    """Say how likely the promised day is by the rows alone, and whether that is a worry."""
    order, today = order_of(book), answers.day
    promised = promised_day_of(book)
    if order is None or promised is None:
        return "", False
    if promised < today:
        return _("That day is past, and the rug is not delivered."), True
    after = days_after_weaving(book)
    if answers.finish is None:
        if answers.silent_days is not None:
            return _("There is no date for the last row yet, so its chance is not known."), False
        if not after:
            return _("The rug is ready."), False
        ready = today + timedelta(days=after)
        return _("Every row is woven: ready about {day}.").format(day=day(ready, today)), ready > promised
    chance = answers.finish.chance_of_promise
    if chance is None:
        return "", False
    said = _("Ready by then: {chance}.").format(chance=chance_words(chance))
    if after:
        said += " " + _("{days} of work after weaving are counted in.").format(days=days_words(after))
    return said, chance < 0.5


def _condition(book: RugBook, answers: Answers) -> str:
    """Say all that the promised day holds under; "" where it is nothing, or no chance is told."""
    finish = answers.finish
    return date_holds_if(book, answers) if finish is not None and finish.chance_of_promise is not None else ""


def payment_words(payment: Payment, currency: str, today: date) -> str:
    """Say one payment: "EUR 600.00, deposit, 14 February"."""
    amount = money(rounded(payment.amount, currency_decimals(currency)), currency)
    return f"{amount}, {payment_kind_words(payment.kind)}, {day(payment.day, today)}"


def _owed(owed: Decimal | None, currency: str) -> tuple[str, str]:
    """Return label and figure of what is still owed."""
    if owed is None:
        return _("Still owed"), _("no price agreed yet")
    if owed < 0:
        return _("Paid too much"), money(-owed, currency)
    if not owed:
        return _("Still owed"), _("nothing: all is paid")
    return _("Still owed"), money(owed, currency)


def build_order_state(book: RugBook, answers: Answers, currency: str = "") -> OrderState:
    """Turn a rug and its answers into what the page shows."""
    order, today = order_or_blank(book), answers.day
    decimals = currency_decimals(currency)
    promise, late = _promise(book, answers)
    target = target_for(book)
    reckoned = price_words(book, answers, currency)
    price = "" if order.price is None else money(rounded(order.price, decimals), currency)
    owed_label, owed = _owed(owed_by_customer(book, decimals), currency)
    open_words = _("if you like")
    agreed = (
        OrderLine("customer", _("For whom"), order.customer, "" if order.customer else open_words),
        OrderLine(
            "promised_day",
            _("Promised day"),
            day(order.promised_day, today) if order.promised_day else "",
            "" if order.promised_day else open_words,
        ),
        OrderLine(
            "price",
            _("Agreed price"),
            price,
            # Beside an answer nothing is hinted: the line that the answer takes is the hint's, and nothing below moves.
            ""
            if price
            else _("calculated from the costs: {price}").format(price=reckoned)
            if reckoned
            else open_words,
        ),
        OrderLine("note", _("Note"), order.note, "" if order.note else open_words),
    )
    delivery = (
        OrderLine(
            "way",
            _("How it gets there"),
            delivery_words(order.way),
            open_words if order.way is DeliveryWay.UNSAID else "",
        ),
        OrderLine(
            "address",
            _("Address, or how to reach them"),
            order.address,
            "" if order.address else open_words,
        ),
        OrderLine(
            "delivered_day",
            _("Delivered"),
            day(order.delivered_day, today) if order.delivered_day else _("not yet"),
        ),
    )
    told = [item_words(item) for item in OrderItem if item in order.shown]
    return OrderState(
        rug_name=book.plan.name,
        what_for=""
        if not order.is_blank or book.payments
        else _(
            "Who the rug is for, the promised day, the price and what is paid. Only this page shows "
            "it. The diary says that the order changed, and what changed if you open that line. The "
            "record tells only what you choose below."
        ),
        agreed=agreed,
        left=agreed_words(book, answers, currency),
        promise=promise,
        late=late,
        condition=_condition(book, answers),
        target=_("Take {day} as the target date").format(day=day(target, today))
        if target is not None
        and target >= today
        and target != book.plan.wished_day
        and answers.finish is not None
        else "",
        paid=money(paid_by_customer(book, decimals), currency),
        owed=owed,
        owed_label=owed_label,
        payments=tuple(
            EntryLine(
                payment.id,
                payment_kind_words(payment.kind, capital=True),
                " · ".join(part for part in (day(payment.day, today), payment.note) if part),
                money(rounded(payment.amount, decimals), currency),
            )
            for payment in reversed(book.payments)
        ),
        delivery=delivery,
        shown=tuple(ShownItem(item, item_words(item), item in order.shown) for item in OrderItem),
        shown_words=_("The record tells: {items}.").format(items=one_after_another(told))
        if told
        else _("The record tells nothing of the order."),
    )


# --- what leaves the page, each item only where the weaver chose it


def facts_told(book: RugBook, currency: str, today: date) -> tuple[Fact, ...]:
    """Return what the record of the rug tells of its order: the chosen items of which something is said."""
    order = order_of(book)
    if order is None:
        return ()
    decimals = currency_decimals(currency)
    owed = owed_by_customer(book, decimals)
    delivery = [delivery_words(order.way)] if order.way is not DeliveryWay.UNSAID else []
    delivery += [order.address] if order.address else []
    delivery += (
        [_("delivered {day}").format(day=day(order.delivered_day, today))] if order.delivered_day else []
    )
    told = {
        OrderItem.CUSTOMER: order.customer,
        OrderItem.PROMISED: day(order.promised_day, today) if order.promised_day else "",
        OrderItem.PRICE: "" if order.price is None else money(rounded(order.price, decimals), currency),
        OrderItem.PAID: "; ".join(payment_words(payment, currency, today) for payment in book.payments),
        OrderItem.OWED: "" if owed is None else _owed(owed, currency)[1],
        OrderItem.DELIVERY: ", ".join(delivery),
    }
    return tuple(
        Fact(item_words(item), told[item]) for item in OrderItem if item in order.shown and told[item]
    )


def tells_price(book: RugBook) -> bool:
    """Tell whether the record tells the agreed price, which then stands in place of the reckoned one."""
    order = order_of(book)
    return order is not None and order.price is not None and OrderItem.PRICE in order.shown


def tells_promise(book: RugBook) -> bool:
    """Tell whether what leaves the page may speak of the promised day."""
    order = order_of(book)
    return order is not None and OrderItem.PROMISED in order.shown


def order_values(book: RugBook, currency: str = "") -> dict[str, Any] | None:
    """Return the chosen items as plain values for JSON, amounts as texts; None where none is chosen."""
    order = order_of(book)
    if order is None or not order.shown:
        return None
    decimals = currency_decimals(currency)
    owed = owed_by_customer(book, decimals)

    def iso(on: date | None) -> str | None:
        return None if on is None else on.isoformat()

    values: dict[OrderItem, Any] = {
        OrderItem.CUSTOMER: order.customer,
        OrderItem.PROMISED: iso(order.promised_day),
        OrderItem.PRICE: None if order.price is None else str(rounded(order.price, decimals)),
        OrderItem.PAID: [
            {
                "day": iso(payment.day),
                "amount": str(rounded(payment.amount, decimals)),
                "kind": str(payment.kind),
            }
            for payment in book.payments
        ],
        OrderItem.OWED: None if owed is None else str(owed),
        OrderItem.DELIVERY: {
            "way": str(order.way),
            "address": order.address,
            "delivered_day": iso(order.delivered_day),
        },
    }
    told = {item.value.replace(" ", "_"): values[item] for item in OrderItem if item in order.shown}
    return {"currency": currency or None, **told}
