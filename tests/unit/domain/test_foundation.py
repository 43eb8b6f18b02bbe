"""Whether the cloth fits the loom, and what is said where it does not."""

from __future__ import annotations

import pytest

from tests.unit.domain.rugs import plan_of, warp
from tracker.domain import foundation, material
from tracker.domain.loom import Loom, WarpLay
from tracker.domain.rug import RugPlan
from tracker.domain.shared_warp import shared_warp, warp_part


def fit(take_up: float | None = None, loom: Loom | None = None, **changes) -> foundation.LoomFit:
    """A rug 101 cm wide with its selvedges and 154 cm long with its ends."""
    return foundation.loom_fit(plan_of(**changes), loom, None, take_up)


def test_a_loom_that_is_too_narrow_is_said_with_its_width_and_by_how_much() -> None:
    narrow = fit(loom_width_cm=100.0)
    (sentence,) = narrow.sentences
    # 101 cm of cloth and 10 cm for the hands: 11 cm too little.
    assert "is 101 cm wide" in sentence
    assert "100 cm between its sides" in sentence
    assert "needs 10 cm for hands" in sentence
    assert "narrower by 11 cm" in sentence
    assert (narrow.fits_width, narrow.spare_width_cm) == (False, -11.0)
    assert fit(loom_width_cm=111.0).sentences == ()
    assert fit(loom_width_cm=111.0).fits_width is True


def test_a_beam_that_takes_up_too_little_is_said_and_one_that_takes_all_is_not() -> None:
    short = fit(beam_roll_cm=150.0)
    (sentence,) = short.sentences
    assert "154 cm long" in sentence
    assert "can roll up 150 cm" in sentence
    assert "shorter by 4 cm" in sentence
    assert (short.fits_roll, short.spare_roll_cm) == (False, -4.0)
    assert (fit(beam_roll_cm=154.0).sentences, fit(beam_roll_cm=154.0).fits_roll) == ((), True)


def test_a_loom_that_holds_too_short_a_warp_is_named() -> None:
    # 154 cm of cloth, 3 % taken up, two fringes of 10 cm, 40 cm kept: 218.6 cm; measured 10 %: 229.4 cm.
    loom = Loom(id="l", name="The oak one", longest_warp_cm=220.0)
    assert fit(loom=loom).sentences == ()
    assert fit(loom=loom).spare_warp_cm == pytest.approx(220.0 - 218.62)
    (sentence,) = fit(0.10, loom).sentences
    assert "229.4 cm long" in sentence
    assert "The oak one holds 220 cm" in sentence
    assert "shorter by 9.4 cm" in sentence


def test_what_nobody_measured_is_not_known() -> None:
    unknown = fit(loom=Loom(id="l", name="loom"))
    assert (unknown.fits_width, unknown.spare_width_cm, unknown.fits_roll, unknown.spare_roll_cm) == (
        None,
    ) * 4
    assert (unknown.spare_warp_cm, unknown.sentences) == (None, ())
    assert (unknown.cloth_width_cm, unknown.cloth_length_cm) == (101.0, 154.0)


def on_one_warp(*plans: RugPlan, tex: tuple[float, ...] = (443.0, 443.0)):
    parts = tuple(
        warp_part(plan, None, (warp(tex=fine),), (), ()) for plan, fine in zip(plans, tex, strict=True)
    )
    shared = shared_warp(parts)
    assert shared is not None
    return shared


def test_rugs_on_one_warp_lie_at_one_density_and_have_one_yarn() -> None:
    a, b = plan_of(id="a"), plan_of(id="b")
    assert foundation.shared_sentences(on_one_warp(a, b)) == []
    (density,) = foundation.shared_sentences(on_one_warp(a, plan_of(id="b", knots_per_10cm=36.0)))
    assert "different densities across" in density
    (yarn,) = foundation.shared_sentences(on_one_warp(a, b, tex=(443.0, 300.0)))
    assert "different warp yarns" in yarn
    shared = on_one_warp(a, plan_of(id="b", knots_per_10cm=36.0), tex=(443.0, 300.0))
    assert len(foundation.loom_fit(a, None, shared).sentences) == 2


