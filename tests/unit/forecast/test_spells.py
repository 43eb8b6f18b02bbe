"""Days woven on that come in spells: learnt from records whose spells are known, drawn as learnt."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from tracker.forecast import calendar, priors, spells
from tracker.forecast.absences import DayRecord
from tracker.forecast.spells import SPREADS, Spells, going_on, learn_spells, score_of
from tracker.forecast.stats import normal_below

MONDAY = date(2026, 1, 5).toordinal()
HALF = np.full(7, 0.5)


def record_of(wove: np.ndarray, entry: np.ndarray | None = None) -> DayRecord:
    """Return the record of days woven on or not from a Monday on."""
    none = np.zeros(wove.size, dtype=bool)
    days = np.arange(wove.size) if entry is None else entry
    return DayRecord(MONDAY, wove.astype(bool), 3.0 * wove, none, days)


def learnt(wove: np.ndarray, usual: np.ndarray = HALF, weeks: float = 99.0) -> Spells:
    """Learn from such a record of a weaver who was always there."""
    return learn_spells(record_of(wove), np.ones(wove.size), usual, weeks)


def mean_spread(told: Spells) -> float:
    """Return the spread between weeks that is believed in the mean."""
    return float(told.chance @ SPREADS)


def drawn(told: Spells, chance: float, weeks: int = 12) -> np.ndarray:
    """Draw days woven on at an even chance, bool (4000, days)."""
    rng = np.random.default_rng(3)
    own = rng.standard_normal((4000, 7 * weeks), dtype=np.float32)
    near = going_on(rng.standard_normal((4000, 7 * weeks + 16), dtype=np.float32))
    spread, standing = told.weeks(weeks, 4000, 1)
    below = score_of(np.full(4000, chance)) * np.hypot(1.0, spread)
    luck = told.luck(own, near, 1).reshape(4000, weeks, 7)
    return (luck < (below[:, None] + standing)[:, :, None]).reshape(4000, -1)


USUAL = learn_spells(None, None, HALF, 0.0)


def test_before_any_record_the_spread_is_the_believed_one():
    assert USUAL.chance.tolist() == list(priors.SPELL_SPREADS_CHANCE)
    assert (USUAL.follows, USUAL.last_luck) == (0.0, 0.0)


def test_months_that_differ_are_told_from_chance():
    rng = np.random.default_rng(1)
    even = (rng.random(224) < 0.5).astype(float)
    months = (rng.random(224) < np.repeat([0.9, 0.15] * 4, 28)).astype(float)
    assert mean_spread(learnt(even)) < mean_spread(USUAL) < mean_spread(learnt(months))
    assert learnt(months).chance[SPREADS >= 0.6].sum() > 0.9


def test_a_good_month_today_is_told_from_a_bad_one():
    rng = np.random.default_rng(1)
    good = (rng.random(224) < np.repeat([0.15, 0.9] * 4, 28)).astype(float)
    told, turned = learnt(good), learnt(good[::-1])
    assert (told.now[1:] > 0.5).all()
    assert (turned.now[1:] < -0.5).all()


def test_what_was_before_the_present_habit_says_nothing():
    rng = np.random.default_rng(1)
    old, new = rng.random(112) < 0.05, rng.random(56) < 0.5
    whole, alone = learnt(np.append(old, new).astype(float), weeks=8.0), learnt(new.astype(float))
    assert whole.chance == pytest.approx(alone.chance, abs=0.03)  # the first day of a record is left out
    assert mean_spread(learnt(np.append(old, new).astype(float))) > mean_spread(whole)


def test_who_never_missed_a_day_has_a_habit_and_no_luck():
    told = learnt(np.ones(84), np.full(7, 0.95))
    assert mean_spread(told) < mean_spread(USUAL) + 0.06
    assert np.abs(told.now).max() < 0.3


@pytest.mark.parametrize("run", [3, 4])
def test_days_that_go_on_for_a_few_days_are_told_from_chance(run: int):
    rng = np.random.default_rng(2)
    runs = np.repeat(rng.random(200 // run) < 0.5, run).astype(float)
    even = (rng.random(200) < 0.5).astype(float)
    assert learnt(runs).follows > 0.1
    assert abs(learnt(even).follows) < 0.06
    assert learnt(runs).follows_sd < priors.FOLLOWS_SD


def test_months_that_differ_are_no_days_that_go_on():
    rng = np.random.default_rng(2)
    months = (rng.random(448) < np.repeat([0.9, 0.1] * 8, 28)).astype(float)
    assert learnt(months).follows < 0.35


def test_a_day_woven_on_had_good_luck_and_one_missed_bad_luck():
    # Of an even chance: half of a standard normal law has its mean at 0.798 of a standard deviation.
    record = np.tile([1.0, 0.0], 20)
    assert learnt(record).last_luck == pytest.approx(0.798, abs=0.005)
    assert learnt(record[:-1]).last_luck == pytest.approx(-0.798, abs=0.005)
    away = np.append(np.ones(39), 0.0)
    assert learn_spells(record_of(record), away, HALF, 99.0).last_luck == 0.0


def test_days_of_one_entry_say_nothing_of_spells():
    wove = np.tile([1.0] * 5 + [0.0] * 2, 12)
    weekly = learn_spells(record_of(wove, np.arange(84) // 7), np.ones(84), HALF, 99.0)
    assert weekly.chance == pytest.approx(np.array(priors.SPELL_SPREADS_CHANCE))
    assert (weekly.follows, weekly.follows_sd) == (0.0, priors.FOLLOWS_SD)


@pytest.mark.parametrize("days", [1, 2, 5, 6, 9, 40])
def test_a_record_of_few_days_is_taken_as_it_is(days: int):
    told = learnt(np.ones(days))
    assert told.chance.sum() == pytest.approx(1.0)
    assert np.isfinite([*told.now, *told.now_sd, told.follows, told.last_luck]).all()


@pytest.mark.parametrize("chance", [0.3, 0.5, 0.9])
@pytest.mark.parametrize("kind", range(4))
def test_spells_leave_the_chance_of_a_day_as_it_is(chance: float, kind: int):
    told = Spells(np.eye(4)[kind], np.zeros(4), np.ones(4), 0.3, 0.0, 0.0)
    assert drawn(told, chance).mean() == pytest.approx(chance, abs=0.015)


@pytest.mark.parametrize("futures", [400, 401])
def test_the_draws_by_themselves_make_weeks_neither_good_nor_bad(futures: int):
    spread, standing = USUAL.weeks(30, futures, 20260101)
    assert np.bincount(np.searchsorted(SPREADS, spread)) / futures == pytest.approx(USUAL.chance, abs=0.01)
    assert standing.mean(axis=0) == pytest.approx([0.0] * 30, abs=0.01 if futures % 2 else 1e-6)


def test_weeks_drawn_differ_as_far_as_learnt():
    plain, wide = (Spells(np.eye(4)[kind], np.zeros(4), np.ones(4), 0.0, 0.0, 0.0) for kind in (0, 3))
    by_chance, more = (drawn(told, 0.5).reshape(4000, 12, 7).sum(axis=2).var() for told in (plain, wide))
    assert by_chance == pytest.approx(7 * 0.25, rel=0.03)
    assert more > 2.5 * by_chance


def test_days_drawn_go_on_as_far_as_learnt():
    told = Spells(np.eye(4)[0], np.zeros(4), np.ones(4), 0.36, 0.0, 0.0)
    wove = drawn(told, 0.5) - 0.5
    seen = [float((wove[:, apart:] * wove[:, :-apart]).mean() * 4.0) for apart in (1, 2)]
    # Two days' luck of correlation r is seen as 2 asin(r) / pi (Sheppard; from memory); it fades by 0.6 a day.
    assert seen == pytest.approx([2 * np.arcsin(r) / np.pi for r in (0.36, 0.36 * 0.6)], abs=0.02)


def test_todays_luck_goes_on_into_tomorrow_and_is_gone_in_a_fortnight():
    even = Spells(np.eye(4)[0], np.zeros(4), np.ones(4), 0.36, 0.0, 0.0)
    good = Spells(np.eye(4)[0], np.zeros(4), np.ones(4), 0.36, 0.0, -0.8)
    more = drawn(good, 0.5).mean(axis=0) - drawn(even, 0.5).mean(axis=0)
    assert 0.05 < more[0] < 0.2
    assert more[0] > more[1] > more[2] > 0
    assert more[14:].tolist() == [0.0] * 70


def test_days_too_far_off_to_hang_together_are_drawn_one_by_one():
    rng = np.random.default_rng(3)
    own = rng.standard_normal((4000, 70), dtype=np.float32)
    near = going_on(rng.standard_normal((4000, 21 + 16), dtype=np.float32))
    luck = Spells(np.eye(4)[0], np.zeros(4), np.ones(4), 0.36, 0.0, 0.0).luck(own, near, 1)
    soon, later = (float((part[:, 1:] * part[:, :-1]).mean()) for part in (luck[:, :21], luck[:, 21:]))
    assert (soon, later) == pytest.approx((0.36, 0.0), abs=0.015)
    assert luck.std(axis=0) == pytest.approx([1.0] * 70, abs=0.06)


def test_a_good_week_today_fades():
    told = Spells(np.eye(4)[2], np.full(4, 1.5), np.zeros(4), 0.0, 0.0, 0.0)
    by_week = drawn(told, 0.5, 40).reshape(4000, 40, 7).mean(axis=(0, 2))
    assert by_week[0] > 0.65
    assert by_week[0] > by_week[4] > by_week[12]
    assert by_week[-8:].mean() == pytest.approx(0.5, abs=0.02)


def test_scores_are_those_of_the_normal_law():
    chance = np.array([0.001, 0.1, 0.5, 0.77, 0.999])
    assert normal_below(score_of(chance)) == pytest.approx(chance, abs=1e-5)


def test_what_is_drawn_for_the_weeks_to_come_does_not_hang_on_how_many_they_are() -> None:
    """A rug comes nearer to its end week by week: its draws stay what they were, and are remembered once."""
    for draws in (spells._wander, calendar._season):
        longest = draws(70, 40, 7)
        remembered = (spells._wander_drawn, calendar._season_drawn)
        for cached in remembered:
            cached.cache_clear()
        for weeks in range(65, 71):
            assert (draws(weeks, 40, 7) == longest[:, :weeks]).all()
        assert sum(cached.cache_info().currsize for cached in remembered) == 1
