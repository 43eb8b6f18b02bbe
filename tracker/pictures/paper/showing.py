"""Pictures of what the reader understood: the photograph made small, and the sheet straightened, a block a knot."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tracker.domain.colour import rgb_of_hex
from tracker.pictures.paper.opening import OpenedSheet
from tracker.pictures.paper.perspective import homography
from tracker.pictures.paper.squares import sample
from tracker.pictures.paper.understood import Reading
from tracker.pictures.paper.wishes import Point, cropped

Picture = NDArray[np.uint8]

LONGEST_SIDE = 1400
"""Points of a shown picture's longer side, about."""
_MOST_BLOCK = 12
"""Points along a knot at most: more shows nothing new on a phone."""


def photograph(sheet: OpenedSheet, longest: int = LONGEST_SIDE) -> tuple[Picture, float]:
    """Return the picture as it was taken, made small for showing, and points of the file to one of its points."""
    shrink = max(1.0, max(sheet.width, sheet.height) / longest)
    if shrink == 1.0:
        return sheet.rgb, sheet.scale
    size = (max(1, round(sheet.width / shrink)), max(1, round(sheet.height / shrink)))
    image = Image.fromarray(sheet.rgb)
    return np.asarray(image.resize(size, Image.Resampling.BILINEAR, reducing_gap=2.0)), sheet.scale * (
        sheet.width / size[0]
    )


def straightened(reading: Reading, longest: int = LONGEST_SIDE) -> tuple[Picture, int]:
    """Return the cartoon as the picture shows it, upright, and how many points each knot has along both sides."""
    block = max(1, min(_MOST_BLOCK, longest // max(reading.knots_across, reading.rows)))
    offsets = (np.arange(block) + 0.5) / block
    a = (np.arange(reading.knots_across)[:, None] + offsets).ravel()
    b = (np.arange(reading.rows)[:, None] + offsets).ravel()
    if reading.lattice is not None:
        rgb, _at = cropped(reading.sheet, reading.wish)
        return sample(rgb, reading.lattice, a, b)[0], block
    left, top = (part / reading.sheet.scale for part in reading.corners[0])
    x = np.clip(left + a * reading.points_across / reading.sheet.scale, 0, reading.sheet.width - 1)
    y = np.clip(top + b * reading.points_along / reading.sheet.scale, 0, reading.sheet.height - 1)
    return reading.sheet.rgb[y.astype(np.intp)[:, None], x.astype(np.intp)[None]], block


def between_corners(
    sheet: OpenedSheet, corners: tuple[Point, ...], knots: int, rows: int, longest: int = LONGEST_SIDE
) -> tuple[Picture, int]:
    """Return what lies between four corners, straightened at once without looking for squares, and points to a knot.

    What the weaver sees while the reader still reckons.
    """
    block = max(1, min(_MOST_BLOCK, longest // max(knots, rows)))
    size = (knots * block, rows * block)
    target = [[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]]
    back = homography(target, np.array(corners, dtype=np.float64) / sheet.scale)
    image = Image.fromarray(sheet.rgb).transform(
        size, Image.Transform.PERSPECTIVE, tuple(back.ravel()[:8]), Image.Resampling.BILINEAR
    )
    return np.asarray(image), block


def as_knots(reading: Reading) -> Picture:
    """Return the cartoon as it was read, a point a knot, the top row first."""
    palette = np.array([rgb_of_hex(colour) for colour in reading.palette], dtype=np.uint8)
    return palette[reading.cells]
