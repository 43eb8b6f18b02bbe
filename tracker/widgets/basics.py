"""The touch parts every screen is made of: text, icons, keys, cards, fields, scrolling columns."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.core.image import Image as CoreImage
from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Rectangle
from kivy.graphics.texture import Texture
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from tracker import theme
from tracker.widgets.filling import Filling
from tracker.widgets.laid_out import (
    AnchorLayout,
    BoxLayout,
    GridLayout,
    KeptInOrder,
    StackLayout,
    lay_out_now,
    tell_when_laid_out,
)
from tracker.widgets.line_breaks import holding_together
from tracker.widgets.look import icon_path, look
from tracker.widgets.motion import glide
from tracker.widgets.only_seen import Seen
from tracker.widgets.plain_label import BELOW_THE_FOOT, EvenLines, PlainLabel, extent
from tracker.widgets.rounded import Rounded
from tracker.words import _

FILLED_S = 0.2
"""By then what scrolls has the height of what it was filled with."""


def rest_at(scroll: ScrollView, scroll_y: float) -> None:
    """Bring what scrolls to a place and keep it there: a glide that a finger left would go on to where it was going.

    Parameters
    ----------
    scroll_y
        1 for its top, 0 for its foot.
    """
    if isinstance(scroll, Scroll):
        scroll.let_go()
    _rest(scroll, scroll_y)


def _rest(scroll: ScrollView, scroll_y: float) -> None:
    scroll._update_effect_bounds()
    scroll.effect_y.reset(scroll.effect_y.max * scroll_y)
    scroll.scroll_y = scroll_y


def bring_into_sight(scroll: ScrollView, find: Callable[[], Widget | None]) -> None:
    """Scroll, once everything has its place, as little as it takes until a widget of the content is seen whole.

    Parameters
    ----------
    find
        Returns the widget: by then the content may have been filled anew. None: nothing is scrolled.
    """

    def bring(_dt: float) -> None:
        widget = find()
        if widget is None or not scroll.children or scroll.children[0].height <= scroll.height:
            return
        content = scroll.children[0]
        hidden = content.height - scroll.height
        # What of the content lies below the window, as it is scrolled and as it may be.
        below = hidden * scroll.scroll_y
        least, most = widget.y + widget.height + look.gap - scroll.height, widget.y - look.gap
        wished = min(max(below, least - content.y), most - content.y)
        if wished != below:
            rest_at(scroll, min(1.0, max(0.0, wished / hidden)))

    Clock.schedule_once(bring)


def load_kv(module_file: str) -> None:
    """Load the kv file that lies beside a module, once."""
    path = str(Path(module_file).with_suffix(".kv"))
    if path not in Builder.files:
        Builder.load_file(path)


class WholeWords(PlainLabel):
    """A label that would rather shrink a little than break a word in two."""

    typesetter = EvenLines

    style = StringProperty("body")
    fitted = NumericProperty(1.0)
    room = NumericProperty(0)
    """Width there is for a word; 0 when not known yet."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        for name in ("text", "style", "room"):
            self.fbind(name, self._fit_words)
        look.follow(self)
        self._fit_words()

    def look_changed(self) -> None:
        """Colours or type sizes are others now."""
        self._fit_words()

    def _place_words(self, *_args: Any) -> None:
        super()._place_words()
        # What a line is higher than its type is left below its letters: half of it belongs above them, or they stand high beside an icon.
        x, y = self._picture.pos
        self._picture.pos = x, y - int(self.font_size * (self.line_height - 1.0) / 2)

    def words(self) -> str:
        # The words stay as they were given; only what is typeset holds together.
        return holding_together(self.text, self.room, self._wide)

    def _wide(self, words: str) -> float:
        """Return the width of words on one line, px; a bound that no letters reach where that does."""
        bound = len(words) * self.font_size * 0.62
        return bound if bound <= self.room else extent(words, self.font_name, self.font_size, self.bold) + 1

    def _fit_words(self, *_args: Any) -> None:
        self._fit_type()
        self.typeset_soon()

    def _fit_type(self) -> None:
        longest = max(self.text.split(), key=len, default="") if self.text else ""
        size = look.type_sizes[self.style]
        if self.room <= 1 or len(longest) * size * 1.1 <= self.room:
            # No letter is wider than its type size and a bit: it fits without measuring.
            self.fitted = 1.0
            return
        widest = max(extent(word, self.font_name, size, self.bold) for word in self.text.split()) + 2
        self.fitted = min(1.0, self.room / widest)


class Text(WholeWords):
    """Words that wrap to their width and are as tall as they need. Never markup: text stays text."""

    tone = StringProperty("ink")
    strong = BooleanProperty(False)

    # What follows something is in Python, not in kv: a bound expression is ten objects, and a page has a hundred texts.

    def __init__(self, **kwargs: Any) -> None:
        # Before the rules of what is a text, too, are read: what they say holds.
        for names, follow in (
            (("width", "size_hint_x"), self._widen),
            (("texture_size",), self._heighten),
            (("style", "fitted", "tone", "strong"), self._dress),
        ):
            for name in names:
                self.fbind(name, follow)
            follow()
        super().__init__(**kwargs)

    def look_changed(self) -> None:
        self._dress()
        super().look_changed()

    def _widen(self, *_args: Any) -> None:
        self.text_size = self.width, None
        self.room = self.width if self.size_hint_x is not None or self.width > dp(1) else 0

    def _heighten(self, *_args: Any) -> None:
        self.height = self.texture_size[1]

    def _dress(self, *_args: Any) -> None:
        self.font_size = look.type_sizes[self.style] * self.fitted
        self.line_height = look.leading(self.style)
        self.color = look.tones[self.tone]
        self.bold = self.strong or look.bold


