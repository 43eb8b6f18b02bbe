"""The cartoon being mended, in words: the yarns to paint with, the square spoken of, what a master's eye would remark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tracker import theme
from tracker.domain.cartoon import CartoonPicture, CellArray, yarn_of_value
from tracker.domain.cartoon_checks import Axis, Remarks, remarks_on
from tracker.domain.layout import Given, expand, repeat
from tracker.domain.mending import Square, pile_yarns
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.files.typed import read_as
from tracker.presenters.cartoon_reading import MOST_DOUBTS
from tracker.presenters.plan.changes import take_cartoon
from tracker.presenters.plan.form import CartoonForm, PlanForm, cartoon_form
from tracker.words import _, n_, number

DOUBTS = "doubted squares"
"""Where squares read with doubt are kept beside the book, by the rug's id."""


@dataclass(frozen=True, slots=True)
class Thread:
    """A yarn to paint with."""

    yarn_id: str
    name: str
    number: str
    swatch: str


def threads(yarns: tuple[Yarn, ...]) -> tuple[Thread, ...]:
    """Return the pile yarns in the order of their numbers."""
    return tuple(
        Thread(yarn.id, yarn.name, str(yarn.number), yarn.swatch)
        for yarn in sorted(pile_yarns(yarns), key=lambda yarn: yarn.number)
    )


def yarns_to_be(form: PlanForm, picture: CartoonPicture) -> tuple[Yarn, ...]:
    """Return the pile yarns that a plan would have with this cartoon, each with the cartoon's values knotted in it."""
    shades = [colour.upper() for colour in picture.palette]
    planned = take_cartoon(form, cartoon_form(picture))
    return tuple(
        Yarn(
            id=yarn.id,
            rug_id=form.rug_id,
            role=Role.PILE,
            number=at + 1,
            name=yarn.name,
            swatch=yarn.swatch,
            cartoon_values=tuple(value for value, shade in enumerate(shades) if shade in yarn.shades),
        )
        for at, yarn in enumerate(planned.of(Role.PILE))
    )


def value_names(palette: tuple[str, ...], yarns: tuple[Yarn, ...]) -> tuple[str, ...]:
    """Return the name of the yarn in which each value of the cartoon is knotted."""
    owner = yarn_of_value(yarns, len(palette))
    return tuple(yarns[at].name if at >= 0 else _("no yarn") for at in owner)


def mended_picture(cells: CellArray, palette: tuple[str, ...], yarns: tuple[Yarn, ...]) -> np.ndarray:
    """Return the cartoon as it will be knotted, uint8 of shape (rows, knots, 3), the top row first."""
    owner = yarn_of_value(yarns, len(palette))
    shown = [
        yarns[yarn_index].swatch if yarn_index >= 0 else colour
        for colour, yarn_index in zip(palette, owner, strict=True)
    ]
    colours = np.array([[round(c * 255) for c in theme.channels(swatch)] for swatch in shown], dtype=np.uint8)
    return colours[cells[::-1]]


def square_words(square: Square, name: str) -> str:
    """Say which square it is and in which yarn it is knotted; rows and knots count from 1."""
    return _("Row {row}, knot {knot}: {yarn}").format(
        row=number(square[0] + 1), knot=number(square[1] + 1), yarn=name
    )


def woven_words(lowest_row: int, rows_woven: int) -> str:
    """Ask whether a change below the woven row is meant; `lowest_row` from 0."""
    return n_(
        "{woven} row is woven, and this changes row {row}. The rug on the loom stays as it is. The "
        "cartoon would then differ from it.",
        "{woven} rows are woven, and this changes row {row}. The rug on the loom stays as it is. The "
        "cartoon would then differ from it.",
        rows_woven,
    ).format(woven=number(rows_woven), row=number(lowest_row + 1))


def changed_words(knots: int) -> str:
    """Say how much a change changed."""
    return n_("{count} knot is changed.", "{count} knots are changed.", knots).format(count=number(knots))


# --- doubted squares ----------------------------------------------------------------------------------------------


def doubts_of(drafts: Any, rug_id: str, rows: int, knots: int) -> tuple[Square, ...]:
    """Return a rug's doubted squares from what is kept; what lies beside the cartoon, or is no square, is left out."""
    try:
        squares = read_as(dict[str, tuple[tuple[int, int], ...]], drafts or {}).get(rug_id, ())
    except (ValueError, TypeError):
        return ()
    return tuple((row, knot) for row, knot in squares[:MOST_DOUBTS] if 0 <= row < rows and 0 <= knot < knots)


def with_doubts(kept: Any, rug_id: str, squares: tuple[Square, ...]) -> dict[str, list[list[int]]] | None:
    """Return what to keep once a rug's doubted squares are these; None when nothing is left to keep."""
    doubts = {key: value for key, value in (kept or {}).items() if key != rug_id}
    if squares:
        doubts[rug_id] = [list(square) for square in squares[:MOST_DOUBTS]]
    return doubts or None


