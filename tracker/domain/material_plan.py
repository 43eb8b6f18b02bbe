"""The whole material plan of a rug from its book: knots, need of every yarn, what to buy, what to wind, does it fit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.domain import defaults, edges, finished_size, foundation, material
from tracker.domain.cartoon import CartoonCount, unclaimed_values
from tracker.domain.defaults import TEN_PERCENT_POINT
from tracker.domain.foundation import FinishedMass, LoomFit, loom_fit
from tracker.domain.hand_out import HandOutKind
from tracker.domain.material import KnotLength
from tracker.domain.need import Account, Need, account_of
from tracker.domain.rows import cartoon_count, rows_to_weave, shares_of
from tracker.domain.rug import Preparation, Role, RugBook, RugPlan, heights_after
from tracker.domain.seats import Seating, Section, seating
from tracker.domain.sections import knots_by_lot, knots_of_section, lot_ends
from tracker.domain.shared_warp import SharedWarp, warp_length_cm, warp_of
from tracker.domain.shopping import Shopping, buy_line, lots_of, shopping_of
from tracker.domain.taught import NOTHING_TAUGHT, Taught
from tracker.domain.units import Density
from tracker.domain.winding import (
    BallLine,
    PreparationPlan,
    ShuttleLine,
    WarpToMount,
    ball_line,
    lots_in_turn,
    preparation_plan,
    shuttle_line,
)
from tracker.domain.work import knots_an_hour, planned_knotting_hours, planned_weaving_hours
from tracker.words import _, n_, one_after_another


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
    """Of the length that was cut where the need rests on it, else by geometry."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeNeed(YarnNeed):
    """A yarn that finishes the edges."""

    pieces: int
    """Cords along each side, strands in a tuft of the fringe; 1 for the overcasting."""
    count: int
    """Turns of the overcasting on both sides, cords in all, tufts at both ends."""
    each_cm: float
    """Length of one turn, one cord, one strand as it is cut."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MaterialPlan:
    """Everything to buy and to wind for one rug, and the cloth it makes."""

    plan: RugPlan
    """With the cartoon's own knots and rows, where there is one."""
    density: Density
    knots: int
    """Knots tied: with some over four warps, fewer than the places of the cartoon."""
    on_loom_width_cm: float
    """Planned on the loom, with the selvedges."""
    on_loom_length_cm: float
    """Of the rows, without the flat ends."""
    finished_width_cm: float
    """Of the finished rug, as the customer measures it."""
    finished_length_cm: float
    tolerance_width_cm: float
    """By how much the finished rug may differ from what was ordered."""
    tolerance_length_cm: float
    warps: int
    warp_length_cm: float
    pile: tuple[PileNeed, ...]
    wefts: tuple[WeftNeed, ...]
    warp: WarpNeed | None
    edges: tuple[EdgeNeed, ...]
    finished: FinishedMass
    loom: LoomFit
    shopping: Shopping
    balls: tuple[BallLine, ...]
    shuttles: tuple[ShuttleLine, ...]
    preparation: PreparationPlan
    weaving_hours: float
    """Hours at the loom before the first row is woven, all planned weavers together at work: the forecast's first."""
    knotting_hours: float
    """Of them for the knots alone, at the expected rate; the rest changes of yarn, the slower start and unpicking take."""
    knots_per_hour: float
    """Plain knots an hour that one weaver is believed to tie once she has learnt the design."""
    taught: Taught
    """What her earlier rugs say of that."""
    shared_warp: SharedWarp | None
    """The warp, where other rugs share it; `warp` and `warp_length_cm` are then this rug's part of it."""
    colour_changes: int | None
    """In the whole cartoon; None without one."""
    warnings: tuple[str, ...]
    """What stands in the way of trusting the plan, as sentences."""

    @property
    def needs(self) -> tuple[YarnNeed, ...]:
        """All yarns: pile, wefts, warp, edges."""
        return (*self.pile, *self.wefts, *(() if self.warp is None else (self.warp,)), *self.edges)


def spread(middle: float, relative_sd: float) -> tuple[float, float]:
    """Return the 10 % and 90 % points of a need or a rate, spread evenly in proportion (lognormal)."""
    factor = math.exp(TEN_PERCENT_POINT * relative_sd)
    return middle / factor, middle * factor


