"""The rug's own picture: the cartoon, or the bare rug, growing from the bottom row."""

from __future__ import annotations

import numpy as np

from tracker import theme
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.rug import Role, RugBook, RugStage

PALE = 0.80
"""How far the rows still to come are drawn towards the ground."""
LONGEST_SIDE = 1200
"""Pixels of the picture's longer side at the most; a larger cartoon is thinned for showing."""


LEAST_ASPECT, MOST_ASPECT = 0.2, 3.0
"""Width over height of the narrowest and the widest rug that is drawn as it is; others would be a thread."""


def _rgb(colour: str) -> tuple[int, int, int]:
    return tuple(round(c * 255) for c in theme.channels(colour))  # type: ignore[return-value]


def cell_colours(book: RugBook) -> np.ndarray:
    """Return the colour of every cartoon value as it will be knotted, uint8 of shape (values, 3).

    A value matched to a yarn shows that yarn's swatch, otherwise the cartoon's own palette.
    """
    assert book.cartoon is not None
    colours = [_rgb(colour) for colour in book.cartoon.palette]
    for yarn in book.yarns:
        if yarn.role is Role.PILE:
            for value in yarn.cartoon_values:
                if 0 <= value < len(colours):
                    colours[value] = _rgb(yarn.swatch)
    return np.array(colours, dtype=np.uint8)


def bare_rows(book: RugBook) -> np.ndarray:
    """Return the rug without a cartoon: one colour a row, uint8 of shape (rows, 1, 3).

    Each session's rows are set off from the next by a slightly other shade, so that the evenings show.
    """
    rows = max(1, book.plan.rows)
    pile = book.yarns_of(Role.PILE)
    base = np.array(_rgb(pile[0].swatch if pile else "#B08D62"), dtype=float)
    picture = np.tile(base, (rows, 1, 1)).reshape(rows, 1, 3)
    woven = 0
    for index, session in enumerate(book.sessions):
        to = max(0, min(rows, woven + session.rows))
        if to > woven:
            picture[woven:to] = base * (1.0 if index % 2 else 0.9)
        woven = to
    return np.clip(picture, 0, 255).astype(np.uint8)


def shown_rows(book: RugBook) -> int:
    """Return how many rows the picture has: the plan's, and of a finished rug those that were woven, for no more will come."""
    planned = max(1, book.plan.rows)
    if book.plan.stage is RugStage.FINISHED and book.rows_woven > 0:
        return min(planned, book.rows_woven)
    return planned


def shown_aspect(book: RugBook) -> float:
    """Return the picture's width over its height."""
    plan = book.plan
    aspect = plan.width_cm / plan.length_cm * max(1, plan.rows) / shown_rows(book)
    return max(LEAST_ASPECT, min(MOST_ASPECT, aspect))


def rug_picture(
    book: RugBook, ground: str = theme.LIGHT.card, longest: int = LONGEST_SIDE, mirrored: bool = False
) -> np.ndarray:
    """Draw the rug as it stands; before its first knot, as it will be.

    Parameters
    ----------
    book
        The rug with its cartoon, if it has one.
    ground
        Colour towards which the rows to come are paled.
    longest
        Pixels of the longer side at the most.
    mirrored
        The weaver works from the back: a row begins at the right end of the picture.

    Returns
    -------
    numpy.ndarray
        uint8 of shape (rows, knots, 3), row 1 of the rug first (the order a texture wants).
    """
    if book.cartoon is None:
        picture, step = bare_rows(book), 1
    else:
        cells = book.cartoon.cells
        step = max(1, -(-max(cells.shape) // longest))
        picture = cell_colours(book)[cells[::step, ::step]]
    picture = picture[: -(-shown_rows(book) // step)]
    woven = -(-book.rows_woven // step)
    across = picture.shape[1]
    begun = 0
    if 0 <= woven < len(picture) and woven * step == book.rows_woven:
        begun = round(across * book.knots_begun / book.knots_across)
    part = slice(across - begun, across) if mirrored else slice(0, begun)
    if not woven and not begun:
        return picture
    tied = picture[woven, part].copy() if begun else None
    to_come = picture[woven:].astype(np.uint16)
    pale = np.array(_rgb(ground), dtype=np.uint16)
    share = round(PALE * 256)
    picture[woven:] = ((to_come * (256 - share) + pale * share) >> 8).astype(np.uint8)
    if tied is not None:
        picture[woven, part] = tied
    return picture


def chosen_cartoon(picture: CartoonPicture, swatches: dict[str, str], longest: int = 600) -> np.ndarray:
    """Draw a cartoon that is being planned, each colour as its yarn where it has one.

    Parameters
    ----------
    picture
        The cartoon.
    swatches
        Yarn colour by cartoon colour, both "#RRGGBB".
    longest
        Pixels of the longer side at the most.

    Returns
    -------
    numpy.ndarray
        uint8 of shape (rows, knots, 3), row 1 first.
    """
    colours = np.array([_rgb(swatches.get(c.upper(), c)) for c in picture.palette], dtype=np.uint8)
    step = max(1, -(-max(picture.cells.shape) // longest))
    return colours[picture.cells[::step, ::step]]
