"""Rectangles with round corners, drawn from one picture a radius.

Kivy's own smooth ones lay their outline out anew at each move, and hold four vertex buffers and a texture each. Half of
what the app draws stands on such a ground, so that theirs were most of its buffers.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import ceil, hypot
from typing import Any

from kivy.factory import Factory
from kivy.graphics import BorderImage
from kivy.graphics.texture import Texture

MOST_PX = 64
"""Largest radius that has a picture of its own [px]; a larger one is that enlarged."""
LINE_STEPS = 4
"""Widths of a line are drawn to a quarter of a pixel."""


def coverage(x: float, y: float, radius: float, line: float) -> float:
    """Return how much of a pixel is covered, 0 to 1.

    Parameters
    ----------
    x, y
        How far its middle lies beyond the centre of the corner, towards the two sides [px]; less than 0 between corners.
    radius
        Of the corner [px].
    line
        Width of the line along the edge [px]; 0 where all within is covered.
    """
    inside = radius - hypot(max(0.0, x), max(0.0, y)) - min(0.0, max(x, y))
    outer = min(1.0, max(0.0, inside + 0.5))
    return outer if not line else outer * min(1.0, max(0.0, line - inside + 0.5))


@cache
def corners(radius: int, line: float) -> Texture:
    """Return the picture of four corners with two pixels between them, white, as opaque as it is covered."""
    side = 2 * radius + 2
    rows = []
    for up in range(radius, -1, -1):
        half = bytes(round(255 * coverage(at - 0.5, up - 0.5, radius, line)) for at in range(radius + 1))
        rows.append(half[::-1] + half)
    pixels = bytearray(b"\xff" * (4 * side * side))
    pixels[3::4] = b"".join(rows + rows[::-1])
    texture = Texture.create(size=(side, side), colorfmt="rgba")

    def fill(texture: Texture) -> None:
        texture.blit_buffer(bytes(pixels), colorfmt="rgba", bufferfmt="ubyte")

    fill(texture)
    # A phone may take all textures away while the app is out of sight.
    texture.add_reload_observer(fill)
    return texture


class Rounded(BorderImage):
    """A rectangle whose corners are round, by at most half of its shorter side."""

    def __init__(self, radius: float = 0.0, line: float = 0.0, **kwargs: Any) -> None:
        self._radius, self._line = radius, line
        self._drawn: tuple[float, float] | None = None
        super().__init__(**kwargs)
        # Kivy sets the size first and the border, to one of its own, last.
        self._drawn = None
        self._fit()

    @property
    def radius(self) -> float:
        """Of the corners [px]."""
        return self._radius

    @radius.setter
    def radius(self, radius: float) -> None:
        self._radius = radius
        self._fit()

    @property
    def line(self) -> float:
        """Width of the frame [px]; 0 for a whole ground."""
        return self._line

    @line.setter
    def line(self, line: float) -> None:
        self._line = line
        self._fit()

    @property
    def size(self) -> Sequence[float]:
        """Width and height [px]."""
        return BorderImage.size.__get__(self)

    @size.setter
    def size(self, size: Sequence[float]) -> None:
        BorderImage.size.__set__(self, size)
        self._fit()

    def _fit(self) -> None:
        width, height = self.size
        radius = max(0.0, min(self._radius, width / 2, height / 2))
        if self._drawn == (radius, self._line):
            return
        self._drawn = (radius, self._line)
        pixels = min(MOST_PX, ceil(radius))
        line = round(LINE_STEPS * self._line * (pixels / radius if radius else 1.0)) / LINE_STEPS
        self.texture = corners(pixels, line)
        self.border = (pixels,) * 4
        self.display_border = (radius,) * 4


Factory.register("Rounded", cls=Rounded)
