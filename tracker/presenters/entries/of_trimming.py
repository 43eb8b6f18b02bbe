"""What is entered of a trimming: up to which row, and the pile's height before it and after."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.rug import RugBook, Yarn
from tracker.domain.rules import PILE_MM
from tracker.domain.trimming import Trim
from tracker.presenters.entries.form import (
    EntryForm,
    FormKind,
    Question,
    SmallForm,
    Sort,
    day_answered,
    day_question,
    note_question,
)
from tracker.words import _

TOO_LOW_MM = 0.2
"""A pile left lower than planned by more than this is worth a word: a ruler shows half a millimetre."""


class TrimForm(SmallForm):
    """The pile trimmed on the loom."""

    kind = FormKind.TRIM
    value_type = Trim
    deed = ActKind.PILE_TRIMMED

    def title(self, name: str) -> str:
        return _("Pile trimmed")

    def title_of_correction(self) -> str:
        return _("Correct the trimming")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        answers = day_answered(today)
        return {**answers, "row": book.rows_woven if book.rows_woven > 0 else None}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        most_row = book.plan.rows * 2 if book else math.inf

        def height(key: str, label: str, planned_mm: float | None = None) -> Question:
            return Question(
                key, label, Sort.NUMBER, _("mm"), decimals=1, least=PILE_MM.least, most=PILE_MM.most, optional=True,
                of_height=True, planned_mm=planned_mm,
            )  # fmt: skip

        return (
            Question("row", _("Up to row"), Sort.NUMBER, least=1, most=most_row),
            height("before_mm", _("Pile before")),
            height("after_mm", _("Pile after"), book.plan.pile_height_mm if book else None),
            day_question(),
            note_question(),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Trim:
        return Trim(**form.of_rug, **answers)

    def caution(self, form: EntryForm, book: RugBook) -> str:
        after_mm = form.answers.get("after_mm")
        if after_mm is None or float(after_mm) >= book.plan.pile_height_mm - TOO_LOW_MM:
            return ""
        return _("Lower than planned. What is cut off cannot be put back.")
