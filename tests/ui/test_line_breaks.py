"""A line is broken where a reader would break it: never between a number and its unit."""

from __future__ import annotations

import pytest
from kivy.uix.boxlayout import BoxLayout

from tracker.previews.draw import settle
from tracker.widgets.basics import Text
from tracker.widgets.line_breaks import NO_BREAK


def lines_of(words: str, width: float) -> list[str]:
    """Return the lines on which a text of a column of `width` px is typeset."""
    column = BoxLayout(size=(width, 400))
    text = Text(text=words)
    column.add_widget(text)
    settle()
    assert text.text == words
    return [
        "".join(word.text for word in line.words).replace(NO_BREAK, " ").strip()
        for line in text._label._cached_lines
    ]


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ("still needed 35 g (likely 23 g to 52 g)", ("35 g", "23 g", "52 g)")),
        ("likely 142.1 cm to 145.1 cm; planned: 142.1 cm", ("142.1 cm", "145.1 cm;")),
        ("at the end EUR 1,296.55", ("EUR 1,296.55",)),
        ("the last row is woven about 18 May 2027", ("18 May 2027",)),
        ("14 September to 26 November, not given; 6 Ağustos", ("14 September", "26 November,", "6 Ağustos")),
        ("Fineness (yarn count) R 1,200 tex (Nm 0.833)", ("R 1,200 tex", "(Nm 0.833)")),
        ("4,321 knots, a label says Nm 5/2 x 3 strands", ("4,321 knots", "Nm 5/2 x 3")),
        ("or Ne 20/15, tex 400 x 2, den 900 and so on", ("Ne 20/15", "tex 400 x 2", "den 900")),
        ("Row 14 of 90 · 3 Dec · every yarn lasts", ("3 Dec ·",)),
        ("to be 15 × 22.5 cm, allowed ± 3 cm", ("15 × 22.5 cm,", "± 3 cm")),
        ("the card reads 8 colours and 341 rows of Rug 1", ("8 colours", "341 rows", "Rug 1")),
        ("ends about 13 Dec, row 256; 1 ball of Weld yellow", ("13 Dec,", "row 256;", "1 ball")),
        ("a dye lot ends about row 767 of 1,200, from row 570 on", ("row 767 of", "row 570 on")),
        ("dokunan 197 / 341 sıra, Halı 1", ("/ 341", "Halı 1")),
        ("ikinci sıra: 198 sıra dokundu, 12 renk, Halı 1", ("198 sıra", "12 renk", "Halı 1")),
    ],
)
def test_a_number_stays_with_its_unit_at_every_width(open_app, words, parts) -> None:
    open_app()
    broken = set()
    for width in range(130, 420, 5):
        lines = lines_of(words, width)
        broken.add(len(lines))
        for part in parts:
            assert any(part in line for line in lines), (width, lines)
        assert not any(line.startswith("·") for line in lines)
    assert len(broken) > 1, "no width broke a line"


def test_a_size_too_long_for_a_line_is_broken_before_its_second_side(open_app) -> None:
    open_app()
    assert lines_of("100.4 × 142.1 cm", 100) == ["100.4 ×", "142.1 cm"]


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ("Rug off the loom about 14 January 2027", "14 January"),
        ("Kestirme: R 1,200 tex, 3 kat bükülü", "R 1,200 tex,"),
    ],
)
def test_one_part_too_long_for_a_line_lets_no_other_part(open_app, words, part) -> None:
    open_app()
    for width in range(84, 130, 3):
        lines = lines_of(words, width)
        assert any(part in line for line in lines), (width, lines)


def test_where_a_line_is_too_short_for_both_they_may_part(open_app) -> None:
    open_app()
    lines = lines_of("123,456.7 kg of it", 60)
    assert "".join(lines).replace(" ", "") == "123,456.7kgofit"
    assert lines[0] == "123,456.7"


def test_a_long_amount_stands_below_the_name_it_would_squeeze(open_app) -> None:
    from tracker.widgets.forms import CardKey

    open_app()
    names = {}
    for amount in ("360 g", "1 pass a row"):
        card = CardKey(answer="Thick weft, straight", amount=amount, width=328, size_hint_x=None)
        settle()
        words = {w.text: w for w in card.walk() if isinstance(w, Text)}
        names[amount] = words["Thick weft, straight"]
        below = words[amount].parent is names[amount].parent
        assert below == (amount == "1 pass a row")
    assert names["1 pass a row"].width >= names["360 g"].width
