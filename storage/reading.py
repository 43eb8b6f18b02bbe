"""Reads for the screens: plain functions from an open book to values. Every row read is checked against its seal."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any
from weakref import WeakValueDictionary

from sqlalchemy import Connection, Select, bindparam, func, or_, select

from storage.convert import (
    KIND_NAMES,
    SETTING_PREFIX,
    UNLAWFUL,
    Kind,
    add_seals,
    kind_named,
    seal_of_act,
    seal_of_device,
    seal_of_version,
    to_value,
)
from storage.models import Act, Device, Tally, Torn
from storage.open_book import OpenBook
from storage.trouble import damaged
from storage.unit_of_work import find_kind, instant
from tracker.domain import rules
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.history import Change, Entry, PastVersion, Writer
from tracker.domain.rug import Cartoon, RugBook, RugPlan, SetAside, Setting, Weaver, Yarn
from tracker.domain.rules import DEVICE_NAME_KEY
from tracker.domain.shopping import LEAST_SETTING, SKEIN_SETTING, as_sold, says_how_sold
from tracker.words import _

# Positions in a row of `_versions`.
_VERSION, _RECORD, _RUG, _ACT, _DEVICE, _CLOCK, _FOLLOWS, _WITHDRAWN, _SEAL, _COLUMNS = range(10)


@cache
def _versions(name: str) -> Select[Any]:
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
def _versions_of_rug(name: str) -> Select[Any]:
    return _versions(name).where(kind_named(name).table.c.rug_id == bindparam("rug_id"))


@cache
def _versions_of_book(name: str) -> Select[Any]:
    return _versions(name).where(kind_named(name).table.c.rug_id.is_(None))


@cache
def _versions_of_record(name: str) -> Select[Any]:
    return _versions(name).where(kind_named(name).table.c.record_id == bindparam("record_id"))


def _true(kind: Kind, row: Sequence[Any]) -> Sequence[Any]:
    """Return the row if its seal is true."""
    try:
        seal = seal_of_version(
            kind,
            row[_RECORD],
            row[_RUG],
            (row[_ACT], row[_DEVICE], row[_CLOCK]),
            row[_FOLLOWS],
            row[_WITHDRAWN],
            row[_COLUMNS:],
        )
    except (TypeError, ValueError):
        seal = -1
    if seal != row[_SEAL]:
        raise damaged(f"the seal of a version of {kind.name} {row[_RECORD]!r} is broken")
    return row


_cartoons_held: WeakValueDictionary[tuple[str, str, int, int], Cartoon] = WeakValueDictionary()
"""Cartoons that somebody still holds, by record, act, seal and birth: unpacked and counted, they need not be again."""


def _value(kind: Kind, row: Sequence[Any], born: int) -> Any:
    """Return the value a version holds, or what says that it cannot be: one bad record must not hide the others."""
    version = (row[_RECORD], row[_ACT], row[_SEAL], born)
    if kind.name == "cartoon" and (held := _cartoons_held.get(version)) is not None:
        return held
    try:
        value = to_value(kind, row[_RECORD], row[_RUG], born, row[_COLUMNS:])
        rules.check(value, cells=False)
    except UNLAWFUL as error:
        return _set_aside(kind, row, born, error)
    if kind.name == "cartoon":
        _cartoons_held[version] = value
    return value


def _set_aside(kind: Kind, row: Sequence[Any], born: int, error: Exception) -> SetAside:
    sentence = error.sentence if isinstance(error, BadEntry) else _("It is not written as a book writes it.")
    record_id = row[_RECORD].removeprefix(SETTING_PREFIX)
    return SetAside(id=record_id, kind=kind.name, rug_id=row[_RUG], sentence=sentence, born=born)


@dataclass(frozen=True, slots=True)
class _Current:
    """The values that count among some versions, and those that cannot be."""

    values: list[Any]
    set_aside: list[SetAside]
    entered: dict[str, tuple[int, str, str, int]]
    """When each record was first written: the act's count, its phone, its id, and the record's place in it.

    An act's versions stand in the order in which they were written, in its own file and in every one joined from it.
    """

    def sort(self) -> None:
        """Put the values in order: numbered things by number, dated things by day, then as they were entered."""
        self.values.sort(key=lambda value: (*_number_and_day(value), self.entered[_record_id(value)]))


def _current(kind: Kind, rows: Iterable[Sequence[Any]]) -> _Current:
    """Return what counts among the rows, each checked, in the order of birth."""
    newest: dict[str, Sequence[Any]] = {}
    entered: dict[str, tuple[int, str, str, int]] = {}
    for row in rows:
        record_id = row[_RECORD]
        other = newest.get(record_id)
        if other is None:
            newest[record_id] = row
            entered[record_id] = _entered(row)
            continue
        if (row[_CLOCK], row[_DEVICE], row[_ACT]) > (other[_CLOCK], other[_DEVICE], other[_ACT]):
            newest[record_id] = row
        entered[record_id] = min(entered[record_id], _entered(row))
    told = [
        _value(kind, row, entered[record_id][0]) for record_id, row in newest.items() if not row[_WITHDRAWN]
    ]
    current = _Current(
        [value for value in told if not isinstance(value, SetAside)],
        [value for value in told if isinstance(value, SetAside)],
        entered,
    )
    current.sort()
    return current


def _entered(row: Sequence[Any]) -> tuple[int, str, str, int]:
    return row[_CLOCK], row[_DEVICE], row[_ACT], row[_VERSION]


def _record_id(value: Any) -> str:
    return SETTING_PREFIX + value.id if isinstance(value, Setting) else str(value.id)


def _current_plans(rows: Sequence[Sequence[Any]]) -> _Current:
    """Like `_current`, but a plan that cannot be is shown as near as it can be, so that its rug opens."""
    kind = kind_named("rug_plan")
    found = _current(kind, rows)
    for aside in found.set_aside:
        chain = sorted(
            (row for row in rows if row[_RECORD] == aside.id and not row[_WITHDRAWN]),
            key=lambda row: (row[_CLOCK], row[_DEVICE], row[_ACT]),
            reverse=True,
        )
        for row in chain:
            value = _value(kind, row, aside.born)
            if isinstance(value, SetAside):
                try:
                    value = rules.within(to_value(kind, row[_RECORD], row[_RUG], aside.born, row[_COLUMNS:]))
                except UNLAWFUL:
                    continue
            found.values.append(value)
            break
    found.sort()
    return found


def _number_and_day(value: Any) -> tuple[int, date]:
    number: int = getattr(value, "number", 0)
    day: date = getattr(value, "day", None) or getattr(value, "first_day", None) or date.min
    return number, day


class _Tallies:
    """What should be there, to be compared with what was found."""

    def __init__(self, connection: Connection, rug_ids: Collection[str]) -> None:
        rows = connection.execute(
            select(Tally.rug_id, Tally.kind, Tally.versions, Tally.seals).where(Tally.rug_id.in_(rug_ids))
        )
        self._expected = {(row.rug_id, row.kind): (row.versions, row.seals) for row in rows}

    def compare(self, rug_id: str, kind: Kind, rows: Sequence[Sequence[Any]]) -> None:
        """Raise BookDamaged unless `rows` are all and only the versions of the rug and kind."""
        found = (len(rows), add_seals(0, (row[_SEAL] for row in rows)))
        if self._expected.get((rug_id, kind.name), (0, 0)) != found:
            raise damaged(f"the tally of {kind.name} of rug {rug_id!r} does not agree")


def _sealed(connection: Connection, name: str, rug_id: str | None, tallies: _Tallies) -> list[Sequence[Any]]:
    """Return every version of one kind of one rug (None: of the book), checked."""
    kind = kind_named(name)
    if rug_id is None:
        rows = connection.execute(_versions_of_book(name)).all()
    else:
        rows = connection.execute(_versions_of_rug(name), {"rug_id": rug_id}).all()
    checked = [_true(kind, row) for row in rows]
    tallies.compare(rug_id or "", kind, checked)
    return checked


def _read(connection: Connection, name: str, rug_id: str | None, tallies: _Tallies) -> _Current:
    rows = _sealed(connection, name, rug_id, tallies)
    return _current_plans(rows) if name == "rug_plan" else _current(kind_named(name), rows)


def rugs(book: OpenBook) -> tuple[RugPlan, ...]:
    """Return the plans of all rugs, in the order in which they were entered."""
    return tuple(_of_all_rugs(book, "rug_plan"))


def yarns(book: OpenBook) -> tuple[Yarn, ...]:
    """Return the yarns of all rugs, so that an entry about any rug can be told by name."""
    return tuple(_of_all_rugs(book, "yarn"))


def _of_all_rugs(book: OpenBook, name: str) -> list[Any]:
    """Return the current values of one kind of every rug, each version checked against the tallies.

    What cannot be is left out here; `rug_book` tells of it.
    """
    kind = kind_named(name)
    with book.reading() as connection:
        rows = [_true(kind, row) for row in connection.execute(_versions(name))]
        expected = connection.execute(select(Tally.versions, Tally.seals).where(Tally.kind == name)).all()
    if len(rows) != sum(row.versions for row in expected) or add_seals(
        0, (row[_SEAL] for row in rows)
    ) != add_seals(0, (row.seals for row in expected)):
        raise damaged(f"the tallies of {name} do not agree")
    return (_current_plans(rows) if name == "rug_plan" else _current(kind, rows)).values


def rug_book(book: OpenBook, rug_id: str, with_cartoon: bool = True) -> RugBook:
    """Return everything the book holds about one rug, as of one moment.

    Parameters
    ----------
    with_cartoon
        False leaves the cartoon out (None), which is faster where no picture is drawn.

    Raises
    ------
    BookTrouble
        There is no such rug (any more).
    """
    with book.reading() as connection:
        tallies = _Tallies(connection, ("", rug_id))

        aside: list[SetAside] = []

        def read(name: str, rug: str | None = rug_id) -> tuple[Any, ...]:
            found = _read(connection, name, rug, tallies)
            aside.extend(found.set_aside)
            return tuple(found.values)

        plans = read("rug_plan")
        if not plans:
            raise BookTrouble(_("This rug is not in the book any more."))
        cartoon: Cartoon | None = None
        if with_cartoon:
            # Two phones may each have given the rug a cartoon; the one entered last counts.
            cartoon = max(read("cartoon"), key=lambda one: (one.born, one.id), default=None)
        if cartoon is not None:
            try:
                rules.check(cartoon)
            except UNLAWFUL as error:
                sentence = (
                    error.sentence
                    if isinstance(error, BadEntry)
                    else _("It is not written as a book writes it.")
                )
                aside.append(SetAside(cartoon.id, "cartoon", rug_id, sentence, cartoon.born))
                cartoon = None
        days_off = sorted(
            (*read("days_off"), *read("days_off", None)), key=lambda off: (off.first_day, off.born)
        )
        yarns = read("yarn")
        if not all(says_how_sold(yarn) for yarn in yarns):
            said = {key: _setting(connection, key) for key in (SKEIN_SETTING, LEAST_SETTING)}
            yarns = tuple(as_sold(yarn, said) for yarn in yarns)
        return RugBook(
            plan=plans[0],
            cartoon=cartoon,
            yarns=yarns,
            weavers=read("weaver", None),
            sessions=read("session"),
            lots=read("lot"),
            weighings=read("weighing"),
            spoilt=read("spoilt"),
            samples=read("sample"),
            measurements=read("measurement"),
            days_off=tuple(days_off),
            preparations=read("preparation"),
            after_steps=read("after_step"),
            photos=read("photo"),
            wages=read("wage"),
            costs=read("cost"),
            pricings=read("pricing"),
            set_aside=tuple(aside),
        )


def weavers(book: OpenBook) -> tuple[Weaver, ...]:
    """Return everybody who sits at the loom, in the order in which they were entered."""
    with book.reading() as connection:
        return tuple(_read(connection, "weaver", None, _Tallies(connection, ("",))).values)


def settings(book: OpenBook) -> dict[str, object]:
    """Return all settings by their key."""
    with book.reading() as connection:
        found = _read(connection, "setting", None, _Tallies(connection, ("",))).values
    return {setting.id: setting.value for setting in found}


def setting(book: OpenBook, key: str, default: object = None) -> Any:
    """Return one setting, or `default` if it was never made."""
    with book.reading() as connection:
        return _setting(connection, key, default)


def _setting(connection: Connection, key: str, default: object = None) -> Any:
    kind = kind_named("setting")
    rows = connection.execute(_versions_of_record("setting"), {"record_id": SETTING_PREFIX + key})
    values = _current(kind, [_true(kind, row) for row in rows]).values
    return values[0].value if values else default


def writers_of(connection: Connection, here: str) -> dict[str, Writer]:
    """Return every phone that wrote into the book by its id; `here` is this phone's."""
    kind = kind_named("setting")
    query = _versions("setting").where(
        kind.table.c.record_id.startswith(SETTING_PREFIX + DEVICE_NAME_KEY, autoescape=True)
    )
    # A phone is called what it calls itself: a name that another phone gave it does not count.
    own = [
        row
        for row in (_true(kind, row) for row in connection.execute(query))
        if row[_RECORD] == SETTING_PREFIX + DEVICE_NAME_KEY + row[_DEVICE]
    ]
    renamed = {value.id.removeprefix(DEVICE_NAME_KEY): value.value for value in _current(kind, own).values}
    known = connection.execute(select(Device.device_id, Device.name, Device.seal)).all()
    if any(seal_of_device(row.device_id, row.name) != row.seal for row in known):
        raise damaged("the seal of a device is broken")
    return {
        row.device_id: Writer(row.device_id, str(renamed.get(row.device_id, row.name)), row.device_id == here)
        for row in known
    }