class Heading(Text):
    """What the next lines are about, with air above it; nothing at all without words."""

    air = NumericProperty(0)


class KeyWords(WholeWords):
    """The words on a key."""

    natural = NumericProperty(0.0)
    """Width of the words on one line, in px."""
    beside = NumericProperty(1.0)
    """How far the words of the keys beside this one had to shrink: side by side all are of one size."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        for name in ("style", "fitted", "beside"):
            self.fbind(name, self._fit_size)
        self._fit_size()

    def look_changed(self) -> None:
        super().look_changed()
        self._fit_size()

    def _fit_size(self, *_args: Any) -> None:
        self.font_size = look.type_sizes[self.style] * min(self.fitted, self.beside)
        self.line_height = look.leading(self.style)

    def _fit_words(self, *_args: Any) -> None:
        super()._fit_words()
        size = look.type_sizes[self.style]
        self.natural = extent(self.text, self.font_name, size, self.bold) + 2 if self.text else 0.0

    def on_bold(self, *_args: Any) -> None:
        self._fit_words()


class Figure(PlainLabel):
    """A large number on one line; shrinks to fit its width rather than clip."""

    style = StringProperty("figure")
    tone = StringProperty("ink")
    times = NumericProperty(1.0)
    """So many times as large as its style."""
    fitted = NumericProperty(1.0)

    natural = NumericProperty(0.0)
    """Width of the text at full size."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        for names, follow in (
            (("text", "style", "times"), self._measure),
            (("width", "natural"), self._fit),
            (("style", "times", "fitted", "tone"), self._dress),
        ):
            for name in names:
                self.fbind(name, follow)
        look.follow(self)
        self.look_changed()
        self._fit()

    def look_changed(self) -> None:
        """Colours or type sizes are others now."""
        self.height = look.type_sizes[self.style] * 1.18
        self._measure()
        self._dress()

    def on_style(self, *_args: Any) -> None:
        self.height = look.type_sizes[self.style] * 1.18

    def _dress(self, *_args: Any) -> None:
        self.font_size = look.type_sizes[self.style] * self.times * self.fitted
        self.color = look.tones[self.tone]

    def _measure(self, *_args: Any) -> None:
        self.natural = extent(self.text, self.font_name, look.type_sizes[self.style] * self.times) + 2

    def _fit(self, *_args: Any) -> None:
        """Scale the type so that the text is at most as wide as the widget."""
        self.text_size = self.width, None
        if self.width > 1 and self.natural > 2:
            self.fitted = min(1.0, self.width / self.natural)


class Tag(PlainLabel):
    """A short word on its own ground, as wide as its text."""

    style = StringProperty("small")
    tone = StringProperty("ink")
    ground = StringProperty("field")


class Icon(Widget):
    """One of our own icons, tinted."""

    name = StringProperty("")
    tone = StringProperty("ink")
    side = NumericProperty(24)

    grows = True
    """Whether it is larger beside large type."""
    _shown = ""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        with self.canvas:
            self._colour = Color()
            self._picture = Rectangle()
        for names, follow in (
            (("side",), self._spread),
            (("name",), self._appear),
            (("pos", "size"), self._place),
            (("tone",), self.look_changed),
        ):
            for name in names:
                self.fbind(name, follow)
        look.follow(self)
        self.look_changed()
        self._spread()
        self._appear()
        self._place()

    def look_changed(self, *_args: Any) -> None:
        """Colours or type sizes may be others now."""
        self._colour.rgba = look.tones[self.tone]
        if self.grows:
            self._spread()

    def _px(self) -> float:
        return look.icon_px(self.side) if self.grows else dp(self.side)

    def _place(self, *_args: Any) -> None:
        side = min(self.width, self.height)
        self._picture.size = side, side
        # Not by its centre, of which Kivy may tell the one before.
        self._picture.pos = self.x + (self.width - side) / 2, self.y + (self.height - side) / 2

    def _spread(self, *_args: Any) -> None:
        self.size = self._px(), self._px()
        self._load()

    def _appear(self, *_args: Any) -> None:
        self.opacity = 1.0 if self.name else 0.0
        self._load()

    def _load(self) -> None:
        path = icon_path(self.name, look.icon_px(self.side))
        if path != self._shown:
            self._shown = path
            self._picture.texture = CoreImage(path).texture if path else None


class KeyIcon(Icon):
    """The icon on a key, which gives it its size."""

    grows = False

    def look_changed(self, *_args: Any) -> None:
        """Colours or type sizes may be others now."""
        super().look_changed()
        self._load()


class Column(BoxLayout):
    """Children one below the other, as tall as they are together; one without height takes no gap either."""

    def _iterate_layout(self, sizes: list[Any]) -> Iterator[tuple[int, float, float, float, float]]:
        if self.orientation != "vertical":
            yield from super()._iterate_layout(sizes)
            return
        tall = [at for at, (size, hint, *_more) in enumerate(sizes) if hint[1] is not None or size[1]]
        if tall:
            for place, x, y, width, height in super()._iterate_layout([sizes[at] for at in tall]):
                yield tall[place], x, y, width, height
        else:
            self.minimum_size = self.padding[0] + self.padding[2], self.padding[1] + self.padding[3]
        room = self.width - self.padding[0] - self.padding[2]
        for at in set(range(len(sizes))).difference(tall):
            # It has the column's width, so that its words are typeset for it as soon as there are some.
            (width, _height), (share, _hint_y), *_more = sizes[at]
            yield at, self.x + self.padding[0], self.y, room * share if share else width, 0.0


