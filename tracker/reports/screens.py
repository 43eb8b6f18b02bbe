"""Draws every screen to PNG files without a display, for looking at and for README."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from tracker.domain.errors import BadEntry
from tracker.words import _

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
            _("Give the size as width x height in pixels, each from {least} to {most}, such as 360x640.").format(
                least=LEAST_SIDE, most=MOST_SIDE
            )
        )
    return size


def settle(frames: int = SETTLE_FRAMES) -> None:
    """Let the window draw some frames."""
    from kivy.base import EventLoop

    for _frame in range(frames):
        EventLoop.idle()


def open_window(desk) -> object:
    """Build the app in a window that is driven by hand, frame by frame; return the app."""
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from tracker.app import LoomsideApp

    EventLoop.ensure_window()
    app = LoomsideApp(desk)
    app.root = app.build()
    Window.add_widget(app.root)
    app._app_window = Window
    type(app)._running_app = app
    EventLoop.start()
    EventLoop.status = "started"
    Window.canvas.ask_update()
    settle()
    return app


def draw_screens(options: argparse.Namespace) -> int:
    """Draw every screen of the book the options name; print the files."""
    size = size_of(options.size)
    from tracker.start import open_desk, prepare_kivy

    prepare_kivy(offscreen=True, size=size)
    desk = open_desk(options, background=False)
    try:
        folder = Path(options.screens)
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        print(_("{folder} cannot be made. Name a folder that can be written to.").format(folder=options.screens), file=sys.stderr)
        return 2
    app = open_window(desk)
    from tracker.screens import scenes
    from tracker.widgets.look import look

    look.dark = options.dark
    look.text_scale = min(2.0, max(1.0, options.text_size / 100))
    for scene in scenes(desk, options.only or ()):
        scene.show(app.root)
        settle()
        path = folder / f"{scene.name}.png"
        app.root.export_to_png(str(path))
        print(path)
    desk.close()
    return 0
