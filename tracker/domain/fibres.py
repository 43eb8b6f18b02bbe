"""Damp in yarn: official regain, dry and conditioned mass; a skein weighed on a wet day holds less wool than it seems."""

from __future__ import annotations

from enum import StrEnum

OFFICIAL_REGAIN: dict[str, float] = {
    "carded wool": 0.17,
    "combed wool": 0.1825,
    "wool": 0.17,
    "cotton": 0.085,
    "silk": 0.11,
    "viscose": 0.13,
    "linen": 0.12,
    "hemp": 0.12,
    "jute": 0.17,
    "nettle": 0.12,
    "goat hair": 0.17,
}
"""Water over dry mass at which yarn is traded (Directive 96/74/EC, as listed by brancatextile.com; viscose from
textilecalculation.blogspot.com; linen and hemp from ASTM D1909; jute and hair from the directive, from memory; nettle
as linen). Pile wool is carded unless said otherwise."""
OTHER_REGAIN = OFFICIAL_REGAIN["wool"]
"""Of a fibre that is not listed."""


class Air(StrEnum):
    """The air in which yarn lay before it was put on the scale."""

    USUAL = "usual"
    DRY = "dry"
    DAMP = "damp"
    OVEN = "oven"


OF_OFFICIAL: dict[Air, float] = {Air.USUAL: 1.0, Air.DRY: 0.65, Air.DAMP: 1.35, Air.OVEN: 0.0}
"""Regain in that air over the official one: wool holds about 11 % in air of 40 % humidity and about 23 % at 90 %
(W. E. Morton, J. W. S. Hearle, Physical Properties of Textile Fibres; from memory); other fibres go alike."""


def official_regain(fibre: str) -> float:
    """Return the regain at which a fibre is traded; one that is not listed counts as wool."""
    return OFFICIAL_REGAIN.get(fibre.strip().lower(), OTHER_REGAIN)


def regain_in(air: Air, fibre: str) -> float:
    """Return the regain that yarn of a fibre takes on in an air."""
    return OF_OFFICIAL[air] * official_regain(fibre)


def content_of_regain(regain: float) -> float:
    """Return moisture content (water over all) of a regain (water over dry)."""
    return regain / (1.0 + regain)


def dry_mass(mass: float, *, moisture_content: float) -> float:
    """Return the mass without its water, in the unit of `mass`."""
    return mass * (1.0 - moisture_content)


def conditioned_mass(mass: float, *, moisture_content: float, regain: float) -> float:
    """Return the mass at the official regain: what a fair invoice says, in the unit of `mass`."""
    return dry_mass(mass, moisture_content=moisture_content) * (1.0 + regain)


def conditioned_g(weighed_g: float, regain: float, fibre: str) -> float:
    """Return the conditioned mass of yarn that weighed so much at a regain, in g."""
    return conditioned_mass(
        weighed_g, moisture_content=content_of_regain(regain), regain=official_regain(fibre)
    )
