"""Several rugs on one warp: their order, how long and how wide the warp is, and each one's part of it.

Rugs that lie one behind the other follow each other up the same threads; rugs side by side have threads of their own and
form one band across the loom. The loom keeps its waste once, at the first band; between two bands lies a gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from tracker.domain import defaults, material
from tracker.domain.gathered import gathered_of
from tracker.domain.loom import WarpLay, WarpPart
from tracker.domain.rug import (
    Cartoon,
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Session,
    Spoilt,
    Weighing,
    Yarn,
)


def rugs_on_warp(rug_id: str, plans: Iterable[RugPlan]) -> tuple[RugPlan, ...]:
    """Return the plans of all rugs on the warp of one, in the order in which they lie on it; alone: that one only.

    A rug shares the warp of the one it names where both name the same loom. Whatever two phones entered without knowing
    of each other, every rug of a warp is told the same order: of two behind the same rug the one entered first comes
    first, and where each is said to follow the other the one entered first begins.
    """
    by_id = {plan.id: plan for plan in plans}
    if rug_id not in by_id:
        return ()

    def ahead(plan: RugPlan) -> RugPlan | None:
        other = by_id.get(plan.warp_after or "")
        same_loom = other is not None and plan.loom_id is not None and other.loom_id == plan.loom_id
        return other if same_loom and other is not plan else None

    def age(plan: RugPlan) -> tuple[int, str]:
        return plan.born, plan.id

    path = [by_id[rug_id]]
    while (before := ahead(path[-1])) is not None and before not in path:
        path.append(before)
    # The path ends at a rug that follows none, or goes round in a ring.
    first = path[-1] if before is None else min(path[path.index(before) :], key=age)
    ordered: list[RugPlan] = []

    def lay(plan: RugPlan) -> None:
        ordered.append(plan)
        after = [other for other in by_id.values() if ahead(other) is plan and other is not first]
        # What lies beside a rug belongs to its band; only then comes what lies behind.
        for other in sorted(after, key=lambda other: (other.warp_lay is WarpLay.BEHIND, *age(other))):
            lay(other)

    lay(first)
    return tuple(ordered)


def usual_gap_cm(lay: WarpLay) -> float:
    """Return the gap that is usual, in cm."""
    return float(defaults.WARP_GAP_CM if lay is WarpLay.BEHIND else defaults.WARP_SIDE_GAP_CM)


def warp_part(
    plan: RugPlan,
    cartoon: Cartoon | None,
    yarns: Iterable[Yarn],
    preparations: Iterable[Preparation],
    sessions: Iterable[Session],
    lots: Iterable[Lot] = (),
    spoilt: Iterable[Spoilt] = (),
    weighings: Iterable[Weighing] = (),
) -> WarpPart:
    """Return what the other rugs on its warp must know of a rug.

    The warp was mounted for the planned rows: what is woven differently on it changes its length no more.
    """
    if cartoon is not None:
        plan = replace(plan, rows=cartoon.rows, knots_across=cartoon.knots_across)
    warp = next((yarn for yarn in yarns if yarn.role is Role.WARP), None)
    sessions = tuple(sessions)
    return WarpPart(
        rug_id=plan.id,
        name=plan.name,
        threads=material.warps(plan),
        cloth_cm=material.warp_length_cm(plan, None if warp is None else warp.take_up) - plan.loom_waste_cm,
        width_cm=material.cloth_width_cm(plan),
        waste_cm=plan.loom_waste_cm,
        gap_cm=usual_gap_cm(plan.warp_lay) if plan.warp_gap_cm is None else plan.warp_gap_cm,
        lay=plan.warp_lay,
        tex=0.0 if warp is None else material.tex_of(plan, warp),
        per_10cm=plan.knots_per_10cm,
        mounted=any(session.wove for session in sessions)
        or any(entry.kind is PreparationKind.WARP for entry in preparations),
        done=plan.stage is RugStage.FINISHED or sum(session.rows for session in sessions) >= plan.rows,
        gathered_g=0.0 if warp is None else gathered_of(warp.id, lots, spoilt, weighings, sessions),
        margin=0.0 if warp is None else warp.margin,
        skein_g=0.0 if warp is None else warp.skein_g,
        least_purchase_g=0.0 if warp is None else warp.least_purchase_g,
    )


@dataclass(frozen=True, slots=True)
class PartOfWarp:
    """One rug's part of a shared warp."""

    part: WarpPart
    length_cm: float
    """Of the warp for its band: the longest cloth of it, with the loom's waste or the gap before it."""
    beyond_cm: float
    """Of that, what is not its own cloth: waste or gap, and what a longer neighbour has more."""
    threads: float
    """Threads charged to it: its own, and of those that no rug of its band uses a share in proportion."""
    band: int
    """0 is woven first."""

    @property
    def mass_g(self) -> float:
        """What of the warp is this rug's part, in g."""
        return self.threads * self.length_cm * self.part.tex * material.TEX_TO_G_PER_CM


