"""Two rugs on looms: what waits of one and its timer stay with it, whatever is done at the other, and through every end of the app."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from tests.book_in_memory import BookInMemory
from tests.presenters.rugs import plan
from tests.properties import examples
from tracker.app import desk as desk_module
from tracker.app.desk import Desk
from tracker.app.drafts import KEPT_ONCE, Drafts
from tracker.app.reminders import Reminders, rug_timed, running_time
from tracker.domain.rug import Measurement, RugStage
from tracker.presenters import loom as row_sums
from tracker.presenters import session as form_sums
from tracker.presenters import timer as timer_sums

TODAY = date(2026, 11, 25)
SIX = datetime(2026, 11, 25, 18, tzinfo=UTC)
RUGS = ("rug", "other")


class Looms:
    """A book with two rugs on looms, and the app at one of them, as its pages ask it."""

    def __init__(self, folder: Path) -> None:
        self.path, self.book, self.now = folder / "b.loomside", BookInMemory(), SIX
        self.start()
        for rug_id in RUGS:
            self.desk.act("rug planned", plan(id=rug_id, name=f"The {rug_id}"), rug_id=rug_id)
        self.at("rug")

    def start(self) -> None:
        """Start the app, whatever became of it: nothing was told to it before it ended."""
        self.desk = Desk(self.path, today=lambda: TODAY, background=False, opener=lambda *_: self.book)
        self.desk.open()

    def at(self, rug_id: str) -> None:
        self.desk.choose(rug_id)

    @property
    def drafts(self) -> Any:
        return self.desk.drafts

    @property
    def rug(self) -> Any:
        return self.desk.rug

    def form(self) -> form_sums.SessionForm | None:
        return form_sums.waiting_form(self.drafts, self.rug, TODAY)

    def count_row(self, by: int = 1) -> None:
        form = row_sums.count_rows(self.form(), self.rug, TODAY, by)
        row_sums.keep_counted(self.drafts, form, self.rug)

    def fill(self, note: str) -> None:
        form = self.form() or form_sums.blank_form(self.rug, TODAY)
        form_sums.keep_form(self.drafts, self.rug.plan.id, replace(form, note=note))

    def tap_timer(self) -> dict[str, timer_sums.Timer]:
        return timer_sums.tap(self.drafts, self.rug.plan.id, self.now)

    def pass_minutes(self, minutes: int) -> None:
        self.now += timedelta(minutes=minutes)

    def timed_minutes(self, rug_id: str) -> float | None:
        timer = timer_sums.timer_of(self.drafts, rug_id)
        return None if timer is None else timer_sums.worked(timer, self.now).total_seconds() / 60

    def save(self) -> Callable[[], None]:
        """Save the session of the rug in hand with its timer's hours; return what undoes it."""
        form = self.form() or form_sums.blank_form(self.rug, TODAY)
        timer = timer_sums.timer_of(self.drafts, self.rug.plan.id)
        # Without a timer nobody says any, and the usual ones are left out.
        form = form.with_hours(None if timer is None else timer_sums.hours_worked(timer, self.now))
        session = form_sums.to_session(form, self.rug, TODAY)
        act_id = self.desk.act("session logged", session, rug_id=session.rug_id)
        keep_again = form_sums.let_go(self.drafts, form, session, TODAY)

        def undo() -> None:
            self.desk.undo(act_id)
            keep_again()

        return undo


