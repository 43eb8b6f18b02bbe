"""What each yarn gave to the rug."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.domain.lot_moves import weighed_lots
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.need import is_in_rug
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.forecast.answers import Answers


@dataclass(frozen=True, slots=True)
class YarnUse:
    """What one yarn gave to the rug."""

    mass_g: float | None
    """None: nothing can be said."""
    basis: str
    """"weighed", "reckoned", "plan", or "needed" while nothing is woven yet."""


def yarns_in_order(book: RugBook) -> tuple[Yarn, ...]:
    """Return the yarns as they are read: pile by number, then wefts, the warp, the edges."""
    order = list(Role)
    return tuple(sorted(book.yarns, key=lambda one: (order.index(one.role), one.number, one.born)))


def yarn_use(book: RugBook, answers: Answers, plan: MaterialPlan, yarn: Yarn) -> YarnUse:
    """Return the grams of a yarn that the rug took so far.

    What was bought, less what was lost, less what is on hand: by a scale when it was weighed after the last session
    that used it, otherwise as learnt from balls and weighings. With nothing bought the plan stands in, and for the
    warp and the edges always.
    """
    bought = sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn.id)
    need = next((one for one in plan.needs if one.yarn_id == yarn.id), None)
    if not yarn.role.row_by_row:
        basis = "plan" if is_in_rug(book, yarn) else "needed"
        return YarnUse(None if need is None else need.need_g, basis)
    if not book.sessions:
        return YarnUse(None if need is None else need.need_g, "needed")
    lost = sum(spoilt.mass_g for spoilt in book.spoilt if spoilt.yarn_id == yarn.id)
    last = book.sessions[-1]
    weighed = [one for one in book.weighings if one.yarn_id == yarn.id]
    if bought and weighed and (weighed[-1].day, weighed[-1].born) >= (last.day, last.born):
        gone = sum(
            one.mass_g
            for one in book.spoilt
            if one.yarn_id == yarn.id and (one.day, one.born) <= (weighed[-1].day, weighed[-1].born)
        )
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        came = sum(lot.mass_g for lot in weighed_lots(lots, weighed[-1], gone))
        return YarnUse(max(0.0, came - gone - weighed[-1].mass_g), "weighed")
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if bought and answer is not None:
        return YarnUse(max(0.0, bought - lost - answer.on_hand_g), "reckoned")
    if need is None:
        return YarnUse(None, "plan")
    return YarnUse(need.need_g * book.rows_reached / book.plan.rows, "plan")
