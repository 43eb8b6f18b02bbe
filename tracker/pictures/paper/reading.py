"""Reads a cartoon from a photograph, a scan or an enlarged picture, and tells how sure it is.

`read_sheet` finds everything by itself; `again` reckons anew with what the weaver set by hand (corners, numbers of knots
and rows, a crop, the number of colours) and keeps the opened picture. A reading is a frozen value.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS, CartoonPicture
from tracker.domain.colour import ciede2000, hex_of_rgb, lab_of_hex
from tracker.domain.defaults import MERGE_DELTA_E
from tracker.domain.errors import BadEntry, BadPicture
from tracker.domain.layout import points_per_knot
from tracker.pictures import limits
from tracker.pictures.opening import Source
from tracker.pictures.paper.lattice import (
    Axis,
    Lattice,
    Profiles,
    edge_profiles,
    fit_axis,
    fit_sheet,
    likely_pitches,
    line_profiles,
    tiles_of,
)
from tracker.pictures.paper.opening import OpenedSheet, open_sheet
from tracker.pictures.paper.perspective import apply, flattened, homography, straightening
from tracker.pictures.paper.shades import Shades, doubted, find_shades
from tracker.pictures.paper.squares import (
    Extent,
    Squares,
    explained,
    filling_box,
    find_extent,
    least_explained,
    lines_seen,
    look_at_squares,
    marked_share,
    without_halves,
)
from tracker.words import _

FloatArray = NDArray[np.float64]
Point = tuple[float, float]

SURE = 0.75
"""From here on a reading is called sure; below it the weaver is asked. Our choice, scored in DEVELOPERS.md."""
_MOST_FLAT_PIXELS = 16_000_000
_MOST_FIRST_PIXELS = 6_000_000
"""Points above which the lattice is sought on the picture at half its size."""
_LEAST_FIRST_PITCH = 6.0
"""Points to a square there below which it is sought on the whole picture after all."""
_MOST_STRAIGHTENINGS = 3
_GLANCE_SIDE = 800
"""Points along the longer side of a picture in which large squares are looked for."""
_LARGE_PITCH = 40.0
"""Points to a square, of the whole picture, from which on squares are large."""
_LARGE_EXPLAINED, _LARGE_LEFT = 0.85, 0.004
"""Share of the colours' variance that must lie between large squares, and how much more may lie within them than within
their halves or thirds, beside twice as much."""
_LEAST_LINES = 0.01
"""Strength of dark lines beside that of edges below which there are none: the ripples of JPEG along large squares, at a
step of their own, are 0.002 at most, thin lines 0.02 at least."""
_AS_GOOD, _SETTLED = 0.98, 0.9
"""Share of another lattice's step from which on one is as good, and below which the two disagree."""
_AGREEING = 0.5
"""What the other signal's step at the same pitch counts beside a signal's own: of the two the clearer one is followed."""
_MOST_SLANT = 0.5
"""Points by which a line may slant within a band, of a picture that is straight enough."""
_MOST_STRETCH = 1.06
"""The largest pitch over the smallest, of a picture that is straight enough: a tile takes in ten squares."""
_LEAST_COHERENCE = 0.12
"""Share of the edges' strength in step with a lattice below which there is none; noise alone gives under 0.1."""
_CLEAR_LINES, _CLEAR_EDGES = 0.4, 0.6
"""The share in step from which on the numbers are believed, of a sheet with lines and of one without."""
_FITTING, _SKIPPING = 0.85, 0.7
"""The share of the colours' variance explained where it is least: from the one on squares without lines fit however few edges keep
step, below the other they do not however many do. Right ones have 0.85 to 1, those that skip lines 0.3 to 0.4."""
_LEAST_FITTING = 0.3
"""The share of edges in step that squares without lines must keep even where they fit."""
_TURNING, _BY_CHANCE = 0.62, 1.6
"""Share of colour changes on every second or third line, along both sides, from which on found squares may be parts of knots; whole ones have 0.5 to 0.56;
and how far beyond a half that may lie by chance, times the root of the lines."""
_LEAST_FLAT = 0.6
"""Share of squares of one colour inside, below which the lattice is no cartoon's."""
_LEAST_SURE = 0.3
"""Below it what was found by itself is taken for chance."""
_POOR = 0.5
"""Below it another explanation of the picture is tried as well."""
_CLEAN_COLOURS = 12
"""A picture of no more colours was drawn, however dark or pale; one of more may be a photograph of nothing."""
_MOST_UNEVEN = 2.0
"""Width over height (or height over width) of a drawn square at most; knots are hardly ever more uneven."""
_LEAST_BLOCKS = 12
"""Knots and rows below which a lattice in a picture that a program drew is no cartoon's."""
_CLEAR_BLOCKS = 24
"""Knots and rows from which on blocks of points are believed unasked."""
_BLOCKS_ALIKE = 0.985
"""Share of colour changes that lie on every so-many-th line, from which on the squares are that much larger."""
_FEWER_INSIDE, _SOME_LINES = 0.6, 0.25
"""Share of lines seen inside blocks, beside that between them, up to which there are none inside; and share of all from
which on lines are drawn there."""
_MOST_TIMES = 12
"""How many found squares a square may have along a side."""
_SINGLE_RUNS = 0.01
"""Share of runs of a single point, in rows and in columns, from which on a point is surely a knot: designs have outlines."""
_MOST_MARK_SHADES, _NEUTRAL, _MOSTLY_PAPER, _MARKED = 4, 14.0, 0.8, 0.3
"""A sheet of marks has so many shades at most, each of so little chroma (CIELAB), one of them in so large a share of its
squares, and so large a share of marked squares."""
_FEW_POINTS = 4.5
"""Points to a knot below which colours run into each other and the weaver is always asked."""


