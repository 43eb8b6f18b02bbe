"""The clock of this machine."""

from __future__ import annotations

from datetime import UTC, datetime


def now_utc() -> datetime:
    """The instant, in UTC."""
    return datetime.now(UTC)
