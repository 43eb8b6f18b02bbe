"""Finds the squares of a picture that a program drew exactly, to the point: between lines, inside a margin, or in uneven blocks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tracker.domain.layout import points_per_knot

_LEAST_LONG = 0.2
"""Share of the picture's side that a drawn line takes in at least; a key and a margin lie beside the cartoon."""
_LEAST_LINES = 8
"""Lines each way from which on they may be a cartoon's."""
_LEAST_INSIDE = 3
"""Points of a square between its lines, at least: a design of crossing stripes a knot wide looks alike below."""
_LEAST_CHANGES = 12
"""Lines each way on which colours change inside a margin, from which on their common step is no chance."""
_BLOCKY, _MOST_BLOCK = 0.8, 40
"""Share of colour changes on every so-many-th line from which on a picture is made of blocks, and the largest block looked for."""
_LEAST_ENLARGED, _LEAST_BLOCKS = 1.29, 24
"""Points to a square from which on a picture was made larger point by point (below, marks in squares leave such lines bare, too), and
squares each way from which on that is believed."""
_MIRRORED = 0.9
"""Share of the lines that part nothing from which on they stand alone, and points on both their sides are alike, where a design is mirrored."""
_TIE = 1e-6
"""Points by which a line may lie beside a place that a program rounded."""
_LEAST_REPEATED, _MOST_TIMES_REPEATED = 2, 30
"""Lines that must be repeated where a picture was made larger, and one of how many at least."""
_GLANCED = 64
"""Lines on which colours change that are looked at before all are."""
_EVEN, _LEAST_GAPS, _EVEN_FEW, _FEW_GAPS = 0.6, 8, 0.8, 5
"""Share of gaps between lines without changes (or with) that are alike, from which on a picture was made larger or has marks in its
squares, and how many there must be; the same for fewer of them."""
_BY_CHANCE = 1e-3
"""Chance up to which one line of every so many parts nothing by chance."""
_LEAST_MARKED, _SOME_MARKED, _MOST_LONGER = 6, 0.3, 1.6
"""Points of a square with a mark and no line round it, at least, share of such squares from which on marks are drawn, and how much longer a
square's one side may be than the other."""
_MARK_FREE, _MARKED_SQUARES = 0.4, 0.99
"""Share of a square that has its own colour at least where a mark is drawn in it, and share of squares that must be so."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """The squares of a picture that a program drew, each of one colour exactly."""

    cells: NDArray[np.uint8]
    """(rows, knots) index into the picture's colours, the top row first."""
    share: NDArray[np.float32]
    """(rows, knots) the part of each square that has this colour: 1 but for squares with a mark."""
    box: tuple[int, int, int, int]
    """Left, top, right, bottom in points of the picture."""
    size_told: bool
    """Whether squares are told by more than a common step of the changes: by lines, or by uneven blocks."""
    margin: int | None = None
    """The margin's colour where it has room for further squares; None where the cartoon cannot end elsewhere."""
    may_be_points: bool = False
    """Whether each point may be a knot all the same, for a design can repeat such lines, too."""


def find_drawn(picture: NDArray[np.uint8]) -> Drawn | None:
    """Return the squares of a picture given as indices of colours; None when they do not lie in it exactly."""
    return (
        _between_lines(picture) or _in_margin(picture) or _uneven_blocks(picture) or _marked_blocks(picture)
    )


# --- between lines -------------------------------------------------------------------------------------------------


def _between_lines(picture: NDArray[np.uint8]) -> Drawn | None:
    for inks in _likely_inks(picture):
        mask = picture == inks[0]
        for ink in inks[1:]:
            mask |= picture == ink
        across = _lines(mask)
        along = _lines(mask.T) if across is not None else None
        if across is None or along is None:
            continue
        upright, (top, bottom) = across
        level, (left, right) = along
        columns = _between(upright, left, right)
        rows = _between(level, top, bottom)
        if columns is None or rows is None:
            continue
        cells, share = _colours_of(picture, columns, rows)
        if (cells == cells[0, 0]).all():
            return None
        if (share >= _MARK_FREE).mean() >= _MARKED_SQUARES:
            return Drawn(cells=cells, share=share, box=(left, top, right, bottom), size_told=True)
    return None


