"""The places of a team in the session form, at the loom and in the diary."""

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Cartoon, Weaver
from tracker.domain.seats import ALONE_FOR, Seating, seating
from tracker.presenters import entry_details, entry_text, entry_versions, loom, places
from tracker.presenters import session as session_page

TEAM = ("ann", "bo")
SEATS = (("bo", 1, 40), ("ann", 41, 100))
AHEAD = (("ann", 2),)


def seated(number: int, rows: int, **changes):
    return session(number, rows, **{"weavers": TEAM, "places": SEATS, "ahead": AHEAD, **changes})


def test_who_weaves_alone_is_not_asked_for_places() -> None:
    rug = book(session(1, 4))
    shown = session_page.build_session_state(session_page.blank_form(rug, TODAY), rug, TODAY)
    assert not shown.team
    assert shown.places == ()


def test_a_team_of_which_nobody_said_the_places_is_asked_and_nothing_is_made_up() -> None:
    rug = book(session(1, 4, weavers=TEAM))
    form = replace(session_page.blank_form(rug, TODAY), rows=2)
    shown = session_page.build_session_state(form, rug, TODAY)
    assert shown.team
    assert shown.places == ()
    assert shown.places_words == "Shared evenly until you say who sits where. Tap to say."
    assert session_page.to_session(form, rug, TODAY).places == ()
    assert session_page.places_to_change(form, rug) == ((("ann", 1, 50), ("bo", 51, 100)), ())


def test_the_form_starts_with_the_places_and_the_height_of_last_time() -> None:
    rug = book(seated(1, 4))
    form = replace(session_page.blank_form(rug, TODAY), rows=2)
    assert (form.places, form.ahead) == (SEATS, AHEAD)
    kept = session_page.to_session(form, rug, TODAY)
    assert (kept.places, kept.ahead) == (SEATS, AHEAD)
    shown = session_page.build_session_state(form, rug, TODAY)
    assert [(part.number, part.name, part.share) for part in shown.places] == [
        ("1", "Bo", 0.4),
        ("2", "Ann", 0.6),
    ]
    assert shown.places_words == "1 Bo: 40 knots · 2 Ann: 60 knots, 2 rows ahead"


def test_a_ball_noted_in_between_changes_nobodys_place() -> None:
    rug = book(seated(1, 4), session(2, 0, None, weavers=(), used=(("red", 1.0),)))
    assert session_page.blank_form(rug, TODAY).places == SEATS
    assert session_page.blank_form(rug, TODAY).ahead == AHEAD


def test_after_others_sat_there_the_seats_are_remembered_but_not_the_height() -> None:
    rug = book(seated(1, 4), session(2, 3))
    form = session_page.with_weavers(session_page.blank_form(rug, TODAY), rug, TEAM)
    assert (form.places, form.ahead) == (SEATS, ())


def test_tapping_a_weaver_off_and_on_again_loses_nothing() -> None:
    rug = book(session(1, 4, weavers=TEAM))
    told = replace(session_page.blank_form(rug, TODAY), rows=2, places=SEATS, ahead=AHEAD)
    alone = session_page.with_weavers(told, rug, ("bo",))
    assert session_page.to_session(alone, rug, TODAY).places == ()
    again = session_page.with_weavers(alone, rug, ("bo", "ann"))
    stored = session_page.to_session(again, rug, TODAY)
    assert (stored.places, stored.ahead) == (SEATS, AHEAD)


def test_the_places_survive_a_form_being_kept_and_an_older_apps_form_is_read() -> None:
    form = session_page.blank_form(book(seated(1, 4)), TODAY)
    kept = json.loads(json.dumps(session_page.to_kept(form)))
    assert session_page.from_kept(kept) == form
    del kept["places"], kept["ahead"]
    assert session_page.from_kept(kept) == replace(form, places=(), ahead=())
    assert session_page.from_kept({**kept, "places": [["ann", "x", 3]]}) is None
    assert session_page.from_kept({**kept, "places": [["ann", 3]]}) is None
    assert session_page.from_kept({**kept, "ahead": 7}) is None


