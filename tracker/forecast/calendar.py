"""The days and hours at the loom: weekday habit, days off, absences and changes of habit, and futures drawn from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from tracker.domain.rug import DaysOff, RugPlan
from tracker.forecast import priors
from tracker.forecast.pace import Diary, even_normals, planned_hours_a_day
from tracker.forecast.stats import gamma_from_normal

ABSENCE_DAYS_SD = 0.35
"""Spread (log) of a weaver's mean length of absences about the learnt one."""

WEEK_SD = 0.06
HOURS_CAUTION = 1.25
"""Weeks differ (log) beyond their days, and the spread of days is itself only estimated: both keep a few short
evenings from being taken for a new habit."""

PRESENCE_GRID = np.array(
    [0.08, 0.18, 0.28, 0.38, 0.48, 0.57, 0.65, 0.72, 0.78, 0.84, 0.89, 0.93, 0.96, 0.985]
)
"""Chances of weaving on a planned day between which the record chooses."""


@dataclass(frozen=True, slots=True, eq=False)
class Habit:
    """What is known of the days and hours, as a mixture over the day of the last change of habit.

    Attributes
    ----------
    weight : (nodes,) chance of each possible length of the habit of today
    log_hours, log_hours_sd : (nodes,) mean log hours of a day at the loom, and how well it is known
    presence : (nodes, grid) chance of each value of PRESENCE_GRID
    weekday_log_hours : (7,) a weekday's own part of the log hours
    weekday_logit : (7,) a weekday's own part of the chance of weaving (log odds), planned days
    other : (7,) chance of weaving on days outside the planned week, nan on planned days
    day_sd : spread (log) of single days' hours
    absence_shape, absence_rate : Gamma belief of the hazard of an absence, a day
    absence_days : mean length
    absent_now : chance that an absence is under way
    gap_days : days since the last session
    planned : bool (7,)
    evenings_missed_7d : planned days of the last seven without a session
    """

    weight: np.ndarray
    log_hours: np.ndarray
    log_hours_sd: np.ndarray
    presence: np.ndarray
    weekday_log_hours: np.ndarray
    weekday_logit: np.ndarray
    other: np.ndarray
    day_sd: float
    absence_shape: float
    absence_rate: float
    absence_days: float
    absent_now: float
    gap_days: int
    planned: np.ndarray


def off_ordinals(days_off: Sequence[DaysOff], first: int, last: int) -> np.ndarray:
    """Days (ordinals) between first and last on which nobody weaves, bool array (last - first + 1,)."""
    off = np.zeros(max(last - first + 1, 0), dtype=bool)
    for span in days_off:
        start = max(span.first_day.toordinal() - first, 0)
        off[start : max(span.last_day.toordinal() - first + 1, start)] = True
    return off


def _logit(p: np.ndarray) -> np.ndarray:
    p = np.clip(p, 1e-4, 1 - 1e-4)
    return np.log(p / (1 - p))


