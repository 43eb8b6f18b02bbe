"""The sessions of a book as arrays: hours filled in where none were given, an entry for a whole week laid out on its days."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from tracker.domain.rug import DaysOff, RugBook, RugPlan, heights_after
from tracker.forecast import priors
from tracker.forecast.entries import Entries, slow_book
from tracker.forecast.stats import middle_of
from tracker.forecast.thresholds import LONGEST_DAY_H, SHORTEST_HOURS_H


@dataclass(frozen=True, slots=True, eq=False)
class SessionArrays:
    """The sessions as arrays, one entry a session, in order.

    Attributes
    ----------
    day : ordinals, int (n,)
    rows : rows gained, parts of a row counted, float (n,)
    row_before : rows on the loom before the session, likewise, float (n,)
    hours : float (n,), filled in where not given
    given : bool (n,), True where the hours are the weaver's own
    team : weavers at the loom, float (n,)
    step_h : the hours' rounding, such as 0.5
    first_day : int (n,), the first day (ordinal) of those on which this was woven; before `day` where one entry stands for several
    days_woven : float (n,), days believed woven on among the planned ones from `first_day` to `day` that were not off; 1 where an entry
        is one session
    """

    day: np.ndarray
    rows: np.ndarray
    row_before: np.ndarray
    hours: np.ndarray
    given: np.ndarray
    team: np.ndarray
    step_h: float
    first_day: np.ndarray
    days_woven: np.ndarray
    team_told: bool
    """Whether any session names its weavers; otherwise `team` is the plan's."""
    hour_scale: float
    """Planned hours of a day over those a day is reckoned as, where no session has hours; 1 where one has."""
    entry_days: int
    """Usual days from one entry to the next where one entry stands for several days; 1: each session is entered by itself."""

    @property
    def size(self) -> int:
        """Number of sessions."""
        return int(self.day.size)


def planned_days(plan: RugPlan) -> np.ndarray:
    """Weekdays of the plan, bool (7,), 0 = Monday; every day when the plan names none."""
    planned = np.zeros(7, dtype=bool)
    planned[[weekday for weekday in plan.weekdays if 0 <= weekday < 7]] = True
    return planned if planned.any() else ~planned


def planned_hours_a_day(plan: RugPlan) -> float:
    """Hours on a planned weaving day."""
    return min(
        max(plan.hours_per_week, priors.LEAST_PLANNED_H) / max(len(plan.weekdays), 1),
        priors.LONGEST_PLANNED_H,
    )


def _rounding(hours: np.ndarray) -> float:
    for step in (1.0, 0.5, 0.25):
        if hours.size and np.all(np.abs(hours / step - np.round(hours / step)) < 1e-6):
            return step
    return 1.0 / 60.0


def _spans(
    plan: RugPlan,
    days_off: Sequence[DaysOff],
    day: np.ndarray,
    raw: np.ndarray,
    given: np.ndarray,
    rows: np.ndarray,
) -> tuple[np.ndarray, int]:
    """First day (ordinal) of those for which each entry stands, int (n,), and the usual days between entries."""
    if not day.size:
        return day.copy(), 1
    on, of_day = np.unique(day, return_inverse=True)
    entries = Entries(
        on, np.bincount(of_day, raw * given), np.bincount(of_day, given) > 0, np.bincount(of_day, rows)
    )
    slow = slow_book(plan, planned_days(plan), days_off, entries)
    if slow is None:
        return day.copy(), 1
    # Before the rug was begun nothing was woven of it: the first entry seldom stands for a whole week.
    begun = min(plan.start_day.toordinal(), int(day[0]))
    before = np.concatenate([[max(day[0] - slow.entry_days, begun - 1)], day[:-1]])
    reach = np.minimum(np.maximum(day - before, 1), slow.entry_days)  # what is beyond it was no weaving
    lumped = ~given | (raw > priors.ONE_DAY_OVER_USUAL * slow.day_hours)
    return np.where(lumped & (day > before), day - reach + 1, day), slow.entry_days


def open_from(sessions: SessionArrays, today: date, start: date) -> date:
    """The first day of which the record says nothing yet: from here on the future is woven.

    Today or tomorrow as a rule; the day after the last session when the phone's clock is behind it, or when
    what was woven since is not yet entered because one entry stands for several days.
    """
    if not sessions.size:
        return max(today, start)
    after = int(sessions.day.max()) + 1
    if sessions.entry_days > 1:
        return date.fromordinal(max(after, today.toordinal() - sessions.entry_days))
    return date.fromordinal(max(after, today.toordinal()))


