"""Mending a cartoon square by square: painting, filling, exchanging colours. Pure sums over the cells; nothing is changed in place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from tracker.domain.cartoon import MAX_COLOURS, CellArray, yarn_of_value
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Role, Yarn
from tracker.words import _

Square = tuple[int, int]
"""(row, knot), both from 0; row 0 is woven first."""
Box = tuple[int, int, int, int]
"""First row, first knot, and one past the last row and knot."""


def painted(cells: CellArray, squares: Iterable[Square], value: int) -> CellArray:
    """Return the cells with these squares in colour `value`; squares beside the cartoon are passed over."""
    out = cells.copy()
    rows, knots = cells.shape
    for row, knot in squares:
        if 0 <= row < rows and 0 <= knot < knots:
            out[row, knot] = value
    return out


def filled(cells: CellArray, start: Square, value: int) -> CellArray:
    """Return the cells with the whole area of one colour round `start` in colour `value`.

    An area hangs together by the sides of its squares, not by their corners. It is found run by run.
    """
    row, knot = start
    old = int(cells[row, knot])
    if old == value:
        return cells.copy()
    out = cells.copy()
    rows, knots = cells.shape
    waiting = [(row, knot)]
    while waiting:
        row, knot = waiting.pop()
        line = out[row]
        if line[knot] != old:
            continue
        left = right = knot
        while left > 0 and line[left - 1] == old:
            left -= 1
        while right < knots - 1 and line[right + 1] == old:
            right += 1
        line[left : right + 1] = value
        for beside in (row - 1, row + 1):
            if 0 <= beside < rows:
                same = out[beside, left : right + 1] == old
                # One square of each run is enough: the run is followed to its ends from there.
                begins = np.flatnonzero(same & ~np.concatenate(([False], same[:-1])))
                waiting += [(beside, left + int(place)) for place in begins]
    return out


def exchanged(cells: CellArray, old: int, new: int, box: Box | None = None) -> CellArray:
    """Return the cells with every knot of colour `old` in colour `new`, in all or inside a box."""
    out = cells.copy()
    part = out if box is None else out[box[0] : box[2], box[1] : box[3]]
    part[part == old] = new
    return out


def neighbours_value(cells: CellArray, square: Square) -> int | None:
    """Return the commonest other colour among the eight squares round one, those at its sides twice; None without one."""
    row, knot = square
    rows, knots = cells.shape
    votes: dict[int, int] = {}
    for down in (-1, 0, 1):
        for across in (-1, 0, 1):
            y, x = row + down, knot + across
            if (down, across) != (0, 0) and 0 <= y < rows and 0 <= x < knots:
                value = int(cells[y, x])
                votes[value] = votes.get(value, 0) + (2 if 0 in (down, across) else 1)
    votes.pop(int(cells[row, knot]), None)
    return max(votes, key=lambda value: (votes[value], -value)) if votes else None


def lowest_changed_row(before: CellArray, after: CellArray) -> int | None:
    """Return the first row (from 0) in which two versions of a cartoon differ; None when they are alike."""
    rows = np.flatnonzero((before != after).any(axis=1))
    return int(rows[0]) if rows.size else None


@dataclass(frozen=True, slots=True)
class Threaded:
    """The value a yarn is painted with, and what had to grow for it."""

    value: int
    palette: tuple[str, ...]
    yarns: tuple[Yarn, ...]


def value_for(yarn_id: str, palette: tuple[str, ...], yarns: tuple[Yarn, ...]) -> Threaded:
    """Return the cartoon value of a yarn; one the cartoon did not use yet gets a value of its own.

    Raises
    ------
    BadEntry
        When the cartoon has as many colours as it can have.
    """
    position = next(index for index, yarn in enumerate(yarns) if yarn.id == yarn_id)
    owner = yarn_of_value(yarns, len(palette))
    values = np.flatnonzero(owner == position)
    if values.size:
        return Threaded(int(values[0]), palette, yarns)
    if len(palette) >= MAX_COLOURS:
        raise BadEntry(_("A cartoon can have {most} colours, and it has them.").format(most=MAX_COLOURS))
    yarn = yarns[position]
    grown = replace(yarn, cartoon_values=(*yarn.cartoon_values, len(palette)))
    return Threaded(
        len(palette),
        (*palette, yarn.swatch.upper()),
        tuple(grown if index == position else other for index, other in enumerate(yarns)),
    )


def pile_yarns(yarns: Iterable[Yarn]) -> tuple[Yarn, ...]:
    """Return the yarns a cartoon can be painted with."""
    return tuple(yarn for yarn in yarns if yarn.role is Role.PILE)
