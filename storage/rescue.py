"""Makes a new book of what a damaged one and its copies still hold, and keeps the damaged file.

Everything read from the damaged file must carry a true seal; what does not is left out and reported.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from storage import carve
from storage.book import Book
from storage.checks import check_file
from storage.connecting import raw_connection
from storage.convert import (
    KIND_NAMES,
    SETTING_PREFIX,
    SHARED_COLUMNS,
    Kind,
    Raw,
    add_seals,
    is_lawful,
    kind_named,
    seal_of_act,
    seal_of_device,
    seal_of_version,
)
from storage.copies import list_copies, prepare_stranger
from storage.exchange import put_tallies, put_version
from storage.journal import Journal, whose
from storage.lock import Lock
from storage.merge import join_file, make_staging
from storage.open_book import utc_now
from storage.places import damaged_folder, lock_path, real_path, witness_path
from storage.strangers import is_true, phone_or_act, refuse_strangers
from storage.trouble import as_book_trouble
from storage.witness import note, noted, standing_of
from tracker.domain.act import ActKind
from tracker.domain.errors import BookTrouble
from tracker.domain.history import Copy
from tracker.files.whole import SQLITE_TAILS, drop_working, sync_folder, working
from tracker.words import _, n_

RESCUED = ActKind.RESCUED
"""Kind of what stands in the place of a lost act."""


@dataclass(frozen=True, slots=True)
class Rescued:
    """What a rescue gave back."""

    acts: int
    """Acts in the new book."""
    records: int
    versions: int
    from_copy: Copy | None
    """The sound copy that was used as well."""
    lost_acts: int
    """Acts that left a gap in the count and are in no copy."""
    torn_acts: int
    """Acts of which only a part could be read."""
    lost_names: int
    """Phones whose name could not be read."""
    damaged_in: Path
    """Folder in which the damaged file is kept."""
    left_out: bool = False
    """Whether something of another book lay beside the file or in it, and was left out."""

    @property
    def whole(self) -> bool:
        """Whether nothing that was ever acknowledged is known to be missing."""
        return not (self.lost_acts or self.torn_acts or self.lost_names or self.left_out)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The report for the weaver."""
        told = [
            n_(
                "{count} entry was rescued into a new book.",
                "{count} entries were rescued into a new book.",
                self.records,
            ).format(count=self.records)
        ]
        if self.from_copy is not None:
            told.append(_("A copy from {day} helped.").format(day=self.from_copy.made_at.date().isoformat()))
        if self.whole:
            told.append(_("Nothing is known to be missing."))
        if self.lost_names:
            told.append(_("The name of a phone could not be read. Name it again in the settings."))
        if self.left_out:
            told.append(
                _(
                    "Entries of another book were mixed in and have been left out. Check in the "
                    "diary that your last entries are there."
                )
            )
        lost = self.lost_acts + self.torn_acts
        if lost:
            told.append(
                n_(
                    "One step of entries could not be read whole. Look through the diary and enter it again.",
                    "What was entered in {count} steps could not be read whole. Look through the diary and enter it again.",
                    lost,
                ).format(count=lost)
            )
        told.append(
            _("The damaged file is kept beside the book, in the folder {name}.").format(
                name=f"{self.damaged_in.parent.name}/{self.damaged_in.name}"
            )
        )
        return tuple(told)


