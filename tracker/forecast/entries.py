"""Does an entry stand for one day at the loom, or for all since the entry before? Weighed by the dates, hours and rows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tracker.domain.rug import DaysOff, RugPlan
from tracker.domain.work import log_plain_row_hours
from tracker.forecast import priors
from tracker.forecast.thresholds import REGULAR_FROM


@dataclass(frozen=True, slots=True, eq=False)
class Entries:
    """The days on which something was entered, oldest first; every array (days,)."""

    day: np.ndarray
    """Ordinals, rising."""
    hours: np.ndarray
    """Hours entered for the day."""
    given: np.ndarray
    """bool: hours were entered."""
    rows: np.ndarray
    """Rows gained by the day's entries."""


@dataclass(frozen=True, slots=True)
class SlowBook:
    """A book in which one entry stands for several days."""

    entry_days: int
    """Usual days from one entry to the next; no entry stands for more."""
    day_hours: float
    """Hours of a day at the loom, as the entries have it."""


def slow_book(
    plan: RugPlan, planned: np.ndarray, days_off: Sequence[DaysOff], entries: Entries
) -> SlowBook | None:
    """Say whether entries stand for several days, and for how many at most; None when each is one session.

    Parameters
    ----------
    plan : the plan
    planned : bool (7,), its weekdays
    days_off : days known beforehand
    entries : at least one

    Notes
    -----
    Every way of keeping the book is weighed by how likely it makes dates, hours and, where hours are left out, rows: each session by
    itself, or all of so many days at once. Hours are held against `priors.DAY_UNTOLD_H` a day whatever the plan says, which must
    not have a say in it, and rows against the usual pace; a common factor is left open for each.
    """
    day = entries.day
    begun = min(plan.start_day.toordinal(), int(day[0]))
    span = np.arange(begun, int(day[-1]) + 1)
    is_open = planned[(span - 1) % 7]
    for off in days_off:
        is_open &= (span < off.first_day.toordinal()) | (span > off.last_day.toordinal())
    climb = np.concatenate([[0], np.cumsum(is_open)])

    def open_days(reach: int) -> np.ndarray:
        first = np.concatenate([[begun], np.maximum(day[:-1] + 1, day[1:] - reach + 1)])
        first[0] = max(begun, day[0] - reach + 1)
        return np.maximum(climb[day - begun + 1] - climb[first.astype(int) - begun], 1).astype(float)

    gaps = np.diff(day)
    missed = climb[day[1:] - begun] - climb[day[:-1] + 1 - begun]
    level = math.log(priors.DAY_UNTOLD_H)
    row = log_plain_row_hours(plan, plan.knots_across * plan.tied_share) + priors.ENTRY_ROW_OVER_PLAIN
    row -= priors.TEAM_POWER * math.log(max(plan.weavers_planned, 1))
    told, untold = entries.given, ~entries.given & (entries.rows > 0)
    by_hours = np.log(np.maximum(entries.hours[told], priors.LEAST_DAY_H)) - level
    by_rows = np.log(entries.rows[untold]) + row - level

    def amounts(days: np.ndarray) -> float:
        """Log density of hours and rows when entries stand for so many days at the loom."""
        hours = by_hours - np.log(days[told])
        rows = by_rows - np.log(days[untold])
        return _alike(hours, *priors.ENTRY_HOURS_SDS) + _alike(rows, *priors.ENTRY_ROWS_SDS)

    single = _dates_of_sessions(missed, is_open[day[1:] - begun]) + amounts(np.ones(day.size))
    # Distances that differ more often than not are those of evenings.
    ways = [
        (days, chance)
        for days, chance in priors.ENTRY_DAYS
        if not gaps.size or float((gaps == days).mean()) >= REGULAR_FROM
    ]
    if not ways:
        return None
    weighed = [
        _dates_of_lumps(gaps, days, float(is_open.mean()), chance)
        + amounts(np.maximum(open_days(days) * priors.PRESENCE, 1.0))
        for days, chance in ways
    ]
    best = int(np.argmax(weighed))
    if math.log(priors.SLOW_BOOK) + float(np.logaddexp.reduce(weighed)) <= single:
        return None
    days = ways[best][0]
    return SlowBook(days, math.exp(level + _day_shift(by_hours, open_days(days)[told])))


def _day_shift(hours: np.ndarray, days: np.ndarray) -> float:
    """Log hours of a day over `priors.DAY_UNTOLD_H`, when an entry may hold any number of its days.

    Parameters
    ----------
    hours : log hours of each entry over `priors.DAY_UNTOLD_H`
    days : days for which it stands at most
    """
    shift = np.linspace(-1.5, 1.5, 31)
    said = -0.5 * (shift / priors.ENTRY_HOURS_SDS[0]) ** 2
    for value, most in zip(hours.tolist(), days.tolist(), strict=True):
        held = np.log(np.arange(1.0, most + 1.0))
        gap = (value - held - shift[:, None]) / priors.HOURS_SD
        said += np.log(np.exp(-0.5 * gap**2).mean(axis=1) + 1e-3)
    weight = np.exp(said - said.max())
    return float(weight @ shift / weight.sum())


def _alike(values: np.ndarray, common: float, own: float) -> float:
    """Log density of values about nothing that share a normal shift; one far off counts as if it were less so."""
    if not values.size:
        return 0.0
    values = np.clip(values, -priors.ENTRY_FAR, priors.ENTRY_FAR)
    more = 1.0 + values.size * (common / own) ** 2
    gap = float(values @ values) - float(values.sum()) ** 2 * (common / own) ** 2 / more
    return -0.5 * (gap / own**2 + 2.0 * values.size * math.log(own) + math.log(more))


def _dates_of_sessions(missed: np.ndarray, hit_open: np.ndarray) -> float:
    """Log chance of the dates when each entry is a session: planned days missed in between, or an absence."""
    total = 0.0
    came, stayed = np.array([priors.PRESENCE, 1.0 - priors.PRESENCE]) * priors.ENTRY_PRESENCE_STRENGTH
    for days, on_plan in zip(missed.tolist(), hit_open.tolist(), strict=True):
        chance = came / (came + stayed)
        plain, away = days * math.log(1.0 - chance), math.log(priors.ENTRY_ABSENCE)
        either = float(np.logaddexp(plain, away))
        total += either + math.log(chance if on_plan else priors.PRESENCE_UNPLANNED)
        share = math.exp(plain - either)
        came, stayed = came + share * on_plan, stayed + share * days
    return total


def _dates_of_lumps(gaps: np.ndarray, days: int, open_share: float, chance: float) -> float:
    """Log chance of the dates when every so many days all of them are entered, if anything was woven."""
    nothing = min((1.0 - priors.PRESENCE) ** (days * open_share) + 0.04, 0.7) * priors.ENTRY_PRESENCE_STRENGTH
    tries, total = priors.ENTRY_PRESENCE_STRENGTH, math.log(chance)
    for gap in gaps.tolist():
        empty = gap // days - 1
        if gap % days:
            total += math.log(priors.ENTRY_OFF_ITS_DAY)
            continue
        # A whole turn without an entry: nothing was woven in it, one by one or in an absence.
        missed = empty * math.log(nothing / tries)
        total += float(np.logaddexp(missed, math.log(priors.ENTRY_ABSENCE))) if empty else 0.0
        total += math.log1p(-nothing / tries)
        nothing, tries = nothing + empty, tries + empty + 1
    return total
