"""The shopping list: large, by dyer; ticking a yarn off asks what was bought and enters the lot."""

from __future__ import annotations

from typing import Any

from kivy.properties import ObjectProperty, StringProperty

from tracker.presenters import entry_forms
from tracker.presenters.costs import currency_of
from tracker.presenters.shopping import (
    BY_THE_GRAM_G,
    ShoppingLine,
    build_shopping_state,
    build_sold_state,
    lot_form,
    sold_settings,
)
from tracker.presenters.whole_plan import whole_plan
from tracker.sheets.asking import ask_number
from tracker.sheets.entry_form import EntrySheet
from tracker.shell.empty import no_rug
from tracker.shell.page import Page, there
from tracker.shell.undo import undoable
from tracker.widgets.basics import RowKey, load_kv
from tracker.widgets.forms import FormColumn, lay_side_by_side
from tracker.widgets.look import look
from tracker.words import _


class BuyCard(RowKey):
    """One yarn to buy."""

    line = ObjectProperty(ShoppingLine("", "#C8B89A", "", "", "", "", "", "", "", False), rebind=True)
    sum_words = StringProperty("")

    def on_line(self, *_args: Any) -> None:
        self.sum_words = " · ".join(part for part in (self.line.mass, self.line.cost) if part)


class ShoppingPage(Page):
    """What is still to buy for the rug in hand."""

    headline = StringProperty("")
    cost = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._shown: tuple[Any, ...] = ()
        self._skein_g: int | None = None
        self._least_g: int | None = None
        look.bind(shape=self._relaid)

    def _relaid(self, *_args: Any) -> None:
        self.show()

    def enter(self, **_what: Any) -> None:
        self.ids.scroll.scroll_y = 1

    def refresh(self) -> None:
        if self._shows() != self._shown:
            self.show()

    def _shows(self) -> tuple[Any, ...]:
        """Return all that the page is made of: it is filled anew only when that changed."""
        desk = self.desk
        return desk.rug, desk.answers, desk.settings, desk.today()

    def show(self) -> None:
        """Fill the page from the list."""
        desk = self.desk
        if desk is None:
            return
        self._shown = self._shows()
        columns = self.ids.columns
        columns.clear_widgets()
        plan = whole_plan.of(desk)
        if plan is None:
            self.headline = self.cost = ""
            lay_side_by_side(columns, (no_rug(self),))
            return
        words = build_shopping_state(desk.rug, plan, desk.answers, currency_of(desk.settings))
        self.headline, self.cost = words.headline, words.cost
        boxes = [FormColumn(pos_hint={"top": 1}) for _at in range(1 if look.shape == "tall" else 2)]
        heights = [0] * len(boxes)
        if words.asks_how_sold:
            self._ask_how_sold(boxes[0])
            heights[0] += 4
        for group in words.groups:
            # The column with fewer lines takes the next dyer.
            at = heights.index(min(heights))
            heights[at] += 1 + sum(1 if line.bought else 3 for line in group.lines)
            box = boxes[at]
            box.heading(group.dyer)
            box.note(group.left)
            for line in group.lines:
                card = BuyCard(line=line)
                card.bind(on_release=lambda card: self.tick(card.line))
                box.add_widget(card)
        lay_side_by_side(columns, boxes)

    def _ask_how_sold(self, box: FormColumn) -> None:
        """Ask once how yarn is sold, above the list: in skeins and from what mass on, or by the gram."""
        words = build_sold_state(self._skein_g, self._least_g)
        box.heading(_("How is your yarn sold?"))
        box.note(_("Asked once. Until you say, the list is in grams; a yarn's own page can say otherwise."))
        box.pair(
            (words.skein, lambda: self._ask_grams("_skein_g", _("One skein"), 2, 50_000)),
            (words.least, lambda: self._ask_grams("_least_g", _("Least of a colour"), 0, 500_000)),
        )
        if words.can_save:
            box.key(
                _("In such skeins"),
                lambda: self.say_how_sold(there(self._skein_g), self._least_g),
                icon="check",
            )
        box.key(_("By the gram"), lambda: self.say_how_sold(BY_THE_GRAM_G, self._least_g))

    def _ask_grams(self, name: str, title: str, least: int, most: int) -> None:
        def take(grams: float) -> None:
            setattr(self, name, int(grams))
            self.show()

        ask_number(self.shell, title, getattr(self, name), take, unit=_("g"), least=least, most=most)

    def say_how_sold(self, skein_g: int, least_g: int | None) -> None:
        """Keep the answer in the book, with undo."""
        acts: list[str] = []
        said = sold_settings(skein_g, least_g)
        if self.shell.try_act(lambda: acts.append(self.desk.set_settings(said))):
            self._skein_g = self._least_g = None
            self.shell.toast(_("Changed."), undo=undoable(self.shell, self.desk, acts[0]))

    def tick(self, line: ShoppingLine) -> None:
        """Ask what was bought; a yarn that is bought already opens its story, where it can be corrected."""
        desk = self.desk
        if line.bought:
            self.shell.go("yarn_story", yarn_id=line.yarn_id)
            return
        book = desk.rug
        form = lot_form(book, there(whole_plan.of(desk)), desk.answers, line.yarn_id, desk.today())
        sheet = EntrySheet(self.shell, desk, form, book, f"entry {form.kind} {line.yarn_id}")
        self.shell.open_sheet(entry_forms.title_of(form, book), sheet)


load_kv(__file__)
