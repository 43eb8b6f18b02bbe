"""Damp in yarn: what a scale says, and what a fair invoice says."""

from __future__ import annotations

import pytest

from tracker.domain import fibres
from tracker.domain.fibres import Air


@pytest.mark.parametrize(
    ("fibre", "percent"),
    [
        # Directive 96/74/EC, as listed by brancatextile.com.
        ("wool", 17.0), ("carded wool", 17.0), ("combed wool", 18.25), ("cotton", 8.5), ("silk", 11.0),
        # textilecalculation.blogspot.com.
        ("viscose", 13.0),
        # ASTM D1909.
        ("linen", 12.0), ("hemp", 12.0),
        # The directive, from memory; nettle as linen.
        ("jute", 17.0), ("goat hair", 17.0), ("nettle", 12.0),
        # Common practice, no source: what is not listed counts as wool, however it is written.
        ("moonlight", 17.0), (" Cotton ", 8.5),
    ],
)  # fmt: skip
def test_a_fibre_is_traded_with_its_official_water(fibre: str, percent: float) -> None:
    dry_g = 100.0
    regain = fibres.official_regain(fibre)
    assert fibres.conditioned_mass(dry_g, moisture_content=0.0, regain=regain) == pytest.approx(
        100.0 + percent
    )


def test_every_listed_fibre_is_checked_above() -> None:
    assert len(fibres.OFFICIAL_REGAIN) == 11


def test_the_air_decides_how_much_water_was_weighed() -> None:
    # Morton and Hearle, from memory: wool holds about 11 % at 40 % humidity and about 23 % at 90 %.
    assert fibres.regain_in(Air.DRY, "wool") == pytest.approx(0.11, abs=0.002)
    assert fibres.regain_in(Air.DAMP, "wool") == pytest.approx(0.23, abs=0.002)
    assert fibres.regain_in(Air.USUAL, "silk") == 0.11
    assert fibres.regain_in(Air.OVEN, "silk") == 0.0


def test_dry_yarn_counts_for_more_and_damp_yarn_for_less_than_it_weighs() -> None:
    # 117 g of wool in usual air hold 17 g of water over 100 g dry; bone dry, 100 g are worth 117.
    assert fibres.conditioned_g(117.0, 0.17, "wool") == pytest.approx(117.0)
    assert fibres.conditioned_g(100.0, 0.0, "wool") == pytest.approx(117.0)
    assert fibres.conditioned_g(150.0, 0.50, "wool") == pytest.approx(117.0)
    assert fibres.content_of_regain(0.25) == pytest.approx(0.20)
    assert fibres.dry_mass(125.0, moisture_content=0.20) == pytest.approx(100.0)
