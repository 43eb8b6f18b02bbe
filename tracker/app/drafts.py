"""Half-filled forms, the timers and the choices of this phone: kept in a file beside the book."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, TypedDict

from tracker.files.regular import read_regular
from tracker.files.typed import object_of, read_as
from tracker.files.whole import write_whole
from tracker.presenters.settings import (
    BREAK_EVERY,
    DARK_COLOURS,
    LANGUAGE,
    LANGUAGES,
    MIRRORED,
    MIRRORED_RUGS,
    TEXT_SCALE,
)

MOST_BYTES = 4_000_000
"""A file of drafts beyond this is not this app's."""
LEAST_TEXT_SCALE, MOST_TEXT_SCALE = 1.0, 2.0
MOST_BREAK_MINUTES = 600.0


class AfterStepDraft(TypedDict):
    """A step after weaving that is being entered."""

    name: str
    days: float


DiaryDraft = TypedDict("DiaryDraft", {"filter": str, "this rug": bool, "text": str}, total=False)
"""What the diary is narrowed to."""


class StepDraft(TypedDict):
    """One page of the way to the one that was shown."""

    page: str
    told: dict[str, str | int | float | bool | None]
    """What the page was opened with."""
    stands: dict[str, Any]
    """How it stood."""


class FormDraft(TypedDict):
    """The small form that lay open over the page."""

    blank: dict[str, Any]
    draft: str


class PlaceDraft(TypedDict):
    """Where the weaver was when the app went out of sight."""

    left: str
    rug: str
    way: list[StepDraft]
    form: FormDraft | None


def _between(least: float, most: float, value: Any) -> float:
    number = read_as(float, value)
    if not least <= number <= most:
        raise ValueError("out of range")
    return number


def _offered(value: Any) -> str:
    if read_as(str, value) not in LANGUAGES:
        raise ValueError("no language of this app")
    return value


def _each(kind: Any, value: Any) -> dict[str, Any]:
    """Read what is kept by an id, each entry by itself: a wrong one costs the others nothing."""
    entries: dict[str, Any] = {}
    for entry_id, entry in read_as(dict[str, Any], value).items():
        with suppress(ValueError):
            entries[entry_id] = read_as(kind, entry)
    return entries


READERS: dict[str, Callable[[Any], Any]] = {
    DARK_COLOURS: partial(read_as, bool),
    "remind when closed": partial(read_as, bool),
    MIRRORED: partial(read_as, bool),
    MIRRORED_RUGS: partial(_each, bool),
    "reads slower": partial(read_as, bool),
    "book given": partial(read_as, str),
    LANGUAGE: _offered,
    TEXT_SCALE: partial(_between, LEAST_TEXT_SCALE, MOST_TEXT_SCALE),
    BREAK_EVERY: partial(_between, 0, MOST_BREAK_MINUTES),
    "rug in hand": partial(read_as, str),
    "picture folder": partial(read_as, str),
    "exchange folder": partial(read_as, str),
    "plan forms": partial(read_as, dict[str, dict[str, Any]]),
    "loom place": partial(read_as, dict[str, dict[str, Any]]),
    "loom part": partial(read_as, dict[str, str]),
    "seats": partial(read_as, dict[str, dict[str, Any]]),
    "session forms": partial(_each, dict),
    "session timers": partial(_each, dict),
    "sessions taken back": partial(_each, dict),
    "measurements": partial(_each, dict),
    "after steps": partial(_each, AfterStepDraft),
    "session rug": partial(read_as, str),
    "diary": partial(read_as, DiaryDraft),
    "both sessions right": partial(read_as, list[str]),
    "page left": partial(read_as, PlaceDraft),
    "guide": partial(read_as, dict[str, list[str]]),
}
"""What each draft must be. Every other one is a form, an object, and its own page reads it by its fields' types.

A choice of this phone under a new name needs its line here: without one the next start would leave it out.
"""

KEPT_ONCE = (
    "session form",
    "session rug",
    "session timer",
    "session taken back",
    "measurement",
    "after step",
)
"""Drafts that earlier forms of the app kept once for all rugs, see `Drafts.give_to_rugs`."""


def _reader(name: str) -> Callable[[Any], Any]:
    return READERS.get(name, partial(read_as, dict))


