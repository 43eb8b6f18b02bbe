"""Builds the demo book: an invented workshop, its rug "Walled garden" on the loom, one finished, one planned.

Everything in it is made up, and says so. The numbers come from one seeded generator that first lets the rug be
woven, yarn by yarn, and then writes down what the two weavers would have noticed: balls that ended, scales rounded
to 5 g, hours rounded to halves. So the record is as coherent, and as rough, as a real one.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from tracker.domain.errors import BookTrouble
from tracker.domain.material import pile_mass_per_knot_g, weft_mass_per_row_g
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    DaysOff,
    Lot,
    Measurement,
    Preparation,
    PreparationKind,
    Role,
    RugPlan,
    RugStage,
    Sample,
    Session,
    Spoilt,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.yarn import parse_fineness
from tracker.files.whole import drop_working, working
from tracker.words import _

CARTOON = Path(__file__).parents[2] / "assets" / "demo" / "cartoon.png"
SEED = 1741
FILE_NAME = "demo.loomside"

SESSIONS = 40
MISSED_AFTER = 21
"""Session after which a week was missed."""
UNPICKED_AT = 17
"""Session in which two rows were taken out again."""
UNPICKED_ROWS = 2
TOGETHER_EVERY = 4
"""Every so many sessions both weavers sit at the loom."""
TOGETHER_RATE = 1.8
"""Two weavers side by side are not quite twice as fast as one."""
FIRST_RATE = 300.0
SETTLED_RATE = 480.0
"""Knots an hour of one weaver in the first session, and when the design is known by heart."""
LEARNING_SESSIONS = 8.0
CHANGE_IN_KNOTS = 1.2
"""A colour change costs the time of so many knots."""
USE_OVER_PLAN = 1.06
"""The weavers use a little more yarn for a knot than they planned."""
SLACK = 1.012
"""Rows come out a little taller than planned."""
WEEKDAYS = (0, 1, 3, 5)


# --- what is noted ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Deed:
    """One act of the demo's weavers: what they did, when, and the values it wrote or record ids it withdrew."""

    day: date
    kind: str
    values: tuple[Any, ...]
    withdrawn: tuple[str, ...] = ()
    rug_id: str | None = None


@dataclass(slots=True)
class Ids:
    """Ids that come out the same each time: 32 hexadecimal digits from the seed."""

    chance: random.Random = field(default_factory=lambda: random.Random(SEED))

    def new(self) -> str:
        """Return the next id."""
        return f"{self.chance.getrandbits(128):032x}"


# --- yarn as it is really used ------------------------------------------------------------------------------------


class Yarns:
    """Yarn on hand as it really is, known to the generator only: what was bought, knotted in, and how balls end."""

    def __init__(self, yarns: tuple[Yarn, ...], g_each: dict[str, float], rng: np.random.Generator) -> None:
        self.by_id = {yarn.id: yarn for yarn in yarns}
        self.g_each = g_each
        self.rng = rng
        self.bought = dict.fromkeys(g_each, 0.0)
        self.gone = dict.fromkeys(g_each, 0.0)
        self.ball_left = {yarn_id: self._next_ball(yarn_id) for yarn_id in g_each}

    def _next_ball(self, yarn_id: str) -> float:
        return float(self.by_id[yarn_id].unit_mass_g * self.rng.normal(1.0, 0.03))

    def take(self, yarn_id: str, mass_g: float) -> int:
        """Take yarn off the ball in use; return how many balls ended."""
        self.gone[yarn_id] += mass_g
        self.ball_left[yarn_id] -= mass_g
        ended = 0
        while self.ball_left[yarn_id] <= 0:
            ended += 1
            self.ball_left[yarn_id] += self._next_ball(yarn_id)
        return ended

    def left_g(self, yarn_id: str) -> float:
        """Return what is truly left in g."""
        return self.bought[yarn_id] - self.gone[yarn_id]


def _to_half(hours: float) -> float:
    return max(0.5, round(2.0 * hours) / 2.0)


# --- the rug on the loom ------------------------------------------------------------------------------------------

WALNUT = "#432A1D"
WALNUT_FIRST_G = 500


