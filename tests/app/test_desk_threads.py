"""The desk as the app runs it: reads off the touch thread, publishes and tells on it, the newest turn wins."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from storage.book import Book
from storage.convert import StoredCells
from tests.book_in_memory import BookInMemory
from tests.storage.book_samples import plan, session
from tracker.app import reading
from tracker.app.desk import Desk
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.rug import (
    Cartoon,
    Lot,
    Measurement,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Session,
    Yarn,
    new_id,
)
from tracker.forecast import calendar, outlook
from tracker.presenters import yarn_shelf
from tracker.presenters.home import build_home_state

TODAY = date(2026, 3, 10)
PATIENCE_S = 20


class TouchThread:
    """The test's own thread stands for the touch thread: what is posted waits until the test lets it run."""

    def __init__(self) -> None:
        self._posted: queue.Queue[Callable[[], None]] = queue.Queue()

    def post(self, work: Callable[[], None]) -> None:
        """Leave work for the touch thread."""
        self._posted.put(work)

    def take(self) -> Callable[[], None]:
        """Wait for the next piece of work without doing it."""
        return self._posted.get(timeout=PATIENCE_S)

    def run_until(self, done: Callable[[], bool]) -> None:
        """Do what is posted until `done`."""
        while not done():
            self.take()()


class OnTouchOnly(Desk):
    """A desk that notes every value shown to pages that was published from another thread."""

    SHOWN = frozenset(
        {
            *("plans", "settings", "rug", "answers", "before", "holidays", "fresh", "trouble", "picture"),
            *("was_opened", "damaged", "older"),
        }
    )
    elsewhere: set[str]
    watched = False

    def __setattr__(self, name: str, value: object) -> None:
        if self.watched and name in self.SHOWN and threading.current_thread() is not threading.main_thread():
            self.elsewhere.add(name)
        super().__setattr__(name, value)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A book with a rug on the loom and a session of four rows."""
    path = tmp_path / "book.loomside"
    with Book.open(path) as book, book.act(ActKind.RUG_PLANNED) as act:
        rug = plan(name="Garden")
        act.write(rug)
        act.write(session(rug.id))
    return path


@pytest.fixture
def touch() -> TouchThread:
    """The touch thread."""
    return TouchThread()


def in_memory(*_file: object) -> BookInMemory:
    """A book with a rug on the loom and a session of four rows, in memory."""
    book = BookInMemory()
    with book.act(ActKind.RUG_PLANNED) as act:
        rug = plan(name="Garden")
        act.write(rug)
        act.write(session(rug.id))
    return book


@pytest.fixture
def desk(tmp_path: Path, touch: TouchThread) -> Iterator[OnTouchOnly]:
    """A desk as the app makes it, on a book in memory, opened, with its first answers."""
    yield from opened(
        OnTouchOnly(tmp_path / "none", today=lambda: TODAY, post=touch.post, opener=in_memory), touch
    )


@pytest.fixture
def desk_on_file(path: Path, touch: TouchThread) -> Iterator[OnTouchOnly]:
    """The same on a book's file."""
    yield from opened(OnTouchOnly(path, today=lambda: TODAY, post=touch.post), touch)


def opened(desk: OnTouchOnly, touch: TouchThread) -> Iterator[OnTouchOnly]:
    """Open the desk and close it afterwards."""
    desk.ground = "#FFFFFF"
    desk.elsewhere, desk.watched = set(), True
    desk.open_soon()
    touch.run_until(lambda: desk.fresh)
    yield desk
    desk.close()


def in_hand(desk: Desk) -> RugPlan:
    """Return the plan of the rug in hand."""
    assert desk.rug is not None
    return desk.rug.plan


def woven(desk: Desk, rows: int) -> Session:
    """Return one more session of so many rows."""
    return Session(id=new_id(), rug_id=in_hand(desk).id, day=TODAY, rows=rows, hours=1.0)


def test_what_pages_show_is_published_on_the_touch_thread_only(desk: OnTouchOnly, touch: TouchThread) -> None:
    desk.set_setting("country", "DE")
    touch.run_until(lambda: desk.fresh)
    desk.act(ActKind.SESSION_LOGGED, woven(desk, 3))
    touch.run_until(lambda: desk.fresh)

    assert desk.holidays
    assert desk.picture is not None
    assert desk.was_opened
    assert desk.elsewhere == set()


