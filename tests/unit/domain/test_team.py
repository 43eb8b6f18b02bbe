"""Who sits where across the width, and the knots each one wove; every number is worked out by hand."""

from datetime import date
from functools import reduce

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import team
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Session, begun_after

ANN_AND_BO = (("ann", 1, 60), ("bo", 61, 100))


def sat(rows: int, **changes) -> Session:
    fields = {"id": "s", "rug_id": "r", "day": date(2026, 3, 2), "rows": rows, "weavers": ("ann", "bo")}
    return Session(**{**fields, **changes})


def test_a_width_is_shared_evenly_in_the_order_they_sit() -> None:
    assert team.share_evenly(("bo", "ann"), 100) == (("bo", 1, 50), ("ann", 51, 100))
    # 100 = 3 x 33 + 1: the first from the left has the knot that is left over.
    assert team.share_evenly(("a", "b", "c"), 100) == (("a", 1, 34), ("b", 35, 67), ("c", 68, 100))
    # 11 = 3 x 3 + 2: the first two have one more.
    assert team.share_evenly(("a", "b", "c"), 11) == (("a", 1, 4), ("b", 5, 8), ("c", 9, 11))


def test_more_weavers_than_knots_cannot_share() -> None:
    with pytest.raises(BadEntry, match="3 weavers cannot share 2 knots"):
        team.share_evenly(("a", "b", "c"), 2)


@given(st.integers(1, 12), st.integers(12, 2000))
def test_an_even_share_covers_the_whole_width_and_nobody_has_two_knots_more(weavers: int, knots: int) -> None:
    places = team.share_evenly([str(one) for one in range(weavers)], knots)
    team.check_places(places, knots)
    assert team.gaps(places, knots) == ()
    sizes = [team.knots_of(place) for place in places]
    assert sum(sizes) == knots
    assert max(sizes) - min(sizes) <= 1


def test_a_stretch_without_a_weaver_is_told() -> None:
    assert team.gaps(ANN_AND_BO, 100) == ()
    assert team.gaps((("ann", 3, 60), ("bo", 65, 90)), 100) == ((1, 2), (61, 64), (91, 100))
    team.check_places((("ann", 3, 60), ("bo", 65, 90)), 100)


@pytest.mark.parametrize(
    ("places", "why"),
    [
        ((("ann", 1, 60), ("bo", 60, 100)), "overlap"),
        ((("bo", 61, 100), ("ann", 1, 60)), "overlap"),
        ((("ann", 0, 60),), "100 knots wide"),
        ((("ann", 1, 101),), "100 knots wide"),
        ((("ann", 60, 59),), "100 knots wide"),
        ((("ann", 1, 10), ("ann", 11, 20)), "two places"),
    ],
)
def test_places_that_cannot_be_are_refused(places, why: str) -> None:
    with pytest.raises(BadEntry, match=why):
        team.check_places(places, 100)
    assert not team.sound(places, 100)


def test_no_places_are_no_fault_and_say_nothing() -> None:
    team.check_places((), 100)
    assert not team.sound((), 100)
    assert team.sound(ANN_AND_BO, 100)


def test_a_border_moves_for_both_neighbours() -> None:
    assert team.with_border(ANN_AND_BO, 0, 70) == (("ann", 1, 70), ("bo", 71, 100))
    three = (("a", 1, 10), ("b", 11, 20), ("c", 21, 30))
    assert team.with_border(three, 1, 15) == (("a", 1, 10), ("b", 11, 15), ("c", 16, 30))


def test_a_border_leaves_each_neighbour_a_knot() -> None:
    assert team.with_border(ANN_AND_BO, 0, 100) == (("ann", 1, 99), ("bo", 100, 100))
    assert team.with_border(ANN_AND_BO, 0, -5) == (("ann", 1, 1), ("bo", 2, 100))


def test_moving_a_border_closes_a_gap_there() -> None:
    assert team.with_border((("ann", 1, 50), ("bo", 61, 100)), 0, 55) == (("ann", 1, 55), ("bo", 56, 100))


def test_neighbours_who_change_seats_keep_their_number_of_knots() -> None:
    # Bo's 40 knots come first, then Ann's 60.
    assert team.with_neighbours_changed(ANN_AND_BO, 0) == (("bo", 1, 40), ("ann", 41, 100))
    # With 4 knots of nobody between them: 20 of Bo, the 4, then 10 of Ann.
    gapped = (("ann", 1, 10), ("bo", 15, 34))
    assert team.with_neighbours_changed(gapped, 0) == (("bo", 1, 20), ("ann", 25, 34))
    # Of three the two at the right change: who sits at the left has nothing to do with it.
    three = (("cy", 1, 10), ("ann", 11, 40), ("bo", 41, 60))
    assert team.with_neighbours_changed(three, 1) == (("cy", 1, 10), ("bo", 11, 30), ("ann", 31, 60))


