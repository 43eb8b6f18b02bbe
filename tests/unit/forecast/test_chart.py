"""A cartoon is counted once, by the one counter, without a second copy of it."""

from __future__ import annotations

import tracemalloc

import numpy as np

from tracker.domain.cartoon import count_of
from tracker.domain.rug import Cartoon
from tracker.forecast.chart import Landmarks, find_landmarks, landmarks_of


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


def ends(landmarks: Landmarks) -> tuple[int | None, ...]:
    return landmarks.border_end, landmarks.medallion_start, landmarks.medallion_end, landmarks.border_start


def test_a_part_ends_where_its_colours_do():
    assert ends(find_landmarks(drawn(400, (0, 50), (140, 260), (350, 400)))) == (50, 140, 260, 350)
    assert ends(find_landmarks(drawn(400, (140, 260)))) == (None, 140, 260, None)
    assert ends(find_landmarks(drawn(400, (0, 50), (350, 400)))) == (50, None, None, 350)


def test_an_eighth_of_the_knots_must_differ():
    parts = ((0, 50), (140, 260), (350, 400))
    assert ends(find_landmarks(drawn(400, *parts, share=0.125))) == (50, 140, 260, 350)
    assert ends(find_landmarks(drawn(400, *parts, share=0.12))) == (None,) * 4


def test_of_a_cartoon_below_thirty_rows_no_part_is_told():
    assert ends(find_landmarks(drawn(30, (0, 6), (24, 30)))) == (6, None, None, 24)
    assert ends(find_landmarks(drawn(29, (0, 6), (23, 29)))) == (None,) * 4


def test_borders_are_about_as_deep_at_both_ends():
    assert ends(find_landmarks(drawn(400, (0, 40), (340, 400))))[::3] == (40, 340)
    # A border of 40 rows and one of 61: one more than half as deep again.
    assert ends(find_landmarks(drawn(400, (0, 40), (339, 400))))[::3] == (None, None)
    assert ends(find_landmarks(drawn(400, (0, 40))))[::3] == (None, None)
    # Of narrow ones five rows more are no matter.
    assert ends(find_landmarks(drawn(300, (0, 8), (287, 300))))[::3] == (8, 287)
    assert ends(find_landmarks(drawn(300, (0, 8), (286, 300))))[::3] == (None, None)


def test_rows_without_a_knot_end_nothing():
    assert ends(find_landmarks(np.zeros((100, 2)))) == (None,) * 4


def test_the_same_cells_are_searched_once_and_others_anew():
    cells = np.zeros((60, 8), dtype=np.uint8)
    cells[:10] = cells[50:] = 1
    first = landmarks_of(cartoon_of(cells))
    assert ends(first) == (10, None, None, 50)
    assert landmarks_of(cartoon_of(cells)) is first
    assert ends(landmarks_of(cartoon_of(np.zeros((60, 8), dtype=np.uint8)))) == (None,) * 4
