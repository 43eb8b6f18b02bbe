"""What waits and what is kept: reminders, the timer, seats, conflicts of two phones, the diary's lines, in full."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from tests.drafts_in_memory import drafts
from tests.presenters import answers as told
from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.history import Conflict, Joined, Told, Withdrawal, Writer
from tracker.domain.rug import Hold, Lot, Measurement, Weighing
from tracker.domain.seats import NOBODY, seating
from tracker.forecast.outlook import outlook
from tracker.presenters import cloth, places, reminders, timer
from tracker.presenters.entry_text import names_of
from tracker.presenters.entry_versions import differences, history_lines
from tracker.presenters.sync import build_merge_state


def on(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment of November by the phone's own clock."""
    return datetime.combine(date(2026, 11, day), time(hour, minute))


NOW = on(25, 10)
UTC_NOW = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


def build(rug: Any = None, answers: Any = None, clock: timer.Timer | None = None, **changes: Any):
    kept = drafts()
    timer.keep_timer(kept, "rug", clock)
    return reminders.build_reminders(
        rug, answers, timer.running(kept, UTC_NOW), now_utc=UTC_NOW, now=NOW, **changes
    )


def test_a_session_not_written_down_is_asked_about_on_planned_days_alone() -> None:
    rug = rugs.book(rugs.session(23, 2), plan=rugs.plan(weekdays=(2, 3, 4)))
    said = [one for one in build(rug, given=TODAY) if one.kind == "session"]
    # Wednesday, Thursday and Friday at eight and half an hour.
    assert [one.due for one in said] == [on(day, 20, 30) for day in (25, 26, 27)]
    first = said[0]
    assert (first.channel, first.until, first.title, first.words, first.page, first.rug_id) == (
        "Sessions not logged", on(25, 23, 59), "Did you weave today?",
        "Nothing is logged for Little field today yet.", "session", "rug",
    )  # fmt: skip
    woven = replace(rug, sessions=(rugs.session(24, 2),))
    assert [one.due.day for one in build(woven, given=TODAY) if one.kind == "session"] == [26, 27]
    late = [on(day, 22, 15) for day in range(1, 6)]
    assert [one.due.time() for one in build(rug, entered=late, given=TODAY)][:1] == [time(22, 30)]
    assert reminders.usual_time(late) == time(22, 15)
    assert reminders.usual_time(late[:4]) == time(20)


def test_a_copy_away_from_the_phone_is_asked_for_a_fortnight_on() -> None:
    rug = rugs.book(rugs.session(14, 2), rugs.session(20, 2), plan=rugs.plan(weekdays=()))
    (copy,) = build(rug)
    # The first session that lies here alone was on 15 November.
    assert (copy.kind, copy.due, copy.until, copy.page, copy.rug_id) == (
        "copy", on(29, 9), on(29, 23, 59), "sync", "rug",
    )  # fmt: skip
    assert (copy.channel, copy.title, copy.words) == (
        "A copy away from this phone", "Keep a copy in a second place",
        "Your latest entries are on this phone only. Give or save a file with the book.",
    )  # fmt: skip
    assert [one.due.day for one in build(rug, given=date(2026, 11, 15))] == [5]
    assert build(rug, given=date(2026, 11, 21)) == ()
    old = rugs.book(rugs.session(1, 2), plan=rugs.plan(weekdays=()))
    # 16 November and then every week.
    assert [one.due for one in build(old)] == [on(30, 9)]


def test_yarn_to_order_is_told_on_its_day_all_of_a_day_together() -> None:
    rug = rugs.book(plan=rugs.plan(weekdays=()))
    by = date(2026, 11, 28)
    answers = told.answers(yarns=(
        told.yarn("red", order_g=500.0, order_by=by), told.yarn("blue", order_g=250.0, order_by=by),
        told.yarn("weft", order_g=0.0, order_by=by), told.yarn("gone", order_g=9.0, order_by=by),
    ))  # fmt: skip
    (order,) = build(rug, answers)
    assert (order.kind, order.channel, order.due, order.until, order.title, order.page, order.rug_id) == (
        "order", "Yarn to order", on(28, 9), on(28, 23, 59), "Yarn to order today", "shopping", "rug",
    )  # fmt: skip
    assert order.words == (
        "Madder: Buy 500 g now: it takes 14 days to come.\nIndigo: Buy 250 g now: it takes 14 days to come."
    )
    assert build(rug, told.answers(yarns=(told.yarn("red", order_g=500.0, order_by=TODAY),))) == ()


