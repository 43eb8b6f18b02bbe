"""The Kivy app: the window, the shell, the back key, and a desk that answers on the touch thread."""

from __future__ import annotations

import threading
from collections import deque
from time import monotonic
from typing import Any

from kivy.app import App
from kivy.base import ExceptionHandler, ExceptionManager
from kivy.clock import Clock
from kivy.core.window import Window

from tracker import words
from tracker.app.coming_back import come_back, forget_place, keep_place
from tracker.app.desk import Desk
from tracker.app.phone import PhoneLife
from tracker.app.reminders import Reminders, next_look_s, rug_timed, running_time
from tracker.app.resting import Rest
from tracker.app.unforeseen import note, note_and_say
from tracker.device.appearance import Appearance, appearance, insets, keyboard_was_put_away, moves
from tracker.device.awake import keep_awake
from tracker.device.back import BackGesture
from tracker.device.clock import ClockWatch, follow_zone, now_utc
from tracker.device.memory import tidy
from tracker.domain.errors import BookTrouble, LoomsideError
from tracker.presenters.settings import DARK_COLOURS, LANGUAGE, LANGUAGES, TEXT_SCALE
from tracker.presenters.timer import follow_clock
from tracker.screens import PAGES, load_ahead
from tracker.shell.shell import Shell
from tracker.theme import DARK, LIGHT, MOTION_S
from tracker.widgets import keyboard
from tracker.widgets.look import look

KEY_BACK = 27
"""Escape on a keyboard, and back on Android below 13; newer ones tell of the gesture by a call (`tracker.device.back`)."""


COPY_AFTER_S = 8
"""The copy of the day waits until the weaver has what she opened the app for."""


LOOK_AGAIN_S = 15.0
"""A touch so long after the last look at the phone's settings and the calendar looks again: both can change while the app
is in sight, and no clock runs for them."""

FAULTS, FAULTS_WITHIN_S = 5, 10.0
"""So many unforeseen faults within so many seconds come from drawing itself: going on would show nothing new."""


class _Survivor(ExceptionHandler):
    """Tells what nobody foresaw on the touch thread, and lets the app go on where it can."""

    def __init__(self, app: LoomsideApp) -> None:
        self._app = app
        self._times: deque[float] = deque(maxlen=FAULTS)

    def handle_exception(self, inst: BaseException) -> int:
        if not isinstance(inst, Exception):
            return ExceptionManager.RAISE
        if isinstance(inst, LoomsideError):
            # It says itself what is wrong and what to do: nothing that nobody foresaw.
            self._app._say(inst.sentence)
            return ExceptionManager.PASS
        self._times.append(monotonic())
        if len(self._times) == FAULTS and self._times[-1] - self._times[0] < FAULTS_WITHIN_S:
            return ExceptionManager.RAISE
        self._app._say(note_and_say(inst, self._app.desk.path))
        return ExceptionManager.PASS


