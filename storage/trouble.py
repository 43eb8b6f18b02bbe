"""Turns what SQLite and the phone report into sentences for the weaver."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tracker.domain.errors import BookDamaged, BookTrouble
from tracker.files.regular import NotRegular, TooLarge
from tracker.words import _


class DiskTrouble(BookTrouble):
    """The phone did not let the file be read or written as usual; what is in it may still be read."""


class NoRoom(DiskTrouble):
    """The phone is full."""


class BookFromNewerApp(BookTrouble):
    """The file was written by a newer app."""


class NotABook(BookTrouble):
    """The file is something else."""


def damaged(detail: str = "") -> BookDamaged:
    """Return the error for a book that cannot be trusted; `detail` is for the developer, as `detail`."""
    trouble = BookDamaged(
        _("The book's file is damaged. Nothing was changed. Rescue what can be read into a new book.")
    )
    trouble.__notes__ = [detail] if detail else []
    return trouble


def not_a_book() -> NotABook:
    """Return the error for a file that is something else."""
    return NotABook(_("This file is not a book of this app. Choose another file."))


def not_ours(path: Path) -> BookTrouble:
    """Return the error for what lies where the book needs a file of its own."""
    return BookTrouble(
        _(
            "{path} is not of this app, and lies where the book needs a file of its own. "
            "Move it elsewhere, then open the book again."
        ).format(path=path)
    )


def no_file() -> NotABook:
    """Return the error for a folder, pipe or device in the place of a file."""
    return NotABook(_("This is a folder or a device, not a file. Choose another file."))


def too_large() -> BookTrouble:
    """Return the error for a file beyond the limits."""
    return BookTrouble(_("This file is larger than any book can be, so nothing was taken from it."))


def no_room() -> NoRoom:
    """Return the error for a full phone."""
    return NoRoom(
        _("There is no room left on this phone, so this was not written. Free some space, then try again.")
    )


def _sentence(code: int, text: str) -> BookTrouble:
    primary = code & 0xFF
    # The last two: no room for the working memory that SQLite keeps beside a book.
    if primary == sqlite3.SQLITE_FULL or code in (sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMOPEN):
        return no_room()
    # What we ask for is in every book of this schema: where it is not, the file lost it.
    lacks = primary == sqlite3.SQLITE_ERROR and text.startswith(("no such table", "no such column"))
    if lacks or primary in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return damaged(text)
    if primary == sqlite3.SQLITE_READONLY:
        return DiskTrouble(
            _("The book's file is read-only, so this was not written. Allow writing to it, then try again.")
        )
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return BookTrouble(
            _("Another app is holding the book's file, so this was not done. Try again in a moment.")
        )
    if primary in (sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH, sqlite3.SQLITE_CANTOPEN):
        return DiskTrouble(
            _(
                "This app is not allowed to open the book's file. Check the folder's permissions, then try again."
            )
        )
    if primary == sqlite3.SQLITE_IOERR:
        return DiskTrouble(
            _("The phone could not read or write the book's file, so this was not done. Try again.")
        )
    if primary == sqlite3.SQLITE_NOMEM:
        return BookTrouble(
            _("The phone ran out of working memory, so this was not done. Close other apps, then try again.")
        )
    return BookTrouble(_("The book could not be read or written, so this was not done. Try again."))


# Some bindings report only a text; these are SQLite's own texts for its primary result codes.
_TEXTS = (
    ("malformed", sqlite3.SQLITE_CORRUPT),
    ("no such table", sqlite3.SQLITE_CORRUPT),
    ("no such column", sqlite3.SQLITE_CORRUPT),
    ("could not decode", sqlite3.SQLITE_CORRUPT),
    ("not a database", sqlite3.SQLITE_NOTADB),
    ("is full", sqlite3.SQLITE_FULL),
    ("readonly", sqlite3.SQLITE_READONLY),
    ("locked", sqlite3.SQLITE_BUSY),
    ("unable to open", sqlite3.SQLITE_CANTOPEN),
    ("permission", sqlite3.SQLITE_PERM),
    ("i/o error", sqlite3.SQLITE_IOERR),
    ("out of memory", sqlite3.SQLITE_NOMEM),
)

_FROM_ERRNO = {
    errno.ENOSPC: sqlite3.SQLITE_FULL,
    errno.EDQUOT: sqlite3.SQLITE_FULL,
    errno.EFBIG: sqlite3.SQLITE_FULL,
    errno.EROFS: sqlite3.SQLITE_READONLY,
    errno.EACCES: sqlite3.SQLITE_PERM,
    errno.EPERM: sqlite3.SQLITE_PERM,
    errno.EIO: sqlite3.SQLITE_IOERR,
}


def as_trouble(error: BaseException) -> BookTrouble:
    """Return the BookTrouble that says in a sentence what `error` (SQLite's, SQLAlchemy's, the system's) means."""
    if isinstance(error, BookTrouble):
        return error
    original = getattr(error, "orig", None) or error
    if isinstance(original, UnicodeDecodeError):
        return damaged(str(original))  # text was text when it was written
    if isinstance(original, (NotRegular, IsADirectoryError)):
        return no_file()
    if isinstance(original, TooLarge):
        return too_large()
    if isinstance(original, OSError):
        return _sentence(_FROM_ERRNO.get(original.errno or 0, sqlite3.SQLITE_ERROR), str(original))
    text = str(original)
    code = getattr(original, "sqlite_errorcode", None)
    if code is None or text.startswith("Could not decode"):
        lowered = text.lower()
        code = next((number for part, number in _TEXTS if part in lowered), sqlite3.SQLITE_ERROR)
    return _sentence(code, text)


@contextmanager
def as_book_trouble() -> Iterator[None]:
    """Let failures of the file, of SQLite and of SQLAlchemy out of the block as BookTrouble."""
    try:
        yield
    except (sqlite3.Error, OSError, UnicodeDecodeError) as error:
        raise as_trouble(error) from error
    except Exception as error:
        # SQLAlchemy wraps SQLite's errors in its own; anything else is a mistake of ours and must stay visible.
        if type(error).__module__.startswith("sqlalchemy") and getattr(error, "orig", None) is not None:
            raise as_trouble(error) from error
        raise
