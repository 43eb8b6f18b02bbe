"""Keys side by side, as wide as their words ask for, so that none has to shrink beside its neighbours."""

from __future__ import annotations

from math import ceil
from typing import Any

from kivy.metrics import dp

from tracker.widgets.basics import Choice, Key, words_and_air
from tracker.widgets.laid_out import GridLayout


class KeyRow(GridLayout):
    """One line of keys; half as many in a line, or one, where that is too narrow for the words of all."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"cols": 1, "size_hint_y": None, "spacing": dp(6), **kwargs})
        self.fbind("minimum_height", self.setter("height"))
        self.fbind("width", self._share)

    def add_widget(self, widget: Key, *args: Any, **kwargs: Any) -> None:
        """Add a key."""
        super().add_widget(widget, *args, **kwargs)
        widget.inscription.fbind("natural", self._share)
        self._share()

    def remove_widget(self, widget: Key, *args: Any, **kwargs: Any) -> None:
        """Take a key off."""
        widget.inscription.funbind("natural", self._share)
        super().remove_widget(widget, *args, **kwargs)
        self._share()

    def _share(self, *_args: Any) -> None:
        keys = list(reversed(self.children))
        if not keys:
            return
        gap, room = self.spacing[0], self.width - self.padding[0] - self.padding[2]
        choices = [key for key in keys if isinstance(key, Choice)]
        for choice in choices:
            choice.marked = True
        if sum(map(words_and_air, keys)) > room - gap * (len(keys) - 1):
            # Rather without their rings than in a second line: which one is taken, its ground tells as well.
            for choice in choices:
                choice.marked = False
        wanted = [words_and_air(key) for key in keys]
        for many in (len(keys), ceil(len(keys) / 2), 1):
            free = room - gap * (many - 1)
            widest = [max(wanted[at::many]) for at in range(many)]
            if sum(widest) <= free:
                break
        spare = max(0.0, free - sum(widest)) / many
        self.cols = many
        for at, key in enumerate(keys):
            # What is over is shared evenly: keys of nearly the same words look the same.
            key.size_hint_x = widest[at % many] + spare
