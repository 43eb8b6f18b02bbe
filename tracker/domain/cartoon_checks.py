"""What a master's eye would remark on a cartoon: offered, never forced. Pure sums over the cells.

All thresholds are our own choice where no source is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tracker.domain import defaults
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import ciede2000, lab_of_hex

Square = tuple[int, int]
"""(row, knot), both from 0; row 0 is woven first."""

HANDFUL = defaults.Default(
    12, "knots", "a colour with fewer knots is hardly worth a dye bath; our choice, no source"
)
COLOURS_AT_HAND = defaults.Default(
    12, "colours", "balls a weaver keeps ready above one row; common practice, no source"
)
SYMMETRY_SHARE = defaults.Default(
    0.97, "share", "squares that must mirror before a cartoon counts as meant to be symmetric; our choice"
)
MOST_LISTED = 2000
"""Squares listed for one remark at most."""


class Axis(StrEnum):
    """About what a cartoon mirrors."""

    UPRIGHT = "upright"
    """Left and right are alike."""
    LEVEL = "level"
    """Bottom and top are alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Symmetry:
    """A symmetry that is meant but broken in places."""

    axis: Axis
    share: float
    """Share of squares that have their like on the other side."""
    broken: tuple[Square, ...]
    """Squares that differ from their mirror image, those of the first half."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlikeShades:
    """Two colours of the palette that are hard to tell apart."""

    first: int
    second: int
    delta_e: float
    """CIEDE2000."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenBorder:
    """A side of the border whose repeat does not come out even between the corners."""

    side: str
    """bottom, top, left or right."""
    repeat: int
    """Knots or rows after which the border repeats."""
    left_over: int
    """Knots or rows that are left over between the corners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarks:
    """All that was remarked on a cartoon."""

    strays: tuple[Square, ...]
    alike: tuple[AlikeShades, ...]
    symmetry: tuple[Symmetry, ...]
    rare: tuple[int, ...]
    """Colours used for fewer than a handful of knots."""
    crowded_rows: tuple[int, ...]
    """Rows (from 0) with more colours than a weaver keeps ready."""
    borders: tuple[OpenBorder, ...]


def remarks_on(picture: CartoonPicture) -> Remarks:
    """Return everything a master's eye would remark."""
    return Remarks(
        strays=stray_knots(picture.cells),
        alike=alike_shades(picture.palette),
        symmetry=broken_symmetry(picture.cells),
        rare=rare_colours(picture.cells, len(picture.palette)),
        crowded_rows=crowded_rows(picture.cells, len(picture.palette)),
        borders=open_borders(picture.cells),
    )


def stray_knots(cells: NDArray[np.uint8]) -> tuple[Square, ...]:
    """Return single knots that differ from all eight round them, which are all of one colour."""
    if min(cells.shape) < 3:
        return ()
    middle = cells[1:-1, 1:-1]
    first = cells[:-2, :-2]
    alone = middle != first
    for down in (0, 1, 2):
        for across in (0, 1, 2):
            if (down, across) != (1, 1):
                alone &= (
                    cells[
                        down : cells.shape[0] - 2 + down,
                        across : cells.shape[1] - 2 + across,
                    ]
                    == first
                )
    rows, knots = np.nonzero(alone)
    return tuple((int(row) + 1, int(knot) + 1) for row, knot in zip(rows, knots, strict=True))[:MOST_LISTED]


def alike_shades(
    palette: tuple[str, ...], delta_e: float = float(defaults.MERGE_DELTA_E)
) -> tuple[AlikeShades, ...]:
    """Return pairs of colours nearer than `delta_e` (CIEDE2000), the nearest first."""
    labs = np.array([lab_of_hex(colour) for colour in palette])
    if len(labs) < 2:
        return ()
    away = ciede2000(labs[:, None], labs[None])
    pairs = [
        AlikeShades(first=first, second=second, delta_e=float(away[first, second]))
        for first in range(len(labs))
        for second in range(first + 1, len(labs))
        if away[first, second] < delta_e
    ]
    return tuple(sorted(pairs, key=lambda pair: pair.delta_e))


