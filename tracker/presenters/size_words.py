"""How a rug's size is said: always with whether it is the finished one or the one on the loom."""

from __future__ import annotations

from tracker.domain.finished_size import SideCheck, sides_of
from tracker.domain.rug import RugPlan
from tracker.words import _, length, size


def finished_size_words(plan: RugPlan, unit: str) -> str:
    """Return the size of the finished rug: as it was measured, else as it is planned."""
    if plan.finished_width_cm is not None and plan.finished_length_cm is not None:
        return _("{size} finished").format(size=size(plan.finished_width_cm, plan.finished_length_cm, unit))
    return _("to be {size} finished").format(size=size(plan.width_cm, plan.length_cm, unit))


def _off_words(side: SideCheck, more: str, less: str, unit: str) -> str:
    """Say by how much a side is off, beside what is allowed; "" where it is within."""
    if side.within:
        return ""
    off = (more if side.off_cm > 0 else less).format(length=length(abs(side.off_cm), unit))
    return _("{off}, allowed {allowed}").format(off=off, allowed=length(side.tolerance_cm, unit))


def agreement_words(plan: RugPlan, unit: str) -> tuple[str, bool] | None:
    """Return whether the finished rug has the size that was ordered, and whether it is within what is allowed.

    None until it is measured.
    """
    sides = sides_of(plan)
    if sides is None:
        return None
    wide, long = sides
    ordered = _("ordered: {size}").format(size=size(wide.ordered_cm, long.ordered_cm, unit))
    if wide.within and long.within:
        allowed = _("within what is allowed ({width} in width, {length} in length)").format(
            width=length(wide.tolerance_cm, unit), length=length(long.tolerance_cm, unit)
        )
        return f"{ordered}; {allowed}", True
    parts = (
        ordered,
        _off_words(wide, _("{length} too wide"), _("{length} too narrow"), unit),
        _off_words(long, _("{length} too long"), _("{length} too short"), unit),
    )
    return "; ".join(part for part in parts if part), False
