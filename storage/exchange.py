"""The exchange file: all acts of a book in a format of our own, for a second phone at the same loom.

The format
----------
A gzip stream of UTF-8 text, one JSON array or object a line, each ending in a newline:

1. ``{"file": "loomside exchange", "schema": S, "acts": A, "versions": V}`` with S the newest schema of the writer.
2. ``["d", device_id, name]`` for every phone that wrote.
3. ``["a", act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, torn]`` for every act; `made_at` in
   microseconds since 1970 (UTC), `versions` how many versions it wrote, `torn` 1 if a damaged book lost some.
4. ``["v", kind, record_id, rug_id, act_id, follows, withdrawn, {field: value}]`` for every version; fields as the
   columns of `storage.models`, fields that are NULL left out, cells in base64.
5. ``["end", L, H]`` with L the number of lines before it and H the SHA-256 of their bytes.

An older schema's file lacks newer fields, which then take their defaults. A newer one is refused.
Reading never holds more than a line and goes through a staging file, which is checked as a book is.
"""

from __future__ import annotations

import base64
import binascii
import gzip
import hashlib
import json
import os
import sqlite3
import zlib
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from storage import limits, migrations
from storage.checks import (
    check_act,
    check_device,
    check_record,
    check_stranger,
    check_version,
    findings,
    seal_is_true,
    strange,
    version_rows,
)
from storage.connecting import raw_connection
from storage.convert import (
    KIND_NAMES,
    SHARED_COLUMNS,
    Kind,
    add_seals,
    cells_told,
    checked_id,
    is_lawful,
    kind_named,
    seal_of_act,
    seal_of_device,
    seal_of_version,
)
from storage.copies import BEFORE_JOINING, copy_now
from storage.disk import sync_file
from storage.merge import Lacks, join_file, make_staging
from storage.open_book import OpenBook
from storage.trouble import BookFromNewerApp, as_book_trouble, damaged, too_large
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.history import Joined
from tracker.files.regular import open_regular
from tracker.files.whole import drop_working, sync_folder, working
from tracker.words import _

MARK = "loomside exchange"
SUFFIX = ".loomside-exchange"
_BLOCK = 1 << 20
OF_ORDERS = ("rug_order", "payment")
"""Kinds that a file may leave out, because they are the customer's affair: the page does unless the weaver wants them."""
_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


def write_exchange(book: OpenBook, target: str | os.PathLike[str], orders: bool = True) -> int:
    """Write everything the book holds to an exchange file, for another phone to join.

    Parameters
    ----------
    orders
        False leaves out the orders behind the rugs and what their customers paid, and that there are any.

    Returns
    -------
    int
        Size of the file in bytes.

    Raises
    ------
    BookTrouble
        The book cannot be read whole, or the file not be written; `target` is then as it was.
    """
    target = Path(target)
    part = working(target)
    with as_book_trouble():
        try:
            part.unlink(missing_ok=True)
            with open(part, "xb") as file, gzip.GzipFile("", "wb", 6, file, mtime=0) as packed:
                digest = hashlib.sha256()
                lines = 0
                with book.reading() as connection:
                    for line in _lines(connection, orders):
                        data = (_encode(line) + "\n").encode("utf-8")
                        digest.update(data)
                        packed.write(data)
                        lines += 1
                packed.write((_encode(["end", lines, digest.hexdigest()]) + "\n").encode("utf-8"))
            sync_file(part)
            size = part.stat().st_size
            os.replace(part, target)
            sync_folder(target.parent)
        finally:
            part.unlink(missing_ok=True)
    return size


