"""The clock of this machine."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta


def now_utc() -> datetime:
    """The instant, in UTC."""
    return datetime.now(UTC)


def steady_s() -> float:
    """Seconds that no setting of the clock moves; they go on while the phone sleeps, where the system tells them so."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


class ClockWatch:
    """Tells by how much this machine's clock was set, beside one that no setting moves."""

    LEAST = timedelta(minutes=1)
    """A clock that is kept right moves by less at once, and a timer shows no less."""

    def __init__(
        self, now: Callable[[], datetime] = now_utc, steady_s: Callable[[], float] = steady_s
    ) -> None:
        self._now, self._steady_s = now, steady_s
        self._began = self._beginning()

    def _beginning(self) -> datetime:
        return self._now() - timedelta(seconds=self._steady_s())

    def set_by(self) -> timedelta:
        """Return by how much the clock was set since this was last asked; nothing for what it drifts."""
        began, self._began = self._began, self._beginning()
        by = self._began - began
        return by if abs(by) >= self.LEAST else timedelta(0)


def follow_zone() -> None:
    """Let local days and times follow the phone's time zone where it was changed while the app runs."""
    if hasattr(time, "tzset"):
        time.tzset()
