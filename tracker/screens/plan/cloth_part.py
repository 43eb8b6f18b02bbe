"""The part on density, knot and pile."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

from tracker.domain.rug import KnotKind
from tracker.domain.units import (
    LEAST_PER_10CM,
    MOST_PER_10CM,
    DensityUnit,
    LengthUnit,
    check_density,
    from_per_10cm,
    to_per_10cm,
    unit_words,
)
from tracker.presenters.plan import view
from tracker.presenters.plan.form import units_of
from tracker.presenters.plan.size import common_densities, set_density, set_raj
from tracker.presenters.trade_words import offset_chips
from tracker.screens.plan.part import Part
from tracker.sheets.asking import ask_number, ask_part
from tracker.widgets.forms import FormColumn
from tracker.words import MM_PER_INCH, _


class ClothPart(Part):
    """How close the knots stand, which knot it is, how high the pile; what is seldom asked only on request."""

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        across, along = units_of(form)
        common = common_densities(across)
        box.note(
            _("How close the knots stand. Say it in the unit you know; tap a common one, or give your own.")
            if common
            else _("How close the knots stand. Say it in the unit you know.")
        )
        box.chips(
            view.density_units(),
            lambda unit: unit == form.density_unit,
            lambda unit: self.change(replace(form, density_unit=unit)),
        )
        if across is DensityUnit.RAJ:
            box.note(_("One raj is counted over"))
            box.chips(
                view.raj_lengths(),
                lambda cm: form.raj_cm == cm,
                lambda cm: self.change(set_raj(form, cm)),
            )
        if common:
            box.chips(
                common,
                lambda each: form.knots_per_10cm == each == form.rows_per_10cm,
                lambda each: self.change(set_density(form, knots_per_10cm=each, rows_per_10cm=each)),
            )
        lines = view.cloth_lines(form, wrong)
        box.pair(
            (lines["across"], lambda: self.ask_density("knots_per_10cm", lines["across"].label, across)),
            (lines["along"], lambda: self.ask_density("rows_per_10cm", lines["along"].label, along)),
        )
        if form.cartoon is not None:
            box.field(view.size_line(form), lambda: self.page.open("size"))
        box.note(_("The same in every way the trade says it:"))
        box.table(view.density_table(form))
        box.heading(_("Knot"))
        for kind in KnotKind:
            box.choice(
                view.knot_kind_words(kind.value),
                partial(self.choose_knot, kind),
                chosen=form.knot_kind == kind.value,
            )
        box.field(lines["pile"], self.ask_pile)
        told = form.unshorn_mm is not None or form.jufti_percent or form.warp_offset_degrees
        if not (self.more or told):
            box.key(_("Shearing, wide knots, warps behind"), self.show_more, icon="down")
            return
        box.field(lines["unshorn"], self.ask_unshorn)
        box.field(lines["jufti"], self.ask_jufti)
        box.heading(_("Every second warp"))
        box.note(
            _(
                "Look from the back: two nodes a knot when all warps are on one plane, one node when "
                "fully behind."
            )
        )
        box.chips(
            offset_chips(),
            lambda degrees: form.warp_offset_degrees == degrees,
            lambda degrees: self.change(replace(form, warp_offset_degrees=degrees)),
        )

    def ask_unshorn(self) -> None:
        """Ask how high the pile stands before shearing."""
        inches = self.form.unit == LengthUnit.INCH
        ask_part(
            self.shell, _("Pile height before shearing"), self.form.unshorn_mm,
            lambda value: self.change(replace(self.form, unshorn_mm=value)),
            per=MM_PER_INCH if inches else 1.0, unit=_("in") if inches else _("mm"), decimals=2 if inches else 1,
            least=1, most=200, optional=True,
        )  # fmt: skip

    def ask_jufti(self) -> None:
        """Ask how much of the field is tied over four warps."""
        ask_number(
            self.shell, _("Field tied over four warps"), self.form.jufti_percent,
            lambda value: self.change(replace(self.form, jufti_percent=value)),
            unit="%", decimals=1, most=100,
        )  # fmt: skip

    def choose_knot(self, kind: KnotKind) -> None:
        """Take a knot."""
        self.change(replace(self.form, knot_kind=kind.value))

    def ask_density(self, which: str, title: str, unit: DensityUnit) -> None:
        """Ask how close the knots or rows stand."""

        raj_cm = self.form.raj_cm

        def take(count: float) -> None:
            per_10cm = to_per_10cm(count, unit, raj_cm)
            self.change(set_density(self.form, **{which: check_density(per_10cm, unit, raj_cm)}))

        # Within the bounds, so that the keys and the check that follows say one range.
        least = math.ceil(from_per_10cm(LEAST_PER_10CM, unit, raj_cm) * 100) / 100
        most = math.floor(from_per_10cm(MOST_PER_10CM, unit, raj_cm) * 100) / 100
        ask_number(
            self.shell, title, round(from_per_10cm(getattr(self.form, which), unit, raj_cm), 2), take,
            unit=unit_words(unit, raj_cm), decimals=2, least=least, most=most,
        )  # fmt: skip

    def ask_pile(self) -> None:
        """Ask how high the pile stands."""
        inches = self.form.unit == LengthUnit.INCH
        ask_part(
            self.shell, _("Pile height after shearing"), self.form.pile_height_mm,
            lambda value: self.change(replace(self.form, pile_height_mm=value)),
            per=MM_PER_INCH if inches else 1.0, unit=_("in") if inches else _("mm"), decimals=2 if inches else 1,
            least=1, most=100,
        )  # fmt: skip
