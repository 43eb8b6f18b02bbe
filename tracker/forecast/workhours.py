"""The hours of a day woven on: a level that may change, each weekday's own part, and how much days differ."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tracker.forecast import priors
from tracker.forecast.absences import DayRecord
from tracker.forecast.changepoints import run_weights
from tracker.forecast.stats import middle_of

MOST_BLOCKS = 40
MOST_RUNS = 6
AROUND = 9
"""Days woven on, over which the usual hours of the time are taken."""


@dataclass(frozen=True, slots=True, eq=False)
class HoursBelief:
    """Hours of a day woven on.

    Attributes
    ----------
    weight : (runs,) chance of each beginning of the present way
    level, level_sd : (runs,) mean log hours, and how well it is known
    by_weekday : (7,) a weekday's own part of the log hours
    day_sd : spread (log) of single days
    shape : log(mean hours / middle hours) of single days
    """

    weight: np.ndarray
    level: np.ndarray
    level_sd: np.ndarray
    by_weekday: np.ndarray
    day_sd: float
    shape: float

    @property
    def usual(self) -> float:
        """Typical hours of a day woven on."""
        return math.exp(float(self.weight @ self.level))

    @property
    def mean_by_weekday(self) -> np.ndarray:
        """Mean hours of a day woven on, (7,)."""
        return self.usual * np.exp(self.by_weekday + self.shape)

    def draw(self, slices: np.ndarray, scores: np.ndarray) -> np.ndarray:
        """Draw levels (log hours) from even draws and normal scores, each (futures,)."""
        run = np.minimum(np.searchsorted(np.cumsum(self.weight), slices), self.weight.size - 1)
        return self.level[run] + self.level_sd[run] * scores


def learn_hours(record: DayRecord | None, level: float, level_sd: float, untold: bool = False) -> HoursBelief:
    """Learn the hours of a day woven on.

    Parameters
    ----------
    record : the days so far; None before the first session
    level, level_sd : belief about the mean log hours before the record
    untold : the record has no hours of its own, and each day counts the same: taken as it is, since the pace was learnt by the
        same hours

    Notes
    -----
    How long the present way has held is decided by the record alone, so that the plan pulls every run the same way: more
    planned hours never mean fewer.
    """
    if record is None:
        even = priors.HOURS_SD**2 / 2.0
        return HoursBelief(
            np.ones(1), np.array([level]), np.array([level_sd]), np.zeros(7), priors.HOURS_SD, even
        )
    ours = np.flatnonzero(record.wove)
    weekday = record.weekday[ours]
    log_hours = np.log(np.maximum(record.hours[ours], priors.LEAST_DAY_H))
    middle = middle_of(log_hours)
    near = _near_median(log_hours)
    gap = log_hours - near
    day_var = _day_variance(log_hours, gap, record.entry[ours], untold)
    # A single evening out of all habit is drawn in; several in a row move the median and are a habit.
    reach = priors.ODD_EVENING_REACH * math.sqrt(day_var)
    tamed = near + np.clip(gap, -reach, reach)
    held = np.bincount(weekday, minlength=7)
    own = np.bincount(weekday, tamed - near, minlength=7)
    by_weekday = own / (held + priors.WEEKDAY_HOURS_STRENGTH)
    rest = tamed - by_weekday[weekday]
    weeks = -(-record.size // 7)
    step = -(-weeks // MOST_BLOCKS)
    block = ours // (7 * step)
    blocks = int(-(-record.size // (7 * step)))
    n = np.bincount(block, minlength=blocks).astype(float)
    total = np.bincount(block, rest, minlength=blocks)
    known = np.where(n > 0, n / (day_var + n * priors.WEEK_SD**2 / step), 0.0)
    value = np.where(n > 0, total / np.maximum(n, 1.0), 0.0)
    weight, start = _runs(known, value, middle, step)
    info = np.array([known[s:].sum() for s in start])
    gained = np.array([(known[s:] * value[s:]).sum() for s in start])
    before = np.array([_mean_before(known, value, s, level) for s in start])
    spread = np.where(start == 0, level_sd, priors.HABIT_CHANGE_SD)
    prior = spread**-2.0
    if untold:
        prior = prior * 1e-6
    # The plan has its say in every run, as strongly as before the record.
    pull = np.where(start == 0, 0.0, level_sd**-2.0 * priors.PLAN_AFTER_CHANGE)
    precision = prior + info + pull
    mean = (prior * np.where(start == 0, level, before) + gained + pull * level) / precision
    # Days of one entry were given the same hours: what they may lie above their middle is a matter of entries.
    even = day_var * np.unique(record.entry[ours]).size / ours.size
    shape = _shape(log_hours - near, rest - near, by_weekday[weekday], even)
    return HoursBelief(weight, mean, precision**-0.5, by_weekday, math.sqrt(day_var), shape)


def _shape(gap: np.ndarray, tamed: np.ndarray, own: np.ndarray, variance: float) -> float:
    """Log(mean / middle) of a day's hours, shrunk to what an even spread (log) would make it.

    Parameters
    ----------
    gap : log hours of each day woven on less the usual ones of its time
    tamed : the same as the level is learnt from it: odd days drawn in, the weekday's own part taken off
    own : the weekday's own part
    variance : variance of single days, or of entries where one stands for several
    """
    over = np.sort(np.minimum(np.exp(gap - own - float(tamed.mean())), priors.HOURS_SHAPE_MOST))
    over[0] = over[min(1, over.size - 1)]  # one short evening does not say how often there is one
    strength = priors.HOURS_SHAPE_STRENGTH
    return math.log((strength * math.exp(variance / 2.0) + float(over.sum())) / (strength + over.size))


def _near_median(values: np.ndarray) -> np.ndarray:
    if values.size <= AROUND:
        return np.full(values.size, middle_of(values))
    padded = np.pad(values, AROUND // 2, mode="reflect")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, AROUND), axis=1)


def _day_variance(log_hours: np.ndarray, gap: np.ndarray, entry: np.ndarray, untold: bool) -> float:
    """Variance of single days about their time, shrunk to the usual one.

    Days of one entry were given the same hours, so they do not differ though days do: entries are compared, and days differ by so
    much more as there are days in one. Such hours also hold the evenings that were missed, which a week of few of them
    must not turn into a new habit.
    """
    _entries, begins, days = np.unique(entry, return_index=True, return_counts=True)
    log_hours, gap, many = log_hours[begins], gap[begins], middle_of(days)
    count = log_hours.size
    usual = priors.HOURS_SD**2
    if many > 1.0 and not untold:
        usual += (1.0 - priors.PRESENCE) / priors.PRESENCE
    if count >= 3:
        steps = np.diff(log_hours)
        robust = (1.4826 * middle_of(np.abs(steps))) ** 2 / 2.0
        if count <= AROUND:
            # Of few steps the two round one odd evening are half: beside the middle of all it is one of them.
            robust = min(robust, (1.4826 * middle_of(np.abs(gap))) ** 2)
        spread = 0.5 * robust + 0.5 * min(float((steps**2).mean()) / 2.0, 4.0 * robust + 0.02)
        spread = min(spread, float((gap**2).mean()) * 1.5 + 1e-4) * many
    else:
        spread = usual
    return (priors.HOURS_STRENGTH * usual + count * spread) / (priors.HOURS_STRENGTH + count)


def _mean_before(known: np.ndarray, value: np.ndarray, start: int, otherwise: float) -> float:
    weight = known[:start]
    return float((weight * value[:start]).sum() / weight.sum()) if weight.sum() > 0 else otherwise


def _runs(known: np.ndarray, value: np.ndarray, middle: float, step: int) -> tuple[np.ndarray, np.ndarray]:
    """Chances of the likely beginnings of the present way, and their blocks."""
    blocks = known.size
    climb = np.concatenate(
        [np.zeros((3, 1)), np.cumsum([known, known * value, known * value**2], axis=1)], axis=1
    )
    start, end = np.triu_indices(blocks, 0)
    info, first, second = climb[:, end + 1] - climb[:, start]
    before = np.where(climb[0, start] > 0, climb[1, start] / np.maximum(climb[0, start], 1e-12), middle)
    prior = np.where(start == 0, priors.FIRST_LEVEL_SD, priors.HABIT_CHANGE_SD) ** -2.0
    shifted = second - 2.0 * before * first + before**2 * info
    quadratic = shifted - (first - before * info) ** 2 / (info + prior)
    table = np.zeros((blocks, blocks + 1))
    # What a block says by itself is the same for every run that holds it, and weighs none against another.
    table[start, end + 1] = -0.5 * quadratic + 0.5 * np.log(prior / (prior + info))
    weight = run_weights(table, min(7.0 * step / priors.HABIT_CHANGE_DAYS, 0.5))
    best = np.sort(np.argsort(weight)[::-1][:MOST_RUNS])
    return weight[best] / weight[best].sum(), best
