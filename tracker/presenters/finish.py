"""When it is done: the date and its range on a month, days off, the wished-for day, marks on the way, what follows."""

from __future__ import annotations

import calendar
import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from tracker.domain import rules
from tracker.domain.act import ActKind
from tracker.domain.costs import order_of
from tracker.domain.errors import BadEntry
from tracker.domain.finished_size import tolerance_cm
from tracker.domain.loom import WarpLay
from tracker.domain.rug import AfterStep, DaysOff, RugBook, RugPlan, RugStage, id_of, new_id
from tracker.forecast.answers import Answers
from tracker.forecast.reckon import most_rows, rows_wanted
from tracker.presenters.answer_words import (
    chance_words,
    date_holds_if,
    day_range,
    last_row_label,
    reckoned_day,
    silent_words,
    to_come_words,
    woven_words,
)
from tracker.presenters.guide import (
    GuideStage,
    WhatFollows,
    goes_on_at,
    open_steps,
    stages_done_words,
    stages_of_step,
    what_follows,
)
from tracker.presenters.marks import open_mistakes_words
from tracker.presenters.rates import not_given_words, rate_words
from tracker.presenters.shelf import unfinished_words
from tracker.presenters.size_words import (
    agreement_words,
    finished_size_words,
    tolerance_source,
    washing_words,
)
from tracker.presenters.trade_words import measure_words
from tracker.words import (
    _,
    day,
    day_short,
    days_from_to,
    hours,
    length,
    mass,
    month,
    n_,
    number,
    one_after_another,
    weekday,
    weekday_name,
    work_words,
)

LONGEST_STEP_DAYS = 365.0
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class DayState:
    """One day of a month: what was done on it, and what may be."""

    day: date
    figure: str
    in_month: bool
    rows: int
    """Rows gained; below zero when some were unpicked."""
    woven: bool
    share: float
    """Rows over the most of any day, 0 to 1."""
    off: bool
    today: bool
    in_range: bool
    middle: bool
    ready: bool
    """Foreseen as the day on which the steps after weaving are done."""
    wished: bool


@dataclass(frozen=True, slots=True)
class MonthState:
    """A month as it is drawn."""

    title: str
    weekdays: tuple[str, ...]
    days: tuple[DayState, ...]
    """Whole weeks."""


