"""Copies of the book that the app makes by itself, the ladder on which they are kept, and going back to one.

A copy is made with SQLite's own backup and then opened and checked whole before it counts. Going back to a copy is an
act like any other: every record is corrected to what the copy says, so nothing is erased and undo works.
"""

from __future__ import annotations

import os
import re
import sqlite3
import threading
from collections.abc import Iterable
from contextlib import closing, suppress
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from storage import limits, migrations
from storage.checks import (
    check_connection,
    check_file,
    check_stranger,
    is_overfull,
    leave_out_unlawful,
)
from storage.connecting import raw_connection
from storage.convert import KIND_NAMES, kind_named
from storage.disk import sync_file
from storage.merge import Lacks, check_own_acts, unite
from storage.open_book import OpenBook
from storage.places import copies_folder
from storage.schema import migrate, schema_of
from storage.trouble import as_book_trouble, damaged, too_large
from storage.unit_of_work import Target, store
from tracker.domain.act import ActKind
from tracker.domain.errors import BookDamaged
from tracker.domain.history import Copy, Restored
from tracker.domain.rug import new_id
from tracker.files.regular import copy_regular
from tracker.files.whole import drop_working, sync_folder, working, write_whole
from tracker.words import _

DAILY = "daily"
BEFORE_MIGRATION = "before-update"
BEFORE_RESTORING = "before-restoring"
BEFORE_JOINING = "before-joining"
ASKED = "asked"

NEWEST_KEPT = 2
"""Copies that are kept whatever else holds."""
DAYS_KEPT, WEEKS_KEPT, MONTHS_KEPT = 7, 5, 12
"""Of the last so many days, weeks and months that have copies, the newest copy of each; of every year one."""

_NAME = re.compile(r"(\d{8}T\d{12})Z-(\d{1,16})-([a-z-]{1,40})\.book")


def list_copies(book_path: str | os.PathLike[str]) -> tuple[Copy, ...]:
    """Return the copies of the book at `book_path`, newest first. The book need not be open."""
    folder = copies_folder(Path(book_path).absolute())
    copies = []
    with as_book_trouble():
        for path in folder.glob("*.book") if folder.is_dir() else ():
            named = _NAME.fullmatch(path.name)
            if named and path.is_file() and not path.is_symlink():
                with suppress(ValueError):
                    made_at = datetime.strptime(named[1], "%Y%m%dT%H%M%S%f").replace(tzinfo=UTC)
                    copies.append(Copy(path, made_at, int(named[2]), named[3], path.stat().st_size))
    return tuple(sorted(copies, key=lambda copy: (copy.clock, copy.made_at, copy.path.name), reverse=True))


def acts_since(book: OpenBook, copy: Copy) -> int:
    """Return how many acts the book holds that the copy does not, as far as the count tells."""
    with book.reading() as connection:
        acts = connection.exec_driver_sql("SELECT count(*) FROM act WHERE clock > ?", (copy.clock,)).scalar()
    return int(acts or 0)


def copy_now(book: OpenBook, reason: str = ASKED) -> Copy:
    """Copy the book, check the copy, and thin the ladder.

    Raises
    ------
    BookDamaged
        The copy, and so the book, is not sound.
    BookTrouble
        It could not be written; older copies are untouched.
    """
    book.note_witness()
    return _copy(book.path, book.now(), reason)


def _copy_before(book: OpenBook, source: Path) -> Copy:
    """Copy the book before going back to `source`, which must not fall off the ladder by that."""
    return _copy(book.path, book.now(), BEFORE_RESTORING, spared=source)


