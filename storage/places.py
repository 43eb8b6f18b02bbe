"""Where what belongs to a book lies: beside it, named by its whole name."""

from __future__ import annotations

import os
import stat
from pathlib import Path


def real_path(path: str | os.PathLike[str]) -> Path:
    """Return where the book at `path` lies once all symbolic links are followed: what belongs to it lies beside that."""
    return Path(os.path.realpath(path))


def _beside(path: Path, tail: str) -> Path:
    path = real_path(path)
    return path.with_name(path.name + tail)


def copies_folder(path: Path) -> Path:
    """Return the folder in which the copies of the book at `path` lie."""
    return _beside(path, ".copies")


def damaged_folder(path: Path) -> Path:
    """Return the folder in which damaged files of the book at `path` are kept."""
    return _beside(path, ".damaged")


def lock_path(path: Path) -> Path:
    """Return the file by which a running app holds the book at `path`."""
    return _beside(path, ".lock")


def witness_path(path: Path) -> Path:
    """Return the note of how far the book at `path` had come; see `storage.witness`."""
    return _beside(path, ".last-act")


def strange_side_file(path: Path) -> Path | None:
    """Return what lies where SQLite keeps a file beside the book at `path` and is none: a link, a folder, a pipe, a device.

    SQLite would follow it, wait for ever for whoever writes into it, or take it for a full disk.
    """
    for tail in ("-wal", "-shm", "-journal"):
        side = _beside(path, tail)
        try:
            if not stat.S_ISREG(side.lstat().st_mode):
                return side
        except OSError:
            continue  # nothing there, or nothing that can be looked at: opening says why
    return None


def has_copies(path: Path) -> bool:
    """Tell whether there are copies of the book at `path`."""
    folder = copies_folder(path)
    return folder.is_dir() and any(folder.glob("*.book"))
