"""What washing took: the rug's sides and weight before it and after, and what that teaches the next plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracker.domain.finished_size import fringes_cm
from tracker.domain.rug import RugPlan
from tracker.domain.rules import SHRINKAGE


@dataclass(frozen=True, slots=True, kw_only=True)
class WashingLoss:
    """What washing took; None for what was not measured before and after. Below zero the rug gained."""

    width_share: float | None
    length_share: float | None
    """Of the cloth: fringes hang free of any pull and are left out where the customer's measure counts them."""
    mass_g: float | None
    mass_share: float | None


def washing_loss(plan: RugPlan) -> WashingLoss:
    """Return what washing took of a rug.

    Notes
    -----
    A share is 1 - after / before, so that the plan's shrinkage, which leaves 1 - share of the size before, is the same.
    """
    fringes = fringes_cm(plan)
    mass_g = None if plan.unwashed_g is None or plan.washed_g is None else plan.unwashed_g - plan.washed_g
    return WashingLoss(
        width_share=_share(plan.unwashed_width_cm, plan.finished_width_cm, 0.0),
        length_share=_share(plan.unwashed_length_cm, plan.finished_length_cm, fringes),
        mass_g=mass_g,
        mass_share=None if mass_g is None else mass_g / plan.unwashed_g,  # type: ignore[operator]
    )


def _share(before_cm: float | None, after_cm: float | None, beside_cm: float) -> float | None:
    if before_cm is None or after_cm is None or before_cm <= beside_cm:
        return None
    return 1.0 - (after_cm - beside_cm) / (before_cm - beside_cm)


@dataclass(frozen=True, slots=True, kw_only=True)
class TaughtShrinkage:
    """What the last rug that was measured before and after washing shrank by; only what a plan can take."""

    rug_name: str
    width_share: float | None
    length_share: float | None


def shrinkage_taught(plans: Iterable[RugPlan], but_for: str) -> TaughtShrinkage | None:
    """Return the shrinkage of the last finished rug that tells one.

    Parameters
    ----------
    plans
        The rugs of the book, in the order of entry.
    but_for
        Id of the rug that is being planned.
    """
    told = []
    for plan in plans:
        loss = washing_loss(plan)
        shares = tuple(
            round(share, 3) if share is not None and SHRINKAGE.holds(share) else None
            for share in (loss.width_share, loss.length_share)
        )
        if plan.id != but_for and shares != (None, None):
            told.append((plan.finished_day is not None, plan.finished_day or plan.start_day, plan, shares))
    if not told:
        return None
    _finished, _day, plan, (width_share, length_share) = max(told, key=lambda each: each[:2])
    return TaughtShrinkage(rug_name=plan.name, width_share=width_share, length_share=length_share)