def daily_copy(book: OpenBook, today: date | None = None) -> Copy | None:
    """Copy the book unless the newest daily copy is of the same day.

    Parameters
    ----------
    today
        The local day; None: the day in UTC.

    Returns
    -------
    Copy or None
        None: today's copy was there.
    """
    now = book.now()
    mark = copies_folder(book.path) / "last-day"
    day = (today or now.date()).isoformat()
    dailies = [copy for copy in list_copies(book.path) if copy.reason == DAILY]
    with as_book_trouble():
        known = mark.read_text(encoding="ascii", errors="replace").strip() if mark.is_file() else ""
    if dailies and known == day:
        return None
    book.note_witness()
    copy = _copy(book.path, now, DAILY)
    with suppress(OSError):
        write_whole(mark, day.encode("ascii"))
    return copy


def copy_before_migration(path: Path, now: datetime) -> Copy:
    """Copy a book that is about to be migrated; without a sound copy nothing is migrated."""
    return _copy(path, now, BEFORE_MIGRATION)


_copying = threading.Lock()
"""The copy of the day and one asked for by a tap take turns."""


def _copy(path: Path, now: datetime, reason: str, spared: Path | None = None) -> Copy:
    folder = copies_folder(path)
    with as_book_trouble(), _copying:
        folder.mkdir(exist_ok=True)
        part = working(folder / "copy")
        try:
            drop_working(part)
            clock = _back_up(path, part)
            check_file(part)
            made_at = now.astimezone(UTC)
            target = folder / f"{made_at:%Y%m%dT%H%M%S%f}Z-{clock}-{reason}.book"
            os.replace(part, target)
            sync_folder(folder)
        finally:
            drop_working(part)
        thin(path, spared=spared)
        return Copy(target, made_at, clock, reason, target.stat().st_size)


def _back_up(path: Path, part: Path) -> int:
    """Copy with SQLite's backup into one plain file on the disk and return the largest count in it."""
    with (
        closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as source,
        closing(sqlite3.connect(part)) as target,
    ):
        source.execute("PRAGMA busy_timeout = 5000")
        source.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")
        clock = target.execute("SELECT max(clock) FROM act").fetchone()[0] or 0
    sync_file(part)
    return int(clock)


def ladder(copies: Iterable[Copy], most_bytes: int = limits.COPIES_BYTES) -> tuple[Copy, ...]:
    """Return which of the copies (newest first) are kept."""
    copies = tuple(copies)
    staying: dict[Copy, None] = dict.fromkeys(copies[:NEWEST_KEPT])
    for reason in (BEFORE_MIGRATION, BEFORE_RESTORING, BEFORE_JOINING):
        staying.update(dict.fromkeys([copy for copy in copies if copy.reason == reason][:1]))
    rungs: tuple[tuple[str, int | None], ...] = (
        ("%Y-%m-%d", DAYS_KEPT),
        ("%G-%V", WEEKS_KEPT),
        ("%Y-%m", MONTHS_KEPT),
        ("%Y", None),
    )
    for form, number in rungs:
        newest_of: dict[str, Copy] = {}
        for copy in copies:
            newest_of.setdefault(copy.made_at.strftime(form), copy)
        staying.update(dict.fromkeys(list(newest_of.values())[:number]))
    chosen = [copy for copy in copies if copy in staying]
    # The oldest give way first; the newest stays whatever its size.
    while len(chosen) > 1 and sum(copy.size_bytes for copy in chosen) > most_bytes:
        chosen.pop()
    return tuple(chosen)


def thin(book_path: Path, most_bytes: int = limits.COPIES_BYTES, spared: Path | None = None) -> None:
    """Remove the copies that are not on the ladder, but for `spared`."""
    copies = list_copies(book_path)
    staying = set(ladder(copies, most_bytes))
    for copy in copies:
        if copy not in staying and copy.path != spared:
            copy.path.unlink(missing_ok=True)


