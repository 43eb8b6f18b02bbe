"""Looms in a book: who sat there last, whose warp is shared, and what two phones make of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.storage.book_samples import plan, session
from tests.storage.test_book_port import book, entered  # noqa: F401 - a fixture
from tracker.app.book_port import BookPort
from tracker.domain.loom import Loom, WarpLay
from tracker.domain.rug import RugPlan, Weaver
from tracker.presenters.session import blank_form

LOOM = Loom(id="loom", name="Low loom", seats=2)
ANN, BO = Weaver(id="ann", name="Ann"), Weaver(id="bo", name="Bo")


def two_on_one_warp(book: BookPort) -> tuple[RugPlan, RugPlan]:  # noqa: F811
    first = plan(name="First", loom_id="loom")
    second = plan(name="Second", loom_id="loom", warp_after=first.id, warp_lay=WarpLay.BEHIND)
    entered(book, LOOM, ANN, BO, first)
    entered(book, second)
    return first, second


def test_rugs_of_one_warp_are_read_with_each_other_until_one_leaves_it(book: BookPort) -> None:  # noqa: F811
    first, second = two_on_one_warp(book)
    for rug in (first, second):
        read = book.rug_book(rug.id)
        assert read.loom is not None
        assert read.loom.name == "Low loom"
        assert [part.name for part in read.warp_parts] == ["First", "Second"]
    entered(book, session(first.id, rows=60))
    assert [part.done for part in book.rug_book(second.id).warp_parts] == [True, False]
    entered(book, replace(second, loom_id=None))
    assert book.rug_book(first.id).warp_parts == ()


def test_a_loom_that_left_the_book_is_named_by_no_rug(book: BookPort) -> None:  # noqa: F811
    first, _second = two_on_one_warp(book)
    with book.act("entry withdrawn") as act:
        act.withdraw(LOOM.id)
    assert book.looms() == ()
    assert book.rug_book(first.id).loom is None


def test_who_sat_last_at_the_loom_is_offered_to_the_next_rug_on_it(book: BookPort) -> None:  # noqa: F811
    first, second = two_on_one_warp(book)
    assert book.rug_book(second.id).sat_before == ()
    places = (("bo", 1, 20), ("ann", 21, 40))
    entered(book, session(first.id, day=date(2026, 3, 4), weavers=("ann", "bo"), places=places))
    entered(book, session(first.id, day=date(2026, 3, 3), weavers=("ann",)))
    read = book.rug_book(second.id)
    assert read.sat_before == ("bo", "ann")
    form = blank_form(read, date(2026, 3, 9))
    assert form.weavers == ("bo", "ann")
    assert form.places == (("bo", 1, 20), ("ann", 21, 40))
    entered(book, session(second.id, weavers=("ann",)))
    assert book.rug_book(second.id).sat_before == ()
    elsewhere = plan(name="Elsewhere")
    entered(book, elsewhere)
    assert book.rug_book(elsewhere.id).sat_before == ()
