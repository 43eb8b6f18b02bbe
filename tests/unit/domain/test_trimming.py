"""When the pile is to be trimmed, by hand."""

from __future__ import annotations

from datetime import date

from tracker.domain.trimming import Trim, heights_apart_mm, trim_due


def trim(row: int, after_mm: float | None = None) -> Trim:
    return Trim(id=f"t{row}", rug_id="r", day=date(2026, 3, 2), row=row, after_mm=after_mm)


def test_it_is_due_after_so_many_rows_since_the_highest_one_trimmed():
    due = trim_due(57, (trim(40), trim(20)), 20)
    assert (due.trimmed_to, due.rows_since, due.rows_to_go) == (40, 17, 3)
    assert trim_due(60, (trim(40), trim(20)), 20).rows_to_go == 0
    assert trim_due(70, (trim(40),), 20).rows_to_go == -10


def test_before_the_first_time_it_counts_from_the_first_row():
    assert trim_due(18, (), 20).rows_to_go == 2
    assert trim_due(18, (), None).rows_to_go is None


def test_unpicked_below_what_was_trimmed_all_that_is_there_is_trimmed():
    due = trim_due(35, (trim(40),), 20)
    assert (due.trimmed_to, due.rows_since, due.rows_to_go) == (35, 0, 20)


def test_heights_differ_only_where_two_were_measured():
    assert heights_apart_mm((trim(20, 9.0), trim(40))) is None
    assert heights_apart_mm((trim(20, 9.0), trim(40), trim(60, 10.5), trim(80, 9.5))) == 1.5
