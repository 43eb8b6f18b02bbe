"""What was understood of a picture of a cartoon, in words: how many knots, how sure, what to look at, how large it weaves."""

from __future__ import annotations

import zlib
from base64 import b64decode, b64encode
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Protocol, TypedDict

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS, CartoonPicture, ReadSquares
from tracker.presenters.plan.form import PlanForm
from tracker.presenters.plan.view import Line, density_words
from tracker.words import _, n_, number, size

MOST_SWATCHES = 32
"""Colours shown one by one; a reading with more is shown with its commonest."""
MOST_DOUBTS = 5000
"""Doubted squares kept for walking at most; more nobody walks."""
Squares = tuple[tuple[int, int], ...]
"""(row, knot) of squares, both from 0; row 0 is woven first."""
Corner = tuple[float, float]


class Wishes(TypedDict, total=False):
    """What the weaver set by hand of a picture that is being read (`pictures.paper.wishes.Wish`)."""

    knots: int | None
    rows: int | None
    colours: int | None
    corners: tuple[Corner, Corner, Corner, Corner] | None
    crop: tuple[float, float, float, float] | None


class Mends(TypedDict):
    """The squares of a reading that were mended by hand before it was taken."""

    size: tuple[int, int]
    """Rows and knots across of the reading."""
    palette: tuple[str, ...]
    """Its colours, those that were added last."""
    squares: tuple[str, ...]
    """The colour of each square that was changed, `_LOOKED_AT` where a doubted one is doubted no more, `_AS_READ` for all others; the
    top row first, a byte each, packed by zlib, in pieces of base 64."""


class KeptPart(TypedDict):
    """A part of a cartoon that was read from a photograph of its own, as it is kept while the app is closed."""

    name: str
    size: tuple[int, int]
    """Rows and knots across."""
    palette: tuple[str, ...]
    squares: tuple[str, ...]
    """The colour of each square, the top row first, a byte each, packed by zlib, in pieces of base 64."""
    chances: tuple[str, ...]
    """The chance that it is right, in 255ths, packed likewise."""
    doubts: tuple[str, ...]
    """Whether it is doubted, packed likewise."""


class KeptParts(TypedDict):
    """What was read of a cartoon in several photographs before the app was closed."""

    first: KeptPart
    second: KeptPart | None
    """The part it was joined to; None while that was being read."""
    shift: tuple[int, int, float] | None
    """Where they were joined: rows down, knots to the right, likeness."""


_AS_READ, _LOOKED_AT = 255, 254
_PIECE = 16_000
"""Characters of a piece: a draft's text may be no longer than 20,000."""
MOST_KEPT = 400_000
"""Characters kept while the app is closed at most: the file beside the book is read at every start. A million squares of which every
third was exchanged at random take about as many; of a cartoon's own areas, a tenth of that."""


Take = Callable[[Any, Squares], None]
"""Called with the cartoon (`domain.cartoon.CartoonPicture`) and its doubted squares, the least sure first."""


class View(StrEnum):
    """How the picture is looked at."""

    SQUARES = "squares"
    """Straightened, with the found squares over it."""
    CORNERS = "corners"
    """As it was taken, with four corners to drag."""
    CROP = "crop"
    """As it was taken, with a box to draw round what counts."""
    KNOTS = "knots"
    """As it was read: one square a knot."""


def view_words() -> tuple[tuple[str, View], ...]:
    """Return (words, view) of the ways to look at it."""
    return (
        (_("Squares"), View.SQUARES),
        (_("Corners"), View.CORNERS),
        (_("Cut out"), View.CROP),
        (_("Knots"), View.KNOTS),
    )


