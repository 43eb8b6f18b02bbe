"""Dye lots in words: the page of a yarn, the row page in time, the record, and what a plan writes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.presenters.answers import yarn as yarn_answer
from tests.unit.forecast.test_dye_lots import TODAY, lot, needed_g, opened, striped, weighed
from tracker.domain.lot_change import ChangePlace, LotChange
from tracker.domain.rug import RugBook, RugStage
from tracker.forecast.outlook import outlook
from tracker.presenters.dye_lots import (
    build_lots_state,
    change_marks,
    done_change,
    loom_lot,
    lots_line,
    plan_change,
    reason_words,
    record_words,
)
from tracker.presenters.loom import build_loom_state
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.yarn import build_yarn_story_state
from tracker.presenters.zoom import build_zoom_state
from tracker.reports.csv_tables import yarn_events_table


def two_lots(*changes: LotChange, to: int = 160) -> RugBook:
    book = striped()
    book = replace(book, lots=(lot("17", needed_g(book, 1, to)), lot("18", 2000.0, 3)), lot_changes=changes)
    return weighed(book, needed_g(book, 51, to) + 2000.0)


def planned(row: int, blend: int = 0) -> LotChange:
    return replace(opened("18", row, blend), done_day=None)


def story(book: RugBook):
    state = build_yarn_story_state(book, outlook(book, TODAY), "red")
    assert state is not None
    return state


def test_the_page_says_which_lot_is_open_what_is_left_and_where_to_change() -> None:
    lots = story(two_lots()).lots
    assert lots is not None
    assert [(line.head, line.open) for line in lots.lines] == [("Dye lot 17", True), ("Dye lot 18", False)]
    assert lots.lines[0].more == "assumed open: bought first"
    assert lots.warning.startswith("Dye lot 17 ends about row ")
    # With the other lot there is enough: nothing is to buy in red, and what one shade would take is said beside.
    assert "uy" not in lots.warning
    assert lots.alone.startswith("With the other lots there is enough. To keep to this one alone, ")
    assert lots.intro == "Change to dye lot 18 where it shows least:"
    assert lots.places[0].head == "From row 121"
    assert "The colour starts again in this row, so the lots do not touch." in lots.places[0].reason
    assert "would be left over" in lots.places[0].reason
    assert len(lots.places) == 3


def test_one_lot_that_lasts_is_not_spoken_of() -> None:
    book = replace(striped(), lots=(lot("17", 5000.0),))
    assert story(book).lots is None


def test_one_lot_that_ends_too_soon_asks_for_the_same_bath() -> None:
    book = striped()
    lots = story(replace(book, lots=(lot("17", needed_g(book, 1, 100)),))).lots
    assert lots is not None
    assert lots.lines == ()
    assert lots.warning.endswith("Buy the rest from the same dye bath while the dyer still has it.")


def test_a_lot_that_would_end_with_the_last_row_is_not_told_to_end_there() -> None:
    book = striped()
    only = story(replace(book, lots=(lot("17", needed_g(book, 1, 200) * 1.03),)))
    # How it stands, and the lot to ask for, is said once.
    assert only.lots is None
    assert only.order.startswith("It may just last.")
    assert "of dye lot 17" in only.order


def test_the_dye_lot_to_order_is_the_open_one_not_the_one_bought_last() -> None:
    book = striped()
    book = replace(book, lots=(lot("17", needed_g(book, 1, 80)), lot("18", 30.0, 3)))
    assert "of dye lot 17" in story(book).order


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (ChangePlace(row=9, meeting=None, blend_rows=8), "Without a cartoon nobody knows"),
        (ChangePlace(row=9, meeting=0, in_row=4), "The colour starts again in this row"),
        (ChangePlace(row=9, meeting=0, in_row=4, before=3), "No knot of it touches one of the row before"),
        (ChangePlace(row=9, meeting=1, pieces=1, longest=1, in_row=4, before=3), "1 knot lies on the row before"),
        (
            ChangePlace(row=9, meeting=6, pieces=3, longest=2, in_row=9, before=9),
            ("6 knots lie on the row before, in 3 places, at most 2 side by side. Broken up like "
            "this, the change hardly shows."),
        ),
        (
            ChangePlace(row=9, meeting=40, pieces=1, longest=40, in_row=40, before=40, plain=True),
            "40 knots side by side lie on the row before. Such a long line shows.",
        ),
        (ChangePlace(row=9, meeting=40, blend_rows=8, plain=True), "Let the lots take turns"),
    ],
)  # fmt: skip
def test_every_place_says_why(place: ChangePlace, words: str) -> None:
    assert words in reason_words(place)


def test_taking_a_place_plans_it_and_taking_another_moves_the_plan() -> None:
    book = two_lots()
    first = plan_change(book, "red", "lot 18", ChangePlace(row=121), TODAY)
    assert (first.row, first.lot_id, first.done_day) == (121, "lot 18", None)
    book = replace(book, lot_changes=(first,))
    state = story(book).lots
    assert state is not None
    assert (state.planned, state.places) == ("Dye lot 18 from row 121, planned", ())
    second = plan_change(book, "red", "lot 18", ChangePlace(row=90, blend_rows=8), TODAY)
    assert (second.id, second.row, second.blend_rows) == (first.id, 90, 8)


def test_the_row_page_is_silent_far_off_and_speaks_when_the_row_comes_near() -> None:
    book = two_lots(planned(121))
    assert loom_lot(book, 121 - 13) is None
    near = loom_lot(book, 121 - 12)
    assert near is not None
    assert (near.words, near.due) == ("In 12 rows: Madder from dye lot 18", False)
    assert "until then from dye lot 17" in near.sentence
    here, past = loom_lot(book, 121), loom_lot(book, 125)
    assert here is not None
    assert (here.words, here.due) == ("From this row: Madder from dye lot 18", True)
    assert past is not None
    assert past.words == "Changed? Madder from dye lot 18"
    done = done_change(here.change, 122, TODAY)
    assert (done.row, done.done_day) == (122, TODAY)
    assert loom_lot(replace(book, lot_changes=(done,)), 125) is None
    assert loom_lot(replace(book, plan=replace(book.plan, stage=RugStage.FINISHED)), 121) is None
    assert build_loom_state(book, 121, None, TODAY).state == "row"


def test_while_two_lots_take_turns_each_row_says_which_is_its_own() -> None:
    book = two_lots(opened("18", 60, 4))
    said = [getattr(loom_lot(book, row), "words", "") for row in range(59, 66)]
    mine = "Madder: this row from dye lot "
    assert said == ["", mine + "18", mine + "17", mine + "18", mine + "17", "", ""]


def test_the_record_the_tables_and_the_cartoon_show_the_change() -> None:
    book = two_lots(opened("18", 41))
    answers = outlook(book, TODAY)
    entry = next(one for one in rug_record(book, answers, longest=40).yarns if one.name == "Madder")
    assert "dye lot 18 from row 41" in entry.lines
    assert "dye lot opened: from row" in yarn_events_table(book).decode()
    assert [(mark.row, mark.words, mark.planned) for mark in build_zoom_state(book, answers).lots] == [
        (41, "dye lot 18", False)
    ]
    assert [mark.planned for mark in change_marks(two_lots(planned(121)))] == [True]
    assert record_words(two_lots(planned(121)), book.yarns[0]) == ""
    early = two_lots(planned(121), to=60)
    done = replace(early, plan=replace(early.plan, stage=RugStage.FINISHED, finished_day=TODAY))
    assert change_marks(early)
    assert change_marks(done) == (), "finished before it, the rug has no such row"


def test_a_yarn_without_lots_has_no_part_on_its_page() -> None:
    assert build_lots_state(striped(), yarn_answer("red"), 200, TODAY) is None


def test_no_change_is_proposed_in_rows_that_are_tied_and_not_saved_yet() -> None:
    book = two_lots()
    answers = outlook(book, TODAY)

    def proposed(counted: int) -> list[int]:
        state = build_yarn_story_state(book, answers, "red", counted)
        assert state is not None
        assert state.lots is not None
        return [line.place.row for line in state.lots.places]

    woven, saved = book.rows_woven, proposed(0)
    assert saved
    assert proposed(min(saved) - 1 - woven) == saved
    # From the row on that was counted last, those above it; beyond all of them the very next row.
    assert proposed(min(saved) - woven) == [row for row in saved if row > min(saved)] != []
    beyond = proposed(max(saved) - woven)
    assert beyond
    assert min(beyond) > max(saved)
    assert proposed(200 - woven) == [], "no row is to come"
    # A row that is tied in part has knots of the open lot in it.
    gone = replace(book, lots=(lot("17", needed_g(book, 1, 40)), lot("18", 2000.0, 3)), weighings=())
    begun = replace(
        gone, sessions=(*gone.sessions[:-1], replace(gone.sessions[-1], begun_knots=gone.knots_across // 2))
    )
    for of, first in ((gone, woven + 1), (begun, woven + 2)):
        lots = story(of).lots
        assert lots is not None
        assert [line.place.row for line in lots.places] == [first]


def test_once_the_change_is_planned_nobody_is_told_to_say_from_which_row() -> None:
    book = two_lots()
    book = replace(book, lots=(lot("17", needed_g(book, 1, 40)), lot("18", 2000.0, 3)), weighings=())
    answers = outlook(book, TODAY)
    answer = next(answer for answer in answers.yarns if answer.yarn_id == "red")
    before = story(book).lots
    assert before is not None
    assert "Say from which row" in before.warning
    # As the key plans it.
    assert answer.lots is not None
    assert answer.lots.next_lot_id is not None
    place = before.places[0].place
    change = plan_change(book, "red", answer.lots.next_lot_id, place, TODAY)
    taken = replace(book, lot_changes=(change,))
    after = story(taken).lots
    assert after is not None
    assert after.warning == ""
    assert after.planned.endswith("planned")
    assert lots_line(answer) != ""
    assert lots_line(answer, change, book.rows_woven) == ""
    # Planned too late the lot ends before it, and that is said, not what is said already.
    late = replace(taken, lot_changes=(replace(change, row=place.row + 20),))
    told = story(late).lots
    assert told is not None
    assert told.warning == "Dye lot 17 should be used up by now, before the change that is planned."
    # Counted up to there it is due.
    due = build_yarn_story_state(late, outlook(late, TODAY), "red", 20)
    assert due is not None
    assert due.lots is not None
    assert due.lots.warning == ""


def test_a_lot_that_must_be_used_up_ends_at_no_row_of_the_list_of_yarns() -> None:
    book = striped()
    gone = needed_g(book, 1, 40)
    book = replace(book, lots=(lot("17", gone), lot("18", 2000.0, 3)))
    answer = next(answer for answer in outlook(book, TODAY).yarns if answer.yarn_id == "red")
    lots = story(book).lots
    assert lots is not None
    assert lots.warning == "Dye lot 17 should be used up by now. Say from which row on another lot is open."
    assert lots_line(answer) == "dye lot 17 should be used up by now"


def test_a_planned_change_after_which_the_new_lot_hardly_lasts_is_warned_of() -> None:
    """All lots together were "enough, 50 g spare"; with 48 g of the old one left over the new one had 2 g to spare, unsaid."""
    book = striped()
    after = needed_g(book, 121, 200)
    planned_at = planned(121)

    def warning(new_g: float) -> str:
        lots = (lot("17", 2.0 * needed_g(book, 1, 120)), lot("18", new_g, 3))
        told = story(replace(book, lots=lots, lot_changes=(planned_at,))).lots
        assert told is not None
        return told.warning

    assert warning(1.5 * after) == ""
    assert "only just enough" in warning(1.02 * after)
    assert "would be missing" in warning(0.8 * after)
    assert "later row" in warning(0.8 * after)
