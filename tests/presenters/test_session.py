"""The session form starts with what is usual, refuses what cannot be, and survives being kept."""

import csv
import math
import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.drafts_in_memory import drafts
from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.lot_change import LotChange
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Hold, HoursFrom, Measurement, Role, RugBook, RugStage
from tracker.domain.taught import NOTHING_TAUGHT, Taught
from tracker.domain.unlikely import LEAST_TO_JUDGE, Against, unlikely, unlikely_rows
from tracker.domain.work import (
    Evening,
    evening_of,
    hours_of_rows,
    planned_belief,
    planned_team,
    planned_weaving_hours,
    usual_row_hours,
    usual_rows,
)
from tracker.forecast.lessons import lessons_of
from tracker.presenters import finish, marks
from tracker.presenters import session as session_page
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import headline, names_of
from tracker.presenters.record.facts import weaving_facts
from tracker.presenters.record.weavers import weaver_entries
from tracker.presenters.shelf import build_lesson_state
from tracker.reports.csv_tables import sessions_table


def test_before_the_first_session_the_plan_suggests_the_rows() -> None:
    # 15 h in 5 sittings = 3 h; 500 knots an hour = 1,500 knots; 100 knots a row = 15 rows, less what practice still costs.
    assert 10 <= usual_rows(book()) <= 15


def test_before_hours_were_given_none_are_assumed() -> None:
    assert usual_row_hours(book()) is None
    assert usual_row_hours(book(session(1, 10, hours=None))) is None
    rug = book(session(1, 10, hours=None))
    assert session_page.blank_form(rug, TODAY).with_rows(10, rug).hours is None
    assert usual_row_hours(book(session(1, 10, hours=2.5))) == 0.25


def first_evening(rug: RugBook, hours: float, taught: Taught = NOTHING_TAUGHT) -> int:
    """The rows that take nearest to so many hours, of one row, of two, of three and so on."""
    to_weave = rows_to_weave(rug)
    belief, team = planned_belief(rug.plan, to_weave.tied, taught), planned_team(1)
    changes = to_weave.changes / to_weave.tied
    took = [hours_of_rows(belief, changes[:rows], team) for rows in range(1, rug.plan.rows + 1)]
    return 1 + min(range(len(took)), key=lambda index: abs(took[index] - hours))


def test_the_rows_suggested_first_are_what_the_plan_expects_of_a_first_evening() -> None:
    for rate in (None, 500.0):
        rug = book(plan=plan(knots_per_hour=rate))
        # A new design goes slower in the beginning than the rug does on the whole.
        on_the_whole = 3 / (planned_weaving_hours(rug) / rug.plan.rows)
        assert usual_rows(rug) == first_evening(rug, 3.0) < on_the_whole


def test_of_a_new_rug_no_more_rows_are_offered_than_its_own_date_counts_on() -> None:
    """A weaver who ties much at the rug beside it was offered that; taken without hours it moved the last row by months."""
    slow = book(plan=plan(knots_across=192, rows=576, knots_per_hour=None, hours_per_week=12.0))
    expected = usual_rows(slow)
    for knots in (400.0, 1446.0, 5000.0):
        offered = usual_rows(slow, lately=Evening(knots, 1.0))
        assert offered == max(1, min(expected, round(knots / 192)))


def test_before_the_first_session_earlier_rugs_suggest_the_rows_too() -> None:
    slow = Taught(rate=20.0 * math.log(1 / 150), rate_weight=20.0, rugs=1)
    rug = book(plan=plan(knots_per_hour=None))
    expected = first_evening(rug, 3.0, slow)
    assert usual_rows(rug, slow) == expected < usual_rows(rug)
    form = session_page.blank_form(rug, TODAY)
    assert session_page.build_session_state(form, rug, TODAY, taught=slow).suggestions == (
        session_page.suggestions(rug, slow)
    )


def test_later_the_record_suggests_them_and_unpicked_rows_do_not_count() -> None:
    rug = book(session(1, 4), session(2, 6), session(3, -3), session(4, 5))
    assert usual_rows(rug) == 5
    assert session_page.suggestions(rug) == (3, 4, 5, 6, 7)


def test_the_last_evenings_own_numbers_have_keys() -> None:
    # Median 9; 8 stands for 7 and 10 for 11, so that the usual number keeps the middle.
    assert session_page.suggestions(book(session(1, 10), session(2, 8))) == (5, 8, 9, 10, 13)
    # What was unpicked is no evening's number; an evening far from the usual has its key too.
    far = session_page.suggestions(book(*(session(n, 10) for n in (1, 2, 3)), session(4, 1), session(5, -3)))
    assert far == (1, 8, 10, 12, 14)


@given(st.lists(st.integers(-3, 40), max_size=6), st.integers(1, 200))
def test_no_key_offers_more_rows_than_there_are_to_go(rows: list[int], length: int) -> None:
    evenings = []
    for gained in rows:
        if 0 <= sum(evenings) + gained <= length:
            evenings.append(gained)
    rug = book(*(session(n, gained) for n, gained in enumerate(evenings, 1)), plan=plan(rows=length))
    left = length - sum(evenings)
    offered = session_page.suggestions(rug)
    assert len(offered) <= 5
    assert list(offered) == sorted(set(offered))
    assert all(0 < number <= left for number in offered)
    if left:
        # Near the end there is one tap to it, and to what the last evening gained.
        assert left > usual_rows(rug) or left in offered
        last = [gained for gained in evenings if gained > 0][-1:]
        assert all(gained in offered for gained in last if gained <= left)
    else:
        assert offered == ()


