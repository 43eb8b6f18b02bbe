"""The app at rest: no frames, no clocks of ours; and what happens around it while it lies there is followed all the same."""

from __future__ import annotations

import ctypes
import gc
import os
import re
import time
import weakref
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from kivy.cache import Cache
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.graphics import Rectangle
from kivy.graphics.opengl import GL_RENDERER, glGetString
from kivy.uix.widget import Widget

from tests.today import TODAY
from tests.ui.hand import Finger, Hand, everything, shown
from tests.ui.handed_time import handed, pass_time
from tracker.app import app as app_module
from tracker.app import reminders
from tracker.app.app import LOOK_AGAIN_S
from tracker.app.resting import QUIET_S, RESTING_FPS, Rest
from tracker.device import memory
from tracker.device.appearance import Appearance
from tracker.device.clock import follow_zone, now_utc
from tracker.device.memory import tidy
from tracker.presenters import timer
from tracker.previews.draw import settle
from tracker.screens import PAGES
from tracker.sheets.asking import ask_text
from tracker.shell.shell import WARNING_SECONDS
from tracker.widgets.basics import Scroll
from tracker.widgets.entry import Entry
from tracker.widgets.look import look

TRACKER = Path(__file__).parents[2] / "tracker"
KEYBOARD_LEAVES = 0.5
"""Share of a phone's height above its keyboard, upright (common practice, no source)."""

KIVYS_OWN = {Cache._purge_by_timeout}
"""Kivy throws old pictures away once a second, whatever the app does."""


def clocks() -> list[str]:
    """Return what is to be called at some time to come."""
    return [
        repr(event.get_callback()) for event in Clock.get_events() if event.get_callback() not in KIVYS_OWN
    ]


def frames_in(seconds: float) -> int:
    """Return how many frames the window would draw while nobody touches it."""
    drawn = 0

    def count(*_args: object) -> None:
        nonlocal drawn
        drawn += 1

    Window.bind(on_flip=count)
    pass_time(seconds)
    Window.unbind(on_flip=count)
    return drawn


@pytest.fixture
def drawn(_draw, monkeypatch) -> None:
    """Let the window draw each frame that is asked for; what is never drawn is asked for again for ever."""
    monkeypatch.setattr(Window, "on_draw", _draw)


def at_rest(hand: Hand) -> None:
    """Let whatever a page began come to its end."""
    hand.shell.dismiss_toast()
    pass_time(WARNING_SECONDS + 1)


def test_a_page_at_rest_draws_no_frame_and_has_no_clock(open_app, demo: Path, drawn: None) -> None:
    hand = open_app(demo)
    for page in ("home", *(name for name, info in PAGES.items() if info.tab), "session", "loom"):
        hand.shell.go(page)
        at_rest(hand)
        assert (page, frames_in(10), clocks()) == (page, 0, [])


def test_frames_are_counted_where_something_moves(open_app, demo: Path, drawn: None) -> None:
    hand = open_app(demo)
    at_rest(hand)
    moving = Clock.schedule_interval(lambda _dt: hand.shell.canvas.ask_update(), 0)
    assert frames_in(1) > 10
    assert clocks()
    moving.cancel()


STEPS = 100
"""More than are taken in one short rest."""


def test_the_window_rests_when_nothing_moves_and_wakes_at_a_touch(open_app, demo: Path, drawn: None) -> None:
    hand = open_app(demo)
    at_rest(hand)
    unlimited, Clock._max_fps = Clock._max_fps, 60.0
    ready: list[int] = []
    rest = Rest(ready.append(step) for step in range(STEPS))
    rest.begin()
    try:
        pass_time(QUIET_S / 2)
        assert Clock._max_fps == 60
        assert not ready, "a touch might come any moment"
        pass_time(QUIET_S)
        assert Clock._max_fps == RESTING_FPS
        so_far = len(ready)
        assert 0 < so_far < STEPS
        finger = Finger(2, Window.height - 2)
        finger.put(2, Window.height - 2)
        assert Clock._max_fps == 60, "the very touch wakes it"
        finger.lift()
        pass_time(QUIET_S / 2)
        assert len(ready) == so_far, "a touch waits for one step at most"
        hand.shell.canvas.ask_update()
        settle(1)
        pass_time(QUIET_S * 0.75)
        assert Clock._max_fps == 60, "what was drawn a moment ago counts"
        pass_time(QUIET_S)
        assert Clock._max_fps == RESTING_FPS
        pass_time(STEPS / 20)
        assert len(ready) == STEPS
        assert clocks() == [], "at rest no clock runs, not even that of resting"
        rest.end()
        assert Clock._max_fps == 60
    finally:
        rest.end()
        Clock._max_fps = unlimited


