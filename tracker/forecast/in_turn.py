"""Rugs one behind the other on one warp: what a waiting rug's dates take from the rug before it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import numpy as np

from tracker.domain.rug import RugBook
from tracker.domain.shared_warp import warp_of
from tracker.forecast.answers import Answers, RugAhead
from tracker.forecast.thresholds import RANGE_HIGH


def rug_ahead(book: RugBook, answers_of: Callable[[str], Answers | None]) -> RugAhead | None:
    """Return the rug that must be off the warp before this one can begin; None: it waits for none.

    Of several that are woven side by side it is the one that keeps the warp longest.

    Parameters
    ----------
    answers_of
        Returns the answers of another rug by its id; None where it is finished.
    """
    shared = warp_of(book)
    own = None if shared is None else shared.of(book.plan.id)
    if shared is None or own is None:
        return None
    told = {part.part.rug_id: answers_of(part.part.rug_id) for part in shared.parts if part.band < own.band}
    done = {rug_id: answers is None or answers.finished for rug_id, answers in told.items()}
    ahead = []
    for part in shared.wait_for(book.plan.id, done):
        answers = told[part.rug_id]
        ahead.append(
            RugAhead(rug_id=part.rug_id, name=part.name, finish=None if answers is None else answers.finish)
        )
    return max(ahead, key=_kept_until, default=None)


def _kept_until(ahead: RugAhead) -> date:
    return date.min if ahead.finish is None else ahead.finish.late


def later_by(days: np.ndarray, delay: int) -> np.ndarray:
    """Return the days of the futures of a waiting rug with what the rug before it may be late by.

    Its plan begins it on a day, but it cannot begin before the other is off the loom. Both spreads have causes of their
    own: they add up as the sides of a right angle do. The middle future is the plan's; beyond it the delay grows from
    nothing to what it is nine times in ten, and on.

    Parameters
    ----------
    days
        Day (ordinal) of each mark in each future, (futures, marks).
    delay
        Days from the waiting rug's first to the one after that by which the other's last row is woven nine times in ten.

    Returns
    -------
    ndarray of the same shape
    """
    if delay <= 0 or len(days) < 2:
        return days
    rank = days.argsort(axis=0, kind="stable").argsort(axis=0, kind="stable") / (len(days) - 1)
    middle = np.median(days, axis=0)
    by = delay * (rank - 0.5) / (RANGE_HIGH - 0.5)
    return np.where(rank > 0.5, middle + np.hypot(days - middle, by), days)
