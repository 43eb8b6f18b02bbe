"""What the app is made of by the thousand stays light: what each consists of, what it binds, what it keeps for the driver."""

from __future__ import annotations

import functools
import re
from collections import Counter
from pathlib import Path

import pytest
from kivy.graphics import BorderImage, Color, Rectangle
from kivy.graphics.instructions import CanvasBase, InstructionGroup
from kivy.graphics.vertex_instructions import SmoothRoundedRectangle
from kivy.metrics import dp
from kivy.uix.label import Label

import tracker
from tests.ui.hand import everything
from tests.ui.walk import is_drawn_by, wrongly_drawn
from tracker.previews.draw import settle
from tracker.widgets.basics import Across, Card, Choice, Column, Field, Icon, Key, Scroll, Text, ValueKey
from tracker.widgets.look import look
from tracker.widgets.month_calendar import DayFace
from tracker.widgets.plain_label import MEASURED, Lately, PlainLabel, Typeset
from tracker.widgets.rounded import Rounded, corners, coverage


def drawn(canvas: InstructionGroup) -> list:
    """Return the instructions of a canvas that hold vertices."""
    found = []
    for part in canvas.children:
        if isinstance(part, InstructionGroup):
            found += drawn(part)
        elif isinstance(part, Rectangle | BorderImage | SmoothRoundedRectangle):
            found.append(part)
    return found


def shapes(widget) -> int:
    """Return how many shapes a widget draws itself."""
    canvases = (
        widget.canvas,
        *(c for c in (widget.canvas.before, widget.canvas.after) if c is not widget.canvas),
    )
    assert all(isinstance(canvas, CanvasBase) for canvas in canvases)
    return len({part.uid for canvas in canvases for part in drawn(canvas)})


def test_an_icon_a_card_and_a_text_are_drawn_in_one_shape_each() -> None:
    assert shapes(Icon(name="check")) == 1
    assert shapes(Card()) == 1
    assert shapes(Text(text="Walnut brown")) == 1


def test_keys_and_fields_of_one_shape_share_one_picture() -> None:
    def pictures(widget) -> set:
        return {id(part.texture) for part in drawn(widget.canvas.before) if isinstance(part, Rounded)}

    keys = [Key(text=words, size=(120, 48)) for words in ("Log", "Look")]
    assert len(pictures(keys[0])) == 1
    assert pictures(keys[0]) == pictures(keys[1])
    fields = [Field(label="Name", answer=answer, size=(300, 60)) for answer in ("Garden", "Field")]
    assert len(pictures(fields[0])) == 1
    assert pictures(fields[0]) == pictures(fields[1])


@pytest.mark.parametrize("dark", [False, True])
def test_a_field_a_choice_and_a_key_are_told_apart_at_a_glance(dark: bool) -> None:
    """A key is filled and round at its ends; a choice is framed with a ring, or filled with a tick; a field is white and framed."""
    size, was = (160, 48), look.dark
    look.dark = dark
    try:
        key, value = Key(text="Log", size=size), ValueKey(text="2 h", size=size)
        choice, taken = (Choice(text="per inch", role=role, size=size) for role in ("plain", "chosen"))
        field, empty = (Field(label="Hours", answer=answer, size=size) for answer in ("2 h", "not given"))
        settle()

        def parts(canvas: InstructionGroup) -> list:
            inner = [
                parts(part) if isinstance(part, InstructionGroup) else [part] for part in canvas.children
            ]
            return [part for some in inner for part in some]

        def seen(widget) -> tuple[str, str, float]:
            """Tones of its ground and of its frame, and the radius of its corners."""
            tones = {look.tones[name]: name for name in ("ground", "card", "field", "act", "edge", "madder")}
            ground = frame = ""
            corner, colour = 0.0, None
            for part in [*parts(widget.canvas.before), *parts(widget.canvas.after)]:
                if isinstance(part, Color):
                    colour = tuple(part.rgba)
                elif isinstance(part, Rounded) and colour is not None and colour[3]:
                    corner = part.display_border[0]
                    name = next(name for tone, name in tones.items() if tone == pytest.approx(colour))
                    ground, frame = (ground, name) if part.line else (name, frame)
            return ground, frame, corner

        assert seen(key) == ("field", "", key.height / 2)
        assert seen(choice) == ("", "edge", look.corner)
        assert seen(taken) == ("act", "", look.corner)
        assert seen(field) == seen(empty) == seen(value) == ("card", "edge", look.corner)
        assert (choice.icon, taken.icon, key.icon) == ("ring", "check", "")
        choice.role = "chosen"
        assert choice.icon == "check"
        # What is not given yet is written as a hint, not as an answer.
        strong = [
            [text.strong for text in each.children if getattr(text, "text", "") == each.answer]
            for each in (field, empty)
        ]
        assert strong == [[True], [False]]
    finally:
        look.dark = was


