"""A loom as a thing of its own, and what is known of the rugs that share one warp on it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class LoomKind(StrEnum):
    """How a loom is built."""

    UPRIGHT = "upright"
    """Upright, with beams that stay where they are."""
    ROLLER = "roller beam"
    """Upright; the beams turn, so that the weaver stays at one height."""
    GROUND = "horizontal"
    """On the ground, its beams held by pegs."""
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loom:
    """One loom of the book, whatever lies on it."""

    id: str
    name: str
    kind: LoomKind = LoomKind.UPRIGHT
    width_cm: float | None = None
    """Clear width between its sides; None: not measured."""
    longest_warp_cm: float | None = None
    """The longest warp it holds, from end to end, with what the loom keeps; None: not known."""
    waste_cm: float | None = None
    """Warp that it keeps: knots, beams, the last unweavable stretch; None: what is usual."""
    seats: int = 1
    """Places on its bench, counted from the left as the weavers face the rug."""
    note: str = ""
    born: int = 0


class WarpLay(StrEnum):
    """Where a rug lies that shares the warp of another."""

    BEHIND = "behind"
    """Woven after the other, further up the same threads."""
    BESIDE = "beside"
    """On threads of its own beside it, woven at the same time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarpPart:
    """One of the rugs on a shared warp, as far as the others must know it. See `shared_warp.py`."""

    rug_id: str
    name: str
    threads: int
    """Warps under the rug, selvedges included."""
    cloth_cm: float
    """Length of one of them from fringe to fringe, both included, take-up too; without what the loom keeps."""
    width_cm: float
    """Of the cloth on the loom, selvedges included."""
    waste_cm: float
    gap_cm: float
    """Warp between the rug before and this one, or room to the rug beside it."""
    lay: WarpLay
    tex: float
    per_10cm: float
    """Knots across in 10 cm: one warp has one spacing."""
    mounted: bool
    """Whether this rug's own record says that the warp is mounted."""
    done: bool
    """Whether its last row is woven."""
    gathered_g: float = 0.0
    """What was gathered of its warp yarn for this rug: the whole warp may be bought from any rug's list."""
    margin: float = 0.0
    """Of its warp yarn, a share, as the two below: by those of the first rug the whole warp is bought."""
    skein_g: float = 0.0
    least_purchase_g: float = 0.0
