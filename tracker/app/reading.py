"""What one reading of the book holds: the shelf, the rug in hand and its answers. Made off the touch thread."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from tracker.words import language

if TYPE_CHECKING:
    from tracker.app.book_port import BookPort
    from tracker.domain.rug import DaysOff, RugBook, RugPlan
    from tracker.forecast.answers import Answers, RugAhead, TellsYarns


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading, published on the touch thread as a whole."""

    plans: tuple[RugPlan, ...]
    settings: dict[str, Any]
    day: date
    """The day for which it was read."""
    rug: RugBook | None = None
    answers: Answers | None = None
    holidays: tuple[DaysOff, ...] = ()
    """Public holidays that were counted as days off."""
    picture: Any = None


class KnownAnswers:
    """The answers of each rug as last worked out, with all that they rest on.

    An act in one rug leaves those of the others as they are: they are told again without being worked out.
    """

    def __init__(self) -> None:
        self._known: dict[str, tuple[tuple[Any, ...], Answers]] = {}
        self._yarns: dict[str, tuple[tuple[Any, ...], TellsYarns]] = {}

    def of(
        self, rug: RugBook, today: date, earlier: tuple[RugBook, ...], ahead: RugAhead | None = None
    ) -> Answers:
        """Return the answers of a rug with its public holidays, as `outlook` works them out."""
        from tracker.forecast.outlook import outlook

        rests_on = (language(), today, rug, earlier, ahead)
        known = self._known.get(rug.plan.id)
        if known is None or known[0] != rests_on:
            answers = outlook(rug, today, earlier=earlier, ahead=ahead)
            known = self._known[rug.plan.id] = (rests_on, answers)
            self._yarns.pop(rug.plan.id, None)
        return known[1]

    def yarns_of(self, rug: RugBook, today: date) -> TellsYarns:
        """Return what the answers of a rug say of its yarns; where they are not known, without working out the rest."""
        from tracker.forecast.outlook import yarns_alone

        rests_on = (language(), today, rug)
        known = self._known.get(rug.plan.id)
        if known is not None and known[0][: len(rests_on)] == rests_on:
            return known[1]
        alone = self._yarns.get(rug.plan.id)
        if alone is None or alone[0] != rests_on:
            alone = self._yarns[rug.plan.id] = (rests_on, yarns_alone(rug, today))
        return alone[1]


def read(
    book: BookPort,
    wished: object,
    today: date,
    draw: Callable[[RugBook], Any] | None = None,
    known: KnownAnswers | None = None,
) -> Reading:
    """Read the shelf, the rug in hand and its answers.

    Parameters
    ----------
    wished
        The id of the rug that was last taken in hand.
    draw
        Draws the rug's picture, where somebody shows it.
    known
        Keeps the answers for who asks again.
    """
    plans, settings = book.rugs(), book.settings()
    rug_id = in_hand(plans, wished)
    if rug_id is None:
        return Reading(plans, settings, today)
    from tracker.forecast.calendar import let_go_of_past

    let_go_of_past(today)
    rug, answers, holidays = answered(book.rug_book, rug_id, plans, settings, today, known)
    return Reading(plans, settings, today, rug, answers, holidays, None if draw is None else draw(rug))


def in_hand(plans: tuple[RugPlan, ...], wished: object) -> str | None:
    """Return which of the rugs is in hand: the wished one, else the first on the loom, planned, or finished."""
    from tracker.domain.rug import RugStage

    if any(plan.id == wished for plan in plans):
        return str(wished)
    for stage in (RugStage.ON_LOOM, RugStage.PLANNED, RugStage.FINISHED):
        for plan in plans:
            if plan.stage is stage:
                return plan.id
    return None


def answered(
    rug_book: Callable[[str], RugBook],
    rug_id: str,
    plans: tuple[RugPlan, ...],
    settings: Mapping[str, Any],
    today: date,
    known: KnownAnswers | None = None,
) -> tuple[RugBook, Answers, tuple[DaysOff, ...]]:
    """Read one rug, its answers, and the public holidays that were counted.

    Those of a rug that waits on the warp of another rest on that one's.
    """
    from tracker.app.public_holidays import days_off_of
    from tracker.domain.rug import RugStage
    from tracker.forecast.in_turn import rug_ahead

    rug = rug_book(rug_id)
    earlier = earlier_rugs(rug_book, rug_id, plans)
    holidays = days_off_of(str(settings.get("country") or ""), rug.plan.start_day, today)
    known = KnownAnswers() if known is None else known
    on_loom = {plan.id for plan in plans if plan.stage is not RugStage.FINISHED}

    def answers_of(other_id: str) -> Answers | None:
        return answered(rug_book, other_id, plans, settings, today, known)[1] if other_id in on_loom else None

    ahead = rug_ahead(rug, answers_of)
    return rug, known.of(with_days_off(rug, holidays), today, earlier, ahead), holidays


def yarns_answered(
    rug_book: Callable[[str], RugBook],
    rug_id: str,
    settings: Mapping[str, Any],
    today: date,
    known: KnownAnswers,
) -> tuple[RugBook, TellsYarns]:
    """Read one rug and what is answered of its yarns, which rests on no other rug."""
    from tracker.app.public_holidays import days_off_of

    rug = rug_book(rug_id)
    holidays = days_off_of(str(settings.get("country") or ""), rug.plan.start_day, today)
    return rug, known.yarns_of(with_days_off(rug, holidays), today)


def with_days_off(rug: RugBook, holidays: tuple[DaysOff, ...]) -> RugBook:
    """Return the rug with public holidays among its days off."""
    return replace(rug, days_off=rug.days_off + holidays) if holidays else rug


def earlier_rugs(
    rug_book: Callable[[str], RugBook], rug_id: str, plans: tuple[RugPlan, ...], by: date | None = None
) -> tuple[RugBook, ...]:
    """Read the finished rugs other than this one; with `by`, those finished by that day."""
    return tuple(rug_book(earlier_id) for earlier_id in earlier_ids(rug_id, plans, by))


def earlier_ids(rug_id: str, plans: tuple[RugPlan, ...], by: date | None = None) -> tuple[str, ...]:
    """Return which finished rugs teach something about this one; with `by`, of those finished by that day."""
    from tracker.domain.rug import RugStage
    from tracker.forecast.thresholds import EARLIER_RUGS

    finished = [
        plan.id
        for plan in plans
        if plan.id != rug_id
        and plan.stage is RugStage.FINISHED
        and (by is None or (plan.finished_day or date.max) <= by)
    ]
    # The others teach nothing more, and each would hold its cartoon in memory.
    return tuple(finished[-EARLIER_RUGS:])