def test_a_break_is_called_for_twice_while_the_timer_runs() -> None:
    started = timer.start(UTC_NOW - timedelta(minutes=30))
    first, second = build(clock=started, break_minutes=45)
    assert (first.due, second.due) == (NOW + timedelta(minutes=15), NOW + timedelta(minutes=60))
    assert (first.kind, first.channel, first.until, first.title, first.words, first.page) == (
        "break", "Breaks while the timer runs", first.due + timedelta(minutes=30), "Time for a break",
        "Stand up, look into the distance, let your hands rest.", "loom",
    )  # fmt: skip
    assert build(clock=timer.pause(started, UTC_NOW), break_minutes=45) == ()
    assert build(clock=started, break_minutes=0) == build(break_minutes=45) == ()
    assert build(clock=timer.start(UTC_NOW - timedelta(hours=17)), break_minutes=45) == ()
    overdue = build(clock=timer.start(UTC_NOW - timedelta(hours=2)), break_minutes=45)
    assert overdue[0].due == NOW


def test_the_timer_counts_what_was_worked() -> None:
    begun = timer.start(UTC_NOW)

    def after(**span: float) -> datetime:
        return UTC_NOW + timedelta(**span)

    stopped = timer.pause(begun, after(minutes=30))
    assert timer.pause(stopped, after(minutes=40)) == stopped
    assert timer.worked(stopped, after(hours=5)) == timedelta(minutes=30)
    again = timer.resume(stopped, after(minutes=50))
    assert (again.paused, again.paused_s) == (False, 1200.0)
    assert timer.worked(again, after(minutes=60)) == timedelta(minutes=40)
    twice = timer.resume(timer.pause(again, after(minutes=60)), after(minutes=70))
    assert twice.paused_s == 1800.0
    assert timer.resume(begun, after(minutes=5)) == begun
    assert timer.worked(begun, after(minutes=-5)) == timedelta(0)
    assert timer.resume(stopped, after(minutes=20)).paused_s == 0.0
    assert timer.hours_worked(begun, after(hours=16)) == 16.0
    assert timer.hours_worked(begun, after(hours=16, seconds=1)) is None
    # To five minutes below an hour, to the quarter above.
    assert timer.hours_worked(begun, after(minutes=52)) == 50 / 60
    assert timer.hours_worked(begun, after(minutes=67)) == 1.0
    assert timer.shown(begun, after(minutes=65, seconds=59)) == "1:05"
    assert timer.break_due(begun, after(minutes=45), 45)
    assert not timer.break_due(begun, after(minutes=44), 45)
    assert not timer.break_due(begun, after(minutes=45), 0)
    assert not timer.break_due(stopped, after(minutes=90), 30)
    reminded = timer.reminded(begun, after(minutes=45))
    assert not timer.break_due(reminded, after(minutes=89), 45)
    assert timer.break_due(reminded, after(minutes=90), 45)
    assert timer.from_kept(timer.to_kept(again)) == again
    assert timer.to_kept(None) is timer.from_kept(None) is None
    assert timer.from_kept({**(timer.to_kept(begun) or {}), "started": "2026-11-25T07:00:00"}) is None
    assert timer.from_kept({**(timer.to_kept(begun) or {}), "paused_at": "2026-11-25T07:00:00"}) is None


# --- who sits where


