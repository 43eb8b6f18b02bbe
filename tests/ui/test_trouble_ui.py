"""A book that cannot be opened: the screen says so and leads on; nothing pretends to be an empty book."""

from __future__ import annotations

from pathlib import Path

from tracker.previews.draw import settle
from tracker.screens import PAGES

WITHOUT_A_RUG = [
    name
    for name in PAGES
    if name not in ("plan", "session", "zoom", "yarn_story", "cartoon_reading", "knotting")
]
"""Pages that are reached in a book that holds no rug, but for the plan."""


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


def test_no_page_of_a_book_that_cannot_be_opened_takes_it_for_an_empty_one(open_app, tmp_path: Path) -> None:
    """Whoever planned a rug there would plan it into nowhere."""
    foreign = tmp_path / "other.loomside"
    foreign.write_bytes(b"something else")
    hand = open_app(foreign)
    assert hand.sees("not a book of this app")
    missed: list[str] = []
    for name in WITHOUT_A_RUG:
        hand.shell.go(name)
        settle()
        missed += [
            f"{name}: {words}"
            for words in ("Plan a rug", "Plan another rug", "No rug yet")
            if hand.sees(words)
        ]
    assert not missed
