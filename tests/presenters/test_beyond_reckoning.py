"""A day so far ahead that it was cut off is told as no day, wherever the last row is told."""

from __future__ import annotations

from datetime import UTC, datetime

from tests.presenters.rugs import book, plan
from tests.today import TODAY
from tracker.forecast.outlook import outlook
from tracker.presenters.answer_words import day_range, is_beyond, last_row_about, reckoned_day
from tracker.presenters.home import build_home_state
from tracker.reports.calendar_file import calendar_file
from tracker.reports.text_form import as_text, as_values

SLOW = book(plan=plan(hours_per_week=1.0, knots_per_hour=10.0, rows=20_000, knots_across=100))


def test_three_hundred_years_of_work_are_given_no_day() -> None:
    answers = outlook(SLOW, TODAY)
    assert answers.finish is not None
    middle, early, late = answers.finish.middle, answers.finish.early, answers.finish.late
    assert is_beyond(middle, TODAY)
    assert reckoned_day(middle, TODAY) == f"later than {TODAY.year + 79}"
    assert day_range(early, late, TODAY) == "too far off to say"
    assert last_row_about(middle, TODAY) == f"last row later than {TODAY.year + 79}"
    assert day_range(TODAY, late, TODAY).endswith("at the earliest")
    said = repr(build_home_state(SLOW, answers))
    assert f"later than {TODAY.year + 79}" in said
    assert str(middle.year) not in said
    assert f"later than {TODAY.year + 79}" in as_text(SLOW, answers)
    assert str(middle.year) not in as_text(SLOW, answers)
    assert as_values(SLOW, answers)["finish"]["beyond_reckoning"] is True
    calendar = calendar_file(SLOW, answers, datetime(2026, 11, 27, tzinfo=UTC)).decode()
    assert f"DTSTART;VALUE=DATE:{middle:%Y%m%d}" not in calendar
    assert str(middle.year) not in calendar


def test_an_ordinary_day_is_told_as_it_was() -> None:
    rug = book()
    answers = outlook(rug, TODAY)
    assert answers.finish is not None
    assert "later than" not in as_text(rug, answers)
    assert as_values(rug, answers)["finish"]["beyond_reckoning"] is False
    assert (
        f"{answers.finish.middle:%Y%m%d}"
        in calendar_file(rug, answers, datetime(2026, 11, 27, tzinfo=UTC)).decode()
    )
