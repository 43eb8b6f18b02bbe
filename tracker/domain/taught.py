"""What a weaver's earlier rugs say of her pace. Apart from the sums, so that the first view need not wait for numpy."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Taught:
    """What a weaver's earlier rugs say of her pace, as sums of their words weighted by how sure each is; nothing: none was finished.

    `rate` are the log hours of a plain knot once learnt, `learn` the excess (log) of a rug's first hour.
    """

    rate: float = 0.0
    rate_weight: float = 0.0
    learn: float = 0.0
    learn_weight: float = 0.0
    rugs: int = 0


NOTHING_TAUGHT = Taught()
