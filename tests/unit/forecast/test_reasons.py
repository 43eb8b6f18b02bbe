"""What the answers say they rest on, what moved them, and that nothing jumps."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

from tracker.domain.rug import AfterStep, DaysOff, Hold, Measurement, RugBook, RugStage, Session
from tracker.forecast.answers import EarlierDate, FinishAnswer
from tracker.forecast.lessons import lessons_of
from tracker.forecast.outlook import _reckoned, outlook
from tracker.forecast.reasons import last_rug_words
from tracker.forecast.reckon import reckon
from tracker.forecast.thresholds import MOVED_SINCE_DAYS

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


def test_a_second_weaver_who_came_once_is_told_on_how_many_the_date_counts():
    def with_teams(*teams: tuple[str, ...], planned: int = 1) -> str:
        book = woven(replace(BOOK, plan=replace(PLAN, weavers_planned=planned)), [5] * len(teams))
        sessions = tuple(replace(s, weavers=who) for s, who in zip(book.sessions, teams, strict=True))
        return " ".join(outlook(replace(book, sessions=sessions), sessions[-1].day).basis.rests_on)

    alone, both = ("ann",), ("ann", "bo")
    said = [with_teams(*[alone] * 24, *[both] * evenings) for evenings in (1, 6)]
    counted = [re.search(r"2 weavers sat at the loom. The date counts on ([\d.]+),", words) for words in said]
    once, again = (float(match.group(1)) for match in counted if match is not None)
    assert 1.0 <= once < again < 2.0, "who comes again counts for more"
    assert "weaver" not in with_teams(*[both] * 20, planned=2)
    assert "weaver" not in with_teams(*[alone] * 20)
    assert "The plan has 2 weavers. The date counts on 1, as" in with_teams(*[alone] * 20, planned=2)
    # Of a session that names nobody no number is told.
    assert "In the last session" not in with_teams(*[alone, both] * 12, ())
    # Where nobody is named, nothing is known of who comes.
    assert "weaver" not in with_teams(*[()] * 20, planned=2)


def test_why_a_row_ahead_takes_other_time_than_the_last_ones_is_said_in_one_sentence():
    def why(book: RugBook) -> str:
        return outlook(book, book.sessions[-1].day).basis.row_ahead

    # As ever, and nothing yet: nothing is to be explained.
    assert why(woven(BOOK, [5] * 40)) == ""
    assert outlook(BOOK, START).basis.row_ahead == ""
    # Many changes of colour in the rows woven, none in those to come; and the other way round.
    busy, plain = striped().cells[:180], np.zeros((180, 240), dtype=np.uint8)
    for cells, rows, said in (
        ((busy, plain), [5] * 36, "The rows ahead have fewer colour changes than the last ones."),
        ((plain, busy), [5] * 36, "The rows ahead have more colour changes than the last ones."),
    ):
        cartoon = replace(striped(), cells=np.concatenate(cells))
        assert why(woven(replace(BOOK, cartoon=cartoon), rows)) == said
    # A new design: hours a row fall from evening to evening.
    assert (
        why(woven(BOOK, [5] * 5, [8.0, 6.87, 6.05, 5.47, 5.05]))
        == "A design goes quicker the longer it is woven."
    )
    slow = why(woven(BOOK, [5] * 40, [4.0] * 36 + [7.0] * 4))
    assert slow == "The last rows went slower than your others; the date does not count on that alone."
    fast = why(woven(BOOK, [5] * 40, [4.0] * 36 + [2.4] * 4))
    assert fast == "The last rows went quicker than your others; the date does not count on that alone."


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


def test_of_several_figures_each_end_is_told_and_none_is_called_a_medallion():
    cells = np.zeros_like(striped().cells)
    for first in (60, 160, 260):
        cells[first : first + 50, 80:160] = 1
    names = {
        mark[0]: mark[1] for mark in finish_of(woven(replace(BOOK, cartoon=replace(striped(), cells=cells)), [5] * 4)).marks
    }  # fmt: skip
    assert {name: row for name, row in names.items() if "figure" in name} == {
        "end of figure 1 of 3": 110, "end of figure 2 of 3": 210, "end of figure 3 of 3": 310,
    }  # fmt: skip
    assert not any("medallion" in name for name in names)


def moved_of(book: RugBook, on: date | None = None) -> str:
    (sentence,) = outlook(book, on or book.sessions[-1].day).basis.moved_by
    return sentence


def rests_of(book: RugBook, on: date | None = None, **more) -> str:
    return " ".join(outlook(book, on or book.sessions[-1].day, **more).basis.rests_on)


def test_fast_rows_are_named_as_what_brought_the_date_nearer():
    book = woven(BOOK, [5] * 30 + [9] * 5)
    assert "sooner than last week" in moved_of(book)
    assert "rows faster than expected" in moved_of(book)
    assert "From 35 sessions; the last 3 were fast." in rests_of(book)


def test_three_rows_in_four_as_usual_are_neither_slow_nor_fast():
    assert "From 35 sessions." in rests_of(woven(BOOK, [5] * 35))
    # Five sessions are too few to call the last three of them anything.
    assert "From 5 sessions." in rests_of(woven(BOOK, [8, 8, 4, 4, 4]))


def drawn() -> RugBook:
    """A border at either end and a medallion of 100 rows in a plain field, as many changes in every row."""
    cells = np.zeros((360, 240), dtype=np.uint8)
    for first, last in ((0, 60), (130, 230), (300, 360)):
        cells[first:last, 60:180] = 1
    return replace(BOOK, cartoon=replace(striped(), cells=cells))


@pytest.mark.parametrize(
    ("before", "part"),
    [(40, "border"), (100, "rows"), (190, "medallion"), (260, "rows"), (315, "border")],
)
def test_it_is_said_in_which_part_of_the_design_it_went_slower_or_faster(before: int, part: str):
    on_loom = before // 5
    slow = woven(drawn(), [5] * (on_loom - 5) + [3] * 5)
    fast = woven(drawn(), [5] * (on_loom - 5) + [8] * 5)
    assert f"{part} slower than expected" in moved_of(slow)
    assert f"{part} faster than expected" in moved_of(fast)


def test_an_evening_of_unpicking_is_told_as_no_session_of_weaving():
    book = woven(BOOK, [5, 5, 5, 5])
    out = Session(
        id="u", rug_id="r", day=book.sessions[-1].day + timedelta(days=1), rows=-3, hours=1.0, born=990
    )
    unpicked = replace(book, sessions=(*book.sessions, out))
    answers = outlook(unpicked, out.day)
    assert rests_of(unpicked).startswith("From 4 sessions")
    assert answers.basis.sessions == lessons_of(unpicked).sessions == 4
    # Rows that came out in no said time are no session without hours: the diary shows none.
    some = replace(book.sessions[0], hours=None)
    untimed = replace(book, sessions=(some, *book.sessions[1:], replace(out, hours=None)))
    assert untimed.sessions_without_hours == 1
    assert "1 session has no hours. " in rests_of(untimed)
    # An hour at which nothing was gained is one all the same.
    empty = replace(book, sessions=(*book.sessions, replace(out, rows=0)))
    assert outlook(empty, out.day).basis.sessions == 5


def test_rows_unpicked_are_named_as_what_moved_the_date():
    """As many evenings as ever, but on one of them six evenings' rows came out: no slow rows, and no evening missed."""
    days = weekdays(40)
    book = woven(BOOK, [5] * 40, 4.0, days)
    out = replace(book.sessions[-2], rows=-30)
    told = moved_of(replace(book, sessions=(*book.sessions[:-2], out, book.sessions[-1])))
    assert "later than last week: 30 rows unpicked" in told
    assert "slower" not in told
    assert "missed" not in told
    assert "unpicked" not in moved_of(book)


