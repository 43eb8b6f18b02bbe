"""Joins another book's acts into this one: a union, so that order, repetition and direction do not matter.

The other book comes as a file with a book's tables that has been checked (`checks.check_stranger`); the rule for
conflicting corrections is the order of versions: the larger count wins, then the larger device id, then the larger
act id. What did not win stays in the history as set aside.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import replace
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.dialects import sqlite
from sqlalchemy.schema import CreateIndex, CreateTable

from storage import limits
from storage.answers import acts_apart, let_the_later_hold
from storage.checks import is_overfull
from storage.connecting import raw_connection
from storage.convert import KIND_NAMES, SETTING_PREFIX, SHARED_COLUMNS, kind_named
from storage.models import Base
from storage.open_book import OpenBook
from storage.unit_of_work import (
    Stored,
    Target,
    add_to_tally,
    records_of_acts,
    same_columns,
    store,
    versions_newest_first,
)
from storage.versions import chain_of, value_of
from storage.writers import writers_of
from tracker.domain.act import ActKind
from tracker.domain.errors import BookTrouble, NotOurs
from tracker.domain.history import Conflict, Joined, Told, Undone, Withdrawal, Writer
from tracker.domain.rug import new_id
from tracker.files.whole import drop_working
from tracker.words import _

ONE_A_RUG = ("pricing", "rug_order")
"""Kinds of which a rug has one that counts, the one entered last (`costs.pricing_of`, `costs.order_of`): each phone may
have entered its own."""


def contradiction() -> BookTrouble:
    """Return the error for a file that tells a known act differently."""
    return BookTrouble(
        _("This file contradicts what is in the book, so nothing was taken from it. Ask for a new file.")
    )


class Lacks(Enum):
    """Which acts of this phone's own its book may lack."""

    NONE = "none"
    """The book is whole as far as is known."""
    LAST = "the last"
    """The book was put back or rescued, and nothing was entered since that would stand in their place."""
    ANY = "any"
    """The weaver says that the book was put back from an older copy, perhaps some time ago."""


def forged() -> BookTrouble:
    """Return the error for a file that says in this phone's name what this phone cannot have said."""
    return BookTrouble(
        _(
            "This file holds entries in this phone's name that this phone cannot have made, so nothing was taken from "
            "it. Ask for a new file, from somebody you know."
        )
    )


def join_file(
    book: OpenBook,
    other: Path,
    bounded: bool = False,
    before: Callable[[], object] | None = None,
    lacks: Lacks = Lacks.ANY,
) -> Joined:
    """Join the checked file `other` into the book, all of it or nothing.

    Parameters
    ----------
    bounded
        Whether the book must stay within `limits` afterwards; a rescue gives back whatever there was.
        It also lets the later of two answers to one weighing hold.
    before
        Called before anything is written, if the file brings anything new.
    lacks
        Which acts of this phone's own are taken, if the phone can have made them.

    Raises
    ------
    NotOurs
        There are others of its own.
    """
    with book.joining(other) as connection:
        check_own_acts(connection, book.device_id, lacks)
        if before is not None and _brings_anything(connection):
            before()
        apart = acts_apart(connection)
        joined = unite(connection, book.device_id)
        if bounded:
            # A rescue gives back what there was, and settles nothing.
            aside = let_the_later_hold(connection, book, *apart)
            joined = replace(
                joined,
                conflicts=(*joined.conflicts, *aside.conflicts),
                act_ids=(*joined.act_ids, *aside.act_ids),
            )
        if bounded and not joined.nothing_new and is_overfull(raw_connection(connection)):
            raise BookTrouble(
                _("Together with this file the book would be too large, so nothing was taken from it.")
            )
        highest = connection.exec_driver_sql("SELECT max(clock) FROM main.act").scalar() or 0
    book.acknowledge(highest)
    return joined


def _brings_anything(connection: Connection) -> bool:
    queries = [
        "SELECT 1 FROM other.act o WHERE NOT EXISTS (SELECT 1 FROM main.act m WHERE m.act_id = o.act_id) LIMIT 1"
    ]
    queries += [
        f'SELECT 1 FROM other."{name}" o WHERE NOT EXISTS (SELECT 1 FROM main."{name}" m'
        " WHERE m.record_id = o.record_id AND m.act_id = o.act_id) LIMIT 1"
        for name in KIND_NAMES
    ]
    return any(connection.exec_driver_sql(query).first() for query in queries)


