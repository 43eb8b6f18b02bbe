"""Which loom a planned rug lies on: it brings its measures, says what does not fit, and offers the warp of a neighbour."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.presenters import rugs
from tracker.domain.loom import Loom, WarpLay
from tracker.domain.material import warp_length_cm
from tracker.domain.material_plan import material_plan
from tracker.domain.need import account_of, is_in_rug
from tracker.domain.rug import (
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Yarn,
)
from tracker.domain.shared_warp import part_of_book, rugs_on_warp
from tracker.forecast.outlook import outlook
from tracker.presenters.guide import GuideStage, build_guide_state
from tracker.presenters.home import build_home_state
from tracker.presenters.looms import fit_doubt, placed_on
from tracker.presenters.material import build_material_state
from tracker.presenters.plan.form import PlanForm, form_of
from tracker.presenters.plan.looms import (
    doubt_of_fit,
    doubt_of_size,
    fit_sentences,
    loom_choices,
    loom_lines,
    near_on_warp,
    warp_choices,
    with_loom,
    with_warp,
)
from tracker.presenters.plan.records import to_plan
from tracker.presenters.preparation import build_preparation_state
from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.standing import stand_words, standing_of, sum_words
from tracker.presenters.warp_words import buying_words, shared_warp_words
from tracker.presenters.yarn import build_yarn_state
from tracker.reports.text_form import as_text, plan_text
from tracker.words import length, mass

TODAY = date(2026, 11, 13)
LOOM = Loom(id="wide", name="By the window", width_cm=60.0, longest_warp_cm=250.0, waste_cm=30.0, seats=2)


def warp(rug_id: str, **changes) -> Yarn:
    told = {
        "id": f"warp {rug_id}",
        "rug_id": rug_id,
        "role": Role.WARP,
        "number": 1,
        "name": "Warp",
        "tex": 300.0,
    }
    return Yarn(**{**told, **changes})


def rug(rug_id: str = "rug", **changes) -> RugBook:
    """The little field of 40 x 80 cm on the wide loom, with a warp."""
    told = {"id": rug_id, "loom_id": "wide", "loom_waste_cm": 30.0, **changes}
    return RugBook(plan=rugs.plan(**told), yarns=(*rugs.yarns(), warp(rug_id)), loom=LOOM)


def sharing(*books: RugBook) -> list[RugBook]:
    """The books as they are read: each knows who shares its warp."""
    by_id = {book.plan.id: book for book in books}
    plans = [book.plan for book in books]

    def parts(plan: RugPlan):
        order = [by_id[one.id] for one in rugs_on_warp(plan.id, plans)]
        return tuple(map(part_of_book, order))

    return [replace(book, warp_parts=parts(book.plan)) for book in books]


def two(**changes) -> list[RugBook]:
    """Two rugs on one warp, the second behind the first."""
    told = {"name": "Runner", "stage": RugStage.PLANNED, "warp_after": "rug", "born": 2, **changes}
    return sharing(rug(), rug("next", **told))


def warp_g(book: RugBook) -> float:
    (need,) = account_of(book).warps
    return need.need_g


def test_choosing_a_loom_brings_its_width_and_its_waste_and_leaves_what_it_does_not_know() -> None:
    form = form_of(rug(loom_id=None, loom_waste_cm=44.0))
    chosen = with_loom(form, LOOM)
    assert (chosen.loom_id, chosen.loom_width_cm, chosen.loom_waste_cm) == ("wide", 60.0, 30.0)
    unmeasured = with_loom(form, replace(LOOM, width_cm=None, waste_cm=None))
    assert (unmeasured.loom_width_cm, unmeasured.loom_waste_cm) == (None, 44.0)
    assert to_plan(chosen).loom_id == "wide"
    assert with_loom(chosen, None).loom_id is None
    # Put there without its plan being opened it has the loom's width, too; its warp may be measured already.
    placed = placed_on(rug(loom_id=None, loom_waste_cm=44.0, loom_width_cm=90.0).plan, LOOM)
    assert (placed.loom_id, placed.loom_width_cm, placed.loom_waste_cm) == ("wide", 60.0, 44.0)
    assert placed_on(placed, replace(LOOM, width_cm=None)).loom_width_cm == 60.0


def test_a_rug_too_wide_with_its_selvedges_and_a_warp_too_long_are_told_in_the_plan_and_on_its_material() -> (
    None
):
    book = rug()
    form = with_loom(form_of(book), replace(LOOM, width_cm=50.0, longest_warp_cm=130.0))
    (width, length), _shared = fit_sentences(
        form, [replace(LOOM, width_cm=50.0, longest_warp_cm=130.0)], (), book
    )
    # 100 knots at 25 in 10 cm are 40 cm, 8 selvedge warps 1.6 cm; 10 cm are left for the hands: 51.6 cm.
    assert "41.6 cm wide with its selvedges" in width
    assert "1.6 cm" in width
    assert "By the window holds 130 cm" in length
    narrow = replace(
        book, loom=replace(LOOM, longest_warp_cm=130.0), plan=replace(book.plan, loom_width_cm=50.0)
    )
    assert set(material_plan(narrow).loom.sentences) == {width, length}


def test_a_size_that_can_hardly_be_meant_is_asked_about_once() -> None:
    """1,900 cm typed for 190 was saved without a word, and the last row told for 2042."""
    book = rug()
    form = form_of(book)
    assert doubt_of_size(form, book) is None
    wide = replace(form, width_cm=1900.0, length_cm=120.0)
    asked = doubt_of_size(wide, book)
    assert asked is not None
    assert asked.question == "1,900 × 120 cm: a side of 1,900 cm is far more than usual. Is it right?"
    assert doubt_of_size(replace(wide, new=True), None) == asked
    # A runner and a large carpet are usual.
    for width, long in ((80.0, 400.0), (400.0, 600.0)):
        assert doubt_of_size(replace(form, width_cm=width, length_cm=long), None) is None
    there = replace(book, plan=replace(book.plan, width_cm=1900.0, length_cm=120.0))
    assert doubt_of_size(replace(wide, name="Another name"), there) is None


def test_a_plan_that_does_not_fit_its_loom_is_asked_about_once_before_it_is_saved() -> None:
    book, narrow = rug(loom_id=None), replace(LOOM, width_cm=50.0)
    fits = with_loom(form_of(book), LOOM)
    assert doubt_of_fit(fits, [LOOM], (), book) is None
    form = with_loom(form_of(book), narrow)
    asked = doubt_of_fit(form, [narrow], (), book)
    assert asked is not None
    assert asked.question == fit_sentences(form, [narrow], (), book)[0][0]
    assert doubt_of_fit(replace(form, new=True), [narrow], (), None) == asked
    # What was saved so already is not asked about with each other change.
    there = replace(book, plan=replace(book.plan, loom_id=narrow.id, loom_width_cm=50.0), loom=narrow)
    assert doubt_of_fit(replace(form_of(there), name="Another name"), [narrow], (), there) is None


def test_a_rug_that_is_put_on_a_loom_too_small_for_it_is_asked_about_there_in_its_plans_words() -> None:
    bare = replace(rug(loom_id=None), loom=None)
    assert fit_doubt(bare, placed_on(bare.plan, LOOM), LOOM, "cm") is None
    small = replace(LOOM, width_cm=50.0, longest_warp_cm=130.0)
    asked = fit_doubt(bare, placed_on(bare.plan, small), small, "cm")
    assert asked is not None
    form = with_loom(form_of(rug()), small)
    assert asked.question == " ".join(fit_sentences(form, [small], (), bare)[0])
    assert "41.6 cm wide with its selvedges" in asked.question
    assert "By the window holds 130 cm" in asked.question


def test_a_loom_measured_after_the_plan_tells_on_the_material_whether_the_rug_fits() -> None:
    """It said that the loom's size is not given, beside a list of looms with their sizes."""
    book = rug(loom_width_cm=None)
    plan = material_plan(book)
    state = build_material_state(book, plan, outlook(book, TODAY))
    fact = next(fact for group in state.groups for fact in group.facts if fact.label == "Between the sides")
    # 60 cm less 41.6 cm of cloth and 10 cm for the hands.
    assert fact.figure == "fits, 8.4 cm to spare"
    assert ("Loom", "60 cm") in fact.story.lines


