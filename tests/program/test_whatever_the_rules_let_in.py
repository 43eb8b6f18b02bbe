"""For any acts that the rules let in, every page, form and file works, on this phone and on the one it is sent to."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from storage import copies, exchange, reading
from storage.book import Book
from tests.every_form import everything_of
from tests.lawful import DAYS, books, entered
from tests.storage.book_samples import everything
from tests.today import TODAY
from tracker.app.desk import Desk

SECONDS = 30.0
"""Most of a processor that all pages and files of one book of two rugs may take."""
LONG_MINUTES = float(os.environ.get("LOOMSIDE_MINUTES", "15"))


def told(book: Book) -> Any:
    return [everything(reading.rug_book(book, plan.id)) for plan in reading.rugs(book)], reading.settings(
        book
    )


def holds(values: list[Any], today: Any, joined: bool, papers: bool) -> None:
    """Let the values in, here or by another phone's file, and build everything of the book."""
    quick = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    folder = Path(tempfile.mkdtemp(prefix="loomside-any-", dir=quick))
    began = time.process_time()
    try:
        path = folder / "here" / "book.loomside"
        path.parent.mkdir()
        news = None
        if joined:
            entered(folder / "other.loomside", values)
            with Book.open(folder / "other.loomside") as other:
                exchange.write_exchange(other, folder / "file.loomside-exchange")
                said = told(other)
            with Book.open(path, "second phone") as book:
                news = exchange.join(book, folder / "file.loomside-exchange")
                assert told(book) == said
        else:
            entered(path, values)
        desk = Desk(path, today=lambda: today, background=False)
        try:
            desk.open()
            desk.ground = "#F7F0E3"
            for rug in reading.rugs(desk.book):
                assert reading.rug_book(desk.book, rug.id).set_aside == ()
            everything_of(desk, folder, news, papers)
            desk.book.check()
            copies.restore(desk.book, copies.copy_now(desk.book).path)
        finally:
            desk.close()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    assert time.process_time() - began < SECONDS


few = st.sampled_from([False, False, False, False, True])
todays = st.just(TODAY) | st.just(TODAY) | st.sampled_from(DAYS)


@settings(
    max_examples=5,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate],
)
@given(values=books(most=2), today=todays, joined=st.booleans(), papers=few)
def test_every_page_form_and_file_works_for_whatever_the_rules_let_in(
    values: list[Any], today: Any, joined: bool, papers: bool
) -> None:
    holds(values, today, joined, papers)


@pytest.mark.slow
@pytest.mark.timeout(0)
def test_the_same_for_as_long_as_is_wished(capsys: pytest.CaptureFixture[str]) -> None:
    """New books until the time is over (`LOOMSIDE_MINUTES`, else 15 minutes); the first that fails is made small and shown."""
    end = time.monotonic() + 60 * LONG_MINUTES
    counts = {"books": 0, "values": 0}

    @settings(
        max_examples=50,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        derandomize=False,
        database=None,
    )
    @given(values=books(), today=todays, joined=st.booleans(), papers=few)
    def some(values: list[Any], today: Any, joined: bool, papers: bool) -> None:
        counts["books"] += 1
        counts["values"] += len(values)
        holds(values, today, joined, papers)

    while time.monotonic() < end:
        some()
    with capsys.disabled():
        print(f"\n{counts['books']} books of {counts['values']} values: every page, form and file was made")
