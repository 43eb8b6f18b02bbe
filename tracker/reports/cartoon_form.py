"""Reads a cartoon from a picture on the command line: writes one pixel a knot, prints what was found and what is doubted."""

from __future__ import annotations

import io
import json
import re
import sys
from math import isfinite
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import plain_colour_name, rgb_of_hex
from tracker.domain.errors import BadEntry, BadPicture
from tracker.pictures.paper.reading import read_sheet
from tracker.pictures.paper.understood import Reading, say_asks
from tracker.pictures.paper.wishes import Wish
from tracker.reports.files_out import write_numbered
from tracker.words import _, n_, number, percent

WOULD_ASK = 4
"""Exit code when the cartoon was written but the weaver should look at something."""
_MOST_LISTED = 40
"""Doubted squares named one by one in the text form; the JSON form has them all."""


def knots_of(text: str) -> tuple[int, int]:
    """Return (knots, rows) of "80x120".

    Raises
    ------
    BadEntry
        When it is written otherwise.
    """
    size = re.fullmatch(r"\s*(\d{1,5})\s*[xX×]\s*(\d{1,5})\s*", text)
    if size is None:
        raise BadEntry(
            _("“{text}” is not a size. Give knots and rows with --knots, such as 80x120.").format(
                text=text[:40]
            )
        )
    return int(size[1]), int(size[2])


def corners_of(text: str) -> tuple[tuple[float, float], ...]:
    """Return four points of "x,y x,y x,y x,y".

    Raises
    ------
    BadEntry
        When it is written otherwise.
    """
    numbers = re.findall(r"[^\s,;]+", text)
    try:
        values = [float(part) for part in numbers]
    except ValueError:
        values = []
    if len(values) != 8 or not all(map(isfinite, values)):
        raise BadEntry(
            _(
                "“{text}” is not four corners. Give them with --corners as x,y x,y x,y x,y: top "
                "left, top right, bottom right, bottom left, in pixels of the picture."
            ).format(text=text[:60])
        )
    return tuple((values[i], values[i + 1]) for i in range(0, 8, 2))


def png_of(picture: CartoonPicture) -> bytes:
    """Return a cartoon as a PNG file with one pixel a knot, as it hangs on the wall: row 1 at the bottom."""
    image = Image.fromarray(np.ascontiguousarray(picture.cells[::-1]))
    image.putpalette([part for colour in picture.palette for part in rgb_of_hex(colour)])
    out = io.BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


def doubted_squares(reading: Reading) -> list[dict[str, Any]]:
    """Return the doubted squares, the least sure first; rows count from 1 at the bottom, knots from 1 on the left."""
    rows, knots = np.nonzero(reading.doubted)
    order = np.argsort(reading.confidence[rows, knots], kind="stable")
    return [
        {
            "row": int(reading.rows - rows[place]),
            "knot": int(knots[place]) + 1,
            "colour": reading.palette[int(reading.cells[rows[place], knots[place]])],
            "confidence": round(float(reading.confidence[rows[place], knots[place]]), 3),
        }
        for place in order
    ]


def as_values(reading: Reading) -> dict[str, Any]:
    """Return what was found as plain values for JSON; units stand in the names."""
    counts = np.bincount(reading.cells.ravel(), minlength=len(reading.palette))
    return {
        "knots_across": reading.knots_across,
        "rows": reading.rows,
        "colours": [
            {"colour": colour, "name": plain_colour_name(colour), "knots": int(count)}
            for colour, count in zip(reading.palette, counts, strict=True)
        ],
        "how": reading.how.value,
        "points_across": round(reading.points_across, 3),
        "points_along": round(reading.points_along, 3),
        "corners_points": [[round(x, 1), round(y, 1)] for x, y in reading.corners],
        "sure": round(reading.sure, 3),
        "is_sure": reading.is_sure,
        "asks": [ask.value for ask in reading.asks],
        "ask_sentences": list(say_asks(reading)),
        "doubted": doubted_squares(reading),
    }


def as_text(reading: Reading) -> str:
    """Return what was found as plain text."""
    counts = np.bincount(reading.cells.ravel(), minlength=len(reading.palette))
    lines = [
        reading.sentence,
        n_(
            "{across} pixel to a knot across, {along} along",
            "{across} pixels to a knot across, {along} along",
            1 if reading.points_across == 1 else 2,
        ).format(across=number(reading.points_across, 2), along=number(reading.points_along, 2)),
        _("Sure: {percent}").format(percent=percent(reading.sure)),
    ]
    lines += [
        n_("  {colour} {name}: {knots} knot", "  {colour} {name}: {knots} knots", int(count)).format(
            colour=colour, name=plain_colour_name(colour), knots=number(int(count))
        )
        for colour, count in zip(reading.palette, counts, strict=True)
    ]
    lines += say_asks(reading)
    squares = doubted_squares(reading)
    if squares:
        lines.append(
            n_("{count} square is doubtful:", "{count} squares are doubtful:", len(squares)).format(
                count=len(squares)
            )
        )
        lines += [
            _("  row {row}, knot {knot}: {colour}, {percent} sure").format(
                row=square["row"],
                knot=square["knot"],
                colour=square["colour"],
                percent=percent(square["confidence"]),
            )
            for square in squares[:_MOST_LISTED]
        ]
        if len(squares) > _MOST_LISTED:
            lines.append(_("  and {count} more").format(count=len(squares) - _MOST_LISTED))
    return "\n".join(lines) + "\n"


def read_to_file(
    picture: Path,
    into: Path | None,
    *,
    knots: str | None = None,
    corners: str | None = None,
    colours: int | None = None,
    as_json: bool = False,
) -> int:
    """Read a cartoon, write it with one pixel a knot, print what was found; return the exit code.

    Raises
    ------
    LoomsideError
        When the picture is no cartoon that can be read, an option is not understood, or the file cannot be written.
    """
    if into is None:
        raise BadEntry(_("Say with --into FILE.png where the cartoon is to be written."))
    if into.suffix.casefold() != ".png":
        raise BadEntry(_("The cartoon is written as PNG. Let the name after --into end in .png."))
    across, along = knots_of(knots) if knots is not None else (None, None)
    wish = Wish(
        knots=across,
        rows=along,
        corners=corners_of(corners) if corners is not None else None,  # type: ignore[arg-type]
        colours=colours,
    )
    try:
        reading = read_sheet(picture, wish=wish)
    except MemoryError as trouble:
        raise BadPicture(
            _("There is not enough memory to read this picture. Choose a smaller one.")
        ) from trouble
    written = write_numbered(into.parent, into.name, png_of(reading.picture))
    if as_json:
        print(json.dumps({**as_values(reading), "file": str(written)}, ensure_ascii=False, indent=2))
    else:
        print(as_text(reading) + str(written))
    if reading.is_sure:
        return 0
    if not as_json:
        print(_("The cartoon was written, but look at it before you weave from it."), file=sys.stderr)
    return WOULD_ASK