def _colours_of(
    picture: NDArray[np.uint8], columns: NDArray[np.intp], rows: NDArray[np.intp]
) -> tuple[NDArray[np.uint8], NDArray[np.float32]]:
    """Return (rows, knots) the colour of each square and the share of it that has that colour; 0 where its corners differ.

    `columns` and `rows` hold (start, end) of the squares in points. A mark hardly ever reaches into a square's corners.
    """
    ends = [(spans[:, 0], spans[:, 1] - 1) for spans in (rows, columns)]
    corners = np.sort([picture[np.ix_(y, x)] for y in ends[0] for x in ends[1]], axis=0)
    cells = corners[1]
    alike = (corners[2] == cells) & ((corners[0] == cells) | (corners[3] == cells))
    sides = [spans[:, 1] - spans[:, 0] for spans in (rows, columns)]
    inside = [np.concatenate([np.arange(start, end) for start, end in spans]) for spans in (rows, columns)]
    own = picture[np.ix_(*inside)] == np.repeat(np.repeat(cells, sides[0], axis=0), sides[1], axis=1)
    starts = [np.concatenate([[0], np.cumsum(side)[:-1]]) for side in sides]
    counts = np.add.reduceat(np.add.reduceat(own, starts[0], axis=0, dtype=np.int32), starts[1], axis=1)
    return cells, np.where(alike, counts / np.outer(*sides), 0).astype(np.float32)


