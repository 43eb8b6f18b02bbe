"""Yarn fineness and official regain, against standards, published examples and a unit library."""

from __future__ import annotations

import pint
import pytest

from tracker.domain import fibres
from tracker.domain.units import show_number
from tracker.domain.yarn import CountSystem, count_from, parse_fineness, tex_from

UREG = pint.UnitRegistry()


def test_tex_times_english_cotton_count():
    # textilelearner.blogspot.com, "Count conversion of yarn"; factors of ISO 1144: tex x Ne = 590.5.
    for count in (1, 6, 10, 20, 40):
        assert tex_from(count, CountSystem.NE) * count == pytest.approx(590.5, abs=0.05)


def test_denier_and_metric_count_are_exact():
    # ISO 1144 (definitions): denier = 9 tex, Nm = 1000 / tex.
    assert count_from(100.0, CountSystem.DEN) == 900.0
    assert count_from(400.0, CountSystem.NM) == 2.5
    assert tex_from(2.5, CountSystem.NM) == 400.0
    assert tex_from(900.0, CountSystem.DEN) == 100.0


def test_english_cotton_count_is_hanks_of_840_yards_in_a_pound():
    # The definition, worked by the unit library.
    theirs = (1 * UREG.pound / (840 * UREG.yard)).to(UREG.gram / UREG.kilometer).magnitude
    assert tex_from(1.0, CountSystem.NE) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("tex", [12.0, 75.0, 400.0, 1700.0])
def test_every_system_agrees_with_the_unit_library(tex):
    # The library knows these units of textiles by itself, the inverse ones as lengths in a mass.
    linear = tex * UREG.tex
    assert count_from(tex, CountSystem.DEN) == pytest.approx(linear.to(UREG.denier).magnitude)
    assert count_from(tex, CountSystem.DTEX) == pytest.approx(linear.to(UREG.dtex).magnitude)
    assert count_from(tex, CountSystem.NM) == pytest.approx((1 / linear).to(UREG.number_meter).magnitude)
    assert count_from(tex, CountSystem.NE) == pytest.approx((1 / linear).to(UREG.number_english).magnitude)


def test_what_is_shown_differs_from_the_exact_value_by_at_most_two_percent():
    # ISO 2947, scope: rounded tex values for traditional counts differ from the exact ones by at most 2 %.
    for system in (CountSystem.NM, CountSystem.NE, CountSystem.DEN):
        for tenths in range(5, 2000, 7):
            exact = tex_from(tenths / 10.0, system)
            assert float(show_number(exact).replace(",", "")) == pytest.approx(exact, rel=0.02)


@pytest.mark.parametrize(
    ("said", "tex"),
    [
        ("Nm 5/2 x 3 strands", 1000 / 5 * 2 * 3),
        ("Ne 20/15", 590.541 / 20 * 15),
        ("tex 400 x 2", 800.0),
        ("den 900", 100.0),
        ("Nm 5/2", 400.0),
    ],
)
def test_the_trade_s_ways_to_write_a_yarn(said, tex):
    # Worked by hand from the definitions above.
    assert parse_fineness(said).tex == pytest.approx(tex, rel=1e-6)


def test_invoice_mass_of_a_damp_delivery():
    # textilecalculator.com, "Correct invoice weight calculator": 20,000 kg of 80/20 polyester and cotton at 4 % moisture
    # content; official regain of polyester 0.4 %, so of the blend 2.02 %: dry 19,200 kg, to be paid for 19,587.84 kg.
    regain = 0.8 * 0.004 + 0.2 * fibres.OFFICIAL_REGAIN["cotton"]
    assert fibres.dry_mass(20_000, moisture_content=0.04) == pytest.approx(19_200)
    assert fibres.conditioned_mass(20_000, moisture_content=0.04, regain=regain) == pytest.approx(19_587.84)


def test_count_of_a_conditioned_cotton_yarn():
    # textilecalculations.com, "Calculation of conditioned cotton and yarn": 500 m weigh 10 g oven-dry; at the standard regain
    # of cotton, which is a moisture content of 7.83 %, 10.85 g: 21.7 tex.
    regain = fibres.OFFICIAL_REGAIN["cotton"]
    assert fibres.conditioned_mass(10.0, moisture_content=0.0, regain=regain) / 0.5 == pytest.approx(21.7)
    assert fibres.content_of_regain(regain) == pytest.approx(0.0783, abs=0.5e-4)


def test_regain_and_content_of_blends():
    # textilecalculation.blogspot.com, "Correct invoice weight": 60/40 cotton/viscose: regain 10.3 %, content 9.34 %.
    regain = 0.6 * fibres.OFFICIAL_REGAIN["cotton"] + 0.4 * fibres.OFFICIAL_REGAIN["viscose"]
    assert regain == pytest.approx(0.103)
    assert fibres.content_of_regain(regain) == pytest.approx(0.0934, abs=0.5e-4)
    # schachenmayr.com, "Yarn ball weight": 75 % combed wool with 25 % polyamide (6.25 %, from memory): legal regain 15.25 %.
    regain = 0.75 * fibres.OFFICIAL_REGAIN["combed wool"] + 0.25 * 0.0625
    assert regain == pytest.approx(0.1525)


def test_what_wool_holds_in_usual_air():
    # New Zealand's wool testing authority, "Condition test (IWTO-33)": at 65 % relative humidity wool holds 14 to 15 % of its
    # own weight in moisture; the official regain of carded wool stands for such air.
    for wool in ("carded wool", "wool"):
        assert 0.14 <= fibres.content_of_regain(fibres.OFFICIAL_REGAIN[wool]) <= 0.15
