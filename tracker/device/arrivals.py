"""What brought the app up: a reminder that was tapped, or a file of another app."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.device.content import take_in
from tracker.device.java import APPLICATION_ID, activity, as_java, java_class, on_android

if TYPE_CHECKING:
    import android.app
    import android.content
    import android.net

OPEN = f"{APPLICATION_ID}.OPEN"
"""As in ReminderReceiver.java."""


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where to go, or what to take in."""

    page: str = ""
    rug_id: str = ""
    file: Path | None = None
    """A file of our own; whoever takes it in removes it."""
    is_picture: bool = False


def _sent_address(intent: android.content.Intent) -> android.net.Uri | None:
    Intent: type[android.content.Intent] = java_class("android.content.Intent")
    if intent.getAction() == Intent.ACTION_VIEW:
        return intent.getData()
    if intent.getAction() != Intent.ACTION_SEND:
        return None
    stream = intent.getParcelableExtra(Intent.EXTRA_STREAM)
    address: android.net.Uri | None = None if stream is None else as_java("android.net.Uri", stream)
    return address


def read_intent(intent: android.content.Intent | None) -> Arrival | None:
    """Return what an intent asks for; None for the launcher's, which asks for nothing."""
    if intent is None:
        return None
    if intent.getAction() == OPEN:
        return Arrival(
            page=str(intent.getStringExtra("page") or ""), rug_id=str(intent.getStringExtra("rug") or "")
        )
    address = _sent_address(intent)
    if address is None:
        return None
    kind = str(intent.getType() or activity().getContentResolver().getType(address) or "")
    return Arrival(file=take_in(address), is_picture=kind.startswith("image/"))


def listen(arrived: Callable[[Arrival], None]) -> bool:
    """Tell `arrived` what started the app and whatever comes while it runs, on Android's thread.

    Returns
    -------
    bool
        False: this is no Android phone.
    """
    if not on_android():
        return False

    def hear(intent: android.content.Intent | None) -> None:
        arrival = read_intent(intent)
        if arrival is not None:
            arrived(arrival)

    import_module("android.activity").bind(on_new_intent=hear)
    started: android.app.Activity = activity()
    intent = started.getIntent()
    hear(intent)
    if intent is not None:
        # Rotation or a return from the background shows the same intent once more: it has been dealt with.
        Intent: type[android.content.Intent] = java_class("android.content.Intent")
        started.setIntent(Intent(Intent.ACTION_MAIN))
    return True
