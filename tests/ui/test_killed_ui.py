"""The app is killed in the middle of an evening: what the screen had answered is there, and nothing is half there."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("seed", [0, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(1, 4))])
def test_a_killed_app_keeps_every_answered_session(demo: Path, seed: int) -> None:
    from storage import reading
    from storage.book import Book

    child = subprocess.Popen(
        [sys.executable, "-m", "tests.ui.session_child", str(demo), "30"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "SDL_VIDEODRIVER": "offscreen"},
    )
    try:
        assert child.stdout is not None
        assert child.stdout.readline().strip() == "open"
        answered = [child.stdout.readline().strip()]
        time.sleep(random.Random(seed).uniform(0.0, 1.2))
    finally:
        child.send_signal(signal.SIGKILL)
        rest, _nothing = child.communicate()
    answered += rest.split()
    with closing(sqlite3.connect(demo)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    with Book.open(demo) as book:
        plan = next(plan for plan in reading.rugs(book) if plan.name == "Walled garden")
        kept = {session.id for session in reading.rug_book(book, plan.id).sessions}
    assert set(answered) <= kept
    # At most the one that was being saved may be there beyond what was answered; the demo had 40.
    assert len(kept) - 40 - len(answered) in (0, 1)
