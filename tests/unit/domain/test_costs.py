"""Wages, costs and the price of a rug: small examples worked by hand, and what must hold of any.

That a margin is the share of the *price* left when the cost is paid (price = cost / (1 - margin)), unlike a mark-up,
is the accounting sense of the word; the example 600 at 40 % is 1,000 is worked by hand.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.domain.rugs import DAY, book_of, pile, plan_of
from tracker.domain import costs
from tracker.domain.costs import NOBODY, Ahead, YarnMass, earned, price_at_margin, rug_cost, wage_of
from tracker.domain.rug import Cost, CostKind, Lot, Pricing, RugBook, Session, Wage, WageBasis
from tracker.domain.seats import seating

PLAN = plan_of(knots_across=100, rows=200, knots_per_10cm=40.0, rows_per_10cm=50.0)
NEXT = DAY + timedelta(days=1)


def wage(
    amount: float, basis: WageBasis, each: int = 1, who: str | None = None, first: date | None = None
) -> Wage:
    return Wage(
        id=f"{basis}{who}{first}",
        rug_id="rug",
        weaver_id=who,
        basis=basis,
        amount=amount,
        each=each,
        first_day=first,
    )


def sat(rows: int, day: date = DAY, weavers=(), places=(), hours: float | None = 3.0) -> Session:
    return Session(
        id=f"{day}{rows}{weavers}{places}",
        rug_id="rug",
        day=day,
        rows=rows,
        hours=hours,
        weavers=tuple(weavers),
        places=tuple(places),
    )


def book(*sessions: Session, wages=(), **parts) -> RugBook:
    return replace(book_of(PLAN), sessions=sessions, wages=tuple(wages), **parts)


def amounts(told: RugBook, decimals: int = 2) -> dict[str, Decimal]:
    return {one.work.weaver_id: one.amount for one in earned(told, decimals)}


def test_knots_rows_area_and_days_each_pay_what_they_say():
    woven = sat(10, weavers=["ayse"])
    # 10 rows of 100 knots = 1,000 knots; at 40 x 50 knots in 10 cm a square metre holds 200,000: 0.005 m2.
    for given_wage, due in (
        (wage(9.0, WageBasis.KNOTS, 1000), "9.00"),
        (wage(0.75, WageBasis.ROWS), "7.50"),
        (wage(1200.0, WageBasis.AREA), "6.00"),
        (wage(14.0, WageBasis.DAYS), "14.00"),
    ):
        assert amounts(book(woven, wages=[given_wage])) == {"ayse": Decimal(due)}


def test_a_wage_by_knots_pays_the_knots_that_were_tied_and_one_by_rows_the_rows():
    # Half the field over four warps: 1,000 places hold 500 + 250 knots. Rows stay rows.
    wide = replace(PLAN, jufti_share=0.5)
    for given_wage, due in ((wage(9.0, WageBasis.KNOTS, 1000), "6.75"), (wage(0.75, WageBasis.ROWS), "7.50")):
        (told,) = earned(replace(book(sat(10, weavers=["ayse"]), wages=[given_wage]), plan=wide), 2)
        assert (told.amount, told.work.knots) == (Decimal(due), 750)


def test_places_across_the_width_share_a_rows_wage():
    places = (("left", 1, 25), ("right", 26, 100))
    told = book(sat(8, weavers=["left", "right"], places=places), wages=[wage(1.0, WageBasis.ROWS)])
    assert amounts(told) == {"left": Decimal("2.00"), "right": Decimal("6.00")}


def test_what_was_unpicked_is_taken_back_from_who_wove_it():
    told = book(sat(10, weavers=["ayse"]), sat(-3, NEXT, weavers=["ayse"]), wages=[wage(1.0, WageBasis.ROWS)])
    assert amounts(told) == {"ayse": Decimal("7.00")}


def test_a_session_that_names_nobody_is_given_to_nobody():
    told = book(sat(4, weavers=["ayse"]), sat(6, NEXT), wages=[wage(1.0, WageBasis.ROWS)])
    assert amounts(told) == {"ayse": Decimal("4.00"), NOBODY: Decimal("6.00")}


def test_a_session_without_work_hides_none_that_follows():
    # 5 rows of 100 knots at 1 for 100 knots.
    told = book(
        sat(0, hours=None), sat(5, NEXT, weavers=("ayse",)), wages=[wage(1.0, WageBasis.KNOTS, each=100)]
    )
    assert amounts(told) == {"ayse": Decimal("5.00")}


def test_two_without_places_share_the_width_evenly_and_by_what_the_same_two_said_of_another_evening():
    """Both were given 0.00, and 17.40 belonged to nobody, though the page of balls shared the width evenly."""
    pay = [wage(1.0, WageBasis.ROWS)]
    evening = sat(5, weavers=["ayse", "fatma"])
    assert amounts(book(evening, wages=pay)) == {"ayse": Decimal("2.50"), "fatma": Decimal("2.50")}
    # Fatma's evening alone is hers; the one of both is shared: by the evenings each wove.
    alone = sat(3, NEXT, weavers=["fatma"])
    assert amounts(book(evening, alone, wages=pay)) == {"ayse": Decimal("2.50"), "fatma": Decimal("5.50")}
    said = sat(4, NEXT, weavers=["ayse", "fatma"], places=(("fatma", 1, 75), ("ayse", 76, 100)))
    # Nine rows, a quarter of each Ayse's, whichever evening comes first.
    for evenings in ((evening, said), (replace(said, day=DAY), replace(evening, day=NEXT))):
        assert amounts(book(*evenings, wages=pay)) == {"ayse": Decimal("2.25"), "fatma": Decimal("6.75")}
    third = sat(4, NEXT, weavers=["ayse", "fatma", "gul"])
    # Another team never said it: of a hundred knots 34, 33 and 33, in the order in which they were entered.
    assert amounts(book(said, third, wages=pay))["gul"] == Decimal("1.32")


@given(rows=st.lists(st.integers(1, 9), min_size=1, max_size=6), team=st.integers(2, 5), said=st.booleans())
def test_who_is_paid_for_a_row_is_who_is_given_its_balls(rows, team, said):
    """The page of balls and the wages go by one truth about who sits where, said or not."""
    who = [f"w{n}" for n in range(team)]
    places = tuple((name, 1 + 20 * n, 20 + 20 * n) for n, name in enumerate(who)) if said else ()
    evenings = [sat(gained, DAY + timedelta(days=n), who) for n, gained in enumerate(rows)]
    evenings[0] = replace(evenings[0], places=places)
    told = book(*evenings)
    sections = {}
    for section in seating(told).sections:
        sections[section.weaver_id] = sections.get(section.weaver_id, 0) + section.knots
    knots = {one.work.weaver_id: one.work.knots for one in earned(told, 2)}
    assert knots == {name: sum(rows) * many for name, many in sections.items()}


def test_a_day_counts_once_however_many_sessions_it_had():
    told = book(
        sat(2, weavers=["ayse"]), sat(3, weavers=["ayse"]), sat(1, NEXT, weavers=["ayse"]),
        wages=[wage(14.0, WageBasis.DAYS)],
    )  # fmt: skip
    assert amounts(told) == {"ayse": Decimal("28.00")}


def test_her_own_wage_stands_before_everybodys_and_a_later_one_from_its_first_day():
    wages = [
        wage(1.0, WageBasis.ROWS),
        wage(2.0, WageBasis.ROWS, who="ayse"),
        wage(3.0, WageBasis.ROWS, who="ayse", first=NEXT),
        wage(9.0, WageBasis.ROWS, first=NEXT),
    ]
    told = book(
        sat(1, weavers=["ayse"]), sat(1, NEXT, weavers=["ayse"]), sat(1, weavers=["fatma"]), wages=wages
    )
    assert amounts(told) == {"ayse": Decimal("5.00"), "fatma": Decimal("1.00")}
    assert wage_of(wages, "fatma", DAY - timedelta(days=1)) is wages[0]


def test_work_before_any_wage_is_named_as_unpaid():
    told = book(
        sat(2, weavers=["ayse"]),
        sat(3, NEXT, weavers=["ayse"]),
        wages=[wage(1.0, WageBasis.ROWS, first=NEXT)],
    )
    assert earned(told, 2)[0].unpaid_knots == 200
    assert rug_cost(told, {}, Ahead(NEXT, 10, None), 2).unpaid_knots == 200


def test_a_tenth_is_a_tenth():
    told = book(
        *(sat(1, DAY + timedelta(days=n), weavers=["ayse"]) for n in range(3)),
        wages=[wage(0.1, WageBasis.ROWS)],
    )
    assert amounts(told, 3) == {"ayse": Decimal("0.300")}


@pytest.mark.parametrize(("decimals", "due"), [(0, "2"), (2, "1.50"), (3, "1.500")])
def test_amounts_are_rounded_once_to_the_currencys_decimals(decimals, due):
    assert amounts(book(sat(1, weavers=["a"]), wages=[wage(1.5, WageBasis.ROWS)]), decimals) == {
        "a": Decimal(due)
    }


def test_six_hundred_at_forty_per_cent_is_a_thousand():
    assert price_at_margin(Decimal("600.00"), 0.4, 2) == Decimal("1000.00")
    assert price_at_margin(Decimal("100"), 0.0, 0) == Decimal("100")
    # Never below the margin that was asked for.
    assert price_at_margin(Decimal("100.00"), 0.3, 2) == Decimal("142.86")
    assert price_at_margin(Decimal("10.00"), 0.1, 2) == Decimal("11.12")


def test_yarn_costs_what_its_purchases_cost_and_else_what_the_plan_says():
    red, blue, grey = (
        replace(pile(name), id=name, price_per_kg=price)
        for name, price in (("red", 99.0), ("blue", 40.0), ("grey", None))
    )
    lots = tuple(
        Lot(id=f"{n}", rug_id="rug", yarn_id="red", day=DAY, mass_g=mass, price=price)
        for n, (mass, price) in enumerate(((500.0, 20.0), (1500.0, 40.0), (700.0, None)))
    )
    told = replace(book(), yarns=(red, blue, grey), lots=lots)
    masses = {
        "red": YarnMass(1000.0, 500.0, 400.0, 700.0),  # 60 for 2,000 g: 30 a kilogram
        "blue": YarnMass(250.0),
        "grey": YarnMass(100.0),
    }
    cost = rug_cost(told, masses, Ahead(DAY, 200, None), 2)
    assert [one.so_far for one in cost.yarns] == [Decimal("30.00"), Decimal("10.00"), None]
    assert cost.yarns[0].at_end == costs.Spread(Decimal("42.00"), Decimal("45.00"), Decimal("51.00"))
    assert cost.unpriced == ("grey",)
    assert cost.so_far == Decimal("40.00")
    assert cost.at_end is not None
    assert (cost.at_end.low, cost.at_end.high) == (Decimal("52.00"), Decimal("61.00"))


def test_the_rest_is_paid_as_the_rows_so_far_were_at_todays_wages():
    wages = [wage(1.0, WageBasis.ROWS), wage(2.0, WageBasis.ROWS, first=NEXT)]
    told = book(sat(50, weavers=["ayse"]), wages=wages)
    cost = rug_cost(told, {}, Ahead(NEXT, 150, (10.0, 20.0, 40.0)), 2)
    assert cost.so_far == Decimal("50.00")
    assert cost.wages_at_end == costs.Spread(*[Decimal("350.00")] * 3), "150 rows at 2, whatever the date"


def test_days_ahead_are_as_many_a_row_as_so_far_and_follow_the_date():
    told = book(
        *(sat(5, DAY + timedelta(days=n), weavers=["ayse"]) for n in range(10)),
        wages=[wage(20.0, WageBasis.DAYS)],
    )
    cost = rug_cost(told, {}, Ahead(DAY + timedelta(days=10), 150, (30.0, 60.0, 90.0)), 2)
    # Ten days for 50 rows: thirty more for 150, half or half as many again by the date's range.
    assert cost.wages_at_end == costs.Spread(Decimal("500.00"), Decimal("800.00"), Decimal("1100.00"))
    assert rug_cost(told, {}, Ahead(DAY + timedelta(days=10), 150, None), 2).at_end is None


def test_before_the_first_row_everybodys_wage_says_what_the_weaving_will_cost():
    ahead = Ahead(DAY, 200, (50.0, 60.0, 90.0), planned_days=48.0)
    by_knot = rug_cost(book(wages=[wage(9.0, WageBasis.KNOTS, 1000)]), {}, ahead, 2)
    assert by_knot.wages_at_end == costs.Spread(*[Decimal("180.00")] * 3)
    by_day = rug_cost(book(wages=[wage(10.0, WageBasis.DAYS)]), {}, ahead, 2).wages_at_end
    assert by_day is not None
    assert (by_day.low, by_day.middle, by_day.high) == (
        Decimal("400.00"),
        Decimal("480.00"),
        Decimal("720.00"),
    )
    own_only = book(wages=[wage(9.0, WageBasis.ROWS, who="ayse")])
    assert rug_cost(own_only, {}, ahead, 2).at_end is None, "nobody said who will weave"


def test_other_spending_stands_in_its_kind_and_the_price_follows_from_the_cost_at_the_end():
    spent = tuple(
        Cost(id=f"{n}", rug_id="rug", day=DAY, kind=kind, amount=amount)
        for n, (kind, amount) in enumerate(
            ((CostKind.FINISHING, 31.25), (CostKind.OTHER, 8.0), (CostKind.FINISHING, 10.0))
        )
    )
    told = book(costs=spent, pricings=(Pricing(id="p", rug_id="rug", margin=0.5),))
    cost = rug_cost(told, {}, Ahead(DAY, 200, None), 2)
    assert cost.spent == ((CostKind.FINISHING, Decimal("41.25")), (CostKind.OTHER, Decimal("8.00")))
    assert cost.so_far == Decimal("49.25")
    assert cost.price == Decimal("98.50")
    assert rug_cost(replace(told, pricings=()), {}, Ahead(DAY, 200, None), 2).price is None


sessions_of_a_team = st.lists(
    st.tuples(st.integers(-3, 9), st.integers(0, 40), st.integers(1, 99), st.booleans()), max_size=12
)


@given(drawn=sessions_of_a_team, basis=st.sampled_from([WageBasis.KNOTS, WageBasis.ROWS, WageBasis.AREA]))
def test_at_one_wage_for_all_the_parts_add_up_to_the_whole(drawn, basis):
    told = book(
        *(
            sat(
                rows,
                DAY + timedelta(days=day),
                ["left", "right"],
                (("left", 1, border), ("right", border + 1, 100)) if seated else (),
            )
            for rows, day, border, seated in sorted(drawn, key=lambda one: one[1])
        ),
        wages=[wage(7.3, basis, 3)],
    )
    exact = sum((one.by_piece for one in costs._accounts(told).values()), Fraction(0))
    knots = told.rows_woven * 100
    assert exact == costs._pay(told.wages[0], PLAN, knots, 0)
    assert sum(one.work.knots for one in earned(told, 2)) == knots


def test_the_largest_values_the_rules_let_in_are_reckoned_to_the_last_digit():
    wide = plan_of(knots_across=20_000, rows=20_000, knots_per_10cm=40.0, rows_per_10cm=50.0)
    sessions = tuple(replace(sat(9999, DAY, ["ayse"]), id=f"w{n}") for n in range(200))
    told = replace(
        book_of(wide),
        sessions=sessions,
        wages=(wage(1e9, WageBasis.KNOTS),),
        pricings=(Pricing(id="p", rug_id="rug", margin=0.95),),
    )
    cost = rug_cost(told, {}, Ahead(NEXT, 19_999, None), 4)
    assert cost.wages_so_far == Decimal(200 * 9999 * 20_000) * 10**9
    assert cost.wages_at_end is not None
    assert cost.wages_at_end.middle == Decimal((200 * 9999 + 19_999) * 20_000) * 10**9
    assert cost.price == cost.wages_at_end.middle * 20


def test_spendings_are_rounded_one_by_one_so_that_the_list_adds_up():
    spent = tuple(Cost(id=f"{n}", rug_id="rug", day=DAY, kind=CostKind.OTHER, amount=2.5) for n in range(2))
    cost = rug_cost(book(costs=spent), {}, Ahead(DAY, 200, None), 0)
    assert cost.so_far == sum(costs.rounded(one.amount, 0) for one in spent) == Decimal(6)


def test_a_rug_unpicked_below_its_first_row_has_no_price():
    told = book(
        sat(-9999, weavers=["ayse"]),
        wages=[wage(1.0, WageBasis.ROWS)],
        pricings=(Pricing(id="p", rug_id="rug", margin=0.4),),
    )
    assert rug_cost(told, {}, Ahead(NEXT, 0, None), 2).price is None


def test_money_paid_for_yarn_that_left_the_plan_is_told():
    gone = Lot(id="l", rug_id="rug", yarn_id="gone", day=DAY, mass_g=100.0, price=12.5)
    cost = rug_cost(book(lots=(gone,)), {}, Ahead(DAY, 200, None), 2)
    assert (cost.so_far, cost.left_out) == (Decimal("0.00"), Decimal("12.50"))


def test_of_two_pricings_the_one_entered_last_counts():
    first, last = (
        Pricing(id="b", rug_id="rug", margin=0.1, born=3),
        Pricing(id="a", rug_id="rug", margin=0.5, born=9),
    )
    for both in ((first, last), (last, first)):
        assert costs.pricing_of(book(pricings=both)) is last


def test_rows_that_come_out_are_paid_to_nobody_and_at_the_wage_at_which_they_were_tied():
    # Two rows by the left one at 5 a row, one by the right one at 8; the right one takes out hers and one of the left's.
    evenings = (
        replace(sat(2, DAY, ["left"]), id="a"),
        replace(sat(1, NEXT, ["right"]), id="b"),
        replace(sat(-2, NEXT, ["right"]), id="c"),
    )
    told = replace(
        book_of(PLAN),
        sessions=evenings,
        wages=(wage(5.0, WageBasis.ROWS), replace(wage(8.0, WageBasis.ROWS), id="later", first_day=NEXT)),
    )
    assert [(one.work.weaver_id, one.work.knots, float(one.amount)) for one in earned(told, 2)] == [
        ("left", 100, 5.0),
        ("right", 0, 0.0),
    ]
