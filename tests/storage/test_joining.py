"""Two phones at one loom: joining is a union, and conflicting corrections end the same on every phone."""

from __future__ import annotations

import itertools
import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, rule, run_state_machine_as_test
from sqlalchemy import create_engine

from storage import copies, diary, history, migrations, reading
from storage.book import Book
from storage.exchange import join, write_exchange
from storage.merge import make_staging, undo_join
from storage.models import Base
from storage.trouble import BookFromNewerApp
from tests.storage.book_samples import Clock, everything, one_of_every_kind, plan, session
from tracker.domain.act import ActKind
from tracker.domain.costs import pricing_of
from tracker.domain.errors import BookTrouble
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import Lot, Pricing, Sample, Session, Spoilt, Weaver, Weighing, new_id
from tracker.domain.weighing_answer import KNOTS, LOST, answer_id
from tracker.files.whole import working

SCHEMAS = Path(__file__).parent / "schemas"


def told(book: Book) -> dict[str, Any]:
    """Return what a book tells, but for which phone it lies on."""
    entries = diary.entries(book, limit=100_000)
    return {
        "rugs": [everything(reading.rug_book(book, one.id)) for one in reading.rugs(book)],
        "settings": reading.settings(book),
        "weavers": [(one.id, one.name, one.born) for one in reading.weavers(book)],
        "diary": [
            (
                one.act_id,
                one.made_at,
                one.device.device_id,
                one.device.name,
                one.kind,
                one.undone,
                one.undoable,
                {change.record_id: repr(change.after) for change in one.changes},
            )
            for one in entries
        ],
    }


@pytest.fixture
def phones(open_book):
    """Three phones."""
    return [open_book(f"{name}.loomside", device_name=name) for name in ("ash", "birch", "cedar")]


def enter(book: Book, *values: Any) -> str:
    with book.act("entered") as act:
        for value in values:
            act.write(value)
    return act.act_id


def give(source: Book, target: Book) -> Any:
    file = source.path.with_name("gift.loomside-exchange")
    write_exchange(source, file)
    return join(target, file)


def test_an_exchange_carries_every_kind_of_value(phones):
    one, other, _third = phones
    values = one_of_every_kind()
    enter(one, *values)
    joined = give(one, other)
    assert (joined.acts, joined.records, joined.versions) == (1, len(values), len(values))
    assert joined.devices == ("ash",)
    assert joined.conflicts == ()
    assert told(one) == told(other)
    other.check()


def test_joining_twice_changes_nothing(phones):
    one, other, _third = phones
    enter(one, plan())
    enter(other, plan())
    give(one, other)
    before = told(other)
    assert give(one, other).nothing_new
    assert told(other) == before
    give(other, one)
    assert give(other, one).nothing_new
    assert told(one) == told(other)


def test_the_order_of_joining_does_not_matter(open_book, tmp_path):
    rug = plan()
    sat = session(rug.id)
    sources = [open_book(f"source{number}.loomside", device_name=f"phone {number}") for number in range(3)]
    enter(sources[0], rug, sat)
    for source in sources[1:]:
        give(sources[0], source)
    for number, source in enumerate(sources):
        enter(source, replace(sat, rows=10 + number))
        enter(source, session(rug.id, rows=number))
        write_exchange(source, tmp_path / f"{number}.file")
    results = []
    for order in itertools.permutations(range(3)):
        target = open_book(f"target{''.join(map(str, order))}.loomside", device_name="target")
        for number in order:
            join(target, tmp_path / f"{number}.file")
        target.check()
        results.append(told(target))
    assert all(result == results[0] for result in results)
    # Grouping does not matter either: first 1 into 2, then that into 0, is the same as one after another.
    give(sources[1], sources[2])
    give(sources[2], sources[0])
    assert told(sources[0]) == results[0]


