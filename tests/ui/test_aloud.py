"""A row read aloud at the loom, by touches on a real window and by a headset's button."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.ui.hand import settle


class Heard:
    """A voice that writes down what it says."""

    slows = True

    def __init__(self) -> None:
        self.said: list[tuple[str, float, str]] = []
        self.hushed = 0

    def say(self, words: str, rate: float = 1.0, language: str = "") -> None:
        self.said.append((words, rate, language))

    def hush(self) -> None:
        self.hushed += 1


@pytest.fixture
def reading(open_app, demo: Path, monkeypatch):
    """The demo's row 198 being read: its first runs are 4 walnut brown, 3 madder red."""
    from tracker.screens.loom import loom

    heard = Heard()
    monkeypatch.setattr(loom, "voice", lambda: heard)
    hand = open_app(demo)
    hand.shell.open_tab("loom")
    settle()
    hand.shell.page.read_aloud()
    settle()
    return hand, heard


def words_of(heard: Heard) -> list[str]:
    return [words for words, _rate, _language in heard.said]


def test_a_touch_anywhere_moves_on_and_the_place_stays(reading) -> None:
    hand, heard = reading
    page = hand.shell.page
    runs = page.row.runs
    surface = hand.shell.sheet.ids.surface
    hand.tap_at(surface.right - 12, surface.y + 12)
    hand.tap_at(surface.x + 12, surface.top - 12)
    assert words_of(heard) == [
        f"Row {page.row.figure}. {runs[0].count} {runs[0].name}.",
        f"{runs[1].count} {runs[1].name}.",
        f"{runs[2].count} {runs[2].name}.",
    ]
    assert page.place() == 2
    assert hand.app.desk.rug.rows_woven == page.row.row - 1, "a run is no row"


def test_back_pause_and_slower(reading) -> None:
    hand, heard = reading
    surface = hand.shell.sheet.ids.surface
    hand.tap(surface)
    hand.tap("Back")
    assert heard.said[-1][0] == heard.said[0][0]
    hand.tap("Pause")
    assert heard.hushed
    before = len(heard.said)
    assert hand.sees("Paused. Touch here to go on.")
    hand.tap(surface)
    assert len(heard.said) == before + 1
    assert heard.said[-1][0] == heard.said[0][0], "after a pause the same run is said again"
    hand.tap("Slower")
    assert heard.said[-1][1] < heard.said[0][1]
    assert heard.said[-1][2] == "en"
    hand.tap("Usual pace")
    assert heard.said[-1][1] == heard.said[0][1]


def test_after_the_last_run_a_touch_counts_the_row_and_reads_the_next(reading) -> None:
    hand, heard = reading
    page = hand.shell.page
    row = page.row.row
    for _run in range(len(page.row.runs)):
        hand.shell.sheet.forward()
    assert heard.said[-1][0] == "End of the row."
    hand.tap(hand.shell.sheet.ids.surface)
    assert page.row.row == row + 1
    assert heard.said[-1][0].startswith(f"Row {row + 1}. ")
    assert page.counted, "the row waits to be saved with the session"


def test_the_headsets_keys_move_on(reading) -> None:
    from kivy.core.window import Window

    from tracker.device import headset

    hand, heard = reading
    for key in sorted(headset.PLAY_KEYS):
        Window.dispatch("on_key_down", key, 0, None, [])
    assert hand.shell.page.place() == len(headset.PLAY_KEYS)
    assert len(heard.said) == 1 + len(headset.PLAY_KEYS)
    Window.dispatch("on_key_down", ord("a"), 0, "a", [])
    assert len(heard.said) == 1 + len(headset.PLAY_KEYS), "other keys move nothing"


def test_back_puts_it_away_and_it_falls_silent(reading) -> None:
    from kivy.core.window import Window

    from tracker.device import headset

    hand, heard = reading
    assert hand.shell.back()
    settle()
    assert hand.shell.sheet is None
    assert heard.hushed
    said = len(heard.said)
    Window.dispatch("on_key_down", min(headset.PLAY_KEYS), 0, None, [])
    assert len(heard.said) == said, "nobody listens to the headset any more"


def test_a_call_pauses_it(reading) -> None:
    hand, heard = reading
    hand.app.on_pause()
    assert hand.shell.sheet.paused
    assert heard.hushed


def test_the_screen_stays_lit_only_while_a_row_is_followed_or_the_timer_runs(
    open_app, demo: Path, monkeypatch
) -> None:
    from tracker.app import app
    from tracker.device.clock import now_utc
    from tracker.presenters import timer

    lit: list[bool] = []
    monkeypatch.setattr(app, "keep_awake", lambda on: lit.append(on))
    hand = open_app(demo)
    assert not any(lit)
    hand.shell.open_tab("loom")
    assert lit[-1]
    hand.shell.open_tab("yarn")
    assert not lit[-1]
    drafts, rug_id = hand.app.desk.drafts, hand.app.desk.rug_id
    timer.keep_timer(drafts, rug_id, timer.start(now_utc()))
    hand.shell.look_at_timer()
    assert lit[-1]
    hand.shell.open_tab("loom")
    hand.shell.open_tab("yarn")
    assert lit[-1], "the timer still runs"
    timer.keep_timer(drafts, rug_id, None)
    hand.shell.look_at_timer()
    assert not lit[-1]


def test_a_row_without_a_cartoon_lets_the_screen_sleep(open_app, monkeypatch) -> None:
    from tracker.app import app

    lit: list[bool] = []
    monkeypatch.setattr(app, "keep_awake", lambda on: lit.append(on))
    hand = open_app()
    hand.shell.open_tab("loom")
    assert not any(lit)
