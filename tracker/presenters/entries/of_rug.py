"""What is entered of the rug itself: a measured length, what was prepared, days off, a picture."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.rug import DaysOff, Measurement, Photo, Preparation, PreparationKind, RugBook, Yarn
from tracker.domain.rules import TAPE_CM
from tracker.files.typed import read_as
from tracker.presenters.entries.form import (
    EntryForm,
    FormKind,
    Question,
    SmallForm,
    Sort,
    day_answered,
    day_question,
)
from tracker.presenters.entries.of_yarn import ball_or_shuttle
from tracker.presenters.entry_text import READINGS, reading_name
from tracker.words import _


class MeasurementForm(SmallForm):
    """What was measured of the cloth at a row."""

    kind = FormKind.MEASUREMENT
    value_type = Measurement
    deed = ActKind.LENGTH_MEASURED

    def title(self, name: str) -> str:
        return _("Measure the cloth")

    def title_of_correction(self) -> str:
        return _("Correct what was measured")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        answers = day_answered(today)
        return {**answers, "row": book.rows_woven or None, "resolution_cm": 0.5}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        most_row = book.plan.rows * 2 if book else math.inf
        hints = {
            "length_cm": _("from the first row of knots to this one"),
            "width_cm": _("from edge to edge, at this row"),
        }
        return (
            Question("row", _("At row"), Sort.NUMBER, least=1, most=most_row),
            *(
                Question(
                    name,
                    reading_name(name),
                    Sort.NUMBER,
                    _("cm"),
                    decimals=1,
                    least=TAPE_CM.least,
                    most=TAPE_CM.most,
                    optional=True,
                    hint=hints.get(name, ""),
                    of_length=True,
                )
                for name in READINGS
            ),
            Question(
                "resolution_cm",
                _("Read to"),
                Sort.NUMBER,
                _("cm"),
                decimals=2,
                least=0.01,
                most=10,
                of_length=True,
            ),
            day_question(),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Measurement:
        if all(answers[name] is None for name in READINGS):
            raise BadEntry(_("Give at least one length that you measured."))
        return Measurement(**form.of_rug, **{**answers, "length_cm": answers["length_cm"] or 0.0})

    def answers_of(self, value: Measurement) -> dict[str, Any]:
        answers = super().answers_of(value)
        return {**answers, "length_cm": value.length_cm or None}


class PreparationForm(SmallForm):
    """Balls or shuttles wound, a warp mounted."""

    kind = FormKind.PREPARATION
    value_type = Preparation
    deed = ActKind.PREPARATION_DONE
    fixed = ("kind",)

    def title(self, name: str) -> str:
        return _("Preparation")

    def title_of_correction(self) -> str:
        return _("Correct what was prepared")

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        of_hours = Question(
            "hours",
            _("Hours"),
            Sort.NUMBER,
            _("h"),
            decimals=2,
            most=1000,
            optional=True,
            hint=_("how long it took in all, not counted as weaving"),
        )
        if form.fixed.get("kind") == PreparationKind.WARP:
            return (day_question(), of_hours)
        wound = ball_or_shuttle(form.yarn_in(book), plural=form.answers.get("count") != 1)
        of_count = Question("count", _("How many"), Sort.NUMBER, wound, least=1, most=10_000)
        return (of_count, day_question(), of_hours)

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Preparation:
        count = answers.get("count", form.answers.get("count", 1))
        return Preparation(
            **form.of_yarn,
            kind=PreparationKind(form.fixed["kind"]),
            day=answers["day"],
            count=count,
            hours=answers["hours"],
        )

    def check_draft(self, form: EntryForm) -> None:
        """Raise KeyError or ValueError where it is not said what was prepared, or how much."""
        super().check_draft(form)
        PreparationKind(form.fixed["kind"])
        read_as(float | None, form.answers.get("count"))


class DaysOffForm(SmallForm):
    """Days on which nobody weaves."""

    kind = FormKind.DAYS_OFF
    value_type = DaysOff
    deed = ActKind.DAYS_OFF_ENTERED

    def title(self, name: str) -> str:
        return _("Days off")

    def title_of_correction(self) -> str:
        return _("Correct the days off")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {"first_day": today.isoformat(), "last_day": today.isoformat()}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        return (
            Question("first_day", _("First day"), Sort.DAY),
            Question("last_day", _("Last day"), Sort.DAY),
            Question("reason", _("Reason"), Sort.TEXT, optional=True, most=200, hint=_("if you like")),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> DaysOff:
        if answers["last_day"] < answers["first_day"]:
            raise BadEntry(_("The last day lies before the first one. Change one of them."))
        return DaysOff(**form.of_rug, **answers)


class PhotoForm(SmallForm):
    """The words under a picture."""

    kind = FormKind.PHOTO
    value_type = Photo
    deed = ActKind.PHOTO_ADDED
    fixed = ("file_name", "linked_id")

    def title(self, name: str) -> str:
        return _("Picture")

    def title_of_correction(self) -> str:
        return _("The picture's words")

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        return (
            Question("caption", _("Caption"), Sort.TEXT, optional=True, most=300, hint=_("if you like")),
            day_question(),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Photo:
        return Photo(
            **form.of_rug,
            **answers,
            file_name=form.fixed["file_name"],
            linked_id=form.fixed.get("linked_id"),
        )

    def check_draft(self, form: EntryForm) -> None:
        """Raise KeyError or ValueError where the picture has no file."""
        super().check_draft(form)
        read_as(str, form.fixed["file_name"])
