"""Rugs for the tests of the sums; invented, plain numbers."""

from __future__ import annotations

from datetime import date

import numpy as np

from tracker.domain.errors import BadEntry
from tracker.domain.rug import Cartoon, KnotKind, Role, RugBook, RugPlan, Yarn
from tracker.domain.units import Density, DensityUnit, to_per_10cm

DAY = date(2026, 3, 2)


def plan_of(**changes) -> RugPlan:
    """A 100 x 150 cm rug at 40 x 40 knots per 10 cm, changed as asked; knots follow from size and density."""
    values = {
        "id": "rug",
        "name": "test rug",
        "width_cm": 100.0,
        "length_cm": 150.0,
        "knots_per_10cm": 40.0,
        "rows_per_10cm": 40.0,
        "pile_height_mm": 9.0,
        "knot_kind": KnotKind.SYMMETRIC,
        "start_day": DAY,
    }
    values.update(changes)
    values.setdefault("knots_across", round(values["width_cm"] * values["knots_per_10cm"] / 10))
    values.setdefault("rows", round(values["length_cm"] * values["rows_per_10cm"] / 10))
    return RugPlan(**values)


def pile(number: int = 1, **changes) -> Yarn:
    """A wool pile yarn of 600 tex."""
    values = {
        "id": f"pile{number}",
        "rug_id": "rug",
        "role": Role.PILE,
        "number": number,
        "name": f"colour {number}",
    }
    return Yarn(**(values | {"tex": 600.0} | changes))


def weft(number: int = 1, **changes) -> Yarn:
    """A cotton weft: the ground weft of 443 tex, or the fine one of 150 tex."""
    values = {
        "id": f"weft{number}",
        "rug_id": "rug",
        "role": Role.WEFT,
        "number": number,
        "name": f"weft {number}",
    }
    return Yarn(
        **(
            values
            | {"tex": 443.0 if number == 1 else 150.0, "fibre": "cotton", "unit_mass_g": 100.0}
            | changes
        )
    )


def warp(**changes) -> Yarn:
    """A cotton warp of 443 tex."""
    values = {"id": "warp", "rug_id": "rug", "role": Role.WARP, "number": 1, "name": "warp"}
    return Yarn(**(values | {"tex": 443.0, "fibre": "cotton", "unit_mass_g": 500.0} | changes))


def cartoon_of(cells, colours: int | None = None) -> Cartoon:
    """A cartoon of the given cells with as many made-up colours as it needs."""
    array = np.asarray(cells, dtype=np.uint8)
    many = int(array.max()) + 1 if colours is None else colours
    return Cartoon(
        id="cartoon", rug_id="rug", cells=array, palette=tuple(f"#{10 + k:02X}8040" for k in range(many))
    )


def book_of(plan: RugPlan | None = None, **changes) -> RugBook:
    """A book with one colour, two wefts and a warp, changed as asked."""
    values = {"plan": plan or plan_of(), "yarns": (pile(), weft(1), weft(2), warp())}
    return RugBook(**(values | changes))


def value_or_sentence(entered):
    """What an entry gives: its value, or the sentence the weaver reads."""
    try:
        return entered()
    except BadEntry as trouble:
        return trouble.sentence


def density_of(
    across: float, along: float, unit: DensityUnit, along_unit: DensityUnit | None = None
) -> Density:
    """The density said as so many knots across and rows along per unit."""
    return Density(to_per_10cm(across, unit), to_per_10cm(along, along_unit or unit))
