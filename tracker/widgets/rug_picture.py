"""The rug drawn on the screen: its picture between two selvedges, the current row marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

from kivy.graphics import Color, Line, Rectangle, Triangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from tracker.widgets.look import look

if TYPE_CHECKING:
    import numpy as np


@runtime_checkable
class PackedPicture(Protocol):
    """A picture as plain bytes: `rgb` holds three bytes a knot, bottom row first."""

    width: int
    height: int
    rgb: bytes


def texture_of(picture: np.ndarray | PackedPicture) -> Texture:
    """Return a picture (an RGB array of shape (rows, knots, 3), or its bytes), bottom row first, as a texture."""
    if isinstance(picture, PackedPicture):
        knots, rows, rgb = picture.width, picture.height, picture.rgb
    else:
        (rows, knots), rgb = picture.shape[:2], picture.tobytes()
    texture = Texture.create(size=(knots, rows), colorfmt="rgb")
    texture.mag_filter = "nearest"
    texture.min_filter = "linear"
    texture.blit_buffer(rgb, colorfmt="rgb", bufferfmt="ubyte")
    return texture


class RugPicture(Widget):
    """Shows a rug picture as large as fits, in the rug's own proportions."""

    picture = ObjectProperty(None, allownone=True, force_dispatch=True)
    """uint8 array of shape (rows, knots, 3), bottom row first."""
    aspect = NumericProperty(0.7)
    """Width over length of the real rug."""
    rows = NumericProperty(1)
    row = NumericProperty(0)
    """Rows woven: the mark stands above them."""
    marker = NumericProperty(12)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._texture: Any = None
        self.bind(pos=self._draw, size=self._draw, aspect=self._draw, row=self._draw, rows=self._draw)
        look.bind(tones=self._draw)

    def on_picture(self, _widget: object, picture: Any) -> None:
        self._texture = None if picture is None else texture_of(picture)
        self._draw()

    def frame(self) -> tuple[float, float, float, float]:
        """Return x, y, width and height of the rug on the screen."""
        margin = dp(self.marker)
        room_w, room_h = max(1, self.width - 2 * margin), max(1, self.height - 2 * dp(5))
        width = min(room_w, room_h * self.aspect)
        height = width / self.aspect
        # Not by center_x and center_y: Kivy brings those up to date only after it has told of the new size.
        return self.x + (self.width - width) / 2, self.y + (self.height - height) / 2, width, height

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        if self._texture is None or self.width < 4 or self.height < 4:
            return
        x, y, width, height = self.frame()
        front = y + height * min(1, max(0, self.row / max(1, self.rows)))
        with self.canvas:
            Color(*look.tones["card"])
            Rectangle(pos=(x, y), size=(width, height))
            Color(1, 1, 1, 1)
            Rectangle(texture=self._texture, pos=(x, y), size=(width, height))
            Color(*look.tones["edge"])
            Line(rectangle=(x - dp(1), y - dp(1), width + dp(2), height + dp(2)), width=dp(1))
            if 0 < self.row < self.rows:
                side = dp(self.marker) - dp(3)
                Color(*look.tones["ink"])
                Line(points=[x, front, x + width, front], width=dp(1.2))
                for edge, out in ((x - dp(2), -side), (x + width + dp(2), side)):
                    Triangle(
                        points=[edge, front, edge + out, front + side * 0.7, edge + out, front - side * 0.7]
                    )
