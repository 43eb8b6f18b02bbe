"""The part on density, knot and pile."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from tracker.domain.rug import KnotKind
from tracker.domain.units import (
    MOST_PER_10CM,
    DensityUnit,
    check_density,
    from_per_10cm,
    to_per_10cm,
)
from tracker.presenters.plan import view
from tracker.presenters.plan.size import DENSITIES_PER_10CM, set_density
from tracker.screens.plan.part import Part
from tracker.sheets.asking import ask_number
from tracker.widgets.forms import FormColumn
from tracker.words import _


class ClothPart(Part):
    """How close the knots stand, which knot it is, how high the pile."""

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        across, along = view.units_of(form)
        box.note(
            _("How close the knots stand. Say it in the unit you know; tap a common one, or give your own.")
        )
        box.chips(
            view.density_units(),
            lambda unit: unit == form.density_unit,
            lambda unit: self.change(replace(form, density_unit=unit)),
        )
        if across is DensityUnit.PER_10CM:
            box.chips(
                tuple((f"{each} × {each}", each) for each in DENSITIES_PER_10CM),
                lambda each: form.knots_per_10cm == each == form.rows_per_10cm,
                lambda each: self.change(
                    set_density(form, knots_per_10cm=float(each), rows_per_10cm=float(each))
                ),
            )
        lines = view.cloth_lines(form, wrong)
        box.pair(
            (lines["across"], lambda: self.ask_density("knots_per_10cm", lines["across"].label, across)),
            (lines["along"], lambda: self.ask_density("rows_per_10cm", lines["along"].label, along)),
        )
        box.note(_("The same in every way the trade says it:"))
        box.table(view.density_table(form))
        box.heading(_("Knot"))
        for kind in KnotKind:
            key = box.key(
                view.knot_kind_words(kind.value),
                partial(self.choose_knot, kind),
                icon="check" if form.knot_kind == kind.value else "knot",
                role="chosen" if form.knot_kind == kind.value else "plain",
            )
            key.halign = "left"
        box.field(lines["pile"], self.ask_pile)

    def choose_knot(self, kind: KnotKind) -> None:
        """Take a knot."""
        self.change(replace(self.form, knot_kind=kind.value))

    def ask_density(self, which: str, title: str, unit: DensityUnit) -> None:
        """Ask how close the knots or rows stand."""

        def take(count: float) -> None:
            self.change(set_density(self.form, **{which: check_density(to_per_10cm(count, unit))}))

        ask_number(
            self.shell, title, round(from_per_10cm(getattr(self.form, which), unit), 2), take,
            unit=view.unit_words(unit), decimals=2, most=round(from_per_10cm(MOST_PER_10CM, unit)),
        )  # fmt: skip

    def ask_pile(self) -> None:
        """Ask how high the pile stands."""
        ask_number(
            self.shell, _("Pile height after shearing"), self.form.pile_height_mm,
            lambda value: self.change(replace(self.form, pile_height_mm=value)),
            unit=_("mm"), decimals=1, least=1, most=100,
        )  # fmt: skip
