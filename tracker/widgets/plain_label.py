"""A label that consists of no more than this app ever asks of one."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from typing import Any, ClassVar
from weakref import WeakMethod

from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Rectangle
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from tracker.files.faces import BEYOND, face_for
from tracker.widgets.laid_out import WaitingWords
from tracker.widgets.line_breaks import holding_together

Extent = tuple[int, int]
"""Width and height, px."""

MEASURED = 2048
"""Words and lines, in all types together, whose extent is kept for sure, and at most twice as many. The main pages wrap the same
1,700 again and again; every evening brings some dozen that no page asks for again."""


class Lately:
    """What was found out and asked for lately; of the rest it lets go, half of all it knows at once.

    Python's own `lru_cache` would have to be asked by arguments alone, and holds each in two objects more.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._lately: dict[tuple[str, str], Extent] = {}
        self._before: dict[tuple[str, str], Extent] = {}

    def __len__(self) -> int:
        return len(self._lately) + len(self._before)

    def get(self, key: tuple[str, str]) -> Extent | None:
        """Return what is known; None where it is not."""
        found = self._lately.get(key)
        if found is None:
            found = self._before.pop(key, None)
            if found is not None:
                self.put(key, found)
        return found

    def put(self, key: tuple[str, str], found: Extent) -> None:
        """Know it from now on."""
        if len(self._lately) >= self._most:
            self._before, self._lately = self._lately, {}
        self._lately[key] = found


class Typeset(CoreLabel):
    """What typesets a label's words; it measures the same words in the same type once."""

    measured: ClassVar[Lately] = Lately(MEASURED)
    """What was measured, by type and words."""

    def get_cached_extents(self) -> Callable[[str], Extent]:
        """Return what measures words in the present type."""
        known, kind = self.measured, self._get_font_id()

        def extent_of(words: str) -> Extent:
            found = known.get((kind, words))
            if found is None:
                found = self.get_extents(words)
                known.put((kind, words), found)
            return found

        return extent_of


class EvenLines(Typeset):
    """The same, where a line without a letter below its foot is as high as one with: lines below each other kept no pace."""

    def get_cached_extents(self) -> Callable[[str], Extent]:
        """Return what measures words in the present type."""
        measure = super().get_cached_extents()
        least = measure(BELOW_THE_FOOT)[1]

        def extent_of(words: str) -> Extent:
            width, height = measure(words)
            return width, max(height, least)

        return extent_of


BELOW_THE_FOOT = "Ag"
"""Letters of the usual height, one of which reaches below the foot of the others."""


@cache
def usual() -> dict[str, Any]:
    """Return what every property of a label's type is while nobody sets it."""
    label = Label()
    return {name: getattr(label, name) for name in Label._font_properties}


@lru_cache(maxsize=2048)
def extent(words: str, font_name: str, font_size: float, bold: bool = False) -> float:
    """Return the width of words on one line [px]."""
    return CoreLabel(font_name=font_name, font_size=font_size, bold=bold).get_extents(words)[0]


def lines_taken(words: str, width: float, font_name: str, font_size: float, bold: bool = False) -> int:
    """Return how many lines words take that wrap at their spaces into a width [px]."""

    def measure(part: str) -> float:
        return extent(part, font_name, font_size, bold)

    lines, line = 1, ""
    for word in holding_together(words, width, measure).split(" "):
        wider = f"{line} {word}" if line else word
        if line and extent(wider, font_name, font_size, bold) > width:
            lines, line = lines + 1, word
        else:
            line = wider
    return lines


def cut_to_lines(
    words: str, lines: int, width: float, font_name: str, font_size: float, bold: bool = False
) -> str:
    """Return words that take at most so many lines of a width [px]: those that are left end in dots."""
    if lines < 1 or lines_taken(words, width, font_name, font_size, bold) <= lines:
        return words
    kept = words.split()
    while len(kept) > 1:
        kept.pop()
        cut = " ".join(kept).rstrip(" ·,;:(") + " …"
        if lines_taken(cut, width, font_name, font_size, bold) <= lines:
            return cut
    return words


unshown: list[WeakMethod[Callable[[], None]]] = []
"""Who is to be told when words have letters that cannot be drawn; the shell is."""


def stand_in(words: str) -> str | None:
    """Return the typeface that draws words which the app's own lacks letters of; None where its own will do."""
    if BEYOND.search(words) is None:
        return None
    face, whole = face_for(words)
    if not whole:
        for listener in unshown:
            if (tell := listener()) is not None:
                tell()
    return None if face is None else str(face)


