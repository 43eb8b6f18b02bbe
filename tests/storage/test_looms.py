"""Looms in a book: who sat there last, whose warp is shared, and what two phones make of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.storage.book_samples import plan, session
from tests.storage.test_book_port import book, entered  # noqa: F401 - a fixture
from tracker.app.book_port import BookPort
from tracker.domain.loom import Loom, WarpLay
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import Lot, Role, RugPlan, Spoilt, Weaver, Yarn, new_id
from tracker.domain.shopping import gathered_g
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


def test_what_one_rug_bought_of_the_warp_is_known_to_the_other(book: BookPort) -> None:  # noqa: F811
    first, second = two_on_one_warp(book)
    warps = [
        Yarn(id=new_id(), rug_id=rug.id, role=Role.WARP, number=1, name="Warp", swatch="#E4DAC4", tex=300.0)
        for rug in (first, second)
    ]
    day = date(2026, 3, 1)
    lot = Lot(id=new_id(), rug_id=first.id, yarn_id=warps[0].id, day=day, mass_g=900.0)
    entered(book, *warps, lot)
    entered(book, Spoilt(id=new_id(), rug_id=first.id, yarn_id=warps[0].id, day=day, mass_g=100.0))
    move = LotMove(
        id=new_id(), day=day, lot_id=lot.id, mass_g=250.0, from_rug_id=first.id, from_yarn_id=warps[0].id,
        to_rug_id=None, to_yarn_id=None,
    )  # fmt: skip
    entered(book, move)
    books = [book.rug_book(rug.id) for rug in (first, second)]
    for read in books:
        # 900 g less 100 g lost, less 250 g that went to the shelf.
        assert [part.gathered_g for part in read.warp_parts] == [550.0, 0.0]
    shares = [gathered_g(read, read.yarns_of(Role.WARP)[0]) for read in books]
    assert sum(shares) == pytest.approx(550.0)
    assert min(shares) > 0


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
