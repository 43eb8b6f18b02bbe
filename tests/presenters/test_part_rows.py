"""A session that ends within a row: its form, the row at the loom that goes on where it stopped, and what pages say."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import numpy as np
import pytest

from tests.presenters.rugs import book, session
from tests.presenters.test_loom import with_cartoon
from tests.presenters.test_picture import with_cartoon as drawn
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import RugStage
from tracker.forecast.lessons import lessons_of
from tracker.forecast.outlook import outlook
from tracker.presenters import loom
from tracker.presenters import session as session_page
from tracker.presenters.aloud import build_aloud_state
from tracker.presenters.costs import ahead_of
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import Names, headline
from tracker.presenters.home import build_home_state, what_changed
from tracker.presenters.picture import rug_picture
from tracker.presenters.record.facts import facts_of_today
from tracker.presenters.session import PlaceAtLoom
from tracker.presenters.zoom import build_zoom_state
from tracker.reports.csv_tables import sessions_table
from tracker.reports.text_form import as_text, as_values


def test_half_a_row_is_a_tap_and_the_same_tap_takes_it_out() -> None:
    rug = book(session(1, 4))
    form = session_page.blank_form(rug, TODAY).with_rows(3, rug).with_begun(50)
    state = session_page.build_session_state(form, rug, TODAY)
    assert (state.half, state.begun, state.rows_after) == (50, 50, "row 7 done and 50 knots")
    stored = session_page.to_session(form, rug, TODAY)
    assert (stored.rows, stored.begun_knots) == (3, 50)
    assert session_page.saved_words(stored, rug, correcting=False) == "3 rows and 50 knots saved"
    assert session_page.to_session(form.with_begun(50), rug, TODAY).begun_knots is None
    assert session_page.form_of(stored, rug).begun_knots == 50


def test_half_a_row_alone_is_enough_to_save_and_begins_the_rug() -> None:
    rug = book(plan=replace(book().plan, stage=RugStage.PLANNED))
    form = session_page.blank_form(rug, TODAY)
    assert not session_page.build_session_state(form, rug, TODAY).can_save
    form = form.with_begun(50)
    assert session_page.build_session_state(form, rug, TODAY).can_save
    (plan,) = session_page.begun(rug.plan, session_page.to_session(form, rug, TODAY))
    assert plan.stage is RugStage.ON_LOOM


def test_what_no_row_has_is_refused() -> None:
    rug = book(session(1, 190))
    form = session_page.blank_form(rug, TODAY)
    with pytest.raises(BadEntry, match="has 100 knots"):
        session_page.to_session(form.with_begun(100), rug, TODAY)
    with pytest.raises(BadEntry, match="every row is woven"):
        session_page.to_session(form.with_rows(10, rug).with_begun(50), rug, TODAY)
    assert session_page.to_session(form.with_rows(9, rug).with_begun(99), rug, TODAY).begun_knots == 99


def test_a_row_that_was_begun_is_told_until_rows_are_entered() -> None:
    rug = book(session(1, 4, begun_knots=30))
    form = session_page.blank_form(rug, TODAY)
    assert session_page.build_session_state(form, rug, TODAY).rows_after == "row 4 done and 30 knots"
    form = form.with_rows(2, rug)
    assert session_page.build_session_state(form, rug, TODAY).rows_after == "then row 6 of 200 done"


def test_the_place_at_the_loom_says_how_much_of_the_row_is_tied() -> None:
    rug = with_cartoon(session(1, 0))
    kept = loom.with_place(None, "rug", 1, 2, on=TODAY)
    place = loom.knots_at(kept, rug, mirrored=False)
    assert place == PlaceAtLoom(1, 5, TODAY)  # 4 madder and 1 indigo of row 1
    # From the back the row begins at its other end: 5 madder, 1 indigo.
    assert loom.knots_at(kept, rug, mirrored=True) == PlaceAtLoom(1, 6, TODAY)
    form = session_page.blank_form(rug, TODAY).with_place_at_loom(rug, place)
    assert form.begun_knots == 5
    marked = session_page.build_session_state(form, rug, TODAY, place=place)
    assert marked.begun_told == "Marked at the loom. Tap it to change it."
    assert session_page.build_session_state(form.with_begun(2), rug, TODAY, place=place).begun_told == ""
    # With a row finished the place is another row's, and what was typed stands.
    assert form.with_rows(1, rug).with_place_at_loom(rug, place).begun_knots is None
    assert form.with_begun(2).with_place_at_loom(rug, place).begun_knots == 2
    assert loom.knots_at(None, rug, False) is None
    assert loom.knots_at(loom.with_place(None, "rug", 9, 2), rug, False) is None


@pytest.mark.parametrize("marked_on", [TODAY - timedelta(days=1), None])
def test_a_mark_left_over_from_another_evening_is_offered_and_saves_nothing_by_itself(marked_on) -> None:
    rug = with_cartoon(session(1, 0))
    place = loom.knots_at(loom.with_place(None, "rug", 1, 2, on=marked_on), rug, mirrored=False)
    form = session_page.blank_form(rug, TODAY).with_place_at_loom(rug, place)
    state = session_page.build_session_state(form, rug, TODAY, place=place)
    assert (state.begun, state.can_save) == (None, False)
    assert (state.begun_offered, state.begun_shown) == (5, "5 knots")
    assert state.begun_told.startswith("Marked at the loom")
    taken = form.with_begun(state.begun_offered)
    assert session_page.build_session_state(taken, rug, TODAY, place=place).can_save
    # Of the evening on which it was marked it counts at once.
    if marked_on is not None:
        that_evening = form.with_day(marked_on, TODAY).with_place_at_loom(rug, place)
        assert that_evening.begun_knots == 5


def test_the_loom_says_what_a_mark_will_do() -> None:
    rug = with_cartoon(session(1, 0))

    def said(on, form=None, row=1, shown=None, run=2, short=False):
        place = loom.knots_at(loom.with_place(None, "rug", row, run, on=on), rug, mirrored=False)
        state = loom.build_loom_state(rug, shown, form, TODAY)
        return loom.marked_words(place, rug, state, form, TODAY, short)

    assert said(TODAY) == "5 knots of row 1 tied. Today's session counts them."
    assert said(TODAY, short=True) == "5 knots for the session"
    yesterday = TODAY - timedelta(days=1)
    assert said(yesterday) == "5 knots of row 1 were marked earlier. The next session offers them."
    counted = session_page.blank_form(rug, TODAY).with_rows(2, rug)
    assert said(TODAY, counted, row=3, run=1) == "and 2 knots tied"
    assert said(yesterday, counted, row=3, run=1) == ""
    # Another row, and a row that is whole, are no part of a row.
    assert said(TODAY, row=3, run=1) == said(TODAY, shown=2) == said(TODAY, run=3) == said(TODAY, run=0) == ""


def test_the_row_goes_on_at_the_run_where_the_session_ended() -> None:
    # Row 1 is 4 madder, 1 indigo, 5 madder; 7 knots are tied.
    rug = with_cartoon(session(1, 0, begun_knots=7))
    state = loom.build_loom_state(rug, None, None, TODAY)
    assert (state.begun, state.begun_runs) == (7, 2)
    assert state.summary == "7 of 10 knots tied"
    run = state.runs[2]
    assert (run.begun, run.count, run.span) == (2, "3", "2 of 5 tied")
    assert build_aloud_state(state, 2).spoken == "3 Madder."

    # The head of the row follows the taps, to its end and back.
    def head(on, run):
        place = loom.knots_at(loom.with_place(None, "rug", 1, run, on=on), rug, mirrored=False)
        return loom.summary_with_mark(state, place, rug)

    assert [head(TODAY, run) for run in (3, 2, 1)] == [
        "10 of 10 knots tied",
        "5 of 10 knots tied",
        "4 of 10 knots tied",
    ]
    assert loom.summary_with_mark(state, None, rug) == "7 of 10 knots tied"
    # Another row, one weaver's part, and a row counted since know nothing of it.
    assert loom.build_loom_state(rug, 2, None, TODAY).begun == 0
    assert loom.build_loom_state(rug, None, None, TODAY, part=(1, 5)).begun == 0
    counted = session_page.blank_form(rug, TODAY).with_rows(1, rug)
    assert loom.build_loom_state(rug, None, counted, TODAY).begun == 0


def test_the_picture_shows_the_begun_row_from_the_side_where_it_begins() -> None:
    rug = drawn(60)
    rug = replace(rug, sessions=(replace(rug.sessions[0], begun_knots=30),))
    whole = rug_picture(drawn(200))
    picture = rug_picture(rug)
    assert (picture[60, :30] == whole[60, :30]).all()
    assert (picture[60, 30:] != whole[60, 30:]).any(axis=1).all()
    mirrored = rug_picture(rug, mirrored=True)
    assert (mirrored[60, 70:] == whole[60, 70:]).all()
    assert (mirrored[60, :70] != whole[60, :70]).any(axis=1).all()
    assert np.array_equal(mirrored[61:], picture[61:])


def test_every_page_and_paper_says_the_same_of_the_begun_row() -> None:
    rug = book(session(1, 4), session(2, 2, begun_knots=30))
    answers = outlook(rug, TODAY)
    assert build_home_state(rug, answers).next_row == "row 7: 30 of 100 knots"
    assert what_changed(None, answers, rug).startswith("row 7: 30 of 100 knots · ")
    assert build_zoom_state(rug, answers).row_words == "6 rows, 30 knots"
    assert "At the loom: row 7: 30 of 100 knots" in as_text(rug, answers)
    assert as_values(rug, answers)["where"]["knots_begun"] == 30
    assert as_values(rug, answers)["where"]["knots_woven"] == 630
    lines = list(csv.DictReader(io.StringIO(sessions_table(rug).decode("utf-8-sig"))))
    assert [line["knots of the next row"] for line in lines] == ["0", "30"]
    facts = {fact.label: fact for fact in facts_of_today(rug, answers)}
    assert facts["Where it stands"].more.startswith("30 knots of the next row, ")


def test_what_is_begun_is_no_longer_to_come_and_is_taught() -> None:
    rug = book(session(1, 4), session(2, 2, begun_knots=30))
    assert ahead_of(rug, outlook(rug, TODAY)).rows == Fraction(1937, 10)  # 200 - 6 - 30 of 100
    assert lessons_of(rug).knots == 630


def test_the_diary_says_the_part_of_a_row() -> None:
    assert headline(session(1, 2, begun_knots=30), Names()) == "+2 rows, 30 knots of the next row, 3 h"
    assert headline(session(1, 0, None, begun_knots=30), Names()) == "30 knots of the next row"
    assert dict(details(session(1, 2, begun_knots=0), Names()))["Begun"] == "nothing of the next row"
    assert "Begun" not in dict(details(session(1, 2), Names()))


def test_after_the_last_row_no_part_of_another_is_offered() -> None:
    rug = book(session(1, 190))
    form = session_page.blank_form(rug, TODAY)
    assert (
        session_page.build_session_state(form.with_rows(9, rug), rug, TODAY).begun_label == "Part of row 200"
    )
    assert session_page.build_session_state(form.with_rows(10, rug), rug, TODAY).begun_label == ""
    # What was said of a row before the last one was counted can still be taken out: no row 201 is named for it.
    past = session_page.build_session_state(form.with_begun(50).with_rows(10, rug), rug, TODAY)
    assert (past.begun_label, past.rows_after) == ("No row is left to begin", "then row 200 of 200 done")
