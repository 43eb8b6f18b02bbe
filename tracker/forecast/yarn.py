"""Whether each yarn lasts: use per knot and per row learnt from balls, scales and samples, and what follows from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tracker.domain.defaults import TEN_PERCENT_POINT
from tracker.domain.lot_moves import MovedLot, weighed_lots
from tracker.domain.need import Need
from tracker.domain.rug import Lot, Role, RugBook, Spoilt, UnpickedYarn, Weighing, Yarn, heights_after
from tracker.domain.weighing_answer import lost_before
from tracker.forecast import priors
from tracker.forecast.answers import BallsDoubted, Told
from tracker.forecast.stats import middle_of, normal_below, normal_scores, quantiles
from tracker.forecast.thresholds import BALLS_DOUBTED_FROM, RANGE_LOW

DRAWS = 1000
COARSE = np.linspace(-1.4, 1.4, 113)
"""Log ratios of the real use to the planned one on which evidence is first laid out."""


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """One yarn's record on one line of time: before each session and after it.

    Attributes
    ----------
    need : what the whole rug needs of the yarn, by the one account
    planned_g : planned grams a unit (a knot of pile, a row of weft)
    tied : float (sessions + 1,), units tied up to the end of each session; unpicked ones are counted where nobody said
        what became of their yarn (it is gone), and no longer where the losses say it
    wound_off : float (sessions + 1,), units whose yarn left balls and shuttles for good: those tied, and what was lost of
        unpicked ones
    ahead : float (rows + 1,), units needed from the start of the rug up to each row; the flat ends count as so many rows
    """

    need: Need
    tied: np.ndarray
    wound_off: np.ndarray
    ahead: np.ndarray
    lots: tuple[Lot, ...]
    weighings: tuple[Weighing, ...]
    spoilt: tuple[Spoilt, ...]
    ended: np.ndarray
    """float (sessions,), balls or shuttles ended in each session."""
    team: float
    tied_before: tuple[float, ...] = ()
    """Of each lot: units that were tied when it came, by day and order of entry."""

    @property
    def yarn(self) -> Yarn:
        """The yarn."""
        return self.need.yarn

    @property
    def planned_g(self) -> float:
        """Planned grams a unit."""
        return max(self.need.g_per_unit, 1e-9)

    def units_to(self, row: float) -> float:
        """Units needed from the start of the rug up to a row, of which a part may be tied."""
        return float(units_at(self.need, self.ahead, np.array([row]))[0])

    @property
    def bought_g(self) -> float:
        """Grams bought in all, with what was moved here and without what was moved away."""
        return float(sum(lot.mass_g for lot in self.lots))

    @property
    def spoilt_g(self) -> float:
        """Grams spoilt in all."""
        return float(sum(loss.mass_g for loss in self.spoilt))


def units_at(need: Need, ahead: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Units needed from the start of the rug up to each of `rows`, whose last may be tied in part.

    Of a part of a row the pile takes its share; the weft goes through the shed when the row is whole.
    """
    if need.yarn.role is Role.PILE:
        return np.interp(rows, np.arange(ahead.size), ahead)
    return ahead[np.clip(np.floor(rows + 1e-9), 0, ahead.size - 1).astype(int)]


def units_tied(need: Need, heights: np.ndarray, ahead: np.ndarray, again: Sequence[bool] = ()) -> np.ndarray:
    """Units tied up to the end of each session, (sessions + 1,).

    Parameters
    ----------
    need, ahead
        The yarn's need, and the units from the start of the rug up to each row.
    heights
        The rows on the loom after each session, parts of a row counted (`rug.heights_after`).
    again
        Whether the yarn of a session's unpicked rows is yarn again, as far as no loss says otherwise; where it is not,
        what was unpicked was still tied once.
    """
    after = np.minimum(heights, ahead.size - 1)
    more = np.diff(units_at(need, ahead, np.concatenate([[0.0], after])))
    back = np.array(again, dtype=bool) if len(again) else np.zeros(more.size, dtype=bool)
    return np.concatenate([[0.0], np.cumsum(np.where(back, more, np.maximum(more, 0.0)))])


