"""Counting marks: whole warps, whole knots, no error that adds up; and what a soaked rug weighs."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters.rugs import plan
from tracker.domain import defaults, material
from tracker.domain.warping import counting_marks, warps_per_step, wet_rug


@given(
    knots=st.integers(1, 900),
    density=st.floats(10, 120),
    selvedge=st.integers(0, 30),
)
def test_marks_part_no_knot_and_end_at_the_last_warp(knots: int, density: float, selvedge: int) -> None:
    rug = replace(plan(), knots_across=knots, knots_per_10cm=density, selvedge_warps=selvedge)
    marks = counting_marks(rug)
    counts = [mark.warps for mark in marks]
    assert counts == sorted(set(counts))
    assert counts[-1] == material.warps(rug) == 2 * knots + selvedge
    assert marks[-1].at_cm == pytest.approx(material.cloth_width_cm(rug))
    left, right = selvedge // 2, selvedge // 2 + 2 * knots
    inner = [count for count in counts if left <= count <= right]
    assert inner[0] == left
    assert inner[-1] == right
    assert all((count - left) % 2 == 0 for count in inner)
    # However odd the density, no mark strays further than a knot from where the tape has it.
    knot_cm = 10.0 / density
    for before, after in pairwise(inner[:-1]):
        assert (after - before) / 2 * knot_cm == pytest.approx(10.0, abs=knot_cm)
    for at, count in enumerate(inner[:-1]):
        assert (count - left) / 2 * knot_cm == pytest.approx(10.0 * at, abs=0.5001 * knot_cm)


def test_forty_knots_to_ten_centimetres_are_eighty_warps() -> None:
    """Two warps to a knot: azerbaijanrugs.com, "The Calculation Of Knot Density"."""
    rug = replace(plan(), knots_across=120, knots_per_10cm=40.0, selvedge_warps=8)
    assert warps_per_step(rug) == 80
    assert [mark.warps for mark in counting_marks(rug)] == [4, 84, 164, 244, 248]


def test_a_rug_beyond_one_person_s_load_asks_for_two() -> None:
    """23 kg is the load constant of the revised NIOSH lifting equation (Publication No. 94-110; from memory)."""
    limit = 23_000.0 / float(defaults.WET_MASS_AT_LEAST)
    assert not wet_rug(limit - 1).two_people
    assert wet_rug(limit + 1).two_people
    assert wet_rug(5_000).wet_g >= 10_000
    # 3 kg is the least figure of the HSE's lifting filter (INDG143; from memory).
    light = 3_000.0 / float(defaults.WET_MASS_AT_LEAST)
    assert wet_rug(light - 1).light
    assert not wet_rug(light + 1).light