def _pile_bought() -> dict[str, tuple[str, int, str, int, float]]:
    """Return for each colour of the cartoon: name, grams bought in all, dye lot, ball in g, price a kilo."""
    return {
        "#A5372A": (_("Madder red"), 1100, "M-14", 200, 62.0),
        "#EFE4CC": (_("Undyed ivory"), 1500, "", 200, 38.0),
        WALNUT: (_("Walnut brown"), 1400, "W-3", 200, 48.0),
        "#223A63": (_("Indigo"), 530, "N-8", 200, 74.0),
        "#55713F": (_("Green"), 500, "G-2", 100, 78.0),
        "#DFB048": (_("Weld yellow"), 300, "Y-5", 100, 58.0),
        "#86A5BC": (_("Pale indigo"), 300, "S-8", 100, 66.0),
        "#D58F75": (_("Pale madder"), 250, "R-14", 100, 56.0),
    }


def _story() -> dict[int, str]:
    """Return the notes that were written, by session."""
    return {
        0: _("First rows. The wall is slow going."),
        1: _("Counted every battlement twice."),
        8: _("The corner flowers came out well."),
        MISSED_AFTER: _("Back ached. A week of rest from here."),
        UNPICKED_AT: _("One knot off since the morning. Two rows out again."),
        UNPICKED_AT + 1: _("Back on the line."),
        35: _("Half of the pool is in."),
        37: _("Asked the dyer whether there is more of M-14."),
    }


def _session_days(today: date) -> list[date]:
    """Return the days of the sessions, oldest first: back from yesterday, with one missed week and few other gaps."""
    chance = random.Random(SEED + 1)
    days: list[date] = []
    day = today - timedelta(days=1)
    while len(days) < SESSIONS:
        draw = chance.random()
        usual = day.weekday() in WEEKDAYS
        if not days or (usual and draw > 0.04) or (day.weekday() == 6 and draw < 0.25):
            days.append(day)
            if len(days) == SESSIONS - 1 - MISSED_AFTER:
                day -= timedelta(days=7)
        day -= timedelta(days=1)
    return days[::-1]


def _foundation(rug_id: str, ids: Ids) -> tuple[Yarn, ...]:
    """Return the two wefts and the warp that both large rugs of the workshop stand on."""

    def yarn(role: Role, number: int, name: str, count: str, swatch: str, unit_g: float) -> Yarn:
        return Yarn(
            id=ids.new(),
            rug_id=rug_id,
            role=role,
            number=number,
            name=name,
            swatch=swatch,
            count=count,
            tex=parse_fineness(count).tex,
            fibre="cotton",
            unit_mass_g=unit_g,
            price_per_kg=14.0,
            dyer=_("the spinner in the valley"),
        )

    return (
        yarn(Role.WEFT, 1, _("Ground weft"), "Nm 5/8", "#D8CDB8", 100.0),
        yarn(Role.WEFT, 2, _("Sinuous weft"), "Nm 5/4", "#B9A78C", 100.0),
        yarn(Role.WARP, 1, _("Warp"), "Ne 10/16", "#E9E2D2", 500.0),
    )


