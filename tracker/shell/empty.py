"""What a page says that needs a rug when there is none."""

from __future__ import annotations

from tracker.shell.page import Page
from tracker.widgets.forms import FormColumn
from tracker.words import _


def no_rug(page: Page) -> FormColumn:
    """Return what a page says that needs a rug when there is none."""
    box = FormColumn(pos_hint={"top": 1})
    box.heading(_("No rug yet."))
    box.note(
        _("Plan one first: its size, its density, its colours. It takes about two minutes."), style="body"
    )
    box.key(_("Plan a rug"), lambda: page.shell.go("plan"), icon="plus", role="act")
    return box
