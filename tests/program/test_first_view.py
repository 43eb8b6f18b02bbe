"""The first view comes up before anything heavy is imported, of others or of ours: a phone's owner waits for each of them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HEAVY = (
    "PIL", "asyncio", "numpy", "sqlalchemy", "alembic", "fpdf", "babel", "holidays", "icalendar",
    "kivy.uix.textinput", "kivy.uix.recycleview", "tracker.domain.rug", "tracker.forecast.answers", "tracker.shell.sheet",
)  # fmt: skip
FIRST_VIEW = """
import sys
from tracker.command_line import deeds
from tracker.command_line.main import main
def watch():
    from kivy.app import App
    from kivy.core.window import Window
    def flipped(*_window):
        page = App.get_running_app().shell.page
        if page.ids.row_figure.text and page.ids.finish_figure.text:
            print("shown", page.ids.row_figure.text, *(name for name in {heavy!r} if name in sys.modules), flush=True)
            __import__("os")._exit(0)
    Window.bind(on_flip=flipped)
deeds.on_window = watch
main(["--book", {book!r}, "--day", "2026-11-25"])
"""


def first_view_of(book: Path) -> list[str]:
    """Return what was shown first of a book, and which heavy packages were there by then."""
    ran = subprocess.run(
        [sys.executable, "-c", FIRST_VIEW.format(heavy=HEAVY, book=str(book))],
        env={**os.environ, "SDL_VIDEODRIVER": "offscreen"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ran.stdout, ran.stderr
    return ran.stdout.split()


def test_what_was_shown_last_comes_up_before_anything_that_it_does_not_need(tmp_path: Path) -> None:
    from tests.today import TODAY
    from tracker.demo.place import ensure_demo

    book = ensure_demo(tmp_path / "demo.loomside", TODAY)
    shown, row, *_heavy = first_view_of(book)
    assert shown == "shown"
    assert first_view_of(book) == ["shown", row]
