"""Two phones by touch: a file written, taken in on the other phone, a conflict shown, nothing doubled."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from storage import reading
from storage.book import Book
from storage.exchange import write_exchange
from tests.today import TODAY
from tracker.device import files
from tracker.domain.act import ActKind
from tracker.domain.loom import Loom
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import Lot, Preparation, PreparationKind, Spoilt, UnpickedYarn, new_id
from tracker.presenters.diary import entry_detail
from tracker.presenters.entry_text import names_of
from tracker.previews.draw import settle


@pytest.fixture
def folder(tmp_path: Path, monkeypatch) -> Path:
    """The folder in which both phones' files lie."""
    found = tmp_path / "card"
    found.mkdir()
    monkeypatch.setattr(files, "shared_folder", lambda: found)
    return found


def open_phones(hand) -> None:
    hand.shell.go("sync")
    settle()


def other_phone(demo: Path, tmp_path: Path, folder: Path, rows: int, extra: bool = True) -> str:
    """Let a second phone correct the last session to so many rows and log one more; return the session's id."""
    from storage.exchange import join

    first = folder / "first.loomside-exchange"
    with Book.open(demo) as book:
        write_exchange(book, first)
    with Book.open(tmp_path / "other.loomside", device_name="Perrin's phone") as book:
        join(book, first)
        plan = next(plan for plan in reading.rugs(book) if plan.name == "Walled garden")
        rug = reading.rug_book(book, plan.id, with_cartoon=False)
        last = rug.sessions[-1]
        with book.act("session corrected") as act:
            act.write(replace(last, rows=rows))
        if extra:
            with book.act("session logged") as act:
                act.write(replace(last, id="0" * 32, rows=3, note="from the other phone"))
        write_exchange(book, folder / "perrin.loomside-exchange")
    first.unlink()
    return last.id


def test_the_file_for_the_other_phone_lies_where_the_page_says(open_app, demo, folder: Path) -> None:
    hand = open_app(demo)
    open_phones(hand)
    hand.tap("Write a file")
    (written,) = folder.iterdir()
    assert written.name == "demo-2026-11-25.loomside-exchange"
    assert hand.sees(written.name)
    assert hand.sees(str(folder))
    assert written.stat().st_size > 1000


