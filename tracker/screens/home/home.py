"""The first view of a rug: the three answers and the rug growing."""

from __future__ import annotations

from typing import Any

from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.presenters.home_state import NEXT_ICONS, HomeAsk, HomeState, YarnAlert, YarnLine, YarnTone
from tracker.shell.empty import without_rug
from tracker.shell.page import Page
from tracker.widgets.basics import Column, RowKey, Swatch, Tappable, Text, load_kv
from tracker.widgets.day_band import DayBand  # noqa: F401 - used by the kv file
from tracker.widgets.forms import words_width
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.look import look
from tracker.widgets.rug_hero import RugHero
from tracker.words import _

MOST_BALLS = 12
"""Balls and shuttles shown in a row; the yarn page has them all."""
HERO_SHARE = 0.36
"""Of the page's height, at least so much is the picture's on a phone upright: what has no room below it scrolls."""
LARGE_HERO_SHARE = 0.17
"""The same with the largest type, without the words in the picture's corner."""
SHORT_DP = 640
"""On a page upright that is less high one yarn to see to has a card, and the next are told in a line: the rug wants the room."""
BALL_DP, LEAST_BALL_DP = 26, 20
"""Width of a ball in a row of them, and down to which it gives way to the words beside it."""
LARGE_FROM = 1.3
"""Type larger than this takes its room from the picture, too."""
LARGEST_FROM = 1.5
"""From this size on fewer words stand beside the picture."""


class AlertCard(RowKey):
    """A yarn to see to; a tap leads to its story."""

    alert = ObjectProperty(YarnAlert("", "", "#C8B89A", "", "", "", YarnTone.TIGHT), rebind=True)


class AskRow(RowKey):
    """A line that asks for something, or on which the date rests; a tap leads to where it is answered."""

    ask = ObjectProperty(HomeAsk("", "", ""), rebind=True)


class YarnRow(RowKey):
    """All yarns without an alert as a row of balls and windings; a tap leads to the yarn page."""

    words = StringProperty("")
    lines = ObjectProperty(())

    def __init__(self, **kwargs: Any) -> None:
        self._label: Text | None = None
        super().__init__(**kwargs)
        look.bind(type_sizes=self._fit_label)

    def on_words(self, *_args: Any) -> None:
        self.on_lines()

    def on_lines(self, *_args: Any) -> None:
        balls, self._label = self.ids.balls, None
        balls.clear_widgets()
        for line in self.lines[:MOST_BALLS]:
            balls.add_widget(Swatch(colour=line.swatch, number=line.number, side=BALL_DP))
        if self.words:
            label = Text(text=self.words, tone="soft", size_hint_x=None)
            label.bind(texture_size=lambda label, size: setattr(label, "height", max(dp(26), size[1])))
            balls.add_widget(label)
            self._label = label
        self._fit_label()

    def on_width(self, *_args: Any) -> None:
        self._fit_label()

    def _fit_label(self, *_args: Any) -> None:
        """Keep balls and words on one line where smaller balls make the room."""
        if self._label is None:
            return
        self._label.width = min(words_width(self.words, strong=False) + dp(6), max(dp(60), self.width))
        balls = [ball for ball in self.ids.balls.children if isinstance(ball, Swatch)]
        if not balls:
            return
        room_dp = (self.width - self._label.width) / dp(1) / len(balls) - self.ids.balls.spacing[0] / dp(1)
        side = min(BALL_DP, room_dp) if room_dp >= LEAST_BALL_DP else BALL_DP
        for ball in balls:
            ball.side = side


class YarnGauge(RowKey):
    """A yarn that has no card: its name, how it stands, and how much of what is still needed is there; a tap leads to its story."""

    line = ObjectProperty(YarnLine("", "", "", "#C8B89A", "", YarnTone.LASTS, False, 0.0), rebind=True)


class HeroKey(Tappable, RugHero):
    """The rug's picture; a tap leads closer."""


