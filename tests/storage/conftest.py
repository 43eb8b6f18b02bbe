"""Books for the tests of storage."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from storage.book import Book
from tests.storage.book_samples import Clock


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
