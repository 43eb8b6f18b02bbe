"""What the phone does in a line or two: the screen kept lit, a picture taken back."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from PIL import Image

from tracker.device.awake import keep_awake
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
