"""The part on the rug's size."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from tracker.domain.finished_size import shrinks
from tracker.domain.rug import SizeMeasure
from tracker.domain.units import (
    LengthUnit,
    from_cm,
    to_cm,
)
from tracker.domain.washing import TaughtShrinkage, shrinkage_taught
from tracker.presenters.plan import view
from tracker.presenters.plan.checks import LEAST_SIDE_CM, MOST_SIDE_CM, size_troubles
from tracker.presenters.plan.size import SIZES_CM, SIZES_INCH, set_finishing, set_size
from tracker.presenters.size_words import taught_words
from tracker.screens.plan.size_choice import AskingSize
from tracker.sheets.asking import ask_number
from tracker.widgets.forms import FormColumn
from tracker.words import _


class SizePart(AskingSize):
    """Width and length, as wished or as the cartoon makes them."""

    def fill(self, box: FormColumn, wrong: dict[str, str]) -> None:
        form = self.form
        if form.cartoon is not None:
            box.note(view.cartoon_size_words(form), tone="ink", style="body")
        else:
            box.note(view.measure_note(form) + " " + _("Tap a common size, or give your own."))
            sizes = SIZES_INCH if form.unit == "inch" else SIZES_CM
            unit = LengthUnit(form.unit)
            words = _("{width} × {length} in") if form.unit == "inch" else _("{width} × {length} cm")
            box.chips(
                tuple((words.format(width=size[0], length=size[1]), size) for size in sizes),
                lambda size: (
                    abs(to_cm(size[0], unit) - form.width_cm) < 0.05
                    and abs(to_cm(size[1], unit) - form.length_cm) < 0.05
                ),
                lambda size: self.change(
                    set_size(form, width_cm=to_cm(size[0], unit), length_cm=to_cm(size[1], unit))
                ),
            )
        lines = view.size_lines(form, wrong)
        box.pair(
            (lines["width"], lambda: self.ask_side("width_cm", _("Width"))),
            (lines["length"], lambda: self.ask_side("length_cm", _("Length"))),
        )
        self.fill_size_choice(box)
        box.chips(
            ((_("in centimetres"), "cm"), (_("in inches"), "inch")),
            lambda unit: form.unit == unit,
            lambda unit: self.change(replace(form, unit=unit)),
        )
        box.note(view.knots_words(form), tone="ink", style="body")
        if not size_troubles(form):
            if view.on_loom_words(form):
                box.note(view.on_loom_words(form), tone="ink", style="body")
            box.note(view.tolerance_words(form))
        taught = shrinkage_taught(self.page.desk.plans, form.rug_id)
        if taught is not None and not view.follows_taught(form, taught):
            box.note(taught_words(taught), tone="ink", style="body")
            box.key(_("Plan with that shrinkage"), partial(self.take_taught, taught), icon="check")
        if not (self.more or shrinks(form) or form.size_measure != SizeMeasure.KNOTTED):
            box.key(_("What is measured, and shrinking"), self.show_more, icon="down")
            return
        box.heading(_("The customer measures"))
        box.chips(
            view.measures(),
            lambda measure: form.size_measure == measure,
            lambda measure: self.change(set_finishing(self.form, size_measure=measure)),
        )
        box.heading(_("From the loom to the floor"))
        for field, line in view.shrinkage_lines(form, wrong).items():
            box.field(line, partial(self.ask_shrinkage, field, line.label))

    def take_taught(self, taught: TaughtShrinkage) -> None:
        """Plan with what washing took of the last rug."""
        self.change(set_finishing(self.form, **view.taught_fields(taught)))

    def ask_shrinkage(self, field: str, title: str) -> None:
        """Ask by how much the rug shrinks."""
        ask_number(
            self.shell, title, round(100 * getattr(self.form, field), 2),
            lambda percent: self.change(set_finishing(self.form, **{field: round(percent / 100, 6)})),
            unit="%", decimals=1, most=30,
        )  # fmt: skip

    def ask_side(self, side: str, title: str) -> None:
        """Ask for the width or the length."""
        unit = LengthUnit(self.form.unit)

        def take(value: float) -> None:
            self.change(set_size(self.form, **{side: to_cm(value, unit)}))

        ask_number(
            self.shell, title, round(from_cm(getattr(self.form, side), unit), 2), take,
            unit=_("in") if unit is LengthUnit.INCH else _("cm"), decimals=2,
            least=round(from_cm(LEAST_SIDE_CM, unit), 1), most=round(from_cm(MOST_SIDE_CM, unit)),
        )  # fmt: skip
