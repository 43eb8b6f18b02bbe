"""The values a book holds: a rug's plan, its yarns and everything a weaver entered about it.

Plain frozen values. `storage` turns its records into these and back; the sums take them as they are.
Lengths, masses and times carry their unit in the name; days are the weaver's local calendar days.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cached_property
from itertools import accumulate
from typing import TYPE_CHECKING, Protocol

from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom, WarpLay, WarpPart
from tracker.domain.lot_change import LotChange
from tracker.domain.mark import CartoonMark
from tracker.domain.order import Order, Payment
from tracker.domain.trimming import Trim

if TYPE_CHECKING:
    import numpy as np


def new_id() -> str:
    """Return a fresh random UUID as 32 hexadecimal digits."""
    return uuid.uuid4().hex


_SPACE = uuid.UUID("5d0c7f8b2f4e4b0f9a53c1c7b9a6e214")
"""The UUID under which ids of what there is once are made (RFC 9562, version 5); drawn once at random."""


def id_of(*parts: str) -> str:
    """Return the id of a record of which there can be but one: the same on every phone, so that joined books hold it once."""
    return uuid.uuid5(_SPACE, "/".join(parts)).hex


class KnotKind(StrEnum):
    """How the pile yarn wraps its two warps."""

    SYMMETRIC = "symmetric"
    ASYMMETRIC = "asymmetric"
    ROD = "on a rod"
    """Looped round two warps and then round a rod, whose loops are cut along it when the row is done."""


class Role(StrEnum):
    """What a yarn does in the cloth."""

    PILE = "pile"
    WEFT = "weft"
    WARP = "warp"
    OVERCAST = "overcasting"
    """Wound round both selvedges, along the whole cloth."""
    CORD = "side cord"
    """Lies along each selvedge, mounted with the warp."""
    FRINGE = "added fringe"
    """Knotted into both ends, beside the warps' own."""

    @property
    def row_by_row(self) -> bool:
        """Whether it is used up as the rows are woven; the others are needed once, for the whole rug."""
        return self in (Role.PILE, Role.WEFT)


EDGES = (Role.OVERCAST, Role.CORD, Role.FRINGE)
"""What finishes the edges of a rug."""


class SizeMeasure(StrEnum):
    """What a customer measures when she says how large a rug is."""

    KNOTTED = "knotted part"
    CLOTH = "with selvedges and flat ends"
    FRINGES = "with fringes too"


class RugStage(StrEnum):
    """Where a rug is in its life."""

    PLANNED = "planned"
    ON_LOOM = "on the loom"
    FINISHED = "finished"


class Hold(StrEnum):
    """What the weaver keeps when the real row density differs from the planned one."""

    ROWS = "rows"
    LENGTH = "length"


