"""Small books for tests of the command line and of what lies beside a book."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from storage import reading
from storage.book import Book
from tests.today import TODAY
from tracker.domain.rug import RugPlan, RugStage, Session


def planned(path: Path) -> None:
    """Make a book with one rug of which some rows are woven."""
    with Book.open(path) as book, book.act("rug planned") as act:
        act.write(
            RugPlan(
                id="r",
                name="my.rug",
                width_cm=40.0,
                length_cm=80.0,
                knots_per_10cm=25.0,
                rows_per_10cm=25.0,
                knots_across=100,
                rows=200,
                pile_height_mm=10.0,
                start_day=TODAY,
            )
        )
        act.write(Session(id="s", rug_id="r", day=TODAY, rows=3, hours=1.0))


def finished(path: Path) -> None:
    """Make a book whose one rug, without a yarn entered, is finished."""
    planned(path)
    with Book.open(path) as book, book.act("rug finished") as act:
        act.write(Session(id="t", rug_id="r", day=TODAY - timedelta(days=1), rows=197, hours=24.0))
        act.write(replace(reading.rugs(book)[0], stage=RugStage.FINISHED, finished_day=TODAY))


def bare(path: Path) -> None:
    """Make a book with a rug and nothing else at all."""
    with Book.open(path) as book, book.act("rug planned") as act:
        act.write(
            RugPlan(
                id="r",
                name="Bare",
                width_cm=40.0,
                length_cm=80.0,
                knots_per_10cm=25.0,
                rows_per_10cm=25.0,
                knots_across=100,
                rows=200,
                pile_height_mm=10.0,
                start_day=TODAY,
            )
        )


def empty(path: Path) -> None:
    """Make a book without a rug."""
    Book.open(path).close()


def damaged(path: Path) -> None:
    """Make a book of which a page is blank."""
    planned(path)
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 6] = bytes(4096 * 3)
    path.write_bytes(bytes(data))


def folder(path: Path) -> None:
    """Make a folder where a book is asked for."""
    path.mkdir()
