"""The list of folders and pictures, where the phone has no chooser of its own."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tracker.previews.draw import settle


@pytest.fixture
def home(tmp_path: Path, monkeypatch) -> Path:
    home = tmp_path / "home"
    (home / "Pictures" / "Old").mkdir(parents=True)
    monkeypatch.setenv("HOME", str(home))
    return home


def test_pictures_stand_newest_first_and_hidden_ones_are_left_out(home) -> None:
    from tracker.sheets.files import look_into

    for at, name in enumerate(("a.png", "b.GIF", "c.txt", ".hidden.png")):
        path = home / "Pictures" / name
        path.write_bytes(b"x" * 2000)
        os.utime(path, (1000 + at, 1000 + at))
    found = look_into(home / "Pictures")
    assert [path.name for path, _size in found.pictures] == ["b.GIF", "a.png"]
    assert [path.name for path in found.folders] == ["Old"]


def test_a_folder_that_cannot_be_opened_says_so(tmp_path) -> None:
    from tracker.sheets.files import look_into

    assert "cannot be opened" in look_into(tmp_path / "gone").trouble


def test_walking_through_folders_to_a_picture_remembers_the_last_folder(open_app, home) -> None:
    from tracker.sheets.files import ask_picture

    (home / "Pictures" / "Old" / "garden.png").write_bytes(b"x")
    hand = open_app()
    chosen: list[Path] = []
    ask_picture(hand.shell, "Which picture?", chosen.append)
    settle()
    assert hand.sees("No pictures here.")
    hand.tap("Old")
    hand.tap("garden.png")
    assert chosen == [home / "Pictures" / "Old" / "garden.png"]
    assert hand.shell.sheet is None
    ask_picture(hand.shell, "Which picture?", chosen.append)
    settle()
    assert hand.sees("garden.png")


def test_a_folder_of_thousands_opens_with_the_first_ones(open_app, home) -> None:
    from tracker.sheets.files import FIRST, ask_picture

    for at in range(FIRST + 60):
        (home / "Pictures" / f"photo {at:04d}.png").write_bytes(b"x")
    hand = open_app()
    ask_picture(hand.shell, "Which picture?", lambda _path: None)
    settle()
    shown = [text for text in hand.words() if text.startswith("photo")]
    assert 0 < len(set(shown)) <= FIRST
    # The way up, the folder "Old" and so many pictures.
    assert hand.sees("Show 62 more")


def test_the_phones_own_chooser_answers_on_the_touch_thread(open_app, home, monkeypatch) -> None:
    from tracker.device import files
    from tracker.sheets.files import ask_picture

    hand = open_app()
    monkeypatch.setattr(files, "has_chooser", lambda: True)
    monkeypatch.setattr(files, "choose_picture", lambda done: done(Path("/sdcard/garden.png")))
    chosen: list[Path] = []
    assert ask_picture(hand.shell, "Which picture?", chosen.append) is None
    assert chosen == [], "not before the touch thread has its turn"
    settle()
    assert chosen == [Path("/sdcard/garden.png")]
