"""Hours of practice before each row, and what a row costs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.unit.domain.rugs import book_of, pile, plan_of
from tracker.domain import defaults
from tracker.domain.taught import Taught
from tracker.domain.work import (
    PaceBelief,
    hours_before_rows,
    hours_of_rows,
    knots_an_hour,
    log_plain_row_hours,
    pace_prior,
    planned_belief,
    planned_knotting_hours,
    planned_team,
    planned_weaving_hours,
)


def two_hours_a_row(hours_woven: float) -> PaceBelief:
    """A belief that is sure of two hours for a plain row, with nothing left to learn."""
    return PaceBelief(
        chance=np.array([1.0]),
        level=np.array([math.log(2.0)]),
        change_knots=np.array([0.0]),
        excess=np.array([0.0]),
        learn_hours=np.array([30.0]),
        team_power=np.array([1.0]),
        hours_woven=hours_woven,
        gained_share=1.0,
    )


def test_before_a_row_lie_the_hours_of_the_rows_below_it_longer_where_colours_change() -> None:
    before = hours_before_rows(two_hours_a_row(10.0), np.array([0.5, 0.0, 1.0]))
    # 10 h so far; the first row takes 2 h and half as much again, the second 2 h.
    assert before.tolist() == pytest.approx([10.0, 13.0, 15.0])


def test_no_rows_take_no_time() -> None:
    assert hours_of_rows(two_hours_a_row(0.0), np.array([])) == 0.0
    assert hours_of_rows(two_hours_a_row(0.0), np.array([0.0, 0.0])) == pytest.approx(4.0)


def test_a_planned_team_lacks_a_hand_one_month_in_three_and_one_weaver_never() -> None:
    assert planned_team(0) == planned_team(1) == (1.0,)
    assert planned_team(3) == (3.0, 2.0, 3.0)


def test_the_plans_rate_is_believed_until_earlier_rugs_say_another() -> None:
    named = plan_of(knots_per_hour=500.0)
    assert knots_an_hour(named) == pytest.approx(500.0)
    # 6,000 knots in a day of 8 hours, about the middle of what is published (see defaults.py).
    assert knots_an_hour(plan_of()) == pytest.approx(750.0)
    assert log_plain_row_hours(named, 1000.0) == pytest.approx(math.log(2.0))
    assert log_plain_row_hours(named, 0.0) == pytest.approx(math.log(1 / 500))
    # Rugs that were knotted at 1,000 an hour, as sure as the plan's word is: the middle of both, in ratios.
    plan_weight = 0.23**-2
    taught = Taught(rate=-math.log(1000.0) * plan_weight, rate_weight=plan_weight, rugs=1)
    assert knots_an_hour(named, taught) == pytest.approx(math.sqrt(500.0 * 1000.0))
    # The usual rate is held less firmly than one that was named.
    assert knots_an_hour(plan_of(), taught) > math.sqrt(750.0 * 1000.0)


def test_the_more_earlier_rugs_say_the_surer_the_pace_is() -> None:
    rug = plan_of(knots_per_hour=500.0)
    alone = pace_prior(rug, 400.0)
    # Spreads from defaults.py: 23 % of the named rate, 22 of the learning; our choice and Wright's curve, from memory.
    assert (alone.level_sd, alone.learn_sd, alone.learn, alone.rugs) == (
        pytest.approx(0.23), pytest.approx(0.22), pytest.approx(0.25), 0,
    )  # fmt: skip
    assert pace_prior(plan_of(), 400.0).level_sd == pytest.approx(0.40)
    as_sure = Taught(rate=0.0, rate_weight=0.23**-2, learn=0.45 * 0.22**-2, learn_weight=0.22**-2, rugs=3)
    told = pace_prior(rug, 400.0, as_sure)
    assert told.level_sd == pytest.approx(0.23 / math.sqrt(2))
    assert (told.learn, told.learn_sd) == (pytest.approx(0.35), pytest.approx(0.22 / math.sqrt(2)))
    assert told.rugs == 3


def test_a_quicker_rate_smaller_team_or_busier_row_changes_the_hours_as_it_should() -> None:
    rug = plan_of(knots_across=100, rows=50, knots_per_hour=500.0)
    book = book_of(rug)

    def hours(**changes) -> float:
        return planned_weaving_hours(book_of(plan_of(knots_across=100, rows=50, **changes)))

    assert planned_knotting_hours(book) == pytest.approx(10.0)
    assert planned_knotting_hours(replace(book, yarns=(pile(1), pile(2)))) == pytest.approx(10.0)
    alone = planned_weaving_hours(book)
    # 5,000 knots at 500 an hour are ten hours; the first rows take a quarter more, one hour in 51 is lost.
    assert 10.0 * 51 / 50 < alone < 10.0 * 1.3 * 51 / 50
    assert hours(knots_per_hour=1000.0) == pytest.approx(alone / 2, rel=0.02)
    # Three at the loom, one month in three two of them, each team of n does the work of n ** 0.9 (no source).
    assert hours(knots_per_hour=500.0, weavers_planned=3) == pytest.approx(
        alone / ((2 * 3**0.9 + 2**0.9) / 3)
    )
    busy = planned_weaving_hours(replace(book, yarns=(pile(1), pile(2), pile(3))))
    # Four changes for each colour beyond the first, each worth about a knot: some 8 knots more in 100.
    assert 1.05 < busy / alone < 1.10


def test_a_begun_row_has_its_rest_to_go_and_practice_counts() -> None:
    plain = np.zeros(10)
    assert hours_of_rows(two_hours_a_row(0.0), plain, begun=0.75) == pytest.approx(18.5)
    assert hours_of_rows(two_hours_a_row(0.0), plain, (2.0, 4.0)) == pytest.approx(20.0 / 3.0)
    half_lost = replace(two_hours_a_row(0.0), gained_share=0.5)
    assert hours_of_rows(half_lost, plain) == pytest.approx(40.0)
    dear = replace(two_hours_a_row(0.0), change_knots=np.array([3.0]))
    assert hours_of_rows(dear, np.full(10, 0.5)) == pytest.approx(50.0)
    # Half as long again in the first hour, e times less of that every 30 hours.
    slow = replace(two_hours_a_row(0.0), excess=np.array([math.log(1.5)]))
    one = np.zeros(1)
    assert hours_of_rows(slow, one) == pytest.approx(3.0)
    practised = replace(slow, hours_woven=30.0)
    assert hours_of_rows(practised, one) == pytest.approx(2.0 * 1.5 ** math.exp(-1.0))


def test_what_is_believed_beforehand_is_a_whole_and_names_its_odds() -> None:
    belief = planned_belief(plan_of(knots_per_hour=500.0), 500.0)
    assert belief.chance.sum() == pytest.approx(1.0)
    assert belief.chance.size == len(defaults.CHANGE_KNOTS) * len(defaults.LEARN_HOURS)
    assert np.allclose(belief.level, 0.0)
    assert (belief.hours_woven, belief.gained_share) == (0.0, pytest.approx(50 / 51))
    # A slow fall of the practice is a smaller one.
    slow = belief.learn_hours == 250.0
    assert np.allclose(belief.excess[slow], 0.25 * 0.75)
    assert np.allclose(belief.excess[~slow], 0.25)
    assert float(belief.chance[slow].sum()) == pytest.approx(0.5)
    assert float(belief.chance[belief.change_knots == 0.7].sum()) == pytest.approx(0.35)
