"""The Kivy app: the window, the stage, the back key, and a desk that answers on the touch thread."""

from __future__ import annotations

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window

from tracker import words
from tracker.desk import Desk
from tracker.device.reminders import POLL_SECONDS, Reminders
from tracker.domain.errors import BookTrouble
from tracker.screens.stage.stage import Stage
from tracker.theme import DARK, LIGHT
from tracker.widgets.look import look

KEY_BACK = 27
"""Escape on a keyboard and the back gesture on Android."""


COPY_AFTER_S = 8
"""The copy of the day waits until the weaver has what she opened the app for."""


class LoomsideApp(App):
    """Runs one desk in one window."""

    title = "Loomside"

    def __init__(self, desk: Desk, language: str | None = None, **kwargs) -> None:
        super().__init__(**kwargs)
        self.language = language
        self.desk = desk
        self.stage: Stage | None = None

    def build(self) -> Stage:
        desk = self.desk
        desk.post = lambda work: Clock.schedule_once(lambda _dt: work(), 0)
        look.dark = bool(desk.drafts.get("dark", False))
        look.text_scale = float(desk.drafts.get("text scale", 1.0))
        words.use_language(self.language or str(desk.drafts.get("language", "en")))
        look.fit(*Window.size)
        Window.clearcolor = look.tones["ground"]
        look.bind(tones=lambda *_a: setattr(Window, "clearcolor", look.tones["ground"]))
        Window.softinput_mode = "below_target"
        Window.bind(on_keyboard=self._on_key)
        self.stage = Stage(desk)
        self.reminders = Reminders(desk.drafts, self.stage.say)
        Clock.schedule_interval(self._look_at_timer, POLL_SECONDS)
        desk.ground = (DARK if look.dark else LIGHT).card
        self.stage.home("standing")
        if desk.background:
            # After the first frame: opening takes longer than drawing what was last shown.
            Clock.schedule_once(lambda _dt: Clock.schedule_once(lambda _dt: desk.open_soon()))
            Clock.schedule_once(lambda _dt: self._copy_of_the_day(), COPY_AFTER_S)
        else:
            self._open_now()
        return self.stage

    def _open_now(self) -> None:
        try:
            self.desk.open()
        except BookTrouble as trouble:
            self.desk.trouble = trouble.sentence
            self.stage.book_changed()

    def _copy_of_the_day(self) -> None:
        stage = self.stage
        self.desk.copy_of_the_day(lambda sentence: stage.say(sentence, warn=True) if stage else None)

    def _look_at_timer(self, _dt: float) -> None:
        self.reminders.poll()

    def _on_key(self, _window, key: int, *_args) -> bool:
        return key == KEY_BACK and self.stage is not None and self.stage.back()

    def on_pause(self) -> bool:
        return True

    def on_resume(self) -> None:
        # A sleeping phone stands still; what fell due meanwhile is said at once.
        self.reminders.poll()
        self._copy_of_the_day()

    def on_stop(self) -> None:
        self.desk.close()
