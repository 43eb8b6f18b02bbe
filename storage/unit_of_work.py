"""The unit of work: one act of the weaver is one transaction that adds versions and never changes any."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from types import TracebackType
from typing import Any

from sqlalchemy import Connection, bindparam, func, insert, literal, select, union_all, update

from storage import limits
from storage.connecting import raw_connection
from storage.convert import (
    KIND_NAMES,
    Kind,
    Raw,
    add_seals,
    cells_in,
    cells_told,
    checked_text,
    identity,
    kind_named,
    kind_of,
    seal_of_act,
    seal_of_version,
    to_columns,
)
from storage.models import Act, Tally
from storage.open_book import OpenBook
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.history import Undone
from tracker.domain.rug import Setting, new_id
from tracker.words import _

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Target:
    """What a record shall be from now on. `kind` None: whatever kind the record has."""

    record_id: str
    rug_id: str | None
    kind: Kind | None
    withdrawn: bool
    columns: tuple[Raw, ...] | None
    """In the order of the kind's fields; None: as they are."""


@dataclass(frozen=True, slots=True)
class Stored:
    """What `store` wrote."""

    versions: int
    clock: int
    """The act's count; 0 if nothing was written."""
    holder: str | None
    """If nothing was written: the act that already holds the last target."""


def microseconds(instant: datetime) -> int:
    """Return an aware instant as microseconds since 1970 in UTC."""
    return (instant.astimezone(UTC) - _EPOCH) // timedelta(microseconds=1)


def instant(stored: int) -> datetime:
    """Return stored microseconds as an aware instant; one no calendar can hold becomes the nearest it can."""
    try:
        return _EPOCH + timedelta(microseconds=stored)
    except OverflowError:
        return datetime.max.replace(tzinfo=UTC) if stored > 0 else datetime.min.replace(tzinfo=UTC)


class ActInWork:
    """Gathers what one act writes; the end of its `with` block commits it whole, or raises and commits nothing."""

    def __init__(self, book: OpenBook, kind: str, rug_id: str | None) -> None:
        self.act_id = new_id()
        """The act's id. After a block that changed nothing: the act that already holds what was written."""
        self.stored = False
        """Whether the act is in the book."""
        self._book = book
        self._kind = checked_text(kind, limits.KIND_CHARACTERS)
        self._rug_id = rug_id
        self._targets: dict[str, Target] = {}

    def write(self, value: object) -> None:
        """Enter a value, or a correction of the one with the same id.

        Raises
        ------
        BadEntry
            A field cannot be kept; nothing of the act has been written yet.
        """
        kind = kind_of(value)
        record_id, rug_id = identity(value)
        columns = to_columns(kind, value)
        self._targets[record_id] = Target(
            record_id, rug_id, kind, False, tuple(columns[field.name] for field in kind.fields)
        )

    def set(self, key: str, value: object) -> None:
        """Enter a setting of the whole book."""
        self.write(Setting(id=key, value=value))

    def withdraw(self, record_id: str) -> None:
        """Take a record out of the book; its versions stay, and undo brings it back."""
        self._targets[record_id] = Target(record_id, None, None, True, None)

    def __enter__(self) -> ActInWork:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None and self._targets:
            self.commit()

    def commit(self) -> None:
        """Write the act; after a failure it can be called again. The `with` block calls it at its end."""
        with self._book.writing() as connection:
            if connection.execute(select(Act.number).where(Act.act_id == self.act_id)).first():
                self.stored = True  # an earlier try said it failed, yet reached the disk
                return
            stored = store(
                connection,
                self._book,
                self._targets.values(),
                act_id=self.act_id,
                kind=self._kind,
                rug_id=self._rug_id,
            )
        self._book.acknowledge(stored.clock)
        self.stored = stored.versions > 0
        if stored.holder is not None:
            self.act_id = stored.holder