def test_no_part_is_said_to_stand_above_the_last_row() -> None:
    # 190 of 200 rows, then 9: one row is left, so that two ahead cannot be.
    rug = book(seated(1, 190))
    stored = session_page.to_session(replace(session_page.blank_form(rug, TODAY), rows=9), rug, TODAY)
    assert stored.ahead == (("ann", 1),)
    assert (
        session_page.to_session(replace(session_page.blank_form(rug, TODAY), rows=10), rug, TODAY).ahead == ()
    )


def test_correcting_the_rows_of_an_early_session_keeps_what_stood_ahead_then() -> None:
    rug = book(seated(1, 4), session(2, 196))
    form = replace(session_page.form_of(rug.sessions[0], rug), rows=3)
    stored = session_page.to_session(form, rug, TODAY)
    assert (stored.places, stored.ahead) == (SEATS, AHEAD)
    # A changed height is held to the row the loom had then, not to the rug's end.
    assert session_page.to_session(replace(form, ahead=(("ann", 5),)), rug, TODAY).ahead == (("ann", 5),)


def test_correcting_a_session_keeps_places_that_no_longer_fit_the_plan() -> None:
    rug = book(seated(1, 4), plan=plan(knots_across=90))
    stored = session_page.to_session(replace(session_page.form_of(rug.sessions[0], rug), rows=3), rug, TODAY)
    assert stored.places == SEATS
    assert session_page.blank_form(rug, TODAY).places == ()


def test_more_weavers_than_knots_are_told_so() -> None:
    rug = book(plan=plan(knots_across=1))
    form = replace(session_page.blank_form(rug, TODAY), weavers=TEAM)
    with pytest.raises(BadEntry, match="cannot share"):
        session_page.places_to_change(form, rug)


def test_a_stretch_without_a_weaver_is_said() -> None:
    gapped = (("bo", 1, 40), ("ann", 43, 100))
    rug = book(seated(1, 4, places=gapped, ahead=()))
    shown = session_page.build_session_state(session_page.blank_form(rug, TODAY), rug, TODAY)
    assert shown.places_words.endswith("Nobody sits at knots 41 to 42.")
    assert shown.places[1].gap_before == pytest.approx(0.02)
    assert places.gap_words((("bo", 2, 100),), 100) == "Nobody sits at knot 1."


# --- at the loom


def woven(*sessions):
    """A rug whose row 1 is 30 madder, 20 indigo, 50 madder."""
    cells = np.zeros((200, 100), dtype=np.uint8)
    cells[:, 30:50] = 1
    rug = book(*sessions)
    red, blue, weft = rug.yarns
    yarns = (replace(red, cartoon_values=(0,)), replace(blue, cartoon_values=(1,)), weft)
    cartoon = Cartoon(id="c", rug_id="rug", cells=cells, palette=("#9C2F25", "#27406B"))
    return replace(rug, yarns=yarns, cartoon=cartoon)


def runs(rug, **how):
    return [(run.knots, run.name, run.first, run.last) for run in loom.runs_of(rug, 1, **how)]


def test_one_weavers_part_cuts_the_runs_at_her_borders() -> None:
    assert runs(woven(), part=(1, 40)) == [(30, "Madder", 1, 30), (10, "Indigo", 31, 40)]
    assert runs(woven(), part=(41, 100)) == [(10, "Indigo", 41, 50), (50, "Madder", 51, 100)]


def test_from_the_back_the_part_lies_on_the_other_side() -> None:
    # Seen from the back knot 100 comes first: knots 100 to 41 are the first sixty there.
    assert runs(woven(), mirrored=True, part=(41, 100)) == [(50, "Madder", 1, 50), (10, "Indigo", 51, 60)]
    assert runs(woven(), mirrored=True, part=(1, 40)) == [(10, "Indigo", 61, 70), (30, "Madder", 71, 100)]


def test_the_parts_are_those_of_the_waiting_form_else_of_the_latest_session() -> None:
    rug = woven(seated(1, 4))
    assert [part.name for part in loom.team_parts(rug, None)] == ["Bo", "Ann"]
    form = replace(session_page.blank_form(rug, TODAY), places=(("ann", 1, 50), ("bo", 51, 100)))
    assert [part.name for part in loom.team_parts(rug, form)] == ["Ann", "Bo"]
    assert loom.team_parts(rug, replace(form, weavers=("ann",))) == ()
    assert loom.team_parts(woven(session(1, 4)), None) == ()
    assert loom.team_parts(woven(), None) == ()


