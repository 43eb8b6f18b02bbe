"""Knots a picture that is no cartoon: scaled to knots and rows, reduced to yarns, edges kept crisp, no stray knots.

References
----------
R. W. Floyd, L. Steinberg, Proc. SID 17(2), 1976: error diffusion.
P. Heckbert, SIGGRAPH 1982, doi 10.1145/965145.801294: median cut, with which the search for colours starts.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS, CartoonPicture
from tracker.domain.colour import hex_of_rgb, lab_of_rgb, rgb_of_hex
from tracker.domain.errors import BadEntry
from tracker.pictures import limits
from tracker.pictures.opening import Source
from tracker.pictures.paper.opening import OpenedSheet, open_sheet
from tracker.words import _

FloatArray = NDArray[np.float64]

_SAMPLE = 30_000
_ROUNDS = 12
"""Rounds in which the colours are moved to the middle of what they stand for."""


def rows_for(width: int, height: int, knots: int, knots_per_10_cm: float, rows_per_10_cm: float) -> int:
    """Return the rows with which a picture of this shape keeps it, knots and rows being of different size.

    Parameters
    ----------
    width, height
        Of the picture, in points.
    knots
        Across.
    knots_per_10_cm, rows_per_10_cm
        Density of the cloth.
    """
    return max(limits.MIN_SIDE, round(knots * (height / width) * (rows_per_10_cm / knots_per_10_cm)))


def knot_picture(
    source: Source | OpenedSheet,
    *,
    knots: int,
    rows: int,
    colours: int | None = None,
    yarns: tuple[str, ...] = (),
    diffuse: bool = False,
    tidy: bool = True,
    name: str = "",
    progress: Callable[[float], None] | None = None,
) -> CartoonPicture:
    """Return a picture as a cartoon of `knots` x `rows`.

    Parameters
    ----------
    colours
        Colours to reduce to; ignored when `yarns` are given.
    yarns
        Swatches ("#RRGGBB") of the yarns to knot it in; each knot takes the nearest.
    diffuse
        Whether what a knot's yarn misses of the picture's colour is passed on to its neighbours (error diffusion): soft
        shades from few yarns, at the price of many colour changes.
    tidy
        Whether single knots unlike all round them take their neighbours' yarn; never done with `diffuse`, which lives by
        single knots.

    Raises
    ------
    BadPicture
        When the picture cannot be opened.
    BadEntry
        When the numbers cannot be.
    """
    if not (
        limits.MIN_SIDE <= knots <= limits.MAX_SIDE
        and limits.MIN_SIDE <= rows <= limits.MAX_SIDE
        and knots * rows <= MAX_KNOTS
    ):
        raise BadEntry(
            _("{knots} × {rows} knots cannot be planned. Choose a smaller size or a coarser density.").format(
                knots=knots, rows=rows
            )
        )
    if not yarns and not 1 <= (colours or 0) <= MAX_COLOURS:
        raise BadEntry(_("Say how many colours, 1 to {most}, or which yarns.").format(most=MAX_COLOURS))
    if len(yarns) > MAX_COLOURS:
        raise BadEntry(_("At most {most} yarns can be used in one rug.").format(most=MAX_COLOURS))
    sheet = source if isinstance(source, OpenedSheet) else open_sheet(source, name=name)
    if progress is not None:
        progress(0.3)
    # Averaging over each knot's own part of the picture; a filter that overshoots would draw halos along edges.
    small = np.asarray(Image.fromarray(sheet.rgb).resize((knots, rows), Image.Resampling.BOX))
    lab = lab_of_rgb(small)
    palette = (
        np.array([rgb_of_hex(swatch) for swatch in yarns], dtype=np.uint8)
        if yarns
        else _chosen_colours(small, lab, int(colours or 1))
    )
    middles = lab_of_rgb(palette)
    if progress is not None:
        progress(0.6)
    cells = _diffused(small, palette) if diffuse else _nearest(lab, middles)
    if tidy and not diffuse:
        cells = without_strays(cells)
    used, index = np.unique(cells, return_inverse=True)
    if progress is not None:
        progress(1.0)
    return CartoonPicture(
        cells=np.ascontiguousarray(index.reshape(cells.shape)[::-1].astype(np.uint8)),
        palette=tuple(hex_of_rgb(palette[value]) for value in used),
        name=sheet.name,
    )


def cloth_preview(
    picture: CartoonPicture, cell_width: float, cell_height: float, side: int = 1200
) -> NDArray[np.uint8]:
    """Return (height, width, 3) the cartoon as the cloth shows it: upright, each knot in the shape it has there.

    Parameters
    ----------
    cell_width, cell_height
        Of a knot, in any one unit.
    side
        Longest side of the preview, in points.
    """
    wide, high = picture.knots_across * cell_width, picture.rows * cell_height
    scale = side / max(wide, high)
    size = (max(1, round(wide * scale)), max(1, round(high * scale)))
    palette = np.array([rgb_of_hex(colour) for colour in picture.palette], dtype=np.uint8)
    image = Image.fromarray(palette[picture.cells[::-1]])
    larger = size[0] >= picture.knots_across and size[1] >= picture.rows
    return np.asarray(image.resize(size, Image.Resampling.NEAREST if larger else Image.Resampling.BOX))


def without_strays(cells: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the cells with single knots unlike their eight neighbours given the commonest of the four beside them."""
    rows, knots = cells.shape
    if min(rows, knots) < 3:
        return cells
    padded = np.pad(cells, 1, mode="edge").astype(np.int16)
    beside = []
    alone = np.ones(cells.shape, dtype=bool)
    for down in (0, 1, 2):
        for across in (0, 1, 2):
            if (down, across) == (1, 1):
                continue
            other = padded[down : down + rows, across : across + knots].copy()
            # Outside the picture there is no neighbour: the edge's copy of the knot itself must not count.
            outside = np.zeros(cells.shape, dtype=bool)
            outside[0] |= down == 0
            outside[-1] |= down == 2
            outside[:, 0] |= across == 0
            outside[:, -1] |= across == 2
            other[outside] = -1
            alone &= other != cells
            if down == 1 or across == 1:
                beside.append(other)
    votes = np.stack(beside)
    score = np.array([(votes == one).sum(axis=0) * (one >= 0) for one in votes])
    best = np.take_along_axis(votes, score.argmax(axis=0)[None], axis=0)[0]
    return np.where(alone & (best >= 0), best, cells).astype(np.uint8)


