"""The order behind a rug: what is owed to the last coin, the promised day from the forecast, nothing told unless chosen."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from tests.unit.domain.rugs import book_of, plan_of
from tests.unit.reports.books import small_answers, small_book
from tracker.domain.costs import owed_by_customer
from tracker.domain.errors import BadEntry
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment, PaymentKind
from tracker.domain.rug import AfterStep, PriceShown, Pricing, RugBook, RugStage, Session
from tracker.forecast.outlook import outlook
from tracker.presenters.answer_words import chance_words
from tracker.presenters.entry_text import headline, names_of
from tracker.presenters.order import build_order_state, facts_told, with_shown, with_target
from tracker.presenters.record.rug_record import rug_record
from tracker.reports.csv_tables import csv_files
from tracker.reports.text_form import as_text, as_values

ANSWERS = small_answers()
ORDER = Order(
    id="o",
    rug_id="r",
    customer="the miller",
    promised_day=date(2027, 3, 6),
    price=2400.5,
    way=DeliveryWay.BROUGHT,
    address="behind the ford",
    delivered_day=None,
    note="whisper",
)
DEPOSIT = Payment(id="p", rug_id="r", day=date(2026, 10, 1), amount=600.25)
SECRETS = ("the miller", "6 March 2027", "2,400.50", "600.25", "1,800.25", "behind the ford")
"""What each item of the order would tell, in the order of `OrderItem`."""


def ordered(*shown: OrderItem, **changes) -> RugBook:
    parts = {"orders": (replace(ORDER, shown=shown),), "payments": (DEPOSIT,)}
    return replace(small_book(), **{**parts, **changes})


def woven_book(**changes) -> RugBook:
    """A rug of 60 rows, of which 20 were woven in ten evenings."""
    sessions = tuple(
        Session(id=f"s{number}", rug_id="r", day=date(2026, 11, 2 + 2 * number), rows=2, hours=3.0)
        for number in range(10)
    )
    book = book_of(plan_of(rows=60, knots_across=40, stage=RugStage.ON_LOOM))
    return replace(book, sessions=sessions, **changes)


def all_that_leaves(book: RugBook) -> str:
    """Everything that is written of a rug, as one text."""
    tables = b"".join(csv_files(book, ANSWERS, "EUR").values()).decode()
    return "\n".join(
        (
            repr(rug_record(book, ANSWERS, currency="EUR").facts),
            as_text(book, ANSWERS, "EUR"),
            json.dumps(as_values(book, ANSWERS, "EUR")),
            tables,
        )
    )


def test_what_is_owed_is_the_price_less_what_was_paid_to_the_last_coin() -> None:
    # 0.3 less 0.1 less 0.2 is nothing in money, though it is not in binary numbers.
    book = replace(
        small_book(),
        orders=(replace(ORDER, price=0.3),),
        payments=(replace(DEPOSIT, amount=0.1), replace(DEPOSIT, id="q", amount=0.2)),
    )
    assert owed_by_customer(book, 2) == Decimal("0.00")
    # Amounts of a currency without a smaller coin are rounded one by one: 2,401 less 600.
    assert owed_by_customer(ordered(), 0) == Decimal(1801)
    assert owed_by_customer(ordered(), 2) == Decimal("1800.25")
    assert owed_by_customer(replace(ordered(), orders=(replace(ORDER, price=None),)), 2) is None


def test_who_paid_too_much_is_told_so_and_who_paid_all_owes_nothing() -> None:
    state = build_order_state(ordered(), ANSWERS, "EUR")
    assert (state.owed_label, state.owed) == ("Still owed", "EUR 1,800.25")
    rest = replace(DEPOSIT, id="q", amount=1800.25, kind=PaymentKind.REST)
    assert "nothing" in build_order_state(ordered(payments=(DEPOSIT, rest)), ANSWERS, "EUR").owed
    more = replace(rest, amount=1800.26)
    state = build_order_state(ordered(payments=(DEPOSIT, more)), ANSWERS, "EUR")
    assert (state.owed_label, state.owed) == ("Paid too much", "EUR 0.01")


def test_two_phones_orders_count_as_the_one_entered_last() -> None:
    later = replace(ORDER, id="a", born=9, price=10.0)
    book = replace(small_book(), orders=(later, replace(ORDER, born=3)))
    assert owed_by_customer(book, 2) == Decimal("10.00")


@pytest.mark.parametrize("promised", [10, 35, 60, 120])
def test_the_promised_day_is_as_likely_as_the_same_target_date(promised: int) -> None:
    today = date(2026, 11, 25)
    on = today + timedelta(days=promised)
    book = woven_book(orders=(replace(ORDER, promised_day=on),))
    as_target = outlook(replace(book, plan=replace(book.plan, wished_day=on)), today).finish
    promise = outlook(book, today).finish
    assert as_target is not None
    assert promise is not None
    assert promise.chance_of_promise == as_target.chance_of_wish
    state = build_order_state(book, outlook(book, today))
    assert state.promise == f"Ready by then: {chance_words(promise.chance_of_promise)}."
    assert state.late == (promise.chance_of_promise < 0.5)


def test_steps_after_weaving_come_before_the_promised_day_and_the_target_date_leaves_room_for_them() -> None:
    today = date(2026, 11, 25)
    steps = (
        AfterStep(id="a", rug_id="r", number=1, name="wash", days=4.5),
        AfterStep(id="b", rug_id="r", number=2, name="shear", days=2.0),
        AfterStep(id="c", rug_id="r", number=3, name="cut off", days=9.0, done_day=today),
    )
    book = woven_book(orders=(replace(ORDER, promised_day=date(2027, 1, 20)),), after_steps=steps)
    plan = with_target(book, today)
    assert plan.wished_day == date(
        2027, 1, 13
    )  # 4.5 + 2 days, in whole days: 7; the step that is done needs none
    finish = outlook(replace(book, plan=plan), today).finish
    assert finish is not None
    assert finish.chance_of_promise == finish.chance_of_wish
    assert 0.0 < finish.chance_of_promise < 1.0
    assert build_order_state(replace(book, plan=plan), outlook(book, today)).target == ""
    assert "13 January 2027" in build_order_state(book, outlook(book, today)).target


def test_a_target_that_is_past_or_promised_by_nobody_is_refused() -> None:
    today = date(2026, 11, 25)
    with pytest.raises(BadEntry):
        with_target(woven_book(orders=(replace(ORDER, promised_day=date(2026, 11, 24)),)), today)
    with pytest.raises(BadEntry):
        with_target(woven_book(), today)


def test_a_delivered_rug_is_promised_no_more() -> None:
    today = date(2026, 11, 25)
    book = woven_book(
        orders=(replace(ORDER, promised_day=date(2027, 1, 20), delivered_day=date(2026, 11, 24)),)
    )
    finish = outlook(book, today).finish
    assert finish is not None
    assert finish.chance_of_promise is None
    assert build_order_state(book, outlook(book, today)).promise == ""


def test_nothing_of_an_order_leaves_the_page_by_itself() -> None:
    said = all_that_leaves(ordered())
    assert said == all_that_leaves(small_book())
    assert "whisper" not in said


@pytest.mark.parametrize("item", list(OrderItem))
def test_each_item_is_told_where_it_is_chosen_and_no_other(item: OrderItem) -> None:
    book = ordered(item)
    facts = facts_told(book, "EUR", ANSWERS.day)
    secret = SECRETS[list(OrderItem).index(item)]
    others = [other for other in SECRETS if other != secret]
    assert len(facts) == 1
    assert secret in facts[0].figure
    record = rug_record(book, ANSWERS, currency="EUR").facts
    assert facts[0] in record
    told = (
        as_text(book, ANSWERS, "EUR"),
        b"".join(csv_files(book, ANSWERS, "EUR").values()).decode(),
        repr(record),
    )
    for form in told:
        assert secret in form
        assert not [other for other in others if other in form]
    values = as_values(book, ANSWERS, "EUR")["order"]
    assert set(values) == {"currency", item.value.replace(" ", "_")}
    assert "whisper" not in all_that_leaves(book)


def test_the_chance_of_a_promise_is_told_only_with_the_promise() -> None:
    today = date(2026, 11, 25)
    for shown, there in (((), False), ((OrderItem.PROMISED,), True)):
        book = woven_book(orders=(replace(ORDER, shown=shown),))
        assert ("chance_of_promise" in as_values(book, outlook(book, today))["finish"]) == there


def test_the_agreed_price_stands_in_the_record_in_place_of_the_reckoned_one() -> None:
    pricing = Pricing(id="m", rug_id="r", margin=0.5, shown=PriceShown.RECORD)
    facts = rug_record(ordered(OrderItem.PRICE, pricings=(pricing,)), ANSWERS, currency="EUR").facts
    assert [fact.figure for fact in facts if fact.label == "Price"] == ["EUR 2,400.50"]


def test_the_diary_tells_that_there_is_an_order_and_not_whose() -> None:
    said = headline(ORDER, names_of(())) + headline(DEPOSIT, names_of(()))
    assert said
    assert not [secret for secret in SECRETS if secret in said]


def test_an_item_is_switched_on_and_off_again_in_one_order() -> None:
    order = with_shown(with_shown(ORDER, OrderItem.OWED), OrderItem.CUSTOMER)
    assert order.shown == (OrderItem.CUSTOMER, OrderItem.OWED)
    assert with_shown(order, OrderItem.OWED).shown == (OrderItem.CUSTOMER,)
