"""Scenes of the page unpick."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.unpick.unpick import UnpickPage


def scenes(desk: Any) -> list[Scene]:
    """The page for the topmost row, and for some rows of many colours."""
    views = [Scene("unpick", "unpick", {})]
    if desk.rug is None or desk.rug.rows_woven < 4:
        return views

    def below(page: UnpickPage) -> None:
        page.ids.scroll.scroll_y = 0

    row = desk.rug.rows_woven - 3
    return [
        *views,
        Scene("unpick-rows", "unpick", {"row": row}),
        Scene("unpick-below", "unpick", {"row": row}, below),
    ]
