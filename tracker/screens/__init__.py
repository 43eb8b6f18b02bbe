"""The pages of the app, one folder each; every page is loaded when it is first shown."""

from __future__ import annotations

import importlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PageInfo:
    """Where a page lives and how it stands in the app."""

    module: str
    kind: str
    tab: bool = False
    """True for the pages of the bottom bar."""
    icon: str = ""
    label: str = ""


PAGES: dict[str, PageInfo] = {
    "standing": PageInfo("tracker.screens.standing.standing", "StandingPage", True, "rug", "Rug"),
    "evening": PageInfo("tracker.screens.evening.evening", "EveningPage"),
}


def page_class(name: str) -> type:
    """Return the class of a page, importing its module.

    Raises
    ------
    KeyError
        When there is no page of that name.
    """
    info = PAGES[name]
    return getattr(importlib.import_module(info.module), info.kind)
