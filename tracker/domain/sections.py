"""The width of a rug in sections, one a weaver: what each section asks for row by row, by the one count of the cartoon."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import count_part, yarn_of_value
from tracker.domain.rows import RowsToWeave
from tracker.domain.rug import RugBook


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
