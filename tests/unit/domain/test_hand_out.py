"""Balls handed out: what a weaver still has by the record."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters.rugs import book, session
from tracker.domain.as_of import book_as_of
from tracker.domain.hand_out import Ended, HandOut, HandOutKind, HeldBalls, ended_balls, held_balls


def day(number: int) -> date:
    return date(2026, 11, number)


def handed(number: int, balls: float, mass_g: float, who: str | None = "ann", **changes) -> HandOut:
    fields = {
        "id": f"h{number}", "rug_id": "rug", "yarn_id": "red", "weaver_id": who, "day": day(number), "balls": balls,
        "mass_g": mass_g, "born": 100 + number,
    }  # fmt: skip
    return HandOut(**{**fields, **changes})


def back(number: int, balls: float, mass_g: float, **changes) -> HandOut:
    return handed(number, balls, mass_g, kind=HandOutKind.RETURNED, **changes)


def test_what_was_given_is_there_until_a_ball_ends() -> None:
    assert held_balls([], []) is None
    three = [handed(2, 3, 540)]
    assert held_balls(three, []) == HeldBalls(3, 540, (day(2), 102))
    ended = [Ended((day(5), 5), 1)]
    assert held_balls(three, ended) == HeldBalls(2, 360, (day(5), 5))


def test_the_ball_given_first_ends_first() -> None:
    given_twice = [handed(2, 1, 100), handed(3, 2, 400)]
    assert held_balls(given_twice, [Ended((day(4), 4), 1)]) == HeldBalls(2, 400, (day(4), 4))
    assert held_balls(given_twice, [Ended((day(4), 4), 2)]) == HeldBalls(1, 200, (day(4), 4))


def test_what_is_taken_back_is_of_the_last_ones_and_weighs_what_was_said() -> None:
    given_twice = [handed(2, 1, 100), handed(3, 2, 400)]
    assert held_balls([*given_twice, back(4, 1, 200)], []) == HeldBalls(2, 300, (day(2), 102))
    # The light ball given first is still there, and the next to end.
    ended = [Ended((day(5), 5), 1)]
    assert held_balls([*given_twice, back(4, 1, 200)], ended) == HeldBalls(1, 200, (day(5), 5))
    # A begun ball: half of it is said to be left, and it weighed 80 g.
    assert held_balls([*given_twice, back(4, 0.5, 80)], []) == HeldBalls(2.5, 420, (day(2), 102))


def test_more_ended_than_was_given_leaves_nothing_and_a_new_one_begins_anew() -> None:
    ended = [Ended((day(4), 4), 5)]
    assert held_balls([handed(2, 2, 300)], ended) == HeldBalls(0, 0, (day(4), 4))
    assert held_balls([handed(2, 2, 300), handed(6, 1, 150)], ended) == HeldBalls(1, 150, (day(6), 106))


def test_what_ended_before_anything_was_given_was_not_of_it() -> None:
    assert held_balls([handed(5, 2, 300)], [Ended((day(4), 4), 1)]) == HeldBalls(2, 300, (day(5), 105))


def used(number: int, *weavers: str, balls: float = 1):
    return session(number, 3, weavers=weavers, used=(("red", balls),))


def test_whose_ball_it_was_is_told_by_who_sat_and_who_had_any() -> None:
    both = [handed(1, 3, 540, "ann", born=0), handed(1, 3, 540, "bo", born=0)]
    evenings = [used(2, "ann"), used(3, "bo", balls=2), used(4, "ann", "bo"), used(5)]
    by_weaver, unsaid = ended_balls(evenings, both, "red")
    assert by_weaver == {"ann": [Ended((day(3), 2), 1)], "bo": [Ended((day(4), 3), 2)]}
    assert unsaid == 2
    # Of two who sat it was hers who alone had been given any.
    assert ended_balls(evenings, both[:1], "red") == (
        {"ann": [Ended((day(3), 2), 1), Ended((day(5), 4), 1), Ended((day(6), 5), 1)]}, 0,
    )  # fmt: skip
    assert ended_balls(evenings, [handed(1, 3, 540, None, born=0)], "red")[0].keys() == {None}
    assert ended_balls(evenings, [], "red") == ({}, 0)
    assert ended_balls(evenings, both, "blue") == ({}, 0)


@given(st.lists(st.tuples(st.integers(0, 2), st.integers(1, 28), st.integers(1, 5)), max_size=12))
def test_nothing_held_is_below_none_or_above_what_was_given(events) -> None:
    hand_outs, ended = [], []
    for number, (kind, when, balls) in enumerate(events):
        if kind == 0:
            hand_outs.append(handed(when, balls, 100.0 * balls, born=number))
        elif kind == 1:
            hand_outs.append(back(when, balls, 100.0 * balls, born=number))
        else:
            ended.append(Ended((day(when), number), balls))
    held = held_balls(hand_outs, ended)
    given_balls = sum(entry.balls for entry in hand_outs if entry.kind is HandOutKind.GIVEN)
    if not given_balls:
        assert held is None
        return
    assert 0 <= held.balls <= given_balls
    assert 0 <= held.mass_g <= 100.0 * given_balls + 1e-6
    # All balls weigh alike: what is taken back beyond what is there takes nothing else with it.
    assert held.mass_g == pytest.approx(100.0 * held.balls)


def test_balls_given_later_are_not_known_on_an_earlier_evening() -> None:
    rug = book(session(1, 3), hand_outs=(handed(2, 1, 100), handed(9, 1, 100)))
    assert [entry.day for entry in book_as_of(rug, day(5)).hand_outs] == [day(2)]


def test_evenings_without_an_ended_ball_and_before_the_first_hand_out_hide_none_that_follow() -> None:
    evenings = [used(1, "ann"), used(2, "ann", balls=0), session(3, 3, weavers=("ann",)), used(4, "ann")]
    given = [handed(3, 3, 540, born=0)]
    assert ended_balls(evenings, given, "red") == ({"ann": [Ended((day(5), 4), 1)]}, 0)


def test_a_ball_given_and_ended_at_one_moment_is_gone() -> None:
    given = [handed(2, 1, 100)]
    assert held_balls(given, [Ended((day(2), 102), 1)]) == HeldBalls(0, 0, (day(2), 102))


def test_two_who_both_had_balls_are_told_apart_only_where_one_of_them_sat() -> None:
    # Balls in nobody's name are of whoever sits: with hers beside them nobody knows which ended.
    both = [handed(1, 3, 540, None, born=0), handed(1, 3, 540, "bo", born=0)]
    assert ended_balls([used(2, "ann")], both, "red") == ({None: [Ended((day(3), 2), 1)]}, 0)
    assert ended_balls([used(2, "bo")], both, "red") == ({}, 1)
    assert ended_balls([used(2)], both[1:], "red") == ({"bo": [Ended((day(3), 2), 1)]}, 0)
    assert ended_balls([used(2, "ann")], both[1:], "red") == ({}, 0)


def test_taken_back_more_than_weighed_or_less_counts_against_the_others() -> None:
    # Two balls of 100 g; one comes back and weighs 120 g: the other can hold 80 g only.
    two = [handed(2, 2, 200)]
    assert held_balls([*two, back(3, 1, 120)], []).mass_g == 80
    assert held_balls([*two, back(3, 1, 250)], []).mass_g == 0
    # With new balls after all came back nothing is owed any more.
    again = [*two, back(3, 2, 150), handed(4, 1, 90)]
    assert held_balls(again, []) == HeldBalls(1, 90, (day(4), 104))
