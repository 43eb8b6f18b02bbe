"""How long knotting takes at a steady rate: knots in a rug, hours, working days."""

from __future__ import annotations

from tracker.domain import defaults
from tracker.domain.rug import RugPlan

SECONDS_PER_HOUR = 3600.0


def knots_in(width_cm: float, length_cm: float, knots_per_10cm: float, rows_per_10cm: float) -> float:
    """Return the knots in a piece of `width_cm` x `length_cm`."""
    return width_cm / 10.0 * knots_per_10cm * length_cm / 10.0 * rows_per_10cm


def weaving_hours(knots: float, seconds_per_knot: float) -> float:
    """Return the hours one weaver needs for `knots`."""
    return knots * seconds_per_knot / SECONDS_PER_HOUR


def working_days(hours: float, hours_a_day: float, weavers: int = 1) -> float:
    """Return the days on which `hours` of one weaver's work are done by `weavers` side by side."""
    return hours / (hours_a_day * weavers)


def days_for(knots: float, knots_a_day: float) -> float:
    """Return the days that `knots` take at a weaver's daily output."""
    return knots / knots_a_day


def planned_weaving_hours(plan: RugPlan) -> float:
    """Return the hours the knots of a rug take together at the expected rate, before any evening is recorded."""
    rate = plan.knots_per_hour or float(defaults.KNOTS_PER_HOUR)
    return plan.knots_across * plan.rows / rate / max(1, plan.weavers_planned)
