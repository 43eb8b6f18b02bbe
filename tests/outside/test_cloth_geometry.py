"""Peirce's geometry of cloth, against his published values and the exact equations solved independently."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from tracker.domain import material


def test_square_jammed_cloth():
    # F. T. Peirce, "The Geometry of Cloth Structure", J. Text. Inst. 28 (1937) T45; worked by V. Balasubramanian, "Yarn
    # and cloth"; GATE 2009 TF question 54: weave angle 60 degrees, crimp 20.92 %. Both threads rise by D / 2.
    spacing = math.sqrt(3) / 2
    angle = material.jammed_angle(spacing, 1.0)
    assert math.degrees(angle) == pytest.approx(60.0)
    assert material.height_from_angle(angle, spacing, 1.0) == pytest.approx(0.5)
    assert 100 * material.crimp_from_angle(angle, spacing, 1.0) == pytest.approx(20.92, abs=0.005)
    assert 100 * material.wave_crimp(0.5, spacing, 1.0) == pytest.approx(20.92, abs=0.005)


@pytest.mark.parametrize("crimp", [0.01, 0.03, 0.05])
def test_crimp_height_of_open_cloth(crimp):
    # Same source: h = (4/3) p sqrt(c) for open structures.
    spacing = 2.0
    height = 4 / 3 * spacing * math.sqrt(crimp)
    # The exact geometry comes close to Peirce's own approximation where the structure is open (thin threads).
    assert material.wave_crimp(height, spacing, 0.6) == pytest.approx(crimp, rel=0.15)


@pytest.mark.parametrize(("specific_volume", "cotton_count"), [(1.1, 1.0), (1.1, 20.0), (0.9, 7.0)])
def test_yarn_diameter(specific_volume, cotton_count):
    # Same source: diameter in mils = 34.14 sqrt(v / C), v in cm3/g, C the English cotton count.
    tex = 590.541 / cotton_count
    mils = material.thread_diameter_mm(tex, 1.0, 1.0 / specific_volume) / 0.0254
    assert mils == pytest.approx(34.14 * math.sqrt(specific_volume / cotton_count), rel=2e-4)


@pytest.mark.parametrize(
    ("height", "spacing", "sum_mm"), [(0.2, 1.25, 1.0), (0.5, 1.25, 1.24), (0.1, 2.0, 0.5)]
)
def test_the_exact_equations_solved_by_another_method(height, spacing, sum_mm):
    # Peirce's p = (l - D a) cos a + D sin a and h = (l - D a) sin a + D (1 - cos a), solved for a by Brent's method.
    def too_high(angle):
        straight = (spacing - sum_mm * math.sin(angle)) / math.cos(angle)
        return straight * math.sin(angle) + sum_mm * (1 - math.cos(angle)) - height

    top = math.asin(min(1.0, spacing / sum_mm)) - 1e-6 if sum_mm >= spacing else 1.5
    angle = brentq(too_high, 0.0, top, xtol=1e-14)
    length = (spacing - sum_mm * math.sin(angle)) / math.cos(angle) + sum_mm * angle
    assert material.wave_crimp(height, spacing, sum_mm) == pytest.approx(length / spacing - 1, abs=1e-9)


def test_a_knot_s_collar_is_as_long_as_its_path_drawn_point_by_point():
    """Walk both knots' centre lines as polylines and add up the steps."""
    from tracker.domain.rug import KnotKind

    spacing, warp, yarn = 1.6, 0.8, 0.7
    radius = (warp + yarn) / 2
    left, right = 0.0, spacing

    def arc(centre, start_deg, end_deg):
        angles = np.radians(np.linspace(start_deg, end_deg, 20_001))
        return np.stack([centre + radius * np.cos(angles), radius * np.sin(angles)], axis=1)

    def length(points):
        return float(np.hypot(*np.diff(points, axis=0).T).sum())

    surface = radius + yarn / 2  # y is towards the weaver; the legs end level with the front of the yarn.
    # Symmetric: rise between the warps, back and outside of the left, front of both, outside and back of the right, rise.
    inner_left = np.array([[left + radius, surface], [left + radius, 0.0]])
    path = np.concatenate(
        [
            inner_left,
            arc(left, 0, -270),
            arc(right, 90, -180),
            np.array([[right - radius, 0.0], [right - radius, surface]]),
        ]
    )
    assert material.knot_collar_mm(KnotKind.SYMMETRIC, spacing, warp, yarn) == pytest.approx(
        length(path), rel=1e-6
    )
    # Asymmetric: down outside the left warp, half a turn behind it, across to the right one, once round it, and up.
    path = np.concatenate(
        [
            np.array([[left - radius, surface], [left - radius, 0.0]]),
            arc(left, 180, 360),
            arc(right, 180, -180),
            np.array([[right - radius, 0.0], [right - radius, surface]]),
        ]
    )
    assert material.knot_collar_mm(KnotKind.ASYMMETRIC, spacing, warp, yarn) == pytest.approx(
        length(path), rel=1e-6
    )