def test_each_weaver_wove_rows_times_her_own_knots() -> None:
    (woven,) = team.knots_woven([sat(4, places=ANN_AND_BO)], 100)
    # 4 x 60 and 4 x 40.
    assert dict(woven.by_weaver) == {"ann": 240, "bo": 160}
    assert woven.unsaid == 0


def test_who_stands_ahead_wove_more_then_and_less_when_the_others_catch_up() -> None:
    sessions = [
        sat(4, places=ANN_AND_BO, ahead=(("bo", 3),)),
        sat(5, places=ANN_AND_BO, ahead=(("bo", 1),)),
        sat(2, places=ANN_AND_BO),
    ]
    first, second, third = team.knots_woven(sessions, 100)
    assert dict(first.by_weaver) == {"ann": 4 * 60, "bo": 4 * 40 + 3 * 40}
    assert dict(second.by_weaver) == {"ann": 5 * 60, "bo": 5 * 40 + (1 - 3) * 40}
    assert dict(third.by_weaver) == {"ann": 2 * 60, "bo": 2 * 40 - 1 * 40}
    # All 11 rows are level in the end: 11 x 60, 11 x 40.
    assert team.knots_in_all(sessions, 100) == ({"ann": 660, "bo": 440}, 0)


def test_a_part_that_stood_ahead_stays_hers_when_the_places_change() -> None:
    sessions = [
        sat(0, places=ANN_AND_BO, ahead=(("bo", 2),)),
        sat(2, places=(("ann", 1, 50), ("bo", 51, 100))),
    ]
    # First Bo alone: 2 x 40. Then Ann ties 2 x 50; Bo ties only knots 51 to 60 of both rows, 2 x 10.
    assert team.knots_in_all(sessions, 100) == ({"ann": 100, "bo": 80 + 20}, 0)


def test_who_sits_alone_wove_the_whole_width() -> None:
    assert team.knots_in_all([sat(3, weavers=("ann",))], 100) == ({"ann": 300}, 0)


def test_knots_of_a_team_whose_places_nobody_said_are_nobodys() -> None:
    assert team.knots_in_all([sat(3), sat(2, weavers=())], 100) == ({}, 500)


def test_knots_in_a_gap_are_nobodys() -> None:
    # Knots 91 to 100 of 3 rows.
    (woven,) = team.knots_woven([sat(3, places=(("ann", 1, 60), ("bo", 61, 90)))], 100)
    assert (dict(woven.by_weaver), woven.unsaid) == ({"ann": 180, "bo": 90}, 30)


def test_unpicked_rows_are_taken_from_those_who_tied_them() -> None:
    sessions = [
        sat(2, weavers=("cy",)),
        sat(3, places=ANN_AND_BO),
        sat(-4, weavers=("cy",)),
        sat(-1, weavers=()),
    ]
    first, both, by_cy, by_nobody = team.knots_woven(sessions, 100)
    # The three rows of Ann and Bo come out, and both of Cy's.
    assert (dict(both.by_weaver), both.unsaid) == ({"ann": 0, "bo": 0}, 0)
    assert (dict(first.by_weaver), first.unsaid) == ({"cy": 0}, 0)
    assert (dict(by_cy.by_weaver), by_cy.unsaid) == ({"cy": 0}, 0), "who unpicked loses nothing by it"
    assert (dict(by_nobody.by_weaver), by_nobody.unsaid) == ({}, 0)
    left_over = team.knots_woven(sessions[:3], 100)
    assert [dict(one.by_weaver) for one in left_over] == [{"cy": 100}, {"ann": 0, "bo": 0}, {"cy": 0}]


def test_of_a_begun_row_the_knots_tied_last_come_out_first() -> None:
    sessions = [
        sat(0, begun_knots=20, places=(("ann", 1, 50), ("bo", 51, 100))),
        sat(0, begun_knots=60, weavers=("cy",)),
        sat(0, begun_knots=25, weavers=("cy",)),
    ]
    assert team.knots_in_all(sessions, 100) == ({"ann": 10, "bo": 10, "cy": 5}, 0)


