"""A book in inches says every length and every density in inches, wherever they are told."""

from __future__ import annotations

import re
from dataclasses import replace

from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.loom import Loom, LoomKind
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import Hold, Measurement
from tracker.forecast.outlook import outlook
from tracker.presenters import entry_forms
from tracker.presenters.entries.form import FormKind
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import headline, names_of
from tracker.presenters.looms import build_looms_state
from tracker.presenters.plan.checks import size_troubles
from tracker.presenters.plan.form import blank_form
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
    assert "of room for hands" in planned
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
    assert "of room for hands" in told
    assert not IN_CM.search(told), told


def test_the_plan_refuses_a_density_in_the_unit_it_was_said_in() -> None:
    form = replace(blank_form(TODAY), density_unit="per inch", knots_per_10cm=400.0)
    assert size_troubles(form)["across"].startswith(
        "102 per inch cannot be right: hand-knotted rugs have between 0.508"
    )