def test_evenings_beyond_the_plan_bring_the_date_nearer():
    days = weekdays(30)
    weekend = [days[-1] - timedelta(days=6), days[-1] - timedelta(days=5)]
    book = woven(BOOK, [5] * 32, 4.0, sorted([*days, *weekend]))
    assert "sooner than last week" in moved_of(book)
    assert "2 evenings more than planned" in moved_of(book)


def test_short_and_long_evenings_are_named_where_none_was_missed():
    assert "shorter evenings than usual" in moved_of(woven(BOOK, [10] * 25 + [7] * 5, [4.0] * 25 + [2.8] * 5))
    assert "longer evenings than usual" in moved_of(woven(BOOK, [10] * 25 + [13] * 5, [4.0] * 25 + [5.2] * 5))


def test_nothing_entered_for_ten_days_is_said():
    book = woven(BOOK, [5] * 20)
    last = book.sessions[-1].day
    assert "Nothing was entered" not in rests_of(book, last + timedelta(days=9))
    assert "Nothing was entered for 10 days." in rests_of(book, last + timedelta(days=10))


def test_earlier_rugs_are_counted_where_they_teach_the_pace():
    earlier = replace(woven(BOOK, [5] * 20), plan=replace(PLAN, id="e", stage=RugStage.FINISHED))
    assert "based on 1 earlier rug." in rests_of(woven(BOOK, [5] * 2), earlier=[earlier])
    assert "based on 2 earlier rugs." in rests_of(woven(BOOK, [5] * 2), earlier=[earlier] * 2)
    # Of many only the last three: hands change.
    assert "based on 3 earlier rugs." in rests_of(woven(BOOK, [5] * 2), earlier=[earlier] * 5)
    assert "earlier rug" not in rests_of(woven(BOOK, [5] * 2))


