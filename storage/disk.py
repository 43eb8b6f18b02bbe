"""What is asked of the disk beside SQLite: room, a sync, and that nothing half made is left."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from storage.trouble import (
    DiskTrouble,
)


def sync_file(path: Path) -> None:
    """Make what was written to a file survive a flat battery."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


FULL_BYTES = 256 * 1024
"""A disk with less room than this is full: SQLite's working memory beside a book alone takes 32 KiB, a first act more."""


def is_full(folder: Path) -> bool:
    """Tell whether there is no room left where `folder` lies."""
    try:
        return shutil.disk_usage(folder).free < FULL_BYTES
    except OSError:
        return False


@contextmanager
def nothing_left_on_failure(path: Path) -> Iterator[None]:
    """Remove what SQLite began to make beside the book at `path`, and could not, when the block fails on a full disk."""
    beside = [path.with_name(path.name + tail) for tail in ("-wal", "-shm")]
    fresh = [file for file in beside if not file.exists()]
    try:
        yield
    except DiskTrouble:
        for file in fresh:
            with suppress(OSError):
                if file.name.endswith("-shm") or not file.stat().st_size:
                    file.unlink()
        raise
