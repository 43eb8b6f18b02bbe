"""The one account of what a rug needs of each yarn, which plan, forecast, list, files and pages all read.

What is known of a yarn (its own sample, a cut length, what another colour's sample says of the hand, a measured
take-up) is applied here, once. How sure it is stands beside it, parted into what the yarns have in common (the hand
that ties them) and what is a yarn's own, so that the forecast can learn from the record what the plan assumed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from tracker.domain import defaults, edges, foundation, material
from tracker.domain.rows import RowsToWeave, planned_rows, rows_to_weave
from tracker.domain.rug import EDGES, PreparationKind, Role, RugBook, RugPlan, RugStage, Yarn
from tracker.domain.shared_warp import SharedWarp, warp_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What the whole rug needs of one yarn, before any of it was used."""

    yarn: Yarn
    units: float
    """Knots of a pile yarn, rows of a weft; 1 for the warp and the edges."""
    g_per_unit: float
    first_end_g: float = 0.0
    """Woven before the first row: the flat end a weft makes."""
    last_end_g: float = 0.0
    """Woven after the last row."""
    common_sd: float
    """Relative standard deviation of what is shared with the other yarns of its kind."""
    own_sd: float
    """Relative standard deviation of what is the yarn's own."""
    share_sd: float = 0.0
    """Relative standard deviation of a share taken by eye."""
    rests_on: str

    @property
    def need_g(self) -> float:
        """Mass for the whole rug, in g."""
        return self.units * self.g_per_unit + self.ends_g

    @property
    def ends_g(self) -> float:
        """Mass in both flat ends, in g."""
        return self.first_end_g + self.last_end_g

    @property
    def use_sd(self) -> float:
        """Relative standard deviation of the mass of a unit."""
        return math.hypot(self.common_sd, self.own_sd)

    @property
    def relative_sd(self) -> float:
        """Relative standard deviation of the whole need."""
        return math.hypot(self.use_sd, self.share_sd)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Account:
    """The needs of a rug and what they were reckoned from."""

    plan: RugPlan
    """With the rows and knots the rug will have: the cartoon's own, where there is one."""
    to_weave: RowsToWeave
    warp: Yarn | None
    pile: tuple[Need, ...]
    wefts: tuple[Need, ...]
    warps: tuple[Need, ...]
    edges: tuple[Need, ...]

    @property
    def needs(self) -> tuple[Need, ...]:
        """All yarns: pile, wefts, warp, edges."""
        return (*self.pile, *self.wefts, *self.warps, *self.edges)

    def of(self, yarn_id: str) -> Need | None:
        """Return the need of one yarn; None when it is not part of the rug."""
        return next((need for need in self.needs if need.yarn.id == yarn_id), None)


def account_of(book: RugBook, to_weave: RowsToWeave | None = None) -> Account:
    """Return the account of a rug.

    Parameters
    ----------
    book
        The rug with its yarns, cartoon and samples.
    to_weave
        The rows it will have when they are not the planned ones; None: the planned ones.
    """
    to_weave = rows_to_weave(book) if to_weave is None else to_weave
    plan = book.plan
    if (plan.rows, plan.knots_across) != (to_weave.rows, to_weave.across):
        plan = replace(plan, rows=to_weave.rows, knots_across=to_weave.across)
    mounted = book.yarns_of(Role.WARP)
    warp = mounted[0] if mounted else None
    return Account(
        plan=plan,
        to_weave=to_weave,
        warp=warp,
        pile=_pile(book, plan, to_weave, warp),
        wefts=tuple(
            weft_need(plan, yarn, warp, ground=position == 0)
            for position, yarn in enumerate(book.yarns_of(Role.WEFT))
        ),
        warps=() if warp is None else (warp_need(_as_warped(book, plan), warp, warp_of(book)),),
        edges=tuple(edge_need(plan, yarn, book) for role in EDGES for yarn in book.yarns_of(role)),
    )


