"""What the sums need of a cartoon: colour changes and knots of each colour, row by row, counted once."""

from __future__ import annotations

import weakref
from dataclasses import dataclass

import numpy as np

from tracker.domain.cartoon import count_cartoon
from tracker.domain.rug import Cartoon, Role, RugBook, Yarn
from tracker.forecast import priors

_counted: dict[int, tuple[weakref.ref[np.ndarray], RowCounts]] = {}


@dataclass(frozen=True, slots=True, eq=False)
class RowCounts:
    """Counts of a cartoon: `changes` (rows,) and `knots` (rows, values), knots of each cell value in each row."""

    changes: np.ndarray
    knots: np.ndarray
    landmarks: Landmarks


def counts_of(cartoon: Cartoon) -> RowCounts:
    """Return the counts of a cartoon; the same cell array is counted once."""
    key = id(cartoon.cells)
    kept = _counted.get(key)
    if kept is not None and kept[0]() is cartoon.cells:
        return kept[1]
    cells = cartoon.cells
    colours = max(len(cartoon.palette), int(cells.max()) + 1 if cells.size else 1)
    counted = count_cartoon(cells, colours)
    counts = RowCounts(counted.changes, counted.per_row, find_landmarks(counted.per_row))

    def forget(_gone: object, key: int = key) -> None:
        _counted.pop(key, None)

    _counted[key] = (weakref.ref(cartoon.cells, forget), counts)
    return counts


@dataclass(frozen=True, slots=True, eq=False)
class RowsToWeave:
    """Row by row what a rug asks for.

    Attributes
    ----------
    across : knots in a row
    changes : float array (rows,), colour changes of each row
    pile : yarns of the pile, in order
    knots : float array (rows, len(pile)), knots of each pile yarn in each row
    """

    across: int
    changes: np.ndarray
    pile: tuple[Yarn, ...]
    knots: np.ndarray

    @property
    def rows(self) -> int:
        """Rows of the whole rug."""
        return int(self.changes.size)


def rows_to_weave(book: RugBook, rows: int | None = None) -> RowsToWeave:
    """Lay out what each row asks for: from the cartoon, or from the colours' shares without one.

    When `rows` differs from the cartoon's own rows (the weaver holds the length, not the row count), what
    is still to come of the cartoon is stretched over the rows that are still to come.

    Parameters
    ----------
    book : RugBook
    rows : rows the rug will have; None: the plan's

    Returns
    -------
    RowsToWeave
    """
    plan = book.plan
    pile = book.yarns_of(Role.PILE)
    total = max(1, plan.rows if rows is None else rows)
    if book.cartoon is None:
        shares = np.array([yarn.share if yarn.share is not None else np.nan for yarn in pile], dtype=float)
        open_shares = np.isnan(shares)
        if open_shares.any():
            left = max(0.0, 1.0 - float(np.nansum(shares)))
            shares[open_shares] = left / open_shares.sum()
        if shares.sum() > 0:
            shares = shares / shares.sum()
        knots = np.tile(shares * plan.knots_across, (total, 1))
        changes = np.full(total, priors.CHANGES_PER_COLOUR * max(0, len(pile) - 1))
        return RowsToWeave(plan.knots_across, changes, pile, knots)
    counts = counts_of(book.cartoon)
    columns = np.zeros((counts.changes.size, len(pile)))
    for place, yarn in enumerate(pile):
        values = [value for value in yarn.cartoon_values if 0 <= value < counts.knots.shape[1]]
        if values:
            columns[:, place] = counts.knots[:, values].sum(axis=1)
    changes = counts.changes.astype(float)
    own = counts.changes.size
    if total != own:
        woven = min(max(book.rows_woven, 0), own - 1, total - 1)
        ahead = woven + ((np.arange(total - woven) + 0.5) * (own - woven) / (total - woven)).astype(int)
        index = np.concatenate([np.arange(woven), ahead])
        columns, changes = columns[index], changes[index]
    return RowsToWeave(book.cartoon.knots_across, changes, pile, columns)


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
    at = np.arange(max(low, width), min(high, mix.shape[0] - width) + 1)
    if at.size == 0:
        return low, 0.0
    before = (cumulative[at] - cumulative[at - width]) / width
    behind = (cumulative[at + width] - cumulative[at]) / width
    gap = 0.5 * np.abs(before - behind).sum(axis=1)
    best = int(np.argmax(gap))
    return int(at[best]), float(gap[best])


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