def sessions_before(day: date, born: int, keys: list[tuple[date, int]]) -> int:
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
    odd_sd: np.ndarray
    """What each weighing and all after it may be off by because of something that nobody entered; 0 as a rule."""

    def without_last(self) -> Scale | None:
        """The weighings before the last one; None when there was only one."""
        if self.mass.size < 2:
            return None
        return Scale(
            self.mass[:-1],
            self.book[:-1],
            self.tied[:-1],
            self.noise_sd[:-1],
            self.book_sd[:-1],
            self.odd_sd[:-1],
        )


def scale_evidence(ledger: Ledger, keys: list[tuple[date, int]], by_eye: bool = False) -> Scale | None:
    """Lay out the weighings of one yarn; None without any. `by_eye`: whether the colours' shares were taken by eye."""
    if not ledger.weighings:
        return None
    mass, book, tied, noise, book_sd = [], [], [], [], []
    for weighing in ledger.weighings:
        lost = sum(loss.mass_g for loss in ledger.spoilt if lost_before(loss, weighing))
        bought = sum(lot.mass_g for lot in weighed_lots(ledger.lots, weighing, lost))
        mass.append(weighing.mass_g)
        book.append(bought - lost)
        tied.append(float(ledger.tied[sessions_before(weighing.day, weighing.born, keys)]))
        noise.append(
            math.sqrt(
                priors.SCALE_SD_G**2
                + weighing.resolution_g**2 / 12.0
                + (priors.DAMP_SD * weighing.mass_g) ** 2
            )
        )
        book_sd.append(math.hypot(priors.LOT_SD * bought, priors.SPOILT_SD * lost))
    use_sd = math.hypot(ledger.need.use_sd, priors.SHARE_NOW_SD if by_eye else 0.0)
    masses, books, ties, noises, book_sds = (np.array(one) for one in (mass, book, tied, noise, book_sd))
    odd_sd = _odd_sd(ledger.planned_g, ledger.planned_g * use_sd, masses, books, ties, noises, book_sds)
    return Scale(masses, books, ties, noises, book_sds, odd_sd)


def _odd_sd(
    planned_g: float,
    use_sd_g: float,
    mass: np.ndarray,
    book: np.ndarray,
    tied: np.ndarray,
    noise_sd: np.ndarray,
    book_sd: np.ndarray,
) -> np.ndarray:
    """Return what each weighing may be off by because yarn was lost or bought that nobody entered, in g, (weighings,).

    From one weighing to the next. What no use that can be believed explains (`priors.ODD_WEIGHING_SDS`) says the less of the
    use the farther it lies off: 2 g weighed for 200 would make every knot of the rug ten times as heavy. The scale itself
    is believed: what it shows is on hand.
    """

    def steps(column: np.ndarray) -> np.ndarray:
        return np.diff(column, prepend=0.0)

    off = np.abs(steps(book) - planned_g * steps(tied) - steps(mass))
    before = np.concatenate([[0.0], noise_sd[:-1]])
    usual = noise_sd**2 + before**2 + np.abs(np.diff(book_sd**2, prepend=0.0)) + (use_sd_g * steps(tied)) ** 2
    return np.sqrt(np.maximum((off / priors.ODD_WEIGHING_SDS) ** 2 - usual, 0.0))


def _scale_quadratic(scale: Scale) -> tuple[float, float]:
    """Precision and pull of the use (grams a unit) from the weighings, the unknown offset of the book summed out."""
    covariance = np.diag(scale.noise_sd**2) + np.outer(scale.book_sd, scale.book_sd)
    if scale.odd_sd.any():
        # What went unnoted before one weighing is missing at all later ones.
        off = np.cumsum(scale.odd_sd**2)
        covariance += np.minimum.outer(off, off)
    inverse = np.linalg.inv(covariance)
    precision = float(scale.tied @ inverse @ scale.tied)
    pull = float(scale.tied @ inverse @ (scale.book - scale.mass))
    return precision, pull


