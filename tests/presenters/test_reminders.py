"""Breaks are reminded of at the weaver's interval, pauses not counted, and no device service is ever needed."""

import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest

from tests.drafts_in_memory import drafts
from tracker.app.reminders import Reminders
from tracker.device.clock import ClockWatch
from tracker.presenters import timer
from tracker.presenters.settings import BREAK_EVERY

SIX = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)


class Evening:
    """A loom, its timer and a phone that notes what it was asked to do."""

    def __init__(self, **kept) -> None:
        self.drafts = drafts(**kept)
        timer.keep_timer(self.drafts, "rug", timer.start(SIX))
        self.now = SIX
        self.said, self.noticed, self.buzzed = [], [], 0
        self.reminders = Reminders(
            self.drafts, self.said.append, notify=self._notify, vibrate=self._vibrate, now=lambda: self.now
        )

    def _notify(self, title: str, words: str) -> bool:
        self.noticed.append((title, words))
        return True

    def _vibrate(self) -> bool:
        self.buzzed += 1
        return False

    def at(self, **span: float) -> bool:
        self.now = SIX + timedelta(**span)
        return self.reminders.poll()


def test_a_break_is_due_after_45_minutes_unless_the_weaver_says_otherwise() -> None:
    evening = Evening()
    assert not evening.at(minutes=44)
    assert evening.at(minutes=45)
    assert evening.said == ["0:45 at the loom. Stand up, look into the distance, let your hands rest."]
    assert evening.noticed == [("Time for a break", evening.said[0])]
    assert evening.buzzed == 1


def test_it_is_said_once_and_again_after_the_next_interval() -> None:
    evening = Evening(**{BREAK_EVERY: 30})
    assert evening.at(minutes=30)
    assert not evening.at(minutes=31)
    assert not evening.at(minutes=59)
    assert evening.at(minutes=60)
    assert len(evening.said) == 2


def test_a_pause_is_a_break_and_is_not_counted() -> None:
    evening = Evening()
    paused = timer.pause(timer.start(SIX), SIX + timedelta(minutes=40))
    timer.keep_timer(evening.drafts, "rug", paused)
    assert not evening.at(hours=3)
    resumed = timer.resume(paused, SIX + timedelta(hours=3))
    timer.keep_timer(evening.drafts, "rug", resumed)
    assert not evening.at(hours=3, minutes=4)
    assert evening.at(hours=3, minutes=5)


def test_never_means_never_and_no_timer_means_nothing() -> None:
    assert not Evening(**{BREAK_EVERY: 0}).at(hours=5)
    evening = Evening()
    timer.keep_timer(evening.drafts, "rug", None)
    assert not evening.at(hours=2)


@pytest.mark.parametrize("by", [timedelta(days=-10), timedelta(hours=-1), timedelta(hours=5)])
def test_a_clock_that_is_set_while_a_timer_runs_or_is_paused_takes_and_gives_no_hours(by: timedelta) -> None:
    """A phone that fetched the right time an hour back took an hour of the evening, and one ahead gave five."""
    evening, later = Evening(), SIX + timedelta(hours=2)
    timer.keep_timer(evening.drafts, "other", timer.pause(timer.start(SIX), SIX + timedelta(minutes=50)))
    timer.keep_timer(evening.drafts, "odd", timer.Timer(started="0001-01-01T00:00:00+00:00"))
    clock, steady = later, 7200.0
    watch = ClockWatch(lambda: clock, lambda: steady)
    clock, steady = clock + timedelta(seconds=50 + 20), steady + 50  # kept right by a few seconds
    assert watch.set_by() == timedelta(0)
    clock += by
    timer.follow_clock(evening.drafts, watch.set_by())
    assert watch.set_by() == timedelta(0), "told once"
    here, other = (timer.timer_of(evening.drafts, rug_id) for rug_id in ("rug", "other"))
    assert here is not None
    assert other is not None
    assert timer.worked(here, clock) == timedelta(hours=2, seconds=70)
    assert timer.worked(timer.resume(other, clock), clock) == timedelta(minutes=50)


def test_a_forgotten_timer_calls_nobody() -> None:
    evening = Evening()
    assert not evening.at(hours=17)
    assert evening.said == []


def test_a_reminder_is_remembered_when_the_app_is_closed() -> None:
    evening = Evening()
    evening.at(minutes=45)
    again = Evening()
    again.drafts = evening.drafts
    again.reminders = Reminders(
        evening.drafts, again.said.append, notify=again._notify, vibrate=again._vibrate, now=lambda: again.now
    )
    assert not again.at(minutes=50)
    assert again.at(minutes=90)


@pytest.mark.parametrize("kept", ["soon", None, [45]])
def test_an_unreadable_interval_is_the_usual_one(kept) -> None:
    evening = Evening(**{BREAK_EVERY: kept})
    assert not evening.at(minutes=44)
    assert evening.at(minutes=45)


def test_a_device_without_services_stays_quiet() -> None:
    code = (
        "import os; os.environ['PATH'] = ''\n"
        "from tracker.device.notify import notify, vibrate\n"
        "from tracker.device.speak import can_speak, voice\n"
        "from tracker.device.service import service\n"
        "assert service('vibrator') is None and service('no such thing') is None\n"
        "print(notify('a', 'b'), vibrate(), can_speak(), voice())\n"
    )
    ran = subprocess.run(
        [sys.executable, "-W", "error::UserWarning", "-c", code], capture_output=True, text=True, check=False
    )
    assert ran.stdout.split()[1:] == ["False", "False", "None"]
    assert "Traceback" not in ran.stderr
    assert ran.returncode == 0


def test_words_are_read_aloud_where_the_device_can(tmp_path) -> None:
    # a stand-in for the speech program plyer calls on a desktop: it writes down what it was given
    heard = tmp_path / "heard"
    program = tmp_path / "espeak"
    program.write_text(f'#!/bin/sh\nprintf "%s" "$1" > "{heard}"\n')
    program.chmod(0o755)
    code = (
        "import time, pathlib\n"
        "from tracker.device.speak import can_speak, voice\n"
        "assert can_speak(); voice().say('Row 7. 12 madder.')\n"
        f"path = pathlib.Path({str(heard)!r})\n"
        "end = time.monotonic() + 5\n"
        "while not (path.exists() and path.read_text()) and time.monotonic() < end: time.sleep(0.02)\n"
    )
    if not sys.platform.startswith("linux"):
        pytest.skip("plyer's speech program is named so on Linux only")
    import os

    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}"},
    )
    assert ran.returncode == 0, ran.stderr
    assert heard.read_text() == "Row 7. 12 madder."
