"""The shelf by touch: another rug taken in hand, one put on the loom, one finished and its lessons used in the next."""

from __future__ import annotations

from dataclasses import replace

import pytest

from storage import reading
from tests.today import TODAY
from tests.ui.hand import everything
from tests.ui.handed_time import pass_time
from tracker.domain.rug import RugStage, Session, new_id
from tracker.forecast.lessons import lessons_of
from tracker.presenters.of_rug import TICKS
from tracker.previews.draw import settle
from tracker.shell.shell import TOAST_SECONDS
from tracker.shell.toast import Toast


def open_shelf(hand) -> None:
    hand.shell.go("shelf")
    settle()


def plan_of(hand, name: str):
    return next(plan for plan in hand.app.desk.plans if plan.name == name)


def test_all_rugs_stand_in_their_places_with_what_counts_for_each(open_app, demo) -> None:
    hand = open_app(demo)
    open_shelf(hand)
    words = hand.words()
    assert [w for w in words if w in ("On the loom", "Planned", "Finished")] == [
        "On the loom",
        "Planned",
        "Finished",
    ]
    rug = hand.app.desk.rug
    assert any(w.startswith(f"row {rug.rows_woven} of {rug.plan.rows}") for w in words)
    assert "shown" in words
    assert any(w.startswith("to begin ") for w in words)
    assert any(w.startswith("finished ") for w in words)


def test_a_plan_that_was_begun_is_gone_on_with_or_kept_beside_a_new_one(open_app, demo, tmp_path) -> None:
    """It waited unseen behind "Plan another rug": whoever meant a new one found the old one in the form."""
    from tests.ui.test_plan_ui import small_cartoon

    hand = open_app(demo)
    open_shelf(hand)
    assert not hand.sees("Go on with the plan")
    hand.tap("Plan another rug")
    page = hand.shell.page
    page.cartoon.look_at(small_cartoon(tmp_path))
    hand.wait(lambda: page.cartoon.picture is not None)
    page.change(replace(page.form, name="River"))
    hand.shell.open_tab("home")
    open_shelf(hand)
    (card,) = (
        key for key in everything(hand.shell.page) if getattr(key, "card", None) and "River" in key.card.name
    )
    assert card.card.name == "Go on with the plan of River"
    hand.wait(lambda: card.picture is not None)
    hand.tap("Start a new one")
    assert hand.shell.page.form.name != "River"
    assert hand.shell.page.form.cartoon is None
    hand.shell.page.change(replace(hand.shell.page.form, name="Hill"))
    hand.shell.open_tab("home")
    open_shelf(hand)
    assert hand.sees("Go on with the plan of Hill")
    hand.tap("Go on with the plan of River")
    page = hand.shell.page
    hand.wait(lambda: page.cartoon.picture is not None)
    assert (page.form.name, page.form.cartoon is not None) == ("River", True)
    page.save()
    hand.wait(lambda: any(plan.name == "River" for plan in hand.app.desk.plans))
    open_shelf(hand)
    # Saved it is a rug like any other; the other one still waits.
    assert not hand.sees("Go on with the plan of River")
    assert hand.sees("Go on with the plan of Hill")


def test_another_rug_is_taken_in_hand_and_stays_so(open_app, demo) -> None:
    hand = open_app(demo)
    # A finished one has nothing to buy: its yarn leads to what is left of it.
    finished = next(plan for plan in hand.app.desk.plans if plan.stage is RugStage.FINISHED)
    hand.app.desk.choose(finished.id)
    for page in ("yarn", "material"):
        hand.shell.go(page)
        assert not any("Shopping" in words for words in hand.words())
        hand.tap("Yarn shelf")
        assert hand.shell.page_name == "yarn_shelf"
    open_shelf(hand)
    hand.tap("Long winter")
    hand.tap("Show it")
    assert hand.shell.page_name == "home"
    assert hand.app.desk.rug.plan.name == "Long winter"
    hand = open_app(demo)
    assert hand.app.desk.rug.plan.name == "Long winter"


def test_on_a_tablet_the_chosen_rug_and_the_newest_entry_stand_beside_their_lists(open_app, demo) -> None:
    hand = open_app(demo, size=(1280, 800))
    open_shelf(hand)
    pane = hand.shell.page.ids.pane
    assert pane.card.name == "Walled garden"
    assert "It is finished" in hand.words(pane)
    hand.tap("Doorstep")
    assert hand.shell.sheet is None
    assert (pane.card.name, pane.picture is not None) == ("Doorstep", True)
    hand.tap("Long winter")
    assert "Put it on the loom" in hand.words(pane)
    hand.tap("Show it")
    assert hand.app.desk.rug.plan.name == "Long winter"
    hand.tap("Diary")
    page = hand.shell.page
    hand.wait(lambda: not page.nothing_open)
    assert page.open_act == page.line_at(0).act_id
    assert hand.sees(page.ids.pane_title.text)


