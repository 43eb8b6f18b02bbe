"""Dye lots: which is open, which rows were knotted from which, and where a change of lot shows least."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.properties import examples
from tracker.domain.dye_lots import (
    bands_of,
    changes_to_come,
    dye_lot_with,
    dye_lots_of,
    marks_of,
    open_dye_lots,
    planned_change,
)
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_line import places_to_change, plain_knots
from tracker.domain.rug import Lot, Role, RugBook, RugPlan, Yarn

DAY = date(2026, 3, 2)


def lot(name: str, mark: str, days: int = 0) -> Lot:
    return Lot(id=name, rug_id="r", yarn_id="red", day=DAY + timedelta(days=days), mass_g=500.0, dye_lot=mark)


def change(row: int, lot_id: str, done: int | None = 0, born: int = 0, blend: int = 0) -> LotChange:
    return LotChange(
        id=f"{row}{lot_id}{born}", rug_id="r", yarn_id="red", lot_id=lot_id, day=DAY, row=row, blend_rows=blend,
        done_day=None if done is None else DAY + timedelta(days=done), born=born,
    )  # fmt: skip


A, B, MORE_OF_A = lot("a", "17"), lot("b", "18", 3), lot("a2", " 17 ", 5)


def book(*changes: LotChange, lots: tuple[Lot, ...] = (A, B, MORE_OF_A)) -> RugBook:
    plan = RugPlan(
        id="r", name="Rug", width_cm=40, length_cm=80, knots_per_10cm=25, rows_per_10cm=25, knots_across=100, rows=200,
        pile_height_mm=8, start_day=DAY,
    )  # fmt: skip
    yarns = (Yarn(id="red", rug_id="r", role=Role.PILE, number=1, name="Red"),)
    return RugBook(plan=plan, yarns=yarns, lots=lots, lot_changes=changes)


def test_what_was_bought_from_one_bath_is_one_dye_lot() -> None:
    assert [(one.mark, one.mass_g) for one in dye_lots_of((A, B, MORE_OF_A))] == [
        ("17", 1000.0),
        ("18", 500.0),
    ]


def test_until_somebody_says_so_the_lot_bought_first_is_open_and_that_is_assumed() -> None:
    (band,) = bands_of(dye_lots_of((A, B)), ())
    assert (band.first_row, band.dye_lot.mark, band.assumed) == (1, "17", True)
    assert bands_of((), ()) == ()


def test_a_change_that_is_only_planned_opens_nothing() -> None:
    planned = change(81, "b", done=None)
    assert [one.mark for one in open_dye_lots(book(planned), "red")] == ["17", "18"]
    assert planned_change(book(planned), "red") == planned
    assert planned_change(book(change(81, "b")), "red") is None


def test_the_lot_opened_last_is_open_from_its_row_on() -> None:
    bands = bands_of(dye_lots_of((A, B)), (change(81, "b", done=5, blend=4),))
    assert [(band.first_row, band.dye_lot.mark, band.blend_rows) for band in bands] == [
        (1, "17", 0),
        (81, "18", 4),
    ]
    assert [one.mark for one in open_dye_lots(book(change(81, "b")), "red")] == ["18", "17"]


def test_who_unpicks_below_a_change_and_goes_on_with_the_old_lot_has_no_change_above() -> None:
    unpicked = (change(81, "b", done=5, born=1), change(70, "a2", done=6, born=2))
    bands = bands_of(dye_lots_of((A, B, MORE_OF_A)), unpicked)
    assert [(band.first_row, band.dye_lot.mark) for band in bands] == [(1, "17"), (70, "17")]


def test_a_lot_that_left_the_book_opens_nothing() -> None:
    assert [one.mark for one in open_dye_lots(book(change(81, "gone")), "red")] == ["17", "18"]


def drawn(*rows: str) -> np.ndarray:
    """A cartoon from words, the first row woven first: # is our colour."""
    return np.array([[0 if knot == "#" else 1 for knot in row] for row in rows], dtype=np.uint8)


def best(cells: np.ndarray, first: int, last: int, per_10cm: float = 8.0):
    return places_to_change(cells, (0,), first, last, per_10cm)[0]