@dataclass(frozen=True, slots=True)
class SharedWarp:
    """A warp that carries more than one rug; the parts together are the whole warp."""

    parts: tuple[PartOfWarp, ...]
    threads: int
    """In the widest band."""
    length_cm: float
    waste_cm: float
    """Kept by the loom, once."""
    gaps_cm: float
    """Between the bands, all together."""
    width_cm: float
    """Of the widest band, with the room between the rugs that lie side by side."""

    @property
    def mass_g(self) -> float:
        """The whole warp as it is mounted, in g."""
        return sum(part.mass_g for part in self.parts)

    @property
    def gathered_g(self) -> float:
        """What was gathered for the whole warp, from whichever rug's list, in g."""
        return sum(part.part.gathered_g for part in self.parts)

    @property
    def mounted(self) -> bool:
        """Whether the record of any of the rugs says that it is mounted."""
        return any(part.part.mounted for part in self.parts)

    @property
    def first(self) -> PartOfWarp:
        """The rug with whose record the warp is mounted."""
        return self.parts[0]

    def of(self, rug_id: str) -> PartOfWarp | None:
        """Return the part of one rug; None: it does not lie on this warp."""
        return next((part for part in self.parts if part.part.rug_id == rug_id), None)

    @property
    def one_spacing(self) -> bool:
        """Whether rugs one behind the other are planned at one density across: the threads lie as they lie."""
        behind = len({part.band for part in self.parts}) > 1
        return not behind or len({round(part.part.per_10cm, 6) for part in self.parts}) == 1

    @property
    def one_yarn(self) -> bool:
        """Whether all that have a warp yarn are planned with one of the same fineness."""
        return len({round(part.part.tex, 3) for part in self.parts if part.part.tex}) <= 1

    def wait_for(self, rug_id: str, done: Mapping[str, bool] | None = None) -> tuple[WarpPart, ...]:
        """Return the rugs that must be woven before this one can begin: the unfinished ones of the nearest band before it.

        Those of an earlier band must be woven too, but it is these that it follows.

        Parameters
        ----------
        done
            Of which rugs the last row is woven, where that is known better than from their rows.
        """
        own, known = self.of(rug_id), done or {}
        if own is None:
            return ()
        to_weave = [
            part
            for part in self.parts
            if part.band < own.band and not known.get(part.part.rug_id, part.part.done)
        ]
        nearest = max((part.band for part in to_weave), default=None)
        return tuple(part.part for part in to_weave if part.band == nearest)


def shared_warp(parts: tuple[WarpPart, ...]) -> SharedWarp | None:
    """Return the warp that some rugs share, in their order; None where there are not two.

    The threads of the widest band run through all bands: what lies unused beside a narrower rug is charged to its band.
    """
    if len(parts) < 2:
        return None
    bands: list[list[WarpPart]] = []
    for part in parts:
        if part.lay is WarpLay.BESIDE and bands:
            bands[-1].append(part)
        else:
            bands.append([part])
    threads = max(sum(part.threads for part in band) for band in bands)
    charged: list[PartOfWarp] = []
    for number, band in enumerate(bands):
        before_cm = parts[0].waste_cm if number == 0 else band[0].gap_cm
        length_cm = max(part.cloth_cm for part in band) + before_cm
        used = sum(part.threads for part in band)
        charged += [
            PartOfWarp(part, length_cm, length_cm - part.cloth_cm, threads * part.threads / used, number)
            for part in band
        ]
    gaps_cm = sum(band[0].gap_cm for band in bands[1:])
    return SharedWarp(
        parts=tuple(charged),
        threads=threads,
        length_cm=sum(max(part.cloth_cm for part in band) for band in bands) + parts[0].waste_cm + gaps_cm,
        waste_cm=parts[0].waste_cm,
        gaps_cm=gaps_cm,
        width_cm=max(
            sum(part.width_cm for part in band) + sum(part.gap_cm for part in band[1:]) for band in bands
        ),
    )


def part_of_book(book: RugBook) -> WarpPart:
    """Return what the other rugs on its warp must know of a rug."""
    return warp_part(
        book.plan,
        book.cartoon,
        book.yarns,
        book.preparations,
        book.sessions,
        book.lots,
        book.spoilt,
        book.weighings,
    )


def warp_of(book: RugBook) -> SharedWarp | None:
    """Return the warp a rug shares; None where its warp is its own.

    The rug's own part is that of the book as it is handed in, which may be a draft or an earlier evening.
    """
    own = book.plan.id
    if all(part.rug_id != own for part in book.warp_parts):
        return None
    return shared_warp(tuple(part_of_book(book) if part.rug_id == own else part for part in book.warp_parts))


def warp_length_cm(book: RugBook, plan: RugPlan, take_up: float | None) -> float:
    """Return how long a thread is mounted for a rug, in cm: on a shared warp, as long as its part of it."""
    shared = warp_of(book)
    own = None if shared is None else shared.of(plan.id)
    return material.warp_length_cm(plan, take_up) if own is None else own.length_cm
