"""Where the parts of a design end: its borders, and the figures that stand in the middle of its field."""

from __future__ import annotations

import weakref
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tracker.domain.cartoon import count_of
from tracker.domain.rug import Cartoon, Yarn

DIFFERS_FROM = 0.125
"""Share of the knots that differ where a part ends, and of the field's width that a figure takes at its widest."""
FULL_WIDTH = 0.85
"""What takes more of the field's width is a band or a border, not a figure."""
MIDDLE = (0.4, 0.6)
"""Where across the field, and of a single one along it, the middle of a figure lies."""
WAIST = 0.35
"""Two figures that touch are two where the cloth between them is narrower than this share of either."""
MAIN = 0.5
"""A figure counts beside the largest from this share of its height and width on: smaller ones are ornaments of it."""
MOST_FIGURES = 5
"""More of them are a pattern."""
GRID = 128
"""Figures are looked for on a grid of so many squares along the longer side."""
TIP = 2
"""A figure ends at most so many squares beyond its inner ones."""
FILLED = 0.5
"""A square of the grid belongs to a figure when this share of its knots differs from the ground."""

_found: dict[int, tuple[weakref.ref[np.ndarray], Landmarks]] = {}


def landmarks_of(cartoon: Cartoon, yarns: tuple[Yarn, ...] = ()) -> Landmarks:
    """Return the landmarks of a cartoon; the same cell array is searched once, its count shared with the sums' by `yarns`."""
    cells = cartoon.cells
    kept = _found.get(id(cells))
    if kept is not None and kept[0]() is cells:
        return kept[1]

    def forget(_gone: object, key: int = id(cells)) -> None:
        _found.pop(key, None)

    landmarks = find_landmarks(cells, count_of(cartoon, yarns).per_row)
    _found[id(cells)] = (weakref.ref(cells, forget), landmarks)
    return landmarks


@dataclass(frozen=True, slots=True)
class Landmarks:
    """Rows (counted from 1) that end a part of the design; None or empty where the design has no such part."""

    border_end: int | None
    border_start: int | None
    figures: tuple[tuple[int, int], ...] = ()
    """(rows before it, last row) of each figure in the middle of the field, from below."""

    @property
    def medallion(self) -> tuple[int, int] | None:
        """Return the figure that stands alone in the middle; None where there is none, or several."""
        return self.figures[0] if len(self.figures) == 1 else None


def _sharpest(mix: np.ndarray, low: int, high: int, width: int) -> tuple[int, float]:
    """Place between low and high where the colours before and behind differ most, and by how much (0 to 1)."""
    cumulative = np.concatenate([np.zeros((1, mix.shape[1])), np.cumsum(mix, axis=0)])
    rows = np.arange(max(low, width), min(high, mix.shape[0] - width) + 1)
    if rows.size == 0:
        return low, 0.0
    before = (cumulative[rows] - cumulative[rows - width]) / width
    behind = (cumulative[rows + width] - cumulative[rows]) / width
    gap = 0.5 * np.abs(before - behind).sum(axis=1)
    best = int(np.argmax(gap))
    return int(rows[best]), float(gap[best])


