"""The timer counts work, not pauses, and survives the app, the night and a jumping clock."""

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from tracker.presenters import timer

SIX = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)


def after(**span: float) -> datetime:
    return SIX + timedelta(**span)


def test_pauses_are_not_counted() -> None:
    running = timer.start(SIX)
    paused = timer.pause(running, after(hours=1))
    resumed = timer.resume(paused, after(hours=1, minutes=30))
    assert timer.worked(resumed, after(hours=2)) == timedelta(hours=1, minutes=30)
    assert timer.hours_worked(resumed, after(hours=2)) == 1.5


def test_work_shorter_than_an_hour_is_told_to_five_minutes_and_longer_to_the_quarter() -> None:
    running = timer.start(SIX)
    told = {least: timer.hours_worked(running, after(minutes=least)) for least in (1, 7, 38, 70)}
    assert told == pytest.approx({1: 0.0, 7: 5 / 60, 38: 40 / 60, 70: 1.25})


def test_it_stands_still_while_paused() -> None:
    paused = timer.pause(timer.start(SIX), after(minutes=42))
    assert timer.shown(paused, after(hours=9)) == "0:42"
    assert timer.pause(paused, after(hours=3)) == paused


def test_it_survives_being_kept() -> None:
    running = timer.resume(timer.pause(timer.start(SIX), after(minutes=10)), after(minutes=20))
    assert timer.from_kept(json.loads(json.dumps(timer.to_kept(running)))) == running


@pytest.mark.parametrize("kept", [None, 3, {}, {"started": "noon"}, {"started": "2026-11-25T18:00:00"}])
def test_what_is_no_timer_is_none(kept) -> None:
    assert timer.from_kept(kept) is None


def test_a_clock_set_back_gives_no_negative_work() -> None:
    assert timer.worked(timer.start(SIX), after(hours=-5)) == timedelta(0)


def test_a_clock_set_back_while_paused_takes_no_time_off() -> None:
    paused = timer.pause(timer.start(SIX), after(hours=1))
    resumed = timer.resume(paused, after(minutes=30))
    assert timer.worked(resumed, after(hours=2)) == timedelta(hours=2)


def test_a_forgotten_timer_is_not_believed() -> None:
    assert timer.hours_worked(timer.start(SIX), after(hours=17)) is None


def test_a_sitting_ends_with_a_long_pause_over_a_midnight_and_not_before() -> None:
    def noon(day: int, hour: int = 12) -> datetime:
        return datetime(2026, 11, day, hour).astimezone()

    paused = timer.pause(timer.start(noon(24, 19)), noon(24, 21))
    assert timer.ended_on(paused, noon(25), date(2026, 11, 25)) == date(2026, 11, 24)
    assert timer.ended_on(paused, noon(24, 23), date(2026, 11, 24)) is None
    assert timer.ended_on(paused, noon(25, 0), date(2026, 11, 25)) is None, "three hours over midnight"
    assert timer.ended_on(timer.start(noon(24, 21)), noon(25), date(2026, 11, 25)) is None, "it runs"
    short = timer.pause(timer.start(noon(24, 19)), noon(24, 19) + timedelta(minutes=2))
    assert timer.ended_on(short, noon(25), date(2026, 11, 25)) is None, "two minutes are no hours"
    assert timer.ended_on(None, noon(25), date(2026, 11, 25)) is None


def test_a_break_is_due_after_the_interval_and_again_after_the_next() -> None:
    running = timer.start(SIX)
    assert not timer.break_due(running, after(minutes=44), 45)
    assert timer.break_due(running, after(minutes=45), 45)
    told = timer.reminded(running, after(minutes=45))
    assert not timer.break_due(told, after(minutes=46), 45)
    assert timer.break_due(told, after(minutes=90), 45)
    assert not timer.break_due(running, after(hours=3), 0)
    assert not timer.break_due(timer.pause(running, after(hours=1)), after(hours=3), 45)
