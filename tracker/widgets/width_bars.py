"""The width of a rug in its sections, each with the colours it asks for as lengths of one bar."""

from __future__ import annotations

from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Rectangle
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from tracker import theme
from tracker.widgets.look import look

GAP_DP = 4
"""Between two sections."""
BAR_DP = 44


class WidthBars(Widget):
    """Sections side by side to scale, their number above; each colour carries its own number where there is room."""

    parts = ObjectProperty((), force_dispatch=True)
    """Tuple of `tracker.presenters.balls.SectionPart`, left to right."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.size_hint_y = None
        self.bind(pos=self._draw, size=self._draw, parts=self._draw)
        look.bind(tones=self._draw, type_sizes=self._draw)
        self._draw()

    def _draw(self, *_args: Any) -> None:
        head = look.type_sizes["body"] * 1.4 if any(part.number for part in self.parts) else 0
        bar = max(dp(BAR_DP), look.type_sizes["body"] * 1.8)
        self.height = head + bar + dp(4) if self.parts else 0
        self.canvas.clear()
        if self.width < 4 or not self.parts:
            return
        gaps = dp(GAP_DP) * (len(self.parts) - 1)
        room = max(dp(4), self.width - gaps)
        x = self.x
        with self.canvas:
            for part in self.parts:
                wide = part.share * room
                Color(*look.tones["line"])
                Rectangle(pos=(x, self.y + dp(2)), size=(wide, bar))
                left = x
                for colour in part.colours:
                    long = colour.share * wide
                    Color(*theme.channels(colour.swatch), 1)
                    Rectangle(pos=(left, self.y + dp(2)), size=(long, bar))
                    Color(*theme.channels(theme.ink_on(colour.swatch)), 1)
                    self._say(colour.code, left, self.y + dp(2), long, bar)
                    left += long
                Color(*look.tones["ink"])
                self._say(part.number, x, self.y + dp(4) + bar, wide, head)
                x += wide + dp(GAP_DP)

    def _say(self, words: str, x: float, y: float, wide: float, tall: float) -> None:
        """Write words in the middle of a box; where they do not fit they are left out, the lines below say them."""
        if not words:
            return
        label = CoreLabel(text=words, font_size=look.type_sizes["small"], bold=True)
        label.refresh()
        texture = label.texture
        if texture.width + dp(4) <= wide and texture.height <= tall + dp(2):
            Rectangle(
                texture=texture,
                pos=(x + (wide - texture.width) / 2, y + (tall - texture.height) / 2),
                size=texture.size,
            )
