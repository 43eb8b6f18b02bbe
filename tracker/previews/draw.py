"""Draws every screen to PNG files without a display, for looking at and for README."""

from __future__ import annotations

import io
import os
import re
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.domain.errors import BadEntry, BookTrouble
from tracker.files.regular import open_regular
from tracker.files.whole import write_whole
from tracker.words import _

if TYPE_CHECKING:
    from kivy.uix.widget import Widget
    from PIL import Image

    from tracker.app.app import LoomsideApp
    from tracker.app.desk import Desk

LEAST_SIDE, MOST_SIDE = 240, 4096
SETTLE_FRAMES = 6
SOFTWARE = "Loomside screens"
MARK = b"tEXtSoftware\0" + SOFTWARE.encode()
"""By this a picture drawn here is known again: www.w3.org/TR/png-3, 11.3.3.2, tEXt with the keyword Software."""
MARK_WITHIN = 200
"""Bytes from the beginning of a file within which the mark stands: after signature and IHDR."""


def size_of(words: str) -> tuple[int, int]:
    """Return a size said as "360x640" in pixels.

    Raises
    ------
    BadEntry
        When it is not a size, or too small or large for a window.
    """
    match = re.fullmatch(r"(\d{2,5})[x×](\d{2,5})", words.strip())
    size = (int(match[1]), int(match[2])) if match else (0, 0)
    if not all(LEAST_SIDE <= side <= MOST_SIDE for side in size):
        raise BadEntry(
            _(
                "Give the size as width x height in pixels, each from {least} to {most}, such as 360x640."
            ).format(least=LEAST_SIDE, most=MOST_SIDE)
        )
    return size


def settle(frames: int = SETTLE_FRAMES) -> None:
    """Let the window draw some frames, and as many more as it takes until the page is whole."""
    from kivy.base import EventLoop

    from tracker.widgets import filling

    for _frame in range(frames):
        EventLoop.idle()
    while filling.goes_on():
        EventLoop.idle()


def open_window(desk: Desk, language: str | None = None) -> LoomsideApp:
    """Build the app in a window that is driven by hand, frame by frame; return the app."""
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from tracker.app.app import LoomsideApp

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


def close_window(app: LoomsideApp) -> None:
    """Close an app that was opened with `open_window`; the window itself stays for the next one."""
    from kivy.app import App
    from kivy.core.window import Window

    app.dispatch("on_stop")
    Window.remove_widget(app.root)
    type(app)._running_app = App._running_app = None


def draw_screens(
    desk: Desk,
    folder: Path,
    only: Collection[str] = (),
    dark: bool = False,
    text_scale: float = 1.0,
    language: str | None = None,
) -> Iterator[Path]:
    """Draw every scene of the desk's book into a folder, yielding each file; closes the desk at the end.

    `tracker.app.window.prepare_kivy` must have been called, offscreen, with the size wanted. A picture drawn here before is
    drawn over; it carries a mark.

    Raises
    ------
    BookTrouble
        When the book cannot be opened, or a picture not be written.
    BadEntry
        When a file that was not drawn here bears the name of a picture; nothing was drawn then.
    """
    # Scenes fill forms in and clear them; the weaver's own half-filled ones stay as they are.
    desk.drafts.lasting = False
    app = None
    try:
        app = open_window(desk, language)
        from tracker.previews.scenes import scenes
        from tracker.widgets.look import look

        if desk.trouble:
            raise BookTrouble(desk.trouble)
        wanted = scenes(desk, only)
        for scene in wanted:
            _refuse_other(folder / f"{scene.name}.png")
        look.dark, look.text_scale = dark, text_scale
        begun = desk.drafts.as_they_are()
        for scene in wanted:
            scene.show(app.root, begun)
            settle()
            path = folder / f"{scene.name}.png"
            _save(app.root, path)
            yield path
    finally:
        if app is not None:
            close_window(app)
        desk.close()


def _refuse_other(path: Path) -> None:
    if os.path.lexists(path):
        try:
            with open_regular(path) as file:
                ours = MARK in file.read(MARK_WITHIN)
        except OSError:
            ours = False
        if not ours:
            raise BadEntry(
                _("{path} is not a picture of a screen, so it is left alone. Name another folder.").format(
                    path=path
                )
            )


def picture_of(widget: Widget) -> Image.Image:
    """Return what a widget looks like, with transparency."""
    from PIL import Image

    texture = widget.export_as_image().texture
    return Image.frombytes("RGBA", texture.size, texture.pixels)


def _save(widget: Widget, path: Path) -> None:
    from PIL.PngImagePlugin import PngInfo

    picture = picture_of(widget)
    told = PngInfo()
    told.add_text("Software", SOFTWARE)
    data = io.BytesIO()
    picture.save(data, "PNG", pnginfo=told)
    _refuse_other(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, data.getvalue())
    except OSError as error:
        raise BookTrouble(
            _("{folder} cannot be written to. Name a folder that can be, with room in it.").format(
                folder=path.parent
            )
        ) from error
