"""The cartoon mended by touch: every change an act, need following, woven rows asked about, doubts walked."""

from __future__ import annotations

import numpy as np
import pytest

from storage import diary
from tracker.domain.cartoon import count_of, counts_by_yarn
from tracker.previews.draw import settle


def begin(hand) -> None:
    hand.shell.go("mending")
    settle(10)


def place_of(hand, square: tuple[int, int]) -> tuple[float, float]:
    """Where a square's middle lies in the window."""
    view = hand.shell.page._view
    row, knot = square
    wide, high = view.cell()
    return view.to_window(view._left + (knot + 0.5) * wide, view._top - (view.rows - row - 0.5) * high)


def look_near(hand, square: tuple[int, int]) -> None:
    from kivy.metrics import dp

    hand.shell.page._view.show_square(*square, dp(42))
    settle(2)


def unwoven(rug) -> tuple[int, int]:
    return rug.rows_woven + 8, 20


def palette_key(hand, name: str):
    from tracker.screens.mending.mending import YarnKey

    yarn = next(yarn for yarn in hand.app.desk.rug.yarns if yarn.name == name)
    return next(
        w for w in hand.shell.page.walk() if isinstance(w, YarnKey) and w.yarn_id == yarn.id
    )  # fmt: skip


def other_yarn(rug, square: tuple[int, int]) -> str:
    """The name of a pile yarn in which this square is not knotted."""
    value = int(rug.cartoon.cells[square])
    return next(
        yarn.name for yarn in rug.yarns if yarn.role.value == "pile" and value not in yarn.cartoon_values
    )


def name_at(rug, square: tuple[int, int]) -> str:
    value = int(rug.cartoon.cells[square])
    return next(yarn.name for yarn in rug.yarns if value in yarn.cartoon_values)


def test_squares_are_large_enough_for_a_finger_and_a_tap_says_which_one(open_app, demo) -> None:
    hand = open_app(demo)
    begin(hand)
    rug = hand.app.desk.rug
    square = unwoven(rug)
    look_near(hand, square)
    view = hand.shell.page._view
    assert view.cell()[1] >= 40
    shown = (view.width / view.cell()[0]) * (view.height / view.cell()[1])
    assert 24 <= shown <= 120, "a few dozen squares at a time"
    hand.tap_at(*place_of(hand, square))
    assert hand.sees(f"Row {square[0] + 1:,}, knot 21: {name_at(rug, square)}")


def test_a_square_stays_under_the_finger_that_tapped_it(open_app, demo) -> None:
    """The first tap made the words a line shorter, and the picture jumped by more than a square."""
    hand = open_app(demo)
    begin(hand)
    rug = hand.app.desk.rug
    square = unwoven(rug)
    look_near(hand, square)
    assert hand.sees("Tap a square to see what it is.")
    first = place_of(hand, square)
    hand.tap_at(*first)
    settle(4)
    assert hand.sees(f"Row {square[0] + 1:,}, knot 21: ")
    assert place_of(hand, square) == pytest.approx(first, abs=1)
    # The same place is the same square again.
    hand.tap_at(*first)
    assert tuple(hand.shell.page.square) == square


