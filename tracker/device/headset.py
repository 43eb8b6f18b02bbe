"""The button of a headset: it moves on while a row is read aloud."""

from __future__ import annotations

from tracker.device.java import APPLICATION_ID, activity, java_class, on_android

LISTENER = f"{APPLICATION_ID}.Headset"
PLAY_KEYS = frozenset(
    scancode | 1 << 30
    for scancode in (
        258,  # next
        261,  # play and pause
    )
)
"""Media keys as the window hands them on: SDL's scancodes (SDL_scancode.h), marked as keys without a letter."""


def listen() -> bool:
    """Take the headset's button for ours from now on; False where the device cannot."""
    if not on_android():
        return False
    java_class(LISTENER).listen(activity())
    return True


def presses() -> int:
    """Return how often the button was pressed since this was last asked."""
    return int(java_class(LISTENER).presses()) if on_android() else 0


def leave() -> None:
    """Let the button do again what it does elsewhere."""
    if on_android():
        java_class(LISTENER).leave()
