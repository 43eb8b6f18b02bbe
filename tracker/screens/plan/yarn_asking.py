"""What is asked of a yarn, of one or of all of a role alike."""

from __future__ import annotations

from typing import Any

from tracker.domain.rug import Role
from tracker.domain.units import SQUARE_FOOT_M2, LengthUnit
from tracker.domain.yarn import EXAMPLES, parse_fineness
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import with_all, with_yarn
from tracker.presenters.plan.records import doubt_of_price
from tracker.screens.plan.part import Part
from tracker.sheets.asking import ask_doubt_of_answer, ask_part, ask_text
from tracker.shell.page import there
from tracker.widgets.forms import CardKey, FormColumn
from tracker.words import CM_PER_INCH, MM_PER_INCH, _


class AskingYarn(Part):
    """A part that lists yarns and asks for their values."""

    def fill_yarns(self, box: FormColumn, role: Role, wrong: dict[str, str]) -> None:
        """Lay out a card for each yarn of a role; a tap opens it."""
        for card in view.yarn_cards(self.form, role, wrong):
            line = CardKey(
                "", card.name, card.note, card.trouble, swatch=(card.swatch, card.number), amount=card.amount
            )
            line.bind(on_release=lambda _line, yarn_id=card.yarn_id: self.page.open_yarn(yarn_id))
            box.add_widget(line)

    def ask_count(self, yarn_id: str | None, role: Role) -> None:
        """Ask for a fineness, of one yarn or of all of a role."""
        form = self.form
        yarn = form.of(role)[0] if yarn_id is None else there(form.yarn(yarn_id))

        def take(text: str) -> None:
            if text:
                parse_fineness(text)
            self.set_yarn(yarn_id, role, count=text)

        ask_text(
            self.shell,
            _("Yarn count, as the label says it"),
            yarn.count,
            take,
            hint=EXAMPLES.split(", R")[0],
            most=60,
        )

    def set_yarn(self, yarn_id: str | None, role: Role, **changes: Any) -> None:
        """Change one yarn, or all of a role when `yarn_id` is None."""
        if yarn_id is None:
            self.change(with_all(self.form, role, **changes))
        else:
            self.change(with_yarn(self.form, yarn_id, **changes))

    def ask_of_yarn(self, name: str, yarn_id: str | None, role: Role) -> None:
        """Ask for one of a yarn's values, of one yarn or of all of a role."""
        yarn = self.form.of(role)[0] if yarn_id is None else there(self.form.yarn(yarn_id))
        title = view.yarn_lines(self.form, yarn, {})[name].label
        value = getattr(yarn, name)
        if name == "dyer":
            ask_text(
                self.shell, title, value, lambda text: self.set_yarn(yarn_id, role, dyer=text),
                hint=_("A name or a place"), most=80,
            )  # fmt: skip
            return
        inches = self.form.unit == LengthUnit.INCH
        unit, decimals, least, most, optional = {
            "unit_mass_g": (_("g"), 0, 1, 20_000, False),
            "passes": (_("passes"), 0, 1, 20, False),
            "take_up_percent": ("%", 1, 0, 300, True),
            "twist_percent": ("%", 1, 0, 30, False),
            "price_per_kg": ("", 2, 0, 10_000_000, True),
            "lead_days": (_("days"), 0, 0, 999, False),
            "margin_percent": ("%", 1, 0, 200, False),
            "skein_g": (_("g"), 0, 1, 50_000, False),
            "least_g": (_("g"), 0, 0, 500_000, False),
            "cut_length_mm": (_("in") if inches else _("mm"), 2 if inches else 1, 5, 500, True),
            "pile_g_per_m2": (_("g"), 0, 50, 20_000, True),
            "per_cm": ("", 1, 0.1, 50, True),
            "pieces": ("", 0, 1, 50, True),
        }[name]
        per = {
            "cut_length_mm": MM_PER_INCH, "pile_g_per_m2": 1.0 / SQUARE_FOOT_M2, "per_cm": 1.0 / CM_PER_INCH
        }.get(name, 1.0) if inches else 1.0  # fmt: skip
        ask_part(
            self.shell, title, value, lambda given: self._take(name, given, yarn_id, role),
            per=per, unit=unit, decimals=decimals, least=least, most=most, optional=optional,
        )  # fmt: skip

    def _take(self, name: str, given: float | None, yarn_id: str | None, role: Role) -> None:
        """Set a yarn's value; a price that can hardly be meant is asked about first."""

        def work() -> None:
            self.set_yarn(yarn_id, role, **{name: given})

        doubt = None
        if name == "price_per_kg" and given and yarn_id is not None:
            doubt = doubt_of_price(self.form, self.book, yarn_id, given, self.desk.today())
        ask_doubt_of_answer(self.shell, doubt, work, lambda: self.ask_of_yarn(name, yarn_id, role))