class Drafts:
    """What is kept beside the book. Not part of the record: losing this file loses no act that was answered.

    The file is read by one rule a draft: a wrong value is left out by itself, and the rest is kept.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lasting = True
        """False: what is put lives in memory only, so that looking at a book changes nothing beside it."""
        self._unwritten: set[str] = set()
        """What was put here since the file was last read or written."""
        self._mark = self._mark_of_file()
        self._kept: dict[str, Any] = {}
        with suppress(OSError, ValueError):
            self._kept = self._sound(object_of(self._text()))

    def _mark_of_file(self) -> tuple[int, int, int] | None:
        """Return what tells one writing of the file from another; None where there is none."""
        with suppress(OSError):
            told = self.path.stat()
            return told.st_ino, told.st_mtime_ns, told.st_size
        return None

    def _text(self) -> str:
        return read_regular(self.path, MOST_BYTES).decode("utf-8", "replace")

    def look_again(self) -> None:
        """Take in what another window of the app kept since, but for what was put here: it may hold a half-filled form."""
        mark = self._mark_of_file()
        if mark in (None, self._mark):
            return
        self._mark = mark
        with suppress(OSError, ValueError, RecursionError):
            text = self._text()
            if isinstance(json.loads(text), dict):  # a torn one is no other window's, and takes nothing away
                there = self._sound(object_of(text))
                here = {name: self._kept[name] for name in self._unwritten if name in self._kept}
                self._kept = {name: there[name] for name in there if name not in self._unwritten} | here

    @staticmethod
    def _sound(drafts: dict[str, Any]) -> dict[str, Any]:
        sound: dict[str, Any] = {}
        for name, value in drafts.items():
            with suppress(ValueError):
                sound[name] = _reader(name)(value)
        return sound

    def get(self, name: str, default: Any = None) -> Any:
        """Return what was kept under `name`."""
        return self._kept.get(name, default)

    def put(self, name: str, what: Any) -> None:
        """Keep `what` (anything JSON can say) under `name`; None forgets it.

        A full or read-only disk is no reason to stop the weaver: the draft then lives in memory only.

        Raises `ValueError` for what the next start would leave out: it is not what `_reader` takes.
        """
        if what is None:
            self._kept.pop(name, None)
        else:
            _reader(name)(what)
            self._kept[name] = what
        self._unwritten.add(name)
        self._write()

    def give_to_rugs(self, rug_in_hand: str) -> None:
        """Give what earlier forms of the app kept once for all rugs to the rug it is of.

        Where nothing says of which one, it is the rug in hand's. What waits of a rug under its own name already stays.
        """
        if not any(name in self._kept for name in KEPT_ONCE):
            return
        kept = {name: value for name, value in self._kept.items() if name not in KEPT_ONCE}
        once = {name: self._kept.get(name) for name in KEPT_ONCE}

        def give(name: str, entry_id: str, entry: Any) -> None:
            kept[name] = {entry_id: entry, **kept.get(name, {})}

        form, timer, undone = once["session form"], once["session timer"], once["session taken back"]
        waits_at = once["session rug"] or rug_in_hand
        if form is not None:
            give("session forms", waits_at, form)
        if timer is not None:
            # It ran with the rows that wait, where there are any.
            give("session timers", waits_at if form is not None else rug_in_hand, timer)
        if undone is not None:
            give("sessions taken back", str(undone.get("rug") or rug_in_hand), undone)
        measured, step = once["measurement"], once["after step"]
        if measured is not None:
            give("measurements", str(measured.get("rug") or rug_in_hand), measured)
        if step is not None:
            step_id = step.get("for")
            entry_id = f"new {step.get('rug')}" if step_id == "new" else str(step_id)
            with suppress(ValueError):
                entry = {"name": step.get("name"), "days": step.get("days")}
                give("after steps", entry_id, read_as(AfterStepDraft, entry))
        self._kept = kept
        self._write()

    def as_they_are(self) -> dict[str, Any]:
        """Return all that is kept, by name."""
        return dict(self._kept)

    def put_back(self, kept: dict[str, Any]) -> None:
        """Keep what `as_they_are` returned, and nothing else."""
        self._unwritten |= {*self._kept, *kept}
        self._kept = dict(kept)
        self._write()

    def _write(self) -> None:
        if not self.lasting:
            return
        self.look_again()
        with suppress(OSError, ValueError):
            write_whole(self.path, json.dumps(self._kept, ensure_ascii=False).encode("utf-8"))
            self._mark = self._mark_of_file()
            self._unwritten.clear()
