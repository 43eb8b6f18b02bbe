"""How the cloth's width, sides and lean go on: from what was measured to the last row, with how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tracker.domain.finished_size import tolerance_cm, width_left
from tracker.domain.material import cloth_width_cm
from tracker.domain.rug import Measurement, RugPlan
from tracker.domain.shape import ahead_cm, lean_cm, lean_variance_cm2
from tracker.forecast import priors
from tracker.forecast.answers import Course, ShapeAnswer
from tracker.forecast.cloth import moved
from tracker.forecast.stats import kalman_predict, kalman_update


@dataclass(frozen=True, slots=True)
class Reading:
    """Something read off the cloth at a row: its value in cm and the variance of the reading in cm^2."""

    row: int
    value_cm: float
    variance_cm2: float


def reading_variance_cm2(length_cm: float, resolution_cm: float) -> float:
    """Return the variance of one reading of the tape, in cm^2: the hand, the tape's step and the length measured.

    What stretches the cloth or the tape lengthens both sides alike and drops out of their difference.
    """
    return priors.TAPE_SD_CM**2 + resolution_cm**2 / 12.0 + (priors.TAPE_SD_SHARE * length_cm) ** 2


def foot_width_cm(plan: RugPlan, measurements: Sequence[Measurement]) -> float:
    """Return the width at the first row, in cm: as measured in the first 10 cm, else as planned."""
    widths = [
        (item.row, item.born, item.width_cm)
        for item in measurements
        if item.width_cm is not None and item.row <= plan.rows_per_10cm
    ]
    return min(widths)[2] if widths else cloth_width_cm(plan)


def widths(measurements: Sequence[Measurement]) -> tuple[Reading, ...]:
    """Return every width that was measured."""
    return tuple(
        Reading(item.row, item.width_cm, reading_variance_cm2(item.width_cm, item.resolution_cm))
        for item in measurements
        if item.width_cm is not None
    )


def sides_ahead(measurements: Sequence[Measurement]) -> tuple[Reading, ...]:
    """Return by how much the right side was ahead, wherever both sides were measured."""
    return tuple(
        Reading(
            item.row,
            ahead_cm(item.left_cm, item.right_cm),
            sum(
                reading_variance_cm2(side_cm, item.resolution_cm) for side_cm in (item.left_cm, item.right_cm)
            ),
        )
        for item in measurements
        if item.left_cm is not None and item.right_cm is not None
    )


def leans(plan: RugPlan, measurements: Sequence[Measurement]) -> tuple[Reading, ...]:
    """Return how far the cloth leaned to the right, wherever both sides and both diagonals were measured."""
    foot = foot_width_cm(plan, measurements)
    told = []
    for item in measurements:
        if item.left_cm is None or item.right_cm is None or item.rising_cm is None or item.falling_cm is None:
            continue
        lengths = (item.left_cm, item.right_cm, item.rising_cm, item.falling_cm)
        variances = tuple(reading_variance_cm2(read_cm, item.resolution_cm) for read_cm in lengths)
        told.append(Reading(item.row, lean_cm(foot, *lengths), lean_variance_cm2(foot, lengths, variances)))
    return tuple(told)


def follow(
    readings: Sequence[Reading], start_cm: float, start_sd_cm: float, slope_sd: float, row_now: int, rows: int
) -> Course | None:
    """Filter readings (a Kalman filter with value and slope) from the first row to the last.

    Parameters
    ----------
    readings
        Those past `row_now` (rows since unpicked) are left out.
    start_cm, start_sd_cm
        What is believed at the first row, in cm.
    slope_sd
        Spread of the change in a row, in cm; over the whole rug the change itself drifts by as much.
    row_now, rows
        Rows on the loom, and rows of the whole rug.

    Returns
    -------
    Course or None
        None without a reading.
    """
    told = sorted((item for item in readings if 0 < item.row <= row_now), key=lambda item: item.row)
    if not told:
        return None
    drift = slope_sd**2 / max(rows, 1)
    mean = np.array([start_cm, 0.0])
    covariance = np.diag([start_sd_cm**2, slope_sd**2])
    row = 0
    for item in told:
        mean, covariance = kalman_predict(mean, covariance, *moved(item.row - row, drift))
        mean, covariance, _likelihood = kalman_update(
            mean, covariance, np.array([1.0, 0.0]), item.value_cm, item.variance_cm2
        )
        row = item.row
    now, now_spread = kalman_predict(mean, covariance, *moved(row_now - row, drift))
    end, end_spread = kalman_predict(now, now_spread, *moved(max(rows - row_now, 0), drift))
    last_row = told[-1].row
    return Course(
        readings=len(told),
        last_row=last_row,
        last_cm=told[-1].value_cm,
        last_end_cm=told[-1].value_cm + float(now[1]) * max(rows - last_row, 0),
        last_sd_cm=math.sqrt(told[-1].variance_cm2),
        now_cm=float(now[0]),
        now_sd_cm=math.sqrt(max(float(now_spread[0, 0]), 0.0)),
        end_cm=float(end[0]),
        end_sd_cm=math.sqrt(max(float(end_spread[0, 0]), 0.0)),
    )


def read_shape(
    plan: RugPlan, measurements: Sequence[Measurement], row_now: int, rows: int
) -> ShapeAnswer | None:
    """Say how wide the cloth is, which side is ahead and how it leans, now and at the last row.

    Parameters
    ----------
    plan
        Gives the width on the loom and what the customer's width may differ by.
    measurements
        Everything measured on the loom.
    row_now, rows
        Rows on the loom, and rows of the whole rug.

    Returns
    -------
    ShapeAnswer or None
        None where neither a width nor both sides were measured.
    """
    planned = cloth_width_cm(plan)
    length_cm = rows * 10.0 / plan.rows_per_10cm
    every_row = 1.0 / max(rows, 1)
    width = follow(
        widths(measurements), planned, priors.WIDTH_START_SD * planned, priors.WIDTH_SLOPE_SD * planned * every_row,
        row_now, rows,
    )  # fmt: skip
    slope_sd = math.hypot(priors.SIDES_SLOPE_SD * length_cm, priors.SIDES_LEAST_SD_CM) * every_row
    ahead = follow(sides_ahead(measurements), 0.0, 0.0, slope_sd, row_now, rows)
    lean = follow(leans(plan, measurements), 0.0, 0.0, slope_sd, row_now, rows)
    if width is None and ahead is None:
        return None
    return ShapeAnswer(
        planned_width_cm=planned,
        allowed_width_cm=tolerance_cm(plan.width_cm) / width_left(plan),
        width=width,
        ahead=ahead,
        lean=lean,
        rows_left=max(rows - row_now, 0),
    )
