"""Slips of the finger and of the memory, by touch: what lies in the way, what is tapped twice, what was never meant."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from kivy.core.window import Window
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.scrollview import ScrollView
from kivy.uix.textinput import TextInput

from tests.today import TODAY
from tests.ui.hand import Finger, everything, shown
from tests.ui.handed_time import pass_time
from tests.ui.walk import act_below, box_of, cut, visible_part
from tracker.domain.act import ActKind
from tracker.domain.rug import Role, RugStage
from tracker.presenters.entries.form import FormKind
from tracker.previews.draw import settle
from tracker.screens import PAGES
from tracker.screens.guide.guide import GuideStepRow
from tracker.screens.home.home import HeroKey
from tracker.sheets.asking import ask_day
from tracker.sheets.entry_form import open_entry
from tracker.shell.toast import Toast
from tracker.widgets.basics import Key, TitleKey, rest_at
from tracker.widgets.look import look


def strip(hand):
    """The strip that answers; None when there is none."""
    return next(iter(hand.shell.ids.toast_place.children), None)


def log(hand, rows: int) -> None:
    """Log a session of so many rows, typed."""
    hand.tap("Log the session")
    type_rows(hand, rows)
    hand.tap("Save")


def type_rows(hand, rows: int) -> None:
    hand.tap("0")
    for digit in str(rows):
        hand.tap(digit)
    hand.tap("Done")


def double_tap(x: float, y: float, apart_s: float = 7 / 60) -> None:
    """Two taps at one place, by themselves about a seventh of a second apart."""
    for _tap in range(2):
        finger = Finger(x, y)
        finger.put(x, y)
        settle(2)
        finger.lift()
        pass_time(apart_s)


def middle_of(widget) -> tuple[float, float]:
    return widget.to_window(*widget.center)


# --- the strip that offers to undo


def test_the_strip_leaves_the_main_key_free(open_app, demo) -> None:
    hand = open_app(demo)
    log(hand, 7)
    assert strip(hand) is not None
    key = hand.shell.page.ids.log
    pass_time(0.5)
    hand.tap_at(key.x + key.width * 0.85, key.y + key.height / 2)
    assert hand.shell.page_name == "session"
    assert hand.app.desk.rug.sessions[-1].rows == 7


def places(hand) -> dict:
    """Where everything that can be tapped lies in the window, whether it can be seen or not."""
    return {
        widget: widget.to_window(*widget.pos)
        for widget in everything(hand.shell.page)
        if isinstance(widget, ButtonBehavior | TextInput) and shown(widget) and not widget.disabled
    }


@pytest.mark.parametrize("size", [(360, 640), (892, 412), pytest.param((1280, 800), marks=pytest.mark.slow)])
def test_the_strip_stands_in_the_titles_place_and_nothing_moves(open_app, demo, size) -> None:
    """Who taps on where she tapped before, or takes the way back, never meets an Undo."""
    hand = open_app(demo, size=size)
    wrong = []
    for name in PAGES:
        hand.shell.open_tab(name)
        settle(12)
        if hand.shell.page_name != name:
            continue  # it is opened with a yarn only
        before = places(hand)
        # As long as any that answers a session: four lines.
        hand.shell.toast(
            "8 rows saved · Row 34 of 90 · 12 Nov (2 days later than before) · Thin weft, wavy: to buy 50 g",
            undo=lambda: None,
        )
        settle(3)
        box = box_of(strip(hand))
        assert shown(strip(hand))
        assert box[2] - box[0] > 140, (name, box)
        assert box[3] <= Window.height
        now = places(hand)
        wrong += [
            (name, "covered", getattr(widget, "text", "") or type(widget).__name__)
            for widget in now
            if not isinstance(widget, HeroKey)
            and (part := visible_part(widget, box_of(widget)))
            and cut(part, box)
        ]
        wrong += [
            (name, "moved", getattr(widget, "text", "") or type(widget).__name__, place, now.get(widget))
            for widget, place in before.items()
            if now.get(widget) != pytest.approx(place, abs=1)
        ]
    assert not wrong, "\n".join(map(str, wrong))


@pytest.mark.parametrize("size", [(360, 640), (892, 412)])
def test_a_tap_on_the_words_of_the_strip_puts_it_away_and_taps_nothing_beneath(open_app, demo, size) -> None:
    """It lies over keys of the bar: a tap there did nothing, for as long as it stayed."""
    hand = open_app(demo, size=size)
    hand.shell.open_tab("finish")
    settle(6)
    cloth = hand.find("Cloth")
    x, y = middle_of(cloth)
    undone = []

    def say() -> None:
        hand.shell.toast(
            "Friday, 11 December is a day off. Last row 1 day later: 21 December.", lambda: undone.append(1)
        )
        settle(3)
        pass_time(0.5)

    say()
    words = strip(hand).ids.words
    x = x if strip(hand).collide_point(x, y) else words.center_x
    y = y if strip(hand).collide_point(x, y) else words.center_y
    hand.tap_at(x, y)
    assert strip(hand) is None
    assert hand.shell.page_name == "finish", "nothing beneath is tapped by it"
    hand.tap_at(x, y)
    assert hand.shell.page_name == "finish", "nor by the same tap once more"
    pass_time(0.5)
    hand.tap(cloth)
    assert hand.shell.page_name == "cloth"
    # Flicked along, too, and wherever the finger leaves it.
    hand.shell.open_tab("finish")
    say()
    x, y = middle_of(strip(hand).ids.words)
    hand.drag((x, y), (x - 60, y))
    assert (strip(hand), hand.shell.page_name) == (None, "finish")
    say()
    hand.tap("Undo")
    assert undone == [1]


def test_the_strip_stays_for_five_to_six_seconds(open_app, demo) -> None:
    hand = open_app(demo)
    log(hand, 7)
    pass_time(4.7)
    assert strip(hand) is not None
    pass_time(1.3)
    assert strip(hand) is None


def test_the_strip_goes_with_the_page_it_speaks_of(open_app, demo) -> None:
    hand = open_app(demo)
    log(hand, 7)
    hand.tap("Yarn")
    assert strip(hand) is None
    assert not hand.sees("Undo")


def test_a_strip_on_a_page_that_has_just_come_stands_over_its_title(open_app, demo) -> None:
    """The order of another rug was opened: what said that this rug is shown now was a black speck at the foot of the window."""
    hand = open_app(demo)
    shell = hand.shell
    shell.go("order")
    shell.toast("Long winter is the rug shown now.")
    # Before the next frame: what is placed wrong there is seen, and stays where nothing places it anew.
    place = shell.ids.toast_place
    left, top, _width = shell.page.strip_band()
    assert place.width > 200
    assert left <= place.x <= left + 20
    assert top == hand.shell.height


def test_the_strip_names_what_undo_undoes(open_app, demo) -> None:
    hand = open_app(demo)
    log(hand, 7)
    assert strip(hand).sentence.startswith("7 rows saved")
    hand.tap("Undo")
    # Why the date moved stands there where two lines hold it: the row, which the page shows, makes room for it, and nothing else.
    why = "Saved · 14 Jan (4 days sooner: rows faster than expected)"
    hand.shell.toast("Saved · Row 204 of 341", undo=lambda: None, fuller=f"{why} · Row 204 of 341")
    settle(3)
    assert strip(hand).shown in (why, f"{why} · Row 204 of 341")
    look.text_scale = 2.0
    settle(3)
    assert strip(hand).shown == "Saved · Row 204 of 341"
    look.text_scale = 1.0
    hand.shell.go("settings")
    hand.shell.page.ask_week()
    settle(2)
    hand.tap("Sunday")
    assert "week" in strip(hand).sentence


def test_a_second_tap_where_the_strip_came_up_does_not_undo(open_app, demo) -> None:
    hand = open_app(demo)
    undone = []
    hand.shell.open_tab("cautions")  # nothing is tapped there but the strip
    hand.shell.toast("Measured.", undo=lambda: undone.append(1))
    settle(3)
    x, y = middle_of(hand.find("Undo"))
    hand.shell.dismiss_toast()
    settle(2)
    finger = Finger(x, y)
    finger.put(x, y)
    settle(2)
    hand.shell.toast("Measured.", undo=lambda: undone.append(1))
    finger.lift()
    settle(5)
    hand.tap_at(x, y)
    assert undone == []
    pass_time(0.5)
    hand.tap_at(*middle_of(hand.find("Undo")))
    assert undone == [1]


@pytest.mark.parametrize("way", [-1, 1])
def test_a_finger_that_slides_over_a_key_does_not_tap_it(open_app, demo, way: int) -> None:
    hand = open_app(demo)
    key = hand.find("Log the session")
    x, y = middle_of(key)
    hand.drag((x, y), (x + 60 * way, y))
    assert hand.shell.page_name == "home"
    # A thumb that rolls a little still taps.
    hand.drag((x, y), (x + 12 * way, y))
    assert hand.shell.page_name == "session"


@pytest.mark.parametrize("way", [-1, 1])
def test_a_finger_that_slides_over_the_days_of_a_sheet_chooses_none(open_app, demo, way: int) -> None:
    """What scrolls hands a touch on late: the day on which a flick ended was set, and the sheet was gone."""
    hand, chosen = open_app(demo), []
    days = ask_day(hand.shell, "Which day?", date(2026, 11, 4), chosen.append)
    settle(5)
    line = {
        key.value.weekday(): middle_of(key)
        for key in days.ids.days.children
        if getattr(key, "value", None) and 9 <= key.value.day <= 15
    }
    hand.drag(line[1 if way > 0 else 5], line[5 if way > 0 else 1], steps=2)
    assert (chosen, hand.shell.sheet is not None) == ([], True)
    hand.tap_at(*line[3])
    assert chosen == [date(2026, 11, 12)]


@pytest.mark.parametrize("name", ["progress", "diary", "loom"])
def test_a_page_drawn_beyond_its_end_stays_at_its_end(open_app, demo, name: str) -> None:
    hand = open_app(demo)
    hand.shell.open_tab(name)
    settle(12)
    (view,) = (w for w in everything(hand.shell.page) if isinstance(w, ScrollView) and shown(w))
    x, y = view.center_x, view.y
    rest_at(view, 0.0)
    for _once in range(3):
        hand.drag((x, y + view.height * 0.1), (x, y + view.height * 0.95))
        assert view.scroll_y >= 0
        assert view.children[0].to_window(0, view.children[0].y)[1] == pytest.approx(
            view.to_window(0, view.y)[1], abs=2
        )
    rest_at(view, 1.0)
    hand.drag((x, y + view.height * 0.9), (x, y + view.height * 0.1))
    assert view.scroll_y <= 1


def test_a_double_tap_on_save_stays_on_the_first_view(open_app, demo) -> None:
    hand = open_app(demo)
    for key in range(5):
        hand.shell.go("session")
        settle(3)
        hand.tap(hand.shell.page.ids.suggestions.children[2])
        save = hand.shell.page.ids.save
        _x, y = middle_of(save)
        # A slow second one, too: it took the page away with its undo.
        double_tap(save.x + save.width * (0.1 + 0.2 * key), y, 0.45 if key == 2 else 7 / 60)
        assert hand.shell.page_name == "home", f"the second tap went through at {key}"
        pass_time(0.6)
    hand.tap("Yarn")
    assert hand.shell.page_name == "yarn"


def test_what_is_counted_twice_in_a_moment_is_counted_once(open_app, demo) -> None:
    """Two rows are never woven within half a second, nor two balls wound: a double tap is a slip."""
    hand = open_app(demo)
    desk = hand.app.desk
    hand.tap("Row")
    page = hand.shell.page
    row, place = int(page.figure), middle_of(hand.find("Row done"))
    for slip, apart_s in enumerate((0.06, 0.12, 0.3), start=1):
        double_tap(*place, apart_s)
        assert page.figure == str(row + slip), f"{apart_s} s apart"
        pass_time(0.5)
    # Two rows that were meant are two.
    double_tap(*place, 0.5)
    assert page.figure == str(row + 5)
    undo = next(key for key in page.ids.counted_line.children if getattr(key, "icon", "") == "undo")
    pass_time(0.5)
    double_tap(*middle_of(undo))
    assert page.figure == str(row + 4)
    hand.shell.go("preparation")
    settle(12)
    key = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "+1" and shown(w))
    hand.reach(key)
    wound = len(desk.rug.preparations)
    for slip, apart_s in enumerate((0.06, 0.3), start=1):
        pass_time(0.5)
        double_tap(*middle_of(key), apart_s)
        assert len(desk.rug.preparations) == wound + slip
        key = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "+1" and shown(w))


@pytest.mark.parametrize("scale", [1.0, 1.3, 2.0])
def test_the_strip_with_an_undo_has_two_lines_at_most_and_says_the_most_important_first(
    open_app, demo, scale: float
) -> None:
    hand = open_app(demo)
    look.text_scale = scale
    try:
        settle()
        hand.shell.toast("5 rows unpicked, 12 g lost · Row 192 of 341 · 18 Jan 2027 (2 days later than before)"
                         " · Madder red: short by 240 g, order it now", undo=lambda: None)  # fmt: skip
        settle(4)
        strip = hand.shell._toast
        words = strip.ids.words
        two_lines = 2 * words.font_size * 1.35
        assert words.texture_size[1] <= two_lines
        assert words.text.startswith("5 rows unpicked")
        warned = "A warning without an undo is not shortened, " * 6
        hand.shell.toast(warned, warn=True)
        settle(4)
        assert hand.shell._toast.ids.words.text == warned
    finally:
        look.text_scale = 1.0


# --- a session undone


def test_an_undone_session_is_gone_at_the_loom(open_app, demo) -> None:
    hand = open_app(demo)
    woven = hand.app.desk.rug.rows_woven
    log(hand, 9)
    hand.tap("Undo")
    hand.tap("Row")
    assert hand.shell.page.figure == str(woven + 1)
    assert not hand.sees("counted")
    hand.tap("Row done")
    assert hand.sees("+1 row counted")


def test_an_undone_session_waits_in_the_form_and_is_saved_only_once_that_is_asked_for(open_app, demo) -> None:
    hand = open_app(demo)
    sessions = len(hand.app.desk.rug.sessions)
    log(hand, 9)
    hand.tap("Undo")
    hand.tap("Log the session")
    assert hand.shell.page.rows == 9
    # What was just taken back is not put in again by a tap on the lit key.
    hand.tap("Save")
    assert (hand.shell.page_name, len(hand.app.desk.rug.sessions)) == ("session", sessions)
    hand.tap("Leave it")
    assert hand.shell.page.rows == 0
    assert not hand.sees("Take it up again")
    hand.tap("Undo")
    assert (hand.shell.page.rows, hand.shell.page.ids.save.disabled) == (9, True)
    hand.tap("Take it up again")
    assert not hand.sees("Leave it")
    hand.tap("Save")
    assert len(hand.app.desk.rug.sessions) == sessions + 1
    hand.tap("Log the session")
    assert hand.shell.page.rows == 0
    # Whoever changes what was undone asks for it, too.
    hand.tap(hand.shell.page.ids.suggestions.children[1])
    hand.tap("Save")
    hand.tap("Undo")
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    assert not hand.shell.page.ids.save.disabled


# --- nothing entered


def test_an_untouched_form_cannot_be_saved_and_assumes_no_hours(open_app, demo) -> None:
    hand = open_app(demo)
    sessions = len(hand.app.desk.rug.sessions)
    hand.tap("Log the session")
    page = hand.shell.page
    assert page.ids.save.disabled
    assert page.form.hours is None
    hand.tap("Save")
    assert (hand.shell.page_name, len(hand.app.desk.rug.sessions)) == ("session", sessions)
    hand.tap(page.ids.suggestions.children[2])
    assert not page.ids.save.disabled
    assert page.form.hours
    type_rows_on(hand, 0)
    assert page.ids.save.disabled
    assert page.form.hours is None


def type_rows_on(hand, rows: int) -> None:
    hand.shell.page.ask_rows()
    settle(2)
    hand.tap(str(rows))
    hand.tap("Done")


def test_yarn_alone_can_be_saved_without_hours(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("Madder red")
    hand.tap("Save")
    last = hand.app.desk.rug.sessions[-1]
    assert (last.rows, last.hours, len(last.used)) == (0, None, 1)


def test_hours_that_were_said_stay_when_rows_are_changed(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    page = hand.shell.page
    page.step_hours(0.5)
    hand.tap(page.ids.suggestions.children[2])
    assert page.form.hours == 0.5


# --- the calendar


def cell(hand, day: date):
    return next(c for c in hand.shell.page.ids.month.ids.days.children if c.value == day)


@pytest.mark.parametrize("by_px", [12, 15, 18])
def test_a_short_flick_over_a_day_changes_nothing(open_app, demo, by_px) -> None:
    hand = open_app(demo)
    hand.tap("Finish")
    before = hand.app.desk.rug.days_off
    day = cell(hand, date(2026, 11, 27))
    hand.reach(day)
    x, y = middle_of(day)
    finger = Finger(x, y)
    finger.put(x, y)
    settle(1)
    finger.slide(x, y + dp(by_px) / 2)
    settle(1)
    finger.slide(x, y + dp(by_px))
    settle(1)
    finger.lift()
    settle(15)
    assert hand.app.desk.rug.days_off == before
    assert hand.shell.sheet is None


def test_a_tap_opens_the_day_and_writes_nothing_by_itself(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Finish")
    before = hand.app.desk.rug.days_off
    hand.tap(cell(hand, date(2026, 11, 28)))
    assert hand.app.desk.rug.days_off == before
    hand.tap("Take the day off")
    assert len(hand.app.desk.rug.days_off) == len(before) + 1
    assert hand.shell.sheet is None
    assert cell(hand, date(2026, 11, 28)).off


def test_a_past_day_tells_what_was_woven_and_offers_no_day_off(open_app, demo) -> None:
    hand = open_app(demo)
    last = hand.app.desk.rug.sessions[-1]
    hand.tap("Finish")
    hand.tap(cell(hand, last.day))
    assert hand.shell.sheet is not None
    assert hand.sees(f"{last.rows:+d} rows")
    assert not hand.sees("Take the day off")


def test_a_past_day_opens_its_session_to_be_corrected(open_app, demo) -> None:
    hand = open_app(demo)
    last = hand.app.desk.rug.sessions[-1]
    hand.tap("Finish")
    hand.tap(cell(hand, last.day))
    hand.tap(next(words for words in hand.words() if words.startswith("Open the session: ")))
    hand.tap("Correct")
    hand.wait(lambda: hand.shell.page_name == "session")
    assert hand.shell.page.correcting
    assert hand.shell.page.form.session_id == last.id


def test_a_session_is_logged_for_a_past_day_beside_what_waits_of_this_evening(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    hand.tap("Log the session")
    type_rows(hand, 5)
    hand.key_back()
    woven = {session.day for session in desk.rug.sessions}
    free = next(day for n in range(1, 26) if (day := TODAY - timedelta(days=n)) not in woven)
    hand.tap("Finish")
    hand.tap(cell(hand, free))
    hand.tap("Log a session for this day")
    assert hand.shell.page.form.day == free
    type_rows(hand, 6)
    hand.tap("Save")
    assert hand.shell.page_name == "finish"
    assert [session.rows for session in desk.rug.sessions if session.day == free] == [6]
    hand.shell.open_tab("home")
    hand.tap("Log the session")
    form = hand.shell.page.form
    assert (form.rows, form.day) == (5, TODAY)


def test_a_day_to_come_has_no_session_to_log(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Finish")
    hand.tap(cell(hand, TODAY + timedelta(days=1)))
    assert hand.shell.sheet is not None
    assert not hand.sees("Log a session for this day")


def test_today_with_a_session_says_so_before_it_can_become_a_day_off(open_app, demo) -> None:
    hand = open_app(demo)
    log(hand, 7)
    before = hand.app.desk.rug.days_off
    hand.tap("Finish")
    hand.tap(cell(hand, TODAY))
    assert hand.app.desk.rug.days_off == before
    assert hand.sees("+7 rows")
    assert not hand.sees("Take the day off")


def test_a_finished_rugs_days_cannot_become_days_off(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.act(ActKind.RUG_FINISHED, replace(desk.rug.plan, finished_day=TODAY))
    before = desk.rug.days_off
    hand.tap("Finish")
    hand.tap(cell(hand, date(2026, 11, 27)))
    assert desk.rug.days_off == before
    assert not hand.sees("Take the day off")


# --- an unlikely number of rows


def test_an_unlikely_number_of_rows_is_asked_about_once(open_app, demo) -> None:
    hand = open_app(demo)
    sessions = len(hand.app.desk.rug.sessions)
    log(hand, 70)
    assert len(hand.app.desk.rug.sessions) == sessions
    # Changing opens the number at once.
    hand.tap("Change the rows")
    hand.tap("7")
    hand.tap("Done")
    assert hand.shell.page.rows == 7
    hand.shell.page.set_rows(70)
    settle()
    hand.tap("Save")
    hand.tap("Yes, save 70 rows")
    assert hand.app.desk.rug.sessions[-1].rows == 70
    assert hand.shell.page_name == "home"
    # Undone it was a slip: the next session does not begin with it.
    hand.tap("Undo")
    hand.tap("Log the session")
    assert hand.shell.page.rows == 0
    assert not hand.sees("70")


def test_a_good_day_is_not_asked_about(open_app, demo) -> None:
    hand = open_app(demo)
    log(hand, 14)
    assert hand.app.desk.rug.sessions[-1].rows == 14


# --- what comes next


def test_the_first_rows_put_a_planned_rug_on_the_loom_and_undo_takes_it_off(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    winter = next(plan.id for plan in desk.plans if plan.name == "Long winter")
    desk.choose(winter)
    hand.wait(lambda: desk.rug is not None and desk.rug.plan.id == winter and desk.answers is not None)
    log(hand, 3)
    # There are several looms, and the plan names none.
    assert hand.sees("Which loom?")
    assert desk.rug.rows_woven == 0
    free = next(words for words in hand.words() if words.endswith("free"))
    hand.tap(free)
    # Its warp is too long for that loom: said where the loom is chosen, and the others are offered again.
    assert hand.sees("Small loom holds 220 cm.")
    hand.tap("Choose again")
    assert hand.sees("Which loom?")
    hand.tap(free)
    assert desk.rug.rows_woven == 0
    hand.tap("It lies there all the same")
    on = next(loom for loom in desk.looms() if loom.id == desk.rug.plan.loom_id)
    assert free.startswith(on.name)
    assert (desk.rug.plan.stage, desk.rug.rows_woven) == (RugStage.ON_LOOM, 3)
    hand.tap("Undo")
    assert (desk.rug.plan.stage, desk.rug.plan.loom_id) == (RugStage.PLANNED, None)


def test_with_two_rugs_on_the_looms_the_session_says_which(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(desk.rug.plan.id)
    hand.tap("Log the session")
    assert hand.shell.page.title == "Session"
    hand.key_back()
    pass_time(0.5)
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    desk.act(ActKind.RUG_PUT_ON_LOOM, replace(winter, stage=RugStage.ON_LOOM), rug_id=winter.id)
    hand.tap("Log the session")
    assert hand.shell.page.title == "Session"
    assert hand.sees("Walled garden")


def tick_all(hand) -> None:
    """Tick off every step of the guide's stage."""
    page = hand.shell.page
    while row := next(
        (w for w in everything(page) if isinstance(w, GuideStepRow) and not w.step.ticked), None
    ):
        page.tick(row.step)
        settle()


