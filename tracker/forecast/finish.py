"""When the rug is done: many futures woven at once, and what they say about dates and marks on the way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain.rug import DaysOff
from tracker.domain.work import hours_of_rows, planned_team
from tracker.forecast import priors
from tracker.forecast.calendar import Habit, draw_days, off_ordinals
from tracker.forecast.pace import PaceFit, belief_of, draw_pace, hours_to_rows
from tracker.forecast.sessions import SessionArrays

FUTURES = 400
MOST_DAYS = 1400


@dataclass(frozen=True, slots=True, eq=False)
class Futures:
    """The day (ordinal, float) on whose evening each mark is reached: `days` (futures, marks), `rows` (marks,)."""

    days: np.ndarray
    rows: np.ndarray
    hours_left: float

    def quantile(self, mark: int, share: float) -> float:
        """Quantile of the day of one mark."""
        return float(np.quantile(self.days[:, mark], share))


def team_sizes(sessions: SessionArrays, weavers_planned: int) -> np.ndarray:
    """Sizes of the team between which a future month chooses, each as likely; the last one is today's.

    The record gives one a month. A team of several was not always whole, nor will it be: until months of
    record say otherwise, one month in two is expected to be one hand short. A record that names nobody has such
    months in its rows already.
    """
    if not sessions.size:
        return np.array(planned_team(weavers_planned))
    month = (sessions.day - sessions.day[-1]) // priors.TEAM_DAYS
    ends = np.append(np.flatnonzero(np.diff(month)), sessions.size - 1)
    months = sessions.team[ends]
    whole = max(float(np.median(sessions.team)), 1.0)
    if not sessions.team_told:
        return np.array([whole])
    if whole < 2.0:
        return months[-6:]
    return np.concatenate([[whole, whole - 1.0], months[-6:], [float(months[-1])]])


def weave_futures(
    fit: PaceFit,
    habit: Habit,
    sessions: SessionArrays,
    changes_per_knot_ahead: np.ndarray,
    row_now: int,
    marks: np.ndarray,
    days_off: Sequence[DaysOff],
    first: date,
    seed: int,
    futures: int = FUTURES,
    weavers_planned: int = 1,
    begun: float = 0.0,
) -> Futures:
    """Weave many futures and note the day on which each mark is reached.

    Parameters
    ----------
    fit, habit : pace and calendar as learnt
    sessions : the record, for the sizes of the team
    changes_per_knot_ahead : colour changes per knot of the rows to come, (rows left,), not empty
    row_now : rows on the loom
    marks : rows (counted from the start of the rug) whose days are wanted, rising, the last one the last row
    days_off : days known beforehand
    first : the first day that can still be woven on
    seed : start of all draws
    futures : number of futures
    weavers_planned : size of the team by the plan
    begun : share of the first row to come that is tied already

    Returns
    -------
    Futures
    """
    rng = np.random.default_rng([seed, 11])
    draws = draw_pace(fit, futures, rng)
    need = hours_to_rows(
        fit,
        draws,
        changes_per_knot_ahead,
        np.clip(marks - row_now - 1, 0, changes_per_knot_ahead.size - 1),
        begun,
    )
    sizes = team_sizes(sessions, weavers_planned)
    alike = bool(np.all(sizes == sizes[-1]))
    power_now = float(fit.weight @ fit.mean[:, 2])
    strength = float((sizes**power_now).mean())
    mean_day = max(habit.hours_a_day * strength, 0.02)
    middle = float(np.median(need[:, -1])) / mean_day
    days = 7 * math.ceil(min(max(1.45 * middle + 45.0, 60.0), MOST_DAYS) / 7.0)
    start = first.toordinal()
    off = off_ordinals(days_off, start, start + days - 1)
    done = draw_days(habit, off, start, fit.session_sd, futures, seed, rng)

    # Drift and team, in blocks of a week.
    weeks = days // 7
    keep = math.exp(-7.0 / priors.DRIFT_DAYS)
    sd = fit.drift_sd[draws.node]
    shock = np.random.default_rng([seed, 12]).standard_normal((weeks, futures))
    gain = np.empty((futures, weeks))
    drift = draws.drift
    team = np.full(futures, sizes[-1])
    crew = np.random.default_rng([seed, 13])
    for w in range(weeks):
        if not alike and w and w % 4 == 0:
            team = sizes[crew.integers(0, sizes.size, futures)]
        gain[:, w] = draws.team_power * np.log(team) - drift
        drift = keep * drift + math.sqrt(1 - keep**2) * sd * shock[w]
    by_week = done.reshape(futures, weeks, 7)
    by_week *= np.exp(gain).astype(np.float32)[:, :, None]
    cumulative = np.cumsum(done, axis=1, out=done)
    between = np.stack(
        [climb.searchsorted(goal) for climb, goal in zip(cumulative, need.astype(np.float32), strict=True)]
    )
    total = cumulative[:, -1:].astype(float)
    beyond = need > total
    rate = np.maximum(total / days, 0.3 * mean_day)
    reached = np.where(beyond, days + (need - total) / rate, between)
    hours_left = hours_of_rows(belief_of(fit), changes_per_knot_ahead, sizes.tolist(), begun)
    hours_left *= sessions.hour_scale
    return Futures(start + np.minimum(reached, 30000.0), marks, hours_left)
