"""What an answer says where there is nothing to say."""

from __future__ import annotations

from tests.unit.records import said_unasked
from tracker import forecast
from tracker.domain.taught import NOTHING_TAUGHT
from tracker.forecast.answers import YarnWord


def test_an_answer_claims_nothing_that_was_not_reckoned() -> None:
    assert said_unasked(forecast, {"Answers.taught": NOTHING_TAUGHT}) == []


def test_of_a_weaver_without_earlier_rugs_nothing_is_taught() -> None:
    assert NOTHING_TAUGHT.rugs == 0


def test_the_words_of_a_yarn_stand_in_files_and_never_change() -> None:
    assert [word.value for word in YarnWord] == [
        "enough",
        "tight",
        "asked about",
        "short",
        "not bought",
        "done",
    ]
