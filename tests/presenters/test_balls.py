"""The page of the balls of each weaver."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tests.unit.domain.test_sections import drawn
from tracker.domain import team
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.rug import Lot, RugStage, Session
from tracker.domain.unlikely import Against
from tracker.domain.winding import balls_in_lots, balls_of, full_ball_g
from tracker.forecast.outlook import outlook
from tracker.presenters import entry_forms
from tracker.presenters import session as session_page
from tracker.presenters.balls import (
    build_balls_state,
    given_now,
    hand_out_form,
    team_to_seat,
)
from tracker.presenters.doubts import doubt_of_balls, never_bought
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entry_text import ball_count_words
from tracker.presenters.places import seats_for_session, seats_kept, with_seats
from tracker.presenters.progress import weeks_chart
from tracker.presenters.rates import rates_of, rows_a_week
from tracker.presenters.whose import said_whose, shared_out
from tracker.words import mass

ASSUMED_BALLS = "At most 200 g on a ball: assumed until you give your own, with the yarn in the plan."
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
    assert left.lines[0].balls == balls_of(answers["red"].needed_g, full_ball_g(rug.yarns[0]))[0]
    assert state.headline == "To the last row"
    assert state.who == "Ann and Bo"


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
    full_g = full_ball_g(yarn)
    assert [balls_in_lots((grams,), full_g)[0] for grams in (0, 1, 150, 150.5, 300)] == [0, 1, 1, 2, 2]


def test_a_colour_of_a_few_knots_is_never_told_as_nothing_to_wind() -> None:
    # One knot of blue in the left half, some hundredths of a gram; the list gives a ball for it all the same.
    rug = drawn([[0] * 100] * 39 + [[1] + [0] * 99])
    state = shown(replace(rug, sessions=(session(1, 2, weavers=("ann", "bo"), places=HALVES),)))
    line = next(line for line in state.seats[0].lines if line.yarn_id == "blue")
    assert 0 < line.need_g < 0.1
    assert line.words == "1 ball, less than 0.1 g"
    assert "Tap a colour for another weight" in state.how
    assert shown(replace(rug, plan=replace(rug.plan, stage=RugStage.FINISHED))).how == ""


def test_who_weaves_alone_has_one_section_without_a_number() -> None:
    state = shown(book(session(1, 4)))
    (seat,) = state.seats
    assert (seat.title, state.who) == ("Ann", "Ann")
    assert state.notes == (ASSUMED_BALLS,)
    own = tuple(replace(yarn, unit_mass_g=180.0) for yarn in book().yarns)
    assert shown(replace(book(session(1, 4)), yarns=own)).notes == (), (
        "who said what a ball holds is told of no other"
    )
    (unknown,) = shown(book(plan=plan(weavers_planned=1))).seats
    assert unknown.title == "The whole width"


def test_what_the_division_rests_on_is_said() -> None:
    assumed = shown(book(plan=plan(weavers_planned=2)))
    assert assumed.notes[0] == "Nobody said in which order they sit: the width is shared evenly."
    assert assumed.who == "Ann and Bo, assumed"
    strangers = shown(book(plan=plan(weavers_planned=3)))
    assert strangers.notes[0] == "Nobody said who sits where: the width is shared evenly."
    assert strangers.who == "not said"
    assert "Without a cartoon" in assumed.notes[1]
    assert shown(striped()).notes == (ASSUMED_BALLS,)


def test_what_stands_ahead_is_said_beside_the_need() -> None:
    rug = striped()
    ahead = replace(rug, sessions=(replace(rug.sessions[0], ahead=(("bo", 3),)),))
    left, right = shown(ahead).seats
    assert "ahead" not in left.note
    assert "is already knotted" in right.note


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


def test_places_set_on_the_page_count_until_two_evenings_say_others() -> None:
    rug = striped()
    mine = (("bo", 1, 30), ("ann", 31, 100))
    kept = json.loads(json.dumps(with_seats(None, rug, mine)))
    assert seats_kept(kept, rug) == mine
    assert seats_kept(kept, replace(rug, sessions=(*rug.sessions, session(2, 3)))) == mine

    def after(*evenings: Session) -> tuple[team.Places, team.Places]:
        """What the page takes, and what the next session begins with."""
        since = replace(rug, sessions=(*rug.sessions, *evenings))
        return seats_kept(kept, since), seats_for_session(kept, since)

    # Another order one evening changes what is usual no more than it does after an evening that said it.
    other = [session(born, 3, weavers=("ann", "bo"), places=HALVES) for born in (2, 3)]
    assert after(other[0]) == (mine, ())
    assert after(*other) == ((), ())
    helped = [
        session(born, 3, weavers=("ann", "cem"), places=(("ann", 1, 50), ("cem", 51, 100))) for born in (2, 3)
    ]
    assert after(helped[0]) == (mine, mine)
    assert after(*helped) == ((), mine)
    wider = session(2, 3, weavers=("ann", "bo"), places=(("bo", 1, 40), ("ann", 41, 100)))
    assert after(wider) == ((), ()), "the same order with another border counts at once"
    assert seats_kept(with_seats(kept, rug, ()), rug) == ()
    # Somebody who is not in the book any more, and what no phone of ours wrote.
    assert seats_kept(kept, replace(rug, weavers=rug.weavers[:1])) == ()
    for odd in (None, {}, {"rug": 3}, {"rug": {"places": 3}}, {"rug": {"places": [[1]]}}, {"rug": {}}):
        assert seats_kept(odd, rug) == ()


def test_those_who_sit_stand_first_among_those_who_can() -> None:
    assert [weaver.id for weaver in team_to_seat(striped(), (("bo", 1, 100),))] == ["bo", "ann"]


# --- handing out


def handed_out(rug, seat=0, lines=None, day=TODAY):
    """The rug with what a seat still needs given to her, and the records of it."""
    answers = outlook(rug, TODAY)
    card = build_balls_state(rug, answers, HALVES).seats[seat]
    given = given_now(rug, answers, card, card.lines if lines is None else lines, day)
    return replace(rug, hand_outs=(*rug.hand_outs, *given)), given


def test_one_tap_gives_the_balls_that_are_missing_from_the_open_lot() -> None:
    rug = striped()
    lot = Lot(id="l1", rug_id="rug", yarn_id="red", day=TODAY, mass_g=900.0, dye_lot="M-1")
    rug = replace(rug, lots=(lot,))
    line = shown(rug).seats[0].lines[0]
    after, (given,) = handed_out(rug)
    assert (given.yarn_id, given.weaver_id, given.lot_id, given.day) == ("red", "ann", "l1", TODAY)
    # What the key names is noted, not so many full balls: of a need of 47 g the whole stock of 160 g was booked to one weaver.
    assert (given.balls, given.mass_g) == (line.balls, round(line.give_g, 1))
    week = shown(rug, rows=1)
    (ball,) = given_now(rug, outlook(rug, TODAY), week.seats[0], week.seats[0].lines[:1], TODAY)
    assert (week.seats[0].lines[0].give_g < 200.0, ball.mass_g) == (True, 200.0), (
        "for some rows a full ball is given"
    )
    left, right = shown(after).seats
    assert (left.lines[0].words, left.lines[0].balls, left.key, left.lines[0].key) == (
        "Enough on hand",
        0,
        "",
        "",
    )
    assert "lasts to the last row" in left.lines[0].note
    assert (left.lines[0].share, line.share) == (1.0, 0.0)
    assert right.lines == shown(rug).seats[1].lines
    # A few tenths of a gram less than needed are enough: no next ball is named beside that.
    scant = replace(given, mass_g=round(line.need_g - 0.4, 1))
    told = shown(replace(rug, hand_outs=(scant,))).seats[0].lines[0]
    assert told.words == "Enough on hand"
    assert "lasts to the last row" in told.note
    half = replace(given, mass_g=line.need_g / 2)
    told = shown(replace(rug, hand_outs=(half,))).seats[0].lines[0]
    assert told.share == pytest.approx(0.5)
    assert "the next in row" in told.note
    assert shown(after).handed[0].words == f"{int(given.balls)} ball of Madder to Ann"


def test_balls_of_yarn_that_was_never_bought_are_asked_about_by_name_in_one_sentence() -> None:
    rug = drawn([[0] * 50 + [1] * 50] * 40)
    rug = replace(rug, sessions=(session(1, 2, weavers=("ann",)),))
    answers = outlook(rug, TODAY)
    (card,) = build_balls_state(rug, answers).seats
    given = given_now(rug, answers, card, card.lines, TODAY)
    asked = doubt_of_balls(given, rug, TODAY, "Hand out all the same")
    assert asked is not None
    assert (asked.question, asked.save, asked.change) == (
        "No purchase is noted of Madder and Indigo.", "Hand out all the same", "Note the purchase first",
    )  # fmt: skip
    assert [one.against for one in asked.about] == [Against.NEVER_BOUGHT] * 2
    assert never_bought(given, rug, TODAY) == ("red", "blue")
    lots = tuple(
        Lot(id=yarn_id, rug_id="rug", yarn_id=yarn_id, day=TODAY, mass_g=900.0) for yarn_id in ("red", "blue")
    )
    some, both = replace(rug, lots=lots[:1]), replace(rug, lots=lots)
    assert doubt_of_balls(given, some, TODAY, "").question == "No purchase is noted of Indigo."
    assert (doubt_of_balls(given, both, TODAY, ""), never_bought(given, both, TODAY)) == (None, ())


def test_no_ball_is_noted_heavier_than_what_is_on_hand_and_nobody_has_yet() -> None:
    lot = Lot(id="l1", rug_id="rug", yarn_id="red", day=TODAY, mass_g=40.0)
    rug = replace(striped(), lots=(lot,))
    on_hand_g = next(answer.on_hand_g for answer in outlook(rug, TODAY).yarns if answer.yarn_id == "red")
    assert 10 < on_hand_g < 40
    after, (given,) = handed_out(rug)
    assert given.mass_g == round(on_hand_g, 1)
    answers = outlook(rug, TODAY)
    card = build_balls_state(rug, answers, HALVES).seats[0]
    form = hand_out_form(rug, answers, card, card.lines[0], TODAY)
    assert entry_forms.to_value(form, rug, TODAY).mass_g == given.mass_g
    # Of what one weaver has the other cannot be given once more.
    turned = build_balls_state(after, answers, (("bo", 1, 50), ("ann", 51, 100))).seats[0]
    line = next(line for line in turned.lines if line.yarn_id == "red")
    (more,) = given_now(after, answers, turned, (line,), TODAY)
    assert more.mass_g == round(line.give_g, 1)


def test_handing_out_changes_neither_what_is_needed_nor_what_is_on_hand() -> None:
    rug = striped()
    after, _given = handed_out(rug)
    assert outlook(after, TODAY) == outlook(rug, TODAY)
    assert [seat.lines[0].need_g for seat in shown(after).seats] == [
        seat.lines[0].need_g for seat in shown(rug).seats
    ]


def test_who_has_some_is_given_the_rest_and_told_when_she_needs_the_next() -> None:
    rug = striped()
    some = HandOut(
        id="h", rug_id="rug", yarn_id="red", weaver_id="ann", day=TODAY, balls=1, mass_g=10.0, born=50
    )
    line = shown(replace(rug, hand_outs=(some,))).seats[0].lines[0]
    assert line.give_g == pytest.approx(line.need_g - 10.0)
    assert line.note.startswith("needs ")
    assert "has 1 ball, about 10 g\nthe next in row " in line.note
    assert line.key == "Give"


def test_who_sits_nowhere_now_still_has_her_balls() -> None:
    after, _given = handed_out(striped())
    state = shown(after, (("bo", 1, 100),))
    gone = state.seats[-1]
    assert (gone.title, gone.note) == ("Ann", "Sits nowhere now.")
    assert gone.lines[0].words == "No more is needed"
    assert gone.lines[0].balls == 0


def test_the_form_takes_back_what_is_not_needed_and_fills_in_full_balls() -> None:
    rug, _given = handed_out(striped())
    answers = outlook(rug, TODAY)
    card = build_balls_state(rug, answers).seats[0]
    form = hand_out_form(rug, answers, card, card.lines[0], TODAY)
    assert (form.answers["kind"], form.answers["weaver_id"]) == ("returned", "ann")
    said = {
        line.question.key: line.answer for line in entry_forms.build_entry_form_state(form, rug, TODAY).lines
    }
    assert (said["balls"], said["kind"], said["weaver_id"]) == ("1", "returned", "Ann")
    value = entry_forms.to_value(form, rug, TODAY)
    assert (value.kind, value.balls, value.mass_g) == (HandOutKind.RETURNED, 1.0, 200.0)
    assert entry_forms.to_value(entry_forms.form_of(value), rug, TODAY) == value
    weighed = entry_forms.to_value(form.with_answer("mass_g", 120.0), rug, TODAY)
    assert weighed.mass_g == 120.0


def test_a_ball_used_up_is_asked_whose_it_was_where_two_have_some() -> None:
    rug, _given = handed_out(striped())
    form = entry_forms.blank(FormKind.BALL, rug, TODAY, "red")
    assert [question.key for question in entry_forms.questions(form, rug)] == ["count", "day"]
    also = HandOut(id="x", rug_id="rug", yarn_id="red", weaver_id="bo", day=TODAY, balls=1, mass_g=200.0)
    both = replace(rug, hand_outs=(*rug.hand_outs, also))
    assert [question.key for question in entry_forms.questions(form, both)] == ["count", "weaver_id", "day"]
    evening = session(3, 2, weavers=("ann", "bo"), day=TODAY)
    both = replace(both, sessions=(*both.sessions, evening))
    hers = entry_forms.to_value(form.with_answer("weaver_id", "bo"), both, TODAY)
    assert (hers.weavers, hers.rows, hers.used, hers.wove) == (("bo",), 0, (("red", 1.0),), False)
    assert hers.id != evening.id
    assert entry_forms.to_value(form, both, TODAY).id == evening.id


def test_when_all_have_what_they_need_the_page_says_so() -> None:
    rug, _given = handed_out(striped())
    rug, _given = handed_out(rug, 1)
    state = shown(rug)
    assert (state.headline, state.figure, state.notes) == ("Everything is handed out.", "", state.notes)
    assert [seat.key for seat in state.seats] == ["", ""]


def shared():
    """Both were given Madder, and an evening on which both sat ended a ball and a half of it."""
    rug, _given = handed_out(striped())
    also = HandOut(id="x", rug_id="rug", yarn_id="red", weaver_id="bo", day=TODAY, balls=1, mass_g=200.0)
    together = session(3, 2, 4.0, weavers=("ann", "bo"), used=(("red", 1.5), ("blue", 1)), day=TODAY, born=9)
    return replace(rug, hand_outs=(*rug.hand_outs, also), sessions=(*rug.sessions, together))


def test_whose_balls_ended_can_be_said_with_the_evening_itself() -> None:
    rug, _given = handed_out(striped())
    also = HandOut(id="x", rug_id="rug", yarn_id="red", weaver_id="bo", day=TODAY, balls=1, mass_g=200.0)
    both = replace(rug, hand_outs=(*rug.hand_outs, also))
    form = session_page.with_weavers(session_page.blank_form(both, TODAY), both, ("ann", "bo")).with_rows(
        2, both
    )
    evening = form.with_used("red", 1.0)
    assert session_page.build_session_state(form, both, TODAY).whose == ()
    assert session_page.build_session_state(evening, rug, TODAY).whose == (), "only Ann was given any"
    alone = replace(evening, weavers=("bo",))
    assert session_page.build_session_state(alone, both, TODAY).whose == ()
    (ask,) = session_page.build_session_state(evening, both, TODAY).whose
    assert (ask.words, ask.choices) == ("Whose ball of Madder?", (("Ann", "ann", False), ("Bo", "bo", False)))
    # Nobody need say: then it is one entry, as ever, and the page of balls asks.
    session_of = session_page.to_session(evening, both, TODAY)
    assert shared_out(session_of, both, evening.whose) == (session_of,)
    said = evening.with_whose("red", "bo")
    (ask,) = session_page.build_session_state(said, both, TODAY).whose
    assert [chosen for _name, _who, chosen in ask.choices] == [False, True]
    written = shared_out(session_of, both, said.whose)
    team_entry, hers = written
    assert (team_entry.rows, team_entry.used) == (2, ())
    assert (hers.weavers, hers.rows, hers.used) == (("bo",), 0, (("red", 1.0),))
    born = tuple(replace(one, born=100 + number) for number, one in enumerate(written))
    after = replace(both, sessions=(*both.sessions, *born))
    assert shown(after).unsaid == ()
    assert session_page.from_kept(session_page.to_kept(said)) == said
    assert said.with_whose("red", "bo") == evening


def test_balls_of_which_nobody_said_whose_are_asked_about_once() -> None:
    rug = shared()
    (line,) = shown(rug).unsaid
    assert (line.words, line.note) == (
        "1.5 balls of Madder used up, nobody said whose",
        "25 Nov. Tap to say whose.",
    )
    assert line.choices == (("Ann", "ann"), ("Bo", "bo"))
    assert not any("nobody said" in one.note for seat in shown(rug).seats for one in seat.lines)


def test_who_is_said_to_have_ended_a_ball_has_that_much_less() -> None:
    rug = shared()

    def has(rug, who: str) -> str:
        (seat,) = [seat for seat in shown(rug).seats if seat.weaver_id == who]
        return next(line.note for line in seat.lines if line.name == "Madder")

    before = has(rug, "ann")
    team_entry, hers = said_whose(rug, rug.sessions[-1].id, "red", "ann")
    assert (team_entry.rows, team_entry.weavers, team_entry.used) == (2, ("ann", "bo"), (("blue", 1),))
    assert (hers.rows, hers.weavers, hers.used, hers.day) == (0, ("ann",), (("red", 1.5),), TODAY)
    said = replace(rug, sessions=(*rug.sessions[:-1], team_entry, replace(hers, born=10)))
    assert shown(said).unsaid == ()
    assert has(said, "ann") != before
    assert has(said, "bo") == has(rug, "bo")
    # A second yarn of that evening goes into the same entry of hers.
    again = HandOut(id="y", rug_id="rug", yarn_id="blue", weaver_id="ann", day=TODAY, balls=1, mass_g=200.0)
    _team, both = said_whose(replace(said, hand_outs=(*said.hand_outs, again)), team_entry.id, "blue", "ann")
    assert (both.id, both.used) == (hers.id, (("red", 1.5), ("blue", 1)))


def test_an_entry_of_nothing_but_the_ball_becomes_hers() -> None:
    rug = shared()
    alone = replace(rug.sessions[-1], rows=0, hours=None, used=(("red", 1),))
    rug = replace(rug, sessions=(*rug.sessions[:-1], alone))
    assert said_whose(rug, alone.id, "red", "bo") == (replace(alone, weavers=("bo",)),)


def test_half_a_ball_is_said_as_such() -> None:
    assert [ball_count_words(balls) for balls in (1, 2, 0.5, 1.5)] == [
        "1 ball",
        "2 balls",
        "0.5 balls",
        "1.5 balls",
    ]


def test_more_balls_than_there_is_yarn_for_are_said_beside_them() -> None:
    rug = striped()
    answers = outlook(rug, TODAY)
    needed_g = {answer.yarn_id: answer.needed_g for answer in answers.yarns}
    lots = tuple(
        Lot(id=yarn_id, rug_id="rug", yarn_id=yarn_id, day=TODAY, mass_g=mass_g)
        for yarn_id, mass_g in (("red", needed_g["red"] / 2), ("blue", needed_g["blue"] * 2))
    )
    rug = replace(rug, lots=lots)
    red = next(answer for answer in outlook(rug, TODAY).yarns if answer.yarn_id == "red")
    assert shown(rug).short == (f"Madder: still needed {mass(red.needed_g)}, on hand {mass(red.on_hand_g)}",)
    # For a few rows there is enough.
    assert shown(rug, rows=2).short == ()
    # What was never bought is told on the shopping list.
    assert shown(striped()).short == ()


def test_a_week_of_rows_is_what_the_date_goes_by() -> None:
    rug = drawn([[0] * 50 + [1] * 50] * 200)
    rug = replace(rug, sessions=tuple(session(number, 4) for number in range(1, 12)))
    answers = outlook(rug, TODAY)
    rates = rates_of(rug, answers)
    week = rows_a_week(rug, answers)
    assert week == round(rates.week_ahead_h / rates.row_ahead_h)
    # Four rows on each of eleven days running.
    assert 20 <= week <= 28
    assert rows_a_week(rug, replace(answers, finish=None)) is None
    # The page of progress says the same beside what was usual so far.
    assert weeks_chart(rug, TODAY, answers=answers).more.startswith(
        f"To come, as the date counts: about {week} rows a week."
    )