def test_no_touch_waits_for_garbage_which_is_looked_for_at_rest(open_app, demo: Path, drawn: None) -> None:
    hand = open_app(demo)
    at_rest(hand)
    looked: list[int] = []

    def note(phase: str, what: dict) -> None:
        if phase == "start":
            looked.append(what["generation"])

    unlimited, Clock._max_fps = Clock._max_fps, 60.0
    rest = Rest()
    rest.begin()
    gc.callbacks.append(note)
    gc.enable()  # which our tests keep off while an app is open
    try:
        hand.shell.go("material")
        dropped = weakref.ref(hand.shell.page)
        things = [
            [at] for at in range(300_000)
        ]  # some pages' worth; Python's own rule would look through all of them
        hand.shell.open_tab("home")
        hand.shell.drop_hidden_pages()
        settle(1)
        assert 2 not in looked, "a touch waited until every object was looked through"
        assert dropped() is not None, "then there would be nothing to look for"
        pass_time(2 * QUIET_S)
        assert 2 in looked
        assert dropped() is None, "a page that was let go stays in memory"
        looked.clear()
        Window.dispatch("on_flip")  # something was drawn, and nothing made
        pass_time(2 * QUIET_S)
        assert 2 not in looked, "nothing was made since"
    finally:
        gc.disable()
        gc.callbacks.remove(note)
        rest.end()
        Clock._max_fps = unlimited
    assert len(things) == 300_000


def test_a_page_that_is_long_in_coming_is_not_taken_for_rest(
    open_app, demo: Path, drawn: None, monkeypatch
) -> None:
    hand = open_app(demo)
    at_rest(hand)
    tidied: list[int] = []

    def tidying() -> Iterator[None]:
        for step in range(10 * STEPS):
            tidied.append(step)
            yield

    monkeypatch.setattr(memory, "tidying", tidying)
    unlimited, Clock._max_fps = Clock._max_fps, 60.0
    rest = Rest()
    rest.begin()
    try:
        pass_time(QUIET_S / 2)
        hand.shell.go("material")
        pass_time(1.5 * QUIET_S, frame_s=1.5 * QUIET_S)  # the frame in which it is built, on a slow phone
        assert not tidied, "garbage was looked for before the page was on the screen"
        assert Clock._max_fps == 60
        pass_time(2 * QUIET_S)
        assert Clock._max_fps == RESTING_FPS
        assert 0 < len(tidied) < 10 * STEPS
        so_far = len(tidied)
        finger = Finger(2, Window.height - 2)
        finger.put(2, Window.height - 2)
        finger.lift()
        pass_time(QUIET_S / 2)
        assert len(tidied) == so_far, "a touch waits for one step of looking for garbage at most"
    finally:
        rest.end()
        Clock._max_fps = unlimited


class Allocated(ctypes.Structure):
    """What glibc says of its memory (mallinfo2(3))."""

    _fields_ = (
        *((f"unused_{at}", ctypes.c_size_t) for at in range(4)),
        ("mapped", ctypes.c_size_t),
        *((f"unused_{at}", ctypes.c_size_t) for at in range(5, 7)),
        ("in_use", ctypes.c_size_t),
        *((f"unused_{at}", ctypes.c_size_t) for at in range(8, 10)),
    )


def allocated_mib() -> float:
    """Return what the libraries of this process have allocated and not freed [MiB]; without Python's own small objects."""
    library = ctypes.CDLL(None)
    library.mallinfo2.restype = Allocated
    told = library.mallinfo2()
    return (told.in_use + told.mapped) / 2**20


