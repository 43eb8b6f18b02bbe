"""Where the demo book lies, and how it comes there without touching anything else."""

from __future__ import annotations

import os
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tracker.demo.book import build_demo
from tracker.domain.errors import BookTrouble
from tracker.files.day import day_written
from tracker.files.whole import drop_working, working
from tracker.words import _, language

FILE_NAME = "demo.loomside"
DEMO_LASTS = timedelta(days=7)
"""A demo book untouched for so long is followed by a new one, so that its record ends the day before again."""


def demo_path(folder: Path, today: date, day: date | None = None) -> Path:
    """Return where the demo book lies, or is to be built, in the folder of this user's books.

    Every demo has a folder of its own, named by the day it was built for, and nothing is ever removed to make room for
    a newer one: whatever else lies in `folder` is out of its reach. Its yarns, steps and notes are written in the language
    in use, and stay so: another language has its own demo.

    Parameters
    ----------
    today
        The local calendar day.
    day
        The day the demo is asked for, when one was named: its own demo, whatever its age.
    """
    spoken = "" if language() == "en" else f" {language()}"
    if day is not None:
        return folder / f"demo of a day{spoken}" / day.isoformat() / FILE_NAME
    demos = folder / f"demo{spoken}"
    newest = max(demos.glob(f"*/{FILE_NAME}"), key=lambda path: path.stat().st_mtime, default=None)
    if newest is not None:
        touched = day_written(newest.stat().st_mtime)
        if today - touched <= DEMO_LASTS:
            return newest
    return demos / today.isoformat() / FILE_NAME


def ensure_demo(path: Path, today: date) -> Path:
    """Build the demo book at `path` unless it is there already; return the path.

    Raises
    ------
    BookTrouble
        When a file is there that is no demo of this app (it is left alone), or the demo cannot be written.
    """
    from storage.lock import Lock
    from storage.places import lock_path
    from storage.schema import is_demo
    from storage.trouble import as_book_trouble

    if not os.path.lexists(path):
        with as_book_trouble():
            path.parent.mkdir(parents=True, exist_ok=True)
            held = Lock(lock_path(path))
            try:
                _build_beside(path, today, held)
            finally:
                held.release()
    if not is_demo(path):
        raise BookTrouble(
            _(
                "{path} is not a demo book, so it is left alone. Open it without --demo, or move it elsewhere."
            ).format(path=path)
        )
    return path


def _build_beside(path: Path, today: date, held: Any) -> None:
    """Build the demo beside `path`, whose lock is `held`, and move it there whole: stopped half-way, it would stay half a demo."""
    from storage.lock import Lock
    from storage.opening import pass_on_witness
    from storage.places import lock_path, witness_path

    half = working(path, "half")
    leftovers = (half, lock_path(half), witness_path(half), working(half, "new"))
    for part in leftovers:
        drop_working(part)
    build_demo(half, today)
    # Noted before the book is there: a lock file that an earlier demo left may vouch for acts that this one lacks.
    counted = Lock(lock_path(half))
    try:
        held.acknowledge(counted.acknowledged())
    finally:
        counted.release()
    pass_on_witness(half, path)
    if not os.path.lexists(path):
        os.replace(half, path)
    for part in leftovers:
        drop_working(part)
