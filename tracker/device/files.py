"""The phone's own chooser, and where files meant for others go. Elsewhere the app shows its own list of folders."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from pathlib import Path

from tracker.device.java import on_android
from tracker.files.home import home_folder


def has_chooser() -> bool:
    """True on Android, where pictures and files are chosen in the system's own way."""
    return on_android()


def choose_picture(done: Callable[[Path | None], None]) -> None:
    """Let the phone ask for a picture; `done` gets a copy of it, or None when nothing was chosen.

    The phone answers on a thread of its own.
    """
    from tracker.device.content import PICTURES, choose

    if not choose(done, PICTURES):
        done(None)


def choose_file(done: Callable[[Path | None], None]) -> None:
    """Let the phone ask for any file; `done` gets a copy of it, or None. The phone answers on a thread of its own."""
    from tracker.device.content import choose

    if not choose(done):
        done(None)


KINDS = {".pdf": "application/pdf", ".csv": "text/csv", ".ics": "text/calendar", ".zip": "application/zip"}
"""Media types by ending, as registered; every other file of ours is plain bytes, as `android/intent_filters.xml` takes it."""
BYTES = "application/octet-stream"


def kind_of(paths: Sequence[Path]) -> str:
    """Return the media type of files that are handed on together."""
    kinds = {KINDS.get(path.suffix, BYTES) for path in paths}
    return kinds.pop() if len(kinds) == 1 else BYTES


def made_folder() -> Path:
    """Return an empty folder of the phone's cache for files that are handed on at once."""
    from tracker.device.content import MADE, cache

    folder = cache(MADE)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def give(paths: Sequence[Path], title: str) -> bool:
    """Hand files to another app or phone through the share sheet; False where it does not open.

    Raises
    ------
    BookTrouble
        There is no room for the copies that leave.
    """
    from tracker.device.content import share

    return share(paths, kind_of(paths), title)


def save_as(path: Path, done: Callable[[bool | None], None]) -> None:
    """Let the phone ask where a file shall lie; `done` is told whether it does, None when no place was chosen.

    The phone answers on a thread of its own.
    """
    from tracker.device.content import save

    if not save(path, kind_of([path]), done):
        done(False)


def shared_folder() -> Path:
    """Return the folder for files meant for others, where there is no chooser."""
    home = home_folder() or Path("/")
    return next(
        (home / name for name in ("Downloads", "Download", "Documents") if (home / name).is_dir()), home
    )


def picture_folders() -> tuple[Path, ...]:
    """Return the folders in which a weaver's pictures are likely to lie, those that are there."""
    home = home_folder() or Path("/")
    likely = [home / name for name in ("Pictures", "Downloads", "Download", "Documents")]
    return tuple(folder for folder in (*likely, home) if folder.is_dir()) or (Path("/"),)
