"""The small rug that was finished before, woven without a cartoon."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from tracker.demo.deeds import SEED, Deed, Ids
from tracker.demo.workshop import (
    CHANGE_IN_KNOTS,
    FIRST_RATE,
    LEARNING_SESSIONS,
    USE_OVER_PLAN,
    WEEKDAYS,
    foundation,
)
from tracker.demo.yarn_truth import Yarns, to_half
from tracker.domain.act import ActKind
from tracker.domain.material import pile_mass_per_knot_g, weft_mass_per_row_g
from tracker.domain.rug import (
    AfterStep,
    Lot,
    Role,
    RugPlan,
    RugStage,
    Session,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.yarn import parse_fineness
from tracker.words import _


def doorstep(last_day: date, weavers: tuple[Weaver, Weaver], ids: Ids) -> Iterator[Deed]:
    """Weave the small rug that was finished before, without a cartoon, and note it."""
    rng = np.random.default_rng(SEED + 2)
    rug_id = ids.new()
    shares = (
        (_("Madder red"), "#A5372A", 0.5),
        (_("Undyed ivory"), "#EFE4CC", 0.3),
        (_("Walnut brown"), "#432A1D", 0.2),
    )
    pile = tuple(
        Yarn(
            id=ids.new(),
            rug_id=rug_id,
            role=Role.PILE,
            number=number,
            name=name,
            swatch=swatch,
            share=share,
            count="Nm 5/2 x 3 strands",
            tex=parse_fineness("Nm 5/2 x 3 strands").tex,
            skein_g=250.0,
            least_purchase_g=250.0,
            dyer=_("the dyer by the river"),
        )
        for number, (name, swatch, share) in enumerate(shares, start=1)
    )
    ground, sinuous, warp = foundation(rug_id, ids)
    yarns = (*pile, ground, sinuous, warp)
    across, rows_in_all = 144, 216
    plan = RugPlan(
        id=rug_id,
        name=_("Doorstep"),
        width_cm=60.0,
        length_cm=90.0,
        knots_per_10cm=24.0,
        rows_per_10cm=24.0,
        knots_across=across,
        rows=rows_in_all,
        pile_height_mm=10.0,
        weekdays=WEEKDAYS,
        hours_per_week=12.0,
        start_day=last_day,
        stage=RugStage.ON_LOOM,
        notes=_("A demo. The rug, the workshop, its weavers and all figures are invented."),
    )
    g_each = {yarn.id: pile_mass_per_knot_g(plan, yarn, warp) * USE_OVER_PLAN for yarn in pile} | {
        yarn.id: weft_mass_per_row_g(plan, yarn, warp) * 1.03 for yarn in (ground, sinuous)
    }
    real = Yarns(yarns, g_each, rng)
    per_row = {yarn.id: (yarn.share or 0.0) * across * g_each[yarn.id] for yarn in pile}
    per_row |= {weft.id: g_each[weft.id] for weft in (ground, sinuous)}

    # Without a drawing: 8 changes a row, as the forecast expects of three colours.
    work = across + CHANGE_IN_KNOTS * 8
    rows_left = rows_in_all
    evenings: list[tuple[int, float]] = []
    while rows_left:
        settled = 1.0 - np.exp(-(len(evenings) + 0.5) / LEARNING_SESSIONS)
        rate = (FIRST_RATE + (450.0 - FIRST_RATE) * settled) * float(np.exp(rng.normal(0.0, 0.10)))
        rows = min(rows_left, max(1, round(float(rng.choice([2.0, 2.5, 3.0, 3.5])) * rate / work)))
        evenings.append((rows, to_half(rows * work / rate)))
        rows_left -= rows
    days: list[date] = []
    day = last_day
    while len(days) < len(evenings):
        if day.weekday() in WEEKDAYS:
            days.append(day)
        day -= timedelta(days=1)
    days.reverse()
    plan = replace(plan, start_day=days[0])
    steps = tuple(
        AfterStep(id=ids.new(), rug_id=rug_id, number=number, name=name, days=takes)
        for number, (name, takes) in enumerate(
            ((_("Cut off"), 1.0), (_("Wash and dry"), 3.0), (_("Shear"), 1.0)), 1
        )
    )
    yield Deed(days[0] - timedelta(days=9), ActKind.RUG_PLANNED, (plan, *yarns, *steps), rug_id=rug_id)
    bought_on = days[0] - timedelta(days=5)
    lots = []
    for yarn, mass_g, dye_lot in zip(
        yarns, (1250, 750, 500, 500, 500, 1000), ("M-9", "", "W-1", "", "", ""), strict=True
    ):
        if yarn.id in real.bought:
            real.bought[yarn.id] += mass_g
        lots.append(
            Lot(
                id=ids.new(),
                rug_id=rug_id,
                yarn_id=yarn.id,
                day=bought_on,
                mass_g=float(mass_g),
                dye_lot=dye_lot,
                dyer=yarn.dyer,
            )
        )
    yield Deed(bought_on, ActKind.YARN_BOUGHT, tuple(lots), rug_id=rug_id)
    for day, (rows, hours) in zip(days, evenings, strict=True):
        ended = {yarn_id: real.take(yarn_id, rows * mass_g) for yarn_id, mass_g in per_row.items()}
        session = Session(
            id=ids.new(),
            rug_id=rug_id,
            day=day,
            rows=rows,
            hours=hours,
            weavers=(weavers[0].id,),
            used=tuple((yarn_id, float(many)) for yarn_id, many in ended.items() if many),
        )
        yield Deed(day, ActKind.SESSION_LOGGED, (session,), rug_id=rug_id)
    weighed = tuple(
        Weighing(
            id=ids.new(),
            rug_id=rug_id,
            yarn_id=yarn_id,
            day=last_day,
            mass_g=5.0 * round(real.left_g(yarn_id) / 5.0),
            note=_("What was left over."),
        )
        for yarn_id in g_each
    )
    yield Deed(last_day, ActKind.YARN_WEIGHED, weighed, rug_id=rug_id)
    done_on = last_day
    done = []
    for step in steps:
        done_on += timedelta(days=int(step.days))
        done.append(replace(step, done_day=done_on))
    finished = replace(
        plan,
        stage=RugStage.FINISHED,
        finished_day=done_on,
        unwashed_width_cm=61.0,
        unwashed_length_cm=92.0,
        finished_width_cm=60.0,
        finished_length_cm=90.5,
        unwashed_g=2290.0,
        washed_g=2210.0,
    )
    yield Deed(done_on, ActKind.RUG_FINISHED, (finished, *done), rug_id=rug_id)
