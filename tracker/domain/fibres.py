"""Damp in yarn: official regain, dry and conditioned mass; a skein weighed on a wet day holds less wool than it seems."""

from __future__ import annotations

OFFICIAL_REGAIN: dict[str, float] = {
    "carded wool": 0.17,
    "combed wool": 0.1825,
    "wool": 0.17,
    "cotton": 0.085,
    "silk": 0.11,
    "viscose": 0.13,
}
"""Water over dry mass at which yarn is traded (Directive 96/74/EC, as listed by brancatextile.com; viscose from
textilecalculation.blogspot.com). Pile wool is carded unless said otherwise."""


def content_of_regain(regain: float) -> float:
    """Return moisture content (water over all) of a regain (water over dry)."""
    return regain / (1.0 + regain)


def dry_mass(mass: float, *, moisture_content: float) -> float:
    """Return the mass without its water, in the unit of `mass`."""
    return mass * (1.0 - moisture_content)


def conditioned_mass(mass: float, *, moisture_content: float, regain: float) -> float:
    """Return the mass at the official regain: what a fair invoice says, in the unit of `mass`."""
    return dry_mass(mass, moisture_content=moisture_content) * (1.0 + regain)


def blend_regain(parts: tuple[tuple[float, float], ...]) -> float:
    """Return the regain of a blend from (share of the dry mass, regain) of its fibres."""
    return sum(share * regain for share, regain in parts)
