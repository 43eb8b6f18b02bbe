"""Connections to a SQLite file, set up so that what they commit is on the disk."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import QueuePool


def prepare(connection: sqlite3.Connection) -> None:
    """Set a fresh connection up so that what it commits is on the disk and what it reads is checked."""
    connection.isolation_level = None  # SQLAlchemy's "begin" event opens transactions, see `make_engine`
    cursor = connection.cursor()
    try:
        for pragma in (
            "busy_timeout = 5000",
            "journal_mode = WAL",
            "synchronous = FULL",
            "fullfsync = ON",  # only Apple's systems look at this one
            "foreign_keys = ON",
            "cell_size_check = ON",
            "cache_size = -8000",  # KiB: one rug of many stays in reach without filling a small phone
            "trusted_schema = OFF",
        ):
            cursor.execute(f"PRAGMA {pragma}")
    finally:
        cursor.close()


def make_engine(path: Path, connect: Callable[[], Any] | None = None) -> Engine:
    """Return an engine over the SQLite file at `path`.

    Parameters
    ----------
    connect
        Opens a connection instead of `sqlite3.connect`; tests hand in one that fails on purpose.
    """

    def open_connection() -> Any:
        # Never creates a file: a book that vanished must not come back empty.
        return sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=5.0, check_same_thread=False
        )

    engine = create_engine(
        "sqlite://", creator=connect or open_connection, poolclass=QueuePool, pool_size=4, max_overflow=4
    )

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, _record: object) -> None:
        prepare(connection)

    @event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        # A writer takes its lock at once: taken later, SQLite could refuse it in the middle of an act.
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def memory_connection(image: bytes | bytearray) -> sqlite3.Connection:
    """Return a connection to a book of its own in memory, made of a whole file's bytes."""
    connection = sqlite3.connect(":memory:", check_same_thread=False)
    connection.deserialize(image)
    return connection


def raw_connection(connection: Connection) -> Any:
    """Return the DBAPI connection underneath."""
    return connection.connection.dbapi_connection
