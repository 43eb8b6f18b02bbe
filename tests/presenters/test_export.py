"""What the page of things to take along says of a rug at each point of its life."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.unit.reports.books import small_answers, small_book
from tracker.domain.rug import RugStage, Session
from tracker.presenters.export import ExportState, Kind, build_export_state, usual_first_row


def card(page: ExportState, kind: Kind):
    return next(one for one in page.cards if one.kind is kind)


def test_a_rug_on_the_loom_has_a_record_so_far_and_prints_from_the_next_row() -> None:
    page = build_export_state(small_book(), small_answers(), "Documents › Loomside")
    assert card(page, Kind.RECORD).title == "A record so far"
    assert "on the loom" in page.headline
    assert "Documents › Loomside" in page.goes_where
    assert page.first_row == 4
    assert "from row 4 on" in card(page, Kind.ROWS).note
    assert "3 sessions" in card(page, Kind.TABLES).note
    assert all(one.can for one in page.cards)


def test_a_finished_rug_has_its_record_and_nothing_for_the_calendar() -> None:
    book = small_book(days_off=())
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


def test_the_first_row_stays_within_the_cartoon() -> None:
    book, answers = small_book(), small_answers()
    assert build_export_state(book, answers, "here", 99).first_row == 4
    assert build_export_state(book, answers, "here", -1).first_row == 1
    woven = replace(book, sessions=(Session(id="s", rug_id="rug", day=date(2026, 11, 9), rows=4),))
    assert usual_first_row(woven) == 1