def test_conflicting_corrections_end_the_same_and_are_reported_on_both_phones(phones):
    one, other, _third = phones
    rug = plan()
    sat = session(rug.id, rows=4)
    enter(one, rug, sat)
    give(one, other)
    enter(one, replace(sat, rows=5))
    enter(other, session(rug.id))  # one more act: this phone's count is ahead
    enter(other, replace(sat, rows=6))
    on_other = give(one, other)
    on_one = give(other, one)
    assert told(one) == told(other)
    # The rule: the larger count wins.
    assert next(s.rows for s in reading.rug_book(one, rug.id).sessions if s.id == sat.id) == 6
    for joined in (on_other, on_one):
        (conflict,) = joined.conflicts
        assert (conflict.record_id, conflict.kind, conflict.rug_id) == (sat.id, "session", rug.id)
        assert conflict.counting.value.rows == 6
        assert conflict.counting.device.name == "birch"
        assert [aside.value.rows for aside in conflict.set_aside] == [5]
    assert [(past.value.rows, past.set_aside) for past in history.versions_of(one, sat.id)] == [
        (6, False),
        (5, True),
        (4, False),
    ]


def test_with_equal_counts_the_larger_device_id_wins_and_a_withdrawal_can_conflict(phones):
    one, other, _third = phones
    rug = plan()
    sat = session(rug.id, rows=4)
    enter(one, rug, sat)
    give(one, other)
    enter(one, replace(sat, rows=5))
    with other.act("withdrawn") as act:
        act.withdraw(sat.id)
    (conflict,) = give(one, other).conflicts
    give(other, one)
    sessions = reading.rug_book(one, rug.id).sessions
    if one.device_id > other.device_id:
        assert [s.rows for s in sessions] == [5]
        assert conflict.set_aside[0].value is None
    else:
        assert sessions == ()
        assert conflict.counting.value is None
    assert told(one) == told(other)


def test_the_same_correction_on_both_phones_is_no_conflict(phones):
    one, other, _third = phones
    rug = plan()
    sat = session(rug.id, rows=4)
    enter(one, rug, sat)
    give(one, other)
    enter(one, replace(sat, rows=5))
    enter(other, replace(sat, rows=5))
    assert give(one, other).conflicts == ()


def test_a_correction_made_after_joining_is_no_conflict(phones):
    one, other, _third = phones
    rug = plan()
    sat = session(rug.id, rows=4)
    enter(one, rug, sat)
    give(one, other)
    enter(other, replace(sat, rows=5))
    assert give(other, one).conflicts == ()
    enter(one, replace(sat, rows=6))
    assert give(one, other).conflicts == ()
    assert reading.rug_book(other, rug.id).rows_woven == 6


def test_two_phones_that_each_said_how_the_price_is_made_are_told_which_counts(phones):
    one, other, third = phones
    rug = plan()
    enter(one, rug)
    give(one, other)
    mine = Pricing(id="1" * 32, rug_id=rug.id, margin=0.2)
    theirs = Pricing(id="2" * 32, rug_id=rug.id, margin=0.5)
    enter(one, mine)
    # Of two entered without knowing of each other the larger count is the later one.
    enter(other, session(rug.id))
    enter(other, theirs)
    for joined in (give(one, other), give(other, one)):
        (conflict,) = joined.conflicts
        assert (conflict.kind, conflict.rug_id) == ("pricing", rug.id)
        assert (conflict.counting.value.margin, conflict.counting.device.name) == (0.5, "birch")
        assert [(told.value.margin, told.device.name) for told in conflict.set_aside] == [(0.2, "ash")]
    for book in (one, other):
        assert pricing_of(reading.rug_book(book, rug.id)).margin == 0.5
    # What is known is not told again, nor on a phone that had none of its own; nor where both say the same.
    assert give(one, other).conflicts == ()
    assert give(one, third).conflicts == ()
    enter(one, session(rug.id, rows=3))
    assert give(one, other).conflicts == ()


def test_a_skein_that_two_phones_gave_away_is_not_there_twice(phones):
    one, other, third = phones
    rugs = [plan(name) for name in ("First", "Second", "Third")]
    lot = Lot(id=new_id(), rug_id=rugs[0].id, yarn_id="red", day=date(2026, 3, 1), mass_g=500.0)
    enter(one, *rugs, lot)
    give(one, other)
    for book, to in ((one, rugs[1]), (other, rugs[2])):
        enter(
            book,
            LotMove(
                id=new_id(), lot_id=lot.id, day=date(2026, 3, 2), mass_g=400.0, from_rug_id=rugs[0].id,
                from_yarn_id="red", to_rug_id=to.id, to_yarn_id="red",
            ),
        )  # fmt: skip
    give(one, other)
    give(other, one)
    give(other, third)
    told = [
        [sum(part.mass_g for part in reading.rug_book(book, rug.id).lots) for rug in rugs]
        for book in (one, other, third)
    ]
    assert told[0] == told[1] == told[2]
    assert told[0][0] == 0
    assert sorted(told[0][1:]) == [100.0, 400.0]


