"""Colours as the eye compares them: CIELAB, CIEDE2000, merging stray shades, and matching a palette to yarns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tracker.domain import defaults
from tracker.domain.cartoon import MAX_COLOURS, CartoonPicture
from tracker.domain.errors import BadEntry, BadPicture
from tracker.domain.rug import Role, Yarn
from tracker.words import _

FloatArray = NDArray[np.float64]

SRGB_TO_XYZ: FloatArray = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
"""Linear sRGB to CIE XYZ (D65), IEC 61966-2-1:1999."""
WHITE_D65: FloatArray = np.array([0.95047, 1.0, 1.08883])
"""CIE XYZ of D65, 2-degree observer."""


def rgb_of_hex(colour: str) -> tuple[int, int, int]:
    """Return (red, green, blue), 0 to 255, of "#RRGGBB".

    Raises
    ------
    BadEntry
        When it is written otherwise.
    """
    digits = colour.strip().removeprefix("#")
    try:
        if len(digits) != 6:
            raise ValueError(colour)
        return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)
    except ValueError as trouble:
        raise BadEntry(
            _("“{text}” is not a colour. Write it like #A23B2A.").format(text=colour[:20])
        ) from trouble


def hex_of_rgb(rgb: ArrayLike) -> str:
    """Return "#RRGGBB" of (red, green, blue), 0 to 255."""
    red, green, blue = (int(part) for part in np.asarray(rgb).ravel())
    return f"#{red:02X}{green:02X}{blue:02X}"


def lab_of_rgb(rgb: ArrayLike) -> FloatArray:
    """Return (..., 3) CIELAB (D65) of (..., 3) sRGB values from 0 to 255.

    References
    ----------
    IEC 61966-2-1:1999 for the decoding of sRGB; CIE 15:2004 for CIELAB.
    """
    coded = np.asarray(rgb, dtype=np.float64) / 255.0
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    ratio = (linear @ SRGB_TO_XYZ.T) / WHITE_D65
    root = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = root[..., 0], root[..., 1], root[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def lab_of_hex(colour: str) -> FloatArray:
    """Return (3,) CIELAB (D65) of "#RRGGBB"."""
    return lab_of_rgb(rgb_of_hex(colour))


def ciede2000(first: ArrayLike, second: ArrayLike) -> FloatArray:
    """Return the CIEDE2000 difference of CIELAB colours, with kL = kC = kH = 1.

    Parameters
    ----------
    first, second
        (..., 3) CIELAB; shapes broadcast.

    References
    ----------
    G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary test
    data, and mathematical observations", Color Res. Appl. 30(1), 2005, doi 10.1002/col.20070.
    """
    lab = np.asarray(first, dtype=np.float64)
    two = np.asarray(second, dtype=np.float64)
    l1, a1, b1 = lab[..., 0], lab[..., 1], lab[..., 2]
    l2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    a1p, a2p = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1p, b1), np.hypot(a2p, b2)
    h1 = np.degrees(np.arctan2(b1, a1p)) % 360.0
    h2 = np.degrees(np.arctan2(b2, a2p)) % 360.0
    grey = c1 * c2 == 0
    turn = h2 - h1
    # Exactly opposite hues must not be turned by the last bit of an arc tangent; the published table takes them unturned.
    half = 180.0 + 1e-9
    turn = np.where(turn > half, turn - 360, np.where(turn < -half, turn + 360, turn))
    turn = np.where(grey, 0.0, turn)
    d_l = l2 - l1
    d_c = c2 - c1
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2)
    mean_l = (l1 + l2) / 2
    mean_c = (c1 + c2) / 2
    total = h1 + h2
    far = np.abs(h1 - h2) > half
    mean_h = np.where(far, np.where(total < 360, (total + 360) / 2, (total - 360) / 2), total / 2)
    mean_h = np.where(grey, total, mean_h)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    theta = 30 * np.exp(-(((mean_h - 275) / 25) ** 2))
    mean_c7 = mean_c**7
    r_c = 2 * np.sqrt(mean_c7 / (mean_c7 + 25.0**7))
    off = (mean_l - 50) ** 2
    s_l = 1 + 0.015 * off / np.sqrt(20 + off)
    s_c = 1 + 0.045 * mean_c
    s_h = 1 + 0.015 * mean_c * t
    r_t = -np.sin(np.radians(2 * theta)) * r_c
    light, chroma, hue = d_l / s_l, d_c / s_c, d_h / s_h
    squared = light**2 + chroma**2 + hue**2 + r_t * chroma * hue
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


# --- stray shades --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """One stray shade taken for a colour of the cartoon."""

    shade: str
    into: str
    """The colour kept, "#RRGGBB"."""
    delta_e: float
    """CIEDE2000 between the two."""
    knots: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MergedScan:
    """A scan with its stray shades merged, and what was merged into what, the largest first."""

    picture: CartoonPicture
    merged: tuple[Merged, ...]

    @property
    def knots_merged(self) -> int:
        """Knots whose shade changed."""
        return sum(entry.knots for entry in self.merged)

    @property
    def sentence(self) -> str:
        """What was merged, in short."""
        if not self.merged:
            return _("No shade was merged: the picture has {colours} clean colours.").format(
                colours=len(self.picture.palette)
            )
        share = 100.0 * self.knots_merged / max(1, self.picture.cells.size)
        return _(
            "{shades} stray shades were merged into {colours} colours: {knots} knots ({share:.2g} %). "
            "Look through the list before you go on."
        ).format(
            shades=len(self.merged),
            colours=len(self.picture.palette),
            knots=self.knots_merged,
            share=share,
        )


def merge_shades(
    cells: NDArray[np.unsignedinteger],
    shades: ArrayLike,
    counts: ArrayLike,
    *,
    delta_e: float = defaults.MERGE_DELTA_E,
    keep: tuple[str, ...] = (),
    max_colours: int = MAX_COLOURS,
    name: str = "",
) -> MergedScan:
    """Merge the stray shades of a scan into more frequent ones that look alike.

    Parameters
    ----------
    cells
        (rows, knots) index of each knot's shade.
    shades
        (n, 3) sRGB, 0 to 255.
    counts
        (n,) knots of each shade.
    delta_e
        Rare shades nearer than this (CIEDE2000) to a frequent one count as that; shades nobody can tell apart do so
        however frequent they are.
    keep
        Shades, "#RRGGBB", that the weaver wants kept apart.
    max_colours
        Colours that may remain.

    Notes
    -----
    Shades are taken from the most frequent to the rarest. One joins the nearest colour already kept when the eye cannot
    tell them apart, or when it lies within `delta_e` and is rare beside it; any other is kept. Two blues of one family
    that both fill a part of the rug thus stay two, and a rare colour that is unlike all others survives, as the single
    knots of an eye should.

    Raises
    ------
    BadPicture
        When more than `max_colours` remain.
    """
    rgb = np.asarray(shades, dtype=np.uint8)
    many = np.asarray(counts, dtype=np.int64)
    lab = lab_of_rgb(rgb)
    order = np.argsort(-many, kind="stable")
    apart = {colour.upper() for colour in keep}
    colours: list[int] = []
    gathered: list[int] = []
    kept_lab = np.empty((max_colours + 1, 3))
    target = np.zeros(len(rgb), dtype=np.uint8)
    merged: list[Merged] = []
    for shade in order:
        if colours:
            away = ciede2000(lab[shade], kept_lab[: len(colours)])
            nearest = int(np.argmin(away))
            rare = many[shade] <= defaults.STRAY_SHARE * gathered[nearest]
            alike = away[nearest] <= (delta_e if rare else min(delta_e, defaults.SAME_DELTA_E))
            if alike and hex_of_rgb(rgb[shade]) not in apart:
                target[shade] = nearest
                gathered[nearest] += int(many[shade])
                if many[shade] and tuple(rgb[shade]) != tuple(rgb[colours[nearest]]):
                    merged.append(
                        Merged(
                            shade=hex_of_rgb(rgb[shade]),
                            into=hex_of_rgb(rgb[colours[nearest]]),
                            delta_e=float(away[nearest]),
                            knots=int(many[shade]),
                        )
                    )
                continue
        if not many[shade]:
            continue
        if len(colours) == max_colours:
            raise BadPicture(
                _(
                    "Even with similar shades merged, the picture has more than {most} colours. It "
                    "is a photo, not a cartoon. Reduce its colours in a drawing program first."
                ).format(most=max_colours)
            )
        kept_lab[len(colours)] = lab[shade]
        gathered.append(int(many[shade]))
        target[shade] = len(colours)
        colours.append(int(shade))
    out = np.empty(cells.shape, dtype=np.uint8)
    step = max(1, (1 << 20) // max(1, cells.shape[1]))
    for first in range(0, cells.shape[0], step):
        out[first : first + step] = target[cells[first : first + step]]
    palette = tuple(hex_of_rgb(rgb[shade]) for shade in colours)
    return MergedScan(
        picture=CartoonPicture(cells=out, palette=palette, name=name),
        merged=tuple(sorted(merged, key=lambda entry: -entry.knots)),
    )


def merge_strays(
    picture: CartoonPicture, *, delta_e: float = defaults.MERGE_DELTA_E, keep: tuple[str, ...] = ()
) -> MergedScan:
    """Merge the stray shades of a cartoon that was read as it is; parameters as `merge_shades`."""
    counts = np.zeros(len(picture.palette), dtype=np.int64)
    for row in picture.cells:
        counts += np.bincount(row, minlength=len(picture.palette))
    shades = [rgb_of_hex(colour) for colour in picture.palette]
    return merge_shades(picture.cells, shades, counts, delta_e=delta_e, keep=keep, name=picture.name)


# --- palette and yarns ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PaletteMatch:
    """One colour of a palette with the yarn it is likely to be, or a name for a new one."""

    value: int
    colour: str
    yarn_id: str | None
    delta_e: float | None
    """CIEDE2000 to that yarn's swatch."""
    name: str
    """The yarn's name, or one that says what the colour looks like."""


