"""What the answers say they rest on, what moved them, and that nothing jumps."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from tracker.domain.rug import AfterStep, RugBook
from tracker.forecast.answers import FinishAnswer
from tracker.forecast.outlook import outlook

from .books import BOOK, PLAN, START, striped, weekdays, woven


def finish_of(book: RugBook) -> FinishAnswer:
    """Return the finish on the day of the last session (or the start)."""
    finish = outlook(book, book.sessions[-1].day if book.sessions else START).finish
    assert finish is not None
    return finish


def test_missed_evenings_are_named_as_what_moved_the_date():
    days = weekdays(40)
    week = days[-1] - timedelta(days=6)
    kept = [day for day in days if day < week or day.weekday() in (3, 4)]
    book = woven(BOOK, [5] * len(kept), 4.0, kept)
    moved = outlook(book, kept[-1]).basis.moved_by
    assert len(moved) == 1
    assert "later than last week" in moved[0]
    assert "3 evenings missed" in moved[0]


def test_slow_rows_are_named_as_what_moved_the_date():
    book = woven(BOOK, [5] * 30 + [3] * 5)
    answers = outlook(book, book.sessions[-1].day)
    assert "later than last week" in answers.basis.moved_by[0]
    assert "rows slower than expected" in answers.basis.moved_by[0]
    assert "the last 3 were slow" in answers.basis.rests_on[0]


def test_a_week_as_expected_moves_next_to_nothing():
    book = woven(BOOK, [5] * 40)
    sentence = outlook(book, book.sessions[-1].day).basis.moved_by[0]
    assert "evenings missed" not in sentence
    assert "slower" not in sentence


def test_missing_and_odd_hours_are_told():
    hours: list[float | None] = [4.0] * 30
    hours[3], hours[10] = None, 15.0
    book = woven(BOOK, [5] * 30, hours)
    text = " ".join(outlook(book, book.sessions[-1].day).basis.rests_on)
    assert "1 session has no hours" in text
    assert "timer" in text


def test_no_one_two_and_three_sessions_stay_sensible_and_the_range_narrows():
    # The plan's own pace of 800 knots an hour and 20 hours a week: 86,400 knots take 108 hours, 5.4 weeks.
    widths = []
    for count in (0, 1, 2, 3, 20):
        finish = finish_of(woven(BOOK, [13] * count))
        days = (finish.middle - START).days
        assert 30 <= days <= 75
        widths.append((finish.late - finish.early).days)
    assert widths[0] >= widths[3] > widths[4]
    assert widths[0] > 15


@pytest.mark.parametrize("count", [15, 25, 40])
def test_one_more_ordinary_evening_moves_the_date_by_little(count: int):
    before, after = finish_of(woven(BOOK, [5] * count)), finish_of(woven(BOOK, [5] * (count + 1)))
    assert abs((after.middle - before.middle).days) <= 3


def test_days_without_weaving_move_the_date_step_by_step():
    book = woven(BOOK, [5] * 30)
    friday = book.sessions[-1].day
    dates = [outlook(book, friday + timedelta(days=d)).finish for d in range(8)]
    middles = [f.middle for f in dates if f is not None]
    assert len(middles) == 8
    # The week-end says nothing; two days missed by somebody who never missed one begin to look like an absence.
    assert (middles[3] - middles[0]).days <= 1
    assert all(-1 <= (b - a).days <= 9 for a, b in pairwise(middles))
    # After a week: the week itself, and about as long again until an absence ends on average.
    assert 7 <= (middles[7] - middles[0]).days <= 21


def test_marks_bands_and_ready_day_follow_from_the_futures():
    steps = (
        AfterStep(id="a", rug_id="r", number=1, name="wash", days=4),
        AfterStep(id="b", rug_id="r", number=2, name="shear", days=1.5),
        AfterStep(id="c", rug_id="r", number=3, name="cut off", days=3, done_day=START),
    )
    finish = finish_of(replace(woven(BOOK, [5] * 20), after_steps=steps))
    assert finish.ready is not None
    assert (finish.ready - finish.middle).days == 6  # 4 + 1.5 days, begun ones counted whole
    assert finish.marks[0][:2] == ("middle", 180)
    rows = [band[0] for band in finish.bands]
    assert rows == sorted(rows)
    assert rows[-1] == 360
    assert finish.bands[-1][1:] == (finish.early, finish.middle, finish.late)
    for column in (1, 2, 3):
        dates = [band[column] for band in finish.bands]
        assert dates == sorted(dates)


def test_the_chance_of_the_wish_grows_with_time_and_the_rows_a_day_fall():
    chances, rows_a_day = [], []
    for days in (60, 100, 140, 300):
        plan = replace(PLAN, wished_day=START + timedelta(days=days))
        finish = finish_of(woven(replace(BOOK, plan=plan), [5] * 20))
        assert finish.chance_of_wish is not None
        assert finish.rows_a_day_for_wish is not None
        chances.append(finish.chance_of_wish)
        rows_a_day.append(finish.rows_a_day_for_wish)
    assert chances == sorted(chances)
    assert chances[0] < 0.05
    assert chances[-1] > 0.95
    assert rows_a_day == sorted(rows_a_day, reverse=True)
    # Monday 2 February to day 60, Friday 6 March: 25 planned days for 260 rows.
    assert rows_a_day[0] == pytest.approx(260 / 25)


def test_the_borders_and_the_medallion_are_found_in_the_cartoon():
    cells = striped().cells.copy()
    cells[:] = 0
    cells[:40] = 1
    cells[320:] = 1
    cells[130:230, 60:180] = 1
    cartoon = replace(striped(), cells=cells)
    names = {mark[0]: mark[1] for mark in finish_of(woven(replace(BOOK, cartoon=cartoon), [5] * 4)).marks}
    assert names["end of the border"] == pytest.approx(40, abs=2)
    assert names["start of the last border"] == pytest.approx(320, abs=2)
    assert names["start of the medallion"] == pytest.approx(130, abs=2)
    assert names["end of the medallion"] == pytest.approx(230, abs=2)
