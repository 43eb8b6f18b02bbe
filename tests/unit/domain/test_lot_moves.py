"""Yarn moved between rugs and the shelf: nothing is made and nothing is lost, on every phone alike."""

from __future__ import annotations

import random
from dataclasses import fields, replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.lawful import values
from tests.properties import examples
from tests.unit.domain.rugs import value_or_sentence
from tracker.domain.lot_moves import (
    LotMove,
    MovedLot,
    counted,
    holdings,
    lots_of_rug,
    moves_for,
    refuse_less_than_moved,
    weighed_lots,
)
from tracker.domain.rug import Lot, Weighing

DAY = date(2026, 3, 2)
RUGS = ("a", "b", "c")


def lot(name: str = "l", rug_id: str = "a", mass_g: float = 500.0, price: float | None = 20.0) -> Lot:
    return Lot(
        id=name, rug_id=rug_id, yarn_id=f"yarn {rug_id}", day=DAY, mass_g=mass_g, dye_lot="17", dyer="dyer",
        price=price, born=1,
    )  # fmt: skip


def move(
    mass_g: float, source: str | None, target: str | None, days: int = 1, born: int = 2, of: str = "l"
) -> LotMove:
    return LotMove(
        id=f"{of}{source}{target}{days}{born}", lot_id=of, day=DAY + timedelta(days=days), mass_g=mass_g,
        from_rug_id=source, from_yarn_id=source and f"yarn {source}", to_rug_id=target,
        to_yarn_id=target and f"yarn {target}", born=born,
    )  # fmt: skip


def test_what_one_rug_gives_the_other_gets_with_its_dye_lot_dyer_and_its_part_of_the_price() -> None:
    moves = (move(200, "a", "b"),)
    giving = lots_of_rug("a", (lot(),), (), moves)
    getting = lots_of_rug("b", (), (lot(),), moves)
    assert [(part.mass_g, part.price) for part in giving] == [(500.0, 20.0), (-200.0, -8.0)]
    (got,) = getting
    assert (got.mass_g, got.price, got.dye_lot, got.dyer, got.yarn_id) == (200.0, 8.0, "17", "dyer", "yarn b")
    assert isinstance(got, MovedLot)
    assert (got.other, got.day) == (("a", "yarn a"), DAY + timedelta(days=1))


@examples(10)
@given(bought=values(Lot, id="l", rug_id="a", yarn_id="yarn a", day=DAY, mass_g=500.0))
def test_a_moved_part_says_all_that_its_lot_says_but_of_the_mass(bought: Lot) -> None:
    """A field that lots were given later would be its default on all yarn from the shelf."""
    (got,) = lots_of_rug("b", (), (bought,), (move(200, "a", "b"),))
    of_the_move = {"id", "rug_id", "yarn_id", "day", "mass_g", "price", "weighed_g", "regain", "born"}
    for field in fields(Lot):
        if field.name not in of_the_move:
            assert getattr(got, field.name) == getattr(bought, field.name), field.name


def test_the_shelf_holds_what_was_put_on_it_until_it_is_given_on() -> None:
    moves = [move(300, "a", None)]
    assert holdings((lot(),), moves) == {("a", "yarn a"): {"l": 200.0}, None: {"l": 300.0}}
    moves.append(move(100, None, "b", days=2))
    assert holdings((lot(),), moves)[None] == {"l": 200.0}
    assert sum(part.mass_g for part in lots_of_rug("b", (), (lot(),), moves)) == 100.0


def test_a_skein_given_away_on_two_phones_is_not_there_twice() -> None:
    moves = [move(400, "a", "b", born=3), move(400, "a", "c", born=2)]
    for order in (moves, moves[::-1]):
        held = holdings((lot(),), order)
        assert (held["c", "yarn c"]["l"], held["b", "yarn b"]["l"], held["a", "yarn a"]["l"]) == (400, 100, 0)


