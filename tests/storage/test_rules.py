"""One rule for every value: what is typed, taken in, joined or rescued is judged alike, and nothing bad hides the rest."""

from __future__ import annotations

import json
from dataclasses import fields, make_dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from storage import convert, copies, diary, exchange, history, reading
from storage.book import Book
from storage.convert import KIND_NAMES, kind_named
from storage.rescue import rescue
from tests.storage.book_samples import Clock, one_of_every_kind, plan, session
from tests.storage.test_fuzz import lines_of, pack
from tracker.domain import rules
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.lot_moves import LotMove, MovedLot
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    DaysOff,
    Lot,
    Measurement,
    RugPlan,
    Sample,
    Session,
    Setting,
    Yarn,
)

IMPOSSIBLE: list[tuple[type, dict[str, Any]]] = [
    (RugPlan, {"knots_per_10cm": 0.0}),
    (RugPlan, {"knots_per_10cm": 1e-300}),
    (RugPlan, {"rows_per_10cm": 0.0}),
    (RugPlan, {"rows_per_10cm": 1e-300}),
    (RugPlan, {"knots_per_hour": 1e-300}),
    (RugPlan, {"rows": 0}),
    (RugPlan, {"rows": 1_000_000_000}),
    (RugPlan, {"knots_across": -5}),
    (RugPlan, {"width_cm": 0.0}),
    (RugPlan, {"weekdays": [0, 9]}),
    (RugPlan, {"hours_per_week": 1e9}),
    (RugPlan, {"name": "x" * 9000}),
    (Session, {"rows": 1_000_000}),
    (Session, {"rows": -1_000_000_000}),
    (Session, {"hours": 1e-300}),
    (Session, {"hours": 1e9}),
    (Session, {"places": [["somebody", 9, 3]]}),
    (Session, {"used": [["somebody", 1e12]]}),
    (Measurement, {"row": 1_000_000_000}),
    (Measurement, {"row": 0}),
    (Measurement, {"length_cm": 1e12}),
    (Measurement, {"resolution_cm": 1e-300}),
    (Yarn, {"swatch": "red"}),
    (Yarn, {"unit_mass_g": 0.0}),
    (Yarn, {"skein_g": 1e-300}),
    (Yarn, {"lead_days": 1_000_000_000}),
    (Yarn, {"tex": 1e-300}),
    (Lot, {"mass_g": -1.0}),
    (Sample, {"knots": 0}),
    (AfterStep, {"days": 1e12}),
    (DaysOff, {"first_day": "1901-01-01", "last_day": "2299-01-01"}),
    (DaysOff, {"first_day": "2026-05-09", "last_day": "2026-05-01"}),
    (Cartoon, {"palette": []}),
    (Cartoon, {"palette": ["#000000"]}),
    (Cartoon, {"palette": ["black", "white"]}),
]


def _id(case: Any) -> str:
    return case.__name__ if isinstance(case, type) else json.dumps(case)[:60]


def entered(book: Book) -> list[Any]:
    """Enter one of everything and return it."""
    values = one_of_every_kind()
    with book.act("entered") as act:
        for value in values:
            act.write(value)
    return values


def typed(value: Any, changes: dict[str, Any]) -> Any:
    """Return a value with fields as the app would hold them."""

    def part(name: str, told: Any) -> Any:
        if name.endswith("_day"):
            return date.fromisoformat(told)
        if isinstance(told, list):
            return tuple(tuple(item) if isinstance(item, list) else item for item in told)
        return told

    return replace(value, **{name: part(name, told) for name, told in changes.items()})


@pytest.mark.parametrize(("kind", "changes"), IMPOSSIBLE, ids=_id)
def test_what_cannot_be_is_refused_when_it_is_typed(book, kind, changes):
    values = entered(book)
    value = next(one for one in values if type(one) is kind)
    acts = book.acts()
    with pytest.raises(BadEntry) as refused, book.act("corrected") as act:
        act.write(typed(value, changes))
    assert refused.value.sentence.endswith(".")
    assert book.acts() == acts


def corrupted(source: Book, kind: type, changes: dict[str, Any], path: Any) -> Any:
    """Return an exchange file of the book in which one record says what cannot be."""
    exchange.write_exchange(source, path)
    lines = lines_of(path)
    name = next(name for name in KIND_NAMES if kind_named(name).value is kind)
    line = next(line for line in lines[1:] if line[0] == "v" and line[1] == name)
    for field, told in changes.items():
        line[7][field] = json.dumps(told, separators=(",", ":")) if isinstance(told, list) else told
    return pack(lines, path)


@pytest.mark.parametrize(("kind", "changes"), IMPOSSIBLE, ids=_id)
def test_what_cannot_be_is_refused_when_another_phone_sends_it(open_book, tmp_path, kind, changes):
    mine, other = open_book(), open_book("other.loomside")
    entered(other)
    file = corrupted(other, kind, changes, tmp_path / "bad.file")
    with pytest.raises(BookTrouble):
        exchange.join(mine, file)
    assert mine.acts() == 0


class Lawless:
    """Lets a test put what cannot be into a book, as an earlier app without rules might have taken it in."""

    def __init__(self, monkeypatch) -> None:
        self.monkeypatch = monkeypatch

    def __enter__(self) -> None:
        self.monkeypatch.setattr(rules, "check", lambda value, cells=True: None)

    def __exit__(self, *_error: object) -> None:
        self.monkeypatch.undo()


@pytest.fixture
def lawless(monkeypatch):
    return Lawless(monkeypatch)


