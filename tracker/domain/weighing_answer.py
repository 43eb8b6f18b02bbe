"""What a weighing told, as somebody answered: an answer has the same id on every phone, so that it counts once."""

from __future__ import annotations

from uuid import UUID, uuid5

LOST, KNOTS = "lost", "knots"
"""The answers that enter something of their own: yarn lost before the weighing, and what the knots so far took."""
_SPACE = UUID("5d0c7f8b2f4e4b0f9a53c1c7b9a6e214")
"""The UUID under which ids of answers are made (RFC 9562, version 5); drawn once at random."""


def answer_id(weighing_id: str, answer: str) -> str:
    """Return the id of what an answer enters: the same on every phone, so that one weighing answered on two tells it once."""
    return uuid5(_SPACE, f"{weighing_id}/{answer}").hex
