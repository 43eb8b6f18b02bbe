"""What washing took, by hand, and against the plan's own shrinkage."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.presenters.rugs import plan
from tracker.domain import finished_size
from tracker.domain.rug import SizeMeasure
from tracker.domain.washing import WashingLoss, shrinkage_taught, washing_loss


def test_sides_and_weight_by_hand():
    # 80 cm became 78.4: 2 %; 120 became 117: 2.5 %; 3,000 g became 2,850: 150 g, 5 %.
    washed = plan(
        unwashed_width_cm=80.0, finished_width_cm=78.4, unwashed_length_cm=120.0, finished_length_cm=117.0,
        unwashed_g=3000.0, washed_g=2850.0,
    )  # fmt: skip
    loss = washing_loss(washed)
    assert loss.width_share == pytest.approx(0.02)
    assert loss.length_share == pytest.approx(0.025)
    assert (loss.mass_g, loss.mass_share) == (150.0, pytest.approx(0.05))


def test_fringes_that_the_customer_measures_do_not_shrink():
    # Two fringes of 10 cm hang beside 100 cm of cloth, of which washing takes 3.
    washed = plan(
        size_measure=SizeMeasure.FRINGES, fringe_cm=10.0, unwashed_length_cm=120.0, finished_length_cm=117.0
    )
    assert washing_loss(washed).length_share == pytest.approx(0.03)
    assert washing_loss(replace(washed, unwashed_length_cm=20.0)).length_share is None


@pytest.mark.parametrize("measure", SizeMeasure)
def test_it_is_the_shrinkage_that_the_plan_takes(measure):
    # The plan's own way from the loom to the floor, with and without the washing, gives the sizes before and after.
    washes = plan(
        size_measure=measure, loom_shrinkage=0.03, wash_shrinkage_width=0.021, wash_shrinkage_length=0.034
    )
    dry = replace(washes, wash_shrinkage_width=0.0, wash_shrinkage_length=0.0)
    loss = washing_loss(
        replace(
            washes,
            unwashed_width_cm=finished_size.finished_width_cm(dry, 90.0),
            finished_width_cm=finished_size.finished_width_cm(washes, 90.0),
            unwashed_length_cm=finished_size.finished_length_cm(dry, 130.0),
            finished_length_cm=finished_size.finished_length_cm(washes, 130.0),
        )
    )
    assert (loss.width_share, loss.length_share) == (pytest.approx(0.021), pytest.approx(0.034))


def test_what_was_not_measured_before_and_after_is_not_known():
    nothing = WashingLoss(width_share=None, length_share=None, mass_g=None, mass_share=None)
    assert washing_loss(plan()) == nothing
    assert washing_loss(plan(unwashed_width_cm=80.0, finished_length_cm=100.0, washed_g=500.0)) == nothing


def rug(number: int, done: date | None, after_cm: float, **changes):
    return plan(
        id=f"r{number}", name=f"Rug {number}", finished_day=done, unwashed_length_cm=100.0, finished_length_cm=after_cm, **changes
    )  # fmt: skip


def test_the_rug_finished_last_teaches_the_next_one():
    old, late = rug(1, date(2026, 1, 5), 95.0), rug(2, date(2026, 6, 5), 97.9)
    taught = shrinkage_taught((late, old), "new")
    assert (taught.rug_name, taught.width_share, taught.length_share) == ("Rug 2", None, 0.021)
    # A rug teaches nothing to itself.
    assert shrinkage_taught((late, old), "r2").rug_name == "Rug 1"
    assert shrinkage_taught((late,), "r2") is None


def test_a_shrinkage_is_taught_to_a_tenth_of_a_percent() -> None:
    # 100 cm came out of the wash 97.8765 cm long: 2.1235 %, which the form shows and takes as 2.1 %.
    taught = shrinkage_taught((rug(1, date(2026, 1, 5), 97.8765),), "new")
    assert taught.length_share == 0.021
    assert shrinkage_taught((rug(1, date(2026, 1, 5), 97.8499),), "new").length_share == 0.022


def test_a_rug_not_finished_teaches_only_where_none_is() -> None:
    open_rug, done = rug(1, None, 95.0, start_day=date(2027, 1, 1)), rug(2, date(2026, 6, 5), 97.9)
    assert shrinkage_taught((done, open_rug), "new").rug_name == "Rug 2"
    assert shrinkage_taught((open_rug,), "new").rug_name == "Rug 1"


def test_what_no_plan_could_take_is_not_taught():
    assert shrinkage_taught((rug(1, date(2026, 1, 5), 101.0),), "new") is None
    assert shrinkage_taught((rug(1, date(2026, 1, 5), 60.0),), "new") is None