def legend(months: Iterable[MonthState]) -> tuple[tuple[str, str], ...]:
    """Return (face, words) of every mark that stands on a day of these months."""
    marks = (
        ("woven", _("woven"), lambda on: on.woven),
        ("off", _("day off"), lambda on: on.off),
        ("today", _("today"), lambda on: on.today),
        ("range", _("last row, likely"), lambda on: on.in_range and not on.middle),
        ("middle", _("last row, about here"), lambda on: on.middle),
        ("ready", _("ready, all steps done"), lambda on: on.ready),
        ("wished", _("target date"), lambda on: on.wished),
    )
    days = [on for month in months for on in month.days]
    return tuple((face, words) for face, words, stands in marks if any(map(stands, days)))


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step after the last row."""

    step_id: str
    name: str
    days: str
    done: bool
    note: str
    begun: bool = False
    """Some of its stages are ticked off in the guide, and not all."""


@dataclass(frozen=True, slots=True)
class MarkLine:
    """A place on the way to the last row."""

    name: str
    day: str
    span: str


@dataclass(frozen=True, slots=True)
class FinishedReading:
    """Something measured or weighed of the rug off the loom."""

    field: str
    """Of the plan."""
    name: str
    answer: str

    @property
    def weighed(self) -> bool:
        """Whether it is a weight; else it is a side."""
        return self.field.endswith("_g")


@dataclass(frozen=True, slots=True)
class FinishState:
    """What the page says in words."""

    label: str
    figure: str
    span: str
    ready: str
    left: str
    wish: str
    wish_words: str
    marks: tuple[MarkLine, ...]
    steps: tuple[StepLine, ...]
    steps_told: str
    """Without steps: what to enter, or what the guide says to be done; "" of a finished rug."""
    usual_offered: str
    """What the key says that adds the usual steps; "" where none of them is missing."""
    follows: WhatFollows | None
    """What comes next once every row is woven; None while rows are left."""
    rests_on: tuple[str, ...]
    moved_by: tuple[str, ...]
    woven: bool
    """Every row is woven: what follows stands before the month, and no target is asked for any more."""
    can_finish: bool
    """Every row is woven, and the rug is not yet called finished."""
    mistakes: str
    """The mistakes that nobody ticked off, once every row is woven; "" where there are none."""
    size: str
    """The size of the finished rug, measured or to be measured; "" while rows are left."""
    readings: tuple[FinishedReading, ...]
    """What is measured and weighed before washing and after it."""
    washing: str
    """What washing took; "" until something was measured before and after."""
    size_words: str
    size_off: bool
    """Measured, and further off than is allowed."""


def ready_day(book: RugBook, answers: Answers) -> date | None:
    """Return the day on which the steps after weaving are foreseen to be done; None where none follows the last row."""
    finish = answers.finish
    if finish is not None:
        return finish.ready if finish.ready is not None and finish.ready > finish.middle else None
    open_days = _open_days(book)
    # Who says that the rug is finished waits for nothing more.
    if not answers.finished or not open_days or book.plan.stage is RugStage.FINISHED:
        return None
    return answers.day + timedelta(days=math.ceil(open_days))


def _open_days(book: RugBook) -> float:
    return sum(step.days for step in book.after_steps if step.done_day is None)


def rows_by_day(book: RugBook) -> dict[date, int]:
    """Return the rows gained on every day on which somebody wove."""
    rows: dict[date, int] = defaultdict(int)
    for session in book.woven_sessions:
        rows[session.day] += session.rows
    return dict(rows)


def _covers(off: DaysOff, on: date) -> bool:
    return off.first_day <= on <= off.last_day


def build_month_state(
    book: RugBook, answers: Answers, shown: date, today: date, first_weekday: int = 0
) -> MonthState:
    """Lay one month out.

    Parameters
    ----------
    book, answers
        The rug and its answers.
    shown
        Any day of the month.
    today
        The local day.
    first_weekday
        0 = Monday.
    """
    gained = rows_by_day(book)
    most = max(1, max(gained.values(), default=1))
    finish, ready = answers.finish, ready_day(book, answers)
    days = []
    for week in calendar.Calendar(first_weekday).monthdatescalendar(shown.year, shown.month):
        for on in week:
            rows = gained.get(on, 0)
            days.append(
                DayState(
                    day=on,
                    figure=number(on.day),
                    in_month=on.month == shown.month,
                    rows=rows,
                    woven=on in gained and rows >= 0,
                    share=max(0.0, min(1.0, rows / most)),
                    off=any(_covers(off, on) for off in book.days_off),
                    today=on == today,
                    in_range=_may_be_last(book, answers, on),
                    middle=finish is not None and on == finish.middle,
                    ready=on == ready,
                    wished=on == book.plan.wished_day,
                )
            )
    heads = tuple(weekday_name((first_weekday + at) % 7, "narrow") for at in range(7))
    return MonthState(month(shown), heads, tuple(days))


def _is_weaving_weekday(book: RugBook, on: date) -> bool:
    """Tell whether somebody weaves on such a day of the week: by the plan, or because somebody did."""
    return on.weekday() in book.plan.weekdays or any(
        session.day.weekday() == on.weekday() for session in book.woven_sessions
    )


def _may_be_last(book: RugBook, answers: Answers, on: date) -> bool:
    """Tell whether the last row is likely to come on a day: of its range those on which somebody may weave."""
    finish = answers.finish
    if finish is None or not finish.early <= on <= finish.late:
        return False
    may_weave = on.weekday() in finish.weekdays and not any(_covers(off, on) for off in book.days_off)
    return may_weave or on in (finish.early, finish.middle, finish.late)


def other_month(shown: date, months: int) -> date:
    """Return the first day of the month so many months away."""
    index = min(max(shown.year * 12 + shown.month - 1 + months, 12), 9999 * 12 - 1)
    return date(index // 12, index % 12 + 1, 1)


def rows_in_words(rows: int, given_hours: float) -> str:
    """Say rows woven or taken out and the hours they took: "+6 rows in 4 h"; 0 hours: nobody said."""
    words = n_("{rows} row", "{rows} rows", abs(rows)).format(rows=f"{rows:+d}".replace("-", "−"))
    return _("{rows} in {hours}").format(rows=words, hours=hours(given_hours)) if given_hours else words


def moved_words(before: Answers | None, after: Answers | None) -> str:
    """Say how an act moved the last row; "" where it did not, or no day is told of it."""
    if before is None or after is None or before.finish is None or after.finish is None:
        return ""
    days = (after.finish.middle - before.finish.middle).days
    if not days:
        return ""
    words = (
        n_("Last row {days} day later: {day}.", "Last row {days} days later: {day}.", days)
        if days > 0
        else n_("Last row {days} day sooner: {day}.", "Last row {days} days sooner: {day}.", -days)
    )
    return words.format(days=number(abs(days)), day=day(after.finish.middle, after.day))


def day_words(book: RugBook, answers: Answers, on: date, today: date) -> str:
    """Say what there is to say of one day."""
    parts = []
    sessions = [session for session in book.woven_sessions if session.day == on]
    if sessions:
        given = [session.hours for session in sessions if session.hours]
        words = rows_in_words(sum(session.rows for session in sessions), sum(given))
        if given:
            unsaid = replace(book, sessions=tuple(sessions)).hours_not_given
            if unsaid:
                words = f"{words} ({not_given_words(unsaid)})"
        parts.append(words)
    elif on < today:
        parts.append(_("no session"))
    for off in book.days_off:
        if _covers(off, on):
            parts.append(_("day off: {reason}").format(reason=off.reason) if off.reason else _("day off"))
            break
    finish = answers.finish
    if finish is not None:
        if on == finish.middle:
            parts.append(_("the last row about here"))
        elif _may_be_last(book, answers, on):
            parts.append(_("the last row may come here"))
    if on == ready_day(book, answers):
        parts.append(_("ready, with the steps after weaving"))
    if on == book.plan.wished_day:
        parts.append(_("target date"))
    if on == today:
        parts.insert(0, _("today"))
    said = _("{weekday}, {day}").format(weekday=weekday(on), day=day(on, today))
    return f"{said}: {'; '.join(parts)}" if parts else said


@dataclass(frozen=True, slots=True)
class DayOffers:
    """What a day tells when it is tapped, and what can be done with it."""

    sentence: str
    change: str
    """What the key says that takes the day off, or on again; "" when there is nothing to change."""
    off: bool
    """A day off of the weaver's own, whose reason can be told."""
    sessions: tuple[tuple[str, str], ...] = ()
    """(id of a session of that day, what its key says)."""
    log: bool = False
    """A session can be logged for it."""


