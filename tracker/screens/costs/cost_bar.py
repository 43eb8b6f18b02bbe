"""What a rug costs as one bar: what was spent, solid, and behind it what will come, pale."""

from __future__ import annotations

from typing import Any

from kivy.graphics import Color
from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.widgets.look import look
from tracker.widgets.rounded import Rounded

GAP_DP = 1.5
"""Between two parts."""
PALE = 0.35
"""How much of its colour what is still to come has."""


class CostBar(Widget):
    """Parts side by side to scale, each with a `share` of the whole, a `tone` and whether it is `spent`."""

    parts = ObjectProperty((), force_dispatch=True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self._draw, size=self._draw, parts=self._draw)
        look.bind(tones=self._draw)

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        if self.width < 20 or self.height < 4:
            return
        room = self.width - dp(GAP_DP) * max(len(self.parts) - 1, 0)
        x = self.x
        with self.canvas:
            for part in self.parts:
                wide = part.share * room
                red, green, blue, *_opaque = look.tones[part.tone]
                Color(red, green, blue, 1 if part.spent else PALE)
                Rounded(
                    pos=(x, self.y),
                    size=(max(wide, dp(1)), self.height),
                    radius=min(dp(4), max(wide, dp(1)) / 2),
                )
                x += wide + dp(GAP_DP)


class ToneMark(Widget):
    """The colour in which a line of the table stands in the bar."""

    tone = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self._draw, size=self._draw, tone=self._draw)
        look.bind(tones=self._draw)

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        if not self.tone:
            return
        side = dp(12)
        with self.canvas:
            Color(*look.tones[self.tone])
            Rounded(pos=(self.x, self.y + self.height / 2 - side / 2), size=(side, side), radius=dp(3))
