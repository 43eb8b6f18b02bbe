"""Buying and preparing by touch: a tick enters a lot, a tap winds a ball, and every page names the same masses."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tests.today import TODAY
from tests.ui.hand import everything, shown
from tests.ui.handed_time import pass_time
from tracker.domain.material import assumed_tex
from tracker.domain.rug import Preparation, PreparationKind, Role, RugPlan, Yarn
from tracker.previews.draw import settle
from tracker.screens.preparation.preparation import CheckCard
from tracker.widgets.basics import Icon
from tracker.widgets.look import look
from tracker.words import mass


def plan() -> RugPlan:
    """40 x 60 cm at 30 x 30 per 10 cm: 120 knots by 180 rows, 21,600 knots."""
    return RugPlan(
        id="r", name="Little field", width_cm=40, length_cm=60, knots_per_10cm=30, rows_per_10cm=30,
        knots_across=120, rows=180, pile_height_mm=8, start_day=date(2026, 12, 1), weavers_planned=2,
    )  # fmt: skip


def yarns() -> tuple[Yarn, ...]:
    """Two colours cut to 50 mm a knot from R 600 tex, a ground weft and a warp; the blue one has no dyer."""
    return (
        Yarn(
            id="red", rug_id="r", role=Role.PILE, number=1, name="Madder", swatch="#9B2F25", share=0.5, tex=600,
            count="R 600 tex", cut_length_mm=50, dyer="Valley", price_per_kg=40, skein_g=250, least_purchase_g=250,
        ),
        Yarn(
            id="blue", rug_id="r", role=Role.PILE, number=2, name="Indigo", swatch="#24406B", share=0.5, tex=600,
            count="R 600 tex", cut_length_mm=50,
        ),
        Yarn(id="weft", rug_id="r", role=Role.WEFT, number=1, name="Ground weft", tex=500, unit_mass_g=100),
        Yarn(id="warp", rug_id="r", role=Role.WARP, number=1, name="Warp", tex=500, fibre="cotton", unit_mass_g=500),
    )  # fmt: skip


@pytest.fixture
def hand(open_app, tmp_path: Path):
    """The app on a book with one planned rug."""
    hand = open_app(tmp_path / "book.loomside")
    hand.app.desk.act("rug planned", plan(), *yarns(), rug_id="r")
    settle()
    return hand


def go(hand, name: str) -> None:
    hand.shell.go(name)
    settle()


def cards(hand, kind: str) -> list:
    return [w for w in everything(hand.shell) if type(w).__name__ == kind and shown(w)]


def test_the_material_plan_tells_where_a_number_comes_from(hand) -> None:
    go(hand, "material")
    assert hand.sees("21,600")
    # Each knot takes 50 mm of R 600 tex, 30 mg; 10,800 knots of each colour take 324 g.
    assert hand.sees("324 g")
    # Two warps a knot and eight for the selvedges.
    hand.tap("Warp")
    assert hand.sees("248 warps")
    hand.tap("Warp")
    hand.tap("Madder")
    hand.tap("Where it comes from")
    assert hand.sees("From the length of yarn you cut for one knot.")
    assert hand.sees("30 mg")
    hand.key_back()
    settle()
    hand.tap("Density")
    # 30 x 30 per 10 cm are 900 knots on a square decimetre.
    assert hand.sees("900")


def test_ticking_a_yarn_off_enters_its_lot_and_can_be_taken_back(hand) -> None:
    desk = hand.app.desk
    go(hand, "shopping")
    headings = [text for text in hand.words() if text in ("Valley", "Dyer not given")]
    assert headings == ["Valley", "Dyer not given"]
    first = cards(hand, "BuyCard")[0]
    assert (first.line.name, first.line.bought) == ("Madder", False)
    order = next(answer for answer in desk.answers.yarns if answer.yarn_id == "red")
    assert order.order_skeins * 250 == order.order_g
    assert first.line.amount == f"{order.order_skeins} skeins of 250 g"
    hand.tap("Madder")
    hand.tap("Dye lot")
    hand.shell.sheet.content.ids.entry.text = "K-7"
    hand.tap("Done")
    hand.tap("Save")
    (lot,) = desk.rug.lots
    assert (lot.yarn_id, lot.dye_lot, lot.dyer, lot.day) == ("red", "K-7", "Valley", TODAY)
    assert lot.mass_g == order.order_g
    # 40 for a kilogram.
    assert lot.price == pytest.approx(order.order_g / 1000 * 40)
    line = next(card.line for card in cards(hand, "BuyCard") if card.line.name == "Madder")
    assert line.bought
    hand.tap("Undo")
    assert desk.rug.lots == ()
    line = next(card.line for card in cards(hand, "BuyCard") if card.line.name == "Madder")
    assert not line.bought


def test_everything_on_the_list_is_entered_as_bought_in_four_taps_and_taken_back_in_one(hand) -> None:
    desk = hand.app.desk
    go(hand, "shopping")
    proposed = {card.line.name: card.line.mass or card.line.amount for card in cards(hand, "BuyCard")}
    assert len(proposed) > 2
    hand.tap("Madder")
    hand.tap("Dye lot")
    hand.shell.sheet.content.ids.entry.text = "K-7"
    hand.tap("Done")
    hand.key_back()
    settle()
    hand.shell.open_tab("yarn")
    settle()

    hand.tap("Shopping")
    hand.tap("All bought as listed")
    hand.tap("No, one by one")
    assert desk.rug.lots == ()
    hand.tap("All bought as listed")
    hand.tap("Yes, all of it")
    assert hand.sees("Everything is bought.")
    assert not hand.sees("All bought as listed")
    # What comes next is a tap away.
    assert hand.find("Preparation", hand.shell.page)
    names = {yarn.id: yarn.name for yarn in desk.rug.yarns}
    assert {names[lot.yarn_id]: mass(lot.mass_g) for lot in desk.rug.lots} == proposed
    # What was half entered of one yarn counts as entered.
    assert {names[lot.yarn_id]: lot.dye_lot for lot in desk.rug.lots}["Madder"] == "K-7"
    assert hand.sees(f"{len(proposed)} yarns bought")
    hand.tap("Undo")
    assert desk.rug.lots == ()
    assert hand.sees("All bought as listed")
    hand.tap("Madder")
    assert hand.sees("K-7")


def test_a_half_filled_purchase_is_found_again(hand) -> None:
    go(hand, "shopping")
    hand.tap("Madder")
    hand.tap("Dye lot")
    hand.shell.sheet.content.ids.entry.text = "K-7"
    hand.tap("Done")
    hand.key_back()
    settle()
    assert hand.app.desk.rug.lots == ()
    hand.tap("Madder")
    assert hand.sees("K-7")


def test_every_page_names_the_same_mass_to_buy(hand) -> None:
    desk = hand.app.desk
    go(hand, "shopping")
    # By the gram the amount itself is the mass; by the skein the mass stands beside it.
    on_list = {card.line.name: card.line.mass or card.line.amount for card in cards(hand, "BuyCard")}
    for answer in desk.answers.yarns:
        name = next(yarn.name for yarn in desk.rug.yarns if yarn.id == answer.yarn_id)
        assert on_list[name] == mass(answer.order_g)


def test_winding_a_ball_counts_into_the_record_and_the_hours_left(hand) -> None:
    desk = hand.app.desk
    go(hand, "preparation")
    before = hand.shell.page.share
    card = next(card for card in cards(hand, "CheckCard") if card.line.name == "Madder")
    # 324 g for two weavers: 162 g each, one ball of at most 200 g for each.
    assert card.line.words == "0 of 2 balls"
    # Scrolled down, what lies under the finger stays there, though a strip comes and the list of what was done with it.
    hand.reach(cards(hand, "CheckCard")[-1])
    pass_time(1.6)
    stood = card.to_window(0, card.top)[1]
    hand.tap(card.ids.more)
    # Nobody noted a purchase: asked once, it is noted all the same.
    assert hand.sees("No purchase is noted of Madder.")
    assert desk.rug.preparations == ()
    hand.tap("Note it all the same")
    pass_time(0.5)
    card = next(card for card in cards(hand, "CheckCard") if card.line.name == "Madder")
    assert card.to_window(0, card.top)[1] == pytest.approx(stood, abs=1)
    (entry,) = desk.rug.preparations
    assert (entry.kind, entry.yarn_id, entry.count, entry.day) == (PreparationKind.BALLS, "red", 1, TODAY)
    card = next(card for card in cards(hand, "CheckCard") if card.line.name == "Madder")
    assert card.line.words == "1 of 2 balls"
    assert hand.shell.page.share > before
    assert hand.sees("Saved: 1 ball of Madder wound.")
    hand.tap("Undo")
    assert desk.rug.preparations == ()
    assert hand.shell.page.share == before
    # All of them done, a card has a line less to say: those below stay where they were.
    stood = None
    for _ball in range(2):
        hand.shell.dismiss_toast()
        pass_time(0.5)
        madder = next(card for card in cards(hand, "CheckCard") if card.line.name == "Madder")
        stood = {card.line.name: card.to_window(0, card.top)[1] for card in cards(hand, "CheckCard")}
        hand.tap(madder.ids.more)
        if hand.sees("Note it all the same"):
            hand.tap("Note it all the same")
        pass_time(0.5)
    now = {card.line.name: card for card in cards(hand, "CheckCard")}
    assert now["Madder"].line.ticked
    assert {name: card.to_window(0, card.top)[1] for name, card in now.items()} == pytest.approx(stood, abs=1)


def test_own_times_replace_the_common_ones(hand) -> None:
    desk = hand.app.desk
    go(hand, "preparation")
    assert hand.sees("Times are common ones")
    for name in ("Madder", "Indigo"):
        hand.tap(name)
        hand.tap("Hours")
        for key in "1":
            hand.tap(key)
        hand.tap("Done")
        hand.tap("Save")
        hand.tap("Yes, save it")
    assert [(entry.count, entry.hours) for entry in desk.rug.preparations] == [(2, 1.0), (2, 1.0)]
    assert hand.sees("Your own times are used for: balls.")
    go(hand, "material")
    # Two hours for four balls of 162 g, each 5 + 12.15 minutes by the common times: one of 200 g takes 20 / 17.15 as long.
    fact = next(c.fact for c in cards(hand, "FactCard") if c.fact.label == "Preparation")
    assert ("One ball of 200 g", "35 min") in fact.story.lines


def test_mounting_the_warp_is_one_tap_and_what_was_done_first_is_a_key_away(hand) -> None:
    go(hand, "preparation")
    hand.tap("Mounted")
    (entry,) = hand.app.desk.rug.preparations
    assert entry.kind is PreparationKind.WARP
    assert hand.sees("mounted")
    wound = [
        Preparation(id=f"p{n}", rug_id="r", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=1)
        for n in range(7)
    ]
    hand.app.desk.act("preparation done", *wound, rug_id="r")
    settle()
    # Six of eight entries stand on the page; the warp was the first.
    assert len(cards(hand, "DoneRow")) == 6
    hand.tap("Show 2 more")
    settle()
    assert [row.done.words for row in cards(hand, "DoneRow")][-1] == "warp mounted"
    assert not hand.sees("Show 2 more")


def test_in_large_type_the_head_scrolls_with_the_list_and_the_warp_s_key_keeps_its_word(hand) -> None:
    look.text_scale = 2.0
    try:
        go(hand, "preparation")
        page = hand.shell.page
        scroll = page.ids.scroll
        assert scroll.height > 0.75 * page.height, "nothing but the title stands fixed"
        card = next(card for card in cards(hand, "CheckCard") if card.line.kind is PreparationKind.WARP)
        assert card.ids.more.text == "Mounted"
        assert card.ids.more.width < card.width
        words = next(w for w in card.walk(restrict=True) if getattr(w, "text", "") == card.line.name)
        assert words.width > 0.6 * card.width, "the word leaves room for what is ticked off"
        hand.tap("Mounted")
        assert [entry.kind for entry in hand.app.desk.rug.preparations] == [PreparationKind.WARP]
    finally:
        look.text_scale = 1.0


def test_the_plan_can_be_changed_from_the_material_page(hand) -> None:
    go(hand, "material")
    hand.shell.page.change_plan()
    settle()
    assert hand.shell.page.form.rug_id == "r"
    assert hand.shell.page.form.of(Role.PILE)[0].count == "R 600 tex"


def test_how_yarn_is_sold_is_asked_once_on_the_list_and_until_then_grams_are_proposed(hand) -> None:
    desk = hand.app.desk
    # An old book, in which the app had filled skeins of 500 g and a least of 1,000 g into the blue yarn by itself.
    blue = next(yarn for yarn in yarns() if yarn.id == "blue")
    desk.act("yarn changed", replace(blue, skein_g=500, least_purchase_g=1000), rug_id="r")
    settle()
    go(hand, "shopping")

    def amounts() -> dict[str, str]:
        return {card.line.name: card.line.amount for card in cards(hand, "BuyCard")}

    def order(yarn_id: str):
        return next(answer for answer in desk.answers.yarns if answer.yarn_id == yarn_id)

    short_g, want_g = order("blue").order_g, order("blue").want_g
    assert order("blue").order_skeins == 0
    assert 0 < short_g < 1000
    assert amounts()["Indigo"] == f"{short_g:.0f} g"
    # The list itself stands before what is asked of it.
    asked = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "How is your yarn sold?")
    assert all(card.y > asked.y for card in cards(hand, "BuyCard"))
    assert shown(cards(hand, "BuyCard")[0])
    hand.tap("One skein")
    for digit in "150":
        hand.tap(digit)
    hand.tap("Done")
    hand.tap("List in such skeins")
    settle()
    assert not hand.sees("How is your yarn sold?")
    skeins = math.ceil(want_g / 150)
    assert amounts()["Indigo"] == f"{skeins} skeins of 150 g"
    # The red yarn's own line says otherwise.
    assert amounts()["Madder"].endswith("skeins of 250 g")
    assert order("blue").order_g == 150 * skeins
    hand.shell.go("yarn_story", yarn_id="blue")
    settle()
    assert hand.sees(f"Buy {150 * skeins} g ({skeins} skeins)")
    go(hand, "shopping")
    assert not hand.sees("How is your yarn sold?")


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_list_stays_where_it_was_when_something_of_it_is_bought(hand, scale) -> None:
    look.text_scale = scale
    settle()
    try:
        go(hand, "shopping")
        scroll = hand.shell.page.ids.scroll
        hand.tap(cards(hand, "BuyCard")[-1])
        hidden = scroll.children[0].height - scroll.height
        before = (1.0 - scroll.scroll_y) * hidden
        assert before > 100
        hand.tap("Save")
        settle(30)
        assert len(hand.app.desk.rug.lots) == 1
        assert next(iter(hand.shell.ids.toast_place.children), None) is not None
        hidden = scroll.children[0].height - scroll.height
        # What is bought takes less room: the list may end sooner, but begins where it did.
        assert (1.0 - scroll.scroll_y) * hidden == pytest.approx(min(before, hidden), abs=2)
        hand.shell.dismiss_toast()
        settle(30)
        hidden = scroll.children[0].height - scroll.height
        assert (1.0 - scroll.scroll_y) * hidden == pytest.approx(min(before, hidden), abs=2)
    finally:
        look.text_scale = 1.0


@pytest.mark.parametrize("name", ["material", "shopping", "preparation", "costs"])
def test_a_page_shown_again_is_filled_anew_only_when_something_changed(hand, name) -> None:
    from tracker.domain.rug import Lot, new_id

    desk, shell = hand.app.desk, hand.shell
    shell.go(name)
    parts = list(shell.page.ids.columns.children)
    assert parts
    shell.open_tab("home")
    shell.go(name)
    assert shell.page.ids.columns.children == parts
    shell.open_tab("home")
    yarn = desk.rug.yarns[0]
    desk.act(
        "lot bought",
        Lot(id=new_id(), rug_id=desk.rug_id, yarn_id=yarn.id, mass_g=10.0, dye_lot="Z-1", day=desk.today()),
    )
    go(hand, name)
    assert shell.page.ids.columns.children != parts


def test_what_is_done_of_the_preparation_is_ticked_in_green(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("preparation")
    settle(3)
    ticked = [w for w in everything(hand.shell.page) if isinstance(w, CheckCard) and w.line.ticked]
    assert ticked
    for card in ticked:
        mark = next(w for w in card.walk(restrict=True) if isinstance(w, Icon) and w.name == "check")
        assert (mark.tone, mark.opacity) == ("green", 1)


def test_the_yarn_count_is_given_on_the_list_and_less_is_bought(open_app) -> None:
    hand = open_app()
    for key in ("Plan a rug", "Next: Size", "60 × 90 cm", "Save", "Yarn", "Shopping"):
        hand.tap(key)
    desk = hand.app.desk
    pile = desk.rug.yarns_of(Role.PILE)[0]
    before = {answer.yarn_id: answer.order_g for answer in desk.answers.yarns}
    hand.tap("Yarn count of Ivory")
    # Just what was assumed: the need stays what it is, and it is surer.
    hand.shell.sheet.content.ids.entry.text = f"R {assumed_tex(desk.rug.plan, pile):g} tex"
    hand.tap("Done")
    assert desk.rug.yarns_of(Role.PILE)[0].tex == assumed_tex(desk.rug.plan, pile)
    after = {answer.yarn_id: answer.order_g for answer in desk.answers.yarns}
    assert after[pile.id] < before[pile.id]
    assert not hand.sees("Yarn count of Ivory")
    assert hand.sees("Ivory: yarn count "), "the strip says what Undo takes back"
    hand.tap("Yarn count of Warp")
    hand.shell.sheet.content.ids.entry.text = "thin"
    hand.tap("Done")
    assert hand.sees("is not a fineness of yarn (yarn count)"), (
        "what is none is said in the sheet, and nothing is lost"
    )
