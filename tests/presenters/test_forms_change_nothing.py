"""A form that was opened and closed unchanged writes nothing: the book keeps what it holds, not what the form shows of it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from tests.lawful import values
from tests.presenters import rugs
from tests.presenters.test_entry_words import TOLD
from tests.properties import examples
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Lot, Role, RugBook, RugPlan, Yarn
from tracker.presenters import entry_forms
from tracker.presenters.entries.form import EntryForm, Question, Sort
from tracker.presenters.plan.checks import count_trouble, troubles
from tracker.presenters.plan.form import form_of
from tracker.presenters.plan.records import draft_book, records

COUNTS = st.sampled_from(["", " ", "Nm 5/2", "Nm 5/2 x 3", "R 700 tex", "tex 90 x 4"])


@st.composite
def planned(draw: st.DrawFn) -> RugBook:
    """Return a rug whose plan and yarns hold anything the rules let in, of a size that its form lets be saved."""
    rug = draw(values(RugPlan, id="rug", width_cm=st.floats(5, 300), length_cm=st.floats(5, 400), name="Garden",
        knots_per_10cm=st.floats(20, 80), rows_per_10cm=st.floats(20, 80)))  # fmt: skip
    yarns = tuple(
        draw(values(Yarn, id=f"yarn-{role}", rug_id="rug", role=role, name=str(role), count=COUNTS)) for role in Role
    )  # fmt: skip
    return RugBook(plan=rug, yarns=yarns)


@examples(20, suppress_health_check=list(HealthCheck))
@given(book=planned(), unit=st.sampled_from(["cm", "inch"]))
def test_a_plan_that_nobody_changed_writes_nothing(book: RugBook, unit: str) -> None:
    form = form_of(book, unit)
    if troubles(form, book):
        return
    made = records(form, book)
    assert (made.values, made.withdraw) == ((), ())
    renamed = records(replace(form, name="Meadow"), book)
    assert renamed.values == (replace(book.plan, name="Meadow"),)


def with_yarn(**changes: Any) -> RugBook:
    book = rugs.book()
    first, *rest = book.yarns
    return replace(book, yarns=(replace(first, **changes), *rest))


@pytest.mark.parametrize("count", ["", " "])
def test_a_yarn_known_by_its_tex_alone_keeps_it(count: str) -> None:
    """As the yarns of an old book, or of another phone's file."""
    book = with_yarn(count=count, tex=523.45678, twist_contraction=0.0123456789)
    yarn = book.yarns[0]
    form = form_of(book)
    dearer = replace(
        form, yarns=tuple(replace(y, price_per_kg=12.0) if y.id == yarn.id else y for y in form.yarns)
    )
    assert records(dearer, book).values == (replace(yarn, price_per_kg=12.0),)
    drafted = {one.id: one for one in draft_book(dearer, book).yarns}
    assert drafted[yarn.id].tex == yarn.tex, "the page reckons with what will be saved"


def test_a_count_that_is_said_anew_brings_its_own_tex() -> None:
    book = with_yarn(count="Nm 5/2", tex=523.45678, twist_contraction=0.02)
    yarn = book.yarns[0]
    form = form_of(book)
    finer = replace(
        form, yarns=tuple(replace(y, count="R 310 tex") if y.id == yarn.id else y for y in form.yarns)
    )
    assert records(finer, book).values == (
        replace(yarn, count="R 310 tex", tex=310.0, twist_contraction=0.0),
    )


def test_no_count_at_all_is_said_by_emptying_it() -> None:
    book = with_yarn(count="", tex=523.0)
    yarn = book.yarns[0]
    form = form_of(book)
    opened = next(y for y in form.yarns if y.id == yarn.id)
    assert not count_trouble(opened.count)
    emptied = replace(form, yarns=tuple(replace(y, count="") if y.id == yarn.id else y for y in form.yarns))
    assert records(emptied, book).values == (replace(yarn, tex=0.0),)


WITH_TWO_LOTS = rugs.book(
    plan=rugs.plan(rows=400),
    lots=tuple(
        Lot(id=name, rug_id="rug", yarn_id="red", day=TODAY, mass_g=500.0, dye_lot=name)
        for name in ("l", "sold")
    ),
)
CORRECTED = [value for value, *_said in TOLD if type(value) in entry_forms.VALUES]


def others(question: Question, answer: Any) -> list[Any]:
    """Return some other answers to a question, of which the rules let one in."""
    match question.sort:
        case Sort.TEXT:
            return ["otherwise", "#123456"]
        case Sort.DAY:
            day = date.fromisoformat(answer) if answer else TODAY
            return [(day + timedelta(days=days)).isoformat() for days in (-1, 1)]
        case Sort.CHOICE:
            return [choice for choice, _words in question.choices if choice != answer]
        case Sort.NUMBER:
            usual = answer or question.least
            return [number for number in (usual + 1, usual - 1, usual / 2, 1, 0) if number != answer]


def changes(form: EntryForm, question: Question) -> bool:
    made = entry_forms.to_value(form, WITH_TWO_LOTS, TODAY)
    for answer in others(question, form.answers.get(question.key)):
        with suppress(BadEntry):
            other = entry_forms.answered(form, WITH_TWO_LOTS, question.key, answer)
            if entry_forms.to_value(other, WITH_TWO_LOTS, TODAY) != made:
                return True
    return False


@pytest.mark.parametrize("value", CORRECTED, ids=lambda value: type(value).__name__)
def test_each_answer_of_a_form_is_in_the_value_that_it_makes(value: Any) -> None:
    """A question that was asked and then forgotten threw its answer away without a word."""
    form = entry_forms.form_of(value)
    lost = [
        question.key for question in entry_forms.questions(form, WITH_TWO_LOTS) if not changes(form, question)
    ]
    assert lost == []


def test_every_form_that_corrects_is_asked_for_its_answers() -> None:
    assert {type(value) for value in CORRECTED} == set(entry_forms.VALUES)


def test_correcting_the_dye_lot_leaves_the_mass_as_it_was() -> None:
    lot = Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=250.5, dye_lot="M-1", dyer="")
    form = entry_forms.form_of(lot).with_answer("dye_lot", "M-2")
    assert entry_forms.to_value(form, rugs.book(), TODAY) == replace(lot, dye_lot="M-2")
