"""The whole material plan of the rug in hand, reckoned once for each reading of the book."""

from __future__ import annotations

from typing import Any

from tracker.domain.errors import BookTrouble
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import Preparation, RugBook
from tracker.forecast.reckon import rows_wanted


class WholePlan:
    """Keeps the last plan, so that going from page to page does not reckon it again."""

    def __init__(self) -> None:
        self._of: RugBook | None = None
        self._found: MaterialPlan | None = None

    def of(self, desk: Any) -> MaterialPlan | None:
        """Return the plan of the rug in hand; None when there is none.

        The weaver's times of preparation are learnt from all her rugs.
        """
        book = desk.rug
        if book is None:
            return None
        if book is not self._of or self._found is None:
            self._found = material_plan(
                book,
                earlier=preparations_elsewhere(desk),
                rows=rows_wanted(book),
                taught=desk.taught_pace(book.plan.id),
            )
            self._of = book
        return self._found


def preparations_elsewhere(desk: Any) -> tuple[Preparation, ...]:
    """Return what was prepared for the weaver's other rugs."""
    try:
        return tuple(
            preparation
            for plan in desk.plans
            if desk.rug is None or plan.id != desk.rug.plan.id
            for preparation in desk.rug_book(plan.id, with_cartoon=False).preparations
        )
    except BookTrouble:
        # Own times are a nicety; a book that cannot be read is told of elsewhere.
        return ()


whole_plan = WholePlan()
