"""Takes off what blur and JPEG let leak into a square from its neighbours.

References
----------
ITU-T T.871 (JFIF): lightness and two colour differences, of which the latter are stored coarser.
A. C. Aitken, Proc. R. Soc. Edinburgh 55, 1936: the surest unbiased sum of measurements whose errors go together.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_TO_LUMA = np.array(
    [[0.299, 0.587, 0.114], [-0.1687, -0.3313, 0.5], [0.5, -0.4187, -0.0813]], dtype=np.float32
)
"""sRGB to lightness and two colour differences as JPEG takes them: it blurs the latter more."""
_FROM_LUMA = np.asarray(np.linalg.inv(_TO_LUMA).T, dtype=np.float32)
_LEAKS = (0.0, 0.02, 0.04, 0.06, 0.08, 0.11, 0.14, 0.18)
"""Shares of each neighbour's colour that are tried as leaking into a square."""
_LEAST_LEAK, _MOST_LEAK = -0.15, 0.3
"""Share of a neighbour's colour that may leak into a square once the yarns are known; of sharpened pictures it is below 0."""
_LEAST_OWN = 0.25
"""Share of a square's own colour that is left in it at least."""
_ROUNDS = 3
"""How often yarns' colours and what leaks between them are reckoned from each other."""
_REACH = 2
"""Squares round a square whose departures tell of its own colour."""
_OUTLIER, _COUNTED = 18.0, 6.0
"""Median departures that one square's counts at most, and where it is told how departures go together."""
_LONE = 0.02
"""Share of the departures' variance that is taken to go together with none."""
_SAMPLE = 40_000


