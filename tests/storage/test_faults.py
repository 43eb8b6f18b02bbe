"""Faults: disk full, read-only, no permission, broken, locked, at every statement and every call to the disk.

After each the weaver has a sentence, the book is as it was, and the same act succeeds on the next try.
"""

from __future__ import annotations

import resource
import signal
import sqlite3
import subprocess
import sys
import textwrap
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import apsw
import pytest
from sqlalchemy import event

from storage import copies, diary, exchange, reading
from storage.book import Book
from tests.storage.book_samples import Clock, everything, one_of_every_kind, plan, session
from tests.storage.phone_disk import Disk, broken, connect_through, full
from tracker.domain.errors import BookTrouble
from tracker.domain.rug import RugPlan, Session

ROOT = Path(__file__).parents[2]

STATEMENT_FAULTS = {
    "disk full": (sqlite3.SQLITE_FULL, "no room left"),
    "read-only": (sqlite3.SQLITE_READONLY, "read-only"),
    "permission denied": (sqlite3.SQLITE_PERM, "not allowed"),
    "cannot open": (sqlite3.SQLITE_CANTOPEN, "not allowed"),
    "input/output error": (sqlite3.SQLITE_IOERR | (4 << 8), "could not read or write"),
    "locked": (sqlite3.SQLITE_BUSY, "holding the book"),
}

DISK_FAULTS = {
    "disk full": (full, ("write", "truncate")),
    "write error": (broken, ("write", "truncate")),
    "sync error": (lambda: broken(apsw.SQLITE_IOERR_FSYNC), ("sync",)),
    "read error": (lambda: broken(apsw.SQLITE_IOERR_READ), ("read",)),
}


@dataclass
class Deed:
    """One thing a weaver does: `prepare` gives what to try, over and over, until it succeeds."""

    name: str
    prepare: Callable[[Book, Path], Callable[[], Any]]


def the_session(book: Book) -> Session:
    (rug,) = reading.rugs(book)
    return next(one for one in reading.rug_book(book, rug.id).sessions if one.note == "the session")


def act_of(book: Book, enter: Callable[[Any], None]) -> Callable[[], Any]:
    act = book.act("deed")
    enter(act)
    return act.commit


def _every_kind(book: Book, _folder: Path) -> Callable[[], Any]:
    return act_of(
        book,
        lambda act: [act.write(value) for value in one_of_every_kind() if not isinstance(value, RugPlan)],
    )


def _correction(book: Book, _folder: Path) -> Callable[[], Any]:
    return act_of(book, lambda act: act.write(replace(the_session(book), rows=77)))


def _withdrawal(book: Book, _folder: Path) -> Callable[[], Any]:
    return act_of(book, lambda act: act.withdraw(the_session(book).id))


def _setting(book: Book, _folder: Path) -> Callable[[], Any]:
    return act_of(book, lambda act: act.set("language", "fa"))


def _undo(book: Book, _folder: Path) -> Callable[[], Any]:
    act_id = diary.entries(book, limit=1)[0].act_id
    return lambda: book.undo(act_id)


def _join(book: Book, folder: Path) -> Callable[[], Any]:
    with Book.open(folder / "other.loomside", "other", Clock()) as other:
        if not reading.rugs(other):
            with other.act("entered") as act:
                act.write(plan("of the other phone"))
        exchange.write_exchange(other, folder / "file.loomside-exchange")
    return lambda: exchange.join(book, folder / "file.loomside-exchange")


def _going_back(book: Book, folder: Path) -> Callable[[], Any]:
    copy = copies.list_copies(book.path)[-1]
    return lambda: copies.restore(book, copy.path)


DEEDS = [
    Deed("one of every kind", _every_kind),
    Deed("a correction", _correction),
    Deed("a withdrawal", _withdrawal),
    Deed("a setting", _setting),
    Deed("an undo", _undo),
    Deed("a join", _join),
    Deed("going back to a copy", _going_back),
]


def a_book(path: Path, **options: Any) -> Book:
    """Return a book with a rug, a copy made of it, and a session entered since."""
    with Book.open(path, now=Clock()) as book:
        rug = plan()
        with book.act("rug planned") as act:
            act.write(rug)
        copies.copy_now(book)
        with book.act("session logged") as act:
            act.write(session(rug.id, note="the session"))
    return Book.open(path, now=Clock(), **options)


