"""Pages that come and go leave nothing behind: Python holds as many objects after many changes as after a few."""

from __future__ import annotations

import gc
from pathlib import Path

from tests.ui.hand import Hand
from tracker.previews.draw import settle
from tracker.screens import PAGES

VISITED = ("session", "guide", "costs", "trimming", "settings", "cautions", "yarn", "diary")
"""More than are kept built, so that each is built anew in every round, and two of the main ones, which are filled anew."""
ROUNDS = 2
LEAST_LEAK = len(VISITED)
"""Objects more in a round: one a page change would be a leak."""


def objects_after_a_round(hand: Hand) -> int:
    """Change to each page and back, and return how many objects there are then."""
    for name in VISITED:
        if PAGES[name].tab:
            hand.shell.open_tab(name)
        else:
            hand.shell.go(name)
        settle(2)
        hand.shell.open_tab("home")
        settle(2)
    gc.collect()
    return len(gc.get_objects())


def test_the_number_of_objects_does_not_grow_with_page_changes(open_app, demo: Path) -> None:
    hand = open_app(demo)
    # What is kept for good is kept once, in the first rounds; a leak grows with every one.
    for _round in range(2):
        objects_after_a_round(hand)
    counts = [objects_after_a_round(hand) for _round in range(1 + ROUNDS)]
    more = (counts[-1] - counts[0]) / ROUNDS
    assert more < LEAST_LEAK, (
        f"each round of {len(VISITED)} page changes leaves so many objects: {more} ({counts})"
    )