def test_the_part_looked_at_is_kept_for_its_rug_and_forgotten_when_the_weaver_has_no_place() -> None:
    parts = loom.team_parts(woven(seated(1, 4)), None)
    kept = loom.with_part(None, "rug", "ann")
    assert loom.part_of(kept, "rug", parts).weaver_id == "ann"
    assert loom.part_of(kept, "other", parts) is None
    assert loom.part_of(loom.with_part(kept, "rug", None), "rug", parts) is None
    assert loom.part_of(loom.with_part(kept, "rug", "cy"), "rug", parts) is None
    assert loom.part_of("no such thing", "rug", parts) is None


def test_who_stands_ahead_is_led_to_her_own_next_row() -> None:
    bo, ann = loom.team_parts(woven(seated(1, 4)), None)
    # Rows 1 to 4 are done: row 5 comes next for all, row 7 for Ann who is two ahead.
    assert loom.row_of_part(ann, 5, 200) == 7
    assert loom.row_of_part(bo, 5, 200) is None
    assert loom.row_of_part(ann, 199, 200) == 200
    assert loom.part_words(ann, (bo, ann)) == "Ann: knots 41 to 100, 2 rows ahead"
    assert loom.part_words(ann, (bo, ann), short=True) == "Ann, 2 rows ahead"
    assert loom.part_words(None, (bo, ann)) == "The whole row"
    assert loom.part_words(None, ()) == ""


def test_a_place_marked_in_one_part_does_not_count_in_another() -> None:
    kept = loom.with_place(None, "rug", 5, 1, (1, 40))
    kept = json.loads(json.dumps(kept))
    assert loom.place_of(kept, "rug", 5, 2, (1, 40)) == 1
    assert loom.place_of(kept, "rug", 5, 2, (41, 100)) is None
    assert loom.place_of(kept, "rug", 5, 3) is None
    assert loom.place_of(loom.with_place(kept, "rug", 5, 2), "rug", 5, 3) == 2


# --- the diary


def test_the_diary_tells_places_and_heights() -> None:
    names = entry_text.Names(weavers={"ann": "Ann", "bo": "Bo"})
    told = dict(entry_details.details(seated(1, 4), names))
    assert told["Places across the width"] == "Bo: knots 1 to 40 and Ann: knots 41 to 100"
    assert told["Ahead"] == "Ann: 2 rows ahead"
    assert "Places across the width" not in dict(entry_details.details(session(1, 4), names))
    (changed,) = entry_versions.differences(seated(1, 4), seated(1, 4, ahead=()), names)
    assert changed.words == "Ahead: Ann: 2 rows ahead, taken out"


def test_somebody_unknown_still_has_a_place() -> None:
    (part,) = places.place_parts(
        (("x", 1, 4),), (), places.names_of_weavers(book(weavers=(Weaver(id="a", name="A"),))), 4
    )
    assert part.name == "somebody"
    assert part.share == 1.0


# --- who sits where now


def spans(seats: Seating) -> list[tuple[str, int, int]]:
    return [(section.weaver_id, section.first, section.last) for section in seats.sections]


def test_who_sits_where_is_as_the_last_session_that_said_it() -> None:
    places = (("bo", 1, 30), ("ann", 31, 90))
    rug = book(
        session(1, 4, weavers=("ann", "bo"), places=places, ahead=(("bo", 2),)),
        session(2, 4, weavers=("ann",)),
    )
    seats = seating(rug)
    assert spans(seats) == [("bo", 1, 30), ("ann", 31, 90), ("", 91, 100)]
    assert (seats.places, seats.assumed) == (places, False)
    # After another evening the part stands at another height.
    assert seats.ahead == ()
    assert seating(book(rug.sessions[0])).ahead == (("bo", 2),)


