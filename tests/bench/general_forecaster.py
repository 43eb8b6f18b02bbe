"""A general forecaster beside ours: exponential smoothing of the rows a day with a week's season, from statsmodels; a test's reference only.

It is given the days as they are, days without weaving counted as no rows, and knows nothing of plans, hours or learning.
"""

from __future__ import annotations

import warnings
from datetime import date

import numpy as np

from tracker.domain.rug import RugBook

LEAST_WEEKS = 2
"""Fewer weeks of record have no season of the week."""
FUTURES = 200
LONGEST = 4.0
"""Futures run to so many times the straight line's days, and count as done then: a wild one is no worse than that."""


def general_days(book: RugBook, today: date, rows: int, straight: float, seed: int) -> np.ndarray | None:
    """Draw the days to the last row, rising; None where the record is too short to smooth.

    Parameters
    ----------
    book : the record up to the evening of `today`
    rows : rows of the whole rug
    straight : days left by a straight line, which sets how far the futures run
    seed : start of the draws

    References
    ----------
    R. J. Hyndman, G. Athanasopoulos, Forecasting: Principles and Practice, chapter 8 (from memory): ETS(A, N, A), and ETS(A, N, N)
    where the record is shorter than two weeks.
    """
    from statsmodels.tsa.holtwinters import ExponentialSmoothing

    first = book.sessions[0].day.toordinal()
    gained = np.zeros(today.toordinal() - first + 1)
    for session in book.woven_sessions:
        gained[session.day.toordinal() - first] += session.rows
    if gained.size < 5 or np.ptp(gained) == 0:
        return None
    weekly = gained.size >= 7 * LEAST_WEEKS
    days = int(np.clip(LONGEST * straight, 30, 2000))
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # not every short record converges, and the draws' argument changes its name
        fit = ExponentialSmoothing(
            gained, seasonal="add" if weekly else None, seasonal_periods=7 if weekly else None
        ).fit()
        drawn = fit.simulate(
            days, anchor="end", repetitions=FUTURES, random_state=np.random.default_rng(seed)
        )
    climb = np.cumsum(np.asarray(drawn).reshape(days, -1), axis=0)
    there = climb >= rows - book.rows_woven
    return np.sort(np.where(there.any(axis=0), there.argmax(axis=0) + 1.0, float(days)))
