"""A change of dye lot: the record of one, and a row at which it may be made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class LotChange:
    """From row `row` on, a yarn is knotted from the dye lot of the lot `lot_id`, until another is opened.

    Over the first `blend_rows` of them the two lots take turns, a row of one, a row of the other. `done_day` None: it
    is planned and not yet done.
    """

    id: str
    rug_id: str
    yarn_id: str
    lot_id: str
    day: date
    """The day on which it was entered."""
    row: int
    """The first row knotted from it, from 1."""
    blend_rows: int = 0
    done_day: date | None = None
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangePlace:
    """A row at which to change lots. Knots counted from the cartoon; None without one."""

    row: int
    """The first row knotted from the new lot, from 1."""
    meeting: int | None = None
    """Knots of the new lot that lie directly upon one of the old."""
    pieces: int = 0
    """Unbroken stretches in which they do."""
    longest: int = 0
    """Knots in the longest of them."""
    in_row: int = 0
    """Knots of the colour in the row."""
    before: int = 0
    """Knots of the colour in the row below."""
    blend_rows: int = 0
    """Rows over which the two lots take turns."""
    plain: bool = False
    """Whether the longest stretch is as long as a line that shows."""
    left_g: float = 0.0
    """What would be left over of the old lot, in g, where it is known."""
    shows: float = 0.0
    """How much it shows: the squares of the stretches, and a little for what lies around."""
