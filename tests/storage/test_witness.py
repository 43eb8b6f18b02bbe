"""What was acknowledged and is gone is told when the book is opened, whatever else was lost with it."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from storage import copies, reading
from storage.book import Book
from storage.places import lock_path, witness_path
from storage.rescue import rescue
from storage.witness import EVERY_ACTS, noted
from tests.storage.book_samples import plan, session
from tracker.domain.errors import BookDamaged, BookOlder


class Evening:
    """A phone's clock on a day in November, at noon, so that the local day is the same everywhere near."""

    def __init__(self) -> None:
        self.time = datetime(2026, 11, 24, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


def weave(path: Path, clock: Evening, acts: int) -> None:
    """Enter a rug, if there is none, and so many sessions."""
    with Book.open(path, now=clock) as book:
        if not reading.rugs(book):
            with book.act("rug planned") as act:
                act.write(plan())
        (rug,) = reading.rugs(book)
        for number in range(acts):
            with book.act("session logged") as act:
                act.write(session(rug.id, rows=number % 7))


def older_book(folder: Path, clock: Evening) -> Path:
    """Return a book with 11 acts over which its own state after 4 acts was laid by hand."""
    path = folder / "book.loomside"
    weave(path, clock, 3)
    shutil.copy(path, folder / "kept by the weaver")
    weave(path, clock, 7)
    shutil.copy(folder / "kept by the weaver", path)
    return path


@pytest.mark.parametrize("lock_too", [False, True], ids=["with its lock", "without its lock"])
def test_an_older_copy_laid_over_the_book_is_told_with_the_day_and_the_number(tmp_path, lock_too):
    clock = Evening()
    path = older_book(tmp_path, clock)
    if lock_too:
        lock_path(path).unlink()
    before = path.read_bytes()
    for _try in range(2):
        with pytest.raises(BookOlder, match="7 steps of entries are missing") as told:
            Book.open(path, now=clock)
        assert isinstance(told.value, BookDamaged), "the app offers a rescue"
        assert told.value.acts == 7
    assert path.read_bytes() == before
    if lock_too:
        assert "24 November" in told.value.sentence


def test_an_older_book_can_be_opened_as_it_is_and_is_not_asked_about_again(tmp_path):
    clock = Evening()
    path = older_book(tmp_path, clock)
    with pytest.raises(BookOlder):
        Book.open(path, now=clock)
    with Book.open(path, now=clock, as_it_is=True) as book:
        assert book.acts() == 4
    weave(path, clock, 1)
    with Book.open(path, now=clock) as book:
        assert book.acts() == 5


def test_an_older_book_can_be_opened_as_it_is_from_the_command_line(tmp_path, capsys):
    from tracker.command_line.main import main

    path = older_book(tmp_path, Evening())
    asked = ["--book", str(path), "--text"]
    assert main(asked) == 2
    assert "looks older than" in capsys.readouterr().err
    assert main([*asked, "--as-it-is"]) == 0
    assert main(asked) == 0


def test_the_copies_are_a_third_witness_and_can_be_passed_over(tmp_path):
    clock = Evening()
    path = tmp_path / "book.loomside"
    weave(path, clock, 3)
    shutil.copy(path, tmp_path / "kept")
    weave(path, clock, 7)
    with Book.open(path, now=clock) as book:
        copies.copy_now(book)
    shutil.copy(tmp_path / "kept", path)
    lock_path(path).unlink()
    witness_path(path).unlink()
    with pytest.raises(BookOlder, match="24 November 2026: 7 steps of entries are missing"):
        Book.open(path, now=clock)
    Book.open(path, now=clock, as_it_is=True).close()
    weave(path, clock, 1)
    # The same once more: a rescue takes what is missing from the copy.
    shutil.copy(tmp_path / "kept", path)
    lock_path(path).unlink()
    witness_path(path).unlink()
    rescued = rescue(path, now=clock)
    assert (rescued.acts, rescued.lost_acts) == (11, 0)
    with Book.open(path, now=clock) as book:
        assert book.acts() == 11


def test_a_rescue_of_an_older_book_says_how_much_is_gone_and_is_not_asked_about_again(tmp_path):
    clock = Evening()
    path = older_book(tmp_path, clock)
    lock_path(path).unlink()
    rescued = rescue(path, now=clock)
    assert (rescued.acts, rescued.lost_acts, rescued.whole) == (4, 7, False)
    with Book.open(path, now=clock) as book:
        assert book.acts() == 4


def test_a_journal_cut_off_is_told_though_the_lock_is_gone(tmp_path):
    clock = Evening()
    path = tmp_path / "book.loomside"
    weave(path, clock, 3)
    book = Book.open(path, now=clock)
    (rug,) = reading.rugs(book)
    for number in range(EVERY_ACTS):
        with book.act("session logged") as act:
            act.write(session(rug.id, rows=number % 7))
    killed = tmp_path / "killed"
    killed.mkdir()
    for one in (path, witness_path(path)):
        shutil.copy(one, killed / one.name)
    journal = path.with_name(path.name + "-wal").read_bytes()
    book.close()
    for length in (0, len(journal) // 3, len(journal) // 2):
        (killed / (path.name + "-wal")).write_bytes(journal[:length])
        with pytest.raises(BookOlder):
            Book.open(killed / path.name, now=clock)
        assert (killed / (path.name + "-wal")).read_bytes() == journal[:length], (
            "a refused book is left alone"
        )
    (killed / (path.name + "-wal")).write_bytes(journal)
    with Book.open(killed / path.name, now=clock) as again:
        assert again.acts() == 4 + EVERY_ACTS


def test_going_back_to_a_copy_by_the_app_itself_is_no_older_book(tmp_path):
    clock = Evening()
    path = tmp_path / "book.loomside"
    weave(path, clock, 3)
    with Book.open(path, now=clock) as book:
        copy = copies.copy_now(book)
    weave(path, clock, 7)
    with Book.open(path, now=clock) as book:
        copies.restore(book, copy.path)
    with Book.open(path, now=clock) as book:
        assert len(reading.rug_book(book, reading.rugs(book)[0].id).sessions) == 3


def test_the_note_is_synced_when_opened_closed_copied_and_every_so_many_acts(tmp_path, monkeypatch):
    clock = Evening()
    path = tmp_path / "book.loomside"
    book = Book.open(path, now=clock)
    synced: list[int] = []
    import os

    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (synced.append(handle), real(handle)))
    with book.act("rug planned") as act:
        act.write(plan())
    assert noted(witness_path(path)) is None, "an empty book has nothing to lose"
    assert not synced
    copies.copy_now(book)
    assert noted(witness_path(path)).acts == 1
    assert synced
    (rug,) = reading.rugs(book)
    for number in range(EVERY_ACTS):
        with book.act("session logged") as act:
            act.write(session(rug.id, rows=number))
    assert noted(witness_path(path)).acts >= EVERY_ACTS
    with book.act("session logged") as act:
        act.write(session(rug.id, rows=1))
    book.close()
    assert noted(witness_path(path)).acts == EVERY_ACTS + 2


@pytest.mark.parametrize("spoilt", [b'{"clock": "x"}', b'{"clock": 1e999}', b'{"clock": ' + b"[" * 4000])
def test_a_spoilt_note_is_no_note_and_is_written_anew(tmp_path, spoilt):
    clock = Evening()
    path = tmp_path / "book.loomside"
    weave(path, clock, 2)
    witness_path(path).write_bytes(spoilt)
    assert noted(witness_path(path)) is None
    with Book.open(path, now=clock) as book:
        assert book.acts() == 3
    assert noted(witness_path(path)).acts == 3


@pytest.mark.parametrize("other", [b"", b"{", b"[]", b"\xff", b"9" * 10_000, b"Dear diary"])
def test_a_file_of_somebody_else_where_the_note_should_be_is_left_alone(tmp_path, other):
    clock = Evening()
    path = tmp_path / "book.loomside"
    weave(path, clock, 2)
    witness_path(path).write_bytes(other)
    weave(path, clock, 2)
    assert witness_path(path).read_bytes() == other
    with Book.open(path, now=clock) as book:
        assert book.acts() == 5
