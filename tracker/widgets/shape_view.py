"""The woven part of the rug as it stands on the loom, its faults enlarged, over its planned shape in dashes."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Line, Mesh, Rectangle, SmoothLine
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from tracker.widgets.look import look

DASH, GAP = 6, 5
"""Of the planned shape's outline, in dp."""


class ShapeView(Widget):
    """Draws a `tracker.presenters.cloth_shape.ShapeDrawing`."""

    drawing = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self._draw, size=self._draw, drawing=self._draw)
        look.bind(tones=self._draw, type_sizes=self._draw)

    def _label(self, words: str) -> Any:
        if not words:
            return None
        label = CoreLabel(text=words, font_size=look.type_sizes["small"], color=look.tones["ink"], bold=True)
        label.refresh()
        return label.texture

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        drawing = self.drawing
        if drawing is None or self.width < 40 or self.height < 40:
            return
        top, left, right = (self._label(words) for words in (drawing.top, drawing.left, drawing.right))
        beside = max((label.width for label in (left, right) if label), default=0) + dp(10)
        above = (top.height if top else 0) + dp(8)
        wide, long = drawing.planned
        xs = [x for x, _y in drawing.outline] + [0.0, wide]
        ys = [y for _x, y in drawing.outline] + [0.0, long]
        across, along = max(xs) - min(xs), max(ys) - min(ys)
        scale = min(
            max(self.width - 2 * beside, dp(20)) / across,
            max(self.height - above - dp(6), dp(20)) / along,
        )
        x0 = self.x + self.width / 2 - (max(xs) + min(xs)) / 2 * scale
        y0 = self.y + dp(4) + (self.height - above - dp(6) - along * scale) / 2 - min(ys) * scale

        def place(x: float, y: float) -> tuple[float, float]:
            return x0 + x * scale, y0 + y * scale

        corners = [place(x, y) for x, y in drawing.outline]
        half = len(corners) // 2
        lefts, rights = corners[:half], corners[half:][::-1]
        planned = [place(x, y) for x, y in ((0, 0), (0, long), (wide, long), (wide, 0), (0, 0))]
        with self.canvas:
            Color(*look.tones["chosen"])
            Mesh(
                vertices=[
                    v for pair in zip(lefts, rights, strict=True) for x, y in pair for v in (x, y, 0, 0)
                ],
                indices=list(range(len(corners))),
                mode="triangle_strip",
            )
            if drawing.diagonals:
                Color(*look.tones["edge"])
                SmoothLine(points=[*lefts[0], *rights[-1]], width=dp(1))
                SmoothLine(points=[*rights[0], *lefts[-1]], width=dp(1))
            Color(*look.tones["soft"])
            for (ax, ay), (bx, by) in pairwise(planned):
                self._dashes(ax, ay, bx, by)
            Color(*look.tones["indigo"])
            SmoothLine(points=[c for corner in corners for c in corner], width=dp(1.6), close=True)
            Color(1, 1, 1, 1)
            if top:
                middle = (lefts[-1][0] + rights[-1][0]) / 2
                highest = max(y for _x, y in [*corners, *planned])
                Rectangle(texture=top, pos=(middle - top.width / 2, highest + dp(3)), size=top.size)
            for label, edge, is_left in ((left, lefts, True), (right, rights, False)):
                if not label:
                    continue
                up = (edge[0][1] + edge[-1][1]) / 2 - label.height / 2
                outer = min(x for x, _y in [*edge, planned[0]]) if is_left else max(
                    x for x, _y in [*edge, planned[2]]
                )  # fmt: skip
                at = outer - dp(6) - label.width if is_left else outer + dp(6)
                Rectangle(texture=label, pos=(at, up), size=label.size)

    @staticmethod
    def _dashes(ax: float, ay: float, bx: float, by: float) -> None:
        long = max(((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5, 1e-6)
        step, start = dp(DASH + GAP), 0.0
        while start < long:
            end = min(start + dp(DASH), long)
            Line(
                points=[
                    ax + (bx - ax) * start / long, ay + (by - ay) * start / long,
                    ax + (bx - ax) * end / long, ay + (by - ay) * end / long,
                ],
                width=dp(1),
            )  # fmt: skip
            start += step