def test_near_the_end_the_rows_to_go_are_offered_and_of_a_corrected_session_its_own_rows_count() -> None:
    rug = book(session(1, 10), session(2, 8), session(3, 9), plan=plan(rows=36))
    assert session_page.suggestions(rug) == (5, 8, 9)
    # Without the last evening's own 9 rows there were 18 to go.
    state = session_page.build_session_state(session_page.form_of(rug.sessions[2], rug), rug, TODAY, True)
    assert max(state.suggestions) > 9
    assert all(rows <= 18 for rows in state.suggestions)


def test_rows_beyond_the_rug_are_told_beside_them_in_the_words_that_saving_refuses_with() -> None:
    rug = book(session(1, 190))
    for rows in (11, -191):
        form = replace(session_page.blank_form(rug, TODAY), rows=rows)
        with pytest.raises(BadEntry) as refused:
            session_page.to_session(form, rug, TODAY)
        assert session_page.build_session_state(form, rug, TODAY).rows_refused == refused.value.sentence != ""
    fits = replace(session_page.blank_form(rug, TODAY), rows=10)
    assert session_page.build_session_state(fits, rug, TODAY).rows_refused == ""


def test_hours_that_nobody_gave_are_named_as_the_usual_ones() -> None:
    rug = book(session(1, 10, hours=3.0), session(2, 10, hours=3.0))
    form = session_page.blank_form(rug, TODAY).with_rows(12, rug)
    state = session_page.build_session_state(form, rug, TODAY)
    assert (state.hours, state.hours_usual) == (
        "3.5 h",
        "The usual hours for so many rows. Tap to enter yours.",
    )
    given = session_page.build_session_state(form.with_hours(3.5), rug, TODAY)
    assert (given.hours, given.hours_usual) == ("3.5 h", "")
    assert session_page.build_session_state(form.with_rows(1, rug), rug, TODAY).hours_usual == ""


def test_hours_that_nobody_gave_are_told_from_given_ones_wherever_they_stand_later() -> None:
    rug = book(session(1, 10, hours=3.0), session(2, 10, hours=3.0))
    form = session_page.blank_form(rug, TODAY).with_rows(10, rug)
    usual = session_page.to_session(form, rug, TODAY)
    said = session_page.to_session(form.with_hours(3.0), rug, TODAY)
    none = session_page.to_session(form.with_hours(None), rug, TODAY)
    assert [one.hours_from for one in (usual, said, none)] == [HoursFrom.USUAL, HoursFrom.GIVEN, None]
    names = names_of((rug,))
    assert headline(usual, names) == "+10 rows, 3 h (usual)"
    assert headline(said, names) == "+10 rows, 3 h"
    assert dict(details(usual, names))["Hours"] == "3 h (usual hours, not given)"
    later = replace(rug, sessions=(*rug.sessions, usual))
    state = session_page.build_session_state(session_page.form_of(usual, later), later, TODAY, True)
    assert state.hours_usual == "The usual hours, not given. Tap to enter yours."
    facts = {fact.label: fact for fact in weaving_facts(later)}
    # To whom the rug is handed "about" says it.
    assert facts["Hours at the loom"].figure == "about 9 h"
    assert [entry.hours for entry in weaver_entries(later)] == ["about 9 h"]
    taught = build_lesson_state(later, lessons_of(later), TODAY)
    assert any(
        note.endswith("; 3 h in 1 session as usual, not given") for _label, _figure, note in taught.facts
    )
    told = list(csv.DictReader(sessions_table(later).decode("utf-8-sig").splitlines()))
    assert [line["hours given or usual"] for line in told] == ["", "", "usual, not given"]


def test_a_correction_leaves_open_whose_hours_they_were_until_somebody_says() -> None:
    rug = book(
        session(1, 10, hours=2.0),
        session(2, 10, hours=2.0, hours_from=HoursFrom.USUAL),
        session(3, 13, hours=2.5),
    )
    for before in rug.sessions:
        form = session_page.form_of(before, rug)
        noted = session_page.to_session(replace(form, note="late"), rug, TODAY)
        assert (noted.hours, noted.hours_from) == (before.hours, before.hours_from)
        said = session_page.to_session(form.with_hours(1.25), rug, TODAY)
        assert (said.hours, said.hours_from) == (1.25, HoursFrom.GIVEN)
    confirmed = session_page.form_of(rug.sessions[1], rug).with_hours(2.0)
    assert session_page.to_session(confirmed, rug, TODAY).hours_from is HoursFrom.GIVEN
    # 8 rows of an evening of 10 take 1.5 h, to the quarter.
    fewer = session_page.to_session(session_page.form_of(rug.sessions[1], rug).with_rows(8, rug), rug, TODAY)
    assert (fewer.hours, fewer.hours_from) == (1.5, HoursFrom.USUAL)


def test_the_usual_hours_are_learnt_from_given_ones_while_there_are_some() -> None:
    usual = [session(n, 10, hours=4.0, hours_from=HoursFrom.USUAL) for n in range(2, 8)]
    assert usual_row_hours(book(session(1, 10, hours=2.0, hours_from=HoursFrom.GIVEN), *usual)) == 0.2
    assert usual_row_hours(book(*usual)) == 0.4


def test_who_is_noted_is_told_beside_the_key_that_saves() -> None:
    rug = book(session(1, 10, weavers=("bo", "ann")))
    form = session_page.blank_form(rug, TODAY)
    told = [
        session_page.build_session_state(session_page.with_weavers(form, rug, sat), rug, TODAY).noted
        for sat in (form.weavers, ("ann",), ())
    ]
    assert told == ["At the loom: Bo and Ann", "At the loom: Ann", "At the loom: nobody noted"]
    nameless = replace(rug, weavers=(), sessions=())
    assert (
        session_page.build_session_state(session_page.blank_form(nameless, TODAY), nameless, TODAY).noted
        == ""
    )


