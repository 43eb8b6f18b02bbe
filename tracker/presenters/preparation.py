"""The preparation checklist: what is wound, made and mounted, what is left of it in hours."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import Preparation, PreparationKind, Role, RugBook, RugStage, new_id
from tracker.domain.winding import CheckItem, PreparationPlan
from tracker.presenters import entry_forms
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.entries.form import EntryForm, FormKind
from tracker.presenters.material import shared_balls_words
from tracker.presenters.preparation_hours import line_h, work_in_all_h, work_left_h
from tracker.presenters.warp_words import shared_warp_words
from tracker.presenters.yarn_answers import assumed_units_words
from tracker.words import _, day, hours, mass_each, n_, number, work_words


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One line of the checklist."""

    kind: PreparationKind
    yarn_id: str | None
    swatch: str
    number: str
    name: str
    words: str
    """How much is done: "3 of 12 balls"."""
    note: str
    share: float
    ticked: bool
    one_more: str
    """Words of the key that ticks off one; "" when nothing is left, and of a finished rug."""


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """Lines of one kind."""

    title: str
    icon: str
    lines: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class Done:
    """One entry of what was prepared."""

    record_id: str
    words: str
    note: str


@dataclass(frozen=True, slots=True)
class PreparationState:
    """What the preparation page shows."""

    headline: str
    share: float
    rests_on: str
    groups: tuple[CheckGroup, ...]
    done: tuple[Done, ...]
    ready: bool
    over: bool
    """The rug is finished: nothing is prepared any more, and nothing can be ticked off."""
    warp: str = ""
    """That the warp is shared with other rugs, and with which of them it is mounted; "" where it is not."""


def kind_title(kind: PreparationKind) -> str:
    """Return what a kind of preparation is headed with."""
    return {
        PreparationKind.WARP: _("Mount the warp"),
        PreparationKind.BALLS: _("Wind balls"),
        PreparationKind.SHUTTLES: _("Make shuttles"),
    }[kind]


def count_words(kind: PreparationKind, count: int) -> str:
    """Return so many balls, shuttles or warps."""
    if kind is PreparationKind.BALLS:
        return n_("{count} ball", "{count} balls", count).format(count=number(count))
    if kind is PreparationKind.SHUTTLES:
        return n_("{count} shuttle", "{count} shuttles", count).format(count=number(count))
    return _("warp mounted")


def _assumed_words(item: CheckItem) -> str:
    """Say why more is done than anybody noted; "" of the warp, without which nobody weaves."""
    if item.kind is PreparationKind.WARP:
        return ""
    if item.noted:
        return _("{count} noted, the others are in use already").format(count=number(item.noted))
    return _("by the rows woven") if item.by_rows else _("by what was used up or handed out")


def _line(item: CheckItem, book: RugBook, plan: MaterialPlan) -> CheckLine:
    yarn = next((yarn for yarn in book.yarns if yarn.id == item.yarn_id), None)
    over = book.plan.stage is RugStage.FINISHED
    if item.kind is PreparationKind.WARP:
        words = _("mounted") if item.ticked else _("not noted") if over else _("not mounted yet")
        one_more = "" if item.ticked else _("Mounted")
    else:
        assumed = item.done > item.noted and not item.ticked
        words = (_("at least {done} of {planned}") if assumed else _("{done} of {planned}")).format(
            done=number(item.done), planned=count_words(item.kind, item.planned)
        )
        one_more = "" if item.ticked else _("+1")
    note = (
        ""
        if item.ticked or over
        else _("about {hours} left").format(hours=work_words(line_h(plan.preparation, item, item.left)))
    )
    if item.noted < min(item.done, item.planned):
        # Beside a shorter list of what was noted, or none, nobody else would know why.
        note = "; ".join(part for part in (note, _assumed_words(item)) if part)
    if item.kind is PreparationKind.BALLS:
        line = next((line for line in plan.balls if line.yarn_id == item.yarn_id), None)
        if line is not None:
            # A ball is seldom full: how heavy each is makes so many of them what the rug needs.
            each_g = mass_each(line.need_g, line.balls)
            words_of = _("about {mass}") if line.balls == 1 else _("about {mass} each")
            each_g = words_of.format(mass=each_g)
            note = "; ".join(filter(None, (shared_balls_words(line), each_g, note)))
    return CheckLine(
        kind=item.kind,
        yarn_id=item.yarn_id,
        swatch=yarn.swatch if yarn else "",
        number=yarn_code(yarn) if yarn else "",
        name=item.name,
        words=words,
        note=note,
        share=min(1.0, item.done / item.planned) if item.planned else 1.0,
        ticked=item.ticked,
        one_more="" if over else one_more,
    )


