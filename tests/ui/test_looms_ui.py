"""The looms by touch: entered, seen with their rug and seats, corrected, deleted, undone."""

from __future__ import annotations

from dataclasses import replace

from kivy.uix.textinput import TextInput

from tests.ui.hand import everything
from tracker.domain.act import ActKind
from tracker.domain.loom import Loom
from tracker.domain.rug import RugStage
from tracker.previews.draw import settle
from tracker.sheets.entry_detail import open_record


def open_looms(hand) -> None:
    hand.shell.go("shelf")
    hand.tap("Looms")
    assert hand.shell.page_name == "looms"
    hand.wait(lambda: not hand.sees("Looking through the looms"))


def write(hand, words: str) -> None:
    """Type into the open text sheet and leave it."""
    box = next(widget for widget in everything(hand.shell) if isinstance(widget, TextInput))
    box.text = words
    hand.tap("Done")


def head_of(hand, name: str):
    """The card of a loom."""
    return next(
        widget
        for widget in everything(hand.shell)
        if type(widget).__name__ == "LoomHead" and widget.card.name == name
    )


def test_an_empty_book_says_what_looms_are_for_and_takes_the_first_one(open_app) -> None:
    hand = open_app()
    open_looms(hand)
    assert hand.sees("No loom yet.")
    assert hand.sees("Enter each loom once")
    hand.tap("Add a loom")
    assert not hand.shell.sheet.content.can_save, "it has no name yet"
    hand.tap("Name")
    write(hand, "By the window")
    hand.tap("Kind of loom")
    hand.tap("horizontal, on the ground")
    hand.tap("Clear width")
    for key in "120":
        hand.tap(key)
    hand.tap("Done")
    hand.tap("Save")
    hand.wait(lambda: hand.sees("1 loom, 1 free"))
    assert hand.sees("Saved: By the window.")
    key = hand.find("Add a loom")
    assert key.to_window(*key.pos)[1] < key.height / 2
    assert hand.sees("horizontal, on the ground, 120 cm wide")
    (loom,) = hand.app.desk.looms()
    assert (loom.name, loom.width_cm, loom.seats) == ("By the window", 120.0, 1)
    hand.tap("Undo")
    hand.wait(lambda: hand.sees("No loom yet."))
    assert hand.app.desk.looms() == ()


def test_the_demo_s_loom_tells_its_rug_and_seats_and_opens_the_rug(open_app, demo) -> None:
    hand = open_app(demo)
    open_looms(hand)
    assert hand.sees("2 looms, 1 free")
    assert hand.sees("being woven now")
    seats = [
        (widget.line.number, widget.line.name)
        for widget in everything(hand.shell)
        if type(widget).__name__ == "SeatBox"
    ]
    assert seats == [("1", "Left seat"), ("2", "Right seat"), ("3", "")]
    hand.tap(next(w for w in everything(hand.shell) if type(w).__name__ == "LoomRugKey"))
    assert hand.shell.page_name == "home"
    # Back leads to the looms, from where she came.
    hand.key_back()
    assert hand.shell.page_name == "looms"