def check_own_acts(connection: Connection, here: str, lacks: Lacks) -> None:
    """Check what the file says in this phone's own name and the book does not hold.

    This phone knows what it wrote. Its book lacks an act of its own only when it was put back from an older copy or
    rescued; then the act fits the phone's chain: it comes after those it follows and undoes, no count is used twice by
    the phone, and it follows the phone's own newest version of the record. When the phone went on writing since, the
    last two need not hold, and only the weaver can tell.

    Raises
    ------
    BookTrouble
        The phone cannot have made them.
    NotOurs
        The phone can have made them, but its book should hold them.
    """

    def run(sql: str, *parameters: Any) -> list[Any]:
        return list(connection.exec_driver_sql(sql, parameters).all())

    lacking = dict(
        run(
            "SELECT o.act_id, o.clock FROM other.act o WHERE o.device_id = ? AND NOT EXISTS"
            " (SELECT 1 FROM main.act m WHERE m.act_id = o.act_id AND m.versions > 0)",
            here,
        )
    )
    if not lacking:
        return
    clocks: dict[str, int] = {}
    for schema in ("main", "other"):
        clocks.update(run(f"SELECT act_id, clock FROM {schema}.act"))
    undone = run("SELECT undoes_id, clock FROM other.act WHERE device_id = ? AND undoes_id IS NOT NULL", here)
    if any(clocks.get(act_id, clock) >= clock for act_id, clock in undone):
        raise forged()
    gone_on = False
    for name in KIND_NAMES:
        chains: dict[str, dict[str, tuple[str, int, str | None]]] = {}
        for schema in ("main", "other"):
            for record_id, act_id, device_id, clock, follows in run(
                f'SELECT record_id, act_id, device_id, clock, follows FROM {schema}."{name}" v WHERE EXISTS'
                f' (SELECT 1 FROM other."{name}" o WHERE o.record_id = v.record_id AND o.device_id = ?)',
                here,
            ):
                chains.setdefault(record_id, {})[act_id] = (device_id, clock, follows)
        for chain in chains.values():
            for act_id, (_device, clock, follows) in chain.items():
                if act_id not in lacking or follows is None:
                    since = 0
                elif follows in chain and chain[follows][1] < clock:
                    since = chain[follows][1]
                else:
                    raise forged()
                if act_id in lacking:
                    gone_on |= any(
                        device == here and since < other < clock for device, other, _f in chain.values()
                    )
    own = [
        clock
        for act_id, clock in run("SELECT act_id, clock FROM main.act WHERE device_id = ?", here)
        if act_id not in lacking
    ]
    own += lacking.values()
    gone_on |= len(set(own)) < len(own)
    if lacks is Lacks.NONE or (lacks is Lacks.LAST and gone_on):
        raise NotOurs(
            _(
                "This file holds entries in this phone's name that this book does not hold. If the book was put back "
                "from an older copy they may be yours; otherwise somebody else wrote them. Nothing was taken."
            )
        )


