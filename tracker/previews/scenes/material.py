"""Scenes of the page material."""

from __future__ import annotations

from typing import Any

from tracker.presenters.material import build_material_state
from tracker.presenters.whole_plan import whole_plan
from tracker.previews.scene import Scene
from tracker.screens.material.material import MaterialPage
from tracker.shell.page import there


def scenes(desk: Any) -> list[Scene]:
    """The plan, and where two of its numbers come from."""
    views = [Scene("material", "material", {})]
    if desk.rug is not None:

        def colour(page: MaterialPage) -> None:
            words = build_material_state(desk.rug, there(whole_plan.of(desk)), desk.answers, desk.length_unit)
            page.tell(next(group for group in words.groups if group.yarns).yarns[0].story)

        def lower(page: MaterialPage) -> None:
            page.ids.scroll.scroll_y = 0

        if desk.rug.yarns:
            views.append(Scene("material-story", "material", {}, colour))
        views.append(Scene("material-end", "material", {}, lower))
    return views
