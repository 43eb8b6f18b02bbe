"""A few rows of the cartoon, large: the row at the loom framed, the run in hand and mistakes marked, dragged along with a finger."""

from __future__ import annotations

from typing import Any

from kivy.graphics import (
    Color,
    Line,
    Rectangle,
    RoundedRectangle,
    Triangle,
)
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from tracker.widgets.look import look
from tracker.widgets.motion import glide
from tracker.widgets.rounded import Rounded
from tracker.widgets.rug_picture import texture_of

EVERY = 10
"""A hairline after so many knots, to count by."""
ROW_TALLER = 2.6
"""How many times taller than the others the row at the loom is drawn."""
SLOP_DP = 8


class RowStrip(Widget):
    """Shows part of a strip's width at a readable size; `on_knot` tells which knot was tapped."""

    strip = ObjectProperty(None, allownone=True, force_dispatch=True)
    """`tracker.presenters.loom.RowStrip`."""
    cell = NumericProperty(8)
    """Side of a knot on the screen, in dp."""
    place = NumericProperty(0)
    """Knots already tied in the row."""
    run = NumericProperty(0)
    """Knots of the run in hand."""
    lift = NumericProperty(0.0)
    """How far above its place the picture still is, in rows: 0 at rest."""

    __events__ = ("on_knot",)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._texture = None
        self._start = 0.0
        self.bind(pos=self._draw, size=self._follow, cell=self._follow, place=self._follow, run=self._follow)
        self.bind(lift=self._draw)
        look.bind(tones=self._draw)

    def on_knot(self, knot: int) -> None:
        """A knot (from 0) was tapped."""

    def on_strip(self, _widget: object, strip: Any) -> None:
        self._texture = None if strip is None else texture_of(strip.picture)
        self._follow()

    def bring(self, knot: int) -> None:
        """Bring a knot (from 0) into view, with a little of what lies before it."""
        self._start = min(self._most(), max(0.0, (knot - 6) * self.side))
        self._draw()

    def rise(self) -> None:
        """Let the row just done sink into the woven ones: the woven line rises by it."""
        glide(self, {"lift": 1.0}, {"lift": 0.0})

    @property
    def side(self) -> float:
        """Side of a knot in pixels."""
        return dp(self.cell)

    def _most(self) -> float:
        if self.strip is None:
            return 0.0
        return max(0.0, self.strip.picture.shape[1] * self.side - self.width)

    def _follow(self, *_args: Any) -> None:
        """Bring the run in hand into view, with a little of what was before it."""
        self.bring(self.place)

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        if self._texture is None or self.width < 4 or self.height < 4:
            return
        rows, knots = self.strip.picture.shape[:2]
        side = self.side
        self._start = min(self._most(), max(0.0, self._start))
        whole = knots * side
        u0, u1 = self._start / whole, min(1.0, (self._start + self.width) / whole)
        width = min(self.width, whole)
        gap, tall = dp(4), side * ROW_TALLER
        room = int((self.height - tall - 2 * gap) // side)
        above = min(max(0, room // 2), rows - 1 - self.strip.row_index)
        below = min(max(0, room - above), self.strip.row_index)
        y = self.y + self.height / 2 - ((above + below) * side + tall + 2 * gap) / 2 + self.lift * side
        base, at_top = y + below * side + gap, y + below * side + gap + tall
        low, middle = self.strip.row_index - below, self.strip.row_index

        def piece(first: int, many: int, bottom: float, height: float) -> None:
            v0, v1 = first / rows, (first + many) / rows
            Rectangle(
                texture=self._texture,
                pos=(self.x, bottom),
                size=(width, height),
                tex_coords=(u0, v0, u1, v0, u1, v1, u0, v1),
            )

        with self.canvas:
            Color(1, 1, 1, 1)
            piece(low, below, y, below * side)
            piece(middle, 1, base, tall)
            piece(middle + 1, above, at_top + gap, above * side)
            Color(*look.tones["edge"][:3], 0.55)
            for knot in range(EVERY, knots, EVERY):
                x = self.x + knot * side - self._start
                if self.x < x < self.x + width:
                    Line(points=[x, y, x, base], width=1)
                    Line(points=[x, at_top, x, at_top + gap + above * side], width=1)
            # A dark border on the dark ground has no end of its own.
            for bottom, many in ((y, below), (at_top + gap, above)):
                if many:
                    Line(rectangle=(self.x, bottom, width, many * side), width=1)
            Color(*look.tones["ink"])
            Line(rectangle=(self.x, base - dp(1), width, tall + dp(2)), width=dp(1.3))
            Color(*look.tones["madder"])
            for before, count in self.strip.mistakes:
                left = max(self.x, self.x + before * side - self._start)
                right = min(self.x + width, self.x + (before + count) * side - self._start)
                if right > left:
                    Line(rectangle=(left, base - dp(1), right - left, tall + dp(2)), width=dp(2.4))
            if self.run:
                left = self.x + self.place * side - self._start
                right = min(self.x + width, left + self.run * side)
                left = max(self.x, left)
                if right > left:
                    for tone, thick in (("card", dp(3.6)), ("indigo", dp(2))):
                        Color(*look.tones[tone])
                        Line(rectangle=(left, base - dp(1), right - left, tall + dp(2)), width=thick)
                    point, tip = (left + right) / 2, dp(9)
                    for tone, grow in (("card", dp(3)), ("indigo", 0.0)):
                        Color(*look.tones[tone])
                        foot = base - dp(5) - tip * 1.3 - grow
                        Triangle(
                            points=[point, base - dp(2), point - tip - grow, foot, point + tip + grow, foot]
                        )

    # --- a finger along the strip

    def on_touch_down(self, touch: Any) -> bool:
        if self.strip is None or not self.collide_point(*touch.pos) or touch.is_mouse_scrolling:
            return super().on_touch_down(touch)
        touch.grab(self)
        touch.ud["strip"] = (touch.x, self._start, False)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return super().on_touch_move(touch)
        x, start, moved = touch.ud["strip"]
        if moved or abs(touch.x - x) > dp(SLOP_DP):
            touch.ud["strip"] = (x, start, True)
            self._start = start - (touch.x - x)
            self._draw()
        return True

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        if not touch.ud["strip"][2]:
            knot = int((touch.x - self.x + self._start) // self.side)
            if 0 <= knot < self.strip.picture.shape[1]:
                self.dispatch("on_knot", knot)
        return True


class RowBar(Widget):
    """The whole row to scale, thin, with the run in hand framed: how far along it is, and where the next change comes."""

    strip = ObjectProperty(None, allownone=True, force_dispatch=True)
    """`tracker.presenters.loom.RowStrip`."""
    place = NumericProperty(0)
    run = NumericProperty(0)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._texture = None
        self.bind(pos=self._draw, size=self._draw, place=self._draw, run=self._draw)
        look.bind(tones=self._draw)

    def on_strip(self, _widget: object, strip: Any) -> None:
        self._texture = (
            None if strip is None else texture_of(strip.picture[strip.row_index : strip.row_index + 1])
        )
        self._draw()

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        if self._texture is None or self.width < 4 or self.height < 12:
            return
        knots = self._texture.width
        thick = self.height - dp(12)
        with self.canvas:
            # A pale row would melt into the ground.
            Color(*look.tones["band"])
            Rounded(
                pos=(self.x - dp(1), self.y + dp(5)),
                size=(self.width + dp(2), thick + dp(2)),
                radius=thick / 2 + dp(1),
            )
            Color(1, 1, 1, 1)
            RoundedRectangle(
                texture=self._texture,
                pos=(self.x, self.y + dp(6)),
                size=(self.width, thick),
                radius=[thick / 2],
            )
            if self.run:
                left = self.x + self.width * self.place / knots
                wide = max(dp(8), self.width * self.run / knots)
                left = min(left, self.x + self.width - wide)
                for tone, thick_line in (("ground", dp(5)), ("ink", dp(2))):
                    rim = thick_line / 2
                    Color(*look.tones[tone])
                    Rounded(
                        pos=(left - rim, self.y + dp(2) - rim),
                        size=(wide + thick_line, self.height - dp(4) + thick_line),
                        radius=dp(5) + rim,
                        line=thick_line,
                    )
