"""The first view while the book still opens: no rug is offered to be planned, and what stands there leads where it says."""

from __future__ import annotations

import weakref

import pytest

from tests.ui.hand import everything, shown
from tests.ui.letting_go import still_there
from tracker.app.desk import Desk
from tracker.previews.draw import settle
from tracker.widgets.basics import EmptyState

NEED_A_RUG = (
    "shopping",
    "preparation",
    "costs",
    "material",
    "export",
    "order",
    "trimming",
    "guide",
    "balls",
    "unpick",
    "cloth",
)
"""Pages that tell of a rug, and of nothing without one."""


@pytest.fixture
def slowly(monkeypatch) -> None:
    """Let the book open only when a test says so."""
    monkeypatch.setattr(Desk, "open_soon", lambda _desk: None)


def test_no_rug_is_offered_to_be_planned_while_the_book_opens(open_app, slowly) -> None:
    hand = open_app(background=True)
    assert hand.sees("Opening the book")
    place = hand.shell.page.ids.log.to_window(*hand.shell.page.ids.log.center)
    assert not hand.sees("Plan a rug")
    hand.tap_at(*place)
    assert hand.shell.page_name == "home"
    hand.app.desk.open()
    settle()
    hand.tap("Plan a rug")
    assert hand.shell.page_name == "plan"


def test_the_key_of_the_first_view_of_last_time_leads_where_it_says_once_the_book_is_open(
    open_app, demo, monkeypatch
) -> None:
    hand = open_app(demo, background=True)
    hand.wait(lambda: hand.app.desk.answers is not None)
    monkeypatch.setattr(Desk, "open_soon", lambda _desk: None)
    hand = open_app(demo, background=True)
    assert hand.app.desk.rug is None
    hand.tap("Log the session")
    assert hand.shell.page_name == "home"
    hand.app.desk.open()
    settle()
    assert hand.shell.page_name == "session"


def test_who_went_elsewhere_while_the_book_opened_stays_there(open_app, demo, monkeypatch) -> None:
    hand = open_app(demo, background=True)
    hand.wait(lambda: hand.app.desk.answers is not None)
    monkeypatch.setattr(Desk, "open_soon", lambda _desk: None)
    hand = open_app(demo, background=True)
    hand.tap("Log the session")
    hand.tap("Diary")
    hand.app.desk.open()
    settle()
    assert hand.shell.page_name == "diary"


def test_a_page_without_a_rug_shows_a_picture_and_leads_to_the_plan_but_not_while_the_book_opens(
    open_app, slowly
) -> None:
    hand = open_app(background=True)
    for page in NEED_A_RUG:
        hand.shell.go(page)
        settle()
        assert hand.shell.page_name == page
        assert hand.sees("Opening the book"), page
        assert not hand.sees("Plan a rug"), page
    hand.app.desk.open()
    settle()
    for page in NEED_A_RUG:
        hand.shell.go(page)
        settle()
        assert hand.sees("No rug yet."), page
        state = next(
            w for w in everything(hand.shell.page) if isinstance(w, EmptyState) and shown(w) and w.there
        )
        picture = next(w for w in everything(state) if getattr(w, "name", "") == state.icon and shown(w))
        assert picture.height >= 40, page
        hand.tap("Plan a rug")
        assert hand.shell.page_name == "plan", page


def test_a_page_that_is_filled_anew_lets_go_of_what_it_said_without_a_rug(open_app, slowly) -> None:
    hand = open_app(background=True)
    hand.shell.go("material")
    settle()
    state = weakref.ref(next(w for w in everything(hand.shell.page) if isinstance(w, EmptyState)))
    hand.app.desk.open()
    settle()
    assert hand.sees("No rug yet.")
    assert still_there([state]) == []
