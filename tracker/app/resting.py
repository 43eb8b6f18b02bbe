"""Lets the window rest while nothing moves: Kivy asks for events sixty times a second, on a phone that lies all evening beside the loom."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window

from tracker.device import memory

QUIET_S = 2.0
"""The window rests when for so long nothing was drawn and nothing touched."""
RESTING_FPS = 15
"""Looks for a touch a second while the window rests: the first one is answered within 67 ms, below the 100 ms that
feel instant (Miller 1968, "Response time in man-computer conversational transactions", as commonly cited)."""

LONG_FRAME_S = 0.3
"""A frame that took so long was no rest: a page was built in it, and is not on the screen yet."""

MOVES = ("on_flip", "on_touch_down", "on_touch_move", "on_touch_up", "on_key_down", "on_resize")
"""What wakes the window: a frame was drawn, or the weaver does something."""


class Rest:
    """Lowers the number of frames a second while nothing moves, and takes it up again when something does.

    With that, what the app will need is got ready, garbage is looked for, and memory that was freed goes back to the system:
    nobody waits for it then.

    A window that is driven without a limit, as the tests do, is left alone.
    """

    def __init__(self, ahead: Iterable[None] = ()) -> None:
        """Take what is to be got ready, in steps short enough for a touch to wait for one."""
        self._ahead = iter(ahead)
        self._steps: Iterator[None] = iter(())
        self._awake_fps = Clock._max_fps
        self._moved_s = Clock.get_time()
        self._looking: Any = None
        self._readying: Any = None

    def begin(self) -> None:
        """From now on rest while nothing moves."""
        if self._awake_fps > RESTING_FPS:
            memory.collect_at_rest()
            for event in MOVES:
                Window.bind(**{event: self._moved})
            self._moved()

    def end(self) -> None:
        """Rest no more."""
        for event in MOVES:
            Window.unbind(**{event: self._moved})
        if self._looking is not None:
            self._looking.cancel()
        self._ready_no_more()
        Clock._max_fps = self._awake_fps
        memory.collect_as_usual()

    def _moved(self, *_args: Any) -> None:
        self._moved_s = Clock.get_time()
        self._ready_no_more()
        if self._looking is None:
            Clock._max_fps = self._awake_fps
            self._looking = Clock.schedule_once(self._look, QUIET_S)

    def _ready_no_more(self) -> None:
        if self._readying is not None:
            self._readying.cancel()
            self._readying = None

    def _look(self, _dt: float) -> None:
        if Clock.frametime > LONG_FRAME_S:
            # On a slow phone garbage would be looked for before the page that the weaver waits for is drawn.
            self._moved_s = Clock.get_time()
        quiet_s = Clock.get_time() - self._moved_s
        if quiet_s < QUIET_S:
            self._looking = Clock.schedule_once(self._look, QUIET_S - quiet_s)
        else:
            self._looking = None
            Clock._max_fps = RESTING_FPS
            self._begin_readying()

    def _begin_readying(self) -> None:
        self._steps = chain(self._ahead, memory.tidying())
        self._get_ready()

    def _get_ready(self, _dt: float = 0.0) -> None:
        """Take a step of what is to be got ready, and tidy up when that is; a touch waits for one step at most."""
        self._readying = None
        if next(self._steps, self) is not self:
            self._readying = Clock.schedule_once(self._get_ready)
