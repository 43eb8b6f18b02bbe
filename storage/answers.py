"""One weighing that two phones answered differently: of answers given without knowing of each other the later one holds.

Both would count: the yarn that one phone says was lost, and the lot that the other says was light. What is set aside is taken
back by an act of its own, which the diary tells and from which it can be done again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection

from storage.convert import Kind, kind_named
from storage.open_book import OpenBook
from storage.unit_of_work import Target, store
from storage.versions import StoredVersion, chain_of, value_of
from storage.writers import writers_of
from tracker.domain.act import ActKind
from tracker.domain.history import Conflict, Told
from tracker.domain.rug import Weighing, new_id
from tracker.domain.weighing_answer import KNOTS, LOST, answer_id

_ENTERED = (
    (ActKind.YARN_SPOILT, "spoilt", LOST),
    (ActKind.SAMPLE_WEIGHED, "sample", KNOTS),
    (ActKind.LOT_AS_WEIGHED, "lot", ""),
)
"""Under which kind of act each answer is entered, as what, and by which id; a lot keeps its own."""


@dataclass(frozen=True, slots=True)
class _Answer:
    """One answer that stands."""

    order: tuple[int, str, str]
    """The count of its act, its phone, its id: what is larger was given later."""
    came: bool
    """Whether it came with the file; otherwise whoever wrote the file did not know it."""
    kind: Kind
    chain: list[StoredVersion]

    def back(self) -> Target:
        """Return what the record shall be without this answer."""
        newest = self.chain[-1]
        before = [version for version in self.chain if version.clock < self.order[0]]
        if self.kind.name == "lot" and before:
            return Target(newest.record_id, newest.rug_id, self.kind, False, before[-1].columns)
        return Target(newest.record_id, newest.rug_id, self.kind, True, newest.columns)


@dataclass(frozen=True, slots=True)
class TakenBack:
    """What was taken back."""

    conflicts: tuple[Conflict, ...] = ()
    act_ids: tuple[str, ...] = ()


def acts_apart(connection: Connection) -> tuple[frozenset[str], frozenset[str]]:
    """Return the acts that the file alone holds, and those that the book alone holds; asked before they are joined."""

    def only(one: str, other: str) -> frozenset[str]:
        query = (
            f"SELECT a.act_id FROM {one}.act a WHERE NOT EXISTS"
            f" (SELECT 1 FROM {other}.act b WHERE b.act_id = a.act_id)"
        )
        return frozenset(act_id for (act_id,) in connection.exec_driver_sql(query))

    return only("other", "main"), only("main", "other")


def let_the_later_hold(
    connection: Connection, book: OpenBook, came: frozenset[str], stayed: frozenset[str]
) -> TakenBack:
    """Take back each answer to a weighing over which the other phone gave a later one, inside the caller's transaction.

    Parameters
    ----------
    came, stayed
        What `acts_apart` returned: neither phone knew of the other's.
    """
    if not came or not stayed:
        return TakenBack()
    rivals: dict[str, list[_Answer]] = {}
    for weighing_id, answer in _answers(connection, came, stayed):
        rivals.setdefault(weighing_id, []).append(answer)
    writers = writers_of(connection, book.device_id)
    conflicts, act_ids = [], []
    for answers in rivals.values():
        holds = max(answers, key=lambda answer: answer.order)
        aside = [answer for answer in answers if answer.came != holds.came]
        for answer in aside:
            act_ids.append(new_id())
            store(
                connection,
                book,
                [answer.back()],
                act_id=act_ids[-1],
                kind=ActKind.UNDONE,
                rug_id=answer.chain[-1].rug_id,
                undoes_id=answer.order[2],
            )
        if aside:
            told = [
                Told(writers[one.order[1]], value_of(one.kind, one.chain[-1], one.chain[0].clock))
                for one in (holds, *aside)
            ]
            newest = holds.chain[-1]
            conflicts.append(
                Conflict(newest.record_id, holds.kind.name, newest.rug_id, told[0], tuple(told[1:]))
            )
    return TakenBack(tuple(conflicts), tuple(act_ids))


def _answers(
    connection: Connection, came: frozenset[str], stayed: frozenset[str]
) -> Iterable[tuple[str, _Answer]]:
    """Yield each answer that one of the phones alone knew and that stands, with the weighing it answers."""
    weighings: dict[str, list[tuple[StoredVersion, Weighing]]] = {}
    for deed, name, answered in _ENTERED:
        kind = kind_named(name)
        rows = connection.exec_driver_sql(
            f'SELECT v.record_id, v.rug_id, v.clock, v.device_id, v.act_id FROM main."{name}" v'
            " JOIN main.act a ON a.act_id = v.act_id WHERE a.kind = ? AND a.undoes_id IS NULL"
            " ORDER BY v.clock, v.device_id, v.act_id",
            (str(deed),),
        )
        # The same answer given twice is one record, of which what was said last counts as ever.
        last = {record_id: (rug_id, tuple(order)) for record_id, rug_id, *order in rows.all()}
        for record_id, (rug_id, order) in last.items():
            clock, _device_id, act_id = order
            if act_id not in came and act_id not in stayed:
                continue
            chain = chain_of(connection, kind, record_id)
            if chain[-1].withdrawn or (not answered and chain[-1].act_id != act_id):
                continue
            if rug_id not in weighings:
                weighings[rug_id] = list(_weighings_of(connection, rug_id))
            yarn_id = getattr(value_of(kind, chain[-1], chain[0].clock), "yarn_id", None)
            unknown = stayed if act_id in came else came
            seen = [
                (weighing.day, first.clock, weighing.id)
                for first, weighing in weighings[rug_id]
                if weighing.yarn_id == yarn_id and first.clock < clock and first.act_id not in unknown
            ]
            if answered:
                seen = [one for one in seen if answer_id(one[2], answered) == record_id]
            if seen:
                yield max(seen)[2], _Answer(order, act_id in came, kind, chain)


def _weighings_of(connection: Connection, rug_id: str) -> Iterable[tuple[StoredVersion, Weighing]]:
    """Yield the weighings of a rug that count, each with its first version."""
    kind = kind_named("weighing")
    query = 'SELECT DISTINCT record_id FROM main."weighing" WHERE rug_id = ? ORDER BY record_id'
    for (record_id,) in connection.exec_driver_sql(query, (rug_id,)).all():
        chain = chain_of(connection, kind, record_id)
        value = value_of(kind, chain[-1], chain[0].clock)
        if isinstance(value, Weighing):
            yield chain[0], value
