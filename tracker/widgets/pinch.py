"""Two fingers on a picture: how far they drag it, how much closer they bring it, and about which place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Pinch:
    """What two fingers did between two moments, in pixels."""

    right: float
    up: float
    factor: float
    """How many times farther apart they are; 1 where they lie on one spot."""
    middle: Place


def pinch_of(before: Iterable[Place], now: Iterable[Place]) -> Pinch:
    """Return what the first two of some fingers did; `before` and `now` name the same fingers in the same order."""
    (ax, ay), (bx, by) = list(before)[:2]
    (cx, cy), (dx, dy) = list(now)[:2]
    apart = hypot(ax - bx, ay - by)
    return Pinch(
        right=(cx + dx - ax - bx) / 2,
        up=(cy + dy - ay - by) / 2,
        factor=hypot(cx - dx, cy - dy) / apart if apart > 1 else 1.0,
        middle=((cx + dx) / 2, (cy + dy) / 2),
    )
