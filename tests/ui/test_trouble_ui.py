"""A book that cannot be opened: the screen says so and leads on; nothing pretends to be an empty book."""

from __future__ import annotations

from pathlib import Path


def test_a_book_open_elsewhere_is_tried_again(open_app, demo: Path) -> None:
    from storage.book import Book

    with Book.open(demo):
        hand = open_app(demo)
        assert not hand.sees("No rug yet.")
        assert not hand.sees("Plan a rug")
        assert hand.find("Try again")
    hand.tap("Try again")
    hand.wait(lambda: hand.sees("of 341 rows"))


def test_a_damaged_book_leads_to_what_can_be_saved(open_app, demo: Path) -> None:
    damaged = bytearray(demo.read_bytes())
    # The root page of the schema lies behind SQLite's 100 byte header.
    damaged[100:4000] = bytes(3900)
    demo.write_bytes(bytes(damaged))
    hand = open_app(demo)
    assert hand.sees("damaged")
    hand.tap("See what can be saved")
    assert hand.shell.page_name == "copies"
    assert demo.read_bytes() == bytes(damaged), "a damaged book is not made worse"
