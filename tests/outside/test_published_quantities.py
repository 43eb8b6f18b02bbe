"""Masses of warp, wefts and pile against worked examples and tables of the trade."""

from __future__ import annotations

import pytest

from tests.unit.domain.rugs import book_of, pile, plan_of, warp, weft
from tracker.domain import material
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import KnotKind
from tracker.domain.units import DensityUnit, to_per_10cm
from tracker.domain.yarn import parse_fineness

RAJ_CM = 7.0
"""The length of a raj where none is named (rugrag.com, quality chart)."""


def rug_of_raj(raj: float, **changes):
    """A rug of 104 x 156 cm, bare of selvedges, ends and fringes, in so many raj both ways."""
    values = {
        "width_cm": 104.0, "length_cm": 156.0, "knots_per_10cm": raj * 10 / RAJ_CM, "rows_per_10cm": raj * 10 / RAJ_CM,
        "selvedge_warps": 0, "end_cm": 0.0,
    }  # fmt: skip
    return plan_of(**(values | changes))


def foundation_of(plan, count=""):
    """The need of warp and wefts with everything assumed that is not said."""
    tex = parse_fineness(count).tex if count else 0.0
    yarns = (pile(), weft(1, tex=tex), weft(2, tex=0.0), warp(tex=0.0))
    return material_plan(book_of(plan, yarns=yarns))


# iran-carpet.com no. 1804: cotton warp by density; tex x Ne is 590.5.
WARPS = [(25, 590.5 / 20 * 18), (30, 590.5 / 20 * 16), (40, 590.5 / 20 * 12), (50, 590.5 / 20 * 6)]


@pytest.mark.parametrize(("raj", "tex"), WARPS)
def test_the_warp_that_is_assumed_is_the_published_one(raj, tex):
    plan = rug_of_raj(raj)
    assumed = foundation_of(plan).warp
    assert assumed.tex == pytest.approx(tex, rel=0.005)
    # Two warps to a knot, each as long as the rug with 3 % of take-up and 60 cm beyond it, by hand.
    warps = 2 * round(104 / RAJ_CM * raj)
    assert assumed.need_g == pytest.approx(warps * (156 * 1.03 + 60) / 1e5 * tex, rel=0.006)


def test_between_two_published_densities_the_warp_lies_between_theirs_and_beyond_them_it_grows_on():
    texes = [foundation_of(rug_of_raj(raj)).warp.tex for raj in range(12, 90)]
    published = {raj - 12: tex for raj, tex in WARPS}
    assert texes == sorted(texes, reverse=True)
    assert max(texes) > 1.5 * published[13]
    assert min(texes) < published[38] / 1.5


@pytest.mark.parametrize(("raj", "tex"), WARPS)
def test_the_thick_weft_that_is_assumed_has_twice_the_warps_tex(raj, tex):
    # iran-carpet.com no. 1631: about twice; here to a hundredth.
    assert foundation_of(rug_of_raj(raj)).wefts[0].tex == pytest.approx(2 * tex, rel=0.01)


def test_a_pass_of_the_thick_weft_across_104_cm_is_120_cm_long():
    # iran-carpet.com no. 1819, the turn at the selvedge included; within half a centimetre.
    assert foundation_of(rug_of_raj(40)).wefts[0].length_per_pass_cm == pytest.approx(120, abs=0.5)


def test_the_thick_weft_of_a_rug_of_104_x_156_cm_at_40_raj():
    # iran-carpet.com no. 1819, its slip of 60 x 24 rows put right to 40 x 24: 960 passes of 120 cm, 816 g. The rug has 24
    # raj of 6.5 cm along and 16 across; nothing is entered of the weft but that it goes through once a row.
    plan = rug_of_raj(40, knots_per_10cm=40 / 0.65, rows_per_10cm=40 / 0.65)
    assert (plan.knots_across, plan.rows) == (640, 960)
    told = foundation_of(plan, "Ne 20/24").wefts[0]
    assert told.need_g == pytest.approx(816, rel=0.005)