def _lines(connection: Connection, orders: bool) -> Iterator[Any]:
    raw = raw_connection(connection)
    versions = sum(raw.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in KIND_NAMES)
    # What breaks a rule stays here: another phone would refuse the whole file for it. Its act is told as torn.
    left_out = {
        (name, row[0], row[2])
        for name in KIND_NAMES
        for row in version_rows(raw, kind_named(name))
        if (name in OF_ORDERS and not orders) or not is_lawful(kind_named(name), row[0], row[1], row[8:])
    }
    torn_here = {act_id for _name, _record_id, act_id in left_out}
    versions -= len(left_out)
    unsaid = set() if orders else _acts_of_orders_alone(raw)
    acts = raw.execute("SELECT count(*) FROM act").fetchone()[0] - len(unsaid)
    yield {"file": MARK, "schema": migrations.NEWEST, "acts": acts, "versions": versions}
    yield from (["d", *row] for row in raw.execute("SELECT device_id, name FROM device ORDER BY device_id"))
    for *told, seal, torn in raw.execute(
        "SELECT a.act_id, a.device_id, a.clock, a.made_at, a.kind, a.rug_id, a.undoes_id, a.versions, a.seal,"
        " t.act_id IS NOT NULL FROM act a LEFT JOIN torn t ON t.act_id = a.act_id"
        " ORDER BY a.clock, a.device_id, a.act_id"
    ):
        if seal_of_act(*told) != seal and told[-1]:
            raise damaged(f"the seal of act {told[0]!r} is broken")
        if told[0] in unsaid:
            continue
        yield ["a", *told, int(bool(torn) or told[0] in torn_here)]
    written = 0
    for name in KIND_NAMES:
        kind = kind_named(name)
        for row in version_rows(raw, kind):
            if not seal_is_true(kind, row):
                raise damaged(f"the seal of a version of {name} {row[1]!r} is broken")
            record_id, rug_id, act_id, _device, _clock, follows, withdrawn, _seal, *columns = row
            if (name, record_id, act_id) in left_out:
                continue
            fields = {
                field: base64.b64encode(value).decode("ascii") if isinstance(value, bytes) else value
                for field, value in zip(kind.columns, columns, strict=True)
                if value is not None
            }
            yield ["v", name, record_id, rug_id, act_id, follows, withdrawn, fields]
            written += 1
    if written != versions:
        raise damaged("versions that cannot be read")


def _acts_of_orders_alone(raw: sqlite3.Connection) -> set[str]:
    """Return the acts that wrote of orders and nothing else: not even that there is one is told."""

    def acts_of(names: Iterable[str]) -> set[str]:
        return {act for name in names for (act,) in raw.execute(f'SELECT DISTINCT act_id FROM "{name}"')}

    return acts_of(OF_ORDERS) - acts_of(name for name in KIND_NAMES if name not in OF_ORDERS)


def unreadable() -> BookTrouble:
    """Return the error for a file that is no whole exchange file."""
    return BookTrouble(
        _("This file is not a whole exchange file of this app, so nothing was taken from it. Send it again.")
    )


def _unpacked_lines(path: Path) -> Iterator[bytes]:
    """Yield the lines of a gzip stream, never holding more than a line and a block, within the limits."""
    unpacker = zlib.decompressobj(16 + zlib.MAX_WBITS)
    total = 0
    rest = bytearray()
    with open_regular(path) as file:
        if os.fstat(file.fileno()).st_size > limits.EXCHANGE_PACKED_BYTES:
            raise too_large()
        packed = file.read(_BLOCK)
        while packed and not unpacker.eof:
            try:
                block = unpacker.decompress(packed, _BLOCK)
            except zlib.error:
                raise unreadable() from None
            packed = unpacker.unconsumed_tail or file.read(_BLOCK)
            if file.tell() > limits.EXCHANGE_PACKED_BYTES:
                raise too_large()
            total += len(block)
            searched = len(rest)
            rest += block
            if total > limits.EXCHANGE_UNPACKED_BYTES:
                raise too_large()
            start = 0
            end = rest.find(b"\n", searched)
            while end >= 0:
                yield bytes(rest[start : end + 1])
                start = end + 1
                end = rest.find(b"\n", start)
            del rest[:start]
            if len(rest) > limits.EXCHANGE_LINE_BYTES:
                raise too_large()
        if rest or not unpacker.eof or unpacker.unused_data or file.read(1):
            raise unreadable()