def test_a_painted_run_is_an_act_and_need_follows(open_app, demo) -> None:
    hand = open_app(demo)
    begin(hand)
    desk = hand.app.desk
    row, knot = unwoven(desk.rug)
    look_near(hand, (row, knot))
    name = other_yarn(desk.rug, (row, knot))
    before = desk.rug
    stood = (hand.shell.page.ids.stage.y, hand.shell.page.ids.stage.height)
    hand.tap(palette_key(hand, name))
    assert hand.shell.page.tool == "paint"
    assert (hand.shell.page.ids.stage.y, hand.shell.page.ids.stage.height) == stood, (
        "another hint moves no square"
    )
    hand.drag(place_of(hand, (row, knot - 1)), place_of(hand, (row, knot + 2)))
    after = desk.rug
    assert [name_at(after, (row, k)) for k in range(knot - 1, knot + 3)] == [name] * 4
    assert (after.cartoon.cells != before.cartoon.cells).sum() <= 4
    newest, older = diary.entries(desk.book)[:2]
    assert newest.kind == "cartoon mended"
    assert older.kind != "cartoon mended", "one stroke is one act"

    def knots(rug) -> int:
        position = next(at for at, yarn in enumerate(rug.yarns) if yarn.name == name)
        return int(counts_by_yarn(count_of(rug.cartoon), rug.yarns)[:, position].sum())

    gained = int((before.cartoon.cells != after.cartoon.cells).sum())
    assert knots(after) == knots(before) + gained
    hand.tap("Undo")
    assert np.array_equal(desk.rug.cartoon.cells, before.cartoon.cells)
    hand.tap(next(w for w in hand.shell.page.walk() if getattr(w, "icon", "") == "redo"))
    assert np.array_equal(desk.rug.cartoon.cells, after.cartoon.cells)


def test_a_change_can_be_taken_back_after_the_page_was_left_unless_the_cartoon_changed_elsewhere(
    open_app, demo
) -> None:
    def icon(name: str):
        return next(w for w in hand.shell.page.walk() if getattr(w, "icon", "") == name)

    hand = open_app(demo)
    begin(hand)
    desk = hand.app.desk
    square = unwoven(desk.rug)
    look_near(hand, square)
    before = desk.rug.cartoon.cells
    hand.tap(palette_key(hand, other_yarn(desk.rug, square)))
    hand.tap_at(*place_of(hand, square))
    changed = desk.rug.cartoon.cells
    assert not np.array_equal(changed, before)
    hand.shell.back()
    begin(hand)
    hand.tap(icon("undo"))
    assert np.array_equal(desk.rug.cartoon.cells, before)
    hand.shell.back()
    begin(hand)
    hand.tap(icon("redo"))
    assert np.array_equal(desk.rug.cartoon.cells, changed)
    hand.shell.back()
    desk.undo(next(entry for entry in diary.entries(desk.book) if not entry.undone).act_id)
    settle(5)
    now = desk.rug.cartoon.cells
    assert not np.array_equal(now, changed)
    begin(hand)
    hand.tap(icon("undo"))
    assert hand.sees("There is nothing here to undo.")
    assert np.array_equal(desk.rug.cartoon.cells, now)


def test_an_area_is_filled_and_a_colour_exchanged_on_the_screen_alone(open_app, demo) -> None:
    hand = open_app(demo)
    begin(hand)
    desk = hand.app.desk
    square = unwoven(desk.rug)
    look_near(hand, square)
    name = other_yarn(desk.rug, square)
    hand.tap(palette_key(hand, name))
    hand.tap("Exchange")
    old = int(desk.rug.cartoon.cells[square])
    everywhere = int((desk.rug.cartoon.cells == old).sum())
    hand.tap_at(*place_of(hand, square))
    here = next(words for words in hand.words() if words.startswith("only on the screen"))
    before = desk.rug.cartoon.cells
    hand.tap(here)
    after = desk.rug.cartoon.cells
    changed = int((before != after).sum())
    assert f"{changed:,} knot" in here
    assert 0 < changed < everywhere
    assert (before[before != after] == old).all()


def test_a_change_below_the_woven_row_says_so_and_asks(open_app, demo) -> None:
    hand = open_app(demo)
    begin(hand)
    desk = hand.app.desk
    square = (desk.rug.rows_woven - 3, 20)
    look_near(hand, square)
    name = other_yarn(desk.rug, square)
    before = desk.rug.cartoon.cells
    hand.tap(palette_key(hand, name))
    hand.tap_at(*place_of(hand, square))
    assert hand.sees("rows are woven, and this changes row")
    hand.tap("Leave it as it was woven")
    assert np.array_equal(desk.rug.cartoon.cells, before)
    hand.tap_at(*place_of(hand, square))
    hand.tap("Change the cartoon all the same")
    assert name_at(desk.rug, square) == name


