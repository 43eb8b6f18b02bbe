"""A mistake is marked by touch on the rug close up, told at the loom, looked at in the list, ticked off, taken back."""

from __future__ import annotations

import pytest
from kivy.graphics import Line
from kivy.metrics import dp

from tracker.domain.act import ActKind
from tracker.previews.draw import settle


def close_up(open_app, demo):
    hand = open_app(demo)
    hand.shell.go("zoom")
    hand.wait(lambda: hand.shell.page_name == "zoom" and hand.shell.page.ids.closer.picture is not None)
    return hand


def touch_row(hand, row: int, across: float = 0.5) -> None:
    """Touch the middle of a row."""
    closer = hand.shell.page.ids.closer
    width, height = closer._size()
    hand.tap_at(closer._left + across * width, closer._bottom + (row - 0.5) / closer.rows * height)


def marked(open_app, demo, row: int):
    """Mark a mistake at a row by touch alone."""
    hand = close_up(open_app, demo)
    hand.tap(hand.shell.page.ids.flag)
    assert hand.sees("To mark a mistake")
    hand.tap("Mark a mistake")
    assert hand.shell.page.ids.closer.picking
    touch_row(hand, row)
    hand.tap("Save")
    return hand


def framed(closer) -> list[float]:
    """The middles across of what is outlined, once for the frame and once for what sets it off."""
    lines = [line for line in closer._frames.children if isinstance(line, Line)]
    return [(min(line.points[::2]) + max(line.points[::2])) / 2 for line in lines]


def test_a_touch_on_the_rug_marks_its_place_and_undo_takes_it_away(open_app, demo) -> None:
    hand = marked(open_app, demo, 196)
    desk = hand.app.desk
    (mark,) = desk.rug.marks
    assert abs(mark.row - 196) <= 1
    assert abs(mark.first_knot - desk.rug.knots_across / 2) <= 2
    assert not hand.shell.page.ids.closer.picking
    closer = hand.shell.page.ids.closer
    assert [drawn.row for drawn in closer.mistakes] == [mark.row]

    for closely in (1.0, 3.0):
        closer.zoom_by(closely)
        closer.move_by(dp(20) * (closely - 1), 0)
        width, _height = closer._size()
        middle = closer._left + (mark.first_knot - 0.5) / desk.rug.knots_across * width
        assert framed(closer) == pytest.approx([middle] * 2, abs=2), closely
    closer.fit()
    assert hand.sees("Saved: Mistake in row ")
    hand.tap("Undo")
    assert desk.rug.marks == ()
    assert hand.shell.page.ids.closer.mistakes == []
    # A strip without a key is as high as one with it.
    assert hand.shell._toast.undo_label == ""
    assert hand.shell._toast.height >= dp(52)


def test_the_loom_tells_of_it_and_there_it_is_ticked_off(open_app, demo) -> None:
    hand = marked(open_app, demo, 196)
    desk = hand.app.desk
    (mark,) = desk.rug.marks
    hand.shell.open_tab("loom")
    hand.wait(lambda: hand.shell.page_name == "loom")
    page = hand.shell.page
    assert page.mark_key.parent is not None
    # A second key over the runs takes its room from the drawing, not from the runs.
    runs, drawing = page.ids.runs.height, page.ids.strip.height
    page.ids.left.add_widget(page.lot_key, index=1)
    page._measure_part()
    settle()
    assert page.ids.strip.height < drawing
    assert runs - page.ids.runs.height < page.lot_key.height
    page.ids.left.remove_widget(page.lot_key)
    page._measure_part()
    settle()
    assert page.ids.strip.height == drawing
    hand.tap(page.mark_key)
    assert hand.sees("It is mended")
    hand.tap("It is mended")
    (mended,) = desk.rug.marks
    assert mended.mended_day is not None
    assert desk.book.diary(limit=1)[0].kind == ActKind.MISTAKE_MENDED
    assert hand.shell.page.mark_key.parent is None
    hand.tap("Undo")
    assert desk.rug.marks == (mark,) or desk.rug.marks[0].mended_day is None
    assert hand.shell.page.mark_key.parent is not None


def test_the_list_opens_it_and_it_is_deleted_there(open_app, demo) -> None:
    hand = marked(open_app, demo, 150)
    desk = hand.app.desk
    hand.tap(hand.shell.page.ids.flag)
    assert hand.sees("1 mistake is still there.")
    hand.tap("Mended")
    assert desk.rug.marks[0].mended_day is not None
    hand.wait(lambda: desk.fresh)
    assert framed(hand.shell.page.ids.closer) == []
    hand.tap("Undo")
    hand.tap(hand.shell.page.ids.flag)
    hand.tap(next(word for word in hand.words() if word.startswith("Row ")))
    hand.tap("Delete")
    assert desk.rug.marks == ()


def test_back_ends_the_choice_of_a_place(open_app, demo) -> None:
    hand = close_up(open_app, demo)
    hand.tap(hand.shell.page.ids.flag)
    hand.tap("Mark a mistake")
    assert hand.key_back()
    assert hand.shell.page_name == "zoom"
    assert not hand.shell.page.ids.closer.picking


def test_a_mistake_is_marked_in_the_row_that_is_looked_at_and_its_rows_are_taken_out_from_there(
    open_app, demo
) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rows = desk.rug.rows_woven
    hand.tap("Row")
    assert not hand.sees("Something wrong in this row?")
    for row in range(rows, rows - 3, -1):
        hand.tap(str(row))
    assert hand.shell.page.figure == str(rows - 2)
    hand.tap("Something wrong in this row?")
    hand.tap("Mark a mistake")
    assert hand.sees("From knot")
    hand.tap("Save")
    assert [(mark.row, mark.first_knot) for mark in desk.rug.marks] == [(rows - 2, 1)]
    # Now the row tells of it by itself.
    assert not hand.sees("Something wrong in this row?")
    assert hand.sees(f"Mistake: Row {rows - 2}, knot 1")
    hand.tap("Undo")
    assert desk.rug.marks == ()
    hand.tap("Something wrong in this row?")
    hand.tap(f"Unpick from row {rows - 2}")
    assert hand.shell.page_name == "unpick"
    assert hand.sees(f"Unpick rows {rows - 2} to {rows}")


def test_the_row_of_a_mistake_opens_where_it_sits(open_app, demo) -> None:
    hand = marked(open_app, demo, 196)
    (mark,) = hand.app.desk.rug.marks
    hand.shell.open_tab("loom")
    hand.tap(hand.shell.page.mark_key)
    hand.tap("Look at the row")
    page = hand.shell.page
    assert page.figure == str(mark.row)
    strip = page.ids.strip
    seen = range(int(strip._start // strip.side), int((strip._start + strip.width) // strip.side))
    assert mark.first_knot - 1 in seen
    index = next(i for i, run in enumerate(page.row.runs) if run.first <= mark.first_knot <= run.last)
    assert index, "the first run is in sight without leading there"
    tiles, box = page.ids.run_grid, page.ids.runs
    low, high = box.to_window(0, box.y)[1], box.to_window(0, box.top)[1]
    hand.wait(
        lambda: any(
            tile.index == index and low <= tile.to_window(*tile.center)[1] <= high for tile in tiles.children
        )
    )
