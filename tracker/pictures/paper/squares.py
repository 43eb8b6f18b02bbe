"""Looks at every square of a lattice: its own colour, what lies between it and its neighbours, where the cartoon ends."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tracker.pictures.paper.lattice import Lattice

FloatArray = NDArray[np.float64]
ByteArray = NDArray[np.uint8]

_LINE_STEP = 6.0
"""Grey steps by which a line must differ from both its squares, at least."""
_LINE_AWAY = 0.07
"""Squares by which a line may lie beside its place on the lattice."""
_EDGE_STEP = 18.0
"""Steps of a channel by which neighbouring squares must differ to be two colours, at least."""
_DARK = 0.45
"""Share of the paper's level below which a drawn line is not seen on a square."""
_SOME_LINES = 0.25
"""Share of lines seen from which on some are drawn; softened edges make up to 0.2, lines of a middle grey 0.35."""
_RING_PAPER = 0.98
"""Share of paper in the outermost squares on all four sides from which on they may be a margin."""
_FULL_LINE, _BARE_LINE = 0.6, 0.6
"""Share of a line of squares that must be coloured to be the cartoon's, and paper to be the margin's."""
_HELPING_LINES = 0.22
"""Share of lines seen from which on they tell where a cartoon ends together with its colours; without any 0.05 are seen."""
_BOTH_WAYS = 0.8
"""How sure the end is where it is told in two ways."""
_BARE_ROUND, _NO_PAPER = 0.9, 0.0005
"""Share of paper beside each side from which on it is bare, and share of squares like paper inside up to which there are none."""
_UNTOLD = 0.5
"""How sure the end of a cartoon is at most where colour alone tells it from the margin: so little is asked about."""
_PAPER_TINT, _MOST_NOISE = 0.16, 4.0
"""How far paper may be tinted, beside its lightness, and the noise that adds to it at most: dots raise it beyond the paper's."""
_BARE_GAP, _GAP_LINES = 0.75, 0.3
"""Share of paper in a line of squares from which on, and of lines round them up to which, it lies outside the cartoon."""
_BARE_LINES, _BARE_ENDS = 0.9, 30
"""Share of paper in a line of squares, and at both its ends, from which on it is bare, and what part of it an end is."""
_BY_SQUARES, _BY_DOTS, _BESIDE_DOTS = (0.3, 0.5, 0.7), (0.15, 0.5, 0.85), 0.2
"""Where along a side of a square a line is looked for, of flat ones and of dots, and how far from it paper lies beside dots, in squares."""
_CLEAR_OF_DOTS = (0.15, 0.85)
"""Where along a side neither dots nor marks reach what lies beside a line."""
_MOST_SQUARES = 3_000_000
"""Squares looked at while the end of the cartoon is sought."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Squares:
    """Every square of a part of the lattice as seen in the picture."""

    colours: ByteArray
    """(rows, knots, 3) the robust middle of the square's inside."""
    spread: NDArray[np.float32]
    """(rows, knots) how far the inside departs from it, in steps of a channel (median)."""
    seen: NDArray[np.bool_]
    """(rows, knots) whether the square lies in the picture."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Extent:
    """Where the cartoon ends, in squares of the lattice."""

    left: int
    top: int
    right: int
    bottom: int
    ruled: bool
    """Whether lines are drawn between squares."""
    lined: bool
    """Whether any lines are seen there, if fewer than tell where the cartoon ends."""
    sure: float
    """0 to 1: how clearly all four sides stand out."""
    bare_round: bool = False
    """Whether bare paper lies on all four sides, close by, and no square inside is like it."""
    numbered: bool = False
    """Whether numbers, or other ink that is no square's, stand so near to it without lines that no square lies between."""
    outlined: bool = False
    """Whether each line of it is drawn, all alike, none between them and none beyond: then they tell all there is to tell."""


def sample(
    picture: NDArray[np.uint8], lattice: Lattice, a: FloatArray, b: FloatArray
) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Return the picture's points at lattice coordinates a x b, and whether they lie in the picture."""
    x, y = lattice.mesh(a, b)
    height, width = picture.shape[:2]
    column, row = x.astype(np.int32), y.astype(np.int32)
    seen = (x >= 0) & (y >= 0) & (column < width) & (row < height)
    if not seen.all():
        np.clip(column, 0, width - 1, out=column)
        np.clip(row, 0, height - 1, out=row)
    # One number a point is looked up three times as fast as two.
    row *= width
    row += column
    return np.take(picture.reshape(height * width, *picture.shape[2:]), row, axis=0), seen


