"""The worlds nobody tuned for, in short: they know nothing of the forecaster, the scores are right, the dates are sane."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from .backtest_floor import Learner, cases_of
from .backtest_scores import DayForecast, crps, line_with_its_errors, pinball, reliability, score
from .backtest_worlds import CHECKS, DRAW, forecasts, wrong_weekdays
from .general_forecaster import general_days
from .worlds.common import finish_days, first_rug


def test_no_world_knows_the_forecaster():
    for path in (Path(__file__).parent / "worlds").glob("*.py"):
        lines = path.read_text(encoding="utf-8").splitlines()
        assert not any("forecast" in line for line in lines if line.lstrip().startswith(("import ", "from ")))


def test_the_crps_is_that_worked_by_hand():
    # Draws 0 and 2, truth 1: mean distance 1; the draws are 0, 2, 2, 0 apart: half of their mean is 0.5.
    assert crps(np.array([0.0, 2.0]), 1.0) == pytest.approx(0.5)
    assert crps(np.array([5.0]), 3.0) == pytest.approx(2.0)


def test_the_pinball_loss_is_that_worked_by_hand():
    # Every quantile is 4, the truth 6: the losses are 2 x (0.1, 0.25, 0.5, 0.75, 0.9), their mean 1.
    assert pinball(np.full(9, 4.0), 6.0) == pytest.approx(1.0)


def test_bias_and_tails_have_their_signs():
    late = score([10.0, 10.0], [np.array([14.0, 15.0, 16.0])] * 2)
    assert (late.bias, late.before, late.after) == (0.5, 1.0, 0.0)


def test_the_line_with_its_errors_never_sees_its_own():
    cases = [DayForecast("w", n, 0.5, truth, np.zeros(1), 10.0) for n, truth in enumerate((10.0, 20.0, 30.0))]
    assert [d.tolist() for d in line_with_its_errors(cases)] == [[20.0, 30.0], [10.0, 30.0], [10.0, 20.0]]


def test_what_is_said_is_counted_where_it_is_said():
    sure = DayForecast("w", 1, 0.5, 100.0, np.full(10, 1.0), 10.0)  # sure of tomorrow, and wrong
    assert [row for row in reliability([sure]) if row[1]] == [(10, 7, 0.0)]


@pytest.mark.parametrize("world", list(DRAW))
def test_a_rug_is_woven_to_its_last_row_on_its_last_day(world: str):
    for seed in range(300_000, 300_005):
        rug = DRAW[world](seed, CHECKS)
        book = rug.book
        assert book.rows_woven == book.plan.rows
        assert book.sessions[-1].day.toordinal() == rug.finish
        assert all(state.day <= rug.finish for state in rug.states.values())


@pytest.mark.parametrize("world", list(DRAW))
def test_a_weavers_first_rug_was_done_before_the_second_was_begun(world: str):
    drawn = [(rug, first_rug(rug)) for rug in (DRAW[world](seed, ()) for seed in range(300_000, 300_004))]
    pairs = [(rug.book, first) for rug, first in drawn if first is not None]
    assert len(pairs) > 1
    for book, first in pairs:
        assert first.rows_woven == first.plan.rows
        assert first.sessions[-1].day < book.sessions[0].day
        assert first.plan.weekdays == book.plan.weekdays


@pytest.mark.parametrize("world", ["valley", "camp", "coast"])
def test_the_all_knowing_is_right_about_as_often_as_it_says_where_nothing_was_tuned(world: str):
    # No forecast of ours is made here: these worlds were held back.
    drawn = [DRAW[world](seed, (0.25,)) for seed in range(300_000, 300_040)]
    told = score(
        [rug.finish - rug.states[0.25].day for rug in drawn],
        [np.sort(finish_days(rug.life, rug.needed, rug.states[0.25], 80, rug.seed)) for rug in drawn],
    )
    assert 0.6 <= told.holds_80 <= 0.95  # of 40, three standard errors about 0.8
    assert abs(told.bias) < 0.1


@pytest.mark.parametrize("world", ["village", "workshop"])
def test_dates_hold_about_as_often_as_they_say(world: str):
    cases = forecasts(world, 12, 300_000, known=False)
    assert len(cases) > 40
    told = score([c.truth for c in cases], [c.drawn for c in cases])
    # A dozen rugs whose four forecasts hang together: wide limits.
    assert 0.55 <= told.holds_80 <= 0.98
    assert abs(told.bias) < 0.25


def test_the_wrong_weekdays_are_wrong_and_the_hours_of_a_day_stay():
    book = DRAW["household"](300_000, ()).book
    plan, woven = wrong_weekdays(book).plan, {session.day.weekday() for session in book.sessions}
    assert len(woven - set(plan.weekdays)) == 2
    before = book.plan.hours_per_week / len(book.plan.weekdays)
    assert plan.hours_per_week / len(plan.weekdays) == pytest.approx(before)


@pytest.mark.slow
def test_the_general_forecaster_goes_on_as_it_went():
    # Seven rows a week, on Mondays to Fridays with a little more on Fridays: 140 rows are left, twenty weeks.
    book = DRAW["household"](300_000, ()).book
    start = date(2026, 1, 5)
    days = [start + timedelta(days=d) for d in range(70) if d % 7 < 5]
    sessions = tuple(
        replace(book.sessions[0], id=f"s{place}", day=day, rows=3 if day.weekday() == 4 else 1)
        for place, day in enumerate(days)
    )
    drawn = general_days(replace(book, sessions=sessions), start + timedelta(days=69), 210, 140.0, 1)
    assert drawn is not None
    assert np.median(drawn) == pytest.approx(140, abs=4)


def test_the_learner_of_a_world_finds_what_is_there_and_nothing_where_nothing_is():
    rng = np.random.default_rng(5)
    x = rng.standard_normal((400, 6))
    x[:, 0] = 0.25  # the share of the rug
    luck, rug = 0.2 * rng.standard_normal(400), np.arange(400)
    taught, asked = slice(0, 300), slice(300, 400)

    def rest(off: np.ndarray) -> np.ndarray:
        told = Learner(x[taught], off[taught], rug[taught]).tell(x[asked])
        return off[asked] - np.median(told, axis=1)

    assert rest(0.5 * x[:, 1] + luck).std() < 0.3  # 0.54 unlearnt, 0.2 at best
    assert rest(luck).std() < 1.05 * luck[asked].std()


def test_a_floor_is_laid_under_what_a_phone_knows_on_that_evening():
    ((case, known), *_others) = cases_of("camp", [300_000])
    assert case.truth > 0
    assert known["stand share"] == 0.1
    assert np.isfinite(list(known.values())).all()
