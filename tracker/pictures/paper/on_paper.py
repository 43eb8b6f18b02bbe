"""Finds the squares on paper: lattice, end of the cartoon and colours together, laid anew where the weaver set corners or numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracker.pictures import limits
from tracker.pictures.paper.lattice import Axis, Lattice
from tracker.pictures.paper.perspective import apply, homography
from tracker.pictures.paper.search import filling_lattice, glanced_at, level_lattice, straight_lattice
from tracker.pictures.paper.shades import Shades, find_shades
from tracker.pictures.paper.squares import (
    DOT_REACH,
    DOT_SIDE,
    REACH,
    Extent,
    Squares,
    explained,
    filling_box,
    find_extent,
    has_dots,
    least_explained,
    lines_seen,
    look_at_squares,
    on_borders,
    square_sides,
    without_halves,
)
from tracker.pictures.paper.steps import Steps
from tracker.pictures.paper.understood import Found, Reading
from tracker.pictures.paper.wishes import Wish

FloatArray = NDArray[np.float64]
_LEAST_COHERENCE = 0.12
"""Share of the edges' strength in step with a lattice below which there is none; noise alone gives under 0.1."""
_LEAST_FLAT = 0.6
"""Share of squares of one colour inside, below which the lattice is no cartoon's."""
_BLOCKS_ALIKE = 0.985
"""Share of colour changes that lie on every so-many-th line, from which on the squares are that much larger."""
_FEWER_INSIDE, _SOME_LINES = 0.6, 0.25
"""Share of lines seen inside blocks, beside that between them, up to which there are none inside; and share of all from
which on lines are drawn there."""
_SIDE, _COARSE_SIDE, _MANY_SQUARES = 6, 4, 300_000
"""Places along a side of a square in which its colour is looked at, and fewer where there are so many squares: marks of thin strokes and the
noise of small squares are told from the yarn by more of them."""
_SMALL_SIDE, _SMALL_REACH = 5.0, 0.25
"""Points to a square's side below which the colour is looked for nearer to its middle: a line, and what leaks in, reach half a point into it."""
_PHASES, _PHASE_SQUARES, _PHASE_GAIN = np.arange(8) / 8, 50, 0.1
"""Parts of a square by which a lattice followed on a smaller picture is moved; how many squares to each side of the middle tell which fits; and how
much more of the colours' variance must lie between squares so (half a square beside it is 0.35, right 0.77)."""
_MOST_TIMES = 12
"""How many found squares a square may have along a side."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Followed:
    """The lattice that a picture's squares lie on, before it is known where they end."""

    lattice: Lattice
    coherence: float
    settled: bool
    """Whether it is not asked any more where lines lie: a program drew them, corners were given, squares are large or fill the picture."""

    def least_points(self, rgb: NDArray[np.uint8]) -> float:
        """Return how many points a square's shorter side has in the middle of the picture."""
        x, y = self.lattice.squares_of(np.array(rgb.shape[1::-1]) / 2)
        return min(square_sides(self.lattice, (int(x), int(y), int(x), int(y))))

    def finer(self, times: float, shift: tuple[float, float]) -> Followed:
        """Return the same in a picture so many times as large, whose corner lies so far inside the smaller one's (points of that)."""
        smaller = np.array([[1 / times, 0, shift[0]], [0, 1 / times, shift[1]], [0, 0, 1]])
        return replace(self, lattice=replace(self.lattice, to_flat=self.lattice.to_flat @ smaller))

    def in_phase(self, rgb: NDArray[np.uint8]) -> Followed:
        """Return the same moved by a part of a square, so that squares in the middle of the picture are most of one colour.

        Where squares had few points, the two edges of a line were taken for lines: those lie half a square beside.
        """
        x, y = (int(place) for place in self.lattice.squares_of(np.array(rgb.shape[1::-1]) / 2))
        box = (x - _PHASE_SQUARES, y - _PHASE_SQUARES, x + _PHASE_SQUARES, y + _PHASE_SQUARES)
        lattice, begun = self.lattice, explained(rgb, self.lattice, box)
        for across, along in ((1.0, 0.0), (0.0, 1.0)):
            moved = [lattice.moved(across * part, along * part) for part in _PHASES]
            lattice = max(moved, key=lambda one: explained(rgb, one, box))
        better = explained(rgb, lattice, box) > begun + _PHASE_GAIN
        return replace(self, lattice=lattice) if better else self


