"""Rows taken out again, by touch: from which row on, how much of the yarn is lost, one act that one tap takes back."""

from __future__ import annotations

from datetime import timedelta

from tests.today import TODAY
from tests.ui.hand import everything
from tracker.domain.act import ActKind
from tracker.domain.dye_lots import open_dye_lots
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import UnpickedYarn
from tracker.presenters.entry_text import small_mass
from tracker.previews.draw import settle
from tracker.widgets.basics import Stepper


def at_unpicking(open_app, path):
    return unpick_key_tapped(open_app(path))


def unpick_key_tapped(hand):
    hand.tap("Log the session")
    key = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "Unpick rows")
    hand.reach(key)
    hand.tap(key)
    assert hand.shell.page_name == "unpick"
    return hand


def one_row_lower(hand):
    """Tap the minus key of the first row: of the topmost one where none is said yet."""
    stepper = next(w for w in everything(hand.shell.page) if isinstance(w, Stepper))
    hand.tap(stepper.children[-1])


def losses(hand):
    return {row.line.name: row.line for row in hand.shell.page.ids.losses.children}


def test_rows_come_out_with_the_yarn_that_is_lost_and_one_undo_brings_all_back(open_app, demo) -> None:
    hand = at_unpicking(open_app, demo)
    desk = hand.app.desk
    rows, spoilt, sessions = desk.rug.rows_woven, desk.rug.spoilt, desk.rug.sessions
    # No row that is not woven can be typed, and the last one that is can.
    for typed, taken in ((rows + 1, None), (rows, rows), (0, None), (1, 1), (rows, rows)):
        hand.shell.page.ask_first_row()
        settle()
        for digit in str(typed):
            hand.tap(hand.find(digit, hand.shell.sheet))
        hand.tap(hand.find("Done", hand.shell.sheet))
        if taken is None:
            assert hand.shell.sheet is not None, typed
            hand.shell.close_sheet()
            settle()
        assert hand.shell.page.form.first_row == (taken or hand.shell.page.form.first_row) <= rows, typed
    one_row_lower(hand)
    assert hand.sees(f"Unpick rows {rows - 1} to {rows}")
    red = losses(hand)["Madder red"]
    assert red.lost_g > 0
    hand.tap(next(row for row in hand.shell.page.ids.losses.children if row.line.name == "Madder red"))
    # What is usual is told, and is not what somebody said by a tap on Done.
    assert hand.sees(f"usual: {small_mass(red.lost_g)}")
    hand.tap("Done")
    assert losses(hand)["Madder red"].said_g is None
    hand.tap(next(row for row in hand.shell.page.ids.losses.children if row.line.name == "Madder red"))
    hand.tap("2")
    hand.tap("Done")
    assert losses(hand)["Madder red"].lost_g == 2
    hand.tap(f"Unpick rows {rows - 1} to {rows}")
    assert desk.rug.rows_woven == rows - 2
    latest = desk.rug.sessions[-1]
    assert (latest.rows, latest.unpicked_yarn) == (-2, UnpickedYarn.SAID)
    lost = {loss.yarn_id: loss.mass_g for loss in desk.rug.spoilt if loss.session_id == latest.id}
    names = {yarn.id: yarn.name for yarn in desk.rug.yarns}
    assert {names[yarn]: grams for yarn, grams in lost.items()}["Madder red"] == 2
    assert len(lost) > 1
    assert desk.book.diary(limit=1)[0].kind == ActKind.ROWS_UNPICKED
    assert hand.sees("2 rows unpicked")
    hand.tap("Undo")
    assert (desk.rug.rows_woven, desk.rug.spoilt, desk.rug.sessions) == (rows, spoilt, sessions)
    # What was undone waits, and no lit key puts it in again before somebody asks for that.
    unpick_key_tapped(hand)
    assert hand.shell.page.ids.save.disabled
    assert losses(hand)["Madder red"].lost_g == 2
    hand.tap("Take it up again")
    assert not hand.shell.page.ids.save.disabled
    assert not hand.sees("Leave it")


def test_who_took_the_rows_out_is_seen_and_can_be_changed(open_app, demo) -> None:
    hand = at_unpicking(open_app, demo)
    page, desk = hand.shell.page, hand.app.desk
    left, right = (weaver for weaver in desk.rug.weavers[:2])
    assert hand.sees(f"At the loom: {left.name} and {right.name}")
    hand.tap(next(key for key in page.ids.weavers.children if key.value == left.id))
    assert hand.sees(f"At the loom: {right.name}")
    # Until somebody says which rows came out nothing is counted as lost, and nothing can be saved.
    sessions = desk.rug.sessions
    assert not losses(hand)
    hand.tap(page.ids.save)
    assert desk.rug.sessions == sessions
    one_row_lower(hand)
    assert hand.sees(f"Unpick row {desk.rug.rows_woven}")
    hand.tap(page.ids.save)
    assert desk.rug.sessions[-1].weavers == (right.id,)


