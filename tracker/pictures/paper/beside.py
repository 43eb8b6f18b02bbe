"""Tells doubtful squares' yarns by their neighbours' as well: a design repeats, and what lies beside what is counted on the sheet itself.

References
----------
J. Besag, J. R. Statist. Soc. B 48(3), 1986: the likeliest yarn of a square given its colour and its neighbours' yarns, again and again.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_WAYS = ((0, 1), (1, 0), (1, 1), (1, -1))
"""Rows and knots to a neighbour; those the other way round are counted with them."""
_ROUNDS = 4
"""How often neighbours are asked anew, after some of them became another yarn."""
_WEIGHT = 0.5
"""How much each of eight neighbours counts: what they tell they tell in part together."""
_UNTOLD = 5.0
"""Pairs of squares that are taken to lie beside each other as often as by chance: few pairs tell nothing."""
_MOST = 5.0
"""Natural logarithm of how much likelier one yarn may become beside another by its neighbours, at most (our choice)."""


def with_neighbours(
    labels: NDArray[np.intp], places: NDArray[np.intp], likely: NDArray[np.float32]
) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Return the yarns with those of some squares told by their neighbours too, and the chances of these squares' yarns.

    Parameters
    ----------
    labels
        (rows, knots) yarns as found by their colours.
    places
        (squares,) which of them, counted row by row, are not clear.
    likely
        (squares, yarns) logarithm of how well the colour of each fits each yarn.
    """
    rows, knots = labels.shape
    many = likely.shape[1]
    y, x = np.divmod(places, knots)
    out = labels.copy()
    told = likely
    for _round in range(_ROUNDS):
        padded = np.full((rows + 2, knots + 2), many)
        padded[1:-1, 1:-1] = out
        told = np.zeros_like(likely)
        for dy, dx in _WAYS:
            beside = _beside(out, many, dy, dx)
            told += beside[:many, padded[1 + y + dy, 1 + x + dx]].T
            told += beside.T[:many, padded[1 + y - dy, 1 + x - dx]].T
        told = likely + np.maximum(_WEIGHT * (told - told.max(axis=1, keepdims=True)), -_MOST)
        now = told.argmax(axis=1)
        if (out[y, x] == now).all():
            break
        out[y, x] = now
    told = np.exp(told - told.max(axis=1, keepdims=True))
    return out, (told.max(axis=1) / told.sum(axis=1)).astype(np.float32)


def _beside(labels: NDArray[np.intp], many: int, dy: int, dx: int) -> NDArray[np.float32]:
    """Return (yarns + 1, yarns + 1) logarithms of how much oftener than by chance a square's yarn lies with its neighbour's; the last is none."""
    here = labels[: -dy or None, max(0, -dx) : -dx if dx > 0 else None].ravel()
    there = labels[dy:, max(0, dx) : dx if dx < 0 else None].ravel()
    pairs = np.bincount(here * many + there, minlength=many * many).reshape(many, many).astype(np.float64)
    chance = np.outer(pairs.sum(axis=1), pairs.sum(axis=0)) / max(1.0, pairs.sum())
    out = np.zeros((many + 1, many + 1), dtype=np.float32)
    out[:many, :many] = np.log((pairs + _UNTOLD) / (chance + _UNTOLD))
    return out
