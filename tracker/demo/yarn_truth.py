"""Yarn as it is really used: what the generator knows and the weavers do not."""

from __future__ import annotations

import numpy as np

from tracker.domain.rug import (
    Yarn,
)


class Yarns:
    """Yarn on hand as it really is, known to the generator only: what was bought, knotted in, and how balls end."""

    def __init__(self, yarns: tuple[Yarn, ...], g_each: dict[str, float], rng: np.random.Generator) -> None:
        self.by_id = {yarn.id: yarn for yarn in yarns}
        self.g_each = g_each
        self.rng = rng
        self.bought = dict.fromkeys(g_each, 0.0)
        self.gone = dict.fromkeys(g_each, 0.0)
        self.ball_left = {yarn_id: self._next_ball(yarn_id) for yarn_id in g_each}

    def _next_ball(self, yarn_id: str) -> float:
        return float(self.by_id[yarn_id].unit_mass_g * self.rng.normal(1.0, 0.03))

    def take(self, yarn_id: str, mass_g: float) -> int:
        """Take yarn off the ball in use; return how many balls ended."""
        self.gone[yarn_id] += mass_g
        self.ball_left[yarn_id] -= mass_g
        ended = 0
        while self.ball_left[yarn_id] <= 0:
            ended += 1
            self.ball_left[yarn_id] += self._next_ball(yarn_id)
        return ended

    def left_g(self, yarn_id: str) -> float:
        """Return what is truly left in g."""
        return self.bought[yarn_id] - self.gone[yarn_id]


def to_half(hours: float) -> float:
    return max(0.5, round(2.0 * hours) / 2.0)
