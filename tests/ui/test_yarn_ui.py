"""The yarn by touch: a short colour is bought and then lasts, leftovers are weighed, a slip is withdrawn and restored."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from tests.today import TODAY
from tests.ui.hand import everything, shown
from tracker.domain.act import ActKind
from tracker.forecast.answers import YarnWord
from tracker.presenters.yarn import build_yarn_story_state
from tracker.previews.draw import settle


def tap_number(hand, digits: str) -> None:
    """Tap a number on the pad and Done."""
    for digit in digits:
        hand.tap(digit)
    hand.tap("Done")


def red(hand):
    return next(yarn for yarn in hand.app.desk.rug.yarns if yarn.name == "Madder red")


def answer_of(hand, yarn_id: str):
    return next(one for one in hand.app.desk.answers.yarns if one.yarn_id == yarn_id)


def open_red(hand) -> None:
    hand.tap("Yarn")
    hand.tap("Madder red")


def test_no_word_of_an_answer_stands_alone_on_a_line_and_all_cards_are_built_alike(open_app, demo) -> None:
    """ "probably enough, 10 g / spare" wrapped beside a short name that left half the line free."""
    hand = open_app(demo)
    hand.tap("Yarn")
    cards = hand.shell.page.ids.cards.children
    assert len({card.side_by_side for card in cards}) == 1
    lines = [
        text._label._cached_lines
        for card in cards
        for text in everything(card)
        if getattr(text, "text", "") == card.card.word
    ]
    assert len(lines) == len(cards)
    assert all(len(of_word) == 1 for of_word in lines)
    # Where each has room they stand beside the names, and whole there, too.
    for card in cards:
        card.side_by_side = card.fits_beside
    settle(4)
    beside = [card for card in cards if card.side_by_side]
    assert any(card.card.name == "Indigo" for card in beside)
    for card in beside:
        (word,) = (text for text in everything(card) if getattr(text, "text", "") == card.card.word)
        assert len(word._label._cached_lines) == 1, card.card.word


def test_a_short_colour_is_bought_and_the_first_view_says_it_lasts(open_app, demo) -> None:
    hand = open_app(demo)
    yarn = red(hand)
    assert answer_of(hand, yarn.id).word is YarnWord.SHORT
    open_red(hand)
    assert hand.sees("Buy ")
    hand.tap("Bought")
    hand.tap("Weight")
    tap_number(hand, "750")
    hand.tap("Dye lot")
    hand.tap("M-14")
    hand.tap("Save")
    assert answer_of(hand, yarn.id).word is YarnWord.ENOUGH
    assert hand.sees("Now: enough")
    lot = hand.app.desk.rug.lots[-1]
    assert (lot.mass_g, lot.dye_lot, lot.day, lot.dyer) == (750.0, "M-14", TODAY, "the dyer by the river")
    hand.key_back()
    hand.wait(lambda: hand.shell.page_name == "yarn")
    hand.tap("Rug")
    assert "Madder red" in [line.name for line in hand.shell.page.ids.yarns.lines]
    assert not any("Madder red" in card.alert.title for card in hand.shell.page.ids.alerts.children)


def test_why_a_purchase_is_refused_is_seen_over_its_key(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 480))
    open_red(hand)
    hand.tap("Bought")
    hand.tap("Weight")
    tap_number(hand, "750")
    sheet = hand.shell.sheet.content
    # A second dye lot is warned of, and the sheet is higher than the window.
    sheet.answer("dye_lot", "another")
    sheet.answer("day", (TODAY + timedelta(days=4)).isoformat())
    hand.tap("Save")
    refusal = next(w for w in everything(hand.shell.sheet) if "still to come" in getattr(w, "text", ""))
    save = next(w for w in everything(hand.shell.sheet) if getattr(w, "text", "") == "Save" and shown(w))
    low, high = refusal.to_window(0, refusal.y)[1], refusal.to_window(0, refusal.top)[1]
    assert 0 < save.to_window(0, save.y)[1] < low < high < hand.shell.height


def test_undo_takes_the_purchase_back_and_keeps_the_form(open_app, demo) -> None:
    hand = open_app(demo)
    yarn, lots = red(hand), len(hand.app.desk.rug.lots)
    open_red(hand)
    hand.tap("Bought")
    hand.tap("Weight")
    tap_number(hand, "750")
    hand.tap("Save")
    assert len(hand.app.desk.rug.lots) == lots + 1
    hand.tap("Undo")
    assert len(hand.app.desk.rug.lots) == lots
    assert answer_of(hand, yarn.id).word is YarnWord.SHORT
    hand.tap("Bought")
    assert hand.sees("750 g")
    assert hand.sees("Undone, but not lost: it waits here.")
    hand.tap("Take it up again")
    assert hand.sees("Draft restored.")
    hand.tap("Start again")
    assert not hand.sees("750 g")


def test_a_half_filled_form_is_there_after_the_phone_rang(open_app, demo, monkeypatch) -> None:
    hand = open_app(demo)
    open_red(hand)
    hand.tap("Weigh")
    hand.tap("What is left")
    tap_number(hand, "315")
    hand = open_app(demo)
    open_red(hand)
    hand.tap("Weigh")
    assert hand.sees("315 g")
    hand.tap("Save")
    weighing = hand.app.desk.rug.weighings[-1]
    assert (weighing.yarn_id, weighing.mass_g, weighing.resolution_g) == (red(hand).id, 315.0, 5.0)
    assert abs(answer_of(hand, red(hand).id).on_hand_g - 315) < 20
    # It was far less: what happened to the rest is asked, and one touch answers.
    desk, yarn = hand.app.desk, red(hand)
    desk.act(ActKind.ENTRY_CORRECTED, replace(weighing, mass_g=215.0))
    hand.wait(lambda: hand.sees("less than expected. What was it?"))
    lost, thicker, misread = hand.shell.page.ids.doubt.children[2::-1]
    assert [key.text.split()[0] for key in (lost, thicker)] == ["Lost:", "Thicker"]
    # It may be the scale that was misread: what it showed is corrected where it stands.
    assert misread.text == "The scale was misread: correct what it showed"
    hand.tap(misread)
    assert hand.sees("215 g")
    assert "Correct" in hand.words(hand.shell.sheet)
    hand.key_back()
    hand.tap(lost)
    assert abs(desk.rug.spoilt[-1].mass_g - 100) < 30
    assert abs(answer_of(hand, yarn.id).on_hand_g - 215) < 5
    hand.wait(lambda: not hand.sees("What was it?"))
    hand.tap("Undo")
    assert not any(loss.note == "by the weighing" for loss in desk.rug.spoilt)
    # Answered anew; and while the answers are worked out a second touch does not answer what is answered.
    hand.wait(lambda: hand.sees("less than expected. What was it?"))
    lost, _thicker, _misread = hand.shell.page.ids.doubt.children[2::-1]
    samples, acts = desk.rug.samples, build_yarn_story_state(desk.rug, desk.answers, yarn.id).answers_doubt
    monkeypatch.setattr(desk, "background", True)
    hand.tap(lost)
    hand.shell.page.do_act(acts[1])
    hand.wait(lambda: desk.fresh)
    assert [loss.note for loss in desk.rug.spoilt].count("by the weighing") == 1
    assert desk.rug.samples == samples


def test_a_form_without_its_answer_says_which_and_stays(open_app, demo) -> None:
    hand = open_app(demo)
    open_red(hand)
    lots = len(hand.app.desk.rug.lots)
    hand.tap("Bought")
    assert hand.find("Save", hand.shell.sheet).disabled, "nothing was entered yet"
    hand.tap("Save")
    assert not hand.sees("One answer is missing")
    hand.shell.sheet.content.answer("dyer", "the river dyer")
    hand.tap("Save")
    assert hand.sees("One answer is missing: Weight.")
    assert len(hand.app.desk.rug.lots) == lots
    assert hand.shell.sheet is not None


def test_the_back_key_closes_pad_form_and_page_one_by_one(open_app, demo) -> None:
    hand = open_app(demo)
    open_red(hand)
    hand.tap("Bought")
    hand.tap("Weight")
    hand.tap("7")
    hand.key_back()
    assert hand.sees("Dye lot")
    assert hand.shell.sheet is not None
    hand.key_back()
    assert hand.shell.sheet is None
    assert hand.shell.page_name == "yarn_story"
    hand.key_back()
    assert hand.shell.page_name == "yarn"


def test_a_ball_used_up_at_the_loom_is_one_tap_and_save(open_app, demo) -> None:
    hand = open_app(demo)
    yarn, sessions = red(hand), len(hand.app.desk.rug.sessions)
    rows = hand.app.desk.rug.rows_woven
    open_red(hand)
    hand.tap("Ball used up")
    hand.tap("Save")
    desk = hand.app.desk
    assert len(desk.rug.sessions) == sessions + 1
    assert desk.rug.sessions[-1].used == ((yarn.id, 1.0),)
    assert desk.rug.rows_woven == rows
    # A second one on the same day joins the first.
    hand.tap("Ball used up")
    hand.tap("Save")
    assert len(desk.rug.sessions) == sessions + 1
    assert desk.rug.sessions[-1].used == ((yarn.id, 2.0),)


def test_another_dye_lot_is_cautioned_before_saving_and_warned_of_after(open_app, demo) -> None:
    hand = open_app(demo)
    open_red(hand)
    hand.tap("Bought")
    hand.tap("Weight")
    tap_number(hand, "500")
    hand.tap("Dye lot")
    hand.tap("Another …")
    hand.shell.sheet.content.ids.entry.text = "M-15"
    hand.tap("Done")
    assert hand.sees("You have M-14 of this yarn. M-15 may differ in shade.")
    hand.tap("Save")
    assert hand.sees("Dye lots M-14 and M-15 may differ in shade.")


def test_a_wrong_weighing_is_corrected_withdrawn_and_restored_from_the_story(open_app, demo) -> None:
    hand = open_app(demo)
    yarn = red(hand)
    weighing = next(w for w in hand.app.desk.rug.weighings if w.yarn_id == yarn.id)
    open_red(hand)
    hand.tap(f"{weighing.mass_g:.0f} g left on the scale")
    hand.tap("Correct")
    hand.tap("What is left")
    tap_number(hand, "358")
    hand.tap("Save")
    now = next(w for w in hand.app.desk.rug.weighings if w.id == weighing.id)
    assert now.mass_g == 358.0
    assert (now.day, now.note) == (weighing.day, weighing.note)
    hand.tap("358 g left on the scale")
    assert hand.sees(f"What is left: {weighing.mass_g:.0f} g → 358 g")
    hand.tap("Delete")
    assert weighing.id not in {w.id for w in hand.app.desk.rug.weighings}
    assert hand.sees("Deleted: 358 g of Madder red left")
    hand.tap("Undo")
    assert weighing.id in {w.id for w in hand.app.desk.rug.weighings}


def test_a_correction_cannot_be_saved_before_anything_is_changed(open_app, demo) -> None:
    hand = open_app(demo)
    yarn = red(hand)
    weighing = next(w for w in hand.app.desk.rug.weighings if w.yarn_id == yarn.id)
    open_red(hand)
    hand.tap(f"{weighing.mass_g:.0f} g left on the scale")
    hand.tap("Correct")
    save = hand.find("Save", hand.shell.sheet)
    assert save.disabled
    sheet = hand.shell.sheet.content
    sheet.answer("mass_g", weighing.mass_g + 5)
    assert not save.disabled
    sheet.answer("mass_g", weighing.mass_g)
    assert save.disabled, "as it was again"
    assert weighing in hand.app.desk.rug.weighings


def test_a_book_without_a_rug_says_to_plan_one(open_app) -> None:
    hand = open_app()
    hand.tap("Yarn")
    assert hand.sees("No rug yet.")
    hand.find("Plan a rug")


def test_a_sheet_left_open_over_midnight_is_of_today_and_a_half_filled_one_asks_which_day(
    open_app, demo, monkeypatch
) -> None:
    hand = open_app(demo)
    desk, yarn = hand.app.desk, red(hand)
    open_red(hand)
    hand.tap("Weigh")
    untouched = hand.shell.sheet.content
    tomorrow = TODAY + timedelta(days=1)
    monkeypatch.setattr(desk, "today", lambda: tomorrow)
    desk.follow_day()
    hand.wait(lambda: desk.fresh)
    assert untouched.form.day_of() == tomorrow
    untouched.answer("mass_g", 300.0)
    assert untouched.form.day_of() == tomorrow
    # It stays open, half filled, until the day after: whether it was weighed then or now nobody else can know.
    monkeypatch.setattr(desk, "today", lambda: TODAY + timedelta(days=2))
    hand.tap("Save")
    assert hand.sees("Which day is meant?")
    hand.tap(next(words for words in hand.words() if words.endswith("when it was begun")))
    weighing = desk.rug.weighings[-1]
    assert (weighing.yarn_id, weighing.day, weighing.mass_g) == (yarn.id, tomorrow, 300.0)


def test_the_strip_leaves_what_it_tells_of_to_be_seen(open_app, demo) -> None:
    hand = open_app(demo)
    open_red(hand)
    hand.tap("Weigh")
    hand.shell.sheet.content.answer("mass_g", 350.0)
    hand.tap("Save")
    hand.wait(lambda: hand.sees("Undo"))
    page, strip = hand.shell.page, hand.shell._toast
    word = hand.find(page.word, page)
    assert strip.to_window(*strip.pos)[1] >= word.to_window(0, word.top)[1], "it lies over the answer"
    assert strip.to_window(*strip.pos)[1] >= 0
