"""Values that the rules let in and that can hardly be meant: a slip of the finger adds a digit or two.

They are never refused: each is asked about once, before it is saved, beside what would be usual. How far is far is our
own judgement everywhere here, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import Enum, auto
from math import hypot
from statistics import median
from typing import Any

from tracker.domain.as_of import book_as_of
from tracker.domain.costs import order_of, pay_for_rug, price_per_g
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.material import cloth_width_cm
from tracker.domain.need import Need, account_of, taken_by_plan_g
from tracker.domain.never_woven import with_sessions
from tracker.domain.order import Order, Payment
from tracker.domain.rows import planned_rows
from tracker.domain.rug import (
    Cost,
    Lot,
    Measurement,
    Preparation,
    PreparationKind,
    RugBook,
    RugPlan,
    Sample,
    Session,
    Spoilt,
    Wage,
    Weighing,
    Yarn,
)
from tracker.domain.shopping import is_noted
from tracker.domain.work import RECENT, Evening, planned_weaving_hours, usual_row_hours, usual_rows

MASS_TIMES, MASS_MORE_G = 4.0, 2_000.0
"""A mass so many times what the whole rug needs, or was bought, and so much more."""
LOST_TIMES, LOST_MORE_G = 1.2, 50.0
"""Yarn lost of what was ever there."""
LEFT_TIMES, LEFT_LEAST_G = 8.0, 60.0
"""What is left of a yarn, under what the plan leaves of it, and how little of that is not worth asking about."""
KNOT_TIMES = 4.0
"""Mass of a knot in a sample, over or under what is expected, beyond what the scale can show."""
PRICE_TIMES = 5.0
"""A price or a wage, over or under the one before: a digit too many makes it ten times, what one pays anew differs by half."""
OTHERS_TIMES = 10.0
"""The price of a kilogram, over or under what the other yarns of its fibre cost: a rare dye may cost a few times as much."""
OTHER_BASIS_TIMES = 10.0
"""Wages for the whole rug, over or under what they were by a wage of another kind."""
PAID_TIMES = 1.1
"""All money paid of the price that was agreed."""
RUG_TIMES = 2.0
"""Wages for the whole rug, one purchase of yarn or another spending, of the price that was agreed."""
LOSS_TIMES = 2.0
"""What yarn and wages of the whole rug come to, of the price that is agreed."""
DIAGONAL_TIMES, DIAGONAL_MORE_CM = 1.2, 5.0
"""A diagonal, over or under what belongs to the length and the width: a cloth that leans as much is hardly woven on."""
LENGTH_TIMES, LENGTH_MORE_CM = 1.5, 5.0
"""A length of the cloth, over or under what the plan says."""
FINISHED_TIMES, FINISHED_MORE_CM = 1.15, 2.0
"""A side of the rug off the loom, over or under what is planned: what is allowed is 2.5 %, and washing seldom takes a tenth."""
WASHING_TIMES, WASHING_MORE_G = 1.3, 100.0
"""The mass of the rug before washing and after it, over or under one another."""
BALLS_TIMES, BALLS_MORE = 2.0, 5.0
"""Balls of what the whole rug takes."""
RUG_SIDE_CM, SIDES_TIMES = 800.0, 8.0
"""A side of a rug, and one side of the other: a runner is four or five times as long as wide (common practice, no source)."""
LONG_DAY_H = 12.0
"""Hours at the loom in one day; our choice: who sits longer than half of it is asked, whatever the rows."""
HOURS_TIMES, HOURS_MORE = 4.0, 1.0
"""Hours of so many rows, over or under what they usually take."""
ROWS_TIMES, ROWS_MORE = 3, 10
"""Rows of one session, or of one day, over what is usual."""
LEAST_TO_JUDGE = 3
"""Sessions with rows and hours before the record says what is usual; until then the plan does, half as strictly."""


class Against(Enum):
    """What a value is held against."""

    NEED = auto()
    NOT_NEEDED = auto()
    NEVER_BOUGHT = auto()
    LEFT = auto()
    BOUGHT = auto()
    KNOT = auto()
    PRICE = auto()
    PRICE_OF_OTHERS = auto()
    WAGE = auto()
    AGREED = auto()
    RUG_PRICE = auto()
    WAGES_OF_RUG = auto()
    PRICE_BEFORE = auto()
    PRICE_OF_COST = auto()
    PRICE_PAID = auto()
    DIAGONAL = auto()
    LENGTH = auto()
    WIDTH = auto()
    UNWASHED_WIDTH = auto()
    UNWASHED_LENGTH = auto()
    FINISHED_WIDTH = auto()
    FINISHED_LENGTH = auto()
    WASHING = auto()
    BALLS = auto()
    LONG_DAY = auto()
    HOURS = auto()
    HOURS_BY_PLAN = auto()
    """The plan's hours, where too few sessions say what is usual."""
    BEFORE_FIRST = auto()
    BEFORE_LAST = auto()