def doubts_laid_out(cartoon: CartoonForm) -> tuple[Square, ...]:
    """Return the doubted squares of the whole cartoon, when the file that was read was mirrored or repeated to make it.

    With a field or a border laid round it the squares are no longer told apart: none are returned then.
    """
    if not cartoon.doubted or cartoon.field_file or cartoon.strip_file or cartoon.corner_file:
        return ()
    given = Given(cartoon.given)
    across, along = cartoon.knots // cartoon.times_across, cartoon.rows // cartoon.times_along
    knots = (across + cartoon.shared_column) // 2 if given.mirrors_across else across
    rows = (along + cartoon.shared_row) // 2 if given.mirrors_along else along
    inside = tuple((row, knot) for row, knot in cartoon.doubted if 0 <= row < rows and 0 <= knot < knots)
    if given is Given.FULL and (cartoon.times_across, cartoon.times_along) == (1, 1):
        return inside
    cells = np.zeros((rows, knots), dtype=np.uint8)
    for square in inside:
        cells[square] = True
    whole = CartoonPicture(cells=cells, palette=())
    whole = expand(whole, given, shared_column=cartoon.shared_column, shared_row=cartoon.shared_row)
    whole = repeat(whole, cartoon.times_across, cartoon.times_along)
    found_rows, found_knots = np.nonzero(whole.cells)
    return tuple(zip(found_rows.tolist(), found_knots.tolist(), strict=True))[:MOST_DOUBTS]


# --- a master's remarks -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class RemarkCard:
    """Something worth a look; with squares it can be walked, with a pair of values one can be exchanged for the other."""

    title: str
    note: str
    squares: tuple[Square, ...] = ()
    exchange: tuple[int, int] | None = None


def remark_cards(
    cells: CellArray, palette: tuple[str, ...], names: tuple[str, ...]
) -> tuple[RemarkCard, ...]:
    """Return what a master's eye would remark on a cartoon: offered, never forced."""
    remarks = remarks_on(CartoonPicture(cells=cells, palette=palette))
    cards = []
    if remarks.strays:
        many = len(remarks.strays)
        cards.append(
            RemarkCard(
                n_("{count} single stray knot", "{count} single stray knots", many).format(
                    count=number(many)
                ),
                _("One knot of its own colour in the middle of another. Tap to walk them."),
                remarks.strays,
            )
        )
    cards += _symmetry_cards(remarks)
    for pair in remarks.alike:
        if names[pair.first] == names[pair.second]:
            continue  # two shades of the paper, knotted in one yarn
        cards.append(
            RemarkCard(
                _("{one} and {two} are hard to tell apart").format(
                    one=names[pair.first], two=names[pair.second]
                ),
                _("Colour distance {delta}. Tap to knot all in {one}.").format(
                    delta=number(pair.delta_e, 1), one=names[pair.first]
                ),
                exchange=(pair.second, pair.first),
            )
        )
    for value in remarks.rare:
        rows, knots = np.nonzero(cells == value)
        cards.append(
            RemarkCard(
                _("{yarn} has very few knots").format(yarn=names[value]),
                n_(
                    "{count} knot in the whole rug. Tap to see.",
                    "{count} knots in the whole rug. Tap to see.",
                    len(rows),
                ).format(count=number(len(rows))),
                tuple(zip(rows.tolist(), knots.tolist(), strict=True)),
            )
        )
    cards += _border_cards(remarks)
    if remarks.crowded_rows:
        many = len(remarks.crowded_rows)
        cards.append(
            RemarkCard(
                n_("{count} row of very many colours", "{count} rows of very many colours", many).format(
                    count=number(many)
                ),
                _("Such a row needs more balls than hands find easily. The first is row {row}.").format(
                    row=number(remarks.crowded_rows[0] + 1)
                ),
                tuple((row, 0) for row in remarks.crowded_rows),
            )
        )
    return tuple(cards)


def _symmetry_cards(remarks: Remarks) -> list[RemarkCard]:
    titles = {
        Axis.UPRIGHT: _("Left and right nearly mirror each other"),
        Axis.LEVEL: _("Bottom and top nearly mirror each other"),
    }
    return [
        RemarkCard(
            titles[remark.axis],
            n_(
                "{count} square differs from its mirror image. Tap to walk it.",
                "{count} squares differ from their mirror image. Tap to walk them.",
                len(remark.broken),
            ).format(count=number(len(remark.broken))),
            remark.broken,
        )
        for remark in remarks.symmetry
    ]


def _border_cards(remarks: Remarks) -> list[RemarkCard]:
    sides = {"bottom": _("bottom"), "top": _("top"), "left": _("left"), "right": _("right")}
    return [
        RemarkCard(
            _("The border does not close: {side}").format(side=sides[remark.side]),
            _("It repeats every {repeat} and leaves {left} over between the corners.").format(
                repeat=number(remark.repeat), left=number(remark.left_over)
            ),
        )
        for remark in remarks.borders
    ]


def aspect_of(book: RugBook) -> float:
    """Return the width of a knot over its height in the cloth."""
    return book.plan.rows_per_10cm / book.plan.knots_per_10cm
