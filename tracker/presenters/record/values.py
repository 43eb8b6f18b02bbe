"""What the record of a rug is made of, ready to be set."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from tracker.domain.rug import Role
from tracker.presenters.fact import Fact


@dataclass(frozen=True, slots=True)
class YarnEntry:
    """One yarn in the list of materials."""

    number: str
    name: str
    swatch: str
    role: Role
    lines: tuple[str, ...]
    knots: str
    """Of a rug that is being woven: those tied so far."""
    share: float
    used: str
    basis: str


@dataclass(frozen=True, slots=True)
class WeaverEntry:
    """Somebody who sat at the loom."""

    name: str
    days: str
    hours: str
    knots: str
    """Knots this weaver wove; "" while nobody ever said who sits where."""


@dataclass(frozen=True, slots=True)
class Bar:
    """Rows gained in a week, or in a month."""

    first_day: date
    rows: int
    label: str
    """"" where the axis has no room for one."""


@dataclass(frozen=True, slots=True)
class PhotoEntry:
    """A picture kept with the rug."""

    path: Path
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class RugRecord:
    """Everything the record says, ready to be set."""

    kicker: str
    name: str
    subtitle: str
    on_day: str
    so_far: bool
    """True until the rug is finished."""
    facts: tuple[Fact, ...]
    densities: tuple[tuple[str, str], ...]
    density_note: str
    """Whether those are of the measured rug or of the plan."""
    now: tuple[Fact, ...]
    """Today's answers; empty for a finished rug."""
    warnings: tuple[str, ...]
    yarns: tuple[YarnEntry, ...]
    knots_head: str
    used_head: str
    """What the knots and grams of the list are: all, or so far."""
    yarn_note: str
    """What is in those grams."""
    yarn_sums: tuple[tuple[str, str], ...]
    """What they add up to, and how much of it lies in the finished rug."""
    weaving: tuple[Fact, ...]
    weavers: tuple[WeaverEntry, ...]
    chart_title: str
    bars: tuple[Bar, ...]
    steps: tuple[tuple[str, str], ...]
    notes: str
    photos: tuple[PhotoEntry, ...]
    photos_left_out: str
    care: tuple[tuple[str, str], ...]
    picture: np.ndarray
    """uint8 (rows, knots, 3), row 1 first."""
    width_cm: float
    length_cm: float
    width_words: str
    length_words: str
    woven_share: float
    """Of the rows, 0 to 1."""
    woven_words: str