@dataclass(frozen=True, slots=True)
class Unlikely:
    """A value that can hardly be meant, and what would be usual, in the value's own unit; days where it is one."""

    against: Against
    value: Any
    usual: Any


def _over(value: float, usual: float, times: float, more: float) -> bool:
    return value >= times * usual and value >= usual + more


def _apart(value: float, usual: float, times: float, more: float) -> bool:
    return _over(value, usual, times, more) or _over(usual, value, times, more)


def _need(book: RugBook, yarn_id: str) -> Need | None:
    return account_of(book).of(yarn_id)


def _bought_g(book: RugBook, yarn_id: str) -> float:
    return sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn_id)


def _mass(book: RugBook, yarn_id: str, mass_g: float) -> list[Unlikely]:
    """Return whether a mass is far beyond what the whole rug needs of the yarn."""
    need = _need(book, yarn_id)
    need_g = 0.0 if need is None else need.need_g
    if not _over(mass_g, need_g, MASS_TIMES, MASS_MORE_G):
        return []
    return [Unlikely(Against.NEED if need_g > 0 else Against.NOT_NEEDED, mass_g, need_g)]


def _of_lot(lot: Lot, book: RugBook) -> list[Unlikely]:
    found = _mass(book, lot.yarn_id, lot.mass_g)
    yarn = next((yarn for yarn in book.yarns if yarn.id == lot.yarn_id), None)
    if lot.price and yarn is not None:
        others = replace(book, lots=tuple(other for other in book.lots if other.id != lot.id))
        found += _of_price_per_kg(lot.price / lot.mass_g * 1000, yarn, others)
    return found or _of_rug_price(lot.price, book)


def _paid_per_kg(book: RugBook, yarn_id: str) -> float | None:
    """Return what a kilogram of a yarn cost when it was bought last; None where no purchase has a price."""
    priced = [lot for lot in book.lots if lot.yarn_id == yarn_id and lot.price and lot.mass_g > 0]
    if not priced:
        return None
    last = max(priced, key=lambda lot: (lot.day, lot.born))
    return (last.price or 0.0) / last.mass_g * 1000


def _of_price_per_kg(per_kg: float, yarn: Yarn, book: RugBook) -> list[Unlikely]:
    """Return whether the price of a kilogram is far from what the yarn cost before; where it has none, from the others'."""
    usual = _paid_per_kg(book, yarn.id) or next(
        (planned.price_per_kg for planned in book.yarns if planned.id == yarn.id), None
    )
    if usual:
        return [Unlikely(Against.PRICE, per_kg, usual)] if _apart(per_kg, usual, PRICE_TIMES, 0.0) else []
    others = [
        price
        for other in book.yarns
        if other.id != yarn.id and other.fibre == yarn.fibre
        if (price := _paid_per_kg(book, other.id) or other.price_per_kg)
    ]
    if not others or not _apart(per_kg, median(others), OTHERS_TIMES, 0.0):
        return []
    return [Unlikely(Against.PRICE_OF_OTHERS, per_kg, median(others))]


def _of_yarn(yarn: Yarn, book: RugBook) -> list[Unlikely]:
    """Return whether the price of a kilogram that is planned can hardly be meant; `book` has the yarn as it stood before."""
    return _of_price_per_kg(yarn.price_per_kg, yarn, book) if yarn.price_per_kg else []


def _agreed(book: RugBook) -> float | None:
    """Return the price that was agreed with the customer; None without one."""
    order = order_of(book)
    return None if order is None else order.price


def _of_rug_price(amount: float | None, book: RugBook) -> list[Unlikely]:
    """Return whether one amount is far beyond the price that was agreed for the whole rug."""
    agreed = _agreed(book)
    if not amount or not agreed or not _over(amount, agreed, RUG_TIMES, 0.0):
        return []
    return [Unlikely(Against.RUG_PRICE, amount, agreed)]


