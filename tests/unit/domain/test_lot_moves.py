"""Yarn moved between rugs and the shelf: nothing is made and nothing is lost, on every phone alike."""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.domain.lot_moves import LotMove, MovedLot, holdings, lots_of_rug, moves_for, was_weighed
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
    assert not was_weighed(gone, scale)
    assert was_weighed(
        gone, Weighing(id="w", rug_id="a", yarn_id="yarn a", day=gone.day, mass_g=300, born=10)
    )
    assert was_weighed(lot(), Weighing(id="w", rug_id="a", yarn_id="yarn a", day=DAY, mass_g=500, born=0))


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


@settings(max_examples=200, deadline=None)
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
