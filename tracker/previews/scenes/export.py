"""Scenes of the page export."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tracker.domain.rug import RugStage
from tracker.presenters.export import Kind, written_words
from tracker.previews.scene import Scene
from tracker.screens.export.export import ExportPage
from tracker.words import _


def scenes(desk: Any) -> list[Scene]:
    """The page of the rug in hand and of a finished one, with a file written, and one that could not be."""

    def written(page: ExportPage) -> None:
        page._results = {
            Kind.RECORD: (
                "green",
                written_words(Path(_("{name} record").format(name=desk.rug.plan.name) + ".pdf")),
            ),
            Kind.TABLES: ("madder", _("There is no room left for the file. Make some room, then try again.")),
        }
        page.show()

    views = [Scene("export", "export", {})]
    if desk.rug is not None:
        views.append(Scene("export-written", "export", {}, written))
    done = next((plan for plan in desk.plans if plan.stage is RugStage.FINISHED), None)
    if done is not None:
        views.append(Scene("export-finished", "export", {"rug_id": done.id}))
    return views
