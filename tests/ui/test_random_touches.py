"""The whole app under a hand that knows nothing: random touches on a random book, and what must hold after them.

Nothing may fail, every page can be left, the answers are those of a fresh reading, and every act the app acknowledged is
in the book. A failure names its seed: `LOOMSIDE_SEED=7 pytest -m slow tests/ui/test_random_touches.py` does it again.
"""

from __future__ import annotations

import os
import random
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.today import TODAY

SIZES = ((360, 640), (640, 360), (412, 892), (800, 1280), (1280, 800))
SCALES = (1.0, 1.5, 2.0)
LANGUAGES = ("en", "tr")
LOOK_EVERY = 40
"""Touches between two looks at what must hold; a look reads the book anew."""
MOST_BACKS = 15
"""Touches of the back key within which any page leads to the first one."""
SHORT = 100
LONG = 1_000
LONG_SEEDS = 21


class Stranger:
    """Touches the app at random, reopens it, turns the phone, sets its clock, and keeps what was acknowledged."""

    def __init__(self, open_app: Any, path: Path, seed: int) -> None:
        self.open_app, self.path, self.seed = open_app, path, seed
        self.chance = random.Random(seed)
        self.size, self.today = SIZES[0], TODAY
        self.acknowledged: list[str] = []
        self.done: list[str] = []
        self.touches = 0
        self.hand: Any = None
        self.open()

    def open(self) -> None:
        """Open the app anew, as after the phone had put it away."""
        self.hand = self.open_app(self.path, size=self.size, today=self.today)
        desk = self.hand.app.desk
        desk.today = lambda: self.today
        act, undo = desk.act, desk.undo

        def acting(*args: Any, **how: Any) -> str:
            act_id = act(*args, **how)
            if act_id:  # nothing is written of what the book held already
                self.acknowledged.append(act_id)
            return act_id

        def undoing(act_id: str) -> Any:
            undone = undo(act_id)
            if undone.act_id:
                self.acknowledged.append(undone.act_id)
            return undone

        desk.act, desk.undo = acting, undoing

    def targets(self) -> list[Any]:
        """Return all that can be tapped where it stands."""
        from kivy.core.window import Window
        from kivy.uix.behaviors import ButtonBehavior

        from tests.ui.hand import everything, shown

        top = self.hand.shell.sheet or self.hand.shell
        found = []
        for widget in everything(top):
            if isinstance(widget, ButtonBehavior) and shown(widget) and not widget.disabled:
                x, y = widget.to_window(*widget.center)
                if 0 <= x <= Window.width and 0 <= y <= Window.height:
                    found.append((x, y, getattr(widget, "text", "") or type(widget).__name__))
        return found

    def touch(self) -> None:
        """Do one thing."""
        from kivy.core.window import Window

        from tests.ui.handed_time import pass_time
        from tracker import words
        from tracker.previews.draw import settle
        from tracker.widgets.look import look

        chance, hand = self.chance, self.hand
        what = chance.random()
        self.touches += 1
        if what < 0.68:
            targets = self.targets()
            if targets:
                x, y, name = chance.choice(targets)
                self.done.append(f"tap {name!r}")
                hand.tap_at(x, y)
        elif what < 0.78:
            x, y = chance.uniform(0, Window.width), chance.uniform(0, Window.height)
            self.done.append(f"tap at {x:.0f}, {y:.0f}")
            hand.tap_at(x, y)
        elif what < 0.88:
            points = [
                (chance.uniform(0, Window.width), chance.uniform(0, Window.height)) for _end in range(2)
            ]
            self.done.append(f"drag {points}")
            hand.drag(*points)
        elif what < 0.94:
            self.done.append("back")
            if self.hand.shell.page_name != "home" or self.hand.shell.sheet:
                hand.key_back()
                settle(3)
        elif what < 0.96:
            self.size = chance.choice(SIZES)
            self.done.append(f"turn to {self.size}")
            Window.size = self.size
            settle(4)
        elif what < 0.97:
            self.today += timedelta(days=chance.choice((-40, -1, 1, 1, 2, 30)))
            self.done.append(f"the clock says {self.today}")
            hand.app.desk.read()
        elif what < 0.98:
            self.done.append("reopened")
            self.open()
        elif what < 0.985:
            words.use_language(chance.choice(LANGUAGES))
            self.done.append(f"language {words.language()}")
            hand.shell.rebuild_pages()
        elif what < 0.99:
            look.text_scale = chance.choice(SCALES)
            self.done.append(f"text {look.text_scale}")
        else:
            look.dark = not look.dark
            self.done.append("light")
        shell = self.hand.shell
        at_the_end = shell.sheet is None and [name for name, _what in shell._trail] == ["home"]
        assert shell.leads_back is not at_the_end, (
            "the phone would be told wrongly who takes the back gesture"
        )
        if chance.random() < 0.3:
            pass_time(0.5)

    def look(self) -> None:
        """Assert what must hold."""
        from tracker.previews.draw import settle

        shell, desk = self.hand.shell, self.hand.app.desk
        settle(2)  # what was read is shown from the next frame on
        for _try in range(MOST_BACKS):
            if not shell.back():
                break
            settle(2)
        assert shell.page_name == "home", f"{shell.page_name} cannot be left"
        assert not desk.trouble
        assert desk.fresh or desk.rug_id is None
        written = {entry.act_id for entry in desk.book.diary(limit=100_000)}
        assert not set(self.acknowledged) - written
        if desk.rug_id is not None:
            rug, answers = desk.answers_for(desk.rug_id)
            assert replace(desk.rug, cartoon=None) == replace(rug, cartoon=None)
            assert desk.answers == answers

    def go_on(self, touches: int) -> None:
        """Touch so many times, looking now and then; a failure tells how to do it again."""
        try:
            for count in range(1, touches + 1):
                self.touch()
                if count % LOOK_EVERY == 0:
                    self.look()
        except Exception as error:
            last = "\n".join(self.done[-12:])
            raise AssertionError(
                f"LOOMSIDE_SEED={self.seed}, touch {self.touches}; the last ones:\n{last}"
            ) from error


