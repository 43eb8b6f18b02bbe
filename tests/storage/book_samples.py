"""Openly invented rugs for the tests of the book: one value of every kind, in which every field is filled."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.loom import Loom, LoomKind, WarpLay
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.mark import CartoonMark
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment, PaymentKind
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Cost,
    CostKind,
    DaysOff,
    Hold,
    HoursFrom,
    KnotKind,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
    PriceShown,
    Pricing,
    Role,
    RugPlan,
    RugStage,
    Sample,
    Session,
    Setting,
    SizeMeasure,
    Spoilt,
    UnpickedYarn,
    Wage,
    WageBasis,
    Weaver,
    Weighing,
    Yarn,
    new_id,
)
from tracker.domain.trimming import Trim


class Clock:
    """A phone's clock that a test can set; it goes on by a second whenever it is read."""

    def __init__(self, start: datetime = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)) -> None:
        self.time = start

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


def plan(name: str = "Sample rug", **changes: Any) -> RugPlan:
    """Return a plan of 40 x 60 knots."""
    values: dict[str, Any] = {
        "id": new_id(),
        "name": name,
        "width_cm": 10.0,
        "length_cm": 15.0,
        "knots_per_10cm": 40.0,
        "rows_per_10cm": 40.0,
        "knots_across": 40,
        "rows": 60,
        "pile_height_mm": 8.5,
        "start_day": date(2026, 3, 2),
    }
    return RugPlan(**{**values, **changes})


def session(rug_id: str, day: date = date(2026, 3, 3), rows: int = 4, **changes: Any) -> Session:
    """Return a session."""
    return Session(**{**{"id": new_id(), "rug_id": rug_id, "day": day, "rows": rows}, **changes})


