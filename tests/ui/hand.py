"""A hand that drives the real window: touches go in where a finger's would, and hit whatever lies there."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator

from kivy.base import EventLoop
from kivy.core.window import Window
from kivy.input.motionevent import MotionEvent
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from tests.ui.handed_time import handed, pass_time
from tracker.previews.draw import settle
from tracker.widgets.basics import Key

SAME_PLACE_PX = 60
"""Two taps no farther apart than this lie at one place."""


READ_S = 0.4
"""Time from one tap to the next for a hand that reads what it taps."""


class Finger(MotionEvent):
    """One touch, in window pixels."""

    def __init__(self, x: float, y: float) -> None:
        super().__init__("hand", id(self), {}, is_touch=True, type_id="touch")
        self.profile = ["pos", "button"]
        self.button = "left"
        self._at(x, y)

    def _at(self, x: float, y: float) -> None:
        self.sx, self.sy = x / Window.width, y / Window.height
        self.scale_for_screen(*Window.size)

    def depack(self, args) -> None:
        super().depack(args)

    def put(self, x: float, y: float) -> None:
        self._at(x, y)
        self.osx, self.osy = self.sx, self.sy
        self.time_start = handed()
        EventLoop.post_dispatch_input("begin", self)

    def slide(self, x: float, y: float) -> None:
        self.move({})
        self._at(x, y)
        EventLoop.post_dispatch_input("update", self)

    def lift(self) -> None:
        self.time_end = handed()
        EventLoop.post_dispatch_input("end", self)


def everything(root: Widget) -> Iterator[Widget]:
    """Walk all widgets on the screen, topmost last."""
    yield root
    for child in reversed(root.children):
        yield from everything(child)


def shown(widget: Widget) -> bool:
    """True when a widget and all that hold it are visible and of some size."""
    at = widget
    while at is not None and isinstance(at, Widget):
        if at.opacity == 0 or at.width <= 0 or at.height <= 0:
            return False
        if at.parent is at:
            break
        at = at.parent
    return True


class Hand:
    """Taps and drags in the one window, and looks for what can be seen."""

    def __init__(self, app) -> None:
        self.app = app
        self._last_tap = (-1e9, -1e9)

    @property
    def shell(self):
        """The root of the window."""
        return self.app.root

    def wait(self, until: Callable[[], bool], seconds: float = 10) -> None:
        """Let frames pass until what another thread does is done; fail when it never is."""
        end = time.monotonic() + seconds
        while not until():
            assert time.monotonic() < end, "waited in vain"
            settle(1)
            time.sleep(0.005)
        settle(2)

    def find(self, text: str, root: Widget | None = None) -> Widget:
        """Return the topmost visible widget that says `text`."""
        found = [
            widget
            for widget in everything(root or self.shell)
            if getattr(widget, "text", None) == text and shown(widget)
        ]
        # A key says what it does it to: "Save 6 rows" is tapped by whoever is told to tap "Save".
        found = found or [
            key
            for key in everything(root or self.shell)
            if isinstance(key, Key) and key.text.startswith(f"{text} ") and shown(key)
        ]
        assert found, f"nothing on the screen says {text!r}; it says {self.words()}"
        return found[-1]

    def words(self, root: Widget | None = None) -> list[str]:
        """Return every text that can be seen, top to bottom of the tree."""
        return [
            widget.text
            for widget in everything(root or self.shell)
            if getattr(widget, "text", "") and shown(widget)
        ]

    def sees(self, part: str) -> bool:
        """True when some visible text contains `part`."""
        return any(part in words for words in self.words())

    def reach(self, widget: Widget) -> None:
        """Drag whatever scrolls until the widget's middle can be touched."""
        scroll = widget.parent
        while scroll is not None and not isinstance(scroll, ScrollView):
            scroll = None if scroll.parent is scroll else scroll.parent
        if scroll is None:
            return
        for _try in range(40):
            _x, y = widget.to_window(*widget.center)
            bottom = scroll.to_window(scroll.x, scroll.y)[1]
            if bottom + 4 <= y <= bottom + scroll.height - 4:
                return
            middle = bottom + scroll.height / 2
            by = max(-scroll.height * 0.4, min(scroll.height * 0.4, middle - y))
            x = scroll.to_window(scroll.x, 0)[0] + 6
            self.drag((x, middle - by / 2), (x, middle + by / 2))
        raise AssertionError(f"{widget} could not be scrolled into reach")

    def tap(self, what: Widget | str) -> None:
        """Touch and lift in the middle of a widget, or of what says the given text."""
        # Who taps what she has read has waited: at once it would be taken for a slip (`shell.SAME_TAP_S`).
        pass_time(READ_S, READ_S / 4)
        widget = self.find(what) if isinstance(what, str) else what
        self.reach(widget)
        x, y = widget.to_window(*widget.center)
        inside = 0 <= x <= Window.width and 0 <= y <= Window.height
        assert inside, f"{widget} lies outside the window"
        if math.dist((x, y), self._last_tap) < SAME_PLACE_PX:
            # Who looks before tapping at one place again does not tap twice in a moment.
            pass_time(0.4, frame_s=0.2)
        self._last_tap = (x, y)
        self.tap_at(x, y)

    def tap_at(self, x: float, y: float) -> None:
        """Touch and lift at a place in the window."""
        finger = Finger(x, y)
        finger.put(x, y)
        settle(1)
        finger.lift()
        settle(5)

    def drag(self, start: tuple[float, float], end: tuple[float, float], steps: int = 8) -> None:
        """Slide a finger from one place to another and rest there before lifting."""
        finger = Finger(*start)
        finger.put(*start)
        settle(1)
        for step in range(1, steps + 1):
            share = step / steps
            finger.slide(start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
            settle(1)
        pass_time(0.12)
        finger.slide(*end)
        settle(1)
        finger.lift()
        settle(4)

    def key_back(self) -> bool:
        """Press the back key."""
        return bool(Window.dispatch("on_keyboard", 27, 0, None, []))
