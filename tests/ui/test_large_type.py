"""In the largest type: the main key of a sheet is in the window, icons are seen beside their words, tabs stand apart."""

from __future__ import annotations

import itertools

from tests.ui.hand import everything
from tests.ui.walk import act_below
from tracker.previews.draw import settle
from tracker.previews.scenes import scenes
from tracker.widgets.look import look


def test_the_main_key_of_a_sheet_is_in_the_lowest_window(open_app, demo) -> None:
    from kivy.core.window import Window

    from tracker.widgets.basics import Key

    hand = open_app(demo, size=(640, 360))
    try:
        look.text_scale = 2.0
        shown = {scene.name: scene for scene in scenes(hand.app.desk, ("diary", "finish", "yarn_story"))}
        for name in ("finish-step", "yarn-story-entry", "diary-entry"):
            # On its side a phone shows an entry of the diary beside the list.
            Window.size = (360, 480) if name == "diary-entry" else (640, 360)
            shown[name].show(hand.shell, hand.app.desk.drafts.as_they_are())
            settle()
            sheet = hand.shell.sheet
            assert any(isinstance(key, Key) and key.role == "act" for key in everything(sheet)), name
            assert act_below(sheet) == [], name
    finally:
        open_app.close()
        look.text_scale = 1.0


def test_icons_grow_beside_their_words_and_tabs_stand_apart(open_app, demo) -> None:
    from tracker.shell.shell import NavKey
    from tracker.widgets.basics import Choice, Key, TimerKey

    hand = open_app(demo)
    ring, check = Choice(text="25", width=300, size_hint_x=None), Key(text="Save", icon="check", width=300)
    narrow = Choice(text="A long answer", width=200, size_hint_x=None)
    hand.shell.add_widget(ring)
    settle()
    timer = TimerKey(words="1:05", rug="Long winter")
    hand.shell.add_widget(timer)
    settle()
    usual = {key: key._icon.height for key in (ring, check)}
    try:
        look.text_scale = 2.0
        settle()
        for key, before in usual.items():
            assert key._icon.height >= 1.4 * before, key.text
            assert key._icon.height <= key.inscription.font_size * 1.3
        words = timer.inscription
        assert timer.y <= words.center_y - words.texture_size[1] / 2, (
            "a key without an icon keeps no room for one"
        )
        assert words.center_y + words.texture_size[1] / 2 <= timer.top
        # Never at the cost of its words.
        assert narrow._icon.height + narrow.inscription.natural <= 200 or narrow._icon.height == usual[ring]
        tabs = sorted(
            (key for key in everything(hand.shell) if isinstance(key, NavKey)), key=lambda key: key.x
        )
        assert len(tabs) == 5
        for one, other in itertools.pairwise(tabs):
            ends = one.inscription.center_x + one.inscription.texture_size[0] / 2
            begins = other.inscription.center_x - other.inscription.texture_size[0] / 2
            assert begins - ends >= 16
            assert one._icon.height >= 1.4 * 24
    finally:
        open_app.close()
        look.text_scale = 1.0


def test_on_its_side_the_keys_below_a_page_leave_it_most_of_the_window(open_app, demo) -> None:
    hand = open_app(demo, size=(892, 412))
    try:
        hand.shell.go("shopping")
        settle()
        assert hand.sees("All bought as listed")
        assert hand.shell.page.ids.scroll.height > 0.7 * hand.shell.page.height
        hand.shell.open_tab("finish")
        settle()
        left, right = hand.shell.page.ids.left, hand.shell.page.ids.right
        assert min(left.height, right.height) > 0.6 * max(left.height, right.height), (
            "both columns end near each other"
        )
        for name, first, second, near in (
            ("cloth", "first", "second", 0.85),
            # As long a list as the rows have yarns is not parted.
            ("unpick", "left", "right", 0.5),
        ):
            hand.shell.go(name)
            if name == "unpick":
                hand.shell.page.set_first_row(hand.app.desk.rug.rows_woven - 3)
            settle()
            heights = [hand.shell.page.ids[column].height for column in (first, second)]
            assert min(heights) > near * max(heights), (name, heights)
        # What is entered beside a list is seen at once, however long the list is.
        for name, keys in (
            ("costs", ("Enter a wage", "Enter a cost")),
            ("order", ("Enter a payment",)),
            ("material", ()),
        ):
            hand.shell.go(name)
            settle(20)
            heights = [column.height for column in hand.shell.page.ids.columns.children]
            assert min(heights) > 0.6 * max(heights), (name, heights)
            for key in keys:
                assert hand.find(key).to_window(*hand.find(key).pos)[1] >= 0, key
        look.text_scale = 2.0
        hand.shell.go("material")
        settle()
        page = hand.shell.page
        assert page.ids.shop.y == page.ids.prepare.y, "side by side"
        assert page.ids.scroll.height > page.height / 2
        hand.shell.open_tab("loom")
        settle()
        hand.tap("Row done")
        back = hand.shell.page.ids.back
        words = back.inscription
        assert back.y <= words.center_y - words.texture_size[1] / 2
        assert words.center_y + words.texture_size[1] / 2 <= back.top
    finally:
        open_app.close()
        look.text_scale = 1.0
