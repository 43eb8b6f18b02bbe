"""The yarns that finish the edges: overcasting round the selvedges, cords along the sides, a fringe knotted in.

Lengths follow from the cloth as it is on the loom, where it is longest, so that they never come out short.
"""

from __future__ import annotations

import math

from tracker.domain import defaults, foundation, material
from tracker.domain.rug import Role, RugBook, RugPlan, Yarn
from tracker.domain.shared_warp import warp_length_cm


def turns_per_cm(plan: RugPlan, yarn: Yarn) -> float:
    """Return the turns of the overcasting in 1 cm of a selvedge: those entered, else as many as lie side by side."""
    if yarn.per_cm is not None:
        return yarn.per_cm
    return 10.0 / (defaults.OVERCAST_SIDE_BY_SIDE * material.diameter_of_mm(plan, yarn))


def selvedge_section_mm(
    plan: RugPlan, warp: Yarn | None, ground: Yarn | None, cord: Yarn | None
) -> tuple[float, float]:
    """Return (width, thickness) in mm of what the overcasting goes round at one side.

    The selvedge's warps lie flat beside each other, the ground weft over and under them; the cords lie beside them.
    Without selvedge warps it goes round the outermost two.
    """
    warps = max(2.0, plan.selvedge_warps / 2.0)
    wide_mm = warps * material.warp_spacing_mm(plan)
    thick_mm = material.warp_diameter_mm(plan, warp)
    if ground is not None:
        thick_mm += 2.0 * material.diameter_of_mm(plan, ground)
    if cord is not None:
        cord_mm = material.diameter_of_mm(plan, cord)
        wide_mm += cords_each_side(cord) * cord_mm
        thick_mm = max(thick_mm, cord_mm)
    return wide_mm, thick_mm


def turn_cm(plan: RugPlan, yarn: Yarn, section_mm: tuple[float, float]) -> float:
    """Return the length of one turn of the overcasting, in cm.

    Notes
    -----
    The section is a flat oval: two straight sides and two half circles. The yarn's centre line runs half a diameter
    outside it, which adds pi diameters of the yarn, and climbs along the edge by one pitch.
    """
    wide_mm, thick_mm = section_mm
    round_mm = math.pi * min(wide_mm, thick_mm) + 2.0 * abs(wide_mm - thick_mm)
    around_mm = round_mm + math.pi * material.diameter_of_mm(plan, yarn)
    return math.hypot(around_mm, 10.0 / turns_per_cm(plan, yarn)) / 10.0


def overcast_cm(plan: RugPlan, yarn: Yarn, section_mm: tuple[float, float]) -> float:
    """Return the length of the overcasting of both sides, in cm."""
    sides_cm = 2.0 * foundation.cloth_length_cm(plan)
    return sides_cm * turns_per_cm(plan, yarn) * turn_cm(plan, yarn, section_mm)


def cords_each_side(yarn: Yarn) -> int:
    """Return the cords along each side."""
    return int(defaults.CORDS_EACH_SIDE) if yarn.pieces is None else yarn.pieces


def cord_cm(plan: RugPlan, yarn: Yarn, book: RugBook) -> float:
    """Return the length of all side cords, in cm: mounted with the warp, each is as long as a warp."""
    return 2.0 * cords_each_side(yarn) * warp_length_cm(book, plan, yarn.take_up)


def fringe_tufts(plan: RugPlan, yarn: Yarn) -> int:
    """Return the tufts of an added fringe at one end."""
    per_cm = float(defaults.FRINGE_TUFTS_PER_CM) if yarn.per_cm is None else yarn.per_cm
    return math.ceil(material.cloth_width_cm(plan) * per_cm - 1e-9)


def fringe_strand_cm(plan: RugPlan) -> float:
    """Return the length to which one strand of an added fringe is cut, in cm: doubled in half, with its knot."""
    return defaults.FRINGE_FOLDS * plan.fringe_cm + defaults.FRINGE_KNOT_CM


def fringe_strands(yarn: Yarn) -> int:
    """Return the strands, before they are doubled, in one tuft of an added fringe."""
    return int(defaults.FRINGE_STRANDS) if yarn.pieces is None else yarn.pieces


def fringe_cm(plan: RugPlan, yarn: Yarn) -> float:
    """Return the length of the added fringe of both ends, in cm."""
    return 2.0 * fringe_tufts(plan, yarn) * fringe_strands(yarn) * fringe_strand_cm(plan)


def edge_cm(plan: RugPlan, yarn: Yarn, book: RugBook) -> float:
    """Return the length of one yarn of the edges, in cm."""
    if yarn.role is Role.OVERCAST:
        return overcast_cm(plan, yarn, section_of(plan, book))
    return cord_cm(plan, yarn, book) if yarn.role is Role.CORD else fringe_cm(plan, yarn)


def section_of(plan: RugPlan, book: RugBook) -> tuple[float, float]:
    """Return (width, thickness) in mm of a rug's selvedge as the overcasting goes round it."""

    def first(role: Role) -> Yarn | None:
        return next(iter(book.yarns_of(role)), None)

    return selvedge_section_mm(plan, first(Role.WARP), first(Role.WEFT), first(Role.CORD))


def edge_mass_g(plan: RugPlan, yarn: Yarn, book: RugBook) -> float:
    """Return the mass of one yarn of the edges, in g."""
    return edge_cm(plan, yarn, book) * material.tex_of(plan, yarn) * material.TEX_TO_G_PER_CM


def edge_in_rug_g(plan: RugPlan, yarn: Yarn, book: RugBook) -> float:
    """Return what one yarn of the edges weighs in the finished rug, in g; a fringe is left out, as the warps' own is."""
    if yarn.role is Role.FRINGE:
        return 0.0
    if yarn.role is Role.OVERCAST:
        return edge_mass_g(plan, yarn, book)
    crimp = float(defaults.WARP_TAKE_UP) if yarn.take_up is None else yarn.take_up
    in_cloth_cm = 2.0 * cords_each_side(yarn) * foundation.cloth_length_cm(plan) * (1.0 + crimp)
    return in_cloth_cm * material.tex_of(plan, yarn) * material.TEX_TO_G_PER_CM
