"""What a row costs this weaver: fixed part, colour changes, learning, drift and team, learnt from the sessions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain import defaults
from tracker.domain.rug import RugBook, RugPlan
from tracker.forecast import priors
from tracker.forecast.chart import RowsToWeave, rows_to_weave
from tracker.forecast.stats import gamma_from_normal, normal_scores, weighted_least_squares

SHORTEST_H = 0.05
"""Less than three minutes are no hours given."""

LEAST_ROWS = 6
"""Sessions are grouped until they gained so many rows."""

MOST_OBSERVATIONS = 140
"""More sessions than this are pooled, the oldest first, to keep the sums small."""


@dataclass(frozen=True, slots=True, eq=False)
class Diary:
    """The sessions as arrays, one entry a session, in order.

    Attributes
    ----------
    day : ordinals, int (n,)
    rows : rows gained, int (n,)
    row_before : rows on the loom before the session, int (n,)
    hours : float (n,), filled in where not given
    given : bool (n,), True where the hours are the weaver's own
    team : weavers at the loom, float (n,)
    step_h : the hours' rounding, such as 0.5
    """

    day: np.ndarray
    rows: np.ndarray
    row_before: np.ndarray
    hours: np.ndarray
    given: np.ndarray
    team: np.ndarray
    step_h: float

    @property
    def size(self) -> int:
        """Number of sessions."""
        return int(self.day.size)


def planned_hours_a_day(plan: RugPlan) -> float:
    """Hours on a planned weaving day."""
    return max(plan.hours_per_week, 0.25) / max(len(plan.weekdays), 1)


def _rounding(hours: np.ndarray) -> float:
    for step in (1.0, 0.5, 0.25):
        if hours.size and np.all(np.abs(hours / step - np.round(hours / step)) < 1e-6):
            return step
    return 1.0 / 60.0


def diary_of(book: RugBook) -> Diary:
    """Turn a book's sessions into arrays; hours that were not given become the usual hours of that weaver."""
    sessions = book.woven_sessions
    count = len(sessions)
    rows = np.fromiter((s.rows for s in sessions), dtype=int, count=count)
    raw = np.fromiter(((s.hours or 0.0) for s in sessions), dtype=float, count=count)
    given = raw >= SHORTEST_H
    raw = np.minimum(raw, 24.0)
    own = raw[given]
    usual = math.exp(float(np.mean(np.log(own)))) if own.size else planned_hours_a_day(book.plan)
    if 0 < own.size < 5:  # a few given hours do not yet make a habit
        share = own.size / 5.0
        usual = usual**share * planned_hours_a_day(book.plan) ** (1.0 - share)
    sizes = np.fromiter((len(s.weavers) for s in sessions), dtype=float, count=count)
    known = sizes[sizes > 0]
    common = float(np.median(known)) if known.size else float(max(book.plan.weavers_planned, 1))
    return Diary(
        day=np.fromiter((s.day.toordinal() for s in sessions), dtype=int, count=count),
        rows=rows,
        row_before=np.concatenate([[0], np.cumsum(rows)[:-1]]).astype(int) if count else rows,
        hours=np.where(given, raw, usual),
        given=given,
        team=np.where(sizes > 0, sizes, common),
        step_h=_rounding(own),
    )


@dataclass(frozen=True, slots=True, eq=False)
class PacePrior:
    """Belief about the learnt pace before this rug: log hours of one weaver for a plain row."""

    level: float
    level_sd: float
    learn: float
    learn_sd: float
    rugs: int


@dataclass(frozen=True, slots=True, eq=False)
class Observations:
    """Groups of sessions that gained rows, as observations of the log cost of a row.

    `log_row_hours` is log(hours / rows); `busy` the mean colour changes per knot of those rows; `woken` the
    hours at the loom before the middle of the session; `variance` the part that comes from rounding; `weight`
    the sessions in the group, fewer when it is out of line.
    """

    day: np.ndarray
    log_row_hours: np.ndarray
    busy: np.ndarray
    woken: np.ndarray
    log_team: np.ndarray
    variance: np.ndarray
    weight: np.ndarray
    evening_sd: float
    odd: np.ndarray
    """bool (sessions,): hours that cannot be meant (a forgotten timer)."""
    usual_hours: np.ndarray
    """float (sessions,): the hours, with odd ones replaced by what those rows usually take."""
    rows: np.ndarray
    hours: np.ndarray
    """Rows and hours of each group; no hours where they cannot be meant."""


