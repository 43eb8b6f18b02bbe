"""The finish: days on the month, days off split and joined as life has them, the wish, the steps after weaving."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain import rules
from tracker.domain.errors import BadEntry
from tracker.domain.loom import WarpLay
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import AfterStep, DaysOff, RugStage
from tracker.forecast.answers import Answers, Basis, FinishAnswer, Where
from tracker.forecast.outlook import outlook
from tracker.presenters import finish
from tracker.presenters.guide import GuideStage
from tracker.presenters.rates import rates_of
from tracker.presenters.record.rug_record import rug_record
from tracker.reports.text_form import as_text, as_values
from tracker.words import day


def answers(**fields) -> Answers:
    """Answers with the last row on 20 December 2026, 12 to 28 December eight times in ten."""
    last = FinishAnswer(
        **{
            "middle": date(2026, 12, 20),
            "early": date(2026, 12, 12),
            "late": date(2026, 12, 28),
            "ready": date(2026, 12, 23),
            "hours_left": 61.0,
            "weekdays": (0, 1, 2, 3, 4),
            **fields,
        }
    )
    where = Where(rows_woven=50, rows=200, knots_woven=5000, knots=20000, rows_last_session=5, hours_woven=30)
    return Answers(day=TODAY, where=where, yarns=(), finish=last, basis=Basis(sessions=9, from_plan=False))


def off(first: int, last: int, reason: str = "market", name: str = "off") -> DaysOff:
    return DaysOff(
        id=name, rug_id=None, first_day=date(2026, 12, first), last_day=date(2026, 12, last), reason=reason
    )


def days_of(state, marked) -> list[int]:
    return [d.day.day for d in state.days if d.in_month and getattr(d, marked)]


def test_each_measure_off_the_loom_is_answered_with_what_it_tells() -> None:
    bare = plan()
    washed = plan(unwashed_width_cm=41.0, finished_width_cm=40.18, unwashed_g=1100.0, washed_g=1089.0)
    assert (
        finish.measured_words(book(plan=plan(unwashed_width_cm=41.0)), "unwashed_width_cm", "cm")
        == "Unwashed width: 41 cm."
    )
    assert finish.measured_words(book(plan=bare), "washed_g", "cm") == "Washed weight: not weighed."
    assert (
        finish.measured_words(book(plan=bare), "finished_length_cm", "cm") == "Finished length: not measured."
    )
    # 2 % of 41 cm, 1 % of 1.1 kg; the order is for 40 × 80 cm.
    assert finish.measured_words(book(plan=washed), "washed_g", "cm") == (
        "Washed weight: 1.09 kg. Taken by washing: 2 % of the width, 11 g of the weight (1 %)."
    )
    both = replace(washed, finished_length_cm=79.0)
    assert finish.measured_words(book(plan=both), "finished_width_cm", "inch").startswith(
        "Finished width: 15.8 in. Planned: 15.7 × 31.5 in; "
    )


def test_a_month_is_whole_weeks_that_begin_where_the_weaver_wants() -> None:
    state = finish.build_month_state(book(), answers(), date(2026, 12, 5), TODAY)
    assert state.title == "December 2026"
    assert len(state.days) % 7 == 0
    assert state.days[0].day == date(2026, 11, 30)  # a Monday
    sunday_first = finish.build_month_state(book(), answers(), date(2026, 12, 5), TODAY, first_weekday=6)
    assert sunday_first.days[0].day == date(2026, 11, 29)
    assert sunday_first.weekdays[0] == "S"


def test_a_day_of_unpicking_alone_is_not_marked_as_woven() -> None:
    rug = book(session(1, 5), session(2, -2), session(3, 4), session(4, 3), session(4, -1, id="s5"))
    state = finish.build_month_state(rug, answers(), date(2026, 11, 5), TODAY)
    marked = {day.rows: day.woven for day in state.days if day.rows}
    assert marked == {5: True, -2: False, 4: True, 2: True}


def test_the_month_marks_the_range_the_middle_the_wish_and_days_off() -> None:
    rug = book(plan=plan(wished_day=date(2026, 12, 24)), days_off=(off(7, 9),))
    state = finish.build_month_state(rug, answers(), date(2026, 12, 1), TODAY)
    # Of the range what is told itself, and the days of the plan: on Saturdays and Sundays nobody sits at the loom.
    assert days_of(state, "in_range") == [12, *range(14, 19), 20, *range(21, 26), 28]
    there = finish.build_month_state(rug, answers(weekdays=(0, 5)), date(2026, 12, 1), TODAY)
    assert {19, 26} <= set(days_of(there, "in_range"))
    assert days_of(state, "middle") == [20]
    assert days_of(state, "wished") == [24]
    assert days_of(state, "off") == [7, 8, 9]


def test_days_woven_show_their_rows_beside_the_best_day() -> None:
    rug = book(session(1, 8), session(2, 4), session(3, -2))
    state = finish.build_month_state(rug, answers(), date(2026, 11, 1), TODAY)
    woven = {d.day.day: (d.rows, d.share) for d in state.days if d.woven}
    assert woven == {2: (8, 1.0), 3: (4, 0.5)}
    assert days_of(state, "today") == [25]


def test_one_saturday_of_a_plan_from_monday_to_friday_shades_no_other() -> None:
    """Planned from Monday to Friday, with one Saturday in the record, every Saturday was called a likely last day."""

    def shaded(*saturdays: int) -> set[int]:
        evenings = [2, 3, 4, 5, 6, 9, 10, 11, 12, 13, 16, 17, *saturdays]
        sat = tuple(session(on, 4, 3.0, day=date(2026, 11, on)) for on in sorted(evenings))
        rug = book(*sat, plan=plan(weekdays=(0, 1, 2, 3, 4), rows=160))
        told = outlook(rug, date(2026, 11, 18))
        last = told.finish
        assert last is not None
        days = {last.early + timedelta(days=at) for at in range((last.late - last.early).days + 1)}
        months = {finish.other_month(on, 0) for on in days}
        marked = {
            day.day
            for shown in months
            for day in finish.build_month_state(rug, told, shown, told.day).days
            if day.in_range and day.day not in (last.early, last.middle, last.late)
        }
        assert marked, "the range is shaded at all"
        return {day.weekday() for day in marked}

    assert shaded() <= {0, 1, 2, 3, 4}
    assert shaded(7) <= {0, 1, 2, 3, 4}
    # Whoever does it again weaves on Saturdays.
    assert 5 in shaded(7, 14)


def test_months_turn_over_the_year() -> None:
    assert finish.other_month(date(2026, 12, 1), 1) == date(2027, 1, 1)
    assert finish.other_month(date(2026, 1, 1), -1) == date(2025, 12, 1)


def test_a_day_is_read_in_words() -> None:
    rug = book(
        session(1, 8, 2.5),
        session(2, -2, None),
        days_off=(off(7, 9),),
        plan=plan(wished_day=date(2026, 12, 24)),
    )

    def said(day: date) -> str:
        return finish.day_words(rug, answers(), day, TODAY)

    assert said(date(2026, 11, 2)) == "Monday, 2 November: +8 rows in 2.5 h"
    assert said(date(2026, 11, 3)) == "Tuesday, 3 November: −2 rows"
    assert said(date(2026, 11, 4)) == "Wednesday, 4 November: no session"
    assert said(date(2026, 12, 8)) == "Tuesday, 8 December: day off: market"
    assert said(date(2026, 12, 20)) == "Sunday, 20 December: the last row about here"
    assert said(date(2026, 12, 24)) == "Thursday, 24 December: the last row may come here; target date"
    assert said(TODAY) == "Wednesday, 25 November: today"


def test_how_far_an_act_moved_the_last_row_is_said_without_a_sign() -> None:
    before = answers()
    assert before.finish is not None

    def moved(days: int) -> str:
        middle = before.finish.middle + timedelta(days=days)
        return finish.moved_words(before, replace(before, finish=replace(before.finish, middle=middle)))

    assert moved(2) == f"Last row 2 days later: {day(before.finish.middle + timedelta(days=2), before.day)}."
    assert moved(-1) == f"Last row 1 day sooner: {day(before.finish.middle - timedelta(days=1), before.day)}."
    assert moved(0) == finish.moved_words(None, before) == ""


def test_a_tap_takes_a_day_off_and_a_second_tap_withdraws_it() -> None:
    day = date(2026, 12, 8)
    first = finish.toggle_day_off(book(), day, TODAY)
    (value,) = first.values
    assert (value.first_day, value.last_day, value.rug_id, first.now_off) == (day, day, None, True)
    second = finish.toggle_day_off(book(days_off=(value,)), day, TODAY)
    assert (second.values, second.withdraw, second.now_off) == ((), (value.id,), False)


@pytest.mark.parametrize(
    ("day", "left"),
    [(7, [(8, 10)]), (10, [(7, 9)]), (8, [(7, 7), (9, 10)])],
)
def test_a_day_taken_out_of_an_absence_leaves_the_rest(day, left) -> None:
    change = finish.toggle_day_off(book(days_off=(off(7, 10),)), date(2026, 12, day), TODAY)
    assert [(v.first_day.day, v.last_day.day) for v in change.values] == left
    assert change.values[0].id == "off"
    assert len({v.id for v in change.values}) == len(left)
    assert {v.reason for v in change.values} == {"market"}
    assert change.withdraw == ()


def test_a_day_covered_twice_is_free_after_one_tap() -> None:
    rug = book(days_off=(off(7, 10), off(8, 8, name="second")))
    change = finish.toggle_day_off(rug, date(2026, 12, 8), TODAY)
    assert change.withdraw == ("second",)
    after = book(days_off=change.values)
    state = finish.build_month_state(after, answers(), date(2026, 12, 1), TODAY)
    assert days_of(state, "off") == [7, 9, 10]


def test_a_reason_goes_to_the_absence_of_the_day() -> None:
    rug = book(days_off=(off(7, 10),))
    assert finish.with_reason(rug, date(2026, 12, 9), " wedding ").reason == "wedding"
    assert finish.with_reason(rug, date(2026, 12, 11), "x") is None


def test_rugs_woven_in_the_same_weeks_are_named_and_those_woven_in_turn_are_not() -> None:
    """Two rugs of one weaver were each reckoned with all of her week, and no page said so."""
    rug, other = book(), plan(id="runner", name="Runner")
    turn = replace(other, warp_after=rug.plan.id)
    planned, beside = replace(other, stage=RugStage.PLANNED), replace(turn, warp_lay=WarpLay.BESIDE)
    told = [
        any(
            "Runner is on the loom, too." in line
            for line in finish.build_finish_state(rug, answers(), plans=(rug.plan, one)).rests_on
        )
        for one in (other, beside, turn, planned)
    ]
    assert told == [True, True, False, False]


def test_the_wish_is_said_with_its_chance_and_what_it_takes() -> None:
    rug = book(plan=plan(wished_day=date(2026, 12, 24)))
    state = finish.build_finish_state(rug, answers(chance_of_wish=0.71, rows_a_day_for_wish=7.25))
    assert state.wish == "24 December"
    assert state.wish_words == "The last row by then: likely. That needs 7.2 rows on every weaving day."
    past = finish.build_finish_state(
        book(plan=plan(wished_day=date(2026, 11, 24))), answers(chance_of_wish=0.0)
    )
    assert past.wish_words == "That day is past."
    assert finish.build_finish_state(book(), answers()).wish_words == "Set a date to see how likely it is."


def test_a_past_day_is_not_wished_for() -> None:
    with pytest.raises(BadEntry):
        finish.with_wish(plan(), date(2026, 11, 24), TODAY)
    assert finish.with_wish(plan(wished_day=TODAY), None, TODAY).wished_day is None


def test_the_answer_names_its_range_and_the_day_it_is_ready() -> None:
    state = finish.build_finish_state(
        book(), answers(marks=(("half-way", 100, date(2026, 12, 1), date(2026, 12, 3), date(2026, 12, 6)),))
    )
    assert state.label == "Last row, from 9 sessions"
    assert state.figure == "20 December"
    assert state.span == "likely 12 Dec to 28 Dec"
    assert state.ready == "Ready 23 December, with the steps after weaving."
    assert state.marks == (finish.MarkLine("Half-way, row 100", "3 Dec", "1 Dec to 6 Dec"),)
    one_day = answers(marks=(("half-way", 100, *3 * (date(2026, 12, 3),)),))
    assert finish.build_finish_state(book(), one_day).marks[0].span == ""


def test_steps_stand_in_their_order_and_are_ticked_and_opened() -> None:
    wash = AfterStep(id="w", rug_id="rug", number=2, name="Wash", days=4)
    cut = AfterStep(id="c", rug_id="rug", number=1, name="Cut off", days=1)
    done = finish.ticked(cut, TODAY)
    assert done.done_day == TODAY
    assert finish.ticked(done, TODAY).done_day is None
    # A rug with rows to weave is not cut off: a tick that shortens what follows the last row is told beside them.
    assert finish.ticked_words(done, 12) == f"{done.name}: done, with 12 rows still to weave?"
    assert finish.ticked_words(done, 0) == f"{done.name}: done."
    assert finish.ticked_words(replace(done, name="Buy a box"), 12) == "Buy a box: done."
    assert finish.ticked_words(cut, 12) == f"{cut.name}: open again."
    lines = finish.build_finish_state(book(after_steps=(wash, done)), answers()).steps
    assert [(s.name, s.done, s.note) for s in lines] == [
        ("Cut off", True, "done 25 Nov"),
        ("Wash", False, "4 days"),
    ]
    assert finish.new_step(book(after_steps=(wash, cut))).number == 3
    assert [s.number for s in finish.usual_steps("rug")] == [1, 2, 3, 4]
    # Taken on two phones they are the same steps: joined, the rug was ready eight days too late.
    assert finish.usual_steps("rug") == finish.usual_steps("rug")
    assert len({step.id for rug_id in ("rug", "other") for step in finish.usual_steps(rug_id)}) == 8


def test_a_step_needs_a_name_and_days_that_can_be() -> None:
    step = finish.new_step(book())
    with pytest.raises(BadEntry):
        finish.checked_step(step)
    with pytest.raises(BadEntry):
        finish.checked_step(replace(step, name="Wash", days=400))
    with pytest.raises(BadEntry) as refused:
        finish.checked_step(replace(step, name="W" * (finish.LONGEST_NAME + 1)))
    assert refused.value.sentence == f"Keep the name under {finish.LONGEST_NAME} characters."
    assert finish.checked_step(replace(step, name="W" * finish.LONGEST_NAME)).days == step.days
    assert finish.checked_step(replace(step, name="  Wash   it ")).name == "Wash it"


def test_a_woven_rug_is_called_finished_on_the_day_of_its_last_step() -> None:
    woven = replace(answers(), finish=None, finished=True)
    rug = book(session(1, 200, day=date(2026, 11, 20)))
    state = finish.build_finish_state(rug, woven)
    assert state.can_finish
    assert state.woven
    assert (state.label, state.figure, state.rests_on) == ("Last row woven", "20 November", ())
    done = finish.finished_plan(rug, TODAY)
    assert (done.stage, done.finished_day) == (RugStage.FINISHED, date(2026, 11, 20))
    fringe = AfterStep(id="f", rug_id="rug", number=1, name="Fringe", days=1, done_day=date(2026, 11, 23))
    open_step = AfterStep(id="g", rug_id="rug", number=2, name="Wash", days=1)
    stepped = replace(rug, after_steps=(fringe, open_step))
    assert finish.finished_plan(stepped, TODAY).finished_day == date(2026, 11, 23)
    assert finish.finished_plan(book(sessions=()), TODAY).finished_day == TODAY
    assert finish.finished_day_words(done, TODAY) == "20 November"
    after = finish.build_finish_state(book(plan=done), woven)
    assert not after.can_finish
    assert (after.label, after.figure) == ("Finished", "20 November")


def test_the_hours_left_the_pace_and_the_week_multiply_out_to_the_date() -> None:
    # 61 h for 150 rows is 24.4 min a row; 25 November to 20 December is 25 days, 3.571 weeks: 17.08 h a week.
    state = finish.build_finish_state(book(), answers())
    assert state.left == "About 61 h at the loom are left."
    assert state.rests_on[:2] == (
        "150 rows to come at 24.4 min a row: 61 h.",
        "61 h at 17.08 h a week, days off included: 3.6 weeks, until 20 December. Planned: 15 h a week.",
    )


def test_beside_the_pace_to_come_stands_what_it_has_been() -> None:
    # Two evenings within five days, 30 and 50 min a row; half of row 51 is tied, so that 149.5 rows are left.
    rug = book(session(1, 6), session(5, 6, 5.0))
    state = finish.build_finish_state(rug, replace(answers(), where=replace(answers().where, knots_begun=50)))
    assert state.rests_on[:2] == (
        "149.5 rows to come at 24.5 min a row: 61 h. So far it was 40 min a row.",
        "61 h at 17.08 h a week, days off included: 3.6 weeks, until 20 December. So far it was 8 h in 5 days (planned: 15 h a week).",
    )
    # Ten evenings: the first five took 30 min a row, the last five 36.
    longer = book(*(session(1 + 2 * n, 5, 2.5 if n < 5 else 3.0, id=f"s{n}") for n in range(10)))
    words = finish.build_finish_state(longer, answers()).rests_on
    assert words[0] == "150 rows to come at 24.4 min a row: 61 h. Lately it was 36 min a row."
    # 27.5 h in 19 days.
    assert words[1].endswith("So far it was 10.1 h a week (planned: 15 h a week).")


def test_after_the_last_row_the_day_is_told_on_which_the_rug_will_be_ready() -> None:
    cut = AfterStep(id="c", rug_id="rug", number=1, name="Cut off", days=1, done_day=TODAY)
    wash = AfterStep(id="w", rug_id="rug", number=2, name="Wash", days=4)
    shear = AfterStep(id="s", rug_id="rug", number=3, name="Shear", days=0.5)
    woven = replace(answers(), finish=None, finished=True)
    state = finish.build_finish_state(book(after_steps=(cut, wash, shear)), woven)
    # 25 November, and 4.5 days of work.
    assert state.ready == "Ready about 30 November: 4.5 days of work after weaving are still open."
    over = plan(stage=RugStage.FINISHED, finished_day=TODAY)
    assert finish.build_finish_state(book(after_steps=(cut, wash), plan=over), woven).ready == ""


def test_the_month_marks_the_day_on_which_all_is_ready_as_the_page_tells_it() -> None:
    wash = AfterStep(id="w", rug_id="rug", number=2, name="Wash", days=4)
    rug = book(after_steps=(wash,))
    # The last row about 20 December, and four days more.
    foreseen = replace(answers(), finish=replace(answers().finish, ready=date(2026, 12, 24)))
    state = finish.build_month_state(rug, foreseen, date(2026, 12, 1), TODAY)
    assert days_of(state, "ready") == [24]
    assert ("ready", "ready, all steps done") in finish.legend((state,))
    assert "ready" in finish.day_words(rug, foreseen, date(2026, 12, 24), TODAY)
    assert "24 December" in finish.build_finish_state(rug, foreseen).ready
    # Nothing follows the last row: there is no second day to mark.
    bare = replace(answers(), finish=replace(answers().finish, ready=date(2026, 12, 20)))
    assert not any(day.ready for day in finish.build_month_state(book(), bare, date(2026, 12, 1), TODAY).days)
    # Every row is woven: 25 November and four days of work.
    woven = replace(answers(), finish=None, finished=True)
    state = finish.build_month_state(rug, woven, TODAY, TODAY)
    assert days_of(state, "ready") == [29]
    assert finish.day_words(rug, woven, date(2026, 11, 29), TODAY).endswith(
        ": ready, with the steps after weaving"
    )
    assert "29 November" in finish.build_finish_state(rug, woven).ready


def test_the_legend_names_only_what_stands_on_the_months_shown() -> None:
    # November holds today and the woven 20th; the last row is likely from 12 to 28 December.
    rug = book(session(1, 5, day=date(2026, 11, 20)))

    def faces(*months: date) -> list[str]:
        shown = [finish.build_month_state(rug, answers(), month, TODAY) for month in months]
        return [face for face, _words in finish.legend(shown)]

    assert faces(date(2026, 11, 1)) == ["woven", "today"]
    assert faces(date(2026, 12, 1)) == ["range", "middle", "ready"]
    assert faces(date(2026, 11, 1), date(2026, 12, 1)) == ["woven", "today", "range", "middle", "ready"]
    assert faces(date(2027, 6, 1)) == []


def test_a_finish_within_the_week_speaks_of_no_week() -> None:
    soon = finish.build_finish_state(book(), answers(middle=date(2026, 11, 28), hours_left=6.0))
    assert "a week" not in " ".join(soon.rests_on)
    assert soon.left.startswith("About 6 h")


def test_a_finish_within_the_week_says_how_the_hours_left_come_to_the_day() -> None:
    told = answers(middle=TODAY + timedelta(days=3), hours_left=6.0)
    # Today is still to come: four days with it.
    on = day(TODAY + timedelta(days=3), TODAY)
    assert (
        f"6 h in 4 days, days off included, until {on}: 1.5 h a day."
        in finish.build_finish_state(book(), told).rests_on
    )
    # Of a rug that begins the day after tomorrow there are two.
    later = book(sessions=(), plan=replace(book().plan, start_day=TODAY + timedelta(days=2)))
    assert (
        f"6 h in 2 days, days off included, until {on}: 3 h a day."
        in finish.build_finish_state(later, told).rests_on
    )
    evenings = [session(n, 5, h, day=TODAY - timedelta(days=2 - n)) for n, h in ((1, 1.0), (2, 2.5))]
    assert f"6 h in 3 days, days off included, until {on}: 2 h a day. Lately it was 1.75 h an evening." in (
        finish.build_finish_state(book(*evenings), told).rests_on
    )


def test_what_likely_means_is_said_once_beside_what_the_date_is_based_on() -> None:
    said = " ".join(finish.build_finish_state(book(), answers()).rests_on)
    assert said.count("four cases of five") == 1


def test_a_step_can_be_added_though_one_has_the_largest_number_there_is() -> None:
    """Another phone's file may number a step so; a next one must still be one that the book takes."""
    rug = replace(
        book(),
        after_steps=(
            AfterStep(id="s", rug_id="rug", number=100_000, name="Wash", days=1.0),
            AfterStep(id="t", rug_id="rug", number=1, name="Shear", days=1.0),
        ),
    )
    step = replace(finish.new_step(rug), name="Fringe")
    rules.check(step)
    assert step.number == 2


