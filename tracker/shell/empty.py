"""What a page says that needs a rug when there is none."""

from __future__ import annotations

from tracker.shell.page import Page
from tracker.widgets.basics import EmptyState
from tracker.widgets.forms import FormColumn
from tracker.words import _

SHARE = 0.76
"""Of the page's height, what the empty state takes at least: so its picture stands where other pages have it."""


def no_rug(page: Page) -> FormColumn:
    """Return what a page says that needs a rug when there is none; while the book opens there may be one."""
    box = FormColumn(pos_hint={"top": 1})
    state = EmptyState(there=True, icon="rug", size_hint_y=None)
    if page.desk.fresh:
        state.title = _("No rug yet.")
        state.words = _("Plan one first: its size, its density, its colours. It takes about two minutes.")
        state.act, state.act_icon = _("Plan a rug"), "plus"
        state.bind(on_next=lambda _state: page.shell.go("plan"))
    else:
        state.title = page.desk.trouble or _("Opening the book …")

    def fit(*_args: object) -> None:
        state.height = max(state.minimum_height, page.height * SHARE)

    state.bind(minimum_height=fit)
    page.bind(height=fit)
    fit()
    box.add_widget(state)
    return box