@dataclass(frozen=True, slots=True, kw_only=True)
class RugPlan:
    """What was decided before the first knot.

    `width_cm` and `length_cm` are the size of the finished rug, washed and dry, as `size_measure` takes it.
    `knots_across` and `rows` are what the loom will hold; with a cartoon they are the cartoon's own
    (expanded) size, and width and length follow from the densities and from what the rug shrinks by.
    """

    id: str
    name: str
    width_cm: float
    length_cm: float
    knots_per_10cm: float
    rows_per_10cm: float
    knots_across: int
    rows: int
    pile_height_mm: float
    knot_kind: KnotKind = KnotKind.SYMMETRIC
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    """Planned weaving days, 0 = Monday."""
    hours_per_week: float = 20.0
    weavers_planned: int = 1
    start_day: date
    wished_day: date | None = None
    stage: RugStage = RugStage.PLANNED
    finished_day: date | None = None
    hold: Hold = Hold.ROWS
    knots_per_hour: float | None = None
    """The weaver's own expectation of the rate; None: the default of `defaults.py`."""
    selvedge_warps: int = 8
    """Extra warps in both selvedges together."""
    end_cm: float = 2.0
    """Flat-woven end, each."""
    fringe_cm: float = 10.0
    """Fringe left at each end."""
    loom_waste_cm: float = 40.0
    """Warp that the loom keeps: knots, beams, the last unweavable stretch."""
    loom_width_cm: float | None = None
    """Clear width between the loom's sides."""
    beam_roll_cm: float | None = None
    """Length of cloth the cloth beam can take up; None: not known."""
    notes: str = ""
    raj_cm: float = 7.0
    """The length of one raj where this weaver learnt it."""
    unshorn_mm: float | None = None
    """Pile height before shearing; None: not said."""
    jufti_share: float = 0.0
    """Part of the field, 0 to 1, whose knots are tied over four warps instead of two."""
    warp_offset_degrees: float = 0.0
    """How far every second warp stands behind its neighbour: 0 on one plane, 90 fully behind."""
    size_measure: SizeMeasure = SizeMeasure.KNOTTED
    loom_shrinkage: float = 0.0
    """Share of its length that the cloth gives up when the loom's pull is gone."""
    wash_shrinkage_width: float = 0.0
    """Share of its width that the rug gives up at washing."""
    wash_shrinkage_length: float = 0.0
    """The same of its length, after the loom's pull is gone."""
    finished_width_cm: float | None = None
    """Measured on the finished rug, as `size_measure` takes it; None: not measured."""
    finished_length_cm: float | None = None
    unwashed_width_cm: float | None = None
    """Measured off the loom and before washing, as `size_measure` takes it; None: not measured."""
    unwashed_length_cm: float | None = None
    unwashed_g: float | None = None
    """Weighed before washing, dry; None: not weighed."""
    washed_g: float | None = None
    """Weighed after washing, dry again."""
    trim_every_rows: int | None = None
    """After how many rows the pile is trimmed on the loom; None: nobody said."""
    loom_id: str | None = None
    """The loom it lies on, or is planned for; None: nobody said which."""
    warp_after: str | None = None
    """Id of the rug whose warp it shares, one step before it; None: it has a warp of its own. See `shared_warp.py`."""
    warp_lay: WarpLay = WarpLay.BEHIND
    """Where it lies on that warp."""
    warp_gap_cm: float | None = None
    """Warp, or room, between that rug and this one; None: what is usual."""
    born: int = 0

    @property
    def tied_share(self) -> float:
        """Knots tied for each place of two warps: a knot over four warps fills two places."""
        return 1.0 - self.jufti_share / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Yarn:
    """One colour of pile yarn, one weft or the warp of one rug, with how it is bought and wound.

    `number` counts from 1 within its role. `share` is the colour's share of all knots (0 to 1) when
    there is no cartoon; `cartoon_values` are the cell values of the cartoon knotted in this colour.
    """

    id: str
    rug_id: str
    role: Role
    number: int
    name: str
    swatch: str = "#C8B89A"
    share: float | None = None
    cartoon_values: tuple[int, ...] = ()
    count: str = ""
    """Fineness as the weaver says it, such as "Nm 5/2 x 3"."""
    tex: float = 0.0
    """Resultant linear density of everything that is knotted or passed together, in tex."""
    twist_contraction: float = 0.0
    """Share by which twisting shortened the singles of `count`; `tex` is the yarn's after it."""
    fibre: str = "wool"
    unit_mass_g: float = 200.0
    """Yarn on one ball (pile, warp) or one shuttle (weft)."""
    passes_per_row: int = 1
    """Weft only: how many times it goes through the shed after each row."""
    take_up: float | None = None
    """Measured take-up as a fraction; None: computed from the geometry."""
    cut_length_mm: float | None = None
    """Pile only: length of yarn in one knot as the weaver cuts it; overrides the geometry."""
    pile_g_per_m2: float | None = None
    """Pile only: mass of pile yarn in a square metre; overrides the geometry."""
    skein_g: float = 0.0
    """0: nobody said in what skeins it is sold; 1: it is sold by the gram."""
    least_purchase_g: float = 0.0
    """0: none, or nobody said."""
    margin: float = 0.10
    """Share bought on top of the need."""
    price_per_kg: float | None = None
    dyer: str = ""
    lead_days: int = 14
    """Days from order to delivery."""
    per_cm: float | None = None
    """Edges only: turns of the overcasting, or tufts of the fringe, in 1 cm; None: one that is usual."""
    pieces: int | None = None
    """Edges only: cords along each side, or strands in a tuft of the fringe; None: as many as is usual."""
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Weaver:
    """Somebody who sits at the loom."""

    id: str
    name: str
    born: int = 0


class UnpickedYarn(StrEnum):
    """What became of the yarn of the rows that a session unpicked."""

    GONE = "gone"
    """All of it is lost for the rug, as where nobody said."""
    SAID = "said"
    """The losses that name the session say what is lost; the rest is yarn again."""


