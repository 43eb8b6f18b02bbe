"""The chance of weaving on each weekday: hardly ever, or in truth a weaving day; the record decides, whatever the plan names.

The record says how it stands today. How often she comes goes back half of the way to what is usual while the rug is woven:
`scores_ahead`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.forecast import priors
from tracker.forecast.absences import DayRecord
from tracker.forecast.changepoints import run_weights
from tracker.forecast.spells import score_of

CHANCES = np.array(
    [0.004, 0.015, 0.04, 0.08, 0.14, 0.22, 0.32, 0.42, 0.52, 0.62, 0.7, 0.78, 0.85, 0.91, 0.955, 0.985, 0.997]
)
"""Chances of weaving on a day between which the record chooses."""
COMMON = np.array([0.25, 0.4, 0.52, 0.62, 0.7, 0.78, 0.85, 0.91, 0.96])
"""The same for what a weaver's weaving days have in common."""
MOST_BLOCKS = 40
"""Longer records are cut into longer blocks, each of whole weeks."""
MOST_RUNS = 6
"""Possible beginnings of the present habit that are kept."""


def _beta(p: np.ndarray, first: float, second: float) -> np.ndarray:
    """Beta density on a grid as chances that sum to one."""
    edges = np.concatenate([[0.0], 0.5 * (p[1:] + p[:-1]), [1.0]])
    density = p ** (first - 1.0) * (1.0 - p) ** (second - 1.0) * np.diff(edges)
    return density / density.sum()


_SELDOM = _beta(CHANCES, *priors.SELDOM)
_OFTEN = np.stack(
    [_beta(CHANCES, priors.WEEKDAY_STRENGTH * p, priors.WEEKDAY_STRENGTH * (1 - p)) for p in COMMON]
)
_COMMON_PRIOR = _beta(
    COMMON, priors.PRESENCE * priors.PRESENCE_STRENGTH, (1 - priors.PRESENCE) * priors.PRESENCE_STRENGTH
)
_LOG_CHANCES, _LOG_REST = np.log(CHANCES), np.log1p(-CHANCES)


@dataclass(frozen=True, slots=True, eq=False)
class WeekdayBelief:
    """The chance of weaving on each weekday, as a mixture.

    Attributes
    ----------
    node : (nodes,) chance of each node: a beginning of the present habit and a common chance
    climb : (nodes, 7, CHANCES) cumulated chance of each value of CHANCES
    mean : (7,) mean chance of weaving
    run_weeks : mean weeks for which the present habit has held
    """

    node: np.ndarray
    climb: np.ndarray
    mean: np.ndarray
    run_weeks: float

    def draw(self, slices: np.ndarray) -> np.ndarray:
        """Draw chances of weaving, (futures, 7), from even draws (at least 8, futures)."""
        node = np.minimum(np.searchsorted(np.cumsum(self.node), slices[0]), self.node.size - 1)
        climb = self.climb[node]
        u = slices[1:8].T[:, :, None]
        place = np.minimum((climb < u).sum(axis=2), CHANCES.size - 1)
        # Within a step of the grid the chance lies evenly between its neighbours.
        top = np.take_along_axis(climb, place[:, :, None], axis=2)[:, :, 0]
        below = np.where(
            place > 0, np.take_along_axis(climb, np.maximum(place - 1, 0)[:, :, None], axis=2)[:, :, 0], 0.0
        )
        part = np.clip((u[:, :, 0] - below) / np.maximum(top - below, 1e-12), 0.0, 1.0)
        low, high = _EDGES[place], _EDGES[place + 1]
        return low + part * (high - low)


_EDGES = np.concatenate([[0.0], 0.5 * (CHANCES[1:] + CHANCES[:-1]), [1.0]])


def scores_ahead(chance: np.ndarray, weeks: int) -> np.ndarray:
    """Return the normal scores of the chances of weaving in each week to come, float32 (futures, weeks, 7).

    Parameters
    ----------
    chance : as it stands today, (futures, 7)
    weeks : number of weeks

    Notes
    -----
    A time in which she came seldom, or often, is partly luck of that time, and does not hold to the end: each weaving day's chance
    returns a part of the way to the usual one. Who comes by a rule, always or hardly ever, goes on: the pull is strongest a
    little above even chances and falls to nothing at both ends. It never turns two chances about.
    """
    score = score_of(chance)
    rises = np.clip((chance - priors.RETURNS_FROM[0]) / np.diff(priors.RETURNS_FROM), 0.0, 1.0)
    pull = rises * (4.0 * chance * (1.0 - chance)) ** 2
    gap = pull * (score_of(np.array(priors.RETURNS_TO)) - score)
    done = priors.RETURNS_BY * (1.0 - np.exp(-7.0 * np.arange(1, weeks + 1) / priors.RETURNS_DAYS))
    ahead = gap.astype(np.float32)[:, None, :] * done.astype(np.float32)[:, None]
    ahead += score.astype(np.float32)[:, None, :]
    return ahead


def _likelihood(hits: np.ndarray, misses: np.ndarray) -> np.ndarray:
    """Log likelihood of counts (..., 7) at each value of CHANCES, (..., 7, CHANCES)."""
    return hits[..., None] * _LOG_CHANCES + misses[..., None] * _LOG_REST


