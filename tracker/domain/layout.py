"""Cartoons as they really come: halves, quarters, repeats, borders and fields, put together to a whole one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from tracker.domain import finished_size
from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS, CartoonPicture, CellArray
from tracker.domain.errors import BadPicture
from tracker.domain.rug import Cartoon, RugPlan
from tracker.words import CM_PER_INCH, _, number, size


class Given(StrEnum):
    """What part of the rug a picture shows."""

    FULL = "full"
    LEFT_HALF = "left half"
    RIGHT_HALF = "right half"
    BOTTOM_HALF = "bottom half"
    TOP_HALF = "top half"
    BOTTOM_LEFT = "bottom left quarter"
    BOTTOM_RIGHT = "bottom right quarter"
    TOP_LEFT = "top left quarter"
    TOP_RIGHT = "top right quarter"

    @property
    def mirrors_across(self) -> bool:
        """True where the other half of the width is the mirror image."""
        return self in _LEFT + _RIGHT

    @property
    def mirrors_along(self) -> bool:
        """True where the other half of the length is the mirror image."""
        return self in _BOTTOM + _TOP


_LEFT = (Given.LEFT_HALF, Given.BOTTOM_LEFT, Given.TOP_LEFT)
_RIGHT = (Given.RIGHT_HALF, Given.BOTTOM_RIGHT, Given.TOP_RIGHT)
_BOTTOM = (Given.BOTTOM_HALF, Given.BOTTOM_LEFT, Given.BOTTOM_RIGHT)
_TOP = (Given.TOP_HALF, Given.TOP_LEFT, Given.TOP_RIGHT)


def _check_knots(rows: int, knots: int) -> None:
    if rows * knots > MAX_KNOTS:
        raise BadPicture(
            _(
                "Put together, the cartoon would have {knots} × {rows} knots. At most {million} "
                "million are possible. Repeat it less often."
            ).format(knots=knots, rows=rows, million=MAX_KNOTS // 1_000_000)
        )


def expand(
    picture: CartoonPicture, given: Given, *, shared_column: bool = False, shared_row: bool = False
) -> CartoonPicture:
    """Return the whole cartoon of which `picture` is a half or a quarter.

    Parameters
    ----------
    picture
        The part, row 1 (the bottom one) first.
    given
        Which part it is.
    shared_column, shared_row
        The column (row) at the mirror is the rug's middle one and stands there once; otherwise it is doubled.
    """
    cells = picture.cells
    across = 2 * cells.shape[1] - shared_column if given.mirrors_across else cells.shape[1]
    along = 2 * cells.shape[0] - shared_row if given.mirrors_along else cells.shape[0]
    _check_knots(along, across)
    inner = slice(1 if shared_column else 0, None)
    if given in _LEFT:
        cells = np.concatenate([cells, cells[:, ::-1][:, inner]], axis=1)
    elif given in _RIGHT:
        cells = np.concatenate([cells[:, ::-1], cells[:, inner]], axis=1)
    inner = slice(1 if shared_row else 0, None)
    if given in _BOTTOM:
        cells = np.concatenate([cells, cells[::-1][inner]], axis=0)
    elif given in _TOP:
        cells = np.concatenate([cells[::-1], cells[inner]], axis=0)
    return CartoonPicture(cells=cells, palette=picture.palette, name=picture.name)


def repeat(picture: CartoonPicture, across: int = 1, along: int = 1) -> CartoonPicture:
    """Return the motif repeated `across` times in the width and `along` times in the length."""
    if across < 1 or along < 1:
        raise BadPicture(_("A motif is repeated at least once each way. Enter 1 or more."))
    _check_knots(picture.rows * along, picture.knots_across * across)
    return CartoonPicture(
        cells=np.tile(picture.cells, (along, across)), palette=picture.palette, name=picture.name
    )


def points_per_knot(cells: CellArray) -> tuple[int, int]:
    """Return (across, along) points with which each knot seems to be drawn; (1, 1) for a proper cartoon.

    The largest numbers into which all colour changes fall evenly. A picture drawn large for printing has, say, 8 x 8.
    """
    rows, knots = cells.shape
    step = max(1, (1 << 20) // max(1, knots))
    across = np.zeros(knots - 1, dtype=np.bool_)
    along = np.zeros(rows - 1, dtype=np.bool_)
    for first in range(0, rows, step):
        chunk = cells[first : first + step + 1]
        across |= (chunk[:, 1:] != chunk[:, :-1]).any(axis=0)
        along[first : first + len(chunk) - 1] = (chunk[1:] != chunk[:-1]).any(axis=1)
    sizes = []
    for changes, whole in ((across, knots), (along, rows)):
        places = np.flatnonzero(changes) + 1
        sizes.append(math.gcd(whole, *(int(place) for place in places)) if places.size else 1)
    return sizes[0], sizes[1]


def join_palettes(*pictures: CartoonPicture) -> tuple[tuple[str, ...], tuple[CellArray, ...]]:
    """Return one palette for several pictures, and the cells of each in it; equal colours become one."""
    order: dict[str, int] = {}
    tables = []
    for picture in pictures:
        tables.append([order.setdefault(colour.upper(), len(order)) for colour in picture.palette])
    if len(order) > MAX_COLOURS:
        raise BadPicture(
            _(
                "Together the pictures have {many} colours, more than {most}. Use the same colours in both."
            ).format(many=len(order), most=MAX_COLOURS)
        )
    cells = tuple(
        np.asarray(table, dtype=np.uint8)[picture.cells]
        for table, picture in zip(tables, pictures, strict=True)
    )
    return tuple(order), cells


def field_in_border(
    border: CartoonPicture, field: CartoonPicture, *, left: int | None = None, bottom: int | None = None
) -> CartoonPicture:
    """Return `border`, a picture of the whole rug, with `field` laid into it.

    `left` knots and `bottom` rows of the border stay free beside and below the field; None lays it in the middle.

    Raises
    ------
    BadPicture
        When the field does not fit.
    """
    spare_across = border.knots_across - field.knots_across
    spare_along = border.rows - field.rows
    from_left = spare_across // 2 if left is None else left
    from_bottom = spare_along // 2 if bottom is None else bottom
    if not (0 <= from_left <= spare_across and 0 <= from_bottom <= spare_along):
        raise BadPicture(
            _(
                "The field of {field_knots} × {field_rows} knots does not fit into the border of {knots} × {rows}. "
                "Make the border picture as large as the whole rug."
            ).format(
                field_knots=field.knots_across,
                field_rows=field.rows,
                knots=border.knots_across,
                rows=border.rows,
            )
        )
    palette, (around, inside) = join_palettes(border, field)
    around[from_bottom : from_bottom + field.rows, from_left : from_left + field.knots_across] = inside
    return CartoonPicture(cells=around, palette=palette, name=border.name)


def border_around(strip: CartoonPicture, corner: CartoonPicture, field: CartoonPicture) -> CartoonPicture:
    """Return `field` framed by a border motif: `strip` repeated along all four sides, `corner` in the corners.

    `strip` is one repeat of the bottom side, its outer edge below; `corner` is the bottom left corner and as high
    and as wide as the strip is high. The sides are the strip turned by a quarter; the far corners are mirrored.

    Raises
    ------
    BadPicture
        When the corner does not fit the strip, or a side is no whole number of repeats.
    """
    deep = strip.rows
    if (corner.rows, corner.knots_across) != (deep, deep):
        raise BadPicture(
            _(
                "The corner must be {deep} × {deep} knots, as deep as the border; it is {knots} × {rows}."
            ).format(deep=deep, knots=corner.knots_across, rows=corner.rows)
        )
    for side, what in ((field.knots_across, _("width")), (field.rows, _("length"))):
        if side % strip.knots_across:
            less = side // strip.knots_across * strip.knots_across
            raise BadPicture(
                _(
                    "The border's repeat of {repeat} knots does not go evenly into the field's {what} of {side}. "
                    "Make it {less} or {more}."
                ).format(
                    repeat=strip.knots_across, what=what, side=side, less=less, more=less + strip.knots_across
                )
            )
    rows, knots = field.rows + 2 * deep, field.knots_across + 2 * deep
    _check_knots(rows, knots)
    palette, (edge, angle, inside) = join_palettes(strip, corner, field)
    out = np.empty((rows, knots), dtype=np.uint8)
    out[deep:-deep, deep:-deep] = inside
    bottom = np.tile(edge, (1, field.knots_across // strip.knots_across))
    side_strip = np.tile(edge, (1, field.rows // strip.knots_across))
    # A bottom edge turned a quarter so that its outer side lies left.
    left = side_strip.T
    out[:deep, deep:-deep] = bottom
    out[-deep:, deep:-deep] = bottom[::-1]
    out[deep:-deep, :deep] = left
    out[deep:-deep, -deep:] = left[:, ::-1]
    out[:deep, :deep] = angle
    out[:deep, -deep:] = angle[:, ::-1]
    out[-deep:, :deep] = angle[::-1]
    out[-deep:, -deep:] = angle[::-1, ::-1]
    return CartoonPicture(cells=out, palette=palette, name=field.name)


def as_cartoon(picture: CartoonPicture, *, id: str, rug_id: str) -> Cartoon:
    """Return the cartoon of a rug as the book keeps it."""
    return Cartoon(
        id=id,
        rug_id=rug_id,
        cells=np.ascontiguousarray(picture.cells),
        palette=picture.palette,
        source_name=picture.name,
    )


# --- size --------------------------------------------------------------------------------------------------------------


class SizeWay(StrEnum):
    """What can give way when a cartoon and the planned size disagree."""

    KEEP_DENSITY = "keep the density"
    KEEP_SIZE = "keep the size"
    MIRROR = "mirror it"
    REPEAT = "repeat it"
    REDRAW = "redraw it"


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeChoice:
    """One way out, with all that it would set."""

    way: SizeWay
    sentence: str
    knots_across: int
    rows: int
    width_cm: float
    length_cm: float
    knots_per_10cm: float
    rows_per_10cm: float
    given: Given = Given.FULL
    times_across: int = 1
    times_along: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeCheck:
    """How a cartoon's size compares with the planned one, and the choices there are."""

    agrees: bool
    sentence: str
    width_cm: float
    """The cartoon's width at the planned density."""
    length_cm: float
    choices: tuple[SizeChoice, ...]


