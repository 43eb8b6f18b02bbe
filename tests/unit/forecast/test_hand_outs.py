"""What a weaver still has of the balls handed out to her, and when she needs the next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.presenters.rugs import session
from tests.today import TODAY
from tests.unit.domain.test_hand_out import back, handed
from tests.unit.domain.test_sections import drawn
from tracker.domain.rug import UnpickedYarn
from tracker.domain.seats import sections_of
from tracker.domain.sections import units_between
from tracker.forecast.hand_outs import held_now
from tracker.forecast.outlook import outlook
from tracker.forecast.sections import lay_out

HALVES = (("ann", 1, 50), ("bo", 51, 100))
TOGETHER = {"weavers": ("ann", "bo"), "places": HALVES}


def rug_with(*sessions, hand_outs=(), rows: int = 40):
    """Red from side to side, the last row blue; a hundred knots wide."""
    rug = drawn([[0] * 100] * (rows - 1) + [[1] * 100])
    return replace(rug, sessions=sessions, hand_outs=tuple(hand_outs))


def held(rug, places=HALVES):
    answers = outlook(rug, TODAY)
    layout = lay_out(rug, answers, sections_of(places, 100), rug.sessions[-1].ahead if rug.sessions else ())
    return {(one.weaver_id, one.yarn_id): one for one in held_now(rug, layout)}, float(layout.g_per_knot[0])


def test_knots_tied_since_take_theirs_from_what_was_given() -> None:
    # Day 1 is 2 November; the balls are handed out on the 3rd, after that evening's rows.
    rug = rug_with(session(1, 5, **TOGETHER), session(2, 3, **TOGETHER), session(3, 4, **TOGETHER),
                   hand_outs=[handed(3, 2, 20)])  # fmt: skip
    has, each_g = held(rug)
    assert has.keys() == {("ann", "red")}
    one = has["ann", "red"]
    assert one.balls == 2
    assert one.mass_g == pytest.approx(20 - 4 * 50 * each_g)
    # So many knots lie in what is left; twelve rows are woven, fifty knots of each are hers.
    assert one.next_row == 12 + int(one.mass_g / each_g / 50) + 1


def test_a_ball_that_ended_sets_the_others_to_full() -> None:
    rug = rug_with(session(1, 5, **TOGETHER), session(2, 3, weavers=("ann",), used=(("red", 1),)),
                   session(3, 4, **TOGETHER), hand_outs=[handed(1, 3, 60)])  # fmt: skip
    has, each_g = held(rug)
    assert has["ann", "red"].balls == 2
    assert has["ann", "red"].mass_g == pytest.approx(40 - 4 * 50 * each_g)


def test_who_wove_alone_tied_the_whole_width_and_who_was_away_nothing() -> None:
    given = [handed(1, 2, 100), handed(1, 2, 100, "bo", id="b")]
    rug = rug_with(session(1, 3, weavers=("ann",)), session(2, 2, **TOGETHER), hand_outs=given)
    has, each_g = held(rug)
    assert has["ann", "red"].mass_g == pytest.approx(100 - (3 * 100 + 2 * 50) * each_g)
    assert has["bo", "red"].mass_g == pytest.approx(100 - 2 * 50 * each_g)
    # Of an evening without places only those who wove have tied: each her section as she sits now.
    without = replace(rug, sessions=(*rug.sessions, session(3, 4, weavers=("ann", "cem"))))
    has, each_g = held(without)
    assert has["ann", "red"].mass_g == pytest.approx(100 - (3 * 100 + 6 * 50) * each_g)
    assert has["bo", "red"].mass_g == pytest.approx(100 - 2 * 50 * each_g)


def test_the_height_of_a_part_that_stands_ahead_counts_once() -> None:
    ahead = session(1, 3, **TOGETHER, ahead=(("ann", 2),))
    level = session(2, 4, **TOGETHER)
    given = [handed(1, 2, 100, born=0)]
    before, each_g = held(rug_with(ahead, hand_outs=given))
    assert before["ann", "red"].mass_g == pytest.approx(100 - 5 * 50 * each_g)
    after, each_g = held(rug_with(ahead, level, hand_outs=given))
    assert after["ann", "red"].mass_g == pytest.approx(100 - 7 * 50 * each_g)


def test_what_lasts_to_the_last_row_needs_no_next_ball() -> None:
    rug = rug_with(session(1, 5, **TOGETHER), hand_outs=[handed(3, 5, 5000)])
    assert held(rug)[0]["ann", "red"].next_row is None
    spent = rug_with(session(1, 5, **TOGETHER), session(3, 5, **TOGETHER), hand_outs=[handed(2, 1, 0.1)])
    one = held(spent)[0]["ann", "red"]
    assert (one.balls, one.mass_g, one.next_row) == (1, 0, 11)


def test_what_is_taken_back_is_there_no_longer() -> None:
    rug = rug_with(session(1, 5, **TOGETHER), hand_outs=[handed(3, 2, 100), back(4, 2, 100)])
    one = held(rug)[0]["ann", "red"]
    assert (one.balls, one.mass_g) == (0, 0)


def test_unpicked_rows_give_yarn_back_only_where_the_book_says_so() -> None:
    given = [handed(1, 2, 100, born=0)]
    woven = session(1, 6, **TOGETHER)
    gone = session(2, -2, hours=1.0, **TOGETHER)
    said = replace(gone, unpicked_yarn=UnpickedYarn.SAID)
    for unpicked, rows in ((gone, 6), (said, 4)):
        has, each_g = held(rug_with(woven, unpicked, hand_outs=given))
        assert has["ann", "red"].mass_g == pytest.approx(100 - rows * 50 * each_g)


def test_balls_in_nobodys_name_are_of_the_whole_width() -> None:
    rug = rug_with(session(1, 5), session(3, 4), hand_outs=[handed(2, 2, 100, None)])
    has, each_g = held(rug, HALVES)
    assert has["", "red"].mass_g == pytest.approx(100 - 4 * 100 * each_g)
    # Once it is said who has the whole width they are hers.
    has, each_g = held(rug, (("ann", 1, 100),))
    assert has.keys() == {("ann", "red")}
    assert has["ann", "red"].mass_g == pytest.approx(100 - 4 * 100 * each_g)


def test_a_ball_of_which_nobody_said_whose_it_was_is_taken_from_nobody() -> None:
    given = [handed(1, 2, 100, born=0), handed(1, 2, 100, "bo", id="b", born=0)]
    rug = rug_with(session(1, 5, used=(("red", 1),), **TOGETHER), hand_outs=given)
    has, _each = held(rug)
    assert [one.balls for one in has.values()] == [2, 2]


@pytest.mark.parametrize("seed", range(5))
def test_all_weavers_together_tied_what_the_rug_took(seed) -> None:
    rng = np.random.default_rng(seed)
    rug = drawn(rng.integers(0, 2, (40, 100)))
    sessions = tuple(
        session(number, int(rng.integers(1, 6)), begun_knots=int(rng.integers(100)), **TOGETHER)
        for number in range(1, 5)
    )
    given = [handed(1, 3, 1000, who, id=who, born=0) for who in ("ann", "bo")]
    rug = replace(rug, sessions=sessions, hand_outs=tuple(given))
    answers = outlook(rug, TODAY)
    layout = lay_out(rug, answers, sections_of(HALVES, 100))
    used = sum(1000 - one.mass_g for one in held_now(rug, layout))
    tied = units_between(layout.to_weave.knots, 0, layout.reached)[0]
    assert used == pytest.approx(tied * layout.g_per_knot[0])
