"""How each tap changes the plan form: its yarns, its cartoon, its week."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from tracker.domain import defaults
from tracker.domain.colour import match_palette
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Role, RugBook, Weaver, Yarn, new_id
from tracker.domain.weaver_name import check_weaver_name
from tracker.presenters.plan.form import (
    CartoonForm,
    PlanForm,
    YarnForm,
    edge_name,
    first_day_offered,
    new_edge,
    new_weft,
)
from tracker.presenters.plan.shares import level_shares
from tracker.presenters.plan.size import follow_size
from tracker.words import _

MOST_COLOURS = 64


def with_yarn(form: PlanForm, yarn_id: str, **changes: Any) -> PlanForm:
    """Return the form with one yarn changed."""
    changes.setdefault("untouched", False)
    return replace(
        form, yarns=tuple(replace(yarn, **changes) if yarn.id == yarn_id else yarn for yarn in form.yarns)
    )


def with_all(form: PlanForm, role: Role, **changes: Any) -> PlanForm:
    """Return the form with every yarn of one role changed alike."""
    return replace(
        form,
        yarns=tuple(replace(yarn, **changes) if yarn.role == role.value else yarn for yarn in form.yarns),
    )


def _free_name(form: PlanForm, name: str) -> str:
    taken = {yarn.name.casefold() for yarn in form.yarns}
    free_name, count = name, 2
    while free_name.casefold() in taken:
        free_name, count = f"{name} {count}", count + 1
    return free_name


def add_colour(form: PlanForm, name: str, swatch: str) -> PlanForm:
    """Return the form with one more colour; it is bought and wound like the last one.

    As long as no share was given, all colours share evenly; otherwise the new one gets what is missing to the whole.

    Raises
    ------
    BadEntry
        When there are as many colours as a rug can have.
    """
    pile = form.of(Role.PILE)
    if len(pile) >= MOST_COLOURS:
        raise BadEntry(_("A rug can have {most} colours. Remove one first.").format(most=MOST_COLOURS))
    given = [yarn.share for yarn in pile]
    share = None
    if pile and all(part is not None for part in given):
        share = max(0.0, round(100 - sum(part or 0.0 for part in given), 2))
    like = pile[-1] if pile else YarnForm(id="", role=Role.PILE.value, name="")
    yarn = replace(
        like,
        id=new_id(),
        name=_free_name(form, name),
        swatch=swatch,
        number=0,
        share=share,
        shades=(),
        untouched=False,
        cut_length_mm=like.cut_length_mm,
    )
    others = tuple(y for y in form.yarns if y.role != Role.PILE.value)
    return replace(form, yarns=(*(replace(y, untouched=False) for y in pile), yarn, *others))


def add_weft(form: PlanForm) -> PlanForm:
    """Return the form with one more weft."""
    pile, wefts = form.of(Role.PILE), form.of(Role.WEFT)
    others = tuple(y for y in form.yarns if not Role(y.role).row_by_row)
    weft = new_weft(len(wefts))
    return replace(form, yarns=(*pile, *wefts, replace(weft, name=_free_name(form, weft.name)), *others))


def add_edge(form: PlanForm, role: Role) -> PlanForm:
    """Return the form with a yarn of its own for the overcasting, the side cords or an added fringe."""
    pile = form.of(Role.PILE)
    lead_days = form.yarns[-1].lead_days if form.yarns else int(defaults.LEAD_DAYS)
    edge = new_edge(role, pile[0] if pile else None, lead_days)
    return replace(form, yarns=(*form.yarns, replace(edge, name=_free_name(form, edge_name(role)))))


def remove_yarn(form: PlanForm, yarn_id: str, book: RugBook | None) -> PlanForm:
    """Return the form without one yarn.

    Raises
    ------
    BadEntry
        When the book already tells of it, or the cartoon is knotted in it, or it is the last of what a rug needs.
    """
    yarn = form.yarn(yarn_id)
    if yarn is None:
        return form
    if book is not None and _told_of(book, yarn_id):
        raise BadEntry(
            _(
                "{name} has been bought or used already, so it stays in the plan. Give it a share of 0 instead."
            ).format(name=yarn.name)
        )
    if form.cartoon is not None and yarn.shades:
        raise BadEntry(
            _("The cartoon is knotted in {name}. Give its cartoon colours to another yarn first.").format(
                name=yarn.name
            )
        )
    if Role(yarn.role).row_by_row and len(form.of(Role(yarn.role))) == 1:
        raise BadEntry(
            _("A rug needs at least one colour.")
            if yarn.role == Role.PILE.value
            else _("A rug needs at least one weft.")
        )
    return replace(form, yarns=tuple(other for other in form.yarns if other.id != yarn_id))


def _told_of(book: RugBook, yarn_id: str) -> bool:
    records: tuple[Any, ...] = (
        *book.lots, *book.lot_changes, *book.weighings, *book.spoilt, *book.samples, *book.preparations
    )  # fmt: skip
    return any(record.yarn_id == yarn_id for record in records) or any(
        used == yarn_id for session in book.sessions for used, _count in session.used
    )


def set_share(form: PlanForm, yarn_id: str, percent: float | None) -> PlanForm:
    """Return the form with one colour's share given."""
    return with_yarn(form, yarn_id, share=percent)


