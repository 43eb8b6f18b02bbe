"""A place on the cartoon that somebody marked, such as a knot tied in a wrong colour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class MarkKind(StrEnum):
    """What sits at a marked place. Its words stand in every book: a kind may be added, none may be renamed."""

    MISTAKE = "mistake"


@dataclass(frozen=True, slots=True, kw_only=True)
class CartoonMark:
    """Knots `first_knot` to `last_knot` of row `row`, counted from 1 as the cartoon is read from the front.

    `mended_day` None: it is still there.
    """

    id: str
    rug_id: str
    day: date
    """The day on which it was marked."""
    row: int
    first_knot: int
    last_knot: int
    kind: MarkKind = MarkKind.MISTAKE
    note: str = ""
    mended_day: date | None = None
    born: int = 0
