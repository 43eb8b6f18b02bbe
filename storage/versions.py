"""Versions of records as they are stored: read, checked against their seals, and made values again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any
from weakref import WeakValueDictionary

from sqlalchemy import Connection, Select, bindparam, select

from storage.convert import (
    SETTING_PREFIX,
    UNLAWFUL,
    Kind,
    kind_named,
    seal_of_version,
    to_value,
)
from storage.trouble import damaged
from tracker.domain import rules
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Cartoon, SetAside, Setting
from tracker.words import _

# Positions in a row of `versions`.
VERSION, RECORD, RUG, ACT, DEVICE, CLOCK, FOLLOWS, WITHDRAWN, SEAL, COLUMNS = range(10)


@cache
def versions(name: str) -> Select[Any]:
    """Return the query for all versions of one kind, without a condition."""
    kind = kind_named(name)
    table = kind.table
    return select(
        table.c.version,
        table.c.record_id,
        table.c.rug_id,
        table.c.act_id,
        table.c.device_id,
        table.c.clock,
        table.c.follows,
        table.c.withdrawn,
        table.c.seal,
        *(table.c[column] for column in kind.columns),
    )


@cache
def versions_of_rug(name: str) -> Select[Any]:
    return versions(name).where(kind_named(name).table.c.rug_id == bindparam("rug_id"))


@cache
def versions_of_book(name: str) -> Select[Any]:
    return versions(name).where(kind_named(name).table.c.rug_id.is_(None))


@cache
def versions_of_record(name: str) -> Select[Any]:
    return versions(name).where(kind_named(name).table.c.record_id == bindparam("record_id"))


def true_row(kind: Kind, row: Sequence[Any]) -> Sequence[Any]:
    """Return the row if its seal is true."""
    try:
        seal = seal_of_version(
            kind,
            row[RECORD],
            row[RUG],
            (row[ACT], row[DEVICE], row[CLOCK]),
            row[FOLLOWS],
            row[WITHDRAWN],
            row[COLUMNS:],
        )
    except (TypeError, ValueError):
        seal = -1
    if seal != row[SEAL]:
        raise damaged(f"the seal of a version of {kind.name} {row[RECORD]!r} is broken")
    return row


_cartoons_held: WeakValueDictionary[tuple[str, str, int, int], Cartoon] = WeakValueDictionary()
"""Cartoons that somebody still holds, by record, act, seal and birth: unpacked and counted, they need not be again."""


def row_value(kind: Kind, row: Sequence[Any], born: int) -> Any:
    """Return the value a version holds, or what says that it cannot be: one bad record must not hide the others."""
    version = (row[RECORD], row[ACT], row[SEAL], born)
    if kind.name == "cartoon" and (held := _cartoons_held.get(version)) is not None:
        return held
    try:
        value = to_value(kind, row[RECORD], row[RUG], born, row[COLUMNS:])
        rules.check(value, cells=False)
    except UNLAWFUL as error:
        return _set_aside(kind, row, born, error)
    if kind.name == "cartoon":
        _cartoons_held[version] = value
    return value


def _set_aside(kind: Kind, row: Sequence[Any], born: int, error: Exception) -> SetAside:
    sentence = error.sentence if isinstance(error, BadEntry) else _("It is not written as a book writes it.")
    record_id = row[RECORD].removeprefix(SETTING_PREFIX)
    return SetAside(id=record_id, kind=kind.name, rug_id=row[RUG], sentence=sentence, born=born)


@dataclass(frozen=True, slots=True)
class Current:
    """The values that count among some versions, and those that cannot be."""

    values: list[Any]
    set_aside: list[SetAside]
    entered: dict[str, tuple[int, str, str, int]]
    """When each record was first written: the act's count, its phone, its id, and the record's place in it.

    An act's versions stand in the order in which they were written, in its own file and in every one joined from it.
    """

    def sort(self) -> None:
        """Put the values in order: numbered things by number, dated things by day, then as they were entered."""
        self.values.sort(key=lambda value: (*number_and_day(value), self.entered[_record_id(value)]))


def current(kind: Kind, rows: Iterable[Sequence[Any]]) -> Current:
    """Return what counts among the rows, each checked, in the order of birth."""
    newest: dict[str, Sequence[Any]] = {}
    entered: dict[str, tuple[int, str, str, int]] = {}
    for row in rows:
        record_id = row[RECORD]
        other = newest.get(record_id)
        if other is None:
            newest[record_id] = row
            entered[record_id] = _entered(row)
            continue
        if (row[CLOCK], row[DEVICE], row[ACT]) > (other[CLOCK], other[DEVICE], other[ACT]):
            newest[record_id] = row
        entered[record_id] = min(entered[record_id], _entered(row))
    counting = [
        row_value(kind, row, entered[record_id][0]) for record_id, row in newest.items() if not row[WITHDRAWN]
    ]
    current = Current(
        [value for value in counting if not isinstance(value, SetAside)],
        [value for value in counting if isinstance(value, SetAside)],
        entered,
    )
    current.sort()
    return current


def _entered(row: Sequence[Any]) -> tuple[int, str, str, int]:
    return row[CLOCK], row[DEVICE], row[ACT], row[VERSION]


def _record_id(value: Any) -> str:
    return SETTING_PREFIX + value.id if isinstance(value, Setting) else str(value.id)


def number_and_day(value: Any) -> tuple[int, date]:
    number: int = getattr(value, "number", 0)
    day: date = getattr(value, "day", None) or getattr(value, "first_day", None) or date.min
    return number, day


@dataclass(frozen=True, slots=True)
class StoredVersion:
    """One version as it is stored."""

    record_id: str
    rug_id: str | None
    act_id: str
    device_id: str
    clock: int
    follows: str | None
    withdrawn: int
    columns: tuple[Any, ...]


def chain_of(connection: Connection, kind: Kind, record_id: str) -> list[StoredVersion]:
    """Return the versions of one record, oldest first, checked."""
    rows = connection.execute(versions_of_record(kind.name), {"record_id": record_id}).all()
    return [
        StoredVersion(
            record_id=row[RECORD],
            rug_id=row[RUG],
            act_id=row[ACT],
            device_id=row[DEVICE],
            clock=row[CLOCK],
            follows=row[FOLLOWS],
            withdrawn=row[WITHDRAWN],
            columns=tuple(row[COLUMNS:]),
        )
        for chain in chains(kind, rows)
        for row in chain
    ]


def value_of(kind: Kind, version: StoredVersion, born: int) -> Any:
    """Return the value a version holds; None: withdrawn."""
    if version.withdrawn:
        return None
    shared = (0, version.record_id, version.rug_id, version.act_id, version.device_id, version.clock)
    return row_value(kind, (*shared, version.follows, version.withdrawn, 0, *version.columns), born)


def chains(kind: Kind, rows: Iterable[Sequence[Any]]) -> list[list[Sequence[Any]]]:
    """Return the versions of each record, oldest first, checked."""
    chains: dict[str, list[Sequence[Any]]] = {}
    for row in rows:
        chains.setdefault(row[RECORD], []).append(true_row(kind, row))
    for chain in chains.values():
        chain.sort(key=lambda row: (row[CLOCK], row[DEVICE], row[ACT]))
    return list(chains.values())


def chunks(items: Sequence[Any], size: int = 500) -> Iterable[Sequence[Any]]:
    for start in range(0, len(items), size):
        yield items[start : start + size]
