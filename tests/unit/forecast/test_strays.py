"""How a colour strays from its share: what its law says by itself, and against walks drawn step by step."""

from __future__ import annotations

import numpy as np
import pytest

from tracker.forecast import priors
from tracker.forecast.strays import strayed_between, strays, strays_ahead


def test_strays_agree_with_walks_drawn_step_by_step():
    rng, steps, many = np.random.default_rng(3), 40, 40_000

    def bridge(count: int, sd: float) -> np.ndarray:
        walk = np.cumsum(rng.standard_normal((many, count)) * sd / np.sqrt(steps), axis=1)
        return walk - walk[:, -1:] * (np.arange(count) + 1) / count

    half = bridge(steps // 2, priors.MIRRORED_SD)
    # Woven alike from both ends: what the first half had more of, the second has less of, in the opposite order.
    mirrored = np.concatenate([half, -half[:, -2::-1], np.zeros((many, 1))], axis=1)
    drawn = mirrored + bridge(steps, priors.LOPSIDED_SD)
    heights = (np.arange(steps) + 1) / steps
    assert strays(heights, heights) == pytest.approx(np.cov(drawn.T, ddof=0), abs=4e-4)
    moved = np.diff(drawn, axis=1, prepend=0.0)
    assert strayed_between(np.concatenate([[0.0], heights])) == pytest.approx(moved.var(axis=0), rel=0.04)
    # From 30 % on, against what then lies evenly in the rest.
    now, later = 11, heights[12:]
    off = drawn[:, 12:] - drawn[:, now : now + 1] * (1.0 - later) / (1.0 - heights[now])
    assert strays_ahead(float(heights[now]), later) == pytest.approx(off.var(axis=0), rel=0.04, abs=1e-6)


def test_nothing_strays_at_either_end():
    ends, between = np.array([0.0, 1.0, 1.2]), np.linspace(0.0, 1.0, 7)
    assert strays(ends, between) == pytest.approx(np.zeros((3, 7)), abs=1e-12)
