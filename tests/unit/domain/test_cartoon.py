"""Counting cartoons and putting them together."""

from __future__ import annotations

import gc
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from tests.unit.domain.rugs import cartoon_of, pile, plan_of
from tracker.domain import cartoon, layout
from tracker.domain.cartoon import (
    CartoonPicture,
    Run,
    count_cartoon,
    count_of,
    count_part,
    counts_by_yarn,
    knotted_in,
    runs_of_row,
    unclaimed_values,
)
from tracker.domain.errors import BadEntry, BadPicture
from tracker.domain.layout import Given, SizeWay, check_size, expand, repeat

COLOURS = 6
CELLS = hnp.arrays(
    np.uint8,
    hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=24),
    elements=st.integers(0, COLOURS - 1),
)


def picture(cells, palette=None):
    array = np.asarray(cells, dtype=np.uint8)
    return CartoonPicture(cells=array, palette=palette or tuple(f"#0000{k:02X}" for k in range(COLOURS)))


def test_a_small_cartoon_counted_by_hand():
    count = count_cartoon(np.array([[0, 0, 1, 1, 0], [2, 2, 2, 2, 2], [0, 1, 0, 1, 0]], dtype=np.uint8), 4)
    assert count.per_row.tolist() == [[3, 2, 0, 0], [0, 0, 5, 0], [3, 2, 0, 0]]
    assert count.changes.tolist() == [2, 0, 4]
    assert count.totals.tolist() == [6, 4, 5, 0]
    assert (count.first_row(1), count.last_row(1), count.rows_with(1)) == (1, 3, 2)
    assert (count.first_row(2), count.last_row(2), count.rows_with(2)) == (2, 2, 1)
    assert (count.first_row(3), count.last_row(3), count.rows_with(3)) == (None, None, 0)


def test_a_row_is_read_from_left_to_right():
    runs = runs_of_row(np.array([0, 0, 0, 1, 1, 0], dtype=np.uint8))
    assert runs == (Run(0, 3), Run(1, 2), Run(0, 1))
    assert runs_of_row(np.array([], dtype=np.uint8)) == ()


@given(CELLS)
def test_the_runs_count_as_many_knots_as_there_are_pixels(cells):
    count = count_cartoon(cells, COLOURS)
    for number, row in enumerate(cells):
        runs = runs_of_row(row)
        by_colour = [sum(run.knots for run in runs if run.colour == colour) for colour in range(COLOURS)]
        assert by_colour == [int((row == colour).sum()) for colour in range(COLOURS)]
        assert by_colour == count.per_row[number].tolist()
        assert len(runs) - 1 == count.changes[number]
        assert all(one.colour != two.colour for one, two in pairwise(runs))


@given(CELLS, st.integers(1, 90))
def test_chunks_change_no_count(cells, chunk):
    plain = count_cartoon(cells, COLOURS)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cartoon, "_CHUNK_CELLS", chunk)
        split = count_cartoon(cells, COLOURS)
    assert np.array_equal(plain.per_row, split.per_row)
    assert np.array_equal(plain.changes, split.changes)
    assert plain.changes.tolist() == [sum(one != two for one, two in pairwise(row)) for row in cells.tolist()]


def test_a_colour_the_palette_does_not_have_is_refused():
    with pytest.raises(BadEntry):
        count_cartoon(np.array([[0, 7]], dtype=np.uint8), 3)


def test_each_value_belongs_to_the_first_yarn_that_claims_it():
    count = count_cartoon(np.array([[0, 0, 1, 2, 3]], dtype=np.uint8), 4)
    yarns = (pile(1, cartoon_values=(0, 1)), pile(2, cartoon_values=(1, 2)))
    assert cartoon.counts_by_yarn(count, yarns).tolist() == [[3, 1]]
    assert cartoon.unclaimed_values(count, yarns) == (3,)


@given(CELLS, st.sampled_from(list(Given)), st.booleans(), st.booleans())
def test_a_mirrored_cartoon_counts_like_its_expanded_form(cells, given_part, shared_column, shared_row):
    """Knots by arithmetic on the part alone must equal the count of the whole."""
    whole = expand(picture(cells), given_part, shared_column=shared_column, shared_row=shared_row)
    part = count_cartoon(cells, COLOURS)
    name = given_part.value
    sideways, lengthways = "left" in name or "right" in name, "top" in name or "bottom" in name
    expected = part.totals.copy()
    row_part = part.per_row.astype(np.int64)
    if sideways:
        row_part = row_part * 2
        if shared_column:
            middle = cells[:, -1 if "left" in name else 0]
            row_part[np.arange(len(middle)), middle] -= 1
    expected = row_part.sum(axis=0)
    if lengthways:
        expected = expected * 2
        if shared_row:
            expected = expected - row_part[-1 if "bottom" in name else 0]
    assert count_cartoon(whole.cells, COLOURS).totals.tolist() == expected.tolist()
    if sideways:
        assert np.array_equal(whole.cells, whole.cells[:, ::-1])
    if lengthways:
        assert np.array_equal(whole.cells, whole.cells[::-1])


