"""Freed memory goes back to the system."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from tracker.device import memory
from tracker.device.memory import M_PURGE, give_back


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

    def __init__(self) -> None:
        self.asked: list[tuple[int, int]] = []

    def mallopt(self, what: int, value: int) -> int:
        self.asked.append((what, value))
        return 1


def test_android_is_asked_to_purge(monkeypatch) -> None:
    library = Bionic()
    monkeypatch.setattr(memory.ctypes, "CDLL", lambda _name: library)
    assert give_back()
    assert library.asked == [(M_PURGE, 0)]


def test_a_system_without_either_is_left_alone(monkeypatch) -> None:
    monkeypatch.setattr(memory.ctypes, "CDLL", lambda _name: object())
    assert not give_back()


def test_a_system_whose_library_cannot_be_had_is_left_alone(monkeypatch) -> None:
    def refused(_name: None) -> None:
        raise OSError(sys.platform)

    monkeypatch.setattr(memory.ctypes, "CDLL", refused)
    assert not give_back()
