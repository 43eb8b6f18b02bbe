"""Balls handed out to a weaver, and what she still has of them by the record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

Moment = tuple[date, int]
"""Day and birth of a record: what orders all that was entered."""


class HandOutKind(StrEnum):
    """Which way balls went."""

    GIVEN = "given"
    RETURNED = "returned"


@dataclass(frozen=True, slots=True, kw_only=True)
class HandOut:
    """Balls of one pile yarn given to a weaver, or taken back from her. They stay on the rug's stock.

    `weaver_id` None: whoever weaves the rug. `mass_g` is what lies on all the balls together.
    """

    id: str
    rug_id: str
    yarn_id: str
    weaver_id: str | None = None
    kind: HandOutKind = HandOutKind.GIVEN
    day: date
    balls: float
    mass_g: float
    lot_id: str | None = None
    """The dye lot they were wound from; None: nobody said."""
    note: str = ""
    born: int = 0


@dataclass(frozen=True, slots=True)
class Ended:
    """Balls that ended at a weaver's seat."""

    moment: Moment
    balls: float


@dataclass(frozen=True, slots=True)
class HeldBalls:
    """What a weaver has of one yarn by the record of balls alone."""

    balls: float
    """Not ended, the one under way among them."""
    mass_g: float
    """On them, as they were when the one under way was begun."""
    since: Moment
    """When that was: the last ball ended, or the first one was given."""


class _Session(Protocol):
    """What of a session tells of balls that ended."""

    @property
    def day(self) -> date: ...
    @property
    def born(self) -> int: ...
    @property
    def weavers(self) -> tuple[str, ...]: ...
    @property
    def used(self) -> tuple[tuple[str, float], ...]: ...


def ended_balls(
    sessions: Iterable[_Session], hand_outs: Sequence[HandOut], yarn_id: str
) -> tuple[dict[str | None, list[Ended]], float]:
    """Return (balls of one yarn that ended, by the weaver whose they were; balls of which nobody said whose).

    Parameters
    ----------
    sessions
        Of the rug, in their order.
    hand_outs
        Of the yarn.
    yarn_id
        The yarn.

    Notes
    -----
    A ball that ended before anything was handed out was nobody's of these. Who sat alone ended it herself; of several
    who sat it was hers who alone had been given of the yarn.
    """
    by_weaver: dict[str | None, list[Ended]] = {}
    unsaid = 0.0
    for session in sessions:
        balls = dict(session.used).get(yarn_id, 0.0)
        sat = whose_they_may_be(session, hand_outs) if balls > 0 else ()
        if len(sat) == 1:
            by_weaver.setdefault(sat[0], []).append(Ended((session.day, session.born), balls))
        elif len(sat) > 1:
            unsaid += balls
    return by_weaver, unsaid


def whose_they_may_be(session: _Session, hand_outs: Iterable[HandOut]) -> tuple[str | None, ...]:
    """Return those whose balls of a yarn can have ended in a session, in the order they were first given some.

    Parameters
    ----------
    session
        In which balls of the yarn ended.
    hand_outs
        Of the yarn. None among those returned: balls that were given in nobody's name.
    """
    holders = dict.fromkeys(
        given.weaver_id for given in hand_outs if (given.day, given.born) <= (session.day, session.born)
    )
    return tuple(who for who in holders if who is None or not session.weavers or who in session.weavers)


def held_balls(hand_outs: Iterable[HandOut], ended: Iterable[Ended]) -> HeldBalls | None:
    """Return what one weaver has of one yarn; None when she was never given any.

    Parameters
    ----------
    hand_outs
        What was given to her of it and taken back.
    ended
        Her balls of it that ended. The one given first ends first; what is taken back is of those given last.
    """
    events: list[tuple[Moment, HandOut | Ended]] = [((entry.day, entry.born), entry) for entry in hand_outs]
    events += [(end.moment, end) for end in ended]
    piles: list[tuple[float, float]] = []
    """(balls, grams on each), those given first in front."""
    off_g = 0.0
    """What was weighed off or on at taking back, against the balls' own grams."""
    since: Moment | None = None
    for moment, event in sorted(events, key=lambda pair: pair[0]):
        if isinstance(event, Ended):
            piles = _without(piles, event.balls)
            since = moment if since is not None else None
        elif event.kind is HandOutKind.GIVEN:
            if not piles or since is None:
                since, off_g = moment, 0.0
            piles = [*piles, (event.balls, event.mass_g / event.balls)]
        else:
            before_g = _grams(piles)
            piles = _without(piles[::-1], event.balls)[::-1]
            off_g += event.mass_g - (before_g - _grams(piles))
    if since is None:
        return None
    balls = sum(many for many, _each in piles)
    return HeldBalls(balls, max(0.0, _grams(piles) - off_g) if balls > 0 else 0.0, since)


def _grams(piles: list[tuple[float, float]]) -> float:
    return sum(many * each_g for many, each_g in piles)


def _without(piles: list[tuple[float, float]], balls: float) -> list[tuple[float, float]]:
    """Return the piles without so many balls of the foremost."""
    left = []
    for many, each_g in piles:
        gone = min(many, balls)
        balls -= gone
        if many - gone > 1e-9:
            left.append((many - gone, each_g))
    return left
