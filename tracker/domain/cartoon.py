"""Counting a cartoon: knots of each colour in each row, colour changes, runs, first and last rows.

Everything goes through a cartoon a few rows at a time, so that a very large one costs no second copy.
"""

from __future__ import annotations

import weakref
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tracker.domain.errors import BadEntry
from tracker.domain.rug import Cartoon, Yarn
from tracker.domain.rules import MOST_COLOURS
from tracker.words import _

CellArray = NDArray[np.uint8]
CountArray = NDArray[np.int64]

MAX_COLOURS = MOST_COLOURS
"""Colours a cartoon may have, however it came about."""
MAX_KNOTS = 40_000_000
"""Knots a cartoon may have; 4,000 x 6,000 and more go in."""
MAX_CARTOON_FILE_BYTES = 200_000_000
"""File size of a cartoon; a 24-bit BMP of the largest cartoon has three bytes a knot."""

_MOST_COUNTS = 4
"""Counts kept of one cartoon: as it is being assigned to yarns, each assignment has its own."""

_MOST_PARTS = 12
"""Parts of the width kept of one cartoon: a team's sections, and where they sat before."""

_CHUNK_CELLS = 1 << 16
"""Cells counted at once: small enough that every step stays in the processor's cache."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CartoonPicture:
    """A cartoon as read or put together: `cells` is (rows, knots) uint8, row 1 first, indices into `palette`."""

    cells: CellArray
    palette: tuple[str, ...]
    """"#RRGGBB" of every colour that occurs."""
    name: str = ""
    """File name, when there was one."""

    @property
    def rows(self) -> int:
        """Rows of knots."""
        return int(self.cells.shape[0])

    @property
    def knots_across(self) -> int:
        """Knots in a row."""
        return int(self.cells.shape[1])


class ReadSquares(Protocol):
    """The squares of a part of a cartoon as they were read, the top row first; `picture` has row 1 first."""

    @property
    def cells(self) -> CellArray: ...
    @property
    def palette(self) -> tuple[str, ...]: ...
    @property
    def confidence(self) -> NDArray[np.float32]: ...
    @property
    def doubted(self) -> NDArray[np.bool_]: ...
    @property
    def picture(self) -> CartoonPicture: ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CartoonCount:
    """What counting a cartoon tells. Rows count from 1 in sentences, from 0 in arrays."""

    per_row: NDArray[np.int32]
    """(rows, colours) knots of each colour in each row."""
    changes: NDArray[np.int32]
    """(rows,) colour changes in each row: places where the next knot is tied in another yarn."""
    knots_across: int

    @property
    def rows(self) -> int:
        """Rows of knots."""
        return int(self.per_row.shape[0])

    @property
    def colours(self) -> int:
        """Colours of the palette, used or not."""
        return int(self.per_row.shape[1])

    @property
    def knots(self) -> int:
        """Knots in all."""
        return self.rows * self.knots_across

    @property
    def totals(self) -> CountArray:
        """(colours,) knots of each colour."""
        return self.per_row.sum(axis=0, dtype=np.int64)

    def first_row(self, colour: int) -> int | None:
        """Return the first row (from 1) with this colour, None when there is none."""
        rows_with_it = np.flatnonzero(self.per_row[:, colour])
        return int(rows_with_it[0]) + 1 if rows_with_it.size else None

    def last_row(self, colour: int) -> int | None:
        """Return the last row (from 1) with this colour, None when there is none."""
        rows_with_it = np.flatnonzero(self.per_row[:, colour])
        return int(rows_with_it[-1]) + 1 if rows_with_it.size else None

    def rows_with(self, colour: int) -> int:
        """Return the number of rows in which this colour occurs."""
        return int(np.count_nonzero(self.per_row[:, colour]))


@dataclass(frozen=True, slots=True)
class Run:
    """Knots of one colour side by side in a row."""

    colour: int
    knots: int


def count_cartoon(cells: CellArray, colours: int, knotted_in: tuple[int, ...] | None = None) -> CartoonCount:
    """Return the knots of each colour in each row and the colour changes of each row.

    Parameters
    ----------
    cells
        (rows, knots) colour of each knot, each below `colours`.
    colours
        Length of the palette.
    knotted_in
        For each colour the yarn it is knotted in, by any number: from one shade to another of the same yarn nobody
        changes the ball. None: each colour has a yarn of its own.

    Raises
    ------
    BadEntry
        When a cell names a colour the palette does not have.
    """
    rows, knots = cells.shape
    per_row = np.zeros((rows, colours), dtype=np.int32)
    changes = np.zeros(rows, dtype=np.int32)
    step = max(1, _CHUNK_CELLS // max(1, knots))
    offsets = (np.arange(step, dtype=np.intp) * colours)[:, None]
    yarns: CellArray | None = None
    if knotted_in is not None and len(set(knotted_in)) < colours:
        yarns = np.unique(np.array(knotted_in), return_inverse=True)[1].astype(np.uint8)
    for first in range(0, rows, step):
        chunk = cells[first : first + step]
        many = chunk.shape[0]
        if chunk.size and int(chunk.max()) >= colours:
            raise BadEntry(
                _("The cartoon uses a colour that its palette does not have. Choose the picture again.")
            )
        # Each knot falls into the bin of its row and its colour at once.
        flat = (chunk + offsets[:many]).ravel()
        counted = np.bincount(flat, minlength=many * colours)
        per_row[first : first + many] = counted.reshape(many, colours)
        tied = chunk if yarns is None else yarns[chunk]
        different = tied[:, 1:] != tied[:, :-1]
        changes[first : first + many] = different.sum(axis=1, dtype=np.int32)
    return CartoonCount(per_row=per_row, changes=changes, knots_across=int(knots))


def runs_of_row(row: CellArray) -> tuple[Run, ...]:
    """Return the runs of one row, left to right: (madder, 3), (undyed, 2), ..."""
    if row.size == 0:
        return ()
    starts = np.concatenate(([0], np.flatnonzero(row[1:] != row[:-1]) + 1))
    lengths = np.diff(np.append(starts, row.size))
    return tuple(Run(int(row[start]), int(length)) for start, length in zip(starts, lengths, strict=True))


def yarn_of_value(yarns: tuple[Yarn, ...], colours: int) -> NDArray[np.int64]:
    """Return (colours,) the position in `yarns` of the yarn each value is knotted in, the first to claim it; -1: none."""
    owner = np.full(colours, -1, dtype=np.int64)
    for position, yarn in enumerate(yarns):
        for value in yarn.cartoon_values:
            if 0 <= value < colours and owner[value] < 0:
                owner[value] = position
    return owner


def counts_by_yarn(count: CartoonCount, yarns: tuple[Yarn, ...]) -> NDArray[np.int64]:
    """Return (rows, yarns) knots of each yarn in each row; values that no yarn claims are left out."""
    owner = yarn_of_value(yarns, count.colours)
    out = np.zeros((count.rows, len(yarns)), dtype=np.int64)
    for position in range(len(yarns)):
        values = np.flatnonzero(owner == position)
        if values.size:
            out[:, position] = count.per_row[:, values].sum(axis=1)
    return out


def unclaimed_values(count: CartoonCount, yarns: tuple[Yarn, ...]) -> tuple[int, ...]:
    """Return the values that occur in the cartoon but belong to no yarn."""
    owner = yarn_of_value(yarns, count.colours)
    totals = count.totals
    return tuple(int(value) for value in np.flatnonzero((owner < 0) & (totals > 0)))


def knotted_in(cartoon: Cartoon, yarns: tuple[Yarn, ...]) -> tuple[int, ...]:
    """Return for each value of a cartoon the first value that is knotted in the same yarn; without a yarn, itself."""
    owner = yarn_of_value(yarns, len(cartoon.palette))
    first: dict[int, int] = {}
    return tuple(
        value if yarn < 0 else first.setdefault(int(yarn), value) for value, yarn in enumerate(owner.tolist())
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Counts:
    """What was counted of one cell array."""

    cells: weakref.ref[CellArray]
    whole: dict[tuple[int, ...], CartoonCount]
    """By the yarns its values are knotted in."""
    parts: dict[tuple[int, int], NDArray[np.int32]]
    """By first and last knot."""


_counted: dict[int, _Counts] = {}
"""By the identity of a cell array."""


def _counts_of(cells: CellArray) -> _Counts:
    """Return what was counted of these cells so far; it is forgotten with them."""
    counts = _counted.get(id(cells))
    if counts is None or counts.cells() is not cells:

        def forget(_gone: object, key: int = id(cells)) -> None:
            _counted.pop(key, None)

        counts = _counted[id(cells)] = _Counts(weakref.ref(cells, forget), {}, {})
    return counts


def count_of(cartoon: Cartoon, yarns: tuple[Yarn, ...] = ()) -> CartoonCount:
    """Return the count of a whole cartoon knotted in `yarns`; the same cells are counted once for all who ask.

    Parameters
    ----------
    cartoon
        The cartoon; its cells are never changed in place.
    yarns
        Those whose `cartoon_values` say what is knotted in one yarn.
    """
    cells = cartoon.cells
    counted = _counts_of(cells).whole
    same = knotted_in(cartoon, yarns)
    if same not in counted:
        colours = _colours_of(cartoon)
        count = count_cartoon(cells, colours, (*same, *range(len(same), colours)))
        if len(counted) >= _MOST_COUNTS:
            counted.pop(next(iter(counted)))
        counted[same] = count
    return counted[same]


def _colours_of(cartoon: Cartoon) -> int:
    """Return how many values a cartoon's cells may have."""
    cells = cartoon.cells
    return max(len(cartoon.palette), int(cells.max()) + 1 if cells.size else 1)


def count_part(cartoon: Cartoon, first: int, last: int) -> NDArray[np.int32]:
    """Return (rows, colours) knots of each colour in each row, of the knots `first` to `last` (from 1) alone.

    The same part of the same cells is counted once for all who ask.
    """
    counted = _counts_of(cartoon.cells).parts
    part = counted.get((first, last))
    if part is None:
        part = count_cartoon(cartoon.cells[:, first - 1 : last], _colours_of(cartoon)).per_row
        if len(counted) >= _MOST_PARTS:
            counted.pop(next(iter(counted)))
        counted[first, last] = part
    return part
