"""What a book tells of its own past: who wrote what and when, what was undone, joined, copied. Plain values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

from tracker.domain.act import BRINGING_BACK, CORRECTIONS


def local_time(instant: datetime) -> datetime:
    """Return an instant by this phone's time zone; one at the very end of the calendar, as a wrong clock or another phone's
    file may tell it, by UTC: there the zone would lead beyond it."""
    try:
        return instant.astimezone()
    except (OverflowError, OSError, ValueError):
        return instant.astimezone(UTC)


@dataclass(frozen=True, slots=True)
class Writer:
    """A phone that wrote into the book."""

    device_id: str
    name: str
    here: bool
    """Whether it is this phone."""


class Since(StrEnum):
    """What became of a record after an act."""

    STANDS = "stands"
    """It is as the act left it, be it again."""
    CHANGED = "changed"
    WITHDRAWN = "withdrawn"


COUNTED = ("session", "lot", "weighing", "spoilt", "measurement")
"""Kinds of record that add up: read down the diary, each that stands is told by one act, as it stands."""


def telling(versions: Iterable[tuple[str, bool, bool]]) -> int:
    """Return the place of the version whose act tells of a record: the last that entered it where it was not.

    Parameters
    ----------
    versions
        Of one record, oldest first: the kind of the act, whether that is an undo, whether it took the record out.
    """
    first = entered = None
    there = False
    for place, (kind, undoes, gone) in enumerate(versions):
        if not gone:
            first = place if first is None else first
            if not there and not undoes and kind not in CORRECTIONS and kind not in BRINGING_BACK:
                entered = place
        there = not gone
    # What a correction entered beside what it put right has no other act.
    return (first or 0) if entered is None else entered


@dataclass(frozen=True, slots=True)
class Change:
    """What one act did to one record."""

    record_id: str
    kind: str
    before: Any
    """The value before; None: there was none, or it was withdrawn."""
    after: Any
    """The value since; None: withdrawn."""
    current: bool
    """Whether no later version has taken its place."""
    since: Since = Since.STANDS
    now: Any | None = None
    """The value that stands now, where it is another one since; None elsewhere."""
    told_elsewhere: bool = False
    """Whether the record adds up and another act tells of it, as it stands."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One act in the diary of changes."""

    act_id: str
    made_at: datetime
    """By the phone's own clock, in UTC."""
    device: Writer
    kind: str
    rug_id: str | None
    undoes_id: str | None
    undone: bool
    """Whether an undo of it stands."""
    undoable: bool
    """Whether an undo now would change anything."""
    changes: tuple[Change, ...]
    undone_by: str = ""
    """Id of the undo that stands against it and can itself be taken back; "" where none is."""


@dataclass(frozen=True, slots=True)
class PastVersion:
    """One version of a record."""

    act_id: str
    made_at: datetime
    device: Writer
    kind: str
    """What the weaver did."""
    value: Any
    """None: withdrawn."""
    current: bool
    set_aside: bool
    """Whether it was written elsewhere without knowing the version that won over it."""


@dataclass(frozen=True, slots=True)
class Undone:
    """What an undo did."""

    act_id: str | None
    """The new act; None: there was nothing to undo."""
    restored: tuple[str, ...]
    """Ids of the records that are again as before the act."""
    left: tuple[str, ...]
    """Ids of the records left alone, because a later act changed them."""


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the book."""

    path: Path
    made_at: datetime
    """By the phone's clock, in UTC."""
    clock: int
    """The count of the newest act in it; it orders copies whatever the phone's clock said."""
    reason: str
    size_bytes: int


@dataclass(frozen=True, slots=True)
class Restored:
    """What going back to a copy did."""

    act_id: str | None
    """The act that did it, to be undone like any other; None: the book was as the copy already."""
    records: int
    """How many records changed."""
    before: Copy
    """The copy made just before."""


@dataclass(frozen=True, slots=True)
class Told:
    """One of the versions in a conflict."""

    device: Writer
    value: Any
    """None: withdrawn."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """A record that two phones changed without knowing of each other, or of which each entered its own where one counts."""

    record_id: str
    kind: str
    rug_id: str | None
    counting: Told
    set_aside: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A record of this book that the other phone took out, without a conflict."""

    record_id: str
    kind: str
    rug_id: str | None
    by: Writer
    value: Any
    """What it said before."""


@dataclass(frozen=True, slots=True)
class Joined:
    """What a join brought."""

    acts: int
    """Acts that were new here."""
    records: int
    versions: int
    devices: tuple[str, ...]
    """Names of the other phones the new acts come from."""
    conflicts: tuple[Conflict, ...]
    withdrawn: tuple[Withdrawal, ...] = ()
    own_acts: int = 0
    """Acts of this phone's own that its book did not hold (any more)."""
    act_ids: tuple[str, ...] = ()
    """The acts that were new here; `undo_join` takes back what they wrote."""

    @property
    def nothing_new(self) -> bool:
        """Whether all of it was here already."""
        return self.versions == 0 and self.acts == 0
