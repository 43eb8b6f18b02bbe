"""The guide says this rug's own numbers, puts each stage's cautions before its work, and counts what was ticked off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.presenters.rugs import book, session
from tests.today import TODAY
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import AfterStep, Lot, Preparation, PreparationKind, RugBook, RugStage, Weighing
from tracker.forecast.outlook import outlook
from tracker.presenters.finish import build_finish_state, usual_steps
from tracker.presenters.guide import (
    AFTER_WEAVING,
    STAGES,
    GuideCard,
    GuideStage,
    build_guide_state,
    first_stage_open,
    goes_on_at,
    stage_cautions,
    stages_of_step,
    stages_ticked,
    step_ticked_with,
    ticks_kept,
    what_follows,
)
from tracker.presenters.home import build_home_state
from tracker.presenters.record.yarn_use import YarnUse, dry_mass_g, plan_as_weighed, stays_g
from tracker.words import mass, use_language


def step_cautions(
    name: str,
    book: RugBook,
    plan: MaterialPlan,
    ticked: frozenset[GuideStage] | set[GuideStage] = frozenset(),
) -> tuple[str, ...]:
    """What to mind with a step after weaving, as Finish asks for it."""
    return stage_cautions(set(stages_of_step(name)) - ticked, book, plan)


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


def test_twelve_marks_are_all_written_and_of_thirteen_the_first_ten_and_the_last() -> None:
    rug = book()

    def lines(knots: int) -> tuple[tuple[str, str], ...]:
        return card(replace(rug, plan=replace(rug.plan, knots_across=knots)), GuideStage.WARP).lines

    # Four warps of the selvedge, then 50 warps on every 10 cm, the four of the other selvedge last.
    every = [(f"mark after {4 + 50 * at} warps", f"{0.8 + 10 * at:g} cm") for at in range(12)]
    assert lines(250) == (*every[:11], ("mark after 508 warps", "101.6 cm"))
    assert lines(275) == (*every[:10], ("…", ""), ("mark after 558 warps", "111.6 cm"))
    one_warp = replace(rug, plan=replace(rug.plan, selvedge_warps=2))
    assert card(one_warp, GuideStage.WARP).lines[0] == ("mark after 1 warp", "0.2 cm")


def test_the_cards_in_full() -> None:
    rug = book()
    plan = material_plan(rug)
    cards = build_guide_state(rug, plan)
    practice = "What weavers usually do; we know of no study of it."
    assert [(one.icon, one.title, one.done_words, one.share, one.source) for one in cards] == [
        ("skein", "Yarn and dyes", "0 of 4 done", 0.0, practice),
        ("warp", "Set up the warp", "0 of 11 done", 0.0, practice),
        ("person", "At the loom", "0 of 7 done", 0.0, practice),
        ("scissors", "Cut off", "0 of 5 done", 0.0, practice),
        ("knot", "Ends", "0 of 3 done", 0.0, practice),
        ("wash", "Wash and dry", "0 of 5 done", 0.0, practice),
        ("measure", "Stretch to shape", "0 of 4 done", 0.0, practice),
        ("shear", "Shear", "0 of 4 done", 0.0, practice),
        ("fringe", "Fringe and selvedge", "0 of 3 done", 0.0, practice),
        ("shelf", "Keep and hand over", "0 of 4 done", 0.0, practice),
    ]
    assert [one.lines for one in cards if one.stage is not GuideStage.WARP] == [()] * 9
    assert cards[1].steps[0].key == "warp.loom"
    # 208 warps: 84 cm and 3 %, two fringes of 10 cm and 40 cm that the loom keeps; 41.6 cm wide.
    said = [step.words for step in cards[1].steps]
    assert said[1] == "Measure 208 warps of 146.5 cm each, all at the same tension."
    assert said[2] == "Tie a counting thread round every 50 warps, and count again from the other side."
    assert said[3] == "Mark the middle of the beams, and half the width, 20.8 cm, to each side."
    assert said[5:7] == [
        "Lay the 8 warps of the selvedges at the edges, half on each side.",
        "Leave 10 cm for the fringe before the first pick, at both ends.",
    ]
    assert said[9:] == [
        "Check the spacing with a tape at the left, in the middle and at the right: 50 warps to 10 cm.",
        "Weave the first flat end, then measure the width again, selvedges included: 41.6 cm.",
    ]
    assert cards[8].steps[1].words == "Trim both fringes to one length: 10 cm."
    # 426 g dry; wool takes up its own weight of water, and of what anybody lifts nobody is warned.
    assert not any("Soaked" in words for words in cards[5].cautions)
    larger = card(replace(rug, plan=replace(rug.plan, rows=900)), GuideStage.WASH).cautions[0]
    assert larger.startswith("Soaked, this rug weighs at least 3.8")
    assert "by the plan." in larger
    assert larger.endswith("A wet, limp rug is awkward to hold. Lift it with a second person.")
    inches = build_guide_state(rug, plan, (), "inch")
    assert inches[1].steps[3].words.endswith("8.2 in, to each side.")
    assert inches[1].lines[0] == ("mark after 4 warps", "0.3 in")
    assert inches[8].steps[1].words == "Trim both fringes to one length: 3.9 in."
    heavy = replace(rug, plan=replace(rug.plan, knots_across=900, rows=2_000))
    assert card(heavy, GuideStage.WASH).source.startswith(
        "What weavers usually do; we know of no study of it. Lifting: "
    )


def test_a_rug_too_heavy_wet_asks_for_two_people_and_names_the_source() -> None:
    light = card(book(), GuideStage.WASH)
    rug = book()
    heavy_book = replace(rug, plan=replace(rug.plan, knots_across=900, rows=2_000))
    heavy = card(heavy_book, GuideStage.WASH)
    assert "Too heavy for one person" not in light.cautions[0]
    assert "Too heavy for one person" in heavy.cautions[0]
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


def test_a_step_ticked_off_on_finish_and_a_mounted_warp_are_done_in_the_guide() -> None:
    on = date(2026, 11, 3)
    rug = book()
    assert card(rug, GuideStage.CUT_OFF).done_words == "0 of 5 done"
    assert card(rug, GuideStage.WARP).done_words == "0 of 11 done"
    steps = tuple(
        replace(step, done_day=on if step.number == 1 else None) for step in usual_steps(rug.plan.id)
    )
    ticked = replace(rug, after_steps=steps)
    for stage in (GuideStage.CUT_OFF, GuideStage.ENDS):
        assert (card(ticked, stage).done_words, card(ticked, stage).share) == (
            "ticked off on Finish, 3 Nov",
            1.0,
        )
    assert card(ticked, GuideStage.WASH).done_words == "0 of 5 done"
    mounted = replace(
        rug, preparations=(Preparation(id="m", rug_id=rug.plan.id, day=on, kind=PreparationKind.WARP),)
    )
    assert (card(mounted, GuideStage.WARP).done_words, card(mounted, GuideStage.WARP).share) == (
        "the warp is mounted",
        1.0,
    )
    # Who ticked two steps off sees a bar that says what the words say.
    card_then = next(
        one
        for one in build_guide_state(
            mounted, material_plan(mounted), [step.key for step in card(rug, GuideStage.WARP).steps[:2]]
        )
        if one.stage is GuideStage.WARP
    )
    assert (card_then.done_words, card_then.share) == ("the warp is mounted · 2 of 11 done", 2 / 11)


def test_the_stage_that_the_work_stands_at_is_marked_as_next() -> None:
    on = date(2026, 11, 3)
    rug = book()
    mounting = Preparation(id="m", rug_id=rug.plan.id, day=on, kind=PreparationKind.WARP)

    def is_next(rug: RugBook, ticked: Iterable[str] = ()) -> list[tuple[GuideStage, str]]:
        cards = build_guide_state(rug, material_plan(rug), ticked)
        return [(card.stage, card.stands_here) for card in cards if card.stands_here]

    def all_of(*stages: GuideStage) -> list[str]:
        return [step.key for stage in stages for step in card(rug, stage).steps]

    assert is_next(rug) == [(GuideStage.YARN, "Next")]
    assert is_next(rug, all_of(GuideStage.YARN)) == [(GuideStage.WARP, "Next")]
    assert is_next(rug, all_of(GuideStage.WARP)[:2]) == [(GuideStage.WARP, "Now")]
    # Who mounted the warp without a tick is not sent back to the yarn.
    assert is_next(replace(rug, preparations=(mounting,))) == [(GuideStage.WEAVE, "Next")]
    assert is_next(book(session(1, 60))) == [(GuideStage.WEAVE, "Now")]
    woven = book(session(1, 200))
    assert is_next(woven) == [(GuideStage.CUT_OFF, "Next")]
    assert card(woven, GuideStage.WEAVE).done_words == "the last row is woven"
    cut = tuple(replace(step, done_day=on if step.number == 1 else None) for step in usual_steps("rug"))
    assert is_next(replace(woven, after_steps=cut)) == [(GuideStage.WASH, "Next")]
    assert is_next(woven, all_of(*GuideStage)) == []


def test_the_pictures_of_the_stages_mean_nothing_else() -> None:
    rug = book()
    told = [one.icon for one in build_guide_state(rug, material_plan(rug))]
    # A lost ball, the comb that beats the weft and the pencil that corrects stand for these elsewhere.
    assert not {"spoilt", "comb", "edit"} & set(told)
    assert len(set(told)) == len(told)


def test_the_soaked_rug_is_told_by_the_yarn_it_took_once_every_row_is_woven() -> None:
    rug = book(session(1, 200, used=(("red", 4), ("blue", 4))))
    plan = material_plan(rug)
    half = replace(rug, sessions=(session(1, 100),))
    assert (
        dry_mass_g(half, outlook(half, TODAY), plan) == plan.finished.total_g == dry_mass_g(rug, None, plan)
    )
    red = next(one for one in plan.needs if one.yarn_id == "red")
    bought = replace(rug, lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=date(2026, 11, 1), mass_g=3 * red.need_g),),
                     weighings=(Weighing(id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=red.need_g),))  # fmt: skip
    took = dry_mass_g(bought, outlook(bought, TODAY), plan)
    # Twice the planned red: of its pile twice as much lies in the rug.
    assert took == pytest.approx(
        plan.finished.total_g
        + stays_g(rug, plan, next(one for one in rug.yarns if one.id == "red"), YarnUse(red.need_g, "plan")),
        abs=2,
    )
    said = next(
        one
        for one in build_guide_state(bought, plan_as_weighed(bought, outlook(bought, TODAY), plan))
        if one.stage is GuideStage.WASH
    ).cautions[0]
    assert "Soaked" not in said
    heavy = plan_as_weighed(bought, outlook(bought, TODAY), plan).finished.weighing(20_000.0)
    said = stage_cautions((GuideStage.WASH,), bought, replace(plan, finished=heavy))[0]
    assert said.startswith(
        f"Soaked, this rug weighs at least 40 kg; dry 20 kg by the yarn it took (planned: {mass(plan.finished.total_g)})."
    )
    assert "two or more people" in said
    on_scale = replace(bought, plan=replace(bought.plan, washed_g=20_000.0))
    said = stage_cautions(
        (GuideStage.WASH,), on_scale, plan_as_weighed(on_scale, outlook(on_scale, TODAY), plan)
    )[0]
    assert f"dry 20 kg, as weighed (planned: {mass(plan.finished.total_g)})." in said
    weighed = replace(bought, plan=replace(bought.plan, unwashed_g=2_345.0))
    assert dry_mass_g(weighed, None, plan) == 2_345.0


def test_a_step_is_of_the_stage_that_its_name_tells() -> None:
    assert stages_of_step("Washing and stretching") == (GuideStage.WASH, GuideStage.BLOCK)
    assert stages_of_step("cut off and secure the ends") == (GuideStage.CUT_OFF, GuideStage.ENDS)
    assert stages_of_step("Sew the label on") == ()
    assert any("plug" in words for words in told("Shearing"))
    rug = book()
    heavy = replace(rug, plan=replace(rug.plan, knots_across=900, rows=2_000))
    assert any("two or more people" in words for words in told("Wash", heavy))
    assert told("Sew the label on") == ()


def told(name: str, rug: RugBook | None = None) -> tuple[str, ...]:
    rug = rug or book()
    return step_cautions(name, rug, material_plan(rug))


@pytest.fixture
def speak() -> Iterator[Callable[[str], None]]:
    yield use_language
    use_language("en")


@pytest.mark.parametrize(("entered", "read"), [("en", "tr"), ("tr", "en"), ("tr", "tr")])
def test_a_step_is_known_in_whatever_language_it_was_entered(speak, entered: str, read: str) -> None:
    """A blade under tension stayed unsaid to whoever read the other one's steps."""
    speak(entered)
    steps = usual_steps("rug")
    speak(read)
    assert [stages_of_step(step.name) for step in steps] == [
        (GuideStage.CUT_OFF, GuideStage.ENDS), (GuideStage.WASH,), (GuideStage.SHEAR,), (GuideStage.FRINGE,),
    ]  # fmt: skip
    assert stages_of_step(steps[1].name.upper()) == (GuideStage.WASH,)
    cautions = {words for card in build_guide_state(book(), material_plan(book())) for words in card.cautions}
    assert all(told(step.name) and cautions.issuperset(told(step.name)) for step in steps)
    ticked = replace(book(), after_steps=tuple(replace(step, done_day=date(2026, 11, 3)) for step in steps))
    assert [
        card(ticked, stage).share for stage in (GuideStage.CUT_OFF, GuideStage.WASH, GuideStage.FRINGE)
    ] == [1] * 3


