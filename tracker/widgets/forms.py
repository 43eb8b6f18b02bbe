"""Forms built from lines: headings, notes, fields that ask, rows of choices. Every answer is asked in a sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from kivy.core.text import Label as CoreLabel
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.widget import Widget

from tracker import theme
from tracker.widgets.basics import (
    Across,
    Card,
    Chips,
    Choice,
    Column,
    Field,
    Heading,
    Icon,
    Key,
    RowKey,
    Rule,
    Swatch,
    Text,
    Tiles,
    words_and_air,
)
from tracker.widgets.key_row import KeyRow
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.look import look

MOST_BESIDE = dp(80)
"""The widest amount, px, that stands beside the words of a card."""


def words_width(words: str, style: str = "body", strong: bool = True) -> float:
    """Return the width in pixels of words on one line."""
    measured = CoreLabel(text=words, font_size=look.type_sizes[style], bold=strong)
    measured.refresh()
    return measured.texture.width


_Choice = TypeVar("_Choice")


def chip(
    words: str,
    value: _Choice,
    chosen: bool,
    tapped: Callable[[_Choice], None],
    icon: str = "",
    several: bool = False,
) -> Key:
    """Return a choice in a `KeyRow`, which gives it its width; `several` where more than one may be taken."""
    key = Choice(text=words, value=value, icon=icon, role="chosen" if chosen else "plain", several=several)
    key.bind(on_release=lambda key: tapped(key.value))
    return key


class CardKey(RowKey):
    """A tappable card with an icon or a swatch, a title, an answer and a note."""

    text = StringProperty("")

    def __init__(
        self,
        title: str = "",
        answer: str = "",
        note: str = "",
        trouble: str = "",
        icon: str = "",
        swatch: tuple[str, str] | None = None,
        pile: bool = False,
        swatches: Sequence[tuple[str, str]] = (),
        end_icon: str = "right",
        amount: str = "",
        chosen: bool = False,
        **kwargs: Any,
    ) -> None:
        self.chosen = chosen
        super().__init__(text=answer or title, ground="chosen" if chosen else "card", **kwargs)
        if swatch:
            self.add_widget(
                Swatch(colour=swatch[0], number=swatch[1], pile=pile, side=36, pos_hint={"center_y": 0.5})
            )
        elif icon:
            self.add_widget(Icon(name=icon, side=28, tone="soft", pos_hint={"center_y": 0.5}))
        words = Column(spacing=0, pos_hint={"center_y": 0.5})
        if title:
            words.add_widget(Text(text=title, style="small", tone="soft" if not chosen else "ink"))
        if answer:
            # Where an amount answers, that alone is strong.
            words.add_widget(Text(text=answer, strong=not amount))
        # A long one beside the words would squeeze them into a narrow column.
        beside = bool(amount) and look.text_scale < 1.5 and words_width(amount) <= MOST_BESIDE
        if amount and not beside:
            words.add_widget(Text(text=amount))
        if note:
            words.add_widget(Text(text=note, style="small", tone="soft" if not chosen else "ink"))
        if swatches:
            row = Chips(spacing=dp(4))
            for colour, number in swatches:
                row.add_widget(Swatch(colour=colour, number=number, side=24))
            words.add_widget(row)
        if trouble:
            words.add_widget(Text(text=trouble, style="small", tone="madder", strong=True))
        self.add_widget(words)
        if beside:
            self.add_widget(
                Text(
                    text=amount, strong=True, halign="right", size_hint_x=None, width=words_width(amount) + dp(6),
                    pos_hint={"center_y": 0.5},
                )
            )  # fmt: skip
        if end_icon:
            self.add_widget(Icon(name=end_icon, side=22, tone="soft", pos_hint={"center_y": 0.5}))


class Pair(Tiles):
    """Two side by side, and below each other while the type is large."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(cols=1, **kwargs)
        look.follow(self)
        self.look_changed()

    def look_changed(self) -> None:
        """The type may be larger or smaller now."""
        self.cols = 2 if look.text_scale < theme.LARGE_TEXT else 1


class HeadingWithKey(BoxLayout):
    """What the next lines are about, and the key that adds one: beside it, so that no list, however long, hides it."""

    def __init__(self, words: str, key: Key) -> None:
        super().__init__(size_hint_y=None, spacing=look.gap)
        self.heading = Text(text=words, style="lead", strong=True, pos_hint={"center_y": 0.5})
        self.key = key
        key.pos_hint = {"center_y": 0.5}
        self.add_widget(self.heading)
        self.add_widget(key)
        self.fbind("width", self._stand)
        self.fbind("minimum_height", self._heighten)
        key.inscription.fbind("natural", self._stand)
        look.follow(self)
        self.look_changed()

    def look_changed(self) -> None:
        """The type may be larger or smaller now."""
        self.padding = (0, look.heading - look.gap, 0, 0)
        self._stand()

    def _stand(self, *_args: Any) -> None:
        needed = words_and_air(self.key)
        beside = words_width(self.heading.text, "lead") + look.gap + needed <= self.width
        self.orientation = "horizontal" if beside else "vertical"
        self.key.size_hint_x = None if beside else 1
        if beside:
            self.key.width = needed

    def _heighten(self, *_args: Any) -> None:
        self.height = self.minimum_height