def test_who_sits_where_is_what_was_set_else_told_else_shared_evenly() -> None:
    halves = (("ann", 1, 50), ("bo", 51, 100))
    apart = (("ann", 1, 40), ("bo", 61, 100))
    rug = rugs.book(rugs.session(1, 1, weavers=("ann", "bo"), places=halves, ahead=(("bo", 2),)))
    seats = seating(rug)
    assert (seats.places, seats.ahead, seats.assumed) == (halves, (("bo", 2),), False)
    set_here = seating(rug, apart)
    assert (set_here.places, set_here.ahead) == (apart, ())
    assert [(s.weaver_id, s.first, s.last) for s in set_here.sections] == [
        ("ann", 1, 40),
        (NOBODY, 41, 60),
        ("bo", 61, 100),
    ]
    alone = seating(rugs.book(rugs.session(1, 1)))
    assert (alone.places, alone.assumed) == ((("ann", 1, 100),), False)
    later = seating(replace(rug, sessions=(*rug.sessions, rugs.session(2, 1))))
    assert (later.places, later.ahead) == (halves, ())
    guessed = seating(rugs.book(rugs.session(1, 1, weavers=("bo", "ann"))))
    assert (guessed.places, guessed.assumed) == ((("bo", 1, 50), ("ann", 51, 100)), True)
    planned = seating(rugs.book(plan=rugs.plan(weavers_planned=2)))
    assert (planned.places, planned.assumed) == ((("ann", 1, 50), ("bo", 51, 100)), True)
    strangers = seating(rugs.book(plan=rugs.plan(weavers_planned=4)))
    assert (strangers.places, len(strangers.sections), strangers.assumed) == ((), 4, True)
    nobody = seating(rugs.book())
    assert (nobody.places, len(nobody.sections), nobody.assumed) == ((), 1, False)
    assert places.gap_words(apart, 100) == "Nobody sits at knots 41 to 60."
    assert places.gap_words(halves, 100) == ""
    assert [places.knots_words(knots) for knots in (1, 1200)] == ["1 knot", "1,200 knots"]
    assert [places.ahead_words(rows) for rows in (0, 1, 2)] == ["", "1 row ahead", "2 rows ahead"]
    assert places.remembered(rug, ("bo", "ann")) == (halves, (("bo", 2),))
    assert places.remembered(replace(rug, sessions=(*rug.sessions, rugs.session(2, 1))), ("ann", "bo")) == (
        halves,
        (),
    )
    assert places.remembered(rug, ("ann",)) == places.remembered(rug, ("ann", "gone")) == ((), ())


def test_seats_set_on_the_page_are_kept_until_two_sessions_say_others() -> None:
    halves = (("ann", 1, 50), ("bo", 51, 100))
    rug = rugs.book(rugs.session(3, 1))
    kept = places.with_seats({"other": 1}, rug, halves)
    assert kept == {"other": 1, "rug": {"places": [["ann", 1, 50], ["bo", 51, 100]], "born": 3}}
    assert places.seats_kept(kept, rug) == halves
    turned = (("bo", 1, 50), ("ann", 51, 100))
    since = [rugs.session(born, 1, weavers=("ann", "bo"), places=turned) for born in (4, 5)]
    assert places.seats_kept(kept, replace(rug, sessions=(*rug.sessions, since[0]))) == halves
    assert places.seats_kept(kept, replace(rug, sessions=(*rug.sessions, *since))) == ()
    assert places.seats_kept(kept, replace(rug, sessions=(rugs.session(3, 1, places=halves),))) == halves
    unsaid: dict[str, Any] = {"rug": {"places": kept["rug"]["places"]}}
    assert places.seats_kept(unsaid, replace(rug, sessions=tuple(since))) == ()
    assert places.seats_kept({"rug": {"places": [["gone", 1, 100]], "born": 3}}, rug) == ()
    assert places.seats_kept({"rug": 3}, rug) == places.seats_kept(None, rug) == ()
    assert places.with_seats(kept, rug, ()) == {"other": 1}
    assert places.with_seats("damaged", rug, ()) == {}


# --- two phones


HERE, THERE = Writer("a", "My phone", True), Writer("b", "Bo's phone", False)
NAMES = names_of((rugs.book(),))


def weighed(mass_g: float, **changes: Any) -> Weighing:
    return Weighing(
        **{"id": "w", "rug_id": "rug", "yarn_id": "red", "day": TODAY, "mass_g": mass_g, **changes}
    )


