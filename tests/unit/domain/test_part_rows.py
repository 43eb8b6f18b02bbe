"""A session may end within a row: what is begun, gained, earned and woven by whom, each worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.domain.rugs import DAY, book_of, plan_of
from tracker.domain.costs import Ahead, earned, rug_cost
from tracker.domain.rug import Hold, RugBook, RugStage, Session, Wage, WageBasis
from tracker.domain.team import knots_in_all, knots_woven

PLAN = plan_of(knots_across=100, rows=20)
SEATS = (("ann", 1, 60), ("bo", 61, 100))


def sat(rows: int, begun: int | None = None, number: int = 1, **changes) -> Session:
    fields = {
        "id": f"s{number}",
        "rug_id": "rug",
        "day": DAY + timedelta(days=number),
        "rows": rows,
        "weavers": ("ann",),
    }
    return Session(**{**fields, "begun_knots": begun, **changes})


def rug(*sessions: Session, **plan) -> RugBook:
    return replace(book_of(replace(PLAN, **plan)), sessions=sessions)


def test_half_a_row_counts_where_it_was_tied_and_once_only() -> None:
    # 3 rows and 40 of 100 knots; then row 4 whole, row 5 and 25 knots.
    book = rug(sat(3, 40), sat(2, 25, 2))
    assert (book.rows_woven, book.knots_begun) == (5, 25)
    assert book.rows_gained == pytest.approx((3.4, 1.85))
    assert book.rows_reached == pytest.approx(5.25)


def test_who_says_nothing_of_a_begun_row_ends_with_a_whole_one() -> None:
    assert rug(sat(3, 40), sat(2, None, 2)).knots_begun == 0
    assert rug(sat(3, 40), sat(-1, None, 2)).knots_begun == 0
    # Hours, a ball or a note alone leave the row as it stood.
    assert rug(sat(3, 40), sat(0, None, 2, hours=1.0)).knots_begun == 40
    assert rug(sat(3, 40), sat(0, None, 2, used=(("red", 1.0),))).knots_begun == 40
    assert rug(sat(3, 40), sat(0, 0, 2)).knots_begun == 0


def test_a_begun_row_is_never_a_whole_one_and_none_where_no_row_is_to_come() -> None:
    assert rug(sat(3, 100)).knots_begun == 99
    assert rug(sat(20, 40)).knots_begun == 0
    assert rug(sat(3, 40), stage=RugStage.FINISHED).knots_begun == 0
    # Who weaves to a length may need more rows than the plan has.
    assert rug(sat(20, 40), hold=Hold.LENGTH).knots_begun == 40


def test_an_evening_of_half_a_row_is_weaving() -> None:
    book = rug(sat(0, 50, hours=None), sat(0, None, 2, hours=None, note="moths"))
    assert [session.id for session in book.woven_sessions] == ["s1"]


def test_the_knots_of_a_begun_row_are_the_weavers_own() -> None:
    first, second = knots_woven((sat(3, 40), sat(2, 25, 2, weavers=("bo",))), 100)
    assert first.by_weaver == (("ann", 340),)
    assert second.by_weaver == (("bo", 185),)  # 2 rows less the 40 that were there, and 25


def test_a_team_shares_a_begun_row_as_it_sits() -> None:
    (woven,) = knots_woven((sat(1, 50, places=SEATS, weavers=("ann", "bo")),), 100)
    assert woven.by_weaver == (("ann", 90), ("bo", 60))  # 60 and 40, and half of each


@given(
    st.lists(
        st.tuples(st.integers(0, 3), st.integers(0, 36) | st.none(), st.booleans()), min_size=1, max_size=8
    )
)
def test_no_knot_is_lost_or_counted_twice(evenings) -> None:
    places = (("ann", 1, 20), ("bo", 21, 37))
    sessions = tuple(
        sat(rows, begun, number, places=places if told else (), weavers=("ann", "bo") if told else ())
        for number, (rows, begun, told) in enumerate(evenings, 1)
    )
    book = rug(*sessions, knots_across=37, rows=100)
    by_weaver, unsaid = knots_in_all(sessions, 37)
    assert sum(by_weaver.values()) + unsaid == book.rows_woven * 37 + book.knots_begun


def test_half_a_row_is_paid_and_is_not_paid_again() -> None:
    wage = Wage(id="w", rug_id="rug", basis=WageBasis.ROWS, amount=10.0)
    book = replace(rug(sat(1, 50)), wages=(wage,))
    assert [float(one.amount) for one in earned(book, 2)] == [15.0]
    # 20 rows at 10 are 200 in the end, whatever is begun.
    left = Fraction(20) - Fraction(3, 2)
    cost = rug_cost(book, {}, Ahead(DAY, left, None), 2)
    assert cost.wages_at_end is not None
    assert float(cost.wages_at_end.middle) == pytest.approx(200.0, abs=0.01)
    day = replace(rug(sat(0, 50, hours=None)), wages=(replace(wage, basis=WageBasis.DAYS),))
    assert [float(one.amount) for one in earned(day, 2)] == [10.0]


def test_rows_that_two_phones_both_unpicked_leave_none_on_the_loom_and_the_next_ones_count() -> None:
    both = rug(sat(30), sat(-20, number=2), sat(-20, number=3))
    assert both.rows_woven == 0
    assert replace(both, sessions=(*both.sessions, sat(5, number=4))).rows_woven == 5
    assert rug(sat(30), sat(-20, number=2)).rows_woven == 10
