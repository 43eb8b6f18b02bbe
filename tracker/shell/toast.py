"""The strip that says what just changed and offers to undo it."""

from __future__ import annotations

from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.widgets.basics import Card, load_kv
from tracker.widgets.line_breaks import holding_together
from tracker.widgets.look import look
from tracker.widgets.plain_label import extent

MOST_LINES = 2
"""Lines of a strip with an undo: it lies over the title, and more of them would hide what is below."""
LINES_OVER_TITLE = 3
"""Lines of what cannot be said in fewer, before the strip takes more room than the title's."""
DOT = " · "
"""Between the parts of what is said, the most important first."""


def lines_taken(sentence: str, width: float, font_name: str, font_size: float) -> float:
    """Return how many lines a sentence takes.

    Parameters
    ----------
    width
        Of a line, px.
    font_size
        Of its type, px.
    """

    def height(words: str, room: float | None) -> float:
        label = CoreLabel(text=words, text_size=(room, None), font_name=font_name, font_size=font_size)
        label.refresh()
        return float(label.texture.height)

    # A little less: what just fits here may wrap there.
    room = max(dp(1), width - dp(4))
    held = holding_together(sentence, room, lambda part: extent(part, font_name, font_size))
    return height(held, room) / height("Ag", None)


def within_lines(sentence: str, width: float, font_name: str, font_size: float) -> str:
    """Return as many parts of a sentence as stand on `MOST_LINES` lines of `width` px; one part alone stays whole."""
    parts = sentence.split(DOT)
    while (
        len(parts) > 1
        and width > 1
        and lines_taken(DOT.join(parts), width, font_name, font_size) > MOST_LINES + 0.5
    ):
        parts.pop()
    return DOT.join(parts)


class Toast(Card):
    """Says what just changed and offers to take it back."""

    sentence = StringProperty("")
    fuller = StringProperty("")
    """The same with more to it, said where there is room for all of it, or for all but its last part; "" for none."""
    shown = StringProperty("")
    """What of the sentence has room."""
    undo_label = StringProperty("")
    undo = ObjectProperty(None, allownone=True)
    warn = BooleanProperty(False)

    __events__ = ("on_put_away",)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.ids.words.fbind("width", self._fit)
        look.bind(type_sizes=self._fit)
        for name in ("sentence", "fuller", "undo_label"):
            self.fbind(name, self._fit)
        self._fit()

    def _fit(self, *_args: Any) -> None:
        words = self.ids.words
        line = (words.width, words.font_name, look.type_sizes["body"])
        fuller = self.fuller and within_lines(self.fuller, *line)
        # What only warns stays whole: it has no undo to be hidden behind, and says what to do.
        if not self.undo_label:
            self.shown = self.fuller or self.sentence
        elif fuller and fuller in (self.fuller, DOT.join(self.fuller.split(DOT)[:-1])):
            self.shown = fuller
        else:
            self.shown = within_lines(self.sentence, *line)

    def stands_in(self, width: float) -> bool:
        """True where what has to be said stands on few lines of a strip of `width` px."""
        words, undo = self.ids.words, self.ids.undo
        needed = self.sentence.split(DOT)[0] if self.undo_label else self.sentence
        room = (
            width - self.padding[0] - self.padding[2] - (undo.width + self.spacing if self.undo_label else 0)
        )
        if room < dp(60):
            return False
        return lines_taken(needed, room, words.font_name, look.type_sizes["body"]) <= LINES_OVER_TITLE + 0.5

    def time_out(self, _dt: float) -> None:
        """Offer no more to take it back; what changed stays said where a sheet holds the strip, and nothing in it moves."""
        self.undo_label = ""

    def on_touch_down(self, touch: Any) -> bool:
        """Let nothing beneath be tapped through the strip; a finger on its words, or flicked along it, puts it away once lifted."""
        if super().on_touch_down(touch):
            return True
        if not self.collide_point(*touch.pos):
            return False
        touch.grab(self)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """Ask to be put away: what it lies over is wanted."""
        if touch.grab_current is not self:
            return bool(super().on_touch_up(touch))
        touch.ungrab(self)
        self.dispatch("on_put_away")
        return True

    def on_put_away(self) -> None:
        """The weaver has read it, or wants what lies beneath it."""

    def undo_now(self) -> None:
        """Undo what the strip speaks of."""
        undo, self.undo = self.undo, None
        if undo:
            undo()


load_kv(__file__)
