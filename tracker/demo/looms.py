"""The looms of the invented workshop: a wide one on which its rugs are woven, and a small one that stands free."""

from __future__ import annotations

import random

from tracker.demo.deeds import SEED, Ids
from tracker.domain.loom import Loom, LoomKind
from tracker.words import _

WIDE_CM = 150.0


def workshop_looms() -> tuple[Loom, Loom]:
    """Return both looms, the wide one first; their ids come from a chance of their own, so that no other id moves."""
    ids = Ids(random.Random(SEED + 3))
    return (
        Loom(
            id=ids.new(),
            name=_("Wide loom"),
            kind=LoomKind.ROLLER,
            width_cm=WIDE_CM,
            longest_warp_cm=600.0,
            waste_cm=40.0,
            seats=3,
        ),
        Loom(
            id=ids.new(),
            name=_("Small loom"),
            kind=LoomKind.UPRIGHT,
            width_cm=90.0,
            longest_warp_cm=220.0,
            waste_cm=30.0,
            seats=1,
        ),
    )
