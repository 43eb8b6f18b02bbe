"""The days along the rug's side: what each day left on the loom, and which labels have room."""

from dataclasses import replace
from datetime import date

from tests.presenters.rugs import book, session
from tests.presenters.test_finish import answers
from tracker.presenters import zoom
from tracker.widgets.spacing import without_overlap


def left(*sessions) -> list[tuple[int, int, int]]:
    return [(s.day.day, s.first, s.last) for s in zoom.stretches(book(*sessions))]


def test_each_day_lies_above_the_one_before() -> None:
    assert left(session(1, 5), session(2, 3)) == [(2, 1, 5), (3, 6, 8)]


def test_two_sessions_of_a_day_are_one_stretch() -> None:
    assert left(session(1, 5), replace(session(2, 3), day=date(2026, 11, 2))) == [(2, 1, 8)]


def test_unpicked_rows_are_no_longer_anybodys() -> None:
    # 5 rows, then 3, then 4 taken out: all of the second day and one row of the first; then 2 anew.
    assert left(session(1, 5), session(2, 3), session(3, -4), session(4, 2)) == [(2, 1, 4), (5, 5, 6)]


def test_when_all_rows_came_out_the_next_ones_lie_at_the_bottom() -> None:
    assert left(session(1, 5), session(2, -5), session(3, 2)) == [(4, 1, 2)]
    assert left(session(1, 1), session(2, 2), session(3, -2)) == [(2, 1, 1)]


def test_a_session_without_rows_leaves_nothing() -> None:
    assert left(session(1, 0), session(2, 3)) == [(3, 1, 3)]


def test_days_ahead_carry_their_range() -> None:
    bands = ((100, date(2026, 11, 30), date(2026, 12, 2), date(2026, 12, 5)),)
    state = zoom.build_zoom_state(book(session(1, 10)), answers(bands=bands))
    (mark,) = state.ahead
    assert (mark.rows_up, mark.words, mark.span) == (100.0, "2 Dec", "30 Nov to 5 Dec")
    assert (state.woven[0].rows_up, state.woven[0].words) == (5.0, "2 Nov")
    assert (state.rows, state.row, state.aspect) == (200, 10, 0.5)


def test_labels_keep_apart_and_the_last_is_always_there() -> None:
    assert without_overlap([0, 5, 10, 15, 20], 10) == [0, 2, 4]
    assert without_overlap([0, 10, 14], 10) == [0, 2]
    assert without_overlap([0, 3], 10) == [1]
    assert without_overlap([], 10) == []
