"""Scenes of the page shopping."""

from __future__ import annotations

from typing import Any

from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.whole_plan import whole_plan
from tracker.previews.scene import Scene
from tracker.shell.page import there


def scenes(desk: Any) -> list[Scene]:
    """The list, and the form of a purchase."""
    views = [Scene("shopping", "shopping", {})]
    if desk.rug is not None:
        words = build_shopping_state(desk.rug, there(whole_plan.of(desk)), desk.answers)
        line = next((line for group in words.groups for line in group.lines if not line.bought), None)
        if line is not None:
            views.append(Scene("shopping-bought", "shopping", {}, lambda page: page.tick(line)))
    return views
