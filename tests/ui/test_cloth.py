"""The cloth by touch: measure, read what it says, withdraw, hold the rows or the length."""

from __future__ import annotations

from datetime import timedelta

from kivy.core.window import Window

from tests.today import TODAY
from tests.ui.hand import everything
from tracker.domain.rug import Hold
from tracker.previews.draw import settle


def at_the_cloth(open_app, path, **how):
    hand = open_app(path, **how)
    hand.tap("Finish")
    key = next(
        w for w in hand.shell.page.walk() if getattr(w, "icon", "") == "measure" and hasattr(w, "on_release")
    )
    hand.tap(key)
    assert hand.shell.page_name == "cloth"
    return hand


def give(hand, digits: str) -> None:
    for digit in digits:
        hand.tap(hand.find(digit, hand.shell.sheet))
    hand.tap(hand.find("Done", hand.shell.sheet))


def reading(hand, label: str) -> str:
    """Return what the field of that name shows."""
    return next(field.answer for field in hand.shell.page.ids.readings.children if field.label == label)


def test_a_length_is_measured_and_undone(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    before = len(hand.app.desk.rug.measurements)
    rows = hand.app.desk.rug.rows_woven
    hand.tap("Length")
    give(hand, "83.5")
    hand.tap("Save what was measured")
    latest = hand.app.desk.rug.measurements[-1]
    assert (latest.row, latest.length_cm, latest.day) == (rows, 83.5, TODAY)
    assert hand.sees("Saved. Ends ") or hand.sees("rows in 10 cm, planned")
    hand.tap("Undo")
    assert len(hand.app.desk.rug.measurements) == before
    assert reading(hand, "Length") == "83.5 cm"
    # One that is still empty has its words in the middle.
    field = next(field for field in hand.shell.page.ids.readings.children if field.label == "Left side")
    (words,) = [one for one in field.walk() if getattr(one, "text", "") == "Left side"]
    assert abs(words.center_y - field.center_y) <= 2
    # On a phone that lies nobody scrolls for what a page is opened for.
    for size in ((892, 412), (640, 360)):
        Window.size = size
        settle()
        hand.shell.page.ids.scroll.scroll_y = 1
        settle()
        in_sight(hand, "Save what was measured", "Length", "Width")
        # Madder is to buy, of walnut lots are mixed: what is said of either pushes no key away.
        for yarn in (yarn for yarn in hand.app.desk.rug.yarns if yarn.name in ("Madder red", "Walnut brown")):
            hand.shell.go("yarn_story", yarn_id=yarn.id)
            settle()
            in_sight(hand, "Bought", "Weigh")
        hand.shell.go("sync")
        hand.wait(lambda: hand.sees("The orders go along"))
        in_sight(hand, "Write a file", "Choose a file")
        hand.shell.go("cloth")
        settle()


def in_sight(hand, *names: str) -> None:
    """Check that keys are wholly within the window, and not under what stands below the page."""
    for name in names:
        key = hand.find(name)
        while not hasattr(key, "on_release"):
            key = key.parent
        low, high = key.to_window(key.x, key.y)[1], key.to_window(key.x, key.top)[1]
        scroll = hand.shell.page.ids.scroll
        above = key.parent
        while above not in (scroll, hand.shell):
            above = above.parent
        bottom = scroll.to_window(scroll.x, scroll.y)[1] if above is scroll else 0
        assert bottom <= low < high <= Window.height, (name, Window.size)


def test_pages_left_open_over_midnight_are_of_today_and_a_half_filled_measurement_asks_which_day(
    open_app, demo, monkeypatch
) -> None:
    hand = at_the_cloth(open_app, demo)
    desk, tomorrow = hand.app.desk, TODAY + timedelta(days=1)
    hand.tap("Length")
    give(hand, "83.5")
    shown = {}
    for page in ("session", "unpick"):
        hand.shell.go(page)
        settle()
        shown[page] = hand.shell.page.day
        monkeypatch.setattr(desk, "today", lambda: tomorrow)
        desk.follow_day()
        hand.wait(lambda: desk.fresh)
        assert hand.shell.page.form.day == tomorrow, page
        monkeypatch.setattr(desk, "today", lambda: TODAY)
        desk.follow_day()
        hand.wait(lambda: desk.fresh)
    assert set(shown.values()) == {"today"}
    hand.shell.go("cloth")
    settle()
    monkeypatch.setattr(desk, "today", lambda: tomorrow)
    desk.follow_day()
    hand.wait(lambda: desk.fresh)
    hand.tap("Save what was measured")
    assert hand.sees("Which day is meant?")
    hand.tap(next(words for words in hand.words() if words.endswith("when it was begun")))
    latest = desk.rug.measurements[-1]
    assert (latest.length_cm, latest.day) == (83.5, TODAY)


def test_a_slip_is_refused_and_the_form_stays(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    hand.tap("Length")
    give(hand, "835")
    hand.tap("Save what was measured")
    assert hand.sees("Length: 835 cm is not possible.")
    assert reading(hand, "Length") == "835 cm"


def test_a_half_filled_form_is_still_there_after_closing(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    hand.tap("Length")
    give(hand, "83.5")
    hand = at_the_cloth(open_app, demo)
    assert reading(hand, "Length") == "83.5 cm"


def test_a_loose_beat_is_warned_about_while_it_can_be_mended(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    hand.tap("Length")
    give(hand, "88")
    hand.tap("Save what was measured")
    assert "too long" in hand.shell.page.warning
    assert "Beat harder" in hand.shell.page.warning


def test_a_wrong_measurement_is_withdrawn(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    first = hand.shell.page.ids.lines.children[-1]
    gone = first.measurement_id
    hand.tap(first.children[0])
    assert gone not in {m.id for m in hand.app.desk.rug.measurements}
    hand.tap("Undo")
    assert gone in {m.id for m in hand.app.desk.rug.measurements}


def test_the_length_is_held_instead_of_the_rows(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    hand.tap(hand.shell.page.hold_length)
    assert hand.app.desk.rug.plan.hold is Hold.LENGTH
    assert not hand.shell.page.holds_rows
    hand.tap("Undo")
    assert hand.app.desk.rug.plan.hold is Hold.ROWS


def test_an_unwoven_rug_has_nothing_to_measure(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.shell.go("cloth")
    settle()
    assert hand.sees("No length measured yet.")
    page = hand.shell.page
    assert not page.can_save
    page.change(width_cm=50.0)
    hand.tap("Save what was measured")
    assert hand.sees("Nothing is woven yet.")


def test_sides_and_diagonals_by_touch_draw_the_lean_and_warn(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    page = hand.shell.page
    for label, digits in (
        ("Width", "102"),
        ("Left side", "83"),
        ("Right side", "83"),
        ("Diagonal from lower left", "134"),
        ("Diagonal from lower right", "129"),
    ):
        hand.tap(label)
        give(hand, digits)
    hand.tap("Save what was measured")
    latest = hand.app.desk.rug.measurements[-1]
    assert (latest.width_cm, latest.left_cm, latest.rising_cm, latest.falling_cm) == (102, 83, 134, 129)
    assert latest.length_cm == 83
    card = page.ids.shape_place.children[0]
    assert card.headline.startswith("Out of shape at row")
    said = [text.text for text in card.ids.sentences.children]
    assert any("leans to the right" in words for words in said)
    assert any("rows are left to correct it in" in words for words in said)
    assert any("slowly and evenly" in words for words in said)
    hand.tap("Undo")
    assert latest.id not in {item.id for item in hand.app.desk.rug.measurements}
    assert reading(hand, "Diagonal from lower left") == "134 cm"


def test_one_side_alone_is_refused_and_stays_in_the_form(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    before = len(hand.app.desk.rug.measurements)
    hand.tap("Left side")
    give(hand, "83")
    hand.tap("Save what was measured")
    assert hand.sees("Give both sides")
    assert len(hand.app.desk.rug.measurements) == before
    assert reading(hand, "Left side") == "83 cm"


def test_without_a_shape_the_page_shows_no_picture(open_app, demo) -> None:
    hand = at_the_cloth(open_app, demo)
    for _time in range(2):
        line = hand.shell.page.ids.lines.children[0]
        hand.tap(line.children[0])
        hand.shell.dismiss_toast()
    assert not hand.app.desk.rug.measurements
    assert not hand.shell.page.ids.shape_place.children
    assert not hand.shell.page.ids.width_place.children


def test_a_width_is_told_as_it_was_measured_in_two_lines_at_most(open_app, demo) -> None:
    """102 cm planned; what is believed after a reading of 97 lies between them."""
    hand = at_the_cloth(open_app, demo)
    hand.tap("Width")
    give(hand, "97")
    hand.tap("Save what was measured")
    assert hand.sees("Saved. 97 cm wide, planned ")
    words = hand.shell.ids.toast_place.children[0].ids.words
    assert len(words._label._cached_lines) <= 2
    card = hand.shell.page.ids.shape_place.children[0]
    (width,) = [text.text for text in card.ids.sentences.children if "planned on the loom" in text.text]
    assert "draws in: 97 cm (measured at row " in width


def test_why_it_was_not_saved_goes_as_soon_as_the_form_changes(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.go("cloth")
    settle()
    page = hand.shell.page
    # Nothing was measured yet: the key below leads down to where it is entered.
    assert not hand.sees("Save what was measured")
    scroll, heading = page.ids.scroll, page.ids.measure
    assert heading.to_window(*heading.pos)[1] < scroll.to_window(*scroll.pos)[1]
    hand.tap("Measure now")
    settle()
    head = scroll.to_window(0, scroll.top)[1]
    assert (
        head - 40
        < heading.to_window(0, heading.y)[1]
        < heading.to_window(0, heading.top - heading.air)[1]
        <= head + 1
    )
    # Once more it did nothing: it asks for the first length.
    hand.tap("Measure now")
    settle()
    assert hand.sees("Done")
    hand.shell.close_sheet()
    settle()
    page.change(width_cm=100.0, row=0)
    settle()
    assert hand.find("Save what was measured").disabled
    assert hand.sees("Give the row up to which you measured")
    page.ask_row()
    settle()
    for digit in str(hand.app.desk.rug.rows_woven + 1):
        hand.tap(digit)
    assert hand.find("Done").disabled, "so many rows are not woven"
    hand.tap(next(key for key in everything(hand.shell.sheet) if getattr(key, "icon", "") == "back"))
    hand.tap("Done")
    assert not hand.sees("Give the row up to which you measured")
    assert not hand.find("Save what was measured").disabled
