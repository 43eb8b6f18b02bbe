"""The desk tells every failure of its threads, foreseen or not, and the rest of the book stays in reach."""

from __future__ import annotations

import threading
from datetime import date
from pathlib import Path

import pytest

from storage.book import Book
from tests.book_in_memory import BookInMemory
from tests.storage.book_samples import plan, session
from tracker.app.desk import Desk
from tracker.app.drafts import Drafts
from tracker.app.unforeseen import log_path
from tracker.domain import rules
from tracker.domain.rug import Measurement, new_id
from tracker.presenters.home import build_home_state
from tracker.reports.text_form import as_text, as_values

TODAY = date(2026, 3, 10)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A book with a rug and an evening."""
    path = tmp_path / "book.loomside"
    with Book.open(path) as book, book.act("entered") as act:
        rug = plan(name="Garden")
        act.write(rug)
        act.write(session(rug.id))
    return path


def book_in_memory() -> BookInMemory:
    """A book with a rug and a session, in memory."""
    book = BookInMemory()
    with book.act("entered") as act:
        rug = plan(name="Garden")
        act.write(rug)
        act.write(session(rug.id))
    return book


def wait_for_news(desk: Desk) -> None:
    """Open the desk as the app does and wait until it says something."""
    told = threading.Event()
    desk.listen(told.set)
    desk.open_soon()
    assert told.wait(20)


def test_a_failure_that_nobody_foresaw_while_reading_is_said(tmp_path: Path, monkeypatch) -> None:
    path = tmp_path / "book.loomside"
    desk = Desk(path, today=lambda: TODAY, opener=lambda *_: book_in_memory())

    def break_off(*_told: object, **_more: object) -> None:
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr("tracker.forecast.outlook.outlook", break_off)
    wait_for_news(desk)
    assert "Something went wrong" in desk.trouble
    assert "division" not in desk.trouble
    assert "ZeroDivisionError" in log_path(path).read_text("utf-8")  # the trace is for the developer
    desk.close()


def test_a_failure_that_nobody_foresaw_while_opening_is_said(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "book.loomside", today=lambda: TODAY, opener=lambda *_: 1 / 0)
    wait_for_news(desk)
    assert desk.trouble


def test_one_bad_record_is_said_on_the_first_view_and_in_the_text_form(path: Path, monkeypatch) -> None:
    desk = Desk(path, today=lambda: TODAY, background=False)
    desk.open()
    rug_id = desk.plans[0].id
    with monkeypatch.context() as lawless:
        lawless.setattr(rules, "check", lambda value, cells=True: None)
        desk.act(
            "length measured", Measurement(id=new_id(), rug_id=rug_id, day=TODAY, row=10**9, length_cm=5.0)
        )
    desk.read()
    assert desk.trouble == ""
    assert desk.rug is not None
    assert desk.answers is not None
    assert desk.rug.rows_woven == 4
    asked = build_home_state(desk.rug, desk.answers).asks
    assert [ask.page for ask in asked if "cannot be used" in ask.words] == ["diary"]
    assert "cannot be used" in as_text(desk.rug, desk.answers)
    assert [one["kind"] for one in as_values(desk.rug, desk.answers)["set_aside"]] == ["measurement"]
    desk.close()


def test_a_book_that_another_app_held_opens_by_itself_once_it_is_let_go_of(path: Path, monkeypatch) -> None:
    monkeypatch.setattr("tracker.app.desk.LOOK_AGAIN_S", 0.02)
    desk = Desk(path, today=lambda: TODAY)
    there = threading.Event()
    desk.listen(lambda: there.set() if desk.rug is not None else None)
    with Book.open(path):
        wait_for_news(desk)
        assert "already open" in desk.trouble
        assert not there.is_set()
        Drafts(desk.drafts.path).put("session forms", {"rug": {"rows": 6}})
    assert there.wait(20)
    assert (desk.rug.plan.name, desk.trouble) == ("Garden", "")
    assert desk.drafts.get("session forms") == {"rug": {"rows": 6}}, "what the other app left half entered"
    desk.close()


def test_a_closed_desk_opens_no_book_any_more(path: Path, monkeypatch) -> None:
    monkeypatch.setattr("tracker.app.desk.LOOK_AGAIN_S", 0.02)
    desk = Desk(path, today=lambda: TODAY)
    with Book.open(path):
        wait_for_news(desk)
        desk.close()
    for thread in threading.enumerate():
        if thread.name == "opening":
            thread.join(20)
    with Book.open(path):
        assert not desk.was_opened
