"""What the rug costs so far and at the end, who earned what, and the price by cost and margin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from tracker.domain.costs import pricing_of
from tracker.presenters.costs import (
    CostLine,
    CostsState,
    Earning,
    EntryLine,
    build_costs_state,
    currency_choices,
    currency_words,
)
from tracker.presenters.currency import CURRENCY, currency_of
from tracker.presenters.entries.form import FormKind
from tracker.screens.costs.cost_bar import CostBar as CostBar
from tracker.screens.costs.cost_bar import ToneMark as ToneMark
from tracker.sheets.asking import ask_choice
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import open_entry
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, RowKey, Rule, load_kv
from tracker.widgets.forms import CardKey, FormColumn, columns_of_page, lay_side_by_side, words_width
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.look import look
from tracker.words import _

LARGE_FROM = 1.5
"""Text size from which on amounts stand below what they are of."""
FIRST_ENTRIES = 8
"""Spendings shown; a key shows the rest."""


class CostHead(Card):
    """The answer: so far, at the end, the price."""

    so_far = StringProperty("")
    at_end = StringProperty("")
    at_end_range = StringProperty("")
    bar = ObjectProperty(())
    """Parts of `CostBar`; empty: nothing can be said of the end."""


class CostRow(BoxLayout):
    """One line of the reckoning, or the words over its columns."""

    line = ObjectProperty(CostLine("", "", ""), rebind=True)
    heads = BooleanProperty(False)
    large = BooleanProperty(False)
    """Whether the type is so large that the amounts stand below what they are of."""
    widths = ListProperty([1.0, 1.0])
    """Widths of both columns of amounts, px."""
    marked = BooleanProperty(False)
    """Whether the lines say in which colour they stand in the bar."""


class EarningRow(Card):
    """What one weaver did and earned."""

    earning = ObjectProperty(Earning("", "", "", ""), rebind=True)


class MoneyEntryRow(RowKey):
    """One wage or spending that was entered."""

    entry = ObjectProperty(EntryLine("", "", ""), rebind=True)


class CostsPage(FilledPage):
    """What the rug in hand costs."""

    def fill(self) -> Iterator[None]:
        desk = self.desk
        columns = self.ids.columns
        if desk.rug is None or desk.answers is None:
            lay_side_by_side(columns, (no_rug(self),))
            return
        state = build_costs_state(desk.rug, desk.answers, currency_of(desk.settings))
        boxes = columns_of_page()
        lay_side_by_side(columns, boxes)
        yield from self._reckoning(boxes[0], state)
        if len(boxes) > 1:
            # Beside the reckoning what is entered comes first: its keys are seen at once.
            yield from self._entered(boxes[1], state)
            yield from self._earned(boxes[1], state)
        else:
            yield from self._earned(boxes[0], state)
            yield from self._entered(boxes[0], state)

    def _reckoning(self, box: FormColumn, state: CostsState) -> Iterator[None]:
        box.add_widget(
            CostHead(
                so_far=state.so_far,
                at_end=state.at_end,
                at_end_range=state.at_end_range,
                bar=state.bar,
            )
        )
        for warning in state.warnings:
            box.warn(warning)
        if state.lines:
            box.add_widget(self._grid(state.lines, bool(state.bar)))
            yield
        margin = CardKey(
            title=_("Price by cost and margin"),
            answer=state.price or _("no margin entered"),
            note=state.price_note,
            icon="money",
            end_icon="edit",
        )
        margin.bind(on_release=lambda _card: self.enter_price())
        box.add_widget(margin)
        if state.agreed:
            agreed, _end, left = state.agreed.partition("\n")
            box.add_widget(CardKey(title=_("Agreed price"), answer=agreed, note=left, icon="money"))
        currency = CardKey(title=_("Currency"), answer=state.currency, icon="settings", end_icon="edit")
        currency.bind(on_release=lambda _card: self.ask_currency())
        box.add_widget(currency)

    @staticmethod
    def _grid(lines: Sequence[CostLine], marked: bool) -> Card:
        """Return the lines of the reckoning as one table."""
        heads = CostLine("", _("So far"), _("At the end") if any(line.at_end for line in lines) else "")
        large = look.text_scale >= LARGE_FROM
        widths = [
            max(words_width(getattr(line, column)) for line in (heads, *lines)) + dp(4)
            for column in ("so_far", "at_end")
        ]
        card = Card()
        for at, line in enumerate(lines if large else (heads, *lines)):
            if at:
                card.add_widget(Rule())
            card.add_widget(
                CostRow(line=line, heads=line is heads, large=large, widths=widths, marked=marked)
            )
        return card

    def _earned(self, box: FormColumn, state: CostsState) -> Iterator[None]:
        box.heading(_("Who earned what"))
        if not state.earnings:
            box.note(_("Nobody has woven yet."))
        for earning in state.earnings:
            box.add_widget(EarningRow(earning=earning))
            yield
        box.note(state.shared)

    def _entered(self, box: FormColumn, state: CostsState) -> Iterator[None]:
        box.heading_with_key(
            _("Wages"), _("Enter a wage"), lambda: open_entry(self.shell, self.desk, FormKind.WAGE)
        )
        for entry in state.wages:
            box.add_widget(self._entry(entry))
            yield
        box.note(state.rules)
        box.heading_with_key(
            _("Money spent"), _("Enter a cost"), lambda: open_entry(self.shell, self.desk, FormKind.COST)
        )
        for entry in self.first_of("spending", state.spending, FIRST_ENTRIES):
            box.add_widget(self._entry(entry))
            yield
        self.key_for_rest(box, "spending", state.spending, FIRST_ENTRIES)

    def _entry(self, entry: EntryLine) -> MoneyEntryRow:
        row = MoneyEntryRow(entry=entry)
        row.bind(on_release=lambda row: open_record(self.shell, self.desk, row.entry.record_id))
        return row

    def enter_price(self) -> None:
        """Ask the margin, and whether the record tells the price."""
        pricing = pricing_of(self.desk.rug)
        if pricing is None:
            open_entry(self.shell, self.desk, FormKind.PRICING)
        else:
            open_entry(self.shell, self.desk, value=pricing)

    def ask_currency(self) -> None:
        """Choose the one currency of the book."""
        ask_choice(
            self.shell,
            _("Currency"),
            currency_choices(),
            self.take_currency,
            currency_of(self.desk.settings),
        )

    def take_currency(self, code: str) -> None:
        """Keep the currency, with undo."""
        acts: list[str] = []
        if self.shell.try_act(lambda: acts.append(self.desk.set_setting(CURRENCY, code))):
            self.shell.toast(currency_words(code), undo=undoable(self.shell, self.desk, acts[0]))


load_kv(__file__)
