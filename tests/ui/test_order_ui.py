"""The order behind a rug by real touches: reached by a quiet key, filled in, paid, told only where chosen."""

from __future__ import annotations

import gzip
from datetime import date
from pathlib import Path

import pytest

from tests.ui.books import without
from tests.ui.hand import everything
from tests.ui.handed_time import pass_time
from tracker.device import files
from tracker.domain.errors import BookTrouble
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment, PaymentKind
from tracker.presenters.currency import currency_of
from tracker.presenters.order import facts_told, target_for
from tracker.previews.draw import settle
from tracker.widgets.basics import Field, Key


@pytest.fixture
def demo(demo: Path) -> Path:
    """The demo book, where nothing was agreed of it yet."""
    return without(demo, Order, Payment)


def typed(hand, digits: str) -> None:
    for digit in digits:
        hand.tap(digit)
    hand.tap("Done")


def order_of(hand):
    (order,) = hand.app.desk.rug.orders
    return order


def field_of(hand, label: str) -> Field:
    """Return a question of the page: a choice further down may say the same."""
    return next(
        field for field in everything(hand.shell) if isinstance(field, Field) and field.label == label
    )


def chip_of(hand, words: str) -> Key:
    """Return the key of a choice: its words may stand over a part of the page too."""
    return next(key for key in everything(hand.shell) if isinstance(key, Key) and key.text == words)


def told(hand) -> dict[str, str]:
    desk = hand.app.desk
    facts = facts_told(desk.rug, currency_of(desk.settings), desk.today())
    return {fact.label: fact.figure for fact in facts}


def test_the_order_is_reached_from_the_rug_and_filled_in_by_touch(open_app, demo, monkeypatch) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    hand.shell.go("shelf")
    settle()
    hand.tap("Walled garden")
    hand.tap("Customer's order")
    settle()
    assert hand.sees("Only this page shows it")
    note = field_of(hand, "Note").to_window(0, field_of(hand, "Note").top)
    hand.tap("Agreed price")
    hand.tap("Another price …")
    typed(hand, "2400")
    settle()
    assert order_of(hand).price == 2400.0
    assert field_of(hand, "Note").to_window(0, field_of(hand, "Note").top) == pytest.approx(note, abs=1), (
        "the next question stays where it was"
    )
    assert hand.sees("EUR 2,400.00")
    hand.tap("Undo")
    settle()
    assert desk.rug.orders == ()
    assert hand.sees("no price agreed yet")

    # On a full disk the sheet says so, and what was typed or tapped in stays there for the next try.
    def no_room(*_act: object, **_of: object) -> None:
        raise BookTrouble("There is no room left.")

    address = "The inn at the second bridge"
    with monkeypatch.context() as full:
        full.setattr(desk.book, "act", no_room)
        hand.tap("Address, or how to reach them")
        hand.shell.sheet.content.ids.entry.text = address
        hand.tap("Done")
        assert hand.sees("There is no room left.")
        assert hand.shell.sheet.content.ids.entry.text == address
    hand.tap("Done")
    assert order_of(hand).address == address
    with monkeypatch.context() as full:
        full.setattr(desk.book, "act", no_room)
        hand.tap("Agreed price")
        hand.tap("Another price …")
        typed(hand, "2400")
        assert hand.sees("There is no room left.")
        assert hand.shell.sheet.content.shown == "2400"
    hand.tap("Done")
    assert order_of(hand).price == 2400.0


def test_a_deposit_and_the_rest_leave_nothing_owed(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("order")
    settle()
    hand.tap("Agreed price")
    hand.tap("Another price …")
    typed(hand, "1000")
    settle()
    pass_time(7)
    for amount, owed in (("250", "EUR 750.00"), ("750", "nothing: all is paid")):
        hand.tap("Enter a payment")
        hand.tap("Amount")
        typed(hand, amount)
        hand.tap("Save")
        settle()
        pass_time(7)
        assert hand.sees(owed)
    assert [payment.kind for payment in hand.app.desk.rug.payments] == [
        PaymentKind.DEPOSIT,
        PaymentKind.REST,
    ]
    # A digit forgotten is asked about before it is kept.
    hand.tap("Agreed price")
    hand.tap("Another price …")
    typed(hand, "900")
    settle()
    assert hand.sees("A price of EUR 900.00, and EUR 1,000.00 is paid already.")
    hand.tap("No, change it")
    assert order_of(hand).price == 1000.0
    # The price is asked for once more.
    hand.tap("Another price …")
    typed(hand, "1100")
    settle()
    assert order_of(hand).price == 1100.0


def test_the_promised_day_is_judged_and_taken_as_the_target_with_one_tap(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    hand.shell.go("order")
    settle()
    hand.tap(field_of(hand, "Promised day"))
    hand.tap("15")
    settle()
    promised = order_of(hand).promised_day
    assert promised is not None
    assert promised.day == 15
    assert hand.sees("Ready by then:")
    pass_time(7)
    hand.tap(next(words for words in hand.words() if words.endswith("as the target date")))
    settle()
    target = target_for(desk.rug)
    assert desk.rug.plan.wished_day == target
    assert desk.answers.finish.chance_of_wish == desk.answers.finish.chance_of_promise
    assert not hand.sees("as the target date")
    hand.tap("Undo")
    settle()
    assert desk.rug.plan.wished_day != target


def test_delivery_is_said_and_the_record_tells_only_what_is_tapped(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("order")
    settle()
    hand.tap("How it gets there")
    hand.tap("brought there")
    settle()
    pass_time(7)
    hand.tap("Delivered")
    hand.tap("20")
    settle()
    pass_time(7)
    order = order_of(hand)
    assert (order.way, order.delivered_day) == (DeliveryWay.BROUGHT, date(2026, 11, 20))
    assert told(hand) == {}
    assert hand.sees("The record tells nothing of the order.")
    hand.tap(chip_of(hand, "Delivery"))
    settle()
    pass_time(7)
    assert order_of(hand).shown == (OrderItem.DELIVERY,)
    assert told(hand) == {"Delivery": "brought there, delivered 20 November"}
    assert hand.sees("The record tells: Delivery.")
    hand.tap(chip_of(hand, "Delivery"))
    settle()
    assert told(hand) == {}


@pytest.mark.parametrize("along", [False, True])
def test_a_file_for_the_other_phone_takes_the_orders_along_only_when_asked(
    open_app, demo, tmp_path: Path, monkeypatch, along: bool
) -> None:
    folder = tmp_path / "card"
    folder.mkdir()
    monkeypatch.setattr(files, "shared_folder", lambda: folder)
    hand = open_app(demo)
    hand.shell.go("order")
    settle()
    hand.tap("How it gets there")
    hand.tap("sent")
    settle()
    pass_time(7)
    hand.shell.go("sync")
    settle()
    if along:
        hand.tap("The orders go along")
    hand.tap("Write a file")
    settle()
    (written,) = folder.iterdir()
    assert (b'"rug_order"' in gzip.decompress(written.read_bytes())) == along


def test_without_an_order_no_file_asks_for_one(open_app) -> None:
    hand = open_app()
    hand.shell.go("sync")
    settle()
    assert hand.sees("Write a file")
    assert not hand.sees("The orders go along")


def test_the_first_view_shows_nothing_of_the_order(open_app, demo) -> None:
    hand = open_app(demo)
    before = hand.words()
    hand.shell.go("order")
    settle()
    hand.tap("Agreed price")
    hand.tap("Another price …")
    typed(hand, "2400")
    settle()
    hand.shell.open_tab("home")
    settle()
    pass_time(7)
    settle()
    assert hand.words() == before
