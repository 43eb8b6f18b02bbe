"""Scenes of the page that knots a picture."""

from __future__ import annotations

from typing import Any

from tracker.previews.scene import Scene
from tracker.previews.scenes.cartoon_reading import landscape, plan_form, take_nothing


def scenes(desk: Any) -> list[Scene]:
    """A picture as the cloth will show it."""
    what = {"sheet": desk.cartoons.sheet_of(landscape()), "form": plan_form(desk), "take": take_nothing}
    return [Scene("knotting", "knotting", what)]