def test_only_about_as_many_rows_as_usual_bring_the_hours_they_usually_take() -> None:
    rug = book(session(1, 10, hours=3.0), session(2, 10, hours=3.0))
    blank = session_page.blank_form(rug, TODAY)
    brought = {rows: blank.with_rows(rows, rug).hours for rows in (0, 1, 4, 5, 10, 20, 21, -2)}
    assert brought == {0: None, 1: None, 4: None, 5: 1.5, 10: 3.0, 20: 6.0, 21: None, -2: None}
    assert blank.with_hours(0.5).with_rows(1, rug).hours == 0.5


def test_the_hours_of_a_short_evening_are_the_rows_share_of_it() -> None:
    # 8 rows in 1 h: a row in 7.5 min.
    rug = book(session(1, 8, hours=1.0))
    blank = session_page.blank_form(rug, TODAY)
    minutes = {rows: round(60 * (blank.with_rows(rows, rug).hours or 0.0)) for rows in (4, 6, 7, 8, 10, 14)}
    assert minutes == {4: 30, 6: 45, 7: 55, 8: 60, 10: 75, 14: 105}
    state = session_page.build_session_state(blank.with_rows(6, rug), rug, TODAY)
    assert (state.hours, state.hours_label) == ("45 min", "Hours")


def test_two_at_the_loom_are_told_whose_hours_and_what_two_take() -> None:
    rug = book(session(1, 8, hours=1.0, weavers=("ann",)))
    one = session_page.blank_form(rug, TODAY).with_rows(8, rug)
    two = session_page.with_weavers(one, rug, ("ann", "bo"))
    # Two do the work of 2^0.9 = 1.87: 32 min, to five minutes.
    assert (one.hours, two.hours) == (1.0, 0.5)
    assert session_page.with_weavers(two, rug, ("ann",)).hours == 1.0
    state = session_page.build_session_state(two, rug, TODAY)
    assert (state.hours_label, state.hours_usual) == (
        "Hours each",
        "The usual hours for so many rows and weavers. Tap to enter yours.",
    )
    # An evening of two says more of two than what one took.
    later = book(*rug.sessions, session(2, 10, hours=1.0, weavers=("ann", "bo")))
    told = {sat: session_page.proposed_hours(10, later, sat) for sat in (1, 2)}
    assert told == {1: 1.25, 2: 1.0}
    given = two.with_hours(0.75)
    assert session_page.with_weavers(given, rug, ("ann",)).hours == 0.75


def test_hours_that_the_app_filled_in_follow_the_rows_of_a_correction() -> None:
    rug = book(session(1, 10, hours=2.0), session(2, 13, hours=2.5))
    form = session_page.form_of(rug.sessions[1], rug)
    # 13 rows at 12 minutes: 2.6 h, to the quarter 2.5; so 8 rows are 1.6 h, to the quarter 1.5.
    assert (form.hours, form.with_rows(8, rug).hours, form.with_rows(8, rug).with_rows(13, rug)) == (
        2.5,
        1.5,
        form,
    )
    state = session_page.build_session_state(form.with_rows(8, rug), rug, TODAY, True)
    assert state.hours_usual.startswith("The usual hours for so many rows.")
    assert (state.hours_saved, state.hours_saved_words) == (2.5, "Keep 2.5 h as it was")
    kept = form.with_rows(8, rug).with_hours(state.hours_saved)
    assert kept.with_rows(7, rug).hours == 2.5
    assert session_page.build_session_state(kept, rug, TODAY, True).hours_saved_words == ""
    # Few rows bring no hours here either; those of before stay a tap away.
    few = session_page.build_session_state(form.with_rows(1, rug), rug, TODAY, True)
    assert (few.hours, few.hours_saved) == ("not given", 2.5)


def test_hours_of_ones_own_stay_when_a_session_is_corrected() -> None:
    rug = book(session(1, 10, hours=2.0), session(2, 13, hours=2.25), session(3, 9, hours=None))
    assert session_page.form_of(rug.sessions[1], rug).with_rows(8, rug).hours == 2.25
    assert session_page.form_of(rug.sessions[0], rug).with_rows(8, rug).hours == 2.0
    assert session_page.form_of(rug.sessions[2], rug).with_rows(8, rug).hours is None


@given(st.lists(st.tuples(st.integers(1, 20), st.sampled_from([None, 1.0, 2.5])), min_size=1, max_size=12),
       st.integers(1, 20), st.integers(1, 20))  # fmt: skip
def test_a_correction_proposes_the_hours_that_a_new_session_would(
    evenings: list[tuple[int, float | None]], rows: int, others: int
) -> None:
    before = book(*(session(n, gained, hours=hours) for n, (gained, hours) in enumerate(evenings, 1)))
    blank = replace(session_page.blank_form(before, TODAY), session_id="new")
    entered = session_page.to_session(blank.with_rows(rows, before), before, TODAY)
    if entered.hours and sum(bool(hours) for _gained, hours in evenings) >= LEAST_TO_JUDGE:
        # What the form proposes by itself is never asked about: both go by one sum.
        of_hours = (Against.HOURS, Against.HOURS_BY_PLAN)
        assert not any(doubt.against in of_hours for doubt in unlikely(entered, before, TODAY))
    after = replace(before, sessions=(*before.sessions, entered))
    corrected = session_page.form_of(entered, after).with_rows(others, after)
    # Hours that were left out stay out: nobody said that there were any.
    assert corrected.hours == (blank.with_rows(others, before).hours if entered.hours else None)