class ReadCartoon(Protocol):
    """What this page needs of a reading; `pictures.paper.understood.Reading` is one."""

    cells: NDArray[np.uint8]
    palette: tuple[str, ...]
    confidence: NDArray[np.float32]
    doubted: NDArray[np.bool_]
    asks: tuple[Any, ...]
    sure: float

    @property
    def knots_across(self) -> int: ...
    @property
    def rows(self) -> int: ...
    @property
    def is_sure(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class ReadingState:
    """What the page says about a reading."""

    found: str
    """"80 knots across, 120 rows, 6 colours"."""
    is_sure: bool
    verdict: str
    """"" beside a plain question."""
    asks: tuple[str, ...]
    size: str
    """How large that weaves at the plan's density."""
    has_doubts: bool
    mend: str
    """What leads to the squares one by one."""
    knots: Line
    rows: Line
    colours: Line
    swatches: tuple[tuple[str, str], ...]
    """(colour, share in words), the commonest first."""


def build_reading_state(
    reading: ReadCartoon,
    asks: tuple[str, ...],
    set_by_hand: frozenset[str],
    form: PlanForm,
    plain_question: bool = False,
) -> ReadingState:
    """Turn a reading into words.

    Parameters
    ----------
    asks
        A sentence for each thing the reading is not sure of.
    set_by_hand
        The wishes that are set: "knots", "rows", "colours".
    form
        The plan the cartoon is for: its density tells how large it weaves.
    plain_question
        What is asked is no doubt of the reading, so that it is asked as a question.
    """
    knots, rows = reading.knots_across, reading.rows
    doubted = int(reading.doubted.sum())
    counts = np.bincount(reading.cells.ravel(), minlength=len(reading.palette))
    # Mending may have left a colour without a square.
    colours = int(np.count_nonzero(counts))
    order = np.argsort(-counts, kind="stable")[: min(colours, MOST_SWATCHES)]
    return ReadingState(
        found=_("{knots} knots across, {rows} rows, {colours}").format(
            knots=number(knots),
            rows=number(rows),
            colours=n_("{count} colour", "{count} colours", colours).format(count=number(colours)),
        ),
        is_sure=reading.is_sure,
        verdict=_verdict(reading.is_sure, bool(asks), doubted, plain_question),
        asks=asks,
        size=_("That weaves {size} at {density}.").format(
            size=size(knots / form.knots_per_10cm * 10, rows / form.rows_per_10cm * 10, form.unit),
            density=density_words(form),
        ),
        has_doubts=doubted > 0,
        mend=n_("Look at the {count} doubted square", "Look at the {count} doubted squares", doubted).format(
            count=number(doubted)
        )
        if doubted
        else _("Mend single squares"),
        knots=_line(_("Knots across"), knots, "knots" in set_by_hand),
        rows=_line(_("Rows"), rows, "rows" in set_by_hand),
        colours=_line(_("Colours"), colours, "colours" in set_by_hand),
        swatches=tuple((reading.palette[int(value)], number(int(counts[value]))) for value in order),
    )


def _verdict(is_sure: bool, is_asked: bool, doubted: int, plain_question: bool) -> str:
    """Say how sure the reading is, and what comes first."""
    if not is_sure and not is_asked:
        # Nothing is doubtful by itself: a promise of what to look at would be followed by nothing.
        return _("Not quite sure. Compare the corners and a few squares with the paper before you take it.")
    if not is_sure:
        return "" if plain_question else _("Not sure. Please look at this before you take it:")
    if doubted:
        return n_(
            "The size and the colours are clear; {count} square is not. Look at it first.",
            "The size and the colours are clear; {count} squares are not. Look at them first.",
            doubted,
        ).format(count=number(doubted))
    return _("Everything fits. Look once whether it is so.")


def _line(label: str, count: int, by_hand: bool) -> Line:
    return Line(label, number(count), _("as you said") if by_hand else _("as found"))


def doubted_squares(reading: ReadCartoon) -> Squares:
    """Return (row, knot) of the doubted squares, row 0 woven first, the least sure square first."""
    from_top, knots = np.nonzero(reading.doubted)
    order = np.argsort(reading.confidence[from_top, knots], kind="stable")[:MOST_DOUBTS]
    rows = reading.rows
    return tuple((rows - 1 - int(from_top[place]), int(knots[place])) for place in order)


def used_colours(picture: CartoonPicture) -> CartoonPicture:
    """Return a cartoon without the colours that no square has any more."""
    used, cells = np.unique(picture.cells, return_inverse=True)
    if len(used) == len(picture.palette):
        return picture
    return CartoonPicture(
        cells=cells.reshape(picture.cells.shape).astype(np.uint8),
        palette=tuple(picture.palette[int(value)] for value in used),
        name=picture.name,
    )


def mends_of(read: ReadCartoon, mended: ReadCartoon) -> Mends | None:
    """Return what was mended of a reading by hand; None when nothing was, or more than is kept."""
    codes = np.where(read.doubted & ~mended.doubted, _LOOKED_AT, _AS_READ).astype(np.uint8)
    changed = read.cells != mended.cells
    codes[changed] = mended.cells[changed]
    if (codes == _AS_READ).all():
        return None
    squares = _packed(codes)
    if squares is None:
        return None
    return Mends(size=(read.rows, read.knots_across), palette=mended.palette, squares=squares)


def _packed(values: NDArray[np.uint8]) -> tuple[str, ...] | None:
    """Return a byte of each square as text in pieces; None of more than is kept."""
    text = b64encode(zlib.compress(values.tobytes(), 9)).decode("ascii")
    if len(text) > MOST_KEPT:
        return None
    return tuple(text[first : first + _PIECE] for first in range(0, len(text), _PIECE))


def _unpacked(pieces: tuple[str, ...], size: tuple[int, int]) -> NDArray[np.uint8] | None:
    """Return the bytes that were packed, of shape `size`; None where they are not so many."""
    many = size[0] * size[1]
    try:
        packed = b64decode("".join(pieces), validate=True)
        # No more is unpacked than there are squares, whatever the file holds.
        unpacked = zlib.decompressobj().decompress(packed, many + 1)
    except (ValueError, zlib.error):
        return None
    return np.frombuffer(unpacked, dtype=np.uint8).reshape(size) if len(unpacked) == many else None


def kept_part(part: ReadSquares) -> KeptPart | None:
    """Return a part of a cartoon as it can be kept while the app is closed; None of one too large."""
    squares, chances, doubts = (
        _packed(values.astype(np.uint8))
        for values in (part.cells, np.rint(part.confidence * 255), part.doubted)
    )
    if squares is None or chances is None or doubts is None:
        return None
    rows, knots = part.cells.shape
    return KeptPart(
        name=part.picture.name,
        size=(int(rows), int(knots)),
        palette=part.palette,
        squares=squares,
        chances=chances,
        doubts=doubts,
    )


def part_kept(kept: KeptPart) -> tuple[CartoonPicture, NDArray[np.float32], NDArray[np.bool_]] | None:
    """Return the cartoon of a part that was kept, the chance of each square and whether it is doubted, both from the top row; None when it is torn."""
    size, palette = kept["size"], kept["palette"]
    if min(size) < 1 or size[0] * size[1] > MAX_KNOTS or not 0 < len(palette) <= MAX_COLOURS:
        return None
    cells, chances, doubts = (
        _unpacked(pieces, size) for pieces in (kept["squares"], kept["chances"], kept["doubts"])
    )
    if cells is None or chances is None or doubts is None or int(cells.max()) >= len(palette):
        return None
    picture = CartoonPicture(cells=np.ascontiguousarray(cells[::-1]), palette=palette, name=kept["name"])
    return picture, chances.astype(np.float32) / np.float32(255), doubts > 0


def mended_as(read: ReadCartoon, mends: Mends) -> tuple[CartoonPicture, NDArray[np.bool_]] | None:
    """Return a reading's cartoon mended as it was before, and its doubted squares; None when it was read otherwise now."""
    palette = mends["palette"]
    if mends["size"] != (read.rows, read.knots_across) or palette[: len(read.palette)] != read.palette:
        return None
    codes = _unpacked(mends["squares"], mends["size"])
    if codes is None:
        return None
    changed = codes < _LOOKED_AT
    if changed.any() and int(codes[changed].max()) >= len(palette):
        return None
    cells = np.where(changed, codes, read.cells)
    return (
        CartoonPicture(cells=np.ascontiguousarray(cells[::-1]), palette=palette),
        read.doubted & (codes == _AS_READ),
    )


def doubted_again(read: ReadCartoon, squares: Squares) -> NDArray[np.bool_]:
    """Return which squares of a reading are doubted still, of shape (rows, knots), the top row first."""
    doubted = np.zeros(read.doubted.shape, dtype=bool)
    for row, knot in squares:
        doubted[read.rows - 1 - row, knot] = True
    return doubted


def build_missing_lines(wishes: dict[str, Any]) -> tuple[Line, Line]:
    """Return the questions for knots and rows of a picture in which nothing was found."""

    def line(label: str, count: int | None) -> Line:
        return Line(label, number(count) if count else _("not counted yet"))

    return line(_("Knots across"), wishes.get("knots")), line(_("Rows"), wishes.get("rows"))


def way_words(rows: int, knots: int, down: int, right: int) -> str:
    """Say how large parts of a cartoon become when they are joined in one of several ways, and where the next part then lies.

    Parameters
    ----------
    down, right
        How far the next part lies from the one before, in rows and knots.
    """
    if abs(down) >= abs(right):
        words = _("{knots} × {rows}, below") if down > 0 else _("{knots} × {rows}, above")
    else:
        words = _("{knots} × {rows}, to the right") if right > 0 else _("{knots} × {rows}, to the left")
    return words.format(knots=number(knots), rows=number(rows))


# --- a picture that is no cartoon ---------------------------------------------------------------------------------

FIRST_COLOURS = 8
"""Colours a picture is reduced to at first; our choice."""
MOST_KNOT_COLOURS = 64


@dataclass(frozen=True, slots=True)
class KnotWish:
    """How a picture that is no cartoon is to be knotted."""

    knots: int
    colours: int = FIRST_COLOURS
    own_yarns: bool = False
    """In the yarns of the plan rather than in colours of the picture's own."""
    diffuse: bool = False


def first_knot_wish(form: PlanForm) -> KnotWish:
    """Return the knots of the planned width, in colours of the picture's own."""
    return KnotWish(knots=max(2, form.knots))


def plan_yarns(form: PlanForm) -> tuple[str, ...]:
    """Return the colours ("#RRGGBB") of the plan's yarns, those a blank form starts with left out."""
    return tuple(yarn.swatch for yarn in form.yarns if yarn.role == "pile" and not yarn.untouched)


@dataclass(frozen=True, slots=True)
class KnotState:
    """What the page says about a picture that is knotted."""

    found: str
    size: str
    knots: Line
    colours: Line
    can_use_yarns: bool
    swatches: tuple[tuple[str, str], ...]


def build_knot_state(
    wish: KnotWish, cells: NDArray[np.uint8] | None, palette: tuple[str, ...], rows: int, form: PlanForm
) -> KnotState:
    """Turn a knotted picture into words; `cells` None while it is being knotted."""
    counts = (
        np.bincount(cells.ravel(), minlength=len(palette)) if cells is not None else np.zeros(0, dtype=int)
    )
    order = np.argsort(-counts, kind="stable")[:MOST_SWATCHES]
    return KnotState(
        found=_("{knots} knots across, {rows} rows, {colours}").format(
            knots=number(wish.knots),
            rows=number(rows),
            colours=n_("{count} colour", "{count} colours", len(palette)).format(count=number(len(palette))),
        )
        if cells is not None
        else _("{knots} knots across, {rows} rows").format(knots=number(wish.knots), rows=number(rows)),
        size=_("That weaves {size} at {density}.").format(
            size=size(wish.knots / form.knots_per_10cm * 10, rows / form.rows_per_10cm * 10, form.unit),
            density=density_words(form),
        ),
        knots=Line(_("Knots across"), number(wish.knots), _("the rows follow the picture")),
        colours=Line(_("Colours"), number(wish.colours), _("at most")),
        can_use_yarns=len(plan_yarns(form)) > 1,
        swatches=tuple((palette[int(value)], number(int(counts[value]))) for value in order),
    )