def spoil(lawless: Lawless, book: Book, kind: type, changes: dict[str, Any], values: list[Any]) -> Any:
    value = next(one for one in values if type(one) is kind)
    with lawless, book.act("corrected") as act:
        act.write(typed(value, changes))
    return value


@pytest.mark.parametrize(("kind", "changes"), IMPOSSIBLE, ids=_id)
def test_one_bad_record_in_a_book_does_not_hide_the_others(book, lawless, kind, changes):
    values = entered(book)
    bad = spoil(lawless, book, kind, changes, values)
    (rug,) = reading.rugs(book)
    told = reading.rug_book(book, rug.id)
    assert [aside.id for aside in told.set_aside] == [bad.id]
    assert told.set_aside[0].sentence.endswith(".")
    there = {
        getattr(one, "id", None)
        for field in fields(told)
        if field.name != "set_aside"
        for one in (
            getattr(told, field.name)
            if isinstance(getattr(told, field.name), tuple)
            else (getattr(told, field.name),)
        )
        if not isinstance(one, MovedLot)
    }
    expected = {one.id for one in values if not isinstance(one, Setting | LotMove)}
    assert there - {None} == (expected if kind is RugPlan else expected - {bad.id})
    rules.check(told.plan)
    entry = diary.entries(book)[0]
    assert entry.changes[0].record_id == bad.id
    assert history.versions_of(book, bad.id)[0].current
    book.undo(entry.act_id)
    assert reading.rug_book(book, rug.id).set_aside == ()
    book.check()


def test_a_plan_that_was_never_right_is_shown_as_near_as_it_can_be(book, lawless):
    rug = plan(rows_per_10cm=0.0, knots_across=99_999_999)
    with lawless, book.act("rug planned") as act:
        act.write(rug)
    told = reading.rug_book(book, rug.id)
    assert (told.plan.rows_per_10cm, told.plan.knots_across) == (2.0, 20_000)
    assert [aside.kind for aside in told.set_aside] == ["rug_plan"]
    assert [one.name for one in reading.rugs(book)] == [rug.name]


def test_a_book_with_a_bad_record_can_still_be_shared_copied_and_gone_back_to(open_book, lawless, tmp_path):
    mine, other = open_book(), open_book("other.loomside")
    values = entered(mine)
    bad = spoil(lawless, mine, Measurement, {"row": 10**9}, values)
    exchange.write_exchange(mine, tmp_path / "file")
    exchange.join(other, tmp_path / "file")
    assert reading.rug_book(other, values[0].id).set_aside == ()
    assert [one.row for one in reading.rug_book(other, values[0].id).measurements] == [bad.row]
    other.check()
    copy = copies.copy_now(mine)
    with mine.act("session logged") as act:
        act.write(session(values[0].id, rows=9))
    copies.restore(mine, copy.path)
    told = reading.rug_book(mine, values[0].id)
    assert told.set_aside == ()
    assert [one.row for one in told.measurements] == [bad.row]
    mine.check()


def test_a_rescue_leaves_out_what_cannot_be(open_book, lawless):
    book = open_book()
    values = entered(book)
    bad = spoil(lawless, book, Session, {"rows": 10**9}, values)
    path = book.path
    book.close()
    rescue(path, now=Clock())
    book = open_book()
    told = reading.rug_book(book, values[0].id)
    assert told.set_aside == ()
    assert [one.rows for one in told.sessions] == [bad.rows]


def test_every_field_of_every_value_has_a_rule_or_is_of_a_closed_set():
    for name in KIND_NAMES:
        kind = kind_named(name)
        closed = {
            field.name
            for field in kind.fields
            if getattr(field.load, "__name__", "") == "__getitem__" or field.name in ("cells", "value")
        }
        assert {field.name for field in kind.fields} - closed == set(rules.RULES[kind.value]), name


def test_a_setting_the_app_knows_is_what_it_expects(book):
    for key, bad in (
        ("lead_days", "soon"),
        ("first_weekday", {"day": 1}),
        ("country", ["TR"]),
        (rules.DEVICE_NAME_KEY + book.device_id, "x" * 9004),
        (rules.DEVICE_NAME_KEY + book.device_id, 7),
    ):
        with pytest.raises(BadEntry), book.act("setting changed") as act:
            act.set(key, bad)


def test_a_bad_setting_in_a_book_counts_as_never_made(book, lawless):
    with lawless, book.act("setting changed") as act:
        act.set("first_weekday", {"day": 1})
    assert reading.settings(book) == {}
    assert reading.setting(book, "first_weekday", 0) == 0


def test_cells_that_are_no_cartoon_leave_the_rug_bare_and_say_so(book, lawless):
    rug = plan()
    cells = np.full((60, 40), 9, dtype=np.uint8)
    with lawless, book.act("rug planned") as act:
        act.write(rug)
        act.write(Cartoon(id="c" * 32, rug_id=rug.id, cells=cells, palette=("#000000", "#FFFFFF")))
    told = reading.rug_book(book, rug.id)
    assert told.cartoon is None
    assert [aside.kind for aside in told.set_aside] == ["cartoon"]


def test_a_field_without_a_column_is_named(monkeypatch):
    marked = make_dataclass("Marked", [("lies_in", str, "")], bases=(Lot,), frozen=True, kw_only=True)
    monkeypatch.setitem(convert._CLASSES, "marked", (marked, convert._CLASSES["lot"][1]))
    with pytest.raises(LookupError, match=r"Marked.lies_in has no column in models.LotVersion"):
        convert.kind_named("marked")