def material_plan(
    book: RugBook,
    *,
    earlier: tuple[Preparation, ...] = (),
    rows: int | None = None,
    taught: Taught = NOTHING_TAUGHT,
    seats: Seating | None = None,
) -> MaterialPlan:
    """Return the complete material plan of the rug in `book`.

    Parameters
    ----------
    book
        The rug with its yarns, cartoon, lots, samples and preparations.
    earlier
        Preparations noted for the weaver's other rugs, for their times.
    rows
        Rows the rug will have when they are not the planned ones; None: the planned ones.
    taught
        What the weaver's other rugs say of her pace, as the forecast takes it.
    seats
        Who sits where, for the balls; None: as the book says.
    """
    warnings: list[str] = []
    cartoon = book.cartoon
    if cartoon is not None and (book.plan.rows, book.plan.knots_across) != (
        cartoon.rows,
        cartoon.knots_across,
    ):
        warnings.append(
            _(
                "The plan has {plan_knots} × {plan_rows} knots, the cartoon {knots} × {rows}; the cartoon counts."
            ).format(
                plan_knots=book.plan.knots_across,
                plan_rows=book.plan.rows,
                knots=cartoon.knots_across,
                rows=cartoon.rows,
            )
        )
    count = cartoon_count(book)
    account = account_of(book, rows_to_weave(book, rows))
    plan, warp = account.plan, account.warp
    if warp is None:
        warnings.append(_("No warp yarn is entered yet: its thickness is assumed and its need is missing."))
    pile_needs, pile_warnings = _pile_needs(account, count)
    warnings.extend(pile_warnings)
    weft_needs = tuple(
        _weft_need(account, need, ground=position == 0) for position, need in enumerate(account.wefts)
    )
    if not weft_needs:
        warnings.append(_("No weft is entered yet: its need is missing."))
    warp_need = _warp_need(account, account.warps[0]) if account.warps else None
    edge_needs = tuple(_edge_need(account, need, book) for need in account.edges)
    needs: tuple[YarnNeed, ...] = (
        *pile_needs,
        *weft_needs,
        *(() if warp_need is None else (warp_need,)),
        *edge_needs,
    )
    assumed = [need.name for need in needs if need.tex_assumed]
    if assumed:
        warnings.append(
            _("No fineness (yarn count) is entered for any yarn: ones that suit the density are assumed.")
            if len(assumed) == len(needs) > 1
            else _(
                "No fineness (yarn count) is entered for {names}: one that suits the density is assumed."
            ).format(names=one_after_another(assumed))
        )
    yarn_of = {yarn.id: yarn for yarn in book.yarns}
    shopping = shopping_of(
        tuple(
            buy_line(book, yarn_of[need.yarn_id], need.need_g, need.need_low_g, need.need_high_g)
            for need in needs
        )
    )
    warnings.extend(line.warning for line in shopping.lines if line.warning)
    wound = _balls_wound(book, account, seats.sections if seats is not None else seating(book).sections)
    balls = tuple(colour.line for colour in wound)
    shuttles = tuple(shuttle_line(yarn_of[need.yarn_id], need.need_g, plan.rows) for need in weft_needs)
    finished = FinishedMass(
        pile_g=sum(need.need_g * need.knot.finished_mm / need.knot.total_mm for need in pile_needs),
        wefts_g=sum(need.mass_per_row_g * plan.rows for need in weft_needs),
        warp_g=foundation.warp_in_cloth_g(plan, warp),
        edges_g=sum(edges.edge_in_rug_g(plan, need.yarn, book) for need in account.edges),
        area_m2=plan.knots_across
        * plan.rows
        / material.knots_per_m2(plan)
        * finished_size.width_left(plan)
        * finished_size.length_left(plan),
        published_g_per_m2=foundation.published_range_g_per_m2(material.knots_per_m2(plan)),
    )
    crowded = foundation.crowded_warps(plan, warp)
    if crowded:
        warnings.append(crowded)
    shared = warp_of(book)
    fit = loom_fit(plan, book.loom, shared, None if warp is None else warp.take_up)
    width_cm = plan.knots_across / plan.knots_per_10cm * 10.0
    length_cm = plan.rows / plan.rows_per_10cm * 10.0
    warnings.extend(fit.sentences)
    return MaterialPlan(
        plan=plan,
        density=Density(plan.knots_per_10cm, plan.rows_per_10cm, plan.raj_cm),
        knots=round(plan.knots_across * plan.rows * plan.tied_share),
        on_loom_width_cm=material.cloth_width_cm(plan),
        on_loom_length_cm=length_cm,
        finished_width_cm=finished_size.finished_width_cm(plan, width_cm),
        finished_length_cm=finished_size.finished_length_cm(plan, length_cm),
        tolerance_width_cm=finished_size.tolerance_cm(plan.width_cm),
        tolerance_length_cm=finished_size.tolerance_cm(plan.length_cm),
        warps=material.warps(plan),
        warp_length_cm=warp_length_cm(book, plan, None if warp is None else warp.take_up),
        pile=pile_needs,
        wefts=weft_needs,
        warp=warp_need,
        edges=edge_needs,
        finished=finished,
        loom=fit,
        shopping=shopping,
        balls=balls,
        shuttles=shuttles,
        preparation=preparation_plan(
            book.preparations,
            balls,
            shuttles,
            warp_to_mount(book, plan, shared),
            earlier,
            _there(book),
            _begun(book, plan.rows, wound, shuttles),
        ),
        weaving_hours=planned_weaving_hours(book, taught, rows),
        knotting_hours=planned_knotting_hours(book, taught, rows),
        knots_per_hour=knots_an_hour(plan, taught),
        taught=taught,
        shared_warp=shared,
        colour_changes=None if count is None else int(count.changes.sum(dtype=np.int64)),
        warnings=tuple(warnings),
    )


