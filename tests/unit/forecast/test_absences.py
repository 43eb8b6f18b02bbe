"""Absences nobody knew of: how long they last, and how much of a year they take."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.integrate

from tracker.forecast.absences import (
    LENGTHS,
    LONGEST_SHORT,
    MEAN_SHORT_DAYS,
    Absences,
    DayRecord,
    density_of_long,
    hidden_among_entries,
    learn_absences,
    local_chance,
    longer_than,
    rest_of_long,
    usual_absences,
)

from .books import START

MONDAY = START.toordinal()


def test_short_absences_last_two_to_six_days_and_three_and_a_half_on_the_mean():
    assert LENGTHS.tolist() == [2, 3, 4, 5, 6]
    assert LONGEST_SHORT == 6
    assert pytest.approx(0.3 * 2 + 0.27 * 3 + 0.2 * 4 + 0.13 * 5 + 0.1 * 6) == MEAN_SHORT_DAYS


def test_the_mean_of_long_absences_is_the_one_that_was_asked_for():
    for excess in (3.0, 8.0, 20.0):
        mean, _error = scipy.integrate.quad(lambda days, e=excess: float(longer_than(days, e)), 0.0, np.inf)
        assert mean == pytest.approx(excess, rel=1e-6)
    assert longer_than(-3.0, 8.0) == longer_than(0.0, 8.0) == 1.0


def test_the_density_of_a_length_adds_up_to_the_chance_of_longer_ones():
    for excess in (3.0, 8.0):
        for lasted in (0.0, 5.0, 30.0):
            longer, _error = scipy.integrate.quad(
                lambda days, e=excess: float(density_of_long(days, e)), lasted, np.inf
            )
            assert longer == pytest.approx(float(longer_than(lasted, excess)), rel=1e-6)
    assert density_of_long(-3.0, 8.0) == density_of_long(0.0, 8.0)


def test_the_longer_an_absence_lasted_the_longer_it_will():
    even = np.array([0.1, 0.5, 0.9])
    for lasted in (-4.0, 0.0, 5.0, 30.0):
        rest = rest_of_long(even, np.full(3, 8.0), lasted)
        # By the law of its length: so many of those that lasted so long last so much longer.
        still = longer_than(max(lasted, 0.0) + rest, 8.0) / longer_than(lasted, 8.0)
        assert still == pytest.approx(1.0 - even)
    assert rest_of_long(even, 8.0, 30.0)[1] > rest_of_long(even, 8.0, 5.0)[1]


def test_before_there_is_a_record_a_twelfth_of_the_days_is_lost_and_a_team_loses_fewer():
    # One short absence in 80 days and one long one of 6 + 8 days in 260 (no source).
    gone = MEAN_SHORT_DAYS / 80 + 14 / 260
    assert usual_absences(1).away_share == pytest.approx(gone / (1 + gone))
    assert usual_absences(0) == usual_absences(1)
    # A team of four stands still less often, by four to the power 0.7 (no source).
    apart = 4**0.7
    assert usual_absences(4).away_share == pytest.approx(gone / apart / (1 + gone / apart))


def record_of(wove: str, off: str = "") -> DayRecord:
    """Days from a Monday on, "x" where somebody wove; "o" in `off` where the day was known to be off."""
    days = np.array([letter == "x" for letter in wove])
    known = np.array([letter == "o" for letter in off.ljust(days.size)])
    return DayRecord(MONDAY, days, days * 2.0, known & ~days, np.arange(days.size))


EVERY = np.ones(7, dtype=bool)


def learnt(wove: str, off: str = "") -> tuple[Absences, np.ndarray]:
    return learn_absences(record_of(wove, off), EVERY, usual_absences(1))


DAILY = "x" * 70


def test_a_gap_between_evenings_woven_daily_is_one_absence_of_its_length():
    usual = usual_absences(1)
    for days, shorts, longs in ((1, 0, 0), (4, 1, 0), (20, 0, 1)):
        told, here = learnt(DAILY + "." * days + DAILY)
        assert told.short_shape - usual.short_shape == pytest.approx(shorts, abs=0.15)
        assert told.long_shape - usual.long_shape == pytest.approx(longs, abs=0.15)
        assert (told.now_short, told.now_long, told.gap_days) == (0.0, 0.0, 0)
        # She was not there to weave or not; all other days count as days of exposure.
        assert here[70 : 70 + days].max() <= (0.2 if days > 1 else 1.0)
        there = 140 + float(here[70 : 70 + days].sum())
        assert told.short_days - usual.short_days == pytest.approx(there)
        assert told.long_days - usual.long_days == pytest.approx(there)


def test_the_length_of_a_long_absence_is_learnt():
    # Believed 8 days beyond six, as from two absences; one of 34 days is 28 beyond: (16 + 28) / 3.
    told, _here = learnt(DAILY + "." * 34 + DAILY)
    assert told.long_excess_days == pytest.approx(44 / 3, rel=0.02)


def test_days_known_to_be_off_are_no_absence_and_no_day_at_the_loom():
    wove = DAILY + "." * 20 + DAILY
    told, here = learnt(wove, " " * 70 + "o" * 20)
    usual = usual_absences(1)
    assert told.long_shape == pytest.approx(usual.long_shape, abs=0.01)
    assert here[70:90].tolist() == [0.0] * 20
    assert told.short_days - usual.short_days == pytest.approx(140)


def test_whoever_has_not_come_since_is_away_now():
    told, _here = learnt(DAILY + "." * 3)
    assert told.gap_days == 3
    assert told.now_short > 0.5
    assert told.now_short + told.now_long <= 1.0
    long, _here = learnt(DAILY + "." * 12)
    assert (long.gap_days, long.now_short) == (12, 0.0)
    assert long.now_long > 0.95
    # One under way has not ended: it says nothing of how often there is one.
    assert long.long_shape == usual_absences(1).long_shape


def test_the_weeks_around_say_what_the_habit_is():
    record = record_of("xx....." * 20)
    chance = local_chance(record, np.ones(record.size), EVERY)
    assert chance[70] > 0.85
    assert chance[72] < 0.15
    # In a record of one day the plan counts as one and a half (no source): (1 + 1.5 x 0.8) / (1 + 1.5).
    one = record_of("x")
    assert local_chance(one, np.ones(1), EVERY)[0] == pytest.approx(2.2 / 2.5)
    assert local_chance(one, np.ones(1), ~EVERY)[0] == pytest.approx(1.15 / 2.5)
    # Nobody is so faithful that an evening cannot be missed.
    assert 0.95 < local_chance(record_of("x" * 700), np.ones(700), EVERY).max() < 0.98


def every_day(days: int, together: int) -> DayRecord:
    """Return a record woven on every day, so many days of it entered together."""
    all_days = np.ones(days, dtype=bool)
    return DayRecord(MONDAY, all_days, np.full(days, 4.0), ~all_days, np.arange(days) // together)


def test_short_absences_among_days_entered_together_are_not_missed_twice():
    usual = usual_absences(1)

    def share_left(days: int, together: int) -> float:
        told = hidden_among_entries(usual, every_day(days, together), together)
        assert (told.long_shape, told.long_days) == (usual.long_shape, usual.long_days)
        return usual.short_days / told.short_days

    assert share_left(364, 1) == 1.0
    # In a week any of two to six days lies hidden; of three days' entries a longer one leaves a gap of its own.
    assert share_left(364, 7) == pytest.approx(80 / (364 + 80))
    assert share_left(364, 7) < 0.6 * share_left(364, 3)
    # A few weeks hold hardly one.
    assert share_left(21, 7) > 0.75