def devices(book: OpenBook) -> tuple[Writer, ...]:
    """Return every phone that wrote into the book, this one first."""
    with book.reading() as connection:
        found = writers_of(connection, book.device_id).values()
    return tuple(sorted(found, key=lambda writer: (not writer.here, writer.name, writer.device_id)))


def device(book: OpenBook) -> Writer:
    """Return this phone."""
    return devices(book)[0]


def _fold(text: str) -> str:
    return text.casefold()


# The fields that hold the weaver's own words, where the diary is searched.
_WORDS = {
    "rug_plan": ("name", "notes"),
    "yarn": ("name", "count", "fibre", "dyer"),
    "weaver": ("name",),
    "session": ("note", "day"),
    "lot": ("dye_lot", "dyer", "day"),
    "weighing": ("note", "day"),
    "spoilt": ("note", "day"),
    "sample": ("day",),
    "measurement": ("day",),
    "days_off": ("reason", "first_day", "last_day"),
    "preparation": ("day",),
    "after_step": ("name",),
    "photo": ("caption", "day"),
    "cartoon": ("source_name",),
    "wage": ("first_day",),
    "cost": ("note", "day"),
}


# The fields that name a yarn or a weaver by id; the lists are kept as JSON text.
_NAMED = {
    "session": ("used", "weavers"),
    "lot": ("yarn_id",),
    "weighing": ("yarn_id",),
    "spoilt": ("yarn_id",),
    "sample": ("yarn_id",),
    "preparation": ("yarn_id",),
    "wage": ("weaver_id",),
}
_NAMES_SEARCHED = 40
"""Most yarns and weavers by whose name entries are found; a text that fits more of them says too little."""


