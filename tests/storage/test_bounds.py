"""Work and memory are bounded over a whole file and a whole book: small files that unpack to very much stay cheap."""

from __future__ import annotations

import base64
import json
import struct
import time
import zlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from storage import convert, diary, exchange, history, limits, migrations, reading
from tests.storage.book_samples import entry_fields, plan, session
from tests.storage.test_fuzz import lines_of, pack
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.rug import Cartoon, new_id

SIDE = 6300
BLANK = base64.b64encode(
    struct.pack(">II", SIDE, SIDE) + zlib.compress(bytes(SIDE * SIDE), 9)
).decode()  # 39.7 million cells in 52 kB


@pytest.fixture
def unpacked(monkeypatch) -> list[int]:
    """The cells of every cartoon that is unpacked from here on."""
    counted: list[int] = []
    unpack = convert.StoredCells.unpack

    def count(cells: convert.StoredCells) -> Any:
        counted.append(cells.shape[0] * cells.shape[1])
        return unpack(cells)

    monkeypatch.setattr(convert.StoredCells, "unpack", count)
    return counted


def many_cartoons(path: Path, cartoons: int, corrections: int = 1) -> tuple[Path, str]:
    """Write a file of one rug with so many blank cartoons, each corrected so often; return it and the rug's id."""
    rug_id, device = new_id(), new_id()
    lines: list[Any] = [["d", device, "other phone"]]
    versions = []
    rug = plan(id=rug_id)
    acts = [new_id() for _act in range(corrections)]
    for number, act_id in enumerate(acts, start=1):
        wrote = cartoons + (number == 1)
        lines.append(["a", act_id, device, number, 0, "rug planned", rug_id, None, wrote, 0])
    versions.append(["v", "rug_plan", rug_id, rug_id, acts[0], None, 0, entry_fields(rug)])
    for cartoon in range(cartoons):
        for number, act_id in enumerate(acts):
            follows = acts[number - 1] if number else None
            told = {"cells": BLANK, "palette": '["#C8B89A"]', "source_name": f"{number}.png"}
            versions.append(["v", "cartoon", f"cartoon{cartoon}", rug_id, act_id, follows, 0, told])
    header = {
        "file": exchange.MARK, "schema": migrations.NEWEST, "acts": len(acts), "versions": len(versions),
    }  # fmt: skip
    return pack([header, *lines, *versions], path), rug_id


def test_a_small_file_of_sixty_carpets_is_refused_before_they_are_unpacked(book, tmp_path, unpacked):
    file, _rug = many_cartoons(tmp_path / "swollen.file", 60)
    assert file.stat().st_size < 200_000
    with pytest.raises(BookTrouble) as refused:
        exchange.join(book, file)
    assert "larger than any book" in refused.value.sentence
    assert sum(unpacked) <= limits.BOOK_CELLS
    assert book.acts() == 0


def test_a_book_of_many_carpets_and_corrections_unpacks_only_the_one_that_counts(book, tmp_path, unpacked):
    file, rug_id = many_cartoons(tmp_path / "carpets.file", 3, corrections=3)
    exchange.join(book, file)
    assert sum(unpacked) == 9 * SIDE * SIDE  # each is looked at once when it comes in
    unpacked.clear()
    told = reading.rug_book(book, rug_id)
    assert told.cartoon is not None
    assert told.cartoon.cells.shape == (SIDE, SIDE)
    assert told.set_aside == ()
    assert unpacked == [SIDE * SIDE]
    unpacked.clear()
    book.check()
    (rug,) = reading.rugs(book)
    for entry in diary.entries(book):
        assert entry.changes
        for change in entry.changes:
            if change.kind == "cartoon":
                assert (change.after.rows, change.after.knots_across) == (SIDE, SIDE)
    assert len(history.versions_of(book, "cartoon0")) == 3
    assert rug.id == rug_id
    assert unpacked == []