@pytest.mark.parametrize(
    ("given_part", "expected"),
    [
        (Given.LEFT_HALF, [[1, 2, 2, 1], [3, 4, 4, 3]]),
        (Given.RIGHT_HALF, [[2, 1, 1, 2], [4, 3, 3, 4]]),
        (Given.BOTTOM_HALF, [[1, 2], [3, 4], [3, 4], [1, 2]]),
        (Given.TOP_HALF, [[3, 4], [1, 2], [1, 2], [3, 4]]),
        (Given.BOTTOM_LEFT, [[1, 2, 2, 1], [3, 4, 4, 3], [3, 4, 4, 3], [1, 2, 2, 1]]),
        (Given.FULL, [[1, 2], [3, 4]]),
    ],
)
def test_halves_and_quarters_keep_their_place(given_part, expected):
    assert expand(picture([[1, 2], [3, 4]]), given_part).cells.tolist() == expected


@given(CELLS, st.integers(1, 4), st.integers(1, 4))
def test_a_repeat_counts_as_often_as_it_is_repeated(cells, across, along):
    whole = repeat(picture(cells), across, along)
    assert whole.cells.shape == (cells.shape[0] * along, cells.shape[1] * across)
    expected = across * along * count_cartoon(cells, COLOURS).totals
    assert count_cartoon(whole.cells, COLOURS).totals.tolist() == expected.tolist()


def test_a_repeat_beyond_all_rugs_is_refused():
    with pytest.raises(BadPicture, match="Repeat it less often"):
        repeat(picture(np.zeros((1000, 1000))), 10, 10)
    with pytest.raises(BadPicture):
        repeat(picture([[0]]), 0, 1)


def test_a_field_is_laid_into_its_border():
    border = CartoonPicture(cells=np.zeros((5, 6), dtype=np.uint8), palette=("#aa0000",))
    field = CartoonPicture(cells=np.array([[0, 1], [1, 0]], dtype=np.uint8), palette=("#0000BB", "#AA0000"))
    whole = layout.field_in_border(border, field)
    assert whole.palette == ("#AA0000", "#0000BB")
    assert whole.cells.tolist() == [
        [0, 0, 0, 0, 0, 0],
        [0, 0, 1, 0, 0, 0],
        [0, 0, 0, 1, 0, 0],
        [0, 0, 0, 0, 0, 0],
        [0, 0, 0, 0, 0, 0],
    ]
    with pytest.raises(BadPicture, match="does not fit"):
        layout.field_in_border(field, border)


def test_a_border_motif_runs_round_the_field_with_mirrored_corners():
    strip = picture([[1, 2], [3, 3]])
    corner = picture([[4, 5], [4, 4]])
    field = picture(np.zeros((2, 4)))
    whole = layout.border_around(strip, corner, field)
    assert whole.cells.tolist() == [
        [4, 5, 1, 2, 1, 2, 5, 4],
        [4, 4, 3, 3, 3, 3, 4, 4],
        [1, 3, 0, 0, 0, 0, 3, 1],
        [2, 3, 0, 0, 0, 0, 3, 2],
        [4, 4, 3, 3, 3, 3, 4, 4],
        [4, 5, 1, 2, 1, 2, 5, 4],
    ]
    with pytest.raises(BadPicture, match="Make it 2 or 4"):
        layout.border_around(strip, corner, picture(np.zeros((2, 3))))
    with pytest.raises(BadPicture, match="2 × 2"):
        layout.border_around(strip, picture([[1]]), field)


def test_two_pictures_with_too_many_colours_together_are_refused():
    one = CartoonPicture(
        cells=np.zeros((3, 3), dtype=np.uint8), palette=tuple(f"#0000{k:02X}" for k in range(40))
    )
    two = CartoonPicture(
        cells=np.zeros((2, 2), dtype=np.uint8), palette=tuple(f"#00FF{k:02X}" for k in range(40))
    )
    with pytest.raises(BadPicture, match="80 colours"):
        layout.field_in_border(one, two)


def test_a_cartoon_that_fits_needs_no_choice():
    check = check_size(plan_of(), 400, 600)
    assert check.agrees
    assert check.choices == ()
    assert check_size(plan_of(), 403, 597).agrees


