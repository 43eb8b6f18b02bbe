"""Scenes of the page zoom."""

from __future__ import annotations

from typing import Any

from tracker.presenters.marks import DrawnMark
from tracker.previews.scene import Scene
from tracker.screens.zoom.zoom import ZoomPage
from tracker.widgets.rug_zoom import KEY_STEP, RugZoom  # noqa: F401 - used by the kv file


def scenes(desk: Any) -> list[Scene]:
    """The whole rug, the row at the loom, as close as it goes, and the mistakes marked."""
    views = [Scene("zoom", "zoom", {})]
    if desk.rug is None:
        return views

    def fitted(page: ZoomPage) -> None:
        page.ids.closer.fit()

    def at_row(page: ZoomPage) -> None:
        page.ids.closer.go_to_row()

    def marks(page: ZoomPage) -> None:
        page.open_marks()

    def marked(page: ZoomPage) -> None:
        # A mark on paper only: the book stays as it is.
        page.ids.closer.go_to_row()
        row = desk.rug.rows_woven
        page.ids.closer.mistakes = [
            DrawnMark(max(1, row - 2), 0.45, 0.5),
            DrawnMark(max(1, row - 9), 0.6, 0.62),
        ]

    def nearest(page: ZoomPage) -> None:
        page.ids.closer.zoom_by(3)

    return [
        Scene("zoom", "zoom", {}, fitted),
        Scene("zoom-row", "zoom", {}, at_row),
        Scene("zoom-knots", "zoom", {}, nearest),
        Scene("zoom-marked", "zoom", {}, marked),
        Scene("zoom-marks", "zoom", {}, marks),
    ]
