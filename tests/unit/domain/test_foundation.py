"""Whether the cloth fits the loom."""

from __future__ import annotations

from dataclasses import replace

from tests.presenters.rugs import plan
from tracker.domain import foundation


def test_a_loom_that_is_too_narrow_is_said_with_its_width_and_by_how_much() -> None:
    fit = foundation.loom_fit(replace(plan(), width_cm=40.0, loom_width_cm=30.0))
    (sentence,) = fit.sentences
    assert "30 cm between its sides" in sentence
    assert "narrower by" in sentence
    assert "{" not in sentence
