"""The strip that says what just changed and offers to undo it."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.widgets.basics import Card, load_kv


class Toast(Card):
    """Says what just changed and offers to take it back."""

    sentence = StringProperty("")
    undo_label = StringProperty("")
    undo = ObjectProperty(None, allownone=True)
    warn = BooleanProperty(False)

    def on_touch_down(self, touch: Any) -> bool:
        """Let nothing beneath be tapped through the strip."""
        return super().on_touch_down(touch) or self.collide_point(*touch.pos)

    def undo_now(self) -> None:
        """Undo what the strip speaks of."""
        undo, self.undo = self.undo, None
        if undo:
            undo()


load_kv(__file__)
