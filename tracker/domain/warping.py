"""Setting up the warp: where the counting marks stand, and how wide the threads must lie."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.domain import defaults, material
from tracker.domain.rug import RugPlan
from tracker.domain.units import LengthUnit, to_cm


@dataclass(frozen=True, slots=True)
class CountingMark:
    """A mark at the edge of the loom: so many warps lie to its left."""

    warps: int
    at_cm: float
    """From the first warp."""


def mark_step_cm(unit: str = "cm") -> float:
    """Return the width of warp between two full marks, a round length in `unit` ("cm" or "inch"), in cm."""
    if unit == LengthUnit.INCH:
        return to_cm(float(defaults.MARK_STEP_INCHES), LengthUnit.INCH)
    return float(defaults.MARK_STEP_CM)


def warps_per_step(plan: RugPlan, unit: str = "cm") -> int:
    """Return the warps between two full marks, for a spacing check with a tape over `mark_step_cm(unit)`."""
    return round(mark_step_cm(unit) * 10.0 / material.warp_spacing_mm(plan))


def counting_marks(plan: RugPlan, unit: str = "cm") -> tuple[CountingMark, ...]:
    """Return the marks from left to right: after the left selvedge, at each `mark_step_cm(unit)` of the knotted width, at both ends.

    Warps are whole and marks stand at whole knots, so that a section never parts the two warps of a knot: at an odd
    density the mark moves to the nearest knot, and the error never adds up. An odd selvedge warp lies on the right.
    """
    spacing_cm = material.warp_spacing_mm(plan) / 10.0
    left = plan.selvedge_warps // 2
    knots_a_step = mark_step_cm(unit) / 10.0 * plan.knots_per_10cm
    knots, place = [0], 1
    while round(place * knots_a_step) < plan.knots_across:
        knots.append(round(place * knots_a_step))
        place += 1
    counts: dict[int, None] = dict.fromkeys(left + 2 * count for count in (*knots, plan.knots_across))
    counts[material.warps(plan)] = None
    return tuple(CountingMark(count, count * spacing_cm) for count in counts)


@dataclass(frozen=True, slots=True)
class WetRug:
    """What a soaked rug weighs at least, and by whom that may be lifted."""

    wet_g: float
    two_people: bool
    light: bool = False
    """Whether anybody may lift it."""


def wet_rug(dry_g: float) -> WetRug:
    """Return what a rug of `dry_g` [g] weighs soaked, at least (`defaults.WET_MASS_AT_LEAST`)."""
    wet_g = dry_g * defaults.WET_MASS_AT_LEAST
    return WetRug(wet_g, wet_g > defaults.LIFT_ALONE_AT_MOST_G, wet_g <= defaults.LIFT_LIGHT_G)