def test_another_rugs_rows_are_told_anew(open_app, demo) -> None:
    # They stand in its sessions, not in its plan; and a session of it comes in from another phone, or by an undo.
    hand = open_app(demo)
    winter = plan_of(hand, "Long winter")
    hand.app.desk.act("rug begun", replace(winter, stage=RugStage.ON_LOOM), rug_id=winter.id)
    open_shelf(hand)
    assert any(w.startswith("row 0 of 576") for w in hand.words())
    evening = Session(id=new_id(), rug_id=winter.id, day=TODAY, rows=12, hours=3.0)
    hand.app.desk.act("session logged", evening, rug_id=winter.id)
    hand.shell.back()
    settle()
    open_shelf(hand)
    assert any(w.startswith("row 12 of 576") for w in hand.words())


def test_a_planned_rug_goes_on_the_loom_and_undo_takes_it_off(open_app, demo) -> None:
    hand = open_app(demo)
    open_shelf(hand)
    hand.tap("Long winter")
    hand.tap("Put it on the loom")
    # There are two looms, and the plan names none.
    hand.tap("Small loom\n90 cm wide, warp up to 220 cm, free")
    hand.tap("It lies there all the same")
    loom_of = {loom.id: loom.name for loom in hand.app.desk.looms()}
    plan = plan_of(hand, "Long winter")
    assert (plan.stage, loom_of[plan.loom_id]) == (RugStage.ON_LOOM, "Small loom")
    assert hand.app.desk.rug.plan.name == "Long winter"
    hand.tap("Undo")
    plan = plan_of(hand, "Long winter")
    assert (plan.stage, plan.loom_id) == (RugStage.PLANNED, None)
    # On the other one a rug is being woven: nothing is put there without a word.
    open_shelf(hand)
    hand.tap("Long winter")
    hand.tap("Put it on the loom")
    hand.tap("Wide loom\n150 cm wide, warp up to 600 cm, Walled garden")
    assert hand.sees("Walled garden lies on Wide loom, too.")
    assert plan_of(hand, "Long winter").stage is RugStage.PLANNED
    hand.tap("Long winter lies behind Walled garden, on its warp")
    # That warp is mounted, and was measured for one.
    assert hand.sees("The warp of Walled garden is mounted.")
    assert plan_of(hand, "Long winter").stage is RugStage.PLANNED
    hand.tap("It was measured for both")
    plan, garden = plan_of(hand, "Long winter"), plan_of(hand, "Walled garden")
    assert (plan.stage, plan.loom_id, plan.warp_after) == (RugStage.ON_LOOM, garden.loom_id, garden.id)


