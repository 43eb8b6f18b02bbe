"""The width of the rug shared out among a team: the strip that shows it, and the sheet that changes it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.graphics import Color, Line, Rectangle
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty
from kivy.uix.widget import Widget

from tracker.domain import team
from tracker.presenters import places as presenter
from tracker.presenters.places import PlacePart
from tracker.sheets.asking import ask_number
from tracker.shell.shell import Shell
from tracker.widgets.basics import Across, BarKey, Card, Column, Figure, Key, Stepper, Text
from tracker.widgets.look import look
from tracker.words import _, number

AHEAD_TALLER = 0.22
"""How much taller a part that stands ahead is drawn, as a share of the strip's height."""


class PlacesStrip(Widget):
    """The row as it lies on the loom, each weaver's part with its number; a part that stands ahead stands taller."""

    parts = ObjectProperty((), force_dispatch=True)
    """Tuple of `PlacePart`, left to right."""
    marked = NumericProperty(-1)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.size_hint_y = None
        self._figures: list[Figure] = []
        self.bind(pos=self._draw, size=self._draw, parts=self._draw, marked=self._draw)
        look.bind(tones=self._draw, type_sizes=self._draw)
        self._draw()

    def _draw(self, *_args: Any) -> None:
        self.height = look.type_sizes["lead"] * 1.3 / (1 - AHEAD_TALLER) + dp(6) if self.parts else 0
        while len(self._figures) < len(self.parts):
            figure = Figure(style="lead", halign="center", size_hint=(None, None))
            self._figures.append(figure)
        while len(self._figures) > len(self.parts):
            self.remove_widget(self._figures.pop())
        self.canvas.before.clear()
        if self.width < 4 or not self.parts:
            return
        level = self.height * (1 - AHEAD_TALLER)
        x = self.x
        with self.canvas.before:
            for index, (part, figure) in enumerate(zip(self.parts, self._figures, strict=True)):
                x += part.gap_before * self.width
                wide = part.share * self.width
                tall = self.height if part.ahead else level
                Color(*look.tones["chosen" if index % 2 == 0 else "pressed"])
                Rectangle(pos=(x, self.y), size=(wide, tall))
                Color(*look.tones["edge"])
                Line(rectangle=(x, self.y, wide, tall), width=dp(1))
                figure.text = part.number
                figure.size = (max(1, wide - dp(2)), look.type_sizes["lead"] * 1.3)
                figure.pos = (x + dp(1), self.y + (level - figure.height) / 2)
                # In a part narrower than its number the number would say nothing; the lines below name it.
                there = wide >= figure.natural * 0.8
                if there and figure.parent is None:
                    self.add_widget(figure)
                elif not there and figure.parent is not None:
                    self.remove_widget(figure)
                x += wide
            Color(*look.tones["ink"])
            Line(points=[self.x, self.y, self.x + self.width, self.y], width=dp(1.4))


class PlaceCard(Card):
    """One weaver's place and how far her part stands ahead."""

    part = ObjectProperty(None, force_dispatch=True)

    __events__ = ("on_ahead", "on_ask_ahead")

    def __init__(self, with_ahead: bool = True, **kwargs: Any) -> None:
        self._name = Text(strong=True)
        self._span = Text(style="small", tone="soft")
        self._rows = Stepper(loom=False, style="lead", least=0, most=team.MOST_AHEAD)
        super().__init__(spacing=dp(4), **kwargs)
        for child in (self._name, self._span, *((self._rows,) if with_ahead else ())):
            self.add_widget(child)
        self._rows.bind(
            on_step=lambda _stepper, rows: self.dispatch("on_ahead", int(rows)),
            on_ask=lambda _stepper: self.dispatch("on_ask_ahead"),
        )

    def on_part(self, _card: object, part: PlacePart) -> None:
        self._name.text = f"{part.number} {part.name}"
        self._span.text = f"{part.knots} ({part.span})"
        self._rows.value = part.ahead
        self._rows.shown = part.ahead_words or _("no rows ahead")

    def on_ahead(self, rows: int) -> None:
        """The rows ahead were changed by a key."""

    def on_ask_ahead(self) -> None:
        """The rows ahead were tapped."""


