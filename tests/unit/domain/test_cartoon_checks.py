"""What a master's eye would remark, on cartoons small enough to check by eye."""

from __future__ import annotations

import numpy as np

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.cartoon_checks import (
    Axis,
    alike_shades,
    broken_symmetry,
    crowded_rows,
    open_borders,
    rare_colours,
    remarks_on,
    stray_knots,
)


def drawn(*rows: str) -> np.ndarray:
    """Cells from rows of digits, the first row the first woven."""
    return np.array([[int(letter) for letter in row] for row in rows], dtype=np.uint8)


def test_a_single_knot_in_a_plain_ground_is_a_stray_and_a_pair_is_none() -> None:
    cells = drawn("000000000", "010000000", "000000000", "000011000", "000000000")
    assert stray_knots(cells) == ((1, 1),)


def test_two_blues_nobody_can_tell_apart_are_named_and_a_red_is_not() -> None:
    found = alike_shades(("#1F3A5F", "#203B61", "#A23B2A"))
    assert [(pair.first, pair.second) for pair in found] == [(0, 1)]


def test_the_knot_that_breaks_left_and_right_is_found() -> None:
    rng = np.random.default_rng(2)
    half = rng.integers(0, 4, (60, 20), dtype=np.uint8)
    cells = np.concatenate([half, half[:, ::-1]], axis=1)
    assert broken_symmetry(cells) == ()
    cells[7, 3] = (cells[7, 3] + 1) % 4
    (found,) = broken_symmetry(cells)
    assert found.axis is Axis.UPRIGHT
    assert found.broken == ((7, 3),)


def test_the_knot_that_breaks_bottom_and_top_is_found() -> None:
    half = np.random.default_rng(4).integers(0, 4, (20, 60), dtype=np.uint8)
    cells = np.concatenate([half, half[::-1]])
    assert broken_symmetry(cells) == ()
    cells[39, 5] = (cells[39, 5] + 1) % 4
    (found,) = broken_symmetry(cells)
    assert (found.axis, found.broken) == (Axis.LEVEL, ((0, 5),))
    common = int(np.bincount(cells.ravel()).argmax())
    drawn_knots = int(((cells != common) | (cells[::-1] != common)).sum())
    assert found.share == 1 - 2 / drawn_knots


def test_a_cartoon_never_meant_to_mirror_is_left_alone() -> None:
    assert broken_symmetry(np.random.default_rng(3).integers(0, 4, (40, 30), dtype=np.uint8)) == ()


def test_a_small_motif_aside_on_a_plain_ground_is_no_broken_symmetry() -> None:
    cells = np.zeros((100, 100), dtype=np.uint8)
    cells[10:13, 10:13] = 1
    assert broken_symmetry(cells) == ()


def test_a_colour_of_three_knots_is_rare_and_an_unused_one_is_not() -> None:
    cells = np.zeros((10, 10), dtype=np.uint8)
    cells[0, :3] = 1
    assert rare_colours(cells, 3) == (1,)


def test_a_row_of_thirteen_colours_is_crowded() -> None:
    cells = np.zeros((3, 26), dtype=np.uint8)
    cells[1] = np.arange(26) % 13
    cells[2] = np.arange(26) % 12
    assert crowded_rows(cells, 13) == (1,)


def bordered(knots_between: int) -> np.ndarray:
    """A border four deep whose bottom repeats every five knots between corners of four, round a plain field."""
    rows, knots = 60, knots_between + 8
    cells = np.zeros((rows, knots), dtype=np.uint8)
    motif = drawn("11111", "12221", "13231", "11211")
    cells[:4, 4 : 4 + knots_between] = np.tile(motif, (1, knots_between // 5 + 1))[:, :knots_between]
    return cells


def deep(depth: int, rows: int = 160, between: int = 182) -> np.ndarray:
    """A border so deep whose bottom repeats every five knots, with two left over, round a plain field."""
    cells = np.zeros((rows, between + 2 * depth), dtype=np.uint8)
    motif = np.random.default_rng(7).integers(1, 4, (depth, 5), dtype=np.uint8)
    cells[:depth, depth : depth + between] = np.tile(motif, (1, between // 5 + 1))[:, :between]
    return cells


def sides(cells: np.ndarray) -> list[tuple[str, int, int]]:
    return [(found.side, found.repeat, found.left_over) for found in open_borders(cells)]


def test_borders_are_looked_for_from_three_knots_deep_to_forty() -> None:
    """Shallower ones are lines, deeper ones fields; and none deeper than a third of the rug or a quarter of its side."""
    for depth in (3, 40):
        assert ("bottom", 5, 2) in sides(deep(depth))
    assert ("bottom", 5, 2) not in sides(deep(2))
    assert ("bottom", 5, 2) not in sides(deep(41))
    # A third of 30 rows are 10; of 29 none so deep.
    assert ("bottom", 5, 2) in sides(deep(10, rows=30))
    assert ("bottom", 5, 2) not in sides(deep(10, rows=29))
    # 22 knots between corners of eleven are a side of 44, a quarter of which is eleven; of 39 it is nine.
    assert ("bottom", 5, 2) in sides(deep(11, between=22))
    assert ("bottom", 5, 2) not in sides(deep(11, between=17))


def test_every_side_is_looked_at() -> None:
    bottom = deep(4, rows=60, between=52)
    assert sides(bottom) == sides(bottom[::-1].copy()[::-1]) == [("bottom", 5, 2)]
    assert sides(np.ascontiguousarray(bottom[::-1])) == [("top", 5, 2)]
    assert sides(np.ascontiguousarray(bottom.T)) == [("left", 5, 2)]
    assert sides(np.ascontiguousarray(bottom[::-1].T)) == [("right", 5, 2)]


def test_a_border_that_comes_out_even_is_not_remarked() -> None:
    assert [found for found in open_borders(bordered(50)) if found.side == "bottom"] == []


def test_a_border_with_two_knots_left_over_at_the_corner_is_remarked() -> None:
    (found,) = [found for found in open_borders(bordered(52)) if found.side == "bottom"]
    assert (found.repeat, found.left_over) == (5, 2)


def test_all_remarks_come_together() -> None:
    cells = np.zeros((9, 9), dtype=np.uint8)
    cells[3, 4] = 1
    found = remarks_on(CartoonPicture(cells=cells, palette=("#AA0000", "#AB0101")))
    assert found.strays == ((3, 4),)
    assert found.rare == (1,)
    assert len(found.alike) == 1
