"""Checks a book's file whole: that SQLite finds it sound and that every seal and tally is true."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any

from storage.convert import KIND_NAMES, Kind, add_seals, kind_named, seal_of_act, seal_of_version
from storage.trouble import as_trouble, damaged


def check_connection(connection: Any) -> None:
    """Check the book behind a DBAPI connection.

    Raises
    ------
    BookDamaged
        With the finding as a note for the developer.
    """
    try:
        finding = next(findings(connection), None)
    except sqlite3.Error as error:
        raise as_trouble(error) from error
    if finding is not None:
        raise damaged(finding)


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


def _bad_acts(connection: Any) -> Iterator[str]:
    for act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal in connection.execute(
        "SELECT act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal FROM act"
    ):
        try:
            true_seal = seal_of_act(act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions)
        except (TypeError, ValueError):
            true_seal = -1
        if true_seal != seal:
            yield f"the seal of act {act_id!r} is broken"


def version_rows(connection: Any, kind: Kind) -> Iterator[tuple[Any, ...]]:
    """Yield (act number, record id, rug id, act id, device id, clock, follows, withdrawn, seal, *columns).

    Columns that an older schema lacks come as None.
    """
    there = columns_there(connection, kind.name)
    if not there:
        return
    columns = ", ".join(f'v."{name}"' if name in there else "NULL" for name in kind.columns)
    yield from connection.execute(
        f"SELECT v.act, r.record_id, r.rug_id, a.act_id, a.device_id, a.clock, v.follows, v.withdrawn, v.seal, {columns}"
        f' FROM "{kind.name}" v JOIN record r ON r.number = v.record AND r.kind = ?'
        " JOIN act a ON a.number = v.act",
        (kind.name,),
    )


def seal_is_true(kind: Kind, row: tuple[Any, ...]) -> bool:
    """Tell whether a row of `version_rows` carries its true seal."""
    _number, record_id, rug_id, act_id, device_id, clock, follows, withdrawn, seal, *columns = row
    try:
        return seal == seal_of_version(
            kind, record_id, rug_id, (act_id, device_id, clock), follows, withdrawn, columns
        )
    except (TypeError, ValueError):
        return False


def _bad_versions(connection: Any) -> Iterator[str]:
    of_acts: dict[int, int] = {}
    tallies: dict[tuple[str, str], tuple[int, int]] = {}
    for name in KIND_NAMES:
        kind = kind_named(name)
        if not columns_there(connection, name):
            continue
        seen = 0
        for row in version_rows(connection, kind):
            seen += 1
            if not seal_is_true(kind, row):
                yield f"the seal of a version of {name} {row[1]!r} is broken"
                return
            of_acts[row[0]] = of_acts.get(row[0], 0) + 1
            key = (row[2] or "", name)
            versions, seals = tallies.get(key, (0, 0))
            tallies[key] = (versions + 1, add_seals(seals, (row[8],)))
        if seen != connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0]:
            yield f"versions of {name} whose record or act is gone"
            return
    stored = {
        (rug_id, kind): (versions, seals)
        for rug_id, kind, versions, seals in connection.execute(
            "SELECT rug_id, kind, versions, seals FROM tally"
        )
    }
    if stored != tallies:
        yield "the tally does not agree with the versions"
        return
    for number, versions in connection.execute("SELECT number, versions FROM act"):
        if of_acts.pop(number, 0) != versions:
            yield f"act number {number} is not whole"
            return
