"""The pages of the app, one folder each; every page is loaded when it is first shown."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any

from tracker.words import mark


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
    "standing": PageInfo("tracker.screens.standing.standing", "StandingPage", True, "rug", mark("Rug")),
    "loom": PageInfo("tracker.screens.loom.loom", "LoomPage", True, "row", mark("Row")),
    "yarn": PageInfo("tracker.screens.yarn.yarn", "YarnPage", True, "ball", mark("Yarn")),
    "finish": PageInfo("tracker.screens.finish.finish", "FinishPage", True, "calendar", mark("Finish")),
    "diary": PageInfo("tracker.screens.diary.diary", "DiaryPage", True, "diary", mark("Diary")),
    "evening": PageInfo("tracker.screens.evening.evening", "EveningPage"),
    "shelf": PageInfo("tracker.screens.shelf.shelf", "ShelfPage"),
    "plan": PageInfo("tracker.screens.plan.plan", "PlanPage"),
    "material": PageInfo("tracker.screens.material.material", "MaterialPage"),
    "shopping": PageInfo("tracker.screens.shopping.shopping", "ShoppingPage"),
    "preparation": PageInfo("tracker.screens.preparation.preparation", "PreparationPage"),
    "yarn_story": PageInfo("tracker.screens.yarn_story.yarn_story", "YarnStoryPage"),
    "closer": PageInfo("tracker.screens.closer.closer", "CloserPage"),
    "progress": PageInfo("tracker.screens.progress.progress", "ProgressPage"),
    "cloth": PageInfo("tracker.screens.cloth.cloth", "ClothPage"),
    "record": PageInfo("tracker.screens.record.record", "RecordPage"),
    "settings": PageInfo("tracker.screens.settings.settings", "SettingsPage"),
    "cautions": PageInfo("tracker.screens.cautions.cautions", "CautionsPage"),
    "copies": PageInfo("tracker.screens.copies.copies", "CopiesPage"),
    "phones": PageInfo("tracker.screens.phones.phones", "PhonesPage"),
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


def scenes(desk: Any, only: Collection[str] = ()) -> list[Scene]:
    """Return every scene the present book can show, page by page; with `only`, those pages' alone.

    A page's module may name its scenes in a function `scenes(desk)`; without one the bare page is the scene.
    """
    found: list[Scene] = []
    for name, info in PAGES.items():
        if only and name not in only:
            continue
        module = importlib.import_module(info.module)
        own = getattr(module, "scenes", None)
        found += own(desk) if own else [Scene(name, name, {})]
    return found
