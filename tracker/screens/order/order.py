"""The order behind the rug in hand: what was agreed, what is paid, how it gets there, what the record may tell."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from tracker.domain import rules
from tracker.domain.act import ActKind
from tracker.domain.costs import order_of
from tracker.domain.order import DeliveryWay, Order, OrderItem
from tracker.presenters.costs import price_offered
from tracker.presenters.currency import currency_of
from tracker.presenters.doubts import answer_doubted, doubt_of
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entry_text import MONEY_DECIMALS_ENTERED, delivery_words
from tracker.presenters.order import (
    OrderLine,
    OrderState,
    build_order_state,
    order_or_blank,
    with_shown,
    with_target,
)
from tracker.screens.costs.costs import MoneyEntryRow
from tracker.sheets.asking import ask_choice, ask_day, ask_doubt_of_answer, ask_number, ask_text
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import open_entry
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.undo import undoable
from tracker.widgets.basics import load_kv
from tracker.widgets.forms import FormColumn, columns_of_page, lay_side_by_side
from tracker.words import _, money


class OrderPage(FilledPage):
    """What was agreed with the customer of the rug in hand."""

    # --- showing

    def fill(self) -> None:
        desk = self.desk
        columns = self.ids.columns
        if desk.rug is None or desk.answers is None:
            lay_side_by_side(columns, (no_rug(self),))
            return
        state = build_order_state(desk.rug, desk.answers, currency_of(desk.settings))
        boxes = columns_of_page()
        self._agreed(boxes[0], state)
        if len(boxes) > 1:
            self._delivery(boxes[0], state)
        self._paid(boxes[-1], state)
        if len(boxes) == 1:
            self._delivery(boxes[0], state)
        self._record(boxes[-1], state)
        lay_side_by_side(columns, boxes)

    def _agreed(self, box: FormColumn, state: OrderState) -> None:
        box.note(state.rug_name, tone="ink", strong=True, style="lead")
        box.note(self.explained(state.what_for))
        for line in state.agreed:
            self._field(box, line)
            if line.field != "promised_day":
                continue
            if state.late:
                box.warn(state.promise)
            else:
                box.note(state.promise, tone="ink", style="body")
            if state.condition:
                box.warn(state.condition)
            if state.target:
                box.key(state.target, self.take_target, icon="calendar")

    def _paid(self, box: FormColumn, state: OrderState) -> None:
        box.heading_with_key(
            _("What is paid"),
            _("Enter a payment"),
            lambda: open_entry(self.shell, self.desk, FormKind.PAYMENT),
        )
        box.table(((_("Paid so far"), state.paid), (state.owed_label, state.owed)))
        if state.left:
            box.note(state.left, tone="ink")
        for entry in state.payments:
            row = MoneyEntryRow(entry=entry)
            row.bind(on_release=lambda row: open_record(self.shell, self.desk, row.entry.record_id))
            box.add_widget(row)

    def _delivery(self, box: FormColumn, state: OrderState) -> None:
        box.heading(_("Delivery"))
        for line in state.delivery:
            self._field(box, line)

    def _record(self, box: FormColumn, state: OrderState) -> None:
        box.heading(_("In the record of the rug"))
        box.note(_("The record goes to whoever gets the rug. Tap what it may tell."))
        box.chips(
            [(item.label, item.item) for item in state.shown],
            lambda item: any(one.shown for one in state.shown if one.item is item),
            self.switch,
            several=True,
        )
        box.note(state.shown_words, tone="ink")

    def _field(self, box: FormColumn, line: OrderLine) -> None:
        box.field(line, lambda: self.ask(line.field))

    # --- changing

    def _write(self, order: Order) -> None:
        """Keep the changed order as one act, with undo."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []
        if shell.try_act(
            lambda: acts.append(desk.act(ActKind.ORDER_CHANGED, order, rug_id=order.rug_id)),
        ):
            desk.once(lambda: shell.toast(_("Changed."), undo=undoable(shell, desk, acts[0])))

    def _change(self, **fields: Any) -> None:
        order = order_or_blank(self.desk.rug)
        changed = replace(order, **fields)
        if changed != order:
            doubt = doubt_of(changed, self.desk.rug, self.desk.today(), held=order)
            name = answer_doubted(doubt, fields)
            change = (lambda: self.ask(name)) if name else None
            ask_doubt_of_answer(self.shell, doubt, lambda: self._write(changed), change)

    def ask(self, field: str) -> None:
        """Ask one question of the order."""
        order = order_or_blank(self.desk.rug)
        if field == "price":
            self._ask_price(order)
        elif field in ("promised_day", "delivered_day"):
            self._ask_day(field, getattr(order, field))
        elif field == "way":
            ask_choice(
                self.shell,
                _("How it gets there"),
                [(delivery_words(way) or _("not said"), way) for way in DeliveryWay],
                lambda way: self._change(way=way),
                chosen=order.way,
            )
        else:
            titles = {
                "customer": _("For whom"),
                "address": _("Address, or how to reach them"),
                "note": _("Note"),
            }
            rule = rules.RULES[Order][field]
            ask_text(
                self.shell,
                titles[field],
                getattr(order, field),
                lambda text: self._change(**{field: text}),
                lines=1 if field == "customer" else 3,
                most=rule.most if isinstance(rule, rules.Letters) else 0,
            )

    def _ask_price(self, order: Order) -> None:
        desk = self.desk
        reckoned = price_offered(desk.rug, desk.answers, currency_of(desk.settings))

        def by_hand() -> None:
            ask_number(
                self.shell,
                _("Agreed price"),
                order.price,
                lambda price: self._change(price=price),
                decimals=MONEY_DECIMALS_ENTERED,
                most=rules.PRICE.most,
                optional=True,
            )

        if reckoned is None or not rules.PRICE.holds(float(reckoned)):
            by_hand()
            return
        words = _("Take the calculated price, {price}").format(
            price=money(reckoned, currency_of(desk.settings))
        )
        offers: list[tuple[str, bool]] = [(words, True), (_("Another price …"), False)]
        ask_choice(
            self.shell,
            _("Agreed price"),
            offers,
            lambda take: self._change(price=float(reckoned)) if take else by_hand(),
        )

    def _ask_day(self, field: str, held: date | None) -> None:
        title = _("Promised day") if field == "promised_day" else _("Delivered")

        def ask() -> None:
            ask_day(
                self.shell, title, held or self._likely_day(field), lambda on: self._change(**{field: on})
            )

        if held is None:
            ask()
            return
        offers: list[tuple[str, bool]] = [(_("Another day …"), True), (_("Leave it open"), False)]
        ask_choice(
            self.shell, title, offers, lambda another: ask() if another else self._change(**{field: None})
        )

    def _likely_day(self, field: str) -> date:
        """Return the day at which the month that is asked opens."""
        finish = self.desk.answers.finish
        if field == "promised_day" and finish is not None:
            return finish.ready or finish.middle
        return self.desk.today()

    def switch(self, item: OrderItem) -> None:
        """Tell one item in the record of the rug, or no longer."""
        self._write(with_shown(order_or_blank(self.desk.rug), item))

    def take_target(self) -> None:
        """Take the promised day as the rug's target date."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []
        if order_of(desk.rug) is not None and shell.try_act(
            lambda: acts.append(desk.act(ActKind.WISH_CHANGED, with_target(desk.rug, desk.today())))
        ):
            desk.once(
                lambda: shell.toast(
                    _("The target date follows the promised day."), undo=undoable(shell, desk, acts[0])
                )
            )


load_kv(__file__)
