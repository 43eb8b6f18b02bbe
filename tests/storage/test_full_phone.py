"""A phone without room: the book is read, what is written elsewhere is written, and nothing half-made stays."""

from __future__ import annotations

import resource
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from storage import reading
from storage.book import Book
from storage.places import lock_path
from storage.trouble import NoRoom
from tests.small_disk import small_disk
from tests.storage.book_samples import Clock, plan, session
from tracker.domain.errors import BookTrouble

pytestmark = pytest.mark.made_anew

ROOT = Path(__file__).parents[2]


@pytest.fixture
def card(tmp_path) -> Iterator[Path]:
    """A disk of two MiB of its own: an empty book, its journal and its note take more than one."""
    with small_disk(tmp_path / "card", 2) as place:
        yield place


def fill(place: Path) -> None:
    """Leave not a byte."""
    with open(place / "film.mp4", "wb", buffering=0) as film, suppress(OSError):
        while film.write(bytes(4096)):
            pass
    assert shutil.disk_usage(place).free == 0


def a_book(path: Path, killed: bool = False) -> str:
    """Make a book with a rug and three sessions; killed: the last two are in its journal alone."""
    book = Book.open(path, now=Clock())
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    with book.act("session logged") as act:
        act.write(session(rug.id, rows=5))
    book.close()
    book = Book.open(path, now=Clock())
    for rows in (6, 7):
        with book.act("session logged") as act:
            act.write(session(rug.id, rows=rows))
    journal = path.with_name(path.name + "-wal")
    left = path.read_bytes(), journal.read_bytes()
    book.close()
    if killed:
        path.write_bytes(left[0])
        journal.write_bytes(left[1])
    return rug.id


@pytest.mark.parametrize("locked_before", [True, False], ids=["lock file", "no lock file"])
@pytest.mark.parametrize("killed", [False, True], ids=["closed", "killed"])
def test_a_book_on_a_full_disk_is_read_and_written_again_once_there_is_room(card, killed, locked_before):
    path = card / "book.loomside"
    rug_id = a_book(path, killed)
    if not locked_before:
        lock_path(path).unlink()
    fill(card)
    before = {one.name: one.read_bytes() for one in card.iterdir()}
    with Book.open(path, now=Clock()) as book:
        assert reading.rug_book(book, rug_id).rows_woven == 18
        act = book.act("session logged")
        act.write(session(rug_id, rows=2))
        with pytest.raises(NoRoom, match="no room left"):
            act.commit()
        assert reading.rug_book(book, rug_id).rows_woven == 18
    after = {one.name: one.read_bytes() for one in card.iterdir()}
    after.pop(lock_path(path).name, None)
    before.pop(lock_path(path).name, None)
    assert after == before, "nothing half-made stays, and nothing is changed"
    with Book.open(path, now=Clock()) as book:
        act = book.act("session logged")
        act.write(session(rug_id, rows=2))
        with pytest.raises(NoRoom):
            act.commit()
        (card / "film.mp4").unlink()
        act.commit()
        assert reading.rug_book(book, rug_id).rows_woven == 20
    with Book.open(path, now=Clock()) as book:
        book.check()
        assert reading.rug_book(book, rug_id).rows_woven == 20


def test_a_book_read_on_a_full_disk_is_open_to_nobody_else(card):
    from tracker.domain.errors import BookInUse

    path = card / "book.loomside"
    a_book(path)
    fill(card)
    with Book.open(path, now=Clock()), pytest.raises(BookInUse):
        Book.open(path)


def test_no_book_is_begun_on_a_full_disk_and_nothing_half_made_stays(card):
    fill(card)
    before = {one.name for one in card.iterdir()}
    with pytest.raises(NoRoom, match="no room left"):
        Book.open(card / "book.loomside")
    assert {one.name for one in card.iterdir()} - before <= {"book.loomside.lock"}
    (card / "film.mp4").unlink()
    Book.open(card / "book.loomside").close()


@pytest.mark.parametrize("room", range(0, 300_000, 20_000))
def test_a_book_begun_where_the_room_ends_half_way_leaves_nothing_half_made(card, room):
    (card / "kept free").write_bytes(bytes(room))
    fill(card)
    (card / "kept free").unlink()
    before = {one.name for one in card.iterdir()}
    said = "no room left"
    try:
        Book.open(card / "book.loomside").close()
    except BookTrouble as trouble:
        said = trouble.sentence
        left = {one.name for one in card.iterdir()} - before
        assert left <= {"book.loomside.lock"}, left
    assert "no room left" in said


def test_text_record_and_tables_work_on_a_full_disk(card, tmp_path, capsys):
    from tracker.command_line.main import main

    path = card / "book.loomside"
    a_book(path, killed=True)
    fill(card)
    out = tmp_path / "out"
    book = ["--book", str(path)]
    assert main([*book, "--text"]) == 0
    said = capsys.readouterr()
    assert "18 of 60" in said.out
    assert "no room left" in said.err
    assert main([*book, "--record", str(out / "r.pdf"), "--csv", str(out / "tables")]) == 0
    assert (out / "r.pdf").read_bytes().startswith(b"%PDF")
    assert any((out / "tables").glob("*.csv"))
    assert main([*book, "--record", str(card / "r.pdf")]) != 0
    assert "no room left" in capsys.readouterr().err
    assert not [one.name for one in card.iterdir() if "part" in one.name or one.name.startswith("r")]


def test_a_book_of_an_older_schema_is_read_on_a_full_disk(card):
    path = card / "book.loomside"
    shutil.copy(Path(__file__).parent / "schemas" / "0001.book", path)
    fill(card)
    before = path.read_bytes()
    with Book.open(path, now=Clock()) as book:
        (rug,) = reading.rugs(book)
        assert reading.rug_book(book, rug.id).cartoon is not None
    assert path.read_bytes() == before


def test_a_book_whose_file_may_not_grow_is_read_all_the_same(tmp_path):
    """The system itself refuses: a limit on file size in a process of its own; no rights needed."""
    path = tmp_path / "book.loomside"
    rug_id = a_book(path, killed=True)
    code = """
        import resource, signal, sys
        from storage import reading
        from storage.book import Book
        from tests.storage.book_samples import session
        from tracker.domain.errors import BookTrouble
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, hard))
        with Book.open(sys.argv[1]) as book:
            print(reading.rug_book(book, sys.argv[2]).rows_woven)
            try:
                with book.act("session logged") as act:
                    act.write(session(sys.argv[2]))
            except BookTrouble as trouble:
                print(trouble.sentence)
    """
    assert resource.RLIMIT_FSIZE is not None
    run = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(path), rug_id],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    rows, said = run.stdout.splitlines()
    assert rows == "18"
    assert "no room left" in said
