"""The diary is searched by what things are called, counted, and told with names of every rug."""

from __future__ import annotations

from datetime import date

from storage import diary, reading
from storage.book import Book
from tests.presenters.rugs import plan, session, yarns
from tracker.domain.rug import Lot, Role, Weaver, Yarn

DAY = date(2026, 11, 1)


def filled(path) -> Book:
    book = Book.open(path)
    with book.act("rug planned", rug_id="rug") as act:
        act.write(plan())
        for yarn in yarns():
            act.write(yarn)
    with book.act("weavers entered") as act:
        act.write(Weaver(id="ann", name="Ann"))
        act.write(Weaver(id="bo", name="Bo"))
    with book.act("yarn bought") as act:
        act.write(Lot(id="l1", rug_id="rug", yarn_id="red", day=DAY, mass_g=500.0, dye_lot="Q-7"))
    with book.act("session logged") as act:
        act.write(session(1, 5, used=(("blue", 1.0),)))
    with book.act("session logged") as act:
        act.write(session(2, 6, weavers=("bo",)))
    return book


def kinds(entries) -> list[str]:
    return [entry.kind for entry in entries]


def test_a_yarns_name_finds_what_was_bought_and_used_of_it(tmp_path):
    with filled(tmp_path / "b") as book:
        assert kinds(diary.entries(book, text="madder")) == ["yarn bought", "rug planned"]
        assert kinds(diary.entries(book, text="INDIGO")) == ["session logged", "rug planned"]
        assert kinds(diary.entries(book, text="q-7")) == ["yarn bought"]


def test_a_weavers_name_finds_her_sessions(tmp_path):
    with filled(tmp_path / "b") as book:
        found = diary.entries(book, text="Bo", kinds=("session logged",))
        assert [entry.changes[0].after.rows for entry in found] == [6]


def test_the_count_agrees_with_what_is_told(tmp_path):
    with filled(tmp_path / "b") as book:
        assert diary.count(book) == 5
        assert diary.count(book, kinds=("session logged",)) == 2
        assert diary.count(book, text="madder") == 2
        assert diary.count(book, text="madder", kinds=("yarn bought",)) == 1
        assert diary.count(book, rug_id="rug") == 4
        assert diary.count(book, rug_id="other") == 0


def test_the_yarns_of_all_rugs_are_told_together(tmp_path):
    with filled(tmp_path / "b") as book:
        with book.act("rug planned", rug_id="other") as act:
            act.write(plan(id="other", name="Other"))
            act.write(Yarn(id="grey", rug_id="other", role=Role.PILE, number=1, name="Grey"))
        assert {yarn.name for yarn in reading.yarns(book)} == {"Madder", "Indigo", "Ground weft", "Grey"}
        with book.act("yarn left out") as act:
            act.withdraw("grey")
        assert "Grey" not in {yarn.name for yarn in reading.yarns(book)}
