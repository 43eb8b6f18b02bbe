"""Our receiver, run: reminders the app handed over come while it is closed, after a restart, and never twice or too late.

The classes of Android that it calls are our own stand-ins (`receiver_phone.java.txt`); that Android has them as they are
called is test_java.py's affair. What the system itself does with an alarm is taken on trust.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tests.package.spec import ROOT
from tracker.device import alarms, arrivals
from tracker.domain.reminder import Reminder

RECEIVER = ROOT / "android" / "src" / "loomside" / "book" / "ReminderReceiver.java"
PARTS = Path(__file__).with_name("receiver_phone.java.txt")
NOW = datetime.now(UTC).replace(second=0, microsecond=0, tzinfo=None)
"""The phone's wall clock: its zone is UTC to begin with."""
pytestmark = pytest.mark.skipif(shutil.which("javac") is None, reason="needs a Java compiler")


@pytest.fixture(scope="module")
def classes(tmp_path_factory) -> Path:
    """Compile the receiver with what stands in for Android; return the folder of the classes."""
    folder = tmp_path_factory.mktemp("java")
    sources = [RECEIVER]
    for name, text in re.findall(
        r"^=== (\S+)\n(.*?)(?=^=== |\Z)", PARTS.read_text(encoding="utf-8"), re.M | re.S
    ):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        sources.append(path)
    command = [
        "javac",
        "-nowarn",
        "-proc:none",
        "-encoding",
        "UTF-8",
        "-d",
        str(folder / "out"),
        *map(str, sources),
    ]
    subprocess.run(command, check=True, capture_output=True, text=True)
    return folder / "out"


def life(classes: Path, level: int, *deeds: str) -> list[dict]:
    """Let a phone do one thing after another; return what alarms it has and what it shows after each."""
    ran = subprocess.run(
        ["java", "-XX:TieredStopAtLevel=1", "-Dfile.encoding=UTF-8", "-Dsun.stdout.encoding=UTF-8", "-cp", str(classes), "loomside.book.Life", str(level)],
        input="\n".join(deeds), capture_output=True, encoding="utf-8", check=True, env={**os.environ, "TZ": "UTC"},
    )  # fmt: skip
    return [json.loads(line) for line in ran.stdout.splitlines()]


def handed_over(*reminders: Reminder) -> str:
    """Return the deed of handing these over, in the words in which the app does it."""
    return f"schedule {alarms.as_message(reminders)}"


def reminder(kind: str, due: datetime, until: datetime | None = None) -> Reminder:
    words = 'Nothing is logged for "Çiçek" \\ today.\nStill time.'
    page = {"session": "session", "order": "shopping"}.get(kind, "home")
    return Reminder(
        kind, f"About {kind}", due, until or due + timedelta(hours=4), f"A {kind}?", words, page, "r1"
    )


def milliseconds(wall_clock: datetime, zone: str = "UTC") -> int:
    return round(wall_clock.replace(tzinfo=ZoneInfo(zone)).timestamp() * 1000)


@pytest.mark.parametrize("level", [24, 36])
def test_reminders_come_while_the_app_is_closed_and_after_a_restart(level: int, classes: Path) -> None:
    tonight, tomorrow = NOW + timedelta(hours=2), NOW + timedelta(days=1)
    missed = reminder(
        "copy", NOW - timedelta(hours=1)
    )  # its hour came while the phone was off, and it still holds
    over = reminder("break", NOW - timedelta(hours=5), NOW - timedelta(hours=1))
    first, restarted, rung, again, changed, abroad, empty = life(
        classes,
        level,
        handed_over(reminder("session", tonight), reminder("order", tomorrow), missed, over),
        "restart",
        "ring 1",
        "restart",
        handed_over(reminder("order", tomorrow)),
        "zone Asia/Kathmandu",
        handed_over(),
    )
    at = {"1": milliseconds(tonight), "2": milliseconds(tomorrow), "3": milliseconds(missed.due)}
    assert first == {"alarms": at, "notices": []}, "what is over is not reminded of"
    assert restarted == first, "the system forgets alarms when it restarts"
    ((channel, name, title, words, whole, opens, action, page, rug),) = rung["notices"]
    assert (channel, name) == (("session", "About session") if level >= 26 else ("", ""))
    assert (title, words) == ("A session?", reminder("session", tonight).words)
    assert whole == words
    assert (opens, action, page, rug) == ("org.kivy.android.PythonActivity", arrivals.OPEN, "session", "r1")
    del at["1"]
    assert (again["alarms"], again["notices"]) == (at, []), "what was shown comes once more after a restart"
    assert changed["alarms"] == {"1": milliseconds(tomorrow)}, "what the app no longer reminds of stays set"
    assert abroad["alarms"] == {"1": milliseconds(tomorrow, "Asia/Kathmandu")}, (
        "nine in the morning stays nine"
    )
    assert empty == {"alarms": {}, "notices": []}


def test_a_reminder_that_comes_too_late_is_not_shown_and_not_kept(classes: Path) -> None:
    """Its evening is over where she is now; the alarm was set before she went there."""
    evening = reminder("session", NOW + timedelta(hours=1))
    set_, _abroad, rung, restarted = life(
        classes, 36, handed_over(evening), "zone Pacific/Kiritimati", "ring 1", "restart"
    )
    assert set_["alarms"]
    assert rung["notices"] == []
    assert restarted["alarms"] == {}