def look_at_squares(
    rgb: ByteArray,
    lattice: Lattice,
    box: tuple[int, int, int, int],
    a_side: int,
    reach: float = 0.25,
    *,
    round_: bool = False,
) -> Squares:
    """Return the colour of every square in a box (left, top, right, bottom).

    Parameters
    ----------
    a_side
        Samples along each side of a square.
    reach
        Distance of the outermost samples from the square's middle, in squares.
    round_
        Leave out the corners, as where dots stand in the squares.
    """
    left, top, right, bottom = box
    offsets = np.linspace(0.5 - reach, 0.5 + reach, a_side) if a_side > 1 else np.array([0.5])
    rows, knots = bottom - top, right - left
    colours = np.empty((rows, knots, 3), dtype=np.uint8)
    spread = np.empty((rows, knots), dtype=np.float32)
    seen = np.empty((rows, knots), dtype=bool)
    a = (np.arange(left, right)[:, None] + offsets).ravel()
    step = max(8, 400_000 // (knots * a_side * a_side))
    within = np.add.outer((offsets - 0.5) ** 2, (offsets - 0.5) ** 2).ravel() <= _ROUND * reach**2
    many = int(within.sum()) if round_ else a_side * a_side
    for first in range(0, rows, step):
        last = min(rows, first + step)
        b = (np.arange(top + first, top + last)[:, None] + offsets).ravel()
        points, inside = sample(rgb, lattice, a, b)
        block = points.reshape(last - first, a_side, knots, a_side, 3).transpose(0, 2, 4, 1, 3)
        block = np.ascontiguousarray(block).reshape(last - first, knots, 3, a_side * a_side)
        block = block[..., within] if round_ else block
        # The mean of the middle half: as robust as the median against marks and lines, with less noise.
        # Of a dot little lies outside it, and the mean of more has less noise.
        cut = many // (8 if round_ else 4)
        ordered = np.sort(block, axis=-1)
        middle = np.rint(ordered[..., cut : many - cut].mean(axis=-1)).astype(np.int16)
        colours[first:last] = middle
        away = np.abs(block.astype(np.int16) - middle[..., None]).max(axis=2)
        spread[first:last] = np.partition(away, many // 2, axis=-1)[..., many // 2]
        seen[first:last] = inside.reshape(last - first, a_side, knots, a_side).all(axis=(1, 3))
    return Squares(colours=colours, spread=spread, seen=seen)


def marked_share(rgb: ByteArray, lattice: Lattice, extent: Extent) -> float:
    """Return the share of squares in whose middle something is drawn that is much darker, or lighter, than most of it."""
    inside = np.linspace(0.5 - _MARK_REACH, 0.5 + _MARK_REACH, _MARK_SIDE)
    knots, rows = extent.right - extent.left, extent.bottom - extent.top
    a = (np.arange(extent.left, extent.right)[:, None] + inside).ravel()
    b = (np.arange(extent.top, extent.bottom)[:, None] + inside).ravel()
    grey = np.asarray(Image.fromarray(rgb).convert("L"))
    points = sample(grey, lattice, a, b)[0].reshape(rows, _MARK_SIDE, knots, _MARK_SIDE).astype(np.float32)
    away = np.abs(points - np.median(points, axis=(1, 3), keepdims=True))
    return float(((away > _MARK_STEP).mean(axis=(1, 3)) > _MARK_LEAST).mean())


def has_dots(rgb: ByteArray, lattice: Lattice, extent: Extent | None = None) -> bool:
    """Return whether coloured dots stand on paper in the squares: their corners are alike then, and the middles are not."""
    left, top, right, bottom = _middle_box(rgb, lattice, extent)
    moved, box = lattice.moved(left, top), (0, 0, right - left, bottom - top)
    if min(box[2:]) < 2:
        return False
    middle = _change(look_at_squares(rgb, moved, box, 4, _DOT_MIDDLE))
    corners = max(
        _change(look_at_squares(rgb, moved.moved(a, b), box, 3, _DOT_CORNER_REACH))
        for a, b in product((-_DOT_CORNER, _DOT_CORNER), repeat=2)
    )
    if middle < _DOTTED * (corners + _ALIKE_CHANGE):
        return False
    whole = _change(look_at_squares(rgb, moved, box, 6, REACH))
    return whole + _ALIKE_CHANGE <= _DOT_WHOLE * (middle + _ALIKE_CHANGE)


REACH = 0.3
"""How far from a square's middle its colour is looked for, clear of lines and of what leaks in."""
DOT_REACH, DOT_SIDE, _ROUND = 0.32, 11, 1.02
"""The same of a dot, in how many places along a side, and how much more the square of it may be: the paper that blur mixes in is alike in all dots of
a yarn, and over more of a dot there is less noise."""
_DOT_MIDDLE, _DOT_CORNER, _DOT_CORNER_REACH = 0.1, 0.36, 0.05
"""The very middle of a square, and the place of its corners and how far round it they are looked at."""
_DOTTED, _DOT_WHOLE = 1.8, 0.7
"""How much more middles must differ than corners where there are dots (dots 2.6 to 11, flat squares and marks 1.4 at most), and what part of
it whole squares have then at most (dots 0.4 to 0.55, flat squares 0.97)."""
_MARK_REACH, _MARK_SIDE = 0.28, 9
"""How far from a square's middle a mark is looked for, clear of the lines, and in how many places along a side."""
_MARK_STEP, _MARK_LEAST = 40.0, 0.08
"""Grey steps by which a mark stands out, and the share of the middle it covers at least."""


def whole_box(rgb: ByteArray, lattice: Lattice) -> tuple[int, int, int, int]:
    """Return the box of all squares that lie in the picture, cut to what its size allows."""
    height, width = rgb.shape[:2]
    x, y = np.meshgrid(np.linspace(0, width, 25), np.linspace(0, height, 25))
    places = lattice.squares_of(np.stack([x, y], axis=-1))
    middle = lattice.squares_of(np.array([width / 2, height / 2]))
    out = []
    for axis, side in ((0, lattice.across.pitch), (1, lattice.along.pitch)):
        # The polynomial means nothing far from the cartoon; the picture's own size bounds the box.
        most = 0.9 * max(width, height) / side + 4
        low = max(float(places[..., axis].min()), float(middle[axis]) - most)
        high = min(float(places[..., axis].max()), float(middle[axis]) + most)
        out.append((int(np.floor(low + 0.02)), int(np.ceil(high - 0.02))))
    return out[0][0], out[1][0], out[0][1], out[1][1]


def find_extent(rgb: ByteArray, lattice: Lattice) -> Extent | None:
    """Return where the cartoon ends; None when nothing on the lattice looks like one."""
    box = whole_box(rgb, lattice)
    left, top, right, bottom = box
    knots, rows = right - left, bottom - top
    if min(knots, rows) < 3 or knots * rows > _MOST_SQUARES:
        return None
    squares = look_at_squares(rgb, lattice, box, 3, 0.2)
    grey = np.asarray(Image.fromarray(rgb).convert("L"))
    dotted = has_dots(rgb, lattice)
    upright_line, upright_edge, level_line, level_edge = _borders(grey, lattice, box, squares, dotted)
    seen = squares.seen
    # Dots and marks are no noise: paper beside them, and half of the squares mostly, tell it without.
    low, middle = np.quantile(squares.spread[seen], [0.25, 0.5]) if seen.any() else (0.0, 0.0)
    noise = float(min(middle, 2 * low + 3))
    flat = seen & (squares.spread <= max(6.0, 3 * noise))
    if dotted:
        squares, flat = _beside_dots(rgb, lattice, box)
    upright, level = upright_line | upright_edge, level_line | level_edge
    borders = (
        upright[:, :-1].astype(np.float32) + upright[:, 1:] + level[:-1].astype(np.float32) + level[1:]
    ) / 4
    sides = np.where(seen, borders, 0.0).astype(np.float32)
    busy = _box_mean(sides, 2) > 0.2
    between = busy[:, 1:] & busy[:, :-1] & seen[:, 1:] & seen[:, :-1]
    lines = float(upright_line[:, 1:-1][between].mean()) if between.any() else 0.0
    between = busy[1:] & busy[:-1] & seen[1:] & seen[:-1]
    lines = (lines + (float(level_line[1:-1][between].mean()) if between.any() else 0.0)) / 2
    ruled = lines > 0.4
    paper = _paper(squares, flat, noise)
    by_lines = _ruled_box(sides, upright, level, paper)
    if by_lines is not None:
        by_lines = _over_dark_sides(by_lines, squares, paper)
    fills = filling_box(rgb, lattice) is not None
    by_colour = _coloured_box(squares, flat, noise, fills, lines > _SOME_LINES)
    found = by_lines if ruled else by_colour
    middle = (knots // 4, rows // 4, knots - knots // 4, rows - rows // 4, 1.0)
    begun = [part for part in (found, middle) if part is not None]
    by_depth = next(
        filter(None, (_drawn_box(grey, lattice, box, part, squares, paper) for part in begun)), None
    )
    # Lines and colours are told by different things: where both end alike, neither errs by more than a line.
    alike = (
        by_lines if by_lines is not None and by_colour is not None and by_lines[:4] == by_colour[:4] else None
    )
    # Faint lines far from the middle are lost to their depth.
    lost = (
        alike is not None
        and by_depth is not None
        and max(abs(one - other) for one, other in zip(alike[:4], by_depth[0], strict=True)) > 1
    )
    if by_depth is not None and (by_depth[1] or not lost):
        found = (*by_depth[0], 1.0 if by_depth[1] else _UNTOLD)
    if found is None:
        return None
    x0, y0, x1, y1, sure = found
    if x1 - x0 < 3 or y1 - y0 < 3:
        return None
    rim = _plain_rim(squares, paper, (x0, y0, x1, y1))
    if rim:
        # Lines are hardly seen on a dark border: it was cut off, and the rest called sure.
        x0, y0, x1, y1, sure = x0 - rim, y0 - rim, x1 + rim, y1 + rim, min(sure, _UNTOLD)
    ruled = ruled or by_depth is not None
    lined = ruled or lines > _HELPING_LINES
    if lined and alike is not None and alike[:4] == (x0, y0, x1, y1):
        sure = max(sure, _BOTH_WAYS)
    margin = [(paper[y0:y1, x - 1 : x] if x <= x0 else paper[y0:y1, x : x + 1]) for x in (x0, x1)] + [
        (paper[y - 1 : y, x0:x1] if y <= y0 else paper[y : y + 1, x0:x1]) for y in (y0, y1)
    ]
    bare_round = (
        all(part.size > 0 and float(part.mean()) > _BARE_ROUND for part in margin)
        and float(paper[y0:y1, x0:x1].mean()) < _NO_PAPER
    )
    return Extent(
        left=left + x0,
        top=top + y0,
        right=left + x1,
        bottom=top + y1,
        ruled=ruled,
        lined=lined,
        sure=sure,
        bare_round=bare_round,
        numbered=not lined and _numbered(grey, lattice, (left + x0, top + y0, left + x1, top + y1)),
        outlined=by_depth is not None and by_depth[2],
    )


def _plain_rim(squares: Squares, paper: NDArray[np.bool_], box: tuple[int, int, int, int]) -> int:
    """Return how many squares wide a border of one colour lies round a box on all four sides; 0: none.

    A table, too, is of one colour, but reaches farther than a border, or ends nowhere in step with the squares; paper is the margin's.
    """
    x0, y0, x1, y1 = box
    rows, knots = squares.seen.shape
    colours = squares.colours.astype(np.int16)

    def sides(away: int) -> list[tuple[slice, slice]] | None:
        left, top, right, bottom = x0 - away, y0 - away, x1 + away - 1, y1 + away - 1
        if min(left, top) < 0 or right >= knots or bottom >= rows:
            return None
        across, along = slice(left, right + 1), slice(top, bottom + 1)
        return [(slice(top, top + 1), across), (slice(bottom, bottom + 1), across),
                (along, slice(left, left + 1)), (along, slice(right, right + 1))]  # fmt: skip

    first = sides(1)
    if first is None or any(
        not squares.seen[side].all() or paper[side].mean() > _RIM_PAPER for side in first
    ):
        return 0
    usual = np.median(np.concatenate([colours[side].reshape(-1, 3) for side in first]), axis=0)
    alike = np.abs(colours - usual).max(axis=2) <= _RIM_STEP
    for away in range(1, _WIDEST_RIM + 2):
        ring = sides(away)
        if ring is None:
            return 0
        shares = [float(alike[side].mean()) for side in ring]
        if max(shares) < 1 - _RIM_SHARE:
            return away - 1
        # Of small squares the last line darkens those beside it: what is paper farther out is paper there too.
        bare = max(float(paper[side].mean()) for side in ring) > _BARE_RIM
        if min(shares) < _RIM_SHARE or bare:
            return 0
    return 0


_BARE_RIM = 0.5
"""Share of paper on a side of a ring from which on it is no border but the margin."""
_RIM_STEP, _RIM_SHARE, _RIM_PAPER, _WIDEST_RIM = 36, 0.9, 0.2, 12
"""Steps of a channel by which squares of one border differ at most, share of a side that must be of it, or beyond it must not, share of paper in it
at most, and how many squares wide it is at most."""


def _numbered(grey: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]) -> bool:
    """Return whether ink stands within a square beside a box, along one of its sides at least, and is no square of the cartoon.

    A square would begin at the side of the box, and a mark would stand in its square's middle: numbers begin further off, and reach on.
    """
    left, top, right, bottom = box
    away = np.array([*_BARE_STRIP, *_INK_STRIP])
    for upright, line, out in ((True, left, -1), (True, right, 1), (False, top, -1), (False, bottom, 1)):
        first, last = (top, bottom) if upright else (left, right)
        along = np.arange(first, last, 1 / _INK_PLACES)
        across = line + out * away
        points, seen = sample(grey, lattice, *((across, along) if upright else (along, across)))
        points, seen = (points.T, seen.T) if upright else (points, seen)
        light = points.astype(np.float32)
        ink = seen & (light < _INK * np.median(light, axis=1, keepdims=True))
        bare, inked = np.split(ink.mean(axis=1), [len(_BARE_STRIP)])
        paper = seen[: len(_BARE_STRIP)].mean() > _BARE_ROUND
        if paper and bare.max() <= _NO_INK and inked.min() >= _SOME_INK and inked.max() <= _MOST_INK:
            return True
    return False


_BARE_STRIP, _INK_STRIP, _INK_PLACES = (0.2, 0.28, 0.36), (0.85, 0.95, 1.05), 6
"""Squares beside a cartoon at which paper is bare where numbers stand, at which they do, and places along a square that are looked at."""
_INK, _NO_INK, _SOME_INK, _MOST_INK = 0.8, 0.005, 0.015, 0.4
"""What part of the paper's lightness ink has at most, and share of the places with ink where there is none, and where there are numbers."""


def _beside_dots(
    rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]
) -> tuple[Squares, NDArray[np.bool_]]:
    """Return the squares of a box as wide as they are, and those with neither a dot nor a line.

    Pale dots are as light as paper, but a square with one is uneven from side to side, and bare paper is not.
    """
    squares = look_at_squares(rgb, lattice, box, 5, _WIDE_REACH)
    left, top, right, bottom = (
        place - start
        for place, start in zip(_middle_box(rgb, lattice, None), (*box[:2], *box[:2]), strict=True)
    )
    usual = float(np.median(squares.spread[top:bottom, left:right]))
    return squares, squares.seen & (squares.spread <= max(_BARE_STEPS, _BARE_SPREAD * usual))


_WIDE_REACH, _BARE_STEPS, _BARE_SPREAD = 0.45, 3.0, 0.35
"""How far from its middle a square is looked at to tell bare paper from one with a dot, and up to how many steps of a channel, or what share of
what is usual with dots, it departs from its colour then: paper by 2, pale dots by 6 to 22, half of all dots by 16 to 50."""


def lines_seen(
    rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int], squares: Squares
) -> tuple[FloatArray, FloatArray]:
    """Return the share of each upright and each level line of a box that is drawn or parts two colours."""
    grey = np.asarray(Image.fromarray(rgb).convert("L"))
    upright_line, upright_edge, level_line, level_edge = _borders(grey, lattice, box, squares)
    return (upright_line | upright_edge).mean(axis=0), (level_line | level_edge).mean(axis=1)


