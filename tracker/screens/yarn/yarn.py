"""The yarn page: every colour and weft, worst first, and the ways to plan, buy and prepare."""

from __future__ import annotations

from typing import Any

from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from tracker.domain.rug import Role, RugStage
from tracker.presenters.yarn import YarnCard, build_yarn_state
from tracker.shell.empty import change_plan, nothing_here, without_rug, without_yarn
from tracker.shell.page import Page
from tracker.widgets.basics import RowKey, load_kv
from tracker.widgets.look import look
from tracker.widgets.plain_label import extent


def line_px(words: str) -> float:
    """Return the width of strong words on one line, px."""
    return extent(words, "Roboto", look.type_sizes["body"], True)


class YarnLineCard(RowKey):
    """How one yarn stands, with its masses."""

    fits_beside = BooleanProperty(True)
    """Whether the name leaves room for the words beside it."""
    side_by_side = BooleanProperty(True)
    """Whether they stand there: on every card, or on none."""
    card = ObjectProperty(YarnCard("", "", "", "#C8B89A", "", "ink", "", "", "", 0.0, Role.PILE), rebind=True)

    def name_share(self, name: str, word: str, _type_sizes: object) -> float:
        """Return the name's share of a line that it has together with `word`, by their widths; told of the sizes of type so that kv asks anew."""
        name_px, word_px = line_px(name), line_px(word)
        return name_px / max(1.0, name_px + word_px)

    def fits(self, name: str, word: str, width: float, _type_sizes: object) -> bool:
        """True where both stand whole on one line of so many px."""
        return line_px(name) + line_px(word) + look.gap + dp(4) <= width


class YarnPage(Page):
    """Will the yarn last?"""

    headline = StringProperty("")
    tone = StringProperty("ink")
    hint = StringProperty("")
    first = BooleanProperty(False)
    finished = BooleanProperty(False)
    """Of a finished rug nothing is bought any more: what is left of it lies on the yarn shelf."""
    columns = NumericProperty(1)
    has_yarn = BooleanProperty(True)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.bind(width=self._fit_columns)
        look.bind(text_scale=self._fit_columns)

    def _fit_columns(self, *_args: Any) -> None:
        """One column on a phone; on wider windows as many as hold a card at the present text size."""
        self.columns = max(
            1, min(3, int((self.width - 2 * look.pad) / (dp(330) * max(1.0, look.text_scale * 0.8))))
        )

    def refresh(self) -> None:
        desk = self.desk
        if desk.rug is None or desk.answers is None:
            self.missing = without_rug(self)
            return
        self.missing = None
        self.finished = desk.rug.plan.stage is RugStage.FINISHED
        state = build_yarn_state(desk.rug, desk.answers)
        self.headline, self.tone, self.hint, self.first = state.headline, state.tone, state.hint, state.first
        self.has_yarn = bool(state.cards)
        self.ids.nothing.clear_widgets()
        if not self.has_yarn:
            missing = without_yarn("ball")
            self.ids.nothing.add_widget(nothing_here(self, missing, lambda: change_plan(self), share=0.0))
        box = self.ids.cards
        if len(box.children) != len(state.cards):
            box.clear_widgets()
            for _card in state.cards:
                widget = YarnLineCard()
                widget.bind(on_release=lambda card: self.shell.go("yarn_story", yarn_id=card.card.yarn_id))
                widget.bind(fits_beside=self._stand_alike)
                box.add_widget(widget)
        for widget, card in zip(reversed(box.children), state.cards, strict=True):
            widget.card = card
        self._stand_alike()

    def _stand_alike(self, *_args: Any) -> None:
        """Let the answers of all cards stand beside the names, or all below them: one card of another build looks like another thing."""
        cards = self.ids.cards.children
        beside = all(card.fits_beside for card in cards)
        for card in cards:
            card.side_by_side = beside


load_kv(__file__)
