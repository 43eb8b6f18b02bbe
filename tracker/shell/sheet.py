"""A card that slides over a page to ask one thing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.shell.over_page import OverPage
from tracker.widgets.basics import Key, load_kv


class Sheet(OverPage):
    """A card that slides over a page to ask one thing; back or a tap beside it puts it away."""

    title = StringProperty("")
    content = ObjectProperty(None)
    away = NumericProperty(0.0)
    """How far below its place the card still is, as a share of its way."""
    on_close: Callable[[], None] | None = None

    def fill(self, content: Widget) -> None:
        """Put the content in; its main key stays in sight below what scrolls, and so does what it names `foot`; what it names `stays`, above."""
        self.content = content
        self.ids.body.add_widget(content)
        stays = content.ids.get("stays")
        if stays is not None:
            stays = stays.__self__
            content.remove_widget(stays)
            self.ids.head.add_widget(stays)
        foot = content.ids.get("foot")
        if foot is not None:
            foot = foot.__self__
            content.remove_widget(foot)
            self.ids.foot.add_widget(foot)
        main = [child for child in content.children if isinstance(child, Key) and child.role == "act"]
        if len(main) == 1:
            key = main[0]
            key.loom = True
            content.remove_widget(key)
            refusal = content.ids.get("refusal")
            if refusal is not None:
                # Why nothing was saved is seen wherever the questions are scrolled to.
                content.remove_widget(refusal)
                self.ids.foot.add_widget(refusal)
            self.ids.foot.add_widget(key)

    def bring(self, widget: Widget) -> None:
        """Scroll until a widget of the content can be seen."""
        scroll = self.ids.scroll
        if scroll.children and scroll.children[0].height > scroll.height:
            scroll.scroll_to(widget, padding=widget.height / 2, animate=False)

    def half_filled(self) -> tuple[dict[str, Any], str] | None:
        return getattr(self.content, "half_filled", lambda: None)()

    def on_touch_down(self, touch: Any) -> bool:
        if not self.ids.card.collide_point(*touch.pos):
            self.put_away()
            return True
        super().on_touch_down(touch)
        return True

    def put_away(self) -> None:
        """Close the sheet."""
        super().put_away()
        if self.on_close:
            self.on_close()


load_kv(__file__)
