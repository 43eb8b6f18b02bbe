"""The whole evening by touch: open, tap rows and balls, save, read the new answers, undo, close, find everything."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest

from tests.today import TODAY
from tracker.device.clock import now_utc
from tracker.domain.act import ActKind
from tracker.domain.hand_out import HandOut
from tracker.domain.rug import HoursFrom, new_id
from tracker.domain.work import usual_rows
from tracker.presenters import timer as timer_sums
from tracker.previews.draw import settle
from tracker.screens.loom import loom as loom_module
from tracker.screens.session import session as session_module
from tracker.screens.session.session import waiting_form
from tracker.sheets.asking import ask_day
from tracker.widgets.basics import TimerKey
from tracker.words import hours


def row_now(hand) -> int:
    return int(hand.shell.page.ids.row_figure.text)


def test_the_first_view_answers_all_three_questions_without_a_tap(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    words = hand.words()
    assert str(desk.rug.rows_woven) in words
    assert any("of the knots" in word for word in words)
    assert any(word.startswith("likely ") for word in words)
    ids = hand.shell.page.ids
    told = [card.alert for card in reversed(ids.alerts.children)]
    assert told[0].title == "Madder red runs short"
    # The one to see to has a card; the next is named in the line that answers for all the others.
    (second,) = ids.yarns.lines
    assert second.name == "Indigo"
    assert hand.sees("Indigo: probably enough; the others will last")
    # Without a tap means without scrolling, too: the last yarn lies above the key that logs the session.
    last, log = ids.yarns, ids.log
    assert last.to_window(*last.pos)[1] >= log.to_window(log.x, log.top)[1]


def test_whoever_is_noted_is_seen_above_the_key_that_saves(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    page = hand.shell.page
    sat = [weaver.name for weaver in hand.app.desk.rug.weavers if weaver.id in page.form.weavers]
    (line,) = [one for one in page.walk() if getattr(one, "text", "") == page.noted]
    assert sat
    assert all(name in line.text for name in sat)
    bottom = line.to_window(*line.pos)[1]
    assert (
        page.ids.save.to_window(0, page.ids.save.top)[1]
        <= bottom
        < page.ids.scroll.to_window(*page.ids.scroll.pos)[1]
    )


def test_whose_ball_ended_is_offered_with_the_evening_where_two_were_given_some(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    red = next(yarn.id for yarn in desk.rug.yarns if yarn.name == "Madder red")
    left, right = (weaver.id for weaver in desk.rug.weavers[:2])
    given = [
        HandOut(
            id=new_id(), rug_id=desk.rug.plan.id, yarn_id=red, weaver_id=who, day=TODAY, balls=1, mass_g=200.0
        )
        for who in (left, right)
    ]
    desk.act(ActKind.BALLS_HANDED_OUT, *given)
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    assert not hand.sees("Whose ball of Madder red?")
    hand.tap("Madder red")
    assert hand.sees("Whose ball of Madder red?")
    (ask,) = hand.shell.page.ids.whose.children
    hand.tap(next(key for key in ask.ids.names.children if key.value == right))
    hand.tap("Save")
    evening = next(one for one in desk.rug.sessions if one.day == TODAY and one.rows)
    hers = next(one for one in desk.rug.sessions if one.day == TODAY and not one.rows)
    assert (dict(evening.used), hers.weavers, dict(hers.used)) == ({}, (right,), {red: 1})
    hand.tap("Undo")
    assert not [one for one in desk.rug.sessions if one.day == TODAY]


def test_an_ordinary_evening_takes_four_taps(open_app, demo) -> None:
    hand = open_app(demo)
    desk, before = hand.app.desk, row_now(hand)
    middle = desk.answers.finish.middle
    hand.tap("Log the session")
    usual = hand.shell.page.ids.suggestions.children[2]
    rows = usual.value
    hand.tap(usual)
    hand.tap("Madder red")
    hand.tap("Save")
    assert row_now(hand) == before + rows
    latest = desk.rug.sessions[-1]
    assert (latest.rows, latest.day) == (rows, TODAY)
    assert latest.hours
    assert latest.weavers == desk.rug.sessions[-2].weavers
    red = next(y.id for y in desk.rug.yarns if y.name == "Madder red")
    assert dict(latest.used) == {red: 1}
    assert hand.sees(f"Row {before + rows} of {desk.rug.plan.rows}")
    assert abs((desk.answers.finish.middle - middle).days) <= 7


def test_undo_takes_it_back_and_the_form_is_kept(open_app, demo) -> None:
    hand = open_app(demo)
    before, sessions = row_now(hand), len(hand.app.desk.rug.sessions)
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[0])
    hand.tap("Save")
    assert row_now(hand) > before
    hand.tap("Undo")
    assert row_now(hand) == before
    assert len(hand.app.desk.rug.sessions) == sessions
    hand.tap("Log the session")
    assert hand.shell.page.form.rows > 0


def test_what_was_undone_and_done_again_in_the_diary_is_not_overwritten_by_the_next_rows(
    open_app, demo
) -> None:
    """Save, Undo, "Do it again", two more rows: the first session was replaced by the second."""
    hand = open_app(demo)
    before = row_now(hand)
    hand.tap("Log the session")
    hand.shell.page.set_rows(3)
    hand.tap("Save")
    hand.tap("Undo")
    hand.app.desk.undo(hand.app.desk.diary(1, 0)[0].act_id)
    settle()
    assert row_now(hand) == before + 3
    hand.tap("Log the session")
    assert not hand.sees("Undone, but not lost")
    hand.shell.page.set_rows(2)
    hand.tap("Save")
    assert row_now(hand) == before + 5
    assert [session.rows for session in hand.app.desk.rug.sessions[-2:]] == [3, 2]


def test_what_was_undone_does_not_slip_into_another_evening(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[1])
    hand.tap("Save")
    hand.tap("Undo")
    hand = open_app(demo, today=TODAY + timedelta(days=2))
    hand.tap("Log the session")
    assert hand.shell.page.rows == 0
    assert hand.shell.page.day == "today"
    assert not hand.sees("Not saved yet")


def test_rows_of_an_earlier_day_say_so_and_a_new_evening_can_begin(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[1])
    rows = hand.shell.page.rows
    assert not hand.sees("Not saved yet")
    hand = open_app(demo, today=TODAY + timedelta(days=2))
    hand.tap("Log the session")
    assert hand.sees("Not saved yet: the session of 25 November.")
    assert hand.shell.page.rows == rows
    hand.tap("Begin a new one")
    assert (hand.shell.page.rows, hand.shell.page.day) == (0, "today")
    assert not hand.sees("Not saved yet")
    hand.tap("Undo")
    assert (hand.shell.page.rows, hand.shell.page.day) == (rows, "25 Nov")
    assert hand.sees("Not saved yet")
    hand.tap("Begin a new one")
    hand.key_back()
    hand.tap("Log the session")
    assert hand.shell.page.rows == 0


def leave_one_out(hand) -> str:
    """Say on the open form that one of the weavers did not sit there; return who."""
    key = next(key for key in hand.shell.page.ids.weavers.children if key.value and key.role == "chosen")
    who = key.value
    hand.tap(key)
    assert who not in hand.shell.page.form.weavers
    return who


def test_a_form_left_with_only_a_weaver_named_is_of_the_day_it_is_gone_on_with(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    left_out = leave_one_out(hand)
    next_day = TODAY + timedelta(days=1)
    hand = open_app(demo, today=next_day)
    hand.tap("Log the session")
    assert hand.shell.page.form.weavers
    assert left_out not in hand.shell.page.form.weavers, "who was said to sit there is kept"
    assert hand.shell.page.day == "today"
    assert not hand.sees("Not saved yet")
    hand.tap(hand.shell.page.ids.suggestions.children[1])
    hand.tap("Save")
    assert hand.app.desk.rug.sessions[-1].day == next_day


def test_a_form_left_with_only_a_weaver_named_counts_no_row_for_that_day_at_the_loom(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    leave_one_out(hand)
    next_day = TODAY + timedelta(days=1)
    hand = open_app(demo, today=next_day)
    hand.shell.open_tab("loom")
    settle()
    hand.tap("Row done")
    assert (waiting_form(hand.app.desk).rows, waiting_form(hand.app.desk).day) == (1, next_day)


def test_a_day_said_today_is_kept_with_nothing_else_in_the_form(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("today")
    hand.tap("24")
    assert hand.shell.page.day == "yesterday"
    hand.key_back()
    hand.tap("Log the session")
    assert hand.shell.page.day == "yesterday"
    assert not hand.sees("Not saved yet"), "who said the day is not asked for it"


def test_rows_of_an_earlier_day_are_saved_for_the_day_that_is_meant(open_app, demo) -> None:
    for on, key in (
        (TODAY, "25 November, when it was begun"),
        (TODAY + timedelta(days=2), "Today, 27 November"),
    ):
        hand = open_app(demo)
        hand.tap("Log the session")
        hand.tap(hand.shell.page.ids.suggestions.children[1])
        hand = open_app(demo, today=TODAY + timedelta(days=2))
        sessions = len(hand.app.desk.rug.sessions)
        hand.tap("Log the session")
        hand.tap("Save")
        assert hand.sees("Which day is meant?")
        assert len(hand.app.desk.rug.sessions) == sessions, "nothing is saved before it is said"
        hand.tap(key)
        assert hand.app.desk.rug.sessions[-1].day == on
        hand.tap("Undo")


def test_rows_can_be_typed_and_none_below_zero(open_app, demo) -> None:
    hand = open_app(demo)
    before = row_now(hand)
    hand.tap("Log the session")
    hand.tap("0")
    assert not hand.sees("−")  # rows taken out have a page of their own
    hand.tap("2")
    hand.tap("Done")
    assert hand.shell.page.rows == 2
    hand.tap("Save")
    assert row_now(hand) == before + 2


def test_a_row_too_many_is_told_at_once_and_no_key_moves_under_the_finger(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    page, rug = hand.shell.page, hand.app.desk.rug
    left = rug.plan.rows - rug.rows_woven
    page.set_rows(left)
    settle()
    assert not hand.sees("rows to go")
    assert page.rows_after.startswith(f"then row {rug.plan.rows} ")
    plus, more_hours, *_others = (key for key in page.walk() if getattr(key, "icon", "") == "plus")
    keys = (plus, more_hours, page.ids.suggestions.children[0], page.ids.save)
    places = [key.to_window(key.x, key.top) for key in keys]
    hand.tap(plus)
    refused = f"The rug has only {left} rows to go. Take fewer rows, or change the rug's length in its plan."
    assert page.rows == left + 1
    assert hand.sees(refused)
    assert [key.to_window(key.x, key.top) for key in keys] == places
    hand.tap("Save")
    assert hand.shell.page_name == "session"
    hand.tap(page.ids.suggestions.children[0])
    assert page.rows_refused == ""
    assert page.ids.part.text == page.begun_label


def test_the_number_keys_show_each_figure_that_is_typed(open_app, demo) -> None:
    from tests.ui.hand import everything
    from tracker.previews.draw import settle
    from tracker.sheets.asking import ask_number
    from tracker.widgets.basics import Figure

    hand = open_app(demo)
    typed: list[float] = []
    pad = ask_number(hand.shell, "Left", 22, typed.append, unit="g", decimals=1, signed=True)
    settle()

    def seen() -> str:
        return next(words.text for words in everything(pad) if isinstance(words, Figure))

    assert seen() == "22"
    shown = []
    for key in "45.3−":
        hand.tap(hand.find(key, pad))
        shown.append(seen())
    assert shown == ["4", "45", "45.", "45.3", "−45.3"]


@pytest.mark.parametrize("size", [(360, 640), (640, 360)])
def test_every_digit_is_seen_at_once(open_app, demo, size) -> None:
    from tracker.sheets.asking import ask_number

    hand = open_app(demo, size=size)
    pad = ask_number(hand.shell, "Left", 22, lambda _number: None, unit="g", decimals=1)
    settle()
    sheet = hand.shell.sheet
    within = sheet.ids.body.parent
    low, high = within.to_window(0, within.y)[1], within.to_window(0, within.top)[1]
    keys = pad.ids.marks.children
    assert len(keys) == 12
    for key in keys:
        assert low - 1 <= key.to_window(key.x, key.y)[1], key.text
        assert key.to_window(key.x, key.top)[1] <= high + 1, key.text


def test_a_key_whose_rows_would_be_refused_is_dark_on_the_pad_and_on_the_page(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    sessions, left = len(desk.rug.sessions), desk.rug.plan.rows - desk.rug.rows_woven
    refused = f"The rug has only {left} rows to go. Take fewer rows, or change the rug's length in its plan."
    hand.tap("Log the session")
    hand.tap("0")
    for digit in "999":
        hand.tap(digit)
    assert hand.find("Done").disabled
    assert hand.words().count(refused) == 1
    hand.tap("Done")
    hand.shell.close_sheet()
    page = hand.shell.page
    page.set_rows(left + 25)
    settle()
    assert page.ids.save.text == f"Save {left + 25} rows"
    assert page.ids.save.disabled
    hand.tap(page.ids.save)
    assert (hand.shell.page_name, len(desk.rug.sessions)) == ("session", sessions)
    assert hand.words().count(refused) == 1, "the same is said once"
    page.set_rows(left)
    settle()
    assert not page.ids.save.disabled
    # Balls can be wound for the rows to go, and no more.
    hand.shell.go("balls")
    settle(12)
    hand.shell.page.ask_rows()
    for digit in str(left + 1):
        hand.tap(digit)
    assert hand.find("Done").disabled
    hand.shell.close_sheet()


def test_a_half_filled_form_is_there_after_the_app_was_closed(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[1])
    hand.tap("Indigo")
    rows, used = hand.shell.page.form.rows, hand.shell.page.form.used
    hand = open_app(demo)
    hand.tap("Log the session")
    assert (hand.shell.page.form.rows, hand.shell.page.form.used) == (rows, used)


def test_back_leaves_the_sheet_then_the_form_then_the_app(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("today")
    assert hand.shell.sheet is not None
    assert hand.key_back()
    assert hand.shell.sheet is None
    assert hand.key_back()
    assert hand.shell.page_name == "home"
    assert not hand.key_back()


def test_another_day_is_chosen_on_the_month(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("today")
    hand.tap("23")
    assert hand.shell.page.form.day == date(2026, 11, 23)
    hand.tap(hand.shell.page.ids.suggestions.children[4])
    hand.tap("Save")
    assert date(2026, 11, 23) in {session.day for session in hand.app.desk.rug.sessions}


def test_the_day_that_is_meant_is_in_sight_however_low_the_window(open_app, demo) -> None:
    """November 2026 begins on a Sunday: its last day stands in a sixth week."""
    hand = open_app(demo, size=(640, 360))
    for meant in (date(2026, 11, 30), date(2026, 11, 1)):
        days = ask_day(hand.shell, "Which day?", meant, lambda _day: None)
        settle()
        key = next(key for key in days.ids.days.children if getattr(key, "value", None) == meant)
        sheet = hand.shell.sheet.ids.scroll
        low = sheet.to_window(0, sheet.y)[1]
        assert low <= key.to_window(*key.center)[1] <= low + sheet.height
        # And which day of the week its column is, wherever the days are scrolled to.
        heads = [head.to_window(*head.pos)[1] for head in days.ids.weekdays.children]
        assert len(heads) == 7
        assert min(heads) >= low + sheet.height
        hand.key_back()


def test_everything_is_there_after_the_app_is_opened_again(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    hand.tap("Save")
    row, latest = row_now(hand), hand.app.desk.rug.sessions[-1]
    hand = open_app(demo)
    assert row_now(hand) == row
    assert hand.app.desk.rug.sessions[-1] == latest


def test_an_empty_book_says_what_to_do_first(open_app) -> None:
    hand = open_app()
    assert hand.sees("No rug yet.")
    assert hand.sees("Plan one first")
    assert hand.find("Plan a rug")


def test_minus_at_no_rows_offers_unpicking(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    minus = next(
        w
        for w in hand.shell.page.walk()
        if getattr(w, "icon", "") == "minus" and w.parent.__class__.__name__ == "Stepper"
    )
    hand.tap(minus)
    assert hand.sees("Rows unpicked?")
    hand.tap("Leave it at 0")
    assert hand.shell.page_name == "session"
    hand.tap(minus)
    hand.tap(hand.find("Unpick rows", hand.shell.sheet))
    assert hand.shell.page_name == "unpick"


def with_timer(hand, minutes: float) -> None:
    """Let the timer have run so long."""
    started = now_utc() - timedelta(minutes=minutes)
    timer_sums.keep_timer(hand.app.desk.drafts, hand.app.desk.rug_id, timer_sums.start(started))
    hand.shell.look_at_timer()


def test_with_the_timer_running_what_stands_on_the_page_is_saved(open_app, demo) -> None:
    hand = open_app(demo)
    with_timer(hand, 150)
    hand.tap("Log the session")
    page = hand.shell.page
    hand.tap(page.ids.suggestions.children[2])
    assert page.hours == "2.5 h"
    hand.tap("Save")
    assert hand.app.desk.rug.sessions[-1].hours == 2.5


def test_the_time_of_a_paused_timer_stays_with_the_day_on_which_it_was_woven(
    open_app, demo, monkeypatch
) -> None:
    def local(day: date, hour: int) -> datetime:
        return datetime.combine(day, time(hour)).astimezone()

    yesterday = TODAY - timedelta(days=1)
    for module in (session_module, loom_module):
        monkeypatch.setattr(module, "now_utc", lambda: local(TODAY, 18))
    hand = open_app(demo)
    desk = hand.app.desk
    paused = timer_sums.pause(timer_sums.start(local(yesterday, 19)), local(yesterday, 21))
    timer_sums.keep_timer(desk.drafts, desk.rug_id, paused)
    rows = desk.rug.rows_woven
    # Neither the rows of today go to yesterday nor its hours to today.
    hand.tap("Row")
    hand.tap("Row done")
    assert hand.shell.page_name == "session"
    assert hand.sees("The time on the timer is of another day.")
    page = hand.shell.page
    assert (page.rows, page.day, page.hours) == (0, "yesterday", "2 h")
    page.tap_timer()
    assert page.timer_state == "paused"
    hand.tap("Begin a new one")
    assert (page.day, page.hours, page.timer_state) == ("today", "not given", "none")
    hand.tap("Undo")
    assert (page.day, page.hours, page.timer_state) == ("yesterday", "2 h", "paused")
    hand.tap(page.ids.suggestions.children[2])
    gained = page.rows
    hand.tap("Save")
    hand.tap(next(words for words in hand.words(hand.shell.sheet) if words.endswith("when it was begun")))
    last = desk.rug.sessions[-1]
    assert (last.rows, last.hours, last.day, desk.rug.rows_woven) == (gained, 2.0, yesterday, rows + gained)
    hand.tap("Row")
    hand.tap("Row done")
    assert hand.shell.page_name == "loom"


def test_the_usual_hours_are_not_called_given_by_a_tap_on_done(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    page = hand.shell.page
    page.set_rows(usual_rows(hand.app.desk.rug))
    usual = page.form.hours
    assert usual
    assert page.hours_usual == "The usual hours for so many rows and weavers. Tap to enter yours."
    page.ask_hours()
    settle()
    assert hand.sees(f"usual: {hours(usual)}")
    # The pad asks by the name that the page has: of two weavers for each one's own.
    assert page.hours_label == "Hours each"
    assert hand.shell.sheet.title == page.hours_label
    hand.tap("Done")
    assert hand.shell.sheet is None
    assert page.hours_usual
    hand.tap(page.ids.save)
    latest = hand.app.desk.rug.sessions[-1]
    assert (latest.hours, latest.hours_from) == (usual, HoursFrom.USUAL)


def test_a_minute_on_the_clock_brings_no_usual_hours(open_app, demo) -> None:
    hand = open_app(demo)
    with_timer(hand, 1)
    hand.tap("Log the session")
    page = hand.shell.page
    hand.tap(page.ids.suggestions.children[2])
    assert page.hours == "0"
    hand.tap("Save")
    assert hand.app.desk.rug.sessions[-1].hours is None


def test_hours_given_beside_the_running_timer_are_saved(open_app, demo) -> None:
    hand = open_app(demo)
    with_timer(hand, 150)
    hand.tap("Log the session")
    page = hand.shell.page
    hand.tap(page.ids.suggestions.children[2])
    page.step_hours(0.5)
    assert page.hours == "3 h"
    # Nor does its time take their place when the page is come back to.
    hand.key_back()
    hand.tap("Log the session")
    assert hand.shell.page.hours == "3 h"
    hand.tap("Save")
    assert hand.app.desk.rug.sessions[-1].hours == 3


def test_nothing_is_left_of_the_clock_once_the_session_is_saved(open_app, demo) -> None:
    hand = open_app(demo)
    with_timer(hand, 30)
    settle(3)
    clock = next(w for w in hand.shell.page.walk() if isinstance(w, TimerKey))
    assert clock.opacity == 1
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    hand.tap("Save")
    clock = next(w for w in hand.shell.page.walk() if isinstance(w, TimerKey))
    assert (clock.words, clock.width, clock.opacity) == ("", 0, 0)


def test_a_corrected_session_takes_the_hours_of_its_rows_unless_the_old_ones_are_kept(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    keys = hand.shell.page.ids.suggestions.children
    most, fewest = keys[0].value, keys[4].value
    hand.tap(keys[0])
    hand.tap("Save")
    saved = hand.app.desk.rug.sessions[-1]
    hand.shell.go("session", session_id=saved.id)
    settle()
    page = hand.shell.page
    assert (page.rows, page.form.hours) == (most, saved.hours)
    assert hand.sees("The usual hours, not given.")
    page.set_rows(fewest)
    settle()
    assert 0 < page.form.hours < saved.hours
    hand.tap(page.ids.keep_hours)
    assert page.form.hours == saved.hours
    assert not hand.sees("The usual hours, not given.")
    hand.tap("Save")
    after = hand.app.desk.rug.sessions[-1]
    assert (after.id, after.rows, after.hours) == (saved.id, fewest, saved.hours)
    # What offered to keep them leaves no hole in the next evening's form.
    hand.shell.go("session")
    settle()
    assert hand.shell.page is page
    assert page.ids.keep_hours.text == ""
    # Hours stand on one line between their keys; names of many words have the whole width.
    page.hours = "not given"
    assert page.ids.balls.cols == 2
    page.ball_names = ("Undyed hand-spun wool of the autumn shearing, shade 12",)
    settle()
    assert len(page.ids.hours_value.inscription._label._cached_lines) == 1
    assert page.ids.balls.cols == 1
    assert page.ids.keep_hours.height == 0


def test_no_day_to_come_can_be_chosen_for_what_happened(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("today")
    keys = {getattr(key, "value", None): key for key in hand.shell.sheet.content.ids.days.children}
    hand.tap(keys[TODAY + timedelta(days=1)])
    assert hand.shell.sheet is not None, "it is not chosen"
    hand.tap(keys[TODAY - timedelta(days=1)])
    assert hand.shell.page.form.day == TODAY - timedelta(days=1)
