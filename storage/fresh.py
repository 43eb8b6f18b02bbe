"""Makes an empty book."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, insert

from storage import limits
from storage.connecting import make_engine
from storage.convert import checked_text, seal_of_device
from storage.models import Device, Here
from storage.schema import migrate
from tracker.domain.rug import new_id
from tracker.files.whole import drop_working, sync_folder, working


def make_fresh(path: Path, device_name: str) -> None:
    """Make an empty book beside `path` and move it there whole: a file at `path` is never half a book."""
    fresh = working(path, "new")
    drop_working(fresh)
    try:
        with closing(sqlite3.connect(fresh)) as made:
            made.execute("PRAGMA page_size = 4096")  # `storage.carve` relies on it
            made.execute("PRAGMA journal_mode = WAL")
        migrate(fresh)
        engine = make_engine(fresh)
        try:
            with engine.connect().execution_options(writing=True) as connection, connection.begin():
                settle_here(connection, device_name)
        finally:
            engine.dispose()
        os.replace(fresh, path)
    except BaseException:
        drop_working(fresh)
        raise
    sync_folder(path.parent)


def settle_here(connection: Connection, device_name: str) -> str:
    """Note on which device this file lives, as a device of its own, and return its id."""
    device_id = new_id()
    name = checked_text(device_name[: limits.KIND_CHARACTERS])
    connection.execute(
        insert(Device).values(device_id=device_id, name=name, seal=seal_of_device(device_id, name))
    )
    connection.execute(insert(Here).values(id=1, device_id=device_id))
    return device_id
