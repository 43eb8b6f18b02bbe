"""Which loom a planned rug lies on, whose warp it shares, and whether it fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracker.domain.foundation import loom_fit
from tracker.domain.loom import Loom, WarpLay
from tracker.domain.rug import Role, RugBook, RugPlan, RugStage
from tracker.domain.shared_warp import part_of_book, rugs_on_warp, shared_warp, usual_gap_cm
from tracker.domain.unlikely import unlikely_side
from tracker.presenters.doubts import Doubt
from tracker.presenters.plan.checks import size_troubles
from tracker.presenters.plan.form import PlanForm, form_of
from tracker.presenters.plan.records import draft_book
from tracker.presenters.plan.view import Line
from tracker.presenters.warp_words import on_warp_words
from tracker.words import _, length, one_after_another, size

OWN_WARP = ("", WarpLay.BEHIND)
"""The choice of a warp of its own."""


def loom_of(form: PlanForm, looms: Sequence[Loom]) -> Loom | None:
    """Return the loom a form names."""
    return next((loom for loom in looms if loom.id == form.loom_id), None)


def with_loom(form: PlanForm, loom: Loom | None) -> PlanForm:
    """Return the form on a loom, with the measures that are known of it; None: on none that is named."""
    if loom is None:
        return replace(form, loom_id=None, warp_after=None)
    return replace(
        form,
        loom_id=loom.id,
        loom_width_cm=form.loom_width_cm if loom.width_cm is None else loom.width_cm,
        loom_waste_cm=form.loom_waste_cm if loom.waste_cm is None else loom.waste_cm,
        warp_after=form.warp_after if form.loom_id == loom.id else None,
    )


def with_warp(form: PlanForm, choice: tuple[str, WarpLay]) -> PlanForm:
    """Return the form on the warp of another rug, behind or beside it; "": on one of its own."""
    rug_id, lay = choice
    return replace(
        form,
        warp_after=rug_id or None,
        warp_lay=lay.value,
        warp_gap_cm=form.warp_gap_cm if rug_id else None,
    )


def warp_choices(
    form: PlanForm, plans: Sequence[RugPlan], *, begun: bool = False
) -> tuple[tuple[str, tuple[str, WarpLay]], ...]:
    """Return (words, choice) of the warps a rug can lie on: its own, or that of a rug on the same loom.

    Of a rug that has begun none is offered behind another one, which it would have to wait for.
    """
    choices = [(_("a warp of its own"), OWN_WARP)]
    for plan in plans:
        if plan.loom_id != form.loom_id or plan.stage is RugStage.FINISHED or plan.id == form.rug_id:
            continue
        # Not behind a rug that lies behind this one.
        if form.rug_id in {other.id for other in _ahead_of(plan, plans)}:
            continue
        behind = (plan.id, WarpLay.BEHIND)
        if not begun or chosen_warp(form, plans) == behind:
            choices.append((_("behind {rug}, on its warp").format(rug=plan.name), behind))
        choices.append((_("beside {rug}, on one warp").format(rug=plan.name), (plan.id, WarpLay.BESIDE)))
    return tuple(choices)


def _ahead_of(plan: RugPlan, plans: Sequence[RugPlan]) -> tuple[RugPlan, ...]:
    by_id = {other.id: other for other in plans}
    ahead: list[RugPlan] = []
    before = by_id.get(plan.warp_after or "")
    while before is not None and before not in ahead:
        ahead.append(before)
        before = by_id.get(before.warp_after or "")
    return tuple(ahead)


def near_on_warp(form: PlanForm, plans: Sequence[RugPlan]) -> tuple[RugPlan, ...]:
    """Return the other rugs that may lie on the same warp: those that name the same loom, where any names another."""
    if form.warp_after is None and all(plan.warp_after != form.rug_id for plan in plans):
        return ()
    return tuple(plan for plan in plans if plan.loom_id == form.loom_id and plan.id != form.rug_id)


def loom_choices(
    form: PlanForm, looms: Sequence[Loom], plans: Sequence[RugPlan]
) -> tuple[tuple[str, Loom | None], ...]:
    """Return (words, choice) of the looms that a form can name."""
    return looms_to_choose(form.rug_id, looms, plans, form.unit)


def looms_to_choose(
    rug_id: str, looms: Sequence[Loom], plans: Sequence[RugPlan], unit: str
) -> tuple[tuple[str, Loom | None], ...]:
    """Return (words, choice) of the looms a rug can lie on, each with its size and what else lies on it; None: none is named."""
    choices: list[tuple[str, Loom | None]] = []
    for loom in looms:
        there = [
            plan.name
            for plan in plans
            if plan.loom_id == loom.id and plan.stage is not RugStage.FINISHED and plan.id != rug_id
        ]
        told = [_("{width} wide").format(width=length(loom.width_cm, unit))] if loom.width_cm else []
        if loom.longest_warp_cm:
            told.append(_("warp up to {length}").format(length=length(loom.longest_warp_cm, unit)))
        told.append(one_after_another(there) if there else _("free"))
        choices.append((f"{loom.name}\n{', '.join(told)}", loom))
    return *choices, (_("none named"), None)


def loom_lines(
    form: PlanForm, looms: Sequence[Loom], plans: Sequence[RugPlan], *, begun: bool = False
) -> dict[str, Line]:
    """Return the lines on the loom, its warp and the gap on it; those that cannot be answered are left out."""
    loom = loom_of(form, looms)
    lines = {}
    if looms:
        lines["loom"] = Line(
            _("Loom"),
            _("none named") if loom is None else loom.name,
            _("The plan takes its width and its waste.")
            if loom is None or loom.width_cm
            else _("Its width is not known yet: give it below, or with the loom."),
        )
    if loom is None:
        return lines
    choices = warp_choices(form, plans, begun=begun)
    chosen = chosen_warp(form, plans)
    if len(choices) > 1:
        words = next((words for words, choice in choices if choice == chosen), choices[0][0])
        lines["warp"] = Line(
            _("Warp"), words, _("Rugs on one warp share the loom waste.") if not chosen[0] else ""
        )
    if chosen[0]:
        lay = WarpLay(form.warp_lay)
        gap_cm = usual_gap_cm(lay) if form.warp_gap_cm is None else form.warp_gap_cm
        hint = _("Between their fringes, to cut them apart. Common practice, no source.")
        if lay is WarpLay.BESIDE:
            hint = _("Between their selvedges. Common practice, no source.")
        lines["gap"] = Line(
            _("Gap between the rugs"), length(gap_cm, form.unit), hint if form.warp_gap_cm is None else ""
        )
    return lines


def chosen_warp(form: PlanForm, plans: Sequence[RugPlan]) -> tuple[str, WarpLay]:
    """Return whose warp a form shares, as `warp_choices` tells it."""
    known = {plan.id for plan in plans if plan.loom_id == form.loom_id and form.loom_id is not None}
    if form.warp_after not in known:
        return OWN_WARP
    return form.warp_after or "", WarpLay(form.warp_lay)


def fit_sentences(
    form: PlanForm, looms: Sequence[Loom], others: Sequence[RugBook], book: RugBook | None
) -> tuple[tuple[str, ...], str]:
    """Return what does not fit of the planned rug on the loom it names, and what else lies on the same warp ("": nothing).

    Parameters
    ----------
    others
        The other rugs that name the same loom, as the book holds them.
    book
        The rug as it stands, when its plan is changed.
    """
    loom = loom_of(form, looms)
    if size_troubles(form):
        return (), ""
    drafted = replace(draft_book(form, book), cartoon=None)
    plan = replace(drafted.plan, rows=form.rows, knots_across=form.knots)
    books = {other.plan.id: other for other in others if other.plan.id != plan.id}
    books[plan.id] = replace(drafted, plan=plan)
    order = rugs_on_warp(plan.id, [other.plan for other in books.values()])
    on_warp = [books[other.id] for other in order]
    shared = shared_warp(tuple(map(part_of_book, on_warp)))
    warp = next(iter(drafted.yarns_of(Role.WARP)), None)
    fit = loom_fit(plan, loom, shared, None if warp is None else warp.take_up)
    return fit.sentences_in(form.unit), "" if shared is None else on_warp_words(shared, form.unit) + "."


def doubt_of_size(form: PlanForm, book: RugBook | None) -> Doubt | None:
    """Return what is asked before a plan is saved whose size can hardly be meant; None where it can, or was so before."""
    side = unlikely_side(form.width_cm, form.length_cm)
    if side is None or (
        book is not None and (book.plan.width_cm, book.plan.length_cm) == (form.width_cm, form.length_cm)
    ):
        return None
    words = _("{size}: a side of {side} is far more than usual. Is it right?").format(
        size=size(form.width_cm, form.length_cm, form.unit), side=length(side, form.unit)
    )
    return Doubt(words, _("Yes, save the plan"), _("Change the plan"))


def doubt_of_fit(
    form: PlanForm, looms: Sequence[Loom], others: Sequence[RugBook], book: RugBook | None
) -> Doubt | None:
    """Return what is asked before a plan is saved that does not fit its loom; None where it does, or did not before either."""
    said, _warp = fit_sentences(form, looms, others, book)
    before = () if book is None else fit_sentences(form_of(book, form.unit), looms, others, book)[0]
    found = [sentence for sentence in said if sentence not in before]
    if not found:
        return None
    return Doubt(found[0], _("Yes, save the plan"), _("Change the plan"))