def learn_habit(
    plan: RugPlan,
    diary: Diary,
    usual_hours: np.ndarray,
    days_off: Sequence[DaysOff],
    today: date,
    earlier_ratio: tuple[float, float] | None = None,
) -> Habit:
    """Learn the weaver's days and hours from the record, shrunk to the planned week.

    Parameters
    ----------
    plan, diary : the plan and the record
    usual_hours : hours of each session with odd ones mended, shape (sessions,)
    days_off : days known beforehand
    today : the last day of which the record can speak
    earlier_ratio : mean and spread of log(real hours a day / planned) in this weaver's earlier rugs

    Returns
    -------
    Habit

    Notes
    -----
    Changes of habit follow R. P. Adams and D. J. C. MacKay, "Bayesian online changepoint detection", 2007,
    arXiv:0710.3742, week by week: normal log hours with known spread, and a grid over the chance of weaving.
    Gaps that the habit makes improbable count as absences and are kept out of the habit.
    """
    planned = np.zeros(7, dtype=bool)
    planned[[d for d in plan.weekdays if 0 <= d < 7]] = True
    if not planned.any():
        planned[:] = True
    shift, shift_sd = earlier_ratio or (0.0, priors.HOURS_PLAN_SD)
    base_mean = math.log(planned_hours_a_day(plan)) + shift
    base_sd = shift_sd
    a0 = priors.PRESENCE_PLANNED * priors.PRESENCE_STRENGTH
    b0 = priors.PRESENCE_STRENGTH - a0
    grid_prior = PRESENCE_GRID ** (a0 - 1) * (1 - PRESENCE_GRID) ** (b0 - 1) * np.gradient(PRESENCE_GRID)
    grid_prior = grid_prior / grid_prior.sum()
    other_prior = np.where(planned, np.nan, priors.PRESENCE_OTHER)
    every = priors.ABSENCE_EVERY_DAYS * math.sqrt(max(plan.weavers_planned, 1))
    nothing = Habit(
        weight=np.ones(1), log_hours=np.array([base_mean]), log_hours_sd=np.array([base_sd]),
        presence=grid_prior[None], weekday_log_hours=np.zeros(7), weekday_logit=np.zeros(7), other=other_prior,
        day_sd=priors.HOURS_SD, absence_shape=priors.ABSENCE_EVERY_STRENGTH,
        absence_rate=priors.ABSENCE_EVERY_STRENGTH * every, absence_days=priors.ABSENCE_DAYS,
        absent_now=0.0, gap_days=0, planned=planned,
    )  # fmt: skip
    if not diary.size:
        return nothing
    first = int(diary.day[0])
    last = max(today.toordinal(), int(diary.day[-1]))
    if int(diary.day[-1]) < last:
        last -= 1  # today is not over: an evening not yet woven is not an evening missed
    last = max(last, int(diary.day[-1]))
    count = last - first + 1
    hours = np.bincount(diary.day - first, usual_hours, minlength=count)
    wove = hours > 0
    weekday = (np.arange(first, last + 1) - 1) % 7
    off = off_ordinals(days_off, first, last) & ~wove

    # Absences: gaps that the habit alone would hardly make.
    chance = np.where(planned, priors.PRESENCE_PLANNED, priors.PRESENCE_OTHER)
    woven_days = np.flatnonzero(wove)
    ends = np.append(woven_days, count)
    gap_from, gap_to = ends[:-1] + 1, ends[1:]  # half open
    gap_len = gap_to - gap_from
    here = np.zeros(count)
    away = np.zeros(gap_len.size)
    hazard, length = 1.0 / every, priors.ABSENCE_DAYS
    gap_of = np.cumsum(wove) - 1
    for _ in range(3):
        stay = np.where(off, 0.0, np.log1p(-np.minimum(chance[weekday], 0.995)))
        run = np.concatenate([[0.0], np.cumsum(stay)])
        log_plain = run[gap_to] - run[gap_from]
        free = np.maximum(gap_len - np.bincount(gap_of, off, minlength=gap_len.size), 0.0)
        # An absence just as long as the gap; the gap still open only has to be outlasted.
        log_away = math.log(hazard * 2.0 / length) - free / (1.5 * length)
        log_away[-1] += math.log(0.75 * length)
        away = np.where(free >= 2, 1.0 / (1.0 + np.exp(np.clip(log_plain - log_away, -50, 50))), 0.0)
        here = np.where(wove, 1.0, np.where(off, 0.0, 1.0 - away[gap_of]))
        # The first evening starts the record and says nothing of how often there is one.
        tries = np.bincount(weekday[1:], here[1:], minlength=7)
        hits = np.bincount(weekday[1:], wove[1:], minlength=7)
        pooled = (hits[planned].sum() + a0) / (tries[planned].sum() + a0 + b0)
        chance = np.where(
            planned,
            (hits + priors.WEEKDAY_STRENGTH * pooled) / (tries + priors.WEEKDAY_STRENGTH),
            (hits + priors.PRESENCE_OTHER * priors.PRESENCE_OTHER_STRENGTH)
            / (tries + priors.PRESENCE_OTHER_STRENGTH),
        )
    # The gap that is still open has not shown its length.
    closed = away[:-1]
    absence_days = (priors.ABSENCE_DAYS * priors.ABSENCE_STRENGTH + float(closed @ gap_len[:-1])) / (
        priors.ABSENCE_STRENGTH + float(closed.sum())
    )

    # Hours: a weekday's own part, then the level week by week.
    log_hours = np.log(np.maximum(hours, 0.05))
    ours = np.flatnonzero(wove)
    mean_all = float(log_hours[ours].mean())
    held = np.bincount(weekday[ours], minlength=7)
    own = np.bincount(weekday[ours], log_hours[ours] - mean_all, minlength=7)
    weekday_log_hours = own / (held + 6.0)
    residual = log_hours[ours] - weekday_log_hours[weekday[ours]]
    level = residual - mean_all
    if ours.size >= 3:
        steps = np.diff(residual)
        spread = (1.4826 * float(np.median(np.abs(steps)))) ** 2 / 2.0 * 0.5 + float((steps**2).mean()) / 4.0
        spread = min(spread, float((level**2).mean()) * 1.5 + 1e-4)
    else:
        spread = priors.HOURS_SD**2
    day_var = (priors.HOURS_STRENGTH * priors.HOURS_SD**2 + ours.size * spread) / (
        priors.HOURS_STRENGTH + ours.size
    )
    relative = _logit(chance) - _logit(np.array(pooled))
    weekday_logit = np.where(planned, relative, 0.0)

    week = (np.arange(first, last + 1) - first) // 7
    weeks = int(week[-1]) + 1
    week_n = np.bincount(week[ours], minlength=weeks).astype(float)
    week_sum = np.bincount(week[ours], residual, minlength=weeks)
    ask = planned[weekday]
    ask[0] = False
    week_hit = np.bincount(week[ask], wove[ask], minlength=weeks)
    week_miss = np.bincount(week[ask], here[ask] * ~wove[ask], minlength=weeks)

    # Run lengths, week by week.
    log_grid, log_off = np.log(PRESENCE_GRID), np.log1p(-PRESENCE_GRID)
    hazard_week = 7.0 / priors.HABIT_CHANGE_DAYS
    smallest, largest = np.log(priors.HABIT_CHANGE_RANGE)
    change_mean, change_sd = 0.5 * (smallest + largest), (largest - smallest) / math.sqrt(12.0)
    weight = np.ones(1)
    mean, var = np.array([base_mean]), np.array([base_sd**2])
    presence = grid_prior[None].copy()
    for w in range(weeks):
        if w:
            now_mean = float(weight @ mean)
            now_grid = 0.6 * (weight @ presence) + 0.4 * grid_prior
            weight = np.append(weight * (1 - hazard_week), hazard_week)
            mean = np.append(mean, now_mean + change_mean)
            var = np.append(var, change_sd**2)
            presence = np.vstack([presence, now_grid])
        likely = np.exp(week_hit[w] * log_grid + week_miss[w] * log_off)
        presence = presence * likely
        score = presence.sum(axis=1)
        presence = presence / score[:, None]
        log_weight = np.log(np.maximum(score, 1e-300))
        n = week_n[w]
        if n:
            total = var + day_var * HOURS_CAUTION / n + WEEK_SD**2
            gap = week_sum[w] / n - mean
            # One evening of the week may have been an odd one, which says nothing of the habit.
            odd = min(priors.ODD_EVENING * n, 0.4)
            wide = total + (priors.ODD_EVENING_SD / n) ** 2
            plain_like = (1.0 - odd) * np.exp(-0.5 * gap**2 / total) / np.sqrt(total)
            odd_like = odd * np.exp(-0.5 * gap**2 / wide) / np.sqrt(wide)
            both = np.maximum(plain_like + odd_like, 1e-300)
            log_weight = log_weight + np.log(both)
            gain = (plain_like / total + odd_like / wide) / both * var
            mean = mean + gain * gap
            var = var * (1 - gain)
        weight = weight * np.exp(log_weight - log_weight.max())
        weight = weight / weight.sum()
        if weight.size > 24:  # drop the least likely run length
            worst = int(np.argmin(weight))
            keep = np.arange(weight.size) != worst
            weight, mean, var, presence = weight[keep], mean[keep], var[keep], presence[keep]
            weight = weight / weight.sum()
    return Habit(
        weight=weight,
        log_hours=mean,
        log_hours_sd=np.sqrt(var),
        presence=presence,
        weekday_log_hours=weekday_log_hours,
        weekday_logit=weekday_logit,
        other=np.where(planned, np.nan, chance),
        day_sd=math.sqrt(day_var),
        absence_shape=priors.ABSENCE_EVERY_STRENGTH + float(closed.sum()),
        absence_rate=priors.ABSENCE_EVERY_STRENGTH * every + count,
        absence_days=absence_days,
        absent_now=float(away[-1]) if gap_len[-1] > 0 else 0.0,
        gap_days=int(gap_len[-1]),
        planned=planned,
    )