def test_a_session_taken_back_waits_for_this_day_and_this_rug_alone() -> None:
    form = replace(session_page.blank_form(book(), TODAY), rows=-2)
    kept = drafts()
    session_page.keep_taken_back(kept, "rug", form, TODAY)
    assert session_page.taken_back(kept, book(), TODAY) == form
    assert session_page.taken_back(kept, book(), TODAY + timedelta(days=1)) is None
    another = replace(book(), plan=replace(book().plan, id="another"))
    assert session_page.taken_back(kept, another, TODAY) is None
    # The diary did it again: it waits no more, and what is saved next is a session of its own.
    again = book(replace(session(1, 3), id=form.session_id))
    assert session_page.taken_back(kept, again, TODAY) is None
    assert session_page.of_its_own(form, again).session_id != form.session_id
    assert session_page.of_its_own(form, book()) == form
    for damaged in ({}, {"on": "?"}, {"on": TODAY.isoformat(), "form": {"rows": "?"}}):
        kept.put(session_page.TAKEN_BACK, {"rug": damaged})
        assert session_page.taken_back(kept, book(), TODAY) is None


def test_the_first_evening_starts_with_all_who_are_named_for_it() -> None:
    """Planned for two and named, the second was left out of the first session unless she was looked for below."""
    rug = book(sessions=())
    two = replace(rug, plan=replace(rug.plan, weavers_planned=2))
    assert len(two.weavers) == 2
    assert session_page.blank_form(two, TODAY).weavers == tuple(weaver.id for weaver in two.weavers)
    alone = replace(rug, plan=replace(rug.plan, weavers_planned=1))
    assert session_page.blank_form(alone, TODAY).weavers == (rug.weavers[0].id,)


def test_one_evening_alone_does_not_leave_the_other_out_of_the_next() -> None:
    """After seven evenings of both and one of one alone the next form left the other out, and with her her wages."""
    both, one = ("ann", "bo"), ("bo",)

    def starts_with(*sat: tuple[str, ...]) -> set[str]:
        rug = book(*(session(number, 1, weavers=who) for number, who in enumerate(sat, 1)))
        return set(session_page.blank_form(rug, TODAY).weavers)

    assert starts_with(both, both, one) == set(both)
    assert starts_with(both, both, one, one) == set(one)
    assert starts_with(both, one) == set(one)


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


@pytest.mark.parametrize(
    ("woven", "changes", "sentence"),
    [
        (199, {"rows": 2}, "The rug has only 1 row to go. Take fewer rows, or change the rug's length in its plan."),
        (1, {"rows": -2}, "There is only 1 row on the loom to unpick. Unpick at most that."),
        (4, {"rows": 1, "hours": 24.5},
         "A day has 24 hours. Give the hours at the loom, such as 2.5, or leave them open."),
        (4, {"rows": 1, "note": "x" * 2001}, "The note is longer than 2,000 characters. Shorten it a little."),
        (4, {"rows": 1, "begun_knots": 100}, "A row of this rug has 100 knots. Count a whole row as a row."),
        (190, {"rows": 10, "begun_knots": 1}, ("With these rows every row is woven. Remove the part "
                                              "of a row.")),
        (4, {"rows": 0, "hours": 0.0, "note": "  "},
         "Nothing is entered yet. Tap the rows you finished, or the yarn you used up."),
    ],
)  # fmt: skip
def test_each_refusal_says_what_to_do(woven: int, changes: dict, sentence: str) -> None:
    rug = book(session(1, woven))
    with pytest.raises(BadEntry) as refused:
        session_page.to_session(replace(session_page.blank_form(rug, TODAY), **changes), rug, TODAY)
    assert refused.value.sentence == sentence


def test_what_just_fits_is_taken() -> None:
    rug = book(session(1, 190))
    form = replace(
        session_page.blank_form(rug, TODAY), rows=9, hours=24.0, note=" " + "x" * 1999, begun_knots=99
    )
    taken = session_page.to_session(form, rug, TODAY)
    assert (taken.rows, taken.hours, taken.note, taken.begun_knots) == (9, 24.0, "x" * 1999, 99)
    only_note = replace(session_page.blank_form(rug, TODAY), note="warp mended")
    assert session_page.to_session(only_note, rug, TODAY).note == "warp mended"


def test_a_changed_session_that_leaves_fewer_rows_plans_a_change_of_dye_lot_again() -> None:
    done = LotChange(id="c", rug_id="rug", yarn_id="red", lot_id="l", day=TODAY, row=16, done_day=TODAY)
    rug = book(session(1, 10), session(2, 10), lot_changes=(done,))
    fewer = replace(rug.sessions[1], rows=4)
    # Of 14 rows the 15th comes next: a lot opened in it would stand.
    (again,) = session_page.lots_again(rug, fewer)
    assert again == replace(done, done_day=None)
    assert session_page.lots_again(rug, replace(fewer, rows=5)) == ()
    assert session_page.lots_again(rug, rug.sessions[1]) == ()
    assert session_page.lots_again(rug, replace(rug.sessions[1], rows=12)) == ()


def test_a_rug_s_first_evening_starts_with_who_sat_last_at_its_loom_and_shares_the_width() -> None:
    first = session_page.blank_form(book(sat_before=("bo", "gone", "ann")), TODAY, timer_hours=1.5)
    assert (first.weavers, first.places) == (("bo", "ann"), (("bo", 1, 50), ("ann", 51, 100)))
    assert (first.hours, first.hours_said) == (1.5, True)
    alone = session_page.blank_form(book(), TODAY)
    assert (alone.weavers, alone.places, alone.hours_said) == (("ann",), (), False)
    narrow = session_page.blank_form(book(plan=plan(knots_across=1), sat_before=("bo", "ann")), TODAY)
    assert narrow.places == ()


