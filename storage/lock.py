"""The lock: one running app holds a book, and notes how far it had come."""

from __future__ import annotations

import errno
import os
import re
import stat
import sys
from contextlib import suppress
from datetime import date
from pathlib import Path

from storage.places import lock_path
from storage.trouble import not_ours
from tracker.domain.errors import BookInUse
from tracker.files.day import day_written
from tracker.files.regular import hold, is_held, let_go, open_regular
from tracker.words import _

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
                raise not_ours(path)
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
        return day_written(os.fstat(self._file).st_mtime)

    def release(self) -> None:
        """Let another app have the book."""
        if self._book is not None:
            let_go(self._book)
            os.close(self._book)
            self._book = None
        if self._file >= 0:
            os.close(self._file)
            self._file = -1


def lock_on(path: Path) -> Lock:
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
