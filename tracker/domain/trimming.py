"""Trimming the pile on the loom: what was trimmed, to what height, and when it is due again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """The pile trimmed on the loom up to row `row`; its height before and after where it was measured."""

    id: str
    rug_id: str
    day: date
    row: int
    before_mm: float | None = None
    after_mm: float | None = None
    note: str = ""
    born: int = 0


@dataclass(frozen=True, slots=True)
class TrimDue:
    """Where the trimming stands."""

    trimmed_to: int
    """The row up to which the pile is trimmed; 0 before the first time."""
    rows_since: int
    """Rows woven since."""
    rows_to_go: int | None
    """Rows until it is due, 0 or below when it is; None where nobody said after how many rows it is done."""


def trim_due(rows_woven: int, trims: Sequence[Trim], every_rows: int | None) -> TrimDue:
    """Return where the trimming stands.

    Parameters
    ----------
    rows_woven
        Rows on the loom. What was trimmed beyond them was unpicked since: the pile is trimmed up to the last row there.
    trims
        All that were entered.
    every_rows
        After how many rows the weaver trims; None: nobody said.
    """
    woven = max(rows_woven, 0)
    trimmed_to = min(max((trim.row for trim in trims), default=0), woven)
    since = woven - trimmed_to
    return TrimDue(trimmed_to, since, None if every_rows is None else every_rows - since)


def heights_apart_mm(trims: Sequence[Trim]) -> float | None:
    """Return by how much the heights after trimming differ over the rug, in mm; None with fewer than two."""
    left = [trim.after_mm for trim in trims if trim.after_mm is not None]
    return max(left) - min(left) if len(left) > 1 else None