def without_halves(rgb: ByteArray, lattice: Lattice, extent: Extent | None) -> tuple[Lattice, bool]:
    """Return the lattice that runs between dots or marks rather than through them, or at half their distance, and whether that is clear.

    A dot or a mark in the middle of every square keeps step at half the pitch: then every second line of the lattice is the
    cartoon's and the others run through the middles. Which ones is told by the squares: the wrong ones mix four colours.
    """
    left, top, right, bottom = _middle_box(rgb, lattice, extent)
    if right - left < _LEAST_TURNS or bottom - top < _LEAST_TURNS:
        return lattice, True
    inside = np.array([0.3, 0.4, 0.5, 0.6, 0.7])
    a, b = np.arange(left, right, dtype=np.float64), np.arange(top, bottom, dtype=np.float64)
    # Between lines as well as on them: the phase of such a lattice may lie anywhere between.
    across = [
        sample(rgb, lattice, a + off, (b[:, None] + inside).ravel())[0].mean(axis=0, dtype=np.float64)
        for off in (0, 0.5)
    ]
    along = [
        sample(rgb, lattice, (a[:, None] + inside).ravel(), b + off)[0].mean(axis=1, dtype=np.float64)
        for off in (0, 0.5)
    ]
    twice = (any(map(_take_turns, across)), any(map(_take_turns, along)))
    box = (left, top, right, bottom)
    # Thick lines and yarns of many kinds hide it that lines take turns; what lies in dots and between them tells without.
    dotted = _between_dots(rgb, lattice, box)
    dotted = dotted or _through_dots(rgb, lattice, box)
    if dotted is not None:
        return dotted, True
    if extent is not None and extent.outlined:
        return lattice, True
    uneven = _unevenness(lattice, box)
    best, out = _worth_of(rgb, lattice.moved(left, top), right - left - 2, bottom - top - 2), lattice
    kinds = {twice} if all(twice) else {(False, False), (twice[0], False), (False, twice[1])}
    if all(twice):
        # Lines and what lies between them take turns both ways: halves, but where the squares begin is less clear.
        best = -np.inf
    # A square twice as large has a dot in its middle as well, but passes one over: it must be worth much more.
    for doubled in sorted(kinds, key=sum):
        if doubled[0] != doubled[1] and _unevenness(lattice.doubled(*doubled), box) > max(
            _MOST_UNEVEN, uneven
        ):
            continue
        sides = [
            (end - start - 2) // (1 + two)
            for start, end, two in ((left, right, doubled[0]), (top, bottom, doubled[1]))
        ]
        for one in np.arange(0, 1 + doubled[0], 0.5):
            for other in np.arange(0, 1 + doubled[1], 0.5):
                moved = lattice.moved(left + one, top + other).doubled(*doubled)
                worth = _worth_of(rgb, moved, *sides)
                if worth > (best if all(twice) else best + max(_LEAST_GAIN, _GAIN * abs(best))):
                    best, out = worth, moved
    return out, not any(twice) or (out is not lattice and not all(twice))


