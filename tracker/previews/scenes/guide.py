"""Scenes of the page guide."""

from __future__ import annotations

from typing import Any

from tracker.presenters.guide import GuideStage
from tracker.previews.scene import Scene


def scenes(desk: Any) -> list[Scene]:
    """The list, the stage of the warp, and that of the washing with its cautions."""
    if desk.rug is None:
        return [Scene("guide", "guide", {})]
    return [
        Scene("guide-list", "guide", {}),
        Scene("guide", "guide", {"stage": GuideStage.WARP.value}),
        Scene("guide-wash", "guide", {"stage": GuideStage.WASH.value}),
    ]
