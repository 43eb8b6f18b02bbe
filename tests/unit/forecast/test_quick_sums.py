"""Sums that were made quick say what the plain ones do, to the last digit: no figure moves for the sake of time."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tests.properties import examples
from tracker.forecast.calendar import _laid_out
from tracker.forecast.chart import _held_together, _squares
from tracker.forecast.reckon import reckon
from tracker.forecast.stats import middle_of, quantiles

from .books import BOOK, woven

numbers = st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=60).map(np.array)
grids = st.builds(
    lambda seed, rows, across, share: np.random.default_rng(seed).random((rows, across)) < share,
    st.integers(0, 2**32), st.integers(1, 24), st.integers(1, 24), st.floats(0, 1),
)  # fmt: skip


@given(numbers, st.lists(st.floats(0, 1), min_size=1, max_size=4))
def test_shares_and_middles_are_numpys(values: np.ndarray, shares: list[float]):
    assert quantiles(values, *shares) == tuple(np.quantile(values, shares).tolist())
    assert middle_of(values) == np.median(values)


Part = tuple[int, list[int], list[int]]


def step_by_step(grid: np.ndarray) -> list[Part]:
    """Walk from square to square; (first row, leftmost, rightmost of each row) of everything that holds together."""
    left_over = {(int(row), int(column)) for row, column in np.argwhere(grid)}
    found = []
    while left_over:
        part = [left_over.pop()]
        for row, column in part:
            for near in ((row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)):
                if near in left_over:
                    left_over.remove(near)
                    part.append(near)
        rows = sorted({row for row, _column in part})
        sides = [[column for its_row, column in part if its_row == row] for row in rows]
        found.append((rows[0], [min(side) for side in sides], [max(side) for side in sides]))
    return sorted(found)


@given(grids)
@examples(100)
def test_what_holds_together_is_what_one_reaches_square_by_square(grid: np.ndarray):
    told = [(first, left.tolist(), right.tolist()) for first, left, right in _held_together(grid)]
    assert sorted(told) == step_by_step(grid)


def test_what_winds_inwards_holds_together():
    # One band of squares, wound up: every turn hangs on the next one by a single square.
    grid = np.zeros((41, 41), dtype=bool)
    first, last = 0, 40
    while last - first > 2:
        grid[first, first : last + 1] = grid[first : last + 1, last] = grid[last, first : last + 1] = True
        grid[first + 2 : last + 1, first] = grid[first + 2, first : first + 3] = True
        first, last = first + 2, last - 2
    ((_row, left, right),) = _held_together(grid)
    assert (left.size, left.min(), right.max()) == (41, 0, 40)
    assert step_by_step(grid) == [(0, left.tolist(), right.tolist())]


@given(grids, st.integers(1, 9))
def test_a_square_is_filled_when_half_of_its_knots_are(figure: np.ndarray, size: int):
    rows, across = (-(-side // size) for side in figure.shape)
    filled = np.array([
        [figure[r * size : (r + 1) * size, c * size : (c + 1) * size].sum() >= 0.5 * size**2 for c in range(across)]
        for r in range(rows)
    ])  # fmt: skip
    near = np.pad(filled, 1, mode="edge")
    inner = filled & near[:-2, 1:-1] & near[2:, 1:-1] & near[1:-1, :-2] & near[1:-1, 2:]
    assert np.array_equal(_squares(figure, size), inner)


@given(st.integers(0, 2**32), st.integers(1, 300))
def test_changes_of_habit_add_up_from_their_day_on(seed: int, days: int):
    rng = np.random.default_rng(seed)
    since = np.cumsum(rng.exponential(rng.choice([5.0, 100.0]), (3, 20)), axis=0)
    # Eighths add up exactly, in whatever order.
    steps = rng.integers(-8, 9, (3, 20)) / 8.0
    plain = np.zeros((20, days))
    for starts, step in zip(since, steps, strict=True):
        for future in range(20):
            plain[future, int(min(starts[future], days)) :] += step[future]
    assert np.array_equal(_laid_out(steps, since, days), plain)


@given(st.lists(st.integers(0, 9), min_size=1, max_size=40))
@examples(12)
def test_a_date_asked_for_alone_is_the_one_among_the_rows_before_it(rows: list[int]):
    book = woven(BOOK, rows)
    with_all, alone = (reckon(book, book.sessions[-1].day, end_alone=end) for end in (False, True))
    assert with_all.futures is not None
    assert alone.futures is not None
    assert alone.marks.tolist() == [with_all.marks[-1]]
    assert np.array_equal(alone.futures.days[:, 0], with_all.futures.days[:, -1])
    assert alone.futures.hours_left == with_all.futures.hours_left


@given(st.lists(st.integers(-3, 9), min_size=1, max_size=30), st.integers(1, 9))
def test_a_book_asked_before_tells_of_the_session_that_came_since(rows: list[int], more: int):
    before = woven(BOOK, rows)
    asked = (before.rows_woven, before.rows_gained, before.told_sessions, before.knots_begun)
    newest = replace(
        before.sessions[-1], id="new", day=before.sessions[-1].day + timedelta(days=1), rows=more
    )
    after = replace(before, sessions=(*before.sessions, newest))
    assert after.rows_woven == before.rows_woven + more
    assert after.rows_gained == (*before.rows_gained, more)
    assert after.told_sessions == (*before.told_sessions, newest)
    assert asked == (before.rows_woven, before.rows_gained, before.told_sessions, before.knots_begun)