def rescue(
    path: str | os.PathLike[str],
    device_name: str = "this phone",
    now: Callable[[], datetime] = utc_now,
    start_anew: bool = False,
) -> Rescued:
    """Make a new book at `path` of what can be read; the damaged file is moved aside and kept.

    The new book is built beside the old one and takes its place in the last step, so that a rescue that is cut short
    can be begun again.

    Parameters
    ----------
    start_anew
        Make an empty book even if nothing at all could be read.

    Raises
    ------
    BookInUse
        The book is open.
    NotABook
        The file never was a book.
    BookTrouble
        Nothing at all could be read; the damaged file is left where it is.
    """
    path = real_path(path)
    refuse_strangers(path)
    fresh = working(path, "rescued")
    staging = working(path, "carved")
    work = working(path, "copy-work")
    leftovers = (fresh, staging, work, lock_path(fresh), witness_path(fresh))
    with as_book_trouble():
        lock = Lock(lock_path(path))
        try:
            if path.exists():
                lock.hold_file(path)
            for leftover in leftovers:
                drop_working(leftover)
            source = path if path.exists() else _last_damaged(path)
            findings = _Found()
            with Book.open(fresh, device_name, now) as book:
                new_device = book.device_id
                copy = _use_newest_copy(book, path, work, findings)
                if source is not None:
                    findings.look_at_journal(source, lock.journal_salts())
                    findings.read_identities(source)
                    with book.reading() as connection:
                        layouts = _columns_in_file(raw_connection(connection))
                    findings.leave_strangers_out(source, layouts)
                    _stage(source, staging, findings, layouts)
                    join_file(book, staging)
                kept_note = noted(witness_path(path))
                known = max(lock.acknowledged(), kept_note.clock if kept_note is not None else 0)
                account = _settle(book, new_device, findings, known)
                if not account.acts and not start_anew:
                    raise BookTrouble(
                        _(
                            "Nothing could be read from the damaged book, and there is no copy. The file was left where it is."
                        )
                    )
                book.check()
                with book.reading() as connection:
                    copies_clock = max((copy.clock for copy in list_copies(path)), default=0)
                    standing = standing_of(
                        raw_connection(connection), now().astimezone().date(), copies_clock
                    )
            folder = damaged_folder(path) / f"{now().astimezone(UTC):%Y%m%dT%H%M%S%f}Z"
            if source == path:
                folder.mkdir(parents=True)
                for tail in reversed(SQLITE_TAILS):
                    with suppress(FileNotFoundError):
                        os.replace(path.with_name(path.name + tail), folder / (path.name + tail))
                sync_folder(folder)
            os.replace(fresh, path)
            sync_folder(path.parent)
            lock.acknowledge(account.clock)
            note(witness_path(path), standing)
        finally:
            for leftover in leftovers:
                drop_working(leftover)
            lock.release()
    return Rescued(
        acts=account.acts,
        records=account.records,
        versions=account.versions,
        from_copy=copy,
        lost_acts=account.lost,
        torn_acts=account.torn,
        lost_names=account.nameless,
        damaged_in=folder,
        left_out=findings.foreign,
    )


def _last_damaged(path: Path) -> Path | None:
    """Return the file an earlier rescue that was cut short had moved aside."""
    damaged = sorted(damaged_folder(path).glob(f"*/{path.name}"))
    return damaged[-1] if damaged else None


