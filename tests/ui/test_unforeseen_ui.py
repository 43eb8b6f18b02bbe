"""What nobody foresaw in the running app: it goes on and says so, or ends with the sentence; nothing is lost."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from storage import reading
from storage.book import Book
from tests.unit import books
from tracker.app.unforeseen import EXIT_CODE, log_path
from tracker.screens import PAGES

ROOT = Path(__file__).parents[2]

APP = """
import sys, threading
from tracker.command_line import deeds
from tracker.command_line.main import main
from tracker.domain.errors import BookTrouble
from tracker.domain.rug import Session
from tests.today import TODAY

def script(app):
    from kivy.clock import Clock
    said = []

    def fault(*_arguments):
        raise ZeroDivisionError("nobody thought of this")

    def no_room(*_arguments):
        raise BookTrouble("There is no room left.")

    def every_frame(*_arguments):
        Clock.schedule_once(every_frame, 0)
        fault()

    def weave():
        app.desk.act("session logged", Session(id="late", rug_id="r", day=TODAY, rows=2, hours=1.0))

    def listen():
        say = app.shell.toast
        app.shell.toast = lambda sentence, **how: (said.append(sentence), say(sentence, **how))

    def end():
        print("SAID", *said, sep="\\n")
        app.stop()

    steps = {STEPS}
    def step(_dt):
        if not (app.desk.fresh or app.desk.trouble):
            Clock.schedule_once(step, 0.05)
        elif steps:
            work = steps.pop(0)
            Clock.schedule_once(step, 0.05)
            work()
    Clock.schedule_once(step, 0.05)

def begun():
    from tracker.app.app import LoomsideApp
    LoomsideApp.on_start = lambda app: script(app)

deeds.on_window = begun
raise SystemExit(main(["--book", sys.argv[1], "--day", TODAY.isoformat()]))
"""


def run_app(book: Path, steps: str) -> subprocess.CompletedProcess:
    """Run the real app, drawn without a screen, through the steps."""
    return subprocess.run(
        [sys.executable, "-c", APP.replace("{STEPS}", steps), str(book)],
        cwd=ROOT,
        env={**os.environ, "SDL_VIDEODRIVER": "offscreen", "XDG_DATA_HOME": str(book.parent)},
        capture_output=True,
        text=True,
        timeout=60,
    )


@pytest.fixture
def book(tmp_path: Path) -> Path:
    books.planned(tmp_path / "b.loomside")
    return tmp_path / "b.loomside"


def rows_of(path: Path) -> int:
    with Book.open(path) as opened:
        return reading.rug_book(opened, "r").rows_woven


@pytest.mark.parametrize(
    "fault",
    [
        "fault",
        "lambda: threading.Thread(target=fault).start()",
        "lambda: app.desk.aside(fault, print, app._say)",
    ],
)
def test_after_a_fault_the_app_says_so_and_goes_on(book: Path, fault: str) -> None:
    ended = run_app(book, f"[listen, {fault}, weave, end]")
    assert ended.returncode == 0, ended.stderr
    said = ended.stdout.split("SAID\n")[1]
    assert said.count("Something went wrong") == 1
    assert str(log_path(book)) in said
    assert "ZeroDivisionError: nobody thought of this" in log_path(book).read_text()
    assert "Traceback" not in ended.stderr
    assert rows_of(book) == 3 + 2


def test_what_says_itself_what_is_wrong_is_said_and_no_trace_is_kept(book: Path) -> None:
    """A full disk met where no page listens for it is no riddle: the weaver was asked to send a file about it."""
    ended = run_app(book, "[listen, no_room, weave, end]")
    assert ended.returncode == 0, ended.stderr
    assert ended.stdout.split("SAID\n")[1].strip() == "There is no room left."
    assert not log_path(book).exists()
    assert rows_of(book) == 3 + 2


def test_a_fault_that_comes_with_every_frame_ends_the_app_with_the_sentence(book: Path) -> None:
    ended = run_app(book, "[weave, every_frame]")
    assert ended.returncode == EXIT_CODE, ended.stderr
    assert str(log_path(book)) in ended.stderr
    assert "Traceback" not in ended.stderr
    assert log_path(book).read_text().count("nobody thought of this") >= 2
    assert rows_of(book) == 3 + 2


def test_a_window_on_a_book_that_cannot_be_opened_ends_with_a_code_that_tells(tmp_path: Path) -> None:
    path = tmp_path / "b.loomside"
    books.damaged(path)
    ended = run_app(path, "[listen, end]")
    assert ended.returncode == 2, ended.stderr
    assert "Traceback" not in ended.stderr


def test_drawing_the_screens_of_a_bare_rug_leaves_the_drafts_as_they_were(tmp_path: Path) -> None:
    path = tmp_path / "b.loomside"
    books.bare(path)
    drafts = path.with_name(path.name + ".drafts.json")
    drafts.write_text('{"session forms": {"r": {"note": "half a form"}}, "loom part": {"r": "w"}}')
    before = drafts.read_bytes()
    pages = ("loom", "material")
    ended = subprocess.run(
        [sys.executable, "main.py", "--book", str(path), "--screens", str(tmp_path / "p"), "--only", *pages],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert ended.returncode == 0, ended.stderr
    assert (tmp_path / "p" / "material.png").is_file()
    assert drafts.read_bytes() == before


@pytest.mark.slow
@pytest.mark.parametrize("make", [books.empty, books.bare, books.planned, books.finished])
def test_every_screen_of_every_small_book_is_drawn(tmp_path: Path, make: Callable[[Path], None]) -> None:
    make(tmp_path / "b.loomside")
    ended = subprocess.run(
        [sys.executable, "main.py", "--book", str(tmp_path / "b.loomside"), "--screens", str(tmp_path / "p")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert ended.returncode == 0, ended.stderr
    assert len(list((tmp_path / "p").glob("*.png"))) >= len(PAGES)