def _chosen_colours(small: NDArray[np.uint8], lab: FloatArray, many: int) -> NDArray[np.uint8]:
    """Return the colours that stand nearest to all knots, by k-means in CIELAB from a median cut."""
    flat = lab.reshape(-1, 3)
    if len(flat) > _SAMPLE:
        flat = flat[np.random.default_rng(1).choice(len(flat), _SAMPLE, replace=False)]
    cut = Image.fromarray(small).quantize(many, Image.Quantize.MEDIANCUT).convert("RGB")
    start = np.unique(np.asarray(cut).reshape(-1, 3), axis=0)
    middles = lab_of_rgb(start)
    for _round in range(_ROUNDS):
        nearest = _nearest(flat[None], middles)[0]
        moved = np.array(
            [
                flat[nearest == index].mean(axis=0) if (nearest == index).any() else middles[index]
                for index in range(len(middles))
            ]
        )
        if np.abs(moved - middles).max() < 0.1:
            break
        middles = moved
    # Each colour is the knot's own that lies nearest to its middle: no conversion back, and a shade that is really there.
    rgb = small.reshape(-1, 3)
    full = lab.reshape(-1, 3)
    return np.array(
        [rgb[int(np.argmin(((full - middle) ** 2).sum(axis=1)))] for middle in middles], dtype=np.uint8
    )


def _nearest(lab: FloatArray, middles: FloatArray) -> NDArray[np.uint8]:
    out = np.empty(lab.shape[:2], dtype=np.uint8)
    step = max(1, 200_000 // max(1, lab.shape[1]))
    for first in range(0, lab.shape[0], step):
        part = lab[first : first + step]
        squared = -2 * part @ middles.T + (middles**2).sum(axis=1)
        out[first : first + step] = np.argmin(squared, axis=2)
    return out


def _linear(rgb: NDArray[np.uint8]) -> FloatArray:
    """Return linear light, 0 to 1, of sRGB (IEC 61966-2-1)."""
    coded = rgb.astype(np.float64) / 255
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def _diffused(small: NDArray[np.uint8], palette: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the nearest yarns with errors passed on, row after row, to and fro.

    Knots seen from afar mix by their light, so errors are passed on in linear light; the nearest is judged in coded
    values, which are near to what the eye sees.
    """
    rows, knots = small.shape[:2]
    left = _linear(small)
    lights = _linear(palette)
    coded = palette.astype(np.float64) / 255
    out = np.empty((rows, knots), dtype=np.uint8)
    for row in range(rows):
        forward = row % 2 == 0
        order = range(knots) if forward else range(knots - 1, -1, -1)
        ahead = 1 if forward else -1
        for knot in order:
            wanted = left[row, knot]
            seen = np.clip(wanted, 0, 1) ** (1 / 2.2)
            value = int(((coded - seen) ** 2).sum(axis=1).argmin())
            out[row, knot] = value
            # A bound keeps a colour no yarn comes near from piling up into streaks.
            error = np.clip(wanted - lights[value], -1.0, 1.0)
            if 0 <= knot + ahead < knots:
                left[row, knot + ahead] += error * (7 / 16)
            if row + 1 < rows:
                left[row + 1, knot] += error * (5 / 16)
                if 0 <= knot + ahead < knots:
                    left[row + 1, knot + ahead] += error * (1 / 16)
                if 0 <= knot - ahead < knots:
                    left[row + 1, knot - ahead] += error * (3 / 16)
    return out
