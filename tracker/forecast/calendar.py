"""The days and hours at the loom: weekday habit, hours, absences, and futures drawn from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from tracker.domain.rug import DaysOff, RugPlan
from tracker.forecast import absences as away
from tracker.forecast import priors
from tracker.forecast.absences import (
    Absences,
    DayRecord,
    hidden_among_entries,
    learn_absences,
    usual_absences,
)
from tracker.forecast.pace import even_normals
from tracker.forecast.sessions import (
    SessionArrays,
    days_of_entry,
    open_from,
    planned_days,
    planned_hours_a_day,
)
from tracker.forecast.spells import Spells, going_on, learn_spells, whole_draws
from tracker.forecast.stats import gamma_from_normal
from tracker.forecast.thresholds import LONGEST_DAY_H, LONGEST_RECORD_DAYS
from tracker.forecast.weekdays import WeekdayBelief, learn_weekdays, scores_ahead
from tracker.forecast.workhours import HoursBelief, learn_hours


@dataclass(frozen=True, slots=True, eq=False)
class Habit:
    """What is known of the days and hours at the loom.

    Attributes
    ----------
    weekdays : the chance of weaving on each weekday, while not absent
    hours : hours of a day woven on
    absences : how often and how long nobody weaves though the habit says so
    planned : bool (7,)
    spells : how days woven on hang together
    """

    weekdays: WeekdayBelief
    hours: HoursBelief
    absences: Absences
    planned: np.ndarray
    spells: Spells

    @property
    def hours_a_day(self) -> float:
        """Mean hours at the loom a calendar day, absences counted, days off not."""
        return float(
            (self.weekdays.mean * self.hours.mean_by_weekday).mean() * (1.0 - self.absences.away_share)
        )


def off_ordinals(days_off: Sequence[DaysOff], first: int, last: int) -> np.ndarray:
    """Days (ordinals) between first and last on which nobody weaves, bool array (last - first + 1,)."""
    off = np.zeros(max(last - first + 1, 0), dtype=bool)
    for span in days_off:
        start = max(span.first_day.toordinal() - first, 0)
        off[start : max(span.last_day.toordinal() - first + 1, start)] = True
    return off


def day_record(
    sessions: SessionArrays, hours: np.ndarray, planned: np.ndarray, days_off: Sequence[DaysOff], today: date
) -> DayRecord:
    """Lay the sessions out on the days; today counts only when it was woven on: an evening to come was not missed.

    Parameters
    ----------
    sessions : at least one
    hours : hours of each session with odd ones mended, (sessions,)
    planned : bool (7,); an entry that stands for several days is spread over the planned ones among them
    days_off : days known beforehand
    today : the last day of which the record can speak
    """
    first = int(sessions.first_day[0])
    last = open_from(sessions, today, today).toordinal() - 1
    count = last - first + 1
    laid = np.zeros(count)
    entry = np.arange(count)
    single = sessions.first_day == sessions.day
    np.add.at(laid, sessions.day[single] - first, hours[single])
    for place in np.flatnonzero(~single).tolist():
        span = days_of_entry(planned, days_off, int(sessions.first_day[place]), int(sessions.day[place]))
        laid[span - first] += hours[place] / sessions.days_woven[place]
        entry[span - first] = span[-1] - first
    # A record of centuries, by a year mistyped or a clock gone wrong, says no more of today's habit than its last years.
    newest = int(np.flatnonzero(laid > 0)[-1]) if laid.any() else 0
    laid = laid[: newest + LONGEST_RECORD_DAYS]
    begun = max(laid.size - LONGEST_RECORD_DAYS, 0)
    begun += int(np.argmax(laid[begun:] > 0))
    first, laid, entry = first + begun, laid[begun:], entry[begun : laid.size]
    wove = laid > 0
    off = off_ordinals(days_off, first, first + laid.size - 1)
    return DayRecord(first, wove, np.minimum(laid, LONGEST_DAY_H), off & ~wove, entry)


@dataclass(frozen=True, slots=True)
class EarlierHabit:
    """What a weaver's earlier rugs taught of her days: see `earlier_habit`."""

    hours_ratio: float
    """Mean log(real hours of a day / planned)."""
    hours_sd: float
    absences: Absences
    hits: np.ndarray
    """Days woven by weekday, as far as they are believed to go on, (7,)."""
    misses: np.ndarray


