"""How long a complete set of answers takes for a large rug, as a ratio to the bare array work on its cartoon.

Run it from the root of the repository: python tests/bench/forecast_speed.py
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from itertools import count
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402

from tracker.domain.cartoon import count_of  # noqa: E402
from tracker.domain.rug import Cartoon, Lot, Role, RugBook, RugPlan, RugStage, Session, Weighing, Yarn  # noqa: E402
from tracker.forecast.calendar import _block, _near_block  # noqa: E402
from tracker.forecast.outlook import _reckoned, outlook  # noqa: E402

ROWS, ACROSS, SESSIONS, YARNS = 1200, 700, 400, 12


def large_book() -> tuple[RugBook, date]:
    """Return a rug of 1,200 rows x 700 knots half woven in 400 sessions, with ten colours and two wefts."""
    rng = np.random.default_rng(7)
    cells = np.repeat(rng.integers(0, 10, (ROWS, ACROSS // 7)), 7, axis=1).astype(np.uint8)
    start = date(2024, 1, 1)
    plan = RugPlan(
        id="r", name="A large rug", width_cm=175, length_cm=300, knots_per_10cm=40, rows_per_10cm=40,
        knots_across=ACROSS, rows=ROWS, pile_height_mm=8, weekdays=(0, 1, 2, 3, 4, 5), hours_per_week=18,
        start_day=start, wished_day=start + timedelta(days=1100), stage=RugStage.ON_LOOM,
    )  # fmt: skip
    yarns = tuple(
        Yarn(
            id=f"p{k}",
            rug_id="r",
            role=Role.PILE,
            number=k + 1,
            name=f"Colour {k + 1}",
            tex=400,
            cartoon_values=(k,),
        )
        for k in range(YARNS - 2)
    ) + tuple(
        Yarn(
            id=f"f{k}",
            rug_id="r",
            role=Role.WEFT,
            number=k + 1,
            name=f"Weft {k + 1}",
            tex=400,
            unit_mass_g=60,
        )
        for k in range(2)
    )
    days = [start + timedelta(days=d) for d in range(800) if (start + timedelta(days=d)).weekday() != 6][
        :SESSIONS
    ]
    sessions = tuple(
        Session(
            id=f"s{i}", rug_id="r", day=day, rows=int(rng.integers(1, 3)), hours=float(rng.integers(3, 9)) / 2,
            used=((f"p{i % 10}", 1.0),) if i % 4 == 0 else (), born=i + 1,
        )
        for i, day in enumerate(days)
    )  # fmt: skip
    lots = tuple(Lot(id=f"l{y.id}", rug_id="r", yarn_id=y.id, day=start, mass_g=2000.0) for y in yarns)
    weighings = tuple(
        Weighing(
            id=f"w{i}.{y.id}", rug_id="r", yarn_id=y.id, day=days[i], mass_g=2000.0 - 2.0 * i, born=10_000 + i
        )
        for i in (60, 150, 240, 330)
        for y in yarns
    )
    book = RugBook(
        plan=plan, cartoon=Cartoon(id="c", rug_id="r", cells=cells, palette=("#888888",) * 10), yarns=yarns,
        sessions=sessions, lots=lots, weighings=weighings,
    )  # fmt: skip
    return book, days[-1]


def timed(work: Callable[[], object], repeats: int = 25) -> float:
    """Return the middle seconds of processor time of so many runs: waiting for other work on the machine does not count."""
    spent = []
    for _ in range(repeats):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return float(np.median(spent))


def main() -> None:
    """Measure and print."""
    book, today = large_book()
    assert book.cartoon is not None
    cartoon = book.cartoon
    outlook(book, today)
    *before, newest = book.sessions
    turns = count(1)

    def after_a_tap() -> None:
        tapped = replace(newest, rows=next(turns) % 5 + 1)
        outlook(replace(book, sessions=(*before, tapped)), today)

    def from_nothing() -> None:
        _block.cache_clear()
        _near_block.cache_clear()
        _reckoned.clear()
        outlook(replace(book, cartoon=replace(cartoon, cells=cartoon.cells.copy())), today)

    bare = timed(lambda: count_of(replace(cartoon, cells=cartoon.cells.copy())))
    again = timed(after_a_tap)
    new = timed(from_nothing)
    print(f"bare array work on the cartoon         {bare * 1e3:7.1f} ms")
    print(
        f"complete answers after a tap           {again * 1e3:7.1f} ms   {again / bare:5.1f} times the array work"
    )
    print(
        f"complete answers, nothing remembered   {new * 1e3:7.1f} ms   {new / bare:5.1f} times the array work"
    )
    print("target: at most 60 ms of processor time, in the middle of 25 runs")


if __name__ == "__main__":
    main()
