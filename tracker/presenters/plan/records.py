"""The records that a plan form becomes."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any, TypeVar

from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry
from tracker.domain.layout import as_cartoon
from tracker.domain.loom import WarpLay
from tracker.domain.rug import KnotKind, Role, RugBook, RugPlan, SizeMeasure, Weaver, Yarn, new_id
from tracker.domain.rules import next_number
from tracker.domain.yarn import parse_fineness
from tracker.presenters.doubts import Doubt, doubt_of
from tracker.presenters.plan.checks import count_trouble, troubles
from tracker.presenters.plan.form import PlanForm, form_of
from tracker.presenters.plan.shares import even_shares, knots_of
from tracker.words import _

Record = TypeVar("Record", RugPlan, Yarn)
TOGETHER = (frozenset(("count", "tex", "twist_contraction")),)
"""Fields of which one follows from the others: where one was changed, all are the form's."""


def plan_of_size(form: PlanForm, width_cm: float, length_cm: float) -> RugPlan:
    """Return the plan the form stands for at a size, lengths in cm."""
    return RugPlan(
        id=form.rug_id,
        name=form.name.strip(),
        width_cm=width_cm,
        length_cm=length_cm,
        knots_per_10cm=form.knots_per_10cm,
        rows_per_10cm=form.rows_per_10cm,
        knots_across=form.knots,
        rows=form.rows,
        pile_height_mm=form.pile_height_mm,
        knot_kind=KnotKind(form.knot_kind),
        weekdays=form.weekdays,
        hours_per_week=form.hours_per_week,
        weavers_planned=form.weavers_planned,
        start_day=form.start_day,
        wished_day=form.wished_day,
        knots_per_hour=form.knots_per_hour,
        selvedge_warps=form.selvedge_warps,
        end_cm=form.end_cm,
        fringe_cm=form.fringe_cm,
        loom_waste_cm=form.loom_waste_cm,
        loom_width_cm=form.loom_width_cm,
        beam_roll_cm=form.beam_roll_cm,
        loom_id=form.loom_id,
        warp_after=form.warp_after,
        warp_lay=WarpLay(form.warp_lay),
        warp_gap_cm=form.warp_gap_cm,
        raj_cm=form.raj_cm,
        unshorn_mm=form.unshorn_mm,
        jufti_share=form.jufti_percent / 100,
        warp_offset_degrees=form.warp_offset_degrees,
        size_measure=SizeMeasure(form.size_measure),
        loom_shrinkage=form.loom_shrinkage,
        wash_shrinkage_width=form.wash_shrinkage_width,
        wash_shrinkage_length=form.wash_shrinkage_length,
    )


def to_plan(form: PlanForm, book: RugBook | None = None, opened: PlanForm | None = None) -> RugPlan:
    """Return the plan the form stands for; what the form does not ask, or was not changed in it, stays as in the book.

    Parameters
    ----------
    opened
        The form of the book as it stands, where it is made already.
    """
    plan = plan_of_size(form, form.true_width_cm, form.true_length_cm)
    if book is None:
        return plan
    opened = opened or form_of(book, form.unit)
    return _with_changes(book.plan, plan, plan_of_size(opened, opened.true_width_cm, opened.true_length_cm))


def _with_changes(record: Record, now: Record, opened: Record) -> Record:
    """Return what the book holds with what was changed in the form.

    A form shows a rounded figure where the book holds a finer one, or words for what was only known as a number: what
    nobody touched is written back as it was, not as it was shown.

    Parameters
    ----------
    record
        What the book holds.
    now, opened
        What the form stands for, and what it stood for when nothing was changed yet.
    """
    changed = {
        field.name
        for field in fields(now)
        if field.name != "born" and getattr(now, field.name) != getattr(opened, field.name)
    }
    for names in TOGETHER:
        if changed & names:
            changed |= names
    told = {name: getattr(now, name) for name in changed & {field.name for field in fields(now)}}
    return replace(record, **told) if told else record


def _yarns(
    form: PlanForm,
    palette: tuple[str, ...],
    book: RugBook | None,
    opened_form: PlanForm | None,
    another_cartoon: bool,
) -> tuple[Yarn, ...]:
    """Return the yarns the form stands for; what was not changed in it stays as in the book."""
    yarns = to_yarns(form, palette)
    if book is None or opened_form is None:
        return yarns
    before = () if book.cartoon is None else book.cartoon.palette
    opened = {yarn.id: yarn for yarn in to_yarns(_with_sound_counts(opened_form), before)}
    held = {yarn.id: yarn for yarn in book.yarns}
    made = []
    for yarn in yarns:
        if yarn.id in held and yarn.id in opened:
            corrected = _with_changes(held[yarn.id], yarn, opened[yarn.id])
            # Another cartoon has other values in other places, even where they are the same numbers.
            made.append(
                replace(corrected, cartoon_values=yarn.cartoon_values) if another_cartoon else corrected
            )
        else:
            made.append(yarn)
    return tuple(made)


def _with_sound_counts(form: PlanForm) -> PlanForm:
    """Return the form without the counts that cannot be read."""
    return replace(
        form, yarns=tuple(replace(y, count="" if count_trouble(y.count) else y.count) for y in form.yarns)
    )