@cache
def _version_query(name: str) -> Any:
    kind = kind_named(name)
    table = kind.table
    return (
        select(
            table.c.act_id,
            table.c.rug_id,
            table.c.withdrawn,
            *(table.c[column] for column in kind.columns),
        )
        .where(table.c.record_id == bindparam("record_id"))
        .order_by(table.c.clock.desc(), table.c.device_id.desc(), table.c.act_id.desc())
    )


@cache
def _kind_query() -> Any:
    return union_all(
        *(
            select(literal(name)).where(kind_named(name).table.c.record_id == bindparam("record_id"))
            for name in KIND_NAMES
        )
    ).limit(1)


def find_kind(connection: Connection, record_id: str) -> Kind | None:
    """Return the kind of the record with this id; None: there is no such record."""
    name = connection.execute(_kind_query(), {"record_id": record_id}).scalar()
    return None if name is None else kind_named(name)


def versions_newest_first(connection: Connection, kind: Kind, record_id: str) -> list[Any]:
    """Return rows (act id, rug id, withdrawn, *columns) of one record, newest first."""
    return list(connection.execute(_version_query(kind.name), {"record_id": record_id}))


def store(
    connection: Connection,
    book: OpenBook,
    targets: Iterable[Target],
    *,
    act_id: str,
    kind: str,
    rug_id: str | None,
    undoes_id: str | None = None,
) -> Stored:
    """Write an act that makes every target true, inside the caller's transaction.

    A target that is true already is not written again, so that trying a second time does no harm.

    """
    changes: list[tuple[Kind, str, str | None, str | None, bool, tuple[Raw, ...]]] = []
    holder: str | None = None
    for target in targets:
        known = find_kind(connection, target.record_id)
        if known is None:
            if target.kind is None or target.columns is None:
                raise BadEntry(_("This entry is not in the book."))
            changes.append(
                (target.kind, target.record_id, target.rug_id, None, target.withdrawn, target.columns)
            )
            continue
        current_act, of_rug, withdrawn, *held = versions_newest_first(connection, known, target.record_id)[0]
        if target.kind is not None and (target.kind.name, target.rug_id) != (known.name, of_rug):
            raise BadEntry(_("Another entry of the book has the same identity number."))
        columns = tuple(held) if target.columns is None else target.columns
        if bool(withdrawn) == target.withdrawn and same_columns(known, columns, tuple(held)):
            holder = current_act
            continue
        changes.append((known, target.record_id, of_rug, current_act, target.withdrawn, columns))
    if not changes:
        return Stored(0, 0, holder)
    new_cells = sum(
        cells_told(told[record_kind.columns.index("cells")])
        for record_kind, _record, _rug, _follows, gone, told in changes
        if record_kind.name == "cartoon" and not gone
    )
    if new_cells and new_cells + cells_in(raw_connection(connection)) > limits.BOOK_CELLS:
        raise BadEntry(
            _("All cartoons of this book together would be too large. Keep this rug in a book of its own.")
        )

    if rug_id is None:
        of_rugs = {change[2] for change in changes}
        rug_id = of_rugs.pop() if len(of_rugs) == 1 else None
    clock = (connection.execute(select(func.max(Act.clock))).scalar() or 0) + 1
    if clock > limits.CLOCK:
        raise BookTrouble(_("This book has reached the end of its count and takes no more entries."))
    made_at = microseconds(book.now())
    connection.execute(
        insert(Act).values(
            act_id=act_id,
            device_id=book.device_id,
            clock=clock,
            made_at=made_at,
            kind=kind,
            rug_id=rug_id,
            undoes_id=undoes_id,
            versions=len(changes),
            seal=seal_of_act(act_id, book.device_id, clock, made_at, kind, rug_id, undoes_id, len(changes)),
        )
    )
    new_seals: dict[tuple[str, str], list[int]] = {}
    for record_kind, record_id, of_rug, follows, gone, columns in changes:
        seal = seal_of_version(
            record_kind, record_id, of_rug, (act_id, book.device_id, clock), follows, int(gone), columns
        )
        connection.execute(
            insert(record_kind.table).values(
                record_id=record_id,
                rug_id=of_rug,
                act_id=act_id,
                device_id=book.device_id,
                clock=clock,
                follows=follows,
                withdrawn=int(gone),
                seal=seal,
                **dict(zip(record_kind.columns, columns, strict=True)),
            )
        )
        new_seals.setdefault((of_rug or "", record_kind.name), []).append(seal)
    add_to_tally(connection, new_seals)
    return Stored(len(changes), clock, None)


