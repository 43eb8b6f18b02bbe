"""The chances behind the words on the screen, and the ranges shown: the one place where they are decided."""

from __future__ import annotations

ENOUGH_FROM = 0.97
"""A yarn is called enough when the chance that it lasts is at least this."""

SHORT_BELOW = 0.12
"""A yarn is called short when the chance that it lasts is below this; between the two it is tight."""

ORDER_CHANCE = 0.98
"""An order is sized so that the yarn lasts with this chance."""

RANGE_LOW = 0.10
RANGE_HIGH = 0.90
"""Every range shown runs between these two quantiles: it holds eight times in ten."""
