"""Leaning cloths, worked out by hand from their corners."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest

from tracker.domain.shape import ahead_cm, fits_together, lean_cm, lean_variance_cm2, upper_corners


def lengths(left, right, foot):
    """The four lengths a tape reads from the corners (left), (right) over a foot."""
    return (math.hypot(*left), math.dist(right, (foot, 0)), math.hypot(*right), math.dist(left, (foot, 0)))


def test_a_side_ahead_alone_does_not_lean():
    # Upright edges, the right one 2 cm longer: the middle of the upper edge stands over the middle of the foot.
    read = lengths((0, 60), (100, 62), 100)
    assert ahead_cm(read[0], read[1]) == 2.0
    assert lean_cm(100, *read) == pytest.approx(0.0, abs=1e-12)
    corners = upper_corners(100, *read)
    assert (corners.left_y, corners.right_y) == pytest.approx((60.0, 62.0))


def test_a_cloth_drawn_in_evenly_does_not_lean():
    read = lengths((3, 60), (97, 60), 100)
    assert lean_cm(100, *read) == pytest.approx(0.0, abs=1e-12)
    assert upper_corners(100, *read).width_cm == pytest.approx(94.0)


def test_any_corners_come_back():
    rng = random.Random(3)
    for _time in range(200):
        foot = rng.uniform(40, 300)
        left = (rng.uniform(-8, 8), rng.uniform(20, 400))
        right = (foot + rng.uniform(-8, 8), rng.uniform(20, 400))
        read = lengths(left, right, foot)
        corners = upper_corners(foot, *read)
        back = (corners.left_x, corners.left_y, corners.right_x, corners.right_y)
        assert back == pytest.approx((*left, *right), abs=1e-6)
        assert lean_cm(foot, *read) == pytest.approx((left[0] + right[0] - foot) / 2, abs=1e-7)


def test_the_spread_of_the_lean_is_what_many_readings_show():
    # 20,000 readings of a cloth 100 cm wide and 60 cm long, each length read with a spread of 0.3 cm.
    rng = random.Random(5)
    true = lengths((1, 60), (101, 60), 100)
    told = [lean_cm(100, *(length + rng.gauss(0, 0.3) for length in true)) for _time in range(20_000)]
    middle = sum(told) / len(told)
    spread = math.sqrt(sum((one - middle) ** 2 for one in told) / len(told))
    assert spread == pytest.approx(math.sqrt(lean_variance_cm2(100, true, 4 * (0.3**2,))), rel=0.03)


def test_lengths_that_close_no_triangle_are_no_cloth():
    assert upper_corners(100, 60, 60, 170, 117) is None
    assert not fits_together(100, 100, 60, 60, 170, 117)
    # 12 cm taken for 112: the corners come out far apart from what the cloth is wide.
    assert fits_together(100, 100, 60, 60, 117, 116)
    assert not fits_together(100, 100, 60, 60, 117, 100)


def test_the_longer_a_diagonal_the_further_it_leans():
    leaning = [lean_cm(100, 60, 60, rising, 116.6) for rising in (116.0, 116.6, 117.0, 118.0)]
    assert all(before < after for before, after in pairwise(leaning))
