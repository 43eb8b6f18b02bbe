"""The desk's port: the same checks on the book's file and on the book in memory that tests of the desk run on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tests.book_in_memory import BookInMemory
from tests.storage.book_samples import bare, one_of_every_kind, plan, session
from tracker.app.book_port import BookPort, open_file
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.lot_moves import LotMove, MovedLot
from tracker.domain.rug import Cartoon, DaysOff, Lot, RugPlan, Setting, Weaver, new_id


@pytest.fixture(params=["file", "memory"])
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[BookPort]:
    """An empty book of either kind."""
    opened = (
        open_file(tmp_path / "book.loomside", "this phone", False)
        if request.param == "file"
        else BookInMemory()
    )
    yield opened
    opened.close()


def entered(book: BookPort, *values: object, kind: str = "entered", rug_id: str | None = None) -> str:
    """Write values by one act; return its id."""
    with book.act(kind, rug_id) as act:
        for value in values:
            act.write(value)
    return act.act_id


def half_wrong(book: BookPort, value: object) -> None:
    """Write a value and withdraw what was never there, as one act."""
    with book.act("entered") as act:
        act.write(value)
        act.withdraw("no such record")


def rug_in(book: BookPort, name: str = "Garden") -> RugPlan:
    """Enter a rug."""
    rug = plan(name=name)
    entered(book, rug, kind=ActKind.RUG_PLANNED)
    return rug


def test_every_kind_of_entry_comes_back_as_it_was_written(book: BookPort) -> None:
    values = one_of_every_kind()
    entered(book, *values)
    rug = book.rug_book(values[0].id)
    held = [
        rug.plan, *rug.weavers, *rug.yarns, rug.cartoon, *rug.sessions, *rug.lots, *rug.weighings, *rug.spoilt,
        *rug.samples, *rug.measurements, *rug.days_off, *rug.preparations, *rug.after_steps, *rug.photos, *rug.wages,
        *rug.costs, *rug.pricings, *rug.lot_changes, *rug.marks, *book.lot_moves(), *rug.trims, *rug.hand_outs,
        *rug.orders, *rug.payments, *book.looms(),
    ]  # fmt: skip
    # What a move took is no entry of its own.
    held = [value for value in held if not isinstance(value, MovedLot)]
    assert book.lots() == tuple(lot for lot in rug.lots if not isinstance(lot, MovedLot))
    written = {value.id: bare(value) for value in values if not isinstance(value, Setting)}
    assert {value.id: bare(value) for value in held if value is not None} == written
    assert {value.born for value in held if value is not None} == {1}
    assert book.settings() == {"language": {"code": "tr", "sizes": [1, 2.5, None, True]}}
    assert rug.set_aside == ()


def test_rugs_come_in_the_order_of_entry_and_keep_apart(book: BookPort) -> None:
    first, second = rug_in(book, "First"), rug_in(book, "Second")
    mine = session(first.id)
    entered(book, mine, session(second.id, rows=9))
    assert [rug.name for rug in book.rugs()] == ["First", "Second"]
    assert [one.id for one in book.rug_book(first.id).sessions] == [mine.id]


def test_yarn_moved_from_rug_to_rug_counts_in_the_one_and_no_more_in_the_other(book: BookPort) -> None:
    first, second = rug_in(book, "First"), rug_in(book, "Second")
    lot = Lot(id=new_id(), rug_id=first.id, yarn_id="red", day=date(2026, 3, 1), mass_g=500.0, dye_lot="17")
    move = LotMove(
        id=new_id(), lot_id=lot.id, day=date(2026, 3, 2), mass_g=200.0, from_rug_id=first.id, from_yarn_id="red",
        to_rug_id=second.id, to_yarn_id="rose",
    )  # fmt: skip
    entered(book, lot)
    moved = entered(book, move, kind=ActKind.YARN_MOVED, rug_id=first.id)

    def lots_of(rug: RugPlan) -> list[tuple[str, float, str]]:
        return [(one.yarn_id, one.mass_g, one.dye_lot) for one in book.rug_book(rug.id).lots]

    assert lots_of(first) == [("red", 500.0, "17"), ("red", -200.0, "17")]
    assert lots_of(second) == [("rose", 200.0, "17")]
    assert [one.mass_g for one in book.lots()] == [500.0]
    assert [one.id for one in book.lot_moves()] == [move.id]
    # A correction of the purchase is known where it went; one that left the book left all rugs.
    entered(book, replace(lot, dye_lot="18", mass_g=150.0))
    assert lots_of(second) == [("rose", 150.0, "18")]
    with book.act(ActKind.ENTRY_WITHDRAWN) as act:
        act.withdraw(lot.id)
    assert lots_of(first) == lots_of(second) == []
    book.undo(act.act_id)
    book.undo(moved)
    assert lots_of(first) == [("red", 150.0, "18")]
    assert lots_of(second) == []


def test_a_cartoon_may_be_left_out(book: BookPort) -> None:
    rug = rug_in(book)
    entered(book, Cartoon(id=new_id(), rug_id=rug.id, cells=np.zeros((3, 2), np.uint8), palette=("#AA0000",)))
    cartoon = book.rug_book(rug.id).cartoon
    assert cartoon is not None
    assert cartoon.cells.shape == (3, 2)
    assert book.rug_book(rug.id, with_cartoon=False).cartoon is None


def test_sessions_come_by_day_and_on_one_day_by_entry(book: BookPort) -> None:
    rug = rug_in(book)
    late, early, again = (session(rug.id, day=date(2026, 3, day), rows=day) for day in (5, 3, 5))
    for one in (late, early, again):
        entered(book, one)
    assert [one.id for one in book.rug_book(rug.id).sessions] == [early.id, late.id, again.id]


def test_days_off_of_the_book_stand_with_those_of_the_rug(book: BookPort) -> None:
    rug = rug_in(book)
    feast = DaysOff(id=new_id(), rug_id=None, first_day=date(2026, 5, 1), last_day=date(2026, 5, 1))
    trip = DaysOff(id=new_id(), rug_id=rug.id, first_day=date(2026, 4, 1), last_day=date(2026, 4, 3))
    entered(book, feast, trip)
    assert [days.id for days in book.rug_book(rug.id).days_off] == [trip.id, feast.id]


def test_a_correction_takes_the_place_of_what_was_said(book: BookPort) -> None:
    rug = rug_in(book)
    woven = session(rug.id)
    entered(book, woven)
    corrected = entered(book, replace(woven, rows=6))
    (now,) = book.rug_book(rug.id).sessions
    assert (now.rows, now.born) == (6, 2)
    versions = book.history(woven.id)
    assert [(version.value.rows, version.current) for version in versions] == [(6, True), (4, False)]
    assert versions[0].act_id == corrected


def test_what_is_said_twice_is_written_once(book: BookPort) -> None:
    rug = rug_in(book)
    woven = session(rug.id)
    first = entered(book, woven)
    assert entered(book, woven) == first
    assert book.diary_count() == 2


def test_what_is_withdrawn_is_gone_and_its_history_stays(book: BookPort) -> None:
    rug = rug_in(book)
    woven = session(rug.id)
    entered(book, woven)
    with book.act("taken out") as act:
        act.withdraw(woven.id)
    assert book.rug_book(rug.id).sessions == ()
    assert [None if version.value is None else version.value.rows for version in book.history(woven.id)] == [
        None,
        4,
    ]


def test_an_act_that_fails_writes_nothing(book: BookPort) -> None:
    rug = rug_in(book)
    with pytest.raises(BadEntry):
        half_wrong(book, session(rug.id))
    with pytest.raises(BadEntry):
        entered(book, session(rug.id, rows=10**9))
    with pytest.raises(ZeroDivisionError), book.act("entered") as act:
        act.write(session(rug.id, rows=1 // 0))
    assert book.rug_book(rug.id).sessions == ()
    assert book.diary_count() == 1


def test_an_undo_puts_back_what_was_before_and_can_be_undone(book: BookPort) -> None:
    rug = rug_in(book)
    woven, more = session(rug.id), session(rug.id, rows=2)
    entered(book, woven)
    act_id = entered(book, replace(woven, rows=6), more)
    undone = book.undo(act_id)
    assert set(undone.restored) == {woven.id, more.id}
    assert undone.left == ()
    assert [one.rows for one in book.rug_book(rug.id).sessions] == [4]
    assert undone.act_id is not None
    book.undo(undone.act_id)
    assert sorted(one.rows for one in book.rug_book(rug.id).sessions) == [2, 6]


def test_an_undo_leaves_what_a_later_act_changed(book: BookPort) -> None:
    rug = rug_in(book)
    woven, more = session(rug.id), session(rug.id, rows=2)
    act_id = entered(book, woven, more)
    entered(book, replace(woven, rows=6))
    undone = book.undo(act_id)
    assert undone.left == (woven.id,)
    assert [one.rows for one in book.rug_book(rug.id).sessions] == [6]
    assert book.undo(act_id).act_id is None
    with pytest.raises(BookTrouble):
        book.undo("no such act")


def test_what_is_deleted_is_one_act_of_the_folded_diary(book: BookPort) -> None:
    rug = rug_in(book)
    woven = session(rug.id)
    logged = entered(book, woven, kind=ActKind.SESSION_LOGGED)
    corrected = entered(book, replace(woven, note="Rain"), kind=ActKind.SESSION_CORRECTED)
    with book.act(ActKind.SESSION_WITHDRAWN, rug.id) as act:
        act.withdraw(woven.id)
        deletion = act.act_id
    folded = [entry.act_id for entry in book.diary(rug.id, folded=True)]
    assert folded[0] == deletion
    assert not {logged, corrected} & set(folded)
    assert book.diary_count(rug.id, folded=True) == len(folded) == book.diary_count(rug.id) - 2
    assert {logged, corrected} <= {entry.act_id for entry in book.diary(rug.id)}
    # An act that entered something else beside it stands.
    with book.act(ActKind.SESSION_LOGGED, rug.id) as act:
        act.write(one := session(rug.id))
        act.write(session(rug.id))
        both = act.act_id
    with book.act(ActKind.SESSION_WITHDRAWN, rug.id) as act:
        act.withdraw(one.id)
    assert both in {entry.act_id for entry in book.diary(rug.id, folded=True)}
    # Restored, all that was said of it is told again.
    book.undo(deletion)
    assert {logged, corrected} <= {entry.act_id for entry in book.diary(rug.id, folded=True)}


def test_what_was_put_right_is_one_act_where_corrections_are_told_in_place(book: BookPort) -> None:
    rug = rug_in(book)
    woven = session(rug.id)
    logged = entered(book, woven, kind=ActKind.SESSION_LOGGED)
    corrected = entered(book, replace(woven, note="Rain"), kind=ActKind.SESSION_CORRECTED)

    def told(kinds: tuple[ActKind, ...] | None = None) -> set[str]:
        acts = book.diary(rug.id, kinds=kinds, mended_in_place=True)
        assert book.diary_count(rug.id, kinds=kinds, mended_in_place=True) == len(acts)
        return {act.act_id for act in acts} & {logged, corrected}

    assert told() == told((ActKind.SESSION_LOGGED, ActKind.SESSION_CORRECTED)) == {logged}
    # Where the act that entered it is not looked for, the correction tells of it.
    assert told((ActKind.SESSION_CORRECTED,)) == {corrected}
    (change,) = next(act for act in book.diary(rug.id) if act.act_id == logged).changes
    assert (change.after.note, change.now.note) == ("", "Rain")
    book.undo(corrected)
    assert told() == {logged, corrected}, "an undone correction is told with its undo"
    (change,) = next(act for act in book.diary(rug.id) if act.act_id == logged).changes
    assert change.now is None


def test_the_diary_tells_the_newest_first_and_what_was_undone(book: BookPort) -> None:
    rug = rug_in(book)
    woven = session(rug.id, note="By candle")
    logged = entered(book, woven, kind=ActKind.SESSION_LOGGED)
    undone = book.undo(logged)
    entries = book.diary(rug.id)
    assert [(entry.act_id, entry.undone, entry.undoable) for entry in entries[:2]] == [
        (undone.act_id, False, True),
        (logged, True, False),
    ]
    assert [entry.kind for entry in entries] == [
        ActKind.UNDONE,
        ActKind.SESSION_LOGGED,
        ActKind.RUG_PLANNED,
    ]
    assert entries[0].undoes_id == logged
    (change,) = entries[1].changes
    assert (change.kind, change.before, change.after.note, change.current) == (
        "session",
        None,
        "By candle",
        False,
    )
    assert [entry.act_id for entry in book.diary(kinds=(ActKind.SESSION_LOGGED,))] == [logged]
    assert logged in {entry.act_id for entry in book.diary(text="CANDLE")}
    assert [entry.act_id for entry in book.diary(limit=1, offset=1)] == [logged]
    assert book.diary_count(rug.id) == 3
    assert book.diary_count("another rug") == 0
    assert [book.entry(entry.act_id) for entry in entries] == list(entries)
    # Folded, what was undone is one line: the act that was undone, which says so and by which it can be done again.
    assert [entry.act_id for entry in book.diary(rug.id, folded=True)] == [logged, entries[2].act_id]
    assert book.diary_count(rug.id, folded=True) == 2
    assert entries[1].undone_by == undone.act_id
    again = book.undo(undone.act_id)
    stands, *_earlier = book.diary(rug.id, folded=True)
    assert (stands.act_id, stands.undone, stands.undone_by) == (logged, False, "")
    # What somebody changed since is not done again.
    book.undo(again.act_id)
    entered(book, replace(woven, note="By daylight"))
    assert book.entry(logged).undone_by == ""
    assert book.entry("0" * 32) is None


def test_who_sits_at_the_loom_and_what_the_phone_is_called(book: BookPort) -> None:
    rug = rug_in(book)
    left, right = (Weaver(id=new_id(), name=name) for name in ("Left seat", "Right seat"))
    entered(book, left)
    entered(book, right)
    assert [weaver.name for weaver in book.weavers()] == ["Left seat", "Right seat"]
    assert [weaver.name for weaver in book.rug_book(rug.id).weavers] == ["Left seat", "Right seat"]
    assert book.yarns() == ()
    assert book.phone_name() == "this phone"
    assert book.notice == ""


def test_what_is_not_there_is_said(book: BookPort) -> None:
    for ask in (lambda: book.rug_book("no such rug"), lambda: book.history("no such entry")):
        with pytest.raises(BookTrouble) as trouble:
            ask()
        assert trouble.value.sentence


def test_a_closed_book_says_so_and_closing_twice_does_no_harm(book: BookPort) -> None:
    book.close()
    book.close()
    with pytest.raises(BookTrouble):
        book.rugs()
