"""The whole material plan of a rug from its book: knots, need of every yarn, what to buy, what to wind, does it fit."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from tracker.domain import defaults, foundation, material
from tracker.domain.cartoon import (
    CartoonCount,
    count_cartoon,
    counts_by_yarn,
    unclaimed_values,
    yarn_of_value,
)
from tracker.domain.foundation import FinishedMass, LoomFit, loom_fit
from tracker.domain.material import KnotLength
from tracker.domain.rug import Preparation, Role, RugBook, RugPlan, Yarn
from tracker.domain.shopping import Shopping, buy_line, lots_of, shopping_of
from tracker.domain.units import Density, show_number
from tracker.domain.winding import (
    BallLine,
    PreparationPlan,
    ShuttleLine,
    ball_line,
    preparation_plan,
    shuttle_line,
)
from tracker.domain.work import planned_weaving_hours
from tracker.words import _, n_

TEN_PERCENT_POINT = 1.2815515655446004
"""Standard deviations from the middle of a normal spread to its 10 % and 90 % points."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YarnNeed:
    """What the whole rug needs of one yarn. Masses in g; low to high holds eight times in ten."""

    yarn_id: str
    role: Role
    number: int
    name: str
    swatch: str
    tex: float
    tex_assumed: bool
    """True where no fineness was entered and one that suits the density stands in."""
    diameter_mm: float
    need_g: float
    need_low_g: float
    need_high_g: float
    length_m: float
    rests_on: str
    """What the sum rests on: "sample", "cut length", "geometry", "measured", ..."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PileNeed(YarnNeed):
    """One colour of the pile."""

    knots: float
    """Whole from a cartoon; from a share it may end in a fraction."""
    share: float
    """Of all knots, 0 to 1."""
    rows_with: int | None
    """Rows in which it occurs; None without a cartoon, as are the next two."""
    first_row: int | None
    last_row: int | None
    mass_per_knot_g: float
    knot: KnotLength
    """By geometry, whatever `rests_on` says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeftNeed(YarnNeed):
    """One weft."""

    take_up: float
    passes_per_row: int
    length_per_pass_cm: float
    turn_cm: float
    mass_per_row_g: float
    end_picks: int
    """Passes in one flat-woven end; the ground weft weaves the ends."""
    ends_g: float
    """Mass in both ends, part of the need."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarpNeed(YarnNeed):
    """The warp."""

    balls: int
    ball_g: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MaterialPlan:
    """Everything to buy and to wind for one rug, and the cloth it makes."""

    plan: RugPlan
    """With the cartoon's own knots and rows, where there is one."""
    density: Density
    knots: int
    width_cm: float
    """Of the knotted part."""
    length_cm: float
    warps: int
    warp_length_cm: float
    pile: tuple[PileNeed, ...]
    wefts: tuple[WeftNeed, ...]
    warp: WarpNeed | None
    finished: FinishedMass
    loom: LoomFit
    shopping: Shopping
    balls: tuple[BallLine, ...]
    shuttles: tuple[ShuttleLine, ...]
    preparation: PreparationPlan
    weaving_hours: float
    """Hours at the loom at the expected rate, all planned weavers together at work."""
    colour_changes: int | None
    """In the whole cartoon; None without one."""
    count: CartoonCount | None
    """The cartoon's count, to be handed in again so that it is not counted twice."""
    warnings: tuple[str, ...]
    """What stands in the way of trusting the plan, as sentences."""

    @property
    def needs(self) -> tuple[YarnNeed, ...]:
        """All yarns: pile, wefts, warp."""
        return (*self.pile, *self.wefts, *(() if self.warp is None else (self.warp,)))


def spread_g(need_g: float, relative_sd: float) -> tuple[float, float]:
    """Return the 10 % and 90 % points of a need, spread evenly in proportion (lognormal)."""
    factor = math.exp(TEN_PERCENT_POINT * relative_sd)
    return need_g / factor, need_g * factor


