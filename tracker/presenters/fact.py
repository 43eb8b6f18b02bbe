"""A fact as pages and papers show it: a label, a figure, and what else is to be said of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact."""

    label: str
    figure: str
    more: str = ""