def learn_habit(
    plan: RugPlan,
    sessions: SessionArrays,
    usual_hours: np.ndarray,
    days_off: Sequence[DaysOff],
    today: date,
    earlier: EarlierHabit | None = None,
) -> Habit:
    """Learn the weaver's days and hours from the record, shrunk to the planned week.

    Parameters
    ----------
    plan, sessions : the plan and the record
    usual_hours : hours of each session with odd ones mended, (sessions,)
    days_off : days known beforehand
    today : the last day of which the record can speak
    earlier : what this weaver's earlier rugs taught; None: none
    """
    planned = planned_days(plan)
    believed = earlier.absences if earlier else usual_absences(plan.weavers_planned)
    shift, shift_sd = (
        (earlier.hours_ratio, earlier.hours_sd)
        if earlier
        else (priors.HOURS_PLAN_SHIFT, priors.HOURS_PLAN_SD)
    )
    level = math.log(planned_hours_a_day(plan)) + shift
    before = (earlier.hits, earlier.misses) if earlier else (np.zeros(7), np.zeros(7))
    if not sessions.size:
        return Habit(
            learn_weekdays(None, None, planned, before),
            learn_hours(None, level, shift_sd),
            believed,
            planned,
            learn_spells(None, None, np.zeros(7), 0.0),
        )
    record = day_record(sessions, usual_hours, planned, days_off, today)
    absences, here = learn_absences(record, planned, believed)
    absences = hidden_among_entries(absences, record, sessions.entry_days)
    untold = not sessions.given.any()
    weekdays = learn_weekdays(record, here, planned, before)
    return Habit(
        weekdays,
        learn_hours(record, math.log(priors.DAY_UNTOLD_H) if untold else level, shift_sd, untold),
        absences,
        planned,
        learn_spells(record, here, weekdays.mean, weekdays.run_weeks),
    )


def earlier_habit(books: Sequence[tuple[RugPlan, SessionArrays, Sequence[DaysOff]]]) -> EarlierHabit | None:
    """What this weaver's earlier rugs taught of her days and hours; None without any that say something.

    Parameters
    ----------
    books : plan, sessions and days off of each earlier rug, oldest first

    Notes
    -----
    Absences are hers, whatever the rug: they count in full. Her weekdays may be others now: they count for
    a few weeks, `priors.EARLIER_WEEKS`.
    """
    weights, ratios = [], []
    absences: Absences | None = None
    hits, misses = np.zeros(7), np.zeros(7)
    for plan, sessions, days_off in books:
        if sessions.size < priors.EARLIER_LEAST_SESSIONS:
            continue
        planned = planned_days(plan)
        end = date.fromordinal(int(sessions.day.max()))
        record = day_record(sessions, sessions.hours, planned, days_off, end)
        absences, here = learn_absences(record, planned, absences or usual_absences(plan.weavers_planned))
        weeks = record.size / 7.0
        fade = min(1.0, priors.EARLIER_WEEKS / weeks)
        tries = np.bincount(record.weekday, here, minlength=7) * fade
        hits = np.asarray(np.bincount(record.weekday, record.woven, minlength=7) * fade)
        misses = np.maximum(tries - hits, 0.0)
        if sessions.given.any():
            given = sessions.given
            own = np.log(sessions.hours[given] / sessions.days_woven[given])
            ratios.append(float(own.mean()) - math.log(planned_hours_a_day(plan)))
            # One evening of many with hours says little of them all.
            weights.append(min(1.0, own.size / priors.OWN_HOURS_FROM))
    if absences is None:
        return None
    prior, own_precision = priors.HOURS_PLAN_SD**-2, priors.EARLIER_HOURS_SD**-2
    precision = prior + own_precision * sum(weights)
    return EarlierHabit(
        own_precision * float(np.dot(weights, ratios)) / precision,
        math.hypot(precision**-0.5, priors.EARLIER_HOURS_NEW_SD) if ratios else priors.HOURS_PLAN_SD,
        absences,
        hits,
        misses,
    )


# --------------------------------------------------------------------------------------------- futures