def on_borders(rgb: ByteArray, lattice: Lattice, extent: Extent) -> Lattice:
    """Return the lattice moved by half a square, across or along, where its squares are of one colour only then.

    Where no lines are drawn, dark squares one by one stand in the picture as lines do, and lattice lines run through their middles.
    """
    left, top, right, bottom = _middle_box(rgb, lattice, extent)
    shares = [
        (explained(rgb, lattice.moved(left + a, top + b), (0, 0, right - left - 1, bottom - top - 1)), a, b)
        for a, b in product((0.0, 0.5), repeat=2)
    ]
    share, a, b = max(shares)
    if share < _PHASED or share < shares[0][0] + _LEAST_PHASED * (1 - shares[0][0]):
        return lattice
    return lattice.moved(a, b)


_PHASED, _LEAST_PHASED = 0.6, 0.25
"""Share of the colours' variance that must lie between squares moved by half a square, and what part of that within others must go."""


def _through_dots(rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]) -> Lattice | None:
    """Return the lattice moved by half a square, across, along or both, where its lines run through the middles of dots; None where they do not.

    Blurred dots close together stand out more than the thin lines between them, and a lattice along them keeps step as well.
    """
    left, top, right, bottom = box
    change = {
        (a, b): _change(
            look_at_squares(
                rgb, lattice.moved(left + a, top + b), (0, 0, right - left - 1, bottom - top - 1), 4, 0.1
            )
        )
        for a, b in product((0.0, 0.5), repeat=2)
    }
    most = max(change, key=lambda place: change[place])
    others = max(value for place, value in change.items() if place != most)
    if most == (0.0, 0.0) or change[most] < _CLEAR_DOTS * (others + _ALIKE_CHANGE):
        return None
    return lattice.moved(*most)


def _between_dots(rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]) -> Lattice | None:
    """Return the lattice of squares twice as large with a dot in the middle of each; None when there are no dots.

    Middles of such squares have the yarns' colours and differ from square to square; their corners and the middles of
    their sides are paper, or a line, and all alike.
    """
    left, top, right, bottom = box
    knots, rows = (right - left) // 2 - 1, (bottom - top) // 2 - 1
    best, out = _CLEAR_DOTS, None
    halves = np.arange(0, 2, 0.5)
    known: dict[tuple[float, float], float] = {}

    def change(one: float, other: float) -> float:
        # Corners of the squares from one place are the middles of those from another.
        if (one, other) not in known:
            squares = lattice.moved(left + one, top + other).doubled(across=True, along=True)
            known[one, other] = _change(look_at_squares(rgb, squares, (0, 0, knots, rows), 4, 0.1))
        return known[one, other]

    for one, other in product(halves.tolist(), repeat=2):
        middles = change(one, other)
        clear = np.inf
        for a, b in ((1, 0), (0, 1), (1, 1)):
            clear = min(clear, middles / (change(one + a, other + b) + _ALIKE_CHANGE))
            if clear <= best:
                break
        else:
            best = clear
            out = lattice.moved(left + one, top + other).doubled(across=True, along=True)
    return out


def _change(squares: Squares) -> float:
    """Return how far neighbouring squares differ, squared, on average, beyond what whole rows and columns do.

    A thick line makes whole rows differ, and uneven light changes little from square to square.
    """
    colours = squares.colours.astype(np.float64)
    for _round in range(2):
        for axis in (1, 0):
            colours = colours - np.median(colours, axis=axis, keepdims=True)
    return float(np.mean([np.square(np.diff(colours, axis=axis)).sum(axis=2).mean() for axis in (0, 1)]))


def _worth_of(rgb: ByteArray, lattice: Lattice, knots: int, rows: int) -> float:
    """Return how far the middles of squares differ from each other, beyond what they differ in themselves."""
    squares = look_at_squares(rgb, lattice, (0, 0, knots, rows), 3, 0.12)
    colours = squares.colours[squares.seen].astype(np.float64)
    if not len(colours):
        return -np.inf
    return float(colours.var(axis=0).sum() - np.mean(squares.spread[squares.seen].astype(np.float64) ** 2))


