"""The back gesture of a phone that shows, while the finger still moves, where it leads: Android 13 and newer.

There the app hears of no key. It says beforehand that back means something in it; while it says nothing, the system shows
what lies behind the app and leaves it.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from tracker.device.java import activity, api_level, implementing, java_class, on_android

if TYPE_CHECKING:
    import android.window

TOLD_BEFOREHAND_SINCE = 33
CALLBACK = "android.window.OnBackInvokedCallback"


class BackGesture:
    """Takes the gesture for the app while it has somewhere to go back to, and leaves it to the system else.

    Parameters
    ----------
    went_back
        Called on Android's thread with each gesture taken.
    failed
        Called, on any thread, with what went wrong; nothing is tried after it.
    """

    def __init__(self, went_back: Callable[[], None], failed: Callable[[Exception], None]) -> None:
        self._went_back, self._failed = went_back, failed
        self._wanted = self._taken = self._broken = False
        self._callback: Any = None
        """What the system calls. One for as long as the app runs: Java's side alone does not keep it from being collected."""

    def take(self, wanted: bool) -> None:
        """Take the gesture from now on (`wanted`), or leave it to the system."""
        if wanted == self._wanted or self._broken or not on_android() or api_level() < TOLD_BEFOREHAND_SINCE:
            return
        self._wanted = wanted
        try:
            # Windows are Android's own thread's. What is wanted is looked up there, so that the last word counts.
            import_module("android.runnable").Runnable(self._follow)()
        except Exception as error:
            self._break(error)

    def _follow(self) -> None:
        if self._wanted == self._taken or self._broken:
            return
        try:
            Dispatcher: type[android.window.OnBackInvokedDispatcher] = java_class(
                "android.window.OnBackInvokedDispatcher"
            )
            dispatcher = activity().getOnBackInvokedDispatcher()
            if self._wanted:
                if self._callback is None:
                    self._callback = implementing(CALLBACK, "onBackInvoked", self._went_back)
                dispatcher.registerOnBackInvokedCallback(Dispatcher.PRIORITY_DEFAULT, self._callback)
            else:
                dispatcher.unregisterOnBackInvokedCallback(self._callback)
            self._taken = self._wanted
        except Exception as error:
            self._break(error)

    def _break(self, error: Exception) -> None:
        self._broken = True
        self._failed(error)
