"""The finish by touch: read the date, take days off and on, wish for a day, tick the steps after weaving."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from kivy.core.text import Label as CoreLabel
from kivy.core.window import Window
from kivy.metrics import dp

from tests.today import TODAY
from tests.ui.books import without
from tests.ui.hand import everything, shown
from tracker.domain.act import ActKind
from tracker.domain.errors import BookTrouble
from tracker.domain.rug import Role, RugPlan, RugStage
from tracker.presenters.finish import finished_plan, ticked
from tracker.presenters.guide import open_steps
from tracker.presenters.of_rug import TICKS
from tracker.presenters.plan.changes import with_all
from tracker.previews.draw import settle
from tracker.screens.guide.guide import guide_cards
from tracker.widgets.look import look
from tracker.widgets.month_calendar import CalendarDay


@pytest.fixture
def demo(demo: Path) -> Path:
    """The demo book, where nothing was measured after washing."""
    return without(demo, RugPlan)


def at_the_finish(open_app, path, **how):
    hand = open_app(path, **how)
    hand.tap("Finish")
    return hand


def cell(hand, day: date):
    """The day on the month shown."""
    return next(c for c in hand.shell.page.ids.month.ids.days.children if c.value == day)


def off_days(hand) -> set[date]:
    return {
        off.first_day.fromordinal(n)
        for off in hand.app.desk.rug.days_off
        for n in range(off.first_day.toordinal(), off.last_day.toordinal() + 1)
    }


def test_the_date_its_range_and_what_it_rests_on_are_read(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    finish = hand.app.desk.answers.finish
    assert hand.sees("Last row, from 39 sessions")
    assert hand.sees(str(finish.middle.day))
    for sentence in hand.app.desk.answers.basis.rests_on:
        hand.reach(hand.find(sentence))
    assert cell(hand, TODAY).today


def test_a_day_off_is_taken_by_a_tap_and_undone(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    day = date(2026, 11, 28)
    before = off_days(hand)
    hand.tap(cell(hand, day))
    hand.tap("Take the day off")
    assert off_days(hand) == before | {day}
    assert cell(hand, day).off
    assert hand.sees("Saturday, 28 November is a day off.")
    hand.tap("Undo")
    assert off_days(hand) == before
    assert not cell(hand, day).off


def test_a_second_tap_makes_it_a_weaving_day_again(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    before = off_days(hand)
    for offered in ("Take the day off", "Weave on this day"):
        hand.tap(cell(hand, date(2026, 11, 28)))
        hand.tap(offered)
    assert off_days(hand) == before


def test_one_day_of_the_wedding_is_woven_after_all(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    hand.shell.page.turn(1)
    assert off_days(hand) == {date(2026, 12, d) for d in (7, 8, 9, 10)}
    hand.tap(cell(hand, date(2026, 12, 8)))
    hand.tap("Weave on this day")
    assert off_days(hand) == {date(2026, 12, d) for d in (7, 9, 10)}
    hand.tap("Undo")
    assert off_days(hand) == {date(2026, 12, d) for d in (7, 8, 9, 10)}


def test_a_past_day_is_read_and_nothing_is_written(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    last = hand.app.desk.rug.sessions[-1]
    before = off_days(hand)
    hand.tap(cell(hand, last.day))
    assert hand.sees(f"{last.rows:+d} rows in")
    assert off_days(hand) == before


def no_room(*_act: object, **_of: object) -> None:
    raise BookTrouble("There is no room left.")


def test_the_reason_of_a_day_off_is_kept(open_app, demo, monkeypatch) -> None:
    hand = at_the_finish(open_app, demo)
    hand.tap(cell(hand, date(2026, 11, 28)))
    hand.tap("Take the day off")
    hand.tap(cell(hand, date(2026, 11, 28)))
    hand.tap("Say why")
    hand.shell.sheet.content.ids.entry.text = "Market"
    with monkeypatch.context() as full:
        full.setattr(hand.app.desk.book, "act", no_room)
        hand.tap("Done")
    assert hand.sees("There is no room left.")
    assert hand.shell.sheet.content.ids.entry.text == "Market", "what was typed went with the full disk"
    hand.tap("Done")
    assert any(off.reason == "Market" for off in hand.app.desk.rug.days_off)


def test_the_month_of_the_finish_is_one_tap_away(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    middle = hand.app.desk.answers.finish.middle
    hand.tap(hand.shell.page.month_words)
    assert cell(hand, middle).middle
    assert cell(hand, middle).in_range


def test_the_day_on_which_all_is_ready_is_marked_named_and_told_by_a_tap(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    finish, wished = hand.app.desk.answers.finish, hand.app.desk.rug.plan.wished_day
    hand.tap(hand.shell.page.month_words)
    for on, words, told in (
        (finish.ready, "ready, all steps done", "ready, with the steps after weaving"),
        (wished, "target date", "target date"),
    ):
        assert on.month == finish.middle.month, "the demo has both in the month of the last row"
        face = cell(hand, on)
        others = [w for w in everything(hand.shell.page) if isinstance(w, CalendarDay) and w is not face]
        marks = (face.ready, face.wished)
        assert any(marks)
        assert not any((other.ready, other.wished) == marks for other in others)
        assert hand.sees(words)
        hand.tap(face)
        assert hand.sees(told)
        hand.shell.close_sheet()
        settle()


def test_a_wished_for_day_is_chosen_and_given_up(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    old = hand.app.desk.rug.plan.wished_day
    hand.tap("Target date")
    hand.tap("29")
    assert hand.app.desk.rug.plan.wished_day == old.replace(day=29)
    hand.tap("Undo")
    assert hand.app.desk.rug.plan.wished_day == old
    hand.shell.dismiss_toast()
    hand.tap(next(w for w in hand.shell.page.ids.rest.walk() if getattr(w, "icon", "") == "close"))
    assert hand.app.desk.rug.plan.wished_day is None
    assert hand.sees("Set a date to see how likely it is.")


def test_a_step_is_added_ticked_and_taken_out(open_app, demo, monkeypatch) -> None:
    hand = at_the_finish(open_app, demo)
    before = len(hand.app.desk.rug.after_steps)
    ready = hand.app.desk.answers.finish.ready
    hand.tap("Add a step")
    # Without a name it could not be kept: the key is dark, and its line says what to do.
    assert hand.find("Save", hand.shell.sheet).disabled
    assert hand.sees("Tap to name it")
    hand.tap("What is done")
    hand.shell.sheet.content.ids.entry.text = "Photograph"
    hand.tap(hand.find("Done", hand.shell.sheet))
    hand.tap(hand.shell.sheet.content.children[1].children[0])  # plus: two days
    # What could not be written is said where it was entered, and stays there and for the next start.
    with monkeypatch.context() as full:
        full.setattr(hand.app.desk.book, "act", no_room)
        hand.tap("Save")
    assert hand.sees("There is no room left.")
    assert next(iter(hand.app.desk.drafts.get("after steps").values()))["name"] == "Photograph"
    hand.tap("Save")
    assert hand.app.desk.drafts.get("after steps") is None
    step = hand.app.desk.rug.after_steps[-1]
    assert (step.name, step.days, len(hand.app.desk.rug.after_steps)) == ("Photograph", 2.0, before + 1)
    assert (hand.app.desk.answers.finish.ready - ready).days == 2
    hand.shell.dismiss_toast()
    row = hand.shell.page.ids.steps.children[0]
    hand.tap(row.children[1])
    assert hand.app.desk.rug.after_steps[-1].done_day == TODAY
    hand.shell.dismiss_toast()
    hand.tap("Photograph")
    hand.tap("Take this step out")
    assert len(hand.app.desk.rug.after_steps) == before


def test_a_half_entered_step_is_still_there_after_a_phone_call(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    hand.tap("Add a step")
    hand.tap(hand.shell.sheet.content.children[1].children[0])
    hand = at_the_finish(open_app, demo)
    # One begun of another rug is that one's alone.
    desk, garden = hand.app.desk, hand.app.desk.rug_id
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Doorstep"))
    settle()
    hand.shell.page.open_step()
    assert hand.shell.sheet.content.days == 1
    hand.shell.page.change_step(days=4.0)
    hand.shell.close_sheet()
    desk.choose(garden)
    settle()
    hand.tap("Add a step")
    assert hand.shell.sheet.content.days == 2


def test_without_steps_the_usual_four_are_offered(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.tap("Finish")
    assert hand.sees("Last row, by the plan")
    hand.tap("Add the usual four steps")
    assert [step.number for step in desk.rug.after_steps] == [1, 2, 3, 4]
    # One that was taken out can be brought back with the same key.
    hand.tap("Shear")
    hand.tap("Take this step out")
    assert len(desk.rug.after_steps) == 3
    hand.tap("Add the usual step that is missing")
    assert [step.number for step in desk.rug.after_steps] == [1, 2, 3, 4]
    assert not hand.sees("usual")


def test_after_the_last_row_what_follows_comes_before_the_month_and_the_tab_says_where_one_is(
    open_app, demo
) -> None:
    from tracker.screens.finish.finish import StepRow
    from tracker.shell.shell import NavKey
    from tracker.widgets.month_calendar import CalendarDay

    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.wait(lambda: desk.answers is not None and desk.rug.plan.name == "Long winter")
    left = desk.answers.where.rows - desk.answers.where.rows_woven
    hand.tap("Finish")
    assert hand.sees("Target date")
    assert not hand.sees("day off"), "the legend explains what is not there"
    hand.tap("Rug")
    hand.tap("Log the session")
    hand.tap("0")
    for digit in str(left):
        hand.tap(digit)
    hand.tap("Done")
    hand.tap("Save")
    hand.tap(f"Yes, save {left} rows")
    hand.tap("Small loom\n90 cm wide, warp up to 220 cm, free")
    hand.tap("It lies there all the same")
    assert hand.sees("25 November")
    hand.shell.dismiss_toast()
    hand.tap("Next: Cut off")
    assert hand.shell.page_name == "finish"
    assert hand.sees("Next: Cut off"), "both pages name one thing"
    here = [key.text for key in everything(hand.shell) if isinstance(key, NavKey) and key.role == "here"]
    assert here == ["Finish"]
    assert hand.sees("Last row woven")
    assert not hand.sees("Target date")
    assert not hand.sees("Based on")
    hand.tap("Add the usual four steps")
    hand.shell.dismiss_toast()
    settle()
    # 8 days of work from 25 November on.
    assert hand.sees("Ready about 3 December")
    steps = [row for row in everything(hand.shell) if isinstance(row, StepRow)]
    month = [day for day in everything(hand.shell) if isinstance(day, CalendarDay)]
    assert min(row.to_window(row.x, row.y)[1] for row in steps) > max(
        day.to_window(day.x, day.top)[1] for day in month
    )
    follow_the_guide(hand)


def follow_the_guide(hand) -> None:
    """The key leads through the stages of a step; its last tick does it here, too, and one undo takes back both."""
    from tracker.screens.finish.finish import StepRow

    desk = hand.app.desk
    cut, ends = (
        next(one for one in guide_cards(desk) if one.title == title) for title in ("Cut off", "Ends")
    )
    hand.tap("Next: Cut off and secure the ends")
    for step in cut.steps:
        hand.tap(step.words)
    assert desk.rug.after_steps[0].done_day is None, "the ends are still open"

    def first_step() -> tuple[bool, bool, str]:
        row = next(row for row in everything(hand.shell) if isinstance(row, StepRow))
        box = row.children[-1]
        return box.ticked, box.begun, row.line.note

    # The first of its two stages is done: on the other page it is begun, in words and look.
    hand.shell.open_tab("finish")
    settle()
    assert first_step() == (False, True, "1 of 2 done, next: Ends; 1 day")
    hand.tap("Next: Ends")
    for step in ends.steps:
        assert desk.rug.after_steps[0].done_day is None
        hand.tap(step.words)
    assert hand.sees("Cut off and secure the ends: done.")
    assert desk.rug.after_steps[0].done_day == TODAY
    assert hand.sees("Next: Wash")
    hand.tap("Undo")
    assert desk.rug.after_steps[0].done_day is None
    assert not hand.sees("Next: "), "the stage is not done either"
    hand.tap(ends.steps[-1].words)
    assert desk.rug.after_steps[0].done_day == TODAY
    hand.shell.open_tab("finish")
    settle()
    assert first_step()[:2] == (True, False)
    assert hand.sees("Next: Wash and dry")
    # The lessons of a rug called finished offer to take that back, and close with it.
    hand.tap("Finish the rug")
    hand.tap("Save")
    hand.wait(lambda: hand.sees("Lessons from "))
    sheet = hand.shell.sheet
    hand.tap(next(one for one in everything(sheet) if getattr(one, "text", "") == "Undo"))
    assert desk.rug.plan.stage is RugStage.ON_LOOM
    assert hand.shell.sheet is None
    # The guide's last stage leads on: to the end of the rug, and from a finished one to its record.
    for step in open_steps(desk.rug):
        desk.act(ActKind.STEP_TICKED, ticked(step, TODAY))
    last = guide_cards(desk)[-1]
    ticks = desk.drafts.get(TICKS)
    desk.drafts.put(TICKS, {desk.rug.plan.id: [*ticks[desk.rug.plan.id], *(step.key for step in last.steps)]})
    hand.shell.open_tab("home")
    hand.shell.go("guide", stage=last.stage.value)
    settle()
    hand.tap("Finish the rug")
    assert hand.shell.page_name == "finish"
    desk.act(ActKind.RUG_FINISHED, finished_plan(desk.rug, TODAY))
    settle()
    assert hand.sees("Share and print the record")
    assert not hand.sees("Add the usual four steps")
    hand.shell.go("guide", stage=last.stage.value)
    settle()
    hand.tap("Share and print the record")
    assert hand.shell.page_name == "export"
    # Once closed the lessons do not come up again with each return to the rugs.
    hand.shell.go("shelf", lessons_of=desk.rug_id)
    hand.wait(lambda: hand.sees("Lessons from "))
    hand.key_back()
    hand.shell.go("looms")
    settle()
    hand.key_back()
    settle(20)
    assert hand.shell.page_name == "shelf"
    assert not hand.sees("Lessons from ")


def type_number(hand, keys: str) -> None:
    for key in keys:
        hand.tap(key)
    hand.tap("Done")


def test_a_finished_rug_is_measured_and_told_whether_it_is_within_what_is_allowed(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    finished = next(plan for plan in desk.plans if plan.stage is RugStage.FINISHED)
    desk.choose(finished.id)
    hand.wait(lambda: desk.answers is not None and desk.rug.plan.id == finished.id)
    hand.tap("Finish")
    assert hand.sees("Measure it when it is washed and dry")
    # A slip is asked about before it is kept, and "No" opens the number again.
    hand.tap("Finished width")
    type_number(hand, "2")
    # It names what was asked: washed it is, not as it came off the loom.
    hand.wait(lambda: hand.sees("A finished width of 2 cm: planned are"))
    hand.tap("No, change it")
    type_number(hand, f"{finished.width_cm + 1:.0f}")
    told = next(words for words in hand.words() if words.startswith("Finished width: "))
    assert told == f"Finished width: {finished.width_cm + 1:.0f} cm."
    hand.shell.dismiss_toast()
    hand.tap("Finished length")
    # What is planned is told, and is not measured by a tap on Done.
    assert hand.sees(f"planned: {finished.length_cm:.0f} cm")
    assert hand.find("Done").disabled
    hand.tap("Done")
    assert desk.rug.plan.finished_length_cm is None
    type_number(hand, f"{finished.length_cm - 9:.0f}")
    plan = desk.rug.plan
    assert plan.finished_width_cm == round(finished.width_cm + 1)
    assert plan.finished_length_cm == round(finished.length_cm - 9)
    assert hand.sees("too short, allowed")
    hand.tap("Undo")
    assert desk.rug.plan.finished_length_cm is None
    assert hand.sees("Measure it when it is washed and dry")


def at_a_finished_rug(open_app, demo, **how):
    hand = open_app(demo, **how)
    desk = hand.app.desk
    finished = next(plan for plan in desk.plans if plan.stage is RugStage.FINISHED)
    desk.choose(finished.id)
    hand.wait(lambda: desk.answers is not None and desk.rug.plan.id == finished.id)
    hand.tap("Finish")
    return hand


def test_nothing_is_measured_on_the_loom_of_a_rug_that_is_finished(open_app, demo) -> None:
    def icons(hand) -> list[str]:
        return [key.icon for key in hand.shell.page.children[-1].ids.actions.children]

    assert "measure" in icons(at_the_finish(open_app, demo))
    assert "measure" not in icons(at_a_finished_rug(open_app, demo))


def test_size_and_weight_before_and_after_washing_are_kept_and_offered_to_the_next_rug(
    open_app, demo
) -> None:
    hand = at_a_finished_rug(open_app, demo)
    desk = hand.app.desk
    for label, keys in (
        ("Unwashed width", "62"),
        ("Finished width", "60.7"),
        ("Unwashed weight", "2000"),
        ("Washed weight", "1900"),
    ):
        hand.tap(label)
        type_number(hand, keys)
        hand.shell.dismiss_toast()
    plan = desk.rug.plan
    assert (plan.unwashed_width_cm, plan.finished_width_cm) == (62, 60.7)
    assert (plan.unwashed_g, plan.washed_g) == (2000, 1900)
    assert hand.sees("Taken by washing: 2.1 % of the width, 100 g of the weight (5 %).")
    hand.tap("Washed weight")
    type_number(hand, "1800")
    hand.tap("Undo")
    assert desk.rug.plan.washed_g == 1900
    hand.shell.dismiss_toast()
    # Offered to a new rug, and taken only by a tap.
    hand.shell.go("plan")
    settle()
    hand.tap("Next: Size")
    assert hand.sees(f"On your last rug, {plan.name}, washing took 2.1 % of the width.")
    assert hand.shell.page.form.wash_shrinkage_width == 0.0
    hand.tap("Plan with that shrinkage")
    assert hand.shell.page.form.wash_shrinkage_width == 0.021
    assert not hand.sees("On your last rug")
    # So is the yarn that the knots of a rug alike took: the doorstep's, 6 % more than its knots are long.
    page = hand.shell.page
    form = replace(page.form, knots_per_10cm=24.0, rows_per_10cm=24.0)
    page.change(with_all(form, Role.PILE, count="R 1200 tex"))
    page.open("colours")
    settle()
    assert hand.sees("as dense and of a like yarn, the pile took 6 % more than this plan counts.")
    before = page.form
    hand.tap("Count with that use")
    assert all(yarn.pile_g_per_m2 for yarn in page.form.of(Role.PILE))
    assert not hand.sees("as dense and of a like yarn")
    hand.tap("Undo")
    assert page.form == before


def test_every_day_is_large_enough_for_a_thumb(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    for size in ((360, 640), (640, 360), (892, 412), (1280, 800), (360, 640)):
        Window.size = size
        settle()
        assert tuple(hand.shell.size) == size
        cells = hand.shell.page.ids.month.ids.days.children
        assert len(cells) >= 28
        assert min(c.height for c in cells) >= dp(48), size
        assert min(c.width for c in cells) >= dp(48), size


def test_the_cards_begin_where_the_title_does(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo, size=(360, 640))
    title = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "Finish" and shown(w))
    answer = hand.shell.page.ids.answer
    left = [w.to_window(*w.pos)[0] for w in (title, answer)]
    assert abs(left[0] - left[1]) < 2


def test_the_page_is_filled_anew_only_when_something_changed(open_app, demo, monkeypatch) -> None:
    from tracker.presenters import finish as finish_sums

    hand = open_app(demo)
    hand.tap("Finish")
    filled: list[object] = []
    build = finish_sums.build_finish_state
    monkeypatch.setattr(finish_sums, "build_finish_state", lambda *what: filled.append(what) or build(*what))
    hand.tap("Yarn")
    hand.tap("Finish")
    assert filled == []
    present = hand.shell.page.month_words
    hand.shell.page.turn(2)
    assert hand.shell.page.month_words != present
    hand.tap("Yarn")
    hand.tap("Finish")
    assert hand.shell.page.month_words == present, "another month than the present one was on top"
    filled.clear()
    hand.app.desk.set_setting("first_weekday", 6)
    settle()
    assert filled, "weeks begin with another day now"


def test_the_days_of_a_month_do_not_run_into_one_another_in_large_type(open_app, demo) -> None:
    hand = open_app(demo)
    look.text_scale = 2.0
    try:
        settle()
        hand.shell.go("finish")
        for size in ((800, 1280), (892, 412), (360, 640)):
            Window.size = size
            settle()
            assert tuple(hand.shell.size) == size
            hold_days_apart(hand, size)
    finally:
        look.text_scale = 1.0


def hold_days_apart(hand, size: tuple[int, int]) -> None:
    days = [day for day in everything(hand.shell.page) if isinstance(day, CalendarDay) and shown(day)]
    assert days
    for day in days:
        written = CoreLabel(text=day.text, font_size=day.font_size, bold=True)
        written.refresh()
        assert written.texture.width < day.width - 2, (day.text, day.width)
    if size == (800, 1280):
        # One month is as wide as the page.
        assert 7 * days[0].width > 0.7 * hand.shell.page.width


def test_a_step_says_what_to_mind_in_its_sheet_and_names_one_day_as_one(open_app, demo) -> None:
    hand = at_the_finish(open_app, demo)
    if not hand.app.desk.rug.after_steps:
        hand.tap("Add the usual four steps")
    for name, minded, days in (
        ("Cut off and secure the ends", "Slacken the warp before any blade comes near", "day"),
        ("Wash and dry", "Soaked, this rug weighs", "days"),
        ("Shear", "Pull the plug before you touch the blade", "day"),
        ("Fringe and selvedge", "knotting a fringe is hours of one movement", "days"),
    ):
        hand.tap(name)
        assert hand.sees(minded), name
        assert days in hand.words(hand.shell.sheet), name
        hand.key_back()
        settle()