def test_the_looms_to_choose_from_say_how_wide_they_are_and_what_lies_on_them() -> None:
    narrow = Loom(id="narrow", name="The narrow one")
    others = [
        rugs.plan(id="a", name="Meadow", loom_id="wide"),
        rugs.plan(id="b", name="Runner", loom_id="wide", stage=RugStage.PLANNED),
        rugs.plan(id="c", name="Doorstep", loom_id="wide", stage=RugStage.FINISHED),
    ]
    form = form_of(rug(), "inch")
    assert loom_choices(form, [LOOM, narrow], [rug().plan, *others]) == (
        ("By the window\n23.6 in wide, warp up to 98.4 in, Meadow and Runner", LOOM),
        ("The narrow one\nfree", narrow),
        ("none named", None),
    )
    assert (
        loom_choices(replace(form, unit="cm"), [LOOM], [rug().plan])[0][0]
        == "By the window\n60 cm wide, warp up to 250 cm, free"
    )


def test_a_take_up_that_was_measured_makes_the_warp_too_long_for_its_loom() -> None:
    loom = replace(LOOM, longest_warp_cm=140.0)

    def told(*warps: Yarn) -> tuple[str, ...]:
        book = replace(rug(), yarns=(*rugs.yarns(), *warps))
        return fit_sentences(form_of(book), [loom], (), book)[0]

    # 84 cm of cloth, 20 cm of fringes and 30 cm of waste: 136.5 cm at the usual 3 %, 150.8 cm at a fifth.
    assert told(warp("rug")) == told() == ()
    (sentence,) = told(warp("rug", take_up=0.2))
    assert "the warp is 150.8 cm long" in sentence


