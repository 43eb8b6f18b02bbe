"""What a rug costs and who earned what: wages from what the sessions say each weaver wove, yarn used, other spending.

Money is reckoned exactly and rounded once, line by line, to the currency's own decimals, so that lines add up to the
total that stands under them. What wages are lawful is for local rules to say, not for these sums.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Context, Decimal, localcontext
from fractions import Fraction

from tracker.domain.order import Order
from tracker.domain.rug import Cost, CostKind, Pricing, RugBook, RugPlan, Wage, WageBasis, Yarn
from tracker.domain.seats import placed
from tracker.domain.team import knots_woven, sound

NOBODY = ""
"""Stands for the weaver of whom nobody said who she was."""


DIGITS = 100
"""Digits of any sum of money here: more than all that the rules let in can come to, so that none is rounded unseen."""


def _whole_money() -> AbstractContextManager[Context]:
    """Reckon with enough digits within the `with` block."""
    return localcontext(Context(prec=DIGITS))


def rounded(amount: Fraction | Decimal | float, decimals: int, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Return an amount of money rounded to the currency's decimals, halves away from zero."""
    with _whole_money():
        exact = amount if isinstance(amount, Decimal) else _decimal(amount)
        return exact.quantize(Decimal(1).scaleb(-decimals), rounding)


def _decimal(amount: Fraction | float) -> Decimal:
    part = amount if isinstance(amount, Fraction) else _exact(amount)
    return Decimal(part.numerator) / Decimal(part.denominator)


def _exact(amount: float) -> Fraction:
    """Return a float as the weaver typed it: 0.1 is a tenth, not the binary number nearest to it."""
    return Fraction(repr(float(amount)))


@dataclass(frozen=True, slots=True)
class Work:
    """What one weaver did in the sessions so far; knots that came out again are no longer hers."""

    weaver_id: str
    """`NOBODY` where no session says who wove."""
    knots: int
    days: int
    """Days on which she wove; half a day counts as one."""


@dataclass(frozen=True, slots=True)
class Earned:
    """What one weaver earned, rounded to the currency's decimals."""

    work: Work
    amount: Decimal
    unpaid_knots: int
    """Knots for which no wage is entered."""


def knot_area_m2(plan: RugPlan) -> Fraction:
    """Return the area of one knot as planned, in square metres."""
    return 1 / (_exact(plan.knots_per_10cm) * _exact(plan.rows_per_10cm) * 100)


def wage_of(wages: Iterable[Wage], weaver_id: str, day: date) -> Wage | None:
    """Return the wage that counts for a weaver on a day: her own before everybody's, the latest begun first."""

    def begun(wage: Wage) -> bool:
        return wage.first_day is None or wage.first_day <= day

    def rank(wage: Wage) -> tuple[bool, date, int]:
        return bool(wage.weaver_id), wage.first_day or date.min, wage.born

    fitting = [wage for wage in wages if begun(wage) and wage.weaver_id in (None, weaver_id)]
    return max(fitting, key=rank, default=None)


def _pay(wage: Wage, plan: RugPlan, knots: int, days: int) -> Fraction:
    """Return what a wage pays for some knots and days, exactly."""
    done: Fraction
    if wage.basis is WageBasis.KNOTS:
        done = knots * _exact(plan.tied_share)
    elif wage.basis is WageBasis.ROWS:
        done = Fraction(knots, plan.knots_across)
    elif wage.basis is WageBasis.AREA:
        done = knots * knot_area_m2(plan)
    else:
        done = Fraction(days)
    return _exact(wage.amount) * done / wage.each


def pay_for_rug(wage: Wage, plan: RugPlan, rows: int, days: float) -> float:
    """Return what a wage pays for a whole rug of so many rows, or for so many days."""
    return float(_pay(wage, plan, rows * plan.knots_across, math.ceil(days)))


@dataclass(slots=True)
class _Account:
    """One weaver's work, and what it is paid, by the piece and by the day."""

    knots: int = 0
    days: set[date] = field(default_factory=set)
    by_piece: Fraction = Fraction(0)
    by_day: Fraction = Fraction(0)
    unpaid_knots: int = 0