class HoursFrom(StrEnum):
    """Who says a session's hours."""

    GIVEN = "given"
    """The weaver gave them, or her timer counted them."""
    USUAL = "usual"
    """Nobody: they came with the rows, as so many rows usually take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One stretch of weaving. `rows` is below zero when more was unpicked than woven.

    `used` pairs a yarn's id with the balls (pile) or shuttles (weft) that ended in this session.
    `places` says who sat where, left to right: weaver id, first and last knot, counted from 1 as the cartoon is
    read from the front; empty: nobody said. `ahead` pairs a weaver's id with the rows that her part stood, at the
    end, above the rows counted as finished; who is not named stood level with them. See `team.py`.
    `begun_knots` are the knots of the next row that were tied when the session ended, counted from the side where
    the weaver starts; None: nobody said (see `begun_after`).
    """

    id: str
    rug_id: str
    day: date
    rows: int
    hours: float | None = None
    weavers: tuple[str, ...] = ()
    used: tuple[tuple[str, float], ...] = ()
    note: str = ""
    places: tuple[tuple[str, int, int], ...] = ()
    ahead: tuple[tuple[str, int], ...] = ()
    begun_knots: int | None = None
    unpicked_yarn: UnpickedYarn = UnpickedYarn.GONE
    hours_from: HoursFrom | None = None
    """None: without hours, or entered before it was noted."""
    born: int = 0

    @property
    def wove(self) -> bool:
        """Whether somebody wove; a ball used up or a note alone is no weaving."""
        return bool(self.rows or self.hours or self.begun_knots is not None)


def begun_after(sessions: Iterable[Session]) -> tuple[int, ...]:
    """Return the knots of the next row that were tied after each session.

    A session that does not say ends with a whole row where rows were gained or unpicked; otherwise the row stands as
    it stood.
    """
    begun, after = 0, []
    for session in sessions:
        if session.begun_knots is not None:
            begun = session.begun_knots
        elif session.rows:
            begun = 0
        after.append(begun)
    return tuple(after)


def heights_after(gained: Iterable[float]) -> tuple[float, ...]:
    """Return the rows on the loom after each session; never below none, whatever two phones that knew nothing of each other unpicked."""
    gained = tuple(gained)
    if min(gained, default=0) >= 0:
        return tuple(accumulate(gained, initial=0.0))[1:]
    return tuple(accumulate(gained, lambda height, more: max(0.0, height + more), initial=0.0))[1:]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One purchase of one yarn from one dye bath.

    `mass_g` is the conditioned mass, at the fibre's official regain. Where the yarn lay on the scale damper or drier,
    `weighed_g` is what the scale said and `regain` the water over the dry mass it then held.
    """

    id: str
    rug_id: str
    yarn_id: str
    day: date
    mass_g: float
    dye_lot: str = ""
    dyer: str = ""
    price: float | None = None
    weighed_g: float | None = None
    regain: float | None = None
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """All that is left of one yarn, unfinished balls and shuttles included, put on a scale.

    `mass_g`, `weighed_g` and `regain` are as those of a `Lot`.
    """

    id: str
    rug_id: str
    yarn_id: str
    day: date
    mass_g: float
    resolution_g: float = 5.0
    note: str = ""
    weighed_g: float | None = None
    regain: float | None = None
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoilt:
    """Yarn lost for the rug: spoilt, given away, used for something else, or unpicked.

    `session_id` is the session that unpicked the rows in which it was; None: it was never in the rug.
    """

    id: str
    rug_id: str
    yarn_id: str
    day: date
    mass_g: float
    note: str = ""
    session_id: str | None = None
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """A knotted and weighed sample: `knots` knots weigh `mass_g` of one pile yarn, sheared as the rug will be.

    `mass_g` is the yarn used up: weighed before less after, with what the knife and the shears took.
    """

    id: str
    rug_id: str
    yarn_id: str
    day: date
    knots: int
    mass_g: float
    resolution_g: float = 1.0
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """The cloth from the first row of knots to row `row`, measured on the loom, selvedges included.

    Sides and diagonals run between the corners of the cloth up to that row; `shape.py` says what they tell.
    """

    id: str
    rug_id: str
    day: date
    row: int
    length_cm: float
    """0: the length was not measured. Where both sides were, it is their mean unless it was measured by itself."""
    resolution_cm: float = 0.5
    width_cm: float | None = None
    """Across the cloth at the row."""
    left_cm: float | None = None
    """Along the left selvedge."""
    right_cm: float | None = None
    rising_cm: float | None = None
    """From the lower left corner to the upper right one."""
    falling_cm: float | None = None
    """From the upper left corner to the lower right one."""
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysOff:
    """Days on which nobody will weave, known beforehand. `rug_id` None: every rug."""

    id: str
    rug_id: str | None
    first_day: date
    last_day: date
    reason: str = ""
    born: int = 0


class PreparationKind(StrEnum):
    """What can be ticked off before the first knot."""

    BALLS = "balls wound"
    SHUTTLES = "shuttles made"
    WARP = "warp mounted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Preparation:
    """Preparation done on one day: balls wound, shuttles made (with their yarn), or the warp mounted."""

    id: str
    rug_id: str
    day: date
    kind: PreparationKind
    yarn_id: str | None = None
    count: int = 1
    hours: float | None = None
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterStep:
    """A step after the last row (cut off, wash, shear, fringe) with the days it takes."""

    id: str
    rug_id: str
    number: int
    name: str
    days: float
    done_day: date | None = None
    born: int = 0


class WageBasis(StrEnum):
    """What a wage is paid for."""

    KNOTS = "knots"
    ROWS = "rows"
    AREA = "square metres"
    DAYS = "days"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wage:
    """What a weaver is paid: `amount` for every `each` of `basis`, such as 9 for each 1,000 knots.

    `weaver_id` None: everybody who has no wage of her own. A wage counts from `first_day` on, None from the first
    row on, until a later one begins. Amounts are in the book's one currency.
    """

    id: str
    rug_id: str
    weaver_id: str | None = None
    basis: WageBasis
    amount: float
    each: int = 1
    first_day: date | None = None
    born: int = 0


class CostKind(StrEnum):
    """What money was spent on, besides yarn and wages."""

    PREPARATION = "preparation"
    FINISHING = "finishing"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Money spent on a rug on one day, in the book's one currency."""

    id: str
    rug_id: str
    day: date
    kind: CostKind
    amount: float
    note: str = ""
    born: int = 0


