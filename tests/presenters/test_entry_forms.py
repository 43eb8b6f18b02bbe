"""The small forms: what they begin with, what they refuse, and the value each becomes."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from tests.presenters.rugs import book, session
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.rug import (
    DaysOff,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
    Sample,
    Spoilt,
    Weighing,
)
from tracker.presenters import entry_forms as forms
from tracker.presenters.entries.damp import MEASURED_DAMP, says_damp
from tracker.presenters.entries.form import FormKind
from tracker.words import mass


def lot(lot_id: str, mass_g: float = 500.0, **changes) -> Lot:
    return replace(
        Lot(
            id=lot_id,
            rug_id="rug",
            yarn_id="red",
            day=date(2026, 11, 1),
            mass_g=mass_g,
            dye_lot="M-1",
            dyer="Nuray",
        ),
        **changes,
    )


def test_a_lot_needs_its_mass_and_takes_the_dyer_of_last_time() -> None:
    rug = book(lots=(lot("l1"),))
    form = forms.blank(FormKind.LOT, rug, TODAY, "red")
    with pytest.raises(BadEntry, match="Weight"):
        forms.to_value(form, rug, TODAY)
    bought = forms.to_value(form.with_answer("mass_g", 750), rug, TODAY)
    assert (bought.mass_g, bought.yarn_id, bought.dyer, bought.day, bought.price) == (
        750.0,
        "red",
        "Nuray",
        TODAY,
        None,
    )


def test_another_dye_lot_is_cautioned_the_same_one_is_not() -> None:
    rug = book(lots=(lot("l1"),))
    form = forms.blank(FormKind.LOT, rug, TODAY, "red").with_answer("mass_g", 500)
    assert forms.build_entry_form_state(form.with_answer("dye_lot", "M-1"), rug, TODAY).caution == ""
    caution = forms.build_entry_form_state(form.with_answer("dye_lot", "M-2"), rug, TODAY).caution
    assert "M-1" in caution
    assert "M-2" in caution
    assert "daylight" in caution
    # Correcting the only lot's own mark mixes nothing.
    own = forms.form_of(rug.lots[0]).with_answer("dye_lot", "M-2")
    assert forms.build_entry_form_state(own, rug, TODAY).caution == ""


def test_a_weighing_of_more_than_was_bought_is_questioned_but_taken() -> None:
    rug = book(lots=(lot("l1", 500.0),))
    form = forms.blank(FormKind.WEIGHING, rug, TODAY, "red").with_answer("mass_g", 620)
    assert "500 g" in forms.build_entry_form_state(form, rug, TODAY).caution
    assert forms.to_value(form, rug, TODAY).mass_g == 620.0
    assert forms.build_entry_form_state(form.with_answer("mass_g", 480), rug, TODAY).caution == ""


@pytest.mark.parametrize(
    ("preset", "read", "step"),
    [
        (5.0, 315, 5.0),
        (5.0, 7, 1.0),
        (5.0, 312, 2.0),
        (5.0, 312.5, 0.5),
        (5.0, 0, 5.0),
        (2.0, 7, 1.0),
        (1.0, 0.3, 0.1),
    ],
)
def test_a_figure_between_the_preset_steps_of_the_scale_shows_finer_ones(
    preset: float, read: float, step: float
) -> None:
    before = Weighing(id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=100.0, resolution_g=preset)
    rug = book(lots=(lot("l1", 500.0),), weighings=(before,))
    blank = forms.blank(FormKind.WEIGHING, rug, TODAY, "red")
    form = forms.answered(blank, rug, "mass_g", read)
    state = forms.build_entry_form_state(form, rug, TODAY)
    asked = {line.question.key: line for line in state.lines}["resolution_g"]
    assert forms.to_value(form, rug, TODAY).resolution_g == asked.value == step
    told = f"{read:g} g is read in finer steps than {preset:g} g"
    assert asked.hint == ("the smallest step on its display" if step == preset else told)
    # A slip of the finger takes the step back with it; a step of one's own stays.
    assert forms.answered(form, rug, "mass_g", 100).answers["resolution_g"] == preset
    own = forms.answered(blank, rug, "resolution_g", 0.1)
    assert forms.answered(own, rug, "mass_g", 7).answers["resolution_g"] == 0.1


def test_a_step_that_the_figure_cannot_have_been_read_in_is_asked_about() -> None:
    rug = book(lots=(lot("l1", 500.0),))
    form = forms.answered(forms.blank(FormKind.WEIGHING, rug, TODAY, "red"), rug, "mass_g", 7)
    said = forms.answered(form, rug, "resolution_g", 5.0)
    caution = "7 g lies between two steps of 5 g. Does the scale show finer ones?"
    assert forms.build_entry_form_state(said, rug, TODAY).caution == caution
    assert forms.build_entry_form_state(form, rug, TODAY).caution == ""
    sample = forms.answered(forms.blank(FormKind.SAMPLE, rug, TODAY, "red"), rug, "mass_g", 21.25)
    assert forms.to_value(sample, rug, TODAY).resolution_g == 0.05


def test_an_entry_that_would_be_refused_has_a_dark_key_and_says_why() -> None:
    rug = book(lots=(lot("l1", 500.0),))
    blank = forms.blank(FormKind.SPOILT, rug, TODAY, "red")
    assert not forms.can_be_saved(blank, blank, rug, TODAY)
    noted = blank.with_answer("note", "fell into the dye")
    assert not forms.can_be_saved(noted, blank, rug, TODAY), "its mass is still missing"
    assert forms.refused(noted, rug, TODAY)
    whole = noted.with_answer("mass_g", 10)
    assert forms.can_be_saved(whole, blank, rug, TODAY)
    assert not forms.refused(whole, rug, TODAY)
    held = forms.form_of(forms.to_value(whole, rug, TODAY))
    assert not forms.can_be_saved(held, held, rug, TODAY), "nothing was changed"


def test_an_empty_scale_is_an_answer() -> None:
    rug = book(lots=(lot("l1"),))
    form = forms.blank(FormKind.WEIGHING, rug, TODAY, "red").with_answer("mass_g", 0)
    assert forms.to_value(form, rug, TODAY).mass_g == 0.0


@pytest.mark.parametrize("bad", [-1, 1_000_001, float("nan"), float("inf")])
def test_a_mass_that_cannot_be_is_refused(bad: float) -> None:
    rug = book()
    form = forms.blank(FormKind.LOT, rug, TODAY, "red").with_answer("mass_g", bad)
    with pytest.raises(BadEntry, match="Weight"):
        forms.to_value(form, rug, TODAY)


def test_a_day_to_come_is_refused() -> None:
    rug = book()
    form = forms.blank(FormKind.SPOILT, rug, TODAY, "red").with_answer("mass_g", 10)
    with pytest.raises(BadEntry, match="27 November"):
        forms.to_value(form.with_answer("day", "2026-11-27"), rug, TODAY)
    # Past midnight elsewhere in the world: the next day is let through.
    assert forms.to_value(form.with_answer("day", "2026-11-26"), rug, TODAY).day == date(2026, 11, 26)


def test_a_ball_used_up_joins_the_session_of_that_day() -> None:
    woven = session(24, 5, day=TODAY, used=(("red", 1.0), ("weft", 1.0)))
    rug = book(woven)
    value = forms.to_value(forms.blank(FormKind.BALL, rug, TODAY, "red"), rug, TODAY)
    assert value.id == woven.id
    assert value.rows == 5
    assert dict(value.used) == {"red": 2.0, "weft": 1.0}


def test_without_a_session_that_day_a_ball_is_an_entry_of_its_own() -> None:
    rug = book(session(1, 5))
    value = forms.to_value(forms.blank(FormKind.BALL, rug, TODAY, "blue"), rug, TODAY)
    assert value.id not in {one.id for one in rug.sessions}
    assert (value.rows, value.hours, value.used) == (0, None, (("blue", 1.0),))


def test_days_off_end_after_they_begin() -> None:
    rug = book()
    form = forms.blank(FormKind.DAYS_OFF, rug, TODAY)
    with pytest.raises(BadEntry, match="before"):
        forms.to_value(form.with_answer("last_day", "2026-11-01"), rug, TODAY)
    off = forms.to_value(form.with_answer("last_day", "2026-12-24"), rug, TODAY)
    assert (off.first_day, off.last_day) == (TODAY, date(2026, 12, 24))


EVERY = (
    lot("l1", price=41.5),
    Weighing(id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=312.5, resolution_g=2.0, note="damp"),
    Spoilt(id="x", rug_id="rug", yarn_id="blue", day=TODAY, mass_g=20.0, note="mouse"),
    Sample(id="p", rug_id="rug", yarn_id="red", day=TODAY, knots=400, mass_g=21.25, resolution_g=0.5),
    Measurement(id="m", rug_id="rug", day=TODAY, row=40, length_cm=16.5, resolution_cm=0.5),
    Preparation(
        id="b", rug_id="rug", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=3, hours=1.25
    ),
    Preparation(id="a", rug_id="rug", day=TODAY, kind=PreparationKind.WARP, hours=9.0),
    DaysOff(id="d", rug_id=None, first_day=TODAY, last_day=TODAY, reason="market"),
    Photo(id="f", rug_id="rug", day=TODAY, file_name="f.jpg", caption="corner", linked_id="s1"),
)


@pytest.mark.parametrize("value", EVERY, ids=lambda value: type(value).__name__)
def test_correcting_nothing_changes_nothing_even_after_a_phone_call(value) -> None:
    rug = book()
    kept = json.loads(json.dumps(forms.to_kept(forms.form_of(value))))
    assert forms.to_value(forms.from_kept(kept), rug, TODAY) == value


@pytest.mark.parametrize(
    "kept",
    [None, {}, [], "x", {"kind": "lot"}, {**forms.to_kept(forms.form_of(EVERY[0])), "kind": "goat"},
     {**forms.to_kept(forms.form_of(EVERY[0])), "answers": {"day": "soon"}},
     {**forms.to_kept(forms.form_of(EVERY[0])), "answers": {"day": "2026-11-25", "mass_g": "much"}}],
)  # fmt: skip
def test_a_draft_that_cannot_be_read_is_left_alone(kept) -> None:
    assert forms.from_kept(kept) is None


def test_every_form_has_a_title_and_asks_something() -> None:
    rug = book()
    for kind in FormKind:
        yarn = "weft" if kind is FormKind.BALL else "red"
        form = forms.blank(kind, rug, TODAY, yarn)
        words = forms.build_entry_form_state(form, rug, TODAY)
        assert words.title
        assert words.lines
        assert all(line.question.label for line in words.lines)
    assert (
        "Shuttles"
        in forms.build_entry_form_state(forms.blank(FormKind.BALL, rug, TODAY, "weft"), rug, TODAY)
        .lines[0]
        .question.label
    )


@pytest.mark.parametrize(
    ("air", "conditioned"),
    [
        # Carded wool: 17 % of water on 1,000 g dry are 1,170 g as it is traded. By hand: 1000 / (1 + regain) * 1.17.
        (None, 1000.0),
        ("oven", 1170.0),
        ("dry", 1000.0 / 1.1105 * 1.17),
        ("damp", 1000.0 / 1.2295 * 1.17),
    ],
)
def test_a_skein_weighed_damp_or_dry_counts_at_the_official_regain(air, conditioned) -> None:
    rug = book(lots=(lot("l1"),))
    for kind in (FormKind.LOT, FormKind.WEIGHING):
        form = forms.blank(kind, rug, TODAY, "red").with_answer("mass_g", 1000).with_answer("air", air)
        value = forms.to_value(form, rug, TODAY)
        assert value.mass_g == pytest.approx(conditioned, abs=1e-3)
        assert value.weighed_g == (None if air is None else 1000.0)
        lines = forms.build_entry_form_state(form, rug, TODAY).lines
        (line,) = (line for line in lines if line.question.key == "air")
        assert (mass(value.mass_g) in line.hint) == (air is not None)
        # Opened again it shows what the scale said, and writes the same.
        again = forms.form_of(value)
        assert again.answers["mass_g"] == 1000.0
        assert forms.to_value(again, rug, TODAY).mass_g == pytest.approx(value.mass_g, abs=2e-3)
        assert "weighed_g" not in again.answers


def test_who_knows_how_much_water_is_in_the_yarn_says_it() -> None:
    rug = book()
    form = forms.blank(FormKind.LOT, rug, TODAY, "red").with_answer("mass_g", 1200)
    assert "damp_percent" not in [q.key for q in forms.questions(form, rug)]
    form = form.with_answer("air", MEASURED_DAMP)
    with pytest.raises(BadEntry, match="Water"):
        forms.to_value(form, rug, TODAY)
    bought = forms.to_value(form.with_answer("damp_percent", 20.0), rug, TODAY)
    # 1,000 g dry in it, and 17 % on them.
    assert (bought.mass_g, bought.weighed_g, bought.regain) == (1170.0, 1200.0, 0.2)


def test_water_is_told_up_to_as_much_as_there_is_yarn() -> None:
    def told(percent: float | None) -> bool:
        return says_damp({"air": MEASURED_DAMP, "damp_percent": percent})

    assert told(0.0)
    assert told(100.0)
    assert not told(100.5)
    assert not told(-0.5)
    assert not told(None)
    assert says_damp({"air": "damp", "damp_percent": None})


def test_a_correction_answers_what_is_asked_and_keeps_whose_it_is_apart() -> None:
    weighed = Weighing(
        id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=312.5, resolution_g=2.0, note="damp"
    )
    form = forms.form_of(weighed)
    assert (form.record_id, form.rug_id, form.yarn_id, form.correcting) == ("w", "rug", "red", True)
    assert not {"id", "rug_id", "yarn_id", "born"} & form.answers.keys()


def test_a_weighing_in_damp_air_is_questioned_by_what_it_counts_as() -> None:
    rug = book(lots=(lot("l1", 1000.0),))
    form = forms.blank(FormKind.WEIGHING, rug, TODAY, "red").with_answer("mass_g", 1030)
    assert forms.build_entry_form_state(form, rug, TODAY).caution
    damp = form.with_answer("air", "damp")
    assert forms.build_entry_form_state(damp, rug, TODAY).caution == ""


def test_a_kept_form_with_an_air_that_there_is_not_is_none() -> None:
    rug = book()
    form = forms.blank(FormKind.LOT, rug, TODAY, "red").with_answer("air", "damp")
    assert forms.from_kept(forms.to_kept(form)) == form
    assert forms.from_kept(forms.to_kept(form.with_answer("air", "thin"))) is None
    odd = form.with_answer("air", MEASURED_DAMP).with_answer("damp_percent", -100)
    forms.build_entry_form_state(odd.with_answer("mass_g", 5), rug, TODAY)
