"""Row by row what a rug asks for: knots of each yarn and changes of yarn, from its cartoon or from its shares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.domain import defaults
from tracker.domain.cartoon import CartoonCount, count_of, counts_by_yarn
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.domain.units import show_number
from tracker.words import _


@dataclass(frozen=True, slots=True, eq=False)
class RowsToWeave:
    """Row by row what a rug asks for.

    Attributes
    ----------
    across : knots in a row, each over two warps
    tied : float, knots tied in a row; fewer where some go over four warps
    changes : float array (rows,), changes of yarn in each row
    pile : yarns of the pile, in order
    knots : float array (rows, len(pile)), knots of each pile yarn in each row
    counted : whether the knots come from a cartoon; False: from the colours' shares
    of_cartoon : int array (rows,), the cartoon's row (from 0) that each row is knotted by; its own number without one
    """

    across: int
    tied: float
    changes: NDArray[np.float64]
    pile: tuple[Yarn, ...]
    knots: NDArray[np.float64]
    counted: bool
    of_cartoon: NDArray[np.int64]

    @property
    def rows(self) -> int:
        """Rows of the whole rug."""
        return int(self.changes.size)


def planned_rows(book: RugBook) -> int:
    """Return the rows the rug is planned with: the cartoon's own, else the plan's."""
    return max(1, book.plan.rows if book.cartoon is None else book.cartoon.rows)


def counted_from_cartoon(book: RugBook) -> bool:
    """Tell whether the cartoon says what is knotted in which yarn."""
    return book.cartoon is not None and any(yarn.cartoon_values for yarn in book.yarns_of(Role.PILE))


def rows_to_weave(book: RugBook, rows: int | None = None) -> RowsToWeave:
    """Lay out what each row asks for: from the cartoon, or from the colours' shares without one.

    When `rows` differs from the cartoon's own rows (the weaver holds the length, not the row count), what
    is still to come of the cartoon is stretched over the rows that are still to come.

    Parameters
    ----------
    book : RugBook
    rows : rows the rug will have; None: the planned ones

    Returns
    -------
    RowsToWeave
    """
    plan = book.plan
    pile = book.yarns_of(Role.PILE)
    total = max(1, planned_rows(book) if rows is None else rows)
    cartoon = book.cartoon
    if cartoon is None:
        across = plan.knots_across
        changes = np.full(total, defaults.CHANGES_PER_COLOUR * max(0, len(pile) - 1))
    else:
        across = cartoon.knots_across
        counted = count_of(cartoon, book.yarns)
        changes = counted.changes.astype(float)
    if cartoon is not None and counted_from_cartoon(book):
        knots = counts_by_yarn(counted, pile).astype(float)
    else:
        shares = np.array(shares_of(pile)[0], dtype=float)
        knots = np.tile(shares * across, (changes.size, 1))
    own = changes.size
    index = np.arange(own)
    if total != own:
        woven = min(max(book.rows_woven, 0), own - 1, total)
        ahead = woven + ((np.arange(total - woven) + 0.5) * (own - woven) / max(1, total - woven)).astype(int)
        index = np.concatenate([np.arange(woven), ahead])
        knots, changes = knots[index], changes[index]
    share = plan.tied_share
    return RowsToWeave(
        across, across * share, changes, pile, knots * share, counted_from_cartoon(book), index
    )


def shares_of(pile: tuple[Yarn, ...]) -> tuple[tuple[float, ...], str]:
    """Return each colour's share of the knots when there is no cartoon, and a warning or "".

    Colours without a share divide evenly what the others leave. Shares that do not add up to the whole are scaled.
    """
    if not pile:
        return (), ""
    given = [yarn.share for yarn in pile]
    known = sum(share for share in given if share is not None)
    blank = sum(1 for share in given if share is None)
    if blank:
        rest = max(0.0, 1.0 - known) / blank
        shares = [rest if share is None else share for share in given]
    else:
        shares = [share or 0.0 for share in given]
    total = sum(shares)
    if total <= 0:
        return tuple(1.0 / len(pile) for _yarn in pile), _(
            "No colour has a share of the rug yet; equal parts are taken. Enter the shares, or choose a cartoon."
        )
    warning = ""
    if abs(total - 1.0) > 0.005:
        warning = _("The colours' shares add up to {total} %; they were scaled to 100 %.").format(
            total=show_number(100.0 * total)
        )
    return tuple(share / total for share in shares), warning


def cartoon_count(book: RugBook) -> CartoonCount | None:
    """Return the cartoon's count; None without a cartoon."""
    return None if book.cartoon is None else count_of(book.cartoon, book.yarns)
