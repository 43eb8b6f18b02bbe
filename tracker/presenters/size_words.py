"""How a rug's size is said: always with whether it is the finished one or the one on the loom."""

from __future__ import annotations

from tracker.domain import defaults
from tracker.domain.finished_size import (
    Finishing,
    SideCheck,
    selvedges_cm,
    sides_of,
    tolerance_cm,
    woven_length_cm,
)
from tracker.domain.rug import RugPlan, RugStage
from tracker.domain.units import DensityUnit, from_per_10cm
from tracker.domain.washing import TaughtShrinkage, WashingLoss, washing_loss
from tracker.forecast.answers import LengthWarning
from tracker.words import _, length, mass, number, size

LEAST_SELVEDGE_CM = 0.05
"""Selvedges narrower than that are not told."""


def finished_size_words(plan: RugPlan, unit: str, rows_woven: int = 0) -> str:
    """Return the size of the finished rug: as it was measured, else by the rows it was finished with, else as planned."""
    if plan.finished_width_cm is not None and plan.finished_length_cm is not None:
        return _("{size} finished").format(size=size(plan.finished_width_cm, plan.finished_length_cm, unit))
    planned = size(plan.width_cm, plan.length_cm, unit)
    if plan.stage is RugStage.FINISHED and 0 < rows_woven < plan.rows:
        by_rows = size(plan.width_cm, woven_length_cm(plan, rows_woven), unit)
        return _("about {size} finished, by its rows").format(size=by_rows)
    if plan.stage is RugStage.FINISHED:
        return _("planned {size} finished").format(size=planned)
    return _("to be {size} finished").format(size=planned)


def one_side_words(plan: RugPlan, unit: str) -> str:
    """Say the side of the finished rug that was measured where the other was not; "" elsewhere."""
    wide, long = plan.finished_width_cm, plan.finished_length_cm
    if wide is not None and long is None:
        return _("width as measured: {length}").format(length=length(wide, unit))
    if long is not None and wide is None:
        return _("length as measured: {length}").format(length=length(long, unit))
    return ""


def _off_words(side: SideCheck, more: str, less: str, unit: str) -> str:
    """Say by how much a side is off, beside what is allowed; "" where it is within."""
    if side.within:
        return ""
    off = (more if side.off_cm > 0 else less).format(length=length(abs(side.off_cm), unit))
    return _("{off}, allowed {allowed}").format(off=off, allowed=length(side.tolerance_cm, unit))


def agreement_words(plan: RugPlan, unit: str, ordered: bool) -> tuple[str, bool] | None:
    """Return whether the finished rug has the size that was wanted, and whether it is within what is allowed.

    None until it is measured. `ordered` says whether the size was agreed with a customer; else it is the plan's alone.
    """
    sides = sides_of(plan)
    if sides is None:
        return None
    wide, long = sides
    wanted = (_("ordered: {size}") if ordered else _("planned: {size}")).format(
        size=size(wide.ordered_cm, long.ordered_cm, unit)
    )
    if wide.within and long.within:
        allowed = _("within what is allowed ({width} in width, {length} in length)").format(
            width=length(wide.tolerance_cm, unit), length=length(long.tolerance_cm, unit)
        )
        return f"{wanted}; {allowed}", True
    parts = (
        wanted,
        _off_words(wide, _("{length} too wide"), _("{length} too narrow"), unit),
        _off_words(long, _("{length} too long"), _("{length} too short"), unit),
    )
    return "; ".join(part for part in parts if part), False


def tolerance_source(width_cm: float, length_cm: float, unit: str) -> str:
    """Say where it is from what a finished rug so large may differ by."""
    said = _("That is the usual allowance for hand-knotted rugs (Turkish standard TS 43).")
    small = defaults.TOLERANCE_WHOLE_FROM_CM
    if min(width_cm, length_cm) >= small:
        return said
    short = sorted({side_cm for side_cm in (width_cm, length_cm) if side_cm < small})
    here = [
        _("{allowed} on {side}").format(
            allowed=length(tolerance_cm(side_cm), unit), side=length(side_cm, unit)
        )
        for side_cm in short
    ]
    alone = max(width_cm, length_cm) < small
    # Where the standard was named just before, it is not named again.
    standard = _("Turkish standard TS 43") if alone else _("The standard")
    ours = _("{standard} allows {least} or more. On sides shorter than {length} that is much, so "
             "we allow less: {parts}.").format(
        standard=standard, length=length(small, unit), least=length(defaults.TOLERANCE_CM[0], unit),
        parts=", ".join(dict.fromkeys(here)),
    )  # fmt: skip
    return ours if alone else f"{said} {ours}"