def told(book: Book) -> Any:
    return (
        {one.id: everything(reading.rug_book(book, one.id)) for one in reading.rugs(book)},
        reading.settings(book),
        [entry.act_id for entry in diary.entries(book, limit=1000)],
    )


def fail_then_succeed(
    book: Book,
    deed: Callable[[], Any],
    arm: Callable[[int], None],
    disarm: Callable[[], bool],
    words: str,
    step: int = 1,
) -> int:
    """Fail the deed at its first, second, ... (by `step`) call until it runs through; return how often it failed."""
    before = told(book)
    failures = 0
    while True:
        arm(failures * step + 1)
        trouble: BookTrouble | None = None
        try:
            deed()
        except BookTrouble as met:
            trouble = met
        if trouble is not None:
            assert disarm(), f"trouble of its own: {trouble!r} {trouble.__cause__!r}"
            assert words in trouble.sentence
            assert trouble.sentence.endswith(".")
            assert told(book) == before, "a failed act left something"
            failures += 1
            continue
        if disarm():  # a fault that SQLite could live with, such as one while it tidies up
            failures += 1
            return failures
        break
    assert told(book) != before
    return failures


LONG_DEEDS = ("a join", "going back to a copy")
"""Deeds that attach a second file, which the recording layer under SQLite does not carry."""
MANY_STATEMENTS = ("one of every kind", *LONG_DEEDS)
"""Deeds of so many statements that the short form fails only some of them."""
IN_EVERY_RUN = ("disk full", "locked")
"""Faults that every deed meets in every run; a correction meets all of them, the other deeds only in the long form."""


@pytest.mark.parametrize(
    ("deed", "fault", "step"),
    [
        pytest.param(
            deed, fault, step, id=f"{deed.name}-{fault}-{step}", marks=[pytest.mark.slow] if slow else []
        )
        for deed in DEEDS
        for fault in STATEMENT_FAULTS
        for step, slow in (
            ((1, True), (17, fault not in IN_EVERY_RUN))
            if deed.name in MANY_STATEMENTS
            else ((1, fault not in IN_EVERY_RUN and deed.name != "a correction"),)
        )
    ],
)
def test_a_fault_at_every_statement_of_every_act(tmp_path, deed, fault, step):
    code, words = STATEMENT_FAULTS[fault]
    with a_book(tmp_path / "book.loomside") as book:
        state = {"left": 0, "failed": False}

        @event.listens_for(book.engine, "before_cursor_execute")
        def fails(_connection, _cursor, statement, _parameters, _context, _many):
            state["left"] -= 1
            if state["left"] == 0:
                state["failed"] = True
                error = sqlite3.OperationalError(f"injected at {statement[:40]}")
                error.sqlite_errorcode = code
                raise error

        def arm(number: int) -> None:
            state.update(left=number, failed=False)

        def disarm() -> bool:
            state["left"] = 0
            return bool(state["failed"])

        failures = fail_then_succeed(book, deed.prepare(book, tmp_path), arm, disarm, words, step)
        assert failures >= 3
        book.check()


def break_the_disk(folder: Path, deed: Deed, fault: str, step: int = 1) -> int:
    """Fail every call of the deed to the disk in turn, or each `step`-th; return how many failed."""
    make, whats = DISK_FAULTS[fault]
    disk = Disk(f"failing-{deed.name}-{fault}-{folder.name}")
    path = folder / "book.loomside"
    with a_book(path, connect=connect_through(disk, path)) as book:
        attempt = deed.prepare(book, folder)
        state = {"left": 0, "failed": False}

        def failing(_number: int, what: str, _file: str) -> Exception | None:
            if what not in whats:
                return None
            state["left"] -= 1
            if state["left"] != 0:
                return None
            state["failed"] = True
            return make()

        def arm(number: int) -> None:
            state.update(left=number, failed=False)
            disk.failing = failing

        def disarm() -> bool:
            disk.failing = None
            return bool(state["failed"])

        words = "no room left" if fault == "disk full" else "could not read or write"
        failures = fail_then_succeed(book, attempt, arm, disarm, words, step)
        book.check()
        expected = told(book)
    disk.unregister()
    # What the book says is what is on the disk, read without the faulty layer.
    with Book.open(path, now=Clock()) as book:
        assert told(book) == expected
    return failures


