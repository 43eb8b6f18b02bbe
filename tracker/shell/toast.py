"""The strip that says what just changed and offers to undo it."""

from __future__ import annotations

from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.widgets.basics import Card, load_kv

MOST_LINES = 2
"""Lines of a strip with an undo: it lies in the room of the page, whose picture more of them would hide."""
DOT = " · "
"""Between the parts of what is said, the most important first."""


def within_lines(sentence: str, width: float, font: dict[str, Any], most: int = MOST_LINES) -> str:
    """Return as much of a sentence as stands on so many lines: whole parts of it, else its first words.

    Parameters
    ----------
    width
        Of a line, px; 0 or less when not known.
    font
        Name and size [px] of the type, as a label takes them.
    """

    def height(words: str) -> float:
        label = CoreLabel(text=words, text_size=(width, None), **font)
        label.refresh()
        return float(label.texture.height)

    if width <= 1:
        return sentence
    room = height("\n".join(["Ag"] * most)) + 1
    parts = sentence.split(DOT)
    while len(parts) > 1 and height(DOT.join(parts)) > room:
        parts.pop()
    words = DOT.join(parts).split(" ")
    if height(" ".join(words)) <= room:
        return " ".join(words)
    while len(words) > 1 and height(" ".join(words) + " …") > room:
        words.pop()
    return " ".join(words) + " …"


class Toast(Card):
    """Says what just changed and offers to take it back."""

    sentence = StringProperty("")
    shown = StringProperty("")
    """What of the sentence has room."""
    undo_label = StringProperty("")
    undo = ObjectProperty(None, allownone=True)
    warn = BooleanProperty(False)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        words = self.ids.words
        for name in ("width", "font_size"):
            words.fbind(name, self._fit)
        for name in ("sentence", "undo_label"):
            self.fbind(name, self._fit)
        self._fit()

    def _fit(self, *_args: Any) -> None:
        words = self.ids.words
        font = {"font_name": words.font_name, "font_size": words.font_size}
        # What only warns stays whole: it has no undo to be hidden behind, and says what to do.
        self.shown = within_lines(self.sentence, words.width, font) if self.undo_label else self.sentence

    def on_touch_down(self, touch: Any) -> bool:
        """Let nothing beneath be tapped through the strip."""
        return super().on_touch_down(touch) or self.collide_point(*touch.pos)

    def undo_now(self) -> None:
        """Undo what the strip speaks of."""
        undo, self.undo = self.undo, None
        if undo:
            undo()


load_kv(__file__)
