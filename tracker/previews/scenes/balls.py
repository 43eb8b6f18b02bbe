"""Scenes of the page balls."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.screens.balls.balls import BallsPage


def scenes(desk: Any) -> list[Scene]:
    """To the end, for the next rows, and who sits where."""
    told = [Scene("balls", "balls", {})]
    if desk.rug is None:
        return told

    def next_rows(page: BallsPage) -> None:
        page.set_rows(20)

    return [
        *told,
        Scene("balls-rows", "balls", {}, next_rows),
        Scene("balls-who", "balls", {}, lambda page: page.ask_who()),
    ]
