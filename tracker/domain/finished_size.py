"""From the loom to the floor: what a rug shrinks by, the size it then has, and how far that may be from the one ordered.

On the loom the cloth is stretched along its warps. Cut off, it gives up a part of its length; washed, a part of both
sides. What is planned is the finished size as the customer measures it; knots and rows follow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from tracker.domain import defaults
from tracker.domain.rug import RugPlan, SizeMeasure
from tracker.domain.units import Density

LEAST_KNOTTED_CM = 0.1
"""Where selvedges, ends and fringes take up the whole size, so much is taken as left: the sums stay sums."""


class Finishing(Protocol):
    """What the size of a finished rug follows from: a plan, or the form that becomes one."""

    @property
    def knots_per_10cm(self) -> float: ...
    @property
    def selvedge_warps(self) -> int: ...
    @property
    def end_cm(self) -> float: ...
    @property
    def fringe_cm(self) -> float: ...
    @property
    def size_measure(self) -> str: ...
    @property
    def loom_shrinkage(self) -> float: ...
    @property
    def wash_shrinkage_width(self) -> float: ...
    @property
    def wash_shrinkage_length(self) -> float: ...


def width_left(plan: Finishing) -> float:
    """Return the finished width over the width on the loom."""
    return 1.0 - plan.wash_shrinkage_width


def length_left(plan: Finishing) -> float:
    """Return the finished length over the length on the loom: what the loom's pull and then the washing leave."""
    return (1.0 - plan.loom_shrinkage) * (1.0 - plan.wash_shrinkage_length)


def shrinks(plan: Finishing) -> bool:
    """Tell whether the finished rug is smaller than it was on the loom."""
    return width_left(plan) < 1.0 or length_left(plan) < 1.0


def selvedges_cm(plan: Finishing) -> float:
    """Return the width of both selvedges on the loom, in cm: two of their warps are as wide as a knot."""
    return plan.selvedge_warps * 10.0 / (2.0 * plan.knots_per_10cm)


def _selvedges_cm(plan: Finishing) -> float:
    """Return the width of both selvedges on the loom, in cm, where the customer's measure counts them."""
    return 0.0 if plan.size_measure == SizeMeasure.KNOTTED else selvedges_cm(plan)


def _ends_cm(plan: Finishing) -> float:
    """Return the length of both flat ends on the loom, in cm, where the customer's measure counts them."""
    return 0.0 if plan.size_measure == SizeMeasure.KNOTTED else 2.0 * plan.end_cm


def fringes_cm(plan: Finishing) -> float:
    """Return the length of both fringes, in cm, where the customer's measure counts them; they hang free of any pull."""
    return 2.0 * plan.fringe_cm if plan.size_measure == SizeMeasure.FRINGES else 0.0


def finished_width_cm(plan: Finishing, knotted_cm: float) -> float:
    """Return the finished width, as the customer measures it, of a knotted part so wide on the loom, in cm."""
    return (knotted_cm + _selvedges_cm(plan)) * width_left(plan)


def finished_length_cm(plan: Finishing, knotted_cm: float) -> float:
    """Return the finished length, as the customer measures it, of a knotted part so long on the loom, in cm."""
    return (knotted_cm + _ends_cm(plan)) * length_left(plan) + fringes_cm(plan)


def knotted_width_cm(plan: Finishing, finished_cm: float) -> float:
    """Return how wide the knotted part must be on the loom for a finished width, in cm."""
    return max(LEAST_KNOTTED_CM, finished_cm / width_left(plan) - _selvedges_cm(plan))


def knotted_length_cm(plan: Finishing, finished_cm: float) -> float:
    """Return how long the knotted part must be on the loom for a finished length, in cm."""
    return max(LEAST_KNOTTED_CM, (finished_cm - fringes_cm(plan)) / length_left(plan) - _ends_cm(plan))


def knots_across(plan: Finishing, finished_cm: float) -> int:
    """Return the knots across that make a finished width."""
    return max(1, round(knotted_width_cm(plan, finished_cm) * plan.knots_per_10cm / 10.0))


