"""Reminds of a break while the session timer runs: a notice, a buzz and a strip on the screen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from tracker.device.clock import now_utc
from tracker.device.notify import notify, vibrate
from tracker.domain.defaults import BREAK_MINUTES
from tracker.presenters import timer as timer_sums
from tracker.presenters.settings import BREAK_EVERY
from tracker.words import _

A_MINUTE_S = 60.0
LEAST_WAIT_S = 0.5
"""Clocks differ by a little: a look just before the minute is full would be followed by another at once."""


def break_words(timer: timer_sums.Timer, now: datetime) -> str:
    """Return the sentence of a reminder. It advises; it diagnoses nothing."""
    return _("{time} at the loom. Stand up, look into the distance, let your hands rest.").format(
        time=timer_sums.shown(timer, now)
    )


def running_time(drafts: Any, now: Callable[[], datetime] = now_utc) -> str:
    """Return the time on the timer that runs, as "1:05"; "" when none does, or it was forgotten."""
    runs = timer_sums.running(drafts, now())
    return "" if runs is None else timer_sums.shown(runs[1], now())


def rug_timed(drafts: Any, now: Callable[[], datetime] = now_utc) -> str:
    """Return the id of the rug whose timer runs; "" when none does, or it was forgotten."""
    runs = timer_sums.running(drafts, now())
    return "" if runs is None else runs[0]


def next_look_s(drafts: Any, now: Callable[[], datetime] = now_utc) -> float | None:
    """Return the seconds until the running timer's next minute is full; None when none runs, or it was forgotten."""
    runs = timer_sums.running(drafts, now())
    if runs is None:
        return None
    return max(LEAST_WAIT_S, A_MINUTE_S - timer_sums.worked(runs[1], now()).total_seconds() % A_MINUTE_S)


class Reminders:
    """Looks at the timer when it is told to; whatever the device cannot do is left out.

    Parameters
    ----------
    drafts
        Where timers and interval are kept (`get`, `put`).
    say
        Shows a sentence on the screen.
    """

    def __init__(
        self,
        drafts: Any,
        say: Callable[[str], None],
        *,
        notify: Callable[[str, str], bool] = notify,
        vibrate: Callable[[], bool] = vibrate,
        now: Callable[[], datetime] = now_utc,
    ) -> None:
        self._drafts, self._say = drafts, say
        self._notify, self._vibrate, self._now = notify, vibrate, now

    def minutes(self) -> float:
        """Return the interval the weaver set, in minutes; 0 for never."""
        minutes = self._drafts.get(BREAK_EVERY, BREAK_MINUTES)
        return float(minutes) if isinstance(minutes, int | float) else float(BREAK_MINUTES)

    def poll(self) -> bool:
        """Remind when a break is due; return whether it was.

        A timer that runs longer than anybody sits was forgotten, and nobody is there to be reminded.
        """
        now = self._now()
        runs = timer_sums.running(self._drafts, now)
        if runs is None or not timer_sums.break_due(runs[1], now, self.minutes()):
            return False
        rug_id, timer = runs
        timer_sums.keep_timer(self._drafts, rug_id, timer_sums.reminded(timer, now))
        words = break_words(timer, now)
        self._notify(_("Time for a break"), words)
        self._vibrate()
        self._say(words)
        return True
