"""Taking a rug's record along by touch: files under free names, trouble as a sentence, the next tap tries again."""

from __future__ import annotations

import errno
import io
import os
from pathlib import Path

import pytest
from pypdf import PdfReader

from tracker.device import documents as device_documents
from tracker.previews.draw import settle


@pytest.fixture
def documents(tmp_path: Path, monkeypatch) -> Path:
    """The weaver's own documents folder."""
    folder = tmp_path / "home" / "Documents"
    folder.mkdir(parents=True)
    monkeypatch.setattr(device_documents, "documents_folder", lambda: folder)
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "home")
    return folder


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "Loomside").iterdir())


def open_record(hand, **what) -> None:
    hand.shell.go("export", **what)
    settle()


def test_the_record_is_written_where_the_page_says_and_never_over_another(open_app, demo, documents) -> None:
    hand = open_app(demo)
    open_record(hand)
    assert hand.sees("Documents › Loomside")
    hand.tap("A record so far")
    assert hand.sees("Written: Walled garden record.pdf")
    first = (documents / "Loomside" / "Walled garden record.pdf").read_bytes()
    assert "82,181" in PdfReader(io.BytesIO(first)).pages[0].extract_text()
    hand.tap("A record so far")
    assert hand.sees("Written: Walled garden record 2.pdf")
    assert names(documents) == ["Walled garden record 2.pdf", "Walled garden record.pdf"]
    assert (documents / "Loomside" / "Walled garden record.pdf").read_bytes() == first


def test_tables_and_calendar_are_written(open_app, demo, documents) -> None:
    hand = open_app(demo)
    open_record(hand)
    hand.tap("The days to come")
    hand.tap("Tables")
    assert hand.sees("Written: Walled garden.ics")
    assert hand.sees("Written: Walled garden tables")
    assert names(documents) == ["Walled garden tables", "Walled garden.ics"]
    tables = documents / "Loomside" / "Walled garden tables"
    assert len((tables / "rows.csv").read_bytes().splitlines()) == 342
    assert (documents / "Loomside" / "Walled garden.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


def test_a_full_disk_is_a_sentence_and_the_next_tap_tries_again(
    open_app, demo, documents, monkeypatch
) -> None:
    hand = open_app(demo)
    open_record(hand)

    def full(*_args) -> None:
        raise OSError(errno.ENOSPC, "full")

    with monkeypatch.context() as broken:
        broken.setattr(os, "replace", full)
        hand.tap("A record so far")
    assert hand.sees("There is no room left")
    assert not (documents / "Loomside").exists(), "no folder is left that was made for it"
    hand.tap("A record so far")
    assert hand.sees("Written: Walled garden record.pdf")
    assert not hand.sees("no room left")


def test_the_rows_begin_where_the_weaver_chooses(open_app, demo, documents) -> None:
    hand = open_app(demo)
    open_record(hand)
    hand.tap("Begin with another row than 198")
    for key in "330":
        hand.tap(key)
    hand.tap("Done")
    assert hand.sees("from row 330 on")
    hand.tap("The rows of the cartoon")
    assert names(documents) == ["Walled garden rows 330 to 341.pdf"]
    hand.tap("Begin with another row than 330")
    for key in "999":
        hand.tap(key)
    hand.tap("Done")
    assert hand.shell.sheet is not None


def test_a_rug_on_the_shelf_gives_its_own_record(open_app, demo, documents) -> None:
    hand = open_app(demo, size=(412, 892))
    hand.shell.go("shelf")
    settle()
    hand.tap("Doorstep")
    hand.tap("Share and print")
    assert hand.sees("This rug is finished")
    hand.tap("The rows of the cartoon")
    assert hand.sees("has no cartoon")
    assert not (documents / "Loomside").exists()
    hand.tap("The record")
    assert names(documents) == ["Doorstep record.pdf"]
    assert "31,104" in PdfReader(documents / "Loomside" / "Doorstep record.pdf").pages[0].extract_text()
    # The rug in hand is still the one on the loom.
    assert hand.app.desk.rug.plan.name == "Walled garden"


def test_an_empty_book_says_what_to_do_first(open_app, documents) -> None:
    hand = open_app()
    open_record(hand)
    assert hand.sees("No rug yet.")
    hand.tap("Plan a rug")
    assert hand.shell.page_name == "plan"


def test_what_is_written_off_the_touch_thread_is_told_when_it_is_done(open_app, demo, documents) -> None:
    hand = open_app(demo)
    open_record(hand)
    waiting: list = []
    hand.app.desk.aside = lambda work, done, failed=None: waiting.append((work, done))
    hand.tap("A record so far")
    assert hand.sees("Writing…")
    hand.tap("Tables")
    assert len(waiting) == 1, "one thing at a time"
    work, done = waiting.pop()
    done(work())
    settle()
    assert hand.sees("Written: Walled garden record.pdf")