class Across(BoxLayout):
    """Children side by side, as tall as the tallest."""

    def on_children(self, *_args: Any) -> None:
        for child in self.children:
            child.fbind("height", self._measure)
        self._measure()

    def on_padding(self, *_args: Any) -> None:
        self._measure()

    def _measure(self, *_args: Any) -> None:
        if self.size_hint_y is None:
            heights = [child.height for child in self.children if child.size_hint_y is None]
            self.height = max(heights, default=0) + self.padding[1] + self.padding[3]


class Part(BoxLayout):
    """A part of a page that takes its share of the room only while it is there."""

    there = BooleanProperty(True)

    def on_there(self, *_args: Any) -> None:
        self.opacity = 1 if self.there else 0
        self.disabled = not self.there
        self.size_hint_y = 1 if self.there else None
        if not self.there:
            self.height = 0

    def on_touch_down(self, touch: Any) -> bool:
        # What is away has no height, but its keys have; they must not catch what is meant for others.
        return self.there and super().on_touch_down(touch)


@dataclass(frozen=True, slots=True)
class Missing:
    """What a page has nothing to show of, in the one form of all pages: a picture, what is missing, what to do first."""

    picture: str
    """Name of an icon."""
    title: str
    words: str = ""
    act: str = ""
    """What the key says; "" for none."""
    act_icon: str = ""
    leads_to: str = ""
    """The page that the key opens; "" where the page does it itself."""


class EmptyState(Part):
    """What stands on a page that has nothing to show yet."""

    says = ObjectProperty(None, allownone=True)
    """What is missing (`Missing`); None: the page has something to show, and this is away."""
    icon = StringProperty("")
    title = StringProperty("")
    words = StringProperty("")
    act = StringProperty("")
    act_icon = StringProperty("")

    __events__ = ("on_next",)

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("there", kwargs.get("says") is not None)
        super().__init__(**kwargs)

    def on_says(self, _state: Any, says: Missing | None) -> None:
        self.there = says is not None
        if says is not None:
            self.icon, self.title, self.words = says.picture, says.title, says.words
            self.act, self.act_icon = says.act, says.act_icon

    def on_next(self) -> None:
        """The key was tapped."""


class Foot(AnchorLayout):
    """The main key below what a page shows; away, it takes neither room nor touches."""

    there = BooleanProperty(True)

    def on_there(self, *_args: Any) -> None:
        self.opacity = 1 if self.there else 0
        self.disabled = not self.there

    def on_touch_down(self, touch: Any) -> bool:
        return self.there and super().on_touch_down(touch)


class Tiles(GridLayout):
    """Equal columns; each line of tiles is as tall as its tallest, and those that are less tall hang from its top."""

    def do_layout(self, *args: Any) -> None:
        """Lay the tiles out; Kivy lets those that are less tall stand on the line's foot."""
        super().do_layout(*args)
        tiles, many = self.children[::-1], self.cols or 1
        for first in range(0, len(tiles), many):
            line = tiles[first : first + many]
            tallest = max(tile.height for tile in line)
            for tile in line:
                if tile.size_hint_y is None and tile.height < tallest:
                    tile.y += tallest - tile.height


class Chips(StackLayout):
    """Keys that flow like words."""


class Card(Column):
    """A raised surface for what belongs together."""

    ground = StringProperty("card")


ONE_MARKS, SEVERAL_MARKS = ("ring", "check"), ("box", "check")
"""Icons of what is not chosen, and of what is: where one is to be chosen, and where several may be."""
SLID_DP = 40
"""A finger that went so far from where it touched a key meant no tap: a flick over a page that does not scroll that way opened
what lay under it (our own judgement; a dusty thumb that rests on a key rolls less)."""


class Tappable(ButtonBehavior):
    """What a tap presses; a finger that slides on lets go of it."""

    def on_touch_down(self, touch: Any) -> bool:
        """Take no finger that slid here: what scrolls hands a touch on late, to what lies below it by then."""
        return not _slid(touch) and bool(super().on_touch_down(touch))

    def on_touch_move(self, touch: Any) -> bool:
        """Let go of a finger that slid away."""
        if touch.grab_current is self and _slid(touch):
            touch.ungrab(self)
            self.state = "normal"
        return bool(super().on_touch_move(touch))


def _slid(touch: Any) -> bool:
    window = EventLoop.window
    gone = math.hypot((touch.sx - touch.osx) * window.width, (touch.sy - touch.osy) * window.height)
    return gone > dp(SLID_DP)