def find_lattice(
    rgb: NDArray[np.uint8], wish: Wish, corners: FloatArray | None, drawn: bool, steps: Steps
) -> Followed | None:
    """Return the lattice of the squares in a picture; None where there is none."""
    if min(rgb.shape[:2]) < 24:
        return None
    by_eye = corners is None and not drawn
    filling = _filling(rgb) if by_eye else None
    large, straight = glanced_at(rgb, steps) if by_eye and filling is None else (None, None)
    found = (
        filling
        or large
        or (straight_lattice(rgb, straight, steps) if by_eye else level_lattice(rgb, wish, corners, steps))
    )
    steps.at(0.7)
    if found is None:
        return None
    return Followed(
        lattice=found[0], coherence=found[1], settled=not by_eye or large is not None or filling is not None
    )


def find_squares(
    rgb: NDArray[np.uint8],
    wish: Wish,
    corners: FloatArray | None,
    followed: Followed,
    drawn: bool,
    steps: Steps,
) -> Found | None:
    """Return where the squares on a lattice end, and their colours; None when they are no cartoon's."""
    lattice, whole = followed.lattice, True
    if corners is not None:
        by_itself = None
        lattice, extent = _cornered(lattice, corners, wish)
    else:
        seen = find_extent(rgb, lattice)
        if not followed.settled:
            as_found = lattice
            if seen is not None and not seen.lined:
                lattice = on_borders(rgb, lattice, seen)
            lattice, whole = without_halves(rgb, lattice, seen)
            seen = seen if lattice is as_found else find_extent(rgb, lattice)
        if seen is None:
            return None
        by_itself = lattice, seen
        lattice, extent = _counted(lattice, seen, wish)
    steps.at(0.8)
    looked = _looked_at(rgb, wish, lattice, extent, followed.coherence, by_itself, drawn, steps)
    return replace(looked, whole=looked.whole and whole) if looked is not None else None


def _filling(rgb: NDArray[np.uint8]) -> tuple[Lattice, float] | None:
    """Return the lattice of squares that fill the picture, and its coherence; None where they do not, or are paper all round."""
    found = filling_lattice(rgb)
    extent = find_extent(rgb, found[0]) if found is not None else None
    # A turned sheet with about a whole number of squares of margin round it nearly fills the picture.
    return found if extent is not None and extent.sure >= 1.0 else None


def _fit(rgb: NDArray[np.uint8], lattice: Lattice, extent: Extent) -> float:
    """Return the share of the colours' variance that lies between squares, where it is least."""
    return least_explained(rgb, lattice, (extent.left, extent.top, extent.right, extent.bottom))


def found_again(rgb: NDArray[np.uint8], wish: Wish, before: Reading | None, steps: Steps) -> Found | None:
    """Return what was found, with only that reckoned anew which the new wishes touch; None when that is all."""
    if before is None or before.found is None:
        return None
    if (before.wish.corners, before.wish.crop) != (wish.corners, wish.crop):
        return None
    found = before.found
    if (before.wish.knots, before.wish.rows) == (wish.knots, wish.rows):
        shades = find_shades(
            found.squares.colours, found.squares.spread, many=wish.colours, even_light=found.drawn
        )
        return replace(found, shades=shades)
    if found.by_itself is None:
        return None
    lattice, extent = _counted(*found.by_itself, wish)
    return _looked_at(rgb, wish, lattice, extent, found.coherence, found.by_itself, found.drawn, steps)


