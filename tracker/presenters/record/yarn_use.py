"""What each yarn gave to the rug."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tracker.domain.edges import edge_in_rug_g
from tracker.domain.lot_moves import weighed_lots
from tracker.domain.material_plan import MaterialPlan, PileNeed, WeftNeed
from tracker.domain.need import is_in_rug, taken_by_plan_g
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.domain.weighing_answer import lost_before
from tracker.forecast.answers import Answers
from tracker.forecast.reckon import rows_wanted
from tracker.words import _, shown_difference_g, shown_g


@dataclass(frozen=True, slots=True)
class YarnUse:
    """What one yarn gave to the rug."""

    mass_g: float | None
    """None: nothing can be said."""
    basis: str
    """"weighed", "weighed before" where rows came after the scale, "reckoned", "plan", or "needed" while nothing is woven yet."""
    said_g: float | None = None
    """The same beside what is said to be on hand, so that the two add up to what was bought; None: as it is."""

    @property
    def told_g(self) -> float | None:
        """Grams as they are told."""
        return self.mass_g if self.said_g is None else self.said_g

    @property
    def taken_g(self) -> int:
        """Grams that the rug took as they are said of each yarn, 0 while it is only needed: they add up to what is said of all."""
        return 0 if self.told_g is None or self.basis == "needed" else round(shown_g(self.told_g))


def basis_words(use: YarnUse) -> str:
    """Say what the grams that a yarn gave rest on."""
    return {
        "weighed": _("weighed"),
        "weighed before": _("weighed on the way, the rest calculated"),
        "reckoned": _("calculated"),
        "plan": _("from the plan"),
        "needed": _("needed"),
    }[use.basis]


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
            one.mass_g for one in book.spoilt if one.yarn_id == yarn.id and lost_before(one, weighed[-1])
        )
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        came = sum(lot.mass_g for lot in weighed_lots(lots, weighed[-1], gone))
        return YarnUse(max(0.0, came - gone - weighed[-1].mass_g), "weighed")
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if bought and answer is not None:
        used_g = max(0.0, bought - lost - answer.on_hand_g)
        said_g = max(0.0, shown_difference_g(bought - lost, answer.on_hand_g))
        return YarnUse(used_g, "weighed before" if weighed else "reckoned", said_g)
    if need is None:
        return YarnUse(None, "plan")
    return YarnUse(taken_by_plan_g(book, yarn, need.need_g), "plan")


def stays_g(book: RugBook, plan: MaterialPlan, yarn: Yarn, use: YarnUse) -> float | None:
    """Return the grams of a yarn that lie in the finished rug, fringes and flat-woven ends left out.

    Of pile what the knife and the shears leave, of weft what the rows took, of the warp and the cords what lies in the
    cloth. None: nothing can be said.
    """
    need = next((one for one in plan.needs if one.yarn_id == yarn.id), None)
    if need is None or use.mass_g is None:
        return None
    if isinstance(need, PileNeed):
        return use.mass_g * need.knot.finished_mm / need.knot.total_mm
    if isinstance(need, WeftNeed):
        return use.mass_g * need.mass_per_row_g * plan.plan.rows / need.need_g if need.need_g else 0.0
    return plan.finished.warp_g if yarn.role is Role.WARP else edge_in_rug_g(plan.plan, yarn, book)


@dataclass(frozen=True, slots=True)
class YarnSum:
    """What all yarns together gave, in grams."""

    taken_g: int
    """As the yarns' own whole grams add up, with what loom, knife and shears took."""
    stays_g: int | None
    """Of it in the finished rug; None until the rug is finished."""
    weighed: bool
    """Whether the finished rug lay on a scale."""
    learnt: bool
    """Whether any yarn's grams are more than the plan's."""


def yarn_sum(book: RugBook, answers: Answers, plan: MaterialPlan, finished: bool) -> YarnSum:
    """Add up what the yarns gave, and tell how much of it lies in the rug once that is finished."""
    uses = [(yarn, yarn_use(book, answers, plan, yarn)) for yarn in book.yarns]
    taken = sum(use.taken_g for _yarn, use in uses)
    learnt = any(use.basis in ("weighed", "weighed before", "reckoned") for _yarn, use in uses)
    if not finished:
        return YarnSum(taken, None, False, learnt)
    if weighed := book.plan.washed_g or book.plan.unwashed_g:
        return YarnSum(taken, round(weighed), True, learnt)
    stays = sum(stays_g(book, plan, yarn, use) or 0.0 for yarn, use in uses)
    return YarnSum(taken, round(stays), False, learnt)


def dry_mass_g(book: RugBook, answers: Answers | None, plan: MaterialPlan) -> float:
    """Return what the finished rug weighs dry, in grams: as weighed, else once every row is woven by the yarn it took, else by the plan."""
    weighed = book.plan.washed_g or book.plan.unwashed_g
    if weighed:
        return weighed
    if answers is None or book.rows_woven < rows_wanted(book):
        return plan.finished.total_g
    total = yarn_sum(book, answers, plan, finished=True)
    return float(total.stays_g) if total.learnt and total.stays_g else plan.finished.total_g


def plan_as_weighed(book: RugBook, answers: Answers | None, plan: MaterialPlan) -> MaterialPlan:
    """Return the plan with what the finished rug weighs dry as far as the book knows it."""
    return replace(plan, finished=plan.finished.weighing(dry_mass_g(book, answers, plan)))


def knots_so_far(book: RugBook) -> dict[str, float]:
    """Return the knots of each pile yarn up to the height that is reached, by the yarn's id."""
    to_weave = rows_to_weave(book, rows_wanted(book))
    whole = max(0, min(int(book.rows_reached), to_weave.rows))
    knots = to_weave.knots[:whole].sum(axis=0)
    if whole < to_weave.rows:
        knots = knots + (book.rows_reached - whole) * to_weave.knots[whole]
    return {yarn.id: float(many) for yarn, many in zip(to_weave.pile, knots, strict=True)}
