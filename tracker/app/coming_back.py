"""The way to the page the weaver stood at, kept while the app is out of sight: the phone may end it there to save memory.

The next start then leads back to that page, its half-filled form with it. An app that was left by the back gesture, or
that ended while it was in sight, begins at the first page as ever.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from tracker.app.drafts import Drafts, PlaceDraft, StepDraft
from tracker.domain.errors import LoomsideError
from tracker.files.typed import read_as

if TYPE_CHECKING:
    from tracker.app.desk import Desk
    from tracker.shell.shell import Shell

PLACE = "page left"
COME_BACK_WITHIN = timedelta(hours=12)
"""Later than that a weaver begins anew, at the first page (our own judgement: the night lies between)."""


def keep_place(desk: Desk, shell: Shell, now_utc: datetime) -> None:
    """Keep the way to the page that is shown; nothing while the first page is."""
    if not desk.fresh:
        return  # still on the way back to the place kept before
    way = shell.way()
    form = shell.sheet.half_filled() if shell.sheet is not None else None
    if len(way) == 1 and form is None and way[0][0] == shell.first_page:
        desk.drafts.put(PLACE, None)
        return
    steps: list[StepDraft] = [{"page": page, "told": told, "stands": stands} for page, told, stands in way]
    place: PlaceDraft = {
        "left": now_utc.isoformat(), "rug": desk.rug_id or "", "way": steps,
        "form": None if form is None else {"blank": form[0], "draft": form[1]},
    }  # fmt: skip
    desk.drafts.put(PLACE, place)


def forget_place(drafts: Drafts) -> None:
    """Forget it: the weaver is here, or left of her own accord."""
    if drafts.get(PLACE) is not None:
        drafts.put(PLACE, None)


def come_back(desk: Desk, shell: Shell, now_utc: datetime) -> None:
    """Lead to where the weaver was when the phone ended the app, unless that is long ago or she already went elsewhere.

    The place is forgotten first: whatever is wrong with it is met once and not at every start.
    """
    place = desk.drafts.get(PLACE)
    forget_place(desk.drafts)
    if place is None or shell.page_name != shell.first_page or shell.sheet is not None:
        return
    with suppress(ValueError, LookupError, LoomsideError):
        place = read_as(PlaceDraft, place)
        away = now_utc - datetime.fromisoformat(place["left"])
        if not timedelta() <= away <= COME_BACK_WITHIN or place["rug"] != (desk.rug_id or ""):
            return
        known = {None, *(plan.id for plan in desk.plans)}
        if any(step["told"].get("rug_id") not in known for step in place["way"]):
            return
        shell.go_way([(step["page"], step["told"], step["stands"]) for step in place["way"]])
        if place["form"] is not None:
            from tracker.sheets.entry_form import reopen_entry

            reopen_entry(shell, desk, place["form"]["blank"], place["form"]["draft"])
