"""Opens a book: one SQLite file, its lock, its schema, and the connections for reading and writing."""

from __future__ import annotations

import errno
import os
import re
import shutil
import sqlite3
import stat
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, create_engine, event, func, insert, select
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from storage import limits, migrations
from storage.convert import checked_text, seal_of_device
from storage.journal import Journal, journal_path, salts, whose
from storage.models import Act, Device, Here
from storage.trouble import (
    BookFromNewerApp,
    BookInUse,
    DiskTrouble,
    NoRoom,
    NotABook,
    as_book_trouble,
    as_trouble,
    damaged,
    no_room,
    not_a_book,
)
from storage.witness import EVERY_ACTS, Standing, note, noted, refuse_older, standing_of
from tracker.domain.act import ActKind
from tracker.domain.errors import BookTrouble
from tracker.domain.rug import new_id
from tracker.files.regular import hold, is_held, let_go, open_regular
from tracker.files.whole import drop_working, sync_folder, working
from tracker.words import _

if TYPE_CHECKING:
    from storage.copies import Copy
    from storage.unit_of_work import ActInWork, Undone

APPLICATION_ID = int.from_bytes(b"Loom", "big")
"""SQLite's mark in the file header that tells a book from other SQLite files."""

DEMO_MARK = int.from_bytes(b"demo", "big")
"""SQLite's user version of a book that the app made up itself; 0 in a weaver's own book. Joining never copies it."""

HEADER = b"SQLite format 3\x00"


def utc_now() -> datetime:
    """Return the phone's clock in UTC."""
    return datetime.now(UTC)


def prepare(connection: sqlite3.Connection) -> None:
    """Set a fresh connection up so that what it commits is on the disk and what it reads is checked."""
    connection.isolation_level = None  # SQLAlchemy's "begin" event opens transactions, see `make_engine`
    cursor = connection.cursor()
    try:
        for pragma in (
            "busy_timeout = 5000",
            "journal_mode = WAL",
            "synchronous = FULL",
            "fullfsync = ON",  # only Apple's systems look at this one
            "foreign_keys = ON",
            "cell_size_check = ON",
            "cache_size = -8000",  # KiB: one rug of many stays in reach without filling a small phone
            "trusted_schema = OFF",
        ):
            cursor.execute(f"PRAGMA {pragma}")
    finally:
        cursor.close()


def make_engine(path: Path, connect: Callable[[], Any] | None = None) -> Engine:
    """Return an engine over the SQLite file at `path`.

    Parameters
    ----------
    connect
        Opens a connection instead of `sqlite3.connect`; tests hand in one that fails on purpose.
    """

    def open_connection() -> Any:
        # Never creates a file: a book that vanished must not come back empty.
        return sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=5.0, check_same_thread=False
        )

    engine = create_engine(
        "sqlite://", creator=connect or open_connection, poolclass=QueuePool, pool_size=4, max_overflow=4
    )

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, _record: object) -> None:
        prepare(connection)

    @event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        # A writer takes its lock at once: taken later, SQLite could refuse it in the middle of an act.
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def from_newer_app() -> BookFromNewerApp:
    """Return the error for a book of a schema that this app does not know."""
    return BookFromNewerApp(
        _(
            "This book was written by a newer version of the app. Update the app, then open it again. Nothing was changed."
        )
    )


def memory_connection(image: bytes | bytearray) -> sqlite3.Connection:
    """Return a connection to a book of its own in memory, made of a whole file's bytes."""
    connection = sqlite3.connect(":memory:", check_same_thread=False)
    connection.deserialize(image)
    return connection


FULL_BYTES = 256 * 1024
"""A disk with less room than this is full: SQLite's working memory beside a book alone takes 32 KiB, a first act more."""


def is_full(folder: Path) -> bool:
    """Tell whether there is no room left where `folder` lies."""
    try:
        return shutil.disk_usage(folder).free < FULL_BYTES
    except OSError:
        return False


