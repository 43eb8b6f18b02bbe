"""Halves, repeats and sizes of a cartoon, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tests.unit.domain.rugs import plan_of
from tracker.domain import layout
from tracker.domain.cartoon import MAX_KNOTS, CartoonPicture
from tracker.domain.errors import BadPicture
from tracker.domain.layout import Given, SizeChoice, SizeWay, check_size, expand


def picture(cells) -> CartoonPicture:
    return CartoonPicture(cells=np.array(cells, dtype=np.uint8), palette=("#AA0000", "#0000BB"), name="a.png")


@pytest.mark.parametrize(
    ("part", "whole"),
    [
        (Given.LEFT_HALF, [[0, 1, 0], [1, 1, 1]]),
        (Given.RIGHT_HALF, [[1, 0, 1], [1, 1, 1]]),
        (Given.BOTTOM_HALF, [[0, 1], [1, 1], [0, 1]]),
        (Given.TOP_HALF, [[1, 1], [0, 1], [1, 1]]),
        (Given.BOTTOM_LEFT, [[0, 1, 0], [1, 1, 1], [0, 1, 0]]),
        (Given.TOP_RIGHT, [[1, 1, 1], [1, 0, 1], [1, 1, 1]]),
        (Given.FULL, [[0, 1], [1, 1]]),
    ],
)
def test_a_middle_that_both_halves_share_stands_there_once(part, whole) -> None:
    grown = expand(picture([[0, 1], [1, 1]]), part, shared_column=True, shared_row=True)
    assert grown.cells.tolist() == whole
    assert (grown.palette, grown.name) == (("#AA0000", "#0000BB"), "a.png")


def test_a_cartoon_larger_than_any_is_refused_with_its_size() -> None:
    class Huge:
        """Cells that are never looked at: their size is too much already."""

        shape = (MAX_KNOTS // 1000, 501)

    large = CartoonPicture(cells=Huge(), palette=("#AA0000",))  # type: ignore[arg-type]
    with pytest.raises(BadPicture) as trouble:
        expand(large, Given.LEFT_HALF)
    assert f"1002 × {MAX_KNOTS // 1000} knots" in trouble.value.sentence
    assert f"At most {MAX_KNOTS // 1_000_000} million" in trouble.value.sentence


def test_a_motif_is_repeated_at_least_once_each_way() -> None:
    tile = picture([[0, 1]])
    assert layout.repeat(tile).cells.tolist() == [[0, 1]]
    assert layout.repeat(tile, 2, 3).cells.tolist() == [[0, 1, 0, 1]] * 3
    assert layout.repeat(tile, 2, 1).name == "a.png"
    for times in ((0, 1), (1, 0)):
        with pytest.raises(BadPicture, match="at least once each way"):
            layout.repeat(tile, *times)


def test_a_picture_drawn_large_is_told_by_the_steps_of_its_changes() -> None:
    small = np.array([[0, 1, 1], [1, 0, 1]], dtype=np.uint8)
    assert layout.points_per_knot(np.kron(small, np.ones((4, 3), dtype=np.uint8))) == (3, 4)
    assert layout.points_per_knot(np.zeros((4, 4), dtype=np.uint8)) == (1, 1)
    # What is left over at the side does not divide either.
    assert layout.points_per_knot(np.array([[0, 0, 1, 1, 1]], dtype=np.uint8)) == (1, 1)


def test_equal_colours_of_two_pictures_become_one_and_64_are_taken() -> None:
    ones = tuple(f"#0000{number:02x}" for number in range(64))
    both = CartoonPicture(cells=np.array([[0, 63]], dtype=np.uint8), palette=ones)
    again = CartoonPicture(
        cells=np.array([[0, 1]], dtype=np.uint8), palette=(ones[5].upper(), ones[0].upper())
    )
    palette, cells = layout.join_palettes(both, again)
    assert len(palette) == 64
    assert [part.tolist() for part in cells] == [[[0, 63]], [[5, 0]]]
    with pytest.raises(BadPicture, match="have 65 colours, more than 64"):
        layout.join_palettes(both, CartoonPicture(cells=again.cells, palette=("#FF0000", ones[0])))


def test_a_field_lies_where_it_is_laid_and_not_over_the_edge() -> None:
    border, field = picture(np.zeros((4, 5))), picture([[1, 1]])
    assert np.argwhere(layout.field_in_border(border, field, left=3, bottom=0).cells).tolist() == [
        [0, 3],
        [0, 4],
    ]
    assert np.argwhere(layout.field_in_border(border, field, left=0, bottom=3).cells).tolist() == [
        [3, 0],
        [3, 1],
    ]
    assert np.argwhere(layout.field_in_border(border, field).cells).tolist() == [[1, 1], [1, 2]]
    for beyond in ({"left": 4}, {"left": -1}, {"bottom": 4}, {"bottom": -1}):
        with pytest.raises(BadPicture) as trouble:
            layout.field_in_border(border, field, **beyond)
        assert "field of 2 × 1 knots does not fit into the border of 5 × 4" in trouble.value.sentence


def ways(knots: int, rows: int, **changes) -> dict[SizeWay, SizeChoice]:
    """The ways out for a cartoon; 400 x 600 knots are planned for 100 x 150 cm."""
    return {choice.way: choice for choice in check_size(plan_of(**changes), knots, rows).choices}


def test_a_cartoon_fits_within_a_hundredth_and_a_knot_at_least() -> None:
    fits = check_size(plan_of(), 404, 594)
    assert fits.agrees
    assert (fits.width_cm, fits.length_cm) == (101.0, 148.5)
    assert fits.sentence == "The cartoon fits the plan: 101 × 148.5 cm."
    assert not check_size(plan_of(), 405, 600).agrees
    assert not check_size(plan_of(), 400, 607).agrees
    # Of a small sampler a hundredth is no knot.
    small = plan_of(width_cm=5.0, length_cm=5.0, knots_across=20, rows=20)
    assert check_size(small, 21, 19).agrees
    assert not check_size(small, 22, 20).agrees


def test_a_larger_cartoon_makes_a_larger_rug_or_a_closer_one() -> None:
    check = check_size(plan_of(), 500, 900)
    assert not check.agrees
    assert "cartoon of 500 × 900 knots makes 125 × 225 cm, but 100 × 150 cm were planned" in check.sentence
    # An inch is 2.54 cm: 49.2 by 88.6, 39.4 by 59.1.
    inches = check_size(plan_of(), 500, 900, "inch")
    assert "makes 49.2 × 88.6 in, but 39.4 × 59.1 in were planned" in inches.sentence
    assert not any("cm" in choice.sentence for choice in inches.choices)
    out = ways(500, 900)
    assert set(out) == {SizeWay.KEEP_DENSITY, SizeWay.KEEP_SIZE, SizeWay.REPEAT, SizeWay.REDRAW} - {
        SizeWay.REPEAT
    }
    keep = out[SizeWay.KEEP_DENSITY]
    assert (keep.width_cm, keep.length_cm, keep.knots_per_10cm, keep.rows_per_10cm) == (
        125.0,
        225.0,
        40.0,
        40.0,
    )
    assert "becomes 125 × 225 cm" in keep.sentence
    closer = out[SizeWay.KEEP_SIZE]
    assert (closer.width_cm, closer.length_cm, closer.knots_per_10cm, closer.rows_per_10cm) == (
        100.0, 150.0, 50.0, 60.0,
    )  # fmt: skip
    assert (closer.knots_across, closer.rows) == (keep.knots_across, keep.rows) == (500, 900)
    assert "knot 50 × 60 per 10 cm" in closer.sentence
    redrawn = out[SizeWay.REDRAW]
    assert (redrawn.knots_across, redrawn.rows, redrawn.width_cm, redrawn.length_cm) == (
        400,
        600,
        100.0,
        150.0,
    )
    assert "(-100 and -300)" in redrawn.sentence


def test_repeats_are_whole_and_round_to_the_nearer_number() -> None:
    out = ways(130, 240)[SizeWay.REPEAT]
    # 400 / 130 is 3.1, 600 / 240 is 2.5: three across, three along.
    assert (out.times_across, out.times_along, out.knots_across, out.rows) == (3, 3, 390, 720)
    assert (out.width_cm, out.length_cm, out.given) == (97.5, 180.0, Given.FULL)
    assert "Repeat it 3 times across and 3 times along: 97.5 × 180 cm" in out.sentence
    assert SizeWay.REPEAT not in ways(400, 650)
    assert ways(400, 200)[SizeWay.REPEAT].times_along == 3


@pytest.mark.parametrize(
    ("knots", "rows", "given", "whole"),
    [
        (200, 300, Given.BOTTOM_LEFT, (400, 600)), (201, 598, Given.LEFT_HALF, (402, 598)),
        (404, 302, Given.BOTTOM_HALF, (404, 604)), (203, 600, None, None), (200, 500, None, None),
    ],
)  # fmt: skip
def test_what_is_near_a_half_or_a_quarter_can_be_mirrored(knots, rows, given, whole) -> None:
    mirrored = ways(knots, rows).get(SizeWay.MIRROR)
    assert (mirrored and mirrored.given) == given
    if mirrored:
        assert (mirrored.knots_across, mirrored.rows) == whole
        assert mirrored.width_cm == whole[0] / 4


def test_the_sizes_are_those_of_the_finished_rug() -> None:
    # 2 % are lost at washing: a cartoon that makes 100 cm on the loom makes 98 on the floor.
    check = check_size(plan_of(wash_shrinkage_width=0.02, wash_shrinkage_length=0.02), 300, 500)
    assert (check.width_cm, check.length_cm) == (pytest.approx(73.5), pytest.approx(122.5))


def test_a_cartoon_of_the_book_bears_the_pictures_name() -> None:
    cartoon = layout.as_cartoon(picture([[0, 1], [1, 1]]), id="c", rug_id="r")
    assert (cartoon.id, cartoon.rug_id, cartoon.source_name) == ("c", "r", "a.png")
    assert cartoon.cells.tolist() == [[0, 1], [1, 1]]
    assert cartoon.cells.flags.c_contiguous
