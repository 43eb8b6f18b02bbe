"""A phone's disk for tests: a SQLite file layer that records every write and sync, or fails on purpose.

apsw lets Python stand under SQLite's own code; `connect` hands its connections to the book in place of sqlite3's.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import apsw

SECTOR = 512


class Disk(apsw.VFS):
    """A file layer under SQLite. `calls` counts what it was asked; `failing` decides which call fails."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.log: list[tuple[Any, ...]] = []
        self.recording = False
        self.calls = 0
        self.failing: Callable[[int, str, str], Exception | None] | None = None
        super().__init__(name, "")

    def happens(self, what: str, file: str) -> None:
        """Count a call and fail it if that is wished."""
        self.calls += 1
        if self.failing is not None:
            error = self.failing(self.calls, what, file)
            if error is not None:
                raise error

    def note(self, *told: Any) -> None:
        """Record something the disk was told."""
        if self.recording:
            self.log.append(told)

    def xOpen(self, name: Any, flags: list[int]) -> Any:
        """Open a file."""
        plain = name.filename() if isinstance(name, apsw.URIFilename) else name
        self.happens("open", plain or "")
        return DiskFile(self, name, flags, plain or "")

    def xDelete(self, filename: str, syncdir: bool) -> None:
        """Delete a file."""
        self.happens("delete", filename)
        super().xDelete(filename, syncdir)
        self.note("delete", filename, syncdir)


class DiskFile(apsw.VFSFile):
    """One open file."""

    def __init__(self, disk: Disk, name: Any, flags: list[int], plain: str) -> None:
        self.disk = disk
        self.file = plain
        super().__init__("", name, flags)

    def xRead(self, amount: int, offset: int) -> bytes:
        """Read."""
        self.disk.happens("read", self.file)
        return super().xRead(amount, offset)

    def xWrite(self, data: bytes, offset: int) -> None:
        """Write."""
        self.disk.happens("write", self.file)
        super().xWrite(data, offset)
        self.disk.note("write", self.file, offset, bytes(data))

    def xTruncate(self, size: int) -> None:
        """Cut short."""
        self.disk.happens("truncate", self.file)
        super().xTruncate(size)
        self.disk.note("truncate", self.file, size)

    def xSync(self, flags: int) -> None:
        """Bring to the disk what was written."""
        self.disk.happens("sync", self.file)
        super().xSync(flags)
        self.disk.note("sync", self.file)


def full() -> Exception:
    """Return what a full disk says."""
    return apsw.FullError("injected: no space left")


def broken(code: int = apsw.SQLITE_IOERR_WRITE) -> Exception:
    """Return what a broken disk says."""
    error = apsw.IOError("injected: disk I/O error")
    error.extendedresult = code
    return error


_KINDS: dict[str, type[sqlite3.Error]] = {
    "ConstraintError": sqlite3.IntegrityError,
    "CorruptError": sqlite3.DatabaseError,
    "NotADBError": sqlite3.DatabaseError,
}


def _translated(error: Exception) -> sqlite3.Error:
    kind = _KINDS.get(type(error).__name__, sqlite3.OperationalError)
    translated = kind(str(error))
    code = getattr(error, "extendedresult", 0) or getattr(error, "result", 0)
    if not code:
        for name in ("Full", "IO", "Busy", "ReadOnly", "CantOpen", "Corrupt", "NotADB"):
            if type(error).__name__ == f"{name}Error":
                constant = {
                    "IO": "SQLITE_IOERR",
                    "ReadOnly": "SQLITE_READONLY",
                    "CantOpen": "SQLITE_CANTOPEN",
                }
                code = getattr(apsw, constant.get(name, f"SQLITE_{name.upper()}"))
    translated.sqlite_errorcode = code
    return translated


class Cursor:
    """What SQLAlchemy asks of a cursor, answered by apsw."""

    arraysize = 1

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._rows: list[Any] = []
        self.description: Any = None
        self.lastrowid: int | None = None
        self.rowcount = -1

    def execute(self, sql: str, parameters: Any = ()) -> Cursor:
        """Run one statement and fetch all it gives."""
        raw = self._connection.raw
        try:
            cursor = raw.cursor()
            described: list[Any] = []

            def trace(running: Any, _sql: str, _bindings: Any) -> bool:
                described[:] = [tuple(running.description_full)] if running.description_full else []
                return True

            cursor.exec_trace = trace
            self._rows = list(cursor.execute(sql, tuple(parameters)))
        except (apsw.Error, OSError) as error:
            raise _translated(error) from error
        self.description = (
            tuple((column[0], None, None, None, None, None, None) for column in described[0])
            if described
            else None
        )
        self.lastrowid = raw.last_insert_rowid()
        self.rowcount = raw.changes()
        return self

    def executemany(self, sql: str, many: Iterable[Any]) -> Cursor:
        """Run one statement many times."""
        for parameters in many:
            self.execute(sql, parameters)
        return self

    def fetchone(self) -> Any:
        """Return the next row or None."""
        return self._rows.pop(0) if self._rows else None

    def fetchmany(self, size: int = 1) -> list[Any]:
        """Return the next rows."""
        given, self._rows = self._rows[:size], self._rows[size:]
        return given

    def fetchall(self) -> list[Any]:
        """Return the rest."""
        given, self._rows = self._rows, []
        return given

    def __iter__(self) -> Any:
        while self._rows:
            yield self._rows.pop(0)

    def close(self) -> None:
        """Nothing is left open."""
        self._rows = []


