"""Scenes of the page of the order behind a rug."""

from __future__ import annotations

from typing import Any

from tracker.presenters.entries.form import FormKind
from tracker.previews.scene import Scene
from tracker.screens.order.order import OrderPage


def scenes(desk: Any) -> list[Scene]:
    """The page, its lower end, and the form of a payment."""
    order = Scene("order", "order", {})
    if desk.rug is None:
        return [order]

    def below(page: OrderPage) -> None:
        page.ids.scroll.scroll_y = 0

    def payment(page: OrderPage) -> None:
        from tracker.sheets.entry_form import open_entry

        open_entry(page.shell, page.desk, FormKind.PAYMENT)

    return [order, Scene("order-below", "order", {}, below), Scene("order-payment", "order", {}, payment)]
