"""Makes the sample book of the newest schema: `python -m tests.storage.schemas.make`. Run once, at its release."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from storage import migrations
from storage.book import Book
from storage.exchange import write_exchange
from tests.storage.book_samples import Clock, one_of_every_kind, plain
from tracker.domain.rug import Session

FOLDER = Path(__file__).parent


def main() -> None:
    """Write NEWEST.book, NEWEST.exchange and NEWEST.json (what was entered, told before the book saw it)."""
    name = migrations.NEWEST
    target = FOLDER / f"{name}.book"
    if target.exists():
        raise SystemExit(f"{target.name} exists: a released sample is never made again")
    values = one_of_every_kind()
    (FOLDER / f"{name}.json").write_text(
        json.dumps([plain(value) for value in values], ensure_ascii=False, indent=1) + "\n", encoding="utf-8"
    )
    work = FOLDER / "work.loomside"
    with Book.open(work, "sample phone", Clock()) as book:
        for value in values:
            with book.act("entered") as act:
                # A wrong number of rows first, then its correction: versions must survive too.
                act.write(replace(value, rows=99) if isinstance(value, Session) else value)
        with book.act("corrected") as act:
            for value in values:
                if isinstance(value, Session):
                    act.write(value)
        write_exchange(book, FOLDER / f"{name}.exchange")
    with closing(sqlite3.connect(work)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    work.rename(target)
    for beside in (".lock", ".last-act"):
        Path(str(work) + beside).unlink(missing_ok=True)


if __name__ == "__main__":
    main()
