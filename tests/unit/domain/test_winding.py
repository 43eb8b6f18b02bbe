"""Balls as they are wound; how many there are stands with the material plan and the pages of balls."""

from __future__ import annotations

import math

import pytest

from tracker.domain import defaults
from tracker.domain.winding import ball_diameter_mm


def test_a_ball_is_a_sphere_that_holds_its_yarn_and_the_air_between() -> None:
    # Wool of 1.31 g/cm3, by hand for a packing of 0.55: 200 g fill 277.6 cm3, a sphere of 4.05 cm radius.
    across = ball_diameter_mm(200.0, 1.31)
    assert float(defaults.BALL_PACKING) == 0.55
    assert across == pytest.approx(80.9, abs=0.1)
    sphere_cm3 = 4.0 / 3.0 * math.pi * (across / 20.0) ** 3
    assert sphere_cm3 * 1.31 * 0.55 == pytest.approx(200.0)
    # Eight times the yarn is twice as far across.
    assert ball_diameter_mm(1600.0, 1.31) == pytest.approx(2 * across)
