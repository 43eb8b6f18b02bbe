"""How the dates of an earlier rug held: what would have been said a month before its last row, and what came."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from functools import lru_cache

from tracker.domain.as_of import book_as_of
from tracker.domain.rug import DaysOff, Measurement, RugBook, RugPlan, Session
from tracker.forecast import priors
from tracker.forecast.answers import EarlierDate
from tracker.forecast.reckon import reckon
from tracker.forecast.thresholds import HELD_OVER_DAYS, RANGE_HIGH, RANGE_LOW

REMEMBERED = 2
"""Rugs whose replay is kept; each keeps its cartoon in memory."""


@dataclass(frozen=True, slots=True)
class _Finished:
    """A finished rug, equal to another reading of the same records."""

    plan: RugPlan
    sessions: tuple[Session, ...]
    measurements: tuple[Measurement, ...]
    days_off: tuple[DaysOff, ...]
    cartoon: tuple[str, int]
    seed: int
    book: RugBook = field(compare=False)


def how_it_held(book: RugBook, seed: int) -> EarlierDate | None:
    """Reckon an earlier rug as it stood a month before its last row, and say how the date held.

    Parameters
    ----------
    book : a finished rug
    seed : start of the random draws

    Returns
    -------
    EarlierDate or None
        None where there was too little to go by a month before the end, or no date was given then.
    """
    drawn = book.cartoon
    cartoon = ("", 0) if drawn is None else (drawn.id, drawn.born)
    return _replay(_Finished(book.plan, book.sessions, book.measurements, book.days_off, cartoon, seed, book))


@lru_cache(maxsize=REMEMBERED)
def _replay(finished: _Finished) -> EarlierDate | None:
    woven = finished.book.woven_sessions
    if not woven or finished.book.rows_woven < finished.plan.rows:
        return None  # taken off before its last row: its date never came
    last = max(session.day for session in woven)
    asked = last - timedelta(days=HELD_OVER_DAYS)
    if sum(session.day <= asked for session in woven) < priors.EARLIER_LEAST_SESSIONS:
        return None
    then = reckon(book_as_of(finished.book, asked), asked, seed=finished.seed, end_alone=True)
    early, middle, late = (then.last_row_told(share) for share in (RANGE_LOW, 0.5, RANGE_HIGH))
    if early is None or middle is None or late is None:
        return None
    return EarlierDate(asked=asked, middle=middle, early=early, late=late, came=last)
