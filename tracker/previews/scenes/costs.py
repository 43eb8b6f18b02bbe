"""Scenes of the page costs."""

from __future__ import annotations

from typing import Any

from tracker.presenters.entries.form import FormKind
from tracker.previews.scene import Scene
from tracker.screens.costs.costs import CostsPage


def scenes(desk: Any) -> list[Scene]:
    """The page, its lower end, and the form of a wage."""
    views = [Scene("costs", "costs", {})]
    if desk.rug is None:
        return views

    def below(page: CostsPage) -> None:
        page.ids.scroll.scroll_y = 0

    def wage(page: CostsPage) -> None:
        from tracker.sheets.entry_form import open_entry

        open_entry(page.shell, page.desk, FormKind.WAGE)

    return [*views, Scene("costs-below", "costs", {}, below), Scene("costs-wage", "costs", {}, wage)]