def test_places_set_here_count_before_those_of_a_session_and_unsound_ones_do_not() -> None:
    rug = book(session(1, 4, weavers=("ann", "bo"), places=(("ann", 1, 50), ("bo", 51, 100))))
    assert spans(seating(rug, (("ann", 1, 20), ("bo", 21, 100)))) == [("ann", 1, 20), ("bo", 21, 100)]
    never_said = book(session(1, 4))
    assert spans(seating(never_said, (("ann", 1, 20), ("bo", 21, 100)))) == [("ann", 1, 20), ("bo", 21, 100)]
    assert spans(seating(rug, (("ann", 1, 200),))) == [("ann", 1, 50), ("bo", 51, 100)]


def test_one_evening_with_others_or_in_another_order_changes_no_seat_until_a_second_agrees() -> None:
    team_of_two, both = {"weavers": ("ann", "bo")}, (("ann", 1, 50), ("bo", 51, 100))
    turned = (("bo", 1, 50), ("ann", 51, 100))
    for evening in (team_of_two, {**team_of_two, "places": both}):
        alone = [session(number, 4) for number in (1, 2)]
        once = book(*alone, session(3, 4, **evening))
        assert spans(seating(once)) == [("ann", 1, 100)]
        assert spans(seating(book(*once.sessions, session(4, 4, **evening)))) == list(both)
    # A weaver who is often alone has her neighbour beside her for all that.
    between = book(*[session(n, 4, **(team_of_two if n in (2, 5) else {})) for n in range(1, 8)])
    assert spans(seating(between)) == list(both)
    together = [session(n, 4, **team_of_two) for n in (1, 2)]
    left = [session(n, 4) for n in range(3, 3 + ALONE_FOR)]
    assert spans(seating(book(*together, *left[:-1]))) == list(both)
    assert spans(seating(book(*together, *left))) == [("ann", 1, 100)], "she weaves alone from now on"
    rug = book(session(1, 4, **team_of_two, places=both), session(2, 4, **team_of_two, places=turned))
    assert spans(seating(rug)) == list(both)
    wider = (("ann", 1, 60), ("bo", 61, 100))
    moved = book(*rug.sessions, session(3, 4, **team_of_two, places=wider))
    assert spans(seating(moved)) == list(wider), "the same order with another border counts at once"
    agreed = book(*rug.sessions, session(3, 4, weavers=("bo",)), session(4, 4, **team_of_two, places=turned))
    assert spans(seating(agreed)) == list(turned)


def test_who_wove_alone_has_the_whole_width() -> None:
    assert spans(seating(book(session(1, 4)))) == [("ann", 1, 100)]


def test_before_anybody_said_it_the_planned_weavers_share_evenly() -> None:
    two = seating(book(plan=plan(weavers_planned=2)))
    assert (spans(two), two.assumed) == ([("ann", 1, 50), ("bo", 51, 100)], True)
    # Of three only two have names: nobody is guessed.
    three = seating(book(plan=plan(weavers_planned=3)))
    assert spans(three) == [("", 1, 34), ("", 35, 67), ("", 68, 100)]
    alone = seating(book(plan=plan(weavers_planned=1)))
    assert (spans(alone), alone.assumed) == ([("", 1, 100)], False)
    together = seating(book(session(1, 4, weavers=("bo", "ann"))))
    assert (spans(together), together.assumed) == ([("bo", 1, 50), ("ann", 51, 100)], True)


def test_places_set_for_the_balls_stand_in_the_session_of_the_same_team() -> None:
    rug = book(seated(1, 4))
    form = session_page.blank_form(rug, TODAY)
    moved = (("bo", 1, 60), ("ann", 61, 100))
    told = session_page.with_seats(form, rug, moved)
    assert (told.places, told.ahead) == (moved, ())
    assert session_page.with_seats(form, rug, ()) == form
    assert session_page.with_seats(form, rug, (("bo", 1, 100),)) == form
    assert session_page.with_seats(form, rug, form.places) == form
    # Of another team nothing is taken; when the other sits down, the seats set are hers too.
    alone = replace(form, weavers=("ann",), places=(), ahead=())
    assert session_page.with_seats(alone, rug, moved) == alone
    both = session_page.with_weavers(alone, rug, TEAM, moved)
    assert (both.places, both.ahead) == (moved, ())
    assert session_page.with_weavers(alone, rug, TEAM).places == SEATS
