"""How far a colour's part of the rows so far may stray from its share of the rug, where no cartoon tells which rows it lies in."""

from __future__ import annotations

import numpy as np

from tracker.forecast import priors


def strays(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Return how the strays at two heights hang together: covariance (first.size, second.size), as a share of the whole rug's knots.

    Parameters
    ----------
    first, second
        Heights, as shares of the rug: 0 its first row, 1 its last.

    Notes
    -----
    The stray of a colour is what was knotted of it up to a height less its share of those knots: none at the first row nor after the last.
    Most rugs are woven alike from both ends, borders first and last (common practice, no source), so what a colour had too much of at
    first it has too little of after the middle. Both parts are Brownian bridges: that of the rug's half, turned over in the other
    half, and a smaller one of the whole, for the rugs that are not alike.
    """
    a, b = np.clip(first, 0.0, 1.0)[:, None], np.clip(second, 0.0, 1.0)[None, :]
    lopsided = np.minimum(a, b) - a * b
    from_end_a, from_end_b = np.minimum(a, 1.0 - a), np.minimum(b, 1.0 - b)
    mirrored = np.maximum(np.minimum(from_end_a, from_end_b) - 2.0 * from_end_a * from_end_b, 0.0)
    turned = np.where((a > 0.5) == (b > 0.5), 1.0, -1.0)
    return priors.LOPSIDED_SD**2 * lopsided + priors.MIRRORED_SD**2 * turned * mirrored


def strays_ahead(now: float, heights: np.ndarray) -> np.ndarray:
    """Return how far a colour may stray, up to heights above `now`, from lying evenly in all the rows to come, variances (heights.size,).

    Lying evenly, what it has too much or too little of so far goes back to nothing in a straight line.
    """
    here, left = np.array([now]), np.clip((1.0 - heights) / max(1.0 - now, 1e-9), 0.0, 1.0)
    own, with_now = np.diag(strays(heights, heights)), strays(heights, here)[:, 0]
    return np.maximum(own - 2.0 * left * with_now + left**2 * float(strays(here, here)[0, 0]), 0.0)


def strayed_between(heights: np.ndarray) -> np.ndarray:
    """Return how much a colour may stray from each height to the next, variances (heights.size - 1,)."""
    together = strays(heights, heights)
    own = np.diag(together)
    return np.maximum(own[1:] + own[:-1] - 2.0 * np.diag(together, 1), 0.0)
