"""How a rug's size, what it may be off by, and what washing took are said."""

from __future__ import annotations

import pytest

from tests.presenters.rugs import plan
from tracker.domain.finished_size import tolerance_cm
from tracker.domain.rug import RugStage
from tracker.domain.washing import TaughtShrinkage
from tracker.presenters.size_words import (
    agreement_words,
    finished_size_words,
    taught_words,
    washing_words,
    width_on_loom_words,
)


def test_the_size_is_said_as_planned_until_it_is_measured() -> None:
    # The plan has 40 x 80 cm; an inch is 2.54 cm.
    assert finished_size_words(plan(), "cm") == "to be 40 × 80 cm finished"
    assert finished_size_words(plan(stage=RugStage.FINISHED), "inch") == "planned 15.7 × 31.5 in finished"
    measured = plan(stage=RugStage.FINISHED, finished_width_cm=41.0, finished_length_cm=79.5)
    assert finished_size_words(measured, "cm") == "41 × 79.5 cm finished"
    assert (
        finished_size_words(plan(stage=RugStage.FINISHED, finished_width_cm=41.0), "cm")
        == "planned 40 × 80 cm finished"
    )


def test_a_rug_agrees_with_its_order_or_it_is_said_which_side_is_off() -> None:
    # A small rug may be off by 3 cm either way.
    assert agreement_words(plan(), "cm", True) is None
    assert agreement_words(plan(finished_width_cm=43.0, finished_length_cm=77.0), "cm", True) == (
        "ordered: 40 × 80 cm; within what is allowed (3 cm in width, 3 cm in length)",
        True,
    )
    assert agreement_words(plan(finished_width_cm=43.0, finished_length_cm=77.0), "inch", True) == (
        "ordered: 15.7 × 31.5 in; within what is allowed (1.2 in in width, 1.2 in in length)",
        True,
    )
    assert agreement_words(plan(finished_width_cm=43.5, finished_length_cm=80.0), "cm", True) == (
        "ordered: 40 × 80 cm; 3.5 cm too wide, allowed 3 cm",
        False,
    )
    assert agreement_words(plan(finished_width_cm=36.0, finished_length_cm=84.0), "cm", True) == (
        "ordered: 40 × 80 cm; 4 cm too narrow, allowed 3 cm; 4 cm too long, allowed 3 cm",
        False,
    )
    words, within = agreement_words(plan(finished_width_cm=40.0, finished_length_cm=74.92), "inch", True) or (
        "",
        1,
    )
    assert words == "ordered: 15.7 × 31.5 in; 2 in too short, allowed 1.2 in"
    assert not within


def test_a_small_rug_may_be_off_by_a_small_part_of_it():
    # 15 cm: 3 cm would be a fifth of it. As of 40 cm 7.5 %, 1.1 cm.
    small = plan(width_cm=15.0, length_cm=15.0, finished_width_cm=16.0, finished_length_cm=17.0)
    assert agreement_words(small, "cm", True) == ("ordered: 15 × 15 cm; 2 cm too long, allowed 1.1 cm", False)
    # Where the rules meet nothing jumps.
    assert tolerance_cm(39.999) == pytest.approx(tolerance_cm(40.0), abs=1e-3)
    assert width_on_loom_words(plan(), 41.6, "cm") == "41.6 cm (40 cm of knots, 1.6 cm of selvedges)"
    assert width_on_loom_words(plan(), 40.0, "inch") == "15.7 in"


def test_what_washing_took_is_said_for_each_side_and_the_weight() -> None:
    assert washing_words(plan()) == ""
    shrunk = plan(unwashed_width_cm=50.0, finished_width_cm=49.0, unwashed_length_cm=100.0, finished_length_cm=97.5,
                  unwashed_g=2000.0, washed_g=1900.0)  # fmt: skip
    # 1 of 50, 2.5 of 100, 100 of 2,000.
    assert (
        washing_words(shrunk)
        == "Taken by washing: 2 % of the width, 2.5 % of the length, 100 g of the weight (5 %)."
    )
    grown = plan(unwashed_width_cm=50.0, finished_width_cm=51.0, unwashed_length_cm=100.0, finished_length_cm=101.0,
                 unwashed_g=2000.0, washed_g=2100.0)  # fmt: skip
    assert washing_words(grown) == "Taken by washing: 2 % wider, 1 % longer, 100 g heavier (5 %)."


def test_what_the_last_rug_lost_in_washing_is_offered_to_the_next() -> None:
    assert taught_words(TaughtShrinkage(rug_name="Meadow", width_share=0.02, length_share=0.03)) == (
        "On your last rug, Meadow, washing took 2 % of the width, 3 % of the length."
    )
    assert taught_words(TaughtShrinkage(rug_name="Meadow", width_share=None, length_share=0.015)) == (
        "On your last rug, Meadow, washing took 1.5 % of the length."
    )
