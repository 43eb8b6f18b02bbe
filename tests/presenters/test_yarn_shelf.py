"""The yarn shelf: leftovers come to lie on it by themselves, and suit the next rug by shade; nothing is there twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.presenters import rugs
from tracker.domain.errors import BadEntry
from tracker.domain.lot_moves import LotMove, lots_of_rug
from tracker.domain.rug import Lot, Role, RugBook, RugStage
from tracker.forecast.outlook import outlook
from tracker.presenters.costs import cost_of
from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.whole_plan import material_plan
from tracker.presenters.yarn import build_yarn_story_state
from tracker.presenters.yarn_shelf import (
    ShelfStock,
    YarnPart,
    build_yarn_shelf_state,
    give,
    match_words,
    matches,
    offer_words,
    offers_for,
    shelf_stock,
    takers,
)
from tracker.words import mass

TODAY = date(2026, 11, 25)


def bought(mass_g: float, yarn_id: str = "red", mark: str = "17", name: str = "lot", days: int = 1) -> Lot:
    return Lot(
        id=name,
        rug_id="rug",
        yarn_id=yarn_id,
        day=date(2026, 10, days),
        mass_g=mass_g,
        dye_lot=mark,
        price=30.0,
    )


def finished(*lots: Lot) -> RugBook:
    """A rug of 200 rows, all woven, with these lots."""
    book = rugs.book(*(rugs.session(number, 10) for number in range(1, 21)))
    plan = replace(book.plan, stage=RugStage.FINISHED, finished_day=date(2026, 11, 22))
    return replace(book, plan=plan, lots=lots)


def next_rug() -> RugBook:
    """A rug that is planned, with a madder near the other's and a green."""
    book = rugs.book()
    red, blue, weft = book.yarns
    yarns = (
        replace(red, id="red2", rug_id="next", name="Rose madder", swatch="#9E3128"),
        replace(blue, id="green2", rug_id="next", name="Green", swatch="#3F7A3A"),
        replace(weft, id="weft2", rug_id="next"),
    )
    plan = replace(book.plan, id="next", name="Meadow", stage=RugStage.PLANNED)
    return replace(book, plan=plan, yarns=yarns)


def stock(books: tuple[RugBook, ...], own: tuple[Lot, ...], moves: tuple[LotMove, ...] = ()) -> ShelfStock:
    """The shelf's stock when these moves were made, the books read anew."""
    read = []
    for book in books:
        mine = [lot for lot in own if lot.rug_id == book.plan.id]
        others = [lot for lot in own if lot.rug_id != book.plan.id]
        book = replace(book, lots=lots_of_rug(book.plan.id, mine, others, moves))
        read.append((book, outlook(book, TODAY)))
    return shelf_stock(read, own, moves, [yarn for book in books for yarn in book.yarns])


def part_of(found: ShelfStock, place: object) -> YarnPart:
    return next(part for part in found.parts if part.place == place)


OLD = ("rug", "red")


def test_what_is_left_of_a_finished_rug_lies_on_the_shelf_by_itself_and_only_that() -> None:
    lots = (bought(900.0),)
    book = finished(*lots)
    answer = next(one for one in outlook(book, TODAY).yarns if one.yarn_id == "red")
    found = stock((book,), lots)
    part = part_of(found, OLD)
    assert part.free
    assert part.mass_g == pytest.approx(answer.on_hand_g)
    assert 0 < part.mass_g < 900
    state = build_yarn_shelf_state(found)
    assert [(line.head, line.note) for group in state.free for line in group.lines] == [
        ("Dye lot 17", "left over from Little field")
    ]
    assert state.given == ()


def test_yarn_of_a_rug_on_the_loom_is_not_free() -> None:
    lots = (bought(900.0),)
    book = replace(rugs.book(), lots=lots)
    state = build_yarn_shelf_state(stock((book,), lots))
    assert state.free == ()
    assert [line.note for group in state.given for line in group.lines] == ["in Little field"]
    assert state.headline == "Nothing is free."


def test_with_no_yarn_the_page_says_what_it_is_for() -> None:
    state = build_yarn_shelf_state(stock((rugs.book(),), ()))
    assert (state.free, state.given) == ((), ())
    assert "left over of finished rugs" in state.empty


def test_a_part_is_offered_to_the_nearest_shade_of_its_kind_alone() -> None:
    lots = (bought(900.0),)
    book = next_rug()
    part = part_of(stock((finished(*lots), book), lots), OLD)
    found = matches(part, book, outlook(book, TODAY))
    assert [match.yarn.name for match in found] == ["Rose madder"]
    assert found[0].wants_g > 0
    done = replace(book, plan=replace(book.plan, stage=RugStage.FINISHED))
    assert matches(part, done, outlook(done, TODAY)) == ()


