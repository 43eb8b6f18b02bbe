"""What another phone's file may do to this phone's book: nothing unseen, nothing that cannot be taken back."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from storage import copies, reading, writers
from storage.book import Book
from storage.exchange import join, write_exchange
from storage.merge import undo_join
from storage.places import damaged_folder
from tests.storage.book_samples import Clock, entry_fields, one_of_every_kind, plan, session
from tests.storage.test_fuzz import lines_of, pack
from tests.storage.test_joining import enter, give, told
from tracker.domain.errors import BookTrouble, NotOurs
from tracker.domain.rug import new_id
from tracker.domain.rules import DEVICE_NAME, DEVICE_NAME_KEY


@pytest.fixture
def phones(open_book):
    return open_book("ash.loomside", device_name="ash"), open_book("birch.loomside", device_name="birch")


def joining_copies(book: Book) -> list[copies.Copy]:
    return [copy for copy in copies.list_copies(book.path) if copy.reason == copies.BEFORE_JOINING]


# --- the copy before


def test_a_checked_copy_is_made_before_something_new_comes_in(phones):
    mine, other = phones
    rug = plan()
    enter(mine, rug)
    enter(other, plan())
    give(other, mine)
    (copy,) = joining_copies(mine)
    assert copy.clock == 1
    copies.restore(mine, copy.path)
    assert [one.id for one in reading.rugs(mine)] == [rug.id]


def test_nothing_is_copied_when_nothing_new_comes_or_the_file_is_refused(phones, tmp_path):
    mine, other = phones
    enter(other, plan())
    give(other, mine)
    before = len(joining_copies(mine))
    assert give(other, mine).nothing_new
    (tmp_path / "bad.file").write_bytes(b"no file of ours")
    with pytest.raises(BookTrouble):
        join(mine, tmp_path / "bad.file")
    assert len(joining_copies(mine)) == before


def test_without_room_for_the_copy_nothing_is_joined(phones, monkeypatch):
    mine, other = phones
    enter(other, plan())

    def full(*_told: Any, **_more: Any) -> None:
        raise BookTrouble("There is no room left.")

    monkeypatch.setattr(copies, "_copy", full)
    with pytest.raises(BookTrouble, match="no room"):
        give(other, mine)
    assert mine.acts() == 0


# --- taking a whole join back


def test_a_whole_join_is_taken_back_by_one_act_and_that_act_too(phones):
    mine, other = phones
    values = one_of_every_kind()
    enter(mine, *values)
    give(mine, other)
    sat = next(value for value in values if type(value).__name__ == "Session")
    before = told(mine)
    enter(other, replace(sat, rows=8), session(values[0].id, rows=3))
    with other.act("rug withdrawn") as act:
        act.withdraw(values[2].id)
    joined = give(other, mine)
    after = told(mine)
    assert after["rugs"] != before["rugs"]
    undone = undo_join(mine, joined.act_ids)
    assert undone.left == ()
    assert told(mine)["rugs"] == before["rugs"]
    assert told(mine)["settings"] == before["settings"]
    assert mine.acts() == 4  # nothing is erased: what came is still in the diary
    mine.undo(undone.act_id)
    assert told(mine)["rugs"] == after["rugs"]
    mine.check()
    give(mine, other)
    assert told(mine) == told(other)


def test_what_was_entered_after_the_join_stays_when_the_join_is_taken_back(phones):
    mine, other = phones
    rug = plan()
    sat = session(rug.id, rows=1)
    enter(mine, rug, sat)
    give(mine, other)
    enter(other, replace(sat, rows=2), session(rug.id, rows=5))
    joined = give(other, mine)
    enter(mine, replace(sat, rows=7))
    evening = session(rug.id, rows=4)
    enter(mine, evening)
    undone = undo_join(mine, joined.act_ids)
    assert undone.left == (sat.id,)
    rows = {one.id: one.rows for one in reading.rug_book(mine, rug.id).sessions}
    assert rows == {sat.id: 7, evening.id: 4}


def test_a_join_of_which_nothing_is_left_is_not_taken_back_again(phones):
    mine, other = phones
    enter(other, plan())
    joined = give(other, mine)
    assert undo_join(mine, joined.act_ids).act_id is not None
    assert undo_join(mine, joined.act_ids).act_id is None
    assert undo_join(mine, ["nothing of the book"]).act_id is None


# --- acts in this phone's own name


def forge(
    source: Book, target: Path, device: str, clock: int, versions: list[list[Any]], **told: Any
) -> Path:
    """Write the file of a book with one act more, made up in the name of a device."""
    write_exchange(source, target)
    lines = lines_of(target)
    act_id = new_id()
    act = ["a", act_id, device, clock, 0, "rug withdrawn", None, told.get("undoes"), len(versions), 0]
    new = [
        ["v", kind, record, rug, act_id, follows, gone, fields]
        for kind, record, rug, follows, gone, fields in versions
    ]
    lines[0]["acts"] += 1
    lines[0]["versions"] += len(new)
    where = next(place for place, line in enumerate(lines) if place and line[0] == "v")
    return pack([*lines[:where], act, *lines[where:], *new], target)


def withdrawal(book: Book, rug: Any, follows: str) -> list[Any]:
    return ["rug_plan", rug.id, rug.id, follows, 1, entry_fields(rug)]


@pytest.mark.parametrize("count", [1, 2, 7])
def test_a_forged_withdrawal_in_this_phones_own_name_is_refused(phones, tmp_path, count):
    mine, other = phones
    rug = plan()
    entered = enter(mine, rug)
    enter(mine, session(rug.id))
    give(mine, other)
    before = told(mine)
    file = forge(other, tmp_path / "forged", mine.device_id, count, [withdrawal(mine, rug, entered)])
    with pytest.raises(BookTrouble) as refused:
        join(mine, file)
    assert "this phone's name" in refused.value.sentence
    assert told(mine) == before


def test_what_this_phone_cannot_have_said_is_refused_even_of_a_book_put_back(phones, tmp_path):
    mine, other = phones
    rug = plan()
    entered = enter(mine, rug)
    give(mine, other)
    unknown = forge(other, tmp_path / "unknown", mine.device_id, 9, [withdrawal(mine, rug, new_id())])
    with pytest.raises(BookTrouble, match="cannot have made"):
        join(mine, unknown, put_back=True)
    early = forge(other, tmp_path / "early", mine.device_id, 1, [withdrawal(mine, rug, entered)])
    with pytest.raises(BookTrouble, match="cannot have made"):
        join(mine, early, put_back=True)
    assert mine.acts() == 1


@pytest.fixture(params=["on a new phone", "in its own place"])
def put_back(request, open_book, tmp_path) -> tuple[Book, Book, Any]:
    """This phone's book put back from a copy two evenings old, and the other phone's, which knows both evenings."""
    mine, other = open_book("mine.loomside"), open_book("other.loomside", device_name="other")
    rug = plan()
    enter(mine, rug)
    copy = copies.copy_now(mine)
    kept = tmp_path / "card.book"
    shutil.copy(copy.path, kept)
    for rows in (3, 4):
        enter(mine, session(rug.id, rows=rows))
    give(mine, other)
    mine.close()
    if request.param == "in its own place":
        shutil.copy(kept, mine.path)
        return open_book("mine.loomside", as_it_is=True), other, rug
    shutil.copy(kept, tmp_path / "moved.loomside")
    return open_book("moved.loomside"), other, rug


def test_a_book_put_back_from_a_copy_gets_its_own_evenings_again(put_back):
    mine, other, rug = put_back
    assert reading.rug_book(mine, rug.id).rows_woven == 0
    joined = give(other, mine)
    assert joined.own_acts == 2
    assert reading.rug_book(mine, rug.id).rows_woven == 7
    mine.check()


def test_a_book_put_back_that_went_on_asks_before_it_takes_its_own_evenings(put_back):
    mine, other, rug = put_back
    enter(mine, session(rug.id, rows=10))
    with pytest.raises(NotOurs):
        give(other, mine)
    file = mine.path.with_name("gift.loomside-exchange")
    assert join(mine, file, put_back=True).own_acts == 2
    assert reading.rug_book(mine, rug.id).rows_woven == 17
    mine.check()
    write_exchange(mine, file)
    join(other, file)
    assert told(mine)["rugs"] == told(other)["rugs"]


def test_a_rescued_book_takes_back_its_own_last_evening(open_book, tmp_path):
    mine, other = open_book("mine.loomside"), open_book("other.loomside")
    rug = plan()
    enter(mine, rug)
    damaged_folder(mine.path).mkdir()
    give(mine, other)
    file = forge(other, tmp_path / "file", mine.device_id, 2, [
        ["session", new_id(), rug.id, None, 0, entry_fields(session(rug.id, rows=6))]
    ])  # fmt: skip
    assert join(mine, file).own_acts == 1


# --- what is told


def test_a_withdrawal_that_comes_by_a_join_is_told_with_its_name_and_by_whom(phones):
    mine, other = phones
    rug = plan(name="Garden")
    enter(mine, rug)
    give(mine, other)
    with other.act("rug withdrawn") as act:
        act.withdraw(rug.id)
    joined = give(other, mine)
    (gone,) = joined.withdrawn
    assert (gone.record_id, gone.kind, gone.value.name, gone.by.name) == (
        rug.id,
        "rug_plan",
        "Garden",
        "birch",
    )
    assert joined.conflicts == ()


def test_what_came_and_went_on_the_other_phone_is_no_withdrawal_here(phones):
    mine, other = phones
    rug = plan()
    enter(other, rug)
    with other.act("rug withdrawn") as act:
        act.withdraw(rug.id)
    assert give(other, mine).withdrawn == ()


# --- names of phones


def test_a_file_cannot_change_what_this_phone_is_called(phones, tmp_path):
    mine, other = phones
    enter(mine, plan())
    give(mine, other)
    with other.act("setting changed") as act:
        act.set(DEVICE_NAME_KEY + mine.device_id, "zzz")
    write_exchange(other, tmp_path / "file")
    lines = lines_of(tmp_path / "file")
    for line in lines[1:]:
        if line[0] == "d" and line[1] == mine.device_id:
            line[2] = "zzzz"
    join(mine, pack(lines, tmp_path / "renamed"))
    assert writers.device(mine).name == "ash"
    with mine.act("setting changed") as act:
        act.set(DEVICE_NAME_KEY + mine.device_id, "window")
    assert writers.device(mine).name == "window"
    mine.check()


def test_a_phones_name_is_bounded(phones, tmp_path):
    mine, other = phones
    enter(other, plan())
    write_exchange(other, tmp_path / "file")
    lines = lines_of(tmp_path / "file")
    next(line for line in lines[1:] if line[0] == "d")[2] = "x" * (DEVICE_NAME.most + 1)
    with pytest.raises(BookTrouble):
        join(mine, pack(lines, tmp_path / "long"))


def test_a_lost_name_of_this_phone_may_come_back_by_a_file(open_book, tmp_path):
    mine, other = open_book("mine.loomside", device_name="ash"), open_book("other.loomside", now=Clock())
    enter(mine, plan())
    give(mine, other)
    from storage.convert import seal_of_device

    with mine.writing() as connection:
        connection.exec_driver_sql(
            "UPDATE device SET name = '', seal = ? WHERE device_id = ?",
            (seal_of_device(mine.device_id, ""), mine.device_id),
        )
    give(other, mine)
    assert writers.device(mine).name == "ash"
