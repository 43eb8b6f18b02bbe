"""Scenes of the page diary."""

from __future__ import annotations

from typing import Any

from tracker.domain.act import ActKind
from tracker.previews.scene import Scene
from tracker.screens.diary.diary import DiaryPage, DiaryRow


def scenes(desk: Any) -> list[Scene]:
    """The list, an entry in full, a correction's history, and what the list can be narrowed to."""
    views = [Scene("diary", "diary", {})]
    if desk.rug is None:
        return views

    def open_kind(page: DiaryPage, kind: str) -> None:
        from tracker.previews.draw import settle

        settle(3)
        wanted = next((entry for entry in page._entries.values() if entry.kind == kind), None)
        if wanted is not None:
            row = DiaryRow()
            row.line = next(line for line in page._lines.values() if line.act_id == wanted.act_id)
            page.open_row(row)

    views += [
        Scene("diary-entry", "diary", {}, lambda page: open_kind(page, ActKind.SESSION_LOGGED)),
        Scene("diary-correction", "diary", {}, lambda page: open_kind(page, ActKind.SESSION_CORRECTED)),
        Scene("diary-many", "diary", {}, lambda page: open_kind(page, ActKind.YARN_BOUGHT)),
        Scene("diary-filter", "diary", {}, lambda page: page.ask_filter()),
    ]
    return views