def test_no_more_warp_lies_beyond_the_rug_than_is_published():
    # iran-carpet.com no. 1726: at most 60 cm, both ends together; fringes are part of it.
    found = foundation_of(rug_of_raj(40))
    beyond_cm = found.warp_length_cm - found.plan.rows / found.plan.rows_per_10cm * 10 * 1.03
    assert 2 * found.plan.fringe_cm < beyond_cm <= 60 + 1e-9


def test_the_pile_of_a_rug_of_104_x_156_cm_at_40_raj():
    # Worked from iran-carpet.com no. 1705: 640 x 960 knots of 40 mm, Nm 8/2: 24,576 m at 4 m a gram, 6,144 g.
    plan = rug_of_raj(40, knots_per_10cm=40 / 0.65, rows_per_10cm=40 / 0.65)
    yarn = pile(tex=parse_fineness("Nm 8/2").tex, cut_length_mm=40.0)
    (need,) = material_plan(book_of(plan, yarns=(yarn, weft(1), weft(2), warp()))).pile
    assert need.need_g == pytest.approx(6144)
    assert need.length_m == pytest.approx(24_576)


@pytest.mark.parametrize(("raj_cm", "knots", "rows"), [(6.5, 640, 960), (6.75, 616, 924), (7.0, 594, 891)])
def test_the_length_of_the_raj_decides_how_many_knots_40_raj_are(raj_cm, knots, rows):
    # 6.5, 6.75 or 7 cm by region (zarvancarpet.com; iran-carpet.com no. 1705; tekstilbilgi.net). 104 / 6.75 x 40 = 616.3,
    # 156 / 6.75 x 40 = 924.4; 104 / 7 x 40 = 594.3, 156 / 7 x 40 = 891.4.
    per_10cm = to_per_10cm(40, DensityUnit.RAJ, raj_cm)
    plan = rug_of_raj(40, knots_per_10cm=per_10cm, rows_per_10cm=per_10cm, raj_cm=raj_cm)
    found = material_plan(book_of(plan))
    assert (found.plan.knots_across, found.plan.rows) == (knots, rows)
    assert found.density.across(DensityUnit.RAJ) == pytest.approx(40)
    # The warp by raj is the one of 40 raj whatever the region's raj is.
    assert foundation_of(plan).warp.tex == pytest.approx(590.5 / 20 * 12, rel=0.005)


# iran-carpet.com no. 1705 and a mirror of the Azerbaijani encyclopaedia at nina.az: yarn cut for a knot, in mm.
CUTS = [(40 / 0.65, 40, 40), (40, 25, 28), (35, 30, 35)]


@pytest.mark.parametrize(("per_10cm", "least_mm", "most_mm"), CUTS)
def test_what_is_cut_beyond_pile_and_knot_is_what_knife_and_shears_take(per_10cm, least_mm, most_mm):
    plan = plan_of(knots_per_10cm=per_10cm, rows_per_10cm=per_10cm, pile_height_mm=5.0, unshorn_mm=6.5)
    for cut_mm in (least_mm, most_mm):
        yarn = pile(tex=250.0, cut_length_mm=float(cut_mm))
        knot = material_plan(book_of(plan, yarns=(yarn, weft(1), weft(2), warp(tex=354.0)))).pile[0].knot
        assert knot.total_mm == pytest.approx(cut_mm)
        assert knot.legs_mm == 10.0
        # Two legs of 6.5 mm cut down to 5 mm; the knife has the rest.
        assert knot.shears_mm == pytest.approx(3.0)
        assert knot.knife_mm == pytest.approx(cut_mm - 13.0 - knot.collar_mm)


def test_heavier_shearing_takes_more_yarn_and_leaves_the_finished_rug_as_it_was():
    # 240,000 knots of 600 tex; 2 x (12 - 9) mm instead of the 3 mm that are assumed: 3 mm more of each knot, 432 g.
    low, high = (material_plan(book_of(plan_of(unshorn_mm=mm))) for mm in (10.5, 12.0))
    assert high.pile[0].need_g - low.pile[0].need_g == pytest.approx(240_000 * 0.003 * 0.6)
    assert high.finished.pile_g == pytest.approx(low.finished.pile_g)


