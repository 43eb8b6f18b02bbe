"""The page of the balls of each weaver."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tests.unit.domain.test_sections import drawn
from tracker.domain.rug import RugStage
from tracker.forecast.outlook import outlook
from tracker.presenters.balls import (
    balls_for,
    build_balls_state,
    seats_kept,
    team_to_seat,
    with_seats,
)

HALVES = (("ann", 1, 50), ("bo", 51, 100))


def shown(rug, set_here=(), rows=None):
    return build_balls_state(rug, outlook(rug, TODAY), set_here, rows)


def striped():
    """A hundred knots wide, forty rows: the left half red, the right one blue; two rows are woven."""
    rug = drawn([[0] * 50 + [1] * 50] * 40)
    return replace(rug, sessions=(session(1, 2, weavers=("ann", "bo"), places=HALVES),))


def test_each_weaver_gets_the_balls_of_what_lies_in_her_section() -> None:
    rug = striped()
    answers = {answer.yarn_id: answer for answer in outlook(rug, TODAY).yarns}
    state = shown(rug)
    left, right = state.seats
    assert (left.title, right.title) == ("1 Ann", "2 Bo")
    assert "knots 1 to 50" in left.note
    assert [line.name for line in left.lines] == ["Madder"]
    assert [line.name for line in right.lines] == ["Indigo"]
    assert left.lines[0].need_g == pytest.approx(answers["red"].needed_g)
    assert left.lines[0].balls == balls_for(answers["red"].needed_g, rug.yarns[0])
    assert state.headline == "To the last row"
    assert state.who == "Ann, Bo"


def test_the_picture_is_the_width_with_the_colours_as_lengths() -> None:
    state = shown(striped(), (("ann", 1, 75), ("bo", 76, 100)))
    left, right = state.picture
    assert (left.share, right.share) == (0.75, 0.25)
    assert [(colour.code, round(colour.share, 3)) for colour in left.colours] == [("1", 0.667), ("2", 0.333)]
    assert [(colour.code, colour.share) for colour in right.colours] == [("2", 1.0)]


def test_for_some_rows_the_balls_are_fewer_and_the_page_says_for_which() -> None:
    rug = striped()
    all_rows, some = shown(rug), shown(rug, rows=19)
    assert some.headline == "For the next 19 rows"
    assert some.seats[0].lines[0].need_g == pytest.approx(all_rows.seats[0].lines[0].need_g / 2)
    assert ("19 rows", 19) in [(choice.words, choice.rows) for choice in some.spans]


def test_a_ball_holds_what_the_weaver_said_and_the_last_one_may_be_begun() -> None:
    yarn = replace(book().yarns[0], unit_mass_g=150.0)
    assert [balls_for(grams, yarn) for grams in (0, 1, 150, 150.5, 300)] == [0, 1, 1, 2, 2]


def test_who_weaves_alone_has_one_section_without_a_number() -> None:
    state = shown(book(session(1, 4)))
    (seat,) = state.seats
    assert (seat.title, state.who) == ("Ann", "Ann")
    assert state.notes == ()
    (unknown,) = shown(book(plan=plan(weavers_planned=1))).seats
    assert unknown.title == "The whole width"


def test_what_the_division_rests_on_is_said() -> None:
    assumed = shown(book(plan=plan(weavers_planned=2)))
    assert assumed.notes[0] == "Nobody said who sits where: the width is shared evenly."
    assert "Without a cartoon" in assumed.notes[1]
    assert shown(striped()).notes == ()


def test_what_stands_ahead_is_said_beside_the_need() -> None:
    rug = striped()
    ahead = replace(rug, sessions=(replace(rug.sessions[0], ahead=(("bo", 3),)),))
    left, right = shown(ahead).seats
    assert "ahead" not in left.note
    assert "is knotted already" in right.note


def test_a_woven_rug_needs_no_more_balls() -> None:
    rug = striped()
    done = replace(rug, plan=replace(rug.plan, stage=RugStage.FINISHED))
    state = shown(done)
    assert (state.headline, state.figure, state.seats, state.picture) == (
        "No more balls are needed.",
        "",
        (),
        (),
    )


def test_places_set_on_the_page_count_until_a_session_says_others() -> None:
    rug = striped()
    mine = (("bo", 1, 30), ("ann", 31, 100))
    kept = json.loads(json.dumps(with_seats(None, rug, mine)))
    assert seats_kept(kept, rug) == mine
    assert seats_kept(kept, replace(rug, sessions=(*rug.sessions, session(2, 3)))) == mine
    later = session(2, 3, weavers=("ann", "bo"), places=HALVES)
    assert seats_kept(kept, replace(rug, sessions=(*rug.sessions, later))) == ()
    assert seats_kept(with_seats(kept, rug, ()), rug) == ()
    # Somebody who is not in the book any more, and what no phone of ours wrote.
    assert seats_kept(kept, replace(rug, weavers=rug.weavers[:1])) == ()
    for odd in (None, {}, {"rug": 3}, {"rug": {"places": 3}}, {"rug": {"places": [[1]]}}, {"rug": {}}):
        assert seats_kept(odd, rug) == ()


def test_those_who_sit_stand_first_among_those_who_can() -> None:
    assert [weaver.id for weaver in team_to_seat(striped(), (("bo", 1, 100),))] == ["bo", "ann"]
