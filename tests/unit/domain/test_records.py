"""What a record says where nobody said anything, and the words that stand in books."""

from __future__ import annotations

from enum import StrEnum

from tests.unit.records import said_unasked
from tracker import domain
from tracker.domain.act import ActKind
from tracker.domain.cartoon_checks import Axis
from tracker.domain.fibres import Air
from tracker.domain.hand_out import HandOutKind
from tracker.domain.history import Since
from tracker.domain.layout import Given
from tracker.domain.loom import LoomKind, WarpLay
from tracker.domain.mark import MarkKind
from tracker.domain.order import DeliveryWay, OrderItem, PaymentKind
from tracker.domain.rug import (
    CostKind,
    Hold,
    HoursFrom,
    KnotKind,
    PreparationKind,
    PriceShown,
    Role,
    RugStage,
    SizeMeasure,
    UnpickedYarn,
    WageBasis,
)
from tracker.domain.yarn import CountSystem

SAID_FOR_ALL = {
    "Seating.ahead": (),
    # Common practice, no source: what most rugs have, and what a plan begins with.
    "RugPlan.knot_kind": KnotKind.SYMMETRIC,
    "RugPlan.weekdays": (0, 1, 2, 3, 4),
    "RugPlan.hours_per_week": 20.0,
    "RugPlan.weavers_planned": 1,
    "RugPlan.selvedge_warps": 8,
    "RugPlan.end_cm": 2.0,
    "RugPlan.fringe_cm": 10.0,
    "RugPlan.loom_waste_cm": 40.0,
    "Yarn.swatch": "#C8B89A",
    "Yarn.fibre": "wool",
    "Yarn.unit_mass_g": 200.0,
    "Yarn.margin": 0.10,
    "Yarn.lead_days": 14,
    # A raj of 7 cm: rugrag.com, quality chart.
    "RugPlan.raj_cm": 7.0,
    "Density.raj_cm": 7.0,
    # One of what there must be at least one of.
    "Yarn.passes_per_row": 1,
    "Preparation.count": 1,
    "Wage.each": 1,
    "Loom.seats": 1,
    "SizeChoice.times_across": 1,
    "SizeChoice.times_along": 1,
    "Fineness.plies": 1,
    "Fineness.strands": 1,
    # The coarser step of the usual scales and tapes (common practice, no source).
    "Weighing.resolution_g": 5.0,
    "Sample.resolution_g": 1.0,
    "Measurement.resolution_cm": 0.5,
    # The first of its kind in a record's life.
    "SizeChoice.given": Given.FULL,
    "RugPlan.stage": RugStage.PLANNED,
    "RugPlan.hold": Hold.ROWS,
    "RugPlan.size_measure": SizeMeasure.KNOTTED,
    "RugPlan.warp_lay": WarpLay.BEHIND,
    "Session.unpicked_yarn": UnpickedYarn.GONE,
    "Pricing.shown": PriceShown.HERE,
    "HandOut.kind": HandOutKind.GIVEN,
    "Loom.kind": LoomKind.UPRIGHT,
    "CartoonMark.kind": MarkKind.MISTAKE,
    "Order.way": DeliveryWay.UNSAID,
    "Change.since": Since.STANDS,
    "Payment.kind": PaymentKind.DEPOSIT,
}  # fmt: skip
"""What is taken where nobody said: everything else is left unsaid."""


def test_what_nobody_said_stays_unsaid() -> None:
    assert said_unasked(domain, SAID_FOR_ALL) == []


IN_BOOKS: dict[type[StrEnum], str] = {
    KnotKind: "symmetric, asymmetric, on a rod",
    Role: "pile, weft, warp, overcasting, side cord, added fringe",
    SizeMeasure: "knotted part, with selvedges and flat ends, with fringes too",
    RugStage: "planned, on the loom, finished",
    Hold: "rows, length",
    UnpickedYarn: "gone, said",
    HoursFrom: "given, usual",
    PreparationKind: "balls wound, shuttles made, warp mounted",
    WageBasis: "knots, rows, square metres, days",
    CostKind: "preparation, finishing, other",
    PriceShown: "in the book only, in the record too",
    HandOutKind: "given, returned",
    LoomKind: "upright, roller beam, horizontal, other",
    WarpLay: "behind, beside",
    MarkKind: "mistake",
    OrderItem: "customer, promised day, price, paid, owed, delivery",
    DeliveryWay: "not said, fetched, brought, sent",
    PaymentKind: "deposit, rest",
    Air: "usual, dry, damp, oven",
    Axis: "upright, level",
    CountSystem: "tex, dtex, den, Nm, Ne",
    ActKind: (
        "session logged, session corrected, rows unpicked, session withdrawn, yarn bought, yarn weighed, yarn spoilt, "
        "yarn moved, change of lot planned, lot opened, lot corrected by a weighing, yarn used up, balls handed out, sample weighed, mistake marked, "
        "mistake mended, length measured, measurement withdrawn, hold changed, days off entered, days off withdrawn, "
        "balls wound, shuttles made, warp mounted, preparation done, photo added, entry corrected, entry withdrawn, "
        "entry restored, rug planned, plan changed, cartoon mended, rug put on the loom, rug finished, "
        "finished size measured, pile trimmed, trimming interval set, washing measured, rug withdrawn, "
        "wished-for day changed, lessons taken over, steps entered, step entered, step changed, step ticked, "
        "step withdrawn, weaver added, weaver renamed, weavers entered, wage entered, money spent, price made, order changed, "
        "payment entered, loom entered, setting changed, undone, join taken back, went back to a copy, rescued"
    ),
}


def test_words_that_stand_in_books_never_change() -> None:
    """A word may be added, here too; a book that holds one that is gone could not be read."""
    assert {words: ", ".join(words) for words in IN_BOOKS} == IN_BOOKS