def test_seventy_knots_of_a_hundred_over_four_warps_leave_59_knots_for_each_hundred_places():
    # iran-carpet.com no. 1718: about 70 % of the knots in Birjand work. 70 x 2 + 30 places hold 100 knots; of the field
    # 140 / 170 is tied so.
    plain = material_plan(book_of(plan_of()))
    wide = material_plan(book_of(plan_of(jufti_share=140 / 170)))
    assert wide.knots == round(240_000 * 100 / 170)
    assert sum(need.knots for need in wide.pile) == pytest.approx(wide.knots, abs=1)
    assert wide.weaving_hours < plain.weaving_hours
    # Fewer legs of pile: less yarn, but each knot reaches round more warps, so more than in proportion.
    assert 100 / 170 < wide.pile[0].need_g / plain.pile[0].need_g < 0.8


@pytest.mark.parametrize(
    ("kind", "spacings"), [(KnotKind.SYMMETRIC, 4), (KnotKind.ASYMMETRIC, 3), (KnotKind.ROD, 4)]
)
def test_a_knot_over_four_warps_is_longer_by_the_spacings_it_passes(kind, spacings):
    # Symmetric: three spacings instead of one in front and one behind each pair; asymmetric: one behind the open pair, two
    # round the closed one; on a rod: two more in front and two behind.
    two = material.knot_collar_mm(kind, 1.25, 0.8, 1.0)
    four = material.knot_collar_mm(kind, 1.25, 0.8, 1.0, each_side=2)
    assert four - two == pytest.approx(spacings * 1.25)


def test_a_knot_on_a_rod_goes_once_round_both_warps_and_loses_nothing_to_the_knife():
    # Wikipedia, "Tibetan rug": round two warps, then once round the rod; the loops are cut along it. Warps of 0.7864 mm
    # (443 tex) 1.25 mm apart, pile of 600 tex: 1.0799 mm. 2 x 1.25 + pi (0.7864 + 1.0799) + 0.7864 + 2 x 1.0799 = 11.31 mm.
    (need,) = material_plan(book_of(plan_of(knot_kind=KnotKind.ROD))).pile
    assert need.knot.collar_mm == pytest.approx(11.31, abs=0.01)
    assert need.knot.knife_mm == 0
    assert need.need_g == pytest.approx(240_000 * (11.31 + 18 + 3) * 0.6e-3, rel=0.001)


def test_fully_offset_a_knot_shows_one_node_for_it_needs_the_width_of_one_warp():
    # azerbaijanrugs.com, "The Calculation Of Knot Density": two nodes on the back with warps on one plane, one when fully
    # offset. 0.7864 mm of warp each.
    def width(degrees):
        return material.knot_width_needed_mm(plan_of(warp_offset_degrees=degrees), warp())

    assert width(0.0) == pytest.approx(2 * 0.7864, abs=0.001)
    assert width(90.0) == pytest.approx(0.7864, abs=0.001)
    # A warp that fills its place on one plane has room when it stands behind.
    crowded = [
        any("side by side" in sentence for sentence in material_plan(book_of(plan)).warnings)
        for plan in (
            plan_of(width_cm=40.0, knots_per_10cm=80.0),
            plan_of(width_cm=40.0, knots_per_10cm=80.0, warp_offset_degrees=90.0),
        )
    ]
    assert crowded == [True, False]


def test_offset_warps_lengthen_the_thin_weft_and_the_knot_and_leave_the_thick_weft():
    plain, half, full = (material_plan(book_of(plan_of(warp_offset_degrees=d))) for d in (0.0, 45.0, 90.0))
    assert plain.wefts[0].take_up == half.wefts[0].take_up == full.wefts[0].take_up == 0.15
    assert plain.wefts[1].take_up < half.wefts[1].take_up < full.wefts[1].take_up
    # By hand: warp 0.7864 mm; the thick weft usual at 40 rows (28 raj of 7 cm) has twice the tex of the warp there, which
    # fills 0.615 + 3/5 x 0.081 = 0.664 of 1.25 mm, so 0.830 x sqrt(2) = 1.173 mm. Depth 1.960 mm over a spacing of 1.25.
    crimp = plain.wefts[1].take_up
    assert full.wefts[1].take_up == pytest.approx(
        ((1 + crimp) ** 2 + (1.960 / 1.25) ** 2) ** 0.5 - 1, rel=0.005
    )