def _log_evidence(
    ledger: Ledger, weighed: tuple[float, float], log_ratio: np.ndarray, records_balls: bool
) -> np.ndarray:
    """Log likelihood of everything recorded about one yarn at each log ratio of real to planned use, (points,).

    `weighed` is the precision and pull of its weighings on the grams a unit; nothing of either without any.
    """
    use = ledger.planned_g * np.exp(log_ratio)
    total = np.zeros(log_ratio.size)
    precision, pull = weighed
    if precision > 0:
        total += -0.5 * precision * (use - pull / precision) ** 2
    unit = ledger.yarn.unit_mass_g
    wound = ledger.wound_off
    if records_balls and unit > 0 and wound[-1] > 0:
        ends = np.flatnonzero(ledger.ended > 0)
        number = float(ledger.ended.sum())
        hands = max(ledger.team, 1.0)
        since = max(wound[-1] - wound[ends[-1] + 1], 0.0) if number > 0 else wound[-1]
        # The balls under way have not ended yet.
        under_way = _mass_of_balls(number + hands, hands) - _mass_of_balls(number, hands)
        scores = [(under_way * unit - use * since) / (unit * hands * priors.OPEN_BALL_SD)]
        if number > 0:
            last = int(ends[-1])
            # The last ball ended somewhere in its session; other hands had begun balls of their own. One may have
            # ended and not been noted.
            low, high = use * wound[last], use * max(wound[last + 1], wound[last])
            missed = min(priors.BALL_NOT_NOTED * number, priors.BALLS_NOT_NOTED_MOST)
            for count in (number, number + 1.0):
                first, reach = _mass_of_balls(count, hands), _mass_of_balls(count + hands - 1.0, hands)
                sd = unit * math.sqrt(
                    count * priors.BALL_SD**2
                    + (count * priors.BALL_COMMON_SD) ** 2
                    + min(count, hands) * priors.FIRST_BALL_SD**2
                )
                scores += [(high - first * unit) / sd, (low - reach * unit) / sd]
        open_left, *ended = normal_below(np.stack(scores))
        if number > 0:
            likely = (1.0 - missed) * (ended[0] - ended[1]) + missed * (ended[2] - ended[3])
            width = np.minimum((high - low + (hands - 1.0) * unit) / (6.0 * unit), 0.2)
            total += np.log(
                (1 - priors.ODD_RECORD) * np.maximum(likely, 0.0)
                + priors.ODD_RECORD * np.maximum(width, 1e-6)
            )
        total += np.log((1 - priors.ODD_RECORD) * open_left + priors.ODD_RECORD)
    return total


@dataclass(frozen=True, slots=True)
class LeftByRecord:
    """What is left of a yarn by purchases and scales: `book_g` less the use of the `tied` units since, give or take `sd_g`."""

    book_g: float
    tied: float
    sd_g: float


def left_by_record(ledger: Ledger, scale: Scale | None) -> LeftByRecord | None:
    """Return what the record leaves of a yarn, from the last weighing on, else from the first purchase; None without either."""
    tied = float(ledger.tied[-1])
    book = ledger.bought_g - ledger.spoilt_g
    if scale is not None:
        since = book - float(scale.book[-1])
        sd = math.hypot(float(scale.noise_sd[-1]), priors.LOT_SD * since)
        return LeftByRecord(float(scale.mass[-1]) + since, tied - float(scale.tied[-1]), sd)
    if ledger.bought_g <= 0:
        return None
    sd = math.hypot(priors.LOT_SD * ledger.bought_g, priors.SPOILT_SD * ledger.spoilt_g)
    return LeftByRecord(book, tied, max(sd, priors.SCALE_SD_G))


def tied_beyond_record_g(ledger: Ledger, scale: Scale | None, use: Use) -> float:
    """Grams tied of which, by the record, there was no yarn any more, be the use ever so small; 0 as a rule."""
    left = left_by_record(ledger, scale)
    if left is None:
        return 0.0
    least, middle = (
        ledger.planned_g * math.exp(float(log_ratio)) * left.tied - left.book_g
        for log_ratio in quantiles(use.log_ratio, RANGE_LOW, 0.5)
    )
    return middle if least > TEN_PERCENT_POINT * left.sd_g else 0.0


def _mass_of_balls(count: float, hands: float) -> float:
    """Mass of so many balls in whole ones: the first of each hand is seldom a whole one."""
    return count - (1.0 - priors.FIRST_BALL) * min(count, hands)


@dataclass(frozen=True, slots=True, eq=False)
class Use:
    """The learnt use of one yarn: equally likely log ratios to the planned use, (DRAWS,).

    `log_ratio` is that of the rows woven so far, rising; `log_ratio_whole` that of the whole rug. They are the same
    when a cartoon tells where each colour's knots lie; with shares alone the two differ.
    """

    log_ratio: np.ndarray
    log_ratio_whole: np.ndarray
    unweighed: float
    """Middle log ratio as it would be believed without the last weighing, so that its mass on hand is the one shown before it."""

    @property
    def middle_ratio(self) -> float:
        """What the rows so far took, over what was planned, in the middle."""
        return math.exp(middle_of(self.log_ratio))