def test_every_name_that_belongs_to_a_stage_tells_what_to_mind_in_it() -> None:
    names = [(stage, name) for stage in STAGES for name in (*stage.names, *stage.own_words)]
    assert len(names) > 10
    for stage, name in names:
        assert stage.key in stages_of_step(name)
        assert set(card(book(), stage.key).cautions) <= set(told(name)), name


def test_what_was_ticked_off_stays_with_its_sentence() -> None:
    """Once it was remembered by its place, and a sentence put before it took the tick over."""
    warp = card(book(), GuideStage.WARP, ("warp.2", "warp.tighten"))
    assert [step.words.split()[0] for step in warp.steps if step.ticked] == ["Measure", "Tighten"]
    kept = ["yarn.4", "warp.11", "cut off.3", "wash.5", "store.1", "wash.99", "nothing"]
    assert ticks_kept(kept) == [
        "yarn.balls", "warp.first end", "cut off.slacken", "wash.dry", "store.photograph", "wash.99", "nothing",
    ]  # fmt: skip


def test_a_step_after_weaving_is_done_with_the_last_of_its_stages() -> None:
    """'Cut off and secure the ends' was ticked in full and stayed next."""
    steps = usual_steps("rug")
    woven = replace(book(), after_steps=steps)
    cut, ends, wash = GuideStage.CUT_OFF, GuideStage.ENDS, GuideStage.WASH
    assert step_ticked_with(woven, cut, {cut}) is None, "its ends are still to be secured"
    assert step_ticked_with(woven, ends, {cut, ends, wash}) == steps[0]
    assert step_ticked_with(woven, wash, {cut, ends, wash}) == steps[1]
    done = replace(steps[0], done_day=date(2026, 11, 3))
    assert step_ticked_with(replace(woven, after_steps=(done, *steps[1:])), ends, {cut, ends}) is None
    assert first_stage_open(steps[0].name, {cut}) is ends
    assert first_stage_open(steps[0].name, set()) is cut
    assert first_stage_open("Sew the label on", {cut}) is None


