"""What a book takes and refuses: the largest and smallest entry of each field, and the first one beyond."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from tests.storage.book_samples import one_of_every_kind
from tracker.domain import rules
from tracker.domain.errors import BadEntry, BookOlder
from tracker.domain.order import OrderItem
from tracker.domain.rug import RugPlan, Setting

SAMPLES = {type(value).__name__: value for value in one_of_every_kind()}
EDGES: list[tuple[str, str, list[Any], list[Any]]] = [
    ("RugPlan", "name", ["", "n" * 80], ["n" * 81, 7]),
    ("RugPlan", "width_cm", [1.0, 2000.0], [0.9, 2000.1]),
    ("RugPlan", "length_cm", [1.0, 2000.0], [0.9, 2000.1]),
    ("RugPlan", "pile_height_mm", [0.1], [0.0, 100.1]),
    ("RugPlan", "weekdays", [(), tuple(range(7))], [(7,), (-1,), (0,) * 8]),
    ("RugPlan", "hours_per_week", [0.1, 168.0], [0.0, 168.1]),
    ("RugPlan", "weavers_planned", [1, 50], [0, 51]),
    ("RugPlan", "start_day", [date(1900, 1, 1), date(2300, 12, 31)], [date(1899, 12, 31), date(2301, 1, 1), "today"]),
    ("RugPlan", "knots_per_hour", [10.0, 10_000.0], [9.9, 10_001.0]),
    ("RugPlan", "selvedge_warps", [0, 1000], [-1, 1001]),
    ("RugPlan", "fringe_cm", [0.0, 12_700.0], [-0.1, 12_700.1]),
    ("RugPlan", "notes", ["n" * 10_000], ["n" * 10_001]),
    ("RugPlan", "raj_cm", [6.0, 8.0], [5.9, 8.1]),
    ("RugPlan", "jufti_share", [0.0, 1.0], [-0.01, 1.01]),
    ("RugPlan", "warp_offset_degrees", [0.0, 90.0], [-1.0, 91.0]),
    ("RugPlan", "unshorn_mm", [8.5, 200.0], [8.4, 200.1]),
    ("RugPlan", "unwashed_width_cm", [None, 1.0, 2000.0], [0.9, 2000.1]),
    ("RugPlan", "unwashed_g", [None, 1.0, 1_000_000.0], [0.9, 1_000_001.0]),
    ("RugPlan", "washed_g", [None, 1.0, 1_000_000.0], [0.9, 1_000_001.0]),
    ("Yarn", "number", [0, 100_000], [-1, 100_001]),
    ("Yarn", "swatch", ["#C8B89A", "#c8b89a"], ["C8B89A", "#C8B89", "#C8B89AA", "red"]),
    ("Yarn", "share", [0.0, 1.0], [-0.1, 1.1]),
    ("Yarn", "cartoon_values", [(), (0, 255), (3,) * 256], [(256,), (-1,), (3,) * 257]),
    ("Yarn", "tex", [0.0, 1250.0], [-1.0, 1e9]),
    ("Yarn", "twist_contraction", [0.0, 0.3], [-0.1, 0.31]),
    ("Yarn", "unit_mass_g", [1.0, 20_000.0], [0.9, 20_001.0]),
    ("Yarn", "passes_per_row", [1, 20], [0, 21]),
    ("Yarn", "take_up", [0.0, 3.0], [-0.1, 3.1]),
    ("Yarn", "cut_length_mm", [5.0, 500.0], [4.9, 500.1]),
    ("Yarn", "pile_g_per_m2", [50.0, 20_000.0], [49.0, 20_001.0]),
    ("Yarn", "skein_g", [0.0, 1.0, 50_000.0], [0.5, 50_001.0]),
    ("Yarn", "margin", [0.0, 2.0], [-0.1, 2.1]),
    ("Yarn", "lead_days", [0, 999], [-1, 1000]),
    ("Session", "rows", [-9999, 9999], [-10_000, 10_000]),
    ("Session", "hours", [0.0, 0.01, 24.0], [0.005, 24.1, -1.0]),
    ("Session", "used", [(), (("y", 0.0),), (("y", 999.0),)], [(("y", 999.1),), (("y", -1.0),), (("y",),)]),
    ("Session", "places", [(("w", 1, 1),)], [(("w", 0, 5),), (("w", 5, 4),)]),
    ("Lot", "mass_g", [1.0, 1_000_000.0], [0.9, 1_000_001.0]),
    ("Lot", "dye_lot", ["d" * 60], ["d" * 61]),
    ("Weighing", "mass_g", [0.0, 1_000_000.0], [-0.1, 1_000_001.0]),
    ("Weighing", "resolution_g", [0.01, 1000.0], [0.0, 1000.1]),
    ("Spoilt", "mass_g", [0.1, 1_000_000.0], [0.0, 1_000_001.0]),
    ("Spoilt", "note", ["n" * 2000], ["n" * 2001]),
    ("Sample", "knots", [1, 100_000], [0, 100_001]),
    ("Sample", "mass_g", [0.01, 10_000.0], [0.0, 10_001.0]),
    ("RugPlan", "trim_every_rows", [None, 1, 10_000], [0, 10_001]),
    ("HandOut", "balls", [0.01, 999.0], [0.0, 999.1]),
    ("HandOut", "mass_g", [0.1, 1_000_000.0], [0.0, 1_000_001.0]),
    ("HandOut", "weaver_id", [None, "w"], [""]),
    ("HandOut", "lot_id", [None, "l"], [""]),
    ("Trim", "row", [1, 40_000], [0, 40_001]),
    ("Trim", "before_mm", [None, 9.0, 200.0], [8.9, 200.1]),
    ("Trim", "after_mm", [None, 0.1, 12.5], [0.0, 12.6]),
    ("Measurement", "row", [1, 40_000], [0, 40_001]),
    ("Measurement", "length_cm", [0.0, 0.1, 10_000.0], [0.05, 10_001.0]),
    ("Measurement", "width_cm", [None, 0.1, 10_000.0], [0.0, 10_001.0]),
    ("Measurement", "falling_cm", [None, 0.1, 10_000.0], [0.0, 10_001.0]),
    ("Measurement", "resolution_cm", [0.01, 10.0], [0.0, 10.1]),
    ("DaysOff", "reason", ["r" * 200], ["r" * 201]),
    ("Preparation", "count", [1, 10_000], [0, 10_001]),
    ("Preparation", "hours", [0.0, 1000.0], [-0.1, 1000.1]),
    ("AfterStep", "days", [0.0, 365.0], [-1.0, 366.0]),
    ("Photo", "caption", ["c" * 300], ["c" * 301]),
    ("Wage", "each", [1, 1_000_000], [0, 1_000_001]),
    ("Wage", "weaver_id", [None, "w"], [""]),
    ("Cost", "amount", [0.0, 1e9], [-0.1, 1.1e9]),
    ("Pricing", "margin", [0.0, 0.95], [-0.1, 0.96]),
    ("Order", "customer", ["", "c" * 80], ["c" * 81]),
    ("Order", "promised_day", [None, date(2300, 12, 31)], [date(2301, 1, 1)]),
    ("Order", "price", [None, 0.0, 1e9], [-0.01, 1.1e9]),
    ("Order", "address", ["a" * 400], ["a" * 401]),
    ("Order", "shown", [(), tuple(OrderItem)], [(OrderItem.PRICE, OrderItem.PRICE)]),
    ("Payment", "amount", [0.0, 1e9], [-0.01, 1.1e9]),
    ("RugPlan", "loom_id", [None, "l" * 80], ["l" * 81]),
    ("RugPlan", "warp_after", [None, "r" * 80], ["r" * 81]),
    ("RugPlan", "warp_gap_cm", [None, 0.0, 12_700.0], [-0.1, 12_700.1]),
    ("Loom", "name", ["n" * 80], ["n" * 81, 7]),
    ("Loom", "width_cm", [None, 1.0, 12_700.0], [0.9, 12_700.1]),
    ("Loom", "longest_warp_cm", [None, 1.0, 12_700.0], [0.9, 12_700.1]),
    ("Loom", "waste_cm", [None, 0.0, 12_700.0], [-0.1, 12_700.1]),
    ("Loom", "seats", [1, 50], [0, 51]),
    ("Loom", "note", ["n" * 2000], ["n" * 2001]),
    ("Cartoon", "palette", [("#000000",) * 64], [(), ("#000000",) * 65, ("black", "white")]),
]  # fmt: skip
"""(kind, field, entries a book takes, entries it refuses); other limits of the kind are left as in the sample."""


@pytest.mark.parametrize(
    ("kind", "field", "taken", "refused"), EDGES, ids=[f"{edge[0]}.{edge[1]}" for edge in EDGES]
)
def test_a_field_takes_its_largest_and_smallest_and_refuses_what_lies_beyond(
    kind: str, field: str, taken: list[Any], refused: list[Any]
) -> None:
    sample = SAMPLES[kind]
    for entry in taken:
        rules.check(replace(sample, **{field: entry}))
    for entry in refused:
        with pytest.raises(BadEntry) as trouble:
            rules.check(replace(sample, **{field: entry}))
        assert trouble.value.sentence


def test_days_off_end_after_they_begin_and_within_ten_years() -> None:
    off = SAMPLES["DaysOff"]
    with pytest.raises(BadEntry):
        rules.check(replace(off, first_day=date(2026, 5, 2), last_day=date(2026, 5, 1)))
    with pytest.raises(BadEntry):
        rules.check(replace(off, first_day=date(2026, 5, 2), last_day=date(2037, 5, 2)))


def test_a_measurement_says_something() -> None:
    nothing = replace(
        SAMPLES["Measurement"],
        length_cm=0.0, width_cm=None, left_cm=None, right_cm=None, rising_cm=None, falling_cm=None,
    )  # fmt: skip
    with pytest.raises(BadEntry) as trouble:
        rules.check(nothing)
    assert "at least one" in trouble.value.sentence
    rules.check(replace(nothing, width_cm=60.0))
    rules.check(replace(nothing, length_cm=7.0))


def test_settings_are_checked_where_the_app_knows_them() -> None:
    for key, good, bad in (
        ("currency", "EUR", "euro"),
        ("country", "DE", "Germany"),
        ("first_weekday", 6, 7),
        ("lead_days", 999, 1000),
        ("skein_g", 50_000, 0),
        ("least_purchase_g", 0, 500_001),
        ("device_name.abc", "red phone", "n" * 81),
    ):
        rules.check(Setting(id=key, value=good))
        with pytest.raises(BadEntry):
            rules.check(Setting(id=key, value=bad))
    with pytest.raises(BadEntry):
        rules.check(Setting(id="first_weekday", value="Monday"))
    rules.check(Setting(id="of a later version", value=[1] * 1000))


def test_a_plan_that_cannot_be_is_opened_at_the_bounds_it_went_past() -> None:
    plan: RugPlan = SAMPLES["RugPlan"]
    near = rules.within(
        replace(
            plan,
            weavers_planned=0,
            width_cm=5000.0,
            name="n" * 90,
            start_day=date(1800, 1, 1),
            weekdays=(9,),
            rows=0,
        )
    )
    assert (near.weavers_planned, near.width_cm, near.name) == (1, 2000.0, "n" * 80)
    assert (near.start_day, near.weekdays, near.rows) == (rules.FIRST_DAY, (), 1)
    assert isinstance(near.weavers_planned, int)
    assert rules.within(replace(plan, unshorn_mm=1.0)).unshorn_mm is None
    assert rules.within(plan) == plan


def test_the_number_after_all_that_are_taken_or_the_least_that_is_free() -> None:
    assert rules.next_number([]) == 1
    assert rules.next_number([1, 2, 7]) == 8
    assert rules.next_number([1, 2, 100_000]) == 3


def test_a_book_that_lacks_acts_says_since_when_and_how_many() -> None:
    trouble = BookOlder(date(2026, 11, 10), 3)
    assert "10 November 2026" in trouble.sentence
    assert "3 steps" in trouble.sentence
    assert "1 step " in BookOlder(date(2026, 11, 10), 1).sentence
    assert (trouble.day, trouble.acts) == (date(2026, 11, 10), 3)


@pytest.mark.parametrize(
    ("kind", "field", "entry", "between"),
    [
        ("RugPlan", "width_cm", 0.5, "between 1 and 2,000 cm"),
        ("RugPlan", "fringe_cm", -1.0, "between 0 and 12,700 cm"),
        ("RugPlan", "weavers_planned", 0, "between 1 and 50."),
        ("Yarn", "pile_g_per_m2", 1.0, "between 50 and 20,000 g"),
        ("Sample", "mass_g", 0.0, "between 0.01 and 10,000 g"),
    ],
)
def test_a_refused_number_is_told_its_bounds_with_their_unit(
    kind: str, field: str, entry: float, between: str
) -> None:
    with pytest.raises(BadEntry) as trouble:
        rules.check(replace(SAMPLES[kind], **{field: entry}))
    assert between in trouble.value.sentence
