"""What a weaver types: numbers, lengths, densities."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.domain.rugs import value_or_sentence
from tracker.domain import units
from tracker.domain.errors import BadEntry
from tracker.domain.units import (
    Density,
    DensityUnit,
    parse_number,
)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("12", 12.0),
        ("12.5", 12.5),
        ("12,5", 12.5),
        (" 12,5 ", 12.5),
        ("0,125", 0.125),
        ("1 234,5", 1234.5),
        ("1\u202f234.5", 1234.5),
        ("1.234,56", 1234.56),
        ("1,234.56", 1234.56),
        ("1,234,567", 1234567.0),
        ("1'200", 1200.0),
        ("٤٠", 40.0),
        ("१२٫५", 12.5),
        ("−3", -3.0),
        (".5", 0.5),
    ],
)
def test_a_number_is_read_however_the_weaver_writes_it(typed, meant):
    assert parse_number(typed) == meant


@pytest.mark.parametrize(
    "typed", ["", " ", "abc", "1,2,3", "1.234.5", "5.", "1e5", "nan", "inf", "12 cm", "1 23", "--3", "9" * 30]
)
def test_what_is_no_number_gets_a_sentence_with_an_example(typed):
    with pytest.raises(BadEntry, match=r"for example 12\.5"):
        parse_number(typed)


@pytest.mark.parametrize(("typed", "one", "other"), [("1,200", "1200", "1.2"), ("1.250", "1250", "1.25")])
def test_a_number_with_two_meanings_is_not_guessed(typed, one, other):
    with pytest.raises(BadEntry) as trouble:
        parse_number(typed)
    assert one in trouble.value.sentence
    assert other in trouble.value.sentence


@given(st.text(max_size=40))
def test_any_text_is_either_a_number_or_a_sentence(typed):
    outcome = value_or_sentence(lambda: parse_number(typed))
    assert outcome.endswith(".") if isinstance(outcome, str) else abs(outcome) < 1e25


@given(st.integers(-99_999, 99_999), st.sampled_from(",."))
def test_every_hundredth_comes_back(hundredths, sign):
    text = f"{hundredths / 100:.2f}".replace(".", sign)
    assert parse_number(text) == pytest.approx(hundredths / 100)


def test_a_density_is_shown_in_every_unit():
    shown = dict(Density(36.0, 42.0).all_ways())
    # By hand: 36 x 0.254 = 9.144; 36 x 3.048 = 109.7; 36 x 0.7 = 25.2; 36 x 0.2286 = 8.23 and 42 x 1.143 = 48.0.
    assert shown["per inch"] == "9.14 × 10.7"
    assert shown["per foot (line)"] == "110 × 128"
    assert shown["per 7 cm (raj)"] == "25.2 × 29.4"
    assert shown["bis/bhutan"] == "8.23 × 48"
    assert shown["knots/dm²"] == "1,512"
    assert shown["knots/m²"] == "151,200"
    assert shown["knots per square inch"] == "97.5"


@given(st.floats(2.0, 300.0), st.sampled_from(list(DensityUnit)))
def test_a_density_survives_the_way_through_any_unit(per_10cm, unit):
    there = units.from_per_10cm(per_10cm, unit)
    assert units.to_per_10cm(there, unit) == pytest.approx(per_10cm)


def test_a_density_that_nobody_knots_is_refused_with_its_bounds():
    assert units.check_density(2.0) == 2.0
    assert units.check_density(300.0) == 300.0
    for wrong in (1.99, 300.1):
        with pytest.raises(BadEntry) as trouble:
            units.check_density(wrong)
        assert "hand-knotted rugs have between 2 and 300" in trouble.value.sentence
        assert trouble.value.sentence.startswith(f"{units.show_number(wrong)} per 10 cm cannot be right")


def test_a_density_is_refused_in_the_unit_it_was_said_in():
    # 2 and 300 in 10 cm are 0.508 and 76.2 an inch; 100 an inch are 393.7 in 10 cm.
    assert units.density_trouble(393.7, DensityUnit.PER_INCH) == (
        "100 per inch cannot be right: hand-knotted rugs have between 0.508 and 76.2. Look at the unit beside the number."
    )
    # On a raj of 6.5 cm: 1.3 and 195.
    assert "260 per 6.5 cm cannot" in units.density_trouble(400, DensityUnit.RAJ, 6.5)
    assert units.density_trouble(36.0, DensityUnit.PER_INCH) == ""


@pytest.mark.parametrize(
    ("value", "shown"),
    [(1234.5, "1,234"), (100.0, "100"), (99.96, "100"), (99.94, "99.9"), (10.0, "10"), (9.996, "10"), (1.0, "1"),
     (1.005, "1"), (0.9996, "1"), (0.1234, "0.123"), (-12.34, "-12.3"), (0.0, "0")],
)  # fmt: skip
def test_numbers_are_shown_with_three_figures(value, shown):
    assert units.show_number(value) == shown


def test_lengths_go_into_every_unit_and_back():
    # An inch is 2.54 cm exactly (international yard and pound agreement, 1959).
    per_unit = {"cm": 1.0, "inch": 2.54, "m": 100.0, "mm": 0.1, "foot": 30.48}
    assert {unit.value: units.to_cm(1.0, unit) for unit in units.LengthUnit} == pytest.approx(per_unit)
    for unit in units.LengthUnit:
        assert units.from_cm(units.to_cm(7.0, unit), unit) == pytest.approx(7.0)


def test_a_raj_is_as_long_as_it_is_where_it_is_said():
    assert units.to_per_10cm(40, DensityUnit.RAJ) == pytest.approx(400 / 7)
    assert units.to_per_10cm(40, DensityUnit.RAJ, 6.5) == pytest.approx(400 / 6.5)
    assert units.from_per_10cm(400 / 6.5, DensityUnit.RAJ, 6.5) == pytest.approx(40)
    assert units.span_cm(DensityUnit.LINE, 6.5) == pytest.approx(30.48)
    assert units.Density(40.0, 50.0, 6.5).across(DensityUnit.RAJ) == pytest.approx(26.0)
    assert units.Density(40.0, 50.0, 6.5).along(DensityUnit.RAJ) == pytest.approx(32.5)
    assert (units.Density(40.0, 50.0).per_dm2, units.Density(40.0, 50.0).per_m2) == (2000.0, 200_000.0)
