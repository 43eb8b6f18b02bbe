"""Damage: every page of a sample book broken in turn is noticed and rescued, and never silently wrong."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from storage import copies, diary, reading, writers
from storage.book import Book
from storage.exchange import join, write_exchange
from storage.places import damaged_folder
from storage.rescue import Rescued, rescue
from tests.storage.book_samples import Clock, everything, one_of_every_kind, plan, session
from tracker.domain.errors import BookDamaged, BookTrouble
from tracker.domain.rug import RugPlan, Session

PAGE = 4096


def told(book: Book) -> dict[str, Any]:
    """Return all that can be read of a book: rugs, settings, diary."""
    return {
        "rugs": {plan.id: everything(reading.rug_book(book, plan.id)) for plan in reading.rugs(book)},
        "settings": reading.settings(book),
        "diary": [
            (entry.act_id, entry.kind, entry.made_at, entry.undone, entry.device.name, len(entry.changes))
            for entry in diary.entries(book, limit=1000)
        ],
    }


def write_sample(path: Path, leave_journal: bool, sessions: int = 60) -> dict[str, Any]:
    """Make a book with some of everything, with 60 sessions large enough for trees of several pages; return what it tells."""
    book = Book.open(path, "sample phone", Clock())
    values = one_of_every_kind()
    rug_id = next(value.id for value in values if isinstance(value, RugPlan))
    with book.act("entered") as act:
        for value in values:
            act.write(value)
    for number in range(sessions):
        with book.act("session logged") as act:
            act.write(
                session(rug_id, date(2026, 3, 2) + timedelta(days=number), rows=number % 9, note="n" * 90)
            )
    sat = next(value for value in values if isinstance(value, Session))
    with book.act("session corrected") as act:
        act.write(replace(sat, rows=6))
    if leave_journal:
        book.close()
        book = Book.open(path, "sample phone", Clock())
        for number in range(12):
            with book.act("session logged") as act:
                act.write(session(rug_id, date(2026, 6, 2) + timedelta(days=number), rows=2))
    everything_told = told(book)
    if leave_journal:
        # As a killed app leaves it: what was entered last is in the journal only.
        for tail in ("", "-wal", ".lock"):
            shutil.copy(f"{path}{tail}", f"{path}.left{tail}")
        book.close()
        for tail in ("", "-wal", ".lock"):
            shutil.move(f"{path}.left{tail}", f"{path}{tail}")
    else:
        book.close()
    return everything_told


@pytest.fixture(scope="module")
def closed_sample(quick_root) -> tuple[Path, dict[str, Any]]:
    """A book that was closed properly."""
    folder = quick_root / "closed"
    folder.mkdir()
    return folder, write_sample(folder / "book.loomside", leave_journal=False)


@pytest.fixture(scope="module")
def killed_sample(quick_root) -> tuple[Path, dict[str, Any]]:
    """A book whose app was killed, with its journal."""
    folder = quick_root / "killed"
    folder.mkdir()
    return folder, write_sample(folder / "book.loomside", leave_journal=True)


def put(sample: Path, folder: Path) -> Path:
    """Return the path of a fresh copy of the sample."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(sample, folder)
    return folder / "book.loomside"


def outcome(path: Path, expected: dict[str, Any]) -> str:
    """Open a broken book as the app does; return "same" or "noticed"; anything else fails."""
    try:
        book = Book.open(path, now=Clock())
    except BookTrouble:
        return "noticed"
    try:
        book.check()
        found = told(book)
    except BookTrouble:
        return "noticed"
    finally:
        book.close()
    assert found == expected, "silently wrong"
    return "same"


def subset(part: dict[str, Any], whole: dict[str, Any]) -> bool:
    """Tell whether everything in `part` was really entered; sessions may be there as before their correction."""
    entered = {repr(value) for rug in whole["rugs"].values() for values in rug.values() for value in values}
    return {entry[0] for entry in part["diary"]} <= {entry[0] for entry in whole["diary"]} and all(
        value is None or repr(value) in entered or name == "sessions"
        for rug in part["rugs"].values()
        for name, values in rug.items()
        for value in values
    )


