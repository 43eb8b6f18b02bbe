"""Answers written by hand, for tests of what is said of them."""

from __future__ import annotations

from datetime import date
from typing import Any

from tracker.forecast.answers import Answers, Basis, FinishAnswer, Where, YarnAnswer, YarnWord

TODAY = date(2026, 11, 25)


def where(**changes: Any) -> Where:
    """Row 50 of 200, a quarter of 20,000 knots, five rows in the last session."""
    fields = {
        "rows_woven": 50, "rows": 200, "knots_woven": 5_000, "knots": 20_000, "rows_last_session": 5, "hours_woven": 30.0,
    }  # fmt: skip
    return Where(**{**fields, **changes})


def yarn(yarn_id: str, word: YarnWord = YarnWord.ENOUGH, **changes: Any) -> YarnAnswer:
    """A yarn of which 500 g are on hand and 400 g still needed."""
    fields = {
        "yarn_id": yarn_id, "word": word, "chance": 0.9, "bought_g": 1000.0, "on_hand_g": 500.0,
        "on_hand_low_g": 480.0, "on_hand_high_g": 520.0, "needed_g": 400.0, "needed_low_g": 380.0,
        "needed_high_g": 420.0, "short_g": 0.0,
    }  # fmt: skip
    if "short_g" in changes and "on_hand_g" not in changes and word is YarnWord.SHORT:
        # Short is what is needed less what is on hand.
        fields["on_hand_g"] = changes.get("needed_g", fields["needed_g"]) - changes["short_g"]
    return YarnAnswer(**{**fields, **changes})


def answers(**changes: Any) -> Answers:
    """What ten sessions say: done about 20 January, between the 12th and the 31st."""
    fields = {
        "day": TODAY,
        "where": where(),
        "yarns": (yarn("red"), yarn("weft")),
        "finish": FinishAnswer(
            middle=date(2027, 1, 20), early=date(2027, 1, 12), late=date(2027, 1, 31), hours_left=90.0
        ),
        "basis": Basis(sessions=10, from_plan=False),
    }
    return Answers(**{**fields, **changes})
