"""Scenes of the page yarn."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene


def scenes(desk: Any) -> list[Scene]:
    """The page as it stands."""
    return [Scene("yarn", "yarn", {})]
