"""The theme as Kivy properties, so that kv rules follow light and dark, text size and window shape."""

from pathlib import Path

from kivy.core.text import LabelBase
from kivy.event import EventDispatcher
from kivy.metrics import dp, sp
from kivy.properties import BooleanProperty, DictProperty, NumericProperty, OptionProperty

from tracker import theme

ASSETS = Path(__file__).parents[2] / "assets"


def colours(palette: theme.Palette) -> dict[str, tuple[float, ...]]:
    """Return a palette's colours by name as opaque Kivy colours."""
    return {
        name: (*theme.channels(getattr(palette, name)), 1.0) for name in theme.Palette.__dataclass_fields__
    }


class Look(EventDispatcher):
    """What every widget reads its colours, sizes and type from. There is one, `look`."""

    dark = BooleanProperty(False)
    text_scale = NumericProperty(1.0)
    shape = OptionProperty("tall", options=("tall", "wide", "tablet"))
    """tall: a phone upright; wide: a phone on its side; tablet: room both ways."""
    tones = DictProperty(colours(theme.LIGHT))
    type_sizes = DictProperty({})
    touch = NumericProperty(0)
    loom_touch = NumericProperty(0)
    gap = NumericProperty(0)
    pad = NumericProperty(0)
    radius = NumericProperty(0)

    def __init__(self) -> None:
        super().__init__()
        self.bind(dark=self._recolour, text_scale=self._resize, shape=self._resize)
        self._resize()

    def _recolour(self, *_args) -> None:
        self.tones = colours(theme.DARK if self.dark else theme.LIGHT)

    def _resize(self, *_args) -> None:
        self.touch = dp(theme.TOUCH_DP)
        self.loom_touch = dp(theme.LOOM_TOUCH_DP)
        self.gap = dp(theme.GAP_DP)
        self.pad = dp(theme.PAD_DP)
        self.radius = dp(theme.RADIUS_DP)
        self.type_sizes = {
            name: sp(size) * self.text_scale * (theme.TABLET_TYPE if self.shape == "tablet" else 1.0)
            for name, size in theme.TYPE_SP.items()
        }

    def fit(self, width_px: float, height_px: float) -> None:
        """Choose the shape for a window of this size."""
        if min(width_px, height_px) >= dp(theme.TABLET_DP):
            self.shape = "tablet"
        else:
            self.shape = "wide" if width_px > height_px else "tall"


def register_fonts() -> None:
    """Make the app's own type the default of every label."""
    fonts = ASSETS / "fonts"
    LabelBase.register("Roboto", str(fonts / "Lato-Regular.ttf"), fn_bold=str(fonts / "Lato-Bold.ttf"))
    LabelBase.register("Figure", str(fonts / "Lato-Black.ttf"))


def icon_path(name: str) -> str:
    """Return the file of an icon by name, or "" for none."""
    return str(ASSETS / "icons" / f"{name}.png") if name else ""


register_fonts()
look = Look()
