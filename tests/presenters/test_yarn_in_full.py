"""What is said of yarn, balls and material of a small rug, read whole."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any, get_args, get_origin, get_type_hints

import numpy as np
import pytest

from tests.presenters import answers as told
from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.loom import Loom
from tracker.domain.lot_change import ChangePlace, LotChange
from tracker.domain.lot_moves import MovedLot
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import (
    AfterStep,
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugStage,
    Sample,
    Spoilt,
    UnpickedYarn,
    Weighing,
    Yarn,
)
from tracker.domain.unlikely import unlikely_rows
from tracker.domain.work import Tempo, usual_rows
from tracker.forecast.answers import LotsAnswer, LotStock, Told, YarnWord
from tracker.forecast.lessons import Lessons, YarnLesson
from tracker.presenters import balls, dye_lots, progress, session, shelf, unpick, yarn
from tracker.presenters.export import build_export_state
from tracker.presenters.guide import build_guide_state
from tracker.presenters.looms import build_looms_state, loom_card, measures_words
from tracker.presenters.material import ball_words, build_material_state, rests_words
from tracker.presenters.mending import (
    RemarkCard,
    remark_cards,
    square_words,
    threads,
    value_names,
    woven_words,
)
from tracker.presenters.preparation import build_preparation_state, count_words, one_more
from tracker.presenters.record.facts import facts_of_today, weaving_facts
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.sync import file_name, taken_back_words
from tracker.presenters.weeks import rows_by_week, week_of
from tracker.words import length, mass, small_length, work_words

# --- one yarn


def test_the_story_of_a_yarn_in_full() -> None:
    lots = (
        Lot(id="l", rug_id="rug", yarn_id="red", day=date(2026, 11, 1), mass_g=500.0, dye_lot="M-1", dyer="Nuray", price=41.5, born=1),
        MovedLot(id="x", rug_id="rug", yarn_id="red", day=date(2026, 11, 2), mass_g=50.0, dye_lot="M-1", move_id="v", other=None, born=2),
    )  # fmt: skip
    rug = rugs.book(
        rugs.session(6, 5, used=(("red", 2.0),), born=9),
        lots=lots,
        weighings=(Weighing(id="w", rug_id="rug", yarn_id="red", day=date(2026, 11, 3), mass_g=300.0, note="damp", born=3),),
        spoilt=(Spoilt(id="s", rug_id="rug", yarn_id="red", day=date(2026, 11, 4), mass_g=0.4, note="mouse", born=4),),
        samples=(Sample(id="p", rug_id="rug", yarn_id="red", day=date(2026, 11, 5), knots=400, mass_g=12.25, born=5),),
        preparations=(Preparation(id="b", rug_id="rug", yarn_id="red", day=date(2026, 11, 6), kind=PreparationKind.BALLS, count=3, born=6),),
        hand_outs=(HandOut(id="h", rug_id="rug", yarn_id="red", day=date(2026, 11, 7), balls=2.0, mass_g=150.0, note="to the left", born=8),),
        lot_changes=(LotChange(id="c", rug_id="rug", yarn_id="red", day=date(2026, 11, 8), lot_id="l", row=81, born=7),),
    )  # fmt: skip
    state = yarn.build_yarn_story_state(rug, told.answers(), "red")
    assert state is not None
    assert [
        (line.record_id, line.icon, line.day, line.head, line.more, line.session) for line in state.lines
    ] == [
        ("c", "skein", "8 Nov", "Dye lot M-1 from row 81, planned", "", False),
        ("s6", "ball", "7 Nov", "2 balls of Madder used up", "", True),
        ("h", "person", "7 Nov", "2 balls of Madder to the loom", "150 g · to the left", False),
        ("b", "wind", "6 Nov", "3 balls of Madder wound", "", False),
        ("p", "knot", "5 Nov", "Sample of 400 knots: 12.25 g", "31 g for 1,000 knots", False),
        ("s", "spoilt", "4 Nov", "0.4 g lost", "mouse", False),
        ("w", "weigh", "3 Nov", "300 g left on the scale", "damp", False),
        ("v", "skein", "2 Nov", "50 g taken from the shelf", "dye lot M-1", False),
        ("l", "buy", "1 Nov", "500 g bought", "dye lot M-1 · Nuray · price 41.50", False),
    ]
    # Nothing that names a yarn is missing in its story.
    of_book = {get_args(kind)[0] for kind in get_type_hints(RugBook).values() if get_origin(kind) is tuple}
    naming = {kind for kind in of_book if "yarn_id" in getattr(kind, "__dataclass_fields__", {})}
    assert naming == {Lot, Weighing, Spoilt, Sample, Preparation, LotChange, HandOut}, (
        "a kind of entry that names a yarn: lay one into the rug above"
    )
    assert (state.name, state.number, state.swatch, state.word, state.tone, state.share) == (
        "Madder", "1", "#9C2F25", "enough, 100 g spare", "green", 1.0,
    )  # fmt: skip
    assert [(fact.label, fact.figure, fact.more) for fact in state.facts] == [
        ("On hand", "500 g", "480 g to 520 g"), ("Still needed", "400 g", "380 g to 420 g"),
        ("It lasts to the last row", "likely", ""), ("For the whole rug, by the plan", "306 g", "267 g to 351 g"), ("Bought in all", "500 g", ""), ("Moved here in all", "50 g", "from other rugs and the shelf"), ("Lost in all", "0.4 g", ""),
    ]  # fmt: skip
    assert (state.basis, state.order, state.empty) == ("Learnt from what you used and weighed.", "", "")
    assert [(act.kind.value, act.label, act.icon) for act in state.acts] == [
        ("lot", "Bought", "buy"), ("weighing", "Weigh", "weigh"), ("ball", "Ball used up", "ball"), ("spoilt", "Lost", "spoilt"),
        ("sample", "Sample", "knot"),
    ]  # fmt: skip
    weft = yarn.build_yarn_story_state(rugs.book(rugs.session(1, 1, used=(("weft", 1.0),)), preparations=(
        Preparation(id="b", rug_id="rug", yarn_id="weft", day=TODAY, kind=PreparationKind.SHUTTLES, count=1),)), told.answers(), "weft")  # fmt: skip
    assert weft is not None
    assert [(line.icon, line.head) for line in weft.lines] == [
        ("shuttle", "1 shuttle of Ground weft made"), ("shuttle", "1 shuttle of Ground weft used up"),
    ]  # fmt: skip
    assert [act.label for act in weft.acts] == ["Bought", "Weigh", "Shuttle empty", "Lost"]
    assert yarn.build_yarn_story_state(rug, told.answers(), "gone") is None
    bare = yarn.build_yarn_story_state(rugs.book(), told.answers(), "red")
    assert bare is not None
    assert (bare.lines, bare.empty, bare.basis) == (
        (), "Nothing entered for this yarn yet. Begin with what you bought of it.",
        "From the plan until a ball is used up or something is weighed.",
    )  # fmt: skip


def short(**changes: Any) -> Any:
    fields = {
        "short_g": 40.0, "on_hand_g": 360.0, "runs_out_row": 147, "runs_out_row_range": (141, 155),
        "runs_out_day": date(2026, 12, 18), "runs_out_day_range": (date(2026, 12, 14), date(2026, 12, 30)), "chance": 0.01,
    }  # fmt: skip
    return told.yarn("red", YarnWord.SHORT, **{**fields, **changes})


def facts(answer: Any) -> list[tuple[str, str, str]]:
    state = yarn.build_yarn_story_state(rugs.book(), told.answers(yarns=(answer,)), "red")
    assert state is not None
    return [(fact.label, fact.figure, fact.more) for fact in state.facts]


def test_when_a_yarn_ends_is_told_with_what_it_may_be() -> None:
    assert facts(short())[2:5] == [
        ("It lasts to the last row", "very unlikely", ""), ("Ends at row", "147", "row 141 to 155"),
        ("That is about", "18 Dec", "14 Dec to 30 Dec"),
    ]  # fmt: skip
    sure = short(runs_out_row_range=(147, 147), runs_out_day_range=(date(2026, 12, 18), date(2026, 12, 18)))
    assert facts(sure)[3:5] == [("Ends at row", "147", ""), ("That is about", "18 Dec", "")]
    assert [label for label, _figure, _more in facts(short(runs_out_day=None))][3:] == [
        "Ends at row",
        "For the whole rug, by the plan",
        "Bought in all",
    ]
    assert len(facts(short(runs_out_row=200))) == 5
    done = told.yarn(
        "red",
        YarnWord.DONE,
        told=Told(day=TODAY, mass_g=300.0, expected_g=300.0, usual_g=10.0, low_g=290.0, high_g=310.0),
    )
    assert [facts(done)[0], facts(done)[2]] == [
        ("On hand", "500 g", "480 g to 520 g"), ("Last weighed", "25 Nov", "300 g on the scale, as expected (300 g, likely 290 g to 310 g)"),
    ]  # fmt: skip
    assert [label for label, _figure, _more in facts(told.yarn("red", YarnWord.NOT_BOUGHT))] == [
        "On hand", "Still needed", "For the whole rug, by the plan", "Bought in all",
    ]  # fmt: skip


def test_what_the_scale_tells_beside_what_was_reckoned() -> None:
    def said(mass_g: float) -> str:
        return yarn.told_words(
            told.yarn(
                "red",
                told=Told(
                    day=TODAY,
                    mass_g=mass_g,
                    expected_g=300.0,
                    usual_g=10.0,
                    low_g=290.0,
                    high_g=310.0,
                ),
            )
        )

    assert said(310.0) == "310 g on the scale, as expected (300 g, likely 290 g to 310 g)"
    assert said(289.0) == "289 g on the scale, 11 g less than expected"
    assert said(311.0) == "311 g on the scale, 11 g more than expected"
    assert yarn.told_words(told.yarn("red")) == ""


def test_what_to_order_and_by_when() -> None:
    red = rugs.yarns()[0]

    def said(days: int | None, lots: tuple[str, ...] = (), **changes: Any) -> str:
        by = None if days is None else date(2026, 11, days)
        answer = told.yarn("red", order_g=500.0, order_by=by, **changes)
        return yarn.order_words(red, answer, TODAY, lots)

    assert said(None) == "Buy 500 g."
    assert said(25) == "Buy 500 g now: it takes 14 days to come."
    assert (
        said(26, ("M-1", "M-2"), order_skeins=2)
        == "Buy 500 g (2 skeins) of dye lot M-1 / M-2 by 26 November."
    )
    assert said(26, order_skeins=1) == "Buy 500 g (1 skein) by 26 November."
    assert yarn.order_words(red, told.yarn("red"), TODAY) == ""
    next_day = yarn.order_words(
        replace(red, lead_days=1), told.yarn("red", order_g=1.0, order_by=TODAY), TODAY
    )
    assert next_day == "Buy 1 g now: it takes 1 day to come."
    # What was never bought does not end: it is needed from a day on.
    never = told.yarn(
        "red", YarnWord.NOT_BOUGHT, order_g=500.0, order_by=TODAY, runs_out_day=date(2026, 12, 1)
    )
    assert yarn.order_words(red, never, TODAY) == (
        "Buy 500 g now. It may come about 9 Dec, and is needed from about 1 Dec on."
    )


def page(*yarns: Any, **changes: Any):
    lot = Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=500.0)
    return yarn.build_yarn_state(rugs.book(**{"lots": (lot,), **changes}), told.answers(yarns=yarns))


@pytest.mark.parametrize(
    ("on_hand_g", "ends", "row_told"),
    [(390.0, "ends at row 147", "Ends at row"), (400.0, "to buy 9 g, for safety", "It may end from row")],
)
def test_a_yarn_of_which_nothing_is_missing_is_not_said_to_end_at_a_row(
    on_hand_g: float, ends: str, row_told: str
) -> None:
    """One card said "just enough, 0 g spare" and "ends at row 327" of 341, where few of its knots are left."""
    answer = told.yarn(
        "red", YarnWord.TIGHT, on_hand_g=on_hand_g, order_g=9.0, chance=0.5, runs_out_row=147,
        runs_out_row_range=(140, 200),
    )  # fmt: skip
    assert page(answer).cards[0].ends == ends
    assert [label for label, _figure, _more in facts(answer) if label.endswith(" row")] == [
        "It lasts to the last row",
        row_told,
    ]


def test_the_yarn_page_begins_with_what_matters_most() -> None:
    assert [
        (state.headline, state.tone, state.hint, state.first)
        for state in (
            page(),
            page(told.yarn("red"), lots=()),
            page(short(), told.yarn("blue", YarnWord.NOT_BOUGHT)),
            page(told.yarn("red", YarnWord.NOT_BOUGHT, order_g=1.0, order_by=date(2026, 12, 1))),
            page(told.yarn("red", YarnWord.TIGHT), told.yarn("blue", YarnWord.TIGHT, order_g=1.0, order_by=TODAY)),
            page(
                told.yarn("red", YarnWord.TIGHT, on_hand_g=400.0),
                told.yarn("blue", YarnWord.TIGHT, on_hand_g=410.0, order_g=1.0, order_by=TODAY),
            ),
            page(told.yarn("red", YarnWord.DONE)),
            page(told.yarn("red"), told.yarn("blue", YarnWord.DONE)),
        )
    ] == [
        ("No yarn in the plan yet.", "ink", "Add its colours and wefts to the plan first.", True),
        ("Nothing bought yet.", "ink",
         ("These masses come from the plan. Share the shopping list, or tap a yarn and enter what you "
         "have."), True),
        ("1 yarn will not last. 1 yarn is still to buy.", "madder", "", False),
        ("1 yarn is still to buy.", "madder", "Buy by 1 December.", False),
        ("2 yarns are probably enough, not surely.", "ink", "To be safe, buy a little now.", False),
        ("2 yarns are only just enough.", "ink", "Buy now.", False),
        ("The last row is woven: no more yarn is needed.", "soft", "", False),
        ("Every yarn lasts.", "green", "", False),
    ]  # fmt: skip
    (card, *_others) = page(short()).cards
    assert (card.yarn_id, card.number, card.name, card.swatch, card.word, card.tone, card.on_hand, card.needed, card.ends, card.share, card.role) == (
        "red", "1", "Madder", "#9C2F25", "short 40 g", "madder", "360 g", "400 g", "ends at row 147, about 18 Dec", 0.9, Role.PILE,
    )  # fmt: skip
    assert page(short(runs_out_day=None)).cards[0].ends == "ends at row 147"
    assert page(told.yarn("red", mixed_lots=("M-1", "M-2"))).cards[0].ends == "mixed dye lots: M-1 and M-2"
    assert page(told.yarn("red", YarnWord.DONE, needed_g=0.0)).cards[0].share == 1.0


def test_a_warp_is_bought_against_what_the_plan_needs_and_is_in_the_rug_once_mounted() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=400.0, fibre="cotton")
    rug = replace(rugs.book(plan=rugs.plan(stage=RugStage.PLANNED)), yarns=(*rugs.yarns(), warp))
    need = material_plan(rug).warp
    assert need is not None

    def card(bought_g: float, mounted: bool = False, rug=rug):
        lots = (Lot(id="l", rug_id="rug", yarn_id="warp", day=TODAY, mass_g=bought_g),) if bought_g else ()
        done = (Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP),) if mounted else ()
        told_rug = replace(rug, lots=lots, preparations=done)
        return next(c for c in yarn.build_yarn_state(told_rug, told.answers()).cards if c.yarn_id == "warp")

    assert card(0.0).word.startswith("to buy ")
    lacking = card(need.need_g - 100.0)
    assert (lacking.word, lacking.tone, lacking.ends, lacking.number) == ("short 100 g", "madder", "", "")
    enough = card(need.need_g + 100.0)
    assert (enough.word, enough.tone, enough.share) == ("enough, 100 g spare", "green", 1.0)
    mounted = card(need.need_g + 100.0, mounted=True)
    assert (mounted.word, mounted.tone, mounted.on_hand, mounted.needed, mounted.share) == (
        "on the loom",
        "soft",
        "100 g",
        "0 g",
        1.0,
    )
    # Cut off, or washed as nothing is on a loom, it hangs there no more; shorn it may be on the loom.
    for name, done_day, word in (
        ("Cut off and secure the ends", TODAY, "in the rug"),
        ("Cut off and secure the ends", None, "on the loom"),
        ("Washing", TODAY, "in the rug"),
        ("Shear", TODAY, "on the loom"),
    ):
        step = AfterStep(id="s", rug_id="rug", number=1, name=name, days=1.0, done_day=done_day)
        off = card(need.need_g + 100.0, mounted=True, rug=replace(rug, after_steps=(step,)))
        assert (name, off.word) == (name, word)


def test_what_an_act_did_to_a_yarn() -> None:
    before, after = (
        told.answers(yarns=(told.yarn("red", YarnWord.SHORT, short_g=40.0),)),
        told.answers(yarns=(told.yarn("red"),)),
    )
    assert yarn.yarn_changed(before, after, "red") == "Now: enough, 100 g spare."
    assert (
        yarn.yarn_changed(after, after, "red")
        == yarn.yarn_changed(None, after, "red")
        == "Now: enough, 100 g spare."
    )
    assert yarn.yarn_changed(before, told.answers(yarns=()), "red") == ""
    scale = told.answers(
        yarns=(
            told.yarn(
                "red",
                told=Told(
                    day=TODAY,
                    mass_g=300.0,
                    expected_g=300.0,
                    usual_g=1.0,
                    low_g=299.0,
                    high_g=301.0,
                ),
            ),
        )
    )
    assert yarn.yarn_changed(before, scale, "red") == "As expected (300 g, likely 299 g to 301 g)."
    light = told.answers(
        yarns=(
            told.yarn(
                "red",
                told=Told(
                    day=TODAY,
                    mass_g=250.0,
                    expected_g=300.0,
                    usual_g=1.0,
                    low_g=299.0,
                    high_g=301.0,
                ),
            ),
        )
    )
    assert yarn.yarn_changed(before, light, "red") == "50 g less than expected."
    assert yarn.yarn_changed(scale, scale, "red") == "Now: enough, 100 g spare."


# --- dye lots


def lots_answer(**changes: Any) -> LotsAnswer:
    fields = {
        "stocks": (LotStock("l", TODAY, "17", 300.0, True), LotStock("m", TODAY, "18", 900.0, False)), "since_row": 3, "assumed": False,
        "lasts": False, "ends_row": 120, "places": (ChangePlace(row=100),), "next_lot_id": "m", "buy_g": 250.0,
    }  # fmt: skip
    return LotsAnswer(**{**fields, **changes})


def lots_page(**changes: Any):
    return dye_lots.build_lots_state(rugs.book(), told.yarn("red", lots=lots_answer(**changes)), 200, TODAY)


def test_the_dye_lots_of_a_yarn_in_full() -> None:
    state = lots_page()
    assert state is not None
    assert [(line.lot_id, line.head, line.amount, line.more, line.open) for line in state.lines] == [
        ("l", "Dye lot 17", "300 g left", "open since row 3", True), ("m", "Dye lot 18", "900 g left", "", False),
    ]  # fmt: skip
    assert (state.warning, state.intro, state.planned, state.planned_id, state.can_open) == (
        "Dye lot 17 ends about row 120 of 200.",
        "Change to dye lot 18 where it shows least:", "", None, True,
    )  # fmt: skip
    assert state.alone == (
        "With the other lots there is enough. To keep to this one alone, buy 250 g more of it while the dyer "
        "still has it."
    )
    # Another sum is to buy where the other lots are used up, too: the page says why it names two.
    both = dye_lots.build_lots_state(
        rugs.book(), told.yarn("red", order_g=100.0, lots=lots_answer()), 200, TODAY
    )
    assert both is not None
    assert both.alone == ""
    assert both.warning == (
        "Dye lot 17 ends about row 120 of 200. To go on with it alone, buy 250 g of it now. The 100 g named above "
        "are enough where the other lots are used up, too."
    )
    once = dye_lots.build_lots_state(
        rugs.book(), told.yarn("red", order_g=250.0, lots=lots_answer()), 200, TODAY
    )
    assert once is not None
    assert once.warning == "Dye lot 17 ends about row 120 of 200."
    # Once a change is planned nothing of the open lot is to buy, unless it ends before.
    lots = (Lot(id="m", rug_id="rug", yarn_id="red", day=TODAY, mass_g=900.0, dye_lot="18"),)
    for row, warning in (
        (120, ""),
        (121, "Dye lot 17 ends about row 120, before the change that is planned."),
    ):
        change = LotChange(id="c", rug_id="rug", yarn_id="red", day=TODAY, lot_id="m", row=row)
        rug = rugs.book(lots=lots, lot_changes=(change,))
        planned = dye_lots.build_lots_state(rug, told.yarn("red", lots=lots_answer()), 200, TODAY)
        assert planned is not None
        assert planned.warning == warning
        story = yarn.build_yarn_story_state(
            rug,
            told.answers(yarns=(told.yarn("red", YarnWord.SHORT, order_g=100.0, lots=lots_answer()),)),
            "red",
        )
        assert story is not None
        assert "of dye lot 18" in story.order
    (place,) = state.places
    assert (place.head, place.reason, place.key) == (
        "From row 100",
        "Without a cartoon nobody knows where the colour lies.",
        "Plan it for row 100",
    )
    assumed = lots_page(assumed=True)
    assert assumed is not None
    assert assumed.lines[0].more == "assumed open: bought first"
    blend = lots_page(places=(ChangePlace(row=81, blend_rows=8, left_g=1.0),))
    assert blend is not None
    assert (blend.places[0].head, blend.places[0].key) == (
        "By turns over rows 81 to 88",
        "Plan it for rows 81 to 88",
    )
    assert blend.places[0].reason == (
        "Without a cartoon nobody knows where the colour lies. Let the lots take turns, row by row. "
        "About 1 g of the open lot would be left over."
    )
    nothing = lots_page(places=(ChangePlace(row=81, blend_rows=8, left_g=0.9),))
    assert nothing is not None
    assert "left over" not in nothing.places[0].reason
    used_up = lots_page(
        assumed=True, stocks=(LotStock("l", TODAY, "17", 0.9, True), LotStock("m", TODAY, "18", 900.0, False))
    )
    assert used_up is not None
    assert (
        used_up.warning == "Dye lot 17 should be used up by now. Say from which row on another lot is open."
    )
    one = lots_page(stocks=(LotStock("l", TODAY, "17", 300.0, True),), places=(), next_lot_id=None)
    assert one is not None
    assert (one.lines, one.can_open, one.warning) == (
        (), False, "Dye lot 17 ends about row 120 of 200. Buy the rest from the same dye bath while the dyer still has it.",
    )  # fmt: skip
    nameless = lots_page(
        stocks=(LotStock("l", TODAY, "", 300.0, True), LotStock("m", TODAY, "18", 900.0, False))
    )
    assert nameless is not None
    assert nameless.warning == "The lot of 25 Nov ends about row 120 of 200."
    unnoted = lots_page(
        stocks=(LotStock("l", TODAY, "17", 300.0, True), LotStock("m", TODAY, "", 49_000.0, False))
    )
    assert unnoted is not None
    assert unnoted.alone == ""
    assert unnoted.warning == (
        "Dye lot 17 ends about row 120 of 200. Some bought yarn has no dye lot. Tap it below and "
        "note the lot."
    )
    enough = lots_page(buy_g=0.0)
    assert enough is not None
    assert (enough.warning, enough.alone) == ("Dye lot 17 ends about row 120 of 200.", "")
    lasting = lots_page(lasts=True)
    assert lasting is not None
    assert lasting.warning == ""
    assert lots_page(lasts=True, stocks=(LotStock("l", TODAY, "17", 300.0, True),)) is None
    assert dye_lots.build_lots_state(rugs.book(), told.yarn("red"), 200, TODAY) is None
    assert dye_lots.lots_line(told.yarn("red", lots=lots_answer())) == "dye lot 17 ends about row 120"
    assert dye_lots.lots_line(told.yarn("red", lots=lots_answer(lasts=True))) == ""
    assert (
        dye_lots.lots_line(told.yarn("red", lots=lots_answer(places=())))
        == dye_lots.lots_line(told.yarn("red"))
        == ""
    )


def test_why_a_row_is_a_good_one_to_change_at() -> None:
    def said(**changes: Any) -> str:
        return dye_lots.reason_words(
            ChangePlace(
                **{"row": 100, "meeting": 4, "pieces": 2, "longest": 3, "in_row": 9, "before": 9, **changes}
            )
        )

    assert said() == (
        "4 knots lie on the row before, in 2 places, at most 3 side by side. Broken up like this, "
        "the change hardly shows."
    )
    assert said(pieces=1, plain=True) == "4 knots side by side lie on the row before. Such a long line shows."
    assert (
        said(meeting=1, pieces=1)
        == "1 knot lies on the row before. Broken up like this, the change hardly shows."
    )
    assert said(meeting=0) == "No knot of it touches one of the row before, so the lots do not touch."
    assert said(before=0) == "The colour starts again in this row, so the lots do not touch."
    assert said(in_row=0) == "The colour is not knotted here."
    assert said(blend_rows=8).startswith("Every row here is in a wide field of this colour")
    assert said(blend_rows=1) == said()


def lots_rug(*changes: LotChange, **more: Any) -> RugBook:
    lots = tuple(
        Lot(id=name, rug_id="rug", yarn_id="red", day=date(2026, 11, at), mass_g=500.0, dye_lot=mark, born=at)
        for at, (name, mark) in enumerate((("l", "17"), ("m", "18")), start=1)
    )
    return rugs.book(rugs.session(1, 50), lots=lots, lot_changes=changes, **more)


def change(row: int, blend: int = 0, done: bool = False) -> LotChange:
    return LotChange(id="c", rug_id="rug", yarn_id="red", day=date(2026, 11, 10), lot_id="m", row=row, blend_rows=blend,
                     done_day=date(2026, 11, 12) if done else None)  # fmt: skip


def test_the_row_at_the_loom_tells_of_a_change_in_time() -> None:
    coming = dye_lots.loom_lot(lots_rug(change(53)), 51)
    assert coming is not None
    assert (coming.words, coming.sheet_title, coming.row, coming.due, coming.done) == (
        "In 2 rows: Madder from dye lot 18", "Madder", 51, False, False,
    )  # fmt: skip
    assert coming.sentence == (
        "Planned: Madder from row 53 from dye lot 18, until then from dye lot 17. Every weaver changes in the same row."
    )
    now = dye_lots.loom_lot(lots_rug(change(53)), 53)
    late = dye_lots.loom_lot(lots_rug(change(53)), 54)
    assert now is not None
    assert late is not None
    assert (now.words, now.due) == ("From this row: Madder from dye lot 18", True)
    assert (late.words, late.due) == ("Changed? Madder from dye lot 18", True)
    turns = dye_lots.loom_lot(lots_rug(change(52, 4)), 51)
    assert turns is not None
    assert turns.words == "In 1 row: Madder from dye lot 18"
    assert turns.sentence == (
        "Planned: Madder from dye lot 18 and dye lot 17 by turns over rows 52 to 55, after that from "
        "dye lot 18 alone. One row of one, one row of the other. Every weaver uses the same lot in "
        "the same row."
    )
    under_way = lots_rug(change(49, 4, done=True))
    assert [getattr(dye_lots.loom_lot(under_way, row), "words", "") for row in (48, 49, 50, 51, 52, 53)] == [
        "", "Madder: this row from dye lot 18", "Madder: this row from dye lot 17", "Madder: this row from dye lot 18",
        "Madder: this row from dye lot 17", "",
    ]  # fmt: skip
    turn = dye_lots.loom_lot(under_way, 50)
    assert turn is not None
    assert (turn.sentence, turn.done, turn.due, turn.row) == (
        "Dye lot 18 and dye lot 17 take turns up to row 52.",
        True,
        True,
        50,
    )
    assert dye_lots.loom_lot(replace(under_way, plan=rugs.plan(stage=RugStage.FINISHED)), 50) is None
    assert dye_lots.record_words(under_way, under_way.yarns[0]) == "dye lot 18 by turns over rows 49 to 52"
    assert dye_lots.record_words(under_way, under_way.yarns[2]) == ""
    assert [(m.row, m.words, m.swatch, m.planned) for m in dye_lots.change_marks(under_way)] == [
        (49, "dye lot 18", "#9C2F25", False)
    ]
    assert [(m.row, m.words, m.planned) for m in dye_lots.change_marks(lots_rug(change(200)))] == [
        (200, "dye lot 18, planned", True)
    ]
    assert dye_lots.change_marks(lots_rug(change(201))) == ()
    moved = dye_lots.plan_change(lots_rug(change(53)), "red", "m", ChangePlace(row=60, blend_rows=1), TODAY)
    assert (moved.id, moved.rug_id, moved.row, moved.blend_rows, moved.day, moved.done_day) == (
        "c",
        "rug",
        60,
        0,
        TODAY,
        None,
    )
    new = dye_lots.plan_change(lots_rug(), "red", "m", ChangePlace(row=60, blend_rows=2), TODAY)
    assert (new.id != "c", new.blend_rows, new.lot_id, new.yarn_id) == (True, 2, "m", "red")
    assert dye_lots.done_change(change(53), 54, date(2026, 11, 9)).done_day == date(2026, 11, 10)


# --- balls


def test_the_balls_of_who_weaves_alone_in_full() -> None:
    rug = rugs.book(rugs.session(1, 100), hand_outs=(
        HandOut(id="h", rug_id="rug", yarn_id="red", day=date(2026, 11, 20), weaver_id="ann", balls=1.0, mass_g=100.0, born=2),
        HandOut(id="g", rug_id="rug", yarn_id="blue", day=date(2026, 11, 21), weaver_id="ann", kind=HandOutKind.RETURNED, balls=1.0, mass_g=200.0, born=3),
    ))  # fmt: skip
    answers = told.answers(
        where=told.where(rows_woven=100), yarns=(told.yarn("red"), told.yarn("blue")), finish=None
    )
    state = balls.build_balls_state(rug, answers)
    # The hundred rows to come take 400 g of each colour: 4 g a row, so a ball of 100 g ends with row 125.
    assert (state.headline, state.figure, state.notes, state.alone, state.who) == (
        "To the last row", "4 balls, 700 g", (
            "Still needed in all: 800 g, of which 100 g is on hand.",
            "At most 200 g on a ball: assumed until you give your own, with the yarn in the plan.",
        ), True, "Ann",
    )  # fmt: skip
    assert state.picture_words == "The rows still to come. The longer a colour, the more knots it has."
    assert [(line.record_id, line.words, line.note) for line in state.handed] == [
        ("g", "1 ball of Indigo back from Ann", "21 Nov"), ("h", "1 ball of Madder to Ann", "20 Nov"),
    ]  # fmt: skip
    (part,) = state.picture
    assert (part.number, part.share, [(c.code, c.swatch, c.share) for c in part.colours]) == (
        "", 1.0, [("1", "#9C2F25", 0.5), ("2", "#27406B", 0.5)],
    )  # fmt: skip
    (card,) = state.seats
    assert (card.weaver_id, card.title, card.note, card.figure, card.key, card.known) == (
        "ann", "Ann", "100 knots, knots 1 to 100", "To give: 4 balls, 700 g", "Give all", True,
    )  # fmt: skip
    red, blue = card.lines
    assert (red.yarn_id, red.code, red.name, red.swatch, red.words, red.note, red.share, red.balls, red.key) == (
        "red", "1", "Madder", "#9C2F25", "2 balls, 300 g", "needs 400 g\nhas 1 ball, about 100 g\nthe next in row 126",
        0.25, 2, "Give",
    )  # fmt: skip
    assert (blue.words, blue.note, blue.share, blue.balls) == (
        "2 balls, 400 g",
        "",
        0.0,
        2,
    )
    few = balls.build_balls_state(rug, answers, rows=20)
    assert (few.headline, few.seats[0].lines[0].words, few.seats[0].lines[0].key) == (
        "For the next 20 rows", "Enough on hand", "",
    )  # fmt: skip
    assert [(span.words, span.rows) for span in few.spans] == [("To the end", None), ("20 rows", 20)]
    assert balls.rows_words(1) == "1 row"
    given = balls.given_now(rug, answers, card, card.lines, TODAY)
    assert [(one.rug_id, one.yarn_id, one.weaver_id, one.day, one.balls, one.mass_g, one.lot_id) for one in given] == [
        ("rug", "red", "ann", TODAY, 2.0, 300.0, None), ("rug", "blue", "ann", TODAY, 2.0, 400.0, None),
    ]  # fmt: skip
    two = (replace(given[0], balls=2.0), replace(given[0], balls=1.5))
    assert balls.given_words(rug, two) == "3.5 balls in 2 colours"
    assert balls.given_words(rug, given[:1]) == "2 balls of Madder to Ann"
    form = balls.hand_out_form(rug, answers, card, red, TODAY)
    assert (form.yarn_id, form.answers["weaver_id"], form.answers["kind"], form.answers["balls"]) == (
        "red",
        "ann",
        "given",
        2,
    )
    back = balls.hand_out_form(rug, answers, card, few.seats[0].lines[0], TODAY)
    assert (back.answers["kind"], back.answers["balls"]) == ("returned", 1)
    bare = balls.build_balls_state(rugs.book(yarns=()), told.answers(yarns=()))
    assert (bare.headline, bare.figure, bare.notes, bare.spans, bare.picture) == (
        "Add the colours of the pile first.",
        "",
        (),
        (),
        (),
    )


# --- session and unpicking


def test_the_session_page_in_full() -> None:
    rug = rugs.book(rugs.session(1, 5), rugs.session(2, 6))
    form = replace(session.blank_form(rug, TODAY), rows=5, hours=2.5, used=(("red", 1.5),), note="warm")
    state = session.build_session_state(form, rug, TODAY)
    assert (state.day, state.rows, state.rows_after, state.hours, state.hours_value, state.note) == (
        "today", 5, "then row 16 of 200 done", "2.5 h", 2.5, "warm",
    )  # fmt: skip
    assert [(line.yarn_id, line.number, line.name, line.swatch, line.count) for line in state.balls] == [
        ("red", "1", "Madder", "#9C2F25", 1.5), ("blue", "2", "Indigo", "#27406B", 0.0),
    ]  # fmt: skip
    assert [(line.yarn_id, line.number, line.count) for line in state.shuttles] == [("weft", "", 0.0)]
    assert (state.weavers, state.correcting, state.waiting, state.can_save, state.team) == (
        (("ann", "Ann", True), ("bo", "Bo", False)), False, "", True, False,
    )  # fmt: skip
    assert (state.places, state.places_words, state.begun, state.half, state.begun_label, state.begun_shown) == (
        (), "Shared evenly until you say who sits where. Tap to say.", None, 50, "Part of row 17", "Knots",
    )  # fmt: skip
    yesterday = session.build_session_state(
        replace(form, day=date(2026, 11, 24), hours=None), rug, TODAY, waited=True
    )
    assert (yesterday.day, yesterday.waiting, yesterday.hours, yesterday.hours_value) == (
        "yesterday", "Not saved yet: the session of 24 November.", "not given", 0.0,
    )  # fmt: skip
    assert (
        session.build_session_state(replace(form, day=date(2026, 11, 24)), rug, TODAY, True, True).waiting
        == ""
    )
    assert session.build_session_state(replace(form, day=date(2026, 11, 20)), rug, TODAY).day == "20 Nov"
    begun = session.build_session_state(form.with_begun(40), rug, TODAY)
    assert (begun.rows_after, begun.begun, begun.begun_shown) == (
        "row 16 done and 40 knots",
        40,
        "40 knots",
    )
    assert session.build_session_state(form.with_begun(50), rug, TODAY).begun_shown == "Knots"
    empty = replace(form, rows=0, used=(), note="")
    assert not session.build_session_state(empty, rug, TODAY).can_save
    assert not session.build_session_state(empty.with_begun(0), rug, TODAY).can_save, (
        "nothing is begun as it is"
    )
    assert session.build_session_state(empty, rug, TODAY, correcting=True).can_save, (
        "its hours can be corrected"
    )
    assert not session.build_session_state(replace(empty, hours=None), rug, TODAY, correcting=True).can_save
    team = replace(form, weavers=("ann", "bo"), places=(("ann", 1, 60), ("bo", 71, 100)), ahead=(("bo", 2),))
    state = session.build_session_state(team, rug, TODAY)
    assert (state.team, state.places_words) == (
        True, "1 Ann: 60 knots · 2 Bo: 30 knots, 2 rows ahead · Nobody sits at knots 61 to 70.",
    )  # fmt: skip


def test_the_place_at_the_loom_says_what_is_begun_unless_it_was_said_here() -> None:
    rug = rugs.book(rugs.session(1, 5))
    form = replace(session.blank_form(rug, TODAY), rows=3)
    # Row 9 comes next after five rows and three.
    assert form.with_place_at_loom(rug, session.PlaceAtLoom(9, 1, TODAY)).begun_knots == 1
    assert form.with_place_at_loom(rug, session.PlaceAtLoom(9, 99, TODAY)).begun_knots == 99
    assert form.with_place_at_loom(rug, session.PlaceAtLoom(9, 100, TODAY)).begun_knots is None
    assert form.with_place_at_loom(rug, session.PlaceAtLoom(9, 0, TODAY)).begun_knots is None
    assert form.with_place_at_loom(rug, session.PlaceAtLoom(8, 40, TODAY)).begun_knots is None
    assert form.with_place_at_loom(rug, None).begun_knots is None
    said = form.with_begun(7)
    assert said.with_place_at_loom(rug, session.PlaceAtLoom(9, 40, TODAY)).begun_knots == 7
    assert said.with_begun(7).begun_knots is None


def test_the_usual_evening_offers_its_rows_and_hours() -> None:
    usual = rugs.book(*(rugs.session(n, 6, hours=2.75) for n in range(1, 4)))
    assert (usual_rows(usual), session.proposed_hours(6, usual), session.suggestions(usual)) == (
        6,
        2.75,
        (4, 5, 6, 7, 8),
    )
    assert unlikely_rows(18, usual, "") == 6
    assert unlikely_rows(17, usual, "") is None
    assert unlikely_rows(18, replace(usual, sessions=usual.sessions[:1]), "") == 6
    few = rugs.book(*(rugs.session(n, 2) for n in range(1, 4)))
    assert [unlikely_rows(rows, few, "") for rows in (11, 12)] == [None, 2]


def test_rows_taken_out_are_said_with_what_comes_out_with_them() -> None:
    rug = lots_rug(change(49, done=True), marks=())
    form = unpick.blank_form(rug, TODAY, 48)
    state = unpick.build_unpick_state(form, rug, TODAY)
    assert (state.day, state.first_row, state.most_row, state.span) == (
        "today",
        48,
        50,
        "to row 50, the last one woven",
    )
    assert (state.act, state.more, state.hours, state.can_save, state.empty, state.next_key) == (
        "Unpick rows 48 to 50", "Madder: dye lot 18 from row 49, planned again.", "not given", True, "", "",
    )  # fmt: skip
    assert [(line.yarn_id, line.number, line.name, line.swatch) for line in state.lines] == [
        ("red", "1", "Madder", "#9C2F25"), ("blue", "2", "Indigo", "#27406B"), ("weft", "", "Ground weft", rug.yarns[2].swatch),
    ]  # fmt: skip
    topmost = unpick.blank_form(rug, TODAY, row=50)
    alone = unpick.build_unpick_state(topmost, rug, TODAY)
    assert (alone.first_row, alone.act) == (50, "Unpick row 50")
    waiting = unpick.build_unpick_state(form, rug, TODAY, waiting=True)
    assert (waiting.can_save, waiting.next_key) == (False, "Save the session")
    nothing = unpick.build_unpick_state(unpick.blank_form(rugs.book(), TODAY), rugs.book(), TODAY)
    assert (nothing.can_save, nothing.more) == (False, "")
    assert nothing.empty.startswith("No row is on the loom yet.")
    begun = rugs.book(rugs.session(1, 5, begun_knots=40))
    state = unpick.build_unpick_state(
        replace(unpick.blank_form(begun, TODAY, row=6), day=date(2026, 11, 24)), begun, TODAY
    )
    assert (state.day, state.span, state.act, state.most_row) == (
        "yesterday", "to row 6, of which 40 knots are tied", "Unpick the begun part of row 6", 6,
    )  # fmt: skip
    out = unpick.to_values(replace(form, hours=1.5, note=" slip "), rug, TODAY)
    assert (out.session.rows, out.session.hours, out.session.note, out.session.unpicked_yarn, out.session.begun_knots) == (
        -3, 1.5, "slip", UnpickedYarn.SAID, None,
    )  # fmt: skip
    assert [(one.row, one.done_day) for one in out.changes] == [(49, None)]
    lost = sum(loss.mass_g for loss in out.losses)
    assert unpick.saved_words(out) == f"3 rows unpicked, {unpick.small_mass(lost)} lost"
    assert (
        unpick.saved_words(replace(out, losses=(), session=replace(out.session, rows=0)))
        == "Begun row unpicked"
    )
    said = unpick.build_unpick_state(form.with_lost("red", 5.0).with_lost("blue", 0.05), rug, TODAY)
    assert [line.lost for line in said.lines][:2] == ["5 g lost", "used again"]
    assert form.with_lost("red", 5.0).with_lost("red", None) == form


# --- the material plan and preparation


def test_the_material_page_in_full_where_it_can_be_worked_out() -> None:
    warp = Yarn(
        id="warp",
        rug_id="rug",
        role=Role.WARP,
        number=1,
        name="Warp",
        tex=400.0,
        fibre="cotton",
        unit_mass_g=500.0,
    )
    rug = replace(rugs.book(plan=rugs.plan(stage=RugStage.PLANNED, beam_roll_cm=50.0, loom_width_cm=150.0, wash_shrinkage_length=0.02)),
                  yarns=(*rugs.yarns(), warp))  # fmt: skip
    plan = material_plan(rug)
    state = build_material_state(rug, plan, None)
    assert [(group.title, group.icon) for group in state.groups] == [
        ("The cloth", "rug"), ("Colours", "ball"), ("Wefts", "shuttle"), ("Warp", "warp"),
        ("Does it fit the loom?", "measure"), ("The work", "timer"),
    ]  # fmt: skip
    cloth = {fact.label: fact for fact in state.groups[0].facts}
    assert cloth["Planned on the loom"].figure == "41.6 × 80 cm with selvedges"
    assert cloth["Knots"].figure == "20,000"
    assert cloth["Density"].figure == "25 × 25 per 10 cm"
    size, on_loom, knots, density = (
        cloth[label].story for label in ("Finished size", "Planned on the loom", "Knots", "Density")
    )
    assert size is not None
    assert on_loom is not None
    assert knots is not None
    assert density is not None
    assert size.title == "Finished size"
    assert size.sentence == "Off the loom, washed and dry, the knotted part."
    assert size.lines == (
        ("Shorter after washing", "2 %"), ("Allowed in width, either way", "3 cm"), ("Allowed in length, either way", "3 cm"),
    )  # fmt: skip
    # 208 warps, two to a knot at 4 mm: 41.6 cm; 80 cm and two ends of 2 cm.
    assert on_loom.lines == (
        ("Knots across", "100"), ("Rows", "200"), ("Width of the knots alone", "40 cm"), ("Length with the flat ends", "84 cm"),
    )  # fmt: skip
    assert (knots.title, knots.sentence, knots.lines) == ("Knots", "100 knots across in 200 rows.", ())
    assert dict(density.lines)["per 10 cm"] == "25 × 25"
    (of_warp,) = state.groups[3].yarns
    assert (of_warp.yarn_id, of_warp.number, of_warp.name, of_warp.story.title) == (
        "warp",
        "",
        "Warp",
        "Warp",
    )
    assert of_warp.lines[0] == f"208 warps of {length(plan.warp_length_cm)}"
    assert of_warp.story.lines[:6] == (
        ("Knots across", "100"), ("Extra warps in the selvedges", "8"), ("Warps", "208"),
        ("Woven length with both ends", "84 cm"), ("Fringes, both", "20 cm"), ("Loom waste", "40 cm"),
    )  # fmt: skip
    fits, beam = state.groups[4].facts
    # 150 cm, less the cloth of 41.6 and 10 cm for the hands; 84 cm on a beam that takes 50.
    assert (fits.figure, beam.figure) == ("fits, 98.4 cm to spare", "too large by 34 cm")
    assert fits.story is not None
    assert fits.story.lines == (
        ("Cloth with selvedges", "41.6 cm"),
        ("Room for hands", "10 cm"),
        ("Loom", "150 cm"),
    )
    assert beam.story is not None
    assert beam.story.lines == (("Cloth with its ends", "84 cm"),)
    work = {fact.label: fact for fact in state.groups[5].facts}
    assert work["Knotting"].story is not None
    assert dict(work["Knotting"].story.lines)["Knots"] == "20,000"
    assert dict(work["Knotting"].story.lines)["Weavers side by side"] == "1"
    assert (work["Knotting"].figure, work["Knotting"].story.source) == (work_words(plan.weaving_hours), "")
    # As its lines are said: a warp in 5.1 h, two balls in 27 min, two more in 27 min, a shuttle in 19 min.
    assert work["Preparation"].figure == "6.3 h"
    assert work["Preparation"].story is not None
    assert work["Preparation"].story.sentence == plan.preparation.rests_on
    assert dict(work["Preparation"].story.lines)["Left to do"] == "6.3 h"
    (weft,) = state.groups[2].yarns
    assert (weft.yarn_id, weft.name, weft.lines[0]) == ("weft", "Ground weft", "1 pass after each row")
    red = state.groups[1].yarns[0]
    assert (red.yarn_id, red.swatch, red.number, red.story.title) == ("red", "#9C2F25", "1", "Madder")
    assert dict(red.story.lines)["Knots"] == "10,000"
    open_loom = build_material_state(
        replace(rug, plan=rugs.plan()), material_plan(replace(rug, plan=rugs.plan())), None
    )
    assert [fact.figure for fact in open_loom.groups[4].facts] == [
        "loom's size not given",
        "what it rolls up is not given",
    ]
    lent = build_material_state(replace(rug, plan=rugs.plan(jufti_share=0.5, warp_offset_degrees=45.0)), material_plan(
        replace(rug, plan=rugs.plan(jufti_share=0.5, warp_offset_degrees=45.0))), None)  # fmt: skip
    said = next(fact.story for fact in lent.groups[0].facts if fact.label == "Knots")
    assert said is not None
    assert said.lines == (("Field tied over four warps", "50 %"), ("Every second warp", "half behind"))
    assert (small_length(1.25), small_length(1.25, "cm", 2)) == ("1.2 mm", "1.25 mm")
    assert rests_words("nothing known") == ""


def test_balls_of_several_weavers_and_the_checklist() -> None:
    rug = rugs.book(plan=rugs.plan(stage=RugStage.PLANNED, weavers_planned=2))
    plan = material_plan(rug)
    line = plan.balls[0]
    assert ball_words(line) == (
        f"{line.balls} balls of about {mass(line.wound_g / line.balls)}, {line.balls // 2} for each weaver, about {small_length(line.diameter_mm, decimals=0)} across"
    )
    assert ball_words(replace(line, balls=0)) == "no ball to wind"
    one = ball_words(replace(line, balls=1, by_section=(1,)))
    assert one == f"1 ball of {mass(line.wound_g)}, about {small_length(line.diameter_mm, decimals=0)} across"
    state = build_preparation_state(rug, plan, TODAY)
    assert [(group.title, group.icon) for group in state.groups][-2:] == [
        ("Wind balls", "wind"),
        ("Make shuttles", "shuttle"),
    ]
    wound = next(group for group in state.groups if group.icon == "wind").lines[0]
    assert (wound.yarn_id, wound.swatch, wound.number, wound.one_more, wound.ticked, wound.share) == (
        "red",
        "#9C2F25",
        "1",
        "+1",
        False,
        0.0,
    )
    assert wound.note.startswith(f"{line.balls // 2} for each weaver; about ")
    wind_h = line.balls * plan.preparation.ball.hours(line.wound_g / line.balls)
    assert wound.note.endswith(f"about {work_words(wind_h)} left")
    assert state.headline == "About 6.3 h left of 6.3 h"
    assert (state.share, state.ready, state.warp, state.done) == (0.0, False, "", ())
    more = one_more(rug, wound, TODAY)
    assert (more.rug_id, more.day, more.kind, more.yarn_id, more.count, more.hours) == (
        "rug",
        TODAY,
        PreparationKind.BALLS,
        "red",
        1,
        None,
    )
    assert [count_words(kind, 2) for kind in (PreparationKind.BALLS, PreparationKind.SHUTTLES, PreparationKind.WARP)] == [
        "2 balls", "2 shuttles", "warp mounted",
    ]  # fmt: skip
    mounted = replace(
        rug, preparations=(Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.WARP),)
    )
    assert [(entry.words, entry.note) for entry in build_preparation_state(mounted, material_plan(mounted), TODAY).done] == [
        ("warp mounted", "25 November"),
    ]  # fmt: skip


# --- looms and shelf


def test_a_loom_and_what_lies_on_it_in_full() -> None:
    loom = Loom(id="loom", name="By the window", width_cm=150.0, longest_warp_cm=640.0, seats=3)
    rug = rugs.book(rugs.session(1, 50, weavers=("bo", "gone")), plan=rugs.plan(loom_id="loom"))
    card = loom_card(loom, [(rug, told.answers())], [], TODAY)
    assert (card.loom_id, card.name, card.measures, card.free) == (
        "loom", "By the window", "upright, fixed beams, 150 cm wide, warp up to 640 cm, 3 seats", False,
    )  # fmt: skip
    assert (card.headline, card.range, card.warp, card.sat) == (
        "Free about 20 January 2027",
        "likely 12 Jan to 31 Jan 2027",
        "",
        "as on 2 November; nobody said in which order",
    )
    assert [(seat.number, seat.name, seat.weaver_id) for seat in card.seats] == [
        ("1", "Bo", "bo"),
        ("2", "somebody", "gone"),
        ("3", "", ""),
    ]
    (line,) = card.rugs
    assert (line.rug_id, line.name, line.where, line.note, line.share, line.woven_now) == (
        "rug", "Little field", "row 50 of 200, 25 % of the knots", "being woven now", 0.25, True,
    )  # fmt: skip
    assert (card.begin_after, card.begin_words) == (None, "")
    woven = loom_card(loom, [(rug, told.answers(finish=None, finished=True))], [], TODAY)
    assert (woven.headline, woven.range) == ("The last row is woven: free once the rug is cut off", "")
    silent = loom_card(loom, [(rug, told.answers(finish=None, silent_days=70))], [], TODAY)
    assert (silent.headline, silent.range) == ("Nothing entered for 70 days", "no date")
    later = rugs.book(plan=rugs.plan(stage=RugStage.PLANNED, loom_id="loom", start_day=date(2026, 11, 26)))
    unwoven = told.answers(where=told.where(rows_woven=0))
    free = loom_card(
        loom, [(later, unwoven)], [replace(rug, plan=rugs.plan(id="old", loom_id="loom"))], TODAY
    )
    assert (free.free, free.headline, free.range) == (
        True,
        "Free until 26 November",
        "Little field comes next",
    )
    assert free.sat == "as last on 2 November, with another rug; nobody said in which order"
    due = loom_card(loom, [(replace(later, plan=replace(later.plan, start_day=TODAY)), unwoven)], [], TODAY)
    assert due.headline == "Free"
    assert measures_words(Loom(id="x", name="X"), "inch") == "upright, fixed beams"
    page = build_looms_state([loom, Loom(id="x", name="X")], [(rug, told.answers())], [], TODAY)
    assert (page.headline, page.empty, page.unplaced) == ("2 looms, 1 free", "", ())
    alone = build_looms_state([loom], [(rug, told.answers())], [], TODAY)
    assert alone.headline == "1 loom, none free"
    none = build_looms_state([], [(rug, told.answers())], [], TODAY)
    assert [line.rug_id for line in none.unplaced] == ["rug"]
    assert none.empty.startswith("Enter each loom once")


def test_a_rug_on_the_shelf_and_what_can_be_done_with_it() -> None:
    planned = shelf.rug_card(rugs.plan(stage=RugStage.PLANNED), TODAY, True)
    assert (planned.where, planned.when, planned.share, planned.in_hand, planned.size) == (
        "200 rows", "to begin 2 November", 0.0, True, "to be 40 × 80 cm finished",
    )  # fmt: skip
    begun = shelf.rug_card(rugs.plan(stage=RugStage.PLANNED), TODAY, False, told.answers())
    assert (begun.stage, begun.where) == (RugStage.ON_LOOM, "row 50 of 200, 25 % of the knots")
    ended = rugs.plan(stage=RugStage.FINISHED, finished_day=date(2026, 11, 20))
    done = shelf.rug_card(ended, TODAY, False, told.answers(where=told.where(rows_woven=200)))
    assert (done.where, done.when, done.share) == ("200 rows", "finished 20 November", 1.0)
    assert shelf.rug_card(rugs.plan(stage=RugStage.FINISHED), TODAY, False).when == ""

    def deeds(stage: RugStage, in_hand: bool, woven: int) -> list[tuple[str, str, str, str]]:
        return [
            (d.key, d.label, d.icon, d.role) for d in shelf.deeds_of(rugs.plan(stage=stage), in_hand, woven)
        ]

    always = [("record", "Share and print", "share", "plain"), ("plan", "Change the plan", "edit", "plain"),
              ("order", "Customer's order", "person", "plain"), ("withdraw", "Delete the rug", "withdraw", "plain")]  # fmt: skip
    assert deeds(RugStage.PLANNED, False, 0) == [
        ("hand", "Show it", "right", "act"),
        ("loom", "Put it on the loom", "warp", "plain"),
        *always,
    ]
    opened = ("hand", "Show it", "right", "plain")
    assert deeds(RugStage.PLANNED, True, 0) == [
        opened,
        ("loom", "Put it on the loom", "warp", "act"),
        *always,
    ]
    assert deeds(RugStage.ON_LOOM, True, 199) == [
        opened,
        ("finish", "It is finished", "flag", "plain"),
        ("lessons", "Lessons from it", "info", "plain"),
        *always,
    ]
    assert deeds(RugStage.ON_LOOM, True, 200)[1] == ("finish", "It is finished", "flag", "act")
    assert deeds(RugStage.ON_LOOM, False, 200)[1][3] == "plain"
    assert deeds(RugStage.ON_LOOM, True, 0) == [opened, *always]
    assert deeds(RugStage.FINISHED, True, 1)[1:3] == [
        ("lessons", "Lessons from it", "info", "plain"),
        ("back", "Back on the loom", "undo", "plain"),
    ]
    assert shelf.unfinished_words(rugs.plan().rows, 200) == ""
    assert (
        shelf.unfinished_words(rugs.plan().rows, 199)
        == "1 row of the plan is not woven. Is the rug finished all the same?"
    )


def test_what_a_rug_taught_in_full() -> None:
    def lesson(yarn_id: str, g_each: float, weighed: bool = True) -> YarnLesson:
        return YarnLesson(
            yarn_id=yarn_id,
            rows=200,
            units=1000.0,
            used_g=30.0,
            g_each=g_each,
            planned_g_each=0.03,
            weighed=weighed,
        )

    lessons = Lessons(rows=200, knots=20000, sessions=1, hours=40.0, knots_per_hour=480.4, tempo=Tempo(knots=19216.0, loom_hours=40.0, weaver_hours=40.0, unpicked=0.0, sessions=1, whole=True), unpicked=0, planned_knots_per_hour=500.0,
                      first_day=date(2026, 11, 2), last_day=date(2026, 11, 3), yarns=(lesson("red", 0.033), lesson("weft", 0.0285, False)))  # fmt: skip
    state = shelf.build_lesson_state(rugs.book(rugs.session(1, 200, 40.0)), lessons, TODAY)
    assert state.title == "Lessons from Little field"
    assert state.facts == (
        ("Rows woven", "200", "20,000 knots"), ("Hours at the loom", "40 h", "in 1 session"),
        ("Knots an hour", "480", "by one weaver: 19,216 knots in 40 h; planned: 500"),
        ("From first to last day", "2 days", "2 November to 3 November"),
    )  # fmt: skip
    assert [(y.number, y.name, y.swatch, y.real, y.planned, y.difference, y.tone) for y in state.yarns] == [
        ("1", "Madder", "#9C2F25", "33 g for 1,000 knots", "planned: 30 g", "10 % more than planned, weighed after 200 rows", "madder"),
        ("", "Ground weft", rugs.yarns()[2].swatch, "0.03 g a row", "planned: 0.03 g", "5 % less than planned, by what was used up", "ink"),
    ]  # fmt: skip
    assert state.missing == "Weigh what is left of Indigo: its use then stands here, too."
    bare = shelf.build_lesson_state(
        rugs.book(),
        replace(lessons, yarns=(lesson("red", 0.0301),), planned_knots_per_hour=None, first_day=None),
        TODAY,
    )
    assert (bare.facts[-1], bare.yarns[0].difference, bare.yarns[0].tone) == (
        ("Knots an hour", "480", "by one weaver: 19,216 knots in 40 h"),
        "as planned, weighed after 200 rows",
        "green",
    )
    assert bare.missing == "Weigh what is left of 2 more yarns: their use then stands here, too."


# --- charts and the record


def test_rows_by_week_and_hours_by_weekday_as_charts() -> None:
    rug = rugs.book(
        rugs.session(1, 5, hours=2.0), rugs.session(3, 3, hours=4.0), rugs.session(9, 2, hours=None)
    )
    assert week_of(date(2026, 11, 8)) == date(2026, 11, 2)
    assert week_of(date(2026, 11, 8), 6) == date(2026, 11, 8)
    assert rows_by_week(rug) == ((date(2026, 11, 2), 8), (date(2026, 11, 9), 2))
    assert rows_by_week(rug, until=date(2026, 11, 16))[-1] == (date(2026, 11, 16), 0)
    assert rows_by_week(rugs.book()) == ()
    chart = progress.weeks_chart(rug, date(2026, 11, 16))
    assert (chart.title, chart.kind, chart.summary) == ("Rows by week", "bars", "5 rows in a usual week.")
    assert [(point.y, point.words, point.figure) for point in chart.points] == [
        (8.0, "Week of 2 Nov: 8 rows", "8"), (2.0, "Week of 9 Nov: 2 rows", "2"), (0.0, "Week of 16 Nov: 0 rows", "0"),
    ]  # fmt: skip
    monday = float(date(2026, 11, 2).toordinal())
    assert chart.x_range == (monday - 3.5, monday + 14 + 3.5)
    assert [words for _at, words in chart.x_ticks] == ["2 Nov", "9 Nov", "16 Nov"]
    # From nothing to eight rows and a twelfth of air.
    assert chart.y_range == (0.0, 8.0 * 1.08)
    over = told.answers(finish=None, finished=True)
    hours = progress.hours_by_weekday(rug, over)
    # Monday and Wednesday of the first three days.
    assert (hours.title, hours.kind, hours.summary) == (
        "Hours by weekday",
        "bars",
        "6 h in 3 days (planned: 15 h a week), most on Wednesday.",
    )
    assert [(point.x, point.y, point.words, point.figure) for point in hours.points][:3] == [
        (0.0, 2.0, "Monday: 2 h on average (1 day woven)", "2 h"), (1.0, 0.0, "Tuesday: 0 h on average", ""),
        (2.0, 4.0, "Wednesday: 4 h on average (1 day woven)", "4 h"),
    ]  # fmt: skip
    assert hours.x_range == (-0.5, 6.5)
    assert [words for _at, words in hours.x_ticks] == ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    pace = progress.pace(rug, over)
    assert (pace.title, pace.kind, pace.summary) == (
        "Time for a row",
        "dots",
        # 5 rows in 2 h and 3 in 4 h.
        "45 min a row so far: 8 rows in 6 h.",
    )
    assert [point.words for point in pace.points] == [
        "2 Nov: 24 min a row (5 rows in 2 h)",
        "4 Nov: 1 h 20 min a row (3 rows in 4 h)",
    ]
    assert pace.x_range == (monday, monday + 2)
    assert [(empty.title, empty.points) for empty in (
        progress.weeks_chart(rugs.book(), TODAY), progress.hours_by_weekday(rugs.book(), over), progress.pace(rugs.book(), over),
    )] == [("Rows by week", ()), ("Hours by weekday", ()), ("Time for a row", ())]  # fmt: skip
    assert progress.past_days(rugs.book(rugs.session(24, 1)), TODAY) == (TODAY,)
    assert progress.past_days(rugs.book(rugs.session(25, 1)), TODAY) == ()


def test_the_way_of_the_date_as_a_chart() -> None:
    def past(day: int, middle: int) -> progress.PastDate:
        return progress.PastDate(
            date(2026, 11, day),
            date(2026, 12, middle - 5),
            date(2026, 12, middle),
            date(2026, 12, middle + 5),
        )

    chart = progress.date_chart((past(2, 10), past(9, 13)), date(2026, 12, 20))
    assert (chart.title, chart.kind, chart.summary) == (
        "How the date has moved",
        "line",
        "3 days later than after the first session.",
    )
    assert next((point.words, point.low, point.high) for point in chart.points) == (
        "On 2 Nov: 10 December, 5 Dec to 15 Dec", float(date(2026, 12, 5).toordinal()), float(date(2026, 12, 15).toordinal()),
    )  # fmt: skip
    assert chart.guide == (float(date(2026, 12, 20).toordinal()), "target: 20 Dec")
    # Fifteen days from 5 to 20 December, and two days of air.
    assert chart.y_range == (float(date(2026, 12, 3).toordinal()), float(date(2026, 12, 22).toordinal()))
    assert chart.x_range == (float(date(2026, 11, 2).toordinal()), float(date(2026, 11, 9).toordinal()))
    sooner = progress.date_chart((past(2, 10), past(9, 9)), None, date(2026, 12, 8))
    assert (sooner.summary, sooner.guide) == (
        "The last row came 2 days sooner than the first session foretold.", (float(date(2026, 12, 8).toordinal()), "woven 8 Dec"),
    )  # fmt: skip
    still = progress.date_chart((past(2, 10), past(9, 10)), None)
    assert (still.summary, still.guide) == ("The same day as after the first session.", None)
    assert progress.date_chart((past(2, 10),), None).hint == (
        "After two sessions you see here how the date moves."
    )


def test_the_facts_of_the_record_in_full() -> None:
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=400.0, fibre="cotton")
    rug = replace(rugs.book(rugs.session(1, 5, hours=2.5), rugs.session(2, -1, hours=None), rugs.session(3, 4, hours=2.5, weavers=("ann", "bo")),
                            plan=rugs.plan(jufti_share=0.5, warp_offset_degrees=45.0, washed_g=1800.0)), yarns=(*rugs.yarns(), warp))  # fmt: skip
    said = [(fact.label, fact.figure, fact.more) for fact in rug_record(rug, told.answers()).facts]
    assert said == [
        ("Size", "to be 40 × 80 cm finished", ""), ("Knots", "15,000", "100 across, 200 rows"),
        # 62,500 places in a square metre, three quarters of them knots.
        ("Density", "25 × 25 per 10 cm", "as planned, 46,875 knots in a square metre"),
        ("Knot", "symmetric", "round both warps; over four warps in 50 % of the field"), ("Pile", "8 mm", "wool, 2 colours"),
        ("Foundation", "cotton warp", "every second warp half behind, 1 weft of wool"), ("Weight", "1.8 kg", "weighed, washed and dry"),
        # Rows taken out in no said time are no session without hours.
        ("At the loom", "3 days, 5 h", ""), ("Woven by", "Ann and Bo", ""),
    ]  # fmt: skip
    # Weighed before washing alone: that, as on every other page, and no sum of its yarns.
    dry = replace(rug, plan=replace(rug.plan, washed_g=None, unwashed_g=1850.0, stage=RugStage.FINISHED))
    weights = [
        (fact.figure, fact.more) for fact in rug_record(dry, told.answers()).facts if fact.label == "Weight"
    ]
    assert weights == [("1.85 kg", "weighed before washing")]
    bare = rugs.book()
    plain = {
        fact.label: (fact.figure, fact.more)
        for fact in rug_record(bare, told.answers(final_length_cm=81.25)).facts
    }
    assert plain["Size"] == ("to be 40 × 80 cm finished", "length by the measure on the loom: about 81.2 cm")
    assert plain["At the loom"] == ("not begun", "")
    assert "Woven by" not in plain
    assert plain["Weight"][1] == "when finished: from the plan, without fringes and flat ends"
    assert plain["Foundation"] == ("1 weft of wool", "")
    assert [(fact.label, fact.figure, fact.more) for fact in weaving_facts(rug)] == [
        ("Days at the loom", "3", ""), ("Hours at the loom", "5 h", ""), ("Rows woven", "8", ""),
        # Nine timed rows of 75 knots tied in 2.5 h of one weaver and 2.5 h of two: 675 in 7.5 h.
        ("Knots an hour", "90", "by one weaver"),
    ]  # fmt: skip
    assert weaving_facts(bare) == ()


def test_todays_answers_in_the_record() -> None:
    rug = rugs.book(rugs.session(1, 50))
    ready = replace(told.answers().finish, ready=date(2027, 1, 22))
    short_yarns = tuple(
        told.yarn(name, YarnWord.SHORT, short_g=40.0) for name in ("red", "blue", "weft", "gone", "gone")
    )
    today = told.answers(where=told.where(knots_begun=12), finish=ready, yarns=short_yarns)
    assert [(fact.label, fact.figure, fact.more) for fact in facts_of_today(rug, today)] == [
        ("Where it stands", "row 50 of 200", "12 knots of the next row, 25 % of the knots"),
        ("Last row about", "20 January 2027", "likely 12 Jan to 31 Jan 2027"), ("Ready about", "22 January 2027", "with the steps after weaving"),
        ("The yarn", "5 yarns to watch", "Madder: short 40 g; Indigo: short 40 g; Ground weft: short 40 g; : short 40 g; 1 more"),
    ]  # fmt: skip
    same_day = told.answers(finish=replace(ready, ready=ready.middle))
    assert [fact.label for fact in facts_of_today(rug, same_day)] == [
        "Where it stands",
        "Last row about",
        "The yarn",
    ]
    assert facts_of_today(rug, same_day)[-1].figure == "every yarn lasts"
    woven = facts_of_today(rug, told.answers(finish=None, finished=True))
    assert [(fact.label, fact.figure) for fact in woven][1:] == [("Last row", "woven")]
    silent = facts_of_today(rug, told.answers(finish=None, silent_days=70))
    assert silent[1].label == "Nothing entered for 70 days"


# --- the guide, what can be taken along, mending, another phone


def test_the_guide_tells_this_rugs_own_numbers() -> None:
    rug = rugs.book(plan=rugs.plan(fringe_cm=7.0))
    cards = build_guide_state(rug, material_plan(rug), ("yarn.1", "weave.2", "weave.3", "later.1"))
    assert [(card.stage.value, card.icon, card.title) for card in cards] == [
        ("yarn", "skein", "Yarn and dyes"), ("warp", "warp", "Set up the warp"), ("weave", "person", "At the loom"),
        ("cut off", "scissors", "Cut off"), ("ends", "knot", "Ends"), ("wash", "wash", "Wash and dry"),
        ("block", "measure", "Stretch to shape"), ("shear", "shear", "Shear"), ("fringe", "fringe", "Fringe and selvedge"),
        ("store", "shelf", "Keep and hand over"),
    ]  # fmt: skip
    by_stage = {card.stage.value: card for card in cards}
    assert [(by_stage[stage].done_words, by_stage[stage].share) for stage in ("yarn", "weave", "ends")] == [
        ("1 of 4 done", 0.25), ("2 of 7 done", 2 / 7), ("0 of 3 done", 0.0),
    ]  # fmt: skip
    steps = [step.words for step in by_stage["warp"].steps]
    assert (
        f"Measure 208 warps of {length(material_plan(rug).warp_length_cm)} each, all at the same tension."
        in steps
    )
    assert "Mark the middle of the beams, and half the width, 20.8 cm, to each side." in steps
    assert "Lay the 8 warps of the selvedges at the edges, half on each side." in steps
    assert "Leave 7 cm for the fringe before the first pick, at both ends." in steps
    assert "Weave the first flat end, then measure the width again, selvedges included: 41.6 cm." in steps
    assert "Trim both fringes to one length: 7 cm." in [step.words for step in by_stage["fringe"].steps]
    assert [step.key for step in by_stage["yarn"].steps] == [
        "yarn.daylight", "yarn.bleeding", "yarn.moth", "yarn.balls",
    ]  # fmt: skip
    assert {card.source for card in cards} == {"What weavers usually do; we know of no study of it."}
    bare = rugs.book(plan=rugs.plan(fringe_cm=0.0, selvedge_warps=0))
    steps = [step.words for card in build_guide_state(bare, material_plan(bare)) for step in card.steps]
    assert "No more warps at the edges: this rug has no selvedge warps." in steps
    assert "Weave the end close to the beam: this rug has no fringe." in steps
    assert "This rug has no fringe: turn the ends under and sew them down." in steps


def test_what_can_be_taken_along_says_where_it_goes() -> None:
    state = build_export_state(rugs.book(rugs.session(1, 5)), told.answers(), "Rugs")
    assert (state.rug_name, state.headline) == (
        "Little field",
        "This rug is on the loom: all of this is so far, as of today.",
    )
    assert state.goes_where == "Written to the folder Rugs; what lies there is never overwritten."
    assert [(card.title, card.icon, card.can) for card in state.cards] == [
        ("A record so far", "rug", True), ("The rows of the cartoon", "row", False), ("The days to come", "calendar", True), ("Tables", "chart", True),
    ]  # fmt: skip
    assert (state.first_row, state.rows) == (1, 0)
    assert (
        build_export_state(rugs.book(), told.answers(), "").goes_where
        == "Each can be given to a phone or an app, or saved where you say."
    )


def test_a_masters_remarks_are_cards_with_the_squares_to_walk() -> None:
    cells = np.zeros((30, 30), dtype=np.uint8)
    cells[10, 11] = 1
    cards = remark_cards(cells, ("#EFE6D2", "#9B2F25"), ("Ivory", "Madder"))
    strays = next(card for card in cards if "stray" in card.title)
    assert strays == RemarkCard(
        "1 single stray knot",
        "One knot of its own colour in the middle of another. Tap to walk them.",
        ((10, 11),),
    )
    rare = next(card for card in cards if "very few" in card.title)
    assert rare == RemarkCard(
        "Madder has very few knots", "1 knot in the whole rug. Tap to see.", ((10, 11),)
    )
    alike = np.zeros((30, 30), dtype=np.uint8)
    alike[:, 15:] = 1
    (pair,) = (
        card for card in remark_cards(alike, ("#9B2F25", "#9C2F25"), ("Madder", "Brick")) if card.exchange
    )
    assert (pair.title, pair.exchange, pair.squares) == (
        "Madder and Brick are hard to tell apart",
        (1, 0),
        (),
    )
    assert pair.note.startswith("Colour distance 0.")
    assert pair.note.endswith(" Tap to knot all in Madder.")
    assert not [
        card for card in remark_cards(alike, ("#9B2F25", "#9C2F25"), ("Madder", "Madder")) if card.exchange
    ]
    assert [(thread.yarn_id, thread.name, thread.number, thread.swatch) for thread in threads(rugs.yarns()[::-1])] == [
        ("red", "Madder", "1", "#9C2F25"), ("blue", "Indigo", "2", "#27406B"),
    ]  # fmt: skip
    drawn = (replace(rugs.yarns()[0], cartoon_values=(1,)), *rugs.yarns()[1:])
    assert value_names(("#111111", "#222222"), drawn) == ("no yarn", "Madder")
    assert square_words((0, 11), "Madder") == "Row 1, knot 12: Madder"
    assert woven_words(0, 1).startswith("1 row is woven, and this changes row 1.")


def test_files_of_another_phone() -> None:
    assert file_name(" Bo's phone! ", TODAY) == "Bo-s-phone-2026-11-25.loomside-exchange"
    assert file_name("İğ", TODAY) == "loomside-2026-11-25.loomside-exchange"
    assert file_name("x" * 50, TODAY) == f"{'x' * 40}-2026-11-25.loomside-exchange"
    assert [taken_back_words(restored, left) for restored, left in ((0, 0), (1, 0), (2, 1))] == [
        "There is nothing left to undo.", "1 entry is as before the file came.",
        "2 entries are as before the file came. 1 entry was changed since and stays.",
    ]  # fmt: skip