def test_after_the_last_row_the_main_key_leads_to_the_next_step_and_the_finish_and_its_lessons(
    open_app, demo
) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rug = desk.rug
    desk.act(
        ActKind.SESSION_LOGGED, replace(rug.sessions[-1], id="f" * 32, rows=rug.plan.rows - rug.rows_woven)
    )
    # The demo's first step is open: the first view names it, and on Finish its key leads to the guide's stage.
    first = next(step for step in desk.rug.after_steps if step.done_day is None)
    hand.wait(lambda: hand.sees(f"Next: {first.name}"))
    hand.tap(f"Next: {first.name}")
    assert hand.shell.page_name == "finish"
    hand.tap(f"Next: {first.name}")
    assert hand.shell.page.title == "Cut off"
    # All of it ticked off leads on; with the ends, too, the step is done on Finish.
    tick_all(hand)
    assert not hand.sees(f"{first.name}: done.")
    key = hand.find("Next: Ends")
    assert key.to_window(*key.pos)[1] >= 0, "the last tick brings it into sight"
    # Back on Finish the key names where the step goes on, and leads there.
    hand.shell.back()
    assert hand.shell.page_name == "finish"
    assert not hand.sees(f"Next: {first.name}")
    hand.tap("Next: Ends")
    assert hand.shell.page.title == "Ends"
    tick_all(hand)
    assert hand.sees(f"{first.name}: done.")
    assert next(step for step in desk.rug.after_steps if step.id == first.id).done_day == desk.today()
    second = next(step for step in desk.rug.after_steps if step.done_day is None)
    hand.shell.back()
    assert hand.shell.page_name == "finish"
    assert hand.sees(f"Next: {second.name}")
    hand.tap("Finish the rug")
    hand.tap("Save")
    assert next(p for p in desk.plans if p.id == rug.plan.id).stage is RugStage.FINISHED
    hand.wait(lambda: hand.sees("Knots an hour"))
    # The lessons have the Undo themselves, and nothing dimmed behind them has another.
    assert sum(isinstance(widget, Toast) for widget in everything(hand.shell)) == 1
    hand.tap(hand.find("Undo", hand.shell.sheet))
    assert hand.shell.sheet is None
    assert next(p for p in desk.plans if p.id == rug.plan.id).stage is RugStage.ON_LOOM
    hand.key_back()
    hand.tap("Finish the rug")
    hand.tap("Save")
    hand.wait(lambda: hand.sees("Knots an hour"))
    hand.reach(hand.find("Share and print the record"))
    pass_time(1)
    hand.tap("Share and print the record")
    assert hand.shell.page_name == "export"


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_key_that_finishes_a_rug_is_in_sight_when_its_sheet_opens(open_app, demo, scale: float) -> None:
    hand = open_app(demo)
    hand.shell.open_tab("finish")
    look.text_scale = scale
    try:
        hand.shell.page.call_finished()
        settle()
        assert not act_below(hand.shell.sheet)
        # No scrolling first: whoever looks at it sees and taps it.
        hand.tap_at(*middle_of(hand.find("Save", hand.shell.sheet)))
        assert hand.app.desk.rug.plan.stage is RugStage.FINISHED
    finally:
        look.text_scale = 1.0


