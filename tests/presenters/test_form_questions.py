"""What each small form asks: its words, how an answer is shown, what may be left open, and what it refuses."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import Any, NamedTuple

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.loom import Loom, LoomKind
from tracker.domain.lot_change import LotChange
from tracker.domain.mark import CartoonMark
from tracker.domain.order import Order, Payment, PaymentKind
from tracker.domain.rug import (
    Cost,
    CostKind,
    Lot,
    Measurement,
    PriceShown,
    Pricing,
    RugBook,
    Sample,
    Wage,
    WageBasis,
    Weighing,
)
from tracker.domain.trimming import Trim
from tracker.presenters import entry_forms as forms
from tracker.presenters.entries.form import EntryForm, FormKind

YESTERDAY = "2026-11-24"
NOTE = "Note is longer than 2,000 characters. Shorten it a little."


def bought(lot_id: str, mark: str, mass_g: float, **changes: Any) -> Lot:
    return Lot(
        id=lot_id, rug_id="rug", yarn_id="red", day=date(2026, 11, 1), mass_g=mass_g, dye_lot=mark, **changes
    )


def rug() -> RugBook:
    """Ten rows woven, two dye lots of red."""
    return book(session(1, 10), lots=(bought("l1", "M-1", 500.0, dyer="Nuray"), bought("l2", "M-2", 300.0)))


def form_for(kind: FormKind, yarn_id: str | None = "red", /, **changes: Any) -> EntryForm:
    form = forms.blank(kind, rug(), TODAY, yarn_id)
    if kind is FormKind.PREPARATION:
        form = replace(form, fixed={"kind": "balls wound"})
    return replace(form, answers={**form.answers, **changes})


class Asked(NamedTuple):
    """A question: what is typed, how it is then shown, the refusal of nonsense, and whether it may be left open."""

    key: str
    typed: Any
    label: str
    shown: str
    hint: str = ""
    refusal: str = ""
    open: bool = False


DAY = Asked("day", YESTERDAY, "Day", "yesterday")
A_NOTE = Asked("note", "by eye", "Note", "by eye", "if you like", NOTE, True)
AIR = Asked("air", None, "Air it lay in", "usual: neither dry nor damp", open=True)
SCALE = Asked("resolution_g", 0.25, "The scale shows steps of", "0.25 g", "the smallest step on its display",
              "The scale shows steps of: give a number from 0.01 to 1,000.")  # fmt: skip


def money(label: str) -> Asked:
    return Asked("amount", 12.3456, label, "12.3456", "in the currency of the book",
                 f"{label}: give a number from 0 to 1,000,000,000.")  # fmt: skip


def side(key: str, label: str, hint: str = "") -> Asked:
    return Asked(key, 48.25, label, "48.2 cm", hint, f"{label}: give a number from 0.1 to 10,000.", True)


ASKED: dict[FormKind, tuple[Asked, ...]] = {
    FormKind.LOT: (
        Asked("mass_g", 1234.56, "Weight", "1,234.6 g", "as it was weighed in the shop",
              "Weight: give a number from 1 to 1,000,000."),
        Asked("dye_lot", "K 7", "Dye lot", "K 7", "the mark of its dye bath, if it has one",
              "Dye lot is longer than 60 characters. Shorten it a little.", True),
        Asked("dyer", "Nuray", "Dyer", "Nuray", "if you like", "Dyer is longer than 80 characters. Shorten it a little.", True),
        Asked("price", 12.346, "Price in all", "12.35", "if you like",
              "Price in all: give a number from 0 to 1,000,000,000.", True),
        DAY, AIR,
    ),
    FormKind.LOT_CHANGE: (
        Asked("lot_id", "l1", "Dye lot", "Dye lot M-1, 500 g bought"),
        Asked("row", 81, "From row", "81", "", "From row: give a number from 1 to 40,000."),
        Asked("blend_rows", 8, "Rows by turns", "8",
              "0: changed at once; a row of each lot in turn hides a line in a wide field",
              "Rows by turns: give a number from 0 to 100.", True),
        Asked("done_day", YESTERDAY, "Changed on", "yesterday", "empty while it is only planned", open=True),
    ),
    FormKind.TRIM: (
        Asked("row", 9, "Up to row", "9", "", "Up to row: give a number from 1 to 400."),
        Asked("before_mm", 12.25, "Pile before", "12.2 mm", "", "Pile before: give a number from 0.1 to 200.", True),
        Asked("after_mm", 9.25, "Pile after", "9.2 mm", "planned: 8 mm", "Pile after: give a number from 0.1 to 200.", True),
        DAY, A_NOTE,
    ),
    FormKind.HAND_OUT: (
        Asked("kind", "returned", "Given or returned", "returned"),
        Asked("weaver_id", "bo", "Who", "Bo"),
        Asked("balls", 1.25, "Balls", "1.25", "", "Balls: give a number from 0.01 to 999."),
        Asked("mass_g", 210.25, "Weight", "210.2 g", "empty: full balls", "Weight: give a number from 0.1 to 1,000,000.", True),
        Asked("lot_id", "l2", "Dye lot", "dye lot M-2"),
        DAY, A_NOTE,
    ),
    FormKind.WEIGHING: (
        Asked("mass_g", 312.55, "What is left", "312.6 g", "All that is left, begun balls and skeins too",
              "What is left: give a number from 0 to 1,000,000."),
        SCALE, DAY, A_NOTE, AIR,
    ),
    FormKind.SPOILT: (
        Asked("mass_g", 20.25, "Weight lost", "20.2 g", "", "Weight lost: give a number from 0.1 to 1,000,000."),
        DAY,
        A_NOTE._replace(hint="spoilt, given away, used for something else"),
    ),
    FormKind.SAMPLE: (
        Asked("knots", 400, "Knots", "400 knots", "knotted and sheared as the rug will be",
              "Knots: give a number from 1 to 100,000."),
        Asked("mass_g", 21.256, "They weigh", "21.26 g", "", "They weigh: give a number from 0.01 to 10,000."),
        SCALE, DAY,
    ),
    FormKind.BALL: (
        Asked("count", 1.5, "Balls used up", "1.5", "", "Balls used up: give a number from 0.25 to 99."),
        DAY,
    ),
    FormKind.MARK: (
        Asked("row", 9, "Row", "9", "", "Row: give a number from 1 to 200."),
        Asked("first_knot", 12, "From knot", "12", "", "From knot: give a number from 1 to 100."),
        Asked("last_knot", 20, "To knot", "20", "", "To knot: give a number from 1 to 100."),
        A_NOTE._replace(hint="what is wrong, such as a knot in another colour"),
        DAY,
        Asked("mended_day", YESTERDAY, "Mended on", "yesterday", "empty while it is still there", open=True),
    ),
    FormKind.MEASUREMENT: (
        Asked("row", 9, "At row", "9", "", "At row: give a number from 1 to 400."),
        side("length_cm", "Length", "from the first row of knots to this one"),
        side("width_cm", "Width", "from edge to edge, at this row"),
        side("left_cm", "Left side"), side("right_cm", "Right side"),
        side("rising_cm", "Diagonal from lower left"), side("falling_cm", "Diagonal from lower right"),
        Asked("resolution_cm", 0.25, "Read to", "0.25 cm", "", "Read to: give a number from 0.01 to 10."),
        DAY,
    ),
    FormKind.PREPARATION: (
        Asked("count", 3, "How many", "3 balls", "", "How many: give a number from 1 to 10,000."),
        DAY,
        Asked("hours", 1.25, "Hours", "1.25 h", "how long it took in all, not counted as weaving", "Hours: give a number from 0 to 1,000.", True),
    ),
    FormKind.DAYS_OFF: (
        Asked("first_day", YESTERDAY, "First day", "yesterday"),
        Asked("last_day", "2026-11-25", "Last day", "today"),
        Asked("reason", "market", "Reason", "market", "if you like", "Reason is longer than 200 characters. Shorten it a little.", True),
    ),
    FormKind.PHOTO: (
        Asked("caption", "corner", "Caption", "corner", "if you like",
              "Caption is longer than 300 characters. Shorten it a little.", True),
        DAY,
    ),
    FormKind.WAGE: (
        money("Wage"),
        Asked("each", 500, "Paid for each", "500", "", "Paid for each: give a number from 1 to 1,000,000."),
        Asked("basis", "square metres", "What is paid for", "square metres"),
        Asked("weaver_id", "bo", "Who", "Bo", "her own wage counts before everybody's", open=True),
        Asked("first_day", YESTERDAY, "From", "yesterday", "left open: from the first row of the rug", open=True),
    ),
    FormKind.COST: (
        money("Amount"),
        Asked("kind", "finishing", "For", "Finishing"),
        DAY,
        A_NOTE._replace(hint="washing, stretching, transport, rent of the loom ..."),
    ),
    FormKind.PRICING: (
        Asked("percent", 40.25, "Margin", "40.2 %", "the share of the price that is left when the cost is paid",
              "Margin: give a number from 0 to 95.", True),
        Asked("shown", "in the record too", "The price stands", "in the record too",
              "the customer reads the record; costs and wages are never in it"),
    ),
    FormKind.PAYMENT: (
        money("Amount"),
        Asked("kind", "rest", "For", "the rest, or a part of it"),
        DAY, A_NOTE,
    ),
    FormKind.LOOM: (
        Asked("name", "By the window", "Name", "By the window", "as you call it",
              "Name is longer than 80 characters. Shorten it a little."),
        Asked("kind", "roller beam", "Kind of loom", "upright, roller beams"),
        Asked("width_cm", 150.25, "Clear width", "150.2 cm", "between its sides",
              "Clear width: give a number from 1 to 12,700.", True),
        Asked("longest_warp_cm", 640.25, "Longest warp", "640.2 cm", "from end to end",
              "Longest warp: give a number from 1 to 12,700.", True),
        Asked("waste_cm", 55.25, "Loom waste", "55.2 cm", "usual: 40 cm", "Loom waste: give a number from 0 to 12,700.", True),
        Asked("seats", 3, "Seats on the bench", "3", "", "Seats on the bench: give a number from 1 to 50."),
        A_NOTE,
    ),
}  # fmt: skip


def test_every_form_is_looked_at() -> None:
    assert set(ASKED) == set(FormKind)


@pytest.mark.parametrize("kind", FormKind)
def test_a_filled_form_shows_its_questions_with_their_answers(kind: FormKind) -> None:
    form = form_for(kind, **{asked.key: asked.typed for asked in ASKED[kind]})
    lines = forms.build_entry_form_state(form, rug(), TODAY).lines
    assert [(line.question.key, line.question.label, line.answer, line.hint) for line in lines] == [
        (asked.key, asked.label, asked.shown, asked.hint) for asked in ASKED[kind]
    ]
    assert [line.question.key for line in lines if line.question.optional] == [
        asked.key for asked in ASKED[kind] if asked.open
    ]


@pytest.mark.parametrize("kind", FormKind)
def test_nonsense_is_refused_with_what_would_do(kind: FormKind) -> None:
    typed = {asked.key: asked.typed for asked in ASKED[kind]}
    for asked in ASKED[kind]:
        if not asked.refusal:
            continue
        nonsense = (-5, 1e15) if isinstance(asked.typed, int | float) else ("x" * 2001,)
        for answer in nonsense:
            with pytest.raises(BadEntry) as refused:
                forms.to_value(form_for(kind, **{**typed, asked.key: answer}), rug(), TODAY)
            assert refused.value.sentence == asked.refusal


BLANK: dict[FormKind, dict[str, Any]] = {
    FormKind.LOT: {"day": "2026-11-25", "dyer": ""},
    FormKind.LOT_CHANGE: {
        "day": "2026-11-25", "lot_id": "l2", "row": 11, "blend_rows": 0, "done_day": "2026-11-25",
    },
    FormKind.TRIM: {"day": "2026-11-25", "row": 10},
    FormKind.HAND_OUT: {"day": "2026-11-25", "kind": "given", "weaver_id": None, "balls": 1},
    FormKind.WEIGHING: {"day": "2026-11-25", "resolution_g": 5.0},
    FormKind.SPOILT: {"day": "2026-11-25"},
    FormKind.SAMPLE: {"day": "2026-11-25", "knots": 500, "resolution_g": 1.0},
    FormKind.BALL: {"day": "2026-11-25", "count": 1},
    FormKind.MARK: {"day": "2026-11-25", "row": 10, "first_knot": 1, "last_knot": 1},
    FormKind.MEASUREMENT: {"day": "2026-11-25", "row": 10, "resolution_cm": 0.5},
    FormKind.PREPARATION: {"day": "2026-11-25"},
    FormKind.DAYS_OFF: {"first_day": "2026-11-25", "last_day": "2026-11-25"},
    FormKind.PHOTO: {"day": "2026-11-25"},
    FormKind.WAGE: {"weaver_id": None, "first_day": None, "basis": "knots", "each": 1000},
    FormKind.COST: {"day": "2026-11-25", "kind": "other"},
    FormKind.PRICING: {"shown": "in the book only"},
    FormKind.PAYMENT: {"day": "2026-11-25", "kind": "deposit"},
    FormKind.LOOM: {"kind": "upright", "seats": 1},
}  # fmt: skip


@pytest.mark.parametrize("kind", FormKind)
def test_an_empty_form_has_answered_what_is_usual(kind: FormKind) -> None:
    assert forms.blank(kind, rug(), TODAY, "red").answers == BLANK[kind]


def test_before_the_first_row_no_row_is_proposed() -> None:
    begun = replace(rug(), sessions=(), lots=())
    assert forms.blank(FormKind.TRIM, begun, TODAY).answers["row"] is None
    assert forms.blank(FormKind.MEASUREMENT, begun, TODAY).answers["row"] is None
    assert forms.blank(FormKind.MARK, begun, TODAY).answers["row"] == 1
    change = forms.blank(FormKind.LOT_CHANGE, begun, TODAY, "red")
    assert (change.answers["row"], change.answers["lot_id"]) == (1, None)
    first_row = replace(begun, sessions=(session(1, 1),))
    assert forms.blank(FormKind.TRIM, first_row, TODAY).answers["row"] == 1
    assert forms.blank(FormKind.LOT_CHANGE, first_row, TODAY, "red").answers["row"] == 2


def test_what_was_said_last_is_proposed_again() -> None:
    told = replace(
        rug(),
        lots=(bought("l1", "M-1", 500.0, dyer="Nuray"),),
        weighings=(
            Weighing(id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=9.0, resolution_g=0.5),
            Weighing(id="v", rug_id="rug", yarn_id="red", day=TODAY, mass_g=9.0, resolution_g=2.0),
        ),
        samples=(
            Sample(id="s", rug_id="rug", yarn_id="red", day=TODAY, knots=9, mass_g=1.0, resolution_g=0.2),
        ),
        wages=(
            Wage(id="a", rug_id="rug", basis=WageBasis.ROWS, amount=2.5, each=1),
            Wage(id="b", rug_id="rug", basis=WageBasis.AREA, amount=2.5, each=3),
        ),
        weavers=rug().weavers[1:],
    )
    assert forms.blank(FormKind.LOT, told, TODAY, "red").answers["dyer"] == "Nuray"
    assert forms.blank(FormKind.WEIGHING, told, TODAY, "red").answers["resolution_g"] == 2.0
    assert forms.blank(FormKind.SAMPLE, told, TODAY, "red").answers["resolution_g"] == 0.2
    wage = forms.blank(FormKind.WAGE, told, TODAY).answers
    assert (wage["basis"], wage["each"]) == ("square metres", 3)
    assert forms.blank(FormKind.HAND_OUT, told, TODAY, "red").answers["weaver_id"] == "bo", "who weaves alone"


def test_the_rest_is_proposed_once_a_deposit_is_paid_or_the_rug_is_delivered() -> None:
    deposit = Payment(id="p", rug_id="rug", day=TODAY, amount=100.0, kind=PaymentKind.DEPOSIT)
    agreed = Order(id="o", rug_id="rug", customer="The inn")
    for order, payments, kind in (
        (agreed, (), "deposit"),
        (agreed, (deposit,), "rest"),
        (replace(agreed, delivered_day=TODAY), (), "rest"),
    ):
        known = replace(rug(), orders=(order,), payments=payments)
        assert forms.blank(FormKind.PAYMENT, known, TODAY).answers["kind"] == kind


NAMED = [
    ("lot", "Bought: Madder", "Correct what was bought: Madder", ActKind.YARN_BOUGHT),
    ("lot change", "Open another dye lot: Madder", "Correct the change of dye lot: Madder", ActKind.LOT_OPENED),
    ("trim", "Pile trimmed", "Correct the trimming: Madder", ActKind.PILE_TRIMMED),
    ("hand out", "Balls handed out: Madder", "Correct the balls handed out: Madder", ActKind.BALLS_HANDED_OUT),
    ("weighing", "Weigh what is left: Madder", "Correct the weighing: Madder", ActKind.YARN_WEIGHED),
    ("spoilt", "Lost: Madder", "Correct what was lost: Madder", ActKind.YARN_SPOILT),
    ("mark", "Mark a mistake", "Correct the mark: Madder", ActKind.MISTAKE_MARKED),
    ("sample", "Sample of Madder", "Correct the sample: Madder", ActKind.SAMPLE_WEIGHED),
    ("ball", "Used up: Madder", "", ActKind.YARN_USED_UP),
    ("measurement", "Measure the cloth", "Correct what was measured: Madder", ActKind.LENGTH_MEASURED),
    ("preparation", "Preparation", "Correct what was prepared: Madder", ActKind.PREPARATION_DONE),
    ("days off", "Days off", "Correct the days off: Madder", ActKind.DAYS_OFF_ENTERED),
    ("photo", "Picture", "The picture's words: Madder", ActKind.PHOTO_ADDED),
    ("wage", "A wage", "Correct the wage: Madder", ActKind.WAGE_ENTERED),
    ("cost", "Money spent", "Correct what was spent: Madder", ActKind.MONEY_SPENT),
    ("pricing", "Price by cost and margin", "Price by cost and margin: Madder", ActKind.PRICE_MADE),
    ("payment", "Payment from the customer", "Correct the payment: Madder", ActKind.PAYMENT_ENTERED),
    ("loom", "A loom", "Correct the loom: Madder", ActKind.LOOM_ENTERED),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "title", "correction", "deed"), NAMED, ids=[named[0] for named in NAMED])
def test_a_form_kept_under_its_name_opens_again_with_its_title(kind, title, correction, deed) -> None:
    # The names stand in drafts that an earlier version wrote.
    fixed = {"kind": "balls wound", "file_name": "f.jpg"} if kind in ("preparation", "photo") else {}
    kept = {**forms.to_kept(form_for(FormKind(kind))), "kind": kind, "yarn_id": "red", "fixed": fixed}
    form = forms.from_kept(json.loads(json.dumps(kept)))
    assert form is not None
    assert (forms.title_of(form, rug()), forms.deed_of(form)) == (title, deed)
    assert forms.along(form, None, form, ()) == ()
    if correction:
        correcting = replace(form, correcting=True)
        assert (forms.title_of(correcting, rug()), forms.deed_of(correcting)) == (
            correction,
            ActKind.ENTRY_CORRECTED,
        )
        assert forms.title_of(correcting, None) == correction.removesuffix(": Madder")


ENTERED = (
    LotChange(id="c", rug_id="rug", yarn_id="red", day=TODAY, lot_id="l2", row=8, blend_rows=4, done_day=TODAY),
    LotChange(id="d", rug_id="rug", yarn_id="red", day=TODAY, lot_id="l2", row=81),
    Trim(id="t", rug_id="rug", day=TODAY, row=9, before_mm=12.5, after_mm=9.0, note="left edge"),
    HandOut(id="h", rug_id="rug", yarn_id="red", day=TODAY, weaver_id="bo", kind=HandOutKind.RETURNED, balls=1.5,
            mass_g=210.5, lot_id="l1", note="begun"),
    CartoonMark(id="m", rug_id="rug", day=TODAY, row=7, first_knot=12, last_knot=20, note="too dark", mended_day=TODAY),
    Measurement(id="w", rug_id="rug", day=TODAY, row=9, length_cm=0.0, width_cm=40.5),
    Wage(id="a", rug_id="rug", basis=WageBasis.DAYS, amount=2.5, each=2, weaver_id="bo", first_day=TODAY),
    Cost(id="o", rug_id="rug", day=TODAY, kind=CostKind.FINISHING, amount=31.25, note="washing"),
    Pricing(id="p", rug_id="rug", margin=0.4025, shown=PriceShown.RECORD),
    Pricing(id="q", rug_id="rug", margin=None),
    Payment(id="y", rug_id="rug", day=TODAY, amount=600.0, kind=PaymentKind.REST, note="in cash"),
    Loom(id="l", name="By the window", kind=LoomKind.ROLLER, width_cm=150.0, longest_warp_cm=640.0, waste_cm=55.0, seats=3),
)  # fmt: skip


@pytest.mark.parametrize("value", ENTERED, ids=lambda value: type(value).__name__)
def test_an_entry_opened_and_saved_is_as_it_was(value: Any) -> None:
    kept = json.loads(json.dumps(forms.to_kept(forms.form_of(value))))
    form = forms.from_kept(kept)
    assert form is not None
    assert forms.to_value(form, rug(), TODAY) == value


def test_balls_without_a_mass_weigh_what_full_ones_do_and_never_nothing() -> None:
    out = forms.to_value(form_for(FormKind.HAND_OUT, balls=1.5, lot_id=None), rug(), TODAY)
    # A ball of 200 g, as a yarn has it of which nothing else is said.
    assert (out.mass_g, out.lot_id, out.kind) == (300.0, None, HandOutKind.GIVEN)
    light = replace(rug(), yarns=tuple(replace(yarn, unit_mass_g=1.0) for yarn in rug().yarns))
    assert forms.to_value(form_for(FormKind.HAND_OUT, balls=0.01, lot_id=None), light, TODAY).mass_g == 0.1


def test_a_dye_lot_that_is_gone_stays_what_was_said() -> None:
    gone = "a dye lot that is not in the book any more"
    for kind in (FormKind.HAND_OUT, FormKind.LOT_CHANGE):
        form = form_for(kind, lot_id="sold")
        (line,) = (
            line
            for line in forms.build_entry_form_state(form, rug(), TODAY).lines
            if line.question.key == "lot_id"
        )
        assert line.answer == gone
        assert line.question.choices[-1] == ("sold", gone)
        assert forms.to_value(form, rug(), TODAY).lot_id == "sold"
    nobody = form_for(FormKind.HAND_OUT)
    (line,) = (
        line
        for line in forms.build_entry_form_state(nobody, rug(), TODAY).lines
        if line.question.key == "lot_id"
    )
    assert line.question.choices == ((None, "not said"), ("l1", "dye lot M-1"), ("l2", "dye lot M-2"))


def test_two_purchases_of_a_dye_lot_are_one_choice_under_the_one_that_was_named() -> None:
    twice = replace(rug(), lots=(*rug().lots, bought("l3", "M-1", 250.0), bought("l4", "", 50.0)))
    (line,) = (
        line
        for line in forms.build_entry_form_state(
            form_for(FormKind.LOT_CHANGE, lot_id="l3"), twice, TODAY
        ).lines
        if line.question.key == "lot_id"
    )
    assert line.question.choices == (
        ("l3", "Dye lot M-1, 750 g bought"),
        ("l2", "Dye lot M-2, 300 g bought"),
        ("l4", "The lot of 1 Nov, 50 g bought"),
    )


def test_a_change_needs_a_lot_to_change_to() -> None:
    alone = replace(rug(), lots=())
    with pytest.raises(BadEntry, match=r"One answer is missing: Dye lot\. Tap it and give it\."):
        forms.to_value(form_for(FormKind.LOT_CHANGE, lot_id=None), alone, TODAY)
    first = "Only one dye lot of this yarn is in the book. Enter what you bought first."
    form = form_for(FormKind.LOT_CHANGE, lot_id=None)
    for lots, said in ((alone.lots, first), (rug().lots[:1], first), (rug().lots, "")):
        assert forms.build_entry_form_state(form, replace(rug(), lots=lots), TODAY).caution == said


def test_a_kept_change_of_lot_without_its_day_is_no_draft() -> None:
    form = form_for(FormKind.LOT_CHANGE)
    assert forms.from_kept(forms.to_kept(form)) == form
    assert forms.from_kept(forms.to_kept(replace(form, answers={**form.answers, "day": None}))) is None


def test_a_change_of_lot_left_open_by_turns_is_made_at_once() -> None:
    value = forms.to_value(form_for(FormKind.LOT_CHANGE, blend_rows=None, day=YESTERDAY), rug(), TODAY)
    assert (value.blend_rows, value.day, value.done_day) == (0, date(2026, 11, 24), TODAY)


def test_a_measurement_without_a_length_is_refused_and_a_width_alone_will_do() -> None:
    with pytest.raises(BadEntry) as refused:
        forms.to_value(form_for(FormKind.MEASUREMENT), rug(), TODAY)
    assert refused.value.sentence == "Give at least one length that you measured."
    wide = forms.to_value(form_for(FormKind.MEASUREMENT, width_cm=40.5), rug(), TODAY)
    assert (wide.length_cm, wide.width_cm, wide.row) == (0.0, 40.5, 10)


def test_a_mark_lies_in_the_rug_and_reads_from_left_to_right() -> None:
    with pytest.raises(BadEntry) as refused:
        forms.to_value(form_for(FormKind.MARK, first_knot=13, last_knot=12), rug(), TODAY)
    assert refused.value.sentence == "The last knot lies before the first one. Change one of them."
    one = forms.to_value(form_for(FormKind.MARK, first_knot=12, last_knot=12, row=200), rug(), TODAY)
    assert (one.first_knot, one.last_knot, one.row, one.mended_day) == (12, 12, 200, None)


def test_a_mark_above_the_rug_is_refused() -> None:
    with pytest.raises(BadEntry) as refused:
        forms.to_value(form_for(FormKind.MARK, row=201), rug(), TODAY)
    assert refused.value.sentence == "Row: give a number from 1 to 200."


def test_another_lot_is_opened_where_there_is_another() -> None:
    form = form_for(FormKind.LOT_CHANGE)
    assert (form.answers["lot_id"], form.answers["row"], form.answers["day"]) == ("l2", 11, "2026-11-25")
    with pytest.raises(BadEntry) as refused:
        forms.to_value(form_for(FormKind.LOT_CHANGE, "blue"), rug(), TODAY)
    assert refused.value.sentence == "One answer is missing: Dye lot. Tap it and give it."
    assert forms.blank(FormKind.LOT_CHANGE, rug(), TODAY).answers["lot_id"] is None
    kept = forms.to_kept(form)
    assert forms.from_kept(kept) == form
    assert forms.from_kept({**kept, "answers": {**kept["answers"], "day": "yesterday"}}) is None


def test_a_ball_of_a_yarn_that_is_gone_is_refused() -> None:
    with pytest.raises(BadEntry) as refused:
        forms.to_value(replace(form_for(FormKind.BALL), yarn_id=None), rug(), TODAY)
    assert refused.value.sentence == "This yarn is not in the book any more."


def test_one_day_off_is_enough_and_none_ends_before_it_begins() -> None:
    with pytest.raises(BadEntry) as refused:
        forms.to_value(form_for(FormKind.DAYS_OFF, last_day=YESTERDAY), rug(), TODAY)
    assert refused.value.sentence == "The last day lies before the first one. Change one of them."
    off = forms.to_value(form_for(FormKind.DAYS_OFF), rug(), TODAY)
    assert (off.first_day, off.last_day, off.rug_id) == (TODAY, TODAY, "rug")


def test_a_pile_cut_lower_than_planned_is_cautioned_from_two_tenths_on() -> None:
    def caution(after_mm: float | None) -> str:
        return forms.caution_of(form_for(FormKind.TRIM, after_mm=after_mm), rug())

    assert caution(None) == caution(7.8) == ""
    assert caution(7.7) == "Lower than planned. What is cut off cannot be put back."
    assert forms.caution_of(form_for(FormKind.TRIM, after_mm=1.0), None) == ""


def test_a_warp_is_asked_for_its_hours_alone_and_wefts_are_wound_on_shuttles() -> None:
    warp = replace(form_for(FormKind.PREPARATION), fixed={"kind": "warp mounted"})
    assert [question.key for question in forms.questions(warp, rug())] == ["day", "hours"]
    mounted = forms.to_value(warp.with_answer("hours", 9), rug(), TODAY)
    assert (mounted.kind, mounted.count, mounted.hours) == ("warp mounted", 1, 9.0)
    wound = replace(form_for(FormKind.PREPARATION, "weft", count=3), fixed={"kind": "shuttles made"})
    assert forms.build_entry_form_state(wound, rug(), TODAY).lines[0].answer == "3 shuttles"
    used = forms.build_entry_form_state(form_for(FormKind.BALL, "weft"), rug(), TODAY)
    assert used.lines[0].question.label == "Shuttles used up"
    left = forms.build_entry_form_state(form_for(FormKind.WEIGHING, "weft"), rug(), TODAY)
    assert left.lines[0].hint == "All that is left, begun shuttles and skeins too"


def test_whose_ball_it_was_is_asked_where_two_were_given_some() -> None:
    def given(who: str) -> HandOut:
        return HandOut(
            id=f"to {who}", rug_id="rug", yarn_id="red", day=TODAY, weaver_id=who, balls=1.0, mass_g=200.0
        )

    two = replace(rug(), hand_outs=(given("ann"), given("bo")))
    state = forms.build_entry_form_state(form_for(FormKind.BALL), two, TODAY)
    assert [(line.question.label, line.answer, line.hint) for line in state.lines] == [
        ("Balls used up", "1", ""),
        ("Whose", "not said", "who was given balls of this yarn"),
        ("Day", "today", ""),
    ]
    assert state.lines[1].question.choices == ((None, "not said"), ("ann", "Ann"), ("bo", "Bo"))
    assert len(forms.questions(form_for(FormKind.BALL, "blue"), two)) == 2
    assert len(forms.questions(form_for(FormKind.BALL), replace(rug(), hand_outs=(given("bo"),)))) == 2
    # Ann's session of that day stays hers: the ball of the other is an entry of her own.
    woven = replace(two, sessions=(session(24, 5, day=TODAY, used=(("red", 1.0),)),))
    bos = forms.to_value(form_for(FormKind.BALL, weaver_id="bo"), woven, TODAY)
    assert (bos.id != "s24", bos.weavers, bos.rows, bos.used) == (True, ("bo",), 0, (("red", 1.0),))
    anns = forms.to_value(form_for(FormKind.BALL, weaver_id="ann"), woven, TODAY)
    assert (anns.id, dict(anns.used)) == ("s24", {"red": 2.0})


def test_dye_lots_and_dyers_of_before_are_offered_the_last_lot_first() -> None:
    offers = {question.key: question.offers for question in forms.questions(form_for(FormKind.LOT), rug())}
    assert offers["dye_lot"] == ("M-2", "M-1")
    assert offers["dyer"] == ("Nuray",)
    assert forms.questions(form_for(FormKind.LOT, "blue"), rug())[1].offers == ()


def test_what_can_be_chosen_is_said_in_words() -> None:
    def choices(kind: FormKind, key: str) -> tuple[str, ...]:
        (question,) = (asked for asked in forms.questions(form_for(kind), rug()) if asked.key == key)
        return tuple(words for _answer, words in question.choices)

    assert choices(FormKind.WAGE, "basis") == ("knots", "rows", "square metres", "days")
    assert choices(FormKind.WAGE, "weaver_id") == ("everybody", "Ann", "Bo")
    assert choices(FormKind.HAND_OUT, "weaver_id") == ("whoever weaves", "Ann", "Bo")
    assert choices(FormKind.PRICING, "shown") == ("in the book only", "in the record too")
    assert choices(FormKind.PAYMENT, "kind") == ("deposit, before it is done", "the rest, or a part of it")
    assert choices(FormKind.COST, "kind") == ("Preparation", "Finishing", "Other costs")
    for basis in WageBasis:
        wage = forms.to_value(form_for(FormKind.WAGE, amount=1, basis=str(basis)), rug(), TODAY)
        assert wage.basis is basis


def test_only_a_note_gets_more_than_one_line_to_write_on() -> None:
    lines = {question.key: question.lines for question in forms.questions(form_for(FormKind.LOOM), None)}
    assert lines.pop("note") == 3
    assert set(lines.values()) == {1}


def test_yarn_of_a_third_dye_lot_is_cautioned_with_those_that_are_there() -> None:
    assert forms.caution_of(form_for(FormKind.LOT, dye_lot="M-3"), rug()) == (
        "You have M-1 and M-2 of this yarn. M-3 may differ in shade. Lay them side by side in daylight, "
        "and change over where it will not show."
    )


def test_who_knows_the_water_in_the_yarn_reads_what_it_counts_as() -> None:
    def air(**changes: Any) -> str:
        form = form_for(FormKind.LOT, mass_g=1200, air="measured", **changes)
        return next(
            line.hint
            for line in forms.build_entry_form_state(form, rug(), TODAY).lines
            if line.question.key == "air"
        )

    # 1,000 g dry and a fifth of water; carded wool is traded with 17 %.
    assert air(damp_percent=20) == "counts as 1.17 kg, at the 17 % of water usual for this fibre in trade"
    assert air() == ""


def test_balls_are_wound_whole_and_a_pile_is_told_to_the_tenth() -> None:
    wound = replace(form_for(FormKind.PREPARATION, count=3.9), fixed={"kind": "balls wound"})
    assert forms.to_value(wound, rug(), TODAY).count == 3
    high = replace(rug(), plan=plan(pile_height_mm=8.25))
    assert forms.caution_of(form_for(FormKind.TRIM, after_mm=5.0), high) == (
        "Lower than planned. What is cut off cannot be put back."
    )


def test_one_ball_is_called_one_ball() -> None:
    form = form_for(FormKind.PREPARATION, count=1)
    lines = {
        line.question.key: line.answer for line in forms.build_entry_form_state(form, rug(), TODAY).lines
    }
    assert lines["count"] == "1 ball"