def test_after_one_evening_the_pace_says_that_the_plan_counts_beside_it() -> None:
    # Ten rows in three hours: 18 minutes a row; the plan's own pace is another.
    said = {}
    for evenings in ((), (session(1, 10),), (session(1, 10), session(2, 10))):
        rug = book(*evenings)
        told = outlook(rug, date(2026, 11, 3))
        state = finish.build_finish_state(rug, told)
        said[len(evenings)] = (state.label, state.rests_on[0].partition(" h.")[2].strip())
    assert said[0] == ("Last row, by the plan", "")
    assert said[1] == (
        "Last row, by the plan and 1 session",
        "From the plan and your one session with hours (18 min a row).",
    )
    assert said[2] == ("Last row, from 2 sessions", "So far it was 18 min a row.")


def test_washing_is_told_once_something_was_measured_before_and_after() -> None:
    woven = book(session(1, 200))
    told = outlook(woven, TODAY)
    assert told.finished
    state = finish.build_finish_state(woven, told)
    assert [reading.answer for reading in state.readings] == ["not measured"] * 4 + ["not weighed"] * 2
    assert state.washing == ""
    measured = replace(
        woven,
        plan=replace(
            woven.plan,
            unwashed_width_cm=40.0, finished_width_cm=39.2, unwashed_length_cm=80.0, finished_length_cm=80.8,
            unwashed_g=2000.0, washed_g=1900.0,
        ),
    )  # fmt: skip
    state = finish.build_finish_state(measured, outlook(measured, TODAY))
    assert state.washing == "Taken by washing: 2 % of the width, 1 % longer, 100 g of the weight (5 %)."
    assert [reading.answer for reading in state.readings][4:] == ["2 kg", "1.9 kg"]
    inches = finish.build_finish_state(measured, outlook(measured, TODAY), "inch")
    assert inches.readings[0].answer == "15.7 in"


