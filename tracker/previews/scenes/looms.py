"""Scenes of the page looms."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.looms.looms import LoomsPage


def scenes(desk: Any) -> list[Scene]:
    """The looms, the form of a new one, and what can be done with one."""
    told = [Scene("looms", "looms", {}), Scene("looms-add", "looms", {}, lambda page: page.add_loom())]
    if not desk.looms():
        return told

    def opened(page: LoomsPage) -> None:
        page.open_loom(page.state.cards[0])

    return [*told, Scene("looms-one", "looms", {}, opened)]
