"""The theme for kv rules and widgets, which follow light and dark, text size and window shape."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Any

from kivy.core.text import LabelBase
from kivy.event import Observable
from kivy.metrics import dp

from tracker import theme

LEAST_TEXT_SCALE, MOST_TEXT_SCALE = 0.85, 2.0
"""Size of text over the usual: no page was looked at with other ones."""
MOST_ICON_SCALE = 1.5
"""Size of icons over the usual in the largest type: they are known at a glance, and the words need the room."""
ASSETS = Path(__file__).parents[2] / "assets"


def colours(palette: theme.Palette) -> dict[str, tuple[float, ...]]:
    """Return a palette's colours by name as opaque Kivy colours."""
    return {
        name: (*theme.channels(getattr(palette, name)), 1.0) for name in theme.Palette.__dataclass_fields__
    }


WORN = ("tones", "type_sizes", "bold")
"""What words and icons wear of the look."""


class Followed:
    """An attribute of `Look` whose changes are told to everything that follows it."""

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    def __get__(self, look: Look | None, owner: type) -> Any:
        return self if look is None else look.__dict__[self.name]

    def __set__(self, look: Look, value: Any) -> None:
        before = look.__dict__.get(self.name)
        look.__dict__[self.name] = value
        if before is not None and before != value:
            look._changed(self.name, value)


