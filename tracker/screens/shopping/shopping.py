"""The shopping list: large, by dyer; ticking a yarn off asks what was bought and enters the lot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.lot_moves import LotMove
from tracker.presenters import entry_forms
from tracker.presenters.currency import currency_of
from tracker.presenters.doubts import doubt_of_any
from tracker.presenters.entries.form import EntryForm
from tracker.presenters.shopping import (
    BY_THE_GRAM_G,
    ShoppingLine,
    ShoppingState,
    all_bought_question,
    all_bought_words,
    build_shopping_state,
    build_sold_state,
    lot_form,
    sold_settings,
    sold_words,
)
from tracker.presenters.whole_plan import whole_plan
from tracker.presenters.yarn_answers import CountAsk
from tracker.presenters.yarn_shelf import ShelfStock, YarnPart, offers_for, taken_from_shelf, taken_words
from tracker.sheets.asking import ask_choice, ask_doubt, ask_number
from tracker.sheets.entry_form import EntrySheet, waiting_entry
from tracker.sheets.yarn_answers import ask_count
from tracker.shell.empty import change_plan, no_rug, nothing_here, without_yarn
from tracker.shell.filled_page import FilledPage
from tracker.shell.page import there
from tracker.shell.undo import undoable
from tracker.widgets.basics import Key, Missing, RowKey, load_kv
from tracker.widgets.forms import FormColumn, columns_of_page, lay_side_by_side, words_width
from tracker.words import _, n_, number


class BuyCard(RowKey):
    """One yarn to buy: which, how much for what price, and why so much."""

    line = ObjectProperty(ShoppingLine("", "#C8B89A", "", "", "", "", "", "", "", False), rebind=True)
    cost_width = NumericProperty(0)

    def on_line(self, *_args: Any) -> None:
        self.cost_width = words_width(self.line.cost) + dp(4) if self.line.cost else 0


class AllBoughtKey(Key):
    """Enters all yarns of the list at once."""


class ShoppingPage(FilledPage):
    """What is still to buy for the rug in hand."""

    headline = StringProperty("")
    cost = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._skein_g: int | None = None
        self._least_g: int | None = None
        self._all_key = AllBoughtKey(text=_("All bought as listed"), icon="check")
        self._all_key.bind(on_release=lambda _key: self.ask_all_bought())
        self._offers: dict[str, tuple[YarnPart, ...]] = {}

    def shows(self) -> tuple[Any, ...]:
        return *super().shows(), self._offers, self._skein_g, self._least_g

    def refresh(self) -> None:
        super().refresh()
        self._look_on_shelf()

    def _look_on_shelf(self) -> None:
        """Look, off the touch thread, what lies on the yarn shelf for this list."""
        desk = self.desk
        if desk.rug is None or not desk.fresh or len(desk.plans) < 2:
            return
        rug = desk.rug

        def done(stock: ShelfStock) -> None:
            if desk.rug is not rug or desk.answers is None:
                return
            offers = offers_for(stock, rug, desk.answers)
            if offers != self._offers:
                self._offers = offers
                self.show()

        desk.aside(desk.yarn_shelf, done, lambda sentence: self.shell.toast(sentence, warn=True))

    def fill(self) -> Iterator[None]:
        desk = self.desk
        columns = self.ids.columns
        plan = whole_plan.of(desk)
        if plan is None:
            self.headline = self.cost = ""
            self._offer_all(False)
            lay_side_by_side(columns, (no_rug(self),))
            return
        words = build_shopping_state(desk.rug, plan, desk.answers, currency_of(desk.settings), self._offers)
        self.headline, self.cost = words.headline, words.cost
        self._offer_all(words.buys > 1)
        if not words.groups:
            self.headline = ""
            lay_side_by_side(columns, (self._nothing(words),))
            return
        boxes = columns_of_page()
        lay_side_by_side(columns, boxes)
        heights = [0] * len(boxes)
        if words.offers:
            told = n_(
                "{count} yarn of the list lies on the shelf.",
                "{count} yarns of the list lie on the shelf.",
                words.offers,
            )
            boxes[0].note(told.format(count=number(words.offers)), tone="ink", strong=True, style="body")
            boxes[0].note(_("It stays on the list until you take it from there."))
            if self._takes():
                boxes[0].key(
                    _("Take from the shelf what fits"), self.take_from_shelf, icon="check", role="chosen"
                )
            boxes[0].key(_("Yarn shelf"), lambda: self.shell.go("yarn_shelf"), icon="skein")
            heights[0] += 5
        if words.done:
            boxes[0].key(_("Preparation"), lambda: self.shell.go("preparation"), icon="wind")
            heights[0] += 1
        if words.why:
            boxes[0].note(words.why)
            heights[0] += 1
        asks = words.asks_how_sold or bool(words.asks_counts)
        if asks and len(boxes) == 1:
            # What one came for stands first; beside it there is room for both.
            boxes[0].note(_("What is asked below the list makes it more exact."))
        elif asks:
            self._ask(boxes[-1], words)
            heights[-1] += 4 * words.asks_how_sold + (2 + len(words.asks_counts) if words.asks_counts else 0)
        yield
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
                yield
        if asks and len(boxes) == 1:
            self._ask(boxes[0], words)

    def _nothing(self, words: ShoppingState) -> FormColumn:
        """Return what stands in place of a list without a line: there is no yarn, or all of it is there."""
        if not self.desk.rug.yarns:
            return nothing_here(self, without_yarn("buy"), lambda: change_plan(self))
        bought = Missing("buy", words.headline, "", _("Preparation"), "wind")
        return nothing_here(self, bought, lambda: self.shell.go("preparation"))

    def _ask(self, box: FormColumn, words: ShoppingState) -> None:
        """Ask what makes the list more exact."""
        if words.asks_how_sold:
            self._ask_how_sold(box)
        if words.asks_counts:
            self._ask_counts(box, words.asks_counts)

    def _takes(self) -> tuple[LotMove, ...]:
        """Return the moves that bring what fits from the shelf to this rug."""
        desk = self.desk
        if desk.rug is None or desk.answers is None:
            return ()
        return taken_from_shelf(self._offers, desk.rug, desk.answers, desk.today())

    def take_from_shelf(self) -> None:
        """Take from the shelf what fits, with undo; the list is then shorter by it."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []
        moves = self._takes()
        if not moves or not shell.try_act(lambda: acts.append(desk.act(ActKind.YARN_MOVED, *moves))):
            return
        self._offers = {}
        undo = undoable(shell, desk, acts[0])
        desk.once(lambda: shell.toast(taken_words(moves), undo=undo))

    def _offer_all(self, offered: bool) -> None:
        """Show the key that enters all yarns at once while several are to buy."""
        if offered != (self._all_key.parent is not None):
            if offered:
                self.ids.foot.add_widget(self._all_key)
            else:
                self.ids.foot.remove_widget(self._all_key)

    def _ask_how_sold(self, box: FormColumn) -> None:
        """Ask once how yarn is sold: in skeins and from what mass on, or by the gram."""
        words = build_sold_state(self._skein_g, self._least_g)
        box.heading(_("How is your yarn sold?"))
        box.note(_("Asked once. Until you answer, the list is in grams. A yarn's own page can differ."))
        box.pair(
            (words.skein, lambda: self._ask_grams("_skein_g", _("One skein"), 2, 50_000)),
            (words.least, lambda: self._ask_grams("_least_g", _("Least of a colour"), 0, 500_000)),
        )
        if words.can_save:
            box.key(
                _("List in such skeins"),
                lambda: self.say_how_sold(there(self._skein_g), self._least_g),
                role="act",
            )
        box.key(_("By the gram"), lambda: self.say_how_sold(BY_THE_GRAM_G, self._least_g))

    def _ask_counts(self, box: FormColumn, asks: tuple[CountAsk, ...]) -> None:
        """Ask for the yarn counts that nobody gave."""
        box.heading(_("How fine is your yarn?"))
        box.note(
            _(
                "The yarn count on the label. Until you enter it, one that suits the density is "
                "assumed, and you buy a little more."
            )
        )
        for ask in asks:
            box.field(ask, partial(ask_count, self.shell, self.desk, ask.yarn_ids))

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
            self.shell.toast(sold_words(skein_g), undo=undoable(self.shell, self.desk, acts[0]))

    def tick(self, line: ShoppingLine) -> None:
        """Ask what was bought; a yarn that is bought already opens its story, where it can be corrected."""
        if line.bought:
            self.shell.go("yarn_story", yarn_id=line.yarn_id)
            return
        self._open_form(self._form_of(line.yarn_id))

    def _open_form(self, form: EntryForm) -> None:
        desk = self.desk
        sheet = EntrySheet(self.shell, desk, form, desk.rug, self._draft_of(form))
        self.shell.open_sheet(entry_forms.title_of(form, desk.rug), sheet)

    def _form_of(self, yarn_id: str) -> EntryForm:
        desk = self.desk
        return lot_form(desk.rug, there(whole_plan.of(desk)), desk.answers, yarn_id, desk.today())

    def _draft_of(self, form: EntryForm) -> str:
        return f"entry {form.kind} {form.yarn_id}"

    def ask_all_bought(self) -> None:
        """Ask once, then enter every yarn on the list as bought."""
        desk = self.desk
        words = build_shopping_state(desk.rug, there(whole_plan.of(desk)), desk.answers)
        answers: list[tuple[str, Callable[[], None]]] = [
            (_("Yes, all of it"), lambda: self._write_all_bought(words)),
            (_("No, one by one"), lambda: None),
        ]
        if self._takes():
            # What lies on the shelf would else be bought once more.
            answers.insert(0, (_("Take from the shelf what fits"), self.take_from_shelf))
        ask_choice(self.shell, all_bought_question(words), answers, lambda answer: answer())

    def _write_all_bought(self, words: ShoppingState) -> None:
        """Enter a lot of each yarn as one act; what was half entered of one counts as entered."""
        desk = self.desk
        forms = []
        for line in (line for group in words.groups for line in group.lines if not line.bought):
            form = self._form_of(line.yarn_id)
            draft_form = waiting_entry(desk, self._draft_of(form))
            forms.append(draft_form if draft_form is not None and draft_form.rug_id == form.rug_id else form)
        lots: list[Any] = []

        def read() -> None:
            lots.extend(entry_forms.to_value(form, desk.rug, desk.today()) for form in forms)

        if self.shell.try_act(read):
            ask_doubt(
                self.shell,
                doubt_of_any(lots, desk.rug, desk.today()),
                lambda: self._write_lots(forms, lots),
                lambda: self._change_doubted(forms, lots),
            )

    def _change_doubted(self, forms: list[EntryForm], lots: list[Any]) -> None:
        """Open the first purchase that can hardly be meant, as it would be entered."""
        for form, lot in zip(forms, lots, strict=True):
            if doubt_of_any([lot], self.desk.rug, self.desk.today()) is not None:
                self._open_form(form)
                return

    def _write_lots(self, forms: list[EntryForm], lots: list[Any]) -> None:
        desk = self.desk
        acts: list[str] = []

        def write() -> None:
            acts.append(desk.act(ActKind.YARN_BOUGHT, *lots))

        if self.shell.try_act(write):
            drafts = {self._draft_of(form): desk.drafts.get(self._draft_of(form)) for form in forms}
            for draft in drafts:
                desk.drafts.put(draft, None)

            def bring_back() -> None:
                for draft, draft_form in drafts.items():
                    desk.drafts.put(draft, draft_form)

            self.shell.toast(
                all_bought_words(tuple(lots)),
                undo=undoable(self.shell, desk, acts[0], then=bring_back),
            )


load_kv(__file__)
