"""Draws every screen to PNG files without a display, for looking at and for README."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.domain.errors import BadEntry
from tracker.words import _

if TYPE_CHECKING:
    from tracker.app import LoomsideApp
    from tracker.desk import Desk

LEAST_SIDE, MOST_SIDE = 240, 4096
SETTLE_FRAMES = 6


def size_of(words: str) -> tuple[int, int]:
    """Return a size said as "360x640" in pixels.

    Raises
    ------
    BadEntry
        When it is not a size, or too small or large for a window.
    """
    found = re.fullmatch(r"(\d{2,5})[x×](\d{2,5})", words.strip())
    size = (int(found[1]), int(found[2])) if found else (0, 0)
    if not all(LEAST_SIDE <= side <= MOST_SIDE for side in size):
        raise BadEntry(
            _(
                "Give the size as width x height in pixels, each from {least} to {most}, such as 360x640."
            ).format(least=LEAST_SIDE, most=MOST_SIDE)
        )
    return size


def settle(frames: int = SETTLE_FRAMES) -> None:
    """Let the window draw some frames."""
    from kivy.base import EventLoop

    for _frame in range(frames):
        EventLoop.idle()


def open_window(desk: Desk, language: str | None = None) -> LoomsideApp:
    """Build the app in a window that is driven by hand, frame by frame; return the app."""
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from tracker.app import LoomsideApp

    EventLoop.ensure_window()
    app = LoomsideApp(desk, language=language)
    app.root = app.build()
    Window.add_widget(app.root)
    app._app_window = Window
    type(app)._running_app = app
    EventLoop.start()
    EventLoop.status = "started"
    Window.canvas.ask_update()
    settle()
    return app


def draw_screens(
    desk: Desk,
    folder: Path,
    only: Collection[str] = (),
    dark: bool = False,
    text_scale: float = 1.0,
    language: str | None = None,
) -> Iterator[Path]:
    """Draw every scene of the desk's book into a folder, yielding each file; closes the desk at the end.

    `tracker.window.prepare_kivy` must have been called, offscreen, with the size wanted.
    """
    app = open_window(desk, language)
    from tracker.screens import scenes
    from tracker.widgets.look import look

    look.dark, look.text_scale = dark, text_scale
    for scene in scenes(desk, only):
        scene.show(app.root)
        settle()
        path = folder / f"{scene.name}.png"
        app.root.export_to_png(str(path))
        yield path
    desk.close()
