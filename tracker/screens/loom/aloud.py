"""A row read aloud run by run: a touch anywhere, or a headset's button, moves on; nobody has to look."""

from __future__ import annotations

from typing import Any, Protocol

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty
from kivy.uix.behaviors import ButtonBehavior

from tracker.device import headset
from tracker.device.speak import SLOWER_RATE, USUAL_RATE, Voice
from tracker.presenters.aloud import AloudState, build_aloud_state
from tracker.presenters.loom import LoomState
from tracker.shell.page import there
from tracker.shell.sheet import Sheet
from tracker.widgets.basics import load_kv
from tracker.widgets.laid_out import BoxLayout
from tracker.words import language

SLOWER = "reads slower"
"""The draft that keeps how fast this weaver listens."""
LISTEN_EVERY_S = 0.25
"""How often the headset's button is asked about while it is listened to."""
NOTHING = AloudState("", "", "", "", "", "", "", "", "", False)


class FollowedRow(Protocol):
    """The page below, as far as reading aloud needs it."""

    row: LoomState | None
    state: Any
    browsing: Any
    desk: Any

    def place(self) -> int | None:
        """Return how many runs of the row are tied."""

    def keep_place(self, run: int) -> None:
        """Keep that so many runs are tied."""

    def look_at(self, row: int | None) -> None:
        """Show another row; None: the next to weave."""

    def row_done(self) -> None:
        """Count a row and go on to the next."""


class AloudSurface(ButtonBehavior, BoxLayout):
    """All of the window that is no key: a touch on it moves on."""


class AloudSheet(Sheet):
    """Covers the page of the row while it is read aloud."""

    state = ObjectProperty(NOTHING, rebind=True)
    paused = BooleanProperty(False)
    slower = BooleanProperty(False)
    slows = BooleanProperty(False)
    """Whether the voice can be slowed."""
    place = NumericProperty(0)

    def __init__(self, page: FollowedRow, voice: Voice, **kwargs: Any) -> None:
        self._page, self._voice = page, voice
        super().__init__(slows=voice.slows, **kwargs)
        self.slower = bool(page.desk.drafts.get(SLOWER, False))
        self._listening = None

    # --- coming and going

    def on_parent(self, _sheet: Any, parent: Any) -> None:
        """Begin, and end however the sheet goes away."""
        if parent is not None:
            self._say()
            Window.bind(on_key_down=self._key)
            if headset.listen():
                self._listening = Clock.schedule_interval(self._ask_headset, LISTEN_EVERY_S)
        else:
            self._voice.hush()
            Window.unbind(on_key_down=self._key)
            headset.leave()
            if self._listening is not None:
                self._listening.cancel()

    def left(self) -> None:
        """The app goes out of sight: somebody calls, or the weaver looks at something else."""
        self.pause()

    def _ask_headset(self, _dt: float) -> None:
        for _press in range(headset.presses()):
            self.forward()

    def _key(self, _window: Any, key: int, *_rest: Any) -> bool:
        if key in headset.PLAY_KEYS:
            self.forward()
            return True
        return False

    # --- moving

    def forward(self) -> None:
        """Go on: to the next run, from the last one to the next row, or out of a pause."""
        page = self._page
        if self.paused:
            self.paused = False
            self._say()
        elif not self.state.ends:
            page.keep_place(self.place + 1)
            self._say()
        elif page.browsing:
            self.put_away()
            page.look_at(None)
        else:
            page.row_done()
            if self.parent is None:
                return
            if page.state == "row":
                self._say()
            else:
                self.put_away()

    def step_back(self) -> None:
        """Say the run before once more."""
        self.paused = False
        self._page.keep_place(max(0, self.place - 1))
        self._say()

    def pause(self) -> None:
        """Be silent until the next touch, which says the run in hand again."""
        self.paused = True
        self._voice.hush()

    def change_speed(self) -> None:
        """Speak slower, or at the usual speed again."""
        self.slower = not self.slower
        self._page.desk.drafts.put(SLOWER, self.slower or None)
        self.paused = False
        self._say()

    def _say(self) -> None:
        page = self._page
        place = page.place() or 0
        self.place, self.state = place, build_aloud_state(there(page.row), place)
        self._voice.say(self.state.spoken, SLOWER_RATE if self.slower else USUAL_RATE, language())

    def on_touch_down(self, touch: Any) -> bool:
        super(Sheet, self).on_touch_down(touch)
        return True


load_kv(__file__)
