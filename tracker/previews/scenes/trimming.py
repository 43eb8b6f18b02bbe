"""Scenes of the page trimming."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.trimming.trimming import TrimmingPage


def scenes(desk: Any) -> list[Scene]:
    """The page, and how often it is asked."""
    if desk.rug is None:
        return [Scene("trimming", "trimming", {})]

    def asking(page: TrimmingPage) -> None:
        page.ask_interval()

    return [Scene("trimming", "trimming", {}), Scene("trimming-often", "trimming", {}, asking)]
