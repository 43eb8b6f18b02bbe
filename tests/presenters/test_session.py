"""The session form starts with what is usual, refuses what cannot be, and survives being kept."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Hold, Measurement
from tracker.domain.work import planned_weaving_hours
from tracker.presenters import session as session_page


def test_before_the_first_session_the_plan_suggests_the_rows() -> None:
    # 15 h in 5 sittings = 3 h; 500 knots an hour = 1,500 knots; 100 knots a row = 15 rows, less what practice still costs.
    assert 10 <= session_page.usual_rows(book()) <= 15
    assert session_page.usual_hours(book()) == 3.0


def test_rows_are_suggested_at_the_pace_that_the_plans_hours_are_told_at() -> None:
    for rate in (None, 500.0):
        rug = book(plan=plan(knots_per_hour=rate))
        assert session_page.usual_rows(rug) == round(3 / (planned_weaving_hours(rug) / rug.plan.rows))


def test_later_the_record_suggests_them_and_unpicked_rows_do_not_count() -> None:
    rug = book(session(1, 4), session(2, 6), session(3, -3), session(4, 5))
    assert session_page.usual_rows(rug) == 5
    assert session_page.suggestions(rug) == (3, 4, 5, 6, 7)


def test_only_about_as_many_rows_as_usual_bring_the_usual_hours() -> None:
    rug = book(session(1, 10, hours=3.0), session(2, 10, hours=3.0))
    blank = session_page.blank_form(rug, TODAY)
    brought = {rows: blank.with_rows(rows, rug).hours for rows in (0, 1, 4, 5, 10, 20, 21, -2)}
    assert brought == {0: None, 1: None, 4: None, 5: 3.0, 10: 3.0, 20: 3.0, 21: None, -2: None}
    assert blank.with_hours(0.5).with_rows(1, rug).hours == 0.5


def test_a_session_taken_back_waits_for_this_day_and_this_rug_alone() -> None:
    form = replace(session_page.blank_form(book(), TODAY), rows=-2)
    kept = session_page.keep_taken_back(form, "rug", TODAY)
    assert session_page.taken_back(kept, "rug", TODAY) == form
    assert session_page.taken_back(kept, "rug", TODAY + timedelta(days=1)) is None
    assert session_page.taken_back(kept, "another", TODAY) is None
    for damaged in (None, [], "?", {"rug": "rug", "on": TODAY.isoformat(), "form": {"rows": "?"}}):
        assert session_page.taken_back(damaged, "rug", TODAY) is None


def test_an_evening_starts_with_the_weavers_of_last_time() -> None:
    form = session_page.blank_form(book(session(1, 4, weavers=("bo",))), TODAY)
    assert form.weavers == ("bo",)
    assert form.day == TODAY


def test_more_rows_than_the_rug_has_left_are_refused_with_what_is_left() -> None:
    rug = book(session(1, 190))
    form = replace(session_page.blank_form(rug, TODAY), rows=11)
    with pytest.raises(BadEntry, match="only 10 rows"):
        session_page.to_session(form, rug, TODAY)
    assert session_page.to_session(replace(form, rows=10), rug, TODAY).rows == 10


def test_no_more_rows_can_be_unpicked_than_are_on_the_loom() -> None:
    rug = book(session(1, 4))
    form = replace(session_page.blank_form(rug, TODAY), rows=-5)
    with pytest.raises(BadEntry, match="only 4 rows on the loom"):
        session_page.to_session(form, rug, TODAY)
    assert session_page.to_session(replace(form, rows=-4), rug, TODAY).rows == -4


def test_correcting_a_session_counts_the_others_only() -> None:
    rug = book(session(1, 190), session(2, 10))
    form = replace(session_page.form_of(rug.sessions[1]), rows=9)
    assert session_page.to_session(form, rug, TODAY).id == "s2"


@pytest.mark.parametrize("hours", [-1.0, 24.5, float("nan"), float("inf")])
def test_hours_that_no_day_has_are_refused(hours: float) -> None:
    form = replace(session_page.blank_form(book(), TODAY), rows=1, hours=hours)
    with pytest.raises(BadEntry, match="24 hours"):
        session_page.to_session(form, book(), TODAY)


def test_tomorrow_is_allowed_for_a_phone_with_another_clock_but_not_next_week() -> None:
    form = replace(session_page.blank_form(book(), TODAY), rows=1, day=TODAY + timedelta(days=1))
    assert session_page.to_session(form, book(), TODAY).day == TODAY + timedelta(days=1)
    with pytest.raises(BadEntry, match="still to come"):
        session_page.to_session(replace(form, day=TODAY + timedelta(days=7)), book(), TODAY)


def test_an_empty_form_says_what_to_do() -> None:
    form = replace(session_page.blank_form(book(), TODAY), hours=None)
    with pytest.raises(BadEntry, match="Tap the rows"):
        session_page.to_session(form, book(), TODAY)


def test_balls_are_counted_by_yarn_and_never_below_none() -> None:
    form = session_page.blank_form(book(), TODAY).with_used("red", 1).with_used("red", 2).with_used("blue", 1)
    assert form.used_of("red") == 2
    assert form.with_used("red", 0).used == (("blue", 1),)


@given(
    rows=st.integers(-999, 999),
    hours=st.none() | st.floats(0, 24),
    note=st.text(max_size=200),
    day=st.dates(date(2020, 1, 1), date(2040, 1, 1)),
)
def test_a_kept_form_comes_back_as_it_was(rows, hours, note, day) -> None:
    import json

    form = replace(
        session_page.blank_form(book(), TODAY).with_used("red", 1), rows=rows, hours=hours, note=note, day=day
    )
    assert session_page.from_kept(json.loads(json.dumps(session_page.to_kept(form)))) == form


@pytest.mark.parametrize("kept", [None, {}, [], "x", {"rows": "many"}, {"session_id": 1, "day": "yesterday"}])
def test_a_damaged_draft_is_no_draft(kept) -> None:
    assert session_page.from_kept(kept) is None


def test_the_page_says_what_the_row_will_be() -> None:
    rug = book(session(1, 40), plan=plan())
    form = replace(session_page.blank_form(rug, TODAY), rows=5)
    state = session_page.build_session_state(form, rug, TODAY)
    assert state.rows_after == "then row 45 of 200"
    assert state.day == "today"
    assert [line.name for line in state.balls] == ["Madder", "Indigo"]
    assert [line.number for line in state.shuttles] == [""]


def test_when_the_length_is_held_the_measured_cloth_says_how_many_rows_there_are() -> None:
    # 80 cm planned in 200 rows, 0.4 cm a row. Beaten closer, 100 rows measure 36 cm: 0.36 cm a row would take
    # 222 rows; the plan's own expectation pulls the estimate a little back towards 200.
    measured = Measurement(id="m", rug_id="rug", day=TODAY, row=100, length_cm=36.0, resolution_cm=0.1)
    held = book(session(1, 199), plan=plan(hold=Hold.LENGTH), measurements=(measured,))
    form = replace(session_page.blank_form(held, TODAY), rows=5)
    assert session_page.to_session(form, held, TODAY).rows == 5
    rows_kept = book(session(1, 199), plan=plan(hold=Hold.ROWS), measurements=(measured,))
    with pytest.raises(BadEntry, match="only 1 row"):
        session_page.to_session(form, rows_kept, TODAY)


def test_before_the_first_row_no_row_is_named_to_stand_at() -> None:
    rug = book(plan=plan())
    form = session_page.blank_form(rug, TODAY)
    assert session_page.build_session_state(form, rug, TODAY).rows_after == ""
    assert (
        session_page.build_session_state(replace(form, rows=3), rug, TODAY).rows_after == "then row 3 of 200"
    )
