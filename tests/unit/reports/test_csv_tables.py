"""Tables read back with Python's own csv reader: every figure there, nothing a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date

import pytest

from tests.unit.reports.books import small_answers, small_book
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import Hold, Measurement, RugStage, Session
from tracker.domain.trimming import Trim
from tracker.forecast.reckon import rows_wanted
from tracker.reports.csv_safe import safe_cell, table
from tracker.reports.csv_tables import (
    balls_table,
    cloth_table,
    csv_files,
    mistakes_table,
    rows_table,
    sessions_table,
    trimming_table,
    yarn_events_table,
    yarn_table,
)


def read(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_sessions_come_oldest_first_with_what_is_on_the_loom_after_each() -> None:
    lines = read(sessions_table(small_book()))
    assert [line["day"] for line in lines] == ["2026-11-09", "2026-11-17", "2026-11-24"]
    assert [line["rows"] for line in lines] == ["2", "2", "-1"]
    assert [line["rows on the loom"] for line in lines] == ["2", "4", "3"]
    # Two phones that knew nothing of each other may unpick the same rows: then as ever none are left, and not fewer.
    book = small_book()
    twice = replace(book, sessions=(*book.sessions, replace(book.sessions[-1], id="bo", rows=-5, born=99)))
    assert read(sessions_table(twice))[-1]["rows on the loom"] == str(twice.rows_woven) == "0"
    assert [float(line["hours"]) for line in lines] == [2.0, 3.0, 0.5]
    assert lines[1]["weavers"] == "Ann; Bo"
    assert lines[1]["used up"] == "1 ball of Madder; 2 shuttles of Ground weft"


def test_a_row_stands_with_the_day_it_was_woven_last_and_its_knots() -> None:
    lines = read(rows_table(small_book()))
    # Row 4 was woven on the 17th and taken out on the 24th; row 3 of that evening stayed.
    assert [line["woven on"] for line in lines] == ["2026-11-09", "2026-11-09", "2026-11-17", ""]
    assert [line["colour changes"] for line in lines] == ["0", "2", "2", "2"]
    assert [line["1 Madder (knots)"] for line in lines] == ["6", "4", "4", "4"]
    assert [line["2 Indigo (knots)"] for line in lines] == ["0", "2", "2", "2"]


def test_the_rows_listed_are_those_the_rug_is_to_have_by_its_cloth_and_of_a_finished_one_those_it_has() -> (
    None
):
    book = small_book()
    # 3 rows are 25 cm on the loom where 15 are planned: held to 20 cm the rug is done already.
    loose = Measurement(id="m", rug_id="rug", day=date(2026, 11, 24), row=3, length_cm=25.0)
    held = replace(book, plan=replace(book.plan, hold=Hold.LENGTH), measurements=(loose,))
    lines = read(rows_table(held))
    assert len(lines) == rows_wanted(held) == 3
    assert all(line["woven on"] for line in lines)
    assert len(read(rows_table(replace(held, plan=replace(held.plan, hold=Hold.ROWS))))) == 4
    early = replace(book, plan=replace(book.plan, stage=RugStage.FINISHED))
    assert len(read(rows_table(early))) == 3


def test_a_rug_without_a_cartoon_still_has_its_rows() -> None:
    lines = read(rows_table(small_book(cartoon=None)))
    assert len(lines) == 4
    assert list(lines[0]) == ["row", "woven on"]


def test_a_yarn_weighed_after_the_last_session_has_its_use_by_the_scale() -> None:
    madder, indigo, weft = read(yarn_table(small_book(), small_answers()))
    # 500 + 250 bought, 20 lost, 610 left on the scale: 120 g went into the rug.
    assert float(madder["bought (g)"]) == 750
    assert float(madder["lost (g)"]) == 20
    assert float(madder["used so far, waste included (g)"]) == 120
    assert madder["used so far is"] == "weighed"
    assert madder["dye lots"] == "M-1; M-2"
    assert madder["dyer"] == "the hill dyer; the river dyer"
    assert int(madder["knots in the rug"]) == 18
    assert indigo["buy by"] == "2026-11-28"
    assert float(indigo["to buy (g)"]) == 500
    assert weft["use"] == "weft"


def test_all_that_happened_to_the_yarns_is_told_in_order() -> None:
    lines = read(yarn_events_table(small_book()))
    assert [(line["day"], line["name"], line["what"], line["mass (g)"], line["count"]) for line in lines] == [
        ("2026-11-02", "Madder", "bought", "500.0", ""),
        ("2026-11-16", "Madder", "bought", "250.0", ""),
        ("2026-11-17", "Madder", "balls used up", "", "1.0"),
        ("2026-11-17", "Ground weft", "shuttles emptied", "", "2.0"),
        ("2026-11-17", "Madder", "lost", "20.0", ""),
        ("2026-11-24", "Madder", "weighed: left", "610.0", ""),
    ]


def test_trimmings_stand_by_row() -> None:
    trims = (
        Trim(id="b", rug_id="rug", day=date(2026, 11, 18), row=4, before_mm=11.0, after_mm=9.0, note="slow"),
        Trim(id="a", rug_id="rug", day=date(2026, 11, 17), row=2),
    )
    lines = read(trimming_table(small_book(trims=trims)))
    assert [(line["row"], line["pile after (mm)"], line["note"]) for line in lines] == [
        ("2", "", ""),
        ("4", "9.0", "slow"),
    ]


def test_mistakes_stand_by_row_with_the_day_on_which_they_were_mended() -> None:
    marks = (
        CartoonMark(id="b", rug_id="rug", day=date(2026, 11, 18), row=4, first_knot=2, last_knot=3, note="blue for red"),
        CartoonMark(
            id="a", rug_id="rug", day=date(2026, 11, 18), row=2, first_knot=5, last_knot=5, mended_day=date(2026, 11, 19)
        ),
    )  # fmt: skip
    lines = read(mistakes_table(small_book(marks=marks)))
    assert [tuple(line.values()) for line in lines] == [
        ("2026-11-18", "2", "5", "5", "", "2026-11-19"),
        ("2026-11-18", "4", "2", "3", "blue for red", ""),
    ]


def test_balls_handed_out_stand_by_day_with_whose_they_are() -> None:
    given = HandOut(
        id="a",
        rug_id="rug",
        yarn_id="madder",
        weaver_id="ann",
        day=date(2026, 11, 17),
        balls=3,
        mass_g=540.0,
        note="x",
    )
    back = HandOut(
        id="b",
        rug_id="rug",
        yarn_id="madder",
        day=date(2026, 11, 18),
        balls=0.5,
        mass_g=80.0,
        kind=HandOutKind.RETURNED,
    )
    lines = read(balls_table(small_book(hand_outs=(given, back))))
    assert [
        (line["given or returned"], line["name"], line["balls"], line["mass (g)"], line["note"])
        for line in lines
    ] == [("given", "Madder", "3", "540.0", "x"), ("returned", "Madder", "0.5", "80.0", "")]
    assert lines[1]["weaver"] == ""


def test_everything_measured_of_the_cloth_stands_in_its_own_table_by_row() -> None:
    late = Measurement(
        id="w", rug_id="rug", day=date(2026, 11, 18), row=3, length_cm=0.0, width_cm=60.5, left_cm=11.0, right_cm=11.5,
        rising_cm=62.0, falling_cm=61.5, born=20,
    )  # fmt: skip
    book = small_book()
    lines = read(cloth_table(replace(book, measurements=(*book.measurements, late))))
    assert [(line["row"], line["length (cm)"], line["width (cm)"]) for line in lines] == [
        ("3", "", "60.5"),
        ("4", "20.5", ""),
    ]
    assert lines[0]["right side (cm)"] == "11.5"
    assert lines[0]["diagonal from lower left (cm)"] == "62.0"


@pytest.mark.parametrize(
    "text",
    [
        "=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1", " =1+1", "\u00a0=cmd|' /C calc'!A0", "＝1+1", "－2",
        "\ufeff=1+1", "\u200b@x", "-2 rows out again",
    ],
)  # fmt: skip
def test_a_note_that_looks_like_a_formula_is_kept_as_text(text: str) -> None:
    guarded = safe_cell(text)
    assert isinstance(guarded, str)
    assert guarded[0] == "'"
    session = Session(id="s", rug_id="rug", day=date(2026, 11, 9), rows=-2, hours=1.0, note=text)
    raw = sessions_table(small_book(sessions=(session,))).decode("utf-8-sig")
    (line,) = read(raw.encode("utf-8-sig"))
    assert line["note"].startswith("'")
    # The number beside it stays a number, unquoted and unguarded.
    assert ",-2,0,1.0," in raw


@pytest.mark.parametrize("text", ["1 = one", "a-b", 'Ördek, "mavi"\nиндиго', "3.5", "'tis"])
def test_any_other_text_comes_back_as_it_was(text: str) -> None:
    assert next(csv.reader(io.StringIO(table((text,), ()).decode("utf-8-sig"), newline=""))) == [text]


def test_the_files_are_rfc_4180_in_utf_8_with_a_byte_order_mark() -> None:
    files = csv_files(small_book(), small_answers())
    assert set(files) == {
        "sessions.csv",
        "yarn.csv",
        "yarn events.csv",
        "rows.csv",
        "cloth.csv",
        "trimming.csv",
        "mistakes.csv",
        "balls.csv",
        "costs.csv",
        "wages.csv",
    }
    for data in files.values():
        assert data[:3] == b"\xef\xbb\xbf"
        assert data.endswith(b"\r\n")
        assert b"\n" not in data.replace(b"\r\n", b"")
        widths = {len(line) for line in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))}
        assert len(widths) == 1


def test_what_is_no_number_leaves_its_cell_empty() -> None:
    assert safe_cell(float("nan")) == safe_cell(float("inf")) == safe_cell(None) == ""
    assert safe_cell(date(2027, 1, 31)) == "2027-01-31"
    assert safe_cell("bell\x07\x00") == "bell"


def test_who_sat_where_and_stood_ahead_has_columns_of_its_own() -> None:
    first, second, third = small_book().sessions
    told = replace(second, places=(("ann", 1, 4), ("bo", 5, 6)), ahead=(("bo", 1),))
    lines = read(sessions_table(small_book(sessions=(first, told, third))))
    assert lines[1]["places (knots from the left)"] == "Ann: 1-4; Bo: 5-6"
    assert lines[1]["rows ahead"] == "Bo: 1"
    assert (lines[0]["places (knots from the left)"], lines[0]["rows ahead"]) == ("", "")