def _no_constant(_name: str) -> Any:
    raise ValueError("not a number")


def _parse(line: bytes) -> Any:
    return json.loads(line.decode("utf-8"), parse_constant=_no_constant)


def join(book: OpenBook, source: str | os.PathLike[str], put_back: bool = False) -> Joined:
    """Join an exchange file into the book: a union, all of the file or nothing.

    A book into which something new comes is copied first, and the copy checked.

    Parameters
    ----------
    put_back
        Whether the weaver said that this book was put back from an older copy, and may lack entries of its own.

    Raises
    ------
    BookFromNewerApp
        A newer app wrote the file.
    NotOurs
        It holds acts in this phone's name that its book should hold; `put_back` says that it need not.
    BookTrouble
        The file is broken, beyond the limits of `storage.limits`, or contradicts the book; the book is unchanged.
    """
    source = Path(source)
    staging = working(book.path, "joining")
    with as_book_trouble():
        try:
            stage(source, staging)
            return join_file(
                book,
                staging,
                bounded=True,
                before=lambda: copy_now(book, BEFORE_JOINING),
                lacks=Lacks.ANY if put_back else Lacks.LAST if book.may_lack_acts else Lacks.NONE,
            )
        finally:
            drop_working(staging)


def stage(source: Path, staging: Path) -> None:
    """Read an exchange file into a new file with a book's tables and check it as one from outside."""
    make_staging(staging)
    with closing(sqlite3.connect(staging)) as connection:
        connection.execute("PRAGMA journal_mode = OFF")
        connection.execute("PRAGMA synchronous = OFF")
        try:
            _fill(connection, _unpacked_lines(source))
        except (
            BadEntry,
            ValueError,
            TypeError,
            KeyError,
            IndexError,
            OverflowError,
            RecursionError,
        ) as error:
            raise strange(str(error)) from error
        except sqlite3.IntegrityError as error:
            raise strange(str(error)) from error
        connection.commit()
        finding = next(findings(connection), None)
        if finding is not None:
            raise strange(finding)
        check_stranger(connection, values_checked=True)


def _header(line: bytes) -> tuple[int, int]:
    try:
        header = _parse(line)
        mark = header["file"]
        schema = header["schema"]
    except (ValueError, TypeError, KeyError, RecursionError):
        raise unreadable() from None
    if mark != MARK or not isinstance(schema, str):
        raise unreadable()
    if schema not in migrations.KNOWN:
        raise BookFromNewerApp(
            _(
                "This file was written by a newer version of the app. Update the app on this phone, then join it again."
            )
        )
    acts, versions = header.get("acts"), header.get("versions")
    if type(acts) is not int or type(versions) is not int:
        raise unreadable()
    if acts > limits.EXCHANGE_ACTS or versions > limits.EXCHANGE_ROWS:
        raise too_large()
    return acts, versions