class _Found:
    """What the damaged file and the copy tell of phones and acts."""

    def __init__(self) -> None:
        self.here: str | None = None
        self.devices: dict[str, str] = {}
        self.acts: dict[str, tuple[Any, ...]] = {}
        self.numbers: dict[int, str] = {}
        """The acts found, by their numbers, which are given without gaps."""
        self.refused: set[str] = set()
        """Acts that have the number of another act of this book: they are of another book."""
        self.foreign = False
        """Whether something of another book was met."""
        self.with_journal = True
        self.strangers: set[str] = set()
        """Phones that never wrote in this book, though something of theirs lies in its file."""
        self.substitutes = 0
        """How many acts are known only from their versions."""

    def act(self, number: int, told: tuple[Any, ...]) -> None:
        """Note an act whose seal is true, unless its number is another's already."""
        if self.numbers.setdefault(number, told[0]) != told[0]:
            self.refused.add(told[0])
            self.foreign = True
            return
        self.acts[told[0]] = told

    def look_at_journal(self, source: Path, noted_salts: bytes) -> None:
        """Leave the journal beside the damaged file out if it is another book's."""
        known = {number: (act_id, str(self.acts[act_id][1])) for number, act_id in self.numbers.items()}
        if whose(source, noted_salts, known) is Journal.FOREIGN:
            self.with_journal = False
            self.foreign = True

    def read_identities(self, source: Path) -> None:
        """Look through the pages for phones and acts."""
        for number, row in carve.rows(source, in_journal=self.with_journal):
            told = phone_or_act(number, row)
            if told is not None and len(told) == 8:
                self.act(number, told)
            elif told is not None:
                self.devices[told[0]] = told[1]
            elif len(row) == 2 and number == 1 and row[0] is None and isinstance(row[1], str):
                self.here = row[1]

    def leave_strangers_out(self, source: Path, layouts: dict[str, list[tuple[str, str]]]) -> None:
        """Leave out what another book's journal brought into the file, as far as the list of phones tells it apart.

        A phone is listed in the transaction that takes in its first act. One that is not listed, though this phone is,
        and that wrote of none of the rugs that the listed ones wrote of, wrote in another book.
        """
        if self.here not in self.devices:
            return
        ours: set[str] = set()
        others: dict[str, set[str]] = {
            str(told[1]): set() for told in self.acts.values() if told[1] not in self.devices
        }
        for _kind, (record_id, rug_id, _act_id, device_id, *_rest) in _versions(
            source, layouts, self.with_journal
        ):
            told_of = ours if device_id in self.devices else others.setdefault(device_id, set())
            if rug_id or not record_id.startswith(SETTING_PREFIX):
                told_of.add(rug_id or record_id)
        while near := [device_id for device_id, told_of in others.items() if told_of & ours]:
            for device_id in near:
                ours |= others.pop(device_id)
        if others:
            self.foreign = True
            self.strangers = set(others)
            self.acts = {act_id: told for act_id, told in self.acts.items() if told[1] not in others}
            self.numbers = {number: act_id for number, act_id in self.numbers.items() if act_id in self.acts}


def _use_newest_copy(book: Book, path: Path, work: Path, findings: _Found) -> Copy | None:
    """Join the newest sound copy into the new book and note its numbers, which are the damaged file's own."""
    for copy in list_copies(path):
        try:
            check_file(copy.path)
            prepare_stranger(copy.path, work, own=True)
            join_file(book, work)
        except BookTrouble:
            continue
        with closing(sqlite3.connect(f"{work.as_uri()}?mode=ro", uri=True)) as connection:
            for number, *told in connection.execute(
                "SELECT number, act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions FROM act"
            ):
                findings.act(number, tuple(told))
            findings.devices.update(connection.execute("SELECT device_id, name FROM device"))
            findings.here = (connection.execute("SELECT device_id FROM here").fetchone() or (None,))[0]
        drop_working(work)
        return copy
    return None


def _columns_in_file(connection: Any) -> dict[str, list[tuple[str, str]]]:
    """Return (name, type) of each version table's columns in the order in which rows are written."""
    return {
        name: [(row[1], row[2].upper()) for row in connection.execute(f'PRAGMA table_info("{name}")')]
        for name in KIND_NAMES
    }


def _versions(
    source: Path, layouts: dict[str, list[tuple[str, str]]], with_journal: bool
) -> Iterator[tuple[Kind, tuple[Any, ...]]]:
    """Yield (kind, (*SHARED_COLUMNS, *columns)) of every version whose seal is true."""
    shared = len(SHARED_COLUMNS) + 1  # and the table's own key before them
    for _number, row in carve.rows(source, in_journal=with_journal):
        if len(row) <= shared or row[0] is not None or not isinstance(row[1], str):
            continue
        record_id, rug_id, act_id, device_id, clock, follows, withdrawn, seal = row[1:shared]
        for name, layout in layouts.items():
            # A row older than a column that a later schema added is shorter.
            if len(row) > len(layout):
                continue
            kind = kind_named(name)
            told: dict[str, Any] = {
                column: float(value) if typed == "FLOAT" and isinstance(value, int) else value
                for (column, typed), value in zip(layout, row, strict=False)
            }
            columns: tuple[Raw, ...] = tuple(told.get(column) for column in kind.columns)
            act = (act_id, device_id, clock)
            if is_true(seal_of_version, (kind, record_id, rug_id, act, follows, withdrawn, columns), seal):
                yield kind, (*row[1:shared], *columns)
                break


