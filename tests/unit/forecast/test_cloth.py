"""The row height from measured lengths, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracker.domain.rug import Hold, Measurement
from tracker.forecast.cloth import density_to_mend, final_length, read_cloth, rows_for_length
from tracker.forecast.outlook import outlook

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
    assert "too long" in answers.length_warning
    # 260 rows into 63.8 cm
    assert "40.8" in answers.length_warning or "40.7" in answers.length_warning


def test_a_rug_on_measure_is_not_warned_about():
    book = replace(woven(BOOK, [5] * 20), measurements=(measured(50, 12.5), measured(100, 25.1)))
    answers = outlook(book, book.sessions[-1].day)
    assert answers.length_warning == ""
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