@pytest.mark.parametrize(
    ("size", "radius", "seen"),
    [((100, 60), 16, 16), ((100, 20), 16, 10), ((6, 60), 16, 3), ((0, 0), 16, 0), ((400, 400), 100, 100)],
)
def test_corners_are_round_by_half_of_the_shorter_side_at_most(size, radius, seen) -> None:
    made = Rounded(pos=(0, 0), size=(50, 50), radius=radius)
    made.size = size
    assert tuple(made.display_border) == (seen,) * 4
    again = Rounded(radius=radius, size=size)
    assert tuple(again.display_border) == (seen,) * 4


def test_a_corner_covers_what_lies_within_its_radius() -> None:
    radius = 16
    whole = sum(coverage(x + 0.5, y + 0.5, radius, 0) for x in range(20) for y in range(20))
    assert whole == pytest.approx(3.14159 * radius**2 / 4, rel=0.01)
    frame = sum(coverage(x + 0.5, y + 0.5, radius, 2) for x in range(20) for y in range(20))
    assert frame == pytest.approx(3.14159 * (radius**2 - (radius - 2) ** 2) / 4, rel=0.02)
    assert coverage(-0.5, -0.5, 0, 0) == 1.0


def test_the_picture_of_corners_is_the_same_from_all_four_sides() -> None:
    texture = corners(12, 0.0)
    side = texture.width
    opacity = texture.pixels[3::4]
    rows = [opacity[at : at + side] for at in range(0, side * side, side)]
    assert rows == rows[::-1]
    assert all(row == row[::-1] for row in rows)
    assert rows[0][0] == 0
    assert rows[0][side // 2] == rows[side // 2][0] == rows[side // 2][side // 2] == 255


def test_a_label_has_all_that_is_set_of_a_label() -> None:
    had = {name for name in dir(PlainLabel) if name in Label._font_properties}
    others = set(Label._font_properties) - had - {"strip"}  # a row strip has a strip, too
    kv = "\n".join(
        path.read_text("utf-8")
        for path in Path(tracker.__file__).parent.rglob("*.kv")
        if path.name != "style.kv"
    )
    assert set(re.findall(r"^ +(\w+):", kv, re.MULTILINE)) & had >= {"text", "halign", "max_lines"}
    assert set(re.findall(r"^ +(\w+):", kv, re.MULTILINE)) & others == set()


def test_what_nobody_sets_of_a_label_is_as_in_kivy() -> None:
    plain, kivys = PlainLabel(), Label()
    for name in sorted({name for name in dir(PlainLabel) if name in Label._font_properties}):
        ours, theirs = getattr(plain, name), getattr(kivys, name)
        assert (list(ours) == list(theirs)) if isinstance(theirs, list) else (ours == theirs), name


@pytest.mark.parametrize(
    "styles",
    [
        {},
        {"halign": "center", "valign": "middle", "text_size": (80, 70)},
        {"bold": True, "font_size": 22, "padding": (6, 2)},
        {"text_size": (90, None), "line_height": 1.4, "halign": "right"},
        {"text_size": (60, 20), "shorten": True, "shorten_from": "right", "max_lines": 1},
        {"strikethrough": True, "font_name": "Figure"},
        {"disabled": True, "disabled_color": (0.2, 0.4, 0.6, 0.5)},
        {"color": (0.6, 0.2, 0.2, 1)},
    ],
)
def test_a_label_looks_as_kivys_does(styles) -> None:
    def drawn_as(kind) -> tuple:
        label = kind(text="Madder and walnut", size=(120, 80), size_hint=(None, None), **styles)
        label.texture_update()
        settle(2)
        picture = label.export_as_image().texture
        return picture.size, label.texture_size, picture.pixels

    ours, theirs = drawn_as(PlainLabel), drawn_as(Label)
    assert ours[0] == theirs[0]
    assert list(ours[1]) == list(theirs[1])
    assert len(set(theirs[2])) > 10, "nothing was drawn"
    assert max(abs(one - other) for one, other in zip(ours[2], theirs[2], strict=True)) <= 2


def test_a_label_is_typeset_anew_when_what_it_follows_changes() -> None:
    label = PlainLabel(text="Madder", font_size=15, size_hint=(None, None))
    label.texture_update()
    before = label.texture_size[0]
    label.font_size = 30
    label.texture_update()
    assert label.texture_size[0] > 1.8 * before
    label.text = "Madder red"
    label.texture_update()
    assert label.texture_size[0] > 2.5 * before


def test_words_measured_long_ago_are_let_go_of_and_those_asked_for_again_and_again_are_not(
    monkeypatch,
) -> None:
    """Each evening says other days and numbers: in 250 of them 11,000 words were kept that no page asked for again."""
    known = Lately(MEASURED)
    monkeypatch.setattr(Typeset, "measured", known)
    measured = []
    get_extents = Typeset.get_extents
    monkeypatch.setattr(
        Typeset, "get_extents", lambda label, words: measured.append(words) or get_extents(label, words)
    )
    again = [f"Row {row}" for row in range(50)]
    for evening in range(100):
        extent_of = Typeset(font_size=15).get_cached_extents()
        for words in again:
            assert extent_of(words)[0] > 0
        for number in range(MEASURED // 20):
            extent_of(f"{evening}.{number}")
    assert len(known) <= 2 * MEASURED
    assert [words for words in measured if words in again] == again, "a page's own words were measured again"


def test_no_label_of_the_first_view_has_all_that_kivys_has(open_app, demo) -> None:
    hand = open_app(demo, size=(360, 640))
    assert len([widget for widget in everything(hand.shell) if isinstance(widget, PlainLabel)]) > 20
    assert [widget for widget in everything(hand.shell) if isinstance(widget, Label)] == []


def test_words_icons_and_keys_consist_of_few_objects() -> None:
    """With bound expressions in kv a text was 370 objects, an icon 240, a key 1,300; closing an app looks through all."""
    import gc

    def objects_of(make) -> float:
        kept = [make() for _warm in range(3)]
        settle(2)
        gc.collect()
        before = len(gc.get_objects())
        kept += [make() for _more in range(20)]
        settle(2)
        gc.collect()
        return (len(gc.get_objects()) - before) / 20

    assert objects_of(lambda: Icon(name="check")) < 190
    assert objects_of(lambda: Text(text="Walnut brown")) < 330
    assert objects_of(lambda: Key(text="Walnut brown", icon="check")) < 950


def test_a_key_wears_what_its_state_asks_for() -> None:
    from tracker.widgets.look import look

    key = Key(text="Log", icon="check", role="act", size=(200, 48))
    ground, words = key.canvas.before.children[0], key.inscription

    def worn() -> tuple:
        return tuple(ground.rgba), tuple(words.color)

    def tones(one: str, other: str) -> tuple:
        return pytest.approx(look.tones[one]), pytest.approx(look.tones[other])

    assert worn() == tones("act", "on_act")
    key.state = "down"
    assert worn() == tones("pressed", "ink")
    key.state = "normal"
    key.disabled = True
    assert worn() == tones("line", "ink")
    key.disabled = False
    key.role = "warn"
    assert worn() == tones("madder_ground", "on_madder")
    look.dark = True
    try:
        assert worn() == tones("madder_ground", "on_madder")
    finally:
        look.dark = False
    key.role = "quiet"
    assert worn()[0] == (0, 0, 0, 0)


def test_a_key_is_as_tall_as_its_words_and_keeps_them_in_the_middle_with_the_icon() -> None:
    from tracker.widgets.look import look

    key = Key(text="Log", icon="check", size_hint_x=None, width=300)
    settle(2)
    icon, words = key._icon, key.inscription
    assert key.height == look.touch
    left = icon.x - key.x
    right = key.right - (words.x + words.natural)
    assert left == pytest.approx(right, abs=1)
    key.text = "Log the session with all that was woven since the morning of the day before yesterday"
    settle(3)
    assert key.height > look.touch
    assert words.texture_size[0] <= words.width + 1
    key.icon = ""
    assert icon.opacity == 0
    assert icon.width == 0


def test_what_a_kind_of_text_or_key_says_of_itself_holds_after_it_was_typeset() -> None:
    from tracker.shell.shell import NavKey
    from tracker.widgets.basics import Heading
    from tracker.widgets.look import look

    heading = Heading(text="Dye lots")
    key = NavKey(text="Yarn", icon="ball")
    settle(3)
    heading.width = key.width = 200
    key.height = 60
    settle(3)
    assert heading.air == look.heading - look.gap > 0
    assert heading.texture_size[1] - heading.air >= look.type_sizes["lead"]
    assert heading.height == heading.texture_size[1] + heading.air
    assert key.padding[0] == dp(NavKey.AIR_DP)
    assert key.spacing == 0


def test_lines_keep_one_pace_whatever_letters_stand_on_them_and_have_air_between_them() -> None:
    """A line without a letter below its foot was lower by a pixel or two: labels and answers stood at two distances."""
    from tracker.widgets.look import look

    flat, deep, three = Text(text="100 %"), Text(text="light gray"), Text(text="one two three")
    for text, width in ((flat, 200), (deep, 200), (three, 42)):
        text.size_hint_x, text.width = None, width
    settle(3)
    assert flat.height == deep.height == pytest.approx(three.height / 3, abs=1)
    assert flat.height >= 1.2 * look.type_sizes["body"]
    # The air is shared above and below: the letters stay in the middle of their line.
    assert flat._picture.pos[1] < flat.center_y - flat.texture_size[1] / 2


def test_a_day_of_the_calendar_is_drawn_by_what_it_shows_only() -> None:
    day = DayFace(size=(48, 48), text="7")
    settle(1)
    words = shapes(day)
    day.woven = day.today = True
    settle(1)
    assert shapes(day) == words + 2
    day.woven = day.today = False
    settle(1)
    assert shapes(day) == words == 1


def card_of_words(lines: int) -> Card:
    card = Card()
    row = Across()
    texts = Column()
    for line in range(lines):
        texts.add_widget(Text(text=f"{line} balls of walnut brown, wound for the border and the field"))
    row.add_widget(Icon(name="check"))
    row.add_widget(texts)
    card.add_widget(row)
    card.add_widget(Key(text="Look"))
    return card


def test_boxes_are_laid_out_a_few_times_and_words_typeset_once(monkeypatch) -> None:
    """In the order in which they were asked for, these 26 boxes were laid out 153 times, and 36 words typeset 138 times."""
    from tracker.widgets.laid_out import BoxLayout

    page, scroll, cards = BoxLayout(size=(100, 100)), Scroll(), Column()
    for _card in range(6):
        cards.add_widget(card_of_words(5))
    scroll.add_widget(cards)
    page.add_widget(scroll)
    done: Counter = Counter()

    def counted(kind: type, name: str) -> None:
        do = getattr(kind, name)

        @functools.wraps(do)
        def counting(widget, *args):
            done[name] += 1
            return do(widget, *args)

        monkeypatch.setattr(kind, name, counting)

    counted(BoxLayout, "do_layout")
    counted(PlainLabel, "texture_update")
    page.size = (360, 640)
    settle(3)
    made = [widget for widget in everything(page) if isinstance(widget, BoxLayout)]
    words = [widget for widget in everything(page) if isinstance(widget, PlainLabel)]
    assert len(words) == done["texture_update"]
    assert done["do_layout"] <= 3.5 * len(made)
    # And all of it is where it belongs.
    assert cards.width == 360
    assert cards.height == sum(card.height for card in cards.children) + 5 * cards.spacing
    for card in cards.children:
        texts = card.children[1].children[0]
        assert texts.height == sum(text.height for text in texts.children) + 4 * texts.spacing
        for text in texts.children:
            assert text.texture_size[0] <= text.width + 1
            assert text.texture_size[1] == text.height
        assert texts.children[0].y == pytest.approx(card.children[0].top + card.spacing)


def test_what_never_comes_to_rest_does_not_hold_up_the_frame() -> None:
    from tracker.widgets.laid_out import BoxLayout

    restless = BoxLayout(size=(100, 100))
    laid_out = []

    def grow(*_args) -> None:
        laid_out.append(restless.width)
        if restless.width < 1000:
            restless.width += 1

    restless.do_layout = grow
    restless.width = 101
    settle(1)
    assert 1 < len(laid_out) < 100
    settle(60)
    assert restless.width == 1000
    assert len(laid_out) == 900


def test_of_what_scrolls_only_what_can_be_seen_is_drawn_and_a_touch_finds_the_rest() -> None:
    from tracker.widgets.laid_out import BoxLayout

    page, scroll, cards = BoxLayout(size=(100, 100)), Scroll(), Column()
    for _card in range(8):
        cards.add_widget(card_of_words(5))
    scroll.add_widget(cards)
    page.add_widget(scroll)
    page.size = (360, 300)
    settle(3)
    first, *_between, last = reversed(cards.children)

    def drawn_now() -> tuple[bool, bool]:
        return is_drawn_by(cards, first), is_drawn_by(cards, last)

    assert drawn_now() == (True, False)
    assert not wrongly_drawn(page)
    scroll.scroll_y = 0.0
    settle(2)
    assert drawn_now() == (False, True)
    assert not wrongly_drawn(page)
    # What lies above grows while it is out of sight: other parts come into sight without a finger's doing.
    cards.remove_widget(first)
    scroll.scroll_y = 1.0
    settle(2)
    assert is_drawn_by(cards, cards.children[-1])
    cards.add_widget(first, index=len(cards.children))
    settle(2)
    assert drawn_now() == (True, False)
    assert not wrongly_drawn(page)
    # Taken away and filled anew, nothing is left out.
    cards.clear_widgets()
    cards.add_widget(last)
    settle(2)
    assert is_drawn_by(cards, last)
    assert not wrongly_drawn(page)


def test_boxes_in_kv_and_in_code_are_laid_out_in_order_and_kivys_own_are_left_alone() -> None:
    from kivy.factory import Factory
    from kivy.uix import boxlayout

    from tracker.widgets import laid_out

    for name in ("AnchorLayout", "BoxLayout", "FloatLayout", "GridLayout", "StackLayout"):
        assert getattr(Factory, name) is getattr(laid_out, name)
    assert not isinstance(boxlayout.BoxLayout()._trigger_layout, laid_out.Waiting)
    assert isinstance(Card()._trigger_layout, laid_out.Waiting)
    kivys = re.compile(r"from kivy\.uix\.(anchor|box|float|grid|stack)layout import")
    for path in Path(tracker.__file__).parent.rglob("*.py"):
        assert not kivys.search(path.read_text(encoding="utf-8")), path.name


def test_what_is_added_below_moves_nothing_above_and_lays_nothing_out_anew(monkeypatch) -> None:
    from tracker.widgets.laid_out import BoxLayout

    page, scroll, cards = BoxLayout(size=(360, 640)), Scroll(), Column()
    for _card in range(6):
        cards.add_widget(card_of_words(5))
    scroll.add_widget(cards)
    page.add_widget(scroll)
    settle(3)
    there = [widget for card in cards.children for part in card.children for widget in everything(part)]
    tops = [widget.to_window(widget.x, widget.top) for widget in there]
    laid_out = []
    do_layout = BoxLayout.do_layout
    monkeypatch.setattr(
        BoxLayout, "do_layout", lambda box, *args: (laid_out.append(box), do_layout(box, *args))
    )
    height = cards.height
    cards.add_widget(card_of_words(5))
    settle(3)
    assert cards.height > height
    assert cards in laid_out
    assert not set(laid_out) & set(there)
    assert [widget.to_window(widget.x, widget.top) for widget in there] == tops
    # And a finger finds what it sees.
    scroll.scroll_y = 0
    settle(2)
    low = cards.children[0].children[0]
    x, y = low.to_window(*low.center)
    assert 0 < y < 640
    assert low.collide_point(*scroll.to_local(x, y))
