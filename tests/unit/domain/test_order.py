"""The order behind a rug: what was agreed, what is paid and owed, and by when it is promised."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from tests.unit.domain.rugs import book_of
from tracker.domain.costs import order_of, owed_by_customer, paid_by_customer, promised_day_of
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment

DAY = date(2026, 5, 4)
ORDER = Order(id="o", rug_id="rug", promised_day=DAY, price=1000.0)


def paid(*amounts: float) -> tuple[Payment, ...]:
    return tuple(Payment(id=f"p{n}", rug_id="rug", day=DAY, amount=money) for n, money in enumerate(amounts))


def test_what_is_owed_is_the_agreed_price_less_every_payment_rounded_by_itself() -> None:
    book = book_of(orders=(ORDER,), payments=paid(250.0, 150.25))
    assert paid_by_customer(book, 2) == Decimal("400.25")
    assert owed_by_customer(book, 2) == Decimal("599.75")
    # Without a smaller coin halves go up, one by one: 1 + 1 + 3.
    assert paid_by_customer(book_of(payments=paid(0.5, 0.5, 2.5)), 0) == Decimal(5)
    assert owed_by_customer(book_of(orders=(ORDER,), payments=paid(1200.0)), 0) == Decimal(-200)


def test_without_an_agreed_price_nothing_can_be_said_to_be_owed() -> None:
    assert owed_by_customer(book_of(payments=paid(10.0)), 2) is None
    assert owed_by_customer(book_of(orders=(replace(ORDER, price=None),)), 2) is None
    # A gift has a price: none.
    assert owed_by_customer(book_of(orders=(replace(ORDER, price=0.0),)), 2) == 0


def test_of_two_orders_the_one_entered_last_counts() -> None:
    later = replace(ORDER, id="a", born=5, promised_day=date(2026, 6, 1))
    assert order_of(book_of(orders=(later, ORDER))) == later
    # Entered at one moment on two phones: the same one on both.
    same = replace(ORDER, id="z")
    assert order_of(book_of(orders=(same, ORDER))) == order_of(book_of(orders=(ORDER, same))) == same
    assert order_of(book_of()) is None


def test_a_promise_stands_until_the_rug_is_delivered() -> None:
    assert promised_day_of(book_of(orders=(ORDER,))) == DAY
    assert promised_day_of(book_of(orders=(replace(ORDER, delivered_day=DAY),))) is None
    assert promised_day_of(book_of()) is None


@pytest.mark.parametrize(
    "said",
    [{"customer": "a hotel"}, {"promised_day": DAY}, {"price": 0.0}, {"way": DeliveryWay.SENT}, {"address": "harbour"},
     {"delivered_day": DAY}, {"note": "blue"}],
    ids=lambda said: next(iter(said)),
)  # fmt: skip
def test_an_order_is_blank_until_one_thing_is_said(said) -> None:
    nothing = Order(id="o", rug_id="rug", shown=(OrderItem.PRICE,))
    assert nothing.is_blank
    assert not replace(nothing, **said).is_blank