def to_yarns(form: PlanForm, palette: tuple[str, ...] = ()) -> tuple[Yarn, ...]:
    """Return the yarns the form stands for; `palette` is the cartoon's, in its own order.

    A yarn that has a number keeps it, so that the numbers on the balls at the loom stay true.
    """
    colours = [colour.upper() for colour in palette]
    entered = []
    for role in Role:
        yarns = form.of(role)
        shares = even_shares(yarns) if role is Role.PILE and form.cartoon is None else (None,) * len(yarns)
        numbers = [yarn.number for yarn in yarns if yarn.number]
        for yarn, share in zip(yarns, shares, strict=True):
            if not yarn.number:
                numbers.append(next_number(numbers))
            fineness = parse_fineness(yarn.count) if yarn.count.strip() else None
            twist = yarn.twist_percent / 100 if fineness is not None and fineness.is_plied else 0.0
            entered.append(
                Yarn(
                    id=yarn.id,
                    rug_id=form.rug_id,
                    role=role,
                    number=yarn.number or numbers[-1],
                    name=yarn.name.strip(),
                    swatch=yarn.swatch,
                    share=None if share is None else share / 100,
                    cartoon_values=tuple(at for at, colour in enumerate(colours) if colour in yarn.shades),
                    count=yarn.count.strip(),
                    tex=0.0 if fineness is None else fineness.tex_after_twist(twist),
                    twist_contraction=twist,
                    fibre=yarn.fibre,
                    unit_mass_g=yarn.unit_mass_g,
                    passes_per_row=yarn.passes,
                    take_up=None if yarn.take_up_percent is None else yarn.take_up_percent / 100,
                    cut_length_mm=yarn.cut_length_mm,
                    pile_g_per_m2=yarn.pile_g_per_m2,
                    skein_g=yarn.skein_g,
                    least_purchase_g=yarn.least_g,
                    margin=yarn.margin_percent / 100,
                    price_per_kg=yarn.price_per_kg,
                    dyer=yarn.dyer.strip(),
                    lead_days=yarn.lead_days,
                    per_cm=yarn.per_cm,
                    pieces=yarn.pieces,
                )
            )
    return tuple(entered)


@dataclass(frozen=True, slots=True)
class Records:
    """What saving writes and withdraws, as one act."""

    values: tuple[Any, ...]
    withdraw: tuple[str, ...] = ()


def records(form: PlanForm, book: RugBook | None = None, picture: CartoonPicture | None = None) -> Records:
    """Return the records of a form that has no troubles.

    Parameters
    ----------
    form
        The form.
    book
        The rug as it stands, when its plan is changed; what did not change is not written again.
    picture
        The cartoon put together anew; None: the rug is bare, or keeps the cartoon it has.

    Raises
    ------
    BadEntry
        With the first trouble, when there is one.
    """
    wrong = troubles(form, book)
    if wrong:
        raise BadEntry(next(iter(wrong.values())))
    values: list[Any] = []
    palette: tuple[str, ...] = ()
    withdraw: list[str] = []
    before = None if book is None else book.cartoon
    if form.cartoon is not None:
        if picture is not None:
            cartoon = as_cartoon(picture, id=new_id() if before is None else before.id, rug_id=form.rug_id)
            cartoon = replace(cartoon, source_name=form.cartoon.name)
            palette = cartoon.palette
            values.append(cartoon)
        elif before is not None:
            palette = before.palette
        else:
            raise BadEntry(_("The cartoon's picture is gone. Choose it again."))
    elif before is not None:
        withdraw.append(before.id)
    opened = None if book is None else form_of(book, form.unit)
    plan = to_plan(form, book, opened)
    yarns = _yarns(form, palette, book, opened, picture is not None or bool(withdraw))
    if book is None:
        return Records((plan, *yarns, *values, *_weavers(form)))
    known = {yarn.id: yarn for yarn in book.yarns}
    changed = [yarn for yarn in yarns if known.get(yarn.id) != yarn]
    withdraw += [yarn_id for yarn_id in known if yarn_id not in {yarn.id for yarn in yarns}]
    plans = [] if plan == book.plan else [plan]
    return Records((*plans, *changed, *values, *_weavers(form)), tuple(withdraw))


def _weavers(form: PlanForm) -> tuple[Weaver, ...]:
    return tuple(Weaver(id=weaver_id, name=name) for weaver_id, name in form.weavers)


def draft_book(form: PlanForm, book: RugBook | None = None, picture: CartoonPicture | None = None) -> RugBook:
    """Return the rug the form would make, with all that the book knows of it already: samples, lots, sessions.

    Parameters
    ----------
    book
        The rug as it stands, when its plan is changed.
    picture
        The cartoon as it will be woven; None: there is none, or it is not laid out yet, and the colours go by share.
    """
    sound = _with_sound_counts(form)
    opened = None if book is None else form_of(book, form.unit)
    plan = to_plan(form, book, opened)
    begun = RugBook(plan=plan) if book is None else replace(book, plan=plan)
    if form.cartoon is not None and picture is not None:
        cartoon = as_cartoon(picture, id=form.rug_id, rug_id=form.rug_id)
        return replace(begun, cartoon=cartoon, yarns=_yarns(sound, cartoon.palette, book, opened, True))
    total = max(1, form.knots * form.rows)
    shares = {yarn.id: knots_of(form, yarn) / total for yarn in form.of(Role.PILE)}
    yarns = tuple(replace(yarn, share=shares.get(yarn.id)) for yarn in _yarns(sound, (), book, opened, True))
    return replace(begun, cartoon=None, yarns=yarns)


def doubt_of_price(
    form: PlanForm, book: RugBook | None, yarn_id: str, price_per_kg: float, today: date
) -> Doubt | None:
    """Return what is asked before a price of a kilogram is taken into the plan; None where nothing is."""
    try:
        before = draft_book(form, book)
    except BadEntry:
        return None  # what is wrong is told before the price matters
    yarn = next((yarn for yarn in before.yarns if yarn.id == yarn_id), None)
    return None if yarn is None else doubt_of(replace(yarn, price_per_kg=price_per_kg), before, today)
