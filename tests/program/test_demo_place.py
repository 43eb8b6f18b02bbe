"""The demo has a place of its own: it never touches a weaver's book, nor anything that lies beside one."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import time
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
import time_machine

from storage.book import Book
from storage.lock import Lock
from storage.places import lock_path
from storage.schema import is_demo
from tests.today import TODAY
from tracker.command_line.main import main
from tracker.demo import place
from tracker.demo.book import demo_deeds
from tracker.domain.errors import BookTrouble
from tracker.files.whole import working
from tracker.words import use_language

EIGHT_DAYS_S = 8 * 24 * 3600


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with what is in it."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    return tmp_path / "home" / "loomside"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return place.ensure_demo(tmp_path_factory.mktemp("built") / place.FILE_NAME, TODAY)


def own_book(folder: Path) -> Path:
    """Make a weaver's own book with what weavers keep beside it, untouched for eight days."""
    folder.mkdir(parents=True)
    path = folder / "mine.loomside"
    Book.open(path).close()
    for name in ("mine.jpg", "mine.record.pdf", "mine.drafts.json"):
        (folder / name).write_bytes(name.encode())
    long_ago = time.time() - EIGHT_DAYS_S
    for each in folder.iterdir():
        os.utime(each, (long_ago, long_ago))
    return path


@pytest.mark.parametrize("how", ["--text", "--json", "--plan"])
def test_a_demo_is_refused_beside_a_named_book_and_the_book_is_left_alone(
    how: str, home: Path, tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    book = own_book(tmp_path / "own")
    before = contents(book.parent)
    assert main(["--demo", "--book", str(book), how]) == 2
    assert "leaves" in capsys.readouterr().err
    assert contents(book.parent) == before


def test_a_weavers_book_that_lies_where_a_demo_would_be_is_refused_and_left_alone(
    home: Path, capsys: pytest.CaptureFixture
) -> None:
    book = own_book(home / "demo of a day" / TODAY.isoformat())
    book.rename(book.with_name(place.FILE_NAME))
    before = contents(book.parent)
    assert main(["--demo", "--day", TODAY.isoformat(), "--text"]) == 2
    assert "not a demo book" in capsys.readouterr().err
    assert contents(book.parent) == before


def test_a_new_demo_removes_nothing_of_the_old_one(home: Path, built: Path) -> None:
    today = date.today()  # noqa: DTZ011 - file times are the system's
    old = place.demo_path(home, today - timedelta(days=8))
    old.parent.mkdir(parents=True)
    shutil.copy(built, old)
    (old.parent / "demo.jpg").write_bytes(b"a picture somebody put here")
    long_ago = time.time() - EIGHT_DAYS_S
    os.utime(old, (long_ago, long_ago))
    before = contents(home)
    path = place.demo_path(home, today)
    assert path != old
    place.ensure_demo(path, TODAY)
    assert {name: data for name, data in contents(home).items() if name in before} == before


def test_a_demo_touched_this_week_is_opened_again_and_an_older_one_is_followed_by_a_new_one(
    home: Path, built: Path
) -> None:
    path = place.demo_path(home, TODAY)
    path.parent.mkdir(parents=True)
    shutil.copy(built, path)
    touched = date.fromtimestamp(path.stat().st_mtime)  # noqa: DTZ012
    assert place.demo_path(home, touched + timedelta(days=7)) == path
    assert place.demo_path(home, touched + timedelta(days=8)) != path
    # What it is made of is written in the language in use: in another one its yarns and steps stayed English.
    try:
        use_language("tr")
        assert place.demo_path(home, touched) not in (path, place.demo_path(home, TODAY, TODAY))
    finally:
        use_language("en")
    assert place.demo_path(home, touched) == path


def test_only_what_the_app_made_up_carries_the_mark(tmp_path: Path, built: Path) -> None:
    assert is_demo(built)
    Book.open(tmp_path / "mine.loomside").close()
    assert not is_demo(tmp_path / "mine.loomside")
    (tmp_path / "letter").write_text("Dear weaver")
    assert not is_demo(tmp_path / "letter")


@pytest.mark.parametrize("after_s", [0.05, 0.3, 1.0])
def test_a_demo_killed_while_it_is_built_is_built_anew(tmp_path: Path, after_s: float) -> None:
    path = tmp_path / place.FILE_NAME
    builder = multiprocessing.get_context("fork").Process(target=place.ensure_demo, args=(path, TODAY))
    builder.start()
    half = lock_path(working(path, "half"))
    deadline = time.monotonic() + 30
    while not half.exists() and time.monotonic() < deadline:
        time.sleep(0.005)
    time.sleep(after_s)
    os.kill(builder.pid or 0, signal.SIGKILL)
    builder.join()
    place.ensure_demo(path, TODAY)
    with Book.open(path) as book:
        assert book.acts() == len(demo_deeds(TODAY))


def test_two_demos_built_at_once_do_not_spoil_each_other(tmp_path: Path) -> None:
    path = tmp_path / place.FILE_NAME
    first = Lock(lock_path(path))
    with pytest.raises(BookTrouble):
        place.ensure_demo(path, TODAY)
    first.release()
    place.ensure_demo(path, TODAY)
    assert is_demo(path)


@pytest.mark.parametrize("clock", ["0001-01-01", "9999-12-31"])
def test_a_clock_that_was_never_set_shows_a_demo_all_the_same(
    home: Path, clock: str, capsys: pytest.CaptureFixture
) -> None:
    with time_machine.travel(datetime.fromisoformat(f"{clock}T12:00:00+00:00"), tick=False):
        assert main(["--demo", "--text"]) == 0
    assert "Walled garden" in capsys.readouterr().out