def rows_along(plan: Finishing, rows_per_10cm: float, finished_cm: float) -> int:
    """Return the rows that make a finished length."""
    return max(1, round(knotted_length_cm(plan, finished_cm) * rows_per_10cm / 10.0))


def density_across(plan: Finishing, knots: int, finished_cm: float) -> float:
    """Return the knots in 10 cm on the loom with which so many knots make a finished width.

    The selvedges' warps stand as close as the knots': two of them are as wide as a knot.
    """
    selvedges = 0.0 if plan.size_measure == SizeMeasure.KNOTTED else plan.selvedge_warps / 2.0
    return (knots + selvedges) * width_left(plan) / finished_cm * 10.0


def density_along(plan: Finishing, rows: int, finished_cm: float) -> float:
    """Return the rows in 10 cm on the loom with which so many rows make a finished length."""
    return rows / knotted_length_cm(plan, finished_cm) * 10.0


def length_to_weave_cm(plan: RugPlan) -> float:
    """Return how long the knotted part of a planned rug is to be on the loom, in cm."""
    return knotted_length_cm(plan, plan.length_cm)


def woven_length_cm(plan: RugPlan, rows_woven: int) -> float:
    """Return the finished length of a rug finished after so many rows, in cm: the planned one where no row is missing."""
    if not 0 < rows_woven < plan.rows:
        return plan.length_cm
    return finished_length_cm(plan, length_to_weave_cm(plan) * rows_woven / plan.rows)


def tolerance_cm(side_cm: float) -> float:
    """Return by how much a side may differ from what was ordered, in cm.

    Notes
    -----
    3 to 8 cm by size are published (TS 43); between them a share of the side is our own choice, and so is what a side
    gets that is so small that 3 cm would be a large part of it.
    """
    least, most = defaults.TOLERANCE_CM
    if side_cm < defaults.TOLERANCE_WHOLE_FROM_CM:
        return least * max(side_cm, 0.0) / defaults.TOLERANCE_WHOLE_FROM_CM
    return min(max(defaults.TOLERANCE_SHARE * side_cm, least), most)


@dataclass(frozen=True, slots=True, kw_only=True)
class SideCheck:
    """One side of a finished rug beside the one ordered, in cm."""

    ordered_cm: float
    measured_cm: float

    @property
    def off_cm(self) -> float:
        """How much longer it came out; below zero when shorter."""
        return self.measured_cm - self.ordered_cm

    @property
    def tolerance_cm(self) -> float:
        """How much is allowed, either way."""
        return tolerance_cm(self.ordered_cm)

    @property
    def within(self) -> bool:
        """Whether it is as near as is allowed."""
        return abs(self.off_cm) <= self.tolerance_cm + 1e-9


def finished_sides_cm(plan: RugPlan) -> tuple[float, float]:
    """Return (width, length) of the finished rug in cm: as measured, else as planned."""
    if plan.finished_width_cm is None or plan.finished_length_cm is None:
        return plan.width_cm, plan.length_cm
    return plan.finished_width_cm, plan.finished_length_cm


def sides_of(plan: RugPlan) -> tuple[SideCheck, SideCheck] | None:
    """Return (width, length) of the finished rug beside what was ordered; None until both were measured."""
    if plan.finished_width_cm is None or plan.finished_length_cm is None:
        return None
    return (
        SideCheck(ordered_cm=plan.width_cm, measured_cm=plan.finished_width_cm),
        SideCheck(ordered_cm=plan.length_cm, measured_cm=plan.finished_length_cm),
    )


def measured_density(plan: RugPlan, rows: int) -> Density | None:
    """Return how close the knots stand in the finished rug by its measured sides; None until both were measured.

    Selvedges, flat ends and fringes are taken off where the customer's measure counts them.
    """
    sides = sides_of(plan)
    if sides is None or rows < 1:
        return None
    width_cm, length_cm = (side.measured_cm for side in sides)
    across_cm = knotted_width_cm(plan, width_cm) * width_left(plan)
    along_cm = knotted_length_cm(plan, length_cm) * length_left(plan)
    return Density(plan.knots_across / across_cm * 10.0, rows / along_cm * 10.0, plan.raj_cm)
