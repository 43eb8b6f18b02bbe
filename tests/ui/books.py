"""Books to walk the screens with: an overfull one, beside the empty and the demo book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.rug import (
    Cartoon,
    DaysOff,
    Lot,
    Measurement,
    Role,
    RugPlan,
    RugStage,
    Session,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.trimming import Trim

LONG = "Undyed hand-spun wool of the autumn shearing"
COLOURS = 24
SESSIONS = 400


def overfull_book(path: Path, today: date) -> Path:
    """Make a book with long names, 24 colours, 700 x 1,200 knots and 400 sessions."""
    from storage.book import Book

    rng = np.random.default_rng(7)
    plan = RugPlan(
        id="a" * 32,
        name="The long carpet for the great upper room, second of a pair",
        width_cm=233.3,
        length_cm=400.0,
        knots_per_10cm=30.0,
        rows_per_10cm=30.0,
        knots_across=700,
        rows=1200,
        pile_height_mm=9.0,
        start_day=today - timedelta(days=500),
        wished_day=today + timedelta(days=400),
        stage=RugStage.ON_LOOM,
        hours_per_week=44.0,
        weavers_planned=4,
    )
    weavers = [Weaver(id=f"{n:032x}", name=f"{LONG[:18]} {n}") for n in range(1, 5)]
    yarns = [
        Yarn(
            id=f"{100 + n:032x}",
            rug_id=plan.id,
            role=Role.PILE,
            number=n + 1,
            name=f"{LONG}, shade {n + 1}",
            swatch=f"#{(n * 397 + 90) % 256:02X}{(n * 89 + 60) % 256:02X}{(n * 53 + 40) % 256:02X}",
            cartoon_values=(n,),
            count="Nm 5/2 x 3",
            tex=1200,
            dyer="The dyer behind the old mill by the second bridge",
            price_per_kg=1234.5,
        )
        for n in range(COLOURS)
    ]
    wefts = [
        Yarn(
            id=f"{200 + n:032x}",
            rug_id=plan.id,
            role=Role.WEFT,
            number=n + 1,
            name=f"{LONG} weft",
            tex=900 - 400 * n,
        )
        for n in range(2)
    ]
    cells = rng.integers(0, COLOURS, size=(1200, 700)).astype(np.uint8)
    # Blocks rather than noise, so that rows have runs of several knots.
    cells = np.repeat(np.repeat(cells[::8, ::8], 8, axis=0), 8, axis=1)[:1200, :700]
    sessions = [
        Session(
            id=f"{1000 + n:032x}",
            rug_id=plan.id,
            day=today - timedelta(days=SESSIONS - n),
            rows=int(rng.integers(0, 4)),
            hours=float(rng.integers(8, 18)) / 2,
            weavers=tuple(w.id for w in weavers[: 1 + n % 4]),
            used=((yarns[n % COLOURS].id, 1.0),) if n % 2 else (),
            note=f"{LONG}. " * 6 if n % 9 == 0 else "",
        )
        for n in range(SESSIONS)
    ]
    lots = [
        Lot(
            id=f"{2000 + n:032x}",
            rug_id=plan.id,
            yarn_id=yarn.id,
            day=plan.start_day,
            mass_g=12345.0 + n,
            dye_lot=f"LOT-{n:06d}-AUTUMN",
            dyer=yarn.dyer,
        )
        for n, yarn in enumerate([*yarns, *wefts, yarns[0]])
    ]
    with Book.open(path) as book:
        with book.act("rug planned", rug_id=plan.id) as act:
            for value in [
                plan,
                *weavers,
                *yarns,
                *wefts,
                Cartoon(id="b" * 32, rug_id=plan.id, cells=cells, palette=tuple(y.swatch for y in yarns)),
            ]:
                act.write(value)
        for value in [*lots, *sessions]:
            with book.act(
                "session logged" if isinstance(value, Session) else "lot bought", rug_id=plan.id
            ) as act:
                act.write(value)
        with book.act("written", rug_id=plan.id) as act:
            act.write(Weighing(id="c" * 32, rug_id=plan.id, yarn_id=yarns[1].id, day=today, mass_g=1234.0))
            for n in range(14):
                act.write(
                    Trim(
                        id=f"{7000 + n:032x}",
                        rug_id=plan.id,
                        day=today,
                        row=20 * (n + 1),
                        before_mm=13.5,
                        after_mm=9.5 - n % 3,
                    )
                )
            for n in range(10):
                act.write(
                    HandOut(
                        id=f"{8000 + n:032x}",
                        rug_id=plan.id,
                        yarn_id=yarns[n % len(yarns)].id,
                        weaver_id=weavers[n % len(weavers)].id if n else None,
                        kind=HandOutKind.RETURNED if n == 7 else HandOutKind.GIVEN,
                        day=today,
                        balls=1.25 + n,
                        mass_g=1234.5,
                        note=LONG,
                    )
                )
            act.write(Measurement(id="d" * 32, rug_id=plan.id, day=today, row=400, length_cm=131.5))
            act.write(
                DaysOff(
                    id="e" * 32,
                    rug_id=None,
                    first_day=today + timedelta(days=20),
                    last_day=today + timedelta(days=40),
                    reason=LONG,
                )
            )
        for n in range(12):
            with book.act("rug planned", rug_id=f"{300 + n:032x}") as act:
                act.write(
                    replace(plan, id=f"{300 + n:032x}", name=f"{LONG}, rug {n}", stage=RugStage.PLANNED)
                )
    return path


_without: dict[tuple[bytes, tuple[type, ...]], bytes] = {}
"""Books that lack something, by the book they were made from and the kinds taken out: made once a process."""


def without(path: Path, *kinds: type) -> Path:
    """Take every record of these kinds out of a book's rugs, and with `RugPlan` what washing took; return the path."""
    key = path.read_bytes(), kinds
    if key in _without:
        path.write_bytes(_without[key])
    else:
        _take_out(path, kinds)
        _without[key] = path.read_bytes()
    return path


def _take_out(path: Path, kinds: tuple[type, ...]) -> None:
    from storage import reading
    from storage.book import Book

    with Book.open(path) as book:
        for plan in reading.rugs(book):
            rug = reading.rug_book(book, plan.id, with_cartoon=False)
            with book.act("entry withdrawn", rug_id=plan.id) as act:
                for value in (*rug.orders, *rug.payments, *rug.trims):
                    if isinstance(value, kinds):
                        act.withdraw(value.id)
                if RugPlan in kinds:
                    unwashed = dict.fromkeys(
                        ("unwashed_width_cm", "unwashed_length_cm", "unwashed_g", "washed_g")
                    )
                    act.write(replace(plan, finished_width_cm=None, finished_length_cm=None, **unwashed))
                if Trim in kinds:
                    act.write(replace(plan, trim_every_rows=None))