class LoomsideApp(App):
    """Runs one desk in one window."""

    title = "Loomside"

    def __init__(self, desk: Desk, language: str | None = None, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.language = language
        self.desk = desk
        self.shell: Shell | None = None
        self._set_here: Appearance | None = None
        self._timer_look: Any = None
        self._clock_watch = ClockWatch()
        self._looked_s = Clock.get_time()

    def build(self) -> Shell:
        desk = self.desk
        desk.post = lambda work: Clock.schedule_once(lambda _dt: work(), 0)
        look.scale_text(chosen=desk.drafts.get(TEXT_SCALE, 1.0))
        self._follow_phone()
        look.fit(*Window.size)
        self._recolour()
        look.bind(tones=self._recolour)
        Window.softinput_mode = "below_target"
        Window.bind(on_keyboard=self._on_key)
        self.shell = Shell(desk, PAGES, lambda: (running_time(desk.drafts), rug_timed(desk.drafts)))
        self._keep_clear()
        Window.bind(on_resize=self._keep_clear)
        self.shell.bind(followed=self._stay_awake, timer_words=self._stay_awake)
        self.shell.bind(timer_words=self._mind_timer)
        self.back_gesture = BackGesture(lambda: desk.post(self._went_back), self._back_refused)
        self.shell.bind(leads_back=self._take_back)
        keyboard.was_put_away[:] = [keyboard_was_put_away]
        self.reminders = Reminders(desk.drafts, self.shell.toast)
        self.phone = PhoneLife(desk, self.shell)
        Window.bind(on_memorywarning=self._on_low_memory)
        Window.bind(focus=self._focused, on_touch_down=self._touched)
        self.rest = Rest(load_ahead())
        self.rest.begin()
        self.shell.open_tab("home")
        if desk.background:
            # After the first frame: opening takes longer than drawing what was last shown.
            Clock.schedule_once(lambda _dt: Clock.schedule_once(lambda _dt: desk.open_soon()))
            Clock.schedule_once(lambda _dt: self._copy_of_the_day(), COPY_AFTER_S)
        else:
            self._open_now()
        self.phone.begin()
        shell = self.shell
        desk.once(lambda: come_back(desk, shell, now_utc()))
        return shell

    def _follow_phone(self) -> None:
        """Be dark, bold, large and in the language that the phone is set to, where the weaver chose nothing here."""
        set_here = appearance()
        if set_here == self._set_here:
            return
        self._set_here = set_here
        look.dark = bool(self._chosen(DARK_COLOURS, set_here.dark))
        look.bold = set_here.bold
        look.scale_text(phone=set_here.text_scale or 1.0)
        spoken = set_here.language if set_here.language in LANGUAGES else "en"
        words.use_language(self.language or self._chosen(LANGUAGE, spoken))
        if self.shell is not None:
            # Words stand in the language that they were built with.
            self.shell.rebuild_pages()

    def _keep_clear(self, *_args: Any) -> None:
        """Keep the app clear of a notch and of the system's bars."""
        if self.shell is None:
            return
        edge = insets()
        width, height = Window.size
        self.shell.size_hint = (1 - (edge.left + edge.right) / width, 1 - (edge.top + edge.bottom) / height)
        self.shell.pos_hint = {"x": edge.left / width, "y": edge.bottom / height}

    def _chosen(self, name: str, of_the_phone: Any) -> Any:
        """Return what the weaver chose in the app; what the phone is set to while she has not."""
        return self.desk.drafts.get(name, of_the_phone)

    def move(self) -> None:
        """Let pages, sheets and rows glide to their places, unless the phone is set to move nothing."""
        look.motion_s = MOTION_S if moves() else 0.0

    def survive(self) -> None:
        """From now on let what nobody foresaw end in a sentence on the screen, its trace kept, and go on.

        A fault that comes again and again is raised instead, so that the app ends.
        """
        ExceptionManager.add_handler(_Survivor(self))

        def in_thread(thrown: threading.ExceptHookArgs) -> None:
            if isinstance(thrown.exc_value, Exception):
                told = note_and_say(thrown.exc_value, self.desk.path)
                self.desk.post(lambda: self._say(told))

        threading.excepthook = in_thread

    def _say(self, sentence: str) -> None:
        if self.shell is not None:
            self.shell.toast(sentence, warn=True)

    def _recolour(self, *_args: Any) -> None:
        """Follow light and dark: the rug's picture, too, whose rows to come are drawn towards the ground."""
        Window.clearcolor = look.tones["ground"]
        ground = (DARK if look.dark else LIGHT).card
        if ground != self.desk.ground:
            self.desk.ground = ground
            if self.desk.rug is not None:
                self.desk.read()

    def _open_now(self) -> None:
        if self.desk.was_opened:
            self.desk.read()
            return
        try:
            self.desk.open()
        except BookTrouble as trouble:
            sentence = trouble.sentence
            self.desk.post(lambda: self._tell_trouble(sentence))  # after what the desk itself published

    def _tell_trouble(self, sentence: str) -> None:
        self.desk.trouble = sentence
        if self.shell is not None:
            self.shell.book_changed()

    def _copy_of_the_day(self) -> None:
        shell = self.shell
        self.desk.copy_of_the_day(lambda sentence: shell.toast(sentence, warn=True) if shell else None)

    def _mind_timer(self, *_args: Any) -> None:
        """Look at the running timer when its next minute is full; with none running no clock runs."""
        if self._timer_look is not None:
            self._timer_look.cancel()
            self._timer_look = None
        wait_s = next_look_s(self.desk.drafts)
        if wait_s is not None:
            self._timer_look = Clock.schedule_once(self._look_at_timer, wait_s)

    def _mind_clock(self) -> None:
        """Where the phone's clock was set, let the timers tell what they told before: else the hours would be wrong."""
        by = self._clock_watch.set_by()
        if by:
            follow_clock(self.desk.drafts, by)

    def _look_at_timer(self, _dt: float = 0.0) -> None:
        self._mind_clock()
        self.reminders.poll()
        if self.shell is not None:
            self.shell.look_at_timer()
        self._mind_timer()

    def look_around(self) -> None:
        """Follow what may have changed around the app: the phone's settings, its bars, the calendar, the timer."""
        self._looked_s = Clock.get_time()
        self._follow_phone()
        self._keep_clear()
        follow_zone()
        self.desk.follow_day()
        if self.shell is not None:
            self.shell.say_behind()
        self._look_at_timer()

    def _focused(self, _window: object, focused: bool) -> None:
        """The phone's own bar was pulled down and let go, or another window stood beside: settings may have changed there."""
        if focused:
            self.look_around()

    def _touched(self, *_args: Any) -> None:
        # Before the touch starts, pauses or saves a timer by another clock than it began with.
        self._mind_clock()
        if Clock.get_time() - self._looked_s >= LOOK_AGAIN_S:
            self._looked_s = Clock.get_time()
            # After the touch: what it means to hit must lie there still.
            Clock.schedule_once(lambda _dt: self.look_around(), 0)

    def _stay_awake(self, *_args: Any) -> None:
        """Keep the screen lit while a row is followed or the timer runs, and no longer."""
        if self.shell is not None:
            keep_awake(self.shell.followed or bool(self.shell.timer_words))

    def _on_key(self, _window: object, key: int, *_args: Any) -> bool:
        return key == KEY_BACK and self.shell is not None and self.shell.back()

    def _take_back(self, _shell: object, leads_back: bool) -> None:
        self.back_gesture.take(leads_back)

    def _back_refused(self, error: Exception) -> None:
        """The phone would not tell of the gesture: its trace is kept; she was not doing anything that failed."""
        self.desk.post(lambda: self._keep_trace(error))

    def _keep_trace(self, error: Exception) -> None:
        note(error, self.desk.path)

    def _went_back(self) -> None:
        """Do what the key does; that leaves the app where back leads nowhere any more."""
        # A first gesture put the phone's keyboard away: the field that asked for it has nothing to close.
        Window.release_all_keyboards()
        Window.dispatch("on_keyboard", KEY_BACK, 0, None, [])

    def _on_low_memory(self, *_args: Any) -> None:
        self.phone.low_memory()

    def on_pause(self) -> bool:
        self.phone.leave()
        if self.shell is not None:
            keep_place(self.desk, self.shell, now_utc())
        tidy()
        return True

    def on_resume(self) -> None:
        forget_place(self.desk.drafts)
        # A sleeping phone stands still; what fell due meanwhile is said at once.
        self.look_around()
        self._copy_of_the_day()

    def on_stop(self) -> None:
        try:
            Window.unbind(
                on_keyboard=self._on_key, on_memorywarning=self._on_low_memory, on_resize=self._keep_clear
            )
            Window.unbind(focus=self._focused, on_touch_down=self._touched)
            self.rest.end()
            if self._timer_look is not None:
                self._timer_look.cancel()
            if self.shell is not None:
                self.phone.leave()
                forget_place(self.desk.drafts)
                self.shell.close()
                self.back_gesture.take(False)
            look.let_go()
            from kivy.uix.recycleview import views

            # Kivy keeps rows of closed lists for the next list of their kind: they would no longer follow the look.
            for rows in views._cached_views.values():
                rows.clear()
        finally:
            self.desk.close()
