"""The strip that says what just changed and offers to undo it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.widgets.basics import Card, load_kv
from tracker.widgets.look import look

MOST_LINES = 2
"""Lines of a strip with an undo: it lies over the title, and more of them would hide what is below."""
DOT = " · "
"""Between the parts of what is said, the most important first."""


def within_lines(sentence: str, width: float, font_name: str, sizes: Sequence[float]) -> tuple[str, float]:
    """Return as many parts of a sentence as stand on so many lines, and the size of type; one part alone stays whole.

    Parameters
    ----------
    width
        Of a line, px; 0 or less when not known.
    sizes
        Sizes of type [px], the wished one first: a smaller one is taken where more is said with it.
    """

    def fits(words: str, size: float) -> bool:
        def height(text: str) -> float:
            # A little less: what just fits here may wrap there.
            label = CoreLabel(text=text, text_size=(width - dp(4), None), font_name=font_name, font_size=size)
            label.refresh()
            return float(label.texture.height)

        return height(words) <= height("\n".join(["Ag"] * MOST_LINES)) + 1

    parts = sentence.split(DOT)
    while width > 1:
        for size in sizes:
            if fits(DOT.join(parts), size):
                return DOT.join(parts), size
        if len(parts) == 1:
            return parts[0], sizes[-1]
        parts.pop()
    return sentence, sizes[0]


class Toast(Card):
    """Says what just changed and offers to take it back."""

    sentence = StringProperty("")
    shown = StringProperty("")
    """What of the sentence has room."""
    undo_label = StringProperty("")
    undo = ObjectProperty(None, allownone=True)
    warn = BooleanProperty(False)
    style = StringProperty("body")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.ids.words.fbind("width", self._fit)
        look.bind(type_sizes=self._fit)
        for name in ("sentence", "undo_label"):
            self.fbind(name, self._fit)
        self._fit()

    def _fit(self, *_args: Any) -> None:
        words, styles = self.ids.words, ("body", "small")
        self.shown, self.style = self.sentence, styles[0]
        if self.undo_label:
            # What only warns stays whole: it has no undo to be hidden behind, and says what to do.
            sizes = [look.type_sizes[style] for style in styles]
            self.shown, size = within_lines(self.sentence, words.width, words.font_name, sizes)
            self.style = styles[sizes.index(size)]

    def time_out(self, _dt: float) -> None:
        """Offer no more to take it back; what changed stays said where a sheet holds the strip, and nothing in it moves."""
        self.undo_label = ""

    def on_touch_down(self, touch: Any) -> bool:
        """Let nothing beneath be tapped through the strip."""
        return super().on_touch_down(touch) or self.collide_point(*touch.pos)

    def undo_now(self) -> None:
        """Undo what the strip speaks of."""
        undo, self.undo = self.undo, None
        if undo:
            undo()


load_kv(__file__)