def test_moves_of_a_lot_that_left_the_book_move_nothing() -> None:
    assert lots_of_rug("b", (), (), (move(200, "a", "b"),)) == ()


def test_what_is_given_after_a_weighing_on_its_day_was_on_the_scale() -> None:
    (gone,) = [
        part for part in lots_of_rug("a", (lot(),), (), (move(200, "a", "b", born=9),)) if part.mass_g < 0
    ]
    scale = Weighing(id="w", rug_id="a", yarn_id="yarn a", day=gone.day, mass_g=500, born=8)
    assert weighed_lots((lot(), gone), scale) == (lot(),)
    later = Weighing(id="w", rug_id="a", yarn_id="yarn a", day=gone.day, mass_g=300, born=10)
    assert weighed_lots((lot(), gone), later) == (lot(), gone)


def test_what_is_bought_on_the_day_of_a_weighing_is_told_by_the_order_of_entry_unless_the_scale_knows_better() -> (
    None
):
    before, after = lot(), replace(lot(), id="late", mass_g=200.0, born=9)
    scale = Weighing(id="w", rug_id="a", yarn_id="yarn a", day=DAY, mass_g=480, born=8)
    assert weighed_lots((before, after), scale) == (before,)
    # More was weighed than there was by then, so what was written down later lay on the scale.
    assert weighed_lots((before, after), replace(scale, mass_g=650)) == (before, after)
    assert weighed_lots((before, after), scale, lost_g=100.0) == (before, after)
    assert weighed_lots(
        (before, replace(after, day=DAY + timedelta(days=1))), replace(scale, mass_g=650)
    ) == (before,)


def test_a_gift_takes_the_lot_bought_last_first() -> None:
    assert moves_for({"old": 300.0, "new": 200.0}, ("old", "new"), 350.0) == (("new", 200.0), ("old", 150.0))


@st.composite
def shelves(draw: st.DrawFn) -> tuple[list[Lot], list[LotMove]]:
    """Lots of up to three rugs, and moves that may ask for more than there is."""
    lots = [
        lot(f"l{number}", draw(st.sampled_from(RUGS)), draw(st.floats(1, 3000)))
        for number in range(draw(st.integers(1, 5)))
    ]
    places = st.sampled_from([*RUGS, None])
    moves = []
    for born in range(draw(st.integers(0, 12))):
        source, target = draw(places), draw(places)
        of = draw(st.sampled_from([one.id for one in lots] + ["gone"]))
        moves.append(move(draw(st.floats(0.1, 2000)), source, target, draw(st.integers(0, 5)), born + 2, of))
    return lots, moves


@examples(60)
@given(shelf=shelves(), seed=st.integers(0, 99))
def test_all_rugs_and_the_shelf_together_always_hold_what_was_bought(
    shelf: tuple[list[Lot], list[LotMove]], seed: int
) -> None:
    lots, moves = shelf
    bought = sum(one.mass_g for one in lots)
    held = holdings(lots, moves)
    assert sum(grams for there in held.values() for grams in there.values()) == pytest.approx(bought)
    assert all(grams >= -1e-9 for there in held.values() for grams in there.values())
    total = price = 0.0
    for rug_id in RUGS:
        own = [one for one in lots if one.rug_id == rug_id]
        others = [one for one in lots if one.rug_id != rug_id]
        parts = lots_of_rug(rug_id, own, others, moves)
        total += sum(part.mass_g for part in parts)
        price += sum(part.price or 0.0 for part in parts)
        for yarn_id in {part.yarn_id for part in parts}:
            mine = sum(part.mass_g for part in parts if part.yarn_id == yarn_id)
            assert mine == pytest.approx(sum(held.get((rug_id, yarn_id), {}).values()), abs=1e-6)
    on_shelf = held.get(None, {})
    assert total + sum(on_shelf.values()) == pytest.approx(bought)
    by_id = {one.id: one for one in lots}
    price += sum(grams / by_id[name].mass_g * (by_id[name].price or 0.0) for name, grams in on_shelf.items())
    assert price == pytest.approx(20.0 * len(lots))
    mixed = moves[:]
    random.Random(seed).shuffle(mixed)
    assert holdings(lots, mixed) == held


