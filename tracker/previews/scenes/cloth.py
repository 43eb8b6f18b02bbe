"""Scenes of the page cloth."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.cloth.cloth import ClothPage
from tracker.screens.progress.progress import ChartCard  # noqa: F401 - used by the kv file


def scenes(desk: Any) -> list[Scene]:
    """The page, its number pad, its lower end."""
    views = [Scene("cloth", "cloth", {})]
    if desk.rug is None:
        return views

    def below(page: ClothPage) -> None:
        page.ids.scroll.scroll_y = 0

    return [
        *views,
        Scene("cloth-pad", "cloth", {}, lambda page: page.ask_reading("length_cm")),
        Scene("cloth-below", "cloth", {}, below),
    ]
