"""The three answers for small rugs whose numbers can be worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Cartoon, Lot, Role, RugBook, RugPlan, RugStage, Session, Weighing, Yarn
from tracker.forecast.answers import YarnWord
from tracker.forecast.outlook import finish_foretold, outlook

START = date(2026, 1, 5)  # a Monday

PLAN = RugPlan(
    id="r", name="Test rug", width_cm=60, length_cm=90, knots_per_10cm=40, rows_per_10cm=40,
    knots_across=240, rows=360, pile_height_mm=8, start_day=START, hours_per_week=20,
    wished_day=date(2026, 9, 1), stage=RugStage.ON_LOOM,
)  # fmt: skip
RED = Yarn(id="red", rug_id="r", role=Role.PILE, number=1, name="Red", share=0.75, tex=400)
BLUE = Yarn(id="blue", rug_id="r", role=Role.PILE, number=2, name="Blue", share=0.25, tex=400)
WEFT = Yarn(id="weft", rug_id="r", role=Role.WEFT, number=1, name="Ground weft", tex=400, take_up=0.05)
BOOK = RugBook(plan=PLAN, yarns=(RED, BLUE, WEFT))


def woven(book: RugBook, evenings: int, rows: int = 5, hours: float = 4.0) -> RugBook:
    """Weave the same on so many working days."""
    days = [START + timedelta(days=d) for d in range(evenings * 2 + 7)]
    days = [day for day in days if day.weekday() < 5][:evenings]
    sessions = tuple(
        Session(id=f"s{i}", rug_id="r", day=day, rows=rows, hours=hours, born=i + 1)
        for i, day in enumerate(days)
    )
    return replace(book, sessions=sessions)


def test_before_the_first_session_the_answer_comes_from_the_plan_and_says_so():
    answers = outlook(BOOK, START)
    assert answers.basis.from_plan
    assert answers.basis.sessions == 0
    assert any("plan" in sentence for sentence in answers.basis.rests_on)
    assert answers.finish is not None
    assert START < answers.finish.early < answers.finish.middle < answers.finish.late
    assert {a.word for a in answers.yarns} == {YarnWord.NOT_BOUGHT}


def test_rows_and_knots_are_counted():
    answers = outlook(woven(BOOK, 12), START + timedelta(days=15))
    assert answers.where.rows_woven == 60
    assert answers.where.knots_woven == 60 * 240
    assert answers.where.knots == 360 * 240
    assert answers.where.rows_last_session == 5
    assert answers.where.hours_woven == pytest.approx(48.0)


def test_the_same_book_on_the_same_day_gives_the_same_answer():
    book = woven(BOOK, 12)
    assert outlook(book, START + timedelta(days=15)) == outlook(book, START + timedelta(days=15))


def test_colour_changes_and_knots_are_counted_from_the_cartoon():
    cells = np.array([[0, 0, 1, 1], [0, 1, 0, 1], [2, 2, 2, 2]], dtype=np.uint8)
    plan = replace(PLAN, rows=3, knots_across=4)
    red, blue = replace(RED, cartoon_values=(0, 2)), replace(BLUE, cartoon_values=(1,))
    book = RugBook(
        plan=plan, yarns=(red, blue), cartoon=Cartoon(id="c", rug_id="r", cells=cells, palette=("#a",) * 3)
    )
    to_weave = rows_to_weave(book)
    assert to_weave.changes.tolist() == [1, 3, 0]
    assert to_weave.knots.tolist() == [[2, 2], [2, 2], [4, 0]]


def test_after_the_last_row_there_is_no_date_and_no_yarn_is_needed():
    answers = outlook(woven(BOOK, 72), START + timedelta(days=120))
    assert answers.finished
    assert answers.finish is None
    assert {a.word for a in answers.yarns} == {YarnWord.DONE}


def test_a_steady_weaver_is_forecast_near_the_straight_line():
    book = woven(BOOK, 36)  # half of the rug in 36 evenings of 5 rows: the other half takes 36 more
    today = book.sessions[-1].day
    finish = outlook(book, today).finish
    assert finish is not None
    straight = today + timedelta(days=36 * 7 // 5)
    assert abs((finish.middle - straight).days) <= 8


@pytest.mark.parametrize("sessions", [0, 1, 12, 36, 72])
def test_the_last_row_is_foretold_alone_as_among_the_other_answers(sessions):
    book = woven(BOOK, sessions)
    earlier = [replace(woven(BOOK, 72), plan=replace(BOOK.plan, stage=RugStage.FINISHED))]
    today = START + timedelta(days=10 + 7 * sessions // 5)
    for taught in ((), earlier):
        assert finish_foretold(book, today, earlier=taught) == outlook(book, today, earlier=taught).finish
    assert (finish_foretold(book, today) is None) == (sessions == 72)
    assert finish_foretold(book, today, seed=7) != finish_foretold(book, today) or sessions == 72


def test_plenty_is_enough_and_next_to_nothing_is_short():
    lots = (
        Lot(id="l1", rug_id="r", yarn_id="red", day=START, mass_g=5000, dye_lot="A"),
        Lot(id="l2", rug_id="r", yarn_id="blue", day=START, mass_g=105, dye_lot="B"),
    )
    book = replace(woven(BOOK, 12), lots=lots)
    weighing = Weighing(id="w", rug_id="r", yarn_id="blue", day=book.sessions[-1].day, mass_g=60, born=99)
    answers = outlook(replace(book, weighings=(weighing,)), book.sessions[-1].day)
    words = {a.yarn_id: a.word for a in answers.yarns}
    assert words == {"red": YarnWord.ENOUGH, "blue": YarnWord.SHORT, "weft": YarnWord.NOT_BOUGHT}
    assert answers.yarns[0].yarn_id == "blue"
    blue = answers.yarns[0]
    # 60 rows took 45 g, 300 rows are left: 225 g, of which 60 g are on hand: enough for 80 rows.
    assert blue.needed_g == pytest.approx(225, rel=0.1)
    assert blue.short_g == pytest.approx(165, rel=0.15)
    # Nobody said in what skeins it is sold: grams to the next ten, with the margin of a tenth: 225 x 1.1 - 60 at least.
    assert blue.order_skeins == 0
    assert blue.order_g >= 187.5
    assert blue.order_g % 10 == 0
    assert blue.runs_out_row is not None
    assert blue.runs_out_row == pytest.approx(140, abs=10)
