"""The rug's picture under two fingers: pinched, dragged, fitted; days along its side. Uploaded to the screen once."""

from __future__ import annotations

from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, InstructionGroup, Line, PopMatrix, PushMatrix, Rectangle, Translate, Triangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget
from kivy.utils import get_color_from_hex

from tracker.widgets.look import look
from tracker.widgets.pinch import pinch_of
from tracker.widgets.rug_picture import texture_of
from tracker.widgets.spacing import without_overlap

LARGEST_KNOT_DP = 40
"""Side of a knot at the nearest."""
KEY_STEP = 1.6
WHEEL_STEP = 1.2


class RugZoom(Widget):
    """Shows a picture at any size; only its place on the screen changes while a finger moves."""

    picture = ObjectProperty(None, allownone=True, force_dispatch=True)
    aspect = NumericProperty(0.7)
    rows = NumericProperty(1)
    row = NumericProperty(0)
    row_words = StringProperty("")
    woven = ListProperty([])
    """`SideMark`s of the days woven."""
    ahead = ListProperty([])
    """`SideMark`s of the rows to come."""
    lots = ListProperty([])
    """Changes of dye lot (row, words, swatch, planned), each a line across the rug under its row."""
    mistakes = ListProperty([])
    """Knots to be outlined (row, left, right), left and right as shares of the rug's width."""
    picking = BooleanProperty(False)
    """The next touch names a place instead of moving the picture."""
    margins = ListProperty([0, 0, 0, 0])
    """Left, top, right, bottom pixels that other widgets cover."""
    zoom = NumericProperty(1.0)

    __events__ = ("on_place",)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._texture = None
        self._left = self._bottom = 0.0
        self._fingers: dict[Any, tuple[float, float]] = {}
        self._words: dict[Any, Any] = {}
        self._column_of: tuple[Any, float] = (None, 0.0)
        self._middle: tuple[float, float] | None = None
        with self.canvas:
            self._paper = Color(*look.tones["card"])
            self._white = Color(1, 1, 1, 1)
            self._rect = Rectangle(size=(0, 0))
            self._edge_colour = Color(*look.tones["edge"])
            self._edges = Line(points=[], width=dp(1))
            PushMatrix()
            self._shift = Translate(0, 0)
        self._marks = InstructionGroup()
        self.canvas.add(self._marks)
        self.canvas.add(PopMatrix())
        self._frames = InstructionGroup()
        self.canvas.add(self._frames)
        self.bind(pos=self._resized, size=self._resized, margins=self._resized, aspect=self._resized)
        self.bind(
            rows=self._relabel,
            row=self._relabel,
            woven=self._resized,
            ahead=self._resized,
            lots=self._relabel,
            mistakes=self._frame_mistakes,
            row_words=self._resized,
        )
        look.bind(tones=self._recolour, type_sizes=self._reword)

    # --- what is shown

    def on_picture(self, _widget: object, picture: Any) -> None:
        self._texture = None if picture is None else texture_of(picture)
        self._rect.texture = self._texture
        self._place()
        self._relabel()

    def _recolour(self, *_args: Any) -> None:
        self._edge_colour.rgba = look.tones["edge"]
        self._reword()

    def _reword(self, *_args: Any) -> None:
        self._words.clear()
        self._column_of = (None, 0.0)
        self._resized()

    def _area(self) -> tuple[float, float, float, float]:
        """Return x, y, width and height of the place for the picture itself, the days' column left out."""
        left, top, right, bottom = self.margins
        width = max(1.0, self.width - left - right - self._column())
        return self.x + left, self.y + bottom, width, max(1.0, self.height - top - bottom)

    def _column(self) -> float:
        """Width of the column of days: as wide as its longest words."""
        words = {(mark.words, "ink", False) for mark in self.woven}
        words |= {(mark.words, "indigo", True) for mark in self.ahead}
        words.add((self.row_words, "ink", True))
        key = frozenset(words)
        if self._column_of[0] != key:
            widest = max((self._label(*one).width for one in words if one[0]), default=0)
            self._column_of = (key, widest + dp(20))
        return self._column_of[1]

    def _base(self) -> tuple[float, float]:
        """Return the size of the picture when it is fitted."""
        _x, _y, width, height = self._area()
        width, height = max(1.0, width - dp(16)), max(1.0, height - dp(24))
        fitted = min(width, height * self.aspect)
        return fitted, fitted / self.aspect

    def most_zoom(self) -> float:
        """Return the zoom at which a knot has its largest size."""
        if self._texture is None:
            return 1.0
        knot = self._base()[1] / max(1, self.rows)
        return max(1.0, dp(LARGEST_KNOT_DP) / max(knot, 1e-6))

    def _resized(self, *_args: Any) -> None:
        middle = self._middle
        self.zoom = min(self.zoom, self.most_zoom())
        if middle is not None:
            self._centre_on(*middle)
        else:
            self._place()
        self._relabel()

    def _size(self) -> tuple[float, float]:
        width, height = self._base()
        return width * self.zoom, height * self.zoom

    def _place(self) -> None:
        """Keep the picture within its bounds and put its visible part on the screen."""
        x, y, width, height = self._area()
        w, h = self._size()
        air = dp(10)
        self._left = x + (width - w) / 2 if w <= width else min(x, max(x + width - w, self._left))
        self._bottom = (
            y + (height - h) / 2
            if h <= height - 2 * air
            else min(y + air, max(y + height - air - h, self._bottom))
        )
        if self._texture is None:
            self._rect.size = (0, 0)
            self._edges.points = []
            self._frames.clear()
            return
        # Only what can be seen is drawn: no stencil, and the days' column stays clear.
        left, right = max(x, self._left), min(x + width, self._left + w)
        bottom, top = max(self.y, self._bottom), min(self.y + self.height, self._bottom + h)
        u0, u1 = (left - self._left) / w, (right - self._left) / w
        v0, v1 = (bottom - self._bottom) / h, (top - self._bottom) / h
        self._rect.pos = (left, bottom)
        self._rect.size = (max(0, right - left), max(0, top - bottom))
        self._rect.tex_coords = (u0, v0, u1, v0, u1, v1, u0, v1)
        self._edges.points = [left, bottom, right, bottom, right, top, left, top, left, bottom]
        self._shift.y = self._bottom
        self._frame_mistakes()
        if w > 0 and h > 0:
            self._middle = ((x + width / 2 - self._left) / w, (y + height / 2 - self._bottom) / h)

    # --- the days beside it

    def _label(self, words: str, tone: str, bold: bool = False) -> Any:
        key = (words, tone, bold)
        texture = self._words.get(key)
        if texture is None:
            label = CoreLabel(
                text=words, font_size=look.type_sizes["small"], bold=bold, color=look.tones[tone]
            )
            label.refresh()
            texture = self._words[key] = label.texture
        return texture

    def _relabel(self, *_args: Any) -> None:
        """Choose which days have room at this zoom and lay them out from the picture's lower edge."""
        marks = self._marks
        marks.clear()
        if self._texture is None:
            return
        x, _y, width, _height = self._area()
        w, h = self._size()
        row_height = h / max(1, self.rows)
        left, right = max(x, x + (width - w) / 2), min(x + width, x + (width + w) / 2)
        line = look.type_sizes["small"] * 1.25
        at_row = self.row * row_height
        column = right + dp(12)

        def put(instruction: Any) -> None:
            marks.add(instruction)

        def words(texture: Any, at_x: float, at_y: float) -> None:
            put(Color(1, 1, 1, 1))
            put(Rectangle(texture=texture, pos=(at_x, at_y - texture.height / 2), size=texture.size))

        def clear_of_row(height: float) -> bool:
            return abs(height - at_row) >= line * 1.1

        # woven: a bracket as long as the day's rows, and the day
        tops = [mark.rows_up * row_height for mark in self.woven]
        for mark in self.woven:
            put(Color(*look.tones["edge"]))
            low, high = (mark.from_row - 1) * row_height + dp(1), mark.to_row * row_height - dp(1)
            put(Line(points=[right + dp(5), low, right + dp(5), max(low + 1, high)], width=dp(1.5)))
        for index in without_overlap(tops, line):
            if clear_of_row(tops[index]):
                words(self._label(self.woven[index].words, "ink"), column, tops[index])
        # ahead: a line across the pale part with the range on it, the middle day beside it
        ahead = [mark for mark in self.ahead if mark.from_row > self.row]
        heights = [mark.rows_up * row_height for mark in ahead]
        for index in without_overlap(heights, line * 2.1):
            height = heights[index]
            if not clear_of_row(height):
                continue
            put(Color(*look.tones["indigo"]))
            put(Line(points=[left, height, right + dp(8), height], width=dp(1), dash_length=4, dash_offset=4))
            words(self._label(ahead[index].words, "indigo", True), column, height)
            if any(abs(height - (mark.row - 1) * row_height) < line for mark in self.lots):
                continue  # a change of lot is drawn across just here
            span = self._label(ahead[index].span, "ink")
            if span.width + dp(20) <= right - left:
                put(Color(*look.tones["card"]))
                put(
                    Rectangle(
                        pos=(left + dp(6), height - span.height / 2), size=(span.width + dp(8), span.height)
                    )
                )
                words(span, left + dp(10), height)
        self._mark_lots(left, right, row_height)
        # the row at the loom
        if 0 < self.row < self.rows:
            put(Color(*look.tones["card"]))
            put(Line(points=[left, at_row, right, at_row], width=dp(2.4)))
            put(Color(*look.tones["ink"]))
            put(Line(points=[left, at_row, right, at_row], width=dp(1.2)))
            side = dp(9)
            put(
                Triangle(
                    points=[
                        right + dp(1),
                        at_row,
                        right + side,
                        at_row + side * 0.7,
                        right + side,
                        at_row - side * 0.7,
                    ]
                )
            )
            words(self._label(self.row_words, "ink", True), column, at_row)

    def _frame_mistakes(self, *_args: Any) -> None:
        """Outline the marked knots where they lie at this zoom, never smaller than can be seen."""
        frames = self._frames
        frames.clear()
        if self._texture is None:
            return
        x, y, width, height = self._area()
        w, h = self._size()
        for mistake in self.mistakes:
            wide = max(dp(12), (mistake.right - mistake.left) * w + dp(4))
            high = max(dp(12), h / max(1, self.rows) + dp(4))
            across = self._left + (mistake.left + mistake.right) / 2 * w
            up = self._bottom + (mistake.row - 0.5) / max(1, self.rows) * h
            left, right = max(x, across - wide / 2), min(x + width, across + wide / 2)
            low, top = max(y, up - high / 2), min(y + height, up + high / 2)
            if right <= left or top <= low:
                continue  # it lies beside what is shown
            for tone, thick in (("card", dp(2.6)), ("madder", dp(1.4))):
                frames.add(Color(*look.tones[tone]))
                corners = [left, low, right, low, right, top, left, top]
                frames.add(Line(points=corners, close=True, width=thick))

    def _mark_lots(self, left: float, right: float, row_height: float) -> None:
        """Draw each change of dye lot: a line under its row, the lot's name on it at the right where there is room."""
        marks = self._marks
        heights = [(mark.row - 1) * row_height for mark in self.lots]
        named = set(without_overlap(heights, look.type_sizes["small"] * 1.6))
        for index, (mark, height) in enumerate(zip(self.lots, heights, strict=True)):
            marks.add(Color(*look.tones["card"]))
            marks.add(Line(points=[left, height, right, height], width=dp(2.4)))
            marks.add(Color(*look.tones["madder"]))
            dashes = {"dash_length": 6, "dash_offset": 4} if mark.planned else {}
            marks.add(
                Line(points=[left, height, right, height], width=dp(1 if mark.planned else 1.2), **dashes)
            )
            label = self._label(mark.words, "ink")
            wide = label.width + dp(32)
            if index not in named or wide > right - left:
                continue
            middle = self._beside_row_line(height, label.height, self.row * row_height)
            low = middle - label.height / 2
            marks.add(Color(*look.tones["card"]))
            marks.add(Rectangle(pos=(right - dp(6) - wide, low), size=(wide, label.height)))
            marks.add(Color(*get_color_from_hex(mark.swatch)))
            side = label.height * 0.7
            marks.add(Rectangle(pos=(right - wide, middle - side / 2), size=(side, side)))
            marks.add(Color(1, 1, 1, 1))
            marks.add(Rectangle(texture=label, pos=(right - wide + dp(20), low), size=label.size))

    def _beside_row_line(self, height: float, label_px: float, at_row: float) -> float:
        """Return the height of a label's middle: `height`, or so far off that the line of the row at the loom does not cross it."""
        clear = label_px / 2 + dp(3)
        if not 0 < self.row < self.rows or abs(height - at_row) >= clear:
            return height
        return at_row + clear if height >= at_row else at_row - clear

    # --- moving it

    def fit(self) -> None:
        """Show the whole rug."""
        self.zoom = 1.0
        self._place()
        self._relabel()

    def zoom_by(self, factor: float, point: tuple[float, float] | None = None) -> None:
        """Come closer or go back, keeping what lies at `point` (window place; None: the middle) where it is."""
        x, y, width, height = self._area()
        px, py = point or (x + width / 2, y + height / 2)
        w, h = self._size()
        u, v = (px - self._left) / w, (py - self._bottom) / h
        zoom = min(self.most_zoom(), max(1.0, self.zoom * factor))
        if zoom == self.zoom:
            return
        self.zoom = zoom
        w, h = self._size()
        self._left, self._bottom = px - u * w, py - v * h
        self._place()
        self._relabel()

    def move_by(self, right: float, up: float) -> None:
        """Drag the picture, as far as its edges allow."""
        self._left += right
        self._bottom += up
        self._place()

    def _centre_on(self, u: float, v: float) -> None:
        x, y, width, height = self._area()
        w, h = self._size()
        self._left, self._bottom = x + width / 2 - u * w, y + height / 2 - v * h
        self._place()

    def go_to_row(self) -> None:
        """Come close to the row at the loom."""
        knot = self._base()[1] / max(1, self.rows)
        self.zoom = min(self.most_zoom(), max(2.0, dp(10) / max(knot, 1e-6)))
        self._centre_on(self._middle[0] if self._middle else 0.5, self.row / max(1, self.rows))
        self._relabel()

    # --- fingers

    def on_touch_down(self, touch: Any) -> bool:
        if self._texture is None or not self.collide_point(*touch.pos):
            return super().on_touch_down(touch)
        if touch.is_mouse_scrolling:
            self.zoom_by(WHEEL_STEP if touch.button == "scrolldown" else 1 / WHEEL_STEP, touch.pos)
            return True
        if self.picking:
            self._pick(touch.pos)
            return True
        if touch.is_double_tap and not self._fingers:
            self.fit() if self.zoom > 1.01 else self.zoom_by(3.0, touch.pos)
            return True
        touch.grab(self)
        self._fingers[touch.uid] = touch.pos
        return True

    def _pick(self, point: tuple[float, float]) -> None:
        """Tell which place of the rug was touched; beside the rug nothing was."""
        w, h = self._size()
        across, up = (point[0] - self._left) / w, (point[1] - self._bottom) / h
        if 0 <= across < 1 and 0 <= up < 1:
            self.dispatch("on_place", int(up * self.rows) + 1, across)

    def on_place(self, row: int, across: float) -> None:
        """A place was touched: its row from 1, and how far across from the left, 0 to below 1."""

    def on_touch_move(self, touch: Any) -> bool:
        if touch.grab_current is not self or touch.uid not in self._fingers:
            return super().on_touch_move(touch)
        before = dict(self._fingers)
        self._fingers[touch.uid] = touch.pos
        if len(before) == 1:
            ox, oy = before[touch.uid]
            self.move_by(touch.x - ox, touch.y - oy)
        elif touch.uid in list(before)[:2]:
            pinch = pinch_of(before.values(), self._fingers.values())
            self.move_by(pinch.right, pinch.up)
            self.zoom_by(pinch.factor, pinch.middle)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        self._fingers.pop(touch.uid, None)
        return True
