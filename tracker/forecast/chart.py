"""What the sums need of a cartoon: colour changes and knots of each colour, row by row, counted once."""

from __future__ import annotations

import weakref
from dataclasses import dataclass

import numpy as np

from tracker.domain.rug import Cartoon, Role, RugBook, Yarn

_counted: dict[int, tuple[weakref.ref[np.ndarray], RowCounts]] = {}


@dataclass(frozen=True, slots=True, eq=False)
class RowCounts:
    """Counts of a cartoon: `changes` (rows,) and `knots` (rows, 256), knots of each cell value in each row."""

    changes: np.ndarray
    knots: np.ndarray


def count_rows(cells: np.ndarray) -> RowCounts:
    """Count colour changes and knots of each cell value in every row.

    Parameters
    ----------
    cells : uint8 array, shape (rows, knots)

    Returns
    -------
    RowCounts
    """
    rows = cells.shape[0]
    changes = np.count_nonzero(cells[:, 1:] != cells[:, :-1], axis=1)
    values = int(cells.max()) + 1 if cells.size else 1
    keys = cells.astype(np.int64) + (np.arange(rows, dtype=np.int64) * values)[:, None]
    knots = np.bincount(keys.ravel(), minlength=rows * values).reshape(rows, values)
    return RowCounts(changes, knots)


def counts_of(cartoon: Cartoon) -> RowCounts:
    """Return the counts of a cartoon; the same cell array is counted once."""
    key = id(cartoon.cells)
    kept = _counted.get(key)
    if kept is not None and kept[0]() is cartoon.cells:
        return kept[1]
    counts = count_rows(cartoon.cells)

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


CHANGES_PER_COLOUR = 4.0
"""Without a cartoon: colour changes expected in a row for every colour beyond the first (no source)."""


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
        changes = np.full(total, CHANGES_PER_COLOUR * max(0, len(pile) - 1))
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
