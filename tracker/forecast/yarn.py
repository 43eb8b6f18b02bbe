"""Whether each yarn lasts: use per knot and per row learnt from balls, scales and samples, and what follows from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain import defaults
from tracker.domain.rug import Lot, RugBook, Sample, Session, Spoilt, Weighing, Yarn
from tracker.forecast import priors
from tracker.forecast.stats import normal_below, normal_scores

DRAWS = 1000
COARSE = np.linspace(-1.4, 1.4, 113)
"""Log ratios of the real use to the planned one on which evidence is first laid out."""


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """One yarn's record on one line of time: before each session and after it.

    Attributes
    ----------
    yarn : the yarn
    planned_g : planned grams a unit (a knot of pile, a row of weft)
    tied : float (sessions + 1,), units tied up to the end of each session, unpicked ones counted (their yarn is gone)
    ahead : float (rows + 1,), units needed from the start of the rug up to each row
    """

    yarn: Yarn
    planned_g: float
    tied: np.ndarray
    ahead: np.ndarray
    lots: tuple[Lot, ...]
    weighings: tuple[Weighing, ...]
    spoilt: tuple[Spoilt, ...]
    samples: tuple[Sample, ...]
    ended: np.ndarray
    """float (sessions,), balls or shuttles ended in each session."""
    team: float

    @property
    def bought_g(self) -> float:
        """Grams bought in all."""
        return float(sum(lot.mass_g for lot in self.lots))

    @property
    def spoilt_g(self) -> float:
        """Grams spoilt in all."""
        return float(sum(loss.mass_g for loss in self.spoilt))


def units_tied(sessions: Sequence[Session], ahead: np.ndarray) -> np.ndarray:
    """Units tied up to the end of each session, (sessions + 1,); what was unpicked was still tied once."""
    rows = np.fromiter((s.rows for s in sessions), dtype=int, count=len(sessions))
    after = np.clip(np.cumsum(rows), 0, ahead.size - 1)
    before = np.concatenate([[0], after[:-1]]).astype(int)
    gained = np.maximum(ahead[after] - ahead[before], 0.0)
    return np.concatenate([[0.0], np.cumsum(gained)])


def _place(day: date, born: int, keys: list[tuple[date, int]]) -> int:
    """Number of sessions that came before a record of that day and birth."""
    low, high = 0, len(keys)
    while low < high:
        middle = (low + high) // 2
        if keys[middle] <= (day, born):
            low = middle + 1
        else:
            high = middle
    return low


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """The weighings of one yarn as linear evidence: mass = book - use x tied + noise, arrays (weighings,)."""

    mass: np.ndarray
    book: np.ndarray
    tied: np.ndarray
    noise_sd: np.ndarray
    book_sd: np.ndarray


def scale_evidence(ledger: Ledger, keys: list[tuple[date, int]]) -> Scale | None:
    """Lay out the weighings of one yarn; None without any."""
    if not ledger.weighings:
        return None
    mass, book, tied, noise, book_sd = [], [], [], [], []
    for weighing in ledger.weighings:
        at = (weighing.day, weighing.born)
        bought = sum(lot.mass_g for lot in ledger.lots if _came_before(lot, at))
        lost = sum(loss.mass_g for loss in ledger.spoilt if (loss.day, loss.born) <= at)
        mass.append(weighing.mass_g)
        book.append(bought - lost)
        tied.append(float(ledger.tied[_place(weighing.day, weighing.born, keys)]))
        noise.append(
            math.sqrt(
                priors.SCALE_SD_G**2
                + weighing.resolution_g**2 / 12.0
                + (priors.DAMP_SD * weighing.mass_g) ** 2
            )
        )
        book_sd.append(math.hypot(priors.LOT_SD * bought, priors.SPOILT_SD * lost))
    return Scale(*(np.array(column) for column in (mass, book, tied, noise, book_sd)))


def _came_before(lot: Lot, at: tuple[date, int]) -> bool:
    """Whether a lot was in the house at a weighing: yarn bought on the day of a weighing was bought to be weighed."""
    return lot.day <= at[0]


def _scale_quadratic(scale: Scale) -> tuple[float, float, np.ndarray]:
    """Precision and centre of the use (grams a unit) from the weighings, the unknown offset of the book summed out."""
    covariance = np.diag(scale.noise_sd**2) + np.outer(scale.book_sd, scale.book_sd)
    inverse = np.linalg.inv(covariance)
    precision = float(scale.tied @ inverse @ scale.tied)
    pull = float(scale.tied @ inverse @ (scale.book - scale.mass))
    return precision, pull, inverse


def _log_evidence(
    ledger: Ledger, scale: Scale | None, log_ratio: np.ndarray, records_balls: bool
) -> np.ndarray:
    """Log likelihood of everything recorded about one yarn at each log ratio of real to planned use, (points,)."""
    use = ledger.planned_g * np.exp(log_ratio)
    total = np.zeros(log_ratio.size)
    if scale is not None:
        precision, pull, _inverse = _scale_quadratic(scale)
        if precision > 0:
            total += -0.5 * precision * (use - pull / precision) ** 2
    unit = ledger.yarn.unit_mass_g
    if records_balls and unit > 0 and ledger.tied[-1] > 0:
        ends = np.flatnonzero(ledger.ended > 0)
        number = float(ledger.ended.sum())
        hands = max(ledger.team, 1.0)
        if number > 0:
            last = int(ends[-1])
            # The last ball ended somewhere in its session; other hands had begun balls of their own. One may have
            # ended and not been noted.
            low, high = use * ledger.tied[last], use * ledger.tied[last + 1]
            missed = min(priors.BALL_NOT_NOTED * number, 0.35)
            likely = np.zeros(use.size)
            for count, odds in ((number, 1.0 - missed), (number + 1.0, missed)):
                sd = unit * math.sqrt(count * priors.BALL_SD**2 + (count * priors.BALL_COMMON_SD) ** 2)
                likely += odds * (
                    normal_below((high - count * unit) / sd)
                    - normal_below((low - (count + hands - 1.0) * unit) / sd)
                )
            width = np.minimum((high - low + (hands - 1.0) * unit) / (6.0 * unit), 0.2)
            total += np.log(
                (1 - priors.ODD_RECORD) * np.maximum(likely, 0.0)
                + priors.ODD_RECORD * np.maximum(width, 1e-6)
            )
            since = ledger.tied[-1] - ledger.tied[last + 1]
        else:
            since = ledger.tied[-1]
        # The balls under way have not ended yet.
        open_left = normal_below((hands * unit - use * since) / (unit * hands * 0.08))
        total += np.log((1 - priors.ODD_RECORD) * open_left + priors.ODD_RECORD)
    for sample in ledger.samples:
        if sample.knots > 0 and sample.mass_g > 0:
            sd = math.hypot(sample.resolution_g / math.sqrt(12.0), defaults.SD_SAMPLE * sample.mass_g)
            total += -0.5 * ((use * sample.knots - sample.mass_g) / sd) ** 2
    return total


@dataclass(frozen=True, slots=True, eq=False)
class Use:
    """The learnt use of one yarn: equally likely log ratios to the planned use, (DRAWS,).

    `log_ratio` is that of the rows woven so far, rising; `log_ratio_whole` that of the whole rug. They are the same
    when a cartoon tells where each colour's knots lie; with shares alone the two differ.
    """

    log_ratio: np.ndarray
    log_ratio_whole: np.ndarray
    evidence: bool


def learn_use(
    ledgers: Sequence[Ledger],
    scales: Sequence[Scale | None],
    common_sd: float,
    own_sd: float,
    records_balls: bool,
    rng: np.random.Generator,
    share_sd: tuple[float, float] | None = None,
) -> list[Use]:
    """Learn the real use of yarns that share a hand: each from its own record, borrowing from the others.

    log(real / planned) = common + own. Each yarn's record is laid out on a grid and summed up as a Gaussian;
    from the others' sums follows its prior (closed form), and with its own full likelihood its posterior.

    Parameters
    ----------
    ledgers, scales : one entry a yarn
    common_sd, own_sd : spreads (log) of what is shared and of what is a yarn's own
    records_balls : whether this weaver notes ended balls at all
    share_sd : without a cartoon, spreads (log) of a colour's share of the whole rug and of what is woven; else None

    Returns
    -------
    list of Use, one a yarn
    """
    whole_own = own_sd
    if share_sd is not None:
        whole_own, own_sd = math.hypot(own_sd, share_sd[0]), math.hypot(own_sd, share_sd[1])
    # What one record says alone, under a flat prior wide enough for any plan.
    wide = common_sd**2 + own_sd**2
    means, variances, flat = [], [], []
    for ledger, scale in zip(ledgers, scales, strict=True):
        evidence = _log_evidence(ledger, scale, COARSE, records_balls)
        flat.append(float(np.ptp(evidence)) < 1e-9)
        mean, var = _sum_up(COARSE, evidence - 0.5 * COARSE**2 / wide)
        if var < 0.03**2:  # sharper than the grid: look closer
            fine = mean + np.linspace(-0.15, 0.15, 121)
            mean, var = _sum_up(
                fine, _log_evidence(ledger, scale, fine, records_balls) - 0.5 * fine**2 / wide
            )
        precision = max(1.0 / max(var, 1e-8) - 1.0 / wide, 0.0)
        if flat[-1] or precision < 1e-6:
            means.append(0.0)
            variances.append(math.inf)
        else:
            means.append(mean / var / precision)
            variances.append(1.0 / precision)
    out = []
    for place, (ledger, scale) in enumerate(zip(ledgers, scales, strict=True)):
        precision = common_sd**-2
        pull = 0.0
        for other, (mean, var) in enumerate(zip(means, variances, strict=True)):
            if other != place and math.isfinite(var):
                weight = 1.0 / (var + own_sd**2)
                precision += weight
                pull += weight * mean
        prior_mean, prior_var = pull / precision, 1.0 / precision + own_sd**2
        mean, var = prior_mean, prior_var
        if math.isfinite(variances[place]):
            var = 1.0 / (1.0 / prior_var + 1.0 / variances[place])
            mean = var * (prior_mean / prior_var + means[place] / variances[place])
        reach = 5.0 * math.sqrt(var) + 0.5 * abs(mean - prior_mean) * (0.0 if flat[place] else 0.2) + 0.005
        grid = mean + np.linspace(-reach, reach, 161)
        log_post = -0.5 * (grid - prior_mean) ** 2 / prior_var
        if not flat[place]:
            log_post = log_post + _log_evidence(ledger, scale, grid, records_balls)
        density = np.exp(log_post - log_post.max())
        cumulative = np.cumsum(density) - 0.5 * density
        ratios = np.interp((np.arange(DRAWS) + 0.5) / DRAWS, cumulative / density.sum(), grid)
        whole = ratios
        if share_sd is not None:
            weight = 0.0 if math.isinf(variances[place]) else 1.0 / (variances[place] + own_sd**2)
            shared_mean = (pull + weight * means[place]) / (precision + weight)
            shared_sd = math.hypot((precision + weight) ** -0.5, whole_own)
            whole = shared_mean + shared_sd * normal_scores(DRAWS)[rng.permutation(DRAWS)]
        out.append(Use(ratios, whole, not flat[place]))
    return out


def _sum_up(grid: np.ndarray, log_density: np.ndarray) -> tuple[float, float]:
    density = np.exp(log_density - log_density.max())
    density /= density.sum()
    mean = float(density @ grid)
    return mean, float(density @ (grid - mean) ** 2)


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """Draws for one yarn, arrays (DRAWS,): grams on hand today, grams the rest needs, grams a unit of the rest takes."""

    on_hand: np.ndarray
    needed: np.ndarray
    use_ahead: np.ndarray


def stock(
    ledger: Ledger,
    scale: Scale | None,
    use: Use,
    row_now: int,
    unpicked_share: float,
    rng: np.random.Generator,
) -> Stock:
    """Draw what is on hand today and what the rest of the rug needs.

    Given the use, what is on hand is bookkeeping (lots less spoilt less use) corrected by every weighing.
    """
    grams = ledger.planned_g * np.exp(use.log_ratio)
    tied = float(ledger.tied[-1])
    book = ledger.bought_g - ledger.spoilt_g
    book_sd = math.hypot(priors.LOT_SD * ledger.bought_g, priors.SPOILT_SD * ledger.spoilt_g)
    scores = normal_scores(DRAWS)[rng.permutation(DRAWS)]
    on_hand = book - grams * tied
    if scale is None:
        on_hand = on_hand + book_sd * scores
    else:
        # Offset of the book, given the use: a common factor on what was bought, observed through every weighing.
        observed = scale.mass[None, :] - (scale.book[None, :] - grams[:, None] * scale.tied[None, :])
        weight = scale.book_sd / scale.noise_sd**2
        precision = 1.0 + float((scale.book_sd * weight).sum())
        centre = observed @ weight / precision
        drawn = centre + scores / math.sqrt(precision)
        on_hand = on_hand + drawn * book_sd
        # The last weighing knows best: what came before it only matters through the offset.
        last_sd = float(scale.noise_sd[-1])
        if book_sd < 1e-9:
            on_hand = scale.mass[-1] - grams * (tied - float(scale.tied[-1])) + (book - float(scale.book[-1]))
            on_hand = on_hand + last_sd * scores
    left = float(ledger.ahead[-1] - ledger.ahead[min(row_now, ledger.ahead.size - 1)])
    own = normal_scores(DRAWS)[rng.permutation(DRAWS)]
    whole = ledger.planned_g * np.exp(use.log_ratio_whole)
    # What the whole rug takes less what it took so far; a colour seldom vanishes from the rest.
    so_far = float(ledger.ahead[-1]) - left
    needed = np.maximum(whole * (so_far + left) - grams * so_far, 0.25 * whole * left)
    needed = needed * (1.0 + unpicked_share) * (1.0 + 0.01 * own)
    return Stock(np.maximum(on_hand, 0.0), needed, needed / max(left, 1e-9))


def run_out_rows(ledger: Ledger, drawn: Stock, row_now: int) -> np.ndarray:
    """Row in which each draw runs out, (DRAWS,); one more than the last row when it lasts."""
    start = float(ledger.ahead[min(row_now, ledger.ahead.size - 1)])
    reach = start + drawn.on_hand / np.maximum(drawn.use_ahead, 1e-12)
    # Sorted queries are quick to search; the order is put back.
    order = np.argsort(reach)
    rows = np.empty(reach.size)
    rows[order] = np.searchsorted(ledger.ahead, reach[order] + 1e-9, side="right")
    return np.maximum(rows, row_now + 1)


def ledgers_of(
    book: RugBook, yarns: Sequence[Yarn], planned_g: Sequence[float], ahead: Sequence[np.ndarray], team: float
) -> list[Ledger]:
    """Gather the records of the given yarns."""
    sessions = book.sessions
    place = {yarn.id: k for k, yarn in enumerate(yarns)}
    ended = np.zeros((len(yarns), len(sessions)))
    for number, session in enumerate(sessions):
        for name, count in session.used:
            if name in place:
                ended[place[name], number] += count
    return [
        Ledger(
            yarn=yarn,
            planned_g=max(grams, 1e-9),
            tied=units_tied(sessions, units),
            ahead=units,
            lots=tuple(x for x in book.lots if x.yarn_id == yarn.id),
            weighings=tuple(x for x in book.weighings if x.yarn_id == yarn.id),
            spoilt=tuple(x for x in book.spoilt if x.yarn_id == yarn.id),
            samples=tuple(x for x in book.samples if x.yarn_id == yarn.id),
            ended=ended[k],
            team=team,
        )
        for k, (yarn, grams, units) in enumerate(zip(yarns, planned_g, ahead, strict=True))
    ]