def _ids_with_name(connection: Connection, text: str, rug_id: str | None) -> list[str]:
    """Return the ids of yarns (of one rug, if so asked) and weavers that are, or once were, called so."""
    found: dict[str, None] = {}
    for name in ("yarn", "weaver"):
        table = kind_named(name).table
        query = select(table.c.record_id).where(func.instr(func.loomside_fold(table.c.name), text) > 0)
        if name == "yarn" and rug_id is not None:
            query = query.where(table.c.rug_id == rug_id)
        found |= dict.fromkeys(connection.execute(query).scalars())
    return list(found)[:_NAMES_SEARCHED]


def _acts_with_words(connection: Connection, text: str, rug_id: str | None) -> list[Any]:
    """Return queries for the ids of acts that wrote `text`, or something about a yarn or weaver so called."""
    queries = []
    named = _ids_with_name(connection, text, rug_id)
    for name, columns in _WORDS.items():
        table = kind_named(name).table
        fits = [func.instr(func.loomside_fold(table.c[column]), text) > 0 for column in columns]
        fits += [func.instr(table.c[column], one) > 0 for column in _NAMED.get(name, ()) for one in named]
        query = select(table.c.act_id).where(or_(*fits))
        if rug_id is not None:
            query = query.where(table.c.rug_id == rug_id)
        queries.append(query)
    return queries


