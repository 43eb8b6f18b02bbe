"""The book that the options name: where it lies, and opening it."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.app.desk import Desk
from tracker.command_line.options import FIRST_DAY, LAST_DAY
from tracker.command_line.terminal import printable
from tracker.domain.errors import BadEntry, BookInUse, BookTrouble
from tracker.files.home import home_folder
from tracker.words import _

if TYPE_CHECKING:
    from tracker.domain.rug import RugPlan

IN_USE_TRIES, IN_USE_WAIT_S = 10, 0.2
"""How often, and after how long, a book is tried again that another holds: printing its answers takes a second or two."""


def data_folder() -> Path:
    """Return the folder in which this user's books lie, made when it is not there."""
    home = home_folder()
    # Where the system names no home the folder cannot be made, and that is said.
    usual = home or Path("~")
    if os.environ.get("ANDROID_PRIVATE"):
        folder = Path(os.environ["ANDROID_PRIVATE"])
    elif sys.platform == "win32":
        folder = Path(os.environ.get("APPDATA") or usual) / "Loomside"
    elif sys.platform == "darwin":
        folder = usual / "Library" / "Application Support" / "Loomside"
    else:
        folder = _data_home(usual / ".local" / "share") / "loomside"
    try:
        if not folder.is_absolute():
            raise FileNotFoundError("no home")
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BookTrouble(
            _("{folder}, the folder for books, cannot be made. Say with --book where yours is to be.").format(
                folder=folder
            )
        ) from error
    return folder


def _data_home(usual: Path) -> Path:
    """Return where programs keep their data: a relative name is to be ignored (XDG Base Directory Specification 0.8)."""
    said = Path(os.environ.get("XDG_DATA_HOME", ""))
    return said if said.is_absolute() else usual


def book_path(options: argparse.Namespace) -> Path:
    """Return the file of the weaver's book that the options name; for a demo a name in the folder where it lies.

    Raises
    ------
    BookTrouble
        When there can be no book.
    """
    if options.book is None or options.demo:
        return data_folder() / ("demo" if options.demo else "book.loomside")
    path = Path(os.path.abspath(options.book))
    if not path.name or os.path.isdir(path):
        raise BookTrouble(_("{path} is a folder. Name the book's file in it.").format(path=path))
    return path


def open_desk(options: argparse.Namespace, background: bool) -> Desk:
    """Return a desk on the book the options name; the demo book is built when it is not there.

    Raises
    ------
    BadEntry
        When a demo is asked for and a book named: the demo has a place of its own and touches no other file.
    BookTrouble
        When the demo cannot be built.
    """
    day = options.day
    if options.demo:
        from tracker.demo.place import demo_path, ensure_demo

        if options.book is not None:
            raise BadEntry(
                _(
                    "--demo opens a book of its own and leaves {book} alone. "
                    "Leave --demo out to open that book, or leave --book out to see the demo."
                ).format(book=options.book)
            )
        today = date.today()  # noqa: DTZ011 - the weaver's own day
        # A clock that was never set, or is centuries ahead, has no calendar to build a demo from.
        shown = day or min(max(today, FIRST_DAY), LAST_DAY)
        path = ensure_demo(demo_path(data_folder(), today, day), shown)
        if shown != today:
            day = shown
    else:
        path = book_path(options)
    return Desk(path, today=(lambda: day) if day else None, background=background)


def check_book_is_there(options: argparse.Namespace) -> None:
    """Refuse to read a book that was named and is not there: only the window begins a new one.

    Raises
    ------
    BookTrouble
        When there is nothing at the place.
    """
    if options.book is None or options.demo:
        return
    path = book_path(options)
    if not os.path.exists(path):
        raise BookTrouble(
            _(
                "There is no book at {path}. Check the name. Opened in a window, a new book is started there."
            ).format(path=path)
        )


def _open_when_free(desk: Desk, as_it_is: bool) -> None:
    """Open the book; one that another reader holds for a moment is tried again."""
    for again in range(IN_USE_TRIES, -1, -1):
        try:
            desk.open(as_it_is=as_it_is)
            return
        except BookInUse:
            if not again:
                raise
            time.sleep(IN_USE_WAIT_S)


@contextmanager
def opened(options: argparse.Namespace) -> Iterator[Desk]:
    """Open the book the options name for the length of a `with` block.

    Raises
    ------
    LoomsideError
        As `open_desk`; and when the book cannot be opened, or not even its rugs be listed.
    """
    check_book_is_there(options)
    desk = open_desk(options, background=False)
    try:
        _open_when_free(desk, options.as_it_is)
        if desk.book.notice:
            print(desk.book.notice, file=sys.stderr)
        if desk.trouble and not desk.plans:
            raise BookTrouble(desk.trouble)
        yield desk
    finally:
        desk.close()


def rugs_wanted(desk: Desk, options: argparse.Namespace) -> list[RugPlan] | None:
    """Return the plans of the rugs the options name; None, once it is said, when there is none of that name."""
    from tracker.reports.text_form import shelf_text

    if not options.rug:
        return [plan for plan in desk.plans if plan.id == desk.rug_id]
    if options.rug == "all":
        return list(desk.plans)
    wanted = [plan for plan in desk.plans if plan.name.casefold() == options.rug.casefold()]
    if not wanted:
        print(
            _("There is no rug named {name} in this book. It has:").format(name=options.rug), file=sys.stderr
        )
        print(printable(shelf_text(desk.plans)), end="", file=sys.stderr)
        return None
    return wanted
