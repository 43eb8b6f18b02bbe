"""A weaver's book: opened, written act by act, undone, checked."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from storage.open_book import OpenBook, utc_now
from storage.opening import open_book
from storage.schema import DEMO_MARK
from storage.unit_of_work import ActInWork, undo
from tracker.domain.act import ActKind
from tracker.domain.history import Undone


class Book(OpenBook):
    """An open book, and what a weaver does with it."""

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        device_name: str = "this phone",
        now: Callable[[], datetime] = utc_now,
        connect: Callable[[], Any] | None = None,
        as_it_is: bool = False,
    ) -> Self:
        """Open the book at `path`, or make one there.

        Parameters
        ----------
        device_name
            What this phone is called in the diary of a book made now.
        now
            Tells the time in UTC; written beside each act, never used for order.
        connect
            See `make_engine`.
        as_it_is
            Open it even if acts are missing that it once held; they are not asked for again.

        Raises
        ------
        NotABook
            The file is none and never was one; nothing was written beside it.
        BookInUse
            Another running app has it open.
        BookOlder
            It is sound, but lacks acts it held before.
        BookFromNewerApp
            A newer app wrote it; it is left untouched.
        BookDamaged
            It cannot be trusted; `storage.rescue.rescue` makes a new book of what can be read.
        BookTrouble
            It cannot be read or written.
        """
        return open_book(cls, Path(path), device_name, now, connect, as_it_is)

    def act(self, kind: str, rug_id: str | None = None) -> ActInWork:
        """Return an act to be used in a `with` block: what it writes is committed whole at the end of the block.

        Parameters
        ----------
        kind
            What the weaver did, such as ActKind.SESSION_LOGGED; shown in the diary.
        rug_id
            The rug it concerns; None: taken from what is written, if that is one rug's.
        """
        return ActInWork(self, kind, rug_id)

    def undo(self, act_id: str, kind: str = ActKind.UNDONE) -> Undone:
        """Undo an act by a new act that restores what was before; undoing that one is redoing.

        Records that a later act changed are left and reported.
        """
        return undo(self, act_id, kind)

    def mark_as_demo(self) -> None:
        """Mark this book as made up by the app; see `is_demo`."""
        with self.writing() as connection:
            connection.exec_driver_sql(f"PRAGMA user_version = {DEMO_MARK}")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_exception: object) -> None:
        self.close()
