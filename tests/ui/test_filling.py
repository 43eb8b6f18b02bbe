"""A long page stands at once where it is seen; what lies below is made in the frames after, and nothing seen moves."""

from __future__ import annotations

from pathlib import Path

import pytest
from kivy.base import EventLoop

from tests.ui.hand import Finger, Hand
from tracker.previews.draw import settle
from tracker.widgets import filling
from tracker.widgets.basics import Scroll


def parts(page) -> list:
    """What stands in the page's columns, top to bottom."""
    return [part for box in reversed(page.ids.columns.children) for part in reversed(box.children)]


def tops(page) -> dict:
    """Where each part of the page that can be seen stands in the window, px."""
    scroll = page.ids.scroll
    found = {}
    for part in parts(page):
        _x, top = part.to_window(part.x, part.top)
        if part.height and top > scroll.y and top - part.height < scroll.top:
            found[part] = round(top)
    return found


def lines_seen(page) -> dict:
    """Where each yarn of the list that can be seen stands."""
    return {part.line.name: top for part, top in tops(page).items() if hasattr(part, "line")}


@pytest.fixture
def a_step_a_frame(monkeypatch) -> None:
    """As on a very slow phone: time for one step a frame."""
    monkeypatch.setattr(filling, "A_FRAME_S", 0.0)


@pytest.mark.usefixtures("a_step_a_frame")
def test_a_long_page_is_full_at_once_and_nothing_seen_moves_while_it_grows(open_app, demo: Path) -> None:
    hand: Hand = open_app(demo)
    for name in ("shopping", "material", "balls", "preparation", "costs"):
        hand.shell.go(name)
        EventLoop.idle()
        page = hand.shell.page
        scroll: Scroll = page.ids.scroll
        at_once, seen = parts(page), tops(page)
        lowest = min(part.to_window(*part.pos)[1] for part in at_once)
        assert lowest < scroll.y, name
        frames = 0
        while filling.under_way:
            EventLoop.idle()
            assert tops(page) == seen, name
            assert scroll.scroll_y == 1
            frames += 1
        assert frames > 1, name
        assert len(parts(page)) > len(at_once)
        hand.shell.back()
        EventLoop.idle()


@pytest.mark.usefixtures("a_step_a_frame")
def test_a_page_left_early_goes_on_when_it_is_back_and_a_finger_finds_all_of_it(open_app, demo: Path) -> None:
    hand: Hand = open_app(demo)
    hand.shell.go("shopping")
    EventLoop.idle()
    page = hand.shell.page
    hand.shell.go("costs")
    left = len(parts(page))
    for _frame in range(6):
        EventLoop.idle()
    assert len(parts(page)) == left
    hand.shell.back()
    for _frame in range(3):
        EventLoop.idle()
    assert left < len(parts(page)) <= left + 3
    # A finger that moves it moves the whole of it, as far as it went.
    scroll: Scroll = page.ids.scroll
    finger = Finger(*scroll.center)
    finger.put(*scroll.center)
    assert not filling.under_way
    finger.slide(scroll.center_x, scroll.center_y + 90)
    settle(1)
    finger.lift()
    settle(30)
    whole = scroll.children[0].height
    # Built anew, and brought to where it was scrolled to.
    hand.shell.back()
    hand.shell.drop_hidden_pages()
    hand.shell.go("shopping")
    EventLoop.idle()
    page = hand.shell.page
    scroll = page.ids.scroll
    assert scroll.children[0].height < whole
    page.rest((0.4,))
    assert scroll.children[0].height == whole
    settle(20)
    assert scroll.beyond_px == pytest.approx(0.6 * (whole - scroll.height), abs=2)
    # Filled anew where it is scrolled to: every frame shows what the one before did, whoever holds it still meanwhile.
    seen = lines_seen(page)
    assert seen
    page.show()
    for frame in range(40):
        EventLoop.idle()
        assert lines_seen(page) == seen
        if not frame:
            scroll.let_go()
    assert not filling.under_way
