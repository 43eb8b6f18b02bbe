"""The diary of a book: its acts, searched and told with what each changed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from functools import cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import Boolean, Connection, func, literal_column, or_, select

from storage.convert import (
    KIND_NAMES,
    SETTING_PREFIX,
    kind_named,
    seal_of_act,
)
from storage.models import Act, Torn
from storage.open_book import OpenBook
from storage.trouble import damaged
from storage.unit_of_work import instant
from storage.versions import (
    ACT,
    CLOCK,
    COLUMNS,
    RECORD,
    VERSION,
    WITHDRAWN,
    chains,
    chunks,
    row_value,
    versions,
)
from storage.writers import writers_of
from tracker.domain.act import BRINGING_BACK
from tracker.domain.history import COUNTED, Change, Entry, Since, Writer, telling


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
    "lot_change": ("day", "done_day"),
    "lot_move": ("day",),
    "photo": ("caption", "day"),
    "cartoon": ("source_name",),
    "wage": ("first_day",),
    "cost": ("note", "day"),
    "trim": ("note", "day"),
    "rug_order": ("customer", "address", "note"),
    "payment": ("note", "day"),
    "loom": ("name", "note"),
    "hand_out": ("note", "day"),
}


# The fields that name a yarn or a weaver by id; the lists are kept as JSON text.
_NAMED = {
    "session": ("used", "weavers"),
    "lot": ("yarn_id",),
    "lot_change": ("yarn_id",),
    "lot_move": ("from_yarn_id", "to_yarn_id"),
    "weighing": ("yarn_id",),
    "spoilt": ("yarn_id",),
    "sample": ("yarn_id",),
    "preparation": ("yarn_id",),
    "wage": ("weaver_id",),
    "hand_out": ("yarn_id", "weaver_id"),
}


_NAMES_SEARCHED = 40
"""Most yarns and weavers by whose name entries are found; a text that fits more of them says too little."""


def _ids_with_name(connection: Connection, text: str, rug_id: str | None) -> list[str]:
    """Return the ids of yarns (of one rug, if so asked) and weavers that are, or once were, called so."""
    ids: dict[str, None] = {}
    for name in ("yarn", "weaver"):
        table = kind_named(name).table
        query = select(table.c.record_id).where(func.instr(func.loomside_fold(table.c.name), text) > 0)
        if name == "yarn" and rug_id is not None:
            query = query.where(table.c.rug_id == rug_id)
        ids |= dict.fromkeys(connection.execute(query).scalars())
    return list(ids)[:_NAMES_SEARCHED]


def _acts_with_words(connection: Connection, text: str, rug_id: str | None) -> list[Any]:
    """Return queries for the ids of acts that wrote `text`, or something about a yarn or weaver so called."""
    queries = []
    named = _ids_with_name(connection, text, rug_id)
    for name, columns in _WORDS.items():
        table = kind_named(name).table
        fits = [func.instr(func.loomside_fold(table.c[column]), text) > 0 for column in columns]
        fits += [
            func.instr(table.c[column], named_id) > 0 for column in _NAMED.get(name, ()) for named_id in named
        ]
        query = select(table.c.act_id).where(or_(*fits))
        if rug_id is not None:
            query = query.where(table.c.rug_id == rug_id)
        queries.append(query)
    return queries


_ACTS = select(
    Act.act_id, Act.device_id, Act.clock, Act.made_at, Act.kind, Act.rug_id, Act.undoes_id,
    Act.versions, Act.seal,
)  # fmt: skip
"""What is told of an act."""


def entries(
    book: OpenBook,
    rug_id: str | None = None,
    text: str = "",
    kinds: Collection[str] | None = None,
    limit: int = 50,
    offset: int = 0,
    folded: bool = False,
    mended_in_place: bool = False,
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
    folded
        Without what is deleted: the act that deleted it tells of it; and without undoing: the act that was undone says so.
    mended_in_place
        Without what was put right of an entry whose own act is among those told: that one tells of it, as it stands.
    """
    query = _ACTS.order_by(Act.clock.desc(), Act.device_id.desc(), Act.act_id.desc())
    with book.reading() as connection:
        query = _narrowed(connection, query, rug_id, text, kinds, folded, mended_in_place)
        acts = connection.execute(query.limit(limit).offset(offset)).all()
        return tuple(_told(connection, book.device_id, acts))


def entry(book: OpenBook, act_id: str) -> Entry | None:
    """Return one act; None when it is not in the book."""
    with book.reading() as connection:
        acts = connection.execute(_ACTS.where(Act.act_id == act_id)).all()
        return next(iter(_told(connection, book.device_id, acts)), None)


def count(
    book: OpenBook,
    rug_id: str | None = None,
    text: str = "",
    kinds: Collection[str] | None = None,
    folded: bool = False,
    mended_in_place: bool = False,
) -> int:
    """Return how many acts `entries` would tell of without a limit."""
    with book.reading() as connection:
        query = select(func.count()).select_from(Act)
        query = _narrowed(connection, query, rug_id, text, kinds, folded, mended_in_place)
        return int(connection.execute(query).scalar_one())