def test_who_is_tapped_sits_where_told_else_where_the_balls_say_else_as_last_time() -> None:
    halves, thirds = (("ann", 1, 50), ("bo", 51, 100)), (("ann", 1, 30), ("bo", 31, 100))
    told = session(1, 4, weavers=("ann", "bo"), places=halves, ahead=(("bo", 2),))
    rug = book(told)
    blank = replace(session_page.blank_form(rug, TODAY), weavers=("ann",), places=(), ahead=())
    both = session_page.with_weavers(blank, rug, ("ann", "bo"))
    assert (both.weavers, both.places, both.ahead) == (("ann", "bo"), halves, (("bo", 2),))
    set_for_balls = session_page.with_weavers(blank, rug, ("ann", "bo"), thirds)
    assert (set_for_balls.places, set_for_balls.ahead) == (thirds, ())
    # A slip of the finger: Bo is tapped out and in again.
    out = session_page.with_weavers(set_for_balls, rug, ("ann",))
    assert (out.weavers, out.places) == (("ann",), thirds)
    assert session_page.with_weavers(out, rug, ("ann", "bo")).places == thirds
    assert session_page.with_seats(both, rug, thirds).places == thirds
    assert session_page.with_seats(both, rug, thirds).ahead == ()
    assert session_page.with_seats(both, rug, halves) is both
    assert session_page.with_seats(out, rug, halves) is out


def test_nobody_stands_higher_than_the_last_row_and_who_left_stands_nowhere() -> None:
    halves = (("ann", 1, 50), ("bo", 51, 100))
    rug = book(session(1, 190))
    form = replace(
        session_page.blank_form(rug, TODAY), rows=7, weavers=("ann", "bo"), places=halves,
        ahead=(("bo", 5), ("ann", 0), ("gone", 2)),
    )  # fmt: skip
    assert session_page.places_said(form, rug) == (halves, (("bo", 3),))
    assert session_page.places_said(replace(form, rows=10), rug) == (halves, ())
    assert session_page.places_said(replace(form, rows=12), rug) == (halves, ())
    assert session_page.places_said(replace(form, weavers=("ann",)), rug) == ((), ())
    assert session_page.places_to_change(replace(form, places=()), rug) == (halves, ())
    assert session_page.places_to_change(form, rug) == (halves, (("bo", 3),))


def test_a_row_at_its_half_is_not_saved_as_half_once_more() -> None:
    """A row stood at half; the other half was woven and told by Half: 20 knots were saved, and the row stood at half still."""
    rug = book(session(1, 40, begun_knots=50))
    form = session_page.blank_form(rug, TODAY)
    state = session_page.build_session_state(form, rug, TODAY)
    assert (state.half, state.rows_after) == (0, "row 40 done and 50 knots"), "its other half is a row"
    assert not session_page.build_session_state(form.with_begun(50), rug, TODAY).can_save
    assert session_page.build_session_state(form.with_begun(70), rug, TODAY).can_save
    # After a row finished the next one may end at its half again.
    next_row = session_page.build_session_state(replace(form, rows=1).with_begun(50), rug, TODAY)
    assert (next_row.half, next_row.can_save) == (50, True)


def test_a_corrected_evening_is_told_by_its_own_rows() -> None:
    """Of the first of eight evenings the form said "then row 35 of 70 done" and "Part of row 36"."""
    rug = book(session(1, 7), session(2, 5))
    state = session_page.build_session_state(
        session_page.form_of(rug.sessions[0], rug), rug, TODAY, correcting=True
    )
    assert (state.rows_after, state.begun_label) == ("then row 7 of 200 done", "Part of row 8")


def test_fewer_knots_than_are_tied_are_not_taken_for_the_whole_row() -> None:
    """60 knots typed at a row of 120 put it back to 60: sixty tied knots were gone without a question."""
    rug = book(session(1, 40, begun_knots=30))
    form = session_page.blank_form(rug, TODAY)
    assert (
        session_page.begun_hint(form, rug) == "30 knots of it are tied already. Count all that are tied now."
    )
    assert session_page.begun_refused(form, rug, 20) == (
        "30 knots of the row are tied already. With 20 more it stands at 50; 0 if all came out."
    )
    late = book(session(1, 40, begun_knots=60))
    assert session_page.begun_refused(session_page.blank_form(late, TODAY), late, 50) == (
        "60 knots of the row are tied already. Count all that are tied now; 0 if all came out."
    )
    assert [session_page.begun_refused(form, rug, knots) for knots in (0, 30, 31)] == ["", "", ""]
    # The row after one that was finished is a new one.
    assert session_page.begun_refused(replace(form, rows=1), rug, 20) == ""
    assert session_page.begun_hint(replace(form, rows=1), rug) == ""


