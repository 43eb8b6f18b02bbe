"""Which schema a book has, read from the file without touching it, and bringing it to another."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from storage import migrations
from storage.connecting import make_engine
from storage.trouble import (
    BookFromNewerApp,
    as_book_trouble,
    damaged,
    not_a_book,
)
from tracker.files.regular import open_regular
from tracker.words import _

APPLICATION_ID = int.from_bytes(b"Loom", "big")
"""SQLite's mark in the file header that tells a book from other SQLite files."""


DEMO_MARK = int.from_bytes(b"demo", "big")
"""SQLite's user version of a book that the app made up itself; 0 in a weaver's own book. Joining never copies it."""


HEADER = b"SQLite format 3\x00"


def from_newer_app() -> BookFromNewerApp:
    """Return the error for a book of a schema that this app does not know."""
    return BookFromNewerApp(
        _(
            "This book was written by a newer version of the app. Update the app, then open it again. Nothing was changed."
        )
    )


def schema_of(path: Path) -> str:
    """Return the schema of the book at `path`, looking without touching.

    Raises
    ------
    NotABook
        The file is no SQLite file, or another program's.
    BookFromNewerApp
        The schema is none that this app knows.
    """
    with as_book_trouble():
        with open_regular(path) as file:
            if file.read(len(HEADER)) != HEADER:
                raise not_a_book()
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
            connection.execute("PRAGMA busy_timeout = 5000")
            application = connection.execute("PRAGMA application_id").fetchone()[0]
            tables = connection.execute("SELECT count(*) FROM sqlite_master WHERE name = 'alembic_version'")
            if application != APPLICATION_ID or not tables.fetchone()[0]:
                raise not_a_book()
            revisions = [row[0] for row in connection.execute("SELECT version_num FROM alembic_version")]
    if len(revisions) != 1:
        raise damaged("no single schema version")
    if revisions[0] not in migrations.KNOWN:
        raise from_newer_app()
    return str(revisions[0])


def is_demo(path: Path) -> bool:
    """Tell whether the file at `path` is a book that this app made up as a demo, from its header alone.

    The header's fields are at 60 (user version) and 68 (application id): www.sqlite.org/fileformat2.html, 1.3.
    """
    try:
        with open_regular(path) as file:
            header = file.read(100)
    except OSError:
        return False
    return header.startswith(HEADER) and header[60:64] + header[68:72] == b"demo" + b"Loom"


def migrate(path: Path, to: str = "head", in_memory: sqlite3.Connection | None = None) -> None:
    """Bring the SQLite file at `path` to schema `to`, in one transaction: it is migrated whole or not at all.

    Parameters
    ----------
    in_memory
        What was read of it into memory, which is migrated instead.
    """
    # Alembic takes as long to import as the rest of the book together, and is needed once in many months.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent).replace("%", "%%"))
    config.set_main_option("sourceless", "true")  # phones carry compiled files only
    with as_book_trouble():
        engine = make_engine(path, None if in_memory is None else lambda: in_memory)
        try:
            with engine.connect().execution_options(writing=True) as connection, connection.begin():
                config.attributes["connection"] = connection
                command.upgrade(config, to)
        finally:
            if in_memory is None:
                engine.dispose()