@pytest.fixture
def at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Keep what the app writes beside its book within the test's own folder, and the look as it was."""
    from tracker import words
    from tracker.widgets.look import look

    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("PATH", "")
    yield
    words.use_language("en")
    look.text_scale, look.dark = 1.0, False


def touched(open_app: Any, path: Path, seed: int, touches: int) -> Stranger:
    stranger = Stranger(open_app, path, seed)
    stranger.go_on(touches)
    return stranger


@pytest.mark.parametrize("kind", ["demo", "empty"])
def test_a_stranger_may_touch_anything(open_app, tmp_path, demo, at_home, kind) -> None:
    path = demo if kind == "demo" else tmp_path / "empty" / "book.loomside"
    stranger = touched(open_app, path, 1, SHORT // 2)
    assert stranger.touches == SHORT // 2


@pytest.mark.slow
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("number", range(LONG_SEEDS))
def test_thousands_of_touches(open_app, tmp_path, demo_book, at_home, number) -> None:
    import shutil

    from tests.ui.books import overfull_book

    seed = int(os.environ.get("LOOMSIDE_SEED", 100 + number))
    path = tmp_path / "own" / "book.loomside"
    path.parent.mkdir()
    if seed % 3 == 0:
        shutil.copy(demo_book, path)
    elif seed % 7 == 1:
        overfull_book(path, TODAY)
    stranger = touched(open_app, path, seed, LONG)
    print(f"seed {seed}: {len(stranger.acknowledged)} acts acknowledged, all there")


def test_the_look_sees_what_it_is_for(open_app, demo, at_home) -> None:
    """The invariants have teeth: an act that never was, answers of yesterday and a page without a way back are seen."""
    stranger = Stranger(open_app, demo, 1)
    stranger.look()
    stranger.acknowledged.append("f" * 32)
    with pytest.raises(AssertionError):
        stranger.look()
    stranger.acknowledged.pop()
    desk = stranger.hand.app.desk
    right = desk.answers
    desk.answers = replace(right, day=date(2020, 1, 1))
    with pytest.raises(AssertionError):
        stranger.look()
    desk.answers = right
    stranger.hand.shell.back = lambda: True
    stranger.hand.shell.go("diary")
    with pytest.raises(AssertionError, match="cannot be left"):
        stranger.look()


def test_the_look_waits_for_the_answers_of_a_new_day(open_app, demo, at_home) -> None:
    """The clock may move by the last touch before a look; what was read then is shown from the next frame on."""
    stranger = Stranger(open_app, demo, 1)
    stranger.today += timedelta(days=1)
    stranger.hand.app.desk.read()
    assert not stranger.hand.app.desk.fresh
    stranger.look()
    assert stranger.hand.app.desk.answers.day == stranger.today