def unite(connection: Connection, here: str) -> Joined:
    """Join the attached database `other` into `main`, inside the caller's transaction."""

    def run(sql: str, parameters: tuple[Any, ...] = ()) -> Any:
        return connection.exec_driver_sql(sql, parameters)

    def number(sql: str) -> int:
        return int(run(sql).scalar() or 0)

    _refuse_contradictions(run)
    before = number("SELECT max(number) FROM main.act")
    were_torn = [act_id for (act_id,) in run("SELECT act_id FROM main.torn")]
    # A rescued book may have lost a phone's name; the same larger name wins on every phone but the one it belongs to.
    run(
        "INSERT INTO main.device (device_id, name, seal) SELECT device_id, name, seal FROM other.device WHERE true"
        " ON CONFLICT (device_id) DO UPDATE SET name = excluded.name, seal = excluded.seal"
        " WHERE excluded.name > name AND (device_id <> ? OR name = '')",
        (here,),
    )
    told = "device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal"
    # The whole act takes the place of what a rescue put where one was lost.
    run(
        f"UPDATE main.act SET ({told}) = (SELECT {told} FROM other.act o WHERE o.act_id = main.act.act_id)"
        " WHERE versions = 0 AND act_id IN (SELECT act_id FROM other.act WHERE versions > 0)"
    )
    run(
        f"INSERT INTO main.act (act_id, {told}) SELECT act_id, {told} FROM other.act o"
        " WHERE NOT EXISTS (SELECT 1 FROM main.act m WHERE m.act_id = o.act_id)"
        " ORDER BY clock, device_id, act_id"
    )
    new_versions = 0
    new_records = 0
    touched: list[tuple[str, str]] = []
    gone: list[tuple[str, str]] = []
    rivals: list[tuple[str, str, int]] = []
    for name in KIND_NAMES:
        highest = number(f'SELECT max(version) FROM main."{name}"')
        columns = ", ".join(f'"{column}"' for column in (*SHARED_COLUMNS, *kind_named(name).columns))
        run(
            f'INSERT INTO main."{name}" ({columns}) SELECT {columns} FROM other."{name}" o'
            f' WHERE NOT EXISTS (SELECT 1 FROM main."{name}" m'
            " WHERE m.record_id = o.record_id AND m.act_id = o.act_id) ORDER BY clock, device_id, act_id, version"
        )
        seals: dict[tuple[str, str], list[int]] = {}
        for rug_id, seal in run(f'SELECT rug_id, seal FROM main."{name}" WHERE version > ?', (highest,)):
            seals.setdefault((rug_id or "", name), []).append(seal)
            new_versions += 1
        add_to_tally(connection, seals)
        new_records += number(
            f'SELECT count(DISTINCT n.record_id) FROM main."{name}" n WHERE n.version > {highest} AND NOT EXISTS'
            f' (SELECT 1 FROM main."{name}" m WHERE m.record_id = n.record_id AND m.version <= {highest})'
        )
        if name in ONE_A_RUG:
            came = run(
                f'SELECT DISTINCT rug_id FROM main."{name}" WHERE version > ? ORDER BY rug_id', (highest,)
            )
            rivals += [(name, rug_id, highest) for (rug_id,) in came]
        # Two versions that follow the same one were written without knowing of each other.
        contested = run(
            f'SELECT record_id FROM main."{name}" WHERE record_id IN'
            f' (SELECT record_id FROM main."{name}" WHERE version > ?) GROUP BY record_id'
            " HAVING count(*) > count(DISTINCT coalesce(follows, '')) ORDER BY record_id",
            (highest,),
        ).all()
        touched += [(name, record_id) for (record_id,) in contested]
        taken_out = run(
            f'SELECT DISTINCT record_id FROM main."{name}" WHERE version > ? AND withdrawn = 1 AND record_id IN'
            f' (SELECT record_id FROM main."{name}" WHERE version <= ?) ORDER BY record_id',
            (highest, highest),
        )
        gone += [(name, record_id) for (record_id,) in taken_out]
    _settle_torn(run)
    new_acts = dict(run("SELECT act_id, device_id FROM main.act WHERE number > ?", (before,)).all())
    writers = writers_of(connection, here)
    joined = Joined(
        acts=len(new_acts),
        records=new_records,
        versions=new_versions,
        devices=tuple(sorted(writers[device_id].name for device_id in set(new_acts.values()) - {here})),
        conflicts=(*_conflicts(connection, touched, writers), *_rivals(connection, rivals, writers)),
        withdrawn=tuple(_withdrawals(connection, gone, set(new_acts), writers)),
        own_acts=sum(device == here for device in new_acts.values()),
        act_ids=tuple(new_acts),
    )
    for act_id in were_torn:
        _put_in_written_order(run, act_id)
    return joined