def test_what_comes_next_is_named_alike_on_every_page_and_leads_to_the_end_of_the_work() -> None:
    """'Finish the rug' on one page was 'Next: Ends' on another, and the guide's last stage had no way onward."""
    bare = book(session(1, 200))
    at_the_end = outlook(bare, TODAY)
    named, ticks = [], []
    for stage in [one for one in GuideStage if one in AFTER_WEAVING]:
        named.append(what_follows(bare, stages_ticked(ticks)).words)
        ticks += [step.key for step in card(bare, stage).steps]
    assert named[0] == "Next: Cut off"
    assert named[-1] == "Next: Keep and hand over"
    assert len(set(named)) == 7
    assert what_follows(bare, stages_ticked(ticks)).words == "Finish the rug"
    finished = replace(bare, plan=replace(bare.plan, stage=RugStage.FINISHED))
    assert (
        what_follows(finished).words
        == build_home_state(finished, at_the_end).act
        == "Share and print the record"
    )
    # Who begins to tick with the washing is not sent back to the blade.
    washed = [step.key for step in card(bare, GuideStage.WASH).steps]
    assert what_follows(bare, stages_ticked(washed)).words == "Next: Stretch to shape"


NAMES = (
    "Cut off and secure the ends",
    "Wash and dry",
    "Shear",
    "Fringe",
    "Fringe and selvedge",
    "Sew the label on",
)