def shares_of(pile: tuple[Yarn, ...]) -> tuple[tuple[float, ...], str]:
    """Return each colour's share of the knots when there is no cartoon, and a warning or "".

    Colours without a share divide evenly what the others leave. Shares that do not add up to the whole are scaled.
    """
    if not pile:
        return (), ""
    given = [yarn.share for yarn in pile]
    known = sum(share for share in given if share is not None)
    blank = sum(1 for share in given if share is None)
    if blank:
        rest = max(0.0, 1.0 - known) / blank
        shares = [rest if share is None else share for share in given]
    else:
        shares = [share or 0.0 for share in given]
    total = sum(shares)
    if total <= 0:
        return tuple(1.0 / len(pile) for _yarn in pile), _(
            "No colour has a share of the rug yet; equal parts are taken. Enter the shares, or choose a cartoon."
        )
    warning = ""
    if abs(total - 1.0) > 0.005:
        warning = _("The colours' shares add up to {total} %; they were scaled to 100 %.").format(
            total=show_number(100.0 * total)
        )
    return tuple(share / total for share in shares), warning


def material_plan(
    book: RugBook, *, count: CartoonCount | None = None, earlier: tuple[Preparation, ...] = ()
) -> MaterialPlan:
    """Return the complete material plan of the rug in `book`.

    Parameters
    ----------
    book
        The rug with its yarns, cartoon, lots, samples and preparations.
    count
        The cartoon's count from an earlier plan of the same cartoon and the same number of weavers; counted anew when
        None or when it does not fit.
    earlier
        Preparations noted for the weaver's other rugs, for their times.
    """
    warnings: list[str] = []
    plan = book.plan
    weavers = max(1, plan.weavers_planned)
    cartoon = book.cartoon
    if cartoon is None:
        count = None
    else:
        if (plan.rows, plan.knots_across) != (cartoon.rows, cartoon.knots_across):
            warnings.append(
                _(
                    "The plan has {plan_knots} x {plan_rows} knots, the cartoon {knots} x {rows}; the cartoon counts."
                ).format(
                    plan_knots=plan.knots_across,
                    plan_rows=plan.rows,
                    knots=cartoon.knots_across,
                    rows=cartoon.rows,
                )
            )
            plan = replace(plan, rows=cartoon.rows, knots_across=cartoon.knots_across)
        if count is None or (count.rows, count.knots_across, count.colours, len(count.section_totals)) != (
            cartoon.rows,
            cartoon.knots_across,
            len(cartoon.palette),
            weavers,
        ):
            count = count_cartoon(cartoon.cells, len(cartoon.palette), weavers)
    warps = book.yarns_of(Role.WARP)
    warp = warps[0] if warps else None
    if warp is None:
        warnings.append(_("No warp yarn is entered yet: its thickness is assumed and its need is missing."))
    pile_needs, section_shares, pile_warnings = _pile_needs(book, plan, warp, count)
    warnings.extend(pile_warnings)
    weft_needs = tuple(
        _weft_need(plan, yarn, warp, ground=position == 0)
        for position, yarn in enumerate(book.yarns_of(Role.WEFT))
    )
    if not weft_needs:
        warnings.append(_("No weft is entered yet: its need is missing."))
    warp_need = None if warp is None else _warp_need(plan, warp)
    needs: tuple[YarnNeed, ...] = (*pile_needs, *weft_needs, *(() if warp_need is None else (warp_need,)))
    assumed = [need.name for need in needs if need.tex_assumed]
    if assumed:
        warnings.append(
            _("No fineness is entered for {names}: one that suits the density is assumed.").format(
                names=", ".join(assumed)
            )
        )
    yarn_of = {yarn.id: yarn for yarn in book.yarns}
    shopping = shopping_of(
        tuple(
            buy_line(book, yarn_of[need.yarn_id], need.need_g, need.need_low_g, need.need_high_g)
            for need in needs
        )
    )
    warnings.extend(line.warning for line in shopping.lines if line.warning)
    balls = tuple(
        ball_line(
            yarn_of[need.yarn_id],
            need.need_g,
            lots_of(book, yarn_of[need.yarn_id]),
            weavers,
            material.fibre_density_g_cm3(yarn_of[need.yarn_id].fibre),
            section_shares.get(need.yarn_id, ()),
        )
        for need in pile_needs
    )
    shuttles = tuple(
        shuttle_line(yarn_of[need.yarn_id], need.need_g, need.mass_per_row_g) for need in weft_needs
    )
    finished = FinishedMass(
        pile_g=sum(need.need_g * need.knot.finished_mm / need.knot.total_mm for need in pile_needs),
        wefts_g=sum(need.mass_per_row_g * plan.rows for need in weft_needs),
        warp_g=foundation.warp_in_cloth_g(plan, warp),
        area_m2=plan.knots_across * plan.rows / material.knots_per_m2(plan),
        published_g_per_m2=foundation.published_range_g_per_m2(material.knots_per_m2(plan)),
    )
    fit = loom_fit(plan)
    warnings.extend(fit.sentences)
    return MaterialPlan(
        plan=plan,
        density=Density(plan.knots_per_10cm, plan.rows_per_10cm),
        knots=plan.knots_across * plan.rows,
        width_cm=plan.knots_across / plan.knots_per_10cm * 10.0,
        length_cm=plan.rows / plan.rows_per_10cm * 10.0,
        warps=material.warps(plan),
        warp_length_cm=material.warp_length_cm(plan, None if warp is None else warp.take_up),
        pile=pile_needs,
        wefts=weft_needs,
        warp=warp_need,
        finished=finished,
        loom=fit,
        shopping=shopping,
        balls=balls,
        shuttles=shuttles,
        preparation=preparation_plan(book.preparations, balls, shuttles, material.warps(plan), earlier),
        weaving_hours=planned_weaving_hours(plan),
        colour_changes=None if count is None else int(count.changes.sum(dtype=np.int64)),
        count=count,
        warnings=tuple(warnings),
    )


