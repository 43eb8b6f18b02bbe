"""Yarn in the cloth: length and mass of the yarn in a knot, of the wefts of a row, and of the warp.

Geometry: threads are round with a diameter that follows from fineness, fibre density and packing. A knot is a path
of arcs and straight pieces round two warps; a weft is a wave between warps (F. T. Peirce, "The Geometry of Cloth
Structure", J. Text. Inst. 28 (1937) T45). Whatever the weaver measures replaces what is reckoned here.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from tracker.domain import defaults
from tracker.domain.rug import KnotKind, Role, RugPlan, Sample, Yarn
from tracker.domain.units import DensityUnit, from_per_10cm
from tracker.domain.yarn import CountSystem, tex_from

TEX_TO_G_PER_CM = 1e-5
"""One tex is 1 g per 1,000 m."""


# --- threads -------------------------------------------------------------------------------------------------------


def fibre_density_g_cm3(fibre: str) -> float:
    """Return the density of a fibre in g/cm³; one that is not listed counts as wool."""
    listed = defaults.FIBRE_DENSITY_G_CM3
    return float(listed.get(fibre.strip().lower(), listed[defaults.OTHER_FIBRE]))


def thread_diameter_mm(tex: float, density_g_cm3: float, packing: float) -> float:
    """Return the diameter of a round thread in mm.

    Parameters
    ----------
    tex
        Linear density, g per 1,000 m.
    density_g_cm3
        Of the fibre.
    packing
        Share of the section that is fibre, 0 to 1; 1 / (density x packing) is the yarn's specific volume.

    Notes
    -----
    From mass = length x section x density x packing. In Peirce's units it reads 34.14 sqrt(v / C) mils.
    """
    section_cm2 = tex * TEX_TO_G_PER_CM / (density_g_cm3 * packing)
    return 10.0 * math.sqrt(4.0 * section_cm2 / math.pi)


def warp_spacing_mm(plan: RugPlan) -> float:
    """Return the distance between neighbouring warps in mm: two warps to a knot."""
    return 100.0 / (2.0 * plan.knots_per_10cm)


def row_height_mm(plan: RugPlan) -> float:
    """Return the height of one row of knots with its wefts in mm."""
    return 100.0 / plan.rows_per_10cm


def knots_per_m2(plan: RugPlan) -> float:
    """Return the knots in a square metre, each over two warps."""
    return 100.0 * plan.knots_per_10cm * plan.rows_per_10cm


def tied_per_m2(plan: RugPlan) -> float:
    """Return the knots tied in a square metre; those over four warps fill two places."""
    return knots_per_m2(plan) * plan.tied_share


def _round_tex(tex: float, figures: int) -> float:
    return float(f"{tex:.{figures}g}")


def warp_fill(raj: float, raj_cm: float) -> float:
    """Return the diameter of a usual warp over the distance of the warps, at a density in raj of `raj_cm`.

    Notes
    -----
    The published cotton warps (`defaults.WARP_OF_RAJ`) give the share at four densities, in the raj of the weaver's own region; between them it is a straight line, beyond them it stays.
    """
    fills = []
    for published, count, plies in defaults.WARP_OF_RAJ:
        diameter_mm = thread_diameter_mm(
            tex_from(count, CountSystem.NE) * plies,
            defaults.FIBRE_DENSITY_G_CM3["cotton"],
            defaults.PACKING_TWISTED,
        )
        fills.append((published, diameter_mm * 2.0 * published / (10.0 * raj_cm)))
    if raj <= fills[0][0]:
        return fills[0][1]
    for (low, at_low), (high, at_high) in itertools.pairwise(fills):
        if raj <= high:
            return at_low + (at_high - at_low) * (raj - low) / (high - low)
    return fills[-1][1]


def _usual_warp_mm(per_10cm: float, raj_cm: float) -> float:
    """Return the diameter of a warp that is usual at a density of knots or rows, in mm."""
    raj = from_per_10cm(per_10cm, DensityUnit.RAJ, raj_cm)
    return warp_fill(raj, raj_cm) * 100.0 / (2.0 * per_10cm)


def _twisted_tex(diameter_mm: float, fibre: str) -> float:
    """Return the tex of a warp or weft of a diameter, in figures that can be bought."""
    section_cm2 = math.pi / 4.0 * (diameter_mm / 10.0) ** 2
    tex = section_cm2 * fibre_density_g_cm3(fibre) * defaults.PACKING_TWISTED / TEX_TO_G_PER_CM
    return _round_tex(tex, 3)


def assumed_tex(plan: RugPlan, yarn: Yarn) -> float:
    """Return a fineness that suits the density, for a yarn whose own was not entered.

    Notes
    -----
    The warp is the published one for the knots across. The thick weft has twice the tex of the warp that is usual for
    the rows, since it has to find room between them: with as many rows as knots that is twice the warp. The edges are
    overcast with the pile's yarn, a fringe is added in the warp's.
    """
    if yarn.role in (Role.PILE, Role.OVERCAST):
        cell_mm2 = 2.0 * warp_spacing_mm(plan) * row_height_mm(plan)
        section_mm2 = defaults.PILE_FILL * cell_mm2 / 2.0
        density = fibre_density_g_cm3(yarn.fibre)
        return _round_tex(section_mm2 * 0.01 * density * defaults.PACKING_PILE / TEX_TO_G_PER_CM, 2)
    if yarn.role is Role.WARP:
        return _twisted_tex(_usual_warp_mm(plan.knots_per_10cm, plan.raj_cm), yarn.fibre)
    if yarn.role is Role.FRINGE:
        return _twisted_tex(_usual_warp_mm(plan.knots_per_10cm, plan.raj_cm), yarn.fibre)
    if yarn.role is Role.CORD:
        warps = math.sqrt(defaults.CORD_WARPS)
        return _twisted_tex(warps * _usual_warp_mm(plan.knots_per_10cm, plan.raj_cm), yarn.fibre)
    if yarn.number == 1:
        usual_mm = _usual_warp_mm(plan.rows_per_10cm, plan.raj_cm) * math.sqrt(defaults.GROUND_WEFT_OVER_WARP)
        return _twisted_tex(usual_mm, yarn.fibre)
    return _twisted_tex(defaults.WEFT_FILL_SINUOUS * row_height_mm(plan), yarn.fibre)


def tex_of(plan: RugPlan, yarn: Yarn) -> float:
    """Return the yarn's fineness in tex: the entered one, else an assumed one."""
    return yarn.tex if yarn.tex > 0 else assumed_tex(plan, yarn)


