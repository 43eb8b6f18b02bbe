"""Reminders that come when the app is closed, through the system's alarms and a small receiver of our own in Java."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tracker.device.java import APPLICATION_ID, activity, java_class, on_android

RECEIVER = f"{APPLICATION_ID}.ReminderReceiver"


@dataclass(frozen=True, slots=True)
class Alarm:
    """One reminder, in words that are ready to show."""

    kind: str
    """Which channel it comes on, such as "session"; each kind can be switched off in the system's settings."""
    channel: str
    """What the system's settings call the channel."""
    at: datetime
    """When it is due by the phone's own clock (naive, local); the system may bring it a little later."""
    until: datetime
    """After this it is of no use any more and is not shown."""
    title: str
    words: str
    page: str
    """The page that a tap on it opens."""
    rug_id: str = ""


def as_message(alarms: Sequence[Alarm]) -> str:
    """Return alarms as the receiver reads them."""

    def entry(id_: int, alarm: Alarm) -> dict[str, Any]:
        return {
            "id": id_,
            "kind": alarm.kind,
            "channel": alarm.channel,
            "at": f"{alarm.at:%Y-%m-%dT%H:%M}",
            "until": f"{alarm.until:%Y-%m-%dT%H:%M}",
            "title": alarm.title,
            "words": alarm.words,
            "page": alarm.page,
            "rug": alarm.rug_id,
        }

    return json.dumps([entry(id_, alarm) for id_, alarm in enumerate(alarms, 1)], ensure_ascii=False)


def set_alarms(alarms: Sequence[Alarm]) -> bool:
    """Be reminded of these, and of nothing else that was set before; False where the device cannot."""
    if not on_android():
        return False
    try:
        java_class(RECEIVER).schedule(activity(), as_message(alarms))
    except Exception:
        # The system allows an app 500 alarms and may refuse them; the app itself is not to stop for a reminder.
        return False
    return True
