"""Tells a file that is, or ever was, a book from any other, before anything is written beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from storage import carve
from storage.checks import proven_act
from storage.convert import seal_of_device
from storage.lock import acknowledged_in
from storage.places import damaged_folder, has_copies, lock_path, strange_side_file, witness_path
from storage.schema import APPLICATION_ID, HEADER
from storage.trouble import (
    as_book_trouble,
    not_a_book,
    not_ours,
)
from storage.witness import noted
from tracker.files.regular import open_regular


def refuse_strangers(path: Path) -> None:
    """Refuse a file that neither is nor ever was a book; nothing is written beside it.

    A book whose head is broken is told by what lies beside it, or by a row in it that carries a true seal.

    Raises
    ------
    NotABook
        It is another program's file, an empty one, a folder or a device.
    BookTrouble
        Something else lies where SQLite keeps a file of its own beside it.
    """
    side = strange_side_file(path)
    if side is not None:
        raise not_ours(side)
    with as_book_trouble():
        try:
            with open_regular(path) as file:
                head = file.read(100)
        except FileNotFoundError:
            return
        # The application id's place: www.sqlite.org/fileformat2.html, 1.3.
        if head.startswith(HEADER) and int.from_bytes(head[68:72], "big") == APPLICATION_ID:
            return
        if has_traces(path):
            return
        if not holds_entries(path):
            raise not_a_book()


def has_traces(path: Path) -> bool:
    """Tell whether what lies beside `path` says that a book with entries lay there."""
    return (
        has_copies(path)
        or damaged_folder(path).is_dir()
        or acknowledged_in(lock_path(path)) > 0
        or noted(witness_path(path)) is not None
    )


LOOKED_AT_BYTES = 4 * 1024**2
"""How much of a file is looked through for a row of a book, when nothing else says that it was one."""


def holds_entries(path: Path) -> bool:
    """Tell whether a file that no longer looks like a book, or its journal, holds a phone or an act with a true seal."""
    return any(phone_or_act(number, row) is not None for number, row in carve.rows(path, LOOKED_AT_BYTES))


def phone_or_act(number: int, row: list[Any]) -> tuple[Any, ...] | None:
    """Return what a row says of a phone (two values) or of an act (eight); None if it is neither, or not proven."""
    if len(row) == 10:
        return proven_act(row)
    if len(row) == 3 and is_true(seal_of_device, tuple(row[:2]), row[2]):
        return tuple(row[:2])
    return None


def is_true(seal_of: Callable[..., int], told: tuple[Any, ...], seal: Any) -> bool:
    try:
        return seal_of(*told) == seal
    except (TypeError, ValueError, OverflowError):
        return False
