"""Clocks that jump, zones that change, summer time, leap days and the year 2038: order, days and forecasts stay."""

from __future__ import annotations

import os
import random
import time
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
import time_machine
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from storage import copies, diary, reading
from storage.book import Book
from storage.unit_of_work import instant, microseconds
from tests.storage.book_samples import everything, plan, session
from tracker.forecast.outlook import outlook


@pytest.mark.parametrize(
    "moment",
    [
        datetime(2038, 1, 19, 3, 14, 7, tzinfo=UTC),
        datetime(2038, 1, 19, 3, 14, 8, 123456, tzinfo=UTC),
        datetime(2106, 2, 7, 6, 28, 16, tzinfo=UTC),
        datetime(2028, 2, 29, 23, 59, 59, 999999, tzinfo=UTC),
        datetime(1969, 12, 31, 23, 59, 59, tzinfo=UTC),
        datetime(1, 1, 1, tzinfo=UTC),
        datetime(9999, 12, 31, 23, 59, 59, 999999, tzinfo=UTC),
    ],
)
def test_an_instant_comes_back_as_it_was(moment):
    assert instant(microseconds(moment)) == moment


def test_an_instant_no_calendar_can_hold_is_still_told():
    assert instant(2**62).year == 9999
    assert instant(-(2**62)).year == 1


def test_an_instant_is_kept_in_utc_whatever_zone_it_is_told_in():
    kathmandu = timezone(timedelta(hours=5, minutes=45))
    assert instant(microseconds(datetime(2026, 3, 2, 23, 50, tzinfo=kathmandu))) == datetime(
        2026, 3, 2, 18, 5, tzinfo=UTC
    )


def test_acts_of_2038_and_of_a_reset_clock_keep_their_order(book, clock):
    rug = plan()
    with book.act("entered") as act:
        act.write(rug)
    told = []
    for moment in (
        datetime(2038, 1, 19, 3, 14, 7, tzinfo=UTC),
        datetime(2038, 1, 19, 3, 14, 8, tzinfo=UTC),
        datetime(1970, 1, 1, tzinfo=UTC),
        datetime(2026, 10, 25, 0, 59, 59, tzinfo=UTC),
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
    ):
        clock.time = moment
        with book.act("session logged") as act:
            act.write(session(rug.id, rows=len(told)))
        told.append(act.act_id)
    assert [entry.act_id for entry in reversed(diary.entries(book))][1:] == told
    assert [one.rows for one in reading.rug_book(book, rug.id).sessions] == [0, 1, 2, 3, 4]


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system cannot change its zone within a process")
def test_days_stay_the_days_on_which_the_weaver_sat_when_the_zone_changes(open_book, monkeypatch):
    days = [date(2026, 3, 29), date(2026, 10, 25), date(2028, 2, 29), date(2038, 1, 19)]
    rug = plan()
    try:
        book = open_book()
        for zone in ("Asia/Kathmandu", "Europe/Istanbul", "America/New_York", "Pacific/Kiritimati"):
            monkeypatch.setitem(os.environ, "TZ", zone)
            time.tzset()
            with book.act("entered") as act:
                act.write(rug)
                for day in days:
                    act.write(session(rug.id, day=day, note=zone))
            book.close()
            book = open_book()
            found = [one.day for one in reading.rug_book(book, rug.id).sessions if one.note == zone]
            assert found == days
            # A copy made while the clock stood at an end of the calendar: no zone leads beyond it.
            made = copies.copy_now(book).path
            for end in ("99991231T235959999999", "00010101T000000000000"):
                book.close()
                made = made.rename(made.with_name(end + made.name[made.name.index("Z") :]))
                book = open_book()
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize("mtime_s", [1e12, 253_402_300_799.0, -1e11, -62_135_596_800.0])
def test_a_book_beside_which_a_file_bears_no_day_of_any_calendar_opens(tmp_path, monkeypatch, mtime_s):
    """A memory card or a copying program may give a file any time: such a book could never be opened again."""
    path = tmp_path / "b.loomside"
    with Book.open(path) as book, book.act("entered") as act:
        act.write(plan())
    told = os.fstat

    def as_told(handle):
        found = list(told(handle))
        found[8] = mtime_s  # st_mtime
        return os.stat_result((*found, *(mtime_s,) * 3))

    monkeypatch.setattr("storage.lock.os.fstat", as_told)
    with Book.open(path) as book:
        assert [one.name for one in reading.rugs(book)] == [plan().name]


def test_the_phones_own_clock_may_stand_still_or_run_back_while_the_book_is_open(tmp_path):
    rug = plan()
    with (
        time_machine.travel(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), tick=False) as traveller,
        Book.open(tmp_path / "book.loomside") as book,
    ):
        with book.act("entered") as act:
            act.write(rug)
        for hours in (0, -1, -1, 48, -100_000):
            traveller.shift(timedelta(hours=hours))
            with book.act("session logged") as act:
                act.write(session(rug.id, rows=1))
        entries = diary.entries(book)
    assert len(entries) == 6
    assert entries[-1].made_at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert entries[0].made_at < entries[-1].made_at


def woven(book, rug, order, jumps, clock):
    """Enter the same sessions in the same order of entry while the clock jumps."""
    with book.act("entered") as act:
        act.write(rug)
    for one, jump in zip(order, jumps, strict=True):
        clock.time += timedelta(hours=jump)
        with book.act("session logged") as act:
            act.write(one)


@given(seed=st.integers(0, 10**6))
@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck), database=None)
def test_a_forecast_does_not_care_what_the_clock_said(open_book, clock, seed):
    chance = random.Random(seed)
    rug = plan()
    first = date(2026, 3, 2)
    order = [
        session(rug.id, first + timedelta(days=number), rows=chance.randrange(1, 6), hours=3.0)
        for number in range(8)
    ]
    today = first + timedelta(days=9)
    answers = []
    for number, jumps in enumerate(([24] * 8, [chance.randrange(-(10**5), 10**5) for _one in order])):
        clock.time = datetime(2026, 3, 2, 18, tzinfo=UTC)
        book = open_book(f"{seed}-{number}-{chance.randrange(10**9)}.loomside")
        woven(book, rug, order, jumps, clock)
        told = reading.rug_book(book, rug.id)
        answers.append((everything(told), outlook(told, today)))
        book.close()
    assert answers[0] == answers[1]


def test_leap_days_and_the_ends_of_the_calendar_are_days_like_any_other(book):
    rug = plan(start_day=date(2024, 2, 29), wished_day=date(2028, 2, 29))
    with book.act("entered") as act:
        act.write(rug)
        act.write(session(rug.id, day=date(2024, 2, 29)))
        act.write(session(rug.id, day=date(2100, 2, 28)))
    told = reading.rug_book(book, rug.id)
    assert [one.day for one in told.sessions] == [date(2024, 2, 29), date(2100, 2, 28)]
    with book.act("corrected") as act:
        act.write(replace(told.sessions[1], day=date(2024, 2, 28)))
    assert [one.day for one in reading.rug_book(book, rug.id).sessions] == [
        date(2024, 2, 28),
        date(2024, 2, 29),
    ]