@pytest.mark.parametrize(
    ("came", "words"),
    [
        (0, "On your last rug the date did not move in the last month."),
        (1, "On your last rug the date moved 1 day later in the last month."),
        (9, "On your last rug the date moved 9 days later in the last month."),
        (-1, "On your last rug the date moved 1 day sooner in the last month."),
        (-4, "On your last rug the date moved 4 days sooner in the last month."),
    ],
)
def test_how_the_last_date_held_is_said_in_days(came: int, words: str):
    held = EarlierDate(
        asked=START - timedelta(days=30),
        middle=START,
        early=START,
        late=START,
        came=START + timedelta(days=came),
    )
    assert last_rug_words(held) == words


def test_a_rug_that_takes_more_rows_to_its_length_says_so():
    plan = replace(PLAN, hold=Hold.LENGTH)
    book = woven(replace(BOOK, plan=plan), [5] * 30)

    def with_length(row: int, length_cm: float) -> str:
        read = Measurement(id="m", rug_id="r", day=book.sessions[-1].day, row=row, length_cm=length_cm)
        return moved_of(replace(book, measurements=(read,)))

    assert "more rows to reach the length" in with_length(150, 33.0)
    # Each row takes as long as before: the rows that came to it are no slower pace.
    assert "slower" not in with_length(150, 33.0)
    assert "faster" not in with_length(150, 42.0)
    assert "fewer rows to reach the length" in with_length(150, 42.0)


def test_without_a_week_of_record_nothing_is_said_to_have_moved():
    assert outlook(woven(BOOK, [5] * 5), START + timedelta(days=6)).basis.moved_by == ()
    assert outlook(woven(BOOK, [5] * 6), START + timedelta(days=7)).basis.moved_by != ()
    assert outlook(BOOK, START).basis.moved_by == ()


def test_a_rug_begun_before_its_planned_day_says_by_how_many_days_from_its_first_session_on():
    planned = replace(BOOK, plan=replace(PLAN, start_day=START + timedelta(days=75)))
    first = woven(planned, [5])
    said = moved_of(first)
    before, now = outlook(planned, START).finish, outlook(first, START).finish
    assert before is not None
    assert now is not None
    sooner = (before.middle - now.middle).days
    assert sooner > 0
    assert said.startswith(f"{sooner} days sooner than by the plan: begun 75 days earlier than planned")
    assert "evening" not in said
    # No evening was planned before its first one, a slow one three days early: none was missed that week.
    monday, friday = START + timedelta(days=7), START + timedelta(days=4)
    soon = woven(replace(BOOK, plan=replace(PLAN, start_day=monday)), [7], [4.0], [friday])
    assert "later than by the plan: " in moved_of(soon)
    assert "missed" not in moved_of(soon)
    assert "begun 75 days earlier than planned" in moved_of(woven(planned, [5] * 4))
    # Once a week is woven the date is held to that of a week ago, which knew of it.
    assert "begun" not in moved_of(woven(planned, [5] * 12))
    assert outlook(woven(BOOK, [5]), START).basis.moved_by == ()


@pytest.mark.parametrize(
    ("rows", "hours", "asked"),
    [
        (5, 4.0, ""),
        (5, 0.25, "4800 knots an hour. Are hours missing, or rows counted twice?"),
        (3, 23.0, "31 knots an hour. Are the hours really minutes?"),
    ],
)
def test_paces_that_nobody_ties_are_asked_about(rows: int, hours: float, asked: str):
    # 5 rows of 240 knots are 1,200: 4,800 an hour are more, 31 fewer than is published of anybody.
    every_other = [START + timedelta(days=2 * place) for place in range(6)]
    book = woven(BOOK, [rows] * 6, hours, every_other)
    assert asked in rests_of(book)
    assert bool(asked) == ("knots an hour" in rests_of(book))
    # Four sessions are too few to doubt a weaver.
    assert "knots an hour" not in rests_of(replace(book, sessions=book.sessions[:4]))
    assert bool(asked) == ("knots an hour" in rests_of(replace(book, sessions=book.sessions[:5])))


