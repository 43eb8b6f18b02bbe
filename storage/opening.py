"""Opening a book: who may, whether it is whole, of which schema, and what to do on a disk in trouble."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Generic, TypeVar

from sqlalchemy import select

from storage import carve, limits, migrations
from storage.checks import check_connection
from storage.connecting import make_engine, memory_connection
from storage.copies import copy_before_migration, list_copies
from storage.disk import is_full, nothing_left_on_failure
from storage.fresh import make_fresh
from storage.journal import Journal, journal_path, whose
from storage.lock import Lock, lock_on
from storage.models import Here
from storage.open_book import Known, OpenBook
from storage.places import damaged_folder, real_path, witness_path
from storage.schema import from_newer_app, migrate, schema_of
from storage.strangers import has_traces, refuse_strangers
from storage.trouble import (
    DiskTrouble,
    NoRoom,
    NotABook,
    as_book_trouble,
    damaged,
    no_room,
)
from storage.witness import note, noted, refuse_older
from tracker.domain.errors import BookTrouble
from tracker.domain.history import local_time
from tracker.files.whole import sync_folder
from tracker.words import _


def set_rollback_journal_aside(path: Path, now: Callable[[], datetime]) -> None:
    """Move a rollback journal that lies beside the book at `path` away: it is not the book's, and SQLite would obey it.

    A book has a write-ahead journal from its first second. Only a copy of a book that is opened as one is switched to it,
    by one write into the head of the file, after which either state is whole.
    """
    stray = path.with_name(path.name + "-journal")
    if not stray.is_file() or not stray.stat().st_size:
        return
    folder = damaged_folder(path) / f"{now().astimezone(UTC):%Y%m%dT%H%M%S%f}Z"
    folder.mkdir(parents=True, exist_ok=True)
    os.replace(stray, folder / stray.name)
    sync_folder(folder)


def refuse_another_name(path: Path) -> None:
    """Refuse a book whose journal lies beside another name of the same file: it would be opened without its last acts."""
    told = path.stat()
    if told.st_nlink < 2:
        return
    for other in path.parent.iterdir():
        if other.name == path.name or other.is_symlink() or not other.is_file():
            continue
        if os.path.samestat(other.stat(), told) and journal_path(other).exists():
            raise BookTrouble(
                _("This book was last written under its other name, {name}. Open it by that name.").format(
                    name=other.name
                )
            )


AnyBook = TypeVar("AnyBook", bound=OpenBook)


def open_book(
    book_class: type[AnyBook],
    path: Path,
    device_name: str,
    now: Callable[[], datetime],
    connect: Callable[[], Any] | None,
    as_it_is: bool,
) -> AnyBook:
    """Open the book at `path` as `book_class`, or make one there; see `storage.book.Book.open`."""
    path = real_path(path)
    refuse_strangers(path)
    with as_book_trouble():
        path.parent.mkdir(parents=True, exist_ok=True)
        lock = lock_on(path)
    try:
        return _Opening(book_class, path, lock, device_name, now, connect, as_it_is).open_or_read()
    except BaseException:
        lock.release()
        raise


@dataclass(frozen=True, slots=True)
class _Opening(Generic[AnyBook]):
    """One opening of a book whose lock is held."""

    book_class: type[AnyBook]
    path: Path
    lock: Lock
    device_name: str
    now: Callable[[], datetime]
    connect: Callable[[], Any] | None
    as_it_is: bool

    def open_or_read(self) -> AnyBook:
        """Open the file; where the disk does not let it be opened, read it into memory."""
        try:
            with nothing_left_on_failure(self.path):
                return self._open()
        except DiskTrouble as trouble:
            if not isinstance(trouble, NoRoom) and is_full(self.path.parent):
                told: DiskTrouble = no_room()
                told.__cause__ = trouble
            else:
                told = trouble
            if not self.path.exists():
                raise told from trouble
            return self._read_into_memory(told)

    def _read_into_memory(self, trouble: DiskTrouble) -> AnyBook:
        """Read the book into memory, so that it can be shown though `trouble` keeps SQLite from opening the file."""
        path = self.path
        try:
            self.lock.hold_file(path)
            image = carve.image(path, limits.MEMORY_BYTES)
        except (OSError, ValueError):
            raise trouble from None
        with as_book_trouble(), closing(memory_connection(image)) as connection:
            connection.execute("PRAGMA query_only = ON")
            check_connection(connection)
            if not self.as_it_is:
                self._refuse_older(connection)
            schema = connection.execute("SELECT version_num FROM alembic_version").fetchone()[0]
        if schema not in migrations.KNOWN:
            raise from_newer_app()
        if schema != migrations.NEWEST:
            with closing(memory_connection(image)) as connection:
                migrate(path, in_memory=connection)
                image = bytearray(connection.serialize())
        book = self.book_class(path, make_engine(path, lambda: memory_connection(image)), self.lock, self.now)
        book.reading_only = trouble
        book.connect = self.connect
        book.checked = True
        with book.reading() as reader:
            book.device_id = reader.execute(select(Here.device_id)).scalar() or ""
        return book

    def _open(self) -> AnyBook:
        path = self.path
        with as_book_trouble():
            if not path.exists():
                if journal_path(path).exists() or has_traces(path):
                    raise damaged("the file is gone, but its copies or its journal are there")
                make_fresh(path, self.device_name)
            self.lock.hold_file(path)
            refuse_another_name(path)
            set_rollback_journal_aside(path, self.now)
            if whose(path, self.lock.journal_salts()) in (Journal.FOREIGN, Journal.OLD):
                raise damaged("the journal is not the book's")
            self._bring_up_to_date()
            if journal_path(path).exists():
                self._look_at_journal()
            engine = make_engine(path, self.connect)
            book = self.book_class(path, engine, self.lock, self.now)
            try:
                book.greet(self.device_name)
                if path.stat().st_size <= limits.CHECK_AT_OPENING_BYTES:
                    book.check()
                book.meet_witnesses(known_of(path, self.lock), self.as_it_is)
            except BaseException:
                engine.dispose()
                raise
        return book

    def _bring_up_to_date(self) -> None:
        """Migrate a book of an older schema, once a checked copy of it lies beside it."""
        try:
            schema = schema_of(self.path)
        except NotABook as error:
            raise damaged("no book where the book should be") from error
        if schema == migrations.NEWEST:
            return
        copy_before_migration(self.path, self.now())
        try:
            migrate(self.path)
        except BookTrouble:
            raise
        except Exception as error:
            raise BookTrouble(
                _(
                    "The book could not be brought up to date and was left as it was. Restart the app and try again."
                )
            ) from error

    def _look_at_journal(self) -> None:
        """Look at what SQLite would make of the book and its journal, without the right to write, so that it can be refused.

        SQLite makes a journal part of the file when the last connection is closed, and then removes it.
        """
        with closing(sqlite3.connect(f"{self.path.as_uri()}?mode=ro", uri=True)) as connection:
            connection.execute("PRAGMA busy_timeout = 5000")
            connection.execute("PRAGMA cell_size_check = ON")
            if self.path.stat().st_size <= limits.CHECK_AT_OPENING_BYTES:
                check_connection(connection)
            if not self.as_it_is:
                self._refuse_older(connection)

    def _refuse_older(self, connection: sqlite3.Connection) -> None:
        known = known_of(self.path, self.lock)
        refuse_older(connection, known.noted, known.acknowledged, known.copied)


def known_of(path: Path, lock: Lock) -> Known:
    """Return what the note, the lock and the copies of the book at `path` say of how far it had come."""
    newest = next(iter(list_copies(path)), None)
    return Known(
        noted(witness_path(path)),
        (lock.acknowledged(), lock.day()),
        (0, date.min) if newest is None else (newest.clock, local_time(newest.made_at).date()),
    )


def pass_on_witness(built: Path, path: Path) -> None:
    """Note beside `path` what is noted of the book built at `built`, which is about to take the place at `path`.

    What lay there before is vouched for no longer, neither by its note nor by its copies.
    """
    standing = noted(witness_path(built))
    if standing is not None:
        newest = max((copy.clock for copy in list_copies(path)), default=0)
        note(witness_path(path), replace(standing, passed_over=newest))
