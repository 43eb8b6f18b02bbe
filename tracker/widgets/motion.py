"""Motion of pages, sheets, bars and rows: short, and none at all where the weaver's phone asks for none."""

from __future__ import annotations

from typing import Any

from kivy.animation import Animation
from kivy.uix.widget import Widget

from tracker.widgets.look import look


def glide(widget: Widget, start: dict[str, Any], end: dict[str, Any]) -> None:
    """Bring properties from a start to an end: over `look.motion_s`, or at once where that is 0."""
    Animation.cancel_all(widget, *end)
    if look.motion_s <= 0:
        for name, value in end.items():
            setattr(widget, name, value)
        return
    for name, value in start.items():
        setattr(widget, name, value)
    Animation(duration=look.motion_s, transition="out_cubic", **end).start(widget)