def test_what_stands_in_for_hours_that_nobody_gave_is_said_as_it_is_reckoned() -> None:
    some = woven(BOOK, [5] * 4, [4.0, 4.0, None, None])
    none = woven(BOOK, [5] * 4, None)
    assert (
        "2 sessions have no hours. The usual hours are used instead."
        in outlook(some, some.sessions[-1].day).basis.rests_on
    )
    told = outlook(none, none.sessions[-1].day).basis.rests_on
    assert "No session has hours: each counts as one usual session." in told
    assert not any("stand" in sentence for sentence in told)


@pytest.mark.parametrize(
    "change",
    [
        lambda book: replace(book, sessions=(*book.sessions[:-1], replace(book.sessions[-1], rows=9))),
        lambda book: replace(book, sessions=(replace(book.sessions[0], hours=9.0), *book.sessions[1:])),
        lambda book: replace(book, sessions=(*book.sessions[:4], *book.sessions[7:])),
        lambda book: replace(book, plan=replace(book.plan, weekdays=(0, 1))),
        lambda book: replace(book, days_off=(DaysOff(id="o", rug_id="r", first_day=START, last_day=START),)),
    ],
    ids=["today's session", "an early session", "sessions deleted", "plan", "days off"],
)
def test_a_reckoning_of_a_week_ago_that_was_kept_says_what_a_new_one_says(change):
    """What is remembered of a week ago must not outlive what it was made of."""
    book = woven(BOOK, [5, 4, 6, 5, 5, 3, 5, 6, 5, 4, 5, 5])
    today = book.sessions[-1].day
    outlook(book, today)
    kept = outlook(change(book), today).basis.moved_by
    _reckoned.clear()
    assert kept == outlook(change(book), today).basis.moved_by


def test_a_session_of_today_leaves_the_reckoning_of_a_week_ago_as_it_was(monkeypatch):
    book = woven(BOOK, [5, 4, 6, 5, 5, 3, 5, 6, 5, 4, 5, 5])
    today = book.sessions[-1].day
    days = []

    def noted(*values, **names):
        days.append(values[1])
        return reckon(*values, **names)

    monkeypatch.setattr("tracker.forecast.outlook.reckon", noted)
    _reckoned.clear()
    before = replace(book, sessions=book.sessions[:-1])
    outlook(before, today)
    outlook(book, today)
    week_ago = today - timedelta(days=MOVED_SINCE_DAYS)
    # Besides only the evening before is reckoned, beside which the session is told; and that once.
    evening_before = today - timedelta(days=1)
    assert days == [today, week_ago, today, evening_before]
    outlook(book, today)
    assert days[4:] == [today]


def test_a_session_just_entered_says_what_in_it_moved_the_date():
    """The strip said by how many days, and the reason stood on the page of the rug alone, for the week."""
    days = weekdays(30)
    before = woven(BOOK, [5] * 30, 4.0, days)
    saturday = days[-1] + timedelta(days=(5 - days[-1].weekday()) % 7)
    for rows, hours, why in ((10, 8.0, "1 evening more than planned"), (-30, 4.0, "30 rows unpicked")):
        more = Session(id="more", rug_id="r", day=saturday, rows=rows, hours=hours, born=9_999)
        after = replace(before, sessions=(*before.sessions, more))
        then, now = outlook(before, saturday), outlook(after, saturday)
        told = now.basis.moved_today
        assert told is not None, why
        assert (told.session_id, told.why) == ("more", why)
        assert then.finish is not None
        assert now.finish is not None
        # It explains the shift that the strip tells: its way, and but for a day its size.
        shift = (now.finish.middle - then.finish.middle).days
        assert told.days * shift > 0
        assert abs(told.days - shift) <= 3
        # Of yesterday's nothing is told any more.
        assert outlook(after, saturday + timedelta(days=1)).basis.moved_today is None
    assert outlook(before, saturday).basis.moved_today is None
