"""Reads a cartoon from a photograph, a scan or an enlarged picture, and tells how sure it is.

`read_sheet` finds everything by itself; `again` reckons anew with what the weaver set by hand (corners, numbers of knots
and rows, a crop, the number of colours) and keeps the opened picture. A reading is a frozen value.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS
from tracker.domain.colour import lab_of_hex
from tracker.domain.errors import BadPicture
from tracker.pictures.opening import Source
from tracker.pictures.paper.drawn import (
    CLEAN_COLOURS,
    CLEAR_BLOCKS,
    LEAST_BLOCKS,
    few_colours,
    has_single_points,
    only_lines,
    read_blocks,
    read_points,
    read_ruled,
)
from tracker.pictures.paper.on_paper import find_lattice, find_squares, found_again
from tracker.pictures.paper.opening import OpenedSheet, open_sheet
from tracker.pictures.paper.ruled import may_have_squares
from tracker.pictures.paper.squares import marked_share
from tracker.pictures.paper.steps import Progress, Steps
from tracker.pictures.paper.understood import CLEAR_EDGES, Ask, Found, How, Reading, judged
from tracker.pictures.paper.wishes import Wish, check_fits, check_wish, cropped
from tracker.words import _

_LEAST_SURE = 0.3
"""Below it what was found by itself is taken for chance."""
_POOR = 0.5
"""Below it another explanation of the picture is tried as well."""
_HALVED_POINTS = 3.5
"""Points to a square, of a picture opened at half its size, below which squares are looked at with all its points (our choice): of 2.4, on a
sheet of 700,000, three in a hundred were wrong, so one in four hundred."""
_GOLDEN = (5**0.5 - 1) / 2
"""Whole multiples of it, taken modulo 1, lie evenly spread and on no common step."""
_MOST_MARK_SHADES, _NEUTRAL, _MOSTLY_PAPER, _MARKED = 4, 14.0, 0.8, 0.3
"""A sheet of marks has so many shades at most, each of so little chroma (CIELAB), one of them in so large a share of its
squares, and so large a share of marked squares."""


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
    steps = Steps(progress, stop)
    steps.at(0.0)
    wish = wish or Wish()
    check_wish(wish)
    sheet = source if isinstance(source, OpenedSheet) else open_sheet(source, name=name)
    check_fits(sheet, wish)
    steps.at(0.15)
    rgb, (left, top) = cropped(sheet, wish)
    corners = None
    if wish.corners is not None:
        corners = np.array(wish.corners, dtype=np.float64) / sheet.scale - [left, top]
    exact = few_colours(rgb) if corners is None and not sheet.lossy else None
    drawn_empty = exact is not None and len(exact.palette) == 1 and wish.colours != 1
    if exact is None or drawn_empty or len(exact.palette) > CLEAN_COLOURS:
        _check_something_seen(rgb)
    if exact is not None:
        if (wish.knots is None or wish.rows is None) and only_lines(exact.cells):
            raise _only_grid()
        reading = read_ruled(sheet, wish, exact, (left, top))
        if len(exact.palette) > MAX_COLOURS:
            exact = None
        elif reading is None:
            reading = read_blocks(sheet, wish, exact, (left, top))
        if reading is not None:
            if len(reading.palette) == 1 and wish.colours != 1:
                raise _only_grid()
            steps.at(1.0)
            return reading
    found = found_again(rgb, wish, before, steps)
    followed = find_lattice(rgb, wish, corners, exact is not None, steps) if found is None else None
    if followed is not None and followed.least_points(rgb) < _HALVED_POINTS:
        whole = _whole(sheet)
        if whole is not None:
            times, halved_at = sheet.scale / whole.scale, (left, top)
            sheet = whole
            rgb, (left, top) = cropped(sheet, wish)
            followed = followed.finer(times, (left / times - halved_at[0], top / times - halved_at[1]))
            if wish.corners is None:
                followed = followed.in_phase(rgb)
            else:
                corners = np.array(wish.corners, dtype=np.float64) / sheet.scale - [left, top]
    if followed is not None:
        found = find_squares(rgb, wish, corners, followed, exact is not None, steps)
    reading = judged(sheet, wish, rgb, found, (left, top)) if found is not None else None
    if reading is not None and exact is not None and (wish.knots is None or wish.rows is None):
        if not may_have_squares(exact.cells):
            # What a program drew in squares leaves lines on which no colour changes: this lattice fits by chance.
            reading = read_points(sheet, wish, rgb, exact, (left, top)) or reading
        elif min(reading.cells.shape) < LEAST_BLOCKS:
            # Large plain parts of a design drawn a point a knot lie on a coarse lattice by chance; or it is a checkerboard.
            points = read_points(sheet, wish, rgb, exact, (left, top))
            if points is not None and not has_single_points(exact.cells):
                points = replace(points, asks=tuple(dict.fromkeys((Ask.SIZE, *points.asks))), sure=0.6)
            reading = points or reading
        elif min(reading.cells.shape) < CLEAR_BLOCKS and Ask.SIZE not in reading.asks:
            reading = replace(reading, asks=(Ask.SIZE, *reading.asks), sure=min(reading.sure, 0.6))
    if reading is not None and corners is None:
        if found is not None and _marks_alone(rgb, found):
            raise _only_marks()
        if len(reading.palette) == 1 and wish.colours != 1:
            raise _only_grid()
        if reading.sure < _POOR and (found is None or found.coherence < CLEAR_EDGES):
            # Small pictures with softened edges keep some step by chance: one pixel a knot may explain them better.
            reading = read_points(sheet, wish, rgb, exact, (left, top)) or reading
        if reading.how is How.PAPER and reading.sure < _LEAST_SURE:
            # Bricks, faces and print keep some step too: squares so poor are none.
            raise _no_cartoon()
    if reading is None:
        reading = read_points(sheet, wish, rgb, exact, (left, top))
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


def _whole(sheet: OpenedSheet) -> OpenedSheet | None:
    """Return a sheet that was opened at half its size with all its points; None where they are all here, or cannot be had."""
    with suppress(BadPicture, MemoryError):
        return sheet.whole() if sheet.whole is not None else None
    return None


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
            "The squares in this picture have marks but no colours. Marks cannot be read. Colour the "
            "squares by their key, or choose a picture with coloured squares."
        )
    )


def _only_grid() -> BadPicture:
    return BadPicture(
        _(
            "The squares in this picture are all empty. Take a picture of a cartoon whose squares are coloured."
        )
    )


def _check_something_seen(rgb: NDArray[np.uint8]) -> None:
    # At uneven places: even ones may all lie on lines of a drawn grid.
    places = [np.unique((np.arange(200) * _GOLDEN % 1 * side).astype(int)) for side in rgb.shape[:2]]
    some = rgb[np.ix_(*places)].astype(np.float32)
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
            "No squares were found in this picture. Take it straight from the front and closer: a "
            "square needs at least five pixels. Or set the four corners and the numbers by hand. A "
            "picture that is not a cartoon can be turned into knots."
        )
    )
