"""Whether each yarn lasts: what is on hand, what the rest needs and what follows from both, by the use learnt from the record."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from tracker.domain.defaults import TEN_PERCENT_POINT
from tracker.domain.lot_moves import MovedLot, weighed_lots
from tracker.domain.rug import Lot, heights_after
from tracker.domain.weighing_answer import lost_before
from tracker.forecast import priors
from tracker.forecast.answers import BallsDoubted, Told
from tracker.forecast.ledger import Ledger, Scale, mass_of_balls
from tracker.forecast.stats import middle_of, normal_scores, quantiles
from tracker.forecast.strays import strays_ahead
from tracker.forecast.thresholds import BALLS_DOUBTED_FROM, RANGE_LOW
from tracker.forecast.use import DRAWS, MOST_STRAY_SD, Use

STEPS_AHEAD = 40
"""Heights between today's row and the last at which it is reckoned how unevenly a yarn may lie."""


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
    uneven: np.ndarray = field(default_factory=lambda: np.zeros(1))
    """How much farther the yarn goes than if it lay evenly in all the rows to come: standard normal scores."""
    lumps: float = 0.0
    """By so much a row the variance of the rows lost of those to come grows (rows)."""
    apart: float = 0.0
    """Part of what `strays.py` says that the yarn strays from its share."""


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
    use_ahead = needed * (middle_of(middle) / max(middle_of(needed), 1e-12)) / max(left, 1e-9)
    # The rows to come have their own mistakes, not those of the rows so far.
    uneven = normal_scores(DRAWS)[rng.permutation(DRAWS)]
    lumps = ledger.lost_in_lumps(priors.UNPICKED_UNTOLD + unpicked_share)
    rows_left = max(ledger.ahead.size - 1.0 - row_now, 1e-9)
    needed = needed * np.exp(-min(math.sqrt(lumps / rows_left), MOST_STRAY_SD) * uneven)
    # The noise of single rows widens the need and leaves its middle where the account has it.
    needed *= middle_of(middle) / max(middle_of(needed), 1e-12)
    return Stock(
        np.maximum(on_hand, 0.0), np.maximum(reserve, 0.0), needed, use_ahead, noise, uneven, lumps, use.apart
    )


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
    shown_sd = sd
    if scale.mass.size > 1:
        start_g, book_g, tied = float(scale.mass[-2]), float(scale.book[-2]), float(scale.tied[-2])
        later_sd = priors.LOT_SD * (float(scale.book[-1]) - book_g)
        sd = math.hypot(float(scale.noise_sd[-2]), later_sd)
        # As `stock` tells what is on hand: what was weighed was there, within the scale's steps.
        shown_sd = math.hypot(ledger.weighings[-2].resolution_g / math.sqrt(12.0), later_sd)
    taken = grams * (float(scale.tied[-1]) - tied)
    expected = start_g + float(scale.book[-1]) - book_g - taken
    reach = TEN_PERCENT_POINT * use.unweighed_sd
    return Told(
        day=ledger.weighings[-1].day,
        mass_g=ledger.weighings[-1].mass_g,
        expected_g=max(0.0, expected),
        usual_g=TEN_PERCENT_POINT * math.hypot(float(scale.noise_sd[-1]), sd),
        low_g=max(0.0, expected - math.hypot(taken * math.expm1(reach), TEN_PERCENT_POINT * shown_sd)),
        high_g=max(0.0, expected + math.hypot(taken * math.expm1(-reach), TEN_PERCENT_POINT * shown_sd)),
    )


def balls_doubted(ledger: Ledger, scale: Scale | None, use: Use) -> BallsDoubted | None:
    """Return the balls used up where they cannot have been whole ones by what is believed of the use; None where they can.

    A weighing after the last of them has settled what is left.
    """
    ends = np.flatnonzero(ledger.ended > 0)
    unit = ledger.used_ball_g
    if not ends.size or unit <= 0:
        return None
    count = float(ledger.ended.sum())
    last = int(ends[-1])
    if scale is not None and float(scale.tied[-1]) >= float(ledger.tied[last + 1]):
        return None
    units = max(float(ledger.wound_off[last]), float(ledger.wound_off[last + 1]))
    used_g = ledger.planned_g * use.middle_ratio * units
    if mass_of_balls(count, max(ledger.team, 1.0)) * unit < BALLS_DOUBTED_FROM * used_g:
        return None
    return BallsDoubted(count=count, each_g=unit, used_g=used_g)


def _uneven(drawn: Stock, now: float, ahead: np.ndarray, rows: int) -> np.ndarray:
    """Return how many times as far each draw goes as evenly, (DRAWS,): what comes out again, and where a colour by eye lies.

    Parameters
    ----------
    now, ahead
        Share of the rug that is tied, and shares to go evenly, (DRAWS,).
    """
    steps = np.linspace(0.0, 1.0, STEPS_AHEAD + 1)[1:] * max(1.0 - now, 1e-9)
    variance = drawn.lumps / (rows * steps)
    if drawn.apart:
        variance += drawn.apart * strays_ahead(now, now + steps) / steps**2
    sds = np.minimum(np.sqrt(variance), MOST_STRAY_SD)
    off = np.interp(ahead, steps, sds) * drawn.uneven
    # It ends later by rows that have little of it, and never before today.
    return np.where(off > 0.0, 1.0 + off, np.exp(np.minimum(off, 0.0)))


def run_out_rows(ledger: Ledger, drawn: Stock, row_now: float) -> np.ndarray:
    """Row in which each draw runs out, (DRAWS,); one more than the last row when it lasts."""
    start, whole = ledger.units_to(row_now), max(float(ledger.ahead[-1]), 1e-9)
    evenly = drawn.reserve / np.maximum(drawn.use_ahead, 1e-12)
    reach = start + evenly * _uneven(drawn, start / whole, evenly / whole, ledger.ahead.size - 1)
    # Sorted queries are quick to search; the order is put back.
    order = np.argsort(reach)
    rows = np.empty(reach.size)
    rows[order] = np.searchsorted(ledger.ahead, reach[order] + 1e-9, side="right")
    return np.maximum(rows, math.floor(row_now) + 1)
