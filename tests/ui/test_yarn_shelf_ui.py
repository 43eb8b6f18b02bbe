"""The yarn shelf by touch: what a finished rug left is given to the next one, put back, and undone."""

from __future__ import annotations

import json
from dataclasses import replace

from tests.ui.test_yarn_ui import red
from tracker.domain.act import ActKind
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import new_id
from tracker.previews.draw import settle
from tracker.sheets.entry_detail import open_record
from tracker.widgets.basics import rest_at


def total_g(hand) -> float:
    """Grams of every lot over all rugs and the shelf, as the page has them."""
    return sum(part.mass_g for part in hand.app.desk.yarn_shelf().parts)


def open_shelf(hand) -> None:
    hand.shell.go("shelf")
    hand.tap("Yarn shelf")
    assert hand.shell.page_name == "yarn_shelf"


def free_red(hand):
    """The free part that suits the madder of the rug in hand."""
    desk = hand.app.desk
    return next(
        part
        for part in desk.yarn_shelf().parts
        if part.free and part.yarn.role.value == "pile" and part.yarn.name == "Madder red"
    )


def test_yarn_left_over_from_a_finished_rug_is_given_to_the_one_in_hand_and_undone(open_app, demo) -> None:
    hand = open_app(demo)
    before, lots = total_g(hand), len(hand.app.desk.rug.lots)
    part = free_red(hand)
    open_shelf(hand)
    cards = reversed(hand.shell.page.ids.columns.children[0].children)
    hand.tap(next(card for card in cards if getattr(card, "text", "") == "Madder red"))
    assert hand.sees("left over from")
    assert hand.sees("its dye lot M-14 may differ")
    hand.tap("Give to Walled garden")
    assert hand.sees("How much of")
    hand.tap("Done")
    desk = hand.app.desk
    got = desk.rug.lots[-1]
    assert len(desk.rug.lots) == lots + 1
    assert (got.yarn_id, got.dye_lot) == (red(hand).id, part.mark)
    assert 0 < got.mass_g <= part.mass_g + 0.5
    assert abs(total_g(hand) - before) < 2
    assert hand.sees("of Madder red given to Walled garden.")
    hand.tap("Undo")
    assert len(desk.rug.lots) == lots
    assert abs(total_g(hand) - before) < 1e-6


