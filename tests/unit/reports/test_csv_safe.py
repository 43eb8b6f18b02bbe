"""CSV for spreadsheets: what was entered as text stays text, and comes back as it was."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.reports.csv_safe import safe_cell, table

FORMULAS = [
    '=HYPERLINK("http://example.invalid","click")',
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "  =1+1",
    "\u200b=1+1",
    "\ufeff =1+1",
    "=cmd|' /C calc'!A0",
    "|calc",
    "＝1+1",
    "＠SUM(1)",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_a_text_that_looks_like_a_formula_stays_text(text):
    assert safe_cell(text) == "'" + text.replace("\r", "\n")


@pytest.mark.parametrize("text", ["weld", "3 balls", "'=1", "a=b", "", "Çiçek", "خامه", "🧶", '"quoted"'])
def test_other_text_is_left_as_it_is(text):
    assert safe_cell(text) == text


def test_numbers_and_days_stay_numbers_and_days():
    assert [safe_cell(cell) for cell in (-3, 2.5, -0.25, 10**12, date(2026, 3, 2), None)] == [
        -3,
        2.5,
        -0.25,
        10**12,
        "2026-03-02",
        "",
    ]


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=5))
def test_no_cell_of_any_table_starts_a_formula_and_none_moves_into_another(rows):
    text = table(["a", "b"], rows).decode("utf-8-sig")
    read = list(csv.reader(io.StringIO(text, newline="")))
    assert len(read) == len(rows) + 1
    for written, entered in zip(read[1:], rows, strict=True):
        assert len(written) == 2
        for cell, said in zip(written, entered, strict=True):
            assert not cell.strip().startswith(("=", "+", "-", "@"))
            # Nothing that can be seen is lost: letters and digits of every script come through in their order.
            assert [c for c in cell if c.isalnum()] == [c for c in said if c.isalnum()]


def test_the_file_says_that_it_is_utf_8():
    assert table(["colour"], [["Çiçek"]]) == b'\xef\xbb\xbf"colour"\r\n"' + "Çiçek".encode() + b'"\r\n'
