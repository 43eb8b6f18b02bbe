"""The part on wefts, warp and loom."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from tracker.domain.rug import EDGES, Role
from tracker.domain.units import (
    LengthUnit,
    from_cm,
    to_cm,
)
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import add_edge, add_weft
from tracker.screens.plan.yarn_asking import AskingYarn
from tracker.sheets.asking import ask_number
from tracker.widgets.forms import FormColumn
from tracker.words import _


class FoundationPart(AskingYarn):
    """Wefts and warp, and the measures of loom and ends."""

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        box.heading(_("Wefts after each row"))
        box.note(_("The thick weft, laid straight, locks the row; the thin one is laid over it in waves."))
        if "wefts" in wrong:
            box.warn(wrong["wefts"])
        self.fill_yarns(box, Role.WEFT, wrong)
        box.key(_("Add a weft"), lambda: self.change(add_weft(self.form)), icon="plus")
        if form.of(Role.WARP):
            box.heading(_("Warp"))
            self.fill_yarns(box, Role.WARP, wrong)
        if any(form.of(role) for role in EDGES) or self.more:
            box.heading(_("Edges"))
            for role in EDGES:
                self.fill_yarns(box, role, wrong)
            for words, role in view.edges_to_add(form):
                box.key(words, partial(self.add_edge, role), icon="plus")
        else:
            box.key(_("Overcasting, side cords, added fringe"), self.show_more, icon="down")
        box.heading(_("Loom and ends"))
        lines = view.foundation_lines(form)
        for name, line in lines.items():
            box.field(line, partial(self.ask_foundation, name, line.label))

    def add_edge(self, role: Role) -> None:
        """Add a yarn that finishes the edges."""
        self.change(add_edge(self.form, role))

    def ask_foundation(self, name: str, title: str) -> None:
        """Ask for a measure of the loom or the ends."""
        if name == "selvedge_warps":
            ask_number(
                self.shell, title, self.form.selvedge_warps,
                lambda value: self.change(replace(self.form, selvedge_warps=int(value))), unit=_("warps"), most=200,
            )  # fmt: skip
            return
        unit = LengthUnit(self.form.unit)
        value = getattr(self.form, name)

        def take(given: float | None) -> None:
            length_cm: dict[str, Any] = {name: None if given is None else to_cm(given, unit)}
            self.change(replace(self.form, **length_cm))

        ask_number(
            self.shell, title, None if value is None else round(from_cm(value, unit), 2), take,
            unit=_("in") if unit is LengthUnit.INCH else _("cm"), decimals=1, most=5000,
            optional=name in ("loom_width_cm", "beam_roll_cm"),
        )  # fmt: skip