def test_the_page_in_full() -> None:
    rug = book(session(1, 40, begun_knots=30))
    form = replace(
        session_page.blank_form(rug, TODAY), day=TODAY - timedelta(days=1), hours=2.25, note="warp mended"
    )
    state = session_page.build_session_state(form.with_used("red", 1.5), rug, TODAY, waited=True)
    assert (state.day, state.hours, state.hours_value, state.note) == (
        "yesterday",
        "2.25 h",
        2.25,
        "warp mended",
    )
    assert state.rows_after == "row 40 done and 30 knots"
    assert state.waiting == "Not saved yet: the session of 24 November."
    assert [(line.yarn_id, line.number, line.name, line.swatch, line.count) for line in state.balls] == [
        ("red", "1", "Madder", "#9C2F25", 1.5), ("blue", "2", "Indigo", "#27406B", 0.0),
    ]  # fmt: skip
    assert state.weavers == (("ann", "Ann", True), ("bo", "Bo", False))
    assert (state.team, state.places, state.places_words) == (
        False,
        (),
        "Shared evenly until you say who sits where. Tap to say.",
    )
    assert (state.half, state.begun, state.begun_label, state.begun_shown) == (
        50,
        None,
        "Part of row 41",
        "Knots",
    )
    assert state.can_save
    assert not session_page.build_session_state(form, rug, TODAY).can_save
    assert session_page.build_session_state(form, rug, TODAY, correcting=True).can_save
    assert session_page.build_session_state(form, rug, TODAY, correcting=True, waited=True).waiting == ""
    older = replace(form, day=TODAY - timedelta(days=9), hours=None, begun_knots=1)
    state = session_page.build_session_state(older, rug, TODAY)
    assert (state.day, state.hours, state.hours_value, state.begun_shown) == (
        "16 Nov",
        "not given",
        0.0,
        "1 knot",
    )
    assert state.rows_after == "row 40 done and 1 knot"
    assert session_page.build_session_state(replace(form, rows=160), rug, TODAY).begun_label == ""
    half = session_page.build_session_state(replace(form, rows=2, begun_knots=50), rug, TODAY)
    assert (half.begun_shown, half.begun_label, half.rows_after) == (
        "Knots",
        "Part of row 43",
        "row 42 done and 50 knots",
    )


def test_the_rug_is_named_where_there_are_several() -> None:
    assert session_page.title_of(False) == "Session"
    assert session_page.title_of(True) == "Correct the session"
    other = replace(plan(), id="other", name="Runner")
    named = [session_page.rug_named(plan(), plans) for plans in ((plan(),), (plan(), other))]
    assert named == ["", "Little field"]
    assert session_page.rug_named(plan(), (plan(), replace(other, stage=RugStage.PLANNED))) == ""


def test_what_was_saved_is_said() -> None:
    def said(rows: int, **changes) -> str:
        return session_page.saved_words(session(1, rows, **changes), book(), correcting=False)

    assert [said(1), said(12), said(-1), said(-3)] == [
        "1 row saved", "12 rows saved", "1 row unpicked", "3 rows unpicked",
    ]  # fmt: skip
    assert said(0, begun_knots=20) == "20 knots saved"
    assert said(0, begun_knots=0) == "nothing of the next row"
    assert session_page.saved_words(session(1, 3), book(), correcting=True) == "Session corrected"


def test_all_that_was_saved_is_said() -> None:
    """Of five rows and a half one only the rows were told: whether the half was in the book nobody knew."""
    rug = book()
    ball, shuttle = rug.yarns_of(Role.PILE)[0].id, rug.yarns_of(Role.WEFT)[0].id

    def said(rows: int, knots: int | None = None, **used: float) -> str:
        changes = {"begun_knots": knots, "used": tuple(used.items())}
        return session_page.saved_words(session(1, rows, **changes), rug, correcting=False)

    assert said(5, 30) == "5 rows and 30 knots saved"
    assert said(5, 30, **{ball: 2.0, shuttle: 1.0}) == "5 rows and 30 knots, 2 balls, 1 shuttle saved"
    assert said(0, **{ball: 1.0}) == "1 ball saved"
    assert said(-3, 30) == "3 rows unpicked, 30 knots of the next row"


def test_what_cannot_be_saved_is_told_and_its_key_is_dark() -> None:
    rug = book(session(1, 195))

    def state(**changes) -> session_page.SessionState:
        form = replace(session_page.blank_form(rug, TODAY), **changes)
        return session_page.build_session_state(form, rug, TODAY)

    assert (state(rows=6).can_save, state(rows=6).refused) == (False, "")
    assert state(rows=6).rows_refused
    assert (state(rows=5).can_save, state(rows=5).refused, state(rows=5).rows_refused) == (True, "", "")
    part = state(rows=5, begun_knots=30)
    assert (part.can_save, part.rows_refused) == (False, "")
    assert part.refused == "With these rows every row is woven. Remove the part of a row."
    assert (state().can_save, state().refused) == (False, "")


@given(rows=st.integers(0, 20), knots=st.none() | st.integers(1, 90))
def test_the_strip_says_what_the_key_said_that_saved(rows: int, knots: int | None) -> None:
    rug = book()
    form = replace(session_page.blank_form(rug, TODAY), rows=rows, begun_knots=knots)
    assume(rows or knots)
    key = session_page.build_session_state(form, rug, TODAY).save_words
    saved = session_page.saved_words(session_page.to_session(form, rug, TODAY), rug, correcting=False)
    assert saved == key.removeprefix("Save ") + " saved"


def test_a_new_rug_s_first_evening_offers_what_an_evening_at_the_rug_beside_it_ties() -> None:
    fresh = book(plan=plan(hours_per_week=40.0))
    beside = evening_of(book(*(session(n, 4) for n in range(1, 6)), plan=plan(knots_across=300)))
    # Four rows of 300 knots are twelve of 100; by the plan's hours it would be far more.
    assert beside is not None
    assert session_page.suggestions(fresh, lately=beside) == (8, 10, 12, 14, 16)
    assert max(session_page.suggestions(fresh)) > 16
    state = session_page.build_session_state(
        session_page.blank_form(fresh, TODAY), fresh, TODAY, lately=beside
    )
    assert state.suggestions == (8, 10, 12, 14, 16)
    # What is offered is not asked about, and what is usual there is named.
    slow = evening_of(book(session(1, 1), plan=plan(knots_across=50, knots_per_hour=50)))
    form = replace(session_page.blank_form(fresh, TODAY), rows=16)
    assert session_page.doubt_of(form, fresh, TODAY, beside) is None
    doubt = session_page.doubt_of(form, fresh, TODAY, slow)
    assert doubt is not None
    assert "16 rows? 1 row is usual." in doubt.question
    # What is in doubt is what "Change" opens.
    assert session_page.field_doubted(doubt) == "rows"
    assert session_page.field_doubted(None) == ""
    long = session_page.doubt_of(replace(form, hours=20.0, hours_said=True), fresh, TODAY, beside)
    assert session_page.field_doubted(long) == "hours"
    # Three of its weavers are not one of this rug's; once it was woven on, its own evenings count.
    team = evening_of(book(session(1, 12, weavers=("ann", "bo", "cem"))))
    assert max(session_page.suggestions(fresh, lately=team)) < 8
    own = book(session(1, 5), session(2, 5))
    assert session_page.suggestions(own, lately=beside) == session_page.suggestions(own)
    assert evening_of(book()) is None


