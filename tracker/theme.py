"""Colours, sizes and type of the whole app, in one place. No Kivy here, so that tests can measure contrast.

The palette is the loom's own: undyed wool, walnut, madder, indigo, and green (indigo over weld).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours of one light, as "#RRGGBB". Text colours reach 7:1 on every ground they stand on."""

    ground: str
    """Behind everything."""
    card: str
    """Raised surfaces that hold text."""
    field: str
    """Keys, and other grounds a step darker than the page; what is filled in is a framed `card`."""
    line: str
    """Tracks of bars and the lines of charts (no text)."""
    band: str
    """A range of days or values (no text)."""
    edge: str
    """What a chosen or focused control is framed with, 3:1 against ground, card and field."""
    ink: str
    """Main text."""
    soft: str
    """Secondary text."""
    act: str
    """The main action's ground."""
    on_act: str
    madder: str
    """Warning text: short, late, spoilt."""
    indigo: str
    """Text of links and the current place."""
    green: str
    """Text of what is well."""
    madder_ground: str
    on_madder: str
    green_ground: str
    on_green: str
    pressed: str
    """Ground of anything under a finger; carries `ink`."""
    chosen: str
    """Ground of a chosen item; carries `ink`."""
    weld: str
    """A part of a bar beside those in indigo and green (no text)."""
    shade: str
    """Laid half-clear over a screen behind a sheet."""


LIGHT = Palette(
    ground="#F5EFE3",
    card="#FFFEFB",
    field="#E9DDC6",
    line="#D9CBB2",
    band="#A9B3C3",
    edge="#7D6B54",
    ink="#2B1E16",
    soft="#4A3A2D",
    act="#23395D",
    on_act="#FFFEFB",
    madder="#7F2018",
    indigo="#23395D",
    green="#23452D",
    madder_ground="#8A2419",
    on_madder="#FFF6EE",
    green_ground="#2B5136",
    on_green="#FFFEFB",
    pressed="#D8C49C",
    chosen="#D5DCE6",
    weld="#C08A1E",
    shade="#1B120C",
)

DARK = Palette(
    ground="#1A1410",
    card="#30261F",
    field="#3B2F25",
    line="#4A3C30",
    band="#5C6F8E",
    edge="#A08C73",
    ink="#F6EDDD",
    soft="#DCCDB6",
    act="#A8C1EA",
    on_act="#14213A",
    madder="#FFB3A6",
    indigo="#BFD2F0",
    green="#B4DDB9",
    madder_ground="#FFB3A6",
    on_madder="#3A0D08",
    green_ground="#B4DDB9",
    on_green="#12291A",
    pressed="#4D3D2E",
    chosen="#2B3A52",
    weld="#DDA83A",
    shade="#000000",
)

GROUNDS_OF_TEXT: dict[str, tuple[str, ...]] = {
    "ink": ("ground", "card", "field", "pressed", "chosen"),
    "soft": ("ground", "card", "field"),
    "madder": ("ground", "card"),
    "indigo": ("ground", "card"),
    "green": ("ground", "card"),
    "on_act": ("act",),
    "on_madder": ("madder_ground",),
    "on_green": ("green_ground",),
}
"""Which text colour may stand on which ground. Tests hold every pair to `TEXT_CONTRAST`."""

TEXT_CONTRAST = 7.0
"""WCAG 2.2, success criterion 1.4.6 (AAA), https://www.w3.org/TR/WCAG22/#contrast-enhanced"""
EDGE_CONTRAST = 3.0
"""WCAG 2.2, success criterion 1.4.11, outlines of controls."""

TOUCH_DP = 48
"""Least height and width of anything that is tapped."""
LOOM_TOUCH_DP = 64
"""The same for what is tapped at the loom, with dusty thumbs."""

TYPE_DP: dict[str, int] = {
    "small": 15,
    "body": 15,
    "lead": 19,
    "title": 19,
    "figure": 32,
    "great": 44,
    "far": 96,
}
"""Type sizes at 100 % text. Seven names, five sizes: words, strong lines, one figure, what is read at the loom, and from
afar there: the one count of a row that is read aloud."""

LEADING: dict[str, float] = {"small": 1.2, "body": 1.2, "lead": 1.15, "title": 1.15}
"""Height of a line over the size of its type, where words run over several lines: set solid, they close up to a grey block."""
LARGE_LEADING = 1.1
"""The same in large type, whose lines are apart by themselves and which needs the room."""
LARGE_TEXT = 1.5
"""Text size from which on room is saved."""

TABLET_TYPE = 1.2
"""Type on a tablet, which lies further from the eye than a phone, over type on a phone."""

GAP_DP = 8
"""Between things that belong together."""
PAD_DP = 16
"""At the sides of a page, within cards, and between groups."""
HEADING_DP = 24
"""Above a heading."""
RADIUS_DP = 16
"""Corners of cards; keys are round at both ends."""
CORNER_DP = 8
"""Corners of what is filled in and of choices, so that neither looks like a key."""
RIM_DP = 1.5
"""Width of the frame of what is filled in, and of a choice not taken."""
KEY_RADIUS_DP = 32
"""The most by which a key is round: one of several lines stays a rounded box."""
COLUMN_DP = 720
"""No column of a page is wider: longer lines and keys are not read or reached at a glance."""
MOTION_S = 0.18
"""How long a page, a sheet or a bar takes to its place: seen, but not waited for."""

TABLET_DP = 720
"""Windows at least this wide and tall have the tablet layout."""


def channels(colour: str) -> tuple[float, float, float]:
    """Return "#RRGGBB" as red, green, blue from 0 to 1."""
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))  # type: ignore[return-value]


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, 0 to 1 (WCAG 2.2, definition of relative luminance)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def ink_on(colour: str) -> str:
    """Return black or white walnut ink, whichever reads better on a yarn's own colour."""
    return LIGHT.ink if contrast(LIGHT.ink, colour) >= contrast(LIGHT.card, colour) else LIGHT.card
