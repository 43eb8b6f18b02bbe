"""The shelf: every rug with where it stands, and what a rug taught, ready to be offered to the next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain.finished_size import woven_length_cm
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import AfterStep, Role, RugBook, RugPlan, RugStage
from tracker.forecast.answers import Answers
from tracker.forecast.lessons import Lessons, YarnLesson
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.answer_words import last_row_about, silent_words, yarn_code
from tracker.presenters.guide import (
    AFTER_WEAVING,
    before_last_row,
    stage_names,
    stages_ticked,
    ticks_kept,
)
from tracker.presenters.plan.form import PlanForm
from tracker.presenters.rates import knots_an_hour, loom_hours, tempo_words, unpicked_words
from tracker.presenters.record.yarn_use import yarn_use
from tracker.presenters.size_words import finished_size_words, one_side_words
from tracker.words import _, day, days_from_to, mass, n_, number, one_after_another, percent, size


@dataclass(frozen=True, slots=True)
class RugCard:
    """One rug on the shelf."""

    rug_id: str
    name: str
    stage: RugStage
    size: str
    where: str
    when: str
    share: float
    in_hand: bool
    brief_size: str = ""
    """The size alone: what it is the size of stands in the heading above."""
    row: str = ""
    """Rows woven of all, without their share of the knots."""
    waiting: str = ""
    """What waits to be saved of it, and its timer (`session.waiting_words`); "" where nothing does."""


@dataclass(frozen=True, slots=True)
class ShelfGroup:
    """Rugs at the same point of their lives."""

    stage: RugStage
    label: str
    cards: tuple[RugCard, ...]


STAGES = (RugStage.ON_LOOM, RugStage.PLANNED, RugStage.FINISHED)


def stage_heading(stage: RugStage) -> str:
    """Return the heading over rugs of a stage."""
    return {
        RugStage.ON_LOOM: _("On the loom"),
        RugStage.PLANNED: _("Planned"),
        RugStage.FINISHED: _("Finished"),
    }[stage]


def rug_card(
    plan: RugPlan,
    today: date,
    in_hand: bool,
    answers: Answers | None = None,
    unit: str = "cm",
    waiting: str = "",
) -> RugCard:
    """Return how one rug stands on the shelf; `answers` may still be on their way."""
    where, row, when, share = "", "", "", 0.0
    stage = plan.stage
    woven = answers.where.rows_woven if answers is not None else 0
    if answers is not None:
        share = answers.where.share
        if stage is RugStage.PLANNED and answers.where.rows_woven > 0:
            # Rows that came from another phone's file, or before a session put a rug on the loom.
            stage = RugStage.ON_LOOM
    if stage is RugStage.PLANNED:
        where = n_("{rows} row", "{rows} rows", plan.rows).format(rows=number(plan.rows))
        when = _("to begin {day}").format(day=day(plan.start_day, today))
    elif stage is RugStage.ON_LOOM and answers is not None:
        row = _("row {row} of {rows}").format(
            row=number(answers.where.rows_woven), rows=number(answers.where.rows)
        )
        where = row + ", " + _("{percent} of the knots").format(percent=percent(share))
        when = (
            last_row_about(answers.finish.middle, today)
            if answers.finish is not None
            else silent_words(answers.silent_days)[0]
            if answers.silent_days is not None
            else _("the last row is woven")
        )
    elif stage is RugStage.FINISHED:
        # It may have been finished before the plan's last row; until that is known no rows are told.
        rows = woven or plan.rows
        where = n_("{rows} row", "{rows} rows", rows).format(rows=number(rows)) if answers is not None else ""
        when = _("finished {day}").format(day=day(plan.finished_day, today)) if plan.finished_day else ""
        share = 1.0
    said = "; ".join(filter(None, (finished_size_words(plan, unit, woven), one_side_words(plan, unit))))
    wide, long = plan.finished_width_cm, plan.finished_length_cm
    shown_cm = woven_length_cm(plan, woven) if stage is RugStage.FINISHED else plan.length_cm
    brief = size(plan.width_cm, shown_cm, unit) if wide is None or long is None else size(wide, long, unit)
    return RugCard(plan.id, plan.name, stage, said, where, when, share, in_hand, brief, row or where, waiting)


def begun_card(key: str, form: PlanForm, unit: str = "cm") -> RugCard:
    """Return the card of a plan that was begun and left; its id is what the plan is kept under."""
    name = form.name.strip() or _("a new rug")
    return RugCard(
        key,
        _("Go on with the plan of {name}").format(name=name),
        RugStage.PLANNED,
        "",
        "",
        "",
        0.0,
        False,
        size(form.width_cm, form.length_cm, unit),
        waiting=_("begun, not saved yet"),
    )


def shelf_groups(cards: tuple[RugCard, ...]) -> tuple[ShelfGroup, ...]:
    """Return the cards by stage, what is being woven first, empty groups left out; the finished newest first."""
    groups = []
    for stage in STAGES:
        of_stage = tuple(card for card in cards if card.stage is stage)
        if stage is RugStage.FINISHED:
            of_stage = of_stage[::-1]
        if of_stage:
            groups.append(ShelfGroup(stage, stage_heading(stage), of_stage))
    return tuple(groups)


@dataclass(frozen=True, slots=True)
class RugDeed:
    """Something that can be done with a rug."""

    key: str
    label: str
    icon: str
    role: str = "plain"


def waits_for_loom(plan: RugPlan, plans: Iterable[RugPlan]) -> bool:
    """Tell whether another rug is on the loom on which a rug is planned."""
    return plan.loom_id is not None and any(
        other.id != plan.id and other.loom_id == plan.loom_id and other.stage is RugStage.ON_LOOM
        for other in plans
    )


def deeds_of(
    plan: RugPlan, in_hand: bool, woven: int, waits: bool = False, rows: int | None = None
) -> tuple[RugDeed, ...]:
    """Return what can be done with a rug, the likeliest first; one that `waits` for its loom is not first put on it.

    `rows` it is to have by its cloth (`reckon.rows_wanted`); None: the planned ones.
    """
    rows = plan.rows if rows is None else rows
    deeds = [RugDeed("hand", _("Show it"), "right", "plain" if in_hand else "act")]
    if plan.stage is RugStage.PLANNED:
        role = "act" if in_hand and not waits else "plain"
        deeds.append(RugDeed("loom", _("Put it on the loom"), "warp", role))
    if plan.stage is RugStage.ON_LOOM and woven > 0:
        role = "act" if in_hand and woven >= rows else "plain"
        deeds.append(RugDeed("finish", _("It is finished"), "flag", role))
    if woven > 0:
        deeds.append(RugDeed("lessons", _("Lessons from it"), "info"))
    if plan.stage is RugStage.FINISHED:
        deeds.append(RugDeed("back", _("Back on the loom"), "undo"))
    deeds.append(RugDeed("record", _("Share and print"), "share"))
    deeds.append(RugDeed("plan", _("Change the plan"), "edit"))
    deeds.append(RugDeed("order", _("Customer's order"), "person"))
    deeds.append(RugDeed("withdraw", _("Delete the rug"), "withdraw", "plain"))
    return tuple(deeds)


def unfinished_words(rows: int, woven: int) -> str:
    """Say that some of the `rows` a rug is to have are missing when it is called finished; "" when none are."""
    left = rows - woven
    if left <= 0:
        return ""
    return n_(
        "{left} row of the plan is not woven. Is the rug finished all the same?",
        "{left} rows of the plan are not woven. Is the rug finished all the same?",
        left,
    ).format(left=number(left))


@dataclass(frozen=True, slots=True)
class TickedOff:
    """What was ticked off after weaving of a rug that goes back on the loom."""

    steps: tuple[AfterStep, ...]
    """Open again."""
    names: tuple[str, ...]
    """Of the steps; without any, of the stages that are ticked off in the guide."""
    weaving_goes_on: bool
    """Rows are left, so nothing of it can be done: the rug was not cut off."""


def ticked_off(book: RugBook, ticks: Sequence[str] = ()) -> TickedOff | None:
    """Return what is ticked off of a rug that goes back on the loom, `ticks` in the guide on this phone; None where nothing is."""
    done = tuple(step for step in book.after_steps if step.done_day is not None)
    stages = stages_ticked(ticks) & AFTER_WEAVING
    names = tuple(step.name for step in done) or stage_names(stages)
    if not names and before_last_row(ticks) == ticks_kept(ticks):
        return None
    opened = tuple(replace(step, done_day=None) for step in done)
    # Of a finished rug no more rows are wanted than it has.
    on_loom = replace(book, plan=replace(book.plan, stage=RugStage.ON_LOOM))
    return TickedOff(opened, names, book.rows_woven < rows_wanted(on_loom))


def open_again_words(names: Sequence[str]) -> str:
    """Say which steps after weaving are open again; "" for none."""
    if not names:
        return ""
    return n_(
        "{step} is open again: it follows the last row.",
        "{count} steps are open again: they follow the last row.",
        len(names),
    ).format(step=names[0], count=number(len(names)))


def were_done_words(names: Sequence[str]) -> str:
    """Ask whether steps that are ticked off of a rug without rows left were in fact done."""
    return _(
        "Every row is woven. Ticked off after it: {steps}. What is not done counts for the day it is ready."
    ).format(steps=one_after_another(names))


def unsaved_at_finish_words(waiting: str) -> str:
    """Say that something still waits to be saved of a rug that is called finished (`session.waiting_words`); "" where nothing does."""
    if not waiting:
        return ""
    return _("Still waiting: {what}. Save the session first, or it does not count.").format(what=waiting)


def finished_words() -> str:
    """Return what is said when a rug has been called finished; its `name` is still to be filled in."""
    return _("{name} is finished. Well woven!")


def deletion_words(plan: RugPlan, woven: int | None, waiting: str = "") -> str:
    """Say what goes with a rug that is deleted; "" where it was only planned, so that nobody need ask.

    `woven` None: not read yet; `waiting` says what waits of it to be saved (`session.waiting_words`).
    """
    if waiting:
        return " ".join(
            part
            for part in (
                deletion_words(plan, woven),
                _("Still waiting: {what}. It comes back with the rug.").format(what=waiting),
            )
            if part
        )
    if plan.stage is RugStage.PLANNED and not woven:
        return ""
    if not woven:
        return _("The rug goes with all that was entered of it. The diary can restore it.")
    return n_(
        "{rows} row is woven. The rug goes with its sessions, yarn and pictures. The diary can restore it.",
        "{rows} rows are woven. The rug goes with its sessions, yarn and pictures. The diary can restore it.",
        woven,
    ).format(rows=number(woven))


# --- lessons -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LessonLine:
    """What one yarn took."""

    number: str
    name: str
    swatch: str
    real: str
    planned: str
    difference: str
    """Beside the plan, and what that rests on."""
    tone: str


@dataclass(frozen=True, slots=True)
class LessonState:
    """What a rug taught, in words."""

    title: str
    facts: tuple[tuple[str, str, str], ...]
    """(label, figure, more)"""
    yarns: tuple[LessonLine, ...]
    missing: str
    """What would teach more; "" when all is known."""


def _each(role: Role, g_each: float) -> str:
    if role is Role.WEFT:
        return _("{number} g a row").format(number=number(g_each, 2))
    return _("{mass} for {number} knots").format(mass=mass(1000.0 * g_each), number=number(1000))


def _planned(role: Role, g_each: float) -> str:
    """Say what was planned for as many knots or rows as `_each` says."""
    if role is Role.WEFT:
        return _("planned: {number} g").format(number=number(g_each, 2))
    return _("planned: {mass}").format(mass=mass(1000.0 * g_each))


def _difference(lesson: YarnLesson) -> tuple[str, str]:
    share = lesson.ratio - 1.0
    if abs(share) < 0.005:
        words, tone = _("as planned"), "green"
    else:
        more = _("{percent} more than planned") if share > 0 else _("{percent} less than planned")
        words, tone = more.format(percent=percent(abs(share))), "madder" if share > 0.05 else "ink"
    # Knots of a colour whose shares were taken by eye would be told to the single one; rows stand beside those of the rug.
    said = (
        n_(
            "{difference}, weighed after {count} row",
            "{difference}, weighed after {count} rows",
            lesson.rows,
        )
        if lesson.weighed
        else _("{difference}, by what was used up")
    )
    if lesson.doubted:
        words = said.format(difference=words, count=number(lesson.rows))
    if not lesson.is_sound:
        said = _("{difference}: is something not entered? No other rug counts with it.")
    return said.format(difference=words, count=number(lesson.rows)), tone


def _in_all(book: RugBook, lessons: Lessons, answers: Answers | None) -> dict[str, str]:
    """Say what yarns took in all that were weighed before the last row, as the record says it, by the yarn's id."""
    part = {one.yarn_id for one in lessons.yarns if one.weighed and one.rows < lessons.rows}
    if answers is None or not part:
        return {}
    plan = material_plan(book, rows=rows_wanted(book), taught=answers.taught)
    used = {yarn.id: yarn_use(book, answers, plan, yarn).told_g for yarn in book.yarns if yarn.id in part}
    return {
        yarn_id: _("with the rows after it {mass}, calculated").format(mass=mass(used_g))
        for yarn_id, used_g in used.items()
        if used_g is not None
    }


