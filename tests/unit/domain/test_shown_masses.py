"""Masses that stand side by side add up as they are said: rounding leaves nothing for the reader to wonder at."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.properties import examples
from tracker.words import mass, shown_difference_g, shown_g, shown_parts_g, shown_sum_g

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
