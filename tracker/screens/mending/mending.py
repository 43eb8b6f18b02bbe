"""The cartoon mended: doubted squares walked, knots and runs painted, areas filled, colours exchanged.

In the book every change is an act; of a cartoon that was read and not taken yet it is kept with the reading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache, partial
from typing import Any

import numpy as np
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty

from tracker.domain import mending
from tracker.domain.cartoon import CellArray
from tracker.domain.errors import LoomsideError
from tracker.domain.mending import Square
from tracker.presenters.mending import (
    RemarkCard,
    changed_words,
    mended_picture,
    remark_cards,
    square_words,
    threads,
    value_names,
    woven_words,
)
from tracker.screens.mending.ground import Drawing, Ground, InBook
from tracker.sheets.asking import ask_choice
from tracker.shell.empty import without_rug
from tracker.shell.page import Page, there
from tracker.widgets.basics import Choice, Column, Key, Missing, Tappable, Text, load_kv
from tracker.widgets.forms import CardKey
from tracker.widgets.key_row import KeyRow  # noqa: F401 - used by the kv file
from tracker.widgets.laid_out import AnchorLayout
from tracker.widgets.look import look
from tracker.widgets.picture_view import GridView, KnotView
from tracker.words import _, n_, number

SQUARE_DP = 42
"""Height of a square at first: a few dozen are on a phone, each large enough for a finger."""
MOST_STEPS, MOST_HELD = 60, 16_000_000
"""Changes that can be taken back here one by one (the diary has them all), and squares of their drawings held while another page is shown."""


class Tool(StrEnum):
    """What a finger does on the cartoon."""

    LOOK = "look"
    PAINT = "paint"
    FILL = "fill"
    EXCHANGE = "exchange"


def tool_words() -> tuple[tuple[str, Tool], ...]:
    """Return (words, tool)."""
    return (
        (_("Look"), Tool.LOOK),
        (_("Paint"), Tool.PAINT),
        (_("Fill"), Tool.FILL),
        (_("Exchange"), Tool.EXCHANGE),
    )


@dataclass(frozen=True)
class Step:
    """A change that can be taken back: what the ground takes it back by, and the drawing before and after."""

    change: str
    before: Drawing
    after: Drawing


@dataclass(frozen=True)
class Left:
    """What could be taken back and done again when the page was left, and of which cartoon."""

    rug_id: str
    read: Ground | None
    undo: list[Step]
    redo: list[Step]

    def fits(self, ground: Ground, drawing: Drawing) -> bool:
        """Return whether the cartoon is the one that was left, and stands as it stood then."""
        if ground is not self.read and (self.read is not None or ground.rug_id != self.rug_id):
            return False
        stood = self.undo[-1].after if self.undo else self.redo[-1].before
        return stood.palette == drawing.palette and np.array_equal(stood.cells, drawing.cells)


class YarnKey(Tappable, AnchorLayout):
    """A yarn to paint with."""

    colour = StringProperty("#C8B89A")
    number = StringProperty("")
    chosen = BooleanProperty(False)
    yarn_id = StringProperty("")


class ToolKey(Choice):
    """What a finger does."""


def _no_cartoon() -> Missing:
    """Return what stands here of a rug that goes by shares."""
    return Missing(
        "photo", _("No cartoon yet."), _("Choose one in the plan, and its squares are here."),
        _("Choose a cartoon"), "photo", "plan",
    )  # fmt: skip


class MendingPage(Page):
    """A few dozen squares at a time."""

    tool = StringProperty(Tool.LOOK.value)
    yarn_id = StringProperty("")
    """The yarn to paint with."""
    said = StringProperty("")
    """The square spoken of."""
    way_back = StringProperty("")
    """What the key says that leads back to where a cartoon not in the book came from; on a walk there is none, to leave room."""
    shows_photograph = BooleanProperty(False)
    """Whether the photograph round the square that is looked at is shown beside its words."""
    walking = BooleanProperty(False)
    walk_title = StringProperty("")
    beside_name = StringProperty("")
    """The neighbours' yarn; "" when they are all alike with the square."""
    doubts = NumericProperty(0)
    walk_key = StringProperty("")
    square = ListProperty([])
    words_kept = NumericProperty(0)
    """Room kept for the words: were it given back, the picture would grow and jump under the finger that tapped it."""

    drawing: Drawing | None = None

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._view = KnotView(smooth=False, margin=8)
        self._view.bind(on_square=lambda _view, row, knot: self.touch_square((row, knot)))
        self._view.bind(on_stroke=lambda _view, squares: self._painted(squares))
        self.ids.stage.add_widget(self._view)
        self.bind(width=self._drop_words, walking=self._drop_words)
        self._patch = GridView(smooth=True)
        self.ids.patch.add_widget(self._patch)
        self.ground: Ground | None = None
        self._read: Ground | None = None
        """The cartoon that was read and not taken yet, where it is that one which is mended."""
        self._walk_first = False
        self._shown: Drawing | None = None
        self._rug_id: str | None = None
        self._undo: list[Step] = []
        self._redo: list[Step] = []
        self._left: Left | None = None
        """What could be taken back when the page was left."""
        self._to_walk: list[Square] = []
        self._walk_name = ""
        self._walk_at = 0
        self._walks_doubts = False
        self._beside: int | None = None

    @staticmethod
    @cache
    def two_lines_px(font_size: float, leading: float) -> float:
        """Return the height of words on two lines, px."""
        words = Text(text="Ag\nAg")
        words.font_size, words.line_height = font_size, leading
        words.texture_update()
        return float(words.texture_size[1])

    # --- coming and going

    def enter(self, read: Ground | None = None, walk: bool = False, **_what: Any) -> None:
        """Mend the rug's cartoon, or with `read` one that was not taken yet; `walk` begins with its doubted squares."""
        self._read, self._walk_first, self.way_back = read, walk, ""
        self._undo, self._redo, self._to_walk = [], [], []
        self.walking, self.tool, self.drawing, self._shown = False, Tool.LOOK.value, None, None
        self.said, self.square = "", []
        self._show_photograph(None)
        look.bind(type_sizes=self._drop_words)
        self._drop_words()

    def _drop_words(self, *_args: Any) -> None:
        """Let the words have as much room as they need."""
        self.words_kept = 0

    def back(self) -> bool:
        if self.walking:
            self.end_walk()
            return True
        return False

    def leave(self) -> None:
        look.unbind(type_sizes=self._drop_words)
        most = MOST_HELD // max(1, self.drawing.cells.size) if self.drawing is not None else 0
        undo, redo = (steps[-most:] if most else [] for steps in (self._undo, self._redo))
        self._left = (
            Left(self.ground.rug_id, self._read, undo, redo)
            if self.ground is not None and (undo or redo)
            else None
        )
        self.drawing = self.ground = self._read = None
        self._patch.picture = None
        self._undo, self._redo, self._shown = [], [], None
        self._view.picture = None

    def lead_on(self) -> None:
        rug = self.desk.rug
        if rug is None:
            super().lead_on()
        else:
            self.shell.go("plan", rug_id=rug.plan.id)

    def refresh(self) -> None:
        self.title = _("Mend the cartoon")
        rug = self.desk.rug
        if self._read is None and (rug is None or rug.cartoon is None):
            self.drawing, self.ground, self._view.picture = None, None, None
            self.missing = without_rug(self) if rug is None else _no_cartoon()
            self.actions = []
            return
        self.missing = None
        begun = self.drawing is None
        ground = self.ground = self._read or InBook(self.desk)
        drawing = self.drawing
        if drawing is None or self.desk.fresh:
            # Until the book was read anew the drawing here is the newer one.
            self.drawing = drawing = ground.drawing()
        if self._rug_id != ground.rug_id:
            self._rug_id, self.yarn_id = ground.rug_id, ""
        pile = threads(drawing.yarns)
        if self.yarn_id not in {thread.yarn_id for thread in pile}:
            self.yarn_id = pile[0].yarn_id if pile else ""
        left, self._left = self._left, None
        if begun and left is not None and left.fits(ground, drawing):
            self._undo, self._redo = left.undo, left.redo
        self.show()
        if begun:
            self._view.show_square(min(ground.rows_woven, drawing.cells.shape[0] - 1), 0, dp(SQUARE_DP))
            if self._walk_first:
                self.walk_doubts()

    # --- showing

    def show(self) -> None:
        """Show the drawing as it stands."""
        drawing, ground = self.drawing, self.ground
        if drawing is None or ground is None:
            return
        view = self._view
        view.cell_aspect = ground.cell_aspect
        if self._shown is not drawing:
            self._shown = drawing
            view.picture = mended_picture(drawing.cells, drawing.palette, drawing.yarns)
        view.knots, view.rows = drawing.cells.shape[1], drawing.cells.shape[0]
        view.most_zoom = max(1.0, dp(2 * SQUARE_DP) / max(1e-6, view.cell()[1] / view.zoom))
        view.woven = ground.rows_woven
        doubts = ground.doubts()
        self.doubts = len(doubts)
        view.marked = list(self._to_walk[self._walk_at :] if self.walking else doubts)
        view.painting = self.tool == Tool.PAINT.value and not self.walking
        self.actions = [("undo", _("Undo"), self.undo), ("redo", _("Redo"), self.redo)]
        self.walk_key = (
            _("End the walk")
            if self.walking
            else n_("{count} doubted", "{count} doubted", self.doubts).format(count=number(self.doubts))
            if doubts
            else _("No doubts")
        )
        self.way_back = "" if self.walking else ground.way_back
        self._show_tools()
        self._show_palette()
        self._say()

    def _show_tools(self) -> None:
        box = self.ids.tools
        tools = [(words, tool.value) for words, tool in (tool_words() if not self.walking else ())]
        # Keys are made when others are wanted, not at each tap on one of them.
        if [(key.text, key.value) for key in reversed(box.children)] != tools:
            box.clear_widgets()
            for words, tool in tools:
                key = ToolKey(text=words, value=tool)
                key.bind(on_release=lambda key: self.take_up(key.value))
                box.add_widget(key)
        for key in box.children:
            key.role = "chosen" if key.value == self.tool else "plain"

    def _show_palette(self) -> None:
        box = self.ids.palette
        yarns = [
            (thread.swatch, thread.number, thread.yarn_id) for thread in threads(there(self.drawing).yarns)
        ]
        if [(key.colour, key.number, key.yarn_id) for key in reversed(box.children)] != yarns:
            box.clear_widgets()
            for swatch, yarn_number, yarn_id in yarns:
                key = YarnKey(colour=swatch, number=yarn_number, yarn_id=yarn_id)
                key.bind(on_release=lambda key: self.choose_yarn(key.yarn_id))
                box.add_widget(key)
        for key in box.children:
            key.chosen = key.yarn_id == self.yarn_id

    def _name(self, yarn_id: str) -> str:
        return next((yarn.name for yarn in there(self.drawing).yarns if yarn.id == yarn_id), "")

    def _say(self) -> None:
        """Say the square in hand, or what the tool does."""
        drawing = there(self.drawing)
        self._view.here = tuple(self.square) if self.square else None
        self.words_kept = max(self.words_kept, self.ids.words.height) if self.square else 0
        if self.square:
            names = value_names(drawing.palette, drawing.yarns)
            square = (self.square[0], self.square[1])
            self.said = square_words(square, names[int(drawing.cells[square])])
        else:
            self.said = {
                Tool.LOOK.value: _("Tap a square to see what it is. Two fingers come closer."),
                Tool.PAINT.value: _("Tap or slide: {yarn}."),
                Tool.FILL.value: _("Tap an area to fill it: {yarn}."),
                Tool.EXCHANGE.value: _("Tap in the picture the colour that shall become {yarn}."),
            }[self.tool].format(yarn=self._name(self.yarn_id))

    def take_up(self, tool: str) -> None:
        """Take another tool in hand."""
        self.tool, self.square = tool, []
        if self.walking:
            self.end_walk()
        self.show()

    def choose_yarn(self, yarn_id: str) -> None:
        """Take a yarn in hand; on a walk, the square gets it and the walk goes on."""
        self.yarn_id = yarn_id
        if self.walking:
            self._set_walked(yarn_id)
            return
        if self.tool == Tool.LOOK.value:
            self.tool = Tool.PAINT.value
        self.square = []
        self.show()

    # --- changing

    def touch_square(self, square: Square) -> None:
        """Do to a square what the tool in hand does."""
        if self.tool == Tool.FILL.value:
            self.square = []
            self._change(lambda drawing, value: mending.filled(drawing.cells, square, value), self.yarn_id)
        elif self.tool == Tool.EXCHANGE.value:
            self.square = []
            self._ask_exchange(square)
        else:
            self.square = list(square)
            self._say()

    def _painted(self, squares: tuple[Square, ...]) -> None:
        self.square = []
        self._change(lambda drawing, value: mending.painted(drawing.cells, squares, value), self.yarn_id)

    def _ask_exchange(self, square: Square) -> None:
        """Ask where a colour is exchanged: in the whole cartoon, or on the part that is on the screen."""
        drawing = there(self.drawing)
        old = int(drawing.cells[square])
        left, top, right, bottom = self._view.seen()
        rows = drawing.cells.shape[0]
        box = (max(0, rows - int(np.ceil(bottom))), int(left), rows - int(top), int(np.ceil(right)))
        part = drawing.cells[box[0] : box[2], box[1] : box[3]]
        everywhere, here = int((drawing.cells == old).sum()), int((part == old).sum())
        names = value_names(drawing.palette, drawing.yarns)
        ask_choice(
            self.shell,
            _("{old} becomes {new}").format(old=names[old], new=self._name(self.yarn_id)),
            (
                (
                    n_("in the whole cartoon: {count} knot", "in the whole cartoon: {count} knots", everywhere).format(
                        count=number(everywhere)
                    ),
                    None,
                ),
                (
                    n_("only on the screen: {count} knot", "only on the screen: {count} knots", here).format(
                        count=number(here)
                    ),
                    box,
                ),
            ),
            lambda where: self._change(
                lambda drawing, value: mending.exchanged(drawing.cells, old, value, where), self.yarn_id
            ),
        )  # fmt: skip

    def _change(
        self,
        work: Callable[[Drawing, int], CellArray],
        yarn_id: str,
        then: Callable[[], None] | None = None,
    ) -> None:
        """Change the drawing as one act; below the woven row it is said and asked first."""
        drawing, ground = self.drawing, self.ground
        if drawing is None or ground is None or not yarn_id:
            return
        try:
            grown = mending.value_for(yarn_id, drawing.palette, drawing.yarns)
        except LoomsideError as trouble:
            self.shell.toast(trouble.sentence, warn=True)
            return
        cells = work(drawing, grown.value)
        lowest = mending.lowest_changed_row(drawing.cells, cells)
        if lowest is None:
            self.show()
            if then is not None:
                then()
            return
        after = Drawing(cells, grown.palette, grown.yarns)
        if lowest < ground.rows_woven:
            self._ask_woven(lowest, ground.rows_woven, lambda: self._write(after, then))
        else:
            self._write(after, then)

    def _ask_woven(self, lowest: int, woven: int, go_on: Callable[[], None]) -> None:
        column = Column()
        column.add_widget(Text(text=woven_words(lowest, woven)))
        for words, icon, role, job in (
            (_("Leave it as it was woven"), "close", "act", self.show),
            (_("Change the cartoon all the same"), "edit", "plain", go_on),
        ):
            key = Key(text=words, icon=icon, role=role)
            key.bind(on_release=partial(self._answered, job))
            column.add_widget(key)
        self.shell.open_sheet(_("These rows are woven"), column)

    def _answered(self, job: Callable[[], None], _key: Key) -> None:
        self.shell.close_sheet()
        job()

    def _write(self, after: Drawing, then: Callable[[], None] | None = None) -> None:
        before, ground = there(self.drawing), there(self.ground)
        changes: list[str] = []

        def work() -> None:
            # The change is told as the newer drawing before the book is read anew: a page never shows an older one.
            self.drawing = after
            changes.append(ground.write(before, after))

        if not self.shell.try_act(work):
            self.drawing = before
            self.show()
            return
        self._undo = [*self._undo, Step(changes[0], before, after)][-MOST_STEPS:]
        self._redo = []
        self.show()
        if not self.walking:
            # With no key of its own: Undo stands in the bar right beside it.
            self.shell.toast(changed_words(int((before.cells != after.cells).sum())))
        if then is not None:
            then()

    def undo(self) -> None:
        """Take the last change back."""
        if not self._undo:
            self.shell.toast(_("There is nothing here to undo."))
            return
        step = self._undo[-1]
        undone = self._take_back(step.change, step.before)
        if undone is not None:
            self._undo.pop()
            self._redo.append(Step(undone, step.before, step.after))

    def redo(self) -> None:
        """Do again what was taken back last."""
        if not self._redo:
            self.shell.toast(_("There is nothing here to do again."))
            return
        step = self._redo[-1]
        undone = self._take_back(step.change, step.after)
        if undone is not None:
            self._redo.pop()
            self._undo.append(Step(undone, step.before, step.after))

    def _take_back(self, change: str, drawing: Drawing) -> str | None:
        """Take a change back; return what takes that back, None when it could not be done."""
        undone: list[str] = []
        shown, ground = self.drawing, there(self.ground)

        def work() -> None:
            self.drawing = drawing
            undone.append(ground.take_back(change, drawing))

        if not self.shell.try_act(work):
            self.drawing = shown
            return None
        self.shell.dismiss_toast()
        self.show()
        return undone[0]

    # --- walking squares

    def walk_doubts(self) -> None:
        """Walk the squares that were read with doubt, the least sure first."""
        self._begin_walk(_("Doubted squares"), there(self.ground).doubts(), doubts=True)

    def _begin_walk(self, name: str, squares: tuple[Square, ...], doubts: bool = False) -> None:
        if not squares:
            return
        self._to_walk, self._walk_at, self._walk_name = list(squares), 0, name
        self._walks_doubts = doubts
        self.walking, self.tool = True, Tool.LOOK.value
        self._show_walked()

    def _show_walked(self) -> None:
        if self._walk_at >= len(self._to_walk):
            name = self._walk_name
            self.end_walk()
            self.shell.toast(_("{name}: all looked at.").format(name=name))
            return
        square = self._to_walk[self._walk_at]
        drawing = there(self.drawing)
        self.square = list(square)
        value = mending.neighbours_value(drawing.cells, square)
        self._beside = value
        names = value_names(drawing.palette, drawing.yarns)
        self.beside_name = names[value] if value is not None else ""
        self.walk_title = _("{name}: {at} of {many}").format(
            name=self._walk_name, at=number(self._walk_at + 1), many=number(len(self._to_walk))
        )
        self._show_photograph(square)
        self.show()
        self._view.show_square(*square, dp(SQUARE_DP))

    def _show_photograph(self, square: Square | None) -> None:
        """Show what the photograph has round a square, where there is one to compare with."""
        patch = None if square is None else there(self.ground).around(square)
        self._patch.picture = None if patch is None else patch.picture
        self.shows_photograph = patch is not None
        if patch is not None:
            self._patch.knots, self._patch.rows, self._patch.here = patch.knots, patch.rows, patch.here

    def _go_on(self) -> None:
        """Leave the square behind; one that was doubted is doubted no more."""
        square = self._to_walk[self._walk_at]
        if self._walks_doubts:
            ground = there(self.ground)
            ground.leave_doubts(tuple(other for other in ground.doubts() if other != square))
        self._walk_at += 1
        self._show_walked()

    def keep_walked(self) -> None:
        """The square is right as it is."""
        self._go_on()

    def take_neighbours(self) -> None:
        """The square gets its neighbours' colour."""
        value = self._beside
        if value is None:
            return
        square = self._to_walk[self._walk_at]
        drawing = there(self.drawing)
        cells = mending.painted(drawing.cells, (square,), value)
        after = replace(drawing, cells=cells)
        woven = there(self.ground).rows_woven
        if square[0] < woven:
            self._ask_woven(square[0], woven, lambda: self._write(after, self._go_on))
        else:
            self._write(after, self._go_on)

    def _set_walked(self, yarn_id: str) -> None:
        square = self._to_walk[self._walk_at]
        self._change(
            lambda drawing, value: mending.painted(drawing.cells, (square,), value), yarn_id, self._go_on
        )

    def end_walk(self) -> None:
        """Leave the walk; what was not looked at waits."""
        self.walking, self._to_walk, self.square = False, [], []
        self._show_photograph(None)
        self.show()

    # --- a master's remarks

    def look_over(self) -> None:
        """Offer what a master's eye would remark."""
        drawing = self.drawing
        if drawing is None:
            return
        names = value_names(drawing.palette, drawing.yarns)
        self.said = _("Looking it over …")
        self.desk.aside(
            lambda: remark_cards(drawing.cells, drawing.palette, names),
            self._show_remarks,
            lambda sentence: self.shell.toast(sentence, warn=True),
        )

    def _show_remarks(self, cards: tuple[RemarkCard, ...]) -> None:
        if self.drawing is None:
            return
        self._say()
        if not cards:
            self.shell.toast(_("Nothing to report on this cartoon."))
            return
        column = Column()
        column.add_widget(Text(text=_("Worth a look. The cartoon may be meant this way."), tone="soft"))
        for card in cards:
            does = bool(card.squares or card.exchange)
            key = CardKey(card.title, "", card.note, end_icon="right" if does else "")
            key.bind(on_release=partial(self._take_remark, card))
            column.add_widget(key)
        self.shell.open_sheet(_("Looked over"), column)

    def _take_remark(self, card: RemarkCard, _key: CardKey) -> None:
        if card.exchange is not None:
            self.shell.close_sheet()
            old, new = card.exchange
            drawing = there(self.drawing)
            after = replace(drawing, cells=mending.exchanged(drawing.cells, old, new))
            lowest = mending.lowest_changed_row(drawing.cells, after.cells)
            woven = there(self.ground).rows_woven
            if lowest is not None and lowest < woven:
                self._ask_woven(lowest, woven, lambda: self._write(after))
            elif lowest is not None:
                self._write(after)
        elif card.squares:
            self.shell.close_sheet()
            self._begin_walk(card.title, card.squares)


load_kv(__file__)