def _walled_garden(today: date, weavers: tuple[Weaver, Weaver], ids: Ids) -> Iterator[Deed]:
    """Weave the rug that is on the loom, and note it."""
    from tracker.pictures.cartoon_reader import read_cartoon

    rng = np.random.default_rng(SEED)
    days = _session_days(today)
    first = days[0]
    picture = read_cartoon(CARTOON)
    bought, story = _pile_bought(), _story()
    plan = RugPlan(
        id=ids.new(),
        name=_("Walled garden"),
        width_cm=round(picture.knots_across / 2.4, 1),
        length_cm=round(picture.rows / 2.4, 1),
        knots_per_10cm=24.0,
        rows_per_10cm=24.0,
        knots_across=picture.knots_across,
        rows=picture.rows,
        pile_height_mm=10.0,
        weekdays=WEEKDAYS,
        hours_per_week=12.0,
        weavers_planned=1,
        start_day=first,
        wished_day=today + timedelta(days=56),
        stage=RugStage.ON_LOOM,
        knots_per_hour=450.0,
        loom_width_cm=150.0,
        notes=_("A demo. The rug, the workshop, its weavers and all figures are invented."),
    )
    cartoon = Cartoon(
        id=ids.new(),
        rug_id=plan.id,
        cells=picture.cells,
        palette=picture.palette,
        source_name=picture.name,
    )
    pile = tuple(
        Yarn(
            id=ids.new(),
            rug_id=plan.id,
            role=Role.PILE,
            number=number,
            name=name,
            swatch=colour,
            cartoon_values=(picture.palette.index(colour),),
            count="Nm 5/2 x 3 strands",
            tex=parse_fineness("Nm 5/2 x 3 strands").tex,
            unit_mass_g=float(ball_g),
            skein_g=250.0,
            least_purchase_g=500.0,
            price_per_kg=price,
            dyer=_("own flock") if not dye_lot else _("the dyer by the river"),
            lead_days=10 if dye_lot else 7,
        )
        for number, (colour, (name, _g, dye_lot, ball_g, price)) in enumerate(bought.items(), start=1)
    )
    ground, sinuous, warp = _foundation(plan.id, ids)
    yarns = (*pile, ground, sinuous, warp)
    steps = tuple(
        AfterStep(id=ids.new(), rug_id=plan.id, number=number, name=name, days=days_it_takes)
        for number, (name, days_it_takes) in enumerate(
            (
                (_("Cut off and secure the ends"), 1.0),
                (_("Wash and dry"), 4.0),
                (_("Shear"), 1.0),
                (_("Fringe"), 2.0),
            ),
            start=1,
        )
    )
    by_name = dict(
        zip(("madder", "ivory", "walnut", "indigo", "green", "weld", "sky", "rose"), pile, strict=True)
    )

    # The truth of this rug, which its weavers do not know.
    g_each = {
        yarn.id: pile_mass_per_knot_g(plan, yarn, warp) * USE_OVER_PLAN * float(rng.normal(1.0, 0.012))
        for yarn in pile
    } | {
        yarn.id: weft_mass_per_row_g(plan, yarn, warp) * float(rng.normal(1.03, 0.01))
        for yarn in (ground, sinuous)
    }
    real = Yarns(yarns, g_each, rng)
    values = [yarn.cartoon_values[0] for yarn in pile]
    knots = np.stack([(picture.cells == value).sum(axis=1) for value in values], axis=1)
    changes = (np.diff(picture.cells.astype(int), axis=1) != 0).sum(axis=1)
    work = plan.knots_across + CHANGE_IN_KNOTS * changes

    yield Deed(first - timedelta(days=26), "rug planned", (plan, cartoon, *yarns, *steps), rug_id=plan.id)

    def lot(yarn: Yarn, day: date, mass_g: float, dye_lot: str, price_per_kg: float | None) -> Lot:
        if yarn.id in real.bought:
            real.bought[yarn.id] += mass_g
        return Lot(
            id=ids.new(),
            rug_id=plan.id,
            yarn_id=yarn.id,
            day=day,
            mass_g=float(mass_g),
            dye_lot=dye_lot,
            dyer=yarn.dyer,
            price=None if price_per_kg is None else round(price_per_kg * mass_g / 1000.0, 2),
        )

    bought_on = first - timedelta(days=14)
    first_lots = []
    for yarn, (_n, mass_g, dye_lot, _ball, price) in zip(pile, bought.values(), strict=True):
        now_g = WALNUT_FIRST_G if yarn is by_name["walnut"] else mass_g
        first_lots.append(lot(yarn, bought_on, now_g, dye_lot, price))
    first_lots += [lot(ground, bought_on, 1000, "", 14.0), lot(sinuous, bought_on, 500, "", 14.0)]
    first_lots.append(lot(warp, bought_on, 1500, "", 14.0))
    yield Deed(bought_on, "yarn bought", tuple(first_lots), rug_id=plan.id)

    sample_knots = 500
    sample_g = round(sample_knots * g_each[by_name["madder"].id])
    real.gone[by_name["madder"].id] += sample_g
    sample_day = first - timedelta(days=10)
    yield Deed(
        sample_day,
        "sample weighed",
        (
            Sample(
                id=ids.new(),
                rug_id=plan.id,
                yarn_id=by_name["madder"].id,
                day=sample_day,
                knots=sample_knots,
                mass_g=float(sample_g),
            ),
            Spoilt(
                id=ids.new(),
                rug_id=plan.id,
                yarn_id=by_name["madder"].id,
                day=sample_day,
                mass_g=float(sample_g),
                note=_("Went into the sample."),
            ),
        ),
        rug_id=plan.id,
    )

    def prepared(
        before: int, kind: PreparationKind, yarn: Yarn | None, count: int, hours: float
    ) -> Preparation:
        return Preparation(
            id=ids.new(),
            rug_id=plan.id,
            day=first - timedelta(days=before),
            kind=kind,
            yarn_id=yarn.id if yarn else None,
            count=count,
            hours=hours,
        )

    yield Deed(
        first - timedelta(days=6),
        "warp mounted",
        (prepared(6, PreparationKind.WARP, None, 1, 9.5),),
        rug_id=plan.id,
    )
    yield Deed(
        first - timedelta(days=4),
        "balls wound",
        tuple(
            prepared(4, PreparationKind.BALLS, by_name[name], count, hours)
            for name, count, hours in (
                ("madder", 4, 1.5),
                ("ivory", 4, 1.0),
                ("walnut", 2, 0.5),
                ("indigo", 2, 0.5),
                ("green", 2, 0.5),
                ("weld", 1, 0.5),
                ("sky", 1, 0.5),
                ("rose", 1, 0.5),
            )
        ),
        rug_id=plan.id,
    )
    yield Deed(
        first - timedelta(days=3),
        "shuttles made",
        (
            prepared(3, PreparationKind.SHUTTLES, ground, 4, 1.5),
            prepared(3, PreparationKind.SHUTTLES, sinuous, 3, 1.5),
        ),
        rug_id=plan.id,
    )

    def weighing(yarn: Yarn, day: date, note: str = "") -> Deed:
        scale_g = real.left_g(yarn.id) + float(rng.normal(0.0, 1.5))
        value = Weighing(
            id=ids.new(),
            rug_id=plan.id,
            yarn_id=yarn.id,
            day=day,
            mass_g=5.0 * round(scale_g / 5.0),
            note=note,
        )
        return Deed(day, "yarn weighed", (value,), rug_id=plan.id)

    def measurement(day: date, row: int) -> Deed:
        length_cm = round(2.0 * row / plan.rows_per_10cm * 10.0 * SLACK) / 2.0
        value = Measurement(id=ids.new(), rug_id=plan.id, day=day, row=row, length_cm=length_cm)
        return Deed(day, "length measured", (value,), rug_id=plan.id)

    row = 0
    for count, day in enumerate(days):
        together = count % TOGETHER_EVERY == TOGETHER_EVERY - 1
        sat = weavers if together else (weavers[0],)
        used: dict[str, int] = {}
        lost: tuple[Spoilt, ...] = ()
        if count == UNPICKED_AT:
            rows, hours = -UNPICKED_ROWS, 1.0
            out = knots[row - UNPICKED_ROWS : row].sum(axis=0)
            row -= UNPICKED_ROWS
            # The balls are lighter already; what came out is too short to knot again.
            lost = tuple(
                Spoilt(
                    id=ids.new(),
                    rug_id=plan.id,
                    yarn_id=yarn.id,
                    day=day,
                    mass_g=float(round(many * g_each[yarn.id])),
                    note=_("Out of the two unpicked rows."),
                )
                for yarn, many in zip(pile, out, strict=True)
                if round(many * g_each[yarn.id]) >= 2
            )
        else:
            settled = 1.0 - np.exp(-(count + 0.5) / LEARNING_SESSIONS)
            rate = FIRST_RATE + (SETTLED_RATE - FIRST_RATE) * settled
            rate *= (TOGETHER_RATE if together else 1.0) * float(np.exp(rng.normal(0.0, 0.10)))
            meant_hours = float(rng.choice([2.0, 2.5, 3.0, 3.0, 3.5, 4.0]))
            took = np.cumsum(work[row:]) / rate
            rows = max(1, int(np.argmin(np.abs(took - meant_hours))) + 1)
            hours = _to_half(float(took[rows - 1]))
            for yarn, many in zip(pile, knots[row : row + rows].sum(axis=0), strict=True):
                used[yarn.id] = real.take(yarn.id, float(many) * g_each[yarn.id])
            for weft in (ground, sinuous):
                used[weft.id] = real.take(weft.id, rows * g_each[weft.id])
            row += rows
        session = Session(
            id=ids.new(),
            rug_id=plan.id,
            day=day,
            rows=rows,
            hours=hours if count != 26 else None,
            weavers=tuple(weaver.id for weaver in sat),
            used=tuple((yarn_id, float(ended)) for yarn_id, ended in used.items() if ended),
            note=story.get(count, ""),
        )
        if count == 24:
            # Slips happen: a figure too many, put right a minute later.
            yield Deed(day, "session logged", (replace(session, rows=rows * 10 + 1),), rug_id=plan.id)
            yield Deed(day, "session corrected", (session,), rug_id=plan.id)
        else:
            yield Deed(day, "session logged", (session, *lost), rug_id=plan.id)
        if count == 12:
            double = replace(session, id=ids.new())
            yield Deed(day, "session logged", (double,), rug_id=plan.id)
            yield Deed(day, "session withdrawn", (), (double.id,), rug_id=plan.id)
        if count == 14:
            yield measurement(day, row)
        if count == 20:
            second = lot(by_name["walnut"], day, bought[WALNUT][1] - WALNUT_FIRST_G, "W-4", 48.0)
            yield Deed(day, "yarn bought", (second,), rug_id=plan.id)
        if count == 22:
            yield weighing(by_name["ivory"], day)
        if count == 28:
            yield weighing(ground, day)
        if count == 31:
            yield measurement(day, row)
        if count == 34:
            yield weighing(by_name["indigo"], day, _("All balls and the rest of the skein."))
        if count == 36:
            yield weighing(by_name["madder"], day, _("That will not do."))
    off = DaysOff(
        id=ids.new(),
        rug_id=None,
        first_day=today + timedelta(days=12),
        last_day=today + timedelta(days=15),
        reason=_("Wedding in the village"),
    )
    yield Deed(days[-1], "days off entered", (off,))