def _looked_at(
    rgb: NDArray[np.uint8],
    wish: Wish,
    lattice: Lattice,
    extent: Extent,
    coherence: float,
    by_itself: tuple[Lattice, Extent] | None,
    drawn: bool,
    steps: Steps,
) -> Found | None:
    """Return the squares of a lattice with their colours; None when they are no cartoon's."""
    box = (extent.left, extent.top, extent.right, extent.bottom)
    many = (extent.right - extent.left) * (extent.bottom - extent.top)
    side, reach = _SIDE if many <= _MANY_SQUARES else _COARSE_SIDE, REACH
    dotted = not drawn and has_dots(rgb, lattice, extent)
    if dotted:
        side, reach = DOT_SIDE, DOT_REACH
    if not drawn and min(square_sides(lattice, box)) < _SMALL_SIDE:
        reach = min(reach, _SMALL_REACH)
    squares = look_at_squares(rgb, lattice, box, side, reach, round_=dotted)
    size_known = wish.corners is not None and wish.knots is not None and wish.rows is not None
    if not size_known and coherence < _LEAST_COHERENCE:
        return None
    if not size_known and (squares.spread <= _inside_noise(squares)).mean() < _LEAST_FLAT:
        return None
    if drawn and (squares.spread <= 0).mean() < 0.97:
        # A program's picture has squares of one colour exactly; anything else is a picture of knots, point by point.
        return None
    shades = find_shades(squares.colours, squares.spread, many=wish.colours, even_light=drawn)
    if wish.knots is None and wish.rows is None:
        coarse = _coarser(rgb, lattice, extent, squares, shades)
        if coarse is not None:
            # What was found itself is the coarser lattice: numbers given later are laid over that one.
            lattice, extent, clear = coarse
            by_itself = (lattice, extent) if by_itself else None
            looked = _looked_at(rgb, wish, lattice, extent, coherence, by_itself, drawn, steps)
            return replace(looked, whole=looked.whole and clear) if looked is not None else None
    steps.at(0.95)
    return Found(
        lattice=lattice,
        extent=extent,
        squares=squares,
        shades=shades,
        coherence=coherence,
        told=size_known,
        by_itself=by_itself,
        drawn=drawn,
        fit=0.0 if extent.lined or size_known else _fit(rgb, lattice, extent),
    )