class How(StrEnum):
    """How the squares lie in the picture."""

    POINTS = "points"
    """One point of the picture is one knot."""
    ENLARGED = "enlarged"
    """Each knot is a block of points, exactly."""
    PAPER = "paper"
    """Squares on paper, found by their lattice."""


class Ask(StrEnum):
    """What a reading is not sure of."""

    SIZE = "size"
    EDGES = "edges"
    COLOURS = "colours"
    SQUARES = "squares"
    POINTS = "points"


class StopReading(Exception):
    """Raised out of a reading that was stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the weaver set by hand; None or empty where the reader is to find it."""

    knots: int | None = None
    rows: int | None = None
    corners: tuple[Point, Point, Point, Point] | None = None
    """Top left, top right, bottom right, bottom left, in points of the picture's file, upright."""
    crop: tuple[float, float, float, float] | None = None
    """Left, top, right, bottom, in points of the picture's file: what lies outside is not looked at."""
    colours: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """The squares as they were found on paper, and what was found before the weaver's numbers were laid over it."""

    lattice: Lattice
    extent: Extent
    squares: Squares
    shades: Shades
    coherence: float
    told: bool
    by_itself: tuple[Lattice, Extent] | None
    """The lattice and the extent without numbers from the weaver; None with corners set by hand."""
    drawn: bool
    """Whether a program drew the picture."""
    whole: bool = True
    """Whether it is clear that the squares are whole knots, not halves of them and not several."""
    fit: float = 0.0
    """Share of the colours' variance that lies between squares, where it is least; 0 where lines are drawn and tell better."""

    @property
    def size_clear(self) -> bool:
        """Whether the numbers of knots and rows are believed unasked."""
        if self.extent.lined:
            clear = _CLEAR_LINES if self.extent.ruled else _CLEAR_EDGES
            return self.whole and self.coherence >= clear
        # Without lines, edges must lie on the lattice: the steps of a large motif keep some step too. Where few do, as in
        # noise or in a plain design, the squares themselves tell.
        if self.fit >= _FITTING and self.coherence >= _LEAST_FITTING:
            return not _turning(self.shades.cells)
        return self.whole and self.fit >= _SKIPPING and self.coherence >= _CLEAR_EDGES


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """What was understood of a picture of a cartoon."""

    sheet: OpenedSheet
    wish: Wish
    how: How
    cells: NDArray[np.uint8]
    """(rows, knots) index into `palette`, as seen: the top row first."""
    palette: tuple[str, ...]
    confidence: NDArray[np.float32]
    """(rows, knots) chance that a square has the right colour, as far as the picture tells."""
    doubted: NDArray[np.bool_]
    """(rows, knots) squares to look at, at most 2 % of all."""
    corners: tuple[Point, ...]
    """Corners of the cartoon in the file: top left, top right, bottom right, bottom left."""
    points_across: float
    """Points of the file to a knot, across and along, on average."""
    points_along: float
    sure: float
    """0 to 1."""
    asks: tuple[Ask, ...]
    """What the weaver should look at, the weightiest first."""
    lattice: Lattice | None = None
    """Where the squares lie in the part of the opened picture that was looked at; None when points or blocks of points
    are the knots."""
    found: Found | None = None
    """What the reading rests on, kept so that a correction need not find it again."""

    @property
    def knots_across(self) -> int:
        """Knots in a row."""
        return int(self.cells.shape[1])

    @property
    def rows(self) -> int:
        """Rows of knots."""
        return int(self.cells.shape[0])

    @property
    def is_sure(self) -> bool:
        """Whether nothing needs to be asked."""
        return self.sure >= SURE and not self.asks

    @property
    def picture(self) -> CartoonPicture:
        """The cartoon, row 1 (the bottom) first."""
        return CartoonPicture(
            cells=np.ascontiguousarray(self.cells[::-1]), palette=self.palette, name=self.sheet.name
        )

    @property
    def sentence(self) -> str:
        """What was found, in short."""
        return _("{knots} knots across, {rows} rows, {colours} colours").format(
            knots=self.knots_across, rows=self.rows, colours=len(self.palette)
        )


