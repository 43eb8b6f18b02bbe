"""The material plan, the shopping list and the checklist in words, without a window."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from tests.presenters import rugs
from tests.presenters.rugs import plan, yarns
from tests.today import TODAY
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import (
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugStage,
    Sample,
    Wage,
    WageBasis,
    Yarn,
)
from tracker.domain.winding import ball_line
from tracker.forecast.outlook import outlook
from tracker.presenters.costs import cost_of
from tracker.presenters.material import build_material_state, shared_balls_words
from tracker.presenters.preparation import CheckLine, build_preparation_state, one_more, preparation_form
from tracker.presenters.shopping import (
    LEAST_SETTING,
    SKEIN_SETTING,
    all_bought_question,
    all_bought_words,
    build_shopping_state,
    build_sold_state,
    lot_form,
    sold_settings,
    sold_words,
)
from tracker.presenters.yarn import build_yarn_story_state
from tracker.reports.text_form import plan_text, plan_values
from tracker.words import work_words


def book(**changes) -> RugBook:
    """The little field with 50 mm of R 600 tex in each knot: 10,000 knots, 30 mg each, 300 g of either colour."""
    cut = tuple(
        replace(yarn, cut_length_mm=50.0, dyer=dyer, price_per_kg=price) if yarn.role is Role.PILE else yarn
        for yarn, dyer, price in zip(yarns(), ("Valley", "", ""), (40.0, None, None), strict=True)
    )
    return RugBook(plan=plan(stage=RugStage.PLANNED), yarns=cut, **changes)


def lot(**changes) -> Lot:
    fields = {
        "id": "lot",
        "rug_id": "rug",
        "yarn_id": "red",
        "day": TODAY,
        "mass_g": 1000.0,
        "dye_lot": "K-1",
    }
    return Lot(**{**fields, **changes})


def words_of(rug: RugBook):
    return build_shopping_state(rug, material_plan(rug), outlook(rug, TODAY))


def line_of(rug: RugBook, name: str):
    return next(line for group in words_of(rug).groups for line in group.lines if line.name == name)


def test_every_yarn_says_its_need_and_where_it_comes_from() -> None:
    rug = book()
    words = build_material_state(rug, material_plan(rug), outlook(rug, TODAY))
    red = next(yarn for group in words.groups for yarn in group.yarns if yarn.name == "Madder")
    # 10,000 knots of 50 mm at 600 g a kilometre.
    assert red.need == "300 g"
    assert "10,000 knots, 50 %" in red.lines
    assert red.story.sentence == "From the length of yarn you cut for one knot."
    # 10,000 knots of 50 mm are 500 m.
    assert ("Length in all", "500 m") in red.story.lines
    assert ("Yarn in one knot, by length", "50 mm") in red.story.lines


def parts_of_knot(lines: dict[str, float]) -> list[float]:
    return [
        lines[part]
        for part in (
            "Wrapped round the warps (calculated)", "Two legs of pile", "The knife takes", "The shears take"
        )
    ]  # fmt: skip


def test_the_parts_of_a_knot_add_up_to_the_length_that_was_cut_and_a_sample_tells_none() -> None:
    rug = book()
    told = Sample(id="s", rug_id=rug.plan.id, yarn_id=rug.yarns[0].id, day=TODAY, knots=1000, mass_g=31.0)
    for samples in ((), (told,)):
        known = replace(rug, samples=samples)
        words = build_material_state(known, material_plan(known), outlook(known, TODAY))
        red = next(yarn for group in words.groups for yarn in group.yarns if yarn.yarn_id == rug.yarns[0].id)
        lines = {label: float(value.split()[0]) for label, value in red.story.lines if value.endswith(" mm")}
        if samples:
            assert "Two legs of pile" not in lines
            assert "Calculated from the threads alone" in lines
        else:
            assert sum(parts_of_knot(lines)) == pytest.approx(50, abs=0.2)


def test_by_the_geometry_the_parts_of_a_knot_add_up_to_its_length() -> None:
    rug = book()
    rug = replace(rug, yarns=tuple(replace(yarn, cut_length_mm=None) for yarn in rug.yarns))
    words = build_material_state(rug, material_plan(rug), outlook(rug, TODAY))
    red = next(yarn for group in words.groups for yarn in group.yarns if yarn.name == "Madder")
    lines = {label: float(value.split()[0]) for label, value in red.story.lines if value.endswith(" mm")}
    assert lines["Two legs of pile"] == 16
    assert sum(parts_of_knot(lines)) == pytest.approx(lines["Yarn in one knot, by length"], abs=0.2)


def test_a_rug_that_does_not_fit_the_loom_is_told_of() -> None:
    rug = replace(book(), plan=plan(loom_width_cm=45.0))
    words = build_material_state(rug, material_plan(rug), outlook(rug, TODAY))
    fact = next(fact for group in words.groups for fact in group.facts if fact.label == "Between the sides")
    # 100 knots at 25 per 10 cm are 40 cm, eight selvedge warps of 2 mm 1.6 cm, and 10 cm for hands: 6.6 cm too much.
    assert fact.figure == "too large by 6.6 cm"
    assert any("wider loom" in sentence for sentence in words.warnings)


@pytest.mark.parametrize(
    ("hours", "words"),
    [(1 / 3, "20 min"), (0.01, "1 min"), (0.97, "58 min"), (1.29, "1.3 h"), (25.2, "25 h")],
)
def test_work_is_said_as_one_would_say_it(hours: float, words: str) -> None:
    assert work_words(hours) == words


# --- shopping


def test_the_list_goes_by_dyer_and_what_is_to_buy_stands_first() -> None:
    rug = book(lots=(lot(),))
    groups = words_of(rug).groups
    assert groups[-1].dyer == "Valley", "nothing is needed from there any more"
    assert [line.name for line in groups[-1].lines] == ["Madder"]
    assert groups[-1].left == "all bought"
    assert not groups[0].lines[0].bought


def test_the_price_is_added_up_and_what_has_none_is_named() -> None:
    rug = book()
    answer = next(answer for answer in outlook(rug, TODAY).yarns if answer.yarn_id == "red")
    words = words_of(rug)
    # 40 for a kilogram.
    price = answer.order_g / 1000 * 40
    assert words.cost == f"price {price:.2f}, without Indigo and Ground weft"
    assert line_of(rug, "Madder").cost == f"{price:.2f}"
    assert line_of(rug, "Indigo").cost == ""


def test_a_second_purchase_asks_for_the_same_dye_lot() -> None:
    line = line_of(book(lots=(lot(mass_g=100.0),)), "Madder")
    assert not line.bought
    assert line.lot == "dye lot K-1"
    assert line_of(book(lots=(lot(mass_g=100.0, dye_lot=""),)), "Madder").lot == "the same dye lot as before"
    assert "If a dye lot is gone" in words_of(book(lots=(lot(mass_g=100.0),))).why
    assert "If a dye lot is gone" not in words_of(book()).why


def test_mixed_dye_lots_are_warned_of_even_when_all_is_bought() -> None:
    line = line_of(book(lots=(lot(), lot(id="other", dye_lot="K-2"))), "Madder")
    assert line.bought
    assert "K-1 and K-2 may differ in shade" in line.warning


def test_the_form_of_a_purchase_is_filled_in_from_the_list() -> None:
    rug = book()
    answers = outlook(rug, TODAY)
    order = next(answer for answer in answers.yarns if answer.yarn_id == "red")
    form = lot_form(rug, material_plan(rug), answers, "red", TODAY)
    assert form.answers["mass_g"] == order.order_g
    assert form.answers["dyer"] == "Valley"
    assert form.answers["price"] == pytest.approx(order.order_g * 0.04)


def test_before_all_is_entered_as_bought_it_is_asked_and_then_said() -> None:
    words = words_of(book())
    assert all_bought_question(words) == f"{words.headline}: bought as listed, today?"
    assert all_bought_words((lot(mass_g=250.0),)) == "1 yarn bought, 250 g. Tap it to note its dye lot."
    assert all_bought_words((lot(mass_g=250.0), lot(mass_g=1000.0))) == (
        "2 yarns bought, 1.25 kg. Tap one to note its dye lot."
    )
    none = lot_form(
        book(lots=(lot(mass_g=5000.0),)), material_plan(book(lots=(lot(mass_g=5000.0),))), None, "red", TODAY
    )
    assert none.answers.get("mass_g") is None
    sold = build_sold_state(500, None)
    assert (sold.skein.answer, sold.least.answer, sold.can_save) == ("500 g", "none", True)
    assert not build_sold_state(None, 250).can_save
    assert (build_sold_state(None, 250).skein.answer, build_sold_state(None, 250).least.answer) == (
        "not said",
        "250 g",
    )
    assert sold_settings(500, None) == {SKEIN_SETTING: 500, LEAST_SETTING: 0}
    assert (sold_words(1), sold_words(2)) == ("Yarn is sold by the gram.", "Yarn is sold in skeins of 2 g.")


def test_everything_bought_says_so() -> None:
    lots = tuple(lot(id=yarn.id, yarn_id=yarn.id, mass_g=5000.0) for yarn in yarns())
    words = words_of(book(lots=lots))
    assert words.done
    assert words.headline == "Everything is bought."


# --- preparation


def test_the_checklist_counts_what_was_done() -> None:
    done = Preparation(
        id="p", rug_id="rug", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=1, hours=0.5
    )
    rug = book(preparations=(done,))
    words = build_preparation_state(rug, material_plan(rug), TODAY)
    balls = next(group for group in words.groups if group.icon == "wind")
    # 300 g on balls of at most 200 g: two.
    assert [(line.name, line.words) for line in balls.lines] == [
        ("Madder", "1 of 2 balls"),
        ("Indigo", "0 of 2 balls"),
    ]
    assert balls.lines[0].share == 0.5
    assert not words.ready
    assert [(entry.words, entry.note) for entry in words.done] == [("1 ball, Madder", "25 November, 30 min")]


def test_balls_that_a_weaver_has_are_wound_and_the_list_says_why_it_counts_more_than_was_noted() -> None:
    """All balls were with the weavers, and the list still said "0 of 2"; of others it counted the double of what stood in "Done so far"."""
    noted = Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=1)
    given = HandOut(id="h", rug_id="rug", yarn_id="red", day=TODAY, weaver_id="ann", balls=2.0, mass_g=300.0)
    back = replace(given, id="b", kind=HandOutKind.RETURNED, balls=1.0, mass_g=150.0, born=2)

    def red(**parts: Any) -> tuple[str, str]:
        rug = book(**parts)
        found = build_preparation_state(rug, material_plan(rug), TODAY)
        line = next(group for group in found.groups if group.icon == "wind").lines[0]
        return line.words, line.note

    assert red(hand_outs=(given,))[0] == "2 of 2 balls"
    words, note = red(hand_outs=(given, back))
    assert words == "at least 1 of 2 balls"
    assert "by what was used up or handed out" in note
    words, note = red(hand_outs=(given,), preparations=(noted,))
    assert words == "2 of 2 balls"
    assert "1 noted, the others are in use already" in note
    assert "in use already" not in red(preparations=(noted,))[1]


def test_winding_takes_as_long_as_there_is_to_wind() -> None:
    """A ball of 2 g took "about 20 min" as one of 199 g did."""

    def note(share: float, **parts: Any) -> str:
        red, blue, *rest = book().yarns
        rug = replace(book(**parts), yarns=(replace(red, share=share), replace(blue, share=1 - share), *rest))
        found = build_preparation_state(rug, material_plan(rug), TODAY)
        line = next(group for group in found.groups if group.icon == "wind").lines[0]
        assert line.words.endswith(" of 1 ball")
        return line.note

    # 600 g of pile: 6 g on the only ball of a colour of one percent, 192 g on that of one of 32. No "each" of one.
    assert note(0.01) == "about 6 g; about 5 min left"
    assert note(0.32) == "about 192 g; about 19 min left"
    # Who noted twice the common time of her balls, 2 x (5 + 15) minutes each, takes twice as long with any.
    slow = tuple(
        Preparation(
            id=f"{n}",
            rug_id="rug",
            day=TODAY,
            kind=PreparationKind.BALLS,
            yarn_id="gone",
            count=1,
            hours=2 / 3,
        )
        for n in range(2)
    )
    assert note(0.01, preparations=slow) == "about 6 g; about 11 min left"
    assert note(0.32, preparations=slow) == "about 192 g; about 39 min left"


def test_what_nobody_noted_is_wound_at_least_as_the_rows_say() -> None:
    """ "1 of 9 shuttles" stood there of a weaver who had entered none."""
    wove = rugs.session(1, 20)
    rug = replace(book(sessions=(wove,)), plan=plan())

    def shuttles(one: RugBook) -> tuple[str, str]:
        yarns_ = tuple(
            replace(yarn, unit_mass_g=10.0) if yarn.role is Role.WEFT else yarn for yarn in one.yarns
        )
        one = replace(one, yarns=yarns_)
        found = build_preparation_state(one, material_plan(one), TODAY)
        line = next(group for group in found.groups if group.icon == "shuttle").lines[0]
        return line.words, line.note

    # 47.4 g of weft on shuttles of 10 g; the 20th of 200 rows is woven from the first of five.
    words, note = shuttles(rug)
    assert words == "at least 1 of 5 shuttles"
    assert note.endswith("; by the rows woven")
    made = Preparation(
        id="p", rug_id="rug", day=wove.day, kind=PreparationKind.SHUTTLES, yarn_id="weft", count=1
    )
    assert shuttles(replace(rug, preparations=(made,)))[0] == "1 of 5 shuttles"


def test_of_a_finished_rug_nothing_is_prepared_any_more_and_the_page_says_so() -> None:
    done = Preparation(
        id="p", rug_id="rug", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=1, hours=0.5
    )
    rug = book(preparations=(done,))
    over = replace(rug, plan=replace(rug.plan, stage=RugStage.FINISHED, finished_day=TODAY))
    open_words, words = (build_preparation_state(one, material_plan(one), TODAY) for one in (rug, over))
    assert words.headline == "The rug is finished: nothing is left to prepare."
    assert (words.over, open_words.over) == (True, False)
    lines = [line for group in words.groups for line in group.lines]
    assert [line.one_more for line in lines] == [""] * len(lines)
    assert not any("left" in line.note or "yet" in line.words for line in lines)
    assert any(line.one_more for group in open_words.groups for line in group.lines)
    assert words.done == open_words.done
    assert "The rug is finished" in plan_text(over, material_plan(over), outlook(over, TODAY))


def test_ticking_everything_off_leaves_no_hours() -> None:
    rug = book()
    for _turn in range(100):
        found = build_preparation_state(rug, material_plan(rug), TODAY)
        line = next((line for group in found.groups for line in group.lines if not line.ticked), None)
        if line is None:
            break
        rug = replace(rug, preparations=(*rug.preparations, one_more(rug, line, TODAY)))
    assert found.ready
    assert (found.headline, found.share) == ("Everything is ready.", 1.0)


def test_the_checklist_in_full() -> None:
    """Warp, balls and shuttles, half of them done; a warp takes 5 h, a ball of 150 g 5 + 11.25 minutes, a shuttle of 47.4 g 10 + 9.5."""
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", swatch="#E4DAC4", tex=300.0)
    of = {"rug_id": "rug", "day": TODAY}
    done = (
        Preparation(id="a", kind=PreparationKind.WARP, hours=6.25, **of),
        Preparation(id="b", kind=PreparationKind.BALLS, yarn_id="red", count=2, **of),
        Preparation(id="c", kind=PreparationKind.BALLS, yarn_id="gone", count=1, **of),
    )
    rug = replace(book(preparations=done), yarns=(*book().yarns, warp))
    state = build_preparation_state(rug, material_plan(rug), TODAY)
    assert [(group.title, group.icon) for group in state.groups] == [
        ("Mount the warp", "warp"), ("Wind balls", "wind"), ("Make shuttles", "shuttle"),
    ]  # fmt: skip
    (mounted,), (red, blue), (weft,) = (group.lines for group in state.groups)
    assert mounted == CheckLine(
        PreparationKind.WARP, None, "", "", "Warp of 208 threads", "mounted", "", 1.0, True, ""
    )
    assert red == CheckLine(
        PreparationKind.BALLS,
        "red",
        "#9C2F25",
        "1",
        "Madder",
        "2 of 2 balls",
        "about 150 g each",
        1.0,
        True,
        "",
    )
    assert blue == CheckLine(
        PreparationKind.BALLS, "blue", "#27406B", "2", "Indigo", "0 of 2 balls", "about 150 g each; about 32 min left", 0.0, False, "+1"
    )  # fmt: skip
    assert (weft.words, weft.note, weft.one_more) == ("0 of 1 shuttle", "about 19 min left", "+1")
    assert [(entry.record_id, entry.words, entry.note) for entry in state.done] == [
        ("c", "1 ball", "25 November"),
        ("b", "2 balls, Madder", "25 November"),
        ("a", "warp mounted", "25 November, 6.25 h"),
    ]
    # As the lines are said, 32 min and 19 min; what was noted of the rest is no part of the list's hours.
    assert (state.headline, state.ready, state.warp) == ("About 51 min left", False, "")
    assert state.share == pytest.approx(1 - (32.5 + 19.48) / 60 / (5.12 + (65 + 19.48) / 60), abs=1e-3)
    assert state.rests_on == (
        "Times are common ones until you have noted two or three of your own. 6.25 h noted so far. They set the "
        "times of this list and of your next rug. They do not count as hours at the loom and earn no wage: enter "
        "what they cost among the costs, as preparation. At most 200 g on a ball and 100 g on a "
        "shuttle: assumed until you give your own, with the yarn in the plan."
    )
    bare = replace(rug, preparations=())
    # What is said of them is so: hours at the loom and what the rug costs are the same without them.
    answers, without = outlook(rug, TODAY), outlook(bare, TODAY)
    assert answers.where.hours_woven == without.where.hours_woven
    wage = (Wage(id="w", rug_id="rug", basis=WageBasis.DAYS, amount=20.0),)
    costs = [cost_of(replace(one, wages=wage), told) for one, told in ((rug, answers), (bare, without))]
    assert costs[0].at_end == costs[1].at_end
    assert "noted so far" not in build_preparation_state(bare, material_plan(bare), TODAY).rests_on
    (open_warp,) = build_preparation_state(bare, material_plan(bare), TODAY).groups[0].lines
    assert (open_warp.words, open_warp.note, open_warp.one_more) == (
        "not mounted yet",
        "about 5.1 h left",
        "Mounted",
    )
    one, other = (one_more(rug, blue, TODAY) for _turn in range(2))
    assert one == Preparation(id=one.id, kind=PreparationKind.BALLS, yarn_id="blue", count=1, **of)
    assert one.id
    assert one.id != other.id


def test_noting_several_starts_with_all_that_is_left() -> None:
    rug = book()
    found = material_plan(rug)
    line = next(
        group for group in build_preparation_state(rug, found, TODAY).groups if group.icon == "wind"
    ).lines[0]
    form = preparation_form(rug, found, line, TODAY)
    assert form.answers["count"] == 2
    assert form.fixed["kind"] == PreparationKind.BALLS


# --- text form


def test_the_text_form_prints_every_yarn_and_the_shopping_list() -> None:
    rug = book()
    text = plan_text(rug, material_plan(rug), outlook(rug, date(2026, 11, 25)))
    for part in ("Material for Little field", "Madder", "300 g", "Shopping list", "Valley", "Preparation"):
        assert part in text


def test_the_values_name_their_units_and_can_be_written_as_json() -> None:
    import json

    rug = book()
    found = json.loads(json.dumps(plan_values(rug, material_plan(rug), outlook(rug, TODAY))))
    red = next(need for need in found["pile"] if need["name"] == "Madder")
    assert red["need_g"] == pytest.approx(300)
    assert red["mass_per_knot_g"] == pytest.approx(0.03)
    assert found["warps"] == 208
    assert {line["name"] for line in found["shopping"]} == {"Madder", "Indigo", "Ground weft"}


def test_the_shuttles_together_last_for_the_rows_of_the_rug() -> None:
    # 200 rows; what is written a shuttle, times the shuttles, is off by no more than rounding.
    state = build_material_state(book(), material_plan(book()), None)
    (wefts,) = (group for group in state.groups if group.title == "Wefts")
    for yarn in wefts.yarns:
        said = next(line for line in yarn.lines if "shuttle" in line)
        shuttles, rows = (int(word) for word in said.replace(",", "").split() if word.isdigit())
        assert abs(shuttles * rows - 200) <= shuttles / 2


def test_a_book_in_inches_reads_every_length_of_the_cloth_the_warp_and_the_loom_in_inches() -> None:
    rug = book()
    words = build_material_state(rug, material_plan(rug), outlook(rug, TODAY), "inch")
    said = repr(words)
    # The ways to say a density are all shown, and who published a size says it in cm; else no length is in cm.
    for way in (*material_plan(rug).density.all_ways(),):
        said = said.replace(repr(way), "")
    for source in {fact.story.source for group in words.groups for fact in group.facts if fact.story}:
        said = said.replace(repr(source), "")
    in_cm = [part for part in said.split("'") if part.endswith(" cm")]
    assert in_cm == []
    assert material_words(words, "Planned on the loom").endswith(" in with selvedges")
    assert material_words(words, "Density").endswith(" per inch")


def material_words(words, name: str) -> str:
    return next(fact.figure for group in words.groups for fact in group.facts if fact.label == name)


def test_balls_that_sections_share_unequally_are_told_from_left_to_right() -> None:
    line = ball_line(yarns()[0], [("", False)], [[500.0], [150.0], [200.0]], 1.31)
    assert shared_balls_words(line) == "3, 1 and 1 from left to right"
    alike = ball_line(yarns()[0], [("", False)], [[150.0], [150.0]], 1.31)
    assert shared_balls_words(alike) == "1 for each weaver"
    assert shared_balls_words(ball_line(yarns()[0], [("", False)], [[500.0]], 1.31)) == ""


def test_a_warp_is_called_mounted_and_no_longer_bought_from_the_first_row_on_and_no_sooner() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=300)
    begun = rugs.book()
    begun = replace(begun, yarns=(*begun.yarns, warp))
    ball = rugs.session(1, 0, None, used=(("red", 1.0),))

    def told(book: RugBook) -> tuple[str, str]:
        answers = outlook(book, TODAY)
        (line,) = [
            line
            for group in build_shopping_state(book, material_plan(book), answers).groups
            for line in group.lines
            if line.yarn_id == "warp"
        ]
        story = build_yarn_story_state(book, answers, "warp")
        assert story is not None
        return line.amount, story.word

    # A ball used up before the first row is no weaving: nobody said that the warp is on the loom.
    for sessions in ((), (ball,)):
        amount, word = told(replace(begun, sessions=sessions))
        # 91.4 g and a tenth more, by the gram: rounded up to ten.
        assert amount == word.removeprefix("to buy ") == "110 g"
    assert told(replace(begun, sessions=(rugs.session(1, 4),))) == ("on the loom", "on the loom")
