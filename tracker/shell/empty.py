"""What stands on a page that has nothing to show: what is missing, and what to do first; one table for all pages without a rug."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tracker.shell.page import Page
from tracker.widgets.basics import EmptyState, Missing
from tracker.widgets.forms import FormColumn
from tracker.words import _, mark

SHARE = 0.76
"""Of the page's height, what the empty state takes at least: so its picture stands where other pages have it."""

FIRST = mark("Plan one first: its size, its density, its colours. It takes about two minutes.")
WITHOUT_RUG: dict[str, tuple[str, str]] = {
    "home": ("rug", FIRST),
    "loom": ("row", mark("Plan one first. Then you see here which row comes next, run by run.")),
    "yarn": ("ball", mark("Plan one first. Then you see here how much yarn it needs.")),
    "finish": ("calendar", mark("Plan one first. Then you see here when its last row will be woven.")),
    "diary": ("diary", mark("Plan one first. All you enter is kept here, newest first, and can be corrected.")),
    "unpick": ("row", mark("Plan one first. Then its rows are taken out here.")),
    "shelf": ("rug", FIRST),
    "mending": ("photo", mark("Plan one with a cartoon. Then you can mend its squares here.")),
    "material": ("skein", mark("Plan one first. Then you see here what it takes, and where each number comes from.")),
    "shopping": ("buy", mark("Plan one first. Then you see here what to buy of each yarn.")),
    "preparation": ("wind", mark("Plan one first. Then you tick off here what is wound and mounted.")),
    "balls": ("ball", mark("Plan one first. Then you see here which balls each weaver needs.")),
    "guide": ("flag", mark("Plan one first. Then each stage of the work is told here with its own numbers.")),
    "costs": ("money", mark("Plan one first. Then you see here what it costs.")),
    "order": ("person", mark("Plan one first. Then you note here who ordered it, the price and the day.")),
    "yarn_story": ("ball", FIRST),
    "yarn_shelf": ("shelf", mark("Plan one first. Yarn left over from finished rugs comes here by itself.")),
    "zoom": ("rug", mark("Plan one first. Then it grows here.")),
    "progress": ("chart", mark("Plan one and weave. Then you see its weeks and your pace here.")),
    "cloth": ("measure", mark("Plan one first. Once it is on the loom, you measure it here.")),
    "trimming": ("scissors", mark("Plan one first. Once it is on the loom, you note here where its pile was trimmed.")),
    "export": ("share", mark("Plan one first. Then its record, tables and days leave the phone from here.")),
}  # fmt: skip
"""The picture of each page that tells of a rug, and what it will show."""


def without_rug(page: Page) -> Missing:
    """Return what a page says while there is no rug in hand: that the book opens, cannot be opened, or holds none."""
    picture, words = WITHOUT_RUG[page.name]
    if page.desk.trouble:
        return Missing(picture, page.desk.trouble)
    if not page.desk.without_rug:
        return Missing(picture, _("Opening the book …"))
    return Missing(picture, _("No rug yet."), _(words), _("Plan a rug"), "plus", "plan")


class NoRug(EmptyState):
    """An empty state as tall as its share of a page; the page holds none that it no longer shows."""

    def __init__(self, page: Page, share: float, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._page, self._share = page, share
        # A bound method is held weakly, and a page is filled anew without end.
        self.bind(minimum_height=self._fit)
        page.bind(height=self._fit)
        self._fit()

    def _fit(self, *_args: Any) -> None:
        self.height = max(self.minimum_height, self._page.height * self._share)


def without_yarn(picture: str) -> Missing:
    """Return what a page says of a rug whose plan has no yarn."""
    return Missing(
        picture,
        _("No yarn in the plan yet."),
        _("Add its colours and wefts to the plan first."),
        _("Change the plan"),
        "edit",
    )


def nothing_here(
    page: Page, missing: Missing, lead_on: Callable[[], object] | None = None, share: float = SHARE
) -> FormColumn:
    """Return the column in which a page that is filled anew says what is missing; `lead_on` is what its key does.

    Parameters
    ----------
    share
        Of the page's height, what it takes at least.
    """
    box = FormColumn(pos_hint={"top": 1})
    box.whole_width = True
    state = NoRug(page, share, says=missing, size_hint_y=None)
    if lead_on is not None:
        state.bind(on_next=lambda _state: lead_on())
    box.add_widget(state)
    return box


def no_rug(page: Page) -> FormColumn:
    """Return the column in which a page that is filled anew says that there is no rug."""
    missing = without_rug(page)
    return nothing_here(
        page, missing, (lambda: page.shell.go(missing.leads_to)) if missing.leads_to else None
    )


def change_plan(page: Page) -> None:
    """Open the plan of the rug in hand."""
    page.shell.go("plan", rug_id=page.desk.rug_id)