def diameter_of_mm(plan: RugPlan, yarn: Yarn) -> float:
    """Return the diameter of a yarn of the rug in mm."""
    soft = yarn.role in (Role.PILE, Role.OVERCAST)
    packing = defaults.PACKING_PILE if soft else defaults.PACKING_TWISTED
    return thread_diameter_mm(tex_of(plan, yarn), fibre_density_g_cm3(yarn.fibre), packing)


def warp_diameter_mm(plan: RugPlan, warp: Yarn | None) -> float:
    """Return the warp's diameter in mm; without a warp yarn, one that suits the density."""
    if warp is None:
        return _usual_warp_mm(plan.knots_per_10cm, plan.raj_cm)
    return diameter_of_mm(plan, warp)


# --- pile ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class KnotLength:
    """Yarn in one knot, in mm."""

    collar_mm: float
    """Wrapped round the two warps and up to the surface of the knot."""
    legs_mm: float
    """Both legs of finished pile."""
    knife_mm: float
    """What the knife takes when the ends are cut."""
    shears_mm: float
    """What the shears take of both legs."""

    @property
    def lost_mm(self) -> float:
        """What does not stay in the rug."""
        return self.knife_mm + self.shears_mm

    @property
    def total_mm(self) -> float:
        """Yarn that is used up."""
        return self.collar_mm + self.legs_mm + self.lost_mm

    @property
    def finished_mm(self) -> float:
        """Yarn that stays in the rug."""
        return self.collar_mm + self.legs_mm


