"""Scenes of the page settings."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene


def scenes(desk: Any) -> list[Scene]:
    """The page and one of its lists."""
    return [
        Scene("settings", "settings", {}),
        Scene("settings-language", "settings", {}, lambda page: page.ask_language()),
    ]