def test_what_a_file_brought_in_full() -> None:
    conflict = Conflict(
        record_id="w",
        kind="weighing",
        rug_id="rug",
        counting=Told(HERE, weighed(300.0)),
        set_aside=(Told(THERE, weighed(310.0)),),
    )
    gone = Withdrawal(
        record_id="l",
        kind="lot",
        rug_id="rug",
        value=Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=500.0),
        by=THERE,
    )
    state = build_merge_state(
        Joined(acts=2, records=2, versions=2, devices=("Bo's phone",), conflicts=(conflict,), withdrawn=(gone,), own_acts=1, act_ids=("x",)), NAMES
    )  # fmt: skip
    assert (state.headline, state.from_whom, state.act_ids) == (
        "2 new entries.", ("From Bo's phone. 1 entry is this phone's own and was missing from its "
                          "book."), ("x",),
    )  # fmt: skip
    (line,) = state.conflicts
    assert (line.record_id, line.icon, line.counting, line.aside, line.lines) == (
        "w", "weigh", "300 g of Madder left (this phone)", "set aside: 310 g of Madder left (Bo's phone)", ("What is left: 310 g → 300 g",),
    )  # fmt: skip
    assert state.rule.startswith("1 entry was changed on both phones.")
    (out,) = state.withdrawn
    assert (out.record_id, out.icon, out.counting, out.aside, out.lines) == (
        "l", "buy", "deleted: Yarn bought: 500 g of Madder", "Bo's phone", (),
    )  # fmt: skip
    assert state.withdrawn_rule == "1 entry of this book was deleted by it. Tap it to bring it back."


def test_how_versions_of_an_entry_differ() -> None:
    (changed,) = differences(weighed(300.0, note="damp"), weighed(300.0), NAMES)
    assert changed.words == "Note: damp, taken out"
    assert differences(None, weighed(1.0), NAMES) == differences(weighed(1.0), None, NAMES) == ()
    (entered,) = differences(weighed(1.0), weighed(1.0, note="n"), NAMES)
    assert entered.words == "Note: n"
    assert history_lines((), NAMES, TODAY) == ()


# --- the measure of the cloth


def test_the_measure_of_the_cloth_in_full() -> None:
    measured = (
        Measurement(id="a", rug_id="rug", day=date(2026, 11, 10), row=50, length_cm=21.0, born=1),
        Measurement(id="b", rug_id="rug", day=date(2026, 11, 20), row=100, length_cm=41.0, born=2),
    )
    rug = rugs.book(rugs.session(1, 100), measurements=measured)
    answers = outlook(rug, TODAY)
    form = replace(cloth.blank_form(rug), length_cm=41.25)
    state = cloth.build_cloth_state(form, rug, answers)
    assert (state.row, state.readings["length_cm"], state.readings["width_cm"], state.expected) == (
        "100", "41.2 cm", "", "The plan has 40 cm at row 100, and 41.6 cm across with selvedges.",
    )  # fmt: skip
    assert [(line.measurement_id, line.words, line.note) for line in state.lines] == [
        ("b", "Row 100: 41 cm", "20 Nov"), ("a", "Row 50: 21 cm", "10 Nov"),
    ]  # fmt: skip
    assert state.headline == "On the loom it will end at about"
    # 100 rows on 41 cm; what is counted as woven and the rows to come add up to the figure, and so do rows and beat.
    assert state.reckoned[:2] == (("Measured at row 100", "41 cm"), ("Rows in 10 cm, planned 25", "24.4"))
    assert [label for label, _value in state.reckoned[2:]] == [
        "Woven up to row 100, by tape and plan", state.reckoned[3][0], "Together",
    ]  # fmt: skip
    beat = float(state.reckoned[3][0].removeprefix("100 rows to come, ").removesuffix(" in 10 cm"))
    now, more, whole = (float(value.removesuffix(" cm")) for _label, value in state.reckoned[2:])
    assert now + more == pytest.approx(whole)
    assert f"{whole:g} cm" == state.figure
    assert 100 / beat * 10 == pytest.approx(more, abs=0.051)
    assert 41 < now < 41.5
    assert state.beat.endswith("the more they count.")
    # The last row has nothing more to come.
    over = cloth.build_cloth_state(
        form,
        rugs.book(rugs.session(1, 200), measurements=measured),
        outlook(rugs.book(rugs.session(1, 200), measurements=measured), TODAY),
    )
    assert "to come" not in str(over.reckoned)
    assert state.span.endswith("; planned: 80 cm")
    assert state.hold_rows == f"200 rows, whatever length they give (about {state.figure})"
    assert state.hold_length.startswith("80 cm, whatever rows it takes (about ")
    chart = state.chart
    # The plan has 20 and 40 cm there: 1 cm off each, and a third of air.
    assert (chart.title, chart.kind, chart.summary) == (
        "Off the plan, in cm",
        "dots",
        "Row 100: 41 cm, 1 cm longer than planned",
    )
    assert [(point.x, point.y, point.words) for point in chart.points] == [
        (50.0, pytest.approx(1.0), "Row 50: 21 cm, 1 cm longer than planned"),
        (100.0, pytest.approx(1.0), "Row 100: 41 cm, 1 cm longer than planned"),
    ]
    assert (chart.x_range, chart.y_range, chart.guide) == (
        (0.0, 200.0),
        pytest.approx((-1.3, 1.3)),
        (0.0, "plan"),
    )
    assert [words for _at, words in chart.x_ticks] == ["row 0", "row 100", "row 200"]
    assert chart.trend[0] == (0.0, 0.0)
    washed = replace(rug, plan=rugs.plan(wash_shrinkage_length=0.1))
    final = told.answers(final_length_cm=90.0, final_length_range_cm=(88.0, 92.0))
    # 90 cm on the loom are 81 cm once a tenth is washed out of them; 80 are ordered, 88.9 to be woven.
    assert cloth.build_cloth_state(form, washed, final).span == (
        "likely 88 cm to 92 cm; planned: 88.9 cm. Finished, as the customer measures it: about 81 cm, of 80 cm."
    )
    held = cloth.build_cloth_state(form, replace(rug, plan=rugs.plan(hold=Hold.LENGTH)), answers)
    assert (held.hold_rows, held.mend) == ("200 rows, whatever length they give", "")
    bare = cloth.build_cloth_state(cloth.MeasureForm(row=0), rugs.book(), outlook(rugs.book(), TODAY), "inch")
    assert (bare.expected, bare.beat, bare.hold_length, bare.chart.title) == (
        "", "No length measured yet. Planned: 6.4 rows to the inch.", "31.5 in, whatever rows it takes", "Off the plan, in inches",
    )  # fmt: skip
    assert bare.chart.hint == "Here you see each measured length beside the plan."


