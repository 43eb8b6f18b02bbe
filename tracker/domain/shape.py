"""The shape of the cloth on the loom: what its sides and diagonals say of how it leans and which side is ahead.

The corners of the cloth lie on the first row (its foot) and on the row measured to. Lengths in cm; right is above zero.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

MOST_MISFIT = 0.1
"""Sides and diagonals that put the upper corners further off the width than this share of it are a slip of the tape."""


@dataclass(frozen=True, slots=True)
class Corners:
    """The upper corners of the cloth; its lower left one is (0, 0), its lower right one (foot, 0). All in cm."""

    left_x: float
    left_y: float
    right_x: float
    right_y: float

    @property
    def width_cm(self) -> float:
        """The distance between them."""
        return math.hypot(self.right_x - self.left_x, self.right_y - self.left_y)


def ahead_cm(left_cm: float, right_cm: float) -> float:
    """Return by how much the right side is ahead of the left one, in cm; below zero: the left one is."""
    return right_cm - left_cm


def lean_cm(foot_cm: float, left_cm: float, right_cm: float, rising_cm: float, falling_cm: float) -> float:
    """Return how far the middle of the upper edge stands to the right of the middle of the foot, in cm.

    Parameters
    ----------
    foot_cm
        Width at the first row.
    left_cm, right_cm
        The sides.
    rising_cm, falling_cm
        The diagonals: from lower left to upper right, and from upper left to lower right.

    Notes
    -----
    By the law of cosines the upper corners stand (left^2 + foot^2 - falling^2) / (2 foot) and
    (rising^2 + foot^2 - right^2) / (2 foot) along the foot; this is their middle less foot / 2. For a parallelogram it is
    the side times the cosine of its angle; a cloth whose one side is ahead, with upright edges, does not lean.
    """
    diagonals = (rising_cm - falling_cm) * (rising_cm + falling_cm)
    sides = (left_cm - right_cm) * (left_cm + right_cm)
    return (diagonals + sides) / (4.0 * foot_cm)


def lean_variance_cm2(foot_cm: float, lengths_cm: Sequence[float], variances_cm2: Sequence[float]) -> float:
    """Return the variance of `lean_cm`, in cm^2.

    Parameters
    ----------
    foot_cm
        Width at the first row.
    lengths_cm, variances_cm2
        Both sides and both diagonals, and the variance with which each was read.

    Notes
    -----
    To first order: each reading enters with its own length over 2 foot.
    """
    squares = sum(
        length_cm**2 * variance_cm2 for length_cm, variance_cm2 in zip(lengths_cm, variances_cm2, strict=True)
    )
    return squares / (4.0 * foot_cm**2)


def upper_corners(
    foot_cm: float, left_cm: float, right_cm: float, rising_cm: float, falling_cm: float
) -> Corners | None:
    """Return the upper corners of the cloth; None where such sides and diagonals close no triangle over the foot.

    Parameters are those of `lean_cm`.
    """
    left_x = (left_cm**2 + foot_cm**2 - falling_cm**2) / (2.0 * foot_cm)
    right_x = (rising_cm**2 + foot_cm**2 - right_cm**2) / (2.0 * foot_cm)
    left_y2, right_y2 = left_cm**2 - left_x**2, rising_cm**2 - right_x**2
    if left_y2 <= 0.0 or right_y2 <= 0.0:
        return None
    return Corners(left_x, math.sqrt(left_y2), right_x, math.sqrt(right_y2))


def fits_together(
    foot_cm: float,
    width_cm: float,
    left_cm: float,
    right_cm: float,
    rising_cm: float,
    falling_cm: float,
) -> bool:
    """Tell whether sides and diagonals put the upper corners about as far apart as the cloth is wide there."""
    corners = upper_corners(foot_cm, left_cm, right_cm, rising_cm, falling_cm)
    return corners is not None and abs(corners.width_cm - width_cm) <= MOST_MISFIT * width_cm
