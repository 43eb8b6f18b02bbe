"""The balls of each weaver by touch: reached where balls are wound, for some rows, with others in the seats."""

from __future__ import annotations

from tracker.previews.draw import settle


def at_the_balls(open_app, path, **how):
    hand = open_app(path, **how)
    hand.shell.go("preparation")
    settle()
    hand.tap("Balls by weaver")
    assert hand.shell.page_name == "balls"
    return hand


def test_the_balls_are_reached_from_preparation_and_both_seats_are_there(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    for words in ("To the last row", "1 Left seat", "2 Right seat", "Madder red"):
        assert hand.sees(words)
    assert hand.key_back()
    settle()
    assert hand.shell.page_name == "preparation"


def test_the_balls_of_some_rows_are_fewer(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    whole = hand.shell.page.ids.columns.children[-1].children[-1].figure
    hand.tap("Other rows")
    for digit in "12":
        hand.tap(hand.find(digit, hand.shell.sheet))
    hand.tap(hand.find("Done", hand.shell.sheet))
    assert hand.sees("For the next 12 rows")
    some = hand.shell.page.ids.columns.children[-1].children[-1].figure
    assert int(some.split()[0]) < int(whole.split()[0])
    hand.tap("To the end")
    assert hand.sees("To the last row")


def test_seats_are_set_by_touch_and_stay(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    hand.tap("Who sits where, left to right")
    # The left one gets up and sits down again to the right of the other.
    hand.tap(hand.find("1 Left seat", hand.shell.sheet))
    hand.tap(hand.find("Left seat", hand.shell.sheet))
    hand.tap("Share out the width")
    hand.tap(hand.find("Done", hand.shell.sheet))
    assert hand.sees("1 Right seat")
    assert hand.sees("2 Left seat")
    again = at_the_balls(open_app, demo)
    assert again.sees("1 Right seat")


def test_who_is_left_alone_has_the_whole_width(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    hand.tap("Who sits where, left to right")
    hand.tap(hand.find("2 Right seat", hand.shell.sheet))
    hand.tap(hand.find("Done", hand.shell.sheet))
    assert hand.shell.sheet is None
    assert hand.sees("Left seat")
    assert not hand.sees("2 Right seat")


def test_an_empty_book_says_what_to_do_first(open_app) -> None:
    hand = open_app(None)
    hand.shell.go("balls")
    settle()
    assert hand.sees("No rug yet.")
