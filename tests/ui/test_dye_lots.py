"""Dye lots by touch: another lot is bought, the change is planned where it shows least, told at the loom, and recorded."""

from __future__ import annotations

from dataclasses import replace

from kivy.graphics import Rectangle

from tests.today import TODAY
from tests.ui.test_yarn_ui import answer_of, open_red, red, tap_number
from tracker.previews.draw import settle


def buy_of(hand, dye_lot: str, grams: str = "500") -> None:
    """Enter a purchase from another dye bath on the yarn's page."""
    hand.tap("Bought")
    hand.tap("Weight")
    tap_number(hand, grams)
    hand.tap("Dye lot")
    hand.tap("Another …")
    hand.shell.sheet.content.ids.entry.text = dye_lot
    hand.tap("Done")
    hand.tap("Save")


def lots_of(hand):
    return answer_of(hand, red(hand).id).lots


def plan_change(hand) -> int:
    """Buy another lot and plan the change where it is proposed; return the row."""
    open_red(hand)
    buy_of(hand, "M-15")
    place = lots_of(hand).places[0]
    hand.tap(hand.find(f"Plan it for rows {place.row} to {place.row + place.blend_rows - 1}"))
    return place.row


def test_the_open_lot_that_ends_too_soon_is_said_with_what_to_buy_of_it(open_app, demo) -> None:
    hand = open_app(demo)
    open_red(hand)
    assert hand.sees("Dye lot M-14 ends about row")
    assert hand.sees("Buy the rest from the same dye bath")
    buy_of(hand, "M-15")
    assert not hand.sees("Buy 500 g of dye lot M-14 now")
    assert hand.sees("To keep to this one alone, buy 500 g more of it")
    assert hand.sees("500 g left")


def test_a_change_is_planned_where_it_shows_least_and_undone(open_app, demo) -> None:
    hand = open_app(demo)
    row = plan_change(hand)
    changes = hand.app.desk.rug.lot_changes
    assert [(change.yarn_id, change.row, change.done_day) for change in changes] == [
        (red(hand).id, row, None)
    ]
    # The madder field is wide there, so the lots take turns over eight rows.
    assert hand.sees(f"Dye lot M-15 by turns over rows {row} to {row + 7}, planned")
    hand.tap("Undo")
    assert hand.app.desk.rug.lot_changes == ()
    assert hand.sees(f"Plan it for rows {row} to {row + 7}")


def test_another_row_than_the_best_can_be_taken(open_app, demo) -> None:
    hand = open_app(demo)
    open_red(hand)
    buy_of(hand, "M-15")
    second = lots_of(hand).places[1]
    hand.tap(f"Plan it for row {second.row}")
    assert [(change.row, change.blend_rows) for change in hand.app.desk.rug.lot_changes] == [(second.row, 0)]


def test_the_row_page_tells_of_the_change_in_time_and_it_is_recorded_there(open_app, demo) -> None:
    hand = open_app(demo)
    row = plan_change(hand)
    assert row > hand.app.desk.rug.rows_woven + 12
    hand.key_back()
    hand.tap("Row")
    page = hand.shell.page
    assert not hand.sees("dye lot M-15")
    page.look_at(row - 3)
    assert hand.sees("In 3 rows: Madder red from dye lot M-15")
    # Whole evenings are logged, so the row may lie behind when it is told.
    page.look_at(row + 2)
    hand.tap("Changed? Madder red from dye lot M-15")
    assert hand.sees(f"Changed from row {row + 2} on")
    hand.tap(f"As planned, from row {row} on")
    assert [(change.row, change.done_day) for change in hand.app.desk.rug.lot_changes] == [(row, TODAY)]
    hand.tap("Undo")
    page.look_at(row)
    hand.tap("From this row: Madder red from dye lot M-15")
    assert hand.sees("from dye lot M-15 and dye lot M-14 by turns")
    assert hand.sees("Every weaver uses the same lot in the same row")
    hand.tap(f"Changed from row {row} on")
    change = hand.app.desk.rug.lot_changes[0]
    assert (change.row, change.done_day) == (row, TODAY)
    assert hand.sees(f"Saved: Madder red: dye lot M-15 by turns over rows {row} to")
    assert lots_of(hand).opened.mark == "M-15"
    assert lots_of(hand).since_row == row
    assert hand.sees("Madder red: this row from dye lot M-15")
    hand.tap("Undo")
    assert hand.app.desk.rug.lot_changes[0].done_day is None
    assert hand.sees("From this row: Madder red from dye lot M-15")


def test_a_lot_opened_at_once_is_entered_by_its_form_and_corrected(open_app, demo) -> None:
    hand = open_app(demo)
    # A row that is counted at the loom is tied, though it is not saved: the form begins above it.
    hand.tap("Row")
    hand.tap("Row done")
    hand.key_back()
    open_red(hand)
    buy_of(hand, "M-15")
    row = hand.app.desk.rug.rows_woven + 2
    hand.tap("Open another lot")
    assert hand.sees("Dye lot M-15, 500 g bought")
    hand.tap("Rows by turns")
    tap_number(hand, "4")
    hand.tap("Save")
    change = hand.app.desk.rug.lot_changes[0]
    assert (change.row, change.blend_rows, change.done_day) == (row, 4, TODAY)
    assert lots_of(hand).opened.mark == "M-15"
    hand.key_back()
    hand.tap("Row")
    assert hand.sees("Madder red: this row from dye lot M-15")
    hand.shell.page.look_at(row + 1)
    assert hand.sees("Madder red: this row from dye lot M-14")
    hand.shell.page.look_at(row + 4)
    assert not hand.sees("this row from")


def test_the_zoomed_cartoon_shows_where_the_lot_changes(open_app, demo) -> None:
    hand = open_app(demo)
    row = plan_change(hand)
    hand.shell.go("zoom")
    closer = hand.shell.page.ids.closer
    assert [(mark.row, mark.words, mark.planned) for mark in closer.lots] == [
        (row, "dye lot M-15, planned", True)
    ]
    # Where the lot changes with the very next row, the line of the row at the loom crossed its name.
    hand.tap("Next row")
    hand.wait(lambda: closer.row > 0)
    closer.lots = [replace(closer.lots[0], row=closer.row + 1)]
    settle()
    name = closer._label("dye lot M-15, planned", "ink").size
    named = [mark for mark in closer._marks.children if isinstance(mark, Rectangle) and mark.size == name]
    line = closer.row * closer._size()[1] / closer.rows
    assert [mark for mark in named if not mark.pos[1] < line < mark.pos[1] + name[1]]
    assert not [mark for mark in named if mark.pos[1] < line < mark.pos[1] + name[1]]
