"""Tells two near yarns that were taken for one: their squares lie in two heaps, not in one, however near.

References
----------
G. J. McLachlan, D. Peel, Finite Mixture Models, Wiley 2000, chapters 3 and 6: two normal heaps of one shape against a single
one, and how much likelier the squares are so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_SOME = 1500
"""Squares of a heap that are looked at, at most."""
_LEAST = 40
"""Squares below which a heap tells nothing of its shape."""
_ROUNDS, _SETTLED = 25, 1e-4
"""Rounds of settling at most, and by how much a square must become likelier (its logarithm) for another one."""
_OUTLIERS = 0.03
"""Share of the squares farthest out that are left aside: smudges and ends of lines are no second yarn."""
_SMALLEST = 0.05
"""Variance that is never undercut, in square units of the coordinates."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Two:
    """The two heaps that explain a heap of squares best."""

    middles: FloatArray
    """(2, 3)"""
    apart: float
    """Distance of the middles in standard deviations of each heap along it; one normal heap looks like two at 2 to 2.5."""
    less: float
    """Share of the squares in the smaller one."""
    gain: float
    """Logarithm of how many times likelier the squares looked at are with two heaps than with one."""


def two_heaps(places: NDArray[np.float32]) -> Two | None:
    """Return the two heaps in which squares of one found colour lie best; None of too few.

    Parameters
    ----------
    places
        (squares, 3) colours in coordinates in which noise is about alike in all directions.
    """
    if len(places) < _LEAST:
        return None
    if len(places) > _SOME:
        places = places[np.random.default_rng(5).choice(len(places), _SOME, replace=False)]
    own = places.astype(np.float64)
    far = _squared(own - np.median(own, axis=0), _inverse(_moments(own - own.mean(axis=0))))
    own = own[far <= np.quantile(far, 1 - _OUTLIERS)]
    own = own - own.mean(axis=0)
    whole = _moments(own)
    single = -0.5 * float(_squared(own, _inverse(whole)).mean()) - 0.5 * float(np.linalg.slogdet(whole)[1])
    _sizes, axes = np.linalg.eigh(whole)
    best: Two | None = None
    for axis in (2, 1):
        two = _settled(own, (own @ axes[:, axis] > 0).astype(np.float64), single)
        if two is not None and (best is None or two.gain > best.gain):
            best = two
    if best is None:
        return None
    shift = np.median(places, axis=0) - np.median(own, axis=0)
    return Two(middles=best.middles + shift, apart=best.apart, less=best.less, gain=best.gain)


def _settled(own: FloatArray, second: FloatArray, single: float) -> Two | None:
    """Return the heaps that squares begin in, (squares,) their shares in the second, after a few rounds of settling."""
    shares = np.stack([1 - second, second]) * 0.9 + 0.05
    before = -np.inf
    for _round in range(_ROUNDS):
        weights = shares.sum(axis=1)
        if weights.min() < 2:
            return None
        middles = shares @ own / weights[:, None]
        off = own - middles[:, None]
        moments = np.einsum("kn,kni,knj->ij", shares, off, off) / len(own) + _SMALLEST * np.eye(3)
        inverse = _inverse(moments)
        likely = (
            np.log(weights / len(own))[:, None]
            - 0.5 * np.stack([_squared(part, inverse) for part in off])
            - 0.5 * float(np.linalg.slogdet(moments)[1])
        )
        most = likely.max(axis=0)
        total = most + np.log(np.exp(likely - most).sum(axis=0))
        shares = np.exp(likely - total)
        now = float(total.mean())
        if now - before < _SETTLED:
            break
        before = now
    way = middles[1] - middles[0]
    return Two(
        middles=middles,
        apart=float(np.sqrt(way @ inverse @ way)),
        less=float(weights.min() / len(own)),
        gain=float(total.sum() - single * len(own)),
    )


def _moments(off: FloatArray) -> FloatArray:
    return np.asarray(off.T @ off / len(off) + _SMALLEST * np.eye(3))


def _inverse(moments: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.inv(moments), dtype=np.float64)


def _squared(off: FloatArray, inverse: FloatArray) -> FloatArray:
    return np.asarray(((off @ inverse) * off).sum(axis=1))
