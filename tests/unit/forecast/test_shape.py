"""How width, sides and lean go on along the rug, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracker.domain.material import cloth_width_cm
from tracker.domain.rug import Measurement
from tracker.forecast.outlook import outlook
from tracker.forecast.shape import Reading, follow, foot_width_cm, leans, read_shape, sides_ahead

from .books import BOOK, PLAN, START, woven


def measured(row: int, **readings: float) -> Measurement:
    return Measurement(id=f"m{row}", rug_id="r", day=START, row=row, **{"length_cm": 0.0, **readings})


WIDE = cloth_width_cm(PLAN)


def test_nothing_is_said_until_a_width_or_both_sides_are_measured():
    assert read_shape(PLAN, (measured(50, length_cm=12.5),), 100, 360) is None
    assert read_shape(PLAN, (measured(50, left_cm=12.5),), 100, 360) is None


def test_a_side_that_gains_evenly_is_foreseen_to_the_last_row():
    # 1 cm ahead at row 60, 2 at row 120, 3 at row 180: 6 cm at row 360. Read ten times as finely as a hand can, the
    # readings outweigh what was believed before.
    readings = [Reading(row, row / 60, 1e-4) for row in (60, 120, 180)]
    course = follow(readings, 0.0, 0.0, 0.02, 180, 360)
    assert course.now_cm == pytest.approx(3.0, abs=0.03)
    assert course.end_cm == pytest.approx(6.0, abs=0.15)
    assert course.end_sd_cm > course.now_sd_cm
    assert course.readings == 3


def test_a_single_coarse_reading_is_believed_in_part():
    # Spread before at row 100: 0.01 * 100 = 1 cm and the drift, 0.01^2 / 360 * 100^3 / 3 = 0.0926 cm^2; reading: 1 cm^2.
    # Of 2 cm read, 1.0926 / 2.0926 * 2 = 1.0443 is believed.
    course = follow([Reading(100, 2.0, 1.0)], 0.0, 0.0, 0.01, 100, 360)
    assert course.now_cm == pytest.approx(2 * 1.092593 / 2.092593, abs=1e-4)


def test_readings_past_the_rows_on_the_loom_are_left_out():
    assert follow([Reading(120, 2.0, 0.1)], 0.0, 0.0, 0.01, 100, 360) is None


def test_a_cloth_corrected_since_no_longer_runs_away():
    grows = follow([Reading(60, 1.0, 0.01), Reading(120, 2.0, 0.01)], 0.0, 0.0, 0.02, 180, 360)
    mended = follow(
        [Reading(60, 1.0, 0.01), Reading(120, 2.0, 0.01), Reading(180, 1.6, 0.01)], 0.0, 0.0, 0.02, 180, 360
    )
    assert grows.end_cm > 5.0
    assert mended.end_cm < 1.7


def test_the_foot_is_what_was_measured_near_the_first_row_else_the_plan():
    assert foot_width_cm(PLAN, ()) == WIDE
    low, high = measured(20, width_cm=WIDE - 1), measured(200, width_cm=WIDE - 4)
    assert foot_width_cm(PLAN, (high,)) == WIDE
    assert foot_width_cm(PLAN, (high, low)) == WIDE - 1


def test_only_whole_readings_tell_of_sides_and_lean():
    sides = measured(100, left_cm=30.0, right_cm=31.0)
    whole = measured(140, left_cm=40.0, right_cm=40.0, rising_cm=WIDE + 8, falling_cm=WIDE + 8)
    assert [item.value_cm for item in sides_ahead((sides, whole))] == [1.0, 0.0]
    assert [item.value_cm for item in leans(PLAN, (sides, whole))] == [0.0]


def test_the_answers_tell_the_shape_beside_the_length():
    book = replace(
        woven(BOOK, [5] * 20),
        measurements=(measured(100, width_cm=WIDE, left_cm=25.0, right_cm=27.0, length_cm=26.0),),
    )
    shape = outlook(book, book.sessions[-1].day).shape
    assert shape.rows_left == 260
    assert shape.width.now_cm == pytest.approx(WIDE, abs=0.1)
    assert 1.0 < shape.ahead.now_cm < 2.0
    assert shape.lean is None
    assert outlook(replace(book, measurements=()), book.sessions[-1].day).shape is None