ANSWERS = ("lost", "knots", "lot", "other lot")


def answered(book: Book, rug_id: str, how: str) -> str:
    """Answer the weighing "w" of red yarn as a phone does; return the act's id."""
    lots = {lot.id: lot for lot in reading.rug_book(book, rug_id).lots}
    of_red = {"rug_id": rug_id, "yarn_id": "red"}
    if how == "lost":
        deed, value = (
            ActKind.YARN_SPOILT,
            Spoilt(id=answer_id("w", LOST), day=date(2026, 3, 4), mass_g=150.0, **of_red),
        )
    elif how == "knots":
        deed, value = (
            ActKind.SAMPLE_WEIGHED,
            Sample(id=answer_id("w", KNOTS), day=date(2026, 3, 5), knots=900, mass_g=350.0, **of_red),
        )
    else:
        lot = lots["second" if how == "other lot" else "first"]
        deed, value = ActKind.LOT_AS_WEIGHED, replace(lot, mass_g=lot.mass_g - 150.0)
    with book.act(deed) as act:
        act.write(value)
    return act.act_id


def counted(book: Book, rug_id: str) -> tuple[float, float, dict[str, float]]:
    rug = reading.rug_book(book, rug_id)
    return (
        sum(loss.mass_g for loss in rug.spoilt),
        sum(sample.mass_g for sample in rug.samples),
        {lot.id: lot.mass_g for lot in rug.lots},
    )


@pytest.mark.parametrize(("earlier", "later"), [*itertools.permutations(ANSWERS, 2), ("lost", "lost")])
def test_of_two_answers_to_one_weighing_the_later_one_counts_and_the_diary_says_so(phones, earlier, later):
    """One phone said that 150 g were lost, the other that the lot was light: joined, 300 g were missing."""
    one, other, third = phones
    rug = plan()
    lots = [
        Lot(id=name, rug_id=rug.id, yarn_id="red", day=date(2026, 3, 1), mass_g=500.0)
        for name in ("first", "second")
    ]
    weighed = Weighing(id="w", rug_id=rug.id, yarn_id="red", day=date(2026, 3, 5), mass_g=700.0)
    enter(one, rug, *lots, weighed)
    give(one, other)
    first = answered(one, rug.id, earlier)
    enter(other, session(rug.id))  # one more act: what this phone says is the later
    answered(other, rug.id, later)
    wanted = counted(other, rug.id)
    joined, on_one = give(one, other), give(other, one)
    for book in (one, other):
        book.check()
        assert counted(book, rug.id) == wanted
    same = earlier == later
    if not same:
        (conflict,) = joined.conflicts
        assert conflict.counting.device.name == "birch"
        assert [aside.device.name for aside in conflict.set_aside] == ["ash"]
        assert [gone.by.name for gone in on_one.withdrawn] == ["birch"] * (earlier in ("lost", "knots"))
        for book in (one, other):
            assert next(entry for entry in diary.entries(book) if entry.act_id == first).undone
    # In any order, once more, and by a third phone: nothing moves any more.
    for source, target in ((one, third), (other, third), (third, one), (one, other), (other, one)):
        give(source, target)
        assert counted(target, rug.id) == wanted
    assert told(one) == told(other)
    # Nothing is erased: what was taken back can be done again, and no joining takes it back a second time.
    if not same:
        (taken_back,) = (entry for entry in diary.entries(other) if entry.undoes_id == first)
        other.undo(taken_back.act_id)
        both = counted(other, rug.id)
        assert both != wanted
        for source, target in ((other, one), (one, other)):
            give(source, target)
            assert counted(target, rug.id) == both


def test_a_second_answer_of_one_phone_and_one_that_knew_of_the_first_both_count(phones):
    one, other, _third = phones
    rug = plan()
    lot = Lot(id="first", rug_id=rug.id, yarn_id="red", day=date(2026, 3, 1), mass_g=500.0)
    weighed = Weighing(id="w", rug_id=rug.id, yarn_id="red", day=date(2026, 3, 5), mass_g=200.0)
    enter(one, rug, lot, weighed)
    give(one, other)
    answered(one, rug.id, "lost")
    give(one, other)
    answered(other, rug.id, "lot")
    assert give(other, one).conflicts == ()
    assert counted(one, rug.id) == counted(other, rug.id) == (150.0, 0, {"first": 350.0})
    # A lot that somebody corrected by hand is no answer.
    enter(other, replace(lot, mass_g=480.0))
    enter(one, replace(weighed, mass_g=190.0))
    assert give(other, one).conflicts == ()
    assert counted(one, rug.id) == (150.0, 0, {"first": 480.0})


