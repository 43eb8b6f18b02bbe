"""The pages of the app, one folder each; a page is loaded while the window rests, or when it is first shown."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.shell.pages import PageInfo
from tracker.words import mark

PAGES: dict[str, PageInfo] = {
    "home": PageInfo("tracker.screens.home.home", "HomePage", True, "rug", mark("Rug")),
    "loom": PageInfo("tracker.screens.loom.loom", "LoomPage", True, "row", mark("Row")),
    "yarn": PageInfo("tracker.screens.yarn.yarn", "YarnPage", True, "ball", mark("Yarn")),
    "finish": PageInfo("tracker.screens.finish.finish", "FinishPage", True, "calendar", mark("Finish")),
    "diary": PageInfo("tracker.screens.diary.diary", "DiaryPage", True, "diary", mark("Diary")),
    "session": PageInfo("tracker.screens.session.session", "SessionPage"),
    "unpick": PageInfo("tracker.screens.unpick.unpick", "UnpickPage"),
    "shelf": PageInfo("tracker.screens.shelf.shelf", "ShelfPage"),
    "plan": PageInfo("tracker.screens.plan.plan", "PlanPage"),
    "cartoon_reading": PageInfo("tracker.screens.cartoon_reading.cartoon_reading", "CartoonReadingPage"),
    "knotting": PageInfo("tracker.screens.knotting.knotting", "KnottingPage"),
    "mending": PageInfo("tracker.screens.mending.mending", "MendingPage"),
    "material": PageInfo("tracker.screens.material.material", "MaterialPage"),
    "shopping": PageInfo("tracker.screens.shopping.shopping", "ShoppingPage"),
    "preparation": PageInfo("tracker.screens.preparation.preparation", "PreparationPage"),
    "balls": PageInfo("tracker.screens.balls.balls", "BallsPage"),
    "guide": PageInfo("tracker.screens.guide.guide", "GuidePage"),
    "costs": PageInfo("tracker.screens.costs.costs", "CostsPage"),
    "order": PageInfo("tracker.screens.order.order", "OrderPage"),
    "yarn_story": PageInfo("tracker.screens.yarn_story.yarn_story", "YarnStoryPage"),
    "yarn_shelf": PageInfo("tracker.screens.yarn_shelf.yarn_shelf", "YarnShelfPage"),
    "looms": PageInfo("tracker.screens.looms.looms", "LoomsPage"),
    "zoom": PageInfo("tracker.screens.zoom.zoom", "ZoomPage"),
    "progress": PageInfo("tracker.screens.progress.progress", "ProgressPage"),
    "cloth": PageInfo("tracker.screens.cloth.cloth", "ClothPage"),
    "trimming": PageInfo("tracker.screens.trimming.trimming", "TrimmingPage"),
    "export": PageInfo("tracker.screens.export.export", "ExportPage"),
    "settings": PageInfo("tracker.screens.settings.settings", "SettingsPage"),
    "cautions": PageInfo("tracker.screens.cautions.cautions", "CautionsPage"),
    "copies": PageInfo("tracker.screens.copies.copies", "CopiesPage"),
    "sync": PageInfo("tracker.screens.sync.sync", "SyncPage"),
}


def load_ahead() -> Iterator[None]:
    """Load the modules and rules of all pages, those of one with each step, the main ones first."""
    for info in PAGES.values():
        info.load()
        yield
