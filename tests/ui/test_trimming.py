"""Trimming by touch: reached from the cloth, logged, set how often, taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.today import TODAY
from tests.ui.books import without
from tests.ui.test_cloth import at_the_cloth, give
from tracker.domain.trimming import Trim
from tracker.previews.draw import settle


@pytest.fixture
def demo(demo: Path) -> Path:
    """The demo book, with a pile that was never trimmed."""
    return without(demo, Trim)


def at_the_trimming(open_app, path, **how):
    hand = at_the_cloth(open_app, path, **how)
    hand.tap(hand.shell.page.trimming)
    assert hand.shell.page_name == "trimming"
    return hand


def test_a_trimming_is_logged_and_undone(open_app, demo) -> None:
    hand = at_the_trimming(open_app, demo)
    desk = hand.app.desk
    assert hand.sees("Not trimmed yet")
    hand.tap("Log a trimming")
    hand.tap("Pile after")
    give(hand, "8")
    hand.tap("Save")
    (trim,) = desk.rug.trims
    assert (trim.row, trim.after_mm, trim.day) == (desk.rug.rows_woven, 8.0, TODAY)
    assert hand.sees("0 rows since the last trimming")
    hand.tap("Undo")
    assert not desk.rug.trims
    assert hand.sees("Not trimmed yet")


def test_how_often_makes_it_due_and_the_cloth_says_so(open_app, demo) -> None:
    hand = at_the_trimming(open_app, demo)
    hand.tap("How often")
    give(hand, "20")
    assert hand.app.desk.rug.plan.trim_every_rows == 20
    rows = hand.app.desk.rug.rows_woven
    assert hand.sees(f"Trim the pile now: {rows} rows since the last time.")
    hand.shell.dismiss_toast()
    assert hand.key_back()
    settle()
    assert hand.shell.page.trimming.startswith("Trim the pile now")


def test_the_cautions_stand_on_the_page(open_app, demo) -> None:
    hand = at_the_trimming(open_app, demo)
    assert hand.sees("Blades and dust")
    assert hand.sees("Hand shears: never put the other hand in front of the blades.")