def test_that_a_book_is_damaged_is_published_on_the_touch_thread_with_its_trouble(
    path: Path, touch: TouchThread
) -> None:
    path.write_bytes(path.read_bytes()[:4096] + b"\x55" * 4096 + path.read_bytes()[8192:])
    desk = OnTouchOnly(path, today=lambda: TODAY, post=touch.post)
    desk.elsewhere, desk.watched = set(), True
    seen = []
    desk.listen(lambda: seen.append(desk.damaged))
    desk.open_soon()
    touch.run_until(lambda: bool(desk.trouble))

    assert seen == [True]
    assert not desk.was_opened
    assert not desk.older
    assert desk.elsewhere == set()
    desk.close()


def test_a_page_sees_nothing_of_a_reading_until_it_is_told(desk: OnTouchOnly, touch: TouchThread) -> None:
    told = []
    desk.listen(lambda: told.append((threading.current_thread(), len(desk.plans))))
    desk.act(ActKind.RUG_PLANNED, replace(in_hand(desk), id=new_id(), name="Second", born=0))
    publish = touch.take()

    assert (len(desk.plans), told) == (1, [])
    publish()
    assert told == [(threading.main_thread(), 2)]


def test_only_the_newest_of_two_readings_is_shown(desk: OnTouchOnly, touch: TouchThread) -> None:
    desk.act(ActKind.SESSION_LOGGED, woven(desk, 3))
    late = touch.take()
    desk.act(ActKind.SESSION_LOGGED, woven(desk, 2))
    late()
    assert not desk.fresh

    touch.run_until(lambda: desk.fresh)
    assert desk.rug is not None
    assert desk.rug.rows_woven == 4 + 3 + 2


def test_an_act_taken_back_leaves_the_rows_as_before(desk: OnTouchOnly, touch: TouchThread) -> None:
    act_id = desk.act(ActKind.SESSION_LOGGED, woven(desk, 3))
    touch.run_until(lambda: desk.fresh)
    assert desk.rug is not None
    assert desk.rug.rows_woven == 7
    desk.undo(act_id)
    touch.run_until(lambda: desk.fresh)
    assert desk.rug.rows_woven == 4


def test_an_act_that_fails_changes_nothing_and_may_be_tried_again(
    desk: OnTouchOnly, touch: TouchThread
) -> None:
    one_more = woven(desk, 3)
    with pytest.raises(BadEntry):
        desk.act(ActKind.SESSION_LOGGED, one_more, withdraw=["no such record"])
    assert desk.fresh
    assert desk.rug is not None
    assert desk.rug.rows_woven == 4

    desk.act(ActKind.SESSION_LOGGED, one_more)
    touch.run_until(lambda: desk.fresh)
    assert desk.rug.rows_woven == 7


def test_the_last_view_is_shown_at_the_next_start_as_long_as_the_book_holds_just_that(
    desk_on_file: OnTouchOnly, path: Path
) -> None:
    desk = desk_on_file
    assert desk.rug is not None
    assert desk.answers is not None
    shown = build_home_state(desk.rug, desk.answers)
    for thread in threading.enumerate():
        if thread.name == "opening":
            thread.join(PATIENCE_S)  # it keeps the view after it has told the answers
    desk.close()

    start = Desk(path, today=lambda: TODAY)
    start.ground = "#FFFFFF"
    view = start.last_view()
    assert view is not None
    assert view.state == shown

    with Book.open(path) as book, book.act(ActKind.SESSION_LOGGED) as act:
        act.write(session(view.rug_id))
    assert start.last_view() is None


