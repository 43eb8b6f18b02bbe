"""What pages may ask about pictures of cartoons: opened, read, corrected, shown, knotted. Pages know no reader."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import rgb_of_hex
from tracker.domain.errors import BadPicture
from tracker.pictures import knotting
from tracker.pictures.assembling import Parts, assemble, look_at, read_part
from tracker.pictures.joining import Joined, ReadPart, Shift, join, size_with
from tracker.pictures.paper import showing
from tracker.pictures.paper.opening import OpenedSheet, open_sheet
from tracker.pictures.paper.reading import again, read_sheet
from tracker.pictures.paper.steps import Progress, StopReading
from tracker.pictures.paper.understood import (
    How,
    Reading,
    as_points,
    asks_pixel_size,
    border_wishes,
    may_have_border,
    say_asks,
)
from tracker.pictures.paper.wishes import Point, Wish
from tracker.reports.cartoon_form import png_of
from tracker.words import _

__all__ = [
    "Parts",
    "as_points",
    "asks_pixel_size",
    "assemble",
    "border_wishes",
    "look_at",
    "may_have_border",
    "png_of",
    "read_part",
    "say_asks",
]

Picture = NDArray[np.uint8]
LONGEST_PREVIEW = 900
"""Points of the longer side of a picture that shows the cloth before it is taken."""


@contextmanager
def _in_what_room_there_is() -> Iterator[None]:
    """Say it in a sentence when the memory does not suffice.

    Raises
    ------
    BadPicture
        With that sentence.
    """
    try:
        yield
    except MemoryError as trouble:
        raise BadPicture(_("The picture is too large for this phone. Choose a smaller one.")) from trouble


@_in_what_room_there_is()
def read(
    sheet: OpenedSheet, progress: Progress | None = None, stop: Callable[[], bool] | None = None
) -> Reading | None:
    """Return what is understood of an opened picture; None when it was stopped.

    Raises
    ------
    BadPicture
        When it is no cartoon that can be read.
    """
    try:
        return read_sheet(sheet, progress=progress, stop=stop)
    except StopReading:
        return None


@_in_what_room_there_is()
def correct(
    sheet: OpenedSheet,
    reading: Reading | None,
    wishes: dict[str, object],
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> Reading | None:
    """Return the picture read anew with what the weaver set by hand (fields of `Wish`); None when it was stopped.

    Raises
    ------
    BadPicture, BadEntry
        When it cannot be read so.
    """
    try:
        if reading is not None:
            return again(reading, progress=progress, stop=stop, **wishes)
        return read_sheet(sheet, wish=Wish(**wishes), progress=progress, stop=stop)  # type: ignore[arg-type]
    except StopReading:
        return None


def photograph(sheet: OpenedSheet) -> tuple[Picture, float]:
    """Return the picture small enough to be shown, and points of the file to one of its points."""
    return showing.photograph(sheet)


def straightened(reading: Reading) -> Picture:
    """Return the cartoon as the picture shows it, straightened, every knot alike in size."""
    return showing.straightened(reading)[0]


def between_corners(sheet: OpenedSheet, corners: tuple[Point, ...], knots: int, rows: int) -> Picture:
    """Return what lies between four corners, straightened at once."""
    return showing.between_corners(sheet, corners, knots, rows)[0]


def as_knots(picture: CartoonPicture) -> Picture:
    """Return a cartoon as a picture of one pixel a knot, the top row first."""
    palette = np.array([rgb_of_hex(colour) for colour in picture.palette], dtype=np.uint8)
    return palette[picture.cells[::-1]]


def is_plain(path: Path) -> bool:
    """Return whether a picture is a cartoon of one pixel a knot beyond doubt: no photograph, nothing enlarged.

    Raises
    ------
    BadPicture
        When it cannot be opened.
    """
    sheet = open_file(path)
    if sheet.lossy:
        return False
    try:
        reading = read_sheet(sheet)
    except BadPicture:
        return False
    return reading.how is How.POINTS and reading.is_sure


@_in_what_room_there_is()
def knot(
    sheet: OpenedSheet,
    densities: tuple[float, float],
    *,
    knots: int,
    rows: int,
    colours: int,
    yarns: tuple[str, ...],
    diffuse: bool,
    progress: Progress | None = None,
) -> tuple[CartoonPicture, Picture]:
    """Return a picture that is no cartoon as one, and how the cloth will show it.

    Parameters
    ----------
    densities
        Knots and rows per 10 cm.

    Raises
    ------
    BadEntry
        When the numbers cannot be.
    """
    picture = knotting.knot_picture(
        sheet, knots=knots, rows=rows, colours=colours, yarns=yarns, diffuse=diffuse, progress=progress
    )
    return picture, knotting.cloth_preview(picture, 1 / densities[0], 1 / densities[1], LONGEST_PREVIEW)


def mended(
    reading: Reading | Joined, picture: CartoonPicture, doubted: NDArray[np.bool_]
) -> Reading | Joined:
    """Return a reading with its squares as the weaver mended them, and those she still doubts.

    Parameters
    ----------
    picture
        The cartoon as it was mended, of the same size.
    doubted
        Which squares are still doubted, of shape (rows, knots), the top row first.
    """
    cells = np.ascontiguousarray(picture.cells[::-1])
    # What she looked at is certain, above all where parts of a cartoon lie over each other.
    told = (cells != reading.cells) | (reading.doubted & ~doubted)
    confidence = np.where(told, np.float32(1.0), reading.confidence)
    return replace(reading, cells=cells, palette=picture.palette, doubted=doubted, confidence=confidence)


def part_of(reading: Reading | Joined) -> ReadPart:
    """Return what is needed of a reading to join it to another, without its photograph.

    Chances in 255ths, as they are kept while the app is closed: joined again then, the parts must come out the same.
    """
    return ReadPart(
        cells=reading.cells,
        palette=reading.palette,
        confidence=(np.rint(reading.confidence * 255) / np.float32(255)).astype(np.float32),
        doubted=reading.doubted,
        picture=reading.picture,
    )


def part_again(
    picture: CartoonPicture, confidence: NDArray[np.float32], doubted: NDArray[np.bool_]
) -> ReadPart:
    """Return a part that was read before the app was closed."""
    return ReadPart(
        cells=np.ascontiguousarray(picture.cells[::-1]),
        palette=picture.palette,
        confidence=confidence,
        doubted=doubted,
        picture=picture,
    )


def shift_again(down: int, right: int, likeness: float) -> Shift:
    """Return where a part lay that was joined before the app was closed."""
    return Shift(down, right, likeness)


@_in_what_room_there_is()
def join_parts(
    first: ReadPart, second: ReadPart, shift: Shift | None = None
) -> tuple[Joined, tuple[tuple[int, int, Shift], ...]]:
    """Return two parts as one, and (rows, knots across, shift) of each way in which they fit, the taken one first.

    Raises
    ------
    BadPicture
        When they show nothing in common.
    """
    joined = join(first, second, shift)
    ways = (joined.shift, *joined.rivals)
    return joined, tuple((*size_with(first, second, way), way) for way in ways)


def rows_for(sheet: OpenedSheet, knots: int, knots_per_10cm: float, rows_per_10cm: float) -> int:
    """Return the rows with which the picture keeps its shape."""
    return knotting.rows_for(sheet.width, sheet.height, knots, knots_per_10cm, rows_per_10cm)


def sheet_of(rgb: Picture, name: str = "") -> OpenedSheet:
    """Return a picture that is in memory already as an opened one."""
    return OpenedSheet(rgb=rgb, scale=1.0, name=name, lossy=True)


def open_file(path: Path) -> OpenedSheet:
    """Return an opened picture.

    Raises
    ------
    BadPicture
        When it cannot be opened; the sentence says what to do.
    """
    return open_sheet(path, name=path.name)
