"""The guide by real touches: a stage opened, steps ticked off and remembered, the way back."""

from __future__ import annotations

from dataclasses import replace

from tracker.presenters.guide import GuideStage
from tracker.presenters.of_rug import TICKS
from tracker.presenters.preparation import build_preparation_state
from tracker.presenters.whole_plan import whole_plan
from tracker.previews.draw import settle
from tracker.screens.guide.guide import guide_cards


def test_steps_ticked_off_are_there_again_and_back_leads_to_the_list(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("guide")
    settle()
    hand.tap("Set up the warp")
    settle()
    step = next(words for words in hand.words() if words.startswith("Measure "))
    hand.tap(step)
    settle()
    assert hand.app.desk.drafts.get("guide") == {hand.app.desk.rug.plan.id: ["warp.measure"]}
    hand.shell.back()
    settle()
    assert hand.sees("1 of 11 done")
    hand = open_app(demo)
    hand.shell.go("guide")
    settle()
    assert hand.sees("1 of 11 done"), "the next start knows it"
    hand.tap("Set up the warp")
    settle()
    hand.tap(step)
    settle()
    hand.shell.back()
    settle()
    assert not hand.sees("1 of 11 done")
    # While rows are woven nothing of what comes after them is done, however far ahead somebody ticks.
    desk = hand.app.desk
    ahead = [step for card in guide_cards(desk) if card.title in ("Cut off", "Ends") for step in card.steps]
    desk.drafts.put(TICKS, {desk.rug.plan.id: [step.key for step in ahead[:-1]]})
    hand.shell.page.open_stage(GuideStage.ENDS)
    settle()
    hand.tap(ahead[-1].words)
    assert all(step.done_day is None for step in desk.rug.after_steps)
    hand.shell.back()
    settle()
    page = hand.shell.page
    hand.shell.back()
    settle()
    assert hand.shell.page is not page


def test_preparation_opens_it_at_the_warp_and_back_leads_there(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("preparation")
    settle()
    preparation = hand.shell.page
    hand.tap("How to set up the warp")
    settle()
    hand.tap(next(words for words in hand.words() if words.startswith("Measure ")))
    settle()
    hand.shell.back()
    settle()
    assert hand.shell.page is preparation
    # Called mounted with the other ten open, the warp's steps are told of.
    desk = hand.app.desk
    warp = next(
        item
        for item in build_preparation_state(desk.rug, whole_plan.of(desk), desk.today()).groups
        if item.icon == "warp"
    ).lines[0]
    preparation.tick(replace(warp, ticked=False))
    settle()
    assert any("10 steps of the warp are open in the guide." in words for words in hand.words())


def test_on_its_side_the_list_shows_the_stage_that_is_read(open_app, demo) -> None:
    hand = open_app(demo, size=(892, 412))
    hand.shell.go("guide")
    settle()
    page = hand.shell.page
    for card in [key.card for key in page.ids.list.children]:
        page.open_stage(card.stage)
        settle()
        key, pane = page._open_key(), page.ids.list_scroll
        assert key.card.stage is card.stage
        low, at = pane.to_window(0, pane.y)[1], key.to_window(*key.pos)[1]
        assert low <= at
        assert at + key.height <= low + pane.height + 1
        assert page.ids.scroll.scroll_y == 1.0
