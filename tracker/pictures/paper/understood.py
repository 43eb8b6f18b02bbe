"""What was understood of a picture of a cartoon, and how sure that is: here is decided what the weaver is asked."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry
from tracker.pictures.paper.lattice import Lattice
from tracker.pictures.paper.opening import OpenedSheet
from tracker.pictures.paper.shades import Shades, doubted
from tracker.pictures.paper.squares import Extent, Squares
from tracker.pictures.paper.wishes import Point, Wish, cropped
from tracker.words import _, n_, number

SURE = 0.75
"""From here on a reading is called sure; below it the weaver is asked. Our choice, scored in DEVELOPERS.md."""
CLEAR_COLOURS = 0.7
"""How clearly colours must stand apart (`Shades.clear`) for their number to be believed unasked."""
CLEAR_LINES, CLEAR_EDGES = 0.4, 0.6
"""The share in step from which on the numbers are believed, of a sheet with lines and of one without."""
_OUTLINED = 0.2
"""The same, of a sheet whose lines are each seen over their whole length, with none between and none beyond."""
_FITTING, _SKIPPING = 0.85, 0.7
"""The share of the colours' variance explained where it is least: from the one on squares without lines fit however few edges keep
step, below the other they do not however many do. Right ones have 0.85 to 1, those that skip lines 0.3 to 0.4."""
_LEAST_FITTING = 0.3
"""The share of edges in step that squares without lines must keep even where they fit."""
_TURNING, _BY_CHANCE = 0.62, 1.6
"""Share of colour changes on every second or third line, along both sides, from which on found squares may be parts of knots (whole ones have
0.5 to 0.56), and how far beyond a half that may lie by chance, times the root of the lines."""
_FRAME, _FRAME_SPREAD = 0.97, 6.0
"""Share of the outermost squares on each side that have one colour where a frame runs round, and steps of a channel by which they may be
less even than others: squares half on the paper are."""
_BORDER_SPARE = 0.3
"""Squares of a white border that may lie outside the picture: a corner's place is known no better."""
_SLANTING_DEG = 25.0
"""How far rows may run aslant before a reading without lines is asked about; diagonals of lozenges stand at 45 degrees. Our choice."""
_MOST_UNSURE = 0.03
"""Share of squares less sure than nine in ten from which on that is said."""
_FEW_POINTS = 4.5
"""Points to a knot below which colours run into each other and the weaver is always asked."""


_CLEAR_FEW_POINTS, _FEW_OF_A_COLOUR = 6.0, 40
"""Points to a knot from which on a yarn is found of however few squares, and how many these are. Below, five of ten sheets with such yarns lost one."""


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
    BORDER = "border"
    """Whether a white border lies round it that nothing tells from the paper."""
    COLOURS = "colours"
    SQUARES = "squares"
    POINTS = "points"


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
        if self.extent.outlined and self.coherence >= _OUTLINED:
            return self.whole
        if self.extent.lined:
            clear = CLEAR_LINES if self.extent.ruled else CLEAR_EDGES
            return self.whole and self.coherence >= clear
        # Without lines, edges must lie on the lattice: the steps of a large motif keep some step too. Where few do, as in
        # noise or in a plain design, the squares themselves tell.
        if self.fit >= _FITTING and self.coherence >= _LEAST_FITTING:
            return not _turning(self.shades.cells)
        return self.whole and self.fit >= _SKIPPING and self.coherence >= CLEAR_EDGES


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
    bare_round: bool = False
    """Whether bare paper lies round it that has room for further squares: where it has a border as white as that, it is read without."""
    lattice: Lattice | None = None
    """Where the squares lie in the part of the opened picture that was looked at; None when points or blocks of points
    are the knots."""
    found: Found | None = None
    """What the reading rests on, kept so that a correction need not find it again."""

    @property
    def end_told(self) -> bool:
        """Whether the weaver said where the cartoon ends."""
        return self.wish.corners is not None

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
        return n_(
            "{knots} knots across, {rows} rows, {colours} colour",
            "{knots} knots across, {rows} rows, {colours} colours",
            len(self.palette),
        ).format(knots=self.knots_across, rows=self.rows, colours=len(self.palette))


def asks_pixel_size(reading: Reading) -> bool:
    """Return whether a clean picture of one pixel a knot leaves only the question whether it is one: nothing in it is doubtful."""
    return reading.how is How.POINTS and reading.asks == (Ask.SIZE,)