@settings(deadline=None, max_examples=40)
@given(
    names=st.lists(st.tuples(st.sampled_from(NAMES), st.booleans()), max_size=4),
    ticked=st.frozensets(st.sampled_from(list(GuideStage))),
    stage=st.sampled_from([RugStage.ON_LOOM, RugStage.FINISHED]),
)
def test_rug_finish_and_guide_agree_on_what_comes_next(names, ticked, stage) -> None:
    woven = book(session(1, 200), plan=replace(WOVEN.plan, stage=stage))
    steps = tuple(
        AfterStep(
            id=str(place), rug_id="rug", number=place, name=name, days=1.0, done_day=TODAY if done else None
        )
        for place, (name, done) in enumerate(names)
    )
    woven = replace(woven, after_steps=steps)
    ticks = [key for one in ticked for key in KEYS_OF[one]]
    answers = outlook(WOVEN, TODAY) if stage is RugStage.ON_LOOM else outlook(woven, TODAY)
    finish = build_finish_state(woven, answers, ticked_off=stages_ticked(ticks))
    assert finish.follows is not None
    assert build_home_state(woven, answers, ticks).act == finish.follows.words
    marked = [one.stage for one in build_guide_state(woven, PLAN, ticks) if one.stands_here]
    assert marked == list(finish.follows.stages[:1])
    # A step keeps its own name, and one name only.
    if finish.follows.part and steps:
        opened = next(name for name, done in names if not done)
        assert finish.follows.part in (opened, *(one.title for one in build_guide_state(woven, PLAN)))
        assert [line.name for line in finish.steps] == [name for name, _done in names]
    # Nobody is asked for what is still to be done of a rug of which something is done.
    if stage is RugStage.FINISHED or steps or ticked & AFTER_WEAVING:
        assert "Enter what still" not in finish.steps_told
    else:
        assert finish.steps_told.startswith("Enter what still has to be done")
    if stage is RugStage.FINISHED:
        assert not finish.usual_offered