def match_palette(
    palette: tuple[str, ...], yarns: tuple[Yarn, ...], *, delta_e: float = defaults.NAME_DELTA_E
) -> tuple[PaletteMatch, ...]:
    """Offer a pile yarn for every colour of a palette: the nearest pairs first, each yarn once.

    A yarn that already claims a value keeps it. Colours left over get a plain name that no yarn bears.
    """
    pile = [yarn for yarn in yarns if yarn.role is Role.PILE]
    chosen: dict[int, tuple[Yarn, float]] = {}
    free_yarns = {yarn.id for yarn in pile}
    labs = [lab_of_hex(colour) for colour in palette]
    away = [[float(ciede2000(lab, lab_of_hex(yarn.swatch))) for yarn in pile] for lab in labs]
    for column, yarn in enumerate(pile):
        for value in yarn.cartoon_values:
            if 0 <= value < len(palette):
                chosen[value] = (yarn, away[value][column])
                free_yarns.discard(yarn.id)
    pairs = sorted(
        (away[value][column], value, column) for value in range(len(palette)) for column in range(len(pile))
    )
    for distance, value, column in pairs:
        if distance > delta_e:
            break
        if value not in chosen and pile[column].id in free_yarns:
            chosen[value] = (pile[column], distance)
            free_yarns.discard(pile[column].id)
    names = {yarn.name.casefold() for yarn in pile}
    out = []
    for value, colour in enumerate(palette):
        if value in chosen:
            yarn, distance = chosen[value]
            out.append(
                PaletteMatch(value=value, colour=colour, yarn_id=yarn.id, delta_e=distance, name=yarn.name)
            )
            continue
        plain = plain_colour_name(colour)
        name, number = plain, 2
        while name.casefold() in names:
            name, number = f"{plain} {number}", number + 1
        names.add(name.casefold())
        out.append(PaletteMatch(value=value, colour=colour, yarn_id=None, delta_e=None, name=name))
    return tuple(out)


