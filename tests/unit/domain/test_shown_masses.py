"""Masses that stand side by side add up as they are said: rounding leaves nothing for the reader to wonder at."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.properties import examples
from tracker.words import (
    divisor_that_makes,
    half_work_h,
    mass,
    mass_each,
    parts_that_add_up,
    rate_that_makes,
    shown_difference_g,
    shown_g,
    shown_parts_g,
    shown_sum_g,
    shown_work_h,
    work_words,
)

MASSES_G = st.floats(0, 60_000) | st.integers(0, 60_000).map(float) | st.floats(990, 1010)


def said_g(mass_g: float) -> float:
    """Read what is said of a mass."""
    figure, unit = mass(mass_g).split()
    return float(figure.replace(",", "")) * (1000.0 if unit == "kg" else 1.0)


@examples(150)
@given(mass_g=MASSES_G)
def test_what_is_shown_is_what_is_said(mass_g: float) -> None:
    assert shown_g(mass_g) == pytest.approx(said_g(mass_g))


@examples(150)
@given(on_hand_g=MASSES_G, needed_g=MASSES_G)
def test_who_takes_one_figure_from_the_other_gets_the_third(on_hand_g: float, needed_g: float) -> None:
    spare_g = shown_difference_g(on_hand_g, needed_g)
    if said_g(on_hand_g) == said_g(needed_g):
        assert spare_g == on_hand_g - needed_g
        return
    half_g = 5.0 if abs(spare_g) >= 999.5 else 0.0
    assert said_g(spare_g) == pytest.approx(said_g(on_hand_g) - said_g(needed_g), abs=half_g + 1e-6)
    assert (spare_g > 0) == (on_hand_g > needed_g), "rounding never turns short into spare"


def test_seventy_two_less_thirty_are_forty_two() -> None:
    # 71.6 less 30.4 are 41.2: said one by one it was "72 on hand, 30 needed, 41 spare".
    assert mass(shown_difference_g(71.6, 30.4)) == "42 g"
    # 2.567 kg less 343.4 g: 2.57 kg less 343 g are 2.227.
    assert mass(shown_difference_g(2567.0, 343.4)) == "2.23 kg"
    # Of a kilogram on tens of grams are said: 1.234 kg less 1.216 kg, as "1.23 kg" and "1.22 kg".
    assert mass(shown_difference_g(1234.0, 1216.0)) == "10 g"
    # Said alike they differ by what they differ.
    assert mass(shown_difference_g(12_344.0, 12_336.0)) == "8 g"


@examples(150)
@given(parts_g=st.lists(MASSES_G, min_size=1, max_size=6))
def test_parts_make_the_whole_as_it_is_said(parts_g: list[float]) -> None:
    shown = shown_parts_g(parts_g)
    whole_g = said_g(math.fsum(parts_g))
    half_g = 5.0 if whole_g >= 999.5 else 0.0
    # The largest part may be of kilograms, said on ten grams.
    rest_g = 5.0 if max(shown) >= 999.5 else 0.0
    assert sum(said_g(part_g) for part_g in shown) == pytest.approx(whole_g, abs=max(half_g, rest_g) + 1e-6)
    # Nothing is moved by more than rounding can have left over.
    for part_g, as_shown_g in zip(parts_g, shown, strict=True):
        assert abs(part_g - as_shown_g) <= 5.0 + 5.0 * len(parts_g)
    assert shown_sum_g(parts_g) == pytest.approx(sum(said_g(part_g) for part_g in parts_g))


@examples(150)
@given(rate=st.floats(0.05, 2000), count=st.integers(1, 3000), slack=st.floats(-1, 1))
def test_a_rate_by_its_count_is_the_total_that_is_told(rate: float, count: int, slack: float) -> None:
    # The total is rounded to half a tenth or a half from what the rate truly makes.
    half = 0.05 if rate * count < 20 else 0.5
    total = round(rate * count + slack * half * 0.9, 1 if half < 0.1 else 0)
    if total <= 2 * half:
        return
    said, decimals = rate_that_makes(rate, count, total, half)
    assert abs(said * count - total) <= half
    assert said == round(said, decimals)


def test_seventy_four_rows_of_so_many_minutes_are_the_hours_told() -> None:
    # 15.5 h and 74 rows at 12.8 min stood side by side: 74 times 12.8 min are 15.8 h. 15.72 h are "15.7 h", a row 12.7 min.
    minutes, decimals = rate_that_makes(15.72 * 60 / 74, 74, 15.7 * 60, 0.05 * 60)
    assert (minutes, decimals) == (12.7, 1)
    # 171 days are 24.4 weeks: 8.3 h a week would make 202.5 h, not 202.
    assert rate_that_makes(202 / (171 / 7), 24.4, 202.0, 0.5, fewest=1) == (8.27, 2)
    # Weeks are rounded themselves: 4.8 h a week and 1.7 of them make no 8.4 h however finely the hours are said.
    assert rate_that_makes(4.8, 1.7, 8.4, 0.05, fewest=1) == (4.94, 2)
    assert divisor_that_makes(18.44, 1300, 71.0, 0.5) == (18.4, 1)


def test_work_is_told_as_it_is_read_back() -> None:
    for hours, said in (
        (0.0, "0 min"),
        (0.004, "1 min"),
        (0.99, "59 min"),
        (0.999, "1 h"),
        (19.94, "19.9 h"),
        (20.4, "20 h"),
    ):
        assert work_words(hours) == said
        figure, unit = said.split()
        assert shown_work_h(hours) == pytest.approx(float(figure) / (60 if unit == "min" else 1))
        assert abs(shown_work_h(hours) - hours) <= half_work_h(hours) + 1e-9 or hours < 0.01


def test_equal_parts_make_the_whole_as_it_is_said() -> None:
    # Thirteen balls of 47 g would be 611 g.
    assert mass_each(606.0, 13) == "46.6 g"
    assert mass_each(23.4, 1) == "23 g"
    assert mass_each(3000.0, 3) == "1 kg"
    # Three skeins of four ounces.
    assert mass_each(340.2, 3) == "113.4 g"


@examples(100)
@given(parts=st.lists(st.floats(0, 100), min_size=1, max_size=9))
def test_rounded_parts_make_the_rounded_whole(parts: list[float]) -> None:
    told = parts_that_add_up(parts)
    assert sum(told) == round(math.fsum(parts))
    assert all(abs(said - part) < 1 + 1e-6 for said, part in zip(told, parts, strict=True))
