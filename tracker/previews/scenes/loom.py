"""Scenes of the page loom."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tracker.presenters import session as form_sums
from tracker.presenters.settings import MIRRORED_RUGS
from tracker.previews.scene import Scene
from tracker.screens.loom.aloud import AloudSheet
from tracker.screens.loom.loom import PART, LoomPage
from tracker.widgets.row_strip import RowStrip  # noqa: F401 - used by the kv file


class Silent:
    """A voice that says nothing: a picture makes no sound."""

    slows = True

    def say(self, words: str, rate: float = 1.0, language: str = "") -> None:
        """Say nothing."""

    def hush(self) -> None:
        """Be as silent as before."""


def scenes(desk: Any) -> list[Scene]:
    """The row, the place marked, another row looked at, and rows counted."""
    views = [Scene("loom", "loom", {})]
    if desk.rug is None:
        return views

    def marked(page: LoomPage) -> None:
        if page.row and len(page.row.runs) > 3:
            page.keep_place(3)

    def browsed(page: LoomPage) -> None:
        page._forget_place()
        page.step(1)

    def mirrored(page: LoomPage) -> None:
        page.mirror()
        page.desk.drafts.put(MIRRORED_RUGS, None)

    def counted(page: LoomPage) -> None:
        page.row_done()
        page.row_done()
        form_sums.keep_form(page.desk.drafts, page.desk.rug.plan.id, None)

    def counted_and_marked(page: LoomPage) -> None:
        page.row_done()
        page.row_done()
        marked(page)
        form_sums.keep_form(page.desk.drafts, page.desk.rug.plan.id, None)

    def one_part(page: LoomPage) -> None:
        # A team on paper only: the book stays as it is.
        rug, drafts = page.desk.rug, page.desk.drafts
        weavers = tuple(weaver.id for weaver in rug.weavers)
        form = form_sums.with_weavers(form_sums.blank_form(rug, page.desk.today()), rug, weavers)
        places, _ahead = form_sums.places_to_change(form, rug)
        page._keep_form(replace(form, places=places, ahead=((places[0][0], 2),)))
        page.refresh()
        if page.parts:
            page.choose_part(places[0][0])
        form_sums.keep_form(page.desk.drafts, page.desk.rug.plan.id, None)
        drafts.put(PART, None)

    def read(page: LoomPage) -> None:
        page.keep_place(2)
        page.shell.add_widget(AloudSheet(page, Silent()))

    if 1 < len(desk.rug.weavers) <= desk.rug.plan.knots_across:
        views.append(Scene("loom-part", "loom", {}, one_part))
    return [
        *views,
        Scene("loom-counted", "loom", {}, counted),
        Scene("loom-place", "loom", {}, marked),
        Scene("loom-counted-place", "loom", {}, counted_and_marked),
        Scene("loom-next-row", "loom", {}, browsed),
        Scene("loom-mirrored", "loom", {}, mirrored),
        Scene("loom-aloud", "loom", {}, read),
    ]