def test_a_form_left_with_only_its_weavers_changed_is_of_the_day_it_is_gone_on_with(open_app, demo) -> None:
    hand = at_unpicking(open_app, demo)
    who = next(key for key in everything(hand.shell.page.ids.weavers) if getattr(key, "role", "") == "chosen")
    left_out = who.value
    hand.tap(who)
    next_day = TODAY + timedelta(days=1)
    hand = open_app(demo, today=next_day)
    hand.shell.go("unpick")
    settle()
    assert hand.shell.page.form.day == next_day
    assert left_out not in hand.shell.page.form.weavers
    one_row_lower(hand)
    hand = open_app(demo, today=next_day + timedelta(days=1))
    hand.shell.go("unpick")
    settle()
    assert hand.shell.page.form.day == next_day, "rows that were said keep their day"
    # With another rug in hand the rows that were said are not the other one's, and wait.
    page, desk, garden = hand.shell.page, hand.app.desk, hand.app.desk.rug_id
    said = page.form.first_row
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Doorstep"))
    settle()
    assert page.form.first_row == desk.rug.rows_woven
    assert page.form.day != next_day
    desk.choose(garden)
    settle()
    assert (page.form.first_row, page.form.day) == (said, next_day)


def test_the_row_at_the_loom_and_the_diary_follow_and_deleting_takes_the_losses_along(open_app, demo) -> None:
    hand = at_unpicking(open_app, demo)
    desk = hand.app.desk
    rows, spoilt = desk.rug.rows_woven, desk.rug.spoilt
    one_row_lower(hand)
    hand.tap(f"Unpick row {rows}")
    hand.tap("Row")
    assert hand.shell.page.figure == str(rows)
    hand.tap("Diary")
    said = next(word for word in hand.words() if word.startswith("1 row unpicked, and "))
    hand.tap(said)
    hand.tap("1 row unpicked")
    hand.tap("Correct")
    assert hand.shell.page_name == "unpick"
    assert hand.shell.page.first_row == rows
    assert hand.key_back()
    hand.tap(said)
    hand.tap("1 row unpicked")
    lost = desk.rug.spoilt
    hand.tap("Delete")
    assert desk.rug.rows_woven == rows
    assert desk.rug.spoilt == spoilt
    hand.tap(said)
    hand.tap("1 row unpicked")
    hand.tap("Restore")
    assert desk.rug.rows_woven == rows - 1
    assert {loss.id: loss.mass_g for loss in desk.rug.spoilt} == {loss.id: loss.mass_g for loss in lost}


def test_rows_that_are_counted_and_not_saved_come_first_for_the_loom_would_go_on_from_them(
    open_app, demo
) -> None:
    hand = open_app(demo)
    rows = hand.app.desk.rug.rows_woven
    hand.tap("Row")
    hand.tap("Row done")
    hand.tap("Rug")
    unpick_key_tapped(hand)
    assert hand.sees("What you counted last is not saved yet.")
    assert not hand.sees("Unpick row ")
    hand.tap("Save the session")
    assert hand.shell.page_name == "session"
    hand.tap("Save")
    assert hand.app.desk.rug.rows_woven == rows + 1
    unpick_key_tapped(hand)
    one_row_lower(hand)
    hand.tap(f"Unpick row {rows + 1}")
    hand.tap("Row")
    assert hand.shell.page.figure == str(rows + 1)


def opened_lot(hand, row: int) -> None:
    """Open the other dye lot of the walnut brown from a row on."""
    hand.tap("Yarn")
    hand.tap("Walnut brown")
    key = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "Open another lot")
    hand.reach(key)
    hand.tap(key)
    hand.tap("From row")
    for digit in str(row):
        hand.tap(digit)
    hand.tap("Done")
    hand.tap("Save")
    hand.key_back()
    hand.tap("Rug")


def test_a_change_of_dye_lot_and_a_mistake_in_the_rows_come_out_with_them(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rows = desk.rug.rows_woven
    opened_lot(hand, rows - 1)
    mistake = CartoonMark(
        id="5" * 32, rug_id=desk.rug.plan.id, day=desk.today(), row=rows, first_knot=9, last_knot=9
    )
    desk.act(ActKind.MISTAKE_MARKED, mistake)
    (walnut,) = (yarn for yarn in desk.rug.yarns if yarn.name == "Walnut brown")
    opened = open_dye_lots(desk.rug, walnut.id)[0].mark
    unpick_key_tapped(hand)
    for _row in range(5):
        one_row_lower(hand)
    assert hand.sees(f"Walnut brown: dye lot W-4 from row {rows - 1}, planned again.")
    assert hand.sees(f"Mistake taken out: Row {rows}, knot 9.")
    hand.tap(f"Unpick rows {rows - 4} to {rows}")
    assert open_dye_lots(desk.rug, walnut.id)[0].mark == "W-3" != opened
    assert desk.rug.marks[0].mended_day == desk.today()
    hand.tap("Undo")
    assert open_dye_lots(desk.rug, walnut.id)[0].mark == opened
    assert desk.rug.marks[0].mended_day is None
    unpick_key_tapped(hand)
    hand.tap("Take it up again")
    hand.tap(f"Unpick rows {rows - 4} to {rows}")
    hand.tap("Row")
    assert hand.sees("In 3 rows: Walnut brown from dye lot W-4")


def test_a_lot_opened_above_an_evening_that_is_deleted_is_to_be_opened_again(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    opened_lot(hand, desk.rug.rows_woven - 1)
    assert [change.done_day for change in desk.rug.lot_changes] == [desk.today()]
    evening = desk.rug.sessions[-1]
    assert evening.rows > 3
    hand.tap("Diary")
    hand.tap(f"+{evening.rows} rows, 2.5 h each")
    hand.tap("Delete")
    assert [change.done_day for change in desk.rug.lot_changes] == [None]
    hand.tap("Undo")
    assert [change.done_day for change in desk.rug.lot_changes] == [desk.today()]
