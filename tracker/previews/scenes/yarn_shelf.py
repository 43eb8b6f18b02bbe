"""Scenes of the page yarn_shelf."""

from __future__ import annotations

from typing import Any

from tracker.presenters.yarn_shelf import build_yarn_shelf_state
from tracker.previews.scene import Scene
from tracker.screens.yarn_shelf.yarn_shelf import YarnShelfPage


def scenes(desk: Any) -> list[Scene]:
    """The shelf, and one lot opened."""
    views = [Scene("yarn-shelf", "yarn_shelf", {})]
    if desk.rug is None:
        return views
    state = build_yarn_shelf_state(desk.yarn_shelf())
    groups = state.free or state.given
    if not groups:
        return views

    def opened(page: YarnShelfPage) -> None:
        page.open_part(groups[0].lines[0])

    return [*views, Scene("yarn-shelf-lot", "yarn_shelf", {}, opened)]
