"""Since when has the present way held? Chances of every possible day of the last change, from how well each explains the record."""

from __future__ import annotations

import math

import numpy as np


def run_weights(log_marginal: np.ndarray, hazard: float) -> np.ndarray:
    """Chance that the present run began at the start of each block.

    Parameters
    ----------
    log_marginal : (blocks, blocks + 1); entry [s, e] is the log marginal likelihood of the blocks s up to before e, when a run
        began with block s. Entries with e <= s are not read.
    hazard : chance that a block begins a new run, 0 to 1

    Returns
    -------
    float array (blocks,)
        Sums to one.

    Notes
    -----
    The run keeps going with chance 1 - hazard, or a new one begins; each is weighed by what it said of the next block.

    References
    ----------
    R. P. Adams, D. J. C. MacKay, "Bayesian online changepoint detection", 2007, arXiv:0710.3742 (from memory).
    """
    blocks = log_marginal.shape[0]
    weight = np.zeros(blocks)
    weight[0] = 1.0
    for block in range(1, blocks):
        said = np.exp(log_marginal[:block, block] - _before(log_marginal, block - 1))
        carried = weight[:block] * said
        total = float(carried.sum())
        if not total > 0.0 or not math.isfinite(total):
            carried, total = weight[:block].copy(), float(weight[:block].sum())
        weight[:block] = (1.0 - hazard) * carried / total
        weight[block] = hazard
    last = np.exp(log_marginal[:, blocks] - _before(log_marginal, blocks - 1))
    weight = weight * last
    return weight / weight.sum() if weight.sum() > 0 else np.full(blocks, 1.0 / blocks)


def _before(log_marginal: np.ndarray, block: int) -> np.ndarray:
    """Log marginal of each run up to before `block`; 0 for the run that begins with it."""
    before = log_marginal[: block + 1, block].copy()
    before[block] = 0.0
    return before
