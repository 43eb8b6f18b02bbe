"""Freed memory goes back to the system."""

from __future__ import annotations

import gc
import re
import sys
import weakref
from collections.abc import Iterator
from pathlib import Path

import pytest

from tracker.device import memory
from tracker.device.memory import (
    FEW,
    M_PURGE,
    M_PURGE_ALL,
    collect_as_usual,
    collect_at_rest,
    give_back,
    tidy,
)


def held_kib() -> int:
    return int(re.findall(r"VmRSS:\s+(\d+)", Path("/proc/self/status").read_text(encoding="ascii"))[0])


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux tells what a process holds")
def test_what_was_freed_is_held_no_longer() -> None:
    # Small pieces with others between: no end of the heap becomes free by itself.
    pieces = [bytearray(2000) for _piece in range(40_000)]
    between = pieces[::1000]
    before = held_kib()
    del pieces
    assert give_back()
    assert before - held_kib() > 40_000 * 2000 / 1024 / 4
    assert len(between) == 40


class Bionic:
    """Android's library, as far as it is asked: it has no malloc_trim."""

    def __init__(self, level: int) -> None:
        self.asked: list[tuple[int, int]] = []
        self._level = level

    def mallopt(self, what: int, value: int) -> int:
        self.asked.append((what, value))
        return int(self._level >= {M_PURGE: 28, M_PURGE_ALL: 34}[what])


@pytest.mark.parametrize(
    ("level", "at_rest", "short", "can"),
    [
        (24, [M_PURGE], [M_PURGE_ALL, M_PURGE], False),
        (28, [M_PURGE], [M_PURGE_ALL, M_PURGE], True),
        (36, [M_PURGE], [M_PURGE_ALL], True),
    ],
)
def test_android_is_asked_to_purge_and_for_all_of_it_where_memory_is_short(
    monkeypatch, level: int, at_rest: list[int], short: list[int], can: bool
) -> None:
    library = Bionic(level)
    monkeypatch.setattr(memory.ctypes, "CDLL", lambda _name: library)
    assert give_back() is can
    assert library.asked == [(what, 0) for what in at_rest]
    library.asked.clear()
    memory.free_all()
    assert library.asked == [(what, 0) for what in short]


def test_a_system_without_either_is_left_alone(monkeypatch) -> None:
    monkeypatch.setattr(memory.ctypes, "CDLL", lambda _name: object())
    assert not give_back()


def test_a_system_whose_library_cannot_be_had_is_left_alone(monkeypatch) -> None:
    def refused(_name: None) -> None:
        raise OSError(sys.platform)

    monkeypatch.setattr(memory.ctypes, "CDLL", refused)
    assert not give_back()


class Page:
    """Holds itself, as whatever has a parent does."""

    def __init__(self) -> None:
        self.parts = [self]


@pytest.fixture
def at_rest(monkeypatch) -> Iterator[None]:
    """Look at rest only, at each rest, where no window is."""
    monkeypatch.setattr(memory, "finish_drawing", lambda: None)
    monkeypatch.setattr(memory, "WORTH_LOOKING", 0)
    collect_at_rest()
    tidy()
    yield
    collect_as_usual()


def test_a_page_that_was_there_at_many_rests_is_freed_at_the_next_when_it_is_let_go_of(at_rest: None) -> None:
    page = Page()
    gone = weakref.ref(page)
    for rests in range(45):
        tidy()
        if rests % 3 == 2:
            del page
            tidy()
            assert gone() is None, f"after {rests + 1} rests it stays in memory"
            page = Page()
            gone = weakref.ref(page)


def test_what_hung_on_pages_that_are_gone_is_freed_in_the_same_rest(at_rest: None) -> None:
    pages = [Page() for _page in range(FEW + 1)]
    bound = {0: Page()}
    gone = weakref.ref(bound[0])
    unbind = weakref.ref(pages[0], lambda _page: bound.clear())  # as Kivy does
    del pages
    tidy()
    assert unbind() is None
    assert gone() is None


def test_what_is_there_when_the_app_first_rests_is_passed_over(at_rest: None) -> None:
    assert gc.get_freeze_count() > len(gc.get_objects())