def size_on_loom_words(plan: Finishing, width_cm: float, length_cm: float, unit: str) -> str:
    """Return the size that is planned on the loom, as every page and file tells it: with selvedges, and the rows alone along.

    `width_cm` is the width with them, as a tape across the cloth shows it.
    """
    said = size(width_cm, length_cm, unit)
    return _("{size} with selvedges").format(size=said) if selvedges_cm(plan) >= LEAST_SELVEDGE_CM else said


def width_on_loom_words(plan: RugPlan, whole_cm: float, unit: str) -> str:
    """Return how wide the cloth is planned on the loom, and what of it are selvedges: "16 cm (15 cm of knots, 1 cm of selvedges)"."""
    knots_cm = plan.knots_across / plan.knots_per_10cm * 10
    if whole_cm - knots_cm < LEAST_SELVEDGE_CM:
        return length(whole_cm, unit)
    return _("{width} ({knots} of knots, {selvedges} of selvedges)").format(
        width=length(whole_cm, unit),
        knots=length(knots_cm, unit),
        selvedges=length(whole_cm - knots_cm, unit),
    )


def beat_of(rows_per_10cm: float, unit: str, decimals: int = 1) -> str:
    """Return how many rows lie in 10 cm, or in an inch for who measures in inches."""
    return number(
        from_per_10cm(rows_per_10cm, DensityUnit.PER_INCH if unit == "inch" else DensityUnit.PER_10CM),
        decimals,
    )


def density_words(knots_per_10cm: float, rows_per_10cm: float, unit: str) -> str:
    """Return how close the knots stand, in 10 cm or in an inch for who measures in inches."""
    said = _("{across} × {along} per inch") if unit == "inch" else _("{across} × {along} per 10 cm")
    return said.format(across=beat_of(knots_per_10cm, unit), along=beat_of(rows_per_10cm, unit))


def length_warning_words(warning: LengthWarning | None, unit: str) -> str:
    """Say by how much the rug will end too long or too short, and what mends it; "" where it keeps its length."""
    if warning is None:
        return ""
    long = warning.off_cm > 0
    ends = (
        _("At this beat the rug ends {off} too long on the loom.")
        if long
        else _("At this beat the rug ends {off} too short on the loom.")
    )
    if not warning.beat_can_mend:
        advice = _("The beat alone cannot correct it. Weave to the length and change the number of rows.")
    elif unit == "inch":
        advice = (
            _("Beat harder: {rows} rows to the inch from here on.")
            if long
            else _("Beat more lightly: {rows} rows to the inch from here on.")
        )
    else:
        advice = (
            _("Beat harder: {rows} rows in 10 cm from here on.")
            if long
            else _("Beat more lightly: {rows} rows in 10 cm from here on.")
        )
    return (ends + " " + advice).format(
        off=length(abs(warning.off_cm), unit), rows=beat_of(warning.rows_per_10cm, unit)
    )


def length_warning_brief(warning: LengthWarning, unit: str) -> str:
    """Say in a few words by how much the rug will end too long or too short."""
    said = (
        _("Ends {off} too long at this beat.")
        if warning.off_cm > 0
        else _("Ends {off} too short at this beat.")
    )
    return said.format(off=length(abs(warning.off_cm), unit))


def share_words(share: float) -> str:
    """Return a share that a rug shrank by, in percent to the tenth."""
    return _("{number} %").format(number=number(100 * share, 1))


def _changed(share: float, lost: str, gained: str) -> str:
    return (lost if share >= 0 else gained).format(share=share_words(abs(share)))


def loss_words(loss: WashingLoss) -> tuple[str, ...]:
    """Say what washing took, a part for each side and for the weight."""
    parts = []
    if loss.width_share is not None:
        parts.append(_changed(loss.width_share, _("{share} of the width"), _("{share} wider")))
    if loss.length_share is not None:
        parts.append(_changed(loss.length_share, _("{share} of the length"), _("{share} longer")))
    if loss.mass_g is not None and loss.mass_share is not None:
        words = _("{mass} of the weight ({share})") if loss.mass_g >= 0 else _("{mass} heavier ({share})")
        parts.append(words.format(mass=mass(abs(loss.mass_g)), share=share_words(abs(loss.mass_share))))
    return tuple(parts)


def washing_words(plan: RugPlan) -> str:
    """Say in a sentence what washing took; "" where nothing was measured before and after."""
    parts = loss_words(washing_loss(plan))
    return _("Taken by washing: {parts}.").format(parts=", ".join(parts)) if parts else ""


def taught_words(taught: TaughtShrinkage) -> str:
    """Say what washing took of the last rug that was measured before and after."""
    parts = loss_words(
        WashingLoss(
            width_share=taught.width_share, length_share=taught.length_share, mass_g=None, mass_share=None
        )
    )
    return _("On your last rug, {rug}, washing took {parts}.").format(
        rug=taught.rug_name, parts=", ".join(parts)
    )
