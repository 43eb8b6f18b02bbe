"""What a weaver's earlier rugs say of her pace and of her yarn. Apart from the sums, so that the first view need not wait for numpy."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class TaughtUse:
    """What one finished rug says of the pile yarn that this weaver's knots take."""

    rug_name: str
    ratio: float
    """What was used over what a plan counts by the length of a knot, all colours together."""
    knots_per_10cm: float
    rows_per_10cm: float
    tex: float
    """Fineness of its pile."""
