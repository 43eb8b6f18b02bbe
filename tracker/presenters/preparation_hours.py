"""The hours of the preparation as they are said: the lines add up to what stands over them."""

from __future__ import annotations

from tracker.domain.rug import PreparationKind
from tracker.domain.winding import CheckItem, PreparationPlan
from tracker.words import shown_work_h


def line_h(preparation: PreparationPlan, item: CheckItem, count: int) -> float:
    """Return the hours that so many balls, shuttles or warps of a line take."""
    one = {
        PreparationKind.BALLS: preparation.ball,
        PreparationKind.SHUTTLES: preparation.shuttle,
        PreparationKind.WARP: preparation.warp,
    }[item.kind]
    return count * one.hours(item.each_g)


def work_left_h(preparation: PreparationPlan) -> float:
    """Return the hours that the open lines say, added up as each is said."""
    return sum(shown_work_h(line_h(preparation, item, item.left)) for item in preparation.items)


def work_in_all_h(preparation: PreparationPlan) -> float:
    """Return the hours that all lines said before the first was ticked off, added up likewise."""
    return sum(shown_work_h(line_h(preparation, item, item.planned)) for item in preparation.items)