class Key(Tappable, BoxLayout):
    """A button: an icon, words, or both. `loom` makes it large enough for the loom."""

    text = StringProperty("")
    icon = StringProperty("")
    style = StringProperty("body")
    role = OptionProperty("plain", options=("plain", "act", "quiet", "warn", "chosen", "here", "done"))
    loom = BooleanProperty(False)
    strong = BooleanProperty(True)
    halign = StringProperty("center")
    icon_side = NumericProperty(26)
    value = ObjectProperty(None, allownone=True)
    """Whatever the key stands for, handed back to who listens."""

    GROUNDS: ClassVar = {
        "plain": "field",
        "act": "act",
        "quiet": "",
        "warn": "madder_ground",
        "chosen": "act",
        "here": "chosen",
        "done": "",
    }
    INKS: ClassVar = {
        "plain": "ink",
        "act": "on_act",
        "quiet": "ink",
        "warn": "on_madder",
        "chosen": "on_act",
        "here": "ink",
        "done": "green",
    }

    RIMS: ClassVar[dict[str, str]] = {}
    """Tone of the frame by role; none where a role is not named."""
    SIDE_DP: ClassVar = 12
    """Least air at either side of the words."""
    ICON_GIVES_WAY: ClassVar = True
    """Whether the icon goes where the words need its room."""
    EVEN_BELOW: ClassVar = False
    """Whether keys below each other, too, have one size of type."""

    _rim: Rounded | None = None
    _crowded = False
    """Whether the words have taken the icon's room."""

    # In Python, as `Text`: with bound expressions a key was a thousand objects.

    def __init__(self, **kwargs: Any) -> None:
        self._colour, self._ground = Color(), Rounded(radius=self.corner())
        self._icon, self.inscription = KeyIcon(), KeyWords()
        # Before the rules of what is a key, too, are read: what they say holds.
        for names, follow in (
            (("pos", "size"), self._place),
            (("text", "style", "strong", "halign", "role", "loom"), self._inscribe),
            (("icon", "icon_side", "orientation", "text"), self._stand),
            (("width", "text", "halign", "icon", "icon_side", "orientation"), self._air),
            (("loom", "icon", "icon_side", "orientation"), self._heighten),
        ):
            for name in names:
                self.fbind(name, follow)
            follow()
        words = self.inscription
        words.fbind("natural", self._air)
        words.fbind("texture_size", self._heighten)
        words.fbind("width", self._widen_words)
        words.fbind("fitted", self._even_out)
        self.fbind("parent", self._even_out)
        self._widen_words()
        super().__init__(**kwargs)
        self.canvas.before.add(self._colour)
        self.canvas.before.add(self._ground)
        if self.RIMS:
            self._rim_colour, self._rim = Color(), Rounded(radius=self.corner(), line=look.rim)
            self.canvas.before.add(self._rim_colour)
            self.canvas.before.add(self._rim)
            self._place()
        self.add_widget(self._icon)
        self.add_widget(words)
        for name in ("state", "role", "disabled", "icon"):
            self.fbind(name, self._dress)
        look.follow(self)
        self._dress()

    @staticmethod
    def corner() -> float:
        """Return by how much its corners are round, px."""
        return look.key_radius

    def look_changed(self) -> None:
        """Colours or type sizes may be others now."""
        self._dress()
        self._inscribe()
        self._stand()
        self._air()

    def _place(self, *_args: Any) -> None:
        self._ground.pos, self._ground.size = self.pos, self.size
        if self._rim is not None:
            self._rim.pos, self._rim.size = self.pos, self.size

    def _dress(self, *_args: Any) -> None:
        """Wear the colours of the present state."""
        ground = self.GROUNDS[self.role]
        ink = self.INKS[self.role]
        if self.disabled:
            ground = ground and "line"
        elif self.state == "down":
            ground = "pressed"
        if self.role != "done" and (self.disabled or self.state == "down"):
            ink = "ink"
        self._colour.rgba = look.tones[ground] if ground else (0, 0, 0, 0)
        if self._rim is not None:
            rim = self.RIMS.get(self.role, "")
            self._rim_colour.rgba = look.tones[rim] if rim else (0, 0, 0, 0)
        self._icon.tone = ink
        self._icon.opacity = self._icon_opacity()
        words = self.inscription
        words.color = look.tones[ink]
        words.disabled_color = (*look.tones[ink][:3], 0.6)

    def _icon_opacity(self) -> float:
        if not self.icon or self._crowded:
            return 0.0
        return 0.5 if self.disabled and self.role != "done" else 1.0

    def _inscribe(self, *_args: Any) -> None:
        words = self.inscription
        # The one main key of a page or sheet is written larger than all others, wherever it stands.
        main = (
            self.role == "act" and self.loom and self.style == "body" and look.text_scale < theme.LARGE_TEXT
        )
        words.bold, words.halign, words.text = self.strong, self.halign, self.text
        words.style = "lead" if main else self.style

    def _even_out(self, *_args: Any) -> None:
        """Give all keys that stand beside this one the size of type of the one that had to shrink most."""
        row = self.parent
        if not self.EVEN_BELOW and getattr(row, "orientation", "vertical") == "vertical":
            self.inscription.beside = 1.0
            return
        beside = [
            key.inscription
            for key in (row.children if row else ())
            if isinstance(key, Key) and key.inscription.style == self.inscription.style
        ]
        least = min((words.fitted for words in beside if words.text), default=1.0)
        for words in beside:
            words.beside = least

    def _stand(self, *_args: Any) -> None:
        """Put the icon beside the words or above them."""
        across = self.orientation == "horizontal"
        icon = self._icon
        icon.side, icon.name = self.icon_side, self.icon
        icon.size_hint = (None, None) if across else (1, None)
        icon.pos_hint = {"center_y": 0.5} if across else {}
        self._widen_icon()
        words = self.inscription
        words.size_hint_x = 1 if self.text else None
        if not self.text:
            words.width = 0

    def icon_px(self) -> float:
        """Return the side of the icon: it grows with the words as far as these stay on one line beside it."""
        grown = look.icon_px(self.icon_side)
        if self.orientation == "vertical" and self.size_hint_y is not None and self.height > dp(1):
            # As high as its neighbours: what is above the words is all there is.
            return max(dp(16), min(grown, self.height - self.inscription.texture_size[1] - dp(6)))
        if not self.text or self.orientation == "vertical":
            return grown
        room = self.width - self.inscription.natural - dp(8) - 2 * dp(self.SIDE_DP)
        return max(dp(self.icon_side), min(grown, room)) if room > 0 else dp(self.icon_side)

    def _widen_icon(self) -> None:
        side = self.icon_px()
        # Without one no room above the words is its.
        self._icon.height = side if self.icon else 0.0
        if not self.text and self.orientation == "horizontal":
            self._icon.width = self.width
        else:
            self._icon.width = side if self.icon and not self._crowded else 0

    def _widen_words(self, *_args: Any) -> None:
        words = self.inscription
        words.room = words.width
        words.text_size = max(1, words.width), None

    def _air(self, *_args: Any) -> None:
        """Leave so much air at both sides that icon and words stand in the middle together."""
        if not self.text:
            self._crowded = False
            self.padding = 0.0, 0.0
            self._widen_icon()
            return
        side: float = dp(self.SIDE_DP)
        if self.icon and self.orientation != "vertical" and self.halign == "center":
            spare = self.width - self.icon_px() - dp(8) - self.inscription.natural
            # Words that want more lines than one want the icon's room: alone at the edge it belonged to nothing.
            self._crowded = self.ICON_GIVES_WAY and self.width > dp(1) and spare < 2 * side
            side = max(side, spare / 2)
        else:
            self._crowded = False
        self.spacing = dp(8) if self.orientation == "horizontal" and self.icon and not self._crowded else 0
        self._icon.opacity = self._icon_opacity()
        self._widen_icon()
        self.padding = side, dp(4)

    def _heighten(self, *_args: Any) -> None:
        if self.children and not (self.text or self.icon):
            # Made small where there is nothing to tap: words that go later than that leave no hole as high as a key.
            return
        above = self.icon_px() if self.icon and self.orientation == "vertical" else 0
        least = look.loom_touch if self.loom else look.touch
        self.height = max(least, self.inscription.texture_size[1] + dp(16) + above)