_MOST_UNEVEN = 1.6
"""Width over height, or height over width, of squares that one axis alone may be doubled to."""
_GAIN, _LEAST_GAIN = 0.25, 20.0
"""How much more another lattice's squares must be worth, as a share and in square steps of a channel; chance gains a tenth."""
_CLEAR_DOTS, _ALIKE_CHANGE = 2.5, 60.0
"""How much more the middles of squares with dots must differ than what lies between them, and what all differ by noise, in
square steps of a channel; sheets of dots have 4 to 40, of marks 1.7 at most, others 1.1."""
_LEAST_TURNS = 12
"""Lines of squares from which on it is told whether two kinds take turns."""
_TURNS = ((0.8, 2.0), (0.7, 10.0))
"""Share of lines that differ alike from both their neighbours, and by how many grey steps on average, when they do: either."""
_MOST_MIDDLE = 80
"""Squares each way that are looked at to tell."""


def _take_turns(colours: FloatArray) -> bool:
    """Return whether lines lighter and darker than both their neighbours take turns, in one of three (lines, 3) channels."""
    turn = 1 - 2 * (np.arange(len(colours) - 2) % 2)
    step = (colours[1:-1] - (colours[:-2] + colours[2:]) / 2) * turn[:, None]
    share = (step > 0).mean(axis=0)
    share, size = np.maximum(share, 1 - share), np.abs(np.median(step, axis=0))
    return any(bool(((share >= least) & (size >= step)).any()) for least, step in _TURNS)


