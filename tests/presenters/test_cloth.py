"""The measure of the cloth: entries that can be, what they say of the end, and what mends it."""

import itertools
import math
import re
from dataclasses import replace
from datetime import date

import pytest

from tests.drafts_in_memory import drafts
from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.material import cloth_width_cm
from tracker.domain.rug import Hold, Measurement, RugBook
from tracker.forecast.outlook import outlook
from tracker.presenters import cloth
from tracker.presenters.home import build_home_state
from tracker.reports.text_form import as_text


def measured(*pairs: tuple[int, float]) -> tuple[Measurement, ...]:
    return tuple(
        Measurement(id=f"m{n}", rug_id="rug", day=date(2026, 11, 3 + n), row=row, length_cm=length_cm, born=n)
        for n, (row, length_cm) in enumerate(pairs)
    )


def woven(*pairs, rows: int = 100, **changes):
    """The rug of 200 rows at 25 in 10 cm (80 cm), `rows` of it woven."""
    return book(session(1, rows), measurements=measured(*pairs), **changes)


def said(rug, unit: str = "cm"):
    return cloth.build_cloth_state(cloth.blank_form(rug), rug, outlook(rug, TODAY), unit)


def test_the_form_starts_at_the_row_on_the_loom_and_names_what_the_plan_has() -> None:
    state = said(woven())
    assert state.row == "100"
    # 100 knots at 25 in 10 cm are 40 cm; a knot sits on two warps, so 8 of the selvedges stand on 1.6 cm.
    assert state.expected == "The plan has 40 cm at row 100, and 41.6 cm across with selvedges."
    assert state.figure == ""
    assert state.chart.hint


def test_a_length_becomes_a_measurement() -> None:
    rug = woven()
    value = cloth.to_measurement(cloth.MeasureForm(100, 41.0), rug, TODAY)
    assert (value.row, value.length_cm, value.day) == (100, 41.0, TODAY)