def test_a_rug_on_no_loom_is_put_on_one_where_it_is_told(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.act(ActKind.PLAN_CHANGED, replace(desk.rug.plan, loom_id=None))
    open_looms(hand)
    hand.tap(next(w for w in everything(hand.shell) if type(w).__name__ == "LoomRugKey"))
    settle()
    assert hand.sees(f"On which loom is {desk.rug.plan.name}?")
    # Nothing is chosen yet: "Open the rug" looked like the answer.
    keys = [key for key in hand.shell.sheet.content.children if hasattr(key, "role")]
    assert {key.role for key in keys} == {"plain"}
    hand.tap("Wide loom")
    hand.wait(lambda: hand.sees("being woven now"))
    assert next(loom.name for loom in desk.looms() if loom.id == desk.rug.plan.loom_id) == "Wide loom"
    assert hand.shell.page_name == "looms"


def test_the_first_session_of_a_rug_asks_where_another_lies_on_its_loom(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    garden = desk.rug.plan
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    desk.act(ActKind.PLAN_CHANGED, replace(winter, loom_id=garden.loom_id), rug_id=winter.id)
    desk.choose(winter.id)
    hand.wait(lambda: desk.fresh and desk.rug.plan.id == winter.id)
    hand.shell.go("session")
    settle()
    hand.shell.page.set_rows(3)
    settle()
    hand.tap("Save")
    assert hand.sees("Walled garden lies on Wide loom, too.")
    assert desk.rug.rows_woven == 0
    # Put away, the form is as it was.
    hand.key_back()
    assert hand.shell.page.form.rows == 3
    hand.tap("Save")
    hand.tap("Walled garden is no longer there")
    plans = {plan.name: plan for plan in desk.plans}
    assert desk.rug.rows_woven == 3
    assert (plans["Long winter"].stage, plans["Long winter"].loom_id) == (RugStage.ON_LOOM, garden.loom_id)
    assert plans["Walled garden"].loom_id is None
    hand.tap("Undo")
    plans = {plan.name: plan for plan in desk.plans}
    assert desk.rug.rows_woven == 0
    assert plans["Long winter"].stage is RugStage.PLANNED
    assert plans["Walled garden"].loom_id == garden.loom_id


def test_a_loom_stays_while_a_rug_lies_on_it_and_is_deleted_after(open_app, demo) -> None:
    hand = open_app(demo)
    open_looms(hand)
    hand.tap(head_of(hand, "Wide loom"))
    assert hand.sees("Walled garden lies on this loom.")
    assert not hand.sees("Delete the loom")
    hand.key_back()
    hand.tap(head_of(hand, "Small loom"))
    hand.tap("Delete the loom")
    hand.wait(lambda: hand.sees("1 loom, none free"))
    assert hand.sees("Deleted: Small loom")
    hand.tap("Undo")
    hand.wait(lambda: hand.sees("2 looms, 1 free"))


def test_a_corrected_width_reaches_the_plan_of_the_rug_on_it_by_one_act(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    open_looms(hand)
    hand.tap(head_of(hand, "Wide loom"))
    hand.tap("Correct")
    hand.tap("Clear width")
    for key in "145":
        hand.tap(key)
    hand.tap("Done")
    hand.tap("Save")
    hand.wait(lambda: hand.sees("145 cm wide"))
    assert desk.rug.plan.stage is RugStage.ON_LOOM
    assert desk.rug.plan.loom_width_cm == 145.0
    hand.tap("Undo")
    hand.wait(lambda: hand.sees("150 cm wide"))
    assert desk.rug.plan.loom_width_cm == 150.0


def test_the_diary_tells_a_loom_by_its_name(open_app, demo) -> None:
    hand = open_app(demo)
    entries = hand.app.desk.diary(limit=500, offset=0, text="small loom")
    assert [entry.kind for entry in entries] == ["loom entered"]


def test_the_diary_deletes_no_loom_on_which_a_rug_lies(open_app, demo) -> None:
    hand = open_app(demo)
    wide = next(loom for loom in hand.app.desk.looms() if loom.name == "Wide loom")
    open_record(hand.shell, hand.app.desk, wide.id)
    settle()
    assert hand.sees("upright, roller beams")
    hand.tap("Delete")
    assert hand.sees("Walled garden lies on this loom.")
    assert len(hand.app.desk.looms()) == 2


def put_on_garden_s_warp(hand, how: str) -> None:
    """Plan the long winter for the wide loom, on the warp of the walled garden."""
    desk = hand.app.desk
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    hand.shell.go("plan", rug_id=winter.id)
    settle()
    hand.tap(next(w for w in everything(hand.shell) if getattr(w, "text", "").startswith("2 wefts")))
    hand.tap("Loom")
    hand.tap("Wide loom\n150 cm wide, warp up to 600 cm, Walled garden")
    hand.tap("Warp")
    hand.tap(how)


def test_a_second_rug_is_laid_on_the_warp_waits_for_the_first_and_is_told_when_to_begin(
    open_app, demo
) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    put_on_garden_s_warp(hand, "behind Walled garden, on its warp")
    assert hand.sees("Walled garden and Long winter on one warp of")
    hand.shell.page.save()
    hand.wait(lambda: desk.fresh)
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    garden = next(plan for plan in desk.plans if plan.name == "Walled garden")
    assert (winter.loom_id, winter.warp_after) == (garden.loom_id, garden.id)
    open_looms(hand)
    assert hand.sees("begins when Walled garden is done")
    assert hand.sees("one behind the other")
    desk.choose(winter.id)
    hand.wait(lambda: desk.fresh)
    hand.shell.go("preparation")
    settle()
    assert hand.sees("The whole warp needs")
    assert not hand.sees("not mounted yet")
    assert hand.sees(" cm, one behind the other.")
    desk.set_setting("length_unit", "inch")
    hand.wait(lambda: desk.fresh)
    hand.shell.go("guide")
    hand.shell.go("preparation")
    settle()
    assert hand.sees(" in, one behind the other.")


def test_a_loom_too_narrow_is_said_where_it_is_chosen(open_app, demo) -> None:
    hand = open_app(demo)
    put_on_garden_s_warp(hand, "beside Walled garden, on one warp")
    assert hand.sees("and need 10 cm for hands")


def test_a_loom_is_chosen_by_its_width_and_what_does_not_fit_is_said_on_the_plan_and_at_the_loom(
    open_app, demo
) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    hand.shell.go("shelf")
    hand.shell.go("plan", rug_id=winter.id)
    settle()
    hand.tap(next(w for w in everything(hand.shell) if getattr(w, "text", "").startswith("2 wefts")))
    hand.tap("Loom")
    hand.tap("Small loom\n90 cm wide, warp up to 220 cm, free")
    assert hand.sees("The loom has 90 cm between its sides. Make the rug narrower by 1.7 cm")
    hand.key_back()
    settle()
    assert hand.sees("It does not fit the loom.")
    assert hand.sees("Small loom")
    # A finished rug says what to expect, and the evenings of the one on the loom no second rate beside it.
    hand.tap("Working week")
    assert hand.sees("With what your earlier rugs say")
    assert not hand.sees("Plan with ")
    hand.key_back()
    settle()
    hand.tap("Save the plan")
    assert hand.sees("Is it right?")
    hand.tap("Change the plan")
    assert hand.shell.page.part == "foundation"
    hand.key_back()
    hand.tap("Save the plan")
    hand.tap("Yes, save the plan")
    hand.wait(lambda: desk.fresh)
    assert hand.sees("The plan of Long winter is changed.")
    # The plan of another rug than the one in hand was opened from the shelf.
    assert hand.shell.page_name == "shelf"
    hand.tap("Looms")
    hand.wait(lambda: hand.shell.page_name == "looms" and not hand.sees("Looking through the looms"))
    assert hand.sees("Make the rug narrower by 1.7 cm or use a wider loom.")
    hand.key_back()
    hand.wait(lambda: hand.shell.page_name == "shelf")
    hand.key_back()
    assert hand.shell.page_name == "home"
    assert desk.rug.plan.name == "Walled garden"


def test_a_rug_is_planned_for_a_loom_from_its_card(open_app, demo) -> None:
    hand = open_app(demo)
    open_looms(hand)
    hand.tap(head_of(hand, "Small loom"))
    hand.tap("Plan a rug for it")
    assert hand.shell.page_name == "plan"
    form = hand.shell.page.form
    assert (form.loom_width_cm, form.loom_waste_cm) == (90.0, 30.0)


def test_a_loom_on_which_nobody_sat_tells_of_no_seats(open_app) -> None:
    hand = open_app(None)
    desk = hand.app.desk
    loom = Loom(id="l" * 32, name="The old one")
    desk.act(ActKind.LOOM_ENTERED, loom, rug_id=None)
    hand.shell.go("looms")
    settle(3)
    hand.wait(lambda: hand.sees("The old one"))
    assert not hand.sees("seat")
    assert not hand.sees("empty")