def _size_words(reading: Reading) -> str:
    """Say what the number of knots rests on where it is not sure."""
    if reading.how is How.POINTS:
        return _(
            "The number of knots is not sure. Taken as one pixel a knot, for the picture is small. If a knot is drawn larger "
            "in it, enter how many knots and rows there are."
        )
    if reading.how is How.ENLARGED:
        return _(
            "The number of knots is not sure. Taken as {across} × {along} pixels a knot, for everything in it is a multiple "
            "of that. It may as well be one pixel a knot."
        ).format(across=round(reading.points_across), along=round(reading.points_along))
    return _(
        "The number of knots is not sure. Count the squares across and the rows, and enter them if they differ."
    )


def as_points(reading: Reading) -> tuple[int, int] | None:
    """Return knots across and rows if a picture read as blocks were one pixel a knot; None where that is no question."""
    if reading.how is not How.ENLARGED or Ask.SIZE not in reading.asks:
        return None
    return round(reading.knots_across * reading.points_across), round(reading.rows * reading.points_along)


def say_asks(reading: Reading) -> tuple[str, ...]:
    """Return a sentence for each thing the reading is not sure of: what to look at, and what to do."""
    words = {
        Ask.SIZE: _size_words(reading),
        Ask.EDGES: _(
            "Where the cartoon ends is not sure. Look at the four corners, and move them if they are off."
        ),
        Ask.COLOURS: _(
            "The number of colours is not sure. Enter how many yarns the cartoon has if it differs."
        ),
        Ask.SQUARES: _(
            "Many squares are doubtful. Take the picture from nearer, in even light, or mend them by hand."
        ),
        Ask.POINTS: _(
            "The squares are very small in the picture, about {points} pixels each. Take it from nearer, or in parts."
        ).format(points=round(min(reading.points_across, reading.points_along))),
    }
    return tuple(words[ask] for ask in reading.asks)


Progress = Callable[[float], None]


@dataclass(slots=True)
class _Steps:
    """Passes on progress, and stops when asked to."""

    progress: Progress | None = None
    stop: Callable[[], bool] | None = None
    done: float = field(default=0.0)

    def at(self, share: float) -> None:
        if self.stop is not None and self.stop():
            raise StopReading
        self.done = share
        if self.progress is not None:
            self.progress(share)


def read_sheet(
    source: Source | OpenedSheet,
    *,
    name: str = "",
    wish: Wish | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    before: Reading | None = None,
) -> Reading:
    """Return what is understood of a picture of a cartoon.

    Parameters
    ----------
    source
        The file's bytes, its path, or a sheet that is open already.
    wish
        What the weaver set by hand.
    progress
        Called with the share done, 0 to 1, in the thread that reads.
    stop
        Asked between steps; when it says True, `StopReading` is raised.
    before
        An earlier reading of the same sheet: what the new wishes do not touch is taken from it.

    Raises
    ------
    BadPicture
        When it is no cartoon that can be read; the sentence says what to do.
    BadEntry
        When a wish cannot be: corners that are no four-sided shape, numbers that do not fit.
    """
    steps = _Steps(progress, stop)
    steps.at(0.0)
    wish = wish or Wish()
    _check_wish(wish)
    sheet = source if isinstance(source, OpenedSheet) else open_sheet(source, name=name)
    steps.at(0.15)
    rgb, (left, top) = cropped(sheet, wish)
    corners = None
    if wish.corners is not None:
        corners = np.array(wish.corners, dtype=np.float64) / sheet.scale - [left, top]
    exact = _few_colours(rgb) if corners is None and not sheet.lossy else None
    if exact is None or len(exact.palette) > _CLEAN_COLOURS:
        _check_something_seen(rgb)
    if exact is not None:
        reading = _blocks(sheet, wish, exact, (left, top))
        if reading is not None:
            steps.at(1.0)
            return reading
    found = _found_before(rgb, wish, before, steps) or _on_paper(rgb, wish, corners, exact is not None, steps)
    reading = _reading_of(sheet, wish, rgb, found, (left, top)) if found is not None else None
    if reading is not None and exact is not None and (wish.knots is None or wish.rows is None):
        if min(reading.cells.shape) < _LEAST_BLOCKS:
            # Large plain parts of a design drawn a point a knot lie on a coarse lattice by chance; or it is a checkerboard.
            points = _points(sheet, wish, rgb, exact, (left, top))
            if points is not None and not _has_single_points(exact.cells):
                points = replace(points, asks=tuple(dict.fromkeys((Ask.SIZE, *points.asks))), sure=0.6)
            reading = points or reading
        elif min(reading.cells.shape) < _CLEAR_BLOCKS and Ask.SIZE not in reading.asks:
            reading = replace(reading, asks=(Ask.SIZE, *reading.asks), sure=min(reading.sure, 0.6))
    if reading is not None and corners is None:
        if found is not None and _marks_alone(rgb, found):
            raise _only_marks()
        if len(reading.palette) == 1 and wish.colours != 1 and exact is None:
            raise _only_grid()
        if reading.sure < _POOR and (found is None or found.coherence < _CLEAR_EDGES):
            # Small pictures with softened edges keep some step by chance: one pixel a knot may explain them better.
            reading = _points(sheet, wish, rgb, exact, (left, top)) or reading
        if reading.how is How.PAPER and reading.sure < _LEAST_SURE:
            # Bricks, faces and print keep some step too: squares so poor are none.
            raise _no_cartoon()
    if reading is None:
        reading = _points(sheet, wish, rgb, exact, (left, top))
    if reading is None:
        raise _no_cartoon()
    steps.at(1.0)
    return reading


