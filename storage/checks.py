"""Checks a book's file whole: that SQLite finds it sound and that every seal and tally is true."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from storage import limits
from storage.convert import (
    KIND_NAMES,
    SETTING_PREFIX,
    Kind,
    add_seals,
    cells_in,
    check_stored,
    checked_id,
    checked_text,
    is_lawful,
    kind_named,
    seal_of_act,
    seal_of_device,
    seal_of_version,
)
from storage.trouble import as_trouble, damaged, too_large
from tracker.domain import rules
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.words import _


def check_connection(connection: Any) -> None:
    """Check the book behind a DBAPI connection.

    Raises
    ------
    BookDamaged
        With the finding as a note for the developer.
    """
    try:
        finding = next(findings(connection), None)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise as_trouble(error) from error
    if finding is not None:
        raise damaged(finding)


def check_file(path: Path) -> None:
    """Open a copy and check it whole.

    Raises
    ------
    BookDamaged
        It is not sound.
    """
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        connection.execute("PRAGMA cell_size_check = ON")
        connection.execute("PRAGMA trusted_schema = OFF")
        check_connection(connection)


def columns_there(connection: Any, table: str) -> set[str]:
    """Return the names of the columns a table of this file has; empty: there is no such table."""
    return {row[1] for row in connection.execute(f"PRAGMA table_info({table})")}


def findings(connection: Any) -> Iterator[str]:
    """Yield what is wrong with a book, in the words of a developer; nothing if it is sound."""
    for (said,) in connection.execute("PRAGMA integrity_check(5)"):
        if said != "ok":
            yield said
            return
    for row in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row[1]} of {row[0]} points nowhere"
        return
    odd = connection.execute(
        "SELECT type, name FROM sqlite_master WHERE type NOT IN ('table', 'index') OR sql LIKE '%VIRTUAL%'"
    ).fetchone()
    if odd:
        yield f"a {odd[0]} called {odd[1]} that no book has"
        return
    yield from _bad_acts(connection)
    yield from _bad_versions(connection)


def check_stranger(connection: Any, values_checked: bool = False) -> None:
    """Check a sound file that came from outside against the limits of `storage.limits` before it is joined.

    Parameters
    ----------
    values_checked
        Whether every version has gone through `check_version` already.

    Raises
    ------
    BookTrouble
        Something in it is no book's, or larger than any book takes in.
    """
    from storage.models import Base

    try:
        for table in Base.metadata.sorted_tables:
            shape = {(row[1], row[6]) for row in connection.execute(f'PRAGMA table_xinfo("{table.name}")')}
            if shape != {(column.name, 0) for column in table.columns}:
                raise strange(f"table {table.name} has an odd shape")
        for device_id, name in connection.execute("SELECT device_id, name FROM device"):
            check_device(device_id, name)
        for (act_id,) in connection.execute("SELECT act_id FROM torn"):
            checked_id(act_id)
        for row in connection.execute(
            "SELECT act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions FROM act"
        ):
            check_act(*row)
        identities = " UNION ALL ".join(
            f"SELECT DISTINCT record_id, rug_id, '{name}' FROM \"{name}\"" for name in KIND_NAMES
        )
        if connection.execute(
            f"SELECT 1 FROM ({identities}) GROUP BY record_id HAVING count(*) > 1 LIMIT 1"
        ).fetchone():
            raise BadEntry("a record of two kinds or rugs")
        if connection.execute(
            "SELECT 1 FROM act a JOIN act u ON u.act_id = a.undoes_id WHERE u.clock >= a.clock LIMIT 1"
        ).fetchone():
            raise BadEntry("an act that undoes a later one")
        if is_overfull(connection):
            raise too_large()
        for name in KIND_NAMES if not values_checked else ():
            kind = kind_named(name)
            for row in version_rows(connection, kind):
                check_record(row[0], name, row[1])
                check_version(kind, row[0], row[1], row[5], row[6], row[8:])
    except (BadEntry, ValueError, TypeError, KeyError, OverflowError, RecursionError) as error:
        raise strange(str(error)) from error


def strange(detail: str = "") -> BookTrouble:
    """Return the error for a file from outside that holds what no book holds."""
    trouble = BookTrouble(
        _("This file holds entries that are not possible, so nothing was taken from it. Ask for a new file.")
    )
    trouble.__notes__ = [detail] if detail else []
    return trouble


def check_act(
    act_id: Any,
    device_id: Any,
    clock: Any,
    made_at: Any,
    kind: Any,
    rug_id: Any,
    undoes_id: Any,
    versions: Any,
) -> None:
    """Check one act from outside; BadEntry if it is out of the limits."""
    checked_id(act_id)
    checked_id(device_id)
    checked_text(kind, limits.KIND_CHARACTERS)
    for identity in (rug_id, undoes_id):
        if identity is not None:
            checked_id(identity)
    numbers = (clock, made_at, versions)
    if any(type(value) is not int for value in numbers):
        raise BadEntry("an act counts in whole numbers")
    if not (1 <= clock <= limits.CLOCK and abs(made_at) < 2**62 and 0 <= versions <= limits.WHOLE_NUMBER):
        raise BadEntry("an act's count is out of range")


def check_record(record_id: Any, kind_name: Any, rug_id: Any) -> None:
    """Check the identity of one record from outside; BadEntry if no book writes one like it."""
    checked_id(record_id)
    if kind_name not in KIND_NAMES:
        raise BadEntry("no such kind of record")
    kind = kind_named(kind_name)
    if rug_id is not None:
        checked_id(rug_id)
    if record_id.startswith(SETTING_PREFIX) != (kind_name == "setting"):
        raise BadEntry("a setting's id on something else")
    of_rug = record_id if kind_name == "rug_plan" else rug_id
    needs_rug = kind_name == "rug_plan" or (kind.of_rug and kind_name != "days_off")
    may_have_rug = kind.of_rug or kind_name == "rug_plan"
    if rug_id != of_rug or (rug_id is None and needs_rug) or (rug_id is not None and not may_have_rug):
        raise BadEntry("a record of the wrong rug")


def check_version(
    kind: Kind,
    record_id: str,
    rug_id: str | None,
    follows: Any,
    withdrawn: Any,
    columns: tuple[Any, ...],
) -> None:
    """Check what one version from outside says; BadEntry if a phone of ours would not have written it."""
    if follows is not None:
        checked_id(follows)
    if withdrawn not in (0, 1) or type(withdrawn) is not int:
        raise BadEntry("neither withdrawn nor not")
    for field, stored in zip(kind.fields, columns, strict=True):
        # Cells may be packed otherwise by another phone's zlib; that they unpack to a cartoon is seen below.
        if stored is None or field.name == "cells":
            continue
        again = field.store(field.load(stored))
        if again != stored or type(again) is not type(stored):
            raise BadEntry(f"{field.name} is not written as a book writes it")
    check_stored(kind, record_id, rug_id, columns)


def leave_out_unlawful(connection: sqlite3.Connection) -> None:
    """Take out of a working file every version that breaks a rule; its act is then told as torn."""
    for name in KIND_NAMES:
        kind = kind_named(name)
        unlawful = [
            (row[0], row[1], row[2], row[7])
            for row in version_rows(connection, kind)
            if not is_lawful(kind, row[0], row[1], row[8:])
        ]
        for record_id, rug_id, act_id, seal in unlawful:
            connection.execute(
                f'DELETE FROM "{name}" WHERE record_id = ? AND act_id = ?', (record_id, act_id)
            )
            connection.execute("INSERT OR IGNORE INTO torn (act_id) VALUES (?)", (act_id,))
            where = "WHERE rug_id = ? AND kind = ?"
            (seals,) = connection.execute(f"SELECT seals FROM tally {where}", (rug_id or "", name)).fetchone()
            connection.execute(
                f"UPDATE tally SET versions = versions - 1, seals = ? {where}",
                (add_seals(seals, (-seal,)), rug_id or "", name),
            )
    connection.execute("DELETE FROM tally WHERE versions = 0")
    connection.commit()


def check_device(device_id: Any, name: Any) -> None:
    """Check one phone from outside; BadEntry if no book writes one like it."""
    checked_id(device_id)
    checked_text(name, rules.DEVICE_NAME.most)


def is_overfull(connection: Any, schema: str = "main") -> bool:
    """Tell whether a file holds more than any book takes in: versions of all, of one rug, cells of cartoons."""
    totals = [
        total for (total,) in connection.execute(f"SELECT sum(versions) FROM {schema}.tally GROUP BY rug_id")
    ]
    return (
        sum(totals) > limits.BOOK_VERSIONS
        or max(totals, default=0) > limits.RUG_VERSIONS
        or cells_in(connection, schema) > limits.BOOK_CELLS
    )


def proven_act(row: list[Any]) -> tuple[Any, ...] | None:
    """Return what a row found on a page says of an act (id, device, count, ..., versions); None: it is no act of ours."""
    if len(row) != 10 or row[0] is not None or not row[8]:
        return None
    try:
        return tuple(row[1:9]) if seal_of_act(*row[1:9]) == row[9] else None
    except (TypeError, ValueError, OverflowError):
        return None


def _bad_acts(connection: Any) -> Iterator[str]:
    for device_id, name, seal in connection.execute("SELECT device_id, name, seal FROM device"):
        if (
            not (isinstance(device_id, str) and isinstance(name, str))
            or seal_of_device(device_id, name) != seal
        ):
            yield f"the seal of device {device_id!r} is broken"
    for act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal in connection.execute(
        "SELECT act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal FROM act"
    ):
        if not versions:
            continue  # a rescue put it in the place of a lost one; it says nothing
        try:
            true_seal = seal_of_act(act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions)
        except (TypeError, ValueError):
            true_seal = -1
        if true_seal != seal:
            yield f"the seal of act {act_id!r} is broken"


def version_rows(connection: Any, kind: Kind) -> Iterator[tuple[Any, ...]]:
    """Yield (record id, rug id, act id, device id, clock, follows, withdrawn, seal, *columns) of every version.

    Columns that an older schema lacks come as None.
    """
    there = columns_there(connection, kind.name)
    if not there:
        return
    columns = ", ".join(f'"{name}"' if name in there else "NULL" for name in kind.columns)
    yield from connection.execute(
        "SELECT record_id, rug_id, act_id, device_id, clock, follows, withdrawn, seal,"
        f' {columns} FROM "{kind.name}" ORDER BY rowid'
    )


def seal_is_true(kind: Kind, row: tuple[Any, ...]) -> bool:
    """Tell whether a row of `version_rows` carries its true seal."""
    record_id, rug_id, act_id, device_id, clock, follows, withdrawn, seal, *columns = row
    try:
        return seal == seal_of_version(
            kind, record_id, rug_id, (act_id, device_id, clock), follows, withdrawn, columns
        )
    except (TypeError, ValueError):
        return False


def _bad_versions(connection: Any) -> Iterator[str]:
    of_acts: dict[str, int] = {}
    tallies: dict[tuple[str, str], tuple[int, int]] = {}
    for name in KIND_NAMES:
        kind = kind_named(name)
        for row in version_rows(connection, kind):
            if not seal_is_true(kind, row):
                yield f"the seal of a version of {name} {row[0]!r} is broken"
                return
            of_acts[row[2]] = of_acts.get(row[2], 0) + 1
            key = (row[1] or "", name)
            versions, seals = tallies.get(key, (0, 0))
            tallies[key] = (versions + 1, add_seals(seals, (row[7],)))
    stored = {
        (rug_id, kind): (versions, seals)
        for rug_id, kind, versions, seals in connection.execute(
            "SELECT rug_id, kind, versions, seals FROM tally"
        )
    }
    if stored != tallies:
        yield "the tally does not agree with the versions"
        return
    torn = {row[0] for row in connection.execute("SELECT act_id FROM torn")}
    for act_id, versions in connection.execute("SELECT act_id, versions FROM act"):
        there = of_acts.pop(act_id, 0)
        lost = versions == 0
        if (there > versions and not lost) or (there < versions or lost) != (act_id in torn):
            yield f"act {act_id!r} is not whole"
            return
    if of_acts:
        yield "versions without their act"
