"""What a stranger sees and reaches: the range on one line, Done in the window, one size of names, the running timer."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from kivy.core.window import Window
from kivy.graphics import Color

from tests.today import TODAY
from tests.ui.hand import everything, shown
from tests.ui.handed_time import pass_time
from tracker.previews.draw import settle
from tracker.widgets.basics import Swatch, rest_at
from tracker.widgets.look import look


def window_box(widget):
    x, y = widget.to_window(*widget.pos)
    return x, y, x + widget.width, y + widget.height


def test_the_likely_days_stand_on_one_line_of_a_small_phone(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 640))
    ids = hand.shell.page.ids
    line_px = ids.finish_label.texture_size[1]
    assert ids.finish_range.text.startswith("likely ")
    assert ids.finish_range.texture_size[1] == line_px
    assert ids.wish.texture_size[1] == line_px
    left, right = window_box(ids.finish_range), window_box(ids.wish)
    assert left[0] + ids.finish_range.texture_size[0] <= right[2] - ids.wish.texture_size[0]
    assert (ids.wish.tone, ids.band.band.misses) == ("soft", False), "red only where the target is missed"


def test_a_range_with_its_year_stands_on_one_line_where_no_target_needs_the_room(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 640))
    desk = hand.app.desk
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    desk.choose(winter.id)
    hand.wait(lambda: hand.sees(" 2027") and desk.rug.plan.id == winter.id and desk.fresh)
    ids = hand.shell.page.ids
    assert ids.finish_range.text.startswith("likely ")
    assert not ids.wish.text
    assert ids.finish_range.texture_size[1] == ids.finish_label.texture_size[1]


def test_a_range_and_a_target_that_are_too_long_for_one_line_stand_below_each_other(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 640))
    ids = hand.shell.page.ids
    line_px = ids.finish_label.texture_size[1]
    ids.finish_range.text, ids.wish.text = "likely 24 Dec 2026 to 24 Jan 2028", "target 22 Jan 2028"
    settle()
    assert ids.finish_range.texture_size[1] == ids.wish.texture_size[1] == line_px
    assert window_box(ids.wish)[3] <= window_box(ids.finish_range)[1] + 1


def test_a_condition_of_the_date_stands_apart_from_its_range(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 640))
    ids = hand.shell.page.ids
    assert ids.finish_label.text.startswith("Last row, if Madder red is bought by ")
    assert not any(words.startswith("Holds only if") for words in hand.words())
    look.scale_text(chosen=1.3)
    settle()
    condition = hand.find(next(words for words in hand.words() if words.startswith("Holds only if")))
    assert ids.finish_label.text.startswith("Last row, from ")
    assert window_box(ids.finish_range)[1] - window_box(condition)[3] >= 6
    # Twice as large it would lie below the window: it stands over the day then.
    look.scale_text(chosen=2.0)
    settle()
    assert ids.finish_label.text.startswith("Last row, if Madder red is bought by ")
    assert window_box(ids.finish_label)[1] > window_box(ids.finish_figure)[3] - 2 > window_box(ids.log)[3]
    assert not any(words.startswith("Holds only if") for words in hand.words())


def test_the_rows_woven_have_a_ground_of_their_own_wherever_the_rug_lies_under_them(open_app, demo) -> None:
    """After large type and back they once stood dark on the red rug until a new start."""
    hand = open_app(demo, size=(360, 640))
    plate = hand.shell.page.ids.rows
    (ground,) = [part for part in plate.canvas.before.children if isinstance(part, Color)]
    for scale, has_ground in ((1.0, True), (2.0, False), (1.0, True)):
        look.scale_text(chosen=scale)
        settle()
        assert (ground.a == 1) is has_ground, scale


def test_the_rug_is_the_first_thing_seen_and_the_date_and_the_yarns_stand_whole_below_it(
    open_app, demo
) -> None:
    """The rug has more than a third of a small phone's window; one yarn to see to has a card, the other one a line."""
    hand = open_app(demo, size=(360, 640))
    ids = hand.shell.page.ids
    assert ids.picture.height >= 0.36 * hand.shell.height
    assert len(ids.alerts.children) == 1
    ball = next(w for w in everything(ids.yarns) if isinstance(w, Swatch))
    words = hand.find("Indigo: probably enough; the others will last")
    for widget in (ids.finish_figure, ids.finish_range, ids.alerts.children[0], ball, words):
        assert window_box(widget)[1] >= window_box(ids.scroll)[1]
    assert abs(words.to_window(0, words.center_y)[1] - ball.to_window(0, ball.center_y)[1]) < 8
    hand.tap(ids.row_of)
    assert hand.shell.page_name == "progress", "what stands on the picture is tapped by itself"


