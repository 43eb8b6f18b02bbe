"""The width of a rug in sections, one a weaver: what each section asks for row by row, by the one count of the cartoon."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import count_part, yarn_of_value
from tracker.domain.rows import RowsToWeave
from tracker.domain.rug import RugBook

FULL_KNOT = 1.0
"""Less of a lot in a section is knotted from the lot beside it: nobody winds a ball for part of a knot."""


def knots_of_section(book: RugBook, to_weave: RowsToWeave, first: int, last: int) -> NDArray[np.float64]:
    """Return (rows, yarns) knots of each pile yarn in each row to weave, of the knots `first` to `last` alone.

    From the cartoon itself where it tells what is knotted in which yarn; else the section's part of every row by its
    width. The sections of a row add up to the row of `to_weave`.
    """
    if book.cartoon is None or not to_weave.counted:
        return to_weave.knots * ((last - first + 1) / to_weave.across)
    part = count_part(book.cartoon, first, last)
    owner = yarn_of_value(to_weave.pile, part.shape[1])
    knots = np.zeros((part.shape[0], len(to_weave.pile)))
    for position in range(len(to_weave.pile)):
        values = np.flatnonzero(owner == position)
        if values.size:
            knots[:, position] = part[:, values].sum(axis=1)
    return knots[to_weave.of_cartoon] * book.plan.tied_share


def units_between(knots: NDArray[np.float64], first: float, last: float) -> NDArray[np.float64]:
    """Return (yarns,) the knots from the height `first` to the height `last`, in rows from the foot.

    Of a row that is cut by a height each yarn has its part, as everywhere in the book (`RugBook.rows_reached`).
    """
    so_far = np.concatenate([np.zeros((1, knots.shape[1])), np.cumsum(knots, axis=0)])
    rows = np.arange(so_far.shape[0])
    ends = [np.clip(end, 0.0, rows[-1]) for end in (first, last)]
    low, high = (
        np.array([np.interp(end, rows, so_far[:, yarn]) for yarn in range(knots.shape[1])]) for end in ends
    )
    return high - low


def lot_ends(knots: NDArray[np.float64], first: float, lots: Sequence[float]) -> tuple[float, ...]:
    """Return the heights at which lots end that are used one after another over the whole width.

    Parameters
    ----------
    knots
        (rows,) of one yarn in each row of the whole width.
    first
        The height in rows from which the first lot is used.
    lots
        Knots that each lot gives, in the order of their use. What they do not cover is one lot more, so that there is one
        height fewer than lots; a lot that is not reached has none.
    """
    so_far = np.concatenate([[0.0], np.cumsum(knots)])
    rows = np.arange(so_far.size)
    used = float(np.interp(np.clip(first, 0.0, rows[-1]), rows, so_far))
    ends = []
    for lot in lots:
        used += lot
        if used >= so_far[-1] - FULL_KNOT:
            break
        above = int(np.searchsorted(so_far, used, side="right"))
        row = float(so_far[above] - so_far[above - 1])
        ends.append(above - 1 + (used - float(so_far[above - 1])) / row)
    return tuple(ends)


def knots_by_lot(
    knots: NDArray[np.float64], ends: Sequence[float], first: float, last: float
) -> tuple[float, ...]:
    """Return the knots of one yarn that a section ties of each lot from the height `first` to `last`.

    Parameters
    ----------
    knots
        (rows,) of the yarn in each row of the section.
    ends
        The heights at which lots end, as `lot_ends` returns them.
    """
    heights = [first, *(min(max(end, first), last) for end in ends), last]
    parts: list[float] = []
    carried = 0.0
    for low, high in pairwise(heights):
        part = carried + float(units_between(knots[:, None], low, high)[0])
        carried = part if part < FULL_KNOT else 0.0
        parts.append(part - carried)
    for index in range(len(parts) - 1, -1, -1):
        if parts[index] > 0 or index == 0:
            parts[index] += carried
            break
    return tuple(parts)