def days_of_entry(planned: np.ndarray, days_off: Sequence[DaysOff], first: int, last: int) -> np.ndarray:
    """Days (ordinals) on which an entry that stands for first to last was woven: the planned ones that were not off, if there are
    any, else its last day.

    Parameters
    ----------
    planned : bool (7,), weekdays of the plan
    days_off : days known beforehand
    first, last : ordinals, both counted
    """
    span = np.arange(first, last + 1)
    span = span[planned[(span - 1) % 7]]
    is_open = np.ones(span.size, dtype=bool)
    for off in days_off:
        is_open &= (span < off.first_day.toordinal()) | (span > off.last_day.toordinal())
    if is_open.any():
        return span[is_open]
    return span[-1:] if span.size else np.array([last])


def _hours_of_rows(
    day: np.ndarray, rows: np.ndarray, given: np.ndarray, days_woven: np.ndarray, usual_h: float
) -> np.ndarray:
    """Hours of each session by its rows beside those of the sessions that have hours, float (n,).

    `usual_h` a day woven on where that cannot be told: no row was gained or taken out, or no session with a row has hours.
    Such a day is as long as usual however many entries it has: they share its hours by their rows. Where hours go by rows,
    what was taken out of a day on which rows were woven too counts next to nothing.
    """
    told = given & (rows > 0)
    woven_too = (rows <= 0) & np.isin(day, day[rows > 0])
    if told.any():
        a_day = np.abs(rows) / days_woven
        share = np.minimum(a_day / middle_of(a_day[told]), priors.UNTOLD_OVER_USUAL)
        hours = days_woven * np.where(rows == 0, usual_h, np.maximum(usual_h * share, SHORTEST_HOURS_H))
    else:
        _days, of_day = np.unique(day, return_inverse=True)
        part = np.where(rows > 0, rows, np.where(woven_too, 0.0, 1.0))
        hours = usual_h * days_woven * part / np.maximum(np.bincount(of_day, part)[of_day], 1e-9)
    return np.where(woven_too, SHORTEST_HOURS_H, hours)


def session_arrays(book: RugBook) -> SessionArrays:
    """Turn a book's sessions into arrays; hours that were not given become what its rows take this weaver.

    Two rows without hours are no evening: what the rows take in the sessions that have hours stands in, and what cannot be
    told so (no row gained or taken out) counts the usual hours of a day.

    Without any hours at all, each day counts `priors.DAY_UNTOLD_H`; the plan's hours then say what a row is believed to
    take in such hours (`pace.fit_pace`), and what is told in hours is scaled back by `hour_scale`.
    """
    sessions = book.woven_sessions
    count = len(sessions)
    day = np.array([s.day.toordinal() for s in sessions], dtype=int)
    woven = book if count == len(book.sessions) else replace(book, sessions=sessions)
    rows = np.array(woven.rows_gained, dtype=float)
    raw = np.array([s.hours or 0.0 for s in sessions], dtype=float)
    given = raw >= SHORTEST_HOURS_H
    first, entry_days = _spans(book.plan, book.days_off, day, raw, given, rows)
    days_woven = np.ones(count)
    several = first < day
    planned = planned_days(book.plan)
    for place in np.flatnonzero(several).tolist():
        held = days_of_entry(planned, book.days_off, int(first[place]), int(day[place])).size
        days_woven[place] = max(held * priors.PRESENCE, 1.0)  # nobody says which of them were missed
    raw = np.minimum(raw, LONGEST_DAY_H * (day - first + 1))
    own = raw[given] / days_woven[given]
    usual = math.exp(float(np.mean(np.log(own)))) if own.size else priors.DAY_UNTOLD_H
    if 0 < own.size < priors.OWN_HOURS_FROM:  # a few given hours do not yet make a habit
        share = own.size / priors.OWN_HOURS_FROM
        usual = usual**share * planned_hours_a_day(book.plan) ** (1.0 - share)
    sizes = np.array([len(s.weavers) for s in sessions], dtype=float)
    known = sizes[sizes > 0]
    common = middle_of(known) if known.size else float(max(book.plan.weavers_planned, 1))
    return SessionArrays(
        day=day,
        rows=rows,
        row_before=np.array((0.0, *heights_after(rows.tolist())))[:count],
        hours=np.where(given, raw, _hours_of_rows(day, rows, given, days_woven, usual)),
        given=given,
        team=np.where(sizes > 0, sizes, common),
        step_h=_rounding(raw[given]),
        first_day=first,
        days_woven=days_woven,
        team_told=bool(known.size),
        hour_scale=planned_hours_a_day(book.plan) / priors.DAY_UNTOLD_H if count and not own.size else 1.0,
        entry_days=entry_days,
    )
