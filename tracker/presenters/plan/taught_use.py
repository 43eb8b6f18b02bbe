"""What an earlier rug taught of the pile yarn, offered to the plan of one that is alike."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.domain import material
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.domain.rules import RULES, Range
from tracker.domain.taught import TaughtUse
from tracker.presenters.plan.changes import with_yarn
from tracker.presenters.plan.form import PlanForm
from tracker.presenters.plan.records import draft_book
from tracker.words import _, percent

ALIKE = 0.1
"""Share by which density and fineness may differ between rugs that take their yarn alike: our own choice."""
WORTH_SAYING = 0.05
"""From what share over or under the plan on it is offered: our own choice."""


def _as_used(form: PlanForm, use: TaughtUse) -> dict[str, float]:
    """Return the grams in a square metre that each pile yarn of the form comes to with a use, by the yarn's id.

    Yarns of which something was measured for this rug keep that, and so do all where the rug is not like the one that taught.
    """
    try:
        draft = draft_book(form)
    except BadEntry:
        return {}
    plan = draft.plan
    pairs = [(plan.knots_per_10cm, use.knots_per_10cm), (plan.rows_per_10cm, use.rows_per_10cm)]
    warp = next(iter(draft.yarns_of(Role.WARP)), None)
    rule = RULES[Yarn]["pile_g_per_m2"]
    told: dict[str, float] = {}
    for yarn in draft.yarns_of(Role.PILE):
        alike = all(
            abs(own / other - 1.0) <= ALIKE for own, other in (*pairs, (material.tex_of(plan, yarn), use.tex))
        )
        if not alike or yarn.cut_length_mm or yarn.pile_g_per_m2:
            continue
        g_per_m2 = round(
            material.pile_mass_per_knot_g(plan, yarn, warp) * use.ratio * material.tied_per_m2(plan), 1
        )
        if isinstance(rule, Range) and rule.holds(g_per_m2):
            told[yarn.id] = g_per_m2
    return told


def use_offered(form: PlanForm, taught: Sequence[TaughtUse], book: RugBook | None = None) -> TaughtUse | None:
    """Return what the last rug that is like the planned one took, where that is worth counting with; else None.

    `book` is the rug as it stands where its plan is changed: one that is woven on tells its use itself.
    """
    if book is not None and not form.new and book.woven_sessions:
        return None
    for use in taught:
        if _as_used(form, use):
            return use if abs(use.ratio - 1.0) >= WORTH_SAYING else None
    return None


def use_words(use: TaughtUse) -> str:
    """Say what a rug took."""
    share = percent(abs(use.ratio - 1.0))
    if use.ratio > 1.0:
        return _(
            "On {rug}, as dense and of a like yarn, the pile took {share} more than this plan counts."
        ).format(rug=use.rug_name, share=share)
    return _(
        "On {rug}, as dense and of a like yarn, the pile took {share} less than this plan counts."
    ).format(rug=use.rug_name, share=share)


def with_use(form: PlanForm, use: TaughtUse) -> PlanForm:
    """Return the form whose pile yarns are counted as that rug used them."""
    for yarn_id, g_per_m2 in _as_used(form, use).items():
        form = with_yarn(form, yarn_id, pile_g_per_m2=g_per_m2)
    return form