def test_yarn_is_moved_on_to_a_rug_that_is_not_in_hand(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    open_shelf(hand)
    page = hand.shell.page
    blue = next(line for line in lines_of(page) if line.part.yarn.name == "Indigo" and not line.part.free)
    hand.tap(blue.head)
    assert hand.sees("Indigo of Long winter") or hand.sees("of Long winter; ")
    hand.tap("Give to Long winter")
    for key in "50":
        hand.tap(key)
    hand.tap("Done")
    # The rug it lies with has 8 g to spare.
    assert hand.sees("Walled garden still needs")
    assert not desk.rug_book(next(plan.id for plan in desk.plans if plan.name == "Long winter")).lots
    hand.tap("Move it all the same")
    assert not hand.shell.sheet
    assert hand.sees("50 g of Indigo given to Long winter.")
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    assert desk.rug.plan.name == "Walled garden"
    assert [round(lot.mass_g) for lot in desk.rug_book(winter.id).lots] == [50]
    hand.tap("Undo")
    assert desk.rug_book(winter.id).lots == ()


def test_yarn_that_no_other_rug_can_take_says_so(open_app, demo) -> None:
    hand = open_app(demo)
    open_shelf(hand)
    page = hand.shell.page
    page.open_part(next(line for line in lines_of(page) if line.part.yarn.name == "Green"))
    settle()
    assert hand.sees("No yarn of the other rugs has a shade near it.")


def test_yarn_of_the_rug_in_hand_is_put_on_the_shelf_and_its_story_says_so(open_app, demo) -> None:
    hand = open_app(demo)
    name = hand.app.desk.rug.plan.name
    open_shelf(hand)
    page = hand.shell.page
    state = next(
        part
        for part in hand.app.desk.yarn_shelf().parts
        if part.rug_name == name and part.yarn.name == "Madder red"
    )
    page.open_part(next(line for line in lines_of(page) if line.part.key == state.key))
    hand.tap("Put on the shelf")
    hand.tap("1")
    hand.tap("0")
    hand.tap("0")
    hand.tap("Done")
    hand.tap("Move it all the same")
    assert hand.sees("100 g of Madder red put on the shelf.")
    assert [round(part.mass_g) for part in hand.app.desk.yarn_shelf().parts if part.place is None] == [100]
    assert hand.sees("on the shelf")
    hand.shell.go("yarn_story", yarn_id=red(hand).id)
    settle()
    assert hand.sees("100 g put on the shelf")
    hand.tap("100 g put on the shelf")
    assert hand.sees("the shelf")
    hand.tap("Delete")
    assert not any(part.place is None for part in hand.app.desk.yarn_shelf().parts)


def lines_of(page):
    from tracker.presenters.yarn_shelf import build_yarn_shelf_state

    state = build_yarn_shelf_state(page.desk.yarn_shelf())
    groups = [group for one in (*state.free, *state.given) for group in getattr(one, "groups", (one,))]
    return [line for group in groups for line in group.lines]


def test_the_shopping_list_of_a_planned_rug_points_to_the_shelf(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.shell.go("shopping")
    hand.wait(lambda: hand.sees("On the shelf: "))
    hand.tap("Yarn shelf")
    assert hand.shell.page_name == "yarn_shelf"


def test_what_fits_is_taken_from_the_shelf_off_the_list_by_one_tap_and_undone(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    before = total_g(hand)
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.shell.go("shopping")
    hand.wait(lambda: hand.sees("On the shelf: "))
    asked = hand.shell.page.headline
    hand.tap("All bought as listed")
    assert hand.sees("Yes, all of it")
    hand.tap(hand.find("Take from the shelf what fits", hand.shell.sheet))
    assert hand.sees("taken from the shelf, ")
    assert desk.rug.lots
    assert hand.shell.page.headline != asked
    assert abs(total_g(hand) - before) < 2
    hand.wait(lambda: not hand.sees("Take from the shelf what fits"))
    hand.tap("Undo")
    assert desk.rug.lots == ()
    assert hand.shell.page.headline == asked


def test_an_empty_book_says_what_the_shelf_is_for(open_app) -> None:
    hand = open_app()
    open_shelf(hand)
    assert hand.sees("No rug yet.")
    assert hand.sees("comes here by itself")


def moved_to_the_shelf(desk, lot, mass_g: float) -> LotMove:
    """Move so much of a purchase to the shelf."""
    move = LotMove(
        id=new_id(),
        lot_id=lot.id,
        day=desk.today(),
        mass_g=mass_g,
        from_rug_id=lot.rug_id,
        from_yarn_id=lot.yarn_id,
    )
    desk.act(ActKind.YARN_MOVED, move)
    return move


def on_the_shelf_g(desk) -> list[int]:
    return [round(part.mass_g) for part in desk.yarn_shelf().parts if part.place is None]


def test_a_purchase_is_not_corrected_below_what_was_moved_of_it(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    lot = desk.rug.lots[0]
    moved_to_the_shelf(desk, lot, 300.0)
    for mass_g, taken in (("250", False), ("350", True)):
        open_record(hand.shell, desk, lot.id)
        settle()
        hand.tap("Correct")
        hand.tap("Weight")
        for digit in mass_g:
            hand.tap(digit)
        hand.tap("Done")
        hand.tap("Save")
        assert hand.sees("300 g of this purchase was moved to another rug or the shelf") is not taken
        hand.shell.close_sheet()
        assert on_the_shelf_g(desk) == [300]
    assert next(other.mass_g for other in desk.rug.lots if other.id == lot.id) == 350.0


def test_what_was_moved_on_stays_where_it_is_when_the_first_move_is_deleted(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    lot = desk.rug.lots[0]
    first = moved_to_the_shelf(desk, lot, 300.0)
    other = next(plan for plan in desk.plans if plan.name == "Long winter")
    yarn = desk.rug_book(other.id).yarns[0]
    on = LotMove(
        id=new_id(),
        lot_id=lot.id,
        day=desk.today(),
        mass_g=200.0,
        to_rug_id=other.id,
        to_yarn_id=yarn.id,
    )
    desk.act(ActKind.YARN_MOVED, on)
    open_record(hand.shell, desk, first.id)
    settle()
    hand.tap("Delete")
    assert hand.sees("This yarn was moved on. Delete the later move first.")
    assert sum(part.mass_g for part in desk.rug_book(other.id).lots) == 200.0
    hand.shell.close_sheet()


def test_buying_is_not_taken_back_whole_while_some_of_it_lies_elsewhere(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    lots = [replace(lot, id=new_id(), mass_g=500.0, day=desk.today()) for lot in desk.rug.lots[:2]]
    desk.act(ActKind.YARN_BOUGHT, *lots)
    move = moved_to_the_shelf(desk, lots[1], 300.0)
    hand.tap("Diary")
    hand.tap(next(words for words in hand.words() if words.endswith(", and 1 more")))
    hand.tap("Undo it all")
    assert hand.sees("Delete that move first.")
    assert on_the_shelf_g(desk) == [300]
    hand.shell.close_sheet()
    desk.act(ActKind.ENTRY_WITHDRAWN, withdraw=[move.id])
    hand.tap(next(words for words in hand.words() if words.endswith(", and 1 more")))
    hand.tap("Undo it all")
    assert not {lot.id for lot in lots} & {lot.id for lot in desk.rug.lots}


def test_a_purchase_of_which_yarn_was_moved_is_not_deleted_before_its_move(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    lot = desk.rug.lots[0]
    moved_to_the_shelf(desk, lot, 50.0)
    open_record(hand.shell, desk, lot.id)
    settle()
    hand.tap("Delete")
    assert hand.sees("Delete that move first.")
    assert any(other.id == lot.id for other in desk.rug.lots)
    hand.shell.close_sheet()


def test_what_stood_in_place_of_the_shelf_goes_when_the_book_is_read(open_app, demo) -> None:
    """The columns were the same as before, so nothing took "Opening the book" off again."""
    hand = open_app(demo)
    desk = hand.app.desk
    for name, open_page in (
        ("yarn_shelf", lambda: open_shelf(hand)),
        ("looms", lambda: hand.shell.go("looms")),
    ):
        open_page()
        page = hand.shell.page
        assert page.name == name
        settle()
        assert page.missing is None
        desk.fresh, desk.trouble = False, "The book is held."
        page.refresh()
        assert page.missing is not None
        desk.fresh, desk.trouble = True, ""
        page.refresh()
        settle()
        assert page.missing is None


def top_of(key) -> int:
    """Where a key's upper edge stands in the window, px."""
    return round(key.to_window(key.x, key.top)[1])


def keys_on(page) -> list:
    """The cards of the page, top to bottom."""
    return [
        card for box in reversed(page.ids.columns.children) for card in reversed(box.children) if hasattr(card, "text")
        and hasattr(card, "ground")
    ]  # fmt: skip


def test_of_much_yarn_every_lot_is_found_by_unfolding_and_the_key_stays_under_the_finger(
    open_app, tmp_path
) -> None:
    from tests.bench.bench_many_rugs import TODAY, book_of_many
    from tracker.presenters.yarn_shelf import MOST_UNFOLDED, Fold, build_yarn_shelf_state

    hand = open_app(book_of_many(tmp_path / "many.loomside", rugs=3), today=TODAY)
    hand.shell.go("yarn_shelf")
    settle()
    page = hand.shell.page
    stock = hand.app.desk.yarn_shelf()
    assert len(stock.parts) > 80
    state = build_yarn_shelf_state(stock)
    folds = [one for one in (*state.free, *state.given) if isinstance(one, Fold)]
    # The marks are of one lot each, so the words on the page tell every lot.
    wanted = {part.mark for part in stock.parts}
    assert len(wanted) == len(stock.parts)
    found = set()

    def marks_seen() -> set[str]:
        return {words.removeprefix("Dye lot ") for words in hand.words(page) if words.startswith("Dye lot ")}

    # One lot of many is found by its mark alone, and everything is there again without it.
    sought = stock.parts[len(stock.parts) // 2].mark
    page.ids.letters.text = sought.lower()
    settle()
    assert sought in marks_seen()
    assert all(sought in mark for mark in marks_seen())
    page.ids.letters.text = "no such yarn"
    settle()
    assert hand.sees("Nothing found.")
    page.ids.letters.text = ""
    settle()
    assert not hand.sees("Nothing found.")

    found |= marks_seen()
    stayed = {True: 0, False: 0}
    for fold in folds:
        key = next(card for card in keys_on(page) if card.text == fold.name)
        hand.reach(key)
        rest_at(page.ids.scroll, page.ids.scroll.scroll_y)  # what the finger set gliding
        settle()
        top, stood = top_of(key), marks_seen()
        hand.tap(key)
        settle()
        key = next(card for card in keys_on(page) if card.text == fold.name)
        seen = marks_seen()
        # Folded above to make room, it could stay only as far as there was something above.
        still = stood <= seen or 0 < page.ids.scroll.scroll_y < 1
        if still:
            assert abs(top_of(key) - top) <= 1, fold.name
        stayed[stood <= seen] += still
        assert {line.part.mark for group in fold.groups for line in group.lines} <= seen
        found |= seen
    assert found == wanted
    assert min(stayed.values()) >= 1, stayed
    assert len(keys_on(page)) <= len(state.free) + len(state.given) + MOST_UNFOLDED
    last = folds[-1]
    lot = last.groups[0].lines[0]
    hand.tap(lot.head)
    assert hand.sees(lot.amount)
    assert hand.sees("Put on the shelf")
    hand.shell.close_sheet()
    stood = json.loads(json.dumps(page.stands()))
    hand.tap(next(card for card in keys_on(page) if card.text == last.name))
    settle()
    assert lot.part.mark not in marks_seen()
    # The app was ended while out of sight, and is back.
    page.stand(stood)
    settle()
    assert lot.part.mark in marks_seen()