def test_a_size_that_cannot_be_says_nothing_of_the_loom_yet() -> None:
    form = with_loom(form_of(rug()), replace(LOOM, width_cm=20.0))
    assert len(fit_sentences(form, [LOOM], (), rug())[0]) == 1
    assert fit_sentences(replace(form, width_cm=1.0), [LOOM], (), rug()) == ((), "")


def test_the_plan_says_whose_warp_a_rug_shares_and_how_long_it_is() -> None:
    first, second = two()
    fits, shared = fit_sentences(form_of(second), [LOOM], (first, second), second)
    whole = material_plan(second).shared_warp
    assert whole is not None
    assert (
        shared == f"Little field and Runner on one warp of {length(whole.length_cm)}, one behind the other."
    )
    assert fits == tuple(material_plan(second).loom.sentences)


def test_what_fits_is_not_warned_of_and_old_plans_without_a_loom_say_nothing_new() -> None:
    assert fit_sentences(with_loom(form_of(rug()), LOOM), [LOOM], (), rug()) == ((), "")
    old = replace(rug(loom_id=None), loom=None)
    assert loom_lines(form_of(old), [], []) == {}
    assert material_plan(old).loom.sentences == ()
    assert "Loom" not in as_text(old, outlook(old, TODAY))


def test_a_rug_can_lie_on_the_warp_of_one_on_the_same_loom_but_not_of_one_that_follows_it() -> None:
    first, second = two()
    elsewhere = rugs.plan(id="far", name="Far", loom_id="other")
    plans = [first.plan, second.plan, elsewhere]
    assert [choice for _words, choice in warp_choices(form_of(second), plans)] == [
        ("", WarpLay.BEHIND), ("rug", WarpLay.BEHIND), ("rug", WarpLay.BESIDE),
    ]  # fmt: skip
    assert [choice for _words, choice in warp_choices(form_of(first), plans)] == [("", WarpLay.BEHIND)]
    lines = loom_lines(form_of(second), [LOOM], plans)
    assert lines["warp"].answer == "behind Little field, on its warp"
    assert lines["gap"].answer == "10 cm"
    assert "Common practice, no source." in lines["gap"].hint
    assert near_on_warp(form_of(second), plans) == (first.plan,)
    beside = with_warp(form_of(second), ("rug", WarpLay.BESIDE))
    assert to_plan(beside).warp_lay is WarpLay.BESIDE
    assert to_plan(with_warp(beside, ("", WarpLay.BEHIND))).warp_after is None
    other_loom: PlanForm = with_loom(beside, replace(LOOM, id="other"))
    assert other_loom.warp_after is None


