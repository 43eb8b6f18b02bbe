"""What the weaver set by hand of a picture, and the part of it that is looked at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS
from tracker.domain.errors import BadEntry
from tracker.pictures import limits
from tracker.pictures.paper.opening import OpenedSheet
from tracker.words import _

Point = tuple[float, float]


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


BEYOND = 0.25
"""Of the picture's side, how far beyond it a corner may lie: the photograph may have cut one off."""


def check_wish(wish: Wish) -> None:
    for count in (wish.knots, wish.rows):
        if count is not None and not limits.MIN_PAPER_SIDE <= count <= limits.MAX_SIDE:
            raise BadEntry(
                _("{count} is not a possible number of knots or rows. Enter {least} to {most}.").format(
                    count=count, least=limits.MIN_PAPER_SIDE, most=limits.MAX_SIDE
                )
            )
    if wish.colours is not None and not 1 <= wish.colours <= MAX_COLOURS:
        raise BadEntry(
            _("{count} is not a possible number of colours. Enter 1 to {most}.").format(
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


LEAST_AREA = 4
"""Points of a photograph that a square takes at least: of smaller ones nothing is told, and millions of them fill a phone's memory."""


def check_fits(sheet: OpenedSheet, wish: Wish) -> None:
    """Refuse what the picture cannot show: corners far outside of it, more knots and rows than it has points for.

    Raises
    ------
    BadEntry
        With a sentence, when a corner lies beyond the picture by more than `BEYOND` of its side, or a square would take less than
        `LEAST_AREA` points, in what a program drew less than one.
    """
    knots, rows = wish.knots or 0, wish.rows or 0
    area = sheet.width * sheet.height
    if (
        max(knots, rows) > max(sheet.width, sheet.height)
        or knots * rows * (LEAST_AREA if sheet.lossy else 1) > area
    ):
        raise BadEntry(
            _(
                "So many squares cannot be seen in a picture of {width} × {height} pixels. Count them again, "
                "or take the picture from nearer."
            ).format(width=round(sheet.width * sheet.scale), height=round(sheet.height * sheet.scale))
        )
    if wish.corners is None:
        return
    points = np.array(wish.corners, dtype=np.float64) / sheet.scale
    sides = np.array([sheet.width, sheet.height], dtype=np.float64)
    if ((points < -BEYOND * sides) | (points > (1.0 + BEYOND) * sides)).any():
        raise BadEntry(
            _("A corner lies far outside the picture, which is {width} × {height} pixels.").format(
                width=round(sheet.width * sheet.scale), height=round(sheet.height * sheet.scale)
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
