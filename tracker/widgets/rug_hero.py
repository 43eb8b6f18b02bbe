"""The rug as the first view shows it: edge to edge, cut so that the woven edge is in sight, fading where it goes on."""

from __future__ import annotations

import math
from typing import Any

from kivy.graphics import Color, Fbo, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty

from tracker.widgets.look import look
from tracker.widgets.rug_picture import RugPicture

EDGE_AT = 0.42
"""Where the woven edge stands in the picture's height, while the rug reaches beyond both ends."""
FADE_DP = 28
MOST_PX = 2048
"""Longest side of the picture drawn large, in px: what every phone's graphics can hold."""
_fade: Texture | None = None


def fade() -> Texture:
    """Return a strip that is clear at its foot and full at its head."""
    global _fade
    if _fade is None:
        texture = Texture.create(size=(1, 32), colorfmt="rgba")
        # Eased, so that no edge is seen where it begins.
        shares = [(at / 31) ** 2 * (3 - 2 * at / 31) for at in range(32)]
        texture.blit_buffer(
            b"".join(b"\xff\xff\xff" + bytes([round(255 * share)]) for share in shares),
            colorfmt="rgba",
            bufferfmt="ubyte",
        )
        texture.add_reload_observer(_forget)
        _fade = texture
    return _fade


def _forget(*_args: Any) -> None:
    global _fade
    _fade = None


class RugHero(RugPicture):
    """Shows a part of the rug as wide as the widget; one that is short, is not begun, or has its last row, shows whole."""

    edge = NumericProperty(0.0)
    """Height of the woven edge above the widget's foot, in px."""
    fades = BooleanProperty(True)

    def __init__(self, **kwargs: Any) -> None:
        self._crisp: Fbo | None = None
        self._crisp_of: tuple[Any, int] | None = None
        super().__init__(**kwargs)
        self.bind(fades=self._draw)

    def _large(self, knot_px: float) -> Texture:
        """Return the picture with whole pixels a knot, at least as large as it is shown: its knots stay square and sharp."""
        texture: Texture = self._texture
        times = max(1, math.ceil(knot_px - 1e-6))
        times = max(1, min(times, MOST_PX // max(texture.size)))
        if times == 1:
            return texture
        if self._crisp_of != (texture, times):
            size = (texture.width * times, texture.height * times)
            fbo = Fbo(size=size)
            fbo.texture.mag_filter = fbo.texture.min_filter = "linear"
            with fbo:
                Color(1, 1, 1, 1)
                Rectangle(texture=texture, size=size)
            fbo.draw()
            self._crisp, self._crisp_of = fbo, (texture, times)
        assert self._crisp is not None, "made just above or before"
        return self._crisp.texture

    def frame(self) -> tuple[float, float, float, float]:
        """Return x, y, width and height of the whole rug; it may reach beyond the widget."""
        width = max(1.0, self.width)
        height = width / self.aspect
        if height <= self.height:
            return self.x, self.y + (self.height - height) / 2, width, height
        if self.row <= 0 or self.row >= self.rows:
            # No row is looked for: what is planned, and what was worked on row by row, is looked at as a whole.
            height = self.height - look.gap
            return (
                self.x + (width - height * self.aspect) / 2,
                self.y + look.gap,
                height * self.aspect,
                height,
            )
        woven = height * min(1.0, max(0.0, self.row / max(1, self.rows)))
        hidden = min(height - self.height, max(0.0, woven - EDGE_AT * self.height))
        return self.x, self.y - hidden, width, height

    def _draw(self, *_args: Any) -> None:
        # Beneath what lies on the picture: its canvas is that of its children, too.
        self.canvas.before.clear()
        if self._texture is None or self.width < 4 or self.height < 4:
            return
        x, y, width, height = self.frame()
        share = min(1.0, max(0.0, self.row / max(1, self.rows)))
        self.edge = y + height * share - self.y
        low, high = max(y, self.y), min(y + height, self.top)
        texture = self._large(max(width / self._texture.width, height / self._texture.height))
        v0, v1 = (low - y) / height, (high - y) / height
        with self.canvas.before:
            Color(1, 1, 1, 1)
            Rectangle(
                texture=texture,
                pos=(x, low),
                size=(width, high - low),
                tex_coords=(0, v0, 1, v0, 1, v1, 0, v1),
            )
            if self.fades:
                deep = min(dp(FADE_DP), self.height / 3)
                Color(*look.tones["ground"])
                # Where the rug itself begins and ends nothing fades: its first and last rows are seen.
                if y + height > high + 1:
                    Rectangle(texture=fade(), pos=(x, high - deep), size=(width, deep))
                if y < low - 1:
                    Rectangle(
                        texture=fade(),
                        pos=(x, low),
                        size=(width, deep),
                        tex_coords=(0, 1, 1, 1, 1, 0, 0, 0),
                    )
            if 0 < self.row < self.rows:
                Color(*look.tones["ink"])
                Rectangle(pos=(x, self.y + self.edge - dp(1)), size=(width, dp(2)))
