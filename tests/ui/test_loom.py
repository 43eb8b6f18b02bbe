"""At the loom by touch: the next row, the place in it, rows counted into the session, the other side, other rows."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from kivy.core.window import Window
from kivy.metrics import dp

from tests.today import TODAY
from tests.ui.hand import everything, shown
from tests.ui.handed_time import pass_time
from tracker.domain.act import ActKind
from tracker.domain.rug import Session, new_id
from tracker.presenters import timer as timer_sums
from tracker.presenters.session import form_kept
from tracker.previews.draw import settle
from tracker.screens.loom.loom import RunName, RunTile
from tracker.widgets.basics import Key, Scroll, Text
from tracker.widgets.plain_label import extent


def at_the_loom(open_app, path, **how):
    hand = open_app(path, **how)
    hand.tap("Row")
    return hand


def tiles(hand):
    """The run tiles on the screen, in order."""
    from tracker.screens.loom.loom import RunTile

    shown = [w for w in hand.shell.page.ids.run_grid.children if isinstance(w, RunTile)]
    return sorted(shown, key=lambda tile: tile.index)


def test_the_row_to_weave_stands_there_with_its_runs(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    rug = hand.app.desk.rug
    row = rug.rows_woven + 1
    assert hand.shell.page.figure == str(row)
    cells = rug.cartoon.cells[row - 1]
    first = int((cells != cells[0]).argmax())
    names = {value: y.name for y in rug.yarns for value in y.cartoon_values}
    assert (tiles(hand)[0].count, tiles(hand)[0].name) == (str(first), names[int(cells[0])])


def test_the_number_of_a_yarns_name_stays_with_its_word(open_app, demo) -> None:
    hand = open_app(demo)
    hand.shell.open_tab("loom")
    settle(6)
    tile = next(widget for widget in everything(hand.shell.page) if isinstance(widget, RunTile))
    name = next(widget for widget in everything(tile) if isinstance(widget, RunName))
    wide = extent("Undyed wool of the autumn shearing, shade ", name.font_name, name.font_size, True)
    tile.name = "Undyed wool of the autumn shearing, shade 12"
    name.size_hint_x, name.width = None, wide
    settle(4)
    last = name._label._cached_lines[-1].words[0].text
    assert last.endswith("shade\u00a012"), last


def test_a_tap_marks_the_place_and_it_is_still_there_after_closing(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    hand.tap(tiles(hand)[2])
    assert {t.index: t.tied for t in tiles(hand) if t.index < 4} == {1: True, 2: False, 3: False}
    hand = at_the_loom(open_app, demo)
    assert {t.index: t.tied for t in tiles(hand) if t.index < 4} == {1: True, 2: False, 3: False}
    here = next(tile for tile in tiles(hand) if tile.here)
    hand.tap(here)
    assert next(tile for tile in tiles(hand) if tile.here).index == 3


def test_tapping_on_and_on_reaches_the_end_of_the_row(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    page = hand.shell.page
    runs = len(page.row.runs)
    for index in range(runs):
        here = next(tile for tile in tiles(hand) if tile.here)
        assert here.index == index
        _x, y = here.to_window(*here.center)
        bottom = page.ids.runs.to_window(*page.ids.runs.pos)[1]
        assert bottom < y < bottom + page.ids.runs.height, "the run in hand is always on the screen"
        hand.tap(here)
    assert page.all_tied


def test_rows_done_are_counted_and_wait_in_the_session_form(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    woven = hand.app.desk.rug.rows_woven
    hand.tap("Row done")
    hand.tap("Row done")
    assert hand.shell.page.figure == str(woven + 3)
    assert hand.sees("+2 rows counted")
    hand = at_the_loom(open_app, demo)
    assert hand.sees("+2 rows counted")
    hand.tap("Save the session")
    assert hand.shell.page.rows == 2
    hand.tap("Save")
    desk = hand.app.desk
    assert (desk.rug.sessions[-1].rows, desk.rug.rows_woven) == (2, woven + 2)
    hand.tap("Row")
    assert hand.shell.page.figure == str(woven + 3)
    assert not hand.sees("counted")


def test_a_row_done_shows_the_next_one_from_its_first_run_on(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    runs = hand.shell.page.ids.runs
    left, bottom = runs.to_window(runs.x, runs.y)
    for _time in range(8):
        hand.drag((left + 60, bottom + 20), (left + 60, bottom + runs.height - 20))
    assert runs.scroll_y < 0.9, "the row is not so long that its list scrolls"
    hand.tap("Row done")
    pass_time(1)
    first = next(tile for tile in tiles(hand) if tile.index == 0)
    top = runs.to_window(runs.x, runs.top)[1]
    assert first.to_window(first.x, first.top)[1] <= top + 1
    assert first.to_window(first.x, first.y)[1] >= runs.to_window(runs.x, runs.y)[1]


def test_of_the_runs_in_sight_only_a_tied_one_at_the_top_is_cut(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    page = hand.shell.page
    page.keep_place(9)
    pass_time(1)
    runs = page.ids.runs
    bottom, top = runs.to_window(runs.x, runs.y)[1], runs.to_window(runs.x, runs.top)[1]
    whole, cut = [], []
    for tile in tiles(hand):
        low, high = tile.to_window(tile.x, tile.y)[1], tile.to_window(tile.x, tile.top)[1]
        if low >= bottom - 1 and high <= top + 1:
            whole.append(tile.index)
        elif high > bottom + 1 and low < top - 1:
            cut.append(tile.index)
    assert {9, 10} <= set(whole)
    assert all(index < 9 for index in cut), "a run to come is cut"


def test_a_row_counted_by_mistake_is_taken_back_with_its_key(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    before = hand.shell.page.figure
    hand.tap("Row done")
    undo = next(k for k in hand.shell.page.ids.counted_line.children if getattr(k, "icon", "") == "undo")
    hand.tap(undo)
    assert hand.shell.page.figure == before
    assert form_kept(hand.app.desk.drafts, hand.app.desk.rug_id) is None


def timer_key(hand) -> Key:
    """The key of the session page that starts the timer, pauses it and lets it go on."""
    signs = ("timer", "pause", "play")
    return next(w for w in everything(hand.shell.page) if isinstance(w, Key) and w.icon in signs and shown(w))


def show_rug(hand, name: str) -> None:
    """Take another rug in hand, by touch."""
    hand.tap("Rug")
    hand.tap(hand.app.desk.rug.plan.name)
    hand.tap(name)
    hand.tap("Show it")


def test_a_row_taken_back_is_at_the_knot_where_it_was(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    hand.tap(tiles(hand)[2])
    hand.tap("Row done")
    assert hand.shell.page.place() is None
    hand.shell.page.row_back()
    settle()
    assert hand.shell.page.place() == 2


def test_rows_and_timer_of_one_rug_wait_while_a_session_of_the_other_is_saved(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    desk = hand.app.desk
    garden, sessions = desk.rug_id, len(desk.rug.sessions)
    hand.tap("Row done")
    hand.tap("Save the session")
    hand.tap("Madder red")
    hand.tap(timer_key(hand))
    hand.key_back()
    # An hour and five minutes pass.
    begun = timer_sums.timer_of(desk.drafts, garden)
    started = datetime.fromisoformat(begun.started) - timedelta(minutes=65)
    timer_sums.keep_timer(desk.drafts, garden, timer_sums.start(started))
    hand.shell.look_at_timer()

    show_rug(hand, "Long winter")
    # It runs on, and says at which loom.
    named = next(words for words in hand.words() if words.endswith("1:05"))
    assert named.startswith("Walled")
    assert not hand.sees("not saved yet")
    hand.tap("Log the session")
    page = hand.shell.page
    assert (page.rows, page.hours, page.timer_state) == (0, "not given", "none")
    hand.tap(page.ids.suggestions.children[2])
    rows = page.rows
    hand.tap(timer_key(hand))
    assert hand.sees("The timer of Walled garden is paused at 1:05; its time stays there.")
    hand.tap("Undo")
    assert hand.shell.page.timer_state == "none"
    hand.tap("Save")
    hand.tap("none named")
    assert [(session.rows, session.hours_from) for session in desk.rug.sessions] == [(rows, None)]

    hand = open_app(demo)
    desk = hand.app.desk
    hand.tap(desk.rug.plan.name)
    assert hand.sees("+1 row not saved yet · timer runs: 1:05")
    hand.key_back()
    # The running timer leads to its own rug, and says that this one is shown now.
    hand.tap(named)
    assert (hand.shell.page_name, desk.rug_id) == ("session", garden)
    assert hand.sees("Walled garden is the rug shown now.")
    assert (hand.shell.page.rows, hand.shell.page.timer_shown) == (1, "1:05")
    hand.tap("Save")
    red = next(yarn.id for yarn in desk.rug.yarns if yarn.name == "Madder red")
    saved = [(session.rows, session.hours, session.used) for session in desk.rug.sessions[sessions:]]
    assert saved == [(1, 1.0, ((red, 1.0),))]
    assert not hand.sees("1:05")

    # Corrected from the diary while the other rug is shown, it says that its own one is shown now; no timer stands there, for its
    # time would go to another evening.
    show_rug(hand, "Long winter")
    hand.tap("Diary")
    hand.tap("+1 row, 1 h each, 1 ball of Madder red")
    hand.tap("Correct")
    assert hand.sees("Walled garden is the rug shown now.")
    assert not any(isinstance(w, Key) and w.icon == "timer" and shown(w) for w in everything(hand.shell.page))
    hand.key_back()
    hand.tap("Rug")
    hand.tap("Log the session")
    assert timer_key(hand).text == "Timer"


def test_rows_of_another_evening_are_saved_before_new_ones_are_counted(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    hand.tap("Row done")
    hand = at_the_loom(open_app, demo, today=TODAY + timedelta(days=1))
    assert hand.sees("+1 row counted on 25 Nov")
    hand.tap("Row done")
    assert hand.shell.page_name == "session"
    assert hand.shell.page.rows == 1
    assert hand.sees("counted on another day")


def test_other_rows_are_looked_at_and_back_leads_to_the_next_one(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    row = int(hand.shell.page.figure)
    hand.tap(hand.shell.page.ids.after)
    hand.tap(hand.shell.page.ids.after)
    assert hand.shell.page.figure == str(row + 2)
    assert hand.key_back()
    assert hand.shell.page.figure == str(row)
    hand.tap(hand.shell.page.ids.before)
    assert hand.shell.page.figure == str(row - 1)
    hand.tap(f"Back to row {row}")
    assert hand.shell.page.figure == str(row)


def test_from_the_back_the_row_runs_the_other_way_and_stays_so(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    page = hand.shell.page
    # a row that reads differently from its two ends
    while [r.count for r in page.row.runs] == [r.count for r in reversed(page.row.runs)]:
        hand.tap(page.ids.after)
    row, front = page.row.row, [(r.count, r.name) for r in page.row.runs]
    hand.tap(page.ids.mirror)
    assert [(r.count, r.name) for r in page.row.runs] == front[::-1]
    hand = at_the_loom(open_app, demo)
    hand.shell.page.look_at(row)
    assert [(r.count, r.name) for r in hand.shell.page.row.runs] == front[::-1]


def test_a_knot_tapped_in_the_strip_marks_its_run(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    page, strip = hand.shell.page, hand.shell.page.ids.strip
    runs = page.ids.runs
    card = next(tile for tile in tiles(hand) if tile.here)
    bar = runs.to_window(runs._handle_y_pos[0], 0)[0]
    assert bar >= card.to_window(card.right, 0)[0], "the bar lies beside the cards"
    second = page.row.runs[1]
    knot = (second.first - 1 + second.last) / 2
    x, y = strip.to_window(strip.x + knot * strip.side, strip.center_y)
    hand.tap_at(x, y)
    assert next(tile for tile in tiles(hand) if tile.here).index == 1


def test_dragging_the_strip_shows_more_of_the_row_and_marks_nothing(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    strip = hand.shell.page.ids.strip
    y = strip.to_window(*strip.center)[1]
    hand.drag((300, y), (100, y))
    assert strip._start == pytest.approx(200, abs=2)
    assert hand.app.desk.drafts.get("loom place") in (None, {})


def test_without_a_cartoon_the_row_number_and_its_keys_remain(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    hand.tap("Row")
    assert hand.shell.page.figure == "1"
    assert hand.sees("This rug has no cartoon.")
    hand.tap("Row done")
    assert hand.shell.page.figure == "2"


def test_an_empty_book_says_what_to_do_first(open_app) -> None:
    hand = at_the_loom(open_app, None)
    assert hand.sees("No rug yet.")
    assert hand.find("Plan a rug")


def test_the_screen_stays_lit_only_at_the_loom(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    assert Window.allow_screensaver is False
    hand.tap("Rug")
    assert Window.allow_screensaver is True


@pytest.mark.parametrize("size", [(360, 640), (892, 412), (1280, 800)])
def test_every_key_is_large_enough_for_the_loom(open_app, demo, size) -> None:
    hand = at_the_loom(open_app, demo, size=size)
    hand.tap("Row done")
    page = hand.shell.page
    keys = [
        page.ids.before,
        page.ids.act,
        page.ids.after,
        page.ids.mirror,
        *page.ids.counted_line.children,
        *tiles(hand),
    ]
    keys = [key for key in keys if hasattr(key, "on_release")]
    assert len(keys) > 6
    for key in keys:
        assert key.height >= dp(64) - 0.01
        assert key.width >= dp(64) - 0.01


def test_the_first_view_tells_of_rows_counted_and_not_saved(open_app, demo) -> None:
    """It stood at another row than the loom, and said nothing of what waits there."""
    hand = at_the_loom(open_app, demo)
    hand.tap("Row done")
    hand.tap("Row done")
    hand.tap("Rug")
    assert hand.sees("+2 rows not saved yet")
    hand.tap("Row")
    hand.tap("Save the session")
    hand.tap("Save")
    assert hand.shell.page_name == "home"
    assert not hand.sees("not saved yet")


def test_after_the_last_row_one_key_saves_the_session_and_none_stands_empty(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    left = desk.rug.plan.rows - desk.rug.rows_woven - 1
    evening = Session(id=new_id(), rug_id=desk.rug.plan.id, day=TODAY, rows=left)
    desk.act(ActKind.SESSION_LOGGED, evening)
    hand.wait(lambda: desk.fresh)
    hand.shell.open_tab("loom")
    hand.tap("Row done")
    hand.wait(lambda: hand.sees("Every row of this rug is woven."))
    settle()
    keys = [key for key in everything(hand.shell.page) if isinstance(key, Key) and shown(key)]
    assert [key.text for key in keys].count("Save the session") == 1
    assert all(key.text or (key.icon and not key.disabled) for key in keys), "a blot where no key is"


def test_the_bar_beside_what_scrolls_lies_over_no_words_where_there_is_no_cartoon(open_app, demo) -> None:
    """With a row counted the hint no longer fits, and its bar crossed the words and the key."""
    hand = open_app(demo)
    desk = hand.app.desk
    desk.choose(next(plan.id for plan in desk.plans if plan.name == "Long winter"))
    settle(3)
    hand.shell.go("loom")
    settle(3)
    hand.shell.page.row_done()
    settle(3)
    (scroll,) = (
        widget
        for widget in everything(hand.shell.page)
        if isinstance(widget, Scroll) and widget.height > 40 and widget.children[0].height > widget.height
    )
    bar = scroll.to_window(scroll.right, 0)[0] - scroll.bar_margin - scroll.bar_width
    assert bar + scroll.bar_width <= hand.shell.width
    for widget in everything(scroll):
        if isinstance(widget, Key | Text) and widget.text:
            assert widget.to_window(widget.right, 0)[0] <= bar, widget.text