class _Filler:
    """Puts the lines of an exchange file into a staging file."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self.devices = 0
        self.acts = 0
        self.versions = 0
        self.cells = 0
        self.seals: dict[tuple[str, str], list[int]] = {}

    def device(self, device_id: Any, name: Any) -> None:
        """Take one device."""
        self.devices += 1
        if self.devices > limits.EXCHANGE_DEVICES:
            raise too_large()
        check_device(device_id, name)
        self.connection.execute(
            "INSERT INTO device (device_id, name, seal) VALUES (?, ?, ?)",
            (device_id, name, seal_of_device(device_id, name)),
        )

    def act(self, *told: Any) -> None:
        """Take one act."""
        *act, torn = told
        check_act(*act)
        self.acts += 1
        self.connection.execute(
            "INSERT INTO act (act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (*act, seal_of_act(*act)),
        )
        if torn:
            self.connection.execute("INSERT INTO torn (act_id) VALUES (?)", (act[0],))

    def version(
        self, name: Any, record_id: Any, rug_id: Any, act_id: Any, follows: Any, withdrawn: Any, fields: Any
    ) -> None:
        """Take one version."""
        check_record(record_id, name, rug_id)
        kind = kind_named(name)
        columns = _columns(kind, fields)
        if name == "cartoon":
            # Summed before any of them is unpacked: many small packets may each unpack to a carpet.
            self.cells += cells_told(columns[kind.columns.index("cells")])
            if self.cells > limits.BOOK_CELLS:
                raise too_large()
        check_version(kind, record_id, rug_id, follows, withdrawn, columns)
        act = self.connection.execute(
            "SELECT device_id, clock FROM act WHERE act_id = ?", (checked_id(act_id),)
        ).fetchone()
        if act is None:
            raise BadEntry("a version without its act")
        seal = seal_of_version(kind, record_id, rug_id, (act_id, *act), follows, withdrawn, columns)
        row = (record_id, rug_id, act_id, *act, follows, withdrawn, seal, *columns)
        if not put_version(self.connection, kind, row):
            raise BadEntry("a version told twice")
        self.versions += 1
        total = self.seals.setdefault((rug_id or "", name), [0, 0])
        total[0] += 1
        total[1] = add_seals(total[1], (seal,))


def put_version(connection: sqlite3.Connection, kind: Kind, row: tuple[Any, ...]) -> bool:
    """Insert (*SHARED_COLUMNS, *columns) into a staging file, unless it is there; tell whether it was new."""
    names = ", ".join(f'"{name}"' for name in (*SHARED_COLUMNS, *kind.columns))
    marks = ", ".join("?" * len(row))
    done = connection.execute(f'INSERT OR IGNORE INTO "{kind.name}" ({names}) VALUES ({marks})', row)
    return done.rowcount > 0


def put_tallies(connection: sqlite3.Connection, totals: dict[tuple[str, str], list[int]]) -> None:
    """Insert the tallies of a staging file."""
    connection.executemany(
        "INSERT INTO tally (rug_id, kind, versions, seals) VALUES (?, ?, ?, ?)",
        [(rug_id, name, *total) for (rug_id, name), total in totals.items()],
    )


def _columns(kind: Kind, fields: Any) -> tuple[Any, ...]:
    if not isinstance(fields, dict) or not set(fields) <= set(kind.columns):
        raise BadEntry("fields that no entry has")
    columns = []
    for field in kind.fields:
        value = fields.get(field.name)
        if field.name == "cells":
            try:
                value = base64.b64decode(str(value), validate=True)
            except (TypeError, ValueError, binascii.Error):
                raise BadEntry("cells that are none") from None
        elif isinstance(value, (bool, list, dict)):
            raise BadEntry("a field of the wrong kind")
        columns.append(value)
    return tuple(columns)


def _fill(connection: sqlite3.Connection, lines: Iterator[bytes]) -> None:
    digest = hashlib.sha256()
    first = next(lines, b"")
    acts, versions = _header(first)
    digest.update(first)
    count = 1
    filler = _Filler(connection)
    take = {"d": (filler.device, 2), "a": (filler.act, 9), "v": (filler.version, 7)}
    ended = False
    for line in lines:
        if ended:
            raise unreadable()
        try:
            told = _parse(line)
        except (ValueError, RecursionError):
            raise unreadable() from None
        if not isinstance(told, list) or not told:
            raise unreadable()
        if told[0] == "end":
            ended = told == ["end", count, digest.hexdigest()]
            if not ended:
                raise unreadable()
            continue
        digest.update(line)
        count += 1
        handler, length = take.get(told[0], (None, 0)) if isinstance(told[0], str) else (None, 0)
        if handler is None or len(told) != length + 1:
            raise unreadable()
        handler(*told[1:])
        if filler.acts > acts or filler.versions > versions:
            raise unreadable()
    if not ended or (filler.acts, filler.versions) != (acts, versions):
        raise unreadable()
    put_tallies(connection, filler.seals)
