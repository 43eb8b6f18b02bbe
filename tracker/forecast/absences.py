"""Absences nobody knew of: many short and few long ones, told from evenings merely missed, and how long the one of today lasts."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tracker.forecast import priors


@dataclass(frozen=True, slots=True, eq=False)
class DayRecord:
    """The record day by day, from the day of the first session on; every array (days,)."""

    first: int
    """Ordinal of the first day."""
    wove: np.ndarray
    """bool: somebody wove."""
    hours: np.ndarray
    """Hours at the loom, odd ones mended."""
    off: np.ndarray
    """bool: known beforehand to be off, and nobody wove."""
    entry: np.ndarray
    """Which entry says what was woven on the day; days that one entry stands for share a number."""

    @property
    def size(self) -> int:
        """Days."""
        return int(self.wove.size)

    @property
    def weekday(self) -> np.ndarray:
        """0 = Monday."""
        return (np.arange(self.first, self.first + self.size) - 1) % 7

    @property
    def lumped(self) -> np.ndarray:
        """bool: entered together with other days."""
        _entries, of_day, days = np.unique(self.entry, return_inverse=True, return_counts=True)
        return days[of_day] > 1

    @property
    def woven(self) -> np.ndarray:
        """Chance that somebody wove, as far as the entries tell: of days entered together some were missed."""
        return self.wove * np.where(self.lumped, priors.PRESENCE, 1.0)


@dataclass(frozen=True, slots=True)
class Absences:
    """What is known of absences.

    Attributes
    ----------
    short_shape, short_days : Gamma belief of the hazard of a short absence: shape, and days of exposure
    long_shape, long_days : the same for long ones
    long_excess_days : mean days of a long absence beyond the longest short one
    now_short, now_long : chance that one is under way today
    gap_days : days since the last session, known days off left out
    """

    short_shape: float
    short_days: float
    long_shape: float
    long_days: float
    long_excess_days: float
    now_short: float = 0.0
    now_long: float = 0.0
    gap_days: int = 0

    @property
    def away_share(self) -> float:
        """Share of days that absences take in the long run."""
        short = self.short_shape / self.short_days * MEAN_SHORT_DAYS
        long = self.long_shape / self.long_days * (LONGEST_SHORT + self.long_excess_days)
        return (short + long) / (1.0 + short + long)


LENGTHS = np.arange(
    priors.SHORTEST_ABSENCE_DAYS, priors.SHORTEST_ABSENCE_DAYS + len(priors.SHORT_ABSENCE_LENGTHS)
)
LENGTH_CHANCE = np.array(priors.SHORT_ABSENCE_LENGTHS)
LENGTH_CLIMB = np.cumsum(LENGTH_CHANCE)
LONGEST_SHORT = int(LENGTHS[-1])
MEAN_SHORT_DAYS = float(LENGTHS @ LENGTH_CHANCE)


def usual_absences(weavers: int) -> Absences:
    """Belief before there is a record: a team goes on when one of it is away, so it stands still less often."""
    apart = max(weavers, 1) ** priors.ABSENCE_TEAM_POWER
    return Absences(
        short_shape=priors.SHORT_ABSENCE_STRENGTH,
        short_days=priors.SHORT_ABSENCE_STRENGTH * priors.SHORT_ABSENCE_EVERY_DAYS * apart,
        long_shape=priors.LONG_ABSENCE_STRENGTH,
        long_days=priors.LONG_ABSENCE_STRENGTH * priors.LONG_ABSENCE_EVERY_DAYS * apart,
        long_excess_days=priors.LONG_ABSENCE_EXCESS_DAYS,
    )


def longer_than(days: np.ndarray | float, excess_days: float) -> np.ndarray:
    """Chance that a long absence lasts more than so many days beyond the longest short one.

    A Lomax law (a mixture of exponentials whose rate is uncertain): the longer it lasts, the longer it will.

    Parameters
    ----------
    days : days beyond `LONGEST_SHORT`, below zero counts as zero
    excess_days : mean days beyond it
    """
    tail = priors.LONG_ABSENCE_TAIL
    return (1.0 + np.maximum(days, 0.0) / (excess_days * (tail - 1.0))) ** -tail


def density_of_long(days: np.ndarray | float, excess_days: float) -> np.ndarray:
    """Density, in a day, of a long absence that lasts so many days beyond the longest short one; see `longer_than`."""
    tail = priors.LONG_ABSENCE_TAIL
    scale = excess_days * (tail - 1.0)
    return tail / scale * (1.0 + np.maximum(days, 0.0) / scale) ** (-tail - 1.0)


def rest_of_long(u: np.ndarray, excess_days: np.ndarray, lasted_days: float = 0.0) -> np.ndarray:
    """Days that a long absence still lasts beyond `lasted_days` beyond the longest short one, for even draws `u`."""
    tail = priors.LONG_ABSENCE_TAIL
    return (excess_days * (tail - 1.0) + max(lasted_days, 0.0)) * ((1.0 - u) ** (-1.0 / tail) - 1.0)


def _weekly(values: np.ndarray, record: DayRecord) -> np.ndarray:
    """Sum daily values by week and weekday, (weeks, 7)."""
    week = np.arange(record.size) // 7
    out = np.zeros((int(week[-1]) + 1, 7))
    np.add.at(out, (week, record.weekday), values)
    return out


def local_chance(record: DayRecord, here: np.ndarray, planned: np.ndarray) -> np.ndarray:
    """Chance of weaving on each day as the weeks around it show it, (days,).

    Around, not before: a fortnight away after one week is told from a habit by the months that follow.
    """
    hits = _weekly(record.wove.astype(float), record)
    tries = _weekly(here, record)
    weeks = hits.shape[0]
    apart = np.abs(np.arange(weeks)[:, None] - np.arange(weeks)[None, :])
    near = np.exp(-apart / priors.AROUND_WEEKS)
    usual = np.where(planned, priors.PRESENCE, priors.PRESENCE_UNPLANNED)
    strength = priors.AROUND_STRENGTH
    # The plan's own days keep the chance below one, however faithful the weeks around.
    chance = (near @ hits + strength * usual) / (near @ tries + strength)
    return chance[np.arange(record.size) // 7, record.weekday]


def hidden_among_entries(absences: Absences, record: DayRecord, entry_days: int) -> Absences:
    """Take off the short absences to come those that lie in the hours of days entered together: they would be missed twice.

    One shorter than the days of an entry always lies there, a longer one now and then leaves a gap of its own. A short record may
    hold none yet.

    Parameters
    ----------
    absences : as the gaps between entries have them
    record : at least one day
    entry_days : usual days from one entry to the next
    """
    if entry_days <= 1:
        return absences
    hidden = float(LENGTH_CHANCE @ np.clip((2 * entry_days - 1 - LENGTHS) / entry_days, 0.0, 1.0))
    hidden *= (
        float(record.lumped[record.wove].mean())
        * record.size
        / (record.size + priors.SHORT_ABSENCE_EVERY_DAYS)
    )
    return replace(absences, short_days=absences.short_days / (1.0 - hidden))


def learn_absences(record: DayRecord, planned: np.ndarray, believed: Absences) -> tuple[Absences, np.ndarray]:
    """Tell absences from evenings missed.

    Parameters
    ----------
    record : the days so far, at least one
    planned : bool (7,), weekdays of the plan
    believed : what is held before this record

    Returns
    -------
    Absences
        With what this record adds.
    float array (days,)
        Chance that the weaver was there to weave or not: 1 on a day woven on, 0 on one known to be off, less within a gap
        that the habit alone would hardly make.

    Notes
    -----
    A gap between two sessions is weighed three ways: evenings missed one by one (by the chances of the weeks around
    it), a short absence, a long one; repeated a few times since each depends on the others.
    """
    count = record.size
    woven = np.flatnonzero(record.wove)
    ends = np.append(woven[1:], count)
    begins = woven + 1  # half open; a gap may be empty
    length = ends - begins
    gap_of = np.cumsum(record.wove) - 1
    free = length - np.bincount(gap_of, record.off, minlength=length.size)
    # Begun without the long gaps: what the weeks around say of a gap must not rest on the gap itself.
    here = np.where(record.off | (~record.wove & (free > LONGEST_SHORT)[gap_of]), 0.0, 1.0)
    absences = believed
    short = long = np.zeros(length.size)
    is_open = np.zeros(length.size, dtype=bool)
    is_open[-1] = length[-1] > 0
    excess = free - LONGEST_SHORT
    for _ in range(3):
        stay = np.where(record.off, 0.0, np.log1p(-local_chance(record, here, planned)))
        run = np.concatenate([[0.0], np.cumsum(stay)])
        plain = np.exp(np.maximum(run[ends] - run[begins], -60.0))
        place = np.clip(free.astype(int) - priors.SHORTEST_ABSENCE_DAYS, 0, LENGTHS.size - 1)
        lasts_short = np.where(
            (free >= priors.SHORTEST_ABSENCE_DAYS) & (excess <= 0), LENGTH_CHANCE[place], 0.0
        )
        at_least = np.where(excess <= 0, 1.0 - np.concatenate([[0.0], LENGTH_CLIMB[:-1]])[place], 0.0)
        mean = absences.long_excess_days
        density = np.where(excess > -1, density_of_long(excess, mean), 0.0)
        as_short = absences.short_shape / absences.short_days * np.where(is_open, at_least, lasts_short)
        as_long = (
            absences.long_shape / absences.long_days * np.where(is_open, longer_than(excess, mean), density)
        )
        wide = free >= priors.SHORTEST_ABSENCE_DAYS
        total = np.maximum(plain + as_short + as_long, 1e-300)
        short, long = np.where(wide, as_short / total, 0.0), np.where(wide, as_long / total, 0.0)
        here = np.where(record.wove, 1.0, np.where(record.off, 0.0, 1.0 - (short + long)[gap_of]))
        shut = ~is_open
        there = float(here.sum())
        longs = float(long[shut].sum())
        strength = priors.LONG_ABSENCE_EXCESS_STRENGTH
        absences = Absences(
            short_shape=believed.short_shape + float(short[shut].sum()),
            short_days=believed.short_days + there,
            long_shape=believed.long_shape + longs,
            long_days=believed.long_days + there,
            long_excess_days=(believed.long_excess_days * strength + float(long[shut] @ np.maximum(excess[shut], 0.5)))
            / (strength + longs),
            now_short=float(short[-1]) if is_open[-1] else 0.0,
            now_long=float(long[-1]) if is_open[-1] else 0.0,
            gap_days=int(free[-1]) if is_open[-1] else 0,
        )  # fmt: skip
    return absences, here
