"""A row read aloud, run by run."""

from __future__ import annotations

from tests.presenters.test_loom import TODAY, with_cartoon
from tracker.presenters.aloud import build_aloud_state
from tracker.presenters.loom import build_loom_state


def test_the_voice_says_row_and_first_run_then_each_run_and_the_end() -> None:
    row = build_loom_state(with_cartoon(), 1, None, TODAY)
    said = [build_aloud_state(row, place).spoken for place in (None, 1, 2, 3)]
    assert said == ["Row 1. 4 Madder.", "1 Indigo.", "5 Madder.", "End of the row."]


def test_the_letters_say_what_the_voice_says_and_which_run_it_is() -> None:
    row = build_loom_state(with_cartoon(), 1, None, TODAY)
    second = build_aloud_state(row, 1)
    assert (second.count, second.name, second.where, second.row) == ("1", "Indigo", "Run 2 of 3", "Row 1")
    assert not second.ends
    end = build_aloud_state(row, 3)
    assert end.ends
    assert (end.count, end.where, end.name) == ("", "", "End of the row")
    assert end.hint == "Touch here when the row is woven."


def test_at_the_end_of_another_row_a_touch_counts_nothing_and_leads_back() -> None:
    another = build_loom_state(with_cartoon(), 2, None, TODAY)
    assert another.browsing
    assert build_aloud_state(another, len(another.runs)).hint == "Touch here to go back to your row."