def same_columns(kind: Kind, first: tuple[Raw, ...], second: tuple[Raw, ...]) -> bool:
    """Tell whether two versions say the same; a cartoon packed anew may differ in bytes and still be the same."""
    if first == second:
        return True
    for field, left, right in zip(kind.fields, first, second, strict=True):
        if left == right:
            continue
        if not (isinstance(left, bytes) and isinstance(right, bytes)):
            return False
        import numpy as np

        mine, others = field.load(left), field.load(right)
        if mine.shape != others.shape or not np.array_equal(mine.unpack(), others.unpack()):  # type: ignore[attr-defined]
            return False
    return True


def add_to_tally(connection: Connection, new_seals: dict[tuple[str, str], list[int]]) -> None:
    """Count new versions, given by their seals for each (rug id or "", kind)."""
    for (rug_id, kind), seals in new_seals.items():
        where = (Tally.rug_id == rug_id) & (Tally.kind == kind)
        tally = connection.execute(select(Tally.versions, Tally.seals).where(where)).first()
        if tally is None:
            connection.execute(
                insert(Tally).values(rug_id=rug_id, kind=kind, versions=len(seals), seals=add_seals(0, seals))
            )
        else:
            connection.execute(
                update(Tally)
                .where(where)
                .values(versions=tally.versions + len(seals), seals=add_seals(tally.seals, seals))
            )


def records_of_acts(connection: Connection, act_ids: Collection[str]) -> list[tuple[Kind, str]]:
    """Return (kind, record id) of every record that some acts wrote, each once."""
    touched: dict[tuple[Kind, str], None] = {}
    wanted = list(act_ids)
    for name in KIND_NAMES:
        kind = kind_named(name)
        for start in range(0, len(wanted), 500):
            rows = connection.execute(
                select(kind.table.c.record_id)
                .where(kind.table.c.act_id.in_(wanted[start : start + 500]))
                .order_by(kind.table.c.version)
            )
            touched |= dict.fromkeys((kind, record_id) for (record_id,) in rows)
    return list(touched)


def undo(book: OpenBook, act_id: str, kind: str = ActKind.UNDONE) -> Undone:
    """Undo an act; see `Book.undo`."""
    with book.writing() as connection:
        act = connection.execute(select(Act.rug_id).where(Act.act_id == act_id)).first()
        if act is None:
            raise BookTrouble(_("This is not in the book, so it cannot be undone."))
        targets = []
        left = []
        for record_kind, record_id in records_of_acts(connection, (act_id,)):
            newest, *older = versions_newest_first(connection, record_kind, record_id)
            if newest.act_id != act_id:
                left.append(record_id)
            elif older:
                targets.append(
                    Target(
                        record_id, newest.rug_id, record_kind, bool(older[0].withdrawn), tuple(older[0][3:])
                    )
                )
            elif not newest.withdrawn:
                targets.append(Target(record_id, newest.rug_id, record_kind, True, tuple(newest[3:])))
        new_act = new_id()
        stored = Stored(0, 0, None)
        if targets:
            stored = store(
                connection,
                book,
                targets,
                act_id=new_act,
                kind=checked_text(kind, limits.KIND_CHARACTERS),
                rug_id=act.rug_id,
                undoes_id=act_id,
            )
    book.acknowledge(stored.clock)
    restored = tuple(target.record_id for target in targets)
    return Undone(new_act if stored.versions else None, restored, tuple(left))