TOLERANCE = 0.01
"""Share by which width and length may differ before it is worth a word; at least one knot."""


def check_size(plan: RugPlan, knots_across: int, rows: int, unit: str = "cm") -> SizeCheck:
    """Compare a cartoon of `knots_across` x `rows` with the planned size; lengths are said in `unit`.

    Notes
    -----
    The choices: keep the density and let the size follow; keep the size and let the density follow; where the cartoon
    is close to a half or a quarter, mirror it; where a whole number of repeats comes close, repeat it; or redraw it,
    with the number of knots that are missing or too many.
    """

    def size_of(across: int, along: int) -> tuple[float, float]:
        """Return the finished size of so many knots and rows."""
        return (
            finished_size.finished_width_cm(plan, across / plan.knots_per_10cm * 10.0),
            finished_size.finished_length_cm(plan, along / plan.rows_per_10cm * 10.0),
        )

    width_cm, length_cm = size_of(knots_across, rows)
    wanted_knots = finished_size.knots_across(plan, plan.width_cm)
    wanted_rows = finished_size.rows_along(plan, plan.rows_per_10cm, plan.length_cm)

    def near(count: int, wanted: int) -> bool:
        return abs(count - wanted) <= max(1.0, TOLERANCE * wanted)

    agrees = near(knots_across, wanted_knots) and near(rows, wanted_rows)
    if agrees:
        sentence = _("The cartoon fits the plan: {size}.").format(size=size(width_cm, length_cm, unit))
        return SizeCheck(agrees=True, sentence=sentence, width_cm=width_cm, length_cm=length_cm, choices=())
    sentence = _(
        "At the planned density the cartoon of {knots} × {rows} knots makes {size}, but {wished} were planned."
    ).format(
        knots=number(knots_across),
        rows=number(rows),
        size=size(width_cm, length_cm, unit),
        wished=size(plan.width_cm, plan.length_cm, unit),
    )
    choices = [
        SizeChoice(
            way=SizeWay.KEEP_DENSITY,
            sentence=_("Keep the density: the rug becomes {size}.").format(
                size=size(width_cm, length_cm, unit)
            ),
            knots_across=knots_across,
            rows=rows,
            width_cm=width_cm,
            length_cm=length_cm,
            knots_per_10cm=plan.knots_per_10cm,
            rows_per_10cm=plan.rows_per_10cm,
        )
    ]
    per_10cm = CM_PER_INCH / 10.0 if unit == "inch" else 1.0
    across_10cm = finished_size.density_across(plan, knots_across, plan.width_cm)
    along_10cm = finished_size.density_along(plan, rows, plan.length_cm)
    choices.append(
        SizeChoice(
            way=SizeWay.KEEP_SIZE,
            sentence=(
                _("Keep the size: knot {across} × {along} per inch instead.")
                if unit == "inch"
                else _("Keep the size: knot {across} × {along} per 10 cm instead.")
            ).format(
                across=number(across_10cm * per_10cm, 1),
                along=number(along_10cm * per_10cm, 1),
            ),
            knots_across=knots_across,
            rows=rows,
            width_cm=plan.width_cm,
            length_cm=plan.length_cm,
            knots_per_10cm=across_10cm,
            rows_per_10cm=along_10cm,
        )
    )

    def grown(
        way: SizeWay, sentence: str, given: Given, across: int, along: int, times: tuple[int, int]
    ) -> SizeChoice:
        grown_width_cm, grown_length_cm = size_of(across, along)
        return SizeChoice(
            way=way,
            sentence=sentence,
            knots_across=across,
            rows=along,
            width_cm=grown_width_cm,
            length_cm=grown_length_cm,
            knots_per_10cm=plan.knots_per_10cm,
            rows_per_10cm=plan.rows_per_10cm,
            given=given,
            times_across=times[0],
            times_along=times[1],
        )

    wide, long = near(2 * knots_across, wanted_knots), near(2 * rows, wanted_rows)
    whole_wide, whole_long = near(knots_across, wanted_knots), near(rows, wanted_rows)
    if wide and long:
        choices.append(
            grown(
                SizeWay.MIRROR,
                _("It looks like a quarter: mirror it both ways."),
                Given.BOTTOM_LEFT,
                2 * knots_across,
                2 * rows,
                (1, 1),
            )
        )
    elif wide and whole_long:
        choices.append(
            grown(
                SizeWay.MIRROR,
                _("It looks like a half: mirror it left to right."),
                Given.LEFT_HALF,
                2 * knots_across,
                rows,
                (1, 1),
            )
        )
    elif long and whole_wide:
        choices.append(
            grown(
                SizeWay.MIRROR,
                _("It looks like a half: mirror it bottom to top."),
                Given.BOTTOM_HALF,
                knots_across,
                2 * rows,
                (1, 1),
            )
        )
    times_across = max(1, math.floor(wanted_knots / knots_across + 0.5))
    times_along = max(1, math.floor(wanted_rows / rows + 0.5))
    if times_across * times_along > 1 and times_across * knots_across * times_along * rows <= MAX_KNOTS:
        choices.append(
            grown(
                SizeWay.REPEAT,
                _("Repeat it {across} times across and {along} times along: {size}.").format(
                    across=times_across,
                    along=times_along,
                    size=size(*size_of(times_across * knots_across, times_along * rows), unit),
                ),
                Given.FULL,
                times_across * knots_across,
                times_along * rows,
                (times_across, times_along),
            )
        )
    choices.append(
        grown(
            SizeWay.REDRAW,
            _(
                "Redraw it with {knots} knots across and {rows} rows ({more_knots:+d} and {more_rows:+d})."
            ).format(
                knots=wanted_knots,
                rows=wanted_rows,
                more_knots=wanted_knots - knots_across,
                more_rows=wanted_rows - rows,
            ),
            Given.FULL,
            wanted_knots,
            wanted_rows,
            (1, 1),
        )
    )
    return SizeCheck(
        agrees=False, sentence=sentence, width_cm=width_cm, length_cm=length_cm, choices=tuple(choices)
    )
