"""The real row height from lengths measured on the loom, the final length, and a warning while it can be mended."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tracker.domain.rug import Measurement, RugPlan
from tracker.forecast import priors
from tracker.forecast.stats import kalman_predict, kalman_update


@dataclass(frozen=True, slots=True, eq=False)
class Cloth:
    """State of the cloth at row `row`: [length in cm, row height in cm] and its covariance (2, 2)."""

    row: int
    mean: np.ndarray
    covariance: np.ndarray
    measured: int

    @property
    def rows_per_10cm(self) -> float:
        """Rows in 10 cm as the weaver beats them now."""
        return 10.0 / max(float(self.mean[1]), 1e-6)


def moved(rows: int, drift: float) -> tuple[np.ndarray, np.ndarray]:
    """Return transition and noise of [value, change in a row] over so many rows.

    Parameters
    ----------
    rows : rows woven on the way
    drift : variance by which the change in a row wanders with every row, like a random walk
    """
    step = np.array([[1.0, float(rows)], [0.0, 1.0]])
    n = float(rows)
    return step, drift * np.array([[n**3 / 3.0, n**2 / 2.0], [n**2 / 2.0, n]])


def _drift(height_cm: float) -> float:
    """Variance by which the row height, in cm, wanders with every row."""
    return (priors.PITCH_DRIFT_SD * height_cm) ** 2 / 100.0


def read_cloth(plan: RugPlan, measurements: Sequence[Measurement], row_now: int) -> Cloth:
    """Filter the measured lengths (a Kalman filter with length and row height) and carry the state to `row_now`.

    Parameters
    ----------
    plan : gives the planned row height
    measurements : in order; those past `row_now` (rows since unpicked) are left out
    row_now : rows on the loom

    Returns
    -------
    Cloth
    """
    height = 10.0 / max(plan.rows_per_10cm, 1e-6)
    mean = np.array([0.0, height])
    covariance = np.diag([1e-8, (priors.PITCH_SD * height) ** 2])
    row, used = 0, 0
    for item in sorted(measurements, key=lambda m: m.row):
        if item.row <= 0 or item.row > max(row_now, 1) or item.length_cm <= 0:
            continue
        move, noise = moved(max(item.row - row, 0), _drift(height))
        mean, covariance = kalman_predict(mean, covariance, move, noise)
        variance = (
            priors.MEASURE_SD_CM**2
            + item.resolution_cm**2 / 12.0
            + (priors.MEASURE_SD_SHARE * item.length_cm) ** 2
        )
        mean, covariance, _likelihood = kalman_update(
            mean, covariance, np.array([1.0, 0.0]), item.length_cm, variance
        )
        row, used = item.row, used + 1
    move, noise = moved(max(row_now - row, 0), _drift(height))
    mean, covariance = kalman_predict(mean, covariance, move, noise)
    return Cloth(max(row_now, row), mean, covariance, used)


def final_length(cloth: Cloth, rows: int) -> tuple[float, float]:
    """Mean and standard deviation of the length in cm at the last row."""
    move, noise = moved(max(rows - cloth.row, 0), _drift(float(cloth.mean[1])))
    mean, covariance = kalman_predict(cloth.mean, cloth.covariance, move, noise)
    return float(mean[0]), math.sqrt(max(float(covariance[0, 0]), 0.0))


def rows_for_length(cloth: Cloth, length_cm: float) -> int:
    """Rows the rug will have when the weaver weaves on to `length_cm` at the present beat."""
    return cloth.row + max(math.ceil((length_cm - float(cloth.mean[0])) / float(cloth.mean[1]) - 1e-6), 0)


def density_to_mend(cloth: Cloth, rows: int, length_cm: float) -> float | None:
    """Rows per 10 cm at which the rest must be beaten to end at `length_cm`; None when nothing is left."""
    left_cm, left = length_cm - float(cloth.mean[0]), rows - cloth.row
    if left <= 0 or left_cm <= 0:
        return None
    return left / left_cm * 10.0