class Look(Observable):
    """What every widget reads its colours, sizes and type from. There is one, `look`.

    A page is some thousand kv rules that follow this one object, and each rule is taken off it when its widget
    goes. Kivy's own properties look through all who follow for that; here it is one step, however many there are.
    Sizes that never change are followed by nobody.
    """

    dark = Followed()
    text_scale = Followed()
    """Type size over the normal one."""
    shape = Followed()
    """tall: a phone upright; wide: a phone on its side; tablet: room both ways."""
    bold = Followed()
    """Whether the phone is set to bold text."""
    upright = Followed()
    """Whether the window is higher than wide: pictures then lie above their words, not beside them."""
    tones = Followed()
    """Colour by name, as red, green, blue and opacity from 0 to 1."""
    type_sizes = Followed()
    """Type size by name [px]."""

    def __init__(self) -> None:
        self._followers: dict[str, dict[int, tuple[Callable[..., Any], tuple[Any, ...], dict[str, Any]]]] = {
            name: {} for name, kind in vars(Look).items() if isinstance(kind, Followed)
        }
        self._numbers = count(1)
        self._worn_by: weakref.WeakSet[Any] = weakref.WeakSet()
        self.dark, self.text_scale, self.shape, self.upright, self.bold = False, 1.0, "tall", True, False
        self._chosen_scale = self._phone_scale = 1.0
        self.touch, self.loom_touch = dp(theme.TOUCH_DP), dp(theme.LOOM_TOUCH_DP)
        self.gap, self.pad, self.radius = dp(theme.GAP_DP), dp(theme.PAD_DP), dp(theme.RADIUS_DP)
        self.corner, self.rim = dp(theme.CORNER_DP), dp(theme.RIM_DP)
        self.heading, self.key_radius = dp(theme.HEADING_DP), dp(theme.KEY_RADIUS_DP)
        self.column = dp(theme.COLUMN_DP)
        self.motion_s = 0.0
        """Seconds of every motion; 0 while none is wanted: the app sets it when it runs on a screen."""
        self._recolour()
        self._resize()

    def _recolour(self) -> None:
        self.tones = colours(theme.DARK if self.dark else theme.LIGHT)

    def _resize(self) -> None:
        self.type_sizes = {
            name: dp(size) * self.text_scale * (theme.TABLET_TYPE if self.shape == "tablet" else 1.0)
            for name, size in theme.TYPE_DP.items()
        }

    def leading(self, style: str) -> float:
        """Return the height of a line over the size of its type."""
        usual = theme.LEADING.get(style, 1.0)
        return usual if self.text_scale < theme.LARGE_TEXT else min(usual, theme.LARGE_LEADING)

    def icon_px(self, side: float) -> float:
        """Return the side of an icon that is so many dp beside words of the usual size, px: it grows with them, and less."""
        return dp(side) * max(1.0, min(MOST_ICON_SCALE, self.text_scale * 0.75))

    def scale_text(self, chosen: float | None = None, phone: float | None = None) -> None:
        """Set how large the weaver or the phone wants text; None: as before. Both count, and pages are laid out for what comes of it."""
        self._chosen_scale = self._chosen_scale if chosen is None else chosen
        self._phone_scale = self._phone_scale if phone is None else phone
        self.text_scale = min(max(self._chosen_scale * self._phone_scale, LEAST_TEXT_SCALE), MOST_TEXT_SCALE)

    def fit(self, width_px: float, height_px: float) -> None:
        """Choose the shape for a window of this size."""
        self.upright = height_px >= width_px
        if min(width_px, height_px) >= dp(theme.TABLET_DP):
            self.shape = "tablet"
        else:
            self.shape = "wide" if width_px > height_px else "tall"

    # --- following, as kv rules do it

    def fbind(self, name: str, func: Callable[..., Any], *args: Any, **kwargs: Any) -> int:
        """Call `func(*args, look, value)` at each change of `name`; return its number, 0 for what never changes."""
        followers = self._followers.get(name)
        if followers is None:
            return 0
        number = next(self._numbers)
        followers[number] = (func, args, kwargs)
        return number

    def unbind_uid(self, name: str, uid: int) -> None:
        """Follow no longer; a number that is not there is no trouble."""
        self._followers.get(name, {}).pop(uid, None)

    def property(self, name: str, quiet: bool = False) -> None:
        """Tell kv that no value here has changing parts of its own."""

    # --- following, as widgets do it

    def follow(self, widget: Any) -> None:
        """Call `widget.look_changed()` at each change of what a widget wears, for as long as it lives."""
        self._worn_by.add(widget)

    def bind(self, **methods: Callable[..., Any]) -> None:
        """Call a widget's method at each change, for as long as the widget lives.

        Raises
        ------
        TypeError
            For a function that is not a method: it would keep alive for ever what it speaks of.
        """
        for name, method in methods.items():
            followers, number = self._followers[name], next(self._numbers)

            # Bound by default values, for the loop goes on.
            def forget(_gone: object, followers: dict[int, Any] = followers, number: int = number) -> None:
                followers.pop(number, None)

            weak = weakref.WeakMethod(method, forget)
            followers[number] = (weak, (), {})

    def unbind(self, **methods: Callable[..., Any]) -> None:
        """Call the methods no longer."""
        for name, method in methods.items():
            followers = self._followers[name]
            weak = weakref.WeakMethod(method)
            for number in [number for number, (func, *_rest) in followers.items() if func == weak]:
                del followers[number]

    def followers(self) -> int:
        """Return how many rules, methods and widgets follow."""
        return len(self._worn_by) + sum(len(followers) for followers in self._followers.values())

    def let_go(self) -> None:
        """Be followed by nobody: the app that did is closed."""
        for followers in self._followers.values():
            followers.clear()
        self._worn_by.clear()

    def _changed(self, name: str, value: Any) -> None:
        if name == "dark":
            self._recolour()
        elif name in ("text_scale", "shape"):
            self._resize()
        if name in WORN:
            # Before the rules, which may say it otherwise for one of them.
            for widget in list(self._worn_by):
                widget.look_changed()
        followers = self._followers[name]
        for number in list(followers):
            # One before may have taken this one away, as when a page lays its parts out anew.
            func, args, kwargs = followers.get(number, (None, (), {}))
            if isinstance(func, weakref.WeakMethod):
                func = func()
            if func is not None:
                func(*args, self, value, **kwargs)


def register_fonts() -> None:
    """Make the app's own type the default of every label."""
    fonts = ASSETS / "fonts"
    LabelBase.register("Roboto", str(fonts / "Lato-Regular.ttf"), fn_bold=str(fonts / "Lato-Bold.ttf"))
    LabelBase.register("Figure", str(fonts / "Lato-Black.ttf"))


def icon_path(name: str, side_px: float = 128) -> str:
    """Return the file of an icon by name, the smallest that is not enlarged to `side_px`; "" for none.

    Copies of three sizes are quicker to load than one with mipmaps, and as crisp.
    """
    folder = "32/" if side_px <= 32 else "64/" if side_px <= 64 else ""
    return str(ASSETS / "icons" / f"{folder}{name}.png") if name else ""


register_fonts()
look = Look()
