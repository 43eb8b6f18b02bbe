"""The second witness of what was entered: how far the book had come, synced at named moments, apart from the book.

The count in the lock file follows every act but is not synced, and a tidy weaver may delete it. This note is synced when
the book is opened and closed, with every copy, and every `EVERY_ACTS` acts; the copies' names are a third one. An older
copy laid over the book, or a book whose journal was lost, is found by them when it is opened.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from tracker.domain.errors import BookOlder
from tracker.files.regular import read_regular
from tracker.files.whole import sync_folder, write_whole

EVERY_ACTS = 16
"""Acts between two notes, each of which is synced: an evening at the loom is a handful of acts."""
_MOST_BYTES = 4096
_BEGINS = b'{"clock": '
"""How every note begins."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a book had come."""

    clock: int
    """The largest count of an act in it."""
    acts: int
    """How many acts it held."""
    act_id: str
    """The act that reached it last; empty: none had."""
    day: date
    """The local day on which this was noted."""
    passed_over: int = 0
    """The largest count in a copy that the book was knowingly opened or rescued without."""


def standing_of(connection: Any, day: date, passed_over: int = 0) -> Standing:
    """Return how far the book behind a DBAPI connection has come."""
    acts, clock = connection.execute("SELECT count(*), coalesce(max(clock), 0) FROM act").fetchone()
    newest = connection.execute("SELECT act_id FROM act ORDER BY number DESC LIMIT 1").fetchone()
    return Standing(clock, acts, newest[0] if newest else "", day, passed_over)


def note(path: Path, standing: Standing) -> None:
    """Write the note to `path` and bring it to the disk; a disk that cannot take it keeps the older one.

    A file there that is no note of ours is left alone.
    """
    told = {
        "clock": standing.clock,
        "acts": standing.acts,
        "act": standing.act_id,
        "day": standing.day.isoformat(),
        "passed over": standing.passed_over,
    }
    with suppress(OSError):
        if os.path.lexists(path) and not read_regular(path, _MOST_BYTES).startswith(_BEGINS):
            return
        write_whole(path, json.dumps(told).encode("ascii"))
        sync_folder(path.parent)


def noted(path: Path) -> Standing | None:
    """Return what the note at `path` says; None: there is none that can be read."""
    try:
        told = json.loads(read_regular(path, _MOST_BYTES))
        standing = Standing(
            int(told["clock"]),
            int(told["acts"]),
            str(told["act"]),
            date.fromisoformat(told["day"]),
            int(told["passed over"]),
        )
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None
    return standing if min(standing.clock, standing.acts, standing.passed_over) >= 0 else None


def refuse_older(
    connection: Any, standing: Standing | None, acknowledged: tuple[int, date], copied: tuple[int, date]
) -> None:
    """Compare the book behind a DBAPI connection with what is known of it.

    Parameters
    ----------
    kept
        The note, if there is one.
    acknowledged, copied
        The largest count by the lock file, and by the copies' names, with the day of each.

    Raises
    ------
    BookOlder
        Acts are missing.
    """
    present = standing_of(connection, date.min)
    missing: list[tuple[int, date]] = []
    if standing is not None and standing.act_id:
        known = connection.execute("SELECT 1 FROM act WHERE act_id = ?", (standing.act_id,)).fetchone()
        if known is None or standing.clock > present.clock or standing.acts > present.acts:
            missing.append((max(1, standing.acts - present.acts), standing.day))
    passed_over = 0 if standing is None else standing.passed_over
    for (clock, day), known_clock in (
        (acknowledged, present.clock),
        (copied, max(present.clock, passed_over)),
    ):
        if clock > known_clock:
            missing.append((clock - present.clock, day))
    if missing:
        raise BookOlder(max(day for _acts, day in missing), max(acts for acts, _day in missing))