@pytest.mark.skipif(
    not hasattr(ctypes.CDLL(None), "mallinfo2"), reason="only glibc tells what it has given away"
)
def test_what_was_drawn_and_taken_away_is_not_kept_by_the_graphics_driver(drawn: None) -> None:
    if b"llvmpipe" not in glGetString(GL_RENDERER):
        pytest.skip("how much another driver keeps, and whether in this process at all, is not known")
    picture = Widget()
    Window.add_widget(picture)

    # The driver draws a frame from a second place where the one before is not ended, and what that holds stays until two meet
    # again: 11 to 25 MiB that this, or an app closed before, drew then come or go at any frame. So it is drawn a few times.
    told = []
    for _attempt in range(10):
        before = allocated_mib()
        with picture.canvas:
            for _rectangle in range(400):
                Rectangle(size=(5, 5))
        settle(2)
        drawn_mib = allocated_mib() - before
        picture.canvas.clear()
        settle(4)
        tidy()
        told.append((drawn_mib, allocated_mib() - before))
        if drawn_mib > 10 and told[-1][1] < 2:
            break
    else:
        pytest.fail(f"MiB drawn, and left of it, each time: {told}")
    Window.remove_widget(picture)


def test_the_running_timer_is_looked_at_when_its_minute_is_full(open_app, demo: Path, monkeypatch) -> None:
    started = now_utc()
    monkeypatch.setattr(reminders, "now_utc", lambda: started)
    hand = open_app(demo)
    drafts = hand.app.desk.drafts
    timer.keep_timer(drafts, hand.app.desk.rug_id, timer.start(started - timedelta(seconds=20)))
    hand.shell.open_tab("home")
    assert [wait for wait in clocks() if "_look_at_timer" in wait]
    assert reminders.next_look_s(drafts, lambda: started) == pytest.approx(40)
    hand.shell.go("session")
    hand.shell.page.tap_timer()
    at_rest(hand)
    assert clocks() == [], "a paused timer needs no clock"


def test_midnight_and_a_clock_set_anew_are_followed_at_the_next_touch(open_app, demo: Path) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    day = [TODAY]
    desk._today = lambda: day[0]
    last_row_about = desk.answers.finish.middle
    day[0] = TODAY + timedelta(days=9)
    hand.tap_at(2, Window.height - 2)
    assert desk.answers.finish.middle == last_row_about, "within some seconds of a look nothing is read again"
    pass_time(LOOK_AGAIN_S + 1)
    hand.tap_at(2, Window.height - 2)
    assert desk.answers.finish.middle > last_row_about, "nine days on which nobody wove make it later"
    day[0] = TODAY
    hand.app.on_resume()
    settle()
    assert desk.answers.finish.middle == last_row_about


def test_a_setting_changed_in_the_phones_own_bar_is_seen_when_the_window_is_in_front_again(
    open_app, demo: Path, monkeypatch
) -> None:
    set_to = [Appearance(dark=False)]
    monkeypatch.setattr(app_module, "appearance", lambda: set_to[0])
    open_app(demo)
    try:
        Window._focus, set_to[0] = False, Appearance(dark=True)
        settle()
        assert not look.dark
        Window._focus = True
        settle()
        assert look.dark
    finally:
        look.dark = False


@pytest.mark.skipif(
    not hasattr(time, "tzset"), reason="this system does not tell a process its time zone anew"
)
def test_another_time_zone_is_followed(monkeypatch) -> None:
    noon = 1_795_694_400  # 26 November 2026, 12:00 UTC
    try:
        monkeypatch.setenv("TZ", "UTC")
        follow_zone()
        assert date.fromtimestamp(noon) == date(2026, 11, 26)  # noqa: DTZ012 - the local day is what is asked for
        os.environ["TZ"] = "NZDT-13"
        follow_zone()
        assert date.fromtimestamp(noon) == date(2026, 11, 27)  # noqa: DTZ012
    finally:
        monkeypatch.undo()
        follow_zone()


