"""What is marked on the cartoon: a mistake, where it sits, and whether it is mended."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.mark import CartoonMark, MarkKind
from tracker.domain.rug import RugBook, Yarn
from tracker.forecast.reckon import most_rows
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


class MarkForm(SmallForm):
    """A mistake in some knots of a row."""

    kind = FormKind.MARK
    value_type = CartoonMark
    deed = ActKind.MISTAKE_MARKED
    fixed = ("kind",)

    def title(self, name: str) -> str:
        return _("Mark a mistake")

    def title_of_correction(self) -> str:
        return _("Correct the mark")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {
            **day_answered(today),
            "row": max(1, book.rows_woven),
            "first_knot": 1,
            "last_knot": 1,
        }

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        return (
            Question("row", _("Row"), Sort.NUMBER, least=1, most=_rows(book)),
            Question("first_knot", _("From knot"), Sort.NUMBER, least=1, most=_knots(book)),
            Question("last_knot", _("To knot"), Sort.NUMBER, least=1, most=_knots(book)),
            note_question(_("what is wrong, such as a knot in another colour")),
            day_question(),
            Question(
                "mended_day", _("Mended on"), Sort.DAY, optional=True, hint=_("empty while it is still there")
            ),
        )

    def answered(self, form: EntryForm, book: RugBook | None, key: str, answer: Any) -> EntryForm:
        """Return the form with one question answered; a last knot nobody chose follows the first, most mistakes being of one."""
        after = form.with_answer(key, answer)
        first, last = form.answers.get("first_knot"), form.answers.get("last_knot")
        if key == "first_knot" and answer is not None and (last is None or last == first or last < answer):
            return after.with_answer("last_knot", answer)
        return after

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> CartoonMark:
        if answers["last_knot"] < answers["first_knot"]:
            raise BadEntry(_("The last knot lies before the first one. Change one of them."))
        return CartoonMark(**form.of_rug, **answers, kind=MarkKind(form.fixed.get("kind", MarkKind.MISTAKE)))


def _rows(book: RugBook | None) -> float:
    return math.inf if book is None else max(most_rows(book), book.cartoon.rows if book.cartoon else 0)


def _knots(book: RugBook | None) -> float:
    return math.inf if book is None else book.knots_across
