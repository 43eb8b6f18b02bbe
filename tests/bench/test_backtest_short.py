"""The back-test in short: a few rugs, and only what a few rugs can show. The long form is `backtest.py`."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from . import backtest
from .backtest import Case, YarnCase
from .backtest_real import real_forecasts, team_spans, worked_spans
from .backtest_scores import score

RUGS = 16


@pytest.fixture(scope="module")
def simulated() -> tuple[list[Case], list[YarnCase]]:
    """Forecast a few rugs that neither tuning nor scoring uses."""
    return backtest.simulated(RUGS, 500_000, workers=1)


def test_the_simulator_knows_nothing_of_the_forecaster():
    text = (Path(__file__).parent / "backtest_world.py").read_text(encoding="utf-8")
    imports = [line for line in text.splitlines() if line.startswith(("import ", "from "))]
    assert not any("forecast" in line for line in imports)


def test_ranges_hold_about_as_often_as_they_say(simulated: tuple[list[Case], list[YarnCase]]):
    cases, _yarns = simulated
    assert len(cases) > 3 * RUGS
    eighty = np.mean([round(c.q10) <= c.truth <= round(c.q90) for c in cases])
    fifty = np.mean([round(c.q25) <= c.truth <= round(c.q75) for c in cases])
    # Four forecasts of 16 rugs that hang together: 0.80 may well come out as 0.68 or 0.95.
    assert 0.65 <= eighty <= 0.96
    assert 0.33 <= fifty <= 0.76


def test_the_middle_date_beats_the_straight_line(simulated: tuple[list[Case], list[YarnCase]]):
    cases, _yarns = simulated
    ours = np.mean([abs(c.middle - c.truth) for c in cases])
    line = np.mean([abs(c.straight - c.truth) for c in cases])
    assert ours < line


def test_the_words_about_yarn_can_be_relied_on(simulated: tuple[list[Case], list[YarnCase]]):
    _cases, yarns = simulated
    enough = [y for y in yarns if y.word == "enough"]
    short = [y for y in yarns if y.word == "short"]
    assert len(enough) > 50
    assert len(short) > 50
    assert np.mean([not y.lasts for y in enough]) <= 0.04
    assert np.mean([not y.lasts for y in short]) >= 0.85


def test_real_output_is_forecast_no_worse_than_by_a_straight_line():
    cases = real_forecasts("teams") + real_forecasts("teams", last=True)
    assert len(cases) > 100
    told = score([case.truth for case in cases], [case.drawn for case in cases])
    assert 0.70 <= told.holds_80 <= 0.95
    straight = sum(abs(case.straight - case.truth) for case in cases) / sum(case.truth for case in cases)
    assert told.error <= straight


def test_no_day_of_the_part_kept_back_is_in_the_part_that_choices_are_made_on():
    for spans, name in ((worked_spans, "day"), (team_spans, "team")):
        first, last = (
            {day if name == "day" else group for group, span in spans(kept) for day, _rows in span}
            for kept in (False, True)
        )
        assert first
        assert last
        assert not first & last