# --- the other two rugs -------------------------------------------------------------------------------------------


def _doorstep(last_day: date, weavers: tuple[Weaver, Weaver], ids: Ids) -> Iterator[Deed]:
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
            least_purchase_g=500.0,
            dyer=_("the dyer by the river"),
        )
        for number, (name, swatch, share) in enumerate(shares, start=1)
    )
    ground, sinuous, warp = _foundation(rug_id, ids)
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
        evenings.append((rows, _to_half(rows * work / rate)))
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
    yield Deed(days[0] - timedelta(days=9), "rug planned", (plan, *yarns, *steps), rug_id=rug_id)
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
    yield Deed(bought_on, "yarn bought", tuple(lots), rug_id=rug_id)
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
        yield Deed(day, "session logged", (session,), rug_id=rug_id)
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
    yield Deed(last_day, "yarn weighed", weighed, rug_id=rug_id)
    done_on = last_day
    done = []
    for step in steps:
        done_on += timedelta(days=int(step.days))
        done.append(replace(step, done_day=done_on))
    finished = replace(plan, stage=RugStage.FINISHED, finished_day=last_day)
    yield Deed(done_on, "rug finished", (finished, *done), rug_id=rug_id)


def _long_winter(today: date, ids: Ids) -> Iterator[Deed]:
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
        today - timedelta(days=5), "rug planned", (plan, *pile, *_foundation(rug_id, ids)), rug_id=rug_id
    )


