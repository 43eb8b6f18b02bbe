"""The app among others on a phone: reminders asked for once, tapped, and set when it is left; files handed over."""

from __future__ import annotations

import shutil
import weakref
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.small_disk import small_disk
from tests.ui.hand import everything
from tests.ui.handed_time import pass_time
from tests.unit.device.phone import JavaException, Phone, put_in_place
from tracker.app import phone
from tracker.device.arrivals import Arrival
from tracker.domain.order import Order
from tracker.domain.rug import RugStage, Session, new_id
from tracker.previews.draw import settle
from tracker.widgets.basics import Text


def on_a_phone(monkeypatch) -> list:
    """Let the app believe it runs on one; return what alarms it sets."""
    told: list = []
    monkeypatch.setattr(phone, "on_android", lambda: True)
    monkeypatch.setattr(phone.arrivals, "listen", lambda _arrived: True)
    monkeypatch.setattr(phone.alarms, "set_alarms", lambda found: told.append(list(found)) or True)
    return told


def test_reminding_is_asked_once_and_not_now_is_respected(open_app, demo: Path, monkeypatch) -> None:
    told = on_a_phone(monkeypatch)
    hand = open_app(demo)
    assert hand.sees("Shall this phone remind you")
    hand.tap("Not now")
    hand.app.on_pause()
    assert told == [[]]
    hand.app.phone.ask_to_remind()
    assert not hand.sees("Shall this phone remind you")


def test_saying_yes_asks_the_phone_and_leaving_sets_the_reminders(open_app, demo: Path, monkeypatch) -> None:
    told = on_a_phone(monkeypatch)
    monkeypatch.setattr(phone.permission, "ask_to_notify", lambda done: done(True))
    hand = open_app(demo)
    hand.tap("Yes, remind me")
    desk = hand.app.desk
    desk.act("session logged", Session(id=new_id(), rug_id=desk.rug_id, day=desk.today(), rows=4, hours=2.0))
    hand.app.on_pause()
    assert {one.rug_id for one in told[-1] if one.kind == "session"} <= {desk.rug_id}
    assert all(one.due < one.until for one in told[-1])
    # Of two rugs on looms each is named on its own days.
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    every_day = replace(winter, stage=RugStage.ON_LOOM, weekdays=tuple(range(7)))
    desk.act("rug put on the loom", every_day, rug_id=winter.id)
    hand.app.on_pause()
    evenings = [one for one in told[-1] if one.kind == "session"]
    assert len(evenings) >= 2
    assert all("Long winter" in one.words for one in evenings)
    assert any("Walled garden" in one.words for one in evenings)
    # Of its yarn nobody is reminded while another rug is in hand, but where a customer was promised a day.
    assert {one.rug_id for one in told[-1] if one.kind == "order"} <= {desk.rug_id}
    far = desk.today() + timedelta(days=400)
    desk.act("order changed", Order(id=new_id(), rug_id=winter.id, promised_day=far), rug_id=winter.id)
    later = replace(every_day, start_day=desk.today() + timedelta(days=200))
    desk.act("plan changed", later, rug_id=winter.id)
    hand.app.on_pause()
    orders = [one for one in told[-1] if one.kind == "order" and one.rug_id == winter.id]
    assert orders
    assert all(one.words.startswith("Long winter\n") for one in orders)


def test_a_permission_refused_ends_reminding(open_app, demo: Path, monkeypatch) -> None:
    told = on_a_phone(monkeypatch)
    monkeypatch.setattr(phone.permission, "ask_to_notify", lambda done: done(False))
    hand = open_app(demo)
    hand.tap("Yes, remind me")
    hand.app.on_pause()
    assert told == [[]]


def test_an_empty_book_is_not_asked_about_reminders(open_app, monkeypatch) -> None:
    on_a_phone(monkeypatch)
    hand = open_app(None)
    assert not hand.sees("Shall this phone remind you")


