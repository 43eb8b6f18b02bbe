"""Answers beside those of an earlier commit: python -m tests.bench.bench_before COMMIT [ROUNDS]

Both trees take turns in the same minutes; what is compared is time of the processor, the quickest turn of each.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
ONE_TURN = """
import json, shutil, sys, tempfile, time
from dataclasses import replace
from datetime import date
from pathlib import Path
from tests.bench.forecast_speed import large_book
from tracker.app.desk import Desk
from tracker.demo.place import ensure_demo
from tracker.domain.material_plan import material_plan
from tracker.forecast.calendar import _block, _near_block
from tracker.forecast.outlook import _reckoned, outlook

def quickest(work, repeats):
    spent = []
    for _ in range(repeats):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent)

day = date(2026, 11, 26)
book, today = large_book()
outlook(book, today)
cells = book.cartoon.cells

def from_nothing():
    _block.cache_clear()
    _near_block.cache_clear()
    _reckoned.clear()
    outlook(replace(book, cartoon=replace(book.cartoon, cells=cells.copy())), today)

with tempfile.TemporaryDirectory() as folder:
    demo = ensure_demo(Path(folder) / "demo.loomside", day)
    desk = Desk(demo, today=lambda: day, background=False)
    desk.open()
    rugs = [plan.id for plan in desk.plans]
    found = {
        "answers of a large rug after a tap": quickest(lambda: outlook(book, today), 8),
        "answers of a large rug, nothing remembered": quickest(from_nothing, 5),
        "material plan of a large rug": quickest(lambda: material_plan(book), 8),
        "reading and answering the demo's rug in hand": quickest(lambda: desk.answers_for(desk.rug_id), 8),
        "reading and answering every rug of the demo": quickest(lambda: [desk.answers_for(one) for one in rugs], 4),
    }
    desk.close()
print(json.dumps(found))
"""


def one_turn(tree: Path) -> dict[str, float]:
    """Run one turn in a tree; return the seconds of each job."""
    done = subprocess.run(
        [sys.executable, "-c", ONE_TURN], cwd=tree, env={"PYTHONPATH": str(tree), "PATH": "", "HOME": str(tree)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return json.loads(done.stdout.splitlines()[-1])


def main() -> None:
    """Measure both trees in turns and print the ratios."""
    commit, rounds = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 4
    with tempfile.TemporaryDirectory() as folder:
        before = Path(folder) / "before"
        git = ["git", "-C", str(ROOT), "worktree"]
        subprocess.run([*git, "add", "-q", "--detach", str(before), commit], check=True)
        try:
            turns = [(one_turn(before), one_turn(ROOT)) for _round in range(rounds)]
        finally:
            subprocess.run([*git, "remove", "--force", str(before)], check=True)
    for job in turns[0][1]:
        then, now = (min(turn[side][job] for turn in turns) for side in (0, 1))
        print(f"{job:48} {then * 1e3:8.1f} ms before, {now * 1e3:8.1f} ms now: {now / then:5.2f} times")


if __name__ == "__main__":
    main()
