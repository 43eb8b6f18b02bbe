"""The scenes of every page, one module a page."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Collection
from typing import Any

from tracker.previews.scene import Scene
from tracker.screens import PAGES


def scenes(desk: Any, only: Collection[str] = ()) -> list[Scene]:
    """Return every scene the present book can show, page by page; with `only`, those pages' alone.

    A module of the page's name here has a function `scenes(desk)`; without one the bare page is the scene.
    """
    views: list[Scene] = []
    for name in PAGES:
        if only and name not in only:
            continue
        module = (
            importlib.import_module(f"{__name__}.{name}")
            if importlib.util.find_spec(f"{__name__}.{name}")
            else None
        )
        own = module.scenes if module else None
        views += own(desk) if own else [Scene(name, name, {})]
    return views