def test_a_tapped_reminder_opens_its_page(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.app.phone.arrived(Arrival(page="shopping", rug_id=hand.app.desk.rug_id))
    assert hand.shell.page_name == "shopping"
    hand.app.phone.arrived(Arrival(page="loom"))
    assert hand.shell.page_name == "loom"
    hand.app.phone.arrived(Arrival(page="no such page"))
    assert hand.shell.page_name == "loom"
    winter = next(plan.id for plan in hand.app.desk.plans if plan.name == "Long winter")

    # It brought the app up: the book still opens, and which rugs it holds is not known yet.
    hand = open_app(demo, background=True)
    hand.app.phone.arrived(Arrival(page="session", rug_id=winter))
    hand.wait(lambda: hand.shell.page_name == "session" and hand.app.desk.fresh)
    page, desk = hand.shell.page, hand.app.desk
    assert page.rug_named == "Long winter"
    page.set_rows(5)
    garden = next(plan.id for plan in desk.plans if plan.name == "Walled garden")
    # Another rug is taken in hand while the form lies open: it is that one's from then on, and the rows wait.
    desk.choose(garden)
    hand.wait(lambda: desk.fresh)
    assert (page.rug_named, page.rows) == ("", 0), "the only one on a loom needs no name"
    desk.choose(winter)
    hand.wait(lambda: desk.fresh)
    assert (page.rug_named, page.rows) == ("Long winter", 5)
    # At the loom, too, it is said whose row is counted; each rug is woven from its own side.
    hand.shell.open_tab("loom")
    settle()
    assert hand.sees("Long winter")
    desk.act("rug put on the loom", replace(desk.rug.plan, stage=RugStage.ON_LOOM), rug_id=winter)
    desk.choose(garden)
    hand.wait(lambda: desk.fresh)
    assert hand.sees("Walled garden")
    assert not hand.sees("Long winter")
    page = hand.shell.page
    hand.tap(page.ids.mirror)
    assert page.mirrored
    assert hand.sees("from the back")
    desk.choose(winter)
    hand.wait(lambda: desk.fresh)
    assert not page.mirrored
    hand = open_app(demo)
    hand.app.desk.choose(garden)
    hand.tap("Row")
    assert hand.shell.page.mirrored


def test_a_picture_of_another_app_becomes_the_cartoon_of_a_new_plan(
    open_app, demo: Path, tmp_path: Path
) -> None:
    hand = open_app(demo)
    cells = np.random.default_rng(5).integers(0, 3, (40, 30)).astype(np.uint8)
    palette = np.array([[156, 47, 37], [32, 59, 96], [230, 214, 184]], dtype=np.uint8)
    picture = tmp_path / "cartoon.png"
    Image.fromarray(palette[cells]).save(picture)
    hand.app.phone.arrived(Arrival(file=picture, is_picture=True))
    # One pixel a knot beyond doubt, its three colours clear: nothing is to be asked.
    assert hand.shell.page_name == "plan"
    assert hand.shell.page.form.new
    assert (hand.shell.page.form.cartoon.knots, hand.shell.page.form.cartoon.rows) == (30, 40)


def test_a_photograph_of_another_app_is_shown_as_it_is_understood(
    open_app, demo: Path, tmp_path: Path
) -> None:
    hand = open_app(demo)
    photo = tmp_path / "wall.jpg"
    Image.new("RGB", (300, 200), "#9C2F25").save(photo)
    hand.app.phone.arrived(Arrival(file=photo, is_picture=True))
    assert hand.shell.page_name == "cartoon_reading"


def test_a_file_of_another_phone_starts_the_joining(open_app, demo: Path, tmp_path: Path) -> None:
    hand = open_app(demo)
    stranger = tmp_path / "two.loomside-exchange"
    stranger.write_bytes(b"not a book")
    hand.app.phone.arrived(Arrival(file=stranger))
    settle()
    assert hand.shell.page_name == "sync"
    assert hand.shell._toast is not None, "a file that is none of ours is said to be so"


def test_a_file_that_could_not_be_taken_in_is_said_so(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.app.phone.arrived(Arrival())
    settle()
    assert hand.sees("did not hand the file over")


def test_low_memory_drops_hidden_pages_and_keeps_the_one_in_hand(open_app, demo: Path) -> None:
    from kivy.cache import Cache
    from kivy.core.window import Window

    hand = open_app(demo)
    hand.tap("Yarn")
    hand.tap("Diary")
    shown = hand.shell.page
    pictures = ("kv.image", "kv.texture")
    assert all(Cache._objects[kind] for kind in pictures)
    assert len(hand.shell._pages) >= 3
    pass_time(1)  # what slid aside has come to rest
    dropped = weakref.ref(hand.shell._pages["yarn"])
    Window.dispatch("on_memorywarning")
    assert list(hand.shell._pages.values()) == [shown]
    assert dropped() is None, "let go of, but not freed"
    assert not any(Cache._objects[kind] for kind in pictures), "Kivy keeps pictures that nothing shows"
    hand.tap("Yarn")
    assert hand.shell.page_name == "yarn"


def back_leads(hand) -> bool:
    """Swipe back on the phone; False when the system left the app."""
    taken = hand.phone.back_gesture()
    settle(2)
    return taken


@pytest.fixture
def swiped(open_app, demo: Path, tmp_path: Path, monkeypatch):
    """Return the app on a phone of a given level whose back gesture is told beforehand."""

    def opened(level: int):
        phone_here = put_in_place(Phone(level, tmp_path), monkeypatch)
        phone_here.says["android.os.LocaleList.get"] = lambda *_a: phone_here.thing("java.util.Locale")
        hand = open_app(demo)
        hand.app.desk.drafts.put(phone.REMIND, False)
        hand.shell.close_sheet()
        hand.phone = phone_here
        return hand

    return opened


def test_the_back_gesture_closes_a_sheet_goes_back_a_page_and_leaves_the_app_at_its_first(
    swiped, monkeypatch
) -> None:
    from kivy.core.window import Window
    from kivy.uix.widget import Widget

    from tracker.shell.page import Page

    hand = swiped(33)
    shell = hand.shell
    assert not back_leads(hand)
    assert type(shell.page).back is Page.back, "the end holds nothing of its own that back would lead out of"
    shell.open_sheet("Colours", Widget())
    assert len(hand.phone.hears_back) == 1
    assert back_leads(hand)
    assert shell.sheet is None
    assert not back_leads(hand)
    shell.go("settings")
    shell.open_sheet("Colours", Widget())
    shell.go("cautions")
    hand.app.on_pause()
    hand.app.on_resume()
    settle(2)
    assert len(hand.phone.hears_back) == 1, "left and come back, once still"
    assert [back_leads(hand), shell.page_name] == [True, "settings"]
    assert [back_leads(hand), shell.page_name] == [True, "home"]
    assert not hand.phone.hears_back
    # A page of the bar leads back to the first; what is open within it is closed before.
    hand.tap("Diary")
    shell.page.toggle_search()
    assert [back_leads(hand), shell.page_name, shell.page.searching] == [True, "diary", False]
    assert [back_leads(hand), shell.page_name] == [True, "home"]
    assert not back_leads(hand)
    # A swipe made before the system knows that nothing is left goes where the key goes: out of the app.
    shell.go("settings")
    late = hand.phone.hears_back[0]()
    shell.back()
    unhandled: list[int] = []
    monkeypatch.setattr(Window, "on_keyboard", lambda key, *_args: unhandled.append(key))
    late.act()
    settle(2)
    assert unhandled == [27]
    assert shell.page_name == "home"
    shell.go("settings")
    hand.app.on_stop()
    assert not hand.phone.hears_back, "a closed app takes no gesture"


def test_an_older_phone_is_asked_nothing_and_its_key_does_the_same(swiped) -> None:
    hand = swiped(32)
    hand.shell.go("settings")
    assert not hand.phone.hears_back
    assert hand.key_back()
    assert hand.shell.page_name == "home"
    assert not hand.key_back()


def test_a_phone_that_refuses_the_gesture_is_noted_and_the_key_stays(swiped) -> None:
    from tracker.app.unforeseen import log_path

    hand = swiped(33)

    def refused(*_arguments):
        raise JavaException("IllegalStateException")

    hand.phone.says["android.window.OnBackInvokedDispatcher.registerOnBackInvokedCallback"] = refused
    hand.shell.go("settings")
    settle(2)
    log = log_path(hand.app.desk.path)
    assert "IllegalStateException" in log.read_text(encoding="utf-8")
    assert hand.key_back()
    assert hand.shell.page_name == "home"


def test_a_field_tapped_again_gets_back_the_keyboard_that_the_gesture_put_away(swiped, monkeypatch) -> None:
    from kivy.core.window import Window

    from tracker.widgets.entry import Entry

    hand = swiped(33)
    window, insets = (hand.phone.thing(f"android.view.{name}") for name in ("Window", "WindowInsets"))
    hand.phone.says["android.app.Activity.getWindow"] = lambda _it: window
    hand.phone.says["android.view.View.getRootWindowInsets"] = lambda _it: insets
    hand.phone.says["android.view.WindowInsets.isVisible"] = True
    asked: list[object] = []
    request = Window.request_keyboard
    monkeypatch.setattr(
        Window, "request_keyboard", lambda *given, **more: asked.append(given) or request(*given, **more)
    )
    field = Entry(size_hint_y=None, height=60)
    hand.shell.open_sheet("Note", field)
    settle()
    hand.tap(field)
    assert field.focus
    asked.clear()
    hand.tap(field)
    assert not asked, "it lies there"
    hand.phone.says["android.view.WindowInsets.isVisible"] = False
    hand.tap(field)
    assert len(asked) == 1
    assert field.focus
    assert back_leads(hand)
    assert hand.shell.sheet is None
    assert not field.focus, "a field that is gone wants no keyboard"


@pytest.fixture
def card(tmp_path: Path) -> Iterator[Path]:
    """A disk of eight MiB of its own."""
    with small_disk(tmp_path / "card", 8) as place:
        yield place


def test_a_full_phone_keeps_the_evening_on_the_screen_until_there_is_room(
    open_app, demo: Path, card: Path
) -> None:
    hand = open_app(Path(shutil.copy(demo, card)))
    before = len(hand.app.desk.rug.sessions)
    hand.tap("Log the session")
    hand.shell.page.set_rows(5)
    with open(card / "film.mp4", "wb", buffering=0) as film, suppress(OSError):
        while film.write(bytes(4096)):
            pass
    hand.tap(hand.shell.page.ids.save)
    assert hand.sees("no room left")
    assert len(hand.app.desk.rug.sessions) == before
    assert (hand.shell.page_name, hand.shell.page.form.rows) == ("session", 5)
    (card / "film.mp4").unlink()
    pass_time(1)
    hand.tap(hand.shell.page.ids.save)
    assert hand.shell.page_name != "session"
    assert len(hand.app.desk.rug.sessions) == before + 1
    open_app.close()


def test_a_phone_set_to_dark_and_turkish_is_followed_until_the_weaver_chooses(
    open_app, demo: Path, tmp_path: Path, monkeypatch
) -> None:
    from tracker import words
    from tracker.app import app
    from tracker.device.appearance import Appearance
    from tracker.widgets.look import look

    monkeypatch.setattr(app, "appearance", lambda: Appearance(dark=True, language="tr"))
    try:
        open_app(demo)
        assert look.dark
        assert words.language() == "tr"
        hand = open_app(demo)
        hand.shell.go("settings")
        hand.shell.page.toggle_dark()
        assert not look.dark, "the first tap on a dark phone makes it light"
        open_app(demo)
        assert not look.dark
        monkeypatch.setattr(app, "appearance", lambda: Appearance(language="zu"))
        open_app(demo)
        assert words.language() == "en"
    finally:
        look.dark = False
        words.use_language("en")


def test_the_phones_settings_are_followed_while_the_app_runs(open_app, demo: Path, monkeypatch) -> None:
    from tracker import words
    from tracker.app import app
    from tracker.device.appearance import Appearance
    from tracker.widgets.look import look

    set_to = [Appearance(dark=False, language="en", text_scale=1.0)]
    monkeypatch.setattr(app, "appearance", lambda: set_to[0])
    hand = open_app(demo)
    try:
        hand.tap("Yarn")
        body = look.type_sizes["body"]
        set_to[0] = Appearance(dark=True, language="tr", bold=True, text_scale=1.3)
        hand.app.on_resume()
        settle()
        assert look.dark
        assert hand.app.desk.ground == app.DARK.card, "pictures are drawn on the dark ground, too"
        assert words.language() == "tr"
        assert hand.shell.page_name == "yarn", "the page stays"
        assert hand.sees("İplik")
        assert look.type_sizes["body"] == pytest.approx(1.3 * body)
        assert look.text_scale == pytest.approx(1.3), "pages are laid out for the large type"
        look.scale_text(chosen=2.0)
        assert look.text_scale == 2.0, "no page was ever looked at with more"
        look.scale_text(chosen=1.0)
        assert all(label.bold for label in everything(hand.shell.page) if isinstance(label, Text))
        set_to[0] = Appearance(dark=False, language="en", text_scale=1.0)
        hand.app.look_around()
        assert not look.dark, "a setting changed from the phone's own bar is noticed without leaving the app"
        assert words.language() == "en"
    finally:
        look.dark, look.bold = False, False
        look.scale_text(chosen=1.0, phone=1.0)
        words.use_language("en")


def test_what_the_weaver_chose_here_stays_whatever_the_phone_is_set_to(
    open_app, demo: Path, monkeypatch
) -> None:
    from tracker.app import app
    from tracker.device.appearance import Appearance
    from tracker.widgets.look import look

    set_to = [Appearance(dark=False)]
    monkeypatch.setattr(app, "appearance", lambda: set_to[0])
    hand = open_app(demo)
    hand.app.desk.drafts.put("dark", False)
    set_to[0] = Appearance(dark=True)
    hand.app.on_resume()
    assert not look.dark


def test_the_app_keeps_clear_of_notch_and_bars(open_app, demo: Path, monkeypatch) -> None:
    from kivy.core.window import Window

    from tracker.app import app
    from tracker.device.appearance import Insets

    hand = open_app(demo)
    assert tuple(hand.shell.size) == tuple(Window.size)
    monkeypatch.setattr(app, "insets", lambda: Insets(left=0, top=30, right=0, bottom=20))
    hand.app.on_resume()
    settle()
    assert hand.shell.y == pytest.approx(20)
    assert hand.shell.top == pytest.approx(Window.height - 30)
    log = hand.shell.page.ids.log
    hand.tap(log)
    assert hand.shell.page_name == "session", "what is touched lies where it is drawn"
    monkeypatch.setattr(app, "insets", lambda: Insets(left=40))
    Window.dispatch("on_resize", *Window.size)
    settle()
    assert hand.shell.x == pytest.approx(40), "turned on its side the notch lies on the left"
    assert hand.shell.y == 0


def test_pages_not_shown_for_long_are_let_go_but_the_main_ones_and_those_that_back_leads_to(
    open_app, demo: Path
) -> None:
    from tracker.screens import PAGES
    from tracker.shell.shell import PAGES_KEPT

    hand = open_app(demo)
    main = [name for name, info in PAGES.items() if info.tab]
    for name in main:
        hand.shell.open_tab(name)
    # Through the plan to the cartoon: back leads to the plan, however many pages come between.
    hand.shell.open_tab("home")
    hand.shell.go("settings")
    first = hand.shell.page
    others = [
        "cautions",
        "copies",
        "sync",
        "guide",
        "costs",
        "material",
        "shopping",
        "preparation",
        "export",
        "shelf",
    ]
    assert len(others) > PAGES_KEPT + 2
    for name in others:
        hand.shell.go(name)
        hand.shell.back()
    built = {page.name for page in hand.shell.every_page()}
    assert set(main) <= built
    assert "settings" in built
    assert len(built) <= len(main) + PAGES_KEPT + 1
    assert built >= set(others[-PAGES_KEPT + 1 :])
    assert others[0] not in built
    assert hand.shell.page is first


def test_the_rows_to_come_fade_into_the_dark_at_once_when_the_weaver_chooses_it(open_app, demo: Path) -> None:
    from tracker.widgets.look import look

    hand = open_app(demo)
    try:
        # The last row is not woven yet: most of it is drawn towards the ground.
        light = hand.app.desk.picture[-1].mean()
        hand.shell.go("settings")
        hand.shell.page.toggle_dark()
        settle()
        assert hand.app.desk.picture[-1].mean() < light - 50
    finally:
        look.dark = False
