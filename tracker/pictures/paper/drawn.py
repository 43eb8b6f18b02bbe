"""Reads pictures that a program drew: each knot one point, or a block of points, exactly."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS
from tracker.domain.colour import ciede2000, hex_of_rgb, lab_of_hex
from tracker.domain.defaults import MERGE_DELTA_E
from tracker.domain.layout import points_per_knot
from tracker.pictures import limits
from tracker.pictures.paper.opening import OpenedSheet
from tracker.pictures.paper.shades import doubted, find_shades
from tracker.pictures.paper.understood import Ask, How, Reading
from tracker.pictures.paper.wishes import Wish

CLEAN_COLOURS = 12
"""A picture of no more colours was drawn, however dark or pale; one of more may be a photograph of nothing."""
_MOST_UNEVEN = 2.0
"""Width over height (or height over width) of a drawn square at most; knots are hardly ever more uneven."""
CLEAR_BLOCKS = 24
"""Knots and rows from which on blocks of points are believed unasked."""
_SINGLE_RUNS = 0.01
"""Share of runs of a single point, in rows and in columns, from which on a point is surely a knot: designs have outlines."""


@dataclass(frozen=True, slots=True, eq=False)
class Exact:
    cells: NDArray[np.uint8]
    palette: tuple[str, ...]


def few_colours(rgb: NDArray[np.uint8]) -> Exact | None:
    """Return the picture as indices when it has so few colours that a program drew it."""
    height, width = rgb.shape[:2]
    packed = (
        rgb[..., 0].astype(np.uint32) << 16
        | rgb[..., 1].astype(np.uint32) << 8
        | rgb[..., 2].astype(np.uint32)
    )
    sample = packed[:: max(1, height // 300), :: max(1, width // 300)]
    if len(np.unique(sample)) > MAX_COLOURS:
        return None
    seen = np.zeros(1 << 24, dtype=bool)
    seen[packed.ravel()] = True
    values = np.flatnonzero(seen)
    if len(values) > MAX_COLOURS:
        return None
    table = np.zeros(1 << 24, dtype=np.uint8)
    table[values] = np.arange(len(values))
    palette = tuple(hex_of_rgb((value >> 16, value >> 8 & 255, value & 255)) for value in values)
    return Exact(table[packed], palette)


def read_blocks(sheet: OpenedSheet, wish: Wish, exact: Exact, corner: tuple[int, int]) -> Reading | None:
    """Return the reading when each knot is a block of points, exactly."""
    across, along = points_per_knot(exact.cells)
    height, width = exact.cells.shape
    if wish.knots is not None and wish.rows is not None:
        if width % wish.knots or height % wish.rows:
            return None
        if across % (width // wish.knots) or along % (height // wish.rows):
            return None
        across, along = width // wish.knots, height // wish.rows
    if max(across, along) < 2 or min(width // across, height // along) < limits.MIN_PAPER_SIDE:
        return None
    if not 1 / _MOST_UNEVEN <= across / along <= _MOST_UNEVEN:
        return None
    cells = np.ascontiguousarray(exact.cells[along // 2 :: along, across // 2 :: across])
    told = wish.knots is not None and wish.rows is not None
    # Few blocks fall on a common step by chance: a plain design of large parts at one pixel a knot does, too.
    clear = min(across, along) >= 3 and min(cells.shape) >= CLEAR_BLOCKS
    asks = () if told or clear else (Ask.SIZE,)
    return _exact_reading(sheet, wish, How.ENLARGED, cells, exact.palette, (across, along), corner, asks)


def _exact_reading(
    sheet: OpenedSheet,
    wish: Wish,
    how: How,
    cells: NDArray[np.uint8],
    palette: tuple[str, ...],
    points: tuple[int, int],
    at: tuple[int, int],
    asks: tuple[Ask, ...],
) -> Reading:
    used, places = np.unique(cells, return_inverse=True)
    left, top = at[0] * sheet.scale, at[1] * sheet.scale
    right = left + cells.shape[1] * points[0] * sheet.scale
    bottom = top + cells.shape[0] * points[1] * sheet.scale
    return Reading(
        sheet=sheet,
        wish=wish,
        how=how,
        cells=places.astype(np.uint8),
        palette=tuple(palette[value] for value in used),
        confidence=np.ones(cells.shape, dtype=np.float32),
        doubted=np.zeros(cells.shape, dtype=bool),
        corners=((left, top), (right, top), (right, bottom), (left, bottom)),
        points_across=points[0] * sheet.scale,
        points_along=points[1] * sheet.scale,
        sure=0.6 if asks else 1.0,
        asks=asks,
    )


def read_points(
    sheet: OpenedSheet, wish: Wish, rgb: NDArray[np.uint8], exact: Exact | None, corner: tuple[int, int]
) -> Reading | None:
    """Return the reading when one point is one knot, its edges softened or not; None when it is not that either."""
    height, width = rgb.shape[:2]
    if wish.knots not in (None, width) or wish.rows not in (None, height):
        return None
    if width * height > MAX_KNOTS or max(width, height) > limits.MAX_SIDE:
        return None
    if exact is not None:
        # A picture this large with one knot a point may as well be an enlarged one whose squares were not found, and so
        # may one without a single fine line.
        clear = width * height <= 1_000_000 and has_single_points(exact.cells)
        asks = () if wish.knots and wish.rows else () if clear else (Ask.SIZE,)
        if len(exact.palette) > CLEAN_COLOURS and _shades_of_each_other(exact.palette):
            asks = (*asks, Ask.COLOURS)
        return _exact_reading(sheet, wish, How.POINTS, exact.cells, exact.palette, (1, 1), corner, asks)
    if width * height > limits.MAX_SOFT_POINTS:
        return None
    shades = find_shades(rgb, np.zeros((height, width), dtype=np.float32), many=wish.colours, even_light=True)
    if len(shades.palette) > 40 or (shades.confidence < 0.8).mean() > 0.25:
        return None
    mean = np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in shades.palette], dtype=np.int16)
    off = np.abs(rgb.astype(np.int16) - mean[shades.cells]).max(axis=2)
    # Most points of a softened cartoon lie right on a yarn's colour; those of a photograph lie anywhere.
    if (off <= 6).mean() < 0.6 or (off > 40).mean() > 0.15:
        return None
    found = _exact_reading(sheet, wish, How.POINTS, shades.cells, shades.palette, (1, 1), corner, (Ask.SIZE,))
    return replace(found, confidence=shades.confidence, doubted=doubted(shades.confidence))


def has_single_points(cells: NDArray[np.uint8]) -> bool:
    """Return whether a fair share of the runs in rows, and in columns, is a single point between two alike.

    Softened edges of an enlarged picture are single points, too, but between two that differ.
    """
    for lines in (cells, cells.T):
        changes = lines[:, 1:] != lines[:, :-1]
        runs = int(changes.sum())
        single = changes[:, 1:] & changes[:, :-1] & (lines[:, 2:] == lines[:, :-2])
        if runs and int(single.sum()) < _SINGLE_RUNS * runs:
            return False
    return True


def _shades_of_each_other(palette: tuple[str, ...]) -> bool:
    """Return whether most colours have another one hard to tell from it: a photograph in few shades, not yarns."""
    labs = np.array([lab_of_hex(colour) for colour in palette])
    away = ciede2000(labs[:, None], labs[None])
    away[np.diag_indices(len(labs))] = np.inf
    return bool((away.min(axis=1) < float(MERGE_DELTA_E)).mean() > 0.5)
