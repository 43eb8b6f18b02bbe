"""What a rug taught: rows, hours, knots an hour, and the yarn a knot or a row really took beside what was planned."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache

import numpy as np

from tracker.domain import material, rules
from tracker.domain.as_of import dated_entries
from tracker.domain.lot_moves import weighed_lots
from tracker.domain.need import Need, account_of
from tracker.domain.rows import RowsToWeave, rows_to_weave
from tracker.domain.rug import Role, RugBook, RugPlan, Session, Weighing, Yarn
from tracker.domain.taught import TaughtUse
from tracker.domain.weighing_answer import answers_a_weighing, lost_before
from tracker.domain.winding import used_ball_g
from tracker.domain.work import Tempo, tempo_of
from tracker.forecast.ledger import units_ahead, units_at
from tracker.forecast.outlook import yarns_alone
from tracker.forecast.thresholds import LEAST_USE_RATIO, LESSON_FROM_BALLS, LESSON_FROM_SHARE, MOST_USE_RATIO


@dataclass(frozen=True, slots=True, kw_only=True)
class YarnLesson:
    """What one yarn took. `g_each` is in g a knot (pile) or g a row (weft)."""

    yarn_id: str
    rows: int
    """Rows on the loom when its use was last known."""
    units: float
    """Knots or rows it takes up to there; the flat ends of a weft count as the rows that take as much."""
    used_g: float
    g_each: float
    planned_g_each: float
    weighed: bool
    """True: from a weighing; False: from ended balls or shuttles, so about half a ball sure."""
    doubted: bool = False
    """By it the rug took more than there was, far beyond what a scale errs by: something is not entered, and no other rug counts with it."""

    @property
    def ratio(self) -> float:
        """Real use over planned use."""
        return self.g_each / self.planned_g_each if self.planned_g_each > 0 else 1.0

    @property
    def is_sound(self) -> bool:
        """Whether another rug may count with it."""
        return not self.doubted and LEAST_USE_RATIO <= self.ratio <= MOST_USE_RATIO


@dataclass(frozen=True, slots=True, kw_only=True)
class Lessons:
    """What one rug taught."""

    rows: int
    knots: int
    sessions: int
    hours: float
    """Hours at the loom, as far as the sessions have any."""
    knots_per_hour: float | None
    """Knots an hour of one weaver, from the sessions with hours; None without any."""
    tempo: Tempo
    """What that rate was divided from."""
    unpicked: int
    """Rows taken out on the way."""
    planned_knots_per_hour: float | None
    first_day: date | None
    last_day: date | None
    yarns: tuple[YarnLesson, ...]
    weighed_early: tuple[str, ...] = ()
    """Ids of yarns that were last weighed before enough of them was woven to tell their use."""


def lessons_of(book: RugBook) -> Lessons:
    """Return what a rug taught so far.

    Notes
    -----
    A session of several weavers counts its hours once for each: knots an hour are one weaver's. A yarn's use is
    bought - spoilt - left, by its last weighing; lots and losses after that weighing are left out.
    """
    plan = book.plan
    to_weave = rows_to_weave(book)
    account = account_of(book, to_weave)
    tempo = tempo_of(book)
    woven = min(max(book.rows_woven, 0), to_weave.rows)
    reached = min(max(book.rows_reached, 0.0), to_weave.rows)
    asked = cache(lambda: _asked_about(book))
    # What its own scale told of its knots is the lesson and no part of the plan beside which it stands.
    tried = tuple(one for one in book.samples if not answers_a_weighing(one, book.weighings))
    by_plan = account if tried == book.samples else account_of(replace(book, samples=tried), to_weave)
    needs = (*account.pile, *account.wefts)
    all_lessons = [
        _yarn_lesson(book, need, planned.g_per_unit, to_weave, asked)
        for need, planned in zip(needs, (*by_plan.pile, *by_plan.wefts), strict=True)
    ]
    return Lessons(
        rows=woven,
        knots=round(reached * plan.knots_across * plan.tied_share),
        sessions=book.sessions_told,
        hours=sum(session.hours or 0.0 for session in book.sessions),
        knots_per_hour=tempo.knots_per_hour,
        tempo=tempo,
        unpicked=book.rows_unpicked,
        planned_knots_per_hour=plan.knots_per_hour,
        first_day=book.sessions[0].day if book.sessions else None,
        last_day=plan.finished_day or (book.sessions[-1].day if book.sessions else None),
        yarns=tuple(lesson for lesson in all_lessons if lesson is not None),
        weighed_early=tuple(
            need.yarn.id
            for need, lesson in zip(needs, all_lessons, strict=True)
            if lesson is None and _weighed_early(book, need, to_weave)
        ),
    )


def _units_of(need: Need, to_weave: RowsToWeave, rows: float) -> float:
    """Return the knots or rows of a yarn up to a height."""
    yarn = need.yarn
    place = to_weave.pile.index(yarn) if yarn.role is Role.PILE else None
    ahead = units_ahead(need, None if place is None else to_weave.knots[:, place], to_weave.rows)
    return float(units_at(need, ahead, np.array([rows]))[0])


def _rows_at(book: RugBook, weighing: Weighing) -> float:
    """Return the rows that were woven when a yarn was weighed, parts of one counted."""
    return sum(
        gained
        for session, gained in zip(book.sessions, book.rows_gained, strict=True)
        if _not_after(session, weighing)
    )


def _weighed_early(book: RugBook, need: Need, to_weave: RowsToWeave) -> bool:
    """Tell whether a yarn was last weighed before enough of it was woven to tell its use."""
    weighed = [one for one in book.weighings if one.yarn_id == need.yarn.id]
    if not weighed:
        return False
    least = LESSON_FROM_SHARE * _units_of(need, to_weave, to_weave.rows)
    return _units_of(need, to_weave, _rows_at(book, weighed[-1])) < least


def _asked_about(book: RugBook) -> frozenset[str]:
    """Return the yarns of which more is tied than there was, as their pages ask."""
    last = max((entry.day for entry in dated_entries(book)), default=book.plan.start_day)
    return frozenset(answer.yarn_id for answer in yarns_alone(book, last).yarns if answer.not_entered_g)


def _yarn_lesson(
    book: RugBook, need: Need, planned_g: float, to_weave: RowsToWeave, asked: Callable[[], frozenset[str]]
) -> YarnLesson | None:
    yarn = need.yarn

    def woven_of(rows: float) -> float:
        return _units_of(need, to_weave, rows)

    whole = woven_of(to_weave.rows)
    gone_g = sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn.id) - sum(
        loss.mass_g for loss in book.spoilt if loss.yarn_id == yarn.id
    )

    def lesson(rows: float, used_g: float, weighed: bool) -> YarnLesson:
        """Return what was used; where so much a unit is a little more than there was for all of them, what there was."""
        reached = min(max(book.rows_reached, 0.0), to_weave.rows)
        beyond = 0 < gone_g < used_g / woven_of(rows) * woven_of(reached)
        doubted = beyond and yarn.id in asked()
        if beyond and not doubted:
            # By no scale: what was there is all that can have gone.
            rows, used_g, weighed = reached, gone_g, False
        return YarnLesson(
            yarn_id=yarn.id,
            rows=math.floor(min(rows, to_weave.rows) + 1e-9),
            units=woven_of(rows),
            used_g=used_g,
            g_each=used_g / woven_of(rows),
            planned_g_each=planned_g,
            weighed=weighed,
            doubted=doubted,
        )

    for weighing in reversed([weighed for weighed in book.weighings if weighed.yarn_id == yarn.id]):
        rows = _rows_at(book, weighing)
        lost = sum(
            loss.mass_g for loss in book.spoilt if loss.yarn_id == yarn.id and lost_before(loss, weighing)
        )
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        bought = sum(lot.mass_g for lot in weighed_lots(lots, weighing, lost))
        used = bought - lost - weighing.mass_g
        if bought > 0 and used > 0 and whole > 0 and woven_of(rows) >= LESSON_FROM_SHARE * whole:
            return lesson(rows, used, weighed=True)
    ended = sum(number for session in book.sessions for name, number in session.used if name == yarn.id)
    if ended < LESSON_FROM_BALLS or woven_of(book.rows_reached) <= 0 or yarn.unit_mass_g <= 0:
        return None
    # Somewhere between what has ended and one more.
    bought_g = sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn.id)
    used = (ended + 0.5) * used_ball_g(
        yarn, need.need_g, max(bought_g, 0.0), book.plan.weavers_planned, ended
    )
    return lesson(book.rows_reached, used, weighed=False)


def _not_after(session: Session, weighing: Weighing) -> bool:
    """True when a session was entered for a day up to the weighing; on its day, in the order of entry."""
    return bool((session.day, session.born) <= (weighing.day, weighing.born))


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A plan with the lessons of another rug in it."""

    plan: RugPlan
    yarns: tuple[Yarn, ...]
    """Those that change."""