def some_of(colours: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the colours, each in a row, or as many of them, drawn evenly, as tell of all."""
    flat = colours.reshape(-1, colours.shape[-1])
    if len(flat) <= _SAMPLE // 2:
        return flat
    return flat[np.random.default_rng(3).choice(len(flat), _SAMPLE // 2, replace=False)]


def without_leak(coded: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the squares' colours without what blur and JPEG let leak in from their neighbours.

    How much leaks is found by trying: taken off rightly, the squares fall into the tightest clusters (the least entropy of
    their colours). Lightness and colour are tried one after the other, as JPEG blurs the latter more.
    """
    own = coded @ _TO_LUMA.T
    padded = np.pad(own, ((1, 1), (1, 1), (0, 0)), mode="edge")
    around = padded[1:-1, :-2] + padded[1:-1, 2:] + padded[:-2, 1:-1] + padded[2:, 1:-1] - 4 * own
    flat, ring = some_of(own), some_of(around)
    best = (0.0, 0.0)
    for _round in range(2):
        light_leak = min(_LEAKS, key=lambda leak: entropy(flat - ring * [leak, best[1], best[1]]))
        colour_leak = min(_LEAKS, key=lambda leak: entropy(flat - ring * [light_leak, leak, leak]))
        if best == (light_leak, colour_leak):
            break
        best = (light_leak, colour_leak)
    taken = around * np.array([best[0], best[1], best[1]], dtype=np.float32)
    return np.asarray(np.clip(coded - taken @ _FROM_LUMA, 0, 255), dtype=np.float32)


def less_leak(lit: NDArray[np.float32], labels: NDArray[np.intp], many: int) -> NDArray[np.float32]:
    """Return the squares' colours without what leaks in from neighbours of other yarns, by the yarns as found.

    How squares depart from their yarn's colour, on average, as their neighbours do, is what leaks. What `lit`, `labels` and
    `many` are: see `own_colours`, which takes more from the neighbours and needs the yarns for it.
    """
    seen = lit @ _TO_LUMA.T
    yarn = _middles(seen, labels, many)[labels]
    for axis in range(3):
        beside = _beside(yarn[..., axis])
        leak, _own = _leak(seen[..., axis] - yarn[..., axis], beside)
        seen[..., axis] -= beside @ leak
    return np.asarray(np.clip(seen @ _FROM_LUMA, 0, 300), dtype=np.float32)


def _middles(colours: NDArray[np.float32], labels: NDArray[np.intp], many: int) -> NDArray[np.float32]:
    middle = np.zeros((many, 3), dtype=np.float32)
    for index in range(many):
        mine = colours[labels == index]
        if len(mine):
            middle[index] = np.median(mine, axis=0)
    return middle


def _beside(yarn: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return by how much the neighbours (in the row, in the column, aslant) are more than a square's own yarn, in one channel."""
    padded = np.pad(yarn, 1, mode="edge")
    return np.stack(
        [
            padded[1:-1, :-2] + padded[1:-1, 2:] - 2 * yarn,
            padded[:-2, 1:-1] + padded[2:, 1:-1] - 2 * yarn,
            padded[:-2, :-2] + padded[:-2, 2:] + padded[2:, :-2] + padded[2:, 2:] - 4 * yarn,
        ],
        axis=-1,
    )


def own_colours(lit: NDArray[np.float32], labels: NDArray[np.intp], many: int) -> NDArray[np.float32]:
    """Return each square's own colour as all squares near it tell it, now that the yarns are known.

    JPEG stores colour coarser than squares of few points are: what of a square's colour it takes away it gives to the neighbours.
    So these tell of it too, by what in them neither their own yarns nor what leaks from further ones explains. A square's own
    yarn is not used for its own colour; that of its neighbours is.

    Parameters
    ----------
    lit
        (rows, knots, 3) colours with the light evened out.
    labels, many
        (rows, knots) yarns as found by now, and their number.
    """
    seen = lit @ _TO_LUMA.T
    own = seen
    for _round in range(_ROUNDS):
        yarn = _middles(own, labels, many)[labels]
        own = np.stack([_told(seen[..., axis], yarn[..., axis]) for axis in range(3)], axis=-1)
    return np.asarray(np.clip(own @ _FROM_LUMA, 0, 300), dtype=np.float32)


def _told(seen: NDArray[np.float32], yarn: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return one channel of the squares' own colours, from it as seen and as their yarns have it."""
    rows, knots = yarn.shape
    beside = _beside(yarn)
    leak, own_share = _leak(seen - yarn, beside)
    off = seen - yarn - (beside @ leak).astype(np.float32)
    off -= np.median(off)
    usual = float(np.median(np.abs(off))) + 1e-3
    around = np.pad(np.clip(off, -_OUTLIER * usual, _OUTLIER * usual), _REACH)
    places = list(product(range(-_REACH, _REACH + 1), repeat=2))
    near = [around[_REACH + y : _REACH + y + rows, _REACH + x : _REACH + x + knots] for y, x in places]
    in_them = np.array(
        [
            (own_share, leak[0 if x else 1], leak[2])[abs(y) + abs(x)] if max(abs(y), abs(x)) < 2 else 0.0
            for y, x in places
        ]
    )
    together = _going_together(near, _COUNTED * usual)
    weight = np.linalg.solve(together, in_them)
    weight /= weight @ in_them
    own = yarn.copy()
    for share, part in zip(weight.astype(np.float32), near, strict=True):
        own += share * part
    return own


def _leak(off: NDArray[np.float32], beside: NDArray[np.float32]) -> tuple[FloatArray, float]:
    """Return the shares of neighbours' colours (in the row, in the column, aslant) that leak into a square, and what is left of its own."""
    size = np.abs(off)
    sound = size <= np.quantile(size, 0.97)
    own = beside[sound].astype(np.float64)
    moments = own.T @ own
    leak = np.linalg.solve(
        moments + (1e-6 * np.trace(moments) + 1e-6) * np.eye(3), own.T @ off[sound].astype(np.float64)
    )
    leak = np.clip(leak, _LEAST_LEAK, _MOST_LEAK)
    lost = float(leak @ [2, 2, 4])
    if lost > 1 - _LEAST_OWN:
        leak *= (1 - _LEAST_OWN) / lost
    return leak, max(_LEAST_OWN, 1 - lost)


def _going_together(near: list[NDArray[np.float32]], most: float) -> FloatArray:
    """Return how the departures of squares at places round a square go together (their moments)."""
    inner = (slice(_REACH, -_REACH), slice(_REACH, -_REACH)) if min(near[0].shape) > 4 * _REACH else ()
    some = slice(None, None, max(1, near[0].size // _SAMPLE))
    off = np.stack([np.clip(part[inner].ravel()[some], -most, most) for part in near], axis=-1)
    moments = off.T.astype(np.float64) @ off / len(off)
    return np.asarray(moments + (_LONE * np.trace(moments) / len(near) + 1e-6) * np.eye(len(near)))


def entropy(colours: NDArray[np.floating[Any]]) -> float:
    """Return the entropy of colours in bins a few steps wide."""
    keys = np.floor(colours / 7.0 + 100.0).astype(np.int64)
    counts = np.unique((keys[:, 0] * 512 + keys[:, 1]) * 512 + keys[:, 2], return_counts=True)[1]
    share = counts / len(colours)
    return float(-(share * np.log(share)).sum())
