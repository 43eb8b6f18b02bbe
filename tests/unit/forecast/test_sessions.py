"""A book's sessions as arrays, by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tracker.domain.rug import DaysOff, RugBook, Session
from tracker.forecast.finish import TeamAhead, team_ahead
from tracker.forecast.outlook import outlook
from tracker.forecast.reckon import reckon
from tracker.forecast.sessions import (
    days_of_entry,
    open_from,
    planned_days,
    planned_hours_a_day,
    session_arrays,
)

from .books import BOOK, PLAN, START, woven


def test_the_plans_hours_are_shared_out_over_its_days():
    assert planned_hours_a_day(PLAN) == 4.0
    assert planned_hours_a_day(replace(PLAN, weekdays=(5, 6), hours_per_week=18.0)) == 9.0
    # Nobody sits longer than half a day every day, nor a few minutes a week (no source).
    assert planned_hours_a_day(replace(PLAN, weekdays=(6,), hours_per_week=30.0)) == 12.0
    assert planned_hours_a_day(replace(PLAN, weekdays=(6,), hours_per_week=0.0)) == 0.25
    assert planned_hours_a_day(replace(PLAN, weekdays=(), hours_per_week=7.0)) == 7.0


def test_a_plan_without_days_has_all_of_them():
    assert planned_days(PLAN).tolist() == [True] * 5 + [False] * 2
    assert planned_days(replace(PLAN, weekdays=())).all()
    assert planned_days(replace(PLAN, weekdays=(7, -1))).all()
    assert planned_days(replace(PLAN, weekdays=(0, 6, 9))).tolist() == [True] + [False] * 5 + [True]


@pytest.mark.parametrize(
    ("hours", "step_h"), [([2.0, 3.0], 1.0), ([2.0, 2.5], 0.5), ([2.25, 3.0], 0.25), ([2.1, 3.0], 1 / 60), ([], 1 / 60)]
)  # fmt: skip
def test_the_step_of_the_hours_is_the_coarsest_that_fits(hours, step_h):
    assert session_arrays(woven(BOOK, [5] * len(hours), hours)).step_h == step_h


def test_hours_left_out_are_the_usual_ones_of_this_weaver():
    told = session_arrays(woven(BOOK, [5] * 6, [2.0, 8.0, 2.0, 8.0, 4.0, None]))
    # The middle of 2 and 8 hours in ratios is 4.
    assert told.hours.tolist() == pytest.approx([2.0, 8.0, 2.0, 8.0, 4.0, 4.0])
    assert told.given.tolist() == [True] * 5 + [False]
    # One evening of 2 hours is a fifth of a habit; the plan's 4 hours have the rest of the say.
    few = session_arrays(woven(BOOK, [5] * 2, [2.0, None]))
    assert few.hours[1] == pytest.approx(2.0**0.2 * 4.0**0.8)
    # Less than three minutes are no hours.
    assert session_arrays(woven(BOOK, [5] * 2, [0.05, 0.04])).given.tolist() == [True, False]


def test_without_any_hours_a_day_is_a_day_and_the_plan_scales_it():
    none = session_arrays(woven(replace(BOOK, plan=replace(PLAN, hours_per_week=40.0)), [5] * 3, None))
    assert none.hours.tolist() == [4.0] * 3
    assert none.hour_scale == 2.0
    assert session_arrays(woven(BOOK, [5] * 3)).hour_scale == 1.0
    assert session_arrays(BOOK).hour_scale == 1.0


def test_rows_stand_upon_those_before_and_who_sat_is_counted():
    sessions = (
        Session(id="a", rug_id="r", day=START, rows=5, hours=4.0, weavers=("ann", "bo")),
        Session(id="b", rug_id="r", day=START + timedelta(days=1), rows=-2, hours=1.0),
        Session(id="c", rug_id="r", day=START + timedelta(days=2), rows=3, hours=30.0, weavers=("ann", "bo")),
    )
    told = session_arrays(replace(BOOK, sessions=sessions))
    assert told.row_before.tolist() == [0.0, 5.0, 3.0]
    assert told.rows.tolist() == [5.0, -2.0, 3.0]
    # Where a session names nobody it is as many as are usual; a day has 24 hours.
    assert told.team.tolist() == [2.0, 2.0, 2.0]
    assert told.team_told
    assert told.hours[2] == 24.0
    assert told.day.tolist() == [START.toordinal() + place for place in range(3)]
    assert told.days_woven.tolist() == [1.0] * 3
    unnamed = session_arrays(woven(replace(BOOK, plan=replace(PLAN, weavers_planned=3)), [5]))
    assert (unnamed.team.tolist(), unnamed.team_told) == ([3.0], False)
    assert session_arrays(woven(replace(BOOK, plan=replace(PLAN, weavers_planned=0)), [5])).team.tolist() == [
        1.0
    ]


def test_rows_that_two_phones_both_unpicked_lie_below_none_that_follow():
    told = session_arrays(woven(BOOK, [5, -5, -5, 3, 2]))
    assert told.row_before.tolist() == [0.0, 5.0, 0.0, 0.0, 3.0]


def weekly(
    hours: float | None, apart: int = 7, count: int = 6, first: date = START + timedelta(days=4), book=BOOK
):
    days = [first + timedelta(days=apart * place) for place in range(count)]
    return session_arrays(woven(book, [25] * count, hours, days))


def test_one_entry_a_week_stands_for_the_week():
    told = weekly(20.0)
    assert told.entry_days == 7
    # The first one only for the days since the rug was begun: Monday to Friday.
    assert (told.day - told.first_day).tolist() == [4] + [6] * 5
    # Of five planned evenings one was missed, as is usual (no source).
    assert told.days_woven.tolist() == [4.0] * 6
    assert weekly(None).entry_days == 7
    assert weekly(20.0, count=2).entry_days == 7
    # Who plans an evening a week, or comes every other day, enters evenings; a single entry says nothing of its like.
    fridays = replace(BOOK, plan=replace(PLAN, weekdays=(4,), hours_per_week=4.0))
    assert weekly(4.0, book=fridays).entry_days == 1
    assert weekly(None, book=fridays).entry_days == 1
    assert weekly(4.0, apart=2).entry_days == 1
    assert weekly(4.0, count=1).entry_days == 1


def test_an_entry_after_a_pause_stands_for_its_usual_days_only():
    for late, reach in ((2, 7), (3, 7), (9, 7)):
        days = [START + timedelta(days=4 + 7 * place + (late if place > 3 else 0)) for place in range(6)]
        told = session_arrays(woven(BOOK, [25] * 6, 20.0, days))
        assert int(told.day[4] - told.first_day[4]) + 1 == reach


def test_the_future_begins_after_the_record():
    told, friday = session_arrays(woven(BOOK, [5] * 5)), START + timedelta(days=4)
    assert open_from(told, friday, START) == friday + timedelta(days=1)
    assert open_from(told, friday + timedelta(days=9), START) == friday + timedelta(days=9)
    # A phone's clock that is behind the book moves nothing back.
    assert open_from(told, START, START) == friday + timedelta(days=1)
    assert open_from(session_arrays(BOOK), START - timedelta(days=9), START) == START
    assert open_from(session_arrays(BOOK), friday, START) == friday
    last = START + timedelta(days=4 + 35)
    assert open_from(weekly(20.0), last + timedelta(days=3), START) == last + timedelta(days=1)
    assert open_from(weekly(20.0), last + timedelta(days=20), START) == last + timedelta(days=13)


def test_an_entry_was_woven_on_the_planned_days_that_were_not_off():
    monday = START.toordinal()
    days_off = DaysOff(
        id="o", rug_id=None, first_day=START + timedelta(days=1), last_day=START + timedelta(days=2)
    )
    planned = planned_days(PLAN)
    assert days_of_entry(planned, (days_off,), monday, monday + 6).tolist() == [
        monday,
        monday + 3,
        monday + 4,
    ]
    assert days_of_entry(planned, (), monday + 5, monday + 6).tolist() == [monday + 6]
    # All of them off: it was woven on the last of them.
    assert days_of_entry(planned, (days_off,), monday + 1, monday + 2).tolist() == [monday + 2]


def ahead(*teams: int, apart: int = 28) -> TeamAhead:
    """Return the teams to come after evenings of so many weavers, so many days apart; three were planned."""
    sessions = tuple(
        Session(
            id=f"{place}", rug_id="r", day=START + timedelta(days=apart * place), rows=5, hours=4.0,
            weavers=tuple(f"w{seat}" for seat in range(team)),
        )
        for place, team in enumerate(teams)
    )  # fmt: skip
    return team_ahead(session_arrays(replace(BOOK, sessions=sessions)), 3, power=1.0)


def sized(*teams: int, apart: int = 28) -> np.ndarray:
    """Return the sizes between which a month to come chooses."""
    return ahead(*teams, apart=apart).sizes


def test_a_months_team_is_the_steady_one_that_did_its_work():
    # One evening a month, each drawn towards the whole record's mean (2.25) by four evenings of it: (2 + 4 x 2.25) / 5 = 2.2.
    assert sized(2, 2, 3, 2)[:-1] == pytest.approx([2.2, 2.2, 2.4, 2.2])
    assert 2.0 < sized(2, 2, 3, 2)[-1] < 2.2
    # Five evenings within four weeks are one month: 13 hands in 5 evenings, and tonight's two go on for a while.
    month, tonight = sized(3, 2, 3, 3, 2, apart=2)
    assert month == pytest.approx(2.6)
    assert 2.0 < tonight < 2.6


def test_a_team_that_never_changed_or_nobody_named_is_what_it_is():
    assert sized(1, 1, 1).tolist() == [1.0] * 4
    assert sized(*[1] * 9).tolist() == [1.0] * 7
    # Sessions that name nobody have such months in their rows already.
    assert sized(0, 0).tolist() == [1.0]
    assert sized().tolist() == [3.0, 2.0, 3.0]


def test_a_team_that_keeps_together_stays_and_one_that_comes_and_goes_does_not():
    keeps, comes_and_goes = [1] * 12 + [2] * 12, [1, 2] * 12
    assert ahead(*keeps, apart=2).stays > 0.2
    assert ahead(*comes_and_goes, apart=2).stays < 1e-3
    assert ahead(*keeps, apart=2).steady(1, 1.0) > ahead(*keeps, apart=2).steady(12, 1.0) > 1.5
    assert ahead(*[2] * 9, apart=2).steady(5, 1.0) == pytest.approx(2.0)


def test_two_rows_without_hours_are_no_evening() -> None:
    # Ten evenings of ten rows in four hours, then two rows at the loom without hours.
    evenings = woven(BOOK, [10] * 10)
    short = woven(BOOK, [10] * 10 + [2], [4.0] * 10 + [None])
    hours = session_arrays(short).hours
    assert hours[-1] == pytest.approx(0.8)
    # A usual evening without hours is a usual evening, and far more rows are no night through.
    assert session_arrays(woven(BOOK, [10] * 11, [4.0] * 10 + [None])).hours[-1] == pytest.approx(4.0)
    assert session_arrays(woven(BOOK, [10] * 10 + [70], [4.0] * 10 + [None])).hours[-1] == pytest.approx(8.0)
    # Unpicking counts by its rows as well; where no row is gained or taken out, nobody can tell.
    unpicked = woven(BOOK, [10] * 10 + [-2], [4.0] * 10 + [None])
    assert session_arrays(unpicked).hours[-1] == pytest.approx(0.8)
    assert session_arrays(woven(BOOK, [10] * 10 + [0], [4.0] * 10 + [None])).hours[-1] == pytest.approx(4.0)
    day = short.sessions[-1].day
    left = [outlook(rug, day).finish.hours_left for rug in (evenings, short)]
    assert left[1] == pytest.approx(left[0] * 258 / 260, rel=0.02)


@pytest.mark.parametrize("parts", [(18, 2), (9, 9, 2), (2, 18)])
def test_a_day_without_hours_is_as_long_in_several_entries_as_in_one(parts: tuple[int, ...]) -> None:
    def on_two_days(*rows: int) -> RugBook:
        days = [START, *[START + timedelta(days=1)] * (len(rows) - 1)]
        return woven(replace(BOOK, plan=replace(PLAN, rows=90)), rows, None, days)

    def told(book: RugBook) -> list[int]:
        futures = reckon(book, START + timedelta(days=1)).futures
        assert futures is not None
        return [futures.quantile(-1, share) for share in (0.1, 0.5, 0.9)]

    assert session_arrays(on_two_days(22, *parts)).hours[1:].sum() == pytest.approx(
        session_arrays(on_two_days(22, 20)).hours[1:].sum()
    )
    for in_parts, in_one in zip(told(on_two_days(22, *parts)), told(on_two_days(22, 20)), strict=True):
        assert abs(in_parts - in_one) <= 1


def test_one_short_day_without_hours_moves_the_date_little_and_ten_of_them_all_the_way() -> None:
    """By the plan an evening of four hours gains several rows; one of a single row may have been ten minutes long."""
    book = replace(
        BOOK,
        plan=replace(PLAN, knots_across=24, rows=400, knots_per_hour=283.0, hours_per_week=10.0),
        cartoon=None,
    )

    def hours_left(days: int) -> float:
        told = woven(book, [2] * days, None)
        day = told.sessions[-1].day if days else START
        return outlook(told, day).finish.hours_left

    plan, one, two, ten = (hours_left(days) for days in (0, 1, 2, 10))
    assert one < 1.6 * plan, "the plan's rows a day are not thrown over by one evening"
    assert one < two < ten
    # Ten alike say what her evenings are like: 2 rows of the 23 that the plan reckons.
    assert ten > 4 * plan
