"""The day on which a file was written last, whatever a file system says of it."""

from __future__ import annotations

from datetime import date, datetime


def day_written(mtime_s: float) -> date:
    """Return the local day of a file's time; `date.min`, as where none is known, for one that no calendar holds."""
    try:
        return datetime.fromtimestamp(mtime_s).date()  # noqa: DTZ006 - the weaver's own day
    except (OverflowError, OSError, ValueError):
        return date.min