def _beyond_bought(left: Weighing | Spoilt, book: RugBook, times: float) -> list[Unlikely]:
    """Return whether more was weighed or lost than was ever there; before anything was bought, than the rug needs."""
    bought = _bought_g(book, left.yarn_id)
    if not bought:
        return _mass(book, left.yarn_id, left.mass_g)
    beyond = _over(left.mass_g, bought, times, LOST_MORE_G)
    return [Unlikely(Against.BOUGHT, left.mass_g, bought)] if beyond else []


def _of_weighing(weighing: Weighing, book: RugBook) -> list[Unlikely]:
    return _beyond_bought(weighing, book, MASS_TIMES) or _hardly_any_left(weighing, book)


def _hardly_any_left(weighing: Weighing, book: RugBook) -> list[Unlikely]:
    """Return whether far less lay on the scale than the plan leaves of what was bought and weighed before: a digit too few.

    None at all is what is said of a yarn that is used up.
    """
    need = _need(book, weighing.yarn_id)
    yarn = next((yarn for yarn in book.yarns if yarn.id == weighing.yarn_id), None)
    if need is None or yarn is None:
        return []
    # What came after it was not there; the plan's stage tells what is in the rug.
    book = replace(book_as_of(book, weighing.day), plan=book.plan)
    lost = sum(loss.mass_g for loss in book.spoilt if loss.yarn_id == weighing.yarn_id)
    left = _bought_g(book, weighing.yarn_id) - lost - taken_by_plan_g(book, yarn, need.need_g)
    before = [
        other.mass_g
        for other in book.weighings
        if other.yarn_id == weighing.yarn_id and other.id != weighing.id
    ]
    expected = min([left, *before[-1:]])
    if not weighing.mass_g or expected < LEFT_LEAST_G or weighing.mass_g * LEFT_TIMES > expected:
        return []
    return [Unlikely(Against.LEFT, weighing.mass_g, expected)]


def _of_spoilt(spoilt: Spoilt, book: RugBook) -> list[Unlikely]:
    return _beyond_bought(spoilt, book, LOST_TIMES)


def _of_sample(sample: Sample, book: RugBook) -> list[Unlikely]:
    others = tuple(other for other in book.samples if other.id != sample.id)
    need = _need(replace(book, samples=others), sample.yarn_id)
    if need is None or need.g_per_unit <= 0:
        return []
    expected = need.g_per_unit * sample.knots
    apart = _apart(sample.mass_g, expected, KNOT_TIMES, sample.resolution_g)
    return [Unlikely(Against.KNOT, sample.mass_g, expected)] if apart else []


def _of_hand_out(given: HandOut, book: RugBook) -> list[Unlikely]:
    return [
        *(_mass(book, given.yarn_id, given.mass_g) or _balls(book, given.yarn_id, given.balls)),
        *(_never_bought(given.yarn_id, given.id, book) if given.kind is HandOutKind.GIVEN else ()),
    ]


def _never_bought(yarn_id: str, entry_id: str, book: RugBook) -> list[Unlikely]:
    """Return whether balls or shuttles are told of a yarn of which the book has none; asked at the first ones of it."""
    yarn = next((yarn for yarn in book.yarns if yarn.id == yarn_id), None)
    others: tuple[HandOut | Preparation, ...] = (*book.hand_outs, *book.preparations)
    told = any(other.yarn_id == yarn_id and other.id != entry_id for other in others) or any(
        dict(session.used).get(yarn_id) for session in book.sessions if session.id != entry_id
    )
    if yarn is None or told or is_noted(book, yarn):
        return []
    return [Unlikely(Against.NEVER_BOUGHT, yarn.name, None)]


def _balls(book: RugBook, yarn_id: str, balls: float) -> list[Unlikely]:
    """Return whether more balls or shuttles are named than the whole rug takes."""
    need = _need(book, yarn_id)
    if need is None or need.yarn.unit_mass_g <= 0:
        return []
    whole = need.need_g / need.yarn.unit_mass_g
    return [Unlikely(Against.BALLS, balls, whole)] if _over(balls, whole, BALLS_TIMES, BALLS_MORE) else []


