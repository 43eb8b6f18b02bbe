"""The history of one entry: all its versions."""

from __future__ import annotations

from sqlalchemy import select

from storage.convert import SETTING_PREFIX
from storage.models import Act
from storage.open_book import OpenBook
from storage.unit_of_work import find_kind, instant
from storage.versions import (
    ACT,
    CLOCK,
    DEVICE,
    FOLLOWS,
    WITHDRAWN,
    chains,
    chunks,
    row_value,
    versions_of_record,
)
from storage.writers import writers_of
from tracker.domain.errors import BookTrouble
from tracker.domain.history import PastVersion, Writer
from tracker.words import _


def versions_of(book: OpenBook, record_id: str) -> tuple[PastVersion, ...]:
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
        (chain,) = chains(kind, connection.execute(versions_of_record(kind.name), {"record_id": record_id}))
        acts = {
            act.act_id: act
            for part in chunks([row[ACT] for row in chain])
            for act in connection.execute(
                select(Act.act_id, Act.made_at, Act.kind).where(Act.act_id.in_(part))
            )
        }
        writers = writers_of(connection, book.device_id)
    followed = {row[FOLLOWS] for row in chain}
    past = []
    for position, row in enumerate(chain):
        act = acts[row[ACT]]
        last = position == len(chain) - 1
        past.append(
            PastVersion(
                act_id=row[ACT],
                made_at=instant(act.made_at),
                device=writers.get(row[DEVICE]) or Writer(row[DEVICE], "", False),
                kind=act.kind,
                value=None if row[WITHDRAWN] else row_value(kind, row, chain[0][CLOCK]),
                current=last,
                set_aside=not last and row[ACT] not in followed,
            )
        )
    return tuple(reversed(past))