def _there(book: RugBook) -> dict[str, float]:
    """Return the balls and shuttles that must have been wound, by yarn: those used up, and those handed out and not given back."""
    ended: dict[str, float] = {}
    for session in book.sessions:
        for yarn_id, count in session.used:
            ended[yarn_id] = ended.get(yarn_id, 0.0) + count
    handed: dict[str, float] = {}
    for entry in book.hand_outs:
        way = 1.0 if entry.kind is HandOutKind.GIVEN else -1.0
        handed[entry.yarn_id] = handed.get(entry.yarn_id, 0.0) + way * entry.balls
    return {
        yarn_id: max(ended.get(yarn_id, 0.0), handed.get(yarn_id, 0.0)) for yarn_id in {**ended, **handed}
    }


def warp_to_mount(book: RugBook, plan: RugPlan, shared: SharedWarp | None) -> WarpToMount:
    """Return the warp as it is mounted with this rug: a shared one once, with the first rug on it."""
    # Nobody weaves without a warp, whether its mounting was noted or not.
    woven = bool(book.woven_sessions)
    if shared is None:
        return WarpToMount(material.warps(plan), woven)
    with_this = shared.first.part.rug_id == book.plan.id
    return WarpToMount(shared.threads if with_this else 0, shared.mounted or woven)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Wound:
    """The balls of one colour, and what each section of the width knots of them."""

    line: BallLine
    knots: tuple[NDArray[np.float64], ...]
    """Of each section: (rows,) knots of the colour in each row."""
    ends: tuple[float, ...]
    """The heights at which its dye lots end."""

    def begun(self, height: float) -> int:
        """Return the balls from which something is knotted up to a height, in rows from the foot."""
        if height <= 0:
            return 0
        balls = 0
        for position, rows in enumerate(self.knots):
            whole = knots_by_lot(rows, self.ends, 0.0, float(rows.size))
            so_far = knots_by_lot(rows, self.ends, 0.0, min(height, float(rows.size)))
            for lot, knots, knotted in zip(self.line.lots, whole, so_far, strict=False):
                if knots > 0:
                    of_lot = lot.by_section[position]
                    balls += min(math.ceil(of_lot * knotted / knots - 1e-6), of_lot)
        return balls


def _begun(
    book: RugBook, rows: int, wound: Sequence[_Wound], shuttles: Sequence[ShuttleLine]
) -> dict[str, list[int]]:
    """Return the balls and shuttles begun at the loom, by yarn: when each of its preparations was noted, and last now.

    What was unpicked had been wound: the highest row reached counts.
    """
    heights = heights_after(book.rows_gained)

    def reached(noted: Preparation | None) -> float:
        return max(
            (
                height
                for session, height in zip(book.sessions, heights, strict=True)
                if noted is None or (session.day, session.born) < (noted.day, noted.born)
            ),
            default=0.0,
        )

    def begun(line: ShuttleLine, height: float) -> int:
        return min(math.ceil(line.shuttles * height / max(rows, 1) - 1e-6), line.shuttles)

    count_of: dict[str, Callable[[float], int]] = {
        **{colour.line.yarn_id: colour.begun for colour in wound},
        **{line.yarn_id: partial(begun, line) for line in shuttles},
    }
    return {
        yarn_id: [
            count(reached(noted))
            for noted in (*(entry for entry in book.preparations if entry.yarn_id == yarn_id), None)
        ]
        for yarn_id, count in count_of.items()
    }


def _balls_wound(book: RugBook, account: Account, sections: Sequence[Section]) -> tuple[_Wound, ...]:
    """Return the balls of every colour: each section's need of each dye lot, the lots used one after another."""
    to_weave = account.to_weave
    knots = [knots_of_section(book, to_weave, section.first, section.last) for section in sections]
    lines = []
    for k, need in enumerate(account.pile):
        lots = lots_in_turn(need.need_g, lots_of(book, need.yarn))
        g = need.g_per_unit
        ends = (
            lot_ends(to_weave.knots[:, k], 0.0, [mass_g / g for _lot, _bought, mass_g in lots]) if g else ()
        )
        parts = [
            [units * g for units in knots_by_lot(part[:, k], ends, 0.0, to_weave.rows)] for part in knots
        ]
        named = [(dye_lot, bought) for dye_lot, bought, _mass_g in lots][: len(ends) + 1]
        line = ball_line(
            need.yarn,
            named or [("", False)],
            parts,
            material.fibre_density_g_cm3(need.yarn.fibre),
        )
        lines.append(_Wound(line=line, knots=tuple(part[:, k] for part in knots), ends=ends))
    return tuple(lines)