def _accounts(book: RugBook, on: date | None = None) -> dict[str, _Account]:
    """Return every weaver's account in the order of first sitting at the loom; `on`: pay all work at that day's wages."""
    plan = book.plan
    sessions = placed(book.sessions, plan.knots_across).sessions
    woven = knots_woven(sessions, plan.knots_across)
    accounts: dict[str, _Account] = {}
    for session, knots_of in zip(sessions, woven, strict=True):
        if not (session.wove or session.places):
            continue
        share = dict(knots_of.by_weaver)
        if knots_of.unsaid:
            share[NOBODY] = knots_of.unsaid
        seated = session.places if sound(tuple(session.places), plan.knots_across) else ()
        present = dict.fromkeys((*(weaver for weaver, _first, _last in seated), *session.weavers)) or {
            NOBODY: None
        }
        for weaver in dict.fromkeys((*present, *share)):
            account = accounts.setdefault(weaver, _Account())
            knots = share.get(weaver, 0)
            new_day = weaver in present and session.day not in account.days
            if new_day:
                account.days.add(session.day)
            account.knots += knots
            wage = wage_of(book.wages, weaver, on or session.day)
            if wage is None:
                account.unpaid_knots += knots
            elif wage.basis is WageBasis.DAYS:
                account.by_day += _pay(wage, plan, 0, int(new_day))
            else:
                account.by_piece += _pay(wage, plan, knots, 0)
    return accounts


def earned(book: RugBook, decimals: int) -> tuple[Earned, ...]:
    """Return what every weaver did and earned, in the order of first sitting at the loom; who is not known comes last.

    Parameters
    ----------
    decimals
        Of the currency.

    Notes
    -----
    Knots that are still in the rug are shared out by the places across the width (`team.knots_woven`), said or assumed
    (`seats.placed`); who sat alone has the whole width. Knots of a session that names nobody, and of a stretch in which
    nobody sat, belong to nobody known. A weaver's day counts once, however many sessions it had; a session that names nobody is one day of one weaver.
    """
    accounts = _accounts(book)
    # Places are counted in knots over two warps; what is told of is knots that were tied.
    order = [weaver for weaver in accounts if weaver != NOBODY] + [NOBODY] * (NOBODY in accounts)
    return tuple(
        Earned(
            Work(weaver, round(accounts[weaver].knots * book.plan.tied_share), len(accounts[weaver].days)),
            rounded(accounts[weaver].by_piece + accounts[weaver].by_day, decimals),
            accounts[weaver].unpaid_knots,
        )
        for weaver in order
    )


@dataclass(frozen=True, slots=True)
class YarnMass:
    """What one yarn weighs in the rug, in grams: used so far, and still needed with its 80 % range."""

    used_g: float
    needed_g: float = 0.0
    needed_low_g: float = 0.0
    needed_high_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Ahead:
    """What is still to be done: rows, and days on which may be woven until the last of them early, in the middle and late."""

    today: date
    rows: int | Fraction
    """What is begun of a row is done."""
    days: tuple[float, float, float] | None
    """None: no date is given."""
    planned_days: float = 0.0
    """Weaving days of all weavers together until the last row, by the plan; counts before the first row only."""


@dataclass(frozen=True, slots=True)
class Spread:
    """An amount with its range."""

    low: Decimal
    middle: Decimal
    high: Decimal

    def __add__(self, other: Spread) -> Spread:
        return Spread(self.low + other.low, self.middle + other.middle, self.high + other.high)


@dataclass(frozen=True, slots=True)
class YarnCost:
    """What one yarn costs: used so far, and at the end. None where no price is known."""

    yarn_id: str
    so_far: Decimal | None
    at_end: Spread | None


@dataclass(frozen=True, slots=True)
class RugCost:
    """What a rug costs so far and at the end, line by line."""

    yarns: tuple[YarnCost, ...]
    yarn_so_far: Decimal
    """Of the yarns that have a price."""
    yarn_at_end: Spread
    earned: tuple[Earned, ...]
    wages_so_far: Decimal
    wages_at_end: Spread | None
    """None: nothing is known of the work that is left, or no wage is entered."""
    spent: tuple[tuple[CostKind, Decimal], ...]
    """What was entered of each kind, kinds without an entry left out."""
    so_far: Decimal
    at_end: Spread | None
    price: Decimal | None
    """What a customer pays at the wished margin, from the middle of the cost at the end; None without a margin."""
    unpriced: tuple[str, ...]
    """Ids of yarns that are used or needed and have no price; they count for nothing in the sums."""
    unpaid_knots: int
    """Knots woven for which no wage is entered, where wages are entered at all."""
    left_out: Decimal
    """What was paid for yarn that is no longer in the plan; it counts for nothing in the sums."""


