"""Scenes of the page zoom."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.zoom.zoom import ZoomPage
from tracker.widgets.rug_zoom import KEY_STEP, RugZoom  # noqa: F401 - used by the kv file


def scenes(desk: Any) -> list[Scene]:
    """The whole rug, the row at the loom, and as close as it goes."""
    found = [Scene("zoom", "zoom", {})]
    if desk.rug is None:
        return found

    def fitted(page: ZoomPage) -> None:
        page.ids.closer.fit()

    def at_row(page: ZoomPage) -> None:
        page.ids.closer.go_to_row()

    def nearest(page: ZoomPage) -> None:
        page.ids.closer.zoom_by(3)

    return [
        Scene("zoom", "zoom", {}, fitted),
        Scene("zoom-row", "zoom", {}, at_row),
        Scene("zoom-knots", "zoom", {}, nearest),
    ]