@pytest.mark.parametrize(
    ("deed", "fault"),
    [
        pytest.param(
            deed,
            fault,
            id=f"{fault}-{deed.name}",
            # It comes at the same calls as a full disk.
            marks=[pytest.mark.slow] if fault == "write error" and deed.name != "a correction" else [],
        )
        for fault in ("disk full", "write error", "sync error")
        for deed in DEEDS
        if deed.name not in LONG_DEEDS
    ],
)
def test_a_fault_at_every_call_of_an_act_to_the_disk(tmp_path, deed, fault):
    assert break_the_disk(tmp_path, deed, fault, 13 if deed.name in MANY_STATEMENTS else 1) >= 1


@pytest.mark.slow
def test_how_many_faults_the_acts_stand(tmp_path, capsys):
    counts: dict[str, int] = {}
    for deed in DEEDS:
        if deed.name in LONG_DEEDS:
            continue
        for fault in DISK_FAULTS:
            folder = tmp_path / f"{deed.name} {fault}".replace(" ", "-").replace("/", "-")
            folder.mkdir()
            counts[fault] = counts.get(fault, 0) + break_the_disk(folder, deed, fault)
    with capsys.disabled():
        print(f"\nfaults injected under SQLite and survived: {counts}")


def test_a_book_that_really_has_no_room_left(book):
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    with book.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    act = book.act("sessions logged")
    for _number in range(40):
        act.write(session(rug.id, note="x" * 2000))
    with pytest.raises(BookTrouble, match="no room left"):
        act.commit()
    assert reading.rug_book(book, rug.id).sessions == ()
    with book.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    act.commit()
    assert len(reading.rug_book(book, rug.id).sessions) == 40
    book.check()


def test_a_book_whose_file_really_may_not_grow(tmp_path):
    """The system itself refuses: a limit on file size in a process of its own."""
    code = """
        import resource, signal, sys
        from storage import reading
        from storage.book import Book
        from tests.storage.book_samples import plan, session
        from tracker.domain.errors import BookTrouble
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        book = Book.open(sys.argv[1])
        rug = plan()
        with book.act("rug planned") as act:
            act.write(rug)
        act = book.act("sessions logged")
        for _number in range(150):
            act.write(session(rug.id, note="x" * 2000))
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, hard))
        try:
            act.commit()
        except BookTrouble as trouble:
            print(trouble.sentence)
        else:
            print("no trouble")
        assert reading.rug_book(book, rug.id).sessions == ()
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        act.commit()
        assert len(reading.rug_book(book, rug.id).sessions) == 150
        book.check()
        book.close()
    """
    assert resource.RLIMIT_FSIZE is not None
    assert signal.SIGXFSZ is not None
    run = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(tmp_path / "book.loomside")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert "not written" in run.stdout or "not done" in run.stdout


def test_a_book_really_locked_by_another_program(book):
    rug = plan()
    with book.act("rug planned") as act:
        act.write(rug)
    with book.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 30")
    attempt = book.act("session logged")
    attempt.write(session(rug.id, rows=3))
    with closing(sqlite3.connect(book.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookTrouble, match="holding the book"):
            attempt.commit()
        # Reading goes on meanwhile.
        assert reading.rug_book(book, rug.id).rows_woven == 0
        other.execute("ROLLBACK")
    attempt.commit()
    assert reading.rug_book(book, rug.id).rows_woven == 3


@pytest.mark.parametrize(
    ("number", "words"),
    [(28, "no room left"), (30, "read-only"), (13, "not allowed"), (5, "could not read or write")],
    ids=["ENOSPC", "EROFS", "EACCES", "EIO"],
)
def test_what_the_system_says_about_files_becomes_a_sentence(book, tmp_path, monkeypatch, number, words):
    def refuses(*_arguments: Any, **_options: Any) -> None:
        raise OSError(number, "injected")

    monkeypatch.setattr("os.replace", refuses)
    with pytest.raises(BookTrouble, match=words):
        copies.copy_now(book)
    with pytest.raises(BookTrouble, match=words):
        exchange.write_exchange(book, tmp_path / "file")
    monkeypatch.undo()
    assert copies.list_copies(book.path) == ()
    assert not list(tmp_path.glob("*.loomside-part*"))
    assert copies.copy_now(book) in copies.list_copies(book.path)