@pytest.mark.parametrize(
    "form",
    [
        cloth.MeasureForm(100, None),
        cloth.MeasureForm(100, 0.0),
        cloth.MeasureForm(100, float("nan")),
        cloth.MeasureForm(0, 10.0),
        cloth.MeasureForm(101, 41.0),
        cloth.MeasureForm(100, 410.0),  # millimetres taken for centimetres
        cloth.MeasureForm(100, 4.0),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(form) -> None:
    with pytest.raises(BadEntry) as trouble:
        cloth.to_measurement(form, woven(), TODAY)
    assert trouble.value.sentence.endswith(".")


def test_inches_are_turned_into_centimetres_and_back() -> None:
    assert cloth.in_cm(10, "inch") == pytest.approx(25.4)
    assert cloth.in_unit(25.4, "inch") == pytest.approx(10)
    assert cloth.in_cm(10, "cm") == 10
    state = said(woven((100, 40.64)), "inch")
    assert "Row 100: 16 in" in state.lines[0].words


def test_a_loose_beat_is_said_with_what_mends_it() -> None:
    # 42 cm at row 100 is 23.8 rows in 10 cm, 84 cm at the end; 38 cm are left for 100 rows: 26.3 in 10 cm
    state = said(woven((50, 21.0), (100, 42.0)))
    assert state.headline == "On the loom it will end at about"
    assert float(state.figure.split()[0]) == pytest.approx(84, abs=0.7)
    assert "planned: 80 cm" in state.span
    assert "too long" in state.warning
    assert "26.3 rows in 10 cm" in state.warning


def test_a_book_in_inches_is_told_its_beat_in_inches_alone() -> None:
    blank, loose, near = (
        said(woven(*pairs), "inch") for pairs in ((), ((50, 21.0), (100, 42.0)), ((50, 20.0), (100, 40.2)))
    )
    # 25 rows in 10 cm are 6.35 to the inch, 26.3 are 6.68; some 4 cm too long are 1.5 in
    assert blank.beat == "No length measured yet. Planned: 6.4 rows to the inch."
    assert loose.reckoned[1][0] == "Rows to the inch, planned 6.4"
    assert loose.warning == (
        "At this beat the rug ends 1.5 in too long on the loom. "
        "Beat harder: 6.7 rows to the inch from here on."
    )
    assert near.mend == "To end at the planned length, beat the rest to 6.4 rows to the inch."
    for state in (blank, loose, near):
        words = repr(state)
        assert " cm" not in words
        assert " mm" not in words


def test_a_beat_near_the_plan_is_no_warning_but_says_what_ends_it_right() -> None:
    # 40.2 cm at row 100; 39.8 cm for 100 rows: 25.1 in 10 cm
    state = said(woven((50, 20.0), (100, 40.2)))
    assert state.warning == ""
    assert state.mend == "To end at the planned length, beat the rest to 25.1 rows in 10 cm."


def test_the_chart_shows_how_far_each_length_is_off() -> None:
    state = said(woven((50, 19.0), (100, 40.5)))
    assert [(p.x, round(p.y, 6)) for p in state.chart.points] == [(50, -1.0), (100, 0.5)]
    assert state.chart.points[0].words == "Row 50: 19 cm, 1 cm shorter than planned"
    assert state.chart.points[1].words == "Row 100: 40.5 cm, 0.5 cm longer than planned"
    assert said(woven((100, 40.0))).chart.points[0].words == "Row 100: 40 cm, just as planned"
    # 15.98 in of 15.75 in: who takes the one that is said from the other gets what is said to be off.
    in_inches = said(woven((100, 40.6)), "inch")
    assert in_inches.expected == "The plan has 15.7 in at row 100, and 16.4 in across with selvedges."
    assert in_inches.chart.points[0].words == "Row 100: 16 in, 0.3 in longer than planned"


def test_measurements_stand_newest_first() -> None:
    assert [line.words for line in said(woven((50, 20.0), (100, 40.0))).lines] == [
        "Row 100: 40 cm",
        "Row 50: 20 cm",
    ]


def test_holding_the_length_is_a_change_of_the_plan_and_says_the_rows() -> None:
    assert cloth.with_hold(plan(), Hold.LENGTH).hold is Hold.LENGTH
    state = said(woven((50, 22.0), (100, 44.0)))
    assert state.hold is Hold.ROWS
    # 36 cm more at 22.7 rows in 10 cm: about 82 rows on top of 100
    rows = int(state.hold_length.split("about ")[1].split()[0])
    assert rows == pytest.approx(182, abs=2)


def test_a_half_filled_form_is_its_rugs_own() -> None:
    form, other = cloth.MeasureForm(90, 37.5), cloth.MeasureForm(12, 5.0)
    kept = drafts()
    cloth.keep_form(kept, "rug", form)
    cloth.keep_form(kept, "other", other)
    assert (cloth.form_kept(kept, "rug"), cloth.form_kept(kept, "other")) == (form, other)
    cloth.keep_form(kept, "other", None)
    assert (cloth.form_kept(kept, "rug"), cloth.form_kept(kept, "other")) == (form, None)
    assert cloth.from_kept({"length_cm": 3}) is None


# --- the shape: 60 knots at 20 in 10 cm and their selvedges


def shaped(row: int = 100, rows: int = 100, **readings: float):
    """The rug of 80 cm, measured at `row` with these readings."""
    item = Measurement(
        id="m",
        rug_id="rug",
        day=TODAY,
        row=row,
        born=1,
        **{"length_cm": 0.0, "resolution_cm": 0.1, **readings},
    )
    return book(session(1, rows), measurements=(item,))


WIDE = cloth_width_cm(plan())


def square(lean: float = 0.0, ahead: float = 0.0, high: float = 40.0) -> dict[str, float]:
    """Sides and diagonals of a cloth `high` cm long that leans, or whose right side is ahead."""
    left, right = high - ahead / 2, high + ahead / 2
    return {
        "left_cm": math.hypot(lean, left),
        "right_cm": math.hypot(lean, right),
        "rising_cm": math.hypot(WIDE + lean, right),
        "falling_cm": math.hypot(WIDE - lean, left),
    }


def test_without_a_shape_there_is_no_picture() -> None:
    state = said(woven((100, 40.0))).shape
    assert (state.drawing, state.chart, state.headline) == (None, None, "")


def test_a_square_cloth_is_in_shape_and_warns_of_nothing() -> None:
    state = said(shaped(width_cm=WIDE, **square())).shape
    assert state.headline == "In shape at row 100"
    assert not state.warnings
    assert len(state.facts) == 3
    assert state.drawing.factor == 1
    assert "times as large" not in state.drawn


def test_the_first_view_leads_to_a_cloth_that_is_off_while_it_can_be_corrected() -> None:
    """The page of the cloth warned in red, and who does not open it each evening wove on."""

    def asked(rug: RugBook) -> list[str]:
        return [ask.words for ask in build_home_state(rug, outlook(rug, TODAY)).asks if ask.page == "cloth"]

    off = shaped(width_cm=WIDE, **square(ahead=3.0))
    assert asked(off) == ["Out of shape at row 100"]
    assert asked(shaped(width_cm=WIDE, **square())) == []
    assert asked(replace(off, sessions=(session(1, off.plan.rows),))) == [], "no row is left to correct it in"


def test_a_side_within_what_a_tape_errs_by_is_no_warning() -> None:
    # Read to 0.1 cm by a hand that errs by 0.1 cm at each side: a difference of 0.2 cm says nothing.
    state = said(shaped(**square(ahead=0.2))).shape
    assert not state.warnings
    assert state.facts[0].startswith(
        "At row 100 the right side read 0.2 cm longer. A tape may err by as much (±\u00a0"
    )
    level = said(shaped(**square())).shape
    assert level.facts[0].startswith("Both sides are level, as far as a tape tells (±\u00a0")


def test_nothing_is_advised_on_that_is_told_with_an_error_as_large() -> None:
    """Advice stood in red beside a lean of 0.2 cm ± 0.5: an earlier reading had leaned more."""
    told, silent = 0, 0
    for first, last in itertools.product((0.6, 1.5), (0.0, 0.2, 0.4, 1.0)):
        before = shaped(row=50, **square(lean=first, ahead=first, high=20.0)).measurements[0]
        assert len(said(replace(shaped(), measurements=(before,))).shape.warnings) == 2
        rug = shaped(resolution_cm=0.5, **square(lean=last, ahead=last))
        state = said(replace(rug, measurements=(replace(before, id="n", born=0), *rug.measurements))).shape
        for words in state.warnings:
            off, about = map(
                float, re.findall(r"([\d.]+) cm (?:ahead|too far)[^±]*±\u00a0([\d.]+) cm", words)[0]
            )
            assert off > about, words
            told += 1
        if not state.warnings:
            assert state.headline == "In shape at row 100"
            assert state.drawing.factor == 1
            silent += 1
    assert told
    assert silent


def test_a_woven_length_that_is_not_the_tapes_is_explained() -> None:
    differ = 0
    for tenths in range(395, 406):
        state = said(woven((96, 38.4), (100, tenths / 10)))
        lines = dict(state.reckoned)
        if lines["Measured at row 100"] != lines["Woven up to row 100, by tape and plan"]:
            assert "your measurements are combined with the plan" in state.beat, tenths
            differ += 1
    assert differ


def test_nine_millimetres_on_seventeen_centimetres_are_not_called_level() -> None:
    # 90 rows, 42 of them woven; read to the millimetre, as so short a side is.
    small = plan(
        rows=90, length_cm=36.5, width_cm=24.0, knots_across=60, knots_per_10cm=25.0, rows_per_10cm=24.7
    )

    def rug(left: float, right: float):
        read = replace(shaped(row=42, rows=42, left_cm=left, right_cm=right), plan=small)
        return said(read).shape

    nine = rug(17.3, 16.4)
    assert nine.warnings[0].startswith(
        "The left side is 0.9 cm ahead of the right (measured at row 42, ±\u00a00.3 cm)."
    )
    # Going on like this: 1.5 cm in 42 rows are 3.2 in 90.
    assert rug(17.5, 16.0).warnings[0].endswith("Going on like this, it is about 3.2 cm at the last row.")
    assert not rug(17.3, 17.1).warnings


def test_the_side_ahead_is_named_with_what_evens_it_out_and_the_rows_left() -> None:
    right = said(shaped(**square(ahead=2.0))).shape
    assert right.headline == "Out of shape at row 100"
    assert right.warnings[0].startswith("The right side is 2 cm ahead of the left (measured at row 100, ")
    assert "at the last row" in right.warnings[0]
    assert right.advice[0].startswith("The right is ahead: beat harder there")
    assert right.rows_left == "100 rows are left to correct it in."
    left = said(shaped(**square(ahead=-2.0))).shape
    assert left.warnings[0].startswith("The left side is 2 cm ahead")
    assert left.advice[0].startswith("The left is ahead: beat harder there")
    # 2 cm over 100 rows: 2 mm in ten of them.
    each = float(right.advice[0].split("Correct ")[1].split(" mm")[0])
    assert each == pytest.approx(2.0)


def test_the_rug_leans_to_the_side_its_longer_diagonal_points_to() -> None:
    to_the_right = said(shaped(**square(lean=3.0))).shape
    assert to_the_right.warnings[0].startswith(
        "The rug leans to the right: its upper edge is 3 cm too far right"
    )
    assert "lace its left selvedge" in to_the_right.advice[0]
    to_the_left = said(shaped(**square(lean=-3.0))).shape
    assert to_the_left.warnings[0].startswith("The rug leans to the left")
    # The upper corners are drawn to the same side, exaggerated as is said.
    state = said(shaped(**square(lean=1.5))).shape
    drawing = state.drawing
    assert drawing.factor == 2
    upper = [x for x, y in drawing.outline if y > 30]
    assert sum(upper) / 2 - drawing.planned[0] / 2 == pytest.approx(3.0, rel=0.02)
    assert "drawn 2 times as large" in state.drawn


def test_a_cloth_that_draws_in_is_warned_about_when_it_leaves_the_tolerance() -> None:
    # Allowed are 3 cm. 1.5 cm narrower is told, 4 cm are warned about.
    mild = said(shaped(rows=190, row=190, width_cm=WIDE - 1.5)).shape
    assert not mild.warnings
    assert mild.facts[0].startswith("The cloth draws in:")
    much = said(shaped(width_cm=WIDE - 4.0)).shape
    assert much.warnings[0].startswith("The cloth draws in:")
    assert "allowed ±\u00a03 cm" in much.warnings[0].replace("± 3", "±\u00a03")
    assert "wefts looser" in much.advice[0]
    wider = said(shaped(width_cm=WIDE + 4.0)).shape
    assert wider.warnings[0].startswith("The cloth grows wider:")
    assert "wefts a little tighter" in wider.advice[0]


def test_the_width_foreseen_past_the_tolerance_is_warned_about_early() -> None:
    # 2 cm narrower at half the rug: within 3 cm, but about 4 at its end.
    state = said(shaped(width_cm=WIDE - 2.0)).shape
    assert state.warnings
    assert " at the last row" in state.warnings[0]


def test_with_the_last_row_woven_it_is_a_fact_and_no_warning() -> None:
    state = said(shaped(row=200, rows=200, **square(ahead=3.0, high=80.0))).shape
    assert not state.warnings
    assert not state.advice
    assert state.rows_left == ""
    assert any("ahead" in words for words in state.facts)


def test_the_width_chart_shows_the_plan_and_what_is_allowed() -> None:
    chart = said(shaped(width_cm=WIDE - 1.0)).shape.chart
    assert chart.points[0].y == WIDE - 1.0
    assert chart.band == pytest.approx((WIDE - 3, WIDE + 3))
    assert chart.guide[0] == WIDE
    inches = said(shaped(width_cm=WIDE - 1.0), "inch").shape.chart
    assert inches.band[1] - inches.band[0] == pytest.approx(6 / 2.54)


def test_sides_alone_give_the_length_too() -> None:
    rug = woven()
    form = cloth.MeasureForm(100, left_cm=40.0, right_cm=41.0)
    assert cloth.to_measurement(form, rug, TODAY).length_cm == 40.5
    assert cloth.to_measurement(replace(form, length_cm=40.2), rug, TODAY).length_cm == 40.2
    wide = cloth.to_measurement(cloth.MeasureForm(100, width_cm=WIDE), rug, TODAY)
    assert (wide.length_cm, wide.width_cm) == (0.0, WIDE)


@pytest.mark.parametrize(
    ("readings", "word"),
    [
        ({}, "at least one"),
        ({"left_cm": 40.0}, "both sides"),
        ({"left_cm": 40.0, "right_cm": 40.0, "rising_cm": 50.0}, "both diagonals"),
        ({"rising_cm": 50.0, "falling_cm": 50.0}, "both sides too"),
        ({"width_cm": WIDE * 10}, "Width"),
        ({"left_cm": 400.0, "right_cm": 40.0}, "Left side"),
        ({**square(), "falling_cm": 62.0}, "both diagonals again"),
        ({"width_cm": float("inf")}, "more than 0"),
    ],
)
def test_readings_that_cannot_be_are_refused_by_name(readings, word) -> None:
    with pytest.raises(BadEntry) as trouble:
        cloth.to_measurement(cloth.MeasureForm(100, **readings), woven(), TODAY)
    assert word in trouble.value.sentence


def test_a_slip_of_the_finger_is_refused_in_the_weaver_s_own_unit() -> None:
    with pytest.raises(BadEntry) as trouble:
        cloth.to_measurement(cloth.MeasureForm(100, length_cm=400.0), woven(), TODAY, "inch")
    # 400 cm are 157.5 inches, the 40 cm of 100 rows 15.7.
    assert trouble.value.sentence == (
        "Length: 157.5 in is not possible. The plan has 15.7 in at row 100. Check the tape and the row."
    )


def test_a_side_without_the_other_one_which_no_form_of_ours_lets_in_is_not_drawn() -> None:
    low = shaped(row=50, width_cm=WIDE).measurements[0]
    rug = shaped()
    alone = replace(low, id="n", row=100, width_cm=None, left_cm=40.0, born=2)
    drawn = said(replace(rug, measurements=(low,))).shape.drawing
    assert drawn is not None
    assert said(replace(rug, measurements=(low, alone))).shape.drawing == drawn
    both = replace(alone, right_cm=40.0)
    assert said(replace(rug, measurements=(low, both))).shape.drawing != drawn


def test_a_width_alone_says_nothing_of_the_length() -> None:
    state = said(shaped(width_cm=WIDE))
    assert state.headline == ""
    assert state.chart.hint
    assert state.lines[0].words == f"Row 100: {WIDE:g} cm wide"


def answered(rug, measured, unit: str = "cm"):
    return cloth.answer_to(measured, rug, outlook(rug, TODAY), unit)


def test_the_answer_to_a_measurement_is_the_worst_it_shows() -> None:
    rug = shaped(width_cm=WIDE - 4.0)
    told = answered(rug, rug.measurements[0])
    assert told == cloth.ToldNow(f"{WIDE - 4:g} cm wide, planned {WIDE:g} cm.", warns=True)
    # A length saved beside it is answered by what it says of the beat: 100 rows on 40 cm.
    length = replace(rug.measurements[0], id="n", length_cm=40.0, width_cm=None)
    told = answered(replace(rug, measurements=(*rug.measurements, length)), length)
    assert told == cloth.ToldNow("25 rows in 10 cm, planned 25.", warns=False)
    # 25 in 10 cm are 6.35 to the inch of 2.54 cm, said to the tenth.
    told = answered(replace(rug, measurements=(*rug.measurements, length)), length, "inch")
    assert told == cloth.ToldNow("6.4 rows to the inch, planned 6.4.", warns=False)
    loose = replace(length, length_cm=44.0)
    told = answered(replace(rug, measurements=(loose,)), loose)
    assert told.warns
    assert told.sentence.startswith("Ends ")
    assert told.sentence.endswith(" cm too long at this beat.")
    tight = replace(length, length_cm=36.0)
    told = answered(replace(rug, measurements=(tight,)), tight)
    assert told.sentence.endswith(" cm too short at this beat.")
    calm = shaped(width_cm=WIDE)
    told = answered(calm, calm.measurements[0])
    assert told == cloth.ToldNow(f"{WIDE:g} cm wide, planned {WIDE:g} cm.", warns=False)
    inches = answered(calm, calm.measurements[0], "inch")
    assert " cm" not in inches.sentence


def test_the_answer_tells_of_what_was_just_measured_and_not_of_a_later_row() -> None:
    high = shaped(width_cm=WIDE - 4.0).measurements[0]
    low = replace(high, id="n", row=50, width_cm=WIDE)
    rug = replace(shaped(), measurements=(high, low))
    assert answered(rug, low) == cloth.ToldNow("", warns=False)
    assert answered(rug, high).warns


def test_the_text_of_the_answers_warns_of_the_shape_too() -> None:
    rug = shaped(**square(ahead=2.0))
    text = as_text(rug, outlook(rug, TODAY))
    assert "The right side is 2 cm ahead" in text
    assert "The right is ahead: beat harder there" in text
    assert "100 rows are left to correct it in." in text


def test_what_is_evened_out_is_said_in_inches_to_who_measures_in_inches() -> None:
    rug = shaped(**square(ahead=3.0))
    state = said(rug, "inch").shape
    off_cm = 3.0
    each = float(state.advice[0].split("Correct ")[1].split(" inches in every 10 rows")[0])
    rows_left = int(state.rows_left.split()[0])
    assert each == pytest.approx(off_cm / 2.54 * 10 / rows_left, abs=0.02)
    assert " cm" not in repr(state)
    assert " mm" not in repr(state)


def test_a_tape_is_read_as_finely_as_its_figures_show() -> None:
    read = {
        (length_cm, unit): cloth.to_measurement(
            cloth.MeasureForm(100, length_cm), woven(), TODAY, unit
        ).resolution_cm
        for length_cm, unit in ((40.5, "cm"), (40.3, "cm"), (40.64, "inch"), (40.894, "inch"))
    }
    # 16 inches are whole quarters, 16.1 are not.
    assert list(read.values()) == [0.5, 0.1, pytest.approx(0.635), pytest.approx(0.254)]