def refused(moves: list[LotMove], changed: dict[str, object]) -> str:
    """What a change of lots and moves is refused with; "" where it is taken."""
    answer = value_or_sentence(lambda: refuse_less_than_moved((lot(), lot("other", "c")), moves, changed))
    return answer or ""


def test_a_purchase_cannot_become_less_than_what_was_moved_of_it() -> None:
    first, second = move(200, "a", "b"), move(100, "a", None, days=2)
    moves = [first, second]
    assert refused(moves, {"l": lot(mass_g=300.0)}) == ""
    assert "300 g of this purchase was moved to another rug" in refused(moves, {"l": lot(mass_g=250.0)})
    # A tenth of a gram is missing; half of what anybody weighs is not.
    assert refused(moves, {"l": lot(mass_g=299.9)})
    assert refused(moves, {"l": lot(mass_g=299.96)}) == ""
    assert "was moved to another rug or the shelf" in refused(moves, {"l": None})
    # Where the moves go with it, nothing vanishes from anywhere.
    assert refused(moves, {"l": None, first.id: None, second.id: None}) == ""
    assert refused(moves, {"l": lot(mass_g=200.0), second.id: None}) == ""
    # Another purchase is nobody's business here, nor is a record of another kind.
    assert refused(moves, {"other": None}) == ""
    assert refused(moves, {first.id: Weighing(id="w", rug_id="a", yarn_id="y", day=DAY, mass_g=1.0)}) == ""


def test_what_was_moved_on_cannot_become_less_before_the_later_move_is_deleted() -> None:
    first, later = move(300, "a", "b"), move(200, "b", "c", days=2)
    assert refused([first, later], {first.id: move(200, "a", "b")}) == ""
    assert "moved on. Delete the later move first" in refused([first, later], {first.id: move(150, "a", "b")})
    assert "moved on" in refused([first, later], {first.id: None})
    assert refused([first, later], {first.id: None, later.id: None}) == ""


def test_a_move_from_a_place_to_itself_or_of_nothing_is_no_move() -> None:
    assert counted((lot(),), (move(100, "a", "a"),)) == ()
    emptied = (move(500, "a", "b"), move(1, "a", "c", days=2))
    assert [one.mass_g for one in counted((lot(),), emptied)] == [500.0]


def test_a_lot_without_a_price_has_none_for_its_parts_and_parts_stand_in_the_order_of_days() -> None:
    late, early = move(100, "a", "b", days=3), move(100, "a", "b", days=1)
    parts = lots_of_rug("b", (), (lot(price=None),), (late, early))
    assert [(part.price, part.day) for part in parts] == [
        (None, DAY + timedelta(days=1)),
        (None, DAY + timedelta(days=3)),
    ]
    # What leaves and what comes are told apart where one rug gives to itself another yarn's.
    assert {part.id for part in lots_of_rug("a", (lot(),), (), (early,))} == {"l", f"{early.id}:out"}


def test_a_purchase_after_a_weighing_was_not_on_the_scale() -> None:
    scale = Weighing(id="w", rug_id="a", yarn_id="yarn a", day=DAY - timedelta(days=1), mass_g=5, born=99)
    assert weighed_lots((lot(),), scale) == ()


def test_a_gift_takes_no_more_than_asked_and_passes_over_what_is_empty() -> None:
    assert moves_for({"old": 300.0, "new": 200.0}, ("old", "new"), 150.0) == (("new", 150.0),)
    assert moves_for({"old": 300.0}, ("old", "gone", "new"), 400.0) == (("old", 300.0),)