def build_day_offers(
    book: RugBook, holidays: tuple[DaysOff, ...], answers: Answers, on: date, today: date
) -> DayOffers:
    """Say what a tapped day tells and offers.

    Its sessions can be opened, and one more be logged for a day that is past or today. It becomes a day off only when it is
    none of these: past, one on which somebody wove, one of a finished rug, a public holiday, one of a weekday without weaving.
    """
    with_holidays = replace(book, days_off=book.days_off + holidays)
    parts = [day_words(with_holidays, answers, on, today)]
    off = any(_covers(own, on) for own in book.days_off)
    woven = any(session.day == on for session in book.woven_sessions)
    finished = book.plan.stage is RugStage.FINISHED or book.plan.finished_day is not None
    change = ""
    if any(_covers(holiday, on) for holiday in holidays):
        parts.append(
            _(
                "A public holiday of the country in your settings. To weave on it, choose another "
                "country there."
            )
        )
    elif on >= today and not woven and not finished and not off and not _is_weaving_weekday(book, on):
        parts.append(_("No weaving day by the plan."))
    elif on >= today and not woven and not finished:
        change = _("Weave on this day") if off else _("Take the day off")
    return DayOffers(
        "\n".join(parts),
        change,
        off and bool(change),
        sessions=tuple(
            (
                session.id,
                _("Open the session: {told}").format(told=rows_in_words(session.rows, session.hours or 0.0)),
            )
            for session in book.woven_sessions
            if session.day == on
        ),
        log=on <= today and not finished and book.rows_woven < most_rows(book),
    )


@dataclass(frozen=True, slots=True)
class DayOffChange:
    """What one tap on a day writes, and the sentence that answers it."""

    kind: ActKind
    values: tuple[DaysOff, ...]
    withdraw: tuple[str, ...]
    sentence: str
    now_off: bool