def prepare_stranger(source: Path, work: Path, own: bool = False) -> None:
    """Copy a book file from outside to `work`, bring it to the newest schema, and check it as one from outside.

    Parameters
    ----------
    own
        Whether it is a copy that this app made of its own book: a version in it that breaks a rule was in the book
        before the rule was, and is left out; in a file from outside it is reason to refuse the file.

    Raises
    ------
    NotABook, BookFromNewerApp, BookDamaged, BookTrouble
        It is not joined or restored; `source` is untouched.
    """
    drop_working(work)
    with as_book_trouble():
        copy_regular(source, work, limits.BOOK_BYTES)
    schema = schema_of(work)
    with closing(sqlite3.connect(work)) as connection:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA cell_size_check = ON")
        connection.execute("PRAGMA journal_mode = DELETE")
        check_connection(connection)
    if schema != migrations.NEWEST:
        migrate(work)
        with closing(sqlite3.connect(work)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
    if own:
        with closing(sqlite3.connect(work)) as connection:
            connection.execute("PRAGMA trusted_schema = OFF")
            leave_out_unlawful(connection)
    with closing(sqlite3.connect(f"{work.as_uri()}?mode=ro", uri=True)) as connection:
        connection.execute("PRAGMA trusted_schema = OFF")
        check_stranger(connection)


def restore(
    book: OpenBook, source: str | os.PathLike[str], kind: str = ActKind.WENT_BACK_TO_COPY
) -> Restored:
    """Make every record of the book say what it says in the copy (or another book file) at `source`.

    The book is copied first. What was entered since stays in the history; `book.undo(result.act_id)` brings it back.

    Raises
    ------
    BookDamaged
        The copy is not sound; the book is unchanged.
    BookFromNewerApp, NotABook, BookTrouble
        The file cannot be used; the book is unchanged.
    """
    work = working(book.path, "restoring")
    act_id = new_id()
    own = _is_own_copy(book, Path(source))
    with as_book_trouble():
        try:
            try:
                prepare_stranger(Path(source), work, own)
            except BookDamaged as error:
                raise _unsound() from error
            before = _copy_before(book, Path(source).absolute())
            with book.joining(work) as connection:
                if not own:
                    check_own_acts(connection, book.device_id, Lacks.LAST)
                unite(connection, book.device_id)
                if not own and is_overfull(raw_connection(connection)):
                    raise too_large()
                targets = list(_differences(connection))
                stored = store(connection, book, targets, act_id=act_id, kind=kind, rug_id=None)
                highest = connection.exec_driver_sql("SELECT max(clock) FROM main.act").scalar() or 0
        finally:
            drop_working(work)
    book.acknowledge(highest)
    return Restored(act_id if stored.versions else None, stored.versions, before)


def _is_own_copy(book: OpenBook, source: Path) -> bool:
    return source.absolute().parent == copies_folder(book.path).absolute()


def _unsound() -> BookDamaged:
    trouble = damaged()
    return BookDamaged(_("This copy is damaged. Nothing was changed. Choose another copy.")).with_traceback(
        trouble.__traceback__
    )


def _newest_versions(connection: Any, schema: str, name: str) -> dict[str, str]:
    """Return for each record of one kind the id of the act that wrote its newest version."""
    return dict(
        connection.exec_driver_sql(
            f'SELECT record_id, act_id FROM {schema}."{name}" ORDER BY clock, device_id, act_id'
        ).all()
    )


def _differences(connection: Any) -> Iterable[Target]:
    """Yield what has to be written so that `main` says what `other` says."""
    for name in KIND_NAMES:
        kind = kind_named(name)
        now = _newest_versions(connection, "main", name)
        then = _newest_versions(connection, "other", name)
        columns = ", ".join(f'"{column}"' for column in kind.columns)
        for record_id, act_id in now.items():
            wanted = then.get(record_id)
            if wanted == act_id:
                continue
            if wanted is None:
                yield Target(record_id, None, None, True, None)
                continue
            row = connection.exec_driver_sql(
                f'SELECT rug_id, withdrawn, {columns} FROM other."{name}" WHERE record_id = ? AND act_id = ?',
                (record_id, wanted),
            ).one()
            yield Target(record_id, row[0], kind, bool(row[1]), tuple(row[2:]))
