"""A book in inches says every length and every density in inches, wherever they are told."""

from __future__ import annotations

import re
from dataclasses import replace

from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.loom import Loom, LoomKind
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import Hold, Measurement
from tracker.domain.units import DensityUnit, from_per_10cm
from tracker.forecast.outlook import outlook
from tracker.presenters import entry_forms
from tracker.presenters.cloth import MeasureForm, build_cloth_state
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import headline, names_of
from tracker.presenters.guide import GuideStage, build_guide_state
from tracker.presenters.looms import build_looms_state
from tracker.presenters.material import build_material_state
from tracker.presenters.plan.checks import size_troubles
from tracker.presenters.plan.form import blank_form
from tracker.presenters.plan.size import common_densities, set_density
from tracker.presenters.record.facts import facts_of
from tracker.presenters.record.yarn_use import yarn_sum
from tracker.reports.text_form import as_text, plan_text

IN_CM = re.compile(r"\bcm\b|\bcentim")

LOOM = Loom(
    id="loom", name="By the window", kind=LoomKind.UPRIGHT, width_cm=30.0, longest_warp_cm=60.0, waste_cm=50.0
)
MEASURED = Measurement(id="m", rug_id="rug", day=TODAY, row=100, length_cm=44.0, width_cm=38.0, left_cm=43.0,
                       right_cm=45.0, rising_cm=60.0, falling_cm=58.0, born=9)  # fmt: skip


def rug():
    """Woven too loosely, out of shape, wider than its loom and finished smaller than ordered."""
    plan = rugs.plan(
        loom_id="loom", loom_width_cm=30.0, beam_roll_cm=20.0, finished_width_cm=35.0, finished_length_cm=70.0,
        unwashed_width_cm=40.0, unwashed_length_cm=80.0, hold=Hold.ROWS,
    )  # fmt: skip
    return rugs.book(rugs.session(1, 100), plan=plan, loom=LOOM, measurements=(MEASURED,))


def test_the_text_form_says_no_centimetre_to_who_measures_in_inches() -> None:
    book = rug()
    answers = outlook(book, TODAY)
    told = as_text(book, answers, unit="inch")
    assert " in" in told
    assert not IN_CM.search(told), told
    assert IN_CM.search(as_text(book, answers))
    planned = plan_text(book, material_plan(book), answers, unit="inch")
    assert "for hands" in planned
    assert not IN_CM.search(re.sub(r"turns? (in|per) cm|per cm", "", planned)), planned


def test_an_entry_is_told_in_inches() -> None:
    book = rug()
    names = names_of((book,), "inch")
    plan = dict(details(book.plan, names))
    # 25 in 10 cm are 25 x 0.254 to the inch.
    assert (plan["Knots to the inch"], plan["Rows to the inch"]) == ("6.35", "6.35")
    assert not {"Knots in 10 cm", "Rows in 10 cm"} & plan.keys()
    plan.pop("One raj")  # the trade's own measure, which is told in cm everywhere
    for value in (MEASURED, LOOM):
        said = [headline(value, names), *(answer for _label, answer in details(value, names))]
        assert not IN_CM.search(" ".join(said)), said
    assert not IN_CM.search(" ".join(plan.values())), plan
    assert dict(details(book.plan, names_of((book,))))["Knots in 10 cm"] == "25"


def test_a_looms_form_and_a_measurements_form_ask_in_inches() -> None:
    book = rug()
    loom = entry_forms.build_entry_form_state(entry_forms.form_of(LOOM), book, TODAY, "inch")
    answers = {line.question.key: line.answer for line in loom.lines}
    # 30 / 2.54 and 60 / 2.54.
    assert (answers["width_cm"], answers["longest_warp_cm"]) == ("11.8 in", "23.6 in")
    blank_loom = entry_forms.build_entry_form_state(
        entry_forms.blank(FormKind.LOOM, book, TODAY, None), book, TODAY, "inch"
    )
    hints = [line.hint for line in blank_loom.lines]
    assert any(hint.startswith("usual: ") and hint.endswith(" in") for hint in hints)
    measured = entry_forms.build_entry_form_state(entry_forms.form_of(MEASURED), book, TODAY, "inch")
    assert not IN_CM.search(" ".join(line.answer for line in (*loom.lines, *measured.lines)))


def test_what_does_not_fit_a_loom_is_told_in_inches() -> None:
    book = rug()
    cards = build_looms_state([LOOM], [(book, outlook(book, TODAY))], [], TODAY, "inch").cards
    told = " ".join(line.trouble for card in cards for line in card.rugs)
    assert "for hands" in told
    assert not IN_CM.search(told), told


