"""Small books from which the forecast's tests start."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from tracker.domain.rug import Cartoon, Role, RugBook, RugPlan, RugStage, Session, Yarn

START = date(2026, 1, 5)  # a Monday

PLAN = RugPlan(
    id="r", name="Test rug", width_cm=60, length_cm=90, knots_per_10cm=40, rows_per_10cm=40,
    knots_across=240, rows=360, pile_height_mm=8, start_day=START, hours_per_week=20,
    wished_day=date(2026, 9, 1), stage=RugStage.ON_LOOM,
)  # fmt: skip
RED = Yarn(
    id="red", rug_id="r", role=Role.PILE, number=1, name="Red", share=0.75, tex=400, cartoon_values=(0,),
    cut_length_mm=50,
)  # fmt: skip
BLUE = Yarn(
    id="blue", rug_id="r", role=Role.PILE, number=2, name="Blue", share=0.25, tex=400, cartoon_values=(1,),
    cut_length_mm=50,
)  # fmt: skip
WEFT = Yarn(
    id="weft", rug_id="r", role=Role.WEFT, number=1, name="Ground weft", tex=400, take_up=0.05, unit_mass_g=60
)
BOOK = RugBook(plan=PLAN, yarns=(RED, BLUE, WEFT))
PLANNED_KNOT_G = 400e-6 * 50  # 400 g a km, 50 mm a knot: 20 mg


def striped(rows: int = 360, across: int = 240) -> Cartoon:
    """Return a cartoon whose every row has three red knots to one blue: 119 changes."""
    row = np.tile(np.array([0, 0, 0, 1], dtype=np.uint8), across // 4)
    return Cartoon(id="c", rug_id="r", cells=np.tile(row, (rows, 1)), palette=("#aa0000", "#0000aa"))


def weekdays(count: int, first: date = START) -> list[date]:
    """Return so many Mondays to Fridays."""
    days = [first + timedelta(days=d) for d in range(count * 2 + 7)]
    return [day for day in days if day.weekday() < 5][:count]


def woven(
    book: RugBook,
    rows: Sequence[int],
    hours: Sequence[float | None] | float | None = 4.0,
    days: Sequence[date] | None = None,
) -> RugBook:
    """Weave those rows, one session a working day (or on the given days)."""
    on = days or weekdays(len(rows))
    spent = list(hours) if isinstance(hours, Sequence) else [hours] * len(rows)
    sessions = tuple(
        Session(id=f"s{i}", rug_id="r", day=day, rows=count, hours=time, born=(i + 1) * 10)
        for i, (day, count, time) in enumerate(zip(on, rows, spent, strict=True))
    )
    return replace(book, sessions=sessions)
