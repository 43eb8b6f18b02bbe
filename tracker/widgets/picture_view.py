"""Pictures under a finger: looked at closely, with a cartoon's squares over them, or with four corners to be dragged."""

from __future__ import annotations

from math import hypot
from typing import Any

import numpy as np
from kivy.graphics import Color, Ellipse, InstructionGroup, Line, Mesh, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty
from kivy.uix.stencilview import StencilView

from tracker.widgets.look import look
from tracker.widgets.pinch import pinch_of

WHEEL_STEP = 1.2
SLOP_DP = 8
"""A finger that moved less than this has tapped."""
LEAST_LINES_DP = 6
"""Lines are drawn between squares of at least this side; below, only every tenth."""
EVERY = 10
MID = (0.52, 0.49, 0.45, 0.8)
"""Lines between squares: seen on undyed wool and on walnut alike, in the light and in the dark."""
MOST_MARKS = 3000
"""Squares framed at once at most."""


class PictureView(StencilView):
    """Shows a picture as large as fits; two fingers pinch and drag it, one drags it when it is larger than its place.

    Places in the picture are (x, y) in its points, counted from the top left.
    """

    picture = ObjectProperty(None, allownone=True, force_dispatch=True)
    """uint8 array of shape (height, width, 3), the top row first."""
    smooth = BooleanProperty(True)
    """Whether points melt into each other when shown large, as a photograph's should."""
    cell_aspect = NumericProperty(1.0)
    """Width over height with which a point is shown."""
    zoom = NumericProperty(1.0)
    most_zoom = NumericProperty(12.0)
    margin = NumericProperty(0.0)
    """Air left round the fitted picture, in dp."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._texture: Any = None
        self._fingers: dict[Any, tuple[float, float]] = {}
        self._left = self._top = 0.0
        self._fitted = True
        with self.canvas:
            Color(1, 1, 1, 1)
            self._rect = Rectangle(size=(0, 0))
        self._over = InstructionGroup()
        self.canvas.add(self._over)
        self.bind(pos=self._resized, size=self._resized, cell_aspect=self._resized, margin=self._resized)
        look.bind(tones=self._redraw)

    # --- what is shown

    def on_picture(self, _widget: Any, picture: np.ndarray | None) -> None:
        same = (
            self._texture is not None and picture is not None and self._texture.size == picture.shape[1::-1]
        )
        if picture is None:
            self._texture = None
        else:
            height, width = picture.shape[:2]
            if not same:
                self._texture = Texture.create(size=(width, height), colorfmt="rgb")
                self._texture.mag_filter = "linear" if self.smooth else "nearest"
                self._texture.min_filter = "linear"
            self._texture.blit_buffer(picture[::-1].tobytes(), colorfmt="rgb", bufferfmt="ubyte")
        self._rect.texture = self._texture
        if not same:
            self.fit()
        else:
            self._redraw()

    @property
    def points(self) -> tuple[int, int]:
        """Width and height of the picture in points."""
        return (1, 1) if self.picture is None else (self.picture.shape[1], self.picture.shape[0])

    def scale(self) -> tuple[float, float]:
        """Return the pixels of the screen to a point of the picture, across and along."""
        width, height = self.points
        air = 2 * dp(self.margin)
        wide, high = max(1.0, self.width - air), max(1.0, self.height - air)
        along = min(wide / (width * self.cell_aspect), high / height) * self.zoom
        return along * self.cell_aspect, along

    def on_screen(self, x: float, y: float) -> tuple[float, float]:
        """Return where a place of the picture lies in the window's own pixels (of the parent)."""
        across, along = self.scale()
        return self._left + x * across, self._top - y * along

    def in_picture(self, px: float, py: float) -> tuple[float, float]:
        """Return the place of the picture under a place on the screen."""
        across, along = self.scale()
        return (px - self._left) / across, (self._top - py) / along

    def fit(self) -> None:
        """Show the whole picture."""
        self.zoom = 1.0
        self._place()

    def centre_on(self, x: float, y: float, zoom: float | None = None) -> None:
        """Bring a place of the picture into the middle."""
        if zoom is not None:
            self.zoom = min(self.most_zoom, max(1.0, zoom))
        across, along = self.scale()
        self._left = self.x + self.width / 2 - x * across
        self._top = self.y + self.height / 2 + y * along
        self._place()

    def zoom_by(self, factor: float, point: tuple[float, float] | None = None) -> None:
        """Come closer or go back, keeping what lies at `point` where it is."""
        px, py = point or (self.x + self.width / 2, self.y + self.height / 2)
        x, y = self.in_picture(px, py)
        self.zoom = min(self.most_zoom, max(1.0, self.zoom * factor))
        across, along = self.scale()
        self._left, self._top = px - x * across, py + y * along
        self._place()

    def move_by(self, right: float, up: float) -> None:
        """Drag the picture, as far as its edges allow."""
        self._left += right
        self._top += up
        self._place()

    def _resized(self, *_args: Any) -> None:
        self._place()

    def _place(self) -> None:
        across, along = self.scale()
        wide, high = self.points[0] * across, self.points[1] * along
        air = dp(self.margin)
        if wide <= self.width - 2 * air + 0.5:
            self._left = self.x + (self.width - wide) / 2
        else:
            self._left = min(self.x + air, max(self.x + self.width - air - wide, self._left))
        if high <= self.height - 2 * air + 0.5:
            self._top = self.y + (self.height + high) / 2
        else:
            self._top = max(self.y + self.height - air, min(self.y + air + high, self._top))
        self._redraw()

    def seen(self) -> tuple[float, float, float, float]:
        """Return left, top, right, bottom of the part of the picture that is on the screen."""
        left, top = self.in_picture(self.x, self.y + self.height)
        right, bottom = self.in_picture(self.x + self.width, self.y)
        width, height = self.points
        return max(0.0, left), max(0.0, top), min(float(width), right), min(float(height), bottom)

    def _redraw(self, *_args: Any) -> None:
        if self._texture is None:
            self._rect.size = (0, 0)
            self._over.clear()
            return
        across, along = self.scale()
        width, height = self.points
        self._rect.pos = (self._left, self._top - height * along)
        self._rect.size = (width * across, height * along)
        self._over.clear()
        self.draw_over(self._over)

    def draw_over(self, over: InstructionGroup) -> None:
        """Draw what lies over the picture."""

    # --- fingers

    def catches(self, touch: Any) -> bool:
        """Return whether a first finger here does something of its own rather than drag the picture."""
        return False

    def on_touch_down(self, touch: Any) -> bool:
        if self._texture is None or not self.collide_point(*touch.pos):
            return bool(super().on_touch_down(touch))
        if touch.is_mouse_scrolling:
            self.zoom_by(WHEEL_STEP if touch.button == "scrolldown" else 1 / WHEEL_STEP, touch.pos)
            return True
        touch.grab(self)
        touch.ud[self] = [touch.pos, False]
        first = not self._fingers
        self._fingers[touch.uid] = touch.pos
        if first and self.catches(touch):
            touch.ud[self].append("own")
            self.own_down(touch)
        elif not first:
            self.own_stopped()
        return True

    def on_touch_move(self, touch: Any) -> bool:
        if touch.grab_current is not self or touch.uid not in self._fingers:
            return bool(super().on_touch_move(touch))
        before = dict(self._fingers)
        self._fingers[touch.uid] = touch.pos
        start = touch.ud[self][0]
        if hypot(touch.x - start[0], touch.y - start[1]) > dp(SLOP_DP):
            touch.ud[self][1] = True
        if len(before) == 1:
            if "own" in touch.ud[self]:
                self.own_move(touch)
            elif touch.ud[self][1]:
                ox, oy = before[touch.uid]
                self.move_by(touch.x - ox, touch.y - oy)
        elif touch.uid in list(before)[:2]:
            pinch = pinch_of(before.values(), self._fingers.values())
            self.move_by(pinch.right, pinch.up)
            self.zoom_by(pinch.factor, pinch.middle)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        touch.ungrab(self)
        alone = len(self._fingers) == 1
        self._fingers.pop(touch.uid, None)
        state = touch.ud.pop(self, [touch.pos, True])
        if "own" in state:
            self.own_up(touch)
        elif alone and not state[1]:
            self.tapped(touch)
        return True

    def own_down(self, touch: Any) -> None:
        """A finger that `catches` took came down."""

    def own_move(self, touch: Any) -> None:
        """That finger moved."""

    def own_up(self, touch: Any) -> None:
        """That finger was lifted."""

    def own_stopped(self) -> None:
        """A second finger came down: what the first one did ends, and the two pinch."""

    def tapped(self, touch: Any) -> None:
        """A finger tapped without dragging."""


