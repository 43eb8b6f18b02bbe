"""What the page of things to take along says of a rug at each point of its life."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from tests.unit.reports.books import small_answers, small_book
from tracker.domain.rug import RugStage, Session
from tracker.presenters.export import (
    ExportCard,
    ExportState,
    Kind,
    build_export_state,
    usual_first_row,
    written_words,
)


def card(page: ExportState, kind: Kind):
    return next(one for one in page.cards if one.kind is kind)


def test_a_rug_on_the_loom_has_a_record_so_far_and_prints_from_the_next_row() -> None:
    page = build_export_state(small_book(), small_answers(), "Documents › Loomside")
    assert card(page, Kind.RECORD).title == "A record so far"
    assert "on the loom" in page.headline
    assert "Documents › Loomside" in page.goes_where
    assert page.first_row == 4
    assert "from row 4 on" in card(page, Kind.ROWS).note
    # Of the three evenings the last took a row out again.
    assert "2 sessions and 1 of unpicking, yarns" in card(page, Kind.TABLES).note
    assert all(one.can for one in page.cards)


def test_a_finished_rug_has_its_record_and_nothing_for_the_calendar() -> None:
    # Days off to come, too, are no days of a rug that is off the loom.
    book = small_book()
    book = replace(book, plan=replace(book.plan, stage=RugStage.FINISHED))
    page = build_export_state(book, small_answers(finish=None, finished=True), "here")
    assert card(page, Kind.RECORD).title == "The record"
    assert not card(page, Kind.CALENDAR).can
    assert "nothing for a calendar" in card(page, Kind.CALENDAR).note
    assert page.first_row == 1


def test_days_off_alone_fill_a_calendar() -> None:
    assert card(build_export_state(small_book(), small_answers(finish=None), "here"), Kind.CALENDAR).can
    past = tuple(off for off in small_book().days_off if off.last_day < date(2026, 11, 25))
    assert not card(
        build_export_state(small_book(days_off=past), small_answers(finish=None), "here"), Kind.CALENDAR
    ).can


def test_a_rug_without_a_cartoon_says_why_no_rows_are_printed() -> None:
    rows = card(build_export_state(small_book(cartoon=None), small_answers(), "here"), Kind.ROWS)
    assert not rows.can
    assert "no cartoon" in rows.note


def test_a_planned_rug_says_that_all_comes_from_the_plan() -> None:
    page = build_export_state(small_book(sessions=()), small_answers(), "here")
    assert "from the plan" in page.headline
    assert page.first_row == 1


def test_the_page_in_full() -> None:
    page = build_export_state(small_book(), small_answers(), "", 3)
    assert (page.rug_name, page.headline, page.goes_where, page.first_row, page.rows) == (
        "Little field",
        "This rug is on the loom: all of this is so far, as of today.",
        "Each can be given to a phone or an app, or saved where you say.",
        3,
        4,
    )
    assert page.cards == (
        ExportCard(
            Kind.RECORD, "A record so far",
            "PDF to print or send. Its picture as woven, size, knots, yarns, how it is being woven, and today's answers.",
            "rug", True,
        ),
        ExportCard(
            Kind.ROWS, "The rows of the cartoon",
            "PDF to print: the runs of every row from row 3 on, to tick off at the loom.", "row", True,
        ),
        ExportCard(
            Kind.CALENDAR, "The days to come",
            ("Calendar file: the last row, marks on the way, yarn to order, days off. Open it in your "
            "calendar again and they move."),
            "calendar", True,
        ),
        ExportCard(
            Kind.TABLES, "Tables", "CSV files for a spreadsheet: 2 sessions and 1 of unpicking, yarns, what happened to them, rows.", "chart", True,
        ),
    )  # fmt: skip
    there = build_export_state(small_book(), small_answers(), "Documents")
    assert there.goes_where == "Written to the folder Documents; what lies there is never overwritten."
    planned = build_export_state(small_book(sessions=()), small_answers(), "")
    assert planned.headline == "No row is woven yet: all of this comes from the plan."
    assert planned.cards[0].note == (
        "PDF to print or send. The plan on paper: size, knots, yarns and when it may be done."
    )
    done = replace(small_book(cartoon=None), plan=replace(small_book().plan, stage=RugStage.FINISHED))
    over = build_export_state(done, small_answers(finish=None), "")
    assert over.headline == "This rug is finished: hand its record over with it."
    assert over.cards[0].note.endswith(
        "For whoever gets the rug: its picture, size, knots, yarns and how it was woven, with advice on its care."
    )
    assert (over.first_row, over.rows, over.cards[1].can) == (1, 0, False)
    assert over.cards[1].note == "This rug has no cartoon, so there are no rows to print."
    assert build_export_state(done, small_answers(), "", 5).first_row == 1
    assert written_words(Path("/home/a/Record.pdf")) == "Written: Record.pdf"


def test_the_first_row_stays_within_the_cartoon() -> None:
    book, answers = small_book(), small_answers()
    assert build_export_state(book, answers, "here", 99).first_row == 4
    assert build_export_state(book, answers, "here", -1).first_row == 1
    woven = replace(book, sessions=(Session(id="s", rug_id="rug", day=date(2026, 11, 9), rows=4),))
    assert usual_first_row(woven) == 1
