"""The yarn shelf: leftovers come to lie on it by themselves, and suit the next rug by shade; nothing is there twice."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters import rugs
from tests.presenters.answers import answers as told_answers
from tests.presenters.answers import yarn as told_yarn
from tests.presenters.test_dye_lots import two_lots
from tests.properties import examples
from tracker.domain.errors import BadEntry
from tracker.domain.lot_moves import LotMove, came_by, lots_of_rug
from tracker.domain.need import account_of
from tracker.domain.rug import (
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugStage,
    Spoilt,
    Weighing,
    Yarn,
)
from tracker.forecast.answers import YarnWord
from tracker.forecast.outlook import outlook, yarns_alone
from tracker.presenters.answer_words import yarn_words
from tracker.presenters.costs import cost_of
from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.whole_plan import material_plan
from tracker.presenters.yarn import build_yarn_story_state
from tracker.presenters.yarn_shelf import (
    LEAST_MOVED_G,
    MOST_OPEN,
    MOST_UNFOLDED,
    Fold,
    Match,
    PartLine,
    ShadeGroup,
    ShelfStock,
    YarnPart,
    build_yarn_shelf_state,
    can_search,
    doubt_of_giving,
    fineness_apart,
    give,
    given_words,
    left_g,
    match_words,
    matches,
    no_taker_words,
    offer_words,
    offers_for,
    searched,
    shelf_stock,
    taken_from_shelf,
    taken_words,
    takers,
    unfolded_then,
    wants_g,
)
from tracker.reports.csv_tables import yarn_table
from tracker.words import shown_g

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


def test_yarn_can_be_given_to_the_rugs_that_are_not_finished() -> None:
    lots = (bought(900.0),)
    found = stock((finished(*lots), next_rug()), lots)
    assert [book.plan.name for book, _answers in found.rugs] == ["Meadow"]
    assert [
        (book.plan.name, match.yarn.name) for book, match in takers(found, part_of(found, OLD), "rug")
    ] == [("Meadow", "Rose madder")]


@examples(12)
@given(st.integers(350, 990), st.integers(1, 300), st.booleans(), st.booleans())
def test_what_is_given_or_lost_is_as_many_grams_less_as_every_page_says(
    lot_g: int, grams: int, done: bool, scale: bool
) -> None:
    """850 g less 300 g given were 549 g on the shelf: the middle of what is drawn moved with the grams."""
    lots = (bought(float(lot_g)),)
    book = (
        finished(*lots)
        if done
        else replace(rugs.book(*(rugs.session(number, 10) for number in range(1, 6))), lots=lots)
    )
    if scale:
        weighing = Weighing(id="w", rug_id="rug", yarn_id="red", day=date(2026, 10, 3), mass_g=lot_g - 2.0)
        book = replace(book, weighings=(weighing,))

    def said_g(found: ShelfStock) -> float:
        parts = [part for part in found.parts if part.place == OLD]
        return shown_g(parts[0].told_g) if parts else 0.0

    before = stock((book, next_rug()), lots)
    grams = min(grams, int(said_g(before)) - 5)
    moves = tuple(
        replace(move, born=99_999) for move in give(part_of(before, OLD), ("next", "red2"), grams, TODAY)
    )
    assert said_g(stock((book, next_rug()), lots, moves)) == said_g(before) - grams
    lost = Spoilt(id="s", rug_id="rug", yarn_id="red", day=TODAY, mass_g=float(grams), born=99_999)
    assert said_g(stock((replace(book, spoilt=(lost,)),), lots)) == said_g(before) - grams


def test_what_was_moved_is_told_apart_from_what_was_bought() -> None:
    """Yarn moved from another rug was called bought, and its price paid once more."""
    lots = (bought(900.0),)
    moves = tuple(
        replace(move, born=99_999)
        for move in give(
            part_of(stock((finished(*lots), next_rug()), lots), OLD), ("next", "red2"), 300.0, TODAY
        )
    )
    old, new = (
        replace(book, lots=lots_of_rug(book.plan.id, own, others, moves))
        for book, own, others in ((finished(), lots, ()), (next_rug(), (), lots))
    )

    def facts(book: RugBook, yarn_id: str) -> dict[str, str]:
        state = build_yarn_story_state(book, outlook(book, TODAY), yarn_id)
        assert state is not None
        return {fact.label: fact.figure for fact in state.facts if fact.label.endswith("in all")}

    assert facts(old, "red") == {"Bought in all": "900 g", "Moved on in all": "300 g"}
    assert facts(new, "red2") == {"Moved here in all": "300 g"}
    assert facts(next_rug(), "red2") == {"Bought in all": "0 g"}
    parts = [
        came_by(lot for lot in book.lots if lot.yarn_id == name)
        for book, name in ((old, "red"), (new, "red2"))
    ]
    assert [(one.paid, one.moved_worth) for one in parts] == [
        (30.0, pytest.approx(-10.0)),
        (None, pytest.approx(10.0)),
    ]
    row = next(csv.DictReader(io.StringIO(yarn_table(new, outlook(new, TODAY)).decode("utf-8-sig"))))
    said = ("bought (g)", "paid", "moved here, less moved on (g)", "paid for that")
    assert [row[name] for name in said] == ["0.0", "", "300.0", "10.0"]


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
    assert "left over from finished rugs" in state.empty


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
    # To a gram: the middle of draws wavers by that much.
    assert part_of(after, OLD).mass_g == pytest.approx(part.mass_g - 50, abs=1.0)
    new = part_of(after, ("next", "red2"))
    assert (new.mass_g, new.mark, new.free) == (pytest.approx(50.0, abs=0.5), "17", False)
    # To a gram: the middle of draws wavers by that much.
    assert sum(one.mass_g for one in after.parts) == pytest.approx(
        sum(one.mass_g for one in before.parts), abs=1.0
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


def test_yarn_taken_from_the_shelf_is_not_used_up_by_rows_that_were_woven_before_it_came() -> None:
    # Half of the rug is woven, and nobody noted a gram of its weft: more than comes from the shelf is in it already.
    woven = rugs.book(*(rugs.session(day, 10) for day in range(1, 11)))
    before = next(one for one in outlook(woven, TODAY).yarns if one.yarn_id == "weft")
    assert before.on_hand_g == 0
    lot = replace(bought(500.0, "weft"), rug_id="old")
    move = LotMove(
        id="m", lot_id="lot", day=TODAY, mass_g=15.0, from_rug_id="old", from_yarn_id="w", to_rug_id="rug",
        to_yarn_id="weft", born=99,
    )  # fmt: skip
    lot = replace(lot, yarn_id="w")
    got = replace(woven, lots=lots_of_rug("rug", (), (lot,), (move,)))
    after = next(one for one in outlook(got, TODAY).yarns if one.yarn_id == "weft")
    assert after.on_hand_g == pytest.approx(15.0, abs=0.5)
    assert after.order_g == pytest.approx(before.order_g - 15.0, abs=10.0)
    assert after.order_g < before.order_g
    # Weighed since, the scale says what is there, and what comes then comes to it.
    weighed = replace(
        woven,
        weighings=(
            Weighing(id="x", rug_id="rug", yarn_id="weft", day=date(2026, 11, 3), mass_g=2.0, born=3),
        ),
    )
    both = replace(weighed, lots=got.lots)
    after = next(one for one in outlook(both, TODAY).yarns if one.yarn_id == "weft")
    assert after.on_hand_g == pytest.approx(15.0, abs=0.5)


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
    assert f"; {yarn_words(red)}" in match_words(match, "Little field")
    assert takers(stock, part, "other")[0][0].plan.id == "other"
    # The rug in hand that has enough comes after the one that wants some.
    enough = replace(book, lots=(bought(9000.0),))
    full = ShelfStock((part,), ((other, outlook(other, TODAY)), (enough, outlook(enough, TODAY))))
    (first, _match), (second, match) = takers(full, part, "rug")
    assert (first.plan.id, second.plan.id) == ("other", "rug")
    assert "it has enough" in match_words(match, "Little field")


def test_warp_is_offered_to_no_rug_that_is_warped() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=400.0, fibre="cotton")
    bare = replace(rugs.book(), yarns=(*rugs.yarns(), warp))
    woven = replace(
        bare,
        plan=replace(bare.plan, id="woven", name="Woven"),
        sessions=(rugs.session(1, 20, rug_id="woven"),),
    )
    part = YarnPart(replace(warp, id="left"), "", None, "", 5000.0, True, ())
    stock = ShelfStock((part,), tuple((book, outlook(book, TODAY)) for book in (woven, bare)))
    # The rug in hand has its warp on the loom; the other one is still to be warped.
    assert [book.plan.id for book, _match in takers(stock, part, "woven")] == ["rug"]
    assert no_taker_words(part) == "No other rug takes any more of it."


def a_part(name: str, mark: str = "", place: tuple[str, str] | None = None, rug: str = "", mass_g: float = 100.0,
           free: bool = True, **yarn: object) -> YarnPart:  # fmt: skip
    told = {
        "id": name,
        "rug_id": "rug",
        "role": Role.PILE,
        "number": 4,
        "name": name,
        "swatch": "#9C2F25",
        **yarn,
    }
    return YarnPart(Yarn(**told), mark, place, rug, mass_g, free, ((f"lot of {name}", mass_g),))


def test_the_page_in_full() -> None:
    """By role, then name and shade; what lies on the shelf first, then the most; a sum where a shade has several parts."""
    parts = (
        a_part("Warp", role=Role.WARP, number=1),
        a_part("weld", "W-1", OLD, "Doorstep", 1500.0, number=2),
        a_part("Madder", "M-2", ("rug", "a"), "Doorstep", 250.0),
        a_part("Madder", "M-3", ("rug", "b"), "Doorstep", 300.0),
        a_part("Madder", mass_g=50.0),
        a_part("Madder", "M-1", ("next", "c"), "Meadow", 40.0, free=False),
        a_part("Madder", "M-1", ("next", "c"), "Meadow", 60.0, free=False, swatch="#702018"),
    )
    state = build_yarn_shelf_state(ShelfStock(parts))
    assert (state.headline, state.empty) == ("2.2 kg free", "")
    assert state.free == (
        ShadeGroup("Madder", "#9C2F25", "4", "600 g", (
            PartLine(parts[4], "No dye lot noted", "50 g", "on the shelf"),
            PartLine(parts[3], "Dye lot M-3", "300 g", "left over from Doorstep"),
            PartLine(parts[2], "Dye lot M-2", "250 g", "left over from Doorstep"),
        )),
        ShadeGroup("weld", "#9C2F25", "2", "", (PartLine(parts[1], "Dye lot W-1", "1.5 kg", "left over from Doorstep"),)),
        ShadeGroup("Warp", "#9C2F25", "", "", (PartLine(parts[0], "No dye lot noted", "100 g", "on the shelf"),)),
    )  # fmt: skip
    assert [(group.swatch, group.free) for group in state.given] == [("#702018", ""), ("#9C2F25", "")]
    assert state.given[0].lines == (PartLine(parts[6], "Dye lot M-1", "60 g", "in Meadow"),)
    assert parts[2].key == (("rug", "a"), "Madder", "M-2")
    assert build_yarn_shelf_state(ShelfStock(())).headline == ""


def test_how_a_part_suits_a_yarn_is_said_in_full() -> None:
    red, *_more = rugs.yarns()
    plain = Match(red, "the same shade on the screen", 0.0, 0.0)
    assert match_words(plain, "Meadow") == "Madder of Meadow; the same shade on the screen; it has enough."
    wanting = replace(plain, words="", wants_g=120.0, other_lots=("17",))
    assert match_words(wanting, "Meadow") == ("Madder of Meadow; to buy 120 g; its dye lot 17 may differ.")
    short = replace(plain, wants_g=120.0, short_g=80.0, other_lots=("17", "18"))
    assert match_words(short, "Meadow") == (
        "Madder of Meadow; the same shade on the screen; short 80 g; its dye lots 17 and 18 may differ."
    )


def test_a_shade_is_the_same_near_or_another() -> None:
    """By CIEDE2000: what the sheet of shades takes for one, what is to be held together, and what is offered no more."""
    book = replace(next_rug(), lots=())
    answers = told_answers(yarns=(told_yarn("red2", YarnWord.SHORT, short_g=30.0, order_g=200.0),))

    def found(swatch: str) -> list[tuple[str, str, float, float]]:
        part = a_part("Madder", swatch=swatch)
        return [(one.yarn.id, one.words, one.wants_g, one.short_g) for one in matches(part, book, answers)]

    assert found("#9E3128") == [("red2", "the same shade on the screen", 200.0, 30.0)]
    assert found("#A8382C") == [("red2", "a near shade; hold them together in daylight", 200.0, 30.0)]
    assert found("#F0F0F0") == []
    own = a_part("Rose madder", place=("next", "red2"), swatch="#9E3128")
    assert matches(own, book, answers) == (), "it is there already"
    lots = (bought(10.0, "red2"), bought(10.0, "red2", "18", "other"))
    (match,) = matches(a_part("Madder", "17", swatch="#9E3128"), replace(book, lots=lots), answers)
    assert match.other_lots == ("18",)
    # Before anything is bought nothing is short yet.
    none = told_answers(yarns=(told_yarn("red2", YarnWord.NOT_BOUGHT, short_g=300.0, order_g=330.0),))
    (match,) = matches(a_part("Madder", swatch="#9E3128"), book, none)
    assert (match.wants_g, match.short_g) == (330.0, 0.0)


def test_of_a_warp_that_is_mounted_nothing_is_wanted_and_its_rest_is_left() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=300.0, margin=0.25)
    lot = bought(500.0, "warp", "")
    book = rugs.book(yarns=(*rugs.yarns(), warp), lots=(lot,))
    answers = told_answers(yarns=())
    (need,) = account_of(book).warps
    # Nothing is woven or mounted: all of it is there, and with a quarter more than is needed it is enough.
    assert left_g(book, answers, warp) == 500.0
    assert need.need_g * 1.25 < 500.0
    assert wants_g(book, answers, warp) == 0.0
    assert wants_g(replace(book, lots=(replace(lot, mass_g=20.0),)), answers, warp) == pytest.approx(
        need.need_g * 1.25 - 20.0
    )
    done = Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP)
    mounted = replace(book, preparations=(done,))
    assert left_g(mounted, answers, warp) == pytest.approx(500.0 - need.need_g)
    assert left_g(replace(mounted, lots=(replace(lot, mass_g=20.0),)), answers, warp) == 0.0
    assert wants_g(replace(mounted, lots=()), answers, warp) == 0.0
    assert wants_g(book, answers, replace(warp, id="gone")) == 0.0


def test_what_moved_is_said() -> None:
    lots = (bought(900.0),)
    part = part_of(stock((replace(rugs.book(), lots=lots),), lots), OLD)
    (move,) = give(part, None, 300.0, TODAY)
    assert (move.lot_id, move.day, move.from_rug_id, move.from_yarn_id, move.to_rug_id, move.to_yarn_id) == (
        "lot", TODAY, "rug", "red", None, None,
    )  # fmt: skip
    assert given_words((move, move), part, "") == "600 g of Madder put on the shelf."
    assert given_words((move,), part, "Meadow") == "300 g of Madder given to Meadow."
    on_shelf = part_of(stock((replace(rugs.book(), lots=lots), next_rug()), lots, (move,)), None)
    (on,) = give(on_shelf, ("next", "red2"), 300.4, TODAY)
    assert (on.mass_g, on.from_rug_id, on.from_yarn_id, on.to_rug_id, on.to_yarn_id) == (
        300.0, None, None, "next", "red2",
    )  # fmt: skip
    with pytest.raises(BadEntry, match="Only 300 g of it are there"):
        give(on_shelf, ("next", "red2"), 300.6, TODAY)
    assert give(on_shelf, ("next", "red2"), LEAST_MOVED_G / 2, TODAY) == ()


def test_the_offer_names_the_largest_part_and_counts_the_others() -> None:
    one, two, three = a_part("Madder", "17", mass_g=250.0), a_part("Rose"), a_part("Brick")
    assert offer_words((two,)) == "On the shelf: 100 g of Rose."
    assert offer_words((one, two)) == "On the shelf: 250 g of Madder, dye lot 17 and 1 more."
    assert offer_words((one, two, three)) == "On the shelf: 250 g of Madder, dye lot 17 and 2 more."
    book = next_rug()
    answers = told_answers(
        yarns=(told_yarn("red2", YarnWord.SHORT, order_g=200.0), told_yarn("green2", order_g=0.0))
    )
    small, large = a_part("a", swatch="#9E3128"), a_part("b", mass_g=200.0, swatch="#9E3128")
    parts = (small, large, a_part("c", swatch="#9E3128", free=False), a_part("d", swatch="#3F7A3A"))
    assert offers_for(ShelfStock(parts), book, answers) == {"red2": (large, small)}


def test_of_two_dye_lots_each_has_left_what_the_yarn_page_says_of_it() -> None:
    book = two_lots()
    answers = outlook(book, TODAY)
    (red,) = (answer for answer in answers.yarns if answer.yarn_id == "red")
    assert red.lots is not None
    on_hand = {stock.lot_id: stock.on_hand_g for stock in red.lots.stocks}
    found = shelf_stock([(book, answers)], book.lots, (), book.yarns)
    assert {part.mark: part.mass_g for part in found.parts} == {
        "17": pytest.approx(on_hand["lot 17"]), "18": pytest.approx(on_hand["lot 18"]),
    }  # fmt: skip
    # Where nobody parts them what was bought last is the last to be used.
    unparted = replace(answers, yarns=(replace(red, lots=None, on_hand_g=2050.0),))
    found = shelf_stock([(book, unparted)], book.lots, (), book.yarns)
    assert {part.mark: round(part.mass_g) for part in found.parts} == {"17": 50, "18": 2000}


def test_less_than_a_gram_is_no_yarn_to_look_for() -> None:
    for mass_g, many in ((0.9, 0), (1.0, 1)):
        lots = (bought(mass_g),)
        assert len(stock((replace(rugs.book(), lots=lots),), lots).parts) == many


def test_a_thin_weft_is_offered_the_thin_one_and_what_fits_is_taken_from_the_shelf_once() -> None:
    """The list went on asking for all of it, and offered the thick weft for the thin one."""
    book = next_rug()
    red, green, weft = book.yarns
    thick, thin = (
        replace(weft, id="thick2", number=1, name="Thick weft, straight", tex=600.0),
        replace(weft, id="thin2", number=2, name="Thin weft, wavy", tex=300.0),
    )
    book = replace(book, yarns=(red, green, thick, thin))
    answers = outlook(book, TODAY)

    def lying(like: Yarn, grams: float, name: str, mark: str = "", **changes) -> YarnPart:
        yarn = replace(like, id=f"old {name}", rug_id="rug", **changes)
        return YarnPart(yarn, mark, ("rug", yarn.id), "Little field", grams, True, ((f"lot {name}", grams),))

    parts = (
        lying(thick, 114.0, "thick"), lying(thin, 8.0, "thin"), lying(red, 30.0, "same", "17"), lying(red, 20.0, "other", "18"),
        lying(green, 50.0, "near", swatch="#4F8A48"),
    )  # fmt: skip
    offers = offers_for(ShelfStock(parts), book, answers)
    assert [part.mass_g for part in offers["thin2"]] == [8.0]
    assert [part.mass_g for part in offers["thick2"]] == [114.0]
    moves = taken_from_shelf(offers, book, answers, TODAY)
    assert {(move.lot_id, move.to_yarn_id) for move in moves} >= {("lot thin", "thin2"), ("lot same", red.id)}
    # One dye lot of a colour; a shade that only comes near is the weaver's to judge.
    assert not {"lot other", "lot near"} & {move.lot_id for move in moves}
    for move in moves:
        yarn = next(one for one in book.yarns if one.id == move.to_yarn_id)
        assert move.mass_g <= wants_g(book, answers, yarn) + 1e-6
    assert taken_words(moves[:1]).startswith("1 yarn taken from the shelf, ")
    # What came lies with the rug's own lots: the list asks for less by it.
    own = [Lot(id=f"lot {part.yarn.id[4:]}", rug_id="rug", yarn_id=part.yarn.id, day=TODAY, mass_g=part.mass_g, dye_lot=part.mark)
           for part in parts]  # fmt: skip
    after = replace(book, lots=lots_of_rug("next", [], own, moves))
    took_g = next(move.mass_g for move in moves if move.to_yarn_id == red.id)
    assert wants_g(after, outlook(after, TODAY), red) == pytest.approx(
        wants_g(book, answers, red) - took_g, abs=11.0
    )


def test_of_what_lies_on_the_shelf_no_more_is_taken_than_makes_the_yarn_last() -> None:
    book = next_rug()
    red, *others = book.yarns
    red = replace(red, skein_g=5_000.0)
    book = replace(book, yarns=(red, *others))
    answers = outlook(book, TODAY)
    answer = next(one for one in answers.yarns if one.yarn_id == red.id)
    lying = YarnPart(
        replace(red, id="old", rug_id="rug"), "17", ("rug", "old"), "Little field", 20_000.0, True, (("lot", 20_000.0),)
    )  # fmt: skip
    moves = taken_from_shelf(offers_for(ShelfStock((lying,)), book, answers), book, answers, TODAY)
    taken_g = sum(move.mass_g for move in moves)
    assert answer.needed_high_g <= taken_g < answer.needed_g * 2
    assert taken_g < answer.order_g == 5_000.0
    lot = Lot(id="lot", rug_id="rug", yarn_id="old", day=TODAY, mass_g=20_000.0, dye_lot="17")
    after = replace(book, lots=lots_of_rug("next", [], [lot], moves))
    assert wants_g(after, outlook(after, TODAY), red) == 0


def test_yarn_of_which_nobody_said_how_fine_it_is_is_the_same_where_it_has_the_same_name() -> None:
    one, other = (replace(rugs.yarns()[2], tex=0.0, name=name) for name in ("Ground weft", "Sinew"))
    assert (fineness_apart(one, one), fineness_apart(one, other)) == (0.0, 1.0)
    assert fineness_apart(replace(one, tex=400.0), replace(other, tex=300.0)) == pytest.approx(1 / 3)


def test_giving_away_what_a_rug_still_needs_is_asked_about() -> None:
    lots = (bought(500.0),)
    book = replace(rugs.book(), lots=lots)
    needing = told_answers(yarns=(told_yarn("red", on_hand_g=500.0, needed_g=400.0),))
    found = ShelfStock(shelf_stock([(book, needing)], lots, (), book.yarns).parts, ((book, needing),))
    part = part_of(found, OLD)
    assert doubt_of_giving(found, part, 100.0) is None
    asked = doubt_of_giving(found, part, 150.0)
    assert asked is not None
    assert asked.question == (
        f"{book.plan.name} still needs 400 g of Madder and has 500 g. Without these 150 g it is short 50 g."
    )
    # What lies on the shelf is nobody's.
    assert doubt_of_giving(found, replace(part, place=None), 500.0) is None


MANY_PARTS = st.lists(
    st.builds(
        lambda name, mark, rug, mass_g, free: a_part(
            name, mark, (f"rug {rug}", name) if rug or not free else None, f"Rug {rug}", mass_g, free
        ),
        st.sampled_from(["Madder", "madder", "Indigo", "Weld", "Walnut"]),
        st.sampled_from(["", "17", "18", "19"]),
        st.integers(0, 3),
        st.floats(1.0, 5_000.0),
        st.booleans(),
    ),
    max_size=3 * MOST_OPEN,
)


@examples(60)
@given(MANY_PARTS)
def test_much_yarn_is_folded_and_none_of_it_is_lost_or_told_twice(parts: list[YarnPart]) -> None:
    state = build_yarn_shelf_state(ShelfStock(tuple(parts)))
    for told, wanted in (
        (state.free, [part for part in parts if part.free]),
        (state.given, [part for part in parts if not part.free]),
    ):
        groups = [group for one in told for group in (one.groups if isinstance(one, Fold) else (one,))]
        assert sorted(id(line.part) for group in groups for line in group.lines) == sorted(map(id, wanted))
    folds = [one for one in (*state.free, *state.given) if isinstance(one, Fold)]
    assert len({fold.key for fold in folds}) == len(folds)
    if len(parts) <= MOST_OPEN:
        assert not folds
    for fold in folds:
        inside = [line.part for group in fold.groups for line in group.lines]
        # One lot is not hidden behind a key; what one key stands for is of one colour, or lies in one rug.
        assert len(inside) > 1
        assert fold.note == f"{len(inside)} lots"
        if inside[0].free:
            assert {part.yarn.name.casefold() for part in inside} == {fold.name.casefold()}
        else:
            assert {part.rug_name for part in inside} == {fold.name}


def test_of_much_yarn_what_is_free_stands_by_colour_and_the_rest_by_rug() -> None:
    free = [a_part("Madder", str(lot), OLD, "Doorstep", 100.0) for lot in range(20)]
    given_ = [a_part("Indigo", str(lot), ("next", "blue"), "Meadow", 50.0, free=False) for lot in range(10)]
    single = a_part("Weld", "W", ("third", "weld"), "Orchard", 70.0, free=False)
    state = build_yarn_shelf_state(ShelfStock((*free, *given_, single)))
    assert state.headline == "2 kg free"
    assert [(one.name, one.amount, one.note, one.swatch) for one in state.free if isinstance(one, Fold)] == [
        ("Madder", "2 kg", "20 lots", ("#9C2F25", "4"))
    ]
    meadow, orchard = state.given
    assert isinstance(meadow, Fold)
    assert (meadow.name, meadow.amount, meadow.note, meadow.swatch) == ("Meadow", "500 g", "10 lots", None)
    assert isinstance(orchard, ShadeGroup)
    assert orchard.lines[0].part is single


def test_more_than_a_screenful_of_yarn_is_searched_by_name_dye_lot_and_place() -> None:
    parts = (
        a_part("Madder red", "M-9", OLD, "Doorstep"),
        a_part("Madder red", "M-14", ("next", "red"), "Meadow", free=False),
        a_part("Indigo", "N-8", ("next", "blue"), "Meadow", free=False),
        *(a_part("Weld", f"S-{lot}", OLD, "Doorstep") for lot in range(5)),
    )
    stock = ShelfStock(parts)
    assert can_search(stock)
    assert not can_search(ShelfStock(parts[1:]))

    def marks(sought: str) -> list[str]:
        return [part.mark for part in searched(stock, sought).parts]

    assert marks("madder") == ["M-9", "M-14"]
    assert marks("RED meadow") == ["M-14"]
    assert marks("n-8") == ["N-8"]
    assert marks("left over doorstep weld s-3") == ["S-3"]
    assert marks("İNDIGO") == ["N-8"]
    assert marks("linen") == []
    assert searched(stock, " ") == stock
    state = build_yarn_shelf_state(searched(stock, "madder"))
    assert [line.part.mark for group in state.given for line in group.lines] == ["M-14"]


def test_what_was_unfolded_stays_so_until_it_is_too_much_to_look_over() -> None:
    parts = [
        a_part("Madder", str(lot), (rug, "madder"), rug, 50.0, free=False)
        for rug in ("Meadow", "Orchard", "Garden") for lot in range(MOST_UNFOLDED // 2)
    ]  # fmt: skip
    state = build_yarn_shelf_state(ShelfStock(tuple(parts)))
    one, two, three = (fold.key for fold in state.given if isinstance(fold, Fold))
    assert unfolded_then(state, (), one) == (one,)
    assert unfolded_then(state, (one,), two) == (one, two)
    assert unfolded_then(state, (one, two), three) == (two, three)
    assert unfolded_then(state, (one, two), one) == (two,)
    # What is no longer there, its yarn being given away, is forgotten.
    assert unfolded_then(state, ("gone", one), two) == (one, two)
    assert unfolded_then(state, (one,), "gone") == (one,)


def test_the_shelf_says_of_a_yarn_what_the_answers_of_its_rug_say() -> None:
    """It asks for no day, so that no future is woven for it."""
    lots = (bought(300.0), bought(600.0, mark="18", name="other", days=3))
    woven = rugs.book(*(rugs.session(number, 2) for number in range(1, 13)))
    books = (
        two_lots(), next_rug(), finished(*lots), replace(rugs.book(), lots=lots), woven, replace(woven, lots=lots),
    )  # fmt: skip
    days = {"runs_out_day": None, "runs_out_day_range": None, "order_by": None}
    some_day = False
    for book in books:
        whole = outlook(book, TODAY).yarns
        some_day |= any(answer.runs_out_day is not None for answer in whole)
        assert yarns_alone(book, TODAY).yarns == tuple(replace(answer, **days) for answer in whole)
    assert some_day