def _blocks(rows: np.ndarray) -> np.ndarray:
    """Group consecutive sessions until a group gained at least `LEAST_ROWS` rows net; the group of each session.

    A wide rug gains a row in two evenings, and an evening of unpicking gains less than nothing: only
    together with their neighbours do such sessions say what a row costs. What is left over at the end joins the
    last group; -1 when there is no group at all.
    """
    group = np.empty(rows.size, dtype=int)
    number, start, gained = 0, 0, 0
    for place, more in enumerate(rows.tolist()):
        gained += more
        if gained >= LEAST_ROWS:
            group[start : place + 1] = number
            number, start, gained = number + 1, place + 1, 0
    if number == 0:
        group[:] = 0 if gained > 0 else -1
    else:
        group[start:] = number - 1
        if rows[group == number - 1].sum() <= 0:  # more was taken out since than the last group had gained
            group[group >= number - 1] = (
                number - 2 if number > 1 and rows[group >= number - 2].sum() > 0 else -1
            )
    return group


def observe(diary: Diary, asked: RowsToWeave) -> Observations:
    """Make observations of the pace from the diary, and mark the sessions whose hours cannot be meant."""
    group = _blocks(diary.rows)
    use = group >= 0
    block = group[use]
    count = int(block.max()) + 1 if block.size else 0

    def summed(values: np.ndarray) -> np.ndarray:
        return np.bincount(block, values[use], minlength=count)

    held = summed(np.ones(diary.size))
    rows, hours = summed(diary.rows), summed(diary.hours)
    busy_to = np.concatenate([[0.0], np.cumsum(asked.changes / max(asked.across, 1))])
    reached = np.clip(diary.row_before[use] + diary.rows[use], 0, asked.rows)
    last = np.zeros(count, dtype=int)
    last[block] = reached  # the last session of a group wins
    first = np.clip(last - rows.astype(int), 0, asked.rows - 1)
    last = np.maximum(last, first + 1)
    busy = (busy_to[last] - busy_to[first]) / np.maximum(last - first, 1)
    log_row_hours = np.log(hours) - np.log(rows)
    log_team = summed(np.log(diary.team) * diary.hours) / hours if count else hours
    plain = log_row_hours - np.log1p(busy) + priors.TEAM_POWER * log_team
    near = _near_median(plain)
    other = held * (diary.step_h**2 / 12.0) / hours**2 + (1.0 / 6.0) / rows**2
    if diary.given.any():
        other = other + (summed(~diary.given * diary.hours**2) / hours**2) * priors.MISSING_HOURS_SD**2
    gap = plain - near
    single = np.sqrt(held)
    mad = float(np.median(np.abs(gap * single))) * 1.4826 if count >= 5 else priors.EVENING_SD
    scale = max(math.sqrt(0.5 * mad**2 + 0.5 * priors.EVENING_SD**2), 0.05)
    weight = np.minimum(5.0 / (4.0 + gap**2 / (scale**2 / held + other)), 1.0)
    own = np.maximum(gap**2 * weight - other, 0.0) * held
    evening = math.sqrt(
        (priors.EVENING_STRENGTH * priors.EVENING_SD**2 + float(own.sum()))
        / (priors.EVENING_STRENGTH + max(count - 1, 0))
    )
    # A forgotten timer: far too many hours for the rows, and for an evening of this weaver.
    usual = diary.hours.copy()
    odd = np.zeros(diary.size, dtype=bool)
    if count:
        long = float(np.median(diary.hours)) * 1.6
        slow = (gap > 3.5 * np.sqrt(evening**2 / held + other)) & (gap > 0.4)
        odd[use] = slow[block] & (diary.hours[use] > long) & diary.given[use]
        mended = np.minimum(diary.hours[use] * np.exp(-gap[block]), long)
        usual[use] = np.where(odd[use], mended, usual[use])
    woken = np.cumsum(usual) - 0.5 * usual
    return Observations(
        day=summed(diary.day) / np.maximum(held, 1.0),
        log_row_hours=log_row_hours,
        busy=busy,
        woken=summed(woken) / np.maximum(held, 1.0),
        log_team=log_team,
        variance=other,
        weight=weight * held,
        evening_sd=evening,
        odd=odd,
        usual_hours=usual,
        rows=rows,
        hours=np.where(summed(odd) > 0, 0.0, hours),
    )