def again(
    reading: Reading,
    *,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
    **wishes: object,
) -> Reading:
    """Return the same picture read anew with other wishes (fields of `Wish`), the others kept."""
    return read_sheet(
        reading.sheet,
        wish=replace(reading.wish, **wishes),  # type: ignore[arg-type]
        progress=progress,
        stop=stop,
        before=reading,
    )


# --- wishes ------------------------------------------------------------------------------------------------------


def _check_wish(wish: Wish) -> None:
    for count in (wish.knots, wish.rows):
        if count is not None and not limits.MIN_PAPER_SIDE <= count <= limits.MAX_SIDE:
            raise BadEntry(
                _("{count} is no number of knots or rows. Enter {least} to {most}.").format(
                    count=count, least=limits.MIN_PAPER_SIDE, most=limits.MAX_SIDE
                )
            )
    if wish.colours is not None and not 1 <= wish.colours <= MAX_COLOURS:
        raise BadEntry(
            _("{count} is no number of colours. Enter 1 to {most}.").format(
                count=wish.colours, most=MAX_COLOURS
            )
        )
    if wish.corners is not None:
        points = np.array(wish.corners, dtype=np.float64)
        sides = np.roll(points, -1, axis=0) - points
        nexts = np.roll(sides, -1, axis=0)
        turns = sides[:, 0] * nexts[:, 1] - sides[:, 1] * nexts[:, 0]
        if not np.isfinite(points).all() or turns.min() <= 0 or np.hypot(sides[:, 0], sides[:, 1]).min() < 4:
            raise BadEntry(
                _(
                    "The four corners do not go round the cartoon. "
                    "Set them top left, top right, bottom right, bottom left."
                )
            )


def cropped(sheet: OpenedSheet, wish: Wish) -> tuple[NDArray[np.uint8], tuple[int, int]]:
    """Return the part of the opened picture that is looked at, and where its corner lies in the whole."""
    if wish.crop is None:
        return sheet.rgb, (0, 0)
    left, top, right, bottom = (part / sheet.scale for part in wish.crop)
    x0, y0 = max(0, int(left)), max(0, int(top))
    part = sheet.rgb[y0 : max(y0, int(np.ceil(bottom))), x0 : max(x0, int(np.ceil(right)))]
    if min(part.shape[:2]) < 8:
        raise BadEntry(_("The strip that was cut out is too narrow. Take in the whole cartoon."))
    return np.ascontiguousarray(part), (x0, y0)


# --- pictures drawn by a program ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Exact:
    cells: NDArray[np.uint8]
    palette: tuple[str, ...]


def _few_colours(rgb: NDArray[np.uint8]) -> _Exact | None:
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
    return _Exact(table[packed], palette)


def _blocks(sheet: OpenedSheet, wish: Wish, exact: _Exact, corner: tuple[int, int]) -> Reading | None:
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
    clear = min(across, along) >= 3 and min(cells.shape) >= _CLEAR_BLOCKS
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