def test_draws_of_days_that_are_over_are_let_go_of_at_the_next_reading(
    path: Path, touch: TouchThread, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[date] = []
    monkeypatch.setattr(calendar, "let_go_of_past", told.append)
    day = [TODAY]
    desk = Desk(path, today=lambda: day[0], post=touch.post, background=False)
    desk.open()
    day[0] += timedelta(days=1)
    desk.read()
    assert told == [TODAY, TODAY + timedelta(days=1)]
    desk.close()


def test_a_cartoon_is_not_unpacked_again_after_an_act_that_leaves_it_alone(
    path: Path, touch: TouchThread, monkeypatch: pytest.MonkeyPatch
) -> None:
    unpacked = []
    unpack = StoredCells.unpack

    def noted(cells: StoredCells) -> object:
        unpacked.append(cells)
        return unpack(cells)

    monkeypatch.setattr(StoredCells, "unpack", noted)
    desk = Desk(path, today=lambda: TODAY, post=touch.post)
    desk.open_soon()
    touch.run_until(lambda: desk.fresh)
    rug_id = in_hand(desk).id
    cells = np.zeros((20, 10), np.uint8)
    chart = Cartoon(id=new_id(), rug_id=rug_id, cells=cells, palette=("#AA0000",))
    desk.act(ActKind.RUG_PLANNED, chart)
    touch.run_until(lambda: desk.fresh)
    assert len(unpacked) == 1

    length = Measurement(id=new_id(), rug_id=rug_id, day=TODAY, row=4, length_cm=2.0)
    desk.act(ActKind.LENGTH_MEASURED, length)
    touch.run_until(lambda: desk.fresh)
    assert desk.rug is not None
    assert desk.rug.measurements
    assert len(unpacked) == 1

    # Another drawing of the same record is read anew.
    desk.act(
        ActKind.RUG_PLANNED, replace(chart, cells=np.ones((20, 10), np.uint8), palette=("#AA0000", "#00AA00"))
    )
    touch.run_until(lambda: desk.fresh)
    assert len(unpacked) > 1
    assert desk.rug.cartoon is not None
    assert desk.rug.cartoon.cells.max() == 1
    desk.close()


def test_the_yarn_shelf_is_gathered_once_until_an_act_or_another_day(
    desk: OnTouchOnly, touch: TouchThread, monkeypatch: pytest.MonkeyPatch
) -> None:
    rug_id = in_hand(desk).id
    yarn = Yarn(id=new_id(), rug_id=rug_id, role=Role.PILE, number=1, name="red", share=1.0, tex=400.0)
    desk.act(ActKind.RUG_PLANNED, yarn)
    touch.run_until(lambda: desk.fresh)
    gathered: list[int] = []
    gather = yarn_shelf.shelf_stock
    monkeypatch.setattr(
        yarn_shelf, "shelf_stock", lambda rugs, *others: gathered.append(len(rugs)) or gather(rugs, *others)
    )
    assert desk.yarn_shelf().parts == ()
    desk.yarn_shelf()
    assert gathered == [1], "gathered again though nothing had changed"

    lot = Lot(id=new_id(), rug_id=rug_id, yarn_id=yarn.id, day=TODAY, mass_g=500.0)
    desk.act(ActKind.YARN_BOUGHT, lot)
    touch.run_until(lambda: desk.fresh)
    assert [part.lots[0][0] for part in desk.yarn_shelf().parts] == [lot.id], "an act was not seen"

    monkeypatch.setattr(desk, "today", lambda: TODAY + timedelta(days=1))
    desk.yarn_shelf()
    assert gathered == [1, 1, 1], "answers of another day"


def test_the_sessions_of_every_rug_are_read_once_until_an_act(
    desk: OnTouchOnly, touch: TouchThread, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = desk.all_that_adds_up()
    monkeypatch.setattr(
        desk.book, "rug_book", lambda *_args, **_what: pytest.fail("read again though nothing had changed")
    )
    assert desk.all_that_adds_up() == before
    monkeypatch.undo()
    evening = woven(desk, 4)
    desk.act(ActKind.SESSION_LOGGED, evening)
    touch.run_until(lambda: desk.fresh)
    assert [len(of_rug) for of_rug in before] == [1]
    assert [session.id for session in desk.all_that_adds_up()[0]][1:] == [evening.id]


@pytest.fixture
def workshop(path: Path) -> Iterator[Desk]:
    """A desk on a book of a finished rug and three on their looms, everything done at once."""
    with Book.open(path) as book:
        for name in ("first", "second"):
            rug = plan(id=new_id(), name=name, stage=RugStage.ON_LOOM)
            with book.act(ActKind.RUG_PLANNED, rug_id=rug.id) as act:
                act.write(rug)
        done = plan(id=new_id(), name="done", stage=RugStage.FINISHED, finished_day=TODAY)
        with book.act(ActKind.RUG_PLANNED, rug_id=done.id) as act:
            act.write(done)
    desk = Desk(path, today=lambda: TODAY, background=False)
    desk.open()
    yield desk
    desk.close()


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the rugs whose answers, or those of their yarns alone, were worked out since."""
    names: list[str] = []

    def noting(work_out: Callable[..., object]) -> Callable[..., object]:
        def noted(rug: RugBook, *rest: object, **more: object) -> object:
            names.append(rug.plan.name)
            return work_out(rug, *rest, **more)

        return noted

    for name in ("outlook", "yarns_alone"):
        monkeypatch.setattr(outlook, name, noting(getattr(outlook, name)))
    return names


def test_an_act_in_one_rug_works_out_that_rug_s_answers_alone(workshop: Desk, worked_out: list[str]) -> None:
    in_work = [plan for plan in workshop.plans if plan.stage is not RugStage.FINISHED]
    before = {book.plan.id: answers for book, answers in workshop.on_looms()[1]}
    assert len(before) == len(in_work) == 3
    workshop.yarn_shelf()
    worked_out.clear()
    assert workshop.rug is not None
    woven = workshop.rug.plan
    workshop.act(ActKind.SESSION_LOGGED, session(woven.id, day=TODAY))
    rugs = workshop.on_looms()[1]
    workshop.yarn_shelf()
    assert worked_out == [woven.name], "the rugs in which nothing happened were worked out again"
    after = {book.plan.id: answers for book, answers in rugs}
    assert after[woven.id].where.rows_woven > before[woven.id].where.rows_woven
    assert all(after[plan.id] is before[plan.id] for plan in in_work if plan.id != woven.id)


def test_an_evening_lately_is_one_at_the_rug_beside_the_one_in_hand_that_was_woven_on_last(
    workshop: Desk,
) -> None:
    in_work = [plan for plan in workshop.plans if plan.stage is not RugStage.FINISHED]
    done = next(plan for plan in workshop.plans if plan.stage is RugStage.FINISHED)
    woven, first, second = sorted(in_work, key=lambda plan: not workshop.rug_book(plan.id).woven_sessions)
    workshop.choose(woven.id)
    workshop.act(ActKind.SESSION_LOGGED, session(done.id, day=TODAY, rows=9), rug_id=done.id)
    assert workshop.evening_lately() is None
    workshop.act(ActKind.SESSION_LOGGED, session(first.id, day=TODAY, rows=3), rug_id=first.id)
    workshop.act(
        ActKind.SESSION_LOGGED, session(second.id, day=TODAY - timedelta(days=1), rows=5), rug_id=second.id
    )
    evening = workshop.evening_lately()
    assert evening is not None
    assert evening.knots == 3 * first.knots_across
    workshop.choose(first.id)
    assert workshop.evening_lately().knots == 5 * second.knots_across


def test_short_memory_forgets_what_was_worked_out_and_gets_the_same_again(
    workshop: Desk, worked_out: list[str]
) -> None:
    before = workshop.on_looms()[1]
    shelf = workshop.yarn_shelf()
    worked_out.clear()
    workshop.forget_worked_out()
    assert workshop.on_looms()[1] == before
    assert workshop.yarn_shelf() == shelf
    assert len(worked_out) == len(workshop.plans), "something was kept"
    worked_out.clear()
    workshop.forget_worked_out()
    alone = workshop.yarn_shelf()
    assert [yarn.on_hand_g for _rug, told in alone.rugs for yarn in told.yarns] == [
        yarn.on_hand_g for _rug, told in shelf.rugs for yarn in told.yarns
    ]
    assert alone.parts == shelf.parts
    assert len(worked_out) == len(workshop.plans), "something was kept"
    worked_out.clear()
    workshop.read(inline=True)
    worked_out.clear()
    workshop.yarn_shelf()
    assert worked_out == [], "yarns were worked out again though nothing happened"


def test_what_a_finished_rug_taught_another_day_and_another_language_work_all_answers_out_anew(
    workshop: Desk, worked_out: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    in_work = {plan.name for plan in workshop.plans if plan.stage is not RugStage.FINISHED}
    done = next(plan for plan in workshop.plans if plan.stage is RugStage.FINISHED)
    workshop.on_looms()
    worked_out.clear()
    workshop.act(ActKind.SESSION_LOGGED, session(done.id, day=TODAY - timedelta(days=3)), rug_id=done.id)
    workshop.on_looms()
    assert set(worked_out) >= in_work, "a lesson of a finished rug was not seen"
    worked_out.clear()
    monkeypatch.setattr(workshop, "today", lambda: TODAY + timedelta(days=1))
    workshop.on_looms()
    assert set(worked_out) >= in_work, "answers of another day"
    worked_out.clear()
    monkeypatch.setattr(reading, "language", lambda: "tr")
    workshop.read()
    workshop.on_looms()
    assert set(worked_out) >= in_work, "answers in another language"
