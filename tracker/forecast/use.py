"""What a knot or a row of each yarn really takes, learnt from balls, scales and samples of all yarns at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tracker.forecast import priors
from tracker.forecast.ledger import Ledger, Scale, mass_of_balls
from tracker.forecast.stats import middle_of, normal_below, normal_scores
from tracker.forecast.strays import strayed_between, strays

DRAWS = 1000
WORDS_MOST = 10
"""Weighings of a yarn that are looked at, and likewise ended balls: the last, the first and others evenly between."""
ROUNDS = 4
"""Times the record is weighed anew by what it said before."""
CLOSE = 1e-4
"""Rounds end when no log ratio moves by more."""
FARTHEST = 1.4
"""No use is believed to lie farther from the planned one (log)."""
MOST_STRAY_SD = 1.0
"""The log of a colour's part of the rows so far is believed to stray by so much at most (one standard deviation; our choice)."""
LEAST_VARIANCE = 1e-10
"""A record is not sure beyond all measure."""
IN_SDS = np.linspace(-4.0, 4.0, 41)


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
    unweighed_sd: float
    """How sure that would be: its standard deviation."""
    apart: float = 0.0
    """By how much the rows to come may stray from the share, as a part of what `strays.py` says (variance); 0 where a cartoon tells."""

    @property
    def middle_ratio(self) -> float:
        """What the rows so far took, over what was planned, in the middle."""
        return math.exp(middle_of(self.log_ratio))


@dataclass(frozen=True, slots=True, eq=False)
class _Words:
    """What the record says of the grams one yarn took: up to heights (shares of its units), give or take (covariance)."""

    grams: np.ndarray
    heights: np.ndarray
    noise: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Beliefs:
    """What is believed of all yarns before the record.

    Attributes
    ----------
    whole_g : float (yarns,), planned grams of the whole rug
    ratios : float (yarns, yarns), covariance of the log ratios of real to planned use
    apart : float (yarns, yarns), how the colours' strays hang together: they cannot all have more than their share
    height : share of the rug that is tied
    by_eye : whether the colours' shares were taken by eye
    """

    whole_g: np.ndarray
    ratios: np.ndarray
    apart: np.ndarray
    height: np.ndarray
    by_eye: bool

    def strays(self, first: np.ndarray, second: np.ndarray) -> np.ndarray:
        """Return `strays.strays`, nothing where a cartoon tells."""
        return strays(first, second) if self.by_eye else np.zeros((first.size, second.size))

    def strayed_between(self, place: int, heights: np.ndarray) -> np.ndarray:
        """Return how much one yarn may stray from each height to the next."""
        if not self.by_eye:
            return np.zeros(heights.size - 1)
        return strayed_between(heights) * float(self.apart[place, place])


@dataclass(frozen=True, slots=True, eq=False)
class _Learnt:
    """What is believed after the record: log ratio of each yarn, then its stray so far, (2 x yarns,) and their covariance."""

    mean: np.ndarray
    covariance: np.ndarray

    def without(self, gain: np.ndarray, left_out: float, precision: float) -> _Learnt:
        """Return what would be believed without one word: `gain` is what it moved, (2 x yarns,), `left_out` how far it lies off by the others."""
        return _Learnt(self.mean - gain * left_out, self.covariance + np.outer(gain, gain) / precision)


def _beliefs(ledgers: Sequence[Ledger], by_eye: bool) -> _Beliefs:
    """Lay out what is believed before the record: a hand that all share, what is a yarn's own, and shares that add up to the rug."""
    units = np.array([max(float(ledger.ahead[-1]), 1e-9) for ledger in ledgers])
    common = np.array([ledger.need.common_sd for ledger in ledgers])
    own = np.array([ledger.need.own_sd for ledger in ledgers])
    share = np.array([ledger.need.share_sd if by_eye else 0.0 for ledger in ledgers])
    parts = units / units.sum()
    apart = np.eye(units.size) - np.outer(parts, parts) / (parts @ parts)
    tied = max(min(float(ledger.tied[-1]) / many, 1.0) for ledger, many in zip(ledgers, units, strict=True))
    return _Beliefs(
        whole_g=units * np.array([ledger.planned_g for ledger in ledgers]),
        ratios=np.outer(common, common) + np.diag(own**2) + np.outer(share, share) * apart,
        apart=apart,
        height=np.array([tied]),
        by_eye=by_eye,
    )


def _some(count: int) -> np.ndarray:
    """Return the places of at most `WORDS_MOST` of so many entries."""
    return np.unique(np.linspace(0, count - 1, min(count, WORDS_MOST)).round().astype(int))