def test_knots_nobody_named_come_out_of_nobodys_pile_once_those_above_are_out() -> None:
    sessions = [sat(4), sat(2, places=ANN_AND_BO), sat(-3)]
    assert team.knots_in_all(sessions, 100) == ({"ann": 0, "bo": 0}, 300)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(("ann", "bo", "cy", "")), st.integers(0, 5), st.integers(0, 28) | st.none()
        ),
        min_size=1,
        max_size=6,
    ),
    st.integers(1, 29),
)
def test_what_an_evening_tied_is_taken_back_from_it_when_it_comes_out(evenings, border: int) -> None:
    sessions = [
        sat(
            rows,
            begun_knots=begun,
            weavers=(who,) if who not in ("bo", "") else (),
            places=(("ann", 1, border), ("bo", border + 1, 29)) if who == "bo" else (),
        )
        for who, rows, begun in evenings
    ]
    *before, last = sessions
    begun_before = begun_after(before)[-1] if before else 0
    out = sat(-last.rows, begun_knots=begun_before, weavers=("dee",))
    after, whose = team.knots_in_all([*sessions, out], 29), team.knots_in_all(before, 29)
    # Of a whole row that is taken back to a part nobody knows which of its knots are left.
    if not (begun_before and last.rows):
        assert {who: knots for who, knots in after[0].items() if knots} == {
            who: knots for who, knots in whose[0].items() if knots
        }
        assert after[1] == whose[1]
    assert min(after[0].values(), default=0) >= 0


def test_places_that_no_longer_fit_the_width_count_as_not_said() -> None:
    assert team.knots_in_all([sat(3, places=ANN_AND_BO)], 90) == ({}, 270)


ROWS = st.integers(-20, 60)


@given(st.lists(st.tuples(ROWS, st.integers(1, 29), st.integers(0, 5), st.booleans()), max_size=12))
def test_all_knots_are_the_rows_times_the_width_and_what_stands_ahead_at_the_end(evenings) -> None:
    sessions = [
        sat(rows, places=(("ann", 1, border), ("bo", border + 1, 30)) if said else (), ahead=(("bo", ahead),))
        for rows, border, ahead, said in evenings
    ]
    by_weaver, unsaid = team.knots_in_all(sessions, 30)
    # An entry without rows and without places is a note alone: the cloth stands as it stood before it.
    rows, border, ahead, said = (
        # Below none nothing can come out.
        reduce(lambda height, one: max(0, height + one.rows), sessions, 0),
        *next((told[1:] for told in reversed(evenings) if told[0] or told[3]), (0, 0, False)),
    )
    left_over = (30 - border) * ahead if said else 0
    assert sum(by_weaver.values()) + unsaid == rows * 30 + left_over


def test_a_ball_noted_between_two_evenings_leaves_the_cloth_as_it_stood() -> None:
    sessions = [
        sat(4, places=ANN_AND_BO, ahead=(("bo", 3),)),
        sat(0, weavers=(), used=(("red", 1.0),)),
        sat(3, places=ANN_AND_BO),
    ]
    first, note, last = team.knots_woven(sessions, 100)
    assert (note.by_weaver, note.unsaid) == ((), 0)
    # Bo's part had these three rows already.
    assert dict(last.by_weaver) == {"ann": 180, "bo": 0}
    assert dict(first.by_weaver)["bo"] == 280


def test_who_sat_is_told_from_the_left_and_each_once() -> None:
    placed = sat(1, places=(("bo", 61, 100), ("ann", 1, 60)), weavers=("cem", "ann", "bo"))
    assert team.seated(placed) == ("ann", "bo", "cem")
    assert team.seated(sat(1, weavers=("bo", "ann"))) == ("bo", "ann")


def test_who_sat_last_is_of_the_last_evening_on_which_somebody_wove() -> None:
    monday, tuesday = date(2026, 3, 2), date(2026, 3, 3)
    evenings = [
        sat(3, day=tuesday, weavers=("ann",), born=1),
        sat(3, day=monday, weavers=("bo",), born=9),
        sat(0, day=tuesday, weavers=("cem",), born=5),
        sat(4, day=tuesday, weavers=(), born=7),
    ]
    assert team.sat_last(evenings) == ("ann",)
    assert team.sat_last([*evenings, sat(1, day=tuesday, weavers=("bo",), born=2)]) == ("bo",)
    assert team.sat_last([]) == team.sat_last([sat(3, weavers=())]) == ()


def test_a_part_stands_ahead_within_what_can_be_and_a_border_stops_one_knot_short() -> None:
    ahead = team.knots_woven([sat(0, hours=1.0, places=ANN_AND_BO, ahead=(("ann", 900), ("bo", -5)))], 100)
    assert ahead[0].by_weaver == (("ann", 500 * 60), ("bo", 0))
    assert team.with_border(ANN_AND_BO, 0, 100) == (("ann", 1, 99), ("bo", 100, 100))
    assert team.with_border(ANN_AND_BO, 0, 0) == (("ann", 1, 1), ("bo", 2, 100))


def test_places_may_touch_both_sides_and_be_of_one_knot() -> None:
    team.check_places((("ann", 1, 1), ("bo", 2, 100)), 100)
    assert team.sound((("ann", 100, 100),), 100)
    assert not team.sound((), 100)
