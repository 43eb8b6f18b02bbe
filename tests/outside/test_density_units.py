"""Density as the trade says it, against published equivalents and a general-purpose unit library."""

from __future__ import annotations

import math

import pint
import pytest

from tests.unit.domain.rugs import density_of, plan_of, warp
from tracker.domain import units
from tracker.domain.material import diameter_of_mm, warp_spacing_mm
from tracker.domain.units import Density, DensityUnit, LengthUnit
from tracker.domain.yarn import parse_fineness

UREG = pint.UnitRegistry()


def test_a_hundred_thousand_knots_a_square_metre():
    # Wikipedia, "Knot density": 100,000 knots/m2 = 1,000 knots/dm2 = 65 (64.5) knots per square inch.
    side = math.sqrt(1000.0)
    density = Density(side, side)
    assert density.per_m2 == pytest.approx(100_000)
    assert density.per_dm2 == pytest.approx(1000)
    assert density.per_square_inch == pytest.approx(64.5, abs=0.05)
    assert round(density.per_square_inch) == 65


def test_bis_and_bhutan():
    # little-persia.com, "How Are Knot Counts Measured?", and navajorugrepair.com, "Knotting of Oriental Rugs": bis =
    # knots in 0.9 inch across, bhutan = knots in 4.5 inches along; 9/60 is 10 across and 13.3 along per inch, 133
    # knots per square inch (the product over 4.05).
    density = density_of(9, 60, DensityUnit.BIS, DensityUnit.BHUTAN)
    assert density.across(DensityUnit.PER_INCH) == pytest.approx(10.0)
    assert density.along(DensityUnit.PER_INCH) == pytest.approx(13.3, abs=0.05)
    assert density.per_square_inch == pytest.approx(133, abs=0.5)
    assert density.per_square_inch == pytest.approx(9 * 60 / 4.05)


def test_a_120_line_rug_has_a_hundred_knots_a_square_inch():
    # little-persia.com, "Counting Knots in Oriental Rugs": line = knots per foot; line^2 / 144.
    density = density_of(120, 120, DensityUnit.LINE)
    assert density.per_square_inch == pytest.approx(100.0)
    assert density_of(90, 90, DensityUnit.LINE).per_square_inch == pytest.approx(90**2 / 144)


@pytest.mark.parametrize(("raj", "per_m2"), [(40, 326_528), (30, 183_672)])
def test_raj(raj, per_m2):
    # tekstilbilgi.net, "Halıda düğüm sayımı ve sıklık": a rug of 40 raj has 40 x 40 knots in a square of 7 cm; times 204.08
    # 326,528 in a square metre. The second by the same sum, from the page's 30.
    assert density_of(raj, raj, DensityUnit.RAJ).per_m2 == pytest.approx(per_m2, rel=5e-5)


def test_two_ways_to_288_knots_a_square_inch():
    # navajorugrepair.com, "Knotting of Oriental Rugs": 16/18 and 12/24 per inch are 288 knots per square inch each.
    assert density_of(16, 18, DensityUnit.PER_INCH).per_square_inch == pytest.approx(288)
    assert density_of(12, 24, DensityUnit.PER_INCH).per_square_inch == pytest.approx(288)


def test_a_fifteen_ply_foundation_suits_45_to_50_knots_per_10_cm():
    # Common practice, no source: pile and foundation yarn of a 15-ply foundation give 45 to 50 knots per 10 cm. Here:
    # at those densities a warp of Ne 20/15 cotton fills 60 to 85 % of the width, which packs firmly and still lets yarn through.
    yarn = warp(tex=parse_fineness("Ne 20/15").tex)
    for knots_per_10cm in (45.0, 50.0):
        plan = plan_of(knots_per_10cm=knots_per_10cm, rows_per_10cm=knots_per_10cm)
        assert 0.6 < diameter_of_mm(plan, yarn) / warp_spacing_mm(plan) < 0.85


SPANS = {
    DensityUnit.PER_10CM: 10 * UREG.cm,
    DensityUnit.PER_INCH: 1 * UREG.inch,
    DensityUnit.LINE: 1 * UREG.foot,
    DensityUnit.RAJ: 112 * UREG.cm / 16,  # a sixteenth of Tabriz's ell of 112 cm (entezarcarpet.ir)
    DensityUnit.BIS: 0.9 * UREG.inch,
    DensityUnit.BHUTAN: 4.5 * UREG.inch,
}


@pytest.mark.parametrize("unit", list(DensityUnit))
@pytest.mark.parametrize("count", [1.0, 9.0, 37.5, 160.0])
def test_every_density_unit_agrees_with_the_unit_library(unit, count):
    theirs = (count / SPANS[unit] * (10 * UREG.cm)).to(UREG.dimensionless).magnitude
    assert units.to_per_10cm(count, unit) == pytest.approx(theirs, rel=1e-12)
    assert units.from_per_10cm(theirs, unit) == pytest.approx(count, rel=1e-12)


def test_areal_densities_agree_with_the_unit_library():
    density = Density(43.0, 51.0)
    theirs = (43 / (10 * UREG.cm)) * (51 / (10 * UREG.cm))
    assert density.per_m2 == pytest.approx(theirs.to(1 / UREG.m**2).magnitude)
    assert density.per_dm2 == pytest.approx(theirs.to(1 / UREG.dm**2).magnitude)
    assert density.per_square_inch == pytest.approx(theirs.to(1 / UREG.inch**2).magnitude)


@pytest.mark.parametrize("unit", list(LengthUnit))
def test_every_length_unit_agrees_with_the_unit_library(unit):
    theirs = (7.25 * UREG(unit.value)).to(UREG.cm).magnitude
    assert units.to_cm(7.25, unit) == pytest.approx(theirs, rel=1e-12)
    assert units.from_cm(theirs, unit) == pytest.approx(7.25, rel=1e-12)
