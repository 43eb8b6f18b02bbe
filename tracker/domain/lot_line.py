"""Where a change of dye lot shows least: the rows of a cartoon scored by how the new lot would lie upon the old one.

Two lots of one colour differ a little in shade. The eye finds the difference where one lies directly upon the other
along a line; it does not where another colour lies between, or where only scattered knots meet (common practice, no
source).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from tracker.domain import defaults
from tracker.domain.lot_change import ChangePlace


def plain_knots(knots_per_10cm: float) -> int:
    """Return the knots side by side from which on a line between two lots shows."""
    return max(2, round(defaults.LOT_LINE_CM * knots_per_10cm / 10.0))


def _places(
    cells: np.ndarray, values: Collection[int], first: int, last: int, plain: int
) -> list[ChangePlace]:
    """Score the rows `first` to `last` in which the colour is knotted."""
    around = int(defaults.LOT_ROWS_AROUND)
    low = max(1, first - 1 - around)
    high = min(cells.shape[0], last + around)
    here = np.isin(cells[low - 1 : high], list(values))
    knots = here.sum(axis=1)
    places = []
    for row in range(first, min(last, cells.shape[0]) + 1):
        index = row - low
        if not knots[index]:
            continue
        if row == 1:
            lengths = np.zeros(0, dtype=int)
        else:
            meets = np.concatenate([[0], (here[index] & here[index - 1]).astype(np.int8), [0]])
            edges = np.flatnonzero(np.diff(meets))
            lengths = edges[1::2] - edges[::2]
        nearby = float(knots[max(0, index - 1 - around) : index + 1 + around].mean())
        longest = int(lengths.max(initial=0))
        places.append(
            ChangePlace(
                row=row,
                meeting=int(lengths.sum()),
                pieces=int(lengths.size),
                longest=longest,
                in_row=int(knots[index]),
                before=int(knots[index - 1]) if row > 1 else 0,
                plain=longest >= plain,
                shows=float((lengths.astype(float) ** 2).sum()) + float(defaults.LOT_AROUND_WEIGHT) * nearby,
            )
        )
    return places


def places_to_change(
    cells: np.ndarray | None,
    values: Collection[int],
    first: int,
    last: int,
    knots_per_10cm: float,
    *,
    most: int = 3,
) -> tuple[ChangePlace, ...]:
    """Return the rows at which to change lots, the one that shows least first.

    Parameters
    ----------
    cells
        (rows, knots) the cartoon, row 1 first; None: there is none that says where the colour lies.
    values
        The cells' values that are knotted in this yarn.
    first, last
        The earliest row that makes sense, and the last one for which the old lot surely lasts.
    knots_per_10cm
        Across, to know how long a stretch is.
    most
        Places to return at the most; no two lie closer together than `defaults.LOT_PLACES_APART`.

    Notes
    -----
    Of rows that show alike the later one comes first: more of the old lot is used up. Where even the best row would
    make a line as long as `defaults.LOT_LINE_CM`, or nothing is known of the rows, the first place is to let the two
    lots take turns over `defaults.LOT_BLEND_ROWS` rows that end where the old one surely lasts.
    """
    blended = max(first, last - int(defaults.LOT_BLEND_ROWS) + 1)
    blend = ChangePlace(row=blended, blend_rows=last - blended + 1)
    if cells is None or not len(values):
        return (blend,)
    scored = _places(cells, values, first, last, plain_knots(knots_per_10cm))
    if not scored:
        return (ChangePlace(row=last, meeting=0),)
    chosen: list[ChangePlace] = []
    for place in sorted(scored, key=lambda place: (place.shows, -place.row)):
        if all(abs(place.row - other.row) >= int(defaults.LOT_PLACES_APART) for other in chosen):
            chosen.append(place)
    if chosen[0].plain and blend.blend_rows > 1:
        counted = next((place for place in scored if place.row == blend.row), None)
        if counted is not None:
            blend = replace(counted, blend_rows=blend.blend_rows)
        chosen = [blend, *(place for place in chosen if place.row != blend.row)]
    return tuple(chosen[:most])