def use_taught(book: RugBook) -> TaughtUse | None:
    """Return what a rug says of the pile yarn a knot takes beside its length by pile and density; None where nothing sound.

    Beside that, and not beside its own plan: a plan that was made with a sample or with what an earlier rug took says
    nothing of the next one, which is counted by the length of a knot again.
    """
    plan = book.plan
    warp = next(iter(book.yarns_of(Role.WARP)), None)
    pile = {yarn.id: yarn for yarn in book.yarns_of(Role.PILE)}
    used_g = by_length_g = fineness = 0.0
    for lesson in lessons_of(book).yarns:
        yarn = pile.get(lesson.yarn_id)
        if yarn is None or not lesson.is_sound:
            continue
        bare = replace(yarn, pile_g_per_m2=None, cut_length_mm=None)
        by_length = lesson.units * material.pile_mass_per_knot_g(plan, bare, warp)
        used_g, by_length_g = used_g + lesson.used_g, by_length_g + by_length
        fineness += by_length * material.tex_of(plan, yarn)
    if by_length_g <= 0 or not LEAST_USE_RATIO <= used_g / by_length_g <= MOST_USE_RATIO:
        return None
    return TaughtUse(
        rug_name=plan.name,
        ratio=used_g / by_length_g,
        knots_per_10cm=plan.knots_per_10cm,
        rows_per_10cm=plan.rows_per_10cm,
        tex=fineness / by_length_g,
    )


