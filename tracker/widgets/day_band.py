"""A range of days as a band on a line, with marks for the middle and for a day to compare with."""

from __future__ import annotations

from typing import Any

from kivy.graphics import Color
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from tracker.widgets.look import look
from tracker.widgets.rounded import Rounded


class DayBand(Widget):
    """Draws a value with `early`, `late`, `middle` and `target`, each a share of the line; `target` below zero is none."""

    band = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self._draw, size=self._draw, band=self._draw)
        look.bind(tones=self._draw)

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        band = self.band
        if band is None or self.width < 20 or self.height < 4:
            return
        thick = dp(8)
        y = self.y + (self.height - thick) / 2

        def bar(left: float, right: float, tone: str, tall: float = thick) -> None:
            Color(*look.tones[tone])
            Rounded(
                pos=(left, self.y + (self.height - tall) / 2),
                size=(max(right - left, dp(4)), tall),
                radius=min(tall, max(right - left, dp(4))) / 2,
            )

        def across(share: float) -> float:
            return self.x + share * self.width

        with self.canvas:
            Color(*look.tones["line"])
            Rounded(pos=(self.x, y), size=(self.width, thick), radius=thick / 2)
            bar(across(band.early), across(band.late), "band")
            if band.target >= 0:
                bar(
                    across(band.target) - dp(2),
                    across(band.target) + dp(2),
                    "madder" if band.misses else "ink",
                    dp(18),
                )
            bar(across(band.middle) - dp(2.5), across(band.middle) + dp(2.5), "indigo", dp(18))
