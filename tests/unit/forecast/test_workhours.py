"""The hours of a day woven on, learnt from records whose hours are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tracker.forecast.absences import DayRecord
from tracker.forecast.workhours import HoursBelief, learn_hours

from .books import START

MONDAY = START.toordinal()


def record_of(*hours: float) -> DayRecord:
    """Woven every day from a Monday on, so many hours each."""
    spent = np.array(hours)
    return DayRecord(MONDAY, spent > 0, spent, np.zeros(spent.size, dtype=bool), np.arange(spent.size))


def learnt(*hours: float, plan_h: float = 4.0, sd: float = 0.3) -> HoursBelief:
    return learn_hours(record_of(*hours), math.log(plan_h), sd)


def test_before_the_first_evening_the_plan_is_believed():
    belief = learn_hours(None, math.log(4.0), 0.3)
    assert belief.usual == pytest.approx(4.0)
    # Single days differ by 30 % (log; no source): their mean lies half of its square above their middle.
    assert belief.mean_by_weekday == pytest.approx(np.full(7, 4.0 * math.exp(0.3**2 / 2)))
    assert belief.draw(np.array([0.2, 0.9]), np.array([-1.0, 2.0])) == pytest.approx(
        [math.log(4.0) - 0.3, math.log(4.0) + 0.6]
    )


def test_the_record_outweighs_the_plan_the_longer_it_is_and_the_plan_still_pulls():
    week, months = (learnt(*[2.0] * days).usual for days in (7, 70))
    assert 2.0 < months < week < 4.0
    assert months == pytest.approx(2.0, rel=0.03)
    for days in (7, 70):
        more = [learnt(*[2.0] * days, plan_h=plan_h).usual for plan_h in (1.0, 2.0, 4.0, 8.0)]
        assert more == sorted(more)
        assert more[0] < 2.0 < more[-1]


def test_after_a_change_of_hours_the_plan_has_a_little_say_and_more_of_it_never_means_less():
    changed = [2.0] * 70 + [5.0] * 70
    usual = [learnt(*changed, plan_h=plan_h).usual for plan_h in (0.5, 2.0, 8.0)]
    assert usual == sorted(usual)
    assert usual[-1] - usual[0] > 1e-3
    assert usual == pytest.approx([5.0] * 3, rel=0.03)


def test_since_when_a_way_has_held_is_no_matter_of_the_plan():
    # A week of long evenings, a week of short ones: whatever is planned, how far the first week still counts is told by both.
    usual = [learnt(*[4.5] * 7, *[2.5] * 7, plan_h=plan_h).usual for plan_h in (1.0, 2.0, 4.5, 12.0)]
    assert usual == sorted(usual)


def test_a_surer_plan_pulls_harder():
    assert learnt(*[2.0] * 10, sd=0.1).usual > learnt(*[2.0] * 10, sd=0.5).usual


def test_a_weekday_of_its_own_is_learnt_in_part():
    # Ten Sundays of 8 hours, all other days of 4: of twice as many, log 2, ten of eighteen parts are believed at most.
    belief = learnt(*([4.0] * 6 + [8.0]) * 10)
    assert belief.by_weekday[:6] == pytest.approx(np.zeros(6), abs=0.02)
    assert 0.05 < belief.by_weekday[6] <= math.log(2.0) * 10 / 18 + 1e-9


def test_without_hours_of_its_own_a_record_is_taken_as_it_is():
    belief = learn_hours(record_of(*[4.0] * 10), math.log(8.0), 0.3, untold=True)
    assert belief.usual == pytest.approx(4.0, rel=1e-3)


def test_steady_days_differ_less_than_uneven_ones_and_draws_lie_about_the_level():
    steady, uneven = learnt(*[4.0] * 60), learnt(*[2.0, 6.0, 4.0] * 20)
    # Believed 30 % as from six days (no source): of sixty alike little is left of it.
    assert steady.day_sd == pytest.approx(0.3 * math.sqrt(6 / 66), rel=0.05)
    assert uneven.day_sd > 2 * steady.day_sd
    even = np.linspace(0.01, 0.99, 99)
    drawn = steady.draw(even, np.zeros(99))
    assert np.exp(drawn) == pytest.approx(np.full(99, steady.usual), rel=0.2)


def test_half_days_now_and_then_bring_the_mean_down_and_long_ones_up():
    plain = learnt(*[4.0] * 70).shape
    assert learnt(*([4.0] * 6 + [1.0] + [4.0] * 4) * 6).shape < plain
    assert learnt(*([4.0] * 6 + [9.0] + [4.0] * 4) * 6).shape > plain
    # One short evening does not say how often there is one.
    assert learnt(*[4.0] * 69, 0.5).shape == pytest.approx(plain, abs=0.01)
