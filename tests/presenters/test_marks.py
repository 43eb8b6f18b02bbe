"""Mistakes marked on the cartoon: listed, told near their row, drawn where they sit, ticked off."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.presenters.rugs import book, session
from tests.today import TODAY
from tracker.domain.as_of import book_as_of
from tracker.domain.errors import BadEntry
from tracker.domain.mark import CartoonMark
from tracker.domain.rules import check
from tracker.forecast.outlook import outlook
from tracker.presenters import entry_forms, loom, marks
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import Names, headline
from tracker.presenters.zoom import build_zoom_state


def mark(row: int, first: int = 12, last: int = 20, **changes) -> CartoonMark:
    fields = {
        "id": f"m{row}",
        "rug_id": "rug",
        "day": TODAY,
        "row": row,
        "first_knot": first,
        "last_knot": last,
    }
    return CartoonMark(**{**fields, **changes})


def test_what_is_left_to_mend_stands_first_and_the_lowest_row_before_the_others() -> None:
    rug = book(
        session(1, 60), marks=(mark(9, mended_day=TODAY), mark(50, note="red for blue"), mark(30, 7, 7))
    )
    lines = marks.mark_lines(rug, TODAY)
    assert [line.where for line in lines] == [
        "Row 30, knot 7",
        "Row 50, knots 12 to 20",
        "Row 9, knots 12 to 20",
    ]
    assert [line.mended for line in lines] == [False, False, True]
    assert lines[1].note == "red for blue"
    assert lines[2].note.startswith("mended ")
    assert marks.summary_words(rug) == "2 mistakes are still there."
    assert marks.summary_words(replace(rug, marks=rug.marks[:1])) == "Nothing is left to mend."


def test_the_row_at_the_loom_tells_of_the_nearest_mistake_that_is_still_there() -> None:
    rug = book(session(1, 60), marks=(mark(50), mark(56), mark(61, mended_day=TODAY)))
    near = marks.near_mark(rug, 58)
    assert near is not None
    assert near.words == "Mistake: Row 56, knots 12 to 20"
    assert marks.near_mark(rug, 61).mark.row == 56
    assert marks.near_mark(rug, 62) is None
    assert marks.near_mark(rug, 45).mark.row == 50
    # The sheet promises the row page's word as far as it is given, and no farther.
    alone = book(marks=(mark(50),))
    (away,) = re.findall(r"up to (\d+) rows away", marks.how_to_words())
    told = [row for row in range(1, 100) if marks.near_mark(alone, row) is not None]
    assert (min(told), max(told)) == (50 - int(away), 50 + int(away))


def test_a_mark_is_drawn_at_its_knots_and_one_that_is_off_the_rug_is_not() -> None:
    rug = book(
        marks=(mark(50), mark(50, 95, 140, id="wide"), mark(50, 101, 101, id="off"), mark(500, id="above"))
    )
    drawn = marks.drawn_marks(rug)
    assert [(one.row, one.left, one.right) for one in drawn] == [(50, 0.11, 0.2), (50, 0.94, 1.0)]
    assert build_zoom_state(rug, outlook(rug, TODAY)).marks == drawn
    # What is mended is in the cloth no more; the list still tells of it.
    mended = replace(rug, marks=(*(replace(one, mended_day=TODAY) for one in rug.marks[:1]), *rug.marks[1:]))
    assert [one.left for one in marks.drawn_marks(mended)] == [0.94]
    assert [line.mended for line in marks.mark_lines(mended, TODAY)].count(True) == 1


def test_a_touch_fills_the_form_and_stays_on_the_rug() -> None:
    rug = book(session(1, 60))
    value = entry_forms.to_value(marks.form_at(rug, TODAY, 50, 33), rug, TODAY)
    assert (value.row, value.first_knot, value.last_knot, value.mended_day) == (50, 33, 33, None)
    form = marks.form_at(rug, TODAY, 999, 999)
    assert (form.answers["row"], form.answers["first_knot"]) == (200, 100)
    with pytest.raises(BadEntry, match="before the first"):
        entry_forms.to_value(form.with_answer("last_knot", 3), rug, TODAY)
    with pytest.raises(BadEntry, match="before the first"):
        check(mark(5, 9, 8))


def test_the_last_knot_follows_the_first_until_it_was_chosen() -> None:
    rug = book(session(1, 60))
    form = entry_forms.blank(FormKind.MARK, rug, TODAY)
    form = entry_forms.answered(form, rug, "first_knot", 30)
    assert (form.answers["first_knot"], form.answers["last_knot"]) == (30, 30)
    form = entry_forms.answered(form, rug, "first_knot", 26)
    assert (form.answers["first_knot"], form.answers["last_knot"]) == (26, 26)
    form = entry_forms.answered(form, rug, "last_knot", 34)
    form = entry_forms.answered(form, rug, "first_knot", 28)
    assert (form.answers["first_knot"], form.answers["last_knot"]) == (28, 34)
    # A row has no knots from 40 to 34: whoever says that it begins at 40 has the end still to say.
    form = entry_forms.answered(form, rug, "first_knot", 40)
    assert (form.answers["first_knot"], form.answers["last_knot"]) == (40, 40)


def test_the_row_at_the_loom_shows_where_a_mistake_sits_from_either_side() -> None:
    # 100 knots across: from the back knots 12 to 20 are the 81st to the 89th.
    rug = book(
        session(1, 60),
        marks=(mark(50), mark(50, 70, 140, id="wide"), mark(50, mended_day=TODAY, id="mended"), mark(51)),
    )
    assert loom.mistakes_in_row(rug, 50) == ((11, 9), (69, 31))
    assert loom.mistakes_in_row(rug, 50, mirrored=True) == ((80, 9), (0, 31))


def test_ticking_off_is_a_day_and_the_same_once_more_opens_it_again() -> None:
    mended = marks.with_mended(mark(50), TODAY)
    assert mended.mended_day == TODAY
    assert marks.with_mended(mended, TODAY) == mark(50)


def test_the_diary_says_where_and_a_week_ago_it_was_not_mended() -> None:
    said = mark(50, note="red for blue", day=TODAY - timedelta(days=9), mended_day=TODAY)
    assert headline(said, Names()) == "Mistake in row 50, knots 12 to 20: red for blue"
    assert dict(details(mark(50), Names()))["Mended on"] == "not mended yet"
    (then,) = book_as_of(book(marks=(said,)), TODAY - timedelta(days=7)).marks
    assert then.mended_day is None
    assert book_as_of(book(marks=(said,)), TODAY - timedelta(days=10)).marks == ()
