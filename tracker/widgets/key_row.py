"""Keys side by side in columns, as wide as their words ask for, so that none has to shrink beside its neighbours."""

from __future__ import annotations

from math import ceil
from typing import Any

from kivy.metrics import dp

from tracker.widgets.basics import Choice, Key, Tiles, words_and_air
from tracker.widgets.look import look

MOST_SPARE_DP = 56
"""The most by which a key is wider than its words ask for: a few short ones across a tablet looked like bars."""


class KeyRow(Tiles):
    """Keys in as few lines as their words stand in, one below the other in columns: a ragged pile is not read at a glance."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"cols": 1, "size_hint_y": None, **kwargs})
        self.fbind("minimum_height", self.setter("height"))
        self.fbind("width", self._share)

    def add_widget(self, widget: Key, *args: Any, **kwargs: Any) -> None:
        """Add a key."""
        widget.size_hint_x = None
        super().add_widget(widget, *args, **kwargs)
        widget.inscription.fbind("natural", self._share)
        self._share()

    def remove_widget(self, widget: Key, *args: Any, **kwargs: Any) -> None:
        """Take a key off."""
        widget.inscription.funbind("natural", self._share)
        super().remove_widget(widget, *args, **kwargs)
        self._share()

    def _share(self, *_args: Any) -> None:
        keys: list[Key] = list(reversed(self.children))
        if not keys:
            return
        choices = [key for key in keys if isinstance(key, Choice)]
        columns = {}
        for marked in (True, False):
            # Rather without their rings than in one line more: which one is taken, its ground tells as well.
            for choice in choices:
                choice.marked = marked
            columns[marked] = self._columns([max(look.touch, words_and_air(key)) for key in keys])
            if not choices:
                break
        marked = columns.get(False, columns[True])[0] >= columns[True][0]
        for choice in choices:
            choice.marked = marked
        _lines, widths = columns[marked]
        self.cols = len(widths)
        for at, key in enumerate(keys):
            key.width = widths[at % len(widths)]

    def _columns(self, wanted: list[float]) -> tuple[int, list[float]]:
        """Return in how many lines keys stand that want so many px each, and how wide their columns are."""
        gap, room = self.spacing[0], self.width - self.padding[0] - self.padding[2]
        for lines in range(1, len(wanted) + 1):
            many = ceil(len(wanted) / lines)
            free = room - gap * (many - 1)
            widest = [max(wanted[at::many]) for at in range(many)]
            if max(widest) * many <= free:
                # Of one width where they can be: keys of nearly the same words look the same.
                return lines, [min(free / many, max(widest) + dp(MOST_SPARE_DP))] * many
            if sum(widest) <= free:
                spare = (free - sum(widest)) / many
                return lines, [width + spare for width in widest]
        return len(wanted), [room]
