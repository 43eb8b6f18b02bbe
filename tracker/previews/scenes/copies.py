"""Scenes of the page copies."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene


def scenes(desk: Any) -> list[Scene]:
    """The page, and what going back means."""
    views = [Scene("copies", "copies", {})]
    if desk.copies():
        views.append(
            Scene(
                "copies-go-back", "copies", {}, lambda page: page.open_copy(page.ids.copies.children[-1].line)
            )
        )
    return views
