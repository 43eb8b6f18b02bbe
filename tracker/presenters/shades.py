"""Our own sheet of dye shades: names and colours a weaver can tap, and free ones by hue, lightness and strength.

The colours are our own reading of what natural dyes give on wool; common practice, no source.
"""

from __future__ import annotations

import colorsys
from dataclasses import dataclass

from tracker.domain.colour import plain_colour_name
from tracker.words import _


@dataclass(frozen=True, slots=True)
class Shade:
    """One shade of the sheet."""

    name: str
    colour: str
    """"#RRGGBB"."""


def shades() -> tuple[Shade, ...]:
    """Return the sheet, in the order in which a dyer would hang the skeins: undyed, reds, yellows, greens, blues."""
    return (
        Shade(_("Ivory"), "#EFE6D2"),
        Shade(_("Camel"), "#C29A6B"),
        Shade(_("Grey wool"), "#9A928A"),
        Shade(_("Walnut"), "#5B4130"),
        Shade(_("Black wool"), "#2A211C"),
        Shade(_("Oak"), "#8A6A45"),
        Shade(_("Madder"), "#9B2F25"),
        Shade(_("Deep madder"), "#6E2320"),
        Shade(_("Brick"), "#B9502B"),
        Shade(_("Rose"), "#C4736A"),
        Shade(_("Crimson"), "#8E2345"),
        Shade(_("Plum"), "#553047"),
        Shade(_("Weld"), "#D9B23A"),
        Shade(_("Pale weld"), "#E6D084"),
        Shade(_("Onion skin"), "#B4702E"),
        Shade(_("Pomegranate"), "#A08434"),
        Shade(_("Leaf green"), "#4D6A3A"),
        Shade(_("Moss"), "#7B7F3F"),
        Shade(_("Sage"), "#9BA583"),
        Shade(_("Dark green"), "#2C4432"),
        Shade(_("Sea green"), "#2F6663"),
        Shade(_("Indigo"), "#24406B"),
        Shade(_("Night blue"), "#18263F"),
        Shade(_("Sky"), "#6E93B5"),
        Shade(_("Mist"), "#AFC2CB"),
    )


def shade_name(colour: str) -> str:
    """Return what a shade is called: by its name on the sheet, or in plain words."""
    for shade in shades():
        if shade.colour == colour.upper():
            return shade.name
    name = plain_colour_name(colour)
    return name[:1].upper() + name[1:]


def free_shade(hue: float, lightness: float, strength: float) -> str:
    """Return "#RRGGBB" of a hue (0 to 1 round the circle), a lightness and a strength (0 to 1)."""
    red, green, blue = colorsys.hls_to_rgb(
        hue % 1.0, min(1.0, max(0.0, lightness)), min(1.0, max(0.0, strength))
    )
    return f"#{round(red * 255):02X}{round(green * 255):02X}{round(blue * 255):02X}"


def parts_of(colour: str) -> tuple[float, float, float]:
    """Return the hue, lightness and strength of "#RRGGBB", each 0 to 1."""
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    hue, lightness, strength = colorsys.rgb_to_hls(red, green, blue)
    return hue, lightness, strength