def _fits(value: RugPlan | Yarn, field: str, taught: float) -> bool:
    """Tell whether the book would take what was taught: what it would not is no lesson."""
    rule = rules.RULES[type(value)][field]
    return isinstance(rule, rules.Range) and rule.holds(taught)


def take_over(lessons: Lessons, taught: RugBook, book: RugBook) -> Taken:
    """Return a rug's plan and yarns with what another rug taught.

    The rate becomes the plan's knots an hour. A yarn takes the use of the yarn of the same role and name; a pile
    yarn without one takes the mean ratio of all pile yarns, for the hand that ties them is the same. Uses beyond
    half or twice the plan, and doubted ones, are not taken over.

    Notes
    -----
    Pile: the planned mass of a knot in this rug times the ratio, as mass in a square metre. Weft: the length that
    the ratio asks for, as take-up.
    """
    plan = book.plan
    if lessons.knots_per_hour and _fits(plan, "knots_per_hour", round(lessons.knots_per_hour)):
        plan = replace(plan, knots_per_hour=float(round(lessons.knots_per_hour)))
    names = {yarn.id: (yarn.role, yarn.name.casefold()) for yarn in taught.yarns}
    sane = [lesson for lesson in lessons.yarns if lesson.is_sound and lesson.yarn_id in names]
    by_name = {names[lesson.yarn_id]: lesson.ratio for lesson in sane}
    pile = [lesson for lesson in sane if names[lesson.yarn_id][0] is Role.PILE]
    knots = sum(lesson.units for lesson in pile)
    common = sum(lesson.ratio * lesson.units for lesson in pile) / knots if knots > 0 else None
    warp = next(iter(book.yarns_of(Role.WARP)), None)
    changed = []
    for yarn in book.yarns:
        ratio = by_name.get((yarn.role, yarn.name.casefold()))
        if yarn.role is Role.PILE:
            ratio = common if ratio is None else ratio
            if ratio is not None:
                g_per_m2 = (
                    material.pile_mass_per_knot_g(plan, yarn, warp) * ratio * material.tied_per_m2(plan)
                )
                if _fits(yarn, "pile_g_per_m2", round(g_per_m2, 1)):
                    changed.append(replace(yarn, pile_g_per_m2=round(g_per_m2, 1)))
        elif yarn.role is Role.WEFT and ratio is not None:
            take_up = (1.0 + material.weft_take_up(plan, yarn, warp)) * ratio - 1.0
            if _fits(yarn, "take_up", round(take_up, 4)):
                changed.append(replace(yarn, take_up=round(take_up, 4)))
    return Taken(plan=plan, yarns=tuple(changed))