def words_and_air(key: Key) -> float:
    """Return the width at which a key's words need not shrink, px."""
    icon = dp(key.icon_side) + dp(8) if key.icon and key.orientation == "horizontal" else 0.0
    return float(key.inscription.natural + icon + 2 * dp(key.SIDE_DP))


class Choice(Key):
    """One of several answers: framed with an empty ring while it is not taken, filled with a tick once it is.

    A key that does something is filled from the start; what is filled in is white.
    """

    several = BooleanProperty(False)
    """Whether others beside it may be chosen, too."""
    marked = BooleanProperty(True)
    """Whether ring and tick stand before its words: numbers in a row have no room for them."""

    GROUNDS: ClassVar = {**Key.GROUNDS, "plain": ""}
    RIMS: ClassVar = {"plain": "edge"}
    # Ring and tick say which one is taken.
    ICON_GIVES_WAY: ClassVar = False

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"icon_side": 20, **kwargs})
        for name in ("role", "marked", "several"):
            self.fbind(name, self._mark)
        self._mark()

    def _mark(self, *_args: Any) -> None:
        if self.icon in ("", *ONE_MARKS, *SEVERAL_MARKS):
            marks = SEVERAL_MARKS if self.several else ONE_MARKS
            self.icon = marks[self.role == "chosen"] if self.marked else ""

    @staticmethod
    def corner() -> float:
        """Return by how much its corners are round, px."""
        return look.corner


class ValueKey(Key):
    """A value that is asked for when it is tapped: as white and framed as a field."""

    # Between two keys a number would else stand above its unit.
    SIDE_DP: ClassVar = 4
    GROUNDS: ClassVar = {**Key.GROUNDS, "plain": "card"}
    RIMS: ClassVar = {"plain": "edge"}

    @staticmethod
    def corner() -> float:
        """Return by how much its corners are round, px."""
        return look.corner


class RowKey(Tappable, BoxLayout):
    """A whole line or card that can be tapped; put any children in it."""

    ground = StringProperty("card")
    corner = NumericProperty(0.0)
    """By how much its corners are round, px."""


class AskedRow(RowKey):
    """What is filled in: white and framed, in a form as on paper; tapping it asks."""

    wrong = BooleanProperty(False)


class Field(AskedRow):
    """A question and its answer on one line; tapping it asks."""

    label = StringProperty("")
    answer = StringProperty("")
    hint = StringProperty("")
    icon = StringProperty("")
    trouble = StringProperty("")
    """A sentence about what is wrong with the answer; "" when all is well."""

    @staticmethod
    def is_given(answer: str) -> bool:
        """Return whether an answer is one, and not the words for none: these are written as a hint is."""
        return answer not in (_("not given"), _("not said"))

    @staticmethod
    @cache
    def line_px(font_size: float, leading: float) -> float:
        """Return the height of an answer of one line, px."""
        measured = CoreLabel(text=BELOW_THE_FOOT, font_size=font_size, bold=True, line_height=leading)
        measured.refresh()
        return float(measured.texture.height)


RIM_BELOW = 1.6
"""Contrast to the dark card (WCAG) below which a ball is rimmed; on the light one its own shades are seen."""


class Swatch(AnchorLayout):
    """A yarn's own colour with its number on it, so that nothing is said by colour alone."""

    colour = StringProperty("#C8B89A")
    number = StringProperty("")
    side = NumericProperty(30)
    pile = BooleanProperty(False)
    """Whether it is a ball of pile yarn though it has no number yet; what has none else is wound on a shuttle."""

    def rgba(self, colour: str) -> tuple[float, ...]:
        """Return the swatch colour for the canvas."""
        return (*theme.channels(colour), 1)

    def ink(self, colour: str) -> tuple[float, ...]:
        """Return the colour in which the number reads best."""
        return (*theme.channels(theme.ink_on(colour)), 1)

    def rim(self, colour: str, dark: bool) -> tuple[float, ...]:
        """Return the colour of the rim: none where the yarn stands out from the card by itself, as any does from the light one."""
        faint = dark and theme.contrast(colour, theme.DARK.card) < RIM_BELOW
        return (*theme.channels(theme.DARK.soft), 0.9 if faint else 0.0)


