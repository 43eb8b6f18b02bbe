"""The dye lots of a yarn: which are on hand, which is open, and which rows were knotted from which."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.lot_change import LotChange
from tracker.domain.rug import Lot, RugBook


@dataclass(frozen=True, slots=True)
class DyeLot:
    """All that was bought of one yarn from one dye bath. Purchases without a dye lot count as one."""

    mark: str
    """The dye lot as it was entered first; "" when nobody said it."""
    lots: tuple[Lot, ...]

    @property
    def mass_g(self) -> float:
        """Mass bought, in g."""
        return sum(lot.mass_g for lot in self.lots)

    @property
    def lot_id(self) -> str:
        """The purchase by which a record names the dye lot: the first."""
        return self.lots[0].id

    @property
    def bought(self) -> date:
        """The day of the first purchase of it: what a lot without a mark is known by."""
        return self.lots[0].day


@dataclass(frozen=True, slots=True)
class Band:
    """Rows knotted from one dye lot: from `first_row` until the next band begins."""

    first_row: int
    dye_lot: DyeLot
    blend_rows: int = 0
    assumed: bool = False
    """Nobody said so: the lot bought first is taken to be opened first."""


def _same_mark(mark: str) -> str:
    return " ".join(mark.casefold().split())


def dye_lots_of(lots: Sequence[Lot]) -> tuple[DyeLot, ...]:
    """Return the dye lots of the purchases of one yarn, in the order in which they were bought."""
    by_mark: dict[str, list[Lot]] = {}
    for lot in lots:
        by_mark.setdefault(_same_mark(lot.dye_lot), []).append(lot)
    return tuple(DyeLot(same[0].dye_lot.strip(), tuple(same)) for same in by_mark.values())


def marks_of(lots: Sequence[Lot]) -> tuple[str, ...]:
    """Return the dye lots that purchases bear, those moved away whole left out, in the order in which they were bought."""
    return tuple(one.mark for one in dye_lots_of(lots) if one.mark and one.mass_g > 0)


def dye_lot_with(dye_lots: Sequence[DyeLot], lot_id: str) -> DyeLot | None:
    """Return the dye lot to which a purchase belongs; None when it is not in the book any more."""
    return next((one for one in dye_lots if any(lot.id == lot_id for lot in one.lots)), None)


def bands_of(dye_lots: Sequence[DyeLot], changes: Sequence[LotChange]) -> tuple[Band, ...]:
    """Return the bands of one yarn from row 1 up; empty with nothing bought.

    Parameters
    ----------
    dye_lots
        The yarn's dye lots.
    changes
        The yarn's changes of lot; those only planned count for nothing.

    Notes
    -----
    What was done later holds from its row on, whatever an earlier change said of the rows above: who unpicks below a
    change and goes on with the old lot says so, and the change above is gone.
    """
    if not dye_lots:
        return ()
    # A lot that was given away whole was never woven from.
    first = next((lot for lot in dye_lots if lot.mass_g > 0), dye_lots[0])
    bands = [Band(1, first, assumed=True)]
    done = [change for change in changes if change.done_day is not None]
    for change in sorted(done, key=lambda change: (change.done_day, change.born)):
        opened = dye_lot_with(dye_lots, change.lot_id)
        if opened is None:
            continue
        bands = [band for band in bands if band.first_row < change.row]
        bands.append(Band(change.row, opened, change.blend_rows))
    return tuple(bands)


def changes_of(book: RugBook, yarn_id: str) -> tuple[LotChange, ...]:
    """Return the changes of lot of one yarn, done and planned."""
    return tuple(change for change in book.lot_changes if change.yarn_id == yarn_id)


def open_dye_lots(book: RugBook, yarn_id: str) -> tuple[DyeLot, ...]:
    """Return the dye lots of one yarn, the open one first, then in the order in which they were bought."""
    dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == yarn_id])
    bands = bands_of(dye_lots, changes_of(book, yarn_id))
    if not bands:
        return ()
    opened = bands[-1].dye_lot
    return (opened, *(one for one in dye_lots if one is not opened))


def changes_to_come(book: RugBook, rows: int) -> tuple[LotChange, ...]:
    """Return the changes of lot that are still to be done where only `rows` rows are on the loom: done above them, they came out.

    A change in the row that comes next stands: the new lot hangs at the loom.
    """
    return tuple(
        replace(change, done_day=None)
        for change in book.lot_changes
        if change.done_day is not None and change.row > rows + 1
    )


def planned_change(book: RugBook, yarn_id: str) -> LotChange | None:
    """Return the change of lot that is planned next for a yarn; of several the one planned last."""
    dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == yarn_id])
    planned = [
        change
        for change in changes_of(book, yarn_id)
        if change.done_day is None and dye_lot_with(dye_lots, change.lot_id) is not None
    ]
    return max(planned, key=lambda change: (change.day, change.born), default=None)