def _pile_needs(account: Account, count: CartoonCount | None) -> tuple[tuple[PileNeed, ...], list[str]]:
    """Return the needs of the colours, and warnings."""
    pile, plan, to_weave = account.to_weave.pile, account.plan, account.to_weave
    warnings: list[str] = []
    if not pile:
        return (), [_("No colour is entered yet. Add the pile yarns first.")]
    total = plan.knots_across * plan.rows * plan.tied_share
    if count is not None and to_weave.counted:
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
        unused = [need.yarn.name for need in account.pile if need.units == 0]
        if unused:
            warnings.append(_("Not in the cartoon: {names}.").format(names=one_after_another(unused)))
    else:
        if count is not None:
            warnings.append(_("The cartoon's colours belong to no yarn yet; the shares are used."))
        warning = shares_of(pile)[1]
        if warning:
            warnings.append(warning)
    needs = []
    for position, need in enumerate(account.pile):
        where = np.flatnonzero(to_weave.knots[:, position]) if to_weave.counted else None
        ends = None if where is None or not where.size else (int(where[0]) + 1, int(where[-1]) + 1)
        needs.append(
            PileNeed(
                **_what_is_needed(account, need),
                knots=need.units,
                share=need.units / total if total else 0.0,
                rows_with=None if where is None else int(where.size),
                first_row=None if ends is None else ends[0],
                last_row=None if ends is None else ends[1],
                mass_per_knot_g=need.g_per_unit,
                knot=(
                    material.knot_length if need.rests_on == material.CUT_LENGTH else material.geometric_knot
                )(plan, need.yarn, account.warp),
            )
        )
    return tuple(needs), warnings


def _what_is_needed(account: Account, need: Need) -> dict[str, Any]:
    """Return the fields that a need of every kind has."""
    yarn, plan = need.yarn, account.plan
    low_g, high_g = spread(need.need_g, need.relative_sd)
    tex = material.tex_of(plan, yarn)
    return {
        "yarn_id": yarn.id,
        "role": yarn.role,
        "number": yarn.number,
        "name": yarn.name,
        "swatch": yarn.swatch,
        "tex": tex,
        "tex_assumed": yarn.tex <= 0,
        "diameter_mm": material.diameter_of_mm(plan, yarn),
        "need_g": need.need_g,
        "need_low_g": low_g,
        "need_high_g": high_g,
        "length_m": need.need_g / tex * 1000.0,
        "rests_on": need.rests_on,
    }


def _weft_need(account: Account, need: Need, *, ground: bool) -> WeftNeed:
    """Return the need of one weft; the ground weft also weaves the flat ends."""
    yarn, plan, warp = need.yarn, account.plan, account.warp
    return WeftNeed(
        **_what_is_needed(account, need),
        take_up=material.weft_take_up(plan, yarn, warp),
        passes_per_row=yarn.passes_per_row,
        length_per_pass_cm=material.weft_length_per_pass_cm(plan, yarn, warp),
        turn_cm=material.weft_turn_cm(plan, yarn, warp),
        mass_per_row_g=need.g_per_unit,
        end_picks=foundation.end_picks(plan, yarn) if ground else 0,
        ends_g=need.ends_g,
    )


def _warp_need(account: Account, need: Need) -> WarpNeed:
    """Return the need of the warp and its balls."""
    ball_g = need.yarn.unit_mass_g if need.yarn.unit_mass_g > 0 else float(defaults.WARP_BALL_G)
    return WarpNeed(
        **_what_is_needed(account, need),
        balls=math.ceil(need.need_g / ball_g - 1e-9),
        ball_g=ball_g,
    )


def _edge_need(account: Account, need: Need, book: RugBook) -> EdgeNeed:
    """Return the need of a yarn that finishes the edges, and what it is made of."""
    yarn, plan = need.yarn, account.plan
    if yarn.role is Role.OVERCAST:
        pieces = 1
        each_cm = edges.turn_cm(plan, yarn, edges.section_of(plan, book))
        count = round(2.0 * foundation.cloth_length_cm(plan) * edges.turns_per_cm(plan, yarn))
    elif yarn.role is Role.CORD:
        pieces = edges.cords_each_side(yarn)
        each_cm, count = warp_length_cm(book, plan, yarn.take_up), 2 * pieces
    else:
        pieces = edges.fringe_strands(yarn)
        each_cm, count = edges.fringe_strand_cm(plan), 2 * edges.fringe_tufts(plan, yarn)
    return EdgeNeed(**_what_is_needed(account, need), pieces=pieces, count=count, each_cm=each_cm)
