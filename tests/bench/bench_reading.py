"""Scores the reading of cartoons from paper, by kind of trouble, on test pictures whose truth is known.

    .venv/bin/python -m tests.bench.bench_reading --first 901 --seeds 3
    .venv/bin/python -m tests.bench.bench_reading --twelve-megapixels

The reader was built on seeds 1 to 3; scores come from other seeds. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import io
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from PIL import Image

from tests.reading.on_paper import (
    SCORED_KINDS,
    Sheet,
    Trouble,
    cartoon,
    framed,
    put_on_paper,
    sheet_of,
    yarns,
)
from tracker.domain.errors import BadPicture
from tracker.pictures.paper.reading import read_sheet
from tracker.pictures.paper.understood import Reading
from tracker.pictures.paper.wishes import Wish


@dataclass(frozen=True)
class Score:
    """How well one picture was read."""

    name: str
    points: float
    """Points to a knot along the shorter side."""
    size_alone: bool
    size_told: bool
    """The numbers are right with corners and numbers given."""
    sure: bool
    colours_right: bool
    wrong: float
    """Share of squares in another yarn; found by itself when the size was right, else with corners and numbers given."""
    doubted: float
    caught: float
    """Share of the wrong squares that are among the doubted."""
    seconds: float
    note: str = ""


def wrong_squares(reading: Reading, cells: np.ndarray) -> np.ndarray:
    """Return the squares not in the yarn that most squares of the same found colour have."""
    pairs = np.zeros((len(reading.palette), int(cells.max()) + 1), dtype=int)
    np.add.at(pairs, (reading.cells, cells), 1)
    return pairs.argmax(axis=1)[reading.cells] != cells


def score(sheet: Sheet) -> Score:
    """Read one picture, alone and with its corners and numbers given."""
    started = time.perf_counter()
    reading: Reading | None
    note = ""
    try:
        reading = read_sheet(sheet.data)
        note = f"{reading.knots_across} x {reading.rows}"
    except BadPicture as trouble:
        reading, note = None, str(trouble)[:40]
    seconds = time.perf_counter() - started
    alone = reading is not None and reading.cells.shape == sheet.cells.shape
    corners = tuple((float(x), float(y)) for x, y in sheet.corners)
    told = True
    sure = reading is not None and reading.is_sure
    if not alone:
        try:
            reading = read_sheet(sheet.data, wish=Wish(knots=sheet.knots, rows=sheet.rows, corners=corners))
            told = reading.cells.shape == sheet.cells.shape
        except BadPicture:
            reading, told = None, False
    if reading is None or not told:
        return Score(sheet.name, sheet.points, alone, told, sure, False, 1.0, 0.0, 0.0, seconds, note)
    wrong = wrong_squares(reading, sheet.cells)
    return Score(
        name=sheet.name,
        points=sheet.points,
        size_alone=alone,
        size_told=told,
        sure=sure,
        colours_right=len(reading.palette) == len(sheet.palette),
        wrong=float(wrong.mean()),
        doubted=float(reading.doubted.mean()),
        caught=float((wrong & reading.doubted).sum() / wrong.sum()) if wrong.any() else float("nan"),
        seconds=seconds,
        note=note,
    )


def line(name: str, scores: list[Score]) -> str:
    """Return a line of the table in DEVELOPERS.md."""
    wrong = np.array([one.wrong for one in scores])
    caught = [one.caught for one in scores if np.isfinite(one.caught)]
    return (
        f"| {name} | {len(scores)} | {np.mean([one.size_alone for one in scores]):.0%} | "
        f"{np.mean([one.size_told for one in scores]):.0%} | "
        f"{np.mean([one.colours_right for one in scores]):.0%} | "
        f"{100 - 100 * np.median(wrong):.2f} / {100 - 100 * wrong.max():.2f} | "
        f"{np.mean(caught) if caught else float('nan'):.0%} | {np.max([one.doubted for one in scores]):.1%} | "
        f"{sum(one.sure and not one.size_alone for one in scores)} |"
    )


HEAD = (
    "| kind | pictures | size found | size with corners | number of colours | right yarn %, middle / worst | "
    "wrong ones doubted | doubted at most | sure of a wrong size |\n| --- " + "| --- " * 8 + "|"
)


def table(scores: dict[str, list[Score]]) -> str:
    """Return the whole table."""
    everything = [one for part in scores.values() for one in part]
    lines = [HEAD, *(line(kind, part) for kind, part in scores.items())]
    lines.append(line("all", everything))
    for name, low, high in (("5 points and more", 5, 99), ("6 points and more", 6, 99), ("4 to 6", 4, 6)):
        part = [one for one in everything if low <= one.points < high]
        if part:
            lines.append(line(name, part))
    return "\n".join(lines)


def print_twelve_megapixels() -> None:
    """Print how long a photograph of 12 megapixels takes, and the most memory this process ever held."""
    rng = np.random.default_rng(1)
    trouble = Trouble(points=12.0, grid="tenth", tilt_deg=10, turn_deg=4, table=True, jpeg=85, noise=2)
    data = put_on_paper(rng, framed(cartoon(rng, 240, 160, 8, "bordered")), yarns(rng, 8), trouble).data
    out = io.BytesIO()
    Image.open(io.BytesIO(data)).resize((3000, 4000)).save(out, "JPEG", quality=88)
    # In a process of its own: making the picture took more memory than reading it.
    with tempfile.NamedTemporaryFile(suffix=".jpg") as file:
        file.write(out.getvalue())
        file.flush()
        subprocess.run([sys.executable, "-c", _READ_ONE, file.name], check=True)


_READ_ONE = """
import sys, time
from pathlib import Path
from tracker.pictures.paper.reading import again, read_sheet
from tracker.pictures.paper.showing import between_corners
started = time.perf_counter()
reading = read_sheet(sys.argv[1])
print(reading.sentence, f"{time.perf_counter() - started:.2f} s wall, {time.process_time():.2f} s processor")
# The kernel's own high-water mark since this program began; getrusage still counts what forked it.
peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
print(f"{int(peak.split()[1]) / 1024:.0f} MiB at most")
started = time.perf_counter()
between_corners(reading.sheet, reading.corners, reading.knots_across, reading.rows)
print(f"{time.perf_counter() - started:.2f} s until corrected corners are shown straightened")
started = time.perf_counter()
again(reading, colours=7)
print(f"{time.perf_counter() - started:.2f} s for another number of colours")
"""


def main() -> None:
    """Make, read and score the pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=901)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--kinds", nargs="+", default=list(SCORED_KINDS))
    parser.add_argument("--twelve-megapixels", action="store_true", help="time and memory of one photograph")
    options = parser.parse_args()
    if options.twelve_megapixels:
        print_twelve_megapixels()
        return
    scores: dict[str, list[Score]] = defaultdict(list)
    for kind in options.kinds:
        for seed in range(options.first, options.first + options.seeds):
            one = score(sheet_of(seed, kind))
            scores[kind].append(one)
            print(one, flush=True)
    print(table(scores))


if __name__ == "__main__":
    main()