class FormColumn(Column):
    """A column that is filled line by line."""

    below_bar = BooleanProperty(False)
    """Whether the page's title stands right above it: a heading that comes first needs no air then."""
    whole_width = False
    """Whether it stands in the middle of the page, however wide that is."""

    def heading(self, words: str) -> None:
        """Add what the next lines are about."""
        heading = Heading(text=words)
        if self.below_bar and not self.children:
            heading.air = 0
        self.add_widget(heading)

    def heading_with_key(self, words: str, key: str, tapped: Callable[[], object], icon: str = "plus") -> Key:
        """Add what the next lines are about, with the key that adds one beside it."""
        added = Key(text=key, icon=icon)
        added.bind(on_release=lambda _key: tapped())
        heading = HeadingWithKey(words, added)
        if self.below_bar and not self.children:
            heading.padding = (0, 0, 0, 0)
        self.add_widget(heading)
        return added

    def note(self, words: str, tone: str = "soft", strong: bool = False, style: str = "small") -> None:
        """Add a sentence."""
        if words:
            self.add_widget(Text(text=words, style=style, tone=tone, strong=strong))

    def warn(self, words: str) -> None:
        """Add a sentence that something is wrong, with its sign."""
        line = Across()
        line.add_widget(Icon(name="warning", tone="madder", pos_hint={"top": 1}))
        line.add_widget(Text(text=words, tone="madder", strong=True, pos_hint={"center_y": 0.5}))
        self.add_widget(line)

    def field(self, line: Any, tapped: Callable[[], object], parent: Widget | None = None) -> Field:
        """Add a question with its answer (a value with label, answer, hint and trouble); tapping it asks."""
        field = Field(label=line.label, answer=line.answer, hint=line.hint, trouble=line.trouble)
        field.bind(on_release=lambda _field: tapped())
        (parent or self).add_widget(field)
        return field

    def pair(self, *lines: tuple[object, Callable[[], object]]) -> None:
        """Add two short questions side by side, below each other while the type is large."""
        tiles = Pair()
        for line, tapped in lines:
            field = self.field(line, tapped, tiles)
            # As tall as its neighbour, even when that one has a sentence more.
            field.size_hint_y = 1
            field.bind(
                minimum_height=lambda field, least: setattr(field, "size_hint_min_y", max(look.touch, least))
            )
        self.add_widget(tiles)

    def chips(
        self,
        choices: Iterable[tuple[str, _Choice]],
        chosen: Callable[[_Choice], bool],
        tapped: Callable[[_Choice], None],
        several: bool = False,
    ) -> KeyRow:
        """Add choices side by side, in columns where they take several lines; `several` where more than one may be taken."""
        # What comes next is another group.
        box = KeyRow(padding=(0, 0, 0, look.gap))
        for words, value in choices:
            box.add_widget(chip(words, value, chosen(value), tapped, several=several))
        self.add_widget(box)
        return box

    def key(self, words: str, tapped: Callable[[], object], icon: str = "", role: str = "plain") -> Key:
        """Add a key over the whole width."""
        key = Key(text=words, icon=icon, role=role)
        key.bind(on_release=lambda _key: tapped())
        self.add_widget(key)
        return key

    def choice(self, words: str, tapped: Callable[[], object], chosen: bool, icon: str = "") -> Key:
        """Add one of several answers below each other, over the whole width."""
        key = Choice(
            text=words,
            icon="check" if chosen else icon,
            role="chosen" if chosen else "plain",
            halign="left",
        )
        key.bind(on_release=lambda _key: tapped())
        self.add_widget(key)
        return key

    def table(self, rows: Iterable[tuple[str, str]]) -> None:
        """Add (what, figure) lines in a card, the figures ranged right."""
        card = Card(spacing=look.gap)
        for at, (what, figure) in enumerate(rows):
            if at:
                card.add_widget(Rule())
            line = Across()
            line.add_widget(Text(text=what, size_hint_x=0.55, pos_hint={"center_y": 0.5}))
            line.add_widget(
                Text(text=figure, strong=True, halign="right", size_hint_x=0.45, pos_hint={"center_y": 0.5})
            )
            card.add_widget(line)
        self.add_widget(card)


def columns_of_page() -> list[FormColumn]:
    """Return a page's empty columns: one on an upright phone, two where the window is wider."""
    # A heading at the head of the second stands as high as what the first begins with.
    return [
        FormColumn(pos_hint={"top": 1}, below_bar=bool(at)) for at in range(1 if look.shape == "tall" else 2)
    ]


def lay_side_by_side(columns: BoxLayout, boxes: Sequence[Widget]) -> None:
    """Put columns side by side into `columns`, which stays as tall as the tallest; none wider than a column may be."""

    def measure(*_args: Any) -> None:
        # Boxes that were taken off, as when the page is filled anew, are laid out once more: the page ended where theirs did.
        if boxes[0] in columns.children:
            columns.height = max(box.height for box in boxes) + columns.padding[1] + columns.padding[3]

    for box in boxes:
        box.size_hint_max_x = None if getattr(box, "whole_width", False) else look.column
        columns.add_widget(box)
        box.bind(height=measure)
    measure()


def lay_under_shorter(column: Widget, shorter: Widget, longer: Widget, before: Widget) -> None:
    """Lay a column under the shorter one of two that stand side by side; where one follows the other, into the longer one.

    Parameters
    ----------
    before
        What it stands before in the longer one.
    """
    place = longer if look.shape == "tall" else shorter
    if column.parent is not place:
        if column.parent is not None:
            column.parent.remove_widget(column)
        place.add_widget(column, index=place.children.index(before) + 1 if place is longer else 0)
