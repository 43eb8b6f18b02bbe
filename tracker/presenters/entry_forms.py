"""The small forms: a lot bought, a weighing, yarn lost, a sample, a ball used up, and the like. Without a window.

Each form is a handful of questions, answered in any order; what is kept of it is plain JSON, so that it survives a
phone call, and `to_value` turns it into the value that one act writes. What a kind of form asks stands in `entries`;
a new kind is a class there and a line in `FORMS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.rug import RugBook, RugPlan, new_id
from tracker.domain.units import LengthUnit
from tracker.files.typed import read_as
from tracker.presenters.doubts import Doubt
from tracker.presenters.doubts import doubt_of as doubt_before
from tracker.presenters.entries.form import EntryForm, FormKind, Question, SmallForm, Sort, to_plain
from tracker.presenters.entries.of_dye_lots import LotChangeForm
from tracker.presenters.entries.of_hand_out import HandOutForm
from tracker.presenters.entries.of_looms import LoomForm
from tracker.presenters.entries.of_marks import MarkForm
from tracker.presenters.entries.of_money import CostForm, PaymentForm, PricingForm, WageForm
from tracker.presenters.entries.of_rug import DaysOffForm, MeasurementForm, PhotoForm, PreparationForm
from tracker.presenters.entries.of_trimming import TrimForm
from tracker.presenters.entries.of_yarn import BallForm, LotForm, SampleForm, SpoiltForm, WeighingForm
from tracker.words import _, day, length, number, small_length

FORMS: dict[FormKind, SmallForm] = {
    form.kind: form
    for form in (
        LotForm(),
        LotChangeForm(),
        TrimForm(),
        HandOutForm(),
        WeighingForm(),
        SpoiltForm(),
        SampleForm(),
        BallForm(),
        MarkForm(),
        MeasurementForm(),
        PreparationForm(),
        DaysOffForm(),
        PhotoForm(),
        WageForm(),
        CostForm(),
        PricingForm(),
        PaymentForm(),
        LoomForm(),
    )
}

VALUES: dict[type, FormKind] = {
    form.value_type: form.kind for form in FORMS.values() if form.value_type is not None
}
"""The form that corrects each kind of value."""


@dataclass(frozen=True, slots=True)
class FormLine:
    """One question as it is shown."""

    question: Question
    answer: str
    hint: str
    value: Any


@dataclass(frozen=True, slots=True)
class EntryFormState:
    """What a form shows."""

    title: str
    lines: tuple[FormLine, ...]
    caution: str
    """Something worth a second look, such as a mixed dye lot; never in the way of saving."""
    save: str


def blank(kind: FormKind, book: RugBook | None, today: date, yarn_id: str | None = None) -> EntryForm:
    """Return an empty form, with what is usual already answered; only an entry of the whole book needs no rug."""
    form = FORMS[kind]
    if form.of_book or book is None:
        return EntryForm(kind=kind, record_id=new_id(), rug_id=None, answers=form.answers_of_book())
    yarn = next((yarn for yarn in book.yarns if yarn.id == yarn_id), None)
    answers = form.first_answers(book, today, yarn)
    return EntryForm(kind=kind, record_id=new_id(), rug_id=book.plan.id, yarn_id=yarn_id, answers=answers)


def form_of(value: Any) -> EntryForm:
    """Return the form that corrects an entry.

    Raises
    ------
    KeyError
        When entries of this kind are not corrected by a small form.
    """
    form = FORMS[VALUES[type(value)]]
    return EntryForm(
        kind=form.kind,
        record_id=value.id,
        rug_id=None if form.of_book else value.rug_id,
        yarn_id=getattr(value, "yarn_id", None),
        correcting=True,
        answers=form.answers_of(value),
        fixed={name: to_plain(getattr(value, name)) for name in form.fixed},
    )


def to_kept(form: EntryForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    return {
        "kind": str(form.kind),
        "record_id": form.record_id,
        "rug_id": form.rug_id,
        "yarn_id": form.yarn_id,
        "correcting": form.correcting,
        "answers": dict(form.answers),
        "fixed": {key: to_plain(value) for key, value in form.fixed.items()},
        "day_said_on": form.day_said_on,
        "undone": form.undone,
    }


def from_kept(draft: Any) -> EntryForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        form = read_as(EntryForm, draft)
        FORMS[form.kind].check_draft(form)
        for question in questions(form, None):
            _check_kept_answer(form, question)
    except (KeyError, TypeError, ValueError):
        return None
    return form


def _check_kept_answer(form: EntryForm, question: Question) -> None:
    """Raise ValueError where an answer is not of the sort that its question wants."""
    read_as((float if question.sort is Sort.NUMBER else str) | None, form.answers.get(question.key))
    if question.sort is Sort.DAY:
        form.day_of(question.key)


def answered(form: EntryForm, book: RugBook | None, key: str, answer: Any) -> EntryForm:
    """Return the form with one question answered (None: left open), and with what that answer says of the others."""
    return FORMS[form.kind].answered(form, book, key, answer)


def taken_up(form: EntryForm, opened: EntryForm, today: date) -> tuple[EntryForm, EntryForm]:
    """Return a form and how it was opened as they are gone on with today: what nobody answered yet is of today."""
    if not opened.is_of_earlier(today):
        return form, opened
    fresh = opened.with_answer("day", today.isoformat())
    return (fresh if form.answers == opened.answers else form), fresh


def days_meant(form: EntryForm, today: date) -> tuple[tuple[str, date], ...]:
    """Return (words, day) of the days that a form begun on an earlier day can be of; () where it is plain."""
    begun = form.day_of() if form.is_of_earlier(today) else None
    return () if begun is None else days_offered(begun, today)


def days_offered(begun: date, today: date) -> tuple[tuple[str, date], ...]:
    """Return (words, day) of the day on which a form was begun, and of today."""
    return (
        (_("{day}, when it was begun").format(day=day(begun, today)), begun),
        (_("Today, {day}").format(day=day(today, today)), today),
    )


def can_be_saved(form: EntryForm, opened: EntryForm, book: RugBook | None, today: date) -> bool:
    """Tell whether it would be saved: all that it needs is there and can be, a correction changes something, and no slip was just undone."""
    if form.undone:
        return False
    return not refused(form, book, today) and (form.answers != opened.answers or not form.correcting)


def refused(form: EntryForm, book: RugBook | None, today: date) -> str:
    """Return why the form cannot be saved as it stands, and what to do; "" where it can."""
    try:
        to_value(form, book, today)
    except BadEntry as trouble:
        return trouble.sentence
    return ""


def questions(form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
    """Return the questions a form asks, in order."""
    return FORMS[form.kind].questions(form, book)


def _shown(question: Question, value: Any, today: date, unit: str) -> str:
    if question.sort is Sort.CHOICE:
        return dict(question.choices).get(value, "")
    if value in (None, ""):
        return ""
    if question.sort is Sort.DAY:
        that_day = date.fromisoformat(value)
        if that_day == today:
            return _("today")
        return _("yesterday") if that_day == today - timedelta(days=1) else day(that_day, today)
    if question.of_length and unit == LengthUnit.INCH:
        return length(float(value), unit)
    if question.of_height and unit == LengthUnit.INCH:
        return small_length(float(value), unit)
    if question.sort is Sort.NUMBER:
        said = number(float(value), question.decimals)
        return f"{said} {question.unit}" if question.unit else said
    return str(value)


def _hint(question: Question, unit: str) -> str:
    if question.planned_mm is not None:
        return _("planned: {height}").format(height=small_length(question.planned_mm, unit))
    if question.usual_cm is None:
        return question.hint
    return _("usual: {length}").format(length=length(question.usual_cm, unit))


def title_of(form: EntryForm, book: RugBook | None) -> str:
    """Return what a form is headed with."""
    yarn = form.yarn_in(book)
    name = yarn.name if yarn else ""
    if form.correcting:
        return FORMS[form.kind].title_of_correction() + (f": {name}" if name else "")
    return FORMS[form.kind].title(name)


def caution_of(form: EntryForm, book: RugBook | None) -> str:
    """Return a sentence about something worth a second look; "" when there is nothing."""
    return "" if book is None else FORMS[form.kind].caution(form, book)


def build_entry_form_state(
    form: EntryForm, book: RugBook | None, today: date, unit: str = "cm"
) -> EntryFormState:
    """Turn a form into what is shown, lengths in `unit`."""
    lines = []
    for question in questions(form, book):
        value = form.answers.get(question.key)
        lines.append(FormLine(question, _shown(question, value, today, unit), _hint(question, unit), value))
    return EntryFormState(title_of(form, book), tuple(lines), caution_of(form, book), _("Save"))


def _missing(question: Question) -> BadEntry:
    return BadEntry(_("One answer is missing: {label}. Tap it and give it.").format(label=question.label))


def _checked_answer(question: Question, value: Any) -> Any:
    if question.sort is Sort.TEXT:
        text = str(value or "").strip()
        if len(text) > question.most:
            raise BadEntry(
                _("{label} is longer than {most} characters. Shorten it a little.").format(
                    label=question.label, most=number(question.most)
                )
            )
        return text
    if question.sort is Sort.CHOICE:
        if value not in dict(question.choices):
            raise _missing(question)
        return value
    if value is None or value == "":
        if not question.optional:
            raise _missing(question)
        return None
    if question.sort is Sort.DAY:
        return date.fromisoformat(value)
    amount = float(value)
    if not question.least <= amount <= question.most:
        raise BadEntry(
            _("{label}: give a number from {least} to {most}.").format(
                label=question.label,
                least=number(question.least, question.decimals),
                most=number(question.most, question.decimals),
            )
        )
    return amount if question.decimals else int(amount)


def checked(form: EntryForm, book: RugBook | None, today: date) -> dict[str, Any]:
    """Return the answers, each of its type and within its bounds.

    Raises
    ------
    BadEntry
        With a sentence, when something is missing or cannot be.
    """
    answers = {
        question.key: _checked_answer(question, form.answers.get(question.key))
        for question in questions(form, book)
    }
    for key in ("day", "done_day"):
        when = answers.get(key)
        if when is not None and when > today + timedelta(days=1):
            raise BadEntry(_("{day} is still to come. Choose the day on which it was.").format(day=day(when)))
    return answers


def to_value(form: EntryForm, book: RugBook | None, today: date) -> Any:
    """Return the value the form stands for, ready for an act.

    Raises
    ------
    BadEntry
        With a sentence, when something is missing or cannot be.
    """
    return FORMS[form.kind].to_value(form, book, checked(form, book, today))


def doubt_of(
    form: EntryForm, value: Any, opened: EntryForm, book: RugBook | None, today: date, unit: str = "cm"
) -> Doubt | None:
    """Return what is asked before an entry is saved that can hardly be meant; None where nothing is.

    `opened` is the form before anything was corrected, `value` what `to_value` made of the form.
    """
    held = None
    if form.correcting:
        try:
            held = to_value(opened, book, today)
        except BadEntry:
            held = None
    return doubt_before(value, book, today, held, unit)


def deed_of(form: EntryForm) -> ActKind:
    """Return the kind of act under which the form is written."""
    return ActKind.ENTRY_CORRECTED if form.correcting else FORMS[form.kind].deed


def along(form: EntryForm, value: Any, opened: EntryForm, plans: tuple[RugPlan, ...]) -> tuple[Any, ...]:
    """Return what is written beside a corrected entry; `opened` is the form before anything was corrected."""
    return FORMS[form.kind].along(value, opened.answers, plans) if form.correcting else ()