def take_cartoon(form: PlanForm, cartoon: CartoonForm) -> PlanForm:
    """Return the form with a cartoon: its knots and rows, its colours matched to the yarns there are.

    A yarn keeps the cartoon colours it had where the new cartoon has them too; the rest is matched by eye (CIEDE2000),
    and what matches nothing becomes a new yarn with a plain name. The yarn a blank form starts with makes room.
    """
    # The commonest colour first, as a weaver would name them.
    palette = tuple(shade for shade, _knots in sorted(cartoon.shades, key=lambda shade: -shade[1]))
    pile = tuple(yarn for yarn in form.of(Role.PILE) if not yarn.untouched)
    known = tuple(replace(yarn, shades=tuple(s for s in yarn.shades if s in palette)) for yarn in pile)
    claimed = {shade for yarn in known for shade in yarn.shades}
    free = tuple(shade for shade in palette if shade not in claimed)
    idle = tuple(
        Yarn(
            id=yarn.id, rug_id=form.rug_id, role=Role.PILE, number=at + 1, name=yarn.name, swatch=yarn.swatch
        )
        for at, yarn in enumerate(known)
        if not yarn.shades
    )
    like = form.of(Role.PILE)[-1] if form.of(Role.PILE) else YarnForm(id="", role=Role.PILE.value, name="")
    taken = {yarn.name.casefold() for yarn in known}
    new: list[YarnForm] = []
    for match in match_palette(free, idle):
        if match.yarn_id is not None:
            known = tuple(
                replace(yarn, shades=(match.colour.upper(),)) if yarn.id == match.yarn_id else yarn
                for yarn in known
            )
            continue
        name, count = match.name[:1].upper() + match.name[1:], 2
        while name.casefold() in taken:
            name, count = f"{match.name[:1].upper()}{match.name[1:]} {count}", count + 1
        taken.add(name.casefold())
        new.append(
            replace(
                like,
                id=new_id(),
                name=name,
                swatch=match.colour.upper(),
                number=0,
                share=None,
                shades=(match.colour.upper(),),
                untouched=False,
            )
        )
    others = tuple(yarn for yarn in form.yarns if yarn.role != Role.PILE.value)
    taken_in = replace(form, cartoon=cartoon, yarns=(*known, *new, *others))
    return taken_in if form.size_said else follow_size(taken_in)


def drop_cartoon(form: PlanForm) -> PlanForm:
    """Return the form as a bare rug: the colours keep the shares that the cartoon gave them."""
    if form.cartoon is None:
        return form
    knots = dict(form.cartoon.shades)
    total = max(1, sum(knots.values()))
    yarns = tuple(
        replace(yarn, share=round(100 * sum(knots.get(s, 0) for s in yarn.shades) / total, 1), shades=())
        if yarn.role == Role.PILE.value
        else yarn
        for yarn in form.yarns
    )
    bare = replace(
        form,
        cartoon=None,
        yarns=yarns,
        width_cm=round(form.true_width_cm, 1),
        length_cm=round(form.true_length_cm, 1),
    )
    return level_shares(bare) if bare.of(Role.PILE) else bare


def move_shade(form: PlanForm, shade: str, yarn_id: str) -> PlanForm:
    """Return the form with one colour of the cartoon knotted in another yarn."""
    return replace(
        form,
        yarns=tuple(
            replace(
                yarn,
                shades=tuple(s for s in yarn.shades if s != shade) + ((shade,) if yarn.id == yarn_id else ()),
            )
            for yarn in form.yarns
        ),
    )


def toggle_weekday(form: PlanForm, index: int, today: date) -> PlanForm:
    """Return the form with a planned weaving day more or less; a first day that nobody said follows the working days."""
    days = tuple(sorted(set(form.weekdays) ^ {index}))
    offered = form.new and form.start_day == first_day_offered(form.weekdays, today)
    start = first_day_offered(days, today) if offered else form.start_day
    return replace(form, weekdays=days, start_day=start)


def add_weaver(form: PlanForm, weaver: Weaver, known: Iterable[str]) -> PlanForm:
    """Return the form with a weaver who is not in the book yet; as many as are named for the rug sit side by side, at least.

    Raises
    ------
    BadEntry
        When there is no name, or somebody is called so already.
    """
    check_weaver_name(weaver.name, (*known, *(other for _id, other in form.weavers)))
    weavers = (*form.weavers, (weaver.id, weaver.name))
    return replace(form, weavers=weavers, weavers_planned=max(form.weavers_planned, len(weavers)))


def rename_new_weaver(form: PlanForm, weaver_id: str, name: str) -> PlanForm:
    """Return the form with another name for a weaver who is not in the book yet."""
    return replace(
        form, weavers=tuple((who, name if who == weaver_id else other) for who, other in form.weavers)
    )
