"""How the dye lots of a yarn stand: their stocks are the one stock, and the open one ends where its grams end."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters import rugs
from tests.properties import examples
from tracker.domain.dye_lots import Band, DyeLot
from tracker.domain.lot_change import LotChange
from tracker.domain.need import account_of
from tracker.domain.rug import Cartoon, Lot, Role, RugBook, Spoilt, Weighing
from tracker.forecast.answers import LotsAnswer
from tracker.forecast.dye_lots import first_sensible_row, left_of_others, units_by_dye_lot
from tracker.forecast.ledger import ledgers_of
from tracker.forecast.outlook import outlook
from tracker.forecast.yarn import Stock

TODAY = date(2026, 11, 25)


def lot(mark: str, mass_g: float, days: int = 0) -> Lot:
    return Lot(
        id=f"lot {mark}", rug_id="rug", yarn_id="red", day=date(2026, 10, 1) + timedelta(days=days), mass_g=mass_g,
        dye_lot=mark,
    )  # fmt: skip


def opened(mark: str, row: int, blend: int = 0) -> LotChange:
    return LotChange(
        id=f"{mark}{row}", rug_id="rug", yarn_id="red", lot_id=f"lot {mark}", day=TODAY, row=row, blend_rows=blend,
        done_day=TODAY,
    )  # fmt: skip


def striped() -> RugBook:
    """Fifty of 200 rows woven; red in rows 1 to 100 and 121 to 200, forty knots wide."""
    cells = np.ones((200, 100), dtype=np.uint8)
    cells[:100, 30:70] = 0
    cells[120:, 30:70] = 0
    book = rugs.book(*(rugs.session(number, 5) for number in range(1, 11)))
    yarns = tuple(
        replace(yarn, cartoon_values=(place,)) if yarn.role is Role.PILE else yarn
        for place, yarn in enumerate(book.yarns)
    )
    cartoon = Cartoon(id="c", rug_id="rug", cells=cells, palette=("#9C2F25", "#27406B"))
    return replace(book, yarns=yarns, cartoon=cartoon)


def weighed(book: RugBook, mass_g: float) -> RugBook:
    """All that is left of red on a fine scale, yesterday."""
    weighing = Weighing(
        id="w", rug_id="rug", yarn_id="red", day=date(2026, 11, 24), mass_g=mass_g, resolution_g=1.0, born=50
    )
    return replace(book, weighings=(weighing,))


def lots_of(book: RugBook) -> LotsAnswer:
    answer = next(one for one in outlook(book, TODAY).yarns if one.yarn_id == "red")
    assert answer.lots is not None
    return answer.lots


def needed_g(book: RugBook, first: int, last: int) -> float:
    """What rows `first` to `last` need of red, by the account and the cartoon counted here."""
    need = account_of(book).of("red")
    assert need is not None
    assert book.cartoon is not None
    return float((book.cartoon.cells[first - 1 : last] == 0).sum()) * need.g_per_unit


def test_the_open_lot_ends_where_its_grams_end_and_the_change_is_proposed_where_the_colour_pauses() -> None:
    book = striped()
    enough_to = 150
    book = replace(book, lots=(lot("17", needed_g(book, 1, enough_to)), lot("18", 2000.0, 3)))
    lots = lots_of(weighed(book, needed_g(book, 51, enough_to) + 2000.0))
    assert (lots.opened.mark, lots.assumed, lots.lasts) == ("17", True, False)
    assert lots.ends_row is not None
    assert abs(lots.ends_row - enough_to) <= 8
    assert lots.sure_row is not None
    assert 121 <= lots.sure_row < lots.ends_row
    # Row 121 is where red begins anew.
    assert (lots.places[0].row, lots.places[0].meeting) == (121, 0)
    assert lots.next_lot_id == "lot 18"


def test_with_grams_for_the_whole_rug_nothing_is_proposed() -> None:
    book = striped()
    lots = lots_of(replace(book, lots=(lot("17", 3 * needed_g(book, 1, 200)), lot("18", 500.0, 3))))
    assert (lots.lasts, lots.places, lots.buy_g) == (True, (), 0.0)


def test_with_no_other_lot_there_is_only_what_to_buy() -> None:
    book = striped()
    lots = lots_of(replace(book, lots=(lot("17", needed_g(book, 1, 100)),)))
    assert (lots.lasts, lots.places, lots.next_lot_id) == (False, (), None)
    short = needed_g(book, 51, 200) - (needed_g(book, 1, 100) - needed_g(book, 1, 50))
    assert lots.buy_g >= short
    assert lots.buy_g <= 2.5 * short


def test_the_lots_together_last_for_the_whole_rug_yet_the_open_one_is_warned_of() -> None:
    book = striped()
    whole = needed_g(book, 1, 200)
    answer = next(
        one
        for one in outlook(replace(book, lots=(lot("17", 0.6 * whole), lot("18", 2 * whole, 3))), TODAY).yarns
        if one.yarn_id == "red"
    )
    assert answer.word.value == "enough"
    assert answer.lots is not None
    assert not answer.lots.lasts


def test_once_the_other_lot_is_open_it_is_the_one_that_is_woven_from() -> None:
    book = striped()
    book = replace(book, lots=(lot("17", 900.0), lot("18", 900.0, 3)))
    before, after = lots_of(book), lots_of(replace(book, lot_changes=(opened("18", 26),)))
    assert (after.opened.mark, after.since_row, after.assumed) == ("18", 26, False)
    # Half of the fifty rows are charged to each.
    half = needed_g(book, 1, 25)
    stocks = {stock.mark: stock.on_hand_g for stock in after.stocks}
    assert stocks["17"] == pytest.approx(900 - half, rel=0.1)
    assert stocks["18"] == pytest.approx(900 - half, rel=0.1)
    assert sum(stocks.values()) == pytest.approx(sum(stock.on_hand_g for stock in before.stocks))


@pytest.mark.parametrize("said", [True, False])
@pytest.mark.parametrize(("row", "done"), [(41, TODAY), (21, date(2026, 11, 5)), (21, TODAY)])
def test_yarn_lost_before_a_lot_was_opened_is_missing_of_the_one_that_was_open_then(
    said: bool, row: int, done: date
) -> None:
    """150 g were lost of lot 17; when 18 hung at the loom the page took them off 18, "0 g left", and sent the weaver back to 17.

    So it did where the change was made on the day of the loss, in the very row that came next.
    """
    book = striped()
    change = replace(opened("18", row), done_day=done)
    book = replace(book, lots=(lot("17", 900.0), lot("18", 900.0, 3)), lot_changes=(change,))
    whole = {stock.mark: stock.on_hand_g for stock in lots_of(book).stocks}
    then, place = date(2026, 11, 5), {"rug_id": "rug", "yarn_id": "red", "born": 5}
    if said:
        book = replace(book, spoilt=(Spoilt(id="p", day=then, mass_g=150.0, **place),))
    else:
        # Nobody said what became of them: a scale showed them missing, after four sessions.
        there = 1800.0 - 150.0 - needed_g(book, 1, 20)
        book = replace(book, weighings=(Weighing(id="w", day=then, mass_g=there, resolution_g=1.0, **place),))
    less = {stock.mark: stock.on_hand_g for stock in lots_of(book).stocks}
    assert whole["17"] - less["17"] == pytest.approx(150.0, rel=0.1)
    assert less["18"] == pytest.approx(whole["18"], rel=0.02)


def test_yarn_lost_once_a_lot_hangs_at_the_loom_is_missing_of_it_though_no_knot_of_it_is_tied() -> None:
    book = striped()
    change = replace(opened("18", 51), done_day=date(2026, 11, 20))
    book = replace(book, lots=(lot("17", 900.0), lot("18", 900.0, 3)), lot_changes=(change,))
    lost = Spoilt(id="p", rug_id="rug", yarn_id="red", day=date(2026, 11, 21), mass_g=150.0, born=60)
    whole, less = (
        {stock.mark: stock.on_hand_g for stock in lots_of(one).stocks}
        for one in (book, replace(book, spoilt=(lost,)))
    )
    assert whole["18"] - less["18"] == pytest.approx(150.0, rel=0.1)


def test_rows_by_turns_are_charged_half_to_each_lot() -> None:
    book = striped()
    book = replace(book, lots=(lot("17", 900.0), lot("18", 900.0, 3)))
    plain = {s.mark: s.on_hand_g for s in lots_of(replace(book, lot_changes=(opened("18", 31),))).stocks}
    turns = {s.mark: s.on_hand_g for s in lots_of(replace(book, lot_changes=(opened("18", 31, 10),))).stocks}
    assert plain["17"] - turns["17"] == pytest.approx(needed_g(book, 31, 35), rel=0.15)


@examples(15)
@given(
    masses=st.lists(st.floats(20, 3000), min_size=1, max_size=4),
    rows=st.lists(st.tuples(st.integers(0, 3), st.integers(1, 210), st.integers(0, 12)), max_size=4),
    weighed=st.none() | st.floats(0, 3000),
    lost=st.floats(0, 500),
)
def test_the_dye_lots_together_are_what_is_on_hand(
    masses: list[float], rows: list[tuple[int, int, int]], weighed: float | None, lost: float
) -> None:
    marks = [str(17 + number) for number in range(len(masses))]
    book = striped()
    book = replace(
        book,
        lots=tuple(lot(mark, mass, days) for days, (mark, mass) in enumerate(zip(marks, masses, strict=True))),
        lot_changes=tuple(
            replace(opened(marks[which % len(marks)], row, blend), id=str(born), born=born)
            for born, (which, row, blend) in enumerate(rows)
        ),
        spoilt=(Spoilt(id="l", rug_id="rug", yarn_id="red", day=date(2026, 11, 5), mass_g=lost + 0.1, born=5),),
        weighings=()
        if weighed is None
        else (Weighing(id="w", rug_id="rug", yarn_id="red", day=date(2026, 11, 20), mass_g=weighed, born=50),),
    )  # fmt: skip
    answer = next(one for one in outlook(book, TODAY).yarns if one.yarn_id == "red")
    assert answer.lots is not None
    assert sum(stock.on_hand_g for stock in answer.lots.stocks) == pytest.approx(answer.on_hand_g, abs=1e-6)
    assert all(stock.on_hand_g >= 0 for stock in answer.lots.stocks)
    for place in answer.lots.places:
        assert 1 <= place.row <= 200
        assert place.row > 50 or place.row == answer.lots.sure_row


ROWS = np.arange(11.0) * 10.0
"""Ten rows of ten knots, from the foot."""


@pytest.mark.parametrize(
    ("open_g", "elsewhere_g", "row_now", "sure_row", "first"),
    [
        # 5 g a row; the other lots last for the last four rows.
        (50.0, 20.0, 3, 9, 7), (50.0, 19.9, 3, 9, 8), (50.0, 500.0, 3, 9, 4),
        # They do not last for what follows row 8: no more than 15 % of the open one may be left over (our choice).
        (16.0, 5.0, 3, 8, 7), (18.0, 5.0, 3, 8, 8), (90.0, 5.0, 3, 8, 8),
        # Above the row on the loom nothing can be proposed that lies below it.
        (50.0, 500.0, 9, 9, 9),
    ],
)  # fmt: skip
def test_the_first_row_at_which_a_change_makes_sense(
    open_g: float, elsewhere_g: float, row_now: int, sure_row: int, first: int
) -> None:
    need = account_of(rugs.book()).of("red")
    assert need is not None
    ledger = ledgers_of(rugs.book(), [need], [ROWS], 1.0)[0]
    zeros = np.zeros(3)
    drawn = Stock(zeros, zeros, zeros, np.full(3, 0.5), zeros)
    assert first_sensible_row(ledger, drawn, open_g, elsewhere_g, row_now, sure_row) == first


def banded(*bands: tuple[int, str, int]) -> tuple[Band, ...]:
    return tuple(Band(row, DyeLot(mark, (lot(mark, 100.0),)), blend) for row, mark, blend in bands)


def test_knots_are_charged_to_the_lot_of_their_row() -> None:
    assert units_by_dye_lot(banded((1, "17", 0)), ROWS, 4) == {"lot 17": 40.0}
    two = banded((1, "17", 0), (4, "18", 0))
    assert units_by_dye_lot(two, ROWS, 6) == {"lot 17": 30.0, "lot 18": 30.0}
    assert units_by_dye_lot(two, ROWS, 2) == {"lot 17": 20.0, "lot 18": 0.0}
    # Over rows 4 to 7 they take turns.
    turns = banded((1, "17", 0), (4, "18", 4))
    assert units_by_dye_lot(turns, ROWS, 10) == {"lot 17": 50.0, "lot 18": 50.0}
    assert units_by_dye_lot(turns, ROWS, 5) == {"lot 17": 40.0, "lot 18": 10.0}
    # Turns end where the next lot begins; the first band takes turns with none.
    cut = banded((1, "17", 9), (4, "18", 4), (6, "17", 0))
    assert units_by_dye_lot(cut, ROWS, 10) == {"lot 17": 90.0, "lot 18": 10.0}


def test_what_is_not_the_other_lots_is_the_open_ones() -> None:
    lots = tuple(DyeLot(mark, (lot(mark, 100.0),)) for mark in ("17", "18", "19"))
    gone_g = {"lot 17": 20.0, "lot 18": 250.0}
    assert left_of_others(lots, lots[2], gone_g, 300.0) == {"lot 17": 80.0, "lot 18": 0.0}
    assert left_of_others(lots, lots[0], {}, 150.0) == {"lot 18": 100.0, "lot 19": 50.0}
    assert left_of_others(lots[:1], lots[0], {}, 150.0) == {}


def test_what_would_be_left_of_the_old_lot_is_what_the_rows_until_then_do_not_take() -> None:
    plain = rugs.book(*(rugs.session(number, 5) for number in range(1, 11)))
    need = account_of(plain).of("red")
    assert need is not None
    book = replace(plain, lots=(lot("17", 0.7 * need.need_g), lot("18", 900.0, 3)))
    answer = next(one for one in outlook(book, TODAY).yarns if one.yarn_id == "red")
    assert answer.lots is not None
    place = answer.lots.places[0]
    # Without a cartoon they take turns over eight rows, of which four are the old one's; each row takes alike.
    assert place.blend_rows == 8
    a_row_g = answer.needed_g / 150
    rows = place.row - 1 + 4 - 50
    assert place.left_g == pytest.approx(answer.lots.opened.on_hand_g - rows * a_row_g, abs=0.4 * a_row_g)
    assert place.left_g > 0


def test_wefts_and_yarn_never_bought_have_no_dye_lots_to_speak_of() -> None:
    book = rugs.book(lots=(lot("17", 900.0), replace(lot("3", 900.0), yarn_id="weft")))
    lots = {one.yarn_id: one.lots for one in outlook(book, TODAY).yarns}
    assert (lots["weft"], lots["blue"]) == (None, None)
    assert lots["red"] is not None