@pytest.fixture
def looms(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Looms:
    two = Looms(tmp_path)
    monkeypatch.setattr(desk_module, "now_utc", lambda: two.now)
    return two


def test_a_row_counted_and_a_timer_wait_while_a_session_of_the_other_rug_is_saved(looms: Looms) -> None:
    looms.count_row()
    looms.tap_timer()
    looms.pass_minutes(65)
    looms.at("other")
    assert looms.form() is None, "the other rug's form is empty"
    assert looms.timed_minutes("other") is None
    looms.count_row(6)
    looms.save()
    assert [(session.rows, session.hours) for session in looms.rug.sessions] == [(6, None)]
    looms.pass_minutes(10)
    looms.start()
    looms.at("rug")
    waiting = looms.form()
    assert waiting is not None
    assert waiting.rows == 1
    assert looms.timed_minutes("rug") == 75
    looms.save()
    assert [(session.rows, session.hours) for session in looms.rug.sessions] == [(1, 1.25)]


def test_a_timer_started_at_the_other_loom_pauses_the_first_which_keeps_its_time(looms: Looms) -> None:
    looms.tap_timer()
    looms.pass_minutes(40)
    looms.at("other")
    assert list(looms.tap_timer()) == ["rug"], "whose was paused is told"
    looms.pass_minutes(20)
    assert (looms.timed_minutes("rug"), looms.timed_minutes("other")) == (40, 20)
    assert (rug_timed(looms.drafts, lambda: looms.now), running_time(looms.drafts, lambda: looms.now)) == (
        "other",
        "0:20",
    )
    looms.at("rug")
    assert list(looms.tap_timer()) == ["other"]
    looms.pass_minutes(5)
    assert (looms.timed_minutes("rug"), looms.timed_minutes("other")) == (45, 20)
    assert looms.tap_timer() == {}, "a pause at this loom is no matter of the other one"


def test_a_break_is_called_for_by_the_rug_that_is_timed_and_only_there(looms: Looms) -> None:
    looms.tap_timer()
    looms.at("other")
    said: list[str] = []
    reminders = Reminders(
        looms.drafts, said.append, notify=lambda *_: True, vibrate=lambda: True, now=lambda: looms.now
    )
    looms.pass_minutes(46)
    assert reminders.poll()
    assert said[0].startswith("0:46 at the loom.")
    assert not reminders.poll()
    timer = timer_sums.timer_of(looms.drafts, "rug")
    assert timer is not None
    assert timer.last_break_s == 46 * 60


def test_a_deed_is_of_the_rug_that_is_shown_while_another_one_is_still_read(looms: Looms) -> None:
    # As `choose` does it with the reading under way.
    looms.drafts.put("rug in hand", "other")
    act_id = looms.desk.act(
        "length measured", Measurement(id="m", rug_id="rug", day=TODAY, row=9, length_cm=4.0)
    )
    entry = looms.desk.entry_of(act_id)
    assert entry is not None
    assert entry.rug_id == "rug"


def finish(looms: Looms) -> None:
    looms.desk.act(
        "rug finished", plan(id="rug", name="The rug", stage=RugStage.FINISHED, finished_day=TODAY)
    )


def delete(looms: Looms) -> None:
    looms.desk.act("rug withdrawn", withdraw=("rug",), rug_id="rug")


@pytest.mark.parametrize("end", [finish, delete])
def test_at_a_rug_that_is_finished_or_deleted_the_timer_stops_and_nothing_is_lost(
    looms: Looms, end: Callable[[Looms], None]
) -> None:
    looms.count_row()
    looms.tap_timer()
    looms.pass_minutes(30)
    looms.at("other")
    end(looms)
    assert running_time(looms.drafts, lambda: looms.now) == ""
    looms.pass_minutes(600)
    assert looms.timed_minutes("rug") == 30
    assert looms.form() is None, "nothing of it is shown on the other rug"
    assert (
        form_sums.waiting_words(looms.drafts, "rug", looms.now)
        == "+1 row not saved yet · timer paused at 0:30"
    )


def test_a_session_undone_at_one_rug_waits_though_the_other_rugs_is_saved(looms: Looms) -> None:
    looms.count_row(4)
    undo = looms.save()
    undo()
    looms.at("other")
    looms.count_row(7)
    looms.save()
    undone = form_sums.taken_back(looms.drafts, looms.desk.rug_book("rug"), TODAY)
    assert undone is not None
    assert undone.rows == 4
    assert form_sums.taken_back(looms.drafts, looms.desk.rug_book("other"), TODAY) is None


def test_an_undo_brings_back_the_place_at_its_own_loom_and_leaves_that_of_the_other(looms: Looms) -> None:
    place, later = {"row": 2, "run": 3}, {"row": 9, "run": 1}
    looms.drafts.put(form_sums.PLACE, {"rug": place})
    looms.count_row()
    undo = looms.save()
    looms.drafts.put(form_sums.PLACE, {"other": later})
    undo()
    assert looms.drafts.get(form_sums.PLACE) == {"rug": place, "other": later}


def test_a_session_saved_by_an_app_that_was_killed_at_once_waits_no_more(looms: Looms) -> None:
    looms.count_row(3)
    looms.tap_timer()
    looms.pass_minutes(30)
    waiting = looms.drafts.as_they_are()
    looms.save()
    looms.drafts.put_back(waiting)
    looms.start()
    assert looms.form() is None, "its rows would be counted once more"
    assert looms.timed_minutes("rug") is None
    assert [session.rows for session in looms.rug.sessions] == [3]


def test_two_windows_keep_what_waits_of_two_rugs(looms: Looms) -> None:
    second = Drafts(looms.drafts.path)
    looms.count_row()
    form_sums.keep_form(second, "other", form_sums.SessionForm("s", TODAY, 7))
    looms.count_row()
    kept = Drafts(looms.drafts.path)
    rows = [form_sums.form_kept(kept, rug_id) for rug_id in RUGS]
    assert [form and form.rows for form in rows] == [2, 7]


# --- what an earlier form of the app kept


FORM = form_sums.to_kept(form_sums.SessionForm("s", TODAY, 3, note="of the rug"))
TIMER = timer_sums.to_kept(timer_sums.start(SIX - timedelta(minutes=50)))
UNDONE = {"rug": "rug", "on": TODAY.isoformat(), "form": FORM}


def started_with(looms: Looms, **kept: Any) -> None:
    looms.drafts.path.write_text(json.dumps({name.replace("_", " "): value for name, value in kept.items()}))
    looms.start()


def test_what_the_app_kept_once_for_all_rugs_is_found_at_the_rug_it_is_of(looms: Looms) -> None:
    started_with(
        looms,
        session_form=FORM,
        session_rug="rug",
        session_timer=TIMER,
        session_taken_back=UNDONE,
        measurement={"rug": "rug", "row": 40, "length_cm": 16.0, "day": None},
        after_step={"for": "new", "rug": "rug", "name": "Soak", "days": 2.0},
        rug_in_hand="other",
        mirrored=True,
    )
    assert looms.form() is None
    assert looms.timed_minutes("other") is None
    looms.start()
    looms.at("rug")
    waiting = looms.form()
    assert waiting is not None
    assert (waiting.rows, waiting.note) == (3, "of the rug")
    assert looms.timed_minutes("rug") == 50
    undone = form_sums.taken_back(looms.drafts, looms.desk.rug_book("rug"), TODAY)
    assert undone is not None
    assert undone.rows == 3
    assert looms.drafts.get("measurements")["rug"]["length_cm"] == 16.0
    assert looms.drafts.get("after steps") == {"new rug": {"name": "Soak", "days": 2.0}}
    assert looms.drafts.get("mirrored") is True
    assert not set(json.loads(looms.drafts.path.read_text())) & set(KEPT_ONCE)


def test_an_old_timer_without_rows_is_of_the_rug_in_hand(looms: Looms) -> None:
    # Whose rows were saved last says nothing of who sits at which loom now.
    started_with(looms, session_rug="rug", session_timer=TIMER, rug_in_hand="other")
    assert (looms.timed_minutes("rug"), looms.timed_minutes("other")) == (None, 50)


def test_before_any_rug_is_known_old_drafts_wait(tmp_path: Path) -> None:
    kept = {"session timer": TIMER, "session form": FORM}
    (tmp_path / "b.loomside.drafts.json").write_text(json.dumps(kept))
    desk = Desk(
        tmp_path / "b.loomside", today=lambda: TODAY, background=False, opener=lambda *_: BookInMemory()
    )
    desk.open()
    assert json.loads(json.dumps(desk.drafts.as_they_are())) == json.loads(json.dumps(kept))


def test_an_old_draft_takes_no_newer_ones_place(looms: Looms) -> None:
    newer = form_sums.to_kept(form_sums.SessionForm("t", TODAY, 8))
    started_with(looms, session_form=FORM, session_rug="rug", session_forms={"rug": newer}, rug_in_hand="rug")
    waiting = looms.form()
    assert waiting is not None
    assert waiting.rows == 8


# --- any sequence of what two looms ask


@dataclass
class OneRug:
    """What one rug must hold, kept by hand."""

    rows: int = 0
    note: str = ""
    minutes: int | None = None
    """On its timer; None: it has none."""
    runs: bool = False
    sessions: list[tuple[int, float | None, str]] = field(default_factory=list)

    @property
    def waits(self) -> bool:
        return bool(self.rows or self.note)


DEEDS = st.one_of(
    st.tuples(st.just("open"), st.sampled_from(RUGS)),
    st.tuples(st.just("count"), st.integers(1, 3)),
    st.tuples(st.just("fill"), st.sampled_from(["blue is low", "the edge"])),
    st.tuples(st.just("timer"), st.none()),
    st.tuples(st.just("minutes"), st.integers(1, 90)),
    st.tuples(st.just("save"), st.none()),
    st.tuples(st.just("undo"), st.none()),
    st.tuples(st.just("restart"), st.none()),
)


def as_said(minutes: int) -> float | None:
    """Hours as a weaver says them, worked out by hand: to the quarter, below an hour to five minutes; None for none."""
    step = 15 if minutes >= 60 else 5
    return (2 * minutes + step) // (2 * step) * step / 60 or None


@examples(12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(deeds=st.lists(DEEDS, min_size=30, max_size=50))
def test_whatever_is_done_at_two_looms_each_rug_holds_its_own(
    tmp_path_factory: pytest.TempPathFactory, deeds: list[tuple[str, Any]]
) -> None:
    looms, at, undo = Looms(tmp_path_factory.mktemp("looms")), "rug", None
    rugs = {rug_id: OneRug() for rug_id in RUGS}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desk_module, "now_utc", lambda: looms.now)
        for deed, told in deeds:
            here = rugs[at]
            if deed == "open":
                looms.at(told)
                at = told
            elif deed == "count":
                looms.count_row(told)
                here.rows += told
            elif deed == "fill":
                looms.fill(told)
                here.note = told
            elif deed == "timer":
                looms.tap_timer()
                if not here.runs:
                    rugs["other" if at == "rug" else "rug"].runs = False
                here.minutes, here.runs = here.minutes or 0, not here.runs
            elif deed == "minutes":
                looms.pass_minutes(told)
                for one in rugs.values():
                    one.minutes = (one.minutes or 0) + told if one.runs else one.minutes
            elif deed == "save" and here.waits:
                undo = (looms.save(), at)
                hours = None if here.minutes is None else as_said(here.minutes)
                here.sessions.append((here.rows, hours, here.note))
                here.rows, here.note, here.minutes, here.runs = 0, "", None, False
            elif deed == "undo" and undo is not None:
                undo[0]()
                rugs[undo[1]].sessions.pop()
                undo = None
            elif deed == "restart":
                looms.start()
                undo = None
            for rug_id, one in rugs.items():
                form = form_sums.form_kept(looms.drafts, rug_id)
                assert ((0, "") if form is None else (form.rows, form.note)) == (one.rows, one.note)
                assert looms.timed_minutes(rug_id) == one.minutes
                saved = looms.desk.rug_book(rug_id).sessions if deed in ("save", "undo") else None
                if saved is not None:
                    assert [(session.rows, session.hours, session.note) for session in saved] == [
                        (rows, pytest.approx(hours), note) for rows, hours, note in one.sessions
                    ]
            runs = [rug_id for rug_id, one in rugs.items() if one.runs]
            assert [rug_timed(looms.drafts, lambda: looms.now)] == (runs or [""])
