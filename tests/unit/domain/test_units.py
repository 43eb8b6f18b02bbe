"""What a weaver types: numbers, lengths, densities."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.domain.rugs import value_or_sentence
from tracker.domain import units
from tracker.domain.errors import BadEntry
from tracker.domain.units import (
    DensityUnit,
    LengthUnit,
    parse_density,
    parse_length,
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
    outcome = value_or_sentence(lambda: parse_number(typed, fractions=True))
    assert outcome.endswith(".") if isinstance(outcome, str) else abs(outcome) < 1e25


@given(st.integers(-99_999, 99_999), st.sampled_from(",."))
def test_every_hundredth_comes_back(hundredths, sign):
    text = f"{hundredths / 100:.2f}".replace(".", sign)
    assert parse_number(text) == pytest.approx(hundredths / 100)


@pytest.mark.parametrize(
    ("typed", "unit", "length_cm"),
    [
        ("120", LengthUnit.CM, 120.0),
        ("47,5", LengthUnit.INCH, 120.65),
        ("1.2 m", LengthUnit.CM, 120.0),
        ("1200 mm", LengthUnit.CM, 120.0),
        ("47 1/2 in", LengthUnit.CM, 120.65),
        ("47½ in", LengthUnit.CM, 120.65),
        ("4 ft 6 in", LengthUnit.CM, 137.16),
        ("4'6\"", LengthUnit.CM, 137.16),
        ("4 ft", LengthUnit.CM, 121.92),
        ("4", LengthUnit.FOOT, 121.92),
    ],
)
def test_a_length_is_read_with_or_without_its_unit(typed, unit, length_cm):
    assert parse_length(typed, unit) == pytest.approx(length_cm)


@pytest.mark.parametrize("typed", ["12 parsec", "cm", "", "-5 cm", "90000 m", "4 ft 6 ft", "a" * 100])
def test_a_wrong_length_gets_a_sentence(typed):
    with pytest.raises(BadEntry) as trouble:
        parse_length(typed)
    assert trouble.value.sentence.endswith(".")


def test_a_density_is_entered_as_any_and_shown_as_all():
    density = parse_density("36 x 42")
    assert (density.knots_per_10cm, density.rows_per_10cm) == (36.0, 42.0)
    shown = dict(density.all_ways())
    # By hand: 36 x 0.254 = 9.144; 36 x 3.048 = 109.7; 36 x 0.7 = 25.2; 36 x 0.2286 = 8.23 and 42 x 1.143 = 48.0.
    assert shown["per inch"] == "9.14 × 10.7"
    assert shown["per foot (line)"] == "110 × 128"
    assert shown["per 7 cm (raj)"] == "25.2 × 29.4"
    assert shown["bis/bhutan"] == "8.23 × 48"
    assert shown["knots/dm²"] == "1,512"
    assert shown["knots/m²"] == "151,200"
    assert shown["knots per square inch"] == "97.5"


@pytest.mark.parametrize(
    "typed", ["", "x", "9 bis", "40 x", "40 per mile", "0", "1", "900", "40 x 900", "12 x 24 x 3"]
)
def test_a_wrong_density_gets_a_sentence(typed):
    with pytest.raises(BadEntry) as trouble:
        parse_density(typed)
    assert trouble.value.sentence.endswith(".")


def test_the_unit_beside_the_field_is_meant_when_none_is_typed():
    assert parse_density("10", DensityUnit.PER_INCH).knots_per_10cm == pytest.approx(10 / 0.254)
    assert parse_density("9/60", DensityUnit.BIS).rows_per_10cm == pytest.approx(60 / 11.43 * 10)


@given(st.floats(2.0, 300.0), st.sampled_from(list(DensityUnit)))
def test_a_density_survives_the_way_through_any_unit(per_10cm, unit):
    there = units.from_per_10cm(per_10cm, unit)
    assert units.to_per_10cm(there, unit) == pytest.approx(per_10cm)
