"""Damaged files: the cartoon reader neither crashes nor hangs nor fills the memory."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.unit.pictures.files import cells_of
from tests.unit.pictures.fuzz import healthy_files, run_length_bmp, sound
from tracker.domain.errors import BadPicture
from tracker.pictures import limits
from tracker.pictures.cartoon_reader import read_cartoon

ROOT = Path(__file__).parents[3]
MOST_MB = 5 * limits.MAX_KNOTS / 1e6 + 120
"""Four bytes a point in Pillow, one for the cells, the table of colours and some room."""


def run(count: int, seed: int) -> dict:
    """The report of `count` damaged files read in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.unit.pictures.fuzz", str(count), str(seed)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=280,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def check(report: dict, count: int) -> None:
    assert report["crashes"] == []
    assert report["unsound"] == 0
    assert report["slowest_s"] < 2.0
    assert report["grown_mb"] < MOST_MB
    assert report["read"] + report["refused"] >= count
    # The damage is neither so mild nor so heavy that one side is never tried.
    assert report["read"] > count / 50
    assert report["refused"] > count / 4


def test_the_files_are_sound_before_they_are_damaged():
    said = []
    for data in healthy_files():
        try:
            said.append("sound" if sound(read_cartoon(data)) else "unsound")
        except BadPicture as trouble:
            said.append(trouble.sentence)
    assert said.count("sound") == len(said) - 2
    assert sum("several pictures" in sentence for sentence in said) == 1
    assert sum("see-through" in sentence for sentence in said) == 1


def test_a_packed_bmp_shows_what_was_packed():
    cells = cells_of(8, 6)
    picture = read_cartoon(run_length_bmp(cells))
    expected = [[f"#{200 - k:02X}3C{10 * k:02X}" for k in row] for row in cells[::-1]]
    assert [[picture.palette[cell] for cell in row] for row in picture.cells] == expected


def test_a_packed_bmp_that_would_take_long_is_refused(monkeypatch):
    monkeypatch.setattr(limits, "MAX_RUN_LENGTH_BMP_BYTES", 1000)
    with pytest.raises(BadPicture, match="takes too long"):
        read_cartoon(run_length_bmp(cells_of(60, 45)))


def test_hundreds_of_damaged_files():
    check(run(700, seed=1), 700)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 106))
def test_thousands_of_damaged_files(seed):
    check(run(5000, seed=seed), 5000)
