"""One real window, drawn without a screen, for every test here; each test gets a book of its own."""

from __future__ import annotations

import gc
import itertools
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from unittest import mock

import pytest

from tests.today import TODAY
from tracker.app.window import prepare_kivy

# Before any test here is read: some import Kivy at their top.
prepare_kivy(offscreen=True, size=(360, 640))


@pytest.fixture(scope="session", autouse=True)
def _time() -> None:
    from tests.ui.handed_time import hand_in_time

    hand_in_time()


@pytest.fixture(scope="session", autouse=True)
def _rules_as_packaged() -> None:
    from tests.ui.as_packaged import apply_rules_as_packaged

    apply_rules_as_packaged()


@pytest.fixture(scope="session", autouse=True)
def _reckoned_once() -> Iterator[None]:
    from tests.ui.remembered import remembering

    with remembering():
        yield


@pytest.fixture(scope="session", autouse=True)
def _no_power_cut() -> Iterator[None]:
    """What a page shows does not wait for the disk; what is on it after a power cut is asked in `tests/storage`."""
    with mock.patch("os.fsync", return_value=None):
        yield


@pytest.fixture(scope="session")
def _draw() -> Callable[[], None]:
    """Return what draws the window; no frame does so by itself.

    What is asserted is laid out and typeset without it. Without a graphics card half of a test's time would go
    into frames that nobody looks at; each test draws its last one, and the walk through every screen draws all.
    """
    from kivy.core.window import Window

    draw = Window.on_draw
    Window.on_draw = lambda: None
    return draw


@pytest.fixture(autouse=True)
def _collect_once_an_app() -> Iterator[None]:
    """Collect garbage when an app is closed, not while it is built: half of a test's time went into looking for what is still in use."""
    gc.disable()
    yield
    gc.enable()


THOROUGH_EVERY = 40
closings = itertools.count(1)
"""Of so many closings of an app one looks through what was taken to stay, too."""


@pytest.fixture
def open_app(tmp_path: Path, _draw: Callable[[], None]) -> Iterator[Callable]:
    """Return a function that opens the app on a book file and returns a hand to drive it."""
    from kivy.core.window import Window

    from tests.ui.handed_time import pass_time
    from tests.ui.letting_go import FADING_S
    from tracker.app.desk import Desk
    from tracker.previews.draw import close_window, open_window, settle

    opened: list = []

    def opening(
        path: Path | None = None,
        size: tuple[int, int] = (360, 640),
        today: date = TODAY,
        background: bool = False,
    ):
        from tests.ui.hand import Hand

        closing()
        Window.size = size
        desk = Desk(path or tmp_path / "book.loomside", today=lambda: today, background=background)
        app = open_window(desk)
        opened.append(app)
        settle()
        return Hand(app)

    def closing() -> None:
        if not opened:
            return
        while opened:
            close_window(opened.pop())
        # Until then what fades and slides holds its page, and both would be looked through once more at the next closing.
        pass_time(FADING_S)
        if next(closings) % THOROUGH_EVERY == 0:
            gc.unfreeze()
        gc.collect()
        # Pages' code and rules, modules and what is remembered stay for good, and are most of all objects.
        gc.freeze()

    opening.close = closing
    yield opening
    if opened:
        _draw()
    closing()
