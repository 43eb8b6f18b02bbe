"""Half a row counts in the forecast: in the hours and yarn that are left, in the pace, and in the share that is done."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.unit.forecast.books import BOOK, striped, woven
from tracker.domain.rug import Lot, RugBook
from tracker.domain.work import hours_of_rows
from tracker.forecast.outlook import outlook
from tracker.forecast.pace import belief_of, draw_pace, hours_to_rows
from tracker.forecast.reckon import reckon
from tracker.forecast.sessions import session_arrays

DRAWN = replace(BOOK, cartoon=striped())


def half_on(book: RugBook, share: float = 0.5) -> RugBook:
    """Let the last session end within a row, at the pace of its rows."""
    knots, last = round(book.knots_across * share), book.sessions[-1]
    hours = last.hours and last.hours * (last.rows + share) / last.rows
    return replace(book, sessions=(*book.sessions[:-1], replace(last, hours=hours, begun_knots=knots)))


def bought(book: RugBook) -> RugBook:
    lots = tuple(
        Lot(id=f"l{yarn.id}", rug_id="r", yarn_id=yarn.id, day=book.plan.start_day, mass_g=2000.0)
        for yarn in book.yarns
    )
    return replace(book, lots=lots)


def test_half_a_row_is_done_and_its_hours_and_yarn_are_no_longer_to_come() -> None:
    book = bought(woven(DRAWN, [5] * 20))
    day = book.sessions[-1].day
    whole, half, next_row = (
        outlook(one, day) for one in (book, half_on(book), bought(woven(DRAWN, [5] * 19 + [6])))
    )
    assert half.where.knots_begun == book.knots_across // 2
    assert half.where.knots_woven - whole.where.knots_woven == book.knots_across // 2
    for name in ("red", "blue"):
        need = [
            next(one for one in told.yarns if one.yarn_id == name).needed_g
            for told in (whole, half, next_row)
        ]
        assert need[1] == pytest.approx((need[0] + need[2]) / 2, rel=1e-3)
    weft = [next(one for one in told.yarns if one.yarn_id == "weft").needed_g for told in (whole, half)]
    # The weft goes through the shed when the row is whole.
    assert weft[1] == pytest.approx(weft[0], rel=1e-6)


def test_half_a_row_is_half_of_its_hours_in_the_answer_and_in_every_future() -> None:
    book = half_on(woven(DRAWN, [5] * 20))
    now = reckon(book, book.sessions[-1].day)
    ahead = now.to_weave.changes[now.row_now :] / now.to_weave.tied
    belief, alone = belief_of(now.fit), [1.0]
    all_rows, one_less = hours_of_rows(belief, ahead, alone), hours_of_rows(belief, ahead[1:], alone)
    answered = outlook(book, book.sessions[-1].day).finish.hours_left
    assert all_rows - answered == pytest.approx((all_rows - one_less) / 2, rel=0.1)
    # Not quite half of the row's: the row still to come teaches the hands a little.
    draws = draw_pace(now.fit, 40, np.random.default_rng(1))
    marks = np.array([0, 9])
    whole, half = (hours_to_rows(now.fit, draws, ahead, marks, begun) for begun in (0.0, 0.5))
    assert half[:, 0] == pytest.approx(whole[:, 0] / 2, rel=1e-6)
    assert half[:, 1] == pytest.approx(whole[:, 1] - whole[:, 0] / 2, rel=0.01)
    assert now.futures is not None
    then = reckon(replace(book, sessions=woven(DRAWN, [5] * 20).sessions), now.today)
    assert now.futures.days[:, 0].mean() <= then.futures.days[:, 0].mean()


def test_a_wide_rugs_half_rows_are_its_pace() -> None:
    # Two evenings of 2 h a row, half a row each: the same pace as one session of 4 h a row.
    rows, across = 24, DRAWN.knots_across
    evenings = woven(DRAWN, [0, 1] * rows, 2.0)
    begun = [across // 2 if number % 2 == 0 else None for number in range(2 * rows)]
    book = replace(
        evenings,
        sessions=tuple(
            replace(s, begun_knots=knots) for s, knots in zip(evenings.sessions, begun, strict=True)
        ),
    )
    arrays = session_arrays(book)
    assert arrays.rows.tolist() == [0.5] * 2 * rows
    day = book.sessions[-1].day
    said, unsaid = outlook(book, day), outlook(evenings, day)
    assert said.finish.hours_left == pytest.approx(unsaid.finish.hours_left, rel=0.05)
    assert said.basis.sessions == 2 * rows


def test_the_shed_of_a_rug_all_woven_holds_no_begun_row() -> None:
    book = half_on(woven(DRAWN, [DRAWN.plan.rows // 2] * 2))
    assert outlook(book, book.sessions[-1].day).where.knots_begun == 0
