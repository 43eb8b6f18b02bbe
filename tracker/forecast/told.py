"""The days that are told: of those that the futures say, the nearest ones on which somebody may weave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain.rug import DaysOff
from tracker.forecast.calendar import off_ordinals
from tracker.forecast.sessions import SessionArrays

HABIT_FROM = 2
"""Days on which somebody wove on a day of the week that the plan does not name, from which on it is one of her days: once may be
an exception."""
REACH_DAYS = 92
"""Days beyond the last future among which a day is looked for: longer than a summer off."""


@dataclass(frozen=True, slots=True, eq=False)
class DaysToTell:
    """The days (ordinals, rising) on which somebody may weave."""

    days: np.ndarray
    weekdays: tuple[int, ...] = ()
    """Days of the week (0 = Monday) that the plan names, or on which the record wove time and again."""

    def nearest(self, ordinal: float) -> date:
        """Return the day to tell for one that the futures say: the nearest one, of two as near the later.

        Nearer days stay in their order, so that a range holds its middle.
        """
        if not self.days.size:
            return _day(ordinal)
        after = int(np.searchsorted(self.days, ordinal))
        near = self.days[max(after - 1, 0) : after + 1]
        return _day(float(near[-1] if near[-1] - ordinal <= ordinal - near[0] else near[0]))


def _day(ordinal: float) -> date:
    return date.fromordinal(min(max(round(ordinal), 1), date.max.toordinal() - 1))


def days_to_tell(
    sessions: SessionArrays, planned: np.ndarray, days_off: Sequence[DaysOff], first: date, last: float
) -> DaysToTell:
    """Say on which days the last row, or any other, may be told to be woven.

    A quantile of many futures may fall on a day that hardly any of them weaves on: a weekday that neither the plan names nor
    the record knows, or a day off. What is told is a day on which somebody may sit at the loom.

    Parameters
    ----------
    sessions
        The record; an entry that stands for several days says nothing of its own weekday.
    planned
        Weekdays of the plan, bool (7,), 0 = Monday.
    days_off
        Days known beforehand.
    first
        The first day that can still be woven on.
    last
        The last day (ordinal) on which a future ends.
    """
    single = sessions.first_day == sessions.day
    woven = np.bincount((np.unique(sessions.day[single]) - 1) % 7, minlength=7)
    weekdays = planned | (woven >= HABIT_FROM)
    start = first.toordinal()
    end = min(max(round(last), start) + REACH_DAYS, date.max.toordinal() - 1)
    days = np.arange(start, end + 1)
    return DaysToTell(
        days[weekdays[(days - 1) % 7] & ~off_ordinals(days_off, start, end)],
        tuple(np.flatnonzero(weekdays).tolist()),
    )
