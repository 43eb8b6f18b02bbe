"""How long a very large cartoon takes from its file to the complete material plan, and how much memory.

    python -m tests.bench.bench_plan [--rows 6000] [--knots 4000] [--colours 64] [--times 5]

Yardstick, measured in the same run: `np.bincount` of the same array held in memory, nothing else. Time is the best of
several runs of each, taken in turn; memory is the growth of the process's peak over what it held before the file was
read, each way in a fresh process, with the file's own bytes counted in. Nothing is asserted; wanted are 5 times the
bare counting and 4 times the array.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np
from PIL import Image

from tests.peak import held_bytes, peak_bytes
from tracker.domain.layout import as_cartoon
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import Role, RugBook, RugPlan, Yarn
from tracker.pictures.cartoon_reader import read_cartoon

WAYS = ("indexed PNG", "GIF", "BMP", "true-colour PNG")


def motif_cells(rows: int, knots: int, colours: int) -> np.ndarray:
    """A cartoon with a woven look: borders, a lattice and a repeated figure, top row first."""
    down = np.arange(rows, dtype=np.int32)[:, None]
    across = np.arange(knots, dtype=np.int32)[None, :]
    edge = np.minimum(np.minimum(down, rows - 1 - down), np.minimum(across, knots - 1 - across))
    figure = (down % 48 - 24) ** 2 // 9 + (across % 48 - 24) ** 2 // 9
    lattice = ((down + across) // 12 + (down - across) // 12) % 3
    cells = np.where(edge < knots // 12, edge // 10 % colours, (figure // 2 + lattice) % colours)
    cells[0, :colours] = np.arange(colours)
    return cells.astype(np.uint8)


def noise_cells(rows: int, knots: int, colours: int) -> np.ndarray:
    """The worst case: every knot of a random colour."""
    return np.random.default_rng(1).integers(0, colours, (rows, knots), dtype=np.uint8)


def save_all(cells: np.ndarray, colours: int, folder: Path, name: str) -> dict[str, Path]:
    """Save the cartoon in every way; return the paths."""
    image = Image.fromarray(cells)
    # Well apart and without equal ones: 4 levels of red, green and blue each.
    level = (0, 85, 170, 255)
    image.putpalette(
        [part for k in range(colours) for part in (level[k % 4], level[k // 4 % 4], level[k // 16 % 4])]
    )
    paths = {way: folder / f"{name}-{number}.{way[-3:].lower()}" for number, way in enumerate(WAYS)}
    image.save(paths["indexed PNG"])
    image.save(paths["GIF"])
    image.save(paths["BMP"])
    image.convert("RGB").save(paths["true-colour PNG"])
    return paths


def plan_from_file(path: Path, weavers: int = 4) -> MaterialPlan:
    """Read the cartoon and make the complete plan, with a yarn for each colour, two wefts and a warp."""
    cartoon = as_cartoon(read_cartoon(path), id="cartoon", rug_id="rug")
    plan = RugPlan(
        id="rug",
        name="bench",
        width_cm=cartoon.knots_across / 4.0,
        length_cm=cartoon.rows / 4.0,
        knots_per_10cm=40.0,
        rows_per_10cm=40.0,
        knots_across=cartoon.knots_across,
        rows=cartoon.rows,
        pile_height_mm=8.0,
        weavers_planned=weavers,
        start_day=date(2026, 3, 2),
    )
    pile = [
        Yarn(
            id=f"p{k}",
            rug_id="rug",
            role=Role.PILE,
            number=k + 1,
            name=f"c{k}",
            tex=600.0,
            cartoon_values=(k,),
        )
        for k in range(len(cartoon.palette))
    ]
    others = [
        Yarn(id="w1", rug_id="rug", role=Role.WEFT, number=1, name="ground", tex=443.0, fibre="cotton"),
        Yarn(id="w2", rug_id="rug", role=Role.WEFT, number=2, name="fine", tex=150.0, fibre="cotton"),
        Yarn(id="wa", rug_id="rug", role=Role.WARP, number=1, name="warp", tex=443.0, fibre="cotton"),
    ]
    return material_plan(RugBook(plan=plan, cartoon=cartoon, yarns=(*pile, *others)))


def seconds(work) -> float:
    """Time one call."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def peak_in_fresh_process(path: Path) -> float:
    """Return the bytes by which reading and planning raise the peak of a fresh process."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.bench_plan", "--peak", str(path)],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    return float(json.loads(done.stdout))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=6000)
    parser.add_argument("--knots", type=int, default=4000)
    parser.add_argument("--colours", type=int, default=64)
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--peak", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.peak:
        # Warm up on a small picture first, so that modules and Pillow's plugins are not counted.
        with tempfile.TemporaryDirectory() as folder:
            for path in save_all(motif_cells(40, 30, 8), 8, Path(folder), "small").values():
                plan_from_file(path)
        before = held_bytes()
        plan_from_file(asked.peak)
        print(json.dumps(peak_bytes() - before))
        return
    print(
        f"{asked.knots} x {asked.rows} knots, {asked.colours} colours, from file to complete plan (4 weavers)"
    )
    print(
        f"{'cartoon':<8}{'file':<17}{'MB':>5}{'bare count s':>14}{'plan s':>9}{'times':>8}{'peak / array':>14}"
    )
    with tempfile.TemporaryDirectory() as folder:
        for name, make in (("motif", motif_cells), ("noise", noise_cells)):
            cells = make(asked.rows, asked.knots, asked.colours)
            for way, path in save_all(cells, asked.colours, Path(folder), name).items():
                bare, whole = [], []
                for _time in range(asked.times):
                    bare.append(
                        seconds(lambda cells=cells: np.bincount(cells.ravel(), minlength=asked.colours))
                    )
                    whole.append(seconds(lambda path=path: plan_from_file(path)))
                memory = peak_in_fresh_process(path) / cells.nbytes
                print(
                    f"{name:<8}{way:<17}{path.stat().st_size / 1e6:>5.0f}{min(bare):>14.3f}{min(whole):>9.3f}"
                    f"{min(whole) / min(bare):>8.1f}{memory:>14.2f}",
                    flush=True,
                )
                path.unlink()


if __name__ == "__main__":
    main()