class Connection:
    """What SQLAlchemy asks of a connection, answered by apsw."""

    def __init__(self, path: Path, disk: Disk) -> None:
        try:
            self.raw = apsw.Connection(str(path), flags=apsw.SQLITE_OPEN_READWRITE, vfs=disk.name)
        except apsw.Error as error:
            raise _translated(error) from error
        self.isolation_level: str | None = None

    @property
    def in_transaction(self) -> bool:
        """Whether a transaction is open."""
        return bool(self.raw.in_transaction)

    def cursor(self) -> Cursor:
        """Return a cursor."""
        return Cursor(self)

    def execute(self, sql: str, parameters: Any = ()) -> Cursor:
        """Run one statement."""
        return self.cursor().execute(sql, parameters)

    def commit(self) -> None:
        """Commit, if a transaction is open."""
        if self.in_transaction:
            self.execute("COMMIT")

    def rollback(self) -> None:
        """Roll back, if a transaction is open."""
        if self.in_transaction:
            self.execute("ROLLBACK")

    def close(self) -> None:
        """Close."""
        try:
            self.raw.close()
        except apsw.Error as error:
            raise _translated(error) from error

    def create_function(self, name: str, number: int, function: Any, deterministic: bool = False) -> None:
        """Teach SQLite a function."""
        self.raw.create_scalar_function(name, function, number, deterministic=deterministic)


def connect_through(disk: Disk, path: Path) -> Callable[[], Connection]:
    """Return what `Book.open` takes as `connect`: connections whose files lie on `disk`."""
    return lambda: Connection(path, disk)


@dataclass
class Lost:
    """What a phone's disk holds when the power is cut: what was synced, and perhaps some of what was not."""

    synced: dict[str, bytearray] = field(default_factory=dict)
    """None of what was not synced."""
    pending: dict[str, list[tuple[Any, ...]]] = field(default_factory=dict)

    def apply(self, told: tuple[Any, ...]) -> None:
        """Take one recorded call."""
        what, name, *rest = told
        if what in ("write", "truncate"):
            self.pending.setdefault(name, []).append(told)
        elif what == "sync":
            content = self.synced.setdefault(name, bytearray())
            for one in self.pending.pop(name, []):
                _do(content, one)
        elif what == "delete":
            if rest[0]:
                self.synced.pop(name, None)
                self.pending.pop(name, None)
            else:
                self.pending.setdefault(name, []).append(told)

    def files(self, how: str, chance: random.Random) -> dict[str, bytes]:
        """Return the files as they lie there.

        `how`: "synced" none of the rest, "all" all of it, "some" a random part of it in which a write may be torn at
        a sector, as a disk that reorders its cache may leave it.
        """
        result = {name: bytearray(content) for name, content in self.synced.items()}
        if how != "synced":
            for name, calls in self.pending.items():
                content: bytearray | None = result.get(name, bytearray())
                for told in calls:
                    if how == "some" and chance.random() < 0.5:
                        continue
                    if told[0] == "delete":
                        content = None
                        continue
                    content = bytearray() if content is None else content
                    if how == "some" and told[0] == "write" and chance.random() < 0.3:
                        kept = chance.randrange(0, len(told[3]) + 1, SECTOR)
                        told = (*told[:3], told[3][:kept])
                    _do(content, told)
                if content is None:
                    result.pop(name, None)
                else:
                    result[name] = content
        return {name: bytes(content) for name, content in result.items()}


def _do(content: bytearray, told: tuple[Any, ...]) -> None:
    if told[0] == "write":
        _what, _name, offset, data = told
        if len(content) < offset:
            content.extend(bytes(offset - len(content)))
        content[offset : offset + len(data)] = data
    elif told[0] == "truncate":
        del content[told[2] :]
    elif told[0] == "delete":
        content.clear()