def test_a_correction_below_what_came_after_it_is_asked_about() -> None:
    woven = (session(1, 20), session(2, 5), session(3, -3), session(4, 4))
    measured = Measurement(id="m", rug_id="rug", day=woven[-1].day, row=26, length_cm=10.4, born=9)
    rug = book(*woven, measurements=(measured,))
    form = session_page.form_of(woven[1], rug)
    told = "Later entries tell of rows that were then never woven: rows 23 to 25 unpicked (4 Nov) and cloth measured at row 26 (5 Nov)."
    doubt = session_page.doubt_of(replace(form, rows=4), rug, TODAY)
    assert doubt is not None
    assert (doubt.question, doubt.save) == (told, "Yes, save it")
    assert session_page.field_doubted(doubt) == "rows"
    assert session_page.doubt_of(replace(form, rows=6), rug, TODAY) is None
    # Whatever else is asked stands before it.
    long = session_page.doubt_of(replace(form, rows=4, hours=14.0, hours_said=True), rug, TODAY)
    assert long is not None
    assert long.question.endswith(f". {told}")
    assert session_page.field_doubted(long) == "hours"
    # Of many the first are named.
    many = tuple(replace(measured, id=f"m{n}", born=n + 9) for n in range(5))
    doubt = session_page.doubt_of(replace(form, rows=4), replace(rug, measurements=many), TODAY)
    assert doubt is not None
    assert doubt.question.endswith("and 2 more.")


def test_an_undone_session_comes_back_without_the_slip_for_which_it_was_undone() -> None:
    rug = book(*(session(n, 6) for n in range(1, 5)))
    form = session_page.SessionForm("new", TODAY, rows=7, hours=3.0, used=(("red", 1.0),))
    assert session_page.without_slip(form, rug, TODAY) == form
    # Seventy rows where six are usual: the ball that ended and the note were no slip.
    slip = replace(form, rows=70)
    assert session_page.without_slip(slip, rug, TODAY) == replace(form, rows=0, hours=None)
    given = replace(slip, hours_said=True)
    assert session_page.without_slip(given, rug, TODAY) == replace(given, rows=0)
    # Nothing but rows: the next session begins as any other does.
    assert session_page.without_slip(replace(slip, used=()), rug, TODAY) is None
    # Nor those that are too many for a day that has some already.
    full = book(*(session(n, 23) for n in range(1, 5)), session(5, 23, day=TODAY), plan=plan(rows=900))
    assert session_page.without_slip(replace(form, rows=50, used=()), full, TODAY) is None


def test_many_times_the_usual_rows_are_asked_about() -> None:
    rug = book(session(1, 4), session(2, 4), session(3, 4))

    def asked(rows: int, of=rug) -> int | None:
        return unlikely_rows(rows, of, "")

    # Three times the usual four, and ten more than it.
    assert (asked(13), asked(14), asked(15)) == (None, 4, 4)
    small = book(session(1, 2), session(2, 2), session(3, 2))
    assert (asked(11, small), asked(12, small)) == (None, 2)
    assert (asked(13, book(session(1, 4))), asked(14, book(session(1, 4)))) == (None, 4)
    assert (asked(92, book(session(1, 31))), asked(93, book(session(1, 31)))) == (None, 31)
    planned = usual_rows(book())
    assert (asked(3 * planned - 1, book()), asked(4 * planned + 10, book())) == (None, planned)
    own = book(session(1, 40))
    assert unlikely_rows(4 * planned + 10, own, own.sessions[0].id) == planned, (
        "its own rows say nothing of it"
    )


def test_a_second_session_of_a_day_is_judged_by_the_whole_day() -> None:
    rug = book(*(session(n, 23) for n in range(1, 6)), plan=plan(rows=900))
    last = rug.sessions[-1].day

    def asked(rows: int, of: RugBook = rug, *weavers: str, on: date = last) -> str:
        form = session_page.SessionForm("new", on, rows=rows, weavers=weavers)
        doubt = session_page.doubt_of(form, of, TODAY)
        return "" if doubt is None else doubt.question

    # 23 rows are there: 45 more are less than three days' rows, 46 are three.
    assert asked(45) == ""
    assert asked(46).startswith("That makes 69 rows on ")
    assert asked(50).endswith("? 23 rows a day are usual.")
    assert (
        session_page.field_doubted(
            session_page.doubt_of(session_page.SessionForm("new", last, rows=50), rug, TODAY)
        )
        == "rows"
    )
    # Alone on its day it may be that long; two seats of a team, each with its own name, may have both.
    assert asked(50, on=last + timedelta(days=1)) == ""
    assert asked(50, rug, "ann").startswith("That makes 73 rows")
    assert asked(50, rug, "bo") == ""
    assert asked(23, rug, "ann") == "", "two seats that log an ordinary evening each are not asked"
    # Where several sessions a day are the habit, their sum is what is usual: 39 rows are less than three times 16.
    often = book(*(session(n, 8, id=f"{n}{part}") for n in range(1, 6) for part in "ab"), plan=plan(rows=900))
    assert asked(23, often) == ""
    # Who sits down once more for no more rows than are usual made no slip, however many the day has.
    full = replace(rug, sessions=(*rug.sessions, session(5, 60, id="s5b")))
    assert asked(23, full) == ""
    assert asked(24, full).startswith("That makes 107 rows")
    # A note that is added to such a session later asks nothing.
    held = session_page.form_of(full.sessions[-1], full)
    assert session_page.doubt_of(replace(held, note="a word"), full, TODAY) is None
    # The first day has the plan alone to be held against.
    first = book(session(1, 4), plan=plan(hours_per_week=6.0))
    usual = usual_rows(book(plan=first.plan))
    assert asked(max(3 * usual, usual + 10) - 4, first, on=first.sessions[0].day).endswith("a day are usual.")
    assert asked(max(3 * usual, usual + 10) - 5, first, on=first.sessions[0].day) == ""


