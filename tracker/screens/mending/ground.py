"""Whose cartoon is mended, and where a change is kept: in the book as an act, or with a reading that was not taken yet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from tracker.domain.act import ActKind
from tracker.domain.cartoon import CartoonPicture, CellArray
from tracker.domain.mending import Square
from tracker.domain.rug import Cartoon, Yarn
from tracker.presenters.mending import DOUBTS, aspect_of, doubts_of, with_doubts


@dataclass(frozen=True)
class Drawing:
    """The cartoon as it stands: cells, palette and the yarns its values are knotted in."""

    cells: CellArray
    palette: tuple[str, ...]
    yarns: tuple[Yarn, ...]


@dataclass(frozen=True)
class Patch:
    """A part of the photograph, straightened: what lies round a square."""

    picture: Any
    """uint8 of shape (height, width, 3)."""
    knots: int
    rows: int
    here: Square
    """(row, knot) of the square in this part, row 0 at the bottom."""


class Ground(Protocol):
    """What the page that mends needs to know of a cartoon, and where it hands changes."""

    @property
    def rug_id(self) -> str: ...
    @property
    def rows_woven(self) -> int: ...
    @property
    def cell_aspect(self) -> float:
        """Width of a knot over its height in the cloth."""
        ...

    @property
    def way_back(self) -> str:
        """What the key says that leads back to where a cartoon not taken yet came from; "" for none."""
        ...

    def drawing(self) -> Drawing:
        """Return the cartoon as it is kept."""
        ...

    def doubts(self) -> tuple[Square, ...]:
        """Return the squares to look at, the least sure first."""
        ...

    def leave_doubts(self, squares: tuple[Square, ...]) -> None:
        """Keep these as the squares that are still to be looked at."""
        ...

    def write(self, before: Drawing, after: Drawing) -> str:
        """Keep a change and return what takes it back."""
        ...

    def take_back(self, change: str, drawing: Drawing) -> str:
        """Take a change back, which leaves `drawing`; return what takes that back."""
        ...

    def around(self, square: Square) -> Patch | None:
        """Return what the photograph shows round a square; None where none is at hand."""
        ...


class InBook:
    """The cartoon of a rug in the book: every change is an act."""

    way_back = ""

    def __init__(self, desk: Any) -> None:
        self._desk = desk

    @property
    def rug_id(self) -> str:
        return str(self._desk.rug.plan.id)

    @property
    def rows_woven(self) -> int:
        return int(self._desk.rug.rows_woven)

    @property
    def cell_aspect(self) -> float:
        return aspect_of(self._desk.rug)

    def drawing(self) -> Drawing:
        rug = self._desk.rug
        return Drawing(rug.cartoon.cells, rug.cartoon.palette, rug.yarns)

    def doubts(self) -> tuple[Square, ...]:
        rows, knots = self._desk.rug.cartoon.cells.shape
        return doubts_of(self._desk.drafts.get(DOUBTS), self.rug_id, rows, knots)

    def leave_doubts(self, squares: tuple[Square, ...]) -> None:
        drafts = self._desk.drafts
        drafts.put(DOUBTS, with_doubts(drafts.get(DOUBTS), self.rug_id, squares))

    def write(self, before: Drawing, after: Drawing) -> str:
        rug = self._desk.rug
        cartoon = Cartoon(
            id=rug.cartoon.id,
            rug_id=rug.plan.id,
            cells=after.cells,
            palette=after.palette,
            source_name=rug.cartoon.source_name,
        )
        known = {yarn.id: yarn for yarn in before.yarns}
        grown = [yarn for yarn in after.yarns if known[yarn.id] is not yarn]
        return str(self._desk.act(ActKind.CARTOON_MENDED, cartoon, *grown, rug_id=rug.plan.id))

    def take_back(self, change: str, drawing: Drawing) -> str:
        return str(self._desk.undo(change).act_id)

    def around(self, square: Square) -> Patch | None:
        """No photograph of it is kept in the book."""
        return None


class OnPaper:
    """A cartoon that was read, and not taken yet or not saved with its plan: no book knows of it, and nothing of it is woven."""

    rug_id = ""
    rows_woven = 0

    def __init__(
        self,
        picture: CartoonPicture,
        yarns: tuple[Yarn, ...],
        doubts: tuple[Square, ...],
        cell_aspect: float,
        keep: Callable[[CartoonPicture, tuple[Square, ...]], None],
        way_back: str,
    ) -> None:
        self.way_back = way_back
        self.cell_aspect = cell_aspect
        self._name = picture.name
        self._drawing = Drawing(picture.cells, picture.palette, yarns)
        self._doubts = doubts
        self._keep = keep
        self.photograph: Any = None
        """The cartoon straightened, as many points to each knot as to any other; None where no photograph is held."""

    def drawing(self) -> Drawing:
        return self._drawing

    def doubts(self) -> tuple[Square, ...]:
        return self._doubts

    def leave_doubts(self, squares: tuple[Square, ...]) -> None:
        self._doubts = squares
        self._hand_on()

    def write(self, before: Drawing, after: Drawing) -> str:
        self._drawing = after
        self._hand_on()
        return ""

    def take_back(self, change: str, drawing: Drawing) -> str:
        self._drawing = drawing
        self._hand_on()
        return ""

    def _hand_on(self) -> None:
        cells, palette = self._drawing.cells, self._drawing.palette
        self._keep(CartoonPicture(cells=cells, palette=palette, name=self._name), self._doubts)

    def around(self, square: Square) -> Patch | None:
        if self.photograph is None:
            return None
        rows, knots = self._drawing.cells.shape
        block = self.photograph.shape[1] // knots
        from_top, knot = rows - 1 - square[0], square[1]
        # At the cartoon's edge the square lies beside the middle.
        top = min(max(0, from_top - REACH), max(0, rows - 2 * REACH - 1))
        left = min(max(0, knot - REACH), max(0, knots - 2 * REACH - 1))
        bottom, right = min(rows, top + 2 * REACH + 1), min(knots, left + 2 * REACH + 1)
        return Patch(
            self.photograph[top * block : bottom * block, left * block : right * block],
            right - left,
            bottom - top,
            (bottom - 1 - from_top, knot - left),
        )


REACH = 3
"""Squares of the photograph shown on each side of the one that is looked at."""
