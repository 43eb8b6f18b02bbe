"""The whole material plan of the rug in hand, reckoned again only when something that it rests on has changed."""

from __future__ import annotations

from typing import Any

from tracker.domain import team
from tracker.domain.errors import BookTrouble
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import Cartoon, Preparation, RugBook
from tracker.domain.seats import seating
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.places import SEATS, seats_kept
from tracker.words import language

PLAN_RESTS_ON = (
    "plan",
    "cartoon",
    "yarns",
    "samples",
    "lots",
    "weighings",
    "spoilt",
    "sessions",
    "preparations",
    "measurements",
    "loom",
    "warp_parts",
    "hand_outs",
)
"""The parts of a rug's book that its material plan is reckoned from; days off, costs or photos leave it as it is."""


class WholePlan:
    """Keeps the last plan until something that it rests on changes."""

    def __init__(self) -> None:
        self._read: RugBook | None = None
        self._places: team.Places = ()
        self._rests_on: tuple[Any, ...] = ()
        self._plan: MaterialPlan | None = None

    def of(self, desk: Any) -> MaterialPlan | None:
        """Return the plan of the rug in hand; None when there is none.

        The weaver's times of preparation are learnt from all her rugs.
        """
        book = desk.rug
        if book is None:
            return None
        places = seats_kept(desk.drafts.get(SEATS), book)
        if book is not self._read or places != self._places or self._plan is None:
            earlier, taught = preparations_elsewhere(desk, book.plan.id), desk.taught_pace(book.plan.id)
            seats = seating(book, places)
            rests_on = (
                language(),
                earlier,
                taught,
                seats,
                *(_compared(getattr(book, part)) for part in PLAN_RESTS_ON),
            )
            if self._plan is None or rests_on != self._rests_on:
                self._plan = material_plan(
                    book, earlier=earlier, rows=rows_wanted(book), taught=taught, seats=seats
                )
                self._rests_on = rests_on
            self._read, self._places = book, places
        return self._plan


class _Same:
    """A cartoon, equal to itself alone: storage hands out the same one as long as nobody drew another."""

    def __init__(self, cartoon: Cartoon) -> None:
        self.cartoon = cartoon

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.cartoon is self.cartoon

    __hash__ = None  # type: ignore[assignment]


def _compared(part: Any) -> Any:
    return _Same(part) if isinstance(part, Cartoon) else part


def preparations_elsewhere(desk: Any, rug_id: str) -> tuple[Preparation, ...]:
    """Return what was prepared for the weaver's rugs other than this one."""
    try:
        return tuple(
            preparation
            for plan in desk.plans
            if plan.id != rug_id
            for preparation in desk.rug_book(plan.id, with_cartoon=False).preparations
        )
    except BookTrouble:
        # Own times are a nicety; a book that cannot be read is told of elsewhere.
        return ()


whole_plan = WholePlan()