def _of_preparation(done: Preparation, book: RugBook) -> list[Unlikely]:
    if not done.yarn_id or done.kind is PreparationKind.WARP:
        return []
    return [*_balls(book, done.yarn_id, done.count), *_never_bought(done.yarn_id, done.id, book)]


def _of_measurement(measured: Measurement, book: RugBook) -> list[Unlikely]:
    plan, found = book.plan, []
    long = measured.row / plan.rows_per_10cm * 10
    for along in (measured.length_cm, measured.left_cm, measured.right_cm):
        if along and _apart(along, long, LENGTH_TIMES, LENGTH_MORE_CM):
            found.append(Unlikely(Against.LENGTH, along, long))
            break
    across = cloth_width_cm(plan)
    if measured.width_cm and _apart(measured.width_cm, across, LENGTH_TIMES, LENGTH_MORE_CM):
        found.append(Unlikely(Against.WIDTH, measured.width_cm, across))
    # Held to its own length and width: where those are asked about, the diagonals say nothing more.
    belongs = hypot(measured.length_cm or measured.left_cm or long, measured.width_cm or across)
    for diagonal in () if found else (measured.rising_cm, measured.falling_cm):
        if diagonal and _apart(diagonal, belongs, DIAGONAL_TIMES, DIAGONAL_MORE_CM):
            return [Unlikely(Against.DIAGONAL, diagonal, belongs)]
    return found


def unlikely_side(width_cm: float, length_cm: float) -> float | None:
    """Return the side of a rug, in cm, that can hardly be meant; None where both can."""
    longer, shorter = max(width_cm, length_cm), min(width_cm, length_cm)
    return longer if longer > RUG_SIDE_CM or longer > SIDES_TIMES * shorter else None


def _of_plan(plan: RugPlan, _book: RugBook) -> list[Unlikely]:
    """Return what was measured or weighed off the loom and can hardly be: far from the plan, or from the same before washing."""
    found = []
    for against, planned, side in (
        (Against.UNWASHED_WIDTH, plan.width_cm, plan.unwashed_width_cm),
        (Against.UNWASHED_LENGTH, plan.length_cm, plan.unwashed_length_cm),
        (Against.FINISHED_WIDTH, plan.width_cm, plan.finished_width_cm),
        (Against.FINISHED_LENGTH, plan.length_cm, plan.finished_length_cm),
    ):
        if side and _apart(side, planned, FINISHED_TIMES, FINISHED_MORE_CM):
            found.append(Unlikely(against, side, planned))
    before, after = plan.unwashed_g, plan.washed_g
    if before and after and _apart(after, before, WASHING_TIMES, WASHING_MORE_G):
        found.append(Unlikely(Against.WASHING, after, before))
    return found


def _wages_of_rug(wage: Wage, book: RugBook) -> float:
    """Return what a wage comes to for the whole rug by its plan; days are those of all weavers together."""
    plan = book.plan
    hours_a_day = plan.hours_per_week / max(len(plan.weekdays), 1)
    days = planned_weaving_hours(book) / hours_a_day * max(plan.weavers_planned, 1) if hours_a_day else 0.0
    return pay_for_rug(wage, plan, planned_rows(book), days)


def _of_wage(wage: Wage, book: RugBook) -> list[Unlikely]:
    """Return whether a wage is far from the one before; where there is none like it, from the price that was agreed."""
    if not wage.amount:
        return []
    others = [other for other in book.wages if other.id != wage.id and other.amount]
    alike = [other for other in others if other.basis is wage.basis]
    if alike:
        usual = alike[-1].amount / alike[-1].each * wage.each
        apart = _apart(wage.amount, usual, PRICE_TIMES, 0.0)
        return [Unlikely(Against.WAGE, wage.amount, usual)] if apart else []
    whole, agreed = _wages_of_rug(wage, book), _agreed(book)
    if agreed and _over(whole, agreed, RUG_TIMES, 0.0):
        return [Unlikely(Against.RUG_PRICE, whole, agreed)]
    before = _wages_of_rug(others[-1], book) if others else 0.0
    if whole and before and _apart(whole, before, OTHER_BASIS_TIMES, 0.0):
        return [Unlikely(Against.WAGES_OF_RUG, whole, before)]
    return []