def diary(
    book: OpenBook,
    rug_id: str | None = None,
    text: str = "",
    kinds: Collection[str] | None = None,
    limit: int = 50,
    offset: int = 0,
) -> tuple[Entry, ...]:
    """Return acts, newest first by their count (never by a phone's clock).

    Parameters
    ----------
    rug_id
        Only acts about this rug.
    text
        Only acts that wrote these letters in a name, a note, a caption or a day, whatever their case, or that are
        about a yarn or a weaver so called.
    kinds
        Only these kinds of act.
    limit, offset
        How many, after leaving out how many.
    """
    query = select(
        Act.act_id, Act.device_id, Act.clock, Act.made_at, Act.kind, Act.rug_id, Act.undoes_id,
        Act.versions, Act.seal,
    ).order_by(Act.clock.desc(), Act.device_id.desc(), Act.act_id.desc())  # fmt: skip
    with book.reading() as connection:
        query = _narrowed(connection, query, rug_id, text, kinds)
        acts = connection.execute(query.limit(limit).offset(offset)).all()
        return tuple(_entries(connection, book.device_id, acts))


def diary_count(
    book: OpenBook, rug_id: str | None = None, text: str = "", kinds: Collection[str] | None = None
) -> int:
    """Return how many acts `diary` would tell of without a limit."""
    with book.reading() as connection:
        query = _narrowed(connection, select(func.count()).select_from(Act), rug_id, text, kinds)
        return int(connection.execute(query).scalar_one())


