"""Journals that are not the book's: of another book, of an earlier time, of a kind that no book has."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from storage import copies, diary, reading
from storage.book import Book
from storage.journal import Journal, whose
from storage.places import lock_path, witness_path
from storage.rescue import rescue
from tests.storage.book_samples import Clock, plan, session
from tracker.domain.errors import BookDamaged


def wal(path: Path) -> Path:
    return path.with_name(path.name + "-wal")


def written(path: Path, name: str, acts: int, journal_of: int = 0) -> Path:
    """Make a book with a rug of that name; the last `journal_of` acts are in its journal only, as a killed app leaves it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with Book.open(path, name, Clock()) as book:
        rug = plan(name)
        with book.act("rug planned") as act:
            act.write(rug)
        for number in range(acts - 1 - journal_of):
            with book.act("session logged") as act:
                act.write(session(rug.id, rows=number % 9, note=name * 30))
    if journal_of:
        book = Book.open(path, name, Clock())
        for number in range(journal_of):
            with book.act("session logged") as act:
                act.write(session(rug.id, rows=number % 9, note=name * 30))
        beside = path.parent / "left"
        beside.mkdir()
        files = [path, wal(path), lock_path(path), witness_path(path)]
        for one in files:
            shutil.copy(one, beside / one.name)
        book.close()
        for one in files:
            shutil.move(beside / one.name, one)
        beside.rmdir()
    return path


def names(path: Path) -> list[str]:
    with Book.open(path, now=Clock()) as book:
        book.check()
        return [rug.name for rug in reading.rugs(book)]


def without_witnesses(path: Path) -> None:
    lock_path(path).unlink(missing_ok=True)
    witness_path(path).unlink(missing_ok=True)


@pytest.mark.parametrize(
    ("own_acts", "other_acts"),
    [
        pytest.param(
            own,
            other,
            id=f"own of {own}-other of {other}",
            marks=[] if (own, other) in {(3, 150), (40, 4)} else [pytest.mark.slow],
        )
        for own in (3, 40)
        for other in (4, 30, 150)
    ],
)
@pytest.mark.parametrize("witnesses", [True, False], ids=["witnesses", "no witnesses"])
def test_a_whole_journal_of_another_book_is_never_mixed_in(tmp_path, own_acts, other_acts, witnesses):
    own = written(tmp_path / "own" / "book.loomside", "own rug", own_acts)
    other = written(tmp_path / "other" / "book.loomside", "other rug", other_acts, journal_of=2)
    shutil.copy(wal(other), wal(own))
    if not witnesses:
        without_witnesses(own)
    assert whose(own, b"") is Journal.FOREIGN
    before = own.read_bytes(), wal(own).read_bytes()
    with pytest.raises(BookDamaged):
        Book.open(own, now=Clock())
    assert (own.read_bytes(), wal(own).read_bytes()) == before, "made worse by opening it"
    rescued = rescue(own, now=Clock())
    assert not rescued.whole
    assert any("another book" in sentence for sentence in rescued.sentences)
    assert (rescued.acts, rescued.lost_acts) == (own_acts, 0)
    assert names(own) == ["own rug"]


def test_a_journal_of_an_earlier_time_takes_nothing_away(tmp_path):
    path = written(tmp_path / "own" / "book.loomside", "own rug", 12, journal_of=4)
    shutil.copy(wal(path), tmp_path / "earlier")
    with Book.open(path, now=Clock()) as book:
        (rug,) = reading.rugs(book)
        for number in range(5):
            with book.act("session logged") as act:
                act.write(session(rug.id, rows=number))
    shutil.copy(tmp_path / "earlier", wal(path))
    without_witnesses(path)
    assert whose(path, b"") is Journal.OLD
    before = path.read_bytes()
    with pytest.raises(BookDamaged):
        Book.open(path, now=Clock())
    assert path.read_bytes() == before
    assert rescue(path, now=Clock()).acts == 17
    with Book.open(path, now=Clock()) as book:
        assert book.acts() == 17


@pytest.mark.parametrize(
    ("acts", "journal_of"),
    [
        pytest.param(
            acts, journal_of, marks=[] if (acts, journal_of) in {(40, 30), (130, 1)} else [pytest.mark.slow]
        )
        for acts in (40, 130)
        for journal_of in (1, 5, 30)
    ],
)
def test_the_own_journal_is_known_with_and_without_the_lock(tmp_path, acts, journal_of):
    path = written(tmp_path / "own" / "book.loomside", "own rug", acts, journal_of=journal_of)
    assert whose(path, b"") is Journal.OWN
    without_witnesses(path)
    with Book.open(path, now=Clock()) as book:
        assert book.acts() == acts


def test_a_damaged_book_with_its_own_journal_is_rescued_with_it(tmp_path):
    path = written(tmp_path / "own" / "book.loomside", "own rug", 40, journal_of=6)
    data = bytearray(path.read_bytes())
    data[:4096] = bytes(4096)
    path.write_bytes(data)
    without_witnesses(path)
    rescued = rescue(path, now=Clock())
    assert (rescued.acts, rescued.left_out) == (40, False)


