"""Fills what scrolls step by step: what can be seen of it before the next frame, the rest in the frames after it.

A page of forty cards is one to two thousand objects, and on a slow phone takes longer than a tap may wait for. Nothing that is
seen comes later or moves: each frame is drawn when the window is full, and what comes after it comes below.
"""

from __future__ import annotations

import weakref
from collections.abc import Iterator
from typing import Any, Protocol

from kivy.clock import Clock
from kivy.uix.widget import Widget

A_FRAME_S = 0.016
"""So long the steps of a frame after the first may take; the last of them may last longer."""
FIRST_STEPS = 4
"""Taken before it is known how tall a step is."""

under_way: weakref.WeakSet[Filling] = weakref.WeakSet()
"""What is not full yet."""


class Scrolls(Protocol):
    """What scrolls, as far as it is asked here."""

    children: list[Widget]
    height: float

    @property
    def beyond_px(self) -> float:
        """How much of the content lies beyond the upper edge, px."""
        ...

    def keep_place(self) -> None:
        """Keep what stands at the upper edge there."""

    def get_root_window(self) -> Any:
        """Return the window that shows it, or None."""


class Filling:
    """The steps by which one content is filled; after each step it may be drawn."""

    def __init__(self, scroll: Scrolls, columns: Widget, steps: Iterator[None]) -> None:
        self._scroll, self._columns, self._steps = scroll, columns, steps
        self._beyond_px = scroll.beyond_px
        self._taken = 0
        self._next = Clock.create_trigger(self._take_in_frame)
        under_way.add(self)
        self._take(FIRST_STEPS)
        if not self.done:
            self._next()

    @property
    def done(self) -> bool:
        """Whether all steps are taken."""
        return self not in under_way

    @property
    def seen(self) -> bool:
        """Whether it goes on: what no window shows waits until one does."""
        return self._scroll.get_root_window() is not None

    def stop(self) -> None:
        """Take no more steps: the content is filled anew."""
        under_way.discard(self)
        self._next.cancel()
        self._steps = iter(())

    def finish(self) -> None:
        """Take all steps that are left, now."""
        while not self.done:
            self._take(1)

    def laid_out(self) -> bool:
        """Take more steps where the window is not full, and tell whether any were; the rest follows with the next frames."""
        if self.done or not self.seen:
            return False
        there_px, wanted_px = self._there_px(), self._wanted_px()
        if there_px >= wanted_px:
            self._next()
            return False
        a_step_px = max(1.0, there_px / max(1, self._taken))
        self._take(1 + int((wanted_px - there_px) / a_step_px))
        return True

    def _there_px(self) -> float:
        content, columns = self._scroll.children[0], self._columns
        shortest = min((box.height for box in columns.children), default=0.0)
        return float(content.height - columns.height + shortest)

    def _wanted_px(self) -> float:
        return float(max(self._beyond_px, self._scroll.beyond_px) + self._scroll.height)

    def _take(self, steps: int) -> None:
        for _step in range(steps):
            try:
                next(self._steps)
            except StopIteration:
                self.stop()
                return
            self._taken += 1

    def _take_in_frame(self, _dt: float) -> None:
        if self.done or not self.seen:
            return
        # What stands at the upper edge stays there while the content grows below.
        self._scroll.keep_place()
        end_s = Clock.time() + A_FRAME_S
        self._take(1)
        while not self.done and Clock.time() < end_s:
            self._take(1)


def goes_on() -> bool:
    """Return whether anything that a window shows is not full yet."""
    return any(one.seen for one in list(under_way))
