"""How width, sides and lean go on along the rug, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracker.domain.material import cloth_width_cm
from tracker.domain.rug import Measurement
from tracker.forecast.outlook import outlook
from tracker.forecast.shape import (
    Reading,
    follow,
    foot_width_cm,
    leans,
    read_shape,
    reading_variance_cm2,
    sides_ahead,
    widths,
)

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


def test_a_width_in_the_first_ten_centimetres_is_the_foot_and_of_several_the_lowest():
    # 40 rows in 10 cm.
    assert foot_width_cm(PLAN, (measured(40, width_cm=61.0),)) == 61.0
    assert foot_width_cm(PLAN, (measured(41, width_cm=61.0),)) == WIDE
    assert foot_width_cm(PLAN, (measured(30, width_cm=60.5), measured(5, width_cm=61.0))) == 61.0


def test_each_reading_is_as_sure_as_hand_and_tape_are():
    # The hand errs by 1 mm, sag and pull by 1 mm in a metre (no source), a tape marked every 5 mm by 5 / sqrt(12); two sides differ by both.
    def of(length_cm: float) -> float:
        return 0.1**2 + 0.5**2 / 12 + (0.001 * length_cm) ** 2

    assert reading_variance_cm2(200.0, 0.5) == pytest.approx(of(200))
    (width,) = widths((measured(50, width_cm=60.0), measured(60, left_cm=12.0)))
    assert (width.row, width.value_cm, width.variance_cm2) == (50, 60.0, pytest.approx(of(60)))
    (ahead,) = sides_ahead((measured(60, left_cm=12.0, right_cm=13.0), measured(70, left_cm=15.0)))
    assert (ahead.row, ahead.value_cm, ahead.variance_cm2) == (60, 1.0, pytest.approx(of(12) + of(13)))


def test_what_is_ahead_is_carried_from_the_last_reading_to_now_and_to_the_end():
    course = follow([Reading(50, 1.0, 1e-9)], 0.0, 0.0, 0.02, 100, 200)
    # Nothing but the slope made it: 1 cm in 50 rows, hardly less than 2 cm in 100 and 4 cm in 200.
    assert course.now_cm == pytest.approx(2.0, abs=0.2)
    assert course.end_cm == pytest.approx(4.0, abs=0.7)
    assert 0 < course.now_sd_cm < course.end_sd_cm
    done = follow([Reading(50, 1.0, 1e-9)], 0.0, 0.0, 0.02, 200, 200)
    assert (done.now_cm, done.now_sd_cm) == (done.end_cm, done.end_sd_cm)
    over = follow([Reading(50, 1.0, 1e-9)], 0.0, 0.0, 0.02, 210, 200)
    assert over.now_cm == over.end_cm
    assert follow([Reading(100, 1.0, 0.1)], 0.0, 0.0, 0.02, 100, 200) is not None
    assert follow([Reading(0, 1.0, 0.1)], 0.0, 0.0, 0.02, 100, 200) is None


def test_the_width_alone_or_the_sides_alone_are_enough_to_speak_of_shape():
    width = read_shape(PLAN, (measured(50, width_cm=WIDE),), 100, 360)
    assert (width.width.readings, width.ahead, width.lean, width.rows_left) == (1, None, None, 260)
    # 3 cm are the least tolerance of a side (TS 43); the plan is washed without shrinking.
    assert (width.planned_width_cm, width.allowed_width_cm) == (WIDE, 3.0)
    sides = read_shape(PLAN, (measured(50, left_cm=12.0, right_cm=12.5),), 100, 90)
    assert (sides.width, sides.ahead.readings, sides.rows_left) == (None, 1, 0)
    # As wide as planned at the foot within 1 %, and 3 % more or less at the end (our own choice).
    assert width.width.end_sd_cm == pytest.approx(0.03 * WIDE * 310 / 360, rel=0.35)