def test_the_strip_does_not_lie_over_the_key_that_was_just_tapped(open_app, demo) -> None:
    """One more, and one more: the second tap must not be an Undo."""
    hand = open_app(demo)
    desk = hand.app.desk
    hand.shell.go("preparation")
    settle()
    before = len(desk.rug.preparations)
    keys = [w for w in everything(hand.shell.page) if getattr(w, "text", "") == "+1" and shown(w)]
    lowest = min(
        (key for key in keys if key.to_window(0, key.y)[1] > 0), key=lambda key: key.to_window(0, key.y)[1]
    )
    assert lowest.to_window(*lowest.center)[1] < Window.height / 4
    x, y = lowest.to_window(*lowest.center)
    for _tap in range(2):
        pass_time(0.6)
        hand.tap_at(x, y)
        assert hand.shell._toast is not None
    assert sum(done.count for done in desk.rug.preparations[before:]) == 2


def test_the_strip_leaves_the_main_key_free_however_long_its_sentence(open_app, demo) -> None:
    hand = open_app(demo)
    key = next(w for w in everything(hand.shell.page) if isinstance(w, Key) and w.text == "Log the session")
    for words in (
        "Saved.",
        "7 rows saved, and very much more is to be said of the day, the yarn and the rug. " * 2,
    ):
        hand.shell.toast(words, undo=lambda: None)
        settle(4)
        assert strip(hand).to_window(0, strip(hand).y)[1] >= key.to_window(0, key.top)[1]