def _pile_needs(
    book: RugBook, plan: RugPlan, warp: Yarn | None, count: CartoonCount | None
) -> tuple[tuple[PileNeed, ...], dict[str, tuple[float, ...]], list[str]]:
    """Return the needs of the colours, each colour's shares by weaver, and warnings."""
    pile = book.yarns_of(Role.PILE)
    warnings: list[str] = []
    if not pile:
        return (), {}, [_("No colour is entered yet. Add the pile yarns first.")]
    total = plan.knots_across * plan.rows
    uses = material.pile_use(plan, pile, book.samples, warp)
    claimed = any(yarn.cartoon_values for yarn in pile)
    rows: list[tuple[int, int | None, int | None] | None] = [None] * len(pile)
    sections: dict[str, tuple[float, ...]] = {}
    share_sd = 0.0
    if count is not None and claimed:
        per_row = counts_by_yarn(count, pile)
        owner = yarn_of_value(pile, count.colours)
        knots = [float(many) for many in per_row.sum(axis=0)]
        for position, yarn in enumerate(pile):
            where = np.flatnonzero(per_row[:, position])
            rows[position] = (
                (int(where.size), int(where[0]) + 1, int(where[-1]) + 1) if where.size else (0, None, None)
            )
            parts = count.section_totals[:, owner == position].sum(axis=1)
            if parts.sum() > 0:
                sections[yarn.id] = tuple(float(part) / float(parts.sum()) for part in parts)
        unclaimed = unclaimed_values(count, pile)
        if unclaimed:
            missing = int(count.totals[list(unclaimed)].sum())
            warnings.append(
                n_(
                    "{colours} colour of the cartoon belongs to no yarn yet: {knots} knots are missing from the plan.",
                    "{colours} colours of the cartoon belong to no yarn yet: {knots} knots are missing from the plan.",
                    len(unclaimed),
                ).format(colours=len(unclaimed), knots=missing)
            )
        unused = [yarn.name for position, yarn in enumerate(pile) if knots[position] == 0]
        if unused:
            warnings.append(_("Not in the cartoon: {names}.").format(names=", ".join(unused)))
    else:
        if count is not None:
            warnings.append(_("The cartoon's colours belong to no yarn yet; the shares are used."))
        shares, warning = shares_of(pile)
        if warning:
            warnings.append(warning)
        knots = [share * total for share in shares]
        share_sd = float(defaults.SD_SHARE) if len(pile) > 1 else 0.0
    needs = []
    for position, (yarn, use) in enumerate(zip(pile, uses, strict=True)):
        need_g = knots[position] * use.mass_per_knot_g
        low_g, high_g = spread_g(need_g, math.hypot(use.relative_sd, share_sd))
        found = rows[position]
        tex = material.tex_of(plan, yarn)
        needs.append(
            PileNeed(
                yarn_id=yarn.id,
                role=yarn.role,
                number=yarn.number,
                name=yarn.name,
                swatch=yarn.swatch,
                tex=tex,
                tex_assumed=yarn.tex <= 0,
                diameter_mm=material.diameter_of_mm(plan, yarn),
                need_g=need_g,
                need_low_g=low_g,
                need_high_g=high_g,
                length_m=need_g / tex * 1000.0,
                rests_on=use.rests_on,
                knots=knots[position],
                share=knots[position] / total if total else 0.0,
                rows_with=None if found is None else found[0],
                first_row=None if found is None else found[1],
                last_row=None if found is None else found[2],
                mass_per_knot_g=use.mass_per_knot_g,
                knot=material.knot_length(plan, yarn, warp),
            )
        )
    return tuple(needs), sections, warnings


