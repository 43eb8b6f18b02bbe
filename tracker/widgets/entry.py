"""A field for words. Apart from the other parts, because the first view comes up without it."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.textinput import TextInput

from tracker.widgets import keyboard
from tracker.widgets.basics import load_kv
from tracker.widgets.plain_label import stand_in


class Entry(TextInput):
    """A line (or a few) for names and notes."""

    focus: bool
    tone = StringProperty("ink")
    least = NumericProperty(0.0)
    """Its least height, px."""

    def on_text(self, _entry: object, text: str) -> None:
        """Show letters that the app's own type lacks in another."""
        self.font_name = stand_in(text) or "Roboto"

    def on_touch_down(self, touch: Any) -> bool:
        """Ask for the phone's keyboard anew when it was put away: Kivy asks only when a field is entered."""
        if self.focus and self.collide_point(*touch.pos) and any(away() for away in keyboard.was_put_away):
            self.focus = False
        return super().on_touch_down(touch)

    def _adjust_viewport(self, cc: int, cr: int) -> None:
        # Kivy does so, too, but keeps for ever the field it last did it for, and with it that field's page.
        Clock.schedule_once(lambda _dt: TextInput._adjust_viewport.__wrapped__(self, cc, cr), -1)


load_kv(__file__)
