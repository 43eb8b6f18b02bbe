"""What a row costs this weaver: fixed part, colour changes, learning, drift and team, learnt from the sessions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from tracker.domain import defaults
from tracker.domain.rows import RowsToWeave, rows_to_weave
from tracker.domain.rug import RugBook
from tracker.domain.taught import Taught
from tracker.domain.work import PaceBelief, PacePrior, hours_before_rows
from tracker.forecast import priors
from tracker.forecast.sessions import SessionArrays, session_arrays
from tracker.forecast.stats import gamma_from_normal, middle_of, normal_scores, weighted_least_squares
from tracker.forecast.thresholds import FAR_TOO_FAST, HARDLY_FEWER, LEAST_TO_DOUBT, LONG_SESSION

LEAST_ROWS = 6
"""Sessions are grouped until they gained so many rows."""

MOST_OBSERVATIONS = 140
"""More sessions than this are pooled, the oldest first, to keep the sums small."""


@dataclass(frozen=True, slots=True, eq=False)
class Observations:
    """Groups of sessions that gained rows, as observations of the log cost of a row.

    `log_row_hours` is log(hours / rows); `changes_per_knot` the mean colour changes per knot of those rows; `hours_before` the
    hours at the loom before the middle of the session; `variance` the part that comes from rounding; `weight`
    the sessions in the group, fewer when it is out of line.
    """

    day: np.ndarray
    log_row_hours: np.ndarray
    changes_per_knot: np.ndarray
    hours_before: np.ndarray
    log_team: np.ndarray
    variance: np.ndarray
    weight: np.ndarray
    session_sd: float
    too_long: np.ndarray
    """bool (sessions,): far too many hours for the rows (a forgotten timer)."""
    too_short: np.ndarray
    """bool (sessions,): far too few hours for the rows (a slip of the finger)."""
    too_many_rows: np.ndarray
    """bool (sessions,): far too many rows for the hours and for this weaver."""
    usual_hours: np.ndarray
    """float (sessions,): the hours, with those that cannot be meant replaced by what the rows usually take."""
    rows: np.ndarray
    hours: np.ndarray
    """Rows and hours of each group; no hours where they cannot be meant."""
    rows_out: np.ndarray
    hours_out: np.ndarray
    group_out: np.ndarray
    """Of each session that ended with fewer rows than it began with: the rows and its hours, float (sessions of that kind,), and
    the group that was woven before, int."""


def _blocks(rows: np.ndarray) -> np.ndarray:
    """Group consecutive sessions until a group gained at least `LEAST_ROWS` rows; the group of each session.

    A wide rug gains a row in two evenings, and an evening may gain none: only together with their neighbours do such
    sessions say what a row costs. What is left over at the end joins the last group. An evening that ends with fewer rows
    than it began with says nothing of what a row costs and is in no group (-1); nor is any session when no row was gained.
    """
    group = np.full(rows.size, -1)
    number, start, gained = 0, 0, 0.0
    weaving = np.flatnonzero(rows >= 0)
    for place, more in enumerate(rows[weaving].tolist()):
        gained += more
        if gained >= LEAST_ROWS:
            group[weaving[start : place + 1]] = number
            number, start, gained = number + 1, place + 1, 0.0
    if number or gained > 0:
        group[weaving[start:]] = max(number - 1, 0)
    return group


@dataclass(frozen=True, slots=True, eq=False)
class _Doubtful:
    """Sessions whose figures do not go together, and the hours that stand in for those that cannot be meant."""

    short: np.ndarray
    """bool (sessions,): far too few hours for the rows."""
    rows: np.ndarray
    """bool (sessions,): far too many rows for the hours and for this weaver."""
    hours: np.ndarray
    """float (sessions,): hours, the too few ones as those rows usually take."""


def _doubtful(sessions: SessionArrays) -> _Doubtful:
    """Mark single sessions with far too few hours, or far too many rows."""
    none = np.zeros(sessions.size, dtype=bool)
    sure = sessions.given & (sessions.rows > 0)
    if int(sure.sum()) < LEAST_TO_DOUBT:
        return _Doubtful(none, none, sessions.hours)
    rows_a_day = sessions.rows / sessions.days_woven
    hours_a_day = sessions.hours / sessions.days_woven
    usual_rows, usual_hours = middle_of(rows_a_day[sure]), middle_of(hours_a_day[sure])
    row_h = middle_of(hours_a_day[sure] / rows_a_day[sure])
    fast = sure & (hours_a_day < FAR_TOO_FAST * row_h * rows_a_day)
    short = fast & (hours_a_day < FAR_TOO_FAST * usual_hours) & (rows_a_day >= HARDLY_FEWER * usual_rows)
    many = fast & ~short & (rows_a_day > usual_rows / FAR_TOO_FAST)
    mended = np.minimum(row_h * sessions.rows, usual_hours * sessions.days_woven)
    return _Doubtful(short, many, np.where(short, mended, sessions.hours))


def observe(sessions: SessionArrays, to_weave: RowsToWeave) -> Observations:
    """Make observations of the pace from the sessions, and mark the sessions whose hours cannot be meant."""
    doubtful = _doubtful(sessions)
    sessions = replace(sessions, hours=doubtful.hours)
    given = sessions.given & ~doubtful.short
    group = _blocks(sessions.rows)
    use = group >= 0
    block = group[use]
    count = int(block.max()) + 1 if block.size else 0

    def summed(values: np.ndarray) -> np.ndarray:
        return np.bincount(block, values[use], minlength=count)

    held = summed(np.ones(sessions.size))
    rows, hours = summed(sessions.rows), summed(sessions.hours)
    changes_to = np.concatenate([[0.0], np.cumsum(to_weave.changes / max(to_weave.tied, 1.0))])
    reached = np.clip(np.rint(sessions.row_before[use] + sessions.rows[use]), 0, to_weave.rows)
    last = np.zeros(count, dtype=int)
    last[block] = reached  # the last session of a group wins
    first = np.clip(last - np.rint(rows).astype(int), 0, to_weave.rows - 1)
    last = np.maximum(last, first + 1)
    changes_per_knot = (changes_to[last] - changes_to[first]) / np.maximum(last - first, 1)
    log_row_hours = np.log(hours) - np.log(rows)
    log_team = summed(np.log(sessions.team) * sessions.hours) / hours if count else hours
    plain = log_row_hours - np.log1p(changes_per_knot) + priors.TEAM_POWER * log_team
    gap = plain - _near_median(plain)
    other = held * (sessions.step_h**2 / 12.0) / hours**2 + (1.0 / 6.0) / rows**2
    if given.any():
        other = other + (summed(~given * sessions.hours**2) / hours**2) * priors.MISSING_HOURS_SD**2
    believed_sd = priors.SESSION_SD
    if count and not given.any():  # each day counts the same, and no day was as long as the next
        believed_sd = math.hypot(believed_sd, priors.HOURS_SD / math.sqrt(float(sessions.days_woven.mean())))
    mad = middle_of(np.abs(gap * np.sqrt(held))) * 1.4826 if count >= 5 else believed_sd
    scale = max(math.sqrt(0.5 * mad**2 + 0.5 * believed_sd**2), 0.05)
    weight = np.minimum(5.0 / (4.0 + gap**2 / (scale**2 / held + other)), 1.0)
    own = np.maximum(gap**2 * weight - other, 0.0) * held
    session_sd = math.sqrt(
        (priors.SESSION_STRENGTH * believed_sd**2 + float(own.sum()))
        / (priors.SESSION_STRENGTH + max(count - 1, 0))
    )
    # A forgotten timer: far too many hours for the rows, and for a session of this weaver.
    usual = sessions.hours.copy()
    long = np.zeros(sessions.size, dtype=bool)
    if count:
        most = middle_of(sessions.hours) * LONG_SESSION
        slow = (gap > 3.5 * np.sqrt(session_sd**2 / held + other)) & (gap > 0.4)
        long[use] = slow[block] & (sessions.hours[use] > most) & given[use]
        mended = np.minimum(sessions.hours[use] * np.exp(-gap[block]), most)
        usual[use] = np.where(long[use], mended, usual[use])
        undoing = (group < 0) & given & (sessions.hours > most)
        long |= undoing
        usual = np.where(undoing, most, usual)
    hours_before = np.cumsum(usual) - 0.5 * usual
    out = sessions.rows < 0 if count else np.zeros(sessions.size, dtype=bool)
    return Observations(
        day=summed(sessions.day) / np.maximum(held, 1.0),
        log_row_hours=log_row_hours,
        changes_per_knot=changes_per_knot,
        hours_before=summed(hours_before) / np.maximum(held, 1.0),
        log_team=log_team,
        variance=other,
        weight=weight * held,
        session_sd=session_sd,
        too_long=long,
        too_short=doubtful.short,
        too_many_rows=doubtful.rows,
        usual_hours=usual,
        rows=rows,
        hours=np.where(summed(long | doubtful.rows) > 0, 0.0, hours),
        rows_out=-sessions.rows[out],
        hours_out=usual[out],
        group_out=np.maximum(np.maximum.accumulate(group), 0)[out],
    )


def _near_median(values: np.ndarray, width: int = 25) -> np.ndarray:
    if values.size <= width:
        return np.full(values.size, middle_of(values) if values.size else 0.0)
    padded = np.pad(values, width // 2, mode="reflect")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1)


def taught_by(earlier: Sequence[RugBook]) -> Taught:
    """Return what a weaver's earlier rugs say of her pace: each is fitted by weighted least squares for level, learning fall
    and colour changes, and speaks the louder the surer it is.
    """
    rate = rate_weight = learn = learn_weight = 0.0
    rugs = 0
    for book in earlier:
        earlier_level = _earlier_level(book)
        if earlier_level is None:
            continue
        own, own_sd, fall, fall_sd = earlier_level
        rugs += 1
        weight = 1.0 / (priors.RATE_SD_EARLIER**2 * 2.0 + own_sd**2)
        rate, rate_weight = rate + own * weight, rate_weight + weight
        weight = 1.0 / (priors.LEARN_SD_EARLIER**2 + fall_sd**2)
        learn, learn_weight = learn + fall * weight, learn_weight + weight
    return Taught(rate, rate_weight, learn, learn_weight, rugs)


def _earlier_level(book: RugBook) -> tuple[float, float, float, float] | None:
    """Fit one earlier rug: log hours a knot once learnt, its spread, the learning fall, its spread."""
    sessions = session_arrays(book)
    if not sessions.given.any():
        return None
    observed = observe(sessions, rows_to_weave(book))
    if observed.day.size < 8:
        return None
    y = (
        observed.log_row_hours
        - math.log(max(book.plan.knots_across * book.plan.tied_share, 1.0))
        - np.log1p(observed.changes_per_knot)
        + priors.TEAM_POWER * observed.log_team
    )
    x = np.stack([np.ones(y.size), np.exp(-observed.hours_before / priors.LEARN_HOURS_EARLIER)], axis=1)
    weight = observed.weight / (observed.session_sd**2 + observed.variance)
    fit = weighted_least_squares(x, y, weight)
    # A short rug hardly tells level and fall apart: by itself the fit may call all of it practice, and the next rug would
    # take half the hours. So the level is taken with a fall near the usual one.
    held = weighted_least_squares(
        np.vstack([x, [0.0, 1.0]]),
        np.append(y, float(defaults.LEARN_EXCESS)),
        np.append(weight, float(defaults.LEARN_SD) ** -2),
    )
    return (
        float(held.coefficients[0]),
        float(held.standard_errors[0]),
        float(fit.coefficients[1]),
        float(fit.standard_errors[1]),
    )


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
    session_sd: float
    hours_so_far: float
    lost: tuple[float, float]
    """Hours lost to unpicking and hours that gained rows, prior included."""


def fit_pace(sessions: SessionArrays, observed: Observations, prior: PacePrior, today: date) -> PaceFit:
    """Fit the pace by generalised least squares on a small grid of the parameters that are not linear.

    log(hours / rows) = level + log(1 + change_knots x changes_per_knot) + excess x exp(-hours_before / learn_hours)
    - power x log(team) + drift(day) + noise, drift being a stationary Gaussian process with exponential memory.

    References
    ----------
    C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, section 2.7 (explicit
    basis functions); grid weights are the marginal likelihoods. From memory.
    """
    data = _pooled(observed)
    n = data.day.size
    if sessions.size and not sessions.given.any():
        prior = _in_untold_hours(prior, sessions)
        data = replace(data, variance=data.variance + _unlikely_days(data, prior, sessions.size))
    changes = np.array(priors.CHANGE_KNOTS)
    falls = np.array(priors.LEARN_HOURS)
    drifts = np.array(priors.DRIFT_SDS)
    means0 = [
        np.array([prior.level, prior.learn * part, priors.TEAM_POWER]) for part in priors.LEARN_HOURS_PART
    ]
    precisions0 = [
        np.array([prior.level_sd, prior.learn_sd * part, priors.TEAM_POWER_SD]) ** -2.0
        for part in priors.LEARN_HOURS_PART
    ]
    shape = (changes.size, falls.size, drifts.size)
    weight = np.zeros(shape)
    mean = np.zeros((*shape, 4))
    covariance = np.zeros((*shape, 4, 4))
    noise = data.variance
    memory = np.exp(-np.abs(data.day[:, None] - data.day[None, :]) / priors.DRIFT_DAYS)
    reach = np.exp(-np.abs(today.toordinal() - data.day) / priors.DRIFT_DAYS)
    chances = np.log(priors.CHANGE_KNOTS_WEIGHT)
    for k, drift in enumerate(drifts):
        gram, log_det = np.zeros((3 + falls.size + changes.size,) * 2), 0.0
        if n:
            full = drift**2 * memory
            full[np.diag_indices(n)] += noise
            root = np.linalg.cholesky(full)
            log_det = 2.0 * float(np.log(np.diag(root)).sum())
            columns = [np.ones(n), -data.log_team, drift**2 * reach]
            columns += [np.exp(-data.hours_before / fall) for fall in falls]
            columns += [data.log_row_hours - np.log1p(cost * data.changes_per_knot) for cost in changes]
            white = np.linalg.solve(root, np.stack(columns, axis=1))
            gram = white.T @ white
        targets = slice(3 + falls.size, None)
        for j in range(falls.size):
            mean0, precision0 = means0[j], precisions0[j]
            terms = [0, 3 + j, 1]
            information = gram[np.ix_(terms, terms)] + np.diag(precision0)
            spread = np.linalg.inv(information)
            best = (gram[terms, targets].T + precision0 * mean0) @ spread
            quadratic = (
                np.diag(gram)[targets]
                + float(precision0 @ mean0**2)
                - np.einsum("ij,jk,ik->i", best, information, best)
            )
            logs = float(np.linalg.slogdet(information)[1]) - float(np.log(precision0).sum())
            weight[:, j, k] = (
                -0.5 * (quadratic + log_det + logs) + chances + math.log(priors.LEARN_HOURS_WEIGHT[j])
            )
            pull = gram[2, terms]
            mean[:, j, k, :3], mean[:, j, k, 3] = best, gram[2, targets] - best @ pull
            covariance[:, j, k, :3, :3] = spread
            covariance[:, j, k, 3, :3] = covariance[:, j, k, :3, 3] = -spread @ pull
            covariance[:, j, k, 3, 3] = max(drift**2 - float(gram[2, 2]), 1e-9) + float(pull @ spread @ pull)
    weight = np.exp(weight - weight.max())
    grid = np.meshgrid(changes, falls, drifts, indexing="ij")
    return PaceFit(
        weight=(weight / weight.sum()).ravel(),
        change_knots=grid[0].ravel(),
        learn_hours=grid[1].ravel(),
        drift_sd=grid[2].ravel(),
        mean=mean.reshape(-1, 4),
        root=np.linalg.cholesky(covariance.reshape(-1, 4, 4) + 1e-12 * np.eye(4)),
        session_sd=observed.session_sd,
        hours_so_far=float(observed.usual_hours.sum()),
        lost=_lost_hours(observed, grid, weight, mean),
    )


def _in_untold_hours(prior: PacePrior, sessions: SessionArrays) -> PacePrior:
    """Return what a row is believed to take in the hours of a record that has none: see `SessionArrays.hour_scale`.

    Rows a day are then all there is to learn; the belief in them is as unsure as pace and hours together.
    """
    return replace(
        prior,
        level=prior.level - math.log(sessions.hour_scale) - priors.HOURS_PLAN_SHIFT,
        level_sd=math.hypot(prior.level_sd, priors.HOURS_PLAN_SD),
    )


def _unlikely_days(data: _Pooled, prior: PacePrior, days: int) -> np.ndarray:
    """Return what the variance of each observation without hours grows by, (n,): in step with how far it lies beyond belief, so
    that its say stays as large as that of one at the edge of belief, and more rows are never a later date.

    Two rows on a day on which fifty were planned may be a slow hand, or ten minutes before the bread was done: one such day
    says little, a week of them says what the days are like. So it is shared by all `days` there are.
    """
    believed = (
        prior.level
        + prior.learn * np.exp(-data.hours_before / priors.LEARN_HOURS_EARLIER)
        - priors.TEAM_POWER * data.log_team
        + np.log1p(middle_of(np.array(priors.CHANGE_KNOTS)) * data.changes_per_knot)
    )
    sd = np.sqrt(prior.level_sd**2 + prior.learn_sd**2 + data.variance)
    near = priors.BELIEVABLE_SDS * sd
    beyond = np.maximum(np.abs(data.log_row_hours - believed) / near - 1.0, 0.0)
    return np.asarray(beyond * (prior.level_sd**2 + data.variance) / max(days, 1))


def _lost_hours(
    observed: Observations, grid: Sequence[np.ndarray], weight: np.ndarray, mean: np.ndarray
) -> tuple[float, float]:
    """Hours that gained nothing, and the hours that the rows woven should have cost: prior included.

    Lost are hours beyond what the rows should have cost, what rows cost that came out again, and taking them out. The robust
    weights take slow evenings for accidents; accidents are part of life and cost their hours. But one large mistake is no habit:
    what came out at once counts for no more than `priors.LOST_AT_ONCE` usual sessions.
    """
    best = np.unravel_index(int(np.argmax(weight)), weight.shape)
    state = mean[best]
    fitted = (
        state[0]
        + np.log1p(grid[0][best] * observed.changes_per_knot)
        + state[1] * np.exp(-observed.hours_before / grid[1][best])
        - state[2] * observed.log_team
    )
    counted = observed.hours > 0
    row_h = np.exp(fitted)
    should = float((observed.rows * row_h)[counted].sum())
    lost = max(float(observed.hours.sum()) - should, 0.0)
    if observed.rows_out.size:
        at_once = observed.rows_out * row_h[observed.group_out] + observed.hours_out
        most = priors.LOST_AT_ONCE * middle_of(observed.usual_hours)
        lost += float(np.minimum(at_once, most).sum())
    return priors.UNPICK_HOURS[0] + lost, priors.UNPICK_HOURS[1] + should


@dataclass(frozen=True, slots=True, eq=False)
class _Pooled:
    day: np.ndarray
    log_row_hours: np.ndarray
    changes_per_knot: np.ndarray
    hours_before: np.ndarray
    log_team: np.ndarray
    variance: np.ndarray


def _pooled(observed: Observations) -> _Pooled:
    """Pool the oldest observations so that at most about `MOST_OBSERVATIONS` remain."""
    variance = (
        observed.session_sd**2 / observed.weight + observed.variance
        if observed.day.size
        else observed.variance
    )
    n = observed.day.size
    if n <= MOST_OBSERVATIONS:
        return _Pooled(
            observed.day,
            observed.log_row_hours,
            observed.changes_per_knot,
            observed.hours_before,
            observed.log_team,
            variance,
        )
    recent = MOST_OBSERVATIONS // 2
    old = n - recent
    group = np.minimum(np.arange(old) * recent // old, recent - 1)
    information = np.bincount(group, 1.0 / variance[:old])

    def joined(values: np.ndarray) -> np.ndarray:
        return np.concatenate([np.bincount(group, values[:old] / variance[:old]) / information, values[old:]])

    return _Pooled(
        joined(observed.day),
        joined(observed.log_row_hours),
        joined(observed.changes_per_knot),
        joined(observed.hours_before),
        joined(observed.log_team),
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
    gained_share: np.ndarray
    """Share of the hours that is not lost to unpicking."""


def draw_pace(fit: PaceFit, count: int, rng: np.random.Generator) -> PaceDraws:
    """Draw `count` paces from the fit; nodes are drawn in equal slices so that the draws spread evenly."""
    cumulative = np.cumsum(fit.weight)
    place = (rng.permutation(count) + 0.5) / count
    node = np.minimum(np.searchsorted(cumulative, place), cumulative.size - 1)
    scores = even_normals(count, 5, rng)
    state = fit.mean[node] + np.einsum("sij,sj->si", fit.root[node], scores[:, :4])
    lost = gamma_from_normal(fit.lost[0], scores[:, 4])
    gained_share = fit.lost[1] / (fit.lost[1] + lost)
    return PaceDraws(state[:, 0], state[:, 1], state[:, 2], state[:, 3], node, gained_share)


def even_normals(count: int, columns: int, rng: np.random.Generator) -> np.ndarray:
    """Normal draws (count, columns), each column an even spread in its own random order."""
    return np.stack([normal_scores(count)[rng.permutation(count)] for _ in range(columns)], axis=1)


def belief_of(fit: PaceFit) -> PaceBelief:
    """Return the middle of what was learnt as the belief from which the plan makes its hours too."""
    return PaceBelief(
        chance=fit.weight,
        level=fit.mean[:, 0],
        change_knots=fit.change_knots,
        excess=fit.mean[:, 1],
        learn_hours=fit.learn_hours,
        team_power=fit.mean[:, 2],
        hours_woven=fit.hours_so_far,
        gained_share=fit.lost[1] / (fit.lost[1] + fit.lost[0]),
    )


def hours_to_rows(
    fit: PaceFit, draws: PaceDraws, changes_per_knot: np.ndarray, row_numbers: np.ndarray, begun: float = 0.0
) -> np.ndarray:
    """Hours of one weaver from now to the end of the rows at places `row_numbers`, for every future.

    Parameters
    ----------
    fit, draws : the pace and its draws
    changes_per_knot : colour changes per knot of every row still to come, shape (rows left,)
    row_numbers : places in `changes_per_knot`, int (marks,)
    begun : share of the first of these rows that is tied already

    Returns
    -------
    array (futures, marks) of hours, drift not included
    """
    hours_before = hours_before_rows(belief_of(fit), changes_per_knot)
    nodes = np.arange(fit.weight.size)
    live = np.zeros(fit.weight.size, dtype=bool)
    live[np.unique(draws.node)] = True
    excesses = np.array([-0.2, 0.15, 0.5, 0.9])
    out = np.empty((draws.level.size, row_numbers.size))
    tables: dict[tuple[float, float], np.ndarray] = {}
    for node in nodes[live]:
        key = (float(fit.change_knots[node]), float(fit.learn_hours[node]))
        if key not in tables:
            cost = 1.0 + key[0] * changes_per_knot
            fall = np.exp(-hours_before / key[1])
            raised = cost * np.exp(excesses[:, None] * fall)
            raised[:, 0] *= 1.0 - begun
            tables[key] = np.log(np.cumsum(raised, axis=1)[:, row_numbers])
        mine = draws.node == node
        excess = np.clip(draws.excess[mine], excesses[0], excesses[-1])
        table = tables[key]
        j = np.clip(np.searchsorted(excesses, excess, side="right") - 1, 0, excesses.size - 2)
        part = ((excess - excesses[j]) / (excesses[j + 1] - excesses[j]))[:, None]
        out[mine] = (1.0 - part) * table[j] + part * table[j + 1]
    return np.exp(out + draws.level[:, None]) / draws.gained_share[:, None]