def _points(
    sheet: OpenedSheet, wish: Wish, rgb: NDArray[np.uint8], exact: _Exact | None, corner: tuple[int, int]
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
        clear = width * height <= 1_000_000 and _has_single_points(exact.cells)
        asks = () if wish.knots and wish.rows else () if clear else (Ask.SIZE,)
        if len(exact.palette) > _CLEAN_COLOURS and _shades_of_each_other(exact.palette):
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


def _has_single_points(cells: NDArray[np.uint8]) -> bool:
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


# --- squares on paper --------------------------------------------------------------------------------------------


def _on_paper(
    rgb: NDArray[np.uint8], wish: Wish, corners: FloatArray | None, drawn: bool, steps: _Steps
) -> Found | None:
    height, width = rgb.shape[:2]
    if min(height, width) < 24:
        return None
    by_eye = corners is None and not drawn
    large, straight = _glanced_at(rgb, steps) if by_eye else (None, None)
    found = large or (
        _straight_lattice(rgb, straight, steps) if by_eye else _level_lattice(rgb, wish, corners, steps)
    )
    steps.at(0.7)
    if found is None:
        return None
    lattice, coherence = found
    whole = True
    if corners is not None:
        by_itself = None
        lattice, extent = _cornered(lattice, corners, wish)
    else:
        seen = find_extent(rgb, lattice)
        if not drawn and large is None:
            as_found = lattice
            lattice, whole = without_halves(rgb, lattice, seen)
            seen = seen if lattice is as_found else find_extent(rgb, lattice)
        if seen is None:
            return None
        by_itself = lattice, seen
        lattice, extent = _counted(lattice, seen, wish)
    steps.at(0.8)
    looked = _looked_at(rgb, wish, lattice, extent, coherence, by_itself, drawn, steps)
    return replace(looked, whole=looked.whole and whole) if looked is not None else None


def _fit(rgb: NDArray[np.uint8], lattice: Lattice, extent: Extent) -> float:
    """Return the share of the colours' variance that lies between squares, where it is least."""
    return least_explained(rgb, lattice, (extent.left, extent.top, extent.right, extent.bottom))


def _level_lattice(
    rgb: NDArray[np.uint8], wish: Wish, corners: FloatArray | None, steps: _Steps
) -> tuple[Lattice, float] | None:
    """Return the lattice of a picture that a program drew, or that lies between corners set by hand, and its coherence."""
    flat, to_flat = flattened(rgb, _upright(corners) if corners is not None else np.eye(3), _MOST_FLAT_PIXELS)
    steps.at(0.35)
    signals = _signals(flat, steps, 0.35, 0.6)
    del flat
    best = _best_axes(signals, to_flat, wish, corners)
    if best is None:
        return None
    (_one, across), (_two, along) = best
    return Lattice(across=across, along=along, to_flat=to_flat), _coherence(across, along)


def _straight_lattice(
    rgb: NDArray[np.uint8], straight: FloatArray | None, steps: _Steps
) -> tuple[Lattice, float] | None:
    """Return the lattice of a photograph or a scan, and its coherence; `straight` straightens the picture where that is known.

    What was followed on a picture straightened by its lines' directions straightens it better: then bands cut no line
    aslant, one pitch fits all the sheet, and the lattice is followed anew.
    """
    to_flat = straight = straightening(rgb) if straight is None else straight
    steps.at(0.25)
    times = 2 if rgb.shape[0] * rgb.shape[1] > _MOST_FIRST_PIXELS else 1
    found: tuple[Lattice, float] | None = None
    for round_ in range(_MOST_STRAIGHTENINGS):
        shares = 0.25 + 0.45 * np.array([round_, round_ + 1]) / _MOST_STRAIGHTENINGS
        followed = _followed(rgb, times, to_flat, steps, (float(shares[0]), float(shares[1])))
        if followed is None:
            break
        fine = times == 1 or followed.least_pitch >= _LEAST_FIRST_PITCH
        if times > 1 and followed.coherence < _CLEAR_LINES:
            # Too small to be seen so: begin again on the whole picture.
            to_flat, times = straight, 1
            continue
        if found is None or followed.coherence > _AS_GOOD * found[1] or not fine:
            found = followed.lattice, followed.coherence
        if fine and followed.settled:
            break
        to_flat = np.diag([float(times), float(times), 1.0]) @ followed.straighter.to_flat
        times = times if fine else 1
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Follow:
    """The lattice of a whole picture, followed on one made smaller: its pitches are in points of the small one."""

    lattice: Lattice
    coherence: float
    straighter: Lattice
    """The lattice whose homography straightens the picture."""
    settled: bool
    """Whether the picture lay straight, and both ways of following it agree."""

    @property
    def least_pitch(self) -> float:
        """Points of the small picture to a square, along its shorter side."""
        return min(self.lattice.across.pitch, self.lattice.along.pitch)


def _followed(
    rgb: NDArray[np.uint8], times: int, to_flat: FloatArray, steps: _Steps, shares: tuple[float, float]
) -> _Follow | None:
    """Return the lattice followed on the picture made `times` smaller and straightened."""
    small = rgb if times == 1 else np.asarray(Image.fromarray(rgb).reduce(times))
    shrunk = np.diag([1 / times, 1 / times, 1.0])
    flat, to_flat = flattened(small, shrunk @ to_flat @ np.linalg.inv(shrunk), _MOST_FLAT_PIXELS)
    del small
    begun = shares[0] + 0.3 * (shares[1] - shares[0])
    steps.at(begun)
    signals = _signals(flat, steps, begun, shares[1])
    del flat
    to_flat = to_flat @ shrunk
    best = _best_axes(signals, to_flat, Wish(), None)
    if best is None:
        return None
    (one, across), (two, along) = best
    lattice, plain = Lattice(across=across, along=along, to_flat=to_flat), _coherence(across, along)
    sheet = fit_sheet(
        tiles_of(signals[one].across, across.pitch, False, shift=signals[one].shift),
        tiles_of(signals[two].along, along.pitch, True, shift=signals[two].shift),
        to_flat,
    )
    if sheet is None:
        return _Follow(lattice=lattice, coherence=plain, straighter=lattice, settled=True)
    straighter, warp = sheet
    both = _coherence(straighter.across, straighter.along)
    # On bent paper one of the two may slip by a row at a corner; what slipped keeps less step.
    better = both > _AS_GOOD * plain
    return _Follow(
        lattice=straighter if better else lattice,
        coherence=both if better else plain,
        straighter=straighter,
        settled=warp.slant < _MOST_SLANT
        and warp.stretch < _MOST_STRETCH
        and _SETTLED < both / plain < 1 / _SETTLED,
    )


def _glanced_at(
    rgb: NDArray[np.uint8], steps: _Steps
) -> tuple[tuple[Lattice, float] | None, FloatArray | None]:
    """Return the lattice of squares so large that it is seen at a glance, with its coherence, and what straightens the picture.

    Each is None where a glance does not tell. Seen from near, a line has two edges, paper has grain, a half or a third of
    a large square passes for the pitch, and dots stand in diagonal lines as clearly as in rows.
    """
    times = -(-max(rgb.shape[:2]) // _GLANCE_SIDE)
    if times < 2:
        return None, None
    small = np.asarray(Image.fromarray(rgb).reduce(times))
    enlarged = np.diag([float(times), float(times), 1.0])
    followed = _followed(
        rgb, times, enlarged @ straightening(small) @ np.linalg.inv(enlarged), steps, (0.15, 0.25)
    )
    if followed is None or followed.coherence < _CLEAR_EDGES:
        return None, None
    straight = enlarged @ followed.straighter.to_flat
    if followed.least_pitch * times < _LARGE_PITCH:
        return None, straight
    # Motifs that repeat, and every tenth line, keep such a step as well; but their squares are of several colours.
    told: list[tuple[Lattice, float]] = []
    for parts in (1, 2, 3):
        finer = followed.lattice.coarser(1 / parts)
        extent = find_extent(rgb, finer)
        if extent is not None:
            told.append(
                (finer, explained(rgb, finer, (extent.left, extent.top, extent.right, extent.bottom)))
            )
    most = max((share for _lattice, share in told), default=0.0)
    enough = max(_LARGE_EXPLAINED, 1 - _LARGE_LEFT - 2 * (1 - most))
    large = next(((finer, followed.coherence) for finer, share in told if share >= enough), None)
    return large, straight


def _coherence(across: Axis, along: Axis) -> float:
    return float(np.sqrt(across.coherence * along.coherence))


def _signals(flat: NDArray[np.uint8], steps: _Steps, first: float, last: float) -> tuple[Profiles, ...]:
    """Return the straightened picture's edges and, where there are any, its dark lines, summed over bands."""
    middle = first + 0.6 * (last - first)
    edges = edge_profiles(flat, lambda share: steps.at(first + (middle - first) * share))
    lines = line_profiles(
        np.asarray(Image.fromarray(flat).convert("L")),
        lambda share: steps.at(middle + (last - middle) * share),
    )
    clear = lines.across.sum() + lines.along.sum() > _LEAST_LINES * (edges.across.sum() + edges.along.sum())
    return (edges, lines) if clear else (edges,)


def _found_before(rgb: NDArray[np.uint8], wish: Wish, before: Reading | None, steps: _Steps) -> Found | None:
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
    steps: _Steps,
) -> Found | None:
    """Return the squares of a lattice with their colours; None when they are no cartoon's."""
    points = min(lattice.across.pitch, lattice.along.pitch)
    squares = look_at_squares(
        rgb,
        lattice,
        (extent.left, extent.top, extent.right, extent.bottom),
        4 if points < 8 else 5,
        0.3,
    )
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


def _turning(cells: NDArray[np.uint8]) -> bool:
    """Return whether the colours change, both ways, mostly on every second or third line: squares may be parts of knots then."""

    def take_turns(lines: NDArray[np.uint8]) -> bool:
        changes = (lines[1:] != lines[:-1]).sum(axis=1, dtype=np.int64)
        most = max(int(changes[start::times].sum()) for times in (2, 3) for start in range(times))
        # Of few lines every second one may have most changes by chance.
        return most > max(_TURNING, 0.5 + _BY_CHANCE / np.sqrt(len(changes))) * max(1, int(changes.sum()))

    return take_turns(cells) and take_turns(cells.T)


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


def _upright(corners: FloatArray) -> FloatArray:
    """Return the homography that makes the four corners a rectangle of about the same size."""
    wide = (np.linalg.norm(corners[1] - corners[0]) + np.linalg.norm(corners[2] - corners[3])) / 2
    high = (np.linalg.norm(corners[3] - corners[0]) + np.linalg.norm(corners[2] - corners[1])) / 2
    return homography(corners, np.array([[0, 0], [wide, 0], [wide, high], [0, high]]))


def _best_axes(
    signals: tuple[Profiles, ...], to_flat: FloatArray, wish: Wish, corners: FloatArray | None
) -> tuple[tuple[int, Axis], tuple[int, Axis]] | None:
    """Return the best lattice across and along among the likely pitches, each with the number of its signal."""
    fitted: dict[bool, list[tuple[int, Axis]]] = {False: [], True: []}
    told: dict[bool, float] = {}
    if corners is not None:
        box = apply(to_flat, corners)
        if wish.knots is not None:
            told[False] = (
                float(np.linalg.norm(box[1] - box[0]) + np.linalg.norm(box[2] - box[3])) / 2 / wish.knots
            )
        if wish.rows is not None:
            told[True] = (
                float(np.linalg.norm(box[3] - box[0]) + np.linalg.norm(box[2] - box[1])) / 2 / wish.rows
            )
    for level in (False, True):
        for index, signal in enumerate(signals):
            profile = signal.along if level else signal.across
            pitches = (
                [told[level]] if level in told else [pitch for pitch, _strength in likely_pitches(profile)]
            )
            fitted[level] += [
                (index, fit_axis(tiles_of(profile, pitch, level, shift=signal.shift))) for pitch in pitches
            ]
    # Squares are about as wide as high: the two axes are chosen together.
    best: tuple[float, tuple[int, Axis], tuple[int, Axis]] | None = None
    for one in fitted[False]:
        for two in fitted[True]:
            odd = np.log(one[1].pitch / two[1].pitch) / 0.35
            worth = _worth(*one, fitted[False]) + _worth(*two, fitted[True]) - 0.5 * odd**2
            if best is None or worth > best[0]:
                best = (float(worth), one, two)
    return best[1:] if best is not None else None


def _worth(signal: int, axis: Axis, rivals: list[tuple[int, Axis]]) -> float:
    """Return what a lattice along one axis is worth beside the others found along it.

    At a half or a third of the true pitch edges keep step just as well, and lines may do so even better (marks in the
    squares' middles do that); at a multiple of the true pitch they do not. So a multiple that is fairly in step is preferred.
    Where lines are drawn, they and the edges keep step at one pitch; the grain of a table has no such lines.
    """
    support = {
        id(rival): rival.coherence + _AGREEING * _agreeing(number, rival, rivals) for number, rival in rivals
    }
    top_signal, top = max(rivals, key=lambda rival: support[id(rival[1])])
    times = axis.pitch / top.pitch
    multiple = round(times) in (2, 3) and abs(times - round(times)) < 0.05
    enough = 0.75 if signal == top_signal else 0.3
    if multiple and axis.coherence > max(0.1, enough * top.coherence):
        return float(np.log(support[id(top)] + 1e-6)) + 0.1
    return float(np.log(support[id(axis)] + 1e-6))


def _agreeing(signal: int, axis: Axis, rivals: list[tuple[int, Axis]]) -> float:
    """Return how well the other signal keeps step at the same pitch."""
    return max(
        (
            rival.coherence
            for number, rival in rivals
            if number != signal and abs(np.log(rival.pitch / axis.pitch)) < 0.04
        ),
        default=0.0,
    )


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


def _reading_of(
    sheet: OpenedSheet, wish: Wish, rgb: NDArray[np.uint8], squares_found: Found, at: tuple[int, int]
) -> Reading:
    extent, shades = squares_found.extent, squares_found.shades
    x, y = squares_found.lattice.points_of(
        np.array([extent.left, extent.right], dtype=np.float64),
        np.array([extent.top, extent.bottom], dtype=np.float64),
    )
    order = ((0, 0), (0, 1), (1, 1), (1, 0))
    corners = tuple(((float(x[i]) + at[0]) * sheet.scale, (float(y[i]) + at[1]) * sheet.scale) for i in order)
    c = np.array(corners)
    knots, rows = shades.cells.shape[1], shades.cells.shape[0]
    across = float(np.linalg.norm(c[1] - c[0]) + np.linalg.norm(c[2] - c[3])) / 2 / knots
    along = float(np.linalg.norm(c[3] - c[0]) + np.linalg.norm(c[2] - c[1])) / 2 / rows
    doubt = doubted(shades.confidence)
    unsure = float((shades.confidence < 0.9).mean())
    asks: list[Ask] = []
    size_sure = min(1.0, squares_found.coherence / 0.3)
    if not squares_found.told:
        if not squares_found.size_clear:
            asks.append(Ask.SIZE)
        if extent.sure < 0.55:
            asks.append(Ask.EDGES)
        if min(across, along) / sheet.scale < _FEW_POINTS:
            asks.append(Ask.POINTS)
    if wish.colours is None and shades.clear < 0.7:
        asks.append(Ask.COLOURS)
    if unsure > 0.03:
        asks.append(Ask.SQUARES)
    sure = (
        (1.0 if squares_found.told else size_sure * min(1.0, 0.4 + extent.sure))
        * (1.0 if wish.colours is not None else 0.7 + 0.3 * shades.clear)
        * (1 - min(0.6, 4 * unsure))
    )
    return Reading(
        sheet=sheet,
        wish=wish,
        how=How.PAPER,
        cells=shades.cells,
        palette=shades.palette,
        confidence=shades.confidence,
        doubted=doubt,
        corners=corners,
        points_across=across,
        points_along=along,
        sure=float(sure),
        asks=tuple(asks),
        lattice=squares_found.lattice.moved(extent.left, extent.top)
        if squares_found.lattice.across.pitch != 1.0
        else squares_found.lattice,
        found=squares_found,
    )


def _marks_alone(rgb: NDArray[np.uint8], found: Found) -> bool:
    """Return whether most squares carry marks and none a colour: such a mark stands for a yarn, and is not read."""
    labs = np.array([lab_of_hex(colour) for colour in found.shades.palette])
    if len(labs) > _MOST_MARK_SHADES or float(np.hypot(labs[:, 1], labs[:, 2]).max()) > _NEUTRAL:
        return False
    # Dots have colours, though they may be greys; most of a square with a mark is paper, in every square.
    if np.bincount(found.shades.cells.ravel()).max() < _MOSTLY_PAPER * found.shades.cells.size:
        return False
    return marked_share(rgb, found.lattice, found.extent) > _MARKED


def _only_marks() -> BadPicture:
    return BadPicture(
        _(
            "The squares in this picture carry marks and no colours, and marks are not read. Colour the squares by "
            "their key, or choose a picture whose squares are coloured."
        )
    )


def _only_grid() -> BadPicture:
    return BadPicture(
        _(
            "The squares in this picture are all empty. Take a picture of a cartoon whose squares are coloured."
        )
    )


def _check_something_seen(rgb: NDArray[np.uint8]) -> None:
    some = rgb[:: max(1, rgb.shape[0] // 200), :: max(1, rgb.shape[1] // 200)].astype(np.float32)
    if float(np.quantile(some.mean(axis=2), 0.98)) < 40:
        raise BadPicture(_("The picture is too dark to see squares in. Take it again with more light."))
    # Two yarns may be as light as each other and differ in their colour alone.
    if float((np.quantile(some, 0.99, axis=(0, 1)) - np.quantile(some, 0.01, axis=(0, 1))).max()) < 12:
        raise BadPicture(
            _("The picture is of one colour all over. Take it again with the whole cartoon in view.")
        )


def _no_cartoon() -> BadPicture:
    return BadPicture(
        _(
            "No squares were found in this picture. Take it straight from the front, near enough that a square is at "
            "least five pixels wide, or set the four corners and the numbers by hand. "
            "A picture that is no cartoon can be turned into knots instead."
        )
    )
