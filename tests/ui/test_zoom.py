"""The rug close up, by one finger and by two: pinch, drag, bounds, double tap, keys, back."""

from __future__ import annotations

import pytest
from kivy.core.window import Window

from tests.ui.hand import READ_S, Finger, everything
from tests.ui.handed_time import handed, pass_time
from tracker.previews.draw import settle
from tracker.widgets.look import look


def close_up(open_app, path, **how):
    hand = open_app(path, **how)
    hand.tap(hand.shell.page.ids.picture)
    assert hand.shell.page_name == "zoom"
    pass_time(READ_S)
    return hand, hand.shell.page.ids.closer


def pinch(first, second, to_first, to_second, steps: int = 6) -> None:
    """Two fingers move from their places to others."""
    fingers = [Finger(*first), Finger(*second)]
    fingers[0].put(*first)
    fingers[1].put(*second)
    settle(1)
    for step in range(1, steps + 1):
        for finger, start, end in zip(fingers, (first, second), (to_first, to_second), strict=True):
            share = step / steps
            finger.slide(start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
        settle(1)
    for finger in fingers:
        finger.lift()
    settle(2)


def under(closer, x: float, y: float) -> tuple[float, float]:
    """Return which place of the picture (0 to 1) lies at a window place."""
    w, h = closer._size()
    return (x - closer._left) / w, (y - closer._bottom) / h


@pytest.mark.parametrize("size", [(360, 640), (640, 360), (800, 1280)])
def test_no_key_lies_over_the_way_back(open_app, demo, size) -> None:
    hand, _closer = close_up(open_app, demo, size=size)
    # Nor is one taller than the next, though "Whole rug" takes two lines where the type is large.
    tools = hand.shell.page.ids.tools
    for scale in (1.0, 2.0):
        look.text_scale = scale
        settle()
        assert len({round(key.height) for key in tools.children}) == 1
    look.text_scale = 1.0
    settle()
    back = next(key for key in everything(hand.shell.page.ids.top) if getattr(key, "icon", "") == "back")
    hand.tap(back)
    assert hand.shell.page_name == "home"


def test_a_tap_on_the_picture_leads_closer_and_back_leads_home(open_app, demo) -> None:
    hand, closer = close_up(open_app, demo)
    assert hand.sees("Walled garden")
    assert closer.zoom == 1
    assert hand.key_back()
    assert hand.shell.page_name == "home"


def test_two_fingers_apart_come_closer_about_the_place_between_them(open_app, demo) -> None:
    _hand, closer = close_up(open_app, demo)
    closer.zoom_by(2)
    before = under(closer, 140, 300)
    pinch((120, 300), (160, 300), (60, 300), (220, 300))
    assert closer.zoom == pytest.approx(8, rel=0.02)  # fingers 40 apart, then 160
    assert under(closer, 140, 300) == pytest.approx(before, abs=0.005)
    pinch((60, 300), (220, 300), (120, 300), (160, 300))
    assert closer.zoom == pytest.approx(2, rel=0.02)


def test_a_finger_drags_the_picture_along(open_app, demo) -> None:
    hand, closer = close_up(open_app, demo)
    closer.zoom_by(4)
    before = under(closer, 150, 320)
    hand.drag((150, 320), (100, 380))
    assert under(closer, 100, 380) == pytest.approx(before, abs=0.005)


def test_the_picture_cannot_be_dragged_off_the_screen(open_app, demo) -> None:
    hand, closer = close_up(open_app, demo)
    closer.zoom_by(3)
    for end in ((350, 560), (10, 80), (350, 80), (10, 560)):
        for _time in range(4):
            hand.drag((180, 320), end)
        x, y, width, height = closer._area()
        w, h = closer._size()
        assert closer._left <= x + 0.5
        assert closer._left + w >= x + width - 0.5
        assert closer._bottom <= y + 11
        assert closer._bottom + h >= y + height - 11


def test_a_fitted_picture_stays_where_it_is(open_app, demo) -> None:
    hand, closer = close_up(open_app, demo)
    before = (closer._left, closer._bottom)
    hand.drag((150, 320), (100, 380))
    assert (closer._left, closer._bottom) == before


def test_it_never_comes_nearer_than_a_knot_can_be_seen(open_app, demo) -> None:
    _hand, closer = close_up(open_app, demo)
    closer.zoom_by(1e6)
    rows = closer.rows
    assert closer._size()[1] / rows == pytest.approx(40, rel=0.01)
    closer.zoom_by(1e-6)
    assert closer.zoom == 1


def test_two_taps_come_closer_and_two_more_fit_it_again(open_app, demo) -> None:
    # Kivy tells double taps apart before it hands touches on.
    from kivy.input.postproc import kivy_postproc_modules as steps

    _hand, closer = close_up(open_app, demo)

    def tap() -> None:
        finger = Finger(140, 300)
        finger.time_start = handed()
        finger.osx, finger.osy = finger.sx, finger.sy
        steps["doubletap"].process([])  # as with each frame: old taps are forgotten
        steps["doubletap"].process([("begin", finger)])
        finger.put(140, 300)
        finger.lift()
        steps["doubletap"].process([("end", finger)])
        settle(1)

    steps["doubletap"].touches.clear()
    tap()
    assert closer.zoom == 1
    tap()
    assert closer.zoom == pytest.approx(3)
    steps["doubletap"].touches.clear()
    tap()
    assert closer.zoom == pytest.approx(3)
    pass_time(1)
    tap()
    assert closer.zoom == pytest.approx(3), "two taps a second apart are no double tap"
    tap()
    assert closer.zoom == 1


def test_keys_do_what_fingers_do(open_app, demo) -> None:
    hand, closer = close_up(open_app, demo)

    def key(icon):
        return next(w for w in hand.shell.page.walk() if getattr(w, "icon", "") == icon)

    hand.tap(key("plus"))
    assert closer.zoom == pytest.approx(1.6)
    hand.tap(key("minus"))
    assert closer.zoom == pytest.approx(1)
    hand.tap("Next row")
    x, y, width, height = closer._area()
    assert under(closer, x + width / 2, y + height / 2)[1] == pytest.approx(
        closer.row / closer.rows, abs=0.01
    )
    assert hand.key_back()
    assert closer.zoom == 1
    Window.dispatch("on_key_down", 43, 0, "+", [])
    assert closer.zoom == pytest.approx(1.6)
    Window.dispatch("on_key_down", 45, 0, "-", [])
    assert closer.zoom == pytest.approx(1)


def test_the_picture_goes_to_the_screen_once(open_app, demo) -> None:
    hand, closer = close_up(open_app, demo)
    texture = closer._rect.texture
    closer.zoom_by(3)
    hand.drag((150, 320), (100, 380))
    hand.shell.page.refresh()
    assert closer._rect.texture is texture


@pytest.mark.parametrize("size", [(360, 640), (892, 412), (1280, 800)])
def test_the_whole_rug_fits_beside_its_days(open_app, demo, size) -> None:
    _hand, closer = close_up(open_app, demo, size=size)
    x, y, width, height = closer._area()
    w, h = closer._size()
    assert x <= closer._left
    assert closer._left + w <= x + width + 0.5
    assert y <= closer._bottom
    assert closer._bottom + h <= y + height + 0.5
    assert closer._rect.size == pytest.approx((w, h), abs=1)


def test_an_empty_book_has_nothing_to_look_at_and_says_so(open_app) -> None:
    hand = open_app(None)
    hand.shell.go("zoom")
    settle()
    assert hand.sees("No rug yet.")
