"""Scenes of the page finish."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.finish.finish import FinishPage
from tracker.widgets.look import look
from tracker.widgets.month_calendar import MonthCalendar  # noqa: F401 - used by the kv file


def scenes(desk: Any) -> list[Scene]:
    """This month, the month of the finish, the lower end of the page, a day's sheet, a step's sheet, the end."""
    views = [Scene("finish", "finish", {})]
    if desk.rug is None:
        return views

    def at_finish(page: FinishPage) -> None:
        page.show_finish()
        if look.shape == "tall":
            page.ids.scroll.scroll_y = 0.62

    def below(page: FinishPage) -> None:
        page.ids.scroll.scroll_y = 0

    def day(page: FinishPage) -> None:
        page.tap_day(page.desk.today() + timedelta(days=1))

    def stepping(page: FinishPage) -> None:
        page.open_step()

    return [
        *views,
        Scene("finish-month", "finish", {}, at_finish),
        Scene("finish-below", "finish", {}, below),
        Scene("finish-day", "finish", {}, day),
        Scene("finish-step", "finish", {}, stepping),
        Scene("finish-end", "finish", {}, lambda page: page.call_finished()),
    ]
