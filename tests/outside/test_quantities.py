"""What a rug uses and what is bought for it, against worked examples that others published.

The rug of most of them measures 104 x 156 cm at 40 raj of 6.5 cm: 640 knots across, 960 rows (iran-carpet.com, the series
"How much raw material for which carpet?", nos. 1705, 1726, 1804 and 1819).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.unit.domain.rugs import DAY, book_of, cartoon_of, pile, plan_of, warp, weft
from tracker.domain import material
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import KnotKind, Lot, Role, RugBook, Sample, Spoilt, Weighing, Yarn
from tracker.domain.yarn import parse_fineness

RAJ_CM = 6.5
PER_10CM = 40 / RAJ_CM * 10
WARP_TEX = 590.5 / 20 * 12
"""Ne 20/12 by ISO 1144: cotton warp at 40 raj (no. 1804)."""
THICK_WEFT_TEX = 590.5 / 10 * 12
"""Ne 10/12: no. 1819 divides by 8,400 yards a pound, ten hanks of 840."""


def published_rug(**changes):
    """The rug of 40 raj, with everything that the examples leave out set to nothing."""
    values = {
        "width_cm": 104.0, "length_cm": 156.0, "knots_per_10cm": PER_10CM, "rows_per_10cm": PER_10CM, "knots_across": 640,
        "rows": 960, "selvedge_warps": 0, "end_cm": 0.0, "fringe_cm": 0.0, "loom_waste_cm": 0.0,
    }  # fmt: skip
    return plan_of(**(values | changes))


def need_of(plan, yarn: Yarn, *others: Yarn) -> float:
    needs = material_plan(book_of(plan, yarns=(yarn, *others))).needs
    return next(need.need_g for need in needs if need.yarn_id == yarn.id)


# --- used ------------------------------------------------------------------------------------------------------------


def test_pile_yarn_of_a_rug_of_40_raj():
    # No. 1705: 614,400 knots of 4 cm are 24,576 m of Nm 8/2, 4 m to the gram: 6,144 g.
    yarn = pile(tex=parse_fineness("Nm 8/2").tex, cut_length_mm=40.0)
    plan = material_plan(book_of(published_rug(), yarns=(yarn,)))
    assert plan.knots == 614_400
    assert plan.pile[0].length_m == pytest.approx(24_576)
    assert plan.pile[0].need_g == pytest.approx(6144)


def test_the_whole_pile_follows_from_its_mass_in_a_square_metre():
    # The same 6,144 g over 1.04 x 1.56 m are 3,787 g a square metre (worked by hand from no. 1705).
    yarn = pile(tex=250.0, pile_g_per_m2=6144 / (1.04 * 1.56))
    assert need_of(published_rug(), yarn) == pytest.approx(6144)


def test_a_knotted_and_weighed_sample_stands_before_every_other_word():
    # 1,000 knots of no. 1705 weigh 10 g: 6,144 g for the rug, whatever else was entered.
    yarn = pile(tex=333.0, cut_length_mm=55.0, pile_g_per_m2=900.0)
    weighed = Sample(id="s", rug_id="rug", yarn_id=yarn.id, day=DAY, knots=1000, mass_g=10.0)
    book = book_of(published_rug(), yarns=(yarn,), samples=(weighed,))
    assert material_plan(book).pile[0].need_g == pytest.approx(6144)


def test_a_sample_of_one_colour_tells_the_weaver_s_hand_for_the_others():
    # Worked by hand: a sample that took 30 % more than its geometry makes another colour, of half the tex and so with its
    # own geometry, need 30 % more than its geometry as well.
    colours = (pile(1, tex=500.0, share=0.5), pile(2, tex=250.0, share=0.5))
    bare = material_plan(book_of(published_rug(), yarns=colours)).pile
    mass_g = 1.3 * 1000 * bare[0].need_g / bare[0].knots
    weighed = Sample(id="s", rug_id="rug", yarn_id="pile1", day=DAY, knots=1000, mass_g=mass_g)
    told = material_plan(book_of(published_rug(), yarns=colours, samples=(weighed,))).pile
    assert told[1].need_g == pytest.approx(1.3 * bare[1].need_g)


def test_woollen_warp_of_a_rug_of_40_raj():
    # No. 1804: 640 knots x 2 warps x 2 m of Nm 8/3 are 960 g. The rug takes 1.56 m of each warp, fringes and loom the rest.
    plan = published_rug(fringe_cm=10.0, loom_waste_cm=24.0)
    assert need_of(plan, warp(tex=parse_fineness("Nm 8/3").tex, take_up=0.0)) == pytest.approx(960)


def test_cotton_warp_of_a_rug_of_40_raj():
    # No. 1726: 1,280 warps, each as long as the rug and 60 cm more, both ends together: 2,764.8 m, of Ne 20/12 979.6 g.
    plan = published_rug(fringe_cm=10.0, loom_waste_cm=40.0)
    whole = material_plan(book_of(plan, yarns=(pile(), warp(tex=WARP_TEX, take_up=0.0))))
    assert whole.warps == 1280
    assert whole.warp.length_m == pytest.approx(2764.8)
    assert whole.warp.need_g == pytest.approx(979.6, abs=0.05)


def test_warp_take_up_lengthens_what_is_woven_and_nothing_else():
    # allfiberarts.com, "Beginner Weaving - Calculate yarn": 40 in with hems and 15 % for take-up make 46 in, with 36 in that
    # the loom keeps 82 in. Here 36 in of pile and two flat ends of 2 in.
    inch = 2.54
    plan = plan_of(
        width_cm=50.0, length_cm=36 * inch, knots_per_10cm=40.0, rows_per_10cm=1000 / (36 * inch), knots_across=200,
        rows=100, end_cm=2 * inch, fringe_cm=0.0, loom_waste_cm=36 * inch, selvedge_warps=0,
    )  # fmt: skip
    whole = material_plan(book_of(plan, yarns=(pile(), warp(take_up=0.15))))
    assert whole.warp.length_m == pytest.approx(400 * 82 * inch / 100)


def test_every_warp_is_counted_the_selvedges_too():
    # 640 knots on two warps each and eight warps in both selvedges: 1,288 warps of 1 m of 1,000 tex are 1,288 g.
    plan = published_rug(selvedge_warps=8, length_cm=100.0, rows_per_10cm=96.0)
    assert need_of(plan, warp(tex=1000.0, take_up=0.0)) == pytest.approx(1288)


def test_thick_weft_of_a_rug_of_40_raj():
    # No. 1819: 120 cm a pass across 104 cm, the way round the edge included; Ne 10/12. Its own 1,440 rows (a slip: 60 x 24)
    # give 1,221 g; the rug's 960 rows 816 g. "120 cm" is rounded to a centimetre: half of one is 0.4 %.
    thick = weft(1, tex=THICK_WEFT_TEX, take_up=0.15)
    assert need_of(published_rug(), thick) == pytest.approx(816, rel=0.005)
    slipped = published_rug(rows=1440, length_cm=1440 / PER_10CM * 10)
    assert need_of(slipped, thick) == pytest.approx(1221, rel=0.007)


def test_two_passes_a_row_take_twice_the_weft():
    # No. 1819 once more, gone through twice after each row: 1,632 g.
    thick = weft(1, tex=THICK_WEFT_TEX, take_up=0.15, passes_per_row=2)
    assert need_of(published_rug(), thick) == pytest.approx(1632, rel=0.005)


def test_a_weft_goes_round_the_outermost_warp_and_up_to_the_next_row():
    # Its path drawn point by point: straight across, half a circle round the warp at the middle of both threads, and up.
    # The diameters are Peirce's, 34.14 sqrt(v / C) mils at 1.1 cm3/g, cotton (see test_cloth_geometry).
    def diameter_mm(tex):
        return 34.14 * math.sqrt(1.1 / (590.5 / tex)) * 0.0254

    plan = plan_of(width_cm=20.0, length_cm=30.0, selvedge_warps=0, end_cm=0.0)
    for passes in (1, 2):
        radius = (diameter_mm(2000.0) + diameter_mm(1500.0)) / 2
        angles = np.radians(np.linspace(-90, 90, 10_001))
        turn = np.stack([200 + radius * np.cos(angles), radius * np.sin(angles)], axis=1)
        path = np.concatenate([[[0.0, -radius]], turn, turn[-1:] + np.array([[0.0, 2.5 / passes]])])
        pass_mm = float(np.hypot(*np.diff(path, axis=0).T).sum())
        thick = weft(1, tex=1500.0, take_up=0.0, passes_per_row=passes)
        used = need_of(plan, thick, warp(tex=2000.0))
        assert used == pytest.approx(passes * 120 * pass_mm * 1500e-6, rel=0.002)


def test_wefts_are_wavy_and_never_longer_than_is_published():
    # A thick weft takes some length over the straight width, at most the 15 % of no. 1819; a thin one more than that, at
    # most the 20.92 % of a jammed square cloth (Peirce); what it takes to turn is a few millimetres more.
    def passing_cm(yarn):
        wefts = material_plan(book_of(published_rug(), yarns=(pile(), yarn, warp(tex=WARP_TEX)))).wefts
        return wefts[0].length_per_pass_cm - wefts[0].turn_cm

    thick, thin = passing_cm(weft(1, tex=2 * WARP_TEX)), passing_cm(weft(2, tex=120.0))
    assert 1.01 * 104 < thick <= 120
    assert 1.02 * 104 < thin <= 1.2093 * 104


def test_the_thin_weft_waves_as_deep_as_the_warps_do():
    # Peirce's square cloth: both threads share the sum of the diameters, the wave is half of it. His wave of an open
    # cloth, h = (4/3) p sqrt(c), gives the crimp c; the exact one comes close where the threads are thin.
    plan = published_rug(knots_per_10cm=20.0, knots_across=208)
    fine, mounted = weft(2, tex=60.0), warp(tex=60.0)
    need = material_plan(book_of(plan, yarns=(pile(), fine, mounted))).wefts[0]
    both_mm = 2 * 34.14 * math.sqrt(1.1 / (590.5 / 60)) * 0.0254
    crimp = 9 / 16 * (0.5 * both_mm / 2.5) ** 2
    assert need.take_up == pytest.approx(crimp, rel=0.15)


def test_flat_ends_are_woven_of_the_thick_weft_at_both_ends():
    # Worked by hand, common practice without a source: picks lie 1.15 diameters apart, each takes 15 % more than the width.
    # 443 tex of cotton are 0.83 mm thick (34.14 sqrt(v / C) mils), 10 cm are 105 picks, twice; 40 cm are 46 cm of weft.
    diameter_mm = 34.14 * math.sqrt(1.1 / (590.5 / 443)) * 0.0254
    picks = round(100 / (1.15 * diameter_mm))
    plan = plan_of(width_cm=40.0, length_cm=60.0, selvedge_warps=0, end_cm=0.0)
    ends = replace(plan, end_cm=10.0)
    thick, thin, mounted = weft(1, take_up=0.05), weft(2, take_up=0.05), warp()
    yarns = (pile(), thick, thin, mounted)
    bare, ended = (material_plan(book_of(one, yarns=yarns)).wefts for one in (plan, ends))
    assert ended[0].need_g - bare[0].need_g == pytest.approx(2 * picks * 0.46 * 0.443, rel=0.03)
    assert ended[1].need_g == pytest.approx(bare[1].need_g)


def test_what_the_knife_and_the_shears_take_is_used_up_too():
    # Common practice, no source: 3 mm a knot at the knife, 1.5 mm of each leg at the shears; no cut length is entered. Of
    # 240,000 knots of 600 tex that is 864 g, which are bought and not in the finished rug.
    plan = material_plan(book_of(plan_of(), yarns=(pile(), weft(1), warp())))
    assert plan.pile[0].need_g - plan.finished.pile_g == pytest.approx(240_000 * 0.006 * 0.6)


@pytest.mark.parametrize("kind", list(KnotKind))
def test_both_legs_of_the_pile_stand_as_high_as_planned(kind):
    # Two millimetres of pile more are 4 mm of yarn a knot: 240,000 x 0.004 m x 0.6 g/m = 576 g.
    low, high = (
        material_plan(book_of(plan_of(pile_height_mm=mm, knot_kind=kind), yarns=(pile(), warp())))
        for mm in (7.0, 9.0)
    )
    assert high.finished.pile_g - low.finished.pile_g == pytest.approx(576)


def test_metres_of_rya_yarn_follow_from_knots_and_threads():
    # allfiberarts.com, "Rya rug yarn calculations": 64 knots across, 60 rows: 3,840 knots; 7 cm of each of three threads:
    # 806.4 m of thread (worked by hand). Nm 10/2 is 200 tex, three of them 600 tex: 161.28 g.
    plan = plan_of(
        width_cm=40.0, length_cm=75.0, knots_per_10cm=16.0, rows_per_10cm=8.0, knots_across=64, rows=60
    )
    yarn = pile(tex=parse_fineness("Nm 10/2 x 3 strands").tex, cut_length_mm=70.0)
    whole = material_plan(book_of(plan, yarns=(yarn,)))
    assert whole.knots == 3840
    assert 3 * whole.pile[0].length_m == pytest.approx(806.4)
    assert whole.pile[0].need_g == pytest.approx(161.28)


def test_the_finished_rug_holds_its_pile_its_wefts_and_the_warp_within_it():
    # The figures of the series with a warp that the loom keeps 60 cm of: in the rug are 1,280 x 1.56 m of Ne 20/12, 707.5 g,
    # the 816 g of thick weft and, of a pile of 40 mm a knot, all but the 6 mm that are lost (common practice, no source).
    plan = published_rug(loom_waste_cm=60.0)
    yarns = (pile(tex=250.0), weft(1, tex=THICK_WEFT_TEX, take_up=0.15), warp(tex=WARP_TEX, take_up=0.0))
    whole = material_plan(book_of(plan, yarns=yarns))
    assert whole.finished.warp_g == pytest.approx(707.5, abs=0.05)
    assert whole.finished.wefts_g == pytest.approx(816, rel=0.005)
    assert whole.finished.area_m2 == pytest.approx(1.04 * 1.56)
    assert whole.finished.total_g == pytest.approx(
        whole.pile[0].need_g - 614_400 * 0.006 * 0.25 + 707.5 + 816, rel=0.002
    )


# --- which colour ----------------------------------------------------------------------------------------------------


def test_each_colour_takes_what_its_knots_take():
    # byrdcallstudio.com, lesson 4: 168 x 82 knots are 13,776. Drawn here in three fields, a quarter, a quarter and a half
    # of the width, in two yarns: of 60 mm of 600 tex they take 0.036 g a knot, 495.9 g in all.
    cells = np.zeros((82, 168), dtype=np.uint8)
    cells[:, 42:84], cells[:, 84:] = 1, 2
    plan = plan_of(knots_across=168, rows=82)
    yarns = tuple(
        pile(k + 1, cartoon_values=values, cut_length_mm=60.0) for k, values in enumerate(((0, 1), (2,)))
    )
    whole = material_plan(book_of(plan, yarns=yarns, cartoon=cartoon_of(cells)))
    assert whole.knots == 13_776
    assert [need.need_g for need in whole.pile] == [pytest.approx(247.97, abs=0.01)] * 2
    # From the first to the second field the yarn is the same: one change a row.
    assert whole.colour_changes == 82


def test_without_a_cartoon_the_shares_are_made_a_whole():
    # Shares of 30 and 10 % stand as 3 to 1: of the 6,144 g of no. 1705, 4,608 and 1,536 g.
    yarns = tuple(pile(k, tex=250.0, cut_length_mm=40.0, share=share) for k, share in ((1, 0.3), (2, 0.1)))
    needs = material_plan(book_of(published_rug(), yarns=yarns)).pile
    assert [need.need_g for need in needs] == [pytest.approx(4608), pytest.approx(1536)]


# --- bought ----------------------------------------------------------------------------------------------------------


def bought(book: RugBook, role: Role = Role.PILE):
    return next(line for line in material_plan(book).shopping.lines if line.role is role)


def pile_of_1705(**changes) -> Yarn:
    return pile(**({"tex": 250.0, "cut_length_mm": 40.0, "margin": 0.10, "skein_g": 500.0} | changes))


def test_whole_skeins_cover_the_need_and_the_margin():
    # 6,144 g of no. 1705 and a tenth on top are 6,758 g: 14 skeins of half a kilo, 7 kg. Without a margin 13.
    line = bought(book_of(published_rug(), yarns=(pile_of_1705(price_per_kg=12.0),)))
    assert (line.skeins, line.to_buy_g) == (14, 7000)
    assert line.cost == pytest.approx(84)
    assert line.spare_g == pytest.approx(7000 - 6144)
    line = bought(book_of(published_rug(), yarns=(pile_of_1705(margin=0.0),)))
    assert (line.skeins, line.to_buy_g) == (13, 6500)


def test_by_the_gram_tens_cover_the_need_and_the_margin():
    # 6,758.4 g to the next ten: 6,760 g.
    line = bought(book_of(published_rug(), yarns=(pile_of_1705(skein_g=0.0),)))
    assert (line.skeins, line.to_buy_g) == (0, 6760)


def test_what_is_there_is_not_bought_again_and_what_was_spoilt_is():
    # Bought 5 kg of no. 1705's yarn, 258.4 g of it spoilt: 6,758.4 - 4,741.6 = 2,016.8 g are missing, 5 skeins.
    yarn = pile_of_1705()
    lot = Lot(id="l", rug_id="rug", yarn_id=yarn.id, day=DAY, mass_g=5000.0, born=1)
    lost = Spoilt(id="p", rug_id="rug", yarn_id=yarn.id, day=DAY, mass_g=258.4, born=2)
    book = book_of(published_rug(), yarns=(yarn,), lots=(lot,), spoilt=(lost,))
    assert (bought(book).on_hand_g, bought(book).skeins) == (pytest.approx(4741.6), 5)
    # Weighed afterwards at 6,300 g, 458.4 g are missing: one skein.
    weighed = Weighing(id="w", rug_id="rug", yarn_id=yarn.id, day=DAY, mass_g=6300.0, born=3)
    assert bought(replace(book, weighings=(weighed,))).skeins == 1


def test_a_small_need_still_takes_the_least_purchase():
    # Common practice, no source: the dyer gives no less than a kilogram of a colour. 4,000 knots of 40 mm of 250 tex take
    # 40 g; sold in skeins of 300 g four are bought, by the gram the kilogram itself.
    plan = plan_of(knots_across=80, rows=50)
    yarn = pile_of_1705(least_purchase_g=1000.0, skein_g=300.0)
    assert bought(book_of(plan, yarns=(yarn,))).to_buy_g == 1200
    assert bought(book_of(plan, yarns=(replace(yarn, skein_g=1.0),))).to_buy_g == 1000
    # Where a little is missing of much, the least purchase is asked for as well.
    lot = Lot(id="l", rug_id="rug", yarn_id=yarn.id, day=DAY, mass_g=43.0)
    assert bought(book_of(plan, yarns=(yarn,), lots=(lot,))).to_buy_g == 1200


def test_warp_and_weft_are_bought_with_their_margin_as_well():
    # 960 g of warp (no. 1804) and a twentieth on top: 1,008 g, three skeins of 500 g.
    yarn = warp(tex=parse_fineness("Nm 8/3").tex, take_up=0.0, margin=0.05, skein_g=500.0)
    plan = published_rug(fringe_cm=10.0, loom_waste_cm=24.0)
    assert bought(book_of(plan, yarns=(pile(), yarn)), Role.WARP).skeins == 3


# --- wound -----------------------------------------------------------------------------------------------------------


def test_balls_hold_the_whole_need_and_everybody_gets_as_many():
    # 6,144 g in balls of 200 g: 31 for one weaver; for three 11 each, 33; the widest of the sections
    # has 107 of 320 knots, 2,054.4 g, 186.76 g on each ball (to the tenth that covers it: 186.8).
    alone = material_plan(book_of(published_rug(), yarns=(pile_of_1705(unit_mass_g=200.0),)))
    assert (alone.balls[0].balls, alone.balls[0].by_section) == (31, (31,))
    three = material_plan(book_of(published_rug(weavers_planned=3), yarns=(pile_of_1705(unit_mass_g=200.0),)))
    assert (three.balls[0].balls, three.balls[0].by_section) == (33, (11, 11, 11))
    assert three.balls[0].lots[0].ball_g == pytest.approx(186.8)
    assert three.balls[0].wound_g >= 6144


def test_shuttles_hold_the_whole_weft():
    # 816 g of thick weft (no. 1819) on shuttles of 100 g: nine, each good for 960 / 9 rows.
    thick = weft(1, tex=THICK_WEFT_TEX, take_up=0.15, unit_mass_g=100.0)
    line = material_plan(book_of(published_rug(), yarns=(pile(), thick))).shuttles[0]
    assert line.shuttles == 9
    assert line.rows_per_shuttle == pytest.approx(960 / 9)


def test_the_warp_s_balls_hold_the_whole_warp():
    # 960 g (no. 1804) in balls of 300 g: four.
    yarn = warp(tex=parse_fineness("Nm 8/3").tex, take_up=0.0, unit_mass_g=300.0)
    plan = published_rug(fringe_cm=10.0, loom_waste_cm=24.0)
    assert material_plan(book_of(plan, yarns=(pile(), yarn))).warp.balls == 4


def test_the_preparation_of_a_rug_of_40_raj_in_hours():
    # Common practice, no source: a ball takes five minutes and 7.5 more for each 100 g, a shuttle ten and twenty more, a warp
    # two hours and an hour and a half for each hundred of its threads. 31 balls, nine shuttles of 816 g, 1,280 warps.
    yarns = (
        pile_of_1705(unit_mass_g=200.0),
        weft(1, tex=THICK_WEFT_TEX, take_up=0.15, unit_mass_g=100.0),
        warp(),
    )
    plan = material_plan(book_of(published_rug(), yarns=yarns))
    balls_h = (31 * 5 + plan.balls[0].wound_g / 100 * 7.5) / 60
    shuttles_h = (9 * 10 + 816 / 100 * 20) / 60
    assert plan.preparation.hours_all == pytest.approx(balls_h + shuttles_h + 2 + 1.5 * 12.8, rel=1e-3)


# --- yarns whose fineness nobody said ------------------------------------------------------------------------------------


def test_cotton_weighs_more_than_wool_of_the_same_thickness():
    # Peirce's specific volume of 1.1 cm3/g is a cotton yarn's: 443 tex are 0.829 mm by 34.14 sqrt(v / C) mils.
    mils = 34.14 * math.sqrt(1.1 / (590.5 / 443))
    assert material.diameter_of_mm(plan_of(), warp()) == pytest.approx(mils * 0.0254, rel=0.003)
