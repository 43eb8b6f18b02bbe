"""A chart drawn by us: a line in its light band, bars with their values, or dots with a line through them; touched to read."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Line, Mesh, Rectangle, SmoothLine
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from tracker.widgets.look import look
from tracker.widgets.rounded import Rounded


class ChartView(Widget):
    """Draws a `tracker.presenters.progress.Chart`; `picked` is the point under the finger, -1 for none."""

    chart = ObjectProperty(None, allownone=True)
    picked = NumericProperty(-1)

    __events__ = ("on_read",)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(pos=self._draw, size=self._draw, picked=self._draw)
        look.bind(tones=self._draw, type_sizes=self._draw)

    def on_read(self, index: int) -> None:
        """A point is under the finger."""

    def on_chart(self, *_args: Any) -> None:
        if self.chart is None or self.picked >= len(self.chart.points):
            self.picked = -1
        self._draw()

    # --- scales

    def _labels(self) -> tuple[list[tuple[float, Any]], list[tuple[float, Any]]]:
        size = look.type_sizes["small"]

        def texture(words: str) -> Any:
            label = CoreLabel(text=words, font_size=size, color=look.tones["soft"])
            label.refresh()
            return label.texture

        chart = self.chart
        return (
            [(at, texture(words)) for at, words in chart.x_ticks],
            # Bars carry their values; a scale beside them would say the same twice.
            [] if self._valued() else [(at, texture(words)) for at, words in chart.y_ticks],
        )

    def _valued(self) -> bool:
        """Tell whether every bar has room for its value."""
        points = self.chart.points
        return (
            self.chart.kind == "bars"
            and any(point.figure for point in points)
            and self.width / max(1, len(points)) >= look.type_sizes["small"] * 1.3
        )

    def _plot(self, y_labels: list[tuple[float, Any]]) -> tuple[float, float, float, float]:
        """Return x, y, width and height of the plot inside its labels."""
        gutter = max((t.width for _at, t in y_labels), default=-dp(8)) + dp(8)
        foot = look.type_sizes["small"] * 1.5
        head = look.type_sizes["small"] * (
            1.4 if self.chart.kind == "bars" else 0.7 if self.chart.guide is None else 1.6
        )
        return (
            self.x + gutter,
            self.y + foot,
            max(1, self.width - gutter - dp(8)),
            max(1, self.height - foot - head),
        )

    def _scales(self) -> Any:
        x, y, width, height = self._frame
        (x0, x1), (y0, y1) = self.chart.x_range, self.chart.y_range

        def across(value: float) -> float:
            return x + (value - x0) / max(1e-9, x1 - x0) * width

        def up(value: float) -> float:
            return y + (value - y0) / max(1e-9, y1 - y0) * height

        return across, up

    # --- drawing

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        chart = self.chart
        if chart is None or not chart.points or self.width < 40 or self.height < 40:
            return
        x_labels, y_labels = self._labels()
        self._frame = self._plot(y_labels)
        _x, y, _width, height = self._frame
        across, up = self._scales()
        with self.canvas:
            if chart.band is not None:
                self._draw_band(up)
            self._draw_axes(x_labels, y_labels, across, up)
            if chart.kind == "bars":
                self._draw_bars(across, up)
            elif chart.kind == "line":
                self._draw_line(across, up)
            else:
                self._draw_dots(across, up)
            if chart.guide is not None:
                self._draw_guide(across, up)
            if 0 <= self.picked < len(chart.points):
                x_picked = across(chart.points[self.picked].x)
                # A bar is seen by its own colour; a line would run through its value.
                if chart.kind != "bars":
                    Color(*look.tones["ink"])
                    Line(points=[x_picked, y, x_picked, y + height], width=dp(1))
                    self._dot(x_picked, up(chart.points[self.picked].y), dp(6), "ink")

    def _draw_band(self, up: Callable[[float], float]) -> None:
        x, _y, width, _height = self._frame
        low, high = (up(level) for level in self.chart.band)
        Color(*look.tones["chosen"])
        Rectangle(pos=(x, low), size=(width, high - low))

    def _draw_axes(
        self,
        x_labels: list[tuple[float, Any]],
        y_labels: list[tuple[float, Any]],
        across: Callable[[float], float],
        up: Callable[[float], float],
    ) -> None:
        x, y, width, _height = self._frame
        taken = -1e9
        for tick, texture in y_labels:
            level = up(tick)
            Color(*look.tones["line"])
            Line(points=[x, level, x + width, level], width=1)
            if level - texture.height * 0.9 >= taken:
                Color(1, 1, 1, 1)
                Rectangle(
                    texture=texture,
                    pos=(x - dp(8) - texture.width, level - texture.height / 2),
                    size=texture.size,
                )
                taken = level
        end = -1e9
        for tick, texture in x_labels:
            left = min(max(self.x, across(tick) - texture.width / 2), self.x + self.width - texture.width)
            if left < end:
                continue
            Color(*look.tones["edge"])
            Line(points=[across(tick), y, across(tick), y - dp(4)], width=1)
            Color(1, 1, 1, 1)
            Rectangle(texture=texture, pos=(left, self.y), size=texture.size)
            end = left + texture.width + dp(8)
        Color(*look.tones["edge"])
        foot = (
            up(max(self.chart.y_range[0], min(0.0, self.chart.y_range[1])))
            if self.chart.kind == "bars"
            else y
        )
        Line(points=[x, foot, x + width, foot], width=dp(1))

    def _draw_bars(self, across: Callable[[float], float], up: Callable[[float], float]) -> None:
        chart = self.chart
        points = chart.points
        step = min(
            (across(after.x) - across(before.x) for before, after in pairwise(points)),
            default=self._frame[2] / 3,
        )
        wide = max(1.0, min(dp(44), step * 0.72))
        for index, point in enumerate(points):
            foot, top = up(0.0), up(point.y)
            if abs(top - foot) < 1:
                continue
            tone = "ink" if index == self.picked else "indigo" if point.y > 0 else "madder"
            Color(*look.tones[tone])
            tall = abs(top - foot)
            Rounded(
                pos=(across(point.x) - wide / 2, min(foot, top)),
                size=(wide, tall),
                radius=min(dp(5), wide / 3, tall / 2),
            )
            if self._valued() and point.figure:
                label = CoreLabel(
                    text=point.figure, font_size=look.type_sizes["small"], color=look.tones["ink"]
                )
                label.refresh()
                value = label.texture
                Color(1, 1, 1, 1)
                Rectangle(
                    texture=value,
                    pos=(across(point.x) - value.width / 2, max(foot, top) + dp(1)),
                    size=value.size,
                )

    def _draw_line(self, across: Callable[[float], float], up: Callable[[float], float]) -> None:
        points = self.chart.points
        vertices: list[float] = []
        for point in points:
            x_point = across(point.x)
            for level in (
                up(point.low if point.low is not None else point.y),
                up(point.high if point.high is not None else point.y),
            ):
                vertices += [x_point, level, 0, 0]
        Color(*look.tones["chosen"])
        Mesh(vertices=vertices, indices=list(range(len(points) * 2)), mode="triangle_strip")
        Color(*look.tones["indigo"])
        SmoothLine(points=[c for p in points for c in (across(p.x), up(p.y))], width=dp(1.6))
        for point in points:
            self._dot(across(point.x), up(point.y), dp(4), "indigo")

    def _draw_dots(self, across: Callable[[float], float], up: Callable[[float], float]) -> None:
        chart = self.chart
        if len(chart.trend) > 1:
            Color(*look.tones["madder"])
            SmoothLine(points=[c for x, y in chart.trend for c in (across(x), up(y))], width=dp(1.6))
        small = dp(3.5) if len(chart.points) < 120 else dp(2)
        for point in chart.points:
            self._dot(across(point.x), up(point.y), small, "indigo")

    def _draw_guide(self, across: Callable[[float], float], up: Callable[[float], float]) -> None:
        value, words = self.chart.guide
        x, _y, width, _height = self._frame
        level = up(value)
        Color(*look.tones["madder"])
        Line(points=[x, level, x + width, level], width=dp(1), dash_length=6, dash_offset=4)
        label = CoreLabel(
            text=words, font_size=look.type_sizes["small"], bold=True, color=look.tones["madder"]
        )
        label.refresh()
        texture = label.texture
        # named in the corner above the plot, clear of every line
        top = self.y + self.height
        middle = top - texture.height / 2
        left = x + width - texture.width
        Color(*look.tones["madder"])
        if left - dp(34) >= self.x:
            Line(
                points=[left - dp(34), middle, left - dp(6), middle],
                width=dp(1),
                dash_length=6,
                dash_offset=4,
            )
        Color(1, 1, 1, 1)
        Rectangle(texture=texture, pos=(left, top - texture.height), size=texture.size)

    def _dot(self, x: float, y: float, radius: float, tone: str) -> None:
        Color(*look.tones["card"])
        rim = radius + dp(1)
        Rounded(pos=(x - rim, y - rim), size=(2 * rim, 2 * rim), radius=rim)
        Color(*look.tones[tone])
        Rounded(pos=(x - radius, y - radius), size=(2 * radius, 2 * radius), radius=radius)

    # --- reading

    def nearest(self, x: float) -> int:
        """Return the point nearest to a window place; -1 without any."""
        chart = self.chart
        if chart is None or not chart.points or not hasattr(self, "_frame"):
            return -1
        across, _up = self._scales()
        return min(range(len(chart.points)), key=lambda at: abs(across(chart.points[at].x) - x))

    def _read(self, touch: Any) -> None:
        index = self.nearest(touch.x)
        if index >= 0:
            self.picked = index
            self.dispatch("on_read", index)

    def on_touch_down(self, touch: Any) -> bool:
        if (
            self.chart is None
            or not self.chart.points
            or touch.is_mouse_scrolling
            or not self.collide_point(*touch.pos)
        ):
            return super().on_touch_down(touch)
        touch.grab(self)
        self._read(touch)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return super().on_touch_move(touch)
        self._read(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        return True
