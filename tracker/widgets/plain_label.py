"""A label that follows no more than this app ever changes of it."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any, ClassVar

from kivy.clock import Clock
from kivy.core.text import Label as CoreLabel
from kivy.uix.label import Label


@cache
def usual() -> dict[str, Any]:
    """Return what every property of a label's type is while nobody sets it."""
    label = Label()
    return {name: getattr(label, name) for name in Label._font_properties}


@lru_cache(maxsize=4096)
def extent(words: str, font_name: str, font_size: float, bold: bool = False) -> float:
    """Return the width of words on one line [px]."""
    return CoreLabel(font_name=font_name, font_size=font_size, bold=bold).get_extents(words)[0]


class PlainLabel(Label):
    """A label without markup.

    Kivy's follows forty of its own properties by a binding each, two thirds of all it consists of.
    """

    FOLLOWED: ClassVar = (
        "text", "font_size", "font_name", "bold", "strikethrough", "color", "disabled_color", "halign", "valign",
        "padding", "text_size", "line_height", "shorten", "shorten_from", "max_lines",
    )  # fmt: skip
    """The others must stay what they are: `tests/ui/test_light_widgets.py` looks for them."""

    def __init__(self, **kwargs: Any) -> None:
        self._trigger_texture = Clock.create_trigger(self.texture_update, -1)
        # In place of the label's own, which would bind them all.
        super(Label, self).__init__(**kwargs)
        for name in ("disabled", *self.FOLLOWED):
            self.fbind(name, self._trigger_texture_update, name)
        self._label: Any = None
        self._create_label()
        self._trigger_texture()

    def _create_label(self) -> None:
        options = usual() | {name: getattr(self, name) for name in self.FOLLOWED}
        if self.disabled:
            options["color"] = self.disabled_color
        self._label = CoreLabel(usersize=self.text_size, **options)