class Style:
    """An attribute of a label that nothing binds to; the words are typeset anew when it changes."""

    def __init__(self, usual: Any, convert: Callable[[Any], Any] | None = None) -> None:
        self.usual, self._convert = usual, convert

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    def __get__(self, label: PlainLabel | None, owner: type) -> Any:
        return self if label is None else label.__dict__.get(self.name, self.usual)

    def __set__(self, label: PlainLabel, value: Any) -> None:
        if self._convert is not None:
            value = self._convert(value)
        if value != label.__dict__.get(self.name, self.usual):
            label.__dict__[self.name] = value
            label.typeset_soon()


class Tint(Style):
    """A colour of a label: its letters are white, and shown through it."""

    def __set__(self, label: PlainLabel, value: Any) -> None:
        label.__dict__[self.name] = tuple(value)
        label.tint()


def four_sides(padding: Any) -> list[float]:
    """Return left, top, right and bottom of a padding said as one number, two or four, as kv does."""
    sides = [padding] if isinstance(padding, int | float) else list(padding)
    return [float(side) for side in sides * (4 // len(sides))]


class PlainLabel(Widget):
    """A label without markup.

    Kivy's has forty properties of its own, each two or three objects and a binding: three quarters of all it consists of.
    Here only what others bind to is a property. Whoever sets another one of a label adds it here.
    """

    text = StringProperty("")
    font_size = NumericProperty("15sp")
    bold = BooleanProperty(False)
    texture_size = ObjectProperty((0, 0))
    """Width and height of the words, px; (0, 0) without any."""

    color = Tint((1.0, 1.0, 1.0, 1.0))
    disabled_color = Tint((1.0, 1.0, 1.0, 0.3))
    font_name = Style("Roboto")
    strikethrough = Style(False, bool)
    halign = Style("auto")
    valign = Style("bottom")
    padding = Style([0.0] * 4, four_sides)
    text_size = Style((None, None), tuple)
    line_height = Style(1.0)
    shorten = Style(False, bool)
    shorten_from = Style("center")
    max_lines = Style(0)

    STYLES: ClassVar = (
        "font_size", "font_name", "bold", "strikethrough", "halign", "valign", "padding", "line_height", "shorten",
        "shorten_from", "max_lines",
    )  # fmt: skip
    """What the words are typeset by, besides themselves and their place."""

    typesetter: ClassVar[type[Typeset]] = Typeset
    is_shortened = False
    """Whether not all words are shown."""
    _label: Typeset | None = None

    def __init__(self, **kwargs: Any) -> None:
        kind = type(self)
        styles = {
            name: kwargs.pop(name) for name in list(kwargs) if isinstance(getattr(kind, name, None), Style)
        }
        self._typeset = WaitingWords(self, lambda label: label.texture_update())
        self._colour, self._picture = Color(), Rectangle(size=(0, 0))
        super().__init__(**kwargs)
        for name, value in styles.items():
            setattr(self, name, value)
        self.canvas.add(self._colour)
        self.canvas.add(self._picture)
        for name in ("text", "font_size", "bold"):
            self.fbind(name, self.typeset_soon)
        self.fbind("disabled", self.tint)
        for name in ("pos", "size"):
            self.fbind(name, self._place_words)
        self.tint()
        self.typeset_soon()

    @property
    def texture(self) -> Any:
        """The words as a texture; None without any."""
        return self._picture.texture if self.texture_size != (0, 0) else None

    def words(self) -> str:
        """Return what is typeset."""
        return self.text

    def typeset_soon(self, *_args: Any) -> None:
        """Typeset the words before the next frame."""
        if "_typeset" in self.__dict__:  # not while what makes it sets its first styles
            self._typeset()

    def tint(self, *_args: Any) -> None:
        """Show the words in their present colour."""
        if "_colour" in self.__dict__:
            self._colour.rgba = self.disabled_color if self.disabled else self.color

    def texture_update(self, *_args: Any) -> None:
        """Typeset the words now."""
        words = self.words()
        if not words:
            self.is_shortened = False
            self._picture.texture = None
            self.texture_size = (0, 0)
            self._place_words()
            return
        label = self._label
        if label is None:
            label = self._label = self.typesetter(**usual())
        label.text = words
        label.text_size = self.text_size
        options = label.options
        for name in self.STYLES:
            options[name] = getattr(self, name)
        if (face := stand_in(words)) is not None:
            options["font_name"] = face
        label.refresh()
        self.is_shortened = label.is_shortened
        # Also where it is the same one, filled anew: the window is to be drawn.
        self._picture.texture = None
        self._picture.texture = label.texture
        self.texture_size = tuple(label.texture.size)
        self._place_words()

    def _place_words(self, *_args: Any) -> None:
        width, height = self.texture_size
        picture = self._picture
        picture.size = width, height
        picture.pos = int(self.x + self.width / 2 - width / 2), int(self.y + self.height / 2 - height / 2)