def _weft_need(plan: RugPlan, yarn: Yarn, warp: Yarn | None, *, ground: bool) -> WeftNeed:
    """Return the need of one weft; the ground weft also weaves the flat ends."""
    per_row_g = material.weft_mass_per_row_g(plan, yarn, warp)
    ends_g = foundation.ends_mass_g(plan, yarn, warp) if ground else 0.0
    need_g = per_row_g * plan.rows + ends_g
    measured = yarn.take_up is not None
    assumed = yarn.tex <= 0
    sd = math.hypot(
        defaults.SD_WEFT_MEASURED if measured else defaults.SD_WEFT_GEOMETRY,
        defaults.SD_ASSUMED_TEX if assumed else 0.0,
    )
    low_g, high_g = spread_g(need_g, sd)
    tex = material.tex_of(plan, yarn)
    return WeftNeed(
        yarn_id=yarn.id,
        role=yarn.role,
        number=yarn.number,
        name=yarn.name,
        swatch=yarn.swatch,
        tex=tex,
        tex_assumed=assumed,
        diameter_mm=material.diameter_of_mm(plan, yarn),
        need_g=need_g,
        need_low_g=low_g,
        need_high_g=high_g,
        length_m=need_g / tex * 1000.0,
        rests_on=material.MEASURED if measured else material.GEOMETRY,
        take_up=material.weft_take_up(plan, yarn, warp),
        passes_per_row=yarn.passes_per_row,
        length_per_pass_cm=material.weft_length_per_pass_cm(plan, yarn, warp),
        turn_cm=material.weft_turn_cm(plan, yarn, warp),
        mass_per_row_g=per_row_g,
        end_picks=foundation.end_picks(plan, yarn) if ground else 0,
        ends_g=ends_g,
    )


def _warp_need(plan: RugPlan, yarn: Yarn) -> WarpNeed:
    """Return the need of the warp and its balls."""
    need_g = material.warp_mass_g(plan, yarn)
    assumed = yarn.tex <= 0
    low_g, high_g = spread_g(
        need_g, math.hypot(defaults.SD_WARP, defaults.SD_ASSUMED_TEX if assumed else 0.0)
    )
    tex = material.tex_of(plan, yarn)
    ball_g = yarn.unit_mass_g if yarn.unit_mass_g > 0 else float(defaults.WARP_BALL_G)
    return WarpNeed(
        yarn_id=yarn.id,
        role=yarn.role,
        number=yarn.number,
        name=yarn.name,
        swatch=yarn.swatch,
        tex=tex,
        tex_assumed=assumed,
        diameter_mm=material.diameter_of_mm(plan, yarn),
        need_g=need_g,
        need_low_g=low_g,
        need_high_g=high_g,
        length_m=need_g / tex * 1000.0,
        rests_on=material.MEASURED if yarn.take_up is not None else material.GEOMETRY,
        balls=math.ceil(need_g / ball_g - 1e-9),
        ball_g=ball_g,
    )
