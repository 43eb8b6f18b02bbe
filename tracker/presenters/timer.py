"""The timer of a session: plain instants that survive the app being closed; pauses are not counted.

Each rug has its own, and its time goes to no other one's session. One runs at a time: a phone lies at one loom, and hours go into
the pace and the wages, so a timer forgotten at the other loom costs more than one that a second team has to enter by hand.
"""

from __future__ import annotations

from collections.abc import Container
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from tracker.domain.step import hours_as_said
from tracker.files.typed import read_as
from tracker.presenters.of_rug import of_rug, put_of_rug

TIMERS = "session timers"
"""The draft that keeps them, by the rug's id."""
LONGEST = timedelta(hours=16)
"""A timer that ran longer was forgotten; its hours are then asked for instead of believed."""
SITTING_ENDS = timedelta(hours=4)
"""A pause that is longer and goes over a midnight ends the sitting (our own judgement)."""


@dataclass(frozen=True, slots=True)
class Timer:
    """A running or paused timer. Instants are UTC, as ISO 8601 text, so that they can be kept as JSON."""

    started: str
    paused_at: str | None = None
    paused_s: float = 0.0
    last_break_s: float = 0.0
    """Worked seconds at which the last break reminder was given."""

    @property
    def paused(self) -> bool:
        """True while it stands still."""
        return self.paused_at is not None


def start(now: datetime) -> Timer:
    """Return a timer that starts now."""
    return Timer(started=now.isoformat())


def worked(timer: Timer, now: datetime) -> timedelta:
    """Return the time worked, pauses left out; never below zero, even when the phone's clock went back."""
    end = datetime.fromisoformat(timer.paused_at) if timer.paused_at else now
    span = end - datetime.fromisoformat(timer.started) - timedelta(seconds=timer.paused_s)
    return max(timedelta(0), span)


def pause(timer: Timer, now: datetime) -> Timer:
    """Return the timer standing still from now on."""
    return timer if timer.paused else replace(timer, paused_at=now.isoformat())


def resume(timer: Timer, now: datetime) -> Timer:
    """Return the timer running again."""
    if timer.paused_at is None:
        return timer
    stood = max(0.0, (now - datetime.fromisoformat(timer.paused_at)).total_seconds())
    return replace(timer, paused_at=None, paused_s=timer.paused_s + stood)


def hours_worked(timer: Timer, now: datetime) -> float | None:
    """Return the hours worked as one would say them; None when the timer was clearly forgotten."""
    span = worked(timer, now)
    if span > LONGEST:
        return None
    return hours_as_said(span.total_seconds() / 3600)


def ended_on(timer: Timer | None, now: datetime, today: date) -> date | None:
    """Return the earlier day on which a paused timer's sitting ended; None while it may still go on, or it tells of no hours."""
    if timer is None or timer.paused_at is None or not hours_worked(timer, now):
        return None
    paused = datetime.fromisoformat(timer.paused_at)
    with suppress(OverflowError):
        day = paused.astimezone().date()
        return day if day < today and now - paused > SITTING_ENDS else None
    return None


def break_due(timer: Timer, now: datetime, every_minutes: float) -> bool:
    """True when it is time for a break: `every_minutes` worked since the last reminder."""
    if every_minutes <= 0 or timer.paused:
        return False
    return worked(timer, now).total_seconds() - timer.last_break_s >= every_minutes * 60


def reminded(timer: Timer, now: datetime) -> Timer:
    """Return the timer with a break reminder noted now."""
    return replace(timer, last_break_s=worked(timer, now).total_seconds())


def shown(timer: Timer, now: datetime) -> str:
    """Return the time worked as "1:05" hours and minutes."""
    minutes = int(worked(timer, now).total_seconds() // 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def to_kept(timer: Timer | None) -> dict[str, Any] | None:
    """Return the timer as JSON can keep it."""
    return asdict(timer) if timer else None


def from_kept(draft: Any) -> Timer | None:
    """Return a kept timer; None when there is none or it cannot be read."""
    try:
        timer = read_as(Timer, draft)
        timedelta(seconds=timer.paused_s)
        for instant in (timer.started, timer.started if timer.paused_at is None else timer.paused_at):
            if datetime.fromisoformat(instant).tzinfo is None:
                return None
        return timer
    except (ValueError, OverflowError):
        return None


# --- the timers of all rugs


def timer_of(drafts: Any, rug_id: str) -> Timer | None:
    """Return the timer of a rug, running or paused; None when it has none."""
    return from_kept(of_rug(drafts, TIMERS, rug_id))


def keep_timer(drafts: Any, rug_id: str, timer: Timer | None) -> None:
    """Keep the timer of a rug; None takes it away."""
    put_of_rug(drafts, TIMERS, rug_id, to_kept(timer))


def _that_run(drafts: Any, now: datetime) -> dict[str, Timer]:
    timers = {rug_id: timer_of(drafts, rug_id) for rug_id in drafts.get(TIMERS) or ()}
    return {
        rug_id: timer
        for rug_id, timer in timers.items()
        if timer is not None and not timer.paused and worked(timer, now) <= LONGEST
    }


def running(drafts: Any, now: datetime) -> tuple[str, Timer] | None:
    """Return the rug whose timer runs, with it, the one started last; None when none does, or it was forgotten."""
    timers = _that_run(drafts, now)
    rug_id = max(timers, key=lambda rug_id: datetime.fromisoformat(timers[rug_id].started), default=None)
    return None if rug_id is None else (rug_id, timers[rug_id])


def tap(drafts: Any, rug_id: str, now: datetime) -> dict[str, Timer]:
    """Start a rug's timer, pause it, or let it go on; one that runs at another rug is paused and keeps its time there.

    Returns
    -------
    dict of str to Timer
        What ran at another rug until now, as it ran.
    """
    timer = timer_of(drafts, rug_id)
    if timer is not None and not timer.paused:
        keep_timer(drafts, rug_id, pause(timer, now))
        return {}
    elsewhere = {other: runs for other, runs in _that_run(drafts, now).items() if other != rug_id}
    for other, runs in elsewhere.items():
        keep_timer(drafts, other, pause(runs, now))
    keep_timer(drafts, rug_id, start(now) if timer is None else resume(timer, now))
    return elsewhere


def follow_clock(drafts: Any, by: timedelta) -> None:
    """Let every timer tell the same time after the phone's clock was set by so much, forward or back."""

    def moved(instant: str) -> str:
        return (datetime.fromisoformat(instant) + by).isoformat()

    for rug_id in tuple(drafts.get(TIMERS) or ()):
        timer = timer_of(drafts, rug_id)
        if timer is None:
            continue
        with suppress(OverflowError):  # one of no day of the calendar tells nothing either way
            paused_at = None if timer.paused_at is None else moved(timer.paused_at)
            keep_timer(drafts, rug_id, replace(timer, started=moved(timer.started), paused_at=paused_at))


def pause_without_rug(drafts: Any, rug_ids: Container[str], now: datetime) -> None:
    """Pause what runs at a rug that is none of these: it was finished or deleted, here or on another phone. Its time stays with it."""
    for rug_id, timer in _that_run(drafts, now).items():
        if rug_id not in rug_ids:
            keep_timer(drafts, rug_id, pause(timer, now))