def _as_warped(book: RugBook, plan: RugPlan) -> RugPlan:
    """Return the plan by which the warp was measured: a rug that is finished with fewer rows took the whole of it."""
    whole = planned_rows(book)
    if book.plan.stage is RugStage.FINISHED and plan.rows < whole:
        return replace(plan, rows=whole)
    return plan


def _pile(book: RugBook, plan: RugPlan, to_weave: RowsToWeave, warp: Yarn | None) -> tuple[Need, ...]:
    uses = material.pile_use(plan, to_weave.pile, book.samples, warp)
    by_eye = not to_weave.counted and len(to_weave.pile) > 1
    knots = to_weave.knots.sum(axis=0).tolist()
    return tuple(
        Need(
            yarn=yarn,
            units=many,
            g_per_unit=use.mass_per_knot_g,
            common_sd=use.common_sd,
            own_sd=use.own_sd,
            share_sd=float(defaults.SD_SHARE) if by_eye else 0.0,
            rests_on=use.rests_on,
        )
        for yarn, use, many in zip(to_weave.pile, uses, knots, strict=True)
    )


def weft_need(plan: RugPlan, yarn: Yarn, warp: Yarn | None, *, ground: bool) -> Need:
    """Return the need of one weft; the ground weft also weaves the flat ends."""
    end_g = foundation.ends_mass_g(plan, yarn, warp) / 2.0 if ground else 0.0
    measured = yarn.take_up is not None
    unsure = float(defaults.SD_ASSUMED_TEX) if yarn.tex <= 0 else 0.0
    common, own = defaults.SD_WEFT_MEASURED if measured else defaults.SD_WEFT_GEOMETRY
    return Need(
        yarn=yarn,
        units=float(plan.rows),
        g_per_unit=material.weft_mass_per_row_g(plan, yarn, warp),
        first_end_g=end_g,
        last_end_g=end_g,
        common_sd=math.hypot(common, unsure),
        own_sd=own,
        rests_on=material.MEASURED if measured else material.GEOMETRY,
    )


def warp_need(plan: RugPlan, yarn: Yarn, shared: SharedWarp | None = None) -> Need:
    """Return the need of the warp; of one that is shared, the rug's own part."""
    own = None if shared is None else shared.of(plan.id)
    unsure = float(defaults.SD_ASSUMED_TEX) if yarn.tex <= 0 else 0.0
    return Need(
        yarn=yarn,
        units=1.0,
        g_per_unit=material.warp_mass_g(plan, yarn) if own is None else own.mass_g,
        common_sd=0.0,
        own_sd=math.hypot(defaults.SD_WARP, unsure),
        rests_on=material.MEASURED if yarn.take_up is not None else material.GEOMETRY,
    )


def is_in_rug(book: RugBook, yarn: Yarn) -> bool:
    """Tell whether a yarn that is needed once is in the rug: a mounted warp or cord, the edges of a finished rug."""
    if yarn.role in (Role.WARP, Role.CORD):
        # On a shared warp any of the rugs may say so.
        shared = any(part.mounted for part in book.warp_parts)
        own = any(done.kind is PreparationKind.WARP for done in book.preparations)
        return bool(book.woven_sessions) or own or shared
    return book.plan.stage is RugStage.FINISHED


def taken_by_plan_g(book: RugBook, yarn: Yarn, need_g: float) -> float:
    """Return the grams of a yarn that are in the rug by the plan, of the `need_g` of the whole rug: where no purchase tells."""
    if yarn.role.row_by_row:
        return need_g * max(book.rows_reached, 0.0) / book.plan.rows
    return need_g if is_in_rug(book, yarn) else 0.0


def edge_need(plan: RugPlan, yarn: Yarn, book: RugBook) -> Need:
    """Return the need of a yarn that finishes the edges."""
    unsure = float(defaults.SD_ASSUMED_TEX) if yarn.tex <= 0 else 0.0
    return Need(
        yarn=yarn,
        units=1.0,
        g_per_unit=edges.edge_mass_g(plan, yarn, book),
        common_sd=0.0,
        own_sd=math.hypot(defaults.SD_EDGE, unsure),
        rests_on=material.GEOMETRY,
    )