def schema_of(path: Path) -> str:
    """Return the schema of the book at `path`, looking without touching.

    Raises
    ------
    NotABook
        The file is no SQLite file, or another program's.
    BookFromNewerApp
        The schema is none that this app knows.
    """
    with as_book_trouble():
        with open_regular(path) as file:
            if file.read(len(HEADER)) != HEADER:
                raise not_a_book()
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
            connection.execute("PRAGMA busy_timeout = 5000")
            application = connection.execute("PRAGMA application_id").fetchone()[0]
            tables = connection.execute("SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'")
            if application != APPLICATION_ID or not tables.fetchone()[0]:
                raise not_a_book()
            found = [row[0] for row in connection.execute("SELECT version_num FROM alembic_version")]
    if len(found) != 1:
        raise damaged("no single schema version")
    if found[0] not in migrations.KNOWN:
        raise from_newer_app()
    return str(found[0])


def refuse_strangers(path: Path) -> None:
    """Refuse a file that neither is nor ever was a book; nothing is written beside it.

    A book whose head is broken is told by what lies beside it, or by a row in it that carries a true seal.

    Raises
    ------
    NotABook
        It is another program's file, an empty one, a folder or a device.
    """
    with as_book_trouble():
        try:
            with open_regular(path) as file:
                head = file.read(100)
        except FileNotFoundError:
            return
        # The application id's place: www.sqlite.org/fileformat2.html, 1.3.
        if head.startswith(HEADER) and int.from_bytes(head[68:72], "big") == APPLICATION_ID:
            return
        if has_traces(path):
            return
        from storage.rescue import holds_entries

        if not holds_entries(path):
            raise not_a_book()


def has_traces(path: Path) -> bool:
    """Tell whether what lies beside `path` says that a book with entries lay there."""
    return (
        has_copies(path)
        or damaged_folder(path).is_dir()
        or acknowledged_in(lock_path(path)) > 0
        or noted(witness_path(path)) is not None
    )


def is_demo(path: Path) -> bool:
    """Tell whether the file at `path` is a book that this app made up as a demo, from its header alone.

    The header's fields are at 60 (user version) and 68 (application id): www.sqlite.org/fileformat2.html, 1.3.
    """
    try:
        with open_regular(path) as file:
            header = file.read(100)
    except OSError:
        return False
    return header.startswith(HEADER) and header[60:64] + header[68:72] == b"demo" + b"Loom"


def migrate(path: Path, to: str = "head", in_memory: sqlite3.Connection | None = None) -> None:
    """Bring the SQLite file at `path` to schema `to`, in one transaction: it is migrated whole or not at all.

    Parameters
    ----------
    in_memory
        What was read of it into memory, which is migrated instead.
    """
    # Alembic takes as long to import as the rest of the book together, and is needed once in many months.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent).replace("%", "%%"))
    config.set_main_option("sourceless", "true")  # phones carry compiled files only
    with as_book_trouble():
        engine = make_engine(path, None if in_memory is None else lambda: in_memory)
        try:
            with engine.connect().execution_options(writing=True) as connection, connection.begin():
                config.attributes["connection"] = connection
                command.upgrade(config, to)
        finally:
            if in_memory is None:
                engine.dispose()


COUNT_BYTES = 32
"""Length of the count of acts at the head of a lock file."""


def _count(told: bytes) -> int:
    return int(told) if told.strip().isdigit() else 0


def acknowledged_in(lock: Path) -> int:
    """Return the count in a lock file, without holding or making it; 0: there is none."""
    try:
        with open_regular(lock) as file:
            return _count(file.read(COUNT_BYTES))
    except OSError:
        return 0


_LOCK = re.compile(rb"(?:\d+ *)?(?:[0-9a-f]{16} *)?")
"""What a lock file may hold: nothing, or the count and the journal's mark written by `Lock.acknowledge`."""


def _in_use() -> BookInUse:
    return BookInUse(_("This book is already open in another window of the app. Close that one first."))


def _flock(handle: int) -> None:
    """Hold what is behind a descriptor for this process alone; BookInUse when another holds it."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK):
            raise _in_use() from None
        raise


@contextmanager
def nothing_left_on_failure(path: Path) -> Iterator[None]:
    """Remove what SQLite began to make beside the book at `path`, and could not, when the block fails on a full disk."""
    beside = [path.with_name(path.name + tail) for tail in ("-wal", "-shm")]
    fresh = [one for one in beside if not one.exists()]
    try:
        yield
    except DiskTrouble:
        for one in fresh:
            with suppress(OSError):
                if one.name.endswith("-shm") or not one.stat().st_size:
                    one.unlink()
        raise


def _lock_on(path: Path) -> Lock:
    """Hold the book at `path`; where no lock file can be made, by the book's file alone."""
    try:
        return Lock(lock_path(path))
    except OSError:
        lock = Lock(None)
        if path.exists():
            lock.hold_file(path)
        if not lock.holds_file:
            raise
        return lock