class RowsPlate(Tappable, BoxLayout):
    """How far the rug is woven, in the picture's corner or at the head of the words; a tap leads to the page that says more."""

    over_picture = BooleanProperty(False)
    covers = BooleanProperty(False)
    """Whether the rug lies under it, so that it has a ground of its own."""


class LeadColumn(Tappable, Column):
    """Figures below each other that lead to the page that says more of them."""


class HomePage(Page):
    """Where am I, will the yarn last, when is it done."""

    basis = StringProperty("")
    """Why the date changed, or that all of it comes from the plan."""
    condition = StringProperty("")
    """What the date holds under, where a yarn's own line below leads on."""
    label = StringProperty("")
    label_with_condition = StringProperty("")
    """Stands over the day instead of `label`, and the condition not below it, where it takes one line."""
    label_under = StringProperty("")
    """Stands there in large type: what is below the day is out of sight then."""
    act = StringProperty("")
    act_icon = StringProperty("row")
    """What comes next, on the main key."""
    trouble = BooleanProperty(False)
    """Whether the book could not be opened or read."""
    has_key = BooleanProperty(True)
    """Whether the main key stands below: without a rug what is missing has its own."""

    knots = StringProperty("")
    """What share of the knots is tied."""
    beside_row = StringProperty("")
    """What is said in its place."""
    """What the picture gives of its height to the strip that answers."""

    _next_page = "session"
    _state: HomeState | None = None

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        look.bind(upright=self._lay, type_sizes=self._lay, shape=self._show_yarns)
        self.bind(missing=self._lay, height=self._show_yarns)
        self.ids.picture.bind(size=self._fit_plate, pos=self._fit_plate)
        self.ids.picture.bind(size=self.shell.place_strip_anew, pos=self.shell.place_strip_anew)
        self.ids.rows.bind(size=self._fit_plate)
        self.ids.row_figure.bind(natural=self._fit_plate)
        self._lay()

    def _lay(self, *_args: Any) -> None:
        """Put the rows into the picture's corner where it lies above the words, and the main key below what it belongs to."""
        ids = self.ids
        for widget, place in (
            (ids.rows, ids.picture if self._plate_on_picture() else ids.column),
            (ids.foot, ids.pane if self.missing is None else self),
        ):
            widget = widget.__self__
            if widget.parent is not place:
                if widget.parent is not None:
                    widget.parent.remove_widget(widget)
                place.add_widget(widget, index=len(place.children) if place is ids.column else 0)
        self._say_rows()
        self._fit_plate()
        self._show_yarns()

    @staticmethod
    def _plate_on_picture() -> bool:
        # In the largest type it would hide the picture.
        return look.upright and look.text_scale < LARGEST_FROM

    def _say_rows(self) -> None:
        """Say of how many rows; in the largest type not beside rows that wait to be saved: the day would have no room."""
        if self._state is not None:
            both = not self.beside_row or not look.upright or self._plate_on_picture()
            self.ids.row_of.text = self._state.row_of if both else ""

    def _fit_plate(self, *_args: Any) -> None:
        """Give the rows the width of their words in the picture's corner, and tell the picture."""
        ids = self.ids
        rows, picture = ids.rows, ids.picture
        rows.over_picture = self._plate_on_picture()
        rows.padding = (look.pad, dp(6), dp(12), dp(4)) if rows.over_picture else (0, 0, 0, 0)
        # Beside a rug that is seen whole they stand below each other.
        stacked = rows.over_picture and picture.whole and picture.aspect < 1
        rows.orientation = "vertical" if stacked else "horizontal"
        rows.covers = not picture.whole
        if not rows.over_picture:
            rows.size_hint_x, picture.plate_width, picture.plate_height = 1, 0.0, 0.0
            return
        rows.size_hint_x = None
        words = max(self.width_of(label.text, None) for label in (ids.row_of, ids.knots))
        figure = ids.row_figure.natural
        air = rows.padding[0] + rows.padding[2]
        wide = max(figure, words) if stacked else figure + rows.spacing + words
        rows.width = min(wide + air, picture.width * (0.5 if stacked else 1.0))
        rows.pos = picture.pos
        picture.plate_width, picture.plate_height = rows.width, rows.height

    def _show_yarns(self, *_args: Any) -> None:
        """Show what is said of the yarns, as many with a card as the page has room for."""
        state, ids = self._state, self.ids
        if state is None:
            return
        short = look.upright and self.height < dp(SHORT_DP)
        told = state.one_told if short else state.told
        self._fill(
            ids.alerts, AlertCard, "alert", told.alerts, lambda card: self.open_yarn(card.alert.yarn_id)
        )
        others = state.lines_of(told.others_of)
        # A tablet beside the loom has room to say how each of them stands.
        roomy = look.shape == "tablet" and look.text_scale < LARGE_FROM
        ids.yarns.words, ids.yarns.lines = told.others, () if roomy else others
        self._fill(
            ids.board,
            YarnGauge,
            "line",
            others if roomy else (),
            lambda row: self.open_yarn(row.line.yarn_id),
        )

    def refresh(self) -> None:
        desk = self.desk
        self.trouble = self.has_key = bool(desk.trouble)
        if desk.trouble:
            self.title = _("Loomside")
            self.missing = without_rug(self)
            return
        if desk.rug is None or desk.answers is None:
            self.title = _("Loomside")
            view = None if desk.fresh else desk.last_view()
            if view is None:
                self.missing = without_rug(self)
            else:
                self.missing, self.has_key = None, True
                self._show(view.state, view.pictures[desk.ground], view.aspect)
            return
        from tracker.presenters.home import build_home_state
        from tracker.presenters.of_rug import TICKS, of_rug
        from tracker.presenters.picture import shown_aspect
        from tracker.presenters.session import unsaved_words, waiting_form

        self.missing, self.has_key = None, True
        ticks = of_rug(desk.drafts, TICKS, desk.rug.plan.id) or ()
        self._show(build_home_state(desk.rug, desk.answers, ticks), desk.picture, shown_aspect(desk.rug))
        waiting = unsaved_words(waiting_form(desk.drafts, desk.rug, desk.today()))
        if waiting:
            # The row page counts them already: here it is said why the numbers differ.
            self.beside_row = waiting
            self._say_rows()
            self._fit_plate()

    def _show(self, state: HomeState, drawn: Any, aspect: float) -> None:
        self.title = state.rug_name
        ids = self.ids
        picture = ids.picture
        ids.next_row.text = state.next_row
        picture.aspect = aspect
        picture.rows, picture.row = state.picture_rows, state.rows_woven
        picture.warps = state.warps
        if drawn is not picture.picture:
            picture.picture = drawn
        ids.row_figure.text = state.row_figure
        self.knots, self.beside_row, ids.band.band = state.knots, "", state.band
        ids.finish_figure.text = state.finish_figure
        ids.finish_range.text = state.finish_range
        ids.wish.text = state.wish
        # Red says that it is missed, and nothing else.
        ids.wish.tone = "madder" if state.band is not None and state.band.misses else "soft"
        self.basis = state.basis
        self.act, self.act_icon = state.act, NEXT_ICONS[state.next_page]
        self._next_page = state.next_page
        self.condition = " ".join(one.words for one in state.conditions_below)
        self.label = state.finish_label
        self.label_with_condition = state.label_with_condition if self.condition else ""
        self.label_under = state.label_under
        self._fill(
            ids.conditions, AskRow, "ask", state.conditions_to_open, lambda row: self.open_ask(row.ask)
        )
        # The rug, its date and the yarns come first; how the cloth lies is said below them.
        for column, below in ((ids.asks, False), (ids.asks_below, True)):
            asks = tuple(ask for ask in state.asks if (ask.page == "cloth") is below)
            self._fill(column, AskRow, "ask", asks, lambda row: self.open_ask(row.ask))
        self._state = state
        self._say_rows()
        self._show_yarns()
        self._fit_plate()

    def hero_height(self, page_height: float, text_scale: float, free: float, whole: float) -> float:
        """Return the picture's height in px on a phone upright.

        Less where large type wants the room; all the room that the words leave `free`, until the `whole` rug
        is in view.
        """
        if text_scale >= LARGEST_FROM:
            least = page_height * LARGE_HERO_SHARE
        else:
            least = page_height * HERO_SHARE / max(1.0, (text_scale / LARGE_FROM) ** 0.5)
        return max(least, min(free, whole))

    @staticmethod
    def width_of(words: str, _type_sizes: object) -> float:
        """Return the width of words on one line, px; told of the sizes of type so that kv asks anew when they change."""
        return words_width(words, strong=False) + dp(2) if words else 0.0

    def over_the_day(
        self, label: str, with_condition: str, under: str, width: float, text_scale: float, type_sizes: object
    ) -> str:
        """Return what stands over the day: in large type what it holds under, as well where both take one line of so many px."""
        if under and text_scale >= LARGEST_FROM:
            return under
        return with_condition if self.on_one_line(with_condition, width, type_sizes) else label

    def on_one_line(self, words: str, width: float, type_sizes: object) -> bool:
        """True where there are words, and they stand on one line of so many px."""
        return bool(words) and self.width_of(words, type_sizes) <= width

    def beside(self, span: str, wish: str, width: float, type_sizes: object) -> bool:
        """True where a range and a target stand on one line of so many px."""
        return (
            bool(wish)
            and self.width_of(span, type_sizes) + self.width_of(wish, type_sizes) + look.gap <= width
        )

    def strip_band(self) -> tuple[float, float, float]:
        """The rug's name leads to the other rugs: the strip lies over the picture's upper edge, where it hides no row of the answer."""
        if self.missing is not None:
            return super().strip_band()
        picture = self.ids.picture
        return picture.x, picture.y + picture.height, picture.width

    def strip_room(self) -> float:
        return self.strip_band()[2] if self.missing is None else super().strip_room()

    @staticmethod
    def _fill(box: Any, kind: type, name: str, values: tuple[Any, ...], tapped: Any) -> None:
        """Give a box one tappable widget for each value, reusing those it has."""
        if len(box.children) != len(values):
            box.clear_widgets()
            for _value in values:
                widget = kind()
                widget.bind(on_release=tapped)
                box.add_widget(widget)
        for widget, value in zip(reversed(box.children), values, strict=True):
            setattr(widget, name, value)

    def open_ask(self, ask: HomeAsk) -> None:
        """Show where something is answered."""
        if ask.page == "plan":
            self.shell.go("plan", rug_id=self.desk.rug_id)
        elif ask.page == "zoom":
            self.shell.go("zoom", marks=True)
        elif ask.page in ("looms", "shopping") or (ask.page == "session" and not ask.session_id):
            self.shell.go(ask.page)
        elif ask.session_id:
            self.shell.go("session", session_id=ask.session_id)
        elif ask.yarn_id:
            self.shell.go(ask.page, yarn_id=ask.yarn_id)
        else:
            self.shell.open_tab(ask.page)

    def open_yarn(self, yarn_id: str) -> None:
        """Show the story of one yarn."""
        self.shell.go("yarn_story", yarn_id=yarn_id)

    def log(self) -> None:
        """Open what comes next; without a rug, plan one; a book in trouble is tried again, or led to its copies.

        Where the first view of last time is shown while the book still opens, its key leads on as soon as it is open.
        """
        if self.trouble and self.desk.damaged:
            self.shell.go("copies")
        elif self.trouble:
            self.desk.trouble = ""
            self.desk.open_soon()
        elif self.desk.rug is None:
            self.desk.once(self._go_on)
        else:
            self.shell.go(self._next_page)

    def _go_on(self) -> None:
        # Who went elsewhere while the book opened stays there.
        if self.shell.page is self and self.desk.rug is not None:
            self.shell.go(self._next_page)


load_kv(__file__)
