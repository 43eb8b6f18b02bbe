"""Asks for a yarn's shade: our own sheet of dye shades, or a free one by hue, lightness and strength."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.graphics import Color, Ellipse, Line, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import ListProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker import theme
from tracker.presenters.shades import free_shade, parts_of, shade_name, shades
from tracker.shell.shell import Shell
from tracker.widgets.basics import Column, Key, Swatch, Tappable, Text, Tiles
from tracker.widgets.laid_out import AnchorLayout, BoxLayout
from tracker.widgets.look import look
from tracker.words import _

STEPS = 48
SHADE_DP = 56
PRESSED = 0.6
"""How much of a shade is seen under a finger."""


class ShadeTile(Tappable, BoxLayout):
    """One shade as a ball of yarn with its name below."""

    text = StringProperty("")
    colour = StringProperty("#C8B89A")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(orientation="vertical", size_hint_y=None, spacing=dp(4), **kwargs)
        ball = Swatch(colour=self.colour, pile=True, side=SHADE_DP)
        holder = AnchorLayout(size_hint_y=None, height=ball.height)
        holder.add_widget(ball)
        self.add_widget(holder)
        self.add_widget(Text(text=self.text, style="small", halign="center"))
        self.bind(minimum_height=self.setter("height"))
        self.bind(state=lambda _tile, state: setattr(holder, "opacity", PRESSED if state == "down" else 1.0))


class ShadeBar(Widget):
    """A bar of colours along which a finger slides."""

    value = NumericProperty(0.5)
    colours = ListProperty([])

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(size_hint_y=None, height=look.touch, **kwargs)
        self.bind(pos=self._draw, size=self._draw, value=self._draw, colours=self._draw)

    def _draw(self, *_args: Any) -> None:
        self.canvas.clear()
        if not self.colours or self.width < 10:
            return
        texture = Texture.create(size=(len(self.colours), 1), colorfmt="rgb")
        texture.blit_buffer(
            bytes(round(255 * part) for colour in self.colours for part in theme.channels(colour)),
            colorfmt="rgb",
            bufferfmt="ubyte",
        )
        bar_y, bar_h = self.y + dp(12), self.height - dp(24)
        x_mark = self.x + dp(14) + self.value * (self.width - dp(28))
        with self.canvas:
            Color(1, 1, 1)
            Rectangle(texture=texture, pos=(self.x, bar_y), size=(self.width, bar_h))
            Color(*look.tones["edge"])
            Line(rectangle=(self.x, bar_y, self.width, bar_h), width=dp(1))
            Color(*look.tones["card"])
            Ellipse(pos=(x_mark - dp(14), self.y + self.height / 2 - dp(14)), size=(dp(28), dp(28)))
            Color(*look.tones["ink"])
            Line(circle=(x_mark, self.y + self.height / 2, dp(14)), width=dp(2))

    def _slide(self, touch: Any) -> None:
        self.value = min(1.0, max(0.0, (touch.x - self.x - dp(14)) / max(1, self.width - dp(28))))

    def on_touch_down(self, touch: Any) -> bool:
        if not self.collide_point(*touch.pos):
            return False
        touch.grab(self)
        self._slide(touch)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return False
        self._slide(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        if touch.grab_current is not self:
            return False
        touch.ungrab(self)
        return True


class ShadeSheet(Column):
    """Our sheet of shades; below it the three bars."""

    colour = StringProperty("#C8B89A")
    done = ObjectProperty(None)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        tiles = Tiles(cols=3 if look.text_scale < 1.5 else 2)
        for shade in shades():
            tile = ShadeTile(text=shade.name, colour=shade.colour)
            tile.bind(on_release=lambda tile: self.done(tile.text, tile.colour))
            tiles.add_widget(tile)
        self._tiles = tiles
        free = Key(text=_("Mix another shade"), icon="edit")
        free.bind(on_release=lambda _key: self.mix())
        self.add_widget(free)
        self.add_widget(tiles)

    def mix(self) -> None:
        """Show the bars in place of the sheet."""
        self.clear_widgets()
        hue, lightness, strength = parts_of(self.colour)
        self._shown = ShadeTile(text="", colour=self.colour)
        self.add_widget(self._shown)
        self.bars = {}
        for name, words, value in (
            ("hue", _("Hue"), hue),
            ("lightness", _("Lightness"), lightness),
            ("strength", _("Strength"), strength),
        ):
            self.add_widget(Text(text=words, style="small", tone="soft"))
            bar = ShadeBar(value=value)
            bar.bind(value=lambda *_a: self._mixed())
            self.bars[name] = bar
            self.add_widget(bar)
        take = Key(text=_("Take this shade"), icon="check", role="act", loom=True)
        take.bind(on_release=lambda _key: self._take())
        self.add_widget(take)
        self._mixed()

    def _mixed(self) -> None:
        hue, lightness, strength = (self.bars[name].value for name in ("hue", "lightness", "strength"))
        self.colour = free_shade(hue, lightness, strength)
        steps = [share / (STEPS - 1) for share in range(STEPS)]
        self.bars["hue"].colours = [free_shade(share, 0.5, max(0.35, strength)) for share in steps]
        self.bars["lightness"].colours = [free_shade(hue, share, strength) for share in steps]
        self.bars["strength"].colours = [free_shade(hue, lightness, share) for share in steps]
        self.remove_widget(self._shown)
        self._shown = ShadeTile(text=shade_name(self.colour), colour=self.colour)
        self.add_widget(self._shown, index=len(self.children))

    def _take(self) -> None:
        self.done(shade_name(self.colour), self.colour)


def ask_shade(shell: Shell, title: str, colour: str, done: Callable[[str, str], None]) -> ShadeSheet:
    """Ask for a shade; `done` gets its name and "#RRGGBB"."""

    def finish(name: str, picked: str) -> None:
        shell.close_sheet()
        done(name, picked)

    sheet = ShadeSheet(colour=colour, done=finish)
    shell.open_sheet(title, sheet)
    return sheet
