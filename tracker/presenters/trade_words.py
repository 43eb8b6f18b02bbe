"""What the trade calls a fibre, a knot, how warps stand, and what a customer's measure takes in."""

from __future__ import annotations

from tracker.domain.rug import KnotKind, SizeMeasure
from tracker.words import _, number


def knot_kind_name(kind: str) -> str:
    """Return a kind of knot in a word or two."""
    return {
        KnotKind.SYMMETRIC.value: _("symmetric"),
        KnotKind.ASYMMETRIC.value: _("asymmetric"),
        KnotKind.ROD.value: _("on a rod"),
    }[kind]


def offset_chips() -> tuple[tuple[str, float], ...]:
    """Return (words, degrees) of how every second warp stands behind its neighbour."""
    return ((_("on one plane"), 0.0), (_("half behind"), 45.0), (_("fully behind"), 90.0))


def offset_words(degrees: float) -> str:
    """Return how the warps stand; what lies between the usual ways in degrees."""
    usual = {value: words for words, value in offset_chips()}
    return usual.get(degrees) or _("{degrees}° behind").format(degrees=number(degrees))


def fibre_words(fibre: str) -> str:
    """Return a fibre's name."""
    return {
        "wool": _("wool"),
        "cotton": _("cotton"),
        "silk": _("silk"),
        "linen": _("linen"),
        "hemp": _("hemp"),
        "jute": _("jute"),
        "nettle": _("nettle"),
        "goat hair": _("goat hair"),
        "viscose": _("viscose"),
    }.get(fibre, fibre)


def measure_words(measure: SizeMeasure) -> str:
    """Return what a customer's measure takes in."""
    return {
        SizeMeasure.KNOTTED: _("the knotted part"),
        SizeMeasure.CLOTH: _("with selvedges and flat ends"),
        SizeMeasure.FRINGES: _("with fringes too"),
    }[measure]
