"""The copies of the book: which there are, why each was made, and what going back to one does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from tracker.presenters.entry_versions import instant_words
from tracker.words import _, n_, number


@dataclass(frozen=True, slots=True)
class CopyLine:
    """One copy."""

    path: str
    when: str
    why: str
    size: str
    since: str
    """What was entered since."""


@dataclass(frozen=True, slots=True)
class CopiesState:
    """The page."""

    headline: str
    room: str
    lines: tuple[CopyLine, ...]
    none_yet: str = ""
    """When the first copy is made; "" where there is one."""


def size_words(size_bytes: int) -> str:
    """Return a file's size as people say it."""
    if size_bytes < 1_000_000:
        return _("{number} kB").format(number=number(max(1, size_bytes / 1000)))
    return _("{number} MB").format(number=number(size_bytes / 1_000_000, 1))


def why_words(reason: str) -> str:
    """Say why a copy was made."""
    return {
        "daily": _("the copy of the day"),
        "before-update": _("before the app was renewed"),
        "before-restoring": _("before going back to a copy"),
        "before-joining": _("before another phone's file was taken in"),
        "asked": _("you asked for it"),
    }.get(reason, reason)


def build_copies_state(copies: Iterable[tuple[Any, int | None]], today: date) -> CopiesState:
    """Turn the copies into what the page shows.

    Parameters
    ----------
    copies
        (`Copy`, acts entered since), newest first; None for the acts when the book cannot be read.
    """
    lines = []
    total = 0
    for copy, acts in copies:
        total += copy.size_bytes
        since = ""
        if acts is not None:
            since = (
                n_("{count} entry since", "{count} entries since", acts).format(count=number(acts))
                if acts
                else _("nothing entered since")
            )
        lines.append(
            CopyLine(
                path=str(copy.path),
                when=instant_words(copy.made_at, today),
                why=why_words(copy.reason),
                size=size_words(copy.size_bytes),
                since=since,
            )
        )
    if not lines:
        return CopiesState(
            _("No copy yet."),
            "",
            (),
            _(
                "The book is copied once a day of use, and before anything that could go wrong. Each copy is checked. "
                "Pictures are not copied."
            ),
        )
    headline = n_("{count} copy on this phone", "{count} copies on this phone", len(lines)).format(
        count=number(len(lines))
    )
    return CopiesState(headline, size_words(total), tuple(lines))


def restored_words(records: int) -> str:
    """Say what going back to a copy did."""
    if not records:
        return _("The book was as in this copy already.")
    return n_(
        "{count} entry is back as in the copy. Later changes are in the history.",
        "{count} entries are back as in the copy. Later changes are in the history.",
        records,
    ).format(count=number(records))
