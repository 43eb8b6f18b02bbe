"""Scenes of the page session."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.clock import Clock

from tracker.presenters import session as form_sums
from tracker.previews.scene import Scene
from tracker.screens.session.session import SessionPage
from tracker.sheets.places import PlacesStrip  # noqa: F401 - used by the kv file
from tracker.shell.page import there


def scenes(desk: Any) -> list[Scene]:
    """The form, and its number pad."""
    if desk.rug is None:
        return []

    def evening(page: SessionPage) -> None:
        # A row followed in another scene would be half of one here.
        page.form = replace(there(page.form), begun_knots=None)
        page.set_rows(6)

    views = [
        Scene("session", "session", {}, evening),
        Scene("session-number-pad", "session", {}, lambda page: page.ask_rows()),
        Scene("session-day", "session", {}, lambda page: page.ask_day()),
    ]
    if not 2 <= len(desk.rug.weavers) <= desk.rug.plan.knots_across:
        return views

    def as_team(page: SessionPage) -> None:
        form = replace(
            there(page.form), weavers=tuple(weaver.id for weaver in desk.rug.weavers), places=(), ahead=()
        )
        places, _ahead = form_sums.places_to_change(form, desk.rug)
        page.form = replace(form, places=places, ahead=((places[-1][0], 3),))
        page.refresh()
        Clock.schedule_once(lambda _dt: page.ids.scroll.scroll_to(page.places_line, animate=False))

    def sheet(page: SessionPage) -> None:
        as_team(page)
        page.ask_places()

    return [
        *views,
        Scene("session-team", "session", {}, as_team),
        Scene("session-places", "session", {}, sheet),
    ]
