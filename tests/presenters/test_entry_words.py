"""What every kind of entry says of itself: its line in the diary, and each field when somebody looks into it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, yarns
from tracker.domain import rules
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.loom import Loom, LoomKind, WarpLay
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove, MovedLot
from tracker.domain.mark import CartoonMark
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment, PaymentKind
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Cost,
    CostKind,
    DaysOff,
    Hold,
    KnotKind,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
    PriceShown,
    Pricing,
    Role,
    RugStage,
    Sample,
    Session,
    SetAside,
    Setting,
    SizeMeasure,
    Spoilt,
    Wage,
    WageBasis,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.trimming import Trim
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import (
    Names,
    ball_count_words,
    begun_words,
    delivery_words,
    headline,
    kind_words,
    loom_kind_words,
    measured_words,
    moved_words,
    names_in_book,
    names_of,
    payment_kind_words,
    prepared_words,
    role_words,
    set_aside_words,
    small_mass,
    stage_words,
    trimmed_words,
    used_words,
    wage_words,
)

DAY = date(2026, 11, 24)
SAID = "24 November 2026"
LOT = Lot(
    id="l", rug_id="rug", yarn_id="red", day=DAY, mass_g=1250.0, dye_lot="M-1", dyer="Nuray", price=41.5
)
LOOM = Loom(id="loom", name="By the window", kind=LoomKind.GROUND, width_cm=150.0, longest_warp_cm=640.0,
            waste_cm=55.0, seats=3, note="oak")  # fmt: skip
NAMES = names_in_book(
    yarns(),
    (Weaver(id="ann", name="Ann"), Weaver(id="bo", name="Bo")),
    (plan(), plan(id="other", name="Meadow")),
    (LOT,),
    (LOOM,),
)
OF_RUG: dict[str, Any] = {"rug_id": "rug", "day": DAY}
OF_RED: dict[str, Any] = {**OF_RUG, "yarn_id": "red"}

UNKNOWN = "A choice that this Loomside does not know"
TOLD: list[tuple[Any, str, list[tuple[str, str]]]] = [
    (
        Session(id="s", **OF_RUG, rows=5, hours=2.5, weavers=("ann", "bo"), note="warm",
                places=(("ann", 1, 60), ("bo", 61, 100)), ahead=(("bo", 2),), begun_knots=12,
                used=(("red", 2.0), ("weft", 1.0))),
        "+5 rows, 12 knots of the next row, 2.5 h each, 2 balls, 1 shuttle",
        [("Day", SAID), ("Rows", "+5"), ("Begun", "12 knots of the next row"), ("Hours", "2.5 h each"),
         ("Who wove", "Ann and Bo"), ("Places across the width", "Ann: knots 1 to 60 and Bo: knots 61 to 100"),
         ("Ahead", "Bo: 2 rows ahead"), ("Used up", "2 balls of Madder and 1 shuttle of Ground weft"), ("Note", "warm")],
    ),
    (
        Session(id="s", **OF_RUG, rows=-1, hours=None),
        "1 row unpicked",
        [("Day", SAID), ("Rows", "−1"), ("Hours", "not given")],
    ),
    (
        Session(id="s", **OF_RUG, rows=0, hours=None, used=(("gone", 1.5),)),
        "1.5 balls of a yarn no longer in the plan",
        [("Day", SAID), ("Rows", "0"), ("Hours", "not given"), ("Used up", "1.5 balls of a yarn no longer in the plan")],
    ),
    (
        Session(id="s", **OF_RUG, rows=0, hours=None, begun_knots=0),
        "0 rows",
        [("Day", SAID), ("Rows", "0"), ("Begun", "nothing of the next row"), ("Hours", "not given")],
    ),
    (
        replace(LOT, weighed_g=1300.0, regain=0.2),
        "1.25 kg of Madder, dye lot M-1",
        [("Yarn", "Madder"), ("Day", SAID), ("Weight", "1.25 kg"), ("On the scale", "1.3 kg"),
         ("Water in it, of the dry yarn", "20 %"), ("Dye lot", "M-1"), ("Dyer", "Nuray"), ("Price in all", "41.50")],
    ),
    (
        replace(LOT, dye_lot="", dyer="", price=None),
        "1.25 kg of Madder",
        [("Yarn", "Madder"), ("Day", SAID), ("Weight", "1.25 kg")],
    ),
    (
        LotMove(id="v", lot_id="l", day=DAY, mass_g=50.0, from_rug_id="rug", from_yarn_id="red", to_rug_id="other",
                to_yarn_id="blue"),
        "50 g of Madder from Little field to Meadow",
        [("Yarn", "Madder"), ("Day", SAID), ("Weight", "50 g"), ("Dye lot", "M-1"), ("From", "Little field"), ("To", "Meadow")],
    ),
    (
        LotMove(id="v", lot_id="sold", day=DAY, mass_g=50.0, to_rug_id="gone", to_yarn_id="blue"),
        "50 g of Indigo from the shelf to another rug",
        [("Yarn", "Indigo"), ("Day", SAID), ("Weight", "50 g"), ("From", "the shelf"), ("To", "another rug")],
    ),
    (
        CartoonMark(id="m", **OF_RUG, row=250, first_knot=12, last_knot=20, note="too dark"),
        "Mistake in row 250, knots 12 to 20: too dark",
        [("Day", SAID), ("Row", "250"), ("Knots", "knots 12 to 20"), ("Mended on", "not mended yet"), ("Note", "too dark")],
    ),
    (
        CartoonMark(id="m", **OF_RUG, row=250, first_knot=12, last_knot=12, mended_day=DAY),
        "Mistake in row 250, knot 12",
        [("Day", SAID), ("Row", "250"), ("Knots", "knot 12"), ("Mended on", SAID)],
    ),
    (
        Trim(id="t", **OF_RUG, row=120, before_mm=12.5, after_mm=9.0, note="left edge"),
        "up to row 120, from 12.5 mm to 9 mm",
        [("Day", SAID), ("Up to row", "120"), ("Pile before", "12.5 mm"), ("Pile after", "9 mm"), ("Note", "left edge")],
    ),
    (
        HandOut(id="h", **OF_RED, weaver_id="bo", kind=HandOutKind.GIVEN, balls=3.0, mass_g=600.0, lot_id="l", note="n"),
        "3 balls of Madder to Bo",
        [("Day", SAID), ("Given or returned", "given"), ("Who", "Bo"), ("Yarn", "Madder"), ("Balls", "3"),
         ("Weight", "600 g"), ("Dye lot", "dye lot M-1"), ("Note", "n")],
    ),
    (
        HandOut(id="h", **OF_RED, weaver_id=None, kind=HandOutKind.RETURNED, balls=1.25, mass_g=250.0),
        "1.25 balls of Madder back from the loom",
        [("Day", SAID), ("Given or returned", "returned"), ("Who", "whoever weaves"), ("Yarn", "Madder"),
         ("Balls", "1.25"), ("Weight", "250 g")],
    ),
    (
        LotChange(id="c", **OF_RED, lot_id="l", row=81, blend_rows=8, done_day=DAY),
        "Madder: dye lot M-1 by turns over rows 81 to 88",
        [("Yarn", "Madder"), ("Dye lot", "dye lot M-1"), ("From row", "81"), ("Rows by turns", "8"), ("Changed on", SAID)],
    ),
    (
        LotChange(id="c", **OF_RED, lot_id="sold", row=81),
        "Madder: another dye lot from row 81, planned",
        [("Yarn", "Madder"), ("Dye lot", "another dye lot"), ("From row", "81"), ("Changed on", "planned")],
    ),
    (
        Weighing(id="w", **OF_RED, mass_g=312.5, resolution_g=0.25, note="damp"),
        "312.5 g of Madder left",
        [("Yarn", "Madder"), ("Day", SAID), ("What is left", "312.5 g"), ("The scale shows steps of", "0.25 g"), ("Note", "damp")],
    ),
    (
        Spoilt(id="x", **OF_RED, mass_g=0.4, note="mouse"),
        "0.4 g of Madder lost",
        [("Yarn", "Madder"), ("Day", SAID), ("Lost", "0.4 g"), ("Note", "mouse")],
    ),
    (
        Sample(id="p", **OF_RED, knots=1400, mass_g=21.25, resolution_g=0.05),
        "1,400 knots of Madder: 21 g",
        [("Yarn", "Madder"), ("Day", SAID), ("Knots", "1,400"), ("Weight", "21.25 g"), ("The scale shows steps of", "0.05 g")],
    ),
    (
        Measurement(id="m", **OF_RUG, row=40, length_cm=48.25, width_cm=120.0, left_cm=48.0, right_cm=48.4,
                    rising_cm=129.0, falling_cm=129.4, resolution_cm=0.5),
        "row 40: 48.2 cm, 120 cm wide, sides 48 cm and 48.4 cm, diagonals 129 cm and 129.4 cm",
        [("Day", SAID), ("Row", "40"), ("Length", "48.2 cm"), ("Width", "120 cm"), ("Left side", "48 cm"),
         ("Right side", "48.4 cm"), ("Diagonal from lower left", "129 cm"), ("Diagonal from lower right", "129.4 cm"),
         ("Read to", "0.5 cm")],
    ),
    (
        DaysOff(id="d", rug_id="rug", first_day=DAY, last_day=date(2027, 1, 3), reason="market"),
        "24 Nov to 3 Jan 2027: market",
        [("First day", SAID), ("Last day", "3 January 2027"), ("Reason", "market"), ("Counts for", "Little field")],
    ),
    (
        DaysOff(id="d", rug_id=None, first_day=DAY, last_day=DAY),
        "24 Nov",
        [("First day", SAID), ("Last day", SAID), ("Counts for", "every rug")],
    ),
    (
        Preparation(id="b", **OF_RED, kind=PreparationKind.BALLS, count=3, hours=1.25),
        "3 balls of Madder wound",
        [("Day", SAID), ("Done", "3 balls of Madder wound"), ("Hours", "1.25 h")],
    ),
    (
        Preparation(id="b", **OF_RUG, kind=PreparationKind.WARP),
        "Warp mounted",
        [("Day", SAID), ("Done", "Warp mounted")],
    ),
    (
        AfterStep(id="a", rug_id="rug", number=1, name="Wash", days=1.5, done_day=DAY),
        "Wash: done",
        [("Step", "Wash"), ("Takes", "1.5 days"), ("Done on", SAID)],
    ),
    (AfterStep(id="a", rug_id="rug", number=1, name="Shear", days=1.0), "Shear", [("Step", "Shear"), ("Takes", "1 day")]),
    (Photo(id="f", **OF_RUG, file_name="f.jpg", caption="corner"), "corner", [("Day", SAID), ("Caption", "corner")]),
    (Photo(id="f", **OF_RUG, file_name="f.jpg"), "A picture of the rug", [("Day", SAID)]),
    (
        Wage(id="g", rug_id="rug", basis=WageBasis.KNOTS, amount=9.0, each=1000, weaver_id="bo", first_day=DAY),
        "Bo: 9 for each 1,000 knots",
        [("Who", "Bo"), ("Wage", "9 for each 1,000 knots"), ("From", SAID)],
    ),
    (
        Wage(id="g", rug_id="rug", basis=WageBasis.DAYS, amount=20.0),
        "everybody: 20 for each day of weaving",
        [("Who", "everybody"), ("Wage", "20 for each day of weaving"), ("From", "the first row")],
    ),
    (
        Cost(id="o", **OF_RUG, kind=CostKind.FINISHING, amount=31.2567, note="washing"),
        "Finishing: 31.2567",
        [("Day", SAID), ("For", "Finishing"), ("Amount", "31.2567"), ("Note", "washing")],
    ),
    (
        Pricing(id="p", rug_id="rug", margin=0.4025, shown=PriceShown.RECORD),
        "Margin 40.2 % of the price",
        [("Margin", "40.2 %"), ("The price stands", "in the record too")],
    ),
    (
        Pricing(id="p", rug_id="rug", margin=None),
        "No margin",
        [("Margin", "none"), ("The price stands", "in the book only")],
    ),
    (
        Order(id="o", rug_id="rug", customer="The inn", promised_day=DAY, price=900.5, way=DeliveryWay.SENT,
              address="Main road", delivered_day=DAY, note="red border", shown=(OrderItem.PRICE, OrderItem.PAID)),
        "Customer's order",
        [("For whom", "The inn"), ("Promised day", SAID), ("Agreed price", "900.5"), ("How it gets there", "sent"),
         ("Address, or how to reach them", "Main road"), ("Delivered", SAID), ("Note", "red border"),
         ("Told in the record", "Price and Paid")],
    ),
    (Order(id="o", rug_id="rug"), "Customer's order", []),
    (
        Payment(id="y", **OF_RUG, amount=600.0, kind=PaymentKind.DEPOSIT, note="in cash"),
        "Payment from the customer",
        [("Day", SAID), ("For", "Deposit"), ("Amount", "600"), ("Note", "in cash")],
    ),
    (
        LOOM,
        "By the window",
        [("Name", "By the window"), ("Kind of loom", "horizontal, on the ground"), ("Clear width", "150 cm"),
         ("Longest warp", "640 cm"), ("Loom waste", "55 cm"), ("Seats on the bench", "3"), ("Note", "oak")],
    ),
    (Weaver(id="ann", name="Ann"), "Ann", [("Name", "Ann")]),
    (
        Cartoon(id="k", rug_id="rug", cells=np.zeros((150, 40), dtype=np.uint8), palette=("#9C2F25", "#27406B"),
                source_name="vine.png"),
        "Cartoon of 40 knots by 150 rows",
        [("Knots across", "40"), ("Rows", "150"), ("Colours", "2"), ("Taken from", "vine.png")],
    ),
    (
        Yarn(id="red", rug_id="rug", role=Role.PILE, number=3, name="Madder", swatch="#9C2F25", share=0.5, count="Nm 5/2",
             tex=400.0, fibre="silk", unit_mass_g=200.0, twist_contraction=0.03, take_up=0.05, cut_length_mm=50.25,
             pile_g_per_m2=2100.0, skein_g=500.0, least_purchase_g=250.0, margin=0.1, price_per_kg=40.0, dyer="Valley",
             lead_days=14, per_cm=2.5, pieces=4),
        "Madder",
        [("Name", "Madder"), ("Kind", "pile"), ("Number", "3"), ("Swatch", "#9C2F25"), ("Share of the knots", "50 %"),
         ("Fineness (yarn count)", "Nm 5/2"), ("Fibre", "silk"), ("On one ball", "200 g"),
         ("Shortened by twisting", "3 %"), ("Take-up", "5 %"), ("Cut length", "50.2 mm"),
         ("Pile yarn in a square metre", "2.1 kg/m²"), ("Skein", "500 g"), ("Least purchase", "250 g"),
         ("Bought on top of the need", "10 %"), ("Price a kilogram", "40.00"), ("Dyer", "Valley"),
         ("From order to delivery", "14 days"), ("Turns or tufts in 1 cm", "2.5"),
         ("Cords a side, or strands a tuft", "4")],
    ),
    (
        Yarn(id="weft", rug_id="rug", role=Role.WEFT, number=1, name="Ground weft", tex=400.0, fibre="cotton",
             unit_mass_g=100.0, passes_per_row=2, margin=0.05, lead_days=1),
        "Ground weft",
        [("Name", "Ground weft"), ("Kind", "weft"), ("Number", "1"), ("Fibre", "cotton"), ("On one shuttle", "100 g"),
         ("Passes a row", "2"), ("Skein", "0 g"), ("Least purchase", "0 g"), ("Bought on top of the need", "5 %"),
         ("From order to delivery", "1 day")],
    ),
    (Setting(id="length_unit", value="inch"), "Lengths in", [("Lengths in", "inches")]),
    (Setting(id="length_unit", value="cm"), "Lengths in", [("Lengths in", "centimetres")]),
    (Setting(id="country", value=""), "Public holidays of", [("Public holidays of", "none")]),
    (Setting(id="country", value="TR"), "Public holidays of", [("Public holidays of", "Türkiye")]),
    (Setting(id="currency", value="TRY"), "Currency", [("Currency", "TRY")]),
    (
        Setting(id="lead_days", value=14),
        "Days from order to delivery, for new yarns",
        [("Days from order to delivery, for new yarns", "14 days")],
    ),
    (Setting(id="skein_g", value=250), "One skein", [("One skein", "250 g")]),
    (Setting(id="least_purchase_g", value=500), "Least of a colour", [("Least of a colour", "500 g")]),
    (Setting(id="least_purchase_g", value=0), "Least of a colour", [("Least of a colour", "none")]),
    (Setting(id="first_weekday", value=0), "The week begins on", [("The week begins on", "Monday")]),
    (Setting(id="first_weekday", value=6), "The week begins on", [("The week begins on", "Sunday")]),
    (Setting(id="first_weekday", value=7), "The week begins on", [("The week begins on", "7")]),
    (Setting(id="rug in hand", value="other"), "Rug shown", [("Rug shown", "Meadow")]),
    (Setting(id="rug in hand", value="gone"), "Rug shown", [("Rug shown", "…")]),
    (Setting(id="device_name.ab12", value="Kitchen"), "Name of a phone", [("Name of a phone", "Kitchen")]),
    (Setting(id="later", value=2.345), UNKNOWN, [(UNKNOWN, "2.34")]),
    (Setting(id="later", value=True), UNKNOWN, [(UNKNOWN, "True")]),
    (Setting(id="later", value=[1]), UNKNOWN, [(UNKNOWN, "…")]),
    (SetAside(id="z", rug_id="rug", kind="lot", sentence="It weighs nothing."), "Yarn bought: cannot be used",
     [("Cannot be used", "It weighs nothing.")]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("value", "said", "fields"), TOLD, ids=[f"{type(told[0]).__name__} {at}" for at, told in enumerate(TOLD)]
)
def test_an_entry_says_what_it_is_and_every_field_that_was_answered(value, said, fields) -> None:
    assert headline(value, NAMES) == said
    assert list(details(value, NAMES)) == fields


@pytest.mark.parametrize("key", [*rules.TEXT_SETTINGS, *rules.NUMBER_SETTINGS])
def test_every_choice_that_the_rules_know_has_words_of_its_own(key: str) -> None:
    assert headline(Setting(id=key, value=None), NAMES) != UNKNOWN


def test_a_plan_says_all_that_was_planned() -> None:
    told = plan(
        stage=RugStage.FINISHED, size_measure=SizeMeasure.CLOTH, loom_shrinkage=0.015, wash_shrinkage_width=0.02,
        wash_shrinkage_length=0.03, unwashed_width_cm=41.0, unwashed_length_cm=82.0, unwashed_g=1900.0,
        trim_every_rows=20, washed_g=1800.0, finished_width_cm=40.5, finished_length_cm=80.5, knots_per_10cm=25.125,
        rows_per_10cm=26.25, knot_kind=KnotKind.ASYMMETRIC, weekdays=(0, 6), hours_per_week=15.0, weavers_planned=2,
        wished_day=date(2027, 1, 3), finished_day=DAY, hold=Hold.LENGTH, knots_per_hour=500.4, selvedge_warps=8,
        end_cm=1.5, fringe_cm=7.0, loom_id="loom", warp_after="other", warp_lay=WarpLay.BESIDE, warp_gap_cm=20.0,
        loom_waste_cm=55.0, loom_width_cm=150.0, beam_roll_cm=300.0, raj_cm=6.75, unshorn_mm=11.5, jufti_share=0.125,
        warp_offset_degrees=45.0, notes="for the hall",
    )  # fmt: skip
    assert list(details(told, NAMES)) == [
        ("Name", "Little field"), ("State", "finished"), ("Finished width", "40 cm"), ("Finished length", "80 cm"),
        ("Measured by the customer", "with selvedges and flat ends"), ("Shorter once off the loom", "1.5 %"),
        ("Shrinks in width at washing", "2 %"), ("Shrinks in length at washing", "3 %"), ("Unwashed width", "41 cm"),
        ("Unwashed length", "82 cm"), ("Unwashed weight", "1.9 kg"), ("Trim every so many rows", "20"),
        ("Washed weight", "1.8 kg"), ("Width measured when finished", "40.5 cm"),
        ("Length measured when finished", "80.5 cm"), ("Knots in 10 cm", "25.12"), ("Rows in 10 cm", "26.25"),
        ("Knots across", "100"), ("Rows", "200"), ("Pile height", "8 mm"), ("Knot", "asymmetric"),
        ("Weaving days", "Mon and Sun"), ("Hours a week", "15 h"), ("Weavers", "2"), ("Start", "2 November 2026"),
        ("Target date", "3 January 2027"), ("Finished on", SAID), ("Kept when the density differs", "the length"),
        ("Knots an hour", "500"), ("Selvedge warps", "8"), ("Flat-woven end", "1.5 cm"), ("Fringe", "7 cm"),
        ("Loom", "By the window"), ("On one warp with", "Meadow"), ("Lies on that warp", "side by side"),
        ("Gap between the rugs", "20 cm"), ("Loom waste", "55 cm"), ("Width between the loom's sides", "150 cm"),
        ("Cloth the beam takes", "300 cm"), ("One raj", "6.75 cm"), ("Pile height before shearing", "11.5 mm"),
        ("Field tied over four warps", "12.5 %"), ("Every second warp", "half behind"), ("Notes", "for the hall"),
    ]  # fmt: skip
    bare = dict(details(plan(loom_id="gone", warp_after="none", warp_lay=WarpLay.BEHIND), NAMES))
    assert bare["Loom"] == "a loom no longer in the book"
    assert (bare["On one warp with"], bare["Lies on that warp"]) == ("another rug", "one behind the other")
    assert (bare["Kept when the density differs"], bare["Every second warp"]) == (
        "the number of rows",
        "on one plane",
    )
    assert not {"Unwashed weight", "Knots an hour", "Target date", "Shorter once off the loom"} & set(
        dict(details(plan(knots_per_hour=None), NAMES))
    )


def test_somebody_who_is_gone_is_somebody() -> None:
    empty = Names()
    assert (empty.weaver("ann"), empty.rug("rug"), empty.loom("loom")) == (
        "somebody",
        "another rug",
        "a loom no longer in the book",
    )
    assert empty.yarn(None) == empty.yarn("red") == "a yarn no longer in the plan"


def test_a_rugs_book_names_all_that_is_in_it() -> None:
    names = names_of((book(lots=(LOT,), loom=LOOM),))
    assert (names.yarn("red"), names.weaver("bo"), names.rug("rug"), names.loom("loom")) == (
        "Madder",
        "Bo",
        "Little field",
        "By the window",
    )
    assert dict(names.lots) == {"l": LOT}


def test_every_kind_of_entry_has_a_name_of_its_own() -> None:
    assert [kind_words(kind) for kind in (
        "session", "lot", "lot_change", "lot_move", "cartoon_mark", "trim", "hand_out", "weighing", "spoilt", "sample",
        "measurement", "days_off", "preparation", "after_step", "photo", "wage", "cost", "pricing", "rug_order", "payment",
        "loom", "weaver", "cartoon", "yarn", "rug_plan", "setting", "later",
    )] == [
        "Session", "Yarn bought", "Change of dye lot", "Yarn moved", "Mistake", "Pile trimmed", "Balls handed out",
        "Weighing", "Yarn lost", "Sample", "Measured cloth", "Days off", "Preparation", "Step after weaving", "Picture",
        "Wage", "Money spent", "Price", "Order", "Payment", "Loom", "Weaver", "Cartoon", "Yarn in the plan", "Plan",
        "Setting", "Entry",
    ]  # fmt: skip


def test_what_cannot_be_used_is_told_the_plan_first() -> None:
    lot, of_plan = (
        SetAside(id="z", rug_id="rug", kind="lot", sentence="It weighs nothing."),
        SetAside(id="y", rug_id="rug", kind="rug_plan", sentence="It has no rows."),
    )
    assert set_aside_words(book()) == ""
    assert set_aside_words(book(set_aside=(lot,))) == (
        "1 entry cannot be used and counts for nothing. It is in the diary. Yarn bought: It weighs nothing."
    )
    assert set_aside_words(book(set_aside=(lot, lot))) == (
        "2 entries cannot be used and count for nothing. They are in the diary. Yarn bought: It weighs nothing."
    )
    assert set_aside_words(book(set_aside=(lot, of_plan))) == (
        "The plan has a value that is not possible. The nearest possible one is shown. Change the "
        "plan. It has no rows."
    )


def test_moves_of_yarn_say_where_it_came_from_and_where_it_went() -> None:
    def moved(mass_g: float, other: tuple[str, str] | None) -> str:
        lot = MovedLot(
            id="m", rug_id="rug", yarn_id="red", day=DAY, mass_g=mass_g, dye_lot="", move_id="v", other=other
        )
        return moved_words(lot)

    assert moved(-50.0, None) == "50 g put on the shelf"
    assert moved(-50.0, ("other", "blue")) == "50 g given to another rug"
    assert moved(50.0, None) == "50 g taken from the shelf"
    assert moved(50.0, ("other", "blue")) == "50 g got from another rug"


def test_small_words() -> None:
    assert [ball_count_words(balls) for balls in (1.0, 1.5, 2.0, 0.25)] == [
        "1 ball", "1.5 balls", "2 balls", "0.25 balls",
    ]  # fmt: skip
    assert [small_mass(grams) for grams in (0.94, 1.0, 12.4)] == ["0.9 g", "1 g", "12 g"]
    assert [begun_words(knots) for knots in (0, 1, 2)] == [
        "nothing of the next row", "1 knot of the next row", "2 knots of the next row",
    ]  # fmt: skip
    assert used_words(Role.WEFT, "Ground", 2.0) == "2 shuttles of Ground"
    assert used_words(Role.PILE, "Madder", 1.0) == "1 ball of Madder"
    assert used_words(Role.PILE, "Madder", 1.4) == "1.4 balls of Madder"
    assert prepared_words(PreparationKind.SHUTTLES, 1, "Ground") == "1 shuttle of Ground made"
    assert prepared_words(PreparationKind.BALLS, 1, "Madder") == "1 ball of Madder wound"
    trim = Trim(id="t", **OF_RUG, row=9)
    assert trimmed_words(replace(trim, before_mm=12.0), "cm") == "up to row 9"
    assert trimmed_words(replace(trim, after_mm=9.0), "cm") == "up to row 9, left at 9 mm"
    wage = Wage(id="g", rug_id="rug", basis=WageBasis.ROWS, amount=2.5)
    assert [wage_words(replace(wage, basis=basis, each=each)) for basis in WageBasis for each in (1, 3)] == [
        "2.5 for each knot", "2.5 for each 3 knots", "2.5 for each row", "2.5 for each 3 rows",
        "2.5 for each square metre", "2.5 for each 3 square metres", "2.5 for each day of weaving",
        "2.5 for each 3 days of weaving",
    ]  # fmt: skip
    assert [delivery_words(way) for way in DeliveryWay] == ["", "fetched here", "brought there", "sent"]
    assert [loom_kind_words(kind) for kind in LoomKind] == [
        "upright, fixed beams", "upright, roller beams", "horizontal, on the ground", "another kind",
    ]  # fmt: skip
    assert [payment_kind_words(kind) for kind in PaymentKind] == ["deposit", "rest"]
    assert payment_kind_words(PaymentKind.REST, capital=True) == "Rest"
    assert [role_words(role) for role in Role] == [
        "pile",
        "weft",
        "warp",
        "overcasting",
        "side cord",
        "added fringe",
    ]
    assert [stage_words(stage) for stage in RugStage] == ["planned", "on the loom", "finished"]


def test_what_was_measured_in_inches() -> None:
    # An inch is 2.54 cm.
    measured = Measurement(id="m", **OF_RUG, row=4, length_cm=25.4, width_cm=50.8, left_cm=25.4, right_cm=25.4,
                           rising_cm=50.8, falling_cm=50.8)  # fmt: skip
    assert (
        measured_words(measured, "inch")
        == "10 in, 20 in wide, sides 10 in and 10 in, diagonals 20 in and 20 in"
    )
    alone = replace(measured, length_cm=0.0, left_cm=None, rising_cm=None)
    assert measured_words(alone) == "50.8 cm wide"


@pytest.mark.parametrize(
    ("left", "said"), [(13.4, "13.4 g"), (13.0, "13 g"), (312.55, "313 g"), (1250.4, "1.25 kg")]
)
def test_what_was_weighed_is_said_as_the_scale_said_it(left: float, said: str) -> None:
    """312.55 g is what damp yarn comes to at its regain: no scale said that."""
    weighed = Weighing(id="w", rug_id="r", yarn_id="red", day=DAY, mass_g=left, resolution_g=0.2)
    assert headline(weighed, names_of((book(),))) == f"{said} of Madder left"