def one_of_every_kind() -> list[Any]:
    """Return one value of every kind, every field other than its default, all of one rug but the book's own."""
    rug = plan(
        name="Bahçe · باغ · 庭 🧶",
        knot_kind=KnotKind.ASYMMETRIC,
        weekdays=(1, 3, 6),
        hours_per_week=11.25,
        weavers_planned=3,
        wished_day=date(2026, 12, 24),
        stage=RugStage.FINISHED,
        finished_day=date(2028, 2, 29),
        hold=Hold.LENGTH,
        knots_per_hour=812.5,
        selvedge_warps=12,
        end_cm=3.5,
        fringe_cm=7.25,
        loom_waste_cm=81.0,
        loom_width_cm=120.0,
        beam_roll_cm=300.0,
        notes="line one\nline two",
        raj_cm=6.75,
        unshorn_mm=10.5,
        jufti_share=0.375,
        warp_offset_degrees=45.0,
        size_measure=SizeMeasure.FRINGES,
        loom_shrinkage=0.0125,
        wash_shrinkage_width=0.015,
        wash_shrinkage_length=0.02,
        finished_width_cm=9.75,
        finished_length_cm=14.5,
        unwashed_width_cm=9.9,
        unwashed_length_cm=14.9,
        unwashed_g=512.5,
        washed_g=488.0,
        trim_every_rows=24,
        loom_id=new_id(),
        warp_after="the rug before it",
        warp_lay=WarpLay.BESIDE,
        warp_gap_cm=7.5,
    )
    weaver = Weaver(id=new_id(), name="First sample weaver")
    yarn = Yarn(
        id=new_id(),
        rug_id=rug.id,
        role=Role.WEFT,
        number=2,
        name="weld",
        swatch="#E3C04A",
        share=0.125,
        cartoon_values=(0, 7, 255),
        count="Nm 5/2 x 3",
        tex=1250.0,
        twist_contraction=0.04,
        fibre="silk",
        unit_mass_g=180.0,
        passes_per_row=2,
        take_up=0.12,
        cut_length_mm=61.5,
        pile_g_per_m2=2100.0,
        skein_g=250.0,
        least_purchase_g=750.0,
        margin=0.07,
        price_per_kg=38.9,
        dyer="the dyer by the river",
        lead_days=21,
        per_cm=6.5,
        pieces=3,
    )
    cells = (np.arange(60 * 40, dtype=np.uint32).reshape(60, 40) % 7 % 2).astype(np.uint8)
    sat = session(
        rug.id,
        day=date(2024, 2, 29),
        rows=-3,
        hours=1.75,
        weavers=(weaver.id,),
        used=((yarn.id, 0.5),),
        note="طويل",
        places=((weaver.id, 3, 40),),
        ahead=((weaver.id, 2),),
        begun_knots=17,
        unpicked_yarn=UnpickedYarn.SAID,
        hours_from=HoursFrom.USUAL,
    )
    bought = Lot(
        id=new_id(),
        rug_id=rug.id,
        yarn_id=yarn.id,
        day=date(2026, 2, 1),
        mass_g=1500.0,
        dye_lot="B7",
        dyer="d",
        price=58.35,
        weighed_g=1550.0,
        regain=0.147,
    )
    return [
        rug,
        weaver,
        yarn,
        Cartoon(id=new_id(), rug_id=rug.id, cells=cells, palette=("#000000", "#FFFFFF"), source_name="g.png"),
        sat,
        bought,
        Weighing(
            id=new_id(),
            rug_id=rug.id,
            yarn_id=yarn.id,
            day=date(2026, 4, 1),
            mass_g=730.0,
            resolution_g=10.0,
            note="damp",
            weighed_g=760.0,
            regain=0.156,
        ),
        Spoilt(
            id=new_id(),
            rug_id=rug.id,
            yarn_id=yarn.id,
            day=date(2026, 4, 2),
            mass_g=20.0,
            note="moths",
            session_id=sat.id,
        ),
        Sample(
            id=new_id(),
            rug_id=rug.id,
            yarn_id=yarn.id,
            day=date(2026, 2, 3),
            knots=400,
            mass_g=31.0,
            resolution_g=0.5,
        ),
        Measurement(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 5, 1),
            row=30,
            length_cm=7.4,
            resolution_cm=0.1,
            width_cm=61.5,
            left_cm=7.3,
            right_cm=7.5,
            rising_cm=62.1,
            falling_cm=61.8,
        ),
        HandOut(
            id=new_id(),
            rug_id=rug.id,
            yarn_id=yarn.id,
            weaver_id=weaver.id,
            kind=HandOutKind.RETURNED,
            day=date(2026, 5, 3),
            balls=1.5,
            mass_g=212.5,
            lot_id="the lot it came from",
            note="one of them begun",
        ),
        Trim(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 5, 2),
            row=28,
            before_mm=12.5,
            after_mm=9.0,
            note="two passes",
        ),
        DaysOff(
            id=new_id(),
            rug_id=rug.id,
            first_day=date(2026, 5, 9),
            last_day=date(2026, 5, 12),
            reason="wedding",
        ),
        Preparation(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 2, 27),
            kind=PreparationKind.SHUTTLES,
            yarn_id=yarn.id,
            count=9,
            hours=4.5,
        ),
        AfterStep(id=new_id(), rug_id=rug.id, number=3, name="shear", days=1.5, done_day=date(2026, 12, 30)),
        Photo(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 3, 8),
            file_name="2026-03-08.jpg",
            caption="border",
            linked_id=sat.id,
        ),
        Wage(
            id=new_id(),
            rug_id=rug.id,
            weaver_id=weaver.id,
            basis=WageBasis.KNOTS,
            amount=9.5,
            each=1000,
            first_day=date(2026, 3, 5),
        ),
        Cost(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 2, 20),
            kind=CostKind.FINISHING,
            amount=31.25,
            note="washing",
        ),
        Pricing(id=new_id(), rug_id=rug.id, margin=0.35, shown=PriceShown.RECORD),
        LotChange(
            id=new_id(),
            rug_id=rug.id,
            yarn_id=yarn.id,
            lot_id=bought.id,
            day=date(2026, 4, 3),
            row=17,
            blend_rows=6,
            done_day=date(2026, 4, 9),
        ),
        CartoonMark(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 4, 5),
            row=21,
            first_knot=7,
            last_knot=9,
            note="two knots too many",
            mended_day=date(2026, 4, 8),
        ),
        LotMove(
            id=new_id(),
            lot_id=bought.id,
            day=date(2026, 4, 11),
            mass_g=120.5,
            from_rug_id=rug.id,
            from_yarn_id=yarn.id,
            to_rug_id=None,
            to_yarn_id=None,
        ),
        Order(
            id=new_id(),
            rug_id=rug.id,
            customer="the inn by the bridge",
            promised_day=date(2026, 12, 20),
            price=2400.5,
            way=DeliveryWay.BROUGHT,
            address="second door past the mill",
            delivered_day=date(2026, 12, 21),
            note="before the feast",
            shown=(OrderItem.PROMISED, OrderItem.PRICE),
        ),
        Payment(
            id=new_id(),
            rug_id=rug.id,
            day=date(2026, 2, 14),
            amount=600.25,
            kind=PaymentKind.REST,
            note="in two parts",
        ),
        Loom(
            id=rug.loom_id or "",
            name="the loom by the window",
            kind=LoomKind.ROLLER,
            width_cm=212.5,
            longest_warp_cm=640.0,
            waste_cm=35.5,
            seats=3,
            note="its upper beam was mended",
        ),
        Setting(id="language", value={"code": "tr", "sizes": [1, 2.5, None, True]}),
        DaysOff(
            id=new_id(), rug_id=None, first_day=date(2026, 8, 1), last_day=date(2026, 8, 1), reason="feast"
        ),
    ]


def bare(value: Any) -> dict[str, Any]:
    """Return a value's fields without `born` (given by the book), cells as nested lists, to be compared."""
    fields = {name: getattr(value, name) for name in value.__dataclass_fields__ if name != "born"}
    if "cells" in fields:
        fields["cells"] = fields["cells"].tolist()
    return fields


def everything(rug_book: Any) -> dict[str, Any]:
    """Return all a rug's book holds as plain data, `born` included, to be compared."""
    told: dict[str, Any] = {}
    for name in rug_book.__dataclass_fields__:
        part = getattr(rug_book, name)
        parts = part if isinstance(part, tuple) else (part,)
        told[name] = [None if one is None else (bare(one), one.born) for one in parts]
    return told


def plain(value: Any) -> dict[str, Any]:
    """Return a value as JSON holds it, with the name of its class."""

    def told(part: Any) -> Any:
        if isinstance(part, date):
            return part.isoformat()
        if isinstance(part, (tuple, list)):
            return [told(one) for one in part]
        return part

    return {"is": type(value).__name__, **{name: told(part) for name, part in bare(value).items()}}


def entry_fields(value: Any) -> dict[str, Any]:
    """Return the fields of a value without cells as an exchange file tells them."""
    from storage.convert import kind_of, to_columns

    return {name: told for name, told in to_columns(kind_of(value), value).items() if told is not None}
