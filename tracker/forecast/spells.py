"""Days woven on come in spells: how far weeks differ beyond their days' luck, how far a day goes on into the next, and how both stand today."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tracker.forecast import priors
from tracker.forecast.absences import DayRecord
from tracker.forecast.stats import normal_below, normal_scores

STATES = np.linspace(-2.5, 2.5, 11)
"""How a week stands to the habit, in standard deviations, as values between which the record chooses."""
MOST_WEEKS = 60
"""Weeks of the record that are looked at, the last ones."""
KEEP = math.exp(-7.0 / priors.SPELL_DAYS)
"""What is left of a week's standing in the next one."""
FAR = range(5, 10)
"""Days apart at which two days have no more in common than their weeks."""
SPREADS = np.array(priors.SPELL_SPREADS)


@dataclass(frozen=True, slots=True, eq=False)
class Spells:
    """How days woven on hang together.

    A day is woven on when its luck, a standard normal value, lies below the score of its weekday's chance, raised by the standing of its week.

    Attributes
    ----------
    chance : (spreads,) of each of `SPREADS`, by which weeks' standings differ
    now, now_sd : (spreads,) standing of the last week of the record, in standard deviations
    follows, follows_sd : correlation of a day's luck with the next one's, as far as it goes on for some days, and how well it is known
    last_luck : what is believed of the luck of the record's last day; nothing when she was not there
    """

    chance: np.ndarray
    now: np.ndarray
    now_sd: np.ndarray
    follows: float
    follows_sd: float
    last_luck: float

    def weeks(self, weeks: int, futures: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
        """Draw how far weeks differ, (futures,), and the standing of each week to come in scores, float32 (futures, weeks)."""
        rng = np.random.default_rng([seed, 32])
        half = (futures + 1) // 2
        place = (rng.permutation(half) + 0.5) / half
        kind = np.minimum(np.searchsorted(np.cumsum(self.chance), place), SPREADS.size - 1)
        kind = np.append(kind, kind)[:futures]
        luck = normal_scores(half)[rng.permutation(half)]
        today = self.now[kind] + self.now_sd[kind] * np.append(luck, -luck)[:futures]
        standing = today[:, None] * KEEP ** np.arange(1, weeks + 1) + _wander(weeks, futures, seed)
        return SPREADS[kind], (SPREADS[kind, None] * standing).astype(np.float32)

    def luck(self, own: np.ndarray, near: np.ndarray, seed: int) -> np.ndarray:
        """Join each day's own luck and that which goes on from day to day, both standard normal; both are used up.

        Parameters
        ----------
        own : (futures, days)
        near : (futures, the first so many days); later ones go on from nothing, for nothing of it is seen in a date so far off
        """
        futures, days = own.shape
        scores = normal_scores(futures)[np.random.default_rng([seed, 34]).permutation(futures)]
        share = np.clip((self.follows + self.follows_sd * scores) / priors.FOLLOWS_KEEP, 0.0, 0.95)
        soon = own[:, : near.shape[1]]
        soon *= np.sqrt(1.0 - share).astype(np.float32)[:, None]
        near *= np.sqrt(share).astype(np.float32)[:, None]
        soon += near
        reach = min(days, 12)
        goes_on = priors.FOLLOWS_KEEP ** np.arange(1, reach + 1)
        own[:, :reach] += (share * self.last_luck).astype(np.float32)[:, None] * goes_on.astype(np.float32)
        return own


WEEKS_AT_ONCE = 32
"""Drawn for so many weeks, or twice, three times as many, of which as many are taken as there are: else every week that the
rug comes nearer to its end another set of draws would be remembered, half a megabyte each."""


def whole_draws(weeks: int) -> int:
    """Return for how many weeks is drawn where so many are asked for."""
    return -(-weeks // WEEKS_AT_ONCE) * WEEKS_AT_ONCE


def _wander(weeks: int, futures: int, seed: int) -> np.ndarray:
    """Standing of each week to come beside what is left of today's, (futures, weeks)."""
    return np.ascontiguousarray(_wander_drawn(whole_draws(weeks), futures, seed)[:, :weeks])


@lru_cache(maxsize=4)
def _wander_drawn(weeks: int, futures: int, seed: int) -> np.ndarray:
    """The same for all weeks that are drawn.

    Each future has another one that meets the opposite, so that the draws by themselves make weeks neither good nor bad.
    """
    half = (futures + 1) // 2
    shocks = np.random.default_rng([seed, 33]).standard_normal((weeks, half)) * math.sqrt(1.0 - KEEP**2)
    shocks = np.concatenate([shocks, -shocks], axis=1)[:, :futures]
    out = np.empty((weeks, futures))
    before = np.zeros(futures)
    for week in range(weeks):
        out[week] = before = KEEP * before + shocks[week]
    drawn = np.ascontiguousarray(out.T)
    drawn.flags.writeable = False
    return drawn


def going_on(shocks: np.ndarray) -> np.ndarray:
    """Make luck that goes on from day to day out of luck that does not.

    Parameters
    ----------
    shocks : standard normal, (futures, days); the first 16 days only begin it

    Returns
    -------
    array (futures, days - 16), standard normal, each day correlated with the next by `priors.FOLLOWS_KEEP`
    """
    out = shocks.copy()
    for reach in (1, 2, 4, 8):  # sums of 2, 4, 8, 16 days: 1 + k, (1 + k)(1 + k^2), ...
        out[:, reach:] += np.float32(priors.FOLLOWS_KEEP**reach) * out[:, :-reach].copy()
    return np.ascontiguousarray(out[:, 16:]) * np.float32(math.sqrt(1.0 - priors.FOLLOWS_KEEP**2))


_SCORES = np.linspace(-4.0, 4.0, 801)
_BELOW = normal_below(_SCORES)


def score_of(chance: np.ndarray) -> np.ndarray:
    """Return the normal score below which such a share of luck lies, -4 to 4."""
    return np.interp(chance, _BELOW, _SCORES)


def _chances_about(middle: np.ndarray, sd: float) -> np.ndarray:
    """Chances of STATES about each middle, (middles, STATES)."""
    density = np.exp(-0.5 * ((STATES - middle[:, None]) / sd) ** 2)
    return np.asarray(density / density.sum(axis=1, keepdims=True))


_START = _chances_about(np.zeros(1), 1.0)[0]
_NEXT = _chances_about(KEEP * STATES, math.sqrt(1.0 - KEEP**2))
_BELIEVED = np.array(priors.SPELL_SPREADS_CHANCE)


def learn_spells(
    record: DayRecord | None, here: np.ndarray | None, usual: np.ndarray, run_weeks: float
) -> Spells:
    """Learn how days woven on hang together.

    Parameters
    ----------
    record : the days so far; None before the first session
    here : chance that the weaver was there to weave or not, (days,)
    usual : mean chance of weaving by weekday, (7,)
    run_weeks : weeks for which the present habit has held; what was before says nothing of its weeks

    Notes
    -----
    The standing of weeks is a Markov chain on `STATES`: each spread is weighed by what the chain with it says of the record (forward
    filtering), which leaves today's standing as well. Days that one entry stands for say nothing.
    """
    if record is None or here is None:
        return Spells(_BELIEVED, np.zeros(SPREADS.size), np.ones(SPREADS.size), 0.0, priors.FOLLOWS_SD, 0.0)
    _entries, entry, days_of_entry = np.unique(record.entry, return_inverse=True, return_counts=True)
    there = np.where(days_of_entry[entry] > 1, 0.0, here)
    there[0] = 0.0  # the first day starts the record and says nothing of how often there is one
    week = (record.size - 1 - np.arange(record.size)) // 7
    weeks = min(int(week[0]) + 1, max(math.ceil(run_weeks), 1), MOST_WEEKS)
    seen = week < weeks
    hits, misses = np.zeros((2, weeks, 7))
    np.add.at(hits, (week[seen], record.weekday[seen]), (record.wove * there)[seen])
    np.add.at(misses, (week[seen], record.weekday[seen]), np.where(record.wove, 0.0, there)[seen])
    # Nearly the record's own share: with the belief alone, who never missed seems to have had luck all along.
    tries = hits.sum(axis=0) + misses.sum(axis=0)
    own = np.clip((usual + hits.sum(axis=0)) / (1.0 + tries), 0.01, 0.99)
    scores = score_of(own) * np.hypot(1.0, SPREADS)[:, None]
    chance = np.clip(
        normal_below(scores[:, None] + (SPREADS[:, None] * STATES)[:, :, None]), 1e-4, 1.0 - 1e-4
    )
    said = np.einsum("tw,szw->tsz", hits, np.log(chance))
    said += np.einsum("tw,szw->tsz", misses, np.log1p(-chance))
    likely = np.exp(said)  # a week's days at a chance of 1e-4 at the least: never nothing
    state = np.tile(_START, (SPREADS.size, 1))
    held = np.empty((weeks, SPREADS.size))
    for place in range(weeks - 1, -1, -1):
        state = state * likely[place]
        held[place] = state.sum(axis=1)
        state /= held[place][:, None]
        if place:
            state = state @ _NEXT
    weight = np.log(_BELIEVED) + np.log(held).sum(axis=0)
    weight = np.exp(weight - weight.max())
    now = state @ STATES
    return Spells(
        weight / weight.sum(),
        now,
        np.sqrt(np.maximum(state @ STATES**2 - now**2, 0.0)),
        *_follows(record, there, usual),
    )


def _follows(record: DayRecord, there: np.ndarray, usual: np.ndarray) -> tuple[float, float, float]:
    """Correlation of a day's luck with the next one's beyond what days further apart have, its spread, and the last day's luck."""
    chance = np.clip(usual, 0.03, 0.97)[record.weekday]
    variance = chance * (1.0 - chance)
    gap = (record.wove - chance) / np.sqrt(variance)
    told = variance * there  # days that were hardly in doubt say little
    score = float(score_of(chance[-1:])[0])
    density = math.exp(-0.5 * score**2) / math.sqrt(2.0 * math.pi)
    last = -density / chance[-1] if record.wove[-1] else density / (1.0 - chance[-1])
    luck = float(last * there[-1])

    def alike(apart: int) -> np.ndarray:
        """Weighted sum of products of days so far apart, the weights' sum and that of their squares."""
        weight = told[apart:] * told[:-apart]
        return np.array([weight @ (gap[apart:] * gap[:-apart]), weight.sum(), weight @ weight])

    near = alike(1)
    far = np.sum([alike(apart) for apart in FAR if apart < record.size], axis=0, initial=0.0)
    if not (record.size > FAR[0] and near[1] > 0 and far[1] > 0):
        return 0.0, priors.FOLLOWS_SD, luck
    beyond = float(near[0] / near[1] - far[0] / far[1])
    # Of two days at even chances a correlation r of their luck is one of 2/pi asin(r) of what is seen (Sheppard; from memory).
    own = math.sin(0.5 * math.pi * min(max(beyond, -0.9), 0.9))
    noise = (1.0 + 1.0 / len(FAR)) * (0.5 * math.pi) ** 2 * float(near[2] / near[1] ** 2)
    believed = priors.FOLLOWS_SD**2
    return own * believed / (believed + noise), math.sqrt(believed * noise / (believed + noise)), luck