def noted_hours_words(preparation: PreparationPlan) -> str:
    """Say where the hours that were noted count, and where not; "" while none are."""
    if not preparation.hours_noted:
        return ""
    return _(
        "{hours} noted so far. They set the times of this list and of your next rug. They do not count as hours at the "
        "loom and earn no wage: enter what they cost among the costs, as preparation."
    ).format(hours=hours(preparation.hours_noted))


def build_preparation_state(
    book: RugBook, plan: MaterialPlan, today: date, unit: str = "cm"
) -> PreparationState:
    """Return the checklist in words; lengths in `unit`."""
    preparation = plan.preparation
    groups = []
    for kind, icon in (
        (PreparationKind.WARP, "warp"),
        (PreparationKind.BALLS, "wind"),
        (PreparationKind.SHUTTLES, "shuttle"),
    ):
        lines = tuple(_line(item, book, plan) for item in preparation.items if item.kind is kind)
        if lines:
            groups.append(CheckGroup(kind_title(kind), icon, lines))
    over = book.plan.stage is RugStage.FINISHED
    if over:
        headline = _("The rug is finished: nothing is left to prepare.")
    elif preparation.ready:
        headline = _("Everything is ready.")
    else:
        left = work_words(work_left_h(preparation))
        headline = (
            # What was noted of the work done is seldom what the list reckoned for it: no sum is offered that does not come out.
            _("About {left} left").format(left=left)
            if preparation.hours_noted
            else _("About {left} left of {all}").format(left=left, all=work_words(work_in_all_h(preparation)))
        )
    names = {yarn.id: yarn.name for yarn in book.yarns}
    done = tuple(
        Done(
            record_id=entry.id,
            words=count_words(entry.kind, entry.count)
            + (f", {names[entry.yarn_id]}" if entry.yarn_id in names else ""),
            note=day(entry.day, today) + (f", {hours(entry.hours)}" if entry.hours is not None else ""),
        )
        for entry in reversed(book.preparations)
    )
    return PreparationState(
        headline=headline,
        share=1.0
        if over or preparation.ready or not preparation.hours_all
        else 1.0 - preparation.hours_left / preparation.hours_all,
        rests_on=" ".join(
            part
            for part in (
                preparation.rests_on,
                noted_hours_words(preparation),
                assumed_units_words(book.yarns, Role.PILE, Role.WEFT),
            )
            if part
        ),
        groups=tuple(groups),
        over=over,
        done=done,
        ready=preparation.ready,
        warp="" if plan.shared_warp is None else shared_warp_words(plan.shared_warp, book.plan.id, unit),
    )


def one_more(book: RugBook, line: CheckLine, today: date) -> Preparation:
    """Return the record of one more ball, shuttle or the warp, its time not noted."""
    return Preparation(
        id=new_id(), rug_id=book.plan.id, day=today, kind=line.kind, yarn_id=line.yarn_id, count=1
    )


def preparation_form(book: RugBook, plan: MaterialPlan, line: CheckLine, today: date) -> EntryForm:
    """Return the form that notes how many were done and how long it took; all that is left is filled in."""
    form = entry_forms.blank(FormKind.PREPARATION, book, today, line.yarn_id)
    left = next(
        (
            item.left
            for item in plan.preparation.items
            if (item.kind, item.yarn_id) == (line.kind, line.yarn_id)
        ),
        1,
    )
    return replace(form.with_answer("count", max(1, left)), fixed={"kind": str(line.kind)})
