"""What an answer says where there is nothing to say."""

from __future__ import annotations

from tests.unit.records import said_unasked
from tracker import forecast
from tracker.domain.taught import NOTHING_TAUGHT


def test_an_answer_claims_nothing_that_was_not_reckoned() -> None:
    assert said_unasked(forecast, {"Answers.taught": NOTHING_TAUGHT}) == []


def test_of_a_weaver_without_earlier_rugs_nothing_is_taught() -> None:
    assert NOTHING_TAUGHT.rugs == 0
