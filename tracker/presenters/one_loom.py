"""A rug that comes to a loom on which another lies: which of them is meant to lie where."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from enum import StrEnum

from tracker.domain.loom import WarpLay
from tracker.domain.rug import RugBook, RugPlan, RugStage
from tracker.domain.shared_warp import part_of_book, rugs_on_warp, shared_warp, warp_of
from tracker.presenters.doubts import Doubt
from tracker.presenters.warp_words import threads_words
from tracker.words import _, length

MEASURED_CM = 1.0
"""A warp longer by less than this is as long: our own choice, less than it is measured to."""


class Meant(StrEnum):
    """What may be meant by two rugs on one loom."""

    BEHIND = "behind"
    """The rug is woven after the other, on its warp."""
    BESIDE = "beside"
    """They lie side by side on one warp."""
    ELSEWHERE = "elsewhere"
    """The rug is on another loom."""
    MOVED = "moved"
    """The other one is no longer there."""
    BOTH = "both"
    """Each has a warp of its own there."""


def others_there(plan: RugPlan, plans: Iterable[RugPlan]) -> tuple[RugPlan, ...]:
    """Return the rugs that lie on the loom a rug names and not on its warp."""
    if plan.loom_id is None:
        return ()
    known = [plan, *(other for other in plans if other.id != plan.id)]
    on_warp = {other.id for other in rugs_on_warp(plan.id, known)}
    return tuple(
        other
        for other in known
        if other.id not in on_warp and other.loom_id == plan.loom_id and other.stage is RugStage.ON_LOOM
    )


def question(other: RugPlan, loom: str) -> str:
    """Say that another rug lies there, and ask what is meant."""
    return _("{rug} lies on {loom}, too. What is meant?").format(rug=other.name, loom=loom)


def answers(plan: RugPlan, other: RugPlan) -> tuple[tuple[str, Meant], ...]:
    """Return (words, what is meant) of what may be answered."""
    names = {"rug": plan.name, "other": other.name}
    return (
        (_("{rug} lies behind {other}, on its warp").format(**names), Meant.BEHIND),
        (_("{rug} lies beside {other}, on one warp").format(**names), Meant.BESIDE),
        (_("{rug} is on another loom").format(**names), Meant.ELSEWHERE),
        (_("{other} is no longer there").format(**names), Meant.MOVED),
        (_("Each lies there on a warp of its own").format(**names), Meant.BOTH),
    )


def on_warp_of(plan: RugPlan, other: RugPlan, meant: Meant) -> RugPlan:
    """Return the rug's plan on the warp of the other, behind it or beside it."""
    lay = WarpLay.BESIDE if meant is Meant.BESIDE else WarpLay.BEHIND
    return replace(plan, warp_after=other.id, warp_lay=lay, warp_gap_cm=None)


def warp_doubt(placed: RugBook, other: RugBook, unit: str) -> Doubt | None:
    """Return what is asked before a rug is laid on a warp that is mounted already, and too narrow or too short for both.

    Parameters
    ----------
    placed
        The rug, with the plan that lies on the other's warp.
    other
        The rug on whose warp it is to lie.
    unit
        The weaver's unit of lengths.
    """
    there, comes = warp_of(other), part_of_book(placed)
    parts = [part_of_book(other)] if there is None else [part.part for part in there.parts]
    if not any(part.mounted for part in parts):
        return None
    threads = parts[0].threads if there is None else there.threads
    length_cm = parts[0].cloth_cm + parts[0].waste_cm if there is None else there.length_cm
    after = next(at for at, part in enumerate(parts) if part.rug_id == other.plan.id) + 1
    together = shared_warp((*parts[:after], comes, *parts[after:]))
    if together is None or (together.threads <= threads and together.length_cm <= length_cm + MEASURED_CM):
        return None
    return Doubt(
        _(
            "The warp of {other} is mounted. Measured for it alone it has {threads} and {length}; with {rug} it must have "
            "{all_threads} and {all_length}. A warp on the loom gets neither wider nor longer."
        ).format(
            other=other.plan.name,
            rug=placed.plan.name,
            threads=threads_words(threads),
            length=length(length_cm, unit),
            all_threads=threads_words(together.threads),
            all_length=length(together.length_cm, unit),
        ),
        _("It was measured for both"),
        _("Choose again"),
    )


def off_its_loom(plan: RugPlan) -> RugPlan:
    """Return the plan of a rug that left its loom; nobody said for which."""
    return replace(plan, loom_id=None, warp_after=None)