def _log_marginal(hits: np.ndarray, misses: np.ndarray) -> np.ndarray:
    """Log marginal likelihood of counts (n, 7), whatever the plan says: (n,)."""
    log_like = _likelihood(hits, misses)
    top = log_like.max(axis=-1, keepdims=True)
    like = np.exp(log_like - top)
    even = priors.WEAVING_DAY_UNTOLD
    each = (1 - even) * (like @ _SELDOM)[..., None] + even * (like @ _OFTEN.T)
    total = np.log(each).sum(axis=1) + top[..., 0].sum(axis=1)[:, None]
    high = total.max(axis=1)
    return high + np.log(np.exp(total - high[:, None]) @ _COMMON_PRIOR)


def learn_weekdays(
    record: DayRecord | None,
    here: np.ndarray | None,
    planned: np.ndarray,
    before: tuple[np.ndarray, np.ndarray],
) -> WeekdayBelief:
    """Learn the chance of weaving on each weekday.

    Parameters
    ----------
    record : the days so far; None before the first session
    here : chance that the weaver was there to weave or not, (days,)
    planned : bool (7,), weekdays of the plan
    before : days woven and not woven by weekday that earlier rugs stand for, each (7,)

    Notes
    -----
    Each weekday is one of two kinds: hardly ever woven on, or a weaving day, whose chance lies about what all weaving days
    have in common. The plan says how likely each kind is before the record; how long the present habit has
    held is decided by the record alone (`changepoints`), and what was before counts for a little still.
    """
    if record is None or here is None:
        hits, misses, weight, age = before[0][None], before[1][None], np.ones(1), np.zeros(1)
    else:
        hits, misses, weight, age = _runs(record, here, before)
    log_like = _likelihood(hits, misses)
    like = np.exp(log_like - log_like.max(axis=-1, keepdims=True))
    seldom, often = like * _SELDOM, like[:, None] * _OFTEN[:, None, :]  # (runs, 7, C), (runs, common, 7, C)
    # What weaving days have in common is learnt without the plan, so that a day more in the plan never lowers the others.
    even = priors.WEAVING_DAY_UNTOLD
    each = (1 - even) * seldom.sum(axis=-1)[:, None] + even * often.sum(axis=-1)
    log_common = np.log(each).sum(axis=2) + np.log(_COMMON_PRIOR)
    common = np.exp(log_common - log_common.max(axis=1, keepdims=True))
    node = weight[:, None] * common / common.sum(axis=1, keepdims=True)
    told = np.where(planned, priors.WEAVING_DAY_PLANNED, priors.WEAVING_DAY_UNPLANNED)[:, None]
    after = (1 - told) * seldom[:, None] + told * often
    after = after / after.sum(axis=-1, keepdims=True)
    flat = node.ravel()
    shape = (flat.size, 7, CHANCES.size)
    mean = np.einsum("n,nwc,c->w", flat, after.reshape(shape), CHANCES)
    return WeekdayBelief(flat, np.cumsum(after, axis=-1).reshape(shape), mean, float(weight @ age))


def _runs(
    record: DayRecord, here: np.ndarray, before: tuple[np.ndarray, np.ndarray]
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Counts by weekday of each likely run: days woven, days missed, chance of the run, its weeks."""
    weeks = -(-record.size // 7)
    step = -(-weeks // MOST_BLOCKS)
    block = np.arange(record.size) // (7 * step)
    blocks = int(block[-1]) + 1
    counts = np.zeros((2, blocks, 7))
    there = here.copy()
    there[0] = 0.0  # the first day starts the record and says nothing of how often there is one
    np.add.at(counts[0], (block, record.weekday), record.woven * there)
    np.add.at(counts[1], (block, record.weekday), (1.0 - record.woven) * there)
    climb = np.concatenate([np.zeros((2, 1, 7)), np.cumsum(counts, axis=1)], axis=1)
    # What was before a change still counts for a little: days of the old habit are likelier in the new one too.
    old = climb[:, :blocks]
    tries = old.sum(axis=0)
    lasting = np.minimum(priors.OLD_HABIT_SHARE, priors.OLD_HABIT_DAYS / np.maximum(tries, 1.0))
    faded = old * lasting
    faded[0] += before[0] * (1 if blocks else 0)
    faded[1] += before[1]
    start, end = np.triu_indices(blocks, 0)
    hits, misses = (faded[k][start] + climb[k][end + 1] - climb[k][start] for k in (0, 1))
    table = np.zeros((blocks, blocks + 1))
    base = _log_marginal(faded[0], faded[1])
    table[start, end + 1] = _log_marginal(hits, misses) - base[start]
    weight = run_weights(table, min(7.0 * step / priors.HABIT_CHANGE_DAYS, 0.5))
    best = np.sort(np.argsort(weight)[::-1][:MOST_RUNS])
    chosen = weight[best] / weight[best].sum()
    return (
        faded[0][best] + climb[0][-1] - climb[0][best],
        faded[1][best] + climb[1][-1] - climb[1][best],
        chosen,
        (blocks - best) * float(step),
    )