_DELETED = """
    SELECT told.act_id FROM {table} gone
    JOIN {table} told ON told.record_id = gone.record_id
        AND (told.clock, told.device_id, told.act_id) < (gone.clock, gone.device_id, gone.act_id)
    JOIN act deletion ON deletion.act_id = gone.act_id AND deletion.undoes_id IS NULL
    WHERE gone.withdrawn AND NOT EXISTS (
        SELECT 1 FROM {table} later WHERE later.record_id = gone.record_id
            AND (later.clock, later.device_id, later.act_id) > (gone.clock, gone.device_id, gone.act_id)
    )
"""
"""Acts that wrote of a record of one kind which another act deleted, and which nobody restored."""


@cache
def _not_deleted() -> Any:
    """Return the condition that an act tells of more than one entry that is deleted."""
    deleted = " UNION ALL ".join(_DELETED.format(table=kind_named(name).table.name) for name in KIND_NAMES)
    return literal_column(f"(act.versions != 1 OR act.act_id NOT IN ({deleted}))", Boolean)


_NO_UNDOING = literal_column(
    "(act.undoes_id IS NULL OR act.undoes_id NOT IN (SELECT act_id FROM act))", Boolean
)
"""The condition that an act undoes none that the book has: that one says that it was undone."""


_SEVERAL_VERSIONS = """
    SELECT v.record_id, v.withdrawn, a.act_id, a.kind, a.undoes_id, a.rug_id, a.versions
    FROM {table} v JOIN act a ON a.act_id = v.act_id
    WHERE v.record_id IN (SELECT record_id FROM {table} GROUP BY record_id HAVING count(*) > 1)
    ORDER BY v.record_id, v.clock, v.device_id, v.act_id
"""
"""The versions of the records of one kind that have more than one, with their acts."""


def _told_by_others(connection: Connection, rug_id: str | None, kinds: Collection[str] | None) -> set[str]:
    """Return the acts that stand and only say what other acts, among those of a rug and of some kinds, tell as it stands."""
    retold: dict[str, list[Any]] = {}
    for name in COUNTED:
        rows = connection.exec_driver_sql(_SEVERAL_VERSIONS.format(table=kind_named(name).table.name)).all()
        for _record, chain in groupby(rows, key=itemgetter(0)):
            acts = list(chain)
            own = acts[telling((act.kind, act.undoes_id is not None, bool(act.withdrawn)) for act in acts)]
            if (rug_id is not None and own.rug_id != rug_id) or (kinds is not None and own.kind not in kinds):
                continue
            for act in acts:
                # What takes out and what brings back is a deed of its own.
                if act is not own and not (act.withdrawn or act.undoes_id or act.kind in BRINGING_BACK):
                    retold.setdefault(act.act_id, []).append(act)
    alone = {act_id for act_id, acts in retold.items() if len(acts) == acts[0].versions}
    if not alone:
        return alone
    ever_undone = select(Act.undoes_id).where(Act.undoes_id.is_not(None))
    doubtful = [retold[act_id][0] for act_id in alone.intersection(connection.execute(ever_undone).scalars())]
    return alone.difference(_undone(connection, doubtful))


def _acts_of(connection: Connection, act_ids: Collection[str]) -> dict[str, Any]:
    query = select(Act.act_id, Act.kind, Act.undoes_id)
    return {
        act.act_id: act
        for part in chunks(list(act_ids))
        for act in connection.execute(query.where(Act.act_id.in_(part)))
    }


def _narrowed(
    connection: Connection,
    query: Any,
    rug_id: str | None,
    text: str,
    kinds: Collection[str] | None,
    folded: bool,
    mended_in_place: bool,
) -> Any:
    """Return a query over acts with the diary's conditions."""
    if folded:
        query = query.where(_not_deleted()).where(_NO_UNDOING)
    if mended_in_place and (told := _told_by_others(connection, rug_id, kinds)):
        _add_function(connection, "loomside_told", lambda act_id: act_id in told)
        query = query.where(~func.loomside_told(Act.act_id, type_=Boolean))
    if rug_id is not None:
        query = query.where(Act.rug_id == rug_id)
    if kinds is not None:
        query = query.where(Act.kind.in_(list(kinds)))
    wanted = text.strip().casefold()
    if wanted:
        _add_function(connection, "loomside_fold", _fold_stored)
        query = query.where(
            or_(*(Act.act_id.in_(part) for part in _acts_with_words(connection, wanted, rug_id)))
        )
    return query


def _add_function(connection: Connection, name: str, function: Callable[[Any], Any]) -> None:
    raw = connection.connection.dbapi_connection
    raw.create_function(name, 1, function, deterministic=True)  # type: ignore[union-attr]


def _fold_stored(stored: object) -> str:
    return _fold(stored) if isinstance(stored, str) else ""