def toggle_day_off(book: RugBook, on: date, today: date) -> DayOffChange:
    """Return what makes `on` a day off, or a weaving day again when it was one.

    Days off hold for every rug. A day within a longer absence splits it in two.
    """
    day_words = _("{weekday}, {day}").format(weekday=weekday(on), day=day(on, today))
    covering = [off for off in book.days_off if _covers(off, on)]
    if not covering:
        value = DaysOff(id=new_id(), rug_id=None, first_day=on, last_day=on)
        return DayOffChange(
            ActKind.DAYS_OFF_ENTERED, (value,), (), _("{day} is a day off.").format(day=day_words), True
        )
    values: list[DaysOff] = []
    withdraw: list[str] = []
    one_day = timedelta(days=1)
    for off in covering:
        if off.first_day == off.last_day:
            withdraw.append(off.id)
        elif off.first_day == on:
            values.append(replace(off, first_day=on + one_day))
        elif off.last_day == on:
            values.append(replace(off, last_day=on - one_day))
        else:
            values += [replace(off, last_day=on - one_day), replace(off, id=new_id(), first_day=on + one_day)]
    return DayOffChange(
        ActKind.DAYS_OFF_WITHDRAWN,
        tuple(values),
        tuple(withdraw),
        _("{day} is no longer a day off.").format(day=day_words),
        False,
    )


def with_reason(book: RugBook, on: date, reason: str) -> DaysOff | None:
    """Return the absence that covers a day with another reason; None when there is none."""
    off = next((off for off in book.days_off if _covers(off, on)), None)
    return None if off is None else replace(off, reason=reason.strip())


def with_wish(plan: RugPlan, wished: date | None, today: date) -> RugPlan:
    """Return the plan with another wished-for day.

    Raises
    ------
    BadEntry
        When the day is past.
    """
    if wished is not None and wished < today:
        raise BadEntry(_("{day} is past. Choose a day to come.").format(day=day(wished, today)))
    return replace(plan, wished_day=wished)


# --- the steps after weaving


def usual_steps(rug_id: str) -> tuple[AfterStep, ...]:
    """Return the steps that usually follow the last row (common practice, no source).

    They are the same on every phone: taken on two of them, they would else be done twice, and the rug ready so much later.
    """
    names = (
        (_("Cut off and secure the ends"), 1.0),
        (_("Wash and dry"), 4.0),
        (_("Shear"), 1.0),
        (_("Fringe and selvedge"), 2.0),
    )
    return tuple(
        AfterStep(
            id=id_of(rug_id, "usual step", str(index)), rug_id=rug_id, number=index, name=name, days=days
        )
        for index, (name, days) in enumerate(names, start=1)
    )


def usual_steps_missing(
    book: RugBook, ticked_off: Collection[GuideStage], today: date
) -> tuple[AfterStep, ...]:
    """Return the usual steps that a rug has neither by themselves nor under a name of her own.

    What the guide has ticked off of them already is entered as done.
    """
    if book.plan.stage is RugStage.FINISHED:
        return ()
    ids = {step.id for step in book.after_steps}
    told = {stage for step in book.after_steps for stage in stages_of_step(step.name)}
    return tuple(
        replace(step, done_day=today if set(stages_of_step(step.name)) <= set(ticked_off) else None)
        for step in usual_steps(book.plan.id)
        if step.id not in ids and not told & set(stages_of_step(step.name))
    )


def usual_words(missing: int) -> str:
    """Say on the key how many of the usual steps it adds; "" where none is missing."""
    if missing == len(usual_steps("")):
        return _("Add the usual four steps")
    if not missing:
        return ""
    return n_(
        "Add the usual step that is missing", "Add the {count} usual steps that are missing", missing
    ).format(count=number(missing))


def usual_added_words(added: int) -> str:
    """Say that usual steps were added."""
    if added == len(usual_steps("")):
        return _("Four steps entered. Change their days to what you know.")
    return n_(
        "{count} step entered. Change its days to what you know.",
        "{count} steps entered. Change their days to what you know.",
        added,
    ).format(count=number(added))


def new_step(book: RugBook) -> AfterStep:
    """Return an empty step that comes after the others."""
    after = rules.next_number(step.number for step in book.after_steps)
    return AfterStep(id=new_id(), rug_id=book.plan.id, number=after, name="", days=1.0)


