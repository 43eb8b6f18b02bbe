"""The page on trimming, and the form of a trimming."""

from __future__ import annotations

from datetime import date

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.as_of import book_as_of
from tracker.domain.errors import BadEntry
from tracker.domain.rules import check
from tracker.domain.trimming import Trim
from tracker.presenters import entry_forms
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entry_text import trimmed_words
from tracker.presenters.trimming import build_trimming_state, due_words, with_interval


def trim(row: int, after_mm: float | None = None, **changes) -> Trim:
    return Trim(id=f"t{row}", rug_id="rug", day=date(2026, 11, 4), row=row, after_mm=after_mm, **changes)


def woven(rows: int = 50, every: int | None = None, *trims: Trim):
    return book(session(1, rows), plan=plan(trim_every_rows=every), trims=trims)


def test_what_is_due_is_said_and_what_is_not_yet() -> None:
    assert build_trimming_state(woven()).headline == "Not trimmed yet"
    assert build_trimming_state(woven(50, None, trim(40))).headline == "10 rows since the last trimming"
    ahead = build_trimming_state(woven(50, 20, trim(40)))
    assert (ahead.headline, ahead.more, ahead.due) == ("Trim in 10 rows", "Trimmed up to row 40.", False)
    now = build_trimming_state(woven(61, 20, trim(40)))
    assert (now.headline, now.due) == ("Trim the pile now: 21 rows since the last time.", True)
    assert now.every == "every 20 rows"
    assert due_words(woven(61, 20, trim(40))) == now.headline
    assert due_words(woven(59, 20, trim(40))) == ""
    assert due_words(woven(60, 20, trim(40))) == "Trim the pile now: 20 rows since the last time."
    assert due_words(woven(0, 20)) == ""


def test_blades_machine_and_dust_are_cautioned_against_there() -> None:
    cautions = " ".join(build_trimming_state(woven()).cautions)
    for word in ("safety glasses", "in front of the blades", "mask"):
        assert word in cautions


def test_heights_that_differ_are_said() -> None:
    assert build_trimming_state(woven(50, None, trim(20, 9.0), trim(40, 9.8))).warning == ""
    assert "differ by 1.5 mm" in build_trimming_state(woven(50, None, trim(20, 9.0), trim(40, 10.5))).warning


def test_the_log_stands_highest_row_first_and_says_what_was_done() -> None:
    state = build_trimming_state(woven(50, None, trim(20), trim(40, 9.0, before_mm=12.5)))
    assert [line.words for line in state.lines] == ["up to row 40, from 12.5 mm to 9 mm", "up to row 20"]
    assert trimmed_words(trim(5, 8.0), "cm") == "up to row 5, left at 8 mm"


def test_the_form_starts_at_the_row_on_the_loom_and_becomes_a_trimming() -> None:
    rug = woven(50)
    form = entry_forms.blank(FormKind.TRIM, rug, TODAY)
    assert form.answers["row"] == 50
    filled = form.with_answer("before_mm", 12.0).with_answer("after_mm", 9.0)
    made = entry_forms.to_value(filled, rug, TODAY)
    assert (made.row, made.before_mm, made.after_mm, made.day) == (50, 12.0, 9.0, TODAY)
    assert entry_forms.to_value(entry_forms.form_of(made), rug, TODAY) == made


def test_a_pile_left_lower_than_planned_is_cautioned_about() -> None:
    rug = woven(50)
    low = rug.plan.pile_height_mm
    form = entry_forms.blank(FormKind.TRIM, rug, TODAY)
    assert entry_forms.caution_of(form, rug) == ""
    assert entry_forms.caution_of(form.with_answer("after_mm", low), rug) == ""
    assert "cannot be put back" in entry_forms.caution_of(form.with_answer("after_mm", low - 1), rug)


def test_a_pile_does_not_grow_by_trimming() -> None:
    with pytest.raises(BadEntry):
        check(trim(5, 9.0, before_mm=8.0))
    check(trim(5, 9.0, before_mm=9.0))


def test_how_often_is_a_change_of_the_plan() -> None:
    assert with_interval(plan(), 24).trim_every_rows == 24
    assert with_interval(plan(trim_every_rows=24), None).trim_every_rows is None


def test_a_later_trimming_is_not_known_on_an_earlier_evening() -> None:
    rug = woven(50, None, trim(20), Trim(id="l", rug_id="rug", day=date(2026, 11, 9), row=40))
    assert [each.row for each in book_as_of(rug, date(2026, 11, 5)).trims] == [20]