def test_taking_a_join_back_brings_the_answer_back_that_it_set_aside(phones):
    one, other, _third = phones
    rug = plan()
    lot = Lot(id="first", rug_id=rug.id, yarn_id="red", day=date(2026, 3, 1), mass_g=500.0)
    enter(one, rug, lot, Weighing(id="w", rug_id=rug.id, yarn_id="red", day=date(2026, 3, 5), mass_g=200.0))
    give(one, other)
    answered(one, rug.id, "lost")
    before = counted(one, rug.id)
    enter(other, session(rug.id))
    answered(other, rug.id, "lot")
    joined = give(other, one)
    assert counted(one, rug.id) != before
    undo_join(one, joined.act_ids)
    assert counted(one, rug.id) == before


def test_two_phones_that_say_the_same_of_the_price_do_not_contradict_each_other(phones):
    one, other, _third = phones
    rug = plan()
    enter(one, rug)
    give(one, other)
    enter(one, Pricing(id="1" * 32, rug_id=rug.id, margin=0.2))
    enter(other, Pricing(id="2" * 32, rug_id=rug.id, margin=0.2))
    assert give(one, other).conflicts == ()
    assert give(other, one).conflicts == ()


def test_phones_that_set_the_same_setting_share_it(phones):
    one, other, _third = phones
    for book, language in ((one, "tr"), (other, "fa")):
        with book.act("language chosen") as act:
            act.set("language", language)
    joined = give(one, other)
    give(other, one)
    assert [conflict.record_id for conflict in joined.conflicts] == ["language"]
    assert reading.setting(one, "language") == reading.setting(other, "language")


def test_what_one_phone_undid_is_undone_on_the_other_and_can_be_redone_there(phones):
    one, other, _third = phones
    rug = plan()
    enter(one, rug)
    act_id = enter(one, session(rug.id, rows=4))
    undone = one.undo(act_id)
    give(one, other)
    assert reading.rug_book(other, rug.id).rows_woven == 0
    other.undo(undone.act_id)
    give(other, one)
    assert reading.rug_book(one, rug.id).rows_woven == 4


def test_going_back_to_a_copy_wins_over_what_was_joined_before(phones):
    one, other, _third = phones
    rug = plan()
    sat = session(rug.id, rows=4)
    enter(one, rug, sat)
    copy = copies.copy_now(one)
    enter(one, replace(sat, rows=40))
    give(one, other)
    restored = copies.restore(one, copy.path)
    give(one, other)
    assert reading.rug_book(other, rug.id).rows_woven == 4
    other.undo(restored.act_id)
    give(other, one)
    assert reading.rug_book(one, rug.id).rows_woven == 40
    assert told(one) == told(other)


@pytest.mark.parametrize("schema", migrations.KNOWN)
def test_the_file_of_every_older_version_is_taken(book, schema):
    joined = join(book, SCHEMAS / f"{schema}.exchange")
    assert joined.records == len(json.loads((SCHEMAS / f"{schema}.json").read_text(encoding="utf-8")))
    book.check()
    (entered,) = reading.rugs(book)
    assert reading.rug_book(book, entered.id).cartoon is not None


def test_the_file_of_a_newer_version_is_refused_with_a_sentence(book, tmp_path):
    import gzip

    header = {"file": "loomside exchange", "schema": "9999", "acts": 0, "versions": 0}
    (tmp_path / "file").write_bytes(gzip.compress((json.dumps(header) + "\n").encode()))
    with pytest.raises(BookFromNewerApp, match="newer version of the app"):
        join(book, tmp_path / "file")
    assert book.acts() == 0