LOCKS_BY_FILE = os.name != "nt" and sys.platform != "darwin"
"""Whether the book's file itself is held too, so that a hard link to it is noticed.

On Linux flock knows nothing of SQLite's own locks (flock(2), fcntl(2)); elsewhere the two would meet.
"""


class Lock:
    """Holds a book for one running app; the system lets go of it when the app dies, however it dies."""

    def __init__(self, path: Path | None) -> None:
        """Hold the lock file at `path`, made if need be; None: there shall be none, and `hold_file` has to do."""
        self._book: int | None = None
        self._file = -1
        if path is None:
            return
        self._file = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            if not (stat.S_ISREG(os.fstat(self._file).st_mode) and _LOCK.fullmatch(os.read(self._file, 128))):
                raise BookTrouble(
                    _(
                        "{path} is not of this app, and lies where the book needs a file of its own. "
                        "Move it elsewhere, then open the book again."
                    ).format(path=path)
                )
            _flock(self._file)
        except BaseException:
            os.close(self._file)
            raise

    @property
    def holds_file(self) -> bool:
        """Whether the book's file itself is held."""
        return self._book is not None

    def hold_file(self, book: Path) -> None:
        """Hold the book's file itself, by whatever name another app may know it.

        The descriptor stays open until `release`, after SQLite has closed its own: see `regular_file.hold`.

        Raises
        ------
        BookInUse
            Another app, or another book of this one, has this very file open.
        """
        if not LOCKS_BY_FILE or self._book is not None:
            return
        if is_held(book):
            raise _in_use()
        handle = os.open(book, os.O_RDONLY | os.O_NONBLOCK)
        try:
            _flock(handle)
        except BookInUse:
            os.close(handle)
            raise
        except OSError:
            os.close(handle)  # a file system without such locks: the lock file must do
            return
        hold(handle)
        self._book = handle

    def acknowledged(self) -> int:
        """Return the largest count of an act that a phone has acknowledged, as far as this file knows."""
        if self._file < 0 or not hasattr(os, "pread"):
            return 0
        return _count(os.pread(self._file, COUNT_BYTES, 0))

    def acknowledge(self, clock: int, journal_salts: bytes = b"") -> None:
        """Note that the act with this count is on the disk, in the journal of that mark.

        SQLite drops the end of a damaged journal without a word; this note, written after each commit, tells that
        something is missing. It is not synced: it may lag behind the book, and can never run ahead of it.
        """
        if hasattr(os, "pwrite"):
            with suppress(OSError):
                told = (b"%d" % clock).ljust(COUNT_BYTES) + journal_salts.hex().encode().ljust(COUNT_BYTES)
                os.pwrite(self._file, told, 0)

    def journal_salts(self) -> bytes:
        """Return the mark of the journal into which the last acknowledged act was written; empty: it is not known."""
        if self._file < 0 or not hasattr(os, "pread"):
            return b""
        told = os.pread(self._file, COUNT_BYTES, COUNT_BYTES).strip()
        try:
            return bytes.fromhex(told.decode("ascii"))
        except ValueError:
            return b""

    def day(self) -> date:
        """Return the local day on which an act was acknowledged last."""
        if self._file < 0:
            return date.min
        return datetime.fromtimestamp(os.fstat(self._file).st_mtime, UTC).astimezone().date()

    def release(self) -> None:
        """Let another app have the book."""
        if self._book is not None:
            let_go(self._book)
            os.close(self._book)
            self._book = None
        if self._file >= 0:
            os.close(self._file)
            self._file = -1


