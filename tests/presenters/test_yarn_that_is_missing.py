"""What is said where a yarn does not last: that the date counts on it, that it may come too late, and what a proposal rests on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.presenters.answers import TODAY, answers, yarn
from tests.presenters.rugs import book, session
from tests.unit.forecast.books import BOOK, START, striped, woven
from tracker.domain.material_plan import material_plan
from tracker.domain.need import account_of
from tracker.domain.order import Order
from tracker.domain.rug import Lot, RugBook, RugStage, Weighing
from tracker.forecast.answers import YarnAnswer, YarnWord
from tracker.forecast.outlook import outlook
from tracker.presenters.answer_words import day_near, if_yarn_comes, last_row_if_yarn_comes, tile_words
from tracker.presenters.entries.form import FormKind
from tracker.presenters.finish import build_finish_state
from tracker.presenters.home import build_home_state
from tracker.presenters.order import build_order_state
from tracker.presenters.record.facts import facts_of_today
from tracker.presenters.shopping import build_shopping_state
from tracker.presenters.yarn import build_yarn_state, build_yarn_story_state, order_words
from tracker.reports.text_form import as_text
from tracker.words import mass

RUG = book(session(1, 5))


def short(yarn_id: str, row: int, day: date) -> YarnAnswer:
    """A yarn that ends in a row."""
    return yarn(
        yarn_id, YarnWord.SHORT, on_hand_g=60.0, short_g=340.0, runs_out_row=row, runs_out_day=day, order_g=450.0,
        order_by=day - timedelta(days=14),
    )  # fmt: skip


RED = short("red", 120, date(2026, 12, 11))
BLUE = short("blue", 90, date(2026, 12, 4))


@pytest.mark.parametrize(
    ("yarns", "said"),
    [
        ((yarn("red"), yarn("blue")), ""),
        ((RED, yarn("blue")), "Holds only if Madder is bought by 27 Nov."),
        # The day to buy it is over, or nobody dyes it to order: told is when it is needed.
        ((replace(RED, order_by=TODAY), yarn("blue")), "Holds only with more Madder by 11 Dec."),
        ((replace(RED, order_by=None), yarn("blue")), "Holds only with more Madder by 11 Dec."),
        # The first of several is the one that is bought first: its day is the yarn page's.
        ((RED, BLUE), "Holds only if 2 yarns are bought, first Indigo now."),
        (
            (RED, replace(BLUE, order_by=TODAY + timedelta(days=1))),
            "Holds only if 2 yarns are bought, first Indigo by 26 Nov.",
        ),
        # Of two that end on one day the one that ends in the lower row is first, whatever they are called.
        (
            (
                replace(RED, runs_out_day=BLUE.runs_out_day, runs_out_row=80, order_by=None),
                replace(BLUE, order_by=None),
            ),
            "Holds only with more of 2 yarns, first Madder by 4 Dec.",
        ),
        ((replace(RED, word=YarnWord.TIGHT), yarn("blue")), ""),
        ((replace(RED, runs_out_row=200), yarn("blue")), ""),
    ],
)
def test_the_date_says_which_yarn_it_counts_on(yarns, said: str) -> None:
    told = answers(yarns=yarns)
    assert if_yarn_comes(RUG, told) == said
    state = build_home_state(RUG, told)
    conditions = state.conditions
    # A yarn's own alert leads on already: what the date holds under is then said in words alone.
    one_yarn = len({ask.yarn_id for ask in conditions} - {""}) == 1
    assert (len(state.conditions_below), len(state.conditions_to_open)) == (
        (1, 0) if one_yarn else (0, len(conditions))
    )
    assert {ask.yarn_id for ask in state.conditions_below} <= {alert.yarn_id for alert in state.alerts}
    assert [ask.words for ask in conditions] == [said] * bool(said)
    # In large type the sentence is below the window: the line over the day says as much.
    assert state.label_under == (
        ""
        if not said
        else "Last row, if 2 yarns come in time"
        if not one_yarn
        else state.label_with_condition
    )
    # Of one yarn a tap leads to its page, where it is ordered; of several to all of them.
    leads = {(): [], ("red",): [("yarn_story", "red")], ("red", "blue"): [("shopping", "")]}
    named = tuple(name for name in ("red", "blue") if said and (name == "red" or "2 yarns" in said))
    assert [(ask.page, ask.yarn_id) for ask in conditions] == leads[named]
    assert build_finish_state(RUG, told).left == f"About 90 h at the loom are left. {said}".rstrip()
    assert ("Holds only" in as_text(RUG, told)) is bool(said)
    assert said in as_text(RUG, told)


def test_the_date_counts_on_every_yarn_that_is_still_to_buy() -> None:
    """One that ran short was named with its day, where the yarn page said to buy others of which there is nothing now."""
    lacking = yarn(
        "blue", YarnWord.NOT_BOUGHT, on_hand_g=0.0, runs_out_row=51, runs_out_day=TODAY, order_g=450.0,
        order_by=TODAY - timedelta(days=14),
    )  # fmt: skip
    told = answers(yarns=(RED, lacking))
    rug = replace(RUG, lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=60.0),))
    said = "Holds only if 2 yarns are bought, first Indigo now."
    home = build_home_state(rug, told)
    assert [(ask.words, ask.page) for ask in home.conditions] == [(said, "shopping")]
    assert home.label_with_condition == ""
    assert said in build_finish_state(rug, told).left
    assert build_yarn_state(rug, told).hint.startswith("Buy now.")
    # Before anything is bought nothing is amiss yet, there as here.
    assert if_yarn_comes(RUG, answers(yarns=(lacking,))) == ""


def test_a_date_that_leaves_out_the_wait_for_a_yarn_says_so() -> None:
    """Bought today it comes after it has ended: no day of the last row can rest on it."""
    lead = next(one.lead_days for one in RUG.yarns if one.id == "red")
    assert lead > 5
    late = answers(yarns=(replace(RED, runs_out_day=TODAY + timedelta(days=5), order_by=TODAY), yarn("blue")))
    comes = day_near(TODAY + timedelta(days=lead), TODAY)
    said = if_yarn_comes(RUG, late)
    assert f"bought today it comes about {comes}" in said
    assert "not in the date" in said
    assert last_row_if_yarn_comes(RUG, late) == "Last row, without the wait for Madder"
    # The evening before it was still in time.
    in_time = answers(
        yarns=(replace(RED, runs_out_day=TODAY + timedelta(days=lead), order_by=TODAY), yarn("blue"))
    )
    assert last_row_if_yarn_comes(RUG, in_time).startswith("Last row, with more Madder by ")


def test_a_promised_day_is_a_worry_while_the_yarn_for_it_is_missing() -> None:
    order = Order(id="o", rug_id="rug", promised_day=date(2027, 3, 1))
    promised = replace(RUG, orders=(order,))
    sure = replace(answers().finish, chance_of_promise=0.99)
    calm = build_order_state(promised, answers(finish=sure))
    warned = build_order_state(promised, answers(finish=sure, yarns=(RED,)))
    # The condition alone is a worry: that the day is very likely is none.
    assert warned.condition == "Holds only if Madder is bought by 27 Nov."
    assert (calm.condition, warned.promise) == ("", calm.promise)
    assert (calm.late, warned.late) == (False, False)


def test_where_an_order_comes_after_the_yarn_has_ended_both_days_are_said() -> None:
    red = RUG.yarns[0]
    late = replace(RED, runs_out_day=TODAY + timedelta(days=5), order_by=TODAY - timedelta(days=9))
    assert order_words(red, late, TODAY) == (
        f"Buy 450 g now. It may come about {(TODAY + timedelta(days=14)).day} Dec, and this yarn ends about "
        f"{(TODAY + timedelta(days=5)).day} {(TODAY + timedelta(days=5)):%b}."
    )
    just = replace(late, runs_out_day=TODAY + timedelta(days=14), order_by=TODAY)
    assert order_words(red, just, TODAY) == "Buy 450 g now: it takes 14 days to come."


def woven_book(red_g: float = 700.0, blue_g: float = 200.0) -> RugBook:
    """A hundred of 360 rows, of which each takes 3.6 g of red and 1.2 g of blue by the plan: neither lasts."""
    rug = woven(replace(BOOK, cartoon=striped()), [10] * 10)
    lots = tuple(
        Lot(id=f"l{yarn_id}", rug_id="r", yarn_id=yarn_id, day=START, mass_g=mass_g)
        for yarn_id, mass_g in (("red", red_g), ("blue", blue_g), ("weft", 9000.0))
    )
    return replace(rug, lots=lots)


def weighed(rug: RugBook) -> RugBook:
    """The same rug, its red put on the scale after the last session."""
    day = rug.sessions[-1].day
    scale = Weighing(id="g", rug_id="r", yarn_id="red", day=day, mass_g=240.0, born=9999)
    return replace(rug, weighings=(scale,))


def test_of_yarns_that_run_short_the_one_that_ends_first_stands_first() -> None:
    rug = woven_book()
    told = outlook(rug, rug.sessions[-1].day)
    assert [answer.word for answer in told.yarns[:2]] == [YarnWord.SHORT, YarnWord.SHORT]
    assert [answer.yarn_id for answer in told.yarns[:2]] == ["blue", "red"]
    other = outlook(woven_book(red_g=500.0, blue_g=300.0), rug.sessions[-1].day)
    assert [answer.yarn_id for answer in other.yarns[:2]] == ["red", "blue"]


def test_a_line_of_the_list_says_what_its_proposal_rests_on() -> None:
    rug = weighed(woven_book())
    today = rug.sessions[-1].day
    told = outlook(rug, today)
    red = next(answer for answer in told.yarns if answer.yarn_id == "red")
    plan = material_plan(rug)
    lines = {
        line.yarn_id: line for group in build_shopping_state(rug, plan, told).groups for line in group.lines
    }
    assert red.order_g > red.needed_g - red.on_hand_g > 0
    assert lines["red"].note.startswith(
        f"{mass(red.needed_g)} still needed − {mass(red.on_hand_g)} on hand + "
    )
    # How surely it lasts with that, counted anew: bought, it is on hand.
    lot = Lot(id="more", rug_id="rug", yarn_id="red", day=today, mass_g=red.want_g, born=10_000)
    with_it = next(a for a in outlook(replace(rug, lots=(*rug.lots, lot)), today).yarns if a.yarn_id == "red")
    assert with_it.chance == pytest.approx(red.want_chance, abs=0.01)
    assert with_it.chance > 0.95 > red.chance
    story = build_yarn_story_state(rug, told, "red")
    facts = {fact.label: fact.figure for fact in story.facts}
    assert (facts["Still needed"], facts["On hand"]) == (mass(red.needed_g), mass(red.on_hand_g))


def test_what_other_yarns_tell_of_the_hand_is_no_plan_any_more() -> None:
    rug = woven_book()
    today = rug.sessions[-1].day

    def basis(rug: RugBook, yarn_id: str) -> str:
        return build_yarn_story_state(rug, outlook(rug, today), yarn_id).basis

    scaled = weighed(rug)
    assert basis(rug, "blue") == "From the plan until a ball is used up or something is weighed."
    assert basis(scaled, "red") == "Learnt from what you used and weighed."
    assert basis(scaled, "blue") == ("From the plan, and from your use of the other yarns.")
    # A weft is thrown, not knotted.
    assert basis(scaled, "weft") == basis(rug, "weft")


def test_the_page_of_yarns_follows_the_answers() -> None:
    rug = woven_book()
    told = outlook(rug, rug.sessions[-1].day)
    assert [card.yarn_id for card in build_yarn_state(rug, told).cards][:2] == ["blue", "red"]


def test_one_lot_ends_where_its_yarn_ends_within_a_begun_row_too() -> None:
    rug = woven_book()
    begun = replace(rug, sessions=(*rug.sessions[:-1], replace(rug.sessions[-1], begun_knots=120)))
    for one in (rug, begun):
        for answer in outlook(one, rug.sessions[-1].day).yarns[:2]:
            assert answer.lots is not None
            assert answer.lots.ends_row == answer.runs_out_row


def test_balls_used_up_that_held_more_than_the_rows_can_have_taken_are_asked_about() -> None:
    # A hundred rows took about 360 g of red; balls of 200 g.
    rug = woven_book(red_g=5000.0, blue_g=900.0)
    today = rug.sessions[-1].day

    def with_balls(count: float, ball_g: float = 200.0) -> RugBook:
        last = replace(rug.sessions[-1], used=(("red", count),))
        yarns = tuple(replace(yarn, unit_mass_g=ball_g) for yarn in rug.yarns)
        return replace(rug, yarns=yarns, sessions=(*rug.sessions[:-1], last))

    for agrees in (rug, with_balls(1), with_balls(2), with_balls(8, ball_g=45.0)):
        told = outlook(agrees, today)
        assert all(answer.balls_doubted is None for answer in told.yarns)
        assert build_home_state(agrees, told).asks == ()
    many = with_balls(9)
    told = outlook(many, today)
    red = next(answer for answer in told.yarns if answer.yarn_id == "red")
    asked = f"9 balls of 200 g used up, and the rows took about {mass(red.balls_doubted.used_g)}: were they smaller?"
    assert red.balls_doubted.used_g < 1800.0 / 1.35
    (ask,) = build_home_state(many, told).asks
    assert (ask.words, ask.page, ask.yarn_id) == (f"Red: {asked}", "yarn_story", "red")
    story = build_yarn_story_state(many, told, "red")
    assert story.doubt == asked
    assert [act.label for act in story.answers_doubt] == [
        "Correct how much goes on one",
        "Weigh what is left",
    ]
    # Weighed, or wound smaller, it is asked no more.
    assert build_home_state(with_balls(9, 40.0), outlook(with_balls(9, 40.0), today)).asks == ()
    scale = Weighing(id="g", rug_id="r", yarn_id="red", day=today, mass_g=3250.0, born=9999)
    scaled = replace(many, weighings=(scale,))
    assert outlook(scaled, today).yarns[0].balls_doubted is None


def test_a_yarn_that_is_asked_about_is_nowhere_called_enough_meanwhile() -> None:
    # Two rows took about 7 g of red: a ball that ended with them was wound of some ten grams, not of 200.
    rug = woven(BOOK, [1, 1])
    lots = tuple(
        Lot(id=f"l {yarn.id}", rug_id="r", yarn_id=yarn.id, day=START, mass_g=9000.0) for yarn in rug.yarns
    )
    calm = replace(rug, lots=lots)
    small = replace(calm, sessions=(calm.sessions[0], replace(calm.sessions[1], used=(("red", 1.0),))))
    today = rug.sessions[-1].day
    words = {}
    for one in (calm, small):
        told = outlook(one, today)
        red = next(answer for answer in told.yarns if answer.yarn_id == "red")
        story, page, home = (
            build_yarn_story_state(one, told, "red"),
            build_yarn_state(one, told),
            build_home_state(one, told),
        )
        fact = next(fact for fact in facts_of_today(one, told) if fact.label == "The yarn")
        words[one is small] = (
            red.word,
            story.word.split(",")[0],
            bool(story.doubt),
            next(fact.figure for fact in story.facts if fact.label == "It lasts to the last row"),
            page.headline,
            home.others,
            fact.figure,
        )
        assert tile_words(red).startswith("not sure") == (one is small)
    assert words[False] == (
        YarnWord.ENOUGH,
        "enough",
        False,
        "very likely",
        "Every yarn lasts.",
        "all yarns last",
        "every yarn lasts",
    )
    assert words[True] == (
        YarnWord.ASKED,
        "not sure",
        True,
        "not sure",
        "1 yarn is not sure to last: tap it to see what is asked.",
        "the others will last",
        "1 yarn to watch",
    )


def test_more_tied_than_there_was_is_asked_about_before_anything_else() -> None:
    red = yarn("red", on_hand_g=0.0, not_entered_g=140.0)
    told = answers(yarns=(red, yarn("blue")))
    asked = "By the record this yarn ended 140 g ago, but you wove on. Is a purchase missing?"
    (ask,) = build_home_state(RUG, told).asks
    assert (ask.words, ask.page, ask.yarn_id) == (f"Madder: {asked}", "yarn_story", "red")
    story = build_yarn_story_state(RUG, told, "red")
    assert story.doubt == asked
    assert [act.kind for act in story.answers_doubt] == [FormKind.LOT, FormKind.WEIGHING]
    calm = build_yarn_story_state(RUG, told, "blue")
    assert (calm.doubt, calm.answers_doubt) == ("", ())


def test_what_a_scale_has_settled_and_what_is_done_with_is_asked_no_more() -> None:
    rug = woven_book(red_g=5000.0, blue_g=900.0)
    today = rug.sessions[-1].day
    last = replace(rug.sessions[-1], used=(("red", 9.0),))
    many = replace(rug, sessions=(*rug.sessions[:-1], last))

    def asked(book: RugBook) -> bool:
        return any(answer.balls_doubted for answer in outlook(book, today).yarns)

    scale = Weighing(id="g", rug_id="r", yarn_id="red", day=today, mass_g=4600.0, born=9999)
    assert asked(many)
    assert not asked(replace(many, weighings=(scale,)))
    assert asked(replace(many, weighings=(replace(scale, day=START, born=1, mass_g=5000.0),)))
    assert not asked(replace(many, sessions=(*many.sessions[:-1], replace(last, rows=270))))


def test_of_a_yarn_whose_rows_are_woven_the_list_says_no_more_what_the_rug_needs() -> None:
    rug = replace(
        woven(BOOK, [5] * 3), lots=(Lot(id="l", rug_id="r", yarn_id="red", day=START, mass_g=900.0),)
    )
    plan = material_plan(rug)
    notes = {}
    for word, needed_g in ((YarnWord.ENOUGH, 400.0), (YarnWord.DONE, 0.0)):
        told = answers(
            yarns=(yarn("red", word, needed_g=needed_g, needed_low_g=needed_g, needed_high_g=needed_g),)
        )
        lines = [line for group in build_shopping_state(rug, plan, told).groups for line in group.lines]
        notes[word] = next(line.note for line in lines if line.yarn_id == "red")
    assert notes == {
        YarnWord.ENOUGH: "still needed 400 g, on hand 500 g",
        YarnWord.DONE: "still needed 0 g, on hand 500 g",
    }


def test_rows_woven_of_yarn_that_nobody_noted_are_asked_about() -> None:
    bare = woven(BOOK, [5] * 6)
    today = bare.sessions[-1].day
    several = [ask for ask in build_home_state(bare, outlook(bare, today)).asks if ask.page == "yarn"]
    assert [ask.words for ask in several] == [
        f"{len(BOOK.yarns)} yarns are in the woven rows, but no purchase of them is noted. What was there?"
    ]
    # All but one were bought: it is asked about by its name, and its page takes the answer.
    lots = tuple(
        Lot(id=one.id, rug_id="r", yarn_id=one.id, day=START, mass_g=9000.0)
        for one in BOOK.yarns
        if one.id != "red"
    )
    one = replace(bare, lots=lots)
    told = outlook(one, today)
    red = next(answer for answer in told.yarns if answer.yarn_id == "red")
    need = account_of(one).of("red")
    assert need is not None
    # Five rows an evening, the colours in even parts: what the plan gives for so many rows.
    assert red.woven_unbought_g == pytest.approx(need.need_g * 30 / one.plan.rows, rel=0.15)
    (ask,) = (ask for ask in build_home_state(one, told).asks if ask.page == "yarn_story")
    said = f"About {mass(red.woven_unbought_g)} of it is woven, but no purchase is noted. What was there?"
    assert (ask.words, ask.yarn_id) == (f"{red_name(one)}: {said}", "red")
    story = build_yarn_story_state(one, told, "red")
    assert story is not None
    assert (story.doubt, [act.kind for act in story.answers_doubt]) == (
        said,
        [FormKind.LOT, FormKind.WEIGHING],
    )
    # After the last row what was there is as little known: it is asked until the rug is called finished.
    rows = one.plan.rows
    ended = woven(replace(one, sessions=()), [5] * (rows // 5) + [rows % 5] * bool(rows % 5))
    told = outlook(ended, ended.sessions[-1].day)
    assert told.finished
    (ask,) = (ask for ask in build_home_state(ended, told).asks if ask.page == "yarn_story")
    assert ask.words.startswith(f"{red_name(one)}: About {mass(need.need_g)} of it is woven, but no purchase")
    page = build_yarn_state(ended, told)
    assert page.hint == "Of 1 yarn no purchase is noted: tap it and enter what there was."
    assert next(card.ends for card in page.cards if card.yarn_id == "red") == "no purchase noted"
    story = build_yarn_story_state(ended, told, "red")
    assert story is not None
    assert [act.kind for act in story.answers_doubt] == [FormKind.LOT, FormKind.WEIGHING]
    noted = replace(ended, lots=(*lots, replace(lots[0], id="red", yarn_id="red", mass_g=need.need_g * 1.1)))
    quiet_now = outlook(noted, ended.sessions[-1].day)
    assert not any(ask.page == "yarn_story" for ask in build_home_state(noted, quiet_now).asks)
    # Before the first row, and of a rug that is done, nobody asks.
    for quiet in (
        replace(bare, sessions=()),
        replace(bare, plan=replace(bare.plan, stage=RugStage.FINISHED)),
    ):
        assert not any(
            "no purchase" in ask.words for ask in build_home_state(quiet, outlook(quiet, today)).asks
        )


def red_name(rug: RugBook) -> str:
    return next(yarn.name for yarn in rug.yarns if yarn.id == "red")