def test_the_hours_of_a_day_are_added_up_and_said_as_the_form_says_them() -> None:
    rug = book(*(session(n, 20, 7.0) for n in range(1, 6)), plan=plan(rows=900))
    last = rug.sessions[-1].day

    def asked(hours: float, rows: int = 20, *weavers: str, of: RugBook = rug) -> str:
        form = session_page.SessionForm("new", last, rows=rows, hours=hours, hours_said=True, weavers=weavers)
        doubt = session_page.doubt_of(form, of, TODAY)
        return "" if doubt is None else doubt.question

    assert asked(5.0) == ""
    assert asked(5.25) == "12.25 hours at the loom in one day."
    assert asked(5.25, 20, "ann") == "12.25 hours at the loom in one day."
    assert asked(5.25, 20, "bo") == "", "another hand's day is another day"
    pair = replace(rug, plan=replace(rug.plan, weavers_planned=2))
    assert asked(9.0, of=pair) == "", "two seats of whom nobody is named logged side by side"
    assert asked(5 / 60, 9) == "5 min for 9 rows: about 3.2 h is usual."
    # Where there is no record it is the plan that says how long; what is tied of the next row is named.
    fresh = session_page.SessionForm("new", last, rows=4, begun_knots=20, hours=9.0, hours_said=True)
    doubt = session_page.doubt_of(fresh, book(plan=plan(knots_across=40, knots_per_hour=None)), TODAY)
    assert doubt is not None
    assert re.fullmatch(r"9 h for 4 rows and 20 knots: by the plan it is about \d+ min\.", doubt.question)
    assert session_page.field_doubted(doubt) == "hours"
    slow = book(*(session(n, 2, 12.0) for n in range(1, 6)))
    assert asked(0.5, 1, of=slow) == "30 min for 1 row: about 6 h is usual."
    # Less than an hour is minutes in the record too, where a quarter was the finest: five minutes were none.
    short = book(session(1, 1, 5 / 60))
    assert [fact.figure for fact in weaving_facts(short)][1] == "5 min"
    taught = build_lesson_state(short, lessons_of(short), TODAY)
    assert any("by one weaver: 100 knots in 5 min" in note for _label, _figure, note in taught.facts)
    # A long day is told to the quarter it was given to.
    given = session_page.SessionForm("new", TODAY, hours=12.25, hours_said=True)
    assert session_page.build_session_state(given, rug, TODAY).hours == "12.25 h"


def test_a_session_opened_for_correction_is_saved_only_when_something_was_changed() -> None:
    rug = book(session(1, 6), session(2, 4, used=(("red", 1.0),), note="late"))
    for held in rug.sessions:
        form = session_page.form_of(held, rug)
        assert not session_page.build_session_state(form, rug, TODAY, correcting=True).can_save
        assert session_page.build_session_state(
            replace(form, note="a word"), rug, TODAY, correcting=True
        ).can_save
        assert session_page.build_session_state(form.with_rows(7, rug), rug, TODAY, correcting=True).can_save


def test_correcting_a_session_counts_the_others_only() -> None:
    rug = book(session(1, 190), session(2, 10))
    form = replace(session_page.form_of(rug.sessions[1], rug), rows=9)
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
    assert state.rows_after == "then row 45 of 200 done"
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
    # The other pages go by the same rows: where a mistake may sit, whether a rug lacks rows when it is called finished.
    assert marks.form_at(held, TODAY, 210, 5).answers["row"] == 210
    assert marks.form_at(rows_kept, TODAY, 210, 5).answers["row"] == 200
    longer, planned = (
        replace(held, sessions=(session(1, 205),)),
        replace(rows_kept, sessions=(session(1, 205),)),
    )
    assert any("not woven" in words for words in finish.left_open(longer))
    assert not finish.left_open(planned)


def test_before_the_first_row_no_row_is_named_to_stand_at() -> None:
    rug = book(plan=plan())
    form = session_page.blank_form(rug, TODAY)
    assert session_page.build_session_state(form, rug, TODAY).rows_after == ""
    assert (
        session_page.build_session_state(replace(form, rows=3), rug, TODAY).rows_after
        == "then row 3 of 200 done"
    )


def test_the_key_says_how_many_rows_and_knots_it_saves() -> None:
    rug = book(session(1, 40), plan=plan())

    def said(**changes) -> str:
        form = replace(session_page.blank_form(rug, TODAY), **changes)
        return session_page.build_session_state(form, rug, TODAY).save_words

    assert [said(rows=rows) for rows in (0, 1, 6)] == ["Save", "Save 1 row", "Save 6 rows"]
    assert said(rows=6, begun_knots=15) == "Save 6 rows and 15 knots"
    assert said(rows=0, begun_knots=15) == "Save 15 knots"
    assert said(rows=0, hours=2.0) == "Save"