def test_the_best_row_is_where_the_motif_begins_anew() -> None:
    cells = drawn("..####..", "..####..", "........", "..####..", "..####..", "..####..")
    place = best(cells, 2, 6)
    assert (place.row, place.meeting, place.in_row, place.before) == (4, 0, 4, 0)


def test_scattered_knots_are_better_than_an_unbroken_line_of_as_many() -> None:
    cells = drawn("########", "####....", "####....", "#.#.#.#.", "#.#.#.#.", "########")
    place = best(cells, 2, 5, 16.0)
    assert (place.row, place.meeting, place.pieces, place.longest) in ((4, 2, 2, 1), (5, 4, 4, 1))
    assert place.longest == 1


def test_of_rows_that_show_alike_the_later_one_uses_up_more_of_the_lot() -> None:
    cells = drawn(*["##......"] * 30)
    assert best(cells, 2, 20).row == 20


def test_in_a_wide_plain_field_the_lots_take_turns_and_end_where_the_old_one_surely_lasts() -> None:
    cells = drawn(*["##########"] * 40)
    place = best(cells, 5, 30, 10.0)
    assert (place.row, place.blend_rows, place.row + place.blend_rows - 1) == (23, 8, 30)
    assert place.plain
    assert all(not other.blend_rows for other in places_to_change(cells, (0,), 5, 30, 10.0)[1:])


def test_without_a_cartoon_the_lots_take_turns() -> None:
    (place,) = places_to_change(None, (0,), 5, 30, 10.0)
    assert (place.row, place.blend_rows, place.meeting) == (23, 8, None)


def test_where_the_old_lot_lasts_over_rows_without_the_colour_it_is_changed_unseen_in_the_last_of_them() -> (
    None
):
    cells = np.ones((40, 20), dtype=np.uint8)
    (place,) = places_to_change(cells, (0,), 5, 30, 10.0)
    assert (place.row, place.meeting, place.blend_rows) == (30, 0, 0)
    (unknown,) = places_to_change(cells, (), 5, 30, 10.0)
    assert (unknown.row, unknown.meeting, unknown.blend_rows) == (23, None, 8), (
        "nobody said which colour it is"
    )
    (few,) = places_to_change(None, (), 27, 30, 10.0)
    assert (few.row, few.blend_rows) == (27, 4)


def test_five_centimetres_is_a_line_that_shows() -> None:
    assert plain_knots(40.0) == 20


def by_hand(cells: np.ndarray, row: int) -> tuple[int, int, int]:
    """Knots that meet at a change before `row`, in how many pieces, and the longest: knot by knot."""
    meeting = pieces = longest = length = 0
    for knot in range(cells.shape[1]):
        if row > 1 and cells[row - 1, knot] == 0 and cells[row - 2, knot] == 0:
            meeting += 1
            length += 1
            pieces += length == 1
            longest = max(longest, length)
        else:
            length = 0
    return meeting, pieces, longest


@examples(50)
@given(
    seed=st.integers(0, 10_000), rows=st.integers(1, 30), across=st.integers(1, 25), dense=st.floats(0.05, 1)
)
def test_every_place_says_what_knot_by_knot_counting_says(
    seed: int, rows: int, across: int, dense: float
) -> None:
    rng = np.random.default_rng(seed)
    cells = (rng.random((rows, across)) > dense).astype(np.uint8)
    first = int(rng.integers(1, rows + 1))
    last = int(rng.integers(first, rows + 1))
    places = places_to_change(cells, (0,), first, last, 40.0)
    assert 1 <= len(places) <= 3
    for place in places:
        assert first <= place.row <= last
        assert place.row + max(place.blend_rows, 1) - 1 <= last
        if place.meeting is not None:
            assert (place.meeting, place.pieces, place.longest) == by_hand(
                cells, place.row
            ) or not place.in_row
    apart = [place.row for place in places if not place.blend_rows]
    assert all(abs(one - other) >= 5 for one in apart for other in apart if one != other)
    # No row in the window would show less along its longest line than a plain one, if the best is plain.
    if not places[0].plain and places[0].in_row:
        rows_with = [row for row in range(first, last + 1) if (cells[row - 1] == 0).any()]
        squares = {row: sum(n * n for n in lengths(cells, row)) for row in rows_with}
        assert squares[places[0].row] <= min(squares.values()) + 0.5 * across


