"""The rug on the loom as its weavers planned it, what they bought for it, and what they wrote into its diary."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from tracker.demo.deeds import SEED, Ids
from tracker.demo.looms import WIDE_CM, workshop_looms
from tracker.demo.workshop import (
    WEEKDAYS,
    foundation,
)
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Role,
    RugPlan,
    RugStage,
    Yarn,
)
from tracker.domain.yarn import parse_fineness
from tracker.words import _

CARTOON = Path(__file__).parents[2] / "assets" / "demo" / "cartoon.png"
SESSIONS = 40
MISSED_AFTER = 21
"""Session after which a week was missed."""
UNPICKED_AT = 17
"""Session in which two rows were taken out again."""
UNPICKED_ROWS = 2
TOGETHER_EVERY = 4
"""Every so many sessions both weavers sit at the loom."""
TRIM_EVERY_ROWS = 80
"""Rows after which the pile is trimmed on the loom."""
SLACK = 1.012
"""Rows come out a little taller than planned."""
AHEAD_SHARE = 0.02
"""The right side grows ahead of the left one, as a share of the length."""
LEAN_SHARE = 0.004
"""The cloth leans a little to the right, as a share of the length."""
DRAWN_IN_SHARE = 0.015
"""The width gives up so much of itself by the last row."""
WALNUT = "#432A1D"
WALNUT_FIRST_G = 500


def pile_bought() -> dict[str, tuple[str, int, str, int, float]]:
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


def story_notes() -> dict[int, str]:
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


def session_days(today: date) -> list[date]:
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


@dataclass(frozen=True, slots=True)
class Garden:
    """Everything that was planned of the rug."""

    plan: RugPlan
    cartoon: Cartoon
    pile: tuple[Yarn, ...]
    """In the order of `pile_bought`."""
    ground: Yarn
    sinuous: Yarn
    warp: Yarn
    steps: tuple[AfterStep, ...]

    @property
    def yarns(self) -> tuple[Yarn, ...]:
        """Every yarn of the rug."""
        return (*self.pile, self.ground, self.sinuous, self.warp)

    @property
    def by_name(self) -> dict[str, Yarn]:
        """The pile by short names of ours."""
        names = ("madder", "ivory", "walnut", "indigo", "green", "weld", "sky", "rose")
        return dict(zip(names, self.pile, strict=True))


def plan_garden(first: date, today: date, ids: Ids) -> Garden:
    """Return the rug as planned, its first day at the loom being `first`."""
    from tracker.pictures.cartoon_reader import read_cartoon

    picture = read_cartoon(CARTOON)
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
        loom_width_cm=WIDE_CM,
        loom_id=workshop_looms()[0].id,
        trim_every_rows=TRIM_EVERY_ROWS,
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
            least_purchase_g=250.0,
            price_per_kg=price,
            dyer=_("own flock") if not dye_lot else _("the dyer by the river"),
            lead_days=10 if dye_lot else 7,
        )
        for number, (colour, (name, _g, dye_lot, ball_g, price)) in enumerate(pile_bought().items(), start=1)
    )
    ground, sinuous, warp = foundation(plan.id, ids)
    steps = tuple(
        AfterStep(id=ids.new(), rug_id=plan.id, number=number, name=name, days=days_it_takes)
        for number, (name, days_it_takes) in enumerate(
            (
                (_("Cut off and secure the ends"), 1.0),
                (_("Wash and dry"), 4.0),
                (_("Shear"), 1.0),
                (_("Fringe and selvedge"), 2.0),
            ),
            start=1,
        )
    )
    return Garden(plan, cartoon, pile, ground, sinuous, warp, steps)
