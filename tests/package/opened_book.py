"""Opens a book as the app does and tells which files then lie beside it."""

from __future__ import annotations

from datetime import date
from pathlib import Path


def files_beside_the_book(folder: Path, today: date) -> set[str]:
    """Return the names of what lies in a folder while a book is open in it, and after it was closed."""
    from tracker.app.desk import Desk

    desk = Desk(folder / "book.loomside", today=lambda: today, background=False)
    desk.open()
    desk.drafts.put("dark", True)
    desk.copy_of_the_day()
    desk.read()
    beside = {path.name for path in folder.iterdir()}
    desk.close()
    return beside | {path.name for path in folder.iterdir()}
