"""What a weighing told, as somebody answered: an answer has the same id on every phone, so that it counts once."""

from __future__ import annotations

from uuid import UUID, uuid5

from tracker.domain.rug import Spoilt, Weighing

LOST, KNOTS = "lost", "knots"
"""The answers that enter something of their own: yarn lost before the weighing, and what the knots so far took."""
_SPACE = UUID("5d0c7f8b2f4e4b0f9a53c1c7b9a6e214")
"""The UUID under which ids of answers are made (RFC 9562, version 5); drawn once at random."""


def answer_id(weighing_id: str, answer: str) -> str:
    """Return the id of what an answer enters: the same on every phone, so that one weighing answered on two tells it once."""
    return uuid5(_SPACE, f"{weighing_id}/{answer}").hex


def lost_before(loss: Spoilt, weighing: Weighing) -> bool:
    """Tell whether yarn was lost before it was weighed: on an earlier day, or entered before it on its own.

    What a weighing told to be lost was missing on that scale, though it is entered after it and of its day.
    """
    if loss.id == answer_id(weighing.id, LOST):
        return loss.day <= weighing.day
    return (loss.day, loss.born) <= (weighing.day, weighing.born)
