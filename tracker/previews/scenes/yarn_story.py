"""Scenes of the page yarn_story."""

from __future__ import annotations

from functools import partial
from typing import Any

from tracker.presenters.entries.form import FormKind
from tracker.presenters.yarn import build_yarn_story_state
from tracker.previews.scene import Scene
from tracker.screens.yarn_story.yarn_story import YarnStoryPage
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import open_entry


def _open_form(kind: FormKind, page: YarnStoryPage) -> None:
    open_entry(page.shell, page.desk, kind, page.yarn_id)


def scenes(desk: Any) -> list[Scene]:
    """The worst yarn, a form begun, and an entry with its history."""
    if desk.rug is None or not desk.answers.yarns:
        return []
    worst = desk.answers.yarns[0].yarn_id
    what = {"yarn_id": worst}
    views = [Scene("yarn-story", "yarn_story", what)]
    views += [
        Scene(
            f"yarn-story-{name}",
            "yarn_story",
            what,
            partial(_open_form, kind),
        )
        for name, kind in (
            ("bought", FormKind.LOT),
            ("weigh", FormKind.WEIGHING),
            ("sample", FormKind.SAMPLE),
        )
    ]
    mixed = next((one.yarn_id for one in desk.answers.yarns if one.mixed_lots), None)
    if mixed:
        views.append(Scene("yarn-story-mixed-lots", "yarn_story", {"yarn_id": mixed}))
    story = build_yarn_story_state(desk.rug, desk.answers, worst)
    if story and story.lines:
        views.append(
            Scene(
                "yarn-story-entry",
                "yarn_story",
                what,
                lambda page: open_record(page.shell, page.desk, story.lines[0].record_id),
            )
        )
    return views