def test_in_large_type_the_strip_leaves_the_name_that_leads_to_the_rugs_and_its_sentence_room(
    open_app, demo
) -> None:
    """At 200 % the key beside it left a word or two a line: eight lines, a third of the window; and Undo lay over the rug's name."""
    hand = open_app(demo)
    look.text_scale = 2.0
    try:
        settle(3)
        hand.shell.toast(
            "7 rows saved · Row 204 of 260 · 26 Dec (2 days later than before)", undo=lambda: None
        )
        settle(4)
        words = strip(hand).ids.words
        assert len(words._label._cached_lines) <= 3
        assert strip(hand).height < Window.height / 6
        assert strip(hand).ids.undo.height >= dp(48)
        (name,) = (key for key in everything(hand.shell.page) if isinstance(key, TitleKey))
        assert cut(box_of(name), box_of(strip(hand))) is None
    finally:
        look.text_scale = 1.0


@pytest.mark.parametrize("warn", [False, True])
@pytest.mark.parametrize("dark", [False, True])
def test_the_strip_can_be_read_in_every_size_of_type(open_app, demo, dark: bool, warn: bool) -> None:
    hand = open_app(demo)
    try:
        for scale in (1.0, 1.5, 2.0):
            look.dark, look.text_scale = dark, scale
            for undo in (None, lambda: None):
                hand.shell.toast(
                    "Row 40 of 90 · 15 Nov (2 days later than before) · Red may run short, by about 85 g",
                    undo,
                    warn,
                )
                settle()
                words = strip(hand).ids.words
                wanted = look.tones["on_madder" if warn else "ground"]
                assert list(words.color) == list(wanted), (scale, undo)
    finally:
        look.dark, look.text_scale = False, 1.0


