"""What was told of rows that a correction takes away is found, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters.rugs import book, session
from tracker.domain.lot_change import LotChange
from tracker.domain.mark import CartoonMark
from tracker.domain.never_woven import never_woven, with_sessions
from tracker.domain.rug import Measurement, RugBook, Session
from tracker.domain.trimming import Trim


def told_of(
    before: RugBook, *written: Session, withdrawn: tuple[str, ...] = ()
) -> list[tuple[str, int, int]]:
    """Return (id, first row, last row) of what tells of rows that were never woven once sessions are changed."""
    after = with_sessions(before, written, withdrawn)
    return [(one.entry.id, one.first_row, one.last_row) for one in never_woven(before, after)]


# 10, 20, 25 rows; three come out (rows 23 to 25), four are woven: 26.
WOVEN = (session(1, 10), session(2, 10), session(3, 5), session(4, -3), session(5, 4))
FIRST, LAST = WOVEN[0].day, WOVEN[-1].day
RUG = book(
    *WOVEN,
    measurements=(
        Measurement(id="early", rug_id="rug", day=FIRST, row=10, length_cm=4.0, born=1),
        Measurement(id="late", rug_id="rug", day=LAST, row=26, length_cm=10.4, born=6),
        Measurement(id="beyond", rug_id="rug", day=LAST, row=40, length_cm=16.0, born=7),
    ),
    trims=(Trim(id="trim", rug_id="rug", day=LAST, row=26, born=8),),
    marks=(
        CartoonMark(id="mistake", rug_id="rug", day=LAST, row=26, first_knot=3, last_knot=4, born=9),
        CartoonMark(
            id="mended", rug_id="rug", day=LAST, row=27, first_knot=3, last_knot=4, mended_day=LAST, born=9
        ),
    ),
    lot_changes=(
        LotChange(id="done", rug_id="rug", yarn_id="red", lot_id="a", day=FIRST, row=27, done_day=LAST),
        LotChange(id="planned", rug_id="rug", yarn_id="red", lot_id="b", day=FIRST, row=90),
    ),
)


@pytest.mark.parametrize(
    ("written", "withdrawn", "expected"),
    [
        # The session of the third day was of four rows: row 25 was never there to come out, nor row 26 to be measured.
        (replace(WOVEN[2], rows=4), (), [("s4", 23, 25), ("late", 26, 26), ("trim", 26, 26), ("done", 27, 27)]),
        # Two rows fewer: the mistake does not sit in the row that comes next either.
        (replace(WOVEN[4], rows=2), (), [("late", 26, 26), ("trim", 26, 26), ("mistake", 26, 26), ("done", 27, 27)]),
        (None, ("s1",), [("early", 10, 10), ("s4", 23, 25), ("late", 26, 26), ("trim", 26, 26), ("mistake", 26, 26), ("done", 27, 27)]),
        # Woven on a later day: the rows were not there when they were taken out, and they are in the end.
        (replace(WOVEN[2], day=LAST), (), [("s4", 23, 25)]),
        (replace(WOVEN[2], rows=6), (), []),
        (replace(WOVEN[2], rows=5, hours=1.0, note="Rain"), (), []),
        # Rows that were not taken out after all.
        (None, ("s4",), []),
        # What comes out now was there before.
        (session(9, -4, day=LAST + timedelta(days=1), born=0), (), []),
        # Entered today for the third day, it took the rows away under all that came after.
        (session(9, -1, day=WOVEN[2].day, born=0), (), [("s4", 23, 25), ("late", 26, 26), ("trim", 26, 26), ("done", 27, 27)]),
    ],
)  # fmt: skip
def test_what_tells_of_rows_that_are_then_not_woven_is_found(
    written: Session | None, withdrawn: tuple[str, ...], expected: list[tuple[str, int, int]]
) -> None:
    assert told_of(RUG, *(() if written is None else (written,)), withdrawn=withdrawn) == expected


def test_a_begun_row_that_came_out_is_found_where_it_was_never_begun() -> None:
    begun = book(session(1, 8, begun_knots=30), session(2, 0, begun_knots=0))
    assert told_of(begun, replace(begun.sessions[0], begun_knots=None)) == [("s2", 9, 9)]
    assert told_of(begun, replace(begun.sessions[0], begun_knots=60)) == []


@given(
    st.lists(st.integers(1, 9), min_size=1, max_size=6),
    st.integers(0, 5),
    st.integers(-9, 9),
)
def test_the_height_measured_each_evening_is_in_doubt_exactly_where_rows_are_taken_away(
    rows: list[int], which: int, more: int
) -> None:
    sessions = [session(number, count) for number, count in enumerate(rows, 1)]
    place = min(which, len(rows) - 1)
    measured = tuple(
        Measurement(
            id=f"m{n}", rug_id="rug", day=sessions[n].day, row=sum(rows[: n + 1]), length_cm=1.0, born=99
        )
        for n in range(len(rows))
    )
    changed = replace(sessions[place], rows=max(0, rows[place] + more))
    found = [one for one, *_rows in told_of(book(*sessions, measurements=measured), changed)]
    assert found == ([f"m{n}" for n in range(place, len(rows))] if changed.rows < rows[place] else [])
