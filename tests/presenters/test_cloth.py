"""The measure of the cloth: entries that can be, what they say of the end, and what mends it."""

from datetime import date

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Hold, Measurement
from tracker.forecast.outlook import outlook
from tracker.presenters import cloth


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
    assert state.expected == "The plan has 40 cm at row 100."
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
    rug = woven()
    form = cloth.MeasureForm(90, 37.5)
    kept = cloth.to_kept(form, rug)
    assert cloth.from_kept(kept, rug) == form
    assert cloth.from_kept(kept, book(plan=plan(id="other"))) is None
    assert cloth.from_kept({"rug": "rug"}, rug) is None
