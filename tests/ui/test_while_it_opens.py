"""The first view while the book still opens: no rug is offered to be planned, and what stands there leads where it says."""

from __future__ import annotations

import weakref

import numpy as np
import pytest
from kivy.core.window import Window

from tests.ui.hand import everything, shown
from tests.ui.letting_go import still_there
from tracker.app.desk import Desk
from tracker.presenters.settings import DARK_COLOURS
from tracker.previews.draw import settle
from tracker.screens import PAGES
from tracker.shell.empty import WITHOUT_RUG
from tracker.widgets.basics import EmptyState
from tracker.widgets.look import look

NO_RUG_NEEDED = frozenset(
    ("plan", "settings", "cautions", "copies", "sync", "looms", "cartoon_reading", "knotting")
)
"""Pages that have something to show in an empty book."""
LEAD_BACK = frozenset(("yarn_story", "session"))
"""Pages that are never opened without a rug, or lead to the plan by themselves."""


@pytest.fixture
def slowly(monkeypatch) -> None:
    """Let the book open only when a test says so."""
    monkeypatch.setattr(Desk, "open_soon", lambda _desk: None)


def test_no_rug_is_offered_to_be_planned_while_the_book_opens(open_app, slowly) -> None:
    hand = open_app(background=True)
    assert hand.sees("Opening the book")
    place = hand.shell.page.center
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


def test_a_phone_that_went_dark_since_shows_the_first_view_of_last_time_in_the_dark(
    open_app, demo, monkeypatch
) -> None:
    """A phone goes dark in the evening, when the weaver sits down: the view was worked out anew before it came."""
    hand = open_app(demo, background=True)
    hand.wait(lambda: hand.app.desk.answers is not None)
    row = hand.shell.page.ids.row_figure.text
    hand.app.desk.drafts.put(DARK_COLOURS, True)
    monkeypatch.setattr(Desk, "open_soon", lambda _desk: None)
    hand = open_app(demo, background=True)
    assert hand.app.desk.rug is None
    assert look.dark
    assert hand.shell.page.ids.row_figure.text == row != ""
    first_shown = np.frombuffer(hand.shell.page.ids.picture.picture.rgb, np.uint8).reshape(-1, 3)
    hand.app.desk.open()
    settle()
    drawn = hand.shell.page.ids.picture.picture
    assert abs(first_shown.mean() - drawn.mean()) < 2, "the rows to come are pale as by day"
    assert drawn.mean() < 110


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


def test_every_page_that_lacks_a_rug_says_so_in_one_form_and_not_while_the_book_opens(
    open_app, slowly
) -> None:
    assert set(PAGES) == set(WITHOUT_RUG) | NO_RUG_NEEDED | LEAD_BACK
    assert not NO_RUG_NEEDED & (set(WITHOUT_RUG) | LEAD_BACK)
    hand = open_app(background=True)
    pages = [page for page in WITHOUT_RUG if page not in LEAD_BACK]
    for page in pages:
        hand.shell.go(page)
        settle()
        assert hand.shell.page_name == page
        assert hand.sees("Opening the book"), page
        assert not hand.sees("Plan a rug"), page
    hand.app.desk.open()
    settle()
    heights = set()
    for page in pages:
        hand.shell.go(page)
        settle()
        (state,) = (
            w for w in everything(hand.shell.page) if isinstance(w, EmptyState) and shown(w) and w.there
        )
        assert state.title == "No rug yet.", page
        assert state.words.startswith("Plan one "), page
        picture = next(w for w in everything(state) if getattr(w, "name", "") == state.icon and shown(w))
        assert picture.height >= 40, page
        heights.add(round(hand.shell.top - picture.to_window(*picture.center)[1]))
        keys = [w for w in everything(hand.shell.page) if getattr(w, "role", "") == "act" and shown(w)]
        assert [key.text for key in keys if not key.disabled] == ["Plan a rug"], page
        hand.tap("Plan a rug")
        assert hand.shell.page_name == "plan", page
    assert max(heights) - min(heights) < 20, "the picture stands where other pages have it"
    # On a tablet as well: in the middle of the page, not of its left column.
    Window.size = (1280, 800)
    for page in ("order", "cloth"):
        hand.shell.go(page)
        settle()
        key = next(w for w in everything(hand.shell.page) if getattr(w, "role", "") == "act" and shown(w))
        assert key.to_window(*key.center)[0] == pytest.approx(640, abs=2), page


def test_a_page_that_is_filled_anew_lets_go_of_what_it_said_without_a_rug(open_app, slowly) -> None:
    hand = open_app(background=True)
    hand.shell.go("material")
    settle()
    state = weakref.ref(next(w for w in everything(hand.shell.page) if isinstance(w, EmptyState)))
    hand.app.desk.open()
    settle()
    assert hand.sees("No rug yet.")
    assert still_there([state]) == []