def _of_payment(payment: Payment, book: RugBook) -> list[Unlikely]:
    """Return whether all that the customer paid is more than was agreed."""
    agreed = _agreed(book)
    paid = payment.amount + sum(other.amount for other in book.payments if other.id != payment.id)
    if not agreed or not payment.amount or not _over(paid, agreed, PAID_TIMES, 0.0):
        return []
    return [Unlikely(Against.AGREED, paid, agreed)]


def _of_cost(cost: Cost, book: RugBook) -> list[Unlikely]:
    return _of_rug_price(cost.amount, book)


def _of_order(order: Order, book: RugBook) -> list[Unlikely]:
    """Return whether the price that is agreed is far from the one before, or below what was paid or the rug costs."""
    if not order.price:
        return []
    before = _agreed(book)
    if before and _apart(order.price, before, PRICE_TIMES, 0.0):
        return [Unlikely(Against.PRICE_BEFORE, order.price, before)]
    paid = sum(payment.amount for payment in book.payments)
    if _over(paid, order.price, PAID_TIMES, 0.0):
        return [Unlikely(Against.PRICE_PAID, order.price, paid)]
    cost = _cost_by_plan(book)
    if _over(cost, order.price, LOSS_TIMES, 0.0):
        return [Unlikely(Against.PRICE_OF_COST, order.price, cost)]
    return []


def _cost_by_plan(book: RugBook) -> float:
    """Return what yarn and wages of the whole rug come to by its plan, as far as prices and wages are known."""
    yarn = sum(
        need.need_g * float(a_gram)
        for need in account_of(book).needs
        if (a_gram := price_per_g(book, need.yarn)) is not None
    )
    return yarn + (_wages_of_rug(book.wages[-1], book) if book.wages else 0.0)


def usual_hours(rows: float, book: RugBook) -> tuple[Against, float, float]:
    """Return (what says how long so many rows take, those hours, how many times as long is asked about)."""
    timed = [session for session in book.sessions if session.rows > 0 and session.hours]
    row_hours = usual_row_hours(book)
    if row_hours is not None and len(timed) >= LEAST_TO_JUDGE:
        return Against.HOURS, rows * row_hours, HOURS_TIMES
    by_plan = rows * planned_weaving_hours(book) / planned_rows(book)
    return Against.HOURS_BY_PLAN, by_plan, 2 * HOURS_TIMES


def rows_gained_by(session: Session, book: RugBook) -> float:
    """Return the rows that a session gains where it is entered or corrected so, parts of a row counted."""
    then = with_sessions(book, (session,))
    return next(
        gained for one, gained in zip(then.sessions, then.rows_gained, strict=True) if one.id == session.id
    )


def same_day(session: Session, book: RugBook) -> tuple[Session, ...]:
    """Return the other sessions of a session's day in which the same hands may have woven: another seat's are its own work.

    A session that names nobody may be anybody's.
    """
    return tuple(
        other
        for other in book.sessions
        if other.id != session.id and other.day == session.day
        if not other.weavers or not session.weavers or set(other.weavers) & set(session.weavers)
    )


@dataclass(frozen=True, slots=True)
class UnlikelyDay:
    """Rows of one day that can hardly be meant, all sessions together, and how many a day are usual."""

    rows: int
    usual: int


def unlikely_day(session: Session, book: RugBook, lately: Evening | None = None) -> UnlikelyDay | None:
    """Return the rows that a session brings its day to when they can hardly be meant; None when they can, or it is alone on its day.

    What is usual is told by the other days' whole rows. One more session of no more rows than are usual is not asked about: who
    sits down three times on a free day made no slip.
    """
    before = sum(other.rows for other in same_day(session, book) if other.rows > 0)
    if session.rows <= 0 or before <= 0:
        return None
    others = replace(
        book,
        sessions=tuple(
            other for other in book.sessions if other.id != session.id and other.day != session.day
        ),
    )
    a_day: dict[date, int] = {}
    for other in others.sessions:
        a_day[other.day] = a_day.get(other.day, 0) + max(other.rows, 0)
    lately_woven = [rows for rows in a_day.values() if rows][-RECENT:]
    usual = usual_rows(others, lately=lately)
    usual_day = max(usual, round(median(lately_woven)) if lately_woven else 0)
    if session.rows <= usual or not _over(before + session.rows, usual_day, ROWS_TIMES, ROWS_MORE):
        return None
    return UnlikelyDay(before + session.rows, usual_day)


