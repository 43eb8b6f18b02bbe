"""The phones that wrote into a book."""

from __future__ import annotations

from sqlalchemy import Connection, select

from storage.convert import (
    SETTING_PREFIX,
    kind_named,
    seal_of_device,
)
from storage.models import Device
from storage.open_book import OpenBook
from storage.trouble import damaged
from storage.versions import DEVICE, RECORD, current, true_row, versions
from tracker.domain.history import Writer
from tracker.domain.rules import DEVICE_NAME_KEY


def writers_of(connection: Connection, here: str) -> dict[str, Writer]:
    """Return every phone that wrote into the book by its id; `here` is this phone's."""
    kind = kind_named("setting")
    query = versions("setting").where(
        kind.table.c.record_id.startswith(SETTING_PREFIX + DEVICE_NAME_KEY, autoescape=True)
    )
    # A phone is called what it calls itself: a name that another phone gave it does not count.
    own = [
        row
        for row in (true_row(kind, row) for row in connection.execute(query))
        if row[RECORD] == SETTING_PREFIX + DEVICE_NAME_KEY + row[DEVICE]
    ]
    renamed = {value.id.removeprefix(DEVICE_NAME_KEY): value.value for value in current(kind, own).values}
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
        writers = writers_of(connection, book.device_id).values()
    return tuple(sorted(writers, key=lambda writer: (not writer.here, writer.name, writer.device_id)))


def device(book: OpenBook) -> Writer:
    """Return this phone."""
    return devices(book)[0]