@pytest.mark.parametrize(
    ("size", "cards", "others"), [((412, 892), 2, "the others will last"), ((1280, 800), 2, "Pale madder")]
)
def test_where_there_is_room_each_yarn_to_see_to_has_a_card_and_a_tablet_tells_of_all(
    open_app, demo, size, cards: int, others: str
) -> None:
    hand = open_app(demo, size=size)
    ids = hand.shell.page.ids
    assert len(ids.alerts.children) == cards
    words = hand.find(others)
    assert window_box(words)[1] >= window_box(ids.scroll)[1]
    log, scroll = window_box(ids.log), window_box(ids.scroll)
    assert scroll[0] <= log[0] <= log[2] <= scroll[2], "the main key stands below what it belongs to"
    if size[0] > size[1]:
        hand.tap(words)
        assert hand.shell.page.title == "Pale madder"
        for page, pane in (("session", "left"), ("shopping", "columns")):
            hand.shell.go(page)
            settle()
            ids = hand.shell.page.ids
            key = hand.find("All bought as listed") if page == "shopping" else ids.save
            first = ids[pane].children[-1] if page == "shopping" else ids[pane]
            assert window_box(first)[0] - 1 <= window_box(key)[0], page
            assert window_box(key)[2] <= window_box(first)[2] + 1, page


