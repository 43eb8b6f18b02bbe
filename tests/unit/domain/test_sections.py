"""The width in sections: they cover every row once, to the knot."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters.rugs import book, plan, session
from tracker.domain import team
from tracker.domain.cartoon import count_of, counts_by_yarn
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Cartoon, Role
from tracker.domain.seats import NOBODY, Section, even_sections, sections_of
from tracker.domain.sections import knots_of_section, units_between


def drawn(cells: list[list[int]] | np.ndarray, **changes):
    """A rug knotted by these cells, row 1 first: value 0 in red, 1 in blue."""
    cells = np.array(cells, dtype=np.uint8)
    rows, across = cells.shape
    cartoon = Cartoon(id="c", rug_id="rug", cells=cells, palette=("#9C2F25", "#27406B", "#FFFFFF"))
    rug = book(session(1, 1), plan=plan(rows=rows, knots_across=across, **changes), cartoon=cartoon)
    red, blue, weft = rug.yarns
    return replace(rug, yarns=(replace(red, cartoon_values=(0,)), replace(blue, cartoon_values=(1,)), weft))


def test_a_small_row_parted_by_hand() -> None:
    rug = drawn([[0, 0, 1, 1, 0], [1, 0, 0, 0, 0]])
    to_weave = rows_to_weave(rug)
    assert knots_of_section(rug, to_weave, 1, 2).tolist() == [[2, 0], [1, 1]]
    assert knots_of_section(rug, to_weave, 3, 5).tolist() == [[1, 2], [3, 0]]


def test_without_a_cartoon_a_section_has_its_part_of_the_width() -> None:
    rug = book(session(1, 1))
    knots = knots_of_section(rug, rows_to_weave(rug), 1, 30)
    assert knots[7].tolist() == pytest.approx([15, 15])


def test_knots_over_four_warps_fill_two_places() -> None:
    rug = drawn([[0, 0, 0, 0]], jufti_share=1.0)
    assert knots_of_section(rug, rows_to_weave(rug), 1, 2).tolist() == [[1, 0]]


def test_stretches_where_nobody_sits_are_sections_too() -> None:
    assert sections_of((("ann", 3, 5), ("bo", 8, 9)), 10) == (
        Section(NOBODY, 1, 2), Section("ann", 3, 5), Section(NOBODY, 6, 7), Section("bo", 8, 9), Section(NOBODY, 10, 10),
    )  # fmt: skip
    assert sections_of((("ann", 3, 50),), 10) == (Section(NOBODY, 1, 10),)
    assert sections_of((), 10) == (Section(NOBODY, 1, 10),)
    assert even_sections(3, 10) == (Section(NOBODY, 1, 4), Section(NOBODY, 5, 7), Section(NOBODY, 8, 10))
    assert even_sections(5, 2) == (Section(NOBODY, 1, 1), Section(NOBODY, 2, 2))


def test_of_a_row_cut_by_a_height_every_yarn_has_its_part() -> None:
    knots = np.array([[4.0, 0.0], [2.0, 2.0], [0.0, 4.0]])
    assert units_between(knots, 0.5, 3).tolist() == [4, 6]
    assert units_between(knots, 1, 2).tolist() == [2, 2]
    assert units_between(knots, 2, 99).tolist() == [0, 4]
    assert units_between(knots, 3, 3).tolist() == [0, 0]


@st.composite
def places(draw, across: int) -> team.Places:
    """Weavers side by side, some stretches nobody's."""
    ends = sorted(draw(st.lists(st.integers(1, across), min_size=2, max_size=8, unique=True)))
    return tuple(
        (f"w{number}", first, max(first, last - draw(st.integers(0, 1))))
        for number, (first, last) in enumerate(zip(ends[::2], ends[1::2], strict=False))
    )


@given(st.data(), st.integers(0, 10_000))
def test_the_sections_add_up_to_every_row_of_the_one_count(data, seed) -> None:
    rng = np.random.default_rng(seed)
    across, rows = int(rng.integers(2, 70)), int(rng.integers(1, 40))
    rug = drawn(rng.integers(0, 3, (rows, across)))
    if rng.random() < 0.3:
        rug = replace(rug, cartoon=None)
    # Held to its length a rug may have other rows than its cartoon.
    to_weave = rows_to_weave(rug, int(rng.integers(1, 60)) if rng.random() < 0.5 else None)
    sections = sections_of(data.draw(places(across)), across)
    assert sum(section.knots for section in sections) == across
    parts = [knots_of_section(rug, to_weave, section.first, section.last) for section in sections]
    assert sum(parts) == pytest.approx(to_weave.knots)
    if rug.cartoon is not None and to_weave.rows == rows:
        counted = counts_by_yarn(count_of(rug.cartoon, rug.yarns), rug.yarns_of(Role.PILE))
        assert np.array_equal(sum(parts), counted)