def _priced_lots(book: RugBook, yarn: Yarn) -> list[tuple[Fraction, Fraction]]:
    """Return (price, grams) of the purchases of a yarn that say what they cost."""
    return [
        (_exact(lot.price), _exact(lot.mass_g))
        for lot in book.lots
        if lot.yarn_id == yarn.id and lot.price is not None and lot.mass_g > 0
    ]


def priced_by_others_g(book: RugBook, yarn: Yarn) -> float:
    """Return the grams of a yarn bought without a price that count at the price of its other purchases."""
    if not _priced_lots(book, yarn):
        return 0.0
    return sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn.id and lot.price is None)


def price_per_g(book: RugBook, yarn: Yarn) -> Fraction | None:
    """Return what a gram of yarn cost: by its purchases that say so, else by the plan; None: not known."""
    priced = _priced_lots(book, yarn)
    if priced:
        paid, bought_g = (sum(part, Fraction(0)) for part in zip(*priced, strict=True))
        return paid / bought_g
    return None if yarn.price_per_kg is None else _exact(yarn.price_per_kg) / 1000


def pricing_of(book: RugBook) -> Pricing | None:
    """Return how the rug's price is made: what was entered last counts."""
    return max(book.pricings, key=lambda one: (one.born, one.id), default=None)


def order_of(book: RugBook) -> Order | None:
    """Return the order behind the rug: what was entered last counts."""
    return max(book.orders, key=lambda order: (order.born, order.id), default=None)


def promised_day_of(book: RugBook) -> date | None:
    """Return the day by which the rug is promised and not yet delivered; None: none."""
    order = order_of(book)
    return None if order is None or order.delivered_day is not None else order.promised_day


def paid_by_customer(book: RugBook, decimals: int) -> Decimal:
    """Return what the customer paid so far, each payment rounded to the currency's decimals."""
    with _whole_money():
        zero = rounded(Decimal(0), decimals)
        return sum((rounded(payment.amount, decimals) for payment in book.payments), zero)


def owed_by_customer(book: RugBook, decimals: int) -> Decimal | None:
    """Return what the customer still owes: the agreed price less what was paid; None without an agreed price.

    Below zero where more was paid than agreed.
    """
    order = order_of(book)
    if order is None or order.price is None:
        return None
    with _whole_money():
        return rounded(order.price, decimals) - paid_by_customer(book, decimals)


def price_at_margin(cost: Decimal, margin: float, decimals: int) -> Decimal:
    """Return the least price of which `margin` (its share, 0 to below 1) is left when the cost is paid.

    Examples
    --------
    >>> price_at_margin(Decimal("600"), 0.4, 2)
    Decimal('1000.00')
    """
    return rounded(Fraction(cost) / (1 - _exact(margin)), decimals, ROUND_CEILING)


def rug_cost(book: RugBook, masses: Mapping[str, YarnMass], ahead: Ahead, decimals: int) -> RugCost:
    """Reckon what a rug costs so far and at its end.

    Parameters
    ----------
    masses
        What each yarn weighs in the rug, by the yarn's id; a yarn that is missing here weighs nothing.
    ahead
        The work that is left.
    decimals
        Of the currency.

    Notes
    -----
    Work ahead is paid at today's wages, in the shares in which the weavers wove so far; before the first row, at
    everybody's wage. Days ahead are as many a row as so far. Preparation, finishing and other spending at the end is
    what was entered: what nobody entered is not guessed.
    """
    with _whole_money():
        return _rug_cost(book, masses, ahead, decimals)


