"""A card that slides over a page to ask one thing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.floatlayout import FloatLayout

from tracker.widgets.basics import load_kv


class Sheet(FloatLayout):
    """A card that slides over a page to ask one thing; back or a tap beside it puts it away."""

    title = StringProperty("")
    content = ObjectProperty(None)
    on_close: Callable[[], None] | None = None

    def on_touch_down(self, touch: Any) -> bool:
        if not self.ids.card.collide_point(*touch.pos):
            self.put_away()
            return True
        super().on_touch_down(touch)
        return True

    def put_away(self) -> None:
        """Close the sheet."""
        if self.parent:
            self.parent.remove_widget(self)
        if self.on_close:
            self.on_close()


load_kv(__file__)