def lengths(cells: np.ndarray, row: int) -> list[int]:
    """Lengths of the stretches in which a change before `row` lays knot on knot."""
    if row == 1:
        return []
    words = "".join("#" if a == b == 0 else " " for a, b in zip(cells[row - 1], cells[row - 2], strict=True))
    return [len(word) for word in words.split()]


@pytest.mark.parametrize("row", [1, 2])
def test_the_first_rows_can_be_places(row: int) -> None:
    assert best(drawn("####", "####"), row, row, 40.0).row == row


def test_a_lot_given_away_whole_is_not_the_open_one() -> None:
    gone = replace(A, id="a:out", mass_g=-A.mass_g)
    assert open_dye_lots(book(lots=(A, B)), "red")[0].mark == "17"
    assert open_dye_lots(book(lots=(A, B, gone)), "red")[0].mark == "18"
    assert open_dye_lots(book(lots=(A, gone)), "red")[0].mark == "17", "without another it stays the only one"


def test_however_a_mark_is_written_it_is_the_same_bath_and_is_shown_as_it_was_first_entered() -> None:
    lots = dye_lots_of((lot("a", " Red  17 "), lot("b", "red 17"), lot("c", "RED 17"), lot("d", "")))
    assert [(one.mark, len(one.lots), one.lot_id) for one in lots] == [("Red  17", 3, "a"), ("", 1, "d")]
    assert dye_lot_with(lots, "c") == lots[0]
    assert dye_lot_with(lots, "gone") is None


def test_marks_are_told_of_what_is_there_and_bears_one() -> None:
    away = replace(lot("x", "19"), mass_g=-500.0)
    assert marks_of((lot("d", ""), B, A, lot("e", "19"), away)) == ("18", "17")


def test_a_change_above_the_rows_on_the_loom_is_still_to_be_done() -> None:
    done, planned = change(81, "b"), change(90, "a", done=None)
    both = book(done, planned)
    assert changes_to_come(both, 81) == ()
    # With 80 rows on the loom row 81 comes next, and the new lot hangs at the loom.
    assert changes_to_come(both, 80) == ()
    assert changes_to_come(both, 79) == (replace(done, done_day=None),)


def test_of_several_changes_planned_the_one_planned_last_counts_and_one_to_a_lot_that_left_does_not() -> None:
    early, late = change(81, "b", done=None, born=1), change(60, "b", done=None, born=2)
    lost = change(50, "gone", done=None, born=3)
    assert planned_change(book(late, early, lost), "red") == late
    next_day = replace(early, day=DAY + timedelta(days=1))
    assert planned_change(book(late, next_day), "red") == next_day
    assert planned_change(book(change(81, "b")), "red") is None
    assert planned_change(book(late), "blue") is None


def test_without_a_purchase_no_lot_is_open() -> None:
    assert open_dye_lots(book(lots=()), "red") == ()
    assert open_dye_lots(book(), "blue") == ()


def test_of_two_changes_on_one_day_the_one_entered_last_holds() -> None:
    first, second = change(81, "b", born=1, blend=4), change(81, "a", born=2)
    bands = bands_of(dye_lots_of((A, B)), (second, first))
    assert [(band.first_row, band.dye_lot.mark, band.blend_rows) for band in bands] == [
        (1, "17", 0),
        (81, "17", 0),
    ]
    assert [band.assumed for band in bands] == [True, False]
    turns = bands_of(dye_lots_of((A, B)), (first,))[1]
    assert (turns.dye_lot.mark, turns.blend_rows) == ("18", 4)


def test_the_lines_of_a_place_are_what_lies_upon_what() -> None:
    # Row 3 of 6: knots 0 to 2 and 5 lie upon the colour below, knot 7 upon another.
    cells = np.ones((6, 10), dtype=np.uint8)
    cells[:2, :6] = 0
    cells[2, [0, 1, 2, 5, 7]] = 0
    place = next(one for one in places_to_change(cells, (0,), 3, 3, 20.0) if one.row == 3)
    assert (place.meeting, place.pieces, place.longest) == (4, 2, 3)
    assert (place.in_row, place.before, place.plain) == (5, 6, False)
    # The squares of the stretches, 9 and 1, and half of the mean of the rows around: 6, 6, 5, 0, 0, 0.
    assert place.shows == pytest.approx(10 + 0.5 * 17 / 6)