def _size_words(reading: Reading) -> str:
    """Say what the number of knots rests on where it is not sure."""
    if reading.how is How.POINTS:
        return _(
            "One pixel is taken as one knot: {knots} across, {rows} rows. Is that so? If a knot is larger in it, "
            "enter how many knots and rows there are."
        ).format(knots=number(reading.knots_across), rows=number(reading.rows))
    if reading.how is How.ENLARGED:
        return _(
            "The number of knots is not sure. A knot is taken as {across} × {along} pixels, because "
            "everything in the picture is a multiple of that. It could also be one pixel a knot."
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
            "It is not sure where the cartoon ends. Check the four corners, and move them if they are off."
        ),
        Ask.BORDER: _(
            "There is bare paper around it. If that is a white border of the cartoon, say how many "
            "knots wide it is."
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


def has_even_ring(cells: NDArray[np.uint8], share: float = 1.0) -> bool:
    """Return whether the outermost squares have one colour, on each side at least such a share of them."""
    sides = (cells[0], cells[-1], cells[:, 0], cells[:, -1])
    colour = np.bincount(np.concatenate(sides)).argmax()
    return all(float((side == colour).mean()) >= share for side in sides)


def _ends_in_frame(found: Found) -> bool:
    """Return whether a cartoon without lines ends where its colours do, unless a white border lies outside.

    A frame of one colour runs all round it, whole squares of it; bare paper lies beyond, and no square is as white as that, or numbers
    stand so near that no border lies between.
    """
    if found.extent.lined or not (found.extent.bare_round or found.extent.numbered):
        return False
    spread = found.squares.spread
    sides = (spread[0], spread[-1], spread[:, 0], spread[:, -1])
    even = _FRAME_SPREAD + float(np.median(spread))
    return has_even_ring(found.shades.cells, _FRAME) and max(float(np.median(side)) for side in sides) < even


def may_have_border(reading: Reading) -> bool:
    """Return whether a white border may lie round what was read: bare paper does, and nothing tells the two apart."""
    return reading.bare_round or (Ask.EDGES in reading.asks and not reading.end_told)


def border_wishes(reading: Reading, wide: int) -> dict[str, object]:
    """Return what a white border `wide` knots wide round the cartoon changes in the wish: corners and numbers, as fields of `Wish`.

    Raises
    ------
    BadEntry
        When the picture does not show so much round it.
    """
    knots, rows = reading.knots_across, reading.rows
    sheet = reading.sheet
    order = ((0, 0), (0, 1), (1, 1), (1, 0))
    if reading.found is not None:
        extent = reading.found.extent
        _rgb, at = cropped(sheet, reading.wish)
        x, y = reading.found.lattice.points_of(
            np.array([extent.left - wide, extent.right + wide], dtype=np.float64),
            np.array([extent.top - wide, extent.bottom + wide], dtype=np.float64),
        )
        corners = tuple(
            ((float(x[i]) + at[0]) * sheet.scale, (float(y[i]) + at[1]) * sheet.scale) for i in order
        )
    else:
        across, along = wide * reading.points_across, wide * reading.points_along
        corners = tuple(
            (x + (across if right else -across), y + (along if below else -along))
            for (x, y), (below, right) in zip(reading.corners, order, strict=True)
        )
    width, height = sheet.width * sheet.scale, sheet.height * sheet.scale
    spare = _BORDER_SPARE * max(reading.points_across, reading.points_along)
    if any(not (-spare <= x <= width + spare and -spare <= y <= height + spare) for x, y in corners):
        raise BadEntry(
            n_(
                "The picture ends before a border of {count} knot does. Take the picture from further away.",
                "The picture ends before a border of {count} knots does. Enter fewer, or take the picture from further away.",
                wide,
            ).format(count=wide)
        )
    return {"corners": corners, "knots": knots + 2 * wide, "rows": rows + 2 * wide}


def judged(
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
    in_frame = not squares_found.told and _ends_in_frame(squares_found)
    may_be_border = in_frame and not extent.numbered
    end_sure = 1.0 if in_frame else extent.sure
    if not squares_found.told:
        # Squares of several knots each have several colours, and are doubtful.
        mixed = unsure > _MOST_UNSURE and min(across, along) / sheet.scale >= _FEW_POINTS
        if not squares_found.size_clear or mixed or (not extent.lined and _slanting(c)):
            asks.append(Ask.SIZE)
        if end_sure < 0.55:
            asks.append(Ask.EDGES)
        elif may_be_border:
            asks.append(Ask.BORDER)
        if min(across, along) / sheet.scale < _FEW_POINTS:
            asks.append(Ask.POINTS)
    if wish.colours is None and (
        shades.clear < CLEAR_COLOURS or _few_of_a_colour(shades, min(across, along) / sheet.scale)
    ):
        asks.append(Ask.COLOURS)
    if unsure > _MOST_UNSURE:
        asks.append(Ask.SQUARES)
    sure = (
        (1.0 if squares_found.told else size_sure * min(1.0, 0.4 + end_sure))
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
        bare_round=may_be_border,
        lattice=squares_found.lattice.moved(extent.left, extent.top)
        if squares_found.lattice.across.pitch != 1.0
        else squares_found.lattice,
        found=squares_found,
    )


def _few_of_a_colour(shades: Shades, points: float) -> bool:
    """Return whether squares are so small that a yarn of a few of them may be lost among others, and there are such yarns."""
    return points < _CLEAR_FEW_POINTS and int(np.bincount(shades.cells.ravel()).min()) < _FEW_OF_A_COLOUR


def _slanting(corners: NDArray[np.float64]) -> bool:
    """Return whether rows run so aslant in the picture that a motif's diagonals may have been taken for them."""
    x, y = corners[1] - corners[0]
    return abs((np.degrees(np.arctan2(y, x)) + 45) % 90 - 45) > _SLANTING_DEG


def _turning(cells: NDArray[np.uint8]) -> bool:
    """Return whether the colours change, both ways, mostly on every second or third line: squares may be parts of knots then."""

    def take_turns(lines: NDArray[np.uint8]) -> bool:
        changes = (lines[1:] != lines[:-1]).sum(axis=1, dtype=np.int64)
        most = max(int(changes[start::times].sum()) for times in (2, 3) for start in range(times))
        # Of few lines every second one may have most changes by chance.
        return most > max(_TURNING, 0.5 + _BY_CHANCE / np.sqrt(len(changes))) * max(1, int(changes.sum()))

    return take_turns(cells) and take_turns(cells.T)