def _put_in_written_order(run: Any, act_id: str) -> None:
    """Number the versions of an act that was torn as the other file does, which holds all of them in their order."""
    for name in KIND_NAMES:
        query = f'SELECT record_id, version FROM {{}}."{name}" WHERE act_id = ? ORDER BY version'
        here, there = (dict(run(query.format(schema), (act_id,)).all()) for schema in ("main", "other"))
        as_written = [record_id for record_id in there if record_id in here]
        if as_written == list(here) or len(as_written) < len(here):
            continue
        run(f'UPDATE main."{name}" SET version = -version WHERE act_id = ?', (act_id,))
        for record_id, version in zip(as_written, here.values(), strict=True):
            run(
                f'UPDATE main."{name}" SET version = ? WHERE act_id = ? AND record_id = ?',
                (version, act_id, record_id),
            )


def _withdrawals(
    connection: Connection, gone: Iterable[tuple[str, str]], new_acts: set[str], writers: dict[str, Writer]
) -> Iterable[Withdrawal]:
    """Yield the records that counted here before the join and are withdrawn by it."""
    for name, record_id in gone:
        kind = kind_named(name)
        chain = chain_of(connection, kind, record_id)
        newest = chain[-1]
        before = [version for version in chain if version.act_id not in new_acts]
        if newest.withdrawn and newest.act_id in new_acts and before and not before[-1].withdrawn:
            yield Withdrawal(
                record_id=record_id.removeprefix(SETTING_PREFIX),
                kind=name,
                rug_id=newest.rug_id,
                by=writers[newest.device_id],
                value=value_of(kind, before[-1], chain[0].clock),
            )


JOIN_UNDONE = ActKind.JOIN_UNDONE
"""Kind of the act that takes a whole join back."""


def undo_join(book: OpenBook, act_ids: Iterable[str]) -> Undone:
    """Take back what the acts of a join wrote, by one act: every record is as if they had not come.

    Nothing is erased, and undoing the act brings all of it back. Records that a later act changed are left.

    Parameters
    ----------
    act_ids
        `Joined.act_ids`; what is not in the book is passed over.
    """
    came = set(act_ids)
    targets, left = [], []
    act_id = new_id()
    with book.writing() as connection:
        for kind, record_id in records_of_acts(connection, came):
            versions = versions_newest_first(connection, kind, record_id)
            if versions[0].act_id not in came:
                left.append(record_id)
                continue
            before = next((version for version in versions if version.act_id not in came), None)
            if before is not None:
                targets.append(
                    Target(record_id, before.rug_id, kind, bool(before.withdrawn), tuple(before[3:]))
                )
            elif not versions[0].withdrawn:
                targets.append(Target(record_id, versions[0].rug_id, kind, True, tuple(versions[0][3:])))
        stored = Stored(0, 0, None)
        if targets:
            stored = store(connection, book, targets, act_id=act_id, kind=JOIN_UNDONE, rug_id=None)
    book.acknowledge(stored.clock)
    restored = tuple(target.record_id for target in targets)
    return Undone(act_id if stored.versions else None, restored, tuple(left))


def _refuse_contradictions(run: Any) -> None:
    queries = [
        # An act that a rescue put where one was lost says nothing that could contradict.
        "SELECT 1 FROM other.act o JOIN main.act m ON m.act_id = o.act_id"
        " WHERE m.seal <> o.seal AND m.versions > 0 AND o.versions > 0 LIMIT 1"
    ]
    for name in KIND_NAMES:
        queries.append(
            f'SELECT 1 FROM other."{name}" o JOIN main."{name}" m ON m.record_id = o.record_id'
            " WHERE m.rug_id IS NOT o.rug_id OR (m.act_id = o.act_id AND m.seal <> o.seal) LIMIT 1"
        )
        elsewhere = " OR ".join(
            f'EXISTS (SELECT 1 FROM main."{other}" m WHERE m.record_id = o.record_id)'
            for other in KIND_NAMES
            if other != name
        )
        queries.append(
            f'SELECT 1 FROM other."{name}" o WHERE NOT EXISTS'
            f' (SELECT 1 FROM main."{name}" m WHERE m.record_id = o.record_id) AND ({elsewhere}) LIMIT 1'
        )
    if any(run(query).first() for query in queries):
        raise contradiction()
    # A poisoned count would leave no room for the acts to come; an honest one is explained by the acts there are.
    highest = run("SELECT max(clock) FROM other.act").scalar() or 0
    known = run("SELECT max(clock) FROM main.act").scalar() or 0
    acts = run("SELECT count(*) FROM other.act").scalar() or 0
    if highest > known + acts + limits.CLOCK_LEAP or highest > limits.CLOCK:
        raise contradiction()


