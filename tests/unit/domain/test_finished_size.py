"""The size a rug has on the floor."""

from __future__ import annotations

import pytest

from tests.unit.domain.rugs import plan_of
from tracker.domain import finished_size
from tracker.domain.rug import SizeMeasure


@pytest.mark.parametrize(
    ("shrinks", "changes"),
    [(False, {}), (True, {"loom_shrinkage": 0.01}), (True, {"wash_shrinkage_width": 0.01}),
     (True, {"wash_shrinkage_length": 0.01})],
)  # fmt: skip
def test_a_rug_is_smaller_on_the_floor_once_anything_shrinks_it(shrinks, changes) -> None:
    assert finished_size.shrinks(plan_of(**changes)) is shrinks


def test_the_floor_knows_the_size_that_was_measured_and_before_that_the_ordered_one() -> None:
    assert finished_size.finished_sides_cm(plan_of()) == (100.0, 150.0)
    assert finished_size.sides_of(plan_of()) is None
    measured = {"finished_width_cm": 99.0, "finished_length_cm": 152.0}
    assert finished_size.finished_sides_cm(plan_of(**measured)) == (99.0, 152.0)
    for side in measured:
        # One side alone is not yet a size.
        half = plan_of(**{**measured, side: None})
        assert finished_size.finished_sides_cm(half) == (100.0, 150.0)
        assert finished_size.sides_of(half) is None
    width, length = finished_size.sides_of(plan_of(**measured))
    assert (width.off_cm, length.off_cm) == (-1.0, 2.0)
    assert (width.ordered_cm, length.ordered_cm) == (100.0, 150.0)


def test_a_side_that_is_off_by_all_that_is_allowed_is_within() -> None:
    # 3 cm is the least tolerance published (TS 43).
    assert finished_size.SideCheck(ordered_cm=100.0, measured_cm=103.0).within
    assert finished_size.SideCheck(ordered_cm=100.0, measured_cm=97.0).within
    assert not finished_size.SideCheck(ordered_cm=100.0, measured_cm=103.01).within
    assert not finished_size.SideCheck(ordered_cm=100.0, measured_cm=96.99).within


@pytest.mark.parametrize("measure", SizeMeasure)
def test_knots_and_rows_make_the_size_at_the_density_they_were_reckoned_with(measure) -> None:
    plan = plan_of(
        size_measure=measure, loom_shrinkage=0.03, wash_shrinkage_width=0.02, wash_shrinkage_length=0.04
    )
    knots, rows = finished_size.knots_across(plan, 100.0), finished_size.rows_along(plan, 40.0, 150.0)
    # A whole number of knots is off by half a knot of 2.5 mm at most.
    assert finished_size.finished_width_cm(plan, knots / 4) == pytest.approx(100.0, abs=0.13)
    assert finished_size.finished_length_cm(plan, rows / 4) == pytest.approx(150.0, abs=0.13)
    assert finished_size.density_across(plan, knots, 100.0) == pytest.approx(40.0, rel=0.002)
    assert finished_size.density_along(plan, rows, 150.0) == pytest.approx(40.0, rel=0.002)
    assert finished_size.length_to_weave_cm(plan) == pytest.approx(
        finished_size.knotted_length_cm(plan, 150.0)
    )


def test_where_the_edges_take_up_the_whole_size_a_knot_and_a_row_are_left() -> None:
    plan = plan_of(size_measure=SizeMeasure.FRINGES)
    assert finished_size.knotted_length_cm(plan, 5.0) == finished_size.LEAST_KNOTTED_CM
    assert finished_size.knotted_width_cm(plan, 0.5) == finished_size.LEAST_KNOTTED_CM
    assert (finished_size.knots_across(plan, 0.5), finished_size.rows_along(plan, 40.0, 5.0)) == (1, 1)