def unlikely_rows(rows: int, book: RugBook, session_id: str, lately: Evening | None = None) -> int | None:
    """Return the usual number of rows when a session's can hardly be meant; None when they can.

    What is usual is told by the other sessions; before the first one by those of another rug that is woven now, or the plan.
    """
    others = replace(book, sessions=tuple(s for s in book.sessions if s.id != session_id))
    usual = usual_rows(others, lately=lately)
    return usual if _over(rows, usual, ROWS_TIMES, ROWS_MORE) else None


def _hours_of_day(session: Session, book: RugBook) -> float:
    """Return the hours at the loom of a session and of the others of its day that belong to the same hands.

    Where nobody is named, a team's seats may have logged side by side: its hours are shared among those planned.
    """
    others = same_day(session, book)
    unnamed = not session.weavers or any(not other.weavers for other in others)
    seats = max(book.plan.weavers_planned, 1) if unnamed else 1
    longest = max([session.hours or 0.0, *(other.hours or 0.0 for other in others)])
    together = (session.hours or 0.0) + sum(other.hours or 0.0 for other in others)
    return max(longest, together / seats)


def _of_session(session: Session, book: RugBook) -> list[Unlikely]:
    found: list[Unlikely] = []
    others = replace(book, sessions=tuple(other for other in book.sessions if other.id != session.id))
    if session.hours:
        gained = rows_gained_by(session, book)
        against, usual, times = usual_hours(max(gained, 0.0), others)
        if gained > 0 and _apart(session.hours, usual, times, HOURS_MORE):
            found.append(Unlikely(against, session.hours, usual))
        elif (of_day := _hours_of_day(session, book)) > LONG_DAY_H:
            found.append(Unlikely(Against.LONG_DAY, of_day, LONG_DAY_H))
    for yarn_id, count in session.used:
        found += _balls(book, yarn_id, count)
        if count:
            found += _never_bought(yarn_id, session.id, book)
    return found


_CHECKS: dict[type, Callable[[Any, RugBook], list[Unlikely]]] = {
    Lot: _of_lot,
    Weighing: _of_weighing,
    Spoilt: _of_spoilt,
    Sample: _of_sample,
    HandOut: _of_hand_out,
    Preparation: _of_preparation,
    Measurement: _of_measurement,
    Wage: _of_wage,
    Payment: _of_payment,
    Cost: _of_cost,
    Order: _of_order,
    Session: _of_session,
    RugPlan: _of_plan,
    Yarn: _of_yarn,
}


def first_day(book: RugBook) -> date | None:
    """Return the day from which on the rug is worked at: the plan's, or that of what was done before it."""
    days = [session.day for session in book.sessions] + [done.day for done in book.preparations]
    if book.plan.start_day is not None:
        days.append(book.plan.start_day)
    return min(days, default=None)


def _of_day(value: Any, book: RugBook, today: date) -> list[Unlikely]:
    """Return whether the day can hardly be meant: before the rug, or today on a phone whose clock was set back."""
    when = getattr(value, "day", None)
    if when is None:
        return []
    sessions = [session for session in book.sessions if session.id != value.id]
    last = max((session.day for session in sessions), default=None)
    if last is not None and today < last - timedelta(days=1) and when >= today:
        return [Unlikely(Against.BEFORE_LAST, today, last)]
    first = first_day(replace(book, sessions=tuple(sessions)))
    if type(value) is Session and first is not None and when < min(first, today):
        return [Unlikely(Against.BEFORE_FIRST, when, first)]
    return []


def unlikely(value: Any, book: RugBook, today: date, held: Any = None) -> tuple[Unlikely, ...]:
    """Return what of an entry can hardly be meant, in the order in which it is asked about.

    Parameters
    ----------
    value
        The entry as it would be saved.
    book
        The rug it belongs to, as the book has it.
    today
        The day that the phone says.
    held
        The entry that is corrected: what stands in it already is not asked about once more.
    """
    found = _found(value, book, today)
    known = set() if held is None else {one.against for one in _found(held, book, today)}
    return tuple(one for one in found if one.against not in known)


def _found(value: Any, book: RugBook, today: date) -> Iterable[Unlikely]:
    check = _CHECKS.get(type(value))
    return [*_of_day(value, book, today), *([] if check is None else check(value, book))]