def test_a_half_is_recognised_and_can_be_mirrored():
    check = check_size(plan_of(), 200, 600)
    assert not check.agrees
    ways = {choice.way: choice for choice in check.choices}
    assert ways[SizeWay.MIRROR].given is Given.LEFT_HALF
    assert (ways[SizeWay.MIRROR].knots_across, ways[SizeWay.MIRROR].rows) == (400, 600)
    # Keep the density: 200 knots at 40 per 10 cm are 50 cm. Keep the size: 200 knots in 100 cm are 20 per 10 cm.
    assert ways[SizeWay.KEEP_DENSITY].width_cm == pytest.approx(50)
    assert ways[SizeWay.KEEP_SIZE].knots_per_10cm == pytest.approx(20)
    assert ways[SizeWay.REPEAT].times_across == 2
    assert "+200" in ways[SizeWay.REDRAW].sentence


@pytest.mark.parametrize(
    ("knots", "rows", "part"),
    [(200, 300, Given.BOTTOM_LEFT), (400, 300, Given.BOTTOM_HALF), (200, 600, Given.LEFT_HALF)],
)
def test_halves_and_quarters_are_told_apart(knots, rows, part):
    mirrored = [
        choice for choice in check_size(plan_of(), knots, rows).choices if choice.way is SizeWay.MIRROR
    ]
    assert [choice.given for choice in mirrored] == [part]


@settings(max_examples=30)
@given(st.integers(2, 900), st.integers(2, 900))
def test_every_choice_is_consistent_in_itself(knots, rows):
    for choice in check_size(plan_of(), knots, rows).choices:
        assert choice.width_cm == pytest.approx(choice.knots_across / choice.knots_per_10cm * 10)
        assert choice.length_cm == pytest.approx(choice.rows / choice.rows_per_10cm * 10)


@given(CELLS, st.integers(1, 5), st.integers(1, 5))
def test_a_cartoon_drawn_large_is_found_out(cells, across, along):
    large = picture(np.repeat(np.repeat(cells, along, axis=0), across, axis=1))
    found_across, found_along = layout.points_per_knot(large.cells)
    # Chance may make the drawn knots larger still, when neighbours agree everywhere; without any change nothing is said.
    assert found_across % across == 0 or (cells[:, 1:] == cells[:, :-1]).all()
    assert found_along % along == 0 or (cells[1:] == cells[:-1]).all()


def test_a_proper_cartoon_has_one_point_to_a_knot():
    assert layout.points_per_knot(np.array([[0, 0, 1, 0], [0, 0, 1, 0], [1, 1, 1, 0]], dtype=np.uint8)) == (
        1,
        1,
    )


def test_what_was_counted_of_a_cartoon_is_forgotten_with_it():
    drawn = cartoon_of([[0, 1], [1, 1]])
    count_of(drawn)
    count_part(drawn, 1, 1)
    place = id(drawn.cells)
    assert place in cartoon._counted
    del drawn
    gc.collect()
    assert place not in cartoon._counted


def test_a_part_of_the_width_is_counted_by_itself():
    drawn = cartoon_of([[0, 1, 1, 2], [2, 2, 0, 0]])
    assert count_part(drawn, 2, 3).tolist() == [[0, 2, 0], [1, 0, 1]]
    assert count_part(drawn, 2, 3) is count_part(drawn, 2, 3)
    assert count_part(drawn, 4, 4).tolist() == [[0, 0, 1], [1, 0, 0]]


def test_where_a_colour_begins_and_ends():
    count = count_of(cartoon_of([[0, 0], [0, 1], [1, 1], [0, 0]], 3))
    assert [count.first_row(colour) for colour in range(3)] == [1, 2, None]
    assert [count.last_row(colour) for colour in range(3)] == [4, 3, None]
    assert [count.rows_with(colour) for colour in range(3)] == [3, 2, 0]
    assert (count.rows, count.knots_across, count.knots, count.colours) == (4, 2, 8, 3)
    assert count.totals.tolist() == [5, 3, 0]


def test_runs_of_a_row():
    row = np.array([3, 3, 1, 3], dtype=np.uint8)
    assert [(run.colour, run.knots) for run in runs_of_row(row)] == [(3, 2), (1, 1), (3, 1)]
    assert runs_of_row(row[:0]) == ()


def test_from_shade_to_shade_of_one_yarn_no_ball_is_changed():
    drawn = cartoon_of([[0, 1, 2, 1], [0, 2, 0, 2]])
    shades = (pile(1, cartoon_values=(0, 2)), pile(2, cartoon_values=(1,)))
    assert count_of(drawn, shades).changes.tolist() == [3, 0]
    assert count_of(drawn).changes.tolist() == [3, 3]
    assert knotted_in(drawn, shades) == (0, 1, 0)
    # A value that is nobody's, or lies beyond the palette, is nobody's ball.
    assert knotted_in(drawn, (pile(1, cartoon_values=(2, 7)),)) == (0, 1, 2)
    assert unclaimed_values(count_of(drawn), (pile(1, cartoon_values=(2, 7)),)) == (0, 1)
    assert unclaimed_values(count_of(cartoon_of([[0]], 3)), ()) == (0,)
    assert counts_by_yarn(count_of(drawn), shades).tolist() == [[2, 2], [4, 0]]
