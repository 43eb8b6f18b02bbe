"""What a weighing told, as somebody answered: an answer has the same id on every phone, so that it counts once."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.domain.rug import Sample, Spoilt, Weighing, id_of

LOST, KNOTS = "lost", "knots"
"""The answers that enter something of their own: yarn lost before the weighing, and what the knots so far took."""


def answer_id(weighing_id: str, answer: str) -> str:
    """Return the id of what an answer enters."""
    return id_of(weighing_id, answer)


def answers_a_weighing(sample: Sample, weighings: Iterable[Weighing]) -> bool:
    """Tell whether a sample was no piece knotted to try, but what a weighing told of the knots of the rug itself."""
    return any(sample.id == answer_id(weighing.id, KNOTS) for weighing in weighings)


def lost_before(loss: Spoilt, weighing: Weighing) -> bool:
    """Tell whether yarn was lost before it was weighed: on an earlier day, or entered before it on its own.

    What a weighing told to be lost was missing on that scale, though it is entered after it and of its day.
    """
    if loss.id == answer_id(weighing.id, LOST):
        return loss.day <= weighing.day
    return (loss.day, loss.born) <= (weighing.day, weighing.born)
