"""Writes files so that they are there whole or not at all. Any layer may import this module; it needs nothing of the app."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

WORKING = ".loomside-part"
"""What the name of every working file ends in. Whatever bears it is the app's own, to be written anew and removed."""
SQLITE_TAILS = ("", "-wal", "-shm", "-journal")
"""A database and what SQLite keeps beside it."""


def working(path: Path, what: str = "") -> Path:
    """Return the working file beside `path`; `what` tells apart several of one path.

    The ending is added, never put in another's place: "my.rug" and "my.carpet" have working files of their own, and no
    file of a weaver's gets such a name by chance.
    """
    return path.with_name(f"{path.name}{'.' if what else ''}{what}{WORKING}")


def drop_working(part: Path) -> None:
    """Remove a working file and what SQLite keeps beside it.

    Raises
    ------
    ValueError
        When `part` does not bear the name of a working file.
    """
    if WORKING not in part.name:
        raise ValueError(f"{part.name} is not a working file")
    for tail in SQLITE_TAILS:
        part.with_name(part.name + tail).unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make a rename in `folder` survive a flat battery, where the system offers that."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to the app's own file `path`, taking the place of what was there.

    Raises
    ------
    OSError
        It could not be written; `path` is as it was and nothing half-made stays.
    """
    part = working(path)
    try:
        part.unlink(missing_ok=True)
        # "x": made here and now, never through a link that lay there.
        with open(part, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except BaseException:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise
