"""How long knotting takes, as it is believed before the first evening is recorded and as it was learnt since."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np
from numpy.typing import NDArray

from tracker.domain import defaults
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import HoursFrom, RugBook, RugPlan, Session
from tracker.domain.taught import NOTHING_TAUGHT, Taught


@dataclass(frozen=True, slots=True, eq=False)
class PaceBelief:
    """What a row is believed to cost, as a mixture: each node a chance, arrays (nodes,).

    A row of a weaver alone takes exp(level) x (1 + change_knots x changes per knot) x exp(excess x exp(-hours woven
    before / learn_hours)) hours; a team of n does the work of n to `team_power`; of all hours a share of `gained_share` gains
    rows. The plan fills it with `planned_belief`, the forecast with what it learnt: the same sum makes hours of both.
    """

    chance: NDArray[np.float64]
    level: NDArray[np.float64]
    change_knots: NDArray[np.float64]
    excess: NDArray[np.float64]
    learn_hours: NDArray[np.float64]
    team_power: NDArray[np.float64]
    hours_woven: float
    gained_share: float


@dataclass(frozen=True, slots=True)
class PacePrior:
    """Belief about the learnt pace before a rug is begun: log hours of one weaver for a plain row, and the learning excess."""

    level: float
    level_sd: float
    learn: float
    learn_sd: float
    rugs: int


def pace_prior(plan: RugPlan, tied: float, taught: Taught = NOTHING_TAUGHT) -> PacePrior:
    """Return what is believed of the pace: rugs share the weaver, and the plan's word counts as one more voice."""
    level = log_plain_row_hours(plan, tied)
    weight = float(defaults.RATE_SD_NAMED if plan.knots_per_hour else defaults.RATE_SD_ASSUMED) ** -2
    learn_weight = float(defaults.LEARN_SD) ** -2
    precision, learn_precision = weight + taught.rate_weight, learn_weight + taught.learn_weight
    row = math.log(max(tied, 1.0))
    return PacePrior(
        level=(level * weight + taught.rate + row * taught.rate_weight) / precision,
        level_sd=precision**-0.5,
        learn=(float(defaults.LEARN_EXCESS) * learn_weight + taught.learn) / learn_precision,
        learn_sd=learn_precision**-0.5,
        rugs=taught.rugs,
    )


def knots_an_hour(plan: RugPlan, taught: Taught = NOTHING_TAUGHT) -> float:
    """Return the plain knots an hour that a learnt weaver is believed to tie before this rug is begun."""
    tied = max(plan.knots_across * plan.tied_share, 1.0)
    return tied / math.exp(pace_prior(plan, tied, taught).level)


def log_plain_row_hours(plan: RugPlan, tied: float) -> float:
    """Return log(hours) of a learnt weaver's plain row of `tied` knots at the plan's rate, else at the usual one."""
    return math.log(max(tied, 1.0) / (plan.knots_per_hour or float(defaults.KNOTS_PER_HOUR)))


def planned_belief(plan: RugPlan, tied: float, taught: Taught = NOTHING_TAUGHT) -> PaceBelief:
    """Return what a row of `tied` knots is believed to cost before any evening is recorded."""
    changes, falls = (
        grid.ravel()
        for grid in np.meshgrid(
            np.arange(len(defaults.CHANGE_KNOTS)), np.arange(len(defaults.LEARN_HOURS)), indexing="ij"
        )
    )
    nodes = changes.size
    prior = pace_prior(plan, tied, taught)
    lost, gained = defaults.UNPICK_HOURS
    return PaceBelief(
        chance=np.array(defaults.CHANGE_KNOTS_CHANCE)[changes] * np.array(defaults.LEARN_HOURS_CHANCE)[falls],
        level=np.full(nodes, prior.level),
        change_knots=np.array(defaults.CHANGE_KNOTS)[changes],
        excess=prior.learn * np.array(defaults.LEARN_HOURS_PART)[falls],
        learn_hours=np.array(defaults.LEARN_HOURS)[falls],
        team_power=np.full(nodes, float(defaults.TEAM_POWER)),
        hours_woven=0.0,
        gained_share=gained / (gained + lost),
    )


def planned_team(weavers: int) -> tuple[float, ...]:
    """Return the sizes, each as likely, that a planned team has at work: of several, one month in three lacks a hand."""
    whole = float(max(weavers, 1))
    return (whole,) if whole < 2.0 else (whole, whole - 1.0, whole)


def hours_before_rows(belief: PaceBelief, changes_per_knot: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the hours of practice before each row, (rows,)."""
    row_h = math.exp(float(belief.chance @ belief.level))
    return belief.hours_woven + np.concatenate([[0.0], np.cumsum(row_h * (1.0 + changes_per_knot))[:-1]])


def hours_of_rows(
    belief: PaceBelief,
    changes_per_knot: NDArray[np.float64],
    team: Sequence[float] = (1.0,),
    begun: float = 0.0,
) -> float:
    """Return the hours at the loom in which a team weaves rows: the middle of the belief.

    Parameters
    ----------
    belief
        What a row costs.
    changes_per_knot
        Changes of yarn per knot of each row, (rows,).
    team
        Sizes the team may have, each as likely.
    begun
        Share of the first of the rows that is tied already, 0 to below 1.
    """
    if not changes_per_knot.size:
        return 0.0
    before = hours_before_rows(belief, changes_per_knot)
    rows = (1.0 + belief.change_knots[:, None] * changes_per_knot) * np.exp(
        belief.excess[:, None] * np.exp(-before / belief.learn_hours[:, None])
    )
    rows[:, 0] *= 1.0 - begun
    alone = math.exp(float(belief.chance @ (belief.level + np.log(rows.sum(axis=1)))))
    power = float(belief.chance @ belief.team_power)
    strength = sum(size**power for size in team) / len(team)
    return alone / belief.gained_share / strength


def timed_sessions(book: RugBook) -> tuple[tuple[Session, float], ...]:
    """Return (session, rows gained, parts of a row counted) of every session that has hours and gained or lost rows.

    Every pace that is told of a record is divided from these.
    """
    return tuple(
        (session, gained)
        for session, gained in zip(book.sessions, book.rows_gained, strict=True)
        if session.hours and gained
    )


RECENT = 8
"""Sessions looked at for what is usual lately."""


@dataclass(frozen=True, slots=True)
class Evening:
    """What an ordinary session of a rug that is being woven ties lately."""

    knots: float
    weavers: float
    """Who sit at it; nobody named counts as one."""


def evening_of(book: RugBook) -> Evening | None:
    """Return what an ordinary session of a rug ties lately; None before its first one."""
    gained = [session for session in book.sessions[-RECENT:] if session.rows > 0]
    if not gained:
        return None
    return Evening(
        median(session.rows for session in gained) * book.plan.knots_across * book.plan.tied_share,
        median(max(1, len(session.weavers)) for session in gained),
    )


def usual_rows(book: RugBook, taught: Taught = NOTHING_TAUGHT, lately: Evening | None = None) -> int:
    """Return the rows of an ordinary session lately; before the first one, what is expected.

    Parameters
    ----------
    taught
        What finished rugs say of the pace; with the plan's hours it is expected.
    lately
        What an ordinary session at another rug ties that is being woven now: no more than that is expected.
    """
    gained = [session.rows for session in book.sessions[-RECENT:] if session.rows > 0]
    if gained:
        return max(1, round(median(gained)))
    planned = planned_first_rows(book, taught)
    tied = book.plan.knots_across * book.plan.tied_share
    if lately is not None and tied > 0:
        # Never above the plan: from that the date is reckoned, and the offered number alone would move it.
        strength = (max(book.plan.weavers_planned, 1) / lately.weavers) ** float(defaults.TEAM_POWER)
        return max(1, min(planned, round(lately.knots * strength / tied)))
    return planned


def planned_first_rows(book: RugBook, taught: Taught = NOTHING_TAUGHT) -> int:
    """Return the rows that the plan expects of the first evening, which a new design makes a slow one; one at least."""
    evening = book.plan.hours_per_week / max(1, len(book.plan.weekdays))
    to_weave = rows_to_weave(book)
    belief, team = planned_belief(book.plan, to_weave.tied, taught), planned_team(book.plan.weavers_planned)
    changes = to_weave.changes / max(to_weave.tied, 1.0)

    def hours_of(rows: int) -> float:
        return hours_of_rows(belief, changes[:rows], team)

    fewest, most = 0, len(changes)
    while most - fewest > 1:
        middle = (fewest + most) // 2
        fewest, most = (middle, most) if hours_of(middle) <= evening else (fewest, middle)
    return max(1, min((fewest, most), key=lambda rows: abs(hours_of(rows) - evening)))


def usual_row_hours(book: RugBook) -> float | None:
    """Return the hours that a row usually takes lately; None before any were given.

    What the form proposes and what is asked about is both so many times these. The plan's hours are a guess: once saved with
    a session nobody could tell them from hours that were woven.
    """
    timed = [session for session in book.sessions[-RECENT:] if session.rows > 0 and session.hours]
    # The usual ones say nothing of their own while others were given.
    given = [session for session in timed if session.hours_from is not HoursFrom.USUAL] or timed
    return median((session.hours or 0.0) / session.rows for session in given) if given else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tempo:
    """Knots tied in the sessions whose hours somebody gave, and those hours."""

    knots: float
    """Gained in those sessions; what a session with hours took out is taken off."""
    loom_hours: float
    """Each session's hours once, however many sat at the loom."""
    weaver_hours: float
    """Each session's hours once for each weaver."""
    unpicked: float
    """Knots taken out on evenings whose hours nobody gave: `knots` still holds them, for nobody said how long that took."""
    sessions: int
    """Sessions that the knots and hours are of."""
    whole: bool
    """Whether those are all sessions of the rug."""

    @property
    def knots_per_hour(self) -> float | None:
        """Knots an hour of one weaver; None without knots and hours to divide."""
        return self.knots / self.weaver_hours if self.weaver_hours > 0 and self.knots > 0 else None


def tempo_of(book: RugBook) -> Tempo:
    """Return the knots of the sessions whose hours were given and those hours, from which every page divides knots an hour.

    Hours that came with the rows as the usual ones are the pace itself: they say nothing of it.
    """
    timed = [one for one in timed_sessions(book) if one[0].hours_from is not HoursFrom.USUAL]
    row = book.plan.knots_across * book.plan.tied_share
    untimed = (
        gained
        for session, gained in zip(book.sessions, book.rows_gained, strict=True)
        if session.hours is None or session.hours_from is HoursFrom.USUAL
    )
    told = {session.id for session in book.told_sessions}
    of_them = sum(session.id in told for session, _gained in timed)
    return Tempo(
        knots=row * sum(gained for _session, gained in timed),
        loom_hours=sum(session.hours or 0.0 for session, _gained in timed),
        weaver_hours=sum((session.hours or 0.0) * max(1, len(session.weavers)) for session, _gained in timed),
        unpicked=-row * sum(min(gained, 0.0) for gained in untimed),
        sessions=of_them,
        whole=of_them == len(told),
    )


@dataclass(frozen=True, slots=True)
class OwnRate:
    """What a weaver tied by her own record on the rug that was woven last."""

    rug: str
    knots_per_hour: int


def own_rate(books: Iterable[RugBook]) -> OwnRate | None:
    """Return the knots an hour of the rug that was woven last of those whose hours were given; None where none has any.

    As the lessons of that rug tell them: with its changes of colour and its slower start.
    """
    timed = [(book.woven_sessions[-1], book, tempo_of(book)) for book in books if book.woven_sessions]
    told = [(last.day, last.born, book, tempo) for last, book, tempo in timed if tempo.knots_per_hour]
    if not told:
        return None
    *_when, book, tempo = max(told, key=lambda one: one[:2])
    return OwnRate(book.plan.name, round(tempo.knots_per_hour or 0.0))


def planned_knotting_hours(book: RugBook, taught: Taught = NOTHING_TAUGHT, rows: int | None = None) -> float:
    """Return that part of `planned_weaving_hours` in which the knots are tied at the expected rate.

    The rest of them is what changes of yarn, the slower start and rows unpicked take.
    """
    to_weave = rows_to_weave(book, rows)
    belief = planned_belief(book.plan, to_weave.tied, taught)
    still = np.zeros_like(belief.excess)
    return hours_of_rows(
        replace(belief, change_knots=still, excess=still, gained_share=1.0),
        to_weave.changes / max(to_weave.tied, 1.0),
        planned_team(book.plan.weavers_planned),
    )


def planned_weaving_hours(book: RugBook, taught: Taught = NOTHING_TAUGHT, rows: int | None = None) -> float:
    """Return the hours at the loom that a rug takes by its plan and what earlier rugs taught, before any evening is recorded.

    `rows` it is to have by its cloth; None: the planned ones.
    """
    to_weave = rows_to_weave(book, rows)
    return hours_of_rows(
        planned_belief(book.plan, to_weave.tied, taught),
        to_weave.changes / max(to_weave.tied, 1.0),
        planned_team(book.plan.weavers_planned),
    )
