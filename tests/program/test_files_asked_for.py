"""The record, rows, tables and calendar from the command line."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from tests.today import TODAY
from tests.unit import books
from tracker.command_line.main import main
from tracker.command_line.options import parser

DAY = TODAY.isoformat()


@pytest.fixture(scope="module")
def demo(tmp_path_factory, demo_book) -> str:
    return str(shutil.copy(demo_book, tmp_path_factory.mktemp("demo") / "demo.loomside"))


def test_everything_asked_for_is_written_and_named(demo: str, tmp_path: Path, capsys) -> None:
    asked = [
        "--record", f"{tmp_path / 'r.pdf'}", "--csv", f"{tmp_path / 't'}", "--calendar", f"{tmp_path / 'c.ics'}",
        "--rows", f"{tmp_path / 'rows.pdf'}",
    ]  # fmt: skip
    assert main(["--book", demo, "--day", DAY, *asked]) == 0
    printed = [Path(line) for line in capsys.readouterr().out.splitlines()]
    assert all(path.is_file() for path in printed)
    assert {path.relative_to(tmp_path).as_posix() for path in printed} == {
        "r.pdf", "rows.pdf", "c.ics", "t/sessions.csv", "t/yarn.csv", "t/yarn events.csv", "t/rows.csv", "t/cloth.csv", "t/trimming.csv", "t/mistakes.csv", "t/balls.csv", "t/costs.csv", "t/wages.csv",
    }  # fmt: skip
    assert "82,181" in PdfReader(tmp_path / "r.pdf").pages[0].extract_text()
    # The demo is off for a wedding from the 12th to the 15th day from now.
    off = [
        e
        for e in Calendar.from_ical((tmp_path / "c.ics").read_bytes()).walk("VEVENT")
        if "Wedding" in e["SUMMARY"]
    ]
    assert [((e["DTSTART"].dt - TODAY).days, (e["DTEND"].dt - TODAY).days) for e in off] == [(12, 16)]


def test_a_file_that_is_there_stays_and_the_new_one_gets_a_number(demo: str, tmp_path: Path, capsys) -> None:
    (tmp_path / "c.ics").write_text("mine")
    assert main(["--book", demo, "--day", DAY, "--calendar", str(tmp_path / "c.ics")]) == 0
    assert capsys.readouterr().out.strip() == str(tmp_path / "c 2.ics")
    assert (tmp_path / "c.ics").read_text() == "mine"


def test_another_rug_is_named_and_all_of_them_get_files_of_their_own(
    demo: str, tmp_path: Path, capsys
) -> None:
    assert main(["--book", demo, "--day", DAY, "--rug", "doorstep", "--record", str(tmp_path / "d.pdf")]) == 0
    # Named as a book is, it is called what it is all the same.
    named = str(tmp_path / "b.loomside")
    assert main(["--book", demo, "--day", DAY, "--rug", "doorstep", "--record", named]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {"d.pdf", "b.loomside.pdf"}
    assert "31,104" in PdfReader(io.BytesIO((tmp_path / "d.pdf").read_bytes())).pages[0].extract_text()
    assert main(["--book", demo, "--day", DAY, "--rug", "all", "--calendar", str(tmp_path / "c.ics")]) == 0
    assert {path.name for path in tmp_path.glob("*.ics")} == {"Walled garden c.ics", "Long winter c.ics"}
    assert "Doorstep: The last row of this rug is woven" in capsys.readouterr().err
    assert (
        main(["--book", demo, "--day", DAY, "--rug", "doorstep", "--calendar", str(tmp_path / "d.ics")]) == 1
    )


def test_what_cannot_be_made_is_a_sentence(demo: str, tmp_path: Path, capsys) -> None:
    assert main(["--book", demo, "--rug", "Doorstep", "--rows", str(tmp_path / "x.pdf")]) == 1
    assert "no cartoon" in capsys.readouterr().err
    assert main(["--book", demo, "--rug", "Nowhere", "--record", str(tmp_path / "x.pdf")]) == 1
    assert "no rug named Nowhere" in capsys.readouterr().err
    books.empty(tmp_path / "new.loomside")
    assert main(["--book", str(tmp_path / "new.loomside"), "--record", str(tmp_path / "x.pdf")]) == 1
    assert "no rug is planned yet" in capsys.readouterr().err
    (tmp_path / "file").write_text("")
    assert main(["--book", demo, "--record", str(tmp_path / "file" / "x.pdf")]) == 2
    assert "could not be written" in capsys.readouterr().err
    assert not list(tmp_path.rglob("*.pdf"))


def test_help_tells_of_them() -> None:
    said = parser().format_help()
    for option in ("--record FILE.pdf", "--rows FILE.pdf", "--csv FOLDER", "--calendar FILE.ics"):
        assert option in said
