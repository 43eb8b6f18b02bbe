"""The rug that is planned next."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from tracker.demo.deeds import Deed, Ids
from tracker.demo.workshop import WEEKDAYS, foundation
from tracker.domain.act import ActKind
from tracker.domain.rug import (
    Role,
    RugPlan,
    Yarn,
)
from tracker.domain.yarn import parse_fineness
from tracker.words import _


def long_winter(today: date, ids: Ids) -> Iterator[Deed]:
    """Plan the next rug: a runner without cartoon, yarn or a single knot."""
    rug_id = ids.new()
    shares = (
        (_("Indigo"), "#223A63", 0.45),
        (_("Undyed ivory"), "#EFE4CC", 0.35),
        (_("Weld yellow"), "#DFB048", 0.2),
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
        )
        for number, (name, swatch, share) in enumerate(shares, start=1)
    )
    plan = RugPlan(
        id=rug_id,
        name=_("Long winter"),
        width_cm=80.0,
        length_cm=240.0,
        knots_per_10cm=24.0,
        rows_per_10cm=24.0,
        knots_across=192,
        rows=576,
        pile_height_mm=12.0,
        weekdays=WEEKDAYS,
        hours_per_week=12.0,
        start_day=today + timedelta(days=75),
        notes=_("A demo. Not begun: no cartoon yet, only shares by eye."),
    )
    yield Deed(
        today - timedelta(days=5), ActKind.RUG_PLANNED, (plan, *pile, *foundation(rug_id, ids)), rug_id=rug_id
    )
