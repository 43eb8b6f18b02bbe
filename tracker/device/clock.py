"""The clock of this machine."""

from __future__ import annotations

import time
from datetime import UTC, datetime


def now_utc() -> datetime:
    """The instant, in UTC."""
    return datetime.now(UTC)


def follow_zone() -> None:
    """Let local days and times follow the phone's time zone where it was changed while the app runs."""
    if hasattr(time, "tzset"):
        time.tzset()