def test_two_rugs_on_one_warp_buy_together_one_waste_less_and_the_gap_more() -> None:
    alone = [replace(book, warp_parts=()) for book in two()]
    first, second = two()
    # 208 warps of 300 tex: 0.3 g in 10 m. Instead of 30 cm of waste, 10 cm of gap.
    less_g = 208 * (30.0 - 10.0) * 300.0 * 1e-5
    assert warp_g(first) == pytest.approx(warp_g(alone[0]))
    assert warp_g(second) == pytest.approx(warp_g(alone[1]) - less_g)
    plans = [material_plan(book) for book in (first, second)]
    lines = [next(line for line in plan.shopping.lines if line.role is Role.WARP) for plan in plans]
    assert [line.need_g for line in lines] == pytest.approx([warp_g(first), warp_g(second)])


def test_every_page_names_the_same_parts_of_a_shared_warp() -> None:
    first, second = two()
    for book in (first, second):
        plan = material_plan(book)
        answers = outlook(book, TODAY)
        said = [mass(warp_g(first)), mass(warp_g(second)), mass(warp_g(first) + warp_g(second))]
        preparation = build_preparation_state(book, plan, TODAY)
        shopping = build_shopping_state(book, plan, answers)
        of_warp = next(line for group in shopping.groups for line in group.lines if line.name == "Warp")
        for words in said:
            assert words in preparation.warp
        assert mass(warp_g(book)) in of_warp.note
        # Both lists ask for the whole warp, once, and in the same words but for the other's name.
        assert f"Buy the whole warp of {said[2]} once" in of_warp.note
        other = next(one for one in (first, second) if one is not book)
        line = next(line for line in material_plan(other).shopping.lines if line.role is Role.WARP)
        assert of_warp.amount == mass(line.to_buy_g)
        assert preparation.warp in plan_text(book, plan, answers)
        assert "Little field and Runner on one warp of" in as_text(book, answers)
        assert "Loom: By the window" in as_text(book, answers)


def test_the_warp_is_mounted_once_with_the_first_rug_and_is_then_in_both() -> None:
    first, second = two()

    def warp_lines(book: RugBook) -> list[str]:
        state = build_preparation_state(book, material_plan(book), TODAY)
        return [
            line.words for group in state.groups for line in group.lines if line.kind is PreparationKind.WARP
        ]

    assert warp_lines(first) == ["not mounted yet"]
    assert warp_lines(second) == []
    assert "with Little field" in build_preparation_state(second, material_plan(second), TODAY).warp
    done = Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP)
    first, second = sharing(replace(first, preparations=(done,)), second)
    assert warp_lines(first) == ["mounted"]
    for book in (first, second):
        assert is_in_rug(book, book.yarns_of(Role.WARP)[0])


def test_the_paragraph_on_a_shared_warp_in_full() -> None:
    first, second = two()
    shared = material_plan(first).shared_warp
    assert shared is not None
    whole, one, other = (mass(grams) for grams in (shared.mass_g, *(part.mass_g for part in shared.parts)))
    on = f"Little field and Runner on one warp of {length(shared.length_cm)}, one behind the other. "
    need = (
        f"The whole warp needs {whole}: Little field {one} and Runner {other}. Loom waste is counted once. "
    )
    assert (
        shared_warp_words(shared, "rug", "cm")
        == f"{on}{need}It is mounted once for all of them: 208 threads."
    )
    begins = " It begins when Little field is done."
    assert shared_warp_words(shared, "next", "cm") == (
        f"{on}{need}It is mounted once for all of them, with Little field: 208 threads.{begins}"
    )
    assert f"one warp of {length(shared.length_cm, 'inch')}, " in shared_warp_words(shared, "rug", "inch")
    page = build_preparation_state(first, material_plan(first), TODAY, "inch")
    assert page.warp == shared_warp_words(shared, "rug", "inch")
    assert page.warp in plan_text(first, material_plan(first), outlook(first, TODAY), unit="inch")
    done = Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP)
    mounted = sharing(replace(first, preparations=(done,)), second)
    shared = material_plan(mounted[1]).shared_warp
    assert shared is not None
    # Mounted before the second rug was put on it, the warp is as long as one for the first alone.
    alone = warp_length_cm(first.plan, first.yarns_of(Role.WARP)[0].take_up)
    assert alone < shared.length_cm
    assert shared_warp_words(shared, "next", "cm") == (
        f"{on}{need}It is mounted. If it was measured for Little field alone, {length(alone)}, it is too short: "
        f"all of them need {length(shared.length_cm)}.{begins}"
    )
    waiting = mounted[1]
    lots = tuple(
        Lot(id=f"of {y.id}", rug_id="next", yarn_id=y.id, day=TODAY, mass_g=5e3) for y in waiting.yarns
    )
    waiting = replace(waiting, lots=lots)
    state = build_home_state(waiting, outlook(waiting, TODAY))
    assert (state.act, state.next_page) == ("Next: wind balls", "preparation"), "the warp is mounted already"
    assert buying_words(shared, "next") == (
        f"Buy the whole warp of {whole} once, for this rug and Little field. Each list shows it until it is bought."
    )