class TickBox(AnchorLayout):
    """A box with a tick in it, or none; a stroke while what it stands for is done in part."""

    ticked = BooleanProperty(False)
    begun = BooleanProperty(False)


class TickKey(Tappable, TickBox):
    """A tick box that is tapped by itself."""


class TickRow(RowKey):
    """A line that is ticked off: its box and its words; the whole line is tapped."""

    text = StringProperty("")
    ticked = BooleanProperty(False)


class Gauge(Widget):
    """A bar that says a share, with an optional mark."""

    share = NumericProperty(0.0)
    mark = NumericProperty(-1.0)
    tone = StringProperty("indigo")


class Busy(BoxLayout):
    """What is being done, a bar that moves with it, and a key that stops it; nothing while nothing is done."""

    words = StringProperty("")
    share = NumericProperty(0.0)

    __events__ = ("on_stop",)

    def on_stop(self) -> None:
        """The key was tapped."""

    def on_touch_down(self, touch: Any) -> bool:
        # Disabled and of no height it would still take what is tapped on its very line.
        return bool(self.words) and bool(super().on_touch_down(touch))


FADE_DP = 16
"""Height of an edge at which a column that goes on fades out: less than a line of words."""
FROM_BELOW, FROM_ABOVE = (0, 0, 1, 0, 1, 1, 0, 1), (0, 1, 1, 1, 1, 0, 0, 0)
"""Which way round the picture of fading lies at the lower and the upper edge."""


@cache
def fading() -> Texture:
    """Return white that fades in from top to bottom, to be tinted."""
    texture = Texture.create(size=(1, 16), colorfmt="rgba")
    texture.blit_buffer(
        bytes(byte for line in range(16) for byte in (255, 255, 255, 255 - 16 * line)), colorfmt="rgba"
    )
    return texture


