"""The rug's own picture: the cartoon, or the bare rug, growing from the bottom row."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracker import theme
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.rows import shares_of
from tracker.domain.rug import Role, RugBook, RugStage

PALE = 0.62
"""How far the rows still to come are drawn towards the ground."""
UNDYED = "#B08D62"
"""Colour of a rug of which no yarn is known."""
TUFTS_ACROSS, MOST_TUFT_PX, LEAST_ROUND_PX = 132, 12, 4
"""Of a rug without a cartoon: tufts across, px of the largest one, and from which size on it is drawn round."""
SPUN_SEED = 7
TUFT_SHADES, ROW_SHADES, SHADED_ROWS, EVENING_SHADE = 0.08, 0.10, 5, 0.9
"""How far tufts of one yarn, and rows of one dyeing, differ; over how many rows a shade runs; shade of every second evening."""
PLANNED_SIDE = 600
"""Pixels of the longer side of a rug that is being planned."""
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


def bare_rug(book: RugBook, longest: int) -> np.ndarray:
    """Return the rug without a cartoon as a plain one: the yarn knotted most is its field, the others are bands round it.

    Each yarn takes its share of the cloth: the second one as the border, the rest as guards at both sides of it.
    Each session's rows are set off from the next by a slightly other shade, so that the evenings show.

    Parameters
    ----------
    book
        The rug.
    longest
        Pixels of the longer side at the most.

    Returns
    -------
    numpy.ndarray
        uint8 of shape (height, width, 3), the rug's foot first.
    """
    rows = shown_rows(book)
    pile = book.yarns_of(Role.PILE)
    shares, _source = shares_of(pile) if pile else ((1.0,), "")
    picture = plain_rug(
        [yarn.swatch for yarn in pile], shares, shown_aspect(book), book.plan.knots_across, longest
    )
    woven = 0
    for index, session in enumerate(book.sessions):
        to = max(0, min(rows, woven + session.rows))
        if to > woven and not index % 2:
            low, top = (round(row / rows * len(picture)) for row in (woven, to))
            picture[low:top] *= EVENING_SHADE
        woven = to
    return np.clip(picture.round(), 0, 255).astype(np.uint8)


def plain_rug(
    swatches: Sequence[str], shares: Sequence[float], aspect: float, knots_across: int, longest: int
) -> np.ndarray:
    """Return a rug of yarns without a design, each band as much of the cloth as its share.

    Parameters
    ----------
    swatches
        Colours of the yarns, "#RRGGBB"; none for undyed ones.
    shares
        Of the cloth by yarn, in any unit.
    aspect
        Width over height.
    knots_across
        Knots of a row: no more tufts are drawn.
    longest
        Pixels of the longer side at the most.

    Returns
    -------
    numpy.ndarray
        float of shape (height, width, 3), from 0 to about 255, the rug's foot first.
    """
    across = min(TUFTS_ACROSS, max(1, knots_across), longest, max(1, round(longest * aspect)))
    up = min(longest, max(1, round(across / aspect)))
    side = max(1, min(MOST_TUFT_PX, longest // max(across, up)))
    colours = np.array([_rgb(swatch) for swatch in swatches] or [_rgb(UNDYED)], dtype=float)
    bands = _from_the_edge(shares)
    ends = np.cumsum([shares[band] for band in bands]) / max(1e-9, sum(shares))
    # A band lies where so much of the cloth is nearer to an edge: by quantiles of the distance each has its share.
    wide, high = np.minimum(np.arange(across), np.arange(across)[::-1]), np.arange(up)
    inward = np.minimum(wide[None, :], np.minimum(high, high[::-1])[:, None])
    kind = np.searchsorted(np.quantile(inward, np.minimum(ends[:-1], 1.0)), inward, side="left")
    tufts = colours[np.array(bands)[kind]]
    # No two tufts of hand-spun wool are quite alike, nor two rows of one dyeing.
    spun = np.random.default_rng(SPUN_SEED)
    shades = np.convolve(spun.random(up + SHADED_ROWS - 1), np.ones(SHADED_ROWS) / SHADED_ROWS, mode="valid")
    tufts = tufts * (1.0 + TUFT_SHADES * (spun.random((up, across, 1)) - 0.5))
    tufts *= 1.0 + ROW_SHADES * (shades[:, None, None] - 0.5)
    picture = np.repeat(np.repeat(tufts, side, axis=0), side, axis=1)
    if side >= LEAST_ROUND_PX:
        middle = (np.arange(side) + 0.5) / side * 2.0 - 1.0
        round_ = 1.04 - 0.24 * np.maximum(np.abs(middle)[:, None], np.abs(middle)[None, :]) ** 4
        picture *= np.tile(round_, (up, across))[..., None]
    return picture


def _from_the_edge(shares: Sequence[float]) -> tuple[int, ...]:
    """Return the places of yarns in the order of their bands: guards, the border, guards, and the field in the middle."""
    falling = sorted(range(len(shares)), key=lambda at: -shares[at])
    field, border, guards = falling[:1], falling[1:2], falling[2:]
    return (*guards[::2], *border, *guards[1::2], *field)


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


def cartoon_picture(cartoon: CartoonPicture, longest: int = LONGEST_SIDE) -> np.ndarray:
    """Draw a cartoon of which no rug is in the book yet: uint8 of shape (rows, knots, 3), row 1 first."""
    step = max(1, -(-max(cartoon.cells.shape) // longest))
    colours = np.array(
        [[int(shade[at : at + 2], 16) for at in (1, 3, 5)] for shade in cartoon.palette], np.uint8
    )
    return colours[cartoon.cells[::step, ::step]]


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
        picture = bare_rug(book, longest)
        woven = round(len(picture) * min(1.0, book.rows_woven / shown_rows(book)))
        # A row is thinner than a tuft: how far one is begun cannot be seen.
        begins = False
    else:
        cells = book.cartoon.cells
        step = max(1, -(-max(cells.shape) // longest))
        picture = cell_colours(book)[cells[::step, ::step]][: -(-shown_rows(book) // step)]
        woven = -(-book.rows_woven // step)
        begins = 0 <= woven < len(picture) and woven * step == book.rows_woven
    across = picture.shape[1]
    begun = 0
    if begins:
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


def planned_plain(swatches: Sequence[str], shares: Sequence[float], aspect: float) -> np.ndarray:
    """Draw a rug that is being planned without a cartoon, uint8 as `chosen_cartoon`."""
    aspect = max(LEAST_ASPECT, min(MOST_ASPECT, aspect))
    drawn = plain_rug(swatches, shares, aspect, TUFTS_ACROSS, PLANNED_SIDE)
    return np.clip(drawn.round(), 0, 255).astype(np.uint8)


def chosen_cartoon(
    picture: CartoonPicture, swatches: dict[str, str], longest: int = PLANNED_SIDE
) -> np.ndarray:
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