def _rug_cost(book: RugBook, masses: Mapping[str, YarnMass], ahead: Ahead, decimals: int) -> RugCost:
    zero = rounded(Decimal(0), decimals)
    yarns: list[YarnCost] = []
    unpriced: list[str] = []
    for yarn in book.yarns:
        mass = masses.get(yarn.id)
        if mass is None or not (mass.used_g or mass.needed_g):
            continue
        a_gram = price_per_g(book, yarn)
        if a_gram is None:
            unpriced.append(yarn.id)
            yarns.append(YarnCost(yarn.id, None, None))
            continue
        used = _exact(mass.used_g)
        ends = [
            rounded((used + _exact(more)) * a_gram, decimals)
            for more in (mass.needed_low_g, mass.needed_g, mass.needed_high_g)
        ]
        yarns.append(YarnCost(yarn.id, rounded(used * a_gram, decimals), Spread(*ends)))
    planned = {yarn.id for yarn in book.yarns}
    paid = earned(book, decimals)
    spent = tuple(
        (kind, _sum_of(book.costs, kind, decimals))
        for kind in CostKind
        if any(cost.kind is kind for cost in book.costs)
    )
    besides = sum((amount for _kind, amount in spent), zero)
    wages = sum((one.amount for one in paid), zero)
    yarn_now = sum((one.so_far for one in yarns if one.so_far is not None), zero)
    yarn_end = sum((one.at_end for one in yarns if one.at_end is not None), Spread(zero, zero, zero))
    so_far = yarn_now + wages + besides
    wages_at_end = _wages_at_end(book, wages, ahead, decimals)
    at_end: Spread | None = None
    if wages_at_end is not None or not book.wages:
        worked = wages_at_end or Spread(wages, wages, wages)
        at_end = worked + yarn_end + Spread(besides, besides, besides)
    pricing = pricing_of(book)
    price = None
    if pricing is not None and pricing.margin is not None and at_end is not None and at_end.middle > 0:
        price = price_at_margin(at_end.middle, pricing.margin, decimals)
    unpaid = sum(one.unpaid_knots for one in paid) if book.wages else 0
    return RugCost(
        yarns=tuple(yarns),
        yarn_so_far=yarn_now,
        yarn_at_end=yarn_end,
        earned=paid,
        wages_so_far=wages,
        wages_at_end=wages_at_end,
        spent=spent,
        so_far=so_far,
        at_end=at_end,
        price=price,
        unpriced=tuple(unpriced),
        unpaid_knots=max(unpaid, 0),
        left_out=sum(
            (rounded(lot.price or 0.0, decimals) for lot in book.lots if lot.yarn_id not in planned), zero
        ),
    )


def _sum_of(costs: Iterable[Cost], kind: CostKind, decimals: int) -> Decimal:
    zero = rounded(Decimal(0), decimals)
    return sum((rounded(cost.amount, decimals) for cost in costs if cost.kind is kind), zero)


def _wages_at_end(book: RugBook, so_far: Decimal, ahead: Ahead, decimals: int) -> Spread | None:
    """Return all wages at the last row; None when nothing can be said of the work ahead."""
    if not book.wages:
        return None
    rate = _rate_a_row(book, ahead)
    if not ahead.rows:
        return Spread(so_far, so_far, so_far)
    if rate is None or (rate.by_day and ahead.days is None):
        return None
    factors = [Fraction(1)] * 3
    if rate.by_day and ahead.days is not None:
        early, middle, late = (_exact(max(days, 0.5)) for days in ahead.days)
        factors = [early / middle, Fraction(1), late / middle]
    return Spread(
        *(
            so_far + rounded((rate.by_piece + rate.by_day * factor) * ahead.rows, decimals)
            for factor in factors
        )
    )


@dataclass(frozen=True, slots=True)
class _Rate:
    """What a row ahead is paid."""

    by_piece: Fraction
    by_day: Fraction


def _rate_a_row(book: RugBook, ahead: Ahead) -> _Rate | None:
    """Return what a row ahead is paid at today's wages; None when no wage says so."""
    rows = book.rows_woven + Fraction(book.knots_begun, book.knots_across)
    if rows > 0:
        accounts = _accounts(book, ahead.today).values()
        return _Rate(
            sum((one.by_piece for one in accounts), Fraction(0)) / rows,
            sum((one.by_day for one in accounts), Fraction(0)) / rows,
        )
    wage = wage_of(book.wages, NOBODY, max(ahead.today, book.plan.start_day))
    if wage is None or not ahead.rows:
        return None
    if wage.basis is WageBasis.DAYS:
        return _Rate(Fraction(0), _pay(wage, book.plan, 0, 1) * _exact(ahead.planned_days) / ahead.rows)
    return _Rate(_pay(wage, book.plan, book.plan.knots_across, 0), Fraction(0))