def learn_use(
    ledgers: Sequence[Ledger],
    scales: Sequence[Scale | None],
    records_balls: bool,
    rng: np.random.Generator,
    by_eye: bool = False,
) -> list[Use]:
    """Learn the real use of yarns that share a hand: each from its own record, borrowing from the others.

    log(real / planned) = common_sd x hand + own_sd x own, hand and own being standard normal. Each yarn's record is laid
    out on a grid and summed up as a Gaussian; from the others' sums follows its prior (closed form), and with its own
    full likelihood its posterior.

    Parameters
    ----------
    ledgers, scales : one entry a yarn
    records_balls : whether this weaver notes ended balls at all
    by_eye : whether the colours' shares were taken by eye, without a cartoon

    Returns
    -------
    list of Use, one a yarn
    """
    now_sd = priors.SHARE_NOW_SD if by_eye else 0.0
    common = [ledger.need.common_sd for ledger in ledgers]
    own = [math.hypot(ledger.need.own_sd, now_sd) for ledger in ledgers]
    records = [
        _own_record(ledger, scale, records_balls, shared_sd**2 + own_sd**2)
        for ledger, scale, shared_sd, own_sd in zip(ledgers, scales, common, own, strict=True)
    ]
    # What each record says of the hand, as precision and pull on a standard normal.
    weights = [c / (record.variance + o**2) for c, record, o in zip(common, records, own, strict=True)]
    out = []
    for place, (ledger, scale) in enumerate(zip(ledgers, scales, strict=True)):
        precision = 1.0 + sum(
            w * c for other, (w, c) in enumerate(zip(weights, common, strict=True)) if other != place
        )
        pull = sum(
            w * record.mean
            for other, (w, record) in enumerate(zip(weights, records, strict=True))
            if other != place
        )
        prior_mean = common[place] * pull / precision
        prior_var = common[place] ** 2 / precision + own[place] ** 2
        ratios = _believed_after(prior_mean, prior_var, records[place])
        whole = ratios
        if by_eye:
            shared_precision = precision + weights[place] * common[place]
            shared_mean = common[place] * (pull + weights[place] * records[place].mean) / shared_precision
            shared_sd = math.hypot(
                common[place] * shared_precision**-0.5, ledger.need.own_sd, ledger.need.share_sd
            )
            whole = shared_mean + shared_sd * normal_scores(DRAWS)[rng.permutation(DRAWS)]
        unweighed = prior_mean
        if scale is not None:
            wide = common[place] ** 2 + own[place] ** 2
            before = _own_record(ledger, scale.without_last(), records_balls, wide)
            unweighed = middle_of(_believed_after(prior_mean, prior_var, before))
        out.append(Use(ratios, whole, unweighed))
    return out


@dataclass(frozen=True, slots=True, eq=False)
class _OwnRecord:
    """What one yarn's record says alone of the log ratio of its real to its planned use."""

    evidence: Callable[[np.ndarray], np.ndarray]
    """Log likelihood at log ratios, (points,)."""
    mean: float
    variance: float
    """Infinite where the record says nothing."""


def _own_record(ledger: Ledger, scale: Scale | None, records_balls: bool, wide: float) -> _OwnRecord:
    """Sum a yarn's record up as a Gaussian, under a flat prior wide enough for any plan (variance `wide`)."""

    weighed = (0.0, 0.0) if scale is None else _scale_quadratic(scale)

    def evidence(log_ratio: np.ndarray) -> np.ndarray:
        return _log_evidence(ledger, weighed, log_ratio, records_balls)

    coarse = evidence(COARSE)
    if float(np.ptp(coarse)) < 1e-9:
        return _OwnRecord(evidence, 0.0, math.inf)
    mean, var = _sum_up(COARSE, coarse - 0.5 * COARSE**2 / wide)
    if var < 0.03**2:  # sharper than the grid: look closer
        fine = mean + np.linspace(-0.15, 0.15, 121)
        mean, var = _sum_up(fine, evidence(fine) - 0.5 * fine**2 / wide)
    var = max(var, 1e-8)  # a record that leaves one point of the grid is not sure beyond all measure
    precision = max(1.0 / var - 1.0 / wide, 0.0)
    if precision < 1e-6:
        return _OwnRecord(evidence, 0.0, math.inf)
    return _OwnRecord(evidence, mean / var / precision, 1.0 / precision)


