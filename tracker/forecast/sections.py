"""What each weaver's section of the width needs from now on, of every pile yarn.

What the rug still needs is the forecast's own figure (`YarnAnswer.needed_g`), the one that every page shows; it is parted
by the knots that the cartoon has in each section above the height reached.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from tracker.domain import team
from tracker.domain.rows import RowsToWeave, rows_to_weave
from tracker.domain.rug import RugBook
from tracker.domain.seats import Section
from tracker.domain.sections import knots_by_lot, knots_of_section, lot_ends, units_between
from tracker.forecast.answers import Answers
from tracker.forecast.reckon import rows_wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourNeed:
    """What one section needs of one pile yarn over the rows asked for."""

    yarn_id: str
    knots: float
    """Knots of it there; not whole where some go over four warps, or a row is begun."""
    need_g: float
    ahead_g: float = 0.0
    """Of it, what is tied already because the section stands ahead of the others."""
    lots_g: tuple[float, ...]
    """The need of each dye lot, the open one first; what is on hand of none is the last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionNeed:
    """What one section needs; yarns in the plan's order."""

    section: Section
    colours: tuple[ColourNeed, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """The rows still to come, section by section."""

    sections: tuple[Section, ...]
    to_weave: RowsToWeave
    reached: float
    """Rows on the loom now, the begun part of the next one counted."""
    knots: tuple[NDArray[np.float64], ...]
    """Of each section: (rows, yarns) knots of each pile yarn in each row."""
    g_per_knot: NDArray[np.float64]
    """(yarns,) what a knot to come takes by the forecast; 0 where none is to come."""
    ahead: tuple[int, ...]
    """Of each section: rows that it stands above the rows counted as finished."""
    lot_ends: tuple[tuple[float, ...], ...]
    """Of each pile yarn: the heights at which its dye lots end that are on hand, used one after another."""

    @property
    def rows_left(self) -> float:
        """Rows to come, in parts of a row."""
        return self.to_weave.rows - self.reached


def lay_out(book: RugBook, answers: Answers, sections: Sequence[Section], ahead: team.Ahead = ()) -> Layout:
    """Lay out the rows still to come over sections that cover the width once.

    Parameters
    ----------
    book, answers
        The rug, and the forecast's answers of it.
    sections
        As `domain.sections` makes them.
    ahead
        Rows by which a weaver's part stands above the rows counted as finished.
    """
    to_weave = rows_to_weave(book, rows_wanted(book))
    row_now = min(book.rows_woven, to_weave.rows)
    begun = book.knots_begun if row_now < to_weave.rows else 0
    reached = row_now + begun / max(to_weave.across, 1)
    needed = {answer.yarn_id: answer.needed_g for answer in answers.yarns}
    left = units_between(to_weave.knots, reached, to_weave.rows)
    grams = np.array([needed.get(yarn.id, 0.0) for yarn in to_weave.pile])
    g_per_knot = np.divide(grams, left, out=np.zeros_like(grams), where=left > 0)
    rows_ahead = dict(ahead)
    return Layout(
        sections=tuple(sections),
        to_weave=to_weave,
        reached=reached,
        knots=tuple(knots_of_section(book, to_weave, section.first, section.last) for section in sections),
        g_per_knot=g_per_knot,
        ahead=tuple(rows_ahead.get(section.weaver_id, 0) for section in sections),
        lot_ends=tuple(
            lot_ends(to_weave.knots[:, k], reached, _knots_of_lots(answers, yarn.id, float(g_per_knot[k])))
            for k, yarn in enumerate(to_weave.pile)
        ),
    )


def _knots_of_lots(answers: Answers, yarn_id: str, g_per_knot: float) -> list[float]:
    """Return the knots that each dye lot on hand of a yarn gives, the open one first."""
    answer = next((answer for answer in answers.yarns if answer.yarn_id == yarn_id), None)
    if answer is None or answer.lots is None or g_per_knot <= 0:
        return []
    return [stock.on_hand_g / g_per_knot for stock in answer.lots.stocks if stock.on_hand_g > 0]


def section_needs(layout: Layout, rows: float = math.inf) -> tuple[SectionNeed, ...]:
    """Return what each section needs from now on, left to right.

    Parameters
    ----------
    layout
        The rows still to come.
    rows
        For so many rows from the height reached; infinite: to the end.
    """
    last = min(layout.reached + rows, float(layout.to_weave.rows))
    needs = []
    for section, knots, ahead in zip(layout.sections, layout.knots, layout.ahead, strict=True):
        units = units_between(knots, layout.reached, last)
        tied = units_between(knots, layout.reached, min(layout.reached + ahead, last))
        needs.append(
            SectionNeed(
                section=section,
                colours=tuple(
                    ColourNeed(
                        yarn_id=yarn.id,
                        knots=float(units[k]),
                        need_g=float(units[k] * layout.g_per_knot[k]),
                        ahead_g=float(tied[k] * layout.g_per_knot[k]),
                        lots_g=tuple(
                            part * float(layout.g_per_knot[k])
                            for part in knots_by_lot(knots[:, k], layout.lot_ends[k], layout.reached, last)
                        ),
                    )
                    for k, yarn in enumerate(layout.to_weave.pile)
                ),
            )
        )
    return tuple(needs)


def day_of_row(answers: Answers, row: float) -> date | None:
    """Return the likely day on which a row is woven, between the rows of which the forecast tells; None when it tells none."""
    days = _days_told(answers)
    if len(days) < 2 or row > days[-1][0]:
        return None
    rows, ordinals = zip(*days, strict=True)
    return date.fromordinal(round(float(np.interp(row, rows, ordinals))))


def _days_told(answers: Answers) -> list[tuple[float, int]]:
    """Return (row, day as ordinal) from now on, rising in both."""
    if answers.finish is None:
        return []
    told = [(float(answers.where.rows_woven), answers.day.toordinal())]
    for row, _early, middle, _late in answers.finish.bands:
        if row > told[-1][0]:
            told.append((float(row), max(middle.toordinal(), told[-1][1])))
    return told
