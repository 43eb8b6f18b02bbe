"""Asks for the one permission the app has to ask for: to show notices (Android 13 and later)."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from tracker.device.java import activity, api_level, java_class, on_android

if TYPE_CHECKING:
    import android.content.pm

ASKED_SINCE = 33
POST_NOTIFICATIONS = "android.permission.POST_NOTIFICATIONS"


def may_notify() -> bool:
    """True when a notice would be seen as far as permissions go; older phones need none."""
    if not on_android() or api_level() < ASKED_SINCE:
        return True
    PackageManager: type[android.content.pm.PackageManager] = java_class("android.content.pm.PackageManager")
    return activity().checkSelfPermission(POST_NOTIFICATIONS) == PackageManager.PERMISSION_GRANTED


def ask_to_notify(done: Callable[[bool], None]) -> None:
    """Let the system ask whether notices may be shown; `done` is told the answer, on Android's thread."""
    if may_notify():
        done(True)
        return
    import_module("android.permissions").request_permissions(
        [POST_NOTIFICATIONS], lambda _permissions, granted: done(bool(granted) and all(granted))
    )