def test_given_yarn_counts_where_it_went_and_no_more_where_it_was() -> None:
    lots = (bought(900.0),)
    books = (finished(*lots), next_rug())
    before = stock(books, lots)
    part = part_of(before, OLD)
    moves = give(part, ("next", "red2"), 50.0, TODAY)
    after = stock(books, lots, moves)
    assert part_of(after, OLD).mass_g == pytest.approx(part.mass_g - 50, abs=0.5)
    new = part_of(after, ("next", "red2"))
    assert (new.mass_g, new.mark, new.free) == (pytest.approx(50.0, abs=0.5), "17", False)
    assert sum(one.mass_g for one in after.parts) == pytest.approx(
        sum(one.mass_g for one in before.parts), abs=0.5
    )
    # The next rug's pages say so: on hand, in its story, and what it cost.
    getting = replace(books[1], lots=lots_of_rug("next", (), lots, moves))
    answers = outlook(getting, TODAY)
    answer = next(one for one in answers.yarns if one.yarn_id == "red2")
    assert answer.on_hand_g == pytest.approx(50.0, abs=0.5)
    story = build_yarn_story_state(getting, answers, "red2")
    assert story is not None
    assert [line.head for line in story.lines] == ["50 g got from another rug"]
    assert story.lines[0].record_id == moves[0].id
    assert cost_of(getting, answers, "").left_out == 0


def test_a_move_to_the_shelf_and_on_from_there() -> None:
    lots = (bought(900.0),)
    books = (replace(rugs.book(), lots=lots), next_rug())
    to_shelf = give(part_of(stock(books, lots), OLD), None, 300.0, TODAY)
    found = stock(books, lots, to_shelf)
    on_shelf = part_of(found, None)
    assert (on_shelf.mass_g, on_shelf.free, on_shelf.mark, on_shelf.yarn.name) == (
        300.0,
        True,
        "17",
        "Madder",
    )
    on = tuple(replace(move, born=5) for move in give(on_shelf, ("next", "red2"), 100.0, TODAY))
    later = stock(books, lots, (*to_shelf, *on))
    assert part_of(later, None).mass_g == pytest.approx(200.0)
    assert part_of(later, OLD).mass_g == pytest.approx(600.0, abs=1)
    assert part_of(later, ("next", "red2")).mass_g == pytest.approx(100.0, abs=0.5)


def test_of_two_purchases_of_a_dye_lot_a_gift_takes_both_and_never_more_than_there_is() -> None:
    lots = (bought(100.0), bought(150.0, name="later", days=2))
    part = part_of(stock((replace(rugs.book(), lots=lots),), lots), OLD)
    moves = give(part, None, 200.0, TODAY)
    assert [(move.lot_id, round(move.mass_g)) for move in moves] == [("later", 150), ("lot", 50)]
    with pytest.raises(BadEntry, match="Only 250 g"):
        give(part, None, 400.0, TODAY)


def test_wefts_and_warp_are_offered_by_what_they_are_for_not_by_shade() -> None:
    lots = (bought(900.0, "weft", "", "w"),)
    book = next_rug()
    found = stock((finished(*lots), book), lots)
    (part,) = found.parts
    assert part.yarn.role is Role.WEFT
    woven = finished(*lots)
    left = next(one for one in outlook(woven, TODAY).yarns if one.yarn_id == "weft")
    assert part.mass_g == pytest.approx(left.on_hand_g)
    assert part.mass_g < 900
    assert [match.yarn.name for match in matches(part, book, outlook(book, TODAY))] == ["Ground weft"]


def test_the_shopping_list_of_the_next_rug_tells_first_what_lies_on_the_shelf() -> None:
    lots = (bought(900.0),)
    book = next_rug()
    answers = outlook(book, TODAY)
    offers = offers_for(stock((finished(*lots), book), lots), book, answers)
    assert list(offers) == ["red2"]
    state = build_shopping_state(book, material_plan(book), answers, "", offers)
    lines = [line for group in state.groups for line in group.lines]
    assert state.offers == 1
    assert lines[0].yarn_id == "red2"
    assert lines[0].offer == offer_words(offers["red2"])
    assert "of Madder, dye lot 17" in lines[0].offer
    assert all(not line.offer for line in lines[1:])
    assert build_shopping_state(book, material_plan(book), answers).offers == 0


def test_what_is_short_is_said_as_the_yarn_page_says_it_and_the_rug_in_hand_comes_first() -> None:
    book = rugs.book(rugs.session(1, 20), lots=(bought(60.0),))
    answers = outlook(book, TODAY)
    red = next(answer for answer in answers.yarns if answer.yarn_id == "red")
    assert red.short_g > 0
    other = replace(book, plan=replace(book.plan, id="other", name="Other"), lots=())
    part = YarnPart(replace(book.yarns[0], id="left"), "", None, "", 500.0, True, ())
    stock = ShelfStock((part,), ((other, outlook(other, TODAY)), (book, answers)))
    (first, match), (second, _more) = takers(stock, part, "rug")
    assert (first.plan.id, second.plan.id) == ("rug", "other")
    assert f"; short {mass(red.short_g)}" in match_words(match, "Little field")
    assert takers(stock, part, "other")[0][0].plan.id == "other"