def checked_step(step: AfterStep) -> AfterStep:
    """Return the step with its name tidied.

    Raises
    ------
    BadEntry
        When it has no name, or its days cannot be.
    """
    name = " ".join(step.name.split())
    if not name:
        raise BadEntry(_("Give the step a name, such as “Wash and dry”."))
    if len(name) > LONGEST_NAME:
        raise BadEntry(_("Keep the name under {most} characters.").format(most=number(LONGEST_NAME)))
    if not 0 <= step.days <= LONGEST_STEP_DAYS:
        raise BadEntry(
            _("Give the days the step takes, from 0 to {most}.").format(most=number(LONGEST_STEP_DAYS))
        )
    return replace(step, name=name)


def can_keep(step: AfterStep) -> bool:
    """Whether a step would be kept as it stands."""
    try:
        checked_step(step)
    except BadEntry:
        return False
    return True


def ticked(step: AfterStep, today: date) -> AfterStep:
    """Return the step done today, or open again when it was done."""
    return replace(step, done_day=None if step.done_day else today)


def ticked_words(step: AfterStep, rows_left: int) -> str:
    """Say that a step was ticked off, or opened again; of one that follows the last row, while rows are left, that they are."""
    if step.done_day is None:
        return _("{step}: open again.").format(step=step.name)
    if rows_left <= 0 or not stages_of_step(step.name):
        # A step of her own may well be done on the way.
        return _("{step}: done.").format(step=step.name)
    return n_(
        "{step}: done, with {rows} row still to weave?",
        "{step}: done, with {rows} rows still to weave?",
        rows_left,
    ).format(step=step.name, rows=number(rows_left))


def _whole_days(count: float) -> int:
    """Return the count that decides between one and more: a part of a day is told as days are."""
    return int(count) if count == int(count) else 2


def days_words(count: float) -> str:
    """Say a number of days."""
    return n_("{days} day", "{days} days", _whole_days(count)).format(days=number(count, 1))


def days_unit(count: float) -> str:
    """Return the word under a number of days."""
    return n_("day", "days", _whole_days(count))


def _step_line(step: AfterStep, today: date, ticked_off: Collection[GuideStage]) -> StepLine:
    days = days_words(step.days)
    if step.done_day is not None:
        done = _("done {day}").format(day=day_short(step.done_day, today))
        return StepLine(step.id, step.name, days, True, done)
    stages = stages_of_step(step.name)
    behind = len(set(stages) & set(ticked_off))
    # Of a step with none open the guide said nothing, or it was opened again: it is ticked here.
    if not 0 < behind < len(stages):
        return StepLine(step.id, step.name, days, False, days)
    note = _("{done} of {all} done, next: {part}; {days}").format(
        done=number(behind), all=number(len(stages)), part=goes_on_at(step.name, ticked_off), days=days
    )
    return StepLine(step.id, step.name, days, False, note, begun=True)


# --- all of it in words


def _need_words(answers: Answers) -> str:
    finish = answers.finish
    if finish is None or finish.rows_a_day_for_wish is None:
        return ""
    rows = finish.rows_a_day_for_wish
    shown = round(rows, 1)
    return n_(
        "That needs {rows} row on every weaving day.",
        "That needs {rows} rows on every weaving day.",
        1 if shown == 1 else 2,
    ).format(rows=number(shown, 1))


def _agreement(book: RugBook, unit: str) -> tuple[str, bool] | None:
    """Return `agreement_words` as a sentence of its own."""
    agreement = agreement_words(book.plan, unit, order_of(book) is not None)
    return None if agreement is None else (agreement[0][:1].upper() + agreement[0][1:], agreement[1])


def _size_words(book: RugBook, unit: str) -> tuple[str, bool]:
    """Say whether the finished rug agrees with what was wanted, else how to measure it; True where it is off."""
    plan = book.plan
    agreement = _agreement(book, unit)
    if agreement is not None:
        words, within = agreement
        return words, not within
    measure = _(
        "Measure it when it is washed and dry: {measure}. Allowed: ± {width} in width, ± {length} in length."
    ).format(
        measure=measure_words(plan.size_measure),
        width=length(tolerance_cm(plan.width_cm), unit),
        length=length(tolerance_cm(plan.length_cm), unit),
    )
    return f"{measure} {tolerance_source(plan.width_cm, plan.length_cm, unit)}", False