class PriceShown(StrEnum):
    """Who reads what a rug costs."""

    HERE = "in the book only"
    RECORD = "in the record too"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pricing:
    """How the price of a rug is made. `margin` is the share of the price (0 to below 1) that is not cost.

    The record of the rug, which the customer reads, tells the price (never the costs) only where `shown` says so.
    """

    id: str
    rug_id: str
    margin: float | None = None
    shown: PriceShown = PriceShown.HERE
    born: int = 0


class PackedCells(Protocol):
    """Cells that are unpacked only when somebody looks at them."""

    shape: tuple[int, int]

    def unpack(self) -> np.ndarray:
        """Return the cells as a uint8 array of `shape`."""


class _Cells:
    """The field `Cartoon.cells`: packed cells are unpacked at the first look, so that telling of a cartoon is cheap."""

    def __get__(self, cartoon: Cartoon | None, _owner: type) -> np.ndarray:
        if cartoon is None:
            raise AttributeError("cells")  # dataclasses take this for a field without a default
        cells = cartoon.__dict__["cells"]
        if hasattr(cells, "unpack"):
            cells = cartoon.__dict__["cells"] = cells.unpack()
        return cells

    def __set__(self, cartoon: Cartoon, cells: np.ndarray | PackedCells) -> None:
        cartoon.__dict__["cells"] = cells


