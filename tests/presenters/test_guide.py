"""The guide says this rug's own numbers, puts each stage's cautions before its work, and counts what was ticked off."""

from __future__ import annotations

from dataclasses import replace

from tests.presenters.rugs import book
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import RugBook
from tracker.presenters.guide import GuideCard, GuideStage, build_guide_state


def card(rug: RugBook, stage: GuideStage, ticked: tuple[str, ...] = ()) -> GuideCard:
    cards = build_guide_state(rug, material_plan(rug), ticked)
    return next(card for card in cards if card.stage is stage)


def words(card: GuideCard) -> str:
    return " ".join(step.words for step in card.steps)


def test_the_warp_s_numbers_are_the_plan_s_and_follow_it() -> None:
    rug = book()
    plan = material_plan(rug)
    said = words(card(rug, GuideStage.WARP))
    assert f"Measure {plan.warps} warps" in said
    wider = replace(rug, plan=replace(rug.plan, knots_across=rug.plan.knots_across + 50))
    assert f"Measure {plan.warps + 100} warps" in words(card(wider, GuideStage.WARP))
    bare = replace(rug, plan=replace(rug.plan, selvedge_warps=0, fringe_cm=0.0))
    assert "no selvedge warps" in words(card(bare, GuideStage.WARP))
    assert "no fringe" in words(card(bare, GuideStage.FRINGE))
    assert card(rug, GuideStage.WARP).lines[-1][0] == f"mark after {plan.warps} warps"


def test_many_marks_are_shortened_but_the_last_is_there() -> None:
    rug = book()
    wide = replace(rug, plan=replace(rug.plan, knots_across=2_000))
    lines = card(wide, GuideStage.WARP).lines
    assert len(lines) < 15
    assert lines[-1][0] == f"mark after {material_plan(wide).warps:,} warps"


def test_a_rug_too_heavy_wet_asks_for_two_people_and_names_the_source() -> None:
    light = card(book(), GuideStage.WASH)
    rug = book()
    heavy_book = replace(rug, plan=replace(rug.plan, knots_across=900, rows=2_000))
    heavy = card(heavy_book, GuideStage.WASH)
    assert "beyond what one person may lift" not in light.cautions[0]
    assert "beyond what one person may lift" in heavy.cautions[0]
    assert "NIOSH" in heavy.source
    assert "NIOSH" not in light.source


def test_ticks_count_and_an_unknown_one_does_not() -> None:
    rug = book()
    none = card(rug, GuideStage.WASH)
    some = card(rug, GuideStage.WASH, (none.steps[0].key, none.steps[2].key, "wash.99", "nothing"))
    assert [step.ticked for step in some.steps][:3] == [True, False, True]
    assert some.done_words == f"2 of {len(none.steps)} done"
    assert some.share == 2 / len(none.steps)
    every = card(rug, GuideStage.WASH, tuple(step.key for step in none.steps))
    assert every.share == 1


def test_each_stage_has_its_caution_and_its_work() -> None:
    rug = book()
    cards = build_guide_state(rug, material_plan(rug))
    assert [card.stage for card in cards] == list(GuideStage)
    keys = [step.key for card in cards for step in card.steps]
    assert len(set(keys)) == len(keys)
    said = {card.stage: " ".join(card.cautions) for card in cards}
    assert all(said.values())
    assert "Two people" in said[GuideStage.WARP]
    assert "pull" in said[GuideStage.CUT_OFF]
    assert "safety glasses" in said[GuideStage.SHEAR]
    assert "local rules" in said[GuideStage.YARN]
    assert "local rules" in said[GuideStage.STORE]
    assert "see a doctor" in said[GuideStage.WEAVE]