def reading_name(field: str) -> str:
    """Return what is measured or weighed off the loom, by the field of the plan that holds it."""
    return {
        "unwashed_width_cm": _("Unwashed width"),
        "finished_width_cm": _("Finished width"),
        "unwashed_length_cm": _("Unwashed length"),
        "finished_length_cm": _("Finished length"),
        "unwashed_g": _("Unwashed weight"),
        "washed_g": _("Washed weight"),
    }[field]


FINISHED_READINGS = ("finished_width_cm", "finished_length_cm", "washed_g")
"""The fields of the plan that say what a rug is when it is handed over."""


def reading_words(plan: RugPlan, field: str, unit: str) -> str:
    """Return what was measured or weighed off the loom, by the field of the plan that holds it."""
    value = getattr(plan, field)
    if field.endswith("_g"):
        return _("not weighed") if value is None else mass(value)
    return _("not measured") if value is None else length(value, unit)


def planned_words(plan: RugPlan, field: str, unit: str) -> str:
    """Say what is planned of a side of the finished rug, by the field that holds what is measured; "" where nothing is."""
    planned_cm = {"finished_width_cm": plan.width_cm, "finished_length_cm": plan.length_cm}.get(field)
    return "" if planned_cm is None else _("planned: {length}").format(length=length(planned_cm, unit))


def _readings(plan: RugPlan, unit: str) -> tuple[FinishedReading, ...]:
    """Return what is measured off the loom: before washing and after it, side by side."""
    fields = (
        "unwashed_width_cm", "finished_width_cm", "unwashed_length_cm", "finished_length_cm", "unwashed_g", "washed_g"
    )  # fmt: skip
    return tuple(
        FinishedReading(field, reading_name(field), reading_words(plan, field, unit)) for field in fields
    )


def measured_words(book: RugBook, field: str, unit: str) -> str:
    """Say what was just measured or weighed off the loom, and what it tells beside what was measured before."""
    plan = book.plan
    reading = next(reading for reading in _readings(plan, unit) if reading.field == field)
    said = _("{name}: {answer}.").format(name=reading.name, answer=reading.answer)
    agreement = _agreement(book, unit) if field.startswith("finished") else None
    told = washing_words(plan) if agreement is None else agreement[0]
    return f"{said} {told}".rstrip()


def at_once_words(plan: RugPlan, plans: Sequence[RugPlan]) -> tuple[str, ...]:
    """Say which other rugs are woven in the same weeks, each with hours of its own; () where none is.

    Rugs one behind the other on a warp are woven in turn.
    """
    others = [
        other.name
        for other in plans
        if other.stage is RugStage.ON_LOOM and other.id != plan.id and not _in_turn(plan, other)
    ]
    if plan.stage is not RugStage.ON_LOOM or not others:
        return ()
    words = n_(
        "{rugs} is on the loom, too. Each date counts with a week of its own: where the same hands weave both, log both, and "
        "the dates will follow.",
        "{rugs} are on the loom, too. Each date counts with a week of its own: where the same hands weave them, log all, and "
        "the dates will follow.",
        len(others),
    )
    return (words.format(rugs=one_after_another(others)),)


def _in_turn(plan: RugPlan, other: RugPlan) -> bool:
    return any(
        one.warp_after == before.id and one.warp_lay is WarpLay.BEHIND
        for one, before in ((plan, other), (other, plan))
    )