def _settle_torn(run: Any) -> None:
    """Note which acts are not whole; those that have become whole are no longer torn."""
    candidates = run("SELECT act_id FROM main.torn UNION SELECT act_id FROM other.torn").all()
    run("DELETE FROM main.torn")
    count = " + ".join(
        f'(SELECT count(*) FROM main."{name}" v WHERE v.act_id = a.act_id)' for name in KIND_NAMES
    )
    for (act_id,) in candidates:
        run(
            "INSERT INTO main.torn (act_id) SELECT a.act_id FROM main.act a"
            f" WHERE a.act_id = ? AND (a.versions = 0 OR {count} < a.versions)",
            (act_id,),
        )


def _conflicts(
    connection: Connection, touched: Iterable[tuple[str, str]], writers: dict[str, Writer]
) -> Iterable[Conflict]:
    for name, record_id in touched:
        kind = kind_named(name)
        chain = chain_of(connection, kind, record_id)
        newest = chain[-1]
        followed = {version.follows for version in chain}
        aside = [
            version
            for version in chain[:-1]
            if version.act_id not in followed
            and (
                version.withdrawn != newest.withdrawn
                or not same_columns(kind, version.columns, newest.columns)
            )
        ]
        if aside:
            born = chain[0].clock
            yield Conflict(
                record_id=newest.record_id.removeprefix(SETTING_PREFIX),
                kind=name,
                rug_id=newest.rug_id,
                counting=Told(writers[newest.device_id], value_of(kind, newest, born)),
                set_aside=tuple(
                    Told(writers[version.device_id], value_of(kind, version, born)) for version in aside
                ),
            )


def _rivals(
    connection: Connection, came: Iterable[tuple[str, str, int]], writers: dict[str, Writer]
) -> Iterable[Conflict]:
    """Yield where this book had one record and a new one came for the same rug, of a kind of which only one counts.

    `came` are kind, rug and the highest version of that kind before the join.
    """
    for name, rug_id, highest in came:
        kind = kind_named(name)
        first = connection.exec_driver_sql(
            f'SELECT record_id, min(version) FROM main."{name}" WHERE rug_id = ? GROUP BY record_id',
            (rug_id,),
        ).all()
        if len({version > highest for _record_id, version in first}) < 2:
            continue
        chains = [chain_of(connection, kind, record_id) for record_id, _version in first]
        counting = [chain for chain in chains if not chain[-1].withdrawn]
        if len(counting) < 2:
            continue
        *aside, counts = sorted(counting, key=lambda chain: (chain[0].clock, chain[0].record_id))
        others = [chain for chain in aside if not same_columns(kind, chain[-1].columns, counts[-1].columns)]
        if others:
            yield Conflict(
                record_id=counts[-1].record_id,
                kind=name,
                rug_id=rug_id,
                counting=Told(writers[counts[-1].device_id], value_of(kind, counts[-1], counts[0].clock)),
                set_aside=tuple(
                    Told(writers[chain[-1].device_id], value_of(kind, chain[-1], chain[0].clock))
                    for chain in reversed(others)
                ),
            )


def make_staging(path: Path) -> None:
    """Make an empty working file with a book's tables, to be filled and joined; it needs no durability."""
    drop_working(path)
    with closing(sqlite3.connect(path)) as connection:
        # One transaction that waits for no disk: table by table it took most of a join.
        connection.executescript(
            f"PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; BEGIN; {_tables_of_a_book()} COMMIT;"
        )


@cache
def _tables_of_a_book() -> str:
    """Return the statements that make a book's tables and indexes."""
    dialect = sqlite.dialect()
    statements: list[Any] = []
    for table in Base.metadata.sorted_tables:
        statements.append(CreateTable(table))
        statements += [
            CreateIndex(index) for index in sorted(table.indexes, key=lambda index: str(index.name))
        ]
    return "".join(f"{statement.compile(dialect=dialect)};" for statement in statements)