WOVEN = book(session(1, 200))
PLAN = material_plan(WOVEN)
KEYS_OF = {one.stage: [step.key for step in one.steps] for one in build_guide_state(WOVEN, PLAN)}


def test_a_stage_is_ticked_off_with_its_last_step_only() -> None:
    for stage, keys in KEYS_OF.items():
        assert stages_ticked(keys) == {stage}
        assert stages_ticked(keys[:-1]) == frozenset()


def test_a_step_is_told_by_the_stage_at_which_it_goes_on_once_one_of_its_stages_is_done() -> None:
    step = "Cut off and secure the ends"
    assert goes_on_at(step, {GuideStage.WASH}) == step
    assert goes_on_at(step, {GuideStage.CUT_OFF}) == "Ends"
    assert goes_on_at(step, {GuideStage.ENDS}) == "Cut off"
    assert goes_on_at("Call the buyer", {GuideStage.CUT_OFF}) == "Call the buyer"


def test_what_to_mind_of_a_stage_that_is_done_is_told_no_more() -> None:
    rug = book()
    step, plan = "Cut off and secure the ends", material_plan(rug)
    told, of_ends = step_cautions(step, rug, plan), step_cautions(step, rug, plan, {GuideStage.CUT_OFF})
    assert len(of_ends) < len(told)
    assert any("blade" in words for words in told)
    assert not any("warp before any blade" in words for words in of_ends)