def _believed_after(prior_mean: float, prior_var: float, record: _OwnRecord) -> np.ndarray:
    """Return equally likely log ratios after a yarn's own record met what was believed before it, rising, (DRAWS,)."""
    mean, var, drawn_away = prior_mean, prior_var, 0.0
    if math.isfinite(record.variance):
        var = 1.0 / (1.0 / prior_var + 1.0 / record.variance)
        mean = var * (prior_mean / prior_var + record.mean / record.variance)
        drawn_away = 0.1 * abs(mean - prior_mean)
    grid = mean + np.linspace(-1.0, 1.0, 161) * (5.0 * math.sqrt(var) + drawn_away + 0.005)
    log_post = -0.5 * (grid - prior_mean) ** 2 / prior_var + record.evidence(grid)
    density = np.exp(log_post - log_post.max())
    cumulative = np.cumsum(density) - 0.5 * density
    return np.interp((np.arange(DRAWS) + 0.5) / DRAWS, cumulative / density.sum(), grid)


def _sum_up(grid: np.ndarray, log_density: np.ndarray) -> tuple[float, float]:
    density = np.exp(log_density - log_density.max())
    density /= density.sum()
    mean = float(density @ grid)
    return mean, float(density @ (grid - mean) ** 2)


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """Draws for one yarn, arrays (DRAWS,): grams on hand today, grams the rest needs, grams a unit of the rest takes.

    `reserve` is what is on hand as it counts against the need: a scale believed to its step may still have weighed damp.
    """

    on_hand: np.ndarray
    reserve: np.ndarray
    needed: np.ndarray
    use_ahead: np.ndarray
    mass_noise: np.ndarray
    """What `reserve` owes to scales and bills that are not exact, not to use: it lies on every part of the mass alike."""


def tied_before_moves_g(
    ledger: Ledger, book_g: float, grams: np.ndarray, tied_from: float = 0.0, weighed: tuple[Lot, ...] = ()
) -> np.ndarray:
    """Draw the grams that were tied of yarn nobody noted before some was moved here: what came later is not used up by them.

    Parameters
    ----------
    book_g
        Grams by the book in all, what was moved among them: since the last weighing, or from the start.
    grams
        Draws of the grams of a unit.
    tied_from
        Units that were tied at the last weighing.
    weighed
        Lots that were on the scale then.

    Notes
    -----
    A purchase may be written down long after it was made; what was moved lay elsewhere until that day.
    """
    known = {lot.id for lot in weighed}
    moved = [
        (lot, tied)
        for lot, tied in zip(ledger.lots, ledger.tied_before, strict=True)
        if isinstance(lot, MovedLot) and lot.id not in known
    ]
    owed, there_g = np.zeros(grams.shape), book_g - sum(lot.mass_g for lot, _tied in moved)
    for lot, tied in moved:
        if lot.mass_g > 0:
            owed = np.maximum(owed, grams * (tied - tied_from) - there_g)
        there_g += lot.mass_g
    return owed


def _widened(mass_g: np.ndarray, noise_g: np.ndarray) -> np.ndarray:
    """Return draws with noise added that leaves their middle where the bookkeeping has it.

    So 300 g given, lost or bought are 300 g less or more on hand: the middle of a sum of two draws is not the sum of theirs.
    """
    noisy = mass_g + noise_g
    return noisy + (middle_of(mass_g) - middle_of(noisy))


