"""Copies of the book that the app makes by itself."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path


def copy_before_migration(path: Path, now: datetime) -> Path:
    """Copy a book that is about to be migrated."""
    raise NotImplementedError
