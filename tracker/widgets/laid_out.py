"""In which order boxes are laid out and words typeset before a frame.

Kivy does it in the order in which it was asked for. A box then asks again each time one of its parts, or what holds it, has
another size: a page of 70 boxes was laid out 680 times, and its words were typeset two or three times each, first for a
width that they never had. Here widths go down from the page first, words are typeset once their width is known, heights
come up, and places go down last.
"""

from __future__ import annotations

import heapq
import weakref
from collections import Counter
from collections.abc import Callable
from functools import partial
from typing import Any

from kivy.clock import Clock
from kivy.factory import Factory
from kivy.uix import anchorlayout, boxlayout, floatlayout, gridlayout, stacklayout
from kivy.uix.widget import Widget

MOST_TIMES = 20
"""Times that one box is laid out, or one label typeset, before a frame; the next frame goes on. As often as Kivy's clock would."""

WIDTHS, WORDS, HEIGHTS, PLACES = range(4)
"""What is done first is first."""
DEEPEST_FIRST = HEIGHTS


class Waiting:
    """What lays a widget out, or typesets it, before the next frame; called like one of Kivy's triggers."""

    __slots__ = ("__weakref__", "_do", "_laid_out", "_widget", "waits")

    def __init__(self, widget: Widget, do: Callable[[Any], Any]) -> None:
        # Weakly: it is bound to what it lays out.
        self._widget, self._do = weakref.ref(widget), do
        self._laid_out: tuple[float, float, float, float] | None = None
        self.waits: set[int] = set()
        """The steps it waits for."""

    @property
    def is_triggered(self) -> bool:
        """Whether it waits, as one of Kivy's triggers would say it."""
        return bool(self.waits)

    def __call__(self, changed: Any = None, *_value: Any) -> None:
        """Lay out before the next frame; `changed` is the widget of which something is other now."""
        widget = self._widget()
        if widget is not None:
            step = self._step(widget, changed)
            if step not in self.waits:
                self.waits.add(step)
                _order.add(step, self)

    def _step(self, widget: Widget, changed: Any) -> int:
        was = self._laid_out
        if was is None or widget.width != was[2]:
            return WIDTHS
        if changed is not None and changed is not widget:
            return HEIGHTS
        x, y, _width, height = was
        # Neither place nor height: its padding, spacing or children, on which widths below it may hang.
        return PLACES if (widget.x, widget.y, widget.height) != (x, y, height) else WIDTHS

    def depth(self) -> int:
        """Return how many hold the widget."""
        widget, depth = self._widget(), 0
        while widget is not None:
            parent = widget.parent
            if parent is widget:  # the window
                break
            widget, depth = parent, depth + 1
        return depth

    def be_done(self) -> None:
        """Do it now."""
        self.waits.clear()
        widget = self._widget()
        if widget is not None:
            self._laid_out = widget.x, widget.y, widget.width, widget.height
            self._do(widget)


class WaitingWords(Waiting):
    """The same of words: they are typeset when no width is to come."""

    __slots__ = ()

    def _step(self, widget: Widget, changed: Any) -> int:
        return WORDS


class _Order:
    """All that waits, and what is next."""

    def __init__(self) -> None:
        self._new: list[tuple[int, Waiting]] = []
        self.afterwards: weakref.WeakSet[Any] = weakref.WeakSet()
        self._soon = Clock.create_trigger(self._do_all, -1)
        self._busy = False

    def add(self, step: int, waiting: Waiting) -> None:
        self._new.append((step, waiting))
        self._soon()

    def _do_all(self, _dt: float = 0.0) -> None:
        if self._busy:
            return
        self._busy = True
        try:
            self._do_what_waits()
        finally:
            self._busy = False

    def _do_what_waits(self) -> None:
        heaps: tuple[list[tuple[int, int, Waiting]], ...] = ([], [], [], [])
        times: Counter[Waiting] = Counter()
        count = 0
        later: list[tuple[int, Waiting]] = []
        while True:
            if self._new:
                new, self._new = self._new, []
                for step, waiting in new:
                    depth = 0 if step == WORDS else waiting.depth()
                    count += 1
                    heapq.heappush(heaps[step], (-depth if step == DEEPEST_FIRST else depth, count, waiting))
            first = next((step for step, heap in enumerate(heaps) if heap), None)
            if first is None:
                made_more = [widget.all_laid_out() for widget in list(self.afterwards)]
                if not any(made_more):
                    break
                times.clear()
                continue
            waiting = heapq.heappop(heaps[first])[2]
            if first not in waiting.waits:
                continue  # done meanwhile for another reason
            times[waiting] += 1
            if times[waiting] > MOST_TIMES:
                later.append((first, waiting))
            else:
                waiting.be_done()
        if later:
            Clock.schedule_once(partial(self._go_on, later))

    def _go_on(self, later: list[tuple[int, Waiting]], _dt: float) -> None:
        for step, waiting in later:
            if step in waiting.waits:
                self.add(step, waiting)


_order = _Order()


def tell_when_laid_out(widget: Any) -> None:
    """Call `widget.all_laid_out()` whenever anything was laid out, for as long as the widget lives.

    It returns whether it made anything that is to be laid out before the same frame.
    """
    _order.afterwards.add(widget)


def lay_out_now() -> None:
    """Do what waits for the next frame."""
    _order._do_all()


class InOrder:
    """The attribute of a widget by which it is laid out; made when first asked for.

    Kivy's layouts make a trigger of their own only where there is none.
    """

    def __init__(self, do: Callable[[Any], Any]) -> None:
        self._do = do

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    def __get__(self, widget: Widget | None, owner: type) -> Any:
        if widget is None:
            return self
        made = widget.__dict__[self._name] = Waiting(widget, self._do)
        return made


class KeptInOrder(InOrder):
    """The same where Kivy sets a trigger of its own, which is not taken."""

    def __get__(self, widget: Widget | None, owner: type) -> Any:
        if widget is None:
            return self
        made = widget.__dict__.get(self._name)
        return super().__get__(widget, owner) if made is None else made

    def __set__(self, widget: Widget, value: Any) -> None:
        """Leave it as it is."""


class LaidOutInOrder:
    """A layout of Kivy's that is laid out in order."""

    _trigger_layout = InOrder(lambda layout: layout.do_layout())


class AnchorLayout(LaidOutInOrder, anchorlayout.AnchorLayout):
    """Children at a side or in the middle."""


class BoxLayout(LaidOutInOrder, boxlayout.BoxLayout):
    """Children side by side, or one below the other."""


class FloatLayout(LaidOutInOrder, floatlayout.FloatLayout):
    """Children where they say."""


class GridLayout(LaidOutInOrder, gridlayout.GridLayout):
    """Children in lines and columns."""


class StackLayout(LaidOutInOrder, stacklayout.StackLayout):
    """Children that flow like words."""


for layout in (AnchorLayout, BoxLayout, FloatLayout, GridLayout, StackLayout):
    # In kv, too, the name means ours.
    Factory.unregister(layout.__name__)
    Factory.register(layout.__name__, cls=layout)
