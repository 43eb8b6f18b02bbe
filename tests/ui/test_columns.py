"""A column leaves no gap for what has nothing to say."""

from __future__ import annotations

from tracker.previews.draw import settle
from tracker.widgets.basics import Column, Scroll, Text


def test_what_is_empty_takes_no_gap_and_its_words_have_their_room_when_they_come(open_app) -> None:
    open_app()
    column = Column(width=300, size_hint_x=None, spacing=10)
    first, last = Text(text="first"), Text(text="last")
    between = [Text(text="", height=0) for _at in range(3)]
    for text in between:
        text.bind(texture_size=lambda text, size: setattr(text, "height", size[1] if text.text else 0))
    for child in (first, *between, last):
        column.add_widget(child)
    settle()
    for text in between:
        text.height = 0
    settle()
    assert column.height == first.height + 10 + last.height
    assert first.y - last.top == 10
    between[1].text = "words of the middle that need two lines in a column as narrow as this one"
    settle()
    middle = between[1]
    assert middle.width == 300
    assert middle.height > 1.5 * first.height
    assert column.height == first.height + middle.height + last.height + 20
    assert (first.y - middle.top, middle.y - last.top) == (10, 10)


def test_a_column_of_nothing_is_as_tall_as_its_padding(open_app) -> None:
    open_app()
    column = Column(width=300, size_hint_x=None, spacing=10, padding=(1, 2, 3, 4))
    column.add_widget(Column())
    settle()
    assert column.height == 6


def test_what_goes_on_above_or_below_fades_out_and_the_end_of_a_column_does_not(open_app) -> None:
    hand = open_app()
    scroll, column = Scroll(size=(300, 200), size_hint=(None, None)), Column(spacing=0)
    for line in range(20):
        column.add_widget(Text(text=f"line {line}"))
    scroll.add_widget(column)
    hand.shell.page.add_widget(scroll)
    settle()

    def edges_faded() -> list[bool]:
        return [colour.a == 1 and edge.size[1] > 1 for colour, edge in scroll._fades]

    assert edges_faded() == [True, False]
    scroll.scroll_y = 0.5
    settle()
    assert edges_faded() == [True, True]
    (_below, low), (_above, high) = scroll._fades
    assert (low.pos[1], high.pos[1] + high.size[1]) == (scroll.y, scroll.top)
    scroll.scroll_y = 0
    settle()
    assert edges_faded() == [False, True]
    column.clear_widgets()
    column.add_widget(Text(text="all of it"))
    settle()
    assert edges_faded() == [False, False]