def test_the_other_phones_evening_comes_in_once_however_often_it_is_taken(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    other_phone(demo, tmp_path, folder, rows=5)
    hand = open_app(demo)
    desk = hand.app.desk
    before = len(desk.rug.sessions)
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("perrin.loomside-exchange")
    hand.wait(lambda: hand.sees("2 new entries."))
    assert hand.sees("From Perrin's phone")
    assert len(desk.rug.sessions) == before + 1
    hand.tap("Choose a file")
    hand.tap("perrin.loomside-exchange")
    hand.wait(lambda: hand.sees("Nothing new: all of it was here already."))
    assert len(desk.rug.sessions) == before + 1


def test_a_phone_that_was_never_named_is_not_taken_for_this_one(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    """Each is called "this phone" until somebody gives it a name."""
    from storage.exchange import join

    first = folder / "first.loomside-exchange"
    with Book.open(demo) as book:
        write_exchange(book, first)
    with Book.open(tmp_path / "other.loomside") as book:
        join(book, first)
        plan = next(plan for plan in reading.rugs(book) if plan.name == "Walled garden")
        last = reading.rug_book(book, plan.id, with_cartoon=False).sessions[-1]
        with book.act("session logged") as act:
            act.write(replace(last, id="0" * 32, rows=3))
        write_exchange(book, folder / "other.loomside-exchange")
    first.unlink()
    hand = open_app(demo)
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("other.loomside-exchange")
    hand.wait(lambda: hand.sees("From "))
    assert hand.sees("From another phone")
    assert not hand.sees("From this phone")
    hand.shell.open_tab("diary")
    settle()
    assert hand.sees("another phone")


def test_a_session_corrected_on_both_phones_shows_what_counts_and_what_was_set_aside(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    session_id = other_phone(demo, tmp_path, folder, rows=5, extra=False)
    hand = open_app(demo)
    desk = hand.app.desk
    mine = next(s for s in desk.rug.sessions if s.id == session_id)
    desk.act("session corrected", replace(mine, rows=8))
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("perrin.loomside-exchange")
    hand.wait(lambda: hand.sees("1 entry was changed on both phones."))
    kept = next(s for s in desk.rug.sessions if s.id == session_id).rows
    assert kept in (5, 8)
    lost = 13 - kept
    row = hand.shell.page.ids.conflicts.children[0]
    assert f"Rows: +{lost} → +{kept}" in row.line.lines
    hand.tap(row)
    assert hand.sees("Set aside: another phone's later entry won.")


def test_a_file_that_is_none_of_ours_changes_nothing(open_app, demo, folder: Path) -> None:
    (folder / "letter.loomside-exchange").write_text("Dear Perrin")
    hand = open_app(demo)
    acts = hand.app.desk.book.acts()
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("letter.loomside-exchange")
    hand.wait(lambda: hand.shell._toast is not None)
    assert hand.shell._toast.warn
    assert hand.app.desk.book.acts() == acts


def test_a_phone_is_given_a_name_that_the_diary_then_tells(open_app, demo, folder: Path) -> None:
    hand = open_app(demo)
    open_phones(hand)
    hand.tap("This phone is called")
    hand.shell.sheet.content.ids.entry.text = "Window loom"
    hand.tap("Done")
    assert hand.sees("This phone is now called Window loom.")
    assert hand.shell.page.device_name == "Window loom"
    hand.tap("Write a file")
    assert (folder / "Window-loom-2026-11-25.loomside-exchange").is_file()
    hand.shell.open_tab("diary")
    settle()
    hand.tap(max(hand.shell.page.ids.rows.children[0].children, key=lambda row: row.y))
    assert hand.sees("on Window loom")


def test_a_copy_of_the_book_is_no_exchange_file(open_app, demo, folder: Path) -> None:
    shutil.copy(demo, folder / "book.loomside")
    hand = open_app(demo)
    open_phones(hand)
    hand.tap("Choose a file")
    assert hand.sees("No file of another phone here.")


def test_what_the_other_phones_file_brought_is_taken_back_by_one_touch_and_comes_again(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    session_id = other_phone(demo, tmp_path, folder, rows=5)
    hand = open_app(demo)
    desk = hand.app.desk

    def rows() -> dict[str, int]:
        return {one.id: one.rows for one in desk.rug.sessions}

    before = rows()
    open_phones(hand)
    assert not hand.sees("Undo what the last file brought")
    hand.tap("Choose a file")
    hand.tap("perrin.loomside-exchange")
    hand.wait(lambda: hand.sees("2 new entries."))
    after = rows()
    assert after[session_id] == 5
    assert len(after) == len(before) + 1
    hand.tap("Undo what the last file brought")
    hand.wait(lambda: hand.sees("2 entries are as before the file came."))
    assert rows() == before
    assert not hand.sees("Undo what the last file brought")
    hand.tap("Undo")
    hand.wait(lambda: hand.sees("It is in the book again."))
    assert rows() == after


def test_what_the_other_phone_withdrew_is_told_and_brought_back_by_a_tap(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    from storage.exchange import join

    with Book.open(demo) as book:
        write_exchange(book, folder / "first.loomside-exchange")
    with Book.open(tmp_path / "other.loomside", device_name="Perrin's phone") as book:
        join(book, folder / "first.loomside-exchange")
        plan = next(plan for plan in reading.rugs(book) if plan.name == "Walled garden")
        last = reading.rug_book(book, plan.id, with_cartoon=False).sessions[-1]
        with book.act("session withdrawn") as act:
            act.withdraw(last.id)
        write_exchange(book, folder / "perrin.loomside-exchange")
    (folder / "first.loomside-exchange").unlink()
    hand = open_app(demo)
    desk = hand.app.desk
    count = len(desk.rug.sessions)
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("perrin.loomside-exchange")
    hand.wait(lambda: hand.sees("1 entry of this book was deleted by it."))
    assert len(desk.rug.sessions) == count - 1
    hand.tap(hand.shell.page.ids.withdrawn.children[0])
    hand.tap("Restore")
    hand.wait(lambda: len(desk.rug.sessions) == count)


def unpicked(rug, session_id: str, rows: int, grams: float):
    """A session that unpicked rows, with what was lost of the first yarn."""
    last = rug.sessions[-1]
    session = replace(
        last, id=session_id, rows=-rows, hours=None, used=(), unpicked_yarn=UnpickedYarn.SAID, day=last.day
    )
    loss = Spoilt(
        id=new_id(),
        rug_id=rug.plan.id,
        yarn_id=rug.yarns[0].id,
        day=last.day,
        mass_g=grams,
        session_id=session_id,
    )
    return session, loss


def test_rows_that_both_phones_say_were_unpicked_are_asked_about_and_count_once(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    from storage.exchange import join

    with Book.open(demo) as book:
        write_exchange(book, folder / "first.loomside-exchange")
    with Book.open(tmp_path / "other.loomside", device_name="Right seat's phone") as book:
        join(book, folder / "first.loomside-exchange")
        plan = next(plan for plan in reading.rugs(book) if plan.name == "Walled garden")
        rug = reading.rug_book(book, plan.id, with_cartoon=False)
        with book.act("rows unpicked", rug_id=plan.id) as act:
            for value in unpicked(rug, "f" * 32, 8, 20.0):
                act.write(value)
        write_exchange(book, folder / "right-seat.loomside-exchange")
    (folder / "first.loomside-exchange").unlink()
    hand = open_app(demo)
    desk = hand.app.desk
    rows = desk.rug.rows_woven
    desk.act(ActKind.ROWS_UNPICKED, *unpicked(desk.rug, "1" * 32, 8, 21.0))
    settle()
    lost = {loss.mass_g for loss in desk.rug.spoilt if loss.session_id}
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("right-seat.loomside-exchange")
    hand.wait(lambda: hand.sees("Perhaps entered on both phones."))
    assert desk.rug.rows_woven == rows - 16
    hand.tap(hand.shell.page.ids.twice.children[0])
    hand.tap("Both are right")
    assert not hand.sees("Perhaps entered on both phones.")
    desk.drafts.put("both sessions right", None)
    hand.key_back()
    open_phones(hand)
    hand.tap(hand.shell.page.ids.twice.children[0])
    hand.tap("It was one: count it once")
    # On both phones the same one stays, so that two answers do not take both out.
    assert [session.id for session in desk.rug.sessions if session.rows == -8] == ["1" * 32]
    assert desk.rug.rows_woven == rows - 8
    assert {loss.mass_g for loss in desk.rug.spoilt if loss.session_id} == lost
    assert not hand.sees("Perhaps entered on both phones.")
    hand.tap("Undo")
    assert desk.rug.rows_woven == rows - 16
    assert hand.sees("Perhaps entered on both phones.")


def test_a_purchase_that_both_phones_entered_is_asked_about_and_counts_once(
    open_app, demo, tmp_path: Path, folder: Path
) -> None:
    """Both weavers noted the kilogram that one of them had bought: the joined book had two, and called the yarn enough."""
    from storage.exchange import join

    with Book.open(demo) as book:
        plan = next(plan for plan in reading.rugs(book) if plan.name == "Walled garden")
        red = next(yarn for yarn in reading.rug_book(book, plan.id).yarns if yarn.name == "Madder red")
        write_exchange(book, folder / "first.loomside-exchange")
    bought = Lot(id="1" * 32, rug_id=plan.id, yarn_id=red.id, day=TODAY, mass_g=1000.0, dye_lot="M-99")

    def wound(name: str, count: int) -> Preparation:
        return Preparation(
            id=name, rug_id=plan.id, day=TODAY, kind=PreparationKind.BALLS, yarn_id=red.id, count=count
        )

    with Book.open(tmp_path / "other.loomside", device_name="Right seat's phone") as book:
        join(book, folder / "first.loomside-exchange")
        hers = replace(bought, id="f" * 32, price=30.0)
        to_shelf = LotMove(
            id="d" * 32, lot_id=hers.id, day=TODAY, mass_g=250.0, from_rug_id=plan.id, from_yarn_id=red.id
        )
        with book.act("yarn bought", rug_id=plan.id) as act:
            act.write(hers)
            act.write(to_shelf)
        # Besides, she wound the same two balls, entered the same loom, and thinks otherwise of one evening.
        with book.act("balls wound", rug_id=plan.id) as act:
            act.write(wound("e" * 32, 2))
        with book.act("loom entered") as act:
            act.write(Loom(id="c" * 32, name="Porch loom", width_cm=120.0))
        evening = reading.rug_book(book, plan.id).sessions[-1]
        with book.act("session corrected", rug_id=plan.id) as act:
            act.write(replace(evening, note="hers"))
        write_exchange(book, folder / "right-seat.loomside-exchange")
    (folder / "first.loomside-exchange").unlink()
    hand = open_app(demo)
    desk = hand.app.desk

    def on_hand_g() -> float:
        return next(answer.on_hand_g for answer in desk.answers.yarns if answer.yarn_id == red.id)

    before = on_hand_g()
    desk.act(ActKind.YARN_BOUGHT, bought)
    mine = replace(evening, note="mine")
    desk.act(ActKind.SESSION_CORRECTED, mine)
    open_phones(hand)
    hand.tap("Choose a file")
    hand.tap("right-seat.loomside-exchange")
    hand.wait(lambda: hand.sees("entered once, or twice?"))
    assert on_hand_g() == pytest.approx(before + 1750.0, abs=1.0)
    hand.tap(hand.shell.page.ids.twice.children[0])
    hand.tap("It was one: count it once")
    assert on_hand_g() == pytest.approx(before + 750.0, abs=1.0)
    assert [lot.price for lot in desk.book.lots() if lot.dye_lot == "M-99"] == [30.0]
    assert [move.lot_id for move in desk.book.lot_moves() if move.id == to_shelf.id] == [bought.id]
    assert not hand.sees("Perhaps entered on both phones.")
    hand.tap("Undo")
    assert on_hand_g() == pytest.approx(before + 1750.0, abs=1.0)
    # So are the balls that both ticked off, and the loom that both entered: its rugs lie on the one that stays.
    desk.act("balls wound", wound("1" * 31 + "2", 1), wound("1" * 31 + "3", 1))
    porch = Loom(id="1" * 31 + "4", name="Porch loom")
    winter = next(plan for plan in desk.plans if plan.name == "Long winter")
    desk.act("loom entered", porch)
    desk.act("plan changed", replace(winter, loom_id="c" * 32), rug_id=winter.id)
    hand.key_back()
    open_phones(hand)
    hand.wait(lambda: hand.sees("Porch loom: one loom, or two?"))
    assert hand.sees("2 balls of Madder red wound (this phone)")
    for row in hand.shell.page.ids.twice.children:
        if "Porch loom" in row.line.counting:
            hand.tap(row)
            break
    hand.tap("It was one: count it once")
    (one,) = (loom for loom in desk.looms() if loom.name == "Porch loom")
    assert (one.id, one.width_cm) == (porch.id, 120.0)
    assert next(plan.loom_id for plan in desk.plans if plan.id == winter.id) == porch.id

    # Of an entry that both changed the other answer comes back as the page says: the last change undone in the diary.
    def note() -> str:
        return next(one.note for one in reading.rug_book(desk.book, plan.id).sessions if one.id == evening.id)

    said = [desk.history(evening.id)[at].value.note for at in (0, 1)]
    assert sorted(said) == ["hers", "mine"]
    assert note() == said[0]
    detail = entry_detail(desk.entry_of(desk.history(evening.id)[0].act_id), names_of((desk.rug,)), TODAY)
    assert detail.undo_now == "Undo this correction"
    desk.undo(detail.act_id)
    assert note() == said[1]
