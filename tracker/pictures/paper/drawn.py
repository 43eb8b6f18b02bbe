"""Reads pictures that a program drew: each knot one point, or a block of points, exactly."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS
from tracker.domain.colour import ciede2000, hex_of_rgb, lab_of_hex, rgb_of_hex
from tracker.domain.defaults import MERGE_DELTA_E
from tracker.domain.layout import points_per_knot
from tracker.pictures import limits
from tracker.pictures.paper.opening import OpenedSheet
from tracker.pictures.paper.ruled import find_drawn, may_have_squares, mirrored, was_made_larger
from tracker.pictures.paper.shades import doubted, find_shades
from tracker.pictures.paper.understood import Ask, How, Reading, has_even_ring
from tracker.pictures.paper.wishes import Wish

MOST_DRAWN = 255
"""Colours at most of a picture that is looked at exactly: yarns, lines, and the greys of letters."""
CLEAN_COLOURS = 12
"""A picture of no more colours was drawn, however dark or pale; one of more may be a photograph of nothing."""
_MOST_UNEVEN = 2.0
"""Width over height (or height over width) of a drawn square at most; knots are hardly ever more uneven."""
CLEAR_BLOCKS, LEAST_BLOCKS = 24, 12
"""Knots and rows from which on squares in a picture that a program drew are believed unasked, and below which they are no cartoon's;
so many lines each way must part colours, too."""
_LINES_UNEVEN = 1.5
"""Points by which the distances of a drawn grid's lines may differ: every tenth may be thicker, and the last cut off."""
_LEAST_BLOCK = 3
"""Points of a block from which on it is believed where no detail is a single block."""
_WHITE = 240
"""Level of each channel from which on a colour may be bare paper."""
_SMALL_SIDE = 300
"""Points of the longer side up to which a picture whose colours change on no common step is one point a knot, however plain."""
_MOST_POINTS, _USED = 1_000_000, 0.95
"""Points of a picture up to which each is believed to be a knot for one of these reasons, beyond for both: single points as details, and the share of lines that must part colours where no detail is
a single point."""
_SINGLE_RUNS = 0.01
"""Share of runs of a single point, in rows and in columns, from which on a point is surely a knot: designs have outlines."""


@dataclass(frozen=True, slots=True, eq=False)
class Exact:
    cells: NDArray[np.uint8]
    palette: tuple[str, ...]


