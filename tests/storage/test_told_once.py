"""Read down the diary, every entry that adds up counts once, as it stands: whatever was put right, deleted, undone, joined."""

from __future__ import annotations

import itertools
import re
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
from hypothesis import example, given

from storage import diary, exchange, reading
from storage.book import Book
from tests.presenters import rugs
from tests.properties import examples
from tests.today import TODAY
from tracker.domain.act import ActKind
from tracker.domain.rug import Spoilt, new_id
from tracker.presenters.acts import filter_of
from tracker.presenters.diary import diary_lines
from tracker.presenters.entry_text import names_of

NAMES = names_of((rugs.book(),))
DEEDS = (
    "log", "log with a loss", "correct", "correct and add a loss", "correct with a loss", "correct a loss", "delete", "delete a loss",
    "restore", "undo", "undo", "undo the newest", "undo the newest", "join",
)  # fmt: skip
deeds = st.tuples(st.sampled_from(DEEDS), st.sampled_from((0, 1)), st.integers(0, 5))
LOG, FIX, UNDO, JOIN = ("log", 0, 0), ("correct", 1, 0), ("undo the newest", 0, 0), ("join", 0, 0)


class Phones:
    """Two phones at one rug. No two values that anybody enters are alike, so that a line tells which one it means."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.books = [Book.open(folder / name, name) for name in ("ash", "birch")]
        self.figures = itertools.count(1)
        self.records: dict[int, str] = {}
        """Whose each figure is."""
        with self.books[0].act(ActKind.RUG_PLANNED, "rug") as act:
            for value in (rugs.plan(rows=9999), *rugs.yarns()):
                act.write(value)
        self.join(0)

    def figure(self, record_id: str) -> int:
        figure = next(self.figures)
        self.records[figure] = record_id
        return figure

    def join(self, source: int) -> None:
        file = self.folder / new_id()
        exchange.write_exchange(self.books[source], file)
        exchange.join(self.books[1 - source], file)

    def loss(self, record_id: str, session_id: str) -> Spoilt:
        mass_g = float(self.figure(record_id))
        return Spoilt(
            id=record_id, rug_id="rug", yarn_id="red", day=TODAY, mass_g=mass_g, session_id=session_id
        )

    def do(self, deed: str, phone: int, pick: int) -> None:
        """Do something on a phone, to the entry or act picked; nothing where there is none."""
        book = self.books[phone]
        rug = reading.rug_book(book, "rug")
        session = rug.sessions[pick % len(rug.sessions)] if rug.sessions else None
        loss = rug.spoilt[pick % len(rug.spoilt)] if rug.spoilt else None
        kind, writes, withdraws = "", [], ""
        if deed == "join":
            self.join(phone)
        elif deed.startswith("undo"):
            acts = [act for act in diary.entries(book, limit=8) if act.undoable and act.kind != "rug planned"]
            if acts:
                book.undo(acts[0 if deed == "undo the newest" else pick % len(acts)].act_id)
        elif deed.startswith("log"):
            record_id = new_id()
            kind, writes = ActKind.SESSION_LOGGED, [rugs.session(1, self.figure(record_id), id=record_id)]
            if deed == "log with a loss":
                writes.append(self.loss(new_id(), record_id))
        elif deed == "restore":
            gone = [
                change.before
                for act in diary.entries(book, limit=12)
                for change in act.changes
                if change.after is None and change.before is not None and change.current
            ]
            if gone:
                kind, writes = ActKind.ENTRY_RESTORED, [gone[pick % len(gone)]]
        elif deed == "correct a loss" and loss:
            kind, writes = ActKind.ENTRY_CORRECTED, [replace(loss, mass_g=float(self.figure(loss.id)))]
        elif deed == "delete a loss" and loss:
            kind, withdraws = ActKind.ENTRY_WITHDRAWN, loss.id
        elif deed == "delete" and session:
            kind, withdraws = ActKind.SESSION_WITHDRAWN, session.id
        elif deed.startswith("correct") and session:
            kind, writes = ActKind.SESSION_CORRECTED, [replace(session, rows=self.figure(session.id))]
            if deed == "correct and add a loss":
                writes.append(self.loss(new_id(), session.id))
            elif deed == "correct with a loss" and loss:
                writes.append(replace(loss, mass_g=float(self.figure(loss.id))))
        if kind:
            with book.act(kind, "rug") as act:
                for value in writes:
                    act.write(value)
                if withdraws:
                    act.withdraw(withdraws)


def told_by(book: Book, key: str) -> list[Any]:
    """Return the lines of the diary as its page reads them, page by page."""
    query = {"kinds": filter_of(key).kinds, "folded": key == "all", "mended_in_place": True}
    acts = diary.entries(book, limit=1000, **query)
    assert diary.count(book, **query) == len(acts)
    pages = [diary.entries(book, limit=4, offset=offset, **query) for offset in range(0, len(acts), 4)]
    assert tuple(itertools.chain(*pages)) == acts
    return list(diary_lines(acts, NAMES, TODAY))


def check(phones: Phones) -> None:
    for book in phones.books:
        rug = reading.rug_book(book, "rug")
        stand = {one.id for one in (*rug.sessions, *rug.spoilt)}
        for key in ("all", "sessions"):
            lines = [line for line in told_by(book, key) if not line.struck]
            heads = [line.head for line in lines]
            rows = Counter(int(found[1]) for head in heads if (found := re.match(r"\+(\d+) rows?,", head)))
            assert rows == Counter(one.rows for one in rug.sessions), (key, heads)
            alone = [int(found[1]) for head in heads if (found := re.match(r"(\d+) g of .* lost", head))]
            assert set(alone) <= {int(one.mass_g) for one in rug.spoilt}, (key, heads)
            beside = sum("what was lost of 1 yarn" in head for head in heads)
            assert len(alone) + beside == len(rug.spoilt), (key, heads)
            for line in lines:
                # A deed that stands says of nothing what is not so any more.
                figures = [int(one) for one in re.findall(r"(?:\+|\b)(\d+) (?:rows?|g)\b", line.more)]
                there = {phones.records[figure] in stand for figure in figures}
                if line.head in ("Session deleted", "Entry deleted"):
                    assert there <= {False}, line
                elif line.head in ("Restored", "Entry restored"):
                    assert there <= {True}, line


@examples(8)
@given(deeds=st.lists(deeds, min_size=3, max_size=12))
@example(deeds=[LOG, JOIN, UNDO, FIX, FIX])
@example(deeds=[LOG, ("correct", 0, 0), UNDO, UNDO])
@example(deeds=[LOG, ("correct and add a loss", 0, 0), ("correct a loss", 0, 0)])
@example(deeds=[LOG, UNDO, UNDO])
@example(deeds=[("log with a loss", 0, 0), ("correct with a loss", 0, 0)])
@example(deeds=[LOG, JOIN, ("delete", 0, 0), FIX, FIX])
@example(
    deeds=[("log with a loss", 0, 0), ("delete", 0, 0), UNDO, ("delete a loss", 0, 0), ("restore", 0, 0)]
)
def test_each_entry_that_stands_is_told_once_unstruck_and_nothing_else_is(
    deeds: list, quick_root: Path
) -> None:
    with tempfile.TemporaryDirectory(dir=quick_root) as folder:
        phones = Phones(Path(folder))
        try:
            for deed in deeds:
                phones.do(*deed)
            check(phones)
            phones.join(0)
            phones.join(1)
            check(phones)
        finally:
            for book in phones.books:
                book.close()
