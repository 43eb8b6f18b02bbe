"""The demo book for every test that wants a book somebody lived with: built once a process, handed out as copies."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import settings

from tests.today import TODAY

settings.register_profile("every run", derandomize=True)
settings.register_profile("long forms")


def pytest_configure(config: pytest.Config) -> None:
    """Draw the same examples in every run, so that one change gets one verdict; the long forms draw new ones."""
    settings.load_profile("every run" if config.getoption("markexpr") == "not slow" else "long forms")


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo book of `TODAY`. Tests open copies of it, never itself."""
    from tracker.demo.place import ensure_demo

    return ensure_demo(tmp_path_factory.mktemp("demo book") / "demo.loomside", TODAY)


@pytest.fixture
def demo(tmp_path: Path, demo_book: Path) -> Path:
    """Return a copy of the demo book for one test."""
    return Path(shutil.copy(demo_book, tmp_path / "book.loomside"))
