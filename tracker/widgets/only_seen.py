"""Draws of what scrolls only what can be seen: Kivy clips the rest away, but sends it to the graphics card with every frame."""

from __future__ import annotations

from kivy.metrics import dp
from kivy.uix.layout import Layout
from kivy.uix.relativelayout import RelativeLayout
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

BEYOND_DP = 24
"""So far from the window a part is still drawn: some reach a little beyond their box."""


class Seen:
    """Takes what lies outside of a part that scrolls out of its drawing, and puts it back when it comes near.

    Only the drawing: where a part lies, what it says and how it answers a touch stays as it is.
    """

    def __init__(self) -> None:
        self._undrawn: set[Widget] = set()

    def look(self, scroll: ScrollView) -> None:
        """Draw what can be seen of `scroll` where it is now, and nothing else of it."""
        low = scroll.y - scroll.g_translate.y - dp(BEYOND_DP)
        high = low + scroll.height + 2 * dp(BEYOND_DP)
        undrawn: set[Widget] = set()
        for content in scroll.children:
            _outside(content, low, high, undrawn)
        for widget in self._undrawn - undrawn:
            if widget.parent is not None and widget.parent.canvas.indexof(widget.canvas) < 0:
                widget.parent.canvas.add(widget.canvas)
        for widget in undrawn:
            canvas = widget.parent.canvas
            if canvas.indexof(widget.canvas) >= 0:
                canvas.remove(widget.canvas)
        self._undrawn = undrawn


def _outside(holder: Widget, low: float, high: float, found: set[Widget]) -> None:
    """Gather the largest parts of `holder` that lie wholly below `low` or above `high`, px."""
    for widget in holder.children:
        bottom = widget.y
        top = bottom + widget.height
        if top < low or bottom > high:
            found.add(widget)
        elif (
            (bottom < low or top > high)
            and isinstance(widget, Layout)
            and not isinstance(widget, RelativeLayout)
        ):
            _outside(widget, low, high, found)
