"""A month drawn by us: days woven, days off, today, the range of the last row as a light band, and when all is ready."""

from __future__ import annotations

import math
from typing import Any, ClassVar

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.graphics import Color, Line, Rectangle, SmoothLine
from kivy.graphics.vertex_instructions import SmoothTriangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from tracker.widgets.basics import Column, Text, load_kv
from tracker.widgets.look import look
from tracker.widgets.plain_label import PlainLabel
from tracker.widgets.rounded import Rounded

SLIP_DP = 8
"""A finger that moved farther than this meant to scroll, even where the list has not begun to follow it yet."""


class DayFace(PlainLabel):
    """How a day looks."""

    rows_share = NumericProperty(0.0)
    woven = BooleanProperty(False)
    off = BooleanProperty(False)
    today = BooleanProperty(False)
    in_range = BooleanProperty(False)
    middle = BooleanProperty(False)
    ready = BooleanProperty(False)
    wished = BooleanProperty(False)
    picked = BooleanProperty(False)
    faint = BooleanProperty(False)
    down = BooleanProperty(False)

    DRAWN_BY: ClassVar = (
        "pos", "size", "rows_share", "woven", "off", "today", "in_range", "middle", "ready", "wished", "picked",
        "down",
    )  # fmt: skip

    # In Python, as `Text`, and only what a day shows: in kv each of a page's hundred days held nine shapes, most of them clear.

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._draw_soon = Clock.create_trigger(self._draw, -1)
        for names, follow in (
            (("size",), self._fit),
            (("today", "middle", "ready", "down", "faint"), self._dress),
            (self.DRAWN_BY, self._draw_soon),
        ):
            for name in names:
                self.fbind(name, follow)
        look.follow(self)
        self._fit()
        self.look_changed()

    def look_changed(self) -> None:
        """Colours or type sizes are others now."""
        self._fit()
        self._dress()
        self._draw_soon()

    def _fit(self, *_args: Any) -> None:
        # Two figures never touch those of the next day, however large the type.
        self.font_size = min(look.type_sizes["body"], self.width * 0.6)
        self.text_size = self.width, self.height

    def _dress(self, *_args: Any) -> None:
        self.bold = self.today or self.middle or self.ready
        self.color = look.tones["on_act" if self.middle and not self.down else "ink"]
        self.opacity = 0.55 if self.faint else 1

    def _draw(self, *_args: Any) -> None:
        """Draw what the day shows, from its ground up."""
        tones, (x, y), (width, height) = look.tones, self.pos, self.size
        right, top = x + width, y + height
        in_band = self.in_range and not self.middle
        inset, within = (x + dp(2), y + dp(2)), (width - dp(4), height - dp(4))
        ground = (
            "pressed"
            if self.down
            else "act"
            if self.middle
            else "chosen"
            if self.in_range
            else "field"
            if self.off
            else ""
        )
        self.canvas.before.clear()
        with self.canvas.before:
            if ground:
                Color(*tones[ground])
                if in_band:
                    Rounded(pos=(x, y + dp(1)), size=(width, height - dp(2)))
                else:
                    Rounded(radius=dp(12), pos=inset, size=within)
            if in_band:
                # A line along the foot of its days, so that the range is not colour alone.
                Color(*tones["band"])
                Rectangle(pos=(x, y + dp(1)), size=(width, dp(3)))
            if self.woven:
                # As long as the day's rows.
                Color(*tones["on_act" if self.middle else "green"])
                bar = (width - dp(12)) * max(0.18, self.rows_share)
                Rounded(pos=(x + width / 2 - bar / 2, y + dp(9)), size=(bar, dp(5)), radius=dp(2))
            if self.off:
                # Struck through from corner to corner.
                Color(*tones["madder"])
                SmoothLine(width=dp(1.2), points=(x + dp(7), y + dp(7), right - dp(7), top - dp(7)))
            if self.ready:
                # The rug is ready: a tick in one corner.
                Color(*tones["on_act" if self.middle else "indigo"])
                tick = (x + dp(5), top - dp(10), x + dp(9), top - dp(14), x + dp(17), top - dp(5))
                SmoothLine(width=dp(1.6), points=tick)
            if self.wished:
                # A pennant in the other.
                Color(*tones["madder"])
                edge = right - dp(4)
                SmoothTriangle(points=(edge, top - dp(3), right - dp(18), top - dp(8), edge, top - dp(13)))
                Line(width=dp(1.2), points=(edge, top - dp(3), edge, top - dp(22)))
            if self.today or self.picked:
                Color(*tones["ink"])
                Rounded(radius=dp(13), line=dp(2), pos=inset, size=within)


class CalendarDay(ButtonBehavior, DayFace):
    """A day that can be tapped."""

    value = ObjectProperty(None, allownone=True)

    def on_touch_up(self, touch: Any) -> bool:
        moved = math.hypot((touch.sx - touch.osx) * Window.width, (touch.sy - touch.osy) * Window.height)
        if touch.grab_current is self and moved > dp(SLIP_DP):
            touch.ungrab(self)
            self._do_release()
            return True
        return super().on_touch_up(touch)

    def on_state(self, _widget: object, state: str) -> None:
        self.down = state == "down"


class LegendEntry(Column):
    """A sample of a day's look and what it means."""

    words = StringProperty("")
    face = ListProperty([])


class MonthCalendar(Column):
    """Shows a `MonthState`; `on_day` tells which day was tapped."""

    month = ObjectProperty(None, allownone=True, force_dispatch=True)
    picked = ObjectProperty(None, allownone=True)

    __events__ = ("on_day",)

    def on_day(self, day: Any) -> None:
        """A day was tapped."""

    def on_picked(self, *_args: Any) -> None:
        for cell in self.ids.days.children:
            cell.picked = cell.value == self.picked

    def on_month(self, _widget: object, month: Any) -> None:
        if month is None:
            return
        heads, grid = self.ids.heads, self.ids.days
        if len(heads.children) != 7:
            for _head in range(7):
                heads.add_widget(Text(style="small", tone="soft", halign="center"))
        for head, words in zip(reversed(heads.children), month.weekdays, strict=True):
            head.text = words
        while len(grid.children) > len(month.days):
            grid.remove_widget(grid.children[0])
        while len(grid.children) < len(month.days):
            cell = CalendarDay()
            cell.bind(on_release=lambda cell: self.dispatch("on_day", cell.value))
            grid.add_widget(cell)
        for cell, day in zip(reversed(grid.children), month.days, strict=True):
            # The answer is read as well in the last days of the month before.
            told = day.in_range or day.middle or day.ready or day.wished
            cell.value, cell.text, cell.faint = day.day, day.figure, not (day.in_month or told)
            cell.woven, cell.rows_share, cell.off = day.woven, day.share, day.off
            cell.today, cell.in_range, cell.middle = day.today, day.in_range, day.middle
            cell.ready, cell.wished = day.ready, day.wished
            cell.picked = day.day == self.picked


load_kv(__file__)