class CornerView(PictureView):
    """A photograph with four corners that can be dragged, and a magnifier beside the finger."""

    corners = ListProperty([])
    """Four (x, y) in points of the picture: top left, top right, bottom right, bottom left; empty for none."""
    detail = ObjectProperty(None, allownone=True, force_dispatch=True)
    """The picture in full, for the magnifier; None: the shown one serves."""

    boxed = BooleanProperty(False)
    """Whether the four corners stay an upright box: a corner takes its two neighbours along."""

    __events__ = ("on_moved",)

    REACH_DP = 34
    """A finger this near to a corner takes it."""
    GLASS_DP = 128
    NEARER = 3.0
    """How many times nearer the magnifier shows than the fitted picture."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._held: int | None = None
        self._dragged = False
        self._offset = (0.0, 0.0)
        self._glass: Texture | None = None
        self._before: list[tuple[float, float]] = []
        """Where the corners go when what the finger does comes to nothing."""
        self.bind(corners=self._redraw)

    def on_moved(self, corners: tuple[tuple[float, float], ...]) -> None:
        """A corner was dragged to another place and let go."""

    def on_picture(self, widget: Any, picture: np.ndarray | None) -> None:
        self._held = None
        super().on_picture(widget, picture)

    def place(self, corners: list[tuple[float, float]]) -> None:
        """Set the corners; while a finger drags one, all stay as they are for it."""
        if self._held is None:
            self.corners = corners
        else:
            self._before = corners

    def _nearest(self, px: float, py: float) -> tuple[int, float]:
        places = [self.on_screen(*corner) for corner in self.corners]
        away = [hypot(px - x, py - y) for x, y in places]
        best = min(range(len(away)), key=away.__getitem__)
        return best, away[best]

    def catches(self, touch: Any) -> bool:
        return bool(self.corners) and self._nearest(*touch.pos)[1] <= dp(self.REACH_DP)

    def own_down(self, touch: Any) -> None:
        self._held = self._nearest(*touch.pos)[0]
        x, y = self.on_screen(*self.corners[self._held])
        # The corner keeps its distance from the finger: it must not jump when it is taken beside its middle.
        self._offset = (x - touch.x, y - touch.y)
        self._before, self._dragged = list(self.corners), False
        self._redraw()

    def hold(self, corner: int) -> None:
        """Take a corner without a finger, so that the magnifier shows."""
        self._held = corner
        self._redraw()

    def own_move(self, touch: Any) -> None:
        if self._held is None:
            return
        x, y = self.in_picture(touch.x + self._offset[0], touch.y + self._offset[1])
        width, height = self.points
        corners = list(self.corners)
        x, y = min(max(x, 0.0), float(width)), min(max(y, 0.0), float(height))
        if self.boxed:
            # The corners go round: the ones above and below each other share x, those side by side share y.
            beside, above = self._held ^ 1, 3 - self._held
            corners[beside] = (corners[beside][0], y)
            corners[above] = (x, corners[above][1])
        corners[self._held] = (x, y)
        self._dragged = self._dragged or corners != self.corners
        self.corners = corners

    def own_up(self, _touch: Any) -> None:
        held, self._held = self._held, None
        self._redraw()
        if held is None:
            return
        if self._dragged:
            self.dispatch("on_moved", tuple(self.corners))
        else:
            self.corners = self._before

    def own_stopped(self) -> None:
        if self._held is not None:
            self._held = None
            self.corners = self._before

    def draw_over(self, over: InstructionGroup) -> None:
        if len(self.corners) != 4:
            return
        places = [self.on_screen(*corner) for corner in self.corners]
        loop = [part for place in (*places, places[0]) for part in place]
        for tone, width in (("card", 3.2), ("indigo", 1.6)):
            over.add(Color(*look.tones[tone]))
            over.add(Line(points=loop, width=dp(width)))
        for index, (x, y) in enumerate(places):
            held = index == self._held
            for tone, radius in (("card", 15), ("indigo", 12.5), ("card", 8.5)):
                over.add(Color(*look.tones[tone][:3], 0.35 if tone == "card" and radius < 10 else 1))
                if not (held and radius < 10):
                    over.add(Line(circle=(x, y, dp(radius)), width=dp(2 if radius > 10 else 1.2)))
            over.add(Color(*look.tones["madder" if held else "indigo"]))
            over.add(Ellipse(pos=(x - dp(3), y - dp(3)), size=(dp(6), dp(6))))
        if self._held is not None:
            self._draw_glass(over)

    def _draw_glass(self, over: InstructionGroup) -> None:
        """Draw the surroundings of the held corner enlarged, in the upper corner away from the finger."""
        detail = self.picture if self.detail is None else self.detail
        x, y = self.corners[self._held or 0]
        finer = detail.shape[1] / self.points[0]
        side = dp(self.GLASS_DP)
        half = max(6, int(side / (2 * self.NEARER) / self.scale()[1] * self.zoom * finer))
        # Where a page is being laid out the view may be a pixel high for a moment, and the surroundings without end.
        half = min(half, max(detail.shape[:2]))
        row, column = int(y * finer), int(x * finer)
        height, width = detail.shape[:2]
        # Outside the picture the glass shows nothing: the corner stays in its middle.
        part = np.zeros((2 * half, 2 * half, 3), dtype=np.uint8)
        top, bottom, left, right = row - half, row + half, column - half, column + half
        t, b, le, r = max(0, top), min(height, bottom), max(0, left), min(width, right)
        if b > t and r > le:
            part[t - top : b - top, le - left : r - left] = detail[t:b, le:r]
        if self._glass is None or self._glass.size != (2 * half, 2 * half):
            self._glass = Texture.create(size=(2 * half, 2 * half), colorfmt="rgb")
            self._glass.mag_filter = "nearest"
        self._glass.blit_buffer(part[::-1].tobytes(), colorfmt="rgb", bufferfmt="ubyte")
        finger = self.on_screen(x, y)
        gap = dp(8)
        at_left = finger[0] > self.x + self.width / 2
        gx = self.x + gap if at_left else self.x + self.width - gap - side
        gy = self.y + self.height - gap - side
        if finger[1] > gy - dp(30) and abs(finger[0] - (gx + side / 2)) < side * 0.75:
            gy = self.y + gap
        over.add(Color(*look.tones["card"]))
        over.add(Rectangle(pos=(gx - dp(3), gy - dp(3)), size=(side + dp(6), side + dp(6))))
        over.add(Color(1, 1, 1, 1))
        over.add(Rectangle(texture=self._glass, pos=(gx, gy), size=(side, side)))
        middle = (gx + side / 2, gy + side / 2)
        for tone, width_dp in (("card", 2.6), ("madder", 1.3)):
            over.add(Color(*look.tones[tone]))
            over.add(Line(points=[gx, middle[1], gx + side, middle[1]], width=dp(width_dp) / 2))
            over.add(Line(points=[middle[0], gy, middle[0], gy + side], width=dp(width_dp) / 2))
        over.add(Color(*look.tones["ink"]))
        over.add(Line(rectangle=(gx - dp(3), gy - dp(3), side + dp(6), side + dp(6)), width=dp(1.2)))


class GridView(PictureView):
    """A cartoon, or the straightened picture of one, with its squares' lines over it and some squares framed."""

    knots = NumericProperty(0)
    rows = NumericProperty(0)
    marked = ListProperty([])
    """(row, knot) squares to frame, both from 0, row 0 at the bottom."""
    here = ObjectProperty(None, allownone=True)
    """(row, knot) the square spoken of; None for none."""
    lines = BooleanProperty(True)

    __events__ = ("on_square",)

    def __init__(self, **kwargs: Any) -> None:
        self._aim: tuple[int, int, float] | None = None
        super().__init__(**kwargs)
        for name in ("knots", "rows", "marked", "here", "lines"):
            self.fbind(name, self._redraw)

    def on_square(self, row: int, knot: int) -> None:
        """A square was tapped."""

    def cell(self) -> tuple[float, float]:
        """Return the width and height of a square on the screen, in pixels."""
        across, along = self.scale()
        width, height = self.points
        return across * width / max(1, self.knots), along * height / max(1, self.rows)

    def square_at(self, px: float, py: float) -> tuple[int, int] | None:
        """Return (row, knot) of the square at a place on the screen; None beside the cartoon."""
        wide, high = self.cell()
        knot, from_top = int((px - self._left) // wide), int((self._top - py) // high)
        if 0 <= knot < self.knots and 0 <= from_top < self.rows:
            return self.rows - 1 - from_top, knot
        return None

    def show_square(self, row: int, knot: int, side: float) -> None:
        """Bring a square into the middle, `side` pixels high."""
        self.zoom = 1.0
        self._aim = (row, knot, side)
        high = max(1e-6, self.cell()[1])
        width, height = self.points
        x = (knot + 0.5) * width / max(1, self.knots)
        y = (self.rows - row - 0.5) * height / max(1, self.rows)
        self.centre_on(x, y, side / high)

    def _resized(self, *_args: Any) -> None:
        super()._resized()
        if self._aim is not None:
            # A page is filled before it is laid out: the square is brought into the middle of its real place.
            self.show_square(*self._aim)

    def on_touch_down(self, touch: Any) -> bool:
        if self.collide_point(*touch.pos):
            self._aim = None
        return super().on_touch_down(touch)

    def tapped(self, touch: Any) -> None:
        square = self.square_at(*touch.pos)
        if square is not None:
            self.dispatch("on_square", *square)

    def draw_over(self, over: InstructionGroup) -> None:
        if not self.knots or not self.rows:
            return
        wide, high = self.cell()
        if self.lines:
            self._draw_lines(over, wide, high)
        self._draw_marks(over, wide, high)
        if self.here is not None:
            row, knot = self.here
            x, y = self._left + knot * wide, self._top - (self.rows - row) * high
            for tone, air, width in (("card", 3.0, 2.6), ("indigo", 3.0, 1.6)):
                over.add(Color(*look.tones[tone]))
                over.add(
                    Line(
                        rectangle=(x - dp(air), y - dp(air), wide + 2 * dp(air), high + 2 * dp(air)),
                        width=dp(width),
                    )
                )

    def _draw_lines(self, over: InstructionGroup, wide: float, high: float) -> None:
        left, right = max(self.x, self._left), min(self.x + self.width, self._left + self.knots * wide)
        top, bottom = min(self.y + self.height, self._top), max(self.y, self._top - self.rows * high)
        if right <= left or top <= bottom:
            return
        for every, ink, width in (
            (1, MID, 1.0),
            (EVERY, look.tones["card"], 2.6),
            (EVERY, look.tones["ink"], 1.2),
        ):
            if min(wide, high) * every < dp(LEAST_LINES_DP):
                continue
            ends: list[float] = []
            first = max(0, int((left - self._left) / wide))
            last = min(self.knots, int((right - self._left) / wide) + 1)
            for knot in range(-(-first // every) * every, last + 1, every):
                x = self._left + knot * wide
                ends += [x, bottom, 0, 0, x, top, 0, 0]
            first = max(0, int((self._top - top) / high))
            last = min(self.rows, int((self._top - bottom) / high) + 1)
            for line in range(first, last + 1):
                # Tens are counted from the first row woven, as a weaver counts.
                if (self.rows - line) % every == 0:
                    y = self._top - line * high
                    ends += [left, y, 0, 0, right, y, 0, 0]
            over.add(Color(*ink))
            if every == 1:
                over.add(Mesh(vertices=ends, indices=list(range(len(ends) // 4)), mode="lines"))
                continue
            for at in range(0, len(ends), 8):
                x0, y0, x1, y1 = ends[at], ends[at + 1], ends[at + 4], ends[at + 5]
                over.add(Line(points=[x0, y0, x1, y1], width=dp(width) / 2))

    def _draw_marks(self, over: InstructionGroup, wide: float, high: float) -> None:
        drawn = 0
        for tone, grow, width in (("card", 1.0, 2.4), ("madder", 1.0, 1.3)):
            over.add(Color(*look.tones[tone]))
            for row, knot in self.marked[:MOST_MARKS]:
                x, y = self._left + knot * wide, self._top - (self.rows - row) * high
                if (
                    x + wide < self.x
                    or x > self.x + self.width
                    or y + high < self.y
                    or y > self.y + self.height
                ):
                    continue
                # A square too small to be framed is framed with air, so that it can be found.
                air = max(dp(grow), (dp(7) - wide) / 2)
                over.add(
                    Line(rectangle=(x - air, y - air, wide + 2 * air, high + 2 * air), width=dp(width) / 1.4)
                )
                drawn += 1
                if drawn > 2 * 400:
                    return


class KnotView(GridView):
    """A cartoon's squares large enough for a finger: tapped, or painted over with a sliding finger."""

    painting = BooleanProperty(False)
    """Whether a finger paints rather than drags."""
    least_paint_dp = NumericProperty(22)
    """A square must be at least this high to be painted; smaller ones are dragged past."""
    woven = NumericProperty(0)
    """Rows woven: a line is drawn above them."""

    __events__ = ("on_stroke",)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._stroke: list[tuple[int, int]] = []
        self.fbind("woven", self._redraw)

    def on_stroke(self, squares: tuple[tuple[int, int], ...]) -> None:
        """A finger went over these squares and was lifted."""

    def catches(self, touch: Any) -> bool:
        return (
            self.painting
            and self.cell()[1] >= dp(self.least_paint_dp)
            and self.square_at(*touch.pos) is not None
        )

    def own_down(self, touch: Any) -> None:
        self._stroke = []
        self._last = touch.pos
        self._add(touch.pos)

    def own_move(self, touch: Any) -> None:
        # A quick finger skips squares: what lies between its places is painted, too.
        (ax, ay), (bx, by) = self._last, touch.pos
        steps = max(1, int(2 * hypot(bx - ax, by - ay) / max(1.0, min(self.cell()))))
        for step in range(1, steps + 1):
            self._add((ax + (bx - ax) * step / steps, ay + (by - ay) * step / steps))
        self._last = touch.pos

    def own_up(self, _touch: Any) -> None:
        stroke, self._stroke = tuple(self._stroke), []
        self._redraw()
        if stroke:
            self.dispatch("on_stroke", stroke)

    def own_stopped(self) -> None:
        self._stroke = []
        self._redraw()

    def _add(self, place: tuple[float, float]) -> None:
        square = self.square_at(*place)
        if square is not None and square not in self._stroke:
            self._stroke.append(square)
            self._redraw()

    def draw_over(self, over: InstructionGroup) -> None:
        super().draw_over(over)
        wide, high = self.cell()
        if 0 < self.woven < self.rows:
            y = self._top - (self.rows - self.woven) * high
            for tone, width in (("card", 3.0), ("ink", 1.6)):
                over.add(Color(*look.tones[tone]))
                over.add(Line(points=[self._left, y, self._left + self.knots * wide, y], width=dp(width)))
        over.add(Color(*look.tones["indigo"][:3], 0.55))
        for row, knot in self._stroke:
            over.add(
                Rectangle(
                    pos=(self._left + knot * wide, self._top - (self.rows - row) * high), size=(wide, high)
                )
            )