class BorderLine(Across):
    """The border between two neighbours: a knot to and fro, the number pad, and the two changing seats."""

    def __init__(self, index: int, sheet: PlacesSheet, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.index = index
        fewer = Key(icon="left", size_hint_x=None, width=look.touch)
        fewer.bind(on_release=lambda _key: sheet.nudge(self.index, -1))
        self.after = Key(text="")
        self.after.bind(on_release=lambda _key: sheet.ask_border(self.index))
        more = Key(icon="right", size_hint_x=None, width=look.touch)
        more.bind(on_release=lambda _key: sheet.nudge(self.index, 1))
        swap = BarKey(icon="mirror", text=_("Swap"))
        swap.bind(on_release=lambda _key: sheet.change_seats(self.index))
        self.swap = swap
        for key in (fewer, self.after, more, swap):
            key.pos_hint = {"center_y": 0.5}
            self.add_widget(key)


class PlacesSheet(Column):
    """Orders a team left to right, moves the borders, says who stands ahead. Every change is told at once."""

    def __init__(
        self,
        shell: Shell,
        names: dict[str, str],
        knots_across: int,
        places: team.Places,
        ahead: team.Ahead | None,
        changed: Callable[[team.Places, team.Ahead], None],
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self.shell, self.names, self.knots_across, self.changed = shell, names, knots_across, changed
        self.places, self.ahead = places, dict(ahead or ())
        self.strip = PlacesStrip()
        self.gap = Text(style="small", tone="madder")
        self.add_widget(
            Text(
                text=_("Left to right, as the cartoon is read from the front. {knots} in a row.").format(
                    knots=presenter.knots_words(knots_across)
                ),
                style="small",
                tone="soft",
            )
        )
        self.add_widget(self.strip)
        self.cards: list[PlaceCard] = []
        self.borders: list[BorderLine] = []
        for index in range(len(places)):
            if index:
                self.borders.append(BorderLine(index - 1, self))
                self.add_widget(self.borders[-1])
            card = PlaceCard(with_ahead=ahead is not None)
            card.bind(
                on_ahead=lambda card, rows: self.set_ahead(card.part.weaver_id, rows),
                on_ask_ahead=lambda card: self.ask_ahead(card.part),
            )
            self.cards.append(card)
            self.add_widget(card)
        self.add_widget(self.gap)
        even = Key(text=_("Share evenly"))
        even.bind(on_release=lambda _key: self.share_evenly())
        nobody = Key(text=_("Skip"), role="quiet")
        nobody.bind(on_release=lambda _key: self.unsay())
        both = Across() if look.text_scale < 1.3 else Column()
        both.add_widget(even)
        both.add_widget(nobody)
        self.add_widget(both)
        done = Key(text=_("Done"), icon="check", role="act", loom=True)
        done.bind(on_release=lambda _key: self.finish())
        self.add_widget(done)
        self._show()

    def _show(self) -> None:
        parts = presenter.place_parts(self.places, tuple(self.ahead.items()), self.names, self.knots_across)
        self.strip.parts = parts
        for card, part in zip(self.cards, parts, strict=True):
            card.part = part
        for border, part in zip(self.borders, parts, strict=False):
            border.after.text = _("after knot {knot}").format(knot=number(part.last))
        self.gap.text = presenter.gap_words(self.places, self.knots_across)

    def _tell(self) -> None:
        self._show()
        self.changed(self.places, tuple((weaver, rows) for weaver, rows in self.ahead.items() if rows))

    # --- changing

    def nudge(self, index: int, by: int) -> None:
        """Move a border by knots."""
        self.set_border(index, self.places[index][2] + by)

    def set_border(self, index: int, last: int) -> None:
        """Move a border behind a knot."""
        self.places = team.with_border(self.places, index, last)
        self._tell()

    def ask_border(self, index: int) -> None:
        """Ask for a border on the number pad."""
        left, right = self.places[index], self.places[index + 1]
        ask_number(
            self.shell,
            _("Last knot of {name}").format(name=self.names.get(left[0], _("somebody"))),
            left[2],
            lambda knot: self.set_border(index, int(knot or 0)),
            unit=_("knots from the left"),
            least=left[1],
            most=right[2] - 1,
        )

    def change_seats(self, index: int) -> None:
        """Two neighbours change seats; each keeps the number of knots."""
        self.places = team.with_neighbours_changed(self.places, index)
        self._tell()

    def set_ahead(self, weaver_id: str, rows: int) -> None:
        """Say how far a part stands ahead."""
        self.ahead[weaver_id] = rows
        self._tell()

    def ask_ahead(self, part: PlacePart) -> None:
        """Ask how far a part stands ahead."""
        ask_number(
            self.shell,
            _("Rows that {name} is ahead").format(name=part.name),
            part.ahead or None,
            lambda rows: self.set_ahead(part.weaver_id, int(rows or 0)),
            unit=_("rows"),
            most=team.MOST_AHEAD,
            optional=True,
        )

    def share_evenly(self) -> None:
        """Share the width out evenly in the present order."""
        self.places = team.share_evenly([weaver for weaver, _first, _last in self.places], self.knots_across)
        self._tell()

    def unsay(self) -> None:
        """Nobody says who sits where."""
        self.changed((), ())
        self.shell.close_sheet()

    def finish(self) -> None:
        """Take the places as they are."""
        self._tell()
        self.shell.close_sheet()


def ask_places(
    shell: Shell,
    names: dict[str, str],
    knots_across: int,
    places: team.Places,
    ahead: team.Ahead | None,
    changed: Callable[[team.Places, team.Ahead], None],
) -> PlacesSheet:
    """Open the sheet of a team's places; `changed` gets (places, ahead) at every change, empty when left unsaid.

    `ahead` None: what stands ahead is not asked.
    """
    sheet = PlacesSheet(shell, names, knots_across, places, ahead, changed)
    shell.open_sheet(_("Places across the width"), sheet)
    return sheet
