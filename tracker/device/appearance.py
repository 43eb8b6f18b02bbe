"""How the phone is set: dark or light, its language, how bold its text, and what of the window lies under its bars."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tracker.device.java import activity, api_level, java_class, on_android

if TYPE_CHECKING:
    import android.content.res
    import android.graphics
    import android.provider
    import android.view

    import android

BOLD_SINCE = 31
INSETS_BY_TYPE_SINCE = 30
KEYBOARD_GOES_UNTOLD_SINCE = 33
"""Where the back gesture is told beforehand, the system itself puts its keyboard away, and SDL is not told."""


@dataclass(frozen=True, slots=True)
class Appearance:
    """The phone's own settings, as far as they are known."""

    dark: bool | None = None
    language: str = ""
    """Such as "tr"; the app's own language in the system's settings where there is one."""
    bold: bool = False
    text_scale: float | None = None
    """The phone's own text size over its normal one."""


@dataclass(frozen=True, slots=True)
class Insets:
    """Pixels along each edge of the window that lie under a notch, a bar or the line of the gestures."""

    left: int = 0
    top: int = 0
    right: int = 0
    bottom: int = 0


def appearance() -> Appearance:
    """Return how the phone is set now; nothing known where it is no Android phone."""
    if not on_android():
        return Appearance()
    Configuration: type[android.content.res.Configuration] = java_class("android.content.res.Configuration")
    now = activity().getResources().getConfiguration()
    night = now.uiMode & Configuration.UI_MODE_NIGHT_MASK
    undefined = Configuration.FONT_WEIGHT_ADJUSTMENT_UNDEFINED if api_level() >= BOLD_SINCE else 0
    weight = now.fontWeightAdjustment if api_level() >= BOLD_SINCE else 0
    return Appearance(
        dark=None
        if night == Configuration.UI_MODE_NIGHT_UNDEFINED
        else night == Configuration.UI_MODE_NIGHT_YES,
        language=str(now.getLocales().get(0).getLanguage() or ""),
        bold=weight > 0 and weight != undefined,
        text_scale=now.fontScale or None,
    )


def moves() -> bool:
    """Tell whether things on the screen may move: not where the phone's animations are switched off."""
    if not on_android():
        return True
    Global: type[android.provider.Settings.Global] = java_class("android.provider.Settings$Global")
    return Global.getFloat(activity().getContentResolver(), Global.ANIMATOR_DURATION_SCALE, 1.0) > 0


def keyboard_was_put_away() -> bool:
    """Tell whether the phone's keyboard, wanted by a field, is away though nobody told the window."""
    if not on_android() or api_level() < KEYBOARD_GOES_UNTOLD_SINCE:
        return False
    frame = activity().getWindow()
    window_insets = frame.getDecorView().getRootWindowInsets() if frame is not None else None
    if window_insets is None:
        return False
    Type: type[android.view.WindowInsets.Type] = java_class("android.view.WindowInsets$Type")
    return not window_insets.isVisible(Type.ime())


def insets() -> Insets:
    """Return what of the app's own view is covered by the system's; no keyboard counted: Kivy moves for that."""
    if not on_android():
        return Insets()
    Rect: type[android.graphics.Rect] = java_class("android.graphics.Rect")
    frame = activity().getWindow()
    window = frame.getDecorView() if frame is not None else None
    window_insets = window.getRootWindowInsets() if window is not None else None
    if window is None or window_insets is None:
        return Insets()
    if api_level() >= INSETS_BY_TYPE_SINCE:
        Type: type[android.view.WindowInsets.Type] = java_class("android.view.WindowInsets$Type")
        bars = window_insets.getInsets(Type.systemBars() | Type.displayCutout())
        left, top, right, bottom = bars.left, bars.top, bars.right, bars.bottom
    else:
        left, top = window_insets.getSystemWindowInsetLeft(), window_insets.getSystemWindowInsetTop()
        right, bottom = window_insets.getSystemWindowInsetRight(), window_insets.getSystemWindowInsetBottom()
    # Before Android 15 the system keeps the app's view clear of its bars: only what really overlaps counts.
    ours = Rect()
    Id: type[android.R.id] = java_class("android.R$id")
    activity().findViewById(Id.content).getGlobalVisibleRect(ours)
    return Insets(
        left=max(0, left - ours.left),
        top=max(0, top - ours.top),
        right=max(0, right - (window.getWidth() - ours.right)),
        bottom=max(0, bottom - (window.getHeight() - ours.bottom)),
    )
