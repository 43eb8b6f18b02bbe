"""Damp in yarn."""

from __future__ import annotations

import pytest

from tracker.domain.fibres import OFFICIAL_REGAIN, conditioned_mass


def test_silk_is_traded_with_eleven_parts_of_water_to_a_hundred_dry() -> None:
    # Directive 96/74/EC, as listed by brancatextile.com: silk 11 %.
    assert conditioned_mass(100.0, moisture_content=0.0, regain=OFFICIAL_REGAIN["silk"]) == pytest.approx(
        111.0
    )
