"""A reading that tells how far it is and can be stopped."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

Progress = Callable[[float], None]


class StopReading(Exception):
    """Raised out of a reading that was stopped."""


@dataclass(slots=True)
class Steps:
    """Passes on progress, and stops when asked to."""

    progress: Progress | None = None
    stop: Callable[[], bool] | None = None
    done: float = field(default=0.0)

    def at(self, share: float) -> None:
        if self.stop is not None and self.stop():
            raise StopReading
        self.done = share
        if self.progress is not None:
            self.progress(share)
