"""Crash: an app is killed at random moments; what it acknowledged is there, and no act is half there."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from storage import diary
from storage.book import Book
from tests.storage.book_samples import Clock
from tracker.files.whole import working

ROOT = Path(__file__).parents[2]


class Life:
    """What one killed life of the app said."""

    def __init__(self) -> None:
        self.opened = False
        self.started: dict[str, list[str]] = {}
        self.done: list[str] = []


class Nursery:
    """Where lives of the app come from: a process that has loaded everything and forks."""

    def __init__(self, complaints: Path) -> None:
        self.complaints = complaints
        with open(complaints, "wb") as errors:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "tests.storage.crash_child"],
                cwd=ROOT,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                text=True,
            )

    def close(self) -> None:
        """No more lives."""
        self.process.communicate()

    def live_and_die(self, path: Path, seed: int, words: int, seconds: float) -> Life:
        """Run the app, kill it some time after it has said so many words, and return what it said."""
        asked, told = self.process.stdin, self.process.stdout
        assert asked is not None
        assert told is not None
        asked.write(json.dumps([str(path), seed]) + "\n")
        asked.flush()
        life = Life()
        pid = 0
        heard = 0
        killed = False
        while True:
            line = told.readline()
            assert line, self.complaints.read_text()
            word = json.loads(line)
            if word[0] == "dead":
                assert os.WTERMSIG(word[1]) == signal.SIGKILL, self.complaints.read_text()
                return life
            if word[0] == "born":
                pid = word[1]
            elif word[0] == "open":
                life.opened = True
            elif word[0] == "start":
                life.started[word[1]] = word[2]
            elif word[0] == "done":
                life.done.append(word[1])
            heard += 1
            # Counted in words and not only in time, so that the kills fall into the work on a busy machine too.
            if heard >= words and pid and not killed:
                time.sleep(seconds)
                os.kill(pid, signal.SIGKILL)
                killed = True


def check_after(path: Path, life: Life, known: dict[str, list[str]]) -> int:
    """Check the book after a death; add to `known` what is in it for good; return how many acts hung in the air."""
    with Book.open(path, now=Clock()) as book:
        book.check()  # integrity, foreign keys, seals, tallies, and that every act is whole
        entries = {entry.act_id: entry for entry in diary.entries(book, limit=100_000)}
        for act_id in life.done:
            assert act_id in entries, f"{act_id} was acknowledged and is gone"
        known.update({act_id: life.started[act_id] for act_id in life.done})
        in_the_air = [act_id for act_id in life.started if act_id not in life.done]
        assert len(in_the_air) <= 1
        for act_id in in_the_air:
            if act_id in entries:
                known[act_id] = life.started[act_id]
        assert set(entries) == set(known)
        for act_id, record_ids in known.items():
            written = {change.record_id for change in entries[act_id].changes}
            assert set(record_ids) <= written, f"{act_id} is half there"
        return len(in_the_air)


def kill_often(folder: Path, kills: int, seed: int, lives_of_a_book: int = 25) -> dict[str, int]:
    """Kill the app `kills` times, with a new book now and then; return what happened."""
    chance = random.Random(seed)
    counts = {"kills": 0, "acts acknowledged": 0, "acts in the air": 0, "acts checked": 0}
    known: dict[str, list[str]] = {}
    path = folder / "0.loomside"
    nursery = Nursery(folder / "complaints")
    for number in range(kills):
        if number % lives_of_a_book == 0:
            path = folder / f"{number}.loomside"
            known = {}
        life = nursery.live_and_die(
            path, seed * 1_000_000 + number, chance.randint(1, 60), chance.uniform(0.0, 0.03)
        )
        counts["acts in the air"] += check_after(path, life, known)
        counts["kills"] += 1
        counts["acts acknowledged"] += len(life.done)
        counts["acts checked"] += len(known)
    nursery.close()
    return counts


def test_an_app_killed_now_and_then_loses_nothing_it_acknowledged(tmp_path):
    counts = kill_often(tmp_path, kills=6, seed=1, lives_of_a_book=3)
    print(counts)
    assert counts["kills"] == 6
    assert counts["acts acknowledged"] > 10


def test_an_app_killed_while_it_makes_its_first_book_can_make_it_again(tmp_path):
    chance = random.Random(3)
    for number in range(2):
        path = tmp_path / f"{number}.loomside"
        child = subprocess.Popen(
            [sys.executable, "-m", "tests.storage.crash_child", str(path), "1"],
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        limit = time.monotonic() + 20
        while not working(path, "new").exists() and time.monotonic() < limit:
            time.sleep(0.002)
        time.sleep(chance.uniform(0, 0.3))
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        with Book.open(path, now=Clock()) as book:
            book.check()


@pytest.mark.slow
@pytest.mark.timeout(6000)
def test_an_app_killed_hundreds_of_times_loses_nothing_it_acknowledged(tmp_path, capsys):
    began = time.monotonic()
    counts = kill_often(tmp_path, kills=600, seed=int(time.time()) % 1000)
    with capsys.disabled():
        print(f"\ncrash: {counts} in {time.monotonic() - began:.0f} s; every kill survived")
    assert counts["kills"] >= 500
