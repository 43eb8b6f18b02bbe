"""An open book: its connections for reading and writing, its lock, and how far it is known to have come."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, func, select
from sqlalchemy.exc import DBAPIError

from storage import migrations
from storage.checks import check_connection
from storage.connecting import make_engine, raw_connection
from storage.disk import nothing_left_on_failure
from storage.fresh import settle_here
from storage.journal import salts
from storage.lock import Lock, acknowledged_in
from storage.models import Act, Here
from storage.places import damaged_folder, lock_path, witness_path
from storage.schema import schema_of
from storage.trouble import (
    DiskTrouble,
    NoRoom,
    as_book_trouble,
)
from storage.witness import EVERY_ACTS, Standing, note, refuse_older, standing_of
from tracker.domain.errors import BookTrouble
from tracker.words import _


def utc_now() -> datetime:
    """Return the phone's clock in UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Known:
    """What the note, the lock and the copies beside a book say of how far it had come."""

    noted: Standing | None
    acknowledged: tuple[int, date]
    """The largest count by the lock file, and its day."""
    copied: tuple[int, date]
    """The largest count by the copies' names, and its day."""


class OpenBook:
    """The file of an open book. Reading and writing may happen on different threads; writes wait for each other."""

    def __init__(self, path: Path, engine: Engine, lock: Lock, now: Callable[[], datetime]) -> None:
        self.path = path
        self.engine = engine
        self.now = now
        self.device_id = ""
        self.checked = False
        """Whether the whole file has been checked since it was opened."""
        self.reading_only: DiskTrouble | None = None
        """What keeps the book from being written; it is then read from memory, and each act tries the file anew."""
        self.connect: Callable[[], Any] | None = None
        self._lock = lock
        self._writing = threading.RLock()
        self._closed = False
        self._acknowledged = lock.acknowledged()
        self._noted: Standing | None = None
        self._passed_over = 0
        self._acts_since_noted = 0

    def _let_write(self) -> None:
        """Turn to the file itself if the book was only read from memory; raise what kept it from that if it still does."""
        if self.reading_only is None:
            return
        try:
            with nothing_left_on_failure(self.path):
                if schema_of(self.path) != migrations.NEWEST:
                    raise self.reading_only
                engine = make_engine(self.path, self.connect)
                try:
                    with engine.connect().execution_options(writing=True) as connection, connection.begin():
                        connection.execute(select(func.max(Act.clock)))
                except BaseException:
                    engine.dispose()
                    raise
        except (BookTrouble, sqlite3.Error, OSError, DBAPIError) as error:
            raise self.reading_only from error
        self.engine, memory = engine, self.engine
        self.reading_only = None
        memory.dispose()
        self.note_witness()

    def greet(self, device_name: str) -> None:
        """Learn which device this is."""
        with self.reading() as connection:
            device_id = connection.execute(select(Here.device_id)).scalar()
        if device_id is None:
            with self.writing() as connection:
                device_id = settle_here(connection, device_name)
        self.device_id = device_id

    def meet_witnesses(self, known: Known, as_it_is: bool) -> None:
        """See that nothing is missing of what the book is known to have held; `as_it_is`: accept that it is."""
        with self.reading() as connection:
            raw = raw_connection(connection)
            if not as_it_is:
                refuse_older(raw, known.noted, known.acknowledged, known.copied)
            present = standing_of(raw, date.min)
        if as_it_is:
            self._acknowledged = present.clock
            self._lock.acknowledge(present.clock)
            self._passed_over = known.copied[0]
        elif known.noted is not None:
            self._noted, self._passed_over = known.noted, known.noted.passed_over
        self.note_witness()

    @property
    def may_lack_acts(self) -> bool:
        """Whether the book was knowingly opened without what its copies hold, was rescued, or came here without notes."""
        return (
            self._passed_over > 0
            or damaged_folder(self.path).is_dir()
            or not acknowledged_in(lock_path(self.path))
        )

    def note_witness(self) -> None:
        """Bring to the disk, apart from the book, how far the book has come; see `storage.witness`."""
        if self.reading_only is not None:
            return
        try:
            with self.reading() as connection:
                present = standing_of(raw_connection(connection), date.min, self._passed_over)
        except BookTrouble:
            return  # a disk in trouble says so to whoever reads or writes next
        self._acts_since_noted = 0
        known = Standing(0, 0, "", date.min) if self._noted is None else replace(self._noted, day=date.min)
        if present != known:
            self._noted = replace(present, day=self.now().astimezone().date())
            note(witness_path(self.path), self._noted)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees the book as it is now, unmoved by what is written meanwhile."""
        with as_book_trouble(), self._connection(writing=False) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give the one connection that may write; all of the block is written, or on an exception none of it."""
        with self._writing, as_book_trouble():
            self._let_write()
            with self._connection(writing=True) as connection:
                yield connection

    @contextmanager
    def _connection(self, writing: bool) -> Iterator[Connection]:
        if self._closed:
            raise BookTrouble(_("The book is closed. Open it again."))
        with (
            self.engine.connect().execution_options(writing=writing) as connection,
            self._transaction(connection),
        ):
            yield connection

    @contextmanager
    def _transaction(self, connection: Connection) -> Iterator[None]:
        transaction = connection.begin()
        try:
            yield
            transaction.commit()
        except BaseException:
            try:
                transaction.rollback()
                # A failed COMMIT can leave SQLite's own transaction open after SQLAlchemy's has ended.
                raw = raw_connection(connection)
                if raw is not None and getattr(raw, "in_transaction", False):
                    raw.rollback()
            except Exception:
                connection.invalidate()
            raise

    @contextmanager
    def joining(self, other: Path) -> Iterator[Connection]:
        """Like `writing`, with the checked file `other`, which has a book's tables, attached as `other`."""
        with self._writing, as_book_trouble():
            self._let_write()
            with self._attached(other) as connection:
                yield connection

    @contextmanager
    def _attached(self, other: Path) -> Iterator[Connection]:
        with self.engine.connect() as connection:
            raw = raw_connection(connection)
            raw.execute("ATTACH ? AS other", (f"{other.absolute().as_uri()}?mode=ro&immutable=1",))
            try:
                with self._transaction(connection.execution_options(writing=True)):
                    yield connection
            finally:
                try:
                    raw.execute("DETACH other")
                except Exception:
                    connection.invalidate()

    def acknowledge(self, clock: int) -> None:
        """Note that all acts up to this count are on the disk."""
        if clock > self._acknowledged:
            self._acknowledged = clock
            self._lock.acknowledge(clock, salts(self.path))
            self._acts_since_noted += 1
            if self._acts_since_noted >= EVERY_ACTS:
                self.note_witness()

    @property
    def notice(self) -> str:
        """What the weaver has to know of a book that can only be read now; empty: it can be written."""
        if self.reading_only is None:
            return ""
        if isinstance(self.reading_only, NoRoom):
            return _(
                "There is no room left on this phone. You can read the book, but not enter anything. "
                "Free some space."
            )
        return _("The book's file cannot be written now. You can read the book, but not enter anything.")

    def check(self) -> None:
        """Check the whole file: SQLite's own check, foreign keys, every seal, every tally.

        A book up to `limits.CHECK_AT_OPENING_BYTES` is checked as it opens; for a larger one call this right after,
        off the touch thread, when `checked` is False.

        Raises
        ------
        BookDamaged
            Something in the file cannot be what was entered.
        """
        with self.reading() as connection:
            check_connection(raw_connection(connection))
        self.checked = True

    def acts(self) -> int:
        """Return how many acts the book holds."""
        with self.reading() as connection:
            return int(connection.execute(select(func.count()).select_from(Act)).scalar_one())

    def close(self) -> None:
        """Close the book and let go of its lock. Closing twice does no harm."""
        if self._closed:
            return
        self.note_witness()
        self._closed = True
        with self._writing:
            self.engine.dispose()
            self._lock.release()