class FadingOut(ScrollView):
    """What scrolls fades into the ground where it goes on above or below: a line cut through looks like a fault."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        with self.canvas.after:
            self._fades = [
                (Color(0, 0, 0, 0), Rectangle(texture=fading(), tex_coords=way))
                for way in (FROM_BELOW, FROM_ABOVE)
            ]
        look.follow(self)

    def look_changed(self) -> None:
        """Colours may be others now."""
        self._fade_out()

    @property
    def beyond_px(self) -> float:
        """How much of the content lies beyond the upper edge, px."""
        hidden = self.children[0].height - self.height if self.children else 0.0
        return max(0.0, 1.0 - self.scroll_y) * hidden if hidden > 0 else 0.0

    @property
    def faded_px(self) -> tuple[float, float]:
        """Heights of the lower and the upper edge in which what goes on there fades out, px; 0 where the column ends."""
        above = self.beyond_px
        below = self.children[0].height - self.height - above if self.children else 0.0
        return min(dp(FADE_DP), max(0.0, below)), min(dp(FADE_DP), above)

    def _fade_out(self) -> None:
        for (colour, edge), high, is_upper in zip(self._fades, self.faded_px, (False, True), strict=True):
            colour.rgba = (*look.tones["ground"][:3], 1.0 if high >= 1 else 0.0)
            edge.size = self.width, max(1.0, high)
            edge.pos = self.x, self.y + self.height - edge.size[1] if is_upper else self.y

    def update_from_scroll(self, *largs: Any) -> None:
        """Show what is seen now."""
        super().update_from_scroll(*largs)
        self._fade_out()


class Scroll(FadingOut):
    """A column that scrolls up and down only."""

    content = ObjectProperty(None)

    _trigger_update_from_scroll = KeptInOrder(lambda scroll: scroll.update_from_scroll())
    """What gives its content the width it has and the place it scrolled to."""

    def __init__(self, **kwargs: Any) -> None:
        self._seen = Seen()
        super().__init__(**kwargs)
        tell_when_laid_out(self)

    def all_laid_out(self) -> bool:
        """Everything has its place: draw what can be seen of it, or make first what is missing there."""
        if self._filling is not None and self._filling.laid_out():
            return True
        self._seen.look(self)
        return False

    _filling: Filling | None = None

    def fill(self, columns: Widget, steps: Iterator[None]) -> None:
        """Fill `columns`, which lie in the content, by `steps`: what can be seen before the next frame, the rest after it."""
        if self._filling is not None:
            self._filling.stop()
        self._filling = Filling(self, columns, steps)

    def fill_up(self) -> None:
        """Take what steps are left, and give everything its place: it is to be known how tall the content is."""
        if self._filling is not None and not self._filling.done:
            self._filling.finish()
            lay_out_now()

    _kept_px: float | None = None
    """So much of the content is to stay beyond the upper edge while it is filled anew; None when nothing is kept."""

    @property
    def beyond_px(self) -> float:
        """How much of the content lies beyond the upper edge, px."""
        return super().beyond_px if self._kept_px is None else self._kept_px

    @property
    def keeps_place(self) -> bool:
        """Whether the content is being filled anew."""
        return self._kept_px is not None

    def keep_place(self, gone_px: float = 0.0) -> None:
        """Keep what stands at the upper edge there while the content is filled anew, which may take a few frames.

        Parameters
        ----------
        gone_px
            So much less of what lies above will be there.
        """
        if not self.keeps_place:
            self._kept_px = max(0.0, self.beyond_px - gone_px)
            self.bind(height=self._stay)
            for content in self.children:
                content.bind(height=self._stay)
        Clock.unschedule(self.let_go)
        Clock.schedule_once(self.let_go, FILLED_S)

    def _stay(self, *_args: Any) -> None:
        hidden = self.children[0].height - self.height if self.children else 0.0
        if self._kept_px is not None and hidden > 0:
            _rest(self, max(0.0, 1.0 - self._kept_px / hidden))

    def let_go(self, *_args: Any) -> None:
        """Keep the place no longer."""
        if not self.keeps_place:
            return
        self._kept_px = None
        self.unbind(height=self._stay)
        for content in self.children:
            content.unbind(height=self._stay)
        Clock.unschedule(self.let_go)

    def on_touch_down(self, touch: Any) -> bool:
        """Let a finger move it from now on."""
        if self.collide_point(*touch.pos):
            self.fill_up()
            self.let_go()
        return bool(super().on_touch_down(touch))

    def update_from_scroll(self, *largs: Any) -> None:
        """Show the bar where it is now."""
        # Kivy listens anew at each move of the bar, and takes one of the listeners off when it comes to rest.
        self.funbind("bar_color", self._change_bar_color)
        super().update_from_scroll(*largs)
        # Kivy holds the foot of the content where it is, and moves all of it when it grows below. Here its top is held.
        for content in self.children:
            content.pos = 0, -content.height
            self.g_translate.y += content.height


class WholeAtRest(Scroll):
    """Comes to rest with what is read as one either whole or out of sight: a day cut through by the edge lost what it is the day of."""

    one_part = ObjectProperty(None, allownone=True)
    """What of the content is read as one; None: nothing is."""

    def __init__(self, **kwargs: Any) -> None:
        # In the next frame: the effect that comes to rest still says where it does.
        self._come_to_rest = Clock.create_trigger(self._rest_whole)
        super().__init__(**kwargs)
        self._follow_effect()
        self.fbind("effect_y", self._follow_effect)

    def _follow_effect(self, *_args: Any) -> None:
        if self.effect_y is not None:
            self.effect_y.bind(velocity=self._come_to_rest, is_manual=self._come_to_rest)

    def _rest_whole(self, _dt: float) -> None:
        effect, part = self.effect_y, self.one_part
        if (
            effect.is_manual
            or abs(effect.velocity) > effect.min_velocity
            or part is None
            or not self.children
        ):
            return
        content = self.children[0]
        head, foot = (
            content.height - (part.y + part.height - content.y),
            content.height - (part.y - content.y),
        )
        hidden, beyond = content.height - self.height, self.beyond_px
        # Where it cannot be scrolled out of sight the end of the page comes first.
        if head + 1 < beyond < foot <= hidden:
            wished = head if beyond < (head + foot) / 2 else foot
            glide(self, {}, {"scroll_y": 1.0 - wished / hidden})


class Rule(Widget):
    """A hairline between things."""


class Stepper(BoxLayout):
    """A value between a minus and a plus key; tapping the value opens the number pad."""

    value = NumericProperty(0)
    step = NumericProperty(1)
    least = NumericProperty(-9999)
    most = NumericProperty(9999)
    shown = StringProperty("")
    unit = StringProperty("")
    style = StringProperty("figure")
    """Of its type: words in place of a figure are written smaller."""
    loom = BooleanProperty(True)

    __events__ = ("on_step", "on_ask", "on_bound")

    def change(self, by: float) -> None:
        """Move the value by `by`, within its bounds, and tell who listens."""
        new = min(self.most, max(self.least, self.value + by))
        if new != self.value:
            self.value = new
            self.dispatch("on_step", new)
        else:
            self.dispatch("on_bound", by)

    def on_bound(self, by: float) -> None:
        """A tap would lead beyond the bounds."""

    def on_step(self, value: float) -> None:
        """The value was changed by a tap."""

    def on_ask(self) -> None:
        """The value itself was tapped."""


class EvenKey(Key):
    """A key as tall as its neighbours in a grid, even where one of them has a word more; its rule says how tall at least."""

    words_height = NumericProperty(0.0)
    """Height of its words, px. Not by kv: a rule that reads `self.ids` would keep the page for ever."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.inscription.bind(texture_size=self._measure)

    def _measure(self, _words: Any, size: Any) -> None:
        self.words_height = size[1]