def test_rugs_side_by_side_need_their_room_together() -> None:
    a, b = plan_of(id="a", loom_width_cm=200.0), plan_of(id="b", warp_lay=WarpLay.BESIDE)
    together = foundation.loom_fit(a, None, on_one_warp(a, b))
    (sentence,) = together.sentences
    # Two of 101 cm, 5 cm between them, 10 cm for the hands: 17 cm too little.
    assert "take 207 cm" in sentence
    assert "need 10 cm for hands" in sentence
    assert "200 cm between its sides" in sentence
    assert "17 cm too little" in sentence
    assert together.cloth_width_cm == 101.0


def test_warps_too_thick_for_their_places_are_told_with_both_widths() -> None:
    # A cotton thread of 2,000 tex is 1.67 mm thick (1.1 cm3/g, F. T. Peirce 1937); a knot at 40 has 2.5 mm.
    said = foundation.crowded_warps(plan_of(), warp(tex=2000.0))
    assert "need 3.34 mm" in said or "need 3.35 mm" in said
    assert "a knot has 2.5 mm" in said
    assert foundation.crowded_warps(plan_of(), warp(tex=443.0)) == ""


def test_published_masses_are_told_of_densities_within_a_tenth() -> None:
    # nepalcarpet.org, "Quality of Carpets": 80,000 knots a square metre weigh 3.5 to 4.25 kg, 56,000 weigh 4.5 to 5 kg.
    assert foundation.published_range_g_per_m2(80_000) == (3500.0, 4250.0)
    assert foundation.published_range_g_per_m2(56_000) == (4500.0, 5000.0)
    assert foundation.published_range_g_per_m2(88_000) == (3500.0, 4250.0)
    assert foundation.published_range_g_per_m2(125_000 * 1.09) == (2500.0, 3500.0)
    assert foundation.published_range_g_per_m2(95_000) is None
    assert foundation.published_range_g_per_m2(250_000) is None


def finished(
    pile_g: float, published: tuple[float, float] | None, area_m2: float = 1.5
) -> foundation.FinishedMass:
    return foundation.FinishedMass(
        pile_g=pile_g, wefts_g=1000.0, warp_g=500.0, edges_g=300.0, area_m2=area_m2, published_g_per_m2=published
    )  # fmt: skip


def test_what_a_square_metre_weighs_is_said_beside_what_is_published() -> None:
    # 4,500 g of pile, 1,000 of wefts, 500 of warp on 1.5 square metres: 4 kg; the sides are weighed with the rug.
    rug = finished(4500.0, (3500.0, 4250.0))
    assert (rug.knotted_g, rug.total_g, rug.g_per_m2) == (6000.0, 6300.0, 4000.0)
    assert rug.sentence == (
        "About 4 kg a square metre when finished. Published for this density: 3.5 kg to 4.25 kg."
    )
    assert finished(4500.0, (3800.0, 3800.0)).sentence.endswith("Published for this density: 3.8 kg.")
    assert finished(4500.0, None).sentence == "About 4 kg a square metre when finished."
    assert finished(4500.0, None, area_m2=0.0).g_per_m2 == 0.0


def test_the_warp_in_the_cloth_is_the_knotted_part_with_what_waves() -> None:
    # 808 warps of 150 cm, 3 % longer in the cloth, 443 tex: 808 x 1.545 m x 0.443 g; measured 10 %: 1.65 m.
    assert foundation.warp_in_cloth_g(plan_of(), warp()) == pytest.approx(808 * 1.545 * 0.443)
    assert foundation.warp_in_cloth_g(plan_of(), warp(take_up=0.10)) == pytest.approx(808 * 1.65 * 0.443)
    assert foundation.warp_in_cloth_g(plan_of(), None) == 0.0
    assert material.warps(plan_of()) == 808