def test_a_copy_tells_apart_what_was_mixed_into_the_file_itself(tmp_path):
    """As an earlier version of the app could leave it: the other book's journal already replayed into the file."""
    import sqlite3
    from contextlib import closing

    own = written(tmp_path / "own" / "book.loomside", "own rug", 20)
    with Book.open(own, now=Clock()) as book:
        copies.copy_now(book)
    other = written(tmp_path / "other" / "book.loomside", "other rug", 20, journal_of=3)
    shutil.copy(wal(other), wal(own))
    with closing(sqlite3.connect(own)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    without_witnesses(own)
    with pytest.raises(BookDamaged):
        Book.open(own, now=Clock())
    rescued = rescue(own, now=Clock())
    assert rescued.left_out
    assert not rescued.whole
    assert names(own) == ["own rug"]


def replayed(own: Path, other: Path) -> None:
    """Bring the other book's journal into the file itself, as any program does that opens it by SQLite alone."""
    import sqlite3
    from contextlib import closing

    shutil.copy(wal(other), wal(own))
    with closing(sqlite3.connect(own)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()


def words_in(path: Path) -> set[str]:
    """Return what every version of every entry of a book says: its note or its name."""
    with Book.open(path, now=Clock()) as book:
        book.check()
        return {
            (getattr(change.after, "note", "") or getattr(change.after, "name", "")).replace(" rug", "")
            for entry in diary.entries(book, limit=10_000)
            for change in entry.changes
        }


@pytest.mark.parametrize(
    ("own_acts", "other_acts", "journal_of"),
    [
        (20, 20, 3),
        (20, 20, 15),
        pytest.param(40, 30, 2, marks=pytest.mark.slow),
        pytest.param(60, 150, 2, marks=pytest.mark.slow),
    ],
)
@pytest.mark.parametrize("witnesses", [True, False], ids=["witnesses", "no witnesses"])
def test_what_was_mixed_into_the_file_is_left_out_without_a_copy_too(
    tmp_path, own_acts, other_acts, journal_of, witnesses
):
    own = written(tmp_path / "own" / "book.loomside", "own rug", own_acts)
    other = written(tmp_path / "other" / "book.loomside", "other rug", other_acts, journal_of=journal_of)
    replayed(own, other)
    if not witnesses:
        without_witnesses(own)
    with pytest.raises(BookDamaged):
        Book.open(own, now=Clock())
    rescued = rescue(own, now=Clock())
    assert rescued.left_out
    assert not rescued.whole
    assert names(own) == ["own rug"]
    assert {words[:3] for words in words_in(own)} == {"own"}


def test_the_other_phone_at_the_same_loom_is_no_stranger_when_its_name_is_lost(tmp_path):
    import sqlite3
    from contextlib import closing

    from storage.exchange import join, write_exchange

    own = written(tmp_path / "own" / "book.loomside", "own rug", 5)
    with Book.open(own, now=Clock()) as book, Book.open(tmp_path / "b.loomside", "second", Clock()) as second:
        write_exchange(book, tmp_path / "file")
        join(second, tmp_path / "file")
        (rug,) = reading.rugs(second)
        for number in range(4):
            with second.act("session logged") as act:
                act.write(session(rug.id, rows=number, note="second"))
        write_exchange(second, tmp_path / "file")
        join(book, tmp_path / "file")
        acts = book.acts()
    for copy in tmp_path.rglob("*.copies"):
        shutil.rmtree(copy)
    with closing(sqlite3.connect(own)) as connection:
        connection.execute("PRAGMA secure_delete = ON")
        connection.execute("DELETE FROM device WHERE name = 'second'")
        connection.commit()
    rescued = rescue(own, now=Clock())
    assert (rescued.acts, rescued.left_out, rescued.lost_names) == (acts, False, 1)


def _stray(path: Path, tmp_path: Path) -> bytes:
    """A hot rollback journal of another database, whole in itself, that SQLite would play back into the book."""
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(tmp_path / "other.db", isolation_level=None)) as other:
        other.execute("PRAGMA page_size = 4096")
        other.execute("CREATE TABLE t (x)")
        other.executemany("INSERT INTO t VALUES (?)", [("a" * 900,)] * 100)
        other.execute("PRAGMA cache_size = 2")
        other.execute("BEGIN")
        other.execute("UPDATE t SET x = 'b' || x")
        journal = (tmp_path / "other.db-journal").read_bytes()
        other.execute("ROLLBACK")
    assert journal.startswith(bytes.fromhex("d9d505f920a163d7"))
    return journal


@pytest.mark.parametrize("make", [_stray, lambda _path, _tmp: b"a letter" * 999], ids=["hot", "letter"])
def test_a_stray_rollback_journal_does_no_harm(tmp_path, make: Callable[[Path, Path], bytes]):
    path = written(tmp_path / "own" / "book.loomside", "own rug", 20)
    stray = path.with_name(path.name + "-journal")
    stray.write_bytes(make(path, tmp_path))
    kept = stray.read_bytes()
    assert names(path) == ["own rug"]
    assert not stray.exists()
    (aside,) = path.parent.glob("*.damaged/*/*-journal")
    assert aside.read_bytes() == kept