def warp_depth_mm(plan: RugPlan, warp: Yarn | None = None) -> float:
    """Return how far every second warp stands behind its neighbour, in mm; 0 with all warps on one plane.

    Notes
    -----
    Fully offset, the thick weft lies between the front and the back warps, so their centres stand one warp and one
    usual thick weft apart; between the two it goes with the sine of the angle. Our own geometry, no source.
    """
    if not plan.warp_offset_degrees:
        return 0.0
    warp_mm = warp_diameter_mm(plan, warp)
    weft_mm = _usual_warp_mm(plan.rows_per_10cm, plan.raj_cm) * math.sqrt(defaults.GROUND_WEFT_OVER_WARP)
    return math.sin(math.radians(plan.warp_offset_degrees)) * (warp_mm + weft_mm)


def pair_distance_mm(plan: RugPlan, warp: Yarn | None = None) -> float:
    """Return the distance between the centres of the two warps of a knot, in mm.

    On one plane it is the spacing of the warps. Offset, the pair turns by the angle: side by side it needs the cosine
    of the spacing, and the depth comes to it.
    """
    beside_mm = warp_spacing_mm(plan) * math.cos(math.radians(plan.warp_offset_degrees))
    return math.hypot(beside_mm, warp_depth_mm(plan, warp))


def knot_width_needed_mm(plan: RugPlan, warp: Yarn | None = None) -> float:
    """Return the width that the warps of one knot need side by side, in mm: two warps, one when fully offset."""
    return warp_diameter_mm(plan, warp) * (1.0 + math.cos(math.radians(plan.warp_offset_degrees)))


def knot_collar_mm(
    kind: KnotKind, spacing_mm: float, warp_mm: float, pile_mm: float, each_side: int = 1
) -> float:
    """Return the length of pile yarn wrapped round the warps of a knot, up to the knot's surface, in mm.

    Parameters
    ----------
    kind
        Symmetric, asymmetric or on a rod.
    spacing_mm
        Centre to centre of neighbouring warps.
    warp_mm, pile_mm
        Diameters of one warp and of the pile yarn with all its strands.
    each_side
        Warps that are taken together on each side: 1, or 2 in a knot over four warps.

    Notes
    -----
    The yarn's centre line runs round a warp at r = (warp + pile) / 2. Symmetric: straight across the front of both
    warps (one spacing), then round the outside and the back of each (three quarter turns) and up between them.
    Asymmetric: half a turn behind one warp, across to the other, a whole turn round that. On a rod: once round both
    warps, in front and behind, a whole turn in all (Wikipedia, "Tibetan rug": a yarn looped round two warps and then
    once round the rod). Each of the two ends then rises r + pile / 2 from the plane of the warps to the surface of the
    knot. Two warps taken together for one lengthen each straight piece along them by a spacing, in front and behind.
    Threads are taken as round; in a tight knot they flatten, which is among the reasons why a sample is better than
    this sum.
    """
    radius_mm = (warp_mm + pile_mm) / 2.0
    rise_mm = 2.0 * (radius_mm + pile_mm / 2.0)
    more_mm = (each_side - 1) * spacing_mm
    if kind is KnotKind.ROD:
        return 2.0 * (spacing_mm + 2.0 * more_mm) + 2.0 * math.pi * radius_mm + rise_mm
    turns_mm = 3.0 * math.pi * radius_mm
    if kind is KnotKind.SYMMETRIC:
        return spacing_mm + 4.0 * more_mm + turns_mm + rise_mm
    return max(0.0, spacing_mm - 2.0 * radius_mm) + 3.0 * more_mm + turns_mm + rise_mm


def sheared_mm(plan: RugPlan) -> float:
    """Return what the shears take of both legs of a knot, in mm: from the pile height before and after, if said."""
    if plan.unshorn_mm is None:
        return 2.0 * defaults.SHEARS_MM_PER_LEG
    return 2.0 * (plan.unshorn_mm - plan.pile_height_mm)