def test_a_rug_is_finished_and_its_lessons_are_shown_and_offered_to_the_next(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rug = desk.rug
    taught = lessons_of(rug)
    open_shelf(hand)
    hand.tap("Walled garden")
    hand.tap("It is finished")
    left = rug.plan.rows - rug.rows_woven
    assert hand.sees(f"{left} rows of the plan are not woven.")
    hand.tap("The day it was finished")
    days = hand.shell.sheet.content
    hand.tap(next(key for key in days.ids.days.children if getattr(key, "value", None) == TODAY))
    settle()
    hand.tap("Finished width")
    for digit in "101":
        hand.tap(digit)
    hand.tap("Done")
    settle()
    hand.tap("Save")
    plan = plan_of(hand, "Walled garden")
    assert (plan.stage, plan.finished_day) == (RugStage.FINISHED, TODAY)
    assert (plan.finished_width_cm, plan.finished_length_cm, plan.washed_g) == (101.0, None, None)
    hand.wait(lambda: hand.sees("Lessons from Walled garden"))
    assert hand.sees(f"{taught.knots:,} knots")
    assert hand.sees("more than planned") or hand.sees("less than planned")
    hand.tap("Count with it in Long winter")
    assert hand.sees("Long winter now counts with your own rate and use of yarn.")
    assert plan_of(hand, "Long winter").knots_per_hour == round(taught.knots_per_hour)
    winter = reading.rug_book(desk.book, plan_of(hand, "Long winter").id)
    assert all(yarn.pile_g_per_m2 for yarn in winter.yarns_of("pile"))
    hand.tap("Undo")
    winter = reading.rug_book(desk.book, plan_of(hand, "Long winter").id)
    assert not any(yarn.pile_g_per_m2 for yarn in winter.yarns_of("pile"))


def test_finishing_asks_once_after_the_open_steps_and_is_taken_back_by_undo(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    first, second, *_rest = (step for step in desk.rug.after_steps if step.done_day is None)
    hand.tap("Row")
    hand.tap("Row done")
    open_shelf(hand)
    hand.tap("Walled garden")
    hand.tap("It is finished")
    assert hand.sees("Still waiting: +1 row not saved yet. Save the session first, or it does not count.")
    assert hand.sees("Not ticked off yet. Tap what is done; the rest can stay open.")
    hand.tap(first.name)
    hand.tap(second.name)
    # A slip of the finger is tapped away.
    hand.tap(second.name)
    hand.tap("Save")
    hand.wait(lambda: hand.shell.sheet is not None)
    done = {step.id: step.done_day for step in reading.rug_book(desk.book, desk.rug.plan.id).after_steps}
    assert done[first.id] == plan_of(hand, "Walled garden").finished_day
    assert done[second.id] is None
    # However long the lessons are read: they offer to undo as long as any strip, and the strip that the page then has has its own time.
    sheet = hand.shell.sheet
    height = sheet.content.height
    assert "Undo" in hand.words(sheet)
    assert sum(isinstance(widget, Toast) for widget in everything(hand.shell)) == 1, "one way back at a time"
    pass_time(TOAST_SECONDS + 1)
    assert "Undo" not in hand.words(sheet)
    assert hand.sees("Well woven!")
    assert sheet.content.height == height, "nothing moves under the eye"
    hand.key_back()
    hand.tap("Undo")
    plan = plan_of(hand, "Walled garden")
    assert (plan.stage, plan.finished_day) == (RugStage.ON_LOOM, None)
    assert all(
        step.done_day is None
        for step in reading.rug_book(desk.book, plan.id).after_steps
        if step.id == first.id
    )
    # Called finished with rows left and put back to go on: what was ticked off with it is still to be done then.
    ready = desk.answers.finish.ready
    desk.drafts.put(TICKS, {plan.id: ["warp.loom", "cut off.cut"]})
    finished = replace(plan, stage=RugStage.FINISHED, finished_day=TODAY)
    desk.act("rug finished", finished, replace(first, done_day=TODAY), replace(second, done_day=TODAY))

    def done_steps() -> set[str]:
        return {
            step.id
            for step in reading.rug_book(desk.book, plan.id).after_steps
            if step.id in (first.id, second.id) and step.done_day
        }

    hand.tap("Walled garden")
    hand.tap("Back on the loom")
    hand.wait(lambda: hand.sees("Walled garden is on the loom again. 2 steps are open again"))
    assert (done_steps(), desk.answers.finish.ready) == (set(), ready)
    assert desk.drafts.get(TICKS) == {plan.id: ["warp.loom"]}
    hand.tap("Undo")
    assert plan_of(hand, "Walled garden").stage is RugStage.FINISHED
    assert done_steps() == {first.id, second.id}
    assert desk.drafts.get(TICKS) == {plan.id: ["warp.loom", "cut off.cut"]}
    # With every row woven they may well be done: she is asked.
    rest = desk.rug.plan.rows - desk.rug.rows_woven
    desk.act("session logged", Session(id=new_id(), rug_id=plan.id, day=TODAY, rows=rest))
    hand.wait(lambda: desk.answers is not None and desk.answers.finished)
    for answer, kept in (
        ("They are done: keep them ticked", {first.id, second.id}),
        ("Not done: open them again", set()),
    ):
        hand.tap("Walled garden")
        hand.tap("Back on the loom")
        assert hand.sees("Every row is woven.")
        assert hand.sees("Ticked off after it:")
        hand.tap(answer)
        assert (plan_of(hand, "Walled garden").stage, done_steps()) == (RugStage.ON_LOOM, kept)
        hand.tap("Undo")


def test_a_withdrawn_rug_comes_back_from_the_diary(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rows = desk.rug.rows_woven
    open_shelf(hand)
    hand.tap("Walled garden")
    hand.tap("Delete the rug")
    assert hand.sees(f"{rows} rows are woven.")
    hand.tap("No, keep it")
    assert "Walled garden" in {plan.name for plan in desk.plans}
    hand.tap("Walled garden")
    hand.tap("Delete the rug")
    hand.tap("Delete the rug")
    assert "Walled garden" not in {plan.name for plan in desk.plans}
    assert desk.rug.plan.name != "Walled garden"
    hand.shell.open_tab("diary")
    settle()
    top = max(hand.shell.page.ids.rows.children[0].children, key=lambda row: row.y)
    assert (top.line.head, top.line.struck) == ("Rug deleted", False)
    hand.tap(top)
    hand.tap("Restore")
    assert "Walled garden" in {plan.name for plan in desk.plans}
    desk.choose(plan_of(hand, "Walled garden").id)
    settle()
    assert desk.rug.rows_woven == rows


def test_changing_the_plan_leads_to_the_plan_of_that_rug(open_app, demo) -> None:
    hand = open_app(demo)
    open_shelf(hand)
    hand.tap("Doorstep")
    hand.tap("Change the plan")
    assert hand.shell.page_name == "plan"
    assert hand.sees("Doorstep")
    hand.key_back()
    assert hand.shell.page_name == "shelf"


@pytest.mark.parametrize("size", [(360, 640), (892, 412)])
def test_an_empty_shelf_says_what_to_do_first(open_app, size) -> None:
    hand = open_app(size=size)
    open_shelf(hand)
    assert hand.sees("No rug yet.")
    hand.tap("Plan a rug")
    assert hand.shell.page_name == "plan"


def test_the_order_of_another_rug_says_that_it_is_the_rug_shown_now(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("shelf")
    hand.wait(lambda: hand.sees("Long winter"))
    winter = next(plan for plan in hand.app.desk.plans if plan.name == "Long winter")
    hand.shell.page.open_rug(winter.id)
    hand.tap("Customer's order")
    hand.wait(lambda: hand.shell.page_name == "order")
    assert hand.app.desk.rug_id == winter.id
    assert hand.sees("Long winter is the rug shown now.")
