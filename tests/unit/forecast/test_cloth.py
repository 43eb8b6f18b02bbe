"""The row height from measured lengths, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tracker.domain.rug import Hold, Measurement
from tracker.forecast.answers import LengthWarning
from tracker.forecast.cloth import density_to_mend, final_length, moved, read_cloth, rows_for_length
from tracker.forecast.outlook import outlook
from tracker.forecast.stats import kalman_predict

from .books import BOOK, PLAN, START, woven


def measured(row: int, length_cm: float) -> Measurement:
    """Return one measurement."""
    return Measurement(id=f"m{row}", rug_id="r", day=START, row=row, length_cm=length_cm)


def test_without_a_measurement_the_length_is_the_planned_one():
    cloth = read_cloth(PLAN, (), 100)
    mean, sd = final_length(cloth, 360)
    assert mean == pytest.approx(90.0)
    assert sd == pytest.approx(90.0 * 0.05, rel=0.1)  # the prior's 5 %, and a little drift


def test_a_loose_beat_makes_the_rug_longer():
    # 200 rows measure 55 cm where 50 were planned: 2.75 mm a row, 360 rows make 99 cm.
    cloth = read_cloth(PLAN, (measured(100, 27.5), measured(200, 55.0)), 200)
    mean, sd = final_length(cloth, 360)
    assert mean == pytest.approx(99.0, abs=0.6)
    assert sd < 1.5
    assert cloth.rows_per_10cm == pytest.approx(36.4, abs=0.4)


def test_holding_the_length_changes_the_number_of_rows():
    cloth = read_cloth(PLAN, (measured(100, 27.5), measured(200, 55.0)), 200)
    # 35 cm are left at 2.75 mm a row: 127.3 rows, so 328 in all.
    assert rows_for_length(cloth, 90.0) == pytest.approx(328, abs=3)
    # Or keep 360 rows and beat 160 rows into 35 cm: 45.7 in 10 cm.
    assert density_to_mend(cloth, 360, 90.0) == pytest.approx(45.7, abs=0.4)


def test_the_weaver_is_warned_while_the_beat_can_mend_it():
    book = replace(woven(BOOK, [5] * 20), measurements=(measured(50, 13.1), measured(100, 26.2)))
    answers = outlook(book, book.sessions[-1].day)
    assert answers.final_length_cm == pytest.approx(94.3, abs=0.8)
    warning = answers.length_warning
    assert warning.off_cm == pytest.approx(4.3, abs=0.8)
    assert warning.beat_can_mend
    # 260 rows into 63.8 cm
    assert warning.rows_per_10cm == pytest.approx(40.75, abs=0.06)


def test_a_rug_on_measure_is_not_warned_about():
    book = replace(woven(BOOK, [5] * 20), measurements=(measured(50, 12.5), measured(100, 25.1)))
    answers = outlook(book, book.sessions[-1].day)
    assert answers.length_warning is None
    assert answers.final_length_range_cm is not None
    low, high = answers.final_length_range_cm
    assert low < 90.0 < high


def test_rows_yarn_and_date_follow_the_length_when_it_is_held():
    plan = replace(PLAN, hold=Hold.LENGTH)
    marks = (measured(50, 13.75), measured(100, 27.5))
    kept = outlook(replace(woven(BOOK, [5] * 20), measurements=marks), START.replace(month=3))
    held = outlook(
        replace(woven(replace(BOOK, plan=plan), [5] * 20), measurements=marks), START.replace(month=3)
    )
    assert kept.where.rows == 360
    assert held.where.rows == pytest.approx(327, abs=4)
    assert held.finish is not None
    assert kept.finish is not None
    assert held.finish.middle < kept.finish.middle
    needed = {a.yarn_id: a.needed_g for a in kept.yarns}
    assert all(a.needed_g < needed[a.yarn_id] for a in held.yarns)


def test_rows_woven_at_once_or_one_after_the_other_lead_to_the_same_spread():
    for first, second in ((1, 1), (30, 70), (99, 1)):
        mean, spread = np.array([3.0, 0.2]), np.diag([0.5, 0.01])
        once = kalman_predict(mean, spread, *moved(first + second, 1e-6))
        half = kalman_predict(mean, spread, *moved(first, 1e-6))
        twice = kalman_predict(*half, *moved(second, 1e-6))
        assert np.allclose(once[0], twice[0], rtol=1e-12)
        assert np.allclose(once[1], twice[1], rtol=1e-12)
    assert np.array_equal(moved(0, 1e-6)[0], np.eye(2))
    assert not moved(0, 1e-6)[1].any()


def test_in_a_hundred_rows_the_beat_wanders_by_a_hundredth():
    # Believed of the row height beforehand: 5 % of 2.5 mm; in a hundred rows 1 % comes to it.
    cloth = read_cloth(PLAN, (), 100)
    assert cloth.covariance[1, 1] == pytest.approx((0.05 * 0.25) ** 2 + (0.01 * 0.25) ** 2)
    assert (cloth.row, cloth.measured, cloth.rows_per_10cm) == (100, 0, pytest.approx(40.0))


def test_only_lengths_of_rows_on_the_loom_are_read_whatever_their_order():
    read = (measured(100, 27.5), measured(50, 13.75))
    cloth = read_cloth(PLAN, read, 100)
    assert cloth.measured == 2
    assert read_cloth(PLAN, (*read, measured(101, 90.0), measured(60, 0.0)), 100).measured == 2
    for other in (read[::-1], (*read, measured(101, 90.0), measured(60, 0.0))):
        assert np.allclose(read_cloth(PLAN, other, 100).mean, cloth.mean)
    # All but the first row came out again: a length to that row still counts.
    assert read_cloth(PLAN, (measured(1, 0.3),), 0).measured == 1
    assert read_cloth(PLAN, (measured(2, 0.6),), 0).measured == 0


def test_a_coarser_tape_is_believed_less():
    # 100 rows of 2.5 mm were planned; 27.5 cm is read off tapes marked every 5 mm and every 5 cm.
    fine, coarse = (
        read_cloth(PLAN, (replace(measured(100, 27.5), resolution_cm=step),), 100) for step in (0.5, 5.0)
    )
    assert 25.0 < coarse.mean[0] < fine.mean[0] < 27.5
    assert fine.covariance[0, 0] < coarse.covariance[0, 0]
    # By hand: believed 25 cm within 5 % and what the beat wandered, read within 2.5 mm, half a step of the tape and 0.4 %.
    believed = (0.05 * 25) ** 2 + (0.01 * 0.25) ** 2 / 100 * 100**3 / 3 + 1e-8
    for step, cloth in ((0.5, fine), (5.0, coarse)):
        reading = 0.25**2 + step**2 / 12 + (0.004 * 27.5) ** 2
        assert cloth.mean[0] == pytest.approx(25 + 2.5 * believed / (believed + reading), rel=1e-6)
        assert cloth.covariance[0, 0] == pytest.approx(believed * reading / (believed + reading), rel=1e-6)


def test_what_reaches_the_length_already_needs_no_row_more_and_nothing_can_mend_it():
    cloth = read_cloth(PLAN, (measured(200, 91.0),), 200)
    assert rows_for_length(cloth, 50.0) == 200
    assert density_to_mend(cloth, 360, 50.0) is None
    assert density_to_mend(cloth, 200, 95.0) is None
    assert final_length(cloth, 100) == pytest.approx(final_length(cloth, 200))
    # 90 cm at exactly 2.5 mm are 360 rows, not one more.
    assert rows_for_length(read_cloth(PLAN, (), 100), 90.0) == 360


def test_a_tight_beat_is_warned_of_with_what_mends_it_and_where_the_beat_cannot():
    def warned(*lengths_cm: float) -> LengthWarning:
        marks = tuple(measured(50 * place, long) for place, long in enumerate(lengths_cm, 1))
        book = replace(woven(BOOK, [5] * (10 * len(lengths_cm))), measurements=marks)
        warning = outlook(book, book.sessions[-1].day).length_warning
        assert warning is not None
        return warning

    # 100 rows measure 23.8 cm where 25 were planned: 85.7 cm in all; 260 rows belong into the 66.2 cm that are left.
    tight = warned(11.9, 23.8)
    assert tight.off_cm == pytest.approx(-4.3, abs=0.8)
    assert (tight.rows_per_10cm, tight.beat_can_mend) == (pytest.approx(39.25, abs=0.08), True)
    # 200 rows a quarter longer than planned: 160 rows in 27.6 cm would ask for more than 15 % of the beat.
    loose = warned(15.6, 31.2, 46.8, 62.4)
    assert loose.off_cm == pytest.approx(22.3, abs=1.5)
    assert (loose.rows_per_10cm, loose.beat_can_mend) == (pytest.approx(58.0, abs=1.0), False)
