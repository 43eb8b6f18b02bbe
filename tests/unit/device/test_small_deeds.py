"""What the phone does in a line or two: the screen kept lit, a picture taken back, a notice, the clock."""

from __future__ import annotations

import sys
import threading
import time
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from PIL import Image

from tracker.device import notify
from tracker.device.awake import keep_awake
from tracker.device.clock import follow_zone, now_utc
from tracker.device.photos import forget_photo, keep_photo, photo_path, thumbnail_path


def test_the_screen_stays_lit_while_asked_and_sleeps_again_after(monkeypatch: pytest.MonkeyPatch) -> None:
    window = SimpleNamespace(allow_screensaver=True)
    monkeypatch.setitem(sys.modules, "kivy.core.window", SimpleNamespace(Window=window))
    assert keep_awake(True)
    assert not window.allow_screensaver
    assert keep_awake(False)
    assert window.allow_screensaver


def test_without_a_window_nothing_is_kept_lit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "kivy.core.window", SimpleNamespace(Window=None))
    assert not keep_awake(True)


def test_a_picture_that_was_not_entered_leaves_nothing_and_takes_no_other_along(tmp_path: Path) -> None:
    Image.new("RGB", (40, 30), "#9B2F25").save(tmp_path / "taken.png")
    book = tmp_path / "b.loomside"
    stays, goes = (keep_photo(book, tmp_path / "taken.png") for _picture in range(2))
    kept = photo_path(book, stays)
    assert kept is not None
    assert len(list(kept.parent.iterdir())) == 4, "two pictures, a thumbnail each"
    forget_photo(book, goes)
    assert set(kept.parent.iterdir()) == {kept, thumbnail_path(book, stays)}


class Notices:
    """A desktop's notices, or those of one that refuses."""

    def __init__(self, refuses: bool = False) -> None:
        self.shown: list[tuple[str, str]] = []
        self.came, self.refuses = threading.Event(), refuses

    def notify(self, title: str, message: str, app_name: str) -> None:
        self.shown.append((title, message))
        self.came.set()
        if self.refuses:
            raise RuntimeError("no bus")

    def vibrate(self, time: float) -> None:
        if self.refuses:
            raise RuntimeError("no buzzer")


@pytest.mark.parametrize("refuses", [False, True])
def test_a_notice_shows_its_title_and_words_and_a_device_that_refuses_stops_nothing(
    monkeypatch: pytest.MonkeyPatch, refuses: bool
) -> None:
    notices, faults = Notices(refuses), []
    monkeypatch.setattr(notify, "service", lambda _name: notices)
    monkeypatch.setattr(threading, "excepthook", faults.append)
    assert notify.notify("Time for a break", "Stand up.")
    assert notices.came.wait(5)
    for thread in [one for one in threading.enumerate() if one.name == "notice"]:
        thread.join(5)
    assert notices.shown == [("Time for a break", "Stand up.")]
    assert not faults
    assert notify.vibrate() is not refuses


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system has one time zone a process")
def test_a_change_of_time_zone_changes_the_hour_while_the_app_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    try:
        monkeypatch.setenv("TZ", "UTC")
        follow_zone()
        assert now_utc().astimezone().utcoffset() == timedelta(0)
        monkeypatch.setenv("TZ", "XXX-3")  # POSIX: three hours ahead of UTC
        follow_zone()
        assert now_utc().astimezone().utcoffset() == timedelta(hours=3)
    finally:
        monkeypatch.undo()
        follow_zone()
