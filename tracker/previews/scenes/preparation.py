"""Scenes of the page preparation."""

from __future__ import annotations

from typing import Any

from tracker.presenters.preparation import (
    build_preparation_state,
)
from tracker.presenters.whole_plan import whole_plan
from tracker.previews.scene import Scene
from tracker.shell.page import there


def scenes(desk: Any) -> list[Scene]:
    """The checklist, and the form that notes several with their time."""
    views = [Scene("preparation", "preparation", {})]
    if desk.rug is not None:
        words = build_preparation_state(desk.rug, there(whole_plan.of(desk)), desk.today())
        line = next((line for group in words.groups for line in group.lines if line.yarn_id), None)
        if line is not None:
            views.append(Scene("preparation-note", "preparation", {}, lambda page: page.note(line)))
    return views
