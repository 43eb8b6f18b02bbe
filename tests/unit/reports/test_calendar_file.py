"""The calendar read back with icalendar's own parser and held to RFC 5545."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from tests.today import TODAY
from tests.unit.reports.books import small_answers, small_book
from tracker.domain.errors import BadEntry
from tracker.domain.rug import DaysOff, RugBook
from tracker.forecast.answers import Answers
from tracker.presenters.export import has_days_ahead
from tracker.reports.calendar_file import calendar_file

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def events(book: RugBook, answers: Answers, at: datetime = NOON) -> dict[str, dict]:
    """Events by their summary."""
    parsed = Calendar.from_ical(calendar_file(book, answers, at))
    return {
        str(event["SUMMARY"]): {
            "first": event["DTSTART"].dt,
            "after": event["DTEND"].dt,
            "uid": str(event["UID"]),
            "told": str(event.get("DESCRIPTION", "")),
            "sequence": int(event["SEQUENCE"]),
            "alarms": event.walk("VALARM"),
        }
        for event in parsed.walk("VEVENT")
    }


def test_the_last_row_stands_on_its_middle_day_with_the_range_told() -> None:
    found = events(small_book(), small_answers())
    last = found["Little field: last row about today"]
    assert type(last["first"]) is date
    assert (last["first"], last["after"]) == (date(2026, 12, 3), date(2026, 12, 4))
    assert "likely 1 Dec to 9 Dec" in last["told"]
    assert found["Little field: ready about today"]["first"] == date(2026, 12, 7)
    assert "Wash and dry: 4 days" in found["Little field: ready about today"]["told"]
    assert found["Little field: middle, row 2, about today"]["first"] == date(2026, 11, 27)


def test_yarn_to_order_stands_on_its_last_day_and_speaks_up_the_evening_before() -> None:
    order = events(small_book(), small_answers())["Little field: order Indigo"]
    assert order["first"] == date(2026, 11, 28)
    assert "500 g (1 skein)" in order["told"]
    (alarm,) = order["alarms"]
    assert alarm["TRIGGER"].dt == timedelta(hours=-8)


def test_an_order_that_is_late_is_due_today() -> None:
    answers = small_answers()
    late = replace(answers, yarns=(replace(answers.yarns[0], order_by=date(2026, 11, 3)),))
    assert events(small_book(), late)["Little field: order Indigo"]["first"] == TODAY


def test_days_off_run_from_first_to_last_and_past_ones_stay_out() -> None:
    found = events(small_book(), small_answers())
    # DTEND of whole days is the day after the last (RFC 5545, 3.6.1).
    off = found["Feast, with guests; long"]
    assert (off["first"], off["after"]) == (date(2026, 12, 24), date(2026, 12, 27))
    assert "Harvest" not in found
    assert len(found) == 5


def test_taking_it_in_again_moves_the_events_and_doubles_none() -> None:
    before = events(small_book(), small_answers())
    answers = small_answers(day=date(2026, 11, 28))
    moved = replace(
        answers, finish=replace(answers.finish, middle=date(2026, 12, 10), ready=date(2026, 12, 14))
    )
    renamed = replace(small_book(), plan=replace(small_book().plan, name="Big field"))
    after = events(renamed, moved, NOON + timedelta(days=3))
    old, new = before["Little field: last row about today"], after["Big field: last row about today"]
    assert new["first"] == date(2026, 12, 10)
    assert {event["uid"] for event in after.values()} == {event["uid"] for event in before.values()}
    assert old["uid"] == new["uid"]
    assert new["sequence"] > old["sequence"]
    assert len({event["uid"] for event in before.values()}) == len(before)


def test_two_marks_on_one_row_and_two_rugs_keep_their_own_events() -> None:
    days = (date(2026, 11, 26), date(2026, 11, 27), date(2026, 11, 30))
    finish = replace(small_answers().finish, marks=(("middle", 2, *days), ("end of the border", 2, *days)))
    marks = events(small_book(), small_answers(finish=finish))
    assert len({event["uid"] for event in marks.values()}) == len(marks) == 6
    other = replace(small_book(), plan=replace(small_book().plan, id="other"))
    shared = {e["uid"] for e in events(other, small_answers()).values()} & {e["uid"] for e in marks.values()}
    # A day off from the loom is one day off, whichever rug's file tells of it.
    assert shared == {marks["Feast, with guests; long"]["uid"]}


def test_the_file_keeps_to_the_standard_whatever_the_names_hold() -> None:
    book = small_book()
    nasty = 'Длинный ковёр; "a,b"\\n\r\nBEGIN:VEVENT\x00\ud800 ' + "ü" * 200
    named = replace(book, plan=replace(book.plan, name=nasty))
    data = calendar_file(named, small_answers(), NOON)
    assert data.startswith(b"BEGIN:VCALENDAR\r\n")
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert max(len(line) for line in data.split(b"\r\n")) <= 75
    parsed = Calendar.from_ical(data)
    assert parsed["VERSION"] == "2.0"
    assert len(parsed.walk("VEVENT")) == 5
    assert all(event["DTSTAMP"].dt == NOON for event in parsed.walk("VEVENT"))


def test_a_rug_with_nothing_ahead_says_so_instead_of_an_empty_file() -> None:
    done = small_answers(finish=None, yarns=(), finished=True)
    with pytest.raises(BadEntry, match="a calendar file would be empty"):
        calendar_file(small_book(days_off=()), done, NOON)


def test_a_rug_whose_last_row_is_woven_has_no_days_off_any_more() -> None:
    # The page offers no calendar of it either.
    done = small_answers(finish=None, yarns=(), finished=True)
    away = DaysOff(id="off", rug_id=None, first_day=TODAY, last_day=TODAY + timedelta(days=3))
    book = replace(small_book(), days_off=(away,))
    assert not has_days_ahead(book, done)
    with pytest.raises(BadEntry, match="a calendar file would be empty"):
        calendar_file(book, done, NOON)
