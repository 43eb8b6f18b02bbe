"""Where the parts of a design end: border and medallion, from where the colours of the rows change most."""

from __future__ import annotations

import weakref
from dataclasses import dataclass

import numpy as np

from tracker.domain.cartoon import count_of
from tracker.domain.rug import Cartoon, Yarn

_found: dict[int, tuple[weakref.ref[np.ndarray], Landmarks]] = {}


def landmarks_of(cartoon: Cartoon, yarns: tuple[Yarn, ...] = ()) -> Landmarks:
    """Return the landmarks of a cartoon; the same cell array is searched once, its count shared with the sums' by `yarns`."""
    cells = cartoon.cells
    kept = _found.get(id(cells))
    if kept is not None and kept[0]() is cells:
        return kept[1]

    def forget(_gone: object, key: int = id(cells)) -> None:
        _found.pop(key, None)

    landmarks = find_landmarks(count_of(cartoon, yarns).per_row)
    _found[id(cells)] = (weakref.ref(cells, forget), landmarks)
    return landmarks


@dataclass(frozen=True, slots=True)
class Landmarks:
    """Rows (counted from 1) that end a part of the design; None where the design has no such part."""

    border_end: int | None
    medallion_start: int | None
    medallion_end: int | None
    border_start: int | None


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


def find_landmarks(knots: np.ndarray) -> Landmarks:
    """Find the end of the lower border, the medallion and the start of the upper border in a cartoon.

    Parameters
    ----------
    knots : knots of each cell value in each row, shape (rows, values)

    Returns
    -------
    Landmarks

    Notes
    -----
    A part ends where the colours of the rows before and behind differ most, if at least an eighth of the
    knots differ; borders lie in the outer thirds and both ends must show one.
    """
    mix = knots / np.maximum(knots.sum(axis=1, keepdims=True), 1)
    rows = mix.shape[0]
    width = max(3, rows // 50)
    if rows < 30:
        return Landmarks(None, None, None, None)
    low, low_gap = _sharpest(mix, int(rows * 0.02), int(rows * 0.33), width)
    high, high_gap = _sharpest(mix, int(rows * 0.67), int(rows * 0.98), width)
    bordered = min(low_gap, high_gap) >= 0.125 and abs((rows - high) - low) <= max(0.5 * low, 5)
    inner_low, inner_high = (low, high) if bordered else (0, rows)
    middle = (inner_low + inner_high) // 2
    field = inner_high - inner_low
    start, start_gap = _sharpest(mix, inner_low + max(width, field // 20), middle - field // 20, width)
    end, end_gap = _sharpest(mix, middle + field // 20, inner_high - max(width, field // 20), width)
    inside = min(start_gap, end_gap) >= 0.125 and end > start
    return Landmarks(
        border_end=low if bordered else None,
        medallion_start=start if inside else None,
        medallion_end=end if inside else None,
        border_start=high if bordered else None,
    )
