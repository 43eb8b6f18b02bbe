"""What one act writes keeps its order, on every phone, whichever way and however often the books were joined."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, Phase, given, settings

from storage import copies, diary, reading
from storage.book import Book
from storage.exchange import join, write_exchange
from tests.storage.book_samples import Clock, plan, session
from tracker.domain.rug import Session, Weaver, new_id

PHONES = 3
phones = st.integers(0, PHONES - 1)
deeds = st.lists(
    st.one_of(
        st.tuples(st.just("seats"), phones, st.integers(2, 6)),
        st.tuples(st.just("sessions"), phones, st.integers(2, 5)),
        st.tuples(st.just("rename"), phones, st.integers(0, 20)),
        st.tuples(st.just("undo and redo"), phones, st.integers(0, 20)),
        st.tuples(st.just("go back"), phones, st.just(0)),
        st.tuples(st.just("give"), phones, phones),
    ),
    min_size=3,
    max_size=9,
)


class Looms:
    """Phones that hold one rug, and what each act wrote, in its order."""

    def __init__(self, place: Path) -> None:
        self.clock = Clock()
        self.books = [
            Book.open(place / f"{number}.loomside", device_name=f"phone {number}", now=self.clock)
            for number in range(PHONES)
        ]
        self.gifts = itertools.count()
        self.place = place
        self.rug = plan()
        self.written: list[tuple[str, list[str]]] = []
        with self.books[0].act("rug planned") as act:
            act.write(self.rug)
        for number in range(1, PHONES):
            self.give(0, number)

    def enter(self, phone: int, values: list[Weaver] | list[Session]) -> None:
        """Write values by one act and note their order."""
        with self.books[phone].act("entered") as act:
            for value in values:
                act.write(value)
        self.written.append((act.act_id, [value.id for value in values]))

    def give(self, source: int, target: int) -> None:
        """Join one phone's book into another's."""
        if source != target:
            file = self.place / f"{next(self.gifts)}.loomside-exchange"
            write_exchange(self.books[source], file)
            join(self.books[target], file)

    def do(self, deed: str, phone: int, which: int) -> None:
        """Do one deed."""
        book = self.books[phone]
        if deed == "seats":
            self.enter(phone, [Weaver(id=new_id(), name=f"Seat {seat}") for seat in range(which)])
        elif deed == "sessions":
            self.enter(phone, [session(self.rug.id) for _evening in range(which)])
        elif deed == "give":
            self.give(phone, which)
        elif deed == "go back":
            copies.restore(book, copies.copy_now(book).path)
        elif deed == "rename":
            seats = reading.weavers(book)
            if seats:
                with book.act("corrected") as act:
                    act.write(replace(seats[which % len(seats)], name=f"Renamed {next(self.gifts)}"))
        else:
            acts = [entry for entry in diary.entries(book) if entry.undoable and entry.kind == "entered"]
            if acts:
                undone = book.undo(acts[which % len(acts)].act_id)
                if undone.act_id is not None:
                    book.undo(undone.act_id)

    def shown(self, phone: int) -> list[list[str]]:
        """What a phone shows in order: seats, seats of the rug, sessions of one day, and each act in the diary."""
        book = self.books[phone]
        rug = reading.rug_book(book, self.rug.id)
        acts = [[change.record_id for change in entry.changes] for entry in diary.entries(book, limit=1000)]
        return [
            [one.id for one in reading.weavers(book)],
            [one.id for one in rug.weavers],
            [one.id for one in rug.sessions],
            *acts,
        ]

    def check(self, phone: int) -> None:
        """See that wherever an act's records stand together, they stand as written."""
        for shown in self.shown(phone):
            for _act, ids in self.written:
                present = [record_id for record_id in shown if record_id in ids]
                if set(present) == set(ids):
                    assert present == ids


@settings(
    max_examples=3,
    deadline=None,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=list(HealthCheck),
)
@given(deeds)
def test_the_seats_and_sessions_of_one_act_stand_as_they_were_written(
    tmp_path_factory: pytest.TempPathFactory, done: list[tuple[str, int, int]]
) -> None:
    looms = Looms(tmp_path_factory.mktemp("looms"))
    try:
        for deed in done:
            looms.do(*deed)
            looms.check(deed[1])
        for _round, source, target in itertools.product(range(2), range(PHONES), range(PHONES)):
            looms.give(source, target)
        for phone in range(PHONES):
            looms.check(phone)
            assert looms.shown(phone) == looms.shown(0)
    finally:
        for book in looms.books:
            book.close()
