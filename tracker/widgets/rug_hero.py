"""The rug as the first view shows it: edge to edge, cut so that the woven edge is in sight."""

from __future__ import annotations

import math
from typing import Any

from kivy.graphics import Color, Fbo, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty

from tracker.widgets.look import look
from tracker.widgets.rug_picture import RugPicture

EDGE_AT = 0.5
"""Where the woven edge stands in the picture's height, while the rug reaches beyond both ends."""
WARPS_DP = 10
"""How far the warps are seen beyond the rug's own end."""
WARP_STEP_DP = 3
MOST_PX = 2048
"""Longest side of the picture drawn large, in px: what every phone's graphics can hold."""
_warps: Texture | None = None


def warps() -> Texture:
    """Return a warp and the air beside it, which repeat."""
    global _warps
    if _warps is None:
        texture = Texture.create(size=(4, 1), colorfmt="rgba")
        # Where a width is repeated phones want a power of two.
        texture.wrap = "repeat"
        texture.blit_buffer(
            b"".join(b"\xff\xff\xff" + bytes([share]) for share in (0, 150, 150, 0)),
            colorfmt="rgba",
            bufferfmt="ubyte",
        )
        texture.add_reload_observer(_forget)
        _warps = texture
    return _warps


def _forget(*_args: Any) -> None:
    global _warps
    _warps = None


class RugHero(RugPicture):
    """Shows a part of the rug as wide as the widget; one that is short, is not begun, or has its last row, shows whole.

    Words may stand on a plate in its lower left corner: what is shown whole stands beside or above it, and the first row
    never lies under it.
    """

    edge = NumericProperty(0.0)
    """Height of the woven edge above the widget's foot, in px."""
    plate_width = NumericProperty(0.0)
    """Of the words in the lower left corner, px; 0 without any."""
    plate_height = NumericProperty(0.0)
    warps = BooleanProperty(True)
    """Whether warps are seen beyond the rug's ends: on the loom always, on a finished one where they are its fringe."""

    def __init__(self, **kwargs: Any) -> None:
        self._crisp: Fbo | None = None
        self._crisp_of: tuple[Any, int] | None = None
        super().__init__(**kwargs)
        self.bind(plate_width=self._draw, plate_height=self._draw, warps=self._draw)

    @property
    def whole(self) -> bool:
        """Whether no row is looked for: what is planned, and what was worked on row by row, is looked at as a whole."""
        return self.row <= 0 or self.row >= self.rows

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
        width, air = max(1.0, self.width), dp(WARPS_DP)
        height = width / self.aspect
        if self.whole or height <= self.height - self.plate_height:
            return self._whole_frame(air)
        woven = height * min(1.0, max(0.0, self.row / max(1, self.rows)))
        # Its first row stands above the plate, its last one at the widget's head.
        below = max(self.plate_height, air)
        hidden = min(height - self.height, max(-below, woven - EDGE_AT * self.height))
        return self.x, self.y - hidden, width, height

    def _whole_frame(self, air: float) -> tuple[float, float, float, float]:
        """Return where the whole rug stands as large as it can: beside the plate, or above it."""
        room = self.width - self.plate_width - look.pad
        beside = max(1.0, min(self.height - 2 * air, room / self.aspect))
        above = max(1.0, min(self.height - self.plate_height - 2 * air, (self.width - 2 * air) / self.aspect))
        if self.plate_width and beside >= above:
            x = self.x + self.plate_width + (room - beside * self.aspect) / 2
            return x, self.y + (self.height - beside) / 2, beside * self.aspect, beside
        free = self.height - self.plate_height - above
        return (
            self.x + (self.width - above * self.aspect) / 2,
            self.y + self.plate_height + free / 2,
            above * self.aspect,
            above,
        )

    def _draw(self, *_args: Any) -> None:
        # Beneath what lies on the picture: its canvas is that of its children, too.
        self.canvas.before.clear()
        if self._texture is None or self.width < 4 or self.height < 4:
            return
        x, y, width, height = self.frame()
        share = min(1.0, max(0.0, self.row / max(1, self.rows)))
        self.edge = y + height * share - self.y
        # Not by `top`: Kivy brings it up to date only after it has told of the new size.
        head = self.y + self.height
        low, high = max(y, self.y), min(y + height, head)
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
            if self.warps:
                Color(*look.tones["edge"])
                long, many = dp(WARPS_DP) - dp(2), max(1, round(width / dp(WARP_STEP_DP)))
                # Beside the plate they would be a stray piece of a fringe.
                first = y if self.plate_width and not self.whole else max(self.y, y - long)
                for foot, reach in ((first, y), (y + height, min(head, y + height + long))):
                    if reach > foot:
                        Rectangle(
                            texture=warps(),
                            pos=(x, foot),
                            size=(width, reach - foot),
                            tex_coords=(0, 0, many, 0, many, 1, 0, 1),
                        )
            if 0 < self.row < self.rows:
                Color(*look.tones["ink"])
                Rectangle(pos=(x, self.y + self.edge - dp(1)), size=(width, dp(2)))