def find_borders(knots: np.ndarray) -> tuple[int, int] | None:
    """Find the end of the lower border and the start of the upper one; None where not both ends show one.

    Parameters
    ----------
    knots : knots of each cell value in each row, shape (rows, values)

    Notes
    -----
    A border ends where the colours of the rows before and behind differ most, if at least an eighth of the
    knots differ; borders lie in the outer thirds and both ends must show one.
    """
    mix = knots / np.maximum(knots.sum(axis=1, keepdims=True), 1)
    rows = mix.shape[0]
    if rows < 30:
        return None
    width = max(3, rows // 50)
    low, low_gap = _sharpest(mix, int(rows * 0.02), int(rows * 0.33), width)
    high, high_gap = _sharpest(mix, int(rows * 0.67), int(rows * 0.98), width)
    bordered = min(low_gap, high_gap) >= DIFFERS_FROM and abs((rows - high) - low) <= max(0.5 * low, 5)
    return (low, high) if bordered else None


def find_landmarks(cells: np.ndarray, knots: np.ndarray) -> Landmarks:
    """Find the borders of a cartoon and the figures in the middle of its field.

    Parameters
    ----------
    cells : cell values, uint8 (rows, knots), row 1 first
    knots : knots of each cell value in each row, shape (rows, values)
    """
    borders = find_borders(knots)
    if cells.shape[0] < 30:
        return Landmarks(None, None)
    low, high = borders or (0, cells.shape[0])
    return Landmarks(
        border_end=borders[0] if borders else None,
        border_start=borders[1] if borders else None,
        figures=find_figures(cells, knots, low, high),
    )


def find_figures(cells: np.ndarray, knots: np.ndarray, low: int, high: int) -> tuple[tuple[int, int], ...]:
    """Find the figures that stand one above the other in the middle of the field, in a ground of one colour.

    Parameters
    ----------
    cells : cell values, uint8 (rows, knots), row 1 first
    knots : knots of each cell value in each row, shape (rows, values)
    low, high : the field's rows, from `low` (counted from 0) to before `high`

    Returns
    -------
    tuple of (rows before the figure, its last row counted from 1)
        Empty where the field shows none: a pattern all over, bands from side to side, figures beside each other.

    Notes
    -----
    What holds together and differs from the commonest colour of the field is a figure, whatever is inside it. Only what the
    picture shows is told: a figure alone, midway along the field, is what the trade calls a medallion.
    """
    field = cells[low:high, slice(*_sides(cells, low, high))]
    rows, across = field.shape
    if rows < 15 or across < 8:
        return ()
    between = knots[low:high].sum(axis=0)
    if across < cells.shape[1]:
        between = np.bincount(field.ravel())
    figure = field != int(np.argmax(between))
    size = max(1, -(-max(rows, across) // GRID))
    grid = _squares(figure, size)
    parts: list[tuple[int, int, int]] = []
    beside: list[tuple[int, int]] = []
    wide = grid.shape[1]
    for first, left, right in _held_together(grid):
        extent = right - left + 1
        if left.min() == 0 or right.max() == wide - 1 or extent.max() > FULL_WIDTH * wide:
            continue  # a band, a corner, or the border
        middle = float(((left + right + 1) / 2).mean()) / wide
        if not MIDDLE[0] <= middle <= MIDDLE[1]:
            beside.append((extent.size, int(extent.max())))
            continue
        for start, end in _waists(extent):
            most = int(extent[start:end].max())
            if most >= DIFFERS_FROM * wide:
                parts.append((first + start, first + end, most))
    if not parts:
        return ()
    tall, broad = max(end - start for start, end, _most in parts), max(most for _s, _e, most in parts)
    if any(height >= MAIN * tall and width >= MAIN * broad for height, width in beside):
        return ()
    main = sorted(
        (start, end) for start, end, most in parts if end - start >= MAIN * tall and most >= MAIN * broad
    )
    if len(main) > MOST_FIGURES:
        return ()
    if len(main) == 1:
        start, end = main[0]
        if (
            not MIDDLE[0] <= (start + end) / 2 / grid.shape[0] <= MIDDLE[1]
            or end - start >= 0.9 * grid.shape[0]
        ):
            return ()
    tied = figure[:, across * 3 // 8 : -(across * 3 // 8)].any(axis=1)
    ends = [(_first(tied, start, size), _last(tied, end, size)) for start, end in main]
    # Where two touch, tip on tip, each ends midway.
    for place, ((_first_row, last), (above, end)) in enumerate(pairwise(ends)):
        if last > above:
            ends[place], ends[place + 1] = (ends[place][0], (last + above) // 2), ((last + above) // 2, end)
    return tuple((low + first, low + last) for first, last in ends)


def _sides(cells: np.ndarray, low: int, high: int) -> tuple[int, int]:
    """Return the columns between the borders of both sides: where the border below goes on up the sides; else all."""
    everything = (0, cells.shape[1])
    if not low or not cells.size:
        return everything
    values = int(cells.max()) + 1
    some = cells[low : high : max(1, (high - low) // GRID)].T
    knots = np.stack([np.bincount(column, minlength=values) for column in some])
    sides = find_borders(knots)
    if sides is None:
        return everything

    def mix(counts: np.ndarray) -> np.ndarray:
        return np.asarray(counts / max(counts.sum(), 1))

    left, right = sides
    side, inside = (
        mix(knots[:left].sum(axis=0) + knots[right:].sum(axis=0)),
        mix(knots[left:right].sum(axis=0)),
    )
    border = mix(np.bincount(cells[:low].ravel(), minlength=values))
    return sides if np.abs(side - border).sum() < np.abs(side - inside).sum() else everything


def _squares(figure: np.ndarray, size: int) -> np.ndarray:
    """Return which squares of `size` knots and rows are filled and not at an edge, bool: what hangs by a thread is parted."""
    rows, across = (-(-side // size) * size for side in figure.shape)
    whole = np.zeros((rows, across), dtype=bool)
    whole[: figure.shape[0], : figure.shape[1]] = figure
    # First along the rows: their knots lie side by side, and many are added at once.
    strips = whole.view(np.uint8).reshape(rows // size, size, across).sum(axis=1, dtype=np.uint16)
    filled = strips.reshape(rows // size, across // size, size).sum(axis=2, dtype=np.int32)
    grid = np.pad(filled >= FILLED * size * size, 1, mode="edge")
    inner = grid[1:-1, 1:-1] & grid[:-2, 1:-1] & grid[2:, 1:-1] & grid[1:-1, :-2] & grid[1:-1, 2:]
    return np.asarray(inner)


def _held_together(grid: np.ndarray) -> list[tuple[int, np.ndarray, np.ndarray]]:
    """Return (first row, leftmost square, rightmost square of each row) of everything that holds together.

    Squares side by side are taken as one run; runs that touch from row to row are given the lowest number among them until nothing
    changes, by ever longer ways at once.
    """
    wide = grid.shape[1] + 1  # squares in a row, with an empty one behind it
    edges = np.diff(np.pad(grid, ((0, 0), (0, 1))).ravel().astype(np.int8), prepend=0)
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)  # of each run, half open
    above_from = np.searchsorted(ends, begins + wide, side="right")
    above = np.maximum(np.searchsorted(begins, ends + wide, side="left") - above_from, 0)
    below = np.repeat(np.arange(begins.size), above)
    over = np.arange(below.size) - np.repeat(np.cumsum(above) - above, above) + above_from[below]
    number = np.arange(begins.size)
    while (apart := number[below] != number[over]).any():
        one, other = number[below][apart], number[over][apart]
        np.minimum.at(number, np.maximum(one, other), np.minimum(one, other))
        while (number[number] != number).any():
            number = number[number]
    order = np.argsort(number, kind="stable")
    row, left = np.divmod(begins[order], wide)
    right = (ends[order] - 1) % wide
    part = number[order]
    first = np.flatnonzero(np.diff(part, prepend=-1) | np.diff(row, prepend=-1))
    last = np.append(first[1:], part.size)[: first.size] - 1
    left, right = left[first], right[last]
    new = np.append(np.flatnonzero(np.diff(part[first], prepend=-1)), first.size)
    return [
        (int(row[first[start]]), left[start:end], right[start:end]) for start, end in pairwise(new.tolist())
    ]


def _waists(extent: np.ndarray) -> list[tuple[int, int]]:
    """Cut what holds together where it is far narrower than above and below: (first, behind the last) of each part."""
    cuts = [0]
    peak = place = 0
    lowest = int(extent[0])
    for row, width in enumerate(extent.tolist()):
        if width < lowest:
            lowest, place = width, row
        if peak and lowest <= WAIST * peak and width * WAIST >= lowest:
            cuts.append(place)
            peak = width
        if width >= peak:
            peak, lowest, place = width, width, row
    return list(pairwise([*cuts, extent.size]))


def _first(tied: np.ndarray, square: int, size: int) -> int:
    """Return the rows before the first one of a figure whose inner squares begin there: its tip is narrower than they."""
    row = square * size
    while row > max(0, (square - TIP) * size) and tied[row - 1]:
        row -= 1
    return row


def _last(tied: np.ndarray, square: int, size: int) -> int:
    """Return the last row (counted from 1) of a figure whose inner squares end before there."""
    row = min(square * size, tied.size)
    while row < min(tied.size, (square + TIP) * size) and tied[row]:
        row += 1
    return row