def sync_file(path: Path) -> None:
    """Make what was written to a file survive a flat battery."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_fresh(path: Path, device_name: str) -> None:
    """Make an empty book beside `path` and move it there whole: a file at `path` is never half a book."""
    fresh = working(path, "new")
    drop_working(fresh)
    try:
        with closing(sqlite3.connect(fresh)) as made:
            made.execute("PRAGMA page_size = 4096")  # `storage.carve` relies on it
            made.execute("PRAGMA journal_mode = WAL")
        migrate(fresh)
        engine = make_engine(fresh)
        try:
            with engine.connect().execution_options(writing=True) as connection, connection.begin():
                settle_here(connection, device_name)
        finally:
            engine.dispose()
        os.replace(fresh, path)
    except BaseException:
        drop_working(fresh)
        raise
    sync_folder(path.parent)


def set_rollback_journal_aside(path: Path, now: Callable[[], datetime]) -> None:
    """Move a rollback journal that lies beside the book at `path` away: it is not the book's, and SQLite would obey it.

    A book has a write-ahead journal from its first second. Only a copy of a book that is opened as one is switched to it,
    by one write into the head of the file, after which either state is whole.
    """
    stray = path.with_name(path.name + "-journal")
    if not stray.is_file() or not stray.stat().st_size:
        return
    kept = damaged_folder(path) / f"{now().astimezone(UTC):%Y%m%dT%H%M%S%f}Z"
    kept.mkdir(parents=True, exist_ok=True)
    os.replace(stray, kept / stray.name)
    sync_folder(kept)


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


def settle_here(connection: Connection, device_name: str) -> str:
    """Note on which device this file lives, as a device of its own, and return its id."""
    device_id = new_id()
    name = checked_text(device_name[: limits.KIND_CHARACTERS])
    connection.execute(
        insert(Device).values(device_id=device_id, name=name, seal=seal_of_device(device_id, name))
    )
    connection.execute(insert(Here).values(id=1, device_id=device_id))
    return device_id


class Book:
    """An open book. Reading and writing may happen on different threads; writes wait for each other."""

    def __init__(self, path: Path, engine: Engine, lock: Lock, now: Callable[[], datetime]) -> None:
        self.path = path
        self.engine = engine
        self.now = now
        self.device_id = ""
        self.checked = False
        """Whether the whole file has been checked since it was opened."""
        self.reading_only: DiskTrouble | None = None
        """What keeps the book from being written; it is then read from memory, and each act tries the file anew."""
        self._connect: Callable[[], Any] | None = None
        self._lock = lock
        self._writing = threading.RLock()
        self._closed = False
        self._acknowledged = lock.acknowledged()
        self._noted: Standing | None = None
        self._passed_over = 0
        self._acts_since_noted = 0

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        device_name: str = "this phone",
        now: Callable[[], datetime] = utc_now,
        connect: Callable[[], Any] | None = None,
        as_it_is: bool = False,
    ) -> Book:
        """Open the book at `path`, or make one there.

        Parameters
        ----------
        device_name
            What this phone is called in the diary of a book made now.
        now
            Tells the time in UTC; written beside each act, never used for order.
        connect
            See `make_engine`.
        as_it_is
            Open it even if acts are missing that it once held; they are not asked for again.

        Raises
        ------
        NotABook
            The file is none and never was one; nothing was written beside it.
        BookInUse
            Another running app has it open.
        BookOlder
            It is sound, but lacks acts it held before.
        BookFromNewerApp
            A newer app wrote it; it is left untouched.
        BookDamaged
            It cannot be trusted; `storage.rescue.rescue` makes a new book of what can be read.
        BookTrouble
            It cannot be read or written.
        """
        path = real_path(path)
        refuse_strangers(path)
        with as_book_trouble():
            path.parent.mkdir(parents=True, exist_ok=True)
            lock = _lock_on(path)
        try:
            return cls._open_or_read(path, lock, device_name, now, connect, as_it_is)
        except BaseException:
            lock.release()
            raise

    @classmethod
    def _open_or_read(
        cls,
        path: Path,
        lock: Lock,
        device_name: str,
        now: Callable[[], datetime],
        connect: Callable[[], Any] | None,
        as_it_is: bool,
    ) -> Book:
        try:
            with nothing_left_on_failure(path):
                return cls._open_locked(path, lock, device_name, now, connect, as_it_is)
        except DiskTrouble as trouble:
            if not isinstance(trouble, NoRoom) and is_full(path.parent):
                told: DiskTrouble = no_room()
                told.__cause__ = trouble
            else:
                told = trouble
            if not path.exists():
                raise told from trouble
            return cls._in_memory(path, lock, now, connect, as_it_is, told)

    @classmethod
    def _in_memory(
        cls,
        path: Path,
        lock: Lock,
        now: Callable[[], datetime],
        connect: Callable[[], Any] | None,
        as_it_is: bool,
        trouble: DiskTrouble,
    ) -> Book:
        """Read the book into memory, so that it can be shown though `trouble` keeps SQLite from opening the file."""
        from storage import carve
        from storage.checks import check_connection

        try:
            lock.hold_file(path)
            found = carve.image(path, limits.MEMORY_BYTES)
        except (OSError, ValueError):
            raise trouble from None
        with as_book_trouble(), closing(memory_connection(found)) as connection:
            connection.execute("PRAGMA query_only = ON")
            check_connection(connection)
            if not as_it_is:
                refuse_older(connection, *_known_of(path, lock))
            schema = connection.execute("SELECT version_num FROM alembic_version").fetchone()[0]
        if schema not in migrations.KNOWN:
            raise from_newer_app()
        if schema != migrations.NEWEST:
            with closing(memory_connection(found)) as connection:
                migrate(path, in_memory=connection)
                found = bytearray(connection.serialize())
        book = cls(path, make_engine(path, lambda: memory_connection(found)), lock, now)
        book.reading_only = trouble
        book._connect = connect
        book.checked = True
        with book.reading() as reader:
            book.device_id = reader.execute(select(Here.device_id)).scalar() or ""
        return book

    def _let_write(self) -> None:
        """Turn to the file itself if the book was only read from memory; raise what kept it from that if it still does."""
        if self.reading_only is None:
            return
        try:
            with nothing_left_on_failure(self.path):
                if schema_of(self.path) != migrations.NEWEST:
                    raise self.reading_only
                engine = make_engine(self.path, self._connect)
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

    @classmethod
    def _open_locked(
        cls,
        path: Path,
        lock: Lock,
        device_name: str,
        now: Callable[[], datetime],
        connect: Callable[[], Any] | None,
        as_it_is: bool,
    ) -> Book:
        with as_book_trouble():
            if not path.exists():
                if journal_path(path).exists() or has_traces(path):
                    raise damaged("the file is gone, but its copies or its journal are there")
                make_fresh(path, device_name)
            lock.hold_file(path)
            refuse_another_name(path)
            set_rollback_journal_aside(path, now)
            if whose(path, lock.journal_salts()) in (Journal.FOREIGN, Journal.OLD):
                raise damaged("the journal is not the book's")
            try:
                schema = schema_of(path)
            except NotABook as error:
                raise damaged("no book where the book should be") from error
            if schema != migrations.NEWEST:
                from storage.copies import copy_before_migration

                copy_before_migration(path, now())
                try:
                    migrate(path)
                except BookTrouble:
                    raise
                except Exception as error:
                    raise BookTrouble(
                        _(
                            "The book could not be brought up to date and was left as it was. Restart the app and try again."
                        )
                    ) from error
            if journal_path(path).exists():
                # SQLite makes a journal part of the file when the last connection is closed, and then removes it. What
                # it would make of the book is looked at first without the right to write, so that it can be refused.
                with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
                    connection.execute("PRAGMA busy_timeout = 5000")
                    connection.execute("PRAGMA cell_size_check = ON")
                    if path.stat().st_size <= limits.CHECK_AT_OPENING_BYTES:
                        from storage.checks import check_connection

                        check_connection(connection)
                    if not as_it_is:
                        refuse_older(connection, *_known_of(path, lock))
            engine = make_engine(path, connect)
            book = cls(path, engine, lock, now)
            try:
                book._greet(device_name)
                if path.stat().st_size <= limits.CHECK_AT_OPENING_BYTES:
                    book.check()
                book._meet_witnesses(as_it_is)
            except BaseException:
                engine.dispose()
                raise
        return book

    def _greet(self, device_name: str) -> None:
        """Learn which device this is."""
        with self.reading() as connection:
            found = connection.execute(select(Here.device_id)).scalar()
        if found is None:
            with self.writing() as connection:
                found = settle_here(connection, device_name)
        self.device_id = found

    def _meet_witnesses(self, as_it_is: bool) -> None:
        """See that nothing is missing of what the book is known to have held; `as_it_is`: accept that it is."""
        kept, acknowledged, copied = _known_of(self.path, self._lock)
        with self.reading() as connection:
            raw = raw_connection(connection)
            if not as_it_is:
                refuse_older(raw, kept, acknowledged, copied)
            present = standing_of(raw, date.min)
        if as_it_is:
            self._acknowledged = present.clock
            self._lock.acknowledge(present.clock)
            self._passed_over = copied[0]
        elif kept is not None:
            self._noted, self._passed_over = kept, kept.passed_over
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
                "There is no room left on this phone: the book can be read, and nothing be entered. Free some space."
            )
        return _("The book's file cannot be written now: the book can be read, and nothing be entered.")

    def act(self, kind: str, rug_id: str | None = None) -> ActInWork:
        """Return an act to be used in a `with` block: what it writes is committed whole at the end of the block.

        Parameters
        ----------
        kind
            What the weaver did, such as ActKind.SESSION_LOGGED; shown in the diary.
        rug_id
            The rug it concerns; None: taken from what is written, if that is one rug's.
        """
        from storage.unit_of_work import ActInWork

        return ActInWork(self, kind, rug_id)

    def undo(self, act_id: str, kind: str = ActKind.UNDONE) -> Undone:
        """Undo an act by a new act that restores what was before; undoing that one is redoing.

        Records that a later act changed are left and reported.
        """
        from storage.unit_of_work import undo

        return undo(self, act_id, kind)

    def check(self) -> None:
        """Check the whole file: SQLite's own check, foreign keys, every seal, every tally.

        A book up to `limits.CHECK_AT_OPENING_BYTES` is checked as it opens; for a larger one call this right after,
        off the touch thread, when `checked` is False.

        Raises
        ------
        BookDamaged
            Something in the file cannot be what was entered.
        """
        from storage.checks import check_connection

        with self.reading() as connection:
            check_connection(raw_connection(connection))
        self.checked = True

    def mark_as_demo(self) -> None:
        """Mark this book as made up by the app; see `is_demo`."""
        with self.writing() as connection:
            connection.exec_driver_sql(f"PRAGMA user_version = {DEMO_MARK}")

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

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_exception: object) -> None:
        self.close()


def raw_connection(connection: Connection) -> Any:
    """Return the DBAPI connection underneath."""
    return connection.connection.dbapi_connection


def _known_of(path: Path, lock: Lock) -> tuple[Standing | None, tuple[int, date], tuple[int, date]]:
    """Return what the note, the lock and the copies of the book at `path` say of how far it had come."""
    newest = next(iter(_copies_of(path)), None)
    return (
        noted(witness_path(path)),
        (lock.acknowledged(), lock.day()),
        (0, date.min) if newest is None else (newest.clock, newest.made_at.astimezone().date()),
    )


def _copies_of(path: Path) -> tuple[Copy, ...]:
    from storage.copies import list_copies

    return list_copies(path)


def real_path(path: str | os.PathLike[str]) -> Path:
    """Return where the book at `path` lies once all symbolic links are followed: what belongs to it lies beside that."""
    return Path(os.path.realpath(path))


def _beside(path: Path, tail: str) -> Path:
    path = real_path(path)
    return path.with_name(path.name + tail)


def copies_folder(path: Path) -> Path:
    """Return the folder in which the copies of the book at `path` lie."""
    return _beside(path, ".copies")


def damaged_folder(path: Path) -> Path:
    """Return the folder in which damaged files of the book at `path` are kept."""
    return _beside(path, ".damaged")


def lock_path(path: Path) -> Path:
    """Return the file by which a running app holds the book at `path`."""
    return _beside(path, ".lock")


def witness_path(path: Path) -> Path:
    """Return the note of how far the book at `path` had come; see `storage.witness`."""
    return _beside(path, ".last-act")


def pass_on_witness(built: Path, path: Path) -> None:
    """Note beside `path` what is noted of the book built at `built`, which is about to take the place at `path`.

    What lay there before is vouched for no longer, neither by its note nor by its copies.
    """
    standing = noted(witness_path(built))
    if standing is not None:
        newest = max((copy.clock for copy in _copies_of(path)), default=0)
        note(witness_path(path), replace(standing, passed_over=newest))


def has_copies(path: Path) -> bool:
    """Tell whether there are copies of the book at `path`."""
    folder = copies_folder(path)
    return folder.is_dir() and any(folder.glob("*.book"))


__all__ = ["APPLICATION_ID", "Book", "as_trouble", "copies_folder", "has_copies", "migrate", "schema_of"]