def _weighed(ledger: Ledger, scale: Scale, whole: float) -> _Words:
    """Lay out the weighings of a yarn: what the book had less what was on the scale was used."""
    noise = np.diag(scale.noise_sd**2) + np.outer(scale.book_sd, scale.book_sd)
    # What went unnoted before one weighing is missing at all later ones.
    off = np.cumsum(scale.odd_sd**2)
    noise += np.minimum.outer(off, off)
    some = _some(scale.mass.size)
    return _Words((scale.book - scale.mass)[some], scale.tied[some] / whole, noise[np.ix_(some, some)])


def _ended(ledger: Ledger, beliefs: _Beliefs, place: int, ratio: float, ratio_variance: float) -> _Words:
    """Lay out the balls or shuttles of a yarn that ended, by what its units are believed to take.

    From one end to the next goes a ball; where two would fit far better one was not noted, and what fits neither says little.
    """
    unit, hands = ledger.used_ball_g, max(ledger.team, 1.0)
    whole = max(float(ledger.ahead[-1]), 1e-9)
    balls_a_unit = ledger.planned_g * ratio / unit
    ends = np.flatnonzero(ledger.ended > 0)
    count = np.cumsum(ledger.ended)[ends]
    # A ball ended somewhere in its session; other hands had begun balls of their own.
    low, high = ledger.wound_off[ends], np.maximum(ledger.wound_off[ends + 1], ledger.wound_off[ends])
    at, within = (low + high) / 2.0, (high - low) * balls_a_unit
    others = (hands - 1.0) / 2.0

    gone = mass_of_balls(count, hands) + others
    fresh = np.diff(count, prepend=0.0)
    took, noted = np.diff(at, prepend=0.0) * balls_a_unit, np.diff(gone, prepend=0.0)
    before = np.concatenate([[0.0], within[:-1]])
    variance = (
        priors.BALL_SD**2 * fresh
        + priors.FIRST_BALL_SD**2
        + (within**2 + before**2) / 12.0
        + 2.0 * others**2 / 3.0
        + ratio_variance * took**2
        + beliefs.strayed_between(place, np.concatenate([[0.0], at / whole])) * (whole * balls_a_unit) ** 2
    )
    odds = (
        priors.BALL_NOT_NOTED
        * fresh
        * np.exp(np.clip(((took - noted) ** 2 - (took - noted - 1.0) ** 2) / (2.0 * variance), -50.0, 50.0))
    )
    missed = odds / (1.0 + odds)
    unsure = missed * (1.0 - missed)
    unsure += np.maximum(((took - noted - missed) / priors.ODD_BALL_SDS) ** 2 - variance - unsure, 0.0)
    grams = unit * (mass_of_balls(count + np.cumsum(missed), hands) + others)
    off = np.cumsum(unsure)
    fewer = np.minimum.outer(count, count)
    # Of less than a full ball nobody said what was on it: the list's part of it is taken.
    common_sd = priors.BALL_COMMON_SD if unit >= ledger.yarn.unit_mass_g else priors.PART_BALL_SD
    noise = (
        priors.BALL_SD**2 * fewer
        + common_sd**2 * np.outer(count, count)
        + priors.FIRST_BALL_SD**2 * np.minimum(fewer, hands)
        + np.minimum.outer(off, off)
        + np.diag(within**2 / 12.0 + others**2 / 3.0)
    )
    some = _some(ends.size)
    return _Words(grams[some], at[some] / whole, unit**2 * noise[np.ix_(some, some)])