def test_a_bar_that_came_to_rest_often_is_listened_to_no_oftener(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.tap("Yarn")
    scroll = next(widget for widget in everything(hand.shell.page) if isinstance(widget, Scroll))

    def listening() -> int:
        names = ("bar_color", "bar_inactive_color")
        return sum(len(list(scroll.get_property_observers(name))) for name in names)

    scroll.update_from_scroll()
    pass_time(2)
    at_first = listening()
    for _move in range(5):
        scroll.update_from_scroll()
    pass_time(2)
    assert listening() == at_first


def test_half_the_window_keeps_the_form_and_what_is_in_it(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.tap(hand.shell.page.ids.log)
    hand.shell.page.set_rows(5)
    before = len(hand.app.desk.rug.sessions)
    for size in ((360, 320), (640, 360), (360, 640)):
        Window.size = size
        settle()
        assert tuple(hand.shell.size) == size
        assert (hand.shell.page_name, hand.shell.page.form.rows) == ("session", 5)
        save = hand.shell.page.ids.save
        assert 0 <= save.y < save.top <= size[1] + 1, "the key that saves stays in the window"
    Window.size = (360, 320)
    settle()
    hand.tap(hand.shell.page.ids.save)
    assert len(hand.app.desk.rug.sessions) == before + 1


def test_a_page_turned_while_another_was_shown_is_laid_out_anew(open_app, demo: Path) -> None:
    hand = open_app(demo)
    pages = ("costs", "order", "trimming", "material", "preparation", "balls", "shopping")

    def columns(page: str) -> int:
        hand.shell.go(page)
        settle()
        assert hand.shell.page_name == page
        return len(hand.shell.page.ids.columns.children)

    assert {page: columns(page) for page in pages} == dict.fromkeys(pages, 1)
    hand.shell.open_tab("home")
    Window.size = (892, 412)
    settle()
    assert {page: columns(page) for page in pages} == dict.fromkeys(pages, 2)


def test_a_call_in_the_middle_of_a_tap_saves_nothing_and_breaks_nothing(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.tap(hand.shell.page.ids.log)
    hand.shell.page.set_rows(5)
    pass_time(1)
    before = len(hand.app.desk.rug.sessions)
    save = hand.shell.page.ids.save
    x, y = save.to_window(*save.center)
    finger = Finger(x, y)
    finger.put(x, y)
    settle(1)
    hand.app.on_pause()
    handed.now_s += 600
    hand.app.on_resume()
    settle()
    assert len(hand.app.desk.rug.sessions) == before
    assert (hand.shell.page_name, hand.shell.page.form.rows) == ("session", 5)
    # The phone ends the touch that it took away, far from where it began.
    finger.slide(2, Window.height - 2)
    finger.lift()
    settle()
    assert len(hand.app.desk.rug.sessions) == before
    hand.tap(save)
    assert len(hand.app.desk.rug.sessions) == before + 1


def note_sheet(hand: Hand) -> None:
    """Open the sheet in which every form asks for words."""
    ask_text(hand.shell, "A note", "", lambda _text: None, lines=3)


def search_the_diary(hand: Hand) -> None:
    """Open the line in which the diary is searched."""
    hand.shell.open_tab("diary")
    hand.shell.page.toggle_search()


PLACES_TO_TYPE = {
    "a sheet": note_sheet,
    "session": lambda hand: hand.shell.go("session"),
    "unpicking": lambda hand: hand.shell.go("unpick", row=hand.app.desk.rug.rows_woven),
    "diary": search_the_diary,
    "yarn shelf": lambda hand: hand.shell.go("yarn_shelf"),
}


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
def test_a_field_tells_the_keyboard_where_it_is_and_fits_above_it(
    open_app, demo: Path, text_scale: float
) -> None:
    """Android moves the window so that the field stands above the keyboard; it does so by what the field tells."""
    hand = open_app(demo)
    try:
        look.text_scale = text_scale
        for place, lead_to in PLACES_TO_TYPE.items():
            lead_to(hand)
            settle()
            entries = [w for w in everything(hand.shell) if isinstance(w, Entry) and shown(w)]
            entries = [w for w in entries if hand.shell.sheet is None or hand.shell.sheet in w.walk_reverse()]
            assert len(entries) == 1, place
            entries[0].focus = True
            settle(1)
            assert Window.softinput_mode == "below_target"
            assert Window._system_keyboard.target is entries[0]
            assert entries[0].height <= KEYBOARD_LEAVES * Window.height, place
            entries[0].focus = False
            if hand.shell.sheet is not None:
                hand.shell.back()
                settle()
    finally:
        look.text_scale = 1.0


def test_every_field_of_the_app_was_tried_with_the_keyboard() -> None:
    rules = [
        path for path in TRACKER.rglob("*.kv") if re.search(r"^ +Entry:", path.read_text(), re.MULTILINE)
    ]
    assert {path.stem for path in rules} == {"asking", "session", "diary", "unpick", "yarn_shelf"}