def test_a_file_that_tells_a_known_act_differently_is_refused(phones, tmp_path):
    one, other, third = phones
    rug = plan()
    enter(one, rug)
    give(one, other)
    one.close()
    shutil.copy(one.path, tmp_path / "forged.loomside")
    # A forger who knows the format can make a sound file that contradicts; it must not be taken.
    from storage.convert import kind_named, seal_of_version

    with closing(sqlite3.connect(tmp_path / "forged.loomside")) as connection:
        kind = kind_named("rug_plan")
        names = ", ".join(f'"{name}"' for name in kind.columns)
        connection.execute("UPDATE rug_plan SET name = 'forged'")
        columns = connection.execute(f"SELECT {names} FROM rug_plan").fetchone()
        act = connection.execute("SELECT act_id, device_id, clock FROM act").fetchone()
        seal = seal_of_version(kind, rug.id, rug.id, act, None, 0, columns)
        connection.execute("UPDATE rug_plan SET seal = ?", (seal,))
        connection.execute("UPDATE tally SET seals = ?", (seal,))
        connection.commit()
    with Book.open(tmp_path / "forged.loomside", now=Clock()) as forged:
        forged.check()
        write_exchange(forged, tmp_path / "file")
    before = told(other)
    with pytest.raises(BookTrouble, match="contradicts"):
        join(other, tmp_path / "file")
    assert told(other) == before
    other.check()
    assert told(third)["rugs"] == []


class Phones(RuleBasedStateMachine):
    """Up to four phones that weave, correct, withdraw, undo, go back, and exchange files, old ones too."""

    folder: Path
    templates: list[Path]
    runs = itertools.count()
    files = Bundle("files")
    kept_copies = Bundle("kept_copies")

    def __init__(self) -> None:
        super().__init__()
        self.place = self.folder / f"run{next(self.runs)}"
        self.place.mkdir()
        self.books: list[Book] = []
        self.acknowledged: set[str] = set()
        self.clock = Clock()
        self.gifts = itertools.count()

    @initialize(number=st.integers(2, 4))
    def begin(self, number: int) -> None:
        for template in self.templates[:number]:
            path = self.place / template.name
            shutil.copy(template, path)
            self.books.append(Book.open(path, now=self.clock))
        rug = plan("Joined rug")
        self.rug_id = rug.id
        self.enter(0, rug, Weaver(id=new_id(), name="Invented"))
        first = self.hand_over(0)
        for book in self.books[1:]:
            join(book, first)

    def enter(self, phone: int, *values: Any) -> None:
        with self.books[phone].act("entered", self.rug_id) as act:
            for value in values:
                act.write(value)
        if act.stored:
            self.acknowledged.add(act.act_id)

    def hand_over(self, phone: int) -> Path:
        file = self.place / f"{next(self.gifts)}.file"
        write_exchange(self.books[phone], file)
        return file

    def of(self, phone: int) -> tuple[int, Book]:
        phone %= len(self.books)
        return phone, self.books[phone]

    @rule(phone=st.integers(0, 3), rows=st.integers(-5, 20), day=st.integers(0, 30))
    def weave(self, phone: int, rows: int, day: int) -> None:
        phone, _book = self.of(phone)
        self.enter(phone, session(self.rug_id, date(2026, 3, 1) + timedelta(days=day), rows=rows))

    @rule(phone=st.integers(0, 3), which=st.integers(0, 50), rows=st.integers(-5, 20))
    def correct(self, phone: int, which: int, rows: int) -> None:
        phone, book = self.of(phone)
        sessions = self.sessions(book)
        if sessions:
            self.enter(phone, replace(sessions[which % len(sessions)], rows=rows))

    @rule(phone=st.integers(0, 3), which=st.integers(0, 50))
    def withdraw(self, phone: int, which: int) -> None:
        phone, book = self.of(phone)
        sessions = self.sessions(book)
        if sessions:
            with book.act("withdrawn", self.rug_id) as act:
                act.withdraw(sessions[which % len(sessions)].id)
            self.acknowledged.add(act.act_id)

    @rule(phone=st.integers(0, 3), which=st.integers(0, 50))
    def undo(self, phone: int, which: int) -> None:
        phone, book = self.of(phone)
        entries = [one for one in diary.entries(book, limit=1000) if one.undoable]
        if entries:
            chosen = entries[which % len(entries)]
            if any(change.kind == "rug_plan" for change in chosen.changes):
                return  # the rug itself stays, so that there is something to weave
            undone = book.undo(chosen.act_id)
            if undone.act_id is not None:
                self.acknowledged.add(undone.act_id)

    @rule(phone=st.integers(0, 3), value=st.sampled_from(["tr", "fa", "ne"]))
    def choose_language(self, phone: int, value: str) -> None:
        _phone, book = self.of(phone)
        with book.act("language chosen") as act:
            act.set("language", value)
        if act.stored:
            self.acknowledged.add(act.act_id)

    @rule(phone=st.integers(0, 3), days=st.integers(-4000, 4000))
    def clock_jumps(self, phone: int, days: int) -> None:
        self.clock.time = max(
            min(self.clock.time + timedelta(days=days), Clock().time + timedelta(days=9000)),
            Clock().time - timedelta(days=9000),
        )

    @rule(target=kept_copies, phone=st.integers(0, 3))
    def copy(self, phone: int) -> tuple[int, Path]:
        phone, book = self.of(phone)
        # Kept aside, so that the ladder does not decide what can be gone back to.
        aside = self.place / f"{next(self.gifts)}.aside"
        shutil.copy(copies.copy_now(book).path, aside)
        return phone, aside

    @rule(copy=kept_copies)
    def go_back(self, copy: tuple[int, Path]) -> None:
        restored = copies.restore(self.books[copy[0]], copy[1])
        if restored.act_id is not None:
            self.acknowledged.add(restored.act_id)

    @rule(target=files, phone=st.integers(0, 3))
    def write_file(self, phone: int) -> Path:
        phone, _book = self.of(phone)
        return self.hand_over(phone)

    @rule(phone=st.integers(0, 3), file=files)
    def join_file(self, phone: int, file: Path) -> None:
        _phone, book = self.of(phone)
        join(book, file)
        before = told(book)
        assert join(book, file).nothing_new
        assert told(book) == before

    def sessions(self, book: Book) -> tuple[Session, ...]:
        return reading.rug_book(book, self.rug_id).sessions

    def teardown(self) -> None:
        try:
            if self.books:
                self.converge()
        finally:
            for book in self.books:
                book.close()
            shutil.rmtree(self.place, ignore_errors=True)

    def converge(self) -> None:
        """Everybody gives to everybody, round by round; then all must say the same."""
        for _round in range(2):
            for phone in range(len(self.books)):
                file = self.hand_over(phone)
                for other in range(len(self.books)):
                    if other != phone:
                        join(self.books[other], file)
        accounts = []
        for book in self.books:
            book.check()
            accounts.append(told(book))
        assert all(account == accounts[0] for account in accounts)
        assert {entry[0] for entry in accounts[0]["diary"]} == self.acknowledged
        forecasts = [forecast(book, self.rug_id) for book in self.books]
        assert all(one == forecasts[0] for one in forecasts)