# --- what else can hardly be meant


def bought(hand, grams: str) -> None:
    """Enter yarn bought for the first colour on the yarn page, its mass typed."""
    yarn = hand.app.desk.rug.yarns_of(Role.PILE)[0]
    open_entry(hand.shell, hand.app.desk, FormKind.LOT, yarn.id)
    hand.tap("Weight")
    for digit in grams:
        hand.tap(digit)
    hand.tap("Done")
    hand.tap("Save")


def test_a_purchase_far_beyond_the_need_is_asked_about_once(open_app, demo) -> None:
    hand = open_app(demo)
    lots = len(hand.app.desk.rug.lots)
    bought(hand, "1000000")
    assert len(hand.app.desk.rug.lots) == lots
    assert hand.sees("1,000 kg is")
    # The mass is asked for at once.
    hand.tap("No, change it")
    for digit in "1000":
        hand.tap(digit)
    hand.tap("Done")
    assert hand.sees("1,000 g"), "the form stands as it was but for the mass"
    hand.tap("Save")
    assert hand.app.desk.rug.lots[-1].mass_g == 1_000


def test_of_a_whole_list_called_bought_the_purchase_in_doubt_is_opened_to_be_changed(open_app, demo) -> None:
    hand = open_app(demo)
    lots = len(hand.app.desk.rug.lots)
    hand.shell.go("shopping")
    settle()
    hand.tap(next(words for words in hand.words() if words.startswith("Madder red, dye lot ")))
    hand.tap("Weight")
    for digit in "1000000":
        hand.tap(digit)
    hand.tap("Done")
    hand.key_back()
    settle()
    hand.tap("All bought as listed")
    hand.tap("Yes, all of it")
    assert hand.sees("1,000 kg is")
    hand.tap("No, change it")
    settle()
    assert hand.sees("Bought: Madder red")
    assert hand.sees("1,000,000 g")
    assert len(hand.app.desk.rug.lots) == lots


