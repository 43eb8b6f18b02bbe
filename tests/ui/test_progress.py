"""The charts by touch: reached from the first view and the finish, read with a finger."""

from __future__ import annotations

import pytest

from tests.ui.hand import Finger
from tests.ui.handed_time import pass_time
from tracker.previews.draw import settle


def chart_key(hand):
    return next(
        w for w in hand.shell.page.walk() if getattr(w, "icon", "") == "chart" and hasattr(w, "on_release")
    )


def at_the_charts(open_app, path, **how):
    hand = open_app(path, **how)
    hand.tap(chart_key(hand))
    assert hand.shell.page_name == "progress"
    return hand


def test_the_charts_are_one_tap_from_the_first_view_and_from_the_finish(open_app, demo) -> None:
    hand = at_the_charts(open_app, demo)
    hand.key_back()
    settle()
    assert hand.shell.page_name == "home"
    hand.tap("Finish")
    hand.tap(chart_key(hand))
    assert hand.shell.page_name == "progress"


def test_the_last_point_of_the_date_is_todays_answer(open_app, demo) -> None:
    hand = at_the_charts(open_app, demo)
    card = hand.shell.page.ids.dates
    hand.wait(lambda: len(card.chart.points) >= 12)
    desk = hand.app.desk
    last = card.chart.points[-1]
    assert last.y == desk.answers.finish.middle.toordinal()
    assert last.low < last.y < last.high


def test_a_touched_week_is_read(open_app, demo) -> None:
    hand = at_the_charts(open_app, demo)
    card = hand.shell.page.ids.weeks
    view = card.ids.view
    hand.reach(view)
    across, _up = view._scales()
    for index in (1, 5):
        x, y = view.to_window(across(view.chart.points[index].x), view.center_y)
        hand.tap_at(x, y)
        assert view.picked == index
        assert card.reading == view.chart.points[index].words
        assert hand.sees(card.reading)


def test_a_finger_slid_along_reads_point_after_point(open_app, demo) -> None:
    hand = at_the_charts(open_app, demo)
    card = hand.shell.page.ids.dates
    hand.wait(lambda: len(card.chart.points) >= 12)
    hand.reach(card.ids.view)
    view = card.ids.view
    read = []
    view.bind(on_read=lambda _view, index: read.append(index))
    x, y, width, height = view._frame
    y = view.to_window(0, y + height / 2)[1]
    finger = Finger(x + 2, y)
    finger.put(x + 2, y)
    pass_time(0.1)  # a finger that rests reads; one that sets off at once scrolls
    for step in range(31):
        finger.slide(x + 2 + (width - 4) * step / 30, y)
        settle(1)
    finger.lift()
    settle(2)
    # The last two days stand too close for a finger to tell them apart.
    assert read[-1] >= len(view.chart.points) - 2
    assert read == sorted(read)
    assert len(set(read)) > 5


def test_a_drag_up_scrolls_the_page(open_app, demo) -> None:
    hand = at_the_charts(open_app, demo)
    scroll = hand.shell.page.ids.scroll
    assert scroll.scroll_y == 1
    hand.drag((20, 150), (20, 500))
    assert scroll.scroll_y < 0.8


def test_an_unwoven_rug_says_what_its_charts_wait_for(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.tap(chart_key(hand))
    settle()
    assert hand.sees("Nothing woven yet.")
    assert hand.sees("After the first sessions you see your weeks and your pace here.")


@pytest.mark.parametrize("size", [(360, 640), (892, 412), (1280, 800)])
def test_every_chart_lies_within_its_card(open_app, demo, size) -> None:
    hand = at_the_charts(open_app, demo, size=size)
    for name in ("dates", "weeks", "weekdays", "pace"):
        card = hand.shell.page.ids[name]
        view = card.ids.view
        x, y, width, height = view._frame
        assert card.x <= view.x <= x
        assert x + width <= card.x + card.width
        assert card.y <= view.y < y
        assert height > 80
        assert width > 150