def _narrowed(
    connection: Connection, query: Any, rug_id: str | None, text: str, kinds: Collection[str] | None
) -> Any:
    """Return a query over acts with the diary's conditions."""
    if rug_id is not None:
        query = query.where(Act.rug_id == rug_id)
    if kinds is not None:
        query = query.where(Act.kind.in_(list(kinds)))
    wanted = text.strip().casefold()
    if wanted:
        raw = connection.connection.dbapi_connection
        raw.create_function("loomside_fold", 1, _fold_stored, deterministic=True)  # type: ignore[union-attr]
        query = query.where(
            or_(*(Act.act_id.in_(part) for part in _acts_with_words(connection, wanted, rug_id)))
        )
    return query


def _fold_stored(stored: object) -> str:
    return _fold(stored) if isinstance(stored, str) else ""


def _chunks(items: Sequence[Any], size: int = 500) -> Iterable[Sequence[Any]]:
    for start in range(0, len(items), size):
        yield items[start : start + size]


_UNDOERS = """
    WITH RECURSIVE chain (act_id) AS (
        SELECT act_id FROM act WHERE act_id IN ({marks}) UNION SELECT a.act_id FROM act a JOIN chain c ON a.undoes_id = c.act_id
    )
    SELECT a.act_id, a.undoes_id, a.clock FROM act a JOIN chain c ON c.act_id = a.act_id
"""


def _undone(connection: Connection, acts: Sequence[Any]) -> set[str]:
    """Return which acts an undo stands against; an undo that was itself undone does not stand."""
    undoers: dict[str, list[str]] = {}
    clocks: dict[str, int] = {}
    # One query for whole chains, however often undo and redo were pressed, or a file says they were.
    for part in _chunks([act.act_id for act in acts]):
        query = _UNDOERS.format(marks=", ".join("?" * len(part)))
        for act_id, undoes_id, clock in connection.exec_driver_sql(query, tuple(part)):
            if act_id not in clocks and undoes_id is not None:
                undoers.setdefault(undoes_id, []).append(act_id)
            clocks[act_id] = clock
    # An undo is always younger than what it undoes, so going from the youngest settles every chain without
    # recursion, however often a weaver pressed undo and redo.
    stands: dict[str, bool] = {}
    for act_id in sorted(clocks, key=lambda one: -clocks[one]):
        stands[act_id] = not any(stands.get(one, True) for one in undoers.get(act_id, ()))
    return {act.act_id for act in acts if not stands[act.act_id]}


def _entries(connection: Connection, here: str, acts: Sequence[Any]) -> Iterable[Entry]:
    if not acts:
        return
    for act in acts:
        _true_act(act)
    writers = writers_of(connection, here)
    undone = _undone(connection, acts)
    torn = set(connection.execute(select(Torn.act_id)).scalars())
    changes: dict[str, list[tuple[int, int, Change]]] = {act.act_id: [] for act in acts}
    undoable: set[str] = set()
    for place, name in enumerate(KIND_NAMES):
        kind = kind_named(name)
        table = kind.table
        for part in _chunks([act.act_id for act in acts]):
            touched = connection.execute(
                select(table.c.record_id).where(table.c.act_id.in_(part)).distinct()
            ).scalars()
            rows = [
                row
                for some in _chunks(touched.all())
                for row in connection.execute(_versions(name).where(table.c.record_id.in_(some)))
            ]
            for chain in _chains(kind, rows):
                born = chain[0][_CLOCK]
                for position, row in enumerate(chain):
                    if row[_ACT] not in changes:
                        continue
                    last = position == len(chain) - 1
                    before = chain[position - 1] if position else None
                    change = Change(
                        record_id=row[_RECORD].removeprefix(SETTING_PREFIX),
                        kind=name,
                        before=None if before is None or before[_WITHDRAWN] else _value(kind, before, born),
                        after=None if row[_WITHDRAWN] else _value(kind, row, born),
                        current=last,
                    )
                    changes[row[_ACT]].append((place, row[_VERSION], change))
                    if last and not (position == 0 and row[_WITHDRAWN]):
                        undoable.add(row[_ACT])
    for act in acts:
        done = [change for *_written, change in sorted(changes[act.act_id], key=lambda told: told[:2])]
        if len(done) != act.versions and act.act_id not in torn:
            raise damaged(f"act {act.act_id} is not whole")
        yield Entry(
            act_id=act.act_id,
            made_at=instant(act.made_at),
            device=writers.get(act.device_id) or Writer(act.device_id, "", False),
            kind=act.kind,
            rug_id=act.rug_id,
            undoes_id=act.undoes_id,
            undone=act.act_id in undone,
            undoable=act.act_id in undoable,
            changes=tuple(done),
        )