def stock(
    ledger: Ledger,
    scale: Scale | None,
    use: Use,
    row_now: float,
    unpicked_share: float,
    rng: np.random.Generator,
) -> Stock:
    """Draw what is on hand today and what the rest of the rug needs.

    What was weighed last is what was there, within the scale's steps; from then on, and without a weighing from the
    start, it is bookkeeping: lots less spoilt less use.
    """
    grams = ledger.planned_g * np.exp(use.log_ratio)
    tied = float(ledger.tied[-1])
    bought, lost = ledger.bought_g, ledger.spoilt_g
    scores = normal_scores(DRAWS)[rng.permutation(DRAWS)]
    own = normal_scores(DRAWS)[rng.permutation(DRAWS)]
    if scale is None:
        book_sd = math.hypot(priors.LOT_SD * bought, priors.SPOILT_SD * lost)
        owed = tied_before_moves_g(ledger, bought - lost, grams)
        on_hand = _widened(bought - lost - grams * tied + owed, book_sd * scores)
        reserve = on_hand
        noise = book_sd * scores
    else:
        last = ledger.weighings[-1]
        gone = sum(loss.mass_g for loss in ledger.spoilt if not lost_before(loss, last))
        there = weighed_lots(ledger.lots, last, lost - gone)
        later = bought - sum(lot.mass_g for lot in there)
        step = last.resolution_g * ((rng.permutation(DRAWS) + 0.5) / DRAWS - 0.5)
        book_sd = math.hypot(priors.LOT_SD * later, priors.SPOILT_SD * gone)
        since = tied - float(scale.tied[-1])
        owed = tied_before_moves_g(ledger, last.mass_g + later - gone, grams, float(scale.tied[-1]), there)
        on_hand = _widened(last.mass_g + later - gone - grams * since + owed, step + book_sd * scores)
        if since < 0:
            # What comes back of unpicked rows was there before: never more than all that was bought, or that the scale said.
            on_hand = np.minimum(on_hand, max(bought - lost, last.mass_g + later - gone))
        damp = priors.DAMP_SD * last.mass_g * own[::-1]
        reserve = on_hand + damp
        noise = book_sd * scores + damp
    left = float(ledger.ahead[-1]) - ledger.units_to(row_now)
    whole = ledger.planned_g * np.exp(use.log_ratio_whole)
    # What the whole rug takes less what it took so far; a colour seldom vanishes from the rest.
    so_far = float(ledger.ahead[-1]) - left
    middle = np.maximum(whole * (so_far + left) - grams * so_far, 0.25 * whole * left) * (
        1.0 + unpicked_share
    )
    needed = middle * (1.0 + 0.01 * own)
    # The noise of single rows widens the need and leaves its middle where the account has it.
    needed *= middle_of(middle) / max(middle_of(needed), 1e-12)
    use_ahead = needed / max(left, 1e-9)
    return Stock(np.maximum(on_hand, 0.0), np.maximum(reserve, 0.0), needed, use_ahead, noise)


def lost_again(ledger: Ledger, use: Use, rows_gained: Sequence[float]) -> float:
    """Return what share more the rows to come take because some of them will come out again, as the record has it.

    Only what was lost of unpicked rows counts: a weft that is used again takes nothing more. What came out at once counts for
    no more than `priors.LOST_AT_ONCE` usual sessions: one large mistake is no habit.

    Parameters
    ----------
    rows_gained : rows that each session gained, below zero where more came out
    """
    gained = [rows for rows in rows_gained if rows > 0]
    if not gained:
        return 0.0
    most = priors.LOST_AT_ONCE * middle_of(np.array(gained))
    heights = (0.0, *heights_after(rows_gained))
    lost_units = np.diff(ledger.wound_off - ledger.tied) / use.middle_ratio
    kept_tied = np.diff(ledger.tied)
    lost_rows = 0.0
    for at, rows in enumerate(rows_gained):
        if rows >= 0:
            continue
        out = ledger.units_to(heights[at]) - ledger.units_to(heights[at + 1])
        if out > 0:
            # Nobody said what became of it: all is gone, and its units still count as tied.
            share = min(1.0, float(lost_units[at]) / out) if kept_tied[at] < 0 else 1.0
            lost_rows += share * min(-rows, most)
    return lost_rows / (sum(gained) + priors.UNPICK_ROWS)


def weighing_told(ledger: Ledger, scale: Scale | None, use: Use) -> Told | None:
    """Return what the last weighing tells: from the weighing before it, or from what was bought; None without one."""
    if scale is None:
        return None
    grams = ledger.planned_g * math.exp(use.unweighed)
    start_g, book_g, tied, sd = 0.0, 0.0, 0.0, float(scale.book_sd[-1])
    if scale.mass.size > 1:
        start_g, book_g, tied = float(scale.mass[-2]), float(scale.book[-2]), float(scale.tied[-2])
        sd = math.hypot(float(scale.noise_sd[-2]), priors.LOT_SD * (float(scale.book[-1]) - book_g))
    expected = start_g + float(scale.book[-1]) - book_g - grams * (float(scale.tied[-1]) - tied)
    return Told(
        day=ledger.weighings[-1].day,
        mass_g=ledger.weighings[-1].mass_g,
        expected_g=max(0.0, expected),
        usual_g=TEN_PERCENT_POINT * math.hypot(float(scale.noise_sd[-1]), sd),
    )