# --- the book -----------------------------------------------------------------------------------------------------


def demo_deeds(today: date) -> tuple[Deed, ...]:
    """Return everything the demo's weavers noted until the day before `today`, oldest first."""
    ids = Ids()
    weavers = (
        Weaver(id=ids.new(), name=_("Madda (invented)")),
        Weaver(id=ids.new(), name=_("Indi (invented)")),
    )
    garden = list(_walled_garden(today, weavers, ids))
    doorstep = list(_doorstep(garden[0].day - timedelta(days=12), weavers, ids))
    winter = list(_long_winter(today, ids))
    hello = Deed(doorstep[0].day, "weavers entered", weavers)
    # Sorting is stable: within a day, what was noted first stays first.
    return tuple(sorted((hello, *doorstep, *garden, *winter), key=lambda deed: deed.day))


def build_demo(path: str | os.PathLike[str], today: date) -> None:
    """Write the demo book as a new file at `path`, marked as a demo in its header.

    Parameters
    ----------
    path
        Where no file is yet.
    today
        The record ends the day before.

    Raises
    ------
    BookTrouble
        When it cannot be written.
    """
    from storage.book import Book

    clock = [datetime.combine(today, time(18), tzinfo=UTC)]
    with Book.open(path, device_name=_("demo"), now=lambda: clock[0]) as book:
        minutes = 0
        for deed in demo_deeds(today):
            minutes = minutes + 1 if deed.day == clock[0].date() else 0
            clock[0] = datetime.combine(deed.day, time(18, minutes), tzinfo=UTC)
            with book.act(deed.kind, rug_id=deed.rug_id) as act:
                for value in deed.values:
                    act.write(value)
                for record_id in deed.withdrawn:
                    act.withdraw(record_id)
        book.mark_as_demo()


