"""Books for the tests of storage."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from storage.book import Book
from tests.storage.book_samples import Clock


def _in_memory() -> Path | None:
    """Return a folder in memory, where syncing costs nothing, if the machine has one."""
    folder = Path("/dev/shm")
    return folder if folder.is_dir() and os.access(folder, os.W_OK) else None


@pytest.fixture(scope="session")
def quick_root(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder for all books of the run; they are synced hundreds of times, which tests of logic need not wait for."""
    memory = _in_memory()
    if memory is None:
        yield tmp_path_factory.mktemp("books")
        return
    with tempfile.TemporaryDirectory(
        prefix="loomside-tests-", dir=memory, ignore_cleanup_errors=True
    ) as folder:
        yield Path(folder)


@pytest.fixture
def tmp_path(quick_root: Path) -> Iterator[Path]:
    """A folder of the test's own."""
    folder = Path(tempfile.mkdtemp(dir=quick_root))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def clock() -> Clock:
    """A phone's clock."""
    return Clock()


@pytest.fixture
def open_book(tmp_path: Path, clock: Clock) -> Iterator[Callable[..., Book]]:
    """Opens books in a folder of the test's own and closes them after it."""
    opened: list[Book] = []

    def open_one(name: str = "book.loomside", **options: object) -> Book:
        options.setdefault("now", clock)
        book = Book.open(tmp_path / name, **options)  # type: ignore[arg-type]
        opened.append(book)
        return book

    yield open_one
    for book in opened:
        book.close()


@pytest.fixture
def book(open_book: Callable[..., Book]) -> Book:
    """A fresh book."""
    return open_book()
