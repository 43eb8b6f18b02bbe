"""A form that was opened and closed unchanged writes nothing: the book keeps what it holds, not what the form shows of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from tests.lawful import values
from tests.presenters import rugs
from tests.properties import examples
from tests.today import TODAY
from tracker.domain.rug import Lot, Role, RugBook, RugPlan, Yarn
from tracker.presenters import entry_forms
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


def test_correcting_the_dye_lot_leaves_the_mass_as_it_was() -> None:
    lot = Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=250.5, dye_lot="M-1", dyer="")
    form = entry_forms.form_of(lot).with_answer("dye_lot", "M-2")
    assert entry_forms.to_value(form, rugs.book(), TODAY) == replace(lot, dye_lot="M-2")