def _likely_inks(picture: NDArray[np.uint8]) -> Iterator[tuple[int, ...]]:
    """Yield colours that lines may be drawn in: one, or two where every so-many-th line has another colour."""
    many = int(picture.max()) + 1
    ways: list[tuple[NDArray[np.int64], NDArray[np.float64]]] = []
    for lines in (picture, picture.T):
        counts = np.zeros((lines.shape[1], many), dtype=np.int64)
        step = max(1, (1 << 21) // lines.shape[1])
        place = np.arange(lines.shape[1], dtype=np.int64) * many
        for first in range(0, lines.shape[0], step):
            part = lines[first : first + step]
            counts += np.bincount((place + part).ravel(), minlength=counts.size).reshape(counts.shape)
        steps = np.diff(np.pad(counts, ((1, 0), (0, 0))), axis=0) / lines.shape[0]
        ways.append(((steps >= _LEAST_LONG).sum(axis=0), steps.max(axis=0)))
    many_lines, longest = (np.minimum(one, two) for one, two in zip(*ways, strict=True))
    order = [int(ink) for ink in np.argsort(-longest, kind="stable") if many_lines[ink] >= 2][:4]
    yield from ((ink,) for ink in order if many_lines[ink] >= _LEAST_LINES)
    yield from combinations(order, 2)


def _lines(mask: NDArray[np.bool_]) -> tuple[NDArray[np.intp], tuple[int, int]] | None:
    """Return the columns that are drawn lines, and (start, end) of the longest stretch that several take in."""
    height = mask.shape[0]
    columns = np.flatnonzero(mask.sum(axis=0) >= _LEAST_LONG * height)
    if len(columns) < _LEAST_LINES:
        return None
    # The longest stretch of ink in each of these columns.
    part = np.zeros((height + 2, len(columns)), dtype=np.int8)
    part[1:-1] = mask[:, columns]
    steps = np.diff(part, axis=0)
    at, places = np.nonzero(steps.T == 1)
    _same, ends = np.nonzero(steps.T == -1)
    lengths = ends - places
    longest = np.zeros(len(columns), dtype=np.int64)
    np.maximum.at(longest, at, lengths)
    whole = lengths == longest[at]
    stretches, counts = np.unique(np.stack([places[whole], ends[whole]], axis=1), axis=0, return_counts=True)
    long = np.where(counts >= _LEAST_LINES, stretches[:, 1] - stretches[:, 0], 0)
    if long.max() < _LEAST_LONG * height:
        return None
    start, end = (int(place) for place in stretches[long.argmax()])
    reach = np.zeros(len(columns), dtype=bool)
    reach[at[(places <= start) & (ends >= end)]] = True
    return columns[reach], (start, end)


def _between(lines: NDArray[np.intp], first: int, last: int) -> NDArray[np.intp] | None:
    """Return (start, end) of the squares between lines, from `first` to `last`; None where they are of several sizes."""
    lines = lines[(lines >= first) & (lines < last)]
    if not len(lines):
        return None
    ends = np.concatenate([[first - 1], lines, [last]])
    spans = np.stack([ends[:-1] + 1, ends[1:]], axis=1)
    spans = spans[spans[:, 1] > spans[:, 0]]
    if len(spans) < _LEAST_LINES - 1:
        return None
    wide = spans[:, 1] - spans[:, 0]
    # Where a picture was made smaller or larger point by point, squares differ by a point.
    if wide.min() < _LEAST_INSIDE or wide.max() > wide.min() + 1:
        return None
    apart = np.diff(spans[:, 0])
    return spans if apart.max() < 2 * apart.min() else None


# --- inside a margin -----------------------------------------------------------------------------------------------


def _in_margin(picture: NDArray[np.uint8]) -> Drawn | None:
    """Return blocks of points with a margin of one colour round them, larger than those that fit the margin, too."""
    paper = picture[0, 0]
    if any((side != paper).any() for side in (picture[0], picture[-1], picture[:, 0], picture[:, -1])):
        return None
    other = picture != paper
    rows, columns = np.flatnonzero(other.any(axis=1)), np.flatnonzero(other.any(axis=0))
    if not len(rows):
        return None
    left, top, right, bottom = int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1
    part = picture[top:bottom, left:right]
    across, along = points_per_knot(part)
    if (across, along) == points_per_knot(picture) or min(across, along) < 2:
        return None
    cells = part[along // 2 :: along, across // 2 :: across]
    if any(
        int((lines[:, 1:] != lines[:, :-1]).any(axis=0).sum()) < _LEAST_CHANGES for lines in (cells, cells.T)
    ):
        return None
    height, width = picture.shape
    narrow = max(left, width - right) < across and max(top, height - bottom) < along
    return Drawn(
        cells=np.ascontiguousarray(cells),
        share=np.ones(cells.shape, dtype=np.float32),
        box=(left, top, right, bottom),
        size_told=False,
        margin=None if narrow else int(paper),
    )


# --- uneven blocks -------------------------------------------------------------------------------------------------


def _uneven_blocks(picture: NDArray[np.uint8]) -> Drawn | None:
    """Return the squares of a picture that was made larger point by point, by no whole number of times."""
    before = _before_larger(picture)
    height, width = picture.shape
    if before is None:
        return None
    columns, rows = before
    times = min(width / len(columns), height / len(rows))
    if times < _LEAST_ENLARGED or (width % len(columns) == 0 and height % len(rows) == 0):
        return None
    cells = picture[np.ix_(rows, columns)]
    if may_have_squares(cells):
        return None  # lines part nothing still, and evenly: squares are larger
    # A design that is mirrored again and again has such lines, too; of larger squares some lie between alike ones.
    unclear = times < 2 and (_mirrored(picture) or _mirrored(picture.T))
    return Drawn(
        cells=cells,
        share=np.ones(cells.shape, dtype=np.float32),
        box=(0, 0, width, height),
        size_told=True,
        may_be_points=unclear,
    )


def was_made_larger(picture: NDArray[np.uint8]) -> bool:
    """Return whether a picture repeats lines both ways as one does that was made larger point by point, if but a little."""
    return _before_larger(picture) is not None


def _before_larger(picture: NDArray[np.uint8]) -> tuple[NDArray[np.intp], NDArray[np.intp]] | None:
    """Return the first points of the fewest columns, and rows, that a picture had before it was made larger; None where it was not.

    Lines are repeated at places that follow from the size before: no colour changes there, and every change lies elsewhere.
    """
    height, width = picture.shape
    changes = _changes(picture), _changes(picture.T)
    across = _sizes_before(changes[0])
    along = _sizes_before(changes[1]) if across else {}
    pairs = [
        (knots, rows)
        for knots in across
        for rows in along
        # One number of times, both ways, but for the rounding to whole points.
        if max((width - 1) / knots, (height - 1) / rows) <= min((width + 1) / knots, (height + 1) / rows)
    ]
    if not pairs:
        return None
    bare = [float(np.log(max(1e-9, (part == 0).mean()))) for part in changes]
    marks = _marks_of_columns(picture), _marks_of_columns(picture.T)
    # Lines that part nothing by chance follow a size now and then: the more were repeated, the less. In a design that repeats
    # itself they do so again and again, and count once.
    seldom = np.log(_BY_CHANCE / (2 * max(picture.shape)))
    for knots, rows in sorted(pairs, key=lambda pair: pair[0] * pair[1]):
        repeated = [
            len(np.unique(np.delete(part, starts)))
            for part, starts in zip(marks, (across[knots], along[rows]), strict=True)
        ]
        if float(np.dot(repeated, bare)) < seldom:
            return across[knots], along[rows]
    return None


def _marks_of_columns(picture: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Return a number for each column, the same for columns that are alike."""
    marks = np.zeros(picture.shape[1], dtype=np.int64)
    weights = np.random.default_rng(0).integers(1, 1 << 40, len(picture))
    step = max(1, (1 << 20) // picture.shape[1])
    for first in range(0, len(picture), step):
        marks += weights[first : first + step] @ picture[first : first + step].astype(np.int64)
    return marks


def _sizes_before(changes: NDArray[np.int64]) -> dict[int, NDArray[np.intp]]:
    """Return how many columns a picture may have had before it was made larger, each with the first of the points they became.

    Parameters
    ----------
    changes
        How many colours change on each line between two of its columns now.
    """
    width = len(changes) + 1
    used = np.flatnonzero(changes) + 1
    sizes: dict[int, NDArray[np.intp]] = {}
    if len(used) < _LEAST_CHANGES:
        return sizes
    most = width - max(_LEAST_REPEATED, width // _MOST_TIMES_REPEATED)
    for size in range(max(_LEAST_BLOCKS, width // _MOST_BLOCK), most + 1):
        # The whole picture was stretched, or each line so many hundredths and what is over cut off.
        hundredths = range(int(np.ceil(100 * (width - 0.5) / size)), int(100 * (width + 1) / size) + 1)
        for step in (width / size, *(part / 100 for part in hundredths)):
            starts = next(filter(None, (_starts(used, size, step, off) for off in (0.5, 0.0))), None)
            if starts is not None and starts[-1] < width:
                sizes[size] = np.array(starts)
                break
    return sizes


def _starts(used: NDArray[np.intp], size: int, step: float, off: float) -> list[int] | None:
    """Return the first points of so many columns made larger; None where a colour changes within one of them.

    Parameters
    ----------
    used
        Lines on which a colour changes.
    off
        Programs take the point before that lies under a point's middle, 0.5, or under its beginning, 0.
    """

    def begun(lines: NDArray[np.intp]) -> NDArray[np.intp] | None:
        places = np.rint((lines - 0.5 + off) / step)
        away = lines - (places * step - off)
        # Where a point lies between two that were, either may have been taken.
        fits = ((away > -_TIE) & (away < 1 + _TIE)).all() and (np.diff(places) > 0).all()
        return places.astype(np.intp) if fits and places[-1] < size else None

    if begun(used[:_GLANCED]) is None or (places := begun(used)) is None:
        return None
    starts = np.ceil(np.arange(size) * step - off - _TIE).astype(np.intp)
    starts[0] = 0
    starts[places] = used
    return [int(start) for start in starts]


def mirrored(picture: NDArray[np.uint8]) -> bool:
    """Return whether lines that part nothing, both ways, are axes of a mirrored repeat: then they are no repeated lines."""
    return all(map(_mirrored, (picture, picture.T)))


def _mirrored(picture: NDArray[np.uint8]) -> bool:
    changes = _changes(picture)
    bare = np.flatnonzero(changes == 0)
    bare = bare[(bare > 0) & (bare < len(changes) - 1)]
    # Where several lie side by side, points there are alike for another reason.
    alone = bare[(changes[bare - 1] > 0) & (changes[bare + 1] > 0)]
    if len(alone) < _MIRRORED * len(bare) or not len(alone):
        return False
    return bool((picture[:, alone - 1] == picture[:, alone + 2]).all(axis=0).mean() >= _MIRRORED)


# --- marks without lines -------------------------------------------------------------------------------------------


def _marked_blocks(picture: NDArray[np.uint8]) -> Drawn | None:
    """Return the squares of a picture full of them, each of one colour but for a mark in its middle, without lines between.

    No mark reaches the outermost points of its square; of smaller squares, marks would.
    """
    height, width = picture.shape
    sizes = [
        [side for side in range(_LEAST_MARKED, _MOST_BLOCK + 1) if whole % side == 0]
        for whole in (width, height)
    ]
    uneven = [
        (across * along, across, along)
        for across in sizes[0]
        for along in sizes[1]
        if max(across, along) <= _MOST_LONGER * min(across, along)
        and min(width // across, height // along) >= _LEAST_BLOCKS
    ]
    for _points, across, along in sorted(uneven, reverse=True):
        columns = np.arange(0, width, across)
        rows = np.arange(0, height, along)
        corners = picture[np.ix_(rows, columns)]
        others = [
            picture[np.ix_(rows + down, columns + right)]
            for down, right in ((0, across - 1), (along - 1, 0), (along - 1, across - 1))
        ]
        if np.mean([(corners == other).mean() for other in others]) < _MARKED_SQUARES:
            continue
        blocks = picture.reshape(len(rows), along, len(columns), across)
        own = blocks == corners[:, None, :, None]
        ring = np.ones((along, across), dtype=bool)
        ring[1:-1, 1:-1] = False
        whole = own.transpose(0, 2, 1, 3)[:, :, ring].all(axis=2)
        share = own.mean(axis=(1, 3)).astype(np.float32)
        marked = float((share < 1).mean())
        if (
            whole.mean() < _MARKED_SQUARES
            or marked < _SOME_MARKED
            or (share < _MARK_FREE).mean() > 1 - _MARKED_SQUARES
        ):
            continue
        return Drawn(cells=corners.copy(), share=share, box=(0, 0, width, height), size_told=True)
    return None


# --- no squares ----------------------------------------------------------------------------------------------------


def may_have_squares(picture: NDArray[np.uint8]) -> bool:
    """Return whether a picture in which no squares were found exactly may have some of more than a point all the same.

    Nearly all colours change on every so-many-th line; or lines on which none change lie evenly: a picture made larger leaves
    such lines, and so do marks that stop short of their squares' sides.
    """
    changes = _changes(picture), _changes(picture.T)
    return all(map(_blocky, changes)) or all(map(_evenly_bare, changes))


def _changes(picture: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Return how many colours change on each line between two columns."""
    changes = np.zeros(picture.shape[1] - 1, dtype=np.int64)
    step = max(1, (1 << 21) // picture.shape[1])
    for first in range(0, picture.shape[0], step):
        part = picture[first : first + step]
        changes += (part[:, 1:] != part[:, :-1]).sum(axis=0)
    return changes


def _blocky(changes: NDArray[np.int64]) -> bool:
    if np.count_nonzero(changes) < _LEAST_BLOCKS:
        return False
    whole = _BLOCKY * changes.sum()
    return any(
        changes[start::times].sum() > whole
        for times in range(2, min(_MOST_BLOCK, len(changes) // 2) + 1)
        for start in range(times)
    )


def _evenly_bare(changes: NDArray[np.int64]) -> bool:
    used = np.flatnonzero(changes)
    if len(used) <= _FEW_GAPS:
        return False
    bare = changes[used[0] : used[-1] + 1] == 0
    # The third: softened edges take in more than a line.
    for places in (np.flatnonzero(bare), used, np.flatnonzero(bare[1:] & ~bare[:-1])):
        gaps = np.diff(places)
        if len(gaps) >= _FEW_GAPS:
            middle = int(np.median(gaps))
            enough = _EVEN if len(gaps) >= _LEAST_GAPS else _EVEN_FEW
            if middle >= 2 and (np.abs(gaps - middle) <= 1).mean() >= enough:
                return True
    share = float(bare.mean())
    if not 0 < share < _EVEN:
        return False
    # One of every so many lines that parts nothing, throughout.
    tests = _MOST_BLOCK**2 / 2
    return any(
        share ** len(bare[start::times]) * tests < _BY_CHANCE and bool(bare[start::times].all())
        for times in range(2, min(_MOST_BLOCK, len(bare) // _LEAST_GAPS) + 1)
        for start in range(times)
    )
