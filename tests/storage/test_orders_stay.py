"""A customer's order stays on the phone unless the weaver lets it go along in a file for another one."""

from __future__ import annotations

import gzip
from dataclasses import replace
from datetime import date

from storage import diary, reading
from storage.book import Book
from storage.exchange import join, write_exchange
from tests.storage.book_samples import everything, plan, session
from tracker.domain.act import ActKind
from tracker.domain.order import Order, Payment
from tracker.domain.rug import new_id

RUG = plan()
ORDER = Order(id=new_id(), rug_id=RUG.id, customer="the miller", price=2412.75, promised_day=date(2027, 1, 2))
DEPOSIT = Payment(id=new_id(), rug_id=RUG.id, day=date(2026, 2, 1), amount=600.0)


def entered(book: Book, kind: str, *values: object) -> str:
    with book.act(kind) as act:
        for value in values:
            act.write(value)
    return act.act_id


def with_an_order(open_book) -> Book:
    """A book with a rug, a session, an order that was corrected, undone and brought back, and a deposit."""
    book = open_book("mine.loomside", device_name="ash")
    entered(book, ActKind.RUG_PLANNED, RUG)
    entered(book, ActKind.ORDER_CHANGED, ORDER)
    raised = entered(book, ActKind.ORDER_CHANGED, replace(ORDER, price=2631.25))
    book.undo(book.undo(raised).act_id)
    entered(book, ActKind.PAYMENT_ENTERED, DEPOSIT)
    entered(book, ActKind.SESSION_LOGGED, session(RUG.id))
    return book


def lines(file) -> str:
    return gzip.decompress(file.read_bytes()).decode()


def test_a_file_without_the_orders_says_nothing_of_them_not_even_that_there_are_any(
    open_book, tmp_path
) -> None:
    book = with_an_order(open_book)
    write_exchange(book, tmp_path / "file", orders=False)
    said = lines(tmp_path / "file")
    # Amounts with a point in them: four digits stood in an id now and then.
    for secret in ("miller", "2412.75", "2631.25", "rug_order", "payment", ActKind.ORDER_CHANGED, ORDER.id):
        assert secret not in said
    other = open_book("other.loomside", device_name="birch")
    joined = join(other, tmp_path / "file")
    assert (joined.acts, joined.records) == (2, 2)
    other.check()
    theirs = reading.rug_book(other, RUG.id)
    assert (theirs.orders, theirs.payments) == ((), ())
    assert len(theirs.sessions) == 1
    assert {entry.kind for entry in diary.entries(other)} == {ActKind.RUG_PLANNED, ActKind.SESSION_LOGGED}


def test_both_phones_go_on_and_an_order_that_comes_later_is_whole(open_book, tmp_path) -> None:
    book = with_an_order(open_book)
    other = open_book("other.loomside", device_name="birch")
    write_exchange(book, tmp_path / "first", orders=False)
    join(other, tmp_path / "first")
    entered(other, ActKind.SESSION_LOGGED, session(RUG.id, rows=7))
    write_exchange(other, tmp_path / "back")
    join(book, tmp_path / "back")
    mine = reading.rug_book(book, RUG.id)
    assert (mine.orders[0].price, len(mine.payments), len(mine.sessions)) == (2631.25, 1, 2)
    write_exchange(book, tmp_path / "second", orders=True)
    join(other, tmp_path / "second")
    other.check()
    assert everything(reading.rug_book(other, RUG.id)) == everything(reading.rug_book(book, RUG.id))


def test_an_act_of_an_order_and_more_goes_along_without_the_order(open_book, tmp_path) -> None:
    book = open_book("mine.loomside", device_name="ash")
    entered(book, "entered", RUG, ORDER, session(RUG.id))
    write_exchange(book, tmp_path / "file", orders=False)
    assert "miller" not in lines(tmp_path / "file")
    other = open_book("other.loomside", device_name="birch")
    join(other, tmp_path / "file")
    other.check()
    theirs = reading.rug_book(other, RUG.id)
    assert (theirs.orders, len(theirs.sessions)) == ((), 1)
    write_exchange(book, tmp_path / "whole")
    join(other, tmp_path / "whole")
    other.check()
    assert reading.rug_book(other, RUG.id).orders[0].customer == "the miller"
