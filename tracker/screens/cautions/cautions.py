"""The cautions of the trade, to read."""

from __future__ import annotations

from kivy.properties import StringProperty

from tracker.presenters.cautions import build_cautions_state, closing
from tracker.shell.page import Page
from tracker.widgets.basics import Card, load_kv
from tracker.words import _


class CautionCard(Card):
    """One piece of advice with its source."""

    icon = StringProperty("")
    heading = StringProperty("")
    advice = StringProperty("")
    source = StringProperty("")


class CautionsPage(Page):
    """All of them, the most common harm first."""

    def refresh(self) -> None:
        self.title = _("Cautions")
        box = self.ids.cards
        if not box.children:
            for caution in build_cautions_state():
                box.add_widget(
                    CautionCard(
                        icon=caution.icon, heading=caution.title, advice=caution.text, source=caution.source
                    )
                )
            self.ids.closing.text = closing()


load_kv(__file__)