_UNDOERS = """
    WITH RECURSIVE chain (act_id) AS (
        SELECT act_id FROM act WHERE act_id IN ({marks}) UNION SELECT a.act_id FROM act a JOIN chain c ON a.undoes_id = c.act_id
    )
    SELECT a.act_id, a.undoes_id, a.clock FROM act a JOIN chain c ON c.act_id = a.act_id
"""


def _undone(connection: Connection, acts: Sequence[Any]) -> dict[str, set[str]]:
    """Return which undos stand against which acts; an undo that was itself undone does not stand."""
    undoers: dict[str, list[str]] = {}
    clocks: dict[str, int] = {}
    # One query for whole chains, however often undo and redo were pressed, or a file says they were.
    for part in chunks([act.act_id for act in acts]):
        query = _UNDOERS.format(marks=", ".join("?" * len(part)))
        for act_id, undoes_id, clock in connection.exec_driver_sql(query, tuple(part)):
            if act_id not in clocks and undoes_id is not None:
                undoers.setdefault(undoes_id, []).append(act_id)
            clocks[act_id] = clock
    # An undo is always younger than what it undoes, so going from the youngest settles every chain without
    # recursion, however often a weaver pressed undo and redo.
    stands: dict[str, bool] = {}
    for act_id in sorted(clocks, key=lambda act_id: -clocks[act_id]):
        stands[act_id] = not any(stands.get(undoer, True) for undoer in undoers.get(act_id, ()))
    against = {
        act.act_id: {undo for undo in undoers.get(act.act_id, ()) if stands.get(undo, True)} for act in acts
    }
    return {act_id: undos for act_id, undos in against.items() if undos}


def _told(connection: Connection, here: str, acts: Sequence[Any]) -> Iterable[Entry]:
    if not acts:
        return
    for act in acts:
        _true_act(act)
    writers = writers_of(connection, here)
    undone = _undone(connection, acts)
    torn = set(connection.execute(select(Torn.act_id)).scalars())
    changes: dict[str, list[tuple[int, int, Change]]] = {act.act_id: [] for act in acts}
    undoable: set[str] = set()
    newest: dict[str, set[str]] = {act.act_id: set() for act in acts}
    """The acts that wrote last of what each act wrote of."""
    for place, name in enumerate(KIND_NAMES):
        kind = kind_named(name)
        table = kind.table
        for part in chunks([act.act_id for act in acts]):
            touched = connection.execute(
                select(table.c.record_id).where(table.c.act_id.in_(part)).distinct()
            ).scalars()
            rows = [
                row
                for some in chunks(touched.all())
                for row in connection.execute(versions(name).where(table.c.record_id.in_(some)))
            ]
            found = chains(kind, rows)
            counted = name in COUNTED
            several = {row[ACT] for chain in found if len(chain) > 1 for row in chain}
            kinds = _acts_of(connection, several) if counted and several else {}
            for chain in found:
                born = chain[0][CLOCK]
                own = telling(_of_telling(kinds, row) for row in chain) if counted else None
                for position, row in enumerate(chain):
                    if row[ACT] not in changes:
                        continue
                    last = position == len(chain) - 1
                    before = chain[position - 1] if position else None
                    change = Change(
                        record_id=row[RECORD].removeprefix(SETTING_PREFIX),
                        kind=name,
                        before=None if before is None or before[WITHDRAWN] else row_value(kind, before, born),
                        after=None if row[WITHDRAWN] else row_value(kind, row, born),
                        current=last,
                        since=(since := _since(row, chain[-1])),
                        now=row_value(kind, chain[-1], born) if since is Since.CHANGED else None,
                        told_elsewhere=own not in (None, position),
                    )
                    changes[row[ACT]].append((place, row[VERSION], change))
                    newest[row[ACT]].add(chain[-1][ACT])
                    if last and not (position == 0 and row[WITHDRAWN]):
                        undoable.add(row[ACT])
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
            undone_by=min(undone.get(act.act_id, set()) & newest[act.act_id], default=""),
        )


def _of_telling(acts: dict[str, Any], row: Sequence[Any]) -> tuple[str, bool, bool]:
    """Return what `telling` asks of a version; of an act that a damaged book lost, nothing is known."""
    act = acts.get(row[ACT])
    return (
        (act.kind, act.undoes_id is not None, bool(row[WITHDRAWN]))
        if act
        else ("", False, bool(row[WITHDRAWN]))
    )


def _since(row: Sequence[Any], latest: Sequence[Any]) -> Since:
    """Tell what became of a version, by the last one of its record; an undo that brings its values back lets it stand."""
    if latest[WITHDRAWN] == row[WITHDRAWN]:
        same = latest[WITHDRAWN] or latest[COLUMNS:] == row[COLUMNS:]
        return Since.STANDS if same else Since.CHANGED
    return Since.WITHDRAWN if latest[WITHDRAWN] else Since.CHANGED


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