BLOCK_DAYS = 64
NEAR_DAYS = 126
"""Days ahead whose luck hangs together from day to day."""
OWN_LUCK, SHORT, LONG, NORMAL, NEAR_LUCK = 1, 2, 4, 3, 5
"""Kinds of draws that belong to calendar days."""


@lru_cache(maxsize=96)
def _block(seed: int, kind: int, block: int, futures: int) -> np.ndarray:
    rng = np.random.default_rng([seed, kind, block])
    shape = (futures, BLOCK_DAYS)
    if kind in (NORMAL, OWN_LUCK, NEAR_LUCK):
        return rng.standard_normal(shape, dtype=np.float32)
    return rng.random(shape, dtype=np.float32)


@lru_cache(maxsize=96)
def _near_block(seed: int, block: int, futures: int) -> np.ndarray:
    before, now = (_block(seed, NEAR_LUCK, number, futures) for number in (block - 1, block))
    return going_on(np.concatenate([before[:, -16:], now], axis=1))


class _Begun:
    """The block in which the last day lies that `let_go_of_past` was told."""

    block = 0


def let_go_of_past(today: date) -> None:
    """Forget what was drawn for days, once a block of them is over; what is still ahead is drawn again as it was.

    Nothing else lets go of it while a rug is woven, and a rug of two years fills what is kept.
    """
    block = today.toordinal() // BLOCK_DAYS
    if block > _Begun.block:
        _Begun.block = block
        _block.cache_clear()
        _near_block.cache_clear()