def _stage(source: Path, staging: Path, findings: _Found, layouts: dict[str, list[tuple[str, str]]]) -> None:
    """Put all that is proven into a file with a book's tables."""
    make_staging(staging)
    with closing(sqlite3.connect(staging)) as connection:
        connection.execute("PRAGMA journal_mode = OFF")
        connection.execute("PRAGMA synchronous = OFF")
        left: dict[str, int] = {}
        totals: dict[tuple[str, str], list[int]] = {}

        def put_act(told: tuple[Any, ...]) -> None:
            device_id = told[1]
            name = findings.devices.get(device_id, "")
            connection.execute(
                "INSERT OR IGNORE INTO device (device_id, name, seal) VALUES (?, ?, ?)",
                (device_id, name, seal_of_device(device_id, name)),
            )
            connection.execute(
                "INSERT INTO act (act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (*told, seal_of_act(*told)),
            )
            left[told[0]] = told[7]

        for told in findings.acts.values():
            put_act(told)
        for kind, row in _versions(source, layouts, findings.with_journal):
            record_id, rug_id, act_id, device_id, clock, *_rest = row
            if act_id in findings.refused or device_id in findings.strangers:
                continue
            if not is_lawful(kind, record_id, rug_id, row[len(SHARED_COLUMNS) :]):
                continue
            if act_id not in left:
                # The act is lost, its version is not: something has to stand in its place, and says that it does.
                put_act((act_id, device_id, clock, 0, RESCUED, rug_id, None, 0))
                findings.substitutes += 1
            if not put_version(connection, kind, row):
                continue
            left[act_id] -= 1
            total = totals.setdefault((rug_id or "", kind.name), [0, 0])
            total[0] += 1
            total[1] = add_seals(total[1], (row[7],))
        connection.executemany(
            "INSERT INTO torn (act_id) VALUES (?)", [(act_id,) for act_id, count in left.items() if count]
        )
        put_tallies(connection, totals)
        connection.commit()


@dataclass(frozen=True, slots=True)
class _Account:
    """What is in the new book, and what is known to be missing."""

    acts: int
    records: int
    versions: int
    clock: int
    torn: int
    lost: int
    nameless: int


def _settle(book: Book, new_device: str, findings: _Found, acknowledged: int) -> _Account:
    """Give the new book its old phone and say what is in it."""
    with book.writing() as connection:

        def number(sql: str, *parameters: Any) -> int:
            return int(connection.exec_driver_sql(sql, parameters).scalar() or 0)

        if findings.here and number("SELECT count(*) FROM device WHERE device_id = ?", findings.here):
            connection.exec_driver_sql("UPDATE here SET device_id = ?", (findings.here,))
            connection.exec_driver_sql("DELETE FROM device WHERE device_id = ?", (new_device,))
        clock = number("SELECT max(clock) FROM act")
        # Acts are numbered without gaps in the order in which they reached this phone.
        gaps = max(findings.numbers, default=0) - len(findings.numbers) - findings.substitutes
        return _Account(
            acts=number("SELECT count(*) FROM act"),
            records=sum(number(f'SELECT count(DISTINCT record_id) FROM "{name}"') for name in KIND_NAMES),
            versions=sum(number(f'SELECT count(*) FROM "{name}"') for name in KIND_NAMES),
            clock=clock,
            torn=number("SELECT count(*) FROM torn"),
            lost=max(0, gaps) + max(0, acknowledged - clock),
            nameless=number("SELECT count(*) FROM device WHERE name = ''"),
        )
