"""What each section needs from now on: together what the rug still needs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.presenters.rugs import book, session
from tests.unit.domain.test_sections import drawn
from tracker.domain.seats import Section, sections_of
from tracker.forecast.answers import YarnWord
from tracker.forecast.outlook import outlook
from tracker.forecast.sections import day_of_row, lay_out, section_needs

TODAY = date(2026, 11, 3)
HALVES = (("ann", 1, 2), ("bo", 3, 4))


def needs_of(rug, places=HALVES, rows=float("inf"), ahead=()):
    answers = outlook(rug, TODAY)
    layout = lay_out(rug, answers, sections_of(places, rug.knots_across), ahead)
    return answers, section_needs(layout, rows)


def knots(needs) -> list[list[float]]:
    return [[round(colour.knots, 6) for colour in need.colours] for need in needs]


def test_only_rows_still_to_come_are_counted() -> None:
    # One row is woven: of the two above it ann has three red and one blue, bo none and four.
    rug = drawn([[1, 1, 1, 1], [0, 0, 1, 1], [0, 1, 1, 1]])
    answers, needs = needs_of(rug)
    assert [need.section for need in needs] == [Section("ann", 1, 2), Section("bo", 3, 4)]
    assert knots(needs) == [[3, 1], [0, 4]]
    red, blue = (next(a for a in answers.yarns if a.yarn_id == name) for name in ("red", "blue"))
    assert needs[0].colours[0].need_g == pytest.approx(red.needed_g)
    assert needs[0].colours[1].need_g == pytest.approx(blue.needed_g / 5)
    assert needs[1].colours[1].need_g == pytest.approx(blue.needed_g * 4 / 5)


def test_a_row_that_is_begun_counts_by_what_is_left_of_it() -> None:
    rug = drawn([[1, 1, 1, 1], [0, 0, 0, 0], [0, 0, 1, 1]])
    rug = replace(rug, sessions=(session(1, 1, begun_knots=1),))
    # Three quarters of two knots each, and the last row.
    assert knots(needs_of(rug)[1]) == [[3.5, 0], [1.5, 2]]


def test_for_the_next_rows_alone() -> None:
    rug = drawn([[1, 1, 1, 1], [0, 0, 0, 0], [0, 0, 1, 1], [1, 1, 1, 1]])
    assert knots(needs_of(rug, rows=2)[1]) == [[4, 0], [2, 2]]
    assert knots(needs_of(rug, rows=99)[1]) == knots(needs_of(rug)[1]) == [[4, 2], [2, 4]]


def test_a_part_that_stands_ahead_has_tied_some_of_its_need() -> None:
    rug = drawn([[1, 1, 1, 1], [0, 0, 0, 0], [0, 0, 1, 1], [1, 1, 1, 1]])
    answers, needs = needs_of(rug, ahead=(("bo", 1),))
    ahead = [[colour.ahead_g for colour in need.colours] for need in needs]
    red = next(answer for answer in answers.yarns if answer.yarn_id == "red")
    assert ahead[0] == [0, 0]
    assert ahead[1] == pytest.approx([red.needed_g * 2 / 6, 0])
    # What stands ahead is no less needed by the rug's own count.
    assert sum(need.colours[0].need_g for need in needs) == pytest.approx(red.needed_g)


def test_a_colour_that_is_done_needs_nothing_anywhere() -> None:
    rug = drawn([[0, 0, 0, 0], [1, 1, 1, 1]])
    answers, needs = needs_of(rug)
    assert next(a for a in answers.yarns if a.yarn_id == "red").word is YarnWord.DONE
    assert [need.colours[0].need_g for need in needs] == [0, 0]
    done = replace(rug, sessions=(session(1, 2),))
    assert all(colour.need_g == 0 for need in needs_of(done)[1] for colour in need.colours)


@pytest.mark.parametrize("seed", range(6))
def test_all_sections_together_need_what_the_rug_still_needs(seed) -> None:
    rng = np.random.default_rng(seed)
    rug = drawn(rng.integers(0, 2, (30, 40)))
    rug = replace(rug, sessions=(session(1, 4), session(2, 3, begun_knots=int(rng.integers(0, 40)))))
    answers, needs = needs_of(rug, (("ann", 3, 11), ("bo", 12, 39)))
    for answer in answers.yarns:
        if answer.yarn_id != "weft":
            total = sum(c.need_g for need in needs for c in need.colours if c.yarn_id == answer.yarn_id)
            assert total == pytest.approx(answer.needed_g)


def test_the_day_of_a_row_lies_between_those_the_forecast_tells() -> None:
    rug = book(*(session(number, 4) for number in range(1, 12)))
    answers = outlook(rug, date(2026, 11, 13))
    assert day_of_row(answers, answers.where.rows_woven) == answers.day
    assert day_of_row(answers, answers.where.rows) == answers.finish.middle
    days = [day_of_row(answers, row) for row in range(44, 201)]
    assert days == sorted(days)
    assert day_of_row(answers, 201) is None
    assert day_of_row(replace(answers, finish=None), 60) is None
