"""What each weaver still has of the balls handed out to her, and at which row she needs the next.

The record of balls says it to the ball: what was given, less what ended at her seat. From the moment the ball under way
was begun the knots she tied since take theirs, at what a knot takes by the forecast.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tracker.domain import team
from tracker.domain.hand_out import HeldBalls, Moment, ended_balls, held_balls
from tracker.domain.need import account_of
from tracker.domain.rug import RugBook, Session, UnpickedYarn, heights_after
from tracker.domain.seats import NOBODY
from tracker.domain.sections import knots_of_section
from tracker.forecast.sections import Layout


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What one weaver has of one pile yarn."""

    weaver_id: str
    """`NOBODY` for whoever weaves."""
    yarn_id: str
    balls: float
    """By the record: given, not taken back and not ended, the one under way among them."""
    mass_g: float
    """On them now."""
    next_row: int | None
    """The row in which she needs the next ball, from 1; None: what she has lasts to the last row of her section."""


def held_now(book: RugBook, layout: Layout) -> tuple[Held, ...]:
    """Return what every weaver has who was ever given balls, by yarn in the plan's order.

    Parameters
    ----------
    book
        The rug with its balls handed out.
    layout
        The rows still to come by sections, as the weavers sit now.
    """
    if not book.hand_outs:
        return ()
    account = account_of(book, layout.to_weave)
    lengths = _Lengths(book, layout)
    alone = layout.sections[0].weaver_id if len(layout.sections) == 1 else NOBODY
    held = []
    for k, yarn in enumerate(layout.to_weave.pile):
        handed = [
            # What was in nobody's name is hers who has the whole width.
            entry if entry.weaver_id or not alone else replace(entry, weaver_id=alone)
            for entry in book.hand_outs
            if entry.yarn_id == yarn.id
        ]
        if not handed:
            continue
        ended, _unsaid = ended_balls(book.sessions, handed, yarn.id)
        need = account.of(yarn.id)
        planned_g = 0.0 if need is None else need.g_per_unit
        g_per_knot = max(float(layout.g_per_knot[k]) or planned_g, 1e-9)
        for weaver_id in dict.fromkeys(entry.weaver_id for entry in handed):
            balls = held_balls(
                [entry for entry in handed if entry.weaver_id == weaver_id], ended.get(weaver_id, ())
            )
            if balls is None:
                continue
            who = weaver_id or NOBODY
            mass_g = _left_g(balls, lengths.tied_since(who, k, balls.since) * g_per_knot)
            held.append(
                Held(
                    weaver_id=who,
                    yarn_id=yarn.id,
                    balls=balls.balls,
                    mass_g=mass_g,
                    next_row=lengths.row_out(who, k, mass_g / g_per_knot),
                )
            )
    return tuple(held)


def _left_g(balls: HeldBalls, tied_g: float) -> float:
    return max(0.0, balls.mass_g - tied_g) if balls.balls > 0 else 0.0


class _Lengths:
    """How many knots of a yarn lie between two heights of a section; each section is added up once."""

    def __init__(self, book: RugBook, layout: Layout) -> None:
        self.book, self.layout = book, layout
        self._so_far: dict[tuple[int, int], NDArray[np.float64]] = {}
        for section, knots in zip(layout.sections, layout.knots, strict=True):
            self._so_far[section.first, section.last] = _added_up(knots)

    def _of(self, first: int, last: int) -> NDArray[np.float64]:
        if (first, last) not in self._so_far:
            knots = knots_of_section(self.book, self.layout.to_weave, first, last)
            self._so_far[first, last] = _added_up(knots)
        return self._so_far[first, last]

    def _seat(self, who: str) -> tuple[int, int, int] | None:
        """Return the knots at which somebody sits now and how far they stand ahead; None: nowhere."""
        if who == NOBODY:
            return 1, self.layout.to_weave.across, 0
        for section, ahead in zip(self.layout.sections, self.layout.ahead, strict=True):
            if section.weaver_id == who:
                return section.first, section.last, ahead
        return None

    def _seat_in(self, who: str, session: Session) -> tuple[int, int] | None:
        """Return the knots at which somebody sat in a session; None: she did not weave in it."""
        across = self.layout.to_weave.across
        if who == NOBODY:
            return 1, across
        if team.sound(session.places, across):
            return next(((first, last) for sat, first, last in session.places if sat == who), None)
        if len(session.weavers) == 1:
            return (1, across) if session.weavers[0] == who else None
        if session.weavers and who not in session.weavers:
            return None
        seat = self._seat(who)
        return None if seat is None else seat[:2]

    def tied_since(self, who: str, k: int, since: Moment) -> float:
        """Return the knots of the yarn that somebody tied after a moment; never below none.

        Unpicked ones are taken off only where the book says that their yarn is yarn again.
        """
        heights = (0.0, *heights_after(self.book.rows_gained))
        ahead, tied = 0, 0.0
        for session, (low, height) in zip(self.book.sessions, pairwise(heights), strict=True):
            before = low + ahead
            if session.wove or session.places:
                ahead = dict(session.ahead).get(who, 0)
            if (session.day, session.born) <= since:
                continue
            seat = self._seat_in(who, session)
            if seat is None:
                continue
            so_far = self._of(*seat)[:, k]
            rows = np.arange(so_far.size)
            knots = float(np.interp(height + ahead, rows, so_far) - np.interp(before, rows, so_far))
            if knots > 0 or session.unpicked_yarn is UnpickedYarn.SAID:
                tied += knots
        return max(0.0, tied)

    def row_out(self, who: str, k: int, knots: float) -> int | None:
        """Return the row in which so many knots of the yarn are used up at somebody's seat; None: they last."""
        seat = self._seat(who)
        if seat is None:
            return None
        first, last, ahead = seat
        so_far = self._of(first, last)[:, k]
        start = min(self.layout.reached + ahead, float(so_far.size - 1))
        reach = float(np.interp(start, np.arange(so_far.size), so_far)) + knots
        if reach >= so_far[-1] - 1e-6:
            return None
        return int(np.searchsorted(so_far, reach + 1e-9, side="right"))


def _added_up(knots: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.concatenate([np.zeros((1, knots.shape[1])), np.cumsum(knots, axis=0)])
