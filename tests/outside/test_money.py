"""Wages and prices, against worked examples that others published."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from tests.unit.domain.rugs import DAY, book_of, pile, plan_of
from tracker.domain.costs import Ahead, YarnMass, earned, price_at_margin, rug_cost
from tracker.domain.rug import Cost, CostKind, Lot, Pricing, RugBook, Session, Wage, WageBasis

PLAN = plan_of(width_cm=274.32, length_cm=365.76, knots_across=1296, rows=1800)
"""9 x 12 foot at 150 knots per square inch: 2,332,800 knots."""


def book_with(basis: WageBasis, amount: float, each: int = 1, days: int = 155, **parts) -> RugBook:
    """Three weavers side by side, each on a third of the width, in the morning and in the afternoon of every day of the making."""
    thirds = (("left", 1, 432), ("middle", 433, 864), ("right", 865, 1296))
    rows = [1800 // days + (day < 1800 % days) for day in range(days)]
    sessions = tuple(
        Session(
            id=f"s{day}{half}", rug_id="rug", day=DAY + timedelta(days=day), rows=part, hours=4.0,
            weavers=("left", "middle", "right"), places=thirds,
        )
        for day, many in enumerate(rows)
        for half, part in enumerate((many - many // 2, many // 2))
    )  # fmt: skip
    wage = Wage(id="w", rug_id="rug", basis=basis, amount=amount, each=each)
    return replace(book_of(PLAN), sessions=sessions, wages=(wage,), **parts)


def nothing_ahead(book: RugBook) -> Ahead:
    return Ahead(book.sessions[-1].day, 0, None)


def test_wages_of_a_nine_by_twelve_foot_rug_by_the_day():
    # persiancarpetgallery.com, "How long does it take to make a rug?": three weavers, 155 days (31 weeks of 40 h), 3,720 h at
    # 7.15 an hour: 26,598.
    book = book_with(WageBasis.DAYS, 8 * 7.15)
    assert sum(one.amount for one in earned(book, 2)) == Decimal("26598.00")
    assert [one.work.days for one in earned(book, 2)] == [155, 155, 155]
    assert rug_cost(book, {}, nothing_ahead(book), 2).wages_so_far == Decimal("26598.00")


def test_the_same_rug_paid_by_the_knot_the_row_and_the_square_metre():
    # Worked by hand from the same page: 26,598 for 2,332,800 knots are 11.4018 a thousand, 14.7767 for each of the 1,800 rows;
    # for the 14.58 m2 that 1,296 x 1,800 knots at 40 x 40 per 10 cm cover, 1,824.28 each.
    for basis, amount, each in (
        (WageBasis.KNOTS, 26598 / 2_332_800 * 1000, 1000),
        (WageBasis.ROWS, 26598 / 1800, 1),
        (WageBasis.AREA, 26598 / 14.58, 1),
    ):
        thirds = [one.amount for one in earned(book_with(basis, amount, each), 2)]
        assert thirds == [Decimal("8866.00")] * 3


def test_the_plan_foretells_the_wages_of_the_whole_rug():
    # The same rug before its first row: 155 days of three weavers, 465 days' pay.
    book = replace(book_with(WageBasis.DAYS, 8 * 7.15), sessions=())
    ahead = Ahead(DAY, 1800, (140.0, 155.0, 170.0), planned_days=465.0)
    told = rug_cost(book, {}, ahead, 2).wages_at_end
    assert told is not None
    assert told.middle == Decimal("26598.00")
    assert told.low < told.middle < told.high


def test_half_way_the_rest_is_paid_as_the_first_half_was():
    # 900 of the 1,800 rows in 78 days by the row at 14.7767: 13,299 so far, 26,598 at the end.
    whole = book_with(WageBasis.ROWS, 26598 / 1800)
    half = replace(whole, sessions=(replace(whole.sessions[0], rows=900),))
    told = rug_cost(half, {}, Ahead(DAY, 900, None), 2)
    assert told.wages_so_far == Decimal("13299.00")
    assert told.wages_at_end is not None
    assert told.wages_at_end.middle == Decimal("26598.00")


@pytest.mark.parametrize(
    ("cost", "margin", "price"), [("100", 0.50, "200"), ("300", 0.25, "400"), ("600", 0.40, "1000")]
)
def test_a_price_at_a_gross_margin(cost, margin, price):
    # calculator.academy, "Price Calculator": P = C / (1 - GM / 100); 100 at 50 % are 200, 300 at 25 % are 400. The third
    # by hand.
    assert price_at_margin(Decimal(cost), margin, 2) == Decimal(price)


def test_a_price_never_leaves_less_than_the_margin():
    # 100 at 10 % are 111.111...; at 111.11 less than 10 % would be left.
    assert price_at_margin(Decimal(100), 0.10, 2) == Decimal("111.12")
    assert price_at_margin(Decimal(100), 0.10, 0) == Decimal(112)


def test_a_whole_rug_is_priced():
    # The yarn of no. 1705 of iran-carpet.com, 6,144 g, of which 7 kg were bought for 84: 73.728, 73.73 in money. The wages of
    # persiancarpetgallery.com, 26,598, with 328.27 for washing: 27,000. At 40 % margin 45,000.
    yarn = pile(tex=250.0)
    lot = Lot(id="l", rug_id="rug", yarn_id=yarn.id, day=DAY, mass_g=7000.0, price=84.0)
    washing = Cost(id="c", rug_id="rug", day=DAY, kind=CostKind.FINISHING, amount=328.27)
    book = book_with(
        WageBasis.DAYS,
        8 * 7.15,
        yarns=(yarn,),
        lots=(lot,),
        costs=(washing,),
        pricings=(Pricing(id="p", rug_id="rug", margin=0.40),),
    )
    told = rug_cost(book, {yarn.id: YarnMass(6144.0)}, nothing_ahead(book), 2)
    assert told.yarn_so_far == Decimal("73.73")
    assert told.at_end is not None
    assert (told.so_far, told.at_end.middle) == (Decimal("27000.00"), Decimal("27000.00"))
    assert told.price == Decimal("45000.00")


def test_yarn_that_is_still_to_be_used_is_in_the_cost_at_the_end():
    # Worked by hand: 2 kg used and 4 kg needed, 3.5 to 5 kg likely, at 12 a kilogram: 24 so far, 72 at the end, 66 to 84.
    yarn = pile(tex=250.0, price_per_kg=12.0)
    book = book_of(PLAN, yarns=(yarn,))
    told = rug_cost(book, {yarn.id: YarnMass(2000.0, 4000.0, 3500.0, 5000.0)}, Ahead(DAY, 100, None), 2)
    assert told.yarn_so_far == Decimal("24.00")
    assert (told.yarn_at_end.low, told.yarn_at_end.middle, told.yarn_at_end.high) == (
        Decimal("66.00"),
        Decimal("72.00"),
        Decimal("84.00"),
    )
