"""The invented workshop: how its two weavers work, and what both its large rugs stand on."""

from __future__ import annotations

from tracker.demo.deeds import Ids
from tracker.domain.rug import (
    Role,
    Yarn,
)
from tracker.domain.yarn import parse_fineness
from tracker.words import _

TOGETHER_RATE = 1.8
"""Two weavers side by side are not quite twice as fast as one."""
FIRST_RATE = 300.0
SETTLED_RATE = 480.0
"""Knots an hour of one weaver in the first session, and when the design is known by heart."""
LEARNING_SESSIONS = 8.0
CHANGE_IN_KNOTS = 1.2
"""A colour change costs the time of so many knots."""
USE_OVER_PLAN = 1.06
"""The weavers use a little more yarn for a knot than they planned."""
WEEKDAYS = (0, 1, 3, 5)

THICK_WEFT_TAKE_UP = 0.02
"""What these weavers measured: they lay the thick weft in nearly straight."""


def foundation(rug_id: str, ids: Ids) -> tuple[Yarn, ...]:
    """Return the two wefts and the warp that both large rugs of the workshop stand on."""

    def yarn(
        role: Role,
        number: int,
        name: str,
        count: str,
        swatch: str,
        unit_g: float,
        take_up: float | None = None,
    ) -> Yarn:
        return Yarn(
            id=ids.new(),
            rug_id=rug_id,
            role=role,
            number=number,
            name=name,
            swatch=swatch,
            count=count,
            tex=parse_fineness(count).tex,
            fibre="cotton",
            unit_mass_g=unit_g,
            take_up=take_up,
            price_per_kg=14.0,
            dyer=_("the spinner in the valley"),
        )

    return (
        yarn(Role.WEFT, 1, _("Thick weft, straight"), "Nm 5/8", "#D8CDB8", 100.0, take_up=THICK_WEFT_TAKE_UP),
        yarn(Role.WEFT, 2, _("Thin weft, wavy"), "Nm 5/4", "#B9A78C", 100.0),
        yarn(Role.WARP, 1, _("Warp"), "Ne 10/16", "#E9E2D2", 500.0),
    )
