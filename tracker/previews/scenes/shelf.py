"""Scenes of the page shelf."""

from __future__ import annotations

from typing import Any

from tracker.domain.rug import RugStage
from tracker.previews.scene import Scene
from tracker.widgets.rug_picture import RugPicture  # noqa: F401 - used by the kv file


def scenes(desk: Any) -> list[Scene]:
    """The shelf, what can be done with a rug, and what a finished one taught."""
    views = [Scene("shelf", "shelf", {})]
    if desk.rug is None:
        return views
    views.append(Scene("shelf-rug", "shelf", {}, lambda page: page.open_rug(page.desk.rug_id)))
    finished = next((plan for plan in desk.plans if plan.stage is RugStage.FINISHED), None)
    if finished is not None:
        views.append(Scene("shelf-lessons", "shelf", {}, lambda page: page.show_lessons(finished.id)))
    return views
