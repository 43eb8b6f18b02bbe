"""Lengths and densities as the trade says them, and numbers as a weaver types them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from tracker.domain.errors import BadEntry
from tracker.words import CM_PER_INCH, _, number

CM_PER_FOOT = 12 * CM_PER_INCH
SQUARE_FOOT_M2 = (CM_PER_FOOT / 100.0) ** 2
"""A square foot in square metres."""

BIS_INCHES = 0.9
"""A bis is the number of knots in 0.9 inch of width (little-persia.com, "How Are Knot Counts Measured?")."""
BHUTAN_INCHES = 4.5
"""A bhutan is the number of rows in 4.5 inches of length (same source)."""
RAJ_CM = 7.0
"""A raj is the number of knots in 7 cm (rugrag.com, quality chart)."""
RAJ_LENGTHS_CM = (6.5, 6.75, 7.0)
"""By region a raj is counted over one of these (zarvancarpet.com; iran-carpet.com no. 1705; tekstilbilgi.net)."""


class LengthUnit(StrEnum):
    """Units in which a weaver says a length."""

    CM = "cm"
    INCH = "inch"
    FOOT = "foot"
    METRE = "m"
    MM = "mm"


def length_unit_of(settings: Mapping[str, object]) -> str:
    """Return the unit in which lengths are shown by a book's settings: "cm" or "inch"."""
    return (LengthUnit.INCH if settings.get("length_unit") == LengthUnit.INCH else LengthUnit.CM).value


CM_PER: dict[LengthUnit, float] = {
    LengthUnit.CM: 1.0,
    LengthUnit.INCH: CM_PER_INCH,
    LengthUnit.FOOT: CM_PER_FOOT,
    LengthUnit.METRE: 100.0,
    LengthUnit.MM: 0.1,
}


class DensityUnit(StrEnum):
    """Ways to say how close the knots stand, across or along."""

    PER_10CM = "per 10 cm"
    PER_INCH = "per inch"
    LINE = "line"
    """Knots per foot."""
    RAJ = "raj"
    """Knots per 7 cm, or per the raj of the region."""
    BIS = "bis"
    """Knots per 0.9 inch; said of the width."""
    BHUTAN = "bhutan"
    """Rows per 4.5 inches; said of the length."""


SPAN_CM: dict[DensityUnit, float] = {
    DensityUnit.PER_10CM: 10.0,
    DensityUnit.PER_INCH: CM_PER_INCH,
    DensityUnit.LINE: CM_PER_FOOT,
    DensityUnit.RAJ: RAJ_CM,
    DensityUnit.BIS: BIS_INCHES * CM_PER_INCH,
    DensityUnit.BHUTAN: BHUTAN_INCHES * CM_PER_INCH,
}
"""The length over which each unit counts its knots."""

LEAST_PER_10CM = 2.0
MOST_PER_10CM = 300.0
"""Beyond these a density is taken for a slip: the finest silk pieces known stay below 300 knots per 10 cm
(no source; a wide fence, not a rule of the trade)."""


def to_cm(length: float, unit: LengthUnit) -> float:
    """Return `length`, given in `unit`, in centimetres."""
    return length * CM_PER[unit]


def from_cm(length_cm: float, unit: LengthUnit) -> float:
    """Return a length in centimetres in `unit`."""
    return length_cm / CM_PER[unit]


def span_cm(unit: DensityUnit, raj_cm: float = RAJ_CM) -> float:
    """Return the length over which `unit` counts its knots, in cm; a raj is `raj_cm` long."""
    return raj_cm if unit is DensityUnit.RAJ else SPAN_CM[unit]


def to_per_10cm(count: float, unit: DensityUnit, raj_cm: float = RAJ_CM) -> float:
    """Return a density given in `unit` as knots (or rows) per 10 cm."""
    return count * 10.0 / span_cm(unit, raj_cm)


def from_per_10cm(per_10cm: float, unit: DensityUnit, raj_cm: float = RAJ_CM) -> float:
    """Return a density of knots (or rows) per 10 cm in `unit`."""
    return per_10cm * span_cm(unit, raj_cm) / 10.0


@dataclass(frozen=True, slots=True)
class Density:
    """How close the knots stand, across and along, shown in every way the trade says it."""

    knots_per_10cm: float
    """Across."""
    rows_per_10cm: float
    """Along."""
    raj_cm: float = RAJ_CM
    """The length of a raj where the density is said."""

    @property
    def per_dm2(self) -> float:
        """Knots in a square decimetre."""
        return self.knots_per_10cm * self.rows_per_10cm

    @property
    def per_m2(self) -> float:
        """Knots in a square metre."""
        return 100.0 * self.per_dm2

    @property
    def per_square_inch(self) -> float:
        """Knots in a square inch."""
        return self.per_dm2 * (CM_PER_INCH / 10.0) ** 2

    def across(self, unit: DensityUnit) -> float:
        """Return knots across in `unit`."""
        return from_per_10cm(self.knots_per_10cm, unit, self.raj_cm)

    def along(self, unit: DensityUnit) -> float:
        """Return rows along in `unit`."""
        return from_per_10cm(self.rows_per_10cm, unit, self.raj_cm)

    def all_ways(self) -> tuple[tuple[str, str], ...]:
        """Return (unit, figures) lines of every way to say this density, for a screen."""

        def pair(across: DensityUnit, along: DensityUnit) -> str:
            return f"{show_number(self.across(across))} × {show_number(self.along(along))}"

        return (
            (_("per 10 cm"), pair(DensityUnit.PER_10CM, DensityUnit.PER_10CM)),
            (_("per inch"), pair(DensityUnit.PER_INCH, DensityUnit.PER_INCH)),
            (_("per foot (line)"), pair(DensityUnit.LINE, DensityUnit.LINE)),
            (
                _("per {cm} cm (raj)").format(cm=show_number(self.raj_cm)),
                pair(DensityUnit.RAJ, DensityUnit.RAJ),
            ),
            (_("bis/bhutan"), pair(DensityUnit.BIS, DensityUnit.BHUTAN)),
            (_("knots/dm²"), show_number(self.per_dm2)),
            (_("knots/m²"), show_number(self.per_m2)),
            (_("knots per square inch"), show_number(self.per_square_inch)),
        )