def _keyed(seed: int, kind: int, first: int, days: int, futures: int) -> np.ndarray:
    """Draws (futures, days) that belong to calendar days: tomorrow's forecast meets the same days again.

    Without that, the middle date would flicker from day to day by the noise of the draws.
    """
    blocks = range(first // BLOCK_DAYS, (first + days - 1) // BLOCK_DAYS + 1)
    skip = first - (first // BLOCK_DAYS) * BLOCK_DAYS
    if kind == NEAR_LUCK:
        drawn = [_near_block(seed, block, futures) for block in blocks]
    else:
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
    scores = even_normals(futures, 5, rng)
    slices = np.stack([(rng.permutation(futures) + 0.5) / futures for _ in range(14)])
    waits = rng.exponential(1.0, (3, futures))

    # Where weeks differ, the score of a usual week is raised so that over all weeks the chance is the weekday's.
    spread, standing = habit.spells.weeks(days // 7, futures, seed)
    level = scores_ahead(habit.weekdays.draw(slices[:9]), days // 7)
    level *= np.hypot(1.0, spread).astype(np.float32)[:, None, None]
    level += standing[:, :, None]
    near = _keyed(seed, NEAR_LUCK, first, min(days, NEAR_DAYS), futures)
    luck = habit.spells.luck(_keyed(seed, OWN_LUCK, first, days, futures), near, seed)
    wove = luck.reshape(weekly) < level[:, :, weekday]
    wove = wove.reshape(futures, days)
    wove &= ~off
    wove &= _there(habit.absences, first, days, seed, scores[:, 1:4], slices[9:11])

    hours = _keyed(seed, NORMAL, first, days, futures)
    hours *= np.float32(math.hypot(habit.hours.day_sd, extra_sd))
    by_week = hours.reshape(weekly)
    # A record's days need not lie evenly about their middle: the mean is the learnt one.
    level = habit.hours.draw(slices[11], scores[:, 0]) + habit.hours.shape - habit.hours.day_sd**2 / 2.0
    by_week += (level[:, None] + habit.hours.by_weekday).astype(np.float32)[:, None, weekday]
    by_week += _season(days // 7, futures, seed)[:, :, None]
    # Changes of habit to come: each replaces the one before.
    smallest, largest = np.log(priors.HABIT_CHANGE_RANGE)
    since = np.cumsum(waits * priors.HABIT_CHANGE_DAYS, axis=0)
    sizes = smallest + (largest - smallest) * slices[11:14]
    hours += _laid_out(np.diff(sizes, axis=0, prepend=0.0), since, days)
    np.exp(hours, out=hours)
    np.minimum(hours, np.float32(priors.LONGEST_SESSION_H), out=hours)
    hours *= wove
    return hours


def _laid_out(steps: np.ndarray, since: np.ndarray, days: int) -> np.ndarray:
    """Lay changes out on the days: the sum of those begun, float32 (futures, days).

    Parameters
    ----------
    steps, since : what each change adds, and the day from which on, rising, (changes, futures)
    """
    held = np.cumsum(steps.astype(np.float32), axis=0)
    held = np.concatenate([np.zeros((1, held.shape[1]), dtype=np.float32), held])
    begins = np.minimum(since, days).astype(int)
    lasts = np.diff(begins, axis=0, prepend=0, append=days)
    return np.repeat(held.T.ravel(), lasts.T.ravel()).reshape(-1, days)


def _there(
    absences: Absences, first: int, days: int, seed: int, scores: np.ndarray, slices: np.ndarray
) -> np.ndarray:
    """Draw the days on which the weaver is not absent, bool (futures, days)."""
    futures = scores.shape[0]
    excess = absences.long_excess_days * np.exp(priors.LONG_ABSENCE_EXCESS_SD * scores[:, 2])
    gone = np.zeros(futures * days, dtype=bool)
    hazards = (
        (SHORT, gamma_from_normal(absences.short_shape, scores[:, 0]) / absences.short_days),
        (LONG, gamma_from_normal(absences.long_shape, scores[:, 1]) / absences.long_days),
    )
    for kind, hazard in hazards:
        drawn = _keyed(seed, kind, first, days, futures)
        place = np.flatnonzero(drawn < hazard[:, None].astype(np.float32))
        who = place // days
        # A draw that fell below the hazard is even between nothing and the hazard: it also gives the length.
        u = np.minimum(drawn.ravel()[place] / hazard[who], 0.9999)
        if kind == SHORT:
            lengths = away.LENGTHS[np.minimum(np.searchsorted(away.LENGTH_CLIMB, u), away.LENGTHS.size - 1)]
        else:
            lengths = away.LONGEST_SHORT + away.rest_of_long(u, excess[who])
        _mark(gone, place, np.minimum(np.ceil(lengths), days - place % days))
    # One may be under way today: the longer it has lasted, the longer it will.
    u, luck = slices
    lasted = absences.gap_days - away.LONGEST_SHORT
    now = np.where(u < absences.now_long, max(-lasted, 0) + away.rest_of_long(luck, excess, lasted), 0.0)
    is_short = (u >= absences.now_long) & (u < absences.now_long + absences.now_short)
    left = np.maximum(away.LENGTHS - absences.gap_days, 0)
    odds = np.cumsum(away.LENGTH_CHANCE * (absences.gap_days <= away.LENGTHS))
    if odds[-1] > 0:
        place = np.minimum(np.searchsorted(odds / odds[-1], luck), left.size - 1)
        now = np.where(is_short, left[place], now)
    _mark(gone, np.arange(futures) * days, np.minimum(np.ceil(now), days))
    return ~gone.reshape(futures, days)


def _mark(days: np.ndarray, first: np.ndarray, length: np.ndarray) -> None:
    """Mark runs of days, each `length` long from its `first` place on; bool (all futures' days in a row,)."""
    count = length.astype(int)
    before = np.cumsum(count) - count
    days[np.repeat(first - before, count) + np.arange(int(count.sum()))] = True


def _season(weeks: int, futures: int, seed: int) -> np.ndarray:
    """Slow ups and downs of the hours (log) from today on: harvest, feasts, heat, exams, (futures, weeks)."""
    return np.ascontiguousarray(_season_drawn(whole_draws(weeks), futures, seed)[:, :weeks])


@lru_cache(maxsize=4)
def _season_drawn(weeks: int, futures: int, seed: int) -> np.ndarray:
    """The same for all weeks that are drawn.

    They begin at nothing, for the record's last weeks already hold the season of today.
    """
    keep = math.exp(-7.0 / priors.SEASON_DAYS)
    step = priors.SEASON_SD * math.sqrt(1.0 - keep**2)
    rng = np.random.default_rng([seed, 31])
    shocks = rng.standard_normal((weeks, futures))
    out = np.zeros((weeks, futures))
    for week in range(1, weeks):
        out[week] = keep * out[week - 1] + step * shocks[week]
    drawn = out.T.astype(np.float32)
    drawn.flags.writeable = False
    return drawn
