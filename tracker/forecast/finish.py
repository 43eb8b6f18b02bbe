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
from tracker.forecast.stats import middle_of, quantiles
from tracker.forecast.thresholds import FARTHEST_DAYS

FUTURES = 400
MOST_DAYS = 1400
MOST_DAYS_WITH_OFF = 7 * 1000
"""Days of which as many as wanted are not off: nineteen years."""
LEAST_TEAM_POWER = 0.1
"""A record of few sessions may say that more hands do less; a team is never reckoned as that much in each other's way."""


@dataclass(frozen=True, slots=True, eq=False)
class Futures:
    """The day (ordinal, float) on whose evening each mark is reached: `days` (futures, marks), `rows` (marks,)."""

    days: np.ndarray
    rows: np.ndarray
    hours_left: float
    weavers: float
    """Size of the steady team that does, in the mean, what those of the months to come do."""

    def quantile(self, mark: int, share: float) -> float:
        """Quantile of the day of one mark."""
        return quantiles(self.days[:, mark], share)[0]


@dataclass(frozen=True, slots=True)
class TeamAhead:
    """The team of the months to come."""

    sizes: np.ndarray
    """Sizes between which a month chooses, each as likely; the last one is that of the month begun today."""
    stays: float = 0.0
    """Chance that a month has the team of the month before, and does not choose."""

    def steady(self, months: int, power: float) -> float:
        """Return the size of the steady team that does, in the mean, what those of so many months do."""
        strength = self.sizes**power
        today = float(np.mean(self.stays ** np.arange(1, months + 1)))
        return float(today * strength[-1] + (1.0 - today) * strength.mean()) ** (1.0 / power)


def team_ahead(sessions: SessionArrays, weavers_planned: int, power: float) -> TeamAhead:
    """Say which teams the months to come may have.

    A month's size is that of the steady team that would have done its work: a hand who comes one evening in four counts
    for a quarter, whoever sat there last. The record gives one a month, drawn towards the whole record's where it holds few
    sessions. How far the team of a session still speaks for later ones is learnt: sessions in a row have the same team more
    often than chance has it (Cohen's kappa of each session with the next), and that falls off from session to session. A record that
    names nobody has all this in its rows already.

    Parameters
    ----------
    power
        A team of n does the work of n to this power.

    References
    ----------
    J. Cohen, "A coefficient of agreement for nominal scales", Educational and Psychological Measurement 20 (1960), 37-46.
    From memory.
    """
    if not sessions.size:
        return TeamAhead(np.array(planned_team(weavers_planned)))
    if not sessions.team_told:
        return TeamAhead(sessions.team[-1:])
    strength = sessions.team**power
    usual = float(strength @ sessions.hours / sessions.hours.sum())
    span = sessions.day[-1] - sessions.day[0] + 1
    month = (sessions.day - sessions.day[0] - span) // priors.TEAM_DAYS
    _months, month = np.unique(month, return_inverse=True)
    worth = priors.TEAM_MONTH_SESSIONS * float(sessions.hours.mean())
    hours = np.bincount(month, sessions.hours) + worth
    months = (np.bincount(month, strength * sessions.hours) + worth * usual) / hours
    kappa = _agreement(sessions.team)
    in_a_month = max(sessions.size * min(priors.TEAM_DAYS / span, 1.0), 1.0)
    stays = kappa**in_a_month
    share = (1.0 - stays) / (in_a_month * (1.0 - kappa))
    today = share * float(strength[-1]) + (1.0 - share) * float(months[-1])
    return TeamAhead(np.append(months[-6:], today) ** (1.0 / power), stays)


def _agreement(team: np.ndarray) -> float:
    """Cohen's kappa of each session's team with the next one's, with what is believed beforehand: 0 to below 1."""
    _sizes, counts = np.unique(team, return_counts=True)
    by_chance = float(((counts / team.size) ** 2).sum())
    alike = float((team[1:] == team[:-1]).mean()) if team.size > 1 else 1.0
    kappa = 1.0 if counts.size == 1 else max((alike - by_chance) / (1.0 - by_chance), 0.0)
    steps, believed = team.size - 1, priors.TEAM_GOES_ON_SESSIONS
    return (kappa * steps + priors.TEAM_GOES_ON * believed) / (steps + believed)


def _with_room(open_days: int, days_off: Sequence[DaysOff], start: int) -> tuple[int, np.ndarray]:
    """Return how many days are woven, whole weeks, so that as many as wanted are not off, and which of them are.

    Beyond them the rest is reckoned by the rate so far, which days off known beforehand must not be part of.
    """
    days = open_days
    off = off_ordinals(days_off, start, start + days - 1)
    while (missing := open_days - int((~off).sum())) > 0 and days < MOST_DAYS_WITH_OFF:
        days = min(days + 7 * math.ceil(missing / 7.0), MOST_DAYS_WITH_OFF)
        off = off_ordinals(days_off, start, start + days - 1)
    return days, off


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
    power_now = max(float(fit.weight @ fit.mean[:, 2]), LEAST_TEAM_POWER)
    ahead = team_ahead(sessions, weavers_planned, power_now)
    sizes = ahead.sizes
    alike = bool(np.all(sizes == sizes[-1]))
    strength = float((sizes**power_now).mean())
    mean_day = max(habit.hours_a_day * strength, 0.02)
    middle = middle_of(need[:, -1]) / mean_day
    start = first.toordinal()
    open_days = 7 * math.ceil(min(max(1.45 * middle + 45.0, 60.0), MOST_DAYS) / 7.0)
    days, off = _with_room(open_days, days_off, start)
    done = draw_days(habit, off, start, fit.session_sd, futures, seed, rng)

    # Drift and team, in blocks of a week.
    weeks = days // 7
    keep = math.exp(-7.0 / priors.DRIFT_DAYS)
    sd = fit.drift_sd[draws.node]
    shock = np.random.default_rng([seed, 12]).standard_normal((weeks, futures))
    shock *= math.sqrt(1 - keep**2) * sd
    gain = np.empty((weeks, futures))
    drift = draws.drift
    team = np.full(futures, sizes[-1])
    by_team = draws.team_power * np.log(team)
    crew = np.random.default_rng([seed, 13])
    for w in range(weeks):
        if not alike and w and w % 4 == 0:
            chosen = sizes[crew.integers(0, sizes.size, futures)]
            team = np.where(crew.random(futures) < ahead.stays, team, chosen)
            by_team = draws.team_power * np.log(team)
        np.subtract(by_team, drift, out=gain[w])
        drift = keep * drift + shock[w]
    by_week = done.reshape(futures, weeks, 7)
    by_week *= np.exp(gain).astype(np.float32).T[:, :, None]
    cumulative = np.cumsum(done, axis=1, out=done)
    between = np.stack(
        [climb.searchsorted(goal) for climb, goal in zip(cumulative, need.astype(np.float32), strict=True)]
    )
    total = cumulative[:, -1:].astype(float)
    beyond = need > total
    rate = np.maximum(total / days, 0.3 * mean_day)
    reached = np.where(beyond, days + (need - total) / rate, between)
    steady = ahead.steady(max(round(middle / priors.TEAM_DAYS), 1), power_now)
    hours_left = hours_of_rows(belief_of(fit), changes_per_knot_ahead, [steady], begun)
    hours_left *= sessions.hour_scale
    return Futures(start + np.minimum(reached, float(FARTHEST_DAYS)), marks, hours_left, steady)
