"""What a page says that needs a rug when there is none."""

from __future__ import annotations

from typing import Any

from tracker.shell.page import Page
from tracker.widgets.basics import EmptyState
from tracker.widgets.forms import FormColumn
from tracker.words import _

SHARE = 0.76
"""Of the page's height, what the empty state takes at least: so its picture stands where other pages have it."""


class NoRug(EmptyState):
    """An empty state as tall as its share of a page; the page holds none that it no longer shows."""

    def __init__(self, page: Page, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._page = page
        # A bound method is held weakly, and a page is filled anew without end.
        self.bind(minimum_height=self._fit)
        page.bind(height=self._fit)
        self._fit()

    def _fit(self, *_args: Any) -> None:
        self.height = max(self.minimum_height, self._page.height * SHARE)


def no_rug(page: Page) -> FormColumn:
    """Return what a page says that needs a rug when there is none; while the book opens there may be one."""
    box = FormColumn(pos_hint={"top": 1})
    state = NoRug(page, icon="rug", size_hint_y=None)
    if page.desk.without_rug:
        state.title = _("No rug yet.")
        state.words = _("Plan one first: its size, its density, its colours. It takes about two minutes.")
        state.act, state.act_icon = _("Plan a rug"), "plus"
        state.bind(on_next=lambda _state: page.shell.go("plan"))
    else:
        state.title = page.desk.trouble or _("Opening the book …")
    box.add_widget(state)
    return box