def test_the_record_and_the_text_tell_the_washing() -> None:
    woven = book(session(1, 200))
    washed = replace(
        woven,
        plan=replace(woven.plan, unwashed_length_cm=80.0, finished_length_cm=78.0, unwashed_g=2000.0, washed_g=1900.0),
    )  # fmt: skip
    told = outlook(washed, TODAY)
    facts = {fact.label: fact for fact in rug_record(washed, told).facts}
    assert facts["Weight"].figure == "1.9 kg"
    assert facts["Taken by washing"].figure == "2.5 % of the length"
    assert facts["Taken by washing"].more == "100 g of the weight (5 %)"
    plain_facts = {fact.label for fact in rug_record(woven, outlook(woven, TODAY)).facts}
    assert "Taken by washing" not in plain_facts
    assert "Taken by washing: 2.5 % of the length" in as_text(washed, told)
    values = as_values(washed, told)["rug"]
    assert (values["unwashed_g"], values["washing_took"]["mass_share"]) == (2000.0, 0.05)


def test_a_mistake_that_nobody_ticked_off_is_told_before_the_rug_is_finished() -> None:
    woven = replace(answers(), finish=None, finished=True)
    marks = (
        CartoonMark(id="a", rug_id="rug", day=TODAY, row=60, first_knot=1, last_knot=1),
        CartoonMark(id="b", rug_id="rug", day=TODAY, row=47, first_knot=21, last_knot=21),
        CartoonMark(id="c", rug_id="rug", day=TODAY, row=3, first_knot=1, last_knot=1, mended_day=TODAY),
    )
    rug = replace(book(session(1, 200, day=TODAY)), marks=marks[1:])
    assert finish.build_finish_state(rug, woven).mistakes == "1 mistake is still marked: Row 47, knot 21."
    assert finish.build_finish_state(rug, answers()).mistakes == ""
    assert finish.left_open(replace(rug, plan=plan(rows=rug.rows_woven))) == (
        "1 mistake is still marked: Row 47, knot 21.",
    )
    two = replace(rug, marks=marks, plan=plan(rows=rug.rows_woven + 1))
    assert finish.left_open(two) == (
        "2 mistakes are still marked, the lowest: Row 47, knot 21.",
        "1 row of the plan is not woven. Is the rug finished all the same?",
    )
    assert finish.left_open(replace(rug, marks=marks[2:], plan=plan(rows=rug.rows_woven))) == ()