def plain_colour_name(colour: str) -> str:
    """Return what a colour looks like in plain words: "dark red", "pale blue", "grey".

    Hue angles of the words are read off the sRGB primaries in CIELAB; our own choice of words, no source.
    """
    lightness, a, b = (float(part) for part in lab_of_hex(colour))
    chroma = float(np.hypot(a, b))
    hue = float(np.degrees(np.arctan2(b, a)) % 360)
    if chroma < 9:
        if lightness < 18:
            return _("black")
        if lightness > 88:
            return _("white")
        return _("dark grey") if lightness < 40 else _("pale grey") if lightness > 70 else _("grey")
    if 55 <= hue < 100 and chroma < 26 and lightness > 72:
        return _("cream")
    # A dark orange is brown; a dark red is brown only where hardly any red is in it, and madder's stays red.
    if lightness < 60 and ((45 <= hue < 85 and chroma < 50) or (25 <= hue < 45 and chroma < 25)):
        return _("dark brown") if lightness < 32 else _("brown")
    if 60 <= hue < 100 and chroma < 40:
        return _("beige")
    bounds = (
        (20.0, _("pink") if lightness > 60 else _("crimson"), ""),
        (52.0, _("red"), _("pale red")),
        (75.0, _("orange"), _("pale orange")),
        (105.0, _("yellow"), _("pale yellow")),
        (170.0, _("green"), _("pale green")),
        (215.0, _("blue-green"), _("pale blue-green")),
        (312.0, _("blue"), _("pale blue")),
        (335.0, _("purple"), _("pale purple")),
        (360.0, _("pink") if lightness > 60 else _("crimson"), ""),
    )
    word, pale = next((word, pale) for limit, word, pale in bounds if hue <= limit)
    if lightness < 32:
        return _("dark {colour}").format(colour=word)
    if lightness > 70 and chroma < 45 and pale:
        return pale
    return word