def test_an_ordinary_purchase_is_not_asked_about(open_app, demo) -> None:
    hand = open_app(demo)
    lots = len(hand.app.desk.rug.lots)
    bought(hand, "500")
    assert hand.app.desk.rug.lots[-1].mass_g == 500
    # Undone it waits in its form, and no lit key puts it in again before somebody asks for that.
    hand.tap("Undo")
    assert len(hand.app.desk.rug.lots) == lots
    open_entry(hand.shell, hand.app.desk, FormKind.LOT, hand.app.desk.rug.yarns_of(Role.PILE)[0].id)
    settle()
    assert hand.sees("500 g")
    assert hand.find("Save", hand.shell.sheet).disabled
    hand.tap("Take it up again")
    assert hand.sees("Start again")
    hand.tap(hand.find("Save", hand.shell.sheet))
    assert len(hand.app.desk.rug.lots) == lots + 1


def test_hours_that_cannot_be_meant_for_the_rows_are_asked_about(open_app, demo) -> None:
    hand = open_app(demo)
    sessions = len(hand.app.desk.rug.sessions)
    hand.tap("Log the session")
    type_rows(hand, 6)
    hand.shell.page._say_hours(24.0)
    hand.tap("Save")
    assert len(hand.app.desk.rug.sessions) == sessions
    assert hand.sees("24 h for 6 rows")
    # The hours are asked for at once.
    hand.tap("No, change it")
    hand.tap("3")
    hand.tap("Done")
    hand.tap("Save")
    assert hand.app.desk.rug.sessions[-1].hours == 3.0


