"""The part on wefts, warp and loom."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from tracker.domain.rug import EDGES, Role, RugBook
from tracker.domain.units import (
    LengthUnit,
    from_cm,
    to_cm,
)
from tracker.presenters.plan import looms, view
from tracker.presenters.plan.changes import add_edge, add_weft
from tracker.screens.plan.part import Planning
from tracker.screens.plan.yarn_asking import AskingYarn
from tracker.sheets.asking import ask_choice, ask_number
from tracker.widgets.forms import FormColumn
from tracker.words import _


class FoundationPart(AskingYarn):
    """Wefts and warp, and the measures of loom and ends."""

    def __init__(self, page: Planning) -> None:
        super().__init__(page)
        self._read: dict[str, RugBook] = {}
        """Other rugs of the loom by id, as last read."""

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
        self.fill_loom(box)
        lines = view.foundation_lines(form)
        for name, line in lines.items():
            box.field(line, partial(self.ask_foundation, name, line.label))

    def fill_loom(self, box: FormColumn) -> None:
        """Lay out which loom it lies on, on whose warp, and whether it fits."""
        known, plans = self.page.looms, self.desk.plans
        asks = {"loom": self.ask_loom, "warp": self.ask_warp, "gap": self.ask_gap}
        for name, line in looms.loom_lines(self.form, known, plans, begun=self.begun).items():
            box.field(line, asks[name])
        if not known:
            box.key(_("Enter your looms"), lambda: self.shell.go("looms"), icon="warp")
        if self.form.loom_id is not None:
            troubles, on_warp = self.fit()
            box.note(on_warp, tone="ink")
            for sentence in troubles:
                box.warn(sentence)

    def fit(self) -> tuple[tuple[str, ...], str]:
        """Return what does not fit the loom that the form names, and what lies on the same warp."""
        if self.form.loom_id is None:
            return (), ""
        return looms.fit_sentences(self.form, self.page.looms, self.others(), self.book)

    def others(self) -> tuple[RugBook, ...]:
        """Return the other rugs that may lie on the same warp, read once as long as their plans are the same."""
        books = []
        for plan in looms.near_on_warp(self.form, self.desk.plans):
            known = self._read.get(plan.id)
            if known is None or known.plan != plan:
                self.shell.try_act(partial(self._read_other, plan.id))
                known = self._read.get(plan.id)
                if known is None:
                    continue
            books.append(known)
        return tuple(books)

    def _read_other(self, rug_id: str) -> None:
        self._read[rug_id] = self.desk.rug_book(rug_id, with_cartoon=False)

    def ask_loom(self) -> None:
        """Ask which loom it lies on."""
        ask_choice(
            self.shell, _("Which loom?"), looms.loom_choices(self.form, self.page.looms, self.desk.plans),
            self._take_loom,
            chosen=looms.loom_of(self.form, self.page.looms),
        )  # fmt: skip

    def _take_loom(self, loom: Any) -> None:
        self.change(looms.with_loom(self.form, loom))

    @property
    def begun(self) -> bool:
        """Whether rows of the rug are woven."""
        return self.book is not None and bool(self.book.woven_sessions)

    def ask_warp(self) -> None:
        """Ask on whose warp it lies."""
        plans = self.desk.plans
        ask_choice(
            self.shell, _("On which warp?"), list(looms.warp_choices(self.form, plans, begun=self.begun)),
            lambda choice: self.change(looms.with_warp(self.form, choice)),
            chosen=looms.chosen_warp(self.form, plans),
        )  # fmt: skip

    def ask_gap(self) -> None:
        """Ask how much lies between the rugs."""
        self.ask_foundation("warp_gap_cm", _("Gap between the rugs"))

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
            optional=name in ("loom_width_cm", "beam_roll_cm", "warp_gap_cm"),
        )  # fmt: skip
