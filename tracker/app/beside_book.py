"""What a desk does with the book's file and the files beside it: copies, files for another phone, a rescue.

Each waits for the disk: a page calls it through `desk.aside`.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from storage.book import Book
    from tracker.domain.history import Copy, Undone


def rescue(path: Path, device_name: str) -> tuple[str, ...]:
    """Make a new book of what can be read of a damaged one; return the plain report.

    Raises
    ------
    BookTrouble
        With a sentence, when nothing could be read; the damaged file is where it was.
    """
    from storage.rescue import rescue

    return rescue(path, device_name).sentences


def daily_copy(book: Book, day: date) -> None:
    """Copy the book, unless the day's copy is there."""
    from storage.copies import daily_copy

    daily_copy(book, day)


def copies(path: Path, book: Book | None) -> list[tuple[Copy, int | None]]:
    """Return the copies beside a book, each with the acts since (None: not known, the book is not open)."""
    from storage.copies import acts_since, list_copies

    return [(copy, acts_since(book, copy) if book else None) for copy in list_copies(path)]


def copy_now(book: Book) -> None:
    """Copy the book and check the copy."""
    from storage.copies import copy_now

    copy_now(book)


def restore(book: Book, copy: Path) -> Any:
    """Go back to a copy as one act; return what that did."""
    from storage.copies import restore

    return restore(book, copy)


def write_exchange(book: Book, folder: Path, name: str, orders: bool) -> Path:
    """Write a file with the whole book for another phone, customers' orders only where wanted; return its path."""
    from storage.exchange import write_exchange
    from tracker.reports.files_out import write_new

    return write_new(folder, name, lambda target: write_exchange(book, target, orders))


def join(book: Book, path: Path, put_back: bool) -> tuple[Any, str]:
    """Take the other phone's file in; return what came, or None with the doubt whether it is of this book."""
    from storage.exchange import join
    from tracker.domain.errors import NotOurs

    try:
        return join(book, path, put_back), ""
    except NotOurs as doubt:
        return None, doubt.sentence


def undo_join(book: Book, acts: Any) -> Undone:
    """Take back all that a file brought, as one act."""
    from storage.merge import undo_join

    return undo_join(book, acts)