def rescued_and_sound(path: Path, expected: dict[str, Any]) -> tuple[Rescued | None, bool]:
    """Rescue a broken book; check that the result is sound, true and kept the damaged file."""
    broken = path.read_bytes() if path.exists() else None
    try:
        report = rescue(path, now=Clock())
    except BookTrouble:
        assert broken is None or path.read_bytes() == broken
        return None, False
    if broken is not None:
        assert (report.damaged_in / path.name).read_bytes() == broken
    with Book.open(path, now=Clock()) as book:
        book.check()
        found = told(book)
    assert subset(found, expected)
    same = found == expected
    assert same or not report.whole, "something is missing and the report does not say so"
    return report, same


def breaks(size: int, every: int) -> list[tuple[str, Callable[[bytearray], bytearray]]]:
    """Return named ways to break a file of `size` bytes, `every` page: a byte flipped, a page blanked, a file cut."""
    chance = random.Random(size)

    def flip(at: int, mask: int) -> Callable[[bytearray], bytearray]:
        def harm(data: bytearray) -> bytearray:
            data[at] ^= mask
            return data

        return harm

    def blank(start: int) -> Callable[[bytearray], bytearray]:
        def harm(data: bytearray) -> bytearray:
            data[start : start + PAGE] = bytes(len(data[start : start + PAGE]))
            return data

        return harm

    def cut(at: int) -> Callable[[bytearray], bytearray]:
        return lambda data: data[:at]

    ways: list[tuple[str, Callable[[bytearray], bytearray]]] = []
    for start in range(0, size, PAGE * every):
        end = min(start + PAGE, size)
        for _time in range(2):
            at = chance.randrange(start, end)
            ways.append((f"byte {at} flipped", flip(at, chance.randrange(1, 256))))
        ways.append((f"first byte of page at {start} flipped", flip(start, 0xFF)))
        ways.append((f"page at {start} blank", blank(start)))
        ways.append((f"cut at {start}", cut(start)))
        ways.append((f"cut at {end - 100}", cut(max(0, end - 100))))
    return ways


def break_in_turn(
    sample: Path, expected: dict[str, Any], work: Path, tail: str, every: int
) -> dict[str, int]:
    """Break the sample's file in every way in turn; return how often what happened."""
    original = (sample / f"book.loomside{tail}").read_bytes()
    counts = {"same": 0, "noticed": 0, "rescued whole": 0, "rescued in part": 0, "refused": 0}
    for name, harm in breaks(len(original), every):
        path = put(sample, work)
        victim = path.with_name(path.name + tail)
        victim.write_bytes(harm(bytearray(original)))
        try:
            happened = outcome(path, expected)
            counts[happened] += 1
            if happened == "noticed":
                path = put(sample, work)
                path.with_name(path.name + tail).write_bytes(harm(bytearray(original)))
                report, whole = rescued_and_sound(path, expected)
                counts["refused" if report is None else "rescued whole" if whole else "rescued in part"] += 1
        except Exception as error:
            raise AssertionError(f"{tail or 'book'}: {name}") from error
    return counts


def test_breaking_pages_of_a_closed_book_in_turn(closed_sample, tmp_path):
    counts = break_in_turn(*closed_sample, tmp_path / "work", "", every=70)
    assert counts["noticed"] > 5
    assert counts["rescued whole"] + counts["rescued in part"] + counts["refused"] == counts["noticed"]
    print(counts)


def test_breaking_the_journal_of_a_killed_app_in_turn(killed_sample, tmp_path):
    counts = break_in_turn(*killed_sample, tmp_path / "work", "-wal", every=260)
    assert counts["noticed"] > 2
    print(counts)


@pytest.mark.slow
@pytest.mark.timeout(3000)
def test_breaking_every_page_in_turn(closed_sample, killed_sample, tmp_path, capsys):
    for sample, tail in ((closed_sample, ""), (killed_sample, ""), (killed_sample, "-wal")):
        counts = break_in_turn(*sample, tmp_path / "work", tail, every=1)
        with capsys.disabled():
            print(f"\n{sample[0].name}{tail}: {counts}")
        assert counts["noticed"] > 50