def test_a_second_file_that_would_swell_the_book_is_refused_and_changes_nothing(
    open_book, tmp_path, monkeypatch
):
    monkeypatch.setattr(limits, "BOOK_CELLS", 3 * SIDE * SIDE)
    book = open_book()
    first, _rug = many_cartoons(tmp_path / "first.file", 2)
    second, _rug = many_cartoons(tmp_path / "second.file", 2)
    exchange.join(book, first)
    acts = book.acts()
    with pytest.raises(BookTrouble):
        exchange.join(book, second)
    assert book.acts() == acts
    book.check()


def test_a_cartoon_too_many_is_refused_when_it_is_entered_too(book, monkeypatch):
    monkeypatch.setattr(limits, "BOOK_CELLS", 5000)
    rug = plan()
    cells = np.zeros((60, 40), np.uint8)
    cartoon = Cartoon(id=new_id(), rug_id=rug.id, cells=cells, palette=("#C8B89A",))
    with book.act("rug planned") as act:
        act.write(rug)
        act.write(cartoon)
    with book.act("plan changed") as act:
        act.write(replace(cartoon, source_name="again"))
    with pytest.raises(BadEntry, match="book of its own"), book.act("plan changed") as act:
        act.write(replace(cartoon, source_name="once more"))
    with book.act("plan changed") as act:
        act.withdraw(cartoon.id)
    assert reading.rug_book(book, rug.id).cartoon is None


def test_more_entries_of_one_rug_than_a_reading_can_bear_are_refused(open_book, tmp_path, monkeypatch):
    monkeypatch.setattr(limits, "RUG_VERSIONS", 5)
    one, other = open_book(), open_book("other.loomside")
    rug = plan()
    with one.act("rug planned") as act:
        act.write(rug)
    for rows in range(5):
        with one.act("session logged") as act:
            act.write(session(rug.id, rows=rows))
    exchange.write_exchange(one, tmp_path / "file")
    with pytest.raises(BookTrouble, match="larger than any book"):
        exchange.join(other, tmp_path / "file")


def test_undo_and_redo_without_end_are_told_in_one_query(open_book, tmp_path):
    """A chain of undoes, however long a file makes it, is followed by the database, not a query a link."""
    from sqlalchemy import event

    book = open_book()
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    last = act.act_id
    for _time in range(60):
        last = book.undo(last).act_id
    asked = []
    event.listen(book.engine, "before_cursor_execute", lambda *told: asked.append(told[2]))
    entries = diary.entries(book, limit=1, offset=60)
    assert entries[0].undone is False  # undone and redone thirty times
    assert sum("undoes_id" in query for query in asked) < 10


def test_an_act_that_undoes_a_later_one_is_refused(open_book, tmp_path):
    one, other = open_book(), open_book("other.loomside")
    with one.act("rug planned") as act:
        act.write(plan())
    one.undo(act.act_id)
    exchange.write_exchange(one, tmp_path / "file")
    lines = lines_of(tmp_path / "file")
    first, second = (line for line in lines[1:] if line[0] == "a")
    first[7] = second[1]
    with pytest.raises(BookTrouble):
        exchange.join(other, pack(lines, tmp_path / "round.file"))


def test_what_a_version_costs_when_it_comes_in_is_no_more_than_a_few_times_what_it_costs_to_write(
    open_book, tmp_path
):
    """The yardstick is entering the same values on this phone; it keeps out work that grows with the square."""
    one, other = open_book(), open_book("other.loomside")
    rug = plan()
    began = time.process_time()
    with one.act("rug planned") as act:
        act.write(rug)
        for number in range(2000):
            act.write(session(rug.id, rows=number % 9, note=json.dumps(number)))
    entering = time.process_time() - began
    exchange.write_exchange(one, tmp_path / "file")
    began = time.process_time()
    exchange.join(other, tmp_path / "file")
    assert time.process_time() - began < 4 * entering