def _middle_box(rgb: ByteArray, lattice: Lattice, extent: Extent | None) -> tuple[int, int, int, int]:
    """Return a box of squares round the middle of what is in step with the lattice, or else of the picture."""
    box = (
        (extent.left, extent.top, extent.right, extent.bottom)
        if extent is not None
        else whole_box(rgb, lattice)
    )
    middle = ((box[0] + box[2]) // 2, (box[1] + box[3]) // 2)
    # Half of it: the box may take in paper beside the cartoon.
    half = [min(_MOST_MIDDLE // 2, max(6, (box[i + 2] - box[i]) // 4)) for i in (0, 1)]
    return middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1]


def filling_box(rgb: ByteArray, lattice: Lattice) -> tuple[int, int, int, int] | None:
    """Return the box of the squares that fill the picture to its edges, None where its sides are no borders of squares.

    Such a cartoon was cropped, or drawn, to the point.
    """
    height, width = rgb.shape[:2]
    corners = lattice.squares_of(
        np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    )
    if np.abs(corners - np.rint(corners)).max() >= 0.2:
        return None
    (left, top), (right, bottom) = np.rint(corners[0]), np.rint(corners[2])
    return int(left), int(top), int(right), int(bottom)


def _borders(
    grey: ByteArray, lattice: Lattice, box: tuple[int, int, int, int], squares: Squares, dotted: bool = False
) -> tuple[NDArray[np.bool_], ...]:
    """Return, for upright and level borders of squares, whether a line is drawn there and whether the colour changes.

    Round coloured dots a line stands on paper: it is darker than that, whatever the dots are.
    """
    left, top, right, bottom = box
    knots, rows = right - left, bottom - top
    weights = np.array([0.299, 0.587, 0.114], dtype=np.float32)
    light = squares.colours @ weights
    noise = float(np.median(squares.spread[squares.seen])) if squares.seen.any() else 0.0
    noise = min(noise, _MOST_NOISE) if dotted else noise
    line_step, edge_step = max(_LINE_STEP, 2.0 * noise), max(_EDGE_STEP, 4 * noise)
    third = np.array(_BY_DOTS if dotted else _BY_SQUARES)
    # A line of a point or two lies between three samples of a large square, and the grain of a table is no line.
    many = _places_across(lattice, box)
    reach = np.linspace(-_LINE_AWAY, _LINE_AWAY, many)
    out: list[NDArray[np.bool_]] = []
    for upright in (True, False):

        def value(off: float, upright: bool = upright) -> FloatArray:
            if upright:
                a = np.arange(left, right + 1, dtype=np.float64) + off
                b = (np.arange(top, bottom)[:, None] + third).ravel()
                return np.median(sample(grey, lattice, a, b)[0].reshape(rows, 3, knots + 1), axis=1)
            a = (np.arange(left, right)[:, None] + third).ravel()
            b = np.arange(top, bottom + 1, dtype=np.float64) + off
            return np.median(sample(grey, lattice, a, b)[0].reshape(rows + 1, knots, 3), axis=2)

        darkest = lightest = value(reach[0])
        for off in reach[1:]:
            here = value(off)
            darkest, lightest = np.minimum(darkest, here), np.maximum(lightest, here)
        pad = ((0, 0), (1, 1)) if upright else ((1, 1), (0, 0))
        padded = np.pad(light, pad, mode="edge")
        one, two = (padded[:, :-1], padded[:, 1:]) if upright else (padded[:-1], padded[1:])
        low, high = np.minimum(one, two), np.maximum(one, two)
        if dotted:
            beside = value(-_BESIDE_DOTS), value(_BESIDE_DOTS)
            low, high = np.minimum(*beside), np.maximum(*beside)
        elif many > 3:
            beside = value(-2 * _LINE_AWAY), value(2 * _LINE_AWAY)
            low, high = np.minimum(low, np.minimum(*beside)), np.maximum(high, np.maximum(*beside))
        line = (low - darkest > line_step) | (lightest - high > line_step)
        colours = np.pad(squares.colours.astype(np.int16), (*pad, (0, 0)), mode="edge")
        step = colours[:, 1:] - colours[:, :-1] if upright else colours[1:] - colours[:-1]
        out += [line, np.abs(step).max(axis=2) > edge_step]
    return tuple(out)


def _drawn_box(
    grey: ByteArray,
    lattice: Lattice,
    box: tuple[int, int, int, int],
    begun: tuple[int, int, int, int, float],
    squares: Squares,
    paper: NDArray[np.bool_],
) -> tuple[tuple[int, int, int, int], bool, bool] | None:
    """Return the box whose lines are drawn, each seen over its whole length; None where none are.

    Beside it, whether its ends are clear (an outermost line stands between squares and paper, and is seen at least as well as those
    inside; beyond it there is none), and whether its lines are clearly the squares' own, too.

    Parameters
    ----------
    begun
        A box that lies on the cartoon for the most part, from which it is looked for.
    """
    x0, y0, x1, y1, sure = begun
    for _round in range(2):
        for upright in (True, False):
            first, last, along = (x0, x1, (y0, y1)) if upright else (y0, y1, (x0, x1))
            depth, line = _depths(grey, lattice, box, *along, upright=upright)
            inside = np.abs(line[first + 1 : last])
            inside = inside[np.isfinite(inside)]
            if len(inside) < 3 or float(np.quantile(inside, _FAINT_PART)) < _FAINT_LINE:
                return None
            usual = float(np.median(inside))
            if usual < _LEAST_DEPTH:
                return None
            seen = np.clip(np.nan_to_num(np.abs(line)) / usual, 0, 1)
            first, last = _best_run(seen - _RUN_DEPTH)
            last -= 1
            # Between dark squares and paper it is an edge rather than a line.
            first -= first > 0 and bool(depth[first - 1] > _END_DEPTH * usual)
            last += last + 1 < len(depth) and bool(depth[last + 1] > _END_DEPTH * usual)
            if last - first < 3:
                return None
            x0, x1, y0, y1 = (first, last, y0, y1) if upright else (x0, x1, first, last)
    x0, y0, x1, y1, sure = _over_dark_sides((x0, y0, x1, y1, sure), squares, paper)
    x0, y0, x1, y1 = _within_paper(grey, lattice, box, (x0, y0, x1, y1), squares, paper)
    if min(x1 - x0, y1 - y0) < 3:
        return None
    ended = own = True
    for upright in (True, False):
        first, last, along = (x0, x1, (y0, y1)) if upright else (y0, y1, (x0, x1))
        depth, line = _depths(grey, lattice, box, *along, upright=upright)
        inside = np.abs(line[first + 1 : last])
        usual = float(np.nanmedian(inside))
        for end, beyond in ((first, first - 1), (last, last + 1)):
            ended &= bool(depth[end] > _END_DEPTH * usual)
            ended &= 0 <= beyond < len(depth) and bool(abs(depth[beyond]) < _BEYOND_DEPTH * usual)
        # Where every second line is the middle of dots or marks they take turns; where squares are parts of knots' there are more between.
        turns = [float(np.nanmedian(inside[start::times])) for times in (2, 3) for start in range(times)]
        own &= min(turns) > _TURNED_DEPTH * max(turns)
        for off in (1 / 3, 1 / 2, 2 / 3):
            moved = lattice.moved(off if upright else 0.0, 0.0 if upright else off)
            between = _depths(grey, moved, box, *along, upright=upright, beside_lines=_OUTSIDE_MARKS)[1][
                first:last
            ]
            own &= float(np.nanmedian(between)) < _BETWEEN_DEPTH * usual
    return (x0, y0, x1, y1), ended, ended and own


def _within_paper(
    grey: ByteArray,
    lattice: Lattice,
    box: tuple[int, int, int, int],
    found: tuple[int, int, int, int],
    squares: Squares,
    paper: NDArray[np.bool_],
) -> tuple[int, int, int, int]:
    """Return a found box without outermost squares that are pale and crossed by no lines: numbers or the sheet's own edge stand beyond them."""
    x0, y0, x1, y1 = found
    usual = [
        float(np.nanmedian(np.abs(_depths(grey, lattice, box, *along, upright=upright)[1][first + 1 : last])))
        for upright, first, last, along in ((True, x0, x1, (y0, y1)), (False, y0, y1, (x0, x1)))
    ]

    light = squares.colours.mean(axis=2)
    pale = _PALE * (float(np.quantile(light[paper], 0.9)) if paper.any() else 255.0)

    def bare(upright: bool, place: int) -> bool:
        if float(np.median(light[y0:y1, place] if upright else light[place, x0:x1])) < pale:
            return False
        crossing = _depths(grey, lattice, box, place, place + 1, upright=not upright)[1]
        crossing = crossing[y0 + 1 : y1] if upright else crossing[x0 + 1 : x1]
        return float(np.nanmedian(crossing)) < _CROSSED * usual[int(upright)]

    while x1 - x0 > 3 and bare(True, x0):
        x0 += 1
    while x1 - x0 > 3 and bare(True, x1 - 1):
        x1 -= 1
    while y1 - y0 > 3 and bare(False, y0):
        y0 += 1
    while y1 - y0 > 3 and bare(False, y1 - 1):
        y1 -= 1
    return x0, y0, x1, y1


_CROSSED, _PALE = 0.3, 0.6
"""Depth of the lines that cross a row of squares, beside the usual, below which there are none; and the share of the paper's lightness from
which on lines would be seen."""
_OUTSIDE_MARKS = (0.1, 0.9)
"""Where along a square's side neither dots nor marks are in the way of a line through its middle."""
_TURNED_DEPTH, _BETWEEN_DEPTH = 0.75, 0.6
"""How deep lines that take turns must be beside each other to be of one kind, and below what depth, beside the usual, there are none between."""
_LEAST_DEPTH, _FAINT_LINE, _FAINT_PART = 2.5, 1.0, 0.2
"""Grey steps by which lines are darker (or, on dark squares, lighter) than what lies beside them, in the middle and in all but a part of
them, where lines are drawn: 4.5 and more, and 3; where none are, 0.7 and 0.3."""
_RUN_DEPTH, _END_DEPTH, _BEYOND_DEPTH = 0.45, 0.75, 0.4
"""Depth of a line, beside what is usual inside, from which on it counts for its box; from which on it may be the last one (such have 0.9 and
more); and below which there is none (0.2 at most beyond the last)."""


def _depths(
    grey: ByteArray,
    lattice: Lattice,
    box: tuple[int, int, int, int],
    first: int,
    last: int,
    upright: bool,
    beside_lines: tuple[float, ...] = _CLEAR_OF_DOTS,
) -> tuple[FloatArray, FloatArray]:
    """Return how much darker each line of a box is than what lies beside it, in grey steps, and how much of that is a line and no edge.

    Each is a mean over the squares `first` to `last` along the line: a single square's line drowns in blur, noise and JPEG, and
    hundreds of them together do not. Lines that run out of the picture have NaN.
    """
    left, top, right, bottom = box
    lines = np.arange(left, right + 1) if upright else np.arange(top, bottom + 1)
    squares = np.arange(first, last, max(1, (last - first) // _MOST_ALONG)) + (top if upright else left)
    along = (squares[:, None] + np.array(beside_lines)).ravel()

    def value(off: float) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
        places = lines + off
        points, seen = sample(grey, lattice, *((places, along) if upright else (along, places)))
        points, seen = (points, seen) if upright else (points.T, seen.T)
        return points.astype(np.float32), seen

    (one, near), (two, far) = value(-_BESIDE_DOTS), value(_BESIDE_DOTS)
    seen = near & far
    many = np.maximum(seen.sum(axis=0), 1)
    beside = (one + two) / 2
    depths = [
        np.where(seen, np.clip(beside - value(off)[0], -_MOST_DEPTH, _MOST_DEPTH), 0.0).sum(axis=0) / many
        for off in np.linspace(-_LINE_AWAY, _LINE_AWAY, _places_across(lattice, box))
    ]
    unseen = seen.mean(axis=0) < _SEEN_ALONG
    return (
        np.where(unseen, np.nan, np.max(depths, axis=0)),
        np.where(
            unseen, np.nan, np.max([a + b for a, b in zip(depths, depths[::-1], strict=True)], axis=0) / 2
        ),
    )


_MOST_ALONG, _MOST_DEPTH, _SEEN_ALONG = 150, 60.0, 0.5
"""Squares along a line that are looked at, grey steps one of them counts at most, and the share of them that must lie in the picture."""


def _places_across(lattice: Lattice, box: tuple[int, int, int, int]) -> int:
    """Return in how many places across itself a line is looked for: in an odd number, so that one is its own."""
    return max(3, int(np.ceil(2 * _LINE_AWAY * max(square_sides(lattice, box)))) | 1)


def square_sides(lattice: Lattice, box: tuple[int, int, int, int]) -> tuple[float, float]:
    """Return a square's width and height in the middle of a box, in points of the picture."""
    middle = np.array([(box[0] + box[2]) // 2, (box[1] + box[3]) // 2], dtype=np.float64)
    x, y = lattice.points_of(middle[0] + np.array([0.0, 1.0]), middle[1] + np.array([0.0, 1.0]))
    return float(np.hypot(x[0, 1] - x[0, 0], y[0, 1] - y[0, 0])), float(
        np.hypot(x[1, 0] - x[0, 0], y[1, 0] - y[0, 0])
    )


def _unevenness(lattice: Lattice, box: tuple[int, int, int, int]) -> float:
    """Return the longer side of a square over the shorter one."""
    wide, high = square_sides(lattice, box)
    return max(wide, high) / max(1e-9, min(wide, high))


def explained(rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]) -> float:
    """Return the share of the colours' variance in a box that lies between its squares, not within them: 1 for flat squares."""
    return _explained(rgb, lattice, box)[0]


def _explained(rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]) -> tuple[float, float]:
    """Return the share that lies between squares, and the whole variance of a channel."""
    left, top, right, bottom = box
    inside = np.linspace(0.5 - _EXPLAIN_REACH, 0.5 + _EXPLAIN_REACH, _EXPLAIN_SIDE)
    a = (np.arange(left, right)[:, None] + inside).ravel()
    b = (np.arange(top, bottom)[:, None] + inside).ravel()
    points = sample(rgb, lattice, a, b)[0].astype(np.float32)
    parts = points.reshape(bottom - top, _EXPLAIN_SIDE, right - left, _EXPLAIN_SIDE, 3)
    within = float(parts.var(axis=(1, 3)).mean())
    total = float(points.reshape(-1, 3).var(axis=0).mean())
    return (1.0 - within / total if total > 0 else 0.0), total


def least_explained(rgb: ByteArray, lattice: Lattice, box: tuple[int, int, int, int]) -> float:
    """Return the share that is explained in the part of a box where it is least: a lattice that slips or skips does so somewhere.

    Parts of one colour tell nothing; with none that tells, 0.
    """
    left, top, right, bottom = box
    across, along = (
        np.linspace(first, last, max(1, min(_PARTS, (last - first) // _LEAST_PART)) + 1).astype(int)
        for first, last in ((left, right), (top, bottom))
    )
    shares = []
    for (x0, x1), (y0, y1) in product(pairwise(across.tolist()), pairwise(along.tolist())):
        # The middle of a large part tells as much as all of it.
        spare_x, spare_y = max(0, x1 - x0 - _MOST_PART) // 2, max(0, y1 - y0 - _MOST_PART) // 2
        part = (x0 + spare_x, y0 + spare_y, x1 - spare_x, y1 - spare_y)
        if part[2] > part[0] and part[3] > part[1]:
            share, varies = _explained(rgb, lattice, part)
            if varies > _LEAST_VARIED:
                shares.append(share)
    return min(shares, default=0.0)


_PARTS, _LEAST_PART, _MOST_PART, _LEAST_VARIED = 6, 8, 30, 30.0
"""Parts each way, at most, in which it is told how much is explained; squares each has along a side, at least, and of which are looked
at, at most; and the variance of a channel from which on a part tells something."""
_EXPLAIN_REACH, _EXPLAIN_SIDE = 0.36, 7
"""How far from a square's middle it is looked at, and in how many places along a side."""


def _ruled_box(
    sides: NDArray[np.float32],
    upright: NDArray[np.bool_],
    level: NDArray[np.bool_],
    paper: NDArray[np.bool_],
) -> tuple[int, int, int, int, float] | None:
    """Return the box whose squares have lines round them and those outside have none."""
    # A square just outside has the cartoon's last line as one of its four sides.
    score = sides - 0.32
    strong = sides >= 0.75
    per_row = strong.sum(axis=1)
    if not per_row.any():
        return None
    picked = np.flatnonzero(per_row >= 0.3 * np.quantile(per_row, 0.98))
    y0, y1 = int(picked[0]), int(picked[-1]) + 1
    x0, x1 = 0, sides.shape[1]
    for _round in range(5):
        x0, x1 = _best_run(score[y0:y1].mean(axis=0))
        y0, y1 = _best_run(score[:, x0:x1].mean(axis=1))
    # A key beside the cartoon has lines too, with bare paper between.
    bare = (paper[y0:y1].mean(axis=0) > _BARE_GAP) & (sides[y0:y1].mean(axis=0) < _GAP_LINES)
    x0, x1 = _longest_whole(bare, x0, x1)
    bare = (paper[:, x0:x1].mean(axis=1) > _BARE_GAP) & (sides[:, x0:x1].mean(axis=1) < _GAP_LINES)
    y0, y1 = _longest_whole(bare, y0, y1)
    x0, x1 = _to_last_line(upright[y0:y1].mean(axis=0), x0, x1)
    y0, y1 = _to_last_line(level[:, x0:x1].mean(axis=1), y0, y1)
    inner = [sides[y0:y1, x0], sides[y0:y1, x1 - 1], sides[y0, x0:x1], sides[y1 - 1, x0:x1]]
    height, width = sides.shape
    outer = [
        sides[y0:y1, x0 - 1] if x0 > 0 else np.zeros(1),
        sides[y0:y1, x1] if x1 < width else np.zeros(1),
        sides[y0 - 1, x0:x1] if y0 > 0 else np.zeros(1),
        sides[y1, x0:x1] if y1 < height else np.zeros(1),
    ]
    clear = min(float(i.mean()) - float(o.mean()) for i, o in zip(inner, outer, strict=True))
    return x0, y0, x1, y1, float(np.clip(clear / 0.6, 0, 1))


def _paper(squares: Squares, flat: NDArray[np.bool_], noise: float) -> NDArray[np.bool_]:
    """Return the squares that may be bare paper: light, and hardly tinted."""
    colours = squares.colours.astype(np.float32)
    light = colours.mean(axis=2)
    tint = colours.max(axis=2) - colours.min(axis=2)
    reference = float(np.quantile(light[flat], 0.97)) if flat.any() else 255.0
    return np.asarray(
        flat & (light > 0.62 * reference) & (tint < _PAPER_TINT * light + 3 * min(noise, _MOST_NOISE) + 6)
    )


def _over_dark_sides(
    box: tuple[int, int, int, int, float], squares: Squares, paper: NDArray[np.bool_]
) -> tuple[int, int, int, int, float]:
    """Return the box moved out over rows of coloured squares in which no lines are seen, up to the paper round them.

    Ink on yarn as dark as itself shows no lines. Where the squares are not dark, or no paper follows, the sides are unsure.
    """
    x0, y0, x1, y1, sure = box
    coloured = squares.seen & ~paper
    light = squares.colours.mean(axis=2)
    dark = light < _DARK * (float(np.quantile(light[paper], 0.9)) if paper.any() else 255.0)
    for _round in range(2):
        for side in range(4):
            first, last = (y0, y1) if side % 2 == 0 else (x0, x1)
            part = [
                values[first:last] if side % 2 == 0 else values[:, first:last].T
                for values in (coloured, paper, dark)
            ]
            end = (x0, y0, coloured.shape[1] - x1, coloured.shape[0] - y1)[side]
            # Lines of squares from the side outwards.
            outward = [
                values[:, :end][:, ::-1] if side < 2 else values[:, values.shape[1] - end :]
                for values in part
            ]
            full = outward[0].mean(axis=0) >= _FULL_LINE
            many = int(np.argmin(full)) if not full.all() else len(full)
            if not many:
                continue
            if many == len(full) or float(outward[1][:, many].mean()) < _BARE_LINE:
                if many == len(full) and float(outward[2][:, :many].mean()) < _FULL_LINE:
                    continue
                sure = min(sure, 0.5)
                continue
            if float((outward[2] | ~outward[0])[:, :many].mean()) < _FULL_LINE:
                sure = min(sure, 0.5)
                if many == 1:
                    # The blurred last line itself tints the squares outside it.
                    continue
            x0, y0 = x0 - many * (side == 0), y0 - many * (side == 1)
            x1, y1 = x1 + many * (side == 2), y1 + many * (side == 3)
    return x0, y0, x1, y1, sure


def _longest_whole(bare: NDArray[np.bool_], first: int, last: int) -> tuple[int, int]:
    """Return the longest part of a run that no two bare lines of squares side by side cut."""
    cuts = [place for place in range(first, last - 1) if bare[place] and bare[place + 1]]
    ends = [first - 1, *sorted({*cuts, *(place + 1 for place in cuts)}), last]
    start, end = max(pairwise(ends), key=lambda part: part[1] - part[0])
    return start + 1, end


def _to_last_line(lines: FloatArray, first: int, last: int) -> tuple[int, int]:
    """Return the run moved in or out until it ends on lines that are drawn: `lines[i]` is the share of line i seen."""
    for _step in range(12):
        if first > 0 and lines[first - 1] > 0.6:
            first -= 1
        elif lines[first] < 0.4 and last - first > 3:
            first += 1
        if last < len(lines) - 1 and lines[last + 1] > 0.6:
            last += 1
        elif lines[last] < 0.4 and last - first > 3:
            last -= 1
    return first, last


def _best_run(score: FloatArray) -> tuple[int, int]:
    """Return the (start, end) of the run with the largest sum."""
    best, start, out = 0.0, 0, (0, 1)
    total = 0.0
    for place, value in enumerate(score):
        total += float(value)
        if total > best:
            best, out = total, (start, place + 1)
        if total <= 0:
            total, start = 0.0, place + 1
    return out


def _coloured_box(
    squares: Squares, flat: NDArray[np.bool_], noise: float, fills: bool, some_lines: bool
) -> tuple[int, int, int, int, float] | None:
    """Return the box inside a straight margin of paper; where no side has one, all whole squares of the picture."""
    in_sight = squares.seen
    if not in_sight.any():
        return None
    paper = _paper(squares, flat, noise)
    height, width = in_sight.shape
    rows = np.flatnonzero(in_sight.mean(axis=1) > 0.5)
    columns = np.flatnonzero(in_sight.mean(axis=0) > 0.5)
    if not len(rows) or not len(columns):
        return None
    x0, x1, y0, y1 = int(columns[0]), int(columns[-1]) + 1, int(rows[0]), int(rows[-1]) + 1
    whole = (x0, y0, x1, y1)
    sure = 1.0
    ring = [paper[y0:y1, x0], paper[y0:y1, x1 - 1], paper[y0, x0:x1], paper[y1 - 1, x0:x1]]
    margin = min(float(side.mean()) for side in ring) > _RING_PAPER
    # Pale squares all round a picture without lines are taken for the cartoon's own border; a margin of whole squares looks alike.
    if fills and not (margin and some_lines):
        return (*whole, _UNTOLD if margin else 1.0)
    for _round in range(2):
        ends = []
        for side in range(4):
            part = paper[y0:y1] if side % 2 == 0 else paper[:, x0:x1].T
            whole_part = in_sight[y0:y1] if side % 2 == 0 else in_sight[:, x0:x1].T
            if side >= 2:
                part, whole_part = part[:, ::-1], whole_part[:, ::-1]
            ends.append(_margin_end(part, whole_part))
        (lx, ls), (ty, ts), (rx, rs), (by, bs) = ends
        x0, y0 = (lx if lx is not None else whole[0]), (ty if ty is not None else whole[1])
        x1 = width - rx if rx is not None else whole[2]
        y1 = height - by if by is not None else whole[3]
        if x1 - x0 < 3 or y1 - y0 < 3:
            return None
        # A key beside the cartoon stands between two margins, and the outer one may not be seen.
        x0, x1 = _longest_whole(_bare_across(paper[y0:y1]), x0, x1)
        if x1 - x0 < 3:
            return None
        y0, y1 = _longest_whole(_bare_across(paper[:, x0:x1].T), y0, y1)
        if y1 - y0 < 3:
            return None
        sure = min(ls, ts, rs, bs)
    # Without lines, paper-white squares round the design are told from the margin by nothing: whoever sees it must say.
    return x0, y0, x1, y1, min(sure, _UNTOLD) if fills or (x0, y0, x1, y1) != whole else sure


def _bare_across(paper: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which columns are bare paper from end to end: a white ring inside a cartoon has coloured squares at its ends."""
    ends = max(1, len(paper) // _BARE_ENDS)
    parts = (paper, paper[:ends], paper[-ends:])
    return np.asarray(np.min([part.mean(axis=0) for part in parts], axis=0) > _BARE_LINES)


def _margin_end(paper: NDArray[np.bool_], seen: NDArray[np.bool_]) -> tuple[int | None, float]:
    """Return the column at which the margin on the left ends, None when there is none, and how clear that is.

    In every row the first stretch of paper from the outside is followed to its end; a margin ends at the same column in
    most rows.
    """
    rows, columns = paper.shape
    half = max(3, columns // 2)
    votes = np.zeros(columns + 1)
    for line, inside in zip(paper, seen, strict=True):
        places = np.flatnonzero(line[:half])
        if not len(places):
            continue
        first = int(places[0])
        rest = np.flatnonzero(~line[first:])
        end = first + int(rest[0]) if len(rest) else columns
        # Paper narrower than a square and a half may be a white knot.
        if end - first >= 2 or first == 0 or not inside[max(0, first - 1)]:
            votes[end] += 1
    if not votes.any():
        return None, 1.0
    best = int(np.argmax(votes[:half]))
    near = votes[max(0, best - 1) : best + 2].sum() / rows
    if near < 0.5:
        return None, float(1 - near)
    return best, float(min(1.0, votes[best] / rows / 0.8))


def _box_mean(values: NDArray[np.float32], reach: int) -> NDArray[np.float32]:
    size = 2 * reach + 1
    padded = np.pad(values, reach)
    sums = np.pad(np.cumsum(np.cumsum(padded, axis=0, dtype=np.float64), axis=1), ((1, 0), (1, 0)))
    total = sums[size:, size:] - sums[:-size, size:] - sums[size:, :-size] + sums[:-size, :-size]
    return np.asarray(total / size**2, dtype=np.float32)