def test_what_is_measured_of_a_finished_rug_is_asked_in_the_weavers_unit() -> None:
    measured = plan(finished_width_cm=25.4, washed_g=2100.0)
    assert [finish.reading_words(measured, name, "inch") for name in finish.FINISHED_READINGS] == [
        "10 in", "not measured", "2.1 kg",
    ]  # fmt: skip


def test_why_a_row_ahead_takes_other_time_than_the_last_ones_stands_beside_both() -> None:
    rug = book(*(session(number, 10, 3.0) for number in range(1, 15)))
    told = outlook(rug, TODAY)
    why = "A design goes quicker the longer it is woven."
    said = finish.build_finish_state(rug, replace(told, basis=replace(told.basis, row_ahead=why))).rests_on
    assert re.search(r"a row\. " + re.escape(why) + "$", said[0]), said


def test_fewer_hours_a_week_than_planned_are_explained_and_a_week_of_waiting_is_none() -> None:
    rug = book(plan=plan(hours_per_week=20.0, start_day=TODAY))
    alone = " ".join(finish.build_finish_state(rug, outlook(rug, TODAY)).rests_on)
    assert "Planned: 20 h a week. Less than planned: now and then an evening is missed or shorter." in alone
    assert "From the plan alone." in alone
    begin = TODAY + timedelta(days=30)
    later = replace(rug, plan=replace(rug.plan, start_day=begin))
    told = outlook(later, TODAY)
    assert told.finish is not None
    rates = rates_of(later, told)
    assert rates.week_ahead_h == pytest.approx(
        told.finish.hours_left * 7 / (told.finish.middle - begin).days
    ), "a month in which nobody means to weave is no part of the week"
    assert rates.week_ahead_h > 0.7 * 20.0
    said = " ".join(finish.build_finish_state(later, told).rests_on)
    assert "From 25 Dec on " in said
    # A note of before the first knot is no evening at the loom.
    noted = replace(later, sessions=(session(0, 0, None, day=TODAY, note="A shuttle is wound"),))
    assert rates_of(noted, outlook(noted, TODAY)).week_ahead_h == rates.week_ahead_h
    days = [TODAY - timedelta(days=400 - number) for number in range(0, 60, 3)]
    woven = tuple(session(number, 10, 1.0, day=day) for number, day in enumerate(days))
    ended = plan(
        id="before", hours_per_week=20.0, stage=RugStage.FINISHED, start_day=days[0], finished_day=days[-1]
    )
    before = book(*woven, plan=ended)
    taught = " ".join(finish.build_finish_state(rug, outlook(rug, TODAY, earlier=(before,))).rests_on)
    assert "Planned: 20 h a week. Less than planned, as on your earlier rugs" in taught
    assert "From the plan and your earlier rugs." in taught


