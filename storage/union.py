"""Joins another book's acts into this one: a union, so that order, repetition and direction do not matter.

The other book comes as a file with a book's tables that has been checked (`checks.check_stranger`); the rule for
conflicting corrections is the order of versions: the larger count wins, then the larger device id, then the larger
act id. What did not win stays in the history as set aside.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection

from storage import limits
from storage.checks import is_overfull
from storage.convert import KIND_NAMES, SETTING_PREFIX, SHARED_COLUMNS, kind_named
from storage.models import Base
from storage.reading import Writer, chain_of, value_of, writers_of
from storage.unit_of_work import add_to_tally, raw_of, same_columns
from tracker.domain.errors import BookTrouble
from tracker.whole_file import drop_working
from tracker.words import _

if TYPE_CHECKING:
    from storage.book import Book


@dataclass(frozen=True, slots=True)
class Told:
    """One of the versions in a conflict."""

    device: Writer
    value: Any
    """None: withdrawn."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """A record that two phones changed without knowing of each other."""

    record_id: str
    kind: str
    rug_id: str | None
    kept: Told
    set_aside: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class Joined:
    """What a join brought."""

    acts: int
    """Acts that were new here."""
    records: int
    versions: int
    devices: tuple[str, ...]
    """Names of the phones the new acts come from."""
    conflicts: tuple[Conflict, ...]

    @property
    def nothing_new(self) -> bool:
        """Whether all of it was here already."""
        return self.versions == 0 and self.acts == 0


def contradiction() -> BookTrouble:
    """Return the error for a file that tells a known act differently."""
    return BookTrouble(
        _("This file contradicts what is in the book, so nothing was taken from it. Ask for a new file.")
    )


def join_file(book: Book, other: Path, bounded: bool = False) -> Joined:
    """Join the checked file `other` into the book, all of it or nothing.

    Parameters
    ----------
    bounded
        Whether the book must stay within `limits` afterwards; a rescue gives back whatever there was.
    """
    with book.joining(other) as connection:
        joined = unite(connection, book.device_id)
        if bounded and not joined.nothing_new and is_overfull(raw_of(connection)):
            raise BookTrouble(
                _("Together with this file the book would be too large, so nothing was taken from it.")
            )
        highest = connection.exec_driver_sql("SELECT max(clock) FROM main.act").scalar() or 0
    book.acknowledge(highest)
    return joined


def unite(connection: Connection, here: str) -> Joined:
    """Join the attached database `other` into `main`, inside the caller's transaction."""

    def run(sql: str, parameters: tuple[Any, ...] = ()) -> Any:
        return connection.exec_driver_sql(sql, parameters)

    def number(sql: str) -> int:
        return int(run(sql).scalar() or 0)

    _refuse_contradictions(run)
    before = number("SELECT max(number) FROM main.act")
    # A rescued book may have lost a phone's name; the same larger name wins on every phone.
    run(
        "INSERT INTO main.device (device_id, name, seal) SELECT device_id, name, seal FROM other.device WHERE true"
        " ON CONFLICT (device_id) DO UPDATE SET name = excluded.name, seal = excluded.seal"
        " WHERE excluded.name > name"
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
    for name in KIND_NAMES:
        highest = number(f'SELECT max(version) FROM main."{name}"')
        columns = ", ".join(f'"{column}"' for column in (*SHARED_COLUMNS, *kind_named(name).columns))
        run(
            f'INSERT INTO main."{name}" ({columns}) SELECT {columns} FROM other."{name}" o'
            f' WHERE NOT EXISTS (SELECT 1 FROM main."{name}" m'
            " WHERE m.record_id = o.record_id AND m.act_id = o.act_id) ORDER BY clock, device_id, act_id"
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
        # Two versions that follow the same one were written without knowing of each other.
        contested = run(
            f'SELECT record_id FROM main."{name}" WHERE record_id IN'
            f' (SELECT record_id FROM main."{name}" WHERE version > ?) GROUP BY record_id'
            " HAVING count(*) > count(DISTINCT coalesce(follows, '')) ORDER BY record_id",
            (highest,),
        ).all()
        touched += [(name, record_id) for (record_id,) in contested]
    _settle_torn(run)
    devices = [row[0] for row in run("SELECT DISTINCT device_id FROM main.act WHERE number > ?", (before,))]
    writers = writers_of(connection, here)
    return Joined(
        acts=number(f"SELECT count(*) FROM main.act WHERE number > {before}"),
        records=new_records,
        versions=new_versions,
        devices=tuple(sorted(writers[one].name for one in devices)),
        conflicts=tuple(_conflicts(connection, touched, writers)),
    )


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
        kept = chain[-1]
        followed = {version.follows for version in chain}
        aside = [
            version
            for version in chain[:-1]
            if version.act_id not in followed
            and (version.withdrawn != kept.withdrawn or not same_columns(kind, version.columns, kept.columns))
        ]
        if aside:
            born = chain[0].clock
            yield Conflict(
                record_id=kept.record_id.removeprefix(SETTING_PREFIX),
                kind=name,
                rug_id=kept.rug_id,
                kept=Told(writers[kept.device_id], value_of(kind, kept, born)),
                set_aside=tuple(
                    Told(writers[version.device_id], value_of(kind, version, born)) for version in aside
                ),
            )


def make_staging(path: Path) -> None:
    """Make an empty working file with a book's tables, to be filled and joined; it needs no durability."""
    from sqlalchemy import create_engine

    drop_working(path)
    engine = create_engine(f"sqlite:///{path}")
    try:
        Base.metadata.create_all(engine)
    finally:
        engine.dispose()