def test_what_was_read_off_the_tape_is_checked_with_a_sentence() -> None:
    rug = rugs.book(rugs.session(1, 100))

    def refusal(book: Any = rug, **changes: Any) -> str:
        with pytest.raises(BadEntry) as refused:
            cloth.to_measurement(cloth.MeasureForm(**{"row": 100, **changes}), book, TODAY)
        return refused.value.sentence

    assert refusal(rugs.book(), length_cm=1.0) == "Nothing is woven yet. Measure after the first rows."
    assert refusal(row=0, length_cm=1.0) == "Give the row up to which you measured; row 1 is the first."
    assert (
        refusal(row=101, length_cm=41.0) == "There are only 100 rows on the loom. Measure up to a woven row."
    )
    assert refusal() == "Give at least one length that you measured."
    assert refusal(length_cm=0.0) == "A length must be more than 0. Check the tape."
    off = " is not possible. The plan has 40 cm at row 100. Check the tape and the row."
    # From two fifths of the planned length to two and a half times as much.
    assert refusal(length_cm=15.9) == "Length: 15.9 cm" + off
    assert refusal(length_cm=100.1) == "Length: 100.1 cm" + off
    assert cloth.to_measurement(cloth.MeasureForm(100, 16.0), rug, TODAY).length_cm == 16.0
    assert cloth.to_measurement(cloth.MeasureForm(100, 100.0), rug, TODAY).length_cm == 100.0
    assert refusal(left_cm=40.0) == "Give both sides. One alone does not show which is ahead."
    assert (
        refusal(left_cm=40.0, right_cm=40.0, rising_cm=57.0)
        == "Give both diagonals. One alone does not show how the rug leans."
    )
    assert (
        refusal(rising_cm=57.0, falling_cm=57.0)
        == "Give both sides too. Diagonals alone do not show how the rug leans."
    )
    sides = cloth.to_measurement(cloth.MeasureForm(100, left_cm=40.0, right_cm=42.0), rug, TODAY)
    assert (sides.length_cm, sides.left_cm, sides.right_cm, sides.resolution_cm) == (41.0, 40.0, 42.0, 0.5)
    inches = cloth.to_measurement(cloth.MeasureForm(1, 0.4), rugs.book(rugs.session(1, 1)), TODAY, "inch")
    # A quarter of an inch.
    assert (inches.row, inches.resolution_cm) == (1, pytest.approx(0.635))