def test_the_plan_refuses_a_density_in_the_unit_it_was_said_in() -> None:
    form = replace(blank_form(TODAY), density_unit="per inch", knots_per_10cm=400.0)
    assert size_troubles(form)["across"].startswith(
        "102 per inch cannot be right: hand-knotted rugs have between 0.508"
    )


def test_common_densities_to_the_inch_are_whole_numbers_and_other_units_offer_none() -> None:
    for words, per_10cm in common_densities(DensityUnit.PER_INCH):
        count = from_per_10cm(per_10cm, DensityUnit.PER_INCH)
        assert words == f"{round(count)} × {round(count)}"
        assert abs(count - round(count)) < 1e-9
        form = set_density(
            replace(blank_form(TODAY), density_unit="per inch"),
            knots_per_10cm=per_10cm,
            rows_per_10cm=per_10cm,
        )
        assert size_troubles(form) == {}
    assert len(common_densities(DensityUnit.PER_INCH)) == len(common_densities(DensityUnit.PER_10CM)) > 2
    assert common_densities(DensityUnit.BIS) == ()


def _warp_words(book, unit: str) -> str:
    cards = build_guide_state(book, material_plan(book), (), unit)
    card = next(card for card in cards if card.stage is GuideStage.WARP)
    return " ".join(
        (*(step.words for step in card.steps), *(f"{what} at {where}" for what, where in card.lines))
    )


def test_the_warp_is_set_up_by_round_inches_and_its_halves_make_the_width() -> None:
    book = rugs.book(plan=rugs.plan(knots_across=40, rows=60, knots_per_10cm=40.0, selvedge_warps=8))
    told = _warp_words(book, "inch")
    # 40 knots in 10 cm are 80 warps in 10 cm, 81.28 in 4 in (10.16 cm).
    assert "81 warps to 4 in." in told
    assert "round every 81 warps" in told
    assert "80 warps to 10 cm." in _warp_words(book, "cm")
    # 40 knots and 8 warps of selvedge stand on 11 cm, 4.33 in.
    for unit, whole in (("inch", "4.3 in"), ("cm", "11 cm")):
        told = _warp_words(book, unit)
        half = re.search(r"half the width, ([\d.]+) ", told)
        assert half is not None
        assert f"measure the width again, selvedges included: {whole}." in told
        assert 2 * float(half[1]) == float(whole.split()[0])


def test_rows_to_come_at_their_density_make_the_length_that_is_told() -> None:
    for row, length_cm in ((20, 5.08), (100, 44.0), (150, 57.3)):
        measured = replace(MEASURED, row=row, length_cm=length_cm)
        book = rugs.book(rugs.session(1, row), measurements=(measured,))
        form = MeasureForm(row=row)
        beat = "; ".join(map(": ".join, build_cloth_state(form, book, outlook(book, TODAY), "inch").reckoned))
        said = re.search(
            r"row \d+, by tape and plan: ([\d.]+) in; (\d+) rows to come, ([\d.]+) to the inch: ([\d.]+) in; Together: ([\d.]+)",
            beat,
        )
        assert said is not None, beat
        woven, rows, to_the_inch, more, whole = map(float, said.groups())
        assert abs(rows / to_the_inch - more) <= 0.005 * rows / to_the_inch**2 + 0.011, beat
        assert abs(woven + more - whole) < 1e-9, beat


def test_material_and_record_tell_areas_in_feet_and_inches() -> None:
    book = rug()
    plan, answers = material_plan(book), outlook(book, TODAY)
    for unit, area, foot in (("inch", "each square foot", 0.09290304), ("cm", "each m²", 1.0)):
        fact = next(
            fact
            for group in build_material_state(book, plan, answers, unit).groups
            for fact in group.facts
            if area in fact.figure
        )
        said = re.search(r", ([\d.]+) (g|kg) on " + area, fact.figure)
        assert said is not None
        grams = float(said[1]) * (1000 if said[2] == "kg" else 1)
        # Kilograms are told to the nearest 10 g, grams to the nearest 5.
        assert abs(grams - plan.finished.g_per_m2 * foot) <= 5.0
    total = yarn_sum(book, answers, plan, finished=False)
    density = next(fact for fact in facts_of(book, answers, plan, total, "inch") if fact.label == "Density")
    # A square inch is 0.00064516 m².
    metric = next(fact for fact in facts_of(book, answers, plan, total, "cm") if fact.label == "Density")
    knots = [float(re.search(r"([\d,]+) knots", fact.more)[1].replace(",", "")) for fact in (density, metric)]
    assert "knots in a square inch" in density.more
    assert abs(knots[0] - knots[1] * 0.00064516) <= 0.5
