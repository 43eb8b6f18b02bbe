"""A look at a book without opening it: only the standard library, for the first frame of the app."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

from storage.places import strange_side_file


def glance(path: Path) -> str | None:
    """Return a mark that changes with everything the book holds; None when that cannot be told.

    The mark is a hash of the book's own tally (how many versions of what there are, and the sum of their seals).
    """
    try:
        if not path.is_file() or strange_side_file(path) is not None:
            return None  # SQLite would wait for whoever writes into a pipe
        with closing(
            sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=0.05)
        ) as connection:
            rows = connection.execute(
                "SELECT rug_id, kind, versions, seals FROM tally ORDER BY number"
            ).fetchall()
    except (sqlite3.Error, OSError, ValueError):
        return None
    return hashlib.sha256(repr(rows).encode()).hexdigest()
