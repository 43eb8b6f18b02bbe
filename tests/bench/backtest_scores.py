"""Proper scores of a forecast of days: bias, each tail, CRPS, pinball loss, and whether "n in 10" comes true so often."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

LEVELS = (0.1, 0.25, 0.5, 0.75, 0.9)
"""Quantiles scored by the pinball loss."""
ASKED_AT = (0.6, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5)
"""Days asked about ("done by then?"), as multiples of the straight line's days left: the forecast has no say in them."""


@dataclass(frozen=True)
class DayForecast:
    """One forecast and what came of it; days are counted from the day of the forecast."""

    world: str
    rug: int
    share: float
    truth: float
    drawn: np.ndarray
    """Days drawn from the forecast, rising, (draws,)."""
    straight: float
    """Days left by a straight line through the rows so far."""
    known: np.ndarray | None = None
    """Days drawn by the forecaster that knows all, rising."""
    general: np.ndarray | None = None
    """Days drawn by a general forecaster, rising."""
    group: str = ""
    """What is held back together: a person, a team."""


@dataclass(frozen=True)
class Score:
    """What a set of forecasts scored; errors and bias over the days left (sums over sums)."""

    cases: int
    error: float
    bias: float
    holds_80: float
    holds_50: float
    before: float
    after: float
    crps: float
    pinball: float


def crps(drawn: np.ndarray, truth: float) -> float:
    """Continuous ranked probability score of a sample, in days.

    References
    ----------
    T. Gneiting, A. E. Raftery, J. Am. Stat. Assoc. 102 (2007) 359, equation 21 (from memory): E|X - y| - E|X - X'| / 2.
    """
    x = np.sort(np.asarray(drawn, dtype=float))
    n = x.size
    spread = float((x * (2.0 * np.arange(1, n + 1) - n - 1)).sum()) / n**2
    return float(np.abs(x - truth).mean()) - spread


def pinball(drawn: np.ndarray, truth: float) -> float:
    """Mean pinball loss over `LEVELS`, in days."""
    at = np.quantile(drawn, LEVELS)
    gap = truth - at
    level = np.array(LEVELS)
    return float(np.maximum(level * gap, (level - 1) * gap).mean())


def score(truths: Sequence[float], drawn: Sequence[np.ndarray]) -> Score:
    """Score forecasts against what came; whole days, as a screen shows them."""
    truth = np.array(truths, dtype=float)
    at = np.round(np.array([np.quantile(d, LEVELS) for d in drawn]))
    low, q25, middle, q75, high = at.T
    left = float(truth.sum())
    return Score(
        cases=truth.size,
        error=float(np.abs(middle - truth).sum()) / left,
        bias=float((middle - truth).sum()) / left,
        holds_80=float(((truth >= low) & (truth <= high)).mean()),
        holds_50=float(((truth >= q25) & (truth <= q75)).mean()),
        before=float((truth < low).mean()),
        after=float((truth > high).mean()),
        crps=float(np.mean([crps(d, y) for d, y in zip(drawn, truth, strict=True)])),
        pinball=float(np.mean([pinball(d, y) for d, y in zip(drawn, truth, strict=True)])),
    )


def line_with_its_errors(cases: Sequence[DayForecast]) -> list[np.ndarray]:
    """The straight line given its own errors: its days times what the truth was over its days on the other rugs.

    The errors come from all other rugs of the same world at the same share of the rug (left out: the rug itself, and
    everything of its group), so the yardstick knows this world's bias and spread, which no weaver's first rug does.
    """
    out = []
    for case in cases:
        ratios = [
            other.truth / max(other.straight, 1.0)
            for other in cases
            if other.world == case.world
            and other.share == case.share
            and other.rug != case.rug
            and (not case.group or other.group != case.group)
        ]
        out.append(np.sort(case.straight * np.array(ratios)))
    return out


def reliability(cases: Sequence[DayForecast]) -> list[tuple[int, int, float]]:
    """How often "n in 10" came true: (n, times said, share that came true) for n from 0 to 10."""
    said: dict[int, list[bool]] = {n: [] for n in range(11)}
    for case in cases:
        for factor in ASKED_AT:
            day = round(case.straight * factor)
            chance = float((case.drawn < day + 0.5).mean())
            said[round(10 * chance)].append(case.truth <= day)
    return [(n, len(v), float(np.mean(v)) if v else float("nan")) for n, v in said.items()]