def build_lesson_state(
    book: RugBook, lessons: Lessons, today: date, answers: Answers | None = None
) -> LessonState:
    """Say what a rug taught; `answers` say what a yarn that was weighed on the way took in all, as the record does."""
    hours = loom_hours(book)
    facts = [
        (
            _("Rows woven"),
            number(lessons.rows),
            "; ".join(
                part
                for part in (
                    n_("{knots} knot", "{knots} knots", lessons.knots).format(knots=number(lessons.knots)),
                    unpicked_words(lessons.unpicked),
                )
                if part
            ),
        ),
        (
            _("Hours at the loom"),
            hours.figure,
            "; ".join(
                part
                for part in (
                    hours.of_sessions
                    or n_("in {count} session", "in {count} sessions", lessons.sessions).format(
                        count=number(lessons.sessions)
                    ),
                    hours.whose,
                )
                if part
            ),
        ),
    ]
    if lessons.knots_per_hour is not None:
        planned = (
            _("planned: {number}").format(number=number(lessons.planned_knots_per_hour))
            if lessons.planned_knots_per_hour
            else ""
        )
        facts.append(
            (
                _("Knots an hour"),
                number(knots_an_hour(lessons.tempo)),
                "; ".join(part for part in (tempo_words(lessons.tempo), planned) if part),
            )
        )
    if lessons.first_day and lessons.last_day:
        days = (lessons.last_day - lessons.first_day).days + 1
        facts.append(
            (
                _("From first to last day"),
                n_("{days} day", "{days} days", days).format(days=number(days)),
                days_from_to(lessons.first_day, lessons.last_day, today, wide=True),
            )
        )
    yarns = {yarn.id: yarn for yarn in book.yarns}
    in_all = _in_all(book, lessons, answers)
    lines = []
    for lesson in lessons.yarns:
        yarn = yarns[lesson.yarn_id]
        difference, tone = _difference(lesson)
        if lesson.yarn_id in in_all:
            difference = f"{difference}; {in_all[lesson.yarn_id]}"
        lines.append(
            LessonLine(
                number=yarn_code(yarn),
                name=yarn.name,
                swatch=yarn.swatch,
                real=_each(yarn.role, lesson.g_each),
                planned=_planned(yarn.role, lesson.planned_g_each),
                difference=difference,
                tone=tone,
            )
        )
    known = {lesson.yarn_id for lesson in lessons.yarns}
    early = [yarns[yarn_id].name for yarn_id in lessons.weighed_early]
    known |= set(lessons.weighed_early)
    unknown = [yarn.name for yarn in book.yarns if yarn.role.row_by_row and yarn.id not in known]
    missing = []
    if early:
        missing.append(
            _(
                "Weigh again what is left of {names}: when it was weighed, too little was woven to tell."
            ).format(names=one_after_another(early))
        )
    if unknown:
        asked = n_(
            "Weigh what is left of {name}: its use then stands here, too.",
            "Weigh what is left of {count} more yarns: their use then stands here, too.",
            len(unknown),
        )
        missing.append(asked.format(name=unknown[0], count=number(len(unknown))))
    return LessonState(
        title=_("Lessons from {name}").format(name=book.plan.name),
        facts=tuple(facts),
        yarns=tuple(lines),
        missing=" ".join(missing),
    )


def learners(plans: tuple[RugPlan, ...], taught_id: str) -> tuple[RugPlan, ...]:
    """Return the rugs to which lessons can be offered: those still planned."""
    return tuple(plan for plan in plans if plan.id != taught_id and plan.stage is RugStage.PLANNED)