DEMO_LASTS = timedelta(days=7)
"""A demo book untouched for so long is followed by a new one, so that its record ends the day before again."""


def demo_path(folder: Path, today: date, day: date | None = None) -> Path:
    """Return where the demo book lies, or is to be built, in the folder of this user's books.

    Every demo has a folder of its own, named by the day it was built for, and nothing is ever removed to make room for
    a newer one: whatever else lies in `folder` is out of its reach.

    Parameters
    ----------
    today
        The local calendar day.
    day
        The day the demo is asked for, when one was named: its own demo, whatever its age.
    """
    if day is not None:
        return folder / "demo of a day" / day.isoformat() / FILE_NAME
    demos = folder / "demo"
    newest = max(demos.glob(f"*/{FILE_NAME}"), key=lambda path: path.stat().st_mtime, default=None)
    if newest is not None:
        touched = datetime.fromtimestamp(newest.stat().st_mtime).date()  # noqa: DTZ006 - the weaver's own day
        if today - touched <= DEMO_LASTS:
            return newest
    return demos / today.isoformat() / FILE_NAME


def ensure_demo(path: Path, today: date) -> Path:
    """Build the demo book at `path` unless it is there already; return the path.

    Raises
    ------
    BookTrouble
        When a file is there that is no demo of this app (it is left alone), or the demo cannot be written.
    """
    from storage.book import Lock, is_demo, lock_path
    from storage.trouble import as_book_trouble

    if not os.path.lexists(path):
        with as_book_trouble():
            path.parent.mkdir(parents=True, exist_ok=True)
            held = Lock(lock_path(path))
            try:
                _build_beside(path, today, held)
            finally:
                held.release()
    if not is_demo(path):
        raise BookTrouble(
            _(
                "{path} is not a demo book, so it is left alone. Open it without --demo, or move it elsewhere."
            ).format(path=path)
        )
    return path


def _build_beside(path: Path, today: date, held: Any) -> None:
    """Build the demo beside `path`, whose lock is `held`, and move it there whole: stopped half-way, it would stay half a demo."""
    from storage.book import Lock, lock_path, pass_on_witness, witness_path

    half = working(path, "half")
    leftovers = (half, lock_path(half), witness_path(half), working(half, "new"))
    for part in leftovers:
        drop_working(part)
    build_demo(half, today)
    # Noted before the book is there: a lock file that an earlier demo left may vouch for acts that this one lacks.
    counted = Lock(lock_path(half))
    try:
        held.acknowledge(counted.acknowledged())
    finally:
        counted.release()
    pass_on_witness(half, path)
    if not os.path.lexists(path):
        os.replace(half, path)
    for part in leftovers:
        drop_working(part)
