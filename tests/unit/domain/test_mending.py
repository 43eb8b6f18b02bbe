"""Mending a cartoon: what a stroke, a fill and an exchange change, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from tests.properties import examples
from tracker.domain import mending
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Role, Yarn

FIELD = np.array(
    [
        [0, 0, 1, 0],
        [0, 1, 0, 0],
        [0, 0, 1, 1],
    ],
    dtype=np.uint8,
)


def yarn(number: int, values: tuple[int, ...] = (), role: Role = Role.PILE) -> Yarn:
    return Yarn(
        id=f"yarn {number}", rug_id="r", role=role, number=number, name=f"Yarn {number}",
        swatch=f"#0000{number:02X}", cartoon_values=values,
    )  # fmt: skip


def test_a_stroke_paints_its_squares_and_leaves_the_drawing_it_began_with() -> None:
    after = mending.painted(FIELD, [(0, 0), (2, 3), (9, 9)], 2)
    assert after[0, 0] == after[2, 3] == 2
    assert (after != FIELD).sum() == 2
    assert FIELD[0, 0] == 0


def test_an_area_hangs_together_by_sides_and_not_by_corners() -> None:
    # From the lower left: the left column, and the square right of it in the first and the last row.
    after = mending.filled(FIELD, (0, 0), 2)
    assert after.tolist() == [[2, 2, 1, 0], [2, 1, 0, 0], [2, 2, 1, 1]]


def _by_hand(cells: np.ndarray, start: tuple[int, int], value: int) -> np.ndarray:
    """A square at a time, as one would fill on paper."""
    out, old, todo = cells.copy(), cells[start], {start}
    if old == value:
        return out
    while todo:
        row, knot = todo.pop()
        if out[row, knot] == old:
            out[row, knot] = value
            todo |= {
                (y, x)
                for y, x in ((row - 1, knot), (row + 1, knot), (row, knot - 1), (row, knot + 1))
                if 0 <= y < cells.shape[0] and 0 <= x < cells.shape[1]
            }
    return out


@examples(30)
@given(
    arrays.arrays(np.uint8, arrays.array_shapes(min_dims=2, max_dims=2, max_side=12), elements=st.integers(0, 2)),
    st.data(),
)  # fmt: skip
def test_filling_run_by_run_is_filling_square_by_square(cells: np.ndarray, data: st.DataObject) -> None:
    start = (data.draw(st.integers(0, cells.shape[0] - 1)), data.draw(st.integers(0, cells.shape[1] - 1)))
    assert np.array_equal(mending.filled(cells, start, 3), _by_hand(cells, start, 3))


def test_a_large_field_is_filled_at_once() -> None:
    cells = np.zeros((1000, 700), dtype=np.uint8)
    assert (mending.filled(cells, (500, 350), 1) == 1).all()


def test_a_colour_is_exchanged_in_all_or_in_a_part() -> None:
    assert (mending.exchanged(FIELD, 1, 2) == 2).sum() == 4
    part = mending.exchanged(FIELD, 1, 2, (0, 0, 2, 4))
    assert (part[:2] == 2).sum() == 2
    assert np.array_equal(part[2], FIELD[2])


def test_the_neighbours_colour_is_the_commonest_round_it_sides_before_corners() -> None:
    cells = np.array([[1, 0, 1], [0, 2, 0], [1, 1, 1]], dtype=np.uint8)
    # Sides: 0, 0, 0, 1; corners: 1 four times. 0 has six votes, 1 has two and four: six too; the smaller value wins.
    assert mending.neighbours_value(cells, (1, 1)) == 0
    assert mending.neighbours_value(np.zeros((3, 3), dtype=np.uint8), (1, 1)) is None


def test_the_lowest_row_a_change_touches_is_found() -> None:
    assert mending.lowest_changed_row(FIELD, mending.painted(FIELD, [(2, 0), (1, 0)], 3)) == 1
    assert mending.lowest_changed_row(FIELD, FIELD.copy()) is None


def test_a_yarn_the_cartoon_did_not_use_gets_a_value_of_its_own() -> None:
    yarns = (yarn(1, (0,)), yarn(2), yarn(3, role=Role.WEFT))
    assert mending.value_for("yarn 1", ("#111111",), yarns).value == 0
    grown = mending.value_for("yarn 2", ("#111111",), yarns)
    assert grown.value == 1
    assert grown.palette == ("#111111", "#000002")
    assert grown.yarns[1].cartoon_values == (1,)
    assert [one.id for one in mending.pile_yarns(yarns)] == ["yarn 1", "yarn 2"]


def test_a_cartoon_full_of_colours_takes_no_more() -> None:
    full = tuple(f"#{value:06X}" for value in range(mending.MAX_COLOURS))
    with pytest.raises(BadEntry, match="has them"):
        mending.value_for("yarn 2", full, (yarn(1, (0,)), yarn(2)))


def test_a_square_takes_the_commonest_colour_around_it_and_sides_count_twice_corners_once() -> None:
    around = np.array([[5, 9, 1], [5, 9, 1], [9, 9, 9]], dtype=np.uint8)
    # Colour 5: a corner and a side, three; colour 1 the same; of equals the smaller number.
    assert mending.neighbours_value(around, (1, 1)) == 1
    around[0, 2] = 9
    assert mending.neighbours_value(around, (1, 1)) == 5
    around[0, 0] = around[2, 2] = around[2, 0] = 1
    # Three corners and a side of 1 stand against a side of 5.
    assert mending.neighbours_value(around, (1, 1)) == 1
    around[1, 2] = 5
    # Now three corners, three, stand against two sides, four.
    assert mending.neighbours_value(around, (1, 1)) == 5
    # At the edge only what lies within the cartoon has a voice.
    assert mending.neighbours_value(np.array([[9, 4], [9, 9]], dtype=np.uint8), (0, 0)) == 4
    assert mending.neighbours_value(np.array([[9]], dtype=np.uint8), (0, 0)) is None
