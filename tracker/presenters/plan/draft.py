"""A half-filled plan form as it is kept beside the book."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from tracker.domain import rules
from tracker.domain.errors import BadEntry
from tracker.domain.layout import Given
from tracker.domain.loom import WarpLay
from tracker.domain.rug import KnotKind, Role, RugPlan, SizeMeasure
from tracker.domain.units import DensityUnit, LengthUnit
from tracker.files.typed import read_as
from tracker.presenters.plan.checks import SHRINKAGES, troubles
from tracker.presenters.plan.form import PlanForm


def to_kept(form: PlanForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    plain = asdict(form)
    plain["start_day"] = form.start_day.isoformat()
    plain["wished_day"] = form.wished_day.isoformat() if form.wished_day else None
    return plain


DIVIDED_BY = ("knots_per_10cm", "rows_per_10cm", "raj_cm", "knots_per_hour", "hours_per_week")
"""What the page's sums divide by or take the logarithm of: the pads bound it, a file damaged or written by hand does not."""


def from_kept(draft: Any) -> PlanForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        form = read_as(PlanForm, draft)
        _check_choices(form)
        troubles(form)  # sizes that cannot even be reckoned are no draft
    except (BadEntry, ValueError, OverflowError, ZeroDivisionError):
        return None
    return form


def _check_choices(form: PlanForm) -> None:
    """Raise ValueError or BadEntry where a text that must be one of a few, or a colour, is something else."""
    DensityUnit(form.density_unit)
    LengthUnit(form.unit)
    KnotKind(form.knot_kind)
    SizeMeasure(form.size_measure)
    WarpLay(form.warp_lay)
    if form.warp_gap_cm is not None:
        rules.RULES[RugPlan]["warp_gap_cm"].check(form.warp_gap_cm)
    for field in (*SHRINKAGES, *DIVIDED_BY):
        if (given := getattr(form, field)) is not None:
            rules.RULES[RugPlan][field].check(given)
    colour = rules.Colour()
    for yarn in form.yarns:
        Role(yarn.role)
        colour.check(yarn.swatch)
        for shade in yarn.shades:
            colour.check(shade)
    if form.cartoon is not None:
        Given(form.cartoon.given)
        for shade, _knots in form.cartoon.shades:
            colour.check(shade)


def files_of(form: PlanForm) -> set[str]:
    """Return the names of the pictures a draft needs."""
    if form.cartoon is None:
        return set()
    chosen = form.cartoon
    return {chosen.file, chosen.field_file, chosen.strip_file, chosen.corner_file} - {""}