def test_a_copy_makes_a_rescue_whole(closed_sample, tmp_path):
    sample, expected = closed_sample
    path = put(sample, tmp_path / "work")
    with Book.open(path, now=Clock()) as book:
        copies.copy_now(book)
    data = bytearray(path.read_bytes())
    for start in range(0, len(data), 3 * PAGE):
        data[start : start + PAGE] = bytes(PAGE)
    path.write_bytes(data)
    with pytest.raises(BookDamaged):
        Book.open(path)
    report, same = rescued_and_sound(path, expected)
    assert same
    assert report is not None
    assert report.whole
    assert report.from_copy is not None
    assert any("copy" in sentence for sentence in report.sentences)


def test_a_book_that_is_gone_comes_back_from_its_copy(closed_sample, tmp_path):
    sample, expected = closed_sample
    path = put(sample, tmp_path / "work")
    with Book.open(path, now=Clock()) as book:
        copies.copy_now(book)
    path.unlink()
    with pytest.raises(BookDamaged):
        Book.open(path)
    _report, same = rescued_and_sound(path, expected)
    assert same


def test_a_rescue_cut_short_can_be_begun_again(closed_sample, tmp_path, monkeypatch):
    sample, expected = closed_sample
    path = put(sample, tmp_path / "work")
    data = bytearray(path.read_bytes())
    data[:PAGE] = bytes(PAGE)
    path.write_bytes(data)
    import os

    real = os.replace
    done = []

    def dies_before_the_last_step(source: Any, target: Any) -> None:
        if Path(target) == path:
            raise KeyboardInterrupt
        done.append(target)
        real(source, target)

    monkeypatch.setattr(os, "replace", dies_before_the_last_step)
    with pytest.raises(KeyboardInterrupt):
        rescue(path, now=Clock())
    monkeypatch.undo()
    assert not path.exists()
    assert list(damaged_folder(path).glob("*/book.loomside"))
    with pytest.raises(BookDamaged):
        Book.open(path)
    _report, same = rescued_and_sound(path, expected)
    assert same


def test_nothing_to_rescue_leaves_the_file_where_it_is(tmp_path):
    path = tmp_path / "book.loomside"
    with Book.open(path) as book, book.act("rug planned") as act:
        act.write(plan())
    path.write_bytes(b"\x00" * 20_000)
    with pytest.raises(BookDamaged):
        Book.open(path)
    with pytest.raises(BookTrouble, match="Nothing could be read"):
        rescue(path)
    assert path.read_bytes() == b"\x00" * 20_000
    report = rescue(path, start_anew=True)
    assert (report.damaged_in / path.name).read_bytes() == b"\x00" * 20_000
    with Book.open(path) as book:
        assert book.acts() == 0


def test_a_lost_name_of_a_phone_is_reported(closed_sample, tmp_path):
    sample, _expected = closed_sample
    path = put(sample, tmp_path / "work")
    data = path.read_bytes()
    assert data.count(b"sample phone") == 1
    path.write_bytes(data.replace(b"sample phone", b"simple phone"))
    with pytest.raises(BookDamaged):
        Book.open(path)
    report = rescue(path, now=Clock())
    assert (report.lost_names, report.lost_acts, report.torn_acts) == (1, 0, 0)
    assert any("name of a phone" in sentence for sentence in report.sentences)


def test_a_phone_keeps_its_identity_and_its_count_through_a_rescue(closed_sample, tmp_path):
    sample, _expected = closed_sample
    path = put(sample, tmp_path / "work")
    with Book.open(path, now=Clock()) as book:
        device = book.device_id
    data = bytearray(path.read_bytes())
    data[:PAGE] = bytes(PAGE)
    path.write_bytes(data)
    rescue(path, now=Clock())
    with Book.open(path, now=Clock()) as book:
        assert book.device_id == device
        assert [one.name for one in writers.devices(book)] == ["sample phone"]


