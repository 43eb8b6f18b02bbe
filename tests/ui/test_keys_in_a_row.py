"""Keys side by side are read alike: one size of type, and none shrinks while its neighbours have room to spare."""

from __future__ import annotations

import pytest
from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout

from tracker.previews.draw import settle
from tracker.widgets.basics import Across, Column, Field, Key, Tiles, words_and_air
from tracker.widgets.forms import chip
from tracker.widgets.key_row import KeyRow

TOOLS = ("Look", "Paint", "Fill", "Exchange")


def keys_in(kind: type, width: float, words: tuple[str, ...]) -> list[Key]:
    """Return the keys of a row that is so many px wide, typeset."""
    holder = BoxLayout(size=(width, 400))
    row = kind()
    holder.add_widget(row)
    keys = [Key(text=text) for text in words]
    for key in keys:
        row.add_widget(key)
    settle()
    return keys


def sizes(keys: list[Key]) -> set[float]:
    return {key.inscription.font_size for key in keys}


def test_a_word_that_has_to_shrink_takes_its_neighbours_along_and_no_key_below(open_app) -> None:
    open_app()
    wide, narrow = (keys_in(Across, width, ("Fill", "Exchangeable")) for width in (dp(400), dp(160)))
    assert len(sizes(wide)) == len(sizes(narrow)) == 1
    assert max(sizes(narrow)) < max(sizes(wide))
    assert len(sizes(keys_in(Column, dp(70), ("Fill", "Exchangeable")))) == 2
    # With the long word gone the others are as large as ever.
    narrow[1].text = "Edge"
    settle()
    assert sizes(narrow) == sizes(wide)


@pytest.mark.parametrize("width_dp", [328, 240, 120])
def test_the_width_goes_where_the_words_are_long(open_app, width_dp: int) -> None:
    open_app()
    keys = keys_in(KeyRow, dp(width_dp), TOOLS)
    assert sizes(keys) == sizes(keys_in(KeyRow, dp(800), TOOLS)), "none had to shrink"
    lines = {round(key.y) for key in keys}
    assert len(lines) == {328: 1, 240: 2, 120: 4}[width_dp]
    assert keys[3].width >= keys[2].width


@pytest.mark.parametrize(
    ("words", "width_dp", "lines", "marked"),
    [
        (("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"), 328, 2, False),
        (("60 × 90 cm", "80 × 120 cm", "120 × 180 cm", "170 × 240 cm", "200 × 300 cm"), 328, 3, True),
        (("in centimetres", "in inches"), 328, 1, True),
        (("per 10 cm", "per foot (line)", "bis / bhutan", "it"), 404, 1, False),
        (("in centimetres", "in inches"), 700, 1, True),
        (("the longest of all weavers' names, which no line of a phone holds", "Left seat"), 328, 2, True),
    ],
)
def test_choices_stand_in_columns_and_give_up_their_rings_only_for_a_line(
    open_app, words: tuple[str, ...], width_dp: int, lines: int, marked: bool
) -> None:
    open_app()
    holder, row = BoxLayout(size=(dp(width_dp), 600)), KeyRow()
    holder.add_widget(row)
    for each in words:
        row.add_widget(chip(each, each, each == words[-1], lambda _value: None))
    settle()
    keys = list(reversed(row.children))
    assert [(key.icon, key.role) for key in (keys[0], keys[-1])] == [
        ("ring" if marked else "", "plain"),
        ("check" if marked else "", "chosen"),
    ]
    assert len({round(key.top) for key in keys}) == lines
    # One below the other, and none beyond the page; on a wide one they do not become bars.
    assert len({round(key.x) for key in keys}) == row.cols
    assert max(key.right for key in keys) <= row.right + 1
    assert min(key.width for key in keys) >= dp(48)
    assert max(key.width for key in keys) <= max(words_and_air(key) for key in keys) + dp(57) or lines == len(
        words
    )


def test_tiles_of_one_line_share_their_top(open_app) -> None:
    open_app()
    holder = BoxLayout(size=(dp(400), 600))
    tiles = Tiles(cols=2)
    holder.add_widget(tiles)
    low, high = (
        Field(label="Text size", answer="100 %"),
        Field(label="Colours", answer="light", hint="Tap to change"),
    )
    for tile in (low, high):
        tiles.add_widget(tile)
    settle()
    assert low.height < high.height
    assert low.top == high.top