def _true_act(act: Any) -> None:
    if not act.versions:
        return  # a rescue put it in the place of a lost one; it says nothing
    try:
        seal = seal_of_act(
            act.act_id,
            act.device_id,
            act.clock,
            act.made_at,
            act.kind,
            act.rug_id,
            act.undoes_id,
            act.versions,
        )
    except (TypeError, ValueError):
        seal = -1
    if seal != act.seal:
        raise damaged(f"the seal of act {act.act_id!r} is broken")


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
    rows = connection.execute(_versions_of_record(kind.name), {"record_id": record_id}).all()
    return [
        StoredVersion(
            record_id=row[_RECORD],
            rug_id=row[_RUG],
            act_id=row[_ACT],
            device_id=row[_DEVICE],
            clock=row[_CLOCK],
            follows=row[_FOLLOWS],
            withdrawn=row[_WITHDRAWN],
            columns=tuple(row[_COLUMNS:]),
        )
        for chain in _chains(kind, rows)
        for row in chain
    ]


def value_of(kind: Kind, version: StoredVersion, born: int) -> Any:
    """Return the value a version holds; None: withdrawn."""
    if version.withdrawn:
        return None
    shared = (0, version.record_id, version.rug_id, version.act_id, version.device_id, version.clock)
    return _value(kind, (*shared, version.follows, version.withdrawn, 0, *version.columns), born)


def _chains(kind: Kind, rows: Iterable[Sequence[Any]]) -> list[list[Sequence[Any]]]:
    """Return the versions of each record, oldest first, checked."""
    chains: dict[str, list[Sequence[Any]]] = {}
    for row in rows:
        chains.setdefault(row[_RECORD], []).append(_true(kind, row))
    for chain in chains.values():
        chain.sort(key=lambda row: (row[_CLOCK], row[_DEVICE], row[_ACT]))
    return list(chains.values())


def history(book: OpenBook, record_id: str) -> tuple[PastVersion, ...]:
    """Return all versions of one record, newest first: who, when, what. A setting's id is its key.

    Raises
    ------
    BookTrouble
        There is no such record.
    """
    with book.reading() as connection:
        kind = find_kind(connection, record_id)
        if kind is None:
            record_id = SETTING_PREFIX + record_id
            kind = find_kind(connection, record_id)
        if kind is None:
            raise BookTrouble(_("This entry is not in the book."))
        (chain,) = _chains(kind, connection.execute(_versions_of_record(kind.name), {"record_id": record_id}))
        acts = {
            act.act_id: act
            for part in _chunks([row[_ACT] for row in chain])
            for act in connection.execute(
                select(Act.act_id, Act.made_at, Act.kind).where(Act.act_id.in_(part))
            )
        }
        writers = writers_of(connection, book.device_id)
    followed = {row[_FOLLOWS] for row in chain}
    past = []
    for position, row in enumerate(chain):
        act = acts[row[_ACT]]
        last = position == len(chain) - 1
        past.append(
            PastVersion(
                act_id=row[_ACT],
                made_at=instant(act.made_at),
                device=writers.get(row[_DEVICE]) or Writer(row[_DEVICE], "", False),
                kind=act.kind,
                value=None if row[_WITHDRAWN] else _value(kind, row, chain[0][_CLOCK]),
                current=last,
                set_aside=not last and row[_ACT] not in followed,
            )
        )
    return tuple(reversed(past))