def show_number(value: float) -> str:
    """Return `value` with about three figures, as the locale writes it, without a tail of zeros: 1,000, 64.5, 3.94."""
    return number(value, 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2 if abs(value) >= 1 else 3)


# --- what a weaver types ---------------------------------------------------------------------------------

_SPACES = "\u0020\u00a0\u2009\u202f\u2007"
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:(?P<g>[,.'’ ])\d{3})(?:(?P=g)\d{3})*(?:(?P<d>[,.])\d+)?")
_PLAIN = re.compile(r"[+-]?(?:\d+(?:[,.]\d+)?|[,.]\d+)")
_LONGEST = 24
"""Letters in a number; more is not a number a weaver means."""


def _plain_text(text: str) -> str:
    """Return `text` with the digits and signs of any script as ASCII ones, spaces made plain."""
    out: list[str] = []
    for letter in text.strip():
        digit = unicodedata.decimal(letter, None)
        if digit is not None:
            out.append(str(digit))
        elif letter in _SPACES:
            out.append(" ")
        elif letter == "\u066b":
            out.append(".")
        elif letter == "\u066c":
            out.append("'")
        elif letter == "\u2212":
            out.append("-")
        else:
            out.append(letter)
    return "".join(out).strip()


def _not_a_number(text: str, example: str) -> BadEntry:
    return BadEntry(
        _("“{text}” is not a number. Write it in figures, for example {example}.").format(
            text=text.strip()[:_LONGEST], example=example
        )
    )


def parse_number(text: str, *, example: str = "12.5") -> float:
    """Return the number a weaver typed, with a comma or a point before the decimals.

    Parameters
    ----------
    text
        What was typed. Thousands may be grouped by spaces, by an apostrophe, or by the one of comma and
        point that is not the decimal sign. Digits of any script are understood.
    example
        A right entry, quoted in the sentence of the error.

    Raises
    ------
    BadEntry
        When the text is empty, not a number, or could mean two numbers ("1,200").
    """
    plain = _plain_text(text)
    if not plain:
        raise BadEntry(
            _("Nothing is entered here. Write a number, for example {example}.").format(example=example)
        )
    if len(plain) > _LONGEST:
        raise _not_a_number(text, example)
    grouped = _GROUPED.fullmatch(plain)
    if grouped:
        group, decimal = grouped["g"], grouped["d"]
        if (
            group in (",", ".")
            and decimal is None
            and plain.count(group) == 1
            and not plain.lstrip("+-").startswith("0")
        ):
            # 1,200 is 1200 to one weaver and 1.2 to another; a wrong guess costs a thousandfold.
            bare = plain.replace(group, "")
            other = number(float(plain.replace(group, ".")), 3)
            raise BadEntry(
                _("“{text}” can be read in two ways. Write {bare} or {other}.").format(
                    text=plain, bare=bare, other=other
                )
            )
        if group not in (",", ".") or decimal is not None or plain.count(group) > 1:
            if decimal is not None and decimal == group:
                raise _not_a_number(text, example)
            whole = plain if decimal is None else plain[: plain.rindex(decimal)]
            tail = "" if decimal is None else "." + plain[plain.rindex(decimal) + 1 :]
            return float(re.sub(r"[,.'’ ]", "", whole) + tail)
    if not _PLAIN.fullmatch(plain):
        raise _not_a_number(text, example)
    return float(plain.replace(",", "."))


def unit_words(unit: DensityUnit, raj_cm: float = RAJ_CM) -> str:
    """Return a density unit as it stands behind a number."""
    return {
        DensityUnit.PER_10CM: _("per 10 cm"),
        DensityUnit.PER_INCH: _("per inch"),
        DensityUnit.LINE: _("per foot"),
        DensityUnit.RAJ: _("per {cm} cm").format(cm=show_number(raj_cm)),
        DensityUnit.BIS: _("bis"),
        DensityUnit.BHUTAN: _("bhutan"),
    }[unit]


def density_trouble(per_10cm: float, unit: DensityUnit = DensityUnit.PER_10CM, raj_cm: float = RAJ_CM) -> str:
    """Return a sentence when no rug is knotted by hand at a density, in the unit it is said in; "" when one can be."""
    if LEAST_PER_10CM <= per_10cm <= MOST_PER_10CM:
        return ""
    count, least, most = (
        show_number(from_per_10cm(density, unit, raj_cm))
        for density in (per_10cm, LEAST_PER_10CM, MOST_PER_10CM)
    )
    return _(
        "{count} {unit} cannot be right: hand-knotted rugs have between {least} and {most}. "
        "Look at the unit beside the number."
    ).format(count=count, unit=unit_words(unit, raj_cm), least=least, most=most)


def check_density(per_10cm: float, unit: DensityUnit = DensityUnit.PER_10CM, raj_cm: float = RAJ_CM) -> float:
    """Return `per_10cm` when a rug can have it.

    Raises
    ------
    BadEntry
        When it lies outside what is knotted by hand, in the unit it was said in.
    """
    trouble = density_trouble(per_10cm, unit, raj_cm)
    if trouble:
        raise BadEntry(trouble)
    return per_10cm
