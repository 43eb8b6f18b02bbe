"""Scenes of the page that mends the cartoon."""

from __future__ import annotations

from functools import partial
from typing import Any

from tracker.presenters.mending import DOUBTS
from tracker.previews.scene import Scene
from tracker.screens.mending.mending import Tool


def scenes(desk: Any) -> list[Scene]:
    """The sheet, each tool in hand, a walk over doubted squares, what an exchange asks, and a master's remarks."""
    views = [Scene("mending", "mending", {})]
    if desk.rug is None or desk.rug.cartoon is None:
        return views

    def walk(page: Any) -> None:
        row = min(desk.rug.rows_woven + 2, desk.rug.cartoon.rows - 1)
        desk.drafts.put(DOUBTS, {desk.rug.plan.id: [[row, knot] for knot in (9, 14, 3)]})
        page.walk_doubts()

    views.append(Scene("mending-walk", "mending", {}, walk))
    for tool in (Tool.PAINT, Tool.FILL, Tool.EXCHANGE):
        views.append(Scene(f"mending-{tool.value}", "mending", {}, partial(_take_up, tool)))

    def exchanging(page: Any) -> None:
        _take_up(Tool.EXCHANGE, page)
        page.touch_square((min(desk.rug.rows_woven + 2, desk.rug.cartoon.rows - 1), 0))

    views.append(Scene("mending-exchanging", "mending", {}, exchanging))
    views.append(Scene("mending-remarks", "mending", {}, lambda page: page.look_over()))
    return views


def _take_up(tool: Tool, page: Any) -> None:
    page.take_up(tool.value)
