"""Taking an act back: a failure is never called done, and what had to stay is said."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tests.book_in_memory import BookInMemory
from tests.parsed import nodes_of
from tests.presenters.rugs import plan, session
from tracker.app.desk import Desk
from tracker.domain.errors import BookTrouble, LoomsideError
from tracker.shell.undo import undoable

ROOT = Path(__file__).parents[2] / "tracker"


class Strip:
    """Keeps what would be said; fails as the shell does."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def toast(self, sentence: str, **_more: object) -> None:
        self.said.append(sentence)

    def try_act(self, work) -> bool:
        try:
            work()
        except LoomsideError as trouble:
            self.said.append(trouble.sentence)
            return False
        return True


@pytest.fixture
def desk(tmp_path: Path):
    opened = Desk(
        tmp_path / "b.loomside",
        today=lambda: date(2026, 11, 25),
        background=False,
        opener=lambda *_: BookInMemory(),
    )
    opened.open()
    opened.act("rug planned", plan(), rug_id="rug")
    yield opened
    opened.close()


def test_whoever_two_phones_enter_by_one_name_is_one_weaver(desk: Desk, tmp_path: Path) -> None:
    """Joined there were two of her: a wage by her name paid for half of her evenings, and her place had two seats."""
    other = Desk(tmp_path / "other", background=False, opener=lambda *_: BookInMemory())
    other.open()
    here, there = desk.new_weaver("Ilsa"), other.new_weaver("ILSA")
    assert here.id == there.id != desk.new_weaver("Perrin").id
    # Who bears another name now keeps her id, and what was entered of her.
    desk.act("weaver added", here)
    desk.act("weaver renamed", replace(here, name="Ilsa Tor"))
    assert desk.new_weaver("Ilsa").id not in (here.id, desk.new_weaver("Ilsa").id)
    assert other.new_weaver("Ilsa", beside=[here.id]).id != here.id
    other.close()


def test_what_is_taken_back_is_said_and_gone(desk: Desk) -> None:
    act_id, strip = desk.act("session logged", session(1, 5)), Strip()
    done: list[str] = []
    undoable(strip, desk, act_id, then=lambda: done.append("told"))()
    assert strip.said == ["Undone."]
    assert done == ["told"]
    assert desk.rug is not None
    assert desk.rug.rows_woven == 0


def test_a_failed_undo_never_says_taken_back(desk: Desk, monkeypatch) -> None:
    act_id, strip = desk.act("session logged", session(1, 5)), Strip()

    def full(*_told: object) -> None:
        raise BookTrouble("The phone is full.")

    monkeypatch.setattr(BookInMemory, "undo", full)
    done: list[str] = []
    undoable(strip, desk, act_id, then=lambda: done.append("told"))()
    assert strip.said == ["The phone is full."]
    assert not done
    assert desk.rug is not None
    assert desk.rug.rows_woven == 5


def test_what_a_later_act_changed_stays_and_is_said(desk: Desk) -> None:
    first = session(1, 5)
    act_id, strip = desk.act("sessions", first, session(2, 4)), Strip()
    desk.act("session corrected", replace(first, rows=6))
    undoable(strip, desk, act_id)()
    assert strip.said == ["Undone. 1 entry was changed since and stays."]
    assert desk.rug is not None
    assert desk.rug.rows_woven == 6


def test_the_act_that_took_it_back_can_itself_be_taken_back(desk: Desk) -> None:
    undone = desk.undo(desk.act("session logged", session(1, 5)))
    assert undone.act_id is not None
    desk.undo(undone.act_id)
    assert desk.rug is not None
    assert desk.rug.rows_woven == 5


def test_no_page_takes_back_by_a_way_of_its_own() -> None:
    own = {
        path.relative_to(ROOT).as_posix()
        for path in (*ROOT.glob("screens/**/*.py"), *ROOT.glob("sheets/**/*.py"))
        for node in nodes_of(path)
        if isinstance(node, ast.Attribute)
        and node.attr == "undo"
        and ast.unparse(node.value).endswith("desk")
    }
    # The pages whose very deed is an undo: the diary, and mending with its own undo and redo.
    assert own == {"screens/diary/diary.py", "screens/mending/ground.py"}