def _coarser(
    rgb: NDArray[np.uint8], lattice: Lattice, extent: Extent, squares: Squares, shades: Shades
) -> tuple[Lattice, Extent, bool] | None:
    """Return the lattice whose squares are blocks of the found ones and whether that is clear; None when the found squares are the knots.

    Marks in the middle of squares keep step at half their pitch, and so do squares too large for a likely pitch. Then
    nearly all blocks are of one colour, and no line is drawn inside them.
    """
    box = (extent.left, extent.top, extent.right, extent.bottom)
    lines: tuple[FloatArray, FloatArray] | None = None
    cells = shades.cells
    changes = (
        (cells[1:] != cells[:-1]).sum(axis=1, dtype=np.int64),
        (cells[:, 1:] != cells[:, :-1]).sum(axis=0, dtype=np.int64),
    )
    for times in range(_MOST_TIMES, 1, -1):
        if min(cells.shape) < 4 * times or not all(part.any() for part in changes):
            continue
        phases = [
            [
                int(part[start - 1 :: times].sum()) if start else int(part[times - 1 :: times].sum())
                for start in range(times)
            ]
            for part in changes
        ]
        phase_of = (int(np.argmax(phases[0])), int(np.argmax(phases[1])))
        if any(
            phase[start] < _BLOCKS_ALIKE * part.sum()
            for phase, start, part in zip(phases, phase_of, changes, strict=True)
        ):
            continue
        lines = lines or lines_seen(rgb, lattice, box, squares)
        inside, between = [], []
        for seen, start in ((lines[0], phase_of[1]), (lines[1], phase_of[0])):
            places = np.arange(1, len(seen) - 1)
            on = (places - start) % times == 0
            between.append(float(seen[places[on]].mean()))
            inside.append(float(seen[places[~on]].mean()))
        clear = max(inside) <= _FEWER_INSIDE * min(between)
        if not clear and min(inside) >= _SOME_LINES:
            continue
        left, top = (
            extent.left + phase_of[1] - (times if phase_of[1] else 0),
            extent.top + phase_of[0] - (times if phase_of[0] else 0),
        )
        moved = lattice.moved(left, top).coarser(times)
        filled = filling_box(rgb, moved)
        if filled is not None:
            # Of small squares a picture's edge cuts some; of the large ones it cuts none, and they tell of no margin.
            left, top, right, bottom = filled
            return (
                moved,
                Extent(
                    left=left,
                    top=top,
                    right=right,
                    bottom=bottom,
                    ruled=extent.ruled,
                    lined=extent.lined,
                    sure=1.0,
                ),
                clear,
            )
        # A rest of more than half a block is a block that the found extent cut.
        rows = (extent.bottom - top + times // 2 - (times % 2 == 0)) // times
        knots = (extent.right - left + times // 2 - (times % 2 == 0)) // times
        first_row = 1 if phase_of[0] and phase_of[0] <= times // 2 else 0
        first_knot = 1 if phase_of[1] and phase_of[1] <= times // 2 else 0
        return moved, replace(extent, left=first_knot, top=first_row, right=knots, bottom=rows), clear
    return None


def _inside_noise(squares: Squares) -> float:
    """Return how far the inside of a square of one colour may depart from it, in steps of a channel."""
    return 10.0 + 1.5 * float(np.median(squares.spread))


def _cornered(lattice: Lattice, corners: FloatArray, wish: Wish) -> tuple[Lattice, Extent]:
    """Return the lattice and the extent for corners that were set by hand."""
    flat = apply(lattice.to_flat, corners)
    places = lattice.squares_of(corners)
    left, right = float((places[0, 0] + places[3, 0]) / 2), float((places[1, 0] + places[2, 0]) / 2)
    top, bottom = float((places[0, 1] + places[1, 1]) / 2), float((places[2, 1] + places[3, 1]) / 2)
    knots = wish.knots or max(limits.MIN_PAPER_SIDE, round(right - left))
    rows = wish.rows or max(limits.MIN_PAPER_SIDE, round(bottom - top))
    x0, y0 = round((left + right - knots) / 2), round((top + bottom - rows) / 2)
    wanted = np.array(
        [[x0, y0], [x0 + knots, y0], [x0 + knots, y0 + rows], [x0, y0 + rows]], dtype=np.float64
    )
    if np.abs(places - wanted).max() > 0.5:
        # The edges tell another story than the weaver's corners and numbers: those count.
        lattice = even_lattice(corners, knots, rows)
        x0 = y0 = 0
    del flat
    return lattice, Extent(
        left=x0, top=y0, right=x0 + knots, bottom=y0 + rows, ruled=False, lined=False, sure=1.0
    )


def even_lattice(corners: FloatArray, knots: int, rows: int) -> Lattice:
    """Return the lattice of a flat sheet with these corners and numbers of squares."""
    to_flat = homography(corners, [[0, 0], [knots, 0], [knots, rows], [0, rows]])
    axes = [
        Axis(pitch=1.0, level=level, middle=(0.0, 0.0), half=1.0, degree=0, terms=np.zeros(1), coherence=0.0)
        for level in (False, True)
    ]
    return Lattice(across=axes[0], along=axes[1], to_flat=to_flat)


def _counted(lattice: Lattice, extent: Extent, wish: Wish) -> tuple[Lattice, Extent]:
    """Return the lattice stretched over the found extent so that it has the numbers of squares the weaver said."""
    knots, rows = extent.right - extent.left, extent.bottom - extent.top
    wanted = (wish.knots or knots, wish.rows or rows)
    if wanted == (knots, rows):
        return lattice, extent
    a, b = lattice.points_of(
        np.array([extent.left, extent.right], dtype=np.float64),
        np.array([extent.top, extent.bottom], dtype=np.float64),
    )
    corners = np.array([[a[0, 0], b[0, 0]], [a[0, 1], b[0, 1]], [a[1, 1], b[1, 1]], [a[1, 0], b[1, 0]]])
    return even_lattice(corners, *wanted), replace(extent, left=0, top=0, right=wanted[0], bottom=wanted[1])
