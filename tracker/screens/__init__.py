"""The pages of the app, one folder each; every page is loaded when it is first shown."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


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


@dataclass(frozen=True, slots=True)
class Scene:
    """One state of the app worth drawing: a page, what it is told, and what is tapped first."""

    name: str
    page: str
    what: dict
    then: Callable[[Any], None] | None = None

    def show(self, stage: Any) -> None:
        """Bring the stage into this scene."""
        stage.hush()
        if PAGES[self.page].tab:
            stage.home(self.page, **self.what)
        else:
            stage.home("standing")
            stage.go(self.page, **self.what)
        if self.then:
            self.then(stage.page)


def scenes(desk: Any) -> list[Scene]:
    """Return every scene the present book can show."""
    found = [Scene("standing", "standing", {})]
    if desk.rug is not None:
        found.append(Scene("evening", "evening", {}))
        found.append(Scene("number-pad", "evening", {}, lambda page: page.ask_rows()))
    return found