def _near_median(values: np.ndarray, width: int = 25) -> np.ndarray:
    if values.size <= width:
        return np.full(values.size, float(np.median(values)) if values.size else 0.0)
    padded = np.pad(values, width // 2, mode="reflect")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1)


def pace_prior(plan: RugPlan, across: int, earlier: Sequence[RugBook] = ()) -> PacePrior:
    """Belief about the pace from the plan, or from this weaver's earlier rugs when there are any.

    Each earlier rug is fitted by weighted least squares: level, learning fall and colour changes.
    Rugs share the weaver: the new rug's level lies about theirs, and the plan's word counts as one more voice.
    """
    named = plan.knots_per_hour
    level = math.log(max(across, 1) / (named or float(defaults.KNOTS_PER_HOUR)))
    precision = (priors.RATE_SD_PLAN if named else priors.RATE_SD_DEFAULT) ** -2
    learn, learn_precision = priors.LEARN_MEAN * priors.LEARN_SD**-2, priors.LEARN_SD**-2
    total = level * precision
    rugs = 0
    for book in earlier:
        found = _earlier_level(book)
        if found is None:
            continue
        own, own_sd, fall, fall_sd = found
        rugs += 1
        weight = 1.0 / (priors.RATE_SD_EARLIER**2 * 2.0 + own_sd**2)
        total += (own + math.log(max(across, 1))) * weight
        precision += weight
        weight = 1.0 / (0.12**2 + fall_sd**2)
        learn += fall * weight
        learn_precision += weight
    return PacePrior(total / precision, precision**-0.5, learn / learn_precision, learn_precision**-0.5, rugs)


def _earlier_level(book: RugBook) -> tuple[float, float, float, float] | None:
    """Fit one earlier rug: log hours a knot once learnt, its spread, the learning fall, its spread."""
    diary = diary_of(book)
    if not diary.given.any():
        return None
    seen = observe(diary, rows_to_weave(book))
    if seen.day.size < 8:
        return None
    y = (
        seen.log_row_hours
        - math.log(max(book.plan.knots_across, 1))
        - np.log1p(seen.busy)
        + priors.TEAM_POWER * seen.log_team
    )
    x = np.stack([np.ones(y.size), np.exp(-seen.woken / 30.0)], axis=1)
    fit = weighted_least_squares(x, y, seen.weight / (seen.evening_sd**2 + seen.variance))
    errors = fit.standard_errors
    return float(fit.coefficients[0]), float(errors[0]), float(fit.coefficients[1]), float(errors[1])


@dataclass(frozen=True, slots=True, eq=False)
class PaceFit:
    """The pace as a mixture of Gaussians: for each node (change cost, learning hours, drift) a weight and a state.

    State: [level, learning excess, team power, drift today]; `mean` (nodes, 4), `root` (nodes, 4, 4) with
    covariance = root root^T.
    """

    weight: np.ndarray
    change_knots: np.ndarray
    learn_hours: np.ndarray
    drift_sd: np.ndarray
    mean: np.ndarray
    root: np.ndarray
    evening_sd: float
    woken_h: float
    lost: tuple[float, float]
    """Hours lost to unpicking and hours that gained rows, prior included."""


def fit_pace(diary: Diary, seen: Observations, prior: PacePrior, today: date) -> PaceFit:
    """Fit the pace by generalised least squares on a small grid of the parameters that are not linear.

    log(hours / rows) = level + log(1 + change_knots x busy) + excess x exp(-woken / learn_hours)
    - power x log(team) + drift(day) + noise, drift being a stationary Gaussian process with exponential memory.

    References
    ----------
    C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, section 2.7 (explicit
    basis functions); grid weights are the marginal likelihoods. From memory.
    """
    data = _pooled(seen)
    n = data.day.size
    changes = np.array(priors.CHANGE_KNOTS)
    falls = np.array(priors.LEARN_HOURS)
    drifts = np.array(priors.DRIFT_SDS)
    mean0 = np.array([prior.level, prior.learn, priors.TEAM_POWER])
    precision0 = np.array([prior.level_sd, prior.learn_sd, priors.TEAM_POWER_SD]) ** -2.0
    shape = (changes.size, falls.size, drifts.size)
    weight = np.zeros(shape)
    mean = np.zeros((*shape, 4))
    covariance = np.zeros((*shape, 4, 4))
    noise = data.variance
    memory = np.exp(-np.abs(data.day[:, None] - data.day[None, :]) / priors.DRIFT_DAYS)
    reach = np.exp(-np.abs(today.toordinal() - data.day) / priors.DRIFT_DAYS)
    for k, drift in enumerate(drifts):
        if n:
            full = drift**2 * memory
            full[np.diag_indices(n)] += noise
            root = np.linalg.cholesky(full)
            log_det = 2.0 * float(np.log(np.diag(root)).sum())
            columns = [np.ones(n), -data.log_team, drift**2 * reach]
            columns += [np.exp(-data.woken / fall) for fall in falls]
            columns += [data.log_row_hours - np.log1p(cost * data.busy) for cost in changes]
            white = np.linalg.solve(root, np.stack(columns, axis=1))
            gram = white.T @ white
        for j in range(falls.size):
            for i in range(changes.size):
                if n:
                    at = [0, 3 + j, 1]
                    target = 3 + falls.size + i
                    information = gram[np.ix_(at, at)] + np.diag(precision0)
                    spread = np.linalg.inv(information)
                    best = spread @ (gram[at, target] + precision0 * mean0)
                    quadratic = (
                        gram[target, target] + float(precision0 @ mean0**2) - float(best @ information @ best)
                    )
                    log_weight = -0.5 * (
                        quadratic
                        + log_det
                        + float(np.linalg.slogdet(information)[1])
                        - float(np.log(precision0).sum())
                    )
                    pull = gram[2, at]
                    drift_mean = float(gram[2, target] - pull @ best)
                    drift_left = max(drift**2 - float(gram[2, 2]), 1e-9)
                else:
                    spread, best, log_weight = np.diag(1.0 / precision0), mean0, 0.0
                    pull, drift_mean, drift_left = np.zeros(3), 0.0, drift**2
                weight[i, j, k] = log_weight + math.log(priors.CHANGE_KNOTS_WEIGHT[i])
                mean[i, j, k] = [*best, drift_mean]
                covariance[i, j, k, :3, :3] = spread
                covariance[i, j, k, 3, :3] = covariance[i, j, k, :3, 3] = -spread @ pull
                covariance[i, j, k, 3, 3] = drift_left + float(pull @ spread @ pull)
    weight = np.exp(weight - weight.max())
    grid = np.meshgrid(changes, falls, drifts, indexing="ij")
    return PaceFit(
        weight=(weight / weight.sum()).ravel(),
        change_knots=grid[0].ravel(),
        learn_hours=grid[1].ravel(),
        drift_sd=grid[2].ravel(),
        mean=mean.reshape(-1, 4),
        root=np.linalg.cholesky(covariance.reshape(-1, 4, 4) + 1e-12 * np.eye(4)),
        evening_sd=seen.evening_sd,
        woken_h=float(seen.usual_hours.sum()),
        lost=_lost_hours(seen, grid, weight, mean),
    )


def _lost_hours(
    seen: Observations, grid: Sequence[np.ndarray], weight: np.ndarray, mean: np.ndarray
) -> tuple[float, float]:
    """Hours beyond what the rows should have cost, and the hours they should: prior included.

    The robust weights take evenings of unpicking for accidents; accidents are part of life and cost their hours.
    """
    best = np.unravel_index(int(np.argmax(weight)), weight.shape)
    state = mean[best]
    fitted = (
        state[0]
        + np.log1p(grid[0][best] * seen.busy)
        + state[1] * np.exp(-seen.woken / grid[1][best])
        - state[2] * seen.log_team
    )
    counted = seen.hours > 0
    should = float((seen.rows * np.exp(fitted))[counted].sum())
    lost = max(float(seen.hours.sum()) - should, 0.0)
    return priors.UNPICK_HOURS[0] + lost, priors.UNPICK_HOURS[1] + should


@dataclass(frozen=True, slots=True, eq=False)
class _Pooled:
    day: np.ndarray
    log_row_hours: np.ndarray
    busy: np.ndarray
    woken: np.ndarray
    log_team: np.ndarray
    variance: np.ndarray


def _pooled(seen: Observations) -> _Pooled:
    """Pool the oldest observations so that at most about `MOST_OBSERVATIONS` remain."""
    variance = seen.evening_sd**2 / seen.weight + seen.variance if seen.day.size else seen.variance
    n = seen.day.size
    if n <= MOST_OBSERVATIONS:
        return _Pooled(seen.day, seen.log_row_hours, seen.busy, seen.woken, seen.log_team, variance)
    recent = MOST_OBSERVATIONS // 2
    old = n - recent
    group = np.minimum(np.arange(old) * recent // old, recent - 1)
    information = np.bincount(group, 1.0 / variance[:old])

    def joined(values: np.ndarray) -> np.ndarray:
        return np.concatenate([np.bincount(group, values[:old] / variance[:old]) / information, values[old:]])

    return _Pooled(
        joined(seen.day),
        joined(seen.log_row_hours),
        joined(seen.busy),
        joined(seen.woken),
        joined(seen.log_team),
        np.concatenate([1.0 / information, variance[old:]]),
    )


@dataclass(frozen=True, slots=True, eq=False)
class PaceDraws:
    """One drawn pace for each future, every array (futures,)."""

    level: np.ndarray
    excess: np.ndarray
    team_power: np.ndarray
    drift: np.ndarray
    node: np.ndarray
    kept: np.ndarray
    """Share of the hours that is not lost to unpicking."""


def draw_pace(fit: PaceFit, count: int, rng: np.random.Generator) -> PaceDraws:
    """Draw `count` paces from the fit; nodes are drawn in equal slices so that the draws spread evenly."""
    climbed = np.cumsum(fit.weight)
    place = (rng.permutation(count) + 0.5) / count
    node = np.minimum(np.searchsorted(climbed, place), climbed.size - 1)
    scores = even_normals(count, 5, rng)
    state = fit.mean[node] + np.einsum("sij,sj->si", fit.root[node], scores[:, :4])
    lost = gamma_from_normal(fit.lost[0], scores[:, 4])
    kept = fit.lost[1] / (fit.lost[1] + lost)
    return PaceDraws(state[:, 0], state[:, 1], state[:, 2], state[:, 3], node, kept)


def even_normals(count: int, columns: int, rng: np.random.Generator) -> np.ndarray:
    """Normal draws (count, columns), each column an even spread in its own random order."""
    return np.stack([normal_scores(count)[rng.permutation(count)] for _ in range(columns)], axis=1)


def hours_to_rows(fit: PaceFit, draws: PaceDraws, busy: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Hours of one weaver from now to the end of the rows at places `at`, for every future.

    Parameters
    ----------
    fit, draws : the pace and its draws
    busy : colour changes per knot of every row still to come, shape (rows left,)
    at : places in `busy`, int (marks,)

    Returns
    -------
    array (futures, marks) of hours, drift not included
    """
    central = float(fit.weight @ fit.mean[:, 0])
    woken = fit.woken_h + np.concatenate([[0.0], np.cumsum(math.exp(central) * (1.0 + busy))[:-1]])
    nodes = np.arange(fit.weight.size)
    live = np.zeros(fit.weight.size, dtype=bool)
    live[np.unique(draws.node)] = True
    excesses = np.array([-0.2, 0.15, 0.5, 0.9])
    out = np.empty((draws.level.size, at.size))
    tables: dict[tuple[float, float], np.ndarray] = {}
    for node in nodes[live]:
        key = (float(fit.change_knots[node]), float(fit.learn_hours[node]))
        if key not in tables:
            cost = 1.0 + key[0] * busy
            fall = np.exp(-woken / key[1])
            raised = cost * np.exp(excesses[:, None] * fall)
            tables[key] = np.log(np.cumsum(raised, axis=1)[:, at])
        mine = draws.node == node
        excess = np.clip(draws.excess[mine], excesses[0], excesses[-1])
        table = tables[key]
        j = np.clip(np.searchsorted(excesses, excess, side="right") - 1, 0, excesses.size - 2)
        part = ((excess - excesses[j]) / (excesses[j + 1] - excesses[j]))[:, None]
        out[mine] = (1.0 - part) * table[j] + part * table[j + 1]
    return np.exp(out + draws.level[:, None]) / draws.kept[:, None]
