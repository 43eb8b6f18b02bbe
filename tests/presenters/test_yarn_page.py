"""The yarn page and the story of a yarn say what the answers say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from tests.presenters.rugs import book, session, yarns
from tests.today import TODAY
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import (
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugStage,
    Sample,
    Spoilt,
    Weighing,
    Yarn,
)
from tracker.forecast.answers import Answers, Basis, LotsAnswer, LotStock, Told, Where, YarnAnswer, YarnWord
from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.yarn import (
    build_yarn_state,
    build_yarn_story_state,
    mixed_words,
    order_words,
    yarn_changed,
)
from tracker.words import day, mass

WHERE = Where(rows_woven=100, rows=200, knots_woven=10_000, knots=20_000, rows_last_session=5, hours_woven=40)


def answer(yarn_id: str = "red", word: YarnWord = YarnWord.SHORT, **changes) -> YarnAnswer:
    fields = {
        "yarn_id": yarn_id,
        "word": word,
        "chance": 0.05,
        "bought_g": 1000.0,
        "on_hand_g": 300.0,
        "on_hand_low_g": 280.0,
        "on_hand_high_g": 320.0,
        "needed_g": 640.0,
        "needed_low_g": 600.0,
        "needed_high_g": 690.0,
        "short_g": 340.0,
        "runs_out_row": 147,
        "runs_out_row_range": (141, 155),
        "runs_out_day": date(2026, 12, 18),
        "runs_out_day_range": (date(2026, 12, 12), date(2026, 12, 27)),
        "order_g": 500.0,
        "order_skeins": 1,
        "order_by": date(2026, 12, 4),
    }
    return YarnAnswer(**{**fields, **changes})


def enough(yarn_id: str) -> YarnAnswer:
    return answer(
        yarn_id, YarnWord.ENOUGH, chance=0.99, on_hand_g=900.0, needed_g=700.0, short_g=0.0, order_g=0.0,
        order_skeins=0, order_by=None,
    )  # fmt: skip


def answers(*found: YarnAnswer) -> Answers:
    return Answers(
        day=TODAY, where=WHERE, yarns=found, finish=None, basis=Basis(sessions=20, from_plan=False)
    )


def lot(lot_id: str, yarn_id: str = "red", dye_lot: str = "M-1", **changes) -> Lot:
    return replace(
        Lot(id=lot_id, rug_id="rug", yarn_id=yarn_id, day=date(2026, 10, 20), mass_g=1000.0, dye_lot=dye_lot),
        **changes,
    )


def test_the_page_leads_with_what_will_not_last_and_when_to_order() -> None:
    page = build_yarn_state(book(lots=(lot("l1"),)), answers(answer(), enough("blue"), enough("weft")))
    assert page.headline == "1 yarn will not last."
    assert page.hint == "Buy by 4 December."
    first = page.cards[0]
    assert (first.name, first.word, first.tone) == ("Madder", "short 340 g", "madder")
    assert (first.on_hand, first.needed) == ("300 g", "640 g")
    assert first.ends == "ends at row 147, about 18 Dec"
    assert first.share == 300 / 640
    assert [card.ends for card in page.cards[1:]] == ["", ""]
    # One colour weighed changes what is there of the others: the page says why, for as long as it is new.
    hints = [
        build_yarn_state(
            book(lots=(lot("l1"),)),
            answers(
                replace(
                    answer(),
                    told=Told(
                        day=TODAY - timedelta(days=ago),
                        mass_g=mass_g,
                        expected_g=70.0,
                        usual_g=8.0,
                        low_g=62.0,
                        high_g=78.0,
                    ),
                ),
                enough("blue"),
            ),
        ).hint
        for ago, mass_g in ((1, 61.0), (1, 79.0), (1, 50.0), (1, 65.0), (30, 50.0))
    ]
    assert hints == [
        "Buy by 4 December. By its weighing Madder takes more than expected, and so will the other colours.",
        "Buy by 4 December. By its weighing Madder takes less than expected, and so will the other colours.",
        "Buy by 4 December. Madder weighed far from what was expected. Say on its page what it was.",
        "Buy by 4 December.",
        "Buy by 4 December.",
    ]


def test_an_order_that_is_overdue_says_now() -> None:
    late = answer(order_by=TODAY - timedelta(days=3))
    assert build_yarn_state(book(lots=(lot("l1"),)), answers(late)).hint == "Buy now."
    words = order_words(yarns()[0], late, TODAY, ("M-1",))
    assert words == "Buy 500 g (1 skein) of dye lot M-1 now: it takes 14 days to come."


def test_a_yarn_that_would_end_with_the_last_row_is_not_said_to_end_before() -> None:
    tight = answer(word=YarnWord.TIGHT, chance=0.6, runs_out_row=200)
    assert (
        build_yarn_state(book(lots=(lot("l1"),)), answers(tight)).cards[0].ends == "to buy 500 g, for safety"
    )


def test_a_yarn_that_may_just_last_is_ordered_to_be_sure_and_not_told_to_end() -> None:
    tight = answer(word=YarnWord.TIGHT, chance=0.9, runs_out_row=200, runs_out_day=TODAY + timedelta(days=4))
    said = [
        order_words(yarns()[0], replace(tight, order_by=TODAY + timedelta(days=days)), TODAY)
        for days in (-3, 0, 9)
    ]
    rather_not = order_words(yarns()[0], replace(tight, chance=0.4, order_by=TODAY), TODAY)
    assert "may just" not in rather_not
    assert said == [
        "It may just last. To be sure, buy 500 g (1 skein) now.",
        "It may just last. To be sure, buy 500 g (1 skein) now.",
        f"It may just last. To be sure, buy 500 g (1 skein) by {day(TODAY + timedelta(days=9), TODAY)}.",
    ]
    # One verdict on its own page: not "very likely" beside an order, and no warning of its only lot, which has no mark.
    opened = LotsAnswer(
        stocks=(LotStock("l1", TODAY, "", 300.0, True),), since_row=0, assumed=True, lasts=False, ends_row=200
    )
    story = build_yarn_story_state(
        book(lots=(lot("l1", dye_lot=""),)),
        answers(replace(tight, chance=0.93, order_by=TODAY, lots=opened)),
        "red",
    )
    assert story is not None
    assert {fact.label: fact.figure for fact in story.facts}["It lasts to the last row"] == "likely"
    assert story.lots is None
    assert story.order.endswith("buy 500 g (1 skein) now. Ask for the same dye bath.")


def test_before_anything_is_bought_the_page_says_what_to_do_first() -> None:
    page = build_yarn_state(book(), answers(answer(word=YarnWord.NOT_BOUGHT, on_hand_g=0.0)))
    assert page.first
    assert page.headline == "Nothing bought yet."
    assert "shopping list" in page.hint


def test_when_all_lasts_the_page_says_so_calmly() -> None:
    page = build_yarn_state(book(lots=(lot("l1"),)), answers(enough("red"), enough("blue")))
    assert (page.headline, page.tone, page.hint) == ("Every yarn lasts.", "green", "")


def test_the_warp_is_counted_among_what_is_still_to_buy_and_what_is_short() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=500, fibre="cotton")
    rug = book(yarns=(*yarns(), warp), lots=(lot("l1"),))
    page = build_yarn_state(rug, answers(enough("red"), enough("blue")))
    line = next(line for line in material_plan(rug).shopping.lines if line.yarn_id == "warp")
    assert page.cards[-1].word == f"to buy {mass(line.to_buy_g)}"
    assert page.headline == "1 yarn is still to buy."
    little = book(yarns=(*yarns(), warp), lots=(lot("l1"), lot("l9", "warp", "", mass_g=10.0)))
    page = build_yarn_state(little, answers(enough("red"), enough("blue")))
    assert page.cards[-1].word == f"short {mass(line.need_g - 10)}"
    assert page.headline == "1 yarn will not last."


def test_a_warp_whose_need_may_be_more_than_is_there_is_not_called_enough() -> None:
    # Without a margin, too, the list proposes more until it very likely lasts.
    warp = Yarn(
        id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=500, fibre="cotton", margin=0.0
    )
    bare = book(yarns=(*yarns(), warp))
    need = material_plan(bare).warp
    assert need is not None
    lasting = answers(*(enough(one.id) for one in yarns()))
    said = []
    for grams in (need.need_g * 1.005, (need.need_g + need.need_high_g) / 2, need.need_high_g * 1.1):
        rug = replace(bare, lots=(lot("l9", "warp", "", mass_g=grams), lot("l1")))
        state = build_yarn_state(rug, lasting)
        card = next(card for card in state.cards if card.yarn_id == "warp")
        shopping = build_shopping_state(rug, material_plan(rug), lasting)
        line = next(line for group in shopping.groups for line in group.lines if line.yarn_id == "warp")
        said.append((card.word.split(",")[0], card.tone, state.headline, not line.bought))
    just = ("just enough", "ink", "1 yarn is only just enough.", True)
    assert said == [just, just, ("enough", "green", "Every yarn lasts.", False)]


def test_the_warp_stands_there_bought_or_not() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=500, fibre="cotton")
    rug = book(yarns=(*yarns(), warp))
    assert [card.name for card in build_yarn_state(rug, answers(enough("red"))).cards] == ["Madder", "Warp"]
    rug = book(yarns=(*yarns(), warp), lots=(lot("l9", "warp", ""),))
    card = build_yarn_state(rug, answers(enough("red"))).cards[-1]
    assert (card.name, card.on_hand) == ("Warp", "1 kg")
    mounted = replace(
        rug,
        preparations=(Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP, hours=8.0),),
    )
    card = build_yarn_state(mounted, answers(enough("red"))).cards[-1]
    assert card.word == "on the loom"
    off = replace(mounted, plan=replace(rug.plan, stage=RugStage.FINISHED))
    assert (
        next(c for c in build_yarn_state(off, answers()).cards if c.yarn_id == card.yarn_id).word
        == "in the rug"
    )
    story = build_yarn_story_state(mounted, answers(enough("red")), "warp")
    facts = {fact.label: fact.figure for fact in story.facts}
    assert facts["On hand"] == card.on_hand
    assert "The warp needs" not in facts
    assert facts["Bought in all"] == "1 kg"


def full_story_book():
    return book(
        session(1, 5, used=(("red", 1.0),)),
        session(2, 5, used=(("blue", 2.0),)),
        session(3, 5, used=(("red", 2.0), ("weft", 1.0))),
        lots=(lot("l1", price=60.0), lot("l2", dye_lot="M-2", day=date(2026, 11, 20), born=90)),
        weighings=(
            Weighing(id="", rug_id="rug", yarn_id="red", day=date(2026, 11, 22), mass_g=420.0, born=91),
        ),
        spoilt=(
            Spoilt(
                id="x1", rug_id="rug", yarn_id="red", day=date(2026, 11, 3), mass_g=15.0, note="moth", born=50
            ),
        ),
        samples=(
            Sample(
                id="p1", rug_id="rug", yarn_id="red", day=date(2026, 10, 25), knots=500, mass_g=30.0, born=1
            ),
        ),
    )


def test_the_story_tells_all_that_happened_newest_first() -> None:
    story = build_yarn_story_state(full_story_book(), answers(answer(mixed_lots=("M-1", "M-2"))), "red")
    assert [line.record_id for line in story.lines] == ["", "l2", "s3", "x1", "s1", "p1", "l1"]
    heads = {line.record_id: line for line in story.lines}
    assert heads[""].head == "420 g left on the scale"
    assert heads["s3"].head == "2 balls of Madder used up"
    assert heads["s3"].session
    assert heads["x1"].more == "moth"
    assert heads["l1"].more == "dye lot M-1 · price 60.00"
    # 30 g for 500 knots is 60 g for 1,000, by hand.
    assert heads["p1"].more == "60 g for 1,000 knots"


def test_the_story_gives_the_answer_in_full() -> None:
    story = build_yarn_story_state(full_story_book(), answers(answer(mixed_lots=("M-1", "M-2"))), "red")
    facts = {fact.label: (fact.figure, fact.more) for fact in story.facts}
    assert facts["On hand"] == ("300 g", "280 g to 320 g")
    assert facts["Still needed"] == ("640 g", "600 g to 690 g")
    assert facts["Ends at row"] == ("147", "row 141 to 155")
    assert facts["That is about"] == ("18 Dec", "12 Dec to 27 Dec")
    assert story.order == "Buy 500 g (1 skein) of dye lot M-2 by 4 December."
    assert "M-1 and M-2" in story.mixed
    assert "daylight" in story.mixed


def test_a_weft_is_wound_on_shuttles_and_not_sampled() -> None:
    story = build_yarn_story_state(full_story_book(), answers(enough("weft")), "weft")
    assert [act.label for act in story.acts] == ["Bought", "Weigh", "Shuttle empty", "Lost"]
    assert story.lines[0].head == "1 shuttle of Ground weft used up"


def test_one_dye_lot_is_no_cause_for_alarm() -> None:
    assert mixed_words(("M-1",)) == ""
    assert mixed_words(()) == ""


def test_a_yarn_that_left_the_plan_has_no_story() -> None:
    assert build_yarn_story_state(book(), answers(), "gone") is None


def test_an_act_says_what_it_did_to_its_yarn() -> None:
    said = yarn_changed(answers(answer()), answers(enough("red")), "red")
    assert said == "Now: enough, 200 g spare."
    assert yarn_changed(answers(answer()), answers(answer()), "red") == "Now: short 340 g."


def test_what_the_scale_tells_is_said_when_it_was_weighed_and_not_of_a_ball_counted_later() -> None:
    scale = Told(day=TODAY, mass_g=120.0, expected_g=125.0, usual_g=20.0, low_g=100.0, high_g=150.0)
    weighed = answers(answer(told=scale))
    assert yarn_changed(answers(answer()), weighed, "red") == "As expected (125 g, likely 100 g to 150 g)."
    # A ball counted moves what was reckoned before it was weighed, not what the scale showed.
    counted = answers(answer(told=replace(scale, expected_g=118.0)))
    assert yarn_changed(weighed, counted, "red") == "Now: short 340 g."