def test_an_act_torn_by_damage_becomes_whole_by_joining(open_book, tmp_path):
    book = open_book()
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    with book.act("many at once") as act:
        for number in range(200):
            act.write(session(rug.id, rows=number % 5, note="long note " * 9))
    expected = told(book)
    write_exchange(book, tmp_path / "x")
    path = book.path
    book.close()
    with closing(sqlite3.connect(path)) as connection:
        pages = (
            [
                row[0]
                for row in connection.execute(
                    "SELECT pageno FROM dbstat WHERE name = 'session' AND pagetype = 'leaf' ORDER BY pageno"
                )
            ]
            if _has_dbstat(connection)
            else []
        )
    data = bytearray(path.read_bytes())
    page = pages[1] if pages else _page_with(data, b"long note")
    data[(page - 1) * PAGE : page * PAGE] = bytes(PAGE)
    path.write_bytes(data)
    report = rescue(path, now=Clock())
    assert report.torn_acts == 1
    assert not report.whole
    with Book.open(path, now=Clock()) as rescued:
        rescued.check()
        sessions = reading.rug_book(rescued, rug.id).sessions
        assert 100 < len(sessions) < 200
        write_exchange(rescued, tmp_path / "torn")
        with Book.open(tmp_path / "third", now=Clock()) as third:
            join(third, tmp_path / "torn")
            third.check()
            join(third, tmp_path / "x")
            third.check()
            assert len(reading.rug_book(third, rug.id).sessions) == 200
        assert join(rescued, tmp_path / "x").versions == 200 - len(sessions)
        rescued.check()
        assert told(rescued) == expected


def _has_dbstat(connection: sqlite3.Connection) -> bool:
    try:
        connection.execute("SELECT 1 FROM dbstat LIMIT 1")
    except sqlite3.OperationalError:
        return False
    return True


def _page_with(data: bytearray, text: bytes) -> int:
    """Return the number of the third page that holds `text`."""
    pages = [at // PAGE + 1 for at in range(0, len(data), PAGE) if text in data[at : at + PAGE]]
    return pages[2]


def test_versions_outlive_their_act_and_take_it_back_from_another_phone(open_book, tmp_path):
    book = open_book()
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    for number in range(5):
        with book.act("session logged") as act:
            act.write(session(rug.id, rows=number, note="kept"))
    expected = told(book)
    write_exchange(book, tmp_path / "x")
    path = book.path
    book.close()
    # As if the page of these acts were gone, but for the gap that only a lost page can leave.
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM act WHERE number IN (2, 3, 6)")
        connection.commit()
    with pytest.raises(BookDamaged):
        Book.open(path)
    report = rescue(path, now=Clock())
    assert (report.torn_acts, report.lost_acts, report.whole) == (3, 0, False)
    with Book.open(path, now=Clock()) as rescued:
        rescued.check()
        assert [one.rows for one in reading.rug_book(rescued, rug.id).sessions] == [0, 1, 2, 3, 4]
        assert sorted(entry.kind for entry in diary.entries(rescued)).count("rescued") == 3
        # The stand-ins travel like acts, and the true acts take their place wherever they meet.
        write_exchange(rescued, tmp_path / "rescued")
        with Book.open(tmp_path / "other", now=Clock()) as other:
            join(other, tmp_path / "rescued")
            other.check()
            join(other, tmp_path / "x")
            join(other, tmp_path / "rescued")
            other.check()
            assert told(other) == expected
        join(rescued, tmp_path / "x")
        rescued.check()
        assert told(rescued) == expected
        with rescued.act("session logged", rug.id) as act:
            act.write(session(rug.id, rows=7))
        rescued.check()


@pytest.mark.parametrize("table", ["tally", "act", "session"])
def test_a_book_that_lost_a_table_is_called_damaged_and_can_be_rescued(closed_sample, tmp_path, table):
    sample, expected = closed_sample
    path = put(sample, tmp_path / "broken")
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(f'DROP TABLE "{table}"')
        connection.commit()
    with pytest.raises(BookDamaged), Book.open(path, now=Clock()) as book:
        told(book)
    report, whole = rescued_and_sound(path, expected)
    assert report is not None
    # The tallies are counted anew from what is there.
    assert whole or table != "tally"