def test_before_anything_is_bought_no_yarn_is_a_worry(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    desk.choose(winter.id)
    hand.wait(lambda: desk.rug.plan.id == winter.id and desk.fresh)
    hand.shell.open_tab("yarn")
    settle()
    assert hand.sees("Nothing bought yet.")
    to_buy = [
        w for w in everything(hand.shell.page) if getattr(w, "text", "").startswith("to buy ") and shown(w)
    ]
    assert to_buy
    assert {w.tone for w in to_buy} == {"ink"}


def test_the_words_on_the_rug_hide_neither_its_first_row_nor_a_rug_that_is_seen_whole(open_app, demo) -> None:
    """The woven edge is in sight at every row; before the first row and after the last the rug stands whole beside its rows."""
    from tracker.widgets.rug_hero import RugHero

    hand = open_app(demo, size=(360, 640))
    page = hand.shell.page
    hero, plate = page.ids.picture, page.ids.rows
    assert isinstance(hero, RugHero)
    assert hero.frame()[3] > hero.height + 10, "the rug is shown whole, so that nothing could be hidden"
    for row in (0, 1, hero.rows // 2, hero.rows - 1, hero.rows):
        hero.row = row
        page._fit_plate()
        settle()
        x, y, width, height = hero.frame()
        assert (plate.x, plate.y) == tuple(hero.pos)
        if hero.whole:
            assert hero.y < y < y + height < hero.y + hero.height
            assert width == pytest.approx(height * hero.aspect)
            assert plate.right <= x + 0.5
            assert x + width <= hero.right
        else:
            assert plate.height - 2 <= hero.edge <= hero.height
            assert (x, width) == (hero.x, hero.width)


def test_no_words_of_the_first_view_lie_under_the_bar_that_scrolls(open_app, demo) -> None:
    hand = open_app(demo, size=(892, 412))
    scroll = hand.shell.page.ids.scroll
    bar_left = window_box(scroll)[2] - scroll.bar_margin - scroll.bar_width
    for widget in everything(scroll):
        if getattr(widget, "text", "") and shown(widget):
            assert window_box(widget)[2] <= bar_left + 0.5, widget.text


def test_every_run_of_a_row_is_named_in_one_size(open_app, demo) -> None:
    from tracker.screens.loom.loom import RunName

    hand = open_app(demo, size=(892, 412))
    hand.tap("Row")
    sizes = {w.font_size for w in everything(hand.shell) if isinstance(w, RunName) and shown(w)}
    assert len(sizes) == 1


def test_done_of_the_places_lies_in_a_phone_laid_on_its_side(open_app, demo) -> None:
    from tracker.sheets.places import ask_places

    hand = open_app(demo, size=(892, 412))
    told = []
    names = {"a": "left seat", "b": "right seat"}
    places = (("a", 1, 121), ("b", 122, 241))
    ask_places(hand.shell, names, 241, places, (), lambda *what: told.append(what))
    settle()
    done = hand.find("Done", hand.shell.sheet)
    _left, bottom, _right, top = window_box(done)
    assert bottom >= 0
    assert top <= 412
    hand.tap(done)
    assert told
    assert hand.shell.sheet is None


@pytest.mark.parametrize("lines", [1, 4])
@pytest.mark.parametrize("text", ["Garden", "The walled garden of the long winter on the loom by the window"])
def test_done_of_a_text_is_not_below_it_where_the_keyboard_comes(
    open_app, demo, lines: int, text: str
) -> None:
    from tracker.sheets.asking import ask_text

    hand = open_app(demo)
    ask = ask_text(hand.shell, "Name", text, lambda _text: None, lines=lines)
    settle()
    entry, done = window_box(ask.ids.entry), window_box(hand.find("Done", hand.shell.sheet))
    assert done[3] > entry[1] + (entry[3] - entry[1]) / 2
    assert done[0] >= entry[2]
    assert ask.ids.entry.text == text


def test_a_name_that_stands_there_is_replaced_by_what_is_typed_and_a_long_hint_is_read_whole(
    open_app, demo
) -> None:

    from tracker.sheets.asking import ask_text

    hand = open_app(demo)
    said: list[str] = []
    hint = "the mark of its dye bath, if it has one"
    ask = ask_text(hand.shell, "Dye lot", "Rug 1", said.append, hint=hint)
    settle()
    for letter in "Garden":
        Window.dispatch("on_textinput", letter)
    words = next(w for w in everything(ask) if getattr(w, "text", "") == hint and shown(w))
    assert words.texture_size[0] <= words.width + 1.5
    entry = ask.ids.entry
    # The letters stand as high above the field's foot as below its head.
    assert entry.padding[1] == pytest.approx((entry.height - entry.line_height) / 2)
    hand.tap("Done")
    assert said == ["Garden"]


def test_an_icon_stands_beside_its_words_though_it_came_after_them(open_app, demo) -> None:
    from kivy.uix.floatlayout import FloatLayout

    from tracker.widgets.basics import Key

    open_app(demo)
    place = FloatLayout(size=(400, 100))
    key = Key(text="Back to row 198", size_hint=(None, None), width=300)
    place.add_widget(key)
    settle()
    key.text = "Row done"
    settle()
    key.icon = "check"
    settle()
    icon, words = key.children[1], key.children[0]
    # Both together stand in the middle, with no more than their gap between them.
    left = words.center_x - words.natural / 2
    assert left - icon.right < 14
    assert (icon.x - key.x) == pytest.approx(key.right - (left + words.natural), abs=6)


@pytest.mark.parametrize("scale", [1.0, 1.3, 2.0])
def test_the_session_reads_in_large_type_and_its_day_lies_within_the_window(
    open_app, demo, scale: float
) -> None:
    from tracker.widgets.look import look

    hand = open_app(demo)
    look.text_scale = scale
    hand.tap("Log the session")
    hand.shell.page.change(day=date(2026, 11, 20))
    settle(12)
    label = hand.find(hand.shell.page.begun_label)
    lines = label.height / (label.font_size * 1.2)
    top = window_box(hand.find("20 Nov"))[3]
    look.text_scale = 1.0
    assert lines < 2.5, "the label has no room beside its keys"
    assert top <= hand.shell.height


def test_type_of_twice_the_size_leaves_room_for_the_rug_and_its_runs_and_is_one_size_in_the_bar(
    open_app, demo
) -> None:
    from tracker.screens.loom.loom import RunTile
    from tracker.shell.shell import NavKey
    from tracker.widgets.look import look

    hand = open_app(demo)
    look.text_scale = 2.0
    try:
        settle(12)
        tabs = [key.inscription for key in everything(hand.shell) if isinstance(key, NavKey)]
        assert len(tabs) == 5
        assert len({words.font_size for words in tabs}) == 1, "words of two sizes side by side"
        assert min(words.fitted for words in tabs) < 1.0, "some of them is too long for its key at this size"
        page = hand.shell.page
        assert page.ids.picture.height >= 0.16 * page.height
        assert page.ids.finish_range.to_window(0, page.ids.finish_range.top)[1] > page.ids.log.top
        hand.tap("Row")
        settle()
        runs = hand.shell.page.ids.runs
        low, high = runs.to_window(0, runs.y)[1], runs.to_window(0, runs.top)[1]
        tiles = [tile for tile in everything(runs) if isinstance(tile, RunTile)]
        middles = [tile.to_window(0, tile.center_y)[1] for tile in tiles]
        assert sum(low < middle < high for middle in middles) >= 4, "too few runs are seen at once"
        assert all(tile.height >= look.loom_touch for tile in tiles)
    finally:
        look.text_scale = 1.0


def test_today_is_marked_where_a_day_is_asked_for(open_app, demo) -> None:
    from tracker.sheets.asking import DayKey, ask_day

    hand = open_app(demo)
    ask_day(hand.shell, "Which day?", date(2026, 11, 3), lambda _day: None)
    settle()
    marked = [key.value for key in everything(hand.shell) if isinstance(key, DayKey) and key.is_today]
    assert marked == [TODAY]


@pytest.mark.parametrize("scale", [1.0, 1.3])
def test_what_can_be_done_with_a_yarn_stands_in_even_lines(open_app, demo, scale: float) -> None:
    from tracker.screens.yarn_story.yarn_story import ActKey
    from tracker.widgets.look import look

    hand = open_app(demo)
    look.text_scale = scale
    hand.shell.go("yarn_story", yarn_id=hand.app.desk.rug.yarns[0].id)
    settle(12)
    tops: dict[int, set[int]] = {}
    for key in (widget for widget in everything(hand.shell) if isinstance(widget, ActKey)):
        tops.setdefault(round(key.y), set()).add(round(key.top))
    look.text_scale = 1.0
    assert len(tops) > 1
    assert all(len(of_line) == 1 for of_line in tops.values())


def test_a_timer_in_large_type_or_of_another_rug_leaves_the_titles_whole(open_app, demo) -> None:
    """It cut the rug's name to "W…", and the Diary's title was not to be seen."""
    from tracker.device.clock import now_utc
    from tracker.presenters import timer as timer_sums
    from tracker.widgets.look import look

    hand = open_app(demo)
    desk, shell = hand.app.desk, hand.shell
    winter = next(plan.id for plan in desk.plans if plan.name == "Long winter")
    for rug_id, scale, line in (
        (desk.rug_id, 2.0, "1:05"),
        (winter, 2.0, "Long winter · 1:05"),
        (winter, 1.0, "Long winter · 1:05"),
    ):
        look.scale_text(chosen=scale)
        sizes = []
        for running in (None, timer_sums.start(now_utc() - timedelta(minutes=65))):
            for other in (desk.rug_id, winter):
                timer_sums.keep_timer(desk.drafts, other, running if other == rug_id else None)
            hand.tap("Diary")
            shell.look_at_timer()
            settle()
            bar = shell.page.walk(restrict=True)
            sizes += [w.fitted for w in bar if getattr(w, "text", "") == "Diary" and w.opacity]
        without, beside = sizes
        assert beside == without > 0.8
        clock = hand.find(line)
        assert window_box(clock)[3] <= window_box(shell.page)[1] + 1, "over the page"
    # On its side the bar has the room; the row's head, half as wide, has not.
    look.scale_text(chosen=2.0)
    Window.size = (892, 412)
    hand.tap("Diary")
    settle()
    assert hand.sees("Long winter\n1:05")
    hand.tap("Row")
    settle()
    assert window_box(hand.find(line))[3] <= window_box(shell.page)[1] + 1
    hand.tap(line)
    assert (shell.page_name, desk.rug_id) == ("session", winter)
    look.scale_text(chosen=1.0)


def test_a_running_timer_is_seen_on_the_other_main_pages_and_leads_back(open_app, demo) -> None:
    from tracker.widgets.basics import BarKey, TimerKey, TitleKey
    from tracker.widgets.look import look

    def clocks(hand):
        return [w for w in everything(hand.shell) if isinstance(w, TimerKey) and w.text and shown(w)]

    hand = open_app(demo)
    assert not clocks(hand)
    hand.tap("Log the session")
    timer = next(w for w in everything(hand.shell) if getattr(w, "icon", "") == "timer" and shown(w))
    hand.tap(timer)
    hand.key_back()
    settle()
    for tab in ("Rug", "Row", "Yarn", "Finish", "Diary"):
        hand.tap(tab)
        assert [clock.text for clock in clocks(hand)] == ["0:00"], tab
        bare = [w.icon for w in everything(hand.shell) if isinstance(w, BarKey) and w.icon and not w.text]
        assert not bare, "a picture without its word"
        if tab == "Rug":
            # Beside the time the rug's name stays on one line, its mark beside it; a longer one keeps its mark at its words.
            name = next(w for w in everything(hand.shell) if isinstance(w, TitleKey))
            assert name.ids.title.height < 2 * look.type_sizes["title"]
            hand.shell.page.title = "Garden with a wall"
            settle()
            words = name.ids.title._label
            widest = max(line.w for line in words._cached_lines)
            assert name.ids.mark.x <= name.ids.title.x + widest + 12
        if tab == "Row":
            # Also beside the key that reads aloud the words of the head take two lines at most.
            hand.shell.page.speaks = True
            settle()
            assert 0 < hand.shell.page.ids.told.height <= 2 * 1.4 * look.type_sizes["body"]
    hand.tap(clocks(hand)[0])
    assert hand.shell.page_name == "session"


def test_a_rug_that_is_finished_stays_in_hand(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rug_id = desk.rug_id
    desk.drafts.put("rug in hand", None)
    hand.shell.go("shelf")
    settle()
    hand.tap("Walled garden")
    hand.tap(next(word for word in hand.words(hand.shell.sheet) if "finished" in word.lower()))
    hand.tap("Save")
    hand.wait(lambda: desk.rug.plan.stage == "finished")
    assert desk.rug_id == rug_id


def test_an_empty_page_has_a_key_to_what_comes_first(open_app) -> None:
    hand = open_app()
    for page in ("diary", "cloth", "progress", "mending", "zoom", "finish", "yarn", "balls"):
        hand.shell.go(page)
        settle()
        assert hand.shell.page_name == page
        hand.wait(lambda: hand.sees("Plan a rug"))
        assert hand.sees("No rug yet.") or page in ("diary", "mending", "zoom", "yarn"), page
        assert not any("This rug" in words for words in hand.words()), "there is no rug to speak of"
        hand.tap("Plan a rug")
        assert hand.shell.page_name == "plan", page


def test_the_figures_of_the_first_view_lead_to_the_page_that_says_more(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 640))
    for figure, page in (("finish_figure", "finish"), ("knots", "progress")):
        hand.tap(hand.shell.page.ids[figure])
        assert hand.shell.page_name == page
        hand.shell.open_tab("home")


def test_scrolled_a_little_the_day_is_whole_with_its_label_or_out_of_sight(open_app, demo) -> None:
    hand = open_app(demo)
    scroll, heading = hand.shell.page.ids.scroll, hand.shell.page.ids.heading
    _x, low = scroll.to_window(*scroll.pos)
    rests = set()
    for px in (0, 12, 36, 60):
        rest_at(scroll, 1.0)
        settle()
        hand.drag((6, low + 60), (6, low + 60 + px + 20))  # beside all that is tapped
        for _frame in range(60):
            pass_time(1 / 30)
            settle(1)
        foot = heading.to_window(*heading.pos)[1]
        head = low + scroll.height
        rests.add(scroll.beyond_px > 20)
        assert foot >= head - 1 or foot + heading.height <= head + 1, (px, foot, heading.height, head)
    assert rests == {True, False}, "moved too little or too far"


def test_in_the_largest_type_rows_that_wait_and_anothers_timer_leave_the_day_in_sight(open_app, demo) -> None:
    from tracker.device.clock import now_utc
    from tracker.presenters import timer as timer_sums

    hand = open_app(demo)
    desk, shell = hand.app.desk, hand.shell
    other = next(plan.id for plan in desk.plans if plan.id != desk.rug_id)
    shell.open_tab("loom")
    settle()
    hand.tap("Row done")
    timer_sums.keep_timer(desk.drafts, other, timer_sums.start(now_utc() - timedelta(minutes=65)))
    try:
        look.scale_text(chosen=2.0)
        shell.open_tab("home")
        settle()
        assert hand.sees("+1 row not saved yet")
        scroll, day = shell.page.ids.scroll, shell.page.ids.finish_figure
        assert day.to_window(*day.pos)[1] >= scroll.to_window(*scroll.pos)[1]
        look.scale_text(chosen=1.0)
        settle()
        assert hand.sees("of 341 rows woven"), "with room both are said"
        assert hand.sees("+1 row not saved yet")
    finally:
        open_app.close()
        look.scale_text(chosen=1.0)


def test_while_the_date_of_another_day_is_worked_out_anew_it_is_grey_and_says_so(
    open_app, demo, monkeypatch
) -> None:
    hand = open_app(demo)
    desk, shell = hand.app.desk, hand.shell
    for tab in ("home", "finish"):
        shell.open_tab(tab)
        settle()
        assert not hand.sees("Calculating again")
        with monkeypatch.context() as slow:
            # As on a slow phone: the answers of tomorrow come later.
            slow.setattr(desk, "today", lambda: TODAY + timedelta(days=1))
            slow.setattr(desk, "read", lambda: None)
            hand.app.look_around()
            settle()
            assert hand.sees("Calculating again"), tab
        hand.app.look_around()
        settle()
        assert not hand.sees("Calculating again"), tab
