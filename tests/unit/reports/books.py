"""A small invented rug whose every figure can be worked out on paper, and answers for it that nobody forecast."""

from __future__ import annotations

from datetime import date

import numpy as np

from tests.today import TODAY
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    DaysOff,
    Lot,
    Measurement,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Session,
    Spoilt,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.forecast.answers import Answers, Basis, FinishAnswer, Where, YarnAnswer, YarnWord

RED, BLUE = "#A5372A", "#223A63"

CELLS = np.array(
    [
        [0, 0, 0, 0, 0, 0],
        [0, 0, 1, 1, 0, 0],
        [0, 0, 1, 1, 0, 0],
        [1, 0, 0, 0, 0, 1],
    ],
    dtype=np.uint8,
)
"""Row 1 first. Knots of red (0) and blue (1): 6 and 0, 4 and 2, 4 and 2, 4 and 2."""


def small_book(**changes) -> RugBook:
    """6 knots by 4 rows; 3 rows woven in three sessions, the last of which took one row out again.

    Monday 9 November: 2 rows in 2 h, Ann. Tuesday 17 November: 2 rows in 3 h, Ann and Bo.
    Tuesday 24 November: 1 row unpicked in 0.5 h, Bo.
    """
    plan = RugPlan(
        id="rug", name="Little field", width_cm=30.0, length_cm=20.0, knots_per_10cm=2.0, rows_per_10cm=2.0,
        knots_across=6, rows=4, pile_height_mm=9.0, start_day=date(2026, 11, 9), stage=RugStage.ON_LOOM,
    )  # fmt: skip
    pile = [
        Yarn(
            id=name.lower(), rug_id="rug", role=Role.PILE, number=number, name=name, swatch=swatch,
            cartoon_values=(number - 1,), count="Nm 5/2 x 3", tex=1200, dyer="the river dyer",
        )
        for number, (name, swatch) in enumerate((("Madder", RED), ("Indigo", BLUE)), start=1)
    ]  # fmt: skip
    weft = Yarn(
        id="weft", rug_id="rug", role=Role.WEFT, number=1, name="Ground weft", tex=400, fibre="cotton"
    )
    sessions = (
        Session(id="s1", rug_id="rug", day=date(2026, 11, 9), rows=2, hours=2.0, weavers=("ann",), born=10, note="First rows"),
        Session(
            id="s2", rug_id="rug", day=date(2026, 11, 17), rows=2, hours=3.0, weavers=("ann", "bo"), born=11,
            used=(("madder", 1.0), ("weft", 2.0)),
        ),
        Session(id="s3", rug_id="rug", day=date(2026, 11, 24), rows=-1, hours=0.5, weavers=("bo",), born=12),
    )  # fmt: skip
    values = {
        "plan": plan,
        "cartoon": Cartoon(id="c", rug_id="rug", cells=CELLS, palette=(RED, BLUE)),
        "yarns": (*pile, weft),
        "weavers": (Weaver(id="ann", name="Ann"), Weaver(id="bo", name="Bo")),
        "sessions": sessions,
        "lots": (
            Lot(
                id="l1",
                rug_id="rug",
                yarn_id="madder",
                day=date(2026, 11, 2),
                mass_g=500.0,
                dye_lot="M-1",
                dyer="the hill dyer",
                price=31.5,
                born=1,
            ),
            Lot(
                id="l2",
                rug_id="rug",
                yarn_id="madder",
                day=date(2026, 11, 16),
                mass_g=250.0,
                dye_lot="M-2",
                born=2,
            ),
        ),
        "spoilt": (
            Spoilt(id="x", rug_id="rug", yarn_id="madder", day=date(2026, 11, 17), mass_g=20.0, born=14),
        ),
        "weighings": (
            Weighing(id="w", rug_id="rug", yarn_id="madder", day=date(2026, 11, 24), mass_g=610.0, born=15),
        ),
        "measurements": (
            Measurement(id="m", rug_id="rug", day=date(2026, 11, 17), row=4, length_cm=20.5, born=16),
        ),
        "after_steps": (AfterStep(id="a", rug_id="rug", number=1, name="Wash and dry", days=4.0),),
        "days_off": (
            DaysOff(
                id="past",
                rug_id=None,
                first_day=date(2026, 10, 1),
                last_day=date(2026, 10, 2),
                reason="Harvest",
            ),
            DaysOff(
                id="off",
                rug_id=None,
                first_day=date(2026, 12, 24),
                last_day=date(2026, 12, 26),
                reason="Feast, with guests; long",
            ),
        ),
    }
    return RugBook(**{**values, **changes})


def small_answers(**changes) -> Answers:
    """Answers made up for the small rug: last row on 3 December, early 1, late 9; 130 g of indigo by 28 November."""
    values = {
        "day": TODAY,
        "where": Where(rows_woven=3, rows=4, knots_woven=18, knots=24, rows_last_session=-1, hours_woven=5.5),
        "yarns": (
            YarnAnswer(
                yarn_id="indigo", word=YarnWord.NOT_BOUGHT, chance=0.0, bought_g=0.0, on_hand_g=0.0, on_hand_low_g=0.0,
                on_hand_high_g=0.0, needed_g=130.0, needed_low_g=120.0, needed_high_g=140.0, short_g=130.0,
                order_g=500.0, order_skeins=1, order_by=date(2026, 11, 28),
            ),
            YarnAnswer(
                yarn_id="madder", word=YarnWord.ENOUGH, chance=0.99, bought_g=750.0, on_hand_g=612.0, on_hand_low_g=600.0,
                on_hand_high_g=620.0, needed_g=40.0, needed_low_g=35.0, needed_high_g=45.0, short_g=0.0,
            ),
        ),
        "finish": FinishAnswer(
            middle=date(2026, 12, 3), early=date(2026, 12, 1), late=date(2026, 12, 9), ready=date(2026, 12, 7),
            hours_left=2.0, marks=(("middle", 2, date(2026, 11, 26), date(2026, 11, 27), date(2026, 11, 30)),),
        ),
        "basis": Basis(sessions=3, from_plan=False),
    }  # fmt: skip
    return Answers(**{**values, **changes})