def geometric_knot(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> KnotLength:
    """Return the length of yarn in one knot by geometry alone: the mean over knots over two and over four warps.

    The loops of a knot on a rod are cut along the rod, which leaves no offcut.
    """
    spacing_mm, warp_mm = pair_distance_mm(plan, warp), warp_diameter_mm(plan, warp)
    pile_mm = diameter_of_mm(plan, yarn)
    wide = plan.jufti_share / 2.0 / plan.tied_share
    collar_mm = (1.0 - wide) * knot_collar_mm(plan.knot_kind, spacing_mm, warp_mm, pile_mm)
    if wide:
        collar_mm += wide * knot_collar_mm(plan.knot_kind, spacing_mm, warp_mm, pile_mm, each_side=2)
    return KnotLength(
        collar_mm=collar_mm,
        legs_mm=2.0 * plan.pile_height_mm,
        knife_mm=0.0 if plan.knot_kind is KnotKind.ROD else float(defaults.KNIFE_MM_PER_KNOT),
        shears_mm=sheared_mm(plan),
    )


def knot_length(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> KnotLength:
    """Return the length of yarn in one knot: what the weaver cuts for it, else its geometry.

    Of a length that was cut the pile and the collar stay in the rug as far as it reaches; the rest is lost, to the
    shears first and to the knife what is then left.
    """
    knot = geometric_knot(plan, yarn, warp)
    if not yarn.cut_length_mm:
        return knot
    legs_mm = min(knot.legs_mm, yarn.cut_length_mm)
    collar_mm = min(knot.collar_mm, yarn.cut_length_mm - legs_mm)
    lost_mm = yarn.cut_length_mm - legs_mm - collar_mm
    shears_mm = min(knot.shears_mm, lost_mm)
    return KnotLength(collar_mm=collar_mm, legs_mm=legs_mm, knife_mm=lost_mm - shears_mm, shears_mm=shears_mm)


def pile_mass_per_knot_g(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> float:
    """Return the mass of pile yarn used up by one knot, in g.

    A cut length the weaver entered comes first, then grams per square metre, then the geometry. `pile_use` puts
    samples before all of these.
    """
    if yarn.pile_g_per_m2 and not yarn.cut_length_mm:
        return yarn.pile_g_per_m2 / tied_per_m2(plan)
    return tex_of(plan, yarn) * 1e-6 * knot_length(plan, yarn, warp).total_mm


# --- wefts -----------------------------------------------------------------------------------------------------------


def jammed_angle(spacing_mm: float, sum_mm: float) -> float:
    """Return the weave angle in radians at which a thread jams: p = D sin(angle).

    `spacing_mm` is p, the distance of the crossing threads; `sum_mm` is D, the sum of both diameters. A right angle
    where p is not less than D: there is always room.
    """
    return math.asin(min(1.0, spacing_mm / sum_mm))


def crimp_from_angle(angle: float, spacing_mm: float, sum_mm: float) -> float:
    """Return the exact crimp of Peirce's model (arcs of radius D / 2 joined by straight pieces) at a weave angle.

    Notes
    -----
    p = (l - D a) cos a + D sin a gives the length l of yarn between two crossing threads; the crimp is l / p - 1.
    """
    straight_mm = (spacing_mm - sum_mm * math.sin(angle)) / math.cos(angle) if angle < math.pi / 2 else 0.0
    return (max(0.0, straight_mm) + sum_mm * angle) / spacing_mm - 1.0


def height_from_angle(angle: float, spacing_mm: float, sum_mm: float) -> float:
    """Return the crimp height h = (l - D a) sin a + D (1 - cos a) at a weave angle, in mm."""
    straight_mm = (spacing_mm - sum_mm * math.sin(angle)) / math.cos(angle) if angle < math.pi / 2 else 0.0
    return max(0.0, straight_mm) * math.sin(angle) + sum_mm * (1.0 - math.cos(angle))


def wave_crimp(height_mm: float, spacing_mm: float, sum_mm: float) -> float:
    """Return the crimp of a thread that waves by `height_mm` over threads `spacing_mm` apart.

    Solves Peirce's exact equations for the weave angle by halving; where the threads jam before the height is
    reached, the crimp of the jammed thread is returned.
    """
    if height_mm <= 0:
        return 0.0
    low, high = 0.0, jammed_angle(spacing_mm, sum_mm)
    high = min(high, math.pi / 2 * (1 - 1e-9))
    if height_from_angle(high, spacing_mm, sum_mm) <= height_mm:
        return crimp_from_angle(high, spacing_mm, sum_mm)
    for _step in range(60):
        middle = 0.5 * (low + high)
        if height_from_angle(middle, spacing_mm, sum_mm) < height_mm:
            low = middle
        else:
            high = middle
    return crimp_from_angle(0.5 * (low + high), spacing_mm, sum_mm)


def weft_take_up(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> float:
    """Return the take-up of a weft as a fraction: the measured one, else the usual one or its wave between the warps.

    The ground weft (number 1) is laid in with the extra length that is published, its slack and what the comb beats
    down; a finer weft shares the wave evenly with the warps, unless it jams first. Where the warps are offset the thick
    weft lies between front and back warps as it did; the finer one passes in front of the one and behind the other, so
    that the depth comes to each of its waves: sqrt((1 + crimp)² + (depth / spacing)²) - 1 (our own geometry, no source).
    """
    if yarn.take_up is not None:
        return yarn.take_up
    if yarn.number == 1:
        return float(defaults.GROUND_WEFT_TAKE_UP)
    spacing_mm = warp_spacing_mm(plan)
    sum_mm = warp_diameter_mm(plan, warp) + diameter_of_mm(plan, yarn)
    crimp = wave_crimp(defaults.SINUOUS_WEFT_WAVE * sum_mm, spacing_mm, sum_mm)
    depth_mm = warp_depth_mm(plan, warp)
    return math.hypot(1.0 + crimp, depth_mm / spacing_mm) - 1.0 if depth_mm else crimp


def cloth_width_cm(plan: RugPlan) -> float:
    """Return the width of the cloth with its selvedges, in cm."""
    knotted_cm = plan.knots_across / plan.knots_per_10cm * 10.0
    return knotted_cm + plan.selvedge_warps * warp_spacing_mm(plan) / 10.0


def weft_turn_cm(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> float:
    """Return the weft used by one turn at the selvedge, in cm.

    Half a circle round the outermost warp, and the way up the edge to the next pass of the same weft.
    """
    around_mm = math.pi / 2.0 * (warp_diameter_mm(plan, warp) + diameter_of_mm(plan, yarn))
    up_mm = row_height_mm(plan) / max(1, yarn.passes_per_row)
    return (around_mm + up_mm) / 10.0


def weft_length_per_pass_cm(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> float:
    """Return the weft used by one pass through the shed and its turn, in cm."""
    return cloth_width_cm(plan) * (1.0 + weft_take_up(plan, yarn, warp)) + weft_turn_cm(plan, yarn, warp)


def weft_mass_per_row_g(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> float:
    """Return the mass of one weft used after one row of knots, in g."""
    passes_cm = yarn.passes_per_row * weft_length_per_pass_cm(plan, yarn, warp)
    return tex_of(plan, yarn) * TEX_TO_G_PER_CM * passes_cm


# --- warp ------------------------------------------------------------------------------------------------------------


def warps(plan: RugPlan) -> int:
    """Return the warps on the loom: two for each knot and the selvedges."""
    return 2 * plan.knots_across + plan.selvedge_warps


def warp_length_cm(plan: RugPlan, take_up: float | None = None) -> float:
    """Return the length of one warp in cm: the cloth with its take-up, both fringes, and what the loom keeps."""
    crimp = float(defaults.WARP_TAKE_UP) if take_up is None else take_up
    pile_cm = plan.rows / plan.rows_per_10cm * 10.0
    return (pile_cm + 2.0 * plan.end_cm) * (1.0 + crimp) + 2.0 * plan.fringe_cm + plan.loom_waste_cm


def warp_mass_g(plan: RugPlan, yarn: Yarn) -> float:
    """Return the mass of the whole warp as it is mounted, in g."""
    return warps(plan) * warp_length_cm(plan, yarn.take_up) * tex_of(plan, yarn) * TEX_TO_G_PER_CM


# --- samples ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PileUse:
    """Mass of pile yarn in one knot and how sure it is."""

    mass_per_knot_g: float
    common_sd: float
    """Relative standard deviation of what all colours share."""
    own_sd: float
    """Relative standard deviation of what is this colour's own."""
    rests_on: str
    """One of the constants below."""


SAMPLE = "sample"
BORROWED = "other colour's sample"
CUT_LENGTH = "cut length"
PER_AREA = "mass per area"
GEOMETRY = "geometry"
MEASURED = "measured"


def sample_mass_per_knot_g(samples: tuple[Sample, ...]) -> tuple[float, float]:
    """Return (g per knot, relative standard deviation by the scale) of one yarn's knotted and weighed samples.

    The scale rounds each mass to its resolution: an even error of resolution / sqrt(12).
    """
    knots = sum(sample.knots for sample in samples)
    mass_g = sum(sample.mass_g for sample in samples)
    if knots <= 0 or mass_g <= 0:
        raise ValueError("a sample needs knots and a mass")
    scale_g = math.sqrt(sum(sample.resolution_g**2 for sample in samples) / 12.0)
    return mass_g / knots, scale_g / mass_g


def geometric_mass_per_knot_g(plan: RugPlan, yarn: Yarn, warp: Yarn | None = None) -> float:
    """Return the mass of pile yarn used up by one knot by geometry alone, in g."""
    return tex_of(plan, yarn) * 1e-6 * geometric_knot(plan, yarn, warp).total_mm


def pile_use(
    plan: RugPlan, pile: tuple[Yarn, ...], samples: tuple[Sample, ...], warp: Yarn | None = None
) -> tuple[PileUse, ...]:
    """Return the use of every pile yarn, from the best that is known of it.

    Notes
    -----
    In this order: the yarn's own knotted and weighed sample; its cut length; its mass per square metre; the geometry,
    corrected by what the samples of other colours say of the weaver's hand; the geometry alone. A sample's mass is the
    yarn that was used up (weighed before less after, the offcuts not given back).
    """
    by_yarn: dict[str, list[Sample]] = {}
    for sample in samples:
        if sample.knots > 0 and sample.mass_g > 0:
            by_yarn.setdefault(sample.yarn_id, []).append(sample)
    weighed_g = reckoned_g = 0.0
    for yarn in pile:
        for sample in by_yarn.get(yarn.id, ()):
            weighed_g += sample.mass_g
            reckoned_g += sample.knots * geometric_mass_per_knot_g(plan, yarn, warp)
    hand = weighed_g / reckoned_g if reckoned_g else None
    out = []
    for yarn in pile:
        # An assumed fineness is wrong for all colours alike; the scale's step is the sample's own.
        unsure, scale = float(defaults.SD_ASSUMED_TEX) if yarn.tex <= 0 else 0.0, 0.0
        if own := by_yarn.get(yarn.id):
            unsure = 0.0
            mass_g, scale = sample_mass_per_knot_g(tuple(own))
            spread, rests_on = defaults.SD_SAMPLE, SAMPLE
        elif yarn.cut_length_mm:
            mass_g = pile_mass_per_knot_g(plan, yarn, warp)
            spread, rests_on = defaults.SD_CUT_LENGTH, CUT_LENGTH
        elif yarn.pile_g_per_m2:
            mass_g, unsure = pile_mass_per_knot_g(plan, yarn, warp), 0.0
            spread, rests_on = defaults.SD_G_PER_M2, PER_AREA
        elif hand is not None:
            mass_g = geometric_mass_per_knot_g(plan, yarn, warp) * hand
            spread, rests_on = defaults.SD_BORROWED_SAMPLE, BORROWED
        else:
            mass_g = geometric_mass_per_knot_g(plan, yarn, warp)
            spread, rests_on = defaults.SD_GEOMETRY, GEOMETRY
        out.append(
            PileUse(
                mass_per_knot_g=mass_g,
                common_sd=math.hypot(spread[0], unsure),
                own_sd=math.hypot(spread[1], scale),
                rests_on=rests_on,
            )
        )
    return tuple(out)