def test_a_warp_bought_on_one_list_is_bought_on_the_other() -> None:
    first, second = two()
    before = build_shopping_state(second, material_plan(second), outlook(second, TODAY))
    all_of_it = next(line.to_buy_g for line in material_plan(first).shopping.lines if line.role is Role.WARP)
    # What is bought for both rugs is not more than this one needs "for safety".
    of_warp = next(line for line in material_plan(second).shopping.lines if line.role is Role.WARP)
    unbought = standing_of(second, of_warp, None, second.yarns_of(Role.WARP)[0])
    assert unbought.buy.mass_g > unbought.needed_g
    assert sum_words(unbought) == ""
    assert "its part of the whole warp" not in stand_words(unbought)
    lot = Lot(id="l", rug_id="rug", yarn_id=first.yarns_of(Role.WARP)[0].id, day=TODAY, mass_g=all_of_it)
    first, second = sharing(replace(first, lots=(lot,)), second)
    after = build_shopping_state(second, material_plan(second), outlook(second, TODAY))
    bought = [
        next(line.bought for group in state.groups for line in group.lines if line.name == "Warp")
        for state in (before, after)
    ]
    assert bought == [False, True]
    line = next(line for group in after.groups for line in group.lines if line.name == "Warp")
    assert "its part of the whole warp" in line.note
    assert "lost" not in line.note
    for book in (first, second):
        card = next(
            card for card in build_yarn_state(book, outlook(book, TODAY)).cards if card.name == "Warp"
        )
        assert card.word.startswith("enough")


def test_the_guide_measures_off_the_whole_warp() -> None:
    first, _second = two()
    plan = material_plan(first)
    assert plan.shared_warp is not None
    told = str(build_guide_state(first, plan, GuideStage.WARP))
    # 80 cm of pile and 2 x 2 cm of ends with their take-up, twice; four fringes, 30 cm of waste, 10 cm of gap.
    assert plan.shared_warp.length_cm == pytest.approx(
        2 * plan.shared_warp.parts[0].part.cloth_cm + 30.0 + 10.0
    )
    assert "208 warps of" in told


def test_rugs_on_one_warp_of_another_density_or_yarn_are_warned_of() -> None:
    first, second = two(knots_per_10cm=30.0)
    assert any("different densities across" in words for words in material_plan(second).loom.sentences)
    finer = sharing(first, replace(rug("next", warp_after="rug", born=2), yarns=(warp("next", tex=200.0),)))
    assert any("different warp yarns" in words for words in material_plan(finer[0]).loom.sentences)
    assert not any("density" in words or "yarn" in words for words in material_plan(two()[0]).loom.sentences)


def test_rugs_side_by_side_must_fit_the_loom_together() -> None:
    first, second = two(warp_lay=WarpLay.BESIDE, loom_width_cm=90.0)
    (told,) = material_plan(second).loom.sentences
    # Twice 41.6 cm, 5 cm between them, 10 cm for the hands: 98.2 cm of the 90.
    assert "take 88.2 cm" in told
    assert "8.2 cm too little" in told
    unmeasured = replace(first, loom=replace(LOOM, width_cm=None))
    assert material_plan(unmeasured).loom.sentences == ()


def test_who_cuts_a_rug_off_is_told_of_the_one_still_to_be_woven_behind_it() -> None:
    def cautions(book: RugBook) -> tuple[str, ...]:
        cards = build_guide_state(book, material_plan(book))
        return next(card for card in cards if card.stage is GuideStage.CUT_OFF).cautions

    before, behind = two()
    assert cautions(before)[0].startswith("Runner: still to be woven on this warp. Cut in the gap")
    assert len(cautions(behind)) == len(cautions(rug())) == len(cautions(before)) - 1