class BarKey(Key):
    """A key in the bar above a page: its icon with its word below, as in the bar of the main pages."""

    AIR_DP: ClassVar = 5
    """At either side of the word."""
    ROUND_AIR_DP: ClassVar = 12
    """The same on a ground, whose round ends would cut into it."""
    WORD_DP: ClassVar = 72
    """The most a word takes with its air before its type shrinks: several keys and a title have to stand on one line."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(orientation="vertical", style="small", strong=False, icon_side=24, size_hint_x=None)
        self.inscription.fbind("natural", self._widen)
        for name in ("text", "icon", "loom", "role"):
            self.fbind(name, self._widen)
        self.fbind("height", self._air)
        self.inscription.fbind("texture_size", self._air)
        for name, value in kwargs.items():
            setattr(self, name, value)
        self._widen()

    def look_changed(self) -> None:
        super().look_changed()
        self._widen()

    def _widen(self, *_args: Any) -> None:
        """Be as wide as the word; away without icon and word."""
        there = bool(self.text or self.icon)
        least = look.loom_touch if self.loom else look.touch
        most = dp(self.WORD_DP) * max(1.0, look.text_scale * 0.6)
        if look.shape == "tablet":
            most *= theme.TABLET_TYPE
        air = self.AIR_DP if self.loom or not self.GROUNDS[self.role] else self.ROUND_AIR_DP
        self.width = max(least, min(self.inscription.natural + 2 * dp(air), most)) if there else 0.0
        self.opacity = 1.0 if there else 0.0
        self.disabled = not there

    def _air(self, *_args: Any) -> None:
        # What is left of a key made large for the loom lies above the icon and below the word.
        above = max(dp(2), (self.height - self._icon_height() - self.inscription.texture_size[1]) / 2)
        self.padding = dp(self.AIR_DP) if self.text else 0.0, above
        self._widen_icon()

    def _heighten(self, *_args: Any) -> None:
        least = look.loom_touch if self.loom else look.touch
        self.height = max(least, self.inscription.texture_size[1] + self._icon_height() + dp(4))

    def _icon_height(self) -> float:
        return self.icon_px() if self.icon else 0.0


class TimerKey(BarKey):
    """The time of the running timer, so that it is not forgotten; nothing while none runs."""

    NAMED_DP: ClassVar = 104
    """Width with a rug's name over the time."""
    ROUND_AIR_DP: ClassVar = 5
    """Figures are short, and beside them the rug's name has to stand on one line."""

    words = StringProperty("")
    rug = StringProperty("")
    """The rug at which it runs, where another one is in hand."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        for name in ("words", "rug"):
            self.fbind(name, self._tell)
        self._tell()

    def look_changed(self) -> None:
        super().look_changed()
        self._tell()

    def _tell(self, *_args: Any) -> None:
        """Say the time, and whose it is where that is another rug: the name takes the icon's room."""
        named = bool(self.rug and self.words)
        self.icon = "timer" if self.words and not named else ""
        self._widen()
        self.text = f"{self._cut(self.rug)}\n{self.words}" if named else self.words

    def _widen(self, *_args: Any) -> None:
        super()._widen()
        if self.rug and self.words:
            # In large type the title needs the room, but on a phone on its side.
            large = dp(self.WORD_DP) * look.text_scale * 0.6
            named = dp(self.NAMED_DP * (1.6 if look.shape == "tablet" else 1.0))
            if look.shape == "wide":
                named *= max(1.0, look.text_scale * 0.9)
            self.width = named if look.text_scale < 1.5 or look.shape == "wide" else large

    def _cut(self, name: str) -> str:
        """Return a rug's name on one line, its end left out where the key is too narrow."""
        room, size = self.width - 2 * dp(self.AIR_DP) - 2, look.type_sizes[self.style]
        whole = name
        while len(name) > 1 and extent(whole, self.inscription.font_name, size, self.strong) > room:
            name = name[:-1].rstrip()
            whole = f"{name}…"
        return whole


class TitleKey(Tappable, BoxLayout):
    """A title with a mark that it opens: the name of the rug in hand opens the list of rugs."""

    title = StringProperty("")
    height_of_words = NumericProperty(0.0)

    def longest_line(self, words: KeyWords, natural: float, room: float) -> float:
        """Return the width of the longest line of the title in so much `room`, px: the mark stands beside its words."""
        if natural <= room:
            return natural
        lines = [""]
        for word in words.words().split(" "):
            longer = f"{lines[-1]} {word}".strip()
            if extent(longer, words.font_name, words.font_size, words.bold) > room:
                lines.append(word)
            else:
                lines[-1] = longer
        widest = max(extent(line, words.font_name, words.font_size, words.bold) for line in lines) + 2
        return max(1.0, min(room, widest))


class TopBar(BoxLayout):
    """The bar above a page: back, title, and up to two actions."""

    title = StringProperty("")
    can_go_back = BooleanProperty(True)
    actions = ListProperty([])
    """(icon, word, callback) at the right end: no picture stands there without its word."""

    badge = StringProperty("")
    """The time of the running timer; "" for none."""
    badge_rug = StringProperty("")
    """The rug at which it runs, where another one is in hand."""

    opens = ObjectProperty(None, allownone=True)
    """What a tap on the title opens; None for a title that is only read."""

    __events__ = ("on_back", "on_timer")

    title_height = NumericProperty(0.0)

    @property
    def title_band(self) -> tuple[float, float]:
        """Left end and width, px, of what is only the title's: between the way back and the keys."""
        left = self.x + (look.touch + dp(4) if self.can_go_back else 0.0)
        title = next(at for at, child in enumerate(self.children) if isinstance(child, Text | TitleKey))
        return left, min([key.x for key in self.children[:title] if key.width] or [self.right]) - left

    def on_opens(self, *_args: Any) -> None:
        key = TitleKey(title=self.title)
        self.bind(title=key.setter("title"))
        key.bind(height_of_words=self.setter("title_height"))
        key.bind(on_release=lambda _key: self.opens())
        title = self.ids.title.__self__
        place = self.children.index(title)
        self.remove_widget(title)
        self.add_widget(key, index=place)
        self.title_height = key.height_of_words

    def on_back(self) -> None:
        """The back key was tapped."""

    def on_timer(self) -> None:
        """The running timer was tapped."""

    def on_actions(self, *_args: Any) -> None:
        box = self.ids.actions
        box.clear_widgets()
        for icon, word, callback in self.actions:
            key = BarKey(icon=icon, text=word, role="quiet", pos_hint={"center_y": 0.5})
            key.bind(on_release=lambda _key, call=callback: call())
            box.add_widget(key)


load_kv(__file__)