def test_doubted_squares_are_walked_one_after_another(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    cells = desk.rug.cartoon.cells
    first = desk.rug.rows_woven + 2
    # Squares that have a neighbour of another colour.
    rows, knots = np.nonzero(cells[first:, :-1] != cells[first:, 1:])
    squares = [(first + int(rows[at]), int(knots[at])) for at in (0, len(rows) // 2, len(rows) - 1)]
    desk.drafts.put("doubted squares", {desk.rug.plan.id: [list(square) for square in squares]})
    begin(hand)
    hand.tap("3 doubted")
    assert hand.sees("Doubted squares: 1 of 3")
    before = desk.rug.cartoon.cells
    hand.tap("Keep")
    assert np.array_equal(desk.rug.cartoon.cells, before), "a square that is right is no act"
    assert hand.sees("Doubted squares: 2 of 3")
    beside = hand.shell.page.beside_name
    hand.tap(hand.find(beside))
    assert name_at(desk.rug, squares[1]) == beside
    name = other_yarn(desk.rug, squares[2])
    hand.tap(palette_key(hand, name))
    assert name_at(desk.rug, squares[2]) == name
    assert hand.sees("Doubted squares: all looked at.")
    assert not desk.drafts.get("doubted squares")
    assert hand.sees("No doubts")


def test_a_master_remarks_and_forces_nothing(open_app, demo) -> None:
    hand = open_app(demo)
    begin(hand)
    desk = hand.app.desk
    before = desk.rug.cartoon.cells
    hand.tap("Look it over")
    stray = next(words for words in hand.words() if "stray knot" in words)
    assert np.array_equal(desk.rug.cartoon.cells, before)
    hand.tap(stray)
    assert hand.sees(f"{stray}: 1 of ")
    hand.tap("End the walk")
    assert np.array_equal(desk.rug.cartoon.cells, before)


@pytest.mark.parametrize("size", [(892, 412), (1280, 800)])
def test_two_fingers_move_and_pinch_while_painting(open_app, demo, size) -> None:
    from tests.ui.test_zoom import pinch

    hand = open_app(demo, size=size)
    begin(hand)
    desk, page = hand.app.desk, hand.shell.page
    look_near(hand, unwoven(desk.rug))
    hand.tap("Paint")
    before, zoom = desk.rug.cartoon.cells, page._view.zoom
    x, y = page._view.to_window(*page._view.center)
    pinch((x - 60, y), (x + 60, y), (x - 30, y), (x + 30, y))
    assert page._view.zoom == pytest.approx(zoom / 2, rel=0.05)
    assert np.array_equal(desk.rug.cartoon.cells, before)


def test_a_book_without_a_rug_says_where_a_cartoon_comes_from(open_app) -> None:
    hand = open_app()
    begin(hand)
    assert hand.sees("Plan one with a cartoon")


def test_the_plan_and_the_close_view_lead_here(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("plan", rug_id=hand.app.desk.rug.plan.id)
    settle()
    hand.tap("Name and cartoon")
    hand.tap("Mend the cartoon")
    assert hand.shell.page_name == "mending"


def test_a_tap_on_a_tool_or_a_yarn_marks_its_key_and_makes_none_anew(open_app, demo) -> None:
    hand = open_app(demo)
    begin(hand)
    page = hand.shell.page
    tools, yarns = list(page.ids.tools.children), list(page.ids.palette.children)
    assert len(tools) == 4
    assert len(yarns) == 8
    hand.tap("Fill")
    for key in (yarns[2], yarns[5]):
        page.choose_yarn(key.yarn_id)
        assert [one for one in page.ids.palette.children if one.chosen] == [key]
    assert [key.text for key in page.ids.tools.children if key.role == "chosen"] == ["Fill"]
    assert page.ids.tools.children == tools
    assert page.ids.palette.children == yarns
    hand.shell.open_tab("home")
    hand.shell.go("mending")
    assert page.ids.palette.children == yarns