def _weigh_up(
    ledgers: Sequence[Ledger], scales: Sequence[Scale | None], beliefs: _Beliefs, counts: Sequence[bool]
) -> tuple[_Learnt, dict[int, _Learnt]]:
    """Take in weighings and ended balls of all yarns; beside it what would be believed without the last weighing of each.

    Parameters
    ----------
    counts
        Of which yarns balls are noted.

    Notes
    -----
    Grams up to a height = planned grams of the rug x exp(log ratio) x (height + stray) + noise: Gauss and Newton's steps to the likeliest
    log ratios, Gaussian about them. Without one word the others' say is known in closed form.
    """
    yarns = len(ledgers)
    prior = np.zeros((2 * yarns, 2 * yarns))
    prior[:yarns, :yarns] = beliefs.ratios
    prior[yarns:, yarns:] = beliefs.strays(beliefs.height, beliefs.height) * beliefs.apart
    learnt, without = _Learnt(np.zeros(2 * yarns), prior), dict[int, _Learnt]()
    weighed = [
        None if scale is None else _weighed(ledger, scale, max(float(ledger.ahead[-1]), 1e-9))
        for ledger, scale in zip(ledgers, scales, strict=True)
    ]
    ended = [count and float(ledger.ended.sum()) > 0 for ledger, count in zip(ledgers, counts, strict=True)]
    if not any(ended) and all(words is None for words in weighed):
        return learnt, without
    for _round in range(ROUNDS):
        ratio = np.exp(np.clip(learnt.mean[:yarns], -FARTHEST, FARTHEST))
        said: list[tuple[int, _Words]] = []
        last: dict[int, int] = {}
        for place, (ledger, words) in enumerate(zip(ledgers, weighed, strict=True)):
            if words is not None:
                said.append((place, words))
                last[place] = sum(one.grams.size for _place, one in said) - 1
            if ended[place]:
                variance = float(learnt.covariance[place, place])
                said.append((place, _ended(ledger, beliefs, place, float(ratio[place]), variance)))
        whose = np.concatenate([np.full(words.grams.size, place) for place, words in said])
        grams = np.concatenate([words.grams for _place, words in said])
        heights = np.concatenate([words.heights for _place, words in said])
        noise, start = np.zeros((grams.size, grams.size)), 0
        for _place, words in said:
            end = start + words.grams.size
            noise[start:end, start:end] = words.noise
            start = end
        whole_g = (beliefs.whole_g * ratio)[whose]
        steep = whole_g * heights
        ratios = beliefs.ratios[:, whose]
        together = noise + np.outer(steep, steep) * ratios[whose]
        moved = np.zeros((2 * yarns, grams.size))
        moved[:yarns] = ratios * steep
        if beliefs.by_eye:
            apart = beliefs.apart[:, whose]
            together += np.outer(whole_g, whole_g) * beliefs.strays(heights, heights) * apart[whose]
            moved[yarns:] = apart * beliefs.strays(beliefs.height, heights)[0] * whole_g
        size = np.sqrt(np.diag(together))
        inverse = np.linalg.inv(together / np.outer(size, size)) / np.outer(size, size)
        gap = grams - steep * (1.0 - np.log(ratio)[whose])
        gain = moved @ inverse
        before, learnt = learnt, _Learnt(gain @ gap, prior - gain @ moved.T)
        sure = np.diag(inverse)
        left_out = inverse @ gap / sure
        without = {
            place: learnt.without(gain[:, word], float(left_out[word]), float(sure[word]))
            for place, word in last.items()
        }
        if float(np.abs(learnt.mean - before.mean).max()) < CLOSE:
            break
    return learnt, without


def _with_open_ball(learnt: _Learnt, ledger: Ledger, beliefs: _Beliefs, place: int) -> _Learnt:
    """Take in that the balls of one yarn under way have not ended yet: whoever notes balls has not used more than lies on them."""
    middle, variance = float(learnt.mean[place]), float(learnt.covariance[place, place])
    if variance < LEAST_VARIANCE:
        return learnt
    unit, hands = ledger.yarn.unit_mass_g, max(ledger.team, 1.0)
    ends, number = np.flatnonzero(ledger.ended > 0), float(ledger.ended.sum())
    units = np.array(
        [float(ledger.wound_off[ends[-1] + 1]) if ends.size else 0.0, float(ledger.wound_off[-1])]
    )
    planned_g = ledger.planned_g * max(float(units[1] - units[0]), 0.0)
    under_way_g = (mass_of_balls(number + hands, hands) - mass_of_balls(number, hands)) * unit
    strayed = float(beliefs.strayed_between(place, units / max(float(ledger.ahead[-1]), 1e-9))[0])
    at = middle + math.sqrt(variance) * IN_SDS
    open_left = normal_below(
        (under_way_g - planned_g * np.exp(at))
        / np.hypot(
            unit * hands * priors.OPEN_BALL_SD, math.sqrt(strayed) * beliefs.whole_g[place] * np.exp(at)
        )
    )
    weight = np.exp(-0.5 * IN_SDS**2) * ((1.0 - priors.ODD_RECORD) * open_left + priors.ODD_RECORD)
    weight /= weight.sum()
    told = float(weight @ at)
    narrower = float(weight @ (at - told) ** 2)
    if narrower > 0.999 * variance:
        return learnt
    # As if a Gaussian word had been said that leaves just this middle and spread.
    with_it = learnt.covariance[:, place] / variance
    return _Learnt(
        learnt.mean + with_it * (told - middle),
        learnt.covariance - np.outer(with_it, with_it) * (variance - narrower),
    )


