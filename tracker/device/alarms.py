"""Reminders that come when the app is closed, through the system's alarms and a small receiver of our own in Java."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from tracker.device.java import APPLICATION_ID, activity, java_class, on_android

if TYPE_CHECKING:
    from tracker.domain.reminder import Reminder

RECEIVER = f"{APPLICATION_ID}.ReminderReceiver"


def as_message(alarms: Sequence[Reminder]) -> str:
    """Return alarms as the receiver reads them."""

    def entry(id_: int, alarm: Reminder) -> dict[str, Any]:
        return {
            "id": id_,
            "kind": alarm.kind,
            "channel": alarm.channel,
            "at": f"{alarm.due:%Y-%m-%dT%H:%M}",
            "until": f"{alarm.until:%Y-%m-%dT%H:%M}",
            "title": alarm.title,
            "words": alarm.words,
            "page": alarm.page,
            "rug": alarm.rug_id,
        }

    return json.dumps([entry(id_, alarm) for id_, alarm in enumerate(alarms, 1)], ensure_ascii=False)


def set_alarms(alarms: Sequence[Reminder]) -> bool:
    """Be reminded of these, and of nothing else that was set before; False where the device cannot."""
    if not on_android():
        return False
    try:
        java_class(RECEIVER).schedule(activity(), as_message(alarms))
    except Exception:
        # The system allows an app 500 alarms and may refuse them; the app itself is not to stop for a reminder.
        return False
    return True
