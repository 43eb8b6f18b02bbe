"""Opening a book: fresh, locked, newer, foreign; and what SQLite is told."""

from __future__ import annotations

import io
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing, nullcontext
from functools import cache
from pathlib import Path

import pytest
from PIL import Image

from storage import copies, diary, migrations, reading, writers
from storage.book import Book
from storage.lock import LOCKS_BY_FILE
from storage.places import lock_path
from storage.rescue import rescue
from storage.schema import schema_of
from storage.trouble import BookFromNewerApp, NotABook
from tests.quick_books import made_anew
from tests.storage.book_samples import plan, session
from tracker.domain.errors import BadEntry, BookDamaged, BookInUse, BookTrouble

ROOT = Path(__file__).parents[2]


@pytest.mark.made_anew
def test_a_fresh_book_is_empty_and_knows_its_phone(open_book):
    book = open_book(device_name="phone at the loom")
    assert reading.rugs(book) == ()
    assert writers.device(book).name == "phone at the loom"
    assert writers.device(book).here
    assert diary.entries(book) == ()


def test_what_was_entered_is_there_when_the_book_is_opened_again(open_book):
    book = open_book()
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    device = book.device_id
    book.close()
    again = open_book()
    assert [found.id for found in reading.rugs(again)] == [rug.id]
    assert again.device_id == device


def test_sqlite_is_told_to_be_careful(book):
    with book.reading() as connection:
        asked = {
            pragma: connection.exec_driver_sql(f"PRAGMA {pragma}").scalar()
            for pragma in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout", "trusted_schema")
        }
    assert asked == {
        "journal_mode": "wal",
        "synchronous": 2,  # FULL, see sqlite.org/pragma.html#pragma_synchronous
        "foreign_keys": 1,
        "busy_timeout": 5000,
        "trusted_schema": 0,
    }


