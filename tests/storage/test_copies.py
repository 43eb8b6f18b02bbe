"""Copies: made by the app itself, checked, kept on a ladder within a limit, and gone back to by an act."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest

from storage import copies, limits, migrations, reading
from storage.book import Book
from storage.copies import ladder
from storage.schema import schema_of
from storage.trouble import BookFromNewerApp, NotABook
from tests.storage.book_samples import Clock, everything, one_of_every_kind, plan, session
from tracker.domain.errors import BookDamaged, BookTrouble
from tracker.domain.history import Copy

SCHEMAS = Path(__file__).parent / "schemas"


def a_copy(made_at: datetime, clock: int, reason: str = copies.DAILY, size: int = 1000) -> Copy:
    return Copy(Path(f"{clock}.book"), made_at, clock, reason, size)


def years_of_copies(days: int) -> list[Copy]:
    """Return one copy a day, newest first; the newest of 31 December 2026, a Thursday."""
    newest = datetime(2026, 12, 31, 20, tzinfo=UTC)
    return [a_copy(newest - timedelta(days=ago), days - ago) for ago in range(days)]


def test_a_copy_is_a_plain_sound_book(book):
    values = one_of_every_kind()
    with book.act("entered") as act:
        for value in values:
            act.write(value)
    copy = copies.copy_now(book)
    assert copies.list_copies(book.path) == (copy,)
    assert schema_of(copy.path) == migrations.NEWEST
    assert sorted(path.name for path in copy.path.parent.iterdir()) == [copy.path.name]
    with Book.open(copy.path, now=Clock()) as opened:
        assert everything(reading.rug_book(opened, values[0].id)) == everything(
            reading.rug_book(book, values[0].id)
        )


def test_a_copy_is_made_once_a_day_of_use(book, clock):
    with book.act("entered") as act:
        act.write(plan())
    assert copies.daily_copy(book, date(2026, 3, 2)) is not None
    assert copies.daily_copy(book, date(2026, 3, 2)) is None
    assert copies.daily_copy(book, date(2026, 3, 3)) is not None
    # A clock that jumped back makes one copy more rather than none for years.
    clock.time -= timedelta(days=3000)
    assert copies.daily_copy(book, date(2017, 12, 1)) is not None
    assert copies.daily_copy(book, date(2017, 12, 1)) is None


def test_a_copy_of_a_damaged_book_does_not_count(book):
    rug = plan()
    with book.act("entered") as act:
        act.write(rug)
    kept = copies.copy_now(book)
    with closing(sqlite3.connect(book.path)) as other:
        other.execute("UPDATE rug_plan SET rows = 1")
        other.commit()
    with pytest.raises(BookDamaged):
        copies.copy_now(book)
    assert copies.list_copies(book.path) == (kept,)
    assert not list(kept.path.parent.glob("*.loomside-part*"))


def test_the_ladder_keeps_days_weeks_months_and_years():
    kept = [copy.made_at.date() for copy in ladder(years_of_copies(3 * 365))]
    # By hand, from a calendar: the last 7 days; of the 5 last ISO weeks the newest day of each (31, 27, 20, 13 and
    # 6 December); the last day of each of the last 12 months; the last copy of every year.
    days = {date(2026, 12, day) for day in range(25, 32)}
    weeks = {
        date(2026, 12, 31),
        date(2026, 12, 27),
        date(2026, 12, 20),
        date(2026, 12, 13),
        date(2026, 12, 6),
    }
    months = {
        date(2026, 1, 31), date(2026, 2, 28), date(2026, 3, 31), date(2026, 4, 30), date(2026, 5, 31),
        date(2026, 6, 30), date(2026, 7, 31), date(2026, 8, 31), date(2026, 9, 30), date(2026, 10, 31),
        date(2026, 11, 30), date(2026, 12, 31),
    }  # fmt: skip
    years = {date(2026, 12, 31), date(2025, 12, 31), date(2024, 12, 31)}
    assert set(kept) == days | weeks | months | years
    assert kept == sorted(kept, reverse=True)


def test_the_ladder_gives_way_to_the_size_limit_oldest_first_but_keeps_the_newest():
    many = years_of_copies(400)
    kept = ladder(many, most_bytes=5500)
    assert kept == ladder(many)[:5]
    assert ladder(many, most_bytes=1) == (many[0],)
    assert ladder([], most_bytes=1) == ()


def test_the_ladder_keeps_the_last_copies_before_an_update_and_before_going_back():
    many = years_of_copies(60)
    many[40] = replace(many[40], reason=copies.BEFORE_MIGRATION)
    many[45] = replace(many[45], reason=copies.BEFORE_RESTORING)
    many[50] = replace(many[50], reason=copies.BEFORE_MIGRATION)
    kept = ladder(many)
    assert many[40] in kept
    assert many[45] in kept
    assert many[50] not in kept


def test_the_ladder_goes_by_the_count_when_the_clock_jumped(book, clock):
    rug = plan()
    made = []
    for number, jump in enumerate((0, 3000, -6000)):
        clock.time += timedelta(days=jump)
        with book.act("entered") as act:
            act.write(rug if number == 0 else session(rug.id, rows=number))
        made.append(copies.copy_now(book))
    assert copies.list_copies(book.path) == tuple(reversed(made))


def test_copies_on_the_disk_are_thinned(book, clock, monkeypatch):
    monkeypatch.setattr(limits, "COPIES_BYTES", 10**9)
    rug = plan()
    with book.act("entered") as act:
        act.write(rug)
    for number in range(12):
        clock.time += timedelta(minutes=1)
        with book.act("entered") as act:
            act.write(session(rug.id, rows=number))
        copies.copy_now(book)
    # Twelve of one day: the two newest stay, the day, week, month and year are the newest itself.
    assert len(copies.list_copies(book.path)) == copies.NEWEST_KEPT


def test_going_back_to_a_copy_and_undoing_it(book):
    values = one_of_every_kind()
    rug_id = values[0].id
    with book.act("entered") as act:
        for value in values:
            act.write(value)
    copy = copies.copy_now(book)
    then = everything(reading.rug_book(book, rug_id))
    sat = next(iter(reading.rug_book(book, rug_id).sessions))
    other = plan("planned later")
    with book.act("entered") as act:
        act.write(replace(sat, rows=50))
        act.write(session(rug_id, rows=3))
        act.write(other)
        act.withdraw(reading.rug_book(book, rug_id).yarns[0].id)
        act.set("language", "fa")
    later = everything(reading.rug_book(book, rug_id))
    assert later != then
    restored = copies.restore(book, copy.path)
    assert restored.records == 5
    assert everything(reading.rug_book(book, rug_id)) == then
    assert [one.id for one in reading.rugs(book)] == [rug_id]
    assert reading.setting(book, "language") == {"code": "tr", "sizes": [1, 2.5, None, True]}
    assert restored.before in copies.list_copies(book.path)
    book.undo(restored.act_id)
    assert everything(reading.rug_book(book, rug_id)) == later
    assert {one.id for one in reading.rugs(book)} == {rug_id, other.id}
    book.check()


def test_going_back_to_the_present_changes_nothing(book):
    with book.act("entered") as act:
        act.write(plan())
    copy = copies.copy_now(book)
    restored = copies.restore(book, copy.path)
    assert (restored.act_id, restored.records) == (None, 0)
    assert book.acts() == 1


def test_a_damaged_copy_is_refused_and_the_book_left(book):
    rug = plan()
    with book.act("entered") as act:
        act.write(rug)
    copy = copies.copy_now(book)
    data = bytearray(copy.path.read_bytes())
    data[len(data) // 2 :] = bytes(len(data) - len(data) // 2)
    copy.path.write_bytes(data)
    with pytest.raises(BookDamaged, match="Choose another"):
        copies.restore(book, copy.path)
    (book.path.parent / "letter").write_text("no book at all")
    with pytest.raises(NotABook):
        copies.restore(book, book.path.parent / "letter")
    with pytest.raises(BookTrouble):
        copies.restore(book, book.path.parent / "not there")
    assert [one.id for one in reading.rugs(book)] == [rug.id]


@pytest.mark.parametrize("schema", migrations.KNOWN)
def test_a_copy_of_any_older_schema_can_be_gone_back_to(book, schema, tmp_path):
    with book.act("entered") as act:
        act.write(plan())
    shutil.copy(SCHEMAS / f"{schema}.book", tmp_path / "old.book")
    before = (tmp_path / "old.book").read_bytes()
    copies.restore(book, tmp_path / "old.book")
    (rug,) = reading.rugs(book)
    assert reading.rug_book(book, rug.id).cartoon is not None
    assert (tmp_path / "old.book").read_bytes() == before
    book.check()


TOMORROW = '''
"""A step of tomorrow, for a test."""
import sqlalchemy as sa
from alembic import op

revision = "9001"
down_revision = {newest!r}
branch_labels = None
depends_on = None


def upgrade():
    op.add_column("session", sa.Column("mood", sa.String(), nullable=True))
    op.create_table("tomorrow", sa.Column("number", sa.Integer(), primary_key=True))
    {last}
'''


@pytest.fixture
def tomorrow(tmp_path, monkeypatch):
    """Makes the app that of tomorrow, whose schema has one step more."""

    def arrives(last: str = "pass") -> None:
        folder = tmp_path / "migrations"
        shutil.copytree(
            Path(migrations.__file__).parent, folder, ignore=shutil.ignore_patterns("__pycache__")
        )
        step = TOMORROW.format(newest=migrations.NEWEST, last=last)
        (folder / "versions" / "9001_tomorrow.py").write_text(step)
        newer = SimpleNamespace(
            __file__=str(folder / "__init__.py"), KNOWN=(*migrations.KNOWN, "9001"), NEWEST="9001"
        )
        for module in ("schema", "opening", "open_book"):
            monkeypatch.setattr(f"storage.{module}.migrations", newer)

    return arrives


def test_an_update_copies_the_book_first_then_migrates_and_keeps_everything(open_book, tomorrow, monkeypatch):
    book = open_book()
    values = one_of_every_kind()
    with book.act("entered") as act:
        for value in values:
            act.write(value)
    then = everything(reading.rug_book(book, values[0].id))
    device = book.device_id
    book.close()
    tomorrow()
    newer = open_book()
    assert everything(reading.rug_book(newer, values[0].id)) == then
    assert newer.device_id == device
    newer.check()
    with newer.reading() as connection:
        columns = [row[1] for row in connection.exec_driver_sql("PRAGMA table_info(session)")]
    assert "mood" in columns
    (copy,) = copies.list_copies(newer.path)
    assert copy.reason == copies.BEFORE_MIGRATION
    newer.close()
    path = newer.path
    monkeypatch.undo()
    before = path.read_bytes()
    with pytest.raises(BookFromNewerApp):
        Book.open(path)
    assert path.read_bytes() == before
    # The copy made before the update is a book of today.
    with Book.open(copy.path, now=Clock()) as old:
        assert everything(reading.rug_book(old, values[0].id)) == then


def test_an_update_that_fails_leaves_the_book_as_it_was(open_book, tomorrow, monkeypatch):
    book = open_book()
    rug = plan()
    with book.act("entered") as act:
        act.write(rug)
    book.close()
    tomorrow(last="raise ValueError('halfway')")
    with pytest.raises(BookTrouble, match="left as it was"):
        open_book()
    monkeypatch.undo()
    assert schema_of(book.path) == migrations.NEWEST
    again = open_book()
    again.check()
    assert [one.id for one in reading.rugs(again)] == [rug.id]


def test_without_a_sound_copy_nothing_is_updated(open_book, tomorrow, monkeypatch):
    book = open_book()
    rug = plan()
    with book.act("entered") as act:
        act.write(rug)
    book.close()
    tomorrow()

    def no_room(*_arguments: object) -> None:
        raise OSError(28, "injected")

    monkeypatch.setattr("storage.copies._back_up", no_room)
    # It is read as it is in memory; what would be written is refused.
    read = open_book()
    assert [one.id for one in reading.rugs(read)] == [rug.id]
    with pytest.raises(BookTrouble, match="no room left"), read.act("entered") as act:
        act.write(plan("second"))
    read.close()
    monkeypatch.undo()
    assert schema_of(book.path) == migrations.NEWEST
    open_book().check()