def build_finish_state(
    book: RugBook,
    answers: Answers,
    unit: str = "cm",
    ticked_off: Collection[GuideStage] = (),
    plans: Sequence[RugPlan] = (),
) -> FinishState:
    """Turn the answers into what the page says; lengths in `unit`. `ticked_off`: stages of the guide; `plans`: all rugs of the book."""
    plan, finish, today = book.plan, answers.finish, answers.day
    wish = wish_words = span = ready = left = ""
    ready_on = ready_day(book, answers)
    rates: tuple[str, ...] = ()
    marks: tuple[MarkLine, ...] = ()
    if plan.wished_day is not None:
        wish = day(plan.wished_day, today)
    if answers.silent_days is not None:
        label, figure, span = silent_words(answers.silent_days)
    elif finish is None:
        label, figure = woven_words(book, today)
        if ready_on is not None:
            ready = _("Ready about {day}: {days} of work after weaving are still open.").format(
                day=day(ready_on, today), days=days_words(_open_days(book))
            )
    else:
        label = last_row_label(answers.basis)
        figure = reckoned_day(finish.middle, today)
        span = day_range(finish.early, finish.late, today)
        if ready_on is not None:
            ready = _("Ready {day}, with the steps after weaving.").format(day=day(ready_on, today))
        left = _("About {hours} at the loom are left.").format(hours=work_words(finish.hours_left))
        left = " ".join(filter(None, (to_come_words(book, today), left, date_holds_if(book, answers))))
        rates = rate_words(book, answers)
        if plan.wished_day is not None:
            parts = []
            if plan.wished_day < today:
                parts.append(_("That day is past."))
            elif finish.chance_of_wish is not None:
                parts.append(
                    _("The last row by then: {chance}.").format(chance=chance_words(finish.chance_of_wish))
                )
            need = _need_words(answers)
            if need and plan.wished_day >= today:
                parts.append(need)
            wish_words = " ".join(parts)
        else:
            wish_words = _("Set a date to see how likely it is.")
        marks = tuple(
            MarkLine(
                _("{name}, row {row}").format(name=name[:1].upper() + name[1:], row=number(row)),
                day_short(middle, today),
                "" if early == late == middle else days_from_to(early, late, today),
            )
            for name, row, early, middle, late in finish.marks
        )
    size_words, size_off = _size_words(book, unit) if answers.finished else ("", False)
    told_of_steps = bool(book.after_steps) or plan.stage is RugStage.FINISHED
    done_words = stages_done_words(ticked_off)
    steps_told = ""
    if not told_of_steps:
        steps_told = done_words or _(
            "Enter what still has to be done, such as washing, and how many days it takes. "
            "Then you see when the rug is ready."
        )
    return FinishState(
        size=finished_size_words(plan, unit, book.rows_woven) if answers.finished else "",
        readings=_readings(plan, unit),
        washing=washing_words(plan),
        size_words=size_words,
        size_off=size_off,
        label=label,
        figure=figure,
        span=span,
        ready=ready,
        left=left,
        wish=wish,
        wish_words=wish_words,
        marks=marks,
        steps=tuple(
            _step_line(step, today, ticked_off)
            for step in sorted(book.after_steps, key=lambda s: (s.number, s.born))
        ),
        steps_told=steps_told,
        usual_offered=usual_words(len(usual_steps_missing(book, ticked_off, today))),
        follows=what_follows(book, ticked_off) if answers.finished else None,
        rests_on=()
        if answers.finished
        else rates
        + answers.basis.rests_on
        + at_once_words(plan, plans)
        + ((_("“Likely” holds in four cases of five."),) if span else ()),
        moved_by=answers.basis.moved_by,
        woven=answers.finished,
        can_finish=answers.finished and plan.stage is not RugStage.FINISHED,
        mistakes=open_mistakes_words(book) if answers.finished else "",
    )


def finished_plan(book: RugBook, today: date) -> RugPlan:
    """Return the plan of a rug called finished: on the day of its last step, or of its last row where none was ticked."""
    days = [session.day for session in book.sessions]
    days += [step.done_day for step in book.after_steps if step.done_day is not None]
    return replace(book.plan, stage=RugStage.FINISHED, finished_day=max(days, default=today))


def steps_done(book: RugBook, done: Collection[str], on: date) -> tuple[AfterStep, ...]:
    """Return the open steps whose ids are among `done`, ticked off on a day."""
    return tuple(replace(step, done_day=on) for step in open_steps(book) if step.id in done)


def finished_day_words(plan: RugPlan, today: date) -> str:
    """Say on which day a rug was finished."""
    return day(plan.finished_day, today) if plan.finished_day else ""


def left_open(book: RugBook) -> tuple[str, ...]:
    """Say what a rug called finished leaves open: mistakes that nobody ticked off, rows that are not woven."""
    return tuple(
        sentence
        for sentence in (open_mistakes_words(book), unfinished_words(rows_wanted(book), book.rows_woven))
        if sentence
    )
