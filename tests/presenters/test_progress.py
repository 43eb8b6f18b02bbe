"""The charts' numbers by hand: past dates from the record as it stood, weeks, weekdays, pace, round scales."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.presenters.rugs import book, plan, session
from tests.presenters.test_finish import answers
from tests.today import TODAY
from tracker.domain.as_of import book_as_of
from tracker.domain.rug import AfterStep, DaysOff, Lot, RugStage, Weighing
from tracker.forecast.outlook import finish_foretold, outlook
from tracker.presenters import progress
from tracker.presenters.answer_words import first_day_ahead
from tracker.presenters.rates import other_week_words


def test_a_book_as_of_a_day_knows_nothing_later() -> None:
    rug = book(
        session(1, 5),
        session(9, 4),
        plan=plan(stage=RugStage.FINISHED, finished_day=date(2026, 11, 20)),
        lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=date(2026, 11, 6), mass_g=500),),
        weighings=(Weighing(id="w", rug_id="rug", yarn_id="red", day=date(2026, 11, 5), mass_g=300),),
        after_steps=(
            AfterStep(id="a", rug_id="rug", number=1, name="Wash", days=3, done_day=date(2026, 11, 22)),
        ),
    )
    then = book_as_of(rug, date(2026, 11, 5))
    assert then.rows_woven == 5
    assert then.lots == ()
    assert len(then.weighings) == 1
    assert (then.plan.stage, then.plan.finished_day) == (RugStage.ON_LOOM, None)
    assert then.after_steps[0].done_day is None
    assert rug.rows_woven == 9


def test_past_days_go_evenly_through_the_record_and_end_with_it() -> None:
    rug = book(*(session(n, 1) for n in range(1, 22)))
    days = progress.past_days(rug, TODAY, count=5)
    assert [d.day for d in days] == [2, 7, 12, 17, 22]
    assert progress.past_days(book(session(3, 1)), TODAY) == (date(2026, 11, 4),)


def test_each_past_date_is_foretold_from_the_book_of_its_day() -> None:
    rug = book(session(1, 5), session(2, 5), session(3, 5))
    asked = []

    def look(then, on):
        asked.append((on.day, then.rows_woven))
        return answers(middle=date(2026, 12, 30 - then.rows_woven)).finish

    past = progress.past_dates(rug, progress.past_days(rug, TODAY), look)
    assert asked == [(2, 5), (3, 10), (4, 15)]
    assert [p.middle.day for p in past] == [25, 20, 15]


def test_the_way_of_the_date_ends_in_todays_date_and_shows_what_the_pages_say_of_last_week() -> None:
    rug = book(*(session(n, 3) for n in range(1, 22)))
    # Days off that were entered after the last session move today's date; no evening before knew of them.
    off = DaysOff(id="o", rug_id="rug", first_day=date(2026, 12, 1), last_day=date(2026, 12, 20), born=10_000)
    rug = replace(rug, days_off=(off,))
    now = outlook(rug, TODAY)
    past = progress.past_dates(rug, progress.past_days(rug, TODAY, count=5), finish_foretold, now)
    assert now.finish is not None
    assert (past[-1].day, past[-1].middle) == (TODAY, now.finish.middle)
    last_week = next(point for point in past if point.day == TODAY - timedelta(days=7))
    moved = (past[-1].middle - last_week.middle).days
    assert now.basis.moved_by[0].startswith(f"{abs(moved)} day")


def test_the_way_of_the_date_is_said_and_read() -> None:
    past = [
        progress.PastDate(date(2026, 11, 2), date(2026, 12, 10), date(2026, 12, 20), date(2027, 1, 20)),
        progress.PastDate(date(2026, 11, 9), date(2026, 12, 12), date(2026, 12, 17), date(2026, 12, 30)),
    ]
    chart = progress.date_chart(past, date(2026, 12, 24))
    assert chart.summary == "3 days sooner than after the first session."
    assert chart.points[1].words == "On 9 Nov: 17 December, 12 Dec to 30 Dec"
    assert (chart.points[0].low, chart.points[0].high) == (
        date(2026, 12, 10).toordinal(),
        date(2027, 1, 20).toordinal(),
    )
    assert chart.guide == (date(2026, 12, 24).toordinal(), "target: 24 Dec")
    assert chart.y_range[0] < date(2026, 12, 10).toordinal()
    assert progress.date_chart(past[:1], None).hint


def test_weeks_without_a_session_count_as_nothing() -> None:
    # 2 and 4 November are in the week of Monday the 2nd, 18 November in that of the 16th
    rug = book(session(1, 5), session(3, 2), session(17, -3))
    chart = progress.weeks_chart(rug, TODAY)
    assert [(date.fromordinal(int(p.x)).day, p.y) for p in chart.points] == [
        (2, 7),
        (9, 0),
        (16, -3),
        (23, 0),
    ]
    assert chart.points[0].words == "Week of 2 Nov: 7 rows"
    assert chart.y_range[0] <= -3
    # the running week is not over, so it does not weigh: the middle of 7, 0 and -3
    assert chart.summary == "0 rows in a usual week."
    sunday = progress.weeks_chart(rug, TODAY, first_weekday=6)
    assert date.fromordinal(int(sunday.points[0].x)) == date(2026, 11, 1)


def test_a_finished_rugs_weeks_end_with_it() -> None:
    rug = book(session(1, 5), plan=plan(stage=RugStage.FINISHED, finished_day=date(2026, 11, 3)))
    assert len(progress.weeks_chart(rug, TODAY).points) == 1


def test_hours_by_weekday_are_means_over_the_weeks_of_the_record() -> None:
    # Mondays 2, 9 and 16 November: 3 h, nothing, 4.5 h; one Wednesday of the two in the record: 2 h
    rug = book(session(1, 5, 3.0), session(3, 2, 2.0), session(15, 4, 4.5), session(5, 1, None))
    chart = progress.hours_by_weekday(rug, answers())
    assert chart.points[0].y == pytest.approx(7.5 / 3)
    assert chart.points[2].y == pytest.approx(2.0 / 2)
    assert chart.points[4].y == 0
    assert chart.points[0].words == "Monday: 2.5 h on average (2 days woven)"
    # 9.5 h in 15 days; 61 h until 20 December, 25 days.
    assert chart.told == (
        "So far 4.4 h a week (planned: 15 h a week), most on Monday. "
        "61 h at 17.08 h a week, days off included: 3.6 weeks, until 20 December."
    )
    over = replace(answers(), finish=None, finished=True)
    assert (
        progress.hours_by_weekday(rug, over).summary == "4.4 h a week (planned: 15 h a week), most on Monday."
    )
    assert next(words for _at, words in chart.x_ticks) == "Mon"
    assert next(words for _at, words in progress.hours_by_weekday(rug, answers(), 6).x_ticks) == "Sun"


def test_pace_leaves_out_what_has_no_rows_or_no_hours() -> None:
    rug = book(
        session(1, 6, 3.0), session(2, -2, 1.0), session(3, 4, None), session(4, 2, 3.0), session(5, 4, 3.0)
    )
    chart = progress.pace(rug, answers())
    assert [p.y for p in chart.points] == [0.5, 1.5, 0.75]
    assert chart.points[1].words == "5 Nov: 1 h 30 min a row (2 rows in 3 h)"
    # of three points each middle is over what lies within two of it: all three
    assert [y for _x, y in chart.trend] == [0.75, 0.75, 0.75]


def test_hours_of_the_fewer_sessions_are_not_told_as_all_that_was_woven() -> None:
    # One evening of 16 h among four: "16 h in 1 day" read as all there was.
    rug = book(session(1, 10, None), session(2, 10, 16.0), session(3, 10, None), session(3, 5, None))
    chart = progress.hours_by_weekday(rug, outlook(rug, TODAY))
    assert chart.summary.startswith("So far 16 h in 1 of 4 sessions, the others without hours (planned:")
    timed = book(session(1, 10, None), session(2, 10, 6.0), session(4, 10, 4.0))
    assert progress.hours_by_weekday(timed, outlook(timed, TODAY)).summary.startswith("So far 10 h in 3 days")


def test_the_week_in_full() -> None:
    # Monday 2 to Sunday 8 November: 3 h and 1.5 h on the Monday, 4 h on the Friday, half an hour on the Sunday.
    rug = book(
        session(1, 5, 3.0), replace(session(1, 2, 1.5), id="again"), session(5, 6, 4.0), session(7, 1, 0.5)
    )
    chart = progress.hours_by_weekday(rug, answers())
    assert [(point.x, point.y, point.words, point.figure) for point in chart.points] == [
        (0.0, 4.5, "Monday: 4.5 h on average (1 day woven)", "4.5 h"),
        (1.0, 0.0, "Tuesday: 0 h on average", ""),
        (2.0, 0.0, "Wednesday: 0 h on average", ""),
        (3.0, 0.0, "Thursday: 0 h on average", ""),
        (4.0, 4.0, "Friday: 4 h on average (1 day woven)", "4 h"),
        (5.0, 0.0, "Saturday: 0 h on average", ""),
        (6.0, 0.5, "Sunday: 30 min on average (1 day woven)", "30 min"),
    ]
    assert (chart.title, chart.kind, chart.told, chart.x_range) == (
        "Hours by weekday", "bars",
        "So far 9 h a week (planned: 15 h a week), most on Monday. "
        "61 h at 17.08 h a week, days off included: 3.6 weeks, until 20 December.", (-0.5, 6.5),
    )  # fmt: skip
    assert chart.y_range == (0.0, pytest.approx(4.5 * 1.08))
    assert chart.y_ticks == ((0.0, "0"), (1.0, "1"), (2.0, "2"), (3.0, "3"), (4.0, "4"))
    assert [words for _at, words in chart.x_ticks] == ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    # From Sunday on the same days stand in another order: a Friday is the sixth of a week.
    sunday = progress.hours_by_weekday(rug, answers(), 6)
    assert [point.y for point in sunday.points] == [0.5, 4.5, 0.0, 0.0, 0.0, 4.0, 0.0]
    # Three days are no week: what was woven in them is said as it is.
    short = progress.hours_by_weekday(book(session(1, 5, 3.0), session(3, 2, 1.0)), answers())
    assert short.told.startswith("So far 4 h in 3 days (planned: 15 h a week), most on Monday. 61 h at ")


def test_why_the_weeks_to_come_have_other_rows_than_the_usual_one_is_said() -> None:
    """ "14.5 rows in a usual week" stood beside "about 27 rows a week", and nothing told why."""
    monday = date(2026, 9, 7)
    evenings = tuple(
        session(number, 5, 3.0, day=monday + timedelta(days=7 * (number // 2) + number % 2))
        for number in range(6)
    )
    rug = book(*evenings, plan=plan(rows=900, start_day=monday))
    last = monday + timedelta(days=20)
    told = outlook(rug, last)
    chart = progress.weeks_chart(rug, last, answers=told)
    assert chart.summary == "10 rows in a usual week."
    # About 14 rows a week, for a row is believed to take less than 36 minutes.
    assert re.fullmatch(
        r"To come, as the date counts: about 1\d rows a week\. It counts on 2\d\.\d min a row; so far it was 36 min\.",
        chart.more,
    ), chart.more

    def why(weeks: float, row_h: float, usual: float = 10.0, mean: float = 10.0) -> str:
        """Why, where the rows to come take so many weeks, and a row so many hours."""
        finish = replace(
            told.finish,
            hours_left=row_h * 870,
            middle=first_day_ahead(rug, told) + timedelta(days=round(7 * weeks)),
        )
        return other_week_words(rug, replace(told, finish=finish), usual, mean)

    # 870 rows in 87 weeks are ten a week, as usual: nothing is said.
    assert why(87, 0.6) == ""
    assert why(95, 0.6) == ""
    # Twice as many rows at the hours a row that they took: from twice the hours a week, 12 of them, where it was 8 so far.
    assert why(43.5, 0.6) == "It counts on 12.02 h at the loom a week; so far it was 7.9 h."
    assert why(174, 1.2).startswith("It counts on 1 h 12 min a row; so far it was ")
    assert why(43.5, 0.6, mean=22.0) == "Your weeks differ: on the average they had 22 rows."


def test_the_weeks_and_the_pace_in_full() -> None:
    rug = book(session(1, 5, 2.5), session(8, 1, 1.0), session(9, 2, 1.5), session(22, 4, 2.0))
    chart = progress.weeks_chart(rug, TODAY)
    assert (chart.title, chart.kind, chart.hint) == ("Rows by week", "bars", "")
    assert [(point.words, point.figure) for point in chart.points] == [
        ("Week of 2 Nov: 5 rows", "5"), ("Week of 9 Nov: 3 rows", "3"), ("Week of 16 Nov: 0 rows", "0"),
        ("Week of 23 Nov: 4 rows", "4"),
    ]  # fmt: skip
    # The week of today is not over: of 5, 3 and 0 the middle.
    assert chart.summary == "3 rows in a usual week."
    first = float(date(2026, 11, 2).toordinal())
    assert chart.x_range == (first - 3.5, first + 21 + 3.5)
    assert [words for _at, words in chart.x_ticks] == ["2 Nov", "9 Nov", "16 Nov", "23 Nov"]
    one = progress.weeks_chart(book(session(1, 1)), date(2026, 11, 3))
    assert (one.summary, one.points[0].words) == ("1 row so far.", "Week of 2 Nov: 1 row")
    many = progress.weeks_chart(book(session(1, 1), session(2, 1, day=date(2027, 1, 11))), date(2027, 1, 12))
    # Eleven weeks: every third is named, the last among them.
    assert [words for _at, words in many.x_ticks] == ["9 Nov", "30 Nov", "21 Dec", "11 Jan"]
    pace = progress.pace(rug, answers())
    assert (pace.title, pace.kind) == ("Time for a row", "dots")
    assert [point.words for point in pace.points] == [
        "2 Nov: 30 min a row (5 rows in 2.5 h)", "9 Nov: 1 h a row (1 row in 1 h)", "10 Nov: 45 min a row (2 rows in 1.5 h)",
        "23 Nov: 30 min a row (4 rows in 2 h)",
    ]  # fmt: skip
    # Four sessions with hours are the first few and the last few alike: 12 rows in 7 h; 61 h are left for 150 rows.
    # Two times in one card: which of them makes the date is said beside them.
    assert pace.told == (
        "35 min a row so far: 12 rows in 7 h. 150 rows to come at 24.4 min a row: 61 h. "
        "The date counts on these 24.4 min."
    )
    assert (pace.summary, pace.more) == (
        "35 min a row so far: 12 rows in 7 h.",
        "150 rows to come at 24.4 min a row: 61 h. The date counts on these 24.4 min.",
    )
    longer = progress.pace(book(*(session(n, 5, 2.5 + (n > 3)) for n in range(1, 8))), answers())
    assert longer.told.startswith("42 min a row lately; 30 min at the beginning. 150 rows to come at")
    quick = progress.pace(book(*(session(n, 10, 0.75 + n / 60) for n in range(1, 4))), answers())
    assert quick.summary.startswith("4.7 min a row so far: 30 rows in 2.35 h.")
    assert [words for _at, words in quick.y_ticks] == ["0 min", "2 min", "4 min"]
    assert pace.x_range == (first, float(date(2026, 11, 23).toordinal()))
    assert pace.y_ticks[:2] == ((0.0, "0 min"), (0.5, "30 min"))
    same_day = progress.pace(book(session(1, 5, 2.5), replace(session(1, 1, 1.0), id="b")), answers())
    assert same_day.x_range == (first, first + 1)


def test_a_way_that_did_not_move_and_the_day_it_ended_in() -> None:
    past = [
        progress.PastDate(
            date(2026, 11, 2 + 7 * at), date(2026, 12, 10), date(2026, 12, 20), date(2027, 1, 20)
        )
        for at in range(2)
    ]
    chart = progress.date_chart(past, None)
    assert (chart.title, chart.kind, chart.summary, chart.guide) == (
        "How the date has moved", "line", "The same day as after the first session.", None,
    )  # fmt: skip
    # 10 December to 20 January are 41 days; a sixteenth of them is left free below and above.
    assert chart.y_range == (date(2026, 12, 8).toordinal(), date(2027, 1, 22).toordinal())
    assert chart.x_range == (date(2026, 11, 2).toordinal(), date(2026, 11, 9).toordinal())
    woven = progress.date_chart(past, date(2026, 12, 24), date(2027, 3, 1))
    # From 20 December: the forecast of 9 November was for an earlier day still, and was wrong.
    assert woven.summary == "The last row came 71 days later than the first session foretold."
    just = progress.date_chart(past, None, date(2026, 12, 20))
    assert just.summary == "The last row came on the day that the first session foretold."
    assert woven.guide == (date(2027, 3, 1).toordinal(), "woven 1 Mar 2027")
    assert woven.y_range[1] == date(2027, 3, 1).toordinal() + 5
    later = [past[0], replace(past[1], middle=date(2026, 12, 21))]
    assert progress.date_chart(later, None).summary == "1 day later than after the first session."
    sooner = [past[0], replace(past[1], middle=date(2026, 12, 19))]
    assert progress.date_chart(sooner, None).summary == "1 day sooner than after the first session."


def test_scales_too_small_or_too_long_to_divide_still_have_ends() -> None:
    assert progress.even_ticks(0.3, 0.3) == (0.3,)
    assert progress.day_ticks(date(1700, 1, 1), date(2026, 1, 1)) == (date(1700, 1, 1), date(2026, 1, 1))
    # Sixty days are marked by Mondays, a day more by months.
    assert progress.day_ticks(date(2026, 9, 28), date(2026, 11, 27))[0] == date(2026, 9, 28)
    assert progress.day_ticks(date(2026, 9, 28), date(2026, 11, 28)) == (date(2026, 10, 1), date(2026, 11, 1))


@pytest.mark.parametrize(
    "chart",
    [
        progress.weeks_chart(book(), TODAY),
        progress.hours_by_weekday(book(), answers()),
        progress.pace(book(), answers()),
    ],
)
def test_an_empty_chart_says_what_it_waits_for(chart) -> None:
    assert chart.points == ()
    assert chart.hint


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (0, 10, (0, 5, 10)),
        (0, 23, (0, 5, 10, 15, 20)),
        (0, 0.9, (0, 0.2, 0.4, 0.6, 0.8)),
        (-3, 7, (-2, 0, 2, 4, 6)),
        (0, 26, (0, 10, 20)),
        (0, 1, (0, 0.5, 1)),
    ],
)
def test_scales_have_round_numbers(low, high, ticks) -> None:
    assert progress.even_ticks(low, high) == pytest.approx(ticks)


def test_days_along_an_axis_are_mondays_or_firsts_of_months() -> None:
    short = progress.day_ticks(date(2026, 11, 3), date(2026, 11, 25))
    assert [d.day for d in short] == [9, 16, 23]
    long = progress.day_ticks(date(2026, 1, 15), date(2026, 12, 20), 4)
    assert long == (date(2026, 4, 1), date(2026, 7, 1), date(2026, 10, 1))
    assert len(progress.day_ticks(date(2010, 1, 1), date(2026, 1, 1))) <= 5


def test_a_session_corrected_to_another_day_moves_with_it() -> None:
    rug = book(session(1, 5), replace(session(2, 3), day=date(2026, 11, 10)))
    assert [p.y for p in progress.weeks_chart(rug, date(2026, 11, 15)).points] == [5, 3]


def test_years_are_told_apart_along_an_axis() -> None:
    past = [
        progress.PastDate(date(2026, 11, 2), date(2027, 1, 10), date(2028, 2, 20), date(2029, 1, 20)),
        progress.PastDate(date(2026, 11, 9), date(2027, 2, 12), date(2028, 3, 17), date(2029, 3, 30)),
    ]
    labels = [words for _at, words in progress.date_chart(past, None).y_ticks]
    assert labels[:2] == ["Jan 2027", "Jul 2027"]
    assert len(set(labels)) == len(labels)


def test_days_off_entered_later_did_not_move_the_dates_foretold_before() -> None:
    away = DaysOff(
        id="away", rug_id="rug", first_day=date(2026, 11, 20), last_day=date(2026, 12, 27), born=15
    )
    before = tuple(session(number, 5) for number in range(1, 11))
    after = session(16, 5)
    without, heard = book(*before, after), book(*before, after, days_off=(away,))
    days = (before[-1].day, after.day)

    expected = progress.past_dates(without, days, finish_foretold)
    foretold = progress.past_dates(heard, days, finish_foretold)

    assert foretold[0] == expected[0]
    # 38 days away of which a week's work is owed: the last row comes weeks later from the day it was known.
    assert (foretold[1].middle - expected[1].middle).days > 28