def few_colours(rgb: NDArray[np.uint8], most: int = MOST_DRAWN) -> Exact | None:
    """Return the picture as indices when it has so few colours, with the soft edges of what is written beside it, that a program drew it."""
    height, width = rgb.shape[:2]
    packed = (
        rgb[..., 0].astype(np.uint32) << 16
        | rgb[..., 1].astype(np.uint32) << 8
        | rgb[..., 2].astype(np.uint32)
    )
    sample = packed[:: max(1, height // 300), :: max(1, width // 300)]
    if len(np.unique(sample)) > most:
        return None
    seen = np.zeros(1 << 24, dtype=bool)
    seen[packed.ravel()] = True
    values = np.flatnonzero(seen)
    if len(values) > most:
        return None
    table = np.zeros(1 << 24, dtype=np.uint8)
    table[values] = np.arange(len(values))
    palette = tuple(hex_of_rgb((value >> 16, value >> 8 & 255, value & 255)) for value in values)
    return Exact(table[packed], palette)


def only_lines(cells: NDArray[np.uint8]) -> bool:
    """Return whether a picture shows nothing but thin lines from side to side both ways, evenly spaced, on one colour."""
    ground = int(np.bincount(cells.ravel()).argmax())
    lined = cells != ground
    down, across = lined.any(axis=1), lined.any(axis=0)
    if not down.any():
        return False
    # Without the margin, which is of the squares' colour.
    (top, bottom), (left, right) = ((np.flatnonzero(side)[[0, -1]] + [0, 1]) for side in (down, across))
    lined = lined[top:bottom, left:right]
    rows, columns = lined.all(axis=1), lined.all(axis=0)
    if not (_evenly_spaced(rows) and _evenly_spaced(columns)):
        return False
    return bool((lined == (rows[:, None] | columns[None])).all())


def _evenly_spaced(line: NDArray[np.bool_]) -> bool:
    """Return whether many thin lines, none or all of them thick at times, lie at one distance."""
    edges = np.diff(np.concatenate([[False], line, [False]]).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    if len(starts) <= LEAST_BLOCKS:
        return False
    apart = np.diff((starts + ends) / 2)
    return bool(np.ptp(apart) <= _LINES_UNEVEN and (ends - starts).max() < apart.min() / 3)


def read_ruled(sheet: OpenedSheet, wish: Wish, exact: Exact, corner: tuple[int, int]) -> Reading | None:
    """Return the reading when the squares lie between drawn lines, or inside a margin, exactly."""
    drawn = find_drawn(exact.cells)
    if drawn is None:
        return None
    rows, knots = drawn.cells.shape
    if len(np.unique(drawn.cells)) > MAX_COLOURS:
        return None
    if min(rows, knots) < LEAST_BLOCKS or wish.knots not in (None, knots) or wish.rows not in (None, rows):
        return None
    left, top, right, bottom = drawn.box
    told = wish.knots is not None and wish.rows is not None
    asks: list[Ask] = []
    clear = min(rows, knots) >= CLEAR_BLOCKS if drawn.size_told else _size_told(drawn.cells, True)
    if not told and (drawn.may_be_points or not clear):
        asks.append(Ask.SIZE)
    # Without lines a white border is told from the margin by nothing, though one outside a frame with nothing white inside is rare.
    bare_round = drawn.margin is not None and not told
    if bare_round:
        framed = not (drawn.cells == drawn.margin).any() and has_even_ring(drawn.cells)
        asks.append(Ask.BORDER if framed else Ask.EDGES)
    points = ((right - left) / knots, (bottom - top) / rows)
    reading = _exact_reading(
        sheet,
        wish,
        How.ENLARGED,
        drawn.cells,
        exact.palette,
        points,
        (corner[0] + left, corner[1] + top),
        tuple(asks),
    )
    # Half a square in another colour is as doubtful as can be; a mark takes in less.
    confidence = np.minimum(1, 2 * drawn.share)
    return replace(reading, confidence=confidence, doubted=doubted(confidence), bare_round=bare_round)


def read_blocks(sheet: OpenedSheet, wish: Wish, exact: Exact, corner: tuple[int, int]) -> Reading | None:
    """Return the reading when each knot is a block of points, exactly, and the picture is full of them."""
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
    asks: tuple[Ask, ...] = ()
    if wish.knots is None or wish.rows is None:
        if not _size_told(cells, min(across, along) >= _LEAST_BLOCK):
            asks = (*asks, Ask.SIZE)
        if _has_white_ring(cells, exact.palette):
            asks = (*asks, Ask.EDGES)
    return _exact_reading(sheet, wish, How.ENLARGED, cells, exact.palette, (across, along), corner, asks)


def _size_told(cells: NDArray[np.uint8], large: bool) -> bool:
    """Return whether squares are believed to be the knots: parts of a plain design fall on a common step by chance."""
    if min(cells.shape) < CLEAR_BLOCKS:
        return False
    changing = [int((lines[:, 1:] != lines[:, :-1]).any(axis=0).sum()) for lines in (cells, cells.T)]
    return min(changing) >= LEAST_BLOCKS and (large or has_single_points(cells))


def _has_white_ring(cells: NDArray[np.uint8], palette: tuple[str, ...]) -> bool:
    """Return whether all squares at the sides have one colour as white as paper: they may be a margin."""
    white = [min(rgb_of_hex(colour)) >= _WHITE for colour in palette]
    return white[int(cells[0, 0])] and has_even_ring(cells)


def _exact_reading(
    sheet: OpenedSheet,
    wish: Wish,
    how: How,
    cells: NDArray[np.uint8],
    palette: tuple[str, ...],
    points: tuple[float, float],
    at: tuple[int, int],
    asks: tuple[Ask, ...],
) -> Reading:
    used, places = np.unique(cells, return_inverse=True)
    cells, palette = places.reshape(cells.shape).astype(np.uint8), tuple(palette[value] for value in used)
    if wish.colours is not None and wish.colours != len(palette):
        rgb = np.array([rgb_of_hex(colour) for colour in palette], dtype=np.uint8)[cells]
        even = np.zeros(cells.shape, dtype=np.float32)
        shades = find_shades(rgb, even, many=wish.colours, even_light=True)
        cells, palette = shades.cells, shades.palette
    left, top = at[0] * sheet.scale, at[1] * sheet.scale
    right = left + cells.shape[1] * points[0] * sheet.scale
    bottom = top + cells.shape[0] * points[1] * sheet.scale
    return Reading(
        sheet=sheet,
        wish=wish,
        how=how,
        cells=cells,
        palette=palette,
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
        asks = () if (wish.knots and wish.rows) or _is_a_point_a_knot(exact.cells) else (Ask.SIZE,)
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


def _is_a_point_a_knot(cells: NDArray[np.uint8]) -> bool:
    """Return whether a picture drawn exactly, in which neither blocks nor lines were found, is surely one point a knot.

    A very large one may as well be an enlarged one whose squares were not found, and so may a large one without a fine line.
    """
    height, width = cells.shape
    if (may_have_squares(cells) or was_made_larger(cells)) and not (
        mirrored(cells) and has_single_points(cells)
    ):
        return False
    if width * height > _MOST_POINTS:
        return has_single_points(cells) and _uses_every_line(cells)
    return max(width, height) <= _SMALL_SIDE or has_single_points(cells) or _uses_every_line(cells)


def _uses_every_line(cells: NDArray[np.uint8]) -> bool:
    """Return whether colours change on nearly every line, both ways, between the first and the last that parts any: squares of
    more points, whole or not, leave lines between."""
    for lines in (cells, cells.T):
        changing = np.flatnonzero((lines[:, 1:] != lines[:, :-1]).any(axis=0))
        if len(changing) < LEAST_BLOCKS or len(changing) < _USED * (changing[-1] + 1 - changing[0]):
            return False
    return True


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
