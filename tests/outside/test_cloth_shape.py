"""Square by its diagonals: the lean of a cloth against worked examples of parallelograms that others published."""

from __future__ import annotations

import math

import pytest

from tracker.domain.shape import fits_together, lean_cm, upper_corners
from tracker.forecast.shape import reading_variance_cm2


def test_sides_of_7_and_9_with_diagonals_of_8_and_14():
    # web2.0calc.com, "parallelogram_4": sides 7 and 9, shorter diagonal 8: cos A = 66/126, the longer diagonal is 14.
    # Over a foot of 9 the side of 7 leans by 7 cos A = 11/3.
    assert lean_cm(9.0, 7.0, 7.0, 14.0, 8.0) == pytest.approx(7 * 66 / 126, abs=1e-12)
    # Mirrored, it leans as far to the left.
    assert lean_cm(9.0, 7.0, 7.0, 8.0, 14.0) == pytest.approx(-11 / 3, abs=1e-12)
    corners = upper_corners(9.0, 7.0, 7.0, 14.0, 8.0)
    assert corners is not None
    assert corners.width_cm == pytest.approx(9.0, abs=1e-12)
    assert corners.left_y == pytest.approx(7 * math.sqrt(1 - (11 / 21) ** 2), abs=1e-12)


def test_sides_of_5_and_10_at_60_degrees():
    # geeksforgeeks.org, "Diagonal of parallelogram formula", problem 1: sides 5 and 10, angle 60 degrees; the diagonals
    # are the roots of 175 and 75. The side leans by 5 cos 60 = 2.5.
    assert lean_cm(10.0, 5.0, 5.0, math.sqrt(175), math.sqrt(75)) == pytest.approx(2.5, abs=1e-12)
    # Printed as 13.22 and 8.66, to the hundredth.
    assert lean_cm(10.0, 5.0, 5.0, 13.22, 8.66) == pytest.approx(2.5, abs=0.01)


@pytest.mark.parametrize("length_cm", [17, 100, 300])
def test_a_reading_errs_by_more_than_the_tape_itself_may_and_by_less_than_half_a_centimetre(length_cm):
    # Directive 2014/32/EU, annex X, chapter I: a tape of class III may err by 0.6 mm + 0.4 mm for each metre begun
    # (the figures from memory, the form a + bL read in its forerunner 73/362/EEC). What the hand adds has no source.
    may_cm = (0.6 + 0.4 * math.ceil(length_cm / 100)) / 10
    # What may be anywhere within a bound has the spread bound / sqrt(3).
    assert may_cm / math.sqrt(3) < math.sqrt(reading_variance_cm2(length_cm, 0.1)) < 0.5


def test_a_foundation_of_30_by_40_is_square_when_both_diagonals_are_50():
    # inchcalculator.com, "Squaring calculator": 30 by 40 feet is square when both diagonals are 50 feet.
    assert lean_cm(40.0, 30.0, 30.0, 50.0, 50.0) == 0.0
    assert fits_together(40.0, 40.0, 30.0, 30.0, 50.0, 50.0)
    corners = upper_corners(40.0, 30.0, 30.0, 50.0, 50.0)
    assert corners is not None
    assert (corners.left_x, corners.left_y, corners.right_x, corners.right_y) == (0.0, 30.0, 40.0, 30.0)


@pytest.mark.parametrize("degrees", [60, 75, 89, 90, 91, 110])
@pytest.mark.parametrize(("side", "foot"), [(6.0, 10.0), (120.0, 80.0)])
def test_diagonals_made_by_the_law_of_cosines_give_the_lean_back(degrees, side, foot):
    # mathforum.org, Dr. Math 54147: the far corner lies at (foot + side cos A, side sin A); sides 6 and 10.
    angle = math.radians(degrees)
    rising = math.hypot(foot + side * math.cos(angle), side * math.sin(angle))
    falling = math.hypot(foot - side * math.cos(angle), side * math.sin(angle))
    # The parallelogram law, an identity: the squares of the diagonals are twice those of the sides.
    assert rising**2 + falling**2 == pytest.approx(2 * (side**2 + foot**2))
    assert lean_cm(foot, side, side, rising, falling) == pytest.approx(side * math.cos(angle), abs=1e-9)