def earlier_hours_ratio(books: Sequence[tuple[RugPlan, Diary]]) -> tuple[float, float] | None:
    """Mean and spread of log(real hours a day / planned) over this weaver's earlier rugs; None without any."""
    found = []
    for plan, diary in books:
        if diary.size < 8 or not diary.given.any():
            continue
        found.append(
            float(np.log(np.maximum(diary.hours[diary.given], 0.05)).mean())
            - math.log(planned_hours_a_day(plan))
        )
    if not found:
        return None
    prior, own = priors.HOURS_PLAN_SD**-2, 0.17**-2
    precision = prior + own * len(found)
    return own * sum(found) / precision, math.sqrt(1.0 / precision + 0.12**2)


BLOCK_DAYS = 64
PRESENT, ABSENT, NORMAL = 1, 2, 3
"""Kinds of draws that belong to calendar days."""


@lru_cache(maxsize=72)
def _block(seed: int, kind: int, block: int, futures: int) -> np.ndarray:
    rng = np.random.default_rng([seed, kind, block])
    shape = (futures, BLOCK_DAYS)
    if kind == NORMAL:
        return rng.standard_normal(shape, dtype=np.float32)
    return rng.random(shape, dtype=np.float32)


def _keyed(seed: int, kind: int, first: int, days: int, futures: int) -> np.ndarray:
    """Draws (futures, days) that belong to calendar days: tomorrow's forecast meets the same days again.

    Without that, the middle date would flicker from day to day by the noise of the draws.
    """
    blocks = range(first // BLOCK_DAYS, (first + days - 1) // BLOCK_DAYS + 1)
    skip = first - (first // BLOCK_DAYS) * BLOCK_DAYS
    drawn = [_block(seed, kind, block, futures) for block in blocks]
    drawn[0] = drawn[0][:, skip:]
    over = sum(part.shape[1] for part in drawn) - days
    drawn[-1] = drawn[-1][:, : drawn[-1].shape[1] - over]
    return np.concatenate(drawn, axis=1)


def draw_days(
    habit: Habit,
    off: np.ndarray,
    first: int,
    extra_sd: float,
    futures: int,
    seed: int,
    rng: np.random.Generator,
) -> np.ndarray:
    """Draw the hours at the loom for many futures.

    Parameters
    ----------
    habit : what is known of days and hours
    off : bool (days,), days off known beforehand, from day `first` (an ordinal) on; whole weeks
    extra_sd : spread (log) of a session's pace, which acts on its output as the hours do
    futures : number of futures
    seed : draws that belong to calendar days are keyed by it
    rng : draws that belong to a future as a whole

    Returns
    -------
    float32 array (futures, days): hours a day
    """
    days = off.size
    weekday = (np.arange(first, first + 7) - 1) % 7
    weekly = (futures, days // 7, 7)
    # Every draw below is made whatever the record says, so that a changed record meets the same luck.
    scores = even_normals(futures, 3, rng)
    slices = np.stack([(rng.permutation(futures) + 0.5) / futures for _ in range(5)])
    waits = rng.exponential(1.0, (4, futures))

    node = np.minimum(np.searchsorted(np.cumsum(habit.weight), slices[0]), habit.weight.size - 1)
    level = habit.log_hours[node] + habit.log_hours_sd[node] * scores[:, 0]
    climbed = np.cumsum(habit.presence, axis=1)[node]
    at = np.minimum((climbed < slices[1][:, None]).sum(axis=1), PRESENCE_GRID.size - 1)
    logit = _logit(PRESENCE_GRID)[at][:, None] + habit.weekday_logit
    chance = np.where(habit.planned, 1.0 / (1.0 + np.exp(-logit)), np.nan_to_num(habit.other))
    presence = _keyed(seed, PRESENT, first, days, futures).reshape(weekly)
    wove = (presence < chance.astype(np.float32)[:, None, weekday]).reshape(futures, days)
    wove &= ~off

    # Absences: begin anywhere, last exponentially; one may be under way today.
    hazard = gamma_from_normal(habit.absence_shape, scores[:, 1]) / habit.absence_rate
    mean_len = habit.absence_days * np.exp(ABSENCE_DAYS_SD * scores[:, 2])
    chances = _keyed(seed, ABSENT, first, days, futures)
    until = np.zeros((futures, days), dtype=np.float32)
    who, when = np.nonzero(chances < hazard[:, None].astype(np.float32))
    # A draw that fell below the hazard is even between nothing and the hazard: it also gives the length.
    lengths = -np.log1p(-np.minimum(chances[who, when] / hazard[who], 0.9999)) * mean_len[who]
    until[who, when] = when + 1.0 + lengths
    still = slices[2] < habit.absent_now
    until[:, 0] = np.maximum(until[:, 0], np.where(still, waits[0] * mean_len, 0.0))
    np.maximum.accumulate(until, axis=1, out=until)
    wove &= until <= np.arange(days, dtype=np.float32)

    hours = _keyed(seed, NORMAL, first, days, futures)
    hours *= np.float32(math.hypot(habit.day_sd, extra_sd))
    by_week = hours.reshape(weekly)
    by_week += (level[:, None] + habit.weekday_log_hours).astype(np.float32)[:, None, weekday]
    # Changes of habit to come: each replaces the one before.
    smallest, largest = np.log(priors.HABIT_CHANGE_RANGE)
    since = np.cumsum(waits[1:] * priors.HABIT_CHANGE_DAYS, axis=0)
    sizes = smallest + (largest - smallest) * slices[2:5]
    for future in np.flatnonzero(since[0] < days).tolist():
        starts = np.minimum(since[:, future], days).astype(int)
        hours[future, starts[0] : starts[1]] += sizes[0, future]
        hours[future, starts[1] : starts[2]] += sizes[1, future]
        hours[future, starts[2] :] += sizes[2, future]
    np.exp(hours, out=hours)
    np.minimum(hours, np.float32(16.0), out=hours)
    hours *= wove
    return hours


def expected_hours_a_day(habit: Habit) -> float:
    """Mean hours at the loom a calendar day, absences counted, days off not."""
    presence = habit.weight @ (habit.presence @ PRESENCE_GRID)
    logit = _logit(np.array(presence)) + habit.weekday_logit
    chance = np.where(habit.planned, 1.0 / (1.0 + np.exp(-logit)), np.nan_to_num(habit.other))
    level = float(habit.weight @ habit.log_hours) + habit.day_sd**2 / 2.0
    away = habit.absence_shape / habit.absence_rate * habit.absence_days
    return float((chance * np.exp(level + habit.weekday_log_hours)).mean() / (1.0 + away))
