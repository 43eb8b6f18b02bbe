"""The unit of lengths by the book's settings, whatever another app may have put there."""

from __future__ import annotations

import pytest

from tracker.domain.units import length_unit_of


@pytest.mark.parametrize(("said", "unit"), [("inch", "inch"), ("cm", "cm"), ("ell", "cm"), (None, "cm")])
def test_lengths_are_in_centimetres_unless_inches_were_chosen(said: object, unit: str) -> None:
    assert length_unit_of({"length_unit": said}) == unit
    assert length_unit_of({}) == "cm"
