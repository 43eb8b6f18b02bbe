"""What the demo's weavers noted, one act each, and the ids they gave."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tracker.domain.act import ActKind

SEED = 1741


@dataclass(frozen=True, slots=True)
class Deed:
    """One act of the demo's weavers: what they did, when, and the values it wrote or record ids it withdrew."""

    day: date
    kind: ActKind
    values: tuple[Any, ...]
    withdrawn: tuple[str, ...] = ()
    rug_id: str | None = None


@dataclass(slots=True)
class Ids:
    """Ids that come out the same each time: 32 hexadecimal digits from the seed."""

    chance: random.Random = field(default_factory=lambda: random.Random(SEED))

    def new(self) -> str:
        """Return the next id."""
        return f"{self.chance.getrandbits(128):032x}"
