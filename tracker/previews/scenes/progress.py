"""Scenes of the page progress."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.progress.progress import ProgressPage
from tracker.widgets.chart import ChartView  # noqa: F401 - used by the kv file


def scenes(desk: Any) -> list[Scene]:
    """The charts from above, and one with a point touched."""
    views = [Scene("progress", "progress", {})]
    if desk.rug is None:
        return views

    def touched(page: ProgressPage) -> None:
        for card in (page.ids.dates, page.ids.weeks):
            if card.chart and len(card.chart.points) > 4:
                card.ids.view.picked = 4
                card.read(4)

    def below(page: ProgressPage) -> None:
        page.ids.scroll.scroll_y = 0

    return [
        *views,
        Scene("progress-touched", "progress", {}, touched),
        Scene("progress-below", "progress", {}, below),
    ]
