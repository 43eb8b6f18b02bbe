"""Acts: whole or not at all, never erasing, undone and done again; the diary and the history tell them."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from storage import diary, history, reading, writers
from storage.convert import KIND_NAMES, SHARED_COLUMNS, kind_named, kind_of
from tests.storage.book_samples import bare, one_of_every_kind, plan, session
from tracker.domain.errors import BadEntry, BookDamaged, BookTrouble
from tracker.domain.lot_moves import MovedLot
from tracker.domain.rug import Cartoon, Role, RugBook, Setting, Weaver, Yarn, new_id
from tracker.domain.rules import DEVICE_NAME_KEY

GATHERED = ("warp_parts", "sat_before")
"""What a rug's book gathers from others' entries."""


def all_values(book, rug_id):
    told = reading.rug_book(book, rug_id)
    parts = [told.plan, told.cartoon, told.loom]
    for name in RugBook.__dataclass_fields__:
        if name not in ("plan", "cartoon", "loom", *GATHERED):
            parts += getattr(told, name)
    parts += reading.lot_moves(book)
    # What a move makes of a lot is reckoned as it is read; it is no entry.
    return {value.id: bare(value) for value in parts if value is not None and not isinstance(value, MovedLot)}


def counted(book, table):
    with book.reading() as connection:
        return connection.exec_driver_sql(f'SELECT count(*) FROM "{table}"').scalar()


def test_every_kind_of_value_comes_back_as_it_was_entered(open_book):
    book = open_book()
    values = one_of_every_kind()
    assert {kind_of(value).name for value in values} == set(KIND_NAMES)
    for value in values:
        with book.act("entered") as act:
            act.write(value)
    book.close()
    book = open_book()
    expected = {value.id: bare(value) for value in values if not isinstance(value, Setting)}
    assert all_values(book, values[0].id) == expected
    assert reading.setting(book, "language") == {"code": "tr", "sizes": [1, 2.5, None, True]}


def test_every_field_of_every_value_has_a_column():
    for name in KIND_NAMES:
        kind = kind_named(name)
        columns = set(kind.table.c.keys()) - {"version", *SHARED_COLUMNS}
        assert columns == set(kind.columns), name


def test_numbers_from_numpy_are_kept_as_plain_numbers(book):
    rug = plan(width_cm=np.float64(12.5), rows=np.int64(70), end_cm=-0.0)
    with book.act("rug planned") as act:
        act.write(rug)
    found = reading.rug_book(book, rug.id).plan
    assert type(found.width_cm) is float
    assert type(found.rows) is int
    assert (found.width_cm, found.rows, found.end_cm) == (12.5, 70, 0.0)


def test_a_correction_supersedes_and_a_withdrawal_hides_but_neither_erases(book):
    rug = plan()
    sat = session(rug.id, rows=4)
    with book.act("rug planned") as act:
        act.write(rug)
    with book.act("session logged") as act:
        act.write(sat)
    with book.act("session corrected") as act:
        act.write(replace(sat, rows=5))
    assert [one.rows for one in reading.rug_book(book, rug.id).sessions] == [5]
    with book.act("session withdrawn") as act:
        act.withdraw(sat.id)
    assert reading.rug_book(book, rug.id).sessions == ()
    assert counted(book, "session") == 3
    past = history.versions_of(book, sat.id)
    assert [(one.kind, one.value and one.value.rows, one.current) for one in past] == [
        ("session withdrawn", None, True),
        ("session corrected", 5, False),
        ("session logged", 4, False),
    ]
    assert not any(one.set_aside for one in past)


def test_an_exception_inside_an_act_writes_nothing(book):
    def interrupted():
        with book.act("rug planned") as act:
            act.write(plan())
            raise InterruptedError

    with pytest.raises(InterruptedError):
        interrupted()
    assert reading.rugs(book) == ()
    assert book.acts() == 0


def test_the_same_act_tried_again_is_one_act(book):
    rug = plan()
    with book.act("rug planned") as first:
        first.write(rug)
    with book.act("rug planned") as second:
        second.write(rug)
    assert second.act_id == first.act_id
    assert not second.stored
    assert book.acts() == 1
    first.commit()
    assert book.acts() == 1
    book.undo(second.act_id)
    assert reading.rugs(book) == ()


def test_an_unchanged_cartoon_is_not_written_again(book):
    rug = plan()
    cartoon = Cartoon(id=new_id(), rug_id=rug.id, cells=np.zeros((60, 40), np.uint8), palette=("#000000",))
    for _attempt in range(2):
        with book.act("cartoon chosen") as act:
            act.write(rug)
            act.write(replace(cartoon, cells=cartoon.cells.copy()))
    assert counted(book, "cartoon") == 1


def test_undo_restores_what_was_and_undoing_the_undo_is_redo(book):
    rug = plan()
    sat = session(rug.id, rows=4)
    with book.act("rug planned") as act:
        act.write(rug)
    with book.act("session logged") as act:
        act.write(sat)
    with book.act("two things") as both:
        both.write(replace(sat, rows=9))
        both.write(replace(rug, name="Renamed"))
    undone = book.undo(both.act_id)
    told = reading.rug_book(book, rug.id)
    assert (told.plan.name, told.rows_woven) == ("Sample rug", 4)
    assert set(undone.restored) == {sat.id, rug.id}
    assert undone.left == ()
    redone = book.undo(undone.act_id)
    told = reading.rug_book(book, rug.id)
    assert (told.plan.name, told.rows_woven) == ("Renamed", 9)
    book.undo(redone.act_id)
    assert reading.rug_book(book, rug.id).rows_woven == 4


def test_undo_of_a_first_entry_withdraws_it_and_undo_of_a_withdrawal_brings_it_back(book):
    rug = plan()
    with book.act("rug planned") as planned:
        planned.write(rug)
    with book.act("rug withdrawn") as gone:
        gone.withdraw(rug.id)
    assert reading.rugs(book) == ()
    book.undo(gone.act_id)
    assert [one.id for one in reading.rugs(book)] == [rug.id]
    undone = book.undo(planned.act_id)
    # The current version is the undo's, so the first act has nothing of its own left to undo.
    assert undone.act_id is None
    assert undone.left == (rug.id,)


def test_undo_leaves_and_reports_what_a_later_act_changed(book):
    rug = plan()
    sat = session(rug.id, rows=4)
    with book.act("started") as start:
        start.write(rug)
        start.write(sat)
    with book.act("session corrected") as act:
        act.write(replace(sat, rows=6))
    undone = book.undo(start.act_id)
    assert undone.restored == (rug.id,)
    assert undone.left == (sat.id,)
    with pytest.raises(BookTrouble, match="not in the book"):
        book.undo("no such act")


def test_records_are_ordered_by_day_then_entry_whatever_the_clock_says(book, clock):
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    days = [date(2026, 3, 3), date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 3)]
    jumps = [timedelta(0), timedelta(days=400), timedelta(days=-800), timedelta(hours=-5)]
    for number, (day, jump) in enumerate(zip(days, jumps, strict=True), start=1):
        clock.time += jump
        with book.act("session logged") as act:
            act.write(session(rug.id, day=day, rows=number))
    assert [one.rows for one in reading.rug_book(book, rug.id).sessions] == [2, 1, 3, 4]
    assert [entry.changes[0].after.rows for entry in diary.entries(book)[:4]] == [4, 3, 2, 1]


def test_a_corrected_record_keeps_its_place(book):
    rug = plan()
    first, second = session(rug.id, rows=1), session(rug.id, rows=2)
    for value in (rug, first, second, replace(first, rows=10)):
        with book.act("entered") as act:
            act.write(value)
    assert [one.rows for one in reading.rug_book(book, rug.id).sessions] == [10, 2]


def test_the_diary_tells_who_when_what_and_pages_and_searches(open_book, clock):
    book = open_book(device_name="old tablet")
    rug, other = plan(), plan(name="Other")
    made = []
    for value in (rug, other, session(rug.id, note="Çok güzel ÇİÇEK"), session(other.id, note="plain")):
        with book.act("entered") as act:
            act.write(value)
        made.append(act.act_id)
    entries = diary.entries(book)
    assert [entry.act_id for entry in entries] == list(reversed(made))
    assert {entry.device.name for entry in entries} == {"old tablet"}
    assert entries[-1].made_at == datetime(2026, 3, 2, 18, 0, 1, tzinfo=UTC)
    assert [entry.act_id for entry in diary.entries(book, limit=2, offset=1)] == [made[2], made[1]]
    assert [entry.act_id for entry in diary.entries(book, rug_id=rug.id)] == [made[2], made[0]]
    assert [entry.act_id for entry in diary.entries(book, text="çok GÜZEL")] == [made[2]]
    assert [entry.act_id for entry in diary.entries(book, text="plain", rug_id=other.id)] == [made[3]]
    assert diary.entries(book, text="plain", rug_id=rug.id) == ()
    assert diary.entries(book, text="100%") == ()
    assert diary.entries(book, kinds=("nothing",)) == ()


def test_the_diary_tells_what_was_before_and_what_can_be_undone(book):
    rug = plan()
    sat = session(rug.id, rows=4)
    with book.act("rug planned") as act:
        act.write(rug)
    with book.act("session logged") as act:
        act.write(sat)
    with book.act("session corrected") as corrected:
        corrected.write(replace(sat, rows=5))
    undone = book.undo(corrected.act_id)
    newest, correction, entry, _planned = diary.entries(book)
    assert (newest.act_id, newest.undoes_id) == (undone.act_id, corrected.act_id)
    (change,) = correction.changes
    assert (change.before.rows, change.after.rows, change.current) == (4, 5, False)
    assert (correction.undone, correction.undoable) == (True, False)
    assert (entry.undone, newest.undone, newest.undoable) == (False, False, True)
    book.undo(undone.act_id)
    assert [one.undone for one in diary.entries(book)] == [False, True, False, False, False]


def test_many_undos_and_redos_end_where_they_should(book):
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    latest = act.act_id
    for turn in range(1, 61):
        latest = book.undo(latest).act_id
        assert len(reading.rugs(book)) == (turn + 1) % 2
    assert diary.entries(book, limit=100)[-1].undone is False


def test_settings_and_device_names(open_book):
    book = open_book(device_name="this phone")
    with book.act("language chosen") as act:
        act.set("language", "fa")
    with book.act("phone named") as act:
        act.set(DEVICE_NAME_KEY + book.device_id, "red phone")
    assert reading.setting(book, "language") == "fa"
    assert reading.setting(book, "units", "cm") == "cm"
    assert writers.device(book).name == "red phone"
    assert [past.value.value for past in history.versions_of(book, "language")] == ["fa"]


def test_an_id_cannot_change_its_kind_or_rug(book):
    rug, other = plan(), plan()
    sat = session(rug.id)
    with book.act("entered") as act:
        for value in (rug, other, sat):
            act.write(value)
    with pytest.raises(BadEntry, match="identity"), book.act("moved") as act:
        act.write(replace(sat, rug_id=other.id))
    with pytest.raises(BadEntry, match="identity"), book.act("mixed up") as act:
        act.write(Yarn(id=sat.id, rug_id=rug.id, role=Role.PILE, number=1, name="red"))
    with pytest.raises(BadEntry, match="not in the book"), book.act("withdrawn") as act:
        act.withdraw(new_id())


def test_a_changed_or_lost_row_is_noticed_when_it_is_read(open_book):
    book = open_book()
    rug = plan()
    with book.act("started") as act:
        act.write(rug)
        act.write(session(rug.id, rows=4))
        act.write(session(rug.id, rows=5))
    path = book.path
    book.close()
    original = path.read_bytes()
    for harm in (
        "UPDATE session SET rows = 40 WHERE version = 1",
        "DELETE FROM session WHERE version = 2",
        "UPDATE session SET withdrawn = 1 WHERE version = 1",
        "UPDATE session SET rug_id = 'x'",
        "UPDATE session SET clock = 7",
        "UPDATE act SET clock = 7",
    ):
        with sqlite3.connect(path) as connection:
            connection.execute(harm)
        connection.close()
        with pytest.raises(BookDamaged):
            open_book()
        path.write_bytes(original)
    assert reading.rug_book(open_book(), rug.id).rows_woven == 9


def test_an_act_belongs_to_the_rug_it_was_done_for_though_what_it_wrote_is_of_the_whole_book(book):
    rug = plan()
    with book.act("rug planned", rug_id=rug.id) as act:
        act.write(rug)
    with book.act("weaver added", rug_id=rug.id) as act:
        act.write(Weaver(id="ann", name="Ann"))
    with book.act("weaver added") as act:
        act.write(Weaver(id="bo", name="Bo"))
    assert [entry.rug_id for entry in diary.entries(book)] == [None, rug.id, rug.id]


def test_undoing_what_was_corrected_since_writes_nothing_and_says_what_it_left(book):
    rug = plan()
    with book.act("rug planned") as first:
        first.write(rug)
    with book.act("plan changed") as act:
        act.write(replace(rug, name="Another name"))
    acts = counted(book, "act")
    undone = book.undo(first.act_id)
    assert (undone.act_id, undone.restored, undone.left) == (None, (), (rug.id,))
    assert counted(book, "act") == acts
    assert reading.rug_book(book, rug.id).plan.name == "Another name"
