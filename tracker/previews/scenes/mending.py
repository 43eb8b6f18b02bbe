"""Scenes of the page that mends the cartoon."""

from __future__ import annotations

from typing import Any

from tracker.presenters.mending import DOUBTS
from tracker.previews.scene import Scene
from tracker.screens.mending.mending import Tool


def scenes(desk: Any) -> list[Scene]:
    """The sheet, painting, a walk over doubted squares, and a master's remarks."""
    views = [Scene("mending", "mending", {})]
    if desk.rug is None or desk.rug.cartoon is None:
        return views

    def walk(page: Any) -> None:
        row = min(desk.rug.rows_woven + 2, desk.rug.cartoon.rows - 1)
        desk.drafts.put(DOUBTS, {desk.rug.plan.id: [[row, knot] for knot in (9, 14, 3)]})
        page.walk_doubts()

    views.append(Scene("mending-walk", "mending", {}, walk))
    views.append(Scene("mending-paint", "mending", {}, lambda page: page.take_up(Tool.PAINT.value)))
    views.append(Scene("mending-remarks", "mending", {}, lambda page: page.look_over()))
    return views
