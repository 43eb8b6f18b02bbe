"""What a forecast reads off a drawn design, against designs laid out by hand: where a border and a medallion end."""

from __future__ import annotations

import numpy as np
import pytest

from tests.unit.domain.rugs import book_of, cartoon_of, pile, plan_of
from tracker.domain.cartoon import count_cartoon, runs_of_row
from tracker.domain.rows import rows_to_weave
from tracker.forecast.chart import find_borders, landmarks_of


def drawn(rows=200, across=120, border=30, medallion=(70, 130)):
    """A field of one colour in a border of another, a medallion of a third in its middle."""
    cells = np.zeros((rows, across), dtype=np.uint8)
    cells[border : rows - border, border : across - border] = 1
    cells[medallion[0] : medallion[1], 45:75] = 2
    return cells


def test_border_and_medallion_end_where_they_were_drawn():
    # 30 rows of border at both ends, a medallion from row 71 to row 130.
    marks = landmarks_of(cartoon_of(drawn()))
    assert (marks.border_end, marks.border_start) == (30, 170)
    assert marks.medallion == (70, 130)


def test_a_field_without_a_medallion_has_none_and_a_plain_rug_no_border():
    marks = landmarks_of(cartoon_of(drawn(medallion=(0, 0))))
    assert (marks.border_end, marks.border_start) == (30, 170)
    assert marks.figures == ()
    marks = landmarks_of(cartoon_of(np.zeros((200, 120), dtype=np.uint8), 2))
    assert marks.border_end is marks.border_start is None


def test_a_border_at_one_end_alone_is_none():
    for rows in (30, 66):
        cells = np.ones((200, 120), dtype=np.uint8)
        cells[:rows] = 0
        assert landmarks_of(cartoon_of(cells)).border_end is None


def test_a_difference_of_a_few_knots_ends_nothing():
    # A tenth of the knots of each row changes colour where a border would end: less than an eighth.
    cells = np.ones((200, 120), dtype=np.uint8)
    cells[:30, :12] = cells[170:, :12] = 0
    assert find_borders(count_cartoon(cells, 2).per_row) is None


def test_each_row_asks_for_its_own_knots_and_changes():
    # By hand: rows of border are one run; rows of field three runs and two changes; through the medallion five and four.
    cartoon = cartoon_of(drawn())
    yarns = tuple(pile(k + 1, cartoon_values=(k,)) for k in range(3))
    asked = rows_to_weave(book_of(plan_of(knots_across=120, rows=200), yarns=yarns, cartoon=cartoon))
    assert asked.changes[[0, 40, 100]].tolist() == [0, 2, 4]
    assert asked.knots[[0, 40, 100]].tolist() == [[120, 0, 0], [60, 60, 0], [60, 30, 30]]
    assert [run.knots for run in runs_of_row(cartoon.cells[100])] == [30, 15, 30, 15, 30]


def test_where_more_rows_are_woven_than_drawn_the_rest_of_the_design_is_stretched():
    # Nothing is woven and a tenth more rows are wanted: every tenth row of the design is woven twice.
    yarns = tuple(pile(k + 1, cartoon_values=(k,)) for k in range(3))
    book = book_of(plan_of(knots_across=120, rows=200), yarns=yarns, cartoon=cartoon_of(drawn()))
    asked = rows_to_weave(book, 220)
    assert asked.rows == 220
    assert asked.knots.sum(axis=1).tolist() == [120] * 220
    assert asked.knots.sum(axis=0) == pytest.approx(1.1 * rows_to_weave(book).knots.sum(axis=0))


def test_without_a_cartoon_four_changes_a_row_for_each_colour_beyond_the_first():
    # Common practice, no source.
    asked = rows_to_weave(book_of(yarns=tuple(pile(k) for k in (1, 2, 3))))
    assert asked.changes.tolist() == [8.0] * 600
