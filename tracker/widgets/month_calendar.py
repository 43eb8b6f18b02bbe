"""A month drawn by us: days woven, days off, today, the range of the last row as a light band, and when all is ready."""

from __future__ import annotations

import math
from typing import Any

from kivy.core.window import Window
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from tracker.widgets.basics import Column, Text, load_kv
from tracker.widgets.plain_label import PlainLabel

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
