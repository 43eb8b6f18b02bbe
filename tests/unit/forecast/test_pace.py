"""What a row costs: learnt from sessions whose true cost is known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Cartoon, RugBook, RugStage
from tracker.domain.work import pace_prior, planned_weaving_hours
from tracker.forecast import priors
from tracker.forecast.pace import (
    Observations,
    PaceFit,
    draw_pace,
    fit_pace,
    hours_to_rows,
    observe,
    taught_by,
)
from tracker.forecast.sessions import session_arrays

from .books import BOOK, PLAN, woven


def learn(book: RugBook) -> tuple[PaceFit, Observations]:
    """Fit the pace of a book on the day of its last session."""
    sessions, to_weave = session_arrays(book), rows_to_weave(book)
    observed = observe(sessions, to_weave)
    return fit_pace(
        sessions, observed, pace_prior(book.plan, to_weave.across), book.sessions[-1].day
    ), observed


def middle_hours(book: RugBook, fit: PaceFit) -> float:
    """Median hours to the last row."""
    to_weave = rows_to_weave(book)
    changes_per_knot = to_weave.changes[book.rows_woven :] / to_weave.across
    draws = draw_pace(fit, 400, np.random.default_rng(1))
    return float(
        np.median(hours_to_rows(fit, draws, changes_per_knot, np.array([changes_per_knot.size - 1])))
    )


def test_a_steady_weaver_needs_as_long_for_the_rest_as_the_record_says():
    # 40 sessions of 5 rows in 4 hours: 0.8 hours a row, 160 rows left.
    book = woven(BOOK, [5] * 40)
    fit, _seen = learn(book)
    assert middle_hours(book, fit) == pytest.approx(160 * 0.8, rel=0.05)


def test_the_cost_of_a_colour_change_is_told_apart_from_the_plain_row():
    # Rows alternate in blocks of ten: plain, and 120 changes in 240 knots. A change costs 1.3 knots here, so
    # a busy row costs 240 + 156 = 396 knots' time: 1.65 times a plain one.
    plain, busy = np.zeros(240, dtype=np.uint8), np.tile(np.array([0, 0, 1, 1], dtype=np.uint8), 60)
    cells = np.stack([plain if (row // 10) % 2 == 0 else busy for row in range(360)])
    changes = np.count_nonzero(np.diff(cells.astype(int), axis=1), axis=1)
    cartoon = Cartoon(id="c", rug_id="r", cells=cells, palette=("#a", "#b"))
    rng = np.random.default_rng(5)
    cost = (240 + 1.3 * changes) / 600.0
    hours = [float(cost[i * 5 : i * 5 + 5].sum() * np.exp(rng.normal(0, 0.05))) for i in range(40)]
    fit, _seen = learn(woven(replace(BOOK, cartoon=cartoon), [5] * 40, hours))
    weight = {cost: float(fit.weight[fit.change_knots == cost].sum()) for cost in priors.CHANGE_KNOTS}
    assert max(weight, key=lambda k: weight[k]) == 1.3
    assert weight[1.3] > 0.9


def test_a_forgotten_timer_is_marked_and_counts_for_little():
    hours: list[float | None] = [4.0] * 30
    honest, _ = learn(woven(BOOK, [5] * 30, hours))
    hours[20] = 14.0
    book = woven(BOOK, [5] * 30, hours)
    fit, observed = learn(book)
    assert observed.too_long.tolist() == [i == 20 for i in range(30)]
    assert observed.usual_hours[20] == pytest.approx(4.0, rel=0.7)
    assert middle_hours(book, fit) == pytest.approx(middle_hours(woven(BOOK, [5] * 30), honest), rel=0.03)


def test_unpicking_costs_hours_that_the_rest_will_cost_too():
    # Every tenth evening takes out five rows: 9 x 5 - 5 = 40 rows in ten evenings of 4 hours, one hour a row
    # where an untroubled row costs 0.8.
    rows = [5, 5, 5, 5, 5, 5, 5, 5, 5, -5] * 5
    book = woven(BOOK, rows)
    fit, _seen = learn(book)
    left = 360 - book.rows_woven
    # Some learning may still be ahead, so a little less is believed.
    assert left * 0.88 < middle_hours(book, fit) < left * 1.06


def test_rows_that_take_two_evenings_are_read_together():
    # 6 hours a row, and 240 knots in a row: 40 knots an hour, as planned.
    book = woven(replace(BOOK, plan=replace(PLAN, knots_per_hour=40)), [0, 1] * 25, 3.0)
    fit, _seen = learn(book)
    assert middle_hours(book, fit) == pytest.approx((360 - 25) * 6.0, rel=0.15)


def test_sessions_without_hours_leave_the_rows_a_day_as_they_are():
    book = woven(BOOK, [5] * 30, None)
    fit, observed = learn(book)
    # Hours stand in as planned (4 a day); what counts is that rows a day come out as recorded.
    assert observed.usual_hours == pytest.approx(4.0)
    assert middle_hours(book, fit) / 4.0 == pytest.approx((360 - 150) / 5.0, rel=0.1)


def test_two_at_the_loom_weave_nearly_twice_as_much():
    pair = tuple(replace(s, weavers=("a", "b"), rows=9) for s in woven(BOOK, [9] * 20).sessions)
    alone = tuple(replace(s, weavers=("a",)) for s in woven(BOOK, [5] * 40).sessions[20:])
    fit, _seen = learn(replace(BOOK, sessions=pair + alone))
    # 9 rows by two against 5 by one: 2 ** 0.85; the default power is 0.9.
    assert float(fit.weight @ fit.mean[:, 2]) == pytest.approx(math.log(9 / 5) / math.log(2), abs=0.06)


def test_the_fall_of_the_first_weeks_is_not_carried_into_the_rest():
    # Cost falls from 1.6 times to the learnt 0.8 hours a row, with 25 hours to 37 %.
    hours, spent = [], 0.0
    for _ in range(30):
        cost = 5 * 0.8 * math.exp(0.47 * math.exp(-(spent + 2.0) / 25.0))
        hours.append(cost)
        spent += cost
    book = woven(BOOK, [5] * 30, hours)
    fit, _seen = learn(book)
    flat = sum(hours) / 150 * 210
    learnt = 0.8 * 210
    assert middle_hours(book, fit) == pytest.approx(learnt, rel=0.05)
    assert abs(middle_hours(book, fit) - learnt) < abs(flat - learnt)


def test_the_fit_is_the_exact_gaussian_posterior():
    """One node of the grid against brute conditioning of the joint normal distribution of state and data."""
    book = woven(BOOK, [5, 6, 4, 5, 5, 7, 5, 6, 5, 5], [4.0, 4.5, 3.5, 4.0, 4.5, 5.0, 4.0, 4.0, 4.5, 3.5])
    sessions, to_weave = session_arrays(book), rows_to_weave(book)
    observed = observe(sessions, to_weave)
    prior = pace_prior(PLAN, 240)
    fit = fit_pace(sessions, observed, prior, book.sessions[-1].day)
    node = 7
    cost, fall, drift = fit.change_knots[node], fit.learn_hours[node], fit.drift_sd[node]
    n = observed.day.size
    today = book.sessions[-1].day.toordinal()
    times = np.append(observed.day, today)
    memory = drift**2 * np.exp(-np.abs(times[:, None] - times[None, :]) / priors.DRIFT_DAYS)
    # Unknowns: level, excess, power, and the drift on every day; data are linear in them.
    sds = np.array([prior.level_sd, prior.learn_sd, priors.TEAM_POWER_SD])
    joint = np.zeros((3 + n + 1, 3 + n + 1))
    joint[:3, :3] = np.diag(sds**2)
    joint[3:, 3:] = memory
    mean = np.concatenate([[prior.level, prior.learn, priors.TEAM_POWER], np.zeros(n + 1)])
    see = np.column_stack(
        [np.ones(n), np.exp(-observed.hours_before / fall), -observed.log_team, np.eye(n), np.zeros(n)]
    )
    noise = np.diag(observed.session_sd**2 / observed.weight + observed.variance)
    gain = joint @ see.T @ np.linalg.inv(see @ joint @ see.T + noise)
    data = observed.log_row_hours - np.log1p(cost * observed.changes_per_knot)
    after = mean + gain @ (data - see @ mean)
    spread = joint - gain @ see @ joint
    keep = [0, 1, 2, n + 3]
    assert fit.mean[node] == pytest.approx(after[keep], rel=1e-6, abs=1e-8)
    ours = fit.root[node] @ fit.root[node].T
    assert ours == pytest.approx(spread[np.ix_(keep, keep)], rel=1e-5, abs=1e-9)


def test_an_earlier_rug_of_the_same_weaver_teaches_the_pace():
    earlier = replace(woven(BOOK, [8] * 40), plan=replace(PLAN, stage=RugStage.FINISHED))  # 0.5 hours a row
    alone, taught = pace_prior(PLAN, 240), pace_prior(PLAN, 240, taught_by((earlier,)))
    changes = rows_to_weave(BOOK).changes[0] / 240  # without a cartoon some changes are assumed
    true = math.log(0.5 / (1 + changes))
    assert taught.rugs == 1
    assert abs(taught.level - true) < 0.4 * abs(alone.level - true)
    assert taught.level_sd < alone.level_sd


def test_practice_that_goes_on_paying_is_learnt_from_the_record():
    # A weaver whose rows cost 0.3 times less (log) for each e-fold of practice, from ten hours on: Wright's curve at 81 %.
    done, practised, rows = 0.0, 0.0, []
    while done < 360:
        gained = 4.0 / (0.8 * ((10.0 + practised) / 110.0) ** -0.3)
        rows.append(min(int(done + gained), 360) - int(done))
        done, practised = done + gained, practised + 4.0
    third = next(place for place in range(len(rows)) if sum(rows[:place]) >= 120)
    book = woven(replace(BOOK, plan=replace(PLAN, knots_per_hour=None)), rows[:third])
    truth = 4.0 * (len(rows) - third)
    assert truth < middle_hours(book, learn(book)[0]) < 1.18 * truth


def practising(excess: float, row_h: float = 0.5, rows: int = 8, **changes) -> RugBook:
    """A rug whose rows cost so much more (log) in its first hour, and e times less of that every 30 hours."""
    hours, before = [], 0.0
    for _evening in range(40):
        spent = rows * row_h
        for _step in range(20):
            spent = rows * row_h * math.exp(excess * math.exp(-(before + spent / 2) / 30.0))
        hours.append(spent)
        before += spent
    book = woven(BOOK, [rows] * 40, hours)
    return replace(book, sessions=tuple(replace(session, **changes) for session in book.sessions))


@pytest.mark.parametrize("excess", [0.0, 0.4])
def test_the_first_hours_of_an_earlier_rug_tell_how_much_practice_pays(excess: float):
    taught = taught_by((practising(excess),))
    assert taught.learn / taught.learn_weight == pytest.approx(excess, abs=0.04)
    changes = rows_to_weave(BOOK).changes[0] / 240
    assert taught.rate / taught.rate_weight == pytest.approx(math.log(0.5 / 240 / (1 + changes)), abs=0.03)
    # A record without a slip is as sure as rugs of one weaver differ: 13 % twice over, and 12 % (no source).
    assert taught.rate_weight == pytest.approx(1 / (2 * 0.13**2), rel=1e-3)
    assert taught.learn_weight == pytest.approx(1 / 0.12**2, rel=1e-3)


def test_two_earlier_rugs_say_it_twice_and_a_short_or_timeless_one_nothing():
    rug = practising(0.2)
    one, two = taught_by((rug,)), taught_by((rug, rug))
    assert (one.rugs, two.rugs) == (1, 2)
    assert (two.rate, two.rate_weight) == (pytest.approx(2 * one.rate), pytest.approx(2 * one.rate_weight))
    assert (two.learn, two.learn_weight) == (
        pytest.approx(2 * one.learn),
        pytest.approx(2 * one.learn_weight),
    )
    assert taught_by((practising(0.2, hours=None),)) == taught_by(())
    assert taught_by((replace(rug, sessions=rug.sessions[:7]),)).rugs == 0
    assert taught_by((replace(rug, sessions=rug.sessions[:8]),)).rugs == 1
    assert taught_by((replace(rug, sessions=rug.sessions[:7]), rug)).rugs == 1


def test_a_short_rug_woven_twice_is_planned_at_about_the_hours_that_it_took():
    # 90 rows of 60 knots in eight evenings of 4 h, the last two quicker: 88 rows in 32 h, 165 knots an hour in all. A fit of
    # level and practice by itself takes the whole way down for practice, and gave half the hours.
    small = replace(PLAN, knots_across=60, rows=90, knots_per_hour=None)
    short = woven(replace(BOOK, plan=small), [10, 8, 9, 9, 9, 9, 17, 17])
    done = replace(short, plan=replace(small, stage=RugStage.FINISHED))
    again = replace(BOOK, plan=small)
    assert planned_weaving_hours(again) < 0.5 * 32
    assert planned_weaving_hours(again, taught_by((done,))) == pytest.approx(32, rel=0.2)


def test_a_team_in_an_earlier_rug_counts_as_the_work_of_one():
    alone, two = taught_by((practising(0.2),)), taught_by((practising(0.2, weavers=("ann", "bo")),))
    # Two did the work of 2 ** 0.9 (no source): one of them needs so much longer.
    assert two.rate / two.rate_weight - alone.rate / alone.rate_weight == pytest.approx(
        0.9 * math.log(2.0), abs=1e-6
    )


def test_a_begun_row_and_unpicking_are_in_the_hours_to_come():
    book = woven(BOOK, [5] * 40)
    fit, _seen = learn(book)
    draws = draw_pace(fit, 400, np.random.default_rng(1))
    plain, ends = np.zeros(10), np.array([0, 4, 9])
    whole = hours_to_rows(fit, draws, plain, ends)
    begun = hours_to_rows(fit, draws, plain, ends, 0.75)
    assert begun[:, 0] == pytest.approx(0.25 * whole[:, 0], rel=1e-6)
    assert np.median((whole - begun) / whole[:, :1], axis=0) == pytest.approx([0.75] * 3, rel=1e-3)
    assert np.median(whole[:, 2] / whole[:, 0]) == pytest.approx(10.0, rel=0.01)
    busy = hours_to_rows(fit, draws, np.full(10, 0.5), ends)
    assert (busy > whole).all()
    # One hour in 51 is believed lost before the record says more; 160 hours with hardly a loss make it one in a hundred.
    assert 0.985 < draws.gained_share.mean() < 0.9965
