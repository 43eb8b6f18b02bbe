"""Hours of practice before each row, and what a row costs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tracker.domain.work import PaceBelief, hours_before_rows, hours_of_rows, planned_team


def two_hours_a_row(hours_woven: float) -> PaceBelief:
    """A belief that is sure of two hours for a plain row, with nothing left to learn."""
    return PaceBelief(
        chance=np.array([1.0]),
        level=np.array([math.log(2.0)]),
        change_knots=np.array([0.0]),
        excess=np.array([0.0]),
        learn_hours=np.array([30.0]),
        team_power=np.array([1.0]),
        hours_woven=hours_woven,
        gained_share=1.0,
    )


def test_before_a_row_lie_the_hours_of_the_rows_below_it_longer_where_colours_change() -> None:
    before = hours_before_rows(two_hours_a_row(10.0), np.array([0.5, 0.0, 1.0]))
    # 10 h so far; the first row takes 2 h and half as much again, the second 2 h.
    assert before.tolist() == pytest.approx([10.0, 13.0, 15.0])


def test_no_rows_take_no_time() -> None:
    assert hours_of_rows(two_hours_a_row(0.0), np.array([])) == 0.0
    assert hours_of_rows(two_hours_a_row(0.0), np.array([0.0, 0.0])) == pytest.approx(4.0)


def test_a_planned_team_lacks_a_hand_one_month_in_three_and_one_weaver_never() -> None:
    assert planned_team(0) == planned_team(1) == (1.0,)
    assert planned_team(3) == (3.0, 2.0, 3.0)
