"""What pages may ask about files that leave the app: where they go, and writing them. Pages know no report."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from tracker.device import documents
from tracker.device.clock import now_utc
from tracker.device.photos import photo_path
from tracker.domain.rug import RugBook
from tracker.forecast.answers import Answers
from tracker.presenters.export import Kind
from tracker.reports import export
from tracker.reports.files_out import folder_words, out_folder

__all__ = ["folder_words"]


def folder(book_path: Path) -> Path:
    """Return the folder for files to be taken along: among the weaver's documents, or beside the book."""
    return out_folder(documents.documents_folder(), book_path)


def files_of(kind: Kind, book: RugBook, answers: Answers, book_path: Path, **how: Any) -> dict[str, bytes]:
    """Make one thing to take along of the book at `book_path`, now; `how` as `tracker.reports.export.files_of` takes it.

    Raises
    ------
    BadEntry
        There is nothing to make of this rug; the sentence says why.
    """
    return export.files_of(kind, book, answers, photo_at=partial(photo_path, book_path), now=now_utc(), **how)


def take(
    kind: Kind, book: RugBook, answers: Answers, book_path: Path, into: Path | None = None, **how: Any
) -> Path:
    """Make one thing and write it under a free name into a folder, `folder` unless another is given; return its path.

    Raises
    ------
    BadEntry
        There is nothing to make of this rug.
    BookTrouble
        It could not be written. The same call may be tried again.
    """
    files = files_of(kind, book, answers, book_path, **how)
    return export.write(kind, files, into or folder(book_path), book.plan.name)
