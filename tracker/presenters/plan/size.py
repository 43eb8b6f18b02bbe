"""The size a rug is wished to have, and how its cartoon agrees with it."""

from __future__ import annotations

from dataclasses import replace

from tracker.domain.layout import SizeCheck, SizeChoice, SizeWay, check_size
from tracker.domain.units import DensityUnit, from_per_10cm, to_per_10cm
from tracker.presenters.plan.checks import size_troubles
from tracker.presenters.plan.form import PlanForm
from tracker.presenters.plan.records import plan_of_size

SIZES_CM = ((60, 90), (80, 120), (120, 180), (170, 240), (200, 300))
SIZES_INCH = ((24, 36), (36, 60), (48, 72), (72, 108), (96, 120))
DENSITIES_PER_10CM = (25, 30, 40, 50, 60)
DENSITIES_PER_INCH = (6, 8, 10, 12, 15)


def common_densities(unit: DensityUnit) -> tuple[tuple[str, float], ...]:
    """Return (words, knots and rows per 10 cm) of common densities, whole numbers in `unit`; none where it has none to tap."""
    counts = {
        DensityUnit.PER_10CM: DENSITIES_PER_10CM,
        DensityUnit.PER_INCH: DENSITIES_PER_INCH,
    }.get(unit, ())
    return tuple((f"{each} × {each}", to_per_10cm(float(each), unit)) for each in counts)


def follow_size(form: PlanForm) -> PlanForm:
    """Return the form with the wished size set to what the cartoon makes at its density."""
    return replace(form, width_cm=form.true_width_cm, length_cm=form.true_length_cm)


def set_size(form: PlanForm, *, width_cm: float | None = None, length_cm: float | None = None) -> PlanForm:
    """Return the form with a width or length the weaver gave; None keeps the one there is."""
    return replace(
        form,
        size_said=True,
        width_cm=form.width_cm if width_cm is None else width_cm,
        length_cm=form.length_cm if length_cm is None else length_cm,
    )


def set_density(
    form: PlanForm, *, knots_per_10cm: float | None = None, rows_per_10cm: float | None = None
) -> PlanForm:
    """Return the form with another density; a cartoon's size follows as long as no other was wished.

    None keeps the density there is.
    """
    agreed = form.cartoon is not None and (not form.size_said or size_check(form) is None)
    changed = replace(
        form,
        knots_per_10cm=form.knots_per_10cm if knots_per_10cm is None else knots_per_10cm,
        rows_per_10cm=form.rows_per_10cm if rows_per_10cm is None else rows_per_10cm,
    )
    return follow_size(changed) if agreed else changed


def set_finishing(form: PlanForm, **changes: object) -> PlanForm:
    """Return the form with another measure or shrinkage; a cartoon's size follows as long as no other was wished."""
    agreed = form.cartoon is not None and (not form.size_said or size_check(form) is None)
    changed = replace(form, **changes)  # type: ignore[arg-type]
    return follow_size(changed) if agreed else changed


def set_raj(form: PlanForm, raj_cm: float) -> PlanForm:
    """Return the form with a raj of another length; the counts in raj stay, for they are what was counted."""
    counted = {
        name: to_per_10cm(
            from_per_10cm(getattr(form, name), DensityUnit.RAJ, form.raj_cm), DensityUnit.RAJ, raj_cm
        )
        for name in ("knots_per_10cm", "rows_per_10cm")
    }
    return replace(set_density(form, **counted), raj_cm=raj_cm)


def size_check(form: PlanForm) -> SizeCheck | None:
    """Return how the cartoon disagrees with the wished size; None when there is nothing to choose."""
    if form.cartoon is None or size_troubles(form):
        return None
    checked = check_size(
        plan_of_size(form, form.width_cm, form.length_cm), form.cartoon.knots, form.cartoon.rows, form.unit
    )
    return None if checked.agrees else checked


def choose_size(form: PlanForm, choice: SizeChoice) -> PlanForm:
    """Return the form after one way out of a disagreement was tapped.

    Mirroring and repeating change how the picture is laid out: the caller puts the cartoon together anew and hands
    it to `take_cartoon`.
    """
    if choice.way is SizeWay.KEEP_SIZE:
        return replace(form, knots_per_10cm=choice.knots_per_10cm, rows_per_10cm=choice.rows_per_10cm)
    if choice.way is SizeWay.KEEP_DENSITY:
        return follow_size(form)
    return form