def forecast(book: Book, rug_id: str) -> str:
    """Return the three answers as text."""
    from tracker.forecast.outlook import outlook

    return repr(outlook(reading.rug_book(book, rug_id), date(2026, 4, 1)))


def run_phones(folder: Path, examples: int, steps: int) -> None:
    folder.mkdir(exist_ok=True)
    templates = []
    for number in range(4):
        path = folder / f"phone{number}.loomside"
        if not path.exists():
            Book.open(path, f"phone {number}", Clock()).close()
        templates.append(path)
    Phones.folder = folder
    Phones.templates = templates
    run_state_machine_as_test(
        Phones,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            phases=[Phase.explicit, Phase.generate, Phase.shrink],
            database=None,
        ),
    )


def test_phones_that_exchange_files_in_any_order_end_with_the_same_book(tmp_path):
    run_phones(tmp_path / "phones", examples=3, steps=14)


@pytest.mark.slow
@pytest.mark.timeout(3000)
def test_phones_that_exchange_files_for_long_end_with_the_same_book(tmp_path, capsys):
    run_phones(tmp_path / "phones", examples=150, steps=40)
    with capsys.disabled():
        print("\njoining: 150 runs of up to four phones and 40 deeds, all converged")


def test_the_file_that_is_joined_has_a_books_own_tables(tmp_path):
    staging = working(tmp_path / "book.loomside", "joining")
    make_staging(staging)
    engine = create_engine(f"sqlite:///{tmp_path / 'plain'}")
    Base.metadata.create_all(engine)
    engine.dispose()

    def tables(path: Path) -> set[tuple[str, ...]]:
        with closing(sqlite3.connect(path)) as connection:
            rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master").fetchall()
        return {(*row[:3], "".join((row[3] or "").split())) for row in rows}

    assert tables(staging) == tables(tmp_path / "plain")