def test_a_clock_set_back_is_asked_about_before_a_session_is_saved(open_app, demo, monkeypatch) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    sessions = len(desk.rug.sessions)
    monkeypatch.setattr(desk, "today", lambda: date(2020, 1, 1))
    log(hand, 6)
    assert len(desk.rug.sessions) == sessions
    assert hand.sees("Your phone says that today is")
    hand.tap("Yes, save it")
    assert len(desk.rug.sessions) == sessions + 1


def test_which_month_it_is_stays_in_sight_on_a_phone_that_lies(open_app, demo) -> None:
    """The day that is meant is brought into sight, and the month over it scrolled away with the way to another one."""
    hand = open_app(demo, size=(892, 412))
    hand.shell.go("session")
    settle()
    hand.tap("today")
    settle(12)
    sheet = hand.shell.sheet
    name = hand.find("November 2026")
    top, foot = box_of(sheet.ids.scroll)[3], box_of(sheet.ids.scroll)[1]
    assert top <= box_of(name)[1] < box_of(name)[3] <= Window.height
    day = next(key for key in sheet.content.ids.days.children if getattr(key, "role", "") == "chosen")
    assert foot - 1 <= box_of(day)[1] < box_of(day)[3] <= top + 1
    arrow = next(key for key in everything(sheet.ids.head) if getattr(key, "icon", "") == "left")
    hand.tap(arrow)
    settle()
    assert hand.sees("October 2026")
