"""A cartoon is counted once, by the one counter, without a second copy of it."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from tracker.domain.cartoon import count_of
from tracker.domain.rug import Cartoon
from tracker.forecast.chart import find_borders, find_figures, landmarks_of


def cartoon_of(cells: np.ndarray) -> Cartoon:
    return Cartoon(id="c", rug_id="r", cells=cells, palette=("#aa0000", "#00aa00", "#0000aa"))


def test_counts_are_those_of_the_rows():
    counts = count_of(cartoon_of(np.array([[0, 0, 1, 1], [2, 1, 2, 1]], dtype=np.uint8)))
    assert counts.changes.tolist() == [1, 3]
    assert counts.per_row.tolist() == [[2, 2, 0], [0, 2, 2]]


def test_counting_a_large_cartoon_takes_less_memory_than_the_cartoon():
    cells = np.random.default_rng(1).integers(0, 3, (2000, 1500), dtype=np.uint8)
    cartoon = cartoon_of(cells)
    tracemalloc.start()
    count_of(cartoon)
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 0.7 * cells.nbytes


def drawn(rows: int, *parts: tuple[int, int], share: float = 1.0, across: int = 64) -> np.ndarray:
    """Knots of two colours in each row; in the rows of each part so large a share is of the second."""
    second = np.zeros(rows)
    for first, last in parts:
        second[first:last] = share * across
    return np.stack([across - second, second], axis=1)


def test_a_border_ends_where_its_colours_do():
    assert find_borders(drawn(400, (0, 50), (140, 260), (350, 400))) == (50, 350)
    assert find_borders(drawn(400, (140, 260))) is None
    assert find_borders(drawn(400, (0, 50), (350, 400))) == (50, 350)


def test_an_eighth_of_the_knots_must_differ():
    parts = ((0, 50), (140, 260), (350, 400))
    assert find_borders(drawn(400, *parts, share=0.125)) == (50, 350)
    assert find_borders(drawn(400, *parts, share=0.12)) is None


def test_of_a_cartoon_below_thirty_rows_no_part_is_told():
    assert find_borders(drawn(30, (0, 6), (24, 30))) == (6, 24)
    assert find_borders(drawn(29, (0, 6), (23, 29))) is None


def test_borders_are_about_as_deep_at_both_ends():
    assert find_borders(drawn(400, (0, 40), (340, 400))) == (40, 340)
    # A border of 40 rows and one of 61: one more than half as deep again.
    assert find_borders(drawn(400, (0, 40), (339, 400))) is None
    assert find_borders(drawn(400, (0, 40))) is None
    # Of narrow ones five rows more are no matter.
    assert find_borders(drawn(300, (0, 8), (287, 300))) == (8, 287)
    assert find_borders(drawn(300, (0, 8), (286, 300))) is None


def test_rows_without_a_knot_end_nothing():
    assert find_borders(np.zeros((100, 2))) is None


def diamond(cells: np.ndarray, row: int, column: int, half: int, value: int = 1) -> None:
    """Draw a diamond whose middle knot stands there."""
    rows, columns = np.ogrid[: cells.shape[0], : cells.shape[1]]
    cells[abs(rows - row) + abs(columns - column) < half] = value


def field(rows: int = 200, across: int = 121) -> np.ndarray:
    return np.zeros((rows, across), dtype=np.uint8)


def figures(cells: np.ndarray) -> tuple[tuple[int, int], ...]:
    return find_figures(cells, count_of(cartoon_of(cells)).per_row, 0, cells.shape[0])


def test_three_diamonds_one_above_the_other_are_three_figures_and_no_medallion():
    cells = field()
    for row in (40, 100, 160):
        diamond(cells, row, 60, 25)
    # Of a half of 25 the first knot lies 24 rows below the middle, the last 24 above it.
    assert figures(cells) == ((16, 65), (76, 125), (136, 185))
    assert landmarks_of(cartoon_of(cells)).medallion is None
    # Tip to tip they hold together, and are still three.
    cells = field(210)
    for row in (45, 104, 163):
        diamond(cells, row, 60, 30)
    # Where one ends the next begins, to the squares of the grid, two rows each.
    assert np.array(figures(cells)) == pytest.approx(np.array([(16, 75), (75, 134), (134, 193)]), abs=2)


def test_one_figure_alone_midway_is_a_medallion_with_all_that_is_in_it():
    cells = field()
    diamond(cells, 100, 60, 45)
    assert landmarks_of(cartoon_of(cells)).medallion == (56, 145)
    # By hand: the first knot lies 44 rows below the middle. A ring with the ground in its middle, ornaments above and below it, corners, and stray knots.
    diamond(cells, 100, 60, 38, 0)
    diamond(cells, 40, 60, 9)
    diamond(cells, 160, 60, 9)
    for row, column in ((0, 0), (0, 120), (199, 0), (199, 120)):
        diamond(cells, row, column, 40, 2)
    cells[30, 30] = 1
    assert landmarks_of(cartoon_of(cells)).medallion == (56, 145)
    # The same at one end of the field is no medallion, and nothing else has a name for it.
    low = field()
    diamond(low, 50, 60, 40)
    assert figures(low) == ()


def test_the_ground_is_that_between_the_borders_however_broad_they_are():
    # Three fifths of every row are border; what the medallion lies in is the field's own colour.
    cells = np.ones((200, 120), dtype=np.uint8)
    cells[40:160, 36:84] = 0
    diamond(cells, 100, 60, 16, 2)
    ((first, last),) = landmarks_of(cartoon_of(cells)).figures
    assert (first, last) == pytest.approx((84, 116), abs=2)


def test_nothing_is_named_in_bands_patterns_and_figures_beside_each_other():
    bands = field()
    bands[40:60] = bands[90:110] = 1
    assert figures(bands) == ()
    pairs = field()
    for row in (50, 150):
        for column in (30, 90):
            diamond(pairs, row, column, 25)
    assert figures(pairs) == ()
    rows_of_three = field()
    for row in (40, 100, 160):
        for column in (25, 60, 95):
            diamond(rows_of_three, row, column, 14)
    assert figures(rows_of_three) == ()
    many = field(400)
    for row in range(30, 400, 48):
        diamond(many, row, 60, 20)
    assert figures(many) == ()
    speckled = np.random.default_rng(3).integers(0, 3, (200, 121)).astype(np.uint8)
    assert figures(speckled) == ()
    assert figures(field()) == ()


def test_a_large_cartoon_is_looked_at_on_a_grid_and_told_to_the_row():
    cells = field(1200, 801)
    for row in (300, 900):
        diamond(cells, row, 400, 200)
    (first, last), (second, end) = figures(cells)
    # The tip of a diamond is a knot wide: the grid of ten rows may miss its first rows.
    assert abs(first - 100) <= 20
    assert abs(last - 500) <= 20
    assert abs(second - 700) <= 20
    assert abs(end - 1100) <= 20


def test_the_same_cells_are_searched_once_and_others_anew():
    cells = np.zeros((60, 8), dtype=np.uint8)
    cells[:10] = cells[50:] = 1
    first = landmarks_of(cartoon_of(cells))
    assert (first.border_end, first.border_start, first.figures) == (10, 50, ())
    assert landmarks_of(cartoon_of(cells)) is first
    plain = landmarks_of(cartoon_of(np.zeros((60, 8), dtype=np.uint8)))
    assert (plain.border_end, plain.border_start) == (None, None)
