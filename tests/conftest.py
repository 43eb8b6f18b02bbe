"""What all tests share: the demo book of somebody who lived with it, examples that stay the same, and a collector that need not look at pytest itself."""

from __future__ import annotations

import gc
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis.internal.conjecture import providers

from tests.properties import EVERY_RUN, LONG_FORMS
from tests.today import TODAY
from tracker.words import use_currency


def pytest_configure(config: pytest.Config) -> None:
    """Draw the same examples in every run, so that one change gets one verdict; the long forms draw new and many more."""
    every_run = config.getoption("markexpr") == "not slow"
    settings.load_profile(EVERY_RUN if every_run else LONG_FORMS)
    if every_run:
        _draw_from_no_module()
    if config.pluginmanager.has_plugin("cacheprovider"):
        _compile_once(config.rootpath / ".pytest_cache" / "compiled")


def _draw_from_no_module() -> None:
    """Keep constants of the code out of what is drawn: of those modules that are imported by then, which differs from run to run.

    There is no setting for it (hypothesis 6.170, `hypothesis.internal.conjecture.providers`).
    """
    providers._get_local_constants = lambda: providers._local_constants


def _compile_once(folder: Path) -> None:
    """Let this process and those it starts keep what they compile in a folder, where nothing may be kept beside the sources.

    To compile tests and app anew in every process takes longer than many of the tests.
    """
    if sys.dont_write_bytecode:
        sys.dont_write_bytecode = False
        sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"] = str(folder)
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_collection_finish() -> None:
    """Let the garbage collector pass over what stays for the whole run: thousands of tests and every library."""
    gc.collect()
    gc.freeze()


@pytest.fixture(autouse=True)
def _no_currency_left() -> Iterator[None]:
    """Let no test say amounts in the currency of a book that another one opened."""
    yield
    use_currency("")


@pytest.fixture(scope="session", autouse=True)
def _books_made_once() -> Iterator[None]:
    from tests.quick_books import quickened

    with quickened():
        yield


@pytest.fixture(autouse=True)
def _books_made_anew(request: pytest.FixtureRequest) -> Iterator[None]:
    from tests.quick_books import made_anew

    with made_anew() if request.node.get_closest_marker("made_anew") else nullcontext():
        yield


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo book of `TODAY`. Tests open copies of it, never itself."""
    from tracker.demo.place import ensure_demo

    return ensure_demo(tmp_path_factory.mktemp("demo book") / "demo.loomside", TODAY)


@pytest.fixture
def demo(tmp_path: Path, demo_book: Path) -> Path:
    """Return a copy of the demo book for one test."""
    return Path(shutil.copy(demo_book, tmp_path / "book.loomside"))