def test_a_second_app_is_told_that_the_book_is_open(book):
    with pytest.raises(BookInUse, match="already open"):
        Book.open(book.path)
    code = (
        "import sys; from storage.book import Book; from tracker.domain.errors import BookInUse\n"
        "try: Book.open(sys.argv[1])\n"
        "except BookInUse as error: print(error.sentence); sys.exit(7)"
    )
    other = subprocess.run(
        [sys.executable, "-c", code, str(book.path)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert other.returncode == 7, other.stderr
    assert "already open" in other.stdout
    book.close()
    Book.open(book.path).close()


def test_a_book_from_a_newer_app_is_refused_untouched(open_book):
    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    book.close()
    with closing(sqlite3.connect(book.path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    before = book.path.read_bytes()
    with pytest.raises(BookFromNewerApp, match="newer version of the app"):
        open_book()
    assert book.path.read_bytes() == before


def test_a_book_copied_for_these_tests_is_as_one_made_table_by_table(tmp_path):
    told = []
    for way in (made_anew, nullcontext, nullcontext):
        path = tmp_path / f"{len(told)}.loomside"
        with way():
            Book.open(path).close()
        with closing(sqlite3.connect(path)) as connection:
            told.append(
                (
                    connection.execute("SELECT type, name, sql FROM sqlite_master ORDER BY name").fetchall(),
                    connection.execute("SELECT version_num FROM alembic_version").fetchall(),
                    [
                        connection.execute(f"PRAGMA {pragma}").fetchall()
                        for pragma in ("page_size", "journal_mode", "user_version", "application_id")
                    ],
                )
            )
    assert told[0] == told[1] == told[2]


def test_another_file_is_no_book(tmp_path):
    text = tmp_path / "letter.txt"
    text.write_text("not a book")
    with pytest.raises(NotABook):
        schema_of(text)
    with closing(sqlite3.connect(tmp_path / "other.db")) as connection:
        connection.execute("CREATE TABLE act (number INTEGER)")
    with pytest.raises(NotABook):
        schema_of(tmp_path / "other.db")


def test_a_book_that_vanished_does_not_come_back_empty(open_book):
    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    book.close()
    book.path.write_bytes(b"")
    with pytest.raises(BookDamaged):
        open_book()


@cache
def strangers() -> dict[str, bytes]:
    """Files that never were a book."""
    picture = io.BytesIO()
    Image.effect_noise((600, 400), 90).convert("RGB").save(picture, "JPEG")
    with closing(sqlite3.connect(":memory:")) as other:
        other.execute("CREATE TABLE act (number INTEGER PRIMARY KEY, act_id TEXT)")
        other.executemany("INSERT INTO act (act_id) VALUES (?)", [("x" * 90,)] * 200)
        other.commit()
        database = other.serialize()
    return {
        "a photo": picture.getvalue(),
        "another program's database": database,
        "an empty file": b"",
        "a letter": b"Dear weaver,\n" * 400,
        "zeros": bytes(20_000),
    }


@pytest.mark.parametrize("what", strangers())
def test_a_file_that_never_was_a_book_is_called_no_book_and_left_alone(tmp_path, what):
    path = tmp_path / "book.loomside"
    path.write_bytes(strangers()[what])
    for attempt in (Book.open, rescue):
        with pytest.raises(NotABook, match="not a book of this app"):
            attempt(path)
    assert path.read_bytes() == strangers()[what]
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("witness", ["its lock", "its copies", "a page of it"])
def test_a_book_that_became_another_file_is_still_a_damaged_book(open_book, witness):
    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    if witness == "its copies":
        copies.copy_now(book)
    book.close()
    garbage = strangers()["a photo"]
    if witness == "a page of it":
        garbage += bytes(-len(garbage) % 4096) + book.path.read_bytes()[4096:]
    book.path.write_bytes(garbage)
    if witness != "its lock":
        lock_path(book.path).unlink()
    with pytest.raises(BookDamaged, match="Rescue"):
        open_book()
    if witness != "its lock":
        rescue(book.path)
        assert len(reading.rugs(open_book())) == 1


def test_opening_an_up_to_date_book_needs_no_alembic(open_book):
    path = open_book().path
    with Book.open(path.with_name("other.loomside")) as other:
        up_to_date = other.path
    code = (
        "import sys; from storage.book import Book; from storage import reading\n"
        "book = Book.open(sys.argv[1]); reading.rugs(book); book.close()\n"
        "sys.exit('alembic' in sys.modules)"
    )
    assert (
        subprocess.run([sys.executable, "-c", code, str(up_to_date)], cwd=ROOT, check=False).returncode == 0
    )


def test_a_closed_book_says_so(book):
    book.close()
    with pytest.raises(BookTrouble, match="closed"):
        reading.rugs(book)
    with pytest.raises(BookTrouble, match="closed"), book.act("rug planned") as act:
        act.write(plan())


def test_one_thread_reads_while_others_write(book):
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    failures: list[Exception] = []

    def weave() -> None:
        try:
            for _row in range(20):
                with book.act("session logged", rug.id) as act:
                    act.write(session(rug.id, rows=1))
        except Exception as error:
            failures.append(error)

    weavers = [threading.Thread(target=weave) for _writer in range(3)]
    for writer in weavers:
        writer.start()
    seen = [0]
    while any(writer.is_alive() for writer in weavers):
        seen.append(reading.rug_book(book, rug.id).rows_woven)
    for writer in weavers:
        writer.join()
    assert not failures
    assert seen == sorted(seen)
    assert reading.rug_book(book, rug.id).rows_woven == 60
    book.check()


def test_the_schema_an_app_knows_as_newest_is_the_last_step():
    from alembic.script import ScriptDirectory

    script = ScriptDirectory(str(Path(migrations.__file__).parent))
    steps = [step.revision for step in script.walk_revisions()]
    assert tuple(reversed(steps)) == migrations.KNOWN


def test_an_entry_that_cannot_be_kept_is_refused_before_anything_is_written(book):
    def enter(spoilt):
        with book.act("rug planned") as act:
            act.write(plan())
            act.write(spoilt)

    for spoilt in (
        plan(width_cm=float("nan")),
        plan(length_cm=float("inf")),
        plan(name="x" * 10_001),
        plan(name="a\x00b"),
        plan(notes="\ud800"),
        plan(rows=10**12),
        plan(start_day="2026-03-02"),
        plan(stage="lost"),
        plan(id="../../etc"),
        plan(rows=2.5),
        plan(name=None),
    ):
        with pytest.raises(BadEntry):
            enter(spoilt)
    assert reading.rugs(book) == ()
    assert book.acts() == 0


def test_a_book_asks_for_no_network(open_book, tmp_path, monkeypatch):
    import socket

    from storage import copies, exchange
    from storage.rescue import rescue

    def refused(*_arguments, **_options):
        raise AssertionError("the network was asked for")

    for name in ("socket", "create_connection", "getaddrinfo", "socketpair"):
        monkeypatch.setattr(socket, name, refused)
    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    exchange.write_exchange(book, tmp_path / "file")
    exchange.join(book, tmp_path / "file")
    copies.restore(book, copies.copy_now(book).path)
    book.close()
    rescue(book.path)
    assert len(reading.rugs(open_book())) == 1


@pytest.mark.skipif(
    not LOCKS_BY_FILE, reason="hard links are noticed where locks by file do not meet SQLite's"
)
@pytest.mark.parametrize("link", ["symbolic", "hard", "both", "a linked folder"])
def test_a_book_open_under_one_name_is_not_opened_under_another(open_book, tmp_path, link):
    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    (tmp_path / "elsewhere").mkdir()
    other = tmp_path / "elsewhere" / "another name.loomside"
    if link == "symbolic":
        other.symlink_to(book.path)
    elif link == "a linked folder":
        (tmp_path / "way").symlink_to(tmp_path)
        other = tmp_path / "way" / book.path.name
    else:
        other.hardlink_to(book.path)
        if link == "both":
            (tmp_path / "link").symlink_to(other)
            other = tmp_path / "link"
    for attempt in (Book.open, rescue):
        with pytest.raises(BookInUse, match="already open"):
            attempt(other)
    code = (
        "import sys; from storage.book import Book; from tracker.domain.errors import BookInUse\n"
        "try: Book.open(sys.argv[1])\n"
        "except BookInUse as error: print(error.sentence); sys.exit(7)"
    )
    again = subprocess.run(
        [sys.executable, "-c", code, str(other)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert again.returncode == 7, again.stderr
    # The book in hand is unharmed by all this: SQLite's own locks still hold.
    with closing(sqlite3.connect(book.path, timeout=0)) as stranger, pytest.raises(sqlite3.OperationalError):
        stranger.execute("PRAGMA journal_mode = DELETE").fetchall()
    with book.act("rug planned") as act:
        act.write(plan("second"))
    assert len(reading.rugs(book)) == 2


def test_reading_the_open_book_as_something_else_does_not_drop_its_locks(open_book, tmp_path):
    """Closing any descriptor of a file drops all POSIX locks of the process on it."""
    from storage.exchange import join
    from storage.schema import is_demo
    from tracker.domain.errors import BadPicture
    from tracker.pictures.cartoon_reader import read_cartoon

    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    assert not is_demo(book.path)
    with pytest.raises(BadPicture):
        read_cartoon(book.path)
    with pytest.raises(BookTrouble):
        join(book, book.path)
    code = (
        "import sqlite3, sys\n"
        "print(sqlite3.connect(sys.argv[1], timeout=0).execute('PRAGMA journal_mode = DELETE').fetchall())"
    )
    stranger = subprocess.run(
        [sys.executable, "-c", code, str(book.path)], capture_output=True, text=True, check=False
    )
    assert "locked" in stranger.stderr, stranger.stdout
    assert book.path.with_name(book.path.name + "-wal").exists()


def test_a_book_named_by_a_symbolic_link_keeps_what_belongs_to_it_in_one_place(open_book, tmp_path):
    book = open_book()
    with book.act("rug planned") as act:
        act.write(plan())
    book.close()
    (tmp_path / "desk").mkdir()
    link = tmp_path / "desk" / "link.loomside"
    link.symlink_to(book.path)
    with Book.open(link) as again:
        copy = copies.copy_now(again)
    assert copies.list_copies(link) == copies.list_copies(book.path) == (copy,)
    assert [one.name for one in link.parent.iterdir()] == ["link.loomside"]
    assert link.is_symlink()


def test_a_book_last_written_under_its_other_name_is_not_opened_without_its_last_acts(open_book, tmp_path):
    book = open_book()
    other = tmp_path / "second.loomside"
    other.hardlink_to(book.path)
    with book.act("rug planned") as act:
        act.write(plan())
    journal = book.path.with_name(book.path.name + "-wal")
    left = journal.read_bytes()
    book.close()
    journal.write_bytes(left)
    with pytest.raises(BookTrouble, match=r"other name, book\.loomside"):
        Book.open(other)
    assert len(reading.rugs(open_book())) == 1