@dataclass(frozen=True, kw_only=True, eq=False)
class Cartoon:
    """The knot chart of a whole rug, expanded to full size.

    `cells` is a uint8 array of shape (rows, knots); `cells[0]` is row 1, woven first, the picture's
    bottom row. Each cell is an index into `palette`, a tuple of "#RRGGBB".
    """

    id: str
    rug_id: str
    cells: np.ndarray = _Cells()  # type: ignore[assignment]
    palette: tuple[str, ...]
    source_name: str = ""
    born: int = 0

    @property
    def rows(self) -> int:
        """Rows of knots."""
        return int(self.__dict__["cells"].shape[0])

    @property
    def knots_across(self) -> int:
        """Knots in a row."""
        return int(self.__dict__["cells"].shape[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A picture taken of the rug on one day. `file_name` is a plain name inside the book's photo folder, never a path.

    `linked_id` is the id of the record the picture belongs to (a session, a lot); None: the rug itself.
    """

    id: str
    rug_id: str
    day: date
    file_name: str
    caption: str = ""
    linked_id: str | None = None
    born: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One choice for the whole book, such as the language. `id` is its key; `value` is anything JSON can hold."""

    id: str
    value: object
    born: int = 0


@dataclass(frozen=True, slots=True)
class SetAside:
    """A record that breaks a rule of `rules.py`: it stays in the book, counts for nothing, and is told."""

    id: str
    kind: str
    """The kind of record as the book calls it: "session", "lot"."""
    rug_id: str | None
    sentence: str
    """What cannot be."""
    born: int = 0


@dataclass(frozen=True, kw_only=True)
class RugBook:
    """Everything the book holds about one rug, current versions only.

    Sessions and every other dated record are in the order of their day, then of entry (`born`), so that
    a phone whose clock jumped does not reorder an evening. What is told of all of them is worked out once a book.
    """

    plan: RugPlan
    cartoon: Cartoon | None = None
    yarns: tuple[Yarn, ...] = ()
    weavers: tuple[Weaver, ...] = ()
    sessions: tuple[Session, ...] = ()
    lots: tuple[Lot, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    spoilt: tuple[Spoilt, ...] = ()
    samples: tuple[Sample, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    days_off: tuple[DaysOff, ...] = ()
    preparations: tuple[Preparation, ...] = ()
    after_steps: tuple[AfterStep, ...] = field(default=())
    photos: tuple[Photo, ...] = ()
    wages: tuple[Wage, ...] = ()
    costs: tuple[Cost, ...] = ()
    pricings: tuple[Pricing, ...] = ()
    """One, or none; two phones may each have made one, and the one entered last counts."""
    lot_changes: tuple[LotChange, ...] = ()
    marks: tuple[CartoonMark, ...] = ()
    trims: tuple[Trim, ...] = ()
    hand_outs: tuple[HandOut, ...] = ()
    orders: tuple[Order, ...] = ()
    """One, or none; what was entered last counts, as of the pricings."""
    payments: tuple[Payment, ...] = ()
    loom: Loom | None = None
    """The loom that the plan names, where the book still has it."""
    warp_parts: tuple[WarpPart, ...] = ()
    """All rugs on the rug's warp, itself included, in their order; empty: the warp is its own."""
    sat_before: tuple[str, ...] = ()
    """Ids of who sat last at the rug's loom, left to right, at another rug; () once it has a session of its own."""
    set_aside: tuple[SetAside, ...] = ()
    """Records that cannot be what they say; none of the others knows of them."""

    @cached_property
    def rows_woven(self) -> int:
        """Rows on the loom now, whole ones."""
        return int((0, *heights_after(session.rows for session in self.sessions))[-1])

    @property
    def knots_across(self) -> int:
        """Knots in a row, each over two warps: the cartoon's own, else the plan's."""
        return max(1, self.plan.knots_across if self.cartoon is None else self.cartoon.knots_across)

    @cached_property
    def begun_after(self) -> tuple[int, ...]:
        """Knots of the next row that were tied after each session; a whole row is none begun."""
        most = self.knots_across - 1
        return tuple(min(begun, most) for begun in begun_after(self.sessions))

    @cached_property
    def knots_begun(self) -> int:
        """Knots of the next row that are tied now; 0 where no row is to come."""
        rows = self.plan.rows if self.cartoon is None else self.cartoon.rows
        all_woven = self.plan.hold is Hold.ROWS and self.rows_woven >= rows
        if all_woven or self.plan.stage is RugStage.FINISHED or not self.sessions:
            return 0
        return self.begun_after[-1]

    @property
    def rows_reached(self) -> float:
        """Rows on the loom now, the begun part of the next one counted."""
        return self.rows_woven + self.knots_begun / self.knots_across

    @cached_property
    def rows_gained(self) -> tuple[float, ...]:
        """Rows that each session gained, parts of a row counted; below zero where more was unpicked."""
        after, across = self.begun_after, self.knots_across
        return tuple(
            session.rows + (begun - before) / across
            for session, begun, before in zip(self.sessions, after, (0, *after), strict=False)
        )

    @cached_property
    def woven_sessions(self) -> tuple[Session, ...]:
        """Sessions in which somebody wove; a ball used up or a note alone is no weaving."""
        return tuple(session for session in self.sessions if session.wove)

    @cached_property
    def told_sessions(self) -> tuple[Session, ...]:
        """The sessions of weaving that are told everywhere: an evening that took out more than it gained is none of them."""
        gained = zip(self.sessions, self.rows_gained, strict=True)
        return tuple(session for session, rows in gained if session.wove and rows >= 0)

    @property
    def sessions_told(self) -> int:
        """How many sessions of weaving are told everywhere."""
        return len(self.told_sessions)

    @cached_property
    def sessions_without_hours(self) -> int:
        """How many of the sessions that are told have no hours; an evening of unpicking is none of them."""
        return sum(not session.hours for session in self.told_sessions)

    @property
    def hours_not_given(self) -> float:
        """Hours of sessions that nobody gave: they came with the rows, as so many rows usually take."""
        return sum(s.hours or 0.0 for s in self.sessions if s.hours_from is HoursFrom.USUAL)

    @property
    def rows_unpicked(self) -> int:
        """Rows taken out on the way, whole ones."""
        return -sum(min(0, session.rows) for session in self.sessions)

    def yarns_of(self, role: Role) -> tuple[Yarn, ...]:
        """Yarns of one role in their order."""
        return tuple(yarn for yarn in self.yarns if yarn.role is role)
