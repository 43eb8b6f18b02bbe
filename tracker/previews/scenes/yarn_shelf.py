"""Scenes of the page yarn_shelf."""

from __future__ import annotations

from typing import Any

from tracker.presenters.yarn_shelf import Fold, build_yarn_shelf_state
from tracker.previews.scene import Scene


def scenes(desk: Any) -> list[Scene]:
    """The shelf, with a fold of it open where there is one, and one lot opened."""
    views = [Scene("yarn-shelf", "yarn_shelf", {})]
    if desk.rug is None:
        return views
    state = build_yarn_shelf_state(desk.yarn_shelf())
    told = (*state.free, *state.given)
    folds = [one for one in told if isinstance(one, Fold)]
    groups = [group for one in told for group in (one.groups if isinstance(one, Fold) else (one,))]
    if folds:
        views.append(Scene("yarn-shelf-unfolded", "yarn_shelf", {}, lambda page: page.turn_fold(folds[0])))
    if groups:
        views.append(
            Scene("yarn-shelf-lot", "yarn_shelf", {}, lambda page: page.open_part(groups[0].lines[0]))
        )
    return views
