"""Joins a long cartoon from several photographs of its parts, by the squares they both show.

Where two parts lie over each other their colour changes fall together, whatever the light did to the colours: the shift is
found by correlating the changes, and which colour of one is which of the other is read off the squares they share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS, MAX_KNOTS, CartoonPicture, ReadSquares
from tracker.domain.colour import ciede2000, lab_of_hex
from tracker.domain.defaults import MERGE_DELTA_E
from tracker.domain.errors import BadPicture
from tracker.words import _, n_, number, percent

FloatArray = NDArray[np.float64]

LEAST_OVERLAP = 3
"""Rows, or knots, that two parts must share."""
_LEAST_WIDTH = 0.6
"""Share of the narrower part's width (or height) over which they must lie on each other."""
_LEAST_LIKENESS = 0.7
"""Correlation of the colour changes (phi) from which on a shift is believed; two cartoons by chance stay under 0.3."""
_RIVAL = 0.05
"""A shift whose correlation is within this of the best one explains the pictures as well."""
_MOST_RIVALS = 8


@dataclass(frozen=True, slots=True)
class Shift:
    """How far the second part lies from the first: rows down and knots to the right (below zero: up and left)."""

    down: int
    right: int
    likeness: float
    """Correlation of the colour changes where they lie on each other, -1 to 1."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joined:
    """Two parts as one; it can be joined to a third."""

    cells: NDArray[np.uint8]
    palette: tuple[str, ...]
    confidence: NDArray[np.float32]
    doubted: NDArray[np.bool_]
    name: str
    shift: Shift
    rivals: tuple[Shift, ...]
    """Other shifts that explain the pictures about as well: a design that repeats has them."""
    overlap: int
    """Rows that both show, or knots where they lie side by side."""
    beside: bool
    """Whether they lie side by side rather than one above the other."""
    alike: float
    """Share of the shared squares that are of one colour in both."""
    asks: tuple[str, ...] = ()

    @property
    def knots_across(self) -> int:
        """Knots in a row."""
        return int(self.cells.shape[1])

    @property
    def rows(self) -> int:
        """Rows of knots."""
        return int(self.cells.shape[0])

    @property
    def sure(self) -> float:
        """0 to 1."""
        return 0.5 if self.rivals else self.alike

    @property
    def is_sure(self) -> bool:
        """Whether nothing needs to be asked."""
        return not self.rivals and self.alike >= 0.97

    @property
    def picture(self) -> CartoonPicture:
        """The cartoon, row 1 (the bottom) first."""
        return CartoonPicture(
            cells=np.ascontiguousarray(self.cells[::-1]), palette=self.palette, name=self.name
        )

    @property
    def sentence(self) -> str:
        """How they were joined."""
        many = self.overlap
        shared = (
            n_("{count} knot side by side", "{count} knots side by side", many)
            if self.beside
            else n_("{count} row", "{count} rows", many)
        ).format(count=number(many))
        return _("The parts share {shared}; there {share} of the squares are alike.").format(
            shared=shared, share=percent(self.alike)
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadPart:
    """One part as it was read, without its photograph, which would take tens of megabytes for each."""

    cells: NDArray[np.uint8]
    palette: tuple[str, ...]
    confidence: NDArray[np.float32]
    doubted: NDArray[np.bool_]
    picture: CartoonPicture


def size_with(first: ReadSquares, second: ReadSquares, shift: Shift) -> tuple[int, int]:
    """Return the rows and the knots across that two parts have together at a shift."""
    (rows1, knots1), (rows2, knots2) = first.cells.shape, second.cells.shape
    y0, y1, x0, x1 = _box((rows1, knots1), (rows2, knots2), shift)
    return y1 - y0, x1 - x0


def join(first: ReadSquares, second: ReadSquares, shift: Shift | None = None) -> Joined:
    """Return two parts of one cartoon as one.

    Parameters
    ----------
    shift
        Where the second part lies, when the weaver said it; None: it is found.

    Raises
    ------
    BadPicture
        When they show nothing in common, or the second nothing new.
    """
    shifts = find_shifts(first.cells, second.cells)
    if shift is None:
        if not shifts:
            raise BadPicture(
                n_(
                    "The two pictures share nothing. Let them overlap by at least {count} row.",
                    "The two pictures share nothing. Let them overlap by at least {count} rows.",
                    LEAST_OVERLAP,
                ).format(count=LEAST_OVERLAP)
            )
        shifts = tuple(shift for shift in shifts if _shows_more(first.cells.shape, second.cells.shape, shift))
        if not shifts:
            raise BadPicture(_("The second picture shows nothing new. Choose one of the next part."))
        shift = shifts[0]
    return _laid_together(
        first, second, shift, tuple(other for other in shifts if (other.down, other.right) != (shift.down, shift.right))
    )  # fmt: skip


def find_shifts(first: NDArray[np.uint8], second: NDArray[np.uint8]) -> tuple[Shift, ...]:
    """Return the shifts of the second part that explain both, the best first; none when they share nothing."""
    changes_first, changes_second = _changes(first), _changes(second)
    size = (first.shape[0] + second.shape[0], first.shape[1] + second.shape[1])
    both, only_one, only_two, places = np.zeros((4, *size))
    for (a, known_a), (b, known_b) in zip(changes_first, changes_second, strict=True):
        both += _laid_over(a, b, size)
        only_one += _laid_over(a, known_b, size)
        only_two += _laid_over(known_a, b, size)
        places += _laid_over(known_a, known_b, size)
    with np.errstate(invalid="ignore", divide="ignore"):
        spread = np.sqrt(only_one * (places - only_one) * only_two * (places - only_two))
        likeness = np.where(spread > 0.5, (places * both - only_one * only_two) / spread, 0.0)
    # What lies beyond the first part's own size is a shift the other way.
    down, right = np.arange(size[0])[:, None], np.arange(size[1])[None]
    down = np.where(down < first.shape[0], down, down - size[0])
    right = np.where(right < first.shape[1], right, right - size[1])
    high = np.minimum(first.shape[0], down + second.shape[0]) - np.maximum(0, down)
    wide = np.minimum(first.shape[1], right + second.shape[1]) - np.maximum(0, right)
    least_high = _LEAST_WIDTH * min(first.shape[0], second.shape[0])
    least_wide = _LEAST_WIDTH * min(first.shape[1], second.shape[1])
    fits = ((high >= LEAST_OVERLAP) & (wide >= least_wide)) | ((wide >= LEAST_OVERLAP) & (high >= least_high))
    # How surprising a likeness is grows with the number of squares that share it.
    worth = np.where(fits & (likeness >= _LEAST_LIKENESS), likeness * np.sqrt(places), 0.0)
    best = np.unravel_index(int(np.argmax(worth)), worth.shape)
    if worth[best] <= 0:
        return ()
    near = (worth > 0) & (likeness >= likeness[best] - _RIVAL) & (worth >= 0.4 * worth[best])
    nearest = sorted(
        zip(*np.nonzero(near), strict=True), key=lambda place: -float(worth[place[0], place[1]])
    )[: _MOST_RIVALS + 1]
    return tuple(Shift(int(down[y, 0]), int(right[0, x]), float(likeness[y, x])) for y, x in nearest)


def _changes(cells: NDArray[np.uint8]) -> tuple[tuple[FloatArray, FloatArray], ...]:
    """Return where the next square to the right, and the one below, is of another colour; and where that is known."""
    out = []
    for axis in (1, 0):
        changed, known = np.zeros(cells.shape), np.zeros(cells.shape)
        inner = (slice(None), slice(None, -1)) if axis else (slice(None, -1), slice(None))
        changed[inner] = np.diff(cells.astype(np.int16), axis=axis) != 0
        known[inner] = 1.0
        out.append((changed, known))
    return tuple(out)


def _laid_over(first: FloatArray, second: FloatArray, size: tuple[int, int]) -> FloatArray:
    """Return the sum of products at every shift of the second over the first; index -k stands for a shift by -k."""
    product = np.fft.rfft2(first, size) * np.fft.rfft2(second, size).conj()
    return np.asarray(np.rint(np.fft.irfft2(product, size)))


def _laid_together(
    first: ReadSquares, second: ReadSquares, shift: Shift, rivals: tuple[Shift, ...]
) -> Joined:
    (rows1, knots1), (rows2, knots2) = first.cells.shape, second.cells.shape
    top, left = max(0, shift.down), max(0, shift.right)
    bottom, end = min(rows1, shift.down + rows2), min(knots1, shift.right + knots2)
    if bottom - top < 1 or end - left < 1:
        raise BadPicture(_("The parts do not lie on each other there."))
    shared1 = (slice(top, bottom), slice(left, end))
    shared2 = (slice(top - shift.down, bottom - shift.down), slice(left - shift.right, end - shift.right))
    palette, table = _one_palette(first, second, shared1, shared2)
    cells2 = table[second.cells]
    beside = _is_beside((rows1, knots1), (rows2, knots2), shift)
    y0, y1, x0, x1 = _box((rows1, knots1), (rows2, knots2), shift)
    if (y1 - y0) * (x1 - x0) > MAX_KNOTS:
        raise BadPicture(_("Put together, the cartoon would have too many knots. Join fewer parts."))
    cells = np.zeros((y1 - y0, x1 - x0), dtype=np.uint8)
    confidence = np.full(cells.shape, -1.0, dtype=np.float32)
    doubted = np.zeros(cells.shape, dtype=bool)
    apart = np.zeros(cells.shape, dtype=bool)
    for part, values, down, right in ((first, first.cells, 0, 0), (second, cells2, shift.down, shift.right)):
        py, px = max(y0, down), max(x0, right)
        qy, qx = min(y1, down + values.shape[0]), min(x1, right + values.shape[1])
        here = (slice(py - y0, qy - y0), slice(px - x0, qx - x0))
        there = (slice(py - down, qy - down), slice(px - right, qx - right))
        surer = part.confidence[there] > confidence[here]
        apart[here] |= (confidence[here] >= 0) & (cells[here] != values[there])
        cells[here] = np.where(surer, values[there], cells[here])
        doubted[here] = np.where(surer, part.doubted[there], doubted[here])
        confidence[here] = np.maximum(confidence[here], part.confidence[there])
    same = first.cells[shared1] == cells2[shared2]
    # What the two pictures tell differently is looked at once more.
    confidence[apart] = np.minimum(confidence[apart], 0.5)
    used, index = np.unique(cells, return_inverse=True)
    return Joined(
        cells=index.reshape(cells.shape).astype(np.uint8),
        palette=tuple(palette[value] for value in used),
        confidence=confidence,
        doubted=doubted | apart,
        name=first.picture.name,
        shift=shift,
        rivals=rivals,
        overlap=end - left if beside else bottom - top,
        beside=beside,
        alike=float(same.mean()),
    )


def _is_beside(first: tuple[int, int], second: tuple[int, int], shift: Shift) -> bool:
    """Return whether the parts lie side by side rather than one above the other."""
    high = min(first[0], shift.down + second[0]) - max(0, shift.down)
    wide = min(first[1], shift.right + second[1]) - max(0, shift.right)
    return wide < high and first[1] + second[1] - wide > max(first[1], second[1])


def _box(first: tuple[int, int], second: tuple[int, int], shift: Shift) -> tuple[int, int, int, int]:
    """Return top, bottom, left and right of the whole, counted from the first part's corner.

    A rectangle that both reach: a column that only one picture shows cannot be woven in half of the rows.
    """
    over = (
        max(0, shift.down),
        min(first[0], shift.down + second[0]),
        max(0, shift.right),
        min(first[1], shift.right + second[1]),
    )
    if _is_beside(first, second, shift):
        return over[0], over[1], min(0, shift.right), max(first[1], shift.right + second[1])
    return min(0, shift.down), max(first[0], shift.down + second[0]), over[2], over[3]


def _shows_more(first: tuple[int, int], second: tuple[int, int], shift: Shift) -> bool:
    """Return whether the second part reaches beyond the first by a row or a knot at least."""
    return (
        shift.down < 0
        or shift.right < 0
        or shift.down + second[0] > first[0]
        or shift.right + second[1] > first[1]
    )


def _one_palette(
    first: ReadSquares, second: ReadSquares, shared1: tuple[slice, slice], shared2: tuple[slice, slice]
) -> tuple[list[str], NDArray[np.uint8]]:
    """Return one palette, and which colour of it each of the second's is: told by the shared squares, else by eye."""
    many1, many2 = len(first.palette), len(second.palette)
    together = np.zeros((many2, many1), dtype=np.int64)
    np.add.at(together, (second.cells[shared2].ravel(), first.cells[shared1].ravel()), 1)
    palette = list(first.palette)
    table = np.zeros(many2, dtype=np.uint8)
    labs = np.array([lab_of_hex(colour) for colour in first.palette])
    for value in range(many2):
        seen = int(together[value].sum())
        best = int(together[value].argmax())
        if seen >= LEAST_OVERLAP and together[value, best] > 0.5 * seen:
            table[value] = best
            continue
        away = ciede2000(lab_of_hex(second.palette[value])[None], labs)
        nearest = int(np.argmin(away))
        if away[nearest] < float(MERGE_DELTA_E):
            table[value] = nearest
        else:
            if len(palette) >= MAX_COLOURS:
                raise BadPicture(
                    _("Together the parts have more colours than a cartoon can have. Say how many each has.")
                )
            table[value] = len(palette)
            palette.append(second.palette[value])
    return palette, table