def broken_symmetry(cells: NDArray[np.uint8]) -> tuple[Symmetry, ...]:
    """Return symmetries about the middle that nearly all squares keep, with the squares that break them.

    A plain ground mirrors by itself: what counts is the share among squares that are not of the commonest colour, here or
    in their mirror image.
    """
    common = int(np.bincount(cells.ravel()).argmax()) if cells.size else 0
    remarks = []
    for axis, mirrored in ((Axis.UPRIGHT, cells[:, ::-1]), (Axis.LEVEL, cells[::-1])):
        differ = cells != mirrored
        drawn = (cells != common) | (mirrored != common)
        if not drawn.any() or not differ.any():
            continue
        share = 1 - float(differ.sum()) / float(drawn.sum())
        if share < SYMMETRY_SHARE:
            continue
        half = np.zeros(cells.shape, dtype=bool)
        if axis is Axis.UPRIGHT:
            half[:, : cells.shape[1] // 2] = True
        else:
            half[: cells.shape[0] // 2] = True
        rows, knots = np.nonzero(differ & half)
        broken = tuple((int(row), int(knot)) for row, knot in zip(rows, knots, strict=True))[:MOST_LISTED]
        remarks.append(Symmetry(axis=axis, share=share, broken=broken))
    return tuple(remarks)


def rare_colours(cells: NDArray[np.uint8], colours: int) -> tuple[int, ...]:
    """Return colours that occur, but in fewer than a handful of knots."""
    counts = np.bincount(cells.ravel(), minlength=colours)
    return tuple(int(colour) for colour in np.flatnonzero((counts > 0) & (counts < HANDFUL)))


def crowded_rows(cells: NDArray[np.uint8], colours: int) -> tuple[int, ...]:
    """Return rows with more colours than a weaver keeps ready."""
    if colours <= COLOURS_AT_HAND:
        return ()
    many = [int(np.count_nonzero(np.bincount(row, minlength=colours))) for row in cells]
    return tuple(row for row, count in enumerate(many) if count > COLOURS_AT_HAND)


def open_borders(cells: NDArray[np.uint8]) -> tuple[OpenBorder, ...]:
    """Return sides whose border repeats along the side but not a whole number of times between the corners."""
    remarks = []
    for side, band in (
        ("bottom", cells),
        ("top", cells[::-1]),
        ("left", cells.T),
        ("right", cells.T[::-1]),
    ):
        depth = _border_depth(band)
        if depth is None:
            continue
        between = band[:depth, depth : band.shape[1] - depth]
        repeat = _repeat_of(between)
        if repeat is None:
            continue
        left_over = between.shape[1] % repeat
        if left_over:
            remarks.append(OpenBorder(side=side, repeat=repeat, left_over=left_over))
    return tuple(remarks)


def _border_depth(band: NDArray[np.uint8]) -> int | None:
    """Return the depth of the border: the deepest band from the edge that still repeats along its side."""
    length = band.shape[1]
    deepest = None
    for depth in range(3, min(band.shape[0] // 3, length // 4, 40) + 1):
        between = band[:depth, depth : length - depth]
        if (between[1:] == between[:1]).all() or (between == between[:, :1]).all():
            continue
        # Shallower than the border, the corners' own motif still lies in the way.
        if _repeat_of(between) is not None and (between[-1] != between[-1, 0]).any():
            # A plain line, or a plain field, does not make the border deeper.
            deepest = depth
    return deepest


def _repeat_of(between: NDArray[np.uint8]) -> int | None:
    """Return the shortest step by which a band can be moved along itself and stay what it was, None without one."""
    length = between.shape[1]
    if (between == between[:, :1]).all():
        return None
    for step in range(2, length // 3 + 1):
        if np.array_equal(between[:, step:], between[:, :-step]):
            return step
    return None
