"""What can hardly be meant is found, and what is ordinary is not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.need import account_of
from tracker.domain.order import Order, Payment, PaymentKind
from tracker.domain.rug import (
    Cost,
    CostKind,
    Lot,
    Measurement,
    Preparation,
    PreparationKind,
    RugBook,
    Sample,
    Spoilt,
    Wage,
    WageBasis,
    Weighing,
    Yarn,
)
from tracker.domain.unlikely import Against, unlikely
from tracker.presenters import entry_forms
from tracker.presenters.doubts import answer_doubted, doubt_of

RUG = book(session(1, 6), session(2, 6), session(3, 6))
NEED = account_of(RUG).of("red")
assert NEED is not None
NEED_G, KNOT_G = NEED.need_g, NEED.g_per_unit
OF_RED: dict[str, Any] = {"id": "x", "rug_id": "rug", "yarn_id": "red", "day": TODAY}
BOUGHT = replace(RUG, lots=(Lot(**{**OF_RED, "id": "l", "mass_g": 500.0, "price": 20.0}),))
GIVEN_BEFORE = replace(RUG, hand_outs=(HandOut(**{**OF_RED, "id": "h", "balls": 1.0, "mass_g": 200.0}),))
"""Who answered once that she gives what the book has none of is not asked again."""
WOUND_BEFORE = replace(RUG, preparations=(Preparation(**OF_RED, kind=PreparationKind.BALLS, count=1),))
USED_BEFORE = replace(RUG, sessions=(*RUG.sessions, session(4, 6, used=(("red", 1.0),))))
BLUE_BOUGHT = replace(
    RUG, lots=(Lot(**{**OF_RED, "id": "b", "yarn_id": "blue", "mass_g": 500.0, "price": 25.0}),)
)


def priced(price_per_kg: float | None) -> Yarn:
    """Red as the plan would have it."""
    return replace(next(yarn for yarn in RUG.yarns if yarn.id == "red"), price_per_kg=price_per_kg)


def lot(**what: Any) -> Lot:
    return Lot(**{**OF_RED, "mass_g": 500.0, **what})


def against(value: Any, of=RUG, today: date = TODAY, held: Any = None) -> list[Against]:
    return [one.against for one in unlikely(value, of, today, held)]


@pytest.mark.parametrize(
    ("value", "of", "expected"),
    [
        (lot(mass_g=1_000_000.0), RUG, [Against.NEED]),
        (lot(mass_g=24_600.0), RUG, [Against.NEED]),
        (lot(mass_g=NEED_G + 1500), RUG, []),
        (lot(mass_g=max(4 * NEED_G, NEED_G + 2000)), RUG, [Against.NEED]),
        (lot(yarn_id="nobody", mass_g=3000.0), RUG, [Against.NOT_NEEDED]),
        (lot(price=2000.0), BOUGHT, [Against.PRICE]),
        (lot(price=0.2), BOUGHT, [Against.PRICE]),
        (lot(price=30.0), BOUGHT, []),
        # 40 a kilogram before: five times as much is asked about, and a fifth.
        (lot(price=100.0), BOUGHT, [Against.PRICE]),
        (lot(price=99.0), BOUGHT, []),
        (lot(price=4.0), BOUGHT, [Against.PRICE]),
        # Red has no price yet: blue was bought at 50 a kilogram.
        (lot(price=249.0), BLUE_BOUGHT, []),
        (lot(price=250.0), BLUE_BOUGHT, [Against.PRICE_OF_OTHERS]),
        (lot(price=2.5), BLUE_BOUGHT, [Against.PRICE_OF_OTHERS]),
        (priced(499.0), BLUE_BOUGHT, []),
        (priced(500.0), BLUE_BOUGHT, [Against.PRICE_OF_OTHERS]),
        (priced(199.0), BOUGHT, []),
        (priced(200.0), BOUGHT, [Against.PRICE]),
        (priced(None), BOUGHT, []),
        (lot(price=0.0), BOUGHT, []),
        (Weighing(**OF_RED, mass_g=50_000.0), RUG, [Against.NEED]),
        (Weighing(**OF_RED, mass_g=25_000.0), BOUGHT, [Against.BOUGHT]),
        (Weighing(**OF_RED, mass_g=250.0), BOUGHT, []),
        (Weighing(**OF_RED, mass_g=0.0), BOUGHT, []),
        # 18 of 200 rows took some 20 g of 500: an eighth of what is left are 60 g.
        (Weighing(**OF_RED, mass_g=59.0), BOUGHT, [Against.LEFT]),
        (Weighing(**OF_RED, mass_g=61.0), BOUGHT, []),
        # Of less than 60 g left nobody is asked.
        (Weighing(**OF_RED, mass_g=5.0), replace(RUG, lots=(Lot(**OF_RED, mass_g=78.0),)), []),
        (Weighing(**OF_RED, mass_g=5.0), replace(RUG, lots=(Lot(**OF_RED, mass_g=83.0),)), [Against.LEFT]),
        # Of an earlier day: what was bought since did not lie on that scale.
        (Weighing(**{**OF_RED, "day": TODAY - timedelta(days=1)}, mass_g=48.0), BOUGHT, []),
        # A light lot was told by the scale before, and nothing was bought since.
        (
            Weighing(**OF_RED, mass_g=48.0),
            replace(BOUGHT, weighings=(Weighing(**{**OF_RED, "id": "w", "mass_g": 90.0}),)),
            [],
        ),
        (Spoilt(**OF_RED, mass_g=5000.0), BOUGHT, [Against.BOUGHT]),
        (Spoilt(**OF_RED, mass_g=480.0), BOUGHT, []),
        (Spoilt(**OF_RED, mass_g=599.0), BOUGHT, []),
        (Spoilt(**OF_RED, mass_g=600.0), BOUGHT, [Against.BOUGHT]),
        (Sample(**OF_RED, knots=1, mass_g=3000.0), RUG, [Against.KNOT]),
        (Sample(**OF_RED, knots=500, mass_g=500 * KNOT_G / 8), RUG, [Against.KNOT]),
        (Sample(**OF_RED, knots=500, mass_g=500 * KNOT_G * 1.5), RUG, []),
        (Sample(**OF_RED, knots=1, mass_g=1.0), RUG, []),
        (HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=1.0, mass_g=20_000.0), BOUGHT, [Against.NEED]),
        (HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=300.0, mass_g=100.0), BOUGHT, [Against.BALLS]),
        (HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=2.0, mass_g=400.0), BOUGHT, []),
        (HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=2.0, mass_g=400.0), RUG, [Against.NEVER_BOUGHT]),
        # Balls of another yarn tell nothing of this one.
        (
            HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=2.0, mass_g=400.0),
            replace(RUG, hand_outs=(HandOut(**{**OF_RED, "id": "other", "yarn_id": "blue"}, kind=HandOutKind.GIVEN, balls=1.0, mass_g=100.0),)),
            [Against.NEVER_BOUGHT],
        ),
        (HandOut(**OF_RED, kind=HandOutKind.RETURNED, balls=2.0, mass_g=400.0), RUG, []),
        (HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=2.0, mass_g=400.0), GIVEN_BEFORE, []),
        (HandOut(**OF_RED, kind=HandOutKind.GIVEN, balls=2.0, mass_g=400.0), USED_BEFORE, []),
        (HandOut(**{**OF_RED, "id": "y"}, kind=HandOutKind.GIVEN, balls=2.0, mass_g=400.0), WOUND_BEFORE, []),
        (Preparation(**OF_RED, kind=PreparationKind.BALLS, count=5000), BOUGHT, [Against.BALLS]),
        (Preparation(**OF_RED, kind=PreparationKind.BALLS, count=4), BOUGHT, []),
        (Preparation(**OF_RED, kind=PreparationKind.BALLS, count=1), RUG, [Against.NEVER_BOUGHT]),
        (Preparation(**OF_RED, kind=PreparationKind.WARP, count=1), RUG, []),
        (Preparation(**{**OF_RED, "id": "y"}, kind=PreparationKind.BALLS, count=1), WOUND_BEFORE, []),
        (session(9, 6, 3.0, used=(("red", 1.0),)), RUG, [Against.NEVER_BOUGHT]),
        (session(9, 6, 3.0, used=(("red", 0.0),)), RUG, []),
        (session(9, 6, 3.0, used=(("red", 1.0),)), replace(RUG, sessions=(session(1, 6, used=(("red", 1.0),)),)), []),
        (Measurement(id="m", rug_id="rug", day=TODAY, row=50, length_cm=200.0), RUG, [Against.LENGTH]),
        (Measurement(id="m", rug_id="rug", day=TODAY, row=50, length_cm=2.0), RUG, [Against.LENGTH]),
        (Measurement(id="m", rug_id="rug", day=TODAY, row=50, length_cm=21.5), RUG, []),
        (Measurement(id="m", rug_id="rug", day=TODAY, row=50, length_cm=20.0, width_cm=4.0), RUG, [Against.WIDTH]),
        # A tape across the cloth goes over the selvedges: here 12 cm of them beside 40 cm of knots.
        (
            Measurement(id="m", rug_id="rug", day=TODAY, row=50, length_cm=20.0, width_cm=70.0),
            replace(RUG, plan=replace(RUG.plan, selvedge_warps=60)),
            [],
        ),
        (session(9, 6, 24.0), RUG, [Against.HOURS]),
        (session(9, 6, 0.01), RUG, [Against.HOURS]),
        (session(9, 6, 5.0), RUG, []),
        (session(9, 6, None), RUG, []),
        (session(9, 1, 1.5), RUG, []),
        (session(9, 0, 20.0), RUG, [Against.LONG_DAY]),
        (session(9, 40, 18.0), RUG, [Against.LONG_DAY]),
        (session(9, 40, 13.0), RUG, [Against.LONG_DAY]),
        (session(9, 40, 12.0), RUG, []),
        (session(9, 6, 3.0, used=(("red", 90.0),)), BOUGHT, [Against.BALLS]),
        (session(9, 6, 3.0, used=(("red", 2.0),)), BOUGHT, []),
        (session(1, 6, 24.0), book(), [Against.HOURS_BY_PLAN]),
        # Nothing but a part of a row, in a whole day's hours.
        (session(9, 0, 9.0, begun_knots=50), RUG, [Against.HOURS]),
        (session(9, 0, 1.0, begun_knots=50), RUG, []),
    ],
)  # fmt: skip
def test_a_slip_is_found_and_an_ordinary_value_is_not(value: Any, of: Any, expected: list[Against]) -> None:
    assert against(value, of) == expected
    if expected and type(value) in entry_forms.VALUES:
        asked = answer_asked_about(value, of)
        assert asked in ANSWERS[expected[0]]
        assert not asked or getattr(value, asked), "what is opened was answered"


ANSWERS = {
    Against.NEED: ("mass_g",),
    Against.NOT_NEEDED: ("mass_g",),
    Against.BOUGHT: ("mass_g",),
    Against.LEFT: ("mass_g",),
    Against.KNOT: ("mass_g",),
    Against.PRICE: ("price",),
    Against.PRICE_OF_OTHERS: ("price",),
    Against.BALLS: ("balls", "count"),
    Against.NEVER_BOUGHT: ("",),
    Against.LENGTH: ("length_cm", "left_cm", "right_cm"),
    Against.WIDTH: ("width_cm",),
}
"""Which answer of its form an entry is asked about for."""


def answer_asked_about(value: Any, of: RugBook) -> str:
    """Return the answer that is opened once somebody says that the entry is not right."""
    form = entry_forms.form_of(value)
    keys = {question.key: form.answers.get(question.key) for question in entry_forms.questions(form, of)}
    return answer_doubted(doubt_of(value, of, TODAY), keys)


def test_changing_leads_to_the_answer_that_is_off() -> None:
    measured = Measurement(id="m", rug_id="rug", day=TODAY, row=50, length_cm=20.0, right_cm=200.0)
    assert answer_asked_about(measured, RUG) == "right_cm", "the length itself is as planned"
    ordered = replace(RUG, orders=(Order(id="rug", rug_id="rug", customer="Ann", price=1000.0),))
    assert answer_asked_about(lot(price=2000.0), ordered) == "price"
    spent = Cost(id="c", rug_id="rug", day=TODAY, kind=CostKind.OTHER, amount=2000.0)
    assert answer_asked_about(spent, ordered) == "amount"


def test_a_price_is_held_against_what_was_paid_last_and_before_any_purchase_against_the_plan() -> None:
    dear = Lot(**{**OF_RED, "id": "d", "day": TODAY - timedelta(days=9), "mass_g": 500.0, "price": 200.0})
    cheap = replace(dear, id="c", day=TODAY - timedelta(days=20), price=20.0)
    # By the day, not by when it was written down: 400 a kilogram was paid last.
    for lots in ((cheap, dear), (dear, cheap)):
        bought = replace(RUG, lots=lots)
        assert [one.usual for one in unlikely(lot(price=20.0), bought, TODAY)] == [400.0]
        assert against(lot(price=999.0), bought) == []
    # Two of one day: the one entered later.
    same_day = replace(RUG, lots=(replace(dear, born=2), replace(cheap, day=dear.day, born=1)))
    assert [one.usual for one in unlikely(lot(price=20.0), same_day, TODAY)] == [400.0]
    planned = replace(RUG, yarns=tuple(replace(yarn, price_per_kg=40.0) for yarn in RUG.yarns))
    assert against(lot(price=100.0), planned) == [Against.PRICE]
    assert against(lot(price=99.0), planned) == []
    # What was paid counts before what was planned.
    assert against(lot(price=100.0), replace(planned, lots=(dear,))) == []
    # A purchase that is corrected is not held against itself.
    assert against(replace(dear, price=20.0), replace(RUG, lots=(dear,))) == []


def test_wages_and_payments_are_held_against_what_was_said_before() -> None:
    wage = Wage(id="w", rug_id="rug", basis=WageBasis.KNOTS, amount=9.0, each=1000)
    waged = replace(RUG, wages=(wage,))
    assert against(replace(wage, id="v", amount=900.0), waged) == [Against.WAGE]
    assert against(replace(wage, id="v", amount=90.0, each=10_000), waged) == []
    ordered = replace(RUG, orders=(Order(id="rug", rug_id="rug", customer="Ann", price=1000.0),))
    paid = Payment(id="p", rug_id="rug", day=TODAY, kind=PaymentKind.DEPOSIT, amount=500.0)
    assert against(paid, ordered) == []
    assert against(replace(paid, amount=50_000.0), ordered) == [Against.AGREED]
    assert against(replace(paid, amount=1099.0), ordered) == []
    # Each is little; both together are more than was agreed.
    twice = replace(ordered, payments=(paid,))
    assert against(replace(paid, id="q", amount=600.0), twice) == [Against.AGREED]
    assert against(replace(paid, amount=600.0), twice) == [], (
        "a payment that is corrected is not counted twice"
    )


def test_the_first_wage_purchase_and_spending_are_held_against_the_price_of_the_rug() -> None:
    # 100 knots across and 200 rows: 20,000 knots.
    ordered = replace(RUG, orders=(Order(id="rug", rug_id="rug", customer="Ann", price=1000.0),))
    wage = Wage(id="w", rug_id="rug", basis=WageBasis.KNOTS, amount=9.0, each=1000)
    assert against(wage, ordered) == []
    assert against(replace(wage, amount=99.0), ordered) == []
    assert against(replace(wage, amount=100.0), ordered) == [Against.RUG_PRICE]
    assert against(replace(wage, amount=100.0), RUG) == [], "nothing is known to hold it against"
    by_row = Wage(id="v", rug_id="rug", basis=WageBasis.ROWS, amount=9.0)
    waged = replace(RUG, wages=(wage,))
    assert against(by_row, waged) == [Against.WAGES_OF_RUG], "1,800 for the rug, and 180 by the wage before"
    assert against(replace(by_row, amount=8.9), waged) == []
    assert against(lot(price=1999.0), ordered) == []
    assert against(lot(price=2000.0), ordered) == [Against.RUG_PRICE]
    spent = Cost(id="c", rug_id="rug", day=TODAY, kind=CostKind.OTHER, amount=2000.0)
    assert against(spent, ordered) == [Against.RUG_PRICE]
    assert against(replace(spent, amount=500.0), ordered) == []


def test_a_price_is_held_against_the_one_before_what_is_paid_and_what_the_rug_costs() -> None:
    order = Order(id="rug", rug_id="rug", customer="Ann", price=1000.0)
    ordered = replace(RUG, orders=(order,))
    assert against(replace(order, price=10_000.0), ordered) == [Against.PRICE_BEFORE]
    assert against(replace(order, price=100.0), ordered) == [Against.PRICE_BEFORE]
    assert against(replace(order, price=1500.0), ordered) == []
    assert against(replace(order, price=1500.0), RUG) == []
    paid = Payment(id="p", rug_id="rug", day=TODAY, kind=PaymentKind.DEPOSIT, amount=500.0)
    assert against(replace(order, price=450.0), replace(ordered, payments=(paid,))) == [Against.PRICE_PAID]
    waged = replace(RUG, wages=(Wage(id="w", rug_id="rug", basis=WageBasis.KNOTS, amount=10.0, each=100),))
    assert against(replace(order, price=1000.0), waged) == [Against.PRICE_OF_COST], "2,000 of wages"
    assert against(replace(order, price=1001.0), waged) == []
    # Another field of an order whose price was called right already asks nothing.
    kept = replace(waged, orders=(order,))
    assert against(replace(order, customer="Bo"), kept, held=order) == []


def test_a_diagonal_belongs_to_the_length_and_width_that_were_measured() -> None:
    # 30 by 40 cm: 50 cm from corner to corner.
    across = Measurement(
        id="m", rug_id="rug", day=TODAY, row=75, length_cm=30.0, width_cm=40.0, rising_cm=50.0
    )
    assert against(across) == []
    for rising, falling, expected in (
        (54.0, 46.0, []),
        (60.0, None, [Against.DIAGONAL]),
        (50.0, 41.0, [Against.DIAGONAL]),
    ):
        assert against(replace(across, rising_cm=rising, falling_cm=falling)) == expected


def test_a_clock_set_back_is_noticed_on_every_entry_of_such_a_today() -> None:
    last = RUG.sessions[-1].day
    for today in (date(1970, 1, 1), date(2020, 1, 1), last - timedelta(days=2)):
        assert against(lot(day=today), today=today) == [Against.BEFORE_LAST]
        assert against(session(9, 6, day=today), today=today) == [Against.BEFORE_LAST]
    # Over a time zone the day may go back by one.
    assert against(session(9, 6, day=last - timedelta(days=1)), today=last - timedelta(days=1)) == []
    assert against(lot(day=last - timedelta(days=30))) == []


def test_a_session_before_the_rugs_first_day_is_asked_about() -> None:
    first = RUG.plan.start_day
    assert against(session(9, 6, day=first - timedelta(days=110))) == [Against.BEFORE_FIRST]
    assert against(session(9, 6, day=first)) == []
    # Who begins before the day that was planned begins today.
    early = book(plan=plan(start_day=TODAY + timedelta(days=9)))
    assert against(session(1, 6, day=TODAY), early) == []


def test_what_stood_in_a_corrected_entry_is_not_asked_about_again() -> None:
    held = lot(mass_g=50_000.0)
    assert against(replace(held, dye_lot="M-1"), held=held) == []
    assert against(replace(held, mass_g=50_000.0), held=lot()) == [Against.NEED]


def test_a_first_price_is_held_against_the_middle_of_the_other_yarns_of_its_fibre() -> None:
    red, blue, _weft = RUG.yarns
    others = [replace(blue, id=f"o{price}", price_per_kg=price) for price in (20.0, 50.0, 400.0)]
    silk = [
        replace(blue, id=f"s{price}", fibre="silk", price_per_kg=price) for price in (5000.0, 6000.0, 7000.0)
    ]
    priced_book = replace(RUG, yarns=(red, *others, *silk))
    assert [one.usual for one in unlikely(lot(price=250.0), priced_book, TODAY)] == [50.0]
    assert against(lot(price=249.0), priced_book) == []


def test_a_side_and_a_weight_off_the_loom_are_held_against_the_plan_and_against_what_was_before_washing() -> (
    None
):
    plan = replace(RUG.plan, width_cm=40.0, length_cm=80.0)
    book = replace(RUG, plan=plan)
    for field, value, expected in (
        ("finished_width_cm", 45.9, []),
        ("finished_width_cm", 46.0, [Against.FINISHED_WIDTH]),
        ("finished_width_cm", 2.0, [Against.FINISHED_WIDTH]),
        ("unwashed_length_cm", 92.0, [Against.UNWASHED_LENGTH]),
        ("finished_length_cm", 72.0, []),
        ("washed_g", 900.0, []),
    ):
        assert against(replace(plan, **{field: value}), book) == expected, (field, value)
    weighed = replace(plan, unwashed_g=1000.0)
    assert against(replace(weighed, washed_g=760.0), book) == [Against.WASHING]
    assert against(replace(weighed, washed_g=900.0), book) == []
    # What stands in the plan already is not asked about with each other change.
    narrow = replace(plan, finished_width_cm=20.0)
    assert against(replace(narrow, washed_g=900.0), replace(book, plan=narrow), held=narrow) == []