def learn_use(
    ledgers: Sequence[Ledger],
    scales: Sequence[Scale | None],
    records_balls: bool,
    rng: np.random.Generator,
    by_eye: bool = False,
) -> list[Use]:
    """Learn the real use of yarns that share a hand, from all their records at once.

    log(real / planned) = common_sd x hand + own_sd x own + share_sd x share, each standard normal; shares taken by eye add up to the
    rug, so that one colour's excess is missing in the others, at every height and in the whole.

    Parameters
    ----------
    ledgers, scales : one entry a yarn
    records_balls : whether this weaver notes ended balls at all
    by_eye : whether the colours' shares were taken by eye, without a cartoon

    Returns
    -------
    list of Use, one a yarn
    """
    beliefs = _beliefs(ledgers, by_eye)
    counts = [
        records_balls and ledger.yarn.unit_mass_g > 0 and float(ledger.wound_off[-1]) > 0
        for ledger in ledgers
    ]
    learnt, without = _weigh_up(ledgers, scales, beliefs, counts)
    for place, (ledger, count) in enumerate(zip(ledgers, counts, strict=True)):
        if count:
            learnt = _with_open_ball(learnt, ledger, beliefs, place)
            if place in without:
                without[place] = _with_open_ball(without[place], ledger, beliefs, place)
    out = []
    for place in range(len(ledgers)):
        log_ratio, whole = _drawn(learnt, beliefs, place, rng)
        before = without.get(place, learnt)
        spread = _spread(before, beliefs, place)
        apart = float(beliefs.apart[place, place]) if by_eye else 0.0
        out.append(Use(log_ratio, whole, _so_far(before, beliefs, place)[0], math.sqrt(spread.so_far), apart))
    return out


def _so_far(learnt: _Learnt, beliefs: _Beliefs, place: int) -> tuple[float, float]:
    """Return the middle log ratio of the rows woven so far to the plan, and how much the stray moves it."""
    middle = min(max(float(learnt.mean[place]), -FARTHEST), FARTHEST)
    if not beliefs.by_eye:
        return middle, 0.0
    height = max(float(beliefs.height[0]), 1e-3)
    # What hardly any was knotted of so far took a tenth of its share.
    part = max(1.0 + float(learnt.mean[learnt.mean.size // 2 + place]) / height, 0.1)
    return middle + math.log(part), 1.0 / (height * part)


@dataclass(frozen=True, slots=True)
class _Spread:
    """Variances of one yarn's log ratios of the rows so far and of the whole rug, and what they have in common."""

    so_far: float
    whole: float
    both: float


def _spread(learnt: _Learnt, beliefs: _Beliefs, place: int) -> _Spread:
    """Return how far one yarn's log ratios to the planned use may lie from their middles."""
    stray = learnt.mean.size // 2 + place
    _middle, by_stray = _so_far(learnt, beliefs, place)
    # In the first rows a stray is many times what was knotted, and no part in step with its logarithm.
    by_stray = min(
        by_stray, MOST_STRAY_SD / math.sqrt(max(float(learnt.covariance[stray, stray]), LEAST_VARIANCE))
    )
    whole = max(float(learnt.covariance[place, place]), LEAST_VARIANCE)
    if not by_stray:
        return _Spread(whole, whole, whole)
    both = whole + by_stray * float(learnt.covariance[place, stray])
    so_far = 2.0 * both - whole + by_stray**2 * float(learnt.covariance[stray, stray])
    return _Spread(max(so_far, LEAST_VARIANCE), whole, both)


def _drawn(
    learnt: _Learnt, beliefs: _Beliefs, place: int, rng: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Draw one yarn's log ratios to the planned use: of the rows woven so far, rising, and of the whole rug that belong to them."""
    scores = normal_scores(DRAWS)
    so_far, by_stray = _so_far(learnt, beliefs, place)
    spread = _spread(learnt, beliefs, place)
    ratios = so_far + math.sqrt(spread.so_far) * scores
    if not by_stray:
        return ratios, ratios
    rest = math.sqrt(max(spread.whole - spread.both**2 / spread.so_far, 0.0))
    middle = min(max(float(learnt.mean[place]), -FARTHEST), FARTHEST)
    whole = middle + spread.both / spread.so_far * (ratios - so_far) + rest * scores[rng.permutation(DRAWS)]
    return ratios, whole