def balls_doubted(ledger: Ledger, scale: Scale | None, use: Use) -> BallsDoubted | None:
    """Return the balls used up where they cannot have been whole ones by what is believed of the use; None where they can.

    A weighing after the last of them has settled what is left.
    """
    ends = np.flatnonzero(ledger.ended > 0)
    unit = ledger.yarn.unit_mass_g
    if not ends.size or unit <= 0:
        return None
    count = float(ledger.ended.sum())
    last = int(ends[-1])
    if scale is not None and float(scale.tied[-1]) >= float(ledger.tied[last + 1]):
        return None
    units = max(float(ledger.wound_off[last]), float(ledger.wound_off[last + 1]))
    used_g = ledger.planned_g * use.middle_ratio * units
    if _mass_of_balls(count, max(ledger.team, 1.0)) * unit < BALLS_DOUBTED_FROM * used_g:
        return None
    return BallsDoubted(count=count, each_g=unit, used_g=used_g)


def run_out_rows(ledger: Ledger, drawn: Stock, row_now: float) -> np.ndarray:
    """Row in which each draw runs out, (DRAWS,); one more than the last row when it lasts."""
    start = ledger.units_to(row_now)
    reach = start + drawn.reserve / np.maximum(drawn.use_ahead, 1e-12)
    # Sorted queries are quick to search; the order is put back.
    order = np.argsort(reach)
    rows = np.empty(reach.size)
    rows[order] = np.searchsorted(ledger.ahead, reach[order] + 1e-9, side="right")
    return np.maximum(rows, math.floor(row_now) + 1)


def units_ahead(need: Need, knots: np.ndarray | None, rows: int) -> np.ndarray:
    """Return the units needed from the start of the rug up to each row, (rows + 1,).

    `knots` are those of each row; None for a weft, whose unit is a row. The first flat end comes with the first row,
    the last one with the last.
    """
    ahead = np.arange(rows + 1, dtype=float) if knots is None else np.concatenate([[0.0], np.cumsum(knots)])
    if need.ends_g and need.g_per_unit > 0:
        ahead[1:] += need.first_end_g / need.g_per_unit
        ahead[-1] += need.last_end_g / need.g_per_unit
    return ahead


def ledgers_of(
    book: RugBook, needs: Sequence[Need], ahead: Sequence[np.ndarray], team: float
) -> list[Ledger]:
    """Gather the records of the given yarns."""
    sessions = book.sessions
    place = {need.yarn.id: k for k, need in enumerate(needs)}
    ended = np.zeros((len(needs), len(sessions)))
    for place_of_session, session in enumerate(sessions):
        for name, count in session.used:
            if name in place:
                ended[place[name], place_of_session] += count
    again = [session.unpicked_yarn is UnpickedYarn.SAID for session in sessions]
    number_of = {session.id: number for number, session in enumerate(sessions)}
    # What was lost of unpicked rows left the balls as the yarn of any other knot did.
    lost_g = np.zeros((len(needs), len(sessions)))
    for loss in book.spoilt:
        number = number_of.get(loss.session_id or "")
        if loss.yarn_id in place and number is not None and again[number]:
            lost_g[place[loss.yarn_id], number] += loss.mass_g
    keys = [(session.day, session.born) for session in sessions]
    heights = np.array(heights_after(book.rows_gained))
    tied = [units_tied(need, heights, units, again) for need, units in zip(needs, ahead, strict=True)]
    return [
        Ledger(
            need=need,
            tied=tied[k],
            wound_off=tied[k] + np.concatenate([[0.0], np.cumsum(lost_g[k])]) / max(need.g_per_unit, 1e-9),
            ahead=units,
            lots=(lots := tuple(x for x in book.lots if x.yarn_id == need.yarn.id)),
            tied_before=tuple(float(tied[k][sessions_before(lot.day, lot.born, keys)]) for lot in lots),
            weighings=tuple(x for x in book.weighings if x.yarn_id == need.yarn.id),
            spoilt=tuple(x for x in book.spoilt if x.yarn_id == need.yarn.id),
            ended=ended[k],
            team=team,
        )
        for k, (need, units) in enumerate(zip(needs, ahead, strict=True))
    ]