def test_the_usual_steps_are_offered_while_one_of_them_is_missing_and_only_those_are_added() -> None:
    """Ticked off in the guide, "Cut off" took the key away with which the other three could be added."""
    rug = book(session(1, 200))
    told = outlook(rug, date(2026, 11, 3))

    def offered(
        *steps: AfterStep, ticked_off: tuple[GuideStage, ...] = ()
    ) -> tuple[str, list[tuple[str, bool]]]:
        with_steps = replace(rug, after_steps=steps)
        missing = finish.usual_steps_missing(with_steps, ticked_off, TODAY)
        words = finish.build_finish_state(with_steps, told, ticked_off=ticked_off).usual_offered
        return words, [(step.name.split()[0], step.done_day is not None) for step in missing]

    all_four = [("Cut", False), ("Wash", False), ("Shear", False), ("Fringe", False)]
    assert offered() == ("Add the usual four steps", all_four)
    assert offered(ticked_off=(GuideStage.CUT_OFF,)) == ("Add the usual four steps", all_four)
    # What the guide has ticked off wholly is done.
    (cut, _done), *_others = offered(ticked_off=(GuideStage.CUT_OFF, GuideStage.ENDS))[1]
    assert (cut, _done) == ("Cut", True)
    own = AfterStep(id="own", rug_id="rug", number=1, name="Washing at the river", days=2.0)
    cut_off, *_rest = finish.usual_steps("rug")
    assert offered(own, cut_off) == (
        "Add the 2 usual steps that are missing",
        [("Shear", False), ("Fringe", False)],
    )
    assert offered(own, cut_off, *_rest[1:]) == ("", [])
    assert offered(own, *_rest[1:]) == ("Add the usual step that is missing", [("Cut", False)])


def test_a_step_of_which_one_stage_is_done_is_shown_as_begun() -> None:
    steps = finish.usual_steps("rug")
    rug = book(session(1, 200), after_steps=steps)
    told = outlook(rug, date(2026, 11, 3))

    def shown(*ticked_off: GuideStage) -> tuple[bool, bool, str]:
        line = finish.build_finish_state(rug, told, ticked_off=ticked_off).steps[0]
        return line.done, line.begun, line.note

    assert shown() == (False, False, "1 day")
    assert shown(GuideStage.WASH) == (False, False, "1 day"), "of another step"
    assert shown(GuideStage.CUT_OFF) == (False, True, "1 of 2 done, next: Ends; 1 day")
    assert shown(GuideStage.ENDS) == (False, True, "1 of 2 done, next: Cut off; 1 day")
